//! What do the clocks on the wall show? Offsets from UTC, given by the caller: which place has which is not known here.

use crate::instant::Instant;

/// An offset that clocks keep from an instant on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Offset {
    /// From when.
    pub from: Instant,
    /// Seconds ahead of UTC; negative where clocks are behind it.
    pub ahead_s: i64,
    /// How people there call it ("CEST", "+02").
    pub short: String,
}

/// The clocks of a place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Zone {
    name: String,
    /// In the order of time.
    offsets: Vec<Offset>,
}

impl Default for Zone {
    fn default() -> Self {
        Self::utc()
    }
}

impl Zone {
    /// Clocks that show UTC.
    #[must_use]
    pub fn utc() -> Self {
        Self { name: "UTC".to_owned(), offsets: Vec::new() }
    }

    /// The clocks of a named place. Before the first offset and where none is given they show UTC.
    #[must_use]
    pub fn new(name: impl Into<String>, mut offsets: Vec<Offset>) -> Self {
        offsets.sort_by_key(|offset| offset.from);
        Self { name: name.into(), offsets }
    }

    /// The name of the place ("Europe/Berlin"), or "UTC".
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The offset in force, none where clocks show UTC.
    #[must_use]
    pub fn offset(&self, at: Instant) -> Option<&Offset> {
        self.offsets.iter().rev().find(|offset| offset.from <= at).filter(|offset| offset.ahead_s != 0)
    }

    /// The time of day there, "16:00", without saying which clock.
    #[must_use]
    pub fn bare(&self, at: Instant) -> String {
        let local = at.plus_s(self.offset(at).map_or(0, |offset| offset.ahead_s)).calendar();
        format!("{:02}:{:02}", local.hour, local.minute)
    }

    /// What to call the clock at that instant, "CEST" or "UTC".
    #[must_use]
    pub fn short(&self, at: Instant) -> &str {
        self.offset(at).map_or("UTC", |offset| &offset.short)
    }

    /// The time of day by both clocks, "16:00 CEST (14:00 UTC)"; once where they are the same.
    #[must_use]
    pub fn clock(&self, at: Instant) -> String {
        match self.offset(at) {
            None => at.clock(),
            Some(offset) => format!("{} {} ({})", self.bare(at), offset.short, at.clock()),
        }
    }

    /// Date and time by both clocks, "2026-06-21 16:00 CEST (14:00 UTC)"; the date twice where it differs.
    #[must_use]
    pub fn date_and_clock(&self, at: Instant) -> String {
        let Some(offset) = self.offset(at) else {
            return at.date_and_clock();
        };
        let (utc, local) = (at.calendar(), at.plus_s(offset.ahead_s).calendar());
        let there = format!(
            "{:04}-{:02}-{:02} {} {}",
            local.year,
            local.month,
            local.day,
            self.bare(at),
            offset.short
        );
        let same = (utc.year, utc.month, utc.day) == (local.year, local.month, local.day);
        format!("{there} ({})", if same { at.clock() } else { at.date_and_clock() })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Central European clocks of 2026: an hour ahead, two from 29 March 01:00 UTC on (the last Sunday in March, Directive
    /// 2000/84/EC).
    fn berlin() -> Zone {
        let at = |y, mo, d, h| Instant::of(y, mo, d, h, 0).unwrap();
        let offset = |from, ahead_s, short: &str| Offset { from, ahead_s, short: short.to_owned() };
        Zone::new(
            "Europe/Berlin",
            vec![offset(at(2026, 3, 29, 1), 7200, "CEST"), offset(at(2025, 10, 26, 1), 3600, "CET")],
        )
    }

    #[test]
    fn both_clocks_are_told_and_summer_time_begins_when_it_does() {
        let zone = berlin();
        for (at, words) in [
            ((2026, 3, 29, 0), "2026-03-29 01:00 CET (00:00 UTC)"),
            ((2026, 3, 29, 1), "2026-03-29 03:00 CEST (01:00 UTC)"),
            ((2026, 6, 20, 23), "2026-06-21 01:00 CEST (2026-06-20 23:00 UTC)"),
        ] {
            let at = Instant::of(at.0, at.1, at.2, at.3, 0).unwrap();
            assert_eq!(zone.date_and_clock(at), words);
        }
        let noon = Instant::of(2026, 6, 21, 12, 30).unwrap();
        assert_eq!(zone.clock(noon), "14:30 CEST (12:30 UTC)");
        assert_eq!((zone.bare(noon).as_str(), zone.short(noon)), ("14:30", "CEST"));
        let west = Zone::new(
            "west",
            vec![Offset { from: Instant::from_unix_s(0), ahead_s: -9000, short: "-0230".to_owned() }],
        );
        assert_eq!(
            west.date_and_clock(Instant::of(2026, 1, 1, 1, 0).unwrap()),
            "2025-12-31 22:30 -0230 (2026-01-01 01:00 UTC)"
        );
    }

    #[test]
    fn clocks_that_show_utc_say_it_once() {
        let noon = Instant::of(2026, 6, 21, 12, 30).unwrap();
        assert_eq!(Zone::utc().clock(noon), "12:30 UTC");
        assert_eq!(Zone::default().date_and_clock(noon), "2026-06-21 12:30 UTC");
        // Before the first offset that is known nothing is made up.
        let before = Instant::of(2020, 1, 1, 0, 0).unwrap();
        assert_eq!(berlin().clock(before), "00:00 UTC");
    }
}
