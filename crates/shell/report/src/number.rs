//! How is a number written? As `plan::number` writes it on cards: one way everywhere.

use aircraft::Known;
use aircraft::finding::Finding;
pub use plan::number::{about, coarse, duration, exact, fixed, plain, readable_unit, sentence, with_doubt};
use predict::prediction::Outcome;

/// A known number times a factor, with its doubt and unit.
#[must_use]
pub fn known(value: Known, factor: f64, unit: &str) -> String {
    with_doubt(value.value * factor, value.sd * factor, unit)
}

/// A prediction with its doubt and unit, or why there is none.
#[must_use]
pub fn outcome(value: &Outcome<Known>, factor: f64, unit: &str) -> String {
    match value {
        Ok(value) => known(*value, factor, unit),
        Err(why) => not_predicted(why),
    }
}

/// A prediction without doubt with its unit, or why there is none.
#[must_use]
pub fn outcome_plain(value: &Outcome<f64>, factor: f64, unit: &str) -> String {
    match value {
        Ok(value) => coarse(value * factor, unit),
        Err(why) => not_predicted(why),
    }
}

/// Why a prediction could not be made.
#[must_use]
pub fn not_predicted(why: &predict::prediction::NotPredicted) -> String {
    format!("not predicted ({})", plan::names::reason(why))
}

/// A finding with its doubt and unit.
#[must_use]
pub fn finding(finding: &Finding, unit: &str) -> String {
    with_doubt(finding.value, finding.sd, unit)
}
