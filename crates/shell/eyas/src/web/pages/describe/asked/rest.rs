//! What is asked of masses, drive, bodies, controller, start and limits.

use aircraft::schema::units::Quantity::{
    Area, Charge, Current, Force, Frequency, GainTime, GainTimeSquared, Inertia, Length, PerTime, Plain,
    Resistance, Rotation, Speed, SpeedPerVolt, Time, TurningRate, Voltage,
};

use super::{Entry, deg, grams, measure, mm, one_of, percent, whole, words, yes_no};

const ORIGINS: &[&str] = &["measured", "stated", "predicted", "flown"];
const HOW_KNOWN: &str = "measured by you, stated by somebody or wished, predicted, or flown.";

/// The top of the file.
pub(super) const WHOLE: &[Entry] = &[
    one_of(
        "layout",
        &["conventional", "t-tail", "v-tail", "inverted-v", "flying-wing", "twin-boom", "canard"],
        "How its surfaces are arranged",
        "What the reader of the file checks the surfaces against.",
    ),
    words(
        "datum",
        "Datum: what you measure from",
        "One point for all places, in your words: the tip of the nose without the spinner, or the wing's leading edge at the \
         root. What lies ahead of it or below it is negative.",
    ),
];

/// `[care]`.
pub(super) const CARE: &[Entry] = &[
    one_of(
        "lengths",
        &["ruler", "plan", "guessed"],
        "Lengths are from",
        "A ruler on the model is better than the plan: built is not drawn.",
    ),
    one_of(
        "throws",
        &["ruler", "gauge", "guessed"],
        "Throws are from",
        "A ruler at the trailing edge, or an angle gauge.",
    ),
    one_of("weights", &["scale", "guessed"], "Weights are from", "A kitchen scale is good enough."),
    mm("length_sd", "Doubt of a length", "One standard deviation, where you know better than the tool says.")
        .more(),
    deg("throw_sd", "Doubt of a throw", "One standard deviation, where you know better than the tool says.")
        .more(),
    measure(
        "cl_max_sd",
        Plain,
        "",
        "Doubt of the greatest lift coefficient",
        "Instead of the prediction's own.",
    )
    .more(),
    percent("drag_sd", "Doubt of the drag", "Instead of the prediction's own.").more(),
    percent("thrust_sd", "Doubt of the thrust", "Instead of the prediction's own.").more(),
];

/// `[[mass]]`.
pub(super) const MASS: &[Entry] = &[
    words("name", "Name", "Each item its own."),
    grams("mass", "Mass", "Put it on the scale; of a pair, both together."),
    mm("x", "Middle, aft of the datum", "To where it would balance by itself."),
    mm("y", "To the right", "0 on the middle line; of a pair, the right one."),
    mm("z", "Above the datum", "Below is negative."),
    mm("size_x", "Long", "Fore and aft; of a pair, one of them."),
    mm("size_y", "Wide", "Across."),
    mm("size_z", "High", "Up and down."),
    one_of(
        "shape",
        &["box", "cylinder", "rod", "point"],
        "Shape",
        "A cylinder lies fore and aft; a rod along its longest side; a point has no size.",
    ),
    yes_no(
        "mirrored",
        "A pair, one on each side",
        "Then the mass is of both, place and size of the right one.",
    ),
    mm(
        "moves_from_x",
        "Can be moved from",
        "Foremost place of its middle: the pack in its tray. Both ends or none.",
    )
    .more(),
    mm("moves_to_x", "Can be moved to", "Rearmost place of its middle.").more(),
    grams("mass_sd", "Doubt of the mass", "One standard deviation.").more(),
    one_of("mass_from", ORIGINS, "How the mass is known", HOW_KNOWN).more(),
];

