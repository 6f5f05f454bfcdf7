//! What is each column, and why? The map that a recording is read through, with its evidence; corrected column by column,
//! and the data's own word on every correction.

use std::sync::Arc;

use aircraft::Aircraft;
use axum::extract::{Path, RawQuery, State};
use fly::map::{Choice, ChoiceFault, Chosen, Column, ColumnMap, TimeSource, time_form, time_unit_words};
use fly::propose::{ColumnFound, Proposal};
use fly::recording::FlawKind;
use fly::words;
use maud::{Markup, html};

use super::path;
use crate::cli::now_ms;
use crate::json::reading;
use crate::tasks::{keep, study, teach};
use crate::tell::{Kind, Trouble};
use crate::web::app::App;
use crate::web::ask::Ask;
use crate::web::fields::{Fields, Form};
use crate::web::reply::{self, Reply, later, work};
use crate::web::shelf::{self, Label, Read, Which};
use crate::web::shell::{Place, Step, form_key};

/// Columns that a page can show; a file with more is corrected at the command line.
const MOST_COLUMNS: usize = 400;

pub(super) async fn show(
    State(app): State<Arc<App>>,
    ask: Ask,
    Path((name, which)): Path<(String, String)>,
) -> Reply {
    work(app, ask, move |app, ask| {
        let fetched = app.aircraft(&name)?;
        let label = shelf::label(app, &name, &Which::read(&which)?)?;
        let aircraft = name.clone();
        Ok(later(app, ask, "Columns", &Place::Of(&name, Step::Flights), move |app, ask| {
            let read = app.shelf.read(app, &label)?;
            let proposal = app.shelf.proposal(app, &label)?;
            Ok(page(ask, &aircraft, &label, &read, proposal.as_deref(), &fetched.aircraft, &Typed::default()))
        }))
    })
    .await
}

/// What was typed and could not be.
#[derive(Default)]
struct Typed {
    fields: Fields,
    faults: Vec<ChoiceFault>,
}

impl Typed {
    fn fault(&self, found: &ColumnFound) -> Option<&ChoiceFault> {
        self.faults.iter().find(|fault| match fault {
            ChoiceFault::NoColumn { column }
            | ChoiceFault::NoQuantity { column, .. }
            | ChoiceFault::NoUnit { column, .. } => is(found, column),
            ChoiceFault::Twice { first, second, .. } => is(found, first) || is(found, second),
            ChoiceFault::NoTime => false,
        })
    }
}

/// Whether a map means this column.
fn is(found: &ColumnFound, column: &Column) -> bool {
    match column {
        Column::Number(number) => *number == found.number,
        Column::Header(header) => *header == found.header,
    }
}

/// What a column carries by a map: quantity word, unit word, sign turned.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
struct Carried {
    what: String,
    unit: String,
    negate: bool,
}

fn carried(map: &ColumnMap, found: &ColumnFound) -> Carried {
    if let TimeSource::Column { column, form } = &map.time
        && is(found, column)
    {
        let unit = time_unit_words().into_iter().find(|w| time_form(w).as_ref() == Some(form)).unwrap_or("s");
        return Carried { what: "time".into(), unit: unit.into(), negate: false };
    }
    map.entries.iter().find(|e| is(found, &e.column)).map_or_else(Carried::default, |e| Carried {
        what: words::word(&e.quantity),
        unit: e.unit.clone(),
        negate: e.negate,
    })
}

fn page(
    ask: &Ask,
    aircraft: &str,
    label: &Label,
    read: &Read,
    proposal: Option<&Proposal>,
    flown: &Aircraft,
    typed: &Typed,
) -> Markup {
    let here = path(aircraft, &label.which);
    let (Some(map), Some(proposal)) = (&read.studied.map, proposal) else {
        return html! {
            h1 { "Columns of " (label.name) }
            p { "The file is " (read.studied.format.word()) ", which says itself what is what: there is nothing to choose." }
            div.buttons { a.button.second href=(here) { "Back to the recording" } }
        };
    };
    let used = |found: &&ColumnFound| !carried(map, found).what.is_empty() || typed.fault(found).is_some();
    let (taken, left): (Vec<_>, Vec<_>) = proposal.columns.iter().take(MOST_COLUMNS).partition(used);
    html! {
        h1 { "Columns of " (label.name) }
        p.lead { (taken.len()) " columns are used and " (left.len()) " left out. A column taken for the wrong thing does harm in silence: look at each." }
        (verdict(ask, &here, read, map))
        @if !typed.faults.is_empty() {
            div.alarm role="alert" {
                h2 { "Nothing was changed" }
                ul { @for fault in &typed.faults { li { (fault) } } }
            }
        }
        form.wide method="post" action={(here) "/columns"} {
            (form_key(ask))
            h2 { "Used" }
            @for found in taken { (column(&here, found, map, flown, typed)) }
            h2 { "Left out" }
            @if left.is_empty() { p { "None: every column is used." } }
            details open[left.len() < 6] {
                summary { (left.len()) " columns" }
                @for found in left { (column(&here, found, map, flown, typed)) }
            }
            @if proposal.columns.len() > MOST_COLUMNS {
                p.warn { "The file has " (proposal.columns.len()) " columns; those after the first " (MOST_COLUMNS) " are corrected at the command line: eyas read FILE --guess -o FILE.map.toml" }
            }
            div.buttons.sticky { button { "Read it so" } a.button.second href=(here) { "Back to the recording" } }
        }
        details {
            summary { "The map as a file" }
            p { "For " code { "eyas read" } " and " code { "eyas learn --map" } " at the command line." }
            pre { (map.to_toml()) }
        }
    }
}

