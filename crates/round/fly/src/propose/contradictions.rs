//! Which unit or sign cannot be right? Ranges and laws that the channels break, who is to blame, and the remedy.

use std::f64::consts::PI;

use numerics::statistics::{median, quantile};

use super::relations::{self, Law, Relation};
pub(crate) use super::remedy::{Remedy, advice};
use crate::recording::{Channel, Quantity, Recording};
use crate::words::G;

/// Something that the data contradicts.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Contradiction {
    /// Who may be to blame; one of them is.
    pub(crate) blame: Vec<Quantity>,
    /// What would put the first of them right.
    pub(crate) remedy: Remedy,
    /// How well the law holds but for this, 0 to 1.
    pub(crate) sure: f64,
    /// The numbers that gave it away.
    pub(crate) said: String,
}

/// Turns a size in radians into one in degrees.
const DEG: f64 = 180.0 / PI;

/// Everything that the data contradicts, the surest first.
pub(crate) fn find(recording: &Recording) -> Vec<Contradiction> {
    let mut found: Vec<Contradiction> = recording.channels.iter().filter_map(out_of_range).collect();
    let broken: Vec<Quantity> = found.iter().flat_map(|c| c.blame.clone()).collect();
    let relations = relations::all(recording);
    for relation in &relations {
        let touches = |q: &Quantity| *q == relation.subject || relation.against.contains(q);
        if broken.iter().any(touches) {
            continue;
        }
        found.extend(judge(relation, &relations, recording));
    }
    if !broken.contains(&Quantity::Pitch) {
        found.extend(nose_off_path(recording).or_else(|| beyond_vertical(recording)));
    }
    if !broken.contains(&Quantity::Yaw) {
        found.extend(heading_off_course(recording));
    }
    // The same blame twice says nothing new; the surest word stays.
    found.sort_by(|a, b| {
        (a.blame.len(), -a.sure).partial_cmp(&(b.blame.len(), -b.sure)).unwrap_or(std::cmp::Ordering::Equal)
    });
    let mut told: Vec<Contradiction> = Vec::new();
    for c in found {
        if !told.iter().any(|t| t.blame.iter().any(|q| c.blame.contains(q))) {
            told.push(c);
        }
    }
    told
}

