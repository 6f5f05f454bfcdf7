//! What does the description come to, as it stands? Drawing, balance point, neutral point and safe range beside the form,
//! while somebody types; nothing is kept.

use std::sync::Arc;

use aircraft::Aircraft;
use aircraft::geometry::reference;
use hangar::SectionFile;
use maud::{Markup, PreEscaped, html};
use report::number;

use super::faults::Told;
use super::form::id_of;
use crate::tasks::amend::Sheet;
use crate::tasks::edit;
use crate::tasks::forecast::Air;
use crate::web::app::App;

/// What is wrong with a text.
pub(super) fn told(sheet: &Sheet, files: &[SectionFile]) -> (Told, Option<Aircraft>) {
    match edit::read(&sheet.text(), files) {
        Ok(aircraft) => (Told::default(), Some(aircraft)),
        Err(faults) => (Told::of(sheet, &faults), None),
    }
}

/// The drawing and its numbers, for a description without faults.
fn drawn(app: &Arc<App>, aircraft: &Aircraft) -> Markup {
    let balance = aircraft::balance::balance(aircraft);
    let prediction = app.warm.predict(aircraft, &Air::default());
    let stability = prediction.as_ref().ok().map(|(p, _)| &p.stability);
    let svg = report::three_view::three_view(
        aircraft,
        balance.as_ref().ok().map(|b| b.cg_m.x),
        stability.map(|s| s.neutral_point_x_m.value),
        stability.and_then(|s| s.range_x_m.clone().ok()),
    );
    let mut facts: Vec<(&str, String)> = Vec::new();
    match &balance {
        Ok(b) => {
            facts.push(("Weight", number::known(b.total_kg, 1000.0, "g")));
            facts.push(("Balance point, aft of the datum", number::known(b.cg_x_m, 1000.0, "mm")));
        }
        Err(why) => facts.push(("Balance point", format!("unknown: {}", why.told()))),
    }
    if let Some(s) = stability {
        facts.push(("Neutral point", number::known(s.neutral_point_x_m, 1000.0, "mm")));
        facts.push(("Static margin", number::known(s.static_margin_percent, 1.0, "percent")));
        let range = |r: &[f64; 2]| format!("{:.0} to {:.0} mm", r[0] * 1e3, r[1] * 1e3);
        if let Ok(r) = &s.range_x_m {
            facts.push(("Safe range", range(r)));
        }
        if let Ok(r) = &s.first_flight_range_x_m {
            facts.push(("For a first flight", range(r)));
        }
    }
    if let Some(r) = reference(aircraft) {
        facts.push(("Span", format!("{:.0} mm", r.span_m * 1e3)));
        facts.push(("Wing area", format!("{:.1} dm²", r.area_m2 * 100.0)));
        facts.push(("Mean chord", format!("{:.0} mm", r.mean_chord_m * 1e3)));
        if let Ok(b) = &balance {
            facts.push(("Wing loading", format!("{:.0} g/dm²", b.total_kg.value * 10.0 / r.area_m2)));
        }
    }
    let mut questions = aircraft::schema::remarks(aircraft);
    if let Ok(b) = &balance {
        questions.extend(b.remarks.iter().map(|r| number::sentence(r)));
    }
    html! {
        dl { @for (name, value) in &facts { div { dt { (name) } dd { (value) } } } }
        @if let Err(trouble) = &prediction {
            p.note { "No neutral point yet: " (trouble.causes().join("; ")) "." }
        }
        @if let Ok((p, rough)) = &prediction {
            @for against in &p.against { p.warn { (against) } }
            @if *rough { p.note { "By the simple section model; the page Predict computes these sections." } }
        }
        figure { (PreEscaped(svg)) }
        @if !questions.is_empty() {
            h3 { "Is this right?" }
            ul { @for question in &questions { li { (question) } } }
        }
    }
}

/// What is wrong, with links to the fields; and where each told fault stands, so that a later look can take it away.
fn list(told: &Told) -> Markup {
    let mut places: Vec<&str> = told.all.iter().map(|m| m.path.as_str()).filter(|p| !p.is_empty()).collect();
    places.dedup();
    html! {
        input type="hidden" name="told" value=(places.join(" "));
        @if !told.all.is_empty() {
            div.alarm role="status" {
                h3 { (told.all.len()) @if told.all.len() == 1 { " thing is" } @else { " things are" } " not right yet" }
                ul {
                    @for misfit in told.all.iter().take(12) {
                        li {
                            @if misfit.path.is_empty() { (misfit.words) } @else { a href={"#" (id_of(&misfit.path))} { (misfit.words) } }
                            @if misfit.line > 0 { span.quiet { " (line " (misfit.line) " of the file)" } }
                        }
                    }
                    @if told.all.len() > 12 { li { "and " (told.all.len() - 12) " more" } }
                }
                p { "Until then the drawing shows how it was before." }
            }
        }
    }
}

/// Everything beside the form.
pub(super) fn whole(app: &Arc<App>, told: &Told, aircraft: Option<&Aircraft>) -> Markup {
    html! {
        div id="look-told" { (list(told)) }
        div id="look-drawing" {
            @match aircraft {
                Some(aircraft) => (drawn(app, aircraft)),
                None => p.note { "The drawing comes when the form holds no error any more." },
            }
        }
    }
}

/// What a look at typed values changes: what is told, errors beside fields, and the drawing where there is one.
pub(super) fn changing(
    app: &Arc<App>,
    sheet_told: &Told,
    before: &str,
    aircraft: Option<&Aircraft>,
) -> Markup {
    let now: Vec<&str> = sheet_told.all.iter().map(|m| m.path.as_str()).filter(|p| !p.is_empty()).collect();
    let gone: Vec<&str> = before.split(' ').filter(|p| !p.is_empty() && !now.contains(p)).take(200).collect();
    let mut places: Vec<&str> = now;
    places.sort_unstable();
    places.dedup();
    html! {
        (list(sheet_told))
        @if let Some(aircraft) = aircraft {
            div id="look-drawing" hx-swap-oob="true" { (drawn(app, aircraft)) }
        }
        @for path in places { p.wrong id={"w-" (id_of(path))} hx-swap-oob="true" { (sheet_told.at(path).join(" ")) } }
        @for path in gone { p.wrong id={"w-" (id_of(path))} hx-swap-oob="true" {} }
    }
}
