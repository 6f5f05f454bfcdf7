//! How does the round close? What earlier flights taught goes into the next flight's card.

use std::fmt::Write as _;

use aircraft::limits::Flown;
use aircraft::{Aircraft, Origin};
use fly::simulated::script::Script;
use fly::simulated::{Flight, NoFlight};
use motion::model::ForceModel;
use plan::card::{Card, NoCard, Weather};
use plan::catalogue::Catalogue;
use plan::evidence::{Evidence, flown};
use plan::outstanding::{History, Outstanding, outstanding};
use predict::prediction::Prediction;
use serde_json::{Value, json};

use crate::cli::words::paragraph;
use crate::cli::{Common, now_ms};
use crate::json::findings;
use crate::tasks::fetch::Fetched;
use crate::tasks::forecast::{Air, forecast};
use crate::tasks::today::Today;
use crate::tasks::{keep, readiness};
use crate::tell::{Kind, Trouble};

/// Said on a card that was made without knowing the wind.
pub(crate) const WIND_UNKNOWN: &str = "The wind was not told when this card was made, and the points were chosen as for calm air. \
     Measure it at the field before the launch; made again with --wind and --gust, the card leaves out what the day \
     does not allow.";

/// A card ready to go to the field.
pub(crate) struct Issued {
    /// What it says.
    pub(crate) card: Card,
    /// The page.
    pub(crate) html: String,
}

/// The day as told on the command line; `None` for the wind means that nobody measured it.
pub(crate) struct Day {
    weather: Weather,
    told: bool,
}

/// Checks the wind that was told.
pub(crate) fn weather(wind: Option<f64>, gust: Option<f64>, from: Option<f64>) -> Result<Day, Trouble> {
    let mut causes = Vec::new();
    for (name, value) in [("--wind", wind), ("--gust", gust)] {
        if let Some(v) = value
            && !(0.0..=60.0).contains(&v)
        {
            causes.push(format!("{name} {v} m/s is outside 0 to 60 m/s"));
        }
    }
    if let Some(v) = from
        && !(0.0..=360.0).contains(&v)
    {
        causes.push(format!("--from {v} is outside 0 to 360 degrees"));
    }
    if let (Some(w), Some(g)) = (wind, gust)
        && g < w
    {
        causes
            .push(format!("--gust {g} is below --wind {w}: the gust is the strongest wind, not its excess"));
    }
    if wind.is_none() && gust.is_some() {
        causes.push("--gust is told without --wind".into());
    }
    if !causes.is_empty() {
        return Err(Trouble::many(
            Kind::Input,
            "the weather cannot be used",
            causes,
            "check the numbers: speeds in m/s, the direction in degrees",
        ));
    }
    let mean = wind.unwrap_or(0.0);
    let weather = Weather { wind_m_s: mean, gust_m_s: gust.unwrap_or(mean), from_deg: from };
    Ok(Day { weather, told: wind.is_some() })
}

/// The next flight's card of an aircraft, from its predictions and what the hangar keeps of its flights.
pub(crate) fn card(fetched: &Fetched, day: &Day, air: &Air, common: &Common) -> Result<Issued, Trouble> {
    let prediction = forecast(&fetched.aircraft, air)?;
    let grounds = readiness::grounds(fetched, &prediction, now_ms(), common)?;
    if !grounds.is_empty() {
        return Err(Trouble::many(
            Kind::No,
            format!("no card: \"{}\" stays on the ground", fetched.aircraft.name),
            grounds,
            "mend it, close the defect, and record what was looked at again; `eyas ready` and `eyas defect list` show what is open",
        ));
    }
    let still = outstanding_of(fetched, common)?;
    let mut card =
        plan::card::build(&fetched.aircraft, &prediction, &still, &day.weather).map_err(no_card)?;
    if !day.told {
        card.cautions.insert(0, WIND_UNKNOWN.into());
    }
    let html = report::card_page::card_html(&card);
    Ok(Issued { card, html })
}

