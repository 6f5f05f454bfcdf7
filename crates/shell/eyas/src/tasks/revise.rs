//! How is an aircraft's file revised from findings? Shown first, checked whole, written whole.

use aircraft::Origin;
use aircraft::finding::Change;
use aircraft::revise::{number, set_known};

use crate::json::findings::ToAdopt;
use crate::tasks::fetch::{self, Fetched};
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

/// Adds a line to the end of the file that says where its new numbers come from.
fn with_note(text: &str, findings: &ToAdopt, at: &str) -> String {
    let recording: String = findings.recording.chars().filter(|c| !c.is_control()).collect();
    format!("{}\n# Adopted {at} from {recording}.\n", text.trim_end())
}
