//! Feel, shaking and loops that swing, from signals whose truth is a closed form.

use std::f64::consts::TAU;
use std::sync::Arc;

use aircraft::finding::Window;
use fly::inputs::Control;
use fly::phases::{Phase, PhaseKind};
use fly::recording::{Channel, Quantity, Recording};
use learn::feel::{compare, envelope, outside};
use learn::handling::{Beside, Handling, handling};
use learn::oscillation::Part;
use learn::spectra::{Cut, Detrend, cross};
use learn::vibration::folded;
use numerics::random::Random;
use numerics::units::RAD_PER_DEG;

use crate::model;

#[track_caller]
fn close(found: f64, expected: f64, tolerance: f64, what: &str) {
    assert!((found - expected).abs() <= tolerance, "{what}: {found} for {expected}");
}

/// Doublets of differing length, each a piece of 3.2 s at 100 Hz, through first-order lags one after the other.
fn pieces(lags_s: &[f64], noise: f64, seed: u64) -> Vec<(Vec<f64>, Vec<f64>)> {
    let mut random = Random::new(seed, 1);
    (0..12)
        .map(|k| {
            let side = 0.15 + 0.03 * f64::from(k % 6);
            let fine = 20;
            let h = 0.01 / f64::from(fine);
            let stick = |t: f64| {
                if t < 0.4 {
                    0.0
                } else if t < 0.4 + side {
                    0.3
                } else if t < 0.4 + 2.0 * side {
                    -0.3
                } else {
                    0.0
                }
            };
            let mut states = vec![0.0; lags_s.len()];
            let (mut x, mut y) = (Vec::new(), Vec::new());
            for i in 0..320 * fine {
                let t = f64::from(i) * h;
                if i % fine == 0 {
                    x.push(stick(t));
                    y.push(100.0 * states.last().copied().unwrap_or(0.0) + noise * random.normal());
                }
                let mut into = stick(t);
                for (state, lag) in states.iter_mut().zip(lags_s) {
                    *state += h * (into - *state) / lag;
                    into = *state;
                }
            }
            (x, y)
        })
        .collect()
}

fn spectra(list: &[(Vec<f64>, Vec<f64>)]) -> learn::spectra::Cross {
    let pairs: Vec<(&[f64], &[f64])> = list.iter().map(|(x, y)| (x.as_slice(), y.as_slice())).collect();
    cross(&pairs, 100.0, &Cut { piece: 320, overlap: 0, detrend: Detrend::Ends }).unwrap()
}

#[test]
fn what_a_loop_adds_is_found_frequency_by_frequency() {
    // A lag of 0.1 s more: size 1/sqrt(1 + (0.1 w)²), phase -atan(0.1 w).
    let points = compare(&spectra(&pieces(&[0.08], 0.05, 1)), &spectra(&pieces(&[0.08, 0.1], 0.05, 2)));
    let counting: Vec<_> = points.iter().filter(|p| p.counts).collect();
    assert!(counting.len() >= 8, "{} of {}", counting.len(), points.len());
    let size = |w: f64| -10.0 * (1.0 + (0.1 * w).powi(2)).log10();
    let level = counting.iter().map(|p| size(p.frequency_rad_s)).sum::<f64>() / counting.len() as f64;
    for p in &counting {
        let w = p.frequency_rad_s;
        // What the samples hold between each other and the noise leave three of its own deviations and 2 %.
        close(p.added[0], size(w) - level, 0.15 + 3.0 * p.added_sd[0], "size");
        close(p.added[1], -(0.1 * w).atan().to_degrees(), 1.0 + 3.0 * p.added_sd[1], "phase");
        close(p.direct[1], -(0.08 * w).atan().to_degrees(), 2.0 + 6.0 * p.added_sd[1], "phase in direct");
    }
    // The same aircraft twice adds nothing, which nobody notices; a lag of 0.4 s goes beyond the envelope.
    let same = compare(&spectra(&pieces(&[0.08], 0.05, 1)), &spectra(&pieces(&[0.08], 0.05, 2)));
    assert_eq!(outside(&same), [0.0, 0.0]);
    let slow = compare(&spectra(&pieces(&[0.08], 0.05, 1)), &spectra(&pieces(&[0.08, 0.4], 0.05, 2)));
    assert!(outside(&slow)[1] > 10.0, "{:?}", outside(&slow));
}

#[test]
fn the_envelope_holds_no_change_and_is_narrowest_where_pilots_are_keenest() {
    // From memory: narrowest near 1 to 4 rad/s, wide below 0.3 and above 20; no change lies within at every frequency.
    for k in 0..60 {
        let w = 0.3 * 1.08_f64.powi(k);
        let [low_db, high_db, low_deg, high_deg] = envelope(w);
        assert!(low_db < 0.0 && high_db > 0.0 && low_deg < 0.0 && high_deg > 0.0, "{w}: {:?}", envelope(w));
    }
    let width = |w: f64| envelope(w)[1] - envelope(w)[0];
    assert!(width(2.5) < width(0.3) && width(2.5) < width(20.0));
}

