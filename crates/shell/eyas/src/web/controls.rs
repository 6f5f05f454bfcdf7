//! How is something asked for? A labelled control with its unit and what it means; what was typed stays, and what is wrong
//! with it stands beside it.

use maud::{Markup, html};

use crate::tell::Trouble;
use crate::web::fields::{FORM_KEY, Fields, encoded};

/// What a control takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Takes {
    /// A number from 0 up.
    Number,
    /// A number that may be below 0: the small keyboard of a phone has no minus sign.
    Signed,
    /// Words.
    Words,
    /// Date and time of day.
    Time,
    /// Lines of coded text.
    Lines,
}

/// Something that a form asks for.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Control {
    /// Its name in the address: that of the command line's option.
    pub(crate) name: &'static str,
    /// What it is.
    pub(crate) label: &'static str,
    /// Unit; empty where there is none.
    pub(crate) unit: &'static str,
    /// What it means, and what happens where it is left empty.
    pub(crate) hint: &'static str,
    /// What it takes.
    pub(crate) takes: Takes,
}

/// What is wrong with a form.
#[derive(Debug, Clone, Default)]
pub(crate) struct Wrong {
    beside: Vec<(String, String)>,
    rest: Vec<String>,
}

impl Wrong {
    /// What a task said about the options of a command line, sorted to the fields that stand for them.
    pub(crate) fn of(trouble: &Trouble, controls: &[Control]) -> Self {
        let mut wrong = Self::default();
        for cause in trouble.causes() {
            wrong.take(cause, controls);
        }
        wrong
    }

    /// Something wrong with a field.
    pub(crate) fn add(&mut self, field: &str, what: impl Into<String>) {
        self.beside.push((field.to_owned(), what.into()));
    }

    /// Something wrong that no field is to blame for alone.
    pub(crate) fn beside_none(&mut self, what: impl Into<String>) {
        self.rest.push(what.into());
    }

    /// All that is wrong here and there.
    pub(crate) fn and(mut self, other: Self) -> Self {
        self.beside.extend(other.beside);
        self.rest.extend(other.rest);
        self
    }

    /// Whether nothing is wrong.
    pub(crate) fn is_empty(&self) -> bool {
        self.beside.is_empty() && self.rest.is_empty()
    }

    /// What is wrong with a field.
    pub(crate) fn at<'a>(&'a self, field: &'a str) -> impl Iterator<Item = &'a str> {
        self.beside.iter().filter(move |(name, _)| name == field).map(|(_, what)| what.as_str())
    }

    fn take(&mut self, cause: &str, controls: &[Control]) {
        match in_words(cause, controls) {
            (words, Some(name)) => self.add(name, words),
            (words, None) => self.rest.push(words),
        }
    }

    /// Told above a form, with links to the fields.
    pub(crate) fn part(&self, controls: &[Control]) -> Markup {
        let label = |field: &str| {
            controls.iter().find(|c| c.name == field).map_or_else(|| field.to_owned(), |c| c.label.to_owned())
        };
        let mut fields: Vec<&str> = self.beside.iter().map(|(field, _)| field.as_str()).collect();
        fields.dedup();
        html! {
            @if !self.is_empty() {
                div.alarm role="alert" {
                    h2 { "This cannot be used as it is typed" }
                    ul {
                        @for field in &fields { li { a href={ "#" (field) } { (label(field)) } } }
                        @for what in &self.rest { li { (what) } }
                    }
                    p { "What is wrong stands beside each field; what was typed is still there." }
                }
            }
        }
    }
}

