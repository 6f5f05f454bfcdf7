//! Which hour allows what? A grid of the day: hours across, the flight and its test points down, a mark in each place that
//! is told apart by its shape as well as its color.

use plan::day::Verdict;
use plan::day::points::{Day, PointDay};
use sky::instant::Instant;

use crate::svg::{Anchor, Canvas, Ink, pen, width_of};

/// Width of an hour and height of a row.
const HOUR: f64 = 30.0;
const ROW: f64 = 27.0;
/// Size of the words.
const TEXT: f64 = 13.0;
/// Above the rows: the legend, the day and the hour.
const HEAD: f64 = 76.0;

/// The day as a grid. `clock` tells the time of day there ("14:00"), `date` the date ("2026-06-21").
#[must_use]
pub fn hours_svg(
    hours: &[Day],
    clock: &dyn Fn(Instant) -> String,
    date: &dyn Fn(Instant) -> String,
) -> String {
    let titles = planned(hours);
    let names = || std::iter::once("The flight").chain(titles.iter().map(|(_, title)| title.as_str()));
    let left = names().map(|name| width_of(name, TEXT)).fold(90.0, f64::max) + 22.0;
    let width = left + HOUR * hours.len() as f64 + 12.0;
    let height = HEAD + ROW * (titles.len() + 1) as f64 + 8.0;
    let said: Vec<String> =
        hours.iter().map(|hour| format!("{} {}", clock(hour.at), hour.verdict.word())).collect();
    let mut canvas = Canvas::new(
        width.max(420.0),
        height,
        "Hours of the day",
        &format!("What the flight may be, hour by hour: {}.", said.join(", ")),
    );
    let mut x = 16.0;
    for (verdict, words) in
        [(Verdict::Go, "go"), (Verdict::Part, "part, or under a condition"), (Verdict::NoGo, "no-go")]
    {
        mark(&mut canvas, [x, 16.0], verdict);
        canvas.words([x + 14.0, 20.5], TEXT, Anchor::Start, words);
        x += 34.0 + width_of(words, TEXT);
    }
    let mut before = String::new();
    for (column, hour) in hours.iter().enumerate() {
        let middle = left + HOUR * (column as f64 + 0.5);
        let today = date(hour.at);
        if today != before {
            // A date needs the room of three hours; the last two of a day go without.
            if column + 3 <= hours.len() {
                canvas.words([middle - 0.5 * HOUR + 2.0, 46.0], TEXT, Anchor::Start, &today);
            }
            if column > 0 {
                let x = middle - 0.5 * HOUR;
                canvas.line([x, 34.0], [x, height - 6.0], pen(Ink::Plain, 1.5));
            }
            before = today;
        }
        let time = clock(hour.at);
        canvas.words([middle, 66.0], TEXT, Anchor::Middle, time.get(..2).unwrap_or(&time));
    }
    for (row, name) in names().enumerate() {
        let y = HEAD + ROW * (row as f64 + 0.5);
        canvas.line([8.0, y - 0.5 * ROW], [width - 8.0, y - 0.5 * ROW], pen(Ink::Grid, 1.0));
        canvas.text([10.0, y + 4.5], TEXT, Anchor::Start, Ink::Plain, row == 0, name);
    }
    for (column, hour) in hours.iter().enumerate() {
        let x = left + HOUR * (column as f64 + 0.5);
        mark(&mut canvas, [x, HEAD + 0.5 * ROW], hour.verdict);
        for (row, (id, _)) in titles.iter().enumerate() {
            if let Some(point) = hour.point(id) {
                mark(&mut canvas, [x, HEAD + ROW * (row as f64 + 1.5)], point.verdict);
            }
        }
    }
    canvas.finish()
}

/// Points planned for the next flight that are flown, in their order: identifier and title.
fn planned(hours: &[Day]) -> Vec<(String, String)> {
    let flown = |point: &&PointDay| point.planned && !point.on_ground;
    hours
        .first()
        .map(|hour| hour.points.iter().filter(flown).map(|p| (p.id.clone(), p.title.clone())).collect())
        .unwrap_or_default()
}

/// A disc for go, a ring with a bar for a part, a cross for nothing.
fn mark(canvas: &mut Canvas, at: [f64; 2], verdict: Verdict) {
    let [x, y] = at;
    match verdict {
        Verdict::Go => canvas.disc(at, 7.0, Ink::C),
        Verdict::Part => {
            canvas.circle(at, 6.5, pen(Ink::D, 2.5));
            canvas.line([x - 6.0, y], [x + 6.0, y], pen(Ink::D, 2.5));
        }
        Verdict::NoGo => {
            canvas.line([x - 5.5, y - 5.5], [x + 5.5, y + 5.5], pen(Ink::B, 3.0));
            canvas.line([x - 5.5, y + 5.5], [x + 5.5, y - 5.5], pen(Ink::B, 3.0));
        }
    }
}
