//! What did the flight teach, on what evidence, and what should be changed?

use aircraft::Aircraft;
use aircraft::finding::{Change, Finding};
use fly::phases::{Phase, PhaseKind};
use fly::recording::{Flaw, Recording};
use learn::findings::{Findings, NotLearnt, Trim};
use maud::{Markup, html};
use numerics::units::DEG_PER_RAD;
use predict::prediction::Prediction;

use crate::learn_plots::{level_attitude, phase_word, time_line, track, trim, wind_circle};
use crate::number;
use crate::page::{figure, page};

/// All findings of a flight as one self-contained page.
#[must_use]
pub fn learn_html(
    aircraft: &Aircraft,
    prediction: Option<&Prediction>,
    recording: &Recording,
    findings: &Findings,
    flaws: &[Flaw],
) -> String {
    let title = format!("What the flight taught of {}", aircraft.name);
    let body = html! {
        h1 { (title) }
        (learn_part(aircraft, prediction, recording, findings, flaws))
    };
    page(&title, "", &body)
}

/// The same without the page around it.
pub(crate) fn learn_part(
    aircraft: &Aircraft,
    prediction: Option<&Prediction>,
    recording: &Recording,
    findings: &Findings,
    flaws: &[Flaw],
) -> Markup {
    html! {
        p.lead { (lead(recording, findings)) }
        h2 { "What to change" }
        (changes(&findings.changes))
        h2 { "The flight" }
        div.plots {
            (figure(time_line(recording, &findings.phases), &phase_sums(&findings.phases)))
            @if let Some(track) = track(recording, findings.wind.as_ref().ok()) { (figure(track, "")) }
        }
        h2 { "Wind" }
        (wind(findings))
        h2 { "Level attitude" }
        (level(findings))
        h2 { "Trims" }
        (trims(findings))
        @if let Some(prediction) = prediction {
            h2 { "Predicted beside flown" }
            (beside(aircraft, prediction, findings))
        }
        h2 { "The recording" }
        (quality(recording, flaws))
    }
}

fn lead(recording: &Recording, findings: &Findings) -> String {
    let length = recording.span_s().map_or("no time".to_owned(), |(from, to)| number::duration(to - from));
    let carried = findings.changes.iter().filter(|c| c.held_back.is_none()).count();
    let held = findings.changes.len() - carried;
    let mut words = format!(
        "{length} recorded in {} channels. {carried} {} asked for",
        recording.channels.len(),
        if carried == 1 { "change is" } else { "changes are" }
    );
    if held > 0 {
        words.push_str(&format!(", {held} held back"));
    }
    words.push('.');
    words
}

fn changes(changes: &[Change]) -> Markup {
    html! {
        @if changes.is_empty() {
            p { "Nothing: the flight asks for no change that it can carry." }
        } @else {
            p.note { "Made on the bench, propeller off; then the surface direction check again." }
        }
        @for change in changes {
            div.block.held[change.held_back.is_some()] {
                h3 { (breakable(&change.path)) }
                p.big {
                    @match change.from {
                        Some(from) => {
                            "from " (number::exact(from, &change.unit)) " to "
                            (number::with_doubt(change.to, change.sd, &change.unit))
                        }
                        None => { "set to " (number::with_doubt(change.to, change.sd, &change.unit)) " (the file has none yet)" }
                    }
                }
                p { (change.why) }
                @if let Some(why) = &change.held_back {
                    p { strong { "Held back: " } (why) }
                }
            }
        }
    }
}

/// A path that may break after its dots and underscores, where a phone is narrow.
fn breakable(path: &str) -> Markup {
    html! {
        @for piece in path.split_inclusive(['.', '_']) { (piece) wbr; }
    }
}

fn phase_sums(phases: &[Phase]) -> String {
    let mut sums: Vec<(PhaseKind, f64, usize)> = Vec::new();
    for phase in phases {
        let length = phase.window.to_s - phase.window.from_s;
        match sums.iter_mut().find(|(kind, ..)| *kind == phase.kind) {
            Some((_, seconds, count)) => {
                *seconds += length;
                *count += 1;
            }
            None => sums.push((phase.kind, length, 1)),
        }
    }
    let words: Vec<String> = sums
        .iter()
        .map(|(kind, seconds, count)| {
            let times = if *count > 1 { format!(" in {count} pieces") } else { String::new() };
            format!("{} {}{times}", phase_word(*kind), number::duration(*seconds))
        })
        .collect();
    if words.is_empty() {
        "No phases were found.".to_owned()
    } else {
        format!("Phases: {}.", words.join(", "))
    }
}

