//! Does everything come back as it was kept?

use hangar::{
    AircraftText, Hangar, HangarError, NewCard, NewFindings, NewRecording, RecordingId, RevisionId,
    SectionFile,
};
use proptest::prelude::*;

fn new() -> (tempfile::TempDir, Hangar) {
    let folder = tempfile::tempdir().unwrap();
    let hangar = Hangar::open(folder.path().join("a.hangar")).unwrap();
    (folder, hangar)
}

fn recording<'a>(bytes: &'a [u8], column_map: &'a str, aircraft: RevisionId, at_ms: i64) -> NewRecording<'a> {
    NewRecording { bytes, source_name: "../../etc/flight 1.csv", column_map, aircraft, note: "calm", at_ms }
}

#[test]
fn revisions_count_up_and_the_same_text_is_not_kept_twice() {
    let (_folder, mut hangar) = new();
    let first = hangar.keep_aircraft("Merle", "a", "as built", 10).unwrap();
    let second = hangar.keep_aircraft("Merle", "b", "weighed", 20).unwrap();
    let same = hangar.keep_aircraft("Merle", "b", "again", 30).unwrap();
    assert_eq!((first.number, first.parent), (1, None));
    assert_eq!((second.number, second.parent), (2, Some(1)));
    assert_eq!(same, second);
    assert_eq!(hangar.aircraft("Merle").unwrap(), second);
    assert_eq!(hangar.revision("Merle", 1).unwrap(), first);
    assert_eq!(hangar.revisions("Merle").unwrap(), [first, second]);
}

#[test]
fn going_back_keeps_the_older_text_as_the_newest_revision() {
    let (_folder, mut hangar) = new();
    for text in ["a", "b", "c"] {
        hangar.keep_aircraft("Merle", text, "", 1).unwrap();
    }
    let back = hangar.go_back("Merle", 1, "the old throws were better", 5).unwrap();
    assert_eq!((back.number, back.parent, back.text.as_str()), (4, Some(1), "a"));
    let texts: Vec<_> = hangar.revisions("Merle").unwrap().into_iter().map(|r| r.text).collect();
    assert_eq!(texts, ["a", "b", "c", "a"]);
    let missing = hangar.go_back("Merle", 9, "", 6).unwrap_err();
    assert!(matches!(missing, HangarError::NoRevision { number: 9, newest: 4, .. }), "{missing}");
}

#[test]
fn the_same_recording_is_kept_once_an_aircraft_and_its_maps_in_order() {
    let (_folder, mut hangar) = new();
    let merle = hangar.keep_aircraft("Merle", "a", "", 1).unwrap();
    let other = hangar.keep_aircraft("Other", "o", "", 1).unwrap();
    let first = hangar.keep_recording(&recording(b"t,x\n0,1\n", "map 1", merle.id, 2)).unwrap();
    let again = hangar.keep_recording(&recording(b"t,x\n0,1\n", "map 1", merle.id, 3)).unwrap();
    let remapped = hangar.keep_recording(&recording(b"t,x\n0,1\n", "map 2", merle.id, 4)).unwrap();
    assert_eq!((&again, &remapped), (&first, &first));
    assert_eq!(first.source_name, "../../etc/flight 1.csv");
    let maps: Vec<_> =
        hangar.column_maps(first.id).unwrap().into_iter().map(|m| (m.number, m.text, m.at_ms)).collect();
    assert_eq!(maps, [(1, "map 1".to_owned(), 2), (2, "map 2".to_owned(), 4)]);
    let others = hangar.keep_recording(&recording(b"t,x\n0,1\n", "map 1", other.id, 5)).unwrap();
    assert_ne!(others.id, first.id);
    assert_eq!(hangar.recordings("Merle").unwrap(), [first]);
}

#[test]
fn a_recording_of_forty_megabytes_comes_back_byte_for_byte() {
    let (_folder, mut hangar) = new();
    let merle = hangar.keep_aircraft("Merle", "a", "", 1).unwrap();
    let mut state = 1_u64;
    let mut bytes = Vec::with_capacity(40_000_000);
    while bytes.len() < 40_000_000 {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        bytes.extend_from_slice(format!("{},{}\n", bytes.len(), state >> 44).as_bytes());
    }
    let kept = hangar.keep_recording(&recording(&bytes, "", merle.id, 2)).unwrap();
    assert_eq!(kept.bytes, bytes.len() as u64);
    assert!(hangar.recording_bytes(kept.id).unwrap() == bytes);
}

#[test]
fn an_empty_recording_comes_back_empty() {
    let (_folder, mut hangar) = new();
    let merle = hangar.keep_aircraft("Merle", "", "", 1).unwrap();
    let kept = hangar.keep_recording(&recording(b"", "", merle.id, 2)).unwrap();
    assert_eq!(hangar.recording_bytes(kept.id).unwrap(), Vec::<u8>::new());
}

