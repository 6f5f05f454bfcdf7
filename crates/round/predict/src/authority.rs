//! What do the throws do, and which throws are right for a first flight? Load factor, yaw and sideslip per degree, yaw
//! from the ailerons, recommended throws with their criteria, loads of the servos.

use aircraft::Aircraft;
use aircraft::control::{Axis, axis_throw_rad, panel_gain};
use motion::model::Aerodynamics;
use numerics::units::{G_M_S2, RAD_PER_DEG};

use crate::control::ShortPeriod;
use crate::hinge::ServoLoad;
use crate::lattice::{Lattice, RATES, Solved};
use crate::performance::Flying;
use crate::prediction::{NotPredicted, Outcome};
use crate::throws::{ThrowRow, at_full_demand_rad, edge_m};

/// Helix angle p b/2V at full stick of a docile roll, for a first flight: 0.05 to 0.07 (common practice, no source);
/// 0.07 is what a full-size aircraft must reach (Gilruth & Turner, NACA Report 715, 1941, from memory).
pub const DOCILE_HELIX: f64 = 0.06;
/// Helix angle of a brisk roll, for later (common practice, no source).
pub const BRISK_HELIX: f64 = 0.09;
/// Load factor beyond one that full up elevator adds at cruise: for a first flight, later (common practice, no source).
pub const PULL: [f64; 2] = [1.0, 2.0];
/// Sideslip, wings held level, at full rudder: for a first flight, later, rad (8 and 15 degrees; common practice, no
/// source).
pub const SLIP_RAD: [f64; 2] = [8.0 * RAD_PER_DEG, 15.0 * RAD_PER_DEG];
/// Share of the throw that holding the nose up in the flare and at the stall may take.
const TRIM_SHARE: f64 = crate::balance_range::FLARE_SHARE;

/// Throws and what they do at the cruise speed.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Authority {
    /// Every movable, side and full demand.
    pub throws: Vec<ThrowRow>,
    /// What mixes, what has differential, what stops short.
    pub mixing: Vec<String>,
    /// What a degree and what full stick do.
    pub answers: Vec<Answer>,
    /// Throws to begin with and for later.
    pub recommended: Vec<Recommended>,
    /// What the servos must hold.
    pub servos: Vec<ServoLoad>,
}

/// One answer to a control.
#[derive(Debug, Clone, PartialEq)]
pub struct Answer {
    /// Name with its unit at the end, as outsiders read it.
    pub key: &'static str,
    /// What it is, in words, for where there is no sentence.
    pub what: &'static str,
    /// The value in that unit (degrees for angles).
    pub value: Outcome<f64>,
    /// In a sentence.
    pub sentence: String,
}

/// A recommended throw of an axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Recommended {
    /// The axis.
    pub axis: Axis,
    /// "first flight" or "later".
    pub when: &'static str,
    /// Throw of the axis, rad, each way (for pitch: up; down may be less).
    pub throw_rad: Outcome<f64>,
    /// The throw as a share of the present one.
    pub share: Option<f64>,
    /// Movement of each trailing edge that takes part, at its inner end: name, rad, m.
    pub edges: Vec<(String, f64, f64)>,
    /// What it is chosen by.
    pub criterion: &'static str,
}

/// Where the answers are worked out.
#[derive(Debug, Clone, Copy)]
pub struct At<'a> {
    /// The aircraft.
    pub aircraft: &'a Aircraft,
    /// Its lattice.
    pub solved: &'a Solved,
    /// Its coefficients with what flights taught.
    pub flying: &'a Flying,
    /// True airspeed, m/s.
    pub speed_m_s: f64,
    /// Short period there.
    pub short: ShortPeriod,
    /// Yawing with wings held level there.
    pub flat: ShortPeriod,
}

fn missing(axis: Axis) -> NotPredicted {
    NotPredicted::Missing { what: format!("a [[movable]] with a share of {} in its mix", axis.word()) }
}

fn finite(value: f64, why: &str) -> Outcome<f64> {
    if value.is_finite() { Ok(value) } else { Err(NotPredicted::NoSolution { why: why.to_owned() }) }
}

