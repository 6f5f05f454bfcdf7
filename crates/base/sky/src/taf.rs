//! What does an aerodrome forecast (TAF) say, and what of it holds at an hour? WMO No. 306, FM 51.
//!
//! Also taken: the older form with hours alone (091818, TEMPO 2022), which still goes round.

use numerics::units::{M_PER_FT, M_S_PER_KT};

use crate::instant::Instant;
use crate::metar::{Words, why_refused};
use crate::weather::groups::{self, Group, digits, only_digits};
use crate::weather::{Conditions, Flaw, NotAReport, Shear};

/// Longest forecast period there is, s (FM 51: 30 hours).
const LONGEST_S: i64 = 30 * 3600;

/// A forecast for the surroundings of a station.
#[derive(Debug, Clone, PartialEq)]
pub struct Taf {
    /// Four letters and digits of the station.
    pub station: String,
    /// When it was issued, if it says so.
    pub issued: Option<Instant>,
    /// From when it holds.
    pub from: Instant,
    /// To when it holds.
    pub to: Instant,
    /// Whether it was withdrawn or there is none.
    pub missing: bool,
    /// What holds at its beginning.
    pub base: Conditions,
    /// Changes, in the order in which they stand.
    pub changes: Vec<Change>,
    /// Groups that were not taken.
    pub flaws: Vec<Flaw>,
}

/// A change of the forecast.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    /// Of which kind.
    pub kind: Kind,
    /// From when.
    pub from: Instant,
    /// To when; of [`Kind::From`] to the end of the forecast.
    pub to: Instant,
    /// What it tells.
    pub conditions: Conditions,
}

/// How a part of the forecast holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Throughout.
    Prevailing,
    /// From then on, in place of everything before (FM).
    From,
    /// Comes at some time in the period and stays (BECMG).
    Becoming,
    /// Comes and goes, each time for less than an hour (TEMPO).
    Temporary,
    /// With this probability, per cent (PROB30, PROB40).
    Probable(u32),
    /// With this probability, and coming and going (PROB30 TEMPO).
    ProbableTemporary(u32),
}

impl Kind {
    /// As coded, "PROB30 TEMPO"; empty for what prevails.
    #[must_use]
    pub fn code(self) -> String {
        match self {
            Self::Prevailing => String::new(),
            Self::From => "FM".to_owned(),
            Self::Becoming => "BECMG".to_owned(),
            Self::Temporary => "TEMPO".to_owned(),
            Self::Probable(percent) => format!("PROB{percent}"),
            Self::ProbableTemporary(percent) => format!("PROB{percent} TEMPO"),
        }
    }

    /// Probability that the forecaster gives it, per cent, where it is below one half.
    #[must_use]
    pub fn probability_percent(self) -> Option<u32> {
        match self {
            Self::Probable(percent) | Self::ProbableTemporary(percent) => Some(percent),
            _ => None,
        }
    }
}

/// What may be the case in a span of time.
#[derive(Debug, Clone, PartialEq)]
pub struct Expected {
    /// How it holds.
    pub kind: Kind,
    /// All that is told for it, changes laid over what prevails.
    pub conditions: Conditions,
}

impl Taf {
    /// Reads a forecast. The reference instant says which month its days belong to: the nearest such day.
    ///
    /// # Errors
    /// When the text is no forecast.
    pub fn read(text: &str, reference: Instant) -> Result<Self, NotAReport> {
        let upper = text.to_ascii_uppercase();
        let mut words = Words::of(&upper)?;
        while words.skip_if(|w| matches!(w, "TAF" | "AMD" | "COR" | "RTD")) {}
        let station = words.station()?;
        let issued = words.time(reference)?;
        while words.skip_if(|w| matches!(w, "AMD" | "COR" | "RTD")) {}
        let near = issued.unwrap_or(reference);
        let mut taf = Self {
            station,
            issued,
            from: near,
            to: near,
            missing: false,
            base: Conditions::default(),
            changes: Vec::new(),
            flaws: Vec::new(),
        };
        if words.skip_if(|w| w == "NIL") {
            taf.missing = true;
            return match words.peek() {
                None => Ok(taf),
                Some(rest) => Err(NotAReport::Unreadable { groups: vec![rest.to_owned()], read: 0 }),
            };
        }
        let found = words.peek().unwrap_or_default().to_owned();
        let Some((from, to)) = words.peek().and_then(|w| first_period(w, near)) else {
            return Err(NotAReport::NoPeriod { found });
        };
        if to <= from || to.since_s(from) > LONGEST_S {
            return Err(NotAReport::ImpossibleTime { found });
        }
        words.next();
        (taf.from, taf.to) = (from, to);
        if words.skip_if(|w| w == "CNL") {
            taf.missing = true;
            return Ok(taf);
        }
        let mut taken = 0;
        let mut changes = Vec::new();
        taf.base = taf.part(&mut words, &mut taken);
        while let Some(word) = words.peek() {
            if matches!(word, "RMK" | "RMKS") {
                break;
            }
            words.next();
            let head = taf.change(word, &mut words);
            let conditions = taf.part(&mut words, &mut taken);
            if let Some((kind, from, to)) = head {
                changes.push(Change { kind, from, to, conditions });
            }
        }
        taf.changes = changes;
        words.judge(taken, &taf.flaws, false)?;
        taf.settle();
        Ok(taf)
    }

