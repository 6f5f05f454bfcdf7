//! One flight, or many side by side: begins them, steps them, keeps what is kept.

use nalgebra::Quaternion;
use numerics::{Rotation, Vec3};

use super::motion::{Moment, Together};
use super::refuse;
use super::track::{End, Facts, Sample, Touch, Track};
use super::{Refused, Run, Watch};
use crate::lane::Lane;
use crate::lane::math::{asin, atan2};
use crate::launch::Device;
use crate::state::{Controls, State};

/// Flies one flight.
///
/// # Errors
/// When a number of it cannot be, or the step is too large: see [`Refused`].
pub fn fly(run: &Run, watch: &Watch) -> Result<Track, Refused> {
    let state = begin(run, watch)?;
    let mut tracks = together(0.0, &[(run, state)], watch);
    tracks.pop().ok_or(Refused::Number { what: "number of flights", value: 0.0, least: 1.0, most: 1.0 })
}

/// Flies many flights, several side by side where they share task, loop and delay; in the order given, each with the
/// same bits as alone. On the calling thread only.
#[must_use]
pub fn fly_all(runs: &[Run], watch: &Watch) -> Vec<Result<Track, Refused>> {
    crate::lane::wide::fly_all(runs, watch)
}

/// The state at the begin, everything checked.
pub(crate) fn begin(run: &Run, watch: &Watch) -> Result<State, Refused> {
    let state = run.device.begin(&run.plant.ground).map_err(Refused::Launch)?;
    refuse::check(run, watch)?;
    Ok(state)
}

/// Whether two runs may fly side by side.
pub(crate) fn may_join(first: &Run, other: &Run) -> bool {
    Together::<f64>::may_join(first, other)
}

/// What is kept of flights side by side, over lanes.
struct Kept<L> {
    released: L,
    released_s: L,
    released_airspeed: L,
    lowest: L,
    highest: L,
    slowest: L,
    fastest: L,
    bank: L,
    alpha: L,
    stalled_s: L,
    motor_s: L,
    touched: L,
}

/// Flies runs side by side, one a lane; where there are fewer than lanes, the last fills up.
#[inline(always)]
pub(crate) fn together<L: Lane>(kind: L, runs: &[(&Run, State)], watch: &Watch) -> Vec<Track> {
    let Some(last) = runs.last() else {
        return Vec::new();
    };
    let of = |i: usize| {
        let (run, state) = runs.get(i).unwrap_or(last);
        (*run, *state)
    };
    let mut all = Together::new(kind, of, watch);
    let zero = kind.same(0.0);
    let one = kind.same(1.0);
    let far = kind.same(1e9);
    let mut kept = Kept {
        released: zero,
        released_s: far,
        released_airspeed: zero,
        lowest: far,
        highest: -far,
        slowest: far,
        fastest: zero,
        bank: zero,
        alpha: -far,
        stalled_s: zero,
        motor_s: far,
        touched: zero,
    };
    let count = (watch.for_s / watch.step_s).round() as usize;
    let every = (watch.sample_s / watch.step_s).round().clamp(1.0, 1e12) as usize;
    let mut tracks: Vec<Track> = runs
        .iter()
        .map(|(run, state)| Track {
            samples: Vec::with_capacity((count / every + 2).min(100_000)),
            facts: Facts::at_begin(),
            remarks: refuse::remarks(run, state.height_m()),
        })
        .collect();
    let rolling = kind.each(|i, _| if matches!(of(i).0.device, Device::Rolling(_)) { 1.0 } else { 0.0 });
    let mut last_moment = None;
    for n in 0..=count {
        let before = all.now;
        let level = all.now[13];
        let wild_before = all.wild;
        let moment = all.step();
        let time = kind.same(n as f64 * watch.step_s);
        // Where a flight has gone wild already nothing is kept any more.
        let sound = one - wild_before;
        let air = -before[2];
        let touching = moment.touching;
        // A take-off run is released when it has left the ground.
        let free = (one - all.devices.holds).lesser(one - rolling * touching * (one - kept.released));
        let newly = zero.same(0.5).below((free - kept.released) * sound);
        kept.released_s = time.where_or(newly, kept.released_s);
        kept.released_airspeed = moment.flow.speed.where_or(newly, kept.released_airspeed);
        kept.released = kept.released.greater(free);
        let touches = zero.same(0.5).below(touching * kept.released * (one - kept.touched) * sound);
        if touching.any(touches) {
            note_touches(
                &mut tracks,
                touches_of(zero.flag(touches)),
                &before,
                &moment,
                n as f64 * watch.step_s,
            );
            kept.touched = kept.touched.greater(zero.flag(touches));
        }
        let flying = zero.same(0.5).below(kept.released * (one - kept.touched) * sound);
        let is_sound = zero.same(0.5).below(sound);
        let m = &moment.ned_from_body;
        kept.lowest = kept.lowest.lesser(air).where_or(flying, kept.lowest);
        kept.highest = kept.highest.greater(air).where_or(is_sound, kept.highest);
        kept.slowest = kept.slowest.lesser(moment.flow.speed).where_or(flying, kept.slowest);
        kept.fastest = kept.fastest.greater(moment.flow.speed).where_or(is_sound, kept.fastest);
        kept.alpha = kept.alpha.greater(moment.flow.alpha).where_or(flying, kept.alpha);
        kept.bank = kept.bank.greater(atan2(m[2][1], m[2][2]).abs()).where_or(flying, kept.bank);
        let deep = zero.same(0.5).below(moment.push.stalled);
        let more = (kept.stalled_s + watch.step_s).where_or(deep, kept.stalled_s);
        kept.stalled_s = more.where_or(flying, kept.stalled_s);
        let starts = zero.same(0.5).below(all.started * (one.flag(far.below(kept.motor_s + 1.0))));
        kept.motor_s = time.where_or(starts, kept.motor_s);
        if n.is_multiple_of(every) || n == count {
            let controls = all.servos.controls();
            for (i, track) in tracks.iter_mut().enumerate() {
                if sound.get(i) > 0.5 {
                    let released = kept.released.get(i) > 0.5;
                    let time_s = n as f64 * watch.step_s;
                    track.samples.push(sample(i, time_s, &before, level, &moment, &controls, released));
                }
            }
        }
        for (i, track) in tracks.iter_mut().enumerate() {
            if all.wild.get(i) > 0.5 && wild_before.get(i) < 0.5 {
                track.facts.end = End::Diverged { time_s: n as f64 * watch.step_s };
            }
        }
        last_moment = Some(moment);
    }
    for (i, track) in tracks.iter_mut().enumerate() {
        let told = |x: L| {
            let value = x.get(i);
            (value.abs() < 1e8).then_some(value)
        };
        let facts = &mut track.facts;
        facts.released_s = told(kept.released_s);
        facts.released_airspeed_m_s = kept.released_airspeed.get(i);
        facts.highest_m = told(kept.highest).unwrap_or(0.0);
        facts.lowest_m = told(kept.lowest).unwrap_or(0.0);
        facts.slowest_m_s = told(kept.slowest).unwrap_or(0.0);
        facts.fastest_m_s = kept.fastest.get(i);
        facts.greatest_bank_rad = kept.bank.get(i);
        facts.greatest_alpha_rad = told(kept.alpha).unwrap_or(0.0);
        facts.stalled_s = kept.stalled_s.get(i);
        facts.motor_s = told(kept.motor_s);
        if !matches!(facts.end, End::Diverged { .. }) {
            facts.end = ended(facts, i, last_moment.as_ref());
        }
    }
    tracks
}

