//! How much lift at which angle, through the stall? Trimmed states of the coupled aircraft, one after the other from
//! attached flow, and level flight at given speeds.

mod peak;

use std::f64::consts::PI;
use std::sync::Arc;

use aircraft::Known;
use numerics::Vec3;
use numerics::frames::body_from_builder;

use super::balanced::{Hold, Sought};
use super::reduced::{INPUTS, Reduced};
use super::state::{Demand, Flow};
use crate::air::Air;
use crate::prediction::{NotPredicted, Outcome};

/// The coupled aircraft: everything that a state needs, after the lattice was factored.
#[derive(Debug, Clone)]
pub struct Coupling {
    pub(crate) reduced: Arc<Reduced>,
    pub(crate) air: Air,
    pub(crate) area_m2: f64,
    pub(crate) mean_chord_m: f64,
    pub(crate) half_span_m: f64,
    /// Balance point that moments are about, builder's frame, m.
    pub cg_m: Vec3,
    /// Point that the forces of the lattice were boiled down about, builder's frame.
    pub(crate) about_m: Vec3,
    /// Nose-up moment of bodies over density, speed squared and products of motions along and up, m³.
    pub(crate) body_pitch_m3: f64,
    pub(crate) body_drag_m2: f64,
    /// Factor on profile drag for gaps and junctions.
    pub(crate) roughness: f64,
    /// What a rad of elevator and of flap is to each flap of the lattice.
    pub(crate) elevator: Vec<f64>,
    pub(crate) flap: Vec<f64>,
    /// Throws of the elevator, rad: up, down.
    pub(crate) throws_rad: Option<[f64; 2]>,
    /// Full deflection of the flaps down, rad.
    pub(crate) flap_throw_rad: Option<f64>,
    /// Flaps of the lattice that answer roll.
    pub(crate) ailerons: Vec<usize>,
    pub(crate) names: Vec<String>,
    /// Angle of attack of zero lift, thin sections, rad.
    pub(crate) zero_lift_rad: f64,
}

/// How fast the aircraft flies at each lift.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Flight {
    /// At one speed, m/s.
    At(f64),
    /// As fast as carries a weight (N) in level flight, and not faster than a speed (m/s).
    Level {
        /// Weight, N.
        weight_n: f64,
        /// Fastest, m/s.
        fastest_m_s: f64,
    },
}

/// A steady state without sideslip.
#[derive(Debug, Clone)]
pub struct State {
    /// Angle of attack of the reference line, rad.
    pub alpha_rad: f64,
    /// Deflection of the pitch axis, trailing edge down positive, rad.
    pub elevator_rad: f64,
    /// Deflection of the flaps, trailing edge down positive, rad.
    pub flap_rad: f64,
    /// Airspeed, m/s.
    pub speed_m_s: f64,
    /// Lift coefficient.
    pub cl: f64,
    /// Drag coefficient: all of it.
    pub cd: f64,
    /// The part of it that the lift leaves behind as moving air.
    pub cd_induced: f64,
    /// Moment coefficient about the balance point, nose up.
    pub cm: f64,
    /// Whether the strips agree with their sections (within 1e-4 of lift coefficient).
    pub converged: bool,
    /// Whether the elevator balances it within its throws.
    pub trimmed: bool,
    pub(crate) flow: Flow,
    pub(super) power: f64,
}

/// How the aircraft stands in the air.
pub(super) struct Attitude {
    pub(super) alpha_rad: f64,
    pub(super) elevator_rad: f64,
    pub(super) flap_rad: f64,
    pub(super) speed_m_s: f64,
}

/// A strip, or a strip and its mirror image, in a state.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StripState {
    /// Index into `Aircraft::surfaces`.
    pub surface: usize,
    /// Place along the surface from the root, m.
    pub along_m: f64,
    /// The same place as a share of the half span, 0 at the plane of symmetry.
    pub half_span_share: f64,
    /// Chord, m.
    pub chord_m: f64,
    /// Width, m.
    pub width_m: f64,
    /// Reynolds number.
    pub reynolds: f64,
    /// Lift coefficient of the circulation that the lattice carries.
    pub cl: f64,
    /// Lift coefficient that the section's table gives at the strip's angle, swept as the strip is.
    pub section_cl: f64,
    /// Profile drag coefficient.
    pub cd: f64,
    /// Angle of attack at which the section works, rad.
    pub angle_rad: f64,
}

