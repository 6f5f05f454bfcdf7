//! What does `eyas read --json` print?

use fly::inputs::Input;
use fly::phases::{Flown, Moment, Phase};
use fly::propose::Evidence;
use fly::quality::{ChannelQuality, Quality};
use fly::recording::Quantity;
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
        "phases": findings::phases(phases),
        "flights": flights.iter().map(flown).collect::<Vec<_>>(),
        "inputs": inputs.iter().map(input).collect::<Vec<_>>(),
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

/// The unit in which people read a channel: degrees for angles, the kept one elsewhere.
pub(crate) fn shown(quantity: &Quantity) -> Option<&'static Unit> {
    let dimension = words::dimension(quantity);
    let wanted = match dimension {
        Dimension::Angle => words::unit_of(dimension, "deg"),
        Dimension::AngularRate => words::unit_of(dimension, "deg/s"),
        Dimension::Throttle => words::unit_of(dimension, "percent"),
        _ => None,
    };
    wanted.or_else(|| words::units_of(dimension).next())
}

/// A kept value in another unit.
pub(crate) fn in_unit(value: f64, unit: Option<&Unit>) -> f64 {
    unit.map_or(value, |u| (value - u.offset) / u.factor)
}

fn channel(c: &ChannelQuality) -> Value {
    let unit = shown(&c.quantity);
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
    let unit = shown(&c.quantity);
    format!(
        "{:<22} from {:<24} {:>6.1} Hz  {:>10.2} to {:>10.2} {}",
        words::word(&c.quantity),
        format!("\"{}\"", c.source),
        c.rate_hz,
        in_unit(c.least, unit),
        in_unit(c.greatest, unit),
        unit.map_or("", |u| u.word),
    )
}

/// Why a column was taken for a quantity, as a line.
pub(crate) fn evidence_line(e: &Evidence) -> String {
    format!("{} is {}, {:.0}% sure: {}", e.column, e.quantity, e.sure * 100.0, e.why.replace('\n', " "))
}
