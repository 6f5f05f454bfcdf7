//! How far is it? Progress of work that goes on, and what came of it.

use std::sync::Arc;

use axum::Router;
use axum::extract::{Path, State};
use axum::response::{IntoResponse as _, Response};
use axum::routing::{get, post};
use maud::html;

use crate::tell::{Kind, Trouble};
use crate::web::app::App;
use crate::web::ask::Ask;
use crate::web::fields::Form;
use crate::web::reply::{self, Reply};
use crate::web::shell::{self, Place, form_key};

pub(super) fn routes() -> Router<Arc<App>> {
    Router::new()
        .route("/work/{id}", get(show))
        .route("/work/{id}/events", get(events))
        .route("/work/{id}/stop", post(stop))
}

fn gone() -> Trouble {
    Trouble::new(
        Kind::Missing,
        "this work is not known any more",
        "the program was started anew, or much was done since",
        "go back a page and start it again; nothing that is kept was lost",
    )
}

async fn show(State(app): State<Arc<App>>, ask: Ask, Path(id): Path<String>) -> Reply {
    let Some(job) = app.jobs.get(&id) else { return reply::trouble(&ask, &gone()) };
    let body = match job.outcome() {
        Some(Ok(body)) => html! {
            h1 { (job.title) }
            (body)
            div.buttons { a.button.second href=(job.back) { "Back" } }
        },
        Some(Err(trouble)) => html! {
            h1 { (job.title) }
            (shell::told(&trouble))
            div.buttons { a.button.second href=(job.back) { "Back" } }
        },
        None => {
            let stand = job.stand();
            html! {
                h1 { (job.title) }
                div data-events={"/work/" (id) "/events"} {
                    label { "Progress " progress max="100" value=(format!("{:.0}", 100.0 * stand.share)) {} }
                    p data-progress="" role="status" { (stand.words) }
                }
                noscript { p { "Load this page again to see how far it is." } }
                form method="post" action={"/work/" (id) "/stop"} {
                    (form_key(&ask))
                    div.buttons { button.second { "Stop" } a.button.second href=(job.back) { "Back" } }
                }
            }
        }
    };
    reply::page(&ask, &job.title, &Place::Elsewhere, &body)
}

async fn events(State(app): State<Arc<App>>, ask: Ask, Path(id): Path<String>) -> Response {
    match app.jobs.get(&id) {
        Some(job) => job.events().into_response(),
        None => reply::trouble(&ask, &gone()),
    }
}

async fn stop(State(app): State<Arc<App>>, Path(id): Path<String>, form: Form) -> Reply {
    let Some(job) = app.jobs.get(&id) else { return reply::trouble(&form.ask, &gone()) };
    job.give_up();
    reply::on_to(&job.back, "Stopped.")
}
