//! Which elevator, and which angle of attack, hold a state? Found together with the strips, all by one Newton iteration:
//! the factored Jacobian of the strips answers what a rad of elevator or of angle of attack does, and lift and moment follow
//! as linear equations beside it. It takes three or four looks at the strips where finding one after the other takes
//! twenty. Where it does not come home at once, as deep in the stall, it says so, and the slower way remains.

use nalgebra::{DMatrix, DVector, Dyn, LU};

use super::curve::{Attitude, BALANCED, Coupling, NEARLY_BALANCED, State};
use super::reduced::INPUTS;
use super::section::StripSection;
use super::state::{Demand, Flow, KEPT, STRIDE, TOLERANCE, angle_of_sine};

/// What a state shall be.
#[derive(Clone, Copy)]
pub(super) struct Sought {
    /// Angle of attack, rad; where to begin if it is sought.
    pub(super) alpha_rad: f64,
    /// Deflection of the flaps, rad.
    pub(super) flap_rad: f64,
    /// Speed, m/s.
    pub(super) speed_m_s: f64,
    /// What is held.
    pub(super) hold: Hold,
}

/// What is held, and what is found for it.
#[derive(Clone, Copy)]
pub(super) enum Hold {
    /// Moment balanced at the angle of attack by the elevator, as far as its throw goes.
    Balance,
    /// Moment balanced by the elevator, a lift coefficient by the angle of attack.
    BalanceAndLift(f64),
    /// Moment balanced by the angle of attack, the elevator at a deflection (rad).
    BalanceAtElevator(f64),
    /// A lift coefficient by the angle of attack, the elevator at a deflection (rad).
    LiftAtElevator(f64, f64),
}

/// Most steps before the slower way is tried.
const STEPS: usize = 30;
/// Lift coefficient at which a lift is held.
const HELD: f64 = 1e-7;
/// Slope of trimmed lift, per rad, below which no lift is sought: near the stall the slower way tells what there is.
const LEAST_SLOPE: f64 = 0.5;
/// Deflection over which the slope by a flap is taken, rad.
const FLAP_STEP: f64 = 1e-3;

/// A look at the strips with lift and moment, what is missing, and how it changes.
struct Look {
    state: State,
    residuals: DVector<f64>,
    /// Moment and lift coefficient that are missing.
    missing: [f64; 2],
    /// Slopes of the forces by inputs and turnings.
    slopes: Vec<[f64; 3]>,
    inputs: Vec<f64>,
    reynolds: Vec<f64>,
}

impl Look {
    /// What is missing, over what is allowed; the moment does not count with the elevator at its stop.
    fn measure(&self, stopped: bool) -> f64 {
        let [moment, lift] = self.missing;
        let moment = if stopped { 0.0 } else { moment };
        (self.residuals.amax() / TOLERANCE).max(moment.abs() / BALANCED).max(lift.abs() / HELD)
    }
}

impl Coupling {
    /// The state sought; none where it is not found at once or, with a lift to hold, lies beyond the elevator's throw.
    pub(super) fn balanced(&self, sought: &Sought, near: Option<&State>) -> Option<State> {
        let mut shares = vec![0.0; self.reduced.sheets.len()];
        let first = self.settled(sought, near, &mut shares)?;
        if shares.iter().all(|s| *s == 0.0) {
            return Some(first);
        }
        // What the way there asked for in averaging may be more than what the place needs.
        let mut shares = self.reduced.averaging(&first.flow);
        let again = Sought { alpha_rad: first.alpha_rad, ..*sought };
        self.settled(&again, Some(&first), &mut shares)
    }

