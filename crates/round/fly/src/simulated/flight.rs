//! How does a scripted flight go? Throw, steps, touchdown: all parts moved on together, and the log written.

use std::collections::VecDeque;

use aircraft::Aircraft;
use aircraft::controller::Acts;
use motion::equations::{self, Inputs};
use motion::forces::{Drive, Loads, NotABody, Prepared, Surroundings};
use motion::ground::Ground;
use motion::handling::Handling;
use motion::model::ForceModel;
use motion::stabilizer::{Course, Reading, Settings, Stabilizer};
use motion::state::State;
use motion::trim::{self, Hold, NoTrim, Steady};
use numerics::random::Random;
use numerics::units::G_M_S2;
use numerics::{Vec3, frames};
use sky::atmosphere;
use sky::gusts::MovingAir;

use super::pilot::{Goal, Lateral, Pilot, Power, Seen, Vertical};
use super::plan::{Place, Plan, Speeds};
use super::script::{MadeFlaw, Script, ScriptError, What};
use super::sensors::{self, Column, Log, Moment};
use super::servos::{Demand, Servos};
use super::truth::{Event, TruePulse, Truth};
use crate::recording::Recording;

/// A simulated flight: its log and its truth.
#[derive(Debug, Clone, PartialEq)]
pub struct Flight {
    /// What was so.
    pub truth: Truth,
    time_s: Vec<f64>,
    columns: Vec<Column>,
    flaws: Vec<MadeFlaw>,
}

impl Flight {
    /// The log as CSV text, header first, with the flaws that the script makes. Values that were not there (between
    /// satellite fixes) are empty.
    #[must_use]
    pub fn to_csv(&self) -> String {
        sensors::to_csv(&self.time_s, &self.columns, &self.flaws)
    }

    /// The log as a recording, rounded as the text is. Gaps of the script are in it; time resets and cut-off lines are
    /// of the text only.
    #[must_use]
    pub fn recording(&self) -> Recording {
        sensors::to_recording(&self.time_s, &self.columns, &self.flaws)
    }

    /// The truth as TOML text.
    #[must_use]
    pub fn truth_toml(&self) -> String {
        self.truth.to_toml()
    }
}

/// Why there was no flight.
#[derive(Debug, Clone, PartialEq)]
pub enum NoFlight {
    /// The script does not fit the aircraft.
    Script(Vec<ScriptError>),
    /// The force model is not that of a body.
    Model(NotABody),
    /// The aircraft cannot fly level at the reference speed.
    Reference {
        /// The speed, m/s.
        speed_m_s: f64,
        /// What stands against it.
        why: NoTrim,
    },
    /// There is no air such as the script wants.
    Air,
}

/// Longest flight, s.
const LONGEST_S: f64 = 3600.0;
/// Time over which the arm throws, s (common practice, no source).
const THROW_S: f64 = 0.35;
/// Height of the hand, m.
const HAND_M: f64 = 1.8;
/// Fall of the open voltage of a cell from full to empty, V (flat middle of a lithium-polymer discharge; common
/// practice, no source).
const CELL_FALL_V: f64 = 0.5;

/// Flies a script with an aircraft whose builder believes `model`; the hidden truths of the script are put on top.
///
/// # Errors
/// When script, model or air do not allow a flight: see [`NoFlight`].
pub fn fly(aircraft: &Aircraft, model: &ForceModel, script: &Script) -> Result<Flight, NoFlight> {
    let mut run = Run::new(aircraft, model, script)?;
    run.ground_and_throw();
    while run.time_s < LONGEST_S && run.step() {}
    run.finish(aircraft)
}

/// Everything in motion.
struct Run<'a> {
    script: &'a Script,
    body: Prepared,
    ground: Ground,
    truth_handling: Handling,
    servos: Servos,
    stabilizer: Stabilizer<f64>,
    pilot: Pilot,
    plan: Plan,
    log: Log,
    air: MovingAir,
    cells: f64,
    capacity_ah: f64,
    density_kg_m3: f64,
    dt_s: f64,
    every: usize,
    steps: usize,
    time_s: f64,
    state: State,
    waiting: VecDeque<Demand>,
    acts: Acts,
    side_force_m_s2: f64,
    stalled: f64,
    was_stalled_s: f64,
    at_step: Option<usize>,
    touched_s: Option<f64>,
    rested_s: f64,
    steady: Steadiness,
    outside_s: f64,
    events: Vec<Event>,
}

