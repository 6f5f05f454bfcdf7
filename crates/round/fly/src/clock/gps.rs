//! What time of day is a week and second of the satellites' clock? Its time counts from 1980-01-06 without leap seconds,
//! and is by now whole seconds ahead of universal time.

/// Seconds from 1970-01-01 to 1980-01-06, where weeks are counted from.
const EPOCH_S: f64 = 315_964_800.0;
/// Seconds of a week.
pub(crate) const WEEK_S: f64 = 604_800.0;
/// Receivers of old send the number of the week without its thousands and more: it begins again after so many weeks.
pub(crate) const TEN_BITS: f64 = 1024.0;

/// Since when, s since 1970-01-01 in universal time, the satellites' clock is how many seconds ahead. Source: IERS Bulletin C,
/// as listed in `reference/leap-seconds` (there TAI - UTC, which is 19 s more).
const AHEAD: &[(f64, f64)] = &[
    (362_793_600.0, 1.0),
    (394_329_600.0, 2.0),
    (425_865_600.0, 3.0),
    (489_024_000.0, 4.0),
    (567_993_600.0, 5.0),
    (631_152_000.0, 6.0),
    (662_688_000.0, 7.0),
    (709_948_800.0, 8.0),
    (741_484_800.0, 9.0),
    (773_020_800.0, 10.0),
    (820_454_400.0, 11.0),
    (867_715_200.0, 12.0),
    (915_148_800.0, 13.0),
    (1_136_073_600.0, 14.0),
    (1_230_768_000.0, 15.0),
    (1_341_100_800.0, 16.0),
    (1_435_708_800.0, 17.0),
    (1_483_228_800.0, 18.0),
];
/// Up to here, 2027-06-28, the table is known to be whole (same source); what comes after may have more leap seconds.
const KNOWN_UNTIL_S: f64 = 1_814_140_800.0;

/// A moment of the satellites' clock in universal time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Universal {
    /// Seconds since 1970-01-01.
    pub(crate) time_s: f64,
    /// How far the satellites' clock was ahead, s.
    pub(crate) ahead_s: f64,
    /// Whether that is known for then.
    pub(crate) known: bool,
}

/// Universal time of a week, counted from 1980-01-06 without starting over, and seconds of it.
pub(crate) fn universal(week: f64, seconds: f64) -> Universal {
    let gps_s = EPOCH_S + week * WEEK_S + seconds;
    let ahead_s =
        AHEAD.iter().rev().find(|(since, ahead)| gps_s >= since + ahead).map_or(0.0, |(_, ahead)| *ahead);
    let time_s = gps_s - ahead_s;
    Universal { time_s, ahead_s, known: time_s < KNOWN_UNTIL_S }
}

#[cfg(test)]
mod tests {
    use super::super::iso8601;
    use super::*;

    #[track_caller]
    fn check(week: f64, seconds: f64, utc: &str) {
        assert_eq!(iso8601(universal(week, seconds).time_s).as_deref(), Some(utc));
    }

    #[test]
    fn published_moments_come_out() {
        // The epoch (IS-GPS-200, 3.3.4: midnight of 1980-01-05/06), and the weeks at which ten bits started over: the US
        // Coast Guard's notices give 23:59:47 on 1999-08-21 (13 s) and 23:59:42 on 2019-04-06 (18 s), universal time.
        check(0.0, 0.0, "1980-01-06T00:00:00.000Z");
        check(1024.0, 0.0, "1999-08-21T23:59:47.000Z");
        check(2048.0, 0.0, "2019-04-06T23:59:42.000Z");
        // 2017-01-01 was the Sunday on which week 1930 begins (13 510 days after 1980-01-06), and since then the clock is
        // 18 s ahead (IERS Bulletin C 52); before, 17 s.
        check(1930.0, 18.0, "2017-01-01T00:00:00.000Z");
        check(1930.0, 16.5, "2016-12-31T23:59:59.500Z");
        check(2300.0, 345_618.0, "2024-02-08T00:00:00.000Z");
    }

    #[test]
    #[expect(clippy::disallowed_methods, reason = "reference data are files")]
    fn the_table_is_the_published_one() {
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../../reference/leap-seconds/leapseconds");
        let text = std::fs::read_to_string(path).unwrap();
        let months = ["Jan", "Jun", "Dec"];
        let mut ahead = Vec::new();
        for line in text.lines().filter(|l| l.starts_with("Leap")) {
            let cells: Vec<&str> = line.split_whitespace().collect();
            assert_eq!(cells[4..], ["23:59:60", "+", "S"]);
            let year: f64 = cells[1].parse().unwrap();
            assert!(months.contains(&cells[2]));
            // A second is put in at the end of June or December; the new count holds from the day after.
            let (y, m) = if cells[2] == "Dec" { (year + 1.0, 1.0) } else { (year, 7.0) };
            ahead.push(super::super::days_of(y, m, 1.0).unwrap() * 86_400.0);
        }
        // Nine of them (with ten seconds at the begin of 1972) came before 1980.
        let since_1980: Vec<f64> = ahead.into_iter().filter(|s| *s > EPOCH_S).collect();
        assert_eq!(since_1980, AHEAD.iter().map(|(since, _)| *since).collect::<Vec<_>>());
        assert!(AHEAD.iter().enumerate().all(|(i, (_, ahead))| *ahead == i as f64 + 1.0));
        let expires = text.lines().find_map(|l| l.strip_prefix("#expires ")).unwrap();
        let until: f64 = expires.split(' ').next().unwrap().parse().unwrap();
        assert_eq!(until, KNOWN_UNTIL_S);
    }

    #[test]
    fn what_the_table_cannot_know_is_said() {
        assert!(universal(2446.0, 0.0).known);
        // 2027-06-28 is the Monday of week 2477.
        assert!(universal(2477.0, 86_000.0).known);
        assert!(!universal(2477.0, 86_400.0 + 18.0).known);
    }
}
