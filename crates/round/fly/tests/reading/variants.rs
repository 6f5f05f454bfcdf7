//! The same invented flight laid out in many ways: what is proposed must be right, and what could be wrong left out.

use std::collections::BTreeMap;

use fly::csv::read_csv;
use fly::map::{Choice, Chosen, Column, ColumnMap};
use fly::propose::{Carries, propose};
use fly::recording::{Quantity as Q, Recording};
use numerics::frames::wrap_rad;

use crate::invented::{Moment, RATE_HZ, compass, flight};

pub(crate) const DEG: f64 = 180.0 / std::f64::consts::PI;

/// A column: its header and how a moment is written in it.
pub(crate) struct Col(pub(crate) &'static str, Box<dyn Fn(&Moment) -> String>);

pub(crate) fn num(header: &'static str, decimals: usize, f: impl Fn(&Moment) -> f64 + 'static) -> Col {
    Col(header, Box::new(move |m| format!("{:.decimals$}", f(m))))
}

pub(crate) fn text(header: &'static str, f: impl Fn(&Moment) -> String + 'static) -> Col {
    Col(header, Box::new(f))
}

/// How columns become text.
pub(crate) struct Style {
    pub(crate) delimiter: &'static str,
    pub(crate) decimal_comma: bool,
    pub(crate) line_end: &'static str,
    pub(crate) before: &'static str,
    pub(crate) header_prefix: &'static str,
}

pub(crate) const PLAIN: Style =
    Style { delimiter: ",", decimal_comma: false, line_end: "\n", before: "", header_prefix: "" };

pub(crate) fn laid_out(style: &Style, columns: &[Col], moments: &[Moment]) -> String {
    let mut out = String::from(style.before);
    // A header may have two lines, told apart by a bar.
    let lines = columns.iter().map(|c| c.0.split('|').count()).max().unwrap_or(1);
    for line in 0..lines {
        let cells: Vec<&str> = columns.iter().map(|c| c.0.split('|').nth(line).unwrap_or("")).collect();
        out += style.header_prefix;
        out += &cells.join(style.delimiter);
        out += style.line_end;
    }
    for m in moments {
        let cells: Vec<String> = columns
            .iter()
            .map(|c| {
                let cell = (c.1)(m);
                if style.decimal_comma { cell.replace('.', ",") } else { cell }
            })
            .collect();
        out += &cells.join(style.delimiter);
        out += style.line_end;
    }
    out
}

/// What a quantity truly was, and by how much a right reading may differ from it (rounding of the text).
fn truth(q: &Q, m: &Moment) -> Option<(f64, f64)> {
    Some(match q {
        Q::Roll => (m.roll, 0.01),
        Q::Pitch => (m.pitch, 0.01),
        Q::Yaw => (m.yaw, 0.01),
        Q::Course => (m.course(), 0.01),
        Q::RollRate => (m.rates.x, 0.01),
        Q::PitchRate => (m.rates.y, 0.01),
        Q::YawRate => (m.rates.z, 0.01),
        Q::ForceX => (m.force.x, 0.02),
        Q::ForceY => (m.force.y, 0.02),
        Q::ForceZ => (m.force.z, 0.02),
        Q::Latitude => (m.latitude, 1e-6),
        Q::Longitude => (m.longitude, 1e-6),
        Q::Altitude => (m.height + 120.0, 0.05),
        Q::Height => (m.height, 0.05),
        Q::VelocityNorth => (m.velocity.x, 0.06),
        Q::VelocityEast => (m.velocity.y, 0.06),
        Q::VelocityDown => (m.velocity.z, 0.06),
        Q::GroundSpeed => (m.ground_speed(), 0.06),
        Q::Airspeed => (m.airspeed, 0.06),
        Q::StickRoll => (m.stick.x, 0.006),
        Q::StickPitch => (m.stick.y, 0.006),
        Q::StickYaw => (m.stick.z, 0.006),
        Q::Throttle => (m.throttle, 0.006),
        Q::Volts => (m.volts, 0.006),
        Q::Amps => (m.amps, 0.06),
        Q::ChargeUsed => (m.used_ah, 0.001),
        Q::Acts => (if m.t < 60.0 { 1.0 } else { 2.0 }, 1e-9),
        Q::Servo(_) => (1500.0 + 400.0 * m.stick.x, 1.0),
        _ => return None,
    })
}

/// Reads through the proposal; every channel read must be true at its own times, and these must be among them.
#[track_caller]
pub(crate) fn check(name: &str, bytes: &[u8], must: &[Q], must_not: &[Q]) -> Recording {
    let moments = flight();
    let p = propose(bytes).unwrap_or_else(|e| panic!("{name}: {e}"));
    let r = read_csv(bytes, &p.map).unwrap_or_else(|e| panic!("{name}: {e}"));
    let about = || {
        let lines: Vec<String> = p
            .evidence
            .iter()
            .map(|e| format!("{} = {} ({:.2}) {}", e.column, e.quantity, e.sure, e.why))
            .chain(p.doubts.iter().map(|d| format!("? {d}")))
            .collect();
        lines.join("\n")
    };
    let derived =
        |source: &str| source.starts_with("from \"") || source.contains("where the recording begins");
    for c in r.channels.iter().filter(|c| !derived(&c.source)) {
        let mut worst: (f64, f64) = (0.0, 0.0);
        for (t, v) in c.time_s.iter().zip(&c.values) {
            let m = &moments[((t * RATE_HZ).round() as usize).min(moments.len() - 1)];
            let (is, slack) = truth(&c.quantity, m).unwrap_or_else(|| {
                panic!("{name}: {:?} is no channel of this flight\n{}", c.quantity, about())
            });
            let angle = matches!(c.quantity, Q::Yaw | Q::Course | Q::Roll);
            let off = if angle { wrap_rad(v - is).abs() } else { (v - is).abs() };
            if off / slack > worst.1 {
                worst = (*t, off / slack);
            }
        }
        assert!(
            worst.1 <= 1.0,
            "{name}: {:?} from \"{}\" is wrong by {:.1} times what rounding explains, at {} s\n{}",
            c.quantity,
            c.source,
            worst.1,
            worst.0,
            about()
        );
    }
    for q in must {
        assert!(r.channel(q).is_some(), "{name}: {q:?} is missing\n{}", about());
    }
    for q in must_not {
        assert!(r.channel(q).is_none(), "{name}: {q:?} must be left out\n{}", about());
    }
    r
}

/// What is left out is offered in the unit that is right, behind comment marks, and taking the offer reads the truth.
#[track_caller]
fn check_offered(bytes: &[u8], offers: &[(Q, &str)]) {
    let p = propose(bytes).unwrap();
    let moments = flight();
    let offered: Vec<(Q, &str)> = p
        .columns
        .iter()
        .filter_map(|c| c.offered.as_ref().map(|e| (e.quantity.clone(), e.unit.as_str())))
        .collect();
    assert_eq!(offered, offers, "{:#?}", p.doubts);
    for c in p.columns.iter().filter(|c| c.offered.is_some()) {
        assert_eq!(c.carries, Carries::Nothing);
        // The number that gave it away is told.
        assert!(c.doubts.iter().any(|d| d.chars().any(|x| x.is_ascii_digit())), "{:?}", c.doubts);
    }
    let kept = p.map.to_toml() + &p.offers_toml();
    assert_eq!(ColumnMap::from_toml(&kept).unwrap(), p.map);
    let taken: String = kept.lines().map(|l| l.strip_prefix("#   ").unwrap_or(l).to_owned() + "\n").collect();
    let map = ColumnMap::from_toml(&taken).unwrap();
    assert_eq!(map, p.corrected());
    let r = read_csv(bytes, &map).unwrap();
    for (q, _) in offers {
        let c = r.channel(q).unwrap();
        for (t, v) in c.time_s.iter().zip(&c.values) {
            let m = &moments[((t * RATE_HZ).round() as usize).min(moments.len() - 1)];
            let (is, slack) = truth(q, m).unwrap();
            assert!((v - is).abs() <= slack, "{q:?}: {v} for {is} at {t} s");
        }
    }
}

#[test]
fn each_column_comes_with_what_speaks_for_it_and_can_be_changed() {
    let columns = [
        num("time_s", 3, |m| m.t),
        num("roll (deg)", 3, |m| m.roll * DEG),
        num("roll rate (deg/s)", 3, |m| m.rates.x * DEG),
        num("mystery", 1, |m| m.height),
        num("climb rate (m/s)", 3, |m| -m.velocity.z),
    ];
    let made = laid_out(&PLAIN, &columns, &flight());
    let p = propose(made.as_bytes()).unwrap();
    assert_eq!(p.columns.len(), 5);
    assert!(p.columns.iter().enumerate().all(|(i, c)| c.number == i + 1 && c.header == columns[i].0));
    assert!(matches!(p.columns[0].carries, Carries::Time(_)), "{:?}", p.columns[0]);
    let Carries::Channel(roll) = &p.columns[1].carries else { panic!("{:?}", p.columns[1]) };
    assert_eq!((&roll.quantity, roll.unit.as_str(), roll.negate), (&Q::Roll, "deg", false));
    assert!(p.columns[1].confidence > 0.5 && p.columns[1].evidence.len() > 1, "{:?}", p.columns[1]);
    let mystery = &p.columns[3];
    assert_eq!((&mystery.carries, &mystery.heard, mystery.confidence), (&Carries::Nothing, &None, 0.0));
    assert!(!mystery.doubts.is_empty() && mystery.range.is_some_and(|(a, b)| a < b));
    // Every doubt that names a column stands with it.
    let beside: Vec<&String> = p.columns.iter().flat_map(|c| &c.doubts).collect();
    assert!(p.doubts.iter().all(|d| beside.contains(&d)), "{:#?}", p.doubts);
    let chosen = Choice {
        column: Column::Number(4),
        carries: Chosen::Quantity { quantity: "height".into(), unit: "m".into(), negate: false },
    };
    let map = p.map_with(&[chosen]).unwrap();
    let r = read_csv(made.as_bytes(), &map).unwrap();
    assert_eq!(r.channel(&Q::Height).unwrap().source, "mystery");
    assert!(fly::sense::check(&r).is_empty());
    let nowhere = Choice { column: Column::Number(9), carries: Chosen::Nothing };
    let faults = p.map_with(&[nowhere]).unwrap_err();
    assert!(faults[0].to_string().contains("no column number 9"), "{faults:?}");
}

#[test]
fn plain_units_in_the_headers() {
    let columns = [
        num("time_s", 3, |m| m.t),
        num("roll (rad)", 5, |m| m.roll),
        num("pitch (rad)", 5, |m| m.pitch),
        num("heading (rad)", 5, |m| m.yaw),
        num("p (rad/s)", 5, |m| m.rates.x),
        num("q (rad/s)", 5, |m| m.rates.y),
        num("r (rad/s)", 5, |m| m.rates.z),
        num("airspeed (m/s)", 2, |m| m.airspeed),
        num("latitude (deg)", 7, |m| m.latitude),
        num("longitude (deg)", 7, |m| m.longitude),
        num("height (m)", 2, |m| m.height),
        num("battery voltage (V)", 2, |m| m.volts),
    ];
    let made = laid_out(&PLAIN, &columns, &flight());
    let must = [
        Q::Roll,
        Q::Pitch,
        Q::Yaw,
        Q::RollRate,
        Q::PitchRate,
        Q::YawRate,
        Q::Airspeed,
        Q::Latitude,
        Q::Longitude,
        Q::Height,
        Q::Volts,
        Q::VelocityNorth,
    ];
    check("plain", made.as_bytes(), &must, &[]);
}

#[test]
fn degrees_g_and_kilometres_an_hour_with_decimal_commas() {
    let columns = [
        num("Zeit time [s]", 2, |m| m.t),
        num("bank [°]", 3, |m| m.roll * DEG),
        num("pitch [°]", 3, |m| m.pitch * DEG),
        num("heading [°]", 3, |m| compass(m.yaw)),
        num("roll rate [°/s]", 2, |m| m.rates.x * DEG),
        num("pitch rate [°/s]", 2, |m| m.rates.y * DEG),
        num("yaw rate [°/s]", 2, |m| m.rates.z * DEG),
        num("acceleration x [g]", 4, |m| m.force.x / 9.80665),
        num("acceleration y [g]", 4, |m| m.force.y / 9.80665),
        num("acceleration z [g]", 4, |m| m.force.z / 9.80665),
        num("ground speed [km/h]", 2, |m| m.ground_speed() * 3.6),
        num("course [°]", 3, |m| compass(m.course())),
        num("height [m]", 2, |m| m.height),
    ];
    let style = Style { delimiter: ";", decimal_comma: true, line_end: "\r\n", ..PLAIN };
    let made = laid_out(&style, &columns, &flight());
    let must = [
        Q::Roll,
        Q::Pitch,
        Q::Yaw,
        Q::RollRate,
        Q::ForceX,
        Q::ForceY,
        Q::ForceZ,
        Q::GroundSpeed,
        Q::Course,
        Q::VelocityEast,
        Q::Height,
    ];
    check("decimal comma", made.as_bytes(), &must, &[]);
}

#[test]
fn no_units_at_all_degrees_and_turned_sensor_axes() {
    let columns = [
        num("time", 3, |m| m.t),
        num("roll", 3, |m| m.roll * DEG),
        num("pitch", 3, |m| m.pitch * DEG),
        num("yaw", 3, |m| compass(m.yaw)),
        num("gyro x", 3, |m| m.rates.x * DEG),
        num("gyro y", 3, |m| -m.rates.y * DEG),
        num("gyro z", 3, |m| -m.rates.z * DEG),
        num("accel x", 4, |m| m.force.x / 9.80665),
        num("accel y", 4, |m| -m.force.y / 9.80665),
        num("accel z", 4, |m| -m.force.z / 9.80665),
        num("lat", 7, |m| m.latitude),
        num("lon", 7, |m| m.longitude),
    ];
    let made = laid_out(&PLAIN, &columns, &flight());
    let must = [
        Q::Roll,
        Q::Pitch,
        Q::Yaw,
        Q::RollRate,
        Q::PitchRate,
        Q::YawRate,
        Q::ForceX,
        Q::ForceY,
        Q::ForceZ,
        Q::Latitude,
    ];
    check("turned axes", made.as_bytes(), &must, &[]);
}

#[test]
fn no_units_at_all_radians() {
    let columns = [
        num("t", 3, |m| m.t),
        num("roll", 5, |m| m.roll),
        num("pitch", 5, |m| m.pitch),
        num("yaw", 5, |m| m.yaw),
        num("roll rate", 5, |m| m.rates.x),
        num("pitch rate", 5, |m| m.rates.y),
        num("yaw rate", 5, |m| m.rates.z),
        num("ground speed", 3, |m| m.ground_speed()),
        num("lat", 7, |m| m.latitude),
        num("lon", 7, |m| m.longitude),
        num("airspeed", 3, |m| m.airspeed),
    ];
    let made = laid_out(&PLAIN, &columns, &flight());
    let must =
        [Q::Roll, Q::Pitch, Q::Yaw, Q::RollRate, Q::PitchRate, Q::YawRate, Q::GroundSpeed, Q::Airspeed];
    check("radians", made.as_bytes(), &must, &[]);
}

#[test]
fn two_header_lines_tabs_and_milliseconds() {
    let columns = [
        num("time|ms", 0, |m| m.t * 1000.0),
        num("bank|deg", 3, |m| m.roll * DEG),
        num("v_north|m/s", 3, |m| m.velocity.x),
        num("v_east|m/s", 3, |m| m.velocity.y),
        num("v_down|m/s", 3, |m| m.velocity.z),
        num("throttle|%", 1, |m| m.throttle * 100.0),
        num("current|mA", 0, |m| m.amps * 1000.0),
        num("used|mAh", 1, |m| m.used_ah * 1000.0),
        text("acts|", |m| if m.t < 60.0 { "rate".into() } else { "Level".into() }),
    ];
    let style = Style { delimiter: "\t", ..PLAIN };
    let made = laid_out(&style, &columns, &flight());
    let must = [
        Q::Roll,
        Q::VelocityNorth,
        Q::VelocityEast,
        Q::VelocityDown,
        Q::Throttle,
        Q::Amps,
        Q::ChargeUsed,
        Q::Acts,
    ];
    check("two header lines", made.as_bytes(), &must, &[]);
}

#[test]
fn quoted_cells_with_delimiters_in_them() {
    let columns = [
        text("\"time, since start (s)\"", |m| format!("\"{:.2}\"", m.t)),
        text("\"speed, over ground (m/s)\"", |m| format!("\"{:.3}\"", m.ground_speed())),
        text("\"ground speed (m/s)\"", |m| format!("\"{:.3}\"", m.ground_speed())),
        text("\"note\"", |m| format!("\"a, b \"\"{}\"\"\"", m.t as i64)),
        text("\"height (m)\"", |m| format!("{:.2}", m.height)),
    ];
    let made = laid_out(&PLAIN, &columns, &flight());
    check("quoted", made.as_bytes(), &[Q::GroundSpeed, Q::Height], &[]);
}

#[test]
fn unnamed_microseconds_and_speeds_settled_by_positions() {
    let columns = [
        num("timestamp", 0, |m| 3.2e7 + m.t * 1e6),
        num("lat", 0, |m| m.latitude * 1e7),
        num("lon", 0, |m| m.longitude * 1e7),
        num("ground speed", 3, |m| m.ground_speed() * 1.943_844_5),
        num("servo 1", 0, |m| 1500.0 + 400.0 * m.stick.x),
    ];
    let made = laid_out(&PLAIN, &columns, &flight());
    let must = [Q::Latitude, Q::Longitude, Q::GroundSpeed, Q::Servo("1".into())];
    check("microseconds", made.as_bytes(), &must, &[]);
}

#[test]
fn header_in_a_comment_and_columns_in_another_order() {
    let columns = [
        num("volts", 2, |m| m.volts),
        num("yaw_rate_deg_s", 3, |m| m.rates.z * DEG),
        num("speed_ground_kmh", 2, |m| m.ground_speed() * 3.6),
        num("yaw_deg", 2, |m| compass(m.yaw)),
        num("time_ms", 0, |m| m.t * 1000.0),
    ];
    let style = Style { before: "# invented flight\n# made for a test\n", header_prefix: "# ", ..PLAIN };
    let made = laid_out(&style, &columns, &flight());
    check("commented header", made.as_bytes(), &[Q::Volts, Q::Yaw, Q::YawRate, Q::GroundSpeed], &[]);
}

#[test]
fn clock_text_knots_and_feet() {
    let columns = [
        text("clock time", |m| {
            let s = 86_395.0 + m.t;
            let day = s.rem_euclid(86_400.0);
            format!("{:02}:{:02}:{:06.3}", (day / 3600.0) as u32, (day / 60.0) as u32 % 60, day % 60.0)
        }),
        num("Airspeed (kt)", 2, |m| m.airspeed * 1.943_844_5),
        num("Altitude (ft)", 1, |m| (m.height + 120.0) / 0.3048),
        num("climb rate (ft/min)", 0, |m| -m.velocity.z / 0.00508),
    ];
    let made = laid_out(&PLAIN, &columns, &flight());
    let r = check("clock over midnight", made.as_bytes(), &[Q::Airspeed, Q::Altitude, Q::VelocityDown], &[]);
    assert!(r.flaws.iter().any(|f| f.what.contains("started over")), "{:?}", r.flaws);
}

#[test]
fn a_bank_and_a_stick_with_the_other_sign() {
    let columns = [
        num("time (s)", 3, |m| m.t),
        num("bank (deg)", 3, |m| -m.roll * DEG),
        num("stick roll", 0, |m| 1500.0 - 500.0 * m.stick.x),
        num("stick pitch", 0, |m| 1500.0 + 500.0 * m.stick.y),
        num("roll rate (deg/s)", 3, |m| m.rates.x * DEG),
        num("v_north_m_s", 3, |m| m.velocity.x),
        num("v_east_m_s", 3, |m| m.velocity.y),
    ];
    let made = laid_out(&PLAIN, &columns, &flight());
    check("turned signs", made.as_bytes(), &[Q::Roll, Q::RollRate, Q::StickRoll], &[]);
}

#[test]
fn slow_columns_empty_between_their_rows_and_dates() {
    let fix = |m: &Moment| ((m.t * RATE_HZ).round() as usize).is_multiple_of(10);
    let columns = [
        text("UTC time", |m| format!("2024-05-01T10:{:02}:{:06.3}Z", (m.t / 60.0) as u32, m.t % 60.0)),
        num("roll_rate_rad_s", 4, |m| m.rates.x),
        text("latitude_deg", move |m| if fix(m) { format!("{:.7}", m.latitude) } else { String::new() }),
        text("longitude_deg", move |m| if fix(m) { format!("{:.7}", m.longitude) } else { String::new() }),
        text(
            "ground_speed_m_s",
            move |m| {
                if fix(m) { format!("{:.2}", m.ground_speed()) } else { String::new() }
            },
        ),
    ];
    let style = Style { line_end: "\r\n", before: "\u{feff}", ..PLAIN };
    let made = laid_out(&style, &columns, &flight());
    let r = check("slow columns", made.as_bytes(), &[Q::RollRate, Q::Latitude, Q::GroundSpeed], &[]);
    assert_eq!(r.channel(&Q::Latitude).unwrap().values.len(), 600);
    assert_eq!(r.channel(&Q::RollRate).unwrap().values.len(), 6000);
}

#[test]
fn wanted_values_doubles_and_other_sensors_are_not_taken() {
    let columns = [
        num("t_s", 3, |m| m.t),
        num("roll_cmd_deg", 2, |m| m.roll * DEG + 5.0),
        num("target pitch (deg)", 2, |m| m.pitch * DEG - 4.0),
        num("airspeed 1 (m/s)", 2, |m| m.airspeed),
        num("airspeed 2 (m/s)", 2, |m| m.airspeed * 1.3),
        num("magnetic heading (deg)", 2, |m| compass(m.yaw + 0.1)),
        num("motor temperature (°C)", 1, |m| 40.0 + m.t / 10.0),
        num("wind speed (m/s)", 1, |_| 2.3),
        num("ch1_us", 0, |m| 1500.0 + 100.0 * m.stick.x),
        num("error", 2, |m| m.t.sin()),
        num("height (m)", 2, |m| m.height),
    ];
    let made = laid_out(&PLAIN, &columns, &flight());
    let must_not = [Q::Roll, Q::Pitch, Q::Airspeed, Q::Yaw, Q::Temperature, Q::GroundSpeed];
    check("others", made.as_bytes(), &[Q::Height], &must_not);
}

#[test]
fn columns_set_out_with_spaces_and_height_settled_by_climb() {
    let columns = [
        num("time_s", 2, |m| m.t),
        num("height", 2, |m| m.height),
        num("climb_m/s", 3, |m| -m.velocity.z),
        num("pitch_deg", 3, |m| m.pitch * DEG),
    ];
    let style = Style { delimiter: "    ", ..PLAIN };
    let made = laid_out(&style, &columns, &flight());
    check("spaces", made.as_bytes(), &[Q::Height, Q::VelocityDown, Q::Pitch], &[]);
}

#[test]
fn a_header_that_names_the_wrong_unit_is_left_out() {
    let columns = [
        num("time_s", 2, |m| m.t),
        num("roll (rad)", 3, |m| m.roll * DEG),
        num("roll rate (rad/s)", 3, |m| m.rates.x),
        num("ground speed (m/s)", 3, |m| m.ground_speed() * 3.6),
        num("lat (deg)", 7, |m| m.latitude),
        num("lon (deg)", 7, |m| m.longitude),
    ];
    let made = laid_out(&PLAIN, &columns, &flight());
    check("wrong units", made.as_bytes(), &[Q::RollRate, Q::Latitude], &[Q::Roll, Q::GroundSpeed]);
    check_offered(made.as_bytes(), &[(Q::Roll, "deg"), (Q::GroundSpeed, "km/h")]);
}

#[test]
fn rates_in_another_unit_than_their_header_says_are_left_out() {
    let columns = [
        num("time_s", 2, |m| m.t),
        num("roll (deg)", 3, |m| m.roll * DEG),
        num("roll rate (rad/s)", 3, |m| m.rates.x * DEG),
        num("vertical speed (m/s)", 3, |m| -m.velocity.z),
        num("height (m)", 2, |m| m.height),
    ];
    let made = laid_out(&PLAIN, &columns, &flight());
    check("wrong rate", made.as_bytes(), &[Q::Roll, Q::Height, Q::VelocityDown], &[Q::RollRate]);
    check_offered(made.as_bytes(), &[(Q::RollRate, "deg/s")]);
}

#[test]
fn nothing_is_taken_that_nothing_settles() {
    // Without units, without anything to compare with: a bank within ±0.8 could be degrees or radians.
    let columns = [
        num("time_s", 2, |m| m.t),
        num("roll", 3, |m| m.roll),
        num("airspeed", 3, |m| m.airspeed * 1.943_844_5),
        num("height", 1, |m| m.height * 3.28),
        num("gyro z", 3, |m| -m.rates.z),
    ];
    let made = laid_out(&PLAIN, &columns, &flight());
    check("unsettled", made.as_bytes(), &[], &[Q::Roll, Q::Airspeed, Q::Height, Q::YawRate]);
}

#[test]
fn wrong_entries_of_a_map_are_named_with_the_number_that_gave_them_away() {
    let columns = [
        num("t", 2, |m| m.t),
        num("a", 3, |m| m.roll * DEG),
        num("b", 3, |m| m.rates.x),
        num("c", 3, |m| -m.pitch * DEG),
        num("d", 3, |m| m.ground_speed() * 3.6),
        num("e", 7, |m| m.latitude),
        num("f", 7, |m| m.longitude),
        num("g", 3, |m| -m.force.z),
        num("h", 2, |m| m.height),
        num("i", 3, |m| -m.velocity.z),
    ];
    let made = laid_out(&PLAIN, &columns, &flight());
    let entries: BTreeMap<&str, (&str, &str)> = [
        ("a", ("roll", "rad")),
        ("b", ("roll-rate", "rad/s")),
        ("c", ("pitch", "deg")),
        ("d", ("ground-speed", "m/s")),
        ("e", ("latitude", "deg")),
        ("f", ("longitude", "deg")),
        ("g", ("force-z", "m/s2")),
        ("h", ("height", "m")),
        ("i", ("velocity-down", "m/s")),
    ]
    .into();
    let mut map = String::from("[time]\ncolumn = \"t\"\nunit = \"s\"\n");
    for (column, (quantity, unit)) in &entries {
        map += &format!("[[channel]]\ncolumn = \"{column}\"\nquantity = \"{quantity}\"\nunit = \"{unit}\"\n");
    }
    let r = read_csv(made.as_bytes(), &ColumnMap::from_toml(&map).unwrap()).unwrap();
    let flaws = fly::sense::check(&r);
    for (quantity, advice) in [
        ("roll", "unit = \"deg\""),
        ("pitch", "negate"),
        ("ground-speed", "unit = \"km/h\""),
        ("force-z", "forward-left-up"),
        ("velocity-down", "up-positive"),
    ] {
        let told = flaws.iter().find(|f| f.place.starts_with(&format!("{quantity} ")));
        let told = told.unwrap_or_else(|| panic!("{quantity} is not told: {flaws:#?}"));
        assert!(told.what.contains(advice), "{quantity}: {}", told.what);
    }
    assert_eq!(flaws.len(), 5, "{flaws:#?}");
}
