//! Which seconds of which channels are looked at? The plots that can be moved, what stands there without a script, and a
//! table that says the same in numbers.

use fly::inputs::Axis;
use fly::phases::{Phase, PhaseKind};
use fly::recording::Recording;
use fly::words;
use maud::{Markup, PreEscaped, html};
use report::plot::{Look, Plot};
use serde_json::json;

use super::numbers;
use super::series::drawn;
use crate::json::reading;
use crate::web::assets;
use crate::web::fields::{Fields, encoded};
use crate::web::shelf::Read;

/// Channels that are shown where none are chosen, the first that are there.
const USUAL: [&str; 9] =
    ["height", "altitude", "airspeed", "ground-speed", "roll", "pitch", "throttle", "force-z", "volts"];
const USUAL_COUNT: usize = 5;
/// Channels shown at once.
const MOST_SHOWN: usize = 12;
/// Pixels of a plot without a script.
const STILL_PIXELS: usize = 260;

/// What is looked at.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Shown {
    /// Begin, s.
    pub(super) from_s: f64,
    /// End, s.
    pub(super) to_s: f64,
    /// Quantity words of channels that are there.
    pub(super) channels: Vec<String>,
}

/// What an address asks for, within what there is; none where the recording has no time.
pub(super) fn shown(recording: &Recording, fields: &Fields) -> Option<Shown> {
    let (first, last) = recording.span_s().filter(|(a, b)| b > a)?;
    let at = |name: &str| fields.number(name, name).ok().flatten();
    let (from, to) = match (at("from"), at("to")) {
        (Some(from), Some(to)) if to > from && to > first && from < last => (from.max(first), to.min(last)),
        _ => (first, last),
    };
    let there: Vec<String> = recording.channels.iter().map(|c| words::word(&c.quantity)).collect();
    let mut channels: Vec<String> = Vec::new();
    for word in fields.all("channels").flat_map(|v| v.split(',')) {
        if there.iter().any(|t| t == word)
            && !channels.iter().any(|c| c == word)
            && channels.len() < MOST_SHOWN
        {
            channels.push(word.to_owned());
        }
    }
    if channels.is_empty() {
        let usual = USUAL.iter().filter(|w| there.iter().any(|t| t == *w)).map(|w| (*w).to_owned());
        channels.extend(usual.take(USUAL_COUNT));
    }
    if channels.is_empty() {
        channels.extend(there.into_iter().take(USUAL_COUNT));
    }
    Some(Shown { from_s: from, to_s: to, channels })
}

/// Address of the plots of some seconds; of the usual channels where none are named.
pub(super) fn link(here: &str, from_s: f64, to_s: f64, channels: &[&str]) -> String {
    let mut link = format!("{here}?from={from_s:.2}&to={to_s:.2}");
    if !channels.is_empty() {
        let words: Vec<String> = channels.iter().map(|c| encoded(c)).collect();
        link.push_str(&format!("&channels={}", words.join(",")));
    }
    link.push_str("#plots");
    link
}

/// Channels that show how an axis answered.
pub(super) fn of_axis(axis: Axis) -> Vec<&'static str> {
    match axis {
        Axis::Roll => vec!["stick-roll", "roll-rate", "roll"],
        Axis::Pitch => vec!["stick-pitch", "pitch-rate", "pitch", "airspeed"],
        Axis::Yaw => vec!["stick-yaw", "yaw-rate", "roll"],
        Axis::Throttle => vec!["throttle", "airspeed", "volts", "amps"],
    }
}

/// A number in four digits.
pub(super) fn short(value: f64) -> String {
    if !value.is_finite() {
        return "none".to_owned();
    }
    let decimals = match value.abs() {
        v if v >= 1000.0 => 0,
        v if v >= 100.0 => 1,
        v if v >= 10.0 => 2,
        _ => 3,
    };
    let text = format!("{value:.decimals$}");
    // Minus nothing is nothing.
    if text.bytes().all(|b| matches!(b, b'-' | b'0' | b'.')) {
        text.replace('-', "")
    } else {
        text.replace('-', "\u{2212}")
    }
}

/// Which ink a phase is drawn in; the same in the drawing and by the script.
fn ink(kind: PhaseKind) -> &'static str {
    match kind {
        PhaseKind::Straight => "a",
        PhaseKind::Turn => "d",
        PhaseKind::Climb | PhaseKind::Glide => "c",
        PhaseKind::Launch | PhaseKind::Input | PhaseKind::Stall | PhaseKind::Impact => "b",
        PhaseKind::Ground | PhaseKind::Approach | PhaseKind::Landing | PhaseKind::Other => "line",
    }
}

