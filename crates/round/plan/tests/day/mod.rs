//! Days held against the invented aircraft (stall near 8.6 m/s, cruise 13 m/s or so), and readiness lists.

mod launch;

use aircraft::start::How;
use plan::card::build_for_day;
use plan::catalogue::Catalogue;
use plan::choose::LONGEST_S;
use plan::day::hours::best;
use plan::day::judge::Standing;
use plan::day::limits::{From, Key, Own, limits, of_file};
use plan::day::points::{Day, Judged};
use plan::day::{Launch, LaunchOdds, Moment, Sight, Verdict, at_height};
use plan::evidence::{Evidence, flown};
use plan::outstanding::{History, outstanding};
use plan::ready::{self, Expects, Place};
use sky::daylight::{Place as Earth, daylight};
use sky::instant::Instant;
use sky::metar::Metar;
use sky::taf::{Kind, Taf};
use sky::zone::{Offset, Zone};

use crate::invented::{merle, prediction};

fn noon() -> Instant {
    Instant::of(2026, 6, 21, 12, 0).unwrap()
}

fn moment(metar: &str) -> Moment {
    let metar = Metar::read(metar, noon()).unwrap();
    Moment {
        from: noon(),
        to: noon().plus_s(1200),
        sights: vec![Sight {
            source: "METAR".to_owned(),
            kind: Kind::Prevailing,
            temperature_k: metar.temperature_k,
            conditions: metar.conditions,
            launch: Launch::NotComputed,
        }],
        light: Some(daylight(Earth::new(52.5, 9.7).unwrap(), noon())),
        heading_deg: Some(240.0),
        odds: None,
        grounds: Vec::new(),
        zone: Zone::utc(),
    }
}

fn judge(moment: &Moment, flights: usize, own: &Own) -> Day {
    let (aircraft, prediction) = (merle(), prediction());
    let catalogue = Catalogue::built_in().unwrap();
    let history = History { flights, ..History::default() };
    let out = outstanding(&catalogue, &aircraft, &history);
    Judged::new(&catalogue, &aircraft, &prediction, &out, own).at(moment)
}

const FINE: &str = "METAR XAAA 211150Z 24005KT CAVOK 19/08 Q1021";

#[track_caller]
fn check(what: &str, metar: &str, flights: usize, verdict: Verdict, key: Option<(&str, Standing)>) {
    let day = judge(&moment(metar), flights, &Own::new());
    assert_eq!(day.verdict, verdict, "{what}: {:#?}", day.against().collect::<Vec<_>>());
    if let Some((key, standing)) = key {
        let found = day.reasons.iter().find(|r| r.key == key && r.standing == standing);
        assert!(found.is_some(), "{what}: {:#?}", day.reasons);
    }
}

