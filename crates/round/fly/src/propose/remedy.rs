//! What would put an entry right that the data contradicts? In words for whoever writes the map, and as the entry to write.

use std::f64::consts::PI;

use super::contradictions::Contradiction;
use crate::map::{Axes, Entry};
use crate::recording::Quantity;
use crate::words::{self, Unit};

/// Turns a size in radians into one in degrees.
const DEG: f64 = 180.0 / PI;

/// What would put a channel right.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Remedy {
    /// It is this many times too large: another unit.
    TooLarge(f64),
    /// Its sign is the other way round.
    Negate,
    /// It is off by an angle, rad.
    Offset(f64),
    /// It and the other one to blame stand for each other.
    Swap,
    /// No change of unit or sign makes it right.
    None,
}

/// What to write in the map instead.
pub(crate) fn advice(c: &Contradiction) -> String {
    let Some(first) = c.blame.first() else {
        return String::new();
    };
    let own = match &c.remedy {
        Remedy::Swap => {
            let other = c.blame.get(1).map_or_else(String::new, words::word);
            return format!(
                "the columns are mixed up: write quantity = \"{other}\" for the column that the map calls {}, and \
                 quantity = \"{}\" for the other",
                words::word(first),
                words::word(first)
            );
        }
        Remedy::Negate => match first {
            Quantity::VelocityDown => "write axes = \"up-positive\" (or take it away) for it".to_owned(),
            Quantity::ForceZ | Quantity::ForceY => {
                "write axes = \"forward-left-up\" for the three forces if x points forward, else negate = true"
                    .to_owned()
            }
            _ => format!("write negate = true for {} (or take it away)", words::word(first)),
        },
        Remedy::TooLarge(ratio) => unit_advice(first, *ratio),
        Remedy::Offset(off) => format!(
            "write offset = {:.0} (in deg) if it is measured against another axis, or leave it out with the other \
             attitude and rate channels if the axes are not those of an airplane",
            -off * DEG
        ),
        Remedy::None => "leave it out or map another column".to_owned(),
    };
    match c.blame.get(1) {
        Some(other) => format!("{own}, or, if that is right, the opposite for {}", words::word(other)),
        None => own,
    }
}

fn unit_advice(quantity: &Quantity, ratio: f64) -> String {
    let dimension = words::dimension(quantity);
    let size = ratio.abs();
    let pair = words::units_of(dimension)
        .filter_map(|mapped| right_unit(quantity, mapped, size).map(|(off, right)| (off, mapped, right)))
        .min_by(|a, b| a.0.total_cmp(&b.0));
    match pair {
        Some((_, mapped, right)) => format!(
            "write unit = \"{}\" for {} where the map says \"{}\" (or scale = {:.5})",
            right.word,
            words::word(quantity),
            mapped.word,
            1.0 / size
        ),
        None => format!("write scale = {:.5} for {}", 1.0 / size, words::word(quantity)),
    }
}

/// The unit that is right where the mapped one makes values so many times too large, and how far off its ratio is.
fn right_unit(quantity: &Quantity, mapped: &Unit, size: f64) -> Option<(f64, &'static Unit)> {
    /// Units further off than this, as a logarithm, are others.
    const OFF: f64 = 0.3;
    words::units_of(words::dimension(quantity))
        .filter(|right| mapped.word != right.word && mapped.offset == right.offset)
        .map(|right| ((size * right.factor / mapped.factor).ln().abs(), right))
        .filter(|(off, _)| *off < OFF)
        .min_by(|a, b| a.0.total_cmp(&b.0))
}

/// The entry that the remedy makes of one; nothing where no change of this entry alone puts it right.
pub(crate) fn corrected(entry: &Entry, remedy: &Remedy) -> Option<Entry> {
    let mapped = words::unit_of(words::dimension(&entry.quantity), &entry.unit)?;
    let mut right = entry.clone();
    match remedy {
        Remedy::Negate if entry.quantity == Quantity::VelocityDown && !entry.negate => {
            right.axes = match entry.axes {
                Axes::UpPositive => Axes::ForwardRightDown,
                _ => Axes::UpPositive,
            };
        }
        Remedy::Negate => right.negate = !entry.negate,
        Remedy::TooLarge(ratio) if ratio.is_finite() && *ratio != 0.0 => {
            match right_unit(&entry.quantity, mapped, ratio.abs()) {
                Some((_, unit)) => right.unit = unit.word.to_owned(),
                None => right.scale /= ratio.abs(),
            }
        }
        Remedy::Offset(off) => {
            let turned = if entry.axes.sign(&entry.quantity) == Some(-1.0) { -1.0 } else { 1.0 };
            let sign = if entry.negate { -turned } else { turned };
            right.offset -= sign * off / mapped.factor;
        }
        Remedy::TooLarge(_) | Remedy::Swap | Remedy::None => return None,
    }
    Some(right)
}
