//! The aircraft file itself: its text with errors at their lines, its coordinate files, down and up.

use std::sync::Arc;

use aircraft::schema::Fault;
use axum::Router;
use axum::extract::{DefaultBodyLimit, Multipart, Path, State};
use axum::http::StatusCode;
use axum::routing::{get, post};
use hangar::SectionFile;
use maud::{Markup, html};

use super::conflict;
use super::faults::ended;
use super::{base_of, keep_text, or, renamed};
use crate::files;
use crate::tasks::edit::{self, Current, Outcome};
use crate::tell::{Kind, Trouble};
use crate::web::app::App;
use crate::web::ask::Ask;
use crate::web::fields::{Form, encoded};
use crate::web::reply::{self, Reply, work};
use crate::web::shell::{Place, Step, capital, form_key};
use crate::web::upload;

/// Largest file of an aircraft or of coordinates, bytes.
const LARGEST: u64 = 2 << 20;

pub(super) fn routes() -> Router<Arc<App>> {
    Router::new()
        .route("/aircraft/{name}/describe/file", get(show).post(change))
        .route("/aircraft/{name}/describe/file/download", get(download))
        .route("/aircraft/{name}/describe/file/upload", post(send).layer(DefaultBodyLimit::max(16 << 20)))
        .route("/aircraft/{name}/describe/section/{file}", get(section).post(drop_section))
}

async fn show(State(app): State<Arc<App>>, ask: Ask, Path(name): Path<String>) -> Reply {
    work(app, ask, move |app, ask| {
        let current = edit::current(&app.common, &name)?;
        let faults = edit::read(&current.revision.text, &current.section_files).err().unwrap_or_default();
        Ok(page(ask, &name, &current, &current.revision.text, &faults, ""))
    })
    .await
}

/// The page around a text.
fn page(ask: &Ask, name: &str, current: &Current, text: &str, faults: &[Fault], said: &str) -> Reply {
    let path = Step::Describe.path(name);
    let body = html! {
        h1 { "The aircraft file" }
        p { "The form and this text are the same thing. " a href=(path) { "Back to the form" } "; " a href={(path) "/file/download"} download { "download the file" } "." }
        @if !said.is_empty() { p.warn role="alert" { (said) } }
        (told(text, faults))
        form.wide method="post" action={(path) "/file"} {
            (form_key(ask))
            input type="hidden" name="base" value=(current.revision.number);
            div.field {
                label for="text" { "Text, made from revision " (current.revision.number) }
                textarea.file id="text" name="text" rows="30" spellcheck="false" autocomplete="off" wrap="off"
                    aria-invalid=[(!faults.is_empty()).then_some("true")]
                    aria-describedby=[(!faults.is_empty()).then_some("faults")] {
                    // A line break straight behind the mark is not of the text.
                    "\n" (text)
                }
            }
            div.field {
                label for="note" { "What you changed, in a few words" }
                input id="note" name="note" maxlength="200" autocomplete="off";
            }
            div.buttons {
                button name="act" value="keep" { "Keep" }
                button.second name="act" value="check" { "Check only" }
            }
        }
        (sections(ask, name, current))
        h2 { "Take files in" }
        form method="post" enctype="multipart/form-data" action={(path) "/file/upload"} {
            (form_key(ask))
            input type="hidden" name="base" value=(current.revision.number);
            div.field {
                label for="aircraft-file" { "An aircraft file in place of this text" }
                input type="file" id="aircraft-file" name="aircraft" accept=".toml";
            }
            div.field {
                label for="section-files" { "Coordinate files of sections" }
                input type="file" id="section-files" name="sections" multiple;
                p.hint { "Two columns from the trailing edge over the top to the leading edge and back, as they are passed on. Name one in a station's field \u{201c}Section\u{201d} by its file name." }
            }
            div.buttons { button.second { "Take them in as a new revision" } }
        }
    };
    let mut reply = reply::page(ask, "Aircraft file", &Place::Of(name, Step::Describe), &body);
    if !faults.is_empty() {
        *reply.status_mut() = StatusCode::UNPROCESSABLE_ENTITY;
    }
    reply
}

