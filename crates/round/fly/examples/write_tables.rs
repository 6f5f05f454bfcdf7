//! Writes what a recording exports, for other readers to read back: FOLDER/table.csv and FOLDER/table.parquet.
//!
//! ```sh
//! cargo run -p fly --example write_tables -- RECORDING FOLDER
//! python3 crates/round/fly/benches/read_back.py FOLDER      # with pyarrow and polars
//! ```
#![expect(
    clippy::print_stdout,
    clippy::disallowed_methods,
    reason = "a program that is run by hand reads and writes files and prints"
)]

use std::path::Path;
use std::process::ExitCode;

fn main() -> ExitCode {
    let mut arguments = std::env::args().skip(1);
    let (Some(recording), Some(folder)) = (arguments.next(), arguments.next()) else {
        println!("usage: write_tables RECORDING FOLDER");
        return ExitCode::from(2);
    };
    match write(&recording, Path::new(&folder)) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            println!("{error}");
            ExitCode::FAILURE
        }
    }
}

fn write(recording: &str, folder: &Path) -> Result<(), Box<dyn std::error::Error>> {
    let read = fly::read::read(&std::fs::read(recording)?, None)?.recording;
    std::fs::write(folder.join("table.csv"), fly::export::csv(&read)?)?;
    std::fs::write(folder.join("table.parquet"), fly::export::parquet(&read)?)?;
    Ok(())
}
