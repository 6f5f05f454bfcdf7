//! What keeps it on the ground? Defects, what was done about them and what that demands again, and the parts on their way.

use std::sync::Arc;

use axum::Router;
use axum::extract::{Path, State};
use axum::routing::{get, post};
use hangar::{Defect, DefectId, Hangar, NewDefect, Part};
use maud::{Markup, html};
use plan::repairs::Repair;

use crate::cli::now_ms;
use crate::cli::words::instant;
use crate::tasks::{keep, upkeep};
use crate::tell::{Kind, Trouble};
use crate::web::app::App;
use crate::web::ask::Ask;
use crate::web::fields::{Fields, Form};
use crate::web::reply::{self, Reply, work};
use crate::web::shell::{self, Step, form_key};

use super::{hangar_of, page, path, told, ways};

pub(super) fn routes() -> Router<Arc<App>> {
    Router::new()
        .route("/aircraft/{name}/keep/defects", get(show).post(open))
        .route("/aircraft/{name}/keep/defects/{id}/close", post(close))
        .route("/aircraft/{name}/keep/parts", post(need))
        .route("/aircraft/{name}/keep/parts/{id}/arrived", post(arrived))
}

/// What is wrong with a form: its field and why.
#[derive(Debug, Clone, Default)]
struct Wrong {
    /// Which form: empty for a new defect, the number for closing one, "part" for a part.
    form: String,
    field: &'static str,
    why: String,
}

impl Wrong {
    fn at(&self, form: &str, field: &str) -> Option<&str> {
        (self.form == form && self.field == field).then_some(self.why.as_str())
    }
}

async fn show(State(app): State<Arc<App>>, ask: Ask, Path(name): Path<String>) -> Reply {
    work(app, ask, move |app, ask| {
        let body = body(ask, &hangar_of(app, &name)?, &name, &Fields::default(), &Wrong::default())?;
        Ok(page(ask, &name, "Defects", &body))
    })
    .await
}

fn body(ask: &Ask, hangar: &Hangar, name: &str, typed: &Fields, wrong: &Wrong) -> Result<Markup, Trouble> {
    let defects = hangar.defects(name).map_err(keep::trouble)?;
    let parts = hangar.parts(name).map_err(keep::trouble)?;
    let (open, closed): (Vec<&Defect>, Vec<&Defect>) = defects.iter().partition(|d| d.closed.is_none());
    let grounding = open.iter().filter(|d| d.grounds).count();
    Ok(html! {
        (ways(name, "defects"))
        h1 { "Defects and parts" }
        @if grounding > 0 {
            div.alarm role="note" {
                h2 { "On the ground" }
                p { (super::keeps(grounding)) " on the ground until it is mended, closed here, and looked at again." }
            }
        } @else if !open.is_empty() {
            p.lead { "None of the open defects grounds it. Look at each before a flight all the same." }
        } @else {
            p.lead { "No defect is open." }
        }
        @if !open.is_empty() {
            section aria-labelledby="open" {
                h2 id="open" { "Open" }
                div.rows { @for d in &open { (open_one(ask, name, d, typed, wrong)) } }
            }
        }
        (new_form(ask, name, typed, wrong))
        (parts_part(ask, name, &parts, &open, typed, wrong))
        @if !closed.is_empty() {
            section aria-labelledby="closed" {
                h2 id="closed" { "Closed" }
                div.rows { @for d in closed.iter().rev() { (closed_one(name, d)) } }
            }
        }
    })
}

/// The part of the aircraft as a choice.
fn places(id: &str, field: &str, chosen: &str) -> Markup {
    html! {
        select id=(id) name=(field) {
            @for kind in Repair::ALL {
                option value=(kind.word()) selected[kind.word() == chosen] { (kind.word().replace('-', " ")) }
            }
        }
    }
}

fn demands(kind: Repair) -> Markup {
    html! { ul { @for check in kind.demands() { li { strong { (check.word().replace('-', " ")) ": " } (check.what()) } } } }
}

