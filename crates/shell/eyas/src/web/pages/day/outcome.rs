//! What is the day good for? The verdict, what stands against it, hour by hour, point by point, and the way on.

use maud::{Markup, html};
use plan::day::Verdict;
use plan::day::hours::in_short;
use plan::day::judge::{Reason, Standing};
use plan::day::points::{Day, PointDay};
use report::hours_drawing::hours_svg;
use report::number::fixed;
use report::page::{facts, figure};
use sky::atmosphere::ZERO_CELSIUS_K;
use sky::instant::Instant;
use sky::zone::Zone;

use super::asked::plainly;
use crate::tasks::today::Today;
use crate::web::controls::address;
use crate::web::fields::Fields;
use crate::web::shell::Step;

/// A day judged, as a part of a page.
pub(super) fn part(name: &str, today: &Today, fields: &Fields) -> Markup {
    let day = &today.day;
    let words = match day.verdict {
        Verdict::Go => "Go: nothing that is known stands against it",
        Verdict::Part => "Part of the plan",
        Verdict::NoGo => "No-go",
    };
    let loosened: Vec<String> = day.limits.iter().filter_map(|l| l.loosened()).collect();
    html! {
        section class={ "verdict v-" (day.verdict.word()) } aria-labelledby="verdict" {
            h2 id="verdict" { (words) }
            p { @if day.first_flight { "First flight" } @else { "Next flight" } " of " (name) ", " (today.zone.date_and_clock(day.at)) }
            @for line in &loosened { p { strong { (line) } } }
        }
        @if !today.flaws.is_empty() {
            div.warn {
                h3 { "To know" }
                ul { @for flaw in &today.flaws { li { (plainly(flaw)) } } }
            }
        }
        @if day.against().next().is_some() {
            h2 { "What stands against it, or is not known" }
            @for reason in day.against() { (reason_part(reason)) }
        }
        (on(name, today, fields))
        @if !today.hours.is_empty() { (hours(today)) }
        h2 { "Test point by test point" }
        (points(day))
        h2 { "What was told" }
        @if today.lines.is_empty() { p { "Nothing that holds for the time of the flight." } }
        @for line in &today.lines { p { (line) } }
        (air(today))
        @let met: Vec<&Reason> = day.reasons.iter().filter(|r| r.standing == Standing::Fits).collect();
        @if !met.is_empty() {
            details {
                summary { "What is met (" (met.len()) ")" }
                @for reason in met { (reason_part(reason)) }
            }
        }
        p.note { "All of this is an estimate: measure the wind at the field before the launch. It decides, not this page." }
    }
}

/// The date by the clocks of the field.
fn date(zone: &Zone, at: Instant) -> String {
    zone.date_and_clock(at).split(' ').next().unwrap_or_default().to_owned()
}

fn reason_part(reason: &Reason) -> Markup {
    html! {
        div.block.held[reason.standing == Standing::Against] {
            p { (state(reason.standing.word())) " " (plainly(&reason.text)) }
            @if !reason.source.is_empty() || !reason.from.is_empty() {
                p.note {
                    @if !reason.source.is_empty() { "Told by: " (reason.source) ". " }
                    @if !reason.from.is_empty() { "Limit " (plainly(&reason.from)) "." }
                }
            }
        }
    }
}

fn state(word: &str) -> Markup {
    let class = match word {
        "go" => "go",
        "no-go" => "no",
        _ => "part",
    };
    html! { span class={ "state " (class) } { (word) } }
}

/// Where to go from here.
fn on(name: &str, today: &Today, fields: &Fields) -> Markup {
    html! {
        div.buttons {
            a.button href=(address(&Step::Card.path(name), fields)) { "Make the card for this day" }
            @if let Some(launch) = launch(name, today, fields) { a.button.second href=(launch) { "Odds of the launch in this wind" } }
            a.button.second href=(Step::Ready.path(name)) { "Am I ready?" }
        }
    }
}

/// The launch's page with the wind of the day.
fn launch(name: &str, today: &Today, fields: &Fields) -> Option<String> {
    let wind = today.moment.sights.first()?.blowing()?;
    let mut pairs = vec![
        ("wind".to_owned(), fixed(wind.mean_m_s, 1)),
        ("wind-height-m".to_owned(), fixed(plan::day::REPORT_HEIGHT_M, 0)),
    ];
    if !wind.estimated {
        pairs.push(("gust".to_owned(), fixed(wind.gust_m_s.max(wind.mean_m_s), 1)));
    }
    if let Some(from) = wind.from_deg {
        pairs.push(("wind-from".to_owned(), fixed(from, 0)));
    }
    for field in ["heading", "height-m", "temperature-c", "pressure-hpa"] {
        if let Some(value) = fields.text(field) {
            pairs.push((field.to_owned(), value.to_owned()));
        }
    }
    Some(address(&Step::Launch.path(name), &Fields::of(pairs)))
}

