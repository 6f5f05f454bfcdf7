//! What do all pages share? Where the hangar is, and predictions that were computed already.

use std::collections::HashSet;
use std::sync::{Arc, Mutex, PoisonError};

use predict::prediction::Prediction;
use sha2::{Digest as _, Sha256};

use crate::cli::Common;
use crate::tasks::fetch::{self, Fetched};
use crate::tasks::forecast::{Air, forecast, forecast_at_hand};
use crate::tasks::keep;
use crate::tasks::sections;
use crate::tasks::warm::Warm;
use crate::tell::{Kind, Trouble};
use crate::web::jobs::Jobs;
use crate::web::shelf::Shelf;

/// Predictions kept in memory: enough for a hangar's aircraft and a slider's way back and forth.
const KEPT: usize = 48;

/// What all pages share.
pub(crate) struct App {
    /// Where the hangar is.
    pub(crate) common: Common,
    /// Longer work that goes on, told by events.
    pub(crate) jobs: Jobs,
    /// The key that a browser must show when the pages are open to other machines.
    pub(crate) key: Option<String>,
    /// Names under which this machine may be called besides its addresses.
    pub(crate) names: Vec<String>,
    /// Port that is listened on.
    pub(crate) port: u16,
    /// Shapes that were prepared for answers while somebody types or moves a slider.
    pub(crate) warm: Warm,
    /// Recordings that were read, and what they taught.
    pub(crate) shelf: Shelf,
    predictions: Mutex<Vec<([u8; 32], Arc<Prediction>)>>,
    computing: Mutex<HashSet<[u8; 32]>>,
}

/// A prediction, and whether finer section tables are on their way.
#[derive(Clone)]
pub(crate) struct Foreseen {
    /// The prediction.
    pub(crate) prediction: Arc<Prediction>,
    /// Whether tables of its sections are being computed: then the numbers become finer in some seconds.
    pub(crate) rough: bool,
}

impl App {
    /// The pages of a hangar.
    pub(crate) fn new(common: Common, key: Option<String>, names: Vec<String>, port: u16) -> Self {
        Self {
            common,
            jobs: Jobs::default(),
            key,
            names,
            port,
            warm: Warm::default(),
            shelf: Shelf::default(),
            predictions: Mutex::default(),
            computing: Mutex::default(),
        }
    }

    /// An aircraft of the hangar, by its name only: a page never reads a path that a request names.
    pub(crate) fn aircraft(&self, name: &str) -> Result<Fetched, Trouble> {
        let Some(hangar) = keep::open_existing(&self.common)? else {
            return Err(missing(name));
        };
        let revision = match hangar.aircraft(name) {
            Ok(revision) => revision,
            Err(hangar::HangarError::NoAircraft { .. } | hangar::HangarError::BadName { .. }) => {
                return Err(missing(name));
            }
            Err(error) => return Err(keep::trouble(error)),
        };
        let section_files = hangar.section_files(revision.id).map_err(keep::trouble)?;
        let aircraft = fetch::kept_text(&revision.text, name, &section_files)?;
        Ok(Fetched { aircraft, text: revision.text, section_files, path: None })
    }

    /// Predictions of an aircraft, from memory where they were computed before. Where section tables are missing, the
    /// rough prediction is given at once and the tables are computed beside.
    pub(crate) fn foresee(self: &Arc<Self>, fetched: &Fetched, air: &Air) -> Result<Foreseen, Trouble> {
        let rough = !sections::at_hand(&fetched.aircraft);
        let key = key_of(fetched, air, rough);
        let remembered = {
            let mut kept = self.predictions.lock().unwrap_or_else(PoisonError::into_inner);
            let found = kept.iter().position(|(k, _)| *k == key);
            // The one asked for last is forgotten last.
            found.map(|i| {
                let entry = kept.remove(i);
                let prediction = entry.1.clone();
                kept.push(entry);
                prediction
            })
        };
        if let Some(prediction) = remembered {
            return Ok(Foreseen { prediction, rough });
        }
        let prediction = if rough {
            let at_hand = forecast_at_hand(&fetched.aircraft, air)?;
            self.compute_beside(fetched, key);
            Arc::new(at_hand)
        } else {
            Arc::new(forecast(&fetched.aircraft, air)?)
        };
        let mut kept = self.predictions.lock().unwrap_or_else(PoisonError::into_inner);
        if kept.len() >= KEPT {
            kept.remove(0);
        }
        kept.push((key, prediction.clone()));
        Ok(Foreseen { prediction, rough })
    }

    /// Computes missing section tables in threads of their own, so that pages that are asked for meanwhile do not wait behind
    /// them; they are kept on disk for the next question.
    fn compute_beside(self: &Arc<Self>, fetched: &Fetched, key: [u8; 32]) {
        let fresh = self.computing.lock().unwrap_or_else(PoisonError::into_inner).insert(key);
        if fresh {
            let app = Arc::clone(self);
            let aircraft = fetched.aircraft.clone();
            std::thread::spawn(move || {
                let compute = || sections::tables(&aircraft, sections::Effort::Compute);
                // Half of the machine is left to whoever looks at pages.
                let half = std::thread::available_parallelism().map_or(1, |n| n.get().div_ceil(2));
                let _ = match rayon::ThreadPoolBuilder::new().num_threads(half).build() {
                    Ok(threads) => threads.install(compute),
                    Err(_) => compute(),
                };
                app.computing.lock().unwrap_or_else(PoisonError::into_inner).remove(&key);
            });
        }
    }
}

fn key_of(fetched: &Fetched, air: &Air, rough: bool) -> [u8; 32] {
    let mut digest = Sha256::new();
    digest.update(fetched.text.as_bytes());
    for file in &fetched.section_files {
        digest.update([0]);
        digest.update(file.name.as_bytes());
        digest.update([0]);
        digest.update(file.text.as_bytes());
    }
    digest.update(format!("\0{air:?}{rough}").as_bytes());
    digest.finalize().into()
}

fn missing(name: &str) -> Trouble {
    Trouble::new(
        Kind::Missing,
        format!("there is no aircraft \"{name}\""),
        "the hangar keeps none of that name",
        "go to the hangar's page and choose one, or describe a new one",
    )
}
