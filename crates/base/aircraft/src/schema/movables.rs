//! Movable surfaces: `[[movable]]` with `[movable.servo]`, `[movable.servo_left]` and `[movable.linkage]`.

use std::f64::consts::FRAC_PI_3;
use std::ops::Range;

use super::fault::{nearest, one_of};
use super::sheet::{Ask, Sheet, ask, short};
use super::surfaces;
use super::units::Quantity::{Angle, Length, Pulse, Share, Slew, Torque};
use crate::control::deflection_from_trailing_edge_m;
use crate::movable::{Linkage, Mix, Movable, Panels, Servo};
use crate::surface::{Role, Surface};

/// Pulse at neutral where the file does not say, µs (common practice, no source).
pub const USUAL_CENTRE_US: f64 = 1500.0;
/// Change of pulse to full travel where the file does not say, µs (common practice, no source).
pub const USUAL_TRAVEL_US: f64 = 500.0;
/// Turning of the servo arm over that travel where the file does not say, rad (common practice, no source).
pub const USUAL_TRAVEL_RAD: f64 = 45.0 * numerics::units::RAD_PER_DEG;
/// Slew rate of a servo where the file does not say, rad/s: 0.15 s for 60 degrees (common practice, no source).
pub const USUAL_SPEED_RAD_S: f64 = FRAC_PI_3 / 0.15;

/// A movable may end this far beyond its surface, m: rounding of what was measured in millimetres.
const EDGE_SLACK_M: f64 = 0.0005;

/// A movable as far as it could be read.
pub(super) struct Read {
    pub(super) name: String,
    pub(super) place: Range<usize>,
    pub(super) movable: Option<Movable>,
}

pub(super) fn read(sheets: Vec<Sheet<'_>>, surfaces: &[surfaces::Read]) -> Vec<Read> {
    sheets.into_iter().map(|sheet| read_one(sheet, surfaces)).collect()
}

fn read_one(sheet: Sheet<'_>, surfaces: &[surfaces::Read]) -> Read {
    let name =
        sheet.needed_text("name", "give each movable a name of its own, for example name = \"aileron\"");
    let (name, name_place) = name.map_or_else(|| (String::new(), sheet.place.clone()), |n| (n.text, n.place));
    *sheet.title.borrow_mut() = format!("movable \"{name}\"");
    let index = read_surface(&sheet, surfaces);
    let on = index.and_then(|i| surfaces.get(i));
    let surface = on.and_then(|r| r.surface.as_ref());
    let mix = read_mix(&sheet);
    let servo = read_servo(sheet.table("servo", "[movable.servo]"), &name);
    let left_sheet = sheet.table("servo_left", "[movable.servo_left]");
    let left_place = left_sheet.as_ref().map(|s| s.place.clone());
    let left = left_sheet.map(|s| read_servo(Some(s), &format!("{name} left")));
    let words = [(Panels::One, "one"), (Panels::Pair, "pair")];
    let mirrored = surface.is_none_or(|s| s.mirrored);
    let usual = if mirrored && (left.is_some() || mix.roll != 0.0) { Panels::Pair } else { Panels::One };
    let panels = sheet.word("panels", &words, Some(usual), "").unwrap_or(usual);
    if panels == Panels::Pair && !mirrored {
        sheet.fault(
            format!("movable \"{name}\" is a pair on a surface that is not mirrored"),
            "write panels = \"one\", or mirrored = true in the surface",
        );
    }
    if panels == Panels::One && mirrored && mix.roll != 0.0 && surface.is_some() {
        sheet.fault(
            format!("movable \"{name}\" shall roll but both its sides move as one"),
            "write panels = \"pair\" (a servo on each side), or roll = 0",
        );
    }
    if panels == Panels::One
        && let Some(place) = left_place
    {
        sheet.notes.fault(
            &place,
            format!("movable \"{name}\" has a left servo but one panel"),
            "write panels = \"pair\", or take [movable.servo_left] away",
        );
    }
    let extent = read_extent(&sheet, surface);
    let hinge = read_hinge(&sheet, surface, extent);
    let throws = read_throws(&sheet, on.and_then(|r| r.role), surface, extent, hinge);
    let linkage = read_linkage(sheet.table("linkage", "[movable.linkage]"), &servo);
    sheet.finish();
    let movable = match (index, extent, hinge, throws) {
        (Some(surface), Some((inner_m, outer_m)), Some((hinge_inner, hinge_outer)), Some((up, down))) => {
            let servo_left = (panels == Panels::Pair).then(|| {
                left.unwrap_or_else(|| Servo { channel: format!("{} left", servo.channel), ..servo.clone() })
            });
            Some(Movable {
                name: name.clone(),
                surface,
                panels,
                inner_m,
                outer_m,
                hinge_inner,
                hinge_outer,
                throw_up_rad: up,
                throw_down_rad: down,
                mix,
                servo,
                servo_left,
                linkage,
            })
        }
        _ => None,
    };
    Read { name, place: name_place, movable }
}

