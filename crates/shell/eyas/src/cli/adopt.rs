//! `eyas adopt`: revise the aircraft's file from what was flown.

use std::fmt::Write as _;
use std::io::{BufRead as _, IsTerminal as _, Write as _};
use std::path::Path;

use hangar::FindingsId;
use serde_json::json;

use report::number::{exact, with_doubt};

use super::go_back::go_back;
use super::words::paragraph;
use super::{Answer, Common, now_ms};
use crate::files;
use crate::json::findings::{self, Beside};
use crate::tasks::revise::{Revision, adopt, revise};
use crate::tasks::{fetch, keep};
use crate::tell::{Kind, Trouble};

/// Revise the aircraft's file from findings; shows what changes first
///
/// Example: eyas adopt plover.toml findings.json
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// Aircraft file, or name of an aircraft in the hangar
    aircraft: String,
    /// Findings: a file that `eyas learn --json` printed, or the number under which the hangar keeps them
    #[arg(required_unless_present = "undo")]
    findings: Option<String>,
    /// Go back to what the file was before findings were last adopted, or to the revision with this number
    #[arg(long, value_name = "REVISION", num_args = 0..=1, conflicts_with_all = ["findings", "show", "yes"])]
    undo: Option<Option<u32>>,
    /// Only show what would change
    #[arg(long)]
    show: bool,
    /// Do not ask at a terminal (where there is none, nothing is asked and the file is changed)
    #[arg(long, conflicts_with = "show")]
    yes: bool,
}

pub(super) fn run(args: &Args, common: &Common) -> Result<Answer, Trouble> {
    if let Some(number) = args.undo {
        return go_back(&args.aircraft, number, common);
    }
    let fetched = fetch::aircraft(&args.aircraft, common)?;
    let which = args.findings.as_deref().unwrap_or_default();
    let (text, id) = findings_text(which, common)?;
    let to_adopt = findings::read(&text).map_err(|cause| {
        Trouble::new(
            Kind::Input,
            format!("{which} could not be read as findings"),
            cause,
            "make it with `eyas learn AIRCRAFT RECORDING --json > findings.json`",
        )
    })?;
    let at = now_ms();
    let day = jiff::Timestamp::now().strftime("%Y-%m-%d").to_string();
    let revision = revise(&fetched, &to_adopt, &day)?;
    let beside = findings::beside(&text);
    let mut out = beside_text(&beside);
    out.push_str(&changes_text(&revision));
    let nothing = revision.made.is_empty();
    let wanted = !nothing && !args.show && (args.yes || agreed(&out, common)?);
    if wanted {
        adopt(&fetched, &revision, &to_adopt.recording, id, common, at)?;
        let place =
            fetched.path.as_ref().map_or_else(|| "in the hangar".to_owned(), |p| p.display().to_string());
        let _ = writeln!(out, "Revised {place}; both texts are kept in the hangar.");
    } else if nothing {
        let _ = writeln!(out, "Nothing to adopt.");
    } else {
        let _ = writeln!(out, "Nothing was changed.");
    }
    let change = |c: &aircraft::finding::Change| json!({"path": c.path, "from": c.from, "to": c.to, "sd": c.sd, "unit": c.unit, "why": c.why, "held_back": c.held_back});
    Ok(Answer::yes(
        out,
        json!({
            "aircraft": fetched.aircraft.name,
            "adopted": wanted,
            "predicted_beside_flown": beside.iter().map(|b| json!({"what": b.words, "unit": b.unit, "predicted": {"value": b.predicted.value, "sd": b.predicted.sd}, "flown": {"value": b.flown.value, "sd": b.flown.sd}, "agree": b.agree()})).collect::<Vec<_>>(),
            "changes": revision.made.iter().map(change).collect::<Vec<_>>(),
            "held_back": revision.held_back.iter().map(change).collect::<Vec<_>>(),
        }),
    ))
}

/// The findings' text, from a file or from the hangar by number.
fn findings_text(which: &str, common: &Common) -> Result<(String, Option<FindingsId>), Trouble> {
    if let Ok(id) = which.parse::<i64>()
        && !Path::new(which).exists()
    {
        let Some(hangar) = keep::open_existing(common)? else {
            return Err(Trouble::new(
                Kind::Input,
                format!("there are no findings {id}"),
                "there is no hangar yet that could keep them",
                "learn from a recording first: eyas learn AIRCRAFT RECORDING",
            ));
        };
        let found = hangar.findings_by_id(FindingsId(id)).map_err(keep::trouble)?;
        return Ok((found.json, Some(found.id)));
    }
    Ok((files::read_text(Path::new(which), "findings")?, None))
}

/// Predicted beside flown for people.
fn beside_text(beside: &[Beside]) -> String {
    let mut out = String::new();
    if !beside.is_empty() {
        out.push_str("Predicted beside flown, ± two standard deviations\n");
    }
    for b in beside {
        let _ = writeln!(
            out,
            "  {}: {} predicted, {} flown: they {}",
            b.words,
            with_doubt(b.predicted.value, b.predicted.sd, &b.unit),
            with_doubt(b.flown.value, b.flown.sd, &b.unit),
            if b.agree() { "agree" } else { "differ" }
        );
    }
    if !beside.is_empty() {
        out.push('\n');
    }
    out
}

/// Changes for people.
pub(crate) fn changes_text(revision: &Revision) -> String {
    let mut out = String::new();
    for change in &revision.made {
        let from = change.from.map_or_else(|| "not set".to_owned(), |v| exact(v, &change.unit));
        let _ =
            writeln!(out, "{}: {from} -> {}", change.path, with_doubt(change.to, change.sd, &change.unit));
        out.push_str(&paragraph(&change.why, "    ", 100));
    }
    for change in &revision.held_back {
        let _ = writeln!(out, "{}: held back", change.path);
        out.push_str(&paragraph(change.held_back.as_deref().unwrap_or_default(), "    ", 100));
    }
    out
}

/// Asks at a terminal; elsewhere the command itself is the yes.
fn agreed(shown: &str, common: &Common) -> Result<bool, Trouble> {
    let stdin = std::io::stdin();
    if common.json || !stdin.is_terminal() {
        return Ok(true);
    }
    let mut stderr = std::io::stderr();
    let _ = write!(stderr, "{shown}Change the file? [y/N] ");
    let _ = stderr.flush();
    let mut line = String::new();
    stdin.lock().read_line(&mut line).map_err(|e| {
        Trouble::new(Kind::Input, "no answer could be read", e.to_string(), "use --yes or --show")
    })?;
    Ok(matches!(line.trim(), "y" | "Y" | "yes"))
}
