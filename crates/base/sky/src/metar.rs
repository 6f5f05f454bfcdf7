//! What does a METAR or SPECI say? WMO No. 306, FM 15 and FM 16, with what some countries add.
//!
//! Groups are taken in any order. One that cannot be read or says what cannot be is a flaw beside the result, and what
//! it would have told counts as unknown. A text in which nothing, or less than half, can be read is no report.

use crate::instant::Instant;
use crate::weather::groups::{self, Group, Refused, digits, only_digits};
use crate::weather::{Conditions, Flaw, NotAReport, Shear, Wind};

/// Longest text taken, characters: real reports have a tenth of it.
const LONGEST: usize = 4000;
/// How long a landing forecast at the end of a report holds, s (FM 15: two hours).
const TREND_S: i64 = 7200;

/// A report of a station.
#[derive(Debug, Clone, PartialEq)]
pub struct Metar {
    /// Whether it is a special report (SPECI).
    pub special: bool,
    /// Four letters and digits of the station.
    pub station: String,
    /// When it was observed: the nearest such day and time to the reference instant.
    pub at: Instant,
    /// Whether no person looked.
    pub automatic: bool,
    /// Whether it corrects an earlier one.
    pub corrected: bool,
    /// Whether it says that there is no report.
    pub missing: bool,
    /// What was observed.
    pub conditions: Conditions,
    /// Temperature, K.
    pub temperature_k: Option<f64>,
    /// Dew point, K.
    pub dew_point_k: Option<f64>,
    /// Pressure reduced to sea level by the standard atmosphere (QNH), Pa.
    pub sea_level_pressure_pa: Option<f64>,
    /// Peak wind since the last report, from the remarks.
    pub peak: Option<Wind>,
    /// What is expected in the next two hours.
    pub trend: Vec<Trend>,
    /// The remarks as they stand.
    pub remarks: Option<String>,
    /// Groups that were not taken.
    pub flaws: Vec<Flaw>,
}

/// A change in the two hours after a report.
#[derive(Debug, Clone, PartialEq)]
pub struct Trend {
    /// Whether it stays once it has come (BECMG) or comes and goes (TEMPO).
    pub lasting: bool,
    /// From when.
    pub from: Instant,
    /// To when.
    pub to: Instant,
    /// What it changes.
    pub conditions: Conditions,
}

impl Metar {
    /// Reads a report. The reference instant says which month its day belongs to: the nearest such day.
    ///
    /// # Errors
    /// When the text is no report.
    pub fn read(text: &str, reference: Instant) -> Result<Self, NotAReport> {
        let upper = text.to_ascii_uppercase();
        let mut words = Words::of(&upper)?;
        words.skip_if(|w| w == "METAR");
        let special = words.skip_if(|w| w == "SPECI");
        let early = words.skip_if(|w| w == "COR");
        let (station, at) = words.station_and_time(reference)?;
        let mut metar = Self {
            special,
            station,
            at,
            automatic: false,
            corrected: early,
            missing: false,
            conditions: Conditions::default(),
            temperature_k: None,
            dew_point_k: None,
            sea_level_pressure_pa: None,
            peak: None,
            trend: Vec::new(),
            remarks: None,
            flaws: Vec::new(),
        };
        let mut taken = 0;
        metar.body(&mut words, &mut taken);
        words.judge(taken, &metar.flaws, metar.missing)?;
        metar.missing &= taken == 0;
        // Without a group of its own, weather is none: FM 15 leaves the group out then.
        let no_weather_group = metar.conditions.unread.is_empty() && !metar.missing;
        if metar.conditions.phenomena.is_none() && no_weather_group && !unknown_weather(&upper) {
            metar.conditions.phenomena = Some(Vec::new());
        }
        Ok(metar)
    }

    fn body(&mut self, words: &mut Words<'_>, taken: &mut usize) {
        while let Some(word) = words.next() {
            match word {
                "AUTO" => self.automatic = true,
                "COR" | "CCA" | "CCB" | "CCC" | "RTD" => self.corrected |= word != "RTD",
                "NIL" => self.missing = true,
                "NOSIG" => *taken += 1,
                "BECMG" | "TEMPO" => self.trend(word == "BECMG", words, taken),
                "RMK" | "RMKS" => {
                    self.remarks(words);
                    return;
                }
                "WS" => match words.runway_of_shear() {
                    Some(which) => {
                        self.conditions.shear = Some(Shear::Runway { which });
                        *taken += 1;
                    }
                    None => self.refuse(words, word, "no runway follows it"),
                },
                word => {
                    let (group, read) = words.group(word);
                    match read {
                        Ok(read) => match self.put(read) {
                            Ok(()) => *taken += 1,
                            Err(why) => self.refuse(words, &group, &why),
                        },
                        Err(refused) => self.refuse(words, &group, &why_refused(refused)),
                    }
                }
            }
        }
    }

