//! What did the pilot do with the sticks on purpose? Steps, pulses, doublets, multi-steps and sweeps, found in the
//! demands.
//!
//! A movement on purpose stands out from the correcting that goes on all the time: the stick is flicked from one place to
//! another and held there; or it rests, leaves its place quickly and far, and rests again. The place where it rested before is what a movement is measured from, so that a
//! trimmed stick is no input. What lies between two rests is cut into lobes, each to one side, and the lobes tell the
//! kind. A sweep begins slowly; it is known by its lobes, which become shorter (or longer) one after the other.

use crate::phases;
use crate::recording::{Channel, Quantity, Recording};
use crate::resample;

mod edges;
mod lobes;
mod rests;

use lobes::{Lobe, Shape};

/// Which stick was moved.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Axis {
    /// Roll stick, right wing down positive.
    Roll,
    /// Pitch stick, nose up positive.
    Pitch,
    /// Yaw stick, nose right positive.
    Yaw,
    /// Throttle, more positive.
    Throttle,
}

impl Axis {
    /// Every axis.
    pub const ALL: [Self; 4] = [Self::Roll, Self::Pitch, Self::Yaw, Self::Throttle];

    /// Its word in documents and on pages.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Roll => "roll",
            Self::Pitch => "pitch",
            Self::Yaw => "yaw",
            Self::Throttle => "throttle",
        }
    }

    /// The channel that carries its demand.
    #[must_use]
    pub fn demand(self) -> Quantity {
        match self {
            Self::Roll => Quantity::StickRoll,
            Self::Pitch => Quantity::StickPitch,
            Self::Yaw => Quantity::StickYaw,
            Self::Throttle => Quantity::Throttle,
        }
    }
}

/// What the movement looked like.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum InputKind {
    /// Out and held for a second or longer, or not taken back.
    Step,
    /// Out and back within a second.
    Pulse,
    /// Out, as far and as long to the other side, and back.
    Doublet,
    /// Three or more movements to alternating sides, of the same or of differing lengths.
    MultiStep,
    /// To and fro, faster and faster (or slower and slower).
    Sweep,
}

impl InputKind {
    /// Its word in documents and on pages.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Step => "step",
            Self::Pulse => "pulse",
            Self::Doublet => "doublet",
            Self::MultiStep => "multi-step",
            Self::Sweep => "sweep",
        }
    }
}

/// How the stick acted meanwhile, by the recording's own channel.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Control {
    /// Straight to the surfaces.
    Direct,
    /// Commands a turning rate.
    Rate,
    /// Commands an attitude.
    Level,
    /// The recording does not say, or it changed meanwhile.
    Unknown,
}

impl Control {
    /// The way of acting that a recording's number stands for: 0 direct, 1 rate, 2 level.
    #[must_use]
    pub fn of_number(number: f64) -> Self {
        match number.round() as i64 {
            0 if number.is_finite() => Self::Direct,
            1 => Self::Rate,
            2 => Self::Level,
            _ => Self::Unknown,
        }
    }

    /// Its word in documents and on pages.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Direct => "direct",
            Self::Rate => "rate",
            Self::Level => "level",
            Self::Unknown => "unknown",
        }
    }
}

/// One movement of one stick.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Input {
    /// Which stick.
    pub axis: Axis,
    /// What it looked like.
    pub kind: InputKind,
    /// When the stick left its place, s of the recording.
    pub start_s: f64,
    /// When it was back, or at rest elsewhere, s; a step that is held ends five seconds after it began at the latest.
    pub end_s: f64,
    /// The largest demand, as a fraction of full stick from where the stick stood before; its sign is that of the demand.
    /// Of those that are nearly as large the first gives the sign, so that a doublet has that of its first half.
    pub size: f64,
    /// How the stick acted.
    pub control: Control,
    /// How sure it is that this was meant and is of this kind, 0 to 1.
    pub confidence: f64,
}

/// Less than this is not told at all.
const LEAST_CONFIDENCE: f64 = 0.2;
/// Steps longer than this are cut: what is held is flown, s.
const LONGEST_STEP_S: f64 = 5.0;