/// The whole part.
pub(super) fn part(here: &str, read: &Read, fields: &Fields) -> Markup {
    let recording = &read.studied.recording;
    let Some(shown) = shown(recording, fields) else {
        return html! { p { "There is nothing to plot: the recording holds no span of time." } };
    };
    let span = recording.span_s().unwrap_or((shown.from_s, shown.to_s));
    let channels: Vec<_> = shown
        .channels
        .iter()
        .filter_map(|word| {
            let channel = recording.channel(&words::quantity(word)?)?;
            let unit = reading::shown(&channel.quantity).map_or("", |u| u.word);
            Some(json!([word, unit, channel.source]))
        })
        .collect();
    let phases: Vec<_> = read
        .phases
        .iter()
        .map(|p| json!([p.window.from_s, p.window.to_s, p.kind.word(), ink(p.kind)]))
        .collect();
    html! {
        link rel="stylesheet" href=(assets::path("uplot.css"));
        (chooser(here, recording, &shown))
        div.flightplots data-series={(here) "/series"} data-here=(here) data-span=(json!([span.0, span.1]).to_string())
            data-window=(json!([shown.from_s, shown.to_s]).to_string()) data-channels=(json!(channels).to_string())
            data-phases=(json!(phases).to_string()) {
            (time_line(span, &read.phases))
            div.bar role="group" aria-label="Move through the recording" hidden="" {
                button.second type="button" data-moves="back" { span aria-hidden="true" { "\u{25c0}" } span.unseen { "Earlier" } }
                button.second type="button" data-moves="on" { span aria-hidden="true" { "\u{25b6}" } span.unseen { "Later" } }
                button.second type="button" data-moves="in" { span aria-hidden="true" { "+" } span.unseen { "Closer" } }
                button.second type="button" data-moves="out" { span aria-hidden="true" { "\u{2212}" } span.unseen { "Wider" } }
                button.second type="button" data-moves="all" { "All" }
                label.tick { input type="checkbox" data-drags=""; "Dragging moves" }
                output data-where="" aria-live="off" {}
            }
            div.charts role="group" tabindex="0" aria-label="Plots over time. Arrow keys move, plus and minus change the width, Home shows all. The table below says the same in numbers." {}
            p data-trouble="" role="status" {}
        }
        noscript {
            p { "Without scripts the plots stand still; change the seconds above." }
            div.plots { @for word in &shown.channels { @if let Some(svg) = still(recording, word, &shown) { figure { (PreEscaped(svg)) } } } }
        }
        details #numbers open[fields.text("numbers").is_some()] {
            summary { "The same in numbers" }
            (numbers::table(read, &shown))
            p { a data-numbers="" href={(here) "?numbers=1&from=" (format!("{:.2}", shown.from_s)) "&to=" (format!("{:.2}", shown.to_s)) "&channels=" (shown.channels.iter().map(|c| encoded(c)).collect::<Vec<_>>().join(",")) "#numbers"} { "Make this table for the seconds shown now" } }
        }
        script defer src=(assets::path("uplot.js")) {}
        script defer src=(assets::path("plots.js")) {}
    }
}

