//! What does a file look like that a builder can fill in? An invented, complete and flyable-looking model of each
//! layout, every measure explained where it first stands.

mod models;
mod words;

use std::fmt::Write as _;

use crate::Layout;
use models::{Body, Moves, Panel, Part, Weight, model};

/// A commented aircraft file of a layout, to be filled in: complete, without fault as it stands, and invented.
#[must_use]
pub fn template(layout: Layout, name: &str) -> String {
    let model = model(layout);
    let mut text = String::new();
    let name = if name.trim().is_empty() { "my aircraft" } else { name.trim() };
    let quoted = toml_edit::Value::from(name).to_string();
    text.push_str(&words::HEAD.replace("{says}", model.says));
    line(&mut text, &format!("format = 1\nname = {}\nlayout = \"{}\"", quoted.trim(), layout.word()));
    line(&mut text, &format!("# What you measure from, in your words.\ndatum = \"{}\"\n", model.datum));
    text.push_str(words::SURFACES);
    for (index, panel) in model.panels.iter().enumerate() {
        write_panel(&mut text, panel, index == 0);
    }
    text.push_str(words::MOVABLES);
    for (index, moves) in model.moves.iter().enumerate() {
        write_moves(&mut text, moves, index == 0);
    }
    text.push_str(words::MASSES);
    for (index, weight) in model.weights.iter().enumerate() {
        write_weight(&mut text, weight, index == 0);
    }
    text.push_str(words::WEIGHED);
    text.push_str(words::BODIES);
    for body in &model.bodies {
        write_body(&mut text, body);
    }
    let hub = format!("[[drive.hub]]\nx_mm = {}\nz_mm = {}\n", model.hub[0], model.hub[1]);
    text.push_str(
        &words::DRIVE
            .replace("{pusher}", if model.pusher { "true" } else { "false" })
            .replace("{capacity}", &model.pack[0].to_string())
            .replace("{resistance}", &model.pack[1].to_string())
            .replace("{hub}", &hub),
    );
    text.push_str(words::DRAGS);
    for (index, drag) in model.drags.iter().enumerate() {
        write_drag(&mut text, drag, index == 0);
    }
    text.push_str(words::START);
    line(&mut text, &format!("{}\n", model.start));
    let [roll, pitch, yaw] = model.rates.map(|rate| rate.to_string());
    text.push_str(
        &words::SETTINGS.replace("{roll}", &roll).replace("{pitch}", &pitch).replace("{yaw}", &yaw),
    );
    text
}

/// Writing to a string cannot fail.
fn line(text: &mut String, what: &str) {
    let _ = writeln!(text, "{what}");
}

fn write_panel(text: &mut String, panel: &Panel, first: bool) {
    let note = |words: &'static str| if first { words } else { "" };
    line(text, "[[surface]]");
    line(text, &format!("name = \"{}\"", panel.name));
    line(text, &format!("role = \"{}\"{}", panel.role, note(words::ROLE)));
    line(text, &format!("mirrored = {}{}", panel.mirrored, note(words::MIRRORED)));
    line(text, &format!("dihedral_deg = {}{}", panel.dihedral, note(words::DIHEDRAL)));
    if panel.root_y != 0.0 {
        line(text, &format!("root_y_mm = {}", panel.root_y));
    }
    line(text, &format!("root_z_mm = {}{}", panel.root_z, note(words::ROOT_Z)));
    line(text, &format!("[[surface.station]]{}", note(" # the root")));
    line(text, &format!("along_mm = 0{}", note(words::ALONG)));
    line(text, &format!("x_mm = {}{}", panel.root[0], note(words::X)));
    line(text, &format!("chord_mm = {}{}", panel.root[1], note(words::CHORD)));
    line(text, &format!("section = \"{}\"{}", panel.section, note(words::SECTION)));
    line(text, &format!("[[surface.station]]{}", note(" # the tip; add one at every kink")));
    line(text, &format!("along_mm = {}", panel.tip[0]));
    line(text, &format!("x_mm = {}", panel.tip[1]));
    line(text, &format!("chord_mm = {}", panel.tip[2]));
    if panel.tip_twist != 0.0 || first {
        line(text, &format!("twist_deg = {}{}", panel.tip_twist, note(words::TWIST)));
    }
    line(text, "");
}

