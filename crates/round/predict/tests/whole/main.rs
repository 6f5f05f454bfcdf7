//! Everything predicted of a whole aircraft, as its file describes it.

#![allow(clippy::unwrap_used, reason = "a test that cannot read its own aircraft must stop")]

mod authority;
mod layouts;
mod odd;
mod powered;
mod stall;
mod wheatear;
