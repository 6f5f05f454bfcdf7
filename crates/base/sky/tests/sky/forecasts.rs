//! Forecasts by hour: FM 51 of WMO No. 306. Which is published stands beside each; the others are composed by the code form.

use numerics::units::M_S_PER_KT;
use sky::instant::Instant;
use sky::taf::{Expected, Kind, Taf};
use sky::weather::{NotAReport, Shear};

fn day(day: u32, hour: u32) -> Instant {
    Instant::of(2026, 7, day, hour, 0).unwrap()
}

fn read(text: &str) -> Taf {
    Taf::read(text, day(9, 17)).unwrap_or_else(|e| panic!("{text}: {e}"))
}

/// FAA Aeronautical Information Manual, key to TAF and METAR.
const KEY: &str = "TAF KPIT 091730Z 0918/1024 15005KT 5SM HZ FEW020 WS010/31022KT FM091930 30015G25KT 3SM SHRA OVC015 \
    TEMPO 0920/0922 1/2SM +TSRA OVC008CB FM100100 27008KT 5SM SHRA BKN020 OVC040 PROB30 1004/1007 1SM -RA BR \
    FM101015 18005KT 6SM -SHRA OVC020 BECMG 1013/1015 P6SM NSW SKC";

fn told(expected: &Expected) -> (Kind, String, f64) {
    let weather = expected
        .conditions
        .phenomena
        .as_ref()
        .map_or("-".to_owned(), |all| all.iter().map(|p| p.code.clone()).collect::<Vec<_>>().join(" "));
    (expected.kind, weather, expected.conditions.wind.map_or(f64::NAN, |w| (w.mean_m_s / M_S_PER_KT).round()))
}

#[track_caller]
fn check(taf: &Taf, from: Instant, expected: &[(Kind, &str, f64)]) {
    let found: Vec<_> = taf.between(from, from.plus_s(3600)).unwrap().iter().map(told).collect();
    let expected: Vec<_> = expected.iter().map(|(k, w, s)| (*k, (*w).to_owned(), *s)).collect();
    assert_eq!(found, expected, "{}", from.date_and_clock());
}

#[test]
fn the_published_key_is_decoded_hour_by_hour() {
    let taf = read(KEY);
    assert!(taf.flaws.is_empty(), "{:?}", taf.flaws);
    // 1024 is the end of the 10th.
    assert_eq!((taf.from, taf.to), (day(9, 18), day(11, 0)));
    let first = &taf.between(day(9, 18), day(9, 19)).unwrap()[0];
    match &first.conditions.shear {
        Some(Shear::AtHeight { height_m, from_deg, speed_m_s }) => {
            assert!((height_m - 304.8).abs() < 1e-9 && (from_deg - 310.0).abs() < 1e-9);
            assert!((speed_m_s - 22.0 * M_S_PER_KT).abs() < 1e-9);
        }
        other => panic!("{other:?}"),
    }
    use Kind::{Becoming, Prevailing, Probable, Temporary};
    check(&taf, day(9, 18), &[(Prevailing, "HZ", 5.0)]);
    // FM091930 splits the hour.
    check(&taf, day(9, 19), &[(Prevailing, "HZ", 5.0), (Prevailing, "SHRA", 15.0)]);
    check(&taf, day(9, 20), &[(Prevailing, "SHRA", 15.0), (Temporary, "+TSRA", 15.0)]);
    check(&taf, day(9, 22), &[(Prevailing, "SHRA", 15.0)]);
    check(&taf, day(10, 5), &[(Prevailing, "SHRA", 8.0), (Probable(30), "-RA BR", 8.0)]);
    check(&taf, day(10, 7), &[(Prevailing, "SHRA", 8.0)]);
    check(&taf, day(10, 13), &[(Prevailing, "-SHRA", 5.0), (Becoming, "", 5.0)]);
    check(&taf, day(10, 15), &[(Prevailing, "", 5.0)]);
    assert!(taf.between(day(11, 0), day(11, 1)).is_none() && taf.between(day(9, 17), day(9, 18)).is_none());
    let ends = taf.between(day(10, 20), day(10, 21)).unwrap();
    assert_eq!(ends[0].conditions.ceiling_m(), Some(None), "SKC ends the cloud");
}

#[test]
fn the_older_form_with_hours_alone_still_reads() {
    // FAA AIM, older key: 091818, FM1930, TEMPO 2022, PROB40 0407.
    let taf = read(
        "TAF KPIT 091730Z 091818 22020KT 3SM -SHRA BKN020 FM1930 30015G25KT 3SM SHRA OVC015 TEMPO 2022 1/2SM TSRA OVC008CB \
         FM0100 27008KT 5SM -SHRA BKN020 OVC040 PROB40 0407 1SM -RA BR",
    );
    assert!(taf.flaws.is_empty(), "{:?}", taf.flaws);
    assert_eq!((taf.from, taf.to), (day(9, 18), day(10, 18)));
    check(&taf, day(9, 21), &[(Kind::Prevailing, "SHRA", 15.0), (Kind::Temporary, "TSRA", 15.0)]);
    check(&taf, day(10, 6), &[(Kind::Prevailing, "-SHRA", 8.0), (Kind::Probable(40), "-RA BR", 8.0)]);
}

