//! What does `eyas read --json` print?

use fly::inputs::Input;
use fly::map::Entry;
use fly::phases::{Flown, Moment, Phase};
use fly::propose::{Carries, ColumnFound, Evidence};
use fly::quality::{ChannelQuality, Quality};
use fly::words::{self, Dimension, Unit};
use serde_json::{Value, json};

use super::{findings, number};
use crate::tasks::study::Studied;

/// What was found in a recording.
pub(crate) struct Found<'a> {
    /// How good it is.
    pub(crate) quality: &'a Quality,
    /// What the aircraft was doing when.
    pub(crate) phases: &'a [Phase],
    /// What the pilot did on purpose.
    pub(crate) inputs: &'a [Input],
    /// When it flew.
    pub(crate) flights: &'a [Flown],
}

/// The whole document.
pub(crate) fn document(studied: &Studied, found: &Found<'_>, map_text: &str) -> Value {
    let recording = &studied.recording;
    let Found { quality, phases, inputs, flights } = *found;
    let span = recording.span_s();
    json!({
        "format": studied.format.word(),
        "rows": recording.rows,
        "from_s": span.map(|(a, _)| number(a)),
        "to_s": span.map(|(_, b)| number(b)),
        "channels": quality.channels.iter().map(channel).collect::<Vec<_>>(),
        "unused_columns": recording.unused_columns,
        "flaws": recording.flaws.iter().chain(&quality.flaws).map(|f| json!({
            "kind": format!("{:?}", f.kind).to_lowercase(), "place": f.place, "what": f.what,
        })).collect::<Vec<_>>(),
        "map_toml": map_text,
        "proposed": studied.proposal.is_some(),
        "evidence": studied.proposal.as_ref().map(|p| p.evidence.iter().map(evidence_line).collect::<Vec<_>>()),
        "doubts": studied.proposal.as_ref().map(|p| p.doubts.clone()),
        "columns": studied.proposal.as_ref().map(|p| p.columns.iter().map(column).collect::<Vec<_>>()),
        "phases": findings::phases(phases),
        "acting": fly::phases::acting(recording).iter().map(|a| json!({
            "control": a.control.word(),
            "from_s": number(a.window.from_s),
            "to_s": number(a.window.to_s),
            "confidence": number(a.confidence),
        })).collect::<Vec<_>>(),
        "flights": flights.iter().map(flown).collect::<Vec<_>>(),
        "inputs": inputs.iter().map(input).collect::<Vec<_>>(),
    })
}

/// One column of the file with what is proposed for it and why.
fn column(c: &ColumnFound) -> Value {
    let entry = |e: &Entry| {
        json!({
            "quantity": words::word(&e.quantity), "unit": e.unit, "negate": e.negate, "scale": e.scale,
            "offset": e.offset, "axes": e.axes.word(),
        })
    };
    json!({
        "number": c.number,
        "header": c.header,
        "least": c.range.map(|(a, _)| number(a)),
        "greatest": c.range.map(|(_, b)| number(b)),
        "time": matches!(c.carries, Carries::Time(_)),
        "proposed": match &c.carries {
            Carries::Channel(e) => entry(e),
            _ => Value::Null,
        },
        "heard": c.heard.as_ref().map(words::word),
        "offered": c.offered.as_ref().map(entry),
        "evidence": c.evidence,
        "doubts": c.doubts,
        "confidence": number(c.confidence),
    })
}

fn flown(f: &Flown) -> Value {
    let moment = |m: Option<Moment>| {
        m.map(|m| json!({"time_s": number(m.time_s), "confidence": number(m.confidence)}))
    };
    json!({
        "from_s": number(f.window.from_s),
        "to_s": number(f.window.to_s),
        "throw": moment(f.throw),
        "touchdown": moment(f.touchdown),
        "impact_m_s2": f.impact.map(number),
    })
}

fn input(i: &Input) -> Value {
    json!({
        "axis": i.axis.word(),
        "kind": i.kind.word(),
        "start_s": number(i.start_s),
        "end_s": number(i.end_s),
        "size_percent": number(100.0 * i.size),
        "control": i.control.word(),
        "confidence": number(i.confidence),
    })
}

fn shown(c: &ChannelQuality) -> Option<&'static Unit> {
    words::shown_unit(words::dimension(&c.quantity))
}

fn in_unit(value: f64, unit: Option<&Unit>) -> f64 {
    unit.map_or(value, |u| (value - u.offset) / u.factor)
}

fn channel(c: &ChannelQuality) -> Value {
    let unit = shown(c);
    json!({
        "quantity": words::word(&c.quantity),
        "source": c.source,
        "unit": unit.map(|u| u.word),
        "rate_hz": number(c.rate_hz),
        "jitter": number(c.jitter),
        "longest_gap_s": number(c.longest_gap_s),
        "samples": c.samples,
        "missing": c.missing,
        "least": number(in_unit(c.least, unit)),
        "middle": number(in_unit(c.middle, unit)),
        "greatest": number(in_unit(c.greatest, unit)),
    })
}

/// A channel's quality as a line.
pub(crate) fn channel_line(c: &ChannelQuality) -> String {
    let unit = shown(c);
    let places = match words::dimension(&c.quantity) {
        Dimension::Geographic => 5,
        Dimension::Charge => 3,
        Dimension::Count | Dimension::Pulse | Dimension::Revolutions | Dimension::Pressure => 0,
        _ => 2,
    };
    let rate = if c.rate_hz.is_finite() { format!("{:.1} Hz", c.rate_hz) } else { "once".to_owned() };
    format!(
        "{:<20} {:>9}  {:>10.places$} to {:>10.places$} {:<8} {}",
        words::word(&c.quantity),
        rate,
        in_unit(c.least, unit),
        in_unit(c.greatest, unit),
        unit.filter(|u| u.dimension != Dimension::Count).map_or("", |u| u.word),
        words::column_text(&c.source),
    )
}

/// Why a column was taken for a quantity, as a line.
pub(crate) fn evidence_line(e: &Evidence) -> String {
    format!("{} is {}, {:.0}% sure: {}", e.column, e.quantity, e.sure * 100.0, e.why.replace('\n', " "))
}
