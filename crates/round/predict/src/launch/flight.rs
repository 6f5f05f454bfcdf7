//! How does one launch go? A whole flight of `motion` for each draw, several side by side, and what is noted of it.

use aircraft::Aircraft;
use aircraft::controller::{Acts, Gains};
use motion::actuators::Actuators;
use motion::forces::Prepared;
use motion::ground::Ground;
use motion::launch::{Bungee, Device, Rail, Throw};
use motion::model::ForceModel;
use motion::simulate::{self, End, Motor, MotorStart, Plant, Run, Track, Watch, Weather};
use motion::stabilizer::{Settings, Task};
use motion::state::{Controls, State};
use numerics::units::G_M_S2;
use numerics::{Vec3, frames};
use sky::gusts::Scales;
use sky::wind::{Profile, Wind};

use super::inputs::{Drawn, Input, Spread};
use super::outcome::{Noted, Purpose, class};
use super::refuse::Refused;
use super::rolling;
use super::scene::{Method, ROUGHNESS_M, Scene};
use super::tally::{Flown, Launcher, TRACE_S, Trace};
use crate::prediction::Prediction;

/// Gusts of some minutes reach this many standard deviations above the mean wind (common practice, no source).
const PEAK_FACTOR: f64 = 3.0;
/// Vertical gusts over the mean wind at 20 ft (MIL-F-8785C, low altitude).
const USUAL_INTENSITY: f64 = 0.1;
/// Least mean wind that carries gusts, m/s: out of a calm they come with a breath of wind.
const LEAST_WIND_M_S: f64 = 0.3;
/// Turning rate that a pilot asks for per angle of error, 1/s (judgement, no source).
const PILOT_PER_S: f64 = 2.0;
/// How much of the steady answer a pilot adds against a turning rate that is not wanted (judgement, no source).
const PILOT_DAMPING: f64 = 0.15;
/// Looks of a pilot a second (judgement, no source).
const PILOT_HZ: f64 = 20.0;
/// Reaction times are told apart by this much, s: those alike fly side by side.
const REACTION_STEP_S: f64 = 0.05;
/// Where the hook of a cord sits below and ahead of the balance point, over the mean chord (common practice, no source).
const HOOK: [f64; 2] = [0.25, 0.3];
/// Length of cord and line without pull over its stretch (common practice, no source).
const SLACK_OVER_STRETCH: f64 = 2.0;
/// Angle of the line to the nose at which it slips off the hook, rad.
const SLIPS_OFF_RAD: f64 = 1.4;
/// Time at the begin over which gusts are noted, s.
const FELT_S: f64 = 1.0;

/// A scene made ready to be launched many times.
#[derive(Debug, Clone)]
pub struct Launching {
    pub(super) scene: Scene,
    pub(super) model: ForceModel,
    pub(super) stall_m_s: f64,
    pub(super) density_kg_m3: f64,
    purpose: Purpose,
    actuators: Actuators,
    controller: Settings,
    pilot: Settings,
    elevator_trim_rad: f64,
}

