//! What does one whole round look like? An invented aircraft described, predicted, carded, flown twice in simulation,
//! learnt from and adopted: with the same functions that the verbs use, into a folder of its own.

use std::path::{Path, PathBuf};

use aircraft::Aircraft;
use aircraft::finding::Finding;
use fly::simulated::{Flight, Script};
use hangar::{Hangar, HangarError};
use learn::findings::Findings;
use numerics::units::DEG_PER_RAD;
use plan::card::Card;
use predict::launch::odds::Depth;
use predict::prediction::Prediction;
use report::number::{self, exact, known};
use report::story::{Body, Fragment, Part, demo_html};
use serde_json::{Value, json};

use crate::cli::{Common, card};
use crate::files;
use crate::json::findings::{self, Origin, why};
use crate::json::prediction;
use crate::tasks::fetch::{self, Fetched};
use crate::tasks::forecast::{Air, forecast};
use crate::tasks::keep::ToKeep;
use crate::tasks::launch::{Told, launch};
use crate::tasks::round::{self, Issued};
use crate::tasks::{invented_day, issue, keep, mishap, record, revise, study, upkeep};
use crate::tell::{Kind, Trouble};

const AIRCRAFT: &str = include_str!("../../../../../examples/wheatear.toml");
/// Its name in that file.
const DEMO_NAME: &str = "Wheatear";
const FIRST_SCRIPT: &str = include_str!("../../../../../examples/first-flight.toml");
const SECOND_SCRIPT: &str = include_str!("../../../../../examples/second-flight.toml");

/// Says that a folder is a demo's, so that the next demo may replace what is in it.
const MARK: &str = "DEMO.txt";
const MARK_TEXT: &str = "Everything in this folder is invented: the aircraft, the place, the weather and the flights. \
     `eyas demo` made it and replaces it when it runs again.\n";

/// Note of the demo's recordings, which tells them from a user's.
const SIMULATED: &str = "simulated by the demo";

/// Said with everything the demo leaves.
const INVENTED: &str = "The aircraft, the place, the weather and the flights are invented; the flights are simulated, \
     with errors hidden in them that the recordings must give away.";

/// Files that a demo leaves, replaced by the next one.
const LEAVES: [&str; 20] = [
    "wheatear.toml",
    "wheatear.svg",
    "predict.json",
    "predict.html",
    "launch.html",
    "card-1.html",
    "flight-1.csv",
    "flight-1.truth.toml",
    "findings-1.json",
    "flight-1.html",
    "card-2.html",
    "flight-2.csv",
    "flight-2.truth.toml",
    "findings-2.json",
    "flight-2.html",
    "card.html",
    "card.pdf",
    "record.html",
    "report.html",
    "hangar.db",
];

/// The demo as it was told and left.
pub(crate) struct Demonstrated {
    /// Steps in order: title, and sentences with numbers.
    pub(crate) steps: Vec<(String, Vec<String>)>,
    /// Where everything is.
    pub(crate) folder: PathBuf,
    /// For scripts.
    pub(crate) json: Value,
}

/// Everything that the steps share.
struct Stage {
    folder: PathBuf,
    common: Common,
    at_ms: i64,
    steps: Vec<(String, Vec<String>)>,
    parts: Vec<Part>,
}

/// A flight that was flown and read.
struct Flown {
    script: Script,
    flight: Flight,
    findings: Findings,
    document: Value,
    recording: hangar::RecordingId,
    kept: hangar::FindingsId,
}

