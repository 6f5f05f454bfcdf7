//! How is an adoption taken back? The older text is kept once more as the newest; nothing in between is lost.

use hangar::Revision;

use crate::cli::{Common, now_ms};
use crate::files;
use crate::tasks::fetch::Fetched;
use crate::tasks::{fetch, keep};
use crate::tell::{Kind, Trouble};

/// What was taken back to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Back {
    /// Number of the revision that is in force again.
    pub(crate) number: u32,
    /// Whether that changed anything.
    pub(crate) changed: bool,
}

/// Puts the text of an older revision in force again: the one with `number`, or the one before the newest adoption.
/// What is in force now is kept first, so that nothing is lost.
pub(crate) fn go_back(fetched: &Fetched, number: Option<u32>, common: &Common) -> Result<Back, Trouble> {
    let name = &fetched.aircraft.name;
    let asked = || format!("\"{name}\" was not taken back");
    let Some(mut hangar) = keep::open_existing(common)? else {
        return Err(Trouble::new(
            Kind::No,
            asked(),
            "there is no hangar, so that no earlier text is kept",
            "edit the file by hand",
        ));
    };
    let revisions = hangar.revisions(name).map_err(keep::trouble)?;
    let target = match number {
        Some(number) => number,
        None => before_adoption(&revisions).ok_or_else(|| {
            Trouble::new(
                Kind::No,
                asked(),
                "no findings were adopted by it, as far as the hangar knows",
                "name the revision to go back to: `eyas flights NAME` lists them, `eyas adopt NAME --undo 3` takes one",
            )
        })?,
    };
    let at = now_ms();
    let older = hangar.revision(name, target).map_err(keep::trouble)?;
    let files = hangar.section_files(older.id).map_err(keep::trouble)?;
    fetch::kept_text(&older.text, &format!("revision {target}"), &files)?;
    let note = format!("taken back to revision {target}");
    let changed = older.text != fetched.text;
    if changed {
        fetch::unchanged(fetched, common)?;
        hangar.keep_aircraft(name, fetched.kept(), "before going back", at).map_err(keep::trouble)?;
        if let Some(path) = &fetched.path {
            files::write_whole(path, older.text.as_bytes())?;
        }
        hangar.go_back(name, target, &note, at).map_err(keep::trouble)?;
    }
    Ok(Back { number: target, changed })
}

/// The revision that the newest adoption was made from.
pub(crate) fn before_adoption(revisions: &[Revision]) -> Option<u32> {
    newest_adoption(revisions).and_then(|r| r.parent)
}

/// The newest revision that took over findings.
pub(crate) fn newest_adoption(revisions: &[Revision]) -> Option<&Revision> {
    revisions.iter().rev().find(|r| r.from_findings.is_some() || r.note.starts_with("adopted from"))
}

/// Whether the text of a revision was taken back since, to one before it.
pub(crate) fn taken_back(revisions: &[Revision], number: u32) -> bool {
    revisions.iter().any(|r| {
        r.number > number
            && r.note.starts_with("taken back to revision")
            && r.parent.is_some_and(|parent| parent < number)
    })
}

#[cfg(test)]
mod tests {
    use hangar::RevisionId;

    use super::*;

    fn revision(number: u32, note: &str, parent: Option<u32>) -> Revision {
        Revision {
            id: RevisionId(i64::from(number)),
            aircraft: "Plover".into(),
            number,
            text: String::new(),
            sha256: String::new(),
            at_ms: 0,
            note: note.into(),
            from_findings: None,
            parent,
        }
    }

    #[test]
    fn an_adoption_is_taken_back_by_going_to_a_text_before_it() {
        let mut all = vec![revision(1, "as flown", None), revision(2, "adopted from a.csv", Some(1))];
        assert_eq!((before_adoption(&all), taken_back(&all, 2)), (Some(1), false));
        all.push(revision(3, "taken back to revision 1", Some(1)));
        assert!(taken_back(&all, 2));
        // Adopted anew: that one stands.
        all.push(revision(4, "adopted from a.csv", Some(3)));
        assert_eq!((before_adoption(&all), taken_back(&all, 4)), (Some(3), false));
    }
}