fn read_surface(sheet: &Sheet<'_>, surfaces: &[surfaces::Read]) -> Option<usize> {
    let wanted =
        sheet.needed_text("surface", "name the surface that the movable is part of: surface = \"wing\"")?;
    let found = surfaces.iter().position(|s| s.name == wanted.text);
    if found.is_none() {
        let names = || surfaces.iter().map(|s| s.name.as_str()).filter(|n| !n.is_empty());
        let remedy = match nearest(&wanted.text, names()) {
            Some(near) => format!("did you mean \"{near}\"? surfaces of this file: {}", one_of(names())),
            None => format!("surfaces of this file: {}", one_of(names())),
        };
        sheet.notes.fault(&wanted.place, format!("there is no surface \"{}\"", wanted.text), remedy);
    }
    found
}

fn read_mix(sheet: &Sheet<'_>) -> Mix {
    let share = |name| sheet.or(ask(name, Share, -1.0, 1.0), 0.0);
    let mix = Mix { roll: share("roll"), pitch: share("pitch"), yaw: share("yaw"), flap: share("flap") };
    let written = ["roll", "pitch", "yaw", "flap"].iter().any(|n| sheet.has(n, Share));
    if !written {
        sheet.fault(
            format!("{} answers no demand", sheet.title.borrow()),
            "say what moves it: roll = 1, pitch = 1, yaw = 1 or flap = 1 (shares of its throw, -1 to 1)",
        );
    }
    mix
}

/// Where it begins and ends along the surface, m.
fn read_extent(sheet: &Sheet<'_>, surface: Option<&Surface>) -> Option<(f64, f64)> {
    let inner = read_along(sheet, "inner", surface);
    let outer = read_along(sheet, "outer", surface);
    let (inner, outer) = (inner?, outer?);
    if outer <= inner {
        sheet.fault(
            format!(
                "{} ends at {} mm, not beyond its inner end at {} mm",
                sheet.title.borrow(),
                short(outer * 1000.0),
                short(inner * 1000.0)
            ),
            "inner is the end nearer the root, outer the one nearer the tip",
        );
        return None;
    }
    let Some(surface) = surface else {
        return Some((inner, outer));
    };
    let first = surface.stations.first().map_or(0.0, |s| s.along_m);
    let last = surface.stations.last().map_or(0.0, |s| s.along_m);
    if inner < first - EDGE_SLACK_M || outer > last + EDGE_SLACK_M {
        sheet.fault(
            format!(
                "{} reaches from {} to {} mm, outside its surface, which reaches from {} to {} mm",
                sheet.title.borrow(),
                short(inner * 1000.0),
                short(outer * 1000.0),
                short(first * 1000.0),
                short(last * 1000.0)
            ),
            "measure both ends along the surface from its root",
        );
        return None;
    }
    Some((inner.max(first), outer.min(last)))
}

fn read_along(sheet: &Sheet<'_>, name: &'static str, surface: Option<&Surface>) -> Option<f64> {
    let length = sheet.number(ask(name, Length, 0.0, 10.0));
    let share = sheet.number(ask(name, Share, 0.0, 1.0));
    match (sheet.has(name, Length), sheet.has(name, Share)) {
        (true, true) => {
            sheet.fault(
                format!("{name} is given both as a length and as a share"),
                format!("keep {name}_mm or {name}_percent"),
            );
            None
        }
        (true, false) => length.map(|n| n.si),
        (false, true) => {
            let first = surface.and_then(|s| s.stations.first()).map_or(0.0, |s| s.along_m);
            share.and_then(|n| Some(first + n.si * surface?.length_m()))
        }
        (false, false) => {
            sheet.missing(
                &format!("{name}_mm"),
                format!(
                    "measure along the surface from its root: {name}_mm, or {name}_percent of its length"
                ),
            );
            None
        }
    }
}

