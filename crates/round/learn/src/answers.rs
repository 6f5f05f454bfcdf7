//! How is an answer told? One form for every question beyond wind, attitude and trims: estimates with their doubt and
//! what was predicted of them, the evidence as it is drawn, and sentences.

use aircraft::finding::{Finding, Window};
use numerics::uncertain::Uncertain;

use crate::findings::{Learnt, NotLearnt};

/// A question put to the recording, with its answer or why there is none.
#[derive(Debug, Clone, PartialEq)]
pub struct Answer {
    /// Its key in the findings document ("stall"); parameters of its findings begin with it.
    pub key: &'static str,
    /// Its heading.
    pub title: &'static str,
    /// What was found.
    pub told: Learnt<Told>,
}

/// What was found.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Told {
    /// Estimates, the most important first.
    pub estimates: Vec<Estimate>,
    /// Evidence to be drawn.
    pub evidence: Vec<Evidence>,
    /// What cannot be said in a number.
    pub sentences: Vec<String>,
}

/// One estimate.
#[derive(Debug, Clone, PartialEq)]
pub struct Estimate {
    /// What it is, in words, lower case ("sink at 13.0 m/s").
    pub words: String,
    /// Its unit as files write it; empty for none.
    pub unit: &'static str,
    /// The number; the parameter's last part is the key in the findings document and ends in the unit.
    pub finding: Finding,
    /// What was predicted of the same number, where it was.
    pub predicted: Option<Uncertain>,
}

/// Evidence of an answer: data, fit and its doubt over one axis, with the residuals.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Evidence {
    /// Title of the plot.
    pub title: String,
    /// What it shows, in a sentence.
    pub what: String,
    /// Name and unit of the x axis.
    pub x: String,
    /// Name and unit of the y axis.
    pub y: String,
    /// Data used.
    pub data: Vec<[f64; 2]>,
    /// The fit, as points of a line.
    pub fit: Vec<[f64; 2]>,
    /// Two standard deviations of the fit, above and below it, at the points of `fit`.
    pub doubt: Vec<f64>,
    /// A value marked along x, with what it is and two standard deviations.
    pub mark: Option<(String, f64, f64)>,
    /// Data less fit over x; empty where there is no fit.
    pub residuals: Vec<[f64; 2]>,
}

impl Estimate {
    /// An estimate without prediction.
    pub(crate) fn new(words: impl Into<String>, unit: &'static str, finding: Finding) -> Self {
        Self { words: words.into(), unit, finding, predicted: None }
    }

    /// With what was predicted.
    pub(crate) fn beside(mut self, predicted: Option<Uncertain>) -> Self {
        self.predicted = predicted;
        self
    }

    /// Whether prediction and flight agree within two standard deviations of their difference; absent where there is
    /// nothing to compare.
    #[must_use]
    pub fn agrees(&self) -> Option<bool> {
        let predicted = self.predicted?;
        let sd = predicted.sd.hypot(self.finding.sd);
        let apart = (predicted.value - self.finding.value).abs();
        (sd > 0.0 && apart.is_finite()).then_some(apart <= 2.0 * sd)
    }
}

/// A verdict: whether it suffices, and why.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Verdict {
    pub(crate) enough: bool,
    pub(crate) why: String,
}

impl Verdict {
    /// Enough where nothing speaks against it.
    pub(crate) fn of(basis: String, against: &[String]) -> Self {
        if against.is_empty() {
            Self { enough: true, why: basis }
        } else {
            Self { enough: false, why: format!("{basis}. Not enough: {}", against.join("; ")) }
        }
    }

    /// A finding with this verdict.
    pub(crate) fn finding(&self, parameter: &str, value: f64, sd: f64, evidence: &[Window]) -> Finding {
        Finding {
            parameter: parameter.into(),
            value,
            sd,
            evidence: evidence.to_vec(),
            enough: self.enough && value.is_finite() && sd.is_finite(),
            verdict: self.why.clone(),
        }
    }
}

/// Not excited, for a reason.
pub(crate) fn not_excited<T>(why: impl Into<String>) -> Learnt<T> {
    Err(NotLearnt::NotExcited { why: why.into() })
}

/// A channel is missing.
pub(crate) fn missing<T>(what: impl Into<String>) -> Learnt<T> {
    Err(NotLearnt::MissingChannel { what: what.into() })
}

/// A straight line's points for [`Evidence::fit`], `count` of them over a range.
pub(crate) fn along(from: f64, to: f64, count: usize) -> Vec<f64> {
    let steps = count.saturating_sub(1).max(1) as f64;
    (0..count).map(|i| from + (to - from) * i as f64 / steps).collect()
}

/// The same flight more often: seconds that bring a doubt down to what is asked, when errors average as those of
/// independent seconds do.
pub(crate) fn seconds_needed(flown_s: f64, sd: f64, asked_sd: f64) -> f64 {
    (flown_s * ((sd / asked_sd).powi(2) - 1.0)).max(0.0)
}
