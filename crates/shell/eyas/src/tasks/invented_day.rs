//! Which days does the demo have? Invented reports for an invented field, judged as any day is.

use plan::day::Verdict;
use plan::day::limits::Key;

use crate::cli::Common;
use crate::tasks::fetch::Fetched;
use crate::tasks::forecast::Air;
use crate::tasks::round::{self, Issued};
use crate::tasks::today::{Told, today};
use crate::tell::Trouble;

/// A day: the report of an invented station, and when the flight begins.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Day {
    metar: &'static str,
    at: &'static str,
}

/// Gusts before the first flight.
pub(crate) const GUSTY: Day =
    Day { metar: "METAR XAAA 201250Z 28007G11KT CAVOK 19/09 Q1018", at: "2026-06-20T13:00Z" };
/// A calm evening.
pub(crate) const CALM: Day =
    Day { metar: "METAR XAAA 211650Z 25005KT CAVOK 20/10 Q1021", at: "2026-06-21T17:00Z" };

/// The card of that day, and what was said of the day, a sentence each.
pub(crate) fn card_on(
    day: Day,
    fetched: &Fetched,
    common: &Common,
) -> Result<(Issued, Vec<String>), Trouble> {
    let told = Told {
        metar: Some(day.metar.to_owned()),
        at: Some(day.at.to_owned()),
        zone: Some("UTC".to_owned()),
        lat: Some(52.5),
        lon: Some(9.7),
        air: Air { height_m: Some(55.0), ..Air::default() },
        ..Told::default()
    };
    let today = today(fetched, &told, common)?;
    let verdict = match today.day.verdict {
        Verdict::Go => "A day for it",
        Verdict::Part => "A day for part of it",
        Verdict::NoGo => "No day for it",
    };
    let mut words = vec![format!("{verdict}, {}. {}.", today.day.when(), today.lines.join("; "))];
    words.extend(today.day.against().map(|r| r.text.clone()));
    let launch = today.day.reasons.iter().find(|r| r.key == Key::LaunchOdds.word());
    words.extend(
        launch.filter(|l| !words.contains(&l.text)).map(|l| l.text.clone()).into_iter().collect::<Vec<_>>(),
    );
    Ok((round::card_for_day(fetched, &today, common)?, words))
}
