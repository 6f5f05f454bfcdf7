//! What is asked of surfaces, their stations, what moves on them, servos and linkages.

use aircraft::schema::units::Quantity::{Pulse, Slew, Torque};

use super::{Entry, deg, measure, mm, one_of, percent, share, words, yes_no};

/// `[[surface]]`.
pub(super) const SURFACE: &[Entry] = &[
    words("name", "Name", "What you call it; each surface its own."),
    one_of(
        "role",
        &["wing", "tailplane", "fin", "v-tail", "foreplane"],
        "What it is for",
        "The first wing of the list is the main wing: span, area and chord are its.",
    ),
    yes_no("mirrored", "The same on the left side", "Describe the right side; the left is its mirror image."),
    deg(
        "dihedral",
        "Dihedral",
        "Angle of a panel against the level, tip up positive: an angle gauge on the panel, or the height of the tip over the \
         root divided by the length. Of a fin 90.",
    ),
    mm(
        "root_y",
        "Root, to the right of the middle",
        "Where the root stands off the middle line; 0 for a wing that goes through.",
    )
    .more(),
    mm(
        "root_z",
        "Root, above the datum",
        "Height of the root's leading edge above the datum; below is negative.",
    ),
    mm("root_x", "Root's leading edge, aft of the datum", "Only where no station says it.").more(),
];

/// `[[surface.station]]`.
pub(super) const STATION: &[Entry] = &[
    mm(
        "along",
        "Along the surface",
        "From the root outwards with the ruler on the surface itself, not its shadow on the bench. The root is 0.",
    )
    .unless(&["y", "z"]),
    mm("y", "To the right of the middle", "From the middle line to this rib, level.").written(),
    mm("z", "Above the datum", "Height of the leading edge above the datum.").written(),
    mm("x", "Leading edge, aft of the datum", "From the datum aft to the leading edge, level with the fuselage.")
        .unless(&["sweep"]),
    mm("sweep", "Leading edge, aft of the root's", "How far it lies behind the root's leading edge.").written(),
    mm("chord", "Chord", "From leading to trailing edge, level with the rib."),
    deg(
        "twist",
        "Twist",
        "Of the chord against the line of the fuselage, leading edge up positive: an angle gauge on the rib, the fuselage \
         level. Wash-out at the tip is negative.",
    ),
    words(
        "section",
        "Section",
        "NACA digits such as \u{201c}naca 2412\u{201d}, or the name of a coordinate file that you give on the page of the file. \
         A flat plate is about \u{201c}naca 0003\u{201d}. Empty: that of the station before.",
    ),
    deg("dihedral", "Dihedral of the panel inboard of it", "Where it differs from that of the surface.").more(),
];

/// `[[movable]]`.
pub(super) const MOVABLE: &[Entry] = &[
    words("name", "Name", "Aileron, elevator, rudder, flap, or what you call it."),
    words("surface", "On the surface", "Name of the surface that it is part of."),
    one_of(
        "panels",
        &["pair", "one"],
        "Servos",
        "pair: a servo on each side. one: a single piece, or both sides on one servo.",
    ),
    mm("inner", "Begins at", "From the root along the surface: where the movable part begins.").written(),
    percent("inner", "Begins at", "Of the surface's length, from its root: where the movable part begins.")
        .unless(&["inner"]),
    mm("outer", "Ends at", "From the root along the surface: where it ends.").written(),
    percent("outer", "Ends at", "Of the surface's length, from its root: where it ends.").unless(&["outer"]),
    percent(
        "hinge",
        "Hinge line at",
        "Of the chord from the leading edge. A movable part of a quarter chord hinges at 75.",
    )
    .unless(&["hinge_inner", "hinge_outer", "chord", "chord_inner", "chord_outer"]),
    percent("hinge_inner", "Hinge line at the inner end", "Of the chord from the leading edge.").written(),
    percent("hinge_outer", "Hinge line at the outer end", "Of the chord from the leading edge.").written(),
    mm("chord", "Its own chord", "From the hinge line to the trailing edge.").written(),
    mm("chord_inner", "Its own chord at the inner end", "From the hinge line to the trailing edge.")
        .written(),
    mm("chord_outer", "Its own chord at the outer end", "From the hinge line to the trailing edge.")
        .written(),
    mm(
        "throw_up",
        "Throw up",
        "Stick fully over: how far the trailing edge goes, ruler straight from where it was.",
    )
    .written(),
    mm("throw_down", "Throw down", "As up, the other way.").written(),
    deg(
        "throw_up",
        "Throw up",
        "Stick fully over, angle gauge on the surface. Propeller off before the pack is connected.",
    )
    .unless(&["throw", "throw_left", "throw_right", "throw_up"]),
    deg("throw_down", "Throw down", "As up, the other way.").unless(&[
        "throw",
        "throw_left",
        "throw_right",
        "throw_down",
    ]),
    deg("throw_left", "Throw left", "Stick fully over, angle gauge on the rudder; propeller off.").written(),
    mm("throw_left", "Throw left", "How far the trailing edge goes to the left; propeller off.").written(),
    deg("throw_right", "Throw right", "As left, the other way.").written(),
    mm("throw_right", "Throw right", "As left, the other way.").written(),
    deg("throw", "Throw, each way", "The same both ways; propeller off.").written(),
    mm("throw", "Throw, each way", "The same both ways, at the trailing edge; propeller off.").written(),
    mm(
        "throw_at",
        "Measured this far behind the hinge",
        "Only where the ruler was not held at the inner end.",
    )
    .more(),
    share(
        "roll",
        "Share for roll",
        "How much of its throw answers the roll stick: 1 all of it, 0 none, negative against.",
    ),
    share("pitch", "Share for pitch", "How much of its throw answers the pitch stick."),
    share("yaw", "Share for yaw", "How much of its throw answers the yaw stick."),
    share("flap", "Share for flaps", "How much of its throw answers the flap switch."),
];

/// `[movable.servo]` and `[movable.servo_left]`.
pub(super) const SERVO: &[Entry] = &[
    words("channel", "Channel", "As your recordings call it."),
    measure(
        "centre",
        Pulse,
        "us",
        "Pulse at neutral",
        "What the transmitter or controller sends with the surface in line.",
    ),
    measure("travel", Pulse, "us", "Change of pulse at full throw", "From neutral to full throw."),
    deg("travel", "Turning of the arm over that", "Of the servo's arm, not of the surface.").more(),
    yes_no(
        "reversed",
        "Reversed",
        "No: a longer pulse moves the trailing edge down (of a rudder: right). See which way it goes, propeller off.",
    ),
    measure("speed", Slew, "s_per_60deg", "Speed", "From the servo's data sheet.").more(),
    measure("torque", Torque, "kg_cm", "Torque", "From the data sheet, at the voltage that you feed it.")
        .more(),
    measure("centre_sd", Pulse, "us", "Doubt of the pulse at neutral", "Known after flights; leave it.")
        .more(),
];

/// `[movable.linkage]`.
pub(super) const LINKAGE: &[Entry] = &[
    mm("arm", "Servo arm", "From the servo's pivot to the hole of the clevis."),
    mm("horn", "Horn", "From the hinge line to the hole of the clevis."),
    mm("base", "Base", "From the servo's pivot to the hinge line."),
    mm("thread_pitch", "Thread", "How far the clevis goes in one turn: M2 has 0.4."),
];
