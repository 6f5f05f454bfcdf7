//! What is not computed, and what is said of what is.

use super::{Method, Refused, Remark, Run, Watch};
use crate::launch::Device;

/// Fastest rate times step that a method carries with a margin of a fourth: Adams-Bashforth is stable to 0.3 on the
/// real axis, Runge-Kutta to 2.78 (closed forms), and neither is accurate near that.
const MOST_ADAMS: f64 = 0.22;
const MOST_RUNGE: f64 = 0.7;

fn number(what: &'static str, value: f64, least: f64, most: f64) -> Result<(), Refused> {
    if (least..=most).contains(&value) { Ok(()) } else { Err(Refused::Number { what, value, least, most }) }
}

/// Refuses what would be computed into nonsense.
pub(super) fn check(run: &Run, watch: &Watch) -> Result<(), Refused> {
    number("length of the flight, s,", watch.for_s, 0.0, 3600.0)?;
    number("step, s,", watch.step_s, 1e-5, 0.1)?;
    if watch.sample_s.is_nan() || watch.sample_s <= 0.0 {
        return Err(Refused::Number {
            what: "time between samples, s,",
            value: watch.sample_s,
            least: watch.step_s,
            most: f64::INFINITY,
        });
    }
    let Run { motor, weather, trim, reads_too_much_rad, plant, .. } = run;
    for throttle in [motor.idle, motor.flight] {
        number("throttle", throttle, 0.0, 1.0)?;
    }
    let starts = match motor.starts {
        super::MotorStart::Running => [0.0, 0.0],
        super::MotorStart::After { delay_s } => [delay_s, 0.0],
        super::MotorStart::OnThrow { least_m_s2, delay_s } => [delay_s, least_m_s2],
    };
    number("delay of the motor, s,", starts[0], 0.0, 60.0)?;
    number("acceleration that starts the motor, m/s²,", starts[1], 0.0, 1000.0)?;
    number("air density, kg/m³,", weather.density_kg_m3, 0.05, 2.0)?;
    number("wind, m/s,", weather.wind.speed_m_s, 0.0, 60.0)?;
    number("gust intensity", weather.gust_intensity, 0.0, 1.0)?;
    if let Some(gust) = weather.single {
        number("peak of the gust, m/s,", gust.peak_ned_m_s.norm(), 0.0, 60.0)?;
        number("half length of the gust, m,", gust.half_length_m, 0.0, 1e4)?;
        number("way to the gust, m,", gust.begins_m, -1e5, 1e5)?;
    }
    for angle in [trim.aileron_rad, trim.elevator_rad, trim.rudder_rad, trim.flap_rad] {
        number("trim, rad,", angle, -1.0, 1.0)?;
    }
    for angle in reads_too_much_rad {
        number("error of the controller's attitude, rad,", *angle, -1.6, 1.6)?;
    }
    number("charge used, Ah,", run.charge_used_ah, 0.0, 1e3)?;
    let settings = &plant.stabilizer;
    number("loop rate, Hz,", settings.loop_hz, 1.0, 1e5)?;
    number("delay of the controller, s,", settings.delay_s, 0.0, 1.0)?;
    number("smoothing of the gyro, s,", settings.filter_s, 0.0, 1.0)?;
    number("speed of the controller's turns, m/s,", settings.speed_m_s, 0.5, 200.0)?;
    step(run, watch)
}

/// The fastest motion: roll and yaw damping, the short period, the springs of the ground, at a speed that a launch may
/// reach.
fn step(run: &Run, watch: &Watch) -> Result<(), Refused> {
    let body = &run.plant.body.body;
    let begin = match run.device {
        Device::Hand(throw) => throw.speed_m_s,
        Device::Flying(state) => state.velocity_body_m_s.norm(),
        Device::Bungee(_) | Device::Rail(_) | Device::Rolling(_) => 0.0,
    };
    let model = &run.plant.body.model;
    let stall = stall_m_s(run);
    let speed = (1.5 * (begin + run.weather.wind.speed_m_s)).max(2.5 * stall).min(100.0);
    let pressure = 0.5 * run.weather.density_kg_m3 * speed * speed * body.area;
    let damping =
        |c: f64, length: f64, inertia: f64| (c * pressure * length * length / (2.0 * speed * inertia)).abs();
    let spring = |c: f64, length: f64, inertia: f64| (c * pressure * length / inertia).abs().sqrt();
    let heave = body.CLa.abs() * pressure / (speed * body.mass_kg);
    let ground = run.plant.ground.contacts.iter().map(|c| {
        let felt_kg = crate::ground::felt_mass_kg(model, c.at_body_m);
        (c.stiffness_n_m / felt_kg).sqrt().max(c.damping_n_s_m / felt_kg)
    });
    let fastest = ground
        .chain([
            damping(body.Clp, body.span, body.ixx),
            damping(body.Cnr, body.span, body.izz),
            damping(body.Cmq + body.Cm_alphadot, body.chord, body.iyy) + heave,
            spring(body.Cma, body.chord, body.iyy),
            spring(body.Cnb, body.span, body.izz),
        ])
        .filter(|r| r.is_finite())
        .fold(0.0, f64::max);
    let most = match watch.method {
        Method::AdamsBashforth4 => MOST_ADAMS,
        Method::RungeKutta4 => MOST_RUNGE,
    };
    if fastest * watch.step_s <= most {
        Ok(())
    } else {
        Err(Refused::Step { step_s: watch.step_s, most_s: most / fastest })
    }
}

fn stall_m_s(run: &Run) -> f64 {
    let body = &run.plant.body;
    let lift = body.model.aerodynamics.cl_max.max(0.1) * body.model.aerodynamics.area_m2;
    let weight = body.model.mass_kg * numerics::units::G_M_S2;
    (2.0 * weight / (run.weather.density_kg_m3 * lift)).sqrt()
}

/// What a reader should know.
pub(super) fn remarks(run: &Run, height_m: f64) -> Vec<Remark> {
    let mut remarks = Vec::new();
    let wind_m_s = run.weather.wind.speed_at(height_m.max(1.0));
    let stall_m_s = stall_m_s(run);
    if wind_m_s > stall_m_s {
        remarks.push(Remark::WindAboveFlyingSpeed { wind_m_s, stall_m_s });
    }
    let model = &run.plant.body.model;
    let thrust = model.thrust.as_ref().map_or(0.0, |t| t.nearest(run.motor.flight, 0.0).thrust_n);
    let share = thrust / (model.mass_kg * numerics::units::G_M_S2);
    if share <= 1e-3 {
        remarks.push(Remark::NoThrust);
    } else if share < 0.15 {
        remarks.push(Remark::LittleThrust { share });
    }
    remarks
}
