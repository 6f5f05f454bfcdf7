//! Clocks of all kinds through a map and through a proposed one: what universal time a recording began at, and how its
//! times go on.

use fly::csv::read_csv;
use fly::map::ColumnMap;
use fly::propose::propose;
use fly::recording::{FlawKind, Recording};

/// Seconds since 1970-01-01 of days since then and a time of day.
fn utc(days: f64, h: f64, m: f64, s: f64) -> f64 {
    days * 86_400.0 + h * 3600.0 + m * 60.0 + s
}

/// Days from 1970-01-01 to 2024-05-01: 54 years with 13 leap days, and 31 + 29 + 31 + 30 days.
const MAY_2024: f64 = 54.0 * 365.0 + 13.0 + 121.0;

/// Reads rows of time cells and a rising height through `[time]` lines of a map.
fn read(header: &str, rows: &[String], time: &str) -> Recording {
    let mut text = format!("{header},up\n");
    for (i, row) in rows.iter().enumerate() {
        text += &format!("{row},{}\n", i % 7);
    }
    let map = format!("[time]\n{time}\n[[channel]]\ncolumn = \"up\"\nquantity = \"height\"\nunit = \"m\"\n");
    read_csv(text.as_bytes(), &ColumnMap::from_toml(&map).unwrap()).unwrap()
}

/// The recording begins then, and its rows follow each other by the step.
#[track_caller]
fn check(r: &Recording, begins: f64, step: f64, rows: usize) {
    assert!((r.clock_start_s - begins).abs() < 1e-6, "{} for {begins}", r.clock_start_s);
    let time = &r.channels[0].time_s;
    assert_eq!(time.len(), rows, "{:?}", r.flaws);
    for (i, t) in time.iter().enumerate() {
        assert!((t - i as f64 * step).abs() < 1e-6, "row {i}: {t} s");
    }
}

#[test]
fn seconds_of_the_satellites_week_are_18_seconds_ahead_since_2017() {
    // 2024-05-01 is the Wednesday of week 2312: (19 844 - 3657) days / 7 = 2312 and 3 days. Source of the 18 s: IERS
    // Bulletin C 52 and reference/leap-seconds.
    let begin = 3.0 * 86_400.0 + 36_000.0 + 18.0;
    let rows: Vec<String> = (0..50).map(|i| format!("{:.1},2312", begin + 0.1 * f64::from(i))).collect();
    let named = read("s,w", &rows, "column = \"s\"\nunit = \"gps-s\"\nweek = \"w\"");
    check(&named, utc(MAY_2024, 10.0, 0.0, 0.0), 0.1, 50);
    let numbered = read("s,w", &rows, "column = \"s\"\nunit = \"gps-s\"\nweek_column = 2");
    check(&numbered, utc(MAY_2024, 10.0, 0.0, 0.0), 0.1, 50);
    let fixed = read("s,w", &rows, "column = \"s\"\nunit = \"gps-s\"\nweek = 2312");
    check(&fixed, utc(MAY_2024, 10.0, 0.0, 0.0), 0.1, 50);
    // Before 2017 it was 17 s: 2016-05-01, a Sunday, is 16 922 days after 1970-01-01 and begins week 1895.
    let rows: Vec<String> = (0..50).map(|i| format!("{},1895", 36_017_000 + 100 * i)).collect();
    let before = read("ms,w", &rows, "column = \"ms\"\nunit = \"gps-ms\"\nweek = \"w\"");
    check(&before, utc(16_922.0, 10.0, 0.0, 0.0), 0.1, 50);
    assert!(before.flaws.is_empty(), "{:?}", before.flaws);
}

#[test]
fn a_week_that_ends_in_flight_goes_on_with_its_column_and_without() {
    let at = |i: i32| 604_799.0 + 0.1 * f64::from(i);
    let rows: Vec<String> = (0..50)
        .map(|i| format!("{:.1},{}", at(i).rem_euclid(604_800.0), 2312 + i32::from(at(i) >= 604_799.95)))
        .collect();
    // The last second of Saturday 2024-05-04 of the satellites' clock is 18 s earlier in universal time.
    let begins = utc(MAY_2024 + 3.0, 23.0, 59.0, 41.0);
    check(&read("s,w", &rows, "column = \"s\"\nunit = \"gps-s\"\nweek = \"w\""), begins, 0.1, 50);
    check(&read("s,w", &rows, "column = \"s\"\nunit = \"gps-s\"\nweek = 2312"), begins, 0.1, 50);
}

