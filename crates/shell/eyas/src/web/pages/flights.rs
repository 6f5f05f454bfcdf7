//! What has been flown, and what did it teach? The list of flights, and the ways in for a new recording.

use std::sync::Arc;

use axum::Router;
use axum::extract::{DefaultBodyLimit, Path, State};
use axum::routing::{get, post};
use hangar::Flight;
use maud::{Markup, html};

use crate::cli::words::instant;
use crate::tasks::go_back;
use crate::tasks::incoming::{self, Waiting};
use crate::tasks::keep::{self, SIMULATED};
use crate::tasks::try_out::FLIGHTS;
use crate::web::app::App;
use crate::web::ask::Ask;
use crate::web::reply::{self, Reply, work};
use crate::web::shell::{Place, Step, form_key};

mod try_out;
mod upload;

pub(super) fn routes() -> Router<Arc<App>> {
    Router::new()
        .route("/aircraft/{name}/flights", get(show))
        .route(
            "/aircraft/{name}/flights/bring",
            // The upload itself holds what comes to its own limit, and answers in words.
            post(upload::bring).layer(DefaultBodyLimit::disable()),
        )
        .route("/aircraft/{name}/flights/try-out", post(try_out::start))
}

async fn show(State(app): State<Arc<App>>, ask: Ask, Path(name): Path<String>) -> Reply {
    work(app, ask, move |app, ask| {
        // A revision that no longer reads still has its flights.
        app.aircraft(&name)?;
        let waiting = incoming::list(&app.common, &name)?;
        let hangar = keep::open(&app.common)?;
        let flights = hangar.flights(&name).map_err(keep::trouble)?;
        let revisions = hangar.revisions(&name).map_err(keep::trouble)?;
        let adopted = go_back::newest_adoption(&revisions)
            .map(|r| r.number)
            .filter(|number| !go_back::taken_back(&revisions, *number));
        let body = html! {
            h1 { "What it flew, and what that taught" }
            (waiting_part(ask, &name, &waiting))
            (flights_part(&name, &flights))
            @if let Some(number) = adopted { (undo_part(ask, &name, number)) }
            (bring_part(ask, &name, flights.is_empty() && waiting.is_empty()))
            (try_out_part(ask, &name))
        };
        Ok(reply::page(ask, "Flights", &Place::Of(&name, Step::Flights), &body))
    })
    .await
}

fn recording_path(aircraft: &str, part: &str) -> String {
    format!("{}/recording/{part}", Step::Round.path(aircraft))
}

fn size(bytes: u64) -> String {
    format!("{:.1} MB", bytes as f64 / 1e6)
}