    fn settled(&self, sought: &Sought, near: Option<&State>, shares: &mut [f64]) -> Option<State> {
        let [up, down] = self.throws_rad.unwrap_or([0.0; 2]);
        let elevator_rad = match sought.hold {
            Hold::Balance | Hold::BalanceAndLift(_) => {
                self.throws_rad?;
                near.map_or(0.0, |s| s.elevator_rad)
            }
            Hold::BalanceAtElevator(fixed) | Hold::LiftAtElevator(_, fixed) => fixed,
        };
        let mut at = Attitude {
            alpha_rad: sought.alpha_rad,
            elevator_rad,
            flap_rad: sought.flap_rad,
            speed_m_s: sought.speed_m_s,
        };
        let start = near.map_or_else(|| vec![0.0; self.reduced.sheets.len()], |s| s.flow.turned.clone());
        let mut power = near.map_or(0.0, |s| s.power);
        // Whether the elevator stands at its stop and is asked for more.
        let mut stopped = false;
        let mut here = self.look(&at, &start, shares, sought.hold);
        let mut kept: Option<LU<f64, Dyn, Dyn>> = None;
        let mut worse = 0;
        for step in 0..STEPS {
            let before = here.measure(stopped);
            if before < 1.0 && step > 0 {
                let mut state = here.state;
                state.flow.steps = step;
                state.power = power;
                state.trimmed = state.cm.abs() < NEARLY_BALANCED;
                return Some(state);
            }
            for (share, needed) in shares.iter_mut().zip(self.reduced.averaging(&here.state.flow)) {
                if needed > *share {
                    *share = needed;
                    kept = None;
                }
            }
            here.residuals = self.reduced.residuals(&here.state.flow, shares);
            let fresh = kept.is_none();
            let factored =
                kept.take().unwrap_or_else(|| self.reduced.jacobian(&here.state.flow, shares, 0.0).lu());
            let found = self.step(&here, &factored, shares, sought.hold)?;
            let [mut elevator, mut alpha] = found.by;
            if found.power != 0.0 {
                power = found.power;
            }
            if let Hold::Balance = sought.hold {
                let wanted = at.elevator_rad + elevator;
                let held = wanted.clamp(-up, down);
                stopped = held != wanted;
                elevator = held - at.elevator_rad;
            }
            let mut turned = found.turned(elevator, alpha);
            let longest = turned.amax().max(alpha.abs());
            if longest > STRIDE {
                let scale = STRIDE / longest;
                turned *= scale;
                elevator *= scale;
                alpha *= scale;
            }
            at.alpha_rad += alpha;
            at.elevator_rad += elevator;
            if let Hold::BalanceAndLift(_) = sought.hold
                && !(at.elevator_rad > -up && at.elevator_rad < down)
            {
                return None;
            }
            let turned: Vec<f64> =
                here.state.flow.turned.iter().zip(turned.iter()).map(|(t, c)| t + c).collect();
            here = self.look(&at, &turned, shares, sought.hold);
            let after = here.measure(stopped);
            if after < KEPT * before {
                kept = Some(factored);
            } else if fresh && after > before {
                worse += 1;
                if worse > 2 {
                    return None;
                }
            }
        }
        None
    }

    fn look(&self, at: &Attitude, turned: &[f64], shares: &[f64], hold: Hold) -> Look {
        let inputs = self.inputs(at.alpha_rad, at.elevator_rad, at.flap_rad);
        let reynolds = self.reynolds(at.speed_m_s);
        let flow = self.reduced.look(&Demand { inputs: &inputs, reynolds: &reynolds }, turned, shares);
        let residuals = self.reduced.residuals(&flow, shares);
        let (forces, slopes) = self.reduced.force(&inputs, &flow.turned);
        let state = self.of_flow(at, &inputs, flow, forces, 0.0);
        let missing = match hold {
            Hold::Balance | Hold::BalanceAtElevator(_) => [state.cm, 0.0],
            Hold::BalanceAndLift(lift) => [state.cm, state.cl - lift],
            Hold::LiftAtElevator(lift, _) => [0.0, state.cl - lift],
        };
        Look { state, residuals, missing, slopes, inputs, reynolds }
    }

