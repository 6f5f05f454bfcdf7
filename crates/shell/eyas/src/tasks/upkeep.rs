//! What is kept of an aircraft between flights: whose settings, defects and log are meant, what earlier findings asked
//! for, and what keeps it on the ground?

use aircraft::finding::Change;
use aircraft::settings::Asked;
use hangar::{Defect, DefectId, Findings, Hangar, NewRepair};
use plan::repairs::{Recheck, Repair};
use predict::scale::Setting;
use serde_json::Value;

use crate::cli::{Common, now_ms};
use crate::json::findings;
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

/// What the newest findings of each flight ask to be set, by the builder's own names of the settings: `scale` says how the
/// controller calls each gain and what it counts in. What a later flight asks for stands in place of an earlier; what
/// findings hold back is not asked.
pub(crate) fn asked(hangar: &Hangar, name: &str, scale: &[Setting]) -> Result<Vec<Asked>, Trouble> {
    let mut all: Vec<Asked> = Vec::new();
    for flight in hangar.flights(name).map_err(keep::trouble)? {
        let Some(learned) = flight.learned else { continue };
        let kept = hangar.findings_by_id(learned.findings).map_err(keep::trouble)?;
        asks_too(&mut all, &kept, scale);
    }
    Ok(all)
}

/// Adds what one findings document asks for; what was asked of the same setting before no longer counts.
pub(crate) fn asks_too(all: &mut Vec<Asked>, kept: &Findings, scale: &[Setting]) {
    let Ok(document) = findings::read(&kept.json) else { return };
    for change in document.changes.iter().filter(|change| change.held_back.is_none()) {
        let Some(asked) = in_settings(change, scale, &format!("findings {}", kept.id)) else {
            continue;
        };
        all.retain(|earlier| earlier.name != asked.name);
        all.push(asked);
    }
}

/// A change of a gain as the line to enter; none for other changes, and where the setting cannot take it.
fn in_settings(change: &Change, scale: &[Setting], from: &str) -> Option<Asked> {
    let gain = change.path.strip_prefix("controller.gains.")?;
    let setting = scale.iter().find(|s| {
        let quantity = s.quantity();
        // The path ends in the unit of the gain: `roll.proportional_s`.
        gain.strip_prefix(&quantity).is_some_and(|unit| unit.is_empty() || unit.starts_with('_'))
    })?;
    let value = change.to * setting.factor;
    (setting.low..=setting.high).contains(&value).then(|| Asked {
        name: setting.name.clone(),
        to: format!("{value:.*}", setting.decimals),
        why: format!("{from}: {}", setting.quantity()),
    })
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

/// Closes a defect. What was broken is what was mended, unless another repair is told; comes back with what was repaired.
pub(crate) fn close(
    hangar: &mut Hangar,
    id: DefectId,
    done: &str,
    repair: Option<Repair>,
    by: &str,
    at_ms: i64,
) -> Result<(Defect, Repair), Trouble> {
    let told = match repair {
        Some(repair) => repair,
        None => {
            let mut place = None;
            for name in hangar.names().map_err(keep::trouble)? {
                let defects = hangar.defects(&name).map_err(keep::trouble)?;
                place = place.or(defects.iter().find(|d| d.id == id).map(|d| kind(&d.place)));
            }
            place.unwrap_or(Repair::Other)
        }
    };
    let repair = NewRepair { repair: told.word(), done, by, at_ms };
    Ok((hangar.close_defect(id, &repair).map_err(keep::trouble)?, told))
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

#[cfg(test)]
mod tests {
    use super::*;

    fn change(path: &str, to: f64) -> Change {
        Change {
            path: path.into(),
            from: None,
            to,
            sd: 0.01,
            unit: "s".into(),
            why: String::new(),
            held_back: None,
        }
    }

    #[test]
    fn a_gain_is_asked_for_in_the_words_and_counts_of_the_builders_table() {
        let table = "[[setting]]\nquantity = \"roll.proportional\"\nname = \"BANK STIFFNESS\"\nunit = \"thousandths\"\n\
                     factor = 1000\nlow = 0\nhigh = 500\ndecimals = 0\n";
        let scale = predict::scale::read(table).unwrap();
        let asked =
            in_settings(&change("controller.gains.roll.proportional_s", 0.0714), &scale, "findings 3")
                .unwrap();
        // 0.0714 in thousandths, without decimals.
        assert_eq!((asked.name.as_str(), asked.to.as_str()), ("BANK STIFFNESS", "71"));
        assert_eq!(asked.why, "findings 3: roll.proportional");
        for other in [
            "controller.gains.pitch.proportional_s",
            "controller.mounting_pitch_deg",
            "controller.gains.roll",
        ] {
            assert!(in_settings(&change(other, 0.07), &scale, "").is_none(), "{other}");
        }
        let beyond = change("controller.gains.roll.proportional_s", 0.6);
        assert!(in_settings(&beyond, &scale, "").is_none(), "more than the setting takes");
    }
}
