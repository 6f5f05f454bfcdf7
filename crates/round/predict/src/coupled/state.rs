//! What do all strips do at one angle of attack, speed and deflection? Each strip is turned until its lift is what its
//! section's table says at the angle at which the section then works.
//!
//! The lattice lifts like thin sections: a strip of lift coefficient cl works, in its own plane of flow, at the angle
//! whose sine is cl/2π past zero lift, whatever washes made it so (the slope, zero lift and flaps of the strip's few
//! panels stand for 2π and Glauert's, so that a wing of unlimited span has exactly the table's lift). The strip's turning is taken off that (it stands for
//! the displaced flow, not for the chord), and the table is read at the angle left. This is the decambering of Mukherjee
//! & Gopalarathnam (J. Aircraft 43(3), 2006) with one turning a strip; their second one, which brings the moment to the
//! table's, is here a couple on the strip: it moves the lift along the chord as theirs does, and what it changes in the
//! wash on others is of second order. With the table of the thin section every turning is nothing and the lattice
//! remains.
//!
//! Beyond the stall, where lift falls with angle, several states satisfy the equations, among them saw-toothed ones that
//! no flow shows. Two choices are made: lift is averaged with the neighbors' by a share that grows with the steepness
//! of the fall and vanishes below the stall (after Chattot, AIAA 2004-0220, from memory; the share is set here so that no
//! wave along the span grows), and states are followed from attached flow with growing angle. Flow that stalled
//! and is brought back may stay stalled to lower angles: that is not given.

use std::f64::consts::PI;

use nalgebra::{DMatrix, DVector, Dyn, LU};

use super::reduced::{INPUTS, Reduced};
use super::section::Slopes;
use super::tables::Reading;

/// What the strips do.
#[derive(Debug, Clone)]
pub(crate) struct Flow {
    /// Turning of each sheet, rad.
    pub(crate) turned: Vec<f64>,
    /// Lift coefficient of each sheet by circulation.
    pub(crate) lifts: Vec<f64>,
    /// Angle of attack at which each section works, rad.
    pub(crate) angles: Vec<f64>,
    /// What the tables say there.
    pub(crate) readings: Vec<Reading>,
    /// Largest difference between a strip's lift and what it should be.
    pub(crate) residual: f64,
    /// Newton steps taken.
    pub(crate) steps: usize,
}

impl Flow {
    /// Whether the strips agree with their sections.
    pub(crate) fn converged(&self) -> bool {
        self.residual < ACCEPTED
    }
}

/// What the strips should do.
#[derive(Debug, Clone)]
pub(crate) struct Demand<'a> {
    /// Along, up, flaps.
    pub(crate) inputs: &'a [f64],
    /// Reynolds number of each sheet.
    pub(crate) reynolds: &'a [f64],
}

/// Difference of lift coefficients at which the iteration ends.
pub(super) const TOLERANCE: f64 = 1e-7;
/// Difference that still counts as agreement: far below any doubt of a table.
const ACCEPTED: f64 = 1e-4;
/// Most steps.
const STEPS: usize = 40;
/// Share of the residual that a step must leave at most for its Jacobian to be used once more.
pub(super) const KEPT: f64 = 0.2;
/// Largest turning by one step, rad.
pub(super) const STRIDE: f64 = 0.06;
/// Sine beyond which the angle of a section is continued straight.
const LARGEST_SINE: f64 = 0.9;
/// Share by which a strip's lift is averaged with its neighbors' where its lift falls with angle by `-slope` per rad.
///
/// A wave of circulation along the span washes itself by Γθ/4h, θ its phase from strip to strip and h their width (a
/// tooth, θ = π, by Γ/2h), so that a falling lift curve feeds it by pθ/8 with p = fall c/h, against one. Averaging by
/// a share s outweighs that by sθ²: with s = p/16 + p²/128 every wave dies out, half the restoring left. For narrow strips
/// that is averaging over a length of fall c/11, whatever the strips: stalled flow is not narrower.
fn averaging(slope: f64, chord_over_width: f64) -> f64 {
    let p = (-slope).max(0.0) * chord_over_width;
    p / 16.0 + p * p / 128.0
}

/// Arc sine, continued straight beyond [`LARGEST_SINE`], with its slope.
pub(super) fn angle_of_sine(sine: f64) -> (f64, f64) {
    let within = sine.clamp(-LARGEST_SINE, LARGEST_SINE);
    let slope = 1.0 / (1.0 - within * within).sqrt();
    (within.asin() + (sine - within) * slope, slope)
}

impl Reduced {
    /// Brings all strips to their sections, from a start.
    pub(crate) fn flow(&self, demand: &Demand<'_>, start: &[f64]) -> Flow {
        let mut shares = vec![0.0; self.sheets.len()];
        let first = self.newton(demand, start, &mut shares);
        if shares.iter().all(|s| *s == 0.0) {
            return first;
        }
        // What the way there asked for in averaging may be more than what the place needs.
        let mut shares = self.averaging(&first);
        let second = self.newton(demand, &first.turned, &mut shares);
        let steps = first.steps + second.steps;
        let better = if second.residual < f64::max(first.residual, TOLERANCE) { second } else { first };
        Flow { steps, ..better }
    }

    /// Averaging share of each sheet in a state.
    pub(super) fn averaging(&self, flow: &Flow) -> Vec<f64> {
        self.sheets
            .iter()
            .zip(&flow.readings)
            .map(|(sheet, reading)| averaging(reading.cl_slope, sheet.chord_m / sheet.width_m))
            .collect()
    }

