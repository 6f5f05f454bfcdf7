//! What do I have? Every aircraft with its drawing, where in its round it stands, and what to do next; and the way of all
//! of it out and in.

use std::sync::Arc;

use axum::Router;
use axum::extract::{DefaultBodyLimit, Multipart, Path, State};
use axum::routing::{get, post};
use maud::{Markup, PreEscaped, html};

use crate::cli::now_ms;
use crate::tasks::forecast::Air;
use crate::tasks::standing::{self, Standing};
use crate::tasks::{keep, restore};
use crate::tell::{Kind, Trouble};
use crate::web::app::App;
use crate::web::ask::Ask;
use crate::web::pages::round;
use crate::web::reply::{self, Reply, work};
use crate::web::shell::{self, Place, Step, form_key};
use crate::web::{outgoing, upload};

pub(super) fn routes() -> Router<Arc<App>> {
    Router::new()
        .route("/", get(show))
        .route("/hangar/backup", get(backup))
        // The upload itself holds what comes to its own limit, and answers in words.
        .route("/hangar/restore", post(put_back).layer(DefaultBodyLimit::disable()))
        .route("/hangar/part/{name}", get(part))
}

async fn show(State(app): State<Arc<App>>, ask: Ask) -> Reply {
    reply::later(&app, &ask, "Hangar", &Place::Hangar, body)
}

/// One aircraft of the list anew, once its finer numbers are there.
async fn part(State(app): State<Arc<App>>, ask: Ask, Path(name): Path<String>) -> Reply {
    work(app, ask, move |app, ask| Ok(reply::part(ask, &one(app, &name)))).await
}

fn body(app: &Arc<App>, ask: &Ask) -> Result<Markup, Trouble> {
    let hangar = keep::open_existing(&app.common)?;
    let names = match &hangar {
        Some(hangar) => hangar.names().map_err(keep::trouble)?,
        None => Vec::new(),
    };
    drop(hangar);
    let place = keep::path(&app.common)?;
    Ok(html! {
        h1 { "Hangar" }
        @if names.is_empty() {
            p.lead { "No aircraft is kept yet. Begin with one of these; whatever you do is kept on this machine and nowhere else." }
            (beginnings(ask))
        } @else {
            div.cards { @for name in &names { (one(app, name)) } }
            div.buttons { a.button.second href="/aircraft/new" { "Another aircraft" } }
        }
        section aria-labelledby="all" {
            h2 id="all" { "All of it" }
            p { "Everything is kept in one file: " code { (place.display()) } "." }
            @if !names.is_empty() {
                p { "A backup is a second copy of that file, checked after it was written. Keep it on another disk. Settings are in it as they came, passwords included." }
                div.buttons { a.button.second href="/hangar/backup" download { "Download a backup" } }
            }
            (restore_part(ask, names.is_empty()))
        }
    })
}

fn beginnings(ask: &Ask) -> Markup {
    html! {
        div.cards {
            article {
                h2 { "Describe a new one" }
                p { "Ruler, scale and an hour on the bench: what you measure becomes its balance, speeds and limits." }
                div.buttons { a.button href="/aircraft/new" { "Make one" } }
            }
            article {
                h2 { "Bring a file" }
                p { "An aircraft file that was written here or by hand." }
                div.buttons { a.button.second href="/aircraft/new#aircraft-file" { "Upload one" } }
            }
            article {
                h2 { "Try the demo aircraft" }
                p { "An invented model, to see what each step asks and answers." }
                form method="post" action="/aircraft/new/demo" { (form_key(ask)) div.buttons { button.second { "Take the demo aircraft" } } }
            }
        }
    }
}

fn restore_part(ask: &Ask, empty: bool) -> Markup {
    html! {
        details {
            summary { @if empty { "I have a backup" } @else { "Put a backup in its place" } }
            p {
                "The file is taken only if every checksum in it holds. "
                @if !empty { "What is kept now is kept beside it, under a name that ends in \u{201c}before\u{201d} and a number." }
            }
            form method="post" action="/hangar/restore" enctype="multipart/form-data" data-upload=""
                data-asks=[(!empty).then_some("Put the backup in the place of all that is kept now?")] {
                (form_key(ask))
                div.field {
                    label for="backup" { "Backup" }
                    input type="file" id="backup" name="backup" accept=".db" required aria-describedby="backup-hint";
                    p.hint id="backup-hint" { "A file that \u{201c}Download a backup\u{201d} gave." }
                }
                div.buttons { button.second { "Put it in place" } }
            }
        }
    }
}

/// An aircraft as a card. What is wrong with it is told in its place, and the others stand.
fn one(app: &Arc<App>, name: &str) -> Markup {
    match stands(app, name) {
        Ok((drawing, standing, rough)) => card(name, drawing, &standing, rough),
        Err(trouble) => html! {
            article {
                h2 { a href=(Step::Round.path(name)) { (name) } }
                (shell::told(&trouble))
                div.buttons { a.button.second href={ (Step::Describe.path(name)) "/file" } { "Open its file" } }
            }
        },
    }
}

fn stands(app: &Arc<App>, name: &str) -> Result<(String, Standing, bool), Trouble> {
    let fetched = app.aircraft(name)?;
    let foreseen = app.foresee(&fetched, &Air::default())?;
    let standing = standing::standing(&fetched, &foreseen.prediction, now_ms(), &app.common)?;
    Ok((report::three_view::small(&fetched.aircraft), standing, foreseen.rough))
}

/// How many things still to be learnt are named on a card.
const NAMED: usize = 4;

