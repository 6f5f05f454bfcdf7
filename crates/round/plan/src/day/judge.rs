//! What stands against a flight at some time? Each limit held against the worst that any source tells, with the number,
//! the limit, and where both come from.

use numerics::units::RAD_PER_DEG;
use predict::prediction::Prediction;
use sky::atmosphere::ZERO_CELSIUS_K;
use sky::course::parts;
use sky::weather::{Shear, Tower};

use super::limits::{Key, Limit, NotKnown};
use super::turbulence::rolling_rad_s;
use super::{Blowing, Computed, FLIGHT_HEIGHT_M, Launch, Moment, REPORT_HEIGHT_M, Sight, Verdict, at_height};
use crate::number;

/// How a reason stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// Within the limit, with all that it allows.
    Fits,
    /// A part remains.
    Part,
    /// Nothing remains.
    Against,
    /// Nobody told it.
    Unknown,
}

impl Standing {
    /// The word used in JSON.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Fits => "go",
            Self::Part => "part",
            Self::Against => "no-go",
            Self::Unknown => "unknown",
        }
    }

    fn of(limit: &Limit, today: f64) -> Self {
        let beyond = |bound: f64| if limit.key.more_is_worse() { today > bound } else { today < bound };
        if today.is_nan() {
            Self::Unknown
        } else if beyond(limit.most) {
            Self::Against
        } else if beyond(limit.good) {
            Self::Part
        } else {
            Self::Fits
        }
    }
}

/// One thing held against its limit.
#[derive(Debug, Clone, PartialEq)]
pub struct Reason {
    /// The limit's word ("wind_m_s"), or what was looked at ("precipitation").
    pub key: String,
    /// How it stands.
    pub standing: Standing,
    /// Today's value in the key's unit, where it is a number.
    pub today: Option<f64>,
    /// The limit that it is held against, in the same unit.
    pub limit: Option<f64>,
    /// Unit as JSON and files write it; empty for what is no number.
    pub unit: &'static str,
    /// A sentence for people, with number, limit and what remains.
    pub text: String,
    /// Where the limit comes from.
    pub from: String,
    /// Who told today's value.
    pub source: String,
    /// Whether it spoils what is measured or tuned in the air.
    pub spoils_measuring: bool,
}

/// All reasons of a time, the gravest first.
#[must_use]
pub fn reasons(
    moment: &Moment,
    prediction: &Prediction,
    limits: &[Limit],
    unknown: &[NotKnown],
    first_flight: bool,
) -> Vec<Reason> {
    let mut out: Vec<Reason> = moment
        .grounds
        .iter()
        .map(|ground| word("grounded", Standing::Against, ground.clone(), "", "records kept in the hangar"))
        .collect();
    for limit in limits {
        out.extend(number_of(limit, moment, prediction, first_flight));
    }
    for (key, why) in unknown {
        out.push(word(
            key.word(),
            Standing::Unknown,
            format!("{}: its limit is unknown: {why}", key.what()),
            "",
            "",
        ));
    }
    out.extend(weather(moment, first_flight));
    out.sort_by_key(|r| match r.standing {
        Standing::Against => 0,
        Standing::Part => 1,
        Standing::Unknown => 2,
        Standing::Fits => 3,
    });
    out
}

fn word(key: &str, standing: Standing, text: String, source: &str, from: &str) -> Reason {
    Reason {
        key: key.to_owned(),
        standing,
        today: None,
        limit: None,
        unit: "",
        text: number::sentence(&text),
        from: from.to_owned(),
        source: source.to_owned(),
        spoils_measuring: false,
    }
}