fn not_learnt(why: &NotLearnt) -> Markup {
    html! {
        @match why {
            NotLearnt::MissingChannel { what } => p { "Not found: the recording lacks " (what) "." },
            NotLearnt::NotExcited { why } => p { "Not found: " (why) },
        }
    }
}

/// Whether a finding suffices, why, and the seconds it rests on.
fn verdict(finding: &Finding) -> Markup {
    let windows: Vec<String> = finding
        .evidence
        .iter()
        .take(8)
        .map(|w| format!("{} to {} s", number::fixed(w.from_s, 0), number::fixed(w.to_s, 0)))
        .collect();
    let more = finding.evidence.len().saturating_sub(windows.len());
    html! {
        p {
            strong { @if finding.enough { "Enough to rely on. " } @else { "Not enough to rely on yet. " } }
            (finding.verdict)
        }
        @if !windows.is_empty() {
            p.note {
                "Rests on " (windows.join(", "))
                @if more > 0 { " and " (more) " more" }
                "."
            }
        }
    }
}

fn wind(findings: &Findings) -> Markup {
    html! {
        @match &findings.wind {
            Err(why) => (not_learnt(why)),
            Ok(wind) => {
                div.beside {
                    div {
                        p {
                            "It blew with " (number::finding(&wind.speed_m_s, "m/s")) " from "
                            (number::finding(&wind.from_deg, "deg")) ", and the model flew at "
                            (number::finding(&wind.airspeed_m_s, "m/s")) " through the air."
                        }
                        @if wind.gust_m_s > 0.0 {
                            p { "Gusts along one direction: " (number::exact(wind.gust_m_s, "m/s")) " (one standard deviation)." }
                        }
                        @if let Some(height) = wind.height_m {
                            p { "That holds at a mean height reading of " (number::exact(height.round(), "m")) "." }
                        }
                        @if let Some(change) = &wind.change_with_height_per_s {
                            p { "It grows with height by " (number::with_doubt(100.0 * change.value, 100.0 * change.sd, "m/s"))
                                " every 100 m." }
                        }
                        @if let Some(triangle) = &wind.triangle { p { (triangle.agreement) } }
                        @if let Some(factor) = &wind.airspeed_factor {
                            p { "True airspeed is " (number::finding(factor, "")) " times what the sensor tells." }
                        }
                        (verdict(&wind.speed_m_s))
                    }
                    (figure(wind_circle(wind), "Flown in still air, the points would circle the origin. The wind moves the whole circle."))
                }
            }
        }
    }
}

fn level(findings: &Findings) -> Markup {
    html! {
        @match &findings.level_attitude {
            Err(why) => (not_learnt(why)),
            Ok(level) => {
                div.beside {
                    div {
                        p {
                            "At " (number::exact(level.airspeed_m_s, "m/s")) " height held when the controller read "
                            (number::finding(&level.reading_deg, "deg")) " of pitch; the mounting angle should change by "
                            (number::finding(&level.correction_deg, "deg")) "."
                        }
                        (verdict(&level.correction_deg))
                    }
                    (figure(level_attitude(level), ""))
                }
            }
        }
    }
}

fn trims(findings: &Findings) -> Markup {
    html! {
        @match &findings.trims {
            Err(why) => (not_learnt(why)),
            Ok(trims) => {
                @for trim in trims {
                    p {
                        strong { (trim.surface) } " (" (trim.channel) "): " (number::finding(&trim.us, "us")) " from its center, which is "
                        (number::finding(&trim.deg, "deg")) " or " (number::finding(&trim.mm, "mm")) " at the trailing edge"
                        @if let Some(turns) = trim.clevis_turns { ", " (number::fixed(turns, 2)) " turns of the clevis" }
                        ". " @if !trim.us.enough { strong { "Not enough to rely on yet. " } } (trim.us.verdict)
                    }
                }
                div.plots {
                    @for one in trims { @if let Some(plot) = trim(one) { (figure(plot, "")) } }
                }
            }
        }
    }
}

