//! Lifting surfaces: `[[surface]]` and `[[surface.station]]`.

use std::f64::consts::FRAC_PI_2;
use std::ops::Range;

use numerics::Vec3;

use super::section_file;
use super::sheet::{Ask, Sheet, ask};
use super::units::Quantity::{Angle, Length};
use crate::section::Section;
use crate::surface::{Role, Station, Surface};

/// Places are believed within this of the datum, m.
const FURTHEST_M: f64 = 10.0;
/// Two stations nearer than this are one, m.
const SAME_PLACE_M: f64 = 1e-6;
/// Where both edges are steeper than this against the span it is taken for a slip, run over span (70 degrees).
const STEEPEST_EDGE: f64 = 2.75;

const ROLES: [(Role, &str); 5] = [
    (Role::Wing, "wing"),
    (Role::Tailplane, "tailplane"),
    (Role::Fin, "fin"),
    (Role::VTail, "v-tail"),
    (Role::Foreplane, "foreplane"),
];

/// A surface as far as it could be read.
pub(super) struct Read {
    pub(super) name: String,
    pub(super) place: Range<usize>,
    pub(super) role: Option<Role>,
    pub(super) surface: Option<Surface>,
}

const fn place(name: &'static str) -> Ask {
    ask(name, Length, -FURTHEST_M, FURTHEST_M)
}

pub(super) fn read(sheets: Vec<Sheet<'_>>, section_file: &dyn Fn(&str) -> Option<String>) -> Vec<Read> {
    sheets.into_iter().map(|sheet| read_one(sheet, section_file)).collect()
}

fn read_one(sheet: Sheet<'_>, section_file: &dyn Fn(&str) -> Option<String>) -> Read {
    let name = sheet.needed_text("name", "give each surface a name of its own, for example name = \"wing\"");
    let (name, name_place) = name.map_or_else(|| (String::new(), sheet.place.clone()), |n| (n.text, n.place));
    *sheet.title.borrow_mut() = format!("surface \"{name}\"");
    let role =
        sheet.word("role", &ROLES, None, "say what it is for: wing, tailplane, fin, v-tail or foreplane");
    let mirrored = sheet.flag("mirrored", role.is_some_and(|r| r != Role::Fin));
    let dihedral = sheet.number(ask("dihedral", Angle, -FRAC_PI_2, FRAC_PI_2)).map(|n| n.si);
    let root = Root {
        x: sheet.number(place("root_x")).map(|n| n.si),
        y: sheet.or(place("root_y"), 0.0),
        z: sheet.or(place("root_z"), 0.0),
        dihedral: dihedral.or(match role {
            Some(Role::Fin) => Some(FRAC_PI_2),
            Some(Role::VTail) => None,
            _ => Some(0.0),
        }),
        mirrored,
    };
    let station_sheets = sheet.tables("station", "[[surface.station]]");
    let count = station_sheets.len();
    if count < 2 {
        sheet.fault(
            format!("surface \"{name}\" has {count} stations and needs at least two"),
            "add [[surface.station]] for the root and for the tip: place along the span, leading edge, chord, section",
        );
    }
    let stations = read_stations(station_sheets, &name, &root, section_file);
    sheet.finish();
    let surface = match (role, stations) {
        (Some(role), Some(stations)) if count >= 2 => {
            Some(Surface { name: name.clone(), role, mirrored, stations })
        }
        _ => None,
    };
    Read { name, place: name_place, role, surface }
}

struct Root {
    x: Option<f64>,
    y: f64,
    z: f64,
    dihedral: Option<f64>,
    mirrored: bool,
}

/// All stations, or nothing if any of them is faulty.
fn read_stations(
    sheets: Vec<Sheet<'_>>,
    surface: &str,
    root: &Root,
    section_file: &dyn Fn(&str) -> Option<String>,
) -> Option<Vec<Station>> {
    let mut stations: Vec<Station> = Vec::new();
    let mut whole = true;
    let mut section: Option<Section> = None;
    let mut root_x = root.x;
    for (index, sheet) in sheets.into_iter().enumerate() {
        *sheet.title.borrow_mut() = format!("station {} of surface \"{surface}\"", index + 1);
        let at = read_place(&sheet, root, stations.last(), index);
        let x = read_x(&sheet, root_x, index == 0);
        if index == 0 {
            root_x = root_x.or(x);
        }
        let chord = sheet
            .needed(
                ask("chord", Length, 0.005, 3.0),
                "measure from leading to trailing edge, level with the rib",
            )
            .map(|n| n.si);
        let twist = sheet.or(ask("twist", Angle, -0.5, 0.5), 0.0);
        section = read_section(&sheet, section.take(), index == 0, section_file);
        let (Some((along_m, y, z)), Some(x), Some(chord_m), Some(section)) = (at, x, chord, section.clone())
        else {
            whole = false;
            sheet.finish();
            continue;
        };
        let station =
            Station { along_m, leading_edge_m: Vec3::new(x, y, z), chord_m, twist_rad: twist, section };
        if whole && let Some(inner) = stations.last() {
            check_edges(&sheet, inner, &station);
        }
        stations.push(station);
        sheet.finish();
    }
    whole.then_some(stations)
}

