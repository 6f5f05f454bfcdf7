//! `eyas card`: the next flight's card.

use std::path::PathBuf;

use plan::day::Verdict;
use serde_json::json;

use super::{Answer, now_ms};
use crate::files;
use crate::tasks::today::Told;
use crate::tasks::{fetch, issue, round};
use crate::tell::Trouble;

/// Make the next flight's card, for the phone or to print; with the options of `eyas day`, for that day
///
/// Example: eyas card plover.toml --wind 3 --gust 5 -o card.html
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// Aircraft file, or name of an aircraft in the hangar
    aircraft: String,
    #[command(flatten)]
    told: Told,
    /// File to write: a page for the phone (FILE.html), or two A5 pages to print (FILE.pdf)
    #[arg(short, long, value_name = "FILE")]
    output: PathBuf,
}

pub(super) fn run(args: &Args, common: &super::Common) -> Result<Answer, Trouble> {
    let paper = args.output.extension().is_some_and(|e| e.eq_ignore_ascii_case("pdf"));
    if !paper {
        files::page_name(&args.output)?;
    }
    let fetched = fetch::aircraft(&args.aircraft, common)?;
    let issued = issue::issue(&fetched, &args.told, common)?;
    let no = issued.card.day.as_ref().is_some_and(|d| d.verdict == Verdict::NoGo);
    let kept = issue::kept(&fetched, &issued, now_ms(), common)?;
    if paper {
        let pdf = report::card_pdf::card_pdf(&issued.card).map_err(no_paper)?;
        files::write_whole(&args.output, &pdf)?;
    } else {
        files::write_whole(&args.output, issued.html.as_bytes())?;
    }
    let mut text = round::card_text(&issued.card);
    text.push_str(&format!("\nWrote {} and kept it as card {}.\n", args.output.display(), kept.id));
    Ok(Answer {
        text,
        json: json!({"file": args.output, "kept_as": kept.id.0, "card": round::card_json(&issued.card)}),
        no,
    })
}

/// A card that could not be put on paper.
pub(crate) fn no_paper(cause: report::paper::NoPaper) -> Trouble {
    Trouble::new(
        crate::tell::Kind::Input,
        "the card could not be put on paper",
        cause.to_string(),
        "make the page instead (FILE.html) and print it from the browser",
    )
}
