//! Where does this aircraft stand? The steps of its round with the state of each, what keeps it on the ground, and the next
//! thing to do.

use std::sync::Arc;

use axum::Router;
use axum::extract::{Path, State};
use axum::routing::get;
use hangar::{Flight, Hangar, Revision};
use maud::{Markup, PreEscaped, html};
use plan::places;

use crate::cli::now_ms;
use crate::cli::words::{count, instant};
use crate::tasks::fetch::Fetched;
use crate::tasks::forecast::Air;
use crate::tasks::keep;
use crate::tasks::standing::{self, At, How, Next, Standing};
use crate::tell::Trouble;
use crate::web::app::{App, Foreseen};
use crate::web::ask::Ask;
use crate::web::fields::encoded;
use crate::web::reply::{self, Reply, work};
use crate::web::shell::{self, Place, Step, known_word};

/// How many flights and revisions are listed here.
const LAST: usize = 6;

pub(super) fn routes() -> Router<Arc<App>> {
    Router::new().route("/aircraft/{name}", get(show))
}

/// The page of a step.
fn step_of(at: At) -> Step {
    match at {
        At::Describe => Step::Describe,
        At::Predict => Step::Predict,
        At::Launch => Step::Launch,
        At::Day => Step::Day,
        At::Ready => Step::Ready,
        At::Card => Step::Card,
        At::Learn => Step::Flights,
        At::Keep => Step::Keep,
    }
}

/// What a step is called.
pub(super) fn name_of(at: At) -> &'static str {
    Step::ALL.iter().find(|(step, ..)| *step == step_of(at)).map_or("", |(_, _, name, _)| name)
}

/// Where a step of an aircraft stands.
pub(super) fn path_of(at: At, aircraft: &str) -> String {
    step_of(at).path(aircraft)
}

fn question_of(at: At) -> &'static str {
    Step::ALL.iter().find(|(step, ..)| *step == step_of(at)).map_or("", |(_, _, _, question)| question)
}

async fn show(State(app): State<Arc<App>>, ask: Ask, Path(name): Path<String>) -> Reply {
    work(app, ask, move |app, ask| {
        // That there is no such aircraft is told with its status; what takes time comes after the frame.
        let fetched = match app.aircraft(&name) {
            Ok(fetched) => fetched,
            Err(trouble) if trouble.kind() == crate::tell::Kind::No => {
                return Ok(unreadable(ask, &name, &trouble));
            }
            Err(trouble) => return Err(trouble),
        };
        let place = Place::Of(&name, Step::Round);
        let named = name.clone();
        Ok(reply::later(app, ask, "Round", &place, move |app, _| body(app, &fetched, &named)))
    })
    .await
}

/// An aircraft whose file has errors: they are told, and the way to mend them.
fn unreadable(ask: &Ask, name: &str, trouble: &Trouble) -> Reply {
    let body = html! {
        h1 { (name) }
        (shell::told(trouble))
        div.buttons {
            a.button href={ (Step::Describe.path(name)) "/file" } { "Open its file" }
            a.button.second href={ (Step::Describe.path(name)) "/revisions" } { "Earlier revisions" }
        }
    };
    reply::page(ask, "Round", &Place::Of(name, Step::Round), &body)
}

fn body(app: &Arc<App>, fetched: &Fetched, name: &str) -> Result<Markup, Trouble> {
    let foreseen = app.foresee(fetched, &Air::default())?;
    let standing = standing::standing(fetched, &foreseen.prediction, now_ms(), &app.common)?;
    let hangar = keep::open(&app.common)?;
    let revisions = hangar.revisions(name).map_err(keep::trouble)?;
    Ok(html! {
        h1 { (name) }
        (next_part(&standing.next, name))
        (grounds_part(&standing))
        div.beside {
            section aria-labelledby="steps" {
                h2 id="steps" { "The round" }
                (steps_part(&standing, name))
            }
            section aria-labelledby="drawing" {
                h2 id="drawing" { "The aircraft" }
                (drawing_part(fetched, &foreseen))
            }
        }
        (outstanding_part(fetched, &standing, name))
        (flights_part(&hangar, &standing.flights, name)?)
        (revisions_part(&revisions, name))
    })
}

