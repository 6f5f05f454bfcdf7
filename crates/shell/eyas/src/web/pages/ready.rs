//! Am I ready? The lists for home, field and launch, ticked with big targets, each measured value judged at once.

mod items;

use std::sync::Arc;

use axum::Router;
use axum::extract::{Path, RawQuery, State};
use axum::http::header::{COOKIE, SET_COOKIE};
use axum::http::{HeaderMap, HeaderValue};
use axum::routing::get;
use maud::{Markup, html};
use plan::ready::{self, Standing};

use self::items::{Said, item_part, place_words};
use crate::cli::now_ms;
use crate::tasks::fetch::Fetched;
use crate::tasks::forecast::Air;
use crate::tasks::readiness::{self, Line};
use crate::tell::{Kind, Trouble};
use crate::web::app::{App, Foreseen};
use crate::web::ask::Ask;
use crate::web::fields::{Fields, Form, encoded};
use crate::web::reply::{self, Reply, work};
use crate::web::shell::{Place, Step};

/// Longest name that signs, letters.
const LONGEST_NAME: usize = 80;

pub(super) fn routes() -> Router<Arc<App>> {
    Router::new()
        .route("/aircraft/{name}/ready", get(show).post(sign))
        .route("/aircraft/{name}/ready/judge", get(judge))
}

/// The name kept by this browser.
fn kept_name(headers: &HeaderMap) -> Option<String> {
    let text = headers
        .get_all(COOKIE)
        .iter()
        .filter_map(|value| value.to_str().ok())
        .flat_map(|line| line.split(';'))
        .find_map(|pair| pair.trim().strip_prefix("eyas_by="))?;
    Fields::read(&format!("by={text}")).text("by").map(str::to_owned)
}

fn keep_name(reply: &mut Reply, by: &str) {
    if let Ok(cookie) = HeaderValue::from_str(&format!(
        "eyas_by={}; Path=/; Max-Age=43200; SameSite=Strict; HttpOnly",
        encoded(by)
    )) {
        reply.headers_mut().append(SET_COOKIE, cookie);
    }
}

/// A name as it is signed: short, on one line.
fn signed_name(typed: Option<&str>) -> String {
    typed
        .unwrap_or_default()
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ")
        .chars()
        .take(LONGEST_NAME)
        .collect()
}

async fn show(
    State(app): State<Arc<App>>,
    ask: Ask,
    Path(name): Path<String>,
    RawQuery(query): RawQuery,
    headers: HeaderMap,
) -> Reply {
    work(app, ask, move |app, ask| {
        app.aircraft(&name)?;
        let fields = Fields::read(&query.unwrap_or_default());
        let told = fields.raw("by").map(|by| signed_name(Some(by)));
        let by = told.clone().or_else(|| kept_name(&headers)).unwrap_or_default();
        let named = name.clone();
        let mut reply = reply::later(app, ask, "Ready", &Place::Of(&name, Step::Ready), move |app, ask| {
            body(app, ask, &named, &fields, &by)
        });
        if let Some(by) = told {
            keep_name(&mut reply, &by);
        }
        Ok(reply)
    })
    .await
}

/// The lists of an aircraft, as they stand now.
struct List {
    fetched: Fetched,
    seen: Foreseen,
    lines: Vec<Line>,
}

fn list(app: &Arc<App>, name: &str) -> Result<List, Trouble> {
    let fetched = app.aircraft(name)?;
    let seen = app.foresee(&fetched, &Air::default())?;
    let lines = readiness::lines(&fetched, &seen.prediction, now_ms(), &app.common)?;
    Ok(List { fetched, seen, lines })
}