struct Row {
    name: String,
    predicted: (f64, f64),
    flown: (f64, f64),
    unit: &'static str,
}

fn beside(aircraft: &Aircraft, prediction: &Prediction, findings: &Findings) -> Markup {
    let mut rows = Vec::new();
    let speeds = &prediction.speeds;
    if let Ok(wind) = &findings.wind {
        rows.push(Row {
            name: "Airspeed at the cruise setting".to_owned(),
            predicted: (speeds.cruise_m_s.value, speeds.cruise_m_s.sd),
            flown: (wind.airspeed_m_s.value, wind.airspeed_m_s.sd),
            unit: "m/s",
        });
    }
    if let Ok(level) = &findings.level_attitude {
        rows.push(Row {
            name: "Pitch in level flight, as read".to_owned(),
            predicted: (
                speeds.cruise_pitch_rad.value * DEG_PER_RAD,
                speeds.cruise_pitch_rad.sd * DEG_PER_RAD,
            ),
            flown: (level.reading_deg.value, level.reading_deg.sd),
            unit: "deg",
        });
    }
    if let (Ok(elevator), Ok(trims)) = (&speeds.cruise_elevator_rad, &findings.trims) {
        for trim in trims.iter().filter(|t| is_elevator(aircraft, t)) {
            rows.push(Row {
                name: format!("{} to trim", trim.surface),
                predicted: (elevator.value * DEG_PER_RAD, elevator.sd * DEG_PER_RAD),
                flown: (trim.deg.value, trim.deg.sd),
                unit: "deg",
            });
        }
    }
    html! {
        @if rows.is_empty() {
            p { "Nothing that was found has a prediction to stand beside it." }
        } @else {
            table.stack {
                thead { tr { th { "What" } th { "Predicted" } th { "Flown" } th { "They" } } }
                tbody {
                    @for row in &rows {
                        tr {
                            th scope="row" { (row.name) }
                            td data-name="Predicted" { (number::with_doubt(row.predicted.0, row.predicted.1, row.unit)) }
                            td data-name="Flown" { (number::with_doubt(row.flown.0, row.flown.1, row.unit)) }
                            td data-name="They" { (agreement(row)) }
                        }
                    }
                }
            }
        }
    }
}

/// Whether two values agree within two standard deviations of their difference.
fn agreement(row: &Row) -> String {
    let difference = row.flown.0 - row.predicted.0;
    let sd = row.flown.1.hypot(row.predicted.1);
    if sd.is_nan() || sd <= 0.0 || !difference.is_finite() {
        return "cannot be compared".to_owned();
    }
    format!(
        "{}: {} apart",
        if difference.abs() <= 2.0 * sd { "agree" } else { "differ" },
        number::with_doubt(difference, sd, row.unit)
    )
}

/// Whether a trim is of a surface that answers pitch alone, so that its angle is the elevator's.
fn is_elevator(aircraft: &Aircraft, trim: &Trim) -> bool {
    aircraft.movables.iter().filter(|m| m.mix.pitch != 0.0 && m.mix.roll == 0.0 && m.mix.yaw == 0.0).any(
        |m| {
            trim.path
                .strip_prefix("movable.")
                .and_then(|rest| rest.strip_prefix(m.name.as_str()))
                .is_some_and(|rest| rest.starts_with('.'))
        },
    )
}

fn quality(recording: &Recording, flaws: &[Flaw]) -> Markup {
    html! {
        p { (recording.rows) " rows were read." }
        @if flaws.is_empty() {
            p { "No flaws were found in it." }
        } @else {
            p { (flaws.len()) @if flaws.len() == 1 { " flaw was found:" } @else { " flaws were found:" } }
            ul { @for flaw in flaws.iter().take(60) { li { strong { (flaw.place) } ": " (flaw.what) } } }
            @if flaws.len() > 60 { p { "and " (flaws.len() - 60) " more." } }
        }
        @if !recording.unused_columns.is_empty() {
            p.note { "Columns not used: " (recording.unused_columns.join(", ")) "." }
        }
    }
}
