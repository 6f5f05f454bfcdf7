//! How does an edited text become the newest revision of an aircraft, if nobody was faster?

use std::sync::{Mutex, PoisonError};

use aircraft::Aircraft;
use aircraft::schema::{self, Fault};
use hangar::{AircraftText, HangarError, Revision, SectionFile};

use crate::cli::Common;
use crate::tasks::keep;
use crate::tell::{Kind, Trouble};

/// The revision in force, with its coordinate files; its text may have faults.
#[derive(Debug, Clone)]
pub(crate) struct Current {
    /// The revision.
    pub(crate) revision: Revision,
    /// Its coordinate files.
    pub(crate) section_files: Vec<SectionFile>,
}

/// What came of keeping.
#[derive(Debug)]
pub(crate) enum Outcome {
    /// Kept, or the same as what is in force.
    Kept(Revision),
    /// Not kept: the text has faults.
    Faulty(Vec<Fault>),
    /// Not kept: somebody else kept a revision since.
    Overtaken(Box<Current>),
    /// Not kept: the text names another aircraft.
    Renamed(String),
}

/// An edited text and what it was made from.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Edited<'a> {
    /// Aircraft, by the hangar's name.
    pub(crate) name: &'a str,
    /// Number of the revision that it was made from.
    pub(crate) base: u32,
    /// The text.
    pub(crate) text: &'a str,
    /// Its coordinate files.
    pub(crate) section_files: &'a [SectionFile],
    /// Why, in the user's words.
    pub(crate) note: &'a str,
    /// Now, ms since the epoch.
    pub(crate) at_ms: i64,
}

/// One of this program's pages at a time looks what is in force and keeps what follows it.
static ONE_AT_A_TIME: Mutex<()> = Mutex::new(());

/// The revision in force, whether or not it reads.
pub(crate) fn current(common: &Common, name: &str) -> Result<Current, Trouble> {
    let missing = || {
        Trouble::new(
            Kind::Missing,
            format!("there is no aircraft \"{name}\""),
            "the hangar keeps none of that name",
            "go to the hangar's page and choose one, or describe a new one",
        )
    };
    let Some(hangar) = keep::open_existing(common)? else { return Err(missing()) };
    let revision = match hangar.aircraft(name) {
        Ok(revision) => revision,
        Err(HangarError::NoAircraft { .. } | HangarError::BadName { .. }) => return Err(missing()),
        Err(error) => return Err(keep::trouble(error)),
    };
    let section_files = hangar.section_files(revision.id).map_err(keep::trouble)?;
    Ok(Current { revision, section_files })
}

/// Reads a text with coordinate files.
///
/// # Errors
/// With everything that is wrong in it.
pub(crate) fn read(text: &str, files: &[SectionFile]) -> Result<Aircraft, Vec<Fault>> {
    schema::read(text, &|name| files.iter().find(|f| f.name == name).map(|f| f.text.clone()))
}

/// Keeps an edited text as the newest revision, unless it has faults or somebody was faster.
pub(crate) fn keep_edited(common: &Common, edited: &Edited<'_>) -> Result<Outcome, Trouble> {
    let aircraft = match read(edited.text, edited.section_files) {
        Ok(aircraft) => aircraft,
        Err(faults) => return Ok(Outcome::Faulty(faults)),
    };
    if aircraft.name != edited.name {
        return Ok(Outcome::Renamed(aircraft.name));
    }
    let _turn = ONE_AT_A_TIME.lock().unwrap_or_else(PoisonError::into_inner);
    let now = current(common, edited.name)?;
    if now.revision.number != edited.base {
        return Ok(Outcome::Overtaken(Box::new(now)));
    }
    let text = AircraftText { text: edited.text, section_files: edited.section_files };
    keep::open(common)?
        .keep_aircraft(edited.name, text, edited.note, edited.at_ms)
        .map(Outcome::Kept)
        .map_err(keep::trouble)
}

/// Keeps the first revision of a new aircraft under the name that its text gives.
///
/// # Errors
/// When the text has faults, or the hangar keeps an aircraft of that name already.
pub(crate) fn keep_new(
    common: &Common,
    text: &str,
    files: &[SectionFile],
    note: &str,
    at_ms: i64,
) -> Result<String, Trouble> {
    let aircraft =
        read(text, files).map_err(|faults| crate::tasks::fetch::faults_trouble("the file", text, &faults))?;
    let name = aircraft.name;
    let _turn = ONE_AT_A_TIME.lock().unwrap_or_else(PoisonError::into_inner);
    let mut hangar = keep::open(common)?;
    let names = hangar.names().map_err(keep::trouble)?;
    if let Some(taken) = names.iter().find(|n| n.to_lowercase() == name.to_lowercase()) {
        return Err(Trouble::new(
            Kind::Conflict,
            format!("\"{name}\" was not added"),
            format!("the hangar keeps an aircraft \"{taken}\" already; nothing of it was changed"),
            "choose another name, or open that aircraft and describe it there",
        ));
    }
    hangar
        .keep_aircraft(&name, AircraftText { text, section_files: files }, note, at_ms)
        .map_err(keep::trouble)?;
    Ok(name)
}

#[cfg(test)]
mod tests {
    use super::*;
    use aircraft::Layout;
    use aircraft::template::template;

    #[test]
    fn who_comes_second_is_told_and_nothing_is_lost() {
        let folder = tempfile::tempdir().unwrap();
        let common = Common { hangar: Some(folder.path().join("h.db")), json: false };
        let text = template(Layout::Conventional, "A");
        assert_eq!(keep_new(&common, &text, &[], "", 1).unwrap(), "A");
        // The same name again, whatever its letters.
        let again = template(Layout::Canard, "a");
        assert_eq!(keep_new(&common, &again, &[], "", 2).unwrap_err().kind(), Kind::Conflict);
        let edited = |base, text| Edited { name: "A", base, text, section_files: &[], note: "", at_ms: 3 };
        let heavier = text.replacen("mass_g = 320", "mass_g = 330", 1);
        assert_ne!(heavier, text);
        assert!(matches!(keep_edited(&common, &edited(1, &heavier)), Ok(Outcome::Kept(r)) if r.number == 2));
        let theirs = keep_edited(&common, &edited(1, &text)).unwrap();
        assert!(matches!(theirs, Outcome::Overtaken(now) if now.revision.text == heavier));
        let faulty = text.replacen("chord_mm", "chrd_mm", 1);
        assert!(matches!(keep_edited(&common, &edited(2, &faulty)), Ok(Outcome::Faulty(f)) if !f.is_empty()));
        let renamed = template(Layout::Conventional, "B");
        assert!(matches!(keep_edited(&common, &edited(2, &renamed)), Ok(Outcome::Renamed(n)) if n == "B"));
        assert_eq!(current(&common, "A").unwrap().revision.number, 2);
        assert_eq!(current(&common, "C").unwrap_err().kind(), Kind::Missing);
    }
}
