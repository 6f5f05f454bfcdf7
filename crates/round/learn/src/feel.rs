//! Does stabilized flight feel like direct flight? The rate that follows the stick, frequency by frequency, with the
//! loops at work and without them, and whether their difference can be felt.
//!
//! What the loops add is the ratio of both frequency responses, its size taken relative to its own mean (a stick that is
//! as fast but more or less sensitive is another matter). It is held against the envelope of added dynamics that pilots
//! did not notice: maximum unnoticeable added dynamics, after Wood & Hodgkinson (1980), as MIL-STD-1797 gives it. The
//! four transfer functions are from memory and were made for full-size aircraft; a small model is flown faster.

use aircraft::control::Axis;
use aircraft::finding::Window;
use fly::inputs::{Control, Input};
use nalgebra::Complex;
use numerics::statistics::mean;

use crate::excitation::{AXES, Signals, excited, whole};
use crate::findings::{Learnt, NotLearnt};
use crate::response::BEFORE_S;
use crate::response::count;
use crate::spectra::{Cross, Cut, Detrend, cross, unwrapped_angles};

/// Length of the piece around each input, s: its inverse is the step of frequency.
const PIECE_S: f64 = 3.2;
/// Frequencies looked at, rad/s: below, a doublet holds no power and the flight path joins in; above, pilots do not.
const FROM_RAD_S: f64 = 2.0;
const TO_RAD_S: f64 = 20.0;
/// Coherence below which a frequency does not count (common practice, as in handling-qualities flight tests).
const LEAST_COHERENCE: f64 = 0.6;
/// Fewest inputs of each kind: coherence of one or two pieces says nothing.
const FEWEST: usize = 4;

/// How stabilized compares with direct flight in an axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Feel {
    /// The axis.
    pub axis: Axis,
    /// How the stick acts in the stabilized flight compared.
    pub control: Control,
    /// Frequency by frequency.
    pub points: Vec<Point>,
    /// Farthest outside of the envelope in size, dB, and in phase, deg; zero within it.
    pub outside_db: f64,
    /// The same in phase, deg.
    pub outside_deg: f64,
    /// Inputs in direct and stabilized.
    pub inputs: [usize; 2],
    /// Whether it can be known; then `outside_*` is the answer.
    pub enough: bool,
    /// The answer, or what more to fly.
    pub verdict: String,
    /// The inputs.
    pub evidence: Vec<Window>,
}

/// One frequency.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// Frequency, rad/s.
    pub frequency_rad_s: f64,
    /// Rate by stick in direct: size in dB (deg/s for full stick), phase in deg.
    pub direct: [f64; 2],
    /// The same stabilized.
    pub stabilized: [f64; 2],
    /// Coherence of both.
    pub coherence: [f64; 2],
    /// What the loops add: size in dB about its mean, phase in deg.
    pub added: [f64; 2],
    /// Standard deviations of it.
    pub added_sd: [f64; 2],
    /// Unnoticed: size from and to, dB, phase from and to, deg.
    pub envelope: [f64; 4],
    /// Whether coherence suffices.
    pub counts: bool,
}

/// The envelope of unnoticeable added dynamics at a frequency (rad/s): least and largest size, dB, least and largest
/// phase, deg. Maximum unnoticeable added dynamics of MIL-STD-1797 (Wood & Hodgkinson 1980), from memory.
#[must_use]
pub fn envelope(frequency_rad_s: f64) -> [f64; 4] {
    let s = Complex::new(0.0, frequency_rad_s);
    let ratio =
        |n: [f64; 3], d: [f64; 3]| (s * s * n[0] + s * n[1] + n[2]) / (s * s * d[0] + s * d[1] + d[2]);
    let db = |h: Complex<f64>| 20.0 * h.norm().log10();
    let angle = |n: [f64; 3], d: [f64; 3], lead_s: f64| {
        let part = |p: [f64; 3]| (s * s * p[0] + s * p[1] + p[2]).arg();
        (part(n) - part(d) + lead_s * frequency_rad_s).to_degrees()
    };
    [
        db(ratio([0.095, 9.92, 2.15], [1.0, 11.60, 4.95])),
        db(ratio([3.16, 31.61, 22.79], [1.0, 27.14, 1.84])),
        angle([475.32, 184_100.0, 29_456.1], [1.0, 11.66, 0.039], -0.0072),
        angle([68.89, 1100.12, -275.22], [1.0, 39.94, 9.99], 0.0059),
    ]
}

