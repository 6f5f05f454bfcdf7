//! Which aircraft is meant? A file by its path, or what the hangar keeps under a name.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use aircraft::Aircraft;
use aircraft::schema::{self, Fault};
use hangar::{AircraftText, HangarError, SectionFile};

use crate::cli::Common;
use crate::files;
use crate::tasks::keep;
use crate::tell::{Kind, Trouble};

/// An aircraft with the text it was read from.
#[derive(Debug, Clone)]
pub(crate) struct Fetched {
    /// What it says.
    pub(crate) aircraft: Aircraft,
    /// The file, byte for byte.
    pub(crate) text: String,
    /// The coordinate files that its sections name.
    pub(crate) section_files: Vec<SectionFile>,
    /// Where the file is; absent where it came from the hangar.
    pub(crate) path: Option<PathBuf>,
}

impl Fetched {
    /// As the hangar keeps it.
    pub(crate) fn kept(&self) -> AircraftText<'_> {
        self.kept_with(&self.text)
    }

    /// A revised text of the same aircraft, as the hangar keeps it.
    pub(crate) fn kept_with<'a>(&'a self, text: &'a str) -> AircraftText<'a> {
        AircraftText { text, section_files: &self.section_files }
    }
}

/// Fetches an aircraft by path or by name.
pub(crate) fn aircraft(which: &str, common: &Common) -> Result<Fetched, Trouble> {
    let path = Path::new(which);
    if path.exists() || path.components().count() > 1 || path.extension().is_some_and(|e| e == "toml") {
        let text = files::read_text(path, "an aircraft file")?;
        let used = RefCell::new(BTreeMap::new());
        let aircraft = read(&text, which, &|name| {
            let found = section_file(name, path.parent())?;
            used.borrow_mut().insert(name.to_owned(), found.clone());
            Some(found)
        })?;
        let section_files =
            used.into_inner().into_iter().map(|(name, text)| SectionFile { name, text }).collect();
        return Ok(Fetched { aircraft, text, section_files, path: Some(path.to_path_buf()) });
    }
    let hangar = keep::open_existing(common)?;
    let found = match &hangar {
        Some(hangar) => match hangar.aircraft(which) {
            Ok(revision) => {
                let files = hangar.section_files(revision.id).map_err(keep::trouble)?;
                Some((revision.text, files))
            }
            Err(HangarError::NoAircraft { .. }) => None,
            Err(error) => return Err(keep::trouble(error)),
        },
        None => None,
    };
    let Some((text, section_files)) = found else {
        let names = match &hangar {
            Some(hangar) => hangar.names().map_err(keep::trouble)?,
            None => Vec::new(),
        };
        return Err(unknown(which, &names));
    };
    let aircraft = kept_text(&text, which, &section_files)?;
    Ok(Fetched { aircraft, text, section_files, path: None })
}

/// Whether the aircraft is still as it was fetched.
///
/// # Errors
/// When its file, or the hangar's newest revision of it, has another text by now.
pub(crate) fn unchanged(fetched: &Fetched, common: &Common) -> Result<(), Trouble> {
    let now = match &fetched.path {
        Some(path) => files::read_text(path, "an aircraft file")?,
        None => keep::open(common)?.aircraft(&fetched.aircraft.name).map_err(keep::trouble)?.text,
    };
    if now == fetched.text {
        return Ok(());
    }
    Err(Trouble::new(
        Kind::No,
        format!("\"{}\" was not changed", fetched.aircraft.name),
        "somebody edited it meanwhile",
        "run the command again, to see what it would change now",
    ))
}

/// There is no such aircraft; names those that the hangar keeps.
pub(crate) fn unknown(which: &str, names: &[String]) -> Trouble {
    let like = names.iter().find(|name| name.to_lowercase() == which.to_lowercase());
    let cause = match (like, names) {
        (Some(name), _) => format!("no file has that path; did you mean \"{name}\", which the hangar keeps?"),
        (None, []) => "no file has that path, and the hangar keeps no aircraft yet".to_owned(),
        (None, names) => format!("no file has that path, and the hangar keeps: {}", names.join(", ")),
    };
    Trouble::new(
        Kind::Input,
        format!("there is no aircraft \"{which}\""),
        cause,
        "give the path of an aircraft file, or make one with `eyas new NAME -o FILE.toml`",
    )
}

/// Reads the text of an aircraft file; `section_file` gives the coordinate files that its sections name.
fn read(text: &str, named: &str, section_file: &dyn Fn(&str) -> Option<String>) -> Result<Aircraft, Trouble> {
    schema::read(text, section_file).map_err(|faults| faults_trouble(named, text, &faults))
}

/// Reads a revised text of an aircraft with the coordinate files that came with it.
pub(crate) fn revised(text: &str, fetched: &Fetched) -> Result<Aircraft, Trouble> {
    kept_text(text, "the revised file", &fetched.section_files)
}

/// Reads an aircraft's text with coordinate files that are at hand.
pub(crate) fn kept_text(text: &str, named: &str, files: &[SectionFile]) -> Result<Aircraft, Trouble> {
    read(text, named, &|name| kept_file(files, name))
}

fn kept_file(files: &[SectionFile], name: &str) -> Option<String> {
    files.iter().find(|f| f.name == name).map(|f| f.text.clone())
}

/// A coordinate file beside the aircraft file. A name that leads out of the folder is none.
fn section_file(name: &str, folder: Option<&Path>) -> Option<String> {
    let relative = Path::new(name);
    let plain = relative.components().all(|c| matches!(c, std::path::Component::Normal(_)));
    if !plain {
        return None;
    }
    files::read_text(&folder?.join(relative), "a coordinate file").ok()
}

/// All faults of a file, each with its place and the line it stands in.
pub(crate) fn faults_trouble(named: &str, text: &str, faults: &[Fault]) -> Trouble {
    let lines: Vec<&str> = text.lines().collect();
    let causes = faults
        .iter()
        .map(|fault| {
            let mut cause = format!("{named}:{}:{}: {}", fault.line, fault.column, fault.problem);
            if let Some(line) = fault.line.checked_sub(1).and_then(|i| lines.get(i)) {
                let before: String = line.chars().take(fault.column.saturating_sub(1)).collect();
                let pad: String = before.chars().map(|c| if c == '\t' { '\t' } else { ' ' }).collect();
                let shown: String = line.chars().take(160).collect();
                let room = shown.chars().count().saturating_sub(fault.column.saturating_sub(1)).max(1);
                let marks = "^".repeat(fault.length.clamp(1, room));
                cause.push_str(&format!("\n| {shown}\n| {pad}{marks}"));
            }
            if !fault.remedy.is_empty() {
                cause.push_str(&format!("\n{}", fault.remedy));
            }
            cause
        })
        .collect();
    let count = faults.len();
    Trouble::many(
        Kind::No,
        format!("{named} has {count} {}", if count == 1 { "error" } else { "errors" }),
        causes,
        "mend the lines named; nothing was changed",
    )
}