fn write_moves(text: &mut String, moves: &Moves, first: bool) {
    let note = |words: &'static str| if first { words } else { "" };
    line(text, "[[movable]]");
    line(text, &format!("name = \"{}\"", moves.name));
    line(text, &format!("surface = \"{}\"", moves.surface));
    let panels = if moves.pair { "pair" } else { "one" };
    line(text, &format!("panels = \"{panels}\"{}", note(words::PANELS)));
    line(text, &format!("inner_percent = {}{}", moves.extent[0], note(words::EXTENT)));
    line(text, &format!("outer_percent = {}", moves.extent[1]));
    line(text, &format!("hinge_percent = {}{}", moves.hinge, note(words::HINGE)));
    let [up, down] = moves.throws;
    if moves.is_rudder {
        line(text, &format!("throw_left_deg = {up}\nthrow_right_deg = {down}"));
    } else {
        line(text, &format!("throw_up_deg = {up}{}", note(words::THROW)));
        line(text, &format!("throw_down_deg = {down}"));
    }
    line(text, &format!("{}{}", moves.mix, note(words::MIX)));
    if moves.pair {
        write_servo(text, "servo", &format!("{} right", moves.name), false, first);
        write_servo(text, "servo_left", &format!("{} left", moves.name), true, false);
    } else {
        write_servo(text, "servo", moves.name, false, first);
    }
    if first {
        text.push_str(words::LINKAGE);
    }
    line(text, "");
}

fn write_servo(text: &mut String, table: &str, channel: &str, reversed: bool, first: bool) {
    let note = |words: &'static str| if first { words } else { "" };
    line(text, &format!("[movable.{table}]"));
    line(text, &format!("channel = \"{channel}\"{}", note(words::CHANNEL)));
    line(text, &format!("centre_us = 1500{}", note(words::CENTRE)));
    line(text, &format!("travel_us = 400{}", note(words::TRAVEL)));
    line(text, &format!("reversed = {reversed}{}", note(words::REVERSED)));
    if first {
        text.push_str(words::SERVO_REST);
    }
}

fn write_weight(text: &mut String, weight: &Weight, first: bool) {
    let note = |words: &'static str| if first { words } else { "" };
    line(text, "[[mass]]");
    line(text, &format!("name = \"{}\"", weight.name));
    line(text, &format!("mass_g = {}{}", weight.grams, note(words::MASS)));
    line(text, &format!("x_mm = {}{}", weight.at[0], note(words::MASS_X)));
    for (key, value) in [("y_mm", weight.at[1]), ("z_mm", weight.at[2])] {
        if value != 0.0 {
            line(text, &format!("{key} = {value}"));
        }
    }
    line(text, &format!("shape = \"{}\"{}", weight.shape, note(words::SHAPE)));
    for (key, value) in ["size_x_mm", "size_y_mm", "size_z_mm"].iter().zip(weight.size) {
        if value != 0.0 {
            line(text, &format!("{key} = {value}"));
        }
    }
    if weight.mirrored {
        line(text, &format!("mirrored = true{}", note(words::PAIR)));
    }
    if let Some([from, to]) = weight.moves {
        line(text, "# How far its middle can be moved to balance the model.");
        line(text, &format!("moves_from_x_mm = {from}\nmoves_to_x_mm = {to}"));
    }
    line(text, "");
}

fn write_drag(text: &mut String, drag: &Part, first: bool) {
    let note = |words: &'static str| if first { words } else { "" };
    let (name, kind, count, [width, height]) = drag;
    line(text, &format!("[[drag]]\nname = \"{name}\"\nkind = \"{kind}\"{}", note(words::KIND)));
    if *count > 1 {
        line(text, &format!("count = {count}"));
    }
    line(text, &format!("width_mm = {width}{}\nheight_mm = {height}\n", note(words::ACROSS)));
}

fn write_body(text: &mut String, body: &Body) {
    line(text, "[[fuselage]]");
    line(text, &format!("name = \"{}\"", body.name));
    if body.mirrored {
        line(text, "mirrored = true");
    }
    for [x, z, width, height] in body.rows {
        line(text, "[[fuselage.station]]");
        line(text, &format!("x_mm = {x}"));
        if body.y != 0.0 {
            line(text, &format!("y_mm = {}", body.y));
        }
        line(text, &format!("z_mm = {z}\nwidth_mm = {width}\nheight_mm = {height}"));
    }
    line(text, "");
}
