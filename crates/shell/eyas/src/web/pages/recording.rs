//! What is in a recording, and how good is it? Its plots, phases, track and flaws, and the way on to what it teaches.

use std::sync::Arc;

use axum::Router;
use axum::extract::{Path, RawQuery, State};
use axum::routing::{get, post};
use fly::read::Format;
use maud::{Markup, PreEscaped, html};
use report::learn_plots;
use report::number::duration;

use crate::cli::words::instant;
use crate::json::reading;
use crate::tasks::keep;
use crate::tell::Trouble;
use crate::web::app::App;
use crate::web::ask::Ask;
use crate::web::fields::{Fields, Form};
use crate::web::reply::{self, Reply, later, work};
use crate::web::shelf::{self, Label, Read, Which};
use crate::web::shell::{Place, Step, form_key, word};

mod columns;
mod numbers;
mod out;
mod plots;
mod series;

/// Flaws named one by one.
const MOST_FLAWS: usize = 60;
/// Phases and stick movements listed at once.
const MOST_LISTED: usize = 150;

pub(super) fn routes() -> Router<Arc<App>> {
    Router::new()
        .route("/aircraft/{name}/recording/{which}", get(show))
        .route("/aircraft/{name}/recording/{which}/columns", get(columns::show).post(columns::correct))
        .route("/aircraft/{name}/recording/{which}/columns/unit", get(columns::unit))
        .route("/aircraft/{name}/recording/{which}/series", get(series::send))
        .route("/aircraft/{name}/recording/{which}/original", get(out::original))
        .route("/aircraft/{name}/recording/{which}/export/{form}", get(out::export))
        .route("/aircraft/{name}/recording/{which}/keep", post(keep_only))
        .route("/aircraft/{name}/recording/{which}/discard", post(discard))
}

/// Address of a recording's page.
pub(super) fn path(aircraft: &str, which: &Which) -> String {
    format!("{}/recording/{}", Step::Round.path(aircraft), which.part())
}

async fn show(
    State(app): State<Arc<App>>,
    ask: Ask,
    Path((name, which)): Path<(String, String)>,
    RawQuery(query): RawQuery,
) -> Reply {
    work(app, ask, move |app, ask| {
        app.aircraft(&name)?;
        let label = shelf::label(app, &name, &Which::read(&which)?)?;
        let fields = Fields::read(&query.unwrap_or_default());
        let title = label.name.clone();
        let aircraft = name.clone();
        Ok(later(app, ask, &title, &Place::Of(&name, Step::Flights), move |app, ask| {
            let read = app.shelf.read(app, &label)?;
            Ok(page(app, ask, &aircraft, &label, &read, &fields))
        }))
    })
    .await
}

fn page(app: &App, ask: &Ask, aircraft: &str, label: &Label, read: &Read, fields: &Fields) -> Markup {
    let here = path(aircraft, &label.which);
    html! {
        h1 { (label.name) }
        (lead(label, read))
        @if label.simulated {
            p.warn { strong { "Simulated. " } "Nothing in it was flown: what it teaches is what the simulation hid, and nothing about the real aircraft." }
        }
        @for said in &label.said { p.note { (said) } }
        (way_on(app, ask, aircraft, label))
        h2 #plots { "Plots" }
        (plots::part(&here, read, fields))
        h2 { "Phases" }
        (phases(&here, read, fields))
        h2 { "Over the field, and in height" }
        (drawings(read))
        h2 { "How good it is" }
        (quality(read))
        (columns_hint(&here, read))
        h2 { "Take it elsewhere" }
        (out::links(&here, read))
    }
}

fn lead(label: &Label, read: &Read) -> Markup {
    let recording = &read.studied.recording;
    html! {
        p.lead {
            @match recording.span_s() {
                Some((from, to)) => { (duration(to - from)) " in " (recording.channels.len()) " channels, " (recording.rows) " rows" },
                None => "It holds no time",
            }
            " (" (read.studied.format.word()) ", " (format!("{:.1} MB", label.bytes as f64 / 1e6)) "), "
            @if label.waiting().is_some() { "brought " } @else { "kept " } (instant(label.at_ms)) "."
        }
        @for flown in &read.flights {
            p {
                "In the air from " (format!("{:.1} to {:.1} s", flown.window.from_s, flown.window.to_s)) "."
                @if let Some(load) = flown.impact {
                    " " strong { "It ended with an impact of " (format!("{:.0} g", load / numerics::units::G_M_S2)) ". Look the aircraft over before it flies again, the pack first: a hurt lithium pack can burn hours later." }
                }
            }
        }
    }
}

