//! One file a page: its addresses, what it asks the tasks, how it looks.

mod card;
mod day;
mod describe;
mod display;
mod flights;
mod hangar;
mod keep;
mod launch;
mod learn;
mod new;
mod predict;
mod ready;
mod recording;
mod round;
mod words;
mod work;

use std::sync::Arc;

use axum::Router;

use crate::tell::{Kind, Trouble};
use crate::web::app::App;
use crate::web::ask::Ask;
use crate::web::reply::{self, Reply};

/// All pages.
pub(crate) fn routes() -> Router<Arc<App>> {
    Router::new()
        .merge(hangar::routes())
        .merge(new::routes())
        .merge(round::routes())
        .merge(describe::routes())
        .merge(predict::routes())
        .merge(launch::routes())
        .merge(day::routes())
        .merge(ready::routes())
        .merge(card::routes())
        .merge(flights::routes())
        .merge(recording::routes())
        .merge(learn::routes())
        .merge(keep::routes())
        .merge(words::routes())
        .merge(display::routes())
        .merge(work::routes())
}

/// There is no such page.
pub(crate) async fn missing(ask: Ask) -> Reply {
    let trouble = Trouble::new(
        Kind::Missing,
        "there is no such page",
        format!("nothing stands at {}", ask.path),
        "start from the hangar's page",
    );
    reply::trouble(&ask, &trouble)
}
