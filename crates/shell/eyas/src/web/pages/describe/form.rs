//! How does the description look as a form? Sections by question, generated from the file's own text.

use aircraft::schema::units::Quantity;
use maud::{Markup, PreEscaped, html};

use super::asked::{Answer, Entry, asked};
use super::faults::Told;
use super::parts;
use crate::tasks::amend::{As, Sheet};
use crate::web::ask::Ask;
use crate::web::shell::{Step, capital, form_key};

/// A description that is being worked on.
pub(super) struct Draft<'a> {
    /// Who asks.
    pub(super) ask: &'a Ask,
    /// The aircraft, by the hangar's name.
    pub(super) name: &'a str,
    /// Revision that it was made from.
    pub(super) base: u32,
    /// The text as it stands.
    pub(super) sheet: &'a Sheet,
    /// What is wrong with it.
    pub(super) told: &'a Told,
    /// What the drawing shows.
    pub(super) look: Markup,
    /// Whether it differs from what is kept.
    pub(super) changed: bool,
    /// Field that is typed in next: the first of a row that was just added.
    pub(super) fresh: Option<&'a str>,
}

/// An address inside a page.
pub(super) fn id_of(path: &str) -> String {
    let plain: String =
        path.chars().map(|c| if c.is_ascii_alphanumeric() || c == '_' { c } else { '-' }).collect();
    format!("f-{plain}")
}

/// A path below a table.
pub(super) fn below(table: &str, part: &str) -> String {
    if table.is_empty() { part.to_owned() } else { format!("{table}.{part}") }
}

/// What is wrong at a path, in a place that a later look can write into.
pub(super) fn wrong(told: &Told, path: &str) -> Markup {
    html! { p.wrong id={"w-" (id_of(path))} { (told.at(path).join(" ")) } }
}

