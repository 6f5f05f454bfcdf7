//! All predictions of one aircraft in given air: the lattice, the drive, and what follows from both.

use aircraft::control::{Axis, axis_throw_rad};
use aircraft::drive::Drive;
use aircraft::geometry::Reference;
use aircraft::mass::Balance;
use aircraft::{Aircraft, Known, Origin};
use motion::model::{Aerodynamics, ForceModel, Thrust};
use numerics::units::G_M_S2;
use sky::atmosphere;

use crate::adopted::{Adopted, LIFT_SLOPE_SD};
use crate::air::Air;
use crate::authority::{self, At, Authority};
use crate::balance_range::{self, LimitDoubts};
use crate::control::{CONTROL_SD, authority, flat_yaw, short_period};
use crate::coupled::Tables;
use crate::doubts::{self, Basis, area_sd_m2};
use crate::drive::operating::Running;
use crate::drive::powered::{self, DragDoubt, Powered};
use crate::gains::gains;
use crate::hinge::servo_loads;
use crate::lattice::Solved;
use crate::modes::{self, Undisturbed};
use crate::motions::Cases;
use crate::performance::{Doubts, Flying, bank_factor, with_doubt};
use crate::prediction::{
    Control, DrivePrediction, Geometry, Lift, NotPredicted, Outcome, Prediction, Speeds,
};
use crate::prepared::Prepared;
use crate::stalling::{DragAs, stalling};
use crate::steady::{self, cruise_elevator, polar, stability};
use crate::{against, drive, throws};

/// The air to predict for.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Conditions {
    /// Height of the field above mean sea level, m.
    pub height_m: f64,
    /// Temperature there, K; that of the standard atmosphere where not given.
    pub temperature_k: Option<f64>,
    /// Static pressure there (not reduced to sea level), Pa; that of the standard atmosphere where not given.
    pub pressure_pa: Option<f64>,
    /// Relative humidity, 0 to 1; dry where not given.
    pub relative_humidity: Option<f64>,
}

/// Cruise speed over stall speed where the file states none.
const CRUISE_OVER_STALL: f64 = 1.5;
/// Relative doubt of the computed drag rise with lift (as above).
const INDUCED_SD: f64 = 0.08;
/// Doubt of the computed angle of zero lift, rad (as above).
const ZERO_LIFT_SD_RAD: f64 = 0.009;
/// A second answer is sought when the cruise speed comes out further than this from what the first assumed.
const SPEED_TOLERANCE: f64 = 0.15;

/// Predicts everything of an aircraft in given air by the simple section model: thin sections and correlations. A remark
/// says so.
///
/// # Errors
/// When the air is none, or the description lacks what every prediction rests on (mass, balance point, a wing). What
/// only single predictions lack is told in their place.
pub fn predict(aircraft: &Aircraft, conditions: &Conditions) -> Result<Prediction, NotPredicted> {
    predict_with(aircraft, conditions, &Tables::new())
}

/// Predicts everything of an aircraft in given air with section tables ([`crate::coupled::needed`] names those it needs).
///
/// # Errors
/// As [`predict`].
pub fn predict_with(
    aircraft: &Aircraft,
    conditions: &Conditions,
    tables: &Tables,
) -> Result<Prediction, NotPredicted> {
    // What is missing is told before the lattice is laid.
    let _ = (air(conditions)?, balance(aircraft)?, reference(aircraft)?);
    predict_prepared(&Prepared::new(aircraft, tables)?, aircraft, conditions)
}

fn air(conditions: &Conditions) -> Outcome<Air> {
    let sky = atmosphere::at(
        conditions.height_m,
        conditions.temperature_k,
        conditions.pressure_pa,
        conditions.relative_humidity,
    )
    .map_err(|why| NotPredicted::NoSolution { why: why.to_string() })?;
    Ok(Air { density_kg_m3: sky.density_kg_m3, viscosity_pa_s: sky.viscosity_pa_s })
}

fn balance(aircraft: &Aircraft) -> Outcome<Balance> {
    aircraft::balance::balance(aircraft).map_err(|why| NotPredicted::Missing { what: why.told() })
}

fn reference(aircraft: &Aircraft) -> Outcome<Reference> {
    aircraft::geometry::reference(aircraft).ok_or_else(|| NotPredicted::Missing {
        what: "a [[surface]] of role \"wing\" with two stations".to_owned(),
    })
}

