//! Where does an aircraft stand in its round? Each step with what was done in it and what is left, what keeps the aircraft on
//! the ground, and the one thing to do next.

use hangar::{Flight, Hangar};
use plan::outstanding::Outstanding;
use plan::places;
use plan::ready::{Place, Standing as Item};
use predict::prediction::Prediction;
use serde_json::Value;

use crate::cli::Common;
use crate::cli::words::{count, instant};
use crate::tasks::fetch::Fetched;
use crate::tasks::{keep, readiness, round};
use crate::tell::Trouble;

/// A step of the round.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum At {
    /// What have I built?
    Describe,
    /// Will it fly, and how?
    Predict,
    /// Will my throw work?
    Launch,
    /// Is it a day for it?
    Day,
    /// Am I ready?
    Ready,
    /// What do I fly?
    Card,
    /// What did it do, and what do I change?
    Learn,
    /// What is kept?
    Keep,
}

/// How a step stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum How {
    /// Nothing is left to do there.
    Done,
    /// Something is left, or it is done anew for each flight.
    Open,
    /// Something there stands against a flight.
    Against,
}

/// A step with where it stands.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct StepNow {
    /// Which.
    pub(crate) at: At,
    /// How.
    pub(crate) how: How,
    /// In a few words.
    pub(crate) state: String,
    /// More of it, a sentence each.
    pub(crate) lines: Vec<String>,
}

/// The next thing to do.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Next {
    /// Where it is done.
    pub(crate) at: At,
    /// What to do, in a sentence.
    pub(crate) what: String,
    /// The same in two or three words, for a button.
    pub(crate) short: &'static str,
}

/// Where an aircraft stands.
pub(crate) struct Standing {
    /// The steps in the order of the round.
    pub(crate) steps: Vec<StepNow>,
    /// Why it stays on the ground, a sentence each; empty where nothing known keeps it there.
    pub(crate) grounds: Vec<String>,
    /// What is still to be flown.
    pub(crate) outstanding: Outstanding,
    /// The next thing to do.
    pub(crate) next: Next,
    /// Its flights, oldest first.
    pub(crate) flights: Vec<Flight>,
}

/// A flight, as far as the standing asks for it.
#[derive(Debug, Clone, Copy)]
struct Flown {
    recording: i64,
    at_ms: i64,
    /// Changes that its newest findings ask for; none where nothing was learnt.
    changes: Option<u32>,
    adopted: bool,
}

impl Flown {
    fn of(flight: &Flight) -> Self {
        Self {
            recording: flight.recording.id.0,
            at_ms: flight.recording.at_ms,
            changes: flight.learned.as_ref().map(|l| l.changes),
            adopted: !flight.adopted_as.is_empty(),
        }
    }
}

/// A card by its number, with when it was issued.
#[derive(Debug, Clone, Copy)]
struct Issued {
    id: i64,
    at_ms: i64,
}

/// What is kept of an aircraft, as far as its standing asks for it.
struct Kept {
    flights: Vec<Flown>,
    card: Option<Issued>,
    /// Verdict and instant that the newest card was made for.
    day: Option<(String, String)>,
    revision: (u32, String),
    settings: usize,
    defects: u32,
    parts: usize,
}

fn kept(hangar: &Hangar, name: &str, flights: &[Flight]) -> Result<Kept, Trouble> {
    let cards = hangar.issued_cards(name).map_err(keep::trouble)?;
    let day = match cards.last() {
        Some(newest) => {
            let card = hangar.card(newest.id).map_err(keep::trouble)?;
            let document: Value = serde_json::from_str(&card.json).unwrap_or_default();
            let word = |key: &str| document["day"][key].as_str().map(str::to_owned);
            word("verdict").zip(word("at"))
        }
        None => None,
    };
    let revision = hangar.aircraft(name).map_err(keep::trouble)?;
    let open = |d: &&hangar::Defect| d.closed.is_none();
    let defects = hangar.defects(name).map_err(keep::trouble)?.iter().filter(open).count();
    Ok(Kept {
        flights: flights.iter().map(Flown::of).collect(),
        card: cards.last().map(|card| Issued { id: card.id.0, at_ms: card.at_ms }),
        day,
        revision: (revision.number, instant(revision.at_ms)),
        settings: hangar.settings(name).map_err(keep::trouble)?.len(),
        defects: u32::try_from(defects).unwrap_or(u32::MAX),
        parts: hangar.parts(name).map_err(keep::trouble)?.iter().filter(|p| p.here_ms.is_none()).count(),
    })
}

