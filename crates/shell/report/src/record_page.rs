//! What has been done with this aircraft, from the first measurement to today? One page to hand to an instructor or a
//! club: what it is, where it stands, every card, flight, finding, change, defect and repair in the order of time.

use aircraft::Aircraft;
use maud::{Markup, html};
use predict::prediction::Prediction;

use crate::page::{facts, figure, page};
use crate::plot::{Look, Plot};

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
    /// Its packs.
    pub packs: Vec<PackRecord>,
    /// Parts that are not here yet: what, and since when or for what.
    pub parts: Vec<(String, String)>,
    /// What is still to be flown or looked at.
    pub outstanding: Vec<String>,
    /// What happened, in the order of time.
    pub events: Vec<Event>,
}

/// What is known of a pack.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct PackRecord {
    /// Its name.
    pub name: String,
    /// Flights with it.
    pub flights: u32,
    /// Time in the air with it, min.
    pub minutes: f64,
    /// Charge taken from it, mAh.
    pub used_mah: f64,
    /// Resistance as measured: after how many flights, milliohm.
    pub resistance_mohm: Vec<[f64; 2]>,
    /// Rise of the resistance a flight, milliohm, where there are enough values.
    pub rise_mohm: Option<f64>,
}

/// A setting that changed.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct SettingChange {
    /// Its name, with its section.
    pub name: String,
    /// Value before.
    pub from: String,
    /// Value after.
    pub to: String,
    /// Which finding asked for it; empty where none did.
    pub asked: String,
}

/// Something that happened.
#[derive(Debug, Clone, PartialEq, Default)]
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
    /// Settings that changed after it.
    pub settings: Vec<SettingChange>,
}

const STYLE: &str = "
.event{border-left:5px solid var(--line);padding:.1rem .9rem .3rem;margin:1rem 0;max-width:48rem;break-inside:avoid}
.event.flight{border-color:var(--a)}.event.defect{border-color:var(--b)}.event.repair{border-color:var(--c)}
.event h3{margin:0}
.event .when{font-size:.95rem;margin:0}
.event ul{margin:.2rem 0}
.packs th,.packs td{overflow-wrap:normal}
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
        @if !record.parts.is_empty() {
            section {
                h2 { "Parts to order" }
                ul.tick { @for (what, why) in &record.parts { li { strong { (what) } ", " (why) } } }
            }
        }
        @if !record.packs.is_empty() {
            section { h2 { "Packs" } (packs(&record.packs)) }
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

/// The packs as a table, and how their resistance goes.
fn packs(packs: &[PackRecord]) -> Markup {
    let number = |value: f64| crate::number::fixed(value, 0);
    let trend = |pack: &PackRecord| match (pack.rise_mohm, pack.resistance_mohm.len()) {
        (Some(rise), _) => format!("{} m\u{3a9} a flight", crate::number::fixed(rise, 2)),
        (None, 0) => "never measured".to_owned(),
        (None, n) => format!("{n} measured; three make a trend"),
    };
    let measured: Vec<&PackRecord> = packs.iter().filter(|p| p.resistance_mohm.len() > 1).collect();
    html! {
        table.stack.packs {
            thead { tr {
                th { "Pack" } th { "Flights" } th { "Minutes" } th { "mAh taken" } th { "Resistance, first to last" } th { "Trend" }
            } }
            tbody {
                @for pack in packs {
                    tr {
                        th scope="row" { (pack.name) }
                        td data-name="Flights" { (pack.flights) }
                        td data-name="Minutes" { (number(pack.minutes)) }
                        td data-name="mAh taken" { @if pack.used_mah > 0.0 { (number(pack.used_mah)) } @else { "not told" } }
                        td data-name="Resistance" {
                            @match (pack.resistance_mohm.first(), pack.resistance_mohm.last()) {
                                (Some([_, first]), Some([_, last])) if pack.resistance_mohm.len() > 1 => {
                                    (number(*first)) " to " (number(*last)) " m\u{3a9}"
                                },
                                (Some([_, only]), _) => { (number(*only)) " m\u{3a9}" },
                                _ => {},
                            }
                        }
                        td data-name="Trend" { (trend(pack)) }
                    }
                }
            }
        }
        @if !measured.is_empty() {
            @let plot = measured.iter().fold(
                Plot::new(
                    "Resistance of the packs",
                    "Resistance of each pack as measured, over the flights flown with it.",
                    "Flights with the pack",
                    "Resistance, m\u{3a9}",
                ),
                |plot, pack| plot.with(&pack.name, Look::Line, pack.resistance_mohm.clone()),
            );
            (figure(plot.draw(), "The voltage sags by current times resistance: at half as much resistance again it sags half as much again."))
        }
    }
}

fn told(event: &Event) -> Markup {
    html! {
        article class=(format!("event {}", event.kind)) {
            p.when { (event.when) " \u{b7} " (event.kind) }
            h3 { (event.title) }
            @if !event.lines.is_empty() { ul { @for line in &event.lines { li { (line) } } } }
            @if !event.settings.is_empty() {
                table.stack {
                    thead { tr { th { "Setting" } th { "Flown with" } th { "After it" } th { "Asked for by" } } }
                    tbody {
                        @for change in &event.settings {
                            tr {
                                th scope="row" { (change.name) }
                                td data-name="Flown with" { (change.from) }
                                td data-name="After it" { (change.to) }
                                td data-name="Asked for by" { @if change.asked.is_empty() { "no finding" } @else { (change.asked) } }
                            }
                        }
                    }
                }
            }
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
