//! What is to be mended, and what kept the check from looking?

use std::fmt;
use std::io;
use std::path::PathBuf;

/// A rule that is not kept: where, and what to do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Flaw {
    /// File or folder, from the top of the tree.
    pub(crate) place: String,
    /// What is wrong and what would be right.
    pub(crate) what: String,
}

impl Flaw {
    pub(crate) fn new(place: impl Into<String>, what: impl Into<String>) -> Self {
        Self { place: place.into(), what: what.into() }
    }
}

impl fmt::Display for Flaw {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.place, self.what)
    }
}

/// Why a check could not look at all.
#[derive(Debug)]
pub(crate) enum Trouble {
    /// A file or folder could not be read.
    Unreadable {
        /// Which.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// A file that should be TOML is not.
    NotToml {
        /// Which.
        path: PathBuf,
        /// Where and why.
        cause: String,
    },
    /// A program could not be started.
    NotStarted {
        /// Which.
        program: PathBuf,
        /// What the system said.
        source: io::Error,
    },
}

impl fmt::Display for Trouble {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unreadable { path, source } => write!(f, "{} could not be read: {source}", path.display()),
            Self::NotStarted { program, source } => {
                write!(f, "{} could not be started: {source}", program.display())
            }
            Self::NotToml { path, cause } => write!(f, "{} is not TOML: {cause}", path.display()),
        }
    }
}
