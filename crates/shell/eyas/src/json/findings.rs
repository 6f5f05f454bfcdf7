//! What does `eyas learn --json` print, and what does `eyas adopt` read back?

use aircraft::finding::{Change, Finding, Window};
use fly::phases::Phase;
use learn::answers::Told;
use learn::findings::{Findings, Learnt, LevelAttitude, NotLearnt, Trim, Wind};
use learn::more::more_to_fly;
use numerics::uncertain::Uncertain;
use serde_json::{Value, json};

use super::{Object, number, response};

/// Version of the document's shape.
const FORMAT: u64 = 1;

/// What the findings belong to.
pub(crate) struct Origin<'a> {
    /// Aircraft.
    pub(crate) aircraft: &'a str,
    /// File name of the recording.
    pub(crate) recording: &'a str,
    /// Number of the findings in the hangar, where they are kept.
    pub(crate) kept_as: Option<i64>,
}

/// The reason in a sentence.
pub(crate) fn why(reason: &NotLearnt) -> String {
    match reason {
        NotLearnt::MissingChannel { what } => format!("the recording lacks {what}"),
        NotLearnt::NotExcited { why } => why.clone(),
    }
}

/// Phases of a flight.
pub(crate) fn phases(phases: &[Phase]) -> Value {
    phases
        .iter()
        .map(|p| {
            json!({
                "kind": p.kind.word(),
                "from_s": number(p.window.from_s),
                "to_s": number(p.window.to_s),
                "confidence": number(p.confidence),
            })
        })
        .collect()
}

/// The whole document.
pub(crate) fn document(origin: &Origin<'_>, f: &Findings) -> Value {
    let mut o = Object::default();
    o.set("format", FORMAT);
    o.set("aircraft", origin.aircraft);
    o.set("recording", origin.recording);
    o.set("kept_as", origin.kept_as);
    o.set_or_why("wind", f.wind.as_ref().map(wind).map_err(why));
    o.set_or_why("level_attitude", f.level_attitude.as_ref().map(level_attitude).map_err(why));
    o.set_or_why("trims", trims(&f.trims));
    response::write(&mut o, &f.handling);
    for answer in &f.answers {
        o.set_or_why(answer.key, answer.told.as_ref().map(told).map_err(why));
    }
    o.set(
        "more_to_fly",
        more_to_fly(f).iter().map(|m| json!({"question": m.key, "what": m.what})).collect::<Value>(),
    );
    o.set("phases", phases(&f.phases));
    o.set("remarks", f.remarks.clone());
    o.set("changes", changes(&f.changes));
    o.done()
}

pub(super) fn windows(windows: &[Window]) -> Value {
    windows.iter().map(|w| json!([number(w.from_s), number(w.to_s)])).collect()
}

/// One estimate.
pub(super) fn estimate(f: &Finding) -> Value {
    json!({
        "value": number(f.value),
        "sd": number(f.sd),
        "from": "flown",
        "enough": f.enough,
        "verdict": f.verdict,
        "windows_s": windows(&f.evidence),
    })
}

/// An answer: its estimates by their keys, with what was predicted of each, and the sentences.
fn told(told: &Told) -> Value {
    let mut fields = serde_json::Map::new();
    for e in &told.estimates {
        let key = e.finding.parameter.rsplit('.').next().unwrap_or_default().to_owned();
        let mut value = estimate(&e.finding);
        if let (Some(fields), Some(p)) = (value.as_object_mut(), e.predicted) {
            fields.insert("predicted".into(), json!({"value": number(p.value), "sd": number(p.sd)}));
        }
        if let Some(fields) = value.as_object_mut() {
            fields.insert("words".into(), e.words.clone().into());
            fields.insert("unit".into(), e.unit.into());
        }
        fields.insert(key, value);
    }
    fields.insert("sentences".into(), told.sentences.clone().into());
    fields.insert("enough".into(), told.estimates.first().is_some_and(|e| e.finding.enough).into());
    Value::Object(fields)
}

