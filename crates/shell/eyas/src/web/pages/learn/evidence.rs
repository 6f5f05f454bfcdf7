//! On what does it rest? The evidence plots of every finding, the whole report, and the gains in the builder's own settings.

use std::sync::Arc;

use axum::extract::multipart::MultipartRejection;
use axum::extract::{Multipart, Path, RawQuery, State};
use hangar::Findings;
use maud::{Markup, html};
use predict::scale;
use report::learn_page;
use report::number::fixed;
use report::seconds::Seconds;

use crate::files;
use crate::tasks::teach;
use crate::tell::{Kind, Trouble};
use crate::web::app::App;
use crate::web::ask::Ask;
use crate::web::fields::Fields;
use crate::web::reply::{self, Reply, later, work};
use crate::web::shelf::{self, Which};
use crate::web::shell::{Place, Step, form_key};
use crate::web::standalone;
use crate::web::upload;

/// Where the evidence comes when the page is there: learning once more takes seconds after a restart.
pub(super) fn place(aircraft: &str, kept: &Findings) -> Markup {
    let here = super::path(aircraft, kept.id);
    html! {
        h2 #evidence { "The evidence" }
        details.wide hx-get={(here) "/evidence"} hx-trigger="toggle once" hx-target="#evidence-place" {
            summary { "Plots of data, fit and doubt of every finding" }
            div #evidence-place {
                p.waiting { "They come here, in a few seconds where the flight has to be gone through again." }
                p { a href={(here) "/evidence"} { "Open the evidence as a page of its own" } }
            }
        }
    }
}

pub(super) async fn show(
    State(app): State<Arc<App>>,
    ask: Ask,
    Path((name, id)): Path<(String, String)>,
) -> Reply {
    work(app, ask, move |app, ask| {
        let kept = shelf::findings(app, &name, &id)?;
        if ask.part {
            let body = part(app, &name, &kept, Level::Part)?;
            return Ok(reply::part(ask, &body));
        }
        let aircraft = name.clone();
        Ok(later(app, ask, "The evidence", &Place::Of(&name, Step::Flights), move |app, _| {
            Ok(html! {
                h1 { "The evidence" }
                (part(app, &aircraft, &kept, Level::Page)?)
                div.buttons { a.button.second href=(super::path(&aircraft, kept.id)) { "Back to the findings" } }
            })
        }))
    })
    .await
}

/// Where the evidence stands.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Level {
    /// Within the page of findings.
    Part,
    /// On a page of its own.
    Page,
}

fn part(app: &App, aircraft: &str, kept: &Findings, level: Level) -> Result<Markup, Trouble> {
    let taught = app.shelf.taught(app, aircraft, kept)?;
    let label = shelf::label(app, aircraft, &Which::Kept(kept.recording))?;
    let read = app.shelf.read(app, &label)?;
    let plots = super::super::recording::path(aircraft, &label.which);
    let recording = &read.studied.recording;
    let evidence = learn_page::evidence_part(
        &taught.aircraft,
        taught.prediction.as_ref(),
        recording,
        &taught.findings,
        &recording.flaws,
        Seconds { plots: Some(&plots) },
    );
    Ok(html! { div.evidence.within[level == Level::Part] { (evidence) } })
}

pub(super) async fn report(
    State(app): State<Arc<App>>,
    ask: Ask,
    Path((name, id)): Path<(String, String)>,
    RawQuery(query): RawQuery,
) -> Reply {
    work(app, ask, move |app, ask| {
        let kept = shelf::findings(app, &name, &id)?;
        let taught = app.shelf.taught(app, &name, &kept)?;
        let label = shelf::label(app, &name, &Which::Kept(kept.recording))?;
        let read = app.shelf.read(app, &label)?;
        let recording = &read.studied.recording;
        let html = learn_page::learn_html(
            &taught.aircraft,
            taught.prediction.as_ref(),
            recording,
            &taught.findings,
            &recording.flaws,
        );
        if Fields::read(&query.unwrap_or_default()).raw("download").is_some() {
            let file = format!("{name}-findings-{}.html", kept.id);
            return Ok(reply::file(&file, "text/html; charset=utf-8", html.into_bytes()));
        }
        Ok(standalone::show(ask, html))
    })
    .await
}

/// The report, and the gains in the builder's own settings.
pub(super) fn take_along(ask: &Ask, aircraft: &str, kept: &Findings) -> Markup {
    let here = super::path(aircraft, kept.id);
    let recording = super::super::recording::path(aircraft, &Which::Kept(kept.recording));
    html! {
        h2 { "Take it along" }
        ul {
            li { a href={(here) "/report"} { "The whole report as one page" } ", " a href={(here) "/report?download"} download="" { "or as a file to keep" } }
            li { a href=(recording) { "The recording with its plots, and its channels to download" } }
        }
        h3 { "Gains in your controller's own settings" }
        form method="post" action={(here) "/gains"} enctype="multipart/form-data" {
            (form_key(ask))
            div.field {
                label for="scale" { "Table of settings" }
                input #scale type="file" name="scale" accept=".toml" required aria-describedby="scale-hint";
                p.hint #scale-hint { "A file that says what your controller calls each gain and how it counts, as examples/scale.toml shows." }
            }
            div.buttons { button.second { "Show the lines to enter" } }
        }
    }
}

pub(super) async fn gains(
    State(app): State<Arc<App>>,
    ask: Ask,
    Path((name, id)): Path<(String, String)>,
    form: Result<Multipart, MultipartRejection>,
) -> Reply {
    let taken = match form {
        Ok(form) => upload::take(&ask, form).await,
        Err(why) => Err(Trouble::new(
            Kind::Input,
            "the table was not taken",
            why.body_text(),
            "choose it on the page of findings",
        )),
    };
    let uploaded = match taken {
        Ok(uploaded) => uploaded,
        Err(trouble) => return reply::trouble(&ask, &trouble),
    };
    work(app, ask, move |app, ask| {
        let Some(file) = uploaded.files.into_iter().find(|f| f.field == "scale") else {
            return Err(Trouble::new(Kind::Input, "no table came", "none was chosen", "choose the file of your settings"));
        };
        let text = files::read_text(file.on_disk.path(), "a table of settings").map_err(|trouble| {
            // The path is one of ours and tells nobody anything.
            Trouble::many(Kind::Input, format!("\"{}\" is no table of settings", file.name), trouble.causes().to_vec(), trouble.remedy())
        })?;
        let settings = teach::settings(&text, &format!("\"{}\"", file.name))?;
        let kept = shelf::findings(app, &name, &id)?;
        let taught = app.shelf.taught(app, &name, &kept)?;
        let lines = scale::lines(&settings, &teach::carried(&taught.findings.handling));
        let body = html! {
            h1 { "Lines to enter" }
            p.warn { "Enter them with the propeller off, then check the direction of every surface. Try them high up, with the switch to direct at hand." }
            table.stack {
                thead { tr { th scope="col" { "Setting" } th scope="col" { "Value" } th scope="col" { "Is" } } }
                tbody {
                    @for line in &lines {
                        tr {
                            th scope="row" { (line.name) }
                            td data-name="Value" { @match &line.value {
                                Ok(value) => { strong { (fixed(*value, line.decimals)) } " " (line.unit) },
                                Err(why) => { "none: " (why) },
                            } }
                            td data-name="Is" { (line.quantity) }
                        }
                    }
                }
            }
            div.buttons { a.button.second href=(super::path(&name, kept.id)) { "Back to the findings" } }
        };
        Ok(reply::page(ask, "Lines to enter", &Place::Of(&name, Step::Flights), &body))
    })
    .await
}
