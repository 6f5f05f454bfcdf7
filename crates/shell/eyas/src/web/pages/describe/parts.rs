//! Which questions does the form ask, and what stands under each?

use maud::{Markup, html};

use super::form::{Draft, Part, below};
use super::pictures;

/// All parts in the order of building.
pub(super) const ALL: &[Part] = &[
    Part {
        id: "whole",
        question: "What is it, and how was it measured?",
        tables: &["", "care"],
        intro: "Every place is measured from one datum: x aft, y to the right wing, z up. What lies ahead of the datum or below it \
                is negative.",
        caution: "",
        drawings: &[pictures::places],
    },
    Part {
        id: "surfaces",
        question: "What carries it?",
        tables: &["surface"],
        intro: "Wing and tails, the main wing first, each by two or more stations from its root to its tip: one wherever the edge has a \
                kink. Of a surface that stands on both sides measure the right one.",
        caution: "",
        drawings: &[pictures::plan, pictures::dihedral, pictures::twist],
    },
    Part {
        id: "movables",
        question: "What moves, and how far?",
        tables: &["movable"],
        intro: "Throws at full stick, either in degrees about the hinge or in millimeters at the trailing edge, as the field says.",
        caution: "Take the propeller off before you connect the pack to move the surfaces.",
        drawings: &[pictures::throw],
    },
    Part {
        id: "linkages",
        question: "What drives the surfaces?",
        tables: &["movable"],
        intro: "The servo's pulses, and the linkage where you can reach it: with it, trims are told in turns of the clevis.",
        caution: "Propeller off.",
        drawings: &[pictures::linkage],
    },
    Part {
        id: "masses",
        question: "What weighs how much, and where?",
        tables: &["mass"],
        intro: "Every item that you can put on the scale, in flying order. The finer the list, the better the inertia is known.",
        caution: "A pack that is swollen, dented or hot goes outside, away from anything that burns.",
        drawings: &[],
    },
    Part {
        id: "weighed",
        question: "What do the scale and the balance stand say?",
        tables: &["weighed"],
        intro: "Of the whole model, ready to fly. What is measured here beats the sum of the items.",
        caution: "Propeller off.",
        drawings: &[pictures::balance],
    },
    Part {
        id: "drive",
        question: "What pulls it?",
        tables: &["drive"],
        intro: "Leave all of it empty for a glider.",
        caution: "A propeller cuts to the bone. It goes on last and comes off first. For a bench run tie the model down, stand behind the \
                  propeller, nobody in its plane or in line with it, and have a way to stop the motor at hand.",
        drawings: &[],
    },
    Part {
        id: "bodies",
        question: "What else stands in the wind?",
        tables: &["fuselage", "drag"],
        intro: "Bodies by a few cross-sections from nose to tail; then wheels, legs, wires, openings and gaps.",
        caution: "",
        drawings: &[],
    },
    Part {
        id: "controller",
        question: "How is it steadied?",
        tables: &["controller", "flown"],
        intro: "The stabilising controller and how it is set.",
        caution: "",
        drawings: &[],
    },
    Part {
        id: "start",
        question: "How does a flight begin?",
        tables: &["start"],
        intro: "",
        caution: "Whoever throws keeps hand and face away from the propeller; with a propeller behind, the motor starts only after the \
                  model has left the hand. A rolling start needs a free strip ahead and nobody beside it.",
        drawings: &[],
    },
    Part {
        id: "limits",
        question: "What may it not do?",
        tables: &["limits"],
        intro: "Your own limits; days and cards are held against them. Where the law or the field allows less, that counts.",
        caution: "",
        drawings: &[],
    },
];

