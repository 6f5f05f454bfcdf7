//! How does it handle? Everything that a flight tells of answers to the sticks, loops and shaking, put together.

use aircraft::Aircraft;
use aircraft::finding::{Change, Window};
use fly::inputs::Input;
use fly::phases::{Phase, PhaseKind};
use fly::recording::Recording;
use motion::model::ForceModel;
use numerics::units::G_M_S2;

use crate::derivatives::{Derivatives, derivatives};
use crate::excitation::Signals;
use crate::feel::{Feel, feel};
use crate::findings::{Learnt, NotLearnt, Wind};
use crate::gains::{MeasuredGains, gains};
use crate::oscillation::{Oscillations, oscillations};
use crate::response::{From, Response, response};
use crate::vibration::{Vibration, vibration};

/// Answers, loops and shaking; arrays are [roll, pitch, yaw].
#[derive(Debug, Clone, PartialEq)]
pub struct Handling {
    /// How each axis answers its surface.
    pub response: [Learnt<Response>; 3],
    /// Gains that the measured response asks for.
    pub gains: [Learnt<MeasuredGains>; 3],
    /// Stabilized against direct flight.
    pub feel: [Learnt<Feel>; 3],
    /// Stability and control derivatives.
    pub derivatives: Learnt<Derivatives>,
    /// Shaking by throttle.
    pub vibration: Learnt<Vibration>,
    /// Loops that swing by themselves.
    pub oscillation: Learnt<Oscillations>,
}

impl Handling {
    /// Nothing of it, for one reason.
    #[must_use]
    pub fn none(why: &NotLearnt) -> Self {
        let no = || Err(why.clone());
        Self {
            response: [no(), no(), no()],
            gains: [Err(why.clone()), Err(why.clone()), Err(why.clone())],
            feel: [Err(why.clone()), Err(why.clone()), Err(why.clone())],
            derivatives: Err(why.clone()),
            vibration: Err(why.clone()),
            oscillation: Err(why.clone()),
        }
    }
}

/// What is known beside the aircraft and the recording.
#[derive(Debug, Clone, Copy, Default)]
pub struct Beside<'a> {
    /// The predicted force model, and the air density (kg/m³) of the flight.
    pub model: Option<(&'a ForceModel, f64)>,
    /// Predicted cruise speed, m/s.
    pub cruise_m_s: Option<f64>,
    /// The wind of the flight.
    pub wind: Option<&'a Wind>,
    /// Pitch that the controller read in level flight (rad), and the airspeed of it (m/s): beside the predicted angle of
    /// attack it tells how the controller really sits.
    pub level: Option<[f64; 2]>,
}

impl Beside<'_> {
    /// By how much the controller sits nose-up of the airframe's axes, rad; nothing where that is not known.
    fn nose_up_rad(&self) -> f64 {
        let (Some((model, density)), Some([reading_rad, speed_m_s])) = (self.model, self.level) else {
            return 0.0;
        };
        let a = &model.aerodynamics;
        let lift = 2.0 * model.mass_kg * G_M_S2 / (density * speed_m_s * speed_m_s * a.area_m2);
        let attack_rad = (lift - a.cl0) / a.derivatives.CLa;
        let nose_up = reading_rad - attack_rad;
        if nose_up.abs() < LARGEST_NOSE_UP_RAD { nose_up } else { 0.0 }
    }
}

/// A controller is not mounted worse than this, rad: then prediction or reading is wrong.
const LARGEST_NOSE_UP_RAD: f64 = 0.35;

/// How it handled in a recording with given movements of the sticks, and the changes that this asks for.
#[must_use]
pub fn handling(
    aircraft: &Aircraft,
    recording: &Recording,
    inputs: &[Input],
    phases: &[Phase],
    beside: &Beside<'_>,
) -> (Handling, Vec<Change>) {
    let vibration = vibration(aircraft, recording, phases);
    let Some(signals) = Signals::of(aircraft, recording, beside.wind) else {
        let why = NotLearnt::MissingChannel { what: "turning rates (gyro)".into() };
        return (Handling { vibration, ..Handling::none(&why) }, Vec::new());
    };
    let signals = signals.turned(beside.nose_up_rad());
    let from =
        From { aircraft, model: beside.model, cruise_m_s: beside.cruise_m_s, signals: &signals, inputs };
    let response = [0, 1, 2].map(|axis| response(&from, axis));
    let mut changes = Vec::new();
    let gains = [0, 1, 2].map(|axis| {
        let (found, asked) = gains(aircraft, axis, &response[axis]);
        changes.extend(asked);
        found
    });
    let flying: Vec<Window> = phases
        .iter()
        .filter(|p| !matches!(p.kind, PhaseKind::Ground | PhaseKind::Launch | PhaseKind::Landing))
        .map(|p| p.window)
        .collect();
    let handling = Handling {
        feel: [0, 1, 2].map(|axis| feel(&signals, inputs, axis)),
        derivatives: derivatives(&from, &response),
        oscillation: oscillations(aircraft, &signals, &flying, &response),
        vibration,
        gains,
        response,
    };
    (handling, changes)
}
