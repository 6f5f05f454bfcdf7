//! At which pitch reading does height hold at the cruise setting, and by how much is the mounting angle wrong?
//!
//! The flight path climbs by `asin(climb / airspeed)`; what the pitch reading exceeds it by is the angle of attack
//! plus a constant of the mounting. Lift in balance with weight makes the angle of attack linear in
//! load/airspeed², so in straight flight
//!
//! `reading - asin(climb/airspeed) = level + slope · (load · (reference/airspeed)² - 1) + thrust · (throttle - level throttle)`
//!
//! where `level` is what is sought. The slope of reading on flight-path angle is one by geometry and is not fitted:
//! a fitted one would be too small, as the reading and the climb both err. The relation needs no steady speed: where
//! speed trades for height, climb and reading change alike. What remains is vertical air motion over airspeed, which
//! wanders and is carried as a process ([`crate::coloured`]).

use aircraft::finding::{Change, Finding};
use aircraft::{Aircraft, Known, Origin};
use fly::recording::Quantity;
use numerics::statistics::{mean, quantile};
use numerics::uncertain::Uncertain;
use numerics::units::{DEG_PER_RAD, G_M_S2};
use numerics::words::{fixed, with_doubt};
use predict::adopted::updated;
use predict::prediction::Prediction;

use crate::blocks::Blocks;
use crate::coloured::{self, Family, LogPrior, Problem};
use crate::findings::{Learnt, LevelAttitude, NotLearnt};
use crate::headings::differ_by_deg;
use crate::settings;
use crate::straight::{PIECE_S, Piece, Straight};

/// Least straight flight, s.
const LEAST_S: f64 = 30.0;
/// A reading worse known than this is not worth setting, deg: two of it, half a degree, are 0.12 m/s of climb at 14 m/s.
const USEFUL_SD_DEG: f64 = 0.25;
/// Path angle up to which flight counts, rad: beyond, throttle is far from that of level flight.
const STEEPEST: f64 = 0.12;
/// Airspeed counts within this share of the reference speed: lift and thrust bend over wider ranges.
const SPEED_SHARE: f64 = 0.25;
/// Bank up to which flight counts as straight, rad.
const LARGEST_BANK_RAD: f64 = 0.35;
/// Headings count as different from this angle on, deg.
const DIFFERENT_DEG: f64 = 60.0;
/// Most that one flight may move the mounting angle, deg: a controller that sits worse is looked at on the bench.
const LARGEST_CHANGE_DEG: f64 = 6.0;
/// Slope of the angle of attack where nothing was predicted, deg: lift coefficients of 0.2 to 0.6 at cruise over a
/// slope of 4.5 per rad (finite-wing theory at aspect ratio 8) are 2.5 to 7.6 deg.
const SLOPE_DEG: (f64, f64) = (5.0, 2.5);
/// Relative doubt of a predicted slope.
const PREDICTED_SLOPE_SHARE: f64 = 0.25;
/// Slope within a leg known before looking, deg: gusts make it anything up to a few times that of the trim.
const WITHIN_DEG: f64 = 20.0;
/// Effect of throttle on the angle of attack known before looking, deg from none to full: thrust carries its own
/// sine of the weight, some 1 to 2 deg at a thrust equal to the weight.
const THROTTLE_DEG: f64 = 2.0;