/// The worst of what the sources tell, and who tells it. What a forecaster gives less than an even chance counts fully
/// before a first flight; later it leaves a part.
fn worst<'a>(
    moment: &'a Moment,
    limit: &Limit,
    first_flight: bool,
    value: impl Fn(&Sight) -> Option<f64>,
) -> Option<(f64, Standing, &'a Sight)> {
    let mut found: Option<(f64, Standing, &Sight)> = None;
    let rank = |s: Standing| match s {
        Standing::Fits => 0,
        Standing::Unknown => 1,
        Standing::Part => 2,
        Standing::Against => 3,
    };
    for sight in &moment.sights {
        let Some(today) = value(sight) else { continue };
        let mut standing = Standing::of(limit, today);
        if sight.kind.probability_percent().is_some() && !first_flight && standing == Standing::Against {
            standing = Standing::Part;
        }
        let worse = found.as_ref().is_none_or(|(before, was, _)| {
            let further = if limit.key.more_is_worse() { today > *before } else { today < *before };
            rank(standing) > rank(*was) || rank(standing) == rank(*was) && further
        });
        if worse {
            found = Some((today, standing, sight));
        }
    }
    found
}

/// What a limit of a number says, where the day asks for it.
fn number_of(limit: &Limit, moment: &Moment, prediction: &Prediction, first: bool) -> Option<Reason> {
    let wind = |f: &dyn Fn(&Blowing) -> f64| {
        worst(moment, limit, first, |s| s.blowing().map(|b| f(&b))).map(|(v, s, by)| (v, s, by.told_by()))
    };
    let estimated = |moment: &Moment| moment.sights.iter().any(|s| s.blowing().is_some_and(|b| b.estimated));
    let mut note = String::new();
    let found = match limit.key {
        Key::Wind => wind(&|b| b.mean_m_s),
        Key::Return => {
            let cruise = prediction.speeds.cruise_m_s.value;
            wind(&|b| cruise - at_height(b.mean_m_s, REPORT_HEIGHT_M, FLIGHT_HEIGHT_M))
        }
        Key::GustSpread => {
            if estimated(moment) {
                note = format!(
                    " Nobody told the gusts: they are taken as {} times the mean",
                    number::plain(super::USUAL_GUST_FACTOR)
                );
            }
            wind(&|b| b.gust_m_s - b.mean_m_s)
        }
        Key::Shear => wind(&|b| {
            at_height(b.mean_m_s, REPORT_HEIGHT_M, 20.0) - at_height(b.mean_m_s, REPORT_HEIGHT_M, 2.0)
        }),
        Key::Turbulence => {
            let own = prediction.control.roll_rate_rad_s.as_ref().ok()?.value;
            let span = prediction.geometry.span_m;
            wind(&|b| {
                rolling_rad_s(span, b.mean_m_s, b.gust_m_s).map_or(f64::NAN, |rolling| 100.0 * rolling / own)
            })
        }
        Key::CrossWind => {
            let heading = moment.heading_deg?;
            // From anywhere: all of it may stand across.
            wind(&|b| {
                b.from_deg.map_or(b.gust_m_s, |from| {
                    parts(b.gust_m_s, from * RAD_PER_DEG, heading * RAD_PER_DEG).right_m_s.abs()
                })
            })
        }
        Key::Visibility => worst(moment, limit, first, |s| s.conditions.visibility.map(|v| v.worst_m()))
            .map(|(v, s, by)| (v, s, by.told_by())),
        Key::CloudBase => return Some(cloud(limit, moment, first)),
        Key::Coldest | Key::Hottest => {
            let found = worst(moment, limit, first, |s| s.temperature_k.map(|k| k - ZERO_CELSIUS_K))
                .map(|(v, s, by)| (v, s, by.told_by()));
            // One line for an unknown temperature is enough.
            if found.is_none() && limit.key == Key::Hottest {
                return None;
            }
            found
        }
        Key::Daylight => return Some(daylight(limit, moment)),
        Key::LaunchOdds => return launch(limit, moment, first),
    };
    Some(match found {
        Some((today, standing, source)) => held(limit, today, standing, &source, &note),
        None => missing(limit),
    })
}

