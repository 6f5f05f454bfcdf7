//! How do two recordings of one flight lie to each other in time? By what both recorded, moved until it agrees.
//!
//! The lag is where the normalized cross-correlation of a shared signal is greatest. Its standard deviation follows from
//! the residual about the moved signal and from how fast the signal changes: a lag of δ changes it by δ · ds/dt.

use numerics::statistics::{correlation_inflation, mean};

use crate::derive;
use crate::merge::merge;
use crate::recording::{Channel, Flaw, FlawKind, Quantity, Recording};
use crate::resample::{self, unwrapped};

/// How far one recording lies behind another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lag {
    /// Added to the times of the second it gives those of the first, s.
    pub lag_s: f64,
    /// One standard deviation, s.
    pub sd_s: f64,
    /// Correlation at that lag.
    pub correlation: f64,
    /// How sure it is that this is the lag and no other, 0 to 1.
    pub confidence: f64,
    /// What was compared.
    pub by: &'static str,
    /// For how long both recorded, s.
    pub overlap_s: f64,
}

/// Shortest time that both must have recorded, s, and as a share of the shorter recording.
const OVERLAP_S: f64 = 20.0;
const OVERLAP_SHARE: f64 = 0.3;
/// From here on a lag is relied on.
const SURE: f64 = 0.6;
/// Least correlation of two sensors of one thing.
const CORRELATION: f64 = 0.6;

/// A signal by its name.
struct Signal {
    by: &'static str,
    channel: Channel,
}

fn derived(source: &Channel, values: &[f64], half_s: f64, sign: f64) -> Channel {
    Channel {
        quantity: Quantity::VelocityDown,
        source: source.source.clone(),
        time_s: source.time_s.clone(),
        values: derive::derivative(&source.time_s, values, half_s).iter().map(|v| sign * v).collect(),
    }
}

/// What a recording can be recognized by. Rates come first: they change fastest.
fn signals(r: &Recording) -> Vec<Signal> {
    use Quantity as Q;
    let mut list = Vec::new();
    let mut add = |by, channel: Option<Channel>| list.extend(channel.map(|channel| Signal { by, channel }));
    let of = |q: &Q| r.channel(q);
    let own = |q: &Q| of(q).cloned();
    let rate = |q: &Q| of(q).map(|c| derived(c, &unwrapped(&c.values), 0.3, 1.0));
    add("roll rate", own(&Q::RollRate).or_else(|| rate(&Q::Roll)));
    add("pitch rate", own(&Q::PitchRate).or_else(|| rate(&Q::Pitch)));
    add("yaw rate", own(&Q::YawRate));
    add("load", own(&Q::ForceZ));
    let climb =
        of(&Q::Height).or_else(|| of(&Q::Altitude)).map(|c| derived(c, &c.values, 0.7, 1.0)).or_else(|| {
            own(&Q::VelocityDown).map(|mut c| {
                c.values.iter_mut().for_each(|v| *v = -*v);
                c
            })
        });
    add("climb", climb);
    let heading = of(&Q::Course).or_else(|| of(&Q::Yaw)).map(|c| derived(c, &unwrapped(&c.values), 0.7, 1.0));
    add("turning", heading.or_else(|| ground(r).map(|(_, turning)| turning)));
    add("speed over ground", own(&Q::GroundSpeed).or_else(|| ground(r).map(|(speed, _)| speed)));
    add("airspeed", own(&Q::Airspeed));
    list
}

/// Speed over ground and rate of turning of its direction.
fn ground(r: &Recording) -> Option<(Channel, Channel)> {
    let (north, east) = (r.channel(&Quantity::VelocityNorth)?, r.channel(&Quantity::VelocityEast)?);
    let easts = resample::at(east, &north.time_s);
    let speed: Vec<f64> = north.values.iter().zip(&easts).map(|(n, e)| n.hypot(*e)).collect();
    let course: Vec<f64> = north
        .values
        .iter()
        .zip(&easts)
        .map(|(n, e)| if n.hypot(*e) > 2.0 { e.atan2(*n) } else { f64::NAN })
        .collect();
    let turning = derived(north, &unwrapped(&course), 0.7, 1.0);
    let speed = Channel { quantity: Quantity::GroundSpeed, values: speed, ..north.clone() };
    Some((speed, turning))
}

