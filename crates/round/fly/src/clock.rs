//! When was each row written? Clock text read, and times made to grow where the clock stepped.

use crate::map::TimeForm;
use crate::recording::{Flaw, FlawKind};

pub(crate) mod gps;

/// Seconds of `hh:mm:ss` with or without decimals (either mark), or of `mm:ss.s`.
pub(crate) fn clock_s(text: &str) -> Option<f64> {
    let parts: Vec<&str> = text.trim().split(':').collect();
    let seconds = |s: &str| -> Option<f64> {
        let s = s.replace(',', ".");
        let plain = !s.is_empty() && s.bytes().all(|b| b.is_ascii_digit() || b == b'.');
        s.parse().ok().filter(|v: &f64| plain && *v < 61.0)
    };
    let whole = |s: &str, below: u32| -> Option<f64> {
        let plain = !s.is_empty() && s.len() <= 4 && s.bytes().all(|b| b.is_ascii_digit());
        s.parse::<u32>().ok().filter(|v| plain && *v < below).map(f64::from)
    };
    match parts.as_slice() {
        [h, m, s] => Some(whole(h, 10_000)? * 3600.0 + whole(m, 60)? * 60.0 + seconds(s)?),
        [m, s] if s.contains(['.', ',']) => Some(whole(m, 10_000)? * 60.0 + seconds(s)?),
        _ => None,
    }
}

/// Seconds since 1970-01-01 of a date and time as ISO 8601 writes them; without a zone taken as universal time.
pub(crate) fn date_time_s(text: &str) -> Option<f64> {
    local_date_time_s(text, 0.0)
}

/// The same where a date and time that name no zone are of one that is so many seconds ahead of universal time.
pub(crate) fn local_date_time_s(text: &str, zone_s: f64) -> Option<f64> {
    let (shown_s, own_zone_s) = date_time(text)?;
    Some(shown_s - own_zone_s.unwrap_or(zone_s))
}

/// What a date and time show, s since 1970-01-01 on their own clock, and how far that is ahead of universal time, where
/// they say it.
pub(crate) fn date_time(text: &str) -> Option<(f64, Option<f64>)> {
    let text = text.trim();
    let (date, time) = text.split_once(['T', 't', ' '])?;
    let days = days(date)?;
    let (time, zone_s) = zone(time.trim())?;
    Some((days * 86_400.0 + clock_s(time)?, zone_s))
}

fn days(date: &str) -> Option<f64> {
    let mut parts = date.splitn(3, ['-', '/']);
    let (y, m, d) = (parts.next()?, parts.next()?, parts.next()?);
    let plain = |s: &str, n: usize| s.len() == n && s.bytes().all(|b| b.is_ascii_digit());
    if !(plain(y, 4) && plain(m, 2) && plain(d, 2)) {
        return None;
    }
    calendar_days(y.parse().ok()?, m.parse().ok()?, d.parse().ok()?)
}

/// Days since 1970-01-01 of year, month and day; years of two digits are those from 1980 to 2079.
pub(crate) fn days_of(year: f64, month: f64, day: f64) -> Option<f64> {
    let whole = |v: f64| ((0.0..10_000.0).contains(&v) && v.fract() == 0.0).then_some(v as i64);
    let year = match whole(year)? {
        y @ 0..=79 => 2000 + y,
        y @ 80..=99 => 1900 + y,
        y => y,
    };
    calendar_days(year, whole(month)?, whole(day)?)
}

fn calendar_days(y: i64, m: i64, d: i64) -> Option<f64> {
    if !(1..=12).contains(&m) || !(1..=31).contains(&d) {
        return None;
    }
    // Years from March, so that the leap day is the last: day number of the proleptic Gregorian calendar.
    let y = if m <= 2 { y - 1 } else { y };
    let months = (m + 9) % 12;
    let number =
        365 * y + y.div_euclid(4) - y.div_euclid(100) + y.div_euclid(400) + (153 * months + 2) / 5 + d - 1;
    Some((number - 719_468) as f64)
}

