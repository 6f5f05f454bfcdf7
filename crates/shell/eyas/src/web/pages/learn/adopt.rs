//! What do I know now? The ticked changes worked into the aircraft's text, and the way back.

use std::sync::Arc;

use axum::extract::{Path, State};
use report::number::with_doubt;

use crate::cli::now_ms;
use crate::tasks::go_back;
use crate::tasks::revise;
use crate::tell::{Kind, Trouble};
use crate::web::app::App;
use crate::web::fields::Form;
use crate::web::reply::{self, Reply, work};
use crate::web::shelf;
use crate::web::shell::Step;

pub(super) async fn adopt(
    State(app): State<Arc<App>>,
    Path((name, id)): Path<(String, String)>,
    form: Form,
) -> Reply {
    let Form { ask, fields } = form;
    work(app, ask, move |app, _| {
        let kept = shelf::findings(app, &name, &id)?;
        let here = super::path(&name, kept.id);
        let fetched = app.aircraft(&name)?;
        if fields.text("seen") != Some(super::mark(&fetched.text).as_str()) {
            return Err(conflict(&name));
        }
        let mut asked = super::to_adopt(&kept)?;
        // What is held back stays so, whatever a form says.
        let ticked: Vec<&str> = fields.all("tick").collect();
        asked.changes.retain(|c| c.held_back.is_none() && ticked.contains(&c.path.as_str()));
        if asked.changes.is_empty() {
            return Ok(reply::on_to(&here, "Nothing was ticked, so nothing was changed."));
        }
        let day = jiff::Timestamp::now().strftime("%Y-%m-%d").to_string();
        let revision = revise::revise(&fetched, &asked, &day)?;
        let number =
            revise::adopt(&fetched, &revision, &asked.recording, Some(kept.id), &app.common, now_ms())?;
        let made: Vec<String> = revision
            .made
            .iter()
            .map(|c| {
                let what = plan::places::words(&fetched.aircraft, &c.path);
                format!("{what}: {}", with_doubt(c.to, c.sd, &c.unit))
            })
            .collect();
        Ok(reply::on_to(&here, &format!("Adopted as revision {number}.\n{}", made.join("\n"))))
    })
    .await
}

pub(super) async fn undo(State(app): State<Arc<App>>, Path(name): Path<String>, form: Form) -> Reply {
    let Form { ask, fields } = form;
    work(app, ask, move |app, _| {
        let fetched = app.aircraft(&name)?;
        let back = go_back::go_back(&fetched, None, &app.common)?;
        let own = Step::Round.path(&name);
        // Only back to a page of this aircraft.
        let to = match fields.text("back") {
            Some(to) if to.strip_prefix(&own).is_some_and(|rest| rest.starts_with("/findings/")) => to.to_owned(),
            _ => Step::Flights.path(&name),
        };
        let said = if back.changed {
            format!(
                "Taken back: the text of revision {} is in force again, and what it was before is kept too. The settings of controller and servos are not taken back by this: set them as the file says, propeller off, and check the direction of every surface.",
                back.number
            )
        } else {
            format!("It is already as revision {} was; nothing was changed.", back.number)
        };
        Ok(reply::on_to(&to, &said))
    })
    .await
}

fn conflict(name: &str) -> Trouble {
    Trouble::new(
        Kind::Conflict,
        "nothing was adopted",
        format!("somebody changed \"{name}\" since this page was loaded"),
        "go back and load the page again: it then shows what would change now",
    )
}