fn way_on(app: &App, ask: &Ask, aircraft: &str, label: &Label) -> Markup {
    let here = path(aircraft, &label.which);
    let learned = match &label.which {
        Which::Kept(id) => keep::open(&app.common)
            .ok()
            .and_then(|hangar| hangar.flights(aircraft).ok())
            .and_then(|all| all.into_iter().find(|f| f.recording.id == *id))
            .and_then(|f| f.learned),
        Which::Waiting(_) => None,
    };
    html! {
        div.next {
            @match &learned {
                Some(learned) => {
                    p { "It was learnt from " (instant(learned.at_ms)) ": " (learned.enough) " of " (learned.estimates) " estimates can be relied on." }
                    div.buttons { a.button href={(Step::Round.path(aircraft)) "/findings/" (learned.findings)} { "What it taught" } }
                }
                None => p { "Next: see below what its columns were taken for; where that is right, learn from it." },
            }
            div.buttons {
                form method="post" action={(here) "/learn"} {
                    (form_key(ask))
                    button.second[learned.is_some()] { @if learned.is_some() { "Learn from it again" } @else { "Learn from it" } }
                }
                a.button.second href={(here) "/columns"} { "Its columns" }
                @if label.waiting().is_some() {
                    form method="post" action={(here) "/keep"} { (form_key(ask)) button.second { "Only keep it" } }
                    form method="post" action={(here) "/discard"} data-asks="Throw this recording away?" { (form_key(ask)) button.grave { "Throw away" } }
                }
            }
        }
    }
}

fn phases(here: &str, read: &Read, fields: &Fields) -> Markup {
    let within =
        plots::shown(&read.studied.recording, fields).map_or((f64::MIN, f64::MAX), |s| (s.from_s, s.to_s));
    let phases: Vec<_> =
        read.phases.iter().filter(|p| p.window.to_s > within.0 && p.window.from_s < within.1).collect();
    let inputs: Vec<_> = read.inputs.iter().filter(|i| i.end_s > within.0 && i.start_s < within.1).collect();
    html! {
        @if read.phases.is_empty() {
            p { "None could be told from these channels: the recording has no speed." }
        } @else {
            details {
                summary { (phases.len()) @if phases.len() == 1 { " phase" } @else { " phases" } " in these seconds" }
                div.scroll { table {
                    thead { tr { th scope="col" { "Phase" } th.n scope="col" { "From, s" } th.n scope="col" { "To, s" } th.n scope="col" { "How sure" } } }
                    tbody {
                        @for phase in phases.iter().take(MOST_LISTED) {
                            tr {
                                th scope="row" { a href=(plots::link(here, phase.window.from_s, phase.window.to_s, &[])) { (phase.kind.word()) } }
                                td.n { (format!("{:.1}", phase.window.from_s)) }
                                td.n { (format!("{:.1}", phase.window.to_s)) }
                                td.n { (format!("{:.0} %", 100.0 * phase.confidence)) }
                            }
                        }
                    }
                } }
            }
            (more(phases.len()))
            @if !inputs.is_empty() {
                details {
                    summary { (inputs.len()) @if inputs.len() == 1 { " stick movement" } @else { " stick movements" } " on purpose in these seconds" }
                    div.scroll { table {
                        thead { tr { th scope="col" { "Movement" } th.n scope="col" { "From, s" } th.n scope="col" { "Size" } th scope="col" { "Stick acts" } } }
                        tbody {
                            @for input in inputs.iter().take(MOST_LISTED) {
                                tr {
                                    th scope="row" {
                                        a href=(plots::link(here, input.start_s - 1.0, input.end_s + 2.0, &plots::of_axis(input.axis))) { (input.axis.word()) " " (input.kind.word()) }
                                    }
                                    td.n { (format!("{:.1}", input.start_s)) }
                                    td.n { (format!("{:+.0} %", 100.0 * input.size)) }
                                    td { (input.control.word()) }
                                }
                            }
                        }
                    } }
                }
            }
        }
    }
}

fn more(count: usize) -> Markup {
    html! { @if count > MOST_LISTED { p.note { "The first " (MOST_LISTED) " are listed: choose fewer seconds above for the others." } } }
}