/// Hinge line at both ends, fraction of the chord from the leading edge.
fn read_hinge(
    sheet: &Sheet<'_>,
    surface: Option<&Surface>,
    extent: Option<(f64, f64)>,
) -> Option<(f64, f64)> {
    // An all-moving surface hinges at its leading edge as far as the flow is concerned: 0 is allowed, 1 is not.
    let share = |name| ask(name, Share, 0.0, 0.99);
    let both = sheet.number(share("hinge"));
    let inner = sheet.number(share("hinge_inner"));
    let outer = sheet.number(share("hinge_outer"));
    let chord = |name| ask(name, Length, 0.001, 3.0);
    let chord_both = sheet.number(chord("chord"));
    let chord_inner = sheet.number(chord("chord_inner"));
    let chord_outer = sheet.number(chord("chord_outer"));
    let written_share = ["hinge", "hinge_inner", "hinge_outer"].iter().any(|n| sheet.has(n, Share));
    let written_chord = ["chord", "chord_inner", "chord_outer"].iter().any(|n| sheet.has(n, Length));
    if written_share && written_chord {
        sheet.fault(
            "the hinge line is given both as a share of the chord and by the movable's own chord",
            "keep hinge_percent, or keep chord_mm",
        );
        return None;
    }
    if written_chord {
        let (Some(inner), Some(outer)) =
            (chord_inner.or_else(|| chord_both.clone()), chord_outer.or(chord_both))
        else {
            sheet.missing("chord_inner_mm or chord_outer_mm", "give the movable's chord at both ends");
            return None;
        };
        let (surface, (from, to)) = (surface?, extent?);
        let hinge = |own: f64, along: f64| 1.0 - own / surface.chord_at(along);
        let (hinge_inner, hinge_outer) = (hinge(inner.si, from), hinge(outer.si, to));
        for (hinge, number) in [(hinge_inner, &inner), (hinge_outer, &outer)] {
            if !(0.0..1.0).contains(&hinge) {
                sheet.notes.fault(
                    &number.place,
                    format!(
                        "the movable's chord of {} mm is more than its surface has there",
                        short(number.si * 1000.0)
                    ),
                    "measure from the hinge line to the trailing edge",
                );
                return None;
            }
        }
        return Some((hinge_inner, hinge_outer));
    }
    let both = both.map(|n| n.si);
    let pair = (inner.map(|n| n.si).or(both), outer.map(|n| n.si).or(both));
    if !written_share || (pair.0.is_none() != pair.1.is_none() && !sheet.has("hinge", Share)) {
        sheet.missing(
            "hinge_percent",
            "measure the chord of the movable and of the whole surface: hinge_percent is where the hinge lies from \
             the leading edge (a movable of a quarter chord: 75), or write chord_mm of the movable itself",
        );
    }
    Some((pair.0?, pair.1?))
}

