//! Do lists stay quick however much is kept? Held by the work that SQLite does, not by a clock: how many statements, how
//! many steps of its machine, and that no list opens a row that carries a recording, a card or a document.

use std::cell::RefCell;

use rusqlite::StatementStatus;
use rusqlite::trace::{TraceEvent, TraceEventCodes};

use crate::{Hangar, NewCard, NewDefect, NewFindings, NewLogEntry, NewRecording, NewSettings};

const NAME: &str = "Plover";

thread_local! {
    static SEEN: RefCell<Vec<(String, i32)>> = const { RefCell::new(Vec::new()) };
}

fn note(event: TraceEvent<'_>) {
    if let TraceEvent::Profile(statement, _) = event {
        let seen = (statement.sql().into_owned(), statement.get_status(StatementStatus::VmStep));
        SEEN.with_borrow_mut(|all| all.push(seen));
    }
}

/// A hangar with so many flights, each with everything that a flight leaves.
fn kept(flights: i64) -> (tempfile::TempDir, Hangar) {
    let folder = tempfile::tempdir().unwrap();
    let mut hangar = Hangar::open(folder.path().join("a.hangar")).unwrap();
    // Whether it is on the disk is another test's question.
    hangar.connection.pragma_update(None, "synchronous", "OFF").unwrap();
    for n in 0..flights {
        let revision = hangar.keep_aircraft(NAME, &format!("number = {n}\n"), "as flown", n).unwrap();
        let card = hangar
            .keep_card(&NewCard {
                aircraft: revision.id,
                html: format!("<p>{n}</p>").repeat(600).as_bytes(),
                json: "{}",
                version: "1",
                at_ms: n,
            })
            .unwrap();
        let recording = hangar
            .keep_recording(&NewRecording {
                bytes: format!("t,x\n0,{n}\n").as_bytes(),
                source_name: "f.csv",
                column_map: "",
                aircraft: revision.id,
                note: "",
                at_ms: n,
            })
            .unwrap();
        hangar.link_flight(recording.id, Some(card.id), "wind 3 m/s", n).unwrap();
        let json = format!("{{\"of\":{n},\"wind\":{{\"enough\":true}},\"changes\":[1]}}");
        let findings = NewFindings {
            recording: recording.id,
            aircraft: revision.id,
            json: &json,
            version: "1",
            at_ms: n,
        };
        hangar.keep_findings(&findings).unwrap();
        let bytes = format!("gain = {n}\n");
        let settings = NewSettings { bytes: bytes.as_bytes(), source_name: "s.txt", note: "", at_ms: n };
        hangar.keep_settings(NAME, &settings).unwrap();
        let defect = NewDefect { place: "nose", what: "crack", grounds: n % 2 == 0, by: "", at_ms: n };
        hangar.open_defect(NAME, &defect).unwrap();
        hangar.need_part(NAME, "propeller", None, n).unwrap();
        let entry =
            NewLogEntry { recording: Some(recording.id), pack: "A", at_ms: n, ..NewLogEntry::default() };
        hangar.log(NAME, &entry).unwrap();
    }
    (folder, hangar)
}

/// The statements of a list with the steps each took.
fn work(hangar: &Hangar, list: fn(&Hangar) -> usize, expected: usize) -> Vec<(String, i32)> {
    SEEN.with_borrow_mut(Vec::clear);
    hangar.connection.trace_v2(TraceEventCodes::SQLITE_TRACE_PROFILE, Some(note));
    assert_eq!(list(hangar), expected);
    hangar.connection.trace_v2(TraceEventCodes::empty(), None);
    SEEN.with_borrow_mut(std::mem::take)
}

type List = fn(&Hangar) -> usize;

const LISTS: [(&str, List); 10] = [
    ("revisions", |h| h.revision_lines(NAME).unwrap().len()),
    ("recordings", |h| h.recordings(NAME).unwrap().len()),
    ("flights", |h| h.flights(NAME).unwrap().len()),
    ("cards", |h| h.issued_cards(NAME).unwrap().len()),
    ("settings", |h| h.settings(NAME).unwrap().len()),
    ("defects", |h| h.defects(NAME).unwrap().len()),
    ("parts", |h| h.parts(NAME).unwrap().len()),
    ("log", |h| h.log_entries(NAME).unwrap().len()),
    ("card before", |h| h.card_before(NAME, i64::MAX).unwrap().map_or(0, |c| c.id.0 as usize)),
    ("overview", |h| h.overview().unwrap().first().map_or(0, |o| o.recordings as usize)),
];

