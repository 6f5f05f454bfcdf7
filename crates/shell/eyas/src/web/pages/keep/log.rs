//! How long has it flown, and how old are the packs? The log of airframe and packs, with the resistance of each pack as it
//! went.

use std::sync::Arc;

use axum::Router;
use axum::extract::{Path, State};
use axum::routing::get;
use hangar::{Hangar, LogEntry, PackTotals, log_totals};
use maud::{Markup, PreEscaped, html};
use report::number;
use report::plot::{Look, Plot};

use crate::cli::now_ms;
use crate::cli::words::{count, instant};
use crate::tasks::flown::{self, Entry};
use crate::tasks::keep;
use crate::tell::Trouble;
use crate::web::app::App;
use crate::web::ask::Ask;
use crate::web::controls::{Control, Takes, Wrong, control};
use crate::web::fields::{Fields, Form, encoded};
use crate::web::reply::{self, Reply, work};
use crate::web::shell::{Place, Step, form_key};

use super::{hangar_of, page, path, ways};

pub(super) fn routes() -> Router<Arc<App>> {
    Router::new().route("/aircraft/{name}/keep/log", get(show).post(enter))
}

const CONTROLS: [Control; 6] = [
    Control {
        name: "minutes",
        label: "Time in the air",
        unit: "min",
        hint: "Left empty with a recording named: as its findings say.",
        takes: Takes::Number,
    },
    Control { name: "landings", label: "Landings", unit: "", hint: "", takes: Takes::Number },
    Control {
        name: "pack",
        label: "Pack",
        unit: "",
        hint: "The name written on it: each pack has its own history.",
        takes: Takes::Words,
    },
    Control {
        name: "charged",
        label: "Charge put back",
        unit: "mAh",
        hint: "As the charger says, charging watched and on a fireproof place.",
        takes: Takes::Number,
    },
    Control {
        name: "resistance",
        label: "Resistance of the pack",
        unit: "mohm",
        hint: "All cells together. It rises as a pack ages.",
        takes: Takes::Number,
    },
    Control { name: "note", label: "Words to keep with it", unit: "", hint: "", takes: Takes::Words },
];

async fn show(State(app): State<Arc<App>>, ask: Ask, Path(name): Path<String>) -> Reply {
    work(app, ask, move |app, ask| {
        // That there is no such aircraft is told with its status; what many flights cost comes after the frame.
        hangar_of(app, &name)?;
        let (place, named) = (Place::Of(&name, Step::Keep), name.clone());
        Ok(reply::later(app, ask, "Log", &place, move |app, ask| {
            body(ask, &hangar_of(app, &named)?, &named, &Fields::default(), &Wrong::default())
        }))
    })
    .await
}

fn body(ask: &Ask, hangar: &Hangar, name: &str, typed: &Fields, wrong: &Wrong) -> Result<Markup, Trouble> {
    let entries = hangar.log_entries(name).map_err(keep::trouble)?;
    let totals = log_totals(&entries);
    let missing = flown::not_logged(hangar, name, &entries)?;
    Ok(html! {
        (ways(name, "log"))
        h1 { "Log of airframe and packs" }
        (wrong.part(&CONTROLS))
        p.lead {
            @if totals.flights == 0 { "No flight is entered yet." }
            @else { (count(totals.flights, "flight")) ", " (number::duration(totals.flown_s)) " in the air, " (count(totals.landings, "landing")) "." }
        }
        @if !missing.is_empty() {
            p { (count(super::number(missing.len()), "recording")) " not in the log yet; enter each below with the pack that flew it." }
        }
        @if !totals.packs.is_empty() { (packs_part(&totals.packs)) }
        (enter_form(ask, name, &missing, typed, wrong))
        @if !entries.is_empty() { (entries_part(&entries, name)) }
    })
}

