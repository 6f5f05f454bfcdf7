//! How does a test become a second process? It runs this very test binary again, asking for itself alone; the
//! variable tells the second run what to do.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use hangar::{Hangar, NewCard, NewDefect, NewFindings, NewLogEntry, NewRecording, NewRepair, NewSettings};

const VARIABLE: &str = "HANGAR_TEST_CHILD";

/// The hangar that this process was started to write to, if it is a child.
pub(crate) fn file() -> Option<PathBuf> {
    std::env::var_os(VARIABLE).map(PathBuf::from)
}

/// The command that runs the test of that full name in a process of its own.
pub(crate) fn command(test: &str, file: &Path) -> Command {
    let mut command = Command::new(std::env::current_exe().unwrap());
    command
        .args([test, "--exact", "--nocapture", "--test-threads=1"])
        .env(VARIABLE, file)
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped());
    command
}

/// A recording that differs for each writer and each number, and does not pack to nothing.
pub(crate) fn recording_of(writer: u32, number: u32) -> Vec<u8> {
    let mut state = u64::from(writer) << 32 | u64::from(number);
    let rows = (0..600).map(|row| {
        // Knuth's multiplier (The Art of Computer Programming, vol. 2, 3.3.4): any noise would do.
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        format!("{row},{},{}\n", state >> 40, state >> 50)
    });
    format!("time,a,b\nwriter {writer} number {number}\n{}", rows.collect::<String>()).into_bytes()
}

/// The aircraft text of each writer and number.
pub(crate) fn text_of(writer: u32, number: u32) -> String {
    format!("format = 1\nname = \"writer {writer}\"\n# {number}\n")
}

/// The findings document of each writer and number.
pub(crate) fn findings_of(writer: u32, number: u32) -> String {
    format!(
        "{{\"writer\": {writer}, \"number\": {number}, \"wind\": {{\"value\": 3.1, \"sd\": 0.2, \"enough\": true}}}}"
    )
}

/// The card page of each writer and number.
pub(crate) fn card_of(writer: u32, number: u32) -> String {
    format!("<!doctype html><title>{writer} {number}</title>")
}

/// The settings file of each writer and number.
pub(crate) fn settings_of(writer: u32, number: u32) -> String {
    format!("gain = {number}\nwriter = {writer}\n")
}

/// How many kinds of things a child keeps for each number.
pub(crate) const KINDS: usize = 10;

/// Keeps one thing after the other and prints each after it was kept: what, id, number, one line each.
pub(crate) fn keep(file: &Path, writer: u32, numbers: std::ops::Range<u32>) {
    let mut hangar = Hangar::open(file).unwrap();
    let name = format!("writer {writer}");
    let say = |what: &str, id: i64, number: u32| {
        let mut out = std::io::stdout().lock();
        writeln!(out, "kept {what} {id} {number}").unwrap();
        out.flush().unwrap();
    };
    for number in numbers {
        let at_ms = i64::from(number);
        let revision = hangar.keep_aircraft(&name, &text_of(writer, number), "n", at_ms).unwrap();
        say("revision", i64::from(revision.number), number);
        let bytes = recording_of(writer, number);
        let recording = NewRecording {
            bytes: &bytes,
            source_name: "log.csv",
            column_map: "map",
            aircraft: revision.id,
            note: "",
            at_ms,
        };
        let recording = hangar.keep_recording(&recording).unwrap();
        say("recording", recording.id.0, number);
        let json = findings_of(writer, number);
        let findings =
            NewFindings { recording: recording.id, aircraft: revision.id, json: &json, version: "0", at_ms };
        say("findings", hangar.keep_findings(&findings).unwrap().id.0, number);
        let html = card_of(writer, number);
        let card = NewCard { aircraft: revision.id, html: html.as_bytes(), json: &json, version: "0", at_ms };
        say("card", hangar.keep_card(&card).unwrap().id.0, number);
        let bytes = settings_of(writer, number);
        let settings = NewSettings { bytes: bytes.as_bytes(), source_name: "settings.txt", note: "", at_ms };
        say("settings", i64::from(hangar.keep_settings(&name, &settings).unwrap().number), number);
        let what = format!("defect {number}");
        let defect = NewDefect { place: "nose", what: &what, grounds: true, by: "", at_ms };
        let id = hangar.open_defect(&name, &defect).unwrap().id;
        say("defect", id.0, number);
        let repair = NewRepair { repair: "nose", done: &what, by: "", at_ms };
        hangar.close_defect(id, &repair).unwrap();
        say("repair", id.0, number);
        let part = hangar.need_part(&name, &what, Some(id), at_ms).unwrap().id;
        say("part", part, number);
        hangar.part_arrived(part, at_ms).unwrap();
        say("arrival", part, number);
        let entry = NewLogEntry {
            recording: Some(recording.id),
            pack: "A",
            flown_s: Some(f64::from(number) / 3.0),
            at_ms,
            ..NewLogEntry::default()
        };
        say("entry", hangar.log(&name, &entry).unwrap().id, number);
    }
}

