//! How hard was the landing? Sink and speed at the touch, and the jolt of it.

use aircraft::finding::Window;
use fly::recording::Quantity;
use numerics::units::G_M_S2;
use numerics::words::fixed;

use crate::answers::{Estimate, Evidence, Told, Verdict, missing, not_excited};
use crate::findings::Learnt;
use crate::flight::{Flight, line_slope, moving_mean, samples, value_at};

/// A jolt from which on the ground was touched, in g beyond the one of weight.
const TOUCH_G: f64 = 0.8;
/// Searched before and after the end of the flight, s.
const AROUND_S: (f64, f64) = (8.0, 4.0);
/// Sink is taken over this long before the touch, s, leaving out the last moment.
const SINK_OVER_S: (f64, f64) = (1.0, 0.1);
/// A recording slower than this misses the peak of a jolt, Hz: a belly landing lasts some 50 ms (common practice, no
/// source).
const LEAST_HZ: f64 = 100.0;
/// Sink of a landing that is soft, and of one after which one looks for damage, m/s: falls from 5 and from 30 cm
/// (v² = 2 g h).
const SOFT_M_S: f64 = 1.0;
const HARD_M_S: f64 = 2.4;

/// Hardness of the landing.
pub(crate) fn landing(flight: &Flight<'_>) -> Learnt<Told> {
    let recording = flight.recording;
    let height = [Quantity::Height, Quantity::Altitude].into_iter().find(|q| recording.channel(q).is_some());
    let forces = recording.channel(&Quantity::ForceZ).is_some();
    if height.is_none() && !forces {
        return missing("height or specific force");
    }
    let end = recording.span_s().map_or(0.0, |s| s.1);
    let Some(window) = flight.in_the_air().filter(|w| w.to_s < end - 0.5) else {
        return not_excited("the recording ends in the air: let it run until the model lies still");
    };
    let around = Window { from_s: window.to_s - AROUND_S.0, to_s: (window.to_s + AROUND_S.1).min(end) };
    let jolts = jolts(flight, around);
    let touched = jolts.iter().find(|j| j.1 > TOUCH_G).map(|j| j.0);
    let at = touched.unwrap_or(window.to_s);
    let hz = jolts.len() as f64 / (around.to_s - around.from_s).max(0.1);
    let mut told = Told::default();
    let here = Window { from_s: at - SINK_OVER_S.0, to_s: at + 1.0 };
    let mut against = Vec::new();
    if touched.is_none() {
        against.push("no jolt marks the touch, so that its moment is that of standing still: record the specific force".to_owned());
    }
    let verdict = Verdict::of(format!("touch at {} s", fixed(at, 1)), &against);
    if let Some(quantity) = &height {
        let before =
            samples(recording, quantity, Window { from_s: at - SINK_OVER_S.0, to_s: at - SINK_OVER_S.1 });
        if let Some((slope, sd)) = line_slope(&before) {
            let finding = verdict.finding("landing.sink_m_s", -slope, sd.max(0.05), &[here]);
            told.sentences.push(if -slope > HARD_M_S {
                "Hard: look over the motor mount, the wing joiner, the tail and the battery's strap before it flies again, propeller off.".to_owned()
            } else if -slope > SOFT_M_S {
                "Firm, as a landing on grass is: look over the belly and the propeller.".to_owned()
            } else {
                "Soft.".to_owned()
            });
            told.estimates.push(Estimate::new("sink at the touch", "m/s", finding));
        }
        let around_touch = samples(recording, quantity, Window { from_s: at - 6.0, to_s: at + 1.0 });
        let ground = value_at(&around_touch, at);
        told.evidence.push(Evidence {
            title: "The last seconds before the touch".into(),
            what: "Height above the place of the touch over time; the line is the sink that was taken."
                .into(),
            x: "Time, s".into(),
            y: "Height, m".into(),
            fit: line_slope(&before).map_or(Vec::new(), |(s, _)| {
                let middle = at - 0.5 * (SINK_OVER_S.0 + SINK_OVER_S.1);
                let level = before.iter().map(|b| b.1).sum::<f64>() / before.len().max(1) as f64 - ground;
                [at - 2.0, at].iter().map(|t| [*t, level + s * (t - middle)]).collect()
            }),
            data: around_touch.iter().map(|(t, h)| [*t, h - ground]).collect(),
            mark: Some(("touch".into(), at, 0.0)),
            ..Evidence::default()
        });
    }
    let ground_speed = speed_before(flight, at);
    if ground_speed.is_finite() {
        told.estimates.push(Estimate::new(
            "speed over ground at the touch",
            "m/s",
            verdict.finding("landing.ground_speed_m_s", ground_speed, 0.3, &[here]),
        ));
    }
    if let (Some(at), Some(peak)) = (touched, jolts.iter().copied().max_by(|a, b| a.1.total_cmp(&b.1))) {
        // The largest sample lies below the peak by what it changes in a sample's time.
        let near: Vec<f64> = jolts
            .iter()
            .filter(|j| (j.0 - peak.0).abs() < 1.6 / hz.max(1.0) && j.0 != peak.0)
            .map(|j| j.1)
            .collect();
        let beside = near.iter().copied().fold(0.0, f64::max);
        let mut against = Vec::new();
        if hz < LEAST_HZ {
            against.push(format!(
                "recorded {} times a second, which misses the peak: record at {} Hz or more",
                fixed(hz, 0),
                fixed(LEAST_HZ, 0)
            ));
        }
        let verdict = Verdict::of(
            format!("the largest jolt within {} s of the touch", fixed((peak.0 - at).abs().max(0.1), 1)),
            &against,
        );
        let finding = verdict.finding("landing.jolt_g", peak.1, (0.5 * (peak.1 - beside)).max(0.02), &[here]);
        told.estimates.push(Estimate::new("jolt beyond weight, in g", "", finding));
    }
    if told.estimates.is_empty() {
        return not_excited("the last seconds before the touch hold no numbers");
    }
    Ok(told)
}

/// Size of the specific force less that of weight, in g, at the recording's own rate.
fn jolts(flight: &Flight<'_>, window: Window) -> Vec<(f64, f64)> {
    let [x, y, z] =
        [Quantity::ForceX, Quantity::ForceY, Quantity::ForceZ].map(|q| samples(flight.recording, &q, window));
    z.iter()
        .map(|(t, z)| {
            let of = |s: &[(f64, f64)]| if s.is_empty() { 0.0 } else { value_at(s, *t) };
            let size = (of(&x).powi(2) + of(&y).powi(2) + z * z).sqrt();
            (*t, (size / G_M_S2 - 1.0).abs())
        })
        .collect()
}

/// Speed over ground just before a moment, m/s.
fn speed_before(flight: &Flight<'_>, at: f64) -> f64 {
    let window = Window { from_s: at - 1.5, to_s: at + 0.2 };
    let [n, e] = [Quantity::VelocityNorth, Quantity::VelocityEast]
        .map(|q| moving_mean(&samples(flight.recording, &q, window), 0.3));
    if !n.is_empty() && !e.is_empty() {
        return value_at(&n, at - 0.1).hypot(value_at(&e, at - 0.1));
    }
    let speed = samples(flight.recording, &Quantity::GroundSpeed, window);
    value_at(&speed, at - 0.1)
}
