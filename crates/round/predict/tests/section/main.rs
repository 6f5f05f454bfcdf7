//! Are the computed sections right? Held against the measured E387, theory and their own symmetries.
#![expect(clippy::unwrap_used, reason = "a test that cannot go on stops with the error")]

mod computed;
mod tables;
