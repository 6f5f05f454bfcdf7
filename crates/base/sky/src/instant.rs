//! When is it? Instants in UTC and the calendar that weather reports count days by.
//!
//! A report says only the day of the month and the time of day. Which month that is follows from an instant that the
//! caller gives: nothing here reads a clock.

/// Seconds in a day.
const DAY_S: i64 = 86_400;
/// Days from 1 January of the year 1 to 1 January 1970, Gregorian calendar carried back.
const EPOCH_DAY: i64 = 719_162;

/// An instant in UTC, leap seconds left out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Instant {
    unix_s: i64,
}

/// Date and time of day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Calendar {
    /// Year.
    pub year: i64,
    /// Month, 1 to 12.
    pub month: u32,
    /// Day of the month, from 1.
    pub day: u32,
    /// Hour, 0 to 23.
    pub hour: u32,
    /// Minute, 0 to 59.
    pub minute: u32,
    /// Second, 0 to 59.
    pub second: u32,
}

/// Days of the years before a year, counted from 1 January of the year 1.
fn days_before(year: i64) -> i64 {
    let past = year - 1;
    365 * past + past.div_euclid(4) - past.div_euclid(100) + past.div_euclid(400)
}

fn days_in_month(year: i64, month: u32) -> i64 {
    let leap = days_before(year + 1) - days_before(year) == 366;
    match month {
        2 => 28 + i64::from(leap),
        4 | 6 | 9 | 11 => 30,
        _ => 31,
    }
}

impl Instant {
    /// The instant so many seconds after 1970-01-01 00:00 UTC.
    #[must_use]
    pub const fn from_unix_s(unix_s: i64) -> Self {
        Self { unix_s }
    }

    /// Seconds since 1970-01-01 00:00 UTC.
    #[must_use]
    pub const fn unix_s(self) -> i64 {
        self.unix_s
    }

    /// The instant of a date and time of day; none where the calendar has no such date or the day no such time. Hour
    /// 24 with minute 0 is the end of the day, as forecasts write it.
    #[must_use]
    pub fn of(year: i64, month: u32, day: u32, hour: u32, minute: u32) -> Option<Self> {
        let sound = (1..=9999).contains(&year)
            && (1..=12).contains(&month)
            && day >= 1
            && i64::from(day) <= days_in_month(year, month)
            && minute <= 59
            && (hour <= 23 || (hour == 24 && minute == 0));
        if !sound {
            return None;
        }
        let days =
            days_before(year) + (1..month).map(|m| days_in_month(year, m)).sum::<i64>() + i64::from(day)
                - 1
                - EPOCH_DAY;
        Some(Self { unix_s: days * DAY_S + i64::from(hour) * 3600 + i64::from(minute) * 60 })
    }

    /// Its date and time of day.
    #[must_use]
    pub fn calendar(self) -> Calendar {
        let days = self.unix_s.div_euclid(DAY_S) + EPOCH_DAY;
        let rest = self.unix_s.rem_euclid(DAY_S);
        // The estimate is a year off at most, at the turn of a year.
        let mut year = 1 + (days as f64 / 365.2425).floor() as i64;
        while days_before(year) > days {
            year -= 1;
        }
        while days_before(year + 1) <= days {
            year += 1;
        }
        let (mut month, mut left) = (1, days - days_before(year));
        while left >= days_in_month(year, month) {
            left -= days_in_month(year, month);
            month += 1;
        }
        Calendar {
            year,
            month,
            day: left as u32 + 1,
            hour: (rest / 3600) as u32,
            minute: (rest / 60 % 60) as u32,
            second: (rest % 60) as u32,
        }
    }

    /// The instant some seconds later, or earlier where negative.
    #[must_use]
    pub const fn plus_s(self, seconds: i64) -> Self {
        Self { unix_s: self.unix_s + seconds }
    }

    /// Seconds from another instant to this one.
    #[must_use]
    pub const fn since_s(self, earlier: Self) -> i64 {
        self.unix_s - earlier.unix_s
    }