/// Sums over the straight steps and turns.
#[derive(Default)]
struct Steadiness {
    count: f64,
    height_m: f64,
    airspeed_m_s: f64,
}

impl<'a> Run<'a> {
    fn new(aircraft: &Aircraft, model: &ForceModel, script: &'a Script) -> Result<Self, NoFlight> {
        let believed = Prepared::new(model).map_err(NoFlight::Model)?;
        let body = Prepared::new(&true_model(model, script)).map_err(NoFlight::Model)?;
        let place = &script.place;
        let density_kg_m3 = atmosphere::at(place.elevation_m, place.temperature_k, None, None)
            .map_err(|_| NoFlight::Air)?
            .density_kg_m3;
        let stall_m_s = stall_speed_m_s(model, density_kg_m3);
        let speed_m_s = script
            .reference_speed_m_s
            .or(aircraft.controller.reference_speed_m_s)
            .or(aircraft.limits.cruise_m_s)
            .unwrap_or(1.5 * stall_m_s);
        let at_reference = |body: &Prepared| {
            Handling::of(aircraft, body, speed_m_s, density_kg_m3)
                .map_err(|why| NoFlight::Reference { speed_m_s, why })
        };
        let handling = at_reference(&believed)?;
        let truth_handling = at_reference(&body)?;
        let servos = Servos::new(aircraft, &script.hidden).map_err(NoFlight::Script)?;
        let controller = &aircraft.controller;
        let stabilizer = Stabilizer::new(&Settings::of(controller, &handling, script.gains));
        let pilot = Pilot::new(
            script.pilot,
            handling,
            stabilizer.largest_rate_rad_s(),
            stabilizer.largest_angle_rad(),
            Random::new(script.seed, 1),
        );
        let log = Log::new(
            script.sensors,
            place,
            script.hidden.airspeed_factor,
            sensors::body_from_controller(
                script.hidden.mounting_roll_rad - controller.mounting_roll_rad.value,
                script.hidden.mounting_pitch_rad - controller.mounting_pitch_rad.value,
            ),
            &servos.channels(),
            Random::new(script.seed, 2),
        );
        let dt_s = 1.0 / script.integrate_hz;
        let delay = (controller.delay_s / dt_s).round().clamp(0.0, 1000.0) as usize;
        let powered = model.thrust.is_some();
        let speeds = Speeds { reference_m_s: speed_m_s, approach_m_s: 1.3 * stall_m_s };
        Ok(Self {
            script,
            ground: Ground::belly(&body.model),
            truth_handling,
            servos,
            stabilizer,
            pilot,
            plan: Plan::new(&script.steps, speeds, script.wind.from_rad, powered),
            log,
            air: MovingAir::new(script.wind, script.gust_intensity, None, script.seed, 3),
            cells: aircraft.drive.as_ref().map_or(0.0, |d| f64::from(d.pack.cells)),
            capacity_ah: model.thrust.as_ref().map_or(1.0, |t| t.capacity_ah.max(0.01)),
            density_kg_m3,
            dt_s,
            every: (script.integrate_hz / script.log_hz).round().max(1.0) as usize,
            steps: 0,
            time_s: 0.0,
            state: State::at_rest(),
            waiting: VecDeque::from(vec![Demand::zeros(); delay]),
            acts: script.steps.first().map_or(Acts::Direct, |s| s.acts),
            side_force_m_s2: 0.0,
            stalled: 0.0,
            was_stalled_s: -10.0,
            at_step: None,
            touched_s: None,
            rested_s: 0.0,
            steady: Steadiness::default(),
            outside_s: 0.0,
            events: Vec::new(),
            body,
        })
    }

    fn event(&mut self, what: &str) {
        self.events.push(Event { time_s: self.time_s, what: what.into() });
    }

