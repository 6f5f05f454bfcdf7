//! `eyas learn`: what did it really do?

use std::fmt::Write as _;
use std::path::PathBuf;

use aircraft::Aircraft;
use aircraft::finding::Finding;
use learn::LearnFrom;
use learn::answers::Told;
use learn::findings::Findings;
use learn::more::more_to_fly;

use report::number::{exact, with_doubt};

use super::words::paragraph;
use super::{Answer, Common, learn_handling, now_ms, predict_more};
use crate::files;
use crate::json::authority;
use crate::json::findings::{self, Origin, why};
use crate::tasks::forecast::{Air, forecast};
use crate::tasks::keep::ToKeep;
use crate::tasks::{fetch, flown, keep, study};
use crate::tell::Trouble;

/// Turn a recorded flight into findings and a short list of changes; keeps recording and findings
///
/// Example: eyas learn plover.toml flight.csv --map flight.map.toml --report flight.html
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// Aircraft file, or name of an aircraft in the hangar
    aircraft: String,
    /// The recording, CSV text
    recording: PathBuf,
    /// Column map to read it through [default: one proposed from the recording]
    #[arg(long, value_name = "FILE")]
    map: Option<PathBuf>,
    /// Write a page with the evidence of each finding
    #[arg(long, value_name = "FILE.html")]
    report: Option<PathBuf>,
    /// Table of your controller's settings: print the gains that the flight carries as lines to enter (see
    /// examples/scale.toml)
    #[arg(long, value_name = "FILE.toml")]
    scale: Option<PathBuf>,
    /// Keep nothing in the hangar
    #[arg(long)]
    no_keep: bool,
    /// Number of the card that it was flown from [default: the newest one before it]
    #[arg(long, value_name = "N", conflicts_with = "no_keep")]
    card: Option<i64>,
}

pub(super) fn run(args: &Args, common: &Common) -> Result<Answer, Trouble> {
    if let Some(file) = &args.report {
        files::page_name(file)?;
        files::apart(file, &[&args.recording])?;
    }
    let fetched = fetch::aircraft(&args.aircraft, common)?;
    let studied = study::recording(&args.recording, args.map.as_deref())?;
    // Findings stand without predictions; what needs them says so.
    let prediction = forecast(&fetched.aircraft, &Air::default()).ok();
    let as_flown = study::as_flown(&fetched.aircraft.name, &studied.bytes, common)?;
    let known = LearnFrom {
        prediction: prediction.as_ref(),
        set_mounting_pitch_rad: as_flown.as_ref().map(|a| a.controller.mounting_pitch_rad.value),
        factors_as_flown: as_flown.as_ref().map(|a| a.flown),
        ..LearnFrom::default()
    };
    let learnt = learn::learn_from(&fetched.aircraft, &studied.recording, known);
    let source = args.recording.file_name().map_or_else(String::new, |n| n.to_string_lossy().into_owned());
    let name = fetched.aircraft.name.as_str();
    let mut text = sentences(&fetched.aircraft, &learnt);
    let lines = match &args.scale {
        Some(file) => Some(predict_more::read_scale(file, &learn_handling::carried(&learnt.handling))?),
        None => None,
    };
    if let Some(lines) = &lines {
        text.push_str(&predict_more::lines(lines));
    }
    let mut origin = Origin { aircraft: name, recording: &source, kept_as: None };
    if !args.no_keep {
        let mut hangar = keep::open(common)?;
        let (recording, kept) = keep::flight(
            &mut hangar,
            &ToKeep {
                fetched: &fetched,
                source: &source,
                studied: &studied,
                findings: &findings::document(&origin, &learnt),
                note: "",
                at_ms: now_ms(),
            },
        )?;
        let link = flown::link(&mut hangar, name, recording, args.card, now_ms())?;
        let _ = writeln!(
            text,
            "\nKept as recording {} and findings {kept}. To adopt them: eyas adopt {} {kept}",
            recording, args.aircraft
        );
        if let Some(card) = link.and_then(|link| link.card) {
            let _ = writeln!(text, "Flown from card {card}; another one is named with --card.");
        }
        origin.kept_as = Some(kept.0);
    }
    if let Some(file) = &args.report {
        let page = report::learn_page::learn_html(
            &fetched.aircraft,
            prediction.as_ref(),
            &studied.recording,
            &learnt,
            &studied.recording.flaws,
        );
        files::write_whole(file, page.as_bytes())?;
        let _ = writeln!(text, "Wrote {}", file.display());
    }
    let mut document = findings::document(&origin, &learnt);
    if let Some(lines) = &lines {
        document["gains"]["lines"] = authority::lines(lines);
    }
    Ok(Answer::yes(text, document))
}

/// One finding as a line, with its verdict below.
fn finding(name: &str, f: &Finding, unit: &str) -> String {
    let mark = if f.enough { "" } else { "  (not enough to rely on)" };
    format!("  {name:<26} {}{mark}\n", report::number::finding(f, unit))
}