/// A line that a child printed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Kept {
    /// What was kept.
    pub(crate) what: String,
    /// Under which number.
    pub(crate) id: i64,
    /// The child's own count.
    pub(crate) number: u32,
}

/// Reads one line of a child; other lines (the test runner's) are none. A line cut off by a kill is none either.
pub(crate) fn parse(line: &str) -> Option<Kept> {
    // The test runner may have left "test NAME ... " in front of the first line.
    let line = &line[line.find("kept ")?..];
    let mut words = line.split(' ').skip(1);
    Some(Kept {
        what: words.next()?.to_owned(),
        id: words.next()?.parse().ok()?,
        number: words.next()?.parse().ok()?,
    })
}

/// Fails unless the hangar has what a child said it kept, byte for byte.
pub(crate) fn require(hangar: &Hangar, writer: u32, kept: &Kept) {
    let number = kept.number;
    let name = format!("writer {writer}");
    match kept.what.as_str() {
        "revision" => {
            let revision = hangar.revision(&name, u32::try_from(kept.id).unwrap()).unwrap();
            assert_eq!(revision.text, text_of(writer, number));
        }
        "recording" => {
            let bytes = hangar.recording_bytes(hangar::RecordingId(kept.id)).unwrap();
            assert!(bytes == recording_of(writer, number), "recording {} differs", kept.id);
        }
        "findings" => {
            let findings = hangar.findings_by_id(hangar::FindingsId(kept.id)).unwrap();
            assert_eq!(findings.json, findings_of(writer, number));
        }
        "card" => {
            let card = hangar.card(hangar::CardId(kept.id)).unwrap();
            assert_eq!(card.html, card_of(writer, number).into_bytes());
        }
        "settings" => {
            let bytes = hangar.settings_bytes(&name, u32::try_from(kept.id).unwrap()).unwrap();
            assert_eq!(bytes, settings_of(writer, number).into_bytes());
        }
        "defect" | "repair" => {
            let defects = hangar.defects(&name).unwrap();
            let defect = defects.iter().find(|defect| defect.id.0 == kept.id).unwrap();
            assert_eq!(defect.what, format!("defect {number}"));
            let done = defect.closed.as_ref().map(|closed| closed.done.clone());
            assert!(kept.what == "defect" || done == Some(format!("defect {number}")), "{defect:?}");
        }
        "part" | "arrival" => {
            let parts = hangar.parts(&name).unwrap();
            let part = parts.iter().find(|part| part.id == kept.id).unwrap();
            assert_eq!(part.what, format!("defect {number}"));
            assert!(kept.what == "part" || part.here_ms == Some(i64::from(number)), "{part:?}");
        }
        "entry" => {
            let entries = hangar.log_entries(&name).unwrap();
            let entry = entries.iter().find(|entry| entry.id == kept.id).unwrap();
            assert_eq!(entry.flown_s, Some(f64::from(number) / 3.0));
        }
        other => panic!("a child kept {other}"),
    }
}