    /// The whole hour that it lies in.
    #[must_use]
    pub const fn hour_start(self) -> Self {
        Self { unix_s: self.unix_s - self.unix_s.rem_euclid(3600) }
    }

    /// The instant nearest to this one with that day of the month and time of day; none where no month has it.
    #[must_use]
    pub fn nearest(self, day: u32, hour: u32, minute: u32) -> Option<Self> {
        let now = self.calendar();
        // A 31st may be two months away.
        (-2..=2)
            .filter_map(|step| {
                let months = now.year * 12 + i64::from(now.month) - 1 + step;
                Self::of(months.div_euclid(12), months.rem_euclid(12) as u32 + 1, day, hour, minute)
            })
            .min_by_key(|candidate| candidate.since_s(self).abs())
    }

    /// The first instant from this one on with that time of day; none where the day has no such time.
    #[must_use]
    pub fn next(self, hour: u32, minute: u32) -> Option<Self> {
        let now = self.calendar();
        let today = Self::of(now.year, now.month, now.day, hour, minute)?;
        Some(if today >= self { today } else { today.plus_s(DAY_S) })
    }

    /// Day of the month and time, "11th 18:51 UTC" without the year: as people at a field tell it.
    #[must_use]
    pub fn clock(self) -> String {
        let c = self.calendar();
        format!("{:02}:{:02} UTC", c.hour, c.minute)
    }

    /// Date and time, "2026-06-21 14:00 UTC".
    #[must_use]
    pub fn date_and_clock(self) -> String {
        let c = self.calendar();
        format!("{:04}-{:02}-{:02} {:02}:{:02} UTC", c.year, c.month, c.day, c.hour, c.minute)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dates_are_those_of_the_calendar() {
        // Unix time of well-known dates (POSIX; `date -u -d`): the epoch, the leap day of 2000, 1e9 s, a day before 1970.
        for (unix_s, date) in [
            (0, (1970, 1, 1, 0, 0)),
            (951_782_400, (2000, 2, 29, 0, 0)),
            (1_000_000_000 - 40, (2001, 9, 9, 1, 46)),
            (-86_400, (1969, 12, 31, 0, 0)),
            (4_107_542_400, (2100, 3, 1, 0, 0)),
        ] {
            let instant = Instant::of(date.0, date.1, date.2, date.3, date.4).unwrap();
            assert_eq!(instant.unix_s(), unix_s, "{date:?}");
            let c = instant.calendar();
            assert_eq!((c.year, c.month, c.day, c.hour, c.minute), date);
        }
        for (y, m, d, h, min) in [
            (2025, 2, 29, 0, 0),
            (2025, 13, 1, 0, 0),
            (2025, 4, 31, 0, 0),
            (2025, 1, 1, 24, 1),
            (2025, 1, 1, 0, 60),
        ] {
            assert_eq!(Instant::of(y, m, d, h, min), None);
        }
    }

    #[test]
    fn a_day_of_the_month_is_the_nearest_one_across_months_and_years() {
        // By hand on a calendar.
        let at = |y, mo, d, h| Instant::of(y, mo, d, h, 0).unwrap();
        for (reference, day, hour, expected) in [
            (at(2026, 1, 1, 1), 31, 23, at(2025, 12, 31, 23)),
            (at(2025, 12, 31, 23), 1, 2, at(2026, 1, 1, 2)),
            (at(2026, 3, 1, 0), 30, 0, at(2026, 3, 30, 0)),
            (at(2026, 2, 27, 12), 31, 12, at(2026, 1, 31, 12)),
            (at(2026, 6, 10, 12), 10, 24, at(2026, 6, 11, 0)),
        ] {
            assert_eq!(reference.nearest(day, hour, 0), Some(expected));
        }
        assert_eq!(at(2026, 6, 10, 12).nearest(0, 1, 0), None);
        assert_eq!(at(2026, 6, 10, 12).next(9, 30), Instant::of(2026, 6, 11, 9, 30));
    }
}
