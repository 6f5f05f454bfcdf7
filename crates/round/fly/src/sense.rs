//! Does a mapped recording make sense? Columns that stand for the wrong thing: swapped, of the wrong sign, in the wrong
//! unit; found by the laws that tie the channels, one after the other, each with the map entry that would be right.
//!
//! A wrong channel makes others look wrong that are right. Hence what is found first is put right on a copy before the
//! next is looked for.

use crate::derive;
use crate::map::{ColumnMap, Entry};
use crate::propose::contradictions::{self, Contradiction, Remedy};
use crate::propose::{remedy, swaps};
use crate::recording::{Channel, Flaw, FlawKind, Quantity, Recording};
use crate::{thin, words};

/// Something that a recording contradicts.
#[derive(Debug, Clone, PartialEq)]
pub struct Contradicted {
    /// Channels that are not to be relied on, with those that were derived from them.
    pub channels: Vec<Quantity>,
    /// The columns, the number that gave them away and what to write in the map instead.
    pub flaw: Flaw,
    /// What is contradicted and what would put it right.
    contradiction: Contradiction,
}

/// More than this many wrong entries are no map at all.
const MOST: usize = 24;

/// Swapped columns, signs and units of a mapped recording that its own data contradicts. Each flaw names the column, the
/// number that gave it away and what to write in the column map instead.
#[must_use]
pub fn check(recording: &Recording) -> Vec<Flaw> {
    contradicted(recording).into_iter().map(|c| c.flaw).collect()
}

/// The same with the channels that are not to be relied on.
#[must_use]
pub fn contradicted(recording: &Recording) -> Vec<Contradicted> {
    let mut mended = thin::recording(recording);
    let mut found: Vec<Contradicted> = Vec::new();
    while found.len() < MOST {
        let next = swaps::find(&mended).or_else(|| contradictions::find(&mended).into_iter().next());
        // What was put right and is blamed again is blamed for something that this does not understand.
        let Some(c) = next.filter(|c| c.blame.iter().all(|q| mended.channel(q).is_some())) else {
            break;
        };
        let again = c.blame.iter().any(|q| found.iter().any(|f| f.channels.first() == Some(q)));
        if !again {
            found.push(Contradicted {
                channels: with_derived(recording, &c.blame),
                flaw: Flaw {
                    kind: FlawKind::Unit,
                    place: place(recording, &c.blame),
                    what: format!("{}: {}", c.said, contradictions::advice(&c)),
                },
                contradiction: c.clone(),
            });
        }
        let remedy =
            if again || c.blame.len() > 1 && c.remedy != Remedy::Swap { &Remedy::None } else { &c.remedy };
        mend(&mut mended, &c, remedy);
    }
    found
}

/// The map with swapped columns, signs and units put right, as far as a recording that was read through it tells one
/// entry to blame; nothing where there is nothing to put right. Read again through it and check before it is relied on.
#[must_use]
pub fn corrected(recording: &Recording, map: &ColumnMap) -> Option<ColumnMap> {
    let mut right = map.clone();
    for found in contradicted(recording) {
        let c = &found.contradiction;
        let place = |map: &ColumnMap, q: &Quantity| map.entries.iter().position(|e| e.quantity == *q);
        match (&c.remedy, c.blame.as_slice()) {
            (Remedy::Swap, [a, b]) => {
                let (a, b) = (place(&right, a), place(&right, b));
                if let Some((a, b)) = a.zip(b) {
                    swap_columns(&mut right.entries, a, b);
                }
            }
            (remedy, [q]) => {
                let better = |e: &Entry| remedy::corrected(e, remedy);
                if let Some(entry) = place(&right, q).and_then(|at| right.entries.get_mut(at))
                    && let Some(mended) = better(entry)
                {
                    *entry = mended;
                }
            }
            _ => {}
        }
    }
    (right != *map).then_some(right)
}

/// Gives each of two entries the column of the other; the unit, sign and scale belong to what the column holds.
fn swap_columns(entries: &mut [Entry], a: usize, b: usize) {
    let (Some(first), Some(second)) = (entries.get(a).cloned(), entries.get(b).cloned()) else {
        return;
    };
    if let Some(entry) = entries.get_mut(a) {
        *entry = Entry { quantity: first.quantity, ..second.clone() };
    }
    if let Some(entry) = entries.get_mut(b) {
        *entry = Entry { quantity: second.quantity, ..first };
    }
}

fn place(recording: &Recording, blame: &[Quantity]) -> String {
    blame
        .iter()
        .map(|q| match recording.channel(q) {
            Some(c) => format!("{} (\"{}\")", words::word(q), c.source),
            None => words::word(q),
        })
        .collect::<Vec<_>>()
        .join(" or ")
}

/// Whether a channel was computed from another channel of the recording.
fn is_made_of(channel: &Channel, other: &Channel) -> bool {
    let computed =
        channel.source.starts_with("from \"") || channel.source.ends_with("where the recording begins");
    computed && channel.source.contains(&format!("\"{}\"", other.source))
}

fn with_derived(recording: &Recording, blame: &[Quantity]) -> Vec<Quantity> {
    let mut all = blame.to_vec();
    for blamed in blame.iter().filter_map(|q| recording.channel(q)) {
        let made = recording.channels.iter().filter(|c| is_made_of(c, blamed)).map(|c| c.quantity.clone());
        all.extend(made.filter(|q| !blame.contains(q)).collect::<Vec<_>>());
    }
    all
}

/// Puts the channels right on the copy, takes those out that cannot be, and computes anew what follows from them.
fn mend(recording: &mut Recording, c: &Contradiction, remedy: &Remedy) {
    let stale = with_derived(recording, &c.blame);
    let of_own = |q: &Quantity| c.blame.contains(q);
    recording.channels.retain(|k| of_own(&k.quantity) || !stale.contains(&k.quantity));
    match (remedy, c.blame.as_slice()) {
        (Remedy::Swap, [a, b]) => {
            for channel in &mut recording.channels {
                if channel.quantity == *a {
                    channel.quantity = b.clone();
                } else if channel.quantity == *b {
                    channel.quantity = a.clone();
                }
            }
        }
        (Remedy::TooLarge(f), _) if f.is_finite() && *f != 0.0 => {
            change(recording, &c.blame, |v| v / f.abs())
        }
        (Remedy::Negate, _) => change(recording, &c.blame, |v| -v),
        (Remedy::Offset(off), _) => change(recording, &c.blame, |v| v - off),
        _ => recording.channels.retain(|k| !of_own(&k.quantity)),
    }
    derive::add_derived(recording);
}

fn change(recording: &mut Recording, blame: &[Quantity], f: impl Fn(f64) -> f64) {
    for channel in recording.channels.iter_mut().filter(|c| blame.contains(&c.quantity)) {
        for v in &mut channel.values {
            *v = f(*v);
        }
    }
}
