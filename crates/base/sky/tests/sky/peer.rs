//! 2000 composed reports as an independent decoder reads them (reference/metar-peer).

use numerics::units::M_S_PER_KT;
use sky::instant::Instant;
use sky::metar::Metar;
use sky::taf::{Kind, Taf};
use sky::weather::{Amount, Bound, Conditions, Tower};

use crate::reference;

/// Where the two may differ, and why: each difference that is found must be one of these.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Explained {
    /// Calm: the other decoder gives direction 0, we give none.
    CalmHasNoDirection,
    /// "5000 1500SW": the other decoder gives the prevailing visibility, we keep the least as well.
    LeastVisibility,
    /// The code table has no light or heavy form, or no such pair; the other decoder takes any letters.
    NotOfTheTable,
}

#[test]
fn an_independent_decoder_reads_two_thousand_reports_alike() {
    let table = reference("metar-peer/decoded.txt");
    let now = Instant::of(2026, 7, 15, 0, 0).unwrap();
    let mut explained = std::collections::BTreeMap::new();
    let mut rows = 0;
    for line in table.lines().filter(|l| !l.starts_with('#')) {
        rows += 1;
        let cells: Vec<&str> = line.split(" | ").collect();
        let [text, direction, mean, gust, seen, weather, cloud, air, dew, qnh] = cells[..] else {
            panic!("{line}")
        };
        let metar = Metar::read(text, now).unwrap_or_else(|e| panic!("{text}: {e}"));
        let c = &metar.conditions;
        let mut note = |what| *explained.entry(what).or_insert(0) += 1;
        let near = |what: &str, found: Option<f64>, expected: &str, tolerance: f64| match (found, expected) {
            (None, "-") => {}
            (Some(found), number) => {
                let number: f64 = number.parse().unwrap_or(f64::NAN);
                assert!((found - number).abs() <= tolerance, "{text}: {what} {found}, {number}");
            }
            other => panic!("{text}: {what} {other:?}"),
        };
        let wind = c.wind.unwrap();
        match (wind.from_deg, direction) {
            (None, "VRB") => {}
            (None, "0") if wind.mean_m_s == 0.0 => note(Explained::CalmHasNoDirection),
            (Some(deg), direction) => near("direction", Some(deg), direction, 1e-9),
            other => panic!("{text}: {other:?}"),
        }
        near("mean", Some(wind.mean_m_s / M_S_PER_KT), mean, 0.004);
        near("gust", wind.gust_m_s.map(|g| g / M_S_PER_KT), gust, 0.01);
        let visibility = c.visibility.unwrap();
        near("visibility", Some(visibility.m), seen, 0.51);
        if visibility.least_m.is_some() {
            note(Explained::LeastVisibility);
        }
        assert_eq!(visibility.bound == Bound::Below, text.contains(" M1/4SM"), "{text}");
        let said =
            c.phenomena.as_ref().map(|all| all.iter().map(|p| p.code.clone()).collect::<Vec<_>>().join(" "));
        match said {
            Some(said) if metar.flaws.is_empty() => {
                assert_eq!(if said.is_empty() { "none" } else { said.as_str() }, weather, "{text}");
            }
            _ => note(Explained::NotOfTheTable),
        }
        let layers: Vec<String> = c.clouds.iter().flatten().map(layer).collect();
        let other: Vec<&str> =
            cloud.split(' ').filter(|w| !matches!(*w, "none" | "NSC" | "SKC" | "CLR" | "NCD")).collect();
        assert_eq!(layers, other, "{text}");
        near("temperature", metar.temperature_k.map(|k| k - 273.15), air, 0.06);
        near("dew point", metar.dew_point_k.map(|k| k - 273.15), dew, 0.06);
        near("pressure", metar.sea_level_pressure_pa.map(|pa| pa / 100.0), qnh, 0.06);
    }
    assert_eq!(rows, 2000);
    // Nothing else differs; the counts follow from how the reports were composed.
    assert!(explained.get(&Explained::NotOfTheTable).is_none_or(|n| *n < 20), "{explained:?}");
}

