//! What has been done with this aircraft, from the first measurement to today? One page to hand to an instructor or a
//! club: what it is, where it stands, every card, flight, finding, change, defect and repair in the order of time.

use aircraft::Aircraft;
use maud::{Markup, html};
use predict::prediction::Prediction;

use crate::page::{facts, figure, page};

/// The record of one aircraft; all text is plain.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Record {
    /// Name of the aircraft.
    pub name: String,
    /// When the record was written, for people.
    pub written: String,
    /// Why it must stay on the ground; empty where nothing keeps it there.
    pub grounded: Vec<String>,
    /// Where it stands: names and values.
    pub standing: Vec<(String, String)>,
    /// What is still to be flown or looked at.
    pub outstanding: Vec<String>,
    /// What happened, in the order of time.
    pub events: Vec<Event>,
}

/// Something that happened.
#[derive(Debug, Clone, PartialEq)]
pub struct Event {
    /// When, for people.
    pub when: String,
    /// Kind, a word ("flight").
    pub kind: &'static str,
    /// What, in a line.
    pub title: String,
    /// More lines.
    pub lines: Vec<String>,
    /// Numbers: name, value with doubt and unit, whether it may be relied on.
    pub estimates: Vec<(String, String, bool)>,
}

const STYLE: &str = "
.event{border-left:5px solid var(--line);padding:.1rem .9rem .3rem;margin:1rem 0;max-width:48rem;break-inside:avoid}
.event.flight{border-color:var(--a)}.event.defect{border-color:var(--b)}.event.repair{border-color:var(--c)}
.event h3{margin:0}
.event .when{font-size:.95rem;margin:0}
.event ul{margin:.2rem 0}
";

/// The record as one self-contained page.
#[must_use]
pub fn record_html(record: &Record, aircraft: &Aircraft, prediction: &Prediction) -> String {
    let drawing = crate::three_view::three_view(
        aircraft,
        Some(prediction.balance.cg_m.x),
        Some(prediction.stability.neutral_point_x_m.value),
        prediction.stability.range_x_m.clone().ok(),
    );
    let body = html! {
        h1 { "Record of " (record.name) }
        p.lead { "Written " (record.written) ". Everything below is as it was kept at the time; nothing kept is ever changed." }
        @if !record.grounded.is_empty() {
            div.alarm role="note" {
                h2 { "On the ground" }
                ul { @for reason in &record.grounded { li { (reason) } } }
            }
        }
        section {
            h2 { "Where it stands" }
            (figure(drawing, "Three-view from the aircraft file as it is today"))
            (facts(record.standing.iter().map(|(name, value)| (name.as_str(), value.clone()))))
        }
        @if !record.outstanding.is_empty() {
            section {
                h2 { "Outstanding" }
                ul { @for line in &record.outstanding { li { (line) } } }
            }
        }
        section {
            h2 { "What happened" }
            @for event in &record.events { (told(event)) }
            @if record.events.is_empty() { p { "Nothing is kept yet." } }
        }
        section {
            h2 { "Predictions of today's file" }
            (crate::predict_page::predict_part(aircraft, prediction))
        }
    };
    page(&format!("Record of {}", record.name), STYLE, &body)
}

fn told(event: &Event) -> Markup {
    html! {
        article class=(format!("event {}", event.kind)) {
            p.when { (event.when) " \u{b7} " (event.kind) }
            h3 { (event.title) }
            @if !event.lines.is_empty() { ul { @for line in &event.lines { li { (line) } } } }
            @if !event.estimates.is_empty() {
                table {
                    thead { tr { th scope="col" { "Finding" } th scope="col" { "Value" } th scope="col" { "Holds" } } }
                    tbody {
                        @for (name, value, enough) in &event.estimates {
                            tr {
                                th scope="row" { (name) }
                                td { (value) }
                                td { (if *enough { "yes" } else { "not enough flown" }) }
                            }
                        }
                    }
                }
            }
        }
    }
}
