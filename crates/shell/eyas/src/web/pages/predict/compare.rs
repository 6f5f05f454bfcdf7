//! How does what is tried stand beside what is described?

use maud::{Markup, html};
use numerics::units::DEG_PER_RAD;
use predict::prediction::{Outcome, Prediction};
use report::number;

/// A name, and how its number is written.
type Row = (&'static str, fn(&Prediction) -> String);

const ROWS: [Row; 11] = [
    ("Mass", |p| number::known(p.balance.total_kg, 1000.0, "g")),
    ("Balance point, aft of the datum", |p| number::known(p.balance.cg_x_m, 1000.0, "mm")),
    ("Static margin", |p| number::known(p.stability.static_margin_percent, 1.0, "percent")),
    ("Stall, wings level", |p| number::known(p.speeds.stall_m_s, 1.0, "m/s")),
    ("Cruise", |p| number::known(p.speeds.cruise_m_s, 1.0, "m/s")),
    ("Fastest, level", |p| short(&p.speeds.top_m_s, 1.0, "m/s")),
    ("Best glide", |p| number::known(p.polar.best_glide_ratio, 1.0, "")),
    ("Roll at full stick", |p| short(&p.control.roll_rate_rad_s, DEG_PER_RAD, "deg/s")),
    ("Elevator left at the stall", |p| match &p.control.elevator_left_at_stall_rad {
        Ok(left) => number::coarse(left * DEG_PER_RAD, "deg"),
        Err(_) => "not predicted".to_owned(),
    }),
    ("Best climb", |p| match &p.drive {
        Ok(drive) => short(&drive.climb_m_s, 1.0, "m/s"),
        Err(_) => "no drive".to_owned(),
    }),
    ("Endurance at cruise", |p| match &p.drive {
        Ok(drive) => short(&drive.endurance_s, 1.0 / 60.0, "min"),
        Err(_) => "no drive".to_owned(),
    }),
];

fn short(value: &Outcome<aircraft::Known>, factor: f64, unit: &str) -> String {
    value.as_ref().map_or_else(|_| "not predicted".to_owned(), |v| number::known(*v, factor, unit))
}

/// The few numbers that stand beside the sliders.
pub(super) fn key(p: &Prediction) -> Vec<(&'static str, String)> {
    ROWS.iter()
        .filter(|(name, _)| !["Mass", "Cruise", "Best glide", "Best climb"].contains(name))
        .map(|(name, write)| (*name, write(p)))
        .collect()
}

/// What is described and what is tried, side by side; what stays the same is left out.
pub(super) fn table(described: &Prediction, tried: &Prediction) -> Markup {
    let rows: Vec<(&str, String, String)> = ROWS
        .iter()
        .map(|(name, write)| (*name, write(described), write(tried)))
        .filter(|(_, a, b)| a != b)
        .collect();
    html! {
        @if rows.is_empty() {
            p { "None of the main numbers changes by as much as is written of it." }
        } @else {
            table.stack {
                thead { tr { th { "Number" } th { "As described" } th { "As tried" } } }
                tbody {
                    @for (name, a, b) in &rows {
                        tr { th { (name) } td data-name="As described" { (a) } td data-name="As tried" { strong { (b) } } }
                    }
                }
            }
        }
    }
}