/// The same for an aircraft whose shape was prepared before: with another mass, balance point, throw, drive or air it
/// costs a small part.
///
/// # Errors
/// As [`predict`], and where the aircraft has another shape ([`Prepared::fits`]).
pub fn predict_prepared(
    prepared: &Prepared,
    aircraft: &Aircraft,
    conditions: &Conditions,
) -> Result<Prediction, NotPredicted> {
    let air = air(conditions)?;
    let balance = balance(aircraft)?;
    let reference = reference(aircraft)?;
    let mut remarks = balance.remarks.clone();
    let mass_kg = balance.total_kg.value;

    let (aero, neutral_point, base) =
        solved_at_cruise(prepared, aircraft, &balance, &air, reference.area_m2)?;
    remarks.extend(aero.remarks.iter().cloned());
    let mut adopted = Adopted::of(aircraft, &aero, mass_kg, &mut remarks);
    let flying = Flying { aerodynamics: adopted.aerodynamics, mass_kg, density_kg_m3: air.density_kg_m3 };
    adopted.cd0_sd *= adopted.aerodynamics.cd0 / base.cd0;

    let care = aircraft.care;
    if let Some(share) = care.drag_sd.filter(|_| adopted.drag_from == Origin::Predicted) {
        adopted.cd0_sd = share * flying.aerodynamics.cd0;
    }
    if let Some(sd) = care.cl_max_sd.filter(|_| adopted.cl_max.from == Origin::Predicted) {
        adopted.cl_max.sd = sd;
    }
    let doubts = Doubts {
        mass_kg: balance.total_kg.sd,
        cl_max: adopted.cl_max.sd,
        cd0: adopted.cd0_sd,
        induced: INDUCED_SD * flying.aerodynamics.induced,
        area_m2: area_sd_m2(reference.area_m2, reference.mean_chord_m, reference.span_m, care.length_sd_m),
    };
    let stall = match aircraft.limits.stall_m_s {
        Some(measured) => Known {
            value: flying.stall_m_s(),
            sd: measured.sd * flying.stall_m_s() / measured.value,
            from: measured.from,
        },
        None => with_doubt(&flying, &doubts, Flying::stall_m_s),
    };
    let cruise_m_s = match aircraft.limits.cruise_m_s {
        Some(chosen) => Known::stated(chosen, 0.0),
        None => Known {
            value: CRUISE_OVER_STALL * stall.value,
            sd: CRUISE_OVER_STALL * stall.sd,
            from: Origin::Predicted,
        },
    };
    if cruise_m_s.value < 1.2 * stall.value {
        remarks.push(format!(
            "The stated cruise of {:.1} m/s is less than 1.2 times the stall speed of {:.1} m/s: a turn or a gust may stall it.",
            cruise_m_s.value, stall.value
        ));
    }
    let steady = flying.at(cruise_m_s.value, 1.0);
    let drag_doubt =
        DragDoubt(with_doubt(&flying, &doubts, |f| f.at(cruise_m_s.value, 1.0).drag_n).sd / steady.drag_n);

    let ready = match &aircraft.drive {
        None => Err(NotPredicted::Missing { what: "a [drive] (propeller, motor, pack)".to_owned() }),
        Some(description) => ready(prepared, aircraft, description, &air).map(|(running, told)| {
            remarks.extend(told);
            (description, running)
        }),
    };
    let drag_flown = aircraft.flown.drag_factor.is_some() || aircraft.flown.thrust_factor.is_some();
    let top_m_s = ready
        .as_ref()
        .map_err(Clone::clone)
        .and_then(|(_, running)| powered::top_speed(running, &flying, drag_doubt, drag_flown));
    if let (Ok(top), Some(limit)) = (&top_m_s, aircraft.limits.never_exceed_m_s)
        && top.value > limit
    {
        remarks.push(format!(
            "Full throttle in level flight reaches {:.0} m/s, more than the never-exceed speed of {limit:.0} m/s.",
            top.value
        ));
    }
    let reserve = aircraft.limits.reserve.unwrap_or(powered::RESERVE);
    let drive_prediction = ready.as_ref().map_err(Clone::clone).map(|(description, running)| {
        let flown = aircraft.flown.thrust_factor.is_some();
        let asked = powered::Asked {
            cruise_m_s: cruise_m_s.value,
            reserve,
            failsafe_throttle: aircraft.controller.failsafe_throttle,
            height_m: aircraft.limits.height_m,
            drag: drag_doubt,
            flown,
        };
        let slipstream = drive::slipstream::predict(
            aircraft,
            description,
            running,
            &flying,
            balance.cg_m,
            &aero,
            cruise_m_s.value,
            neutral_point,
        );
        let (prediction, told) = powered::predict(description, running, &flying, &asked, slipstream);
        remarks.extend(told);
        prediction
    });
    let fastest_m_s = (2.2 * cruise_m_s.value)
        .max(top_m_s.as_ref().map_or(0.0, |top| 1.25 * top.value))
        .max(aircraft.limits.never_exceed_m_s.unwrap_or(0.0) * 1.1);
    let thrust = ready
        .as_ref()
        .ok()
        .map(|(description, running)| running.table(description, balance.cg_m, fastest_m_s));

    let pull =
        Pull::at_cruise(ready.as_ref().ok().map(|(_, r)| r), thrust.as_ref(), &flying, cruise_m_s.value);
    let (alpha_rad, elevator_rad) = flying.trim(
        steady.cl,
        pull.arm_m * steady.drag_n / (flying.pressure_area_n(cruise_m_s.value) * reference.mean_chord_m),
    );
    let up_rad = axis_throw_rad(aircraft, Axis::Pitch).map(|t| t.positive_demand_rad);
    let further = steady::further_aft(prepared, aircraft, &aero, &flying, up_rad);
    let left_at_stall_rad = steady::left_at_stall_rad(aircraft, &aero, &flying, up_rad);
    let stability = stability(aircraft, &flying, &balance, neutral_point, up_rad, &further, &mut remarks);
    let relative_sd = (doubts.mass_kg / mass_kg).hypot(doubts.area_m2 / reference.area_m2);
    let drag = DragAs {
        parts_m2: aircraft.drag_area_m2().value,
        factor: aircraft.flown.drag_factor.map_or(1.0, |f| f.value),
    };
    let stalling = stalling(aircraft, &aero, &drag, flying.weight_n(), air.density_kg_m3, relative_sd);
    let speeds = Speeds {
        stall_m_s: stall,
        stall_banked_m_s: [30.0_f64, 45.0, 60.0].map(|bank| stall.value * bank_factor(bank.to_radians())),
        least_sink_m_s: adopted.drag_known(with_doubt(&flying, &doubts, |f| f.least_sink().speed_m_s)),
        best_glide_m_s: adopted.drag_known(with_doubt(&flying, &doubts, |f| f.best_glide().speed_m_s)),
        cruise_m_s,
        top_m_s,
        cruise_pitch_rad: Known::predicted(
            alpha_rad,
            ZERO_LIFT_SD_RAD.hypot(steady.cl / flying.aerodynamics.derivatives.CLa * LIFT_SLOPE_SD),
        ),
        cruise_elevator_rad: cruise_elevator(aircraft, &flying, elevator_rad, steady.cl, &stability),
    };
    let polar = polar(&flying, &adopted, &doubts, aero.span_efficiency, &speeds);
    let at = Undisturbed {
        speed_m_s: cruise_m_s.value,
        cl: steady.cl,
        cd: steady.cd,
        alpha_rad,
        pitch_rad: alpha_rad,
        thrust_slope_n_s_m: pull.slope_n_s_m,
        thrust_arm_m: pull.arm_m,
    };
    let gains = gains(aircraft, &flying, &balance, cruise_m_s.value, &mut remarks);
    let mut control = authority(aircraft, &flying, &balance, cruise_m_s.value, steady.cd);
    if let Ok(left) = &mut control.elevator_left_at_stall_rad {
        *left += left_at_stall_rad;
    }
    let relative = |factor: Option<Known>| factor.map_or(CONTROL_SD, |f| f.sd / f.value);
    let [roll_factor, pitch_factor, _] = aircraft.flown.control_factor;
    let limit_doubts = LimitDoubts {
        cl_max: adopted.cl_max.sd,
        cm0: steady::CM0_SD,
        control: relative(pitch_factor),
        neutral_point_m: stability.neutral_point_x_m.sd,
        throw_rad: care.throw_sd_rad,
    };
    let balance_limits = balance_range::limits(
        &flying,
        balance.cg_m.x,
        up_rad,
        &further,
        stability.neutral_point_x_m,
        &neutral_with_power(&drive_prediction, stability.neutral_point_x_m),
        &limit_doubts,
    );
    let motions = Cases {
        solved: &aero,
        flown: aircraft.flown,
        flying,
        inertia_kg_m2: balance.inertia_kg_m2,
        cg_m: balance.cg_m,
        neutral_point_x_m: neutral_point,
        level: at,
    }
    .all(&stability.range_x_m);
    let authority = throws_and_answers(aircraft, &aero, &flying, &balance, &speeds, &control, steady.cd);
    let thrust_sd = care.thrust_sd.unwrap_or_else(|| {
        drive_prediction
            .as_ref()
            .map_or(0.0, |d| d.static_thrust_n.sd / d.static_thrust_n.value.abs().max(1e-9))
    });
    let doubts_of = doubts::doubts(&Basis {
        aircraft,
        flying,
        balance: &balance,
        thrust: thrust.as_ref(),
        neutral_point_x_m: neutral_point,
        cruise_m_s: cruise_m_s.value,
        throws_rad: [control.throws_rad[0], up_rad],
        further,
        left_at_stall_rad,
        sd: [
            doubts.mass_kg,
            balance.cg_x_m.sd,
            doubts.area_m2,
            doubts.cl_max,
            doubts.cd0,
            doubts.induced,
            thrust_sd,
            care.throw_sd_rad,
            stability.neutral_point_x_m.sd,
            relative(roll_factor.or(pitch_factor)),
            steady::CM0_SD,
        ],
    });
    let mut prediction = Prediction {
        density_kg_m3: air.density_kg_m3,
        geometry: Geometry {
            wing_area_m2: reference.area_m2,
            mean_chord_m: reference.mean_chord_m,
            mean_chord_x_m: reference.mean_chord_x_m,
            span_m: reference.span_m,
            aspect_ratio: reference.aspect_ratio,
            wing_loading_kg_m2: mass_kg / reference.area_m2,
        },
        stability,
        lift: Lift {
            slope_per_rad: adopted.slope,
            cl_max: adopted.cl_max,
            zero_lift_alpha_rad: aero.zero_lift_alpha_rad,
        },
        speeds,
        polar,
        stalling,
        balance_limits,
        control,
        authority,
        drive: drive_prediction,
        modes: modes::modes(&flying, &balance.inertia_kg_m2, &at),
        motions,
        gains,
        model: ForceModel {
            mass_kg,
            inertia_kg_m2: balance.inertia_kg_m2,
            aerodynamics: flying.aerodynamics,
            thrust,
            details: motion::details::Details::of(aircraft),
        },
        doubts: doubts_of,
        against: Vec::new(),
        cautions: Vec::new(),
        panels: aero.panels,
        remarks,
        balance,
    };
    prediction.against = against::against(aircraft, &prediction);
    prediction.cautions = against::cautions(aircraft, &prediction);
    Ok(prediction)
}

