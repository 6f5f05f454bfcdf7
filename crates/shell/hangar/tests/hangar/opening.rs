//! What happens when the file is not there, not ours, newer, or may not be written?

use std::fs;
use std::path::Path;

use hangar::{Hangar, HangarError};
use rusqlite::Connection;

use crate::child;

/// Version of the tables that this program makes.
fn tables_now() -> u32 {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("now.hangar");
    drop(Hangar::open(&file).unwrap());
    Connection::open(&file).unwrap().pragma_query_value(None, "user_version", |row| row.get(0)).unwrap()
}

#[test]
fn an_empty_file_and_a_missing_folder_become_a_hangar_and_open_again() {
    let folder = tempfile::tempdir().unwrap();
    let empty = folder.path().join("empty.hangar");
    fs::write(&empty, b"").unwrap();
    let deep = folder.path().join("a b/c 'd' ü/deep.hangar");
    for file in [&empty, &deep] {
        let mut hangar = Hangar::open(file).unwrap();
        assert_eq!(hangar.names().unwrap(), Vec::<String>::new());
        hangar.keep_aircraft("Merle", "format = 1\n", "", 1).unwrap();
        drop(hangar);
        let hangar = Hangar::open(file).unwrap();
        assert_eq!(hangar.aircraft("Merle").unwrap().text, "format = 1\n");
        drop(hangar);
        // One file: nothing stays beside it once it is closed.
        let name = file.file_name().unwrap().to_string_lossy().into_owned();
        let beside = fs::read_dir(file.parent().unwrap()).unwrap();
        let beside: Vec<_> = beside
            .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
            .filter(|entry| entry.starts_with(&name) && *entry != name)
            .collect();
        assert_eq!(beside, Vec::<String>::new());
    }
}

#[test]
fn the_file_waits_for_the_disk_and_carries_its_mark() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("a.hangar");
    drop(Hangar::open(&file).unwrap());
    // SQLite file format, "The Database Header": offset 18 and 19 are 2 in write-ahead mode, 68 the application id.
    let bytes = fs::read(&file).unwrap();
    assert_eq!(bytes[18..20], [2, 2]);
    assert_eq!(&bytes[68..72], b"EYAS");
    assert_eq!(bytes[60..64], tables_now().to_be_bytes());
}

#[track_caller]
fn refused_untouched(file: &Path, expected: &str) {
    let before = fs::read(file).unwrap();
    let error = Hangar::open(file).unwrap_err();
    assert!(error.to_string().contains(expected), "{error}");
    assert!(!error.what_to_do().is_empty());
    assert_eq!(fs::read(file).unwrap(), before, "the file was changed");
    let beside = fs::read_dir(file.parent().unwrap()).unwrap().count();
    assert_eq!(beside, 1, "something was left beside the file");
}

#[test]
fn files_that_are_no_hangar_are_refused_and_left_as_they_are() {
    let cases: [(&str, Vec<u8>); 4] = [
        ("text", b"format = 1\nname = \"Merle\"\n".to_vec()),
        ("one byte", vec![0]),
        ("zeros", vec![0; 8192]),
        ("a database cut off within its header", b"SQLite format 3\0\x10\x00".to_vec()),
    ];
    for (name, bytes) in cases {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join(name);
        fs::write(&file, bytes).unwrap();
        refused_untouched(&file, "is not a hangar");
    }
}

#[test]
fn another_programs_database_is_refused_and_left_as_it_is() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("other.db");
    let other = Connection::open(&file).unwrap();
    other.execute_batch("CREATE TABLE aircraft (id INTEGER PRIMARY KEY); PRAGMA user_version = 1;").unwrap();
    drop(other);
    refused_untouched(&file, "a database of another program");
}

#[test]
fn a_newer_programs_hangar_is_refused_and_left_as_it_is() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("newer.hangar");
    drop(Hangar::open(&file).unwrap());
    let newer = Connection::open(&file).unwrap();
    newer.pragma_update(None, "user_version", 77).unwrap();
    drop(newer);
    refused_untouched(&file, "its tables are version 77");
    let known = tables_now();
    assert!(matches!(Hangar::open(&file), Err(HangarError::Newer { found: 77, known: k, .. }) if k == known));
}

#[test]
fn a_newer_hangar_is_refused_even_while_its_version_stands_in_the_journal_only() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("newer.hangar");
    drop(Hangar::open(&file).unwrap());
    let newer = Connection::open(&file).unwrap();
    newer.pragma_update(None, "user_version", 77).unwrap();
    // `newer` stays open: the new version is in the write-ahead journal, not in the file.
    let before = fs::read(&file).unwrap();
    assert_eq!(before[60..64], tables_now().to_be_bytes());
    assert!(matches!(Hangar::open(&file), Err(HangarError::Newer { found: 77, .. })));
    assert_eq!(fs::read(&file).unwrap(), before);
}

