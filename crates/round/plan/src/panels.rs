//! Where does a panel stand, in words for people? Angles are computed for an axis (elevator: trailing edge down); a
//! gauge is held at a panel. On a foreplane the two differ by their sign, on a mixed surface by its share.
//!
//! [`aircraft::control::panel_gain`] takes one to the other; whatever is shown to people goes through this file.

use aircraft::Aircraft;
use aircraft::control::{Axis, panel_gain, panel_normal};
use aircraft::movable::{Movable, Panels};
use numerics::uncertain::Uncertain;
use numerics::units::DEG_PER_RAD;

use crate::directions::word;
use crate::number;

/// Below this share of an axis a panel does not answer it.
const NO_SHARE: f64 = 1e-9;

/// A panel, or both of a pair that stand alike, and how far from neutral.
#[derive(Debug, Clone, PartialEq)]
pub struct PanelAngle {
    /// Which panel, as people call it ("elevator", "left ruddervator"; the name alone where both sides stand alike).
    pub panel: String,
    /// Whether it holds on both sides of a pair.
    pub both_sides: bool,
    /// Angle from neutral, rad, never negative.
    pub angle_rad: Uncertain,
    /// Where the trailing edge is: "up", "down", "left" or "right".
    pub trailing_edge: &'static str,
}

impl PanelAngle {
    /// "elevator 4.4° ± 1.2° trailing edge down"; "elevator at neutral" where nothing is left of the angle.
    #[must_use]
    pub fn words(&self) -> String {
        let sides = if self.both_sides { " on both sides" } else { "" };
        let Uncertain { value, sd } = self.angle_rad.scaled(DEG_PER_RAD);
        let angle =
            if sd > 0.0 { number::with_doubt(value, sd, "deg") } else { number::coarse(value, "deg") };
        let told = angle.split('°').next().unwrap_or_default();
        if told.bytes().all(|b| matches!(b, b'0' | b'.')) {
            let doubt = angle.split_once('±').map_or(String::new(), |(_, d)| format!(", ±{d}"));
            return format!("{} at neutral{sides}{doubt}", self.panel);
        }
        format!("{} {angle} trailing edge {}{sides}", self.panel, self.trailing_edge)
    }
}

/// Panels in words, one after the other.
#[must_use]
pub fn words(angles: &[PanelAngle]) -> String {
    angles.iter().map(PanelAngle::words).collect::<Vec<_>>().join(", ")
}

/// Where every panel stands that answers an axis, for a deflection of that axis in rad (sign as in `Axis`).
#[must_use]
pub fn at_axis(aircraft: &Aircraft, axis: Axis, deflection_rad: Uncertain) -> Vec<PanelAngle> {
    of_each(aircraft, axis, |gain| deflection_rad.scaled(gain))
}

/// Where a panel stands that is deflected by an angle of its own, rad, positive with the trailing edge against the
/// panel's normal.
#[must_use]
pub fn of_panel(aircraft: &Aircraft, movable: &Movable, left: bool, deflection: Uncertain) -> PanelAngle {
    let pair = is_pair(aircraft, movable);
    let panel = match (pair, left) {
        (false, _) => movable.name.clone(),
        (true, true) => format!("left {}", movable.name),
        (true, false) => format!("right {}", movable.name),
    };
    let trailing_edge = aircraft.surfaces.get(movable.surface).map_or("down", |surface| {
        let normal = panel_normal(surface, movable, left);
        word(if deflection.value < 0.0 { normal } else { -normal })
    });
    PanelAngle {
        panel,
        both_sides: false,
        angle_rad: Uncertain { value: deflection.value.abs(), sd: deflection.sd },
        trailing_edge,
    }
}

/// The movable that answers an axis most, and its share of it: what "a degree of elevator" is a degree of.
#[must_use]
pub fn lead(aircraft: &Aircraft, axis: Axis) -> Option<(&Movable, f64)> {
    aircraft
        .movables
        .iter()
        .map(|movable| (movable, panel_gain(aircraft, movable, axis, false)))
        .filter(|(_, gain)| gain.abs() > NO_SHARE)
        .max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))
}

/// Whether a movable has a panel on each side with a servo of its own.
#[must_use]
pub fn is_pair(aircraft: &Aircraft, movable: &Movable) -> bool {
    movable.panels == Panels::Pair && aircraft.surfaces.get(movable.surface).is_some_and(|s| s.mirrored)
}

fn of_each(aircraft: &Aircraft, axis: Axis, deflection: impl Fn(f64) -> Uncertain) -> Vec<PanelAngle> {
    let mut out = Vec::new();
    for movable in &aircraft.movables {
        let side = |left: bool| {
            let gain = panel_gain(aircraft, movable, axis, left);
            (gain.abs() > NO_SHARE).then(|| of_panel(aircraft, movable, left, deflection(gain)))
        };
        let right = side(false);
        let left = if is_pair(aircraft, movable) { side(true) } else { None };
        match (right, left) {
            (Some(right), Some(left))
                if right.trailing_edge == left.trailing_edge && right.angle_rad == left.angle_rad =>
            {
                out.push(PanelAngle { panel: movable.name.clone(), both_sides: true, ..right });
            }
            (right, left) => out.extend(right.into_iter().chain(left)),
        }
    }
    out
}
