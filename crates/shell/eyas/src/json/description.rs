//! What does `eyas describe --json` print?

use std::path::Path;

use aircraft::Aircraft;
use aircraft::balance::{NoBalance, Remedy};
use aircraft::geometry;
use aircraft::mass::Balance;
use numerics::units::DEG_PER_RAD;
use predict::prediction::Prediction;
use serde_json::{Value, json};

use super::{Object, known, number};

/// The whole document.
pub(crate) fn document(
    aircraft: &Aircraft,
    balance: Result<&Balance, &NoBalance>,
    prediction: Option<&Prediction>,
    remedies: &[Remedy],
    drawing: Option<&Path>,
    kept_as: Value,
) -> Value {
    let mut o = Object::default();
    o.set("aircraft", aircraft.name.as_str());
    o.set("layout", aircraft.layout.word());
    o.set_or_why("geometry", reference(aircraft).ok_or_else(|| "the file describes no wing".to_owned()));
    o.set(
        "surfaces",
        aircraft
            .surfaces
            .iter()
            .filter_map(|s| s.planform().map(|p| (s, p)))
            .map(|(s, p)| {
                json!({
                    "name": s.name, "area_m2": number(p.area_m2), "length_m": number(p.length_m),
                    "mean_chord_m": number(p.mean_chord_m),
                })
            })
            .collect::<Vec<_>>(),
    );
    o.set(
        "movables",
        aircraft
            .movables
            .iter()
            .map(|m| {
                json!({
                    "name": m.name,
                    "throw_up_deg": number(m.throw_up_rad * DEG_PER_RAD),
                    "throw_down_deg": number(m.throw_down_rad * DEG_PER_RAD),
                })
            })
            .collect::<Vec<_>>(),
    );
    o.set_or_why(
        "mass",
        balance.map(|b| json!({"total_kg": known(b.total_kg, 1.0)})).map_err(NoBalance::told),
    );
    o.set_or_why("balance", balance.map(|b| balance_part(b, prediction)).map_err(NoBalance::told));
    o.set("to_reach", remedies.iter().map(remedy).collect::<Vec<_>>());
    o.set("drawing", drawing.map(|d| d.display().to_string()));
    o.set("kept_as_revision", kept_as);
    o.done()
}

fn reference(aircraft: &Aircraft) -> Option<Value> {
    let r = geometry::reference(aircraft)?;
    let volumes = geometry::tail_volumes(aircraft);
    Some(json!({
        "wing_area_m2": number(r.area_m2),
        "mean_chord_m": number(r.mean_chord_m),
        "mean_chord_x_m": number(r.mean_chord_x_m),
        "span_m": number(r.span_m),
        "aspect_ratio": number(r.aspect_ratio),
        "horizontal_tail_volume": volumes.and_then(|v| v.horizontal).map(number),
        "vertical_tail_volume": volumes.and_then(|v| v.vertical).map(number),
        "foreplane_volume": volumes.and_then(|v| v.foreplane).map(number),
    }))
}

fn balance_part(b: &Balance, prediction: Option<&Prediction>) -> Value {
    let mut o = Object::default();
    o.set("cg_x_m", known(b.cg_x_m, 1.0));
    o.set("cg_z_m", number(b.cg_m.z));
    o.set("items_total_kg", b.items_total_kg.map(number));
    o.set("items_cg_x_m", b.items_cg_x_m.map(number));
    o.set("remarks", b.remarks.clone());
    let unknown =
        || "the file does not say enough to predict; `eyas predict` names what is missing".to_owned();
    o.set_or_why(
        "neutral_point_x_m",
        prediction.map(|p| known(p.stability.neutral_point_x_m, 1.0)).ok_or_else(unknown),
    );
    o.set_or_why(
        "static_margin_percent",
        prediction.map(|p| known(p.stability.static_margin_percent, 1.0)).ok_or_else(unknown),
    );
    o.done()
}

/// A way to move the balance point, in a sentence.
pub(crate) fn remedy(remedy: &Remedy) -> String {
    match remedy {
        Remedy::Move { item, from_x_m, to_x_m, balance_x_m, reaches } => {
            let way = if to_x_m < from_x_m { "forward" } else { "aft" };
            let far = (to_x_m - from_x_m).abs() * 1000.0;
            let enough = if *reaches { "" } else { ", as far as it goes, which is not enough" };
            format!(
                "move {item} {far:.0} mm {way}, to {:.0} mm aft of the datum{enough}: it then balances at {:.1} mm",
                to_x_m * 1000.0,
                balance_x_m * 1000.0
            )
        }
        Remedy::Ballast { place, at_x_m, mass_kg } => {
            format!(
                "fix {:.0} g in the {place}, {:.0} mm aft of the datum",
                mass_kg * 1000.0,
                at_x_m * 1000.0
            )
        }
    }
}