/// Along, y and z of a station, m.
fn read_place(
    sheet: &Sheet<'_>,
    root: &Root,
    inner: Option<&Station>,
    index: usize,
) -> Option<(f64, f64, f64)> {
    let along = sheet.number(ask("along", Length, 0.0, FURTHEST_M));
    let y = sheet.number(place("y"));
    let z = sheet.number(place("z"));
    let own_dihedral = sheet.number(ask("dihedral", Angle, -FRAC_PI_2, FRAC_PI_2)).map(|n| n.si);
    let has = |name| sheet.has(name, Length);
    if has("along") && (has("y") || has("z")) {
        sheet.fault(
            "the station's place is given both along the surface and as y and z",
            "keep along_mm, or keep y_mm and z_mm",
        );
        return None;
    }
    let (along_m, y, z) = if has("y") || has("z") {
        let (start_y, start_z) = inner.map_or((root.y, root.z), |s| (s.leading_edge_m.y, s.leading_edge_m.z));
        let y = if has("y") { y?.si } else { start_y };
        let z = if has("z") { z?.si } else { start_z };
        let along = inner.map_or(0.0, |s| s.along_m + (y - start_y).hypot(z - start_z));
        (along, y, z)
    } else if has("along") {
        let along_m = along?.si;
        let Some(dihedral) = own_dihedral.or(root.dihedral) else {
            if index > 0 {
                sheet.fault(
                    "the dihedral of a V-tail is not given",
                    "measure the angle of a panel against the level: dihedral_deg = 35 in the surface (negative if \
                     it hangs down)",
                );
                return None;
            }
            return Some((along_m, root.y, root.z));
        };
        // A root station that does not begin at 0 lies outboard of the root by that much.
        let (from, y, z) =
            inner.map_or((0.0, root.y, root.z), |s| (s.along_m, s.leading_edge_m.y, s.leading_edge_m.z));
        let run = along_m - from;
        // cos 90° is 6e-17; an upright fin stands exactly upright.
        let cosine = if dihedral.abs() == FRAC_PI_2 { 0.0 } else { dihedral.cos() };
        (along_m, y + run * cosine, z + run * dihedral.sin())
    } else {
        sheet.missing(
            "along_mm",
            "measure along the surface from its root to the rib: along_mm (or y_mm and z_mm from the datum)",
        );
        return None;
    };
    if let Some(inner) = inner
        && along_m <= inner.along_m + SAME_PLACE_M
    {
        sheet.fault(
            format!(
                "station {} is not further out than the one before it ({:.1} mm after {:.1} mm)",
                index + 1,
                along_m * 1000.0,
                inner.along_m * 1000.0
            ),
            "list stations from root to tip, each further along the surface",
        );
        return None;
    }
    if root.mirrored && y < -SAME_PLACE_M {
        sheet.fault(
            format!("the station lies at y = {:.1} mm, across the plane of symmetry", y * 1000.0),
            "describe the right side (y positive); mirrored = true makes the left one",
        );
        return None;
    }
    Some((along_m, y, z))
}

/// Leading edge of a station, m. Where the root has no place, the root alone is blamed.
fn read_x(sheet: &Sheet<'_>, root_x: Option<f64>, is_root: bool) -> Option<f64> {
    let x = sheet.number(place("x"));
    let sweep = sheet.number(place("sweep"));
    match (sheet.has("x", Length), sheet.has("sweep", Length)) {
        (true, true) => {
            sheet.fault(
                "the leading edge is given both from the datum and from the root",
                "keep x_mm, or keep sweep_mm",
            );
            None
        }
        (true, false) => x.map(|n| n.si),
        (false, true) => {
            let sweep = sweep?;
            if root_x.is_none() && is_root {
                sheet.notes.fault(
                    &sweep.place,
                    "sweep is measured from the root's leading edge, which has no place",
                    "write x_mm in the first station, or root_x_mm in the surface",
                );
            }
            root_x.map(|x| x + sweep.si)
        }
        (false, false) => {
            if root_x.is_none() && is_root {
                sheet.missing(
                    "x_mm",
                    "measure from the datum aft to the leading edge (or sweep_mm aft of the root's leading edge)",
                );
            }
            root_x
        }
    }
}

fn read_section(
    sheet: &Sheet<'_>,
    inner: Option<Section>,
    is_root: bool,
    section_file: &dyn Fn(&str) -> Option<String>,
) -> Option<Section> {
    let Some(name) = sheet.text("section") else {
        if inner.is_none() && is_root {
            sheet.missing(
                "section",
                "write section = \"naca 2412\" or the name of a coordinate file; a flat plate is \"naca 0003\"",
            );
        }
        return inner;
    };
    match section_file::section(&name.text, section_file) {
        Ok(section) => Some(section),
        Err(why) => {
            sheet.notes.fault(
                &name.place,
                format!("\"{}\" is no section: {}", name.text, why.told()),
                "write four or five NACA digits (\"naca 2412\") or the name of a coordinate file beside this file",
            );
            // The next station shall not be blamed for this one's section.
            inner.or_else(|| section_file::section("naca 0010", &|_| None).ok())
        }
    }
}

/// Edges that run much more fore and aft than outwards are slips: a digit or a unit.
fn check_edges(sheet: &Sheet<'_>, inner: &Station, outer: &Station) {
    let run = outer.along_m - inner.along_m;
    let leading = outer.leading_edge_m.x - inner.leading_edge_m.x;
    let trailing = leading + outer.chord_m - inner.chord_m;
    if leading.abs().min(trailing.abs()) > STEEPEST_EDGE * run {
        sheet.fault(
            format!(
                "the edges run {:.0} mm fore and aft over {:.0} mm of span",
                leading.abs() * 1000.0,
                run * 1000.0
            ),
            "check the unit of along, x and chord of this station and the one before",
        );
    }
    let behind = outer.leading_edge_m.x > inner.leading_edge_m.x + inner.chord_m;
    let ahead = outer.leading_edge_m.x + outer.chord_m < inner.leading_edge_m.x;
    if (behind || ahead) && run < 0.25 * inner.chord_m {
        sheet.fault(
            "the chords of this station and the one before do not overlap, yet they are close together",
            "check x (leading edge from the datum, aft positive) and chord of both",
        );
    }
}
