//! How are throws, limits, motions and doubts set on the page of predictions?

use maud::{Markup, html};
use numerics::units::DEG_PER_RAD;
use predict::motions::table;
use predict::prediction::Prediction;

use crate::number;

/// Limits of the balance point with what sets each.
pub(crate) fn limits(p: &Prediction) -> Markup {
    html! {
        @if !p.balance_limits.is_empty() {
            h3 { "Limits of the balance point" }
            ul {
                @for limit in &p.balance_limits {
                    @match &limit.x_m {
                        Ok(x) => li { strong { (limit.name) } ": " (number::known(*x, 1000.0, "mm")) " aft of the datum: " (limit.sentence) },
                        Err(why) => li { strong { (limit.name) } ": " (number::not_predicted(why)) "." },
                    }
                }
            }
        }
    }
}

/// Throws side by side, what they do, throws to begin with, loads of the servos.
pub(crate) fn throws(p: &Prediction) -> Markup {
    let a = &p.authority;
    let percent = |share: f64| format!("{} %", number::fixed(100.0 * share, 0));
    html! {
        @if !a.throws.is_empty() {
            h3 { "Throws at full stick" }
            p.note { "Measure and set them with the propeller off." }
            table.stack {
                thead { tr {
                    @for head in ["Surface", "Demand", "Share of the throw", "Angle", "Trailing edge", "Pulse", "Servo travel"] { th { (head) } }
                } }
                tbody {
                    @for row in &a.throws {
                        tr {
                            th { (row.movable) ", " (row.side) }
                            td data-name="Demand" { (row.demand) }
                            td data-name="Share of the throw" { (percent(row.share)) }
                            td data-name="Angle" { (number::fixed(row.deflection_rad.abs() * DEG_PER_RAD, 1)) "° " (row.way) }
                            td data-name="Trailing edge" { (number::fixed(row.edge_m * 1e3, 0)) " mm" }
                            td data-name="Pulse" {
                                @match row.pulse_us { Some(pulse) => { (number::fixed(pulse, 0)) " µs" }, None => "out of reach" }
                            }
                            td data-name="Servo travel" { (row.travel_share.map_or_else(|| "unknown".to_owned(), percent)) }
                        }
                    }
                }
            }
            @for sentence in &a.mixing { p { (sentence) } }
        }
        @if !a.answers.is_empty() {
            h3 { "What the surfaces do at cruise" }
            ul {
                @for answer in &a.answers {
                    @match &answer.value {
                        Ok(_) => li { (answer.sentence) },
                        Err(why) => li { (answer.what) ": " (number::not_predicted(why)) "." },
                    }
                }
            }
        }
        @if !a.recommended.is_empty() {
            h3 { "Throws to begin with, and for later" }
            ul { @for row in &a.recommended { li { (row.sentence()) } } }
        }
        @if !a.servos.is_empty() {
            h3 { "What the servos must hold" }
            ul { @for servo in &a.servos { li { (servo.sentence) } } }
        }
    }
}

/// How the motions change with balance point and power.
pub(crate) fn motions(p: &Prediction) -> Markup {
    let rows = table(&p.motions);
    let head = rows.first().cloned().unwrap_or_default();
    html! {
        @if !p.motions.is_empty() {
            h3 { "How they change with the balance point and with power" }
            p.note { "Period and damping ratio of a swing, else the time to halve or to double." }
            table.stack {
                thead { tr { @for name in &head { th { (name) } } } }
                tbody {
                    @for row in rows.iter().skip(1) {
                        tr {
                            @for (place, (cell, name)) in row.iter().zip(&head).enumerate() {
                                @if place == 0 { th { (cell) } } @else { td data-name=(name) { (cell) } }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// What to measure better.
pub(crate) fn doubts(p: &Prediction) -> Markup {
    html! {
        @if !p.doubts.is_empty() {
            h2 { "What to measure better" }
            ul { @for doubt in &p.doubts { li { (doubt.sentence) } } }
        }
    }
}