/// Compares both frequency responses of stick (input) and rate (output).
#[must_use]
pub fn compare(direct: &Cross, stabilized: &Cross) -> Vec<Point> {
    let bins = direct.frequency_hz.len().min(stabilized.frequency_hz.len());
    let places: Vec<usize> = (0..bins)
        .filter(|k| {
            let w = std::f64::consts::TAU * direct.frequency_hz[*k];
            (FROM_RAD_S..=TO_RAD_S).contains(&w)
        })
        .collect();
    let of = |c: &Cross| -> Vec<Complex<f64>> { places.iter().map(|k| c.response(*k)).collect() };
    let (a, b) = (of(direct), of(stabilized));
    let ratio: Vec<Complex<f64>> = a.iter().zip(&b).map(|(a, b)| b / a).collect();
    let (pa, pb, pr) = (unwrapped_angles(&a), unwrapped_angles(&b), unwrapped_angles(&ratio));
    let mut points: Vec<Point> = places
        .iter()
        .enumerate()
        .map(|(i, k)| {
            let frequency_rad_s = std::f64::consts::TAU * direct.frequency_hz[*k];
            let coherence = [direct.coherence(*k), stabilized.coherence(*k)];
            let relative = direct.relative_sd(*k).hypot(stabilized.relative_sd(*k));
            let db = |h: Complex<f64>| 20.0 * h.norm().log10();
            Point {
                frequency_rad_s,
                direct: [db(a[i]), pa[i].to_degrees()],
                stabilized: [db(b[i]), pb[i].to_degrees()],
                coherence,
                added: [db(ratio[i]), pr[i].to_degrees()],
                added_sd: [20.0 / std::f64::consts::LN_10 * relative, relative.to_degrees()],
                envelope: envelope(frequency_rad_s),
                counts: coherence.iter().all(|c| *c >= LEAST_COHERENCE),
            }
        })
        .collect();
    let sizes: Vec<f64> = points.iter().filter(|p| p.counts).map(|p| p.added[0]).collect();
    let level = if sizes.is_empty() { 0.0 } else { mean(&sizes) };
    for p in &mut points {
        p.added[0] -= level;
    }
    points
}

/// How far a list of points goes outside of the envelope, dB and deg.
#[must_use]
pub fn outside(points: &[Point]) -> [f64; 2] {
    let beyond = |value: f64, low: f64, high: f64| (low - value).max(value - high).max(0.0);
    points.iter().filter(|p| p.counts).fold([0.0, 0.0], |most, p| {
        let [low_db, high_db, low_deg, high_deg] = p.envelope;
        [
            f64::max(most[0], beyond(p.added[0], low_db, high_db)),
            f64::max(most[1], beyond(p.added[1], low_deg, high_deg)),
        ]
    })
}

/// The feel of an axis (0 roll, 1 pitch, 2 yaw).
pub(crate) fn feel(signals: &Signals, inputs: &[Input], axis: usize) -> Learnt<Feel> {
    let word = AXES[axis].word();
    let missing = |what: String| Err(NotLearnt::MissingChannel { what });
    if signals.sticks[axis].is_none() {
        return missing(format!("the {word} stick"));
    }
    if signals.rates[axis].is_none() {
        return missing(format!("the {word} rate"));
    }
    let piece = (PIECE_S / signals.step_s).round() as usize;
    let of = |control: Control| pieces(signals, inputs, axis, control, piece);
    let direct = of(Control::Direct);
    // Rate is what compares with direct; level commands another quantity and is compared only where there is no other.
    let (control, stabilized) = match of(Control::Rate) {
        rate if !rate.is_empty() => (Control::Rate, rate),
        _ => (Control::Level, of(Control::Level)),
    };
    let counts = [direct.len(), stabilized.len()];
    if counts.contains(&0) {
        let lacks = match counts {
            [0, 0] => "in neither".to_owned(),
            [0, n] => format!("never in direct ({} in {})", count(n), control.word()),
            [n, _] => format!("in direct alone ({})", count(n)),
        };
        return Err(NotLearnt::NotExcited {
            why: format!(
                "to compare stabilized with direct flight the same {word} inputs are needed in both; they were flown {lacks}; fly {} doublets or a sweep each way, from straight flight at the same speed",
                count(FEWEST)
            ),
        });
    }
    let spectra = |list: &[Piece]| {
        let pairs: Vec<(&[f64], &[f64])> =
            list.iter().map(|p| (p.stick.as_slice(), p.rate_deg_s.as_slice())).collect();
        let cut = Cut { piece, overlap: 0, detrend: Detrend::Ends };
        cross(&pairs, 1.0 / signals.step_s, &cut)
    };
    let (Some(a), Some(b)) = (spectra(&direct), spectra(&stabilized)) else {
        return Err(NotLearnt::NotExcited { why: format!("the {word} inputs have holes in them") });
    };
    let points = compare(&a, &b);
    let [outside_db, outside_deg] = outside(&points);
    let evidence = direct.iter().chain(&stabilized).map(|p| p.window).collect();
    let (enough, verdict) = judged(word, control, &points, counts, outside_db, outside_deg);
    Ok(Feel {
        axis: AXES[axis],
        control,
        points,
        outside_db,
        outside_deg,
        inputs: counts,
        enough,
        verdict,
        evidence,
    })
}