    fn put(&mut self, group: Group) -> Result<(), String> {
        match group {
            Group::Temperatures(air, dew) if self.temperature_k.is_none() => {
                self.temperature_k = Some(air);
                self.dew_point_k = dew;
            }
            Group::Temperatures(..) => return Err("the temperature is told a second time".to_owned()),
            Group::Pressure(pa) if self.sea_level_pressure_pa.is_none() => {
                self.sea_level_pressure_pa = Some(pa);
            }
            // Some stations give it in both units; the first stands.
            Group::Pressure(_) => {}
            other => return groups::put(&mut self.conditions, other),
        }
        Ok(())
    }

    fn refuse(&mut self, words: &Words<'_>, group: &str, why: &str) {
        self.flaws.push(Flaw { group: group.to_owned(), place: words.at, why: why.to_owned() });
        self.conditions.unread.push(group.to_owned());
    }

    fn trend(&mut self, lasting: bool, words: &mut Words<'_>, taken: &mut usize) {
        let mut trend =
            Trend { lasting, from: self.at, to: self.at.plus_s(TREND_S), conditions: Conditions::default() };
        while let Some(word) = words.peek() {
            if matches!(word, "BECMG" | "TEMPO" | "NOSIG" | "RMK" | "RMKS") {
                break;
            }
            words.next();
            if let Some((mark, time)) =
                ["FM", "TL", "AT"].iter().find_map(|m| Some((*m, word.strip_prefix(*m)?)))
            {
                let clock = only_digits(time, 4).and_then(|n| self.at.next(n / 100, n % 100));
                match clock {
                    Some(instant) if mark == "TL" => trend.to = instant,
                    Some(instant) => trend.from = instant,
                    None => self.refuse(words, word, "it is no hour and minute"),
                }
                *taken += usize::from(clock.is_some());
                continue;
            }
            let (group, read) = words.group(word);
            let put = match read {
                Ok(read) => groups::put(&mut trend.conditions, read),
                Err(refused) => Err(why_refused(refused)),
            };
            match put {
                Ok(()) => *taken += 1,
                Err(why) => {
                    trend.conditions.unread.push(group.clone());
                    self.flaws.push(Flaw { group, place: words.at, why });
                }
            }
        }
        self.trend.push(trend);
    }

    /// Of the remarks, temperature and dew point to a tenth and the peak wind are taken.
    fn remarks(&mut self, words: &mut Words<'_>) {
        let mut all = Vec::new();
        while let Some(word) = words.next() {
            all.push(word);
            if let Some((air_c, dew_c)) = tenths(word)
                && let Ok(Group::Temperatures(air, dew)) = groups::temperatures_of(air_c, Some(dew_c))
                // It refines the group of the body; where the two are more than a degree apart, the body stands.
                && self.temperature_k.is_none_or(|t| (t - air).abs() < 1.05)
            {
                self.temperature_k = Some(air);
                self.dew_point_k = dew;
            }
            if all.ends_with(&["PK", "WND"])
                && let Some(peak) =
                    words.peek().and_then(|w| w.split_once('/')).and_then(|(wind, _)| peak(wind))
            {
                self.peak = Some(peak);
            }
        }
        self.remarks = Some(all.join(" "));
    }
}

/// Whether an automatic station says that it cannot tell the weather.
fn unknown_weather(text: &str) -> bool {
    text.split_whitespace()
        .take_while(|w| !matches!(*w, "RMK" | "RMKS"))
        .any(|w| matches!(w, "//" | "/////////"))
}

pub(crate) fn why_refused(refused: Refused) -> String {
    match refused {
        Refused::Unknown => "it has no form of the code".to_owned(),
        Refused::Impossible(why) => why,
    }
}

/// T02270215: tenths of a degree, 1 before them for minus.
fn tenths(word: &str) -> Option<(f64, f64)> {
    let rest = word.strip_prefix('T')?;
    let (air_sign, rest) = digits(rest, 1)?;
    let (air, rest) = digits(rest, 3)?;
    let (dew_sign, rest) = digits(rest, 1)?;
    let dew = only_digits(rest, 3)?;
    let value = |sign: u32, tenths: u32| match sign {
        0 => Some(f64::from(tenths) / 10.0),
        1 => Some(-f64::from(tenths) / 10.0),
        _ => None,
    };
    Some((value(air_sign, air)?, value(dew_sign, dew)?))
}

