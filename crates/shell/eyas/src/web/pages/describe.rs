//! What have I built? The description as a form beside its drawing; the aircraft file under it stays the truth both ways.

mod asked;
mod conflict;
mod faults;
mod file;
mod form;
mod look;
mod parts;
mod pictures;
mod revisions;
mod rows;

use std::sync::Arc;

use axum::Router;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::routing::{get, post};
use hangar::SectionFile;
use maud::{Markup, html};

use crate::cli::now_ms;
use crate::tasks::amend::{As, Sheet};
use crate::tasks::edit::{self, Current, Edited, Outcome};
use crate::tell::{Kind, Trouble};
use crate::web::app::App;
use crate::web::ask::Ask;
use crate::web::fields::{Fields, Form};
use crate::web::reply::{self, Reply, work};
use crate::web::shell::{self, Place, Step};
use form::Draft;

pub(super) use file::{text_of, with_sections};

pub(super) fn routes() -> Router<Arc<App>> {
    Router::new()
        .route("/aircraft/{name}/describe", get(show).post(change))
        .route("/aircraft/{name}/describe/look", post(see))
        .merge(file::routes())
        .merge(revisions::routes())
}

async fn show(State(app): State<Arc<App>>, ask: Ask, Path(name): Path<String>) -> Reply {
    work(app, ask, move |app, ask| {
        let current = edit::current(&app.common, &name)?;
        let aircraft = name.clone();
        Ok(reply::later(app, ask, "Describe", &Place::Of(&name, Step::Describe), move |app, ask| {
            let text = current.revision.text.clone();
            match Sheet::open(&text) {
                Ok(sheet) => Ok(html! {
                    (form::head(&aircraft))
                    (draft(app, ask, &aircraft, Work::on(&current, &sheet, current.revision.number)))
                }),
                Err(why) => Ok(html! {
                    (form::head(&aircraft))
                    (shell::told(&Trouble::new(
                        Kind::No,
                        "the description cannot be shown as a form",
                        why.to_string(),
                        "open the file, mend the line named there, and keep it",
                    )))
                    div.buttons { a.button href={(Step::Describe.path(&aircraft)) "/file"} { "Open the file" } }
                }),
            }
        }))
    })
    .await
}

/// A text that is being worked on.
struct Work<'a> {
    /// What is in force.
    current: &'a Current,
    /// The text.
    sheet: &'a Sheet,
    /// What of the typed values could not be written, by path.
    unwritten: Vec<(String, String)>,
    /// Revision that it was made from.
    base: u32,
    /// Field that is typed in next.
    fresh: Option<String>,
}

impl<'a> Work<'a> {
    fn on(current: &'a Current, sheet: &'a Sheet, base: u32) -> Self {
        Self { current, sheet, unwritten: Vec::new(), base, fresh: None }
    }
}

/// The form of a text as it stands.
fn draft(app: &Arc<App>, ask: &Ask, name: &str, work: Work<'_>) -> Markup {
    let Work { current, sheet, unwritten, base, fresh } = work;
    let (mut told, aircraft) = look::told(sheet, &current.section_files);
    for (path, words) in unwritten {
        told.and(path, words);
    }
    // While something is wrong the drawing shows what is kept.
    let shown = aircraft.or_else(|| edit::read(&current.revision.text, &current.section_files).ok());
    let look = look::whole(app, &told, shown.as_ref());
    let changed = sheet.text() != current.revision.text;
    form::form(&Draft { ask, name, base, sheet, told: &told, look, changed, fresh: fresh.as_deref() })
}

/// The text that a form was made from with everything that is typed in it, and what could not be written.
fn typed(fields: &Fields) -> Result<(Sheet, Vec<(String, String)>), Trouble> {
    let unreadable = |why: String| {
        Trouble::new(
            Kind::Input,
            "the form was not taken, nothing was changed",
            why,
            "go back, load the page anew and type it again",
        )
    };
    let text: String = fields
        .raw("text")
        .and_then(|json| serde_json::from_str(json).ok())
        .ok_or_else(|| unreadable("it does not carry the text that it was made from".to_owned()))?;
    let mut sheet = Sheet::open(&text).map_err(|e| unreadable(e.to_string()))?;
    let mut unwritten = Vec::new();
    for (name, value) in fields.iter() {
        let Some((letter, path)) = name.split_once(':') else { continue };
        let kind = match letter {
            "n" => As::Number,
            "t" => As::Text,
            "b" => As::Flag,
            _ => continue,
        };
        if let Err(why) = sheet.set(path, kind, value) {
            unwritten.push((path.to_owned(), format!("{}.", shell::capital(&why.to_string()))));
        }
    }
    Ok((sheet, unwritten))
}

