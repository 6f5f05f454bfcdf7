//! `eyas log`: how long has the airframe flown, and how old is each pack?

use std::fmt::Write as _;

use hangar::log_totals;
use serde_json::json;

use super::words::{count, instant};
use super::{Answer, Common, decimal, now_ms, usage};
use crate::tasks::flown::{self, Entry};
use crate::tasks::{keep, upkeep};
use crate::tell::Trouble;

/// The log of airframe and packs: flights, minutes, landings, charge and resistance
///
/// Example: eyas log Plover --flight 3 --pack A
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// Name of an aircraft in the hangar, or its file
    aircraft: String,
    /// Enter the flight of this recording; minutes, charge and resistance come from its findings
    #[arg(long, value_name = "ID")]
    flight: Option<i64>,
    /// Enter a flight of so many minutes (without a recording), or correct the recording's
    #[arg(long, value_name = "MIN", value_parser = decimal, allow_negative_numbers = true)]
    minutes: Option<f64>,
    /// Landings of that flight
    #[arg(long, value_name = "N")]
    landings: Option<u32>,
    /// Name of the pack ("A")
    #[arg(long, value_name = "NAME")]
    pack: Option<String>,
    /// Charge put back into the pack afterwards, mAh
    #[arg(long, value_name = "MAH", value_parser = decimal, allow_negative_numbers = true)]
    charged: Option<f64>,
    /// Resistance of the pack as measured, milliohm
    #[arg(long, value_name = "MOHM", value_parser = decimal, allow_negative_numbers = true)]
    resistance: Option<f64>,
    /// Words to keep with it
    #[arg(long, default_value = "")]
    note: String,
}

pub(super) fn run(args: &Args, common: &Common) -> Result<Answer, Trouble> {
    let (mut hangar, name) = upkeep::kept(&args.aircraft, common)?;
    let mut text = String::new();
    let enters = args.flight.is_some()
        || args.minutes.is_some()
        || args.landings.is_some()
        || args.charged.is_some()
        || args.resistance.is_some();
    if !enters && (args.pack.is_some() || !args.note.is_empty()) {
        return Err(usage(
            "nothing says what to enter",
            "give --flight ID or --minutes MIN, or --resistance MOHM for a pack that was measured",
        ));
    }
    for (what, value) in
        [("minutes", args.minutes), ("charged", args.charged), ("resistance", args.resistance)]
    {
        if value.is_some_and(|v| v < 0.0) {
            return Err(usage(format!("--{what} is negative"), "give what was measured"));
        }
    }
    if enters {
        let entry = Entry {
            recording: args.flight,
            pack: args.pack.clone().unwrap_or_default(),
            flown_s: args.minutes.map(|min| min * 60.0),
            landings: args.landings,
            used_as: args.charged.map(|mah| mah * 3.6),
            resistance_ohm: args.resistance.map(|mohm| mohm / 1000.0),
            note: args.note.clone(),
        };
        flown::enter(&mut hangar, &name, &entry, now_ms())?;
        let _ = writeln!(text, "Entered.");
    }
    let entries = hangar.log_entries(&name).map_err(keep::trouble)?;
    let totals = log_totals(&entries);
    let _ = writeln!(
        text,
        "{name}: {}, {:.0} min, {} in the log.",
        count(totals.flights, "flight"),
        totals.flown_s / 60.0,
        count(totals.landings, "landing")
    );
    for pack in &totals.packs {
        let _ = write!(
            text,
            "  pack {}: {}, {:.0} min",
            pack.name,
            count(pack.cycles, "flight"),
            pack.flown_s / 60.0
        );
        if pack.used_as > 0.0 {
            let _ = write!(text, ", {:.0} mAh", pack.used_as / 3.6);
        }
        if let (Some((_, first)), Some((_, last))) =
            (pack.resistances_ohm.first(), pack.resistances_ohm.last())
        {
            let _ = write!(text, ", resistance {:.0} mohm", last * 1000.0);
            if pack.resistances_ohm.len() > 1 {
                let _ = write!(text, " (first {:.0})", first * 1000.0);
            }
        }
        if let Some(rise) = pack.rise_ohm_per_cycle {
            let _ = write!(text, ", {:+.2} mohm a flight", rise * 1000.0);
        }
        text.push('\n');
    }
    let missing = flown::not_logged(&hangar, &name, &entries)?;
    if !missing.is_empty() {
        let list: Vec<String> = missing.iter().map(i64::to_string).collect();
        let _ = writeln!(
            text,
            "Recordings not in the log yet: {} (eyas log \"{name}\" --flight ID)",
            list.join(", ")
        );
    }
    let document = json!({
        "aircraft": name, "flights": totals.flights, "flown_s": totals.flown_s, "landings": totals.landings,
        "packs": totals.packs.iter().map(|p| json!({"name": p.name, "flights": p.cycles, "flown_s": p.flown_s,
            "used_as": p.used_as, "rise_ohm_per_flight": p.rise_ohm_per_cycle,
            "resistances": p.resistances_ohm.iter().map(|(at, ohm)| json!({"at": instant(*at), "value_ohm": ohm})).collect::<Vec<_>>()})).collect::<Vec<_>>(),
        "entries": entries.iter().map(|e| json!({"at": instant(e.at_ms), "recording": e.recording.map(|r| r.0), "pack": e.pack,
            "flown_s": e.flown_s, "landings": e.landings, "used_as": e.used_as, "resistance_ohm": e.resistance_ohm, "note": e.note})).collect::<Vec<_>>(),
        "recordings_not_logged": missing,
    });
    Ok(Answer::yes(text, document))
}
