//! What more is to be flown? Every question that the recording did not answer well enough, with what would.

use aircraft::finding::Finding;

use crate::findings::{Findings, Learnt, NotLearnt};

/// One thing to fly or to record.
#[derive(Debug, Clone, PartialEq)]
pub struct More {
    /// Which question ("stall"), as the findings document names it.
    pub key: String,
    /// The question in words ("Stall").
    pub title: String,
    /// What to fly or to record, in a sentence with numbers.
    pub what: String,
}

/// What more to fly, in the order of the document.
#[must_use]
pub fn more_to_fly(findings: &Findings) -> Vec<More> {
    let mut all = Vec::new();
    let mut ask = |key: &str, title: &str, what: String| {
        all.push(More { key: key.into(), title: title.into(), what });
    };
    match &findings.wind {
        Ok(wind) => {
            if let Some(what) = lacking(&wind.speed_m_s) {
                ask("wind", "Wind", what);
            }
        }
        Err(why) => ask("wind", "Wind", needed(why)),
    }
    match &findings.level_attitude {
        Ok(level) => {
            if let Some(what) = lacking(&level.correction_deg) {
                ask("level_attitude", "Level attitude", what);
            }
        }
        Err(why) => ask("level_attitude", "Level attitude", needed(why)),
    }
    match &findings.trims {
        Ok(trims) => {
            if let Some((trim, what)) = trims.iter().find_map(|t| Some((t, lacking(&t.us)?))) {
                ask("trims", "Trims", format!("{}: {what}", trim.surface));
            }
        }
        Err(why) => ask("trims", "Trims", needed(why)),
    }
    for answer in &findings.answers {
        if let Some(what) = told(&answer.told) {
            ask(answer.key, answer.title, what)
        }
    }
    all
}

fn told(told: &Learnt<crate::answers::Told>) -> Option<String> {
    match told {
        Ok(told) => {
            told.estimates.iter().find_map(|e| Some(format!("{}: {}", e.words, lacking(&e.finding)?)))
        }
        Err(why) => Some(needed(why)),
    }
}

/// What a finding says that it lacks; none where it suffices.
fn lacking(finding: &Finding) -> Option<String> {
    if finding.enough {
        return None;
    }
    let words = &finding.verdict;
    Some(words.rsplit_once("Not enough: ").map_or_else(|| words.clone(), |(_, what)| what.to_owned()))
}

fn needed(why: &NotLearnt) -> String {
    match why {
        NotLearnt::MissingChannel { what } => format!("record {what}"),
        NotLearnt::NotExcited { why } => why.clone(),
    }
}
