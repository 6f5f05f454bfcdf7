//! What does a simulated flight look like? Flown as work that goes on; its recording waits as one that was brought.

use std::io::Write as _;
use std::sync::Arc;

use axum::extract::{Path, State};
use maud::html;
use tempfile::NamedTempFile;

use crate::cli::now_ms;
use crate::tasks::incoming::{self, About};
use crate::tasks::try_out::{self, Blows};
use crate::tell::{Kind, Trouble};
use crate::web::app::App;
use crate::web::ask::random_key;
use crate::web::fields::Form;
use crate::web::reply::{self, Reply, work};
use crate::web::shell::Step;

pub(super) async fn start(State(app): State<Arc<App>>, Path(name): Path<String>, form: Form) -> Reply {
    let Form { ask, fields } = form;
    work(app, ask, move |app, _| {
        let number = |field: &str, words: &str, usual: f64| {
            fields.number(field, words).map(|v| v.unwrap_or(usual)).map_err(|cause| {
                Trouble::new(Kind::Input, "the flight cannot be flown", cause, "go back and mend the number")
            })
        };
        let wind = Blows { speed_m_s: number("wind", "wind", 0.0)?, from_deg: number("from", "from", 270.0)? };
        let flight = fields.text("flight").unwrap_or("first").to_owned();
        let fetched = app.aircraft(&name)?;
        let script = try_out::script(&fetched.aircraft, &flight, wind)?;
        let shared = Arc::clone(app);
        let job = app.jobs.start("A simulated flight", &Step::Flights.path(&name), move |job| {
            let text = try_out::fly(&fetched, &script, &|share, words| job.go_on(share, words.to_owned()))?;
            let folder = incoming::folder(&shared.common)?;
            let written = NamedTempFile::new_in(&folder).and_then(|mut file| {
                file.write_all(text.as_bytes())?;
                Ok(file)
            });
            let file = written.map_err(|e| {
                Trouble::new(Kind::Input, "the recording could not be written", e.to_string(), "make room on the disk")
            })?;
            let about = About {
                aircraft: name.clone(),
                name: format!("simulated-{flight}-flight.csv"),
                simulated: true,
                said: Vec::new(),
                at_ms: now_ms(),
            };
            let waiting = incoming::take(&shared.common, &random_key(), &about, file)?;
            let path = super::recording_path(&name, &format!("new-{}", waiting.id));
            Ok(html! {
                p.warn { strong { "Simulated. " } "Nothing in it was flown: adopt nothing from it for a real aircraft." }
                p {
                    "Flown in a wind of " (report::number::exact(wind.speed_m_s, "m/s")) " from "
                    (report::number::exact(wind.from_deg, "deg")) "; " (text.lines().count().saturating_sub(1)) " rows were recorded."
                }
                div.buttons {
                    a.button href=(path) { "Read it" }
                    a.button.second href={(path) "/original"} { "Download it" }
                }
            })
        });
        Ok(reply::on_to(&format!("/work/{}", job.id), ""))
    })
    .await
}