/// Faults with their lines, and the lines themselves.
fn told(text: &str, faults: &[Fault]) -> Markup {
    let lines: Vec<&str> = text.trim_start_matches('\u{feff}').lines().collect();
    html! {
        @if !faults.is_empty() {
            div.alarm id="faults" role="alert" {
                h2 { (faults.len()) @if faults.len() == 1 { " error" } @else { " errors" } " in this text; it is not kept" }
                ol {
                    @for fault in faults {
                        li {
                            strong { "Line " (fault.line) ": " } (fault.problem) "."
                            @if !fault.remedy.is_empty() { " " (ended(&capital(&fault.remedy))) }
                            @let from = fault.line.saturating_sub(2);
                            pre {
                                @for (i, line) in lines.iter().enumerate().skip(from).take(3) {
                                    (format!("{:>4}{} ", i + 1, if i + 1 == fault.line { ">" } else { " " }))
                                    (line.chars().take(160).collect::<String>()) "\n"
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn sections(ask: &Ask, name: &str, current: &Current) -> Markup {
    let path = Step::Describe.path(name);
    html! {
        h2 { "Coordinate files" }
        @if current.section_files.is_empty() {
            p { "None: the sections are named by their NACA digits, or a file is still to be taken in below." }
        } @else {
            ul {
                @for file in &current.section_files {
                    @let named = current.revision.text.contains(&format!("\"{}\"", file.name));
                    li {
                        a href={(path) "/section/" (encoded(&file.name))} download { (file.name) }
                        ", " (file.text.lines().count()) " lines" @if !named { ", named by no station" }
                        @if !named {
                            form method="post" action={(path) "/section/" (encoded(&file.name))} {
                                (form_key(ask))
                                input type="hidden" name="base" value=(current.revision.number);
                                button.second { "Take " (file.name) " away" }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// What a browser sent for a text, as it was written: a browser ends all lines as other systems do.
fn as_written(sent: &str, before: &str) -> String {
    let plain = sent.replace("\r\n", "\n");
    if plain == before.replace("\r\n", "\n") {
        return before.to_owned();
    }
    let mark = if before.starts_with('\u{feff}') && !plain.starts_with('\u{feff}') { "\u{feff}" } else { "" };
    let ended = if before.contains("\r\n") { plain.replace('\n', "\r\n") } else { plain };
    format!("{mark}{ended}")
}

async fn change(State(app): State<Arc<App>>, Path(name): Path<String>, form: Form) -> Reply {
    let fields = form.fields;
    work(app, form.ask, move |app, ask| {
        let current = edit::current(&app.common, &name)?;
        let text = as_written(fields.raw("text").unwrap_or_default(), &current.revision.text);
        if fields.text("act") != Some("keep") {
            let faults = edit::read(&text, &current.section_files).err().unwrap_or_default();
            let said = if faults.is_empty() { "No error in this text. It is not kept yet." } else { "" };
            return Ok(page(ask, &name, &current, &text, &faults, said));
        }
        let note = fields.text("note").unwrap_or_default();
        taken(
            app,
            ask,
            &name,
            &current,
            &text,
            base_of(&fields),
            &current.section_files,
            or(note, "edited as text"),
        )
    })
    .await
}

#[expect(clippy::too_many_arguments, reason = "each is a part of the one revision to keep")]
fn taken(
    app: &Arc<App>,
    ask: &Ask,
    name: &str,
    current: &Current,
    text: &str,
    base: u32,
    section_files: &[SectionFile],
    note: &str,
) -> Result<Reply, Trouble> {
    match keep_text(app, name, base, text, section_files, note)? {
        Outcome::Kept(revision) if revision.number == base => Ok(reply::on_to(
            &format!("{}/file", Step::Describe.path(name)),
            &format!("Nothing differs from revision {base}; nothing was kept."),
        )),
        Outcome::Kept(revision) => Ok(reply::on_to(
            &format!("{}/file", Step::Describe.path(name)),
            &format!("Kept as revision {}.", revision.number),
        )),
        Outcome::Overtaken(theirs) => Ok(conflict::page(ask, name, &theirs, text, base, note)),
        Outcome::Faulty(faults) => Ok(page(ask, name, current, text, &faults, "")),
        Outcome::Renamed(other) => {
            let trouble = renamed(name, &other);
            let said = format!(
                "{}: {}. {}",
                capital(trouble.asked()),
                trouble.causes().join("; "),
                capital(trouble.remedy())
            );
            let mut reply = page(ask, name, current, text, &[], &said);
            *reply.status_mut() = StatusCode::UNPROCESSABLE_ENTITY;
            Ok(reply)
        }
    }
}

async fn download(State(app): State<Arc<App>>, ask: Ask, Path(name): Path<String>) -> Reply {
    work(app, ask, move |app, _| {
        let current = edit::current(&app.common, &name)?;
        let file = format!("{}.toml", current.revision.aircraft.replace(' ', "-"));
        Ok(reply::file(&file, "application/toml; charset=utf-8", current.revision.text.into_bytes()))
    })
    .await
}

async fn section(State(app): State<Arc<App>>, ask: Ask, Path((name, file)): Path<(String, String)>) -> Reply {
    work(app, ask, move |app, _| {
        let current = edit::current(&app.common, &name)?;
        let Some(found) = current.section_files.into_iter().find(|f| f.name == file) else {
            return Err(no_section(&file));
        };
        Ok(reply::file(&found.name, "text/plain; charset=utf-8", found.text.into_bytes()))
    })
    .await
}

fn no_section(file: &str) -> Trouble {
    Trouble::new(
        Kind::Missing,
        format!("there is no coordinate file \"{file}\""),
        "the revision in force has none of that name",
        "open the page of the aircraft file: it lists those there are",
    )
}

async fn drop_section(
    State(app): State<Arc<App>>,
    Path((name, file)): Path<(String, String)>,
    form: Form,
) -> Reply {
    let fields = form.fields;
    work(app, form.ask, move |app, ask| {
        let current = edit::current(&app.common, &name)?;
        let mut rest = current.section_files.clone();
        rest.retain(|f| f.name != file);
        if rest.len() == current.section_files.len() {
            return Err(no_section(&file));
        }
        let note = format!("without {file}");
        taken(app, ask, &name, &current, &current.revision.text, base_of(&fields), &rest, &note)
    })
    .await
}

/// Text of an uploaded file of an aircraft or of coordinates.
pub(in crate::web::pages) fn text_of(file: &upload::File) -> Result<String, Trouble> {
    let length = file.on_disk.as_file().metadata().map_or(0, |m| m.len());
    if length > LARGEST {
        return Err(Trouble::new(
            Kind::TooLarge,
            format!("\"{}\" was not taken", file.name),
            format!("it has {length} bytes; an aircraft file or coordinates never have more than {LARGEST}"),
            "choose the file that you mean",
        ));
    }
    files::read_text(file.on_disk.path(), "a text file").map_err(|_| {
        Trouble::new(
            Kind::Input,
            format!("\"{}\" was not taken", file.name),
            "it is not text in UTF-8",
            "choose the file that you mean; save it as plain text",
        )
    })
}

/// Coordinate files among uploaded ones, over those that were there.
pub(in crate::web::pages) fn with_sections(
    mut there: Vec<SectionFile>,
    uploaded: &[upload::File],
) -> Result<Vec<SectionFile>, Trouble> {
    for file in uploaded.iter().filter(|f| f.field == "sections") {
        let text = text_of(file)?;
        there.retain(|f| f.name != file.name);
        there.push(SectionFile { name: file.name.clone(), text });
    }
    Ok(there)
}

async fn send(State(app): State<Arc<App>>, ask: Ask, Path(name): Path<String>, form: Multipart) -> Reply {
    let uploaded = match upload::take(&ask, form).await {
        Ok(uploaded) => uploaded,
        Err(trouble) => return reply::trouble(&ask, &trouble),
    };
    work(app, ask, move |app, ask| {
        let current = edit::current(&app.common, &name)?;
        if uploaded.files.is_empty() {
            return Err(Trouble::new(
                Kind::Input,
                "nothing was taken in",
                "no file was chosen",
                "go back and choose an aircraft file or coordinate files",
            ));
        }
        let files = with_sections(current.section_files.clone(), &uploaded.files)?;
        let aircraft = uploaded.files.iter().find(|f| f.field == "aircraft");
        let text = aircraft.map_or_else(|| Ok(current.revision.text.clone()), text_of)?;
        let names: Vec<&str> = uploaded.files.iter().map(|f| f.name.as_str()).collect();
        let note = format!("taken in: {}", names.join(", "));
        let with_files = Current { section_files: files.clone(), ..current };
        taken(app, ask, &name, &with_files, &text, base_of(&uploaded.fields), &files, &note)
    })
    .await
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn line_ends_stay_as_they_were_written() {
        let check = |sent: &str, before: &str, expected: &str| assert_eq!(as_written(sent, before), expected);
        check("a\r\nb\r\n", "a\nb\n", "a\nb\n");
        check("a\r\nc\r\n", "a\nb\n", "a\nc\n");
        check("a\r\nc\r\n", "a\r\nb\r\n", "a\r\nc\r\n");
        // A file of mixed line ends that is sent back as it came stays byte for byte.
        check("a\r\nb\r\nc", "a\nb\r\nc", "a\nb\r\nc");
        check("x\r\n", "\u{feff}a\n", "\u{feff}x\n");
    }

    #[test]
    fn errors_are_told_at_their_lines_and_escaped() {
        let text = "format = 1\nname = \"<script>\"\nlayout = \"boat\"\n";
        let faults = edit::read(text, &[]).unwrap_err();
        let shown = told(text, &faults).into_string();
        assert!(
            shown.contains("Line 3") && shown.contains("   3&gt; layout") || shown.contains("3> layout"),
            "{shown}"
        );
        assert!(!shown.contains("<script>"));
    }
}
