//! Can I go back? Snapshots of the controller's settings, what changed between two of them and which finding asked for it,
//! and each as it came.

use std::sync::Arc;

use aircraft::settings::{self as text_of, Difference, Kind as Change};
use axum::Router;
use axum::extract::{DefaultBodyLimit, Multipart, Path, RawQuery, State};
use axum::routing::get;
use hangar::{Hangar, NewSettings, Settings};
use maud::{Markup, html};

use crate::cli::now_ms;
use crate::cli::words::instant;
use crate::tasks::compare::{self, Compared, Side};
use crate::tasks::{keep, teach};
use crate::tell::{Kind, Trouble};
use crate::web::app::App;
use crate::web::ask::Ask;
use crate::web::fields::Fields;
use crate::web::reply::{self, Reply, work};
use crate::web::shell::{self, form_key, known_word};
use crate::web::upload;

use super::{again, hangar_of, page, path, ways};

/// Largest file of settings, bytes.
const LARGEST: usize = 16 << 20;

pub(super) fn routes() -> Router<Arc<App>> {
    Router::new()
        .route("/aircraft/{name}/keep/settings", get(show).post(take).layer(DefaultBodyLimit::max(LARGEST)))
        .route("/aircraft/{name}/keep/settings/{number}", get(one))
        .route("/aircraft/{name}/keep/settings/{number}/file", get(file))
}

async fn show(
    State(app): State<Arc<App>>,
    ask: Ask,
    Path(name): Path<String>,
    RawQuery(query): RawQuery,
) -> Reply {
    work(app, ask, move |app, ask| {
        let fields = Fields::read(&query.unwrap_or_default());
        let body = body(ask, &hangar_of(app, &name)?, &name, &fields, &Typed::default())?;
        Ok(page(ask, &name, "Settings", &body))
    })
    .await
}

/// What was typed into the form for a new snapshot, and what is wrong with it.
#[derive(Default)]
struct Typed {
    text: String,
    note: String,
    trouble: Option<Trouble>,
}

fn body(ask: &Ask, hangar: &Hangar, name: &str, fields: &Fields, typed: &Typed) -> Result<Markup, Trouble> {
    let kept = hangar.settings(name).map_err(keep::trouble)?;
    Ok(html! {
        (ways(name, "settings"))
        h1 { "Settings of the controller" }
        p.lead { "Keep a snapshot before and after each change: then there is a way back, and each change can be told." }
        @if typed.trouble.is_some() { (keep_form(ask, name, typed, true)) }
        @if kept.is_empty() {
            p { "None is kept yet. Let the controller's own program write its settings as text, and bring that file." }
        } @else {
            (list(&kept, name))
            (compare_part(hangar, name, &kept, fields))
        }
        @if typed.trouble.is_none() { (keep_form(ask, name, typed, kept.is_empty())) }
    })
}

fn list(kept: &[Settings], name: &str) -> Markup {
    html! {
        section aria-labelledby="snapshots" {
            h2 id="snapshots" { "Snapshots" }
            table.stack.roomy {
                caption.away { "Snapshots, the newest first" }
                thead { tr { th scope="col" { "Number" } th scope="col" { "Kept" } th scope="col" { "From" } th scope="col" { "Note" } th scope="col" { "Size" } } }
                tbody {
                    @for s in kept.iter().rev() {
                        tr {
                            th scope="row" { a href=(path(name, &format!("settings/{}", s.number))) { "Settings " (s.number) } }
                            td data-name="Kept" { (instant(s.at_ms)) }
                            td data-name="From" { (s.source_name) }
                            td data-name="Note" { span { (s.note) } }
                            td data-name="Size" { (s.size) " bytes" }
                        }
                    }
                }
            }
        }
    }
}

fn keep_form(ask: &Ask, name: &str, typed: &Typed, open: bool) -> Markup {
    let wrong = typed.trouble.is_some().then_some("true");
    html! {
        section aria-labelledby="new" {
            h2 id="new" { "Keep a snapshot" }
            (again(typed.trouble.as_ref()))
            details open[open] {
                summary { "Bring a file, or paste the text" }
                form method="post" action=(path(name, "settings")) enctype="multipart/form-data" {
                    (form_key(ask))
                    div.field {
                        label for="file" { "File" }
                        input type="file" id="file" name="file" aria-describedby="file-hint";
                        p.hint id="file-hint" { "Any plain text with a name and a value on each line." }
                    }
                    div.field {
                        label for="text" { "Or its text" }
                        textarea id="text" name="text" rows="8" spellcheck="false" autocomplete="off" aria-invalid=[wrong] { (typed.text) }
                    }
                    div.field {
                        label for="note" { "Words to keep with it" }
                        input type="text" id="note" name="note" value=(typed.note) maxlength="200" autocomplete="off" placeholder="after the trim flight";
                    }
                    div.buttons { button { "Keep it" } }
                }
            }
        }
    }
}