fn held(limit: &Limit, today: f64, standing: Standing, source: &str, note: &str) -> Reason {
    let key = limit.key;
    let (than, bound) = match (standing, key.more_is_worse()) {
        (Standing::Against, true) => ("more than the", limit.most),
        (Standing::Against, false) => ("less than the", limit.most),
        (Standing::Part, true) => ("more than the", limit.good),
        (Standing::Part, false) => ("less than the", limit.good),
        (_, true) => ("within the", limit.good),
        (_, false) => ("at least the", limit.good),
    };
    let told = if today.is_nan() { "unknown".to_owned() } else { key.told(today) };
    let kind = if standing == Standing::Part { "for everything" } else { "allowed" };
    let remains = if standing == Standing::Part {
        let way = if key.more_is_worse() { "Up to" } else { "Down to" };
        format!(" {way} {}: {}.", key.told(limit.most), limit.between)
    } else {
        String::new()
    };
    let loosened = limit
        .loosened_from
        .map_or(String::new(), |was| format!(" The builder loosened this limit from {}.", key.told(was)));
    let text = number::sentence(&format!("{} {told}, {than} {} {kind}", key.what(), key.told(bound)));
    let note = if note.is_empty() { String::new() } else { format!("{note}.") };
    Reason {
        key: key.word().to_owned(),
        standing,
        today: today.is_finite().then_some(today),
        limit: Some(bound),
        unit: key.unit(),
        text: format!("{text}{note}{remains}{loosened}"),
        from: format!("{}: {}", limit.from.words(), limit.why),
        source: source.to_owned(),
        spoils_measuring: key.spoils_measuring(),
    }
}

/// A number that nobody told: without a wind there is no flight, without the others no whole one.
fn missing(limit: &Limit) -> Reason {
    let what_to_do = match limit.key {
        Key::Wind => "measure it at the field: --wind and --gust, or give a METAR",
        Key::Visibility => "look: --visibility-m, or --sky good if all is clear to see",
        Key::Coldest => "--temperature-c",
        Key::CloudBase => "look: --cloud-base-m, or --sky good",
        Key::Daylight => "--lat and --lon",
        _ => "give the wind",
    };
    Reason {
        key: limit.key.word().to_owned(),
        standing: Standing::Unknown,
        today: None,
        limit: Some(limit.good),
        unit: limit.key.unit(),
        text: format!(
            "{} ({what_to_do}).",
            number::sentence(&format!("{}: unknown", limit.key.what())).trim_end_matches('.')
        ),
        from: format!("{}: {}", limit.from.words(), limit.why),
        source: String::new(),
        spoils_measuring: limit.key.spoils_measuring(),
    }
}

/// The odds of the launch: as they were told, or the worst that was simulated into the wind of any source.
fn launch(limit: &Limit, moment: &Moment, first: bool) -> Option<Reason> {
    if let Some(odds) = moment.odds {
        let low = 100.0 * odds.low;
        return Some(held(limit, low, Standing::of(limit, low), "command line", ""));
    }
    let computed = |s: &Sight| match &s.launch {
        Launch::Computed(odds) => Some(100.0 * odds.low),
        _ => None,
    };
    let refused = moment.sights.iter().find_map(|s| match &s.launch {
        Launch::Refused(why) => Some(why),
        _ => None,
    });
    match (worst(moment, limit, first, computed), refused) {
        // What stands against it does so whatever could not be computed.
        (Some((low, standing, by)), why) if why.is_none() || standing == Standing::Against => {
            let note = match &by.launch {
                Launch::Computed(odds) => format!(" {}", simulated(odds)),
                _ => String::new(),
            };
            let source = format!("simulated launches into the wind of {}", by.told_by());
            Some(held(limit, low, standing, &source, &note))
        }
        (_, Some(why)) => Some(Reason {
            text: number::sentence(&format!(
                "{}: unknown, for they could not be computed: {why}",
                limit.key.what()
            )),
            ..missing(limit)
        }),
        _ => None,
    }
}