/// Where on the aircraft.
#[derive(Debug, Clone, PartialEq)]
pub struct Place {
    /// The builder's name of the surface.
    pub surface: String,
    /// Place along it from the root, m.
    pub along_m: f64,
    /// The same as a share of the half span, 0 at the plane of symmetry.
    pub half_span_share: f64,
    /// Greatest lift coefficient of the section there.
    pub section_lift: f64,
    /// Angle of attack of the aircraft at which the section there stalls, rad.
    pub alpha_rad: f64,
}

/// Lift through the stall.
#[derive(Debug, Clone)]
pub struct LiftCurve {
    /// States by growing angle of attack, from zero lift to beyond the stall.
    pub states: Vec<State>,
    /// Greatest lift coefficient.
    pub cl_max: Known,
    /// Angle of attack there, rad.
    pub alpha_at_max_rad: f64,
    /// Deflection of the pitch axis there, rad.
    pub elevator_at_max_rad: f64,
    /// Whether the elevator balances the aircraft there with throw to spare; if not, more elevator would reach more lift.
    pub trimmed_at_max: bool,
    /// Where wing or foreplane stall first.
    pub first_stall: Option<Place>,
    /// Share of the wing's area beyond the stall of its sections a degree past the greatest lift.
    pub stalled_share: f64,
    /// The same share of the part of the wing that carries ailerons; absent without ailerons.
    pub aileron_share: Option<f64>,
    /// Whether the wing stalls first where an aileron is.
    pub starts_at_aileron: bool,
    /// Whether the tail reached the stall of its sections before the greatest lift.
    pub tail_stalled: bool,
    /// States that did not converge; they take no part in the greatest lift.
    pub unsettled: usize,
}

/// Moment coefficient at which the elevator is found.
pub(super) const BALANCED: f64 = 1e-7;
/// Moment coefficient that still counts as balanced where the stall lets the moment jump: a fiftieth of a degree of
/// elevator or so.
pub(super) const NEARLY_BALANCED: f64 = 3e-4;
/// Steps of the angle of attack, rad.
const STEP: f64 = PI / 180.0;
/// How far past the greatest lift the curve goes, rad.
const PAST: f64 = 7.0 * PI / 180.0;
/// Farthest from zero lift, rad.
const FARTHEST: f64 = 32.0 * PI / 180.0;
/// Fall of lift after which a peak was one.
const FALL: f64 = 0.015;
/// Angle past a peak without more lift after which it was one, rad: lift that comes back deep in the stall is no flight.
const PLATEAU: f64 = 3.0 * PI / 180.0;

impl Coupling {
    /// State at an angle of attack, elevator and flap (rad, trailing edge down) and speed, not trimmed. A near state to
    /// start from saves steps and keeps on the same branch beyond the stall.
    #[must_use]
    pub fn state(
        &self,
        alpha_rad: f64,
        elevator_rad: f64,
        flap_rad: f64,
        speed_m_s: f64,
        near: Option<&State>,
    ) -> State {
        let inputs = self.inputs(alpha_rad, elevator_rad, flap_rad);
        let reynolds = self.reynolds(speed_m_s);
        let demand = Demand { inputs: &inputs, reynolds: &reynolds };
        let flow = match near {
            Some(state) => self.reduced.flow(&demand, &state.flow.turned),
            None => self.reduced.flow(&demand, &vec![0.0; self.reduced.sheets.len()]),
        };
        let (forces, _) = self.reduced.force(&inputs, &flow.turned);
        let at = Attitude { alpha_rad, elevator_rad, flap_rad, speed_m_s };
        self.of_flow(&at, &inputs, flow, forces, near.map_or(0.0, |s| s.power))
    }

    /// What the lattice is told: the stream along and up, and every flap.
    pub(super) fn inputs(&self, alpha_rad: f64, elevator_rad: f64, flap_rad: f64) -> Vec<f64> {
        let mut inputs = vec![alpha_rad.cos(), alpha_rad.sin()];
        inputs.extend(self.elevator.iter().zip(&self.flap).map(|(e, f)| e * elevator_rad + f * flap_rad));
        inputs
    }

    /// Nose-up moment about the balance point of forces `[x, z, moment]` about the point they were boiled down about.
    pub(super) fn moment_about_balance(&self, [x, z, moment]: [f64; 3]) -> f64 {
        let arm = body_from_builder(self.cg_m - self.about_m);
        moment - arm.cross(&Vec3::new(x, 0.0, z)).y
    }

