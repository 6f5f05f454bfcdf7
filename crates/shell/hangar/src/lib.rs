//! What is kept? The hangar: one SQLite file with every revision of every aircraft, every recording, what was learnt
//! from it and every card issued, byte for byte. What can be computed again (predictions) is not kept.
//!
//! Nothing kept is ever changed or removed: going back means keeping the older text once more. Every function that
//! keeps something returns only after it is on the disk. Instants are arguments, ms since 1970-01-01 UTC.

mod cards;
mod defects;
mod error;
mod exchange;
mod findings;
mod flights;
mod links;
#[cfg(test)]
mod listings;
mod log;
mod names;
mod open;
mod overview;
mod readiness;
mod recordings;
mod revisions;
mod schema;
mod section_files;
mod settings;
mod store;

pub use cards::{Card, CardId, IssuedCard, NewCard};
pub use defects::{Defect, DefectId, NewDefect, NewRepair, Part, Repair};
pub use error::HangarError;
pub use exchange::{Exported, import};
pub use findings::{Findings, FindingsId, NewFindings};
pub use flights::{Flight, Learned};
pub use links::Link;
pub use log::{LogEntry, LogTotals, NewLogEntry, PackTotals, log_totals};
pub use open::{Flaw, Hangar, Updated};
pub use overview::{Overview, RevisionLine};
pub use readiness::{NewReadiness, Readiness};
pub use recordings::{ColumnMap, NewRecording, Recording, RecordingId};
pub use revisions::{AircraftText, Revision, RevisionId};
pub use section_files::SectionFile;
pub use settings::{NewSettings, Settings};
