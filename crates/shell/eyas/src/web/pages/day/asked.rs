//! What is told of the day? The form, and what it says.

use maud::{Markup, html};
use plan::day::limits::Key;

use crate::tasks::forecast::Air;
use crate::tasks::today::Told;
use crate::web::controls::{Control, Takes, Wrong, control, in_words, of_a_picker};
use crate::web::fields::Fields;
use crate::web::shell::{Step, word};

const fn one(
    name: &'static str,
    label: &'static str,
    unit: &'static str,
    hint: &'static str,
    takes: Takes,
) -> Control {
    Control { name, label, unit, hint, takes }
}

/// Every field but the limits, in the order of the form.
pub(crate) const CONTROLS: [Control; 18] = [
    one(
        "metar",
        "Weather report",
        "",
        "METAR or SPECI of the nearest station, as it is sent. A forecast pasted behind it is taken as such.",
        Takes::Lines,
    ),
    one("taf", "Forecast", "", "TAF of the nearest station.", Takes::Lines),
    one("wind", "Mean wind", "m/s", "The anemometer's mean over a minute or more.", Takes::Number),
    one("gust", "Strongest gust", "m/s", "The anemometer's peak.", Takes::Number),
    one("from", "Wind from", "° true", "0 is north, 90 east.", Takes::Number),
    one(
        "wind-height-m",
        "Measured at a height of",
        "m",
        "2 for an anemometer in the hand. Empty: 10, as reports tell it.",
        Takes::Number,
    ),
    one("visibility-m", "Visibility", "m", "", Takes::Number),
    one("cloud-base-m", "Base of the lowest cloud above the field", "m", "", Takes::Number),
    one("weather", "Weather", "", "As reports code it (-RA, VCTS), or none.", Takes::Words),
    one("at", "When the flight begins", "", "By the clocks named beside it. Empty: now.", Takes::Time),
    one("zone", "Clocks of", "", "Such as Europe/Madrid, or +02:00. Empty: UTC.", Takes::Words),
    one(
        "lat",
        "Latitude",
        "° north",
        "Below 0 in the south. With the longitude it tells sunrise and sunset.",
        Takes::Signed,
    ),
    one("lon", "Longitude", "° east", "Below 0 in the west.", Takes::Signed),
    one("height-m", "Height of the field above sea level", "m", "Empty: 0.", Takes::Signed),
    one(
        "heading",
        "Direction of the strip or the launch",
        "° true",
        "It tells the wind across.",
        Takes::Number,
    ),
    one("temperature-c", "Temperature", "°C", "Empty: as the report tells it.", Takes::Signed),
    one(
        "pressure-hpa",
        "Pressure at the field",
        "hPa",
        "Not reduced to sea level. Empty: from the report.",
        Takes::Number,
    ),
    one(
        "launch-odds",
        "Clean launches, low end",
        "%",
        "The low end of the interval that the page Launch gives for this wind.",
        Takes::Number,
    ),
];

/// What the form says.
pub(crate) struct Asked {
    /// The day.
    pub(crate) told: Told,
    /// What is no number.
    pub(crate) wrong: Wrong,
}

/// Name of the field of an own limit.
pub(crate) fn limit_field(key: Key) -> String {
    format!("limit.{}", key.word())
}

impl Asked {
    /// Reads the form.
    pub(crate) fn read(fields: &Fields) -> Self {
        let mut wrong = Wrong::default();
        let mut get = |name: &str| {
            let label = CONTROLS.iter().find(|c| c.name == name).map_or(name, |c| c.label);
            fields.number(name, label).unwrap_or_else(|what| {
                wrong.add(name, what);
                None
            })
        };
        let mut told = Told {
            wind: get("wind"),
            gust: get("gust"),
            from: get("from"),
            wind_height_m: get("wind-height-m"),
            visibility_m: get("visibility-m"),
            cloud_base_m: get("cloud-base-m"),
            lat: get("lat"),
            lon: get("lon"),
            heading: get("heading"),
            launch_odds: get("launch-odds"),
            air: Air {
                height_m: get("height-m"),
                temperature_c: get("temperature-c"),
                pressure_hpa: get("pressure-hpa"),
            },
            sky: fields.text("sky").filter(|word| *word == "good").map(str::to_owned),
            weather: fields.text("weather").map(str::to_owned),
            at: fields
                .text("at")
                .map(|at| if fields.text("zone").is_some() { at.to_owned() } else { utc(at) }),
            zone: Some(fields.text("zone").unwrap_or("UTC").to_owned()),
            ..Told::default()
        };
        let (metar, taf) = parted(fields.text("metar").unwrap_or_default());
        told.metar = metar;
        told.taf = fields.text("taf").map(one_line).or(taf);
        for (key, _, _, _, what) in Key::ALL {
            let field = limit_field(key);
            match fields.number(&field, what) {
                Ok(Some(value)) => told.limit.push((key, value)),
                Ok(None) => {}
                Err(what) => wrong.add(&field, what),
            }
        }
        Self { told, wrong }
    }
}