    /// Weather that a whole part leaves out is none; a change leaves it as it was.
    fn settle(&mut self) {
        let whole = |c: &mut Conditions| {
            if c.unread.is_empty() && c.phenomena.is_none() {
                c.phenomena = Some(Vec::new());
            }
        };
        whole(&mut self.base);
        self.changes.iter_mut().filter(|c| c.kind == Kind::From).for_each(|c| whole(&mut c.conditions));
    }

    fn refuse(&mut self, words: &Words<'_>, group: &str, why: &str) {
        self.flaws.push(Flaw { group: group.to_owned(), place: words.at, why: why.to_owned() });
    }

    /// Groups up to the next change.
    fn part(&mut self, words: &mut Words<'_>, taken: &mut usize) -> Conditions {
        let mut out = Conditions::default();
        while let Some(word) = words.peek() {
            if begins_change(word) || matches!(word, "RMK" | "RMKS") {
                break;
            }
            words.next();
            if aside(word) {
                continue;
            }
            if let Some(shear) = shear(word) {
                out.shear = Some(shear);
                *taken += 1;
                continue;
            }
            let (group, read) = words.group(word);
            let put = match read {
                Ok(Group::Temperatures(..)) => Err("a forecast has no such group".to_owned()),
                Ok(read) => groups::put(&mut out, read),
                Err(refused) => Err(why_refused(refused)),
            };
            match put {
                Ok(()) => *taken += 1,
                Err(why) => {
                    self.refuse(words, &group, &why);
                    out.unread.push(group);
                }
            }
        }
        out
    }

    /// Reads the head of a change; its first word is taken already.
    fn change(&mut self, word: &str, words: &mut Words<'_>) -> Option<(Kind, Instant, Instant)> {
        if let Some(time) = word.strip_prefix("FM") {
            let from = if let Some(n) = only_digits(time, 6) {
                within(self.from, n / 10_000, n / 100 % 100, n % 100)
            } else {
                let previous = self.from;
                only_digits(time, 4).and_then(|n| previous.next(n / 100, n % 100))
            };
            let found = from.filter(|from| self.holds(*from));
            if found.is_none() {
                self.unplaced(words, word);
            }
            return found.map(|from| (Kind::From, from, self.to));
        }
        let kind = match word.strip_prefix("PROB").and_then(|p| only_digits(p, 2)) {
            Some(percent @ (30 | 40)) if words.skip_if(|w| w == "TEMPO") => Kind::ProbableTemporary(percent),
            Some(percent @ (30 | 40)) => Kind::Probable(percent),
            Some(_) => {
                self.unplaced(words, word);
                words.skip_if(looks_like_period);
                return None;
            }
            None if word == "BECMG" => Kind::Becoming,
            None => Kind::Temporary,
        };
        let period = words.peek().and_then(|w| period(w, self.from));
        match period {
            Some((from, to)) if from < to && from < self.to && to > self.from => {
                words.next();
                Some((kind, from, to))
            }
            _ => {
                let mut head = word.to_owned();
                if let Some(found) = words.peek().filter(|w| looks_like_period(w)) {
                    words.next();
                    head = format!("{word} {found}");
                }
                self.unplaced(words, &head);
                None
            }
        }
    }

    fn holds(&self, instant: Instant) -> bool {
        instant >= self.from && instant < self.to
    }

    /// A change that cannot be placed may hold at any time: what it tells makes everything unknown.
    fn unplaced(&mut self, words: &Words<'_>, group: &str) {
        self.refuse(words, group, "its time is missing, cannot be, or lies outside the forecast");
        self.base.unread.push(group.to_owned());
    }

    /// What may be the case at some time in a span, what prevails first; none where the forecast does not cover it.
    #[must_use]
    pub fn between(&self, from: Instant, to: Instant) -> Option<Vec<Expected>> {
        if self.missing || from < self.from || from >= self.to || to < from {
            return None;
        }
        let mut out: Vec<Expected> = Vec::new();
        let mut moments = vec![from];
        for change in &self.changes {
            moments.extend([change.from, change.to].into_iter().filter(|t| *t > from && *t < to));
        }
        moments.sort_unstable();
        moments.dedup();
        for moment in moments {
            for expected in self.at(moment) {
                if !out.contains(&expected) {
                    out.push(expected);
                }
            }
        }
        Some(out)
    }