    /// The state that a flow is; `forces` are those of the lattice in it.
    pub(super) fn of_flow(
        &self,
        at: &Attitude,
        inputs: &[f64],
        flow: Flow,
        forces: [f64; 3],
        power: f64,
    ) -> State {
        let (sin, cos) = at.alpha_rad.sin_cos();
        let [x, z, _] = forces;
        let mut moment = self.moment_about_balance(forces) + self.body_pitch_m3 * sin * cos;
        let deflections = inputs.get(INPUTS..).unwrap_or_default();
        let stream = Vec3::new(cos, 0.0, sin);
        let mut profile = 0.0;
        for (sheet, reading) in self.reduced.sheets.iter().zip(&flow.readings) {
            let area = sheet.area_m2();
            profile += area * reading.cd;
            let couple = reading.cm - sheet.section.thin_moment(deflections);
            moment += 0.5 * area * sheet.chord_m * couple * sheet.axis.y;
            let drag = stream * (0.5 * area * reading.cd * self.roughness);
            moment += body_from_builder((sheet.quarter_m - self.cg_m).cross(&drag)).y;
        }
        let lift = 2.0 / self.area_m2 * (x * sin - z * cos);
        let cd_induced = 2.0 / self.area_m2 * self.reduced.induced(&flow.lifts);
        State {
            alpha_rad: at.alpha_rad,
            elevator_rad: at.elevator_rad,
            flap_rad: at.flap_rad,
            speed_m_s: at.speed_m_s,
            cl: lift,
            cd: cd_induced + (profile * self.roughness + self.body_drag_m2) / self.area_m2,
            cd_induced,
            cm: 2.0 * moment / (self.area_m2 * self.mean_chord_m),
            converged: flow.converged(),
            trimmed: false,
            flow,
            power,
        }
    }

    /// State at an angle of attack with the elevator that balances it; at the end of its throw where that does not
    /// suffice (`trimmed` tells), and with the elevator neutral where there is none.
    #[must_use]
    pub fn trimmed(&self, alpha_rad: f64, flap_rad: f64, speed_m_s: f64, near: Option<&State>) -> State {
        if let Some(state) =
            self.balanced(&Sought { alpha_rad, flap_rad, speed_m_s, hold: Hold::Balance }, near)
        {
            return state;
        }
        let start = near.map_or(0.0, |s| s.elevator_rad);
        let mut here = self.state(alpha_rad, start, flap_rad, speed_m_s, near);
        let Some([up, down]) = self.throws_rad else {
            return here;
        };
        if here.power == 0.0 {
            let step = 0.02;
            let moved = self.state(alpha_rad, start + step, flap_rad, speed_m_s, Some(&here));
            here.power = (moved.cm - here.cm) / step;
        }
        // Every try starts from the same flow, so that the moment is a function of the elevator alone.
        for _ in 0..12 {
            if here.cm.abs() < BALANCED || here.power == 0.0 {
                break;
            }
            let wanted = (here.elevator_rad - here.cm / here.power).clamp(-up, down);
            let change = wanted - here.elevator_rad;
            if change.abs() < 1e-10 {
                break;
            }
            let mut next = self.state(alpha_rad, wanted, flap_rad, speed_m_s, near.or(Some(&here)));
            let power = (next.cm - here.cm) / change;
            // Where the tail stalls the secant may lose its sign; the old slope then walks on.
            if power * here.power > 0.0 && change.abs() > 1e-6 {
                next.power = power.clamp(
                    f64::min(0.3 * here.power, 3.0 * here.power),
                    f64::max(0.3 * here.power, 3.0 * here.power),
                );
            } else {
                next.power = here.power;
            }
            here = next;
        }
        here.trimmed = here.converged && here.cm.abs() < NEARLY_BALANCED;
        here
    }

