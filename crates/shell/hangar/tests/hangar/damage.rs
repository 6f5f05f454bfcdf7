//! Is damage noticed, named, and never handed out as data?

use std::fs;
use std::io::{Seek, SeekFrom, Write};

use hangar::{Hangar, HangarError, NewRecording, Recording};
use rusqlite::Connection;

use crate::child;

fn with_a_recording(file: &std::path::Path) -> Recording {
    with(file, &child::recording_of(0, 0))
}

fn with(file: &std::path::Path, bytes: &[u8]) -> Recording {
    let mut hangar = Hangar::open(file).unwrap();
    let revision = hangar.keep_aircraft("Merle", "format = 1\n", "", 1).unwrap();
    let new = NewRecording {
        bytes,
        source_name: "log.csv",
        column_map: "",
        aircraft: revision.id,
        note: "",
        at_ms: 2,
    };
    hangar.keep_recording(&new).unwrap()
}

/// Bytes that do not pack.
fn noise(length: usize) -> Vec<u8> {
    let mut state = 1_u64;
    let next = || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        state.to_be_bytes()[0]
    };
    std::iter::repeat_with(next).take(length).collect()
}

/// Overwrites a row behind the hangar's back: a stranger who first takes the guards away.
fn tamper(file: &std::path::Path, sql: &str) {
    let stranger = Connection::open(file).unwrap();
    for guard in ["recording_stays", "revision_stays", "card_stays"] {
        stranger.execute_batch(&format!("DROP TRIGGER IF EXISTS {guard}")).unwrap();
    }
    assert_eq!(stranger.execute(sql, []).unwrap(), 1);
}

#[test]
fn a_recording_whose_bytes_changed_is_not_handed_out() {
    let other = zstd::bulk::compress(b"other", 3).unwrap();
    let hex: String = other.iter().map(|byte| format!("{byte:02x}")).collect();
    let cases = [
        ("other bytes in a whole frame", format!("UPDATE recording SET bytes = x'{hex}'")),
        ("no frame at all", "UPDATE recording SET bytes = x'00'".to_owned()),
        ("cut off", "UPDATE recording SET bytes = substr(bytes, 1, length(bytes) / 2)".to_owned()),
        ("a checksum that was changed", format!("UPDATE recording SET sha256 = '{}'", "0".repeat(64))),
        ("a size that was changed", "UPDATE recording SET size = 1".to_owned()),
    ];
    for (case, sql) in cases {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("a.hangar");
        let recording = with_a_recording(&file);
        tamper(&file, &sql);
        let hangar = Hangar::open(&file).unwrap();
        let error = hangar.recording_bytes(recording.id).unwrap_err();
        assert!(matches!(error, HangarError::Checksum { .. }), "{case}: {error}");
        assert_eq!(hangar.examine().unwrap().len(), 1, "{case}");
    }
}

#[test]
fn an_aircraft_text_that_changed_is_not_handed_out() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("a.hangar");
    with_a_recording(&file);
    tamper(&file, "UPDATE revision SET text = CAST('format = 2' AS BLOB)");
    let hangar = Hangar::open(&file).unwrap();
    assert!(matches!(hangar.aircraft("Merle"), Err(HangarError::Checksum { .. })));
    assert!(!hangar.examine().unwrap().is_empty());
}

#[test]
fn what_is_kept_cannot_be_changed_or_removed_even_by_sql() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("a.hangar");
    child::keep(&file, 0, 0..1);
    let stranger = Connection::open(&file).unwrap();
    for table in ["aircraft", "revision", "recording", "column_map", "findings", "card"] {
        let error = stranger.execute(&format!("DELETE FROM {table}"), []).unwrap_err();
        assert!(error.to_string().contains("not removed"), "{table}: {error}");
        let error = stranger.execute(&format!("UPDATE {table} SET id = id + 1"), []).unwrap_err();
        assert!(error.to_string().contains("not changed"), "{table}: {error}");
    }
}

#[test]
fn a_file_damaged_anywhere_is_found_out_or_harmless_but_never_panics_or_lies() {
    let folder = tempfile::tempdir().unwrap();
    let whole = folder.path().join("whole.hangar");
    let original = noise(400_000);
    let recording = with(&whole, &original);
    let size = fs::metadata(&whole).unwrap().len();
    let mut found_out = 0;
    let places = 48;
    for place in 0..places {
        let file = folder.path().join(format!("{place}.hangar"));
        fs::copy(&whole, &file).unwrap();
        let mut handle = fs::OpenOptions::new().write(true).open(&file).unwrap();
        handle.seek(SeekFrom::Start(size * place / places + 120)).unwrap();
        handle.write_all(&[0xA5; 64]).unwrap();
        drop(handle);
        let noticed = match Hangar::open(&file) {
            Err(_) => true,
            Ok(hangar) => {
                if let Ok(bytes) = hangar.recording_bytes(recording.id) {
                    assert!(bytes == original, "place {place}: other bytes were handed out");
                }
                if let Ok(revision) = hangar.aircraft("Merle") {
                    assert_eq!(revision.text, "format = 1\n", "place {place}");
                }
                hangar.examine().map_or(true, |flaws| !flaws.is_empty())
            }
        };
        found_out += u32::from(noticed);
    }
    // Noise does not pack, so that much of the file is the recording, whose every byte its checksum covers (less one
    // blow at either end); elsewhere unused space may take a blow unseen.
    let covered = places * original.len() as u64 / size - 2;
    assert!(
        u64::from(found_out) >= covered,
        "{found_out} of {places} blows were noticed, {covered} had to be"
    );
}

#[test]
fn a_file_cut_off_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("a.hangar");
    with_a_recording(&file);
    let size = fs::metadata(&file).unwrap().len();
    fs::OpenOptions::new().write(true).open(&file).unwrap().set_len(size / 2).unwrap();
    let wrong = Hangar::open(&file).and_then(|hangar| {
        let flaws = hangar.examine()?;
        Ok(flaws.len())
    });
    match wrong {
        Ok(flaws) => assert!(flaws > 0),
        Err(error) => assert!(matches!(error, HangarError::Damaged { .. }), "{error:?}"),
    }
}
