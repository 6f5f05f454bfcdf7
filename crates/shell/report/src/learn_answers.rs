//! What was answered beyond wind, attitude and trims, on what evidence, and what more is to be flown?

use learn::answers::{Answer, Estimate, Evidence, Told};
use learn::findings::Findings;
use learn::more::more_to_fly;
use maud::{Markup, html};

use crate::learn_page::{not_learnt, verdict};
use crate::number;
use crate::page::figure;
use crate::plot::{Look, Plot};
use crate::seconds::{Seconds, channels_of};

/// More points than this are not seen at the size drawn.
const MOST_POINTS: usize = 700;

/// Every answer with its evidence.
pub(crate) fn answers(findings: &Findings, seconds: Seconds<'_>) -> Markup {
    html! {
        @for answer in &findings.answers {
            h2 { (answer.title) }
            (one(answer, seconds))
        }
    }
}

fn one(answer: &Answer, seconds: Seconds<'_>) -> Markup {
    html! {
        @match &answer.told {
            Err(why) => (not_learnt(why)),
            Ok(told) => (told_part(told, seconds, channels_of(answer.key))),
        }
    }
}

fn told_part(told: &Told, seconds: Seconds<'_>, channels: &str) -> Markup {
    html! {
        (table(&told.estimates))
        @for (k, estimate) in told.estimates.iter().enumerate() {
            @if k == 0 || told.estimates[..k].iter().all(|e| e.finding.verdict != estimate.finding.verdict) {
                @if k > 0 { p { strong { (number::sentence(&capital(&estimate.words))) } } }
                (verdict(&estimate.finding, seconds, channels))
            }
        }
        @for sentence in &told.sentences { p { (number::sentence(sentence)) } }
        @if !told.evidence.is_empty() {
            div.plots {
                @for evidence in &told.evidence {
                    (figure(plot(evidence), &evidence.what))
                    @if let Some(left) = residuals(evidence) { (figure(left, "")) }
                }
            }
        }
    }
}

fn table(estimates: &[Estimate]) -> Markup {
    let predicted = estimates.iter().any(|e| e.predicted.is_some());
    html! {
        table.stack {
            thead { tr { th { "What" } th { "Flown" } @if predicted { th.unbroken { "Known before" } th.unbroken { "They" } } } }
            tbody {
                @for e in estimates {
                    tr {
                        th scope="row" { (capital(&e.words)) }
                        td data-name="Flown" {
                            (number::finding(&e.finding, e.unit))
                            @if !e.finding.enough { " (not enough)" }
                        }
                        @if predicted {
                            td data-name="Known before" {
                                @match e.predicted {
                                    Some(p) => (number::with_doubt(p.value, p.sd, e.unit)),
                                    None => "–",
                                }
                            }
                            td.unbroken data-name="They" {
                                @match e.agrees() { Some(true) => "agree", Some(false) => "differ", None => "–" }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// What more to fly, one line a question.
pub(crate) fn more(findings: &Findings) -> Markup {
    let more = more_to_fly(findings);
    html! {
        @if more.is_empty() {
            p { "Nothing: every question that was put to the recording has its answer." }
        } @else {
            ul { @for m in &more { li { strong { (m.title) } ": " (number::sentence(&m.what)) } } }
        }
    }
}

fn thinned(points: &[[f64; 2]]) -> Vec<[f64; 2]> {
    let stride = points.len().div_ceil(MOST_POINTS).max(1);
    points.iter().step_by(stride).copied().collect()
}

/// Data, fit and doubt of a piece of evidence.
fn plot(evidence: &Evidence) -> String {
    let mut plot = Plot::new(&evidence.title, &evidence.what, &evidence.x, &evidence.y);
    if evidence.doubt.len() == evidence.fit.len() && evidence.doubt.iter().any(|d| *d > 0.0) {
        let edge =
            |sign: f64| evidence.fit.iter().zip(&evidence.doubt).map(move |(p, d)| [p[0], p[1] + sign * d]);
        let mut band: Vec<[f64; 2]> = edge(1.0).collect();
        let below: Vec<[f64; 2]> = edge(-1.0).collect();
        band.extend(below.into_iter().rev());
        plot = plot.with("± 2 standard deviations", Look::Band, band);
    }
    plot = plot.with("recorded", Look::Points, thinned(&evidence.data));
    if !evidence.fit.is_empty() {
        plot = plot.with("fit", Look::Line, evidence.fit.clone());
    }
    if let Some((words, at, doubt)) = &evidence.mark {
        plot = plot.mark(words, *at, *doubt);
    }
    plot.draw()
}

/// What the fit leaves over; none where there is no fit.
fn residuals(evidence: &Evidence) -> Option<String> {
    if evidence.residuals.is_empty() {
        return None;
    }
    let ends = evidence
        .residuals
        .iter()
        .map(|r| r[0])
        .filter(|x| x.is_finite())
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), x| (l.min(x), h.max(x)));
    let plot = Plot::new(
        &format!("{}: what the fit leaves over", evidence.title),
        "Recorded less fitted; a pattern here would mean that the form of the fit is wrong.",
        &evidence.x,
        &format!("Left over, {}", evidence.y.rsplit_once(", ").map_or(evidence.y.as_str(), |(_, unit)| unit)),
    )
    .with("recorded less fit", Look::Points, thinned(&evidence.residuals))
    .with("", Look::Line, vec![[ends.0, 0.0], [ends.1, 0.0]]);
    Some(plot.draw())
}