/// The lag between two recordings by the signal that tells it best; nothing where they share none or not for long enough.
#[must_use]
pub fn lag(first: &Recording, second: &Recording) -> Option<Lag> {
    let (mine, theirs) = (signals(first), signals(second));
    let same = mine.iter().flat_map(|a| theirs.iter().filter(|b| b.by == a.by).map(move |b| (a, b, a.by)));
    let mut lags: Vec<Lag> = same.filter_map(|(a, b, by)| compare(&a.channel, &b.channel, by)).collect();
    if lags.is_empty() {
        let find = |list: &'_ [Signal], by: &str| list.iter().find(|s| s.by == by).map(|s| s.channel.clone());
        let crossed = [("airspeed", "speed over ground"), ("speed over ground", "airspeed")];
        lags.extend(crossed.iter().filter_map(|(a, b)| {
            compare(&find(&mine, a)?, &find(&theirs, b)?, "airspeed against speed over ground")
        }));
    }
    lags.into_iter().max_by(|a, b| a.confidence.total_cmp(&b.confidence))
}

/// A signal on an even grid, its mean taken off; holes are zero and do not count.
struct Grid {
    from_s: f64,
    values: Vec<f64>,
    known: Vec<f64>,
}

fn gridded(c: &Channel, step_s: f64) -> Option<Grid> {
    let (from_s, to_s) = (*c.time_s.first()?, *c.time_s.last()?);
    let n = ((to_s - from_s) / step_s).floor() + 1.0;
    if !(20.0..2e5).contains(&n) {
        return None;
    }
    let times: Vec<f64> = (0..n as usize).map(|i| from_s + i as f64 * step_s).collect();
    let raw = resample::at(c, &times);
    let middle = mean(&raw.iter().copied().filter(|v| v.is_finite()).collect::<Vec<_>>());
    let known = raw.iter().map(|v| f64::from(u8::from(v.is_finite()))).collect();
    let values = raw.iter().map(|v| if v.is_finite() { v - middle } else { 0.0 }).collect();
    middle.is_finite().then_some(Grid { from_s, values, known })
}

/// Correlation of the overlap at a shift of the second by so many places, and how many places both know.
fn correlation(a: &Grid, b: &Grid, shift: i64) -> (f64, f64) {
    let begin = shift.max(0);
    let end = (a.values.len() as i64).min(b.values.len() as i64 + shift);
    if end <= begin {
        return (0.0, 0.0);
    }
    fn part(v: &[f64], from: i64, to: i64) -> &[f64] {
        v.get(from.max(0) as usize..to.max(0) as usize).unwrap_or(&[])
    }
    let (x, kx) = (part(&a.values, begin, end), part(&a.known, begin, end));
    let (y, ky) = (part(&b.values, begin - shift, end - shift), part(&b.known, begin - shift, end - shift));
    let (mut n, mut sx, mut sy, mut xx, mut yy, mut xy) = (0.0, 0.0, 0.0, 0.0, 0.0, 0.0);
    for ((x, y), (kx, ky)) in x.iter().zip(y).zip(kx.iter().zip(ky)) {
        let k = kx * ky;
        n += k;
        sx += k * x;
        sy += k * y;
        xx += k * x * x;
        yy += k * y * y;
        xy += k * x * y;
    }
    if n < 10.0 {
        return (0.0, n);
    }
    let (vx, vy) = (xx - sx * sx / n, yy - sy * sy / n);
    if vx > 1e-12 * xx && vy > 1e-12 * yy && vx > 0.0 && vy > 0.0 {
        ((xy - sx * sy / n) / (vx * vy).sqrt(), n)
    } else {
        (0.0, n)
    }
}

