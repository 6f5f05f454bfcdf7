//! How does it shake, at which throttle, and what shakes it? Spectra of specific force by throttle, and their lines held
//! against the speed of propeller and motor.
//!
//! A recording of 100 rows a second shows nothing truly above 50 Hz: what is faster folds down into what it can show.
//! Each line is therefore held against what the propeller's turns and blade passages fold down to, and it is said when a
//! line stands for a faster one. A logger that takes means before it writes shows such lines weaker than they are.

use aircraft::Aircraft;
use aircraft::finding::Window;
use fly::phases::{Phase, PhaseKind};
use fly::recording::{Channel, Quantity, Recording};
use fly::resample;
use numerics::statistics::{mean, median, standard_deviation};

use crate::excitation::interval_s;
use crate::findings::{Learnt, NotLearnt};
use crate::response::count;
use crate::spectra::{Cut, Spectrum, cross};

/// Throttle at which bands part: stopped, low, cruise, high, full.
const BANDS: [f64; 6] = [-0.01, 0.04, 0.35, 0.65, 0.92, 1.01];
/// A piece, s.
const PIECE_S: f64 = 1.28;
/// Fewest pieces that a band is told from.
const FEWEST: usize = 4;
/// A line stands out by this factor of power over its neighborhood.
const STANDS_OUT: f64 = 8.0;
/// Root mean square of shaking beyond which attitude and height of a controller commonly suffer, m/s² (common practice,
/// no source).
pub const ROUGH_M_S2: f64 = 5.0;
/// Slowest rows from which shaking can be told, Hz.
const SLOWEST_HZ: f64 = 40.0;
/// Below this it is flying, not shaking, Hz.
const FROM_HZ: f64 = 6.0;

/// How it shook.
#[derive(Debug, Clone, PartialEq)]
pub struct Vibration {
    /// Rows a second of specific force, Hz.
    pub rate_hz: f64,
    /// Bands of throttle, from stopped to full; those that were flown.
    pub bands: Vec<Band>,
    /// Whether lines could be held against the propeller's speed.
    pub rpm_known: bool,
    /// Whether the bands were flown long enough.
    pub enough: bool,
    /// What there is to say.
    pub verdict: String,
}

/// Shaking in a band of throttle.
#[derive(Debug, Clone, PartialEq)]
pub struct Band {
    /// Throttle from and to, 0 to 1.
    pub throttle: [f64; 2],
    /// Length of the flight in it, s.
    pub seconds: f64,
    /// Propeller speed: mean and spread, rpm.
    pub rpm: Option<[f64; 2]>,
    /// Root mean square of the shaking along body x, y and z above 6 Hz, m/s².
    pub rms_m_s2: [f64; 3],
    /// Relative doubt (one standard deviation) of these: one over the root of the pieces' number of frequencies.
    pub relative_sd: f64,
    /// Lines, the strongest first.
    pub lines: Vec<Line>,
    /// Power of all three axes together.
    pub spectrum: Spectrum,
    /// Where.
    pub evidence: Vec<Window>,
}

/// A line of the spectrum.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// Frequency at which it shows, Hz.
    pub frequency_hz: f64,
    /// Amplitude, m/s².
    pub amplitude_m_s2: f64,
    /// What turns at a speed that shows there, if anything does.
    pub cause: Option<Cause>,
}

/// What a line comes from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cause {
    /// Times the speed of the propeller.
    pub order: usize,
    /// Whether that is its blades passing.
    pub blades: bool,
    /// Frequency that it truly has, Hz.
    pub true_hz: f64,
    /// Whether the recording is too slow for it, so that it shows folded down.
    pub folded: bool,
}

impl Cause {
    /// In words.
    #[must_use]
    pub fn words(&self) -> String {
        let what = match (self.order, self.blades) {
            (1, _) => "once a turn of the propeller (balance of propeller, hub or motor)".to_owned(),
            (n, true) => format!("{n} times a turn, the blades passing"),
            (n, false) => format!("{n} times a turn"),
        };
        if self.folded {
            format!("{what}; truly at {:.0} Hz, which the recording is too slow to show", self.true_hz)
        } else {
            what
        }
    }
}