    /// Newton's step of strips, elevator and angle of attack; none where no step leads there.
    fn step(&self, here: &Look, factored: &LU<f64, Dyn, Dyn>, shares: &[f64], hold: Hold) -> Option<Step> {
        let n = self.reduced.sheets.len();
        let (elevator, alpha) = match hold {
            Hold::Balance => (true, false),
            Hold::BalanceAndLift(_) => (true, true),
            Hold::BalanceAtElevator(_) | Hold::LiftAtElevator(..) => (false, true),
        };
        let moved = [elevator.then(|| self.by_elevator(here)), alpha.then(|| self.by_alpha(here))];
        // What the strips lack, and what they would lack after a rad of elevator and of angle of attack.
        let mut right = DMatrix::zeros(n, 3);
        right.set_column(0, &(-&here.residuals));
        for (column, by) in moved.iter().enumerate() {
            if let Some(by) = by {
                right.set_column(column + 1, &(-self.lack(by, shares)));
            }
        }
        let settled = factored.solve(&right)?;
        let (moment_by_turn, lift_by_turn) = self.by_turning(here);
        // Moment and lift after the strips have settled: what is missing, and by a rad of elevator and of angle.
        let follow = |column: usize, moment: f64, lift: f64| {
            [
                moment + moment_by_turn.dot(&settled.column(column)),
                lift + lift_by_turn.dot(&settled.column(column)),
            ]
        };
        let [moment, lift] = follow(0, here.missing[0], here.missing[1]);
        let by = [1, 2].map(|column: usize| {
            moved[column - 1].as_ref().map_or([0.0; 2], |by| follow(column, by.moment, by.lift))
        });
        let [[moment_by_elevator, lift_by_elevator], [moment_by_alpha, lift_by_alpha]] = by;
        let by = match hold {
            Hold::Balance => [-moment / moment_by_elevator, 0.0],
            Hold::BalanceAtElevator(_) => [0.0, -moment / moment_by_alpha],
            Hold::LiftAtElevator(..) => {
                if !(lift_by_alpha > LEAST_SLOPE) {
                    return None;
                }
                [0.0, -lift / lift_by_alpha]
            }
            Hold::BalanceAndLift(_) => {
                let determinant = moment_by_elevator * lift_by_alpha - lift_by_elevator * moment_by_alpha;
                // Lift that falls while the elevator keeps the balance is beyond the stall.
                if !(determinant / moment_by_elevator > LEAST_SLOPE) {
                    return None;
                }
                [
                    -(moment * lift_by_alpha - lift * moment_by_alpha) / determinant,
                    -(moment_by_elevator * lift - lift_by_elevator * moment) / determinant,
                ]
            }
        };
        by.iter().all(|b| b.is_finite()).then_some(Step { settled, by, power: moment_by_elevator })
    }

    /// What a rad of elevator does with the strips not turned.
    fn by_elevator(&self, here: &Look) -> By {
        let flow = &here.state.flow;
        let mut inputs = vec![0.0; INPUTS];
        inputs.extend(&self.elevator);
        let lifts = self.reduced.lifts(&inputs, &[]);
        let deflections = here.inputs.get(INPUTS..).unwrap_or_default();
        let moved: Vec<f64> =
            deflections.iter().zip(&self.elevator).map(|(d, e)| d + FLAP_STEP * e).collect();
        let mut sections = Vec::with_capacity(lifts.len());
        for (k, sheet) in self.reduced.sheets.iter().enumerate() {
            let section = &sheet.section;
            let mut by = [0.0; 2];
            if section.flaps.iter().any(|f| self.elevator.get(f.flap).is_some_and(|e| *e != 0.0)) {
                let there = section.read(flow.angles[k], here.reynolds[k], &moved);
                let thin = section.thin_moment(&moved) - section.thin_moment(deflections);
                by = [
                    (there.cl - flow.readings[k].cl) / FLAP_STEP,
                    (there.cm - flow.readings[k].cm - thin) / FLAP_STEP,
                ];
            }
            sections.push(by);
        }
        let forces = weighted(&here.slopes, &inputs);
        self.by(here, lifts, &sections, forces, |section| section.turned(&self.elevator), 0.0)
    }

    /// What a rad of angle of attack does with the strips not turned.
    fn by_alpha(&self, here: &Look) -> By {
        let (sin, cos) = here.state.alpha_rad.sin_cos();
        let inputs = [-sin, cos];
        let lifts = self.reduced.lifts(&inputs, &[]);
        let forces = weighted(&here.slopes, &inputs);
        let none = vec![[0.0; 2]; self.reduced.sheets.len()];
        let mut by =
            self.by(here, lifts, &none, forces, |_| 0.0, self.body_pitch_m3 * (cos * cos - sin * sin));
        // The lift is across a stream that turned: what was along it.
        let [x, z, _] = half(&here.slopes, &here.inputs, &here.state.flow.turned);
        by.lift += 2.0 / self.area_m2 * (x * cos + z * sin);
        by
    }