/// `[weighed]`.
pub(super) const WEIGHED: &[Entry] = &[
    grams(
        "total",
        "Weight, ready to fly",
        "The whole model with its pack on the scale. It beats the sum of the items.",
    ),
    grams(
        "total_sd",
        "Doubt of the weight",
        "One standard deviation: what the scale shows when you weigh again.",
    )
    .more(),
    one_of("total_from", ORIGINS, "How the weight is known", HOW_KNOWN).more(),
    mm(
        "balance_x",
        "Balance point, aft of the datum",
        "Ready to fly, propeller off: support the wing under both roots until the model rests level, and measure from the datum \
         to the supports.",
    ),
    mm(
        "balance_x_sd",
        "Doubt of the balance point",
        "One standard deviation: what you find when you balance again.",
    )
    .more(),
    one_of("balance_x_from", ORIGINS, "How the balance point is known", HOW_KNOWN).more(),
    mm(
        "balance_z",
        "Balance point, above the datum",
        "Hang it by the nose: the line of the string crosses that of the balance point.",
    )
    .more(),
    measure(
        "inertia_roll",
        Inertia,
        "kg_m2",
        "Moment of inertia, roll",
        "About the fore-and-aft axis; or by a swing below.",
    )
    .more(),
    measure("inertia_pitch", Inertia, "kg_m2", "Moment of inertia, pitch", "About the axis along the wing.")
        .more(),
    measure("inertia_yaw", Inertia, "kg_m2", "Moment of inertia, yaw", "About the upright axis.").more(),
];

/// `[weighed.scales]`.
pub(super) const SCALES: &[Entry] = &[
    grams("front", "Front scale shows", "The model level on two supports, a scale under each."),
    mm("front_x", "Front support, aft of the datum", "To where it touches."),
    grams("rear", "Rear scale shows", "Read both at the same time."),
    mm("rear_x", "Rear support, aft of the datum", "To where it touches."),
];

/// `[weighed.swing_…]`.
pub(super) const SWING: &[Entry] = &[
    mm("spacing", "Between the two strings", "They hang parallel and carry the model level."),
    mm("length", "Length of the strings", "From the hooks to the model."),
    measure(
        "period",
        Time,
        "s",
        "One swing",
        "Let it turn a little to and fro, time twenty swings, divide by twenty.",
    ),
    measure("cradle", Inertia, "kg_m2", "Of the cradle alone", "Where the model lies in one.").more(),
    grams("cradle_mass", "Mass of the cradle", "Where the model lies in one.").more(),
];

/// `[drive]`.
pub(super) const DRIVE: &[Entry] = &[
    yes_no("pusher", "Propeller behind", "Whether it pushes."),
    measure(
        "speed_controller",
        Resistance,
        "mohm",
        "Resistance of the speed controller",
        "From its data sheet; a few thousandths of an ohm.",
    ),
    measure("speed_controller_limit", Current, "a", "Most that the speed controller bears", "Printed on it."),
    deg(
        "thrust_down",
        "Thrust line, tilted down",
        "Angle gauge on the motor's shaft against the fuselage. Propeller off.",
    )
    .more(),
    deg("thrust_right", "Thrust line, turned to the right", "Seen from above.").more(),
    measure(
        "spool_up",
        Time,
        "s",
        "Time to two thirds of the pull",
        "After the throttle is opened; 0.2 s is usual.",
    )
    .more(),
];

/// `[drive.propeller]`.
pub(super) const PROPELLER: &[Entry] = &[
    measure("diameter", Length, "in", "Diameter", "Printed on it: the first number."),
    measure("pitch", Length, "in", "Pitch", "Printed on it: the second number."),
    whole("blades", "Blades", "Two, most often."),
    one_of(
        "class",
        &["sport", "efficient", "light", "broad", "wood", "slow-fly"],
        "Kind of blade",
        "What its outline is like where nobody measured it.",
    )
    .more(),
    mm("blade_chord", "Chord of a blade", "At three quarters of the radius.").more(),
];

/// `[drive.motor]`.
pub(super) const MOTOR: &[Entry] = &[
    measure("kv", SpeedPerVolt, "rpm_v", "Speed per volt", "On the motor or its data sheet."),
    measure("resistance", Resistance, "mohm", "Resistance", "From its data sheet."),
    measure("no_load", Current, "a", "Current without load", "From its data sheet."),
    measure("limit", Current, "a", "Most that it bears", "From its data sheet."),
];

