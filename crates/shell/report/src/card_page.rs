//! How does a card look on a phone in the sun, and on paper? Large, tickable, the pilot's side and the helper's side
//! apart, what can go wrong always in sight.

use maud::{Markup, PreEscaped, html};
use plan::card::{Card, CardDay, Point};
use plan::day::Verdict;

use crate::number;
use crate::page::page;
use crate::ticks;

const STYLE: &str = "
html{font-size:1.15rem}
.point{border:2px solid var(--ink);border-radius:.5rem;margin:1.1rem 0;overflow:hidden}
.point>header{background:var(--soft);border-bottom:2px solid var(--ink);padding:.5rem .7rem;display:flex;gap:.6rem;align-items:flex-start}
.point>header h3{margin:0;font-size:1.2rem;line-height:1.25}
.point>header p{margin:.1rem 0 0;font-size:.95rem}
.point input,.tick input{width:1.7rem;height:1.7rem;flex:none;margin:.05rem 0 0;accent-color:var(--a)}
.sides{display:grid;grid-template-columns:repeat(auto-fit,minmax(min(100%,19rem),1fr))}
.sides>section{padding:.4rem .8rem .7rem}
.sides>section+section{border-top:1px dashed var(--line)}
@media (min-width:50rem){.sides>section+section{border-top:0;border-left:1px dashed var(--line)}}
.sides h4{margin:.5rem 0 .1rem;font-size:.95rem;text-transform:uppercase;letter-spacing:.04em}
.tick{list-style:none;padding:0;margin:.2rem 0}
.tick label{display:flex;gap:.6rem;align-items:flex-start;padding:.35rem 0}
.calls{list-style:none;padding:0;margin:.2rem 0}
.calls li{border-left:5px solid var(--a);padding:.1rem .6rem;font-size:1.1rem;font-weight:600}
.bench{background:var(--warn);border-left:6px solid var(--b);padding:.4rem .8rem}
.day{border:3px solid var(--ink);border-radius:.5rem;padding:.4rem .8rem;margin:.8rem 0;max-width:48rem}
.day.no-go{background:var(--alarm);border-color:var(--b)}.day.part{background:var(--warn)}
.day .big{font-size:1.4rem;margin:.1rem 0}.day ul{margin:.2rem 0}
.only{background:var(--warn);border-top:1px dashed var(--line);padding:.3rem .8rem}
.stop{background:var(--alarm);border-top:2px solid var(--b);padding:.4rem .8rem}
.stop h4{margin:0;font-size:.95rem;text-transform:uppercase;letter-spacing:.04em}
.stop ul{margin:.1rem 0}
.em{display:grid;gap:.5rem;grid-template-columns:repeat(auto-fit,minmax(min(100%,20rem),1fr))}
.em>div{background:var(--alarm);border-left:6px solid var(--b);padding:.4rem .8rem}
.em p{margin:.1rem 0}
button{font:inherit;font-size:1rem;min-height:2.75rem;padding:.3rem .9rem;border:2px solid var(--ink);border-radius:.4rem;background:var(--paper);color:var(--ink)}
#ticks-code{font-weight:700;font-size:1.1rem}
nav.top{position:sticky;top:0;background:var(--paper);border-bottom:2px solid var(--ink);padding:.3rem 0;display:flex;flex-wrap:wrap;justify-content:space-between;gap:.1rem .6rem;z-index:1;max-width:30rem;font-size:.92rem}
nav.top a{padding:.35rem 0;font-weight:700}
:target{scroll-margin-top:3.4rem}
section[id],h2[id],article[id]{scroll-margin-top:3.4rem}
@media print{@page{margin:11mm}nav.top,button,#ticks{display:none}html{font-size:9pt;line-height:1.35}h1{margin-top:0}
h2{margin-top:.8rem;break-after:avoid}p,ul,ol,dl,.warn{max-width:none}li{margin:.1rem 0}.point{margin:.6rem 0}
.point>header,.stop,.sides>section{padding:.25rem .6rem}.tick label{padding:.08rem 0}.calls li{font-size:1rem}
.point input,.tick input{width:.95rem;height:.95rem}.sides{grid-template-columns:3fr 2fr}.sides>section+section{border-top:0;border-left:1px dashed var(--line)}}
";