#[test]
fn a_flight_tells_what_was_learnt_and_adopted() {
    let (_folder, mut hangar) = new();
    let merle = hangar.keep_aircraft("Merle", "a", "", 1).unwrap();
    let flown = hangar.keep_recording(&recording(b"1", "", merle.id, 2)).unwrap();
    let unread = hangar.keep_recording(&recording(b"2", "", merle.id, 3)).unwrap();
    let json = r#"{"wind": {"speed_m_s": {"value": 3, "sd": 0.4, "enough": true}},
        "trims": [{"us": {"value": 12, "sd": 3, "enough": true}}, {"us": {"value": 1, "sd": 9, "enough": false}}],
        "changes": [{"path": "controller.mounting_pitch_deg"}]}"#;
    let new = NewFindings { recording: flown.id, aircraft: merle.id, json, version: "0.1.0", at_ms: 4 };
    let findings = hangar.keep_findings(&new).unwrap();
    assert_eq!(findings.json, json);
    assert_eq!(hangar.keep_findings(&NewFindings { at_ms: 5, ..new }).unwrap(), findings);
    let newer = hangar.keep_findings(&NewFindings { version: "0.2.0", at_ms: 6, ..new }).unwrap();
    assert_ne!(newer.id, findings.id);
    assert_eq!(hangar.findings(flown.id).unwrap(), [findings, newer.clone()]);

    let adopted = hangar.keep_adopted("Merle", "b", newer.id, "from flight 1", 7).unwrap();
    assert_eq!((adopted.number, adopted.parent, adopted.from_findings), (2, Some(1), Some(newer.id)));
    let flights = hangar.flights("Merle").unwrap();
    assert_eq!(flights.len(), 2);
    let learned = flights[0].learned.as_ref().unwrap();
    assert_eq!(learned.findings, newer.id);
    assert_eq!((learned.estimates, learned.enough, learned.changes), (3, 2, 1));
    assert_eq!(flights[0].adopted_as, [2]);
    assert_eq!((flights[1].recording.id, &flights[1].learned), (unread.id, &None));
}

#[test]
fn a_card_stays_as_it_was_issued() {
    let (_folder, mut hangar) = new();
    let merle = hangar.keep_aircraft("Merle", "a", "", 1).unwrap();
    let new = NewCard {
        aircraft: merle.id,
        html: b"<p>\0\xff",
        json: "{\"points\": []}",
        version: "0.1.0",
        at_ms: 2,
    };
    let card = hangar.keep_card(&new).unwrap();
    assert_eq!((card.html.as_slice(), card.json.as_str(), card.revision_number), (new.html, new.json, 1));
    hangar.keep_aircraft("Merle", "b", "", 3).unwrap();
    let second = hangar.keep_card(&NewCard { at_ms: 4, ..new }).unwrap();
    assert_eq!(hangar.cards("Merle").unwrap(), [card.clone(), second]);
    assert_eq!(hangar.card(card.id).unwrap(), card);
}

#[test]
fn what_does_not_belong_together_is_refused_and_nothing_of_it_is_kept() {
    let (_folder, mut hangar) = new();
    let merle = hangar.keep_aircraft("Merle", "a", "", 1).unwrap();
    let other = hangar.keep_aircraft("Other", "o", "", 1).unwrap();
    let flown = hangar.keep_recording(&recording(b"1", "", merle.id, 2)).unwrap();
    let new = NewFindings { recording: flown.id, aircraft: merle.id, json: "{}", version: "0", at_ms: 3 };
    let cases: [(&str, HangarError); 6] = [
        ("are not a JSON", hangar.keep_findings(&NewFindings { json: "{", ..new }).unwrap_err()),
        (
            "no recording with the number 99",
            hangar.keep_findings(&NewFindings { recording: RecordingId(99), ..new }).unwrap_err(),
        ),
        (
            "no revision with the number 99",
            hangar.keep_findings(&NewFindings { aircraft: RevisionId(99), ..new }).unwrap_err(),
        ),
        (
            "belong to \"Merle\", the revision to \"Other\"",
            hangar.keep_findings(&NewFindings { aircraft: other.id, ..new }).unwrap_err(),
        ),
        (
            "no revision with the number 99",
            hangar.keep_recording(&recording(b"2", "", RevisionId(99), 3)).unwrap_err(),
        ),
        (
            "no findings with the number 1",
            hangar.keep_adopted("Merle", "b", hangar::FindingsId(1), "", 3).unwrap_err(),
        ),
    ];
    for (expected, error) in cases {
        assert!(error.to_string().contains(expected), "expected {expected:?}: {error}");
    }
    let findings = hangar.keep_findings(&new).unwrap();
    let error = hangar.keep_adopted("Other", "x", findings.id, "", 4).unwrap_err();
    assert!(matches!(error, HangarError::OtherAircraft { .. }), "{error}");
    assert_eq!(hangar.revisions("Other").unwrap().len(), 1);
    assert_eq!(hangar.recordings("Merle").unwrap().len(), 1);
}

#[test]
fn an_unknown_name_is_told_with_the_names_there_are() {
    let (_folder, mut hangar) = new();
    assert!(hangar.aircraft("Merle").unwrap_err().to_string().contains("the hangar is empty"));
    hangar.keep_aircraft("Merle", "a", "", 1).unwrap();
    let error = hangar.flights("merle").unwrap_err();
    assert_eq!(error.to_string(), "no aircraft named \"merle\" is kept; there are: Merle");
}

