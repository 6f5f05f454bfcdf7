//! Does the house keep its own rules? All checks, one after the other.

use std::path::Path;

use crate::flaw::{Flaw, Trouble};
use crate::{arrows, contents, lengths, manifests, shelves, sources, tree};

/// Everything to mend, in the order of the checks.
pub(crate) fn tidy(root: &Path) -> Result<Vec<Flaw>, Trouble> {
    let crates = manifests::crates(root)?;
    let rows = arrows::rows(&tree::text(&root.join("ARCHITECTURE.md"))?);
    let names: Vec<String> = rows.iter().map(|row| row.name.clone()).collect();
    let members = manifests::members(&tree::toml(&root.join("Cargo.toml"))?);
    let mut flaws = arrows::check(&rows, &crates);
    flaws.extend(manifests::check_members(&members, &names, &crates));
    flaws.extend(shelves::check(root)?);
    flaws.extend(sources::check(root)?);
    flaws.extend(lengths::check(root)?);
    flaws.extend(contents::check(root, &crates)?);
    Ok(flaws)
}
