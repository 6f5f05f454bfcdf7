//! What is kept? The hangar: one SQLite file with every revision of every aircraft, every recording, what was learnt
//! from it and every card issued, byte for byte. What can be computed again (predictions) is not kept.
//!
//! Nothing kept is ever changed or removed: going back means keeping the older text once more. Every function that
//! keeps something returns only after it is on the disk. Instants are arguments, ms since 1970-01-01 UTC.

mod cards;
mod error;
mod findings;
mod flights;
mod names;
mod open;
mod recordings;
mod revisions;
mod schema;
mod section_files;
mod store;

pub use cards::{Card, CardId, NewCard};
pub use error::HangarError;
pub use findings::{Findings, FindingsId, NewFindings};
pub use flights::{Flight, Learned};
pub use open::{Flaw, Hangar};
pub use recordings::{ColumnMap, NewRecording, Recording, RecordingId};
pub use revisions::{AircraftText, Revision, RevisionId};
pub use section_files::SectionFile;
