//! Does every set of reference data say where it comes from, and is it still what was fetched or produced?

use std::collections::BTreeMap;
use std::fmt::Write;
use std::path::Path;

use sha2::{Digest, Sha256};
use toml_edit::{DocumentMut, Item};

use crate::flaw::{Flaw, Trouble};
use crate::tree;

/// The file that tells of the others in its folder.
const SOURCE: &str = "SOURCE.toml";

/// What it must say.
const REQUIRED: [&str; 5] = ["what", "from", "licence", "how", "uncertainty"];

/// The table of checksums in it.
const HASHES: &str = "sha256";

/// Checksums by file name.
type Hashes = BTreeMap<String, String>;

/// Looks at every folder of reference data.
pub(crate) fn check(root: &Path) -> Result<Vec<Flaw>, Trouble> {
    let mut flaws = Vec::new();
    for folder in tree::folders(&root.join("reference"))? {
        let place = tree::below(root, &folder);
        let source = folder.join(SOURCE);
        if source.is_file() {
            flaws.extend(of_source(&format!("{place}/{SOURCE}"), &tree::toml(&source)?, &hashes(&folder)?));
        } else {
            flaws.push(Flaw::new(
                place,
                format!("has no {SOURCE} (reference/README.md says what goes into it)"),
            ));
        }
    }
    Ok(flaws)
}

/// The table of checksums as it goes into a SOURCE.toml.
pub(crate) fn table(folder: &Path) -> Result<String, Trouble> {
    let mut text = format!("[{HASHES}]\n");
    for (name, hash) in hashes(folder)? {
        // Writing to a string cannot fail.
        let _ = writeln!(text, "{} = \"{hash}\"", toml_edit::Key::new(name).display_repr());
    }
    Ok(text)
}

/// Checksums of all files below a folder but for SOURCE.toml.
fn hashes(folder: &Path) -> Result<Hashes, Trouble> {
    let mut found = Hashes::new();
    for path in tree::files(folder)? {
        let name = tree::below(folder, &path);
        if name != SOURCE {
            let digest = Sha256::digest(tree::read(&path)?);
            found.insert(name, digest.iter().map(|byte| format!("{byte:02x}")).collect());
        }
    }
    Ok(found)
}

fn of_source(place: &str, source: &DocumentMut, on_disk: &Hashes) -> Vec<Flaw> {
    let mut flaws = Vec::new();
    let says = |key: &str| {
        let item = source.get(key);
        item.is_some_and(|item| item.as_str().map_or(!item.is_none(), |text| !text.trim().is_empty()))
    };
    for key in REQUIRED.iter().filter(|key| !says(key)) {
        flaws.push(Flaw::new(place, format!("does not say {key}")));
    }
    let listed: Hashes = source
        .get(HASHES)
        .and_then(Item::as_table_like)
        .map(|files| {
            let hash = |item: &Item| item.as_str().unwrap_or_default().to_owned();
            files.iter().map(|(name, item)| (name.to_owned(), hash(item))).collect()
        })
        .unwrap_or_default();
    if listed.is_empty() {
        flaws.push(Flaw::new(place, "has no [sha256]; `cargo run -p xtask -- hash FOLDER` prints it"));
        return flaws;
    }
    for (name, hash) in on_disk {
        match listed.get(name) {
            None => flaws.push(Flaw::new(place, format!("does not list {name}"))),
            Some(told) if told != hash => {
                flaws.push(Flaw::new(
                    place,
                    format!("{name} is not what it was: SHA-256 {hash}, listed {told}"),
                ));
            }
            Some(_) => {}
        }
    }
    for name in listed.keys().filter(|name| !on_disk.contains_key(*name)) {
        flaws.push(Flaw::new(place, format!("lists {name}, which is not there")));
    }
    flaws
}

#[cfg(test)]
mod tests {
    use super::*;

    const WHOLE: &str = "what = \"w\"\nfrom = \"f\"\nlicence = \"l\"\nhow = \"h\"\nuncertainty = \"u\"\n";

    #[track_caller]
    fn told(text: &str, on_disk: &[(&str, &str)]) -> usize {
        let on_disk = on_disk.iter().map(|&(name, hash)| (name.to_owned(), hash.to_owned())).collect();
        of_source("SOURCE.toml", &text.parse().unwrap(), &on_disk).len()
    }

    #[test]
    fn a_whole_source_passes() {
        assert_eq!(told(&format!("{WHOLE}[sha256]\n\"a b.csv\" = \"1\"\n"), &[("a b.csv", "1")]), 0);
    }

    #[test]
    fn what_is_not_said_or_empty_is_told() {
        for key in REQUIRED {
            let text: String =
                WHOLE.lines().filter(|line| !line.starts_with(key)).map(|line| format!("{line}\n")).collect();
            assert_eq!(told(&format!("{text}[sha256]\na = \"1\"\n"), &[("a", "1")]), 1, "{key}");
        }
        let empty = WHOLE.replace("\"h\"", "\" \"");
        assert_eq!(told(&format!("{empty}[sha256]\na = \"1\"\n"), &[("a", "1")]), 1);
    }

    #[test]
    fn files_changed_unlisted_or_missing_are_told() {
        let text = format!("{WHOLE}[sha256]\na = \"1\"\nb = \"2\"\n");
        assert_eq!(told(&text, &[("a", "9"), ("b", "2")]), 1);
        assert_eq!(told(&text, &[("a", "1"), ("b", "2"), ("c", "3")]), 1);
        assert_eq!(told(&text, &[("a", "1")]), 1);
        assert_eq!(told(WHOLE, &[]), 1);
    }

    #[test]
    fn the_printed_table_is_the_one_that_passes() {
        let folder = tempfile::tempdir().unwrap();
        std::fs::create_dir(folder.path().join("deep")).unwrap();
        std::fs::write(folder.path().join("deep/it's \"x\".csv"), "abc").unwrap();
        std::fs::write(folder.path().join(SOURCE), "what = 1").unwrap();
        let table = table(folder.path()).unwrap();
        // FIPS 180-4 example: SHA-256 of "abc".
        assert!(
            table.contains("ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"),
            "{table}"
        );
        let source: DocumentMut = format!("{WHOLE}{table}").parse().unwrap();
        assert_eq!(of_source("x", &source, &hashes(folder.path()).unwrap()), []);
    }
}
