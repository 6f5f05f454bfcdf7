//! Will my throw work? What launch is meant, its odds computed beside with progress, and what came of it.

mod asked;
mod outcome;

use std::sync::Arc;

use axum::Router;
use axum::extract::{Path, RawQuery, State};
use axum::routing::get;
use maud::{Markup, html};
use predict::launch::caution::cautions;
use predict::launch::refuse::against;
use predict::launch::scene::Scene;

use self::asked::{Asked, CONTROLS};
use crate::tasks::forecast::forecast;
use crate::tasks::launch::launch;
use crate::tell::Trouble;
use crate::web::app::App;
use crate::web::ask::Ask;
use crate::web::controls::{Wrong, address};
use crate::web::fields::{Fields, Form};
use crate::web::jobs::Job;
use crate::web::reply::{self, Reply, work};
use crate::web::shell::{Place, Step};

pub(super) fn routes() -> Router<Arc<App>> {
    Router::new().route("/aircraft/{name}/launch", get(show).post(run))
}

async fn show(
    State(app): State<Arc<App>>,
    ask: Ask,
    Path(name): Path<String>,
    RawQuery(query): RawQuery,
) -> Reply {
    work(app, ask, move |app, ask| {
        app.aircraft(&name)?;
        let fields = Fields::read(&query.unwrap_or_default());
        let named = name.clone();
        Ok(reply::later(app, ask, "Launch", &Place::Of(&name, Step::Launch), move |app, ask| {
            body(app, ask, &named, &fields)
        }))
    })
    .await
}

fn body(app: &Arc<App>, ask: &Ask, name: &str, fields: &Fields) -> Result<Markup, Trouble> {
    let fetched = app.aircraft(name)?;
    let asked = Asked::read(fields);
    let mut wrong = asked.wrong.clone();
    // What is usual for the aircraft stands in the empty fields; it needs the predictions, those at hand are enough.
    let prediction = match app.foresee(&fetched, &asked.told_air()) {
        Ok(seen) => Some(seen.prediction),
        Err(trouble) if asked.air_is_told() => {
            wrong = wrong.and(Wrong::of(&trouble, &CONTROLS));
            None
        }
        Err(trouble) => return Err(trouble),
    };
    let mut scene = None;
    if let Some(prediction) = &prediction {
        match asked.launch.scene(&fetched.aircraft, prediction) {
            Ok(meant) => {
                let against = against(&fetched.aircraft, prediction, &meant, asked.depth.runs);
                wrong = wrong.and(asked::refused(&against));
                scene = Some(meant);
            }
            Err(trouble) => wrong = wrong.and(Wrong::of(&trouble, &CONTROLS)),
        }
        if scene.is_none() {
            scene = crate::tasks::launch::Told::default().scene(&fetched.aircraft, prediction).ok();
        }
    }
    Ok(html! {
        h1 { "Launch" }
        p.lead { "How many launches of a hundred climb away cleanly, what drives the others, and what would help: thousands of simulated \
            launches that differ as launches do." }
        (wrong.part(&CONTROLS))
        @if let Some(scene) = &scene { (beware(&fetched.aircraft, scene)) }
        (asked::form(ask, name, &fetched.aircraft, fields, scene.as_ref(), &wrong))
    })
}

fn beware(aircraft: &aircraft::Aircraft, scene: &Scene) -> Markup {
    html! {
        div.warn {
            h2 { "Before anybody throws" }
            ul { @for caution in cautions(aircraft, &scene.method) { li { (caution) } } }
        }
    }
}