fn channel(quantity: Quantity, time_s: &Arc<Vec<f64>>, values: Vec<f64>) -> Channel {
    Channel { quantity, source: "made".into(), time_s: Arc::clone(time_s), values }
}

fn learnt(recording: &Recording) -> Handling {
    let (from_s, to_s) = recording.span_s().unwrap();
    let phases = [Phase { kind: PhaseKind::Other, window: Window { from_s, to_s }, confidence: 1.0 }];
    handling(&model::aircraft(), recording, &[], &phases, &Beside::default()).0
}

#[test]
fn lines_are_held_against_the_propeller_and_said_to_be_folded() {
    // 20 s of cruise at 5400 rpm and 20 s of full throttle at 7200 rpm, 200 rows a second: 90 Hz shows as it is; 120 Hz
    // is faster than 100 Hz and shows at 200 - 120 = 80; two blades pass at 180 and show at 20, at 240 and show at 40.
    close(folded(120.0, 200.0), 80.0, 1e-12, "one fold");
    close(folded(240.0, 200.0), 40.0, 1e-12, "two folds");
    let time_s: Arc<Vec<f64>> = Arc::new((0..8000).map(|i| f64::from(i) * 0.005).collect());
    let full = |t: f64| t >= 20.0;
    let mut random = Random::new(2, 0);
    let mut shaken = |shaft: f64, blades: f64| {
        time_s
            .iter()
            .map(|t| {
                let f = if full(*t) { 120.0 } else { 90.0 };
                shaft * (TAU * f * t).sin() + blades * (TAU * 2.0 * f * t + 0.4).sin() + 0.1 * random.normal()
            })
            .collect::<Vec<f64>>()
    };
    let (x, y, z) = (shaken(0.2, 0.0), shaken(1.5, 0.3), shaken(2.0, 0.6));
    let recording = Recording {
        channels: vec![
            channel(Quantity::ForceX, &time_s, x),
            channel(Quantity::ForceY, &time_s, y),
            channel(Quantity::ForceZ, &time_s, z),
            channel(
                Quantity::Throttle,
                &time_s,
                time_s.iter().map(|t| if full(*t) { 1.0 } else { 0.5 }).collect(),
            ),
            channel(
                Quantity::Rpm,
                &time_s,
                time_s.iter().map(|t| if full(*t) { 7200.0 } else { 5400.0 }).collect(),
            ),
        ],
        ..Recording::default()
    };
    let found = learnt(&recording);
    let v = found.vibration.as_ref().unwrap();
    assert_eq!(v.bands.len(), 2);
    // Amplitude of all axes together: sqrt(0.2² + 1.5² + 2²) = 2.51; half the square of each line and the noise are the
    // mean square of an axis: z sqrt(2 + 0.18 + 0.01) = 1.480.
    let cruise = &v.bands[0];
    close(cruise.rms_m_s2[2], 1.480, 0.01, "shaking along z");
    let line = &cruise.lines[0];
    close(line.frequency_hz, 90.0, 0.3, "line");
    close(line.amplitude_m_s2, (0.04_f64 + 2.25 + 4.0).sqrt(), 0.05, "its amplitude");
    let cause = line.cause.unwrap();
    assert!(cause.order == 1 && !cause.folded, "{cause:?}");
    let blades = cruise.lines[1].cause.unwrap();
    close(cruise.lines[1].frequency_hz, 20.0, 0.3, "blades, folded");
    assert!(blades.order == 2 && blades.blades && blades.folded, "{blades:?}");
    let fast = &v.bands[1];
    close(fast.lines[0].frequency_hz, 80.0, 0.3, "line at full throttle");
    let cause = fast.lines[0].cause.unwrap();
    assert!(cause.order == 1 && cause.folded, "{cause:?}");
    close(cause.true_hz, 120.0, 0.5, "its true frequency");
}

#[test]
fn still_air_and_a_stopped_propeller_have_no_lines() {
    let time_s: Arc<Vec<f64>> = Arc::new((0..6000).map(|i| f64::from(i) * 0.01).collect());
    let mut random = Random::new(8, 0);
    let mut noise = || time_s.iter().map(|_| 0.2 * random.normal()).collect::<Vec<f64>>();
    let recording = Recording {
        channels: vec![
            channel(Quantity::ForceX, &time_s, noise()),
            channel(Quantity::ForceY, &time_s, noise()),
            channel(Quantity::ForceZ, &time_s, noise()),
            channel(Quantity::Throttle, &time_s, vec![0.0; 6000]),
        ],
        ..Recording::default()
    };
    let found = learnt(&recording);
    let v = found.vibration.as_ref().unwrap();
    assert!(v.bands[0].lines.is_empty(), "{:?}", v.bands[0].lines);
    // White noise of 0.2: the part above 6 Hz of 50 Hz is sqrt(44/50) of it, 0.1876; 46 pieces know it to 1 %.
    close(v.bands[0].rms_m_s2[0], 0.1876, 0.006, "shaking");
    assert!(v.verdict.contains("without propeller speed"), "{}", v.verdict);
}

