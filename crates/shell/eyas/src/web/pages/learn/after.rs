//! What becomes of the predictions? The main numbers before and after the ticked changes, worked into a copy.

use std::sync::Arc;

use axum::extract::{Path, RawQuery, State};
use maud::{Markup, html};
use predict::prediction::Prediction;
use report::number::{known, outcome};

use crate::tasks::fetch::{self, Fetched};
use crate::tasks::forecast::Air;
use crate::tasks::revise::revise;
use crate::tell::Trouble;
use crate::web::app::App;
use crate::web::ask::Ask;
use crate::web::fields::Fields;
use crate::web::reply::{self, Reply, work};
use crate::web::shelf;
use crate::web::shell::{self, Place, Step};

pub(super) async fn show(
    State(app): State<Arc<App>>,
    ask: Ask,
    Path((name, id)): Path<(String, String)>,
    RawQuery(query): RawQuery,
) -> Reply {
    work(app, ask, move |app, ask| {
        let fetched = app.aircraft(&name)?;
        let kept = shelf::findings(app, &name, &id)?;
        let mut asked = super::to_adopt(&kept)?;
        let ticked = super::ticked(&asked, &Fields::read(&query.unwrap_or_default()));
        asked.changes.retain(|c| c.held_back.is_none() && ticked.contains(&c.path));
        let body = match revise(&fetched, &asked, "") {
            Ok(revision) => compared(app, &fetched, &revision.text)?,
            // Most often they were adopted already: said where the numbers would stand.
            Err(trouble) => html! {
                p { "They cannot be worked into the file as it is now:" }
                ul { @for cause in trouble.causes().iter().take(6) { li { (cause) } } }
                p { (shell::capital(trouble.remedy())) }
            },
        };
        if ask.part {
            return Ok(reply::part(ask, &body));
        }
        let page = html! {
            h1 { "Predictions before and after" }
            (body)
            div.buttons { a.button.second href=(super::path(&name, kept.id)) { "Back to the findings" } }
        };
        Ok(reply::page(ask, "Before and after", &Place::Of(&name, Step::Flights), &page))
    })
    .await
}

fn compared(app: &Arc<App>, fetched: &Fetched, text: &str) -> Result<Markup, Trouble> {
    let air = Air::default();
    let revised = Fetched {
        aircraft: fetch::revised(text, fetched)?,
        text: text.to_owned(),
        section_files: fetched.section_files.clone(),
        path: None,
    };
    let before = app.foresee(fetched, &air)?;
    let after = app.foresee(&revised, &air)?;
    let rough = before.rough || after.rough;
    let rows: Vec<(&str, String, String)> = numbers(&before.prediction)
        .into_iter()
        .zip(numbers(&after.prediction))
        .map(|((name, old), (_, new))| (name, old, new))
        .collect();
    let angle = |f: &Fetched| {
        let c = &f.aircraft.controller;
        known(c.mounting_pitch_rad, numerics::units::DEG_PER_RAD, "deg")
    };
    Ok(html! {
        table.stack {
            thead { tr { th scope="col" { "What" } th scope="col" { "Before" } th scope="col" { "After" } } }
            tbody {
                tr {
                    th scope="row" { "Mounting angle of the controller in pitch" }
                    td.unbroken data-name="Before" { (angle(fetched)) }
                    td.unbroken data-name="After" { (changed(&angle(fetched), &angle(&revised))) }
                }
                @for (name, old, new) in &rows {
                    tr { th scope="row" { (name) } td.unbroken data-name="Before" { (old) } td.unbroken data-name="After" { (changed(old, new)) } }
                }
            }
        }
        p.note { "Bold is what changes. A change of trim or of the controller's angle changes what is set, not how the aircraft can fly." }
        @if rough { p.note { "Section tables are being computed: these numbers become finer in some seconds." } }
    })
}

fn changed(old: &str, new: &str) -> Markup {
    html! { @if old == new { (new) } @else { strong { (new) } } }
}

/// The main numbers of a prediction.
fn numbers(p: &Prediction) -> Vec<(&'static str, String)> {
    let drive = |pick: fn(&predict::prediction::DrivePrediction) -> String| match &p.drive {
        Ok(drive) => pick(drive),
        Err(why) => report::number::not_predicted(why),
    };
    vec![
        ("Stall, wings level", known(p.speeds.stall_m_s, 1.0, "m/s")),
        ("Cruise", known(p.speeds.cruise_m_s, 1.0, "m/s")),
        ("Best glide", known(p.speeds.best_glide_m_s, 1.0, "m/s")),
        ("Glide ratio", known(p.polar.best_glide_ratio, 1.0, "")),
        ("Least sink", known(p.polar.least_sink_m_s, 1.0, "m/s")),
        ("Top speed", outcome(&p.speeds.top_m_s, 1.0, "m/s")),
        ("Climb", drive(|d| outcome(&d.climb_m_s, 1.0, "m/s"))),
        ("Endurance at cruise", drive(|d| outcome(&d.endurance_s, 1.0 / 60.0, "min"))),
        ("Static margin", known(p.stability.static_margin_percent, 1.0, "percent")),
        (
            "Pitch of the reference line at cruise",
            known(p.speeds.cruise_pitch_rad, numerics::units::DEG_PER_RAD, "deg"),
        ),
    ]
}
