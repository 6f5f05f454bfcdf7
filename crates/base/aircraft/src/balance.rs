//! What does the whole weigh, where does it balance, how does it resist turning, and how is a wanted balance point
//! reached?

use numerics::uncertain::{Uncertain, propagate};
use numerics::{Mat3, Vec3};

use crate::Aircraft;
use crate::geometry::reference;
use crate::inertia::{self, Part, is_possible, parts, tensor_kg_m2};
use crate::known::Known;
use crate::mass::{Balance, Weighed};

pub use crate::inertia::{Bifilar, inertia_from_bifilar};

/// Why there is no balance.
#[derive(Debug, Clone, PartialEq)]
pub enum NoBalance {
    /// Neither items nor a weighed total.
    NoMass,
    /// A total without items and without a measured balance point.
    NoBalancePoint,
    /// All mass lies on one line or in one point: items without size or place.
    NoInertia,
    /// No body has these moments of inertia about the body axes (roll, pitch, yaw), kg m²: measured ones contradict
    /// each other or the items.
    ImpossibleInertia {
        /// Diagonal of the tensor, kg m².
        moments_kg_m2: [f64; 3],
    },
}

impl NoBalance {
    /// In words, with what to do.
    #[must_use]
    pub fn told(&self) -> String {
        match self {
            Self::NoMass => {
                "nothing says what the aircraft weighs: write [weighed] total_g or list [[mass]]".to_owned()
            }
            Self::NoBalancePoint => {
                "nothing says where the aircraft balances: write [weighed] balance_x_mm or list [[mass]]"
                    .to_owned()
            }
            Self::NoInertia => {
                "all mass lies on one line: give the items sizes and places (wing halves, fuselage, tail)"
                    .to_owned()
            }
            Self::ImpossibleInertia { moments_kg_m2: [roll, pitch, yaw] } => format!(
                "no body has moments of inertia of {roll:.4} (roll), {pitch:.4} (pitch) and {yaw:.4} kg m² (yaw): check \
                 the measured ones against the items"
            ),
        }
    }
}

/// A way to move the balance point.
#[derive(Debug, Clone, PartialEq)]
pub enum Remedy {
    /// Move an item along x.
    Move {
        /// Which item.
        item: String,
        /// Where its middle is now, builder's frame, m.
        from_x_m: f64,
        /// Where to put it, m; the end of its range where that is not far enough.
        to_x_m: f64,
        /// Balance point then, m.
        balance_x_m: f64,
        /// Whether that reaches the target.
        reaches: bool,
    },
    /// Fix ballast at an end of the aircraft.
    Ballast {
        /// "nose" or "tail".
        place: &'static str,
        /// Where, builder's frame, m.
        at_x_m: f64,
        /// How much, kg.
        mass_kg: f64,
    },
}

/// A scale's reading under one support.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ScaleReading {
    /// Where the support is along x from the datum, m.
    pub at_x_m: f64,
    /// What the scale shows, kg.
    pub mass_kg: Uncertain,
}

/// What two scales say of the whole.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TwoScales {
    /// Sum of both, kg.
    pub total_kg: Uncertain,
    /// Balance point along x from the datum, m.
    pub balance_x_m: Uncertain,
}

/// Doubt of where the middle of an item is, m (common practice, no source).
const PLACE_SD_M: f64 = 0.003;
/// A mismatch of mass smaller than this is the scale's last digit, kg.
const TOLD_MASS_KG: f64 = 0.0005;
/// A mismatch of balance smaller than this is not told, m.
const TOLD_PLACE_M: f64 = 0.0005;
/// Balance points nearer than this are one, m.
const SAME_PLACE_M: f64 = 0.0001;
/// Relative doubt of moments of inertia from radii of gyration (common practice, no source).
const RELATIVE_GYRATION_SD: f64 = 0.25;
/// Radii of gyration over half span and over half length of light single-engined propeller aircraft; Raymer, Aircraft
/// Design: A Conceptual Approach, table of non-dimensional radii (from memory).
const GYRATION: [f64; 3] = [0.25, 0.38, 0.39];