async fn take(State(app): State<Arc<App>>, ask: Ask, Path(name): Path<String>, form: Multipart) -> Reply {
    let uploaded = match upload::take(&ask, form).await {
        Ok(uploaded) => uploaded,
        Err(trouble) => return reply::trouble(&ask, &trouble),
    };
    work(app, ask, move |app, ask| {
        let mut hangar = hangar_of(app, &name)?;
        let text = uploaded.fields.raw("text").unwrap_or_default();
        let note = uploaded.fields.text("note").unwrap_or_default();
        let done = taken(&mut hangar, &name, uploaded.files.first(), text, note);
        match done {
            Ok(said) => Ok(reply::on_to(&path(&name, "settings"), &said)),
            Err(trouble) => {
                let typed = Typed { text: text.to_owned(), note: note.to_owned(), trouble: Some(trouble) };
                let body = body(ask, &hangar, &name, &Fields::default(), &typed)?;
                Ok(page(ask, &name, "Settings", &body))
            }
        }
    })
    .await
}

/// Keeps a snapshot from a file, or from pasted text where no file came; says what was kept.
fn taken(
    hangar: &mut Hangar,
    name: &str,
    file: Option<&upload::File>,
    text: &str,
    note: &str,
) -> Result<String, Trouble> {
    let (bytes, source) = match file {
        Some(file) => {
            let bytes = crate::files::read_small(file.on_disk.path(), "a file of settings")?;
            (bytes, file.name.as_str())
        }
        // A browser sends the ends of lines of a text field as two characters (HTML standard).
        None => (text.replace("\r\n", "\n").into_bytes(), "pasted text"),
    };
    if bytes.iter().all(u8::is_ascii_whitespace) {
        return Err(Trouble::new(
            Kind::Input,
            "nothing was kept",
            "neither a file nor a text came with the form",
            "choose the file that the controller's own program wrote, or paste its text",
        ));
    }
    let new = NewSettings { bytes: &bytes, source_name: source, note, at_ms: now_ms() };
    let kept = compare::keep_settings(hangar, name, &new, source)?;
    let mut said = if kept.new {
        format!("Kept as settings {}: {} settings.", kept.snapshot.number, kept.read.settings.len())
    } else {
        format!("That is settings {} already, byte for byte.", kept.snapshot.number)
    };
    if !kept.read.not_understood.is_empty() {
        let lines: Vec<String> = kept.read.not_understood.iter().take(12).map(usize::to_string).collect();
        said.push_str(&format!(
            " {} without a name and a value, kept but not compared: {}.",
            crate::cli::words::count(super::number(kept.read.not_understood.len()), "line"),
            lines.join(", ")
        ));
    }
    Ok(said)
}

/// The choice of two snapshots, and what differs between them. Without a choice: the last two.
fn compare_part(hangar: &Hangar, name: &str, kept: &[Settings], fields: &Fields) -> Markup {
    let number = |field: &str| fields.text(field).and_then(|v| v.parse::<u32>().ok());
    let newest = kept.last().map_or(0, |s| s.number);
    let newer = number("newer").unwrap_or(newest);
    let older = number("older").unwrap_or(newest.saturating_sub(1).max(1));
    let scale = fields.raw("scale").unwrap_or_default();
    html! {
        section aria-labelledby="differences" {
            h2 id="differences" { "What changed" }
            @if kept.len() < 2 {
                p { "Keep a second snapshot, and what changed is told here." }
            } @else {
                form.wide method="get" action={ (path(name, "settings")) "#differences" } {
                    div.fields {
                        (pick("older", "From", kept, older))
                        (pick("newer", "To", kept, newer))
                    }
                    details open[!scale.is_empty()] {
                        summary { "Tell which finding asked for it" }
                        p.hint { "Paste your own table of settings: how your controller calls each gain and what it counts in. Then each change is told beside what the flights asked for." }
                        div.field {
                            label for="scale" { "Table of settings" }
                            textarea id="scale" name="scale" rows="7" spellcheck="false"
                                placeholder="[[setting]]\nquantity = \"roll.proportional\"\nname = \"BANK STIFFNESS\"\nunit = \"thousandths\"\nfactor = 1000\nlow = 0\nhigh = 250\ndecimals = 0" { (scale) }
                        }
                    }
                    div.buttons { button.second { "Compare" } }
                }
                @match compared(hangar, name, older, newer, scale) {
                    Ok(found) => (differences(&found, older, newer, !scale.trim().is_empty())),
                    Err(trouble) => (shell::told(&trouble)),
                }
            }
        }
    }
}