/// A time from a picker is meant in UTC where no clocks are named; one with an offset says so itself.
fn utc(typed: &str) -> String {
    if of_a_picker(typed) { format!("{typed}Z") } else { typed.to_owned() }
}

fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A report and the forecast pasted behind it, or before it.
fn parted(text: &str) -> (Option<String>, Option<String>) {
    let words: Vec<&str> = text.split_whitespace().collect();
    let joined = |words: &[&str]| (!words.is_empty()).then(|| words.join(" "));
    let is = |word: &str, of: &str| word.eq_ignore_ascii_case(of);
    let Some(taf) = words.iter().position(|w| is(w, "TAF")) else { return (joined(&words), None) };
    let (before, behind) = words.split_at(taf);
    match behind.iter().position(|w| is(w, "METAR") || is(w, "SPECI")) {
        Some(report) if before.is_empty() => {
            let (forecast, report) = behind.split_at(report);
            (joined(report), joined(forecast))
        }
        _ => (joined(before), joined(behind)),
    }
}

/// The form; its address is the day.
pub(super) fn form(name: &str, fields: &Fields, wrong: &Wrong) -> Markup {
    let shown = |names: &[&str]| {
        html! {
            @for c in CONTROLS.iter().filter(|c| names.contains(&c.name)) { (control(c, fields, "", wrong)) }
        }
    };
    html! {
        form.wide id="told" method="get" action=(Step::Day.path(name)) {
            fieldset {
                legend { "Reported and forecast" }
                (shown(&["metar", "taf"]))
                p.hint { "These pages ask no service: paste the text as a station sends it." }
                div.hint { (word("METAR", "A report of the weather at an airfield, in code; it holds for about an hour.")) " "
                    (word("TAF", "A forecast for an airfield, in the same code, for nine to thirty hours.")) }
            }
            fieldset {
                legend { "Measured at the field" }
                div.fields { (shown(&["wind", "gust", "from", "wind-height-m", "temperature-c"])) }
            }
            fieldset {
                legend { "Seen at the field" }
                label.tick { input type="checkbox" name="sky" value="good" checked[fields.text("sky") == Some("good")];
                    "Good: farther than 10 km, no cloud below 1500 m, dry, no thunder" }
                div.fields { (shown(&["visibility-m", "cloud-base-m", "weather"])) }
            }
            fieldset {
                legend { "When and where" }
                div.fields { (shown(&["at", "zone"])) }
                div.fields { (shown(&["lat", "lon", "height-m", "heading"])) }
            }
            details open[["pressure-hpa", "launch-odds"].iter().any(|n| fields.text(n).is_some() || wrong.at(n).next().is_some())] {
                summary { "The air, and the launch" }
                div.fields { (shown(&["pressure-hpa", "launch-odds"])) }
            }
            div.buttons { button { "Judge the day" } }
        }
    }
}

/// A text of the plan or of the lists, which tells a terminal's user what to type, with the fields and pages that stand for
/// that.
pub(crate) fn plainly(text: &str) -> String {
    let text = text
        .replace("--sky good", "\u{201c}Good\u{201d} under what is seen")
        .replace("eyas launch tells it", "the page Launch tells it")
        .replace("record each with eyas ready --set ITEM=VALUE", "record each on the page Ready")
        .replace("record it anew with eyas ready", "record it anew on the page Ready")
        .replace("made again with --wind and --gust", "made again with it");
    if text.contains("--") {
        in_words(&format!("\u{200b}{text}"), &CONTROLS).0.trim_start_matches('\u{200b}').to_owned()
    } else {
        text
    }
}

