//! How fast is a recording read? Reads a file of numbers, `t` and `c1` to `c39`, with all its columns mapped, and
//! prints the best of several times.
//!
//! ```sh
//! cargo run --release -p fly --example read_speed -- FILE.csv [THREADS]
//! ```
//!
//! The file is held in memory before the clock starts; the time is for everything from bytes to checked channels.
#![expect(
    clippy::print_stdout,
    clippy::disallowed_methods,
    reason = "a program that measures reads a file and the clock and prints"
)]

use std::process::ExitCode;
use std::time::Instant;

use fly::csv::read_csv;
use fly::map::{Column, ColumnMap, Entry, TimeForm, TimeSource};
use fly::recording::Quantity;

/// Columns of the file.
const COLUMNS: usize = 40;
/// Times that it is read.
const TIMES: usize = 5;

fn map() -> ColumnMap {
    ColumnMap {
        delimiter: b',',
        decimal_comma: false,
        comment: None,
        skip_lines: 0,
        header_lines: 1,
        header_in_comment: false,
        time: TimeSource::Column {
            column: Column::Header("t".into()),
            form: TimeForm::Number { seconds: 1.0 },
        },
        entries: (1..COLUMNS)
            .map(|i| {
                let name = format!("c{i}");
                Entry::plain(Column::Header(name.clone()), Quantity::Servo(name), "us")
            })
            .collect(),
    }
}

fn main() -> ExitCode {
    let mut arguments = std::env::args().skip(1);
    let Some(path) = arguments.next() else {
        println!("usage: read_speed FILE.csv [THREADS]");
        return ExitCode::from(2);
    };
    if let Some(threads) = arguments.next().and_then(|n| n.parse().ok())
        && rayon::ThreadPoolBuilder::new().num_threads(threads).build_global().is_err()
    {
        println!("the number of threads cannot be set");
        return ExitCode::from(2);
    }
    let bytes = match std::fs::read(&path) {
        Ok(bytes) => bytes,
        Err(error) => {
            println!("{path}: {error}");
            return ExitCode::from(2);
        }
    };
    let map = map();
    let mut best = f64::INFINITY;
    for _ in 0..TIMES {
        let start = Instant::now();
        match read_csv(&bytes, &map) {
            Ok(r) if r.channels.len() == COLUMNS - 1 && r.flaws.is_empty() => {
                best = best.min(start.elapsed().as_secs_f64());
                std::hint::black_box(&r);
            }
            Ok(r) => {
                println!("{path} was not read whole: {:?}", r.flaws);
                return ExitCode::FAILURE;
            }
            Err(error) => {
                println!("{path}: {error}");
                return ExitCode::FAILURE;
            }
        }
    }
    println!("{:.1}", bytes.len() as f64 / 1e6 / best);
    ExitCode::SUCCESS
}