fn body(app: &Arc<App>, ask: &Ask, name: &str, fields: &Fields, by: &str) -> Result<Markup, Trouble> {
    let list = list(app, name)?;
    let place = fields.text("place").and_then(ready::Place::of).unwrap_or_else(|| first_open(&list.lines));
    // A caution stands above the first of the items that it is for.
    let mut before = None;
    let mut here: Vec<(&Line, Option<&str>)> = Vec::new();
    for line in list.lines.iter().filter(|l| l.item.place == place) {
        here.push((line, line.item.caution.filter(|caution| before != Some(*caution))));
        before = line.item.caution;
    }
    let pictures =
        report::directions_drawing::direction_svgs(&list.fetched.aircraft, list.seen.prediction.balance.cg_m);
    Ok(html! {
        h1 { "Ready" }
        (standing(app, name, &list, place, false)?)
        form.who method="get" action=(Step::Ready.path(name)) {
            input type="hidden" name="place" value=(place.word());
            div.field {
                label for="by" { "Who looks?" }
                div.unit {
                    input type="text" id="by" name="by" value=(by) autocomplete="name" maxlength=(LONGEST_NAME) aria-describedby="by-hint";
                    button.second { "Sign with this name" }
                }
                p.hint id="by-hint" {
                    @if by.is_empty() { "Every item is signed: write your name first." } @else { "What you tick is signed \u{201c}" (by) "\u{201d}." }
                }
            }
        }
        @if list.seen.rough { p.note { "Some section tables are still being computed; what a measurement must come to may become a little finer." } }
        h2 id="list" { (place_words(place)) }
        ol.checks {
            @for (line, caution) in here {
                @if let Some(caution) = caution { li.beware { p { strong { (caution) } } } }
                (item_part(ask, name, line, by, &pictures, &said_of(fields, &line.item.id), false))
            }
        }
        @if let Some(next) = next_place(place) {
            div.buttons { a.button.second href=(address(name, next, "")) { "On: " (place_words(next)) } }
        } @else {
            div.buttons { a.button.second href=(Step::Card.path(name)) { "On: the card" } }
        }
        p.note { "What failed grounds the aircraft until it passes. Local law, the field's rules and a club's instructor come first." }
    })
}

/// What the form before had to say of this item.
fn said_of(fields: &Fields, item: &str) -> Said {
    match fields.text("item") {
        Some(of) if of == item => Said {
            typed: fields.raw("typed").unwrap_or_default().to_owned(),
            wrong: fields.text("wrong").map(str::to_owned),
        },
        _ => Said::default(),
    }
}

fn first_open(lines: &[Line]) -> ready::Place {
    lines.iter().find(|l| l.standing != Standing::Passed).map_or(ready::Place::Launch, |l| l.item.place)
}

fn next_place(place: ready::Place) -> Option<ready::Place> {
    match place {
        ready::Place::Home => Some(ready::Place::Field),
        ready::Place::Field => Some(ready::Place::Launch),
        ready::Place::Launch => None,
    }
}

/// Address of a place's list, at an item.
fn address(name: &str, place: ready::Place, at: &str) -> String {
    let at = if at.is_empty() { String::new() } else { format!("#{at}") };
    format!("{}?place={}{at}", Step::Ready.path(name), place.word())
}

/// What grounds it, and how far each list is. `again`: it takes the place of the one on the page.
fn standing(
    app: &Arc<App>,
    name: &str,
    list: &List,
    place: ready::Place,
    again: bool,
) -> Result<Markup, Trouble> {
    let lines = &list.lines;
    let failed: Vec<&Line> = lines.iter().filter(|l| l.standing == Standing::Failed).collect();
    let open = lines.iter().filter(|l| l.standing == Standing::Open).count();
    let beside = readiness::grounds_beside(&list.fetched, lines, &app.common)?;
    let grounded = !failed.is_empty() || !beside.is_empty();
    Ok(html! {
        section #standing hx-swap-oob=[again.then_some("true")] {
            @if grounded {
                div.alarm {
                    h2 { "Grounded" }
                    ul {
                        @for line in &failed {
                            li { a href=(address(name, line.item.place, &items::anchor(&line.item.id))) { (line.item.title) } ": " (line.words) }
                        }
                        @for ground in &beside { li { (ground) } }
                    }
                    p { "It stays on the ground until each of these is mended and has passed. Defects are closed on the page "
                        a href=(Step::Keep.path(name)) { "Keep" } "." }
                }
            } @else if open == 0 {
                p.next { strong { "Ready, as far as these lists ask." } }
            } @else {
                p.big { (open) " of " (lines.len()) " items open." }
            }
            nav.places aria-label="Lists" {
                ul {
                    @for p in ready::Place::ALL {
                        @let here = lines.iter().filter(|l| l.item.place == p);
                        @let still = here.clone().filter(|l| l.standing != Standing::Passed).count();
                        li { a.button.second href=(address(name, p, "")) aria-current=[(p == place).then_some("page")] {
                            (place_words(p)) ": "
                            @if still == 0 { "done" } @else { (still) " of " (here.count()) " open" }
                        } }
                    }
                }
            }
        }
    })
}