/// Neutral point with the power of level flight at cruise, or why there is none. Its shift is doubted by 40 % (wing and
/// body bend and break the slipstream; judgement, no source).
fn neutral_with_power(drive: &Outcome<DrivePrediction>, without: Known) -> Outcome<Known> {
    let drive = drive.as_ref().map_err(Clone::clone)?;
    let with_m = drive.slipstream.as_ref().map_err(Clone::clone)?.neutral_point_x_m;
    Ok(Known::predicted(with_m, without.sd.hypot(0.4 * (with_m - without.value))))
}

/// Throws, what they do at cruise, throws to begin with, and what the servos hold at top speed.
fn throws_and_answers(
    aircraft: &Aircraft,
    solved: &Solved,
    flying: &Flying,
    balance: &Balance,
    speeds: &Speeds,
    control: &Control,
    cd: f64,
) -> Authority {
    let speed_m_s = speeds.cruise_m_s.value;
    let at = At {
        aircraft,
        solved,
        flying,
        speed_m_s,
        short: short_period(flying, balance.inertia_kg_m2[(1, 1)], speed_m_s, cd),
        flat: flat_yaw(flying, balance.inertia_kg_m2[(2, 2)], speed_m_s),
    };
    // The fastest that it may be flown: level at full throttle, or a dive to the limit.
    let level = speeds.top_m_s.as_ref().map_or(2.0 * speed_m_s, |top| top.value);
    let fastest = aircraft.limits.never_exceed_m_s.map_or(level, |limit| limit.max(level));
    let throws = throws::throws(aircraft);
    Authority {
        mixing: throws::mixing(aircraft, &throws),
        throws,
        answers: authority::answers(&at, &control.roll_helix),
        recommended: authority::recommended(&at),
        servos: servo_loads(aircraft, flying.density_kg_m3, fastest),
    }
}

