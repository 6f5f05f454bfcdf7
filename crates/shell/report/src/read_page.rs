//! What is in a recording, and how good is it? A page with its phases on a time line, the track seen from above, every
//! channel drawn, and all that is wrong with it.

use std::fmt::Write as _;

use fly::decimate::decimate;
use fly::inputs::{Axis, Input};
use fly::phases::{Flown, Phase, PhaseKind};
use fly::quality::{ChannelQuality, Quality};
use fly::recording::{Channel, Quantity, Recording};
use fly::words::{self, Dimension};
use maud::{Markup, PreEscaped, html};
use numerics::geodesy::LocalPlane;

use crate::page::{figure, page};
use crate::plot::{Look, Plot};

/// What the page is about.
#[derive(Debug, Clone, Copy)]
pub struct ReadPage<'a> {
    /// Name of the recording.
    pub name: &'a str,
    /// What it is written in.
    pub format: &'a str,
    /// What it says.
    pub recording: &'a Recording,
    /// How good its channels are.
    pub quality: &'a Quality,
    /// What the aircraft was doing when.
    pub phases: &'a [Phase],
    /// What the pilot did on purpose.
    pub inputs: &'a [Input],
    /// When it flew.
    pub flights: &'a [Flown],
    /// What was left out or could not be checked.
    pub doubts: &'a [String],
}

const OWN: &str = "
.line{overflow-x:auto}.line svg{min-width:40rem;width:100%;height:auto;display:block}
";

/// The page, one file that opens without a network.
#[must_use]
pub fn read_html(about: &ReadPage<'_>) -> String {
    let r = about.recording;
    let span = r.span_s();
    let body = html! {
        h1 { "Recording " (about.name) }
        p.lead {
            (about.format) ", " (r.rows) " rows, "
            @if let Some((from, to)) = span { (format!("{:.1} s, ", to - from)) }
            (r.channels.len()) " channels."
        }
        @for flown in about.flights { p { (flown_text(flown)) } }
        (wrong(about))
        @if let (Some(span), false) = (span, about.phases.is_empty()) {
            h2 { "What the aircraft was doing" }
            p { "Times are from the begin of the recording. Bars tell phases, darker where they are surer; ticks below tell stick \
                 inputs." }
            div.line { (PreEscaped(time_line(about, span))) }
        }
        @if let Some(track) = track(about) {
            h2 { "Seen from above" }
            (figure(track.draw(), "North is up. Told from the recorded positions."))
        }
        h2 { "Channels" }
        p { "Least and greatest value of each stretch of time; a gap in the line is a gap in the recording." }
        div.plots {
            @for channel in &r.channels {
                @if let (Some(q), Some(span)) = (quality_of(about, channel), span) {
                    (figure(channel_plot(channel, span).draw(), &channel_text(q)))
                }
            }
        }
        @if !r.unused_columns.is_empty() {
            h2 { "Columns not used" }
            p { (r.unused_columns.join(", ")) }
        }
        (tables(about))
    };
    page(&format!("Recording {}", about.name), OWN, &body)
}

fn flown_text(flown: &Flown) -> String {
    let mut text = format!("In the air from {:.1} to {:.1} s", flown.window.from_s, flown.window.to_s);
    if let Some(m) = flown.throw {
        let _ = write!(text, "; let go at {:.2} s ({:.0} % sure)", m.time_s, 100.0 * m.confidence);
    }
    if let Some(m) = flown.touchdown {
        let _ = write!(text, "; touched down at {:.2} s ({:.0} % sure)", m.time_s, 100.0 * m.confidence);
    }
    if let Some(load) = flown.impact {
        let _ = write!(
            text,
            ". The touch-down was an impact of {:.0} g: look the aircraft over before it flies again",
            load / numerics::units::G_M_S2
        );
    }
    text + "."
}

fn wrong(about: &ReadPage<'_>) -> Markup {
    let flaws: Vec<String> = about
        .recording
        .flaws
        .iter()
        .chain(&about.quality.flaws)
        .map(|f| format!("{}: {}", f.place, f.what))
        .collect();
    html! {
        h2 { "What is wrong with it" }
        @if flaws.is_empty() {
            p { "Nothing was found." }
        } @else {
            div.warn { ul { @for flaw in &flaws { li { (flaw) } } } }
        }
        @if !about.doubts.is_empty() {
            h3 { "Left out, or not checked" }
            ul { @for doubt in about.doubts { li { (doubt) } } }
        }
    }
}

