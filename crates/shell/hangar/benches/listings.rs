//! How long do lists take with a thousand flights kept? `cargo bench -p hangar`

#![allow(clippy::unwrap_used, reason = "a measurement that cannot go on has failed")]

use std::sync::OnceLock;

use divan::Bencher;
use hangar::{Hangar, NewCard, NewDefect, NewFindings, NewLogEntry, NewRecording, NewSettings};

const NAME: &str = "Plover";
const FLIGHTS: i64 = 1000;

fn main() {
    divan::main();
}

/// Bytes that do not compress: a linear congruential sequence (Knuth, MMIX).
fn noise(seed: i64, length: usize) -> Vec<u8> {
    let mut state = seed.unsigned_abs() * 2 + 1;
    (0..length)
        .map(|_| {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (state >> 33) as u8
        })
        .collect()
}

/// A thousand flights of 60 kB of recording, 40 kB of findings and a card of 50 kB each, kept once.
fn folder() -> &'static tempfile::TempDir {
    static FOLDER: OnceLock<tempfile::TempDir> = OnceLock::new();
    FOLDER.get_or_init(|| {
        let folder = tempfile::tempdir().unwrap();
        let mut hangar = Hangar::open(folder.path().join("a.hangar")).unwrap();
        let page = "x".repeat(50_000);
        for n in 0..FLIGHTS {
            let text = format!("number = {n}\n{}", "# a line of the file\n".repeat(300));
            let revision = hangar.keep_aircraft(NAME, &text, "as flown", n).unwrap();
            let card = NewCard {
                aircraft: revision.id,
                html: page.as_bytes(),
                json: "{\"points\":[]}",
                version: "1",
                at_ms: n,
            };
            let card = hangar.keep_card(&card).unwrap();
            let bytes = noise(n, 60_000);
            let recording = NewRecording {
                bytes: &bytes,
                source_name: "flight.csv",
                column_map: "",
                aircraft: revision.id,
                note: "",
                at_ms: n,
            };
            let recording = hangar.keep_recording(&recording).unwrap();
            hangar.link_flight(recording.id, Some(card.id), "wind 3 m/s from 240", n).unwrap();
            let estimate =
                "{\"enough\":true,\"value\":1.25,\"sd\":0.1,\"verdict\":\"from forty inputs in both ways\"},";
            let list = estimate.repeat(500);
            let json =
                format!("{{\"of\":{n},\"estimates\":[{}],\"changes\":[]}}", list.trim_end_matches(','));
            let findings = NewFindings {
                recording: recording.id,
                aircraft: revision.id,
                json: &json,
                version: "1",
                at_ms: n,
            };
            hangar.keep_findings(&findings).unwrap();
            let bytes = format!("gain = {n}\n{}", "set something = 12\n".repeat(400));
            let settings = NewSettings { bytes: bytes.as_bytes(), source_name: "s.txt", note: "", at_ms: n };
            hangar.keep_settings(NAME, &settings).unwrap();
            let defect = NewDefect { place: "nose", what: "crack", grounds: false, by: "", at_ms: n };
            hangar.open_defect(NAME, &defect).unwrap();
            let entry = NewLogEntry {
                recording: Some(recording.id),
                pack: "A",
                flown_s: Some(400.0),
                at_ms: n,
                ..NewLogEntry::default()
            };
            hangar.log(NAME, &entry).unwrap();
        }
        folder
    })
}

/// Opened anew each time, as a command does.
fn listed<T>(bencher: Bencher, list: impl Fn(&Hangar) -> T + Sync) {
    let path = folder().path().join("a.hangar");
    bencher.bench(|| list(&Hangar::open(&path).unwrap()));
}

#[divan::bench(sample_count = 20)]
fn flights(bencher: Bencher) {
    listed(bencher, |h| h.flights(NAME).unwrap());
}

#[divan::bench(sample_count = 20)]
fn revisions(bencher: Bencher) {
    listed(bencher, |h| h.revision_lines(NAME).unwrap());
}

#[divan::bench(sample_count = 20)]
fn cards(bencher: Bencher) {
    listed(bencher, |h| h.issued_cards(NAME).unwrap());
}

#[divan::bench(sample_count = 20)]
fn settings(bencher: Bencher) {
    listed(bencher, |h| h.settings(NAME).unwrap());
}

#[divan::bench(sample_count = 20)]
fn defects(bencher: Bencher) {
    listed(bencher, |h| h.defects(NAME).unwrap());
}

#[divan::bench(sample_count = 20)]
fn log(bencher: Bencher) {
    listed(bencher, |h| h.log_entries(NAME).unwrap());
}

#[divan::bench(sample_count = 20)]
fn overview(bencher: Bencher) {
    listed(bencher, |h| h.overview().unwrap());
}
