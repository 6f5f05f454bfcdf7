//! An invented aircraft.
