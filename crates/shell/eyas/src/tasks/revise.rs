//! How is an aircraft's file revised from findings? Shown first, checked whole, written whole.

use aircraft::Origin;
use aircraft::finding::Change;
use aircraft::revise::{number, set_known};
use hangar::FindingsId;

use crate::cli::Common;
use crate::files;
use crate::json::findings::ToAdopt;
use crate::tasks::fetch::{self, Fetched};
use crate::tasks::keep;
use crate::tell::{Kind, Trouble};

/// A revision ready to be written.
#[derive(Debug, Clone)]
pub(crate) struct Revision {
    /// The file's new text.
    pub(crate) text: String,
    /// Changes made.
    pub(crate) made: Vec<Change>,
    /// Changes held back, with the reason in each.
    pub(crate) held_back: Vec<Change>,
}

/// Works the findings into the aircraft's text. Nothing is written.
///
/// # Errors
/// When the findings are another aircraft's, the file was changed since, or the revised file would not read.
pub(crate) fn revise(fetched: &Fetched, findings: &ToAdopt, at: &str) -> Result<Revision, Trouble> {
    let refused = |causes: Vec<String>, remedy: &str| {
        Trouble::many(
            Kind::No,
            format!("the findings cannot be adopted by \"{}\"", fetched.aircraft.name),
            causes,
            remedy,
        )
    };
    if findings.aircraft != fetched.aircraft.name {
        return Err(refused(
            vec![format!("they are of \"{}\"", findings.aircraft)],
            "name the aircraft that was flown",
        ));
    }
    let (made, held_back): (Vec<Change>, Vec<Change>) =
        findings.changes.iter().cloned().partition(|c| c.held_back.is_none());
    let mut text = fetched.text.clone();
    let mut causes = Vec::new();
    for change in &made {
        let now = match number(&text, &change.path) {
            Ok(now) => now,
            Err(error) => {
                causes.push(error.to_string());
                continue;
            }
        };
        let then = change.from;
        let moved_on = match (now, then) {
            (Some(now), Some(then)) => (now - then).abs() > 1e-6 * then.abs().max(1.0),
            (Some(_), None) => true,
            (None, _) => false,
        };
        if moved_on {
            let told = |value: Option<f64>| {
                value.map_or_else(|| "not set".to_owned(), |v| format!("{v} {}", change.unit))
            };
            causes.push(format!(
                "{} is {} in the file, but was {} when the flight was flown",
                change.path,
                told(now),
                told(then)
            ));
            continue;
        }
        match set_known(&text, &change.path, change.to, Some(change.sd), Some(Origin::Flown)) {
            Ok(new) => text = new,
            Err(error) => causes.push(error.to_string()),
        }
    }
    if !causes.is_empty() {
        return Err(refused(
            causes,
            "leave it: the changes may have been adopted already. If the file was changed by hand, undo that or fly again",
        ));
    }
    fetch::revised(&text, fetched)?;
    if !made.is_empty() {
        text = with_note(&text, findings, at);
    }
    Ok(Revision { text, made, held_back })
}

/// Writes a revision: the text before it is kept first, so that the way back is there before anything is changed. The
/// number of the new revision in the hangar.
///
/// # Errors
/// When the aircraft was changed since it was fetched, and where writing fails.
pub(crate) fn adopt(
    fetched: &Fetched,
    revision: &Revision,
    recording: &str,
    id: Option<FindingsId>,
    common: &Common,
    at_ms: i64,
) -> Result<u32, Trouble> {
    let mut hangar = keep::open(common)?;
    let name = &fetched.aircraft.name;
    // While the question stood the file may have been edited: that edit is not to be lost.
    fetch::unchanged(fetched, common)?;
    hangar.keep_aircraft(name, fetched.kept(), "before adopting", at_ms).map_err(keep::trouble)?;
    if let Some(path) = &fetched.path {
        files::write_whole(path, revision.text.as_bytes())?;
    }
    let note = format!("adopted from {recording}");
    let kept = match id {
        Some(id) => hangar.keep_adopted(name, fetched.kept_with(&revision.text), id, &note, at_ms),
        None => hangar.keep_aircraft(name, fetched.kept_with(&revision.text), &note, at_ms),
    };
    kept.map(|r| r.number).map_err(keep::trouble)
}

/// Adds a line to the end of the file that says where its new numbers come from.
fn with_note(text: &str, findings: &ToAdopt, at: &str) -> String {
    let recording: String = findings.recording.chars().filter(|c| !c.is_control()).collect();
    format!("{}\n# Adopted {at} from {recording}.\n", text.trim_end())
}
