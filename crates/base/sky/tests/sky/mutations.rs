//! Broken reports: whatever is done to a text, reading it ends, and garbage never passes as a report that says nothing.

use numerics::random::Random;
use sky::instant::Instant;
use sky::metar::Metar;
use sky::taf::Taf;

use crate::reference;

fn now() -> Instant {
    Instant::of(2026, 7, 15, 12, 0).unwrap()
}

/// Mutations of each kind of text: some seconds of one core together.
const ROUNDS: usize = 20_000;

fn pick(random: &mut Random, below: usize) -> usize {
    (random.uniform(0.0, below as f64) as usize).min(below.saturating_sub(1))
}

/// One to four changes: letters replaced, dropped, doubled, groups moved, dropped, glued, cut off, strange characters.
fn mutate(text: &str, random: &mut Random) -> String {
    let mut text: Vec<char> = text.chars().collect();
    const STRANGE: [char; 16] =
        ['/', 'V', 'G', 'M', 'Z', '0', '9', ' ', 'K', '-', '+', 'é', '\u{0}', '\u{1F329}', '\n', '='];
    for _ in 0..=pick(random, 4) {
        if text.is_empty() {
            break;
        }
        let at = pick(random, text.len());
        match pick(random, 7) {
            0 => text[at] = STRANGE[pick(random, STRANGE.len())],
            1 => {
                text.remove(at);
            }
            2 => text.insert(at, STRANGE[pick(random, STRANGE.len())]),
            3 => text.truncate(at),
            4 => {
                let other = pick(random, text.len());
                text.swap(at, other);
            }
            5 => {
                let tail: Vec<char> = text[at..].to_vec();
                text.extend(tail);
            }
            _ => text[at] = char::from(b'0' + pick(random, 10) as u8),
        }
    }
    text.into_iter().collect()
}

#[test]
fn a_mutated_report_never_panics_and_never_becomes_an_empty_one() {
    let table = reference("weather-reports/metar.txt");
    let reports: Vec<&str> = table
        .lines()
        .filter(|l| !l.starts_with('#') && l.contains('|') && !l.contains(" NIL"))
        .filter_map(|l| l.split('|').next())
        .collect();
    let mut random = Random::new(20_260_715, 0);
    let (mut read, mut flawed) = (0, 0);
    for _ in 0..ROUNDS {
        let text = mutate(reports[pick(&mut random, reports.len())], &mut random);
        let Ok(metar) = Metar::read(&text, now()) else { continue };
        read += 1;
        flawed += usize::from(!metar.flaws.is_empty());
        let c = &metar.conditions;
        // Whatever was dropped is unknown and not "none": without weather groups only a body read whole says "no weather".
        if !c.unread.is_empty() && c.phenomena.as_ref().is_some_and(Vec::is_empty) {
            assert!(text.to_ascii_uppercase().contains("CAVOK") || text.contains("NSW"), "{text}: {metar:?}");
        }
        let body = text.split('=').next().unwrap().to_ascii_uppercase();
        let groups = body.split_whitespace().take_while(|w| !matches!(*w, "RMK" | "RMKS")).count();
        assert!(groups >= 3, "{text}: a report of nothing");
        if let Some(wind) = c.wind {
            assert!(wind.mean_m_s >= 0.0 && wind.gust_m_s.is_none_or(|g| g >= wind.mean_m_s && g < 120.0));
            assert!(wind.from_deg.is_none_or(|d| (0.0..=360.0).contains(&d)));
        }
        assert!(metar.temperature_k.is_none_or(|t| (180.0..340.0).contains(&t)));
        assert!(metar.at.since_s(now()).abs() < 45 * 86_400);
        assert!(metar.flaws.iter().all(|f| !f.group.is_empty() && !f.why.is_empty()));
    }
    // Both ways out are taken: most mutations leave a report with a flaw, some leave none at all.
    assert!(read > ROUNDS / 3 && read < ROUNDS && flawed > ROUNDS / 10, "{read} {flawed}");
}

#[test]
fn a_mutated_forecast_never_panics_and_covers_only_its_period() {
    let forecasts = [
        "TAF KPIT 151130Z 1512/1612 15005KT 5SM HZ FEW020 WS010/31022KT FM151930 30015G25KT 3SM SHRA OVC015 TEMPO 1520/1522 \
         1/2SM +TSRA OVC008CB FM160100 27008KT 5SM SHRA BKN020 PROB30 1604/1607 1SM -RA BR BECMG 1608/1610 P6SM NSW SKC",
        "TAF EDXX 151100Z 1512/1612 24008KT CAVOK BECMG 1514/1516 25015G28KT 9999 SCT030 PROB40 TEMPO 1516/1519 26025G45KT \
         2000 TSRA BKN012CB BECMG 1519/1521 VRB03KT NSW",
    ];
    let mut random = Random::new(20_260_716, 0);
    let mut read = 0;
    for _ in 0..ROUNDS {
        let text = mutate(forecasts[pick(&mut random, 2)], &mut random);
        let Ok(taf) = Taf::read(&text, now()) else { continue };
        read += 1;
        assert!(taf.missing || taf.to > taf.from && taf.to.since_s(taf.from) <= 30 * 3600);
        for hour in 0..30 {
            let at = taf.from.plus_s(hour * 3600);
            match taf.between(at, at.plus_s(3600)) {
                Some(expected) => assert!(at < taf.to && !expected.is_empty()),
                None => assert!(at >= taf.to || taf.missing),
            }
        }
        for change in &taf.changes {
            assert!(change.from < change.to && change.from < taf.to && change.to > taf.from, "{text}");
        }
    }
    assert!(read > ROUNDS / 3 && read < ROUNDS, "{read}");
}