fn next_part(next: &Next, name: &str) -> Markup {
    html! {
        div.next {
            h2 { "Next" }
            p.lead { (next.what) }
            div.buttons { a.button href=(path_of(next.at, name)) { (next.short) } }
        }
    }
}

fn grounds_part(standing: &Standing) -> Markup {
    html! {
        @if standing.grounds.is_empty() {
            p { "Nothing that is kept here keeps it on the ground. That is not to say that a flight is safe: local rules, the field and your own eyes come first." }
        } @else {
            div.alarm role="note" {
                h2 { "On the ground" }
                ul { @for reason in &standing.grounds { li { (shell::capital(reason)) "." } } }
                p { "No card is made until this is mended and looked at again." }
            }
        }
    }
}

fn steps_part(standing: &Standing, name: &str) -> Markup {
    html! {
        ol.steps {
            @for step in &standing.steps {
                li {
                    div.step-head {
                        a href=(path_of(step.at, name)) { (name_of(step.at)) }
                        span.state.(look(step.how)) { (step.state) }
                    }
                    p.note { (question_of(step.at)) }
                    @if !step.lines.is_empty() {
                        @if step.lines.len() > 3 {
                            details {
                                summary { (step.lines.len()) " remarks" }
                                ul { @for line in &step.lines { li { (line) } } }
                            }
                        } @else {
                            ul { @for line in &step.lines { li { (line) } } }
                        }
                    }
                }
            }
        }
    }
}

fn look(how: How) -> &'static str {
    match how {
        How::Done => "go",
        How::Open => "part",
        How::Against => "no",
    }
}

fn drawing_part(fetched: &Fetched, foreseen: &Foreseen) -> Markup {
    let p = &foreseen.prediction;
    let drawing = report::three_view::three_view(
        &fetched.aircraft,
        Some(p.balance.cg_m.x),
        Some(p.stability.neutral_point_x_m.value),
        p.stability.range_x_m.clone().ok(),
    );
    html! {
        figure {
            (PreEscaped(drawing))
            figcaption { "From the file in force. " (known_word("balance point")) " " (known_word("neutral point")) }
        }
        @if foreseen.rough { p.note { "Tables of its wing sections are being computed; in some seconds the numbers become finer. Load the page again then." } }
    }
}

fn outstanding_part(fetched: &Fetched, standing: &Standing, name: &str) -> Markup {
    let missing = &standing.outstanding.missing;
    let bench = &standing.outstanding.bench_work;
    html! {
        section aria-labelledby="outstanding" {
            h2 id="outstanding" { "Outstanding" }
            @if !bench.is_empty() {
                div.warn {
                    h3 { "On the bench, before the next flight" }
                    ul { @for change in bench { li { (places::bench_work(&fetched.aircraft, change)) } } }
                    p { strong { "Propeller off." } " Check the direction of every surface afterwards." }
                }
            }
            @if missing.is_empty() {
                p { "Nothing is left to be learnt by flying, as far as the test points go." }
            } @else {
                table.stack.roomy {
                    caption.away { "What is still to be learnt by flying" }
                    thead { tr { th scope="col" { "To be learnt" } th scope="col" { "Flown in" } th scope="col" { "Said so far" } } }
                    tbody {
                        @for m in missing {
                            tr {
                                th scope="row" { (shell::capital(&standing::learnable(&m.what))) }
                                td data-name="Flown in" { span { (m.points.join(", ")) } }
                                td data-name="Said so far" { span { @match &m.verdict { Some(verdict) => (verdict), None => "not flown yet" } } }
                            }
                        }
                    }
                }
            }
            @if !standing.outstanding.found.is_empty() {
                details {
                    summary { (standing.outstanding.found.len()) " known from flights and the bench" }
                    dl.told { @for (what, how) in &standing.outstanding.found { div { dt { (shell::capital(&standing::learnable(what))) } dd { (how) } } } }
                }
            }
            div.buttons { a.button.second href=(Step::Card.path(name)) { "Make a card of it" } }
        }
    }
}

