//! What did the flight teach, and what do I change? Findings with their doubt, the changes to tick, and what they do to
//! the predictions.

use std::sync::Arc;

use aircraft::finding::{Change, Finding};
use axum::Router;
use axum::extract::{DefaultBodyLimit, Path, RawQuery, State};
use axum::routing::{get, post};
use hangar::Findings;
use maud::{Markup, html};
use report::number::{exact, sentence, with_doubt};
use sha2::{Digest as _, Sha256};

use crate::cli::words::instant;
use crate::json::findings::{self, Beside, ToAdopt};
use crate::tasks::fetch::Fetched;
use crate::tasks::{go_back, keep};
use crate::tell::{Kind, Trouble};
use crate::web::app::App;
use crate::web::ask::Ask;
use crate::web::fields::Fields;
use crate::web::reply::{self, Reply, work};
use crate::web::shelf::{self, Label, Which};
use crate::web::shell::{Place, Step, form_key};

mod adopt;
mod after;
mod evidence;
mod start;

pub(super) fn routes() -> Router<Arc<App>> {
    Router::new()
        .route("/aircraft/{name}/recording/{which}/learn", post(start::start))
        .route("/aircraft/{name}/findings/undo", post(adopt::undo))
        .route("/aircraft/{name}/findings/{id}", get(show))
        .route("/aircraft/{name}/findings/{id}/evidence", get(evidence::show))
        .route("/aircraft/{name}/findings/{id}/report", get(evidence::report))
        .route("/aircraft/{name}/findings/{id}/after", get(after::show))
        .route("/aircraft/{name}/findings/{id}/adopt", post(adopt::adopt))
        .route(
            "/aircraft/{name}/findings/{id}/gains",
            // The upload itself holds what comes to its own limit, and answers in words.
            post(evidence::gains).layer(DefaultBodyLimit::disable()),
        )
}

/// Address of findings.
fn path(aircraft: &str, id: hangar::FindingsId) -> String {
    format!("{}/findings/{id}", Step::Round.path(aircraft))
}

/// Marks a text, so that a change of it in the meantime is seen.
fn mark(text: &str) -> String {
    Sha256::digest(text.as_bytes()).iter().take(12).map(|b| format!("{b:02x}")).collect()
}

/// Findings as far as adopting needs them.
fn to_adopt(kept: &Findings) -> Result<ToAdopt, Trouble> {
    findings::read(&kept.json).map_err(|cause| {
        Trouble::new(
            Kind::Input,
            format!("findings {} cannot be read", kept.id),
            cause,
            "learn from the recording again",
        )
    })
}

async fn show(
    State(app): State<Arc<App>>,
    ask: Ask,
    Path((name, id)): Path<(String, String)>,
    RawQuery(query): RawQuery,
) -> Reply {
    work(app, ask, move |app, ask| {
        let fetched = app.aircraft(&name)?;
        let kept = shelf::findings(app, &name, &id)?;
        let label = shelf::label(app, &name, &Which::Kept(kept.recording))?;
        let asked = to_adopt(&kept)?;
        let fields = Fields::read(&query.unwrap_or_default());
        let body = html! {
            h1 { "What the flight taught" }
            (lead(&name, &kept, &label))
            (standing(app, ask, &name, &kept)?)
            h2 { "What to change" }
            (changes(ask, &name, &fetched, &kept, &asked, &fields, label.simulated))
            (more(&kept))
            (beside(&findings::beside(&kept.json)))
            (numbers(&kept, &label, &name))
            (evidence::place(&name, &kept))
            (evidence::take_along(ask, &name, &kept))
        };
        Ok(reply::page(ask, "What the flight taught", &Place::Of(&name, Step::Flights), &body))
    })
    .await
}

fn lead(aircraft: &str, kept: &Findings, label: &Label) -> Markup {
    html! {
        p.lead {
            "From " a href=(super::recording::path(aircraft, &label.which)) { (label.name) } ", learnt " (instant(kept.at_ms))
            " with revision " (kept.revision_number) " of the aircraft."
        }
        @if label.simulated {
            p.warn { strong { "This flight was simulated. " } "Its findings are about the simulation. Adopt them to see how that goes, and take them back before the real aircraft flies." }
        }
    }
}

