//! An invented aircraft and recordings put together from closed forms.

use std::sync::Arc;

use aircraft::controller::Controller;
use aircraft::finding::Window;
use aircraft::limits::{Flown, Limits};
use aircraft::movable::{Linkage, Mix, Movable, Panels, Servo};
use aircraft::section::{Section, Shape};
use aircraft::surface::{Role, Station, Surface};
use aircraft::{Aircraft, Known, Layout};
use fly::phases::{Phase, PhaseKind};
use fly::recording::{Channel, Quantity, Recording};
use numerics::Vec3;
use numerics::units::{G_M_S2, RAD_PER_DEG};

/// Cruise speed of the invented aircraft, m/s.
pub(crate) const CRUISE_M_S: f64 = 14.0;

fn surface(name: &str, role: Role, x_m: f64, half_span_m: f64, chord_m: f64) -> Surface {
    let station = |along_m: f64| Station {
        along_m,
        leading_edge_m: Vec3::new(x_m, along_m, 0.0),
        chord_m,
        twist_rad: 0.0,
        section: Section {
            name: "naca 2412".into(),
            shape: Shape::Naca4 { camber: 0.02, camber_at: 0.4, thickness: 0.12 },
        },
    };
    Surface { name: name.into(), role, mirrored: true, stations: vec![station(0.0), station(half_span_m)] }
}

fn servo(channel: &str) -> Servo {
    Servo {
        channel: channel.into(),
        centre_us: 1500.0,
        centre_sd_us: 0.0,
        travel_us: 400.0,
        reversed: false,
        travel_rad: 45.0 * RAD_PER_DEG,
        speed_rad_s: 10.0,
        torque_nm: None,
    }
}

fn movable(name: &str, surface: usize, panels: Panels, outer_m: f64, mix: Mix) -> Movable {
    Movable {
        name: name.into(),
        surface,
        panels,
        inner_m: 0.0,
        outer_m,
        hinge_inner: 0.75,
        hinge_outer: 0.75,
        throw_up_rad: 20.0 * RAD_PER_DEG,
        throw_down_rad: 20.0 * RAD_PER_DEG,
        mix,
        servo: servo(&format!("servo {name}")),
        servo_left: (panels == Panels::Pair).then(|| servo(&format!("servo {name} left"))),
        linkage: Linkage { arm_m: 0.0, horn_m: 0.02, base_m: 0.0, thread_pitch_m: 0.0005 },
    }
}

/// An invented aircraft: wing with ailerons, tailplane with elevator, mounting angle 1 degree as set.
pub(crate) fn aircraft() -> Aircraft {
    Aircraft {
        name: "invented".into(),
        layout: Layout::Conventional,
        datum: "nose".into(),
        surfaces: vec![
            surface("wing", Role::Wing, 0.3, 0.7, 0.2),
            surface("tailplane", Role::Tailplane, 0.9, 0.25, 0.12),
        ],
        movables: vec![
            movable("aileron", 0, Panels::Pair, 0.7, Mix { roll: 1.0, ..Mix::default() }),
            movable("elevator", 1, Panels::One, 0.25, Mix { pitch: 1.0, ..Mix::default() }),
        ],
        masses: Vec::new(),
        weighed: None,
        drive: None,
        fuselages: Vec::new(),
        controller: Controller {
            mounting_pitch_rad: Known::stated(RAD_PER_DEG, 0.01),
            mounting_roll_rad: Known::stated(0.0, 0.01),
            loop_hz: 500.0,
            delay_s: 0.01,
            largest_rate_rad_s: [3.0, 2.0, 1.0],
            largest_angle_rad: [0.8, 0.5],
            gains: [None; 3],
            level_per_s: 4.0,
            reference_speed_m_s: None,
            switch: Vec::new(),
            failsafe_throttle: None,
        },
        limits: Limits { cruise_m_s: Some(CRUISE_M_S), ..Limits::default() },
        flown: Flown::default(),
        care: aircraft::care::Care::default(),
        drags: Vec::new(),
        start: aircraft::start::Start::default(),
    }
}

/// A channel of a quantity.
pub(crate) fn channel(quantity: Quantity, time_s: &Arc<Vec<f64>>, values: Vec<f64>) -> Channel {
    Channel { quantity, source: String::new(), time_s: Arc::clone(time_s), values }
}

/// A recording of channels.
pub(crate) fn recording(channels: Vec<Channel>) -> Recording {
    Recording { rows: channels.first().map_or(0, |c| c.values.len()), channels, ..Recording::default() }
}

/// A phase.
pub(crate) fn phase(kind: PhaseKind, from_s: f64, to_s: f64) -> Phase {
    Phase { kind, window: Window { from_s, to_s }, confidence: 1.0 }
}