fn flights_part(hangar: &Hangar, flights: &[Flight], name: &str) -> Result<Markup, Trouble> {
    let log = hangar::log_totals(&hangar.log_entries(name).map_err(keep::trouble)?);
    Ok(html! {
        section aria-labelledby="flights" {
            h2 id="flights" { "Last flights" }
            @if flights.is_empty() {
                p { "No recording is kept yet. After the flight, bring the controller's recording to " a href=(Step::Flights.path(name)) { "Learn" } "." }
            } @else {
                table.stack.roomy {
                    caption.away { "The last recordings" }
                    thead { tr { th scope="col" { "Recording" } th scope="col" { "Kept" } th scope="col" { "What came of it" } } }
                    tbody { @for flight in flights.iter().rev().take(LAST) { (flight_row(flight, name)) } }
                }
                p {
                    @if log.flights > 0 {
                        "In the log: " (count(log.flights, "flight")) ", " (report::number::duration(log.flown_s)) " in the air. "
                    }
                    a href=(Step::Flights.path(name)) { "All " (flights.len()) " recordings" }
                }
            }
        }
    })
}

fn flight_row(flight: &Flight, name: &str) -> Markup {
    let r = &flight.recording;
    html! {
        tr {
            th scope="row" { a href={ "/aircraft/" (encoded(name)) "/recording/" (r.id) } { (r.id) ": " (r.source_name) } }
            td data-name="Kept" { (instant(r.at_ms)) }
            td data-name="What came of it" {
                span {
                    @match &flight.learned {
                        Some(l) => {
                            a href={ "/aircraft/" (encoded(name)) "/findings/" (l.findings) } { (l.enough) " of " (l.estimates) " estimates hold" }
                            ", " (count(l.changes, "change")) " asked for"
                            @if !flight.adopted_as.is_empty() {
                                ", adopted as revision " (flight.adopted_as.iter().map(u32::to_string).collect::<Vec<_>>().join(", "))
                            }
                        }
                        None => "nothing learnt yet",
                    }
                }
            }
        }
    }
}

fn revisions_part(revisions: &[Revision], name: &str) -> Markup {
    html! {
        section aria-labelledby="revisions" {
            h2 id="revisions" { "Revisions of its file" }
            ol.events reversed start=(revisions.len()) {
                @for r in revisions.iter().rev().take(LAST) {
                    li value=(r.number) { (instant(r.at_ms)) ": " (r.note) @if r.from_findings.is_some() { " (from findings)" } }
                }
            }
            p { a href={ (Step::Describe.path(name)) "/revisions" } { "All " (revisions.len()) " revisions, and the way back to each" } }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_step_stands_on_the_page_with_its_state() {
        let (_folder, app) = App::of_example();
        let fetched = app.aircraft("Wheatear").unwrap();
        let text = body(&app, &fetched, "Wheatear").unwrap().into_string();
        for (step, _, name, _) in Step::ALL.iter().filter(|(step, ..)| *step != Step::Round) {
            assert!(text.contains(&format!("href=\"{}\"", step.path("Wheatear"))), "{name}");
        }
        assert!(text.contains("Next") && text.contains("Outstanding"), "{text}");
        // Nobody looked at it yet: the list for home comes before any card.
        assert!(text.contains("Go through the list"), "{text}");
    }

    #[test]
    fn a_defect_that_grounds_is_told_first_and_escaped() {
        let (_folder, app) = App::of_example();
        let new = hangar::NewDefect {
            place: "nose",
            what: "firewall <b>cracked</b>",
            grounds: true,
            by: "",
            at_ms: 1,
        };
        keep::open(&app.common).unwrap().open_defect("Wheatear", &new).unwrap();
        let fetched = app.aircraft("Wheatear").unwrap();
        let text = body(&app, &fetched, "Wheatear").unwrap().into_string();
        assert!(text.contains("On the ground") && text.contains("firewall &lt;b&gt;cracked"), "{text}");
        assert!(text.contains("See the defects"), "{text}");
    }
}
