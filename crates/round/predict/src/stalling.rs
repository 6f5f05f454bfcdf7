//! What happens up to the stall and beyond? The lift curve of the aircraft coupled to its computed sections, where the wing
//! lets go first, trimmed level flight speed by speed.

use aircraft::Aircraft;
use aircraft::Known;
use aircraft::surface::Role;

use crate::coupled::{Coupled, Coupling, LiftCurve, Place, State};
use crate::lattice::Solved;
use crate::prediction::{NotPredicted, Outcome};

/// Lift through the stall and trimmed flight, by the lattice coupled to computed sections.
#[derive(Debug, Clone, PartialEq)]
pub struct Stalling {
    /// Flaps up.
    pub clean: Curve,
    /// Flaps fully down, or why not.
    pub flaps: Outcome<Curve>,
    /// Trimmed level flight from just above the stall to about three times its speed.
    pub level: Vec<Trimmed>,
    /// Load along the span at the greatest lift, flaps up: right or only half of wing and foreplane.
    pub loading: Vec<Load>,
    /// What each movable does over what it would do on a thin section without boundary layer; absent where no computed
    /// section holds it. By name.
    pub effectiveness: Vec<(String, Option<f64>)>,
}

/// A lift curve.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    /// Greatest lift coefficient, trimmed.
    pub cl_max: Known,
    /// Stall speed with it, wings level, m/s.
    pub stall_m_s: Known,
    /// Deflection of the flaps, trailing edge down, rad.
    pub flap_rad: f64,
    /// Angle of attack of the reference line there, rad.
    pub alpha_at_max_rad: f64,
    /// Elevator there, trailing edge down positive, rad.
    pub elevator_at_max_rad: f64,
    /// Whether the elevator still has throw to spare there; if not, more throw would reach more lift.
    pub elevator_to_spare: bool,
    /// Where the wing stalls first.
    pub first: Option<Place>,
    /// Share of the wing beyond the stall of its sections a degree past the greatest lift.
    pub stalled_share: f64,
    /// The same share of the part of the wing that carries ailerons; absent without ailerons.
    pub aileron_share: Option<f64>,
    /// Whether the wing stalls first where an aileron is.
    pub starts_at_aileron: bool,
    /// States by growing angle of attack.
    pub rows: Vec<Trimmed>,
}

/// A trimmed state.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trimmed {
    /// Airspeed, m/s.
    pub speed_m_s: f64,
    /// Angle of attack of the reference line, rad.
    pub alpha_rad: f64,
    /// Lift coefficient.
    pub cl: f64,
    /// Drag coefficient: all of it.
    pub cd: f64,
    /// The part of it left behind as moving air.
    pub cd_induced: f64,
    /// Elevator, trailing edge down positive, rad.
    pub elevator_rad: f64,
}

/// A place on the span at the greatest lift.
#[derive(Debug, Clone, PartialEq)]
pub struct Load {
    /// The builder's name of the surface.
    pub surface: String,
    /// Place as a share of the half span, 0 at the plane of symmetry.
    pub half_span_share: f64,
    /// Lift coefficient of the strip.
    pub cl: f64,
    /// Lift that its section reaches at its Reynolds number and deflection; absent without a table.
    pub cl_limit: Option<f64>,
}

/// The pilot's sentence about a stall.
#[must_use]
pub fn first_stall_sentence(curve: &Curve) -> Option<String> {
    let first = curve.first.as_ref()?;
    let place = format!("{} at {:.0} % of the half span", first.surface, 100.0 * first.half_span_share);
    let ailerons = match curve.aileron_share {
        None => String::new(),
        Some(share) if share < 0.05 && !curve.starts_at_aileron => {
            ", inboard of the ailerons, which keep their flow".to_owned()
        }
        Some(share) => format!(
            ", and a degree later {:.0} % of the part with the ailerons is stalled: expect a wing to drop",
            100.0 * share
        ),
    };
    Some(format!("first on the {place}{ailerons}"))
}

/// From the coupled answer, with drag of parts (m²) added and factors that flights taught; `weight_n` and `density_kg_m3`
/// give the stall speeds, `length_share` is the relative doubt of mass over area.
pub(crate) fn stalling(
    aircraft: &Aircraft,
    solved: &Solved,
    drag: &DragAs,
    weight_n: f64,
    density_kg_m3: f64,
    relative_sd: f64,
) -> Outcome<Stalling> {
    let coupled = solved.coupled.as_ref().ok_or_else(|| NotPredicted::Missing {
        what: "section tables (this prediction was made with the simple section model)".to_owned(),
    })?;
    let area_m2 = solved.aerodynamics.area_m2;
    let trimmed = |state: &State| Trimmed {
        speed_m_s: state.speed_m_s,
        alpha_rad: state.alpha_rad,
        cl: state.cl,
        cd: (state.cd + drag.parts_m2 / area_m2) * drag.factor,
        cd_induced: state.cd_induced,
        elevator_rad: state.elevator_rad,
    };
    let curve = |found: &LiftCurve| {
        let value = (2.0 * weight_n / (density_kg_m3 * area_m2 * found.cl_max.value)).sqrt();
        let relative = (found.cl_max.sd / found.cl_max.value).hypot(relative_sd);
        Curve {
            cl_max: found.cl_max,
            stall_m_s: Known::predicted(value, 0.5 * relative * value),
            flap_rad: found.states.first().map_or(0.0, |s| s.flap_rad),
            alpha_at_max_rad: found.alpha_at_max_rad,
            elevator_at_max_rad: found.elevator_at_max_rad,
            elevator_to_spare: found.trimmed_at_max,
            first: found.first_stall.clone(),
            stalled_share: found.stalled_share,
            aileron_share: found.aileron_share,
            starts_at_aileron: found.starts_at_aileron,
            rows: found.states.iter().filter(|s| s.converged).map(trimmed).collect(),
        }
    };
    Ok(Stalling {
        clean: curve(&coupled.clean),
        flaps: coupled.flaps_down.as_ref().map(curve).map_err(Clone::clone),
        level: coupled.level.iter().map(trimmed).collect(),
        loading: loading(aircraft, &coupled.coupling, coupled),
        effectiveness: aircraft
            .movables
            .iter()
            .map(|m| m.name.clone())
            .zip(coupled.effectiveness.iter().copied())
            .collect(),
    })
}

/// What is added to the drag of a coupled state.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct DragAs {
    /// Drag area of parts, m².
    pub(crate) parts_m2: f64,
    /// Factor adopted from flights.
    pub(crate) factor: f64,
}

fn loading(aircraft: &Aircraft, coupling: &Coupling, coupled: &Coupled) -> Vec<Load> {
    let top = coupled.clean.states.iter().filter(|s| s.converged).min_by(|a, b| {
        let off = |s: &State| (s.alpha_rad - coupled.clean.alpha_at_max_rad).abs();
        off(a).total_cmp(&off(b))
    });
    let Some(top) = top else { return Vec::new() };
    coupling
        .strips(top)
        .iter()
        .zip(coupling.limits(top))
        .filter_map(|(strip, cl_limit)| {
            let surface = aircraft.surfaces.get(strip.surface)?;
            matches!(surface.role, Role::Wing | Role::Foreplane).then(|| Load {
                surface: surface.name.clone(),
                half_span_share: strip.half_span_share,
                cl: strip.cl,
                cl_limit,
            })
        })
        .collect()
}