fn drawings(read: &Read) -> Markup {
    let recording = &read.studied.recording;
    let track = learn_plots::track(recording, None);
    html! {
        div.plots {
            @match track {
                // The drawing escapes what it writes.
                Some(track) => figure { (PreEscaped(track)) figcaption { "North is up; metres from where the recording begins." } },
                None => p { "The recording has no positions, so that there is no track." },
            }
            figure { (PreEscaped(learn_plots::time_line(recording, &read.phases))) }
        }
    }
}

fn quality(read: &Read) -> Markup {
    let recording = &read.studied.recording;
    let flaws: Vec<_> = recording.flaws.iter().chain(&read.quality.flaws).collect();
    html! {
        @if flaws.is_empty() {
            p { "Nothing wrong was found with it." }
        } @else {
            p { (flaws.len()) @if flaws.len() == 1 { " thing" } @else { " things" } " to know:" }
            ul { @for flaw in flaws.iter().take(MOST_FLAWS) { li { strong { (flaw.place) } ": " (flaw.what) } } }
            @if flaws.len() > MOST_FLAWS { p { "and " (flaws.len() - MOST_FLAWS) " more of the kind." } }
        }
        details {
            summary { "Every channel: rate, holes, range" }
            (word("Jitter", "How unevenly the samples follow each other, as a share of the usual step."))
            div.scroll { table.wide {
                thead { tr {
                    th scope="col" { "Channel" } th scope="col" { "Column" } th.n scope="col" { "Rate, Hz" } th.n scope="col" { "Jitter" }
                    th.n scope="col" { "Longest hole, s" } th.n scope="col" { "Missing" } th.n scope="col" { "Least" } th.n scope="col" { "Middle" } th.n scope="col" { "Greatest" } th scope="col" { "Unit" }
                } }
                tbody {
                    @for c in &read.quality.channels {
                        @let unit = reading::shown(&c.quantity);
                        tr {
                            th scope="row" { (fly::words::word(&c.quantity)) }
                            td { (c.source) }
                            td.n { (format!("{:.1}", c.rate_hz)) }
                            td.n { (format!("{:.0} %", 100.0 * c.jitter)) }
                            td.n { (format!("{:.2}", c.longest_gap_s)) }
                            td.n { (c.missing) }
                            @for value in [c.least, c.middle, c.greatest] { td.n { (plots::short(reading::in_unit(value, unit))) } }
                            td { (unit.map_or("", |u| u.word)) }
                        }
                    }
                }
            } }
        }
    }
}

fn columns_hint(here: &str, read: &Read) -> Markup {
    let unused = &read.studied.recording.unused_columns;
    html! {
        @if read.studied.format == Format::Columns {
            p {
                @if !unused.is_empty() { (unused.len()) @if unused.len() == 1 { " column is" } @else { " columns are" } " not used. " }
                a href={(here) "/columns"} { "See what each column was taken for and why, and correct it" } "."
            }
        }
    }
}

async fn keep_only(
    State(app): State<Arc<App>>,
    Path((name, which)): Path<(String, String)>,
    form: Form,
) -> Reply {
    work(app, form.ask, move |app, _| {
        let fetched = app.aircraft(&name)?;
        let label = shelf::label(app, &name, &Which::read(&which)?)?;
        let Some(waiting) = label.waiting() else {
            return Ok(reply::on_to(&path(&name, &label.which), "It is kept already."));
        };
        let studied = shelf::study(app, &label)?;
        let note = if label.simulated { keep::SIMULATED } else { "" };
        let mut hangar = keep::open(&app.common)?;
        let id = keep::recording(&mut hangar, &fetched, &label.name, &studied, note, crate::cli::now_ms())?;
        app.shelf.now_kept(app, &name, &label, id);
        waiting.discard()?;
        Ok(reply::on_to(&path(&name, &Which::Kept(id)), "Kept in the hangar."))
    })
    .await
}

async fn discard(
    State(app): State<Arc<App>>,
    Path((name, which)): Path<(String, String)>,
    form: Form,
) -> Reply {
    work(app, form.ask, move |app, _| {
        let label = shelf::label(app, &name, &Which::read(&which)?)?;
        match label.waiting() {
            Some(waiting) => {
                waiting.discard()?;
                Ok(reply::on_to(
                    &Step::Flights.path(&name),
                    &format!("\u{201c}{}\u{201d} was thrown away.", label.name),
                ))
            }
            None => Err(Trouble::new(
                crate::tell::Kind::Conflict,
                "nothing was thrown away",
                "the recording is kept in the hangar by now, and what is kept there stays",
                "leave it there: it does no harm",
            )),
        }
    })
    .await
}
