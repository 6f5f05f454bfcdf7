//! What does a recording prove to have been flown? Points are ticked off by what it shows, not by hand.

use std::collections::{BTreeMap, BTreeSet};

use crate::catalogue::Catalogue;

/// What recordings show: phases by name with their number, and what was found well enough.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Evidence {
    /// Phases of the flight by name ("turn") with how many of each.
    pub phases: BTreeMap<String, usize>,
    /// Findings that suffice ("wind", "response.roll").
    pub enough: BTreeSet<String>,
}

/// What a point asks of a recording: any one of these.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Proof(Vec<One>);

#[derive(Debug, Clone, PartialEq, Eq)]
enum One {
    /// So many phases of a name.
    Phases { name: String, count: usize },
    /// A finding that suffices.
    Found(String),
}

impl Proof {
    /// Reads "phase:turn*2", "found:wind", or alternatives with | between them.
    #[must_use]
    pub fn read(words: &str) -> Option<Self> {
        let name = |text: &str| -> Option<String> {
            let sound =
                !text.is_empty() && text.bytes().all(|b| b.is_ascii_lowercase() || b"._".contains(&b));
            sound.then(|| text.to_owned())
        };
        let one = |text: &str| -> Option<One> {
            let text = text.trim();
            if let Some(found) = text.strip_prefix("found:") {
                return name(found).map(One::Found);
            }
            let phase = text.strip_prefix("phase:")?;
            let (phase, count) = match phase.split_once('*') {
                Some((phase, count)) => (phase, count.parse().ok().filter(|n| *n > 0)?),
                None => (phase, 1),
            };
            Some(One::Phases { name: name(phase)?, count })
        };
        words.split('|').map(one).collect::<Option<Vec<_>>>().map(Self)
    }

    fn holds(&self, evidence: &Evidence) -> bool {
        self.0.iter().any(|one| match one {
            One::Phases { name, count } => evidence.phases.get(name).is_some_and(|n| n >= count),
            One::Found(what) => evidence.enough.contains(what),
        })
    }
}

/// Identifiers of the points that the evidence proves to have been flown: all that a point asks must hold, and a point
/// that asks nothing is never proved.
#[must_use]
pub fn flown(catalogue: &Catalogue, evidence: &Evidence) -> BTreeSet<String> {
    catalogue
        .points
        .iter()
        .filter(|p| !p.evidence.is_empty() && p.evidence.iter().all(|proof| proof.holds(evidence)))
        .map(|p| p.id.clone())
        .collect()
}
