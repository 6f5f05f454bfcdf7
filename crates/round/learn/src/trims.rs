//! Where do the surfaces stand in straight flight, and which servo centers would let the sticks go?
//!
//! Mean pulses of straight unaccelerated flight, by regression on what else moves the surfaces: lift coefficient
//! (airspeed, load), throttle, and the roll and pitch rates that a stick was correcting. The value holds at the
//! reference speed with no rates. The hand on the stick wanders, and is carried as a process ([`crate::coloured`]).

use aircraft::Aircraft;
use aircraft::control::trailing_edge_m_from_deflection;
use aircraft::finding::{Change, Finding};
use aircraft::movable::Servo;
use fly::recording::{Quantity, Recording};
use numerics::statistics::{mean, quantile};
use numerics::units::DEG_PER_RAD;
use numerics::words::{fixed, with_doubt};
use predict::prediction::Prediction;

use crate::blocks::{Blocks, mean_of_most};
use crate::coloured::{self, Family, LogPrior, Problem};
use crate::findings::{Learnt, NotLearnt, Trim};
use crate::servos::{self, Place};
use crate::settings;
use crate::straight::{PIECE_S, Piece, Straight};

/// Least straight flight, s.
const LEAST_S: f64 = 20.0;
/// Bank up to which flight counts as straight, rad (8 degrees: 1 % more lift).
const LARGEST_BANK_RAD: f64 = 0.14;
/// Acceleration along the path up to which it counts as unaccelerated, m/s².
const LARGEST_ACCELERATION_M_S2: f64 = 1.0;
/// Airspeed counts within this share of the reference speed.
const SPEED_SHARE: f64 = 0.25;
/// Share of travel that a trim must be known to: the dead band of a usual servo (common practice, no source).
const USEFUL_SHARE: f64 = 0.02;
/// Share of travel beyond which a trim belongs into the linkage.
const LINKAGE_SHARE: f64 = 0.25;
/// Doubts known before looking, as shares of travel: of full travel per unit of lift change, throttle, rate (rad/s).
const LIFT_SHARE: f64 = 0.5;
const WITHIN_SHARE: f64 = 2.0;
const THROTTLE_SHARE: f64 = 0.25;
const RATE_SHARE: f64 = 1.0;

/// Captures the trims and the changes of servo centers that they ask for.
///
/// # Errors
/// When no servo of the aircraft was recorded, or too little was flown straight (and, where it was recorded how the
/// stick acts, in direct).
pub(crate) fn trims(
    aircraft: &Aircraft,
    prediction: Option<&Prediction>,
    recording: &Recording,
    blocks: &Blocks,
    straight: &Straight,
) -> Learnt<(Vec<Trim>, Vec<Change>)> {
    let places = servos::places(aircraft);
    let channels = servos::recorded(&places, recording);
    if channels.iter().all(Option::is_none) {
        return Err(NotLearnt::MissingChannel { what: servos::none_recorded(&places, recording) });
    }
    let steady: Vec<&Piece> = straight
        .pieces
        .iter()
        .filter(|p| {
            within(p.roll_rad, LARGEST_BANK_RAD) && within(p.airspeed_rate_m_s2, LARGEST_ACCELERATION_M_S2)
        })
        .collect();
    let direct: Vec<&Piece> = steady.iter().copied().filter(|p| !straight.acts || p.acts < 0.5).collect();
    let reference = straight.reference(aircraft, prediction);
    let near: Vec<&Piece> = match reference {
        Some((v, _)) => {
            direct.iter().copied().filter(|p| within(p.airspeed_m_s / v - 1.0, SPEED_SHARE)).collect()
        }
        None => direct.clone(),
    };
    let seconds = near.len() as f64 * PIECE_S;
    if seconds < LEAST_S {
        return Err(too_little(straight, steady.len(), direct.len(), near.len(), reference));
    }
    let mut found = Vec::new();
    let mut changes = Vec::new();
    for (which, place) in places.iter().enumerate() {
        let Some(channel) = channels.get(which).and_then(Option::as_ref) else {
            continue;
        };
        let against = servos::contradicted(which, &places, &channels, aircraft, recording, blocks);
        let of = Of { place, channel, against };
        if let Some((trim, change)) = one(&of, aircraft, blocks, straight, &near, reference) {
            found.push(trim);
            changes.extend(change);
        }
    }
    if found.is_empty() {
        return Err(NotLearnt::NotExcited {
            why: format!("the servo channels hold no numbers in the {seconds:.0} s of straight flight"),
        });
    }
    Ok((found, changes))
}