#[test]
fn a_folder_is_no_hangar() {
    let folder = tempfile::tempdir().unwrap();
    let error = Hangar::open(folder.path()).unwrap_err();
    assert!(matches!(error, HangarError::NotAHangar { found: "a folder", .. }), "{error}");
}

#[test]
fn a_path_through_a_file_is_told_as_such() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("file"), b"x").unwrap();
    let error = Hangar::open(folder.path().join("file").join("a.hangar")).unwrap_err();
    assert!(matches!(error, HangarError::NoFolder { .. } | HangarError::Unreadable { .. }), "{error}");
}

/// Root may write anywhere, so the attempt is made by another user where this one is root.
#[cfg(unix)]
#[test]
fn a_folder_or_file_that_may_not_be_written_is_told_and_nothing_is_lost() {
    use std::os::unix::fs::PermissionsExt;
    use std::os::unix::process::CommandExt;

    if let Some(file) = child::file() {
        let absent = Hangar::open(file.with_file_name("absent.hangar")).unwrap_err();
        assert!(
            matches!(absent, HangarError::CannotOpen { .. } | HangarError::ReadOnly { .. }),
            "{absent:?}"
        );
        let folder = Hangar::open(file.with_file_name("deeper").join("a.hangar")).unwrap_err();
        assert!(matches!(folder, HangarError::NoFolder { .. }), "{folder:?}");
        let there = Hangar::open(&file).unwrap_err();
        assert!(matches!(there, HangarError::CannotOpen { .. } | HangarError::ReadOnly { .. }), "{there:?}");
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("a.hangar");
    Hangar::open(&file).unwrap().keep_aircraft("Merle", "text", "", 1).unwrap();
    fs::set_permissions(&file, fs::Permissions::from_mode(0o444)).unwrap();
    fs::set_permissions(folder.path(), fs::Permissions::from_mode(0o555)).unwrap();
    let mut command = child::command(
        "opening::a_folder_or_file_that_may_not_be_written_is_told_and_nothing_is_lost",
        &file,
    );
    if fs::write(folder.path().join("probe"), b"x").is_ok() {
        fs::remove_file(folder.path().join("probe")).unwrap();
        command.uid(65_534).current_dir("/");
    }
    let output = command.output().unwrap();
    fs::set_permissions(folder.path(), fs::Permissions::from_mode(0o755)).unwrap();
    fs::set_permissions(&file, fs::Permissions::from_mode(0o644)).unwrap();
    assert!(
        output.status.success(),
        "{}{}",
        String::from_utf8_lossy(&output.stdout),
        String::from_utf8_lossy(&output.stderr)
    );
    assert_eq!(Hangar::open(&file).unwrap().aircraft("Merle").unwrap().text, "text");
}

/// A hangar as the second version of the tables left it, with one flight learnt from.
fn of_version_two(file: &Path) {
    let connection = Connection::open(file).unwrap();
    connection.execute_batch(include_str!("../../src/schema/1.sql")).unwrap();
    connection.execute_batch(include_str!("../../src/schema/2.sql")).unwrap();
    connection.pragma_update(None, "user_version", 2).unwrap();
    let sum = "0".repeat(64);
    connection
        .execute_batch(&format!(
            "INSERT INTO aircraft VALUES (1, 'Plover');
             INSERT INTO revision VALUES (1, 1, 1, x'61', '{sum}', 0, '', NULL, NULL);
             INSERT INTO recording VALUES (1, 1, 1, x'', '{sum}', 0, 'a.csv', 0, '');
             INSERT INTO column_map VALUES (1, 1, 1, x'', 0);
             INSERT INTO findings VALUES (1, 1, 1, 1,
               '{{\"wind\":{{\"enough\":true}},\"trim\":{{\"enough\":false}},\"changes\":[1,2,3]}}', '{sum}', '0', 0);"
        ))
        .unwrap();
}

#[test]
fn an_older_programs_hangar_is_copied_before_its_tables_are_changed() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("older.hangar");
    of_version_two(&file);
    let hangar = Hangar::open(&file).unwrap();
    let updated = hangar.updated().unwrap().clone();
    assert_eq!(updated.from, 2);
    let flight = hangar.flights("Plover").unwrap().remove(0);
    let learned = flight.learned.unwrap();
    assert_eq!((learned.estimates, learned.enough, learned.changes), (2, 1, 3));
    // The copy is what it was: of the second version, readable by the older program.
    let copy = Connection::open(&updated.copy).unwrap();
    let version: u32 = copy.pragma_query_value(None, "user_version", |row| row.get(0)).unwrap();
    assert_eq!(version, 2);
    let name: String = copy.query_row("SELECT name FROM aircraft", [], |row| row.get(0)).unwrap();
    assert_eq!(name, "Plover");
    drop(hangar);
    assert!(Hangar::open(&file).unwrap().updated().is_none(), "the second time nothing is left to do");
}