/// The same finding in another unit.
fn scaled(f: &Finding, factor: f64) -> Finding {
    Finding { value: f.value * factor, sd: f.sd * factor, ..f.clone() }
}

/// Estimates of an answer, the prediction beside each, and its sentences.
fn answered(told: &Told) -> String {
    let mut t = String::new();
    for e in &told.estimates {
        t.push_str(&finding(&e.words, &e.finding, e.unit));
        if let Some(p) = e.predicted {
            let word = match e.agrees() {
                Some(true) => ": they agree",
                Some(false) => ": they differ",
                None => "",
            };
            let _ = writeln!(t, "    predicted {}{word}", with_doubt(p.value, p.sd, e.unit));
        }
    }
    let mut verdicts: Vec<&str> = told.estimates.iter().map(|e| e.finding.verdict.as_str()).collect();
    verdicts.dedup();
    for verdict in verdicts.into_iter().take(2) {
        t.push_str(&paragraph(verdict, "    ", 100));
    }
    for sentence in &told.sentences {
        t.push_str(&paragraph(sentence, "    ", 100));
    }
    t
}

/// Findings as a page of lines for the terminal.
pub(crate) fn sentences(aircraft: &Aircraft, f: &Findings) -> String {
    let name = &aircraft.name;
    let mut t = format!("{name}: what the flight taught, ± two standard deviations\n\nWind\n");
    match &f.wind {
        Ok(w) => {
            t.push_str(&finding("speed", &w.speed_m_s, "m/s"));
            t.push_str(&finding("from", &w.from_deg, "deg"));
            if let Some(height) = w.height_m {
                let _ = writeln!(t, "  {:<26} {}", "mean height", exact(height, "m"));
            }
            if let Some(change) = &w.change_with_height_per_s {
                t.push_str(&finding("grows with each 10 m by", &scaled(change, 10.0), "m/s"));
            }
            t.push_str(&finding("airspeed that fits", &w.airspeed_m_s, "m/s"));
            if let Some(factor) = &w.airspeed_factor {
                t.push_str(&finding("true over sensed airspeed", factor, ""));
            }
            t.push_str(&paragraph(&w.speed_m_s.verdict, "    ", 100));
        }
        Err(reason) => t.push_str(&paragraph(&why(reason), "  ", 100)),
    }
    t.push_str("\nLevel attitude\n");
    match &f.level_attitude {
        Ok(l) => {
            t.push_str(&finding("pitch reading, level", &l.reading_deg, "deg"));
            t.push_str(&finding("correction", &l.correction_deg, "deg"));
            t.push_str(&paragraph(
                &format!("at {:.1} m/s. {}", l.airspeed_m_s, l.correction_deg.verdict),
                "    ",
                100,
            ));
        }
        Err(reason) => t.push_str(&paragraph(&why(reason), "  ", 100)),
    }
    t.push_str("\nTrims\n");
    match &f.trims {
        Ok(trims) => {
            for trim in trims {
                t.push_str(&finding(&format!("{} ({})", trim.surface, trim.channel), &trim.us, "us"));
                let turns = match trim.clevis_turns {
                    Some(turns) if turns >= 0.05 => format!(", {turns:.1} turns of the clevis"),
                    _ => String::new(),
                };
                let _ = writeln!(
                    t,
                    "    {}, {} at the trailing edge{turns}",
                    report::learn_page::trim_words(aircraft, trim),
                    with_doubt(trim.mm.value.abs(), trim.mm.sd, "mm")
                );
                t.push_str(&paragraph(&trim.us.verdict, "    ", 100));
            }
        }
        Err(reason) => t.push_str(&paragraph(&why(reason), "  ", 100)),
    }
    for answer in &f.answers {
        let _ = writeln!(t, "\n{}", answer.title);
        match &answer.told {
            Ok(told) => t.push_str(&answered(told)),
            Err(reason) => t.push_str(&paragraph(&why(reason), "  ", 100)),
        }
    }
    let more = more_to_fly(f);
    if !more.is_empty() {
        t.push_str("\nMore to fly\n");
    }
    for more in &more {
        t.push_str(&paragraph(&format!("{}: {}", more.title, more.what), "  ", 100));
    }
    t.push_str(&learn_handling::sentences(&f.handling));
    if !f.remarks.is_empty() {
        t.push_str("\nTo know\n");
    }
    for remark in &f.remarks {
        t.push_str(&paragraph(remark, "  ", 100));
    }
    t.push_str("\nChanges\n");
    if f.changes.is_empty() {
        t.push_str("  none\n");
    }
    for change in &f.changes {
        let from = change.from.map_or_else(|| "not set".to_owned(), |v| exact(v, &change.unit));
        let _ =
            writeln!(t, "  {}: {from} -> {}", change.path, with_doubt(change.to, change.sd, &change.unit));
        t.push_str(&paragraph(&change.why, "    ", 100));
        if let Some(reason) = &change.held_back {
            t.push_str(&paragraph(&format!("held back: {reason}"), "    ", 100));
        }
    }
    t
}