/// The card as one self-contained page.
#[must_use]
pub fn card_html(card: &Card) -> String {
    let mark = ticks::mark(&card.title, card.points.iter().map(|p| p.id.as_str()));
    let body = html! {
        div data-card=(format!("{mark:04x}")) { (card_part(card)) }
        section id="ticks" hidden {
            h2 { "Bring the ticks back" }
            p { output id="ticks-code" {} }
            p { "Type the code into " code { "eyas ticks" } ", or keep it as a file:" }
            p { button type="button" id="ticks-file" { "Keep the code as a file" } }
        }
        script { (PreEscaped(include_str!("card.js"))) }
    };
    page(&card.title, STYLE, &body)
}

/// The card without the page around it.
pub(crate) fn card_part(card: &Card) -> Markup {
    let ground = card.points.iter().filter(|p| p.on_ground).count();
    html! {
        h1 { (card.title) }
        @if let Some(day) = &card.day { (day_part(day)) }
        p.lead { (summary(card, ground)) }
        @if !card.bench_work.is_empty() {
            section id="bench" {
                h2 { "On the bench first" }
                ul.tick.bench {
                    @for line in &card.bench_work { li { label { input type="checkbox"; span { (line) } } } }
                }
            }
        }
        nav.top aria-label="This card" {
            a href="#emergencies" { "Trouble" }
            a href="#cautions" { "Cautions" }
            a href="#numbers" { "Numbers" }
            a href="#points" { "Points" }
        }
        section id="emergencies" {
            h2 { "If it goes wrong" }
            div.em {
                @for (what, act) in &card.emergencies {
                    div { p { strong { (what) } } p { (act) } }
                }
            }
        }
        section id="cautions" {
            h2 { "Cautions" }
            div.warn { ul { @for caution in &card.cautions { li { (caution) } } } }
        }
        section id="numbers" {
            h2 { "Numbers of " (card.aircraft) }
            dl { @for fact in &card.facts { div { dt { (fact.name) } dd { (fact.text) } } } }
        }
        section id="points" {
            h2 { "Points, in this order" }
            @for (i, point) in card.points.iter().enumerate() { (point_part(i + 1, point, conditions(card, &point.id))) }
        }
        @if !card.left_out.is_empty() {
            section {
                h2 { "Left out, and why" }
                ul {
                    @for (title, why) in &card.left_out { li { strong { (title) } ": " (closed(why)) } }
                }
            }
        }
        section {
            h2 { "After landing" }
            ul.tick {
                @for line in [
                    "Throttle locked, propeller still, pack disconnected.",
                    "Recording saved; pack voltage and flight time written down.",
                    "Every surface, horn, hinge, wing joint and the propeller looked at; what is broken or doubtful grounds it.",
                ] {
                    li { label { input type="checkbox"; span { (line) } } }
                }
            }
        }
    }
}

fn summary(card: &Card, ground: usize) -> String {
    if card.day.as_ref().is_some_and(|d| d.verdict == Verdict::NoGo) {
        return format!(
            "Nothing is flown. {ground} checks on the ground remain, to be ready for a better day."
        );
    }
    let mut words = format!(
        "{ground} checks on the ground, {} points in the air, {} of flight planned.",
        card.points.len() - ground,
        number::duration(card.planned_s)
    );
    match (card.planned_cruise_s, card.allowed_s) {
        (Some(planned), Some(allowed)) => words.push_str(&format!(
            " That takes as much from the pack as {} of cruise; it allows {} with its reserve kept.",
            number::about(planned),
            number::about(allowed)
        )),
        (None, Some(allowed)) => words.push_str(&format!(
            " The pack allows {} of cruise with its reserve kept.",
            number::about(allowed)
        )),
        _ => words.push_str(" What the pack allows is not predicted."),
    }
    words
}

