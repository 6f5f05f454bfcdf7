//! What is known of the day? Reports, forecasts and what was measured or seen at the field, made one; and what the aircraft
//! makes of it.

use clap::Args;
use numerics::units::RAD_PER_DEG;
use plan::catalogue::Catalogue;
use plan::day::hours::{Stretch, best};
use plan::day::limits::{From, Key, Own, of_file};
use plan::day::points::{Day, Judged};
use plan::day::{FRESH_S, Launch, LaunchOdds, Moment, REPORT_HEIGHT_M, Sight, at_height};
use predict::prediction::Prediction;
use sky::atmosphere::{self, ZERO_CELSIUS_K};
use sky::course::{Parts, parts};
use sky::daylight::{Place, daylight};
use sky::instant::Instant;
use sky::metar::Metar;
use sky::taf::{Kind, Taf};
use sky::weather::phenomena::Phenomena;
use sky::weather::{Amount, Bound, Cloud, Conditions, Visibility, Wind};
use sky::zone::Zone;

use crate::cli::{Common, decimal, now_ms};
use crate::tasks::fetch::Fetched;
use crate::tasks::forecast::{Air, forecast};
use crate::tasks::{odds, readiness, round, zone};
use crate::tell::{Kind as TroubleKind, Trouble};

/// How long a flight is taken to last, s: a whole card and its landing.
const FLIGHT_S: i64 = 1200;
/// How far ahead of its time a report may be used, s: it was written a little before the hour that it stands for.
const AHEAD_S: i64 = 3600;

/// The day, as told on the command line.
#[derive(Debug, Clone, Default, Args)]
pub(crate) struct Told {
    /// Weather report of the nearest station (METAR or SPECI), as text in quotes
    #[arg(long, value_name = "TEXT")]
    pub(crate) metar: Option<String>,
    /// Forecast of the nearest station (TAF), as text in quotes
    #[arg(long, value_name = "TEXT")]
    pub(crate) taf: Option<String>,
    /// Mean wind, m/s (read off an anemometer over a minute or more)
    #[arg(long, value_name = "M_S", value_parser = decimal, allow_hyphen_values = true)]
    pub(crate) wind: Option<f64>,
    /// Strongest gust, m/s (the anemometer's peak)
    #[arg(long, value_name = "M_S", value_parser = decimal, allow_hyphen_values = true)]
    pub(crate) gust: Option<f64>,
    /// Where the wind blows from, degrees true
    #[arg(long, value_name = "DEG", value_parser = decimal, allow_hyphen_values = true)]
    pub(crate) from: Option<f64>,
    /// Height at which the wind was measured, m: 2 for an anemometer in the hand [default: 10, as reports tell it]
    #[arg(long, value_name = "M", value_parser = decimal, allow_hyphen_values = true)]
    pub(crate) wind_height_m: Option<f64>,
    /// What you see: good = beyond 10 km, no cloud below 1500 m, dry, no thunder
    #[arg(long, value_name = "WORD", value_parser = ["good"])]
    pub(crate) sky: Option<String>,
    /// Visibility, m
    #[arg(long, value_name = "M", value_parser = decimal, allow_hyphen_values = true)]
    pub(crate) visibility_m: Option<f64>,
    /// Base of the lowest cloud above the field, m
    #[arg(long, value_name = "M", value_parser = decimal, allow_hyphen_values = true)]
    pub(crate) cloud_base_m: Option<f64>,
    /// Weather as reports code it ("-RA", "VCTS"), or none
    #[arg(long, value_name = "CODES", allow_hyphen_values = true)]
    pub(crate) weather: Option<String>,
    /// When the flight begins: 2026-06-21T14:00Z, or 2026-06-21T16:00 by the clocks of --zone [default: now]
    #[arg(long, value_name = "TIME")]
    pub(crate) at: Option<String>,
    /// Time zone of the field: Europe/Madrid, +02:00, UTC [default: that of this computer]
    #[arg(long, value_name = "NAME", allow_hyphen_values = true)]
    pub(crate) zone: Option<String>,
    /// Latitude of the field, degrees north
    #[arg(long, value_name = "DEG", value_parser = decimal, allow_hyphen_values = true)]
    pub(crate) lat: Option<f64>,
    /// Longitude of the field, degrees east
    #[arg(long, value_name = "DEG", value_parser = decimal, allow_hyphen_values = true)]
    pub(crate) lon: Option<f64>,
    /// Direction of the strip or the launch, degrees true
    #[arg(long, value_name = "DEG", value_parser = decimal, allow_hyphen_values = true)]
    pub(crate) heading: Option<f64>,
    /// Low end of the odds of a clean launch, per cent, in place of those that are computed here
    #[arg(long, value_name = "PERCENT", value_parser = decimal, allow_hyphen_values = true)]
    pub(crate) launch_odds: Option<f64>,
    /// Your own limit in place of the derived one, e.g. wind_m_s=4; loosening one is told on the card
    #[arg(long, value_name = "KEY=VALUE", value_parser = own_limit)]
    pub(crate) limit: Vec<(Key, f64)>,
    #[command(flatten)]
    pub(crate) air: Air,
}

