//! What do I fly, in what order? The next flight's card looked at before it is issued, the cards that were, and the ticks
//! that come back from the field.

mod issued;
mod preview;

use std::sync::Arc;

use axum::Router;
use axum::extract::{Path, RawQuery, State};
use axum::http::HeaderMap;
use axum::routing::{get, post};
use maud::{Markup, html};
use sky::instant::Instant;

use super::day::asked::{self, Asked, CONTROLS};
use super::day::kept;
use crate::cli::now_ms;
use crate::tasks::{issue, keep};
use crate::tell::{Kind, Trouble};
use crate::web::app::App;
use crate::web::ask::Ask;
use crate::web::controls::{Wrong, address, carried, control};
use crate::web::fields::{Fields, Form};
use crate::web::reply::{self, Reply, work};
use crate::web::shell::{self, Place, Step, form_key};

pub(super) fn routes() -> Router<Arc<App>> {
    Router::new()
        .route("/aircraft/{name}/card", get(show).post(issue_it))
        .route("/aircraft/{name}/card/{id}", get(issued::show))
        .route("/aircraft/{name}/card/{id}/phone", get(issued::phone))
        .route("/aircraft/{name}/card/{id}/card.html", get(issued::file))
        .route("/aircraft/{name}/card/{id}/card.pdf", get(issued::paper))
        .route("/aircraft/{name}/card/{id}/ticks", post(issued::ticks))
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
        let told = Fields::read(&query.unwrap_or_default());
        // A card for no day in particular is asked for in so many words.
        let any = told.text("day") == Some("any");
        let before = (told.iter().next().is_none()).then(|| kept::take(&headers, &name)).flatten();
        let fields = if any { Fields::default() } else { before.clone().unwrap_or(told) };
        let named = name.clone();
        Ok(reply::later(app, ask, "Card", &Place::Of(&name, Step::Card), move |app, ask| {
            body(app, ask, &named, &fields, before.is_some())
        }))
    })
    .await
}

fn body(app: &Arc<App>, ask: &Ask, name: &str, fields: &Fields, before: bool) -> Result<Markup, Trouble> {
    let fetched = app.aircraft(name)?;
    let asked = Asked::read(fields);
    let mut wrong = asked.wrong.clone();
    let mut grounded = None;
    let mut card = None;
    if wrong.is_empty() {
        match issue::issue(&fetched, &asked.told, &app.common) {
            Ok(issued) => card = Some(issued.card),
            Err(trouble) if trouble.kind() == Kind::Input => wrong = Wrong::of(&trouble, &CONTROLS),
            Err(trouble) => grounded = Some(trouble),
        }
    }
    Ok(html! {
        h1 { "Card" }
        p.lead { "The next flight's points in their order, with the numbers to expect, the calls and the stop rules: for the phone at the field, or \
            on paper." }
        h2 { "For which day" }
        (the_day(name, fields, before, &wrong))
        @if let Some(trouble) = &grounded {
            div.alarm role="alert" {
                h2 { (shell::capital(trouble.asked())) }
                ul { @for cause in trouble.causes() { li { (asked::plainly(cause)) } } }
                p { "What to do: mend it, close the defect on the page " a href=(Step::Keep.path(name)) { "Keep" }
                    ", and record what was looked at again on the page " a href=(Step::Ready.path(name)) { "Ready" } "." }
            }
        }
        @if let Some(card) = &card {
            @if card.day.is_none() && fields.text("wind").is_none() {
                div.warn { p { "The wind was not told: the points are those of calm air. Measure it at the field before the launch." } }
            }
            (preview::part(card))
            form method="post" action=(Step::Card.path(name)) {
                (form_key(ask))
                (carried(fields))
                p { "An issued card is kept as it is, with the revision of the aircraft that it was made for. It does not say that the flight is safe: \
                    the wind measured at the field, local rules and the club's instructor decide." }
                div.buttons { button { "Issue this card" } }
            }
        }
        (list(app, name)?)
    })
}

/// What is told of the day, and the way to tell it.
fn the_day(name: &str, fields: &Fields, before: bool, wrong: &Wrong) -> Markup {
    let told = asked::in_short(fields);
    let path = Step::Card.path(name);
    let wind = |c: &&crate::web::controls::Control| ["wind", "gust", "from"].contains(&c.name);
    html! {
        @if before { p.next { "With what this browser told of the day before. If the weather has changed since, judge it anew." } }
        (wrong.part(&CONTROLS))
        @if told.is_empty() || !wrong.is_empty() {
            @if told.is_empty() {
                p { "No day was told: then the points are chosen as for calm air, and the card says so. Better: "
                    a href=(Step::Day.path(name)) { "judge the day first" } ", and come back with it. Or tell the wind alone:" }
            }
            form method="get" action=(path) {
                div.fields { @for c in CONTROLS.iter().filter(wind) { (control(c, fields, "", wrong)) } }
                div.buttons { button.second { "Look at the card for this wind" } }
            }
        } @else {
            dl { @for (what, value) in &told { div { dt { (what) } dd { (value) } } } }
        }
        @if !told.is_empty() {
            div.buttons {
                a.button.second href=(address(&Step::Day.path(name), fields)) { "Change it on the page Day" }
                a.button.second href={ (path) "?day=any" } { "Leave the day out" }
            }
        }
    }
}

