//! `eyas launch`: will my throw work?

use std::fmt::Write as _;
use std::io::IsTerminal as _;
use std::path::PathBuf;

use indicatif::{ProgressBar, ProgressStyle};
use numerics::units::DEG_PER_RAD;
use predict::launch::caution::cautions;
use predict::launch::odds::{Depth, Study};
use predict::launch::scene::Method;
use predict::launch::tally::{Ended, Progress};
use report::launch_page as page;

use super::words::paragraph;
use super::{Answer, Common, decimal};
use crate::files;
use crate::json;
use crate::tasks::fetch;
use crate::tasks::forecast::{Air, forecast};
use crate::tasks::launch::{Told, launch};
use crate::tell::Trouble;

/// Odds of a clean launch over thousands of simulated tries, what drives them and what would help
///
/// Exit status 1 (no) where fewer than 90 of 100 launches are clean.
///
/// Example: eyas launch plover.toml --wind 4 --gust 7 --wind-from 240 --heading 240 --runs 2000 --seed 1
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// Aircraft file, or name of an aircraft in the hangar
    aircraft: String,
    #[command(flatten)]
    told: Told,
    /// Most launches
    #[arg(long, default_value_t = 2000, value_name = "N")]
    runs: u64,
    /// Seed of the random numbers: the same seed gives the same launches
    #[arg(long, default_value_t = 1, value_name = "S")]
    seed: u64,
    /// Stop when the clean share is known to so many per cent either way
    #[arg(long, value_name = "PERCENT", value_parser = decimal, allow_hyphen_values = true)]
    precision_percent: Option<f64>,
    /// Only the odds and what drives them: no table, nothing that would help
    #[arg(long)]
    quick: bool,
    /// Write a page with pictures
    #[arg(long, value_name = "FILE.html")]
    report: Option<PathBuf>,
    #[command(flatten)]
    air: Air,
}

pub(super) fn run(args: &Args, common: &Common) -> Result<Answer, Trouble> {
    if let Some(file) = &args.report {
        files::page_name(file)?;
    }
    if let Some(percent) = args.precision_percent
        && !(0.05..=50.0).contains(&percent)
    {
        return Err(super::usage(
            format!("--precision-percent {percent} is outside 0.05 to 50"),
            "give the half-width of the interval, for example 1",
        ));
    }
    let fetched = fetch::aircraft(&args.aircraft, common)?;
    let aircraft = &fetched.aircraft;
    let prediction = forecast(aircraft, &args.air)?;
    let scene = args.told.scene(aircraft, &prediction)?;
    let mut depth = Depth::usual(args.runs, args.seed);
    depth.precision = args.precision_percent.map(|p| p / 100.0);
    if args.quick {
        depth = Depth { help_runs: 0, cell_runs: 0, least_runs: 0, ..depth };
    }
    let bar = bar();
    let study = launch(aircraft, &prediction, &scene, &depth, &mut |p: Progress| {
        bar.set_length(p.of);
        bar.set_position(p.done);
        true
    });
    bar.finish_and_clear();
    let study = study?;
    let mut text = sentences(aircraft, &study, args.told.wind.is_some());
    if let Some(file) = &args.report {
        let html = page::launch_html(aircraft, &study);
        files::write_whole(file, html.as_bytes())?;
        let _ = writeln!(text, "\nWrote {}", file.display());
    }
    Ok(Answer { text, json: json::launch::document(aircraft, &study), no: study.odds.is_no() })
}

/// A bar with the time that is left, on a terminal only.
fn bar() -> ProgressBar {
    let bar = if std::io::stderr().is_terminal() { ProgressBar::new(1) } else { ProgressBar::hidden() };
    if let Ok(style) = ProgressStyle::with_template("{bar:30} {pos}/{len} launches, {eta} left") {
        bar.set_style(style);
    }
    bar
}

/// The study as lines for the terminal.
fn sentences(aircraft: &aircraft::Aircraft, s: &Study, wind_told: bool) -> String {
    let mut t = String::new();
    for sentence in page::lead(aircraft, s) {
        t.push_str(&paragraph(&sentence, "", 100));
    }
    if !wind_told {
        t.push_str(
            "The wind was not told: these are the odds in a calm. Measure it, and say --wind and --gust.\n",
        );
    }
    let odds = &s.odds;
    match odds.ended {
        Ended::All => {}
        Ended::Precise => {
            let _ = writeln!(t, "Stopped after {} launches: precise enough.", odds.runs);
        }
        Ended::Cancelled => t.push_str("Stopped before all launches were flown.\n"),
    }
    let _ = writeln!(t, "\nHow {} launches end", odds.runs);
    for (name, share, meaning) in page::outcome_rows(s) {
        let _ = writeln!(t, "  {name:<12} {share:<28} {meaning}");
    }
    if let Some(line) = page::before_touch(s) {
        t.push_str(&paragraph(&line, "  ", 100));
    }
    let _ = writeln!(t, "\nWhat drives it (share of the variance of clean or not that each explains alone)");
    for row in page::driver_rows(s, 8) {
        let _ = writeln!(t, "  {:<38} {:>6}  {}", row.name, row.percent, row.effect);
    }
    t.push_str(&paragraph(&page::drivers_note(s), "  ", 100));
    if !s.helps.is_empty() {
        let _ = writeln!(t, "\nWhat would help, and what would hurt (change of the odds, percentage points)");
        for (what, change) in page::help_rows(s) {
            let _ = writeln!(t, "  {what:<62} {change}");
        }
    }
    if !s.table.is_empty() {
        let _ =
            writeln!(t, "\nPercent clean over wind (rows) and mean {} (columns), m/s", page::speed_name(s));
        t.push_str(&table(s));
    }
    if let Some(line) = page::least_words(s) {
        t.push_str(&paragraph(&line, "  ", 100));
    }
    let _ = writeln!(t, "\nDown again");
    for line in page::landing_words(s) {
        t.push_str(&paragraph(&line, "  ", 100));
    }
    let _ = writeln!(t, "\nWhat was taken to scatter, ± one standard deviation");
    t.push_str(&paragraph(&page::inputs_words(s), "  ", 100));
    if matches!(s.scene.method, Method::Hand | Method::Rail(_) | Method::Bungee(_)) {
        let _ = writeln!(
            t,
            "  Held after the release: {:.0}° of pitch, wings level.",
            s.scene.climb_pitch_rad * DEG_PER_RAD
        );
    }
    let _ = writeln!(t, "\nBefore anybody throws");
    for caution in cautions(aircraft, &s.scene.method) {
        t.push_str(&paragraph(caution, "  ", 100));
    }
    t
}

fn table(s: &Study) -> String {
    let mut t = String::new();
    let mut winds: Vec<f64> = s.table.iter().map(|c| c.wind_m_s).collect();
    winds.dedup();
    let mut head = true;
    for wind in winds {
        let row: Vec<_> = s.table.iter().filter(|c| c.wind_m_s.to_bits() == wind.to_bits()).collect();
        if head {
            let _ = write!(t, "  {:>5}", "");
            for cell in &row {
                let _ = write!(t, " {:>5.1}", cell.speed_m_s);
            }
            t.push('\n');
            head = false;
        }
        let _ = write!(t, "  {wind:>5.0}");
        for cell in row {
            let _ = write!(t, " {:>5.0}", 100.0 * cell.clean.probability);
        }
        t.push('\n');
    }
    t
}