fn own_limit(typed: &str) -> Result<(Key, f64), String> {
    let known = || Key::ALL.iter().map(|(_, word, ..)| *word).collect::<Vec<_>>().join(", ");
    let (key, value) =
        typed.split_once('=').ok_or_else(|| format!("write KEY=VALUE; the keys are {}", known()))?;
    let key =
        Key::of(key.trim()).ok_or_else(|| format!("no limit has that key; the keys are {}", known()))?;
    Ok((key, decimal(value)?))
}

impl Told {
    /// Whether more was told than the wind: then the day is judged.
    pub(crate) fn is_a_day(&self) -> bool {
        self.metar.is_some()
            || self.taf.is_some()
            || self.at.is_some()
            || self.lat.is_some()
            || self.lon.is_some()
            || self.heading.is_some()
            || self.sky.is_some()
            || self.visibility_m.is_some()
            || self.cloud_base_m.is_some()
            || self.weather.is_some()
            || self.wind_height_m.is_some()
            || self.launch_odds.is_some()
            || !self.limit.is_empty()
    }
}

/// A day read and judged.
pub(crate) struct Today {
    /// The time of the flight judged.
    pub(crate) day: Day,
    /// What it was judged by.
    pub(crate) moment: Moment,
    /// Hour by hour through the forecast.
    pub(crate) hours: Vec<Day>,
    /// The best of them.
    pub(crate) best: Option<Stretch>,
    /// What the sources say, a line each.
    pub(crate) lines: Vec<String>,
    /// Groups of report and forecast that were not taken, and sources that do not hold for the time.
    pub(crate) flaws: Vec<String>,
    /// Numbers of the air.
    pub(crate) numbers: Numbers,
    /// The predictions in this air.
    pub(crate) prediction: Prediction,
    /// The clocks of the place.
    pub(crate) zone: Zone,
}

/// Numbers of the air, where they are known.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Numbers {
    pub(crate) temperature_k: Option<f64>,
    pub(crate) dew_point_k: Option<f64>,
    pub(crate) sea_level_pressure_pa: Option<f64>,
    pub(crate) pressure_pa: Option<f64>,
    pub(crate) density_kg_m3: Option<f64>,
    pub(crate) density_altitude_m: Option<f64>,
    pub(crate) launch: Option<Parts>,
}

fn trouble(causes: Vec<String>, remedy: &str) -> Trouble {
    Trouble::many(TroubleKind::Input, "the day cannot be used as it was told", causes, remedy)
}

/// Reads what was told.
struct Sources {
    at: Instant,
    metar: Option<Metar>,
    taf: Option<Taf>,
    seen: Conditions,
    place: Option<Place>,
    zone: Zone,
}

/// When it is, and what the clocks there show.
fn when(told: &Told) -> Result<(Instant, Zone), String> {
    let zone = zone::find(told.zone.as_deref())?;
    let at = match told.at.as_deref() {
        None => Instant::from_unix_s(now_ms().div_euclid(1000)),
        Some(at) => zone::instant(at, &zone).ok_or_else(|| {
            format!("--at {at} is no time: write 2026-06-21T14:00Z, 2026-06-21T16:00+02:00, or without an offset the time of --zone")
        })?,
    };
    Ok((at, zone::clocks(&zone, at)))
}