/// Items of the readiness list, counted.
#[derive(Debug, Clone, Copy, Default)]
struct Items {
    all: u32,
    open: u32,
    failed: u32,
}

/// Where an aircraft of the hangar stands at an instant.
pub(crate) fn standing(
    fetched: &Fetched,
    prediction: &Prediction,
    at_ms: i64,
    common: &Common,
) -> Result<Standing, Trouble> {
    let name = &fetched.aircraft.name;
    let Some(hangar) = keep::open_existing(common)? else {
        return Err(crate::tasks::fetch::unknown(name, &[]));
    };
    let flights = hangar.flights(name).map_err(keep::trouble)?;
    let kept = kept(&hangar, name, &flights)?;
    drop(hangar);
    let lines = readiness::lines(fetched, prediction, at_ms, common)?;
    let mut grounds: Vec<String> = lines
        .iter()
        .filter(|l| l.standing == Item::Failed)
        .map(|l| format!("Found wrong when it was made ready: {}: {}", l.item.title, l.words))
        .collect();
    grounds.extend(
        readiness::grounds_beside(fetched, &lines, common)?
            .into_iter()
            // How it is recorded at the command line is of no use here: the step itself stands beside it.
            .map(|g| g.split("; record each with ").next().unwrap_or_default().to_owned()),
    );
    let count_at = |place: Place| {
        lines.iter().filter(|l| l.item.place == place).fold(Items::default(), |all, l| Items {
            all: all.all + 1,
            open: all.open + u32::from(l.standing == Item::Open),
            failed: all.failed + u32::from(l.standing == Item::Failed),
        })
    };
    let items = Place::ALL.map(|place| (place, count_at(place)));
    let outstanding = round::outstanding_of(fetched, common)?;
    let steps = vec![
        describe(&kept),
        predict(prediction),
        launch(prediction),
        day(&kept),
        ready(&items, &outstanding, fetched),
        card(&kept, &outstanding),
        learn(&kept),
        keep_step(&kept, &grounds),
    ];
    let next = next(&kept, &grounds, prediction, &items, &outstanding);
    Ok(Standing { steps, grounds, outstanding, next, flights })
}

fn step(at: At, how: How, state: impl Into<String>, lines: Vec<String>) -> StepNow {
    StepNow { at, how, state: state.into(), lines }
}

fn describe(kept: &Kept) -> StepNow {
    let (number, at) = &kept.revision;
    step(At::Describe, How::Done, format!("revision {number}"), vec![format!("Kept {at}.")])
}

fn predict(prediction: &Prediction) -> StepNow {
    let against = prediction.against.len();
    let cautions = u32::try_from(prediction.cautions.len()).unwrap_or(u32::MAX);
    let lines: Vec<String> = prediction.against.iter().chain(&prediction.cautions).cloned().collect();
    match (against, cautions) {
        (0, 0) => step(At::Predict, How::Done, "nothing found against it", lines),
        (0, n) => step(At::Predict, How::Open, count(n, "caution"), lines),
        (1, _) => step(At::Predict, How::Against, "1 thing stands against it", lines),
        (n, _) => step(At::Predict, How::Against, format!("{n} things stand against it"), lines),
    }
}

fn launch(prediction: &Prediction) -> StepNow {
    let lines = match &prediction.drive {
        Ok(_) => vec!["The odds hold for one wind and one throw; they are not kept.".to_owned()],
        Err(_) => vec!["Without a drive there is no climb-out to compute.".to_owned()],
    };
    step(At::Launch, How::Open, "computed when asked", lines)
}