/// Whether these are the newest findings of the flight, and whether they were taken over.
fn standing(app: &App, ask: &Ask, aircraft: &str, kept: &Findings) -> Result<Markup, Trouble> {
    let hangar = keep::open(&app.common)?;
    let revisions = hangar.revisions(aircraft).map_err(keep::trouble)?;
    let newest = hangar.findings(kept.recording).map_err(keep::trouble)?.last().map(|f| f.id);
    let adopted: Vec<u32> =
        revisions.iter().filter(|r| r.from_findings == Some(kept.id)).map(|r| r.number).collect();
    let last = go_back::newest_adoption(&revisions).map(|r| r.number);
    Ok(html! {
        @if let Some(newest) = newest.filter(|n| *n != kept.id) {
            p.warn { "The recording was learnt from again since: " a href=(path(aircraft, newest)) { "go to its newest findings" } "." }
        }
        @for number in &adopted {
            @if go_back::taken_back(&revisions, *number) {
                p { span.state.open { "taken back" } " They were adopted as revision " (number) " and taken back since." }
            } @else {
            div.next {
                p { span.state.passed { "adopted" } " as revision " (number) " of the aircraft." }
                p { "Set what changed in the controller and on the servos with the propeller off, then check the direction of every surface before the next flight." }
                @if last == Some(*number) {
                    form method="post" action={(Step::Round.path(aircraft)) "/findings/undo"} data-asks="Take this adoption back?" {
                        (form_key(ask))
                        input type="hidden" name="back" value=(path(aircraft, kept.id));
                        div.buttons { a.button href=(Step::Card.path(aircraft)) { "The next flight's card" } button.second { "Take it back" } }
                    }
                }
            }
            }
        }
    })
}

/// Which changes are ticked: those that an address names, or all that the flight carries.
fn ticked(asked: &ToAdopt, fields: &Fields) -> Vec<String> {
    let named: Vec<String> = fields.all("tick").map(str::to_owned).collect();
    if !named.is_empty() || fields.raw("ticks").is_some() {
        return named;
    }
    asked.changes.iter().filter(|c| c.held_back.is_none()).map(|c| c.path.clone()).collect()
}

fn changes(
    ask: &Ask,
    aircraft: &str,
    fetched: &Fetched,
    kept: &Findings,
    asked: &ToAdopt,
    fields: &Fields,
    simulated: bool,
) -> Markup {
    let here = path(aircraft, kept.id);
    let ticked = ticked(asked, fields);
    let (made, left): (Vec<&Change>, Vec<&Change>) =
        asked.changes.iter().partition(|c| c.held_back.is_none() && is_so(&fetched.text, c));
    let (carried, held): (Vec<&Change>, Vec<&Change>) = left.iter().partition(|c| c.held_back.is_none());
    let asks = if simulated {
        "This flight was simulated. Revise the aircraft's file with the ticked changes all the same?"
    } else {
        "Revise the aircraft's file with the ticked changes?"
    };
    html! {
        @if carried.is_empty() {
            p { @if made.is_empty() { "Nothing: the flight asks for no change that it can carry." } @else { "Nothing more: the file is as the flight asks." } }
        } @else {
            form.wide method="post" action={(here) "/adopt"} data-asks=(asks) {
                (form_key(ask))
                input type="hidden" name="seen" value=(mark(&fetched.text));
                p { "Only what is ticked is taken over. The text before it is kept, and one step takes it back." }
                div #ticks hx-get={(here) "/after"} hx-trigger="change delay:40ms" hx-target="#after" hx-include="#ticks input" hx-sync="this:replace" {
                    input type="hidden" name="ticks" value="yes";
                    @for change in &carried {
                        div.block {
                            label.tick {
                                input type="checkbox" name="tick" value=(change.path) checked[ticked.contains(&change.path)];
                                strong { (plan::places::words(&fetched.aircraft, &change.path)) }
                            }
                            (what_changes(fetched, change))
                        }
                    }
                }
                p.warn { "Made on the bench, propeller off; then the surface direction check again, every surface, before the next flight." }
                div.buttons { button { "Adopt what is ticked" } }
            }
            h3 { "What that does to the predictions" }
            div #after hx-get={(here) "/after"} hx-trigger="load" hx-include="#ticks input" {
                p { a href={(here) "/after"} { "Show the predictions before and after" } }
            }
        }
        @if !made.is_empty() {
            h3 { "So in the file by now" }
            @for change in &made {
                div.block {
                    p { strong { (plan::places::words(&fetched.aircraft, &change.path)) } }
                    (what_changes(fetched, change))
                }
            }
        }
        @if !held.is_empty() {
            h3 { "Held back" }
            @for change in &held {
                div.block.held {
                    p { strong { (plan::places::words(&fetched.aircraft, &change.path)) } }
                    (what_changes(fetched, change))
                    p { strong { "Held back: " } (sentence(change.held_back.as_deref().unwrap_or_default())) }
                }
            }
        }
    }
}

