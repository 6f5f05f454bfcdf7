//! Files of positions: open ones against what their sources say, and sentences with known answers.

use fly::csv::NotARecording;
use fly::read::{Format, Reading, read};
use fly::recording::{FlawKind, Quantity as Q, Recording};

const DEG: f64 = std::f64::consts::PI / 180.0;

#[track_caller]
fn open(name: &str) -> Vec<u8> {
    let path = format!("{}/../../../reference/{name}", env!("CARGO_MANIFEST_DIR"));
    std::fs::read(&path).unwrap_or_else(|e| panic!("{path}: {e}"))
}

#[track_caller]
fn of(bytes: &[u8], format: Format) -> Recording {
    let Reading { recording, format: found, map, .. } = read(bytes, None).unwrap();
    assert_eq!(found, format);
    assert_eq!(map.is_none(), format != Format::Columns);
    recording
}

#[track_caller]
fn value(r: &Recording, q: &Q, place: usize) -> f64 {
    r.channel(q).unwrap_or_else(|| panic!("no {q:?}")).values[place]
}

#[track_caller]
fn near(value: f64, expected: f64, within: f64) {
    assert!((value - expected).abs() <= within, "{value}, expected {expected} within {within}");
}

/// Seconds since 1970 of a day and time, by the days of the years and months before it (leap years 1972 to 2020).
fn utc(day_number: f64, h: f64, m: f64, s: f64) -> f64 {
    day_number * 86_400.0 + h * 3600.0 + m * 60.0 + s
}

#[test]
fn an_aircrafts_sentences_are_all_right_and_give_its_descent() {
    // PROVENANCE of the log: 5469 sentences, every checksum right; from 152.6 kt to 12.3 kt; 31 March 2017.
    let r = of(&open("tracks-nmea/aircraft_descent.log"), Format::Nmea);
    assert!(!r.flaws.iter().any(|f| f.kind == FlawKind::BadRow), "{:#?}", r.flaws);
    // 426 of its 497 moments have a fix: by the validity letters of the RMC sentences, 71 of which tell no time, as do
    // as many GGA sentences.
    assert_eq!(r.rows, 426);
    assert!(
        r.flaws.iter().any(|f| f.what.contains("142 sentences tell not even the time")),
        "{:#?}",
        r.flaws
    );
    // 31 March 2017 is day 17 256: 47 years, 12 leap days, 31 + 28 + 30 days.
    near(r.clock_start_s, utc(17_256.0, 11.0, 1.0, 24.0), 0.0);
    near(value(&r, &Q::GroundSpeed, 0), 152.6 * 1852.0 / 3600.0, 1e-9);
    near(value(&r, &Q::GroundSpeed, 425), 12.3 * 1852.0 / 3600.0, 1e-9);
    near(value(&r, &Q::Latitude, 0), 55.0 + 5.330_990 / 60.0, 1e-9);
    near(value(&r, &Q::Longitude, 0), 38.0 + 58.587_325 / 60.0, 1e-9);
    near(value(&r, &Q::Course, 0), 86.2 * DEG, 1e-9);
    // The speed told agrees with how the place changes: in the middle to 2 m/s, at speeds of 6 to 79 m/s (the receiver
    // smooths its speed while the aircraft slows down).
    let (lat, speed) = (r.channel(&Q::Latitude).unwrap(), r.channel(&Q::GroundSpeed).unwrap());
    let mut off: Vec<f64> = (1..r.rows - 1)
        .filter(|i| lat.time_s[i + 1] - lat.time_s[i - 1] < 2.1)
        .map(|i| {
            let plane = numerics::geodesy::LocalPlane::at(lat.values[i - 1], value(&r, &Q::Longitude, i - 1));
            let (n, e) = plane.north_east_m(lat.values[i + 1], value(&r, &Q::Longitude, i + 1));
            (n.hypot(e) / 2.0 - speed.values[i]).abs()
        })
        .collect();
    off.sort_by(f64::total_cmp);
    assert!(off.len() > 300 && off[off.len() / 2] < 2.0, "{:?}", off[off.len() / 2]);
}