/// Date and time in UTC as ISO 8601 writes them, to the millisecond, of seconds since 1970-01-01; nothing outside the years
/// 1970 to 9999.
pub(crate) fn iso8601(seconds: f64) -> Option<String> {
    let ms = (seconds * 1000.0).round();
    if !(0.0..253_402_300_800_000.0).contains(&ms) {
        return None;
    }
    let ms = ms as i64;
    let (day, ms) = (ms.div_euclid(86_400_000), ms.rem_euclid(86_400_000));
    // The inverse of `calendar_days`: years from March in eras of 400 years.
    let z = day + 719_468;
    let (era, of_era) = (z.div_euclid(146_097), z.rem_euclid(146_097));
    let year_of_era = (of_era - of_era / 1460 + of_era / 36_524 - of_era / 146_096) / 365;
    let of_year = of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    let months = (5 * of_year + 2) / 153;
    let d = of_year - (153 * months + 2) / 5 + 1;
    let m = if months < 10 { months + 3 } else { months - 9 };
    let y = year_of_era + era * 400 + i64::from(m <= 2);
    let (h, min, s) = (ms / 3_600_000, ms / 60_000 % 60, ms / 1000 % 60);
    Some(format!("{y:04}-{m:02}-{d:02}T{h:02}:{min:02}:{s:02}.{:03}Z", ms % 1000))
}

/// Clock text without its zone, and the zone's seconds ahead of universal time, where there is one.
fn zone(time: &str) -> Option<(&str, Option<f64>)> {
    if let Some(bare) = time.strip_suffix(['Z', 'z']) {
        return Some((bare.trim_end(), Some(0.0)));
    }
    let Some(at) = time.rfind(['+', '-']) else {
        return Some((time, None));
    };
    let (bare, zone) = (time.get(..at)?, time.get(at..)?);
    Some((bare.trim_end(), Some(zone_s(zone)?)))
}

/// Seconds that a zone is ahead of universal time: `Z`, `+02:00`, `-0930`, `+2`.
pub(crate) fn zone_s(text: &str) -> Option<f64> {
    let text = text.trim();
    if text.eq_ignore_ascii_case("z") || text.eq_ignore_ascii_case("utc") {
        return Some(0.0);
    }
    let (sign, rest) = match text.strip_prefix('+') {
        Some(rest) => (1.0, rest),
        None => (-1.0, text.strip_prefix(['-', '\u{2212}'])?),
    };
    let (hours, minutes) = match rest.split_once(':') {
        Some((hours, minutes)) if minutes.len() == 2 => (hours, minutes),
        Some(_) => return None,
        None if rest.len() > 2 => (rest.get(..rest.len() - 2)?, rest.get(rest.len() - 2..)?),
        None => (rest, "0"),
    };
    let whole = |s: &str| -> Option<f64> {
        let plain = (1..=2).contains(&s.len()) && s.bytes().all(|b| b.is_ascii_digit());
        s.parse().ok().filter(|_| plain)
    };
    let (hours, minutes) = (whole(hours)?, whole(minutes)?);
    // No place keeps a clock further off (time zone database: -12:00 to +14:00).
    (minutes < 60.0 && hours * 60.0 + minutes <= 14.0 * 60.0)
        .then_some(sign * (hours * 3600.0 + minutes * 60.0))
}

/// A zone as it is written: `+02:00`.
pub(crate) fn zone_text(zone_s: f64) -> String {
    let minutes = (zone_s.abs() / 60.0).round();
    let sign = if zone_s < 0.0 { '-' } else { '+' };
    format!("{sign}{:02.0}:{:02.0}", (minutes / 60.0).floor(), minutes % 60.0)
}

/// Where a clock begins and after how much it starts over.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Modulus {
    /// What the clock showed at the first row, s.
    pub(crate) start_s: f64,
    /// Spans after which such a clock starts at zero again, s.
    spans_s: Vec<f64>,
}

impl Modulus {
    /// No clock that starts over.
    pub(crate) fn none() -> Self {
        Self { start_s: 0.0, spans_s: Vec::new() }
    }

    /// Of a form of time: counters of 16, 24, 31 and 32 bits, a day, a week.
    pub(crate) fn of(form: &TimeForm, start_s: f64) -> Self {
        let spans_s = match form {
            TimeForm::Number { seconds } => [65_536.0, 16_777_216.0, 2_147_483_648.0, 4_294_967_296.0]
                .iter()
                .map(|counts| counts * seconds)
                .chain([86_400.0, 604_800.0])
                .collect(),
            TimeForm::Clock { .. } => vec![86_400.0],
            TimeForm::DateTime { .. } => Vec::new(),
            TimeForm::Gps { .. } => vec![gps::WEEK_S],
        };
        Self { start_s, spans_s }
    }
}