#[test]
fn each_kind_of_weather_stands_against_a_flight_for_its_own_reason() {
    use Standing::{Against, Part, Unknown};
    use Verdict::{Go, NoGo, Part as Some_};
    check("a fine day", FINE, 0, Go, None);
    // 10 to 15 mph (4.5 to 6.7 m/s, 9 to 13 kt) is too much for a calm first flight (common practice, no source).
    check(
        "10 kt before a first flight",
        "METAR XAAA 211150Z 24010KT CAVOK 19/08 Q1021",
        0,
        Some_,
        Some(("wind_m_s", Part)),
    );
    check("a gale", "METAR XAAA 211150Z 24030G45KT CAVOK 19/08 Q1021", 3, NoGo, Some(("wind_m_s", Against)));
    check(
        "gusts",
        "METAR XAAA 211150Z 24005G16KT CAVOK 19/08 Q1021",
        3,
        NoGo,
        Some(("gust_spread_m_s", Against)),
    );
    check(
        "across",
        "METAR XAAA 211150Z 33008KT CAVOK 19/08 Q1021",
        0,
        NoGo,
        Some(("cross_wind_m_s", Against)),
    );
    check(
        "from behind",
        "METAR XAAA 211150Z 06006KT CAVOK 19/08 Q1021",
        0,
        NoGo,
        Some(("launch_direction", Against)),
    );
    check(
        "fog",
        "METAR XAAA 211150Z 24003KT 0400 FG VV001 09/09 Q1021",
        0,
        NoGo,
        Some(("visibility_m", Against)),
    );
    check(
        "low cloud",
        "METAR XAAA 211150Z 24003KT 9999 OVC003 12/09 Q1021",
        0,
        NoGo,
        Some(("cloud_base_m", Against)),
    );
    check(
        "middling cloud",
        "METAR XAAA 211150Z 24003KT 9999 BKN006 12/09 Q1021",
        0,
        Some_,
        Some(("cloud_base_m", Part)),
    );
    check(
        "rain",
        "METAR XAAA 211150Z 24003KT 9999 RA BKN030 12/09 Q1021",
        5,
        NoGo,
        Some(("precipitation", Against)),
    );
    check(
        "light rain later",
        "METAR XAAA 211150Z 24003KT 9999 -RA BKN030 12/09 Q1021",
        5,
        Some_,
        Some(("precipitation", Part)),
    );
    check(
        "light rain first",
        "METAR XAAA 211150Z 24003KT 9999 -RA BKN030 12/09 Q1021",
        0,
        NoGo,
        Some(("precipitation", Against)),
    );
    check(
        "thunder near",
        "METAR XAAA 211150Z 24003KT 9999 VCTS SCT030CB 22/18 Q1011",
        5,
        NoGo,
        Some(("thunderstorm", Against)),
    );
    check(
        "squall",
        "METAR XAAA 211150Z 16007KT 7000 SQ SCT018 31/27 Q1007",
        5,
        NoGo,
        Some(("thunderstorm", Against)),
    );
    check("frost", "METAR XAAA 211150Z 24003KT CAVOK M05/M09 Q1021", 0, NoGo, Some(("coldest_c", Against)));
    check(
        "cold, later",
        "METAR XAAA 211150Z 24003KT CAVOK M05/M09 Q1021",
        3,
        Some_,
        Some(("coldest_c", Part)),
    );
    check("heat", "METAR XAAA 211150Z 24003KT CAVOK 47/05 Q1011", 3, NoGo, Some(("hottest_c", Against)));
    check("shear", "METAR XAAA 211150Z 24003KT CAVOK 19/08 Q1021 WS R24", 3, NoGo, Some(("shear", Against)));
    // What is missing or cannot be read is unknown, and never go.
    check(
        "no wind told",
        "METAR XAAA 211150Z /////KT CAVOK 19/08 Q1021",
        3,
        NoGo,
        Some(("wind_m_s", Unknown)),
    );
    check(
        "no visibility",
        "METAR XAAA 211150Z AUTO 24003KT //// NCD 19/08 Q1021",
        3,
        Some_,
        Some(("visibility_m", Unknown)),
    );
    check(
        "no cloud told",
        "METAR XAAA 211150Z AUTO 24003KT 9999 ////// 19/08 Q1021",
        3,
        Some_,
        Some(("cloud_base_m", Unknown)),
    );
    check(
        "no temperature",
        "METAR XAAA 211150Z 24003KT CAVOK ///// Q1021",
        3,
        Some_,
        Some(("coldest_c", Unknown)),
    );
    check(
        "a broken group",
        "METAR XAAA 211150Z 24003KT 9999 XXRA NSC 19/08 Q1021",
        3,
        Some_,
        Some(("unread", Unknown)),
    );
}

#[test]
fn in_wind_one_may_trim_but_not_tune() {
    // Common practice, no source: 10 to 15 mph rules out tuning, while trim and a direct-flight check are still possible
    // for an experienced pilot. 11 kt is 12.7 mph.
    let day = judge(&moment("METAR XAAA 211150Z 24011KT CAVOK 19/08 Q1021"), 0, &Own::new());
    assert_eq!(day.verdict, Verdict::Part);
    for (id, verdict) in [
        ("direction-check", Verdict::Go),
        ("launch", Verdict::Part),
        ("trim-level", Verdict::Part),
        ("direct-check", Verdict::Part),
        ("landing", Verdict::Part),
        ("tune-roll", Verdict::NoGo),
        ("rate-check", Verdict::NoGo),
        ("roll-inputs", Verdict::NoGo),
        ("slow-flight", Verdict::NoGo),
    ] {
        let point = day.point(id).unwrap();
        assert_eq!(point.verdict, verdict, "{id}: {:?}", point.reasons);
        assert_eq!(point.reasons.is_empty(), verdict == Verdict::Go, "{id}");
    }
}

