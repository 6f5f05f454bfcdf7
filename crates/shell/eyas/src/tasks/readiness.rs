//! How far is the aircraft ready, and what grounds it? The lists of `plan` with what was signed in the hangar.

use std::collections::BTreeMap;

use hangar::{NewReadiness, Readiness};
use plan::ready::{self, Expects, Item, Judged, Place, Standing};
use plan::repairs::Recheck;
use predict::prediction::Prediction;

use crate::cli::Common;
use crate::tasks::fetch::Fetched;
use crate::tasks::{keep, upkeep};
use crate::tell::{Kind, Trouble};

/// How long what was looked at at the field or before the launch holds, ms: that day.
const DAY_MS: i64 = 12 * 3_600_000;

/// An item with what was last signed for it.
pub(crate) struct Line {
    /// The item.
    pub(crate) item: Item,
    /// How it stands now.
    pub(crate) standing: Standing,
    /// What was last signed, whether or not it still holds.
    pub(crate) last: Option<Readiness>,
    /// Why what was signed no longer holds.
    pub(crate) stale: Option<&'static str>,
    /// The value with what it had to come to.
    pub(crate) words: String,
}

/// Whether the next flight is the first.
fn first_flight(fetched: &Fetched, common: &Common) -> Result<bool, Trouble> {
    let name = &fetched.aircraft.name;
    let Some(hangar) = keep::open_existing(common)? else { return Ok(true) };
    if !hangar.names().map_err(keep::trouble)?.contains(name) {
        return Ok(true);
    }
    Ok(hangar.recordings(name).map_err(keep::trouble)?.is_empty())
}

/// What was signed for an aircraft, oldest first, and the number of the revision that has its present text.
fn signed(fetched: &Fetched, common: &Common) -> Result<(Vec<Readiness>, Option<i64>), Trouble> {
    let name = &fetched.aircraft.name;
    let Some(hangar) = keep::open_existing(common)? else {
        return Ok((Vec::new(), None));
    };
    if !hangar.names().map_err(keep::trouble)?.contains(name) {
        return Ok((Vec::new(), None));
    }
    let newest = hangar.aircraft(name).map_err(keep::trouble)?;
    let present = (newest.text == fetched.text).then_some(newest.id.0);
    Ok((hangar.readiness(name).map_err(keep::trouble)?, present))
}

/// A repair that was made, and what it demands.
struct Repaired {
    defect: i64,
    what: String,
    grounds: bool,
    at_ms: i64,
    checks: &'static [Recheck],
}

impl Repaired {
    /// Whether it demands that this item is looked at again.
    fn demands(&self, item: &str) -> bool {
        self.checks.iter().any(|check| check.is_item(item))
            || item.starts_with(&format!("again.{}.", self.defect))
    }
}

/// The repairs of an aircraft.
fn repaired(fetched: &Fetched, common: &Common) -> Result<Vec<Repaired>, Trouble> {
    let name = &fetched.aircraft.name;
    let Some(hangar) = keep::open_existing(common)? else { return Ok(Vec::new()) };
    if !hangar.names().map_err(keep::trouble)?.contains(name) {
        return Ok(Vec::new());
    }
    let defects = hangar.defects(name).map_err(keep::trouble)?;
    Ok(defects
        .iter()
        .filter_map(|d| {
            let closed = d.closed.as_ref()?;
            Some(Repaired {
                defect: d.id.0,
                what: d.what.clone(),
                grounds: d.grounds,
                at_ms: closed.at_ms,
                checks: upkeep::demands(d),
            })
        })
        .collect())
}

/// The readiness list of an aircraft, with an item for each look that a repair demands and that is on no list.
fn items(
    fetched: &Fetched,
    prediction: &Prediction,
    repaired: &[Repaired],
    common: &Common,
) -> Result<Vec<Item>, Trouble> {
    let mut items = ready::list(&fetched.aircraft, prediction, first_flight(fetched, common)?);
    let mut again = Vec::new();
    for repair in repaired {
        for check in repair.checks.iter().filter(|check| !check.in_flight()) {
            if items.iter().any(|item| check.is_item(&item.id)) {
                continue;
            }
            again.push(Item {
                id: format!("again.{}.{}", repair.defect, check.word()),
                place: Place::Home,
                title: format!("After defect {} ({}): {}", repair.defect, repair.what, check.word()),
                how: check.what().to_owned(),
                caution: None,
                expects: Expects::Done,
            });
        }
    }
    // With the other items of the bench.
    let place = items.iter().position(|item| item.place != Place::Home).unwrap_or(items.len());
    items.splice(place..place, again);
    Ok(items)
}

/// Every item of an aircraft as it stands.
pub(crate) fn lines(
    fetched: &Fetched,
    prediction: &Prediction,
    at_ms: i64,
    common: &Common,
) -> Result<Vec<Line>, Trouble> {
    let repaired = repaired(fetched, common)?;
    let items = items(fetched, prediction, &repaired, common)?;
    let (all, present) = signed(fetched, common)?;
    let mut newest: BTreeMap<String, Readiness> = BTreeMap::new();
    for one in all {
        newest.insert(one.item.clone(), one);
    }
    Ok(items
        .into_iter()
        .map(|item| {
            let last = newest.remove(&item.id);
            let Some(signed) = &last else {
                return Line { words: String::new(), standing: Standing::Open, last, stale: None, item };
            };
            // A number is judged anew: what it must come to may have changed since.
            let judged = item.judge(&signed.value);
            let words = judged.as_ref().map_or_else(|_| signed.value.clone(), |j| j.words.clone());
            let now = judged.map_or(Standing::Open, |j| j.standing);
            let stale = match item.place {
                // What was mended since is not what was looked at.
                _ if repaired.iter().any(|r| r.at_ms > signed.at_ms && r.demands(&item.id)) => {
                    Some("it was repaired since")
                }
                // A surface, rod or setting that was changed since is not the one that was looked at.
                Place::Home if present != Some(signed.revision.0) => {
                    Some("the aircraft file has changed since")
                }
                Place::Field | Place::Launch if at_ms - signed.at_ms > DAY_MS => {
                    Some("it holds for its day alone")
                }
                _ => None,
            };
            // What failed grounds the aircraft until it passes anew, however long ago it was.
            let standing = if stale.is_some() && now == Standing::Passed { Standing::Open } else { now };
            Line { words, standing, last, stale, item }
        })
        .collect())
}