fn touches_of<L: Lane>(flag: L) -> impl Fn(usize) -> bool {
    move |i| flag.get(i) > 0.5
}

fn note_touches<L: Lane>(
    tracks: &mut [Track],
    touches: impl Fn(usize) -> bool,
    x: &super::motion::Numbers<L>,
    moment: &Moment<L>,
    time_s: f64,
) {
    let m = &moment.ned_from_body;
    let way = crate::lane::math::times(m, [x[3], x[4], x[5]]);
    let (bank, pitch) = (atan2(m[2][1], m[2][2]), -asin(m[2][0]));
    for (i, track) in tracks.iter_mut().enumerate() {
        if touches(i) && track.facts.touch.is_none() {
            track.facts.touch = Some(Touch {
                time_s,
                sink_m_s: way[2].get(i),
                speed_m_s: way[0].get(i).hypot(way[1].get(i)),
                bank_rad: bank.get(i),
                pitch_rad: pitch.get(i),
            });
        }
    }
}

fn sample<L: Lane>(
    i: usize,
    time_s: f64,
    x: &super::motion::Numbers<L>,
    level: L,
    moment: &Moment<L>,
    controls: &[L; 4],
    released: bool,
) -> Sample {
    let v = |j: usize| x.get(j).map_or(0.0, |n| n.get(i));
    let ned_from_body = Rotation::from_quaternion(Quaternion::new(v(6), v(7), v(8), v(9)));
    Sample {
        time_s,
        position_ned_m: Vec3::new(v(0), v(1), v(2)),
        velocity_ned_m_s: ned_from_body * Vec3::new(v(3), v(4), v(5)),
        ned_from_body,
        rates_body_rad_s: Vec3::new(v(10), v(11), v(12)),
        airspeed_m_s: moment.flow.speed.get(i),
        alpha_rad: moment.flow.alpha.get(i),
        stalled: moment.push.stalled.get(i),
        controls: Controls {
            aileron_rad: controls[0].get(i),
            elevator_rad: controls[1].get(i),
            rudder_rad: controls[2].get(i),
            flap_rad: controls[3].get(i),
        },
        thrust_level: level.get(i),
        thrust_n: moment.drive.thrust_n.get(i),
        released,
        touching: moment.touching.get(i) > 0.5,
    }
}

fn ended<L: Lane>(facts: &Facts, i: usize, last: Option<&Moment<L>>) -> End {
    let Some(moment) = last else {
        return End::Flying;
    };
    if facts.touch.is_none() {
        return if facts.released_s.is_some() { End::Flying } else { End::Held };
    }
    let down = moment.ned_from_body[2];
    // Nose over: the body's z axis points above the horizon, or the nose more than 60 degrees down.
    let (upright, nose) = (down[2].get(i), down[0].get(i));
    if moment.touching.get(i) < 0.5 && upright > 0.0 {
        End::Flying
    } else if upright < 0.0 || nose > 0.866 {
        End::NosedOver
    } else {
        End::Down
    }
}

impl Facts {
    fn at_begin() -> Self {
        Self {
            released_s: None,
            released_airspeed_m_s: 0.0,
            lowest_m: 0.0,
            highest_m: 0.0,
            slowest_m_s: 0.0,
            fastest_m_s: 0.0,
            greatest_bank_rad: 0.0,
            greatest_alpha_rad: 0.0,
            stalled_s: 0.0,
            motor_s: None,
            touch: None,
            end: End::Flying,
        }
    }
}