#[test]
fn a_receiver_without_fix_is_no_flight() {
    let failure = read(&open("tracks-nmea/mixed_talkers_no_fix.log"), None).unwrap_err();
    assert!(matches!(&failure, NotARecording::NoFix { why } if why.contains("no fix")), "{failure}");
}

/// Sentences of one moment with a second moment after, as a recording wants two.
fn sentences(lines: &[&str]) -> Vec<u8> {
    (lines.join("\r\n") + "\r\n").into_bytes()
}

#[test]
fn sentences_of_ships_and_textbooks_are_read_to_their_last_digit() {
    // Source: logs of ship receivers (NOAA PSL field campaigns of 2019 and 2020) and the sentences that tutorials of
    // NMEA 0183 use; checksums computed anew.
    let r = of(
        &sentences(&[
            "$GPGGA,195959.00,1813.38282955,N,12606.12767097,E,2,07,1.4,17.2,M,36.5,M,4.0,0129*78",
            "$GPRMC,195959.00,A,1813.38282955,N,12606.12767097,E,1.31,262.13,160919,3.0,W,D*21",
        ]),
        Format::Nmea,
    );
    assert_eq!(r.rows, 1, "{:#?}", r.flaws);
    near(value(&r, &Q::Latitude, 0), 18.223_047_2, 5e-8);
    near(value(&r, &Q::Longitude, 0), 126.102_127_8, 5e-8);
    near(value(&r, &Q::Altitude, 0), 17.2, 1e-12);
    near(value(&r, &Q::Satellites, 0), 7.0, 0.0);
    near(value(&r, &Q::GroundSpeed, 0), 0.673_922, 1e-6);
    near(value(&r, &Q::Course, 0), (262.13 - 360.0) * DEG, 1e-9);
    // 16 September 2019: 49 years with 12 leap days, then 258 days.
    near(r.clock_start_s, utc(49.0 * 365.0 + 12.0 + 258.0, 19.0, 59.0, 59.0), 0.0);

    let r = of(
        &sentences(&[
            "$GPGGA,195959.00,1541.31258893,N,05130.51204125,W,2,06,1.5,9.2,M,-37.6,M,4.0,0138*7E",
            "$GPRMC,195959.00,A,1541.31258893,N,05130.51204125,W,0.26,147.44,140120,16.9,W,D*0B",
        ]),
        Format::Nmea,
    );
    near(value(&r, &Q::Latitude, 0), 15.688_543_1, 5e-8);
    near(value(&r, &Q::Longitude, 0), -51.508_534_0, 5e-8);
    let r = of(
        &sentences(&[
            "$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47",
            "$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*6A",
        ]),
        Format::Nmea,
    );
    near(value(&r, &Q::Latitude, 0), 48.1173, 1e-9);
    // 23 March 1994: 24 years with 6 leap days, 31 + 28 + 22 days.
    near(r.clock_start_s, utc(24.0 * 365.0 + 6.0 + 81.0, 12.0, 35.0, 19.0), 0.0);
}

#[test]
fn a_sentence_that_breaks_its_checksum_is_not_believed() {
    // As it stands in a public paste: spaces were put in after the fact, so the sum is 41, not 64.
    let r = of(
        &sentences(&[
            "$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*6A",
            "$GPRMC,170047.00,A,4121.23302,N,00201.31654,W,2.703, ,200417, , ,A*64",
        ]),
        Format::Nmea,
    );
    assert_eq!(r.rows, 1);
    let flaw = r.flaws.iter().find(|f| f.kind == FlawKind::BadRow).unwrap();
    assert!(flaw.place == "line 2" && flaw.what.contains("checksum"), "{flaw:?}");
}

