//! What happens in the demo between its two flights? An invented hard landing: a defect that grounds, its repair, and
//! every look that the repair demands, signed before the next card.

use hangar::{NewDefect, NewLogEntry, NewRepair};
use plan::ready::{Expects, Place, Standing};
use plan::repairs::Repair;
use predict::prediction::Prediction;

use crate::cli::Common;
use crate::tasks::fetch::Fetched;
use crate::tasks::{keep, readiness, upkeep};
use crate::tell::Trouble;

/// Who looks and signs in the demo: a role, nobody's name.
const BUILDER: &str = "the builder";

/// A hard landing's consequences, each in a sentence; the last says what was signed.
///
/// # Errors
/// Those of the hangar.
pub(crate) fn mishap(
    fetched: &Fetched,
    prediction: &Prediction,
    recording: hangar::RecordingId,
    flown_s: f64,
    at_ms: i64,
    common: &Common,
) -> Result<Vec<String>, Trouble> {
    let name = &fetched.aircraft.name;
    let mut hangar = keep::open(common)?;
    let entry = NewLogEntry {
        recording: Some(recording),
        pack: "A",
        flown_s: Some(flown_s),
        landings: Some(1),
        note: "hard landing",
        at_ms,
        ..NewLogEntry::default()
    };
    hangar.log(name, &entry).map_err(keep::trouble)?;
    let new = NewDefect {
        place: Repair::Nose.word(),
        what: "firewall cracked, propeller tip chipped",
        grounds: true,
        by: BUILDER,
        at_ms,
    };
    let defect = hangar.open_defect(name, &new).map_err(keep::trouble)?;
    hangar.need_part(name, "propeller, the same size", Some(defect.id), at_ms).map_err(keep::trouble)?;
    let mut words = vec![
        "The landing was hard: the firewall is cracked and a propeller tip chipped. Noted as a defect that grounds it; a \
         propeller goes on the list of parts."
            .to_owned(),
    ];
    let grounded = readiness::grounds(fetched, prediction, at_ms, common)?;
    words.push(format!("A card asked for now is refused: {}.", grounded.join("; ")));

    let part = hangar.parts(name).map_err(keep::trouble)?.pop();
    if let Some(part) = part {
        hangar.part_arrived(part.id, at_ms + 1).map_err(keep::trouble)?;
    }
    let repair = NewRepair {
        repair: Repair::Nose.word(),
        done: "firewall glued and glassed, new propeller",
        by: BUILDER,
        at_ms: at_ms + 1,
    };
    let closed = hangar.close_defect(defect.id, &repair).map_err(keep::trouble)?;
    drop(hangar);
    let again: Vec<&str> = upkeep::demands(&closed).iter().map(|check| check.word()).collect();
    words.push(format!(
        "Glued, glassed, a new propeller on: closed as a repair of the nose, which demands these again: {}.",
        again.join(", ")
    ));

    // Measured as the model expects, since the invented repair left the aircraft as it was: the middle of each band.
    // What the model has no number for stays open.
    let set: Vec<(String, String)> = readiness::lines(fetched, prediction, at_ms + 2, common)?
        .into_iter()
        .filter(|line| line.item.place == Place::Home && line.standing != Standing::Passed)
        .filter_map(|line| {
            let value = match &line.item.expects {
                Expects::Between { low, high, .. } if high.is_finite() => {
                    format!("{:.1}", (low + high) / 2.0)
                }
                Expects::Between { low, .. } => format!("{low:.1}"),
                Expects::Done => "done".to_owned(),
                Expects::Unknown { .. } => return None,
            };
            Some((line.item.id, value))
        })
        .collect();
    readiness::record(fetched, prediction, &set, BUILDER, at_ms + 3, common)?;
    let left = readiness::grounds(fetched, prediction, at_ms + 4, common)?;
    words.push(format!(
        "{} items of the list for home measured or looked at, propeller off, and signed. {}",
        set.len(),
        if left.is_empty() {
            "Nothing keeps it on the ground.".to_owned()
        } else {
            format!("Still: {}.", left.join("; "))
        }
    ));
    Ok(words)
}
