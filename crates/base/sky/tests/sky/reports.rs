//! METAR texts with their decodes from the code form (reference/weather-reports/metar.txt, WMO No. 306 FM 15).

use numerics::units::{M_PER_FT, M_S_PER_KM_H, M_S_PER_KT};
use sky::instant::Instant;
use sky::metar::Metar;
use sky::weather::{Amount, Bound, Conditions, NotAReport, Shear, Tower};

use crate::reference;

/// Half a unit of what is printed: whole meters of visibility, tenths of a degree and of a hectopascal.
const HALF: f64 = 0.51;

fn reference_instant() -> Instant {
    Instant::of(2026, 7, 15, 12, 0).unwrap()
}

#[track_caller]
fn near(what: &str, found: f64, expected: &str, tolerance: f64) {
    let expected: f64 = expected.trim().parse().unwrap();
    assert!((found - expected).abs() <= tolerance, "{what}: {found}, expected {expected}");
}

#[track_caller]
fn wind(c: &Conditions, expected: &str, sector: &str) {
    let Some(wind) = c.wind else {
        assert_eq!(expected, "-", "no wind");
        return;
    };
    if expected == "calm" {
        assert!(wind.mean_m_s == 0.0 && wind.gust_m_s.is_none() && wind.from_deg.is_none());
        return;
    }
    let mut words = expected.split_whitespace();
    let from = words.next().unwrap();
    let mean = words.next().unwrap();
    let rest: Vec<&str> = words.collect();
    let unit = match *rest.last().unwrap() {
        "kt" => M_S_PER_KT,
        "mps" => 1.0,
        "kmh" => M_S_PER_KM_H,
        other => panic!("{other}"),
    };
    match wind.from_deg {
        None => assert_eq!(from, "VRB"),
        Some(deg) => near("direction", deg, from, 1e-9),
    }
    near("mean", wind.mean_m_s / unit, mean, 1e-9);
    match (wind.gust_m_s, rest[0].strip_prefix('G')) {
        (Some(gust), Some(expected)) => near("gust", gust / unit, expected, 1e-9),
        (None, None) => {}
        other => panic!("{other:?}"),
    }
    match wind.sector_deg {
        None => assert_eq!(sector, "-"),
        Some([from, to]) => assert_eq!(format!("{from:.0}-{to:.0}"), sector),
    }
}

#[track_caller]
fn visibility(c: &Conditions, expected: &str) {
    let Some(v) = c.visibility else {
        assert_eq!(expected, "-");
        return;
    };
    let (number, least) = match expected.split_once(',') {
        Some((n, l)) => (n, Some(l)),
        None => (expected, None),
    };
    let bound = match number.chars().last() {
        Some('+') => Bound::OrMore,
        Some('<') => Bound::Below,
        _ => Bound::Exact,
    };
    assert_eq!(v.bound, bound);
    near("visibility", v.m, number.trim_end_matches(['+', '<']), HALF);
    match (v.least_m, least) {
        (Some(found), Some(least)) => near("least visibility", found, least, HALF),
        (None, None) => {}
        other => panic!("{other:?}"),
    }
}

fn clouds(c: &Conditions) -> String {
    let Some(clouds) = &c.clouds else {
        return "-".to_owned();
    };
    let said: Vec<String> = clouds
        .iter()
        .map(|cloud| {
            let amount = match cloud.amount {
                Amount::Unknown => "?",
                Amount::Few => "FEW",
                Amount::Scattered => "SCT",
                Amount::Broken => "BKN",
                Amount::Overcast => "OVC",
                Amount::Hidden => "VV",
            };
            let base = match cloud.base_m {
                Some(m) => format!("{:.0}", m / M_PER_FT),
                None if amount == "?" => String::new(),
                None => "?".to_owned(),
            };
            let tower = match cloud.tower {
                Some(Tower::Cumulonimbus) => "CB",
                Some(Tower::ToweringCumulus) => "TCU",
                None => "",
            };
            format!("{amount}{base}{tower}")
        })
        .collect();
    if said.is_empty() { "none".to_owned() } else { said.join(" ") }
}

fn weather(c: &Conditions) -> String {
    match c.phenomena.as_deref() {
        None => "-".to_owned(),
        Some([]) => "none".to_owned(),
        Some(all) => all.iter().map(|p| p.code.clone()).collect::<Vec<_>>().join(" "),
    }
}

#[track_caller]
fn check(line: &str) {
    let cells: Vec<&str> = line.split('|').map(str::trim).collect();
    let [text, station, time, wind_told, sector, seen, phenomena, cloud, temperatures, pressure, _from] =
        cells[..]
    else {
        panic!("{} cells: {line}", cells.len());
    };
    let metar = Metar::read(text, reference_instant()).unwrap_or_else(|e| panic!("{text}: {e}"));
    assert_eq!(metar.station, station);
    let c = metar.at.calendar();
    assert_eq!(format!("{:02}{:02}{:02}", c.day, c.hour, c.minute), time, "{text}");
    wind(&metar.conditions, wind_told, sector);
    visibility(&metar.conditions, seen);
    assert_eq!(weather(&metar.conditions), phenomena, "{text}");
    assert_eq!(clouds(&metar.conditions), cloud, "{text}");
    match (temperatures.split_once('/'), metar.temperature_k) {
        (None, None) => {}
        (Some((air, dew)), Some(air_k)) => {
            near("temperature", air_k - 273.15, air, 0.01);
            match (dew, metar.dew_point_k) {
                ("-", None) => {}
                (dew, Some(dew_k)) => near("dew point", dew_k - 273.15, dew, 0.01),
                other => panic!("{text}: {other:?}"),
            }
        }
        other => panic!("{text}: {other:?}"),
    }
    match metar.sea_level_pressure_pa {
        None => assert_eq!(pressure, "-", "{text}"),
        Some(pa) => near("pressure", pa / 100.0, pressure, 0.051),
    }
    // What could not be read is told; everything else of these reports is taken or rightly left aside.
    let faulty = cells[10].contains(',');
    assert_eq!(metar.flaws.len(), usize::from(faulty), "{text}: {:?}", metar.flaws);
}