/// Records what was found, after the whole command was judged.
pub(crate) fn record(
    fetched: &Fetched,
    prediction: &Prediction,
    set: &[(String, String)],
    by: &str,
    at_ms: i64,
    common: &Common,
) -> Result<(), Trouble> {
    let items = items(fetched, prediction, &repaired(fetched, common)?, common)?;
    let mut causes = Vec::new();
    let mut found = Vec::new();
    for (id, value) in set {
        match ready::find(&items, id) {
            None => causes.push(no_item(&items, id)),
            Some(item) => match item.judge(value) {
                Ok(judged) => found.push((item, judged, item.expects.words())),
                Err(why) => causes.push(why.to_string()),
            },
        }
    }
    if !causes.is_empty() {
        return Err(Trouble::many(
            Kind::Input,
            "nothing was recorded",
            causes,
            "write --set ITEM=VALUE with an item of the list; `eyas ready AIRCRAFT` shows it",
        ));
    }
    let mut hangar = keep::open(common)?;
    let revision = hangar
        .keep_aircraft(&fetched.aircraft.name, fetched.kept(), "as it was made ready", at_ms)
        .map_err(keep::trouble)?;
    let new: Vec<NewReadiness<'_>> = found
        .iter()
        .map(|(item, judged, expected)| NewReadiness {
            aircraft: revision.id,
            place: item.place.word(),
            item: &item.id,
            value: &judged.value,
            verdict: judged.standing.word(),
            expected,
            signed_by: by,
            version: env!("CARGO_PKG_VERSION"),
            at_ms,
        })
        .collect();
    hangar.keep_readiness(&new).map_err(keep::trouble)
}

fn no_item(items: &[Item], id: &str) -> String {
    let likeness = |item: &&Item| strsim::jaro_winkler(&item.id, id);
    let like = items.iter().max_by(|a, b| likeness(a).total_cmp(&likeness(b)));
    like.map_or_else(
        || format!("there is no item {id}"),
        |item| format!("there is no item {id}; the nearest is {}", item.id),
    )
}

/// What grounds the aircraft: items that failed and have not passed since, and defects that are open.
pub(crate) fn grounds(
    fetched: &Fetched,
    prediction: &Prediction,
    at_ms: i64,
    common: &Common,
) -> Result<Vec<String>, Trouble> {
    let lines = lines(fetched, prediction, at_ms, common)?;
    let mut out: Vec<String> = lines
        .iter()
        .filter(|l| l.standing == Standing::Failed)
        .map(|l| {
            format!("readiness, {}: {}; mend it and record it anew with eyas ready", l.item.title, l.words)
        })
        .collect();
    out.extend(grounds_beside(fetched, &lines, common)?);
    Ok(out)
}

/// What grounds the aircraft besides items that failed: defects that are open, and what was not looked at again after a
/// repair.
pub(crate) fn grounds_beside(
    fetched: &Fetched,
    lines: &[Line],
    common: &Common,
) -> Result<Vec<String>, Trouble> {
    let mut after_repair = Vec::new();
    for repair in repaired(fetched, common)?.iter().filter(|repair| repair.grounds) {
        // What is looked at anew each day at the field has its own place on the list.
        let open: Vec<&str> = lines
            .iter()
            .filter(|l| {
                l.item.place == Place::Home && l.standing != Standing::Passed && repair.demands(&l.item.id)
            })
            .filter(|l| l.last.as_ref().is_none_or(|last| last.at_ms < repair.at_ms))
            .map(|l| l.item.id.as_str())
            .collect();
        if !open.is_empty() {
            after_repair.push(format!(
                "after the repair of defect {} ({}) not yet looked at again: {}; record each with eyas ready --set ITEM=VALUE",
                repair.defect,
                repair.what,
                open.join(", ")
            ));
        }
    }
    let mut out = Vec::new();
    let name = &fetched.aircraft.name;
    if let Some(hangar) = keep::open_existing(common)?
        && hangar.names().map_err(keep::trouble)?.contains(name)
    {
        out.extend(upkeep::grounded(&hangar, name)?);
    }
    out.extend(after_repair);
    Ok(out)
}

/// What a value of an item would come to; nothing is recorded.
pub(crate) fn judged(
    fetched: &Fetched,
    prediction: &Prediction,
    id: &str,
    value: &str,
    common: &Common,
) -> Result<Judged, Trouble> {
    let items = items(fetched, prediction, &repaired(fetched, common)?, common)?;
    let told = |cause: String| Trouble::new(Kind::Input, "it cannot be judged", cause, "");
    let item = ready::find(&items, id).ok_or_else(|| told(no_item(&items, id)))?;
    item.judge(value).map_err(|why| told(why.to_string()))
}