impl At<'_> {
    fn answers_to(&self, axis: Axis) -> Outcome<()> {
        axis_throw_rad(self.aircraft, axis).map(|_| ()).ok_or_else(|| missing(axis))
    }

    /// Load factor beyond one per rad of up elevator, at constant speed: the pitch rate is (n - 1) g/V.
    ///
    /// # Errors
    /// Without an elevator, or where the pitch rate does not settle.
    pub fn load_factor_per_rad(&self) -> Outcome<f64> {
        self.answers_to(Axis::Pitch)?;
        finite(
            -self.short.steady_rate_per_rad_s() * self.speed_m_s / G_M_S2,
            "the pitch rate does not settle: the aircraft is unstable at this balance point",
        )
    }

    /// Yaw rate per rad of right rudder, 1/s, and sideslip, rad per rad (negative: wind from the left), wings held level.
    ///
    /// # Errors
    /// Without a rudder, or where yawing does not settle.
    pub fn yaw_and_slip_per_rad(&self) -> Outcome<[f64; 2]> {
        self.answers_to(Axis::Yaw)?;
        let why = "yawing does not settle: more fin is needed";
        let yaw = finite(-self.flat.steady_rate_per_rad_s(), why)?;
        let [[a11, a12], [a21, a22]] = self.flat.a;
        let slip = -(a12 * self.flat.b[1] - a22 * self.flat.b[0]) / (a11 * a22 - a12 * a21);
        Ok([yaw, finite(slip, why)?])
    }

    /// Yawing moment coefficient of a steady roll to the right at full stick, nose right positive: the lattice with
    /// panels deflected and rolling, and the profile drag of the strips. `even` takes the mean of both ways for each
    /// panel, as without differential.
    fn yaw_of_roll(&self, helix: f64, even: bool) -> f64 {
        let solved = self.solved;
        let a = &self.flying.aerodynamics;
        let cl = self.flying.at(self.speed_m_s, 1.0).cl;
        let straight = solved.motion(solved.alpha_at_lift(cl, 0.0));
        let mut rolling = straight.clone();
        if let Some(rate) = rolling.get_mut(RATES[0]) {
            *rate += helix * 2.0 / a.span_m;
        }
        for (i, movable) in self.aircraft.movables.iter().enumerate() {
            for left in [false, true] {
                let right_stick = at_full_demand_rad(self.aircraft, movable, Axis::Roll, true, left);
                let left_stick = at_full_demand_rad(self.aircraft, movable, Axis::Roll, false, left);
                let deflection = if even { 0.5 * (right_stick - left_stick) } else { right_stick };
                if let Some(slot) = rolling.get_mut(Lattice::flap_motion(i, left)) {
                    *slot += deflection;
                }
            }
        }
        let yaw = |motion: &[f64]| {
            // Drag on the right wing turns the nose right.
            let profile: f64 = solved.strips.iter().map(|s| s.profile_m2(motion) * s.quarter_m.y).sum();
            (2.0 * solved.forces.at(motion)[5] + profile) / (a.area_m2 * a.span_m)
        };
        yaw(&rolling) - yaw(&straight)
    }

    /// Swing of the nose against a roll at full stick, rad (positive: adverse, left in a roll to the right), until
    /// sideslip holds it, wings rolling; with the differential of the file and without.
    ///
    /// # Errors
    /// Without ailerons, or where the fin does not turn the nose into the wind.
    pub fn adverse_yaw_rad(&self, helix: f64) -> Outcome<[f64; 2]> {
        self.answers_to(Axis::Roll)?;
        let d = &self.flying.aerodynamics.derivatives;
        if d.Cnb <= 0.0 {
            return Err(NotPredicted::NoSolution {
                why: "the fin does not turn the nose into the wind".to_owned(),
            });
        }
        Ok([self.yaw_of_roll(helix, false), self.yaw_of_roll(helix, true)].map(|cn| -cn / d.Cnb))
    }
}

