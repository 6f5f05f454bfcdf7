//! A card that was issued: its page for the phone, its paper, and the ticks that come back from the field.

use std::io::Read as _;
use std::sync::Arc;

use axum::extract::{Multipart, Path, State};
use hangar::Card as Kept;
use maud::{Markup, html};
use plan::card::Card;

use super::issued_at;
use crate::cli::card::no_paper;
use crate::cli::now_ms;
use crate::tasks::flown::{self, Ticked};
use crate::tasks::issued;
use crate::tasks::keep;
use crate::tell::{Kind, Trouble};
use crate::web::app::App;
use crate::web::ask::Ask;
use crate::web::reply::{self, Reply, work};
use crate::web::shell::{Place, Step, form_key};
use crate::web::standalone;
use crate::web::upload;

/// Longest file of ticks that is read, bytes: a code is a line.
const LONGEST: u64 = 4096;

fn find(app: &App, name: &str, id: &str) -> Result<Kept, Trouble> {
    let missing = || {
        Trouble::new(
            Kind::Missing,
            "there is no such card",
            format!("\"{id}\" is no number of a card"),
            "choose one from the list of issued cards",
        )
    };
    let number = id.parse().map_err(|_| missing())?;
    let hangar = keep::open_existing(&app.common)?.ok_or_else(missing)?;
    issued::find(&hangar, name, number)
}

fn restored(kept: &Kept) -> Result<Card, Trouble> {
    issued::restored(&kept.json).ok_or_else(|| {
        Trouble::new(
            Kind::Input,
            format!("card {} cannot be read as a card", kept.id),
            "another version of the program made it, and its document tells something else",
            "its page for the phone is kept as it was issued and can be printed",
        )
    })
}

pub(super) async fn show(
    State(app): State<Arc<App>>,
    ask: Ask,
    Path((name, id)): Path<(String, String)>,
) -> Reply {
    work(app, ask, move |app, ask| {
        let kept = find(app, &name, &id)?;
        let body = body(app, ask, &name, &kept, "", None)?;
        Ok(reply::page(ask, &format!("Card {}", kept.id), &Place::Of(&name, Step::Card), &body))
    })
    .await
}

/// The page of a card. `typed` and `wrong`: a code that was not taken, and why.
fn body(
    app: &App,
    ask: &Ask,
    name: &str,
    kept: &Kept,
    typed: &str,
    wrong: Option<&str>,
) -> Result<Markup, Trouble> {
    let card = restored(kept);
    let path = format!("{}/{}", Step::Card.path(name), kept.id);
    let hangar = keep::open(&app.common)?;
    let newest = hangar.aircraft(name).map_err(keep::trouble)?.number;
    let ticks = hangar.ticks(kept.id).map_err(keep::trouble)?;
    let back = ticks.last().and_then(|(code, at_ms)| Some((flown::ticked(kept, code).ok()?, *at_ms)));
    let title = card.as_ref().map_or_else(|_| "Card".to_owned(), |c| c.title.clone());
    Ok(html! {
        h1 { "Card " (kept.id) ": " (title) }
        p { "Issued " (issued_at(kept.at_ms)) " for revision " (kept.revision_number) " of the aircraft file, by version " (kept.version) "." }
        @if newest != kept.revision_number {
            div.warn { p { "The aircraft file has changed since (revision " (newest) " now): "
                a href=(Step::Card.path(name)) { "issue a new card" } " before you fly." } }
        }
        h2 { "Take it to the field" }
        div.buttons {
            a.button href={ (path) "/phone" } { "Open the page for the phone" }
            a.button.second href={ (path) "/card.html" } { "Keep that page as a file" }
            @if card.is_ok() { a.button.second href={ (path) "/card.pdf" } { "A5 pages to print (PDF)" } }
        }
        p { "The page for the phone needs no connection once it is loaded, and keeps its ticks. Where the phone does not reach these pages, keep the \
            file and send it over. The page prints, too." }
        h2 { "Ticks from the field" }
        @if let Some((points, at_ms)) = &back { (ticked(points, *at_ms)) } @else {
            p { "None have come back. The phone shows a code under \u{201c}Bring the ticks back\u{201d}, and writes a file with it." }
        }
        form method="post" action={ (path) "/ticks" } enctype="multipart/form-data" {
            (form_key(ask))
            div.field {
                label for="code" { "The code" }
                input type="text" id="code" name="code" value=(typed) autocomplete="off" autocapitalize="characters" spellcheck="false"
                    aria-invalid=[wrong.map(|_| "true")] aria-describedby={ "code-hint" @if wrong.is_some() { " code-wrong" } };
                p.hint id="code-hint" { "As the phone shows it; dashes and small letters do not matter." }
                @if let Some(wrong) = wrong { p.wrong id="code-wrong" role="alert" { (wrong) } }
            }
            div.field {
                label for="file" { "Or the file with it" }
                input type="file" id="file" name="file" accept=".txt,text/plain";
            }
            div.buttons { button { "Bring the ticks back" } }
        }
        p.note { "A tick says that a point was flown, not that it taught anything: that, the recording says." }
        @if let (Ok(card), None) = (&card, &back) {
            h2 { "What it says" }
            ol { @for point in &card.points { li { (point.title) } } }
        }
        div.buttons { a.button.second href=(Step::Card.path(name)) { "All cards" } a.button.second href=(Step::Flights.path(name)) { "On: the recording" } }
    })
}