impl Launching {
    /// Makes an aircraft as predicted ready for a scene, and flies the middle of what scatters once to see that it can be
    /// computed.
    ///
    /// # Errors
    /// When `motion` refuses the flight: a step that is too large, a number that cannot be.
    pub fn new(aircraft: &Aircraft, p: &Prediction, scene: &Scene) -> Result<Self, Refused> {
        let controller = &aircraft.controller;
        let actuators = Actuators::of(aircraft);
        let answer = |rate: &crate::prediction::Outcome<f64>| rate.as_ref().map_or(0.0, |v| v.abs());
        let rates = [answer(&p.control.roll_rate_per_rad_s), answer(&p.control.pitch_rate_per_rad_s), 0.0];
        let (mut gains, mut hands) = ([Gains::default(); 3], [Gains::default(); 3]);
        for (i, (gain, hand)) in gains.iter_mut().zip(&mut hands).enumerate() {
            let stated = controller.gains.get(i).copied().flatten();
            let predicted = p.gains.get(i).and_then(|g| g.as_ref().ok()).copied();
            *gain = stated.or(predicted).unwrap_or_default();
            let rate = rates.get(i).copied().unwrap_or(0.0);
            if rate > 1e-3 {
                *hand = Gains {
                    feed_forward_s: 1.0 / rate,
                    proportional_s: PILOT_DAMPING / rate,
                    ..Gains::default()
                };
            }
        }
        let settings = Settings {
            gains,
            level_per_s: if controller.level_per_s > 0.0 { controller.level_per_s } else { 4.0 },
            largest_rate_rad_s: controller.largest_rate_rad_s,
            largest_angle_rad: controller.largest_angle_rad,
            throw_rad: actuators.throw_rad(),
            speed_m_s: p.speeds.cruise_m_s.value,
            loop_hz: controller.loop_hz,
            delay_s: controller.delay_s,
            filter_s: 0.0,
        };
        let powered = p.model.thrust.is_some() && scene.throttle > 0.0;
        let ready = Self {
            scene: *scene,
            model: p.model.clone(),
            stall_m_s: p.speeds.stall_m_s.value,
            density_kg_m3: p.density_kg_m3,
            purpose: if !powered && matches!(scene.method, Method::Hand) {
                Purpose::Glide
            } else {
                Purpose::ClimbOut
            },
            actuators,
            controller: settings,
            pilot: Settings { gains: hands, level_per_s: PILOT_PER_S, loop_hz: PILOT_HZ, ..settings },
            elevator_trim_rad: p.speeds.cruise_elevator_rad.as_ref().map_or(0.0, |k| k.value),
        };
        ready.checked()?;
        Ok(ready)
    }

    /// The scene.
    #[must_use]
    pub fn scene(&self) -> &Scene {
        &self.scene
    }

    /// The same aircraft in another scene: with more steps a second where the other scene is faster.
    #[must_use]
    pub fn in_scene(&self, scene: &Scene) -> Self {
        let mut other = Self { scene: *scene, ..self.clone() };
        if let Err(Refused::Step { least_hz, .. }) = other.checked() {
            other.scene.rate_hz = (1.05 * least_hz).ceil().max(scene.rate_hz);
        }
        other
    }

    /// Begins one launch, as fast as any that is drawn, to see whether it can be computed.
    fn checked(&self) -> Result<(), Refused> {
        let mut fast = self.scene.scatter;
        for input in Input::ALL {
            let Spread { mean, sd } = fast.of(input);
            let mean = match input {
                Input::Speed | Input::WindFactor | Input::BalanceAft => mean + 3.0 * sd,
                Input::MassFactor => mean - 3.0 * sd,
                _ => mean,
            };
            fast.set(input, Spread { mean, sd: 0.0 });
        }
        let drawn = Drawn::new(&fast, 0, 0);
        let plant = self.plant(&drawn).map_err(Refused::NotABody)?;
        let rate_hz = self.scene.rate_hz;
        let watch = Watch { for_s: 10.0 / rate_hz, ..self.watch(false) };
        match simulate::fly(&self.run(&plant, &drawn), &watch) {
            Ok(_) => Ok(()),
            Err(simulate::Refused::Step { most_s, .. }) => {
                Err(Refused::Step { rate_hz, least_hz: 1.0 / most_s })
            }
            Err(why) => Err(Refused::Motion(why)),
        }
    }

    fn watch(&self, traces: bool) -> Watch {
        Watch {
            step_s: 1.0 / self.scene.rate_hz,
            sample_s: if traces { TRACE_S } else { f64::INFINITY },
            ..Watch::launch(self.scene.seconds)
        }
    }

    /// The model as one launch has it.
    fn model_of(&self, drawn: &Drawn) -> ForceModel {
        let mut model = self.model.clone();
        let mass = drawn.of(Input::MassFactor);
        model.mass_kg *= mass;
        model.inertia_kg_m2 *= mass;
        let a = &mut model.aerodynamics;
        // Moments about a balance point farther aft: the forces act so much farther ahead of it.
        let aft_m = drawn.of(Input::BalanceAft);
        let (pitch, yaw) = (aft_m / a.mean_chord_m, aft_m / a.span_m);
        a.cm0 += a.cl0 * pitch;
        let d = &mut a.derivatives;
        d.Cma += d.CLa * pitch;
        d.Cmde += d.CLde * pitch;
        d.Cmdf += d.CLdf * pitch;
        d.Cnb += d.CYb * yaw;
        d.Cndr += d.CYdr * yaw;
        a.cd0 *= drawn.of(Input::DragFactor);
        a.cl_max *= drawn.of(Input::LiftFactor);
        a.cl_min *= drawn.of(Input::LiftFactor);
        if let Some(thrust) = &mut model.thrust {
            let factor = drawn.of(Input::ThrustFactor);
            thrust.thrust_n.iter_mut().for_each(|t| *t *= factor);
        }
        model
    }

