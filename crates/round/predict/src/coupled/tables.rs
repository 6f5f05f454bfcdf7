//! Which table does a strip read? Section tables by the section's name and hinge, sampled evenly over the angle of attack
//! so that the coupling can read them by the hundred thousand.

use std::f64::consts::PI;
use std::sync::Arc;

use crate::section_table::SectionTable;

/// First and last sampled angle of attack, rad: well beyond the stall either way.
const RANGE: [f64; 2] = [-45.0 * PI / 180.0, 55.0 * PI / 180.0];
/// Steps between them: half a degree each.
const STEPS: usize = 200;
/// A table stands for hinges within this share of the chord of its own.
const HINGE_NEAR: f64 = 0.05;

/// Steepest fall of lift beyond the greatest that a strip takes from its table, per rad (0.09 a degree). A section on a
/// wind-tunnel wall loses its lift at once; a strip of a wing is held by its neighbors and by what it sheds to them, and
/// a jump in the table only leaves open which of many states is meant (judgement, no source). The greatest lift stays.
const STEEPEST_FALL: f64 = 5.0;

/// Section tables of an aircraft, by the name of the section (as its stations name it) and the hinge of the table.
#[derive(Debug, Clone, Default)]
pub struct Tables {
    entries: Vec<Arc<Sampled>>,
}

/// A table with its samples.
#[derive(Debug)]
pub(crate) struct Sampled {
    section: String,
    table: SectionTable,
    log_reynolds: Vec<f64>,
    /// Lift, drag and moment: by Reynolds number, deflection and angle.
    values: Vec<[f64; 3]>,
}

/// Coefficients at an angle with the slopes of lift and moment, per rad.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Reading {
    pub(crate) cl: f64,
    pub(crate) cd: f64,
    pub(crate) cm: f64,
    pub(crate) cl_slope: f64,
    pub(crate) cm_slope: f64,
}

impl Reading {
    pub(crate) fn mixed(self, other: Self, share: f64) -> Self {
        let mix = |a: f64, b: f64| a + share * (b - a);
        Self {
            cl: mix(self.cl, other.cl),
            cd: mix(self.cd, other.cd),
            cm: mix(self.cm, other.cm),
            cl_slope: mix(self.cl_slope, other.cl_slope),
            cm_slope: mix(self.cm_slope, other.cm_slope),
        }
    }
}

impl Tables {
    /// No tables.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds the table of a section, named as the aircraft's stations name it; one with the same name and hinge is
    /// replaced.
    pub fn insert(&mut self, section: &str, table: SectionTable) {
        self.entries.retain(|e| e.section != section || e.table.hinge() != table.hinge());
        self.entries.push(Arc::new(Sampled::new(section, table)));
    }

    /// Whether there are none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.entries.is_empty()
    }

    /// The table of a section with a hinge there (within a twentieth of the chord).
    pub(crate) fn hinged(&self, section: &str, hinge: f64) -> Option<Arc<Sampled>> {
        self.entries
            .iter()
            .filter(|e| e.section == section)
            .filter_map(|e| Some(((e.table.hinge()? - hinge).abs(), e)))
            .filter(|(distance, e)| *distance <= HINGE_NEAR && e.table.deflections_rad().len() > 1)
            .min_by(|a, b| a.0.total_cmp(&b.0))
            .map(|(_, e)| Arc::clone(e))
    }

    /// A table of a section that holds it undeflected: the one without hinge where there is one.
    pub(crate) fn plain(&self, section: &str) -> Option<Arc<Sampled>> {
        self.entries
            .iter()
            .filter(|e| e.section == section)
            .min_by_key(|e| e.table.hinge().is_some())
            .map(Arc::clone)
    }
}