/// Frequency at which one shows in samples taken `rate_hz` times a second, Hz.
#[must_use]
pub fn folded(frequency_hz: f64, rate_hz: f64) -> f64 {
    let rest = frequency_hz.rem_euclid(rate_hz);
    rest.min(rate_hz - rest)
}

/// How it shook in flight, by throttle.
pub(crate) fn vibration(aircraft: &Aircraft, recording: &Recording, phases: &[Phase]) -> Learnt<Vibration> {
    let missing = |what: &str| Err(NotLearnt::MissingChannel { what: what.into() });
    let forces: Vec<&Channel> = [Quantity::ForceX, Quantity::ForceY, Quantity::ForceZ]
        .iter()
        .filter_map(|q| recording.channel(q))
        .collect();
    let [x, ..] = forces.as_slice() else {
        return missing("specific forces (accelerometer)");
    };
    let Some(throttle) = recording.channel(&Quantity::Throttle) else {
        return missing("the throttle");
    };
    let step_s = interval_s(x).unwrap_or(1.0);
    let rate_hz = 1.0 / step_s;
    if rate_hz < SLOWEST_HZ {
        return Err(NotLearnt::NotExcited {
            why: format!(
                "specific force comes {rate_hz:.0} times a second; shaking needs at least {SLOWEST_HZ:.0}, better 200 and more: log faster"
            ),
        });
    }
    let piece = (PIECE_S * rate_hz).round() as usize;
    let rpm = recording.channel(&Quantity::Rpm);
    let mut bands = Vec::new();
    let mut short = Vec::new();
    for edges in BANDS.windows(2) {
        let &[low, high] = edges else { continue };
        let pieces = pieces_of(phases, &forces, throttle, step_s, piece, [low, high]);
        if pieces.is_empty() {
            continue;
        }
        if pieces.len() < FEWEST {
            short.push(throttle_words([low, high]));
            continue;
        }
        bands.extend(band(aircraft, &pieces, rpm, rate_hz, piece, [low.max(0.0), high.min(1.0)]));
    }
    if bands.is_empty() {
        return Err(NotLearnt::NotExcited {
            why: format!(
                "no throttle setting was held for {:.0} s in flight: hold idle, cruise and full throttle for ten seconds each",
                PIECE_S * FEWEST as f64
            ),
        });
    }
    let verdict = told(&bands, &short, rpm.is_some(), rate_hz);
    Ok(Vibration {
        rate_hz,
        rpm_known: rpm.is_some(),
        enough: short.is_empty() && bands.len() > 1,
        bands,
        verdict,
    })
}

struct Piece {
    window: Window,
    /// The three axes.
    force: Vec<Vec<f64>>,
}

/// Pieces in the air during which the throttle stays in a band.
fn pieces_of(
    phases: &[Phase],
    forces: &[&Channel],
    throttle: &Channel,
    step_s: f64,
    piece: usize,
    [low, high]: [f64; 2],
) -> Vec<Piece> {
    let mut found = Vec::new();
    for phase in phases {
        if matches!(phase.kind, PhaseKind::Ground | PhaseKind::Launch | PhaseKind::Landing) {
            continue;
        }
        let mut from = phase.window.from_s;
        while from + piece as f64 * step_s <= phase.window.to_s {
            let times: Vec<f64> = (0..piece).map(|i| from + i as f64 * step_s).collect();
            let set: Vec<f64> = resample::at(throttle, &[times[0], times[piece / 2], times[piece - 1]]);
            let inside = set.iter().all(|t| *t > low && *t <= high);
            let force: Vec<Vec<f64>> = forces.iter().map(|c| resample::at(c, &times)).collect();
            if inside && force.iter().flatten().all(|v| v.is_finite()) {
                found.push(Piece {
                    window: Window { from_s: from, to_s: from + piece as f64 * step_s },
                    force,
                });
                from += piece as f64 * step_s;
            } else {
                from += 0.25 * piece as f64 * step_s;
            }
        }
    }
    found
}

