//! The simulated flight against closed forms, its own truth, and the signs of `numerics::frames`.
#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a helper of a test fails the test")]

mod flights;
mod inputs;
mod model;
mod phases;
mod scripts;
mod signs;

use fly::recording::Quantity;
use fly::simulated::{Flight, Script, fly};

/// Holds a value to an expected one within an absolute tolerance.
#[track_caller]
fn check(what: &str, value: f64, expected: f64, within: f64) {
    assert!((value - expected).abs() <= within, "{what}: {value}, expected {expected} within {within}");
}

/// Flies a script with the invented model.
#[track_caller]
fn flown(script: &str) -> Flight {
    let script = Script::read(script).unwrap_or_else(|errors| panic!("{errors:?}"));
    fly(&model::aircraft(), &model::force_model(), &script).expect("the script can be flown")
}

/// Values of a quantity between two times, without those that are missing.
#[track_caller]
fn between(flight: &Flight, quantity: &Quantity, from_s: f64, to_s: f64) -> Vec<f64> {
    let recording = flight.recording();
    let channel = recording.channel(quantity).expect("the channel is logged");
    channel
        .time_s
        .iter()
        .zip(&channel.values)
        .filter(|(t, v)| (from_s..to_s).contains(*t) && v.is_finite())
        .map(|(_, v)| *v)
        .collect()
}

/// Mean of a quantity between two times.
#[track_caller]
fn mean(flight: &Flight, quantity: &Quantity, from_s: f64, to_s: f64) -> f64 {
    numerics::statistics::mean(&between(flight, quantity, from_s, to_s))
}

/// When the n-th event of a word happened, s.
#[track_caller]
fn when(flight: &Flight, what: &str, n: usize) -> f64 {
    let events = &flight.truth.events;
    let found = events.iter().filter(|e| e.what == what).nth(n);
    found.unwrap_or_else(|| panic!("no event {what} {n} among {events:?}")).time_s
}