async fn run(State(app): State<Arc<App>>, Path(name): Path<String>, form: Form) -> Reply {
    let Form { ask, fields } = form;
    work(app, ask, move |app, _| {
        let path = Step::Launch.path(&name);
        let back = address(&path, &fields);
        let fetched = app.aircraft(&name)?;
        let asked = Asked::read(&fields);
        let not_started = || reply::on_to(&back, "Not started: what is wrong stands beside the fields.");
        if !asked.wrong.is_empty() {
            return Ok(not_started());
        }
        let air = asked.told_air();
        let seen = match app.foresee(&fetched, &air) {
            Ok(seen) => seen,
            Err(_) if asked.air_is_told() => return Ok(not_started()),
            Err(trouble) => return Err(trouble),
        };
        match asked.launch.scene(&fetched.aircraft, &seen.prediction) {
            Ok(scene)
                if against(&fetched.aircraft, &seen.prediction, &scene, asked.depth.runs).is_empty() => {}
            _ => return Ok(not_started()),
        }
        let title = format!("Launch odds of {name}");
        let job = app.jobs.start(&title, &back, move |job: &Job| {
            let prediction = if seen.rough {
                job.go_on(0.0, "its section tables are being computed, once".to_owned());
                Arc::new(forecast(&fetched.aircraft, &air)?)
            } else {
                Arc::clone(&seen.prediction)
            };
            let scene = asked.launch.scene(&fetched.aircraft, &prediction)?;
            let study = launch(&fetched.aircraft, &prediction, &scene, &asked.depth, &mut |p| {
                let share = if p.of > 0 { p.done as f64 / p.of as f64 } else { 0.0 };
                job.go_on(
                    share,
                    format!(
                        "{} of {} launches, those of every change and of the table counted",
                        p.done, p.of
                    ),
                )
            })?;
            Ok(outcome::part(&fetched.aircraft, &study, &fields))
        });
        Ok(reply::on_to(&format!("/work/{}", job.id), ""))
    })
    .await
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn wrong_numbers_are_told_beside_their_fields_and_stay() {
        let (_folder, app) = App::of_example();
        let fields = Fields::read("wind=5&gust=3&wind-from=north&how=sling&runs=7&height-m=9000");
        let page = body(&app, &Ask::plain(), "Wheatear", &fields).unwrap().into_string();
        for (field, words) in [
            ("wind-from", "is no number"),
            ("runs", "is outside 100 to 20000"),
            ("height-m", "is outside -430 to 5000 m"),
        ] {
            let at = page.find(&format!("id=\"{field}-wrong\"")).unwrap_or_else(|| panic!("{field}: {page}"));
            assert!(page[at..].split("</div>").next().unwrap().contains(words), "{field}");
        }
        assert!(page.contains("value=\"north\"") && page.contains("value=\"9000\""));
        // Once the air is right, the launch itself is looked at.
        let page =
            body(&app, &Ask::plain(), "Wheatear", &Fields::read("wind=400&how=sling")).unwrap().into_string();
        assert!(page.contains("Mean wind 400 is outside 0 to 60 m/s"), "{page}");
        assert!(page.contains("choose hand"), "{page}");
        // And then whether it can be computed at all.
        let page =
            body(&app, &Ask::plain(), "Wheatear", &Fields::read("wind=5&gust=3")).unwrap().into_string();
        assert!(page.contains("id=\"gust-wrong\""), "{page}");
    }

    #[test]
    fn the_form_shows_what_is_usual_and_the_cautions_of_the_way_that_is_chosen() {
        let (_folder, app) = App::of_example();
        let page =
            |query: &str| body(&app, &Ask::plain(), "Wheatear", &Fields::read(query)).unwrap().into_string();
        let by_hand = page("");
        assert!(by_hand.contains("name=\"how\" value=\"hand\" checked"), "the file's way is chosen");
        assert!(by_hand.contains("no finger, sleeve or hair reaches the propeller"));
        assert!(page("how=bungee").contains("A stretched cord holds more energy"));
        assert!(!by_hand.contains("role=\"alert\""));
        let script = page("heading=%3Cscript%3Ealert(1)%3C/script%3E");
        assert!(!script.contains("<script>") && script.contains("&lt;script&gt;"));
    }
}
