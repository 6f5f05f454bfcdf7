//! What do I have? Every aircraft with its drawing and where in its round it stands.

use std::sync::Arc;

use axum::Router;
use axum::extract::State;
use axum::routing::get;
use maud::html;

use crate::tasks::keep;
use crate::web::app::App;
use crate::web::ask::Ask;
use crate::web::reply::{self, Reply, work};
use crate::web::shell::{Place, Step};

pub(super) fn routes() -> Router<Arc<App>> {
    Router::new().route("/", get(show))
}

async fn show(State(app): State<Arc<App>>, ask: Ask) -> Reply {
    work(app, ask, |app, ask| {
        let names = match keep::open_existing(&app.common)? {
            Some(hangar) => hangar.names().map_err(keep::trouble)?,
            None => Vec::new(),
        };
        let body = html! {
            h1 { "Hangar" }
            ul { @for name in &names { li { a href=(Step::Round.path(name)) { (name) } } } }
        };
        Ok(reply::page(ask, "Hangar", &Place::Hangar, &body))
    })
    .await
}
