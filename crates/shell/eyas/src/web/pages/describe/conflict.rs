//! Somebody else kept a revision meanwhile: what differs, and which of both goes on? Nothing is lost either way.

use axum::http::StatusCode;
use maud::{Markup, html};

use crate::tasks::edit::Current;
use crate::tasks::lines::{Line, compare};
use crate::web::ask::Ask;
use crate::web::reply::{self, Reply};
use crate::web::shell::{Place, Step, form_key};

/// Lines of context around what differs.
const CONTEXT: usize = 2;

/// What differs between two texts, line by line, with some lines around it.
pub(super) fn differences(first: &str, second: &str, names: [&str; 2]) -> Markup {
    let lines = compare(first, second);
    let differs: Vec<usize> =
        lines.iter().enumerate().filter(|(_, l)| !matches!(l, Line::Both(_))).map(|(i, _)| i).collect();
    // Lines are in order, and so are the places that differ: the nearest ones are found by halving.
    let near = |i: usize| {
        let next = differs.partition_point(|d| *d < i);
        let after = differs.get(next).is_some_and(|d| d - i <= CONTEXT);
        after || next.checked_sub(1).and_then(|n| differs.get(n)).is_some_and(|d| i - d <= CONTEXT)
    };
    html! {
        @if differs.is_empty() {
            p { "Not a line differs." }
        } @else {
            div.scroll tabindex="0" role="region" aria-label="Lines that differ" {
                table.lines {
                    thead { tr { th { "In" } th { "Line" } } }
                    tbody {
                        @for (i, line) in lines.iter().enumerate() {
                            @if near(i) {
                                @match line {
                                    Line::Both(text) => tr { td { "both" } td { code { (text) } } },
                                    Line::First(text) => tr.first { th { (names[0]) } td { code { del { (text) } } } },
                                    Line::Second(text) => tr.second { th { (names[1]) } td { code { ins { (text) } } } },
                                }
                            } @else if i > 0 && near(i - 1) {
                                tr { td {} td { "…" } }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// The page that tells of it.
pub(super) fn page(ask: &Ask, name: &str, theirs: &Current, mine: &str, base: u32, note: &str) -> Reply {
    let path = Step::Describe.path(name);
    let text = serde_json::Value::from(mine).to_string();
    let number = theirs.revision.number;
    let body = html! {
        h1 { "Somebody else changed it meanwhile" }
        p {
            "You began with revision " (base) "; by now revision " (number) " is in force"
            @if !theirs.revision.note.is_empty() { " (\u{201c}" (theirs.revision.note) "\u{201d})" }
            ". Nothing of yours was kept yet, and nothing of either is lost."
        }
        (differences(&theirs.revision.text, mine, ["theirs", "yours"]))
        form method="post" action=(path) {
            (form_key(ask))
            input type="hidden" name="base" value=(number);
            input type="hidden" name="text" value=(text);
            input type="hidden" name="note" value=(note);
            p { "Yours becomes revision " (number + 1) " as a whole: what only theirs says is then in the older revision." }
            div.buttons {
                button name="act" value="keep" { "Keep mine as the newest" }
                button.second name="act" value="look" { "Go on working on mine" }
                a.button.second href=(path) { "Go on with theirs" }
            }
        }
    };
    let mut reply = reply::page(ask, "Changed meanwhile", &Place::Of(name, Step::Describe), &body);
    *reply.status_mut() = StatusCode::CONFLICT;
    reply
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_differs_is_shown_and_all_of_it_escaped() {
        let many = "same\n".repeat(50);
        let shown = differences(&format!("{many}<b>old\n{many}"), &format!("{many}new\n{many}"), ["a", "b"])
            .into_string();
        assert_eq!(shown.matches("<code>same").count(), 2 * CONTEXT);
        assert!(shown.contains("&lt;b&gt;old") && !shown.contains("<b>"));
        assert!(differences("a", "a", ["a", "b"]).into_string().contains("Not a line"));
    }
}
