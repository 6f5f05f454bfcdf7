//! What of an aircraft stays the same while its mass, balance, throws, drive or air change? Its shape: the lattice laid
//! and factored, boiled down to its strips, bodies, sections. Prepared once it answers every further question at a small
//! part of the cost.

use std::sync::Arc;

use aircraft::Aircraft;
use aircraft::control::{Axis, axis_throw_rad, panel_gain};
use aircraft::fuselage::Fuselage;
use aircraft::geometry::reference;
use aircraft::surface::Surface;
use numerics::Vec3;
use numerics::frames::{body_from_builder, builder_from_body};

use crate::air::Air;
use crate::body::{BodyEffect, add_bodies, rounds};
use crate::coupled::{Ready, Reduced, Tables, couple};
use crate::derivatives::{PANELS, Solved, answers, blank, finish, lay_about, told};
use crate::drive::{self, map::Map};
use crate::ground::Ground;
use crate::lattice::{ACROSS, ALONG, Flap, Lattice, Quadratic, RATES, Response, System, UP};
use crate::prediction::{NotPredicted, Outcome};
use crate::sections::SectionData;
use crate::sidewash::add_sidewash;
use crate::strips::{low_reynolds, section_data, strips};

/// The shape of an aircraft with everything that follows from it alone.
#[derive(Debug)]
pub struct Prepared {
    surfaces: Vec<Surface>,
    flaps: Vec<Flap>,
    fuselages: Vec<Fuselage>,
    /// Point that everything here is about, builder's frame.
    pub(crate) about_m: Vec3,
    pub(crate) lattice: Lattice,
    pub(crate) system: System,
    /// Strength of each panel per rad by which each strip is turned; empty without tables.
    pub(crate) turning: Vec<Vec<f64>>,
    /// The lattice boiled down with its section tables; absent without tables.
    pub(crate) reduced: Option<Arc<Reduced>>,
    /// The lattice near the ground and away from it.
    pub(crate) ground: Option<Ground>,
    response: Response,
    data: Vec<Vec<SectionData>>,
    bodies: Quadratic,
    rubbed: Vec<(f64, BodyEffect)>,
    remarks: Vec<String>,
    /// The propeller on its grid; another drive's is made when it is asked for.
    pub(crate) propeller: Option<Arc<Map>>,
}

impl Prepared {
    /// Lays and factors the lattice of an aircraft and ties its strips to section tables.
    ///
    /// # Errors
    /// When there is no wing, or a surface cannot be cut into panels.
    pub fn new(aircraft: &Aircraft, tables: &Tables) -> Outcome<Self> {
        let reference = reference(aircraft).ok_or_else(|| NotPredicted::Missing {
            what: "a wing with at least two stations that covers some ground".into(),
        })?;
        let about_m = Vec3::new(reference.mean_chord_x_m + 0.25 * reference.mean_chord_m, 0.0, 0.0);
        let flaps: Vec<Flap> = aircraft.movables.iter().map(Flap::from).collect();
        let lattice = lay_about(aircraft, &flaps, PANELS, 0.0)?.standing_on(&rounds(aircraft));
        let system = lattice.system(about_m);
        let response = lattice.respond(&system, system.strengths.clone(), about_m);
        let mut bodies = Quadratic::zero(lattice.motions());
        let rubbed = add_bodies(aircraft, &lattice, &response.panels, about_m, &mut bodies);
        let mut remarks = Vec::new();
        remarks.extend(add_sidewash(aircraft, &lattice, &response.strips, about_m, &mut bodies));
        let (turning, reduced) = if tables.is_empty() {
            (Vec::new(), None)
        } else {
            let turning = lattice.by_turning(&system);
            let reduced = Reduced::of(aircraft, &lattice, &system, &turning, tables, about_m);
            (turning, Some(Arc::new(reduced)))
        };
        Ok(Self {
            surfaces: aircraft.surfaces.clone(),
            flaps,
            fuselages: aircraft.fuselages.clone(),
            about_m,
            ground: Ground::under(aircraft, about_m),
            lattice,
            system,
            turning,
            reduced,
            response,
            data: section_data(aircraft),
            bodies,
            rubbed,
            remarks,
            propeller: aircraft.drive.as_ref().and_then(drive::map),
        })
    }

    /// Whether an aircraft has this shape: surfaces, bodies, and where its movables are. Mass, balance, throws, mixing,
    /// linkages and the drive may differ.
    #[must_use]
    pub fn fits(&self, aircraft: &Aircraft) -> bool {
        self.surfaces == aircraft.surfaces
            && self.fuselages == aircraft.fuselages
            && self.flaps.iter().copied().eq(aircraft.movables.iter().map(Flap::from))
    }

