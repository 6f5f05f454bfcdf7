//! Does a hangar come back from its plain files as it left, and is a folder that was changed refused?

use std::fs;
use std::path::Path;

use hangar::{Hangar, HangarError, import};

use crate::child;

fn filled(folder: &Path) -> Hangar {
    let file = folder.join("a.hangar");
    child::keep(&file, 3, 1..4);
    Hangar::open(file).unwrap()
}

/// All files of a folder with their contents, by name.
fn contents(folder: &Path) -> Vec<(String, Vec<u8>)> {
    let mut found = Vec::new();
    for inner in ["", "tables", "files"] {
        for entry in fs::read_dir(folder.join(inner)).unwrap() {
            let path = entry.unwrap().path();
            if path.is_file() {
                let name = path.strip_prefix(folder).unwrap().display().to_string();
                found.push((name, fs::read(&path).unwrap()));
            }
        }
    }
    found.sort();
    found
}

#[test]
fn what_was_exported_and_imported_exports_to_the_same_files() {
    let folder = tempfile::tempdir().unwrap();
    let hangar = filled(folder.path());
    let first = folder.path().join("first");
    let exported = hangar.export(&first).unwrap();
    let back = import(&first, folder.path().join("b.hangar")).unwrap();
    assert_eq!(back.examine().unwrap(), []);
    let second = folder.path().join("second");
    back.export(&second).unwrap();
    let (a, b) = (contents(&first), contents(&second));
    assert_eq!(a.len(), exported.files + 1);
    assert!(a == b, "{:?}", a.iter().zip(&b).find(|(a, b)| a != b).map(|(a, b)| (&a.0, &b.0)));
    // And what a child said it kept is in it.
    assert_eq!(back.revision("writer 3", 2).unwrap().text, child::text_of(3, 2));
    assert_eq!(back.recording_bytes(hangar::RecordingId(3)).unwrap(), child::recording_of(3, 3));
    // Left nothing lying about.
    let names: Vec<_> = fs::read_dir(folder.path()).unwrap().map(|e| e.unwrap().file_name()).collect();
    assert!(names.iter().all(|name| !name.to_string_lossy().contains(".part")), "{names:?}");
}

#[test]
fn a_folder_with_one_byte_changed_anywhere_makes_no_hangar() {
    let folder = tempfile::tempdir().unwrap();
    let hangar = filled(folder.path());
    let out = folder.path().join("out");
    hangar.export(&out).unwrap();
    let to = folder.path().join("b.hangar");
    for (name, bytes) in contents(&out) {
        if bytes.is_empty() {
            continue;
        }
        let mut changed = bytes.clone();
        let middle = changed.len() / 2;
        changed[middle] ^= 1;
        fs::write(out.join(&name), &changed).unwrap();
        let told = import(&out, &to);
        assert!(matches!(told, Err(HangarError::BadExport { .. })), "{name}: {told:?}");
        assert!(!to.exists());
        fs::remove_file(out.join(&name)).unwrap();
        assert!(matches!(import(&out, &to), Err(HangarError::BadExport { .. })), "{name} missing");
        fs::write(out.join(&name), bytes).unwrap();
    }
    import(&out, &to).unwrap();
}

#[test]
fn names_that_lead_out_of_the_folder_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    let hangar = filled(folder.path());
    let out = folder.path().join("out");
    hangar.export(&out).unwrap();
    let sums = fs::read_to_string(out.join("SHA256SUMS")).unwrap();
    for trick in ["../secret", "/etc/passwd", "files/../../secret"] {
        let mut lines = sums.clone();
        lines.push_str(&format!("{}  {trick}\n", "0".repeat(64)));
        fs::write(out.join("SHA256SUMS"), lines).unwrap();
        let error = import(&out, folder.path().join("b.hangar")).unwrap_err();
        assert!(error.to_string().contains("leads out of the folder"), "{error}");
    }
}

#[test]
fn nothing_that_is_there_is_overwritten() {
    let folder = tempfile::tempdir().unwrap();
    let hangar = filled(folder.path());
    let out = folder.path().join("out");
    hangar.export(&out).unwrap();
    assert!(matches!(hangar.export(&out), Err(HangarError::BackupExists { .. })));
    assert!(matches!(import(&out, hangar.path()), Err(HangarError::BackupExists { .. })));
}