/// What stands in a part.
pub(super) fn body(d: &Draft<'_>, id: &str) -> Markup {
    match id {
        "whole" => html! {
            p { "Kept under the name " strong { (d.name) } ". Another name makes another aircraft." }
            (d.table("", false))
            (d.table("care", false))
        },
        "surfaces" => surfaces(d),
        "movables" => html! {
            (d.rows("movable", "movable part", false, &|_, _| html! {}))
            div.buttons { (d.act("add:movable", "Add a movable part")) }
        },
        "linkages" => linkages(d),
        "masses" => html! {
            (d.rows("mass", "item", false, &|_, _| html! {}))
            div.buttons { (d.act("add:mass", "Add an item")) }
        },
        "weighed" => html! {
            (d.table("weighed", false))
            (d.optional("weighed.scales", "Balanced on two scales instead", "Then leave the balance point above empty.", Some(pictures::scales())))
            @for (table, name) in [("weighed.swing_roll", "roll"), ("weighed.swing_pitch", "pitch"), ("weighed.swing_yaw", "yaw")] {
                (d.optional(table, &format!("Swung to measure the inertia in {name}"), "Where you can: it beats what follows from the items.", Some(pictures::swing())))
            }
        },
        "drive" => drive(d),
        "bodies" => html! {
            h3 { "Bodies" }
            (d.rows("fuselage", "body", false, &|_, table| {
                let list = below(table, "station");
                html! {
                    h4 { "Cross-sections" }
                    (d.rows(&list, "cross-section", true, &|_, _| html! {}))
                    div.buttons { (d.act(&format!("add:{list}"), "Add a cross-section behind")) }
                }
            }))
            div.buttons { (d.act("add:fuselage", "Add a body")) }
            h3 { "Wheels, legs, wires, openings, gaps" }
            (d.rows("drag", "part", false, &|_, _| html! {}))
            div.buttons { (d.act("add:drag", "Add a part")) }
        },
        "controller" => html! {
            (d.table("controller", false))
            @for axis in ["roll", "pitch", "yaw"] {
                (d.optional(&format!("controller.gains.{axis}"), &format!("Gains set for {axis}"), "In physical units, as the predictions tell them.", None))
            }
            h3 { "Positions of the switch" }
            (d.rows("controller.switch", "position", false, &|_, _| html! {}))
            div.buttons { (d.act("add:controller.switch", "Add a position")) }
            (d.optional("flown", "What flights have taught", "Factors on the predictions, adopted from flights. Nothing to measure here.", None))
        },
        other => d.table(other, false),
    }
}

fn surfaces(d: &Draft<'_>) -> Markup {
    html! {
        (d.rows("surface", "surface", false, &|_, table| {
            let list = below(table, "station");
            html! {
                h4 { "Stations, from the root outwards" }
                (d.rows(&list, "station", true, &|_, _| html! {}))
                div.buttons { (d.act(&format!("add:{list}"), "Add a station further out")) }
            }
        }))
        div.buttons { (d.act("add:surface", "Add a surface")) }
    }
}

fn linkages(d: &Draft<'_>) -> Markup {
    let count = d.sheet.count("movable");
    html! {
        @if count == 0 { p { "Nothing moves yet: add a movable part above." } }
        @for index in 0..count {
            @let table = format!("movable.{index}");
            @let name = d.sheet.shown(&below(&table, "name")).unwrap_or_else(|| format!("movable part {}", index + 1));
            @let left = below(&table, "servo_left");
            fieldset.item {
                legend { (name) }
                h4 { "Servo" @if d.sheet.has_table(&left) { ", right side" } }
                (d.table(&below(&table, "servo"), index > 0))
                @if d.sheet.has_table(&left) {
                    h4 { "Servo, left side" }
                    (d.table(&left, true))
                }
                (d.optional(&below(&table, "linkage"), "Linkage", "Leave it empty where it is not measured.", None))
            }
        }
    }
}

fn drive(d: &Draft<'_>) -> Markup {
    html! {
        (d.table("drive", false))
        @for (table, title) in [("drive.propeller", "Propeller"), ("drive.motor", "Motor"), ("drive.pack", "Pack")] {
            h3 { (title) }
            (d.table(table, false))
        }
        h3 { "Where each propeller is" }
        (d.rows("drive.hub", "propeller", false, &|_, _| html! {}))
        div.buttons { (d.act("add:drive.hub", "Add a propeller")) }
        h3 { "Measured on the bench" }
        p { "One line a throttle setting; what you did not measure stays empty." }
        (d.rows("drive.bench", "bench line", false, &|_, _| html! {}))
        div.buttons { (d.act("add:drive.bench", "Add a bench line")) }
    }
}
