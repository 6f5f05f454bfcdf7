//! `eyas defect`: what is wrong, what was done, what has to be looked at again, which parts are on their way.

use std::fmt::Write as _;

use hangar::{Defect, DefectId, NewDefect};
use plan::repairs::Repair;
use serde_json::{Value, json};

use super::words::instant;
use super::{Answer, Common, now_ms, usage};
use crate::tasks::{keep, upkeep};
use crate::tell::Trouble;

/// Note defects, close them with what was done, keep a list of parts
///
/// Example: eyas defect open Plover "firewall cracked after a hard landing" --place nose --grounds
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, clap::Subcommand)]
enum What {
    /// Note a defect
    Open {
        /// Name of an aircraft in the hangar, or its file
        aircraft: String,
        /// What is wrong, in your words
        what: String,
        /// Which part of the aircraft: nose, fuselage, wing, tail, surface, linkage, servo, motor, propeller,
        /// speed-controller, pack, radio, controller, sensor, gear, covering, other
        #[arg(long, value_parser = place)]
        place: Repair,
        /// It must not fly with it (without this the defect is only remembered)
        #[arg(long)]
        grounds: bool,
        /// Who found it
        #[arg(long, default_value = "")]
        by: String,
        /// A part to order for it; may be given more than once
        #[arg(long, value_name = "WHAT")]
        part: Vec<String>,
    },
    /// Close a defect with what was done; says what has to be looked at again
    Close {
        /// Number of the defect
        defect: i64,
        /// What was done, in your words
        done: String,
        /// What was repaired, where that is another part than the defect names
        #[arg(long, value_parser = place)]
        repair: Option<Repair>,
        /// Who did it
        #[arg(long, default_value = "")]
        by: String,
    },
    /// List the defects, open ones first, and the parts on their way
    List {
        /// Name of an aircraft in the hangar, or its file
        aircraft: String,
        /// The closed ones too
        #[arg(long)]
        all: bool,
    },
    /// Note a part to order
    Part {
        /// Name of an aircraft in the hangar, or its file
        aircraft: String,
        /// What to order
        what: String,
        /// Number of the defect that it is for
        #[arg(long)]
        defect: Option<i64>,
    },
    /// Say that a part has arrived
    Arrived {
        /// Number of the part
        part: i64,
    },
}

fn place(typed: &str) -> Result<Repair, String> {
    Repair::of_word(typed).ok_or_else(|| {
        let words: Vec<&str> = Repair::ALL.iter().map(|kind| kind.word()).collect();
        format!("give one of: {}", words.join(", "))
    })
}

pub(super) fn run(args: &Args, common: &Common) -> Result<Answer, Trouble> {
    match &args.what {
        What::Open { aircraft, what, place, grounds, by, part } => {
            if what.trim().is_empty() {
                return Err(usage("nothing says what is wrong", "describe the defect in a few words"));
            }
            let (mut hangar, name) = upkeep::kept(aircraft, common)?;
            let at_ms = now_ms();
            let new = NewDefect { place: place.word(), what, grounds: *grounds, by, at_ms };
            let defect = hangar.open_defect(&name, &new).map_err(keep::trouble)?;
            let mut text = format!("Defect {} of {name} noted ({}): {what}\n", defect.id, place.word());
            if *grounds {
                let _ = writeln!(text, "{name} stays on the ground until it is closed.");
            }
            for what in part {
                let part = hangar.need_part(&name, what, Some(defect.id), at_ms).map_err(keep::trouble)?;
                let _ = writeln!(text, "Part {} to order: {what}", part.id);
            }
            let json = document(&defect);
            Ok(Answer::yes(text, json))
        }
        What::Close { defect, done, repair, by } => close(*defect, done, *repair, by, common),
        What::List { aircraft, all } => list(aircraft, *all, common),
        What::Part { aircraft, what, defect } => {
            let (mut hangar, name) = upkeep::kept(aircraft, common)?;
            let part =
                hangar.need_part(&name, what, defect.map(DefectId), now_ms()).map_err(keep::trouble)?;
            Ok(Answer::yes(
                format!("Part {} of {name} to order: {what}\n", part.id),
                json!({"part": part.id, "what": what, "aircraft": name}),
            ))
        }
        What::Arrived { part } => {
            let Some(mut hangar) = keep::open_existing(common)? else { return Err(nothing_kept()) };
            let part = hangar.part_arrived(*part, now_ms()).map_err(keep::trouble)?;
            Ok(Answer::yes(
                format!("Part {} is here: {}\n", part.id, part.what),
                json!({"part": part.id, "what": part.what, "aircraft": part.aircraft, "here": true}),
            ))
        }
    }
}

