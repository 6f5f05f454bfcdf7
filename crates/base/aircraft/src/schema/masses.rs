//! Masses and what the scale said: `[[mass]]` and `[weighed]`.

use std::ops::Range;

use numerics::Vec3;
use numerics::uncertain::Uncertain;

use super::sheet::{Ask, Sheet, ask};
use super::units::Quantity::{Inertia, Length, Mass, Time};
use crate::balance::{Bifilar, ScaleReading, TwoScales, balance_from_two_scales, inertia_from_bifilar};
use crate::care::Weights;
use crate::known::{Known, Origin};
use crate::mass::{Item, Shape, Weighed};

/// Doubt of a weighed item, kg and share: a kitchen scale shows whole grams (common practice, no source).
pub fn usual_mass_sd_kg(mass_kg: f64) -> f64 {
    0.001_f64.max(0.02 * mass_kg)
}

/// Doubt of a weighed total, as a share of it (common practice, no source).
const TOTAL_SD: f64 = 0.005;
/// Doubt of a balance point found on a stand, m (common practice, no source).
pub const USUAL_BALANCE_SD_M: f64 = 0.002;
/// Doubts where weights are guessed: of an item and of the total, as shares, and of the balance point, m (common
/// practice, no source).
const GUESSED_ITEM_SD: f64 = 0.2;
const GUESSED_TOTAL_SD: f64 = 0.05;
const GUESSED_BALANCE_SD_M: f64 = 0.01;
/// Doubt of a balance height, m (common practice, no source).
const HEIGHT_SD_M: f64 = 0.005;
/// Doubt of a swung moment of inertia, as a share of it (common practice, no source).
const INERTIA_SD: f64 = 0.05;

const SHAPES: [(Shape, &str); 4] =
    [(Shape::Box, "box"), (Shape::Cylinder, "cylinder"), (Shape::Rod, "rod"), (Shape::Point, "point")];

/// An item as far as it could be read.
pub(super) struct Read {
    pub(super) name: String,
    pub(super) place: Range<usize>,
    pub(super) item: Option<Item>,
}

const fn place(name: &'static str) -> Ask {
    ask(name, Length, -10.0, 10.0)
}

const fn size(name: &'static str) -> Ask {
    ask(name, Length, 0.0, 10.0)
}

pub(super) fn read(sheets: Vec<Sheet<'_>>, weights: Weights) -> Vec<Read> {
    sheets.into_iter().map(|sheet| read_one(sheet, weights)).collect()
}

fn read_one(sheet: Sheet<'_>, weights: Weights) -> Read {
    let name = sheet.needed_text("name", "give each item a name of its own, for example name = \"pack\"");
    let (name, name_place) = name.map_or_else(|| (String::new(), sheet.place.clone()), |n| (n.text, n.place));
    *sheet.title.borrow_mut() = format!("mass \"{name}\"");
    let mass = sheet.needed_known(
        ask("mass", Mass, 0.0, 50.0),
        |m| match weights {
            Weights::Scale => usual_mass_sd_kg(m),
            Weights::Guessed => GUESSED_ITEM_SD * m,
        },
        Origin::Stated,
        "put it on the scale; of a pair, both together",
    );
    let x = sheet.needed(place("x"), "measure from the datum aft to the middle of the item");
    let at_m = |x| Vec3::new(x, sheet.or(place("y"), 0.0), sheet.or(place("z"), 0.0));
    let at_m = at_m(x.as_ref().map_or(0.0, |n| n.si));
    let size_m = Vec3::new(
        sheet.or(size("size_x"), 0.0),
        sheet.or(size("size_y"), 0.0),
        sheet.or(size("size_z"), 0.0),
    );
    let usual = if size_m.norm() > 0.0 { Shape::Box } else { Shape::Point };
    let shape = sheet.word("shape", &SHAPES, Some(usual), "").unwrap_or(usual);
    if shape != Shape::Point && size_m.norm() == 0.0 {
        sheet.fault(
            format!("mass \"{name}\" has a shape but no size"),
            "write size_x_mm, size_y_mm and size_z_mm, or shape = \"point\"",
        );
    }
    let mirrored = sheet.flag("mirrored", false);
    let from = sheet.number(place("moves_from_x"));
    let to = sheet.number(place("moves_to_x"));
    let movable_x_m = match (&from, &to) {
        (Some(from), Some(to)) => {
            if to.si < from.si || !(from.si..=to.si).contains(&at_m.x) && x.is_some() {
                sheet.notes.fault(
                    &from.place,
                    format!("mass \"{name}\" does not lie between the ends it can be moved to"),
                    "moves_from_x is its foremost place, moves_to_x the rearmost, x where it is now (middle of the item)",
                );
            }
            Some([from.si, to.si])
        }
        (None, None) => None,
        (Some(n), None) | (None, Some(n)) => {
            sheet.notes.fault(
                &n.place,
                format!("mass \"{name}\" says only one end of where it can be moved"),
                "write both moves_from_x_mm and moves_to_x_mm",
            );
            None
        }
    };
    sheet.finish();
    let item = match (mass, x) {
        (Some(mass_kg), Some(_)) => {
            Some(Item { name: name.clone(), mass_kg, at_m, size_m, shape, mirrored, movable_x_m })
        }
        _ => None,
    };
    Read { name, place: name_place, item }
}

