//! Is it a day for it? The verdict, what stands against it with limit and reason, test point by test point, hour by hour.

use maud::{Markup, html};
use plan::day::Verdict;
use plan::day::hours::{Stretch, in_short};
use plan::day::judge::{Reason, Standing};
use plan::day::points::Day;

use crate::page::page;

const STYLE: &str = "
.verdict{border:3px solid var(--ink);border-radius:.5rem;padding:.5rem .9rem;max-width:48rem;margin:.8rem 0}
.verdict p{margin:.2rem 0}.verdict .big{font-size:1.5rem}
.v-no-go{background:var(--alarm);border-color:var(--b)}.v-part{background:var(--warn)}
.hours{display:flex;flex-wrap:wrap;gap:.25rem;margin:.8rem 0;max-width:60rem}
.hours div{border:2px solid var(--line);border-radius:.3rem;padding:.15rem .4rem;min-width:4.2rem;text-align:center;font-size:.95rem}
.hours .v-go{border-color:var(--c);border-style:solid}.hours .v-part{border-style:dashed;border-color:var(--ink)}
.hours .v-no-go{border-style:dotted;border-color:var(--b)}
table.stack td::before{flex:none}
.mark{font-weight:700;white-space:nowrap}
";

/// What the page tells.
#[derive(Debug, Clone, Copy)]
pub struct DayPage<'a> {
    /// Name of the aircraft.
    pub aircraft: &'a str,
    /// The time judged.
    pub day: &'a Day,
    /// What the sources say, a line each.
    pub told: &'a [String],
    /// Temperature, density altitude and light, in a line.
    pub air: &'a str,
    /// Hour by hour.
    pub hours: &'a [Day],
    /// The best stretch of them.
    pub best: Option<Stretch>,
    /// What was not taken.
    pub flaws: &'a [String],
}

/// The day as one self-contained page.
#[must_use]
pub fn day_html(content: &DayPage<'_>) -> String {
    page(&format!("The day for {}", content.aircraft), STYLE, &body(content))
}

fn body(content: &DayPage<'_>) -> Markup {
    let day = content.day;
    let words = match day.verdict {
        Verdict::Go => "Go: nothing that is known stands against it",
        Verdict::Part => "Part of the plan",
        Verdict::NoGo => "No-go",
    };
    let met: Vec<&Reason> = day.reasons.iter().filter(|r| r.standing == Standing::Fits).collect();
    html! {
        h1 { "The day for " (content.aircraft) }
        section class={ "verdict v-" (day.verdict.word()) } {
            p.big { strong { (words) } }
            p { @if day.first_flight { "First flight" } @else { "Next flight" } ", " (day.when()) }
        }
        @for line in content.told { p { (line) } }
        @if !content.air.is_empty() { p { (content.air) } }
        @if !content.flaws.is_empty() {
            div.warn { ul { @for flaw in content.flaws { li { (flaw) } } } }
        }
        @if day.against().next().is_some() {
            h2 { "What stands against it, or is not known" }
            @for reason in day.against() { (reason_part(reason)) }
        }
        @if !content.hours.is_empty() {
            h2 { "Hour by hour" }
            @match content.best {
                Some(best) => p.big {
                    "Best: " (best.verdict.word()) " from " (day.zone.date_and_clock(best.from)) " to " (day.zone.date_and_clock(best.to)) "."
                },
                None => p.big { "No hour of the forecast suits." },
            }
            div.hours {
                @for hour in content.hours {
                    div class={ "v-" (hour.verdict.word()) } {
                        (day.zone.bare(hour.at)) br; strong { (hour.verdict.word()) }
                    }
                }
            }
            table.stack {
                thead { tr { th { (day.zone.short(day.at)) } th { "Verdict" } th { "Because" } } }
                tbody {
                    @for hour in content.hours {
                        tr {
                            th { (day.zone.clock(hour.at).trim_end_matches(" UTC")) }
                            td data-name="Verdict" { (hour.verdict.word()) }
                            td data-name="Because" { (in_short(hour)) }
                        }
                    }
                }
            }
        }
        h2 { "Test point by test point" }
        table.stack {
            thead { tr { th { "Point" } th { "Verdict" } th { "Its own limits" } } }
            tbody {
                @for point in &day.points {
                    @let own: Vec<&String> =
                        point.reasons.iter().filter(|r| !day.reasons.iter().any(|d| d.text == **r)).collect();
                    tr {
                        th { (point.title) @if point.planned { " (planned)" } }
                        td data-name="Verdict" { span.mark { (point.verdict.word()) } }
                        td data-name="Own limits" { @for reason in own { (reason) " " } }
                    }
                }
            }
        }
        h2 { "What is met" }
        @for reason in met { (reason_part(reason)) }
    }
}

fn reason_part(reason: &Reason) -> Markup {
    html! {
        div.block.held[reason.standing == Standing::Against] {
            p { span.mark { (reason.standing.word()) } " · " (reason.text) }
            @if !reason.source.is_empty() || !reason.from.is_empty() {
                p.note {
                    @if !reason.source.is_empty() { "Told by: " (reason.source) ". " }
                    @if !reason.from.is_empty() { "Limit " (reason.from) "." }
                }
            }
        }
    }
}