/// Tables whose rows carry bytes by the page.
const HEAVY: [&str; 5] = ["revision", "recording", "findings", "card", "settings"];

#[test]
fn lists_take_as_many_statements_for_many_flights_as_for_few_and_steps_in_proportion() {
    let (_few, few) = kept(30);
    let (_many, many) = kept(120);
    for (name, list) in LISTS {
        // Once before: statements are prepared and the layout is read.
        list(&few);
        list(&many);
        let (a, b) = (work(&few, list, 30), work(&many, list, 120));
        let statements = |seen: &[(String, i32)]| seen.len();
        assert!(!a.is_empty(), "{name}: nothing was counted");
        assert_eq!(statements(&a), statements(&b), "{name}");
        assert!(statements(&b) <= 6, "{name}: {b:#?}");
        let steps = |seen: &[(String, i32)]| seen.iter().map(|(_, steps)| i64::from(*steps)).sum::<i64>();
        // Four times as many rows: four times the steps, and a little for the tree that grows deeper.
        assert!(steps(&b) <= 5 * steps(&a), "{name}: {} after {}", steps(&b), steps(&a));
        // Some 40 steps of the machine for each row of each table; a thousand flights are then below 0.3 million steps,
        // which take some ten milliseconds.
        assert!(steps(&b) <= 120 * 250, "{name}: {} steps for 120 flights", steps(&b));
    }
}

#[test]
fn no_list_opens_a_row_that_carries_bytes() {
    let (_folder, hangar) = kept(3);
    for (name, list) in LISTS {
        for (sql, _) in work(&hangar, list, 3) {
            let mut plan = hangar.connection.prepare(&format!("EXPLAIN QUERY PLAN {sql}")).unwrap();
            let count = plan.parameter_count();
            let values: Vec<i64> = vec![1; count];
            let lines: Vec<String> = plan
                .query_map(rusqlite::params_from_iter(values), |row| row.get(3))
                .unwrap()
                .collect::<Result<_, _>>()
                .unwrap();
            for line in lines {
                let index = |word: &str| line.contains(&format!("INDEX {word}_list"));
                let heavy = HEAVY.iter().any(|word| index(word));
                assert!(!heavy || line.contains("COVERING"), "{name}: {line}\\n{sql}");
                assert!(!line.contains("SCAN") || !line.contains("recording"), "{name}: {line}\\n{sql}");
                // By its number alone a row is opened for what stands before its bytes: of a revision its own number, of
                // findings their recording.
                let by_number = line.contains("USING INTEGER PRIMARY KEY");
                let opened = ["SEARCH c ", "SEARCH s ", "SEARCH card ", "SEARCH recording "];
                assert!(
                    !by_number || !opened.iter().any(|table| line.starts_with(table)),
                    "{name}: {line}\\n{sql}"
                );
            }
        }
    }
}

#[test]
fn counts_are_those_of_the_document_however_it_is_kept() {
    let (_folder, mut hangar) = kept(1);
    let recording = hangar.recordings(NAME).unwrap().remove(0);
    // Counted by hand: three that say whether they hold, two of them that do, three changes.
    let json =
        r#"{"wind":{"enough":true,"more":{"enough":false}},"trims":[{"enough":true}],"changes":[{},{},{}]}"#;
    let new =
        NewFindings { recording: recording.id, aircraft: recording.revision, json, version: "2", at_ms: 9 };
    hangar.keep_findings(&new).unwrap();
    let learned = hangar.flights(NAME).unwrap().remove(0).learned.unwrap();
    assert_eq!((learned.estimates, learned.enough, learned.changes, learned.at_ms), (3, 2, 3, 9));
    let differing: i64 = hangar
        .connection
        .query_row(
            "SELECT count(*) FROM findings_counted v JOIN findings_count c ON c.findings = v.findings
             WHERE (v.estimates, v.enough, v.changes) IS NOT (c.estimates, c.enough, c.changes)",
            [],
            |row| row.get(0),
        )
        .unwrap();
    assert_eq!(differing, 0);
}