/// Flies the whole round into `folder`. `at_ms` is now; `progress` is told of each step before it is done.
pub(crate) fn demonstrate(
    folder: &Path,
    at_ms: i64,
    progress: &mut dyn FnMut(&str),
) -> Result<Demonstrated, Trouble> {
    prepare(folder)?;
    let common = Common { hangar: Some(folder.join("hangar.db")), json: false };
    let mut stage =
        Stage { folder: folder.to_path_buf(), common, at_ms, steps: Vec::new(), parts: Vec::new() };

    progress("describe");
    let path = stage.write("wheatear.toml", AIRCRAFT.as_bytes())?;
    let which = path.display().to_string();
    let fetched = fetch::aircraft(&which, &stage.common)?;
    progress("predict");
    let predicted = forecast(&fetched.aircraft, &Air::default())?;
    stage.describe(&fetched, &predicted)?;
    stage.predict(&fetched, &predicted)?;
    progress("launch odds");
    stage.launch(&fetched, &predicted)?;
    stage.card("card-1.html", "Plan the first flight", &fetched, invented_day::GUSTY)?;

    progress("first flight");
    let first = stage.fly(1, &fetched, &predicted, FIRST_SCRIPT)?;
    stage.tell_flight(
        "The first flight",
        "The wind had risen when the model was up. A look at the trims, and home; what else was on the card waits.",
        &fetched.aircraft,
        &first,
    );
    let fetched = stage.adopt(&fetched, &first, &which)?;

    let predicted = forecast(&fetched.aircraft, &Air::default())?;
    stage.mishap(&fetched, &predicted, &first)?;
    stage.card("card-2.html", "Plan the second flight", &fetched, invented_day::CALM)?;

    progress("second flight");
    let second = stage.fly(2, &fetched, &predicted, SECOND_SCRIPT)?;
    stage.tell_flight("The second flight", "All that was left of the card.", &fetched.aircraft, &second);
    let fetched = stage.adopt(&fetched, &second, &which)?;

    let predicted = forecast(&fetched.aircraft, &Air::default())?;
    let next_card = stage.card("card.html", "What is left", &fetched, invented_day::CALM)?;
    progress("report");
    let document = prediction::document(&fetched.aircraft.name, &predicted);
    stage.write("predict.json", format!("{document:#}\n").as_bytes())?;
    let pdf = report::card_pdf::card_pdf(&next_card.card).map_err(card::no_paper)?;
    stage.write("card.pdf", &pdf)?;
    let record = record::record(&fetched.aircraft.name, &[], &stage.common)?;
    stage.write("record.html", record.html.as_bytes())?;
    stage.finish(&[&first, &second])
}

/// Makes the folder, or empties an earlier demo's. Nothing that a demo did not leave is touched.
fn prepare(folder: &Path) -> Result<(), Trouble> {
    let trouble = |cause: String, remedy: &str| {
        Trouble::new(
            Kind::Input,
            format!("the demo cannot be laid out in {}", folder.display()),
            cause,
            remedy,
        )
    };
    let occupied = match std::fs::read_dir(folder) {
        Ok(mut entries) => entries.next().is_some(),
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => false,
        Err(error) => return Err(trouble(error.to_string(), "choose another folder with --into")),
    };
    if occupied {
        if !folder.join(MARK).is_file() {
            return Err(trouble(
                "the folder holds files that no demo left".into(),
                "choose an empty or new folder with --into",
            ));
        }
        if let Some(what) = of_the_user(folder)? {
            return Err(trouble(what, "keep that folder, and choose another one for the demo with --into"));
        }
        for name in
            LEAVES.iter().map(ToString::to_string).chain(["hangar.db-wal".into(), "hangar.db-shm".into()])
        {
            match std::fs::remove_file(folder.join(&name)) {
                Ok(()) => {}
                Err(error) if error.kind() == std::io::ErrorKind::NotFound => {}
                Err(error) => {
                    return Err(trouble(
                        format!("{name}: {error}"),
                        "close what has it open, or choose another folder",
                    ));
                }
            }
        }
    }
    std::fs::create_dir_all(folder)
        .map_err(|e| trouble(e.to_string(), "choose another folder with --into"))?;
    files::write_whole(&folder.join(MARK), MARK_TEXT.as_bytes())
}

