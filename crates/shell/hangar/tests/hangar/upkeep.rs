//! Do settings, defects, parts and the log come back as they were kept, and is what does not fit refused?

use hangar::{Hangar, HangarError, NewDefect, NewLogEntry, NewRecording, NewRepair, NewSettings};

pub(crate) fn new() -> (tempfile::TempDir, Hangar) {
    let folder = tempfile::tempdir().unwrap();
    let mut hangar = Hangar::open(folder.path().join("a.hangar")).unwrap();
    for name in ["Plover", "Dunlin"] {
        hangar.keep_aircraft(name, "format = 1\n", "", 1).unwrap();
    }
    (folder, hangar)
}

fn settings(bytes: &[u8], at_ms: i64) -> NewSettings<'_> {
    NewSettings { bytes, source_name: "settings.txt", note: "as delivered", at_ms }
}

#[test]
fn settings_are_numbered_and_come_back_byte_for_byte() {
    let (_folder, mut hangar) = new();
    let odd: &[u8] = b"gain = 1\r\n\xff\xfe not text \0";
    assert_eq!(hangar.keep_settings("Plover", &settings(odd, 5)).unwrap().number, 1);
    assert_eq!(hangar.keep_settings("Plover", &settings(b"gain = 2", 6)).unwrap().number, 2);
    assert_eq!(hangar.keep_settings("Plover", &settings(b"gain = 2", 7)).unwrap().number, 2, "kept once");
    assert_eq!(hangar.keep_settings("Dunlin", &settings(b"gain = 2", 8)).unwrap().number, 1);
    assert_eq!(hangar.settings_bytes("Plover", 1).unwrap(), odd);
    let list = hangar.settings("Plover").unwrap();
    let told: Vec<_> = list.iter().map(|s| (s.number, s.size, s.at_ms, s.note.as_str())).collect();
    assert_eq!(told, [(1, odd.len() as u64, 5, "as delivered"), (2, 8, 6, "as delivered")]);
    assert!(matches!(
        hangar.settings_bytes("Plover", 3),
        Err(HangarError::Nothing { what: "settings", id: 3 })
    ));
}

#[test]
fn a_defect_is_closed_once_and_keeps_both_its_stories() {
    let (_folder, mut hangar) = new();
    let new = NewDefect { place: "nose", what: "firewall cracked", grounds: true, by: "pilot", at_ms: 10 };
    let defect = hangar.open_defect("Plover", &new).unwrap();
    assert!(defect.grounds && defect.closed.is_none());
    let repair = NewRepair { repair: "nose", done: "epoxy and glass", by: "builder", at_ms: 20 };
    let closed = hangar.close_defect(defect.id, &repair).unwrap();
    assert_eq!(closed.what, "firewall cracked");
    assert_eq!(closed.closed.as_ref().map(|c| (c.done.as_str(), c.at_ms)), Some(("epoxy and glass", 20)));
    assert!(matches!(
        hangar.close_defect(defect.id, &repair),
        Err(HangarError::AlreadyDone { what: "defect", at_ms: 20, .. })
    ));
    assert_eq!(hangar.defects("Plover").unwrap(), [closed]);
    assert_eq!(hangar.defects("Dunlin").unwrap(), []);
}

#[test]
fn a_part_belongs_to_a_defect_of_the_same_aircraft() {
    let (_folder, mut hangar) = new();
    let new = NewDefect { place: "propeller", what: "tip chipped", grounds: true, by: "", at_ms: 1 };
    let defect = hangar.open_defect("Plover", &new).unwrap().id;
    let part = hangar.need_part("Plover", "propeller 10x6", Some(defect), 2).unwrap();
    assert_eq!(hangar.part_arrived(part.id, 3).unwrap().here_ms, Some(3));
    assert!(matches!(hangar.part_arrived(part.id, 4), Err(HangarError::AlreadyDone { what: "part", .. })));
    assert!(matches!(
        hangar.need_part("Dunlin", "propeller 10x6", Some(defect), 2),
        Err(HangarError::OtherAircraft { .. })
    ));
    assert_eq!(hangar.parts("Plover").unwrap().len(), 1);
    assert_eq!(hangar.parts("Dunlin").unwrap(), []);
}

#[test]
fn a_flight_stands_in_the_log_once() {
    let (_folder, mut hangar) = new();
    let revision = hangar.aircraft("Plover").unwrap().id;
    let recording = NewRecording {
        bytes: b"t,x\n0,1\n",
        source_name: "a.csv",
        column_map: "m",
        aircraft: revision,
        note: "",
        at_ms: 1,
    };
    let recording = hangar.keep_recording(&recording).unwrap().id;
    let entry = NewLogEntry {
        recording: Some(recording),
        pack: "A",
        flown_s: Some(400.5),
        landings: Some(1),
        at_ms: 9,
        ..NewLogEntry::default()
    };
    let kept = hangar.log("Plover", &entry).unwrap();
    assert_eq!((kept.flown_s, kept.used_as, kept.landings), (Some(400.5), None, Some(1)));
    assert!(matches!(hangar.log("Plover", &entry), Err(HangarError::AlreadyDone { .. })));
    assert!(matches!(hangar.log("Dunlin", &entry), Err(HangarError::OtherAircraft { .. })));
    // An entry from before comes first, whenever it is written.
    let by_hand = NewLogEntry { flown_s: Some(60.0), at_ms: 2, ..NewLogEntry::default() };
    hangar.log("Plover", &by_hand).unwrap();
    let at: Vec<i64> = hangar.log_entries("Plover").unwrap().iter().map(|e| e.at_ms).collect();
    assert_eq!(at, [2, 9]);
    let refused = hangar.log("Plover", &NewLogEntry { flown_s: Some(-1.0), ..by_hand });
    assert!(refused.is_err(), "negative time in the air");
}
