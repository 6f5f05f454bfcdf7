//! How far does each surface go for each demand? Angle, movement of the trailing edge, pulse, side by side; and what
//! mixes on one surface.

use aircraft::Aircraft;
use aircraft::control::{Axis, panel_gain, trailing_edge_m_from_deflection};
use aircraft::movable::{Movable, Panels};
use aircraft::surface::{Role, Surface};

/// Where one panel stands at one full demand.
#[derive(Debug, Clone, PartialEq)]
pub struct ThrowRow {
    /// The builder's name of the movable.
    pub movable: String,
    /// "right", "left", "both" (one piece across the middle) or "only".
    pub side: &'static str,
    /// The full demand: "stick back", "rudder right", ….
    pub demand: &'static str,
    /// Share of the panel's throw that the demand takes, 0 to 1.
    pub share: f64,
    /// Deflection, rad, trailing edge down positive (of a fin: right).
    pub deflection_rad: f64,
    /// Which way the trailing edge goes: "up", "down", "left", "right".
    pub way: &'static str,
    /// Movement of the trailing edge at the inner end, straight along the chord of its arc, m; never negative.
    pub edge_m: f64,
    /// Pulse that does it, µs, through the linkage where it is measured; absent where the rod does not reach.
    pub pulse_us: Option<f64>,
    /// Share of the servo's travel that this takes; above 1 the servo cannot.
    pub travel_share: Option<f64>,
}

/// Full demands: axis, whether the positive one, the words of it.
const DEMANDS: [(Axis, bool, &str); 7] = [
    (Axis::Roll, true, "stick right"),
    (Axis::Roll, false, "stick left"),
    (Axis::Pitch, true, "stick back"),
    (Axis::Pitch, false, "stick forward"),
    (Axis::Yaw, true, "rudder right"),
    (Axis::Yaw, false, "rudder left"),
    (Axis::Flap, true, "flaps down"),
];

/// Deflection of one panel at a full demand, rad, trailing edge down positive; zero where it takes no part.
#[must_use]
pub fn at_full_demand_rad(
    aircraft: &Aircraft,
    movable: &Movable,
    axis: Axis,
    positive: bool,
    left: bool,
) -> f64 {
    let gain = panel_gain(aircraft, movable, axis, left);
    if gain == 0.0 {
        return 0.0;
    }
    // A positive demand asks for a negative axis deflection, except of flaps.
    let down = (gain > 0.0) == ((axis == Axis::Flap) == positive);
    gain.abs() * if down { movable.throw_down_rad } else { -movable.throw_up_rad }
}

