//! What does a section do at all the angles, Reynolds numbers and deflections that a model meets? The whole table, in
//! parallel, the same on any number of threads.

use aircraft::section::Section;
use rayon::prelude::*;

use super::curve::{Case, Found, bridged, carried_on, curve, fill, wake};
use super::interval::Fluid;
use super::panels::{Flow, Panels};
use super::shape::outline;
use crate::section_table::{Curve, Doubt, Origin, SectionPoint, SectionTable};
use crate::sections::SectionData;

/// How a table is computed.
#[derive(Debug, Clone, PartialEq)]
pub struct Settings {
    /// Reynolds numbers, growing; 30 000 to 1 000 000 make sense.
    pub reynolds: Vec<f64>,
    /// Deflections, rad, growing, trailing edge down positive; not used without a hinge.
    pub deflections_rad: Vec<f64>,
    /// Least and greatest angle of attack, rad.
    pub alphas_rad: [f64; 2],
    /// Angle between points, rad.
    pub step_rad: f64,
    /// Exponent of the waves' growth at which a layer turns turbulent: 9 in calm air, less where the air or the surface
    /// is rough (van Ingen, Delft VTH-74, 1956; AIAA 2008-3830).
    pub n_critical: f64,
    /// Panels around the outline.
    pub panels: usize,
}

impl Default for Settings {
    /// Eight Reynolds numbers from 30 000 to 1 000 000, no deflection, -12 to 18 degrees by one, exponent 9, 120 panels.
    fn default() -> Self {
        Self {
            reynolds: vec![3.0e4, 5.0e4, 8.0e4, 1.3e5, 2.1e5, 3.5e5, 6.0e5, 1.0e6],
            deflections_rad: vec![0.0],
            alphas_rad: [(-12.0_f64).to_radians(), 18.0_f64.to_radians()],
            step_rad: 1.0_f64.to_radians(),
            n_critical: 9.0,
            panels: 120,
        }
    }
}

/// Version of the method: another one makes other numbers of the same shape.
const METHOD: u32 = 3;
/// Standard deviation of lift below the stall: the offset from the measured E387 (`reference/sections-e387`).
const LIFT_SD: f64 = 0.08;
/// The same of drag, relative, and at least.
const DRAG_SD: (f64, f64) = (0.15, 0.001);
/// More doubt of lift beyond the stall, of drag there (relative).
const STALLED: (f64, f64) = (0.05, 0.2);
/// More doubt where a layer parts from the surface just ahead of the trailing edge or the Reynolds number is lower than
/// `LOW`; there answers of different kind stand side by side.
const ODD: (f64, f64) = (0.05, 0.1);
/// See `ODD`.
const LOW: f64 = 7.0e4;
/// More doubt between settled neighbors, per unit of their difference in lift, and relative of drag.
const BRIDGED: (f64, f64) = (0.5, 0.2);
/// More doubt of lift where a curve is carried on by that of another Reynolds number.
const CARRIED: f64 = 0.1;
/// Doubt of a curve that could not be computed: lift, drag (relative).
const CORRELATED: (f64, f64) = (0.15, 0.3);

/// Key of a table: of the shape, the hinge and the settings. The name does not count.
#[must_use]
pub fn key(section: &Section, hinge: Option<f64>, settings: &Settings) -> u64 {
    // FNV-1a, 64 bits (Fowler, Noll, Vo; IETF draft), over the shortest text of each number, which is unique.
    let text = format!("{METHOD} {:?} {hinge:?} {settings:?}", section.shape);
    text.bytes()
        .fold(0xcbf2_9ce4_8422_2325, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3))
}

/// Computes a section's table, and tells what was changed or could not be computed.
///
/// `hinge`: where the movable part turns, over chord. Curves that could not be computed are laid by correlations, marked
/// as continued and told.
#[must_use]
pub fn table(section: &Section, hinge: Option<f64>, settings: &Settings) -> (SectionTable, Vec<String>) {
    table_with_progress(section, hinge, settings, &|_, _| {})
}