/// Records what was found of one item. A script gets the item and the standing back, a plain form its page.
async fn sign(State(app): State<Arc<App>>, Path(name): Path<String>, form: Form) -> Reply {
    let Form { ask, fields } = form;
    work(app, ask, move |app, ask| {
        let id = fields.text("item").unwrap_or_default().to_owned();
        let by = signed_name(fields.text("by"));
        let value = value_of(&fields);
        let before = list(app, &name)?;
        let place =
            before.lines.iter().find(|l| l.item.id == id).map_or(ready::Place::Home, |l| l.item.place);
        let wrong = if by.is_empty() {
            Some("Not kept: nobody signed it. Write your name at the top of the page first.".to_owned())
        } else {
            let set = [(id.clone(), value.clone())];
            match readiness::record(
                &before.fetched,
                &before.seen.prediction,
                &set,
                &by,
                now_ms(),
                &app.common,
            ) {
                Ok(()) => None,
                Err(trouble) if trouble.kind() == Kind::Input => Some(trouble.causes().join("; ")),
                Err(trouble) => return Err(trouble),
            }
        };
        let typed = fields.raw("value").unwrap_or_default().to_owned();
        if !ask.part {
            let path = Step::Ready.path(&name);
            let at = items::anchor(&id);
            return Ok(match wrong {
                None => reply::on_to(&format!("{path}?place={}#{at}", place.word()), ""),
                Some(wrong) => reply::on_to(
                    &format!(
                        "{path}?place={}&item={}&typed={}&wrong={}#{at}",
                        place.word(),
                        encoded(&id),
                        encoded(&typed),
                        encoded(&wrong)
                    ),
                    "",
                ),
            });
        }
        let now = list(app, &name)?;
        let Some(line) = now.lines.iter().find(|l| l.item.id == id) else { return Err(no_item(&id)) };
        let said = Said { typed: if wrong.is_some() { typed } else { String::new() }, wrong };
        let pictures = report::directions_drawing::direction_svgs(
            &now.fetched.aircraft,
            now.seen.prediction.balance.cg_m,
        );
        Ok(reply::part(
            ask,
            &html! {
                (item_part(ask, &name, line, &by, &pictures, &said, true))
                (standing(app, &name, &now, place, true)?)
            },
        ))
    })
    .await
}

/// What was found: a number, or done or failed with what was noted.
fn value_of(fields: &Fields) -> String {
    let value = fields.text("value").unwrap_or_default().replace(',', ".");
    match fields.text("note") {
        Some(note) if value == "done" || value == "failed" => format!("{value}: {note}"),
        _ => value,
    }
}

fn no_item(id: &str) -> Trouble {
    Trouble::new(
        Kind::Missing,
        "there is no such item on the lists",
        format!("nothing is called {id}"),
        "load the page anew: the aircraft may have changed since",
    )
}

/// What a value would come to, while it is typed; nothing is kept.
async fn judge(
    State(app): State<Arc<App>>,
    ask: Ask,
    Path(name): Path<String>,
    RawQuery(query): RawQuery,
) -> Reply {
    work(app, ask, move |app, ask| {
        let fields = Fields::read(&query.unwrap_or_default());
        Ok(reply::part(ask, &judgement(app, &name, &fields)?))
    })
    .await
}