/// A text of the command line with its options as the labels of the fields that stand for them, and the first field named.
pub(crate) fn in_words(text: &str, controls: &[Control]) -> (String, Option<&'static str>) {
    let mut words = String::new();
    let mut first = None;
    let mut rest = text;
    while let Some(at) = rest.find("--") {
        let (before, option) = rest.split_at(at);
        words.push_str(before);
        let option = option.get(2..).unwrap_or_default();
        let end = option.find(|c: char| !(c.is_ascii_alphanumeric() || c == '-')).unwrap_or(option.len());
        let (name, after) = option.split_at(end);
        match controls.iter().find(|c| c.name == name) {
            Some(control) => {
                // At the beginning of a sentence it is its subject, further on it is a name.
                let quoted = !words.is_empty();
                words.push_str(&if quoted {
                    format!("\u{201c}{}\u{201d}", control.label)
                } else {
                    control.label.to_owned()
                });
                first = first.or(Some(control.name));
            }
            None => words.push_str(&format!("--{name}")),
        }
        rest = after;
    }
    words.push_str(rest);
    (words, first)
}

/// A control with its label. `usual` is what holds where it is left empty.
pub(crate) fn control(c: &Control, fields: &Fields, usual: &str, wrong: &Wrong) -> Markup {
    let typed = fields.raw(c.name).unwrap_or_default();
    let told: Vec<&str> = wrong.at(c.name).collect();
    let described = described(c.name, !c.hint.is_empty(), !told.is_empty());
    let invalid = (!told.is_empty()).then_some("true");
    html! {
        div.field {
            label for=(c.name) { (c.label) }
            @match c.takes {
                Takes::Lines => textarea id=(c.name) name=(c.name) rows="4" spellcheck="false" autocapitalize="characters"
                    aria-invalid=[invalid] aria-describedby=[described] { (typed) },
                _ => div.unit {
                    input type=(kind(c.takes, typed)) id=(c.name) name=(c.name) value=(value(c.takes, typed)) autocomplete="off"
                        inputmode=[(c.takes == Takes::Number).then_some("decimal")]
                        placeholder=[(!usual.is_empty()).then_some(usual)]
                        aria-invalid=[invalid] aria-describedby=[described];
                    @if !c.unit.is_empty() { span { (c.unit) } }
                },
            }
            @if !c.hint.is_empty() { p.hint id={ (c.name) "-hint" } { (c.hint) } }
            @if !told.is_empty() { div id={ (c.name) "-wrong" } { @for what in &told { p.wrong { (what) } } } }
        }
    }
}

fn described(name: &str, hint: bool, wrong: bool) -> Option<String> {
    match (hint, wrong) {
        (true, true) => Some(format!("{name}-hint {name}-wrong")),
        (true, false) => Some(format!("{name}-hint")),
        (false, true) => Some(format!("{name}-wrong")),
        (false, false) => None,
    }
}

/// Whether a time is written as a browser's picker writes it: without saying by which clock.
pub(crate) fn of_a_picker(typed: &str) -> bool {
    typed.len() == 16
        && typed.bytes().enumerate().all(|(i, b)| match i {
            4 | 7 => b == b'-',
            10 => b == b'T',
            13 => b == b':',
            _ => b.is_ascii_digit(),
        })
}

/// A browser shows its own picker for a time, and nothing at all for a time that it cannot read: that one stays text.
fn kind(takes: Takes, typed: &str) -> &'static str {
    let shown = typed.is_empty() || of_a_picker(typed.trim_end_matches('Z'));
    if takes == Takes::Time && shown { "datetime-local" } else { "text" }
}

fn value(takes: Takes, typed: &str) -> &str {
    if takes == Takes::Time && kind(takes, typed) != "text" { typed.trim_end_matches('Z') } else { typed }
}

/// One of several: value and words of each.
pub(crate) fn choice(
    name: &str,
    question: &str,
    options: &[(&str, &str)],
    chosen: &str,
    hint: &str,
    wrong: &Wrong,
) -> Markup {
    html! {
        fieldset id=(name) {
            legend { (question) }
            @for (value, words) in options {
                label.tick { input type="radio" name=(name) value=(value) checked[*value == chosen]; (words) }
            }
            @if !hint.is_empty() { p.hint { (hint) } }
            @for what in wrong.at(name) { p.wrong { (what) } }
        }
    }
}

