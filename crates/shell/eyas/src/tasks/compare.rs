//! What changed between two sets of the controller's settings, and did the findings ask for it?

use aircraft::settings::{self, Asked, Difference};
use hangar::{Hangar, NewSettings, Settings};
use predict::scale::Setting;

use crate::tasks::{keep, upkeep};
use crate::tell::{Kind, Trouble};

/// Settings from somewhere, with what to call them.
#[derive(Debug, Clone)]
pub(crate) struct Side {
    /// "settings 3", or the name of a file.
    pub(crate) label: String,
    /// The text, byte for byte.
    pub(crate) bytes: Vec<u8>,
}

impl Side {
    /// A snapshot that is kept.
    pub(crate) fn kept(hangar: &Hangar, name: &str, number: u32) -> Result<Self, Trouble> {
        let bytes = hangar.settings_bytes(name, number).map_err(keep::trouble)?;
        Ok(Self { label: format!("settings {number}"), bytes })
    }
}

/// Two sets of settings compared.
#[derive(Debug, Clone)]
pub(crate) struct Compared {
    /// What differs, section by section.
    pub(crate) differences: Vec<Difference>,
    /// What findings ask for and what did not change.
    pub(crate) open: Vec<Asked>,
}

/// Compares two sets of settings. `scale`: the builder's table, by which findings are told as settings; may be empty.
pub(crate) fn compare(
    hangar: &Hangar,
    name: &str,
    older: &Side,
    newer: &Side,
    scale: &[Setting],
) -> Result<Compared, Trouble> {
    let (old, new) = (read(&older.bytes, &older.label)?, read(&newer.bytes, &newer.label)?);
    let asked = if scale.is_empty() { Vec::new() } else { upkeep::asked(hangar, name, scale)? };
    let differences = settings::compare(&old, &new, &asked);
    let open = asked
        .into_iter()
        .filter(|a| !differences.iter().any(|d| d.asked.as_ref().is_some_and(|asked| asked.name == a.name)))
        .collect();
    Ok(Compared { differences, open })
}

/// A file of settings that was kept, and what was read of it.
pub(crate) struct Kept {
    /// The snapshot; an earlier one where it repeats the newest.
    pub(crate) snapshot: Settings,
    /// Whether it was not kept before.
    pub(crate) new: bool,
    /// Its settings.
    pub(crate) read: settings::Settings,
}

/// Keeps a file of settings after it was read as such.
pub(crate) fn keep_settings(
    hangar: &mut Hangar,
    name: &str,
    new: &NewSettings<'_>,
    label: &str,
) -> Result<Kept, Trouble> {
    let read = read(new.bytes, label)?;
    let before = hangar.settings(name).map_err(keep::trouble)?.len();
    let snapshot = hangar.keep_settings(name, new).map_err(keep::trouble)?;
    Ok(Kept { new: snapshot.number as usize > before, snapshot, read })
}

/// Settings as text, or why they are none.
pub(crate) fn read(bytes: &[u8], label: &str) -> Result<settings::Settings, Trouble> {
    settings::read(bytes).map_err(|cause| {
        Trouble::new(
            Kind::Input,
            format!("{label} could not be read as settings"),
            cause.to_string(),
            "let the controller's own program write its settings as text, one to a line, and name that file",
        )
    })
}