/// Times that grow, and what was done for it.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Repaired {
    /// Growing times from zero, s.
    pub(crate) time_s: Vec<f64>,
    /// Rows that stay, where some do not.
    pub(crate) keep: Option<Vec<bool>>,
    /// How far the first row kept is behind the first row read, s.
    pub(crate) shift_s: f64,
    /// What was wrong.
    pub(crate) flaws: Vec<Flaw>,
}

/// How many places of one kind are told one by one.
const TOLD: usize = 5;

/// A clock that steps ahead further than this was set, not run: no gap in a model's flight is as long, s.
const LEAP_S: f64 = 3600.0;

/// Joins what comes after a leap of the clock one usual step behind what came before, and tells it. A single row far
/// ahead is no leap: the rows after it go back.
fn without_leaps(raw: &mut [f64], step: f64, lines: &[u32], flaws: &mut Vec<Flaw>) {
    let mut row = 1;
    while row < raw.len() {
        let (before, after) = raw.split_at_mut(row);
        row += 1;
        let (Some(&last), [next, rest @ ..]) = (before.last(), after) else { continue };
        let leap_s = *next - last;
        let stays = rest.first().is_none_or(|r| r >= next);
        if !(leap_s > LEAP_S && stays) {
            continue;
        }
        let by_s = leap_s - step.max(0.0);
        *next -= by_s;
        for r in rest.iter_mut() {
            *r -= by_s;
        }
        flaws.push(Flaw {
            kind: FlawKind::TimeReset,
            place: format!("line {}", lines.get(row - 1).copied().unwrap_or(0)),
            what: format!(
                "the clock leaps ahead by {leap_s:.0} s, as if it were set; what follows is joined on one usual step later"
            ),
        });
        if flaws.len() > TOLD {
            // Each leap costs a pass over the rest: a clock that leaps all the time is none.
            break;
        }
    }
}

/// Makes times grow: single rows out of order are left out, counters that start over are carried on, a clock that
/// was set back is joined on one usual step later, equal times are spread or left out. Gaps are told.
pub(crate) fn repair(mut raw: Vec<f64>, lines: &[u32], modulus: &Modulus) -> Repaired {
    let step = usual_step(&raw);
    let mut flaws = Vec::new();
    without_leaps(&mut raw, step, lines, &mut flaws);
    let line = |row: usize| lines.get(row).copied().unwrap_or(0);
    if raw.windows(2).all(|w| matches!(w, [a, b] if b > a)) {
        let rows: Vec<u32> = lines.to_vec();
        tell_gaps(&raw, &rows, step, &mut flaws);
        return Repaired { time_s: raw, keep: None, shift_s: 0.0, flaws };
    }
    let mut keep = vec![true; raw.len()];
    let stray = strays(&raw, step);
    for row in &stray {
        if let Some(k) = keep.get_mut(*row) {
            *k = false;
        }
    }
    if let Some(first) = stray.first() {
        flaws.push(Flaw {
            kind: FlawKind::TimeReset,
            place: format!("line {}", line(*first)),
            what: match stray.len() {
                1 => "one row has a time out of line with the rows around it and is left out".to_owned(),
                n => format!("{n} rows have a time out of line with the rows around them and are left out"),
            },
        });
    }
    let mut time = raw.clone();
    let mut shift = 0.0;
    let mut previous: Option<(usize, f64)> = None;
    let mut resets = 0;
    for row in 0..raw.len() {
        if !keep.get(row).copied().unwrap_or(false) {
            continue;
        }
        let Some(now) = raw.get(row).copied() else { break };
        if let Some((_, before)) = previous
            && now < before
        {
            let back = before - now;
            let slack = (20.0 * step).max(1e-9);
            let span = modulus
                .spans_s
                .iter()
                .copied()
                .find(|span| *span > 4.0 * slack && (back - span).abs() <= slack);
            let added = span.unwrap_or(back + step);
            shift += added;
            resets += 1;
            if resets <= TOLD {
                let what = match span {
                    Some(span) => format!("the clock started over after {span} s; carried on"),
                    None => format!(
                        "time goes back by {back:.3} s (the clock was set or started again); joined on \
                         {step:.3} s after the row before, the true pause is not known"
                    ),
                };
                flaws.push(Flaw { kind: FlawKind::TimeReset, place: format!("line {}", line(row)), what });
            }
        }
        previous = Some((row, now));
        if let Some(t) = time.get_mut(row) {
            *t = now + shift;
        }
    }
    if resets > TOLD {
        flaws.push(Flaw {
            kind: FlawKind::TimeReset,
            place: "whole file".to_owned(),
            what: format!("time goes back {resets} times in all"),
        });
    }
    equal_times(&mut time, &mut keep, lines, step, &mut flaws);
    // What rounding left equal cannot stay.
    let mut last = f64::NEG_INFINITY;
    for (k, t) in keep.iter_mut().zip(&time) {
        *k = *k && *t > last;
        if *k {
            last = *t;
        }
    }
    let mut kept = keep.iter();
    time.retain(|_| kept.next().copied().unwrap_or(false));
    let mut kept = keep.iter();
    let mut rows = lines.to_vec();
    rows.retain(|_| kept.next().copied().unwrap_or(false));
    tell_gaps(&time, &rows, step, &mut flaws);
    let first = time.first().copied().unwrap_or(0.0);
    time.iter_mut().for_each(|t| *t -= first);
    Repaired { time_s: time, keep: Some(keep), shift_s: first, flaws }
}

