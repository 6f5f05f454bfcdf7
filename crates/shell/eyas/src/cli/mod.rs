//! The command line: one file a verb. Text for people on standard output, or with `--json` one document.

mod adopt;
mod backup;
pub(crate) mod card;
mod day;
mod defect;
mod demo;
mod describe;
mod exchange;
mod flights;
mod go_back;
mod launch;
mod learn;
mod learn_handling;
mod log;
mod new;
mod predict;
mod predict_more;
mod read;
mod ready;
mod report;
mod serve;
mod settings;
mod simulate;
mod ticks;
pub(crate) mod words;

use std::io::Write as _;
use std::path::PathBuf;
use std::process::ExitCode;

use clap::{Parser, Subcommand};
use serde_json::Value;

use crate::tell::{Kind, Trouble};

/// From the bench to an everyday aircraft: describe, predict, plan, fly, learn, adopt.
///
/// All numbers are estimates. Local law, the field's rules and a club's instructor come first.
#[derive(Debug, Parser)]
#[command(
    name = "eyas",
    version,
    max_term_width = 110,
    subcommand_required = true,
    arg_required_else_help = true
)]
struct Command {
    /// Print one JSON document and nothing else
    #[arg(long, global = true)]
    json: bool,

    /// The file that holds everything kept [default: eyas/hangar.db in the user's data folder]
    #[arg(long, global = true, value_name = "FILE")]
    hangar: Option<PathBuf>,

    #[command(subcommand)]
    verb: Verb,
}

#[derive(Debug, Subcommand)]
enum Verb {
    Demo(demo::Args),
    New(new::Args),
    Describe(describe::Args),
    Predict(predict::Args),
    Launch(Box<launch::Args>),
    Day(Box<day::Args>),
    Ready(ready::Args),
    Card(Box<card::Args>),
    Read(read::Args),
    Learn(learn::Args),
    Adopt(adopt::Args),
    Flights(flights::Args),
    Serve(serve::Args),
    Settings(settings::Args),
    Defect(defect::Args),
    Log(log::Args),
    Ticks(ticks::Args),
    Report(report::Args),
    Backup(backup::Args),
    Restore(exchange::RestoreArgs),
    Export(exchange::ExportArgs),
    Import(exchange::ImportArgs),
    Simulate(simulate::Args),
}

/// What every verb is told besides its own options.
#[derive(Debug)]
pub(crate) struct Common {
    /// Where the hangar is.
    pub(crate) hangar: Option<PathBuf>,
    /// Whether a script asked.
    pub(crate) json: bool,
}

/// What a verb answers.
pub(crate) struct Answer {
    /// For people.
    pub(crate) text: String,
    /// For scripts.
    pub(crate) json: Value,
    /// Whether the answer is no (exit status 1).
    pub(crate) no: bool,
}

impl Answer {
    /// An answer that is not a no.
    pub(crate) fn yes(text: String, json: Value) -> Self {
        Self { text, json, no: false }
    }
}

/// Runs the command line of this process.
pub(crate) fn run() -> ExitCode {
    let command = match Command::try_parse() {
        Ok(command) => command,
        Err(error) => {
            // clap tells help on standard output and wrong usage on standard error.
            let _ = error.print();
            return ExitCode::from(u8::from(error.use_stderr()) * 2);
        }
    };
    let common = Common { hangar: command.hangar, json: command.json };
    let answered = match &command.verb {
        Verb::Demo(args) => demo::run(args, &common),
        Verb::New(args) => new::run(args),
        Verb::Describe(args) => describe::run(args, &common),
        Verb::Predict(args) => predict::run(args, &common),
        Verb::Launch(args) => launch::run(args, &common),
        Verb::Day(args) => day::run(args, &common),
        Verb::Ready(args) => ready::run(args, &common),
        Verb::Card(args) => card::run(args, &common),
        Verb::Read(args) => read::run(args),
        Verb::Learn(args) => learn::run(args, &common),
        Verb::Adopt(args) => adopt::run(args, &common),
        Verb::Flights(args) => flights::run(args, &common),
        Verb::Serve(args) => serve::run(args, &common),
        Verb::Settings(args) => settings::run(args, &common),
        Verb::Defect(args) => defect::run(args, &common),
        Verb::Log(args) => log::run(args, &common),
        Verb::Ticks(args) => ticks::run(args, &common),
        Verb::Report(args) => report::run(args, &common),
        Verb::Backup(args) => backup::run(args, &common),
        Verb::Restore(args) => exchange::restore(args, &common),
        Verb::Export(args) => exchange::export(args, &common),
        Verb::Import(args) => exchange::import(args, &common),
        Verb::Simulate(args) => simulate::run(args, &common),
    };
    let (out, status) = match &answered {
        // What a verb told while it went on is not told again at its end.
        Ok(answer) if answer.json.is_null() => (String::new(), u8::from(answer.no)),
        Ok(answer) if common.json => (pretty(&answer.json), u8::from(answer.no)),
        Ok(answer) => (answer.text.clone(), u8::from(answer.no)),
        Err(trouble) => {
            let _ = std::io::stderr().write_all(trouble.text().as_bytes());
            (if common.json { pretty(&trouble.json()) } else { String::new() }, trouble.exit_status())
        }
    };
    // A reader that closed the pipe (`| head`) has what it wanted.
    let _ = std::io::stdout().write_all(out.as_bytes());
    ExitCode::from(status)
}

fn pretty(value: &Value) -> String {
    format!("{value:#}\n")
}

/// Milliseconds since the epoch: the one clock of the program.
pub(crate) fn now_ms() -> i64 {
    jiff::Timestamp::now().as_millisecond()
}

/// A number as people type it on a command line; a decimal comma is told, not guessed.
pub(crate) fn decimal(typed: &str) -> Result<f64, String> {
    match typed.trim().parse::<f64>() {
        Ok(number) if number.is_finite() => Ok(number),
        _ if typed.contains(',') => Err(format!("write a decimal point: {}", typed.replace(',', "."))),
        _ => Err("give a number, without a unit".into()),
    }
}

/// Wrong usage that clap cannot see.
pub(crate) fn usage(cause: impl Into<String>, remedy: impl Into<String>) -> Trouble {
    Trouble::new(Kind::Input, "the command cannot be run as it stands", cause, remedy)
}