fn out_of_range(channel: &Channel) -> Option<Contradiction> {
    use Quantity as Q;
    let values = &channel.values;
    let largest = values.iter().filter(|v| v.is_finite()).fold(0.0_f64, |m, v| m.max(v.abs()));
    let least = values.iter().filter(|v| v.is_finite()).fold(f64::INFINITY, |m, v| m.min(*v));
    if !least.is_finite() {
        return None;
    }
    let middle = || median(values);
    let tell = |remedy: Remedy, said: String| {
        Some(Contradiction { blame: vec![channel.quantity.clone()], remedy, sure: 0.95, said })
    };
    match &channel.quantity {
        Q::Roll if largest > 2.05 * PI => {
            tell(Remedy::TooLarge(DEG), format!("a bank of {largest:.1} rad is more than a full turn"))
        }
        Q::Pitch if largest > PI => tell(
            Remedy::TooLarge(DEG),
            format!("a pitch attitude of {largest:.2} rad is beyond straight up or down"),
        ),
        Q::Yaw | Q::Course if largest > 2.05 * PI && has_jumps(values, 300.0) => tell(
            Remedy::TooLarge(DEG),
            format!("a heading of {largest:.0} rad that jumps by 360 counts degrees"),
        ),
        Q::RollRate | Q::PitchRate | Q::YawRate => {
            let high = quantile(&values.iter().map(|v| v.abs()).collect::<Vec<_>>(), 0.99);
            if high > 35.0 {
                tell(
                    Remedy::TooLarge(DEG),
                    format!("one rate in a hundred is above {high:.0} rad/s, {:.0} deg/s", high * DEG),
                )
            } else {
                None
            }
        }
        Q::Airspeed | Q::GroundSpeed if middle() > 90.0 => {
            tell(Remedy::None, format!("{:.0} m/s in the middle is no model's speed", middle()))
        }
        Q::Volts if middle() > 200.0 => {
            tell(Remedy::TooLarge(1000.0), format!("{:.0} V in the middle is no model's pack", middle()))
        }
        Q::Volts if middle() < 0.5 => tell(
            if middle() > 2e-3 { Remedy::TooLarge(1e-3) } else { Remedy::None },
            format!("{:.4} V in the middle is no pack in flight", middle()),
        ),
        Q::Amps if largest > 1000.0 => {
            tell(Remedy::TooLarge(1000.0), format!("{largest:.0} A is more than a model's pack gives"))
        }
        Q::Servo(_) if !(500.0..=2500.0).contains(&middle()) => tell(
            Remedy::None,
            format!("{:.1} µs in the middle is no pulse to a servo (500 to 2500)", middle()),
        ),
        Q::StickRoll | Q::StickPitch | Q::StickYaw | Q::Throttle if largest > 2.0 => tell(
            if largest > 20.0 { Remedy::TooLarge(100.0) } else { Remedy::None },
            format!("a demand of {largest:.1} is more than all of it (1)"),
        ),
        Q::Latitude if largest > 90.0 => {
            tell(Remedy::None, format!("a latitude of {largest:.1} deg is beyond the pole"))
        }
        Q::Longitude if largest > 360.0 => {
            tell(Remedy::None, format!("a longitude of {largest:.1} deg is more than a full turn"))
        }
        Q::StaticPressure if !(20_000.0..=115_000.0).contains(&middle()) => {
            let p = middle();
            let ratio =
                [1e-3, 1e-2, 1e2, 1e3].into_iter().find(|f| (20_000.0..=115_000.0).contains(&(p / f)));
            tell(
                ratio.map_or(Remedy::None, Remedy::TooLarge),
                format!("{p:.1} Pa is not the pressure of the air (20 000 to 115 000)"),
            )
        }
        Q::Temperature if !(220.0..=340.0).contains(&middle()) => tell(
            Remedy::None,
            format!("{:.1} K is not the temperature of the air; is the unit degC?", middle()),
        ),
        _ => None,
    }
}

fn has_jumps(values: &[f64], from: f64) -> bool {
    values.windows(2).any(|w| matches!(w, [a, b] if (b - a).abs() > from))
}

/// The known ratios between units that a ratio is near to.
fn near_factor(ratio: f64, factors: &[f64], tolerance: f64) -> Option<f64> {
    let size = ratio.abs();
    factors
        .iter()
        .flat_map(|f| [*f, 1.0 / *f])
        .map(|f| ((size / f).ln().abs(), f))
        .filter(|(off, _)| *off < tolerance)
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, f)| f)
}

/// Ratios between units of speed: km/h, knots, miles an hour, feet a second, feet a minute, cm/s, mm/s in m/s.
const SPEED_FACTORS: &[f64] = &[3.6, 1.943_84, 2.236_94, 3.280_84, 196.850_4, 100.0, 1000.0];

/// Ratios between units of length: feet, cm, mm, km in m.
const LENGTH_FACTORS: &[f64] = &[3.280_84, 100.0, 1000.0];

/// How well a law must hold, but for a factor or sign, to contradict.
fn enough(law: Law) -> f64 {
    match law {
        Law::Gravity => 0.75,
        Law::RateOfAngle | Law::BankTurns => 0.7,
        Law::NoseAlongPath | Law::GravityAlongNose => 0.65,
        Law::SizeOfVelocity | Law::AirLikeGround => 0.85,
        Law::RateOfPosition => 0.75,
        Law::HeightsAlike => 0.95,
        Law::HeadingAlongCourse => 0.75,
        Law::PullingLoads => 0.6,
        Law::StickMoves => 0.5,
    }
}

/// Whether a relation confirms sign and unit of its subject.
pub(super) fn agrees(relation: &Relation) -> bool {
    relation.ratio > 0.0 && agrees_but_for_sign(relation)
}