    /// The aerodynamics about a balance point `cg_m` (builder's frame) in the given air at a speed (which sets the
    /// Reynolds numbers), coupled to the section tables where there are some. Where the coupling finds no answer (a
    /// remark says why), thin sections and correlations remain.
    ///
    /// # Errors
    /// When the aircraft is of another shape, or no such air or speed.
    pub fn solve(&self, aircraft: &Aircraft, cg_m: Vec3, air: &Air, speed_m_s: f64) -> Outcome<Solved> {
        let missing = |what: &str| NotPredicted::Missing { what: what.into() };
        if !self.fits(aircraft) {
            return Err(missing("the aircraft that was prepared: this one has another shape"));
        }
        let reference = reference(aircraft)
            .ok_or_else(|| missing("a wing with at least two stations that covers some ground"))?;
        if !(speed_m_s > 0.0 && speed_m_s.is_finite() && air.density_kg_m3 > 0.0 && air.viscosity_pa_s > 0.0)
        {
            return Err(missing("a speed and air density above zero"));
        }
        let mut remarks = vec![
            "Greatest lift and profile drag come from the simple section model: thin-section theory and correlations, not sections computed with their boundary layers."
                .to_owned(),
        ];
        if !aircraft.movables.is_empty() {
            remarks.push(
                "Control effects are those of thin sections without a boundary layer: with gaps at the hinges and at low speed expect 10 to 25 % less until a flight has measured them."
                    .to_owned(),
            );
        }
        let moved = cg_m - self.about_m;
        let mut strips =
            strips(&self.data, &self.lattice, &self.response.strips, &self.flaps, air, speed_m_s);
        strips.iter_mut().for_each(|s| rates_about(&mut s.slopes, moved));
        low_reynolds(&strips, &mut remarks);
        remarks.extend(self.remarks.iter().cloned());
        let motions = self.lattice.motions();
        let axes = [Axis::Roll, Axis::Pitch, Axis::Yaw, Axis::Flap].map(|axis| {
            let mut motion = vec![0.0; motions];
            for (i, movable) in aircraft.movables.iter().enumerate() {
                for left in [false, true] {
                    motion[Lattice::flap_motion(i, left)] += panel_gain(aircraft, movable, axis, left);
                }
            }
            motion
        });
        let elevator_rad =
            axis_throw_rad(aircraft, Axis::Pitch).map(|t| [t.positive_demand_rad, t.negative_demand_rad]);
        let body_drag_m2: f64 = self.rubbed.iter().map(|(n, body)| n * body.drag_m2(air, speed_m_s)).sum();
        let mut solved = blank(&reference, cg_m);
        solved.panels = self.lattice.panels.len();
        solved.strips = strips;
        solved.remarks = remarks;
        solved.forces = self.forces_about(self.response.forces.clone(), cg_m);
        solved.drag = self.response.drag.clone();
        solved.alpha_rate = late_about(self.response.alpha_rate, moved);
        solved.axes = axes;
        solved.elevator_rad = elevator_rad;
        solved.roles = aircraft.surfaces.iter().map(|s| s.role).collect();
        solved.names = aircraft.surfaces.iter().map(|s| s.name.clone()).collect();
        finish(&mut solved, body_drag_m2)?;
        if let Some(reduced) = &self.reduced {
            let thin = solved.clone();
            let ready = Ready { aircraft, prepared: self, body_drag_m2, air, speed_m_s };
            match couple(&mut solved, &ready, reduced) {
                Ok(remarks) => {
                    solved.remarks = remarks;
                    solved.remarks.extend(self.remarks.iter().cloned());
                    answers(&mut solved);
                }
                Err(why) => {
                    solved = thin;
                    solved.remarks.push(format!("The section tables could not be used: {}.", told(&why)));
                }
            }
        }
        Ok(solved)
    }

    /// Forces of a response with those of the bodies, about a balance point. What turning does to the bodies is left out.
    pub(crate) fn forces_about(&self, forces: Quadratic, cg_m: Vec3) -> Quadratic {
        let moved = cg_m - self.about_m;
        forces.about(moved).plus(&self.bodies.clone().moments_about(moved))
    }

    /// Nose-up moment of bodies over density, speed squared and products of motions along and up, m³.
    pub(crate) fn body_pitch_m3(&self) -> f64 {
        self.bodies.entry(ALONG, UP)[4]
    }

    /// The flaps of the lattice.
    pub(crate) fn flaps(&self) -> &[Flap] {
        &self.flaps
    }

    /// What the shape of each section says.
    pub(crate) fn data(&self) -> &[Vec<SectionData>] {
        &self.data
    }
}

/// Turns what is linear in the motions so that rates are about a point `moved_m` away: turning about the new point is
/// turning about the old one and moving with it.
pub(crate) fn rates_about(row: &mut [f64], moved_m: Vec3) {
    let along = [ALONG, ACROSS, UP].map(|i| row.get(i).copied().unwrap_or(0.0));
    for (axis, index) in RATES.iter().enumerate() {
        let mut rate = Vec3::zeros();
        rate[axis] = 1.0;
        let extra = builder_from_body(rate).cross(&moved_m);
        if let Some(entry) = row.get_mut(*index) {
            *entry += along[0] * extra.x + along[1] * extra.y + along[2] * extra.z;
        }
    }
}

/// Force and moment by the late downwash with the moment about a point `moved_m` away.
pub(crate) fn late_about(rate: [f64; 6], moved_m: Vec3) -> [f64; 6] {
    let [x, y, z, l, m, n] = rate;
    let moment = Vec3::new(l, m, n) - body_from_builder(moved_m).cross(&Vec3::new(x, y, z));
    [x, y, z, moment.x, moment.y, moment.z]
}
