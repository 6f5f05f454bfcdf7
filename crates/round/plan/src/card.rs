//! What does the next flight's card say? Test points in order with expected numbers, calls, stop rules, cautions.

/// A card for one flight.
#[derive(Debug, Clone, PartialEq)]
pub struct Card {
    /// Aircraft it is for.
    pub aircraft: String,
    /// "First flight of Merle", say.
    pub title: String,
    /// Facts the pilot wants at a glance: name, value with unit and doubt.
    pub facts: Vec<Fact>,
    /// Cautions, local rules first.
    pub cautions: Vec<String>,
    /// What to do when something goes wrong: what happened, what to do.
    pub emergencies: Vec<(String, String)>,
    /// Test points in flying order.
    pub points: Vec<Point>,
    /// Points left out, with the reason.
    pub left_out: Vec<(String, String)>,
    /// Flight time planned, s, and what the pack allows with reserve, s, if predicted.
    pub planned_s: f64,
    /// Flight time that the pack allows with its reserve, s.
    pub allowed_s: Option<f64>,
}

/// A named number for people.
#[derive(Debug, Clone, PartialEq)]
pub struct Fact {
    /// What it is.
    pub name: String,
    /// Value with unit and doubt, ready to read; or why there is none.
    pub text: String,
}

/// A test point on the card.
#[derive(Debug, Clone, PartialEq)]
pub struct Point {
    /// Identifier in the catalogue.
    pub id: String,
    /// Title.
    pub title: String,
    /// Why it is flown.
    pub purpose: String,
    /// How the stick acts ("direct").
    pub acts: String,
    /// Steps for the pilot.
    pub steps: Vec<String>,
    /// Calls for the helper.
    pub calls: Vec<String>,
    /// What to watch.
    pub watch: Vec<String>,
    /// What to expect, with numbers from this aircraft's predictions.
    pub expect: Vec<Fact>,
    /// When to stop.
    pub stop: Vec<String>,
    /// Duration, s.
    pub duration_s: f64,
}
