//! Page of the step predict.

use std::sync::Arc;

use axum::Router;
use axum::extract::{Path, State};
use axum::routing::get;
use maud::html;

use crate::web::app::App;
use crate::web::ask::Ask;
use crate::web::reply::{self, Reply, work};
use crate::web::shell::{Place, Step};

pub(super) fn routes() -> Router<Arc<App>> {
    Router::new().route("/aircraft/{name}/predict", get(show))
}

async fn show(State(app): State<Arc<App>>, ask: Ask, Path(name): Path<String>) -> Reply {
    work(app, ask, move |app, ask| {
        let fetched = app.aircraft(&name)?;
        let title = "Predict";
        let body = html! { h1 { (title) } p { (fetched.aircraft.name) } };
        Ok(reply::page(ask, title, &Place::Of(&name, Step::Predict), &body))
    })
    .await
}
