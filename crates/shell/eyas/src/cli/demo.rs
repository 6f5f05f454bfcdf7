//! `eyas demo`: one whole round on an invented aircraft.

use std::fmt::Write as _;
use std::io::IsTerminal as _;
use std::path::PathBuf;

use indicatif::{ProgressBar, ProgressStyle};

use super::words::paragraph;
use super::{Answer, Common, now_ms, usage};
use crate::tasks::demonstrate::demonstrate;
use crate::tell::Trouble;

/// Fly one whole round on an invented aircraft and leave its report
///
/// Example: eyas demo --into demo
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// Folder for everything it leaves
    #[arg(long, value_name = "DIR", default_value = "demo")]
    into: PathBuf,
}

pub(super) fn run(args: &Args, common: &Common) -> Result<Answer, Trouble> {
    if common.hangar.is_some() {
        return Err(usage(
            "the demo keeps a hangar of its own",
            "leave --hangar out; afterwards use --hangar DIR/hangar.db",
        ));
    }
    let bar =
        if std::io::stderr().is_terminal() { ProgressBar::new_spinner() } else { ProgressBar::hidden() };
    if let Ok(style) = ProgressStyle::with_template("{spinner} {msg}") {
        bar.set_style(style);
    }
    bar.enable_steady_tick(std::time::Duration::from_millis(120));
    let story = demonstrate(&args.into, now_ms(), &mut |step| bar.set_message(step.to_owned()));
    bar.finish_and_clear();
    let story = story?;
    let mut text =
        String::from("One round with an invented aircraft, in simulated flights with hidden errors.\n");
    for (title, words) in &story.steps {
        let _ = writeln!(text, "\n{title}");
        for sentence in words {
            text.push_str(&paragraph(sentence, "  ", 100));
        }
    }
    let folder = story.folder.display();
    let _ = write!(
        text,
        "\nEverything is in {folder}. Open {folder}/report.html in a browser for the whole story, {folder}/card.html on a\n\
         phone for the next flight. The same in a browser, to go on from there: eyas serve --hangar {folder}/hangar.db\n\
         All numbers are estimates. Local law, the field's rules and a club's instructor come first.\n"
    );
    Ok(Answer::yes(text, story.json))
}