impl Draft<'_> {
    /// One value.
    fn field(&self, table: &str, entry: &Entry, key: &str) -> Markup {
        let unit = match entry.answer {
            Answer::Measure(..) => entry.unit_of(key),
            _ => String::new(),
        };
        let path = below(table, key);
        self.value(&path, entry.label, &unit, entry.help, entry.kind(), Some(entry.answer))
    }

    fn value(
        &self,
        path: &str,
        label: &str,
        unit: &str,
        help: &str,
        kind: As,
        answer: Option<Answer>,
    ) -> Markup {
        let id = id_of(path);
        let fresh = self.fresh == Some(path);
        let shown = self.sheet.shown(path).unwrap_or_default();
        let letter = match kind {
            As::Number => 'n',
            As::Text => 't',
            As::Flag => 'b',
        };
        let field_name = format!("{letter}:{path}");
        let is_wrong = !self.told.at(path).is_empty();
        let described = format!("h-{id} w-{id}");
        html! {
            div.field {
                label for=(id) { (label) }
                @match answer {
                    Some(Answer::OneOf(choices)) => {
                        select id=(id) name=(field_name) aria-invalid=[is_wrong.then_some("true")] aria-describedby=(described) {
                            option value="" selected[shown.is_empty()] { "not said" }
                            @for choice in choices { option value=(choice) selected[same_word(choice, &shown)] { (choice) } }
                            @if !shown.is_empty() && !choices.iter().any(|c| same_word(c, &shown)) {
                                option value=(shown) selected { (shown) }
                            }
                        }
                    },
                    Some(Answer::YesNo) => {
                        select id=(id) name=(field_name) aria-invalid=[is_wrong.then_some("true")] aria-describedby=(described) {
                            option value="" selected[shown.is_empty()] { "not said" }
                            option value="true" selected[shown == "true"] { "yes" }
                            option value="false" selected[shown == "false"] { "no" }
                            @if !["", "true", "false"].contains(&shown.as_str()) { option value=(shown) selected { (shown) } }
                        }
                    },
                    _ => div.unit {
                        input id=(id) name=(field_name) value=(shown) autocomplete="off" spellcheck="false" autofocus[fresh]
                            inputmode=[unsigned(answer).then_some("decimal")]
                            aria-invalid=[is_wrong.then_some("true")] aria-describedby=(described);
                        @if !unit.is_empty() { span { (unit) } }
                    },
                }
                @if !help.is_empty() { p.hint id={"h-" (id)} { (help) } }
                (wrong(self.told, path))
            }
        }
    }

    /// All values of a table; those of later rows of a list keep their help for those who listen.
    pub(super) fn table(&self, table: &str, again: bool) -> Markup {
        let asked = asked(self.sheet, table);
        let fields = if again { "fields again" } else { "fields" };
        html! {
            (wrong(self.told, table))
            div class=(fields) { @for (entry, key) in &asked.now { (self.field(table, entry, key)) } }
            @if !asked.more.is_empty() || !asked.others.is_empty() {
                details.more open[self.told.any_of(table, asked.more.iter().map(|(_, k)| k.as_str()))] {
                    summary { "More" }
                    div.fields {
                        @for (entry, key) in &asked.more { (self.field(table, entry, key)) }
                        @for key in &asked.others {
                            @let path = below(table, key);
                            @let kind = self.sheet.kind(&path).unwrap_or(As::Text);
                            @if !(table.is_empty() && (key == "format" || key == "name")) {
                                (self.value(&path, key, "", "As the file says it.", kind, None))
                            }
                        }
                    }
                }
            }
        }
    }

    /// A table that may be missing, behind its question.
    pub(super) fn optional(
        &self,
        table: &str,
        question: &str,
        intro: &str,
        drawing: Option<String>,
    ) -> Markup {
        html! {
            details.more open[self.sheet.has_table(table) || self.told.any_below(table)] {
                summary { (question) }
                @if !intro.is_empty() { p { (intro) } }
                @if let Some(svg) = drawing { div.pictures { figure { (PreEscaped(svg)) } } }
                (self.table(table, false))
            }
        }
    }

    /// Whether what is typed in next stands below a table.
    fn is_fresh(&self, table: &str) -> bool {
        !table.is_empty() && self.fresh.is_some_and(|path| path.starts_with(table))
    }

    /// Changes rows, with all that is typed.
    pub(super) fn act(&self, act: &str, words: &str) -> Markup {
        html! {
            button.second type="submit" name="act" value=(act) hx-post=(Step::Describe.path(self.name)) hx-target="#form"
                hx-swap="outerHTML" { (words) }
        }
    }

    /// The rows of a list, each with its values and what follows them.
    pub(super) fn rows(
        &self,
        list: &str,
        what: &str,
        between: bool,
        after: &dyn Fn(usize, &str) -> Markup,
    ) -> Markup {
        let count = self.sheet.count(list);
        html! {
            @for index in 0..count {
                @let table = format!("{list}.{index}");
                @let title = match self.sheet.shown(&below(&table, "name")) {
                    Some(name) if !name.is_empty() => name,
                    _ => format!("{what} {}", index + 1),
                };
                fieldset.item id=(id_of(&table)) {
                    legend { (title) }
                    (self.table(&table, index > 0))
                    (after(index, &table))
                    div.buttons {
                        @if between && index + 1 < count {
                            (self.act(&format!("add:{list}:{index}"), &format!("Add a {what} between this and the next")))
                        }
                        (self.act(&format!("drop:{table}"), &format!("Take {title} away")))
                    }
                }
            }
        }
    }
}

/// Whether a number is never negative: then a phone's keyboard needs no minus sign, which most of them lack.
fn unsigned(answer: Option<Answer>) -> bool {
    match answer {
        Some(Answer::Whole) => true,
        Some(Answer::Measure(quantity, _)) => {
            !matches!(quantity, Quantity::Length | Quantity::Angle | Quantity::Share | Quantity::Plain)
        }
        _ => false,
    }
}

/// Whether a written word is a choice, as the reader of files takes it.
fn same_word(choice: &str, written: &str) -> bool {
    let plain = |w: &str| w.trim().to_lowercase().replace([' ', '_'], "-");
    plain(choice) == plain(written)
}

