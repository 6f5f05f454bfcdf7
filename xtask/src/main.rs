//! Checks that the house keeps its own rules.
//!
//! `cargo run -p xtask -- tidy` holds the tree against ARCHITECTURE.md and reference/README.md;
//! `cargo run -p xtask -- hash reference/NAME` prints the table of checksums for a SOURCE.toml;
//! `cargo run -p xtask -- demo PROGRAM FOLDER` lets the program fly its demo into the folder and looks at what came out.

mod arrows;
mod contents;
mod demo;
mod flaw;
mod lengths;
mod manifests;
mod shelves;
mod sources;
mod tidy;
mod tree;

use std::path::{Path, PathBuf};
use std::process::ExitCode;

const USAGE: &str = "usage: cargo run -p xtask -- tidy\n       cargo run -p xtask -- hash reference/NAME\n       \
     cargo run -p xtask -- demo PROGRAM FOLDER";

#[expect(clippy::print_stdout, clippy::print_stderr, reason = "the one place that speaks to the terminal")]
fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let words: Vec<&str> = arguments.iter().map(String::as_str).collect();
    let outcome = match words.as_slice() {
        ["tidy"] => tidy::tidy(&root()).map(|flaws| {
            for flaw in &flaws {
                eprintln!("{flaw}");
            }
            println!("tidy: {} to mend", flaws.len());
            flaws.is_empty()
        }),
        ["demo", program, folder] => demo::demo(Path::new(program), Path::new(folder)).map(|flaws| {
            for flaw in &flaws {
                eprintln!("{flaw}");
            }
            println!("demo: {} to mend", flaws.len());
            flaws.is_empty()
        }),
        ["hash", folder] => sources::table(Path::new(folder)).map(|table| {
            print!("{table}");
            true
        }),
        _ => {
            eprintln!("{USAGE}");
            return ExitCode::from(2);
        }
    };
    match outcome {
        Ok(true) => ExitCode::SUCCESS,
        Ok(false) => ExitCode::FAILURE,
        Err(trouble) => {
            eprintln!("{trouble}");
            ExitCode::from(2)
        }
    }
}

/// The top of the tree: this package's folder is one below it.
fn root() -> PathBuf {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    here.parent().unwrap_or(here).to_path_buf()
}