fn layer(cloud: &sky::weather::Cloud) -> String {
    let amount = match cloud.amount {
        Amount::Unknown => "?",
        Amount::Few => "FEW",
        Amount::Scattered => "SCT",
        Amount::Broken => "BKN",
        Amount::Overcast => "OVC",
        Amount::Hidden => "VV",
    };
    let tower = match cloud.tower {
        Some(Tower::Cumulonimbus) => "CB",
        Some(Tower::ToweringCumulus) => "TCU",
        None => "",
    };
    format!("{amount}{:.0}{tower}", cloud.base_m.unwrap_or(f64::NAN))
}

/// An instant as forecasts code it: day and hour, or day, hour and minute.
fn coded(text: &str) -> Instant {
    let n = |from: usize, to: usize| text.get(from..to).map_or(0, |t| t.parse().unwrap());
    Instant::of(2026, 7, n(0, 2), n(2, 4), n(4, 6)).unwrap()
}

/// Conditions of a part as the other decoder writes them: wind, weather, cloud.
fn part(c: &Conditions) -> [String; 3] {
    let knots = |v: f64| format!("{:.0}", v / M_S_PER_KT);
    let wind = c.wind.map_or("-".to_owned(), |w| {
        let from = match w.from_deg {
            Some(deg) => format!("{deg:.0}"),
            // Calm has no direction here and direction 0 there.
            None if w.mean_m_s == 0.0 => "0".to_owned(),
            None => "VRB".to_owned(),
        };
        format!("{from} {} {}", knots(w.mean_m_s), w.gust_m_s.map_or("-".to_owned(), knots))
    });
    // The other decoder leaves out showers in the vicinity.
    let said: Vec<String> =
        c.phenomena.iter().flatten().map(|p| p.code.clone()).filter(|code| code != "VCSH").collect();
    let sky: Vec<String> = c
        .clouds
        .iter()
        .flatten()
        .map(|cloud| {
            let feet = (cloud.base_m.unwrap_or(f64::NAN) / 0.3048).round();
            layer(&sky::weather::Cloud { base_m: Some(feet), ..*cloud })
        })
        .collect();
    let or_none = |all: Vec<String>| if all.is_empty() { "-".to_owned() } else { all.join(",") };
    [wind, or_none(said), or_none(sky)]
}

#[test]
fn an_independent_decoder_reads_four_hundred_forecasts_alike() {
    let table = reference("taf-peer/decoded.txt");
    let now = Instant::of(2026, 7, 15, 0, 0).unwrap();
    let (mut rows, mut parts) = (0, 0);
    for line in table.lines().filter(|l| !l.starts_with('#')) {
        rows += 1;
        let mut cells = line.split(" | ");
        let text = cells.next().unwrap();
        let taf = Taf::read(text, now).unwrap_or_else(|e| panic!("{text}: {e}"));
        assert!(taf.flaws.is_empty(), "{text}: {:?}", taf.flaws);
        let mut ours = vec![("BASE".to_owned(), taf.from, taf.to, &taf.base)];
        ours.extend(taf.changes.iter().map(|c| {
            let to = if c.kind == Kind::From { taf.from } else { c.to };
            (c.kind.code(), c.from, to, &c.conditions)
        }));
        for (i, cell) in cells.enumerate() {
            parts += 1;
            let (kind, from, to, conditions) = &ours[i];
            let (head, rest) = cell.split_once('#').unwrap();
            let (their_kind, period) = head.split_once('@').unwrap();
            let (begin, end) = period.split_once('-').unwrap();
            assert_eq!((kind.as_str(), *from), (their_kind, coded(begin)), "{text}");
            assert!(end.is_empty() || *to == coded(end), "{text}: {end}");
            let theirs: Vec<String> = rest
                .split('#')
                .map(|said| said.to_owned())
                .map(|said| if matches!(said.as_str(), "NSC" | "SKC") { "-".to_owned() } else { said })
                .collect();
            assert_eq!(part(conditions).as_slice(), theirs.as_slice(), "{text}: part {i}");
        }
    }
    assert!(rows == 400 && parts > 1000, "{rows} {parts}");
}
