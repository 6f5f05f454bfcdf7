//! Which crates are there, and what does each use of ours?

use std::collections::BTreeSet;
use std::path::Path;

use toml_edit::{DocumentMut, Item, TableLike};

use crate::flaw::{Flaw, Trouble};
use crate::tree;

/// A crate of ours.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Crate {
    /// Its name.
    pub(crate) name: String,
    /// Its folder, from the top of the tree.
    pub(crate) folder: String,
    /// Everything that it names as a dependency of code that is not a test.
    pub(crate) uses: BTreeSet<String>,
    /// Whether it takes over the workspace's lints.
    pub(crate) linted: bool,
}

/// All crates below `crates/SHELF/`, and xtask.
pub(crate) fn crates(root: &Path) -> Result<Vec<Crate>, Trouble> {
    let mut folders = Vec::new();
    for shelf in tree::folders(&root.join("crates"))? {
        folders.extend(tree::folders(&shelf)?);
    }
    folders.push(root.join("xtask"));
    let mut found = Vec::new();
    for folder in folders {
        let manifest = folder.join("Cargo.toml");
        if manifest.is_file() {
            found.push(of_manifest(&tree::below(root, &folder), &tree::toml(&manifest)?));
        }
    }
    Ok(found)
}

fn of_manifest(folder: &str, manifest: &DocumentMut) -> Crate {
    let name = manifest.get("package").and_then(|package| package.get("name")).and_then(Item::as_str);
    let lints = manifest.get("lints").and_then(|lints| lints.get("workspace")).and_then(Item::as_bool);
    let mut uses = dependencies(manifest.as_table());
    if let Some(targets) = manifest.get("target").and_then(Item::as_table_like) {
        for (_, target) in targets.iter() {
            uses.extend(target.as_table_like().map(dependencies).unwrap_or_default());
        }
    }
    Crate {
        name: name.unwrap_or_default().to_owned(),
        folder: folder.to_owned(),
        uses,
        linted: lints == Some(true),
    }
}

/// Names below `[dependencies]` and `[build-dependencies]`. What only tests use is their own affair.
fn dependencies(table: &dyn TableLike) -> BTreeSet<String> {
    ["dependencies", "build-dependencies"]
        .iter()
        .filter_map(|key| table.get(key).and_then(Item::as_table_like))
        .flat_map(|names| names.iter().map(|(name, _)| name.to_owned()).collect::<Vec<_>>())
        .collect()
}

/// Holds the list of members against the rows of the table, in their order, and what is on disk.
pub(crate) fn check_members(members: &[String], rows: &[String], crates: &[Crate]) -> Vec<Flaw> {
    let mut flaws = Vec::new();
    let folder_of =
        |name: &str| crates.iter().find(|known| known.name == name).map(|known| known.folder.clone());
    let mut expected: Vec<String> = rows.iter().filter_map(|name| folder_of(name)).collect();
    expected.extend(folder_of("xtask"));
    if members != expected {
        flaws.push(Flaw::new(
            "Cargo.toml",
            format!("members stand as {members:?}; in the order of the shelves they are {expected:?}"),
        ));
    }
    for known in crates.iter().filter(|known| !members.contains(&known.folder)) {
        flaws.push(Flaw::new(&known.folder, "is not among the workspace's members"));
    }
    for known in crates.iter().filter(|known| !known.linted) {
        flaws.push(Flaw::new(format!("{}/Cargo.toml", known.folder), "needs [lints] workspace = true"));
    }
    flaws
}

/// The list of members in the root manifest.
pub(crate) fn members(root: &DocumentMut) -> Vec<String> {
    let list = root.get("workspace").and_then(|workspace| workspace.get("members")).and_then(Item::as_array);
    list.map(|list| list.iter().filter_map(|member| member.as_str().map(str::to_owned)).collect())
        .unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn parse(text: &str) -> Crate {
        of_manifest("crates/base/sky", &text.parse().unwrap())
    }

    #[test]
    fn dependencies_are_found_however_they_are_written() {
        let found = parse(
            "[package]\nname = \"sky\"\n[lints]\nworkspace = true\n[dependencies]\nnumerics.workspace = true\n\
             csv = \"1\"\n[dependencies.motion]\npath = \"x\"\n[build-dependencies]\nplan = { path = \"y\" }\n\
             [target.'cfg(unix)'.dependencies]\nfly = \"1\"\n[dev-dependencies]\nlearn.workspace = true\n",
        );
        assert_eq!(found.name, "sky");
        assert!(found.linted);
        let uses: Vec<_> = found.uses.iter().map(String::as_str).collect();
        assert_eq!(uses, ["csv", "fly", "motion", "numerics", "plan"]);
    }

    #[test]
    fn members_in_the_wrong_order_left_out_or_without_lints_are_told() {
        let make = |name: &str, linted| Crate {
            name: name.into(),
            folder: format!("crates/base/{name}"),
            uses: BTreeSet::new(),
            linted,
        };
        let crates = [make("a", true), make("b", true), make("xtask", true)];
        let rows = ["b".to_owned(), "a".to_owned()];
        let strings =
            |names: &[&str]| names.iter().map(|name| format!("crates/base/{name}")).collect::<Vec<_>>();
        assert_eq!(check_members(&strings(&["b", "a", "xtask"]), &rows, &crates), []);
        assert_eq!(check_members(&strings(&["a", "b", "xtask"]), &rows, &crates).len(), 1);
        assert_eq!(check_members(&strings(&["b", "xtask"]), &rows, &crates).len(), 2);
        let unlinted = [make("a", true), make("b", false), make("xtask", true)];
        assert_eq!(check_members(&strings(&["b", "a", "xtask"]), &rows, &unlinted).len(), 1);
    }

    #[test]
    fn the_members_are_read_in_their_order() {
        let root = "[workspace]\nmembers = [\n  \"b\", # why\n  \"a\",\n]\n".parse().unwrap();
        assert_eq!(members(&root), ["b", "a"]);
    }
}
