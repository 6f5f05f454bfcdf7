//! Will it fly, and how? All predictions, and what they would be with another balance point, pack position, weight, throw
//! or air: tried by sliders whose values stand in the address, kept only when asked.

mod compare;
mod tried;

use std::sync::Arc;

use axum::Router;
use axum::extract::{Path, RawQuery, State};
use axum::http::{HeaderMap, HeaderValue};
use axum::routing::{get, post};
use maud::{Markup, html};
use predict::prediction::Prediction;

use crate::cli::now_ms;
use crate::tasks::edit::{self, Edited, Outcome};
use crate::tasks::fetch::Fetched;
use crate::tell::{Kind, Trouble};
use crate::web::app::App;
use crate::web::ask::Ask;
use crate::web::fields::{Fields, Form};
use crate::web::reply::{self, Reply, work};
use crate::web::shell::{self, Place, Step, form_key, word};
use tried::Tried;

pub(super) fn routes() -> Router<Arc<App>> {
    Router::new()
        .route("/aircraft/{name}/predict", get(show))
        .route("/aircraft/{name}/predict/keep", post(keep))
}

/// Everything that the page and its part are made from.
struct Answer {
    fetched: Fetched,
    revision: u32,
    described: Arc<Prediction>,
    tried: Tried,
    /// Predictions of what is tried, or why there are none.
    prediction: Result<Arc<Prediction>, Trouble>,
    rough: bool,
}

fn answer(app: &Arc<App>, name: &str, fields: &Fields) -> Result<Answer, Trouble> {
    let fetched = app.aircraft(name)?;
    let revision = edit::current(&app.common, name)?.revision.number;
    let tried = Tried::read(fields, &fetched.aircraft);
    let foreseen = app.foresee(&fetched, &tried.air)?;
    let prediction = if !tried.wrong.is_empty() {
        Err(Trouble::many(
            Kind::Input,
            "this could not be tried",
            tried.wrong.iter().map(|(_, words)| words.clone()).collect(),
            "mend the number beside its field",
        ))
    } else if tried.what.is_nothing() {
        Ok(Arc::clone(&foreseen.prediction))
    } else {
        app.warm.predict(&tried.what.tried(&fetched.aircraft), &tried.air).map(|(p, _)| Arc::new(p))
    };
    Ok(Answer { fetched, revision, described: foreseen.prediction, tried, prediction, rough: foreseen.rough })
}

async fn show(
    State(app): State<Arc<App>>,
    ask: Ask,
    Path(name): Path<String>,
    headers: HeaderMap,
    RawQuery(query): RawQuery,
) -> Reply {
    // Going back asks for the whole page, though it is the library that asks.
    let part = ask.part && !headers.contains_key("hx-history-restore-request");
    let settled = headers.get("x-settled").is_some_and(|v| v == "yes");
    let fields = Fields::read(&query.unwrap_or_default());
    work(app, ask, move |app, ask| {
        if part {
            let answer = answer(app, &name, &fields)?;
            let mut reply = reply::part(ask, &changing(ask, &name, &answer));
            let header = if settled { "hx-push-url" } else { "hx-replace-url" };
            if let Ok(address) = HeaderValue::from_str(&answer.tried.address(&name)) {
                reply.headers_mut().insert(header, address);
            }
            return Ok(reply);
        }
        // A name that nobody knows is told before the frame goes out.
        app.aircraft(&name)?;
        let known = name.clone();
        Ok(reply::later(app, ask, "Predict", &Place::Of(&name, Step::Predict), move |app, ask| {
            let answer = answer(app, &known, &fields)?;
            Ok(whole(ask, &known, &answer))
        }))
    })
    .await
}

fn whole(ask: &Ask, name: &str, answer: &Answer) -> Markup {
    html! {
        h1 { "Will it fly, and how?" }
        p {
            "Estimates from what is described, at cruise unless said otherwise. "
            a href=(Step::Describe.path(name)) { "What is described" } " is not touched by anything you try here."
        }
        div.trying {
            div.panel
                hx-get=(Step::Predict.path(name)) hx-trigger="change" hx-include="#tried" hx-target="#answer"
                hx-headers=r#"{"X-Settled":"yes"}"# {
                (tried::form(name, answer))
                div id="key" { (key_numbers(answer)) }
            }
            div id="answer" aria-live="off" { (body(ask, name, answer)) }
        }
    }
}

/// What changes when something else is tried: the answer, and beside the sliders the key numbers and what is wrong.
fn changing(ask: &Ask, name: &str, answer: &Answer) -> Markup {
    html! {
        (body(ask, name, answer))
        div id="key" hx-swap-oob="true" { (key_numbers(answer)) }
        @for (id, ..) in tried::AIR {
            p.wrong id={"wrong-" (id)} hx-swap-oob="true" role="alert" { (answer.tried.wrong_of(id)) }
        }
    }
}