    fn plant(&self, drawn: &Drawn) -> Result<Plant, motion::forces::NotABody> {
        let model = self.model_of(drawn);
        let stabilizer = match self.scene.acts {
            Acts::Level => self.controller,
            // The controller damps, and follows what a pilot asks of it more slowly.
            Acts::Rate => Settings { level_per_s: PILOT_PER_S, ..self.controller },
            Acts::Direct => {
                let delay = (drawn.of(Input::Reaction) / REACTION_STEP_S).round() * REACTION_STEP_S;
                Settings { delay_s: delay.min(1.0), ..self.pilot }
            }
        };
        Ok(Plant {
            ground: Ground::belly(&model),
            body: Prepared::new(&model)?,
            actuators: self.actuators,
            stabilizer,
        })
    }

    fn run<'a>(&self, plant: &'a Plant, drawn: &Drawn) -> Run<'a> {
        let scene = &self.scene;
        let (wind, gust_intensity) = self.wind_of(drawn);
        let delay_s = drawn.of(Input::MotorDelay);
        Run {
            plant,
            device: self.device(drawn, &wind),
            task: Task::AssistedLaunch { pitch_rad: scene.climb_pitch_rad },
            motor: Motor {
                idle: 0.0,
                flight: scene.throttle,
                starts: if delay_s < 0.0 { MotorStart::Running } else { MotorStart::After { delay_s } },
            },
            weather: Weather {
                wind,
                gust_intensity,
                single: None,
                density_kg_m3: self.density_kg_m3,
                seed: drawn.seed,
                stream: drawn.gust_stream(),
            },
            trim: Controls {
                aileron_rad: drawn.of(Input::AileronOff),
                elevator_rad: self.elevator_trim_rad + drawn.of(Input::ElevatorOff),
                ..Controls::default()
            },
            reads_too_much_rad: [0.0; 2],
            charge_used_ah: 0.0,
        }
    }

    fn device(&self, drawn: &Drawn, wind: &Wind) -> Device {
        let scene = &self.scene;
        let heading_rad = scene.heading_rad + drawn.of(Input::Direction);
        let (elevation_rad, height_m) = (drawn.of(Input::Elevation), drawn.of(Input::Height));
        let (speed_m_s, bank_rad) = (drawn.of(Input::Speed), drawn.of(Input::Bank));
        let mass_kg = self.model.mass_kg * drawn.of(Input::MassFactor);
        let rates = [Input::RollRate, Input::PitchRate, Input::YawRate].map(|i| drawn.of(i));
        match &scene.method {
            Method::Hand => Device::Hand(Throw {
                nose_up_rad: drawn.of(Input::NoseUp),
                bank_rad,
                rates_rad_s: rates,
                ..Throw::clean(speed_m_s, elevation_rad, heading_rad, height_m)
            }),
            Method::Bungee(cord) => {
                let chord = self.model.aerodynamics.mean_chord_m;
                // The speed drawn is what the energy of the cord gives in still air.
                let stretch_m = speed_m_s * (mass_kg / (cord.efficiency * cord.stiffness_n_m)).sqrt();
                Device::Bungee(Bungee {
                    slack_m: SLACK_OVER_STRETCH * cord.stretch_m,
                    stretch_m,
                    stiffness_n_m: cord.stiffness_n_m,
                    returned: cord.efficiency,
                    hook_body_m: Vec3::new(HOOK[1] * chord, 0.0, HOOK[0] * chord),
                    heading_rad,
                    pitch_rad: elevation_rad,
                    bank_rad,
                    height_m,
                    slips_off_rad: SLIPS_OFF_RAD,
                })
            }
            Method::Rail(rail) => {
                // The speed drawn is what the work of the rail gives in still air, lifting counted.
                let push =
                    mass_kg * (speed_m_s * speed_m_s / (2.0 * rail.length_m) + G_M_S2 * elevation_rad.sin());
                Device::Rail(Rail {
                    length_m: rail.length_m,
                    force_begin_n: push.max(0.0),
                    force_end_n: push.max(0.0),
                    carriage_kg: 0.0,
                    elevation_rad,
                    bank_rad,
                    heading_rad,
                    height_m,
                })
            }
            Method::Rolling(_) => Device::Flying(self.lifted_off(drawn, wind, heading_rad, rates)),
        }
    }

    /// A rolling take-off at the moment of lift-off: the speed drawn is an airspeed.
    fn lifted_off(&self, drawn: &Drawn, wind: &Wind, heading_rad: f64, rates: [f64; 3]) -> State {
        let path = drawn.of(Input::Elevation);
        let speed = (drawn.of(Input::Speed) - headwind_m_s(wind, heading_rad)).max(0.0);
        let nose = self.elevated_rad() + drawn.of(Input::NoseUp);
        let attitude = frames::ned_from_body(drawn.of(Input::Bank), path + nose, heading_rad);
        let velocity = frames::ned_from_body(0.0, path, heading_rad) * Vec3::new(speed, 0.0, 0.0);
        State {
            position_ned_m: Vec3::new(0.0, 0.0, -drawn.of(Input::Height)),
            velocity_body_m_s: attitude.inverse_transform_vector(&velocity),
            ned_from_body: attitude,
            rates_body_rad_s: rates.into(),
            thrust_level: self.scene.throttle,
            ..State::at_rest()
        }
    }

    /// Angle of attack at lift-off, rad: that which carries the weight at the mean lift-off airspeed.
    fn elevated_rad(&self) -> f64 {
        let a = &self.model.aerodynamics;
        let speed = self.scene.scatter.of(Input::Speed).mean.max(1.0);
        let cl = self.model.mass_kg * G_M_S2 / (0.5 * self.density_kg_m3 * speed * speed * a.area_m2);
        ((cl.min(a.cl_max) - a.cl0) / a.derivatives.CLa.max(0.5)).clamp(-0.2, 0.35)
    }

    /// The mean wind of one launch and the strength of its gusts over it.
    fn wind_of(&self, drawn: &Drawn) -> (Wind, f64) {
        let breeze = &self.scene.wind;
        let mut wind = Wind {
            speed_m_s: breeze.speed_m_s * drawn.of(Input::WindFactor),
            from_rad: breeze.from_rad + drawn.of(Input::WindShift),
            reference_height_m: breeze.height_m,
            profile: Profile::Log { roughness_m: ROUGHNESS_M },
        };
        let height_m = 20.0 * numerics::units::M_PER_FT;
        let Some(gust) = breeze.gust_m_s else {
            return (wind, USUAL_INTENSITY);
        };
        let sd = (gust - breeze.speed_m_s).max(0.0) / PEAK_FACTOR;
        if sd > 0.0 {
            wind.speed_m_s = wind.speed_m_s.max(LEAST_WIND_M_S);
        }
        // The intensity whose gusts along the wind have the standard deviation that the told gust speaks of.
        let per_vertical =
            Scales::low_altitude(height_m, 1.0).map_or(1.9, |s| s.along_sd_m_s / s.vertical_sd_m_s.max(1e-9));
        let at_20_ft = wind.speed_at(height_m).max(1e-6);
        (wind, (sd / per_vertical / at_20_ft).min(1.0))
    }

    /// Whether a rolling take-off gets as far as lifting off.
    fn lifts_off(&self, plant: &Plant, drawn: &Drawn) -> bool {
        let Method::Rolling(run) = &self.scene.method else {
            return true;
        };
        let (wind, _) = self.wind_of(drawn);
        let way = rolling::ground_run_m(
            &plant.body,
            run.ground.rolling_resistance(),
            drawn.of(Input::Speed),
            headwind_m_s(&wind, self.scene.heading_rad),
            self.scene.throttle,
            self.density_kg_m3,
        );
        way.is_some_and(|way| way <= run.length_m)
    }

    fn flown(&self, drawn: &Drawn, noted: Noted, trace: Option<Trace>) -> Flown {
        let outcome = class(&noted, &self.scene.limits, self.purpose);
        Flown { drawn: *drawn, noted, outcome, trace }
    }

    /// What is noted of a track.
    fn noted(&self, drawn: &Drawn, track: &Track, traces: bool) -> Flown {
        let facts = &track.facts;
        let limits = &self.scene.limits;
        let end_s = facts.touch.map_or(f64::INFINITY, |t| t.time_s);
        let mut drawn = *drawn;
        let mut noted = Noted {
            released_m: drawn.of(Input::Height),
            lowest_m: facts.lowest_m,
            bank_rad: facts.greatest_bank_rad,
            stalled_s: facts.stalled_s,
            touched_at_s: facts.touch.map(|t| t.time_s),
            touched_sink_m_s: facts.touch.map_or(0.0, |t| t.sink_m_s),
            stayed_down: facts.end == End::Held,
            diverged: matches!(facts.end, End::Diverged { .. }),
            followed_s: self.scene.seconds,
            ..Noted::default()
        };
        let (sin, cos) = self.scene.heading_rad.sin_cos();
        let (wind, _) = self.wind_of(&drawn);
        let mut trace = traces.then(Trace::default);
        let (mut behind, mut up, mut count, mut stalled_s) = (0.0, 0.0, 0.0, 0.0);
        for sample in track.samples.iter().filter(|s| s.time_s < end_s) {
            let (roll, _, _) = sample.roll_pitch_yaw();
            noted.end_m = sample.height_m();
            noted.end_over_stall = sample.airspeed_m_s / self.stall_m_s;
            noted.end_bank_rad = roll.abs();
            let Some(trace) = &mut trace else {
                continue;
            };
            let at = &sample.position_ned_m;
            trace.height_m.push(sample.height_m() as f32);
            trace.airspeed_m_s.push(sample.airspeed_m_s as f32);
            trace.along_m.push((at.x * cos + at.y * sin) as f32);
            trace.right_m.push((at.y * cos - at.x * sin) as f32);
            if noted.rolled_at_s.is_none() && roll.abs() > limits.bank_rad {
                noted.rolled_at_s = Some(sample.time_s);
            }
            stalled_s += if sample.stalled > 0.5 { TRACE_S } else { 0.0 };
            if noted.stalled_at_s.is_none() && stalled_s > limits.stalled_s {
                noted.stalled_at_s = Some(sample.time_s);
            }
            if sample.time_s <= FELT_S && sample.released {
                // The gust is what speed and angle of attack differ from those in the mean wind.
                let even = sample.velocity_ned_m_s - wind.ned_at_m_s(sample.height_m().max(0.0));
                let body = sample.ned_from_body.inverse_transform_vector(&even);
                behind += even.norm() - sample.airspeed_m_s;
                up += (sample.alpha_rad - body.z.atan2(body.x)) * sample.airspeed_m_s;
                count += 1.0;
            }
        }
        if let Some(touch) = facts.touch {
            noted.end_bank_rad = touch.bank_rad.abs();
        }
        if count > 0.0 {
            drawn.note(Input::GustBehind, behind / count);
            drawn.note(Input::GustUp, up / count);
        }
        self.flown(&drawn, noted, trace)
    }
}