#[test]
fn light_place_and_odds_count() {
    let mut dark = moment(FINE);
    // 19:25 UTC at 52.5 N, 9.7 E on the longest day: the sun sets at 19:48 (to a few minutes, any table).
    dark.from = Instant::of(2026, 6, 21, 19, 25).unwrap();
    dark.to = dark.from.plus_s(1200);
    let day = judge(&dark, 3, &Own::new());
    assert!(day.verdict == Verdict::NoGo && day.reasons[0].key == "daylight_min", "{:?}", day.reasons[0]);
    dark.from = Instant::of(2026, 6, 21, 1, 0).unwrap();
    dark.to = dark.from.plus_s(1200);
    assert!(judge(&dark, 3, &Own::new()).reasons[0].text.contains("sunrise"));
    let mut nowhere = moment(FINE);
    nowhere.light = None;
    assert_eq!(judge(&nowhere, 0, &Own::new()).verdict, Verdict::Part);
    let mut launch = moment(FINE);
    launch.odds = Some(LaunchOdds { low: 0.96 });
    assert_eq!(judge(&launch, 0, &Own::new()).verdict, Verdict::Go);
    launch.odds = Some(LaunchOdds { low: 0.76 });
    let day = judge(&launch, 0, &Own::new());
    assert!(day.verdict == Verdict::NoGo && day.reasons[0].key == "launch_percent");
    let mut grounded = moment(FINE);
    grounded.grounds = vec!["defect 3 is open (wing): spar cracked".to_owned()];
    let day = judge(&grounded, 3, &Own::new());
    assert!(day.verdict == Verdict::NoGo && day.reasons[0].key == "grounded");
    let empty = Moment { sights: Vec::new(), ..moment(FINE) };
    assert_eq!(judge(&empty, 3, &Own::new()).verdict, Verdict::NoGo, "nothing known is no go");
}

#[test]
fn both_clocks_stand_where_a_time_is_told() {
    let mut early = moment(FINE);
    early.zone = Zone::new(
        "Europe/Berlin",
        vec![Offset { from: Instant::from_unix_s(0), ahead_s: 7200, short: "CEST".to_owned() }],
    );
    early.from = Instant::of(2026, 6, 21, 1, 0).unwrap();
    early.to = early.from.plus_s(1200);
    let day = judge(&early, 3, &Own::new());
    assert_eq!(day.when(), "2026-06-21 03:00 CEST (01:00 UTC)");
    // cos H = (sin -0.833 - sin 52.5 sin 23.44) / (cos 52.5 cos 23.44): H = 126.2 degrees or 8 h 25 min before noon, which at
    // 9.7 E and an equation of time of -1.8 min is 11:23 UTC: 02:58.
    assert!(day.reasons[0].text.starts_with("Before sunrise at 04:5"), "{}", day.reasons[0].text);
    assert!(day.reasons[0].text.contains(" CEST (02:5"), "{}", day.reasons[0].text);
}

#[test]
fn first_flights_are_held_to_stricter_limits_than_later_ones() {
    let (first, _) = limits(&merle(), &prediction(), true, &Own::new());
    let (later, _) = limits(&merle(), &prediction(), false, &Own::new());
    for (a, b) in first.iter().zip(&later) {
        assert_eq!(a.key, b.key);
        let worse = |x: f64, y: f64| if a.key.more_is_worse() { x <= y } else { x >= y };
        assert!(worse(a.good, b.good) && worse(a.most, b.most), "{:?}", a.key);
        assert!(worse(a.good, a.most) && worse(b.good, b.most), "{:?}", a.key);
        assert!(!a.why.is_empty() && !a.between.is_empty());
    }
    // Analytic: a third and a half of the cruise speed; visibility at 200 spans by Koschmieder, 3.912 d / ln(1/0.7).
    let of = |key: Key| first.iter().find(|l| l.key == key).unwrap();
    let p = prediction();
    assert!((of(Key::Wind).good - p.speeds.cruise_m_s.value / 3.0).abs() < 1e-9);
    assert!((of(Key::Wind).most - p.speeds.cruise_m_s.value / 2.0).abs() < 1e-9);
    let distance = 200.0 * p.geometry.span_m;
    assert!((of(Key::Visibility).good - 10.968 * distance).abs() < 0.001 * distance);
    // Logarithmic profile over 0.03 m: ln(60/0.03) / ln(10/0.03) = 1.3085.
    assert!((at_height(10.0, 10.0, 60.0) - 13.085).abs() < 0.001);
}

