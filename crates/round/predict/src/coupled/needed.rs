//! Which section tables does an aircraft need? Each section once for each hinge that cuts it, at the Reynolds numbers of
//! models and moderate deflections.

use aircraft::Aircraft;
use aircraft::movable::Movable;
use aircraft::section::Section;

use crate::section_flow::{Settings, key, table_with_progress};
use crate::section_table::{Curve, Doubt, SectionPoint, SectionTable};

/// A section table that an aircraft needs.
#[derive(Debug, Clone, PartialEq)]
pub struct Needed {
    /// The section, named as the aircraft's stations name it.
    pub section: Section,
    /// Where the movable part turns, over chord, to the hundredth; absent where none cuts the section.
    pub hinge: Option<f64>,
    /// How the table is computed.
    pub settings: Settings,
}

/// Reynolds numbers of the tables: tips of small tails at the stall to broad chords at full speed. Outside the nearest is
/// taken, and told.
const REYNOLDS: [f64; 5] = [4.0e4, 8.0e4, 1.6e5, 3.2e5, 6.4e5];
/// Deflections, deg: farther ones are carried on by the coupling. Beyond them the flow leaves the flap at model Reynolds
/// numbers, and the section method does not settle.
const DEFLECTIONS_DEG: [f64; 3] = [-10.0, 0.0, 10.0];
/// Hinges closer than this share of the chord share a table.
const SAME_HINGE: f64 = 0.015;

impl Needed {
    /// Key under which the table can be kept: another shape, hinge or method has another.
    #[must_use]
    pub fn key(&self) -> u64 {
        key(&self.section, self.hinge, &self.settings)
    }

    /// Computes the table and tells what was changed or could not be computed; `progress` is called with the curves done
    /// and all curves, from any thread.
    #[must_use]
    pub fn compute(&self, progress: &(dyn Fn(usize, usize) + Sync)) -> (SectionTable, Vec<String>) {
        let (table, told) = table_with_progress(&self.section, self.hinge, &self.settings, progress);
        (rounded(&table).unwrap_or(table), told)
    }
}

/// A table to six decimals, a thousandth of any doubt in it: kept as text it is half as long.
fn rounded(table: &SectionTable) -> Option<SectionTable> {
    let six = |v: f64| (1e6 * v).round() / 1e6;
    let curves = table
        .curves()
        .iter()
        .map(|curve| Curve {
            points: curve
                .points
                .iter()
                .map(|(alpha, p)| {
                    let doubt = Doubt { cl_sd: six(p.doubt.cl_sd), cd_sd: six(p.doubt.cd_sd) };
                    let point = SectionPoint {
                        cl: six(p.cl),
                        cd: six(p.cd),
                        cm: six(p.cm),
                        top_transition: six(p.top_transition),
                        bottom_transition: six(p.bottom_transition),
                        doubt,
                        from: p.from,
                    };
                    (*alpha, point)
                })
                .collect(),
        })
        .collect();
    let (reynolds, deflections) = (table.reynolds().to_vec(), table.deflections_rad().to_vec());
    SectionTable::new(table.key(), table.name(), table.hinge(), reynolds, deflections, curves).ok()
}

/// The tables that an aircraft needs, in the order of its surfaces.
#[must_use]
pub fn needed(aircraft: &Aircraft) -> Vec<Needed> {
    let mut found: Vec<Needed> = Vec::new();
    for (index, surface) in aircraft.surfaces.iter().enumerate() {
        let movables: Vec<&Movable> = aircraft.movables.iter().filter(|m| m.surface == index).collect();
        for (i, station) in surface.stations.iter().enumerate() {
            // The strips either side of a station read its section.
            let from = i.checked_sub(1).and_then(|j| surface.stations.get(j)).unwrap_or(station).along_m;
            let to = surface.stations.get(i + 1).unwrap_or(station).along_m;
            for movable in movables.iter().filter(|m| m.inner_m < to && m.outer_m > from) {
                let hinge = 0.5 * (movable.hinge_inner + movable.hinge_outer);
                add(&mut found, &station.section, hinge);
            }
        }
    }
    // A section that no movable cuts, by itself; else its table undeflected serves.
    for station in aircraft.surfaces.iter().flat_map(|s| &s.stations) {
        if !found.iter().any(|n| n.section.name == station.section.name) {
            found.push(Needed { section: station.section.clone(), hinge: None, settings: settings(&[0.0]) });
        }
    }
    found
}

fn add(found: &mut Vec<Needed>, section: &Section, hinge: f64) {
    let known = found
        .iter()
        .any(|n| n.section.name == section.name && n.hinge.is_some_and(|h| (h - hinge).abs() < SAME_HINGE));
    if !known {
        found.push(Needed {
            section: section.clone(),
            hinge: Some((100.0 * hinge).round() / 100.0),
            settings: settings(&DEFLECTIONS_DEG),
        });
    }
}

fn settings(degrees: &[f64]) -> Settings {
    Settings {
        reynolds: REYNOLDS.to_vec(),
        deflections_rad: degrees.iter().map(|d| d.to_radians()).collect(),
        ..Settings::default()
    }
}
