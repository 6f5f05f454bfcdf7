//! `eyas new`: a commented aircraft file to fill in.

use std::path::PathBuf;

use aircraft::Layout;
use clap::builder::PossibleValuesParser;
use serde_json::json;

use super::{Answer, usage};
use crate::files;
use crate::tell::Trouble;

/// Write a commented aircraft file to fill in
///
/// Example: eyas new Plover --layout v-tail -o plover.toml
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// Name of the aircraft
    name: String,
    /// How its surfaces are arranged
    #[arg(long, default_value = "conventional", value_parser = PossibleValuesParser::new(Layout::ALL.map(|(_, word)| word)))]
    layout: String,
    /// File to write; must not exist yet
    #[arg(short, long, value_name = "FILE")]
    output: PathBuf,
}

pub(super) fn run(args: &Args) -> Result<Answer, Trouble> {
    let name = args.name.trim();
    if name.is_empty() || name.chars().any(char::is_control) || name.chars().count() > 80 {
        return Err(usage(
            "the name is empty, longer than 80 characters or holds control characters",
            "give it a short name",
        ));
    }
    let layout = Layout::ALL
        .into_iter()
        .find(|(_, word)| *word == args.layout)
        .map_or(Layout::Conventional, |(layout, _)| layout);
    files::write_new(&args.output, aircraft::template::template(layout, name).as_bytes())?;
    let shown = args.output.display();
    Ok(Answer::yes(
        format!(
            "Wrote {shown}: a {} aircraft of invented measures, each with a line on how to take it.\n\
             Put your own in, then: eyas describe {shown}\n",
            layout.word()
        ),
        json!({"file": args.output, "name": name, "layout": layout.word()}),
    ))
}
