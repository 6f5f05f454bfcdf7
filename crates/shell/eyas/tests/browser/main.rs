//! Does the whole round work in a real browser? Chromium from the system's packages, without a window, on a desk and on a
//! phone. What is seen is kept as pictures in target/screenshots.

#![expect(clippy::unwrap_used, clippy::expect_used, reason = "a test that cannot go on fails")]

mod driver;
mod guarded;
mod pages;
mod round;
