//! How do the natural motions and the controls look over time and speed?

use aircraft::Aircraft;
use aircraft::control::Axis;
use numerics::units::DEG_PER_RAD;
use plan::panels;
use predict::prediction::{Mode, Prediction};

use crate::plot::{Look, Plot};

/// Points of a curve over time.
const STEPS: u32 = 160;

/// What is left of a knock after a time, as a share of it: the envelope of the mode, swinging where it swings. A mode
/// beyond three times the knock is not followed further.
fn left_of_a_knock(mode: &Mode, time_s: f64) -> Option<f64> {
    let left = match (mode.frequency_rad_s, mode.damping) {
        (Some(frequency), Some(damping)) if damping.abs() < 1.0 => {
            let swing = frequency * (1.0 - damping * damping).sqrt();
            (-damping * frequency * time_s).exp() * (swing * time_s).cos()
        }
        _ if mode.time_constant_s.is_finite() && mode.time_constant_s != 0.0 => {
            (-time_s / mode.time_constant_s).exp()
        }
        _ if mode.time_constant_s == 0.0 => return None,
        _ => 1.0,
    };
    (left.abs() <= 3.0).then_some(left)
}

/// How long it takes until a motion has shown itself, s.
fn shows_s(mode: &Mode) -> f64 {
    let dies = 4.0 * mode.time_constant_s.abs();
    match (mode.frequency_rad_s, mode.damping) {
        (Some(frequency), Some(damping)) if damping.abs() < 1.0 && frequency > 0.0 => {
            dies.min(3.0 * std::f64::consts::TAU / frequency)
        }
        _ => dies,
    }
}

/// The modes as time responses: the quick ones, which one sees as the answer to a gust, and the slow ones, which one
/// steers against without thinking of it.
pub(super) fn responses(p: &Prediction) -> Vec<(String, &'static str)> {
    let quick = |m: &&Mode| ["short period", "roll", "Dutch roll"].contains(&m.name);
    let (quick, slow): (Vec<&Mode>, Vec<&Mode>) = p.modes.iter().partition(quick);
    let draw = |modes: &[&Mode], title: &str, description: &str, least_s: f64, most_s: f64| {
        if modes.is_empty() {
            return None;
        }
        let end =
            modes.iter().map(|m| shows_s(m)).filter(|s| s.is_finite()).fold(least_s, f64::max).min(most_s);
        let mut plot = Plot::new(title, description, "Time after a knock, s", "What is left of it");
        for mode in modes {
            let points = (0..=STEPS)
                .map(|i| end * f64::from(i) / f64::from(STEPS))
                .map_while(|t| Some([t, left_of_a_knock(mode, t)?]))
                .collect();
            plot = plot.with(mode.name, Look::Line, points);
        }
        plot.from_zero = true;
        Some(plot.draw())
    };
    [
        (
            draw(
                &quick,
                "The quick motions",
                "What is left of a disturbance over time, hands off, at cruise: short period, roll, Dutch roll.",
                0.5,
                8.0,
            ),
            "Short period: nose up and down. Roll: how fast a roll begins and ends. Dutch roll: tail wagging.",
        ),
        (
            draw(
                &slow,
                "The slow motions",
                "What is left of a disturbance over time, hands off, at cruise: phugoid, spiral.",
                10.0,
                90.0,
            ),
            "Phugoid: height against speed. Spiral: a bank that slowly rights itself or deepens.",
        ),
    ]
    .into_iter()
    .filter_map(|(plot, note)| Some((plot?, note)))
    .collect()
}

/// Control authority over speed: roll rate at full stick, and trim in pitch between its stops.
pub(super) fn authority(aircraft: &Aircraft, p: &Prediction) -> Vec<(String, &'static str)> {
    let mut plots = Vec::new();
    let speeds: Vec<f64> = p.polar.rows.iter().map(|row| row[0]).collect();
    let (stall, cruise) = (p.speeds.stall_m_s.value, p.speeds.cruise_m_s.value);
    if let Ok(helix) = p.control.roll_helix
        && p.geometry.span_m > 0.0
    {
        // The helix angle p b / 2 V at full stick is the same at every speed as long as the flow holds.
        let rates =
            speeds.iter().map(|v| [*v, helix.abs() * 2.0 * v / p.geometry.span_m * DEG_PER_RAD]).collect();
        let mut plot = Plot::new(
            "Roll at full stick",
            "Steady roll rate at full stick over airspeed.",
            "Airspeed, m/s",
            "Roll rate, °/s",
        )
        .with("", Look::Line, rates)
        .mark("stall", stall, 0.0)
        .mark("cruise", cruise, 0.0);
        plot.from_zero = true;
        plots.push((
            plot.draw(),
            "Near the stall less: there the wing beyond the ailerons lets go first or they do.",
        ));
    }
    if let Some((movable, gain)) = panels::lead(aircraft, Axis::Pitch) {
        let trim: Vec<[f64; 2]> =
            p.polar.rows.iter().map(|row| [row[0], row[4] * gain * DEG_PER_RAD]).collect();
        let share = movable.mix.pitch.abs();
        let stop = |angle: f64| -> Vec<[f64; 2]> {
            [speeds.first(), speeds.last()]
                .into_iter()
                .flatten()
                .map(|v| [*v, angle * share * DEG_PER_RAD])
                .collect()
        };
        let plot = Plot::new(
            "Pitch: trim between its stops",
            "Angle of the surface that holds each airspeed, between full stick either way.",
            "Airspeed, m/s",
            "Angle, ° (trailing edge down +)",
        )
        .with(&format!("{}: trim", movable.name), Look::Line, trim)
        .with("full stick up", Look::Line, stop(-movable.throw_up_rad))
        .with("full stick down", Look::Line, stop(movable.throw_down_rad))
        .mark("stall", stall, 0.0)
        .mark("cruise", cruise, 0.0);
        plots.push((plot.draw(), "What lies between the trim and a stop is there to steer with."));
    }
    plots
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mode(frequency: Option<f64>, damping: Option<f64>, time_constant_s: f64) -> Mode {
        Mode {
            name: "short period",
            frequency_rad_s: frequency,
            damping,
            time_constant_s,
            sentence: String::new(),
        }
    }

    #[track_caller]
    fn check(mode: &Mode, time_s: f64, expected: Option<f64>) {
        let found = left_of_a_knock(mode, time_s);
        let same = match (found, expected) {
            (Some(a), Some(b)) => (a - b).abs() < 1e-12,
            (a, b) => a == b,
        };
        assert!(same, "{found:?} is not {expected:?}");
    }

    #[test]
    fn a_knock_dies_as_its_root_says() {
        // Solution of x'' + 2 zeta w x' + w^2 x = 0 from x = 1: after half a swing pi / (w sqrt(1 - zeta^2)) it is
        // -exp(-zeta w t); with w = 5 and zeta = 0.6 the swing is 4 rad/s.
        let t = std::f64::consts::PI / 4.0;
        check(&mode(Some(5.0), Some(0.6), 1.0 / 3.0), t, Some(-(-3.0 * t).exp()));
        check(&mode(None, None, 2.0), 2.0, Some((-1.0_f64).exp()));
        check(&mode(None, None, -2.0), 2.0, Some(1.0_f64.exp()));
        // Not followed beyond three times the knock; what neither dies nor grows stays.
        check(&mode(None, None, -2.0), 4.0, None);
        check(&mode(None, None, f64::INFINITY), 4.0, Some(1.0));
    }
}