    /// Lift of each strip, what its section then says, and the aircraft's lift and moment, by a rad of something that moves
    /// the strips' lift by `lifts`, the section at fixed angle by `sections` and the section's angle back by `turn`.
    fn by(
        &self,
        here: &Look,
        lifts: Vec<f64>,
        sections: &[[f64; 2]],
        forces: [f64; 3],
        turn: impl Fn(&StripSection) -> f64,
        more_moment: f64,
    ) -> By {
        let flow = &here.state.flow;
        let (sin, cos) = here.state.alpha_rad.sin_cos();
        let [x, z, _] = forces;
        let mut moment = self.moment_about_balance(forces) + more_moment;
        let mut wanted = Vec::with_capacity(lifts.len());
        for (k, sheet) in self.reduced.sheets.iter().enumerate() {
            let section = &sheet.section;
            let angle = lifts[k] / plate(section) * bend(section, flow, k) - turn(section);
            let [cl, cm] = sections[k];
            wanted.push(section.sweep * (flow.readings[k].cl_slope * angle + cl));
            let couple = flow.readings[k].cm_slope * angle + cm;
            moment += 0.5 * sheet.area_m2() * sheet.chord_m * couple * sheet.axis.y;
        }
        By {
            lifts,
            wanted,
            lift: 2.0 / self.area_m2 * (x * sin - z * cos),
            moment: 2.0 * moment / (self.area_m2 * self.mean_chord_m),
        }
    }

    /// By how much the strips' residuals grow.
    fn lack(&self, by: &By, shares: &[f64]) -> DVector<f64> {
        DVector::from_iterator(
            self.reduced.sheets.len(),
            self.reduced.sheets.iter().enumerate().map(|(k, sheet)| {
                let around: f64 = sheet.neighbors.iter().map(|j| by.lifts[*j] - by.lifts[k]).sum();
                by.lifts[k] - by.wanted[k] - shares[k] * around
            }),
        )
    }

    /// Slopes of moment and lift coefficient by the turning of every strip.
    fn by_turning(&self, here: &Look) -> (DVector<f64>, DVector<f64>) {
        let reduced = &self.reduced;
        let flow = &here.state.flow;
        let (n, inputs) = (reduced.sheets.len(), reduced.inputs());
        let (sin, cos) = here.state.alpha_rad.sin_cos();
        let mut moment = DVector::zeros(n);
        let mut lift = DVector::zeros(n);
        for (j, slope) in here.slopes.iter().skip(inputs).enumerate() {
            lift[j] = 2.0 / self.area_m2 * (slope[0] * sin - slope[1] * cos);
            moment[j] = self.moment_about_balance(*slope);
        }
        for (k, sheet) in reduced.sheets.iter().enumerate() {
            let section = &sheet.section;
            let size = 0.5 * sheet.area_m2() * sheet.chord_m * sheet.axis.y * flow.readings[k].cm_slope;
            let size = size * bend(section, flow, k);
            let row = &reduced.lift[k * reduced.width + inputs..(k + 1) * reduced.width];
            for (m, l) in moment.iter_mut().zip(row) {
                *m += size * l / plate(section);
            }
            moment[k] -= size;
        }
        moment *= 2.0 / (self.area_m2 * self.mean_chord_m);
        (moment, lift)
    }
}

/// Newton's step.
struct Step {
    /// Turning of the strips: without more, per rad of elevator, per rad of angle of attack.
    settled: DMatrix<f64>,
    /// Elevator and angle of attack, rad.
    by: [f64; 2],
    /// Moment coefficient per rad of elevator with the strips settled; zero where it is not sought.
    power: f64,
}

impl Step {
    fn turned(&self, elevator_rad: f64, alpha_rad: f64) -> DVector<f64> {
        self.settled.column(0) + self.settled.column(1) * elevator_rad + self.settled.column(2) * alpha_rad
    }
}

/// What a rad of elevator or of angle of attack does with the strips not turned: lift of each strip, what its section says
/// to that, lift and moment coefficient.
struct By {
    lifts: Vec<f64>,
    wanted: Vec<f64>,
    lift: f64,
    moment: f64,
}

fn plate(section: &StripSection) -> f64 {
    section.plate.slope * section.sweep
}

/// Angle of the section per sine.
fn bend(section: &StripSection, flow: &Flow, k: usize) -> f64 {
    angle_of_sine(flow.lifts[k] / plate(section) - flow.turned[k]).1
}

fn weighted(slopes: &[[f64; 3]], by: &[f64]) -> [f64; 3] {
    let mut sum = [0.0; 3];
    for (slope, b) in slopes.iter().zip(by) {
        for (total, s) in sum.iter_mut().zip(slope) {
            *total += s * b;
        }
    }
    sum
}

/// The forces themselves from their slopes.
fn half(slopes: &[[f64; 3]], inputs: &[f64], turned: &[f64]) -> [f64; 3] {
    let all: Vec<f64> = inputs.iter().chain(turned).copied().collect();
    weighted(slopes, &all).map(|f| 0.5 * f)
}