fn band(
    aircraft: &Aircraft,
    pieces: &[Piece],
    rpm: Option<&Channel>,
    rate_hz: f64,
    piece: usize,
    throttle: [f64; 2],
) -> Option<Band> {
    let cut = Cut::half(piece);
    let axes = pieces.iter().map(|p| p.force.len()).min()?;
    let mut rms = [0.0; 3];
    let mut sum: Option<Spectrum> = None;
    for (axis, rms) in rms.iter_mut().enumerate().take(axes) {
        let pairs: Vec<(&[f64], &[f64])> =
            pieces.iter().map(|p| (p.force[axis].as_slice(), p.force[axis].as_slice())).collect();
        let one = cross(&pairs, rate_hz, &cut)?;
        let step_hz = rate_hz / piece as f64;
        *rms = one
            .frequency_hz
            .iter()
            .zip(&one.input)
            .filter(|(f, _)| **f >= FROM_HZ)
            .map(|(_, d)| d * step_hz)
            .sum::<f64>()
            .sqrt();
        match &mut sum {
            None => {
                sum =
                    Some(Spectrum { frequency_hz: one.frequency_hz, density: one.input, pieces: one.pieces })
            }
            Some(sum) => sum.density.iter_mut().zip(&one.input).for_each(|(s, d)| *s += d),
        }
    }
    let spectrum = sum?;
    let turning: Option<[f64; 2]> = rpm.map(|channel| {
        let middle: Vec<f64> = pieces.iter().map(|p| 0.5 * (p.window.from_s + p.window.to_s)).collect();
        let known: Vec<f64> = resample::at(channel, &middle).into_iter().filter(|v| v.is_finite()).collect();
        [mean(&known), if known.len() > 1 { standard_deviation(&known) } else { 0.0 }]
    });
    let blades = aircraft.drive.as_ref().map_or(2, |d| d.propeller.blades as usize);
    let lines = lines(&spectrum, rate_hz, turning.filter(|t| t[0] > 300.0), blades);
    let bins = spectrum.frequency_hz.iter().filter(|f| **f >= FROM_HZ).count().max(1);
    Some(Band {
        throttle,
        seconds: pieces.len() as f64 * piece as f64 / rate_hz,
        rpm: turning,
        rms_m_s2: rms,
        relative_sd: 0.5 / ((pieces.len() * bins) as f64).sqrt(),
        lines,
        spectrum,
        evidence: joined(pieces.iter().map(|p| p.window)),
    })
}

/// Windows one after the other without what lies between neighbors.
fn joined(windows: impl Iterator<Item = Window>) -> Vec<Window> {
    let mut list: Vec<Window> = Vec::new();
    for w in windows {
        match list.last_mut() {
            Some(last) if w.from_s - last.to_s < 0.05 => last.to_s = w.to_s,
            _ => list.push(w),
        }
    }
    list
}

/// Lines of a spectrum, the strongest first, with what turns at their speed.
#[must_use]
pub fn lines(spectrum: &Spectrum, rate_hz: f64, rpm: Option<[f64; 2]>, blades: usize) -> Vec<Line> {
    const SIDE: usize = 10;
    let d = &spectrum.density;
    let n = d.len();
    let step_hz = spectrum.frequency_hz.get(1).copied().unwrap_or(1.0);
    let mut found: Vec<Line> = Vec::new();
    for k in 2..n.saturating_sub(1) {
        let f = spectrum.frequency_hz[k];
        if f < FROM_HZ || d[k] < d[k - 1] || d[k] < d[k + 1] {
            continue;
        }
        let around: Vec<f64> = (k.saturating_sub(SIDE)..(k + SIDE + 1).min(n))
            .filter(|i| i.abs_diff(k) > 3)
            .map(|i| d[i])
            .collect();
        let floor = median(&around);
        if !(floor.is_finite() && d[k] > STANDS_OUT * floor) {
            continue;
        }
        // The window spreads a line over two bins to each side.
        let near = k.saturating_sub(2)..(k + 3).min(n);
        let power: f64 = near.clone().map(|i| (d[i] - floor).max(0.0) * step_hz).sum();
        let weight: f64 = near.clone().map(|i| (d[i] - floor).max(0.0)).sum();
        let middle: f64 =
            near.map(|i| (d[i] - floor).max(0.0) * spectrum.frequency_hz[i]).sum::<f64>() / weight;
        if found.iter().any(|l| (l.frequency_hz - middle).abs() < 2.5 * step_hz) {
            continue;
        }
        found.push(Line {
            frequency_hz: middle,
            amplitude_m_s2: (2.0 * power).sqrt(),
            cause: rpm.and_then(|r| cause(middle, step_hz, rate_hz, r, blades)),
        });
    }
    found.sort_by(|a, b| b.amplitude_m_s2.total_cmp(&a.amplitude_m_s2));
    found.truncate(6);
    found
}

