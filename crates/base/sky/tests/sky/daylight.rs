//! Sunrise, sunset and civil twilight against published minutes and an independent program.

use sky::daylight::{Place, daylight, sun};
use sky::instant::Instant;

use crate::reference;

/// Published times are whole minutes, told up or down; the places of the independent program are the same.
const MINUTE_S: i64 = 60;

fn parse(utc: &str) -> Instant {
    let n = |from: usize, to: usize| utc[from..to].parse::<u32>().unwrap();
    Instant::of(i64::from(n(0, 4)), n(5, 7), n(8, 10), n(11, 13), n(14, 16))
        .unwrap()
        .plus_s(i64::from(n(17, 19)))
}

#[track_caller]
fn near(what: &str, found: Option<Instant>, expected: Instant, tolerance_s: i64) {
    let off = found.unwrap().since_s(expected);
    assert!(off.abs() <= tolerance_s, "{what}: {off} s off {}", expected.date_and_clock());
}

#[test]
fn times_of_london_are_the_published_ones() {
    let london = Place::new(51.5, -0.1333).unwrap();
    let mut checked = 0;
    for line in reference("sun-events/sun_events_utc.csv").lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        let (event, utc) = (cells[0], parse(cells[3]));
        let day = daylight(london, utc);
        let found = match event {
            "test_Sunrise" => day.sunrise,
            "test_Sunset" => day.sunset,
            "test_Dawn_Civil" => day.dawn,
            "test_Dusk_Civil" => day.dusk,
            "test_SolarNoon" => Some(day.noon),
            _ => continue,
        };
        near(line, found, utc, MINUTE_S);
        checked += 1;
    }
    assert_eq!(checked, 27, "six days of rising and setting, five of twilight and noon");
}

#[test]
fn other_places_and_seasons_agree_with_an_independent_program() {
    // Computed with astral 3.2 (NOAA equations), outside of this program: place, instant of the day, rising, setting.
    for (latitude, longitude, at, rise, set) in [
        (51.4769, 0.0005, "2024-06-21T12:00:00", "2024-06-21T03:43:12", "2024-06-21T20:20:36"),
        // West of Greenwich the sun sets on the next day of UTC, east of it it rises on the day before.
        (40.0, -105.0, "2010-06-21T19:00:00", "2010-06-21T11:31:35", "2010-06-22T02:31:50"),
        (-33.8688, 151.2093, "2024-12-21T02:00:00", "2024-12-20T18:41:36", "2024-12-21T09:05:26"),
    ] {
        let day = daylight(Place::new(latitude, longitude).unwrap(), parse(at));
        near("rising", day.sunrise, parse(rise), MINUTE_S);
        near("setting", day.sunset, parse(set), MINUTE_S);
    }
    let greenwich = daylight(Place::new(51.4769, 0.0005).unwrap(), parse("2024-06-21T12:00:00"));
    near("dawn", greenwich.dawn, parse("2024-06-21T02:54:34"), MINUTE_S);
    near("dusk", greenwich.dusk, parse("2024-06-21T21:09:14"), MINUTE_S);
    near("noon", Some(greenwich.noon), parse("2024-06-21T12:01:48"), MINUTE_S);
}

#[test]
fn polar_days_and_nights_have_no_rising() {
    // 70° north: on the solstices the sun at noon stands at 90 - 70 ± 23.44 degrees (closed form).
    let place = Place::new(70.0, 25.0).unwrap();
    let summer = daylight(place, parse("2026-06-21T10:00:00"));
    assert!(
        summer.sunrise.is_none() && summer.dawn.is_none() && (summer.noon_height_deg - 43.44).abs() < 0.02
    );
    let winter = daylight(place, parse("2026-12-21T10:00:00"));
    assert!(
        winter.sunrise.is_none() && winter.dawn.is_some() && (winter.noon_height_deg + 3.44).abs() < 0.02
    );
    assert!(
        Place::new(91.0, 0.0).is_err()
            && Place::new(0.0, f64::NAN).is_err()
            && Place::new(0.0, 181.0).is_err()
    );
}

#[test]
fn the_sun_stands_south_at_noon_in_the_north_and_on_the_horizon_at_setting() {
    let place = Place::new(51.5, -0.1333).unwrap();
    let day = daylight(place, parse("2026-03-20T12:00:00"));
    let noon = sun(place, day.noon);
    assert!((noon.azimuth_rad.to_degrees() - 180.0).abs() < 0.1);
    assert!((noon.height_rad.to_degrees() - day.noon_height_deg).abs() < 0.01);
    let evening = sun(place, day.sunset.unwrap());
    // At the equinox it sets in the west, its center 50' below the horizon.
    assert!((evening.azimuth_rad.to_degrees() - 270.0).abs() < 2.0);
    assert!((evening.height_rad.to_degrees() + 50.0 / 60.0).abs() < 0.01);
}