/// `[drive.pack]`.
pub(super) const PACK: &[Entry] = &[
    whole(
        "cells",
        "Cells in series",
        "Printed on it: 3S is 3. Charge it watched, on something that does not burn.",
    ),
    measure("capacity", Charge, "mah", "Capacity", "Printed on it."),
    measure(
        "resistance",
        Resistance,
        "mohm",
        "Resistance of the whole pack",
        "Drop of voltage over current; many chargers show it per cell.",
    ),
    measure("limit", Current, "a", "Most that it bears", "Capacity times the number printed before C."),
    measure("resistance_sd", Resistance, "mohm", "Doubt of the resistance", "One standard deviation.").more(),
    one_of("resistance_from", ORIGINS, "How the resistance is known", HOW_KNOWN).more(),
];

/// `[[drive.hub]]`.
pub(super) const HUB: &[Entry] = &[
    mm("x", "Aft of the datum", "Ahead of it is negative."),
    mm("y", "To the right", "0 on the middle line."),
    mm("z", "Above the datum", "Below is negative."),
];

/// `[[drive.bench]]`.
pub(super) const BENCH: &[Entry] = &[
    percent("throttle", "Throttle", "Setting of this line."),
    measure("voltage", Voltage, "v", "Voltage of the pack", "Under load."),
    measure("current", Current, "a", "Current of the pack", "Under load."),
    measure("speed", Rotation, "rpm", "Speed of the propeller", "With a tachometer."),
    measure("pull", Force, "gf", "Pull", "The model tied to a scale."),
];

/// `[[fuselage]]`.
pub(super) const BODY: &[Entry] = &[
    words("name", "Name", "Each body its own."),
    yes_no("mirrored", "The same on the left side", "For a pair of booms: describe the right one."),
];

/// `[[fuselage.station]]`.
pub(super) const BODY_STATION: &[Entry] = &[
    mm("x", "Aft of the datum", "Where this cross-section is; from nose to tail."),
    mm("width", "Width", "Across.").unless(&["diameter"]),
    mm("height", "Height", "Up and down.").unless(&["diameter"]),
    mm("diameter", "Diameter", "Where it is round.").written(),
    mm("z", "Middle, above the datum", "0 on the datum's level."),
    mm("y", "Middle, to the right", "0 on the middle line.").more(),
];

/// `[[drag]]`.
pub(super) const DRAG: &[Entry] = &[
    words("name", "Name", "Wheels, legs, wires, openings, gaps: each is small, together they are felt."),
    one_of(
        "kind",
        &["wheel", "faired wheel", "strut", "faired strut", "wire", "plate", "box", "open hole", "hinge gap"],
        "Kind",
        "So that its drag coefficient is known.",
    )
    .unless(&["drag_area"]),
    whole("count", "How many", "1 where left empty."),
    mm("width", "Width, or length of a rod or gap", "Of one, as seen from ahead.").unless(&["drag_area"]),
    mm("height", "Height, or thickness of a rod or gap", "Of one, as seen from ahead.")
        .unless(&["drag_area"]),
    measure("drag_area", Area, "cm2", "Drag area", "Drag over dynamic pressure, where it is known.")
        .written(),
];

/// `[controller]`.
pub(super) const CONTROLLER: &[Entry] = &[
    deg(
        "mounting_pitch",
        "Mounting angle, pitch",
        "What it is set to take away from its own reading, nose up positive.",
    ),
    deg("mounting_roll", "Mounting angle, roll", "Right wing down positive."),
    measure("loop", Frequency, "hz", "Loop", "How often it sends to the servos."),
    measure(
        "delay",
        Time,
        "ms",
        "Delay",
        "From the turning rate to the pulse; 10 to 20 ms where you do not know.",
    ),
    measure(
        "largest_rate_roll",
        TurningRate,
        "deg_s",
        "Full stick, roll rate",
        "Where the stick commands a turning rate; no more than the throws give.",
    ),
    measure("largest_rate_pitch", TurningRate, "deg_s", "Full stick, pitch rate", "As above."),
    measure(
        "largest_rate_yaw",
        TurningRate,
        "deg_s",
        "Full stick, yaw rate",
        "Little: with the wings level a rudder slips the model more than it turns it.",
    ),
    deg("largest_angle_roll", "Full stick, bank", "Where the stick commands an attitude."),
    deg("largest_angle_pitch", "Full stick, pitch angle", "Where the stick commands an attitude."),
    measure(
        "level",
        PerTime,
        "per_s",
        "Leveling",
        "Turning rate commanded for each degree off the attitude.",
    )
    .more(),
    measure(
        "reference_speed",
        Speed,
        "m_s",
        "Speed that the gains hold for",
        "Where the controller scales them by airspeed.",
    )
    .more(),
    percent("failsafe_throttle", "Throttle when the link is lost", "0 stops the motor, as it should."),
    deg("mounting_pitch_sd", "Doubt of the mounting angle, pitch", "Known after flights; leave it.").more(),
    deg("mounting_roll_sd", "Doubt of the mounting angle, roll", "Known after flights; leave it.").more(),
];