#[test]
fn the_builder_may_tighten_any_limit_and_loosening_one_is_told() {
    let mut careful = merle();
    careful.limits.wind_m_s = Some(2.0);
    careful.limits.visibility_m = Some(8000.0);
    let (set, _) = limits(&careful, &prediction(), true, &of_file(&careful));
    let of = |key: Key| set.iter().find(|l| l.key == key).unwrap();
    assert!(of(Key::Wind).most == 2.0 && of(Key::Wind).good == 2.0 && of(Key::Wind).loosened().is_none());
    assert!(of(Key::Visibility).good == 8000.0 && of(Key::Visibility).from == From::File);
    for (key, word, ..) in Key::ALL {
        assert_eq!(Key::of(word), Some(key));
        let looser = if key.more_is_worse() { 1e6 } else { -1e6 };
        let own: Own = [(key, (looser, From::CommandLine))].into_iter().collect();
        let (set, _) = limits(&merle(), &prediction(), true, &own);
        let told = set.iter().find(|l| l.key == key).unwrap().loosened().unwrap();
        assert!(told.contains("loosened") && told.contains("command line"), "{told}");
    }
    let own: Own = [(Key::Wind, (20.0, From::CommandLine))].into_iter().collect();
    let day = judge(&moment("METAR XAAA 211150Z 24018KT CAVOK 19/08 Q1021"), 0, &own);
    let wind = day.reasons.iter().find(|r| r.key == "wind_m_s").unwrap();
    assert!(wind.standing == Standing::Part && wind.text.contains("loosened"), "{wind:?}");
}

#[test]
fn a_card_for_each_kind_of_day() {
    let (aircraft, prediction) = (merle(), prediction());
    let catalogue = Catalogue::built_in().unwrap();
    let out = outstanding(&catalogue, &aircraft, &History::default());
    let card = |metar: &str| {
        let day = Judged::new(&catalogue, &aircraft, &prediction, &out, &Own::new()).at(&moment(metar));
        build_for_day(&aircraft, &prediction, &out, &day, Vec::new()).unwrap()
    };
    let fine = card(FINE);
    assert!(
        fine.points.iter().any(|p| p.id == "slow-flight") && fine.day.as_ref().unwrap().reasons.is_empty()
    );
    let windy = card("METAR XAAA 211150Z 24011KT CAVOK 19/08 Q1021");
    let ids: Vec<&str> = windy.points.iter().map(|p| p.id.as_str()).collect();
    assert!(
        ids.contains(&"trim-level") && ids.contains(&"landing") && !ids.contains(&"slow-flight"),
        "{ids:?}"
    );
    assert!(!windy.day.as_ref().unwrap().conditions.is_empty());
    let storm = card("METAR XAAA 211150Z 24030G45KT 3000 TSRA BKN010CB 19/18 Q1001");
    assert!(storm.points.iter().all(|p| p.on_ground) && storm.points.len() == 2, "{:?}", storm.points);
    assert!(storm.planned_s.abs() < 1e-9 && storm.day.as_ref().unwrap().verdict == Verdict::NoGo);
    assert!(storm.left_out.iter().all(|(_, why)| !why.is_empty()));
}

#[test]
fn the_best_stretch_of_a_forecast_is_found() {
    let taf = Taf::read(
        "TAF XAAA 211100Z 2112/2124 24018G30KT CAVOK BECMG 2114/2115 24006KT TEMPO 2119/2121 4000 TSRA BKN020CB",
        noon(),
    )
    .unwrap();
    let hours: Vec<Day> = (0..12)
        .map(|h| {
            let from = noon().plus_s(h * 3600);
            let sights = taf.between(from, from.plus_s(3600)).unwrap().into_iter().map(|e| Sight {
                source: "TAF".to_owned(),
                kind: e.kind,
                conditions: e.conditions,
                temperature_k: Some(290.0),
                launch: Launch::NotComputed,
            });
            judge(
                &Moment { from, to: from.plus_s(3600), sights: sights.collect(), ..moment(FINE) },
                3,
                &Own::new(),
            )
        })
        .collect();
    // By hand: windy to 15, calm after it; from 18 on less than an hour to the sunset (19:48), thunder possible from 19.
    let found = best(&hours).unwrap();
    assert_eq!(
        (found.from.clock().as_str(), found.to.clock().as_str()),
        ("15:00 UTC", "18:00 UTC"),
        "{found:?}"
    );
    assert!(hours[0].verdict == Verdict::NoGo && hours[7].verdict == Verdict::NoGo);
    assert!(best(&hours[..2]).is_none());
}

