//! The equations of motion against closed forms, published check cases and textbook aircraft.
#![allow(clippy::unwrap_used, reason = "a helper of a test fails the test")]

mod check_cases;
mod flying;
mod forces;
mod launches;
mod models;
mod projectiles;
mod round_earth;
mod spinning;
mod stalling;
mod textbook;

/// Holds a value to an expected one within an absolute tolerance.
#[track_caller]
fn check(what: &str, value: f64, expected: f64, within: f64) {
    assert!((value - expected).abs() <= within, "{what}: {value}, expected {expected} within {within}");
}
