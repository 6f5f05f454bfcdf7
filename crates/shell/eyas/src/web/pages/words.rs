//! Page words.

use std::sync::Arc;

use axum::Router;

use crate::web::app::App;

pub(super) fn routes() -> Router<Arc<App>> {
    Router::new()
}