fn waiting_part(ask: &Ask, aircraft: &str, waiting: &[Waiting]) -> Markup {
    html! {
        @if !waiting.is_empty() {
            h2 { "Waiting to be read" }
            p { "Safe on this machine's disk, but not kept in the hangar yet. Look at what the columns were taken for, then learn from it." }
            div.cards {
                @for one in waiting {
                    article {
                        h3 { a href=(recording_path(aircraft, &format!("new-{}", one.id))) { (one.about.name) } }
                        p { (size(one.bytes)) ", brought " (instant(one.about.at_ms)) @if one.about.simulated { ". " strong { "Simulated" } ", not flown" } "." }
                        div.buttons {
                            a.button href=(recording_path(aircraft, &format!("new-{}", one.id))) { "Read it" }
                            form method="post" action={(recording_path(aircraft, &format!("new-{}", one.id))) "/discard"} data-asks={"Throw away " (one.about.name) "?"} {
                                (form_key(ask))
                                button.grave { "Throw away" }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn flights_part(aircraft: &str, flights: &[Flight]) -> Markup {
    html! {
        @if !flights.is_empty() {
            h2 { "Flights" }
            div.cards {
                // The newest first: it is what somebody comes for.
                @for (number, flight) in flights.iter().enumerate().rev() {
                    article {
                        h3 { "Flight " (number + 1) ": " a href=(recording_path(aircraft, &flight.recording.id.to_string())) { (flight.recording.source_name) } }
                        p.note {
                            "Kept " (instant(flight.recording.at_ms)) ", " (size(flight.recording.bytes)) ", flown as revision " (flight.recording.revision_number) "."
                            @if flight.recording.note == SIMULATED { " " strong { "Simulated, not flown." } }
                            @else if !flight.recording.note.is_empty() { " " (report::number::sentence(&flight.recording.note)) }
                        }
                        (learned(aircraft, flight))
                    }
                }
            }
        }
    }
}

fn learned(aircraft: &str, flight: &Flight) -> Markup {
    html! {
        @match &flight.learned {
            None => p { "Nothing learnt from it yet: open the recording and choose \u{201c}Learn from it\u{201d}." },
            Some(l) => {
                p {
                    (l.enough) " of " (l.estimates) " estimates can be relied on; "
                    @match l.changes { 0 => "no change is asked for", 1 => "1 change is asked for", n => { (n) " changes are asked for" } } ". "
                    @match flight.adopted_as.as_slice() {
                        [] => @if l.changes > 0 { span.state.open { "not adopted" } },
                        numbers => span.state.passed {
                            "adopted as revision " (numbers.iter().map(u32::to_string).collect::<Vec<_>>().join(", "))
                        },
                    }
                }
                div.buttons {
                    a.button.second href={(Step::Round.path(aircraft)) "/findings/" (l.findings)} { "What it taught" }
                    a.button.second href=(recording_path(aircraft, &flight.recording.id.to_string())) { "Its plots" }
                }
            }
        }
    }
}

fn undo_part(ask: &Ask, aircraft: &str, number: u32) -> Markup {
    html! {
        details {
            summary { "Take the newest adoption back" }
            p {
                "Revision " (number) " took findings over. Taking it back puts the text before it in force again; both stay in the hangar. "
                "It does not change what is set in the controller and on the servos: set them as the file says then, propeller off, and check the direction of every surface."
            }
            form method="post" action={(Step::Round.path(aircraft)) "/findings/undo"} data-asks={"Take revision " (number) " back?"} {
                (form_key(ask))
                div.buttons { button.second { "Take it back" } }
            }
        }
    }
}

fn bring_part(ask: &Ask, aircraft: &str, first: bool) -> Markup {
    html! {
        h2 { "Bring a recording" }
        @if first {
            p.next { "Nothing was flown yet. After the flight, copy the log from the controller's card or memory to this machine and drop it here; or try the way with a simulated flight, below." }
        }
        form method="post" action={(Step::Flights.path(aircraft)) "/bring"} enctype="multipart/form-data" data-upload="" {
            (form_key(ask))
            div.drop {
                div.field {
                    label for="recording" { "Recording, or several files of one flight" }
                    input #recording type="file" name="recording" multiple required aria-describedby="recording-hint";
                    p.hint #recording-hint {
                        "Text in columns (CSV and the like), GPX, IGC or NMEA 0183, also packed with gzip or Zstandard; up to 1 GiB. Several files are brought onto one clock by what they all recorded, and kept together as one table."
                    }
                }
                progress hidden="" aria-label="Sent so far" {}
                p data-progress="" role="status" {}
                div.buttons { button { "Bring it in" } button.second type="button" hidden="" data-stops="" { "Stop" } }
            }
        }
    }
}

fn try_out_part(ask: &Ask, aircraft: &str) -> Markup {
    html! {
        h2 { "Or try it with a simulated flight" }
        p {
            "For learning the way through: a flight of this aircraft as it is described, computed instead of flown. Small things are wrong on purpose (the controller sits a little crooked, it drags more than described), so that there is something to find. "
            strong { "It tells nothing about the real aircraft" } ", and the next card does not count it as a flight."
        }
        form method="post" action={(Step::Flights.path(aircraft)) "/try-out"} {
            (form_key(ask))
            div.fields {
                div.field {
                    label for="flight" { "Flight" }
                    select #flight name="flight" { @for (word, title, _) in FLIGHTS { option value=(word) { (title) } } }
                }
                div.field {
                    label for="wind" { "Wind, m/s" }
                    input #wind type="text" inputmode="decimal" name="wind" value="4";
                }
                div.field {
                    label for="from" { "Wind from, degrees" }
                    input #from type="text" inputmode="decimal" name="from" value="270";
                }
            }
            div.buttons { button.second { "Fly it in simulation" } }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_from_files_are_text_and_never_markup() {
        let flight = Flight {
            link: None,
            recording: hangar::Recording {
                id: hangar::RecordingId(3),
                aircraft: "a/b <b>".into(),
                revision: hangar::RevisionId(1),
                revision_number: 1,
                sha256: String::new(),
                bytes: 1_500_000,
                source_name: "<script>alert(1)</script>.csv".into(),
                at_ms: 0,
                note: SIMULATED.into(),
            },
            learned: None,
            adopted_as: vec![],
        };
        let html = flights_part("a/b <b>", &[flight]).into_string();
        assert!(!html.contains("<script>") && html.contains("&lt;script&gt;"));
        assert!(html.contains("/aircraft/a%2Fb%20%3Cb%3E/recording/3"));
        assert!(html.contains("Simulated, not flown"));
    }
}