/// What the data say of the map in force.
fn verdict(ask: &Ask, here: &str, read: &Read, map: &ColumnMap) -> Markup {
    let against: Vec<_> = read.studied.recording.flaws.iter().filter(|f| f.kind == FlawKind::Unit).collect();
    let right = fly::sense::corrected(&read.studied.recording, map).is_some();
    html! {
        @if against.is_empty() {
            p.next { "The data agree with it: channels that hang together by the laws of motion (rates and angles, forces and attitude, speeds and positions) do not contradict each other." }
        } @else {
            div.warn {
                h2 { "What the data say against it" }
                ul { @for flaw in &against { li { strong { (flaw.place) } ": " (flaw.what) } } }
                @if right {
                    form method="post" action={(here) "/columns"} {
                        (form_key(ask))
                        div.buttons { button name="right" value="yes" { "Put right what the data tell" } }
                    }
                }
            }
        }
    }
}

fn column(here: &str, found: &ColumnFound, map: &ColumnMap, flown: &Aircraft, typed: &Typed) -> Markup {
    let n = found.number;
    let fault = typed.fault(found);
    let mut now = carried(map, found);
    if let Some(what) = typed.fields.raw(&format!("q{n}")) {
        now = Carried {
            what: what.to_owned(),
            unit: typed.fields.text(&format!("u{n}")).unwrap_or_default().to_owned(),
            negate: typed.fields.raw(&format!("s{n}")).is_some(),
        };
    }
    html! {
        fieldset {
            legend { (found.header) }
            p.note {
                "Column " (n)
                @match found.range {
                    Some((a, b)) => { ", " (super::plots::short(a)) " to " (super::plots::short(b)) " as it stands in the file" },
                    None => ", no numbers in it",
                }
                @if found.confidence > 0.0 { "; proposed as " (found.carries) ", " (format!("{:.0} %", 100.0 * found.confidence)) " sure" }
                "."
            }
            @if !found.evidence.is_empty() { ul { @for why in &found.evidence { li { (why) } } } }
            @if !found.doubts.is_empty() { ul.doubts { @for doubt in &found.doubts { li { "In doubt: " (doubt) } } } }
            @if let Some(offered) = &found.offered {
                p { strong { "By the data it would be " (words::word(&offered.quantity)) " in " (offered.unit) @if offered.negate { ", sign turned" } "." } }
            }
            div.fields {
                div.field {
                    label for={"q" (n)} { "Carries" }
                    select id={"q" (n)} name={"q" (n)} aria-invalid=[fault.map(|_| "true")] aria-describedby=[fault.map(|_| format!("wrong{n}"))]
                        hx-get={(here) "/columns/unit?n=" (n)} hx-target={"#unit" (n)} hx-swap="outerHTML" {
                        option value="" selected[now.what.is_empty()] { "nothing wanted" }
                        option value="time" selected[now.what == "time"] { "time of the row" }
                        @for word in choices(&now.what, flown) { option value=(word) selected[word == now.what] { (word) } }
                    }
                    @if let Some(fault) = fault { p.wrong id={"wrong" (n)} { (fault) } }
                }
                (unit_field(n, &now))
            }
        }
    }
}

