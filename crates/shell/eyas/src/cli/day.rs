//! `eyas day`: is it a day for this aircraft?

use std::fmt::Write as _;
use std::path::PathBuf;

use plan::day::Verdict;
use plan::day::hours::in_short;
use plan::day::judge::Standing;
use report::day_page::{DayPage, day_html};
use report::number::fixed;

use super::words::paragraph;
use super::{Answer, Common};
use crate::files;
use crate::json::day;
use crate::tasks::fetch;
use crate::tasks::today::{Today, Told, today};
use crate::tell::Trouble;

/// Hold the day's weather against this aircraft's own limits: go, part of the plan, or no-go
///
/// Example: eyas day plover.toml --metar "METAR EDXX 211220Z 24006KT CAVOK 19/08 Q1021" --at 2026-06-21T13:00Z --lat 52.5 --lon 9.7 --heading 240
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// Aircraft file, or name of an aircraft in the hangar
    aircraft: String,
    #[command(flatten)]
    told: Told,
    /// Write a page with all reasons
    #[arg(long, value_name = "FILE.html")]
    report: Option<PathBuf>,
}

/// Width of the lines.
const WIDTH: usize = 100;

pub(super) fn run(args: &Args, common: &Common) -> Result<Answer, Trouble> {
    if let Some(file) = &args.report {
        files::page_name(file)?;
    }
    let fetched = fetch::aircraft(&args.aircraft, common)?;
    let today = today(&fetched, &args.told, common)?;
    let name = &fetched.aircraft.name;
    let mut text = text(name, &today);
    if let Some(file) = &args.report {
        let air = air_line(&today);
        let page = DayPage {
            aircraft: name,
            day: &today.day,
            told: &today.lines,
            air: &air,
            hours: &today.hours,
            best: today.best,
            flaws: &today.flaws,
        };
        files::write_whole(file, day_html(&page).as_bytes())?;
        let _ = writeln!(text, "\nWrote {}", file.display());
    }
    let no = today.day.verdict == Verdict::NoGo;
    Ok(Answer { text, json: day::document(name, &today), no })
}

/// Temperature, density altitude and light, in a line.
pub(crate) fn air_line(today: &Today) -> String {
    let n = &today.numbers;
    let mut said = Vec::new();
    if let Some(k) = n.temperature_k {
        said.push(format!("{} °C", fixed(k - 273.15, 0)));
    }
    if let (Some(rho), Some(altitude)) = (n.density_kg_m3, n.density_altitude_m) {
        said.push(format!("density {} kg/m³ (density altitude {} m)", fixed(rho, 3), fixed(altitude, 0)));
    }
    if let Some(launch) = n.launch {
        let side = if launch.right_m_s < 0.0 { "left" } else { "right" };
        said.push(format!(
            "along the launch {} m/s head wind, {} m/s from the {side}",
            fixed(launch.head_m_s, 1),
            fixed(launch.right_m_s.abs(), 1)
        ));
    }
    if let Some(light) = today.moment.light {
        for (what, at) in [
            ("civil dawn", light.dawn),
            ("sunrise", light.sunrise),
            ("sunset", light.sunset),
            ("civil dusk", light.dusk),
        ] {
            if let Some(at) = at {
                said.push(format!("{what} {}", today.zone.clock(at)));
            }
        }
    }
    said.join("; ")
}

/// The day for people.
fn text(name: &str, today: &Today) -> String {
    let day = &today.day;
    let verdict = match day.verdict {
        Verdict::Go => "GO: nothing that is known stands against it",
        Verdict::Part => "PART of the plan",
        Verdict::NoGo => "NO-GO",
    };
    let which = if day.first_flight { "first flight" } else { "next flight" };
    let mut t = format!("{verdict}: {which} of {name}, {}\n", day.when());
    for line in &today.lines {
        t.push_str(&paragraph(line, "  ", WIDTH));
    }
    let air = air_line(today);
    if !air.is_empty() {
        t.push_str(&paragraph(&air, "  ", WIDTH));
    }
    for flaw in &today.flaws {
        t.push_str(&paragraph(&format!("To know: {flaw}"), "  ", WIDTH));
    }
    if day.against().next().is_some() {
        t.push_str("\nWhat stands against it, or is not known\n");
    }
    for r in day.against() {
        let by = if r.source.is_empty() { String::new() } else { format!(" [{}]", r.source) };
        t.push_str(&paragraph(&format!("{}: {}{by}", r.standing.word(), r.text), "  ", WIDTH));
        if !r.from.is_empty() {
            t.push_str(&paragraph(&format!("limit {}", r.from), "      ", WIDTH));
        }
    }
    t.push_str("\nWhat is met\n");
    for r in day.reasons.iter().filter(|r| r.standing == Standing::Fits) {
        t.push_str(&paragraph(&r.text, "  ", WIDTH));
    }
    t.push_str("\nTest point by test point (* planned for the next flight)\n");
    for p in &day.points {
        let star = if p.planned { "*" } else { " " };
        let _ = writeln!(t, "  {:<6}{star} {}", p.verdict.word(), p.title);
        // Reasons of the whole day stand above; a point shows what is its own.
        for reason in p.reasons.iter().filter(|r| !day.reasons.iter().any(|d| d.text == **r)) {
            t.push_str(&paragraph(reason, "           ", WIDTH));
        }
    }
    if !today.hours.is_empty() {
        t.push_str("\nHour by hour\n");
    }
    for hour in &today.hours {
        t.push_str(&paragraph(
            &format!("{} {:<5} {}", today.zone.clock(hour.at), hour.verdict.word(), in_short(hour)),
            "  ",
            WIDTH,
        ));
    }
    if let Some(best) = today.best {
        let _ = writeln!(
            t,
            "  Best: {} from {} to {}",
            best.verdict.word(),
            today.zone.date_and_clock(best.from),
            today.zone.date_and_clock(best.to)
        );
    } else if !today.hours.is_empty() {
        t.push_str("  No hour of the forecast suits.\n");
    }
    t.push_str(
        "\nAll of this is an estimate: measure the wind at the field before the launch. Local law, the field's rules and\n\
         a club's instructor come first.\n",
    );
    t
}