struct Piece {
    window: Window,
    stick: Vec<f64>,
    rate_deg_s: Vec<f64>,
}

/// A piece of equal length around each input; sweeps that are longer are cut into several.
fn pieces(signals: &Signals, inputs: &[Input], axis: usize, control: Control, piece: usize) -> Vec<Piece> {
    excited(signals, inputs, axis, control, BEFORE_S, PIECE_S)
        .into_iter()
        .flat_map(|e| {
            let whole_pieces = (e.places.len() / piece.max(1)).clamp(1, 12);
            (0..whole_pieces).map(move |k| e.places.start + k * piece).collect::<Vec<usize>>()
        })
        .filter_map(|from| {
            let places = from..from + piece;
            let stick = whole(signals.sticks[axis].as_ref(), &places)?;
            let rate = whole(signals.rates[axis].as_ref(), &places)?;
            let moved = stick.iter().fold(0.0_f64, |m, s| m.max((s - stick[0]).abs()));
            (moved > 0.03).then(|| Piece {
                window: Window { from_s: signals.time_s(from), to_s: signals.time_s(from + piece) },
                stick,
                rate_deg_s: rate.into_iter().map(f64::to_degrees).collect(),
            })
        })
        .collect()
}

fn judged(
    word: &str,
    control: Control,
    points: &[Point],
    counts: [usize; 2],
    outside_db: f64,
    outside_deg: f64,
) -> (bool, String) {
    let coherent: Vec<&Point> = points.iter().filter(|p| p.counts).collect();
    let least = counts[0].min(counts[1]);
    let flown = format!(
        "{} {word} inputs in direct and {} in {}",
        count(counts[0]),
        count(counts[1]),
        control.word()
    );
    if least < FEWEST {
        return (
            false,
            format!(
                "{flown}; fewer than {} of each cannot be told from chance: fly {} more",
                count(FEWEST),
                count(2 * FEWEST - counts[0].min(FEWEST) - counts[1].min(FEWEST))
            ),
        );
    }
    if 3 * coherent.len() < points.len() {
        return (
            false,
            format!(
                "{flown}; rate follows stick closely enough (coherence over {LEAST_COHERENCE}) at {} of {} frequencies only: fly twice as many, in calmer air or larger, or a sweep",
                coherent.len(),
                points.len()
            ),
        );
    }
    // Doubt against the width of the envelope, at the frequencies that count.
    let doubt = mean(
        &coherent
            .iter()
            .map(|p| {
                let width = [p.envelope[1] - p.envelope[0], p.envelope[3] - p.envelope[2]];
                f64::max(2.0 * p.added_sd[0] / (0.5 * width[0]), 2.0 * p.added_sd[1] / (0.5 * width[1]))
            })
            .collect::<Vec<f64>>(),
    );
    let range = format!(
        "from {:.0} to {:.0} rad/s",
        coherent.first().map_or(0.0, |p| p.frequency_rad_s),
        coherent.last().map_or(0.0, |p| p.frequency_rad_s)
    );
    let answer = if outside_db <= 0.0 && outside_deg <= 0.0 {
        format!("what the loops add stays within what pilots did not notice {range}")
    } else {
        format!(
            "what the loops add goes {outside_db:.1} dB and {outside_deg:.0}° beyond what pilots did not notice {range}: it will feel different"
        )
    };
    let clear = outside_db > 2.0 || outside_deg > 15.0;
    if doubt > 1.0 && !clear {
        let more = crate::response::more(least, doubt, 1.0);
        return (
            false,
            format!(
                "{flown}; {answer}, but the doubt is as wide as the envelope: {} more of each would tell",
                count(more)
            ),
        );
    }
    (true, format!("{flown}; {answer} (envelope from memory, for full-size aircraft)"))
}
