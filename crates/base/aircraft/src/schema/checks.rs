//! Does the whole fit together: names, layout, mass, movables that share a surface?

use std::collections::BTreeMap;
use std::ops::Range;

use super::fault::Notes;
use super::{bodies, extras, masses, movables, sensible, surfaces};
use crate::Layout;
use crate::drive::Drive;
use crate::surface::{Role, Surface};

/// Everything that was read, as far as it could be.
pub(super) struct Whole<'r> {
    pub(super) layout: Option<(Layout, Range<usize>)>,
    pub(super) surfaces: &'r [surfaces::Read],
    pub(super) movables: &'r [movables::Read],
    pub(super) masses: &'r [masses::Read],
    pub(super) bodies: &'r [bodies::Read],
    pub(super) weighed: Option<&'r masses::ReadWeighed>,
    pub(super) drags: &'r [extras::ReadDrag],
    pub(super) drive: Option<&'r Drive>,
}

pub(super) fn check(notes: &Notes<'_>, whole: &Whole<'_>) {
    check_names(notes, "surfaces", whole.surfaces.iter().map(|r| (r.name.as_str(), &r.place)));
    check_names(notes, "movables", whole.movables.iter().map(|r| (r.name.as_str(), &r.place)));
    check_names(notes, "masses", whole.masses.iter().map(|r| (r.name.as_str(), &r.place)));
    check_names(notes, "bodies", whole.bodies.iter().map(|r| (r.name.as_str(), &r.place)));
    check_names(notes, "drags", whole.drags.iter().map(|r| (r.name.as_str(), &r.place)));
    check_layout(notes, whole);
    sensible::check(notes, whole);
    check_mass(notes, whole);
    check_overlap(notes, whole.movables);
}

fn check_names<'n>(notes: &Notes<'_>, kind: &str, names: impl Iterator<Item = (&'n str, &'n Range<usize>)>) {
    let mut seen = BTreeMap::new();
    for (name, place) in names.filter(|(n, _)| !n.is_empty()) {
        if seen.insert(name, ()).is_some() {
            notes.fault(
                place,
                format!("two {kind} are called \"{name}\""),
                "give each a name of its own, so that messages and changes can say which is meant",
            );
        }
    }
}

fn check_layout(notes: &Notes<'_>, whole: &Whole<'_>) {
    let has = |role| whole.surfaces.iter().any(|s| s.role == Some(role));
    // A surface whose role could not be read may be the one that seems to be missing.
    let all_roles_known = whole.surfaces.iter().all(|s| s.role.is_some());
    let start = 0..0;
    let place = whole.layout.as_ref().map_or(&start, |(_, place)| place);
    if all_roles_known && !has(Role::Wing) {
        notes.fault(
            place,
            "there is no wing",
            "describe the main wing: [[surface]] with role = \"wing\" and its stations",
        );
    }
    let Some((layout, place)) = &whole.layout else {
        return;
    };
    if !all_roles_known {
        return;
    }
    let (needed, unwanted): (&[Role], &[Role]) = match layout {
        Layout::Conventional | Layout::TTail => {
            (&[Role::Tailplane, Role::Fin], &[Role::VTail, Role::Foreplane])
        }
        Layout::VTail | Layout::InvertedV => (&[Role::VTail], &[Role::Tailplane, Role::Foreplane]),
        Layout::FlyingWing => (&[], &[Role::Tailplane, Role::VTail, Role::Foreplane]),
        Layout::TwinBoom => (&[Role::Tailplane, Role::Fin], &[Role::Foreplane]),
        Layout::Canard => (&[Role::Foreplane], &[]),
    };
    for role in needed.iter().filter(|r| !has(**r)) {
        notes.fault(
            place,
            format!("layout \"{}\" has a {}, but no surface has that role", layout.word(), word(*role)),
            format!("add [[surface]] with role = \"{}\", or choose the layout that fits", word(*role)),
        );
    }
    for role in unwanted {
        for surface in whole.surfaces.iter().filter(|s| s.role == Some(*role)) {
            notes.fault(
                &surface.place,
                format!("layout \"{}\" has no {}", layout.word(), word(*role)),
                "choose the layout that fits the surfaces, or the role that fits this one",
            );
        }
    }
    let built = || whole.surfaces.iter().filter_map(|s| Some((s.surface.as_ref()?, &s.place)));
    match layout {
        Layout::VTail | Layout::InvertedV => {
            for (surface, place) in built().filter(|(s, _)| s.role == Role::VTail) {
                let rises = rise(surface) > 0.0;
                if rises != (*layout == Layout::VTail) {
                    let way = if rises { "upwards" } else { "downwards" };
                    notes.fault(
                        place,
                        format!("the panels of \"{}\" go {way}", surface.name),
                        "v-tail: dihedral positive, tips above the root; inverted-v: negative, tips below",
                    );
                }
            }
        }
        Layout::TTail => {
            let top = built()
                .filter(|(s, _)| s.role == Role::Fin)
                .map(|(s, _)| highest(s))
                .fold(f64::NAN, f64::max);
            let foot =
                built().filter(|(s, _)| s.role == Role::Fin).map(|(s, _)| -rise(s)).fold(f64::NAN, f64::max);
            for (surface, place) in built().filter(|(s, _)| s.role == Role::Tailplane) {
                let root = surface.stations.first().map_or(0.0, |s| s.leading_edge_m.z);
                // In the upper half of the fin; foot is minus its height, so top + foot is its root.
                if root < top + 0.5 * foot {
                    notes.fault(
                        place,
                        format!("the tailplane \"{}\" does not stand on top of the fin", surface.name),
                        "check root_z_mm of tailplane and fin, or write layout = \"conventional\"",
                    );
                }
            }
        }
        Layout::TwinBoom => {
            let fins: usize = built()
                .filter(|(s, _)| s.role == Role::Fin)
                .map(|(s, _)| if s.mirrored { 2 } else { 1 })
                .sum();
            if built().any(|(s, _)| s.role == Role::Fin) && fins < 2 {
                notes.fault(
                    place,
                    "layout \"twin-boom\" has a fin on each boom, but there is only one",
                    "write mirrored = true and root_y_mm in the fin",
                );
            }
        }
        Layout::Conventional | Layout::FlyingWing | Layout::Canard => {}
    }
}

