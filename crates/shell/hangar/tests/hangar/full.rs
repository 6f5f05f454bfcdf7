//! Is a disk that takes no more told, and is what was kept before still there?
#![cfg(unix)]

use std::process::{Command, Stdio};

use hangar::Hangar;

use crate::child;

/// Largest file that the child may write, in blocks of 512 bytes as POSIX `ulimit -f` counts them.
const BLOCKS: u32 = 1200;

#[test]
fn a_disk_that_takes_no_more_is_told_and_nothing_kept_before_is_lost() {
    if let Some(file) = child::file() {
        child::keep(&file, 0, 1..10_000);
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("a.hangar");
    // A limit on the size of files, its signal ignored, makes each further write fail as on a full disk.
    let mut command = Command::new("sh");
    command
        .args(["-c", "trap '' XFSZ; ulimit -f \"$0\"; exec \"$@\"", &BLOCKS.to_string()])
        .arg(std::env::current_exe().unwrap())
        .args(["full::a_disk_that_takes_no_more_is_told_and_nothing_kept_before_is_lost"])
        .args(["--exact", "--nocapture", "--test-threads=1"])
        .env("HANGAR_TEST_CHILD", &file)
        .stdin(Stdio::null());
    let output = command.output().unwrap();
    assert!(!output.status.success(), "the child was to run out of room");
    let said = String::from_utf8_lossy(&output.stdout);
    let kept: Vec<_> = said.lines().filter_map(child::parse).collect();
    assert!(kept.len() > child::KINDS, "too little was kept to mean anything: {}", kept.len());
    // The program was told by an error that names the file, and did not die of a signal.
    let trouble = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.code().is_some(), "{:?}", output.status);
    assert!(trouble.contains("a.hangar") || said.contains("a.hangar"), "{trouble}\n{said}");
    let hangar = Hangar::open(&file).unwrap();
    assert_eq!(hangar.examine().unwrap(), []);
    for kept in &kept {
        child::require(&hangar, 0, kept);
    }
}