/// Simulated launches in words, without a stop.
fn simulated(odds: &Computed) -> String {
    let percent = |share: f64| number::fixed(100.0 * share, 1);
    let driver =
        odds.driver.as_ref().map_or(String::new(), |d| format!("; the failures go with the {d} most"));
    let which = number::sentence(&odds.which);
    format!(
        "{}: {}\u{a0}% of {} simulated launches are clean ({} to {}\u{a0}% with 95\u{a0}% confidence){driver}",
        which.trim_end_matches('.'),
        percent(odds.clean),
        odds.runs,
        percent(odds.low),
        percent(odds.high),
    )
}

fn cloud(limit: &Limit, moment: &Moment, first: bool) -> Reason {
    // A sky that was told free of cloud has its base beyond any.
    let base = |s: &Sight| {
        if !s.conditions.unread.is_empty() {
            return None;
        }
        s.conditions.lowest_cloud_m().map(|base| base.unwrap_or(f64::INFINITY))
    };
    let unknown = moment.sights.is_empty() || moment.sights.iter().any(|s| base(s).is_none());
    match worst(moment, limit, first, base) {
        Some((_, Standing::Fits, _)) | None if unknown => missing(limit),
        Some((today, standing, by)) if today.is_finite() => held(limit, today, standing, &by.told_by(), ""),
        Some((_, _, by)) => Reason {
            text: "No cloud of significance.".to_owned(),
            source: by.told_by(),
            standing: Standing::Fits,
            ..missing(limit)
        },
        None => missing(limit),
    }
}

fn daylight(limit: &Limit, moment: &Moment) -> Reason {
    let Some(light) = moment.light else {
        return missing(limit);
    };
    let told = |text: String, standing: Standing| Reason {
        text,
        standing,
        source: "sun".to_owned(),
        ..missing(limit)
    };
    match (light.sunrise, light.sunset) {
        (Some(rise), _) if moment.from < rise => {
            told(format!("Before sunrise at {}.", moment.zone.clock(rise)), Standing::Against)
        }
        (_, Some(set)) => {
            let left = set.since_s(moment.to) as f64 / 60.0;
            let mut reason = held(limit, left, Standing::of(limit, left), "sun", "");
            if left <= 0.0 {
                reason.text = format!("After sunset at {}.", moment.zone.clock(set));
            }
            reason
        }
        _ if light.noon_height_deg > 0.0 => told("The sun does not set this day.".to_owned(), Standing::Fits),
        _ => told("The sun does not rise this day.".to_owned(), Standing::Against),
    }
}