#[test]
fn a_week_of_ten_bits_and_a_far_date_are_told() {
    let rows: Vec<String> = (0..50).map(|i| format!("{:.1},264", 36_000.0 + 0.1 * f64::from(i))).collect();
    let r = read("s,w", &rows, "column = \"s\"\nunit = \"gps-s\"\nweek = \"w\"");
    check(&r, 36_000.0, 0.1, 50);
    let told = r.flaws.iter().find(|f| f.kind == FlawKind::Clock).unwrap();
    // Weeks 264, 1288 and 2312 begin on these Sundays.
    for date in ["1985-01-27", "2004-09-12", "2024-04-28"] {
        assert!(told.what.contains(date), "{}", told.what);
    }
    let rows: Vec<String> = (0..50).map(|i| format!("{:.1},3000", 36_000.0 + 0.1 * f64::from(i))).collect();
    let r = read("s,w", &rows, "column = \"s\"\nunit = \"gps-s\"\nweek = \"w\"");
    assert!(r.flaws.iter().any(|f| f.what.contains("does not know whether leap seconds")), "{:?}", r.flaws);
}

#[test]
fn zones_of_the_text_and_of_the_map_lead_to_universal_time() {
    let rows = |suffix: &str| -> Vec<String> {
        (0..50).map(|i| format!("2024-05-01T01:30:{:04.1}{suffix}", 0.1 * f64::from(i))).collect()
    };
    let time = "column = \"t\"\nunit = \"iso8601\"";
    let zoned = format!("{time}\nzone = \"+02:00\"");
    check(&read("t", &rows(""), time), utc(MAY_2024, 1.0, 30.0, 0.0), 0.1, 50);
    check(&read("t", &rows(""), &zoned), utc(MAY_2024 - 1.0, 23.0, 30.0, 0.0), 0.1, 50);
    // What the text says itself holds.
    check(&read("t", &rows("Z"), &zoned), utc(MAY_2024, 1.0, 30.0, 0.0), 0.1, 50);
    check(&read("t", &rows("-05:00"), &zoned), utc(MAY_2024, 6.0, 30.0, 0.0), 0.1, 50);
}

#[test]
fn a_local_clock_over_midnight_is_carried_on() {
    let rows: Vec<String> = (0..50)
        .map(|i| {
            let s = (86_398.0 + 0.1 * f64::from(i)).rem_euclid(86_400.0) + 1e-9;
            format!("{:02}:{:02}:{:04.1}", (s / 3600.0) as u32, (s / 60.0) as u32 % 60, s % 60.0)
        })
        .collect();
    let time = "column = \"t\"\nunit = \"clock\"";
    check(&read("t", &rows, time), 86_398.0, 0.1, 50);
    // One hour behind universal time, it is 00:59:58 there.
    check(&read("t", &rows, &format!("{time}\nzone = \"-01:00\"")), 3598.0, 0.1, 50);
}

#[test]
fn a_zone_or_week_where_none_belongs_is_told() {
    for (time, word) in [
        ("column = \"t\"\nunit = \"s\"\nzone = \"+02:00\"", "zone belongs"),
        ("column = \"t\"\nunit = \"clock\"\nzone = \"CET\"", "hours and minutes ahead"),
        ("column = \"t\"\nunit = \"clock\"\nweek = 3", "week belongs"),
        ("column = \"t\"\nunit = \"gps-s\"\nweek = -3", "header of its column"),
    ] {
        let map =
            format!("[time]\n{time}\n[[channel]]\ncolumn = \"a\"\nquantity = \"roll\"\nunit = \"deg\"\n");
        let faults = ColumnMap::from_toml(&map).unwrap_err();
        assert_eq!(faults.len(), 1, "{faults:?}");
        assert!(faults[0].what.contains(word), "{}", faults[0]);
    }
}

#[test]
fn the_satellites_clock_is_proposed_with_its_week() {
    let mut text = String::from("GPS week,GPS time of week (ms),airspeed (m/s)\n");
    for i in 0..400 {
        text += &format!("2312,{},{}\n", 295_218_000 + 50 * i, 12 + i % 5);
    }
    let p = propose(text.as_bytes()).unwrap();
    let map = p.map.to_toml();
    assert!(map.contains("unit = \"gps-ms\"") && map.contains("week = \"GPS week\""), "{map}");
    let r = read_csv(text.as_bytes(), &p.map).unwrap();
    check(&r, utc(MAY_2024, 10.0, 0.0, 0.0), 0.05, 400);
    // The week is no channel and no unused column.
    assert!(r.unused_columns.is_empty(), "{:?}", r.unused_columns);
    assert!(p.doubts.iter().all(|d| !d.contains("week")), "{:?}", p.doubts);
}

#[test]
fn dates_without_a_zone_are_taken_as_universal_time_and_that_is_told() {
    for (suffix, told) in [("", true), ("+02:00", false)] {
        let mut text = String::from("date and time,airspeed (m/s)\n");
        for i in 0..60 {
            text += &format!("2024-05-01T12:00:{i:02}.0{suffix},{}\n", 12 + i % 5);
        }
        let p = propose(text.as_bytes()).unwrap();
        assert_eq!(p.doubts.iter().any(|d| d.contains("name no zone")), told, "{suffix}: {:?}", p.doubts);
    }
}
