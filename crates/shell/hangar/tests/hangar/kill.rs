//! Is a thing that was reported as kept still there when the program is killed at any moment?

use std::io::{BufRead, BufReader};
use std::time::Duration;

use hangar::Hangar;

use crate::child;

const KILLS: u32 = 500;

/// The whole file is compared with its checksums after so many kills; the structure and what was just kept after each.
const EXAMINED_EACH: u32 = 20;

/// Longest wait before the kill once the child has begun to keep things, µs: some tens of things.
const LONGEST_WAIT_US: u64 = 20_000;

#[test]
fn whatever_was_kept_before_a_kill_is_there_after_it() {
    if let Some(file) = child::file() {
        let first: u32 = std::env::var("HANGAR_TEST_FIRST").unwrap().parse().unwrap();
        child::keep(&file, 0, first..u32::MAX);
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("a.hangar");
    let mut kept = Vec::new();
    let mut state: u64 = u64::from(std::process::id());
    for kill in 0..KILLS {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        let wait = Duration::from_micros((state >> 33) % LONGEST_WAIT_US);
        let mut process = child::command("kill::whatever_was_kept_before_a_kill_is_there_after_it", &file)
            .env("HANGAR_TEST_FIRST", (1 + kill * 100_000).to_string())
            .spawn()
            .unwrap();
        let mut lines = BufReader::new(process.stdout.take().unwrap()).lines();
        // The first kills come while the file is being made, the others after the first thing kept.
        let mut said = Vec::new();
        if kill >= 4 {
            said.extend(lines.by_ref().map(Result::unwrap).find(|line| child::parse(line).is_some()));
        }
        std::thread::sleep(wait);
        // `kill` of the standard library sends SIGKILL on Unix: the child cannot tidy up.
        process.kill().unwrap();
        let status = process.wait().unwrap();
        assert!(!status.success(), "the child ended by itself before it was killed");
        said.extend(lines.map_while(Result::ok));
        let before = kept.len();
        kept.extend(said.iter().filter_map(|line| child::parse(line)));
        assert!(kill < 4 || kept.len() > before, "kill {kill} came before anything was kept: {said:?}");

        let hangar = Hangar::open(&file).unwrap();
        for kept in &kept[before..] {
            child::require(&hangar, 0, kept);
        }
        if kill % EXAMINED_EACH == 0 {
            assert_eq!(hangar.examine().unwrap(), [], "after kill {kill}");
        }
    }
    let hangar = Hangar::open(&file).unwrap();
    assert_eq!(hangar.examine().unwrap(), []);
    for kept in &kept {
        child::require(&hangar, 0, kept);
    }
    assert!(kept.len() > KILLS as usize, "too little was kept to mean anything: {}", kept.len());
}