/// What in an earlier demo's folder is a user's own work, if anything.
fn of_the_user(folder: &Path) -> Result<Option<String>, Trouble> {
    let path = folder.join("hangar.db");
    let aircraft = std::fs::read_to_string(folder.join("wheatear.toml")).ok();
    if !path.exists() {
        return Ok(aircraft.filter(|text| text != AIRCRAFT).map(|_| "wheatear.toml was edited".to_owned()));
    }
    let hangar = Hangar::open(&path).map_err(keep::trouble)?;
    let names = hangar.names().map_err(keep::trouble)?;
    if let Some(other) = names.iter().find(|name| *name != DEMO_NAME) {
        return Ok(Some(format!("its hangar keeps \"{other}\"")));
    }
    let (recordings, revisions) = match hangar.recordings(DEMO_NAME) {
        Ok(recordings) => (recordings, hangar.revisions(DEMO_NAME).map_err(keep::trouble)?),
        Err(HangarError::NoAircraft { .. }) => (Vec::new(), Vec::new()),
        Err(error) => return Err(keep::trouble(error)),
    };
    if let Some(own) = recordings.iter().find(|r| r.note != SIMULATED) {
        return Ok(Some(format!("its hangar keeps the recording {}", own.source_name)));
    }
    let known = |text: &String| text == AIRCRAFT || revisions.iter().any(|r| r.text == *text);
    Ok(aircraft.filter(|text| !known(text)).map(|_| "wheatear.toml was edited".to_owned()))
}

impl Stage {
    fn write(&self, name: &str, bytes: &[u8]) -> Result<PathBuf, Trouble> {
        let path = self.folder.join(name);
        files::write_whole(&path, bytes)?;
        Ok(path)
    }

    fn tell(&mut self, step: &str, question: &str, words: Vec<String>, body: Body) {
        self.steps.push((format!("{step}: {question}"), words.clone()));
        self.parts.push(Part { step: step.into(), question: question.into(), words, body });
    }

    fn describe(&mut self, fetched: &Fetched, p: &Prediction) -> Result<(), Trouble> {
        let drawing = report::three_view::three_view(
            &fetched.aircraft,
            Some(p.balance.cg_m.x),
            Some(p.stability.neutral_point_x_m.value),
            p.stability.range_x_m.clone().ok(),
        );
        self.write("wheatear.svg", drawing.as_bytes())?;
        let mut words = vec![format!(
            "{}, a {} aircraft of {} span, {} wing and {}, its balance point {} aft of the {}.",
            fetched.aircraft.name,
            fetched.aircraft.layout.word(),
            exact(p.geometry.span_m, "m"),
            exact(p.geometry.wing_area_m2 * 100.0, "dm²"),
            known(p.balance.total_kg, 1000.0, "g"),
            known(p.balance.cg_x_m, 1000.0, "mm"),
            fetched.aircraft.datum,
        )];
        words.extend(p.balance.remarks.clone());
        let caption = "Three-view from the aircraft file, with balance point and neutral point".to_owned();
        self.tell("Describe", "what have I built?", words, Body::Drawings(vec![(drawing, caption)]));
        Ok(())
    }

    fn predict(&mut self, fetched: &Fetched, p: &Prediction) -> Result<(), Trouble> {
        let page = report::predict_page::predict_html(&fetched.aircraft, p);
        self.write("predict.html", page.as_bytes())?;
        let mut words = vec![format!(
            "Static margin {} of the mean chord; stall at {}, cruise at {}, best glide 1 : {}.",
            known(p.stability.static_margin_percent, 1.0, "%"),
            known(p.speeds.stall_m_s, 1.0, "m/s"),
            exact(p.speeds.cruise_m_s.value, "m/s"),
            known(p.polar.best_glide_ratio, 1.0, ""),
        )];
        if let Ok([forward, aft]) = p.stability.first_flight_range_x_m {
            words.push(format!(
                "For a first flight it may balance from {} to {} aft of the datum.",
                exact(forward * 1000.0, "mm"),
                exact(aft * 1000.0, "mm")
            ));
        }
        if let Ok(d) = &p.drive {
            words.push(format!(
                "The drive pulls {} standing still at {}, {} times the weight; cruise lasts {}.",
                known(d.static_thrust_n, 1.0, "N"),
                known(d.static_current_a, 1.0, "A"),
                known(d.thrust_to_weight, 1.0, ""),
                number::outcome(&d.endurance_s, 1.0 / 60.0, "min"),
            ));
        }
        words.push(format!(
            "Full aileron rolls it at {}.",
            number::outcome(&p.control.roll_rate_rad_s, DEG_PER_RAD, "deg/s")
        ));
        self.tell(
            "Predict",
            "will it fly, and how?",
            words,
            Body::Fragment(Fragment::predict(&fetched.aircraft, p)),
        );
        Ok(())
    }

