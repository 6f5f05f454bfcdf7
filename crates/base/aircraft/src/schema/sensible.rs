//! Can the numbers belong to one aircraft? What is surely a slip of the pen is a fault that asks what was meant.

use super::checks::Whole;
use super::fault::Notes;
use super::sheet::short;
use crate::surface::Surface;

/// An item may lie beyond surfaces, bodies and hubs by this share of the span: a camera on a stalk, a towed sensor do;
/// more is taken for a slip (common practice, no source).
const BEYOND: f64 = 0.2;
/// Neighboring chords do not grow outwards by more than this.
pub(super) const CHORD_RATIO: f64 = 5.0;
/// A list of items and the scale do not differ by more than this.
const MASS_RATIO: f64 = 1.5;

pub(super) fn check(notes: &Notes<'_>, whole: &Whole<'_>) {
    check_items(notes, whole);
    check_chords(notes, whole);
    check_total(notes, whole);
}

/// Foremost and rearmost, left and right, lowest and highest place, m, and the span; absent where a surface or a body
/// could not be read, for then the aircraft may be larger than it seems.
fn extent(whole: &Whole<'_>) -> Option<([[f64; 2]; 3], f64)> {
    let mut ends = [[f64::INFINITY, f64::NEG_INFINITY]; 3];
    let mut take = |at: [f64; 3]| {
        for (end, value) in ends.iter_mut().zip(at) {
            *end = [end[0].min(value), end[1].max(value)];
        }
    };
    let surfaces: Vec<&Surface> = whole.surfaces.iter().map(|r| r.surface.as_ref()).collect::<Option<_>>()?;
    for surface in &surfaces {
        for station in &surface.stations {
            let edge = station.leading_edge_m;
            let left = if surface.mirrored { -edge.y } else { edge.y };
            take([edge.x, edge.y, edge.z]);
            take([edge.x + station.chord_m, left, edge.z]);
        }
    }
    for body in whole.bodies {
        let body = body.fuselage.as_ref()?;
        for station in &body.stations {
            let (c, w, h) = (station.centre_m, 0.5 * station.width_m, 0.5 * station.height_m);
            take([c.x, c.y - w, c.z - h]);
            take([c.x, c.y + w, c.z + h]);
            if body.mirrored {
                take([c.x, -c.y - w, c.z]);
            }
        }
    }
    for hub in whole.drive.iter().flat_map(|d| &d.hubs_m) {
        take([hub.x, hub.y, hub.z]);
    }
    let span = ends.get(1).map_or(0.0, |[left, right]| right - left);
    (span.is_finite() && span > 0.0).then_some((ends, span))
}

fn check_items(notes: &Notes<'_>, whole: &Whole<'_>) {
    let Some((ends, span)) = extent(whole) else {
        return;
    };
    for read in whole.masses {
        let Some(item) = &read.item else { continue };
        let at = [item.at_m.x, item.at_m.y, item.at_m.z];
        for ((axis, value), [low, high]) in ["x", "y", "z"].iter().zip(at).zip(ends) {
            let (beyond, end) = if value > high { (value - high, high) } else { (low - value, low) };
            if beyond > BEYOND * span {
                notes.fault(
                    &read.place,
                    format!(
                        "mass \"{}\" lies at {axis} = {} mm, {} mm beyond surfaces and bodies, which end at {} mm",
                        read.name,
                        short((value * 1000.0).round()),
                        short((beyond * 1000.0).round()),
                        short((end * 1000.0).round())
                    ),
                    format!("in which unit was {axis} measured, and from the datum? {axis}_mm, _cm, _m, _in or _ft"),
                );
            }
        }
    }
}

/// A tip much smaller than the root may be meant (a pointed wing); a chord that grows so much outwards is not.
fn check_chords(notes: &Notes<'_>, whole: &Whole<'_>) {
    for read in whole.surfaces {
        let Some(surface) = &read.surface else { continue };
        for (index, pair) in surface.stations.windows(2).enumerate() {
            if let [inner, outer] = pair
                && outer.chord_m > CHORD_RATIO * inner.chord_m
            {
                notes.fault(
                    &read.place,
                    format!(
                        "the chord of \"{}\" grows from {} mm to {} mm from station {} to station {}",
                        read.name,
                        short(inner.chord_m * 1000.0),
                        short(outer.chord_m * 1000.0),
                        index + 1,
                        index + 2
                    ),
                    "is a digit missing in one of them, or one too many? measure both chords again",
                );
            }
        }
    }
}

fn check_total(notes: &Notes<'_>, whole: &Whole<'_>) {
    let Some(weighed) = whole.weighed else { return };
    let Some(total) = weighed.weighed.total_kg.map(|k| k.value) else {
        return;
    };
    let items: Option<Vec<f64>> =
        whole.masses.iter().map(|m| m.item.as_ref().map(|i| i.mass_kg.value)).collect();
    let Some(items) = items.filter(|i| !i.is_empty()) else {
        return;
    };
    let sum: f64 = items.iter().sum();
    if sum > MASS_RATIO * total || sum * MASS_RATIO < total {
        notes.fault(
            &weighed.place,
            format!(
                "the scale says {} g, and the items together weigh {} g",
                short((total * 1000.0).round()),
                short((sum * 1000.0).round())
            ),
            "is it the unit, a digit, or an item that is missing or listed twice? weigh again; without a full list of \
             items take the list away, and the weighed total stands alone",
        );
    }
}
