//! Bodies: `[[fuselage]]` and `[[fuselage.station]]`.

use std::ops::Range;

use numerics::Vec3;

use super::sheet::{Ask, Sheet, ask};
use super::units::Quantity::Length;
use crate::fuselage::{BodyStation, Fuselage};

/// A body as far as it could be read.
pub(super) struct Read {
    pub(super) name: String,
    pub(super) place: Range<usize>,
    pub(super) fuselage: Option<Fuselage>,
}

const fn place(name: &'static str) -> Ask {
    ask(name, Length, -10.0, 10.0)
}

pub(super) fn read(sheets: Vec<Sheet<'_>>) -> Vec<Read> {
    let several = sheets.len() > 1;
    sheets.into_iter().map(|sheet| read_one(sheet, several)).collect()
}

fn read_one(sheet: Sheet<'_>, several: bool) -> Read {
    let name = if several {
        sheet.needed_text("name", "give each body a name of its own, for example name = \"boom\"")
    } else {
        sheet.text("name")
    };
    let (name, name_place) =
        name.map_or_else(|| ("fuselage".to_owned(), sheet.place.clone()), |n| (n.text, n.place));
    *sheet.title.borrow_mut() = format!("fuselage \"{name}\"");
    let mirrored = sheet.flag("mirrored", false);
    let station_sheets = sheet.tables("station", "[[fuselage.station]]");
    let count = station_sheets.len();
    if count < 2 {
        sheet.fault(
            format!("fuselage \"{name}\" has {count} stations and needs at least two"),
            "add [[fuselage.station]] from nose to tail: x_mm, width_mm and height_mm",
        );
    }
    let mut stations: Vec<BodyStation> = Vec::new();
    let mut whole = count >= 2;
    for (index, own) in station_sheets.into_iter().enumerate() {
        *own.title.borrow_mut() = format!("station {} of fuselage \"{name}\"", index + 1);
        let Some(station) = read_station(&own) else {
            whole = false;
            own.finish();
            continue;
        };
        if let Some(before) = stations.last()
            && station.centre_m.x <= before.centre_m.x
        {
            own.fault(
                format!(
                    "station {} at x = {:.1} mm does not lie behind the one before it at {:.1} mm",
                    index + 1,
                    station.centre_m.x * 1000.0,
                    before.centre_m.x * 1000.0
                ),
                "list stations from nose to tail, x growing aft",
            );
        }
        stations.push(station);
        own.finish();
    }
    sheet.finish();
    Read {
        name: name.clone(),
        place: name_place,
        fuselage: whole.then_some(Fuselage { name, mirrored, stations }),
    }
}

fn read_station(sheet: &Sheet<'_>) -> Option<BodyStation> {
    let x = sheet.needed(place("x"), "measure from the datum aft to the cross-section");
    let (y, z) = (sheet.or(place("y"), 0.0), sheet.or(place("z"), 0.0));
    let diameter = sheet.number(ask("diameter", Length, 0.0, 2.0)).map(|n| n.si);
    let width = sheet.number(ask("width", Length, 0.0, 2.0)).map(|n| n.si);
    let height = sheet.number(ask("height", Length, 0.0, 2.0)).map(|n| n.si);
    let has = |name| sheet.has(name, Length);
    if !has("diameter") {
        for (key, name) in [("width_mm", "width"), ("height_mm", "height")] {
            if !has(name) {
                sheet.missing(
                    key,
                    "measure the cross-section with a calliper (or diameter_mm of a round one)",
                );
            }
        }
    }
    Some(BodyStation {
        centre_m: Vec3::new(x?.si, y, z),
        width_m: width.or(diameter)?,
        height_m: height.or(diameter)?,
    })
}
