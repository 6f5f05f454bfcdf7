//! One item of a list: what to do, what it must come to, how it stands, and where to tick it or write the number down.

use maud::{Markup, PreEscaped, html};
use plan::ready::{Expects, Place, Standing};
use report::number::readable_unit;
use sky::instant::Instant;

use crate::tasks::readiness::Line;
use crate::web::ask::Ask;
use crate::web::fields::encoded;
use crate::web::shell::{Step, form_key};

/// What the form before had to say of an item.
#[derive(Debug, Clone, Default)]
pub(super) struct Said {
    /// What was typed.
    pub(super) typed: String,
    /// What was wrong with it.
    pub(super) wrong: Option<String>,
}

/// A place in words.
pub(super) fn place_words(place: Place) -> &'static str {
    match place {
        Place::Home => "At home",
        Place::Field => "At the field",
        Place::Launch => "Before the launch",
    }
}

/// Where an item stands on its page.
pub(super) fn anchor(item: &str) -> String {
    let plain = |c: char| if c.is_ascii_alphanumeric() || c == '_' { c } else { '-' };
    format!("i-{}", item.chars().map(plain).collect::<String>())
}

/// How an item stands, in a word.
pub(super) fn state(standing: Standing) -> Markup {
    html! { span class={ "state " (standing.word()) } { (standing.word()) } }
}

/// An item. `again`: it takes the place of the one on the page, and is told to whoever listens.
pub(super) fn item_part(
    ask: &Ask,
    name: &str,
    line: &Line,
    by: &str,
    pictures: &[(&'static str, String)],
    said: &Said,
    again: bool,
) -> Markup {
    let item = &line.item;
    let at = anchor(&item.id);
    let picture = item
        .id
        .starts_with("direction.")
        .then(|| pictures.iter().find(|(stick, _)| item.title.starts_with(&format!("{stick}:"))))
        .flatten();
    let settled = line.standing == Standing::Passed && said.wrong.is_none();
    html! {
        li id=(at) class={ "check " (line.standing.word()) } {
            h3 { (item.title) " " (state(line.standing)) }
            @if let Some(last) = &line.last {
                @let who = if last.signed_by.is_empty() { "nobody's name" } else { last.signed_by.as_str() };
                p.signed role=[again.then_some("status")] {
                    (line.words) " · signed " (who) ", " (Instant::from_unix_s(last.at_ms.div_euclid(1000)).date_and_clock())
                }
                @if let Some(why) = line.stale { p.stale { strong { "Look again: " } (why) "." } }
            }
            @if settled {
                details {
                    summary { "Look again" }
                    (asked(ask, name, line, by, said))
                }
            } @else {
                @if let Some((_, svg)) = picture { figure { (PreEscaped(svg)) } }
                (asked(ask, name, line, by, said))
            }
        }
    }
}

/// What to do, and where to tick it.
fn asked(ask: &Ask, name: &str, line: &Line, by: &str, said: &Said) -> Markup {
    let item = &line.item;
    let at = anchor(&item.id);
    let path = Step::Ready.path(name);
    let wrong = said.wrong.as_deref();
    html! {
        p { (item.how) }
        @if !matches!(item.expects, Expects::Done) { p { "It must be: " strong { (item.expects.words()) } } }
        form method="post" action=(path) hx-post=(path) hx-target="closest li" hx-swap="outerHTML" hx-sync="this:drop" {
            (form_key(ask))
            input type="hidden" name="item" value=(item.id);
            input type="hidden" name="by" value=(by);
            @match &item.expects {
                Expects::Done => {
                    div.buttons {
                        button name="value" value="done" { "Done" span.unseen { ": " (item.title) } }
                        button.grave name="value" value="failed" { "Failed" span.unseen { ": " (item.title) } }
                    }
                    details {
                        summary { "With a note" }
                        label for={ (at) "-note" } { "Note" }
                        input type="text" id={ (at) "-note" } name="note" autocomplete="off" maxlength="300";
                    }
                },
                Expects::Between { unit, may_be_absent, .. } => {
                    (measured(name, line, unit, said))
                    @if *may_be_absent { p.hint { "Not fitted: write none." } }
                },
                Expects::Unknown { unit, .. } => (measured(name, line, unit, said)),
            }
            @if let Some(wrong) = wrong { p.wrong id={ (at) "-wrong" } role="alert" { (wrong) } }
        }
    }
}

/// A number, judged while it is typed.
fn measured(name: &str, line: &Line, unit: &str, said: &Said) -> Markup {
    let item = &line.item;
    let at = anchor(&item.id);
    let absent = matches!(item.expects, Expects::Between { may_be_absent: true, .. });
    html! {
        label for={ (at) "-value" } { "Measured" span.unseen { ": " (item.title) } }
        div.unit {
            input type="text" id={ (at) "-value" } name="value" value=(said.typed) autocomplete="off"
                inputmode=[(!absent).then_some("decimal")]
                aria-invalid=[said.wrong.is_some().then_some("true")]
                aria-describedby={ (at) "-judged" @if said.wrong.is_some() { " " (at) "-wrong" } }
                hx-get={ (Step::Ready.path(name)) "/judge?item=" (encoded(&item.id)) } hx-trigger="input changed delay:200ms"
                hx-sync="this:replace" hx-target="next .judged" hx-swap="innerHTML";
            @if !unit.is_empty() { span { (readable_unit(unit)) } }
            button { "Keep" span.unseen { ": " (item.title) } }
        }
        p.judged id={ (at) "-judged" } aria-live="polite" {}
    }
}
