//! How is a recording learnt from? As work that goes on; recording and findings are kept before its end is told.

use std::sync::Arc;

use axum::extract::{Path, State};
use maud::html;

use crate::cli::now_ms;
use crate::json::findings::{self, Origin};
use crate::tasks::keep::{self, ToKeep};
use crate::tasks::study;
use crate::tasks::teach::teach;
use crate::tell::{Kind, Trouble};
use crate::web::app::App;
use crate::web::fields::Form;
use crate::web::jobs::Job;
use crate::web::reply::{self, Reply, work};
use crate::web::shelf::{self, Label, Which};

pub(super) async fn start(
    State(app): State<Arc<App>>,
    Path((name, which)): Path<(String, String)>,
    form: Form,
) -> Reply {
    work(app, form.ask, move |app, _| {
        app.aircraft(&name)?;
        let label = shelf::label(app, &name, &Which::read(&which)?)?;
        let back = super::super::recording::path(&name, &label.which);
        let shared = Arc::clone(app);
        let title = format!("Learning from {}", label.name);
        let job = app.jobs.start(&title, &back, move |job| {
            let kept = learn(&shared, &name, &label, job)?;
            let path = super::path(&name, kept.findings);
            Ok(html! {
                p { "Kept as findings " (kept.findings) ": " (kept.changes) @if kept.changes == 1 { " change is" } @else { " changes are" } " asked for." }
                div.buttons { a.button href=(path) { "See what it taught" } }
            })
        });
        Ok(reply::on_to(&format!("/work/{}", job.id), ""))
    })
    .await
}

struct Kept {
    findings: hangar::FindingsId,
    changes: usize,
}

fn learn(app: &App, name: &str, label: &Label, job: &Job) -> Result<Kept, Trouble> {
    let stopped = || {
        Trouble::new(
            Kind::No,
            "nothing was learnt",
            "you stopped it",
            "start it again; the recording is where it was",
        )
    };
    let go_on =
        |share: f64, words: &str| if job.go_on(share, words.to_owned()) { Ok(()) } else { Err(stopped()) };
    go_on(0.02, "reading the recording")?;
    let fetched = app.aircraft(name)?;
    let read = app.shelf.read(app, label)?;
    go_on(0.15, "looking up how it was flown")?;
    let bytes = shelf::bytes(app, label)?;
    let as_flown = study::as_flown(name, &bytes, &app.common)?;
    go_on(
        0.25,
        "predicting the aircraft, then answering every question to the flight; a long flight takes a minute or two",
    )?;
    let taught = teach(&fetched, &read.studied.recording, as_flown.as_ref());
    go_on(0.9, "keeping recording and findings")?;
    let origin = Origin { aircraft: name, recording: &label.name, kept_as: None };
    let document = findings::document(&origin, &taught.findings);
    let studied = study::Studied {
        bytes,
        recording: fly::recording::Recording::default(),
        format: read.studied.format,
        map: read.studied.map.clone(),
        proposal: None,
    };
    let mut hangar = keep::open(&app.common)?;
    let (recording, findings) = keep::flight(
        &mut hangar,
        &ToKeep {
            fetched: &fetched,
            source: &label.name,
            studied: &studied,
            findings: &document,
            note: if label.simulated { keep::SIMULATED } else { "" },
            at_ms: now_ms(),
        },
    )?;
    let changes = taught.findings.changes.iter().filter(|c| c.held_back.is_none()).count();
    app.shelf.put_taught(findings, taught);
    if let Some(waiting) = label.waiting() {
        app.shelf.now_kept(app, name, label, recording);
        // It is safe in the hangar; what is left behind here does no harm.
        let _ = waiting.discard();
    }
    Ok(Kept { findings, changes })
}