fn chooser(here: &str, recording: &Recording, shown: &Shown) -> Markup {
    html! {
        form.wide method="get" action={(here) "#plots"} data-chooser="" {
            details {
                summary { "Channels shown: " (shown.channels.join(", ")) }
                fieldset {
                    legend { "Channels (up to " (MOST_SHOWN) ")" }
                    div.fields {
                        @for channel in &recording.channels {
                            @let word = words::word(&channel.quantity);
                            label.tick { input type="checkbox" name="channels" value=(word) checked[shown.channels.contains(&word)]; (word) }
                        }
                    }
                }
                div.fields {
                    div.field { label for="from" { "From, s" } input #from type="text" inputmode="decimal" name="from" value=(format!("{:.2}", shown.from_s)); }
                    div.field { label for="to" { "To, s" } input #to type="text" inputmode="decimal" name="to" value=(format!("{:.2}", shown.to_s)); }
                }
                div.buttons { button { "Show these" } }
            }
        }
    }
}

/// All phases on one line; the script marks on it what is shown.
fn time_line(span: (f64, f64), phases: &[Phase]) -> Markup {
    let x = |t: f64| 1000.0 * ((t - span.0) / (span.1 - span.0)).clamp(0.0, 1.0);
    let mut kinds: Vec<PhaseKind> = Vec::new();
    for phase in phases {
        if !kinds.contains(&phase.kind) {
            kinds.push(phase.kind);
        }
    }
    html! {
        @if !phases.is_empty() {
            div.timeline {
                svg viewBox="0 0 1000 26" preserveAspectRatio="none" role="img" aria-label="Phases of the flight over its whole length" {
                    @for color in ["a", "b", "c", "d", "line"] {
                        @let bars: String = phases
                            .iter()
                            .filter(|p| ink(p.kind) == color)
                            .map(|p| {
                                let (from, to) = (x(p.window.from_s), x(p.window.to_s));
                                format!("M{from:.1} 0h{:.1}v26H{from:.1}z", (to - from).max(0.6))
                            })
                            .collect();
                        @if !bars.is_empty() { path class={"ink-" (color)} d=(bars) {} }
                    }
                }
                div.shown hidden="" {}
            }
            p.legend { @for kind in kinds { span { span class={"swatch ink-" (ink(kind))} aria-hidden="true" {} (kind.word()) } } }
        }
    }
}

/// A plot that stands still.
fn still(recording: &Recording, word: &str, shown: &Shown) -> Option<String> {
    let entries = drawn(recording, word, shown.from_s, shown.to_s, STILL_PIXELS);
    let unit = words::quantity(word).and_then(|q| reading::shown(&q)).map_or("", |u| u.word);
    let points: Vec<[f64; 2]> = entries
        .iter()
        .flat_map(|(t, a, b)| if a < b { vec![[*t, *a], [*t, *b]] } else { vec![[*t, *a]] })
        .collect();
    if points.is_empty() {
        return None;
    }
    let plot = Plot::new(word, "Least and greatest value in each pixel over time.", "Time, s", unit);
    Some(plot.with("", Look::Line, points).draw())
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use fly::recording::{Channel, Quantity};

    use super::*;

    fn recording() -> Recording {
        let channel = |quantity| Channel {
            quantity,
            source: "<script>".into(),
            time_s: Arc::new(vec![0.0, 50.0, 100.0]),
            values: vec![0.0, 1.0, 0.0],
        };
        Recording {
            channels: vec![channel(Quantity::Roll), channel(Quantity::Servo("<b>".into()))],
            rows: 3,
            ..Recording::default()
        }
    }

    #[track_caller]
    fn check(query: &str, from_s: f64, to_s: f64, channels: &[&str]) {
        let shown = shown(&recording(), &Fields::read(query)).unwrap();
        let expected = Shown { from_s, to_s, channels: channels.iter().map(|c| (*c).to_owned()).collect() };
        assert_eq!(shown, expected, "{query}");
    }

    #[test]
    fn an_address_opens_its_seconds_and_channels_as_far_as_they_are_there() {
        check("", 0.0, 100.0, &["roll"]);
        check("from=10&to=20&channels=servo:%3Cb%3E,roll,pitch", 10.0, 20.0, &["servo:<b>", "roll"]);
        check("channels=roll&channels=servo%3A%3Cb%3E", 0.0, 100.0, &["roll", "servo:<b>"]);
        check("from=-50&to=20", 0.0, 20.0, &["roll"]);
        for nonsense in ["from=20&to=10", "from=200&to=300", "from=x&to=1", "channels=pitch"] {
            check(nonsense, 0.0, 100.0, &["roll"]);
        }
    }

    #[test]
    fn names_of_columns_are_escaped() {
        let read_of =
            chooser("/a", &recording(), &shown(&recording(), &Fields::default()).unwrap()).into_string();
        assert!(!read_of.contains("<b>") && read_of.contains("servo:&lt;b&gt;"));
        assert!(
            !still(&recording(), "servo:<b>", &Shown { from_s: 0.0, to_s: 100.0, channels: vec![] })
                .unwrap()
                .contains("<b>")
        );
    }

    #[test]
    fn numbers_have_four_digits() {
        for (value, text) in [
            (1234.5, "1234"),
            (123.45, "123.5"),
            (12.345, "12.35"),
            (-0.00001, "0.000"),
            (-1.5, "\u{2212}1.500"),
            (f64::NAN, "none"),
        ] {
            assert_eq!(short(value), text);
        }
    }
}