fn ticked(points: &[Ticked], at_ms: i64) -> Markup {
    let done = points.iter().filter(|(_, _, on)| *on).count();
    html! {
        p { strong { (done) " of " (points.len()) " points ticked" } ", brought back " (issued_at(at_ms)) "." }
        table {
            thead { tr { th { "Point" } th { "Ticked" } } }
            tbody { @for (_, title, on) in points { tr { th scope="row" { (title) } td { @if *on { "yes" } @else { "no" } } } } }
        }
    }
}

pub(super) async fn phone(
    State(app): State<Arc<App>>,
    ask: Ask,
    Path((name, id)): Path<(String, String)>,
) -> Reply {
    work(app, ask, move |app, ask| {
        let kept = find(app, &name, &id)?;
        Ok(standalone::show(ask, String::from_utf8_lossy(&kept.html).into_owned()))
    })
    .await
}

pub(super) async fn file(
    State(app): State<Arc<App>>,
    ask: Ask,
    Path((name, id)): Path<(String, String)>,
) -> Reply {
    work(app, ask, move |app, _| {
        let kept = find(app, &name, &id)?;
        Ok(reply::file(&format!("card-{}-{name}.html", kept.id), "text/html; charset=utf-8", kept.html))
    })
    .await
}

pub(super) async fn paper(
    State(app): State<Arc<App>>,
    ask: Ask,
    Path((name, id)): Path<(String, String)>,
) -> Reply {
    work(app, ask, move |app, _| {
        let kept = find(app, &name, &id)?;
        let pdf = report::card_pdf::card_pdf(&restored(&kept)?).map_err(no_paper)?;
        Ok(reply::file(&format!("card-{}-{name}.pdf", kept.id), "application/pdf", pdf))
    })
    .await
}

/// Takes ticks as a typed code or as the file that the phone wrote.
pub(super) async fn ticks(
    State(app): State<Arc<App>>,
    ask: Ask,
    Path((name, id)): Path<(String, String)>,
    form: Multipart,
) -> Reply {
    let sent = match upload::take(&ask, form).await {
        Ok(sent) => sent,
        Err(trouble) => return reply::trouble(&ask, &trouble),
    };
    work(app, ask, move |app, ask| {
        let kept = find(app, &name, &id)?;
        let code = match sent.files.first() {
            Some(file) => text_of(&file.on_disk, &file.name)?,
            None => sent.fields.text("code").unwrap_or_default().to_owned(),
        };
        match bring_back(app, &kept, &code) {
            Ok(said) => {
                let path = format!("{}/{}", Step::Card.path(&name), kept.id);
                Ok(reply::on_to(&path, &said))
            }
            Err(trouble) if trouble.kind() == Kind::Input => {
                // What a file held is not put into the field: only what was typed there.
                let typed: String = sent.fields.text("code").unwrap_or_default().chars().take(200).collect();
                let wrong = format!("Not taken: {}.", trouble.causes().join("; "));
                let body = body(app, ask, &name, &kept, &typed, Some(&wrong))?;
                Ok(reply::page(ask, &format!("Card {}", kept.id), &Place::Of(&name, Step::Card), &body))
            }
            Err(trouble) => Err(trouble),
        }
    })
    .await
}

