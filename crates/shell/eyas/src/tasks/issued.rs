//! What does an issued card say? The hangar keeps cards as documents; here they become cards again, to be put on paper as
//! they were issued.

use hangar::{Card as Kept, CardId, Hangar};
use plan::card::{Card, CardDay, Fact, Point};
use plan::day::Verdict;
use serde_json::Value;

use crate::tasks::keep;
use crate::tell::{Kind, Trouble};

/// A card of an aircraft by its number.
pub(crate) fn find(hangar: &Hangar, aircraft: &str, id: i64) -> Result<Kept, Trouble> {
    let missing = || {
        Trouble::new(
            Kind::Missing,
            format!("there is no card {id} of \"{aircraft}\""),
            "the hangar keeps none of that number for it",
            "choose one from the list of issued cards, or issue a new one",
        )
    };
    match hangar.card(CardId(id)) {
        Ok(card) if card.aircraft == aircraft => Ok(card),
        Ok(_) | Err(hangar::HangarError::Nothing { .. }) => Err(missing()),
        Err(error) => Err(keep::trouble(error)),
    }
}

/// The card that a document tells; none where it is no card.
pub(crate) fn restored(document: &str) -> Option<Card> {
    let card: Value = serde_json::from_str(document).ok()?;
    Some(Card {
        aircraft: text(&card["aircraft"]),
        title: card["title"].as_str()?.to_owned(),
        bench_work: texts(&card["bench_work"]),
        facts: facts(&card["facts"]),
        cautions: texts(&card["cautions"]),
        emergencies: list(&card["emergencies"]).map(|e| (text(&e["what"]), text(&e["do"]))).collect(),
        points: card["points"].as_array()?.iter().map(point).collect(),
        left_out: list(&card["left_out"]).map(|l| (text(&l["point"]), text(&l["why"]))).collect(),
        day: day(&card["day"]),
        planned_s: card["planned_s"].as_f64()?,
        allowed_s: card["allowed_s"].as_f64(),
        planned_cruise_s: card["planned_cruise_s"].as_f64(),
    })
}

fn text(value: &Value) -> String {
    value.as_str().unwrap_or_default().to_owned()
}

fn list(value: &Value) -> impl Iterator<Item = &Value> {
    value.as_array().into_iter().flatten()
}

fn texts(value: &Value) -> Vec<String> {
    list(value).map(text).collect()
}

fn facts(value: &Value) -> Vec<Fact> {
    list(value).map(|f| Fact { name: text(&f["name"]), text: text(&f["text"]) }).collect()
}

fn point(p: &Value) -> Point {
    Point {
        id: text(&p["id"]),
        title: text(&p["title"]),
        purpose: text(&p["purpose"]),
        acts: text(&p["acts"]),
        switch: p["switch"].as_str().map(str::to_owned),
        on_ground: p["on_ground"].as_bool().unwrap_or(false),
        yields: texts(&p["yields"]),
        steps: texts(&p["steps"]),
        calls: texts(&p["calls"]),
        watch: texts(&p["watch"]),
        expect: facts(&p["expect"]),
        stop: texts(&p["stop"]),
        duration_s: p["duration_s"].as_f64().unwrap_or(0.0),
    }
}

fn day(d: &Value) -> Option<CardDay> {
    let word = d["verdict"].as_str()?;
    let verdict =
        [Verdict::Go, Verdict::Part, Verdict::NoGo].into_iter().find(|verdict| verdict.word() == word)?;
    Some(CardDay {
        verdict,
        at: text(&d["at"]),
        weather: texts(&d["weather"]),
        reasons: texts(&d["reasons"]),
        conditions: list(&d["conditions"]).map(|c| (text(&c["point"]), texts(&c["reasons"]))).collect(),
        loosened: texts(&d["loosened"]),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tasks::round::card_json;

    fn point(id: &str, on_ground: bool) -> Point {
        Point {
            id: id.into(),
            title: format!("Title of {id}"),
            purpose: "why".into(),
            acts: "direct".into(),
            switch: (!on_ground).then(|| "Off".into()),
            on_ground,
            yields: vec!["trims".into()],
            steps: vec!["a".into(), "b".into()],
            calls: vec!["call".into()],
            watch: Vec::new(),
            expect: vec![Fact { name: "speed".into(), text: "12 m/s".into() }],
            stop: vec!["stop".into()],
            duration_s: 62.5,
        }
    }

    fn card() -> Card {
        Card {
            aircraft: "A <b>".into(),
            title: "Second flight of A <b>".into(),
            bench_work: vec!["set the gain".into()],
            facts: vec![Fact { name: "stall".into(), text: "7 m/s".into() }],
            cautions: vec!["c".into()],
            emergencies: vec![("what".into(), "act".into())],
            points: vec![point("ground", true), point("air", false)],
            left_out: vec![("Tune".into(), "too windy".into())],
            day: Some(CardDay {
                verdict: Verdict::Part,
                at: "2026-06-21 13:00 UTC".into(),
                weather: vec!["METAR".into()],
                reasons: vec!["wind".into()],
                conditions: vec![("air".into(), vec!["wind".into()])],
                loosened: vec!["loosened".into()],
            }),
            planned_s: 125.0,
            allowed_s: Some(1060.25),
            planned_cruise_s: Some(80.0),
        }
    }

    #[test]
    fn a_card_comes_back_from_its_document_as_it_was() {
        let card = card();
        assert_eq!(restored(&card_json(&card).to_string()), Some(card.clone()));
        let bare = Card { day: None, allowed_s: None, planned_cruise_s: None, ..card };
        assert_eq!(restored(&card_json(&bare).to_string()), Some(bare));
        for no_card in ["", "{}", "[1]", "{\"title\": \"x\"}"] {
            assert_eq!(restored(no_card), None, "{no_card}");
        }
    }
}
