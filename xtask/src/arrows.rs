//! Does each crate use only what the table of arrows in ARCHITECTURE.md lets it use?

use std::collections::BTreeSet;

use crate::flaw::Flaw;
use crate::manifests::Crate;

/// Where the table stands.
const PLACE: &str = "ARCHITECTURE.md";

/// The line that the table begins with.
const HEADER: &str = "| crate | may use |";

/// A row: a crate and what it may use of ours.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Row {
    /// The crate.
    pub(crate) name: String,
    /// What it may use; `all` stands for every other crate of the table.
    pub(crate) may_use: Vec<String>,
}

/// The rows of the table, in their order; none where there is no such table.
pub(crate) fn rows(text: &str) -> Vec<Row> {
    let table = text.lines().skip_while(|line| line.trim() != HEADER).skip(2);
    table
        .map_while(|line| {
            let mut cells = line.trim().strip_prefix('|')?.split('|');
            let name = cells.next()?.trim().trim_matches('`').to_owned();
            let may_use = cells.next()?.split_whitespace().filter(|word| *word != "nothing");
            Some(Row { name, may_use: may_use.map(str::to_owned).collect() })
        })
        .collect()
}

/// Holds the manifests against the table.
pub(crate) fn check(rows: &[Row], crates: &[Crate]) -> Vec<Flaw> {
    let mut flaws = Vec::new();
    if rows.is_empty() {
        flaws.push(Flaw::new(PLACE, format!("has no table that begins with \"{HEADER}\"")));
    }
    let ours: BTreeSet<&str> = crates.iter().map(|known| known.name.as_str()).collect();
    for row in rows {
        let unknown = row
            .may_use
            .iter()
            .chain([&row.name])
            .filter(|name| *name != "all" && !ours.contains(name.as_str()));
        flaws.extend(unknown.map(|name| {
            Flaw::new(PLACE, format!("the row of {} names {name}, which is no crate", row.name))
        }));
    }
    for known in crates {
        let row = rows.iter().find(|row| row.name == known.name);
        // What stands in no row is a tool and uses nothing of ours.
        if row.is_none() && known.name != "xtask" {
            flaws.push(Flaw::new(PLACE, format!("the table of arrows has no row for {}", known.name)));
        }
        let may_use = row.map(|row| row.may_use.as_slice()).unwrap_or_default();
        let all = may_use.iter().any(|name| name == "all");
        let drawn = known.uses.iter().filter(|name| ours.contains(name.as_str()));
        for name in drawn.filter(|name| !all && !may_use.contains(name)) {
            let what = format!("{} may not use {name}: no such arrow stands in {PLACE}", known.name);
            flaws.push(Flaw::new(format!("{}/Cargo.toml", known.folder), what));
        }
    }
    flaws
}

#[cfg(test)]
mod tests {
    use super::*;

    const TABLE: &str = "text\n\n| crate | may use |\n|---|---|\n| `a` | nothing |\n| `b` | a |\n| `c` | all |\n\nmore | text |\n";

    fn known(name: &str, uses: &[&str]) -> Crate {
        Crate {
            name: name.into(),
            folder: format!("crates/base/{name}"),
            uses: uses.iter().map(|&name| name.to_owned()).collect(),
            linted: true,
        }
    }

    #[track_caller]
    fn told(crates: &[Crate]) -> Vec<String> {
        check(&rows(TABLE), crates).iter().map(ToString::to_string).collect()
    }

    #[test]
    fn the_table_ends_where_its_lines_end() {
        let names: Vec<_> = rows(TABLE).into_iter().map(|row| (row.name, row.may_use)).collect();
        let expected = [("a", vec![]), ("b", vec!["a"]), ("c", vec!["all"])];
        assert_eq!(
            names,
            expected.map(|(name, uses)| (name.to_owned(), uses.into_iter().map(str::to_owned).collect()))
        );
    }

    #[test]
    fn arrows_of_the_table_and_crates_of_others_pass() {
        let crates = [
            known("a", &["csv"]),
            known("b", &["a", "serde"]),
            known("c", &["a", "b"]),
            known("xtask", &["csv"]),
        ];
        assert_eq!(told(&crates), Vec::<String>::new());
    }

    #[test]
    fn an_arrow_against_the_shelves_is_told() {
        let crates = [known("a", &["b"]), known("b", &[]), known("c", &[])];
        assert_eq!(
            told(&crates),
            ["crates/base/a/Cargo.toml: a may not use b: no such arrow stands in ARCHITECTURE.md"]
        );
    }

    #[test]
    fn the_tool_may_use_nothing_of_ours() {
        let crates = [known("a", &[]), known("b", &[]), known("c", &[]), known("xtask", &["a"])];
        assert_eq!(told(&crates).len(), 1);
    }

    #[test]
    fn a_crate_without_a_row_and_a_row_without_a_crate_are_told() {
        assert_eq!(told(&[known("a", &[]), known("b", &[]), known("c", &[]), known("d", &[])]).len(), 1);
        assert_eq!(told(&[known("a", &[]), known("b", &[])]).len(), 1);
    }

    #[test]
    fn a_missing_table_is_told() {
        assert_eq!(check(&rows("nothing here"), &[]).len(), 1);
    }
}