fn judgement(app: &Arc<App>, name: &str, fields: &Fields) -> Result<Markup, Trouble> {
    let value = value_of(fields);
    if value.is_empty() {
        return Ok(html! {});
    }
    let fetched = app.aircraft(name)?;
    let seen = app.foresee(&fetched, &Air::default())?;
    let id = fields.text("item").unwrap_or_default();
    Ok(match readiness::judged(&fetched, &seen.prediction, id, &value, &app.common) {
        Ok(judged) => html! { (items::state(judged.standing)) " " (judged.words) },
        Err(trouble) => html! { span.wrong { (trouble.causes().join("; ")) } },
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn page(app: &Arc<App>, query: &str, by: &str) -> String {
        body(app, &Ask::plain(), "Wheatear", &Fields::read(query), by).unwrap().into_string()
    }

    fn record(app: &Arc<App>, item: &str, value: &str, by: &str) {
        let list = list(app, "Wheatear").unwrap();
        let set = [(item.to_owned(), value.to_owned())];
        readiness::record(&list.fetched, &list.seen.prediction, &set, by, now_ms(), &app.common).unwrap();
    }

    #[test]
    fn an_item_that_failed_grounds_at_the_top_and_one_that_passed_is_signed() {
        let (_folder, app) = App::of_example();
        let before = page(&app, "place=home", "Kim");
        assert!(!before.contains("Grounded") && before.contains("items open"), "{before}");
        record(&app, "failsafe", "failed: <b>motor ran on</b>", "<Kim>");
        record(&app, "propeller_off", "done", "<Kim>");
        let after = page(&app, "place=home", "Kim");
        let top = after.split("id=\"list\"").next().unwrap();
        assert!(
            top.contains("Grounded")
                && top.contains("href=\"/aircraft/Wheatear/ready?place=home#i-failsafe\"")
        );
        assert!(after.contains("&lt;Kim&gt;") && !after.contains("<Kim>") && !after.contains("<b>motor"));
        // The list at home has its cautions and its pictures beside the items that they are for.
        assert!(
            after.contains("cuts to the bone")
                && after.contains("aria-label=\"Stick right, switch on direct\"")
        );
    }

    #[test]
    fn a_value_is_judged_while_it_is_typed_and_nothing_is_kept() {
        let (_folder, app) = App::of_example();
        let judged = |query: &str| judgement(&app, "Wheatear", &Fields::read(query)).unwrap().into_string();
        // The file's own mass is within the list's share of it; a tenth of a gram is not.
        let list = list(&app, "Wheatear").unwrap();
        let mass = 1000.0 * list.seen.prediction.balance.total_kg.value;
        assert!(judged(&format!("item=mass_g&value={mass:.0}")).contains("passed"));
        assert!(judged("item=mass_g&value=0,1").contains("failed"));
        let wrong = judged("item=mass_g&value=%3Cscript%3E");
        assert!(wrong.contains("is no measurement") && !wrong.contains("<script>"), "{wrong}");
        assert!(judged("item=satellites&value=x").contains("write a number, from 0 up"));
        assert!(judged("item=nothing&value=1").contains("there is no item"));
        assert!(list.lines.iter().all(|l| l.last.is_none()));
    }

    #[test]
    fn what_was_typed_wrong_stays_and_is_told_beside_it() {
        let (_folder, app) = App::of_example();
        let page = page(&app, "place=home&item=mass_g&typed=heavy&wrong=no+measurement", "");
        let at = page.find("id=\"i-mass_g\"").unwrap();
        let item = page[at..].split("</li>").next().unwrap();
        assert!(item.contains("value=\"heavy\"") && item.contains("no measurement"), "{item}");
        assert!(page.contains("write your name first"));
    }

    #[test]
    fn a_name_is_short_and_on_one_line() {
        assert_eq!(signed_name(Some("  Kim\n Doe ")), "Kim Doe");
        assert_eq!(signed_name(Some(&"x".repeat(500))).len(), LONGEST_NAME);
        assert_eq!(value_of(&Fields::read("value=done&note=twice")), "done: twice");
        assert_eq!(value_of(&Fields::read("value=3,5&note=twice")), "3.5");
    }
}