fn day(kept: &Kept) -> StepNow {
    match &kept.day {
        Some((verdict, at)) => {
            step(At::Day, How::Open, "anew for each flight", vec![format!("Last: {verdict} on {at}.")])
        }
        None => step(At::Day, How::Open, "not judged yet", Vec::new()),
    }
}

fn ready(items: &[(Place, Items); 3], outstanding: &Outstanding, fetched: &Fetched) -> StepNow {
    let mut lines: Vec<String> = items
        .iter()
        .map(|(place, n)| {
            let at = match place {
                Place::Home => "At home",
                Place::Field => "At the field",
                Place::Launch => "Before the launch",
            };
            let failed = if n.failed > 0 { format!(", {} failed", n.failed) } else { String::new() };
            format!("{at}: {} of {} open{failed}.", n.open, count(n.all, "item"))
        })
        .collect();
    for change in &outstanding.bench_work {
        lines.push(format!("On the bench, propeller off: {}", places::bench_work(&fetched.aircraft, change)));
    }
    let failed: u32 = items.iter().map(|(_, n)| n.failed).sum();
    let home = items[0].1.open;
    match (failed, home) {
        (0, 0) => step(At::Ready, How::Done, "list for home done", lines),
        (0, n) => step(At::Ready, How::Open, format!("{n} open at home"), lines),
        (n, _) => step(At::Ready, How::Against, format!("{n} failed"), lines),
    }
}

/// The newest card, where no recording was kept since it was issued.
fn unflown(kept: &Kept) -> Option<Issued> {
    let flown_ms = kept.flights.iter().map(|f| f.at_ms).max();
    kept.card.filter(|card| flown_ms.is_none_or(|flown| flown <= card.at_ms))
}

fn card(kept: &Kept, outstanding: &Outstanding) -> StepNow {
    let left = u32::try_from(outstanding.missing.len()).unwrap_or(u32::MAX);
    let mut lines = vec![if left == 0 {
        "Nothing is outstanding.".to_owned()
    } else {
        format!("{} still to be learnt by flying.", count(left, "thing"))
    }];
    match unflown(kept) {
        Some(card) => {
            lines.insert(0, format!("Issued {}, and no recording was kept since.", instant(card.at_ms)));
            step(At::Card, How::Done, format!("card {} is out", card.id), lines)
        }
        None if left == 0 => step(At::Card, How::Done, "nothing outstanding", lines),
        None => step(At::Card, How::Open, "none for the next flight", lines),
    }
}

/// Flights whose newest findings ask for changes that no revision took over. Only the newest flight's changes wait: older
/// ones were made since, or found anew.
fn to_adopt(kept: &Kept) -> Option<(i64, u32)> {
    let newest = kept.flights.iter().rev().find(|f| f.changes.is_some())?;
    let changes = newest.changes?;
    (!newest.adopted && changes > 0).then_some((newest.recording, changes))
}

/// A recording that nothing was learnt from yet.
fn unread(kept: &Kept) -> Option<i64> {
    kept.flights.iter().find(|f| f.changes.is_none()).map(|f| f.recording)
}

fn learn(kept: &Kept) -> StepNow {
    let flights = u32::try_from(kept.flights.len()).unwrap_or(u32::MAX);
    let mut lines = Vec::new();
    if let Some(id) = unread(kept) {
        lines.push(format!("Nothing was learnt yet from recording {id}."));
    }
    if let Some((id, changes)) = to_adopt(kept) {
        lines.push(format!("Recording {id} asks for {}, not adopted yet.", count(changes, "change")));
    }
    let how = if flights > 0 && lines.is_empty() { How::Done } else { How::Open };
    let state = if flights == 0 { "no recording yet".to_owned() } else { count(flights, "recording") };
    step(At::Learn, how, state, lines)
}

fn keep_step(kept: &Kept, grounds: &[String]) -> StepNow {
    let mut lines = Vec::new();
    if kept.settings == 0 {
        lines.push("No settings of the controller are kept: without them there is no way back.".to_owned());
    }
    if kept.parts > 0 {
        let parts = u32::try_from(kept.parts).unwrap_or(u32::MAX);
        lines.push(format!("{} to arrive.", count(parts, "part")));
    }
    let how = if !grounds.is_empty() && kept.defects > 0 {
        How::Against
    } else if kept.defects > 0 || !lines.is_empty() {
        How::Open
    } else {
        How::Done
    };
    let state = match kept.defects {
        0 => "no open defect".to_owned(),
        n => count(n, "open defect"),
    };
    step(At::Keep, how, state, lines)
}