#[test]
fn reports_are_decoded_as_the_code_form_has_it() {
    let table = reference("weather-reports/metar.txt");
    let rows: Vec<&str> = table.lines().filter(|l| !l.starts_with('#') && !l.trim().is_empty()).collect();
    assert!(rows.len() >= 60, "{}", rows.len());
    for row in rows {
        check(row);
    }
}

#[test]
fn what_stands_beside_the_body_is_taken_too() {
    let read = |text: &str| Metar::read(text, reference_instant()).unwrap();
    let table = reference("weather-reports/metar.txt");
    let line = |station_time: &str| {
        let line = table.lines().find(|l| l.contains(station_time)).unwrap();
        read(line.split('|').next().unwrap())
    };
    // Remarks of the first: peak wind 290 at 28 kt.
    let newark = line("KEWR 111851Z");
    let peak = newark.peak.unwrap();
    assert!(peak.from_deg == Some(290.0) && (peak.mean_m_s - 28.0 * M_S_PER_KT).abs() < 1e-9);
    // Two BECMG groups: 09:20 to 09:30, then 10:00 to 10:20 with the weather ended.
    let singapore = line("WSSS 280900Z");
    let [first, second] = singapore.trend.as_slice() else { panic!("{:?}", singapore.trend) };
    assert!(first.lasting && first.from.clock() == "09:20 UTC" && first.to.clock() == "09:30 UTC");
    assert_eq!(first.conditions.phenomena.as_ref().unwrap()[0].code, "TSRA");
    assert_eq!(
        (second.conditions.phenomena.as_deref(), second.to.clock().as_str()),
        (Some(&[][..]), "10:20 UTC")
    );
    let tempo = line("XAAD 042350Z");
    // Just before midnight, the two hours end on the next day.
    assert!(!tempo.trend[0].lasting && tempo.trend[0].to.clock() == "01:50 UTC");
    assert_eq!(line("XAAD 050120Z").conditions.shear, Some(Shear::Runway { which: "R24".to_owned() }));
    assert!(
        line("XAAF 071312Z").special && line("COR XAAF 071300Z").corrected && line("KADW 252356Z").automatic
    );
    assert!(line("XAAJ 311200Z").missing);
    // Day 31 near mid-July: 31 July is sixteen days off, 30 June has no 31st.
    assert_eq!(line("XAAJ 311200Z").at, Instant::of(2026, 7, 31, 12, 0).unwrap());
}

#[test]
fn what_is_no_report_is_refused_with_its_reason() {
    for (text, is_it) in [
        ("", (|e| matches!(e, NotAReport::Empty)) as fn(&NotAReport) -> bool),
        ("   \n ", |e| matches!(e, NotAReport::Empty)),
        ("=", |e| matches!(e, NotAReport::Empty)),
        ("hello", |e| matches!(e, NotAReport::NoStation { .. })),
        ("METAR", |e| matches!(e, NotAReport::NoStation { .. })),
        ("EDDH", |e| matches!(e, NotAReport::NoTime { .. })),
        ("METAR EDDH 24015KT 9999", |e| matches!(e, NotAReport::NoTime { .. })),
        ("METAR EDDH 320000Z 24015KT", |e| matches!(e, NotAReport::ImpossibleTime { .. })),
        ("METAR EDDH 102460Z 24015KT", |e| matches!(e, NotAReport::ImpossibleTime { .. })),
        ("METAR EDDH 101200Z", |e| matches!(e, NotAReport::Unreadable { .. })),
        ("EDDH 101200Z the quick brown fox", |e| matches!(e, NotAReport::Unreadable { .. })),
        ("METAR EDDH 101200Z 24015KT what is this", |e| matches!(e, NotAReport::Unreadable { .. })),
        ("EDDH 101200Z NIL garbage", |e| matches!(e, NotAReport::Unreadable { .. })),
    ] {
        let error = Metar::read(text, reference_instant()).unwrap_err();
        assert!(is_it(&error), "{text:?}: {error:?}");
    }
    let long = format!("METAR EDDH 101200Z {}", "24015KT ".repeat(1000));
    assert!(matches!(Metar::read(&long, reference_instant()), Err(NotAReport::TooLong { .. })));
}

#[test]
fn conditions_are_told_in_words() {
    let text = "METAR EDDH 101200Z 22015G25KT 180V260 3/4SM -TSRA BKN010CB 18/16 Q1009";
    let words =
        Metar::read(text, reference_instant()).unwrap().conditions.words().join("; ").replace('\u{a0}', " ");
    // By hand: 15 kt = 7.7 m/s, 25 kt = 12.9 m/s, 3/4 mile = 1207 m, 1000 ft = 305 m.
    assert_eq!(
        words,
        "wind from 220° at 7.7 m/s, gusts 12.9 m/s, varying from 180° to 260°; visibility 1210 m; \
         light thunderstorm with rain; broken cloud at 305 m (cumulonimbus)"
    );
}