fn packs_part(packs: &[PackTotals]) -> Markup {
    html! {
        section aria-labelledby="packs" {
            h2 id="packs" { "Packs" }
            table.stack.roomy {
                caption.away { "Packs" }
                thead { tr { th scope="col" { "Pack" } th scope="col" { "Flights" } th scope="col" { "In the air" } th scope="col" { "Charge taken" } th scope="col" { "Resistance" } th scope="col" { "Rise" } } }
                tbody {
                    @for p in packs {
                        tr {
                            th scope="row" { (p.name) }
                            td data-name="Flights" { (p.cycles) }
                            td data-name="In the air" { (number::duration(p.flown_s)) }
                            td data-name="Charge taken" { @if p.used_as > 0.0 { (format!("{:.0} mAh", p.used_as / 3.6)) } @else { "not told" } }
                            td data-name="Resistance" { (resistance(p)) }
                            td data-name="Rise" { (rise(p)) }
                        }
                    }
                }
            }
            @let plots: Vec<&PackTotals> = packs.iter().filter(|p| p.resistances_ohm.len() > 1).collect();
            @if !plots.is_empty() {
                div.plots { @for p in plots { figure { (PreEscaped(trend(p))) } } }
                p.note { "A pack whose resistance has risen by half has lost much of its power: judge it before it flies again (common practice, no source)." }
            }
        }
    }
}

fn resistance(p: &PackTotals) -> String {
    match (p.resistances_ohm.first(), p.resistances_ohm.last()) {
        (Some((_, first)), Some((_, last))) if p.resistances_ohm.len() > 1 => {
            format!("{:.0} mohm (first {:.0})", last * 1000.0, first * 1000.0)
        }
        (_, Some((_, last))) => format!("{:.0} mohm", last * 1000.0),
        _ => "not measured".to_owned(),
    }
}

fn rise(p: &PackTotals) -> String {
    match p.rise_ohm_per_cycle {
        Some(rise) => format!("{} mohm a flight", number::fixed(rise * 1000.0, 2)),
        None => "too few values".to_owned(),
    }
}

/// The resistance of a pack from measurement to measurement.
fn trend(p: &PackTotals) -> String {
    let points: Vec<[f64; 2]> =
        p.resistances_ohm.iter().enumerate().map(|(i, (_, ohm))| [i as f64 + 1.0, ohm * 1000.0]).collect();
    let mut plot = Plot::new(
        &format!("Resistance of pack {}", p.name),
        &format!("{} values of the resistance of a pack, in the order of time.", points.len()),
        "Measurement, in the order of time",
        "Resistance, mohm",
    )
    .with("values", Look::Points, points);
    plot.from_zero = true;
    plot.draw()
}

fn enter_form(ask: &Ask, name: &str, missing: &[i64], typed: &Fields, wrong: &Wrong) -> Markup {
    let chosen = typed.raw("recording").unwrap_or_default();
    html! {
        section aria-labelledby="enter" {
            h2 id="enter" { "Enter a flight or a measurement" }
            form method="post" action=(path(name, "log")) {
                (form_key(ask))
                div.field {
                    label for="recording" { "Recording" }
                    select id="recording" name="recording" {
                        @for id in missing { option value=(id) selected[chosen == id.to_string()] { "recording " (id) } }
                        option value="" selected[chosen.is_empty() && missing.is_empty()] { "none: a flight without one, or a pack that was measured" }
                    }
                }
                div.fields { @for c in &CONTROLS { (control(c, typed, "", wrong)) } }
                div.buttons { button { "Enter it" } }
            }
        }
    }
}

fn entries_part(entries: &[LogEntry], name: &str) -> Markup {
    html! {
        section aria-labelledby="entries" {
            h2 id="entries" { "Entries" }
            table.stack.roomy {
                caption.away { "Entries, the newest first" }
                thead { tr { th scope="col" { "When" } th scope="col" { "Flight" } th scope="col" { "Pack" } th scope="col" { "Note" } } }
                tbody {
                    @for e in entries.iter().rev() {
                        tr {
                            th scope="row" { (instant(e.at_ms)) }
                            td data-name="Flight" {
                                span {
                                    @if let Some(s) = e.flown_s { (number::duration(s)) " in the air" }
                                    @if let Some(n) = e.landings { ", " (count(n, "landing")) }
                                    @if let Some(id) = e.recording { ", " a href={ "/aircraft/" (encoded(name)) "/recording/" (id) } { "recording " (id) } }
                                }
                            }
                            td data-name="Pack" {
                                span {
                                    (e.pack)
                                    @if let Some(charge) = e.used_as { (format!(", {:.0} mAh", charge / 3.6)) }
                                    @if let Some(ohm) = e.resistance_ohm { (format!(", {:.0} mohm", ohm * 1000.0)) }
                                }
                            }
                            td data-name="Note" { span { (e.note) } }
                        }
                    }
                }
            }
        }
    }
}

