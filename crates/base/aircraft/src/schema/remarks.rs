//! What is odd about an aircraft that is not surely wrong? Questions for the builder. All ranges here are common
//! practice for models, no source.

use super::sensible::CHORD_RATIO;
use crate::geometry::{reference, tail_volumes};
use crate::{Aircraft, Layout, balance};

/// A hinge ahead of this share of the chord is asked for.
const FOREMOST_HINGE: f64 = 0.4;
/// A hinge nearer the leading edge than this makes the whole chord move.
const WHOLE_CHORD: f64 = 0.02;
/// Usual wing loadings, kg/m² (ten of them are a g/dm²).
const WING_LOADING_KG_M2: [f64; 2] = [1.0, 12.0];
/// Usual tail volumes of horizontal and of vertical tails.
const HORIZONTAL: [f64; 2] = [0.25, 1.0];
const VERTICAL: [f64; 2] = [0.01, 0.1];
/// Energy over mass of lithium packs, W h/kg, and voltage of a cell.
const PACK_WH_KG: [f64; 2] = [70.0, 280.0];
const CELL_V: f64 = 3.7;

/// Questions about what is odd: each a sentence or two, in the order of the file. Empty where nothing is.
#[must_use]
pub fn remarks(aircraft: &Aircraft) -> Vec<String> {
    let mut told = Vec::new();
    chords(aircraft, &mut told);
    hinges(aircraft, &mut told);
    loading(aircraft, &mut told);
    volumes(aircraft, &mut told);
    pack(aircraft, &mut told);
    told
}

fn outside(value: f64, [low, high]: [f64; 2]) -> Option<&'static str> {
    if value < low {
        Some("little")
    } else if value > high {
        Some("much")
    } else {
        None
    }
}

fn chords(aircraft: &Aircraft, told: &mut Vec<String>) {
    for surface in &aircraft.surfaces {
        for pair in surface.stations.windows(2) {
            if let [inner, outer] = pair
                && inner.chord_m > CHORD_RATIO * outer.chord_m
            {
                told.push(format!(
                    "The chord of \"{}\" falls from {:.0} mm to {:.0} mm between two stations. Is it pointed, or is a digit \
                     missing?",
                    surface.name,
                    inner.chord_m * 1000.0,
                    outer.chord_m * 1000.0
                ));
            }
        }
    }
}

fn hinges(aircraft: &Aircraft, told: &mut Vec<String>) {
    for movable in &aircraft.movables {
        let hinge = movable.hinge_inner.min(movable.hinge_outer);
        if (WHOLE_CHORD..FOREMOST_HINGE).contains(&hinge) {
            told.push(format!(
                "The hinge of \"{}\" lies at {:.0} % of the chord from the leading edge, so {:.0} % of the chord moves. \
                 Was its own share of the chord meant? Then the hinge is at {:.0} %.",
                movable.name,
                hinge * 100.0,
                (1.0 - hinge) * 100.0,
                (1.0 - hinge) * 100.0
            ));
        }
    }
}

fn loading(aircraft: &Aircraft, told: &mut Vec<String>) {
    let (Some(wing), Ok(balance)) = (reference(aircraft), balance::balance(aircraft)) else {
        return;
    };
    let loading = balance.total_kg.value / wing.area_m2;
    if let Some(word) = outside(loading, WING_LOADING_KG_M2) {
        told.push(format!(
            "A wing loading of {:.0} g/dm² is {word} for a model: {:.0} to {:.0} is usual. Are mass, span and chords in \
             the units that were measured?",
            loading * 10.0,
            WING_LOADING_KG_M2[0] * 10.0,
            WING_LOADING_KG_M2[1] * 10.0
        ));
    }
}

fn volumes(aircraft: &Aircraft, told: &mut Vec<String>) {
    let Some(volumes) = tail_volumes(aircraft) else {
        return;
    };
    let wings_only = matches!(aircraft.layout, Layout::FlyingWing | Layout::Canard);
    for (name, volume, usual) in [
        ("horizontal", volumes.horizontal.filter(|_| !wings_only), HORIZONTAL),
        ("vertical", volumes.vertical, VERTICAL),
    ] {
        if let Some(volume) = volume
            && let Some(word) = outside(volume, usual)
        {
            told.push(format!(
                "A {name} tail volume of {volume:.3} is {word}: {} to {} is usual. Are the tail's size and its place from \
                 the datum right?",
                usual[0], usual[1]
            ));
        }
    }
}

/// The heaviest item whose name says that it is the pack.
fn pack(aircraft: &Aircraft, told: &mut Vec<String>) {
    let Some(drive) = &aircraft.drive else { return };
    let item = aircraft
        .masses
        .iter()
        .filter(|m| ["pack", "battery", "accu"].iter().any(|w| m.name.to_lowercase().contains(w)))
        .max_by(|a, b| a.mass_kg.value.total_cmp(&b.mass_kg.value));
    let Some(item) = item.filter(|m| m.mass_kg.value > 0.0) else {
        return;
    };
    let energy_wh = f64::from(drive.pack.cells) * CELL_V * drive.pack.capacity_ah;
    if let Some(word) = outside(energy_wh / item.mass_kg.value, PACK_WH_KG) {
        told.push(format!(
            "{} cells of {:.0} mAh are {word} for the {:.0} g of \"{}\": {:.0} to {:.0} g is usual. Check cells, capacity \
             and mass.",
            drive.pack.cells,
            drive.pack.capacity_ah * 1000.0,
            item.mass_kg.value * 1000.0,
            item.name,
            energy_wh / PACK_WH_KG[1] * 1000.0,
            energy_wh / PACK_WH_KG[0] * 1000.0
        ));
    }
}