fn quality_of<'a>(about: &ReadPage<'a>, channel: &Channel) -> Option<&'a ChannelQuality> {
    about.quality.channels.iter().find(|q| q.quantity == channel.quantity)
}

fn channel_text(q: &ChannelQuality) -> String {
    let rate =
        if q.rate_hz.is_finite() { format!("{:.1} a second", q.rate_hz) } else { "a single one".to_owned() };
    let missing = if q.missing > 0 { format!(", {} missing", q.missing) } else { String::new() };
    format!("{} samples, {rate}{missing}; from {}", q.samples, words::column_text(&q.source))
}

/// A channel in the unit that people read, as wide as the plot is.
fn channel_plot(channel: &Channel, (from, to): (f64, f64)) -> Plot {
    const PIXELS: usize = 330;
    let unit = words::shown_unit(words::dimension(&channel.quantity));
    let shown = |v: f64| unit.map_or(v, |u| (v - u.offset) / u.factor);
    let word = words::word(&channel.quantity);
    let name = match unit.map(|u| u.word) {
        Some(unit) if words::dimension(&channel.quantity) != Dimension::Count => format!("{word}, {unit}"),
        _ => word.clone(),
    };
    let mut points = Vec::new();
    for (t, least, greatest) in decimate(&channel.time_s, &channel.values, from, to, PIXELS) {
        points.push([t, shown(least)]);
        if least.to_bits() != greatest.to_bits() {
            points.push([t, shown(greatest)]);
        }
    }
    Plot::new(&word, &format!("{word} over the time of the recording"), "Time, s", &name).with(
        &word,
        Look::Thin,
        points,
    )
}

/// Phases as bars, one row a kind, and stick inputs as ticks, one row an axis.
fn time_line(about: &ReadPage<'_>, (from, to): (f64, f64)) -> String {
    const LEFT: f64 = 90.0;
    const WIDTH: f64 = 900.0;
    const ROW: f64 = 22.0;
    let x = |t: f64| LEFT + (WIDTH - LEFT - 10.0) * ((t - from) / (to - from).max(1e-9)).clamp(0.0, 1.0);
    let mut kinds: Vec<PhaseKind> = Vec::new();
    for phase in about.phases {
        if !kinds.contains(&phase.kind) {
            kinds.push(phase.kind);
        }
    }
    let axes: Vec<Axis> =
        Axis::ALL.into_iter().filter(|a| about.inputs.iter().any(|i| i.axis == *a)).collect();
    let rows = kinds.len() + axes.len();
    let height = ROW * rows as f64 + 34.0;
    let mut svg = format!(
        "<svg viewBox=\"0 0 {WIDTH} {height:.0}\" role=\"img\" font-size=\"13\" fill=\"var(--ink)\">\
         <title>Phases and stick inputs over time</title>"
    );
    let bottom = ROW * rows as f64 + 4.0;
    for (t, label) in crate::plot::ticks([from, to], 9) {
        let at = x(t);
        let _ = write!(
            svg,
            "<path d=\"M{at:.1} 0V{bottom:.1}\" stroke=\"var(--grid)\"/>\
             <text x=\"{at:.1}\" y=\"{:.1}\" text-anchor=\"middle\">{label}</text>",
            bottom + 16.0
        );
    }
    let _ = write!(svg, "<text x=\"4\" y=\"{:.1}\">time, s</text>", bottom + 16.0);
    for (row, kind) in kinds.iter().enumerate() {
        let y = ROW * row as f64 + 2.0;
        let _ = write!(svg, "<text x=\"4\" y=\"{:.1}\">{}</text>", y + 14.0, kind.word());
        for phase in about.phases.iter().filter(|p| p.kind == *kind) {
            let (a, b) = (x(phase.window.from_s), x(phase.window.to_s));
            let _ = write!(
                svg,
                "<rect x=\"{a:.1}\" y=\"{y:.1}\" width=\"{:.1}\" height=\"16\" fill=\"var(--a)\" opacity=\"{:.2}\">\
                 <title>{} {:.1} to {:.1} s, {:.0} % sure</title></rect>",
                (b - a).max(1.0),
                0.25 + 0.75 * phase.confidence.clamp(0.0, 1.0),
                kind.word(),
                phase.window.from_s,
                phase.window.to_s,
                100.0 * phase.confidence
            );
        }
    }
    for (row, axis) in axes.iter().enumerate() {
        let y = ROW * (kinds.len() + row) as f64 + 2.0;
        let _ = write!(svg, "<text x=\"4\" y=\"{:.1}\">{} stick</text>", y + 14.0, axis.word());
        for i in about.inputs.iter().filter(|i| i.axis == *axis) {
            let (a, b) = (x(i.start_s), x(i.end_s));
            let _ = write!(
                svg,
                "<rect x=\"{a:.1}\" y=\"{:.1}\" width=\"{:.1}\" height=\"8\" fill=\"var(--b)\">\
                 <title>{} {:+.0} %, {}, {:.2} s</title></rect>",
                y + 4.0,
                (b - a).max(1.5),
                i.kind.word(),
                100.0 * i.size,
                i.control.word(),
                i.start_s
            );
        }
    }
    svg.push_str("</svg>");
    svg
}