fn compare(a: &Channel, b: &Channel, by: &'static str) -> Option<Lag> {
    /// Places of the longer recording on the coarse grid; finest coarse step, s.
    const PLACES: f64 = 4000.0;
    const COARSE_S: f64 = 0.1;
    let long = |c: &Channel| Some(*c.time_s.last()? - *c.time_s.first()?);
    let (la, lb) = (long(a)?, long(b)?);
    let slow = resample::usual_step_s(a)?.max(resample::usual_step_s(b)?);
    let step = COARSE_S.max(0.5 * slow).max(la.max(lb) / PLACES);
    let (ga, gb) = (gridded(a, step)?, gridded(b, step)?);
    let least = (OVERLAP_S.max(OVERLAP_SHARE * la.min(lb)) / step).ceil();
    let shifts = -(gb.values.len() as i64)..=ga.values.len() as i64;
    let scored: Vec<(i64, f64, f64)> = shifts
        .filter_map(|shift| {
            let (rho, n) = correlation(&ga, &gb, shift);
            (n >= least).then(|| (shift, rho * n.sqrt(), rho))
        })
        .collect();
    let best = scored.iter().copied().max_by(|p, q| p.1.total_cmp(&q.1))?;
    // The next best is one that is not the same peak.
    let apart = (2.0 / step).ceil() as i64;
    let next = scored.iter().filter(|s| (s.0 - best.0).abs() > apart).map(|s| s.1).fold(0.0, f64::max);
    let coarse_s = ga.from_s - gb.from_s + best.0 as f64 * step;
    let fine = refine(&calmed(a), &calmed(b), coarse_s, step)?;
    let alone = (1.0 - next / best.1).clamp(0.0, 1.0);
    Some(Lag {
        lag_s: fine.lag_s,
        sd_s: fine.sd_s,
        correlation: fine.correlation,
        // One that stands alone by a third is sure; one nearly as good elsewhere makes it a guess.
        confidence: fine.correlation.max(0.0) * (3.0 * alone).min(1.0),
        by,
        overlap_s: fine.overlap_s,
    })
}

/// A channel averaged over about a fifth of a second: noise that is interpolated is least between two samples, and would
/// draw the lag there.
fn calmed(c: &Channel) -> Channel {
    let half = resample::usual_step_s(c).map_or(0, |step| (0.1 / step).round() as usize);
    Channel { values: resample::smooth(&c.values, half), ..c.clone() }
}

struct Fine {
    lag_s: f64,
    sd_s: f64,
    correlation: f64,
    overlap_s: f64,
}

/// The lag to a fraction of a step about a coarse one, and its spread.
fn refine(a: &Channel, b: &Channel, coarse_s: f64, coarse_step_s: f64) -> Option<Fine> {
    let step = (0.2 * coarse_step_s).clamp(0.005, 0.1);
    let times: Vec<f64> = {
        let from = (*a.time_s.first()?).max(*b.time_s.first()? + coarse_s);
        let to = (*a.time_s.last()?).min(*b.time_s.last()? + coarse_s);
        let grid = coarse_step_s.min(0.05).max((to - from) / 20_000.0);
        (0..((to - from) / grid).max(0.0) as usize).map(|i| from + i as f64 * grid).collect()
    };
    let mine = resample::at(a, &times);
    let moved = |lag: f64| resample::at(b, &times.iter().map(|t| t - lag).collect::<Vec<_>>());
    let rho = |lag: f64| fit(&mine, &moved(lag)).map_or(-1.0, |f| f.0);
    let mut at = coarse_s;
    let mut width = step;
    // Three points about the best, closer each time, then the top of their parabola.
    for _ in 0..4 {
        let tried = (-6..=6).map(|k| at + f64::from(k) * width).map(|lag| (lag, rho(lag)));
        at = tried.max_by(|p, q| p.1.total_cmp(&q.1))?.0;
        width /= 4.0;
    }
    width *= 4.0;
    let (low, mid, high) = (rho(at - width), rho(at), rho(at + width));
    let bend = low - 2.0 * mid + high;
    if bend < 0.0 {
        at += (0.5 * width * (low - high) / bend).clamp(-width, width);
    }
    let theirs = moved(at);
    let (correlation, gain, residuals) = fit(&mine, &theirs)?;
    let spacing = times.get(1)? - times.first()?;
    let mut slope2 = 0.0;
    for w in theirs.windows(3) {
        if let [p, _, q] = w
            && p.is_finite()
            && q.is_finite()
        {
            slope2 += (gain * (q - p) / (2.0 * spacing)).powi(2);
        }
    }
    let n = residuals.len() as f64;
    let variance = residuals.iter().map(|r| r * r).sum::<f64>() / (n - 2.0).max(1.0);
    let inflation = correlation_inflation(&residuals);
    let sd_s = if slope2 > 0.0 { (variance * inflation / slope2).sqrt() } else { f64::INFINITY };
    Some(Fine { lag_s: at, sd_s, correlation, overlap_s: n * spacing })
}

