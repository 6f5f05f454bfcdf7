//! `eyas ready`: is the aircraft ready?

use std::fmt::Write as _;
use std::path::PathBuf;

use plan::ready::{Place, Standing};
use report::directions_drawing::directions_svg;
use sky::instant::Instant;

use super::words::paragraph;
use super::{Answer, Common, now_ms};
use crate::files;
use crate::json::ready;
use crate::tasks::fetch;
use crate::tasks::forecast::{Air, forecast};
use crate::tasks::readiness::{Line, lines, record};
use crate::tell::Trouble;

/// Readiness lists for home, field and launch, with what each measurement must come to
///
/// Example: eyas ready plover.toml --place home --set balance_point_mm=318 --set failsafe=done --by Kim
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// Aircraft file, or name of an aircraft in the hangar
    aircraft: String,
    /// Which list: home, field or launch [default: all]
    #[arg(long, value_name = "PLACE", value_parser = place)]
    place: Option<Place>,
    /// Record what was found: a number, done or failed (a note behind a colon); may be repeated
    #[arg(long, value_name = "ITEM=VALUE", value_parser = pair)]
    set: Vec<(String, String)>,
    /// Who looked
    #[arg(long, value_name = "NAME")]
    by: Option<String>,
    /// Draw how every surface must answer stick and disturbance
    #[arg(long, value_name = "FILE.svg")]
    drawing: Option<PathBuf>,
}

fn place(typed: &str) -> Result<Place, String> {
    Place::of(typed).ok_or_else(|| "home, field or launch".to_owned())
}

fn pair(typed: &str) -> Result<(String, String), String> {
    match typed.split_once('=') {
        Some((item, value)) if !item.trim().is_empty() => {
            Ok((item.trim().to_owned(), value.trim().to_owned()))
        }
        _ => Err("write ITEM=VALUE, e.g. balance_point_mm=318 or failsafe=done".to_owned()),
    }
}

/// Width of the lines.
const WIDTH: usize = 100;

pub(super) fn run(args: &Args, common: &Common) -> Result<Answer, Trouble> {
    let fetched = fetch::aircraft(&args.aircraft, common)?;
    let prediction = forecast(&fetched.aircraft, &Air::default())?;
    let at_ms = now_ms();
    if !args.set.is_empty() {
        let by = args.by.as_deref().map_or("", str::trim);
        record(&fetched, &prediction, &args.set, by, at_ms, common)?;
    }
    let all = lines(&fetched, &prediction, at_ms, common)?;
    let shown: Vec<Line> = all.into_iter().filter(|l| args.place.is_none_or(|p| l.item.place == p)).collect();
    let name = &fetched.aircraft.name;
    let mut text = text(name, &shown);
    if !args.set.is_empty() && args.by.is_none() {
        text.push_str("Nobody signed what was recorded: add --by NAME.\n");
    }
    if let Some(file) = &args.drawing {
        let svg = directions_svg(&fetched.aircraft, prediction.balance.cg_m);
        files::write_whole(file, svg.as_bytes())?;
        let _ = writeln!(text, "Wrote {}", file.display());
    }
    let no = shown.iter().any(|l| l.standing == Standing::Failed);
    Ok(Answer { text, json: ready::document(name, &shown), no })
}

fn text(name: &str, lines: &[Line]) -> String {
    let count = |standing: Standing| lines.iter().filter(|l| l.standing == standing).count();
    let (failed, open) = (count(Standing::Failed), count(Standing::Open));
    let head = match (failed, open) {
        (0, 0) => "ready, as far as this list asks".to_owned(),
        (0, open) => format!("{open} of {} items open", lines.len()),
        (failed, open) => format!("GROUNDED: {failed} failed, {open} open of {}", lines.len()),
    };
    let mut t = format!("{name}: {head}\n");
    let mut caution = None;
    for place in Place::ALL {
        let here: Vec<&Line> = lines.iter().filter(|l| l.item.place == place).collect();
        if here.is_empty() {
            continue;
        }
        let title = match place {
            Place::Home => "At home",
            Place::Field => "At the field",
            Place::Launch => "Before the launch",
        };
        let _ = writeln!(t, "\n{title}");
        for line in here {
            // A caution stands above the first of the items that it is for.
            if line.item.caution != caution {
                caution = line.item.caution;
                if let Some(words) = caution {
                    t.push_str(&paragraph(&format!("! {words}"), "  ", WIDTH));
                }
            }
            let mark = match line.standing {
                Standing::Passed => "[x]",
                Standing::Failed => "[FAILED]",
                Standing::Open => "[ ]",
            };
            t.push_str(&paragraph(&format!("{mark} {}  ({})", line.item.title, line.item.id), "  ", WIDTH));
            t.push_str(&paragraph(&line.item.how, "      ", WIDTH));
            if !matches!(line.item.expects, plan::ready::Expects::Done) {
                t.push_str(&paragraph(&format!("must be: {}", line.item.expects.words()), "      ", WIDTH));
            }
            if let Some(last) = &line.last {
                let by = if last.signed_by.is_empty() { "nobody's name" } else { &last.signed_by };
                let at = Instant::from_unix_s(last.at_ms.div_euclid(1000)).date_and_clock();
                let stale = line.stale.map_or(String::new(), |why| format!("; to be looked at again: {why}"));
                t.push_str(&paragraph(
                    &format!("signed: {} ({by}, {at}){stale}", line.words),
                    "      ",
                    WIDTH,
                ));
            }
        }
    }
    t.push_str("\nWhat failed grounds the aircraft until it passes. Local law, the field's rules and a club's instructor come first.\n");
    t
}
