//! Whole aircraft.
