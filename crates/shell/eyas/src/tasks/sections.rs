//! Where do section tables come from? Those of the examples come with the program; others are computed once, which takes
//! some seconds each, and kept in the user's cache folder.
//!
//! `EYAS_CACHE` names another folder. `EYAS_SECTIONS` says how far to go: `compute` (as without it), `at-hand` (what
//! comes along or was kept; the simple section model for the rest) or `simple` (never).

use std::fs;
use std::path::PathBuf;

use aircraft::Aircraft;
use etcetera::{BaseStrategy as _, choose_base_strategy};
use indicatif::{ProgressBar, ProgressStyle};
use predict::coupled::{Needed, Tables, needed};
use predict::section_table::SectionTable;

/// Tables that come with the program, as text.
const ALONG: [&str; 3] = [
    include_str!("../../sections/naca-3410-76.txt"),
    include_str!("../../sections/naca-3409-76.txt"),
    include_str!("../../sections/naca-0008-62.txt"),
];

/// How far to go for a table.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Effort {
    /// Compute what is not there.
    Compute,
    /// Take what is there.
    AtHand,
}

/// The tables of an aircraft, and what the user should know of them. Never fails: without tables the predictions fall back
/// on the simple section model and say so.
pub(crate) fn tables(aircraft: &Aircraft, effort: Effort) -> (Tables, Vec<String>) {
    let mut tables = Tables::new();
    let effort = match std::env::var("EYAS_SECTIONS").as_deref() {
        Ok("simple") => return (tables, Vec::new()),
        Ok("at-hand") => Effort::AtHand,
        _ => effort,
    };
    let cache = Cache::of_the_user();
    let mut told = Vec::new();
    let mut to_compute = Vec::new();
    for needed in needed(aircraft) {
        match along(needed.key()).or_else(|| cache.get(needed.key())) {
            Some(table) => tables.insert(&needed.section.name, table),
            None => to_compute.push(needed),
        }
    }
    if effort == Effort::Compute && !to_compute.is_empty() {
        let bar = bar(to_compute.len());
        for needed in &to_compute {
            bar.set_message(words(needed));
            bar.set_position(0);
            let (table, _) = needed.compute(&|done, all| {
                bar.set_length(all as u64);
                bar.set_position(done as u64);
            });
            if let Err(cause) = cache.put(&table)
                && told.is_empty()
            {
                told.push(format!(
                    "Computed section tables could not be kept ({cause}); they are computed anew each time. Name a folder that may be written to with EYAS_CACHE."
                ));
            }
            tables.insert(&needed.section.name, table);
        }
        bar.finish_and_clear();
    }
    (tables, told)
}

/// Whether every table that an aircraft needs is there already, or none will be computed.
pub(crate) fn at_hand(aircraft: &Aircraft) -> bool {
    if matches!(std::env::var("EYAS_SECTIONS").as_deref(), Ok("simple" | "at-hand")) {
        return true;
    }
    let cache = Cache::of_the_user();
    needed(aircraft).iter().all(|n| along(n.key()).is_some() || cache.has(n.key()))
}

fn words(needed: &Needed) -> String {
    match needed.hinge {
        Some(hinge) => format!("section {}, hinge at {:.0} %", needed.section.name, 100.0 * hinge),
        None => format!("section {}", needed.section.name),
    }
}

/// A bar on the terminal; nothing where standard error is none.
fn bar(count: usize) -> ProgressBar {
    let bar = if std::io::IsTerminal::is_terminal(&std::io::stderr()) {
        ProgressBar::new(1)
    } else {
        ProgressBar::hidden()
    };
    let template = format!(
        "computing {count} section table{}, once: {{msg}} {{bar:24}} {{pos}} of {{len}} curves",
        if count == 1 { "" } else { "s" }
    );
    if let Ok(style) = ProgressStyle::with_template(&template) {
        bar.set_style(style);
    }
    bar
}

/// A table that comes with the program.
fn along(key: u64) -> Option<SectionTable> {
    let line = format!("key {key:016x}");
    let text = ALONG.iter().find(|text| text.lines().nth(1) == Some(line.as_str()))?;
    SectionTable::from_text(text).ok()
}

/// A folder of tables, each named by its key.
struct Cache {
    folder: Option<PathBuf>,
}

impl Cache {
    fn of_the_user() -> Self {
        let folder = match std::env::var_os("EYAS_CACHE") {
            Some(folder) => Some(PathBuf::from(folder)),
            None => choose_base_strategy().ok().map(|dirs| dirs.cache_dir().join("eyas").join("sections")),
        };
        Self { folder }
    }

    fn file(&self, key: u64) -> Option<PathBuf> {
        Some(self.folder.as_ref()?.join(format!("{key:016x}.txt")))
    }