    /// Held in the hand, then thrown: the motion is the arm's, not the equations'.
    fn ground_and_throw(&mut self) {
        let Some(What::Launch { speed_m_s, elevation_rad, heading_rad, throttle, ground_s, .. }) =
            self.script.steps.first().map(|s| s.what)
        else {
            return;
        };
        let heading = heading_rad.unwrap_or(self.script.wind.from_rad);
        let attitude = frames::ned_from_body(0.0, elevation_rad, heading);
        let begin_throw = ground_s - THROW_S;
        let count = (ground_s / self.dt_s).round() as usize;
        let mut place = Vec3::new(0.0, 0.0, -HAND_M);
        for _ in 0..count {
            let into = (self.time_s - begin_throw).max(0.0);
            let speed = speed_m_s * (into / THROW_S).min(1.0);
            let pull = if into > 0.0 { speed_m_s / THROW_S } else { 0.0 };
            // The motor is started two seconds before the throw.
            let running = self.time_s > begin_throw - 2.0;
            self.pilot.throttle = if running { throttle } else { 0.0 };
            self.state = State {
                position_ned_m: place,
                velocity_body_m_s: Vec3::new(speed, 0.0, 0.0),
                ned_from_body: attitude,
                thrust_level: self.pilot.throttle,
                charge_used_ah: self.state.charge_used_ah,
                ..State::at_rest()
            };
            let around = self.surroundings();
            let loads = self.body.loads(&self.state, &around);
            self.state.charge_used_ah += loads.drive.current_a / 3600.0 * self.dt_s;
            let gravity = attitude.inverse_transform_vector(&Vec3::new(0.0, 0.0, -G_M_S2));
            self.record(&loads, gravity + Vec3::new(pull, 0.0, 0.0));
            place += attitude * Vec3::new(speed, 0.0, 0.0) * self.dt_s;
            self.tick();
        }
        self.state.controls = self.servos.step(self.dt_s);
        self.event("release");
    }

    fn tick(&mut self) {
        self.steps += 1;
        self.time_s = self.steps as f64 * self.dt_s;
    }

    /// Air around the aircraft now, gust moved on by a step.
    fn surroundings(&mut self) -> Surroundings {
        let height_m = self.state.height_m().max(0.0);
        let steady = self.script.wind.ned_at_m_s(height_m);
        let airspeed_m_s = self.state.air_velocity_body_m_s(steady).norm();
        // Without the gradient over the span: the pilot of this simulation fights the rolling gust with movements that
        // a reader of the recording cannot tell from those of the script.
        let air = self.air.step(self.dt_s, height_m, airspeed_m_s, 0.0);
        // Standard air thins by 0.96 parts in ten thousand a metre near the ground (first order of ISO 2533).
        Surroundings {
            density_kg_m3: self.density_kg_m3 * (1.0 - 9.6e-5 * height_m),
            wind_ned_m_s: air.ned_m_s,
            air_rates_body_rad_s: Vec3::new(air.roll_rad_s, 0.0, 0.0),
            height_m,
            ..Surroundings::still(self.density_kg_m3)
        }
    }

    fn record(&mut self, loads: &Loads, force_body_m_s2: Vec3) {
        self.log.keep(self.time_s, &self.state);
        if !self.steps.is_multiple_of(self.every) {
            return;
        }
        let Drive { current_a, rpm, volts, .. } = loads.drive;
        let used = (self.state.charge_used_ah / self.capacity_ah).clamp(0.0, 1.0);
        let moment = Moment {
            time_s: self.time_s,
            state: &self.state,
            force_body_m_s2,
            airspeed_m_s: loads.flow.airspeed_m_s,
            sticks: &self.pilot.sticks,
            throttle: self.pilot.throttle,
            pulses_us: &self.servos.told_us,
            // A model that knows how its pack empties has told the voltage so.
            volts: if self.body.model.details.pack_falls > 0.0 {
                volts
            } else {
                volts - self.cells * CELL_FALL_V * used
            },
            amps: current_a,
            rpm,
            acts: self.acts,
        };
        self.log.write(&moment, self.dt_s * self.every as f64);
    }

    /// One step; whether there is another.
    fn step(&mut self) -> bool {
        let around = self.surroundings();
        let loads = self.body.loads(&self.state, &around);
        let near_ground = self.state.height_m() < self.body.model.aerodynamics.span_m;
        let here = standing_on(around, near_ground.then_some(&self.ground), &self.state);
        let acceleration = equations::acceleration(&self.body, &self.state, &here, &loads);
        let force = acceleration.specific_force_body_m_s2;
        let touching = here.outside_force_body_n != Vec3::zeros();
        self.note(&loads, touching, force);
        self.record(&loads, force);

        let Some(goal) = self.goal(&loads) else {
            self.event("end");
            return false;
        };
        self.acts = goal.acts;
        self.control(&goal, &loads);
        self.state.controls = self.servos.step(self.dt_s);
        let inputs = Inputs { throttle: self.pilot.throttle.clamp(0.0, 1.0) };
        let ground = &self.ground;
        self.state = equations::step(&self.body, &self.state, &inputs, self.dt_s, |_, state| {
            standing_on(around, near_ground.then_some(ground), state)
        });
        self.tick();
        self.rested_s < 4.0 && self.state.position_ned_m.iter().all(|x| x.is_finite())
    }