fn key_numbers(answer: &Answer) -> Markup {
    let Ok(p) = &answer.prediction else { return html! {} };
    html! {
        dl {
            @for (name, value) in compare::key(p) { div { dt { (name) } dd { (value) } } }
        }
    }
}

fn body(ask: &Ask, name: &str, answer: &Answer) -> Markup {
    let aircraft = answer.tried.what.tried(&answer.fetched.aircraft);
    html! {
        @if answer.rough {
            div.next hx-get=(answer.tried.address(name)) hx-trigger="load delay:4s" hx-target="#answer" role="status" {
                "The sections of this aircraft are being computed, once, beside these pages. Until that is done (up to some "
                "minutes) these numbers rest on the simple section model: rougher, most of all around the stall. They become "
                "finer here by themselves."
                noscript { " Load the page again to see them." }
            }
        }
        @match &answer.prediction {
            Ok(p) => {
                @if !answer.tried.what.is_nothing() { (what_is_tried(ask, name, answer, p)) }
                (report::predict_page::predict_part(&aircraft, p))
                h2 { "Hard words" }
                p.words {
                    (word("static margin", "How far the balance point lies ahead of the neutral point, in per cent of the mean chord. More is steadier and heavier on the elevator, none or less cannot be flown by hand."))
                    " " (word("neutral point", "Where all extra lift acts when the angle of attack grows. The balance point has to lie ahead of it."))
                    " " (word("trim", "The surface position that holds a speed without the stick."))
                    " " (word("time constant", "The time until 63 per cent of a change has happened."))
                }
            },
            Err(trouble) => (shell::told(trouble)),
        }
    }
}

/// What is tried beside what is described, and the offer to keep it.
fn what_is_tried(ask: &Ask, name: &str, answer: &Answer, p: &Prediction) -> Markup {
    let changes = answer.tried.changes(&answer.fetched.aircraft, &answer.described);
    html! {
        section.block aria-labelledby="tried-title" {
            h2 id="tried-title" { "What you try" }
            ul { @for change in &changes { li { (change) } } }
            (compare::table(&answer.described, p))
            form method="post" action={(Step::Predict.path(name)) "/keep"} {
                (form_key(ask))
                input type="hidden" name="revision" value=(answer.revision);
                @for (key, value) in answer.tried.pairs() { input type="hidden" name=(key) value=(value); }
                p.note {
                    "Keeping writes these numbers into the description as a new revision, as a wish and not as a measurement. "
                    "Then move the pack, set the throws with the propeller off, weigh and balance the model again, and describe "
                    "what you measure."
                }
                div.buttons {
                    button { "Write these into the description" }
                    a.button.second href=(answer.tried.air_address(name)) { "Back to what is described" }
                }
            }
        }
    }
}

async fn keep(State(app): State<Arc<App>>, Path(name): Path<String>, form: Form) -> Reply {
    let fields = form.fields;
    work(app, form.ask, move |app, _| {
        let fetched = app.aircraft(&name)?;
        let tried = Tried::read(&fields, &fetched.aircraft);
        let base = fields.text("revision").and_then(|n| n.parse::<u32>().ok()).unwrap_or(0);
        if !tried.wrong.is_empty() || tried.what.is_nothing() {
            return Ok(reply::on_to(&tried.address(&name), "Nothing to keep: nothing else is tried."));
        }
        let refused = |cause: String| {
            Trouble::new(
                Kind::No,
                "what you tried was not kept",
                cause,
                "change the numbers on the page Describe instead; the address of the page before still holds what you tried",
            )
        };
        let text = tried.what.written(&fetched.text, &fetched.aircraft).map_err(|e| refused(e.to_string()))?;
        let edited = Edited {
            name: &name,
            base,
            text: &text,
            section_files: &fetched.section_files,
            note: "tried with the predictions",
            at_ms: now_ms(),
        };
        match edit::keep_edited(&app.common, &edited)? {
            Outcome::Kept(revision) => Ok(reply::on_to(
                &tried.air_address(&name),
                &format!(
                    "Kept as revision {}. Now move the pack and set the throws, propeller off, and measure again.",
                    revision.number
                ),
            )),
            Outcome::Overtaken(now) => Err(Trouble::new(
                Kind::Conflict,
                "what you tried was not kept",
                format!(
                    "revision {} was kept meanwhile ({}); you tried with revision {base}",
                    now.revision.number, now.revision.note
                ),
                "go back, load the page anew: it then shows what you try with the newest description",
            )),
            Outcome::Faulty(faults) => Err(refused(
                faults.first().map_or_else(String::new, |f| format!("{}: {}", f.problem, f.remedy)),
            )),
            Outcome::Renamed(_) => Err(refused("the description names another aircraft".to_owned())),
        }
    })
    .await
}