/// As [`table`]; `progress` is called with the curves done and all curves, from any thread.
pub fn table_with_progress(
    section: &Section,
    hinge: Option<f64>,
    settings: &Settings,
    progress: &(dyn Fn(usize, usize) + Sync),
) -> (SectionTable, Vec<String>) {
    let settings = sensible(settings);
    let deflections = if hinge.is_some() { settings.deflections_rad.clone() } else { vec![0.0] };
    let steps = ((settings.alphas_rad[1] - settings.alphas_rad[0]) / settings.step_rad).round() as i32;
    // Whole steps from zero, so that a plain section has the same angles both ways.
    let first = (settings.alphas_rad[0] / settings.step_rad).round() as i32;
    let alphas: Vec<f64> = (first..=first + steps).map(|i| settings.step_rad * f64::from(i)).collect();
    let mut remarks = Vec::new();
    let shapes: Vec<Option<Panels>> = deflections
        .iter()
        .map(|&deflection| match outline(section, hinge, deflection, settings.panels) {
            Ok((nodes, told)) => {
                for remark in told {
                    if !remarks.contains(&remark) {
                        remarks.push(remark);
                    }
                }
                Panels::new(nodes)
            }
            Err(cause) => {
                if !remarks.contains(&cause) {
                    remarks.push(cause);
                }
                None
            }
        })
        .collect();
    let count = deflections.len();
    let all = settings.reynolds.len() * count;
    let done = std::sync::atomic::AtomicUsize::new(0);
    // The flow with its wake at each angle is the same at all Reynolds numbers.
    let flows: Vec<Vec<Option<Flow>>> = shapes
        .par_iter()
        .map(|shape| {
            alphas.par_iter().map(|&alpha| shape.as_ref().and_then(|panels| wake(panels, alpha))).collect()
        })
        .collect();
    let case = |i: usize| {
        Some(Case {
            panels: shapes.get(i % count)?.as_ref()?,
            alphas: &alphas,
            flows: flows.get(i % count)?,
            fluid: Fluid {
                reynolds: settings.reynolds[i / count],
                n_critical: settings.n_critical,
                tied: 1.0,
            },
        })
    };
    // Each curve by itself, then the holes once more from the neighbors as they were.
    let solved: Vec<_> = (0..all)
        .into_par_iter()
        .map(|i| {
            let found = case(i).map_or_else(|| vec![None; alphas.len()], curve);
            progress(done.fetch_add(1, std::sync::atomic::Ordering::Relaxed) + 1, all);
            found
        })
        .collect();
    let mut curves: Vec<Vec<Found>> = (0..all)
        .into_par_iter()
        .map(|i| {
            let Some(case) = case(i) else { return Vec::new() };
            let neighbors: Vec<&[_]> = [i.checked_add(count), i.checked_sub(count)]
                .into_iter()
                .flatten()
                .filter_map(|j| solved.get(j).map(Vec::as_slice))
                .collect();
            let filled = fill(case, &solved[i], &neighbors);
            bridged(&alphas, case.fluid.reynolds, &filled)
        })
        .collect();
    // What ended early, from the next higher Reynolds number, then from the next lower.
    for i in (0..all.saturating_sub(count)).rev() {
        curves[i] = carried_on(&curves[i], &curves[i + count]);
    }
    for i in count..all {
        curves[i] = carried_on(&curves[i], &curves[i - count]);
    }
    let data = SectionData::of(section);
    let mut made = Vec::with_capacity(all);
    let mut lost = Vec::new();
    for (i, found) in curves.iter().enumerate() {
        let (reynolds, deflection) = (settings.reynolds[i / count], deflections[i % count]);
        let holes = found.iter().filter(|f| !f.settled).count();
        if found.len() < LEAST_POINTS {
            lost.push(format!("{reynolds:.0}"));
            made.push(correlated(&data, reynolds, hinge, deflection));
            continue;
        }
        if holes > 0 {
            remarks.push(format!(
                "section {} at a Reynolds number of {reynolds:.0}, deflection {:.0} degrees: {holes} of {} angles did \
                 not settle and are laid by their neighbors",
                section.name,
                deflection.to_degrees(),
                found.len()
            ));
        }
        made.push(Curve {
            points: found.iter().enumerate().map(|(k, f)| (f.alpha, point(found, k, f, reynolds))).collect(),
        });
    }
    if !lost.is_empty() {
        remarks.push(format!(
            "section {}: nothing settled at Reynolds numbers of {}; lift and drag there are by correlations",
            section.name,
            lost.join(", ")
        ));
    }
    let key = key(section, hinge, &settings);
    let reynolds = settings.reynolds.clone();
    let table =
        SectionTable::new(key, &section.name, hinge, reynolds, deflections, made).unwrap_or_else(|cause| {
            remarks.push(format!("section {}: {cause}; all lift and drag is by correlations", section.name));
            SectionTable::plain(key, &section.name, correlated(&data, 2.0e5, None, 0.0))
        });
    (table, remarks)
}

