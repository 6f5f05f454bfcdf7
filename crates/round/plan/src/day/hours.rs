//! Which hour suits? Hour by hour through a forecast, and the best stretch of it.

use sky::instant::Instant;

use super::judge::Standing;
use super::points::Day;
use super::{Verdict, judge};

/// Hours on end that are alike good.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stretch {
    /// From when.
    pub from: Instant,
    /// To when.
    pub to: Instant,
    /// What may be flown in it.
    pub verdict: Verdict,
}

/// The longest stretch of the best verdict there is, the earlier one of two alike; none where every hour is a no-go.
#[must_use]
pub fn best(hours: &[Day]) -> Option<Stretch> {
    let verdict = hours.iter().map(|h| h.verdict).min().filter(|v| *v != Verdict::NoGo)?;
    let mut best: Option<Stretch> = None;
    let mut open: Option<Stretch> = None;
    for hour in hours {
        let end = hour.at.plus_s(3600);
        open = match open {
            _ if hour.verdict != verdict => None,
            Some(stretch) if stretch.to == hour.at => Some(Stretch { to: end, ..stretch }),
            _ => Some(Stretch { from: hour.at, to: end, verdict }),
        };
        if let Some(stretch) = open
            && best.is_none_or(|b| stretch.to.since_s(stretch.from) > b.to.since_s(b.from))
        {
            best = Some(stretch);
        }
    }
    best
}

/// What an hour's verdict rests on, in a few words: the gravest reasons, each once.
#[must_use]
pub fn in_short(day: &Day) -> String {
    let gravest: Vec<&judge::Reason> = day.against().take(2).collect();
    if gravest.is_empty() {
        let own = day.points.iter().find(|p| p.planned && p.verdict != Verdict::Go);
        return own.map_or("nothing known stands against it".to_owned(), |p| {
            format!("{}: {}", p.title, p.reasons.first().map_or("", String::as_str))
        });
    }
    let mut words: Vec<String> = Vec::new();
    for reason in gravest {
        let first = reason.text.split_once(". ").map_or(reason.text.as_str(), |(first, _)| first);
        let first = first.trim_end_matches('.');
        if reason.standing == Standing::Unknown || !words.iter().any(|w| w == first) {
            words.push(first.to_owned());
        }
    }
    words.join("; ")
}