fn next(
    kept: &Kept,
    grounds: &[String],
    prediction: &Prediction,
    items: &[(Place, Items); 3],
    outstanding: &Outstanding,
) -> Next {
    let to_do = |at, short, what: String| Next { at, what, short };
    if let Some(first) = grounds.first() {
        return if first.starts_with("defect ") {
            to_do(At::Keep, "See the defects", format!("Mend what keeps it on the ground: {first}."))
        } else {
            to_do(At::Ready, "Look again", format!("Look at what keeps it on the ground: {first}."))
        };
    }
    if let Some(id) = unread(kept) {
        return to_do(
            At::Learn,
            "Learn",
            format!("See what recording {id} says: nothing was learnt from it yet."),
        );
    }
    if let Some((id, changes)) = to_adopt(kept) {
        let words = format!(
            "Look at what recording {id} asks for ({}), and adopt what you trust.",
            count(changes, "change")
        );
        return to_do(At::Learn, "Look and adopt", words);
    }
    if let Some(first) = prediction.against.first() {
        let words = format!("Change what stands against a flight: {}", report::number::sentence(first));
        return to_do(At::Predict, "See the predictions", words);
    }
    let home = items[0].1.open;
    if home > 0 {
        let words = format!("Go through the list for home, propeller off: {} open.", count(home, "item"));
        return to_do(At::Ready, "Go through the list", words);
    }
    if let Some(card) = unflown(kept) {
        let words = format!("Fly card {} on a day that allows it, and bring the recording back.", card.id);
        return to_do(At::Learn, "Bring the recording", words);
    }
    if outstanding.missing.is_empty() {
        return to_do(
            At::Day,
            "Judge the day",
            "Nothing is outstanding. Judge each day anew, and look it over before each flight.".to_owned(),
        );
    }
    to_do(
        At::Card,
        "Make the card",
        format!(
            "Choose a day and make the card of the next flight: {} still to be learnt.",
            count(u32::try_from(outstanding.missing.len()).unwrap_or(u32::MAX), "thing")
        ),
    )
}

/// What is to be learnt, as people say it ("response.roll": "response in roll").
pub(crate) fn learnable(what: &str) -> String {
    what.replace("response.", "response in ").replace(['_', '.'], " ")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn flight(recording: i64, at_ms: i64, changes: Option<u32>, adopted: bool) -> Flown {
        Flown { recording, at_ms, changes, adopted }
    }

    fn kept(flights: Vec<Flown>, card_ms: Option<i64>) -> Kept {
        Kept {
            flights,
            card: card_ms.map(|at_ms| Issued { id: 7, at_ms }),
            day: None,
            revision: (1, String::new()),
            settings: 1,
            defects: 0,
            parts: 0,
        }
    }

    #[test]
    fn a_card_is_out_until_a_recording_comes_after_it() {
        assert!(unflown(&kept(vec![], Some(10))).is_some());
        assert!(unflown(&kept(vec![flight(1, 5, None, false)], Some(10))).is_some());
        assert!(unflown(&kept(vec![flight(1, 15, None, false)], Some(10))).is_none());
        assert!(unflown(&kept(vec![], None)).is_none());
    }

    #[test]
    fn only_the_newest_findings_wait_to_be_adopted() {
        let waits = |flights| to_adopt(&kept(flights, None));
        assert_eq!(waits(vec![flight(1, 1, Some(3), false), flight(2, 2, Some(2), false)]), Some((2, 2)));
        // An older flight's changes were made since, or found anew.
        assert_eq!(waits(vec![flight(1, 1, Some(3), false), flight(2, 2, Some(2), true)]), None);
        assert_eq!(waits(vec![flight(1, 1, Some(0), false)]), None);
        assert_eq!(waits(vec![flight(1, 1, None, false)]), None);
    }
}