fn wind(w: &Wind) -> Value {
    json!({
        "speed_m_s": estimate(&w.speed_m_s),
        "from_deg": estimate(&w.from_deg),
        "airspeed_m_s": estimate(&w.airspeed_m_s),
        "airspeed_factor": w.airspeed_factor.as_ref().map(estimate),
        "height_m": w.height_m.map(number),
        "change_with_height_per_s": w.change_with_height_per_s.as_ref().map(estimate),
        "gust_m_s": number(w.gust_m_s),
        "velocity_north_m_s": number(w.velocity_m_s[0]),
        "velocity_east_m_s": number(w.velocity_m_s[1]),
        "enough": w.speed_m_s.enough,
    })
}

fn level_attitude(l: &LevelAttitude) -> Value {
    json!({
        "reading_deg": estimate(&l.reading_deg),
        "correction_deg": estimate(&l.correction_deg),
        "airspeed_m_s": number(l.airspeed_m_s),
        "enough": l.correction_deg.enough,
    })
}

fn trims(trims: &Learnt<Vec<Trim>>) -> Result<Value, String> {
    let trims = trims.as_ref().map_err(why)?;
    Ok(trims
        .iter()
        .map(|t| {
            json!({
                "surface": t.surface,
                "channel": t.channel,
                "path": t.path,
                "us": estimate(&t.us),
                "deg": estimate(&t.deg),
                "mm": estimate(&t.mm),
                "clevis_turns": t.clevis_turns.map(number),
                "enough": t.us.enough,
            })
        })
        .collect())
}

fn changes(changes: &[Change]) -> Value {
    changes
        .iter()
        .map(|c| {
            json!({
                "path": c.path,
                "from": c.from.map(number),
                "to": number(c.to),
                "sd": number(c.sd),
                "unit": c.unit,
                "why": c.why,
                "held_back": c.held_back,
            })
        })
        .collect()
}

/// Findings as `adopt` needs them.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct ToAdopt {
    /// Aircraft they are of.
    pub(crate) aircraft: String,
    /// Recording they come from.
    pub(crate) recording: String,
    /// Changes asked for.
    pub(crate) changes: Vec<Change>,
}

/// Reads a findings document back.
///
/// # Errors
/// A sentence that says what is wrong with it, and where.
pub(crate) fn read(text: &str) -> Result<ToAdopt, String> {
    let document: Value = serde_json::from_str(text).map_err(|e| format!("it is not JSON: {e}"))?;
    let format = document.get("format").and_then(Value::as_u64);
    if format != Some(FORMAT) {
        return Err(match format {
            Some(n) => format!("its format is {n}; this version reads format {FORMAT}"),
            None => {
                "it has no \"format\": it is not a findings document as `eyas learn --json` prints it".into()
            }
        });
    }
    let word = |key: &str| {
        document
            .get(key)
            .and_then(Value::as_str)
            .map(str::to_owned)
            .ok_or_else(|| format!("\"{key}\" is missing or no text"))
    };
    let list =
        document.get("changes").and_then(Value::as_array).ok_or("\"changes\" is missing or no list")?;
    let mut changes = Vec::with_capacity(list.len());
    for (i, entry) in list.iter().enumerate() {
        let place = |key: &str, what: &str| format!("changes[{i}].{key} is missing or {what}");
        let number = |key: &str| entry.get(key).and_then(Value::as_f64);
        let text = |key: &str| entry.get(key).and_then(Value::as_str).map(str::to_owned);
        changes.push(Change {
            path: text("path").ok_or_else(|| place("path", "no text"))?,
            from: number("from"),
            to: number("to").ok_or_else(|| place("to", "no number"))?,
            sd: number("sd").filter(|sd| *sd >= 0.0).ok_or_else(|| place("sd", "no number from zero up"))?,
            unit: text("unit").ok_or_else(|| place("unit", "no text"))?,
            why: text("why").unwrap_or_default(),
            held_back: text("held_back"),
        });
    }
    Ok(ToAdopt { aircraft: word("aircraft")?, recording: word("recording")?, changes })
}

/// A number predicted and flown.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Beside {
    /// What it is.
    pub(crate) words: String,
    /// Its unit.
    pub(crate) unit: String,
    /// As predicted, or known before.
    pub(crate) predicted: Uncertain,
    /// As flown.
    pub(crate) flown: Uncertain,
}

impl Beside {
    /// Whether both lie within two standard deviations of their difference.
    pub(crate) fn agree(&self) -> bool {
        (self.predicted.value - self.flown.value).abs() <= 2.0 * self.predicted.sd.hypot(self.flown.sd)
    }
}

