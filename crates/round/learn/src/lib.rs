//! What did the flight teach? One file per question.

pub mod findings;