/// Whether a text holds the number that a change asks for.
fn is_so(text: &str, change: &Change) -> bool {
    let now = aircraft::revise::number(text, &change.path).ok().flatten();
    // Files hold seven digits.
    now.is_some_and(|now| (now - change.to).abs() <= 1e-5 * change.to.abs().max(1e-6))
}

fn what_changes(fetched: &Fetched, change: &Change) -> Markup {
    html! {
        p.big {
            @match change.from {
                Some(from) => { "From " (exact(from, &change.unit)) " to " },
                None => "Not set yet; set to ",
            }
            (with_doubt(change.to, change.sd, &change.unit))
        }
        @if let Some(panel) = plan::places::panel_of_change(&fetched.aircraft, change) { p { "That is " (panel.words()) "." } }
        p { (sentence(&change.why)) }
        p.note { "In the file: " code { (change.path) } }
    }
}

fn more(kept: &Findings) -> Markup {
    let more = findings::more(&kept.json);
    html! {
        @if !more.is_empty() {
            h2 { "What more to fly" }
            ul { @for (title, what) in &more { li { strong { (title) } ": " (sentence(what)) } } }
        }
    }
}

fn beside(beside: &[Beside]) -> Markup {
    html! {
        h2 { "Predicted beside flown" }
        @if beside.is_empty() {
            p { "Nothing that can be relied on has a prediction to stand beside it yet." }
        } @else {
            table.stack {
                thead { tr { th scope="col" { "What" } th scope="col" { "Known before" } th scope="col" { "Flown" } th scope="col" { "They" } } }
                tbody {
                    @for b in beside {
                        tr {
                            th scope="row" { (b.words) }
                            td.unbroken data-name="Known before" { (with_doubt(b.predicted.value, b.predicted.sd, &b.unit)) }
                            td.unbroken data-name="Flown" { (with_doubt(b.flown.value, b.flown.sd, &b.unit)) }
                            td data-name="They" { span.state.passed[b.agree()].part[!b.agree()] { @if b.agree() { "agree" } @else { "differ" } } }
                        }
                    }
                }
            }
        }
    }
}

/// Every estimate in one table, each with the seconds that it rests on.
fn numbers(kept: &Findings, label: &Label, aircraft: &str) -> Markup {
    let all = findings::estimates_with_seconds(&kept.json);
    let plots = super::recording::path(aircraft, &label.which);
    let seconds = report::seconds::Seconds { plots: Some(&plots) };
    let (enough, short): (Vec<&(String, String, Finding)>, Vec<_>) = all.iter().partition(|(.., f)| f.enough);
    let table = |rows: &[&(String, String, Finding)]| {
        html! {
            table.stack {
                thead { tr { th scope="col" { "What" } th scope="col" { "Flown" } th scope="col" { "Why, and from which seconds" } } }
                tbody {
                    @for (words, unit, f) in rows {
                        tr {
                            th scope="row" { (words) }
                            td.unbroken data-name="Flown" { (with_doubt(f.value, f.sd, unit)) }
                            td {
                                details { summary { @if f.enough { "Why it holds" } @else { "What is missing" } }
                                    p { (sentence(&f.verdict)) }
                                    (seconds.rests_on(&f.evidence, report::seconds::channels_of(&f.parameter)))
                                }
                            }
                        }
                    }
                }
            }
        }
    };
    html! {
        h2 { "Every number" }
        p { "\u{b1} is two standard deviations." }
        @if enough.is_empty() { p { "None can be relied on yet." } } @else { (table(&enough)) }
        @if !short.is_empty() {
            details {
                summary { (short.len()) " more that cannot be relied on yet" }
                (table(&short))
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn asked() -> ToAdopt {
        let change = |path: &str, held_back: Option<&str>| Change {
            path: path.into(),
            from: None,
            to: 1.0,
            sd: 0.1,
            unit: "deg".into(),
            why: String::new(),
            held_back: held_back.map(str::to_owned),
        };
        ToAdopt {
            aircraft: "Plover".into(),
            recording: "a.csv".into(),
            changes: vec![change("a", None), change("b", Some("too few")), change("c", None)],
        }
    }

    #[test]
    fn all_that_is_carried_is_ticked_until_somebody_chooses() {
        assert_eq!(ticked(&asked(), &Fields::default()), ["a", "c"]);
        assert_eq!(ticked(&asked(), &Fields::read("ticks=yes&tick=c")), ["c"]);
        // Everything unticked is a choice, too.
        assert!(ticked(&asked(), &Fields::read("ticks=yes")).is_empty());
    }

    #[test]
    fn a_text_that_changed_has_another_mark() {
        assert_eq!(mark("a"), mark("a"));
        assert_ne!(mark("a"), mark("a "));
    }
}