    /// Newton's iteration, slowed where it does not get nearer; averaging shares grow on the way and do not shrink, so
    /// that it ends.
    fn newton(&self, demand: &Demand<'_>, start: &[f64], shares: &mut [f64]) -> Flow {
        let mut here = self.look(demand, start, shares);
        let mut damping = 0.0;
        let mut steps = 0;
        // A factored Jacobian serves as long as it brings the residual down well: factoring is most of the work.
        let mut kept: Option<LU<f64, Dyn, Dyn>> = None;
        while steps < STEPS && here.residual >= TOLERANCE {
            steps += 1;
            for (share, needed) in shares.iter_mut().zip(self.averaging(&here)) {
                if needed > *share {
                    *share = needed;
                    kept = None;
                }
            }
            let residuals = self.residuals(&here, shares);
            let before = residuals.amax();
            let fresh = kept.is_none() || damping > 0.0;
            let factored = match kept.take() {
                Some(factored) if !fresh => factored,
                _ => self.jacobian(&here, shares, damping).lu(),
            };
            let Some(change) = factored.solve(&(-residuals)) else {
                damping = f64::max(2.0 * damping, 1.0);
                continue;
            };
            let longest = change.amax();
            let scale = if longest > STRIDE { STRIDE / longest } else { 1.0 };
            let tried: Vec<f64> = here.turned.iter().zip(change.iter()).map(|(t, c)| t + scale * c).collect();
            let next = self.look(demand, &tried, shares);
            if next.residual < before {
                if damping <= 0.0 && next.residual < KEPT * before {
                    kept = Some(factored);
                }
                damping *= if next.residual < 0.5 * before { 0.2 } else { 0.6 };
                if damping < 0.05 {
                    damping = 0.0;
                }
                here = next;
            } else if !fresh {
                // Too old: the next step makes a new one from here.
            } else if damping < 6.0 {
                // In time rather than by Newton's step: it goes where a flow would, if slower.
                damping = f64::max(0.5, 3.0 * damping);
            } else {
                damping *= 0.5;
                here = next;
            }
        }
        here.steps = steps;
        here
    }

    /// Lift, angle and residual of every sheet at given turnings.
    pub(super) fn look(&self, demand: &Demand<'_>, turned: &[f64], shares: &[f64]) -> Flow {
        let lifts = self.lifts(demand.inputs, turned);
        let deflections = demand.inputs.get(INPUTS..).unwrap_or_default();
        let mut angles = Vec::with_capacity(lifts.len());
        let mut readings = Vec::with_capacity(lifts.len());
        for ((sheet, lift), (turn, reynolds)) in
            self.sheets.iter().zip(&lifts).zip(turned.iter().zip(demand.reynolds))
        {
            let section = &sheet.section;
            let (past_zero, _) = angle_of_sine(lift / (section.plate.slope * section.sweep) - turn);
            let angle = past_zero + section.plate.zero_lift_rad - section.turned(deflections);
            angles.push(angle);
            readings.push(section.read(angle, *reynolds, deflections));
        }
        let mut flow = Flow { turned: turned.to_vec(), lifts, angles, readings, residual: 0.0, steps: 0 };
        flow.residual = self.residuals(&flow, shares).amax();
        flow
    }

    pub(super) fn residuals(&self, flow: &Flow, shares: &[f64]) -> DVector<f64> {
        DVector::from_iterator(
            self.sheets.len(),
            self.sheets.iter().enumerate().map(|(k, sheet)| {
                let around: f64 = sheet.neighbors.iter().map(|j| flow.lifts[*j] - flow.lifts[k]).sum();
                flow.lifts[k] - sheet.section.sweep * flow.readings[k].cl - shares[k] * around
            }),
        )
    }

    /// Jacobian of the residuals by the turnings.
    pub(super) fn jacobian(&self, flow: &Flow, shares: &[f64], damping: f64) -> DMatrix<f64> {
        let n = self.sheets.len();
        let inputs = self.inputs();
        let by_turn = |k: usize, j: usize| self.lift[k * self.width + inputs + j];
        let mut jacobian = DMatrix::zeros(n, n);
        for (k, sheet) in self.sheets.iter().enumerate() {
            let sweep = sheet.section.sweep;
            let plate = sheet.section.plate.slope * sweep;
            let (_, slope) = angle_of_sine(flow.lifts[k] / plate - flow.turned[k]);
            let b = sweep * flow.readings[k].cl_slope * slope;
            let own = 1.0 - b / plate + shares[k] * sheet.neighbors.len() as f64;
            for j in 0..n {
                let mut entry = own * by_turn(k, j);
                if shares[k] > 0.0 {
                    for m in &sheet.neighbors {
                        entry -= shares[k] * by_turn(*m, j);
                    }
                }
                jacobian[(k, j)] = entry;
            }
            jacobian[(k, k)] += b + damping * 2.0 * PI;
        }
        jacobian
    }

    /// Change of the turnings per unit of one input at a state below the stall. The slopes are averaged over what a
    /// flight passes through, so that a bump of a table does not become a derivative.
    pub(crate) fn slopes(&self, demand: &Demand<'_>, flow: &Flow) -> Vec<Slopes> {
        let deflections = demand.inputs.get(INPUTS..).unwrap_or_default();
        self.sheets
            .iter()
            .zip(&flow.angles)
            .zip(demand.reynolds)
            .map(|((sheet, angle), reynolds)| sheet.section.slopes(*angle, *reynolds, deflections))
            .collect()
    }
}
