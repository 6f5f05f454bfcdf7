//! What kind of file is this, and what does it say? The one way in: packed or not, text in columns through a map, or a
//! file of positions that needs none.

use crate::csv::{self, NotARecording, encoding};
use crate::map::ColumnMap;
use crate::propose::{Proposal, propose};
use crate::recording::{Flaw, FlawKind, Recording};
use crate::tracks::{gpx, igc, nmea};
use crate::unpack::{Bounds, unpack};

/// What a file is written in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Format {
    /// Text in columns.
    Columns,
    /// GPX 1.0 or 1.1.
    Gpx,
    /// FAI/IGC flight recorder file.
    Igc,
    /// NMEA 0183 sentences.
    Nmea,
}

impl Format {
    /// Its name in documents and on pages.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Columns => "text in columns",
            Self::Gpx => "GPX",
            Self::Igc => "IGC",
            Self::Nmea => "NMEA 0183",
        }
    }
}

/// A recording with how it was read.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// What the file says.
    pub recording: Recording,
    /// What it is written in.
    pub format: Format,
    /// The map that columns were read through; none where the format says itself what is what.
    pub map: Option<ColumnMap>,
    /// How the map was proposed, where none was given.
    pub proposal: Option<Proposal>,
}

/// Reads a file of any known format, by what it holds and not by what it is called. A map is used for text in columns;
/// without one it is proposed.
///
/// # Errors
/// When nothing at all can be read; what is read in part comes with its flaws.
pub fn read(bytes: &[u8], map: Option<&ColumnMap>) -> Result<Reading, NotARecording> {
    let (bytes, packed) = unpack(bytes, Bounds::default())?;
    let (text, mut flaws) = encoding::text(&bytes)?;
    let begin = text.get(..text.len().min(64 << 10)).unwrap_or(&[]);
    let format = format_of(begin)?;
    let mut reading = if format == Format::Columns {
        // The text in columns is decoded again where it is read: encodings are rare, and this keeps one way in.
        let (map, proposal) = match map {
            Some(map) => (map.clone(), None),
            None => {
                let proposal = propose(&bytes)?;
                (proposal.map.clone(), Some(proposal))
            }
        };
        Reading { recording: csv::read_csv(&bytes, &map)?, format, map: Some(map), proposal }
    } else {
        if map.is_some() {
            flaws.push(Flaw {
                kind: FlawKind::Unit,
                place: "column map".to_owned(),
                what: format!(
                    "the file is {}, which says itself what is what; the map is not used",
                    format.word()
                ),
            });
        }
        let recording = match format {
            Format::Gpx => gpx::read(&text, flaws)?,
            Format::Igc => igc::read(&text, flaws)?,
            Format::Nmea | Format::Columns => nmea::read(&text, flaws)?,
        };
        Reading { recording, format, map: None, proposal: None }
    };
    reading.recording.flaws.splice(0..0, packed);
    Ok(reading)
}

fn format_of(begin: &[u8]) -> Result<Format, NotARecording> {
    let start = begin.trim_ascii_start();
    if start.starts_with(b"<") {
        let finder = memchr::memmem::Finder::new(b"<gpx");
        if finder.find(start).is_some() {
            return Ok(Format::Gpx);
        }
        return Err(NotARecording::Binary { looks_like: "XML or a web page that is not GPX".to_owned() });
    }
    if igc::looks_like(begin) {
        return Ok(Format::Igc);
    }
    Ok(if nmea::looks_like(begin) { Format::Nmea } else { Format::Columns })
}