fn open_one(ask: &Ask, name: &str, d: &Defect, typed: &Fields, wrong: &Wrong) -> Markup {
    let id = d.id.to_string();
    let form = format!("close-{id}");
    let own = wrong.form == id;
    let value = |field: &str| if own { typed.raw(field).unwrap_or_default() } else { "" };
    let why = wrong.at(&id, "done");
    html! {
        article id={ "defect-" (id) } {
            h3 { "Defect " (id) ": " (d.what) }
            p {
                span.state.(if d.grounds { "no" } else { "open" }) { (if d.grounds { "grounds it" } else { "remembered" }) }
                " " (d.place.replace('-', " ")) ", told " (instant(d.at_ms)) @if !d.by.is_empty() { " by " (d.by) }
            }
            details open[own] {
                summary { "Close it with what was done" }
                form method="post" action=(path(name, &format!("defects/{id}/close"))) {
                    (form_key(ask))
                    div.field {
                        label for={ (form) "-done" } { "What was done" }
                        textarea.words id={ (form) "-done" } name="done" required maxlength="500" aria-invalid=[why.map(|_| "true")] aria-describedby=[why.map(|_| format!("{form}-wrong"))] { (value("done")) }
                        @if let Some(why) = why { p.wrong id={ (form) "-wrong" } { (why) } }
                    }
                    div.fields {
                        div.field {
                            label for={ (form) "-repair" } { "What was repaired" }
                            (places(&format!("{form}-repair"), "repair", if own { value("repair") } else { &d.place }))
                        }
                        div.field {
                            label for={ (form) "-by" } { "Who did it" }
                            input type="text" id={ (form) "-by" } name="by" value=(value("by")) maxlength="80" autocomplete="name";
                        }
                    }
                    p.hint { "Closing it does not let it fly: what a repair of the " (d.place.replace('-', " ")) " demands comes back open on the list of " a href=(Step::Ready.path(name)) { "Ready" } ":" }
                    (demands(upkeep::kind(&d.place)))
                    div.buttons { button { "Close defect " (id) } }
                }
            }
        }
    }
}

fn closed_one(name: &str, d: &Defect) -> Markup {
    html! {
        article {
            h3 { "Defect " (d.id) ": " (d.what) }
            @if let Some(c) = &d.closed {
                p { (shell::capital(&d.place.replace('-', " "))) ", told " (instant(d.at_ms)) ". Closed " (instant(c.at_ms)) @if !c.by.is_empty() { " by " (c.by) } ": " (c.done) "." }
                details {
                    summary { "What the repair of the " (c.repair.replace('-', " ")) " demands again" }
                    (demands(upkeep::kind(&c.repair)))
                    p { "Whether it was looked at stands on the list of " a href=(Step::Ready.path(name)) { "Ready" } "." }
                }
            }
        }
    }
}

fn new_form(ask: &Ask, name: &str, typed: &Fields, wrong: &Wrong) -> Markup {
    let own = wrong.form == "new";
    let value = |field: &str| if own { typed.raw(field).unwrap_or_default() } else { "" };
    let why = wrong.at("new", "what");
    html! {
        section aria-labelledby="new" {
            h2 id="new" { "Note a defect" }
            form method="post" action=(path(name, "defects")) {
                (form_key(ask))
                div.field {
                    label for="what" { "What is wrong" }
                    textarea.words id="what" name="what" required maxlength="500" aria-invalid=[why.map(|_| "true")] aria-describedby=[why.map(|_| "what-wrong")] { (value("what")) }
                    @if let Some(why) = why { p.wrong id="what-wrong" { (why) } }
                }
                div.fields {
                    div.field { label for="place" { "Which part" } (places("place", "place", if own { value("place") } else { "nose" })) }
                    div.field { label for="by" { "Who found it" } input type="text" id="by" name="by" value=(value("by")) maxlength="80" autocomplete="name"; }
                    div.field { label for="part" { "A part to order for it" } input type="text" id="part" name="part" value=(value("part")) maxlength="200" autocomplete="off"; }
                }
                label.tick { input type="checkbox" name="grounds" value="yes" checked[!own || typed.raw("grounds").is_some()]; "It must not fly with it" }
                p.hint { "In doubt it stays on the ground. A puffed or dented pack goes outdoors in a fireproof place and is not charged again." }
                div.buttons { button { "Note it" } }
            }
        }
    }
}

