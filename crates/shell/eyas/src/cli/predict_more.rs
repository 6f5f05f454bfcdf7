//! What does `eyas predict` tell of throws, limits, motions, doubts and settings?

use std::fmt::Write as _;
use std::path::Path;

use aircraft::controller::Gains;
use numerics::units::DEG_PER_RAD;
use predict::motions::table;
use predict::prediction::{Outcome, Prediction};
use predict::scale::{self, Line};
use report::number::{fixed, known};

use super::words::paragraph;
use crate::files;
use crate::json::prediction::why;
use crate::tasks::teach;
use crate::tell::Trouble;

/// Width of the lines.
const WIDTH: usize = 100;

/// What stands against a flight, before anything else.
pub(super) fn against(p: &Prediction) -> String {
    let mut t = String::new();
    for finding in &p.against {
        t.push_str(&paragraph(&format!("NOT FIT TO FLY: {finding}"), "", WIDTH));
    }
    t
}

/// What is not sure enough.
pub(super) fn cautions(p: &Prediction) -> String {
    list("What leaves little to spare", p.cautions.iter().cloned())
}

fn list(title: &str, sentences: impl Iterator<Item = String>) -> String {
    let mut t = String::new();
    for sentence in sentences.filter(|s| !s.is_empty()) {
        if t.is_empty() {
            let _ = writeln!(t, "\n{title}");
        }
        t.push_str(&paragraph(&sentence, "  ", WIDTH));
    }
    t
}

/// Limits of the balance point.
pub(super) fn limits(p: &Prediction) -> String {
    list(
        "Limits of the balance point, aft of the datum",
        p.balance_limits.iter().map(|limit| match &limit.x_m {
            Ok(x) => format!("{}: {} - {}", limit.name, known(*x, 1000.0, "mm"), limit.sentence),
            Err(reason) => format!("{}: unknown: {}", limit.name, why(reason)),
        }),
    )
}

/// Table of throws, what they do, throws to begin with, servos.
pub(super) fn throws(p: &Prediction) -> String {
    let a = &p.authority;
    let mut t = String::new();
    if !a.throws.is_empty() {
        let _ = writeln!(
            t,
            "\nThrows at full stick (measure with the propeller off)\n  {:<14} {:<6} {:<13} {:>6} {:>13} {:>6} {:>8} {:>8}",
            "surface", "side", "demand", "throw", "angle", "edge", "pulse", "travel"
        );
    }
    for row in &a.throws {
        let percent = |share: f64| format!("{} %", fixed(100.0 * share, 0));
        let _ = writeln!(
            t,
            "  {:<14} {:<6} {:<13} {:>6} {:>13} {:>6} {:>8} {:>8}",
            row.movable,
            row.side,
            row.demand,
            percent(row.share),
            format!("{}° {}", fixed(row.deflection_rad.abs() * DEG_PER_RAD, 1), row.way),
            format!("{} mm", fixed(1e3 * row.edge_m, 0)),
            row.pulse_us.map_or_else(|| "none".to_owned(), |p| format!("{} µs", fixed(p, 0))),
            row.travel_share.map_or_else(|| "none".to_owned(), percent),
        );
    }
    for sentence in &a.mixing {
        t.push_str(&paragraph(sentence, "  ", WIDTH));
    }
    t.push_str(&list(
        "What the surfaces do at cruise",
        a.answers.iter().map(|answer| match &answer.value {
            Ok(_) => answer.sentence.clone(),
            Err(reason) => format!("{}: unknown: {}", answer.what, why(reason)),
        }),
    ));
    t.push_str(&list(
        "Throws to begin with, and for later (to either side; pitch: up)",
        a.recommended.iter().map(predict::authority::Recommended::sentence),
    ));
    t.push_str(&list("What the servos must hold", a.servos.iter().map(|s| s.sentence.clone())));
    t
}

/// How motions change with the balance point and with power.
pub(super) fn motions(p: &Prediction) -> String {
    if p.motions.is_empty() {
        return String::new();
    }
    let mut t = String::from(
        "\nHow they change with the balance point and with power: period and damping ratio of a swing,\n\
         else the time to halve or to double\n",
    );
    for line in table(&p.motions) {
        let mut cells = line.iter();
        let mut cell = || cells.next().map_or("", String::as_str);
        let _ = writeln!(t, "  {:<13} {:<5} {:<26} {:<26} {}", cell(), cell(), cell(), cell(), cell());
    }
    t
}

/// What to measure better.
pub(super) fn doubts(p: &Prediction) -> String {
    list("What to measure better, number by number", p.doubts.iter().map(|d| d.sentence.clone()))
}

/// The builder's own settings.
pub(super) fn read_scale(file: &Path, gains: &[Outcome<Gains>; 3]) -> Result<Vec<Line>, Trouble> {
    Ok(scale::lines(&settings_of(file)?, gains))
}

/// A table of settings from its file.
pub(super) fn settings_of(file: &Path) -> Result<Vec<scale::Setting>, Trouble> {
    let text = files::read_text(file, "a table of settings")?;
    teach::settings(&text, &file.display().to_string())
}

/// Lines to enter.
pub(super) fn lines(lines: &[Line]) -> String {
    let mut t = String::from(
        "\nLines to enter (propeller off; check the direction of every surface before a flight)\n",
    );
    for line in lines {
        match &line.value {
            Ok(value) => {
                let _ = writeln!(
                    t,
                    "  {:<24} {:>10} {:<14} ({})",
                    line.name,
                    fixed(*value, line.decimals),
                    line.unit,
                    line.quantity
                );
            }
            Err(reason) => {
                t.push_str(&paragraph(&format!("{}: none: {reason}", line.name), "  ", WIDTH));
            }
        }
    }
    t
}