/// Points that a curve must have to be kept.
const LEAST_POINTS: usize = 6;

/// Settings with axes that grow and steps that end.
fn sensible(settings: &Settings) -> Settings {
    let mut made = settings.clone();
    made.reynolds.retain(|re| re.is_finite() && *re >= 1.0e4);
    made.deflections_rad.retain(|d| d.is_finite() && d.abs() <= 0.8);
    for axis in [&mut made.reynolds, &mut made.deflections_rad] {
        axis.sort_by(f64::total_cmp);
        axis.dedup();
    }
    if made.reynolds.is_empty() {
        made.reynolds = Settings::default().reynolds;
    }
    if made.deflections_rad.is_empty() {
        made.deflections_rad = vec![0.0];
    }
    made.step_rad = if made.step_rad.is_finite() {
        made.step_rad.clamp(0.002, 0.05)
    } else {
        Settings::default().step_rad
    };
    let within = made.alphas_rad.iter().all(|a| a.is_finite() && a.abs() < 0.6);
    if !within || made.alphas_rad[0] > -made.step_rad || made.alphas_rad[1] < made.step_rad {
        made.alphas_rad = Settings::default().alphas_rad;
    }
    made.panels = made.panels.clamp(60, 240);
    made.n_critical = if made.n_critical.is_finite() { made.n_critical.clamp(1.0, 14.0) } else { 9.0 };
    made
}

/// A point of the table with its doubt.
fn point(curve: &[Found], k: usize, f: &Found, reynolds: f64) -> SectionPoint {
    let [cl, cd, cm] = f.forces;
    let top =
        curve.iter().max_by(|a, b| a.forces[0].total_cmp(&b.forces[0])).map_or(f64::INFINITY, |f| f.alpha);
    let bottom = curve
        .iter()
        .min_by(|a, b| a.forces[0].total_cmp(&b.forces[0]))
        .map_or(f64::NEG_INFINITY, |f| f.alpha);
    let (mut cl_sd, mut relative) = (LIFT_SD, DRAG_SD.0);
    if f.alpha >= top || f.alpha <= bottom {
        cl_sd += STALLED.0;
        relative += STALLED.1;
    }
    if !f.sound || reynolds < LOW {
        cl_sd += ODD.0;
        relative += ODD.1;
    }
    if !f.settled {
        let settled = |g: &&Found| g.settled;
        let between = curve.get(..k).is_some_and(|c| c.iter().any(|g| g.settled))
            && curve.get(k..).is_some_and(|c| c.iter().any(|g| g.settled));
        if !between {
            cl_sd += CARRIED;
        }
        let before = curve.get(..k).and_then(|c| c.iter().rev().find(settled)).map_or(cl, |g| g.forces[0]);
        let after = curve.get(k..).and_then(|c| c.iter().find(settled)).map_or(cl, |g| g.forces[0]);
        cl_sd += BRIDGED.0 * (after - before).abs();
        relative += BRIDGED.1;
    }
    SectionPoint {
        cl,
        cd,
        cm,
        top_transition: f.transition[0],
        bottom_transition: f.transition[1],
        doubt: Doubt { cl_sd, cd_sd: (relative * cd).max(DRAG_SD.1) },
        from: if f.settled { Origin::Converged } else { Origin::Bridged },
    }
}

/// A curve by the correlations of `sections`.
fn correlated(data: &SectionData, reynolds: f64, hinge: Option<f64>, deflection: f64) -> Curve {
    // Nine tenths of 2π, common for thin sections with a boundary layer.
    let slope = 0.9 * 2.0 * std::f64::consts::PI;
    let added = hinge.map_or(0.0, |h| slope * deflection * crate::sections::flap_effectiveness(1.0 - h));
    let most = data.lift_maximum(reynolds, added).value.max(0.1);
    let least = data.lift_minimum(reynolds, added).value.min(-0.1);
    let points = (0..=6)
        .map(|i| {
            let cl = least + (most - least) * f64::from(i) / 6.0;
            let cd = data.drag(reynolds, cl).value;
            let point = SectionPoint {
                cl,
                cd,
                cm: data.moment,
                top_transition: 0.5,
                bottom_transition: 0.5,
                doubt: Doubt { cl_sd: CORRELATED.0, cd_sd: CORRELATED.1 * cd },
                from: Origin::Continued,
            };
            (data.zero_lift_rad + (cl - added) / slope, point)
        })
        .collect();
    Curve { points }
}
