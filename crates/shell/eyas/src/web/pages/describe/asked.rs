//! What does the form ask for? Every key of an aircraft file that a ruler, a scale, a data sheet or the builder's mind can
//! answer, with its unit and how to come by it.

mod lifting;
mod rest;

use aircraft::schema::units::Quantity;

use lifting::{LINKAGE, MOVABLE, SERVO, STATION, SURFACE};
use rest::{
    BENCH, BODY, BODY_STATION, CARE, CONTROLLER, DRAG, DRIVE, FLOWN, GAINS, HUB, LIMITS, MASS, MOTOR, PACK,
    PROPELLER, SCALES, START, SWING, SWITCH, WEIGHED, WHOLE,
};

use crate::tasks::amend::{As, Sheet};

/// How a value is asked for.
#[derive(Debug, Clone, Copy)]
pub(super) enum Answer {
    /// A number with a unit: its kind, and the unit that is offered where none is written yet.
    Measure(Quantity, &'static str),
    /// A whole number.
    Whole,
    /// Words.
    Words,
    /// Yes or no.
    YesNo,
    /// One of these.
    OneOf(&'static [&'static str]),
}

/// When a value is asked for.
#[derive(Debug, Clone, Copy)]
pub(super) enum When {
    /// Always.
    Always,
    /// Where it is written already; else behind "more".
    More,
    /// Unless one of these is written, which says the same another way; then only where it is written itself.
    Unless(&'static [&'static str]),
    /// Only where it is written: another way of saying what is asked for.
    Written,
}

/// A value that is asked for.
#[derive(Debug, Clone, Copy)]
pub(super) struct Entry {
    /// Its key without the unit.
    pub(super) key: &'static str,
    /// How it is asked for.
    pub(super) answer: Answer,
    /// What it is.
    pub(super) label: &'static str,
    /// How to come by it.
    pub(super) help: &'static str,
    /// When it is asked for.
    pub(super) when: When,
}

impl Entry {
    const fn more(self) -> Self {
        Self { when: When::More, ..self }
    }

    const fn unless(self, others: &'static [&'static str]) -> Self {
        Self { when: When::Unless(others), ..self }
    }

    const fn written(self) -> Self {
        Self { when: When::Written, ..self }
    }

    /// The keys it may stand under.
    fn keys(&self) -> Vec<String> {
        match self.answer {
            Answer::Measure(quantity, offered) => {
                let mut units: Vec<_> = quantity.units().to_vec();
                units.sort_by_key(|u| u.suffix != offered);
                units.iter().map(|u| u.key(self.key)).collect()
            }
            _ => vec![self.key.to_owned()],
        }
    }

    /// The key that it stands under in a table, or would; and whether it is there.
    pub(super) fn key_in(&self, present: &[String]) -> (String, bool) {
        let keys = self.keys();
        match keys.iter().find(|k| present.contains(k)) {
            Some(key) => (key.clone(), true),
            None => (keys.into_iter().next().unwrap_or_else(|| self.key.to_owned()), false),
        }
    }

    /// The unit of such a key, as people write it.
    pub(super) fn unit_of(&self, key: &str) -> String {
        let suffix = key.strip_prefix(self.key).unwrap_or_default().trim_start_matches('_');
        unit_word(suffix)
    }

    /// How a typed value is written.
    pub(super) fn kind(&self) -> As {
        match self.answer {
            Answer::Measure(..) | Answer::Whole => As::Number,
            Answer::Words | Answer::OneOf(_) => As::Text,
            Answer::YesNo => As::Flag,
        }
    }
}

/// A unit as people write it.
pub(super) fn unit_word(suffix: &str) -> String {
    match suffix {
        "percent" => "%".into(),
        "deg" => "°".into(),
        "deg_s" => "°/s".into(),
        "m_s" => "m/s".into(),
        "km_h" => "km/h".into(),
        "ft_s" => "ft/s".into(),
        "us" => "µs".into(),
        "ohm" => "Ω".into(),
        "mohm" => "mΩ".into(),
        "rpm_v" => "rpm/V".into(),
        "kg_m2" => "kg m²".into(),
        "g_m2" => "g m²".into(),
        "kg_cm2" => "kg cm²".into(),
        "cm2" => "cm²".into(),
        "mm2" => "mm²".into(),
        "dm2" => "dm²".into(),
        "m2" => "m²".into(),
        "in2" => "in²".into(),
        "mah" => "mAh".into(),
        "ah" => "Ah".into(),
        "a" => "A".into(),
        "ma" => "mA".into(),
        "v" => "V".into(),
        "mv" => "mV".into(),
        "n" => "N".into(),
        "nm" => "N m".into(),
        "n_cm" => "N cm".into(),
        "kg_cm" => "kg cm".into(),
        "oz_in" => "oz in".into(),
        "hz" => "Hz".into(),
        "khz" => "kHz".into(),
        "s2" => "s²".into(),
        "ms2" => "ms²".into(),
        "per_s" => "1/s".into(),
        "s_per_60deg" => "s for 60°".into(),
        other => other.replace('_', " "),
    }
}