/// Fields without the form's key and without what was left empty, as they stand behind a question mark.
pub(crate) fn query(fields: &Fields) -> String {
    fields
        .iter()
        .filter(|(name, value)| *name != FORM_KEY && !value.trim().is_empty())
        .map(|(name, value)| format!("{}={}", encoded(name), encoded(value.trim())))
        .collect::<Vec<_>>()
        .join("&")
}

/// A path with these fields behind it.
pub(crate) fn address(path: &str, fields: &Fields) -> String {
    let query = query(fields);
    if query.is_empty() { path.to_owned() } else { format!("{path}?{query}") }
}

/// Fields carried along in a form.
pub(crate) fn carried(fields: &Fields) -> Markup {
    html! {
        @for (name, value) in fields.iter().filter(|(name, value)| *name != FORM_KEY && !value.trim().is_empty()) {
            input type="hidden" name=(name) value=(value);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tell::Kind;

    const ALL: [Control; 2] = [
        Control {
            name: "wind",
            label: "Mean wind",
            unit: "m/s",
            hint: "Over a minute.",
            takes: Takes::Number,
        },
        Control { name: "gust", label: "Strongest gust", unit: "m/s", hint: "", takes: Takes::Number },
    ];

    #[test]
    fn what_a_task_says_of_an_option_stands_beside_its_field_in_the_fields_own_words() {
        let trouble = Trouble::many(
            Kind::Input,
            "no",
            vec![
                "--gust 3 is below --wind 5: the gust is the strongest wind".into(),
                "nothing to do with it".into(),
            ],
            "",
        );
        let wrong = Wrong::of(&trouble, &ALL);
        assert_eq!(
            wrong.at("gust").collect::<Vec<_>>(),
            ["Strongest gust 3 is below \u{201c}Mean wind\u{201d} 5: the gust is the strongest wind"]
        );
        assert_eq!(wrong.at("wind").count(), 0);
        let page = wrong.part(&ALL).into_string();
        assert!(page.contains("href=\"#gust\"") && page.contains("nothing to do with it"), "{page}");
    }

    #[test]
    fn what_was_typed_stays_escaped_and_its_fault_is_tied_to_it() {
        let fields = Fields::read("wind=%3Cscript%3E");
        let mut wrong = Wrong::default();
        wrong.add("wind", "no number");
        let page = control(&ALL[0], &fields, "4.2", &wrong).into_string();
        assert!(page.contains("value=\"&lt;script&gt;\"") && !page.contains("<script>"), "{page}");
        assert!(
            page.contains("aria-invalid=\"true\"")
                && page.contains("aria-describedby=\"wind-hint wind-wrong\"")
        );
        assert!(page.contains("placeholder=\"4.2\"") && page.contains("id=\"wind-wrong\""));
    }

    #[test]
    fn an_address_carries_what_was_typed_and_no_key() {
        let fields = Fields::read("form_key=abc&wind=4&gust=&metar=A+B%26C");
        assert_eq!(address("/x", &fields), "/x?wind=4&metar=A%20B%26C");
        assert_eq!(address("/x", &Fields::default()), "/x");
    }

    #[test]
    fn a_time_that_a_picker_cannot_show_stays_as_text() {
        let at = Control { name: "at", label: "When", unit: "", hint: "", takes: Takes::Time };
        let page = |typed: &str| {
            control(&at, &Fields::of(vec![("at".into(), typed.into())]), "", &Wrong::default()).into_string()
        };
        assert!(
            page("2026-06-21T13:00Z")
                .contains("type=\"datetime-local\" id=\"at\" name=\"at\" value=\"2026-06-21T13:00\"")
        );
        assert!(page("2026-06-21T13:00+02:00").contains("type=\"text\""));
        assert!(page("noon").contains("value=\"noon\""));
    }
}