/// Estimates of a findings document that suffice and have a prediction beside them. A document that cannot be read has
/// none.
pub(crate) fn beside(text: &str) -> Vec<Beside> {
    let Ok(Value::Object(document)) = serde_json::from_str::<Value>(text) else {
        return Vec::new();
    };
    let uncertain = |v: &Value| {
        Some(Uncertain::new(v.get("value").and_then(Value::as_f64)?, v.get("sd").and_then(Value::as_f64)?))
    };
    document
        .values()
        .filter_map(Value::as_object)
        .flat_map(|answer| answer.values())
        .filter(|e| e.get("enough") == Some(&Value::Bool(true)))
        .filter_map(|e| {
            Some(Beside {
                words: e.get("words").and_then(Value::as_str)?.to_owned(),
                unit: e.get("unit").and_then(Value::as_str)?.to_owned(),
                predicted: uncertain(e.get("predicted")?)?,
                flown: uncertain(e)?,
            })
        })
        .collect()
}

/// All estimates of a findings document, named by their path (`wind.speed_m_s`, `trims[0].us`). A document that
/// cannot be read has none.
pub(crate) fn estimates(text: &str) -> Vec<Finding> {
    let mut found = Vec::new();
    if let Ok(document) = serde_json::from_str::<Value>(text) {
        gather(&document, "", &mut found);
    }
    found
}

/// What more is to be flown, by a findings document: the question and what to fly.
pub(crate) fn more(text: &str) -> Vec<(String, String)> {
    let Ok(document) = serde_json::from_str::<Value>(text) else {
        return Vec::new();
    };
    let word = |v: &Value, key: &str| v.get(key).and_then(Value::as_str).map(str::to_owned);
    document["more_to_fly"]
        .as_array()
        .into_iter()
        .flatten()
        .filter_map(|m| Some((plain(&word(m, "question")?), word(m, "what")?)))
        .collect()
}

/// All estimates of a findings document for people: what it is, its unit, and the finding with the seconds it rests on.
pub(crate) fn estimates_with_seconds(text: &str) -> Vec<(String, String, Finding)> {
    let Ok(document) = serde_json::from_str::<Value>(text) else {
        return Vec::new();
    };
    estimates(text)
        .into_iter()
        .map(|mut finding| {
            let at = document.pointer(&pointer(&finding.parameter)).unwrap_or(&Value::Null);
            let windows = at.get("windows_s").and_then(Value::as_array).into_iter().flatten();
            finding.evidence = windows
                .filter_map(|w| Some(Window { from_s: w.get(0)?.as_f64()?, to_s: w.get(1)?.as_f64()? }))
                .collect();
            let told = |key: &str| at.get(key).and_then(Value::as_str).map(str::to_owned);
            let (name, unit) = split_unit(&finding.parameter);
            let words = match (told("words"), surface(&document, &finding.parameter)) {
                (Some(words), _) => capital(&words),
                (None, Some(surface)) => format!("Trim of {surface}"),
                (None, None) => capital(&plain(name)),
            };
            (words, told("unit").unwrap_or_else(|| unit.to_owned()), finding)
        })
        .collect()
}

/// `trims[0].us` as RFC 6901 writes it: `/trims/0/us`.
fn pointer(path: &str) -> String {
    format!("/{}", path.replace('[', "/").replace(']', "").replace('.', "/"))
}

/// The surface that a trim is of.
fn surface(document: &Value, path: &str) -> Option<String> {
    let (list, _) = path.rsplit_once('.').filter(|(list, _)| list.starts_with("trims["))?;
    document.pointer(&pointer(list))?.get("surface")?.as_str().map(str::to_owned)
}

/// The unit that ends a name, and the name without it.
fn split_unit(path: &str) -> (&str, &str) {
    const UNITS: [(&str, &str); 14] = [
        ("_deg_s_per_deg", "deg/s"),
        ("_deg_s_per_percent", "deg/s"),
        ("_per_s", "1/s"),
        ("_deg_s", "deg/s"),
        ("_m_s", "m/s"),
        ("_deg", "deg"),
        ("_percent", "percent"),
        ("_ohm", "ohm"),
        ("_wh", "Wh"),
        ("_w", "W"),
        ("_a", "A"),
        ("_m", "m"),
        ("_s", "s"),
        ("_n", "N"),
    ];
    if let Some(name) = path.strip_suffix(".us") {
        return (name, "us");
    }
    if let Some(name) = path.strip_suffix(".mm") {
        return (name, "mm");
    }
    if let Some(name) = path.strip_suffix(".deg") {
        return (name, "deg");
    }
    UNITS
        .iter()
        .find_map(|(end, unit)| path.strip_suffix(end).map(|name| (name, *unit)))
        .unwrap_or((path, ""))
}

