//! What is said of a response: whether it suffices, why, and what more to fly?

use aircraft::finding::Window;
use fly::inputs::{Control, Input, InputKind};
use numerics::fit::NoFit;

use super::models::Fitted;
use crate::excitation::place_of;

/// Two standard deviations of the gain over itself at which it suffices, and what further flights are to bring.
const GAIN_ENOUGH: f64 = 0.10;
const GAIN_GOAL: f64 = 0.05;
/// The same of the time constant.
const TIME_ENOUGH: f64 = 0.30;
/// Two standard deviations of the delay, s.
const DELAY_ENOUGH_S: f64 = 0.02;
/// Fewest inputs that suffice: one may have met a gust, of two nobody can say which.
const FEWEST: usize = 3;

/// A small number in words.
pub(crate) fn count(n: usize) -> String {
    const WORDS: [&str; 13] = [
        "no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven",
        "twelve",
    ];
    WORDS.get(n).map_or_else(|| n.to_string(), |w| (*w).to_owned())
}

/// How many more inputs bring a relative doubt down to a goal: doubts fall with the square root of their number.
pub(crate) fn more(now: usize, doubt: f64, goal: f64) -> usize {
    let needed = (now as f64 * ((doubt / goal).powi(2) - 1.0)).ceil();
    if needed.is_finite() { needed.clamp(0.0, 999.0) as usize } else { 999 }
}

/// Full movements of the stick to one side and back in an input.
pub(super) fn strokes(kind: InputKind, window: Window) -> usize {
    match kind {
        InputKind::Step | InputKind::Pulse => 1,
        InputKind::Doublet => 2,
        InputKind::MultiStep => 4,
        // A sweep of half to a few turns a second, about two a second to either side.
        InputKind::Sweep => (2.0 * (window.to_s - window.from_s)).max(2.0) as usize,
    }
}

/// What inputs are called together.
pub(crate) fn called(kinds: &[InputKind], n: usize) -> String {
    let one = kinds.first().filter(|k| kinds.iter().all(|other| other == *k));
    let word = one.map_or("input", |k| k.word());
    if n == 1 { word.to_owned() } else { format!("{word}s") }
}

/// What was flown, for verdicts.
pub(super) struct Flown {
    pub(super) axis: &'static str,
    pub(super) kinds: Vec<InputKind>,
    pub(super) inputs: usize,
    pub(super) good: usize,
    pub(super) explained: f64,
    pub(super) speed_known: bool,
}

impl Flown {
    fn opening(&self) -> String {
        let of = if self.inputs > self.good { format!(" of {}", count(self.inputs)) } else { String::new() };
        let speed =
            if self.speed_known { "" } else { ", of unknown airspeed and so not brought to one speed" };
        format!(
            "{}{of} good {} {}{speed}; the model explains {:.0} % of the rate",
            count(self.good),
            self.axis,
            called(&self.kinds, self.good),
            100.0 * self.explained
        )
    }

    fn verdict(&self, what: &str, doubt: f64, enough: f64, goal: f64, told: &str) -> (bool, String) {
        let few = self.good < FEWEST;
        let is_enough = !few && doubt <= enough;
        let kind = |n| called(&self.kinds, n);
        let mut text = self.opening();
        let needed = more(self.good, doubt, if is_enough { goal } else { enough });
        let needed = if few { needed.max(FEWEST - self.good) } else { needed };
        if few {
            text += &format!("; fewer than {} are not relied on", count(FEWEST));
        }
        if self.axis == "yaw" && what != "delay" && !is_enough && !few {
            // More inputs do not take away what the model leaves open.
            text += "; the weathercock turns the nose back before the rate settles, so that more rudder inputs would hardly make it surer";
        } else if needed > 0 && needed < 200 {
            text += &format!(
                "; {} more {} at the same speed bring the {what} within {told}",
                count(needed),
                kind(needed)
            );
        } else if needed >= 200 {
            text +=
                &format!("; larger {} in calmer air are needed to know the {what} within {told}", kind(2));
        }
        (is_enough, text)
    }

