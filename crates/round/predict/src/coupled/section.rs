//! What does the section of a strip do? Its tables mixed between the stations either side, with what its flaps add; where
//! there is no table, the thin section of the lattice with the correlations for drag.

use std::f64::consts::PI;
use std::sync::Arc;

use aircraft::surface::Surface;
use nalgebra::DMatrix;

use super::tables::{Reading, Sampled, Tables};
use crate::lattice::{Flap, LatticeStrip};
use crate::sections::{self, SectionData};

/// Share of a flap's lift that comes as more lift at the stall too, where no table knows the deflection.
const FLAP_SHARE: f64 = 0.5;
/// What a deflection beyond those of the tables is worth over a thin section's: the flow has left the flap in part
/// (common practice at large deflections, no source).
const BEYOND: f64 = 0.5;
/// Half the deflection over which the effect of a flap is taken from its table, rad: small bumps of a table at low
/// Reynolds numbers are not what a pilot feels.
const FLAP_STEP: f64 = 5.0 * PI / 180.0;
/// Half the angle of attack over which slopes for derivatives are averaged, rad: what gusts and turns pass through. Where a
/// bubble of laminar flow wanders, the slope at a point of a table can be half as much again as that of the whole.
const ALPHA_STEP: f64 = 3.0 * PI / 180.0;

/// A flap on a strip.
#[derive(Debug, Clone, Copy)]
pub(crate) struct StripFlap {
    /// Index of the flap.
    pub(crate) flap: usize,
    /// Angle of attack that a rad of it is worth to a thin section (Glauert).
    pub(crate) effectiveness: f64,
    /// The same on the strip's few panels.
    pub(crate) on_panels: f64,
    /// Moment about the quarter chord per rad, thin section (Glauert).
    moment: f64,
    /// The same on the strip's few panels.
    pub(crate) moment_on_panels: f64,
    /// Whether the strip's tables hold its deflections.
    pub(crate) in_table: bool,
}

/// The section of a strip.
#[derive(Debug, Clone)]
pub(crate) struct StripSection {
    ribs: Option<[Arc<Sampled>; 2]>,
    share: f64,
    thin: SectionData,
    /// What the strip's panels are as a section of a wing of unlimited span.
    pub(crate) plate: Plate,
    pub(crate) flaps: Vec<StripFlap>,
    /// Cosine of the sweep of the quarter-chord line. A yawed wing of unlimited span lifts by the cosine less per
    /// streamwise angle, and its section stalls at that much less lift (simple sweep theory; the trade's estimate of
    /// the greatest lift of swept wings, from memory).
    pub(crate) sweep: f64,
}

/// A strip's panels taken two-dimensionally: what the lattice takes the section for.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Plate {
    /// Lift per sine of the angle past zero lift.
    pub(crate) slope: f64,
    /// Angle of zero lift, rad.
    pub(crate) zero_lift_rad: f64,
    /// Moment about the quarter chord at zero lift.
    moment: f64,
}

/// Lift and moment of a strip's panels, two-dimensionally, for each of the given angles of flow at the control points
/// (vortex at a quarter of each panel, flow tangent at three quarters).
fn on_panels(rows: &[f64], flows: &[&dyn Fn(f64) -> f64]) -> Option<Vec<[f64; 2]>> {
    let places: Vec<(f64, f64)> = rows
        .windows(2)
        .filter_map(|pair| match pair {
            [front, back] => Some((front + 0.25 * (back - front), front + 0.75 * (back - front))),
            _ => None,
        })
        .collect();
    let n = places.len();
    let wash = DMatrix::from_fn(n, n, |i, j| 1.0 / (2.0 * PI * (places[i].1 - places[j].0)));
    let right = DMatrix::from_fn(n, flows.len(), |i, f| flows[f](places[i].1));
    let strengths = wash.lu().solve(&right)?;
    Some(
        (0..flows.len())
            .map(|f| {
                let sum = |arm: &dyn Fn(f64) -> f64| {
                    (0..n).map(|j| 2.0 * strengths[(j, f)] * arm(places[j].0)).sum::<f64>()
                };
                [sum(&|_| 1.0), sum(&|x| 0.25 - x)]
            })
            .collect(),
    )
}

/// Slopes for derivatives, averaged over a range that a flight passes through.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Slopes {
    pub(crate) cl_by_alpha: f64,
    pub(crate) cm_by_alpha: f64,
}

/// The part of a deflection that both tables hold, rad.
fn within(inner: &Sampled, outer: &Sampled, deflection: f64) -> f64 {
    let ends = |s: &Sampled| {
        let axis = s.table().deflections_rad();
        (axis.first().copied().unwrap_or(0.0), axis.last().copied().unwrap_or(0.0))
    };
    let ((a, b), (c, d)) = (ends(inner), ends(outer));
    deflection.clamp(a.max(c).min(0.0), b.min(d).max(0.0))
}