/// A path as people read it: "response.roll.time_constant" becomes "response roll time constant".
fn plain(path: &str) -> String {
    path.replace(['.', '_'], " ")
}

fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}

fn gather(value: &Value, path: &str, found: &mut Vec<Finding>) {
    match value {
        Value::Object(fields) => {
            let number = |key: &str| fields.get(key).and_then(Value::as_f64);
            let verdict = fields.get("verdict").and_then(Value::as_str);
            if let (Some(value), Some(sd), Some(verdict)) = (number("value"), number("sd"), verdict) {
                found.push(Finding {
                    parameter: path.to_owned(),
                    value,
                    sd,
                    evidence: Vec::new(),
                    enough: fields.get("enough") == Some(&Value::Bool(true)),
                    verdict: verdict.to_owned(),
                });
                return;
            }
            for (key, inner) in fields {
                let path = if path.is_empty() { key.clone() } else { format!("{path}.{key}") };
                gather(inner, &path, found);
            }
        }
        Value::Array(items) => {
            for (i, inner) in items.iter().enumerate() {
                gather(inner, &format!("{path}[{i}]"), found);
            }
        }
        _ => {}
    }
}

#[cfg(test)]
mod tests {
    use learn::handling::Handling;

    use super::*;

    fn findings() -> Findings {
        Findings {
            handling: Handling::none(&NotLearnt::NotExcited { why: "no stick was moved".into() }),
            phases: vec![],
            wind: Err(NotLearnt::MissingChannel { what: "velocity over ground".into() }),
            level_attitude: Err(NotLearnt::NotExcited { why: "one leg only".into() }),
            trims: Ok(vec![]),
            answers: vec![],
            remarks: vec![],
            changes: vec![Change {
                path: "controller.mounting_pitch_deg".into(),
                from: Some(0.0),
                to: 1.5,
                sd: 0.1,
                unit: "deg".into(),
                why: "level flight read 1.5".into(),
                held_back: None,
            }],
        }
    }

    #[test]
    fn what_learn_prints_adopt_reads() {
        let origin = Origin { aircraft: "Plover", recording: "a.csv", kept_as: None };
        let document = document(&origin, &findings());
        let back = read(&document.to_string()).unwrap();
        assert_eq!(back.changes, findings().changes);
        assert_eq!(document["wind"], Value::Null);
        assert_eq!(document["why"]["wind"], "the recording lacks velocity over ground");
    }

    #[test]
    fn estimates_are_told_with_words_unit_and_seconds() {
        let text = r#"{"wind": {"speed_m_s": {"value": 3.0, "sd": 0.2, "enough": true, "verdict": "v", "windows_s": [[1.0, 2.5]]}},
            "trims": [{"surface": "aileron, left", "us": {"value": 9.0, "sd": 1.0, "enough": false, "verdict": "w", "windows_s": []}}],
            "stall": {"speed_m_s": {"value": 7.0, "sd": 0.3, "enough": true, "verdict": "x", "words": "stall", "unit": "m/s"}}}"#;
        let all = estimates_with_seconds(text);
        let told: Vec<(&str, &str)> = all.iter().map(|(w, u, _)| (w.as_str(), u.as_str())).collect();
        assert_eq!(told, [("Wind speed", "m/s"), ("Trim of aileron, left", "us"), ("Stall", "m/s")]);
        assert_eq!(all[0].2.evidence, [Window { from_s: 1.0, to_s: 2.5 }]);
    }

    #[test]
    fn a_document_of_another_kind_is_refused_with_the_place() {
        assert!(read("[1, 2").unwrap_err().contains("not JSON"));
        assert!(read("{}").unwrap_err().contains("format"));
        let missing = r#"{"format": 1, "aircraft": "a", "recording": "r", "changes": [{"path": "x"}]}"#;
        assert!(read(missing).unwrap_err().contains("changes[0].to"));
    }
}
