//! How does a recording get out? As it came, or its channels and its track in open formats.

use std::sync::Arc;

use axum::extract::{Path, State};
use fly::recording::Quantity;
use maud::{Markup, html};

use crate::tell::{Kind, Trouble};
use crate::web::app::App;
use crate::web::ask::Ask;
use crate::web::reply::{self, Reply, work};
use crate::web::shelf::{self, Read, Which};

/// Forms to export: word, what it is, its kind.
const FORMS: [(&str, &str, &str); 4] = [
    ("csv", "All channels on one clock, as text (CSV)", "text/csv"),
    ("parquet", "The same, for data programs (Parquet)", "application/vnd.apache.parquet"),
    ("gpx", "The track with its phases (GPX)", "application/gpx+xml"),
    ("kml", "The track for maps (KML)", "application/vnd.google-earth.kml+xml"),
];

pub(super) fn links(here: &str, read: &Read) -> Markup {
    let recording = &read.studied.recording;
    let track =
        recording.channel(&Quantity::Latitude).is_some() && recording.channel(&Quantity::Longitude).is_some();
    html! {
        ul {
            @for (word, what, _) in FORMS {
                @if track || !matches!(word, "gpx" | "kml") { li { a href={(here) "/export/" (word)} download="" { (what) } } }
            }
            li { a href={(here) "/original"} download="" { "The file as it came" } }
        }
        @if !track { p.note { "GPX and KML want positions; the recording has none." } }
    }
}

pub(super) async fn original(
    State(app): State<Arc<App>>,
    ask: Ask,
    Path((name, which)): Path<(String, String)>,
) -> Reply {
    work(app, ask, move |app, _| {
        let label = shelf::label(app, &name, &Which::read(&which)?)?;
        Ok(reply::file(&label.name, "application/octet-stream", shelf::bytes(app, &label)?))
    })
    .await
}

pub(super) async fn export(
    State(app): State<Arc<App>>,
    ask: Ask,
    Path((name, which, form)): Path<(String, String, String)>,
) -> Reply {
    work(app, ask, move |app, _| {
        let label = shelf::label(app, &name, &Which::read(&which)?)?;
        let Some((word, _, kind)) = FORMS.iter().find(|(word, ..)| *word == form) else {
            return Err(Trouble::new(
                Kind::Missing,
                format!("nothing is written as \"{form}\""),
                "there is no such form",
                "choose csv, parquet, gpx or kml",
            ));
        };
        let read = app.shelf.read(app, &label)?;
        let recording = &read.studied.recording;
        let bytes = match *word {
            "csv" => fly::export::csv(recording).map(String::into_bytes),
            "parquet" => fly::export::parquet(recording),
            "gpx" => fly::export::gpx(recording, &read.phases, &read.flights).map(String::into_bytes),
            _ => fly::export::kml(recording, &read.phases, &read.flights).map(String::into_bytes),
        };
        let bytes = bytes.map_err(|why| {
            Trouble::new(
                Kind::No,
                "the recording cannot be written so",
                why.to_string(),
                "take CSV or Parquet for what has no track",
            )
        })?;
        let stem = label.name.split('.').next().filter(|s| !s.is_empty()).unwrap_or("recording");
        Ok(reply::file(&format!("{stem}.{word}"), kind, bytes))
    })
    .await
}