/// A roll of first order (9 per s, 0.11 s) with servo lag, a loop delay of 20 ms and a proportional gain, gusts and gyro
/// noise; the stick at rest.
fn looped(proportional_s: f64, integral: f64, seconds: f64) -> Recording {
    let (h, late) = (0.001, 20);
    let servo_s = 0.261_799_387_799_149_4 / 8.0;
    let count = (seconds / h) as usize;
    let mut random = Random::new(4, 0);
    let mut waiting = vec![0.0; late];
    let (mut rate, mut surface, mut sum, mut gust) = (0.0, 0.0, 0.0, 0.0);
    let (mut times, mut rates, mut pulses) = (Vec::new(), Vec::new(), Vec::new());
    for i in 0..count {
        sum -= integral * rate * h;
        let throw = 20.0 * RAD_PER_DEG;
        let demand = (-proportional_s * rate + sum).clamp(-throw, throw);
        let told = waiting[i % late];
        waiting[i % late] = demand;
        if i % 10 == 0 {
            times.push(i as f64 * h);
            rates.push(rate + 0.3 * RAD_PER_DEG * random.normal());
            pulses.push(1500.0 - 400.0 * told / throw);
        }
        surface += (told - surface) * (1.0 - (-h / servo_s).exp());
        let keep = (-h / 0.3_f64).exp();
        gust = keep * gust + (1.0 - keep * keep).sqrt() * 0.8 * random.normal();
        rate += h * ((9.0 * surface - rate) / 0.11 + gust);
    }
    let time_s = Arc::new(times);
    let n = time_s.len();
    let mut channels = vec![
        channel(Quantity::RollRate, &time_s, rates),
        channel(Quantity::StickRoll, &time_s, vec![0.0; n]),
        channel(Quantity::Acts, &time_s, vec![1.0; n]),
    ];
    for name in ["aileron right", "aileron left"] {
        channels.push(channel(Quantity::Servo(name.into()), &time_s, pulses.clone()));
    }
    for name in ["elevator", "rudder"] {
        channels.push(channel(Quantity::Servo(name.into()), &time_s, vec![1500.0; n]));
    }
    Recording { channels, ..Recording::default() }
}

#[test]
fn a_loop_beyond_its_limit_is_found_with_its_gain_and_frequency() {
    // Limit of the proportional loop by hand: the phases of 1/(1 + 0.11 s)(1 + 0.0327 s) and of 20 ms add up to half a turn
    // at 31.5 rad/s (73.9° + 45.8° + 36.1° = 155.8°; at 38 rad/s 76.5 + 51.2 + 43.5 = 171.2; at 42.3 rad/s 77.9 + 54.1 +
    // 48.5 = 180.5): 6.7 Hz, where the size is 9/(4.76 · 1.71) = 1.106, so that 0.90 s swings for ever.
    let found = learnt(&looped(1.0, 0.0, 30.0));
    let o = found.oscillation.as_ref().unwrap();
    let worst = o.found.first().unwrap_or_else(|| panic!("{}", o.verdict));
    println!("{}", worst.verdict);
    close(worst.frequency_hz, 6.7, 0.5, "frequency");
    assert_eq!((worst.gain, worst.control), (Part::Proportional, Control::Rate));
    assert!(worst.verdict.contains("half"), "{}", worst.verdict);
    // At its stop the surface swings less than the gain asks for; what it makes of the rate is the limit's gain.
    close(worst.loop_gain_s, 0.90, 0.12, "gain that swings for ever");
}

#[test]
fn a_loop_with_room_to_spare_does_not_swing() {
    let found = learnt(&looped(0.25, 1.0, 40.0));
    let o = found.oscillation.as_ref().unwrap();
    assert!(o.found.is_empty(), "{:?}", o.found);
    assert!(o.enough && o.watched_s > 30.0, "{}", o.verdict);
}

#[test]
fn a_swing_of_the_integral_is_told_from_one_of_the_proportional() {
    // Integral alone: 9/(s (1 + 0.11 s)(1 + 0.0327 s)) and 20 ms reach half a turn at 13.3 rad/s (90 + 55.6 + 23.5 + 15.2 =
    // 184.3; at 12.6 rad/s 90 + 54.2 + 22.4 + 14.4 = 181.0): 2 Hz, at a gain of 12.5 · 1.70 · 1.08/9 = 2.5.
    let found = learnt(&looped(0.0, 3.2, 30.0));
    let o = found.oscillation.as_ref().unwrap();
    let worst = o.found.first().unwrap_or_else(|| panic!("{}", o.verdict));
    println!("{}", worst.verdict);
    assert_eq!(worst.gain, Part::Integral);
    close(worst.frequency_hz, 2.0, 0.25, "frequency");
}
