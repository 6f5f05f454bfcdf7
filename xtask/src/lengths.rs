//! Is each file short enough for one head to hold?

use std::path::Path;

use crate::flaw::{Flaw, Trouble};
use crate::tree;

/// Past this many lines a file answers two questions.
const LONGEST: usize = 600;

/// Kinds of files that people read and write; data are as long as they are.
const KINDS: [&str; 8] = ["rs", "md", "html", "css", "js", "sql", "sh", "py"];

/// Files that may be longer, each with its reason.
const ALLOWED: [(&str, &str); 0] = [];

/// Looks at every file that people read.
pub(crate) fn check(root: &Path) -> Result<Vec<Flaw>, Trouble> {
    let mut flaws = Vec::new();
    for top in ["crates", "xtask", "docs", "reference"] {
        for path in tree::files(&root.join(top))? {
            if path.extension().is_some_and(|kind| KINDS.iter().any(|known| kind == *known)) {
                flaws.extend(of_file(
                    &tree::below(root, &path),
                    tree::text(&path)?.lines().count(),
                    &ALLOWED,
                ));
            }
        }
    }
    Ok(flaws)
}

fn of_file(place: &str, lines: usize, allowed: &[(&str, &str)]) -> Option<Flaw> {
    match (lines > LONGEST, allowed.iter().find(|(file, _)| *file == place)) {
        (true, None) => Some(Flaw::new(
            place,
            format!(
                "has {lines} lines, more than {LONGEST}: find the second question that it answers and give it a file"
            ),
        )),
        (false, Some((_, reason))) => {
            Some(Flaw::new(place, format!("is no longer long; take it off the list ({reason})")))
        }
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_files_past_the_length_and_off_the_list_are_told() {
        let allowed = [("data.rs", "a table")];
        assert_eq!(of_file("a.rs", 600, &allowed), None);
        assert!(of_file("a.rs", 601, &allowed).is_some());
        assert_eq!(of_file("data.rs", 5000, &allowed), None);
        assert!(of_file("data.rs", 10, &allowed).is_some());
    }
}
