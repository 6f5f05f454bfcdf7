//! How is trouble told? The one place that maps a kind of failure to its exit status and its three sentences:
//! what was asked, what it was caused by, what to do.

use std::fmt::Write as _;

use serde_json::{Value, json};

/// Exit status of an internal fault.
pub(crate) const INTERNAL: u8 = 70;

/// Kind of failure, as the exit status tells it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Kind {
    /// The answer is no: a file with errors, a finding that does not hold.
    No,
    /// Wrong usage or unreadable input.
    Input,
    /// What was asked for is not there.
    Missing,
    /// Somebody else changed it meanwhile.
    Conflict,
    /// More than is taken at once.
    TooLarge,
    /// A fault of the program.
    Fault,
}

/// A failure on its way to the person who asked.
#[derive(Debug, Clone)]
pub(crate) struct Trouble {
    kind: Kind,
    asked: String,
    causes: Vec<String>,
    remedy: String,
}

impl Trouble {
    /// Trouble with one cause.
    pub(crate) fn new(
        kind: Kind,
        asked: impl Into<String>,
        cause: impl Into<String>,
        remedy: impl Into<String>,
    ) -> Self {
        Self { kind, asked: asked.into(), causes: vec![cause.into()], remedy: remedy.into() }
    }

    /// Trouble with several causes, all told.
    pub(crate) fn many(
        kind: Kind,
        asked: impl Into<String>,
        causes: Vec<String>,
        remedy: impl Into<String>,
    ) -> Self {
        Self { kind, asked: asked.into(), causes, remedy: remedy.into() }
    }

    /// Exit status.
    pub(crate) fn exit_status(&self) -> u8 {
        match self.kind {
            Kind::No | Kind::Conflict => 1,
            Kind::Input | Kind::Missing | Kind::TooLarge => 2,
            Kind::Fault => INTERNAL,
        }
    }

    /// Kind of failure.
    pub(crate) fn kind(&self) -> Kind {
        self.kind
    }

    /// What could not be done.
    pub(crate) fn asked(&self) -> &str {
        &self.asked
    }

    /// What it was caused by.
    pub(crate) fn causes(&self) -> &[String] {
        &self.causes
    }

    /// What to do.
    pub(crate) fn remedy(&self) -> &str {
        &self.remedy
    }

    /// For a person at the terminal.
    pub(crate) fn text(&self) -> String {
        let mut out = format!("{}\n", self.asked);
        for cause in &self.causes {
            for (i, line) in cause.lines().enumerate() {
                let _ = writeln!(out, "{}{line}", if i == 0 { "  - " } else { "    " });
            }
        }
        if !self.remedy.is_empty() {
            let _ = writeln!(out, "What to do: {}", self.remedy);
        }
        out
    }

    /// For a script.
    pub(crate) fn json(&self) -> Value {
        json!({"error": {"asked": self.asked, "causes": self.causes, "remedy": self.remedy}})
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn trouble_says_what_was_asked_why_not_and_what_to_do() {
        let trouble = Trouble::new(Kind::Input, "a.toml could not be read", "no such file", "check the path");
        assert_eq!(trouble.exit_status(), 2);
        assert_eq!(
            trouble.text(),
            "a.toml could not be read\n  - no such file\nWhat to do: check the path\n"
        );
    }
}