/// Whether a relation confirms the unit of its subject, whichever way its sign is.
pub(super) fn agrees_but_for_sign(relation: &Relation) -> bool {
    let range = match relation.law {
        Law::RateOfAngle => 0.6..1.7,
        Law::Gravity => 0.8..1.6,
        Law::BankTurns => 0.45..2.2,
        Law::SizeOfVelocity => 0.93..1.07,
        Law::RateOfPosition => 0.85..1.18,
        Law::HeightsAlike => 0.75..1.33,
        Law::AirLikeGround => 0.75..1.35,
        Law::NoseAlongPath | Law::GravityAlongNose => 0.3..3.5,
        Law::HeadingAlongCourse => 0.9..1.1,
        Law::PullingLoads | Law::StickMoves => 0.0..f64::INFINITY,
    };
    relation.agreement >= enough(relation.law) && range.contains(&relation.ratio.abs())
}

fn judge(relation: &Relation, all: &[Relation], recording: &Recording) -> Option<Contradiction> {
    let tell = |blame: Vec<Quantity>, remedy: Remedy| {
        Some(Contradiction { blame, remedy, sure: relation.agreement, said: relation.said.clone() })
    };
    let subject = relation.subject.clone();
    let ratio = relation.ratio;
    if relation.law == Law::RateOfPosition
        && matches!(subject, Quantity::VelocityNorth | Quantity::VelocityEast)
        && relation.agreement < 0.5
    {
        return tell(vec![subject], Remedy::None);
    }
    if relation.agreement < enough(relation.law) || agrees(relation) {
        return None;
    }
    let confirmed = |q: &Quantity| all.iter().any(|r| r.subject == *q && r.law != relation.law && agrees(r));
    match relation.law {
        Law::RateOfAngle => {
            let rate = relation.against.first()?.clone();
            let unit = near_factor(ratio, &[DEG], 0.5);
            if unit.is_none() && !(0.5..2.0).contains(&ratio.abs()) {
                return None;
            }
            // The size of the angle tells whose unit it is: a flight neither banks beyond a turn nor stays within 3 deg.
            let largest = largest(recording, &subject);
            match unit {
                Some(f) if f > 1.0 && largest > 4.0 => tell(vec![subject], Remedy::TooLarge(f)),
                Some(f) if f > 1.0 => tell(vec![rate], Remedy::TooLarge(1.0 / f)),
                Some(f) if largest < 0.06 => tell(vec![subject], Remedy::TooLarge(f)),
                Some(f) if largest > 0.12 => tell(vec![rate], Remedy::TooLarge(1.0 / f)),
                Some(f) => tell(vec![subject, rate], Remedy::TooLarge(f)),
                None if confirmed(&subject) && !confirmed(&rate) => tell(vec![rate], Remedy::Negate),
                None if confirmed(&rate) && !confirmed(&subject) => tell(vec![subject], Remedy::Negate),
                None => {
                    let wrong = |q: &Quantity| {
                        all.iter().any(|r| {
                            r.subject == *q
                                && r.law != relation.law
                                && r.ratio < 0.0
                                && r.agreement >= enough(r.law)
                        })
                    };
                    if wrong(&subject) || wrong(&rate) {
                        // The other law tells it.
                        return None;
                    }
                    tell(vec![subject, rate], Remedy::Negate)
                }
            }
        }
        Law::Gravity => {
            let unit = near_factor(ratio, &[G, 1000.0, 1000.0 * G, 3.280_84], 0.35);
            match unit {
                Some(f) => tell(vec![subject], Remedy::TooLarge(f)),
                None if ratio < 0.0 && (0.7..1.6).contains(&-ratio) => tell(vec![subject], Remedy::Negate),
                None => tell(vec![subject], Remedy::None),
            }
        }
        Law::BankTurns | Law::NoseAlongPath => {
            let by_heading = relation.against == [Quantity::Yaw];
            if let Some(f) = near_factor(ratio, &[DEG], 0.8) {
                // A bank told in another unit is also far off in size; the ratio alone is rough.
                let l = largest(recording, &subject);
                let is_rate = subject == Quantity::YawRate;
                if is_rate || (f > 1.0 && l > 2.5) || (f < 1.0 && l < 0.12) {
                    return tell(vec![subject], Remedy::TooLarge(f));
                }
                return None;
            }
            if ratio < 0.0 {
                let mut blame = vec![subject];
                if by_heading {
                    blame.push(Quantity::Yaw);
                }
                return tell(blame, Remedy::Negate);
            }
            None
        }
        Law::GravityAlongNose | Law::PullingLoads | Law::StickMoves => {
            if ratio > 0.0 {
                return None;
            }
            // A rate that other laws find turned is no measure of the stick.
            let other = |k: &&Relation| {
                k.law != relation.law
                    && (relation.against.contains(&k.subject)
                        || relation.against.iter().any(|q| k.against.contains(q)))
            };
            let turned = |k: &Relation| k.ratio < 0.0 && k.agreement >= enough(k.law);
            if relation.law == Law::StickMoves && all.iter().filter(other).any(turned) {
                return None;
            }
            tell(vec![subject], Remedy::Negate)
        }
        Law::SizeOfVelocity => {
            let f = near_factor(ratio, SPEED_FACTORS, 0.045)?;
            tell(vec![subject], Remedy::TooLarge(f))
        }
        Law::RateOfPosition => {
            if ratio < 0.0 && near_factor(ratio, SPEED_FACTORS, 0.12).is_none() {
                return tell(vec![subject], Remedy::Negate);
            }
            let f = near_factor(ratio, SPEED_FACTORS, 0.12)?;
            if subject != Quantity::VelocityDown {
                return tell(vec![subject], Remedy::TooLarge(f));
            }
            let height = relation.against.first()?.clone();
            match which_height(all, &height, f) {
                Some(true) => tell(vec![subject], Remedy::TooLarge(f)),
                Some(false) => tell(vec![height], Remedy::TooLarge(1.0 / f)),
                None => tell(vec![subject, height], Remedy::TooLarge(f)),
            }
        }
        Law::HeightsAlike => {
            if ratio < 0.0 {
                return tell(vec![subject], Remedy::Negate);
            }
            let f = near_factor(ratio, LENGTH_FACTORS, 0.12)?;
            // The climb, or the path of the nose, goes with the altitude or not.
            let altitude_holds =
                all.iter().find(|k| k.law == Law::RateOfPosition && k.subject == Quantity::VelocityDown);
            match altitude_holds {
                Some(k) if agrees_but_for_sign(k) => tell(vec![subject], Remedy::TooLarge(f)),
                Some(k) if (k.ratio.abs().ln() - f.ln()).abs() < 0.15 => {
                    tell(relation.against.clone(), Remedy::TooLarge(1.0 / f))
                }
                _ => {
                    let mut blame = vec![subject];
                    blame.extend(relation.against.clone());
                    tell(blame, Remedy::TooLarge(f))
                }
            }
        }
        Law::AirLikeGround => {
            if (0.6..1.7).contains(&ratio) {
                return None;
            }
            let f = near_factor(ratio, SPEED_FACTORS, 0.3)?;
            let over_ground = relation.against.first()?.clone();
            if confirmed(&over_ground) || over_ground == Quantity::Latitude {
                return tell(vec![subject], Remedy::TooLarge(f));
            }
            let by_turns = relations::speed_of_turns_m_s(recording);
            match by_turns.and_then(|v| air_is_right(recording, v, ratio)) {
                Some(true) => tell(relation.against.clone(), Remedy::TooLarge(1.0 / f)),
                Some(false) => tell(vec![subject], Remedy::TooLarge(f)),
                None => {
                    let mut blame = vec![subject];
                    blame.extend(relation.against.clone());
                    tell(blame, Remedy::TooLarge(f))
                }
            }
        }
        Law::HeadingAlongCourse => tell(vec![subject], Remedy::Negate),
    }
}