fn nothing_kept() -> Trouble {
    usage(
        "nothing is kept yet",
        "note a defect first: eyas defect open AIRCRAFT \"what is wrong\" --place PART",
    )
}

fn close(id: i64, done: &str, repair: Option<Repair>, by: &str, common: &Common) -> Result<Answer, Trouble> {
    if done.trim().is_empty() {
        return Err(usage("nothing says what was done", "describe the repair in a few words"));
    }
    let Some(mut hangar) = keep::open_existing(common)? else { return Err(nothing_kept()) };
    let (defect, told) = upkeep::close(&mut hangar, DefectId(id), done, repair, by, now_ms())?;
    let mut text = format!("Defect {id} of {} closed: {done}\n", defect.aircraft);
    let _ = writeln!(text, "Before it flies again, after work on the {}:", told.word());
    for check in told.demands() {
        let _ = writeln!(text, "  [{}] {}", check.word(), check.what());
    }
    let left = upkeep::grounded(&hangar, &defect.aircraft)?;
    for reason in &left {
        let _ = writeln!(text, "Still on the ground: {reason}");
    }
    let mut json = document(&defect);
    json["still_grounded"] = json!(left);
    Ok(Answer::yes(text, json))
}

fn list(aircraft: &str, all: bool, common: &Common) -> Result<Answer, Trouble> {
    let (hangar, name) = upkeep::kept(aircraft, common)?;
    let defects = hangar.defects(&name).map_err(keep::trouble)?;
    let parts = hangar.parts(&name).map_err(keep::trouble)?;
    let (open, closed): (Vec<_>, Vec<_>) = defects.iter().partition(|d| d.closed.is_none());
    let grounded = open.iter().any(|d| d.grounds);
    let mut text = match (grounded, open.len()) {
        (true, _) => format!("{name} stays on the ground.\n"),
        (false, 0) => format!("{name} has no open defect.\n"),
        (false, _) => format!("{name} may fly with its open defects; look at each before the flight.\n"),
    };
    for d in &open {
        let _ = writeln!(
            text,
            "  defect {}  {}  {}{}: {}",
            d.id,
            instant(d.at_ms),
            d.place,
            if d.grounds { ", GROUNDS" } else { "" },
            d.what
        );
    }
    if all {
        for d in &closed {
            let Some(c) = &d.closed else { continue };
            let _ = writeln!(
                text,
                "  defect {}  {}  {}: {}\n    closed {}: {}",
                d.id,
                instant(d.at_ms),
                d.place,
                d.what,
                instant(c.at_ms),
                c.done
            );
        }
    }
    for part in parts.iter().filter(|part| all || part.here_ms.is_none()) {
        let _ = writeln!(
            text,
            "  part {}  {}  {}{}",
            part.id,
            instant(part.at_ms),
            part.what,
            part.here_ms
                .map_or_else(|| ", to order".to_owned(), |at| format!(", here since {}", instant(at)))
        );
    }
    let json = json!({
        "aircraft": name, "grounded": grounded,
        "defects": defects.iter().map(document).collect::<Vec<_>>(),
        "parts": parts.iter().map(|p| json!({"id": p.id, "what": p.what, "defect": p.defect.map(|d| d.0),
            "noted": instant(p.at_ms), "here": p.here_ms.map(instant)})).collect::<Vec<_>>(),
    });
    Ok(Answer { text, json, no: grounded })
}

/// A defect for scripts.
pub(crate) fn document(defect: &Defect) -> Value {
    json!({
        "defect": defect.id.0, "aircraft": defect.aircraft, "place": defect.place, "what": defect.what,
        "grounds": defect.grounds, "by": defect.by, "at": instant(defect.at_ms),
        "closed": defect.closed.as_ref().map(|c| json!({"repair": c.repair, "done": c.done, "by": c.by, "at": instant(c.at_ms)})),
        "look_at_again": upkeep::demands(defect).iter().map(|check| json!({"id": check.word(), "what": check.what()})).collect::<Vec<_>>(),
    })
}