fn text_of(file: &tempfile::NamedTempFile, name: &str) -> Result<String, Trouble> {
    let mut text = Vec::new();
    file.reopen().and_then(|f| f.take(LONGEST).read_to_end(&mut text)).map_err(|error| {
        Trouble::new(
            Kind::Input,
            "the file of ticks could not be read",
            format!("{name}: {error}"),
            "send it again, or type the code",
        )
    })?;
    Ok(String::from_utf8_lossy(&text).trim().to_owned())
}

/// Keeps ticks that are this card's.
fn bring_back(app: &App, kept: &Kept, code: &str) -> Result<String, Trouble> {
    let refused = |cause: String| Trouble::new(Kind::Input, "the ticks could not be read", cause, "");
    if code.is_empty() {
        return Err(refused("write the code, or choose the file with it".to_owned()));
    }
    let points = flown::ticked(kept, code).map_err(|cause| refused(cause.to_string()))?;
    keep::open(&app.common)?.keep_ticks(kept.id, code, now_ms()).map_err(keep::trouble)?;
    let done = points.iter().filter(|(_, _, on)| *on).count();
    Ok(format!("{done} of {} points ticked.", points.len()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tasks::issue;
    use crate::tasks::today::Told;

    #[test]
    fn a_card_is_kept_comes_back_as_it_was_and_takes_its_own_ticks_alone() {
        let (_folder, app) = App::of_example();
        let fetched = app.aircraft("Wheatear").unwrap();
        let told = Told { wind: Some(2.0), gust: Some(3.0), ..Told::default() };
        let made = issue::issue(&fetched, &told, &app.common).unwrap();
        let kept = issue::kept(&fetched, &made, now_ms(), &app.common).unwrap();
        let found = find(&app, "Wheatear", &kept.id.to_string()).unwrap();
        let mut back = restored(&found).unwrap();
        // Numbers come out of a document to the last digit but one; a card tells seconds.
        const LAST_DIGIT_S: f64 = 1e-9;
        for (time, was) in [
            (&mut back.allowed_s, made.card.allowed_s),
            (&mut back.planned_cruise_s, made.card.planned_cruise_s),
        ] {
            assert!((time.unwrap() - was.unwrap()).abs() < LAST_DIGIT_S);
            *time = was;
        }
        assert_eq!(back, made.card, "what goes on paper is what was issued");
        for (aircraft, id) in [("Wheatear", "99"), ("Wheatear", "../1"), ("Plover", "1")] {
            assert_eq!(find(&app, aircraft, id).unwrap_err().kind(), Kind::Missing, "{aircraft} {id}");
        }
        assert!(bring_back(&app, &kept, "").is_err());
        let wrong = bring_back(&app, &kept, "<script>").unwrap_err();
        let page = body(&app, &Ask::plain(), "Wheatear", &kept, "<script>", Some(&wrong.causes().join("; ")))
            .unwrap()
            .into_string();
        assert!(page.contains("id=\"code-wrong\"") && page.contains("value=\"&lt;script&gt;\""), "{page}");
        assert!(!page.contains("<script>"));
        let points = &made.card.points;
        let mark = report::ticks::mark(&made.card.title, points.iter().map(|p| p.id.as_str()));
        let ticks: Vec<bool> = (0..points.len()).map(|i| i < 2).collect();
        let code = report::ticks::encode(mark, &ticks);
        assert_eq!(
            bring_back(&app, &kept, &code.to_lowercase()).unwrap(),
            format!("2 of {} points ticked.", points.len())
        );
        let page = body(&app, &Ask::plain(), "Wheatear", &kept, "", None).unwrap().into_string();
        assert!(page.contains(&format!("2 of {} points ticked", points.len())), "{page}");
    }
}