/// What a table is asked; nothing for one that the form does not know.
pub(super) fn entries_of(table: &str) -> &'static [Entry] {
    let names: Vec<&str> =
        table.split('.').filter(|p| !p.is_empty() && p.parse::<usize>().is_err()).collect();
    match names.as_slice() {
        [] => WHOLE,
        ["surface"] => SURFACE,
        ["surface", "station"] => STATION,
        ["movable"] => MOVABLE,
        ["movable", "servo" | "servo_left"] => SERVO,
        ["movable", "linkage"] => LINKAGE,
        ["mass"] => MASS,
        ["weighed"] => WEIGHED,
        ["weighed", "scales"] => SCALES,
        ["weighed", "swing_roll" | "swing_pitch" | "swing_yaw"] => SWING,
        ["drive"] => DRIVE,
        ["drive", "propeller"] => PROPELLER,
        ["drive", "motor"] => MOTOR,
        ["drive", "pack"] => PACK,
        ["drive", "hub"] => HUB,
        ["drive", "bench"] => BENCH,
        ["fuselage"] => BODY,
        ["fuselage", "station"] => BODY_STATION,
        ["drag"] => DRAG,
        ["controller"] => CONTROLLER,
        ["controller", "gains", _] => GAINS,
        ["controller", "switch"] => SWITCH,
        ["start"] => START,
        ["limits"] => LIMITS,
        ["care"] => CARE,
        ["flown"] => FLOWN,
        _ => &[],
    }
}

/// The key under which the form offers what a table lacks, where the lack is told by another unit's key.
pub(super) fn offered(table: &str, lacking: &str) -> String {
    entries_of(table)
        .iter()
        .map(Entry::keys)
        .find(|keys| keys.iter().any(|k| k == lacking))
        .and_then(|keys| keys.into_iter().next())
        .unwrap_or_else(|| lacking.to_owned())
}