/// The track over ground from where the recording begins, where positions were recorded.
fn track(about: &ReadPage<'_>) -> Option<Plot> {
    const MOST: usize = 1500;
    let r = about.recording;
    let (lat, lon) = (r.channel(&Quantity::Latitude)?, r.channel(&Quantity::Longitude)?);
    let longitudes = fly::resample::at(lon, &lat.time_s);
    let fixes: Vec<(f64, f64, f64)> = lat
        .time_s
        .iter()
        .zip(&lat.values)
        .zip(&longitudes)
        .map(|((t, lat), lon)| (*t, *lat, *lon))
        .filter(|(_, lat, lon)| lat.is_finite() && lon.is_finite() && lat.abs() < 89.0)
        .collect();
    let (_, lat0, lon0) = fixes.first().copied()?;
    let plane = LocalPlane::at(lat0, lon0);
    let place = |(_, lat, lon): &(f64, f64, f64)| {
        let (north, east) = plane.north_east_m(*lat, *lon);
        [east, north]
    };
    let apart = (fixes.len() / MOST).max(1);
    let path: Vec<[f64; 2]> = fixes.iter().step_by(apart).map(place).collect();
    if path.len() < 3 {
        return None;
    }
    let at = |time: f64| fixes.get(fixes.partition_point(|f| f.0 < time)).map(place);
    let mut plot = Plot::new("Track", "The track over ground seen from above", "East, m", "North, m").with(
        "track",
        Look::Thin,
        path,
    );
    plot.equal = true;
    for flown in about.flights {
        if let Some(p) = flown.throw.and_then(|m| at(m.time_s)) {
            plot = plot.with("let go", Look::Points, vec![p]);
        }
        if let Some(p) = flown.touchdown.and_then(|m| at(m.time_s)) {
            plot = plot.with("touched down", Look::Points, vec![p]);
        }
    }
    Some(plot)
}

fn tables(about: &ReadPage<'_>) -> Markup {
    html! {
        @if !about.phases.is_empty() {
            h2 { "Phases" }
            table {
                thead { tr { th { "Phase" } th.n { "From, s" } th.n { "To, s" } th.n { "Sure, %" } } }
                tbody {
                    @for p in about.phases {
                        tr {
                            td { (p.kind.word()) }
                            td.n { (format!("{:.1}", p.window.from_s)) }
                            td.n { (format!("{:.1}", p.window.to_s)) }
                            td.n { (format!("{:.0}", 100.0 * p.confidence)) }
                        }
                    }
                }
            }
        }
        @if !about.inputs.is_empty() {
            h2 { "Stick inputs" }
            table {
                thead {
                    tr { th { "Stick" } th { "Movement" } th { "Acts" } th.n { "From, s" } th.n { "To, s" } th.n { "Size, %" } th.n { "Sure, %" } }
                }
                tbody {
                    @for i in about.inputs {
                        tr {
                            td { (i.axis.word()) }
                            td { (i.kind.word()) }
                            td { (i.control.word()) }
                            td.n { (format!("{:.2}", i.start_s)) }
                            td.n { (format!("{:.2}", i.end_s)) }
                            td.n { (format!("{:+.0}", 100.0 * i.size)) }
                            td.n { (format!("{:.0}", 100.0 * i.confidence)) }
                        }
                    }
                }
            }
        }
    }
}