    fn launch(&mut self, fetched: &Fetched, p: &Prediction) -> Result<(), Trouble> {
        let scene = Told::wind(3.5, 5.5, 280.0).scene(&fetched.aircraft, p)?;
        let depth =
            Depth { runs: 1000, help_runs: 250, cell_runs: 60, least_runs: 120, ..Depth::usual(1000, 1) };
        let study = launch(&fetched.aircraft, p, &scene, &depth, &mut |_| true)?;
        let page = report::launch_page::launch_html(&fetched.aircraft, &study);
        self.write("launch.html", page.as_bytes())?;
        let mut words = report::launch_page::lead(&fetched.aircraft, &study);
        words.extend(report::launch_page::least_words(&study));
        if let Some(help) = study.helps.last() {
            words.push(format!(
                "What would hurt most: {} ({} percentage points).",
                help.what,
                number::fixed(100.0 * help.gain.change, 0)
            ));
        }
        words.extend(
            predict::launch::caution::cautions(&fetched.aircraft, &scene.method)
                .first()
                .map(|c| (*c).to_owned()),
        );
        self.tell(
            "Launch odds",
            "will my throw work?",
            words,
            Body::Fragment(Fragment::launch(&fetched.aircraft, &study)),
        );
        Ok(())
    }

    fn card(
        &mut self,
        file: &str,
        step: &str,
        fetched: &Fetched,
        day: invented_day::Day,
    ) -> Result<Issued, Trouble> {
        let (issued, mut words) = invented_day::card_on(day, fetched, &self.common)?;
        self.write(file, issued.html.as_bytes())?;
        issue::kept(fetched, &issued, self.at_ms, &self.common)?;
        words.extend([card_words(&issued.card), format!("The card is in {file}.")]);
        self.tell(step, "what do I fly, in what order?", words, Body::Fragment(Fragment::card(&issued.card)));
        Ok(issued)
    }

    /// Simulates a flight, reads its recording as any other, learns from it and keeps both.
    fn fly(&mut self, n: u32, fetched: &Fetched, p: &Prediction, script: &str) -> Result<Flown, Trouble> {
        let script = round::script(script, "the demo's script")?;
        let model = round::model_as_described(&fetched.aircraft, p, &Air::default())?;
        let flight = round::flight(&fetched.aircraft, &model, &script)?;
        let name = format!("flight-{n}.csv");
        let path = self.write(&name, flight.to_csv().as_bytes())?;
        self.write(&format!("flight-{n}.truth.toml"), flight.truth_toml().as_bytes())?;
        // From here on nothing but the file is known, as for any flight.
        let studied = study::recording(&path, None)?;
        let learnt = learn::learn(&fetched.aircraft, Some(p), &studied.recording);
        let aircraft = fetched.aircraft.name.as_str();
        let document = findings::document(&Origin { aircraft, recording: &name, kept_as: None }, &learnt);
        self.write(&format!("findings-{n}.json"), format!("{document:#}\n").as_bytes())?;
        let page = report::learn_page::learn_html(
            &fetched.aircraft,
            Some(p),
            &studied.recording,
            &learnt,
            &studied.recording.flaws,
        );
        self.write(&format!("flight-{n}.html"), page.as_bytes())?;
        let mut hangar = keep::open(&self.common)?;
        let (recording, kept) = keep::flight(
            &mut hangar,
            &ToKeep {
                fetched,
                source: &name,
                studied: &studied,
                findings: &document,
                note: SIMULATED,
                at_ms: self.at_ms,
            },
        )?;
        let body = Fragment::learn(
            &fetched.aircraft,
            Some(p),
            &studied.recording,
            &learnt,
            &studied.recording.flaws,
        );
        self.parts.push(Part {
            step: format!("Fly and learn {n}"),
            question: "what did it really do?".into(),
            words: Vec::new(),
            body: Body::Fragment(body),
        });
        Ok(Flown { script, flight, findings: learnt, document, recording, kept })
    }