/// A section of the form.
pub(super) struct Part {
    /// Its place in the page.
    pub(super) id: &'static str,
    /// Its question.
    pub(super) question: &'static str,
    /// Tables that it asks.
    pub(super) tables: &'static [&'static str],
    /// What to know.
    pub(super) intro: &'static str,
    /// What to beware of.
    pub(super) caution: &'static str,
    /// Drawings of its measures.
    pub(super) drawings: &'static [fn() -> String],
}

/// The whole form.
pub(super) fn form(draft: &Draft<'_>) -> Markup {
    let path = Step::Describe.path(draft.name);
    let text = serde_json::Value::from(draft.sheet.text()).to_string();
    html! {
        form.wide id="form" method="post" action=(path) hx-post={(path) "/look"} hx-trigger="input delay:120ms" hx-target="#look-told"
            hx-sync="this:replace" {
            (form_key(draft.ask))
            input type="hidden" name="base" value=(draft.base);
            input type="hidden" name="text" value=(text);
            // What the enter key does: look, keep nothing.
            button.away type="submit" name="act" value="look" tabindex="-1" aria-hidden="true" { "Look" }
            div.describing {
                div.look tabindex="0" role="region" aria-label="Drawing and main numbers" { (draft.look) }
                div {
                    nav.index aria-label="Questions" {
                        ol { @for part in parts::ALL { li { a href={"#" (part.id)} { (part.question) } } } }
                    }
                    @for (index, part) in parts::ALL.iter().enumerate() {
                        details.part id=(part.id) open[index < 2 || part.tables.iter().any(|t| draft.told.any_below(t) || draft.is_fresh(t))] {
                            summary { h2 { (part.question) } }
                            @if !part.intro.is_empty() { p { (part.intro) } }
                            @if !part.caution.is_empty() { p.warn { strong { "Caution. " } (part.caution) } }
                            @if !part.drawings.is_empty() {
                                div.pictures { @for draw in part.drawings { figure { (PreEscaped(draw())) } } }
                            }
                            (parts::body(draft, part.id))
                        }
                    }
                }
            }
            div.keepbar {
                div.field {
                    label for="note" { "What you changed, in a few words" }
                    input id="note" name="note" maxlength="200" autocomplete="off";
                }
                div.buttons {
                    button type="submit" name="act" value="keep" { "Keep" }
                    noscript { button.second type="submit" name="act" value="look" { "Check and draw" } }
                    a.button.second href=(path) { "Drop what I typed" }
                    span.quiet { @if draft.changed { "Not kept yet; revision " (draft.base) " is in force." } @else { "As kept: revision " (draft.base) "." } }
                }
            }
        }
    }
}

/// The heading of the page and its ways to the file.
pub(super) fn head(name: &str) -> Markup {
    let path = Step::Describe.path(name);
    html! {
        h1 { "What have I built?" }
        p {
            (capital("a ruler, a kitchen scale and something to balance the model on are enough.")) " This form and the "
            a href={(path) "/file"} { "aircraft file" }
            " are the same thing: what you change here changes single numbers there, comments stay. "
            a href={(path) "/revisions"} { "Older revisions" } " are kept."
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ids_hold_nothing_that_a_page_would_take_for_its_own() {
        assert_eq!(id_of("surface.0.station.1.chord_mm"), "f-surface-0-station-1-chord_mm");
        assert_eq!(id_of("mass.0.\"><script>"), "f-mass-0----script-");
    }

    #[test]
    fn words_are_the_same_however_they_are_written() {
        assert!(same_word("open hole", "Open_Hole") && !same_word("hand", "rolling"));
    }

    #[test]
    fn drawings_have_words_for_those_who_do_not_see_them() {
        for draw in parts::ALL.iter().flat_map(|p| p.drawings) {
            let svg = draw();
            assert!(svg.contains("<desc>") && svg.contains("aria-label"));
        }
        assert!(super::super::pictures::places().contains("datum"));
    }
}