/// What a degree and what full stick do at the cruise speed.
#[must_use]
pub fn answers(at: &At<'_>, helix: &Outcome<f64>) -> Vec<Answer> {
    let mut found = Vec::new();
    let mut push = |key, what, value: Outcome<f64>, sentence: &dyn Fn(f64) -> String| {
        let told = value.as_ref().map_or_else(|_| String::new(), |v| sentence(*v));
        found.push(Answer { key, what, value, sentence: told });
    };
    push(
        "load_factor_per_deg",
        "what a degree of elevator adds in g",
        at.load_factor_per_rad().map(|n| n * RAD_PER_DEG),
        &|n| format!("A degree of up elevator adds {n:.2} g at cruise."),
    );
    let yaw = at.yaw_and_slip_per_rad();
    push(
        "yaw_rate_deg_s_per_deg",
        "how a degree of rudder yaws it",
        yaw.clone().map(|[rate, _]| rate),
        &|rate| format!("A degree of right rudder, wings held level, yaws at {rate:.2}°/s."),
    );
    push("sideslip_deg_per_deg", "how a degree of rudder slips it", yaw.map(|[_, slip]| slip), &|slip| {
        format!(
            "A degree of right rudder, wings held level, slips it by {:.2}°, wind from the {}.",
            slip.abs(),
            if slip < 0.0 { "left" } else { "right" }
        )
    });
    let swing = helix.clone().and_then(|h| at.adverse_yaw_rad(h));
    let way = |swing: f64| {
        if swing > 0.0 {
            "left of its path, against the turn (adverse)"
        } else {
            "right of its path, into the turn"
        }
    };
    push(
        "adverse_yaw_deg",
        "how full aileron swings the nose",
        swing.clone().map(|[with, _]| with.to_degrees()),
        &|deg| {
            format!(
                "Full right aileron alone, as the throws stand, swings the nose up to {:.1}° to the {}.",
                deg.abs(),
                way(deg)
            )
        },
    );
    push(
        "adverse_yaw_without_differential_deg",
        "how full aileron without differential swings the nose",
        swing.clone().map(|[_, without]| without.to_degrees()),
        &|deg| {
            format!(
                "With the same throw up and down it would be up to {:.1}° to the {}.",
                deg.abs(),
                way(deg)
            )
        },
    );
    let d = &at.flying.aerodynamics.derivatives;
    let rudder = swing.and_then(|[with, _]| {
        at.answers_to(Axis::Yaw)?;
        // Cn + Cndr δ = 0 with Cn = -swing Cnb; right rudder is negative.
        finite(-with * d.Cnb / d.Cndr, "the rudder does not yaw it").map(f64::to_degrees)
    });
    push("rudder_against_adverse_yaw_deg", "the rudder that takes the swing away", rudder, &|deg| {
        format!(
            "{:.1}° of {} rudder with full right aileron takes that away.",
            deg.abs(),
            if deg > 0.0 { "right" } else { "left" }
        )
    });
    found
}

/// Throws to begin with and for later, each axis by its criterion.
#[must_use]
pub fn recommended(at: &At<'_>) -> Vec<Recommended> {
    let a: &Aerodynamics = &at.flying.aerodynamics;
    let d = &a.derivatives;
    let roll = |helix: f64| {
        at.answers_to(Axis::Roll)?;
        if d.Clp < 0.0 && d.Clda < 0.0 {
            Ok(helix * d.Clp / d.Clda)
        } else {
            Err(NotPredicted::NoSolution {
                why: "the ailerons do not roll it, or the wing does not damp roll".to_owned(),
            })
        }
    };
    let pitch = |pull: f64, cl: f64| {
        let per_rad = at.load_factor_per_rad()?;
        // From where it is trimmed at cruise, which is where a builder sets neutral after a flight.
        let up = |cl: f64| at.flying.trim(cl, 0.0).1.map_or(0.0, |elevator| -elevator);
        let cruise = at.flying.at(at.speed_m_s, 1.0).cl;
        Ok((pull / per_rad).max((up(cl) - up(cruise)) / TRIM_SHARE))
    };
    let yaw = |slip: f64| at.yaw_and_slip_per_rad().map(|[_, per_rad]| slip / per_rad.abs());
    let flare = a.cl_max / crate::balance_range::FLARE_SPEED.powi(2);
    let rows: [(Axis, &'static str, Outcome<f64>, &'static str); 6] = [
        (Axis::Roll, "first flight", roll(DOCILE_HELIX), "helix angle pb/2V of 0.06 at full stick"),
        (Axis::Roll, "later", roll(BRISK_HELIX), "helix angle pb/2V of 0.09 at full stick"),
        (
            Axis::Pitch,
            "first flight",
            pitch(PULL[0], flare),
            "from the trim at cruise: full up pulls 2 g, and three quarters of it hold 1.1 times the stall speed",
        ),
        (
            Axis::Pitch,
            "later",
            pitch(PULL[1], a.cl_max),
            "from the trim at cruise: full up pulls 3 g, and three quarters of it hold the stall",
        ),
        (Axis::Yaw, "first flight", yaw(SLIP_RAD[0]), "full rudder, wings level, slips 8°"),
        (Axis::Yaw, "later", yaw(SLIP_RAD[1]), "full rudder, wings level, slips 15°"),
    ];
    rows.into_iter()
        .map(|(axis, when, throw, criterion)| {
            let throw_rad = throw.and_then(|t| finite(t, "the surface does not answer"));
            let present = axis_throw_rad(at.aircraft, axis)
                .map(|t| if axis == Axis::Pitch { t.positive_demand_rad } else { t.mean_rad() });
            let share = throw_rad
                .as_ref()
                .ok()
                .zip(present.filter(|p| *p > 0.0))
                .map(|(throw, present)| throw / present);
            let edges =
                throw_rad.as_ref().map_or_else(|_| Vec::new(), |throw| edges(at.aircraft, axis, *throw));
            Recommended { axis, when, throw_rad, share, edges, criterion }
        })
        .collect()
}

