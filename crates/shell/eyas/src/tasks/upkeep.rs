//! What is kept of an aircraft between flights: whose settings, defects and log are meant, what earlier findings asked
//! for, and what keeps it on the ground?

use aircraft::settings::Asked;
use hangar::{Defect, Hangar};
use plan::repairs::{Recheck, Repair};
use serde_json::Value;

use crate::cli::{Common, now_ms};
use crate::tasks::{fetch, keep};
use crate::tell::Trouble;

/// The hangar and the name of an aircraft that it keeps. An aircraft given as a file is kept first.
pub(crate) fn kept(which: &str, common: &Common) -> Result<(Hangar, String), Trouble> {
    if let Some(hangar) = keep::open_existing(common)?
        && hangar.names().map_err(keep::trouble)?.iter().any(|name| name == which)
    {
        return Ok((hangar, which.to_owned()));
    }
    let fetched = fetch::aircraft(which, common)?;
    let mut hangar = keep::open(common)?;
    let name = fetched.aircraft.name.clone();
    hangar.keep_aircraft(&name, fetched.kept(), "as described", now_ms()).map_err(keep::trouble)?;
    Ok((hangar, name))
}

/// What the newest findings of each flight asked to be set, by the builder's own names of the settings; what a later
/// flight asked for stands in place of an earlier.
pub(crate) fn asked(hangar: &Hangar, name: &str) -> Result<Vec<Asked>, Trouble> {
    let mut all: Vec<Asked> = Vec::new();
    for flight in hangar.flights(name).map_err(keep::trouble)? {
        let Some(learned) = flight.learned else { continue };
        let findings = hangar.findings_by_id(learned.findings).map_err(keep::trouble)?;
        let Ok(document) = serde_json::from_str::<Value>(&findings.json) else { continue };
        collect(&document, &format!("findings {}", learned.findings), &mut all);
    }
    Ok(all)
}

/// Every object that names a setting and a value for it.
fn collect(value: &Value, from: &str, all: &mut Vec<Asked>) {
    match value {
        Value::Object(object) => {
            let to = object.get("to").and_then(|to| match to {
                Value::Number(number) => Some(number.to_string()),
                Value::String(text) => Some(text.clone()),
                _ => None,
            });
            if let (Some(Value::String(name)), Some(to)) = (object.get("setting"), to) {
                let why = match object.get("why") {
                    Some(Value::String(why)) => format!("{from}: {why}"),
                    _ => from.to_owned(),
                };
                all.retain(|asked| asked.name != *name);
                all.push(Asked { name: name.clone(), to, why });
            }
            object.values().for_each(|inner| collect(inner, from, all));
        }
        Value::Array(list) => list.iter().for_each(|inner| collect(inner, from, all)),
        _ => {}
    }
}

/// Time in the air by the phases of a findings document, s; none where it has no phases.
pub(crate) fn flown_s(document: &Value) -> Option<f64> {
    let in_the_air = |phase: &&Value| phase["kind"].as_str().is_some_and(|word| word != "ground");
    let length = |phase: &Value| Some(phase["to_s"].as_f64()? - phase["from_s"].as_f64()?);
    let phases = document["phases"].as_array()?;
    let total: f64 = phases.iter().filter(in_the_air).filter_map(length).sum();
    (total > 0.0).then_some(total)
}

/// The kind of a repair as it was kept; what an unknown program kept demands the most.
pub(crate) fn kind(word: &str) -> Repair {
    Repair::of_word(word).unwrap_or(Repair::Other)
}

/// What a closed defect demands before the next flight.
pub(crate) fn demands(defect: &Defect) -> &'static [Recheck] {
    defect.closed.as_ref().map_or(&[], |closed| kind(&closed.repair).demands())
}

/// Why an aircraft must stay on the ground, a sentence each: its open defects that ground it.
pub(crate) fn grounded(hangar: &Hangar, name: &str) -> Result<Vec<String>, Trouble> {
    let defects = hangar.defects(name).map_err(keep::trouble)?;
    Ok(defects
        .iter()
        .filter(|defect| defect.grounds && defect.closed.is_none())
        .map(|defect| format!("defect {} is open ({}): {}", defect.id, defect.place, defect.what))
        .collect())
}