async fn enter(State(app): State<Arc<App>>, Path(name): Path<String>, form: Form) -> Reply {
    let Form { ask, fields } = form;
    work(app, ask, move |app, ask| {
        let mut hangar = hangar_of(app, &name)?;
        match entry(&fields) {
            Ok(entry) => {
                flown::enter(&mut hangar, &name, &entry, now_ms())?;
                Ok(reply::on_to(&path(&name, "log"), "Entered."))
            }
            Err(wrong) => {
                let body = body(ask, &hangar, &name, &fields, &wrong)?;
                Ok(page(ask, &name, "Log", &body))
            }
        }
    })
    .await
}

/// What a form enters, or what is wrong with it.
fn entry(fields: &Fields) -> Result<Entry, Wrong> {
    let mut wrong = Wrong::default();
    let mut number = |field: &str, words: &str, most: f64| match fields.number(field, words) {
        Ok(Some(value)) if !(0.0..=most).contains(&value) => {
            wrong.add(field, format!("{value} is outside 0 to {most}"));
            None
        }
        Ok(value) => value,
        Err(why) => {
            wrong.add(field, why);
            None
        }
    };
    let minutes = number("minutes", "time in the air", 1440.0);
    let landings = number("landings", "landings", 1000.0);
    let charged = number("charged", "charge put back", 1e6);
    let resistance = number("resistance", "resistance", 1e5);
    if landings.is_some_and(|n| n.fract() != 0.0) {
        wrong.add("landings", "landings are counted: give a whole number");
    }
    let recording = fields.text("recording").and_then(|id| id.parse::<i64>().ok());
    let nothing = recording.is_none() && [minutes, landings, charged, resistance].iter().all(Option::is_none);
    if wrong.is_empty() && nothing {
        wrong.add("minutes", "give the time of a flight, or what was measured of a pack");
    }
    if !wrong.is_empty() {
        return Err(wrong);
    }
    Ok(Entry {
        recording,
        pack: fields.text("pack").unwrap_or_default().to_owned(),
        flown_s: minutes.map(|min| min * 60.0),
        landings: landings.map(|n| n as u32),
        used_as: charged.map(|mah| mah * 3.6),
        resistance_ohm: resistance.map(|mohm| mohm / 1000.0),
        note: fields.text("note").unwrap_or_default().to_owned(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_are_those_beside_the_fields() {
        let e = entry(&Fields::read("minutes=6,5&charged=1000&resistance=24&landings=2&pack=A")).unwrap();
        // 6.5 min are 390 s; 1000 mAh are 3600 As; 24 mohm are 0.024 ohm.
        assert!((e.flown_s.unwrap() - 390.0).abs() < 1e-9);
        assert!((e.used_as.unwrap() - 3600.0).abs() < 1e-9);
        assert!((e.resistance_ohm.unwrap() - 0.024).abs() < 1e-12);
        assert_eq!((e.landings, e.pack.as_str(), e.recording), (Some(2), "A", None));
    }

    #[test]
    fn what_cannot_be_is_told_beside_its_field() {
        for (typed, field) in [
            ("minutes=-3", "minutes"),
            ("minutes=six", "minutes"),
            ("landings=1.5", "landings"),
            ("resistance=1e9", "resistance"),
            ("note=only+words", "minutes"),
        ] {
            let wrong = entry(&Fields::read(typed)).unwrap_err();
            assert_eq!(wrong.at(field).count(), 1, "{typed}");
        }
    }

    #[test]
    fn a_pack_shows_how_its_resistance_went_and_words_stay_words() {
        let (_folder, app) = App::of_example();
        let mut hangar = hangar_of(&app, "Wheatear").unwrap();
        for (day, ohm) in [(0_i64, 0.020), (10, 0.022), (20, 0.024)] {
            let entry = Entry {
                pack: "<A>".into(),
                flown_s: Some(300.0),
                resistance_ohm: Some(ohm),
                ..Entry::default()
            };
            flown::enter(&mut hangar, "Wheatear", &entry, day * 86_400_000).unwrap();
        }
        let text = body(&Ask::plain(), &hangar, "Wheatear", &Fields::default(), &Wrong::default())
            .unwrap()
            .into_string();
        // 2 mohm from each flight to the next, by construction.
        assert!(text.contains("2.00 mohm a flight") && text.contains("24 mohm (first 20)"), "{text}");
        assert!(text.contains("<svg") && !text.contains("<A>"), "{text}");
    }
}