fn card(name: &str, drawing: String, standing: &Standing, rough: bool) -> Markup {
    let missing = &standing.outstanding.missing;
    let named: Vec<String> = missing.iter().take(NAMED).map(|m| standing::learnable(&m.what)).collect();
    let next = &standing.next;
    // While finer section tables are computed, the card asks again.
    let again = rough.then(|| format!("/hangar/part/{}", crate::web::fields::encoded(name)));
    html! {
        article hx-get=[again.as_deref()] hx-trigger=[rough.then_some("load delay:4s")] hx-swap=[rough.then_some("outerHTML")] {
            h2 { a href=(Step::Round.path(name)) { (name) } }
            a.picture href=(Step::Round.path(name)) aria-hidden="true" tabindex="-1" { (PreEscaped(drawing)) }
            p {
                @if standing.grounds.is_empty() {
                    span.state.open { "at: " (round::name_of(next.at)) }
                } @else {
                    span.state.no { "on the ground" }
                }
            }
            @if !standing.grounds.is_empty() {
                ul { @for reason in &standing.grounds { li { (shell::capital(reason)) "." } } }
            }
            p {
                @if standing.flights.is_empty() { "No recording is kept yet. " }
                @else { (crate::cli::words::count(u32::try_from(standing.flights.len()).unwrap_or(u32::MAX), "recording")) ". " }
                @if missing.is_empty() { "Nothing is outstanding." }
                @else {
                    "Still to be learnt: " (named.join(", "))
                    @if missing.len() > NAMED { " and " (missing.len() - NAMED) " more" } "."
                }
            }
            @if rough { p.note { "Numbers of its sections are being computed; this card follows." } }
            p.next { strong { "Next: " } (next.what) }
            div.buttons { a.button href=(round::path_of(next.at, name)) aria-label={ (next.short) ": " (name) } { (next.short) } }
        }
    }
}

async fn backup(State(app): State<Arc<App>>, ask: Ask) -> Reply {
    work(app, ask, |app, _| {
        let Some(hangar) = keep::open_existing(&app.common)? else {
            return Err(Trouble::new(
                Kind::Missing,
                "there is nothing to copy yet",
                "no hangar was made so far",
                "describe an aircraft first",
            ));
        };
        let folder = outgoing::folder()?;
        let copy = folder.path().join("hangar.db");
        hangar.backup(&copy).map_err(keep::trouble)?;
        outgoing::file(&file_name("eyas-hangar", "db"), "application/vnd.sqlite3", &copy, folder)
    })
    .await
}

/// A name that sorts by its day.
pub(super) fn file_name(stem: &str, ending: &str) -> String {
    let now = crate::cli::words::instant(now_ms());
    let day = now.split(' ').next().unwrap_or_default();
    format!("{stem}-{day}.{ending}")
}

async fn put_back(State(app): State<Arc<App>>, ask: Ask, form: Multipart) -> Reply {
    let uploaded = match upload::take(&ask, form).await {
        Ok(uploaded) => uploaded,
        Err(trouble) => return reply::trouble(&ask, &trouble),
    };
    work(app, ask, move |app, _| {
        let Some(file) = uploaded.files.first() else {
            return Err(Trouble::new(
                Kind::Input,
                "nothing was restored",
                "no file came with the form",
                "choose the backup first",
            ));
        };
        let to = keep::path(&app.common)?;
        let aside = restore::restore(file.on_disk.path(), &to, now_ms()).map_err(|t| named(&t, file))?;
        let before = aside
            .map_or_else(String::new, |aside| format!(" What was kept before is in {}.", aside.display()));
        Ok(reply::on_to("/", &format!("The hangar is now what {} held.{before}", file.name)))
    })
    .await
}

/// Trouble with a file under the name that its owner knows.
fn named(trouble: &Trouble, file: &upload::File) -> Trouble {
    let plain = |text: &str| text.replace(&file.on_disk.path().display().to_string(), &file.name);
    Trouble::many(
        trouble.kind(),
        plain(trouble.asked()),
        trouble.causes().iter().map(|cause| plain(cause)).collect(),
        trouble.remedy().to_owned(),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cli::Common;
    use crate::tasks::fetch;

    #[test]
    fn an_empty_hangar_says_how_to_begin_and_makes_no_file() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("none.db");
        let common = Common { hangar: Some(path.clone()), json: false };
        let app = Arc::new(App::new(common, None, Vec::new(), 0));
        let text = body(&app, &Ask::plain()).unwrap().into_string();
        assert!(text.contains("/aircraft/new") && text.contains("I have a backup"), "{text}");
        assert!(!text.contains("/hangar/backup"), "there is nothing to copy");
        assert!(!path.exists());
    }

    #[test]
    fn each_aircraft_has_its_drawing_and_the_next_thing_to_do() {
        let (_folder, app) = App::of_example();
        let text = body(&app, &Ask::plain()).unwrap().into_string();
        for part in ["Wheatear", "<svg", "Next: ", "Still to be learnt: ", "/hangar/backup"] {
            assert!(text.contains(part), "{part}: {text}");
        }
    }

    #[test]
    fn a_name_full_of_markup_stays_a_name_and_a_file_with_faults_hides_no_other() {
        let (_folder, app) = App::of_example();
        let name = "<script>alert(1)</script>";
        let fetched = app.aircraft("Wheatear").unwrap();
        let mut hangar = keep::open(&app.common).unwrap();
        let text = hangar::AircraftText { text: "format = 1\n", section_files: &[] };
        hangar.keep_aircraft(name, text, "damaged", 1).unwrap();
        drop(hangar);
        assert!(fetch::kept_text("format = 1\n", name, &[]).is_err());
        let text = body(&app, &Ask::plain()).unwrap().into_string();
        assert!(!text.contains("<script>alert"), "{text}");
        assert!(text.contains("&lt;script&gt;alert(1)"), "{text}");
        assert!(text.contains("Open its file") && text.contains(&fetched.aircraft.name), "{text}");
    }
}
