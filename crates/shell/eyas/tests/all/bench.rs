//! A folder of its own for each test, and the program run in it.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use serde_json::Value;
use tempfile::TempDir;

/// A folder with a hangar path of its own.
pub(crate) struct Bench {
    folder: TempDir,
}

impl Bench {
    pub(crate) fn new() -> Self {
        Self { folder: TempDir::new().unwrap() }
    }

    /// How many pages a PDF here has.
    pub(crate) fn pages(&self, name: &str) -> usize {
        let pdf = std::fs::read(self.path(name)).unwrap();
        pdf.windows(11).filter(|w| w.starts_with(b"/Type/Page/")).count()
    }

    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    pub(crate) fn write(&self, name: &str, bytes: impl AsRef<[u8]>) -> PathBuf {
        let path = self.path(name);
        std::fs::write(&path, bytes).unwrap();
        path
    }

    pub(crate) fn read(&self, name: &str) -> String {
        std::fs::read_to_string(self.path(name)).unwrap()
    }

    /// Runs `eyas` in the folder, with its hangar there, and nothing of the caller's environment but the search path.
    pub(crate) fn run(&self, arguments: &[&str]) -> Run {
        let output = Command::new(env!("CARGO_BIN_EXE_eyas"))
            .args(arguments)
            .arg("--hangar")
            .arg(self.path("hangar.db"))
            .current_dir(self.folder.path())
            .env_clear()
            .env("PATH", std::env::var_os("PATH").unwrap_or_default())
            .env("HOME", self.folder.path())
            // Tables that come with the program, and none computed: that takes seconds each.
            .env("EYAS_SECTIONS", "at-hand")
            .env("TZ", "UTC")
            .stdin(std::process::Stdio::null())
            .output()
            .unwrap();
        Run { arguments: arguments.iter().map(|a| (*a).to_owned()).collect(), output }
    }

    /// What the hangar's files hold, byte for byte.
    pub(crate) fn hangar_bytes(&self) -> Vec<Vec<u8>> {
        ["hangar.db", "hangar.db-wal"]
            .iter()
            .map(|f| std::fs::read(self.path(f)).unwrap_or_default())
            .collect()
    }
}

/// One run of the program.
pub(crate) struct Run {
    arguments: Vec<String>,
    output: Output,
}

impl Run {
    #[track_caller]
    pub(crate) fn expect_status(self, status: i32) -> Self {
        assert_eq!(
            self.output.status.code(),
            Some(status),
            "{:?}\n--- stdout\n{}\n--- stderr\n{}",
            self.arguments,
            self.out(),
            self.err()
        );
        self
    }

    pub(crate) fn out(&self) -> String {
        String::from_utf8(self.output.stdout.clone()).unwrap()
    }

    pub(crate) fn err(&self) -> String {
        String::from_utf8(self.output.stderr.clone()).unwrap()
    }

    /// Standard output as the one document it must be.
    #[track_caller]
    pub(crate) fn json(&self) -> Value {
        serde_json::from_str(&self.out())
            .unwrap_or_else(|e| panic!("{e}: {:?}: {}", self.arguments, self.out()))
    }

    #[track_caller]
    pub(crate) fn expect_err(&self, words: &[&str]) {
        for word in words {
            assert!(self.err().contains(word), "\"{word}\" is not in: {}", self.err());
        }
    }
}

/// A file of the examples.
pub(crate) fn example(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../examples").join(name);
    std::fs::read_to_string(path).unwrap()
}