/// Mass, balance point and inertia of the whole. A weighed total scales the items; a measured balance point shifts
/// them all by the same amount, which leaves the inertia about the balance point alone; measured moments of inertia
/// replace computed ones. Where they disagree, the remarks say by how much. Without items the inertia comes from the
/// radii of gyration of similar aircraft.
///
/// # Errors
/// When the file says too little, or what it says contradicts physics.
pub fn balance(aircraft: &Aircraft) -> Result<Balance, NoBalance> {
    let weighed = aircraft.weighed.unwrap_or(Weighed {
        total_kg: None,
        balance_x_m: None,
        balance_z_m: None,
        inertia_kg_m2: [None; 3],
    });
    let mut remarks = Vec::new();
    let items = Items::of(aircraft);
    let total_kg = total(&weighed, items.as_ref(), &mut remarks)?;
    let (cg_m, cg_x_m) = centre(aircraft, &weighed, items.as_ref(), total_kg, &mut remarks)?;
    let computed = match &items {
        Some(items) => tensor_kg_m2(&items.parts, items.cg_m) * (total_kg.value / items.total_kg.value),
        None => from_gyration(aircraft, total_kg.value, &mut remarks).ok_or(NoBalance::NoInertia)?,
    };
    let inertia_kg_m2 = with_measured(computed, &weighed, &mut remarks)?;
    Ok(Balance {
        total_kg,
        cg_m,
        cg_x_m,
        inertia_kg_m2,
        items_total_kg: items.as_ref().map(|i| i.total_kg.value),
        items_cg_x_m: items.as_ref().map(|i| i.cg_m.x),
        remarks,
    })
}

/// What the items say by themselves.
struct Items {
    parts: Vec<Part>,
    total_kg: Known,
    cg_m: Vec3,
    cg_x_sd_m: f64,
}

impl Items {
    fn of(aircraft: &Aircraft) -> Option<Self> {
        let parts = parts(&aircraft.masses);
        let total: f64 = parts.iter().map(|p| p.mass_kg).sum();
        if !(total > 0.0 && total.is_finite()) {
            return None;
        }
        let cg_m = parts.iter().fold(Vec3::zeros(), |sum, p| sum + p.at_m * p.mass_kg) / total;
        let (mut mass_variance, mut place_variance) = (0.0, 0.0);
        for item in &aircraft.masses {
            mass_variance += item.mass_kg.sd.powi(2);
            // x_cg = Σ m x / Σ m, so dx/dm = (x - x_cg) / M and dx/dx_i = m_i / M.
            place_variance += (item.mass_kg.sd * (item.at_m.x - cg_m.x) / total).powi(2)
                + (PLACE_SD_M * item.mass_kg.value / total).powi(2);
        }
        Some(Self {
            parts,
            total_kg: Known::predicted(total, mass_variance.sqrt()),
            cg_m,
            cg_x_sd_m: place_variance.sqrt(),
        })
    }
}

fn total(weighed: &Weighed, items: Option<&Items>, remarks: &mut Vec<String>) -> Result<Known, NoBalance> {
    match (weighed.total_kg, items) {
        (None, None) => Err(NoBalance::NoMass),
        (None, Some(items)) => Ok(items.total_kg),
        (Some(total), None) => Ok(total),
        (Some(total), Some(items)) => {
            let excess = items.total_kg.value - total.value;
            if excess.abs() > TOLD_MASS_KG {
                let way = if excess > 0.0 { "more" } else { "less" };
                remarks.push(format!(
                    "The items add up to {:.0} g, {:.0} g {way} than the {:.0} g on the scale{}; they are scaled by {:.4}.",
                    items.total_kg.value * 1000.0,
                    excess.abs() * 1000.0,
                    total.value * 1000.0,
                    beyond_doubt(excess, total.sd.hypot(items.total_kg.sd), "something is missing or weighed wrong"),
                    total.value / items.total_kg.value,
                ));
            }
            Ok(total)
        }
    }
}

fn beyond_doubt(mismatch: f64, sd: f64, meaning: &str) -> String {
    if mismatch.abs() > 2.0 * sd {
        format!(", more than their doubts explain: {meaning}")
    } else {
        String::new()
    }
}

