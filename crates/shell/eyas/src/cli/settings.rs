//! `eyas settings`: snapshots of the controller's settings, and what changed between two.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};

use aircraft::settings::{self, Kind as Change};
use hangar::{Hangar, NewSettings};
use serde_json::json;

use super::words::instant;
use super::{Answer, Common, now_ms, predict_more, usage};
use crate::files;
use crate::tasks::compare::{self, Compared, Kept, Side};
use crate::tasks::{keep, upkeep};
use crate::tell::Trouble;

/// Keep files of the controller's settings, compare them, give them back
///
/// Example: eyas settings keep Plover settings.txt --note "after trim"
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, clap::Subcommand)]
enum What {
    /// Keep a file of settings, whatever program wrote it
    Keep {
        /// Name of an aircraft in the hangar, or its file
        aircraft: String,
        /// The file of settings
        file: PathBuf,
        /// Words to keep with it
        #[arg(long, default_value = "")]
        note: String,
    },
    /// List the snapshots kept
    List {
        /// Name of an aircraft in the hangar, or its file
        aircraft: String,
    },
    /// Tell what changed between two snapshots, and which finding asked for it
    ///
    /// Example: eyas settings compare Plover 1 3
    Compare {
        /// Name of an aircraft in the hangar, or its file
        aircraft: String,
        /// Number of the older snapshot, or a file [default: the last but one]
        older: Option<String>,
        /// Number of the newer snapshot, or a file [default: the last]
        newer: Option<String>,
        /// Your table of settings (as for `eyas predict --scale`): with it, what findings ask for is told
        #[arg(long, value_name = "FILE.toml")]
        scale: Option<PathBuf>,
    },
    /// Show a snapshot, passwords and keys hidden
    Show {
        /// Name of an aircraft in the hangar, or its file
        aircraft: String,
        /// Number of the snapshot [default: the last]
        number: Option<u32>,
    },
    /// Write a snapshot back to a file, byte for byte, to load it into the controller again
    Export {
        /// Name of an aircraft in the hangar, or its file
        aircraft: String,
        /// Number of the snapshot [default: the last]
        number: Option<u32>,
        /// File to write; must not exist yet
        #[arg(short, long, value_name = "FILE")]
        output: PathBuf,
    },
}

pub(super) fn run(args: &Args, common: &Common) -> Result<Answer, Trouble> {
    match &args.what {
        What::Keep { aircraft, file, note } => keep_one(aircraft, file, note, common),
        What::List { aircraft } => list(aircraft, common),
        What::Compare { aircraft, older, newer, scale } => {
            compared(aircraft, older.as_deref(), newer.as_deref(), scale.as_deref(), common)
        }
        What::Show { aircraft, number } => show(aircraft, *number, common),
        What::Export { aircraft, number, output } => export(aircraft, *number, output, common),
    }
}

fn keep_one(aircraft: &str, file: &Path, note: &str, common: &Common) -> Result<Answer, Trouble> {
    let (mut hangar, name) = upkeep::kept(aircraft, common)?;
    let bytes = files::read_small(file, "a file of settings")?;
    let source_name = file.file_name().map_or_else(String::new, |name| name.to_string_lossy().into_owned());
    let new = NewSettings { bytes: &bytes, source_name: &source_name, note, at_ms: now_ms() };
    let Kept { snapshot: kept, new, read } =
        compare::keep_settings(&mut hangar, &name, &new, &file.display().to_string())?;
    let mut text = if new {
        format!("Kept {source_name} as settings {} of {name}: ", kept.number)
    } else {
        format!("{source_name} is settings {} of {name} already, byte for byte: ", kept.number)
    };
    let _ = writeln!(text, "{} settings in {} bytes.", read.settings.len(), bytes.len());
    if !read.not_understood.is_empty() {
        let _ = writeln!(
            text,
            "Lines without a name and a value, kept but not compared: {}.",
            lines(&read.not_understood)
        );
    }
    Ok(Answer::yes(
        text,
        json!({"aircraft": name, "number": kept.number, "sha256": kept.sha256, "settings": read.settings.len(),
            "not_understood_lines": read.not_understood}),
    ))
}

fn list(aircraft: &str, common: &Common) -> Result<Answer, Trouble> {
    let (hangar, name) = upkeep::kept(aircraft, common)?;
    let kept = hangar.settings(&name).map_err(keep::trouble)?;
    let mut text = String::new();
    if kept.is_empty() {
        let _ = writeln!(text, "No settings of {name} are kept yet: eyas settings keep \"{name}\" FILE");
    }
    for s in &kept {
        let _ = writeln!(text, "settings {}  {}  {}  {}", s.number, instant(s.at_ms), s.source_name, s.note);
    }
    let list: Vec<_> = kept
        .iter()
        .map(|s| {
            json!({"number": s.number, "at": instant(s.at_ms), "source": s.source_name, "note": s.note,
                "sha256": s.sha256, "bytes": s.size})
        })
        .collect();
    Ok(Answer::yes(text, json!({"aircraft": name, "settings": list})))
}

/// A snapshot or file named on the command line.
fn named(hangar: &Hangar, name: &str, which: &str) -> Result<Side, Trouble> {
    match which.parse::<u32>() {
        Ok(number) => Side::kept(hangar, name, number),
        Err(_) => {
            let bytes = files::read_small(Path::new(which), "a file of settings")?;
            Ok(Side { label: which.to_owned(), bytes })
        }
    }
}