/// Whether a value is no larger either way than a limit; what was not recorded speaks against nothing.
fn within(value: f64, limit: f64) -> bool {
    value.is_nan() || value.abs() <= limit
}

fn too_little(
    straight: &Straight,
    steady: usize,
    direct: usize,
    near: usize,
    reference: Option<(f64, &str)>,
) -> NotLearnt {
    let s = |pieces: usize| pieces as f64 * PIECE_S;
    let mut why = format!("{:.0} s of straight steady flight", s(steady));
    if straight.acts {
        why += &format!(", of which {:.0} s in direct", s(direct));
    }
    if let Some((v, whence)) = reference {
        why += &format!(", {:.0} s near {v:.1} m/s ({whence})", s(near));
    }
    NotLearnt::NotExcited {
        why: format!(
            "{why}; {LEAST_S:.0} s are needed: fly straight legs at that speed{}",
            if straight.acts { " in direct" } else { "" }
        ),
    }
}

/// A servo, the channel its pulse was recorded under, and what speaks against that being so.
struct Of<'a> {
    place: &'a Place<'a>,
    channel: &'a Quantity,
    against: Option<String>,
}

/// Trim of one servo; absent where its channel holds no numbers there.
fn one(
    of: &Of<'_>,
    aircraft: &Aircraft,
    blocks: &Blocks,
    straight: &Straight,
    pieces: &[&Piece],
    reference: Option<(f64, &'static str)>,
) -> Option<(Trim, Option<Change>)> {
    let place = of.place;
    let pulses = blocks.column(of.channel)?;
    let known: Vec<(&Piece, f64)> = pieces
        .iter()
        .filter_map(|p| {
            let us = mean_of_most(pulses.get(p.blocks.0..p.blocks.1)?) - place.servo.centre_us;
            us.is_finite().then_some((*p, us))
        })
        .collect();
    let (us, sd, hand) = fit(place.servo, straight, &known, reference)?;
    let travel = place.servo.travel_us;
    let seconds = known.len() as f64 * PIECE_S;
    let used: Vec<&Piece> = known.iter().map(|k| k.0).collect();
    let evidence = straight.windows_of(&used);
    let mut verdict = judge(straight, &used, reference, seconds, sd, hand, travel);
    if let Some(why) = &of.against {
        verdict = (false, format!("{}. Not to be relied on: {why}", verdict.1));
    }
    let angle = |us: f64| place.movable.deflection_from_pulse(place.servo, place.servo.centre_us + us);
    let deflection = angle(us)?;
    let clevis_turns = place.movable.linkage.clevis_turns(deflection).map(f64::abs);
    let change =
        change(place, us, sd, &at_the_linkage(aircraft, place, deflection, clevis_turns), &mut verdict);
    let finding = |unit: &str, value: f64, sd: f64| Finding {
        parameter: format!("trims.{}.{unit}", place.path),
        value,
        sd,
        evidence: evidence.clone(),
        enough: verdict.0,
        verdict: verdict.1.clone(),
    };
    let slope = match (angle(us + sd), angle(us - sd)) {
        (Some(a), Some(b)) => 0.5 * (a - b).abs(),
        _ => f64::NAN,
    };
    // A ruler is held at the inner end, where the surface is deepest and the movement largest.
    let chord = aircraft
        .surfaces
        .get(place.movable.surface)
        .map_or(0.0, |s| place.movable.chord_at(s, place.movable.inner_m));
    let mm = |rad: f64| 1000.0 * trailing_edge_m_from_deflection(rad, chord);
    let trim = Trim {
        surface: place.surface.clone(),
        channel: place.servo.channel.clone(),
        path: place.path.clone(),
        us: finding("us", us, sd),
        deg: finding("deg", deflection * DEG_PER_RAD, slope * DEG_PER_RAD),
        mm: finding("mm", mm(deflection), 0.5 * (mm(deflection + slope) - mm(deflection - slope)).abs()),
        clevis_turns,
        points_us: window_means(&known),
        evidence,
    };
    Some((trim, change))
}

/// Within such a part of its pulse a servo does not move, and a pilot finds no trim to be wrong, µs (dead bands of hobby
/// servos are 2 to 5 µs wide: common practice, no source).
const DEAD_BAND_US: f64 = 1.0;

/// Pulse less center at the reference, its doubt, and the wandering of the hand on the stick.
fn fit(
    servo: &Servo,
    straight: &Straight,
    known: &[(&Piece, f64)],
    reference: Option<(f64, &str)>,
) -> Option<(f64, f64, f64)> {
    if servo.travel_us.is_nan() || servo.travel_us <= 0.0 {
        return None;
    }
    let column = |f: &dyn Fn(&Piece) -> f64| -> Vec<f64> { known.iter().map(|k| f(k.0)).collect() };
    let time_s = column(&|p| p.time_s);
    let measured: Vec<f64> = known.iter().map(|k| k.1).collect();
    let ones = vec![1.0; known.len()];
    let lift = column(&|p| match reference {
        Some((v, _)) if p.airspeed_m_s > 0.0 => p.load * (v / p.airspeed_m_s).powi(2) - 1.0,
        _ => p.load - 1.0,
    });
    let used: Vec<&Piece> = known.iter().map(|k| k.0).collect();
    let (between, within) = Straight::between_and_within(&used, &lift);
    let level = reference.and_then(|(v, _)| straight.level_throttle(&used, v));
    let throttle =
        column(&|p| level.map_or(0.0, |t| if p.throttle.is_finite() { p.throttle - t } else { 0.0 }));
    let roll_rate = column(&|p| p.roll_rate_rad_s);
    let pitch_rate = column(&|p| p.pitch_rate_rad_s);
    let share = |s: f64| Some((0.0, s * servo.travel_us));
    let fit = coloured::fit(
        &Problem {
            resolution: 0.1,
            time_s: &time_s,
            measured: &measured,
            design: vec![&ones, &between, &within, &throttle, &roll_rate, &pitch_rate],
            prior: vec![
                None,
                share(LIFT_SHARE),
                share(WITHIN_SHARE),
                share(THROTTLE_SHARE),
                share(RATE_SHARE),
                share(RATE_SHARE),
            ],
            families: vec![Family {
                loadings: vec![&ones],
                // A hand corrects within a second or two; a leg flown with a held correction lasts ten.
                log_time: LogPrior { mean: 3.0_f64.ln(), sd: 1.0 },
            }],
        },
        None,
    )?;
    let hand = fit.families.first().map_or(0.0, |f| f.0.hypot(fit.white_sd));
    // An error that all airspeeds share acts through the slope: lift goes with 1/airspeed².
    let sd = fit.sd(0).hypot(2.0 * fit.parameters[1] * straight.airspeed_doubt).hypot(DEAD_BAND_US);
    Some((fit.parameters[0], sd, hand))
}

fn judge(
    straight: &Straight,
    used: &[&Piece],
    reference: Option<(f64, &str)>,
    seconds: f64,
    sd: f64,
    hand: f64,
    travel: f64,
) -> (bool, String) {
    let speeds: Vec<f64> = used.iter().map(|p| p.airspeed_m_s).collect();
    let at = match reference {
        Some((v, whence)) if speeds.iter().any(|s| s.is_finite()) => format!(
            " at {:.1} to {:.1} m/s, taken to {v:.1} m/s ({whence})",
            quantile(&speeds, 0.05),
            quantile(&speeds, 0.95)
        ),
        _ => ", airspeed unknown".into(),
    };
    let mode = if straight.acts {
        " in direct"
    } else {
        " (how the stick acted was not recorded: all straight flight is used)"
    };
    let basis =
        format!("from {seconds:.0} s of straight flight{mode}{at}; the pulse moved by {hand:.0} µs about it");
    let mut against = Vec::new();
    if sd > USEFUL_SHARE * travel {
        against.push(format!(
            "one standard deviation of {sd:.0} µs is more than {:.0} µs, {:.0} % of travel: fly more straight legs in calmer air",
            USEFUL_SHARE * travel,
            100.0 * USEFUL_SHARE
        ));
    }
    if let Some((v, _)) = reference {
        let (slow, fast) = (quantile(&speeds, 0.05), quantile(&speeds, 0.95));
        if v < 0.85 * slow || v > 1.15 * fast {
            against.push(format!("{v:.1} m/s is far from what was flown: fly straight legs at that speed"));
        }
    }
    if against.is_empty() {
        (true, basis)
    } else {
        (false, format!("{basis}. Not enough: {}", against.join("; ")))
    }
}

fn window_means(known: &[(&Piece, f64)]) -> Vec<f64> {
    let mut numbers: Vec<usize> = known.iter().map(|k| k.0.window).collect();
    numbers.dedup();
    numbers
        .iter()
        .map(|n| {
            let of: Vec<f64> = known.iter().filter(|k| k.0.window == *n).map(|k| k.1).collect();
            mean(&of)
        })
        .collect()
}

/// The change of a servo center; none where the trim is zero within its doubt or less than a servo answers to. What
/// becomes of it is added to the verdict where it is not simply made.
fn change(
    place: &Place<'_>,
    us: f64,
    sd: f64,
    at_the_linkage: &str,
    verdict: &mut (bool, String),
) -> Option<Change> {
    if us.abs() <= 2.0 * sd {
        return None;
    }
    if us.abs() < settings::DEAD_BAND_US {
        verdict.1 += &format!(
            ". The center stays: a servo does not answer to less than about {} µs",
            fixed(settings::DEAD_BAND_US, 0)
        );
        return None;
    }
    let servo = place.servo;
    let largest = LINKAGE_SHARE * servo.travel_us;
    let why =
        format!("the {} stood {} off its center, {}", place.surface, with_doubt(us, sd, "us"), verdict.1);
    let held_back = if !verdict.0 {
        Some(verdict.1.clone())
    } else if us.abs() > largest {
        let held = format!(
            "this is more than {:.0} % of travel ({largest:.0} µs) and would take throw from one side: {at_the_linkage}",
            100.0 * LINKAGE_SHARE,
        );
        verdict.1 += &format!(". Held back: {held}");
        Some(held)
    } else {
        None
    };
    Some(Change {
        path: format!("{}.centre_us", place.path),
        from: Some(servo.centre_us),
        to: settings::to_step(servo.centre_us + us, 1.0),
        sd: settings::to_two_digits(sd),
        unit: "us".into(),
        why,
        held_back,
    })
}

/// What to do on the bench about a trim too large for the servo center. It tells which way the trailing edge has to go:
/// whether that makes the rod longer or shorter depends on the side of the horn.
fn at_the_linkage(
    aircraft: &Aircraft,
    place: &Place<'_>,
    deflection_rad: f64,
    clevis_turns: Option<f64>,
) -> String {
    let (along, against) =
        aircraft.surfaces.get(place.movable.surface).map_or(("up", "down"), |s| place.movable.throw_words(s));
    let way = if deflection_rad > 0.0 { against } else { along };
    let turns = match clevis_turns {
        Some(t) if t >= 0.05 => {
            format!("turn the clevis {} times, the way that moves the trailing edge {way}", fixed(t, 1))
        }
        _ => format!(
            "move the trailing edge {way} at the rod (measure horn_mm and thread_pitch_mm to be told the turns of the \
             clevis)"
        ),
    };
    format!(
        "with the propeller off and the servo at its center, {turns}, until the {} stands where it stood in this \
         flight; leave the center as it is, check the direction of the surface, and learn the trim anew from the next \
         flight",
        place.surface
    )
}
