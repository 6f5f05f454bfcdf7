//! Launches held against closed forms and common practice.

mod practice;
mod refused;
mod thrown;