#[test]
fn the_launch_is_that_of_the_way_into_the_air() {
    let catalogue = Catalogue::built_in().unwrap();
    for (how, words) in [
        ("hand", "throws level"),
        ("rolling", "Line up into the wind"),
        ("bungee", "Peg driven in"),
        ("rail", "Safety pin"),
    ] {
        let own = catalogue.for_start(how);
        let launches: Vec<_> = own.points.iter().filter(|p| p.id == "launch").collect();
        assert_eq!(launches.len(), 1, "{how}");
        assert!(format!("{:?}", launches[0].steps).contains(words), "{how}");
    }
    let mut rolling = merle();
    rolling.start.how = How::Rolling;
    let out = outstanding(&catalogue, &rolling, &History::default());
    let calm = plan::card::Weather { wind_m_s: 2.0, gust_m_s: 3.0, from_deg: None };
    let card = plan::card::build(&rolling, &prediction(), &out, &calm).unwrap();
    assert!(card.points.iter().any(|p| p.title == "Take-off run and climb-out"));
    // A rudder holds less cross-wind than a thrown model bears: seven tenths of 14 to 18 degrees over Cnb.
    let across = |a: &aircraft::Aircraft| {
        limits(a, &prediction(), false, &Own::new()).0.iter().find(|l| l.key == Key::CrossWind).unwrap().most
    };
    assert!(across(&rolling) <= across(&merle()));
}

#[test]
fn a_long_plan_is_split_between_this_card_and_the_next() {
    let (aircraft, mut prediction) = (merle(), prediction());
    // A pack for ten hours: what ends the card is the pilot.
    if let Ok(endurance) = prediction.drive.as_mut().map(|d| &mut d.endurance_s).unwrap() {
        (endurance.value, endurance.sd) = (36_000.0, 0.0);
    }
    let known = ["trims", "wind", "level_attitude", "stall", "feel"];
    let mut still = outstanding(
        &Catalogue::built_in().unwrap(),
        &aircraft,
        &History { flights: 2, ..History::default() },
    );
    still.found.extend(known.map(|what| (what.to_owned(), "found".to_owned())));
    still
        .points_flown
        .extend(["trim-level", "gentle-turns", "slow-flight", "direct-check"].map(str::to_owned));
    let calm = plan::card::Weather { wind_m_s: 1.0, gust_m_s: 1.5, from_deg: None };
    let card = plan::card::build(&aircraft, &prediction, &still, &calm).unwrap();
    let planned = card.planned_s;
    assert!(planned <= LONGEST_S && planned > 0.8 * LONGEST_S, "{planned}");
    let waits: Vec<_> =
        card.left_out.iter().filter(|(_, why)| why.contains("waits for the next card")).collect();
    assert!(!waits.is_empty(), "{:#?}", card.left_out);
    assert!(card.points.iter().any(|p| p.id == "landing"), "room for the landing is kept");
    // Flown, they make room for those that waited.
    still.points_flown.extend(card.points.iter().map(|p| p.id.clone()));
    still.found.extend(card.points.iter().flat_map(|p| &p.yields).map(|y| (y.clone(), "found".to_owned())));
    let next = plan::card::build(&aircraft, &prediction, &still, &calm).unwrap();
    for (title, _) in waits {
        let (on, off) =
            (next.points.iter().any(|p| p.title == *title), next.left_out.iter().find(|(t, _)| t == title));
        assert!(
            on || off.is_some_and(|(_, why)| why.contains("next card") || why.contains("known already")),
            "{title}: {off:?}"
        );
    }
}

#[test]
fn points_need_room_and_are_ticked_off_by_evidence() {
    let mut low = merle();
    low.limits.height_m = Some(70.0);
    let catalogue = Catalogue::built_in().unwrap();
    let out = outstanding(&catalogue, &low, &History::default());
    let calm = plan::card::Weather { wind_m_s: 2.0, gust_m_s: 3.0, from_deg: None };
    let card = plan::card::build(&low, &prediction(), &out, &calm).unwrap();
    let why =
        &card.left_out.iter().find(|(t, _)| t.starts_with("Slow flight")).unwrap().1.replace('\u{a0}', " ");
    assert!(why.contains("needs 80 m of height") && why.contains("70 m"), "{why}");
    let evidence = Evidence {
        phases: [("turn".to_owned(), 2), ("launch".to_owned(), 1)].into_iter().collect(),
        enough: ["wind".to_owned(), "response.roll".to_owned()].into_iter().collect(),
    };
    let flown: Vec<String> = flown(&catalogue, &evidence).into_iter().collect();
    assert_eq!(flown, ["gentle-turns", "launch", "roll-inputs", "wind-circles"]);
}

