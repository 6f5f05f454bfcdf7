//! `eyas describe`: what have I built?

use std::fmt::Write as _;
use std::path::PathBuf;

use aircraft::balance::{Remedy, to_reach};
use aircraft::control::trailing_edge_m_from_deflection;
use aircraft::movable::Movable;
use aircraft::{Aircraft, geometry};
use numerics::units::DEG_PER_RAD;
use serde_json::Value;

use report::number::known;

use super::words::paragraph;
use super::{Answer, Common, decimal, now_ms};
use crate::files;
use crate::json::description;
use crate::tasks::forecast::{Air, forecast_at_hand};
use crate::tasks::{fetch, keep};
use crate::tell::{Kind, Trouble};

/// Read and check an aircraft file, print what follows from it, draw it
///
/// Example: eyas describe plover.toml --drawing plover.svg
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// Aircraft file, or name of an aircraft in the hangar
    aircraft: String,
    /// Write a dimensioned three-view with balance point and neutral point
    #[arg(long, value_name = "FILE.svg")]
    drawing: Option<PathBuf>,
    /// Say what to move or add so that it balances here, mm aft of the datum
    #[arg(long, value_name = "MM", value_parser = decimal, allow_hyphen_values = true)]
    balance_at_mm: Option<f64>,
    /// Keep this file in the hangar as a revision
    #[arg(long)]
    keep: bool,
}