fn parts_part(
    ask: &Ask,
    name: &str,
    parts: &[Part],
    open: &[&Defect],
    typed: &Fields,
    wrong: &Wrong,
) -> Markup {
    let why = wrong.at("part", "part");
    html! {
        section aria-labelledby="parts" {
            h2 id="parts" { "Parts" }
            @if parts.is_empty() {
                p { "No part was noted yet." }
            } @else {
                table.stack.roomy {
                    caption.away { "Parts" }
                    thead { tr { th scope="col" { "Part" } th scope="col" { "For" } th scope="col" { "Noted" } th scope="col" { "Here" } } }
                    tbody {
                        @for part in parts.iter().rev() {
                            tr {
                                th scope="row" { (part.what) }
                                td data-name="For" { @match part.defect { Some(id) => { "defect " (id) }, None => "stock" } }
                                td data-name="Noted" { (instant(part.at_ms)) }
                                td data-name="Here" {
                                    @match part.here_ms {
                                        Some(at) => (instant(at)),
                                        None => form method="post" action=(path(name, &format!("parts/{}/arrived", part.id))) {
                                            (form_key(ask))
                                            button.second aria-label={ (part.what) " has arrived" } { "It is here" }
                                        },
                                    }
                                }
                            }
                        }
                    }
                }
            }
            form method="post" action=(path(name, "parts")) {
                (form_key(ask))
                div.fields {
                    div.field {
                        label for="order" { "A part to order" }
                        input type="text" id="order" name="part" required maxlength="200" autocomplete="off" value=(if wrong.form == "part" { typed.raw("part").unwrap_or_default() } else { "" })
                            aria-invalid=[why.map(|_| "true")] aria-describedby=[why.map(|_| "order-wrong")];
                        @if let Some(why) = why { p.wrong id="order-wrong" { (why) } }
                    }
                    div.field {
                        label for="for" { "For" }
                        select id="for" name="defect" {
                            option value="" { "stock" }
                            @for d in open { option value=(d.id) { "defect " (d.id) ": " (d.what) } }
                        }
                    }
                }
                div.buttons { button.second { "Put it on the list" } }
            }
        }
    }
}

/// The page once more with what is wrong beside its field.
fn again(app: &App, ask: &Ask, name: &str, fields: &Fields, wrong: &Wrong) -> Result<Reply, Trouble> {
    let body = body(ask, &hangar_of(app, name)?, name, fields, wrong)?;
    Ok(page(ask, name, "Defects", &body))
}

fn empty(form: &str, field: &'static str, why: &str) -> Wrong {
    Wrong { form: form.to_owned(), field, why: why.to_owned() }
}

async fn open(State(app): State<Arc<App>>, Path(name): Path<String>, form: Form) -> Reply {
    let Form { ask, fields } = form;
    work(app, ask, move |app, ask| {
        let Some(what) = fields.text("what") else {
            return again(
                app,
                ask,
                &name,
                &fields,
                &empty("new", "what", "say in a few words what is wrong"),
            );
        };
        let mut hangar = hangar_of(app, &name)?;
        let place = fields.text("place").and_then(Repair::of_word).unwrap_or(Repair::Other);
        let new = NewDefect {
            place: place.word(),
            what,
            grounds: fields.raw("grounds").is_some(),
            by: fields.text("by").unwrap_or_default(),
            at_ms: now_ms(),
        };
        let defect = hangar.open_defect(&name, &new).map_err(told)?;
        let mut said = format!("Noted as defect {}.", defect.id);
        if defect.grounds {
            said.push_str(&format!(" {name} stays on the ground until it is closed."));
        }
        if let Some(part) = fields.text("part") {
            hangar.need_part(&name, part, Some(defect.id), now_ms()).map_err(told)?;
            said.push_str(&format!(" On the list of parts: {part}."));
        }
        Ok(reply::on_to(&path(&name, "defects"), &said))
    })
    .await
}

async fn close(State(app): State<Arc<App>>, Path((name, id)): Path<(String, i64)>, form: Form) -> Reply {
    let Form { ask, fields } = form;
    work(app, ask, move |app, ask| {
        let mut hangar = hangar_of(app, &name)?;
        own(&hangar, &name, id)?;
        let Some(done) = fields.text("done") else {
            let wrong = empty(&id.to_string(), "done", "say in a few words what was done");
            return again(app, ask, &name, &fields, &wrong);
        };
        let by = fields.text("by").unwrap_or_default();
        let repair = fields.text("repair").and_then(Repair::of_word);
        // Closed twice would be told of the first closing only: the hangar refuses.
        if hangar.defects(&name).map_err(told)?.iter().any(|d| d.id.0 == id && d.closed.is_some()) {
            return Err(told(hangar::HangarError::AlreadyDone { what: "defect", id, at_ms: 0 }));
        }
        let (_, repaired) = upkeep::close(&mut hangar, DefectId(id), done, repair, by, now_ms())?;
        let again: Vec<String> =
            repaired.demands().iter().map(|check| check.word().replace('-', " ")).collect();
        let left = upkeep::grounded(&hangar, &name)?;
        let mut said = format!(
            "Defect {id} is closed. Before it flies, look at these again and sign each under Ready: {}.",
            again.join(", ")
        );
        for reason in left {
            said.push_str(&format!("\nStill on the ground: {reason}."));
        }
        Ok(reply::on_to(&path(&name, "defects"), &said))
    })
    .await
}

