//! What the aircraft crate answers, held against closed forms, handbooks and published values.

#[path = "all/balance.rs"]
mod balance;
#[path = "all/control.rs"]
mod control;
#[path = "all/damage.rs"]
mod damage;
#[path = "all/geometry.rs"]
mod geometry;
#[path = "all/propeller.rs"]
mod propeller;
#[path = "all/revise.rs"]
mod revise;
#[path = "all/sample.rs"]
mod sample;
#[path = "all/schema.rs"]
mod schema;
#[path = "all/section_file.rs"]
mod section_file;
#[path = "all/sensible.rs"]
mod sensible;
#[path = "all/template.rs"]
mod template;