#[test]
fn changes_of_the_code_form_hold_when_they_should() {
    // Composed by the code form.
    let taf = read(
        "TAF AMD EDXX 091100Z 0912/1018 24008KT CAVOK TX28/0914Z TN13/1004Z BECMG 0914/0916 25015G28KT 9999 SCT030 \
         PROB40 TEMPO 0916/0919 26025G45KT 2000 TSRA BKN012CB BECMG 0919/0921 VRB03KT NSW",
    );
    assert!(taf.flaws.is_empty(), "{:?}", taf.flaws);
    use Kind::{Becoming, Prevailing, ProbableTemporary};
    check(&taf, day(9, 13), &[(Prevailing, "", 8.0)]);
    check(&taf, day(9, 14), &[(Prevailing, "", 8.0), (Becoming, "", 15.0)]);
    check(&taf, day(9, 16), &[(Prevailing, "", 15.0), (ProbableTemporary(40), "TSRA", 25.0)]);
    check(&taf, day(9, 18), &[(Prevailing, "", 15.0), (ProbableTemporary(40), "TSRA", 25.0)]);
    check(&taf, day(9, 22), &[(Prevailing, "", 3.0)]);
    // CAVOK falls away with the visibility and cloud that replace it.
    let later = taf.between(day(9, 17), day(9, 18)).unwrap();
    assert_eq!(later[0].conditions.clouds.as_ref().unwrap().len(), 1);
    let across = read("TAF EDXX 092300Z 1000/1106 24008KT CAVOK FM110200 30020KT 4000 RA OVC010");
    check(&across, day(11, 3), &[(Prevailing, "RA", 20.0)]);
    for (text, to) in [
        ("TAF COR EDXX 091100Z 0912/0921 24008KT 9999 NSC", day(9, 21)),
        ("TAF EDXX 0912/0921 24008KT 9999 NSC=", day(9, 21)),
        ("TAF EDXX 091100Z 0912/0924 00000KT 9999 NSC 620304 QNH2992INS", day(10, 0)),
    ] {
        let taf = read(text);
        assert!(taf.to == to && taf.flaws.is_empty(), "{text}: {:?}", taf.flaws);
    }
    assert!(read("TAF EDXX 091100Z NIL").missing && read("TAF EDXX 091100Z 0912/0921 CNL").missing);
}

#[test]
fn a_change_without_its_time_makes_everything_unknown() {
    for text in [
        "TAF EDXX 091100Z 0912/1012 24008KT CAVOK TEMPO 4000 TSRA",
        "TAF EDXX 091100Z 0912/1012 24008KT CAVOK TEMPO 0918/0918 4000 TSRA",
        "TAF EDXX 091100Z 0912/1012 24008KT CAVOK FM117700 4000 TSRA",
        "TAF EDXX 091100Z 0912/1012 24008KT CAVOK PROB35 0914/0918 4000 TSRA",
        "TAF EDXX 091100Z 0912/1012 24008KT CAVOK BECMG 1014/1016 4000 TSRA",
    ] {
        let taf = read(text);
        assert!(!taf.flaws.is_empty(), "{text}");
        let hour = taf.between(day(9, 14), day(9, 15)).unwrap();
        assert!(!hour[0].conditions.unread.is_empty(), "{text}: {hour:?}");
    }
}

#[test]
fn what_is_no_forecast_is_refused() {
    for (text, is_it) in [
        ("", (|e| matches!(e, NotAReport::Empty)) as fn(&NotAReport) -> bool),
        ("TAF", |e| matches!(e, NotAReport::NoStation { .. })),
        ("TAF EDXX 091100Z 24008KT CAVOK", |e| matches!(e, NotAReport::NoPeriod { .. })),
        ("TAF EDXX 091100Z 0912/0912 24008KT CAVOK", |e| matches!(e, NotAReport::ImpossibleTime { .. })),
        ("TAF EDXX 091100Z 0912/1212 24008KT CAVOK", |e| matches!(e, NotAReport::ImpossibleTime { .. })),
        ("TAF EDXX 091100Z 0912/1012", |e| matches!(e, NotAReport::Unreadable { .. })),
        ("TAF EDXX 091100Z 0912/1012 fine all day", |e| matches!(e, NotAReport::Unreadable { .. })),
        ("TAF EDXX 320000Z 0912/1012 24008KT", |e| matches!(e, NotAReport::ImpossibleTime { .. })),
    ] {
        let error = Taf::read(text, day(9, 17)).unwrap_err();
        assert!(is_it(&error), "{text:?}: {error:?}");
    }
}
