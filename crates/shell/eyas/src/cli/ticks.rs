//! `eyas ticks`: which points of a card were ticked at the field?

use std::fmt::Write as _;
use std::path::Path;

use hangar::CardId;
use serde_json::{Value, json};

use super::{Answer, Common, now_ms, usage};
use crate::files;
use crate::tasks::{flown, keep};
use crate::tell::{Kind, Trouble};

/// Bring the ticks of a card back from the phone, as the code that its page shows or the file that it wrote
///
/// A tick says that a point was flown, not that it taught anything: that, the recording says.
///
/// Example: eyas ticks 3 K7Q2-9M3F
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// Number of the card
    card: i64,
    /// The code, or the file with it
    code: String,
}

pub(super) fn run(args: &Args, common: &Common) -> Result<Answer, Trouble> {
    let Some(mut hangar) = keep::open_existing(common)? else {
        return Err(usage("no card is kept yet", "make one first: eyas card AIRCRAFT -o card.html"));
    };
    let path = Path::new(&args.code);
    let code = if path.is_file() { files::read_text(path, "a file of ticks")? } else { args.code.clone() };
    let code = code.trim();
    let card = hangar.card(CardId(args.card)).map_err(keep::trouble)?;
    let points = flown::ticked(&card, code).map_err(|cause| {
        Trouble::new(
            Kind::Input,
            format!("the ticks of card {} could not be read", args.card),
            cause.to_string(),
            "type it as the page shows it under \u{201c}Bring the ticks back\u{201d}; `eyas flights` lists the cards",
        )
    })?;
    hangar.keep_ticks(card.id, code, now_ms()).map_err(keep::trouble)?;
    let done = points.iter().filter(|(.., on)| *on).count();
    let mut out =
        format!("Card {} of {}: {done} of {} points ticked.\n", card.id, card.aircraft, points.len());
    for (_, title, ticked) in &points {
        let _ = writeln!(out, "  [{}] {title}", if *ticked { "x" } else { " " });
    }
    let list: Vec<Value> = points
        .iter()
        .map(|(id, title, ticked)| json!({"id": id, "title": title, "ticked": ticked}))
        .collect();
    Ok(Answer::yes(out, json!({"card": card.id.0, "aircraft": card.aircraft, "points": list})))
}
