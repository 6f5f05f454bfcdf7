//! Which recordings are read already? Parsed ones and what they taught, in memory: a plot is moved thirty times a second,
//! and reading again would take seconds. All of it can be made again from what is kept.

use std::sync::{Arc, Mutex, OnceLock, PoisonError};

use fly::inputs::Input;
use fly::phases::{Flown, Phase};
use fly::propose::Proposal;
use fly::quality::Quality;
use fly::read::Format;
use hangar::{Findings, FindingsId, RecordingId};
use sha2::{Digest as _, Sha256};

use crate::tasks::incoming::{self, Waiting};
use crate::tasks::study::{self, Studied};
use crate::tasks::teach::{self, Taught};
use crate::tasks::{fetch, keep};
use crate::tell::{Kind, Trouble};
use crate::web::app::App;

/// Memory that parsed recordings may take together, bytes; the newest is always kept.
const MOST_BYTES: usize = 900 << 20;
/// Flights whose findings are at hand with their evidence.
const MOST_TAUGHT: usize = 4;

/// A recording of the pages.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Which {
    /// One that waits, by its id.
    Waiting(String),
    /// One that the hangar keeps.
    Kept(RecordingId),
}

impl Which {
    /// From its part of an address.
    pub(crate) fn read(part: &str) -> Result<Self, Trouble> {
        if let Some(id) = part.strip_prefix("new-") {
            return Ok(Self::Waiting(id.to_owned()));
        }
        match part.parse::<i64>() {
            Ok(id) if part.bytes().all(|b| b.is_ascii_digit()) => Ok(Self::Kept(RecordingId(id))),
            _ => Err(no_recording(part)),
        }
    }

    /// Its part of an address.
    pub(crate) fn part(&self) -> String {
        match self {
            Self::Waiting(id) => format!("new-{id}"),
            Self::Kept(id) => id.to_string(),
        }
    }
}

/// A recording, read.
pub(crate) struct Read {
    /// How it was read and what it says; without its bytes.
    pub(crate) studied: Studied,
    /// How good it is.
    pub(crate) quality: Quality,
    /// What the aircraft was doing when.
    pub(crate) phases: Vec<Phase>,
    /// What the pilot did on purpose.
    pub(crate) inputs: Vec<Input>,
    /// When it flew.
    pub(crate) flights: Vec<Flown>,
}

impl Read {
    fn of(mut studied: Studied) -> Self {
        studied.bytes = Vec::new();
        let recording = &studied.recording;
        // Each looks at the whole recording by itself; side by side a long one is there in half the time.
        let (quality, phases, inputs, flights) = std::thread::scope(|scope| {
            let phases = scope.spawn(|| fly::phases::find(recording));
            let flights = scope.spawn(|| fly::phases::flights(recording));
            let inputs = scope.spawn(|| fly::inputs::find(recording));
            let quality = fly::quality::assess(recording);
            (quality, joined(phases), joined(inputs), joined(flights))
        });
        Self { studied, quality, phases, inputs, flights }
    }

    fn bytes(&self) -> usize {
        let r = &self.studied.recording;
        r.channels.iter().map(|c| 8 * c.values.len()).sum::<usize>() + 8 * r.rows
    }
}

/// What a thread found; its panic goes on in whoever waits.
fn joined<T>(thread: std::thread::ScopedJoinHandle<'_, T>) -> T {
    thread.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic))
}

/// What is known of a recording before it is read.
#[derive(Debug, Clone)]
pub(crate) struct Label {
    /// Which.
    pub(crate) which: Which,
    /// What the file was called.
    pub(crate) name: String,
    /// Its size, bytes.
    pub(crate) bytes: u64,
    /// When it came, ms since the epoch.
    pub(crate) at_ms: i64,
    /// Whether a simulation made it.
    pub(crate) simulated: bool,
    /// What else is to be known.
    pub(crate) said: Vec<String>,
    map: Option<String>,
    waiting: Option<Waiting>,
}

impl Label {
    /// The recording that waits; none where the hangar keeps it.
    pub(crate) fn waiting(&self) -> Option<&Waiting> {
        self.waiting.as_ref()
    }
}

type Slot<T> = Arc<OnceLock<Result<Arc<T>, Trouble>>>;

/// What is in memory.
#[derive(Default)]
pub(crate) struct Shelf {
    read: Mutex<Vec<(([u8; 32], Which), Slot<Read>)>>,
    proposed: Mutex<Vec<(Which, Slot<Proposal>)>>,
    taught: Mutex<Vec<(FindingsId, Slot<Taught>)>>,
}