/// The next flight's card on a day that was judged.
pub(crate) fn card_for_day(fetched: &Fetched, today: &Today, common: &Common) -> Result<Issued, Trouble> {
    let still = outstanding_of(fetched, common)?;
    let mut told = today.lines.clone();
    told.extend(today.flaws.iter().map(|f| format!("To know: {f}")));
    let card = plan::card::build_for_day(&fetched.aircraft, &today.prediction, &still, &today.day, told)
        .map_err(no_card)?;
    let html = report::card_page::card_html(&card);
    Ok(Issued { card, html })
}

/// What is still to be learnt of an aircraft, from the findings that the hangar keeps.
pub(crate) fn outstanding_of(fetched: &Fetched, common: &Common) -> Result<Outstanding, Trouble> {
    let catalogue = Catalogue::built_in().map_err(|mistakes| {
        no_card(NoCard::Catalogue { mistakes: mistakes.iter().map(ToString::to_string).collect() })
    })?;
    let mut history = History::default();
    let name = &fetched.aircraft.name;
    if let Some(hangar) = keep::open_existing(common)?
        && hangar.names().map_err(keep::trouble)?.contains(name)
    {
        let flights = hangar.flights(name).map_err(keep::trouble)?;
        // What was flown in simulation for trying the round out ticks nothing off.
        for flight in flights.into_iter().filter(|f| f.recording.note != keep::SIMULATED) {
            history.flights += 1;
            if let Some(learned) = flight.learned {
                let kept = hangar.findings_by_id(learned.findings).map_err(keep::trouble)?;
                history.findings.extend(findings::estimates(&kept.json));
                history.points_flown.extend(flown(&catalogue, &evidence(&kept.json)));
                // Only the newest flight's changes wait: older ones were made since, or found anew.
                history.held_back = findings::read(&kept.json)
                    .map(|f| f.changes.into_iter().filter(|c| c.held_back.is_some()).collect())
                    .unwrap_or_default();
            }
        }
    }
    Ok(outstanding(&catalogue, &fetched.aircraft, &history))
}

/// What a recording shows of the points flown, from its findings document: the recording ticks them, not a hand.
fn evidence(findings_json: &str) -> Evidence {
    let Ok(document) = serde_json::from_str::<Value>(findings_json) else {
        return Evidence::default();
    };
    let mut out = Evidence::default();
    for phase in document["phases"].as_array().into_iter().flatten() {
        if let Some(kind) = phase["kind"].as_str() {
            *out.phases.entry(kind.to_owned()).or_default() += 1;
        }
    }
    for finding in findings::estimates(findings_json) {
        // `response.roll.gain_deg_s_per_deg` belongs to response.roll, `trims[0].us` to trims, `wind.speed_m_s` to wind.
        let mut parts = finding.parameter.split(['.', '[']);
        let what = match (parts.next(), parts.next()) {
            (Some("response"), Some(axis)) => format!("response.{axis}"),
            (Some(first), _) => first.to_owned(),
            (None, _) => continue,
        };
        if finding.enough {
            out.enough.insert(what);
        }
    }
    // Trims that were looked for were flown for, whether or not they could be captured.
    if document["trims"].is_array() {
        out.enough.insert("trims".to_owned());
    }
    out
}

fn no_card(reason: NoCard) -> Trouble {
    let (kind, causes) = match reason {
        NoCard::NotToday { reasons } => (Kind::No, reasons),
        NoCard::Weather { what } => (Kind::Input, vec![what]),
        NoCard::Catalogue { mistakes } => (Kind::Input, mistakes),
    };
    Trouble::many(
        kind,
        "there is no card for this flight",
        causes,
        "wait for a better day, or mend what is named",
    )
}

/// A script, or all that is wrong with it.
pub(crate) fn script(text: &str, named: &str) -> Result<Script, Trouble> {
    Script::read(text).map_err(|faults| {
        Trouble::many(
            Kind::Input,
            format!("{named} is no script as it stands"),
            faults.iter().map(|f| format!("{named}:{f}")).collect(),
            "mend the lines named; examples/ has scripts to start from",
        )
    })
}