/// Finds the level attitude and the change of the mounting angle it asks for. `set_rad` is the mounting angle that the
/// controller had while it flew.
///
/// # Errors
/// When pitch, climb or airspeed are missing, or too little was flown straight.
pub(crate) fn level_attitude(
    aircraft: &Aircraft,
    prediction: Option<&Prediction>,
    blocks: &Blocks,
    straight: &Straight,
    set_rad: f64,
) -> Learnt<(LevelAttitude, Option<Change>)> {
    let missing = |what: &str| Err(NotLearnt::MissingChannel { what: what.into() });
    if blocks.column(&Quantity::Pitch).is_none() {
        return missing("pitch angle");
    }
    if blocks.column(&Quantity::VelocityDown).is_none() {
        return missing("vertical velocity, or height");
    }
    let pieces: Vec<&Piece> = straight
        .pieces
        .iter()
        .filter(|p| {
            p.pitch_rad.is_finite()
                && p.climb_m_s.is_finite()
                && p.airspeed_m_s.is_finite()
                && p.climb_m_s.abs() < STEEPEST * p.airspeed_m_s
                && (p.roll_rad.is_nan() || p.roll_rad.abs() <= LARGEST_BANK_RAD)
        })
        .collect();
    if straight.pieces.iter().all(|p| !p.airspeed_m_s.is_finite()) && !straight.pieces.is_empty() {
        return missing(
            "airspeed: neither a sensor nor a wind that is known well enough to take it from the ground velocity",
        );
    }
    let Some((reference, whence)) = straight.reference(aircraft, prediction) else {
        return Err(too_little(0.0, None));
    };
    let all = pieces.len();
    let pieces: Vec<&Piece> =
        pieces.into_iter().filter(|p| (p.airspeed_m_s / reference - 1.0).abs() <= SPEED_SHARE).collect();
    let seconds = pieces.len() as f64 * PIECE_S;
    let far = (all > pieces.len()).then_some(reference);
    if seconds < 0.5 * LEAST_S || reference.is_nan() || reference <= 0.0 {
        return Err(too_little(seconds, far));
    }
    let Some(fit) = fit(&pieces, straight, reference, slope_prior(aircraft, prediction, reference)) else {
        return Err(too_little(seconds, far));
    };
    let reading = fit.parameters[0];
    // An error that all airspeeds share acts through the slope: lift goes with 1/airspeed².
    let sd = fit.sd(0).hypot(2.0 * fit.parameters[1] * straight.airspeed_doubt);
    let mut verdict = judge(&pieces, reference, whence, seconds, sd, fit.families.first().copied());
    // The controller subtracts the mounting angle from what it reads: adding the reading brings it to zero. What it read
    // counts from what was set then, the correction from what the file says now.
    let now = aircraft.controller.mounting_pitch_rad.value * DEG_PER_RAD;
    let set = set_rad * DEG_PER_RAD;
    let correction = set + reading - now;
    let before = aircraft.controller.mounting_pitch_rad;
    let change = change(before, set, (reading, sd), reference, &mut verdict);
    let evidence = straight.windows_of(&pieces);
    let finding = |parameter: &str, value: f64| Finding {
        parameter: parameter.into(),
        value,
        sd,
        evidence: evidence.clone(),
        enough: verdict.0,
        verdict: verdict.1.clone(),
    };
    Ok((
        LevelAttitude {
            reading_deg: finding("level_attitude.reading_deg", reading),
            correction_deg: finding("level_attitude.correction_deg", correction),
            airspeed_m_s: reference,
            points: points(&pieces),
        },
        change,
    ))
}

fn too_little(seconds: f64, near_m_s: Option<f64>) -> NotLearnt {
    NotLearnt::NotExcited {
        why: format!(
            "only {seconds:.0} s of straight flight{}: fly four straight legs of 10 s on differing headings at the cruise setting, hands off as far as it goes",
            near_m_s.map_or(String::new(), |v| format!(" near {v:.1} m/s"))
        ),
    }
}

/// Angle of attack above zero lift in level flight at the reference speed, deg, with its doubt.
fn slope_prior(aircraft: &Aircraft, prediction: Option<&Prediction>, reference: f64) -> (f64, f64) {
    let Some(p) = prediction else {
        return SLOPE_DEG;
    };
    let area = p.geometry.wing_area_m2;
    let pressure = 0.5 * p.density_kg_m3 * reference * reference;
    let factor = aircraft.flown.lift_factor.map_or(1.0, |f| f.value);
    let angle = p.balance.total_kg.value * G_M_S2 / (pressure * area) / (factor * p.lift.slope_per_rad.value)
        * DEG_PER_RAD;
    if angle.is_finite() && angle > 0.0 && angle < 30.0 {
        (angle, PREDICTED_SLOPE_SHARE * angle)
    } else {
        SLOPE_DEG
    }
}

fn fit(
    pieces: &[&Piece],
    straight: &Straight,
    reference: f64,
    slope: (f64, f64),
) -> Option<coloured::Coloured> {
    let column = |f: &dyn Fn(&Piece) -> f64| -> Vec<f64> { pieces.iter().map(|p| f(p)).collect() };
    let time_s = column(&|p| p.time_s);
    let measured = column(&|p| (p.pitch_rad - (p.climb_m_s / p.airspeed_m_s).asin()) * DEG_PER_RAD);
    let ones = vec![1.0; pieces.len()];
    let lift = column(&|p| p.load * (reference / p.airspeed_m_s).powi(2) - 1.0);
    let (between, within) = Straight::between_and_within(pieces, &lift);
    let level = straight.level_throttle(pieces, reference);
    let throttle =
        column(&|p| level.map_or(0.0, |t| if p.throttle.is_finite() { p.throttle - t } else { 0.0 }));
    coloured::fit(
        &Problem {
            resolution: 1e-3,
            time_s: &time_s,
            measured: &measured,
            design: vec![&ones, &between, &within, &throttle],
            prior: vec![None, Some(slope), Some((0.0, WITHIN_DEG)), Some((0.0, THROTTLE_DEG))],
            families: vec![Family {
                loadings: vec![&ones],
                // Dryden's vertical gusts near the ground are as long as the height (MIL-F-8785C): 50 m, flown
                // through in 3 s; thermals ten times as long.
                log_time: LogPrior { mean: 4.0_f64.ln(), sd: 1.0 },
            }],
        },
        None,
    )
}

