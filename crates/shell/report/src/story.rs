//! How is one whole round told? Parts in the order of the round, joined to one self-contained page with a list of
//! contents.

use maud::{Markup, PreEscaped, html};

use crate::page::page;

/// A part of the story.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// The step of the round ("Predict").
    pub step: String,
    /// The pilot's question ("Will it fly, and how?").
    pub question: String,
    /// What the program answers, in a paragraph or several, plain text.
    pub words: Vec<String>,
    /// The answer's drawings and numbers: HTML that this crate made, or SVG.
    pub body: Body,
}

/// What a part shows beside its words.
#[derive(Debug, Clone, PartialEq)]
pub enum Body {
    /// Nothing.
    Nothing,
    /// A fragment made by this crate.
    Fragment(Fragment),
    /// Drawings made by this crate, each with a caption in plain text.
    Drawings(Vec<(String, String)>),
    /// Names and values in plain text.
    Facts(Vec<(String, String)>),
    /// Plain text as a program printed it.
    Printed(String),
}

/// HTML that this crate made and escaped.
#[derive(Debug, Clone)]
pub struct Fragment(pub(crate) Markup);

impl PartialEq for Fragment {
    fn eq(&self, other: &Self) -> bool {
        self.0.0 == other.0.0
    }
}

impl Fragment {
    /// The predictions of an aircraft.
    #[must_use]
    pub fn predict(aircraft: &aircraft::Aircraft, prediction: &predict::prediction::Prediction) -> Self {
        Self(crate::predict_page::predict_part(aircraft, prediction))
    }

    /// The odds of a launch.
    #[must_use]
    pub fn launch(aircraft: &aircraft::Aircraft, study: &predict::launch::Study) -> Self {
        Self(crate::launch_page::launch_part(aircraft, study))
    }

    /// A card.
    #[must_use]
    pub fn card(card: &plan::card::Card) -> Self {
        Self(crate::card_page::card_short(card))
    }

    /// What a flight taught.
    #[must_use]
    pub fn learn(
        aircraft: &aircraft::Aircraft,
        prediction: Option<&predict::prediction::Prediction>,
        recording: &fly::recording::Recording,
        findings: &learn::findings::Findings,
        flaws: &[fly::recording::Flaw],
    ) -> Self {
        Self(crate::learn_page::learn_part(aircraft, prediction, recording, findings, flaws))
    }
}

const STYLE: &str = "
.step{text-transform:uppercase;letter-spacing:.06em;font-size:.95rem;font-weight:700;margin:2.6rem 0 0;border-top:6px solid var(--ink);padding-top:.6rem}
.step+h2{border:0;margin-top:0;padding-top:0;font-size:1.55rem}
.part h2{font-size:1.15rem;border-top-width:1px}
.contents{columns:2 18rem;list-style:decimal}
pre{background:var(--soft);border:1px solid var(--line);border-radius:.4rem;padding:.6rem .8rem;white-space:pre-wrap;font-size:.9rem}
";

/// One whole round as one page: title, what it is about (plain text), and its parts in order.
#[must_use]
pub fn demo_html(title: &str, introduction: &[String], parts: &[Part]) -> String {
    let body = html! {
        h1 { (title) }
        @for paragraph in introduction { p.lead { (paragraph) } }
        nav aria-label="Contents" {
            ol.contents {
                @for (i, part) in parts.iter().enumerate() {
                    li { a href=(format!("#part-{}", i + 1)) { (part.step) } ": " (part.question) }
                }
            }
        }
        @for (i, part) in parts.iter().enumerate() {
            section id=(format!("part-{}", i + 1)) {
                p.step { (i + 1) ". " (part.step) }
                h2 { (part.question) }
                @for paragraph in &part.words { p { (paragraph) } }
                div.part { (shown(&part.body)) }
            }
        }
    };
    page(title, STYLE, &body)
}

fn shown(body: &Body) -> Markup {
    html! {
        @match body {
            Body::Nothing => {}
            Body::Fragment(fragment) => (fragment.0),
            Body::Drawings(drawings) => div.plots {
                @for (svg, caption) in drawings {
                    figure { (PreEscaped(svg)) @if !caption.is_empty() { figcaption { (caption) } } }
                }
            },
            Body::Facts(pairs) => (crate::page::facts(pairs.iter().map(|(name, value)| (name.as_str(), value.clone())))),
            Body::Printed(text) => pre { (text) },
        }
    }
}