impl Launcher for Launching {
    fn launch(&self, batch: &[Drawn], traces: bool) -> Vec<Flown> {
        let plants: Vec<Option<Plant>> = batch
            .iter()
            .map(|drawn| self.plant(drawn).ok().filter(|plant| self.lifts_off(plant, drawn)))
            .collect();
        let runs: Vec<Run> = batch
            .iter()
            .zip(&plants)
            .filter_map(|(drawn, plant)| plant.as_ref().map(|p| self.run(p, drawn)))
            .collect();
        let mut tracks = simulate::fly_all(&runs, &self.watch(traces)).into_iter();
        batch
            .iter()
            .zip(&plants)
            .map(|(drawn, plant)| {
                let apart = |noted| self.flown(drawn, noted, None);
                match plant {
                    None => apart(Noted { stayed_down: true, ..Noted::default() }),
                    Some(_) => match tracks.next() {
                        Some(Ok(track)) => self.noted(drawn, &track, traces),
                        // What one draw makes of a scene that can be computed, and cannot itself: counted as such.
                        _ => apart(Noted { diverged: true, ..Noted::default() }),
                    },
                }
            })
            .collect()
    }
}

/// Wind against a heading at the height of a model on the ground, m/s.
fn headwind_m_s(wind: &Wind, heading_rad: f64) -> f64 {
    let air = wind.ned_at_m_s(1.0);
    -(air.x * heading_rad.cos() + air.y * heading_rad.sin())
}