/// The answer at the cruise speed: a first one at a guess, a second one when the guess was off.
fn solved_at_cruise(
    prepared: &Prepared,
    aircraft: &Aircraft,
    balance: &Balance,
    air: &Air,
    area_m2: f64,
) -> Outcome<(Solved, f64, Aerodynamics)> {
    let speed = |cl_max: f64| {
        aircraft.limits.cruise_m_s.unwrap_or_else(|| {
            let pressure = balance.total_kg.value * G_M_S2 / (area_m2 * cl_max);
            CRUISE_OVER_STALL * (2.0 * pressure / air.density_kg_m3).sqrt()
        })
    };
    // Largest lift coefficient of a plain wing at model Reynolds numbers, to begin with.
    let first = speed(1.15);
    let mut solved = prepared.solve(aircraft, balance.cg_m, air, first)?;
    let second = speed(solved.cl_max.value);
    if (second / first - 1.0).abs() > SPEED_TOLERANCE {
        solved = prepared.solve(aircraft, balance.cg_m, air, second)?;
    }
    add_drag_of_parts(aircraft, &mut solved, area_m2);
    let (neutral_point, base) = (solved.neutral_point_x_m, solved.aerodynamics);
    Ok((solved, neutral_point, base))
}

/// Drag of gear, struts and gaps, that the file lists: it neither lifts nor turns.
fn add_drag_of_parts(aircraft: &Aircraft, solved: &mut Solved, area_m2: f64) {
    let parts = aircraft.drag_area_m2();
    if parts.value <= 0.0 {
        return;
    }
    solved.aerodynamics.cd0 += parts.value / area_m2;
    solved.cd0.value += parts.value / area_m2;
    solved.cd0.sd = solved.cd0.sd.hypot(parts.sd / area_m2);
    solved.remarks.push(format!(
        "Parts under [[drag]] have a drag area of {:.0} ± {:.0} cm², {:.0} % of all drag that does not come with lift.",
        parts.value * 1e4,
        2.0 * parts.sd * 1e4,
        100.0 * parts.value / area_m2 / solved.cd0.value
    ));
}

