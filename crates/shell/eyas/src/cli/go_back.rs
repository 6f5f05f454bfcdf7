//! `eyas adopt --undo`: go back to what the aircraft's file was before findings were adopted.

use hangar::Revision;
use serde_json::json;

use super::{Answer, Common, now_ms};
use crate::files;
use crate::tasks::{fetch, keep};
use crate::tell::{Kind, Trouble};

/// Puts the text of an older revision in force again: the one with `number`, or the one before the newest adoption.
/// What is in force now is kept first, so that nothing is lost.
pub(super) fn go_back(which: &str, number: Option<u32>, common: &Common) -> Result<Answer, Trouble> {
    let fetched = fetch::aircraft(which, common)?;
    let name = fetched.aircraft.name.clone();
    let asked = || format!("\"{name}\" was not taken back");
    let Some(mut hangar) = keep::open_existing(common)? else {
        return Err(Trouble::new(
            Kind::No,
            asked(),
            "there is no hangar, so that no earlier text is kept",
            "edit the file by hand",
        ));
    };
    let revisions = hangar.revisions(&name).map_err(keep::trouble)?;
    let target = match number {
        Some(number) => number,
        None => before_adoption(&revisions).ok_or_else(|| {
            Trouble::new(
                Kind::No,
                asked(),
                "no findings were adopted by it, as far as the hangar knows",
                "name the revision to go back to: `eyas flights NAME` lists them, `eyas adopt NAME --undo 3` takes one",
            )
        })?,
    };
    let at = now_ms();
    let older = hangar.revision(&name, target).map_err(keep::trouble)?;
    let files = hangar.section_files(older.id).map_err(keep::trouble)?;
    fetch::kept_text(&older.text, &format!("revision {target}"), &files)?;
    let note = format!("taken back to revision {target}");
    let changed = older.text != fetched.text;
    if changed {
        hangar.keep_aircraft(&name, fetched.kept(), "before going back", at).map_err(keep::trouble)?;
        if let Some(path) = &fetched.path {
            files::write_whole(path, older.text.as_bytes())?;
        }
        hangar.go_back(&name, target, &note, at).map_err(keep::trouble)?;
    }
    let place = fetched.path.as_ref().map_or_else(|| "in the hangar".to_owned(), |p| p.display().to_string());
    let text = if changed {
        format!(
            "{place} is as revision {target} was; what it was before is kept too.\nThe settings of the controller and the servos are not taken back by this: set them as the file says, propeller off, and check the direction of every surface.\n"
        )
    } else {
        format!("{place} is already as revision {target} was; nothing was changed.\n")
    };
    Ok(Answer::yes(text, json!({"aircraft": name, "taken_back_to": target, "changed": changed})))
}

/// The revision that the newest adoption was made from.
fn before_adoption(revisions: &[Revision]) -> Option<u32> {
    revisions
        .iter()
        .rev()
        .find(|r| r.from_findings.is_some() || r.note.starts_with("adopted from"))
        .and_then(|r| r.parent)
}