    /// Level flight with a lift (N) at a speed, trimmed: angle of attack and elevator found together.
    ///
    /// # Errors
    /// When the lift is beyond the stall or the elevator's throw does not suffice.
    pub fn level(&self, lift_n: f64, speed_m_s: f64, near: Option<&State>) -> Outcome<State> {
        let wanted = 2.0 * lift_n / (self.air.density_kg_m3 * speed_m_s.powi(2) * self.area_m2);
        let refuse = |state: &State| {
            Err(NotPredicted::NoSolution {
                why: format!(
                    "a lift coefficient of {wanted:.2} at {speed_m_s:.1} m/s is not reached in trim (at {:.1} deg it is {:.2}, elevator {:.1} deg)",
                    state.alpha_rad.to_degrees(),
                    state.cl,
                    state.elevator_rad.to_degrees()
                ),
            })
        };
        let alpha_rad = near.map_or(self.zero_lift_rad + 0.05, |s| s.alpha_rad);
        let flap_rad = near.map_or(0.0, |s| s.flap_rad);
        let sought = Sought { alpha_rad, flap_rad, speed_m_s, hold: Hold::BalanceAndLift(wanted) };
        if let Some(state) = self.balanced(&sought, near) {
            return Ok(state);
        }
        let mut here = match near {
            Some(state) => self.trimmed(state.alpha_rad, state.flap_rad, speed_m_s, near),
            None => self.trimmed(self.zero_lift_rad + 0.05, 0.0, speed_m_s, None),
        };
        let mut slope = 4.5;
        for _ in 0..14 {
            let missing = wanted - here.cl;
            if missing.abs() < 1e-6 {
                return if here.trimmed || self.throws_rad.is_none() { Ok(here) } else { refuse(&here) };
            }
            let change = (missing / slope).clamp(-0.06, 0.06);
            let next = self.trimmed(here.alpha_rad + change, here.flap_rad, speed_m_s, Some(&here));
            let secant = (next.cl - here.cl) / change;
            if secant <= 0.2 && missing > 0.0 {
                return refuse(&next);
            }
            slope = secant.clamp(1.0, 9.0);
            here = next;
        }
        refuse(&here)
    }

    /// What each strip does in a state.
    #[must_use]
    pub fn strips(&self, state: &State) -> Vec<StripState> {
        self.reduced
            .sheets
            .iter()
            .enumerate()
            .map(|(k, sheet)| StripState {
                surface: sheet.surface,
                along_m: sheet.along_m,
                half_span_share: sheet.quarter_m.y.abs() / self.half_span_m,
                chord_m: sheet.chord_m,
                width_m: sheet.width_m,
                reynolds: self.air.reynolds(state.speed_m_s, sheet.chord_m),
                cl: state.flow.lifts[k],
                section_cl: sheet.section.sweep * state.flow.readings[k].cl,
                cd: state.flow.readings[k].cd,
                angle_rad: state.flow.angles[k],
            })
            .collect()
    }

    /// Lift coefficient that each strip's section reaches at the Reynolds number and deflection of a state, swept as the
    /// strip is; none without a table.
    #[must_use]
    pub fn limits(&self, state: &State) -> Vec<Option<f64>> {
        let reynolds = self.reynolds(state.speed_m_s);
        let deflections = self.deflections(state);
        self.reduced
            .sheets
            .iter()
            .zip(reynolds)
            .map(|(sheet, re)| {
                let [high, _] = sheet.section.stall_angles(re, &deflections)?;
                Some(sheet.section.sweep * sheet.section.read(high, re, &deflections).cl)
            })
            .collect()
    }

    /// Deflection of each flap of the lattice in a state, rad.
    fn deflections(&self, state: &State) -> Vec<f64> {
        self.elevator
            .iter()
            .zip(&self.flap)
            .map(|(e, f)| e * state.elevator_rad + f * state.flap_rad)
            .collect()
    }