fn centre(
    aircraft: &Aircraft,
    weighed: &Weighed,
    items: Option<&Items>,
    total_kg: Known,
    remarks: &mut Vec<String>,
) -> Result<(Vec3, Known), NoBalance> {
    let cg_x_m = match (weighed.balance_x_m, items) {
        (None, None) => return Err(NoBalance::NoBalancePoint),
        (None, Some(items)) => Known::predicted(items.cg_m.x, items.cg_x_sd_m),
        (Some(measured), None) => measured,
        (Some(measured), Some(items)) => {
            let shift = measured.value - items.cg_m.x;
            if shift.abs() > TOLD_PLACE_M {
                let way = if shift > 0.0 { "ahead of" } else { "behind" };
                remarks.push(format!(
                    "The items balance at {:.1} mm, {:.1} mm {way} the {} {:.1} mm{}; all items are shifted by that, \
                     a moment of {:.0} g mm.",
                    items.cg_m.x * 1000.0,
                    shift.abs() * 1000.0,
                    measured.from.word(),
                    measured.value * 1000.0,
                    beyond_doubt(shift, measured.sd.hypot(items.cg_x_sd_m), "an item is in another place than the file says"),
                    total_kg.value * 1000.0 * shift.abs() * 1000.0,
                ));
            }
            measured
        }
    };
    let z = match (weighed.balance_z_m, items) {
        (Some(measured), _) => measured.value,
        (None, Some(items)) => items.cg_m.z,
        (None, None) => {
            let wing = aircraft.wing().and_then(crate::surface::Surface::planform);
            let z = wing.map_or(0.0, |p| p.quarter_chord_m.z);
            remarks.push(format!(
                "The height of the balance point was not measured; it is taken at the mean chord of the wing, {:.0} mm.",
                z * 1000.0
            ));
            z
        }
    };
    let y = items.map_or(0.0, |i| i.cg_m.y);
    if y.abs() > 0.002 {
        remarks.push(format!(
            "The items balance {:.1} mm to the {}: check the sides of single items, and hang the model by nose and tail.",
            y.abs() * 1000.0,
            if y > 0.0 { "right" } else { "left" }
        ));
    }
    Ok((Vec3::new(cg_x_m.value, y, z), cg_x_m))
}

/// Inertia of an aircraft of which only size and mass are known.
fn from_gyration(aircraft: &Aircraft, mass_kg: f64, remarks: &mut Vec<String>) -> Option<Mat3> {
    let span = reference(aircraft)?.span_m;
    let [front, back] = extent_x_m(aircraft)?;
    let length = back - front;
    let moment = |radius: f64, size: f64| mass_kg * (0.5 * radius * size).powi(2);
    let roll = moment(GYRATION[0], span);
    let pitch = moment(GYRATION[1], length);
    // A flat body has roll + pitch in yaw, and none has more.
    let yaw = moment(GYRATION[2], 0.5 * (span + length)).clamp(roll.max(pitch), roll + pitch);
    remarks.push(format!(
        "Without items the moments of inertia are those of similar aircraft (radii of gyration {:.2}, {:.2} and {:.2} of \
         half span, half length and their mean), good to about {:.0} %; list [[mass]] items or swing the model to know \
         them better.",
        GYRATION[0],
        GYRATION[1],
        GYRATION[2],
        RELATIVE_GYRATION_SD * 100.0
    ));
    Some(Mat3::from_diagonal(&Vec3::new(roll, pitch, yaw)))
}

fn with_measured(computed: Mat3, weighed: &Weighed, remarks: &mut Vec<String>) -> Result<Mat3, NoBalance> {
    let mut tensor = computed;
    for (axis, (name, measured)) in ["roll", "pitch", "yaw"].iter().zip(weighed.inertia_kg_m2).enumerate() {
        let Some(measured) = measured else { continue };
        let was = tensor[(axis, axis)];
        tensor[(axis, axis)] = measured.value;
        if (was - measured.value).abs() > 0.02 * measured.value {
            remarks.push(format!(
                "The {} moment of inertia in {name}, {:.4} kg m², replaces the computed {was:.4} kg m² ({:+.0} %).",
                measured.from.word(),
                measured.value,
                (measured.value / was - 1.0) * 100.0
            ));
        }
    }
    if is_possible(&tensor) {
        return Ok(tensor);
    }
    let [least, _, most] = inertia::principal_moments_kg_m2(&tensor);
    let measured = weighed.inertia_kg_m2.iter().any(Option::is_some);
    if !measured && least <= 1e-9 * most {
        return Err(NoBalance::NoInertia);
    }
    Err(NoBalance::ImpossibleInertia { moments_kg_m2: [tensor[(0, 0)], tensor[(1, 1)], tensor[(2, 2)]] })
}

