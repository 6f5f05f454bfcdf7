//! The document of a day judged.

use plan::day::judge::{Reason, Standing};
use plan::day::points::Day;
use plan::day::{Launch, Sight};
use serde_json::{Map, Value, json};
use sky::instant::Instant;

use super::number;
use crate::tasks::today::Today;

/// An instant as JSON writes it.
pub(crate) fn time(at: Instant) -> Value {
    let c = at.calendar();
    json!(format!("{:04}-{:02}-{:02}T{:02}:{:02}:{:02}Z", c.year, c.month, c.day, c.hour, c.minute, c.second))
}

/// The day as a document.
pub(crate) fn document(name: &str, today: &Today) -> Value {
    let day = &today.day;
    json!({
        "aircraft": name,
        "at": time(day.at),
        "at_local": today.zone.date_and_clock(day.at),
        "zone": today.zone.name(),
        "verdict": day.verdict.word(),
        "launch": launches(today),
        "first_flight": day.first_flight,
        "reasons": day.against().map(reason).collect::<Vec<_>>(),
        "met": day.reasons.iter().filter(|r| r.standing == Standing::Fits).map(reason).collect::<Vec<_>>(),
        "test_points": day.points.iter().map(|p| json!({
            "id": p.id, "title": p.title, "verdict": p.verdict.word(), "reasons": p.reasons,
            "planned": p.planned, "on_ground": p.on_ground,
        })).collect::<Vec<_>>(),
        "weather": weather(today),
        "limits": limits(day),
        "hours": today.hours.iter().map(|h| json!({
            "at": time(h.at), "verdict": h.verdict.word(), "reasons": h.against().map(reason).collect::<Vec<_>>(),
        })).collect::<Vec<_>>(),
        "best": today.best.map(|b| json!({"from": time(b.from), "to": time(b.to), "verdict": b.verdict.word()})),
        "flaws": today.flaws,
    })
}

/// What a launch comes to in the wind of each source.
fn launches(today: &Today) -> Value {
    let told = |s: &Sight| match &s.launch {
        Launch::NotComputed => None,
        Launch::Refused(why) => Some(json!({"source": s.told_by(), "refused": why})),
        Launch::Computed(c) => Some(json!({
            "source": s.told_by(), "which": c.which, "runs": c.runs, "clean_percent": number(100.0 * c.clean),
            "low_percent": number(100.0 * c.low), "high_percent": number(100.0 * c.high), "driver": c.driver,
        })),
    };
    today.moment.sights.iter().filter_map(told).collect()
}

/// One reason: numbers under a key that ends in their unit.
fn reason(r: &Reason) -> Value {
    let with_unit = |value: Option<f64>| match value {
        Some(v) => {
            let mut one = Map::new();
            one.insert(r.key.clone(), number(v));
            Value::Object(one)
        }
        None => Value::Null,
    };
    json!({
        "key": r.key, "verdict": r.standing.word(), "text": r.text, "today": with_unit(r.today),
        "limit": with_unit(r.limit), "limit_from": r.from, "source": r.source,
    })
}

fn limits(day: &Day) -> Value {
    day.limits
        .iter()
        .map(|l| {
            json!({
                "key": l.key.word(), "good": number(l.good), "most": number(l.most), "unit": l.key.unit(),
                "from": l.from.words(), "why": l.why, "loosened_from": l.loosened_from.map(number),
            })
        })
        .collect()
}

fn weather(today: &Today) -> Value {
    let n = &today.numbers;
    let or_null = |value: Option<f64>| value.map_or(Value::Null, number);
    let first = today.moment.sights.first();
    let wind = first.and_then(plan::day::Sight::blowing);
    let c = first.map(|s| &s.conditions);
    let light = today.moment.light;
    let event = |at: Option<Instant>| at.map_or(Value::Null, time);
    json!({
        "wind_m_s": or_null(wind.map(|w| w.mean_m_s)),
        "gust_m_s": or_null(wind.map(|w| w.gust_m_s)),
        "gust_estimated": wind.is_some_and(|w| w.estimated),
        "from_deg": or_null(wind.and_then(|w| w.from_deg)),
        "head_wind_m_s": or_null(n.launch.map(|l| l.head_m_s)),
        "cross_wind_m_s": or_null(n.launch.map(|l| l.right_m_s)),
        "visibility_m": or_null(c.and_then(|c| c.visibility).map(|v| v.worst_m())),
        "ceiling_m": or_null(c.and_then(sky::weather::Conditions::ceiling_m).flatten()),
        "cloud_base_m": or_null(c.and_then(sky::weather::Conditions::lowest_cloud_m).flatten()),
        "phenomena": c.and_then(|c| c.phenomena.as_ref()).map(|all| all.iter().map(|p| p.code.clone()).collect::<Vec<_>>()),
        "temperature_c": or_null(n.temperature_k.map(|k| k - 273.15)),
        "dew_point_c": or_null(n.dew_point_k.map(|k| k - 273.15)),
        "sea_level_pressure_pa": or_null(n.sea_level_pressure_pa),
        "pressure_pa": or_null(n.pressure_pa),
        "density_kg_m3": or_null(n.density_kg_m3),
        "density_altitude_m": or_null(n.density_altitude_m),
        "light": light.map(|l| json!({
            "dawn": event(l.dawn), "sunrise": event(l.sunrise), "noon": time(l.noon), "sunset": event(l.sunset),
            "dusk": event(l.dusk),
        })),
        "sources": today.lines,
    })
}
