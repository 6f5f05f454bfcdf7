//! What differs between two files of settings, and who asked for it?

use std::collections::BTreeMap;

use super::{MASK, Setting, Settings, secret};

/// A difference between two files.
#[derive(Debug, Clone, PartialEq)]
pub struct Difference {
    /// The section; empty for none.
    pub section: String,
    /// The setting's name.
    pub name: String,
    /// What happened to it.
    pub kind: Kind,
    /// Whether its values look like a secret: then [`Difference::shown`] hides them.
    pub secret: bool,
    /// The change that asked for it, if one did.
    pub asked: Option<Asked>,
    /// Whether the new value is the one that was asked for; none where nothing was.
    pub as_asked: Option<bool>,
}

/// What happened to a setting.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Kind {
    /// It has another value.
    Changed {
        /// Before.
        from: String,
        /// Now.
        to: String,
    },
    /// It is there now.
    Added(String),
    /// It is no longer there; this was its value.
    Removed(String),
}

/// A change that a flight's findings asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct Asked {
    /// The builder's own name of the setting.
    pub name: String,
    /// The value to enter, as the builder would type it.
    pub to: String,
    /// Where it comes from, in words ("findings 3, response in roll").
    pub why: String,
}

/// How near a value must be to the one asked for, as a share of it: settings are typed with three digits.
const NEAR: f64 = 0.005;

impl Difference {
    /// The value before and the value now, as they may be shown; empty where there is none.
    #[must_use]
    pub fn shown(&self) -> (&str, &str) {
        let show = |value| if self.secret { MASK } else { value };
        match &self.kind {
            Kind::Changed { from, to } => (show(from), show(to)),
            Kind::Added(to) => ("", show(to)),
            Kind::Removed(from) => (show(from), ""),
        }
    }
}

/// Differences from one file to another, in the order of the names' first appearance. Values that are the same number
/// written differently ("1.0" and "1") do not differ. `asked`: what findings asked for, in the builder's own names.
#[must_use]
pub fn compare(before: &Settings, after: &Settings, asked: &[Asked]) -> Vec<Difference> {
    let key = |s: &Setting| (s.section.clone(), s.name.clone());
    let old: BTreeMap<_, &str> = before.settings.iter().map(|s| (key(s), s.value.as_str())).collect();
    let new: BTreeMap<_, &str> = after.settings.iter().map(|s| (key(s), s.value.as_str())).collect();
    let mut seen = std::collections::BTreeSet::new();
    let mut differences = Vec::new();
    for setting in before.settings.iter().chain(&after.settings) {
        let key = key(setting);
        if !seen.insert(key.clone()) {
            continue;
        }
        let kind = match (old.get(&key), new.get(&key)) {
            (Some(from), Some(to)) if same(from, to) => continue,
            (Some(from), Some(to)) => Kind::Changed { from: (*from).into(), to: (*to).into() },
            (None, Some(to)) => Kind::Added((*to).into()),
            (Some(from), None) => Kind::Removed((*from).into()),
            (None, None) => continue,
        };
        let (section, name) = key;
        let asked = asked.iter().find(|asked| asks_for(asked, &section, &name)).cloned();
        let as_asked = asked.as_ref().map(|asked| match &kind {
            Kind::Changed { to, .. } | Kind::Added(to) => near(to, &asked.to),
            Kind::Removed(_) => false,
        });
        let hide = match &kind {
            Kind::Changed { from, to } => secret(&name, from) || secret(&name, to),
            Kind::Added(value) | Kind::Removed(value) => secret(&name, value),
        };
        differences.push(Difference { section, name, kind, secret: hide, asked, as_asked });
    }
    differences
}

/// A builder writes "p" or "roll.p", "roll/p", "roll p" for p in section roll.
fn asks_for(asked: &Asked, section: &str, name: &str) -> bool {
    let folded = |text: &str| {
        text.to_lowercase()
            .split(|c: char| !c.is_alphanumeric())
            .filter(|w| !w.is_empty())
            .collect::<Vec<_>>()
            .join(" ")
    };
    let wanted = folded(&asked.name);
    wanted == folded(name) || wanted == folded(&format!("{section} {name}"))
}

fn same(a: &str, b: &str) -> bool {
    match (a.parse::<f64>(), b.parse::<f64>()) {
        (Ok(a), Ok(b)) => a.to_bits() == b.to_bits() || (a - b).abs() <= f64::EPSILON * a.abs().max(b.abs()),
        _ => a == b,
    }
}

fn near(value: &str, wanted: &str) -> bool {
    match (value.parse::<f64>(), wanted.parse::<f64>()) {
        (Ok(value), Ok(wanted)) => (value - wanted).abs() <= NEAR * wanted.abs().max(f64::MIN_POSITIVE),
        _ => value == wanted,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::settings::read;

    fn differ(before: &str, after: &str, asked: &[Asked]) -> Vec<Difference> {
        compare(&read(before.as_bytes()).unwrap(), &read(after.as_bytes()).unwrap(), asked)
    }

    #[test]
    fn changed_added_and_removed_are_told_and_the_same_number_is_not() {
        let found = differ("a = 1\nb = 2.50\nc = x\nd = 4\n", "d = 5\nb = 2.5\na = 1.0\ne = new\n", &[]);
        let told: Vec<_> = found.iter().map(|d| (d.name.as_str(), d.kind.clone())).collect();
        assert_eq!(
            told,
            [
                ("c", Kind::Removed("x".into())),
                ("d", Kind::Changed { from: "4".into(), to: "5".into() }),
                ("e", Kind::Added("new".into())),
            ]
        );
    }

    #[test]
    fn the_way_of_writing_may_change_between_two_files() {
        assert_eq!(differ("set a = 1\nset b = 2\n", "a: 1\nb: 2\n", &[]), []);
    }

    #[test]
    fn what_a_finding_asked_for_is_recognized_with_and_without_its_section() {
        let asked = |name: &str| Asked { name: name.into(), to: "5.2".into(), why: "findings 3".into() };
        for name in ["roll.p", "Roll P", "roll_p"] {
            let found = differ(
                "[roll]\np = 4\n[pitch]\np = 4\n",
                "[roll]\np = 5.21\n[pitch]\np = 6\n",
                &[asked(name)],
            );
            assert_eq!(found[0].as_asked, Some(true), "{name}");
            assert_eq!(found[1].as_asked, None, "pitch was not asked for");
        }
        // 5.3 is 1.9 % away: not what was asked.
        assert_eq!(differ("p = 4\n", "p = 5.3\n", &[asked("p")])[0].as_asked, Some(false));
    }

    #[test]
    fn a_secret_that_changed_is_told_but_not_shown() {
        let found = differ("token = abcdef\n", "token = ghijkl\n", &[]);
        assert_eq!(found[0].shown(), (MASK, MASK));
    }
}