    /// What happened in this moment.
    fn note(&mut self, loads: &Loads, touching: bool, force: Vec3) {
        self.side_force_m_s2 += (force.y - self.side_force_m_s2) * (self.dt_s / 0.2).min(1.0);
        self.stalled = loads.stalled;
        if self.touched_s.is_none() {
            if loads.drive.outside_table {
                self.outside_s += self.dt_s;
            }
            if loads.stalled > 0.5 {
                if self.time_s - self.was_stalled_s > 2.0 {
                    self.event("stalled");
                }
                self.was_stalled_s = self.time_s;
            }
            if touching {
                self.touched_s = Some(self.time_s);
                self.event("touchdown");
            }
        } else if self.state.velocity_body_m_s.norm() < 0.3
            || self.touched_s.is_some_and(|t| self.time_s - t > 15.0)
        {
            self.rested_s += self.dt_s;
        }
    }

    fn seen(&self, loads: &Loads) -> Seen {
        let (roll_rad, pitch_rad, heading_rad) = frames::roll_pitch_yaw(&self.state.ned_from_body);
        Seen {
            roll_rad,
            pitch_rad,
            heading_rad,
            rates_rad_s: self.state.rates_body_rad_s,
            height_m: self.state.height_m(),
            climb_m_s: -self.state.velocity_ned_m_s().z,
            airspeed_m_s: loads.flow.airspeed_m_s,
            side_force_m_s2: self.side_force_m_s2,
        }
    }

    fn goal(&mut self, loads: &Loads) -> Option<Goal> {
        if self.touched_s.is_some() {
            // On the ground: throttle closed, wings level as long as that helps.
            return Some(Goal {
                lateral: Lateral::Bank(0.0),
                vertical: Vertical::Pitch(0.0),
                power: Power::Fixed(0.0),
                acts: Acts::Direct,
                input: None,
            });
        }
        let seen = self.seen(loads);
        let place = Place {
            north_m: self.state.position_ned_m.x,
            east_m: self.state.position_ned_m.y,
            stalled: self.stalled,
        };
        let goal = self.plan.goal(&seen, &place, self.dt_s)?;
        let now = self.plan.now().map(|(i, step)| (i, step.what));
        if let Some((index, what)) = now {
            if self.at_step != Some(index) {
                self.at_step = Some(index);
                self.event(what.word());
            }
            if matches!(what, What::Straight { .. } | What::Turn { .. }) {
                self.steady.count += 1.0;
                self.steady.height_m += self.state.height_m();
                self.steady.airspeed_m_s += loads.flow.airspeed_m_s;
            }
        }
        Some(goal)
    }

    fn control(&mut self, goal: &Goal, loads: &Loads) {
        let seen = self.seen(loads);
        self.pilot.fly(goal, &seen, self.dt_s);
        if self.touched_s.is_some() {
            self.pilot.sticks *= 0.9;
            self.pilot.throttle = 0.0;
        }
        let (roll_rad, pitch_rad, _, rates_rad_s) = self.log.reading(&self.state);
        let reading = Reading {
            roll_rad,
            pitch_rad,
            course: Course { nose: [1.0, 0.0], place_m: [0.0, 0.0] },
            rates_rad_s: rates_rad_s.into(),
        };
        let demand = self.stabilizer.demand(goal.acts, self.pilot.sticks.into(), &reading, self.dt_s).into();
        self.waiting.push_back(demand);
        if let Some(due) = self.waiting.pop_front() {
            self.servos.tell(&due);
        }
    }