/// Whether the airspeed, of two speeds that differ by a ratio, is the one that bank and rate of turning ask for.
fn air_is_right(recording: &Recording, by_turns_m_s: f64, ratio: f64) -> Option<bool> {
    let air = recording.channel(&Quantity::Airspeed)?;
    let known: Vec<f64> = air.values.iter().copied().filter(|v| v.is_finite()).collect();
    let least = 0.4 * quantile(&known, 0.9);
    let flying: Vec<f64> = known.iter().copied().filter(|v| *v > least).collect();
    let air_off = (median(&flying) / by_turns_m_s).ln();
    let ground_off = air_off - ratio.abs().ln();
    let apart = air_off.abs() - ground_off.abs();
    (apart.abs() > 0.4).then_some(apart < 0.0)
}

/// Whether a height that the climb speed contradicts by a factor is right all the same (and the climb speed wrong), by
/// another height or by where the nose points; absent where nothing tells.
fn which_height(all: &[Relation], height: &Quantity, factor: f64) -> Option<bool> {
    if let Some(alike) = all.iter().find(|k| k.law == Law::HeightsAlike && k.agreement >= enough(k.law)) {
        // Two heights that agree outvote the climb; of two that do not, the one that the climb agrees with is right.
        return Some(agrees(alike));
    }
    let nose = all.iter().find(|k| {
        k.law == Law::NoseAlongPath && k.against.first() == Some(height) && k.agreement >= enough(k.law)
    })?;
    if nose.ratio <= 0.0 {
        return None;
    }
    // A height told too large makes the path too steep and the nose too flat against it by as much.
    let off = |expected: f64| (nose.ratio.ln() - expected.ln()).abs();
    let (right, wrong) = (off(1.0), off(factor));
    ((right - wrong).abs() > 0.5).then_some(right < wrong)
}