impl StripSection {
    pub(crate) fn of(
        surface: &Surface,
        strip: &LatticeStrip,
        flaps: &[(usize, &Flap)],
        tables: &Tables,
    ) -> Option<Self> {
        let (inner, outer) = (surface.stations.get(strip.station)?, surface.stations.get(strip.station + 1)?);
        let thin = SectionData::of(&inner.section).between(SectionData::of(&outer.section), strip.share);
        let on_it: Vec<(usize, f64)> = flaps
            .iter()
            .filter(|(_, f)| {
                f.surface == strip.surface && f.inner_m < strip.along_m && strip.along_m < f.outer_m
            })
            .map(|(i, f)| (*i, 0.5 * (f.hinge_inner + f.hinge_outer)))
            .collect();
        let hinged = on_it.iter().find_map(|(i, hinge)| {
            let pair =
                [tables.hinged(&inner.section.name, *hinge)?, tables.hinged(&outer.section.name, *hinge)?];
            Some((*i, pair))
        });
        let (which, ribs) = match hinged {
            Some((which, ribs)) => (Some(which), Some(ribs)),
            None => {
                let pair = (tables.plain(&inner.section.name), tables.plain(&outer.section.name));
                (None, if let (Some(a), Some(b)) = pair { Some([a, b]) } else { None })
            }
        };
        let bent = |x: f64| {
            -(inner.section.mean_line_slope(x) * (1.0 - strip.share)
                + outer.section.mean_line_slope(x) * strip.share)
        };
        let [[slope, _], [camber_lift, camber_moment]] = on_panels(&strip.rows, &[&|_| 1.0, &bent])?[..]
        else {
            return None;
        };
        let plate = Plate { slope, zero_lift_rad: -camber_lift / slope, moment: camber_moment };
        let flaps = on_it
            .iter()
            .map(|(flap, hinge)| {
                let angle = (1.0 - 2.0 * hinge).clamp(-1.0, 1.0).acos();
                let behind = |x: f64| if x > *hinge { 1.0 } else { 0.0 };
                let [lift, moment] =
                    on_panels(&strip.rows, &[&behind]).and_then(|l| l.first().copied()).unwrap_or([0.0; 2]);
                StripFlap {
                    flap: *flap,
                    effectiveness: sections::flap_effectiveness(1.0 - hinge),
                    on_panels: lift / slope,
                    moment_on_panels: moment,
                    // Glauert: -(sin θ)(1 - cos θ)/2 with cos θ = 2E - 1, E the flap's share of the chord, one less the hinge.
                    moment: -0.5 * angle.sin() * (1.0 - angle.cos()),
                    in_table: which == Some(*flap),
                }
            })
            .collect();
        Some(Self { ribs, share: strip.share, thin, plate, flaps, sweep: strip.sweep_cosine })
    }

    /// Whether it has tables.
    pub(crate) fn has_table(&self) -> bool {
        self.ribs.is_some()
    }

    /// What the lattice takes a deflection for, rad of angle of attack.
    pub(crate) fn turned(&self, deflections: &[f64]) -> f64 {
        self.flaps.iter().map(|f| f.on_panels * deflections.get(f.flap).copied().unwrap_or(0.0)).sum()
    }

    /// Moment about the quarter chord that the lattice has in it, two-dimensional.
    pub(crate) fn thin_moment(&self, deflections: &[f64]) -> f64 {
        self.plate.moment
            + self
                .flaps
                .iter()
                .map(|f| f.moment_on_panels * deflections.get(f.flap).copied().unwrap_or(0.0))
                .sum::<f64>()
    }

    /// Reads at an angle of attack of the chord line. Deflections by the index of the flap, rad.
    pub(crate) fn read(&self, alpha: f64, reynolds: f64, deflections: &[f64]) -> Reading {
        let at = |f: &StripFlap| deflections.get(f.flap).copied().unwrap_or(0.0);
        let Some([inner, outer]) = &self.ribs else {
            let flap = self.turned(deflections);
            let angle = alpha - self.plate.zero_lift_rad + flap;
            let cl = self.plate.slope * angle.sin();
            return Reading {
                cl,
                cd: self.thin.drag(reynolds, cl - 0.5 * self.plate.slope * flap).value,
                cm: self.thin_moment(deflections),
                cl_slope: self.plate.slope * angle.cos(),
                cm_slope: 0.0,
            };
        };
        let wanted: f64 = self.flaps.iter().filter(|f| f.in_table).map(at).sum();
        let deflection = within(inner, outer, wanted);
        let (mut turn, mut moment) = (0.0, 0.0);
        if let Some(f) = self.flaps.iter().find(|f| f.in_table) {
            // Beyond its deflections the table goes on as a thin section whose flap the flow has left in part.
            turn += BEYOND * f.effectiveness * (wanted - deflection);
            moment += BEYOND * f.moment * (wanted - deflection);
        }
        for f in self.flaps.iter().filter(|f| !f.in_table) {
            turn += f.effectiveness * at(f);
            moment += f.moment * at(f);
        }
        let angle = alpha + (1.0 - FLAP_SHARE) * turn;
        let log = reynolds.max(1.0).ln();
        let mut reading = if Arc::ptr_eq(inner, outer) {
            inner.read(angle, log, deflection)
        } else {
            inner.read(angle, log, deflection).mixed(outer.read(angle, log, deflection), self.share)
        };
        reading.cl += 2.0 * PI * FLAP_SHARE * turn;
        reading.cm += moment;
        reading
    }