/// Ways to bring the balance point to a place along x: every item that can be moved, then ballast at whichever end of
/// the aircraft helps. Empty where it is there already or the balance is not known.
#[must_use]
pub fn to_reach(aircraft: &Aircraft, target_x_m: f64) -> Vec<Remedy> {
    let Ok(now) = balance(aircraft) else {
        return Vec::new();
    };
    let shift = target_x_m - now.cg_m.x;
    if shift.abs() < SAME_PLACE_M || !shift.is_finite() {
        return Vec::new();
    }
    let total = now.total_kg.value;
    let mut remedies = Vec::new();
    for item in &aircraft.masses {
        let (Some([from, to]), true) = (item.movable_x_m, item.mass_kg.value > 0.0) else {
            continue;
        };
        let wanted = item.at_m.x + total * shift / item.mass_kg.value;
        let to_x_m = wanted.clamp(from.min(to), to.max(from));
        if (to_x_m - item.at_m.x) * shift <= 0.0 {
            continue;
        }
        let balance_x_m = now.cg_m.x + shift_by_move(total, item.mass_kg.value, to_x_m - item.at_m.x);
        remedies.push(Remedy::Move {
            item: item.name.clone(),
            from_x_m: item.at_m.x,
            to_x_m,
            balance_x_m,
            reaches: (balance_x_m - target_x_m).abs() < SAME_PLACE_M,
        });
    }
    if let Some([nose, tail]) = extent_x_m(aircraft) {
        let (place, at_x_m) = if shift < 0.0 { ("nose", nose) } else { ("tail", tail) };
        if let Some(mass_kg) = ballast_kg(total, now.cg_m.x, target_x_m, at_x_m) {
            remedies.push(Remedy::Ballast { place, at_x_m, mass_kg });
        }
    }
    remedies
}

/// Change of the balance point, m, when a mass of the whole is moved along x: w d / W (FAA-H-8083-1).
#[must_use]
pub fn shift_by_move(total_kg: f64, moved_kg: f64, by_m: f64) -> f64 {
    moved_kg * by_m / total_kg
}

/// Ballast at a place that brings the balance point to a target, kg: W (target - now) / (place - target)
/// (FAA-H-8083-1). Absent where ballast there cannot.
#[must_use]
pub fn ballast_kg(total_kg: f64, now_x_m: f64, target_x_m: f64, at_x_m: f64) -> Option<f64> {
    let mass = total_kg * (target_x_m - now_x_m) / (at_x_m - target_x_m);
    (mass.is_finite() && mass >= 0.0).then_some(mass)
}

/// Total and balance point from what two scales show under two supports at the same height, the model level. Absent
/// where the supports coincide or the scales show nothing.
#[must_use]
pub fn balance_from_two_scales(first: &ScaleReading, second: &ScaleReading) -> Option<TwoScales> {
    let inputs = [first.mass_kg, second.mass_kg];
    let total_kg = propagate(&inputs, |m| m[0] + m[1]);
    let apart = (second.at_x_m - first.at_x_m).abs();
    let sound = apart > 0.0 && total_kg.value > 0.0 && inputs.iter().all(|m| m.value >= 0.0);
    sound.then(|| TwoScales {
        total_kg,
        balance_x_m: propagate(&inputs, |m| (m[0] * first.at_x_m + m[1] * second.at_x_m) / (m[0] + m[1])),
    })
}

/// Foremost and rearmost place of the bodies, or of the surfaces where there are none, builder's frame, m.
#[must_use]
pub fn extent_x_m(aircraft: &Aircraft) -> Option<[f64; 2]> {
    let bodies =
        aircraft.fuselages.iter().flat_map(|f| f.stations.iter().map(|s| [s.centre_m.x, s.centre_m.x]));
    let surfaces = aircraft
        .surfaces
        .iter()
        .flat_map(|s| s.stations.iter().map(|s| [s.leading_edge_m.x, s.leading_edge_m.x + s.chord_m]));
    let widen = |so_far: Option<[f64; 2]>, [front, back]: [f64; 2]| match so_far {
        None => Some([front, back]),
        Some([a, b]) => Some([a.min(front), b.max(back)]),
    };
    let of_bodies = bodies.fold(None, widen);
    of_bodies.or_else(|| surfaces.fold(None, widen)).filter(|[front, back]| back > front)
}
