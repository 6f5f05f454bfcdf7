//! What stands around every page? The way through the round, the look, and what the step before had to say.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use crate::tell::Trouble;
use crate::web::ask::{Ask, Theme};
use crate::web::assets;
use crate::web::fields::{FORM_KEY, encoded};
use crate::web::glossary;

/// Steps of the round that an aircraft has a page for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Step {
    /// Where it stands.
    Round,
    /// What have I built?
    Describe,
    /// Will it fly, and how?
    Predict,
    /// Will my throw work?
    Launch,
    /// Is it a day for it?
    Day,
    /// Am I ready?
    Ready,
    /// What do I fly?
    Card,
    /// What came back, what it taught, what I change.
    Flights,
    /// What is kept.
    Keep,
}

impl Step {
    /// All of them in the order of the round: path, name, the question it answers.
    pub(crate) const ALL: [(Self, &'static str, &'static str, &'static str); 9] = [
        (Self::Round, "", "Round", "Where does it stand?"),
        (Self::Describe, "describe", "Describe", "What have I built?"),
        (Self::Predict, "predict", "Predict", "Will it fly, and how?"),
        (Self::Launch, "launch", "Launch", "Will my throw work?"),
        (Self::Day, "day", "Day", "Is it a day for it?"),
        (Self::Ready, "ready", "Ready", "Am I ready?"),
        (Self::Card, "card", "Card", "What do I fly, in what order?"),
        (Self::Flights, "flights", "Learn", "What did it really do, and what do I change?"),
        (Self::Keep, "keep", "Keep", "What is kept, what is grounded?"),
    ];

    /// Address of an aircraft's page of this step.
    pub(crate) fn path(self, aircraft: &str) -> String {
        let step = Self::ALL.iter().find(|(s, ..)| *s == self).map_or("", |(_, path, ..)| path);
        let name = encoded(aircraft);
        if step.is_empty() { format!("/aircraft/{name}") } else { format!("/aircraft/{name}/{step}") }
    }
}

/// Where a page stands.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Place<'a> {
    /// The hangar.
    Hangar,
    /// A step of an aircraft's round.
    Of(&'a str, Step),
    /// Words.
    Words,
    /// None of these.
    Elsewhere,
}

/// What stands before and behind the body of a page.
pub(crate) fn frame(ask: &Ask, title: &str, place: &Place<'_>) -> (String, String) {
    const BODY: &str = "\u{0}body\u{0}";
    let whole = whole(ask, title, place, &PreEscaped(BODY.to_owned())).into_string();
    match whole.split_once(BODY) {
        Some((head, tail)) => (head.to_owned(), tail.to_owned()),
        None => (whole, String::new()),
    }
}

fn whole(ask: &Ask, title: &str, place: &Place<'_>, body: &Markup) -> Markup {
    let full = match place {
        Place::Of(aircraft, _) => format!("{title} · {aircraft}"),
        _ => title.to_owned(),
    };
    html! {
        (DOCTYPE)
        html lang="en" data-theme=(ask.theme.word()) data-units=(ask.units.word()) {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content=(if ask.theme == Theme::Dark { "dark" } else if ask.theme == Theme::Auto { "light dark" } else { "light" });
                // The library may neither run text as a program nor write styles into the page: the policy forbids both.
                meta name="htmx-config" content=r#"{"allowEval":false,"includeIndicatorStyles":false,"includeAspectRatioStyles":false,"selfRequestsOnly":true,"historyCacheSize":0,"responseHandling":[{"code":"204","swap":false},{"code":"[2345]..","swap":true}]}"#;
                title { (full) " · eyas" }
                link rel="icon" type="image/svg+xml" href=(assets::path("icon.svg"));
                link rel="stylesheet" href=(assets::path("app.css"));
                script defer src=(assets::path("htmx.js")) {}
                script defer src=(assets::path("app.js")) {}
            }
            body {
                a.skip href="#main" { "Skip to the content" }
                header.top {
                    nav.home aria-label="Everything" {
                        a.brand href="/" aria-current=[matches!(place, Place::Hangar).then_some("page")] { "eyas" span.quiet { " hangar" } }
                        a href="/words" aria-current=[matches!(place, Place::Words).then_some("page")] { "Words" }
                        a href={"/display?back=" (encoded(&ask.path))} { "Display" }
                    }
                    @if let Place::Of(aircraft, step) = place {
                        nav.round aria-label={"Round of " (aircraft)} {
                            span.aircraft { (aircraft) }
                            ol {
                                @for (s, _, name, question) in Step::ALL {
                                    li { a href=(s.path(aircraft)) title=(question) aria-current=[(s == *step).then_some("page")] { (name) } }
                                }
                            }
                        }
                    }
                }
                main id="main" tabindex="-1" {
                    @if let Some(said) = &ask.said { p.said role="status" { (said) } }
                    (body)
                }
                footer {
                    p { (report::page::FOOT) }
                }
            }
        }
    }
}

/// Trouble as a part of a page: what was asked, what it was caused by, what to do.
pub(crate) fn told(trouble: &Trouble) -> Markup {
    html! {
        div.alarm role="alert" {
            h2 { (capital(trouble.asked())) }
            ul { @for cause in trouble.causes() { li.cause { (cause) } } }
            @if !trouble.remedy().is_empty() { p { strong { "What to do: " } (trouble.remedy()) } }
        }
    }
}

/// A sentence's first letter as one.
pub(crate) fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}

/// The hidden field that every form carries.
pub(crate) fn form_key(ask: &Ask) -> Markup {
    html! { input type="hidden" name=(FORM_KEY) value=(ask.form_key); }
}

/// A hard word with its meaning behind it, for whoever asks; where the list of words has it, the way there.
pub(crate) fn word(word: &str, meaning: &str) -> Markup {
    let more = glossary::find(word);
    html! {
        details.word {
            summary { (word) }
            p {
                (meaning)
                @if let Some(more) = more { " " a href={"/words#" (glossary::anchor(more.word))} { "In the list of words" } }
            }
        }
    }
}

/// A hard word with the meaning that the list of words gives it.
pub(crate) fn known_word(word: &str) -> Markup {
    self::word(word, glossary::find(word).map_or("", |found| found.meaning))
}

/// Text of a page with imperial numbers beside the metric ones.
pub(crate) fn imperial(html: &str) -> String {
    crate::web::imperial::imperial(html)
}