fn pick(field: &str, label: &str, kept: &[Settings], chosen: u32) -> Markup {
    html! {
        div.field {
            label for=(field) { (label) }
            select id=(field) name=(field) {
                @for s in kept.iter().rev() {
                    option value=(s.number) selected[s.number == chosen] { "Settings " (s.number) ", " (instant(s.at_ms)) @if !s.note.is_empty() { ", " (s.note) } }
                }
            }
        }
    }
}

fn compared(hangar: &Hangar, name: &str, older: u32, newer: u32, scale: &str) -> Result<Compared, Trouble> {
    let scale =
        if scale.trim().is_empty() { Vec::new() } else { teach::settings(scale, "the table of settings")? };
    let (older, newer) = (Side::kept(hangar, name, older)?, Side::kept(hangar, name, newer)?);
    compare::compare(hangar, name, &older, &newer, &scale)
}

fn differences(found: &Compared, older: u32, newer: u32, asked: bool) -> Markup {
    html! {
        @if found.differences.is_empty() {
            p { "Nothing differs between settings " (older) " and settings " (newer) "." }
        } @else {
            p { (found.differences.len()) " differ from settings " (older) " to settings " (newer) ". What looks like a password or a key is not shown." }
            table.stack.roomy {
                caption.away { "Differences" }
                thead {
                    tr {
                        th scope="col" { "Setting" } th scope="col" { "Settings " (older) } th scope="col" { "Settings " (newer) }
                        @if asked { th scope="col" { "Asked for" } }
                    }
                }
                tbody { @for d in &found.differences { (difference(d, asked)) } }
            }
        }
        @if !found.open.is_empty() {
            div.warn {
                h3 { "Asked for and not changed here" }
                ul { @for a in &found.open { li { (a.name) " to " (a.to) " (" (a.why) ")" } } }
            }
        }
    }
}

fn difference(d: &Difference, asked: bool) -> Markup {
    let (from, to) = d.shown();
    let (from, to) = match &d.kind {
        Change::Changed { .. } => (from, to),
        Change::Added(_) => ("not there", to),
        Change::Removed(_) => (from, "not there"),
    };
    html! {
        tr {
            th scope="row" { @if !d.section.is_empty() { "[" (d.section) "] " } (d.name) }
            td data-name="Before" { code { (from) } }
            td data-name="After" { code { (to) } }
            @if asked {
                td data-name="Asked for" {
                    span {
                        @match (&d.asked, d.as_asked) {
                            (Some(a), Some(true)) => { "as asked by " (a.why) },
                            (Some(a), _) => { strong { "not as asked: " } (a.why) " asked for " (a.to) },
                            (None, _) => "by nobody",
                        }
                    }
                }
            }
        }
    }
}

async fn one(State(app): State<Arc<App>>, ask: Ask, Path((name, number)): Path<(String, u32)>) -> Reply {
    work(app, ask, move |app, ask| {
        let hangar = hangar_of(app, &name)?;
        let (snapshot, bytes) = found(&hangar, &name, number)?;
        let label = format!("settings {number}");
        let read = compare::read(&bytes, &label)?;
        let body = html! {
            (ways(&name, "settings"))
            h1 { "Settings " (number) }
            p { "Kept " (instant(snapshot.at_ms)) " from " (snapshot.source_name) ": " (read.settings.len()) " settings. " (snapshot.note) }
            p.note { "SHA-256 " code { (snapshot.sha256) } }
            pre tabindex="0" aria-label="Settings" { (text_of::masked(&String::from_utf8_lossy(&bytes), &read)) }
            div.warn {
                p { strong { "As it came" } " means with its passwords and keys. " strong { "Propeller off" } " while settings are loaded into the controller; then the direction of every surface and the failsafe again." }
                (known_word("surface direction check")) " " (known_word("failsafe"))
            }
            div.buttons {
                a.button href=(path(&name, &format!("settings/{number}/file"))) download { "Download as it came" }
                a.button.second href=(path(&name, "settings")) { "All snapshots" }
            }
        };
        Ok(page(ask, &name, &format!("Settings {number}"), &body))
    })
    .await
}