/// The force model that a simulated flight starts from: what a script hides is put on top of the aircraft as described, so
/// that what flights have corrected since is left out. Otherwise a hidden drag that was found and adopted would come on
/// top of itself.
pub(crate) fn model_as_described(
    aircraft: &Aircraft,
    prediction: &Prediction,
    air: &Air,
) -> Result<ForceModel, Trouble> {
    let flown_stall = aircraft.limits.stall_m_s.is_some_and(|k| k.from == Origin::Flown);
    if aircraft.flown == Flown::default() && !flown_stall {
        return Ok(prediction.model.clone());
    }
    let mut described = aircraft.clone();
    described.flown = Flown::default();
    if flown_stall {
        described.limits.stall_m_s = None;
    }
    Ok(forecast(&described, air)?.model)
}

/// Flies a script in simulation.
pub(crate) fn flight(aircraft: &Aircraft, model: &ForceModel, script: &Script) -> Result<Flight, Trouble> {
    fly::simulated::fly(aircraft, model, script).map_err(|reason| {
        let causes = match reason {
            NoFlight::Script(faults) => faults.iter().map(ToString::to_string).collect(),
            NoFlight::Model(fault) => vec![format!("the force model is not that of a body: {fault:?}")],
            NoFlight::Reference { speed_m_s, why } => {
                vec![format!("\"{}\" cannot fly level at {speed_m_s:.1} m/s: {why:?}", aircraft.name)]
            }
            NoFlight::Air => vec!["there is no air such as the script wants".into()],
        };
        Trouble::many(
            Kind::Input,
            "the script cannot be flown",
            causes,
            "mend the script, or the aircraft file",
        )
    })
}

/// A card for scripts.
pub(crate) fn card_json(card: &Card) -> Value {
    let facts = |facts: &[plan::card::Fact]| {
        facts.iter().map(|f| json!({"name": f.name, "text": f.text})).collect::<Vec<_>>()
    };
    json!({
        "aircraft": card.aircraft,
        "title": card.title,
        "bench_work": card.bench_work,
        "facts": facts(&card.facts),
        "cautions": card.cautions,
        "emergencies": card.emergencies.iter().map(|(what, act)| json!({"what": what, "do": act})).collect::<Vec<_>>(),
        "points": card.points.iter().map(|p| json!({
            "id": p.id, "title": p.title, "purpose": p.purpose, "acts": p.acts, "switch": p.switch,
            "on_ground": p.on_ground, "yields": p.yields, "steps": p.steps, "calls": p.calls, "watch": p.watch,
            "expect": facts(&p.expect), "stop": p.stop, "duration_s": p.duration_s,
        })).collect::<Vec<_>>(),
        "left_out": card.left_out.iter().map(|(id, why)| json!({"point": id, "why": why})).collect::<Vec<_>>(),
        "day": card.day.as_ref().map(|d| json!({
            "verdict": d.verdict.word(), "at": d.at, "weather": d.weather, "reasons": d.reasons, "loosened": d.loosened,
            "conditions": d.conditions.iter().map(|(id, why)| json!({"point": id, "reasons": why})).collect::<Vec<_>>(),
        })),
        "planned_s": card.planned_s,
        "allowed_s": card.allowed_s,
        "planned_cruise_s": card.planned_cruise_s,
    })
}

/// A card in short for the terminal.
pub(crate) fn card_text(card: &Card) -> String {
    let mut text = format!("{}\n", card.title);
    if let Some(day) = &card.day {
        let _ = writeln!(text, "  {} on {}", day.verdict.word().to_uppercase(), day.at);
        for reason in day.reasons.iter().chain(&day.loosened) {
            text.push_str(&paragraph(reason, "    ", 100));
        }
    }
    for work in &card.bench_work {
        text.push_str(&paragraph(&format!("Before it, on the bench: {work}"), "  ", 100));
    }
    for point in &card.points {
        let place = if point.on_ground { "on the ground" } else { point.acts.as_str() };
        let _ = writeln!(text, "  {:<34} {:>4.0} s  {place}", point.title, point.duration_s);
        for fact in &point.expect {
            let _ = writeln!(text, "      {}: {}", fact.name, fact.text);
        }
    }
    if !card.left_out.is_empty() {
        text.push_str("Left out\n");
    }
    for (point, why) in &card.left_out {
        text.push_str(&paragraph(&format!("{point}: {why}"), "  ", 100));
    }
    text
}