/// What a closed-form flight is made of. Headings in degrees; a leg from one heading to another is a turn.
pub(crate) struct Flight {
    /// (from heading, to heading, seconds, airspeed, flight path angle in degrees)
    pub(crate) legs: Vec<(f64, f64, f64, f64, f64)>,
    /// Wind, north and east, at the height of the begin, m/s.
    pub(crate) wind_m_s: [f64; 2],
    /// Change of the wind with height, north and east, 1/s.
    pub(crate) shear_per_s: [f64; 2],
}

/// One moment of a closed-form flight.
#[derive(Clone, Copy)]
pub(crate) struct Moment {
    pub(crate) time_s: f64,
    pub(crate) heading_rad: f64,
    pub(crate) airspeed_m_s: f64,
    pub(crate) path_rad: f64,
    pub(crate) height_m: f64,
    pub(crate) velocity_m_s: [f64; 3],
    pub(crate) straight: bool,
}

impl Flight {
    /// Moments at 10 Hz, and the phases.
    pub(crate) fn fly(&self) -> (Vec<Moment>, Vec<Phase>) {
        self.fly_every(0.1)
    }

    /// Moments a step apart, and the phases.
    pub(crate) fn fly_every(&self, step_s: f64) -> (Vec<Moment>, Vec<Phase>) {
        let (mut time_s, mut height_m) = (0.0, 50.0);
        let (mut moments, mut phases) = (Vec::new(), Vec::new());
        for (from, to, seconds, airspeed_m_s, path_deg) in &self.legs {
            let steps = (seconds / step_s).round() as usize;
            let straight = from == to;
            let begin = time_s;
            for k in 0..steps {
                let heading_rad = (from + (to - from) * k as f64 / steps as f64) * RAD_PER_DEG;
                let path_rad = path_deg * RAD_PER_DEG;
                let level = airspeed_m_s * path_rad.cos();
                let up = height_m - 50.0;
                moments.push(Moment {
                    time_s,
                    heading_rad,
                    airspeed_m_s: *airspeed_m_s,
                    path_rad,
                    height_m,
                    velocity_m_s: [
                        level * heading_rad.cos() + self.wind_m_s[0] + self.shear_per_s[0] * up,
                        level * heading_rad.sin() + self.wind_m_s[1] + self.shear_per_s[1] * up,
                        -airspeed_m_s * path_rad.sin(),
                    ],
                    straight,
                });
                time_s += step_s;
                height_m += airspeed_m_s * path_rad.sin() * step_s;
            }
            let kind = if straight { PhaseKind::Straight } else { PhaseKind::Turn };
            phases.push(phase(kind, begin, time_s));
        }
        (moments, phases)
    }
}

/// Channels of moments.
pub(crate) struct Logged {
    time_s: Arc<Vec<f64>>,
    moments: Vec<Moment>,
    channels: Vec<Channel>,
}

impl Logged {
    /// Ground velocity alone.
    pub(crate) fn velocity(moments: &[Moment]) -> Self {
        let time_s = Arc::new(moments.iter().map(|m| m.time_s).collect());
        Self { time_s, moments: moments.to_vec(), channels: Vec::new() }
            .with(Quantity::VelocityNorth, |m| m.velocity_m_s[0])
            .with(Quantity::VelocityEast, |m| m.velocity_m_s[1])
            .with(Quantity::VelocityDown, |m| m.velocity_m_s[2])
    }

    /// A further channel as a function of the moment.
    pub(crate) fn with(mut self, quantity: Quantity, f: impl Fn(&Moment) -> f64) -> Self {
        let values = self.moments.iter().map(f).collect();
        self.channels.push(channel(quantity, &self.time_s, values));
        self
    }

    /// The attitude that the closed form of the level-attitude relation asks for: reading in pitch = path +
    /// `level_deg` + `slope_deg` ((cruise/airspeed)² cos(path) - 1), with the load factor that goes with it.
    pub(crate) fn with_attitude(self, level_deg: f64, slope_deg: f64) -> Self {
        self.with(Quantity::Pitch, move |m| {
            let lift = m.path_rad.cos() * (CRUISE_M_S / m.airspeed_m_s).powi(2) - 1.0;
            m.path_rad + (level_deg + slope_deg * lift) * RAD_PER_DEG
        })
        .with(Quantity::ForceZ, |m| -G_M_S2 * m.path_rad.cos())
        .with(Quantity::Roll, |m| if m.straight { 0.0 } else { 0.5 })
    }

    pub(crate) fn done(self) -> Recording {
        recording(self.channels)
    }
}