fn check_mass(notes: &Notes<'_>, whole: &Whole<'_>) {
    let total = whole.weighed.is_some_and(|w| w.says_total);
    let start = 0..0;
    if whole.masses.is_empty() && !total {
        notes.fault(
            &start,
            "nothing says what the aircraft weighs",
            "put it on a scale ready to fly: [weighed] total_g, and on a stand: balance_x_mm; or list its items as \
             [[mass]]",
        );
    } else if whole.masses.is_empty() && whole.weighed.is_some_and(|w| !w.says_balance) {
        notes.fault(
            &start,
            "nothing says where the aircraft balances",
            "measure the balance point from the datum: [weighed] balance_x_mm; or list the items as [[mass]]",
        );
    }
    let all_read = whole.masses.iter().all(|m| m.item.is_some());
    let sum: f64 = whole.masses.iter().filter_map(|m| m.item.as_ref()).map(|i| i.mass_kg.value).sum();
    if let Some(first) = whole.masses.first()
        && all_read
        && sum <= 0.0
    {
        notes.fault(&first.place, "all items together weigh nothing", "weigh the items: mass_g");
    }
}

/// Two movables on the same stretch of one surface cannot both be there.
fn check_overlap(notes: &Notes<'_>, movables: &[movables::Read]) {
    for (index, read) in movables.iter().enumerate() {
        let Some(own) = &read.movable else { continue };
        for other in movables.iter().take(index).filter_map(|r| r.movable.as_ref()) {
            let overlap = own.outer_m.min(other.outer_m) - own.inner_m.max(other.inner_m);
            if own.surface == other.surface && overlap > 0.001 {
                notes.fault(
                    &read.place,
                    format!(
                        "movables \"{}\" and \"{}\" share {:.0} mm of their surface",
                        other.name,
                        own.name,
                        overlap * 1000.0
                    ),
                    "measure both ends of each from the root; one movable that does two things is one table with two \
                     shares (roll and flap)",
                );
            }
        }
    }
}

/// How far the tip stands above the root, m.
fn rise(surface: &Surface) -> f64 {
    let z = |s: Option<&crate::surface::Station>| s.map_or(0.0, |s| s.leading_edge_m.z);
    z(surface.stations.last()) - z(surface.stations.first())
}

fn highest(surface: &Surface) -> f64 {
    surface.stations.iter().map(|s| s.leading_edge_m.z).fold(f64::NEG_INFINITY, f64::max)
}

fn word(role: Role) -> &'static str {
    match role {
        Role::Wing => "wing",
        Role::Tailplane => "tailplane",
        Role::Fin => "fin",
        Role::VTail => "v-tail",
        Role::Foreplane => "foreplane",
    }
}