/// The usual step between rows, s: the median of the steps forward.
fn usual_step(time: &[f64]) -> f64 {
    let steps: Vec<f64> = time
        .windows(2)
        .filter_map(|w| match w {
            [a, b] if b > a => Some(b - a),
            _ => None,
        })
        .collect();
    let step = numerics::statistics::median(&steps);
    if step.is_finite() { step } else { 0.0 }
}

/// Rows whose time alone is out of line: without them their neighbors follow each other as usual.
fn strays(time: &[f64], step: f64) -> Vec<usize> {
    let near = |a: f64, b: f64| b > a && b - a <= 20.0 * step;
    let mut found = Vec::new();
    for row in 1..time.len().saturating_sub(1) {
        let [Some(a), Some(b), Some(c)] = [row - 1, row, row + 1].map(|i| time.get(i).copied()) else {
            continue;
        };
        let backward = b < a || c < b;
        let last_was_stray = found.last() == Some(&(row - 1));
        if backward && !last_was_stray && near(a, c) && !(near(a, b) && near(b, c)) {
            found.push(row);
        }
    }
    found
}

/// Equal times: spread evenly where the clock is coarser than the rows, else all but the first left out.
fn equal_times(time: &mut [f64], keep: &mut [bool], lines: &[u32], step: f64, flaws: &mut Vec<Flaw>) {
    const COARSE_FROM: f64 = 0.2;
    let kept: Vec<usize> = (0..time.len()).filter(|i| keep.get(*i).copied().unwrap_or(false)).collect();
    let at = |time: &[f64], i: usize| time.get(i).copied().unwrap_or(f64::NAN);
    let equal: Vec<(usize, usize)> = kept
        .windows(2)
        .filter_map(|w| match w {
            [a, b] if at(time, *b) <= at(time, *a) => Some((*a, *b)),
            _ => None,
        })
        .collect();
    let Some((_, first)) = equal.first().copied() else {
        return;
    };
    let place = format!("line {}", lines.get(first).copied().unwrap_or(0));
    if step <= 0.0 || equal.len() as f64 <= COARSE_FROM * kept.len() as f64 {
        for (_, row) in &equal {
            if let Some(k) = keep.get_mut(*row) {
                *k = false;
            }
        }
        flaws.push(Flaw {
            kind: FlawKind::TimeReset,
            place,
            what: match equal.len() {
                1 => "one row has the time of the row before and is left out".to_owned(),
                n => format!("{n} rows have the time of the row before and are left out"),
            },
        });
        return;
    }
    let mut from = 0;
    while from < kept.len() {
        let Some(begin) = kept.get(from).map(|i| at(time, *i)) else { break };
        let mut to = from + 1;
        while kept.get(to).is_some_and(|i| at(time, *i) <= begin) {
            to += 1;
        }
        let span = kept.get(to).map_or(step, |i| at(time, *i) - begin).min(step.max(f64::MIN_POSITIVE) * 1.5);
        let count = (to - from) as f64;
        for (place, row) in kept.get(from..to).unwrap_or(&[]).iter().enumerate() {
            if let Some(t) = time.get_mut(*row) {
                *t = begin + span * place as f64 / count;
            }
        }
        from = to;
    }
    flaws.push(Flaw {
        kind: FlawKind::TimeReset,
        place,
        what: format!(
            "{} of {} rows have the time of the row before: the clock is coarser than the rows, which are \
             spread evenly between its steps",
            equal.len(),
            kept.len()
        ),
    });
}

