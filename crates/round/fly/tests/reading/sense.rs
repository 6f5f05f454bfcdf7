//! One invented flight through a right map, and through maps that are wrong in one entry each: the right one is left in
//! peace, and each wrong one is named with its column and with what to write instead.
#![allow(clippy::unwrap_used, reason = "a helper of a test fails the test")]

use fly::csv::read_csv;
use fly::map::ColumnMap;
use fly::recording::{Flaw, Recording};
use fly::sense;

use crate::invented::{Moment, compass, flight};

const DEG: f64 = 180.0 / std::f64::consts::PI;

/// Column, quantity, unit, and how a moment is written.
type Entry = (&'static str, &'static str, &'static str, fn(&Moment) -> f64);

/// Everything that the invented flight has, with the right map.
const RIGHT: &[Entry] = &[
    ("bank", "roll", "deg", |m| m.roll * DEG),
    ("nose", "pitch", "deg", |m| m.pitch * DEG),
    ("heading", "yaw", "deg", |m| compass(m.yaw)),
    ("p", "roll-rate", "deg/s", |m| m.rates.x * DEG),
    ("q", "pitch-rate", "deg/s", |m| m.rates.y * DEG),
    ("r", "yaw-rate", "deg/s", |m| m.rates.z * DEG),
    ("fx", "force-x", "m/s2", |m| m.force.x),
    ("fy", "force-y", "m/s2", |m| m.force.y),
    ("fz", "force-z", "m/s2", |m| m.force.z),
    ("lat", "latitude", "deg", |m| m.latitude),
    ("lon", "longitude", "deg", |m| m.longitude),
    ("up", "height", "m", |m| m.height),
    ("alt", "altitude", "m", |m| m.height + 120.0),
    ("vn", "velocity-north", "m/s", |m| m.velocity.x),
    ("ve", "velocity-east", "m/s", |m| m.velocity.y),
    ("vd", "velocity-down", "m/s", |m| m.velocity.z),
    ("gs", "ground-speed", "m/s", |m| m.ground_speed()),
    ("track", "course", "deg", |m| compass(m.course())),
    ("air", "airspeed", "m/s", |m| m.airspeed),
    ("sr", "stick-roll", "fraction", |m| m.stick.x),
    ("sp", "stick-pitch", "fraction", |m| m.stick.y),
];

fn read(entries: &[Entry], moments: &[Moment]) -> Recording {
    let (text, map) = text_and_map(entries, moments);
    read_csv(text.as_bytes(), &map).unwrap()
}

fn text_and_map(entries: &[Entry], moments: &[Moment]) -> (String, ColumnMap) {
    let mut text = String::from("t");
    let mut map = String::from("[time]\ncolumn = \"t\"\nunit = \"s\"\n");
    for (column, quantity, unit, _) in entries {
        text += &format!(",{column}");
        map += &format!("[[channel]]\ncolumn = \"{column}\"\nquantity = \"{quantity}\"\nunit = \"{unit}\"\n");
    }
    for m in moments {
        text += &format!("\n{:.3}", m.t);
        for (.., value) in entries {
            text += &format!(",{:.7}", value(m));
        }
    }
    (text, ColumnMap::from_toml(&map).unwrap())
}

/// The right map with the quantities of two columns changed for each other.
fn swapped(one: &str, other: &str) -> Vec<Entry> {
    let quantity = |column: &str| RIGHT.iter().find(|e| e.0 == column).unwrap().1;
    RIGHT
        .iter()
        .map(|e| match e.0 {
            c if c == one => (e.0, quantity(other), e.2, e.3),
            c if c == other => (e.0, quantity(one), e.2, e.3),
            _ => *e,
        })
        .collect()
}

/// The right map with another unit for a column, and the column as given.
fn told(column: &str, unit: &'static str, value: Option<fn(&Moment) -> f64>) -> Vec<Entry> {
    RIGHT.iter().map(|e| if e.0 == column { (e.0, e.1, unit, value.unwrap_or(e.3)) } else { *e }).collect()
}

fn without(entries: Vec<Entry>, columns: &[&str]) -> Vec<Entry> {
    entries.into_iter().filter(|e| !columns.contains(&e.0)).collect()
}

/// Exactly one flaw, which names these columns and holds these words.
#[track_caller]
fn check(entries: &[Entry], columns: &[&str], words: &[&str]) {
    let flaws = sense::check(&read(entries, &flight()));
    let shown = |f: &Flaw| format!("{}: {}", f.place, f.what);
    let all: Vec<String> = flaws.iter().map(shown).collect();
    assert_eq!(flaws.len(), 1, "{columns:?}: {all:#?}");
    for column in columns {
        assert!(flaws[0].place.contains(&format!("\"{column}\"")), "{column}: {all:#?}");
    }
    assert_eq!(flaws[0].place.matches("\")").count(), columns.len(), "{all:#?}");
    for word in words {
        assert!(flaws[0].what.contains(word), "{word}: {all:#?}");
    }
}

#[test]
fn the_right_map_is_left_in_peace_also_when_channels_are_missing() {
    let moments = flight();
    for missing in [
        &[][..],
        &["lat", "lon"],
        &["vn", "ve"],
        &["vn", "ve", "lat", "lon"],
        &["track", "gs"],
        &["p", "q", "r"],
        &["heading", "track"],
        &["air"],
        &["alt"],
        &["up", "vd"],
        &["bank"],
    ] {
        let found = sense::check(&read(&without(RIGHT.to_vec(), missing), &moments));
        assert!(found.is_empty(), "without {missing:?}: {found:#?}");
    }
}

#[test]
fn swapped_columns_are_named_with_what_to_write() {
    check(&swapped("vn", "ve"), &["vn", "ve"], &["quantity = \"velocity-east\"", "mixed up"]);
    check(&swapped("lat", "lon"), &["lat", "lon"], &["quantity = \"longitude\""]);
    check(&swapped("bank", "nose"), &["bank", "nose"], &["quantity = \"pitch\""]);
    check(&swapped("p", "q"), &["p", "q"], &["quantity = \"pitch-rate\""]);
    check(&swapped("q", "r"), &["q", "r"], &["quantity = \"yaw-rate\""]);
}

#[test]
fn swapped_columns_are_named_with_fewer_witnesses() {
    // Heading alone, or the turn alone, tells which is wrong.
    check(&without(swapped("vn", "ve"), &["track"]), &["vn", "ve"], &["velocity-east"]);
    check(&without(swapped("vn", "ve"), &["track", "gs", "lat", "lon"]), &["vn", "ve"], &["velocity-east"]);
    check(&without(swapped("vn", "ve"), &["track", "heading"]), &["vn", "ve"], &["velocity-east"]);
    check(&without(swapped("lat", "lon"), &["track", "heading"]), &["lat", "lon"], &["longitude"]);
    check(&without(swapped("lat", "lon"), &["vn", "ve", "track", "gs"]), &["lat", "lon"], &["longitude"]);
    check(&without(swapped("bank", "nose"), &["p", "q", "r"]), &["bank", "nose"], &["pitch"]);
}

#[test]
fn wrong_signs_are_named() {
    check(&told("vn", "m/s", Some(|m| -m.velocity.x)), &["vn"], &["negate"]);
    check(&told("ve", "m/s", Some(|m| -m.velocity.y)), &["ve"], &["negate"]);
    check(&told("vd", "m/s", Some(|m| -m.velocity.z)), &["vd"], &["up-positive"]);
    check(&told("bank", "deg", Some(|m| -m.roll * DEG)), &["bank"], &["negate"]);
    check(&told("q", "deg/s", Some(|m| -m.rates.y * DEG)), &["q"], &["negate"]);
    check(&told("heading", "deg", Some(|m| compass(-m.yaw))), &["heading"], &["negate"]);
    check(&told("lat", "deg", Some(|m| -m.latitude)), &["lat"], &["negate"]);
    let alone = without(told("ve", "m/s", Some(|m| -m.velocity.y)), &["lat", "lon", "gs", "track"]);
    check(&alone, &["ve"], &["negate"]);
}

#[test]
fn wrong_units_are_named_with_the_right_one() {
    check(&told("bank", "rad", None), &["bank"], &["unit = \"deg\""]);
    check(&told("nose", "rad", None), &["nose"], &["unit = \"deg\""]);
    check(&told("heading", "rad", None), &["heading"], &["unit = \"deg\""]);
    check(&told("bank", "deg", Some(|m| m.roll)), &["bank"], &["unit = \"rad\""]);
    check(&told("nose", "deg", Some(|m| m.pitch)), &["nose"], &["unit = \"rad\""]);
    check(&told("p", "rad/s", None), &["p"], &["unit = \"deg/s\""]);
    check(&told("q", "deg/s", Some(|m| m.rates.y)), &["q"], &["unit = \"rad/s\""]);
    check(&told("fz", "g", None), &["fz"], &["unit = \"m/s2\""]);
    check(&told("air", "km/h", None), &["air"], &["unit = \"m/s\"", "km/h"]);
    check(&told("air", "m/s", Some(|m| 3.6 * m.airspeed)), &["air"], &["unit = \"km/h\""]);
    check(&told("air", "m/s", Some(|m| 1.943_844 * m.airspeed)), &["air"], &["unit = \"kt\""]);
    check(&told("gs", "km/h", None), &["gs"], &["unit = \"m/s\""]);
    check(&told("vn", "km/h", None), &["vn"], &["unit = \"m/s\""]);
    check(&told("up", "ft", None), &["up"], &["unit = \"m\""]);
    check(&told("up", "m", Some(|m| 3.280_84 * m.height)), &["up"], &["unit = \"ft\""]);
    check(&told("alt", "m", Some(|m| 3.280_84 * m.height + 400.0)), &["alt"], &["unit = \"ft\""]);
    check(&told("vd", "ft/s", None), &["vd"], &["unit = \"m/s\""]);
    // One height, and the nose to tell whether height or climb is wrong.
    let one_height = without(told("up", "m", Some(|m| 3.280_84 * m.height)), &["alt"]);
    check(&one_height, &["up"], &["unit = \"ft\""]);
    // No positions: bank and turn tell whose speed is wrong.
    let away = ["lat", "lon", "vn", "ve"];
    check(&without(told("air", "km/h", None), &away), &["air"], &["unit = \"m/s\""]);
    check(
        &without(told("gs", "m/s", Some(|m| 3.6 * m.ground_speed())), &away),
        &["gs"],
        &["unit = \"km/h\""],
    );
}

#[test]
fn two_errors_at_once_are_both_named_and_what_follows_from_them_is_not_trusted() {
    let mut entries = swapped("vn", "ve");
    for e in &mut entries {
        if e.0 == "nose" {
            e.2 = "rad";
        }
    }
    let moments = flight();
    let flaws = sense::check(&read(&entries, &moments));
    assert_eq!(flaws.len(), 2, "{flaws:#?}");
    // Velocities computed from a ground speed in the wrong unit are as wrong as it is.
    let entries = without(told("gs", "m/s", Some(|m| 3.6 * m.ground_speed())), &["vn", "ve"]);
    let found = sense::contradicted(&read(&entries, &moments));
    let channels = &found.first().unwrap().channels;
    assert!(channels.contains(&fly::recording::Quantity::GroundSpeed), "{found:#?}");
    assert!(channels.contains(&fly::recording::Quantity::VelocityNorth), "{found:#?}");
}

/// A map that is wrong in one entry is corrected to one that reads the same as the right map.
#[track_caller]
fn check_corrected(entries: &[Entry]) {
    let moments = flight();
    let (text, map) = text_and_map(entries, &moments);
    let wrong = read_csv(text.as_bytes(), &map).unwrap();
    let corrected = sense::corrected(&wrong, &map).unwrap();
    // A person reads the correction as text.
    let again = ColumnMap::from_toml(&corrected.to_toml()).unwrap();
    let read_again = read_csv(text.as_bytes(), &again).unwrap();
    assert_eq!(sense::check(&read_again), [], "{}", again.to_toml());
    let right = read(RIGHT, &moments);
    for c in &read_again.channels {
        let is = &right.channel(&c.quantity).unwrap().values;
        for (a, b) in c.values.iter().zip(is) {
            // The text has seven decimals, in whichever unit.
            let off = numerics::frames::wrap_rad(a - b).abs().min((a - b).abs());
            assert!(off < 2e-6, "{:?}: {a} for {b}", c.quantity);
        }
    }
}

#[test]
fn a_wrong_map_is_corrected_to_the_right_one() {
    check_corrected(&swapped("vn", "ve"));
    check_corrected(&swapped("lat", "lon"));
    check_corrected(&swapped("bank", "nose"));
    check_corrected(&swapped("q", "r"));
    check_corrected(&told("ve", "m/s", Some(|m| -m.velocity.y)));
    check_corrected(&told("vd", "m/s", Some(|m| -m.velocity.z)));
    check_corrected(&told("heading", "deg", Some(|m| compass(-m.yaw))));
    check_corrected(&told("p", "rad/s", None));
    check_corrected(&told("fz", "g", None));
    check_corrected(&told("air", "m/s", Some(|m| 3.6 * m.airspeed)));
    check_corrected(&told("up", "ft", None));
    // Nothing is wrong, so there is nothing to correct.
    let moments = flight();
    let (text, map) = text_and_map(RIGHT, &moments);
    assert_eq!(sense::corrected(&read_csv(text.as_bytes(), &map).unwrap(), &map), None);
}