#[test]
fn readiness_lists_are_built_from_the_aircraft() {
    let list = ready::list(&merle(), &prediction(), true);
    let find = |id: &str| list.iter().find(|i| i.id == id).unwrap_or_else(|| panic!("{id}"));
    for id in [
        "propeller_off",
        "mass_g",
        "balance_point_mm",
        "surface.wing",
        "linkage.right_aileron",
        "linkage.rudder",
        "throw.elevator.up_deg",
        "throw.rudder.left_deg",
        "direction.stick_right",
        "direction.right_wing_dropped",
        "failsafe",
        "static_pull_g",
        "static_current_a",
        "static_rpm",
        "control_range_m",
        "satellites",
        "arming",
        "pack_voltage_v",
        "switch_drill",
    ] {
        find(id);
    }
    let mut ids: Vec<&str> = list.iter().map(|i| i.id.as_str()).collect();
    ids.sort_unstable();
    ids.dedup();
    assert_eq!(ids.len(), list.len(), "identifiers are unique");
    for place in Place::ALL {
        assert!(list.iter().any(|i| i.place == place));
    }
    // Work beside a propeller has its caution.
    for item in list
        .iter()
        .filter(|i| i.id.starts_with("static_") || i.id.starts_with("direction.") || i.id == "failsafe")
    {
        assert!(item.caution.is_some_and(|c| c.contains("ropeller")), "{}", item.id);
    }
    // The answer to a dropped right wing is that of the stick to the left: right aileron down.
    assert!(find("direction.right_wing_dropped").how.contains("right aileron trailing edge down"));
    assert!(find("direction.stick_right").how.contains("right aileron trailing edge up"));
    let mut glider = merle();
    glider.drive = None;
    glider.movables.truncate(2);
    let bare = ready::list(&glider, &prediction(), true);
    assert!(
        !bare
            .iter()
            .any(|i| i.id.starts_with("static_") || i.id.contains("rudder") || i.id == "pack_voltage_v")
    );
}

#[test]
fn measured_items_are_held_against_the_model() {
    let list = ready::list(&merle(), &prediction(), true);
    let judged = |id: &str, typed: &str| ready::find(&list, id).unwrap().judge(typed);
    let Expects::Between { low, high, .. } = ready::find(&list, "balance_point_mm").unwrap().expects.clone()
    else {
        panic!("a range")
    };
    for (id, typed, standing) in [
        ("balance_point_mm", format!("{low}"), ready::Standing::Passed),
        ("balance_point_mm", format!("{high} mm"), ready::Standing::Passed),
        ("balance_point_mm", format!("{}", high + 1.0), ready::Standing::Failed),
        ("balance_point", format!("{}", low - 1.0), ready::Standing::Failed),
        // Throws of 18 degrees up, within a tenth or 1.5 degrees.
        ("throw.elevator.up_deg", "18".to_owned(), ready::Standing::Passed),
        ("throw.elevator.up_deg", "15.5°".to_owned(), ready::Standing::Failed),
        ("failsafe", "done".to_owned(), ready::Standing::Passed),
        ("failsafe", "failed: motor ran on".to_owned(), ready::Standing::Failed),
        ("satellites", "none".to_owned(), ready::Standing::Passed),
        ("satellites", "4".to_owned(), ready::Standing::Failed),
        ("control_range_m", "35".to_owned(), ready::Standing::Passed),
    ] {
        let judged = judged(id, &typed).unwrap();
        assert_eq!(judged.standing, standing, "{id} = {typed}: {}", judged.words);
        // What is kept reads back as the same.
        assert_eq!(ready::find(&list, id).unwrap().judge(&judged.value).unwrap().standing, standing, "{id}");
    }
    for (id, typed) in
        [("failsafe", "maybe"), ("mass_g", "heavy"), ("mass_g", "-3"), ("mass_g", "NaN"), ("failsafe", "")]
    {
        assert!(judged(id, typed).is_err(), "{id} = {typed}");
    }
    assert!(ready::find(&list, "throw").is_none(), "several begin so");
}
