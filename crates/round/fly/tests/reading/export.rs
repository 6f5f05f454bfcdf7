//! What is written is read back by other readers than ours, and by ours.

use std::sync::Arc;

use fly::export;
use fly::map::ColumnMap;
use fly::phases;
use fly::read::read;
use fly::recording::{Channel, Quantity as Q, Recording};

use crate::invented::flight;

/// The invented flight with two rates and a calendar.
fn recording() -> Recording {
    let moments = flight();
    let fast = Arc::new(moments.iter().map(|m| m.t).collect::<Vec<f64>>());
    let slow = Arc::new(moments.iter().step_by(10).map(|m| m.t).collect::<Vec<f64>>());
    let mut channels = Vec::new();
    let mut add = |quantity, time: &Arc<Vec<f64>>, values| {
        channels.push(Channel { quantity, source: "made".into(), time_s: Arc::clone(time), values });
    };
    add(Q::Roll, &fast, moments.iter().map(|m| m.roll).collect());
    add(Q::Airspeed, &fast, moments.iter().map(|m| m.airspeed).collect());
    add(Q::Servo("left flap".into()), &fast, moments.iter().map(|m| 1500.0 + 100.0 * m.stick.x).collect());
    let rare = || moments.iter().step_by(10);
    add(Q::Latitude, &slow, rare().map(|m| m.latitude).collect());
    add(Q::Longitude, &slow, rare().map(|m| m.longitude).collect());
    add(Q::Altitude, &slow, rare().map(|m| m.height + 120.0).collect());
    add(Q::VelocityNorth, &slow, rare().map(|m| m.velocity.x).collect());
    add(Q::VelocityEast, &slow, rare().map(|m| m.velocity.y).collect());
    // 2026-06-01T10:00:00Z: 56 years with 14 leap days, 151 days.
    let clock_start_s = f64::from(56 * 365 + 14 + 151) * 86_400.0 + 36_000.0;
    Recording { channels, rows: moments.len(), clock_start_s, ..Recording::default() }
}

#[test]
fn channels_come_back_from_csv() {
    let r = recording();
    let text = export::csv(&r).unwrap();
    let header = text.lines().next().unwrap();
    assert_eq!(
        header,
        "time_s,roll_rad,airspeed_m_s,servo_left_flap_us,latitude_deg,longitude_deg,altitude_m,velocity_north_m_s,velocity_east_m_s"
    );
    let map = ColumnMap::from_toml(
        "[time]\ncolumn = \"time_s\"\nunit = \"s\"\n[[channel]]\ncolumn = \"roll_rad\"\nquantity = \"roll\"\nunit = \"rad\"\n\
         [[channel]]\ncolumn = \"altitude_m\"\nquantity = \"altitude\"\nunit = \"m\"\n",
    )
    .unwrap();
    let back = read(text.as_bytes(), Some(&map)).unwrap().recording;
    // The grid's times differ from the channel's by rounding, so values by as much of their slope.
    for (a, b) in back.channel(&Q::Roll).unwrap().values.iter().zip(&r.channel(&Q::Roll).unwrap().values) {
        assert!((a - b).abs() < 1e-12, "{a} {b}");
    }
    assert_eq!(back.rows, r.rows);
    // Between the samples of a slow channel lies the line through them.
    let (slow, grid) = (r.channel(&Q::Altitude).unwrap(), back.channel(&Q::Altitude).unwrap());
    assert!((grid.values[15] - 0.5 * (slow.values[1] + slow.values[2])).abs() < 1e-9);
}

#[test]
fn a_table_of_doubles_has_the_bytes_that_the_specification_says() {
    // Held against other readers by scripts/read_back.py; here against the specification: magic at both ends, the
    // length of the footer before the last, and every column's first value in its page.
    let r = recording();
    let bytes = export::parquet(&r).unwrap();
    assert!(bytes.starts_with(b"PAR1") && bytes.ends_with(b"PAR1"));
    let length = u32::from_le_bytes(bytes[bytes.len() - 8..bytes.len() - 4].try_into().unwrap()) as usize;
    let footer = &bytes[bytes.len() - 8 - length..bytes.len() - 8];
    let table = export::table(&r).unwrap();
    for name in &table.names {
        assert!(memchr::memmem::find(footer, name.as_bytes()).is_some(), "{name}");
    }
    assert!(bytes.len() < table.columns.len() * table.columns[0].len() * 8, "packed");
}

#[test]
fn a_track_comes_back_from_gpx_with_its_times() {
    let r = recording();
    let found = phases::find(&r);
    let text = export::gpx(&r, &found, &phases::flights(&r)).unwrap();
    assert!(text.contains("<time>2026-06-01T10:00:00.000Z</time>"), "{}", &text[..600]);
    let back = read(text.as_bytes(), None).unwrap().recording;
    // The last point of one phase is the first of the next.
    let (there, here) = (r.channel(&Q::Latitude).unwrap(), back.channel(&Q::Latitude).unwrap());
    assert_eq!(here.values.len(), there.values.len());
    for (a, b) in there.values.iter().zip(&here.values) {
        assert!((a - b).abs() < 1e-8, "{a} {b}");
    }
    assert!((back.clock_start_s - r.clock_start_s).abs() < 1e-3);
    assert!(text.contains("<name>turn</name>"));
}

#[test]
fn without_a_calendar_no_time_is_made_up() {
    let mut r = recording();
    r.clock_start_s = 12.0;
    let found = phases::find(&r);
    let text = export::gpx(&r, &found, &[]).unwrap();
    assert!(!text.contains("<time>"));
    assert!(!export::kml(&r, &found, &[]).unwrap().contains("<TimeSpan>"));
}

#[test]
fn lines_on_a_map_are_longitude_first_and_well_formed() {
    let r = recording();
    let found = phases::find(&r);
    let text = export::kml(&r, &found, &phases::flights(&r)).unwrap();
    let m = &flight()[0];
    assert!(text.contains(&format!("{:.8},{:.8},{:.2}", m.longitude, m.latitude, m.height + 120.0)));
    let mut reader = quick_xml::Reader::from_str(&text);
    loop {
        match reader.read_event().expect("well formed") {
            quick_xml::events::Event::Eof => break,
            _ => continue,
        }
    }
}

#[test]
fn what_has_no_track_or_no_channel_is_told() {
    let none = Recording::default();
    assert_eq!(export::csv(&none).unwrap_err(), export::NoExport::NoChannels);
    assert_eq!(export::gpx(&none, &[], &[]).unwrap_err(), export::NoExport::NoPositions);
}