#[test]
fn hostile_names_are_text_and_nothing_else() {
    let (folder, mut hangar) = new();
    let names = [
        "../../../etc/passwd",
        "/dev/null",
        "C:\\aux",
        "'; DROP TABLE aircraft; --",
        "\"quoted\" %s ?1 :name",
        "🦅 Möwe über Ähre",
        "e\u{301}",
        "é",
        "\u{202e}reversed",
        "<script>alert(1)</script>",
    ];
    for (at_ms, name) in (0_i64..).zip(names) {
        hangar.keep_aircraft(name, name, name, at_ms).unwrap();
    }
    for name in names {
        let revision = hangar.aircraft(name).unwrap();
        assert_eq!((revision.text.as_str(), revision.note.as_str(), revision.number), (name, name, 1));
    }
    let mut sorted: Vec<_> = names.map(str::to_owned).into();
    sorted.sort();
    assert_eq!(hangar.names().unwrap(), sorted);
    assert!(
        std::fs::read_dir(folder.path())
            .unwrap()
            .all(|entry| { entry.unwrap().file_name().to_string_lossy().starts_with("a.hangar") })
    );
}

#[test]
fn names_that_cannot_be_typed_or_told_apart_are_refused() {
    let (_folder, mut hangar) = new();
    let long = "x".repeat(121);
    for name in ["", " ", " Merle", "Merle ", "two\nlines", "nul\0", "tab\there", "\u{1b}[31m", long.as_str()]
    {
        let error = hangar.keep_aircraft(name, "a", "", 1).unwrap_err();
        assert!(matches!(error, HangarError::BadName { .. }), "{name:?}: {error}");
        assert!(!error.to_string().chars().any(char::is_control), "{error:?}");
    }
    assert_eq!(hangar.names().unwrap(), Vec::<String>::new());
}

#[test]
fn a_backup_is_a_whole_hangar_and_never_takes_another_files_place() {
    let (folder, mut hangar) = new();
    let merle = hangar.keep_aircraft("Merle", "a", "", 1).unwrap();
    let flown = hangar.keep_recording(&recording(b"1", "m", merle.id, 2)).unwrap();
    let to = folder.path().join("it's a backup/b.hangar");
    hangar.backup(&to).unwrap();
    hangar.keep_aircraft("Merle", "b", "", 3).unwrap();

    let copy = Hangar::open(&to).unwrap();
    assert_eq!(copy.aircraft("Merle").unwrap().text, "a");
    assert_eq!(copy.recording_bytes(flown.id).unwrap(), b"1");
    assert_eq!(copy.examine().unwrap(), []);
    drop(copy);

    let before = std::fs::read(&to).unwrap();
    assert!(matches!(hangar.backup(&to), Err(HangarError::BackupExists { .. })));
    assert_eq!(std::fs::read(&to).unwrap(), before);
    let beside = std::fs::read_dir(to.parent().unwrap()).unwrap().count();
    assert_eq!(beside, 1, "parts of a copy were left behind");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(32))]

    #[test]
    fn any_text_and_any_bytes_come_back(text in any::<String>(), bytes in any::<Vec<u8>>(), at_ms in any::<i64>()) {
        let (_folder, mut hangar) = new();
        let revision = hangar.keep_aircraft("Merle", &text, &text, at_ms).unwrap();
        prop_assert_eq!(&revision.text, &text);
        prop_assert_eq!(&hangar.aircraft("Merle").unwrap(), &revision);
        prop_assert_eq!((&revision.note, revision.at_ms), (&text, at_ms));
        let kept = hangar.keep_recording(&recording(&bytes, &text, revision.id, at_ms)).unwrap();
        prop_assert_eq!(hangar.recording_bytes(kept.id).unwrap(), bytes);
        prop_assert_eq!(&hangar.column_maps(kept.id).unwrap()[0].text, &text);
    }
}

#[test]
fn coordinate_files_go_with_the_revision_that_names_them() {
    let (_folder, mut hangar) = new();
    let file = |text: &str| SectionFile { name: "own.dat".into(), text: text.into() };
    let keep = |hangar: &mut Hangar, files: &[SectionFile], at| {
        hangar.keep_aircraft(
            "Plover",
            AircraftText { text: "section = \"own.dat\"", section_files: files },
            "",
            at,
        )
    };
    let first = keep(&mut hangar, &[file("1 0")], 1).unwrap();
    assert_eq!(
        keep(&mut hangar, &[file("1 0")], 2).unwrap(),
        first,
        "nothing changed, so nothing new is kept"
    );
    let second = keep(&mut hangar, &[file("1 0.01")], 3).unwrap();
    assert_eq!(second.number, 2, "the same text with another section is another aircraft");
    assert_eq!(hangar.section_files(first.id).unwrap(), [file("1 0")]);
    let back = hangar.go_back("Plover", 1, "", 4).unwrap();
    assert_eq!(hangar.section_files(back.id).unwrap(), [file("1 0")]);
}