/// What the scale and the stand said, and whether the file speaks of total and balance point at all, be it faultily.
pub(super) struct ReadWeighed {
    pub(super) weighed: Weighed,
    pub(super) says_total: bool,
    pub(super) says_balance: bool,
    /// Where the total is told.
    pub(super) place: Range<usize>,
}

/// What the scale, the stand and the swing said; `items_kg` is the mass by the items, for a swing without a weighed
/// total.
pub(super) fn read_weighed(sheet: Option<Sheet<'_>>, items_kg: f64, weights: Weights) -> Option<ReadWeighed> {
    let sheet = sheet?;
    let (measured, total_sd, balance_sd) = match weights {
        Weights::Scale => (Origin::Measured, TOTAL_SD, USUAL_BALANCE_SD_M),
        Weights::Guessed => (Origin::Stated, GUESSED_TOTAL_SD, GUESSED_BALANCE_SD_M),
    };
    let total_kg = sheet.known(ask("total", Mass, 0.02, 50.0), |m| total_sd * m, measured);
    let balance_x_m = sheet.known(place("balance_x"), |_| balance_sd, measured);
    let balance_z_m = sheet.known(place("balance_z"), |_| HEIGHT_SD_M, measured);
    let scales_sheet = sheet.table("scales", "[weighed.scales]");
    let says_total = sheet.has("total", Mass) || scales_sheet.is_some();
    let says_balance = sheet.has("balance_x", Length) || scales_sheet.is_some();
    let scales = scales_sheet.and_then(read_scales);
    if scales.is_some() && balance_x_m.is_some() {
        sheet.fault(
            "the balance point is given both as a place and by two scales",
            "keep balance_x_mm, or keep the table [weighed.scales]",
        );
    }
    let by_scales = |pick: fn(&TwoScales) -> Uncertain| {
        scales.as_ref().map(pick).map(|u| Known { value: u.value, sd: u.sd, from: measured })
    };
    // A total weighed in one piece beats the sum of two readings.
    let total_kg = total_kg.or(by_scales(|s| s.total_kg));
    let balance_x_m = balance_x_m.or(by_scales(|s| s.balance_x_m));
    let mass_kg = total_kg.map_or(items_kg, |k| k.value);
    let share = |i: f64| INERTIA_SD * i;
    let stated = ["inertia_roll", "inertia_pitch", "inertia_yaw"]
        .map(|name| sheet.known(ask(name, Inertia, 0.0, 1000.0), share, measured));
    let swung = ["swing_roll", "swing_pitch", "swing_yaw"]
        .map(|name| sheet.table(name, &format!("[weighed.{name}]")).and_then(|s| read_swing(s, mass_kg)));
    let mut inertia_kg_m2 = stated;
    for (slot, swung) in inertia_kg_m2.iter_mut().zip(swung) {
        match (&slot, swung) {
            (Some(_), Some(_)) => sheet.fault(
                "a moment of inertia is given both as a number and as a swing",
                "keep inertia_…_kg_m2, or keep the table [weighed.swing_…]",
            ),
            (None, Some(swung)) => *slot = Some(swung),
            _ => {}
        }
    }
    check_inertia(&sheet, inertia_kg_m2);
    let place = Mass
        .units()
        .iter()
        .find_map(|u| sheet.place_of(&u.key("total")))
        .unwrap_or_else(|| sheet.place.clone());
    sheet.finish();
    let weighed = Weighed { total_kg, balance_x_m, balance_z_m, inertia_kg_m2 };
    Some(ReadWeighed { weighed, says_total, says_balance, place })
}