/// Whether a defect is one of this aircraft's.
fn own(hangar: &Hangar, name: &str, id: i64) -> Result<(), Trouble> {
    if hangar.defects(name).map_err(told)?.iter().any(|d| d.id.0 == id) {
        return Ok(());
    }
    Err(missing("defect", name, id))
}

fn missing(what: &str, name: &str, id: i64) -> Trouble {
    Trouble::new(
        Kind::Missing,
        format!("there is no {what} {id} of \"{name}\""),
        "none of that number is kept for it",
        "choose one from its list",
    )
}

async fn need(State(app): State<Arc<App>>, Path(name): Path<String>, form: Form) -> Reply {
    let Form { ask, fields } = form;
    work(app, ask, move |app, ask| {
        let Some(what) = fields.text("part") else {
            return again(app, ask, &name, &fields, &empty("part", "part", "say what is to be ordered"));
        };
        let mut hangar = hangar_of(app, &name)?;
        let defect = fields.text("defect").and_then(|id| id.parse::<i64>().ok());
        if let Some(id) = defect {
            own(&hangar, &name, id)?;
        }
        hangar.need_part(&name, what, defect.map(DefectId), now_ms()).map_err(told)?;
        Ok(reply::on_to(&path(&name, "defects"), &format!("On the list of parts: {what}.")))
    })
    .await
}

async fn arrived(State(app): State<Arc<App>>, Path((name, id)): Path<(String, i64)>, form: Form) -> Reply {
    work(app, form.ask, move |app, _| {
        let mut hangar = hangar_of(app, &name)?;
        if !hangar.parts(&name).map_err(told)?.iter().any(|p| p.id == id) {
            return Err(missing("part", &name, id));
        }
        let part = hangar.part_arrived(id, now_ms()).map_err(told)?;
        Ok(reply::on_to(&path(&name, "defects"), &format!("Here: {}.", part.what)))
    })
    .await
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(hangar: &Hangar, fields: &str, wrong: &Wrong) -> String {
        body(&Ask::plain(), hangar, "Wheatear", &Fields::read(fields), wrong).unwrap().into_string()
    }

    #[test]
    fn a_closed_defect_tells_what_it_demands_with_its_cautions() {
        let (_folder, app) = App::of_example();
        let mut hangar = hangar_of(&app, "Wheatear").unwrap();
        let new = NewDefect { place: "servo", what: "strips <u>teeth", grounds: true, by: "", at_ms: 1 };
        let defect = hangar.open_defect("Wheatear", &new).unwrap();
        hangar.need_part("Wheatear", "servo", Some(defect.id), 2).unwrap();
        let text = shown(&hangar, "", &Wrong::default());
        assert!(text.contains("On the ground") && text.contains("strips &lt;u&gt;teeth"), "{text}");
        assert!(text.contains("It is here"), "{text}");
        upkeep::close(&mut hangar, defect.id, "replaced", None, "", 3).unwrap();
        let text = shown(&hangar, "", &Wrong::default());
        assert!(!text.contains("On the ground"), "{text}");
        // A servo's repair asks for the directions anew, propeller off.
        assert!(text.contains("directions: ") && text.contains("Propeller off"), "{text}");
    }

    #[test]
    fn what_is_missing_is_told_beside_its_field_and_what_was_typed_stays() {
        let (_folder, app) = App::of_example();
        let hangar = hangar_of(&app, "Wheatear").unwrap();
        let text = shown(
            &hangar,
            "what=&by=Somebody&place=tail",
            &empty("new", "what", "say in a few words what is wrong"),
        );
        assert!(text.contains("id=\"what-wrong\"") && text.contains("aria-invalid=\"true\""), "{text}");
        assert!(text.contains("value=\"Somebody\""), "{text}");
        assert!(text.contains("value=\"tail\" selected"), "{text}");
    }

    #[test]
    fn what_was_done_already_is_a_conflict() {
        let trouble = told(hangar::HangarError::AlreadyDone { what: "part", id: 1, at_ms: 0 });
        assert_eq!(trouble.kind(), Kind::Conflict);
    }
}
