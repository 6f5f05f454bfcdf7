//! Is the lattice right? Held against textbook planforms, measured wings, closed forms and its own invariances.
#![expect(clippy::unwrap_used, reason = "a test that cannot go on stops with the error")]

#[path = "lattice/aircraft_model.rs"]
mod aircraft_model;
#[path = "lattice/coupled.rs"]
mod coupled;
#[path = "lattice/ground.rs"]
mod ground;
#[path = "lattice/planforms.rs"]
mod planforms;
#[path = "lattice/section_tables.rs"]
mod section_tables;
#[path = "lattice/sections.rs"]
mod sections;
#[path = "lattice/tails.rs"]
mod tails;
#[path = "lattice/textbook.rs"]
mod textbook;
#[path = "lattice/whole.rs"]
mod whole;
#[path = "lattice/wings.rs"]
mod wings;