fn sources(told: &Told) -> Result<Sources, Trouble> {
    let mut causes = Vec::new();
    let mut keep = |result: Result<(), String>| {
        if let Err(cause) = result {
            causes.push(cause);
        }
    };
    let within = |name: &str, value: Option<f64>, low: f64, high: f64| match value {
        Some(v) if !(low..=high).contains(&v) => Err(format!("{name} {v} is outside {low} to {high}")),
        _ => Ok(()),
    };
    keep(within("--wind-height-m", told.wind_height_m, 1.0, 200.0));
    keep(within("--visibility-m", told.visibility_m, 0.0, 300_000.0));
    keep(within("--cloud-base-m", told.cloud_base_m, 0.0, 20_000.0));
    keep(within("--heading", told.heading, 0.0, 360.0));
    keep(within("--launch-odds", told.launch_odds, 0.0, 100.0));
    let (now, zone) = when(told).unwrap_or_else(|cause| {
        keep(Err(cause));
        (Instant::from_unix_s(0), Zone::utc())
    });
    let place = match (told.lat, told.lon) {
        (Some(lat), Some(lon)) => match Place::new(lat, lon) {
            Ok(place) => Some(place),
            Err(why) => {
                keep(Err(why.to_string()));
                None
            }
        },
        (None, None) => None,
        _ => {
            keep(Err("--lat and --lon go together".to_owned()));
            None
        }
    };
    let metar = match told.metar.as_deref().map(|text| Metar::read(text, now)) {
        Some(Err(why)) => {
            keep(Err(format!("--metar is no report: {why}")));
            None
        }
        other => other.and_then(Result::ok),
    };
    let taf = match told.taf.as_deref().map(|text| Taf::read(text, now)) {
        Some(Err(why)) => {
            keep(Err(format!("--taf is no forecast: {why}")));
            None
        }
        other => other.and_then(Result::ok),
    };
    let seen = seen(told);
    if let Err(cause) = &seen {
        keep(Err(cause.clone()));
    }
    match seen {
        Ok(seen) if causes.is_empty() => Ok(Sources { at: now, metar, taf, seen, place, zone }),
        _ => Err(trouble(causes, "mend what is named; `eyas day --help` shows every option")),
    }
}

/// What was measured and seen at the field.
fn seen(told: &Told) -> Result<Conditions, String> {
    let mut seen = Conditions::default();
    if told.sky.is_some() {
        seen.visibility = Some(Visibility { m: 10_000.0, bound: Bound::OrMore, least_m: None });
        seen.phenomena = Some(Vec::new());
        seen.clouds = Some(Vec::new());
    }
    if let Some(m) = told.visibility_m {
        seen.visibility = Some(Visibility { m, bound: Bound::Exact, least_m: None });
    }
    if let Some(m) = told.cloud_base_m {
        seen.clouds = Some(vec![Cloud { amount: Amount::Overcast, base_m: Some(m), tower: None }]);
    }
    if let Some(codes) = &told.weather {
        let codes = codes.trim().to_ascii_uppercase();
        let mut all = Vec::new();
        if codes != "NONE" {
            for code in codes.split_whitespace() {
                all.push(Phenomena::read(code).ok_or_else(|| {
                    format!("--weather {code} is no weather of the code table: -RA, +SHRA, TSRA, FG; or none")
                })?);
            }
        }
        seen.phenomena = Some(all);
    }
    if let Some(mean) = told.wind {
        let height = told.wind_height_m.unwrap_or(REPORT_HEIGHT_M);
        let at_10 = at_height(mean, height, REPORT_HEIGHT_M);
        seen.wind = Some(Wind {
            from_deg: told.from,
            mean_m_s: at_10,
            // The gusts ride on the mean; their spread hardly changes with height.
            gust_m_s: told.gust.map(|gust| at_10 + gust - mean),
            sector_deg: None,
        });
    }
    Ok(seen)
}

