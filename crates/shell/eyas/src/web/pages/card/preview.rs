//! What would the card say? Its points in short, and what is left out with the reason for each.

use maud::{Markup, html};
use plan::card::{Card, Point};
use plan::day::Verdict;
use report::number::{about, duration};

use super::super::day::asked::plainly;

/// A card before it is issued.
pub(super) fn part(card: &Card) -> Markup {
    let flown = card.points.iter().filter(|p| !p.on_ground).count();
    html! {
        h2 { (card.title) }
        @if let Some(day) = &card.day {
            section class={ "verdict v-" (day.verdict.word()) } {
                p.big { (match day.verdict {
                    Verdict::Go => "Go: nothing that is known stands against it",
                    Verdict::Part => "Part of the plan",
                    Verdict::NoGo => "No-go: nothing is flown, checks on the ground remain",
                }) }
                p { (day.at) }
                @if !day.reasons.is_empty() { ul { @for reason in &day.reasons { li { (plainly(reason)) } } } }
                @for line in &day.loosened { p { strong { (line) } } }
            }
        }
        p { (card.points.len() - flown) " checks on the ground, " (flown) " points in the air, " (duration(card.planned_s)) " of flight planned."
            @if let (Some(planned), Some(allowed)) = (card.planned_cruise_s, card.allowed_s) {
                " It takes as much from the pack as " (about(planned)) " of cruise; the pack allows " (about(allowed)) " with its reserve kept."
            }
        }
        @if !card.bench_work.is_empty() {
            div.warn {
                h3 { "On the bench first" }
                ul { @for line in &card.bench_work { li { (line) } } }
            }
        }
        ol.points { @for point in &card.points { (point_part(card, point)) } }
        @if !card.left_out.is_empty() {
            h3 { "Left out, and why" }
            dl.left { @for (why, titles) in left_out(card) { dt { (titles.join(", ")) } dd { (plainly(why)) } } }
        }
        details {
            summary { "Cautions and what to do when it goes wrong, as they stand on the card" }
            ul { @for caution in &card.cautions { li { (plainly(caution)) } } }
            dl.left { @for (what, act) in &card.emergencies { dt { (what) } dd { (act) } } }
        }
    }
}

fn point_part(card: &Card, point: &Point) -> Markup {
    let only = card.day.as_ref().and_then(|d| d.conditions.iter().find(|(id, _)| *id == point.id));
    html! {
        li {
            p { strong { (point.title) } " "
                span.quiet { @if point.on_ground { "on the ground" } @else { (point.acts) } ", " (duration(point.duration_s)) } }
            p { (point.purpose) }
            @if !point.expect.is_empty() {
                p.note { "Expect: " @for (i, fact) in point.expect.iter().enumerate() { @if i > 0 { "; " } (fact.name) " " (fact.text) } "." }
            }
            @if only.is_some() { p { span.state.part { "part" } " Only under what the day says above." } }
        }
    }
}

/// Reasons with the points that they leave out, in the order in which they come.
fn left_out(card: &Card) -> Vec<(&str, Vec<&str>)> {
    let mut out: Vec<(&str, Vec<&str>)> = Vec::new();
    for (title, why) in &card.left_out {
        match out.iter_mut().find(|(reason, _)| reason == why) {
            Some((_, titles)) => titles.push(title),
            None => out.push((why, vec![title])),
        }
    }
    out
}