/// What was told, in short: name and value of each field.
pub(crate) fn in_short(fields: &Fields) -> Vec<(String, String)> {
    let mut out: Vec<(String, String)> = CONTROLS
        .iter()
        .filter_map(|c| {
            let value = one_line(fields.text(c.name)?);
            let gap = if c.unit.starts_with('°') && c.unit != "°C" { "" } else { "\u{a0}" };
            Some((
                c.label.to_owned(),
                if c.unit.is_empty() { value } else { format!("{value}{gap}{}", c.unit) },
            ))
        })
        .collect();
    if fields.text("sky") == Some("good") {
        out.push(("Seen".to_owned(), "good".to_owned()));
    }
    for (key, _, unit, _, what) in Key::ALL {
        if let Some(value) = fields.text(&limit_field(key)) {
            out.push((format!("Own limit of {what}"), format!("{value} {unit}")));
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_forecast_pasted_with_the_report_is_told_apart() {
        let report = "METAR EDXX 211220Z 24005KT";
        let forecast = "TAF EDXX 211100Z 2112/2121";
        for (typed, metar, taf) in [
            (report.to_owned(), Some(report), None),
            (format!("{report}=\n{forecast}"), Some("METAR EDXX 211220Z 24005KT="), Some(forecast)),
            (format!("{forecast}\n\n{report}"), Some(report), Some(forecast)),
            (forecast.to_owned(), None, Some(forecast)),
            (String::new(), None, None),
        ] {
            let (m, t) = parted(&typed);
            assert_eq!((m.as_deref(), t.as_deref()), (metar, taf), "{typed}");
        }
    }

    #[test]
    fn what_a_terminal_would_be_told_is_told_in_the_pages_own_words() {
        assert_eq!(
            plainly("mean wind: unknown (measure it at the field: --wind and --gust, or give a METAR)"),
            "mean wind: unknown (measure it at the field: \u{201c}Mean wind\u{201d} and \u{201c}Strongest gust\u{201d}, or give a METAR)"
        );
        assert_eq!(
            plainly("look: --cloud-base-m, or --sky good"),
            "look: \u{201c}Base of the lowest cloud above the field\u{201d}, or \u{201c}Good\u{201d} under what is seen"
        );
        assert_eq!(plainly("nothing of it"), "nothing of it");
    }

    #[test]
    fn every_field_reaches_the_task() {
        let fields = Fields::read(
            "wind=1&gust=2&from=3&wind-height-m=4&visibility-m=5&cloud-base-m=6&weather=-RA&at=2026-06-21T13:00&zone=Europe/Berlin&lat=7&lon=8&\
             height-m=9&heading=10&temperature-c=-11&pressure-hpa=12&launch-odds=13&sky=good&taf=TAF+X&metar=METAR+Y&limit.shear_m_s=2%2C5",
        );
        let Asked { told, wrong } = Asked::read(&fields);
        assert!(wrong.is_empty());
        let numbers = [
            told.wind,
            told.gust,
            told.from,
            told.wind_height_m,
            told.visibility_m,
            told.cloud_base_m,
            told.lat,
            told.lon,
            told.air.height_m,
            told.heading,
            told.air.temperature_c,
            told.air.pressure_hpa,
            told.launch_odds,
        ];
        let expected = [1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0, -11.0, 12.0, 13.0].map(Some);
        assert_eq!(numbers, expected);
        assert_eq!((told.weather.as_deref(), told.sky.as_deref()), (Some("-RA"), Some("good")));
        assert_eq!((told.metar.as_deref(), told.taf.as_deref()), (Some("METAR Y"), Some("TAF X")));
        assert_eq!(told.limit, vec![(Key::Shear, 2.5)]);
        assert_eq!(
            (told.at.as_deref(), told.zone.as_deref()),
            (Some("2026-06-21T13:00"), Some("Europe/Berlin"))
        );
        // Where no clocks are named, the picker shows UTC.
        let told = Asked::read(&Fields::read("at=2026-06-21T13:00")).told;
        assert_eq!((told.at.as_deref(), told.zone.as_deref()), (Some("2026-06-21T13:00Z"), Some("UTC")));
        assert!(told.is_a_day());
        assert_eq!(in_short(&fields).len(), CONTROLS.len() + 2);
    }
}
