//! `eyas adopt --undo`: go back to what the aircraft's file was before findings were adopted.

use serde_json::json;

use super::{Answer, Common};
use crate::tasks::fetch;
use crate::tasks::go_back::{self, Back};
use crate::tell::Trouble;

/// Puts the text of an older revision in force again: the one with `number`, or the one before the newest adoption.
pub(super) fn go_back(which: &str, number: Option<u32>, common: &Common) -> Result<Answer, Trouble> {
    let fetched = fetch::aircraft(which, common)?;
    let Back { number: target, changed } = go_back::go_back(&fetched, number, common)?;
    let place = fetched.path.as_ref().map_or_else(|| "in the hangar".to_owned(), |p| p.display().to_string());
    let text = if changed {
        format!(
            "{place} is as revision {target} was; what it was before is kept too.\nThe settings of the controller and the servos are not taken back by this: set them as the file says, propeller off, and check the direction of every surface.\n"
        )
    } else {
        format!("{place} is already as revision {target} was; nothing was changed.\n")
    };
    Ok(Answer::yes(
        text,
        json!({"aircraft": fetched.aircraft.name, "taken_back_to": target, "changed": changed}),
    ))
}