/// `[controller.gains.…]`.
pub(super) const GAINS: &[Entry] = &[
    measure(
        "feed_forward",
        GainTime,
        "s",
        "Feed-forward",
        "Degrees of the axis for each degree a second that is asked for.",
    ),
    measure("proportional", GainTime, "s", "Proportional", "For each degree a second of difference."),
    measure("integral", Plain, "", "Integral", "For each degree of difference that stays."),
    measure("derivative", GainTimeSquared, "s2", "Derivative", "For each degree a second squared."),
];

/// `[[controller.switch]]`.
pub(super) const SWITCH: &[Entry] = &[
    words("name", "Position", "Your word for it."),
    one_of(
        "acts",
        &["direct", "rate", "level"],
        "How the stick acts there",
        "direct: straight to the surfaces. rate: commands a turning rate. level: commands an attitude.",
    ),
];

/// `[start]`.
pub(super) const START: &[Entry] = &[
    one_of(
        "how",
        &["hand", "rolling", "bungee"],
        "How it gets into the air",
        "Thrown, on its wheels, or by a rubber band.",
    ),
    measure(
        "throw_speed",
        Speed,
        "m_s",
        "Leaves the hand or band at",
        "Over the ground, in still air: film a throw of something as heavy.",
    ),
    measure("height", Length, "m", "Leaves the hand or band this high", "Over the ground."),
    one_of("ground", &["hard", "short grass", "long grass"], "Rolls on", "What the wheels roll on.").more(),
    measure("run", Length, "m", "Free strip ahead", "How much there is to roll.").more(),
];

/// `[limits]`.
pub(super) const LIMITS: &[Entry] = &[
    measure("never_exceed", Speed, "m_s", "Never faster than", "What the structure is good for."),
    measure("load_factor", Plain, "", "Load factor", "How many times its weight the wing bears."),
    measure("height", Length, "m", "Never higher than", "What the law and the field allow."),
    measure("distance", Length, "m", "Never further than", "How far you still see which way it flies."),
    measure("wind", Speed, "m_s", "Most wind", "Mean wind that you will fly in."),
    measure("gust_spread", Speed, "m_s", "Gusts above the mean", "Most that you will fly in.").more(),
    measure("cross_wind", Speed, "m_s", "Wind across the launch", "Most that you will launch in.").more(),
    measure("visibility", Length, "m", "Least visibility", "That you will fly in.").more(),
    measure("cloud_base", Length, "m", "Lowest cloud", "Above the field.").more(),
    measure("coldest_c", Plain, "", "Coldest, °C", "That you will fly in.").more(),
    measure("hottest_c", Plain, "", "Hottest, °C", "That you will fly in.").more(),
    measure("cruise", Speed, "m_s", "Cruise speed", "Chosen by you; where left empty, 1.5 times stall."),
    percent("reserve", "Reserve of the pack", "What stays in it at landing."),
    measure("stall", Speed, "m_s", "Measured stall speed", "Wings level; only from flights.").more(),
];

/// `[flown]`.
pub(super) const FLOWN: &[Entry] = &[
    measure("drag_factor", Plain, "", "Drag", "Factor on the prediction, from flights."),
    measure("lift_factor", Plain, "", "Lift slope", "Factor on the prediction, from flights."),
    measure("control_factor_roll", Plain, "", "Control in roll", "Factor on the prediction, from flights."),
    measure("control_factor_pitch", Plain, "", "Control in pitch", "Factor on the prediction, from flights."),
    measure("control_factor_yaw", Plain, "", "Control in yaw", "Factor on the prediction, from flights."),
    measure("thrust_factor", Plain, "", "Thrust", "Factor on the prediction, from flights."),
];