/// Throws up and down, rad.
fn read_throws(
    sheet: &Sheet<'_>,
    role: Option<Role>,
    surface: Option<&Surface>,
    extent: Option<(f64, f64)>,
    hinge: Option<(f64, f64)>,
) -> Option<(f64, f64)> {
    let at = sheet.number(ask("throw_at", Length, 0.002, 3.0));
    // Without a stated place the ruler is taken to be held at the inner end, along the movable's own chord there.
    let own_chord = match (surface, extent, hinge) {
        (Some(surface), Some((inner, _)), Some((hinge, _))) => Some(surface.chord_at(inner) * (1.0 - hinge)),
        _ => None,
    };
    let chord = at.map(|n| n.si).or(own_chord);
    let both = read_throw(sheet, "throw", chord);
    let is_fin = role == Some(Role::Fin);
    let (mut up, mut down) = (read_throw(sheet, "throw_up", chord), read_throw(sheet, "throw_down", chord));
    if is_fin {
        // The normal of an upright fin points left, so left is what "up" is elsewhere.
        let (left, right) = (read_throw(sheet, "throw_left", chord), read_throw(sheet, "throw_right", chord));
        for (own, side, words) in
            [(up, left, "throw_up and as throw_left"), (down, right, "throw_down and as throw_right")]
        {
            if own != Throw::NotWritten && side != Throw::NotWritten {
                sheet.fault(
                    format!("a throw of {} is given as {words}", sheet.title.borrow()),
                    "keep throw_left and throw_right: of a fin, left is what up is elsewhere",
                );
            }
        }
        up = up.or(left);
        down = down.or(right);
    }
    let up = up.or(both);
    let down = down.or(both);
    let (up_key, down_key) =
        if is_fin { ("throw_left_deg", "throw_right_deg") } else { ("throw_up_deg", "throw_down_deg") };
    for (throw, key) in [(up, up_key), (down, down_key)] {
        if throw == Throw::NotWritten {
            sheet.missing(
                key,
                format!(
                    "move the stick fully and measure how far the trailing edge goes: {key}, or the same in mm along \
                     the chord of the arc; keep the propeller off"
                ),
            );
        }
    }
    match (up, down) {
        (Throw::Read(up), Throw::Read(down)) => Some((up, down)),
        _ => None,
    }
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Throw {
    NotWritten,
    Faulty,
    Read(f64),
}

impl Throw {
    fn or(self, other: Self) -> Self {
        if self == Self::NotWritten { other } else { self }
    }
}

fn read_throw(sheet: &Sheet<'_>, name: &'static str, chord_m: Option<f64>) -> Throw {
    let angle_ask: Ask = ask(name, Angle, 0.0, FRAC_PI_3 + 1e-9);
    let angle = sheet.number(angle_ask);
    let moved = sheet.number(ask(name, Length, 0.0, 0.5));
    match (sheet.has(name, Angle), sheet.has(name, Length)) {
        (true, true) => {
            sheet.fault(
                format!("{name} is given both as an angle and as a movement"),
                format!("keep {name}_deg or {name}_mm"),
            );
            Throw::Faulty
        }
        (true, false) => angle.map_or(Throw::Faulty, |n| Throw::Read(n.si)),
        (false, true) => {
            let (Some(moved), Some(chord)) = (moved, chord_m) else {
                return Throw::Faulty;
            };
            match deflection_from_trailing_edge_m(moved.si, chord) {
                Some(angle) if angle <= FRAC_PI_3 => Throw::Read(angle),
                _ => {
                    sheet.notes.fault(
                        &moved.place,
                        format!(
                            "{} mm at a chord of {:.1} mm is more than 60 degrees",
                            short(moved.si * 1000.0),
                            chord * 1000.0
                        ),
                        "were degrees meant? Else measure the movement again, or say with throw_at_mm how far from the hinge it was measured",
                    );
                    Throw::Faulty
                }
            }
        }
        (false, false) => Throw::NotWritten,
    }
}

fn read_servo(sheet: Option<Sheet<'_>>, name: &str) -> Servo {
    let mut servo = Servo {
        channel: name.to_owned(),
        centre_us: USUAL_CENTRE_US,
        centre_sd_us: 0.0,
        travel_us: USUAL_TRAVEL_US,
        reversed: false,
        travel_rad: USUAL_TRAVEL_RAD,
        speed_rad_s: USUAL_SPEED_RAD_S,
        torque_nm: None,
    };
    let Some(sheet) = sheet else {
        return servo;
    };
    *sheet.title.borrow_mut() = format!("servo of \"{name}\"");
    if let Some(channel) = sheet.text("channel") {
        servo.channel = channel.text;
    }
    let centre = ask("centre", Pulse, 800.0, 2200.0);
    if let Some(known) = sheet.known(centre, |_| 0.0, crate::Origin::Stated) {
        servo.centre_us = known.value;
        servo.centre_sd_us = known.sd;
    }
    // "travel" is both a change of pulse and an angle: two quantities of one name, told apart by their units.
    servo.travel_us = sheet.or(ask("travel", Pulse, 50.0, 1000.0), servo.travel_us);
    servo.travel_rad = sheet.or(ask("travel", Angle, 0.05, 1.6), servo.travel_rad);
    servo.reversed = sheet.flag("reversed", false);
    servo.speed_rad_s = sheet.or(ask("speed", Slew, 0.5, 60.0), servo.speed_rad_s);
    servo.torque_nm = sheet.number(ask("torque", Torque, 0.005, 20.0)).map(|n| n.si);
    sheet.finish();
    servo
}

fn read_linkage(sheet: Option<Sheet<'_>>, servo: &Servo) -> Linkage {
    let Some(sheet) = sheet else {
        return Linkage::default();
    };
    let linkage = Linkage {
        arm_m: sheet.or(ask("arm", Length, 0.0, 0.1), 0.0),
        horn_m: sheet.or(ask("horn", Length, 0.0, 0.1), 0.0),
        base_m: sheet.or(ask("base", Length, 0.0, 3.0), 0.0),
        thread_pitch_m: sheet.or(ask("thread_pitch", Length, 0.0, 0.003), 0.0),
    };
    let reaches = |share: f64| linkage.surface_from_servo(share * servo.travel_rad).is_some();
    if linkage.is_measured() && !(reaches(1.0) && reaches(-1.0)) {
        sheet.fault(
            format!(
                "an arm of {} mm cannot drive a horn of {} mm through {} degrees: the linkage locks",
                short(linkage.arm_m * 1000.0),
                short(linkage.horn_m * 1000.0),
                short(servo.travel_rad.to_degrees())
            ),
            "measure arm and horn from pivot to clevis hole, base from servo pivot to hinge line, and travel_deg of the \
             servo arm",
        );
    }
    sheet.finish();
    linkage
}