/// Correlation, slope of the first over the second, and what the line leaves.
fn fit(y: &[f64], x: &[f64]) -> Option<(f64, f64, Vec<f64>)> {
    let pairs: Vec<(f64, f64)> =
        y.iter().zip(x).filter(|(y, x)| y.is_finite() && x.is_finite()).map(|(y, x)| (*y, *x)).collect();
    let n = pairs.len() as f64;
    if n < 20.0 {
        return None;
    }
    let (my, mx) = pairs.iter().fold((0.0, 0.0), |(a, b), (y, x)| (a + y / n, b + x / n));
    let (mut yy, mut xx, mut xy) = (0.0, 0.0, 0.0);
    for (y, x) in &pairs {
        yy += (y - my).powi(2);
        xx += (x - mx).powi(2);
        xy += (y - my) * (x - mx);
    }
    if !(yy > 0.0 && xx > 0.0) {
        return None;
    }
    let gain = xy / xx;
    let residuals = pairs.iter().map(|(y, x)| y - my - gain * (x - mx)).collect();
    Some((xy / (yy * xx).sqrt(), gain, residuals))
}

/// Calendar clocks show more than this, s since 1970 (1 January 1990).
const CALENDAR_S: f64 = 631_152_000.0;

/// Joins recordings of one flight, those after the first moved to the clock of the first: by what both recorded where that
/// is sure, else by their clocks where both tell the date. One that neither way aligns is left out. How each was aligned, and
/// how sure, is told among the flaws.
#[must_use]
pub fn align(recordings: Vec<Recording>) -> Recording {
    let mut rest = recordings.into_iter();
    let Some(first) = rest.next() else {
        return Recording::default();
    };
    let mut joined = vec![first];
    let mut told = Vec::new();
    for (place, mut other) in rest.enumerate() {
        let Some(base) = joined.first() else { break };
        let file = format!("file {}", place + 2);
        let calendar = base.clock_start_s > CALENDAR_S && other.clock_start_s > CALENDAR_S;
        let by_clock_s = other.clock_start_s - base.clock_start_s;
        let found = lag(base, &other).filter(|l| l.confidence >= SURE && l.correlation >= CORRELATION);
        let what = match found {
            Some(l) => {
                // Clocks that agree within what the comparison can tell are the better measure.
                let agree = calendar && (l.lag_s - by_clock_s).abs() <= (4.0 * l.sd_s).max(0.05);
                other.clock_start_s = base.clock_start_s + if agree { by_clock_s } else { l.lag_s };
                let clocks = match (calendar, agree) {
                    (true, true) => ", which its clock confirms".to_owned(),
                    (true, false) => format!("; its clock says {by_clock_s:.3} s, which is not used"),
                    _ => String::new(),
                };
                format!(
                    "aligned by {}: {:.3} ± {:.3} s after the first file (correlation {:.3} over {:.0} s, {:.0}% sure){clocks}",
                    l.by,
                    l.lag_s,
                    2.0 * l.sd_s,
                    l.correlation,
                    l.overlap_s,
                    100.0 * l.confidence
                )
            }
            None if calendar => format!(
                "aligned by the clocks alone, {by_clock_s:.3} s after the first file: nothing that both recorded tells it better"
            ),
            None => {
                told.push(Flaw {
                    kind: FlawKind::Clock,
                    place: file,
                    what: "left out: nothing that both files recorded tells how they lie in time, and their clocks do not tell the date"
                        .to_owned(),
                });
                continue;
            }
        };
        told.push(Flaw { kind: FlawKind::Clock, place: file, what });
        joined.push(other);
    }
    let mut merged = merge(joined);
    merged.flaws.splice(0..0, told);
    merged
}