/// Quantity words to choose from: all, the servos that the aircraft has, and what is chosen now.
fn choices(now: &str, flown: &Aircraft) -> Vec<String> {
    let mut all: Vec<String> = words::quantity_words().iter().map(|w| w.word.to_owned()).collect();
    let servos = flown.movables.iter().flat_map(|m| [Some(&m.servo), m.servo_left.as_ref()]).flatten();
    all.extend(servos.map(|s| format!("servo:{}", s.channel)));
    if !now.is_empty() && now != "time" {
        all.push(now.to_owned());
    }
    let mut once: Vec<String> = Vec::new();
    for word in all {
        if !once.contains(&word) {
            once.push(word);
        }
    }
    once
}

/// Unit and sign of a column: those of what it carries.
fn unit_field(n: usize, now: &Carried) -> Markup {
    let quantity = words::quantity(&now.what);
    let units: Vec<(&str, &str)> = match &quantity {
        _ if now.what == "time" => time_unit_words().into_iter().map(|w| (w, "")).collect(),
        Some(q) => words::units_of(words::dimension(q)).map(|u| (u.word, u.meaning)).collect(),
        None => Vec::new(),
    };
    let meaning =
        quantity.as_ref().and_then(|q| words::quantity_words().into_iter().find(|w| w.quantity == *q));
    html! {
        div.field id={"unit" (n)} {
            @if !units.is_empty() {
                label for={"u" (n)} { "in" }
                select id={"u" (n)} name={"u" (n)} {
                    @for (word, meaning) in &units {
                        option value=(word) selected[*word == now.unit] { (word) @if !meaning.is_empty() { " (" (meaning) ")" } }
                    }
                }
                @if quantity.is_some() {
                    label.tick { input type="checkbox" name={"s" (n)} value="yes" checked[now.negate]; "Sign the other way round" }
                }
                @if let Some(meaning) = meaning { p.hint { "Here: " (meaning.meaning) "." } }
            }
        }
    }
}

/// The unit field for another quantity, as soon as it is chosen.
pub(super) async fn unit(ask: Ask, Path((_, _)): Path<(String, String)>, RawQuery(query): RawQuery) -> Reply {
    let fields = Fields::read(&query.unwrap_or_default());
    let n = fields.text("n").and_then(|n| n.parse::<usize>().ok()).unwrap_or(0);
    let what = fields.text(&format!("q{n}")).unwrap_or_default().to_owned();
    // The unit that people read it in is the likeliest.
    let unit = words::quantity(&what).and_then(|q| reading::shown(&q)).map_or("", |u| u.word).to_owned();
    reply::part(&ask, &unit_field(n, &Carried { what, unit, negate: false }))
}

pub(super) async fn correct(
    State(app): State<Arc<App>>,
    Path((name, which)): Path<(String, String)>,
    form: Form,
) -> Reply {
    let Form { ask, fields } = form;
    work(app, ask, move |app, ask| {
        let fetched = app.aircraft(&name)?;
        let label = shelf::label(app, &name, &Which::read(&which)?)?;
        let here = path(&name, &label.which);
        let read = app.shelf.read(app, &label)?;
        let proposal = app.shelf.proposal(app, &label)?;
        let (Some(map), Some(proposal)) = (&read.studied.map, proposal) else {
            return Ok(reply::on_to(&here, "The file needs no column map."));
        };
        let new = if fields.raw("right").is_some() {
            fly::sense::corrected(&read.studied.recording, map).unwrap_or_else(|| map.clone())
        } else {
            match corrected(map, &proposal, &fields) {
                Ok(new) => new,
                Err(faults) => {
                    let typed = Typed { fields, faults };
                    let body = page(ask, &name, &label, &read, Some(&proposal), &fetched.aircraft, &typed);
                    return Ok(reply::page(ask, "Columns", &Place::Of(&name, Step::Flights), &body));
                }
            }
        };
        if new == *map {
            return Ok(reply::on_to(&here, "Nothing was changed: the columns are read as before."));
        }
        // Read before it is kept: a map through which nothing can be read is refused.
        let studied = study::from_bytes(shelf::bytes(app, &label)?, &label.name, Some(&new))?;
        match (&label.which, label.waiting()) {
            (_, Some(waiting)) => waiting.set_map(&studied.map_text())?,
            (Which::Kept(id), None) => {
                let mut hangar = keep::open(&app.common)?;
                let flown_as = hangar.recording(*id).map_err(keep::trouble)?.revision_number;
                let flown = teach::of_revision(&hangar, &name, flown_as)?;
                keep::recording(&mut hangar, &flown, &label.name, &studied, "", now_ms())?;
            }
            (Which::Waiting(_), None) => {
                return Err(Trouble::new(
                    Kind::Missing,
                    "nothing was changed",
                    "the recording is gone",
                    "bring it again",
                ));
            }
        }
        let against = studied.recording.flaws.iter().filter(|f| f.kind == FlawKind::Unit).count();
        let said = match against {
            0 => "Read again. Nothing in the data speaks against it.".to_owned(),
            1 => "Read again. One thing in the data speaks against it: it stands at the top.".to_owned(),
            n => format!("Read again. {n} things in the data speak against it: they stand at the top."),
        };
        Ok(reply::on_to(&format!("{here}/columns"), &said))
    })
    .await
}