/// Two scales under two supports.
fn read_scales(sheet: Sheet<'_>) -> Option<TwoScales> {
    let reading = |mass: Option<Known>, x: Option<super::sheet::Number>| {
        Some(ScaleReading { mass_kg: mass?.uncertain(), at_x_m: x?.si })
    };
    let mass = |name| {
        let remedy = "what the scale shows under that support, the model level";
        sheet.needed_known(ask(name, Mass, 0.0, 50.0), usual_mass_sd_kg, Origin::Measured, remedy)
    };
    let x = |name| sheet.needed(place(name), "measure from the datum aft to that support");
    let front = reading(mass("front"), x("front_x"));
    let rear = reading(mass("rear"), x("rear_x"));
    let found = match (front, rear) {
        (Some(front), Some(rear)) => {
            let found = balance_from_two_scales(&front, &rear);
            if found.is_none() {
                sheet.fault(
                    "the two scales stand at the same place or show nothing",
                    "support the model at two places well apart, front_x_mm and rear_x_mm",
                );
            }
            found
        }
        _ => None,
    };
    sheet.finish();
    found
}

/// A swing on two strings.
fn read_swing(sheet: Sheet<'_>, mass_kg: f64) -> Option<Known> {
    let spacing = sheet
        .needed(ask("spacing", Length, 0.02, 10.0), "measure between the two strings, which hang parallel");
    let length = sheet.needed(ask("length", Length, 0.05, 20.0), "measure the strings from hook to model");
    let period = sheet.needed_known(
        ask("period", Time, 0.1, 60.0),
        |t| 0.01 * t,
        Origin::Measured,
        "time twenty full swings about the upright axis and divide by twenty",
    );
    let cradle = sheet.or(ask("cradle", Inertia, 0.0, 1000.0), 0.0);
    let cradle_kg = sheet.or(ask("cradle_mass", Mass, 0.0, 50.0), 0.0);
    if mass_kg <= 0.0 {
        sheet.fault("a swing needs the mass of the model", "weigh it: total_g in [weighed]");
    }
    sheet.finish();
    inertia_from_bifilar(&Bifilar {
        mass_kg: mass_kg + cradle_kg,
        spacing_m: spacing?.si,
        length_m: length?.si,
        period_s: period?.uncertain(),
        cradle_kg_m2: cradle,
    })
}

/// No body has one moment of inertia larger than the sum of the other two: ∫(y²+z²) ≤ ∫(x²+z²) + ∫(x²+y²).
fn check_inertia(sheet: &Sheet<'_>, inertia: [Option<Known>; 3]) {
    let [Some(roll), Some(pitch), Some(yaw)] = inertia.map(|i| i.map(|k| k.value)) else {
        return;
    };
    for (name, one, others) in
        [("roll", roll, pitch + yaw), ("pitch", pitch, roll + yaw), ("yaw", yaw, roll + pitch)]
    {
        if one > others {
            sheet.fault(
                format!(
                    "the moment of inertia in {name}, {one} kg m², is larger than those of the other two axes together, \
                     {others} kg m²: no body has that"
                ),
                "check the axes of the three swings; roll is about the length of the model",
            );
        }
    }
}