/// The day's verdict and what stands against it, before everything else.
fn day_part(day: &CardDay) -> Markup {
    let words = match day.verdict {
        Verdict::Go => "Go: nothing that is known stands against it",
        Verdict::Part => "Part of the plan",
        Verdict::NoGo => "No-go",
    };
    html! {
        section class={ "day " (day.verdict.word()) } {
            p.big { strong { (words) } }
            p { (day.at) }
            @if !day.reasons.is_empty() { ul { @for reason in &day.reasons { li { (reason) } } } }
            @for line in &day.loosened { p { strong { (line) } } }
            @if !day.weather.is_empty() {
                p.note { "Judged by: " @for (i, line) in day.weather.iter().enumerate() { @if i > 0 { " · " } (line) } }
            }
            p.note { "Measure the wind at the field before the launch: it decides, not this page." }
        }
    }
}

/// The day's conditions for a point.
fn conditions<'a>(card: &'a Card, id: &str) -> &'a [String] {
    let found = card.day.as_ref().and_then(|d| d.conditions.iter().find(|(point, _)| point == id));
    found.map_or(&[], |(_, reasons)| reasons.as_slice())
}

fn point_part(place: usize, point: &Point, only: &[String]) -> Markup {
    let acts = match (&point.switch, point.acts.as_str()) {
        (_, "any") => "however it is set".to_owned(),
        (Some(switch), acts) => format!("{acts} (switch: {switch})"),
        (None, acts) => acts.to_owned(),
    };
    html! {
        article.point id=(format!("point-{place}")) {
            header {
                input type="checkbox" data-point aria-label=(format!("{} done", point.title));
                div {
                    h3 { (place) ". " (point.title) }
                    p { "Stick: " strong { (acts) } ". About " (number::duration(point.duration_s)) "." }
                    p { (point.purpose) }
                    @if !point.on_ground {
                        button type="button" hidden data-timer=(format!("{:.0}", point.duration_s)) { "Timer" }
                    }
                }
            }
            div.sides {
                section {
                    h4 { "Pilot" }
                    ul.tick {
                        @for step in &point.steps { li { label { input type="checkbox"; span { (step) } } } }
                    }
                    @if !point.watch.is_empty() {
                        h4 { "Watch" }
                        ul { @for line in &point.watch { li { (line) } } }
                    }
                }
                section {
                    @if !point.calls.is_empty() {
                        h4 { "Helper calls" }
                        ul.calls {
                            @for call in &point.calls {
                                li { (call) " " button type="button" hidden data-say=(call) { "Say it" } }
                            }
                        }
                    }
                    @if !point.expect.is_empty() {
                        h4 { "Expect" }
                        dl { @for fact in &point.expect { div { dt { (fact.name) } dd { (fact.text) } } } }
                    }
                }
            }
            @if !only.is_empty() {
                div.only { strong { "Only under what the day says at the top of this card." } }
            }
            @if !point.stop.is_empty() {
                div.stop { h4 { "Stop" } ul { @for line in &point.stop { li { (line) } } } }
            }
        }
    }
}

/// Words with one full stop at their end, whatever they ended with.
fn closed(words: &str) -> String {
    let words = words.trim_end();
    if words.ends_with(['.', '!', '?']) { words.to_owned() } else { format!("{words}.") }
}

/// A card in short, for a report: its points with purpose and expected numbers, and what was left out.
pub(crate) fn card_short(card: &Card) -> Markup {
    let ground = card.points.iter().filter(|p| p.on_ground).count();
    html! {
        p { strong { (card.title) } ". " (summary(card, ground)) }
        @if !card.bench_work.is_empty() {
            h3 { "On the bench first" }
            ul { @for line in &card.bench_work { li { (line) } } }
        }
        ol {
            @for point in &card.points {
                li {
                    strong { (point.title) } " (" (number::duration(point.duration_s)) "). " (point.purpose)
                    @if !point.expect.is_empty() {
                        " Expect: "
                        @for (i, fact) in point.expect.iter().enumerate() {
                            @if i > 0 { "; " }
                            (fact.name) " " (fact.text)
                        }
                        "."
                    }
                }
            }
        }
        @if !card.left_out.is_empty() {
            h3 { "Left out, and why" }
            ul { @for (title, why) in &card.left_out { li { strong { (title) } ": " (closed(why)) } } }
        }
    }
}