/// What a table is asked, sorted by where it is shown.
pub(super) struct Asked {
    /// Shown at once: what is asked, and its key.
    pub(super) now: Vec<(&'static Entry, String)>,
    /// Behind "more".
    pub(super) more: Vec<(&'static Entry, String)>,
    /// Keys that the file has and nobody asks for.
    pub(super) others: Vec<String>,
}

/// Sorts what a table is asked.
pub(super) fn asked(sheet: &Sheet, table: &str) -> Asked {
    let entries = entries_of(table);
    let present = sheet.keys(table);
    let mut asked = Asked { now: Vec::new(), more: Vec::new(), others: Vec::new() };
    let written: Vec<(&'static Entry, String, bool)> = entries
        .iter()
        .map(|e| {
            let (key, there) = e.key_in(&present);
            (e, key, there)
        })
        .collect();
    for (entry, key, there) in &written {
        let shown = *there
            || match entry.when {
                When::Always => true,
                When::More | When::Written => false,
                When::Unless(others) => {
                    !written.iter().any(|(o, _, o_there)| *o_there && others.contains(&o.key))
                }
            };
        match (shown, entry.when) {
            (true, _) => asked.now.push((entry, key.clone())),
            (false, When::More) => asked.more.push((entry, key.clone())),
            (false, _) => {}
        }
    }
    asked.others =
        present.into_iter().filter(|k| !written.iter().any(|(_, key, there)| *there && key == k)).collect();
    asked
}

/// What the form calls a key of a table.
pub(super) fn label_of(table: &str, key: &str) -> Option<&'static str> {
    entries_of(table).iter().find(|e| e.keys().iter().any(|k| k == key)).map(|e| e.label)
}

/// Path of the first field of a table.
pub(super) fn first_field(sheet: &Sheet, table: &str) -> Option<String> {
    asked(sheet, table).now.into_iter().next().map(|(_, key)| super::form::below(table, &key))
}

const fn measure(
    key: &'static str,
    quantity: Quantity,
    unit: &'static str,
    label: &'static str,
    help: &'static str,
) -> Entry {
    Entry { key, answer: Answer::Measure(quantity, unit), label, help, when: When::Always }
}

const fn mm(key: &'static str, label: &'static str, help: &'static str) -> Entry {
    measure(key, Quantity::Length, "mm", label, help)
}

const fn deg(key: &'static str, label: &'static str, help: &'static str) -> Entry {
    measure(key, Quantity::Angle, "deg", label, help)
}

const fn grams(key: &'static str, label: &'static str, help: &'static str) -> Entry {
    measure(key, Quantity::Mass, "g", label, help)
}

const fn percent(key: &'static str, label: &'static str, help: &'static str) -> Entry {
    measure(key, Quantity::Share, "percent", label, help)
}

const fn share(key: &'static str, label: &'static str, help: &'static str) -> Entry {
    measure(key, Quantity::Share, "", label, help)
}

const fn whole(key: &'static str, label: &'static str, help: &'static str) -> Entry {
    Entry { key, answer: Answer::Whole, label, help, when: When::Always }
}

const fn words(key: &'static str, label: &'static str, help: &'static str) -> Entry {
    Entry { key, answer: Answer::Words, label, help, when: When::Always }
}

const fn yes_no(key: &'static str, label: &'static str, help: &'static str) -> Entry {
    Entry { key, answer: Answer::YesNo, label, help, when: When::Always }
}

const fn one_of(
    key: &'static str,
    choices: &'static [&'static str],
    label: &'static str,
    help: &'static str,
) -> Entry {
    Entry { key, answer: Answer::OneOf(choices), label, help, when: When::Always }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_lacking_is_told_at_the_unit_that_the_form_offers() {
        assert_eq!(offered("drive.pack", "resistance_ohm"), "resistance_mohm");
        assert_eq!(offered("surface.0.station.1", "chord_mm"), "chord_mm");
        assert_eq!(offered("surface.0.station.1", "its size"), "its size");
    }

    #[test]
    fn one_way_of_saying_a_thing_hides_the_others() {
        let sheet = Sheet::open("[[movable]]\nname=\"a\"\nchord_mm = 40\nodd_key = 3\n").unwrap();
        let asked = asked(&sheet, "movable.0");
        let keys: Vec<&str> = asked.now.iter().map(|(_, k)| k.as_str()).collect();
        assert!(keys.contains(&"chord_mm") && !keys.contains(&"hinge_percent"), "{keys:?}");
        assert_eq!(asked.others, ["odd_key"]);
    }

    /// Every key that the form asks for is one that the reader of files knows: each is written with a value of its kind
    /// into the table it belongs to, and no fault may say that there is no such key.
    #[test]
    fn every_key_asked_for_is_known_to_the_reader_of_files() {
        let text = aircraft::template::template(aircraft::Layout::Conventional, "A");
        let tables = [
            "",
            "surface.0",
            "surface.0.station.0",
            "movable.2",
            "movable.2.servo",
            "movable.2.linkage",
            "mass.0",
            "weighed",
            "weighed.scales",
            "weighed.swing_roll",
            "drive",
            "drive.propeller",
            "drive.motor",
            "drive.pack",
            "drive.hub.0",
            "drive.bench.0",
            "fuselage.0",
            "fuselage.0.station.0",
            "drag.0",
            "controller",
            "controller.gains.roll",
            "controller.switch.0",
            "start",
            "limits",
            "care",
            "flown",
        ];
        for table in tables {
            assert!(!entries_of(table).is_empty(), "{table}");
            for entry in entries_of(table) {
                let mut sheet = Sheet::open(&text).unwrap();
                if table == "drive.bench.0" {
                    sheet.add("drive.bench", None, &[]).unwrap();
                }
                let (key, _) = entry.key_in(&sheet.keys(table));
                let value = match entry.answer {
                    Answer::Measure(..) | Answer::Whole => "1",
                    Answer::Words => "word",
                    Answer::YesNo => "true",
                    Answer::OneOf(choices) => choices[0],
                };
                let path = if table.is_empty() { key.clone() } else { format!("{table}.{key}") };
                sheet.set(&path, entry.kind(), value).unwrap();
                let faults = aircraft::schema::read(&sheet.text(), &|_| None).err().unwrap_or_default();
                let unknown = faults.iter().find(|f| {
                    f.problem.contains(&format!("has no key \"{key}\""))
                        || f.problem.contains("is no ")
                            && f.problem.contains(value)
                            && matches!(entry.answer, Answer::OneOf(_))
                });
                assert!(unknown.is_none(), "{path}: {unknown:?}");
            }
        }
    }
}