/// The map that a form asks for.
fn corrected(map: &ColumnMap, proposal: &Proposal, fields: &Fields) -> Result<ColumnMap, Vec<ChoiceFault>> {
    let mut choices = Vec::new();
    for found in proposal.columns.iter().take(MOST_COLUMNS) {
        let n = found.number;
        let Some(what) = fields.raw(&format!("q{n}")) else { continue };
        let asked = Carried {
            what: what.to_owned(),
            unit: fields.text(&format!("u{n}")).unwrap_or_default().to_owned(),
            negate: fields.raw(&format!("s{n}")).is_some(),
        };
        let before = carried(map, found);
        // What was not touched keeps everything that a form does not show.
        if asked.what == before.what && (asked.what.is_empty() || asked == before) {
            continue;
        }
        // A column is named as the map in force names it.
        let named = map.entries.iter().map(|e| &e.column).find(|c| is(found, c)).unwrap_or(&found.column);
        choices.push(Choice {
            column: named.clone(),
            carries: match asked.what.as_str() {
                "" => Chosen::Nothing,
                "time" => Chosen::Time { unit: asked.unit },
                _ => Chosen::Quantity { quantity: asked.what, unit: asked.unit, negate: asked.negate },
            },
        });
    }
    // From the proposal itself, what the data offers instead of a header keeps its scale.
    if *map == proposal.map { proposal.map_with(&choices) } else { map.with(&choices) }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Invented: half a minute of swaying, roll in degrees and its rate the wrong way round.
    fn proposal() -> Proposal {
        let mut text = String::from("time_s,roll_deg,roll_rate_deg_s,<script>\n");
        for i in 0..600 {
            let t = f64::from(i) * 0.05;
            text.push_str(&format!("{t:.2},{:.3},{:.3},7\n", 20.0 * (0.8 * t).sin(), 16.0 * (0.8 * t).cos()));
        }
        fly::propose::propose(text.as_bytes()).unwrap()
    }

    fn asked(proposal: &Proposal, query: &str) -> Result<ColumnMap, Vec<ChoiceFault>> {
        corrected(&proposal.map, proposal, &Fields::read(query))
    }

    #[test]
    fn a_form_changes_what_it_says_and_nothing_else() {
        let proposal = proposal();
        let same = asked(&proposal, "q1=time&u1=s&q2=roll&u2=deg&q3=roll-rate&u3=deg/s&q4=").unwrap();
        assert_eq!(same, proposal.map);
        let turned = asked(&proposal, "q2=roll&u2=deg&s2=yes").unwrap();
        let roll =
            |m: &ColumnMap| m.entries.iter().find(|e| words::word(&e.quantity) == "roll").unwrap().clone();
        assert!(roll(&turned).negate && !roll(&proposal.map).negate);
        let none = asked(&proposal, "q2=").unwrap();
        assert_eq!(none.entries.len(), proposal.map.entries.len() - 1);
    }

    #[test]
    fn a_choice_that_cannot_be_is_told_beside_its_column() {
        let proposal = proposal();
        let fields = Fields::read("q2=pitch-rate&u2=deg");
        let faults = corrected(&proposal.map, &proposal, &fields).unwrap_err();
        let typed = Typed { fields, faults };
        let found = proposal.columns.iter().find(|c| c.number == 2).unwrap();
        assert!(matches!(typed.fault(found), Some(ChoiceFault::NoUnit { .. })));
        let other = proposal.columns.iter().find(|c| c.number == 3).unwrap();
        assert!(typed.fault(other).is_none());
    }

    #[test]
    fn headers_are_text_and_units_follow_the_quantity() {
        let proposal = proposal();
        let found = proposal.columns.iter().find(|c| c.number == 4).unwrap();
        let now = Carried { what: "roll".into(), unit: "deg".into(), negate: true };
        let units = unit_field(4, &now).into_string();
        assert!(units.contains("value=\"deg\" selected") && units.contains("checked"));
        assert!(!units.contains("m/s"));
        assert!(unit_field(4, &Carried::default()).into_string().contains("id=\"unit4\""));
        assert_eq!(found.header, "<script>");
    }
}