fn hours(today: &Today) -> Markup {
    let stretches = alike(&today.hours);
    let zone = &today.zone;
    let clocks = today.hours.first().map_or("UTC", |h| zone.short(h.at));
    html! {
        h2 { "Hour by hour" }
        @match today.best {
            Some(best) => p.big { "Best: " (best.verdict.word()) " from " (zone.date_and_clock(best.from)) " to " (zone.date_and_clock(best.to)) "." },
            None => p.big { "No hour of the forecast suits." },
        }
        div.scroll.hours tabindex="0" role="group" aria-label="Drawing of the hours; it scrolls sideways" {
            (figure(hours_svg(&today.hours, &|at| zone.bare(at), &|at| date(zone, at)), ""))
        }
        table.stack.wide {
            thead { tr { th { "Hours, " (clocks) } th { "The flight" } th { "Because" } th { "Test points" } } }
            tbody {
                @for (i, one) in stretches.iter().enumerate() {
                    @let new_day = i == 0 || date(zone, one.from) != date(zone, today.hours.first().map_or(one.from, |h| h.at));
                    tr class={ "hour v-" (one.day.verdict.word()) } {
                        th scope="row" { (zone.bare(one.from)) " to " (zone.bare(one.to)) @if new_day { " " span.quiet { (date(zone, one.from)) } } }
                        td data-name="The flight" { (state(one.day.verdict.word())) }
                        td.long data-name="Because" { (plainly(&in_short(one.day))) }
                        td data-name="Test points" { (points_of_hour(one.day)) }
                    }
                }
            }
        }
    }
}

/// Hours on end of which the same is to be said.
struct Alike<'a> {
    from: Instant,
    to: Instant,
    day: &'a Day,
}

fn alike(hours: &[Day]) -> Vec<Alike<'_>> {
    let mut out: Vec<Alike<'_>> = Vec::new();
    for day in hours {
        let to = day.at.plus_s(3600);
        match out.last_mut() {
            Some(last)
                if last.to == day.at
                    && last.day.verdict == day.verdict
                    && last.day.points == day.points
                    && in_short(last.day) == in_short(day) =>
            {
                last.to = to;
            }
            _ => out.push(Alike { from: day.at, to, day }),
        }
    }
    out
}

/// The planned points of an hour, those alike together, each with its first reason.
fn points_of_hour(day: &Day) -> Markup {
    let planned: Vec<&PointDay> = day.points.iter().filter(|p| p.planned && !p.on_ground).collect();
    let count = |verdict: Verdict| planned.iter().filter(|p| p.verdict == verdict).count();
    let mut groups: Vec<(Verdict, &str, Vec<&str>)> = Vec::new();
    for point in &planned {
        let why = point.reasons.first().map_or("", String::as_str);
        match groups.iter_mut().find(|(verdict, reason, _)| *verdict == point.verdict && *reason == why) {
            Some((.., titles)) => titles.push(&point.title),
            None => groups.push((point.verdict, why, vec![&point.title])),
        }
    }
    html! {
        details {
            summary { (count(Verdict::Go)) " go, " (count(Verdict::Part)) " part, " (count(Verdict::NoGo)) " no" }
            ul {
                @for (verdict, why, titles) in &groups {
                    li { (state(verdict.word())) " " (titles.join(", ")) @if !why.is_empty() { ": " (plainly(why)) } }
                }
            }
        }
    }
}

/// Every point with what is its own; what stands against the whole flight stands above.
fn points(day: &Day) -> Markup {
    html! {
        table.stack.wide {
            thead { tr { th { "Point" } th { "Verdict" } th { "Its own reasons, besides those of the day" } } }
            tbody {
                @for point in &day.points {
                    @let own: Vec<&String> = point.reasons.iter().filter(|r| !day.reasons.iter().any(|d| d.text == **r)).collect();
                    tr {
                        th scope="row" { span { (point.title) @if point.planned { " " span.quiet { "(planned for the next flight)" } } } }
                        td data-name="Verdict" { (state(point.verdict.word())) }
                        td.long data-name="Own reasons" { @for reason in &own { (plainly(reason)) " " } @if own.is_empty() { "–" } }
                    }
                }
            }
        }
    }
}

/// Temperature, density, the wind along the launch, and the light.
fn air(today: &Today) -> Markup {
    let n = &today.numbers;
    let mut rows: Vec<(&str, String)> = Vec::new();
    if let Some(k) = n.temperature_k {
        rows.push(("Temperature", format!("{} °C", fixed(k - ZERO_CELSIUS_K, 0))));
    }
    if let (Some(rho), Some(altitude)) = (n.density_kg_m3, n.density_altitude_m) {
        rows.push(("Density of the air", format!("{} kg/m³", fixed(rho, 3))));
        rows.push(("Height that has it on a standard day", format!("{} m", fixed(altitude, 0))));
    }
    if let Some(launch) = n.launch {
        let side = if launch.right_m_s < 0.0 { "left" } else { "right" };
        rows.push(("Head wind along the launch", format!("{} m/s", fixed(launch.head_m_s, 1))));
        rows.push(("Wind across it", format!("{} m/s from the {side}", fixed(launch.right_m_s.abs(), 1))));
    }
    if let Some(light) = today.moment.light {
        for (what, at) in [
            ("Civil dawn", light.dawn),
            ("Sunrise", light.sunrise),
            ("Sunset", light.sunset),
            ("Civil dusk", light.dusk),
        ] {
            if let Some(at) = at {
                rows.push((what, today.zone.date_and_clock(at)));
            }
        }
    }
    html! { @if !rows.is_empty() { (facts(rows)) } }
}