    /// A table that was kept. What is damaged or of another method is as if it were not there.
    /// Whether a table of that key was kept; whether it reads shows when it is taken.
    fn has(&self, key: u64) -> bool {
        self.file(key).is_some_and(|file| file.is_file())
    }

    fn get(&self, key: u64) -> Option<SectionTable> {
        let text = fs::read_to_string(self.file(key)?).ok()?;
        SectionTable::from_text(&text).ok().filter(|table| table.key() == key)
    }

    /// Keeps a table, whole or not at all: to a file of our own first, then renamed, so that two programs that write the
    /// same table leave one of them.
    fn put(&self, table: &SectionTable) -> Result<(), String> {
        let file = self.file(table.key()).ok_or("this user has no home folder")?;
        let folder = file.parent().ok_or("the path names no folder")?;
        let told = |error: std::io::Error| format!("{}: {error}", folder.display());
        fs::create_dir_all(folder).map_err(told)?;
        let part = folder.join(format!(".{:016x}.{}.part", table.key(), std::process::id()));
        let done = fs::write(&part, table.to_text()).and_then(|()| fs::rename(&part, &file));
        done.map_err(|error| {
            // Half-written and of no use to anybody.
            let _ = fs::remove_file(&part);
            told(error)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use predict::section_table::{Curve, Doubt, Origin, SectionPoint};

    fn table(key: u64) -> SectionTable {
        let point = |alpha: f64| {
            let doubt = Doubt { cl_sd: 0.05, cd_sd: 0.002 };
            let point = SectionPoint {
                cl: 6.0 * alpha,
                cd: 0.01,
                cm: 0.0,
                top_transition: 0.5,
                bottom_transition: 0.5,
                doubt,
                from: Origin::Converged,
            };
            (alpha, point)
        };
        let curve = Curve { points: [-0.2, 0.0, 0.2].map(point).to_vec() };
        SectionTable::new(key, "plain", None, vec![1e5], vec![0.0], vec![curve]).unwrap()
    }

    #[test]
    fn a_kept_table_comes_back_and_a_damaged_or_foreign_one_does_not() {
        let folder = tempfile::tempdir().unwrap();
        let cache = Cache { folder: Some(folder.path().join("new").join("sections")) };
        assert!(cache.get(7).is_none());
        cache.put(&table(7)).unwrap();
        assert_eq!(cache.get(7).unwrap(), table(7));
        // Cut off, of another key, no table at all: each is written anew.
        let file = cache.file(7).unwrap();
        let whole = fs::read_to_string(&file).unwrap();
        for bad in [&whole[..whole.len() / 2], &table(8).to_text(), "", "\u{fffd}"] {
            fs::write(&file, bad).unwrap();
            assert!(cache.get(7).is_none(), "{bad}");
            cache.put(&table(7)).unwrap();
            assert_eq!(cache.get(7).unwrap(), table(7));
        }
        assert_eq!(fs::read_dir(file.parent().unwrap()).unwrap().count(), 1, "no part file is left");
    }

    #[test]
    fn a_folder_that_cannot_be_written_is_told_and_no_failure() {
        let folder = tempfile::tempdir().unwrap();
        // A file where the folder should be: that fails for every user.
        let file = folder.path().join("file");
        fs::write(&file, "").unwrap();
        let cache = Cache { folder: Some(file.join("sections")) };
        assert!(cache.put(&table(1)).unwrap_err().contains("file"));
        assert!(cache.get(1).is_none() && Cache { folder: None }.put(&table(1)).is_err());
    }

    #[test]
    fn many_writers_leave_one_whole_table() {
        let folder = tempfile::tempdir().unwrap();
        std::thread::scope(|scope| {
            for _ in 0..4 {
                scope.spawn(|| {
                    let cache = Cache { folder: Some(folder.path().to_path_buf()) };
                    for _ in 0..10 {
                        // Threads of one process share the name of the part file; one of them may find it renamed.
                        let _ = cache.put(&table(3));
                        if let Some(read) = cache.get(3) {
                            assert_eq!(read, table(3));
                        }
                    }
                });
            }
        });
        let cache = Cache { folder: Some(folder.path().to_path_buf()) };
        assert_eq!(cache.get(3).unwrap(), table(3));
    }

    #[test]
    fn the_tables_of_the_demo_come_with_the_program() {
        let text = include_str!("../../../../../examples/wheatear.toml");
        let aircraft = aircraft::schema::read(text, &|_| None).unwrap();
        let needed = needed(&aircraft);
        assert_eq!(needed.len(), ALONG.len());
        for one in needed {
            assert!(
                along(one.key()).is_some(),
                "the section method has changed: run `EYAS_CACHE=DIR eyas predict examples/wheatear.toml` with a release build, and put the files of DIR in the place of those in crates/shell/eyas/sections (here {})",
                words(&one)
            );
        }
    }
}
