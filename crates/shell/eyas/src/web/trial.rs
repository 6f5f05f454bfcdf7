//! What do the tests of the pages start from? A hangar of their own that keeps the example aircraft, and a browser that asks
//! for nothing special.

use std::sync::Arc;

use tempfile::TempDir;

use crate::cli::Common;
use crate::tasks::fetch::{self, Fetched};
use crate::tasks::keep;
use crate::web::app::App;
use crate::web::ask::{Ask, Theme, Units};

/// The aircraft of the demo.
const EXAMPLE: &str = include_str!("../../../../../examples/wheatear.toml");

impl App {
    /// Pages of a hangar that keeps the aircraft of the demo; gone with its folder.
    pub(crate) fn of_example() -> (TempDir, Arc<Self>) {
        let folder = tempfile::tempdir().unwrap();
        let common = Common { hangar: Some(folder.path().join("hangar.db")), json: false };
        let aircraft = fetch::kept_text(EXAMPLE, "Wheatear", &[]).unwrap();
        let name = aircraft.name.clone();
        let fetched = Fetched { aircraft, text: EXAMPLE.to_owned(), section_files: Vec::new(), path: None };
        keep::open(&common).unwrap().keep_aircraft(&name, fetched.kept(), "as described", 0).unwrap();
        (folder, Arc::new(Self::new(common, None, Vec::new(), 0)))
    }
}

impl Ask {
    /// A browser's first request, as it comes without any cookie but the form's key.
    pub(crate) fn plain() -> Self {
        Self {
            theme: Theme::Auto,
            units: Units::Metric,
            form_key: "0123456789abcdef0123456789abcdef".to_owned(),
            new_key: false,
            said: None,
            path: "/".to_owned(),
            part: false,
            gzip: false,
        }
    }
}
