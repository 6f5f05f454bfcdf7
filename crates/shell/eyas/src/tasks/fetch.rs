//! Which aircraft is meant? A file by its path, or what the hangar keeps under a name.

use std::path::{Path, PathBuf};

use aircraft::Aircraft;
use aircraft::schema::{self, Fault};
use hangar::HangarError;

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
    /// Where the file is; absent where it came from the hangar.
    pub(crate) path: Option<PathBuf>,
}

/// Fetches an aircraft by path or by name.
pub(crate) fn aircraft(which: &str, common: &Common) -> Result<Fetched, Trouble> {
    let path = Path::new(which);
    if path.exists() || path.components().count() > 1 || path.extension().is_some_and(|e| e == "toml") {
        let text = files::read_text(path, "an aircraft file")?;
        let aircraft = read(&text, which, path.parent())?;
        return Ok(Fetched { aircraft, text, path: Some(path.to_path_buf()) });
    }
    let hangar = keep::open_existing(common)?;
    let text = match &hangar {
        Some(hangar) => match hangar.aircraft(which) {
            Ok(revision) => Some(revision.text),
            Err(HangarError::NoAircraft { .. }) => None,
            Err(error) => return Err(keep::trouble(error)),
        },
        None => None,
    };
    let Some(text) = text else {
        let names = match &hangar {
            Some(hangar) => hangar.names().map_err(keep::trouble)?,
            None => Vec::new(),
        };
        return Err(Trouble::new(
            Kind::Input,
            format!("there is no aircraft \"{which}\""),
            match names.as_slice() {
                [] => "no file has that path, and the hangar keeps no aircraft yet".to_owned(),
                names => format!("no file has that path, and the hangar keeps: {}", names.join(", ")),
            },
            "give the path of an aircraft file, or make one with `eyas new NAME -o FILE.toml`",
        ));
    };
    let aircraft = read(&text, which, None)?;
    Ok(Fetched { aircraft, text, path: None })
}

/// Reads the text of an aircraft file; coordinate files of its sections are looked for in `folder`.
pub(crate) fn read(text: &str, named: &str, folder: Option<&Path>) -> Result<Aircraft, Trouble> {
    schema::read(text, &|name| section_file(name, folder))
        .map_err(|faults| faults_trouble(named, text, &faults))
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
