//! How do the natural motions change with power and with the balance point?

use aircraft::limits::Flown;
use numerics::{Mat3, Vec3};

use crate::adopted;
use crate::lattice::Solved;
use crate::modes::{KINDS, Undisturbed, modes};
use crate::performance::Flying;
use crate::prediction::{Mode, Outcome};

/// Natural motions of one state.
#[derive(Debug, Clone, PartialEq)]
pub struct Motions {
    /// Whether level flight with power, or the glide at the same speed.
    pub power: bool,
    /// Which balance point: "forward limit", "balance point", "aft limit", or "ahead" and "behind" by a twentieth of the
    /// mean chord where there is no range.
    pub place: &'static str,
    /// Balance point along x from the datum, m.
    pub balance_x_m: f64,
    /// Static margin there, per cent of the mean chord.
    pub static_margin_percent: f64,
    /// The motions, all five kinds.
    pub modes: Vec<Mode>,
}

/// What the motions are worked out from.
#[derive(Debug, Clone, Copy)]
pub struct Cases<'a> {
    /// The lattice, which gives the coefficients about any balance point.
    pub solved: &'a Solved,
    /// What flights taught.
    pub flown: Flown,
    /// The aircraft as it balances.
    pub flying: Flying,
    /// Its inertia, kg m²; taken as it is at each balance point (a pack that moves changes it by less than a few per
    /// cent).
    pub inertia_kg_m2: Mat3,
    /// Its balance point, builder's frame, m.
    pub cg_m: Vec3,
    /// Neutral point, m.
    pub neutral_point_x_m: f64,
    /// Steady level flight with power.
    pub level: Undisturbed,
}

impl Cases<'_> {
    /// Three balance points, power on and off each.
    #[must_use]
    pub fn all(&self, range_x_m: &Outcome<[f64; 2]>) -> Vec<Motions> {
        let (x, chord) = (self.cg_m.x, self.flying.aerodynamics.mean_chord_m);
        let places = match range_x_m {
            Ok([forward, aft]) => [("forward limit", *forward), ("balance point", x), ("aft limit", *aft)],
            Err(_) => [("ahead", x - 0.05 * chord), ("balance point", x), ("behind", x + 0.05 * chord)],
        };
        let mut rows = Vec::new();
        for (place, balance_x_m) in places {
            for power in [true, false] {
                rows.push(self.at(place, balance_x_m, power));
            }
        }
        rows
    }

    fn at(&self, place: &'static str, balance_x_m: f64, power: bool) -> Motions {
        let mut flying = self.flying;
        if balance_x_m != self.cg_m.x {
            let largest = (flying.aerodynamics.cl_max, flying.aerodynamics.cl_min);
            let polar =
                (flying.aerodynamics.cd0, flying.aerodynamics.induced, flying.aerodynamics.cl_least_drag);
            let mut moved = self.solved.about(Vec3::new(balance_x_m, self.cg_m.y, self.cg_m.z));
            adopted::factors(&self.flown, &mut moved);
            (moved.cl_max, moved.cl_min) = largest;
            (moved.cd0, moved.induced, moved.cl_least_drag) = polar;
            flying.aerodynamics = moved;
        }
        let level = self.level;
        let steady = flying.at(level.speed_m_s, 1.0);
        let at = if power {
            level
        } else {
            // In the glide the path falls by drag over lift; no thrust, so nothing of it changes with speed.
            Undisturbed {
                cl: steady.cl,
                cd: steady.cd,
                alpha_rad: steady.alpha_rad,
                pitch_rad: steady.alpha_rad - (steady.cd / steady.cl).atan(),
                thrust_slope_n_s_m: 0.0,
                thrust_arm_m: 0.0,
                ..level
            }
        };
        Motions {
            power,
            place,
            balance_x_m,
            static_margin_percent: 100.0 * (self.neutral_point_x_m - balance_x_m)
                / flying.aerodynamics.mean_chord_m,
            modes: modes(&flying, &self.inertia_kg_m2, &at),
        }
    }
}

/// A motion in a few figures: period of a swing and its damping ratio ("1.2 s at 0.21"), else the time to halve or to
/// double.
#[must_use]
pub fn figures(mode: &Mode) -> String {
    match (mode.frequency_rad_s, mode.damping) {
        (Some(frequency), Some(damping)) if damping.abs() < 1.0 => format!(
            "{:.1} s at {damping:.2}",
            std::f64::consts::TAU / (frequency * (1.0 - damping * damping).sqrt())
        ),
        _ if !mode.time_constant_s.is_finite() => "stays".to_owned(),
        _ if mode.time_constant_s < 0.0 => {
            format!("doubles {}", seconds(-mode.time_constant_s * std::f64::consts::LN_2))
        }
        _ => format!("halves {}", seconds(mode.time_constant_s * std::f64::consts::LN_2)),
    }
}

fn seconds(time_s: f64) -> String {
    if time_s < 1.0 { format!("{time_s:.2} s") } else { format!("{time_s:.0} s") }
}

/// How the motions change, side by side: the first row names power and the balance points, each further row a kind.
#[must_use]
pub fn table(rows: &[Motions]) -> Vec<Vec<String>> {
    let of = |row: &Motions, kind: &str| -> String {
        let parts: Vec<String> =
            row.modes.iter().filter(|m| m.name.split(',').next() == Some(kind)).map(figures).collect();
        parts.join(" + ")
    };
    let mut table = Vec::new();
    let with = |power: bool| rows.iter().filter(move |r| r.power == power);
    let mut head = vec!["motion".to_owned(), "power".to_owned()];
    head.extend(with(true).map(|r| format!("{} {:.0} mm", r.place, r.balance_x_m * 1e3)));
    table.push(head);
    for kind in KINDS {
        for power in [true, false] {
            let mut line = vec![kind.to_owned(), if power { "on" } else { "off" }.to_owned()];
            line.extend(with(power).map(|r| of(r, kind)));
            table.push(line);
        }
    }
    table
}