#[test]
fn fixes_of_recorders_are_read_as_the_specification_says() {
    // Source: FAI/IGC technical specification, appendix A: the fix of its examples, and one with south and east, two
    // dimensions only, a negative pressure altitude and further columns.
    let text = "AXXX001\r\nHFDTE280709\r\nI023638ENL3940SIU\r\n\
                B1101355206343N00006198WA005870055800109\r\nB11013652063X3S00006198EV-00120000000007\r\n\
                B1101375206343S00006198EV-00120000000007\r\n";
    let r = of(text.as_bytes(), Format::Igc);
    assert_eq!(r.rows, 2, "{:#?}", r.flaws);
    assert!(r.flaws.iter().any(|f| f.kind == FlawKind::BadRow && f.place == "line 5"), "{:#?}", r.flaws);
    near(value(&r, &Q::Latitude, 0), 52.105_716_7, 5e-8);
    near(value(&r, &Q::Longitude, 0), -0.103_300_0, 5e-8);
    near(value(&r, &Q::Altitude, 0), 558.0, 0.0);
    near(value(&r, &Q::Satellites, 0), 9.0, 0.0);
    near(value(&r, &Q::Latitude, 1), -52.105_716_7, 5e-8);
    near(value(&r, &Q::Longitude, 1), 0.1033, 5e-8);
    // Two dimensions only: its satellite altitude is no altitude.
    assert!(value(&r, &Q::Altitude, 1).is_nan());
    // ISO 2533: 101 325 Pa (1 - 0.0065 h / 288.15)^5.25588 at 587 m and at -12 m.
    let iso = |h: f64| 101_325.0 * (1.0 - 0.0065 * h / 288.15_f64).powf(5.255_88);
    near(value(&r, &Q::StaticPressure, 0), iso(587.0), 0.5);
    near(value(&r, &Q::StaticPressure, 1), iso(-12.0), 0.5);
    // 28 July 2009: 39 years with 10 leap days, then 208 days.
    near(r.clock_start_s, utc(39.0 * 365.0 + 10.0 + 208.0, 11.0, 1.0, 35.0), 0.0);
    assert!(r.unused_columns.iter().any(|u| u.contains("ENL")), "{:?}", r.unused_columns);
}

#[test]
fn midnight_belongs_to_the_next_day() {
    let text = "AXXX\nHFDTEDATE:010203,01\nB2359585206343N00006198WA0058700558\nB0000015206343N00006198WA0058700558\n";
    let r = of(text.as_bytes(), Format::Igc);
    assert_eq!(r.channels[0].time_s.as_slice(), [0.0, 3.0]);
    // 1 February 2003: 33 years with 8 leap days, 31 days.
    near(r.clock_start_s, utc(33.0 * 365.0 + 8.0 + 31.0, 23.0, 59.0, 58.0), 0.0);
    let r = of(
        &sentences(&[
            "$GPGLL,4807.038,N,01131.000,E,235959.5,A*32",
            "$GPGLL,4807.038,N,01131.000,E,000000.5,A*33",
        ]),
        Format::Nmea,
    );
    assert_eq!(r.channels[0].time_s.as_slice(), [0.0, 1.0]);
}

#[test]
fn open_recorder_files_are_read_whole() {
    // Counts of fixes and rates from the provenance; first and last fixes read off the files by eye.
    let r = of(&open("tracks-igc/glider_2s.igc"), Format::Igc);
    assert_eq!(r.rows, 3334, "{:#?}", r.flaws);
    near(value(&r, &Q::Latitude, 0), 52.0 + 28.091 / 60.0, 1e-9);
    near(value(&r, &Q::Longitude, 0), 6.0 + 20.412 / 60.0, 1e-9);
    near(value(&r, &Q::Altitude, 0), 47.0, 0.0);
    let (from, to) = r.span_s().unwrap();
    near(to - from, (13.0 - 11.0) * 3600.0 + (28.0 - 33.0) * 60.0 + 44.0 - 26.0, 0.0);
    let r = of(&open("tracks-igc/paraglider_1s.igc"), Format::Igc);
    assert_eq!(r.rows, 2008, "{:#?}", r.flaws);
    let highest = r.channel(&Q::StaticPressure).unwrap().values.iter().fold(0.0_f64, |m, v| m.max(*v));
    assert!(highest > 101_325.0, "pressure altitudes below zero are pressures above the standard: {highest}");
    // The example of the specification, every record type in it; one of its fixes is written six hours late, so that the
    // clock seems to go back after it, and the last is written twice.
    let r = of(&open("tracks-igc/every_record.igc"), Format::Igc);
    assert_eq!(r.rows, 9, "{:#?}", r.flaws);
    assert!(r.flaws.iter().any(|f| f.kind == FlawKind::TimeReset), "{:#?}", r.flaws);
    near(value(&r, &Q::Satellites, 1), 9.0, 0.0);
}