fn found(hangar: &Hangar, name: &str, number: u32) -> Result<(Settings, Vec<u8>), Trouble> {
    let kept = hangar.settings(name).map_err(keep::trouble)?;
    let Some(snapshot) = kept.into_iter().find(|s| s.number == number) else {
        return Err(Trouble::new(
            Kind::Missing,
            format!("there is no snapshot {number} of \"{name}\""),
            "none of that number is kept",
            "choose one from the list of its settings",
        ));
    };
    let bytes = hangar.settings_bytes(name, number).map_err(keep::trouble)?;
    Ok((snapshot, bytes))
}

async fn file(State(app): State<Arc<App>>, ask: Ask, Path((name, number)): Path<(String, u32)>) -> Reply {
    work(app, ask, move |app, _| {
        let (snapshot, bytes) = found(&hangar_of(app, &name)?, &name, number)?;
        let file = match snapshot.source_name.as_str() {
            "pasted text" | "" => format!("settings-{number}.txt"),
            source => format!("settings-{number}-{source}"),
        };
        Ok(reply::file(&file, "application/octet-stream", bytes))
    })
    .await
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_changed_is_told_and_no_secret_is_shown() {
        let (_folder, app) = App::of_example();
        let mut hangar = hangar_of(&app, "Wheatear").unwrap();
        taken(&mut hangar, "Wheatear", None, "p = 4\r\nwifi_password = hunter2\r\n", "first").unwrap();
        let said =
            taken(&mut hangar, "Wheatear", None, "p = 5\nwifi_password = opensesame\nname = <b>x</b>\n", "")
                .unwrap();
        assert!(said.contains("settings 2"), "{said}");
        let text = body(&Ask::plain(), &hangar, "Wheatear", &Fields::default(), &Typed::default())
            .unwrap()
            .into_string();
        assert!(text.contains("<code>4</code>") && text.contains("<code>5</code>"), "{text}");
        for hidden in ["hunter2", "opensesame", "<b>x"] {
            assert!(!text.contains(hidden), "{hidden}: {text}");
        }
        // The ends of lines are those of the text, not those of the form.
        assert_eq!(hangar.settings_bytes("Wheatear", 1).unwrap(), b"p = 4\nwifi_password = hunter2\n");
        // The newest once more is not kept twice; going back to an older one is a change, and kept.
        let newest = hangar.settings_bytes("Wheatear", 2).unwrap();
        let newest = String::from_utf8(newest).unwrap();
        let again = taken(&mut hangar, "Wheatear", None, &newest, "").unwrap();
        assert!(again.contains("settings 2 already"), "{again}");
        let back = taken(&mut hangar, "Wheatear", None, "p = 4\nwifi_password = hunter2\n", "back").unwrap();
        assert!(back.contains("settings 3"), "{back}");
    }

    #[test]
    fn what_is_no_text_of_settings_is_told_and_nothing_is_kept() {
        let (_folder, app) = App::of_example();
        let mut hangar = hangar_of(&app, "Wheatear").unwrap();
        for text in ["", " \r\n", "one\ntwo\n", "a = 1\u{0}"] {
            let trouble = taken(&mut hangar, "Wheatear", None, text, "").unwrap_err();
            assert!(!trouble.remedy().is_empty());
        }
        assert!(hangar.settings("Wheatear").unwrap().is_empty());
        assert!(found(&hangar, "Wheatear", 9).is_err());
    }

    #[test]
    fn a_table_with_faults_is_told_by_its_lines_and_stays_in_its_field() {
        let (_folder, app) = App::of_example();
        let mut hangar = hangar_of(&app, "Wheatear").unwrap();
        for text in ["p = 4\n", "p = 5\n"] {
            taken(&mut hangar, "Wheatear", None, text, "").unwrap();
        }
        let fields = Fields::read("older=1&newer=2&scale=%5B%5Bsetting%5D%5D%0Aquantity+%3D+1%0A");
        let text =
            body(&Ask::plain(), &hangar, "Wheatear", &fields, &Typed::default()).unwrap().into_string();
        assert!(text.contains("line ") && text.contains("quantity = 1"), "{text}");
    }
}