fn judge(
    pieces: &[&Piece],
    reference: f64,
    whence: &str,
    seconds: f64,
    sd: f64,
    air: Option<(f64, f64)>,
) -> (bool, String) {
    let speeds: Vec<f64> = pieces.iter().map(|p| p.airspeed_m_s).collect();
    let (slow, fast) = (quantile(&speeds, 0.05), quantile(&speeds, 0.95));
    let differing = pieces.iter().any(|a| {
        pieces.first().is_some_and(|b| differ_by_deg(a.direction_rad, b.direction_rad, DIFFERENT_DEG))
    });
    let mut against = Vec::new();
    if seconds < LEAST_S {
        against.push(format!(
            "only {seconds:.0} s of straight flight of the {LEAST_S:.0} s needed: fly more straight legs"
        ));
    }
    if !differing {
        against.push(format!(
            "all legs on one heading, so that rising air over one place cannot be told from attitude: fly a leg on a heading more than {DIFFERENT_DEG:.0} degrees off"
        ));
    }
    if reference < 0.85 * slow || reference > 1.15 * fast {
        against.push(format!(
            "flown at {slow:.1} to {fast:.1} m/s, far from {reference:.1} m/s: fly straight legs at that speed"
        ));
    }
    if sd > USEFUL_SD_DEG {
        against.push(format!(
            "the doubt of {sd:.2} degrees is more than {USEFUL_SD_DEG} degrees: fly more straight legs in calmer air"
        ));
    }
    let air = air.map_or(String::new(), |(size, time)| {
        format!("; up and down drafts of {size:.1} degrees of flight path lasting about {time:.0} s are in the doubt")
    });
    let basis = format!(
        "{seconds:.0} s of straight flight at {slow:.1} to {fast:.1} m/s, taken to {reference:.1} m/s ({whence}){air}"
    );
    if against.is_empty() {
        (true, basis)
    } else {
        (false, format!("{basis}. Not enough: {}", against.join("; ")))
    }
}

/// Means of each window: reading, climb, airspeed, throttle.
fn points(pieces: &[&Piece]) -> Vec<[f64; 4]> {
    let mut numbers: Vec<usize> = pieces.iter().map(|p| p.window).collect();
    numbers.dedup();
    numbers
        .iter()
        .map(|n| {
            let of: Vec<&&Piece> = pieces.iter().filter(|p| p.window == *n).collect();
            let over = |f: &dyn Fn(&Piece) -> f64| mean(&of.iter().map(|p| f(p)).collect::<Vec<f64>>());
            [
                over(&|p| p.pitch_rad * DEG_PER_RAD),
                over(&|p| p.climb_m_s),
                over(&|p| p.airspeed_m_s),
                over(&|p| p.throttle),
            ]
        })
        .collect()
}

/// The change of the mounting angle; none where the file already says so within the doubt or what can be set. What
/// becomes of it is added to the verdict where it is not simply made.
fn change(
    before: Known,
    set: f64,
    (reading, sd): (f64, f64),
    reference: f64,
    verdict: &mut (bool, String),
) -> Option<Change> {
    let now = before.value * DEG_PER_RAD;
    // An angle that earlier flights told is weighed with this one by the doubts of both; one from the bench is of the
    // controller's case alone, and gives way.
    let to = if before.from == Origin::Flown {
        let known = Known { value: now, sd: before.sd * DEG_PER_RAD, from: Origin::Flown };
        updated(known, Uncertain::new(set + reading, sd))
    } else {
        Uncertain::new(set + reading, sd)
    };
    let (correction, sd) = (to.value - now, to.sd);
    if correction.abs() <= 2.0 * sd {
        return None;
    }
    if correction.abs() < settings::ANGLE_STEP_DEG {
        verdict.1 += &format!(
            ". The file stays as it is: {} is less than the {} that is set",
            with_doubt(correction, 0.0, "deg"),
            with_doubt(settings::ANGLE_STEP_DEG, 0.0, "deg")
        );
        return None;
    }
    let held_back = if !verdict.0 {
        Some(verdict.1.clone())
    } else if correction.abs() > LARGEST_CHANGE_DEG {
        let why = format!(
            "{} is more than the {} that one flight may move: look at how the controller sits and measure its angle \
             to the reference line on the bench, propeller off",
            with_doubt(correction, sd, "deg"),
            with_doubt(LARGEST_CHANGE_DEG, 0.0, "deg")
        );
        verdict.1 += &format!(". Held back: {why}");
        Some(why)
    } else {
        None
    };
    let then = if (set - now).abs() > 1e-6 {
        format!(" with a mounting angle of {}° set", fixed(set, 1))
    } else {
        String::new()
    };
    Some(Change {
        path: "controller.mounting_pitch_deg".into(),
        from: Some(now),
        to: settings::to_step(now + correction, settings::ANGLE_STEP_DEG),
        sd: settings::to_two_digits(sd),
        unit: "deg".into(),
        why: format!(
            "in level flight at {reference:.1} m/s the controller read {} of pitch{then}; with this it reads zero \
             there, and level with the stick centered holds height{}",
            with_doubt(reading, sd, "deg"),
            if before.from == Origin::Flown { "; earlier flights are weighed in by their doubt" } else { "" }
        ),
        held_back,
    })
}
