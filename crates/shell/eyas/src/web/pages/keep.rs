//! What is kept, and what is grounded? Settings of the controller, defects and parts, the log, and the whole record.

use std::sync::Arc;

use axum::Router;
use axum::extract::{Path, State};
use axum::routing::get;
use hangar::{Hangar, log_totals};
use maud::{Markup, html};

use crate::cli::words::{count, instant};
use crate::tasks::keep;
use crate::tell::{Kind, Trouble};
use crate::web::app::App;
use crate::web::ask::Ask;
use crate::web::reply::{self, Reply, work};
use crate::web::shell::{self, Place, Step};

mod defects;
mod log;
mod out;
mod settings;

pub(super) fn routes() -> Router<Arc<App>> {
    Router::new()
        .route("/aircraft/{name}/keep", get(show))
        .merge(settings::routes())
        .merge(defects::routes())
        .merge(log::routes())
        .merge(out::routes())
}

/// Pages of this step: path, name, the question.
const PAGES: [(&str, &str, &str); 4] = [
    ("settings", "Settings", "Can I go back?"),
    ("defects", "Defects and parts", "What keeps it on the ground?"),
    ("log", "Log", "How long has it flown, and how old are the packs?"),
    ("record", "Record", "What was done with it?"),
];

/// Address of a page of this step.
fn path(aircraft: &str, part: &str) -> String {
    format!("{}/{part}", Step::Keep.path(aircraft))
}

/// The hangar, where it keeps an aircraft of that name. Its file need not read: what is kept of it is told all the same.
fn hangar_of(app: &App, name: &str) -> Result<Hangar, Trouble> {
    if let Some(hangar) = keep::open_existing(&app.common)?
        && hangar.names().map_err(keep::trouble)?.iter().any(|kept| kept == name)
    {
        return Ok(hangar);
    }
    Err(Trouble::new(
        Kind::Missing,
        format!("there is no aircraft \"{name}\""),
        "the hangar keeps none of that name",
        "go to the hangar's page and choose one, or describe a new one",
    ))
}

/// What the hangar says when something was done already is a conflict: somebody else was quicker.
fn told(error: hangar::HangarError) -> Trouble {
    match error {
        hangar::HangarError::AlreadyDone { .. } => Trouble::new(
            Kind::Conflict,
            "nothing was changed",
            error.to_string(),
            "somebody was quicker, perhaps in another window; load the page again",
        ),
        error => keep::trouble(error),
    }
}

/// The ways to the pages of this step.
fn ways(aircraft: &str, here: &str) -> Markup {
    html! {
        nav aria-label="What is kept" {
            ul.inline {
                li { a href=(Step::Keep.path(aircraft)) aria-current=[here.is_empty().then_some("page")] { "All" } }
                @for (part, name, _) in PAGES {
                    li { a href=(path(aircraft, part)) aria-current=[(part == here).then_some("page")] { (name) } }
                }
            }
        }
    }
}

/// A page of this step.
fn page(ask: &Ask, aircraft: &str, title: &str, body: &Markup) -> Reply {
    reply::page(ask, title, &Place::Of(aircraft, Step::Keep), body)
}

async fn show(State(app): State<Arc<App>>, ask: Ask, Path(name): Path<String>) -> Reply {
    work(app, ask, move |app, ask| {
        let body = overview(&hangar_of(app, &name)?, &name)?;
        Ok(page(ask, &name, "Keep", &body))
    })
    .await
}

fn overview(hangar: &Hangar, name: &str) -> Result<Markup, Trouble> {
    let settings = hangar.settings(name).map_err(keep::trouble)?;
    let defects = hangar.defects(name).map_err(keep::trouble)?;
    let parts = hangar.parts(name).map_err(keep::trouble)?;
    let totals = log_totals(&hangar.log_entries(name).map_err(keep::trouble)?);
    let revisions = hangar.revisions(name).map_err(keep::trouble)?;
    let open: Vec<_> = defects.iter().filter(|d| d.closed.is_none()).collect();
    let grounding: Vec<_> = open.iter().filter(|d| d.grounds).collect();
    let coming = parts.iter().filter(|p| p.here_ms.is_none()).count();
    let lines = [
        match settings.last() {
            Some(newest) => format!(
                "{}, the newest of {}.",
                count(number(settings.len()), "snapshot"),
                instant(newest.at_ms)
            ),
            None => {
                "None kept yet. Without them there is no way back from a change that went wrong.".to_owned()
            }
        },
        match (grounding.len(), open.len(), coming) {
            (0, 0, 0) => "No open defect, no part on its way.".to_owned(),
            (0, open, coming) => format!(
                "{}, none of which grounds it; {} on the way.",
                count(number(open), "open defect"),
                count(number(coming), "part")
            ),
            (n, _, coming) => {
                format!("{} on the ground; {} on the way.", keeps(n), count(number(coming), "part"))
            }
        },
        if totals.flights == 0 {
            "Nothing entered yet.".to_owned()
        } else {
            format!(
                "{}, {} in the air, {}.",
                count(totals.flights, "flight"),
                report::number::duration(totals.flown_s),
                count(number(totals.packs.len()), "pack")
            )
        },
        "Everything in the order of time, on one page to hand to an instructor or a club.".to_owned(),
    ];
    Ok(html! {
        h1 { "What is kept" }
        @if !grounding.is_empty() {
            div.alarm role="note" {
                h2 { "On the ground" }
                ul { @for d in &grounding { li { "Defect " (d.id) " (" (d.place) "): " (d.what) } } }
            }
        }
        div.cards {
            @for ((part, title, question), line) in PAGES.iter().zip(&lines) {
                article {
                    h2 { a href=(path(name, part)) { (title) } }
                    p.note { (question) }
                    p { (line) }
                }
            }
            article {
                h2 { a href={ (Step::Describe.path(name)) "/revisions" } { "Who changed what" } }
                p.note { "Every text of the file, and the way back to each" }
                p { (count(number(revisions.len()), "revision")) @if let Some(r) = revisions.last() { ", the newest of " (instant(r.at_ms)) ": " (r.note) } "." }
            }
        }
        (out::part(name))
    })
}

fn keeps(n: usize) -> String {
    if n == 1 { "1 defect keeps it".to_owned() } else { format!("{n} defects keep it") }
}

/// A count as words take it.
fn number(n: usize) -> u32 {
    u32::try_from(n).unwrap_or(u32::MAX)
}

/// Trouble above a form, and the form again.
fn again(trouble: Option<&Trouble>) -> Markup {
    html! { @if let Some(trouble) = trouble { (shell::told(trouble)) } }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_overview_tells_what_grounds_and_what_is_missing() {
        let (_folder, app) = App::of_example();
        let mut hangar = hangar_of(&app, "Wheatear").unwrap();
        let text = overview(&hangar, "Wheatear").unwrap().into_string();
        assert!(text.contains("None kept yet") && text.contains("Nothing entered yet"), "{text}");
        assert!(!text.contains("On the ground"), "{text}");
        let new = hangar::NewDefect { place: "wing", what: "<i>torn</i>", grounds: true, by: "", at_ms: 1 };
        hangar.open_defect("Wheatear", &new).unwrap();
        let text = overview(&hangar, "Wheatear").unwrap().into_string();
        assert!(text.contains("On the ground") && text.contains("&lt;i&gt;torn"), "{text}");
        assert!(text.contains("1 defect keeps it on the ground"), "{text}");
        assert!(hangar_of(&app, "Nobody").is_err());
    }
}
