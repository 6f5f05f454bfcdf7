//! What do air and friction do around a section? Panels, boundary layers and wake, agreed by Newton's method.

mod closure;
mod coupling;
mod curve;
mod dual;
mod interval;
mod march;
mod newton;
mod outline;
mod panels;
mod shape;
mod table;

pub use table::{Settings, key, table, table_with_progress};
