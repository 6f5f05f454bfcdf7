//! What do the plots say to whom does not see them? Least, mean and greatest of each channel in each phase.

use aircraft::finding::Window;
use fly::recording::Recording;
use fly::words;
use maud::{Markup, html};

use super::plots::{Shown, short};
use crate::json::reading;
use crate::web::shelf::Read;

/// Rows of the table at most.
const MOST_ROWS: usize = 60;

/// The table of the shown channels between the shown times.
pub(super) fn table(read: &Read, shown: &Shown) -> Markup {
    let recording = &read.studied.recording;
    let mut rows: Vec<(String, Window)> =
        vec![("all of it".to_owned(), Window { from_s: shown.from_s, to_s: shown.to_s })];
    rows.extend(read.phases.iter().filter_map(|p| {
        let window =
            Window { from_s: p.window.from_s.max(shown.from_s), to_s: p.window.to_s.min(shown.to_s) };
        (window.to_s > window.from_s).then(|| (p.kind.word().to_owned(), window))
    }));
    let more = rows.len().saturating_sub(MOST_ROWS);
    html! {
        div.scroll { table.wide {
            caption { "Least / mean / greatest, " (format!("{:.1} to {:.1} s", shown.from_s, shown.to_s)) }
            thead { tr {
                th scope="col" { "Phase" } th.n scope="col" { "Seconds" }
                @for word in &shown.channels {
                    th.n scope="col" { (word) @if let Some(unit) = words::quantity(word).and_then(|q| reading::shown(&q)) { ", " (unit.word) } }
                }
            } }
            tbody {
                @for (name, window) in rows.iter().take(MOST_ROWS) {
                    tr {
                        th scope="row" { (name) }
                        td.n { (format!("{:.1} to {:.1}", window.from_s, window.to_s)) }
                        @for word in &shown.channels { td.n { (cell(recording, word, window)) } }
                    }
                }
            }
        } }
        @if more > 0 { p { "and " (more) " phases more: choose fewer seconds." } }
    }
}

fn cell(recording: &Recording, word: &str, window: &Window) -> String {
    let Some(channel) = words::quantity(word).and_then(|q| recording.channel(&q)) else {
        return "none".to_owned();
    };
    let first = channel.time_s.partition_point(|t| *t < window.from_s);
    let end = channel.time_s.partition_point(|t| *t <= window.to_s).max(first);
    let values = channel.values.get(first..end).unwrap_or(&[]);
    let (mut least, mut greatest, mut sum, mut count) = (f64::INFINITY, f64::NEG_INFINITY, 0.0, 0_u32);
    for v in values.iter().filter(|v| v.is_finite()) {
        least = least.min(*v);
        greatest = greatest.max(*v);
        sum += v;
        count += 1;
    }
    if count == 0 {
        return "none".to_owned();
    }
    let unit = reading::shown(&channel.quantity);
    let [a, b, c] = [least, sum / f64::from(count), greatest].map(|v| short(reading::in_unit(v, unit)));
    format!("{a} / {b} / {c}")
}