impl Sampled {
    fn new(section: &str, table: SectionTable) -> Self {
        let step = (RANGE[1] - RANGE[0]) / STEPS as f64;
        let mut values =
            Vec::with_capacity(table.reynolds().len() * table.deflections_rad().len() * (STEPS + 1));
        for reynolds in table.reynolds() {
            for deflection in table.deflections_rad() {
                let mut row: Vec<[f64; 3]> = (0..=STEPS)
                    .map(|i| {
                        let p = table.at(RANGE[0] + step * i as f64, *reynolds, *deflection);
                        [p.cl, p.cd, p.cm]
                    })
                    .collect();
                let zero = table.zero_lift_alpha(*reynolds, *deflection);
                soften(&mut row, ((zero - RANGE[0]) / step).clamp(0.0, STEPS as f64) as usize, step);
                values.extend(row);
            }
        }
        let log_reynolds = table.reynolds().iter().map(|re| re.ln()).collect();
        Self { section: section.to_owned(), table, log_reynolds, values }
    }

    /// The table itself.
    pub(crate) fn table(&self) -> &SectionTable {
        &self.table
    }

    /// Reads at an angle (rad), logarithm of the Reynolds number and deflection (rad); outside its axes at the nearest end.
    pub(crate) fn read(&self, alpha: f64, log_reynolds: f64, deflection: f64) -> Reading {
        let deflections = self.table.deflections_rad();
        let (i, s) = bracket(&self.log_reynolds, log_reynolds);
        let (j, t) = bracket(deflections, deflection);
        let step = (RANGE[1] - RANGE[0]) / STEPS as f64;
        let place = ((alpha - RANGE[0]) / step).clamp(1.0, (STEPS - 2) as f64);
        let cell = (place.floor() as usize).min(STEPS - 2);
        let u = place - cell as f64;
        let (u2, u3) = (u * u, u * u * u);
        // Cubic with the slopes of the neighbors: smooth, and straight where the samples are.
        let weights = [
            -0.5 * u3 + u2 - 0.5 * u,
            1.5 * u3 - 2.5 * u2 + 1.0,
            -1.5 * u3 + 2.0 * u2 + 0.5 * u,
            0.5 * u3 - 0.5 * u2,
        ];
        let slopes = [-1.5 * u2 + 2.0 * u - 0.5, 4.5 * u2 - 5.0 * u, -4.5 * u2 + 4.0 * u + 0.5, 1.5 * u2 - u];
        let mut sum = Reading::default();
        for (row, share_row) in [(i, 1.0 - s), (i + 1, s)] {
            for (column, share) in [(j, share_row * (1.0 - t)), (j + 1, share_row * t)] {
                if share == 0.0 {
                    continue;
                }
                let begin = (row * deflections.len() + column) * (STEPS + 1) + cell - 1;
                let Some(four) = self.values.get(begin..begin + 4) else { continue };
                for ((value, weight), slope) in four.iter().zip(weights).zip(slopes) {
                    let [cl, cd, cm] = *value;
                    sum.cl += share * weight * cl;
                    sum.cd += share * weight * cd;
                    sum.cm += share * weight * cm;
                    sum.cl_slope += share * slope * cl / step;
                    sum.cm_slope += share * slope * cm / step;
                }
            }
        }
        sum
    }
}

/// Lets lift fall no steeper than [`STEEPEST_FALL`] away from zero lift.
fn soften(row: &mut [[f64; 3]], zero: usize, step: f64) {
    let mut held = f64::NEG_INFINITY;
    for point in row.iter_mut().skip(zero) {
        point[0] = point[0].max(held - STEEPEST_FALL * step);
        held = point[0];
    }
    let mut held = f64::INFINITY;
    for point in row.iter_mut().take(zero + 1).rev() {
        point[0] = point[0].min(held + STEEPEST_FALL * step);
        held = point[0];
    }
}

/// Place below a value in a growing axis and the share of the way to the next; the ends hold outside.
fn bracket(axis: &[f64], value: f64) -> (usize, f64) {
    let after = axis.partition_point(|&v| v <= value);
    match (after.checked_sub(1).and_then(|i| axis.get(i)), axis.get(after)) {
        (Some(low), Some(high)) => (after - 1, (value - low) / (high - low)),
        (None, _) => (0, 0.0),
        (Some(_), None) => (after - 1, 0.0),
    }
}