/// Holes in time: steps much longer than usual.
fn tell_gaps(time: &[f64], lines: &[u32], step: f64, flaws: &mut Vec<Flaw>) {
    /// Steps that are not yet a gap, and the least gap worth telling, s.
    const USUAL: f64 = 5.0;
    const LEAST_S: f64 = 0.05;
    let from = (USUAL * step).max(LEAST_S);
    let gaps: Vec<(usize, f64)> = time
        .windows(2)
        .enumerate()
        .filter_map(|(row, w)| match w {
            [a, b] if b - a > from => Some((row, b - a)),
            _ => None,
        })
        .collect();
    let zero = time.first().copied().unwrap_or(0.0);
    for (row, length) in gaps.iter().take(TOLD) {
        let at = time.get(*row).copied().unwrap_or(0.0) - zero;
        flaws.push(Flaw {
            kind: FlawKind::Gap,
            place: format!("line {}, {at:.2} s from the begin", lines.get(row + 1).copied().unwrap_or(0)),
            what: format!("{length:.3} s without a row (usual step {step:.4} s)"),
        });
    }
    if gaps.len() > TOLD {
        let longest = gaps.iter().map(|(_, l)| *l).fold(0.0, f64::max);
        let sum: f64 = gaps.iter().map(|(_, l)| *l).sum();
        flaws.push(Flaw {
            kind: FlawKind::Gap,
            place: "whole file".to_owned(),
            what: format!("{} gaps in all, {sum:.2} s together, the longest {longest:.3} s", gaps.len()),
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn clock_text_is_read_in_its_usual_forms() {
        assert_eq!(clock_s("01:02:03.5"), Some(3723.5));
        assert_eq!(clock_s("1:02:03,25"), Some(3723.25));
        assert_eq!(clock_s("02:03.5"), Some(123.5));
        for bad in ["", "1:2", "01:60:00", "aa:bb:cc", "1:2:3:4", "-1:00:00", "01:00:99"] {
            assert_eq!(clock_s(bad), None, "{bad}");
        }
    }

    #[test]
    fn dates_are_written_as_they_are_read() {
        // Every 13 hours 17 minutes and 9.5 s over 140 years: leap days, centuries, ends of years.
        let mut t = 0.0;
        while t < 140.0 * 365.25 * 86_400.0 {
            let text = iso8601(t).unwrap();
            assert_eq!(date_time_s(&text), Some(t), "{text}");
            t += 13.0 * 3600.0 + 17.0 * 60.0 + 9.5;
        }
        assert_eq!(iso8601(951_782_400.0).as_deref(), Some("2000-02-29T00:00:00.000Z"));
        assert_eq!(iso8601(-1.0), None);
        assert_eq!(iso8601(f64::NAN), None);
    }

    #[test]
    fn dates_count_from_1970() {
        // Source: RFC 3339 section 5.8 example 1996-12-19T16:39:57-08:00 is 1996-12-20T00:39:57Z; day counts by
        // the calendar: 2000-03-01 is day 11 017 (30 years of 365 days, 8 leap days 1972..2000, 31 + 28 days).
        assert_eq!(date_time_s("1970-01-01T00:00:00Z"), Some(0.0));
        assert_eq!(date_time_s("2000-03-01 00:00:00"), Some(11_017.0 * 86_400.0));
        assert_eq!(date_time_s("1996-12-19T16:39:57-08:00"), date_time_s("1996-12-20T00:39:57Z"));
        assert_eq!(date_time_s("2024-13-01T00:00:00"), None);
        assert_eq!(date_time_s("yesterday"), None);
    }

    #[test]
    fn zones_are_read_in_their_usual_forms() {
        // Forms of ISO 8601; the offsets of Nepal, of the Marquesas and of the Line Islands.
        for (text, s) in [
            ("Z", 0.0),
            ("utc", 0.0),
            ("+00:00", 0.0),
            ("+02", 7200.0),
            ("-5", -18_000.0),
            ("+0545", 20_700.0),
            ("-09:30", -34_200.0),
            ("+14:00", 50_400.0),
        ] {
            assert_eq!(zone_s(text), Some(s), "{text}");
            assert_eq!(zone_s(&zone_text(s)), Some(s), "{text}");
        }
        for bad in ["", "+", "2", "+15:00", "+02:60", "+2:0", "+02:00:00", "CET", "+a"] {
            assert_eq!(zone_s(bad), None, "{bad}");
        }
        // Without a zone of its own the text is of the zone given; with one it is not.
        let local = |text| local_date_time_s(text, 7200.0);
        assert_eq!(local("2024-05-01T12:00:00"), date_time_s("2024-05-01T10:00:00Z"));
        assert_eq!(local("2024-05-01 12:00:00 -05:00"), date_time_s("2024-05-01T17:00:00Z"));
    }

    fn lines(n: usize) -> Vec<u32> {
        (0..n).map(|i| i as u32 + 2).collect()
    }

    #[test]
    fn a_16_bit_counter_of_milliseconds_is_carried_on() {
        let form = TimeForm::Number { seconds: 1e-3 };
        let raw: Vec<f64> = (0..2000).map(|i| f64::from((60_000 + i * 20) % 65_536) * 1e-3 - 60.0).collect();
        let out = repair(raw, &lines(2000), &Modulus::of(&form, 60.0));
        assert!(out.time_s.iter().enumerate().all(|(i, t)| (t - i as f64 * 0.02).abs() < 1e-9));
        assert_eq!(out.flaws.len(), 1);
    }

    #[test]
    fn a_clock_set_back_is_joined_on_one_step_later_and_told() {
        let mut raw: Vec<f64> = (0..100).map(|i| f64::from(i) * 0.1).collect();
        raw.extend((0..50).map(|i| f64::from(i) * 0.1));
        let out = repair(raw, &lines(150), &Modulus::of(&TimeForm::Number { seconds: 1.0 }, 0.0));
        assert_eq!(out.time_s.len(), 150);
        assert!((out.time_s[100] - 10.0).abs() < 1e-9);
        assert!(out.flaws[0].what.contains("goes back by 9.9"), "{}", out.flaws[0].what);
        assert_eq!(out.flaws[0].place, "line 102");
    }

    #[test]
    fn one_row_out_of_order_is_left_out() {
        let mut raw: Vec<f64> = (0..20).map(|i| f64::from(i) * 0.1).collect();
        raw[7] = 500.0;
        raw[13] = 0.05;
        let out = repair(raw, &lines(20), &Modulus::none());
        let keep = out.keep.unwrap();
        assert_eq!(keep.iter().filter(|k| !**k).count(), 2);
        assert!(!keep[7] && !keep[13]);
        assert!(out.time_s.windows(2).all(|w| w[1] > w[0]));
    }

    #[test]
    fn a_clock_of_whole_seconds_is_spread_over_its_rows() {
        let raw: Vec<f64> = (0..50).map(|i| f64::from(i / 5)).collect();
        let out = repair(raw, &lines(50), &Modulus::none());
        assert!(out.time_s.iter().enumerate().all(|(i, t)| (t - i as f64 * 0.2).abs() < 1e-9));
    }

    proptest::proptest! {
        #[test]
        fn repaired_times_always_grow(steps in proptest::collection::vec(-5.0..5.0_f64, 1..200)) {
            let mut t = 0.0;
            let raw: Vec<f64> = steps.iter().map(|s| { t += s; t }).collect();
            let n = raw.len();
            let out = repair(raw, &lines(n), &Modulus::of(&TimeForm::Clock { zone_s: 0.0 }, 0.0));
            proptest::prop_assert!(out.time_s.windows(2).all(|w| w[1] > w[0]));
        }
    }
}
