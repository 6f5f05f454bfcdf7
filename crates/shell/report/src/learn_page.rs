//! What did the flight teach, on what evidence, and what should be changed?

use aircraft::Aircraft;
use aircraft::control::{Axis, panel_gain};
use aircraft::finding::{Change, Finding};
use aircraft::movable::Movable;
use fly::phases::{Phase, PhaseKind};
use fly::recording::{Flaw, Recording};
use learn::findings::{Findings, NotLearnt, Trim};
use maud::{Markup, html};
use numerics::uncertain::Uncertain;
use numerics::units::{DEG_PER_RAD, RAD_PER_DEG};
use plan::{panels, places};
use predict::prediction::Prediction;

use crate::learn_answers::{answers, more};
use crate::learn_plots::{level_attitude, time_line, track, trim, wind_circle};
use crate::number;
use crate::page::{figure, page};
use crate::response_part;
use crate::seconds::Seconds;

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
        @if !findings.remarks.is_empty() {
            div.warn { ul { @for remark in &findings.remarks { li { (number::sentence(remark)) } } } }
        }
        h2 { "What to change" }
        (changes(aircraft, &findings.changes))
        h2 { "What more to fly" }
        (more(findings))
        (evidence_part(aircraft, prediction, recording, findings, flaws, Seconds::default()))
    }
}

/// The flight, each finding with what it rests on, predicted beside flown, and how good the recording is; without the
/// changes and what more to fly.
#[must_use]
pub fn evidence_part(
    aircraft: &Aircraft,
    prediction: Option<&Prediction>,
    recording: &Recording,
    findings: &Findings,
    flaws: &[Flaw],
    seconds: Seconds<'_>,
) -> Markup {
    html! {
        h2 { "The flight" }
        div.plots {
            (figure(time_line(recording, &findings.phases), &phase_sums(&findings.phases)))
            @if let Some(track) = track(recording, findings.wind.as_ref().ok()) { (figure(track, "")) }
        }
        h2 { "Wind" }
        (wind(findings, seconds))
        h2 { "Level attitude" }
        (level(findings, seconds))
        h2 { "Trims" }
        (trims(aircraft, findings, seconds))
        (answers(findings, seconds))
        (response_part::part(&findings.handling, seconds))
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

fn changes(aircraft: &Aircraft, changes: &[Change]) -> Markup {
    html! {
        @if changes.is_empty() {
            p { "Nothing: the flight asks for no change that it can carry." }
        } @else {
            p.note { "Made on the bench, propeller off; then the surface direction check again." }
        }
        @for change in changes {
            div.block.held[change.held_back.is_some()] {
                h3 { (places::words(aircraft, &change.path)) }
                p.big {
                    @match change.from {
                        Some(from) => {
                            "From " (amount(from, &change.unit)) " to "
                            (number::with_doubt(change.to, change.sd, &change.unit))
                        }
                        None => { "Set to " (number::with_doubt(change.to, change.sd, &change.unit)) " (the file has none yet)" }
                    }
                }
                @if let Some(panel) = places::panel_of_change(aircraft, change) {
                    p { "That is " (panel.words()) "." }
                }
                p { (number::sentence(&change.why)) }
                @match &change.held_back {
                    // Where evidence is short, why it is asked for says so already.
                    Some(why) if change.why.contains(why.as_str()) => p { strong { "Held back" } " until a flight shows it well enough." },
                    Some(why) => p { strong { "Held back: " } (number::sentence(why)) },
                    None => {}
                }
                p.note { "In the aircraft file: " (breakable(&change.path)) }
            }
        }
    }
}

/// A setting as the file has it: a pulse to whole microseconds, an angle to a tenth of a degree.
fn amount(value: f64, unit: &str) -> String {
    match unit {
        "us" => number::exact(value.round(), unit),
        "deg" => number::exact((value * 10.0).round() / 10.0, unit),
        _ => number::exact(value, unit),
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
            format!("{} {}{times}", kind.word(), number::duration(*seconds))
        })
        .collect();
    if words.is_empty() {
        "No phases were found.".to_owned()
    } else {
        format!("Phases: {}.", words.join(", "))
    }
}

pub(crate) fn not_learnt(why: &NotLearnt) -> Markup {
    html! {
        @match why {
            NotLearnt::MissingChannel { what } => p { "Not found: the recording lacks " (what) "." },
            NotLearnt::NotExcited { why } => p { "Not found. " (number::sentence(why)) },
        }
    }
}

/// Whether a finding suffices, why, and the seconds it rests on.
pub(crate) fn verdict(finding: &Finding, seconds: Seconds<'_>, channels: &str) -> Markup {
    html! {
        p {
            strong { @if finding.enough { "Enough to rely on. " } @else { "Not enough to rely on yet. " } }
            (number::sentence(&finding.verdict))
        }
        (seconds.rests_on(&finding.evidence, channels))
    }
}

fn wind(findings: &Findings, seconds: Seconds<'_>) -> Markup {
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
                        @if let Some(triangle) = &wind.triangle { p { (number::sentence(&triangle.agreement)) } }
                        @if let Some(factor) = &wind.airspeed_factor {
                            p { "True airspeed is " (number::finding(factor, "")) " times what the sensor tells." }
                        }
                        (verdict(&wind.speed_m_s, seconds, "ground-speed,course,airspeed"))
                    }
                    (figure(wind_circle(wind), "Flown in still air, the points would circle the origin. The wind moves the whole circle."))
                }
            }
        }
    }
}

