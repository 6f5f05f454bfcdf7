//! The document of a readiness list.

use plan::ready::{Expects, Standing};
use serde_json::{Value, json};
use sky::instant::Instant;

use super::day::time;
use super::number;
use crate::tasks::readiness::Line;

/// The list as a document. `ready`: every item passed.
pub(crate) fn document(name: &str, lines: &[Line]) -> Value {
    let count = |standing: Standing| lines.iter().filter(|l| l.standing == standing).count();
    json!({
        "aircraft": name,
        "ready": lines.iter().all(|l| l.standing == Standing::Passed),
        "passed": count(Standing::Passed),
        "failed": count(Standing::Failed),
        "open": count(Standing::Open),
        "items": lines.iter().map(item).collect::<Vec<_>>(),
    })
}

fn item(line: &Line) -> Value {
    let item = &line.item;
    let expects = match &item.expects {
        Expects::Done => json!({"kind": "done"}),
        Expects::Between { low, high, unit, from, .. } => {
            json!({"kind": "number", "low": number(*low), "high": number(*high), "unit": unit, "from": from})
        }
        Expects::Unknown { unit, why } => {
            json!({"kind": "number", "low": null, "high": null, "unit": unit, "why": why})
        }
    };
    json!({
        "id": item.id, "place": item.place.word(), "title": item.title, "how": item.how, "caution": item.caution,
        "expects": expects, "verdict": line.standing.word(), "stale": line.stale,
        "last": line.last.as_ref().map(|l| json!({
            "value": l.value, "verdict": l.verdict, "expected": l.expected, "by": l.signed_by,
            "at": time(Instant::from_unix_s(l.at_ms.div_euclid(1000))),
        })),
    })
}
