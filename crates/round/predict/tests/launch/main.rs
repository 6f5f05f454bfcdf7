//! Launches held against closed forms and common practice.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on fails")]

mod practice;
mod refused;
mod thrown;