pub(super) fn run(args: &Args, common: &Common) -> Result<Answer, Trouble> {
    let fetched = fetch::aircraft(&args.aircraft, common)?;
    let aircraft = &fetched.aircraft;
    // A file can be described before enough is known to predict: then the neutral point is left out, with the reason.
    let prediction = forecast_at_hand(aircraft, &Air::default());
    let balance = aircraft::balance::balance(aircraft);
    let remedies: Vec<Remedy> =
        args.balance_at_mm.map(|mm| to_reach(aircraft, mm / 1000.0)).unwrap_or_default();

    let mut text = format!("{}, {}\n", aircraft.name, aircraft.layout.word());
    let _ = writeln!(text, "  x is measured aft from: {}", aircraft.datum);
    if let Some(r) = geometry::reference(aircraft) {
        let _ = writeln!(text, "\nWing");
        let _ = writeln!(
            text,
            "  span {:.3} m, area {:.2} dm², aspect ratio {:.2}",
            r.span_m,
            r.area_m2 * 100.0,
            r.aspect_ratio
        );
        let _ = writeln!(
            text,
            "  mean aerodynamic chord {:.1} mm, its leading edge {:.1} mm aft of the datum",
            r.mean_chord_m * 1000.0,
            r.mean_chord_x_m * 1000.0
        );
        if let Ok(balance) = &balance {
            let _ = writeln!(text, "  wing loading {:.1} g/dm²", balance.total_kg.value * 10.0 / r.area_m2);
        }
    }
    let _ = writeln!(text, "\nSurfaces");
    for surface in &aircraft.surfaces {
        if let Some(p) = surface.planform() {
            let _ = writeln!(
                text,
                "  {:<12} area {:.2} dm², length {:.3} m, mean chord {:.1} mm",
                surface.name,
                p.area_m2 * 100.0,
                p.length_m,
                p.mean_chord_m * 1000.0
            );
        }
    }
    let volumes = geometry::tail_volumes(aircraft);
    let line =
        |name: &str, v: Option<f64>| v.map_or_else(String::new, |v| format!("  {name} tail volume {v:.3}\n"));
    if let Some(volumes) = volumes {
        text.push_str(&line("horizontal", volumes.horizontal));
        text.push_str(&line("vertical", volumes.vertical));
        text.push_str(&line("foreplane", volumes.foreplane));
    }
    if !aircraft.movables.is_empty() {
        let _ = writeln!(text, "\nMovable surfaces");
    }
    for m in &aircraft.movables {
        let words = aircraft.surfaces.get(m.surface).map_or(("up", "down"), |s| m.throw_words(s));
        let _ = writeln!(
            text,
            "  {:<12} throw {:.1}° {}, {:.1}° {} ({:.1} and {:.1} mm at the trailing edge)",
            m.name,
            m.throw_up_rad * DEG_PER_RAD,
            words.0,
            m.throw_down_rad * DEG_PER_RAD,
            words.1,
            edge_mm(aircraft, m, m.throw_up_rad),
            edge_mm(aircraft, m, m.throw_down_rad),
        );
    }
    let _ = writeln!(text, "\nBalance");
    match &balance {
        Ok(b) => {
            let _ = writeln!(text, "  mass {} ({})", known(b.total_kg, 1000.0, "g"), b.total_kg.from.word());
            let _ = writeln!(
                text,
                "  balance point {} aft of the datum ({})",
                known(b.cg_x_m, 1000.0, "mm"),
                b.cg_x_m.from.word()
            );
            let i = &b.inertia_kg_m2;
            let _ = writeln!(
                text,
                "  inertia roll {:.4}, pitch {:.4}, yaw {:.4}, product xz {:.4} kg m²",
                i[(0, 0)],
                i[(1, 1)],
                i[(2, 2)],
                -i[(0, 2)]
            );
            for remark in &b.remarks {
                text.push_str(&paragraph(remark, "  ", 100));
            }
        }
        Err(error) => text.push_str(&paragraph(&format!("unknown: {}", error.told()), "  ", 100)),
    }
    match &prediction {
        Ok(p) => {
            let s = &p.stability;
            let _ = writeln!(
                text,
                "  neutral point {} aft of the datum",
                known(s.neutral_point_x_m, 1000.0, "mm")
            );
            let _ = writeln!(
                text,
                "  static margin {} of the mean chord",
                known(s.static_margin_percent, 1.0, "%")
            );
            if let Ok([forward, aft]) = s.first_flight_range_x_m {
                let _ = writeln!(
                    text,
                    "  for a first flight balance it between {:.0} and {:.0} mm",
                    forward * 1000.0,
                    aft * 1000.0
                );
            }
        }
        Err(trouble) => {
            let _ = writeln!(text, "  neutral point unknown:");
            text.push_str(&trouble.text());
        }
    }
    let questions = aircraft::schema::remarks(aircraft);
    if !questions.is_empty() {
        let _ = writeln!(text, "\nIs this right?");
    }
    for question in &questions {
        text.push_str(&paragraph(question, "  ", 100));
    }
    if args.balance_at_mm.is_some() {
        let _ = writeln!(text, "\nTo balance there, one of");
        if remedies.is_empty() {
            let _ =
                writeln!(text, "  nothing was found; state movable_x for an item or where ballast may go");
        }
        for remedy in &remedies {
            text.push_str(&paragraph(&description::remedy(remedy), "  ", 100));
        }
    }
    let mut wrote = None;
    if let Some(file) = &args.drawing {
        if !file.extension().is_some_and(|e| e.eq_ignore_ascii_case("svg")) {
            return Err(super::usage(
                format!("{} does not end in .svg", file.display()),
                "the drawing is an SVG file",
            ));
        }
        let stability = prediction.as_ref().ok().map(|p| &p.stability);
        let drawing = report::three_view::three_view(
            aircraft,
            balance.as_ref().ok().map(|b| b.cg_m.x),
            stability.map(|s| s.neutral_point_x_m.value),
            stability.and_then(|s| s.range_x_m.clone().ok()),
        );
        files::write_whole(file, drawing.as_bytes())?;
        let _ = writeln!(text, "\nDrew {}", file.display());
        wrote = Some(file.clone());
    }
    let mut kept = Value::Null;
    if args.keep {
        let mut hangar = keep::open(common)?;
        let revision = hangar
            .keep_aircraft(&aircraft.name, fetched.kept(), "as described", now_ms())
            .map_err(keep::trouble)?;
        let _ = writeln!(text, "\nKept in the hangar as revision {}", revision.number);
        kept = revision.number.into();
    }
    let document = description::document(
        aircraft,
        balance.as_ref(),
        prediction.as_ref().ok(),
        &remedies,
        wrote.as_deref(),
        kept,
    );
    if balance.is_err() && !common.json {
        return Err(Trouble::new(
            Kind::No,
            text,
            "it cannot be balanced as described",
            "weigh it, or list its items under [[mass]]",
        ));
    }
    Ok(Answer { text, json: document, no: balance.is_err() })
}

/// Movement of the trailing edge at the inner end of a movable, mm along the chord of its arc.
fn edge_mm(aircraft: &Aircraft, movable: &Movable, deflection_rad: f64) -> f64 {
    aircraft.surfaces.get(movable.surface).map_or(f64::NAN, |surface| {
        let chord_m = movable.chord_at(surface, movable.inner_m);
        trailing_edge_m_from_deflection(deflection_rad, chord_m) * 1000.0
    })
}