    /// Slopes by angle of attack, averaged over three degrees either way.
    pub(crate) fn slopes(&self, alpha: f64, reynolds: f64, deflections: &[f64]) -> Slopes {
        let above = self.read(alpha + ALPHA_STEP, reynolds, deflections);
        let below = self.read(alpha - ALPHA_STEP, reynolds, deflections);
        Slopes {
            cl_by_alpha: (above.cl - below.cl) / (2.0 * ALPHA_STEP),
            cm_by_alpha: (above.cm - below.cm) / (2.0 * ALPHA_STEP),
        }
    }

    /// Lift and moment per rad of a flap at fixed angle of attack, averaged over five degrees either way.
    pub(crate) fn flap_slopes(
        &self,
        flap: usize,
        alpha: f64,
        reynolds: f64,
        deflections: &[f64],
    ) -> (f64, f64) {
        let moved = |by: f64| {
            let mut there = deflections.to_vec();
            if let Some(d) = there.get_mut(flap) {
                *d += by;
            }
            self.read(alpha, reynolds, &there)
        };
        let (up, down) = (moved(FLAP_STEP), moved(-FLAP_STEP));
        ((up.cl - down.cl) / (2.0 * FLAP_STEP), (up.cm - down.cm) / (2.0 * FLAP_STEP))
    }

    /// Angles of attack of greatest and of least lift; none without tables.
    pub(crate) fn stall_angles(&self, reynolds: f64, deflections: &[f64]) -> Option<[f64; 2]> {
        self.ribs.as_ref()?;
        let (low, high) = (-25.0_f64.to_radians(), 28.0_f64.to_radians());
        let steps = 106;
        let at = |i: usize| low + (high - low) * i as f64 / steps as f64;
        let zero = self.plate.zero_lift_rad - self.turned(deflections);
        let lift: Vec<f64> = (0..=steps).map(|i| self.read(at(i), reynolds, deflections).cl).collect();
        // The first peak away from zero lift, as an aircraft meets it; a bump of less than 0.02 is none.
        let middle = (0..=steps).find(|i| at(*i) >= zero).unwrap_or(steps / 2);
        let first_peak = |places: &mut dyn Iterator<Item = usize>, sign: f64| {
            let mut best = middle;
            for i in places {
                let (here, top) = (sign * lift[i], sign * lift[best]);
                if here > top {
                    best = i;
                } else if here < top - 0.02 {
                    break;
                }
            }
            best
        };
        let top = first_peak(&mut (middle..=steps), 1.0);
        let bottom = first_peak(&mut (0..=middle).rev(), -1.0);
        Some([at(top), at(bottom)])
    }

    /// One standard deviation of lift near the stall and of drag at an angle; none without tables.
    pub(crate) fn doubt(&self, alpha: f64, reynolds: f64, deflections: &[f64]) -> Option<(f64, f64)> {
        let [inner, outer] = self.ribs.as_ref()?;
        let at = |f: &StripFlap| deflections.get(f.flap).copied().unwrap_or(0.0);
        let wanted: f64 = self.flaps.iter().filter(|f| f.in_table).map(at).sum();
        let deflection = within(inner, outer, wanted);
        let (a, b) = (
            inner.table().at(alpha, reynolds, deflection).doubt,
            outer.table().at(alpha, reynolds, deflection).doubt,
        );
        let mix = |x: f64, y: f64| x + self.share * (y - x);
        // Of a deflection that no table holds a half is counted, and anything from nothing to all of a thin section's is
        // held possible: even odds over that have a deviation of a twelfth's root.
        let beyond: f64 = self
            .flaps
            .iter()
            .map(|f| f.effectiveness * if f.in_table { wanted - deflection } else { at(f) })
            .map(|turn| FLAP_SHARE * 2.0 * PI * turn.abs() / 12.0_f64.sqrt())
            .sum();
        Some((mix(a.cl_sd, b.cl_sd).hypot(beyond), mix(a.cd_sd, b.cd_sd)))
    }

    /// Range of Reynolds numbers of its tables.
    pub(crate) fn reynolds_range(&self) -> Option<[f64; 2]> {
        let ribs = self.ribs.as_ref()?;
        let low = ribs.iter().filter_map(|r| r.table().reynolds().first().copied()).fold(0.0, f64::max);
        let high =
            ribs.iter().filter_map(|r| r.table().reynolds().last().copied()).fold(f64::INFINITY, f64::min);
        Some([low, high])
    }
}
