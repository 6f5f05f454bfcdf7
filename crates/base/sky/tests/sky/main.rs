//! Weather reports, forecasts, daylight and mutations of reports, held against what is known from elsewhere.

#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::disallowed_methods,
    reason = "tests are named as sentences, what is not there fails them, and reference data is read from its folder"
)]

mod daylight;
mod forecasts;
mod mutations;
mod peer;
mod reports;
mod triangles;

/// A file of the reference data.
fn reference(path: &str) -> String {
    let root = concat!(env!("CARGO_MANIFEST_DIR"), "/../../../reference/");
    std::fs::read_to_string(format!("{root}{path}")).unwrap()
}