/// What is known of an aircraft's recording.
pub(crate) fn label(app: &App, aircraft: &str, which: &Which) -> Result<Label, Trouble> {
    match which {
        Which::Waiting(id) => {
            let waiting = incoming::open(&app.common, id)?;
            if waiting.about.aircraft != aircraft {
                return Err(no_recording(id));
            }
            Ok(Label {
                which: which.clone(),
                name: waiting.about.name.clone(),
                bytes: waiting.bytes,
                at_ms: waiting.about.at_ms,
                simulated: waiting.about.simulated,
                said: waiting.about.said.clone(),
                map: waiting.map()?,
                waiting: Some(waiting),
            })
        }
        Which::Kept(id) => {
            let Some(hangar) = keep::open_existing(&app.common)? else {
                return Err(no_recording(&id.to_string()));
            };
            let kept = match hangar.recording(*id) {
                Ok(kept) if kept.aircraft == aircraft => kept,
                Ok(_) | Err(hangar::HangarError::Nothing { .. }) => {
                    return Err(no_recording(&id.to_string()));
                }
                Err(error) => return Err(keep::trouble(error)),
            };
            let maps = hangar.column_maps(*id).map_err(keep::trouble)?;
            Ok(Label {
                which: which.clone(),
                name: kept.source_name,
                bytes: kept.bytes,
                at_ms: kept.at_ms,
                simulated: kept.note == keep::SIMULATED,
                said: Vec::new(),
                map: maps.last().map(|m| m.text.clone()),
                waiting: None,
            })
        }
    }
}

/// The original bytes of a recording.
pub(crate) fn bytes(app: &App, label: &Label) -> Result<Vec<u8>, Trouble> {
    match (&label.which, &label.waiting) {
        (_, Some(waiting)) => crate::files::read_recording(&waiting.recording()),
        (Which::Kept(id), None) => keep::open(&app.common)?.recording_bytes(*id).map_err(keep::trouble),
        (Which::Waiting(id), None) => Err(no_recording(id)),
    }
}

/// The recording with its bytes, read through the map in force.
pub(crate) fn study(app: &App, label: &Label) -> Result<Studied, Trouble> {
    let map = label.map.as_deref().map_or(Ok(None), teach::map_of)?;
    study::from_bytes(bytes(app, label)?, &format!("\"{}\"", label.name), map.as_ref())
}

impl Shelf {
    /// A recording, from memory where it was read before. Whoever asks meanwhile waits for the same reading.
    pub(crate) fn read(&self, app: &App, label: &Label) -> Result<Arc<Read>, Trouble> {
        let mark = Sha256::digest(label.map.as_deref().unwrap_or_default().as_bytes()).into();
        let key = (mark, label.which.clone());
        let slot = slot(&self.read, &key, usize::MAX);
        let made = slot.get_or_init(|| study(app, label).map(|studied| Arc::new(Read::of(studied)))).clone();
        self.settle(&key, &made);
        made
    }

    /// Forgets what could not be read, so that it is tried again, and the oldest where there is too much.
    fn settle(&self, key: &([u8; 32], Which), made: &Result<Arc<Read>, Trouble>) {
        let mut all = self.read.lock().unwrap_or_else(PoisonError::into_inner);
        if made.is_err() {
            all.retain(|(k, _)| k != key);
        }
        let size = |slot: &Slot<Read>| slot.get().and_then(|r| r.as_ref().ok()).map_or(0, |r| r.bytes());
        let mut sum: usize = all.iter().map(|(_, slot)| size(slot)).sum();
        while sum > MOST_BYTES && all.len() > 1 {
            sum -= size(&all.remove(0).1);
        }
    }

    /// What the file itself proposes for its columns, whatever map it is read through now; none for formats that need no
    /// map.
    pub(crate) fn proposal(&self, app: &App, label: &Label) -> Result<Option<Arc<Proposal>>, Trouble> {
        let read = self.read(app, label)?;
        if read.studied.format != Format::Columns {
            return Ok(None);
        }
        let slot = slot(&self.proposed, &label.which, 6);
        let made = slot.get_or_init(|| match &read.studied.proposal {
            Some(proposal) => Ok(Arc::new(proposal.clone())),
            None => propose(&bytes(app, label)?, &label.name).map(Arc::new),
        });
        made.clone().map(Some)
    }

    /// What a flight taught with all its evidence: from memory, or learnt once more from what is kept.
    pub(crate) fn taught(&self, app: &App, aircraft: &str, kept: &Findings) -> Result<Arc<Taught>, Trouble> {
        let slot = slot(&self.taught, &kept.id, MOST_TAUGHT);
        slot.get_or_init(|| {
            let label = label(app, aircraft, &Which::Kept(kept.recording))?;
            let hangar = keep::open(&app.common)?;
            let fetched = teach::of_revision(&hangar, aircraft, kept.revision_number)?;
            let flown_as = hangar.recording(kept.recording).map_err(keep::trouble)?.revision_number;
            let as_flown = teach::of_revision(&hangar, aircraft, flown_as)?;
            let read = self.read(app, &label)?;
            Ok(Arc::new(teach::teach(&fetched, &read.studied.recording, Some(&as_flown.aircraft))))
        })
        .clone()
    }