/// The whole table: every movable, side and full demand that moves it.
#[must_use]
pub fn throws(aircraft: &Aircraft) -> Vec<ThrowRow> {
    let mut rows = Vec::new();
    for movable in &aircraft.movables {
        let Some(surface) = aircraft.surfaces.get(movable.surface) else {
            continue;
        };
        let sides: &[(bool, &'static str)] = match (surface.mirrored, movable.panels) {
            (true, Panels::Pair) => &[(false, "right"), (true, "left")],
            (true, Panels::One) => &[(false, "both")],
            (false, _) => &[(false, "only")],
        };
        for (left, side) in sides {
            for (axis, positive, demand) in DEMANDS {
                let deflection_rad = at_full_demand_rad(aircraft, movable, axis, positive, *left);
                if deflection_rad != 0.0 {
                    rows.push(row(movable, surface, *left, side, demand, deflection_rad));
                }
            }
        }
    }
    rows
}

fn row(
    movable: &Movable,
    surface: &Surface,
    left: bool,
    side: &'static str,
    demand: &'static str,
    deflection_rad: f64,
) -> ThrowRow {
    let servo = movable.servo_of(left);
    let pulse_us = movable.pulse_from_deflection(servo, deflection_rad);
    let throw = if deflection_rad > 0.0 { movable.throw_down_rad } else { movable.throw_up_rad };
    ThrowRow {
        movable: movable.name.clone(),
        side,
        demand,
        share: deflection_rad.abs() / throw,
        deflection_rad,
        way: match (surface.role == Role::Fin, deflection_rad > 0.0) {
            (false, true) => "down",
            (false, false) => "up",
            (true, true) => "right",
            (true, false) => "left",
        },
        edge_m: edge_m(movable, surface, deflection_rad),
        pulse_us,
        travel_share: pulse_us
            .map(|p| (p - servo.centre_us).abs() / servo.travel_us)
            .filter(|s| s.is_finite()),
    }
}

/// Movement of the trailing edge at the inner end for a deflection, m, without sign.
#[must_use]
pub fn edge_m(movable: &Movable, surface: &Surface, deflection_rad: f64) -> f64 {
    trailing_edge_m_from_deflection(deflection_rad.abs(), movable.chord_at(surface, movable.inner_m))
}

/// What answers several demands, what differs up and down, and what stops short of what its throw asks for.
#[must_use]
pub fn mixing(aircraft: &Aircraft, rows: &[ThrowRow]) -> Vec<String> {
    let mut told = Vec::new();
    for movable in &aircraft.movables {
        let (mix, name) = (movable.mix, &movable.name);
        let parts: Vec<(&str, f64)> =
            [("roll", mix.roll), ("pitch", mix.pitch), ("yaw", mix.yaw), ("flap", mix.flap)]
                .into_iter()
                .filter(|(_, share)| *share != 0.0)
                .collect();
        if parts.len() > 1 {
            let kind = match (mix.roll != 0.0, mix.pitch != 0.0, mix.yaw != 0.0, mix.flap != 0.0) {
                (false, true, true, false) => "ruddervators (V-tail mix)",
                (true, true, false, false) => "elevons",
                (true, false, false, true) if mix.flap > 0.0 => "flaperons",
                (true, false, false, true) => "ailerons that rise against the flaps (crow)",
                _ => "a mix of its own",
            };
            let sum: f64 = parts.iter().map(|(_, share)| share.abs()).sum();
            let shares: Vec<String> =
                parts.iter().map(|(axis, share)| format!("{:.0} % to {axis}", 100.0 * share)).collect();
            told.push(format!(
                "\"{name}\" works as {kind}: {}{}.",
                shares.join(", "),
                if sum > 1.0 + 1e-9 {
                    format!(
                        "; all demands together ask for {:.0} % of the throw, so in the corner of the stick it stops short: reduce one",
                        100.0 * sum
                    )
                } else {
                    String::new()
                }
            ));
        } else if mix.flap < 0.0 {
            told.push(format!("\"{name}\" rises when the flaps go down (crow)."));
        }
        let (up, down) = (movable.throw_up_rad, movable.throw_down_rad);
        if mix.roll != 0.0 && (up - down).abs() > 1e-6 && up.max(down) > 0.0 {
            told.push(format!(
                "\"{name}\" has differential: {:.1}° up, {:.1}° down, {:.0} % {}.",
                (up * mix.roll.abs()).to_degrees(),
                (down * mix.roll.abs()).to_degrees(),
                100.0 * (1.0 - up.min(down) / up.max(down)),
                if down < up { "less down" } else { "less up, which adds to the yaw against the turn" }
            ));
        }
    }
    let mut beyond: Vec<&ThrowRow> =
        rows.iter().filter(|r| r.travel_share.is_none_or(|s| s > 1.001)).collect();
    beyond.dedup_by(|a, b| a.movable == b.movable && a.side == b.side);
    for row in beyond {
        told.push(match row.travel_share {
            Some(share) => format!(
                "\"{}\" ({}) needs {:.0} % of its servo's stated travel for {:.1}° {}: a longer servo arm, a shorter horn, more travel or a smaller throw.",
                row.movable,
                row.side,
                100.0 * share,
                row.deflection_rad.abs().to_degrees(),
                row.way
            ),
            None => format!(
                "\"{}\" ({}) cannot reach {:.1}° {} with this linkage: the rod would lock; a longer servo arm or a shorter horn.",
                row.movable,
                row.side,
                row.deflection_rad.abs().to_degrees(),
                row.way
            ),
        });
    }
    told
}
