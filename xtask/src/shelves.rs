//! Are the two pure shelves under the same lock? Each has a clippy.toml of its own, since the nearest one to a crate
//! replaces those further up; only their opening comments may differ.

use std::path::Path;

use crate::flaw::{Flaw, Trouble};
use crate::tree;

/// Holds the lists of the shelves against each other.
pub(crate) fn check(root: &Path) -> Result<Vec<Flaw>, Trouble> {
    let base = tree::text(&root.join("crates/base/clippy.toml"))?;
    let round = tree::text(&root.join("crates/round/clippy.toml"))?;
    let same = rules(&base).eq(rules(&round));
    let flaw = Flaw::new("crates/round/clippy.toml", "forbids other things than crates/base/clippy.toml");
    Ok(if same { Vec::new() } else { vec![flaw] })
}

fn rules(text: &str) -> impl Iterator<Item = &str> {
    text.lines().map(str::trim).filter(|line| !line.is_empty() && !line.starts_with('#'))
}

#[cfg(test)]
mod tests {
    use std::fs;
    use std::process::Command;

    use super::*;

    /// A crate that does one thing a line that a pure shelf forbids.
    const SINS: [(&str, &str); 8] = [
        ("std::fs::read_to_string", "pub fn a() -> Option<String> { std::fs::read_to_string(\"x\").ok() }"),
        ("std::fs::File", "pub fn b() -> bool { std::fs::File::open(\"x\").is_ok() }"),
        ("std::time::Instant::now", "pub fn c() -> std::time::Instant { std::time::Instant::now() }"),
        (
            "std::time::SystemTime::now",
            "pub fn d() -> std::time::SystemTime { std::time::SystemTime::now() }",
        ),
        ("std::env::var", "pub fn e() -> bool { std::env::var(\"HOME\").is_ok() }"),
        (
            "std::collections::HashMap",
            "pub fn f() -> usize { std::collections::HashMap::<u8, u8>::new().len() }",
        ),
        ("std::io::stdout", "pub fn g() -> std::io::Stdout { std::io::stdout() }"),
        ("std::thread_local", "thread_local! { pub static H: u8 = const { 3 }; }"),
    ];

    #[test]
    fn only_comments_may_differ() {
        assert!(rules("# a\nx = 1\n").eq(rules("# b\n\nx = 1\n")));
        assert!(!rules("x = 1\n").eq(rules("x = 2\n")));
    }

    #[test]
    fn a_crate_on_a_pure_shelf_is_caught_and_one_on_the_shell_is_not() {
        let folder = tempfile::tempdir().unwrap();
        let top = folder.path();
        let write = |name: &str, text: &str| {
            let path = top.join(name);
            fs::create_dir_all(path.parent().unwrap()).unwrap();
            fs::write(path, text).unwrap();
        };
        let ours = Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap();
        write("clippy.toml", &tree::text(&ours.join("clippy.toml")).unwrap());
        write("Cargo.toml", "[workspace]\nresolver = \"3\"\nmembers = [\"crates/*/*\"]\n");
        let code: String = SINS.iter().map(|(_, line)| format!("{line}\n")).collect();
        for (shelf, name) in [("base", "one"), ("round", "two"), ("shell", "three")] {
            let rules = ours.join("crates").join(shelf).join("clippy.toml");
            if rules.is_file() {
                write(&format!("crates/{shelf}/clippy.toml"), &tree::text(&rules).unwrap());
            }
            let manifest = format!("[package]\nname = \"{name}\"\nversion = \"0.1.0\"\nedition = \"2024\"\n");
            write(&format!("crates/{shelf}/{name}/Cargo.toml"), &manifest);
            write(&format!("crates/{shelf}/{name}/src/lib.rs"), &code);
        }
        // Settings of the run that this test belongs to must not reach the one that it starts.
        let output = Command::new(env!("CARGO"))
            .args(["clippy", "--offline", "--workspace", "--keep-going", "--message-format=short"])
            .current_dir(top)
            .env("CARGO_TARGET_DIR", top.join("target"))
            .env_remove("RUSTFLAGS")
            .env_remove("CLIPPY_CONF_DIR")
            .output()
            .unwrap();
        let said = String::from_utf8_lossy(&output.stderr);
        assert!(output.status.success(), "{said}");
        for (name, _) in SINS {
            let quoted = format!("`{name}`");
            for file in ["base/one", "round/two"] {
                let caught = said.lines().any(|line| line.contains(file) && line.contains(&quoted));
                assert!(caught, "{name} passed on {file}:\n{said}");
            }
        }
        assert!(
            !said.lines().any(|line| line.contains("shell/three") && line.contains("disallowed")),
            "{said}"
        );
    }
}