    /// The hard landing that ended the first flight, and what it took to fly again.
    fn mishap(&mut self, fetched: &Fetched, p: &Prediction, flown: &Flown) -> Result<(), Trouble> {
        let flown_s = upkeep::flown_s(&flown.document).unwrap_or(0.0);
        let words = mishap::mishap(fetched, p, flown.recording, flown_s, self.at_ms, &self.common)?;
        self.tell("Mend", "may it fly again?", words, Body::Nothing);
        Ok(())
    }

    /// Tells what a flight taught beside what was hidden in it.
    fn tell_flight(&mut self, title: &str, what: &str, aircraft: &Aircraft, flown: &Flown) {
        let truth = &flown.flight.truth;
        let mut words = vec![what.to_owned()];
        words.push(match &flown.findings.wind {
            Ok(w) => {
                // The wind grows with height, so it is compared where the flight found it.
                let height_m = w.height_m.unwrap_or(truth.flying_height_m);
                format!(
                    "Wind {} from {} at {} (hidden: {} from {}).{}",
                    number::finding(&w.speed_m_s, "m/s"),
                    number::finding(&w.from_deg, "deg"),
                    exact(height_m, "m"),
                    exact(flown.script.wind.speed_at(height_m), "m/s"),
                    exact(truth.wind_from_rad * DEG_PER_RAD, "deg"),
                    doubt(&w.speed_m_s),
                )
            }
            Err(reason) => format!("Wind not found: {}.", why(reason)),
        });
        words.push(match &flown.findings.level_attitude {
            Ok(l) => format!(
                "In level flight the controller read {} (hidden: {}).{}",
                number::finding(&l.correction_deg, "deg"),
                exact(truth.level_correction_rad * DEG_PER_RAD, "deg"),
                doubt(&l.correction_deg),
            ),
            Err(reason) => format!("Level attitude not found: {}.", why(reason)),
        });
        match &flown.findings.trims {
            Ok(trims) => {
                for trim in trims {
                    let hidden = truth
                        .trims
                        .iter()
                        .find(|t| t.channel == trim.channel)
                        .map_or_else(String::new, |t| {
                            format!(" (hidden: {})", exact(t.us_from_centre, "us"))
                        });
                    words.push(format!(
                        "Servo \"{}\" {} off its center{hidden}: {}, {} at the edge.{}",
                        trim.channel,
                        number::finding(&trim.us, "us"),
                        report::learn_page::trim_words(aircraft, trim),
                        number::with_doubt(trim.mm.value.abs(), trim.mm.sd, "mm"),
                        doubt(&trim.us),
                    ));
                }
            }
            Err(reason) => words.push(format!("Trims not found: {}.", why(reason))),
        }
        words.extend(answers(flown));
        if let Some(part) = self.parts.last_mut() {
            part.words.clone_from(&words);
        }
        self.steps.push((format!("{title}: what did it really do?"), words));
    }