/// Deflection and movement of each trailing edge for a deflection of an axis.
fn edges(aircraft: &Aircraft, axis: Axis, throw_rad: f64) -> Vec<(String, f64, f64)> {
    aircraft
        .movables
        .iter()
        .filter_map(|movable| {
            let gain = panel_gain(aircraft, movable, axis, false).abs();
            let surface = aircraft.surfaces.get(movable.surface)?;
            let deflection = gain * throw_rad;
            (gain > 0.0).then(|| (movable.name.clone(), deflection, edge_m(movable, surface, deflection)))
        })
        .collect()
}

impl Recommended {
    /// In a sentence.
    #[must_use]
    pub fn sentence(&self) -> String {
        let throw = match &self.throw_rad {
            Ok(throw) => *throw,
            Err(NotPredicted::Missing { what }) => {
                return format!("{}, {}: none, the file lacks {what}.", self.axis.word(), self.when);
            }
            Err(NotPredicted::NoSolution { why }) => {
                return format!("{}, {}: none, {why}.", self.axis.word(), self.when);
            }
        };
        let edges: Vec<String> = self
            .edges
            .iter()
            .map(|(name, rad, m)| format!("{:.1}° or {:.0} mm at the \"{name}\"", rad.to_degrees(), 1e3 * m))
            .collect();
        let share = match self.share {
            Some(share) if share > 1.005 => format!(
                "; the present {:.1}° are only {:.0} % of that",
                (throw / share).to_degrees(),
                100.0 / share
            ),
            Some(share) => format!("; {:.0} % of the present throw", 100.0 * share),
            None => String::new(),
        };
        format!("{}, {}: {}{share} ({}).", self.axis.word(), self.when, edges.join(", "), self.criterion)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::example::aerodynamics;

    #[test]
    fn elevator_per_g_by_balancing_a_pull_up_by_hand() {
        // Independent: steady pull-up at constant speed, unknowns α and δ for one g more:
        // CLα α + CLq q̂ + CLδ δ = CW and Cmα α + Cmq q̂ + Cmδ δ = 0 with q̂ = g c/2V² (Etkin & Reid, section 3.1).
        let flying = Flying { aerodynamics: aerodynamics(), mass_kg: 2.0, density_kg_m3: 1.225 };
        let (d, v) = (flying.aerodynamics.derivatives, 15.0);
        let q = G_M_S2 * flying.aerodynamics.mean_chord_m / (2.0 * v * v);
        let weight = flying.weight_n() / flying.pressure_area_n(v);
        let (lift, moment) = (weight - d.CLq * q, -d.Cmq * q);
        let elevator = (d.CLa * moment - d.Cma * lift) / (d.CLa * d.Cmde - d.CLde * d.Cma);
        let short = crate::control::short_period(&flying, 0.13, v, 0.0);
        let per_rad = -short.steady_rate_per_rad_s() * v / G_M_S2;
        assert!((per_rad * -elevator - 1.0).abs() < 1e-9, "{per_rad} {elevator}");
    }
}