    /// The truth, after all.
    fn finish(self, aircraft: &Aircraft) -> Result<Flight, NoFlight> {
        let n = self.steady.count.max(1.0);
        let height = self.steady.height_m / n;
        let density_kg_m3 = self.density_kg_m3 * (1.0 - 9.6e-5 * height);
        let speed_m_s = self.truth_handling.speed_m_s;
        let hold = if self.body.model.thrust.is_some() { Hold::ClimbAngle(0.0) } else { Hold::Throttle(0.0) };
        let mut wanted =
            Steady { airspeed_m_s: speed_m_s, hold, bank_rad: 0.0, flap_rad: 0.0, density_kg_m3 };
        let mut level = self.truth_handling.level;
        let mut pulses = Vec::new();
        // What the hidden offsets leave standing like a flap changes the trim a little; twice round settles it.
        for _ in 0..3 {
            level =
                trim::steady(&self.body, &wanted).map_err(|why| NoFlight::Reference { speed_m_s, why })?;
            let demand = self.servos.demand_for(&level.state.controls);
            pulses = self.servos.pulses(&demand);
            wanted.flap_rad = self.servos.axes(&pulses).flap_rad;
        }
        let (roll, pitch, _, _) = self.log.reading(&level.state);
        let trims = self
            .servos
            .channels()
            .into_iter()
            .zip(self.servos.centres())
            .zip(pulses)
            .map(|((channel, centre), pulse_us)| TruePulse {
                channel,
                us_from_centre: pulse_us - centre,
                pulse_us,
            })
            .collect();
        let truth = Truth {
            seed: self.script.seed,
            reference_speed_m_s: speed_m_s,
            density_kg_m3,
            flying_height_m: height,
            wind_speed_m_s: self.script.wind.speed_at(height),
            wind_from_rad: self.script.wind.from_rad.rem_euclid(std::f64::consts::TAU),
            level_correction_rad: pitch,
            roll_correction_rad: roll,
            level_pitch_rad: level.pitch_rad,
            level_throttle: level.inputs.throttle,
            trims,
            mean_airspeed_m_s: self.steady.airspeed_m_s / n,
            airspeed_factor: self.script.hidden.airspeed_factor,
            rate_per_rad_s: self.truth_handling.rate_per_rad_s,
            time_constant_s: self.truth_handling.time_constant_s,
            delay_s: aircraft.controller.delay_s,
            pack_resistance_ohm: aircraft.drive.as_ref().map(|d| d.pack.resistance_ohm.value),
            stall_m_s: stall_speed_m_s(&self.body.model, density_kg_m3),
            events: self.events,
            landed: self.rested_s > 0.0,
            outside_drive_table_s: self.outside_s,
        };
        Ok(Flight {
            truth,
            time_s: self.log.time_s,
            columns: self.log.columns,
            flaws: self.script.flaws.clone(),
        })
    }
}

/// Surroundings with the push of the ground, where it is near.
fn standing_on(around: Surroundings, ground: Option<&Ground>, state: &State) -> Surroundings {
    let mut around = around;
    if let Some(ground) = ground {
        let (force, moment) = ground.push(state);
        around.outside_force_body_n = force;
        around.outside_moment_body_nm = moment;
    }
    around
}

fn stall_speed_m_s(model: &ForceModel, density_kg_m3: f64) -> f64 {
    let a = &model.aerodynamics;
    (2.0 * model.mass_kg * G_M_S2 / (density_kg_m3 * a.area_m2 * a.cl_max.max(0.1))).sqrt()
}

/// The model with the hidden factors of the script.
fn true_model(model: &ForceModel, script: &Script) -> ForceModel {
    let hidden = &script.hidden;
    let mut truth = model.clone();
    let a = &mut truth.aerodynamics;
    a.cl0 *= hidden.lift_factor;
    a.cd0 *= hidden.drag_factor;
    a.induced *= hidden.drag_factor;
    let d = &mut a.derivatives;
    d.CLa *= hidden.lift_factor;
    let [roll, pitch, yaw] = hidden.control_factor;
    for c in [&mut d.Clda, &mut d.Cnda, &mut d.CYda] {
        *c *= roll;
    }
    for c in [&mut d.Cmde, &mut d.CLde, &mut d.CDde] {
        *c *= pitch;
    }
    for c in [&mut d.Cldr, &mut d.Cndr, &mut d.CYdr] {
        *c *= yaw;
    }
    if let Some(thrust) = &mut truth.thrust {
        for n in &mut thrust.thrust_n {
            *n *= hidden.thrust_factor;
        }
    }
    truth
}