    pub(super) fn gain(&self, gain: f64, sd: f64) -> (bool, String) {
        let doubt = 2.0 * sd / gain.abs();
        let is_enough = self.good >= FEWEST && doubt <= GAIN_ENOUGH;
        let told = if is_enough { "5 %" } else { "10 %" };
        let (enough, mut text) = self.verdict("gain", doubt, GAIN_ENOUGH, GAIN_GOAL, told);
        if gain < 0.0 {
            text = format!(
                "the aircraft turns against its {} surface: check which way it is wired and mapped before any further flight. {text}",
                self.axis
            );
            return (false, text);
        }
        (enough, text)
    }

    pub(super) fn time_constant(&self, tau_s: f64, sd_s: f64) -> (bool, String) {
        self.verdict("time constant", 2.0 * sd_s / tau_s, TIME_ENOUGH, TIME_ENOUGH, "30 %")
    }

    pub(super) fn delay(&self, sd_s: f64) -> (bool, String) {
        self.verdict("delay", 2.0 * sd_s, DELAY_ENOUGH_S, DELAY_ENOUGH_S, "20 ms")
    }
}

/// Why there is no response without an input.
pub(super) fn no_input(axis: &str, inputs: &[Input], place: usize, found: usize) -> String {
    let own: Vec<&Input> = inputs.iter().filter(|i| place_of(i) == Some(place)).collect();
    let fly = format!(
        "fly {axis} doublets of a fifth to a third of the stick in direct, each from straight flight at the same speed: five or more tell the answer, twenty to thirty strokes are common before gains are trusted"
    );
    if found > 0 {
        return format!(
            "the recording has holes in all {} movements of the {axis} stick; {fly}",
            count(found)
        );
    }
    let steadied = own.iter().filter(|i| matches!(i.control, Control::Rate | Control::Level)).count();
    let unknown = own.iter().filter(|i| i.control == Control::Unknown).count();
    if steadied > 0 {
        return format!(
            "the {axis} stick was moved on purpose {} while the loops were at work, and never in direct, where the surface alone answers; {fly}",
            times(steadied)
        );
    }
    if unknown > 0 {
        return format!(
            "the {axis} stick was moved on purpose {}, but the recording does not say that the sticks acted directly: map the channel that tells how the stick acts, or log it; {fly}",
            times(unknown)
        );
    }
    format!(
        "the {axis} stick was not moved on purpose, so that nothing tells how the aircraft answers; {fly}"
    )
}

/// Why a stick that was moved told nothing: no surface follows it.
pub(super) fn moves_nothing(axis: &str) -> String {
    format!(
        "the {axis} stick was moved, but no surface of the aircraft file follows it: there is nothing to learn about {axis} control, or the mix of a movable is missing in the file"
    )
}

fn times(n: usize) -> String {
    if n == 1 { "once".to_owned() } else { format!("{} times", count(n)) }
}

/// Why inputs told nothing.
pub(super) fn no_fit(axis: &str, inputs: usize, why: NoFit) -> String {
    let reason = match why {
        NoFit::TooFewData { .. } => "they are too short",
        NoFit::NotObservable => {
            "they do not tell steady rate, time constant and delay apart, or a channel that is needed (specific force, bank) was not recorded"
        }
        NoFit::NotConverged => "no plausible answer fits them",
        NoFit::NotANumber => "the recording has holes in them, or lacks specific force or bank",
    };
    format!(
        "{} {axis} {} found in direct, but {reason}; fly larger ones of half a second a side, hands off for a second behind each",
        count(inputs),
        if inputs == 1 { "input was" } else { "inputs were" }
    )
}

/// Why the answer drowned.
pub(super) fn drowned(axis: &str, inputs: usize, fit: &Fitted) -> String {
    format!(
        "the {axis} rate follows the surface too little in all {}: {:.0} % of it at most is the answer, the rest gusts or other sticks; fly larger inputs in calm air with the other sticks still",
        count(inputs),
        100.0 * fit.estimate.explained.first().copied().unwrap_or(0.0).max(0.0)
    )
}