/// The cards that were issued, the newest first.
fn list(app: &App, name: &str) -> Result<Markup, Trouble> {
    let Some(hangar) = keep::open_existing(&app.common)? else { return Ok(html! {}) };
    let mut cards = hangar.issued_cards(name).map_err(keep::trouble)?;
    cards.reverse();
    let mut rows = Vec::new();
    for card in cards {
        let ticks = hangar.ticks(card.id).map_err(keep::trouble)?.len();
        rows.push((card, ticks));
    }
    Ok(html! {
        h2 { "Issued cards" }
        @if rows.is_empty() {
            p { "None yet. The first one stands here once it is issued, with its page for the phone, its paper, and the ticks that come back." }
        } @else {
            p { "Open one for its page on the phone, its paper, and to bring its ticks back." }
            table.stack {
                thead { tr { th { "Card" } th { "Issued" } th { "Aircraft file" } th { "Ticks" } } }
                tbody {
                    @for (card, ticks) in &rows {
                        tr {
                            th scope="row" { a href={ (Step::Card.path(name)) "/" (card.id) } { "Card " (card.id) } }
                            td data-name="Issued" { (issued_at(card.at_ms)) }
                            td data-name="Aircraft file" { "revision " (card.revision_number) }
                            td data-name="Ticks" { @if *ticks == 0 { "not back yet" } @else { "back" } }
                        }
                    }
                }
            }
        }
    })
}

fn issued_at(at_ms: i64) -> String {
    Instant::from_unix_s(at_ms.div_euclid(1000)).date_and_clock()
}

async fn issue_it(State(app): State<Arc<App>>, Path(name): Path<String>, form: Form) -> Reply {
    let Form { ask, fields } = form;
    work(app, ask, move |app, _| {
        let fetched = app.aircraft(&name)?;
        let asked = Asked::read(&fields);
        let path = Step::Card.path(&name);
        let not_issued =
            || reply::on_to(&address(&path, &fields), "Not issued: what is wrong stands beside the fields.");
        if !asked.wrong.is_empty() {
            return Ok(not_issued());
        }
        let made = match issue::issue(&fetched, &asked.told, &app.common) {
            Ok(made) => made,
            Err(trouble) if trouble.kind() == Kind::Input => return Ok(not_issued()),
            Err(trouble) => return Err(trouble),
        };
        let card = issue::kept(&fetched, &made, now_ms(), &app.common)?;
        Ok(reply::on_to(&format!("{path}/{}", card.id), &format!("Issued and kept as card {}.", card.id)))
    })
    .await
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tasks::forecast::Air;
    use crate::tasks::readiness;

    const CALM: &str = "metar=METAR+EDXX+211220Z+24005KT+CAVOK+19%2F08+Q1021&at=2026-06-21T13%3A00&lat=52.5&lon=9.7&height-m=55&heading=240";

    fn page(app: &Arc<App>, query: &str) -> String {
        body(app, &Ask::plain(), "Wheatear", &Fields::read(query), false).unwrap().into_string()
    }

    #[test]
    fn a_card_is_looked_at_with_what_is_left_out_and_why_before_it_is_issued() {
        let (_folder, app) = App::of_example();
        let page = page(&app, CALM);
        assert!(page.contains("First flight of Wheatear"), "{page}");
        assert!(page.contains("Left out, and why") && page.contains("Issue this card"));
        assert!(page.contains("name=\"metar\" value=\"METAR EDXX 211220Z 24005KT CAVOK 19/08 Q1021\""));
        assert!(page.contains("None yet."));
    }

    #[test]
    fn without_a_day_the_way_to_it_is_shown_and_wrong_wind_stands_beside_its_field() {
        let (_folder, app) = App::of_example();
        let bare = page(&app, "");
        assert!(
            bare.contains("href=\"/aircraft/Wheatear/day\"") && bare.contains("No day was told"),
            "{bare}"
        );
        let wrong = page(&app, "wind=5&gust=3");
        assert!(wrong.contains("id=\"gust-wrong\"") && !wrong.contains("Issue this card"), "{wrong}");
        let script = page(&app, "metar=%3Cscript%3E");
        assert!(!script.contains("<script>") && !script.contains("Issue this card"));
    }

    #[test]
    fn an_aircraft_that_failed_a_check_gets_no_card_and_is_told_why() {
        let (_folder, app) = App::of_example();
        let fetched = app.aircraft("Wheatear").unwrap();
        let seen = app.foresee(&fetched, &Air::default()).unwrap();
        let set = [("failsafe".to_owned(), "failed".to_owned())];
        readiness::record(&fetched, &seen.prediction, &set, "Kim", now_ms(), &app.common).unwrap();
        let page = page(&app, "wind=2&gust=3");
        assert!(page.contains("stays on the ground") && !page.contains("Issue this card"), "{page}");
    }
}