    /// Puts down what was just learnt.
    pub(crate) fn put_taught(&self, id: FindingsId, taught: Taught) {
        let slot = slot(&self.taught, &id, MOST_TAUGHT);
        let _ = slot.set(Ok(Arc::new(taught)));
    }

    /// Puts down a recording under its new name: it was kept, and is not to be read again for that.
    pub(crate) fn now_kept(&self, app: &App, aircraft: &str, old: &Label, id: RecordingId) {
        let Ok(read) = self.read(app, old) else { return };
        let Ok(new) = label(app, aircraft, &Which::Kept(id)) else { return };
        let mark = Sha256::digest(new.map.as_deref().unwrap_or_default().as_bytes()).into();
        let _ = slot(&self.read, &(mark, new.which), usize::MAX).set(Ok(read));
        self.read
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .retain(|((_, which), _)| *which != old.which || matches!(which, Which::Kept(_)));
    }
}

fn propose(bytes: &[u8], name: &str) -> Result<Proposal, Trouble> {
    let why = match fly::read::read(bytes, None) {
        Ok(reading) => match reading.proposal {
            Some(proposal) => return Ok(proposal),
            None => format!("it is {}", reading.format.word()),
        },
        Err(error) => error.to_string(),
    };
    Err(Trouble::new(
        Kind::Input,
        format!("the columns of \"{name}\" could not be looked at"),
        why,
        "bring the file again",
    ))
}

/// The place for something; made where there is none. The one asked for last is forgotten last.
fn slot<K: PartialEq + Clone, T>(all: &Mutex<Vec<(K, Slot<T>)>>, key: &K, most: usize) -> Slot<T> {
    let mut all = all.lock().unwrap_or_else(PoisonError::into_inner);
    // What ended in trouble is tried again.
    all.retain(|(k, slot)| k != key || !matches!(slot.get(), Some(Err(_))));
    let entry = match all.iter().position(|(k, _)| k == key) {
        Some(at) => all.remove(at),
        None => (key.clone(), Slot::default()),
    };
    let found = Arc::clone(&entry.1);
    all.push(entry);
    while all.len() > most {
        all.remove(0);
    }
    found
}

/// An aircraft's findings by their number.
pub(crate) fn findings(app: &App, aircraft: &str, part: &str) -> Result<Findings, Trouble> {
    let missing = || {
        Trouble::new(
            Kind::Missing,
            format!("there are no findings {part} of \"{aircraft}\""),
            "the hangar keeps none of that number for it",
            "go to the list of its flights",
        )
    };
    let id = part.parse::<i64>().map_err(|_| missing())?;
    let Some(hangar) = keep::open_existing(&app.common)? else {
        return Err(fetch::unknown(aircraft, &[]));
    };
    let kept = match hangar.findings_by_id(FindingsId(id)) {
        Ok(kept) => kept,
        Err(hangar::HangarError::Nothing { .. }) => return Err(missing()),
        Err(error) => return Err(keep::trouble(error)),
    };
    let of = hangar.recording(kept.recording).map_err(keep::trouble)?.aircraft;
    if of == aircraft { Ok(kept) } else { Err(missing()) }
}

fn no_recording(which: &str) -> Trouble {
    Trouble::new(
        Kind::Missing,
        format!("there is no recording \"{which}\" of this aircraft"),
        "it was kept or thrown away meanwhile, or it is another aircraft's",
        "go to the list of its flights",
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn addresses_of_recordings_are_numbers_or_ids_and_nothing_else() {
        assert_eq!(Which::read("7").unwrap(), Which::Kept(RecordingId(7)));
        assert_eq!(Which::read("7").unwrap().part(), "7");
        let waiting = Which::read("new-abc").unwrap();
        assert_eq!((waiting.clone(), waiting.part()), (Which::Waiting("abc".into()), "new-abc".into()));
        for bad in ["", "-1", "+1", "../7", "seven", "99999999999999999999"] {
            assert_eq!(Which::read(bad).unwrap_err().kind(), Kind::Missing, "{bad}");
        }
    }

    #[test]
    fn what_was_asked_for_last_is_forgotten_last() {
        let all: Mutex<Vec<(u8, Slot<u8>)>> = Mutex::default();
        for key in [1, 2, 1, 3] {
            let _ = slot(&all, &key, 2).set(Ok(Arc::new(key)));
        }
        let keys: Vec<u8> = all.lock().unwrap().iter().map(|(k, _)| *k).collect();
        assert_eq!(keys, [1, 3]);
    }
}