/// Every movement on purpose in flight, in order of their beginnings; nothing for a recording without sticks. Where the
/// recording has no speed, so that flight cannot be told from the ground, those on the ground are among them.
#[must_use]
pub fn find(recording: &Recording) -> Vec<Input> {
    let airborne = phases::airborne_windows(recording);
    let acts = recording.channel(&Quantity::Acts);
    let mut found: Vec<Input> = Axis::ALL
        .into_iter()
        .filter_map(|axis| Some((axis, recording.channel(&axis.demand())?)))
        .flat_map(|(axis, channel)| on_axis(axis, channel, acts))
        .filter(|i| {
            airborne
                .as_ref()
                .is_none_or(|list| list.iter().any(|w| i.start_s >= w.from_s && i.start_s < w.to_s))
        })
        .collect();
    found.sort_by(|a, b| a.start_s.total_cmp(&b.start_s));
    found
}

/// One stick on an even grid.
struct Stick {
    from_s: f64,
    step_s: f64,
    values: Vec<f64>,
}

impl Stick {
    /// A grid no finer than the channel and no finer than 100 Hz.
    fn of(channel: &Channel) -> Option<Self> {
        const FINEST_S: f64 = 0.01;
        let step_s = resample::usual_step_s(channel)?.max(FINEST_S);
        let (from_s, to_s) = (*channel.time_s.first()?, *channel.time_s.last()?);
        let rows = ((to_s - from_s) / step_s).floor() + 1.0;
        if !(8.0..=1e7).contains(&rows) {
            return None;
        }
        let times: Vec<f64> = (0..rows as usize).map(|i| from_s + i as f64 * step_s).collect();
        Some(Self { from_s, step_s, values: resample::at(channel, &times) })
    }

    fn time_s(&self, place: usize) -> f64 {
        self.from_s + place as f64 * self.step_s
    }

    /// Places in a time, at least one.
    fn places(&self, seconds: f64) -> usize {
        ((seconds / self.step_s).round() as usize).max(1)
    }
}

fn on_axis(axis: Axis, channel: &Channel, acts: Option<&Channel>) -> Vec<Input> {
    let Some(stick) = Stick::of(channel) else {
        return Vec::new();
    };
    // What moves less often than this cannot show how fast it moved.
    let rate = (0.2 / stick.step_s).min(1.0);
    let flicked = edges::movements(&stick);
    let apart =
        |m: &rests::Movement| !flicked.iter().any(|f| m.from <= f.movement.to && f.movement.from <= m.to);
    rests::movements(&stick)
        .iter()
        .filter(|m| apart(m))
        .flat_map(|movement| lobes::between_rests(&stick, movement))
        .chain(flicked.iter().flat_map(|f| lobes::flicked(&stick, f)))
        .map(|shape| told(axis, &stick, &shape, acts, rate))
        .filter(|input| input.confidence >= LEAST_CONFIDENCE)
        .collect()
}

fn told(axis: Axis, stick: &Stick, shape: &Shape, acts: Option<&Channel>, rate: f64) -> Input {
    let start_s = stick.time_s(shape.from);
    let mut end_s = stick.time_s(shape.to);
    if shape.kind == InputKind::Step {
        end_s = end_s.min(start_s + LONGEST_STEP_S);
    }
    Input {
        axis,
        kind: shape.kind,
        start_s,
        end_s,
        size: largest(&shape.lobes),
        control: control(acts, start_s, end_s),
        confidence: (shape.confidence * rate).clamp(0.0, 0.98),
    }
}

/// The largest demand; the sign is that of the first lobe nearly as large, as no hand moves as far to either side.
fn largest(lobes: &[Lobe]) -> f64 {
    let most = lobes.iter().map(|l| l.peak.abs()).fold(0.0, f64::max);
    lobes.iter().find(|l| l.peak.abs() >= 0.7 * most).map_or(0.0, |l| l.peak.signum() * most)
}

fn control(acts: Option<&Channel>, from_s: f64, to_s: f64) -> Control {
    /// Between two samples so far apart the way of acting may have changed.
    const STALE_S: f64 = 2.0;
    let Some(acts) = acts else {
        return Control::Unknown;
    };
    // The last sample before it counts too: slow channels tell a change only.
    let first = acts.time_s.partition_point(|t| *t <= from_s).saturating_sub(1);
    let after = acts.time_s.partition_point(|t| *t < to_s).max(first + 1);
    let fresh = acts.time_s.get(first).is_some_and(|t| *t <= to_s && from_s - t <= STALE_S);
    let mut seen = acts.values.get(first..after).unwrap_or(&[]).iter().filter(|v| v.is_finite());
    let Some(one) = seen.next().filter(|one| fresh && seen.all(|v| v == *one)) else {
        return Control::Unknown;
    };
    Control::of_number(*one)
}
