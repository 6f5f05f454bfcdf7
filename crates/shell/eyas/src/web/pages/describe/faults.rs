//! Which field is wrong? Faults of the file, told where the form asks for what is meant.

use aircraft::schema::Fault;

use super::asked::{label_of, offered};
use super::form::below;
use crate::tasks::amend::Sheet;

/// A fault at its place.
#[derive(Debug, Clone)]
pub(super) struct Misfit {
    /// Path of the field or of the table; empty for the file as a whole.
    pub(super) path: String,
    /// Line of the file.
    pub(super) line: usize,
    /// What is wrong and what to do.
    pub(super) words: String,
}

/// All that is wrong.
#[derive(Debug, Clone, Default)]
pub(super) struct Told {
    /// In the order of the file.
    pub(super) all: Vec<Misfit>,
}

impl Told {
    /// Sorts faults to their fields.
    pub(super) fn of(sheet: &Sheet, faults: &[Fault]) -> Self {
        let all = faults
            .iter()
            .map(|fault| {
                let path = path_of(sheet, fault);
                let words = lacking(fault, &path).unwrap_or_else(|| sentence(fault));
                Misfit { path, line: fault.line, words }
            })
            .collect();
        Self { all }
    }

    /// With something that could not even be written.
    pub(super) fn and(&mut self, path: String, words: String) {
        self.all.push(Misfit { path, line: 0, words });
    }

    /// What is wrong at a path.
    pub(super) fn at(&self, path: &str) -> Vec<&str> {
        self.all.iter().filter(|m| m.path == path && !path.is_empty()).map(|m| m.words.as_str()).collect()
    }

    /// Whether any of these keys of a table is wrong.
    pub(super) fn any_of<'k>(&self, table: &str, mut keys: impl Iterator<Item = &'k str>) -> bool {
        keys.any(|key| !self.at(&below(table, key)).is_empty())
    }

    /// Whether anything at or below a table is wrong.
    pub(super) fn any_below(&self, table: &str) -> bool {
        !table.is_empty()
            && self.all.iter().any(|m| {
                m.path.strip_prefix(table).is_some_and(|rest| rest.is_empty() || rest.starts_with('.'))
            })
    }
}

/// What is still to be measured, by the form's own name for it.
fn lacking(fault: &Fault, path: &str) -> Option<String> {
    let (title, _) = fault.problem.split_once(" lacks ")?;
    let (table, key) = path.rsplit_once('.').unwrap_or(("", path));
    let label = label_of(table, key)?;
    let remedy = crate::web::shell::capital(fault.remedy.trim_end_matches('.'));
    Some(format!(
        "{}: \u{201c}{label}\u{201d} is not given yet. {remedy}.",
        crate::web::shell::capital(title)
    ))
}

fn sentence(fault: &Fault) -> String {
    if fault.problem.ends_with("is text, not a number") {
        let typed = fault.found.trim_matches(['"', '\'']);
        return format!("\u{201c}{typed}\u{201d} is no number: write it without its unit.");
    }
    let problem = crate::web::shell::capital(&fault.problem);
    let remedy = &fault.remedy;
    if remedy.is_empty() { format!("{problem}.") } else { format!("{problem}: {}", ended(remedy)) }
}

/// Words with what ends a sentence.
pub(super) fn ended(words: &str) -> String {
    if words.ends_with(['.', '?', '!']) { words.to_owned() } else { format!("{words}.") }
}

fn path_of(sheet: &Sheet, fault: &Fault) -> String {
    let whole = fault.problem.starts_with("the file ");
    let at = if whole { String::new() } else { sheet.path_at(fault.line, fault.column) };
    match fault.problem.split_once(" lacks ") {
        Some((_, lacking)) => {
            let key = lacking.split(' ').next().unwrap_or(lacking);
            below(&at, &offered(&at, key))
        }
        None => at,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(text: &str) -> Told {
        let faults = aircraft::schema::read(text, &|_| None).unwrap_err();
        Told::of(&Sheet::open(text).unwrap(), &faults)
    }

    #[track_caller]
    fn check(from: &str, to: &str, path: &str) {
        let good = aircraft::template::template(aircraft::Layout::VTail, "A");
        let bad = good.replacen(from, to, 1);
        assert_ne!(good, bad);
        let told = told(&bad);
        assert!(!told.at(path).is_empty(), "{path}: {told:?}");
    }

    #[test]
    fn each_fault_stands_beside_its_field() {
        check("chord_mm = 210", "chord_mm = \"210 mm\"", "surface.0.station.0.chord_mm");
        check("chord_mm = 210 #", "#", "surface.0.station.0.chord_mm");
        check("chord_mm = 210", "chord_mm = 210000", "surface.0.station.0.chord_mm");
        check("mass_g = 330", "mass_g = -3", "mass.0.mass_g");
        check("kv_rpm_v = 950", "", "drive.motor.kv_rpm_v");
        check("surface = \"wing\"", "surface = \"wnig\"", "movable.0.surface");
        check("datum = \"tip of the nose, on the line of the fuselage\"", "", "datum");
        check("role = \"wing\"", "role = \"wong\"", "surface.0.role");
        // What is lacking is told by the form's own name for it.
        let told = told("format = 1\n[[mass]]\nname = \"pack\"\n");
        assert!(
            told.at("mass.0.mass_g")
                .concat()
                .contains("Mass \"pack\": \u{201c}Mass\u{201d} is not given yet. Put it on the scale")
        );
    }
}
