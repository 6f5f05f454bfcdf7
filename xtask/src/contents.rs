//! Is each `lib.rs` a table of contents? It says what the crate is about, names its files and the types of the crate,
//! and has no logic.

use std::path::Path;

use crate::flaw::{Flaw, Trouble};
use crate::manifests::Crate;
use crate::tree;

/// Looks at the `lib.rs` of each crate that has one.
pub(crate) fn check(root: &Path, crates: &[Crate]) -> Result<Vec<Flaw>, Trouble> {
    let mut flaws = Vec::new();
    for known in crates {
        let path = root.join(&known.folder).join("src/lib.rs");
        if path.is_file() {
            flaws.extend(of_text(&tree::below(root, &path), &tree::text(&path)?));
        }
    }
    Ok(flaws)
}

fn of_text(place: &str, text: &str) -> Vec<Flaw> {
    let mut flaws = Vec::new();
    if !text.starts_with("//!") {
        flaws.push(Flaw::new(place, "does not begin by saying what the crate is about (//!)"));
    }
    for (number, line) in (1..).zip(text.lines()) {
        let code = line.split("//").next().unwrap_or_default();
        let mut words = code.split(|c: char| !c.is_alphanumeric() && c != '_');
        if words.any(|word| word == "fn") {
            flaws.push(Flaw::new(
                format!("{place}:{number}"),
                "has a function; lib.rs is a table of contents",
            ));
        }
    }
    flaws
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn modules_and_types_pass_functions_do_not() {
        assert_eq!(of_text("lib.rs", "//! About.\npub mod a; // no fn here\npub struct B(Fn, u8);\n"), []);
        assert_eq!(
            of_text("lib.rs", "//! About.\nimpl B {\n    pub const fn c(self) {}\n}\n")[0].place,
            "lib.rs:3"
        );
        assert_eq!(of_text("lib.rs", "pub mod a;\n").len(), 1);
    }
}