#[test]
fn open_tracks_are_read_or_refused_with_the_reason() {
    // Counts by an independent XML reader (Python's xml.etree): 871 points, 358 of them without a time.
    let r = of(&open("tracks-gpx/walk_with_times.gpx"), Format::Gpx);
    assert_eq!(r.rows, 513, "{:#?}", r.flaws);
    assert!(r.flaws.iter().any(|f| f.what.contains("358 of 871")), "{:#?}", r.flaws);
    near(value(&r, &Q::Latitude, 0), 45.452_595_614, 1e-12);
    near(value(&r, &Q::Altitude, 512), 770.634_033, 1e-12);
    let (from, to) = r.span_s().unwrap();
    near(to - from, (13.0 - 9.0) * 3600.0 + (19.0 - 36.0) * 60.0 + 1.0, 0.0);
    // 15:43:13 an hour ahead of UTC on 11 December 2015 (45 years with 11 leap days, 344 days); 0.994 s to the next.
    let r = of(&open("tracks-gpx/fractional_seconds_and_offset.gpx"), Format::Gpx);
    near(r.clock_start_s, utc(45.0 * 365.0 + 11.0 + 344.0, 14.0, 43.0, 13.0), 0.0);
    near(r.channels[0].time_s[1], 0.994, 1e-6);
    let r = of(&open("tracks-gpx/speeds.gpx"), Format::Gpx);
    assert_eq!(r.channel(&Q::GroundSpeed).unwrap().values, [1.2, 2.2, 3.2]);
    let r = of(&open("tracks-gpx/every_element_1.1.gpx"), Format::Gpx);
    near(value(&r, &Q::Satellites, 0), 100.0, 0.0);
    near(value(&r, &Q::Altitude, 0), 11.1, 0.0);
    for (name, words) in [
        ("no_times.gpx", "none of its 25 track points"),
        ("extensions_only.gpx", "1 waypoints"),
        ("byte_order_mark.gpx", "1 waypoints"),
    ] {
        let failure = read(&open(&format!("tracks-gpx/{name}")), None).unwrap_err().to_string();
        assert!(failure.contains(words), "{name}: {failure}");
    }
}

#[test]
fn a_track_cut_anywhere_gives_the_points_before() {
    let whole = open("tracks-gpx/walk_with_times.gpx");
    let mut last = 0;
    for cut in (1024..whole.len()).step_by(8 << 10) {
        match read(&whole[..cut], None) {
            Ok(reading) => {
                let r = reading.recording;
                assert!(r.rows >= last, "{cut}");
                assert!(r.flaws.iter().any(|f| f.kind == FlawKind::Truncated), "{cut}: {:#?}", r.flaws);
                last = r.rows;
            }
            Err(NotARecording::NoFix { .. }) => assert_eq!(last, 0, "{cut}"),
            Err(other) => panic!("{cut}: {other}"),
        }
    }
    assert!(last > 400, "{last}");
}

#[test]
fn packed_files_are_read_by_what_they_hold() {
    use std::io::Write;
    let whole = open("tracks-igc/paraglider_1s.igc");
    let mut writer = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::fast());
    writer.write_all(&whole).unwrap();
    // As text, since missing values are not equal to themselves.
    let plain = format!("{:?}", of(&whole, Format::Igc));
    assert_eq!(format!("{:?}", of(&writer.finish().unwrap(), Format::Igc)), plain);
    assert_eq!(format!("{:?}", of(&zstd::bulk::compress(&whole, 1).unwrap(), Format::Igc)), plain);
    let rows: String = (0..100).map(|i| format!("{:.1},{}\n", f64::from(i) * 0.1, 10 + i % 3)).collect();
    let text = format!("time (s),airspeed (m/s)\n{rows}");
    let r = of(&zstd::bulk::compress(text.as_bytes(), 1).unwrap(), Format::Columns);
    assert_eq!(r.rows, 100);
}

#[test]
fn pages_and_other_markup_are_refused() {
    let failure = read(b"<!DOCTYPE html><html><body>404</body></html>", None).unwrap_err().to_string();
    assert!(failure.contains("not GPX"), "{failure}");
}
