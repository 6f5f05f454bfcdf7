//! `eyas card`: the next flight's card.

use std::path::PathBuf;

use hangar::NewCard;
use serde_json::json;

use super::{Answer, decimal, now_ms};
use crate::files;
use crate::tasks::forecast::Air;
use crate::tasks::{fetch, keep, round};
use crate::tell::Trouble;

/// Make the next flight's card, for the phone or to print
///
/// Example: eyas card plover.toml --wind 3 --gust 5 -o card.html
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// Aircraft file, or name of an aircraft in the hangar
    aircraft: String,
    /// Mean wind, m/s
    #[arg(long, value_name = "M_S", value_parser = decimal, allow_hyphen_values = true)]
    wind: Option<f64>,
    /// Strongest gust, m/s
    #[arg(long, value_name = "M_S", value_parser = decimal, allow_hyphen_values = true)]
    gust: Option<f64>,
    /// Where the wind blows from, degrees true
    #[arg(long, value_name = "DEG", value_parser = decimal, allow_hyphen_values = true)]
    from: Option<f64>,
    #[command(flatten)]
    air: Air,
    /// File to write, HTML
    #[arg(short, long, value_name = "FILE.html")]
    output: PathBuf,
}

pub(super) fn run(args: &Args, common: &super::Common) -> Result<Answer, Trouble> {
    files::page_name(&args.output)?;
    let weather = round::weather(args.wind, args.gust, args.from)?;
    let fetched = fetch::aircraft(&args.aircraft, common)?;
    let issued = round::card(&fetched, &weather, &args.air, common)?;
    let document = round::card_json(&issued.card);
    let mut hangar = keep::open(common)?;
    let at = now_ms();
    let name = &fetched.aircraft.name;
    let revision =
        hangar.keep_aircraft(name, fetched.kept(), "as the card was made", at).map_err(keep::trouble)?;
    let kept = hangar
        .keep_card(&NewCard {
            aircraft: revision.id,
            html: issued.html.as_bytes(),
            json: &document.to_string(),
            version: env!("CARGO_PKG_VERSION"),
            at_ms: at,
        })
        .map_err(keep::trouble)?;
    files::write_whole(&args.output, issued.html.as_bytes())?;
    let mut text = round::card_text(&issued.card);
    text.push_str(&format!("\nWrote {} and kept it as card {}.\n", args.output.display(), kept.id));
    Ok(Answer::yes(text, json!({"file": args.output, "kept_as": kept.id.0, "card": document})))
}