/// Direction and speed in knots, as remarks write a peak wind (29028).
fn peak(wind: &str) -> Option<Wind> {
    match groups::read(&format!("{wind}KT")) {
        Ok(Group::Wind(peak)) => Some(peak),
        _ => None,
    }
}

/// The groups of a report, one after the other.
#[derive(Debug)]
pub(crate) struct Words<'a> {
    all: Vec<&'a str>,
    /// How many were taken.
    pub(crate) at: usize,
}

impl<'a> Words<'a> {
    pub(crate) fn of(text: &'a str) -> Result<Self, NotAReport> {
        let characters = text.chars().count();
        if characters > LONGEST {
            return Err(NotAReport::TooLong { characters });
        }
        // A report ends at its equals sign.
        let (text, _) = text.split_once('=').unwrap_or((text, ""));
        let all: Vec<&str> = text.split_whitespace().collect();
        if all.is_empty() { Err(NotAReport::Empty) } else { Ok(Self { all, at: 0 }) }
    }

    pub(crate) fn peek(&self) -> Option<&'a str> {
        self.all.get(self.at).copied()
    }

    pub(crate) fn next(&mut self) -> Option<&'a str> {
        let word = self.peek()?;
        self.at += 1;
        Some(word)
    }

    pub(crate) fn skip_if(&mut self, is: impl Fn(&str) -> bool) -> bool {
        let skip = self.peek().is_some_and(is);
        self.at += usize::from(skip);
        skip
    }

    pub(crate) fn station(&mut self) -> Result<String, NotAReport> {
        let found = self.peek().unwrap_or_default();
        let sound = found.len() == 4
            && found.bytes().all(|b| b.is_ascii_uppercase() || b.is_ascii_digit())
            && found.starts_with(|c: char| c.is_ascii_uppercase());
        if !sound {
            return Err(NotAReport::NoStation { found: found.to_owned() });
        }
        self.at += 1;
        Ok(found.to_owned())
    }

    fn station_and_time(&mut self, reference: Instant) -> Result<(String, Instant), NotAReport> {
        let station = self.station()?;
        let found = self.peek().unwrap_or_default().to_owned();
        let Some(at) = self.time(reference)? else {
            return Err(NotAReport::NoTime { found });
        };
        Ok((station, at))
    }

    /// Day, hour and minute where they stand next.
    pub(crate) fn time(&mut self, reference: Instant) -> Result<Option<Instant>, NotAReport> {
        let Some(time) = self.peek().and_then(|w| w.strip_suffix('Z')).and_then(|w| only_digits(w, 6)) else {
            return Ok(None);
        };
        let found = self.next().unwrap_or_default().to_owned();
        let (day, hour, minute) = (time / 10_000, time / 100 % 100, time % 100);
        match reference.nearest(day, hour, minute).filter(|_| hour <= 23) {
            Some(instant) => Ok(Some(instant)),
            None => Err(NotAReport::ImpossibleTime { found }),
        }
    }

    /// Reads the group that begins with a word already taken; whole miles and their fraction are one group.
    pub(crate) fn group(&mut self, word: &str) -> (String, Result<Group, Refused>) {
        if only_digits(word, 1).is_some()
            && let Some(part) = self.peek().filter(|p| p.ends_with("SM") && p.contains('/'))
        {
            self.at += 1;
            let group = format!("{word} {part}");
            let read = groups::read(&group);
            return (group, read);
        }
        (word.to_owned(), groups::read(word))
    }

    /// The runway of a shear group.
    fn runway_of_shear(&mut self) -> Option<String> {
        if self.skip_if(|w| w == "ALL") {
            return self.skip_if(|w| w == "RWY").then(|| "ALL RWY".to_owned());
        }
        let word = self.peek()?;
        let rest = word.strip_prefix("RWY").or_else(|| word.strip_prefix('R'))?;
        let (_, side) = digits(rest, 2)?;
        if !matches!(side, "" | "L" | "R" | "C") {
            return None;
        }
        self.at += 1;
        Some(word.to_owned())
    }

    /// Whether what was read is a report: something was, and more than was not.
    pub(crate) fn judge(&self, taken: usize, flaws: &[Flaw], missing: bool) -> Result<(), NotAReport> {
        if (taken == 0 && !(missing && flaws.is_empty())) || flaws.len() > taken {
            return Err(NotAReport::Unreadable {
                groups: flaws.iter().map(|f| f.group.clone()).collect(),
                read: taken,
            });
        }
        Ok(())
    }
}