    /// Revises the aircraft's file from the flight's findings, as `eyas adopt` does.
    fn adopt(&mut self, fetched: &Fetched, flown: &Flown, which: &str) -> Result<Fetched, Trouble> {
        let to_adopt = findings::read(&flown.document.to_string()).map_err(|cause| {
            Trouble::new(Kind::Input, "the demo's findings could not be read back", cause, "")
        })?;
        let revision = revise::revise(fetched, &to_adopt, "in the demo")?;
        let mut words: Vec<String> = revision
            .made
            .iter()
            .map(|c| {
                let from = c.from.map_or_else(|| "not set".to_owned(), |v| exact(v, &c.unit));
                format!("{}: {from} becomes {}.", c.path, number::with_doubt(c.to, c.sd, &c.unit))
            })
            .collect();
        words.extend(
            revision
                .held_back
                .iter()
                .map(|c| format!("{}: held back, {}.", c.path, c.held_back.as_deref().unwrap_or_default())),
        );
        if revision.made.is_empty() {
            words.push("Nothing that the data would carry.".into());
        } else {
            let mut hangar = keep::open(&self.common)?;
            let note = format!("adopted from {}", to_adopt.recording);
            hangar
                .keep_adopted(
                    &fetched.aircraft.name,
                    fetched.kept_with(&revision.text),
                    flown.kept,
                    &note,
                    self.at_ms,
                )
                .map_err(keep::trouble)?;
            self.write("wheatear.toml", revision.text.as_bytes())?;
        }
        self.tell("Adopt", "what do I change?", words, Body::Nothing);
        fetch::aircraft(which, &self.common)
    }

    fn finish(self, flights: &[&Flown]) -> Result<Demonstrated, Trouble> {
        let introduction = [INVENTED.to_owned(), "Every number is an estimate; ± is two standard deviations. Local law, the field's rules and a club's instructor come first.".to_owned()];
        let report = demo_html("One round with Wheatear", &introduction, &self.parts);
        self.write("report.html", report.as_bytes())?;
        let left: Vec<&str> = LEAVES.iter().copied().filter(|name| self.folder.join(name).exists()).collect();
        Ok(Demonstrated {
            json: json!({
                "folder": self.folder,
                "files": left,
                "steps": self.steps.iter().map(|(title, words)| json!({"title": title, "words": words})).collect::<Vec<_>>(),
                "findings": flights.iter().map(|f| f.document.clone()).collect::<Vec<_>>(),
            }),
            steps: self.steps,
            folder: self.folder,
        })
    }
}

fn doubt(f: &Finding) -> String {
    if f.enough { String::new() } else { " Not enough to rely on.".into() }
}

fn card_words(card: &Card) -> String {
    let titles: Vec<&str> = card.points.iter().map(|p| p.title.as_str()).collect();
    format!(
        "{} points in about {}: {}. Left out: {}.",
        card.points.len(),
        number::duration(card.planned_s),
        titles.join(", "),
        match card.left_out.len() {
            0 => "none".to_owned(),
            n => format!("{n}, each with its reason on the card"),
        }
    )
}

/// How each axis answered its surface, beside what was hidden.
fn answers(flown: &Flown) -> Vec<String> {
    let truth = &flown.flight.truth;
    let found: Vec<_> = flown.findings.handling.response.iter().zip(truth.rate_per_rad_s).collect();
    if found.iter().all(|(response, _)| response.is_err()) {
        return vec![
            "No stick was moved on purpose in direct, so that no answer to the surfaces was found.".into(),
        ];
    }
    found
        .into_iter()
        .zip(truth.time_constant_s)
        .filter_map(|((response, rate), constant)| {
            let r = response.as_ref().ok()?;
            Some(format!(
                "In {} each degree of surface gives {} (hidden: {}), with a time constant of {} (hidden: {}).{}",
                r.axis.word(),
                number::finding(&r.gain_deg_s_per_deg, "deg/s"),
                exact(rate, "deg/s"),
                number::finding(&r.time_constant_s, "s"),
                exact(constant, "s"),
                doubt(&r.gain_deg_s_per_deg),
            ))
        })
        .collect()
}
