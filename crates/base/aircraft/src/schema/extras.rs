//! What only adds drag, `[[drag]]`, and how a flight begins, `[start]`.

use std::ops::Range;

use super::sheet::{Sheet, ask};
use super::units::Quantity::{Area, Length, Speed};
use crate::drag::{Drag, Kind};
use crate::known::Origin;
use crate::start::{Ground, How, Start};

/// Doubt of a stated drag area, as a share of it (common practice, no source).
const DRAG_AREA_SD: f64 = 0.2;
/// Doubt of a throw's speed, as a share of it: people throw unevenly (common practice, no source).
const THROW_SPEED_SD: f64 = 0.15;

/// A part that adds drag, as far as it could be read.
pub(super) struct ReadDrag {
    pub(super) name: String,
    pub(super) place: Range<usize>,
    pub(super) drag: Option<Drag>,
}

pub(super) fn read_drags(sheets: Vec<Sheet<'_>>) -> Vec<ReadDrag> {
    sheets.into_iter().map(read_drag).collect()
}

fn read_drag(sheet: Sheet<'_>) -> ReadDrag {
    let name = sheet.needed_text("name", "give each part a name of its own, for example name = \"wheels\"");
    let (name, place) = name.map_or_else(|| (String::new(), sheet.place.clone()), |n| (n.text, n.place));
    *sheet.title.borrow_mut() = format!("drag \"{name}\"");
    let count = sheet.whole("count", 1, 200);
    let stated = sheet.known(ask("drag_area", Area, 0.0, 0.2), |a| DRAG_AREA_SD * a, Origin::Stated);
    let width = sheet.number(ask("width", Length, 0.0001, 10.0)).map(|n| n.si);
    let height = sheet.number(ask("height", Length, 0.0001, 10.0)).map(|n| n.si);
    let says_area = sheet.has("drag_area", Area);
    let says_size = sheet.has("width", Length) || sheet.has("height", Length) || sheet.says("kind");
    let kind = if says_size {
        sheet.word(
            "kind",
            &Kind::ALL,
            None,
            "say what it is, so that its drag coefficient is known: kind = \"wheel\"",
        )
    } else {
        sheet.knows("kind");
        None
    };
    let written_count = f64::from(count.unwrap_or(1));
    let area_m2 = match (says_area, says_size) {
        (true, true) => {
            sheet.fault(
                format!("the drag of \"{name}\" is given both as an area and by its size"),
                "keep drag_area_cm2, or keep width_mm, height_mm and kind",
            );
            None
        }
        (true, false) => stated.map(|mut area| {
            area.value *= written_count;
            area.sd *= written_count;
            area
        }),
        (false, true) => {
            for (key, there) in
                [("width_mm", sheet.has("width", Length)), ("height_mm", sheet.has("height", Length))]
            {
                if !there {
                    sheet.missing(
                        key,
                        "measure it as seen from ahead: width and height, or length and thickness",
                    );
                }
            }
            match (kind, width, height) {
                (Some(kind), Some(width), Some(height)) => {
                    Some(kind.area_m2(width, height, count.unwrap_or(1)))
                }
                _ => None,
            }
        }
        (false, false) => {
            sheet.missing(
                "its size",
                "write width_mm, height_mm and kind = \"wheel\" (or strut, wire, hinge gap …); or drag_area_cm2, drag \
                 over dynamic pressure, where it is known",
            );
            None
        }
    };
    sheet.finish();
    ReadDrag { name: name.clone(), place, drag: area_m2.map(|area_m2| Drag { name, area_m2 }) }
}

pub(super) fn read_start(sheet: Option<Sheet<'_>>) -> Start {
    let Some(sheet) = sheet else {
        return Start::default();
    };
    let how = sheet.word("how", &How::ALL, Some(How::Hand), "").unwrap_or_default();
    let throw_speed_m_s =
        sheet.known(ask("throw_speed", Speed, 1.0, 40.0), |v| THROW_SPEED_SD * v, Origin::Stated);
    let height_m = sheet.number(ask("height", Length, 0.0, 30.0)).map(|n| n.si);
    let says_ground = sheet.says("ground");
    // A fallback that cannot be told from a written word is no fallback: the key is asked for only where it is there.
    let ground = if says_ground {
        sheet.word("ground", &Ground::ALL, None, "")
    } else {
        sheet.knows("ground");
        None
    };
    let run_m = sheet.number(ask("run", Length, 1.0, 1000.0)).map(|n| n.si);
    let thrown = sheet.has("throw_speed", Speed) || sheet.has("height", Length);
    let rolled = says_ground || sheet.has("run", Length);
    if how == How::Rolling && thrown {
        sheet.fault(
            "throw_speed and height belong to a start from the hand or by a bungee, and this one rolls",
            "take them away, or write how = \"hand\"",
        );
    }
    if how != How::Rolling && rolled {
        sheet.fault(
            "ground and run belong to a start on wheels, and this one does not roll",
            "take them away, or write how = \"rolling\"",
        );
    }
    sheet.finish();
    Start { how, throw_speed_m_s, height_m, ground, run_m }
}