    fn at(&self, moment: Instant) -> Vec<Expected> {
        let mut prevailing = self.base.clone();
        let mut coming: Vec<&Change> = Vec::new();
        for change in self.changes.iter().filter(|c| c.from <= moment) {
            match change.kind {
                Kind::From => {
                    // It replaces everything, and what was unknown before it no longer matters.
                    prevailing = change.conditions.clone();
                    coming.clear();
                }
                Kind::Becoming if moment >= change.to => prevailing = prevailing.with(&change.conditions),
                Kind::Becoming => coming.push(change),
                _ => {}
            }
        }
        if let Some(unplaced) = self.base.unread.first().filter(|_| prevailing.unread.is_empty()) {
            prevailing.unread.push(unplaced.clone());
        }
        let passing = self.changes.iter().filter(|c| {
            !matches!(c.kind, Kind::From | Kind::Becoming | Kind::Prevailing)
                && c.from <= moment
                && moment < c.to
        });
        let laid =
            |change: &Change| Expected { kind: change.kind, conditions: prevailing.with(&change.conditions) };
        let mut out: Vec<Expected> = coming.into_iter().chain(passing).map(laid).collect();
        out.insert(0, Expected { kind: Kind::Prevailing, conditions: prevailing });
        out
    }
}

fn looks_like_period(word: &str) -> bool {
    word.bytes().all(|b| b.is_ascii_digit() || b == b'/')
}

fn begins_change(word: &str) -> bool {
    let from = |rest: &str| !rest.is_empty() && rest.bytes().all(|b| b.is_ascii_digit());
    matches!(word, "BECMG" | "TEMPO" | "INTER")
        || word.starts_with("PROB")
        || word.strip_prefix("FM").is_some_and(from)
}

/// The instant nearest to half the longest period after the beginning: days of a forecast lie behind its beginning.
fn within(begin: Instant, day: u32, hour: u32, minute: u32) -> Option<Instant> {
    begin.plus_s(LONGEST_S / 2).nearest(day, hour, minute)
}

/// The period of the whole forecast: 0918/1024, or 091818 in the older form.
fn first_period(word: &str, near: Instant) -> Option<(Instant, Instant)> {
    if let Some((from, to)) = word.split_once('/') {
        let (from, to) = (only_digits(from, 4)?, only_digits(to, 4)?);
        let from = near.nearest(from / 100, from % 100, 0)?;
        return Some((from, within(from, to / 100, to % 100, 0)?));
    }
    let n = only_digits(word, 6)?;
    let from = near.nearest(n / 10_000, n / 100 % 100, 0)?;
    Some((from, from.plus_s(60).next(if n % 100 == 24 { 0 } else { n % 100 }, 0)?))
}

/// The period of a change: 0920/0922, or 2022 in the older form.
fn period(word: &str, begin: Instant) -> Option<(Instant, Instant)> {
    if let Some((from, to)) = word.split_once('/') {
        let (from, to) = (only_digits(from, 4)?, only_digits(to, 4)?);
        return Some((within(begin, from / 100, from % 100, 0)?, within(begin, to / 100, to % 100, 0)?));
    }
    let n = only_digits(word, 4)?;
    let hour = |h: u32| if h == 24 { 0 } else { h };
    let from = begin.next(hour(n / 100), 0)?;
    Some((from, from.plus_s(60).next(hour(n % 100), 0)?))
}

/// WS010/31022KT: height in hundreds of feet, direction and speed there.
fn shear(word: &str) -> Option<Shear> {
    let (height, wind) = word.strip_prefix("WS")?.split_once('/')?;
    let height = only_digits(height, 3)?;
    let (from_deg, rest) = digits(wind, 3)?;
    let (speed, "KT") = digits(rest, 3).or_else(|| digits(rest, 2))? else {
        return None;
    };
    (from_deg <= 360).then_some(Shear::AtHeight {
        height_m: f64::from(height) * 100.0 * M_PER_FT,
        from_deg: f64::from(from_deg),
        speed_m_s: f64::from(speed) * M_S_PER_KT,
    })
}

/// Highest and lowest temperature (TX12/1912Z), icing and turbulence in six digits: taken and left aside.
fn aside(word: &str) -> bool {
    let extreme = ["TX", "TN", "T"].iter().filter_map(|p| word.strip_prefix(p)).any(|rest| {
        rest.split_once('/').is_some_and(|(t, time)| {
            let t = t.strip_prefix('M').unwrap_or(t);
            let time = time.strip_suffix('Z').unwrap_or(time);
            only_digits(t, 2).is_some() && (only_digits(time, 4).is_some() || only_digits(time, 2).is_some())
        })
    });
    let layer = only_digits(word, 6).is_some() && word.starts_with(['5', '6']);
    extreme || layer || word == "WSCONDS" || word == "NOSIG"
}