fn compared(
    aircraft: &str,
    older: Option<&str>,
    newer: Option<&str>,
    scale: Option<&Path>,
    common: &Common,
) -> Result<Answer, Trouble> {
    let (hangar, name) = upkeep::kept(aircraft, common)?;
    let newest = hangar.settings(&name).map_err(keep::trouble)?.last().map_or(0, |s| s.number);
    if newest < 2 && newer.is_none() && !(newest == 1 && older.is_some_and(|o| o.parse::<u32>().is_err())) {
        return Err(usage(
            format!("{newest} snapshots of the settings of \"{name}\" are kept; two are needed"),
            format!("keep another: eyas settings keep \"{name}\" FILE"),
        ));
    }
    let older = older.map_or_else(|| (newest - 1).to_string(), str::to_owned);
    let newer = newer.map_or_else(|| newest.to_string(), str::to_owned);
    let (old, new) = (named(&hangar, &name, &older)?, named(&hangar, &name, &newer)?);
    let scale = scale.map(predict_more::settings_of).transpose()?.unwrap_or_default();
    let Compared { differences, open } = compare::compare(&hangar, &name, &old, &new, &scale)?;
    let (old_label, new_label) = (old.label, new.label);
    let mut text = format!("{name}: from {old_label} to {new_label}, {} differ.\n", differences.len());
    let mut section = "";
    for d in &differences {
        if d.section != section {
            section = &d.section;
            let _ = writeln!(text, "[{section}]");
        }
        let (from, to) = d.shown();
        let _ = match &d.kind {
            Change::Changed { .. } => write!(text, "  {}: {from} -> {to}", d.name),
            Change::Added(_) => write!(text, "  {}: added, {to}", d.name),
            Change::Removed(_) => write!(text, "  {}: removed, was {from}", d.name),
        };
        if let Some(asked) = &d.asked {
            let _ = match d.as_asked {
                Some(true) => write!(text, "  (as asked by {})", asked.why),
                _ => write!(text, "  (NOT as asked: {} asked for {})", asked.why, asked.to),
            };
        }
        text.push('\n');
    }
    for asked in &open {
        let _ =
            writeln!(text, "Asked for and not changed here: {} to {} ({}).", asked.name, asked.to, asked.why);
    }
    let list: Vec<_> = differences
        .iter()
        .map(|d| {
            let (from, to) = d.shown();
            json!({"section": d.section, "name": d.name,
                "kind": match d.kind { Change::Changed { .. } => "changed", Change::Added(_) => "added", Change::Removed(_) => "removed" },
                "from": from, "to": to, "secret": d.secret,
                "asked_by": d.asked.as_ref().map(|a| a.why.clone()), "as_asked": d.as_asked})
        })
        .collect();
    Ok(Answer::yes(
        text,
        json!({"aircraft": name, "older": old_label, "newer": new_label, "differences": list,
            "asked_and_not_changed": open.iter().map(|a| json!({"name": a.name, "to": a.to, "why": a.why})).collect::<Vec<_>>()}),
    ))
}

fn show(aircraft: &str, number: Option<u32>, common: &Common) -> Result<Answer, Trouble> {
    let (hangar, name) = upkeep::kept(aircraft, common)?;
    let number = wanted(&hangar, &name, number)?;
    let bytes = hangar.settings_bytes(&name, number).map_err(keep::trouble)?;
    let read = compare::read(&bytes, &format!("settings {number}"))?;
    let text = settings::masked(&String::from_utf8_lossy(&bytes), &read);
    let list: Vec<_> = read
        .settings
        .iter()
        .map(|s| {
            let value = if settings::secret(&s.name, &s.value) { settings::MASK } else { s.value.as_str() };
            json!({"section": s.section, "name": s.name, "value": value, "line": s.line})
        })
        .collect();
    Ok(Answer::yes(text, json!({"aircraft": name, "number": number, "settings": list})))
}

fn export(aircraft: &str, number: Option<u32>, output: &Path, common: &Common) -> Result<Answer, Trouble> {
    let (hangar, name) = upkeep::kept(aircraft, common)?;
    let number = wanted(&hangar, &name, number)?;
    let bytes = hangar.settings_bytes(&name, number).map_err(keep::trouble)?;
    files::write_new(output, &bytes)?;
    Ok(Answer::yes(
        format!(
            "Wrote settings {number} of {name} to {}, byte for byte as kept (passwords and keys included).\n\
             Propeller off while they are loaded; then the surface direction check and the failsafe's answer again.\n",
            output.display()
        ),
        json!({"aircraft": name, "number": number, "file": output}),
    ))
}

/// The snapshot asked for, or the last.
fn wanted(hangar: &Hangar, name: &str, number: Option<u32>) -> Result<u32, Trouble> {
    match number {
        Some(number) => Ok(number),
        None => hangar.settings(name).map_err(keep::trouble)?.last().map(|s| s.number).ok_or_else(|| {
            usage(
                format!("no settings of \"{name}\" are kept yet"),
                format!("keep some: eyas settings keep \"{name}\" FILE"),
            )
        }),
    }
}

fn lines(numbers: &[usize]) -> String {
    const MOST: usize = 12;
    let mut list: Vec<String> = numbers.iter().take(MOST).map(usize::to_string).collect();
    if numbers.len() > MOST {
        list.push(format!("and {} more", numbers.len() - MOST));
    }
    list.join(", ")
}