/// What turns so that it shows at a frequency: the lowest order of the propeller's speed that does.
fn cause(shown_hz: f64, step_hz: f64, rate_hz: f64, rpm: [f64; 2], blades: usize) -> Option<Cause> {
    let turn_hz = rpm[0] / 60.0;
    let mut orders: Vec<usize> = (1..=4).chain([blades, 2 * blades]).filter(|o| *o > 0).collect();
    orders.sort_unstable();
    orders.dedup();
    orders.into_iter().find_map(|order| {
        let true_hz = order as f64 * turn_hz;
        // Wandering speed smears a line; a folded one by as much.
        let width = (1.5 * step_hz).max(1.5 * order as f64 * rpm[1] / 60.0).min(0.1 * rate_hz);
        ((folded(true_hz, rate_hz) - shown_hz).abs() <= width).then_some(Cause {
            order,
            blades: blades > 1 && order % blades == 0,
            true_hz,
            folded: true_hz > 0.5 * rate_hz,
        })
    })
}

fn throttle_words([low, high]: [f64; 2]) -> String {
    if high < 0.05 {
        "throttle closed".to_owned()
    } else {
        format!("{:.0} to {:.0} % throttle", 100.0 * low.max(0.0), 100.0 * high.min(1.0))
    }
}

impl Band {
    /// The band in words.
    #[must_use]
    pub fn words(&self) -> String {
        throttle_words(self.throttle)
    }

    /// Root mean square of all axes together, m/s².
    #[must_use]
    pub fn whole_rms_m_s2(&self) -> f64 {
        self.rms_m_s2.iter().map(|r| r * r).sum::<f64>().sqrt()
    }
}

fn told(bands: &[Band], short: &[String], rpm_known: bool, rate_hz: f64) -> String {
    let roughest = bands.iter().max_by(|a, b| a.whole_rms_m_s2().total_cmp(&b.whole_rms_m_s2()));
    let mut text = String::new();
    if let Some(b) = roughest {
        let rms = b.whole_rms_m_s2();
        text += &format!("roughest at {}: {rms:.2} m/s² (root mean square)", b.words());
        if rms > ROUGH_M_S2 {
            text += &format!(
                ", more than the {ROUGH_M_S2:.0} m/s² from which attitude and height suffer (common practice): balance the propeller (taken off the motor for it), look for a bent shaft and loose screws, mount the controller softer"
            );
        }
        match b.lines.first() {
            Some(Line { frequency_hz, amplitude_m_s2, cause: Some(cause) }) => {
                text += &format!(
                    "; its strongest line, {amplitude_m_s2:.2} m/s² at {frequency_hz:.0} Hz, is {}",
                    cause.words()
                );
            }
            Some(line) => {
                text += &format!(
                    "; its strongest line, {:.2} m/s², shows at {:.0} Hz{}",
                    line.amplitude_m_s2,
                    line.frequency_hz,
                    if rpm_known { " and goes with no multiple of the propeller's speed" } else { "" }
                );
            }
            None => text += "; no line stands out",
        }
    }
    if !rpm_known {
        text += &format!(
            "; without propeller speed no line can be told from a faster one folded down (the recording shows up to {:.0} Hz)",
            0.5 * rate_hz
        );
    }
    if !short.is_empty() {
        text += &format!("; too short to tell: {}", short.join(", "));
    }
    if bands.len() == 1 {
        text += &format!(
            "; {} band of throttle was flown: hold idle, cruise and full for ten seconds each",
            count(1)
        );
    }
    text
}