fn base_of(fields: &Fields) -> u32 {
    fields.text("base").and_then(|n| n.parse().ok()).unwrap_or(0)
}

/// What typed values come to; keeps nothing.
async fn see(State(app): State<Arc<App>>, Path(name): Path<String>, form: Form) -> Reply {
    let fields = form.fields;
    work(app, form.ask, move |app, ask| {
        let current = edit::current(&app.common, &name)?;
        let (sheet, unwritten) = typed(&fields)?;
        let (mut told, aircraft) = look::told(&sheet, &current.section_files);
        for (path, words) in unwritten {
            told.and(path, words);
        }
        let before = fields.text("told").unwrap_or_default();
        Ok(reply::part(ask, &look::changing(app, &told, before, aircraft.as_ref())))
    })
    .await
}

/// Keeps what is typed, changes rows, or only looks.
async fn change(State(app): State<Arc<App>>, Path(name): Path<String>, form: Form) -> Reply {
    let fields = form.fields;
    work(app, form.ask, move |app, ask| {
        let current = edit::current(&app.common, &name)?;
        let (mut sheet, mut unwritten) = typed(&fields)?;
        let base = base_of(&fields);
        let act = fields.text("act").unwrap_or("look");
        if act == "keep" && unwritten.is_empty() {
            return kept(app, ask, &name, &current, &sheet, base, fields.text("note").unwrap_or_default());
        }
        let mut fresh = None;
        if !["keep", "look"].contains(&act) {
            match rows::change(&mut sheet, act) {
                Ok(table) => fresh = table.and_then(|t| asked::first_field(&sheet, &t)),
                Err(why) => unwritten.push((String::new(), format!("{}.", shell::capital(&why.to_string())))),
            }
        }
        let status = if act == "keep" { StatusCode::UNPROCESSABLE_ENTITY } else { StatusCode::OK };
        let work = Work { unwritten, fresh, ..Work::on(&current, &sheet, base) };
        let form = draft(app, ask, &name, work);
        let mut reply = if ask.part {
            reply::part(ask, &form)
        } else {
            let body = html! { (form::head(&name)) (form) };
            reply::page(ask, "Describe", &Place::Of(&name, Step::Describe), &body)
        };
        *reply.status_mut() = status;
        Ok(reply)
    })
    .await
}

fn kept(
    app: &Arc<App>,
    ask: &Ask,
    name: &str,
    current: &Current,
    sheet: &Sheet,
    base: u32,
    note: &str,
) -> Result<Reply, Trouble> {
    let text = sheet.text();
    let outcome = keep_text(app, name, base, &text, &current.section_files, or(note, "described"))?;
    match outcome {
        Outcome::Kept(revision) => {
            let said = if revision.number == base {
                format!("Nothing differs from revision {base}; nothing was kept.")
            } else {
                format!("Kept as revision {}.", revision.number)
            };
            Ok(reply::on_to(&Step::Describe.path(name), &said))
        }
        Outcome::Overtaken(theirs) => Ok(conflict::page(ask, name, &theirs, &text, base, note)),
        Outcome::Faulty(_) => {
            let body = html! {
                (form::head(name))
                p.warn role="alert" { "Nothing was kept yet: what is not right stands beside its field, and what you typed is still here." }
                (draft(app, ask, name, Work::on(current, sheet, base)))
            };
            let mut reply = reply::page(ask, "Describe", &Place::Of(name, Step::Describe), &body);
            *reply.status_mut() = StatusCode::UNPROCESSABLE_ENTITY;
            Ok(reply)
        }
        Outcome::Renamed(other) => Err(renamed(name, &other)),
    }
}

/// Keeps a text made from a revision.
fn keep_text(
    app: &Arc<App>,
    name: &str,
    base: u32,
    text: &str,
    section_files: &[SectionFile],
    note: &str,
) -> Result<Outcome, Trouble> {
    edit::keep_edited(&app.common, &Edited { name, base, text, section_files, note, at_ms: now_ms() })
}

fn or<'a>(note: &'a str, otherwise: &'a str) -> &'a str {
    if note.trim().is_empty() { otherwise } else { note.trim() }
}

