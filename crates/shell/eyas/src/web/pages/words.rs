//! What does that word mean? Every hard word of the pages in a sentence or two.

use std::sync::Arc;

use axum::Router;
use axum::routing::get;
use maud::{Markup, html};

use crate::web::app::App;
use crate::web::ask::Ask;
use crate::web::glossary::{SHELVES, anchor};
use crate::web::reply::{self, Reply};
use crate::web::shell::Place;

pub(super) fn routes() -> Router<Arc<App>> {
    Router::new().route("/words", get(show))
}

async fn show(ask: Ask) -> Reply {
    reply::page(&ask, "Words", &Place::Words, &body())
}

fn body() -> Markup {
    html! {
        h1 { "Words" }
        p.lead { "The words that stand on these pages, in plain sentences. A dotted line under a word on any page opens its meaning there." }
        nav aria-label="Kinds of words" {
            ul.inline { @for shelf in &SHELVES { li { a href={"#" (anchor(shelf.about))} { (shelf.about) } } } }
        }
        @for shelf in &SHELVES {
            section {
                h2 id=(anchor(shelf.about)) { (shelf.about) }
                dl.words {
                    @for w in shelf.words {
                        div id=(anchor(w.word)) {
                            dt { dfn { (w.word) } }
                            dd { (w.meaning) }
                        }
                    }
                }
            }
        }
        p.note { "Symbols and axes of flight mechanics on these pages are those of ISO 1151: x forward, y to the right, z down; p, q, r for the rates of roll, pitch and yaw." }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn headings_and_words_have_addresses_that_do_not_meet() {
        let text = body().into_string();
        let ids: Vec<&str> = text.split(" id=\"").skip(1).filter_map(|s| s.split('"').next()).collect();
        let mut once = ids.clone();
        once.sort_unstable();
        once.dedup();
        assert_eq!(once.len(), ids.len());
        assert!(ids.contains(&"balance-point") && ids.contains(&"phugoid"));
    }
}