fn level(findings: &Findings, seconds: Seconds<'_>) -> Markup {
    html! {
        @match &findings.level_attitude {
            Err(why) => (not_learnt(why)),
            Ok(level) => {
                div.beside {
                    div {
                        p {
                            "At " (number::exact(level.airspeed_m_s, "m/s")) " height held when the controller read "
                            (number::finding(&level.reading_deg, "deg")) " of pitch"
                            @if (level.correction_deg.value - level.reading_deg.value).abs() < 0.05 {
                                "; the mounting angle should change by as much."
                            } @else {
                                "; the mounting angle should change by "
                                (number::finding(&level.correction_deg, "deg")) "."
                            }
                        }
                        (verdict(&level.correction_deg, seconds, "pitch,height,altitude,throttle"))
                    }
                    (figure(level_attitude(level), ""))
                }
            }
        }
    }
}

fn trims(aircraft: &Aircraft, findings: &Findings, seconds: Seconds<'_>) -> Markup {
    html! {
        @match &findings.trims {
            Err(why) => (not_learnt(why)),
            Ok(trims) => {
                @for trim in trims {
                    p {
                        strong { (trim_words(aircraft, trim)) } " (" (trim.channel) "), "
                        (number::with_doubt(trim.mm.value.abs(), trim.mm.sd, "mm")) " at the trailing edge"
                        @if let Some(turns) = trim.clevis_turns.filter(|turns| *turns >= 0.05) {
                            ", " (number::fixed(turns, 1)) " turns of the clevis"
                        }
                        ". " @if !trim.us.enough { strong { "Not enough to rely on yet. " } }
                        @if told_above(findings, trim) {
                            "What it rests on stands above, with the change."
                        } @else {
                            (number::sentence(&trim.us.verdict))
                        }
                    }
                    @if seconds.plots.is_some() { (seconds.rests_on(&trim.evidence, &format!("servo:{},roll,pitch,airspeed", trim.channel))) }
                }
                div.plots {
                    @for one in trims { @if let Some(plot) = trim(one) { (figure(plot, "")) } }
                }
            }
        }
    }
}

/// A trim in degrees of its panel, with where the trailing edge is ("elevator 1.2° ± 0.1° trailing edge down").
#[must_use]
pub fn trim_words(aircraft: &Aircraft, trim: &Trim) -> String {
    let deflection = Uncertain { value: trim.deg.value, sd: trim.deg.sd }.scaled(RAD_PER_DEG);
    match places::servo(aircraft, &trim.path) {
        Some(place) => panels::of_panel(aircraft, place.movable, place.left, deflection).words(),
        None => format!("{} {}", trim.surface, number::finding(&trim.deg, "deg")),
    }
}

/// Whether the change that a trim asks for tells already what the trim rests on.
fn told_above(findings: &Findings, trim: &Trim) -> bool {
    findings.changes.iter().any(|change| {
        change.path.starts_with(&format!("{}.", trim.path))
            && !trim.us.verdict.is_empty()
            && change.why.contains(&trim.us.verdict)
    })
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
        for movable in &aircraft.movables {
            if let Some((gain, flown)) = trim_in_pitch(aircraft, movable, trims) {
                let deg = gain * DEG_PER_RAD;
                rows.push(Row {
                    name: format!("{} to trim, trailing edge down positive", movable.name),
                    predicted: (elevator.value * deg, (elevator.sd * deg).abs()),
                    flown,
                    unit: "deg",
                });
            }
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

/// Degrees of a movable for each of the elevator axis, and its flown part of the trim in pitch, deg and its doubt:
/// what both sides of a pair have in common, where roll and yaw move them apart. None where a side is not known or
/// the movable does not answer pitch.
fn trim_in_pitch(aircraft: &Aircraft, movable: &Movable, trims: &[Trim]) -> Option<(f64, (f64, f64))> {
    let gain = panel_gain(aircraft, movable, Axis::Pitch, false);
    let pair = panels::is_pair(aircraft, movable);
    if gain == 0.0 || (!pair && (movable.mix.roll != 0.0 || movable.mix.yaw != 0.0)) {
        return None;
    }
    let of = |left: bool| {
        trims.iter().map(|t| (t, places::servo(aircraft, &t.path))).find_map(|(trim, place)| {
            place
                .filter(|p| p.movable.name == movable.name && p.left == left)
                .map(|_| (trim.deg.value, trim.deg.sd))
        })
    };
    let right = of(false)?;
    if !pair || movable.servo_left.is_none() {
        return Some((gain, right));
    }
    let left = of(true)?;
    Some((gain, (0.5 * (right.0 + left.0), 0.5 * right.1.hypot(left.1))))
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