/// The drive in this air, corrected by bench and flights.
fn ready(
    prepared: &Prepared,
    aircraft: &Aircraft,
    description: &Drive,
    air: &Air,
) -> Outcome<(Running, Vec<String>)> {
    let (mut running, mut remarks) = drive::running_with(
        description,
        drive::CHARGE,
        air.density_kg_m3,
        air.viscosity_pa_s,
        prepared.propeller.as_ref(),
    )?;
    if let Some(factor) = aircraft.flown.thrust_factor {
        running.correction.thrust_factor *= factor.value;
        for k in 0..3 {
            running.correction.covariance[(0, k)] = 0.0;
            running.correction.covariance[(k, 0)] = 0.0;
        }
        running.correction.covariance[(0, 0)] = (factor.sd / factor.value).powi(2);
        remarks.push(format!(
            "Thrust x {:.2} ± {:.2}, as adopted from flights.",
            factor.value,
            2.0 * factor.sd
        ));
    }
    Ok((running, remarks))
}

/// How thrust acts on the motion at cruise.
struct Pull {
    slope_n_s_m: f64,
    arm_m: f64,
}

impl Pull {
    fn at_cruise(
        running: Option<&Running>,
        thrust: Option<&Thrust>,
        flying: &Flying,
        speed_m_s: f64,
    ) -> Self {
        let (Some(running), Some(thrust)) = (running, thrust) else {
            return Self { slope_n_s_m: 0.0, arm_m: 0.0 };
        };
        let arm_m = thrust.at_m.z * thrust.direction.x - thrust.at_m.x * thrust.direction.z;
        let step = 0.05 * speed_m_s;
        let slope_n_s_m = Powered { running, flying }.cruise(speed_m_s).map_or(0.0, |cruise| {
            let at = |v: f64| running.at(cruise.throttle, v).thrust_n;
            (at(speed_m_s + step) - at(speed_m_s - step)) / (2.0 * step)
        });
        Self { slope_n_s_m, arm_m }
    }
}
