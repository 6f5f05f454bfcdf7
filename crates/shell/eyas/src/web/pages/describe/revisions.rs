//! What was it before? Every revision of the description, two of them side by side, and the way back to one.

use std::sync::Arc;

use axum::Router;
use axum::extract::{Path, RawQuery, State};
use axum::routing::get;
use hangar::{HangarError, Revision};
use maud::{Markup, html};

use super::conflict::differences;
use super::{keep_text, renamed};
use crate::tasks::edit::{self, Outcome};
use crate::tasks::keep;
use crate::tell::{Kind, Trouble};
use crate::web::app::App;
use crate::web::ask::Ask;
use crate::web::fields::{Fields, Form};
use crate::web::reply::{self, Reply, work};
use crate::web::shell::{Place, Step, form_key};

pub(super) fn routes() -> Router<Arc<App>> {
    Router::new().route("/aircraft/{name}/describe/revisions", get(show).post(back))
}

async fn show(
    State(app): State<Arc<App>>,
    ask: Ask,
    Path(name): Path<String>,
    RawQuery(query): RawQuery,
) -> Reply {
    let fields = Fields::read(&query.unwrap_or_default());
    work(app, ask, move |app, ask| {
        let current = edit::current(&app.common, &name)?;
        let revisions = keep::open(&app.common)?.revisions(&name).map_err(keep::trouble)?;
        let chosen = |key: &str, otherwise: u32| {
            fields.text(key).and_then(|n| n.parse::<u32>().ok()).unwrap_or(otherwise)
        };
        let newest = current.revision.number;
        let pair = [chosen("first", newest.saturating_sub(1).max(1)), chosen("second", newest)];
        let body = html! {
            h1 { "What was it before?" }
            p { "Every revision of the description of " strong { (name) } " is kept, byte for byte. " a href=(Step::Describe.path(&name)) { "Back to the form" } "." }
            (compared(&name, &revisions, pair))
            (list(ask, &name, &revisions, newest))
        };
        Ok(reply::page(ask, "Revisions", &Place::Of(&name, Step::Describe), &body))
    })
    .await
}

fn day(at_ms: i64) -> String {
    jiff::Timestamp::from_millisecond(at_ms)
        .map(|t| t.to_zoned(jiff::tz::TimeZone::system()).strftime("%Y-%m-%d %H:%M").to_string())
        .unwrap_or_default()
}

fn compared(name: &str, revisions: &[Revision], [first, second]: [u32; 2]) -> Markup {
    let of = |number: u32| revisions.iter().find(|r| r.number == number);
    let choice = |key: &str, label: &str, chosen: u32| {
        html! {
            div.field {
                label for=(key) { (label) }
                select id=(key) name=(key) data-sends {
                    @for r in revisions.iter().rev() {
                        option value=(r.number) selected[r.number == chosen] { (r.number) ": " (r.note) }
                    }
                }
            }
        }
    };
    html! {
        h2 { "Compare two" }
        form method="get" action={(Step::Describe.path(name)) "/revisions"} {
            div.fields { (choice("first", "This", first)) (choice("second", "with this", second)) }
            div.buttons { button.second { "Compare" } }
        }
        @match (of(first), of(second)) {
            (Some(a), Some(b)) => (differences(&a.text, &b.text, [&format!("rev. {first}"), &format!("rev. {second}")])),
            _ => p.wrong { "There is no such revision; choose two of the list." },
        }
    }
}

fn list(ask: &Ask, name: &str, revisions: &[Revision], newest: u32) -> Markup {
    html! {
        h2 { "All revisions" }
        div.scroll {
            table.stack.wide {
                thead { tr { th { "Revision" } th { "Kept" } th { "Why" } th { "Made from" } th { "Go back" } } }
                tbody {
                    @for r in revisions.iter().rev() {
                        tr {
                            th { (r.number) @if r.number == newest { ", in force" } }
                            td data-name="Kept" { (day(r.at_ms)) }
                            td data-name="Why" { (r.note) @if r.from_findings.is_some() { " (adopted from a flight)" } }
                            td data-name="Made from" { @match r.parent { Some(parent) => { "revision " (parent) }, None => "nothing before" } }
                            td data-name="Go back" {
                                @if r.number == newest { "—" } @else {
                                    form method="post" action={(Step::Describe.path(name)) "/revisions"} {
                                        (form_key(ask))
                                        input type="hidden" name="base" value=(newest);
                                        input type="hidden" name="revision" value=(r.number);
                                        button.second { "Take back to " (r.number) }
                                    }
                                }
                            }
                        }
                    }
                }
            }
        }
        p.note {
            "Taking back keeps the older text once more as the newest; nothing in between is lost. What is set in the controller and the "
            "servos does not follow by itself: set it as the description says, propeller off, and check the direction of every surface."
        }
    }
}

async fn back(State(app): State<Arc<App>>, Path(name): Path<String>, form: Form) -> Reply {
    let fields = form.fields;
    work(app, form.ask, move |app, _| {
        let number = |key: &str| fields.text(key).and_then(|n| n.parse::<u32>().ok()).unwrap_or(0);
        let (target, base) = (number("revision"), number("base"));
        let hangar = keep::open(&app.common)?;
        let older = match hangar.revision(&name, target) {
            Ok(older) => older,
            Err(HangarError::NoRevision { newest, .. }) => {
                return Err(Trouble::new(
                    Kind::Missing,
                    format!("\"{name}\" was not taken back"),
                    format!("it has no revision {target}; the newest is {newest}"),
                    "choose one of the list",
                ));
            }
            Err(error) => return Err(keep::trouble(error)),
        };
        let files = hangar.section_files(older.id).map_err(keep::trouble)?;
        drop(hangar);
        let note = format!("taken back to revision {target}");
        match keep_text(app, &name, base, &older.text, &files, &note)? {
            Outcome::Kept(revision) => Ok(reply::on_to(
                &Step::Describe.path(&name),
                &format!(
                    "As revision {target} was, kept as revision {}. Set controller and servos as it says, propeller off.",
                    revision.number
                ),
            )),
            Outcome::Overtaken(now) => Err(Trouble::new(
                Kind::Conflict,
                format!("\"{name}\" was not taken back"),
                format!("revision {} was kept meanwhile ({})", now.revision.number, now.revision.note),
                "look at the list again, then decide",
            )),
            Outcome::Faulty(faults) => Err(crate::tasks::fetch::faults_trouble(
                &format!("revision {target}"),
                &older.text,
                &faults,
            )),
            Outcome::Renamed(other) => Err(renamed(&name, &other)),
        }
    })
    .await
}