fn largest(recording: &Recording, q: &Quantity) -> f64 {
    recording
        .channel(q)
        .map_or(f64::NAN, |c| c.values.iter().filter(|v| v.is_finite()).fold(0.0_f64, |m, v| m.max(v.abs())))
}

/// A pitch attitude that is nowhere near the path of flight is not an airplane's.
fn nose_off_path(recording: &Recording) -> Option<Contradiction> {
    const MOST_RAD: f64 = 40.0 / DEG;
    let off = relations::pitch_off_path_rad(recording)?;
    (off.abs() > MOST_RAD).then(|| Contradiction {
        blame: vec![Quantity::Pitch],
        remedy: Remedy::Offset((off / (PI / 2.0)).round() * PI / 2.0),
        sure: 0.95,
        said: format!(
            "moving faster than 8 m/s, the pitch attitude is {:.0} deg off the path of flight in the middle; an \
             airplane's nose is within about 20",
            off * DEG
        ),
    })
}

/// A pitch attitude ends at straight up and down; beyond, it counts something else.
fn beyond_vertical(recording: &Recording) -> Option<Contradiction> {
    let largest = largest(recording, &Quantity::Pitch);
    (largest > 0.52 * PI && largest <= PI).then(|| Contradiction {
        blame: vec![Quantity::Pitch],
        remedy: Remedy::None,
        sure: 0.9,
        said: format!("a pitch attitude of {:.0} deg is beyond straight up or down", largest * DEG),
    })
}

fn heading_off_course(recording: &Recording) -> Option<Contradiction> {
    let off = relations::heading_off(recording)?;
    (off.steady > 0.85 && off.off_rad.abs() > 60.0 / DEG).then(|| Contradiction {
        blame: vec![Quantity::Yaw],
        remedy: Remedy::Offset((off.off_rad / (PI / 2.0)).round() * PI / 2.0),
        sure: off.steady,
        said: format!("the heading is {:.0} deg off the course over ground all along", off.off_rad * DEG),
    })
}