/// Reads the day and judges it for an aircraft.
pub(crate) fn today(fetched: &Fetched, told: &Told, common: &Common) -> Result<Today, Trouble> {
    // The wind's own numbers are checked where they always were.
    round::weather(told.wind, told.gust, told.from)?;
    let sources = sources(told)?;
    let mut flaws = Vec::new();
    let (air, numbers) = air(told, &sources, &mut flaws)?;
    let prediction = forecast(&fetched.aircraft, &air)?;
    let outstanding = round::outstanding_of(fetched, common)?;
    let catalogue =
        Catalogue::built_in().map_err(|m| trouble(m.iter().map(ToString::to_string).collect(), ""))?;
    let mut own = of_file(&fetched.aircraft);
    own.extend(told.limit.iter().map(|(key, value)| (*key, (*value, From::CommandLine))).collect::<Own>());
    let grounds = readiness::grounds(fetched, &prediction, now_ms(), common)?;
    let judged = Judged::new(&catalogue, &fetched.aircraft, &prediction, &outstanding, &own);

    let end = sources.at.plus_s(FLIGHT_S);
    let now = sights(told, &sources, sources.at, end, true, &mut flaws);
    let lines = now.iter().map(|s| format!("{}: {}", s.told_by(), s.conditions.words().join("; "))).collect();
    // The flight first, then hour by hour.
    let mut spans = vec![(sources.at, end)];
    let mut seen = vec![now];
    if let Some(taf) = &sources.taf {
        let mut hour = sources.at.hour_start().max(taf.from);
        while hour < taf.to {
            let to = hour.plus_s(3600);
            let current = hour <= sources.at && sources.at < to;
            // The hour of the flight has the report too; those after it the forecast alone.
            seen.push(sights(told, &sources, hour, to, current, &mut Vec::new()));
            spans.push((hour, to));
            hour = to;
        }
    }
    seen.iter_mut().for_each(|sights| temper(sights, numbers.temperature_k));
    if told.launch_odds.is_none() {
        odds::fill(&fetched.aircraft, &prediction, told.heading, &mut seen);
    }
    let mut moments = spans.into_iter().zip(seen).map(|((from, to), sights)| Moment {
        from,
        to,
        sights,
        light: sources.place.map(|place| daylight(place, from)),
        heading_deg: told.heading,
        odds: told.launch_odds.map(|percent| LaunchOdds { low: percent / 100.0 }),
        grounds: grounds.clone(),
        zone: sources.zone.clone(),
    });
    let Some(moment) = moments.next() else {
        return Err(trouble(vec!["there is no time to judge".to_owned()], "tell when with --at"));
    };
    let day = judged.at(&moment);
    let hours: Vec<Day> = moments.map(|hour| judged.at(&hour)).collect();
    let best = best(&hours);
    flaws.dedup();
    let numbers = Numbers {
        launch: told.heading.zip(moment.sights.first().and_then(Sight::blowing)).and_then(
            |(heading, wind)| {
                wind.from_deg.map(|from| parts(wind.mean_m_s, from * RAD_PER_DEG, heading * RAD_PER_DEG))
            },
        ),
        ..numbers
    };
    Ok(Today { day, moment, hours, best, lines, flaws, numbers, prediction, zone: sources.zone })
}

/// Forecasts tell no temperature by the hour: that of now stands for them.
fn temper(sights: &mut [Sight], temperature_k: Option<f64>) {
    for sight in sights {
        sight.temperature_k = sight.temperature_k.or(temperature_k);
    }
}

