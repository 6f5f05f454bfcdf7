//! How does a recording come in? To the disk beside the hangar, read at once so that trouble is told at once; several files
//! of one flight are joined on one clock.

use std::io::Write as _;
use std::sync::Arc;

use axum::extract::multipart::MultipartRejection;
use axum::extract::{Multipart, Path, State};
use tempfile::NamedTempFile;

use crate::cli::now_ms;
use crate::tasks::incoming::{self, About};
use crate::tasks::study;
use crate::tell::{Kind, Trouble};
use crate::web::app::App;
use crate::web::ask::{Ask, random_key};
use crate::web::reply::{self, Reply, work};
use crate::web::shelf::{self, Which};
use crate::web::upload::{File, take_into};

/// Files of one flight that are joined at most.
const MOST_FILES: usize = 12;

pub(super) async fn bring(
    State(app): State<Arc<App>>,
    ask: Ask,
    Path(name): Path<String>,
    form: Result<Multipart, MultipartRejection>,
) -> Reply {
    let form = match form {
        Ok(form) => form,
        Err(why) => {
            let trouble = Trouble::new(
                Kind::Input,
                "the file was not taken",
                why.body_text(),
                "choose it on the page of flights",
            );
            return reply::trouble(&ask, &trouble);
        }
    };
    // Nobody sends a gigabyte for an aircraft that is not there.
    let known = app.clone();
    let wanted = name.clone();
    let folder = tokio::task::spawn_blocking(move || {
        known.aircraft(&wanted)?;
        incoming::folder(&known.common)
    })
    .await;
    let folder = match folder {
        Ok(Ok(folder)) => folder,
        Ok(Err(trouble)) => return reply::trouble(&ask, &trouble),
        Err(_) => {
            let trouble = Trouble::new(
                Kind::Fault,
                "the file was not taken",
                "a fault inside the program",
                "send it again",
            );
            return reply::trouble(&ask, &trouble);
        }
    };
    let uploaded = match take_into(&ask, form, &folder).await {
        Ok(uploaded) => uploaded,
        Err(trouble) => return reply::trouble(&ask, &trouble),
    };
    let mut files = uploaded.files;
    files.retain(|f| f.field == "recording");
    work(app, ask, move |app, _| {
        let (about, file) = one(&name, files)?;
        let waiting = incoming::take(&app.common, &random_key(), &about, file)?;
        let which = Which::Waiting(waiting.id.clone());
        // Read while the browser waits: the page then has it in memory, and what is no recording is told here.
        let read = shelf::label(app, &name, &which).and_then(|label| app.shelf.read(app, &label));
        if let Err(trouble) = read {
            waiting.discard()?;
            return Err(trouble);
        }
        Ok(reply::on_to(
            &super::recording_path(&name, &which.part()),
            "It came whole and waits beside the hangar. Look it over, then learn from it.",
        ))
    })
    .await
}

/// One file of what came: itself, or all of a flight joined.
fn one(aircraft: &str, mut files: Vec<File>) -> Result<(About, NamedTempFile), Trouble> {
    let about = |name: String, said: Vec<String>| About {
        aircraft: aircraft.to_owned(),
        name,
        simulated: false,
        said,
        at_ms: now_ms(),
    };
    if files.len() > MOST_FILES {
        return Err(Trouble::new(
            Kind::Input,
            "the files were not taken",
            format!("there are {} of them, and {MOST_FILES} are joined at most", files.len()),
            "bring those of one flight only",
        ));
    }
    match (files.pop(), files.is_empty()) {
        (None, _) => Err(Trouble::new(
            Kind::Input,
            "no file came",
            "none was chosen",
            "choose the recording, or drop it into the frame",
        )),
        (Some(file), true) => Ok((about(file.name, Vec::new()), file.on_disk)),
        (Some(last), false) => {
            files.push(last);
            let (text, said) = joined(&files)?;
            let name = files.first().map_or("flight", |f| f.name.as_str());
            let stem = name.split('.').next().unwrap_or(name).to_owned();
            let mut on_disk = match files.pop() {
                Some(last) => last.on_disk,
                None => return Err(not_joined("no file came".to_owned())),
            };
            let file = on_disk.as_file_mut();
            file.set_len(0)
                .and_then(|()| std::io::Seek::rewind(file))
                .and_then(|()| file.write_all(text.as_bytes()))
                .map_err(|e| not_joined(e.to_string()))?;
            Ok((about(format!("{stem}-joined.csv"), said), on_disk))
        }
    }
}

/// The files' channels on one clock as one table, and what is to be known of that.
fn joined(files: &[File]) -> Result<(String, Vec<String>), Trouble> {
    let mut all = Vec::with_capacity(files.len());
    for file in files {
        let bytes = crate::files::read_recording(file.on_disk.path())?;
        let studied = study::from_bytes(bytes, &format!("\"{}\"", file.name), None)?;
        all.push(studied.recording);
    }
    let names: Vec<String> = files.iter().map(|f| format!("\"{}\"", f.name)).collect();
    let recording = fly::align::align(all);
    let mut said = vec![format!(
        "Joined from {}: all channels at the times of the fastest. The files themselves are not kept; keep them where you have them.",
        names.join(", ")
    )];
    said.extend(
        recording
            .flaws
            .iter()
            .filter(|f| f.kind == fly::recording::FlawKind::Clock)
            .map(|f| format!("{}: {}", f.place, f.what)),
    );
    let text = fly::export::csv(&recording).map_err(|e| not_joined(e.to_string()))?;
    Ok((text, said))
}

fn not_joined(why: String) -> Trouble {
    Trouble::new(
        Kind::Input,
        "the files could not be joined",
        why,
        "bring them one by one, or the one that matters most",
    )
}