/// Weather that has no number: what falls, thunderstorms, towering cloud, shear, a launch with the wind behind.
fn weather(moment: &Moment, first: bool) -> Vec<Reason> {
    let mut out = Vec::new();
    let practice = "common practice";
    if moment.sights.is_empty() {
        out.push(word(
            "weather",
            Standing::Unknown,
            "precipitation and thunderstorms: unknown (look: --weather, or --sky good)".to_owned(),
            "",
            practice,
        ));
    }
    for sight in &moment.sights {
        let by = sight.told_by();
        let unlikely = sight.kind.probability_percent().is_some() && !first;
        let c = &sight.conditions;
        let mut put = |key: &str, standing: Standing, text: String| {
            let standing = if unlikely && standing == Standing::Against && key != "thunderstorm" {
                Standing::Part
            } else {
                standing
            };
            let reason = word(key, standing, text, &by, practice);
            // The same weather told by two sources counts once.
            if !out.iter().any(|r: &Reason| r.key == reason.key && r.text == reason.text) {
                out.push(reason);
            }
        };
        if let unread = c.unread.as_slice()
            && !unread.is_empty()
        {
            put(
                "unread",
                Standing::Unknown,
                format!(
                    "\u{201c}{}\u{201d} could not be read: what it told of weather, cloud or wind is unknown",
                    unread.join(" ")
                ),
            );
        }
        match c.phenomena.as_deref() {
            None => put(
                "weather",
                Standing::Unknown,
                "precipitation and thunderstorms: unknown (look: --weather, or --sky good)".to_owned(),
            ),
            Some(all) => {
                for p in all {
                    let words = format!("{} ({})", p.words(), p.code);
                    if p.thunders() {
                        put(
                            "thunderstorm",
                            Standing::Against,
                            format!("{words}: no flight near a thunderstorm, and nobody on an open field"),
                        );
                    } else if p.storms() {
                        put("thunderstorm", Standing::Against, format!("{words}: no model bears such wind"));
                    } else if p.freezes() && p.falls() {
                        put(
                            "precipitation",
                            Standing::Against,
                            format!("{words}: ice on wings and propeller"),
                        );
                    } else if p.falls() && p.vicinity {
                        put(
                            "precipitation",
                            Standing::Part,
                            format!("{words}: stay near the landing and look upwind"),
                        );
                    } else if p.falls() {
                        let light = p.intensity == sky::weather::phenomena::Intensity::Light
                            && p.descriptor.is_none()
                            && !first;
                        let (standing, why) = if light {
                            (
                                Standing::Part,
                                "only with electronics that are closed against wet; what measures waits",
                            )
                        } else {
                            (
                                Standing::Against,
                                "wet electronics, wings that no longer fly as predicted, and a pilot who does not see",
                            )
                        };
                        put("precipitation", standing, format!("{words}: {why}"));
                    }
                }
            }
        }
        for cloud in c.clouds.iter().flatten() {
            match cloud.tower {
                Some(Tower::Cumulonimbus) => put(
                    "thunderstorm",
                    Standing::Against,
                    "cumulonimbus: gusts run far ahead of a shower or thunderstorm".to_owned(),
                ),
                Some(Tower::ToweringCumulus) => put(
                    "towering_cloud",
                    if first { Standing::Against } else { Standing::Part },
                    "towering cumulus: gusts and a shower may follow soon; land when it comes near"
                        .to_owned(),
                ),
                None => {}
            }
        }
        match &c.shear {
            None => {}
            Some(Shear::Runway { which }) => {
                put("shear", Standing::Against, format!("wind shear was reported near the ground ({which})"))
            }
            Some(Shear::AtHeight { height_m, speed_m_s, .. }) => put(
                "shear",
                if first { Standing::Against } else { Standing::Part },
                format!(
                    "wind shear is forecast: {} at {}",
                    number::exact((speed_m_s * 10.0).round() / 10.0, "m/s"),
                    number::exact(height_m.round(), "m")
                ),
            ),
        }
        if let (Some(heading), Some(blowing)) = (moment.heading_deg, sight.blowing())
            && let Some(from) = blowing.from_deg
        {
            let behind = -parts(blowing.mean_m_s, from * RAD_PER_DEG, heading * RAD_PER_DEG).head_m_s;
            // Half a meter a second is within what a wind sock shows.
            if behind > 0.5 {
                put(
                    "launch_direction",
                    if behind > 2.0 { Standing::Against } else { Standing::Part },
                    format!(
                        "the wind is behind a launch on {:03.0}°, by {}: launch the other way",
                        heading.rem_euclid(360.0),
                        number::exact((behind * 10.0).round() / 10.0, "m/s")
                    ),
                );
            }
        }
    }
    out
}

/// What the reasons come to for the flight as a whole, before the single points are looked at.
#[must_use]
pub fn verdict(reasons: &[Reason]) -> Verdict {
    let wind_unknown = reasons.iter().any(|r| r.key == Key::Wind.word() && r.standing == Standing::Unknown);
    if wind_unknown || reasons.iter().any(|r| r.standing == Standing::Against) {
        Verdict::NoGo
    } else if reasons.iter().any(|r| r.standing != Standing::Fits) {
        Verdict::Part
    } else {
        Verdict::Go
    }
}