fn renamed(name: &str, other: &str) -> Trouble {
    Trouble::new(
        Kind::No,
        format!("\"{name}\" was not changed"),
        format!("the text names the aircraft \"{other}\""),
        "leave its name as it is; to begin another aircraft from this text, download the file, change the name in it and add it \
         as a new aircraft",
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cli::Common;

    fn app(folder: &std::path::Path) -> Arc<App> {
        let common = Common { hangar: Some(folder.join("h.db")), json: false };
        let text = aircraft::template::template(aircraft::Layout::VTail, "<b>A</b>");
        edit::keep_new(&common, &text, &[], "", 1).unwrap();
        Arc::new(App::new(common, None, Vec::new(), 1))
    }

    fn ask() -> Ask {
        Ask {
            theme: crate::web::ask::Theme::Auto,
            units: crate::web::ask::Units::Metric,
            form_key: "k".repeat(32),
            new_key: false,
            said: None,
            path: "/".to_owned(),
            part: false,
            gzip: false,
        }
    }

    fn fields(pairs: &[(&str, &str)]) -> Fields {
        Fields::of(pairs.iter().map(|(n, v)| ((*n).to_owned(), (*v).to_owned())).collect())
    }

    #[test]
    fn what_is_typed_goes_into_the_text_and_what_is_wrong_stands_beside_its_field() {
        let folder = tempfile::tempdir().unwrap();
        let app = app(folder.path());
        let current = edit::current(&app.common, "<b>A</b>").unwrap();
        let json = serde_json::Value::from(current.revision.text.clone()).to_string();
        let typed_in = fields(&[
            ("text", &json),
            ("n:surface.0.station.0.chord_mm", "two hundred<script>"),
            ("n:mass.0.mass_g", "331"),
            ("n:nowhere.7.x", "1"),
        ]);
        let (sheet, unwritten) = typed(&typed_in).unwrap();
        assert_eq!(unwritten.len(), 1);
        assert!(sheet.text().contains("mass_g = 331 # of a pair"));
        let shown = draft(&app, &ask(), "<b>A</b>", Work { unwritten, ..Work::on(&current, &sheet, 1) })
            .into_string();
        assert!(!shown.contains("<script>") && !shown.contains("<b>A"));
        assert!(shown.contains("two hundred&lt;script&gt;"), "what was typed is still there");
        assert!(
            shown.contains("is no number: write it without its unit")
                && shown.contains("aria-invalid=\"true\"")
        );
        // A form without its text changes nothing.
        assert_eq!(typed(&fields(&[("n:mass.0.mass_g", "1")])).unwrap_err().kind(), Kind::Input);
    }

    #[test]
    fn a_form_that_is_sent_back_untouched_says_what_the_file_says() {
        let folder = tempfile::tempdir().unwrap();
        let app = app(folder.path());
        let current = edit::current(&app.common, "<b>A</b>").unwrap();
        let sheet = Sheet::open(&current.revision.text).unwrap();
        let shown = draft(&app, &ask(), "<b>A</b>", Work::on(&current, &sheet, 1)).into_string();
        // Every field as a browser would send it.
        let unescape = |t: &str| {
            t.replace("&quot;", "\"").replace("&lt;", "<").replace("&gt;", ">").replace("&amp;", "&")
        };
        let mut pairs =
            vec![("text".to_owned(), serde_json::Value::from(current.revision.text.clone()).to_string())];
        for input in shown.split("<input ").skip(1) {
            let of = |name: &str| {
                let from = input.find(&format!("{name}=\""))? + name.len() + 2;
                Some(unescape(input.get(from..)?.split('"').next()?))
            };
            if let (Some(name), Some(value)) = (of("name"), of("value"))
                && name.contains(':')
            {
                pairs.push((name, value));
            }
        }
        for select in shown.split("<select ").skip(1) {
            let name = select.split("name=\"").nth(1).and_then(|t| t.split('"').next()).unwrap();
            let chosen = select
                .split("</select>")
                .next()
                .and_then(|t| t.split("<option ").find(|o| o.contains(" selected")))
                .and_then(|o| o.split("value=\"").nth(1)?.split('"').next())
                .unwrap_or_default();
            pairs.push((name.to_owned(), unescape(chosen)));
        }
        assert!(pairs.len() > 150, "{}", pairs.len());
        let (again, unwritten) = typed(&Fields::of(pairs)).unwrap();
        assert!(unwritten.is_empty(), "{unwritten:?}");
        assert_eq!(again.text(), current.revision.text);
    }
}