    /// Trimmed lift from zero lift to beyond the stall with a deflection of the flaps (rad, down), upwards (`side` 1) or
    /// downwards (-1).
    ///
    /// # Errors
    /// When no state converges, or lift has no peak within 32 degrees of zero lift.
    pub fn curve(&self, flap_rad: f64, flight: Flight, side: f64) -> Outcome<LiftCurve> {
        let begin = self.zero_lift_rad - side * 0.02;
        let speed = |cl: f64| match flight {
            Flight::At(speed) => speed,
            Flight::Level { weight_n, fastest_m_s } => {
                let least = 2.0 * weight_n / (self.air.density_kg_m3 * self.area_m2 * fastest_m_s.powi(2));
                let cl = cl.abs().max(least);
                (2.0 * weight_n / (self.air.density_kg_m3 * self.area_m2 * cl)).sqrt()
            }
        };
        let mut states: Vec<State> = Vec::new();
        let mut peak: Option<usize> = None;
        let mut locked = false;
        let mut at_stop = false;
        let mut alpha = begin;
        while (alpha - begin).abs() < FARTHEST {
            let before = states.iter().rev().find(|s| s.converged);
            // The Reynolds number follows the lift of the step before: a tenth of a percent of it.
            let v = speed(before.map_or(0.0, |s| s.cl + side * 0.05));
            let state = self.trimmed(alpha, flap_rad, v, before);
            // Where the elevator has reached its stop the aircraft does not go further, whatever lift there would be.
            let stopped = self.throws_rad.is_some_and(|[up, down]| {
                !state.trimmed && (state.elevator_rad <= -up || state.elevator_rad >= down)
            });
            if stopped && !locked && states.iter().any(|s| s.trimmed) {
                locked = true;
                at_stop = true;
            }
            if state.converged {
                let top = peak.and_then(|i| states.get(i)).map_or(f64::NEG_INFINITY, |s| side * s.cl);
                if !locked && side * state.cl > top {
                    peak = Some(states.len());
                } else if side * state.cl < top - FALL
                    || peak.and_then(|i| states.get(i)).is_some_and(|s| (alpha - s.alpha_rad).abs() > PLATEAU)
                {
                    locked = true;
                }
            }
            states.push(state);
            let from_peak = peak.and_then(|i| states.get(i)).map_or(0.0, |s| (alpha - s.alpha_rad).abs());
            if from_peak > PAST || (side < 0.0 && locked) {
                break;
            }
            alpha += side * STEP;
        }
        if at_stop
            && let Some(last) = states.iter().rposition(|s| s.trimmed)
            && let (Some(inside), Some(outside)) = (states.get(last), states.get(last + 1))
        {
            // The stop lies between two states; the greatest lift is that of the stop where it still grew.
            let found = self.last_trimmed(inside, outside.alpha_rad);
            if side * found.cl > peak.and_then(|i| states.get(i)).map_or(f64::NEG_INFINITY, |s| side * s.cl) {
                peak = Some(last + 1);
            }
            states.insert(last + 1, found);
        }
        let Some(peak) = peak.filter(|i| i + 1 < states.len()) else {
            return Err(NotPredicted::NoSolution {
                why: "the coupled lift curve shows no greatest lift; see the section tables' range of angles"
                    .to_owned(),
            });
        };
        Ok(self.read_curve(states, peak, side, at_stop))
    }

    /// The last state that the elevator can balance between one that it can and an angle of attack where it cannot.
    pub(crate) fn last_trimmed(&self, inside: &State, outside_rad: f64) -> State {
        if let Some(found) = self.at_the_stop(inside, outside_rad) {
            return found;
        }
        let mut here = inside.clone();
        let mut beyond = outside_rad;
        for _ in 0..8 {
            let middle = 0.5 * (here.alpha_rad + beyond);
            let state = self.trimmed(middle, here.flap_rad, here.speed_m_s, Some(&here));
            if state.trimmed {
                here = state;
            } else {
                beyond = middle;
            }
        }
        here
    }

    /// The state between those two in which the elevator just reaches the stop it is on its way to.
    fn at_the_stop(&self, inside: &State, outside_rad: f64) -> Option<State> {
        let [up, down] = self.throws_rad?;
        let between = inside.alpha_rad.min(outside_rad)..=inside.alpha_rad.max(outside_rad);
        // Nose up by the elevator up, nose down by the elevator down.
        let stop = if (outside_rad > inside.alpha_rad) == (inside.power < 0.0) { -up } else { down };
        let sought = Sought {
            alpha_rad: inside.alpha_rad,
            flap_rad: inside.flap_rad,
            speed_m_s: inside.speed_m_s,
            hold: Hold::BalanceAtElevator(stop),
        };
        self.balanced(&sought, Some(inside)).filter(|s| between.contains(&s.alpha_rad))
    }

    /// Reynolds number of each sheet at a speed.
    pub(crate) fn reynolds(&self, speed_m_s: f64) -> Vec<f64> {
        self.reduced.sheets.iter().map(|s| self.air.reynolds(speed_m_s, s.chord_m)).collect()
    }

    /// Full deflection of the flaps, trailing edge down, rad; absent where nothing answers as a flap.
    #[must_use]
    pub fn flap_throw_rad(&self) -> Option<f64> {
        self.flap_throw_rad
    }

    /// Newton steps that a state took; beside an answer it says what it cost.
    #[must_use]
    pub fn steps(state: &State) -> usize {
        state.flow.steps
    }
}