/// What the sources say of a span. `with_report`: whether report and own eyes count, or the forecast alone.
fn sights(
    told: &Told,
    sources: &Sources,
    from: Instant,
    to: Instant,
    with_report: bool,
    flaws: &mut Vec<String>,
) -> Vec<Sight> {
    let mut out: Vec<Sight> = Vec::new();
    let empty = sources.seen == Conditions::default();
    let own = told.air.temperature_c.map(|c| c + ZERO_CELSIUS_K);
    if let Some(metar) = sources.metar.as_ref().filter(|_| with_report) {
        flaws.extend(metar.flaws.iter().map(|f| format!("METAR, {f}")));
        let age_s = sources.at.since_s(metar.at);
        let name = format!("METAR {} of {}", metar.station, metar.at.clock());
        if metar.missing {
            flaws.push(format!("{name} says that there is no report"));
        } else if (-AHEAD_S..=FRESH_S).contains(&age_s) {
            let base = Sight {
                source: name.clone(),
                kind: Kind::Prevailing,
                conditions: metar.conditions.with(&sources.seen),
                temperature_k: own.or(metar.temperature_k),
                launch: Launch::NotComputed,
            };
            let changes = metar.trend.iter().filter(|t| t.from < to && t.to > from);
            out.extend(changes.map(|t| Sight {
                source: name.clone(),
                kind: if t.lasting { Kind::Becoming } else { Kind::Temporary },
                conditions: base.conditions.with(&t.conditions),
                ..base.clone()
            }));
            out.insert(0, base);
        } else {
            flaws.push(format!(
                "{name} was observed {} {} the flight and does not count: reports hold for two hours",
                plan::number::duration(age_s.abs() as f64),
                if age_s > 0 { "before" } else { "after" }
            ));
        }
    }
    if let Some(taf) = &sources.taf {
        flaws.extend(taf.flaws.iter().map(|f| format!("TAF, {f}")));
        match taf.between(from, to.min(taf.to)) {
            Some(expected) => out.extend(expected.into_iter().map(|e| Sight {
                source: format!("TAF {}", taf.station),
                kind: e.kind,
                // Eyes at the field outdo what was forecast to prevail, not what may still come.
                conditions: if with_report && e.kind == Kind::Prevailing {
                    e.conditions.with(&sources.seen)
                } else {
                    e.conditions
                },
                temperature_k: own,
                launch: Launch::NotComputed,
            })),
            None => flaws.push(format!(
                "TAF {} holds from {} to {} and not at {}",
                taf.station,
                sources.zone.date_and_clock(taf.from),
                sources.zone.date_and_clock(taf.to),
                sources.zone.date_and_clock(from)
            )),
        }
    }
    if out.is_empty() && !empty && with_report {
        out.push(Sight {
            source: "measured and seen at the field".to_owned(),
            kind: Kind::Prevailing,
            conditions: sources.seen.clone(),
            temperature_k: own,
            launch: Launch::NotComputed,
        });
    }
    out
}

/// The air that predictions hold for: what the command line tells, then the report.
fn air(told: &Told, sources: &Sources, flaws: &mut Vec<String>) -> Result<(Air, Numbers), Trouble> {
    let mut air = told.air;
    let mut numbers = Numbers::default();
    let fresh = sources
        .metar
        .as_ref()
        .filter(|m| (-AHEAD_S..=FRESH_S).contains(&sources.at.since_s(m.at)) && !m.missing);
    if let Some(metar) = fresh {
        numbers.dew_point_k = metar.dew_point_k.filter(|_| told.air.temperature_c.is_none());
        numbers.sea_level_pressure_pa = metar.sea_level_pressure_pa;
        air.temperature_c = air.temperature_c.or(metar.temperature_k.map(|k| k - ZERO_CELSIUS_K));
        if let Some(pa) = metar.sea_level_pressure_pa.filter(|_| told.air.pressure_hpa.is_none()) {
            let height_m = atmosphere::geopotential_m(told.air.height_m.unwrap_or(0.0));
            air.pressure_hpa = Some(atmosphere::pressure_from_qnh_pa(pa, height_m) / 100.0);
        }
        if told.air.height_m.is_none() {
            flaws.push(
                "the height of the field was not told (--height-m): it is taken as sea level".to_owned(),
            );
        }
    }
    let conditions = air.conditions()?;
    numbers.temperature_k = conditions.temperature_k;
    numbers.pressure_pa = conditions.pressure_pa;
    if let Some(temperature_k) = conditions.temperature_k {
        let humidity =
            numbers.dew_point_k.map(|dew| atmosphere::relative_humidity(temperature_k, dew).min(1.0));
        if let Ok(found) =
            atmosphere::at(conditions.height_m, Some(temperature_k), conditions.pressure_pa, humidity)
        {
            numbers.density_kg_m3 = Some(found.density_kg_m3);
            numbers.density_altitude_m = Some(atmosphere::density_altitude_m(found.density_kg_m3));
        }
    }
    Ok((air, numbers))
}
