//! What does a file look like that a builder can fill in? An invented, complete and flyable-looking model of each
//! layout, every measure explained where it first stands.

mod words;

use std::fmt::Write as _;

use crate::Layout;

/// A surface of an invented model; lengths in mm, angles in degrees.
struct Panel {
    name: &'static str,
    role: &'static str,
    mirrored: bool,
    dihedral: f64,
    root_y: f64,
    root_z: f64,
    /// Leading edge and chord at the root.
    root: [f64; 2],
    /// Along the surface, leading edge and chord at the tip.
    tip: [f64; 3],
    tip_twist: f64,
    section: &'static str,
}

/// A movable of an invented model.
struct Moves {
    name: &'static str,
    surface: &'static str,
    pair: bool,
    /// Inner and outer end, per cent of the surface's length.
    extent: [f64; 2],
    hinge: f64,
    throws: [f64; 2],
    mix: &'static str,
    /// Whether up and down are left and right.
    is_rudder: bool,
}

/// An item of an invented model: grams and mm.
struct Weight {
    name: &'static str,
    grams: f64,
    at: [f64; 3],
    size: [f64; 3],
    shape: &'static str,
    mirrored: bool,
    moves: Option<[f64; 2]>,
}

/// A body of an invented model: rows of x, z, width, height, mm.
struct Body {
    name: &'static str,
    mirrored: bool,
    y: f64,
    rows: &'static [[f64; 4]],
}

/// A whole invented model.
struct Model {
    says: &'static str,
    datum: &'static str,
    panels: Vec<Panel>,
    moves: Vec<Moves>,
    weights: Vec<Weight>,
    bodies: Vec<Body>,
    /// Propeller hub x and z, mm.
    hub: [f64; 2],
    pusher: bool,
}

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
        &words::DRIVE.replace("{pusher}", if model.pusher { "true" } else { "false" }).replace("{hub}", &hub),
    );
    text.push_str(words::SETTINGS);
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
    write_servo(text, "servo", &format!("servo {}", moves.name), false, first);
    if moves.pair {
        write_servo(text, "servo_left", &format!("servo {} left", moves.name), true, false);
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

fn model(layout: Layout) -> Model {
    match layout {
        Layout::Conventional => conventional(),
        Layout::TTail => t_tail(),
        Layout::VTail => v_tail(),
        Layout::InvertedV => inverted_v(),
        Layout::FlyingWing => flying_wing(),
        Layout::TwinBoom => twin_boom(),
        Layout::Canard => canard(),
    }
}

const NOSE: &str = "tip of the nose, on the line of the fuselage";
const NACA_2412: &str = "naca 2412";
const NACA_0009: &str = "naca 0009";

fn wing(root: [f64; 2], tip: [f64; 3], dihedral: f64, root_z: f64) -> Panel {
    Panel {
        name: "wing",
        role: "wing",
        mirrored: true,
        dihedral,
        root_y: 0.0,
        root_z,
        root,
        tip,
        tip_twist: -1.0,
        section: NACA_2412,
    }
}

/// A tail surface with a thin even section.
fn tail(
    name: &'static str,
    role: &'static str,
    dihedral: f64,
    at: [f64; 2],
    root: [f64; 2],
    tip: [f64; 3],
) -> Panel {
    Panel {
        name,
        role,
        mirrored: role != "fin" || at[0] != 0.0,
        dihedral,
        root_y: at[0],
        root_z: at[1],
        root,
        tip,
        tip_twist: 0.0,
        section: NACA_0009,
    }
}

fn aileron() -> Moves {
    Moves {
        name: "aileron",
        surface: "wing",
        pair: true,
        extent: [55.0, 95.0],
        hinge: 77.0,
        throws: [20.0, 12.0],
        mix: "roll = 1",
        is_rudder: false,
    }
}

fn elevator(surface: &'static str) -> Moves {
    Moves {
        name: "elevator",
        surface,
        pair: false,
        extent: [3.0, 98.0],
        hinge: 68.0,
        throws: [15.0, 15.0],
        mix: "pitch = 1",
        is_rudder: false,
    }
}

fn rudder() -> Moves {
    Moves {
        name: "rudder",
        surface: "fin",
        pair: false,
        extent: [5.0, 95.0],
        hinge: 62.0,
        throws: [25.0, 25.0],
        mix: "yaw = 1",
        is_rudder: true,
    }
}

fn ruddervator() -> Moves {
    Moves {
        name: "ruddervator",
        surface: "v-tail",
        pair: true,
        extent: [4.0, 96.0],
        hinge: 68.0,
        throws: [25.0, 25.0],
        mix: "pitch = 0.6\nyaw = 0.4",
        is_rudder: false,
    }
}

fn weight(name: &'static str, grams: f64, at: [f64; 3], size: [f64; 3]) -> Weight {
    Weight {
        name,
        grams,
        at,
        size,
        shape: if size == [0.0; 3] { "point" } else { "box" },
        mirrored: false,
        moves: None,
    }
}

fn both(weight: Weight) -> Weight {
    Weight { mirrored: true, ..weight }
}

fn shaped(shape: &'static str, weight: Weight) -> Weight {
    Weight { shape, ..weight }
}

fn pack(grams: f64, at: [f64; 3], moves: [f64; 2]) -> Weight {
    Weight { moves: Some(moves), ..weight("pack", grams, at, [105.0, 34.0, 26.0]) }
}

fn conventional() -> Model {
    Model {
        says: "a high-wing tractor model of 1.4 m span",
        datum: NOSE,
        panels: vec![
            wing([250.0, 220.0], [700.0, 270.0, 160.0], 3.0, 40.0),
            tail("tailplane", "tailplane", 0.0, [0.0, 20.0], [900.0, 140.0], [230.0, 920.0, 100.0]),
            tail("fin", "fin", 90.0, [0.0, 20.0], [880.0, 170.0], [170.0, 940.0, 100.0]),
        ],
        moves: vec![aileron(), elevator("tailplane"), rudder()],
        weights: vec![
            both(weight("wing halves", 320.0, [335.0, 340.0, 60.0], [170.0, 680.0, 22.0])),
            weight("fuselage", 270.0, [390.0, 0.0, 0.0], [900.0, 80.0, 90.0]),
            weight("tail", 55.0, [955.0, 0.0, 40.0], [120.0, 460.0, 60.0]),
            shaped("cylinder", weight("motor", 95.0, [40.0, 0.0, 0.0], [40.0, 35.0, 35.0])),
            weight("propeller", 18.0, [5.0, 0.0, 0.0], [0.0, 254.0, 25.0]),
            weight("speed controller", 32.0, [120.0, 0.0, -20.0], [0.0; 3]),
            pack(190.0, [175.0, 0.0, -15.0], [130.0, 230.0]),
            both(weight("aileron servos", 26.0, [330.0, 450.0, 65.0], [0.0; 3])),
            weight("tail servos", 26.0, [430.0, 0.0, -10.0], [0.0; 3]),
            weight("receiver and controller", 45.0, [300.0, 0.0, 0.0], [60.0, 30.0, 20.0]),
        ],
        bodies: vec![Body {
            name: "fuselage",
            mirrored: false,
            y: 0.0,
            rows: &[
                [0.0, 0.0, 45.0, 45.0],
                [120.0, 0.0, 80.0, 90.0],
                [420.0, 0.0, 80.0, 95.0],
                [1050.0, 15.0, 20.0, 25.0],
            ],
        }],
        hub: [5.0, 0.0],
        pusher: false,
    }
}

fn t_tail() -> Model {
    Model {
        says: "a motor glider of 1.8 m span with its tailplane on top of the fin",
        datum: NOSE,
        panels: vec![
            wing([330.0, 210.0], [900.0, 360.0, 130.0], 3.0, 35.0),
            tail("tailplane", "tailplane", 0.0, [0.0, 200.0], [1000.0, 120.0], [250.0, 1020.0, 85.0]),
            tail("fin", "fin", 90.0, [0.0, 20.0], [950.0, 180.0], [180.0, 990.0, 135.0]),
        ],
        moves: vec![
            Moves { extent: [58.0, 96.0], ..aileron() },
            Moves {
                name: "flap",
                surface: "wing",
                pair: true,
                extent: [8.0, 57.0],
                hinge: 77.0,
                throws: [3.0, 40.0],
                mix: "flap = 1",
                is_rudder: false,
            },
            elevator("tailplane"),
            Moves { extent: [5.0, 85.0], ..rudder() },
        ],
        weights: vec![
            both(weight("wing halves", 420.0, [410.0, 420.0, 58.0], [165.0, 850.0, 20.0])),
            weight("fuselage", 230.0, [520.0, 0.0, 0.0], [1000.0, 60.0, 70.0]),
            weight("tail", 70.0, [1035.0, 0.0, 150.0], [130.0, 480.0, 100.0]),
            shaped("cylinder", weight("motor", 90.0, [30.0, 0.0, 0.0], [40.0, 30.0, 30.0])),
            weight("propeller", 28.0, [8.0, 0.0, 0.0], [0.0, 254.0, 25.0]),
            weight("speed controller", 35.0, [90.0, 0.0, -10.0], [0.0; 3]),
            pack(190.0, [265.0, 0.0, -5.0], [200.0, 330.0]),
            both(weight("aileron servos", 26.0, [410.0, 650.0, 70.0], [0.0; 3])),
            both(weight("flap servos", 26.0, [400.0, 280.0, 50.0], [0.0; 3])),
            weight("tail servos", 26.0, [260.0, 0.0, -5.0], [0.0; 3]),
            weight("receiver and controller", 45.0, [300.0, 0.0, 0.0], [60.0, 30.0, 20.0]),
        ],
        bodies: vec![Body {
            name: "fuselage",
            mirrored: false,
            y: 0.0,
            rows: &[
                [0.0, 0.0, 38.0, 38.0],
                [150.0, 0.0, 60.0, 72.0],
                [420.0, 0.0, 60.0, 75.0],
                [600.0, 5.0, 30.0, 32.0],
                [1120.0, 15.0, 16.0, 20.0],
            ],
        }],
        hub: [8.0, 0.0],
        pusher: false,
    }
}

fn v_tail() -> Model {
    Model {
        says: "a model of 1.5 m span with a V-tail",
        datum: NOSE,
        panels: vec![
            wing([290.0, 210.0], [750.0, 315.0, 140.0], 4.0, 30.0),
            tail("v-tail", "v-tail", 38.0, [0.0, 20.0], [920.0, 140.0], [270.0, 950.0, 95.0]),
        ],
        moves: vec![aileron(), ruddervator()],
        weights: vec![
            both(weight("wing halves", 330.0, [370.0, 360.0, 55.0], [165.0, 720.0, 22.0])),
            weight("fuselage", 230.0, [430.0, 0.0, 0.0], [950.0, 60.0, 75.0]),
            both(weight("v-tail panels", 50.0, [985.0, 105.0, 100.0], [120.0, 210.0, 160.0])),
            shaped("cylinder", weight("motor", 85.0, [35.0, 0.0, 0.0], [40.0, 32.0, 32.0])),
            weight("propeller", 18.0, [6.0, 0.0, 0.0], [0.0, 254.0, 25.0]),
            weight("speed controller", 32.0, [110.0, 0.0, -15.0], [0.0; 3]),
            pack(190.0, [240.0, 0.0, -10.0], [180.0, 300.0]),
            both(weight("aileron servos", 26.0, [370.0, 480.0, 65.0], [0.0; 3])),
            weight("tail servos", 26.0, [480.0, 0.0, 0.0], [0.0; 3]),
            weight("receiver and controller", 45.0, [320.0, 0.0, 0.0], [60.0, 30.0, 20.0]),
        ],
        bodies: vec![Body {
            name: "fuselage",
            mirrored: false,
            y: 0.0,
            rows: &[
                [0.0, 0.0, 40.0, 40.0],
                [140.0, 0.0, 62.0, 75.0],
                [420.0, 0.0, 62.0, 80.0],
                [1060.0, 15.0, 18.0, 22.0],
            ],
        }],
        hub: [6.0, 0.0],
        pusher: false,
    }
}

fn inverted_v() -> Model {
    Model {
        says: "a model of 1.6 m span with a pod, a high boom and an inverted V-tail below it",
        datum: NOSE,
        panels: vec![
            wing([300.0, 220.0], [800.0, 325.0, 150.0], 3.0, 60.0),
            tail("v-tail", "v-tail", -38.0, [0.0, 70.0], [960.0, 145.0], [290.0, 990.0, 100.0]),
        ],
        moves: vec![aileron(), ruddervator()],
        weights: vec![
            both(weight("wing halves", 380.0, [385.0, 390.0, 80.0], [170.0, 770.0, 24.0])),
            weight("pod", 240.0, [260.0, 0.0, 0.0], [520.0, 90.0, 110.0]),
            shaped("rod", weight("boom", 60.0, [780.0, 0.0, 65.0], [620.0, 0.0, 0.0])),
            both(weight("v-tail panels", 60.0, [1025.0, 115.0, -20.0], [120.0, 230.0, 170.0])),
            shaped("cylinder", weight("motor", 110.0, [35.0, 0.0, 0.0], [45.0, 35.0, 35.0])),
            weight("propeller", 20.0, [6.0, 0.0, 0.0], [0.0, 254.0, 25.0]),
            weight("speed controller", 40.0, [110.0, 0.0, -20.0], [0.0; 3]),
            pack(200.0, [300.0, 0.0, -15.0], [230.0, 360.0]),
            both(weight("aileron servos", 26.0, [385.0, 520.0, 88.0], [0.0; 3])),
            both(weight("tail servos", 24.0, [985.0, 20.0, 55.0], [0.0; 3])),
            weight("receiver and controller", 50.0, [330.0, 0.0, 0.0], [60.0, 40.0, 20.0]),
        ],
        bodies: vec![
            Body {
                name: "pod",
                mirrored: false,
                y: 0.0,
                rows: &[
                    [0.0, 0.0, 45.0, 45.0],
                    [140.0, 0.0, 90.0, 110.0],
                    [400.0, 5.0, 90.0, 110.0],
                    [540.0, 40.0, 25.0, 30.0],
                ],
            },
            Body {
                name: "boom",
                mirrored: false,
                y: 0.0,
                rows: &[[470.0, 65.0, 16.0, 16.0], [1110.0, 65.0, 14.0, 14.0]],
            },
        ],
        hub: [6.0, 0.0],
        pusher: false,
    }
}

fn flying_wing() -> Model {
    let winglet = Panel {
        section: "naca 0006",
        ..tail("fin", "fin", 90.0, [600.0, 0.0], [200.0, 180.0], [130.0, 260.0, 110.0])
    };
    Model {
        says: "a swept flying wing of 1.2 m span with elevons and fins at the tips",
        datum: "leading edge of the wing at its root",
        panels: vec![
            Panel {
                section: "naca 0010",
                tip_twist: -3.0,
                ..wing([0.0, 300.0], [600.0, 200.0, 180.0], 0.0, 0.0)
            },
            winglet,
        ],
        moves: vec![Moves {
            name: "elevon",
            surface: "wing",
            pair: true,
            extent: [35.0, 96.0],
            hinge: 78.0,
            throws: [22.0, 18.0],
            mix: "roll = 0.5\npitch = 0.5",
            is_rudder: false,
        }],
        weights: vec![
            both(weight("wing halves", 340.0, [205.0, 270.0, 0.0], [230.0, 560.0, 24.0])),
            both(weight("fins", 24.0, [305.0, 600.0, 60.0], [140.0, 4.0, 130.0])),
            weight("pod", 70.0, [110.0, 0.0, 0.0], [380.0, 60.0, 60.0]),
            shaped("cylinder", weight("motor", 62.0, [315.0, 0.0, 15.0], [35.0, 30.0, 30.0])),
            weight("propeller", 14.0, [340.0, 0.0, 15.0], [0.0, 254.0, 22.0]),
            weight("speed controller", 30.0, [80.0, 0.0, 10.0], [0.0; 3]),
            pack(190.0, [-60.0, 0.0, 0.0], [-80.0, 0.0]),
            both(weight("elevon servos", 26.0, [155.0, 250.0, 0.0], [0.0; 3])),
            weight("receiver and controller", 40.0, [25.0, 0.0, 5.0], [50.0, 30.0, 20.0]),
        ],
        bodies: vec![Body {
            name: "pod",
            mirrored: false,
            y: 0.0,
            rows: &[
                [-135.0, 0.0, 35.0, 35.0],
                [-40.0, 0.0, 65.0, 60.0],
                [200.0, 5.0, 60.0, 55.0],
                [320.0, 15.0, 30.0, 30.0],
            ],
        }],
        hub: [340.0, 15.0],
        pusher: true,
    }
}

fn twin_boom() -> Model {
    Model {
        says: "a pusher of 1.5 m span with two booms, a tailplane between them and a fin on each",
        datum: NOSE,
        panels: vec![
            wing([350.0, 230.0], [750.0, 350.0, 230.0], 2.0, 45.0),
            tail("tailplane", "tailplane", 0.0, [0.0, 60.0], [990.0, 150.0], [160.0, 990.0, 150.0]),
            tail("fin", "fin", 90.0, [160.0, 50.0], [970.0, 170.0], [150.0, 1015.0, 115.0]),
        ],
        moves: vec![aileron(), elevator("tailplane"), rudder()],
        weights: vec![
            both(weight("wing halves", 420.0, [460.0, 370.0, 60.0], [210.0, 740.0, 26.0])),
            weight("pod", 300.0, [310.0, 0.0, 0.0], [600.0, 110.0, 120.0]),
            both(shaped("rod", weight("booms", 80.0, [790.0, 160.0, 50.0], [620.0, 0.0, 0.0]))),
            weight("tailplane", 45.0, [1060.0, 0.0, 60.0], [150.0, 320.0, 8.0]),
            both(weight("fins", 40.0, [1060.0, 160.0, 120.0], [140.0, 6.0, 150.0])),
            shaped("cylinder", weight("motor", 130.0, [600.0, 0.0, 40.0], [45.0, 38.0, 38.0])),
            weight("propeller", 22.0, [630.0, 0.0, 40.0], [0.0, 254.0, 25.0]),
            weight("speed controller", 45.0, [520.0, 0.0, 10.0], [0.0; 3]),
            pack(420.0, [200.0, 0.0, -10.0], [140.0, 260.0]),
            weight("camera", 120.0, [50.0, 0.0, -20.0], [60.0, 60.0, 60.0]),
            both(weight("aileron servos", 26.0, [470.0, 520.0, 60.0], [0.0; 3])),
            both(weight("tail servos", 26.0, [1000.0, 160.0, 55.0], [0.0; 3])),
            weight("receiver and controller", 55.0, [300.0, 0.0, 0.0], [70.0, 40.0, 20.0]),
        ],
        bodies: vec![
            Body {
                name: "pod",
                mirrored: false,
                y: 0.0,
                rows: &[
                    [0.0, -10.0, 40.0, 40.0],
                    [120.0, 0.0, 110.0, 120.0],
                    [450.0, 5.0, 110.0, 120.0],
                    [610.0, 40.0, 45.0, 45.0],
                ],
            },
            Body {
                name: "boom",
                mirrored: true,
                y: 160.0,
                rows: &[[440.0, 50.0, 16.0, 16.0], [1145.0, 50.0, 14.0, 14.0]],
            },
        ],
        hub: [630.0, 40.0],
        pusher: true,
    }
}

fn canard() -> Model {
    let fin = Panel {
        section: "naca 0006",
        ..tail("fin", "fin", 90.0, [650.0, 10.0], [730.0, 150.0], [170.0, 800.0, 95.0])
    };
    Model {
        says: "a pusher of 1.3 m span with a foreplane and fins at the wing tips",
        datum: NOSE,
        panels: vec![
            wing([600.0, 230.0], [650.0, 720.0, 150.0], 0.0, 10.0),
            Panel {
                name: "foreplane",
                role: "foreplane",
                mirrored: true,
                dihedral: 0.0,
                root_y: 0.0,
                root_z: 0.0,
                root: [90.0, 115.0],
                tip: [260.0, 100.0, 95.0],
                tip_twist: 0.0,
                section: NACA_2412,
            },
            fin,
        ],
        moves: vec![Moves { extent: [45.0, 92.0], ..aileron() }, elevator("foreplane"), rudder()],
        weights: vec![
            both(weight("wing halves", 330.0, [745.0, 310.0, 10.0], [180.0, 620.0, 22.0])),
            weight("foreplane", 40.0, [145.0, 0.0, 0.0], [105.0, 520.0, 10.0]),
            both(weight("fins", 44.0, [825.0, 650.0, 90.0], [130.0, 5.0, 170.0])),
            weight("fuselage", 260.0, [460.0, 0.0, 0.0], [800.0, 75.0, 85.0]),
            shaped("cylinder", weight("motor", 95.0, [815.0, 0.0, 5.0], [40.0, 35.0, 35.0])),
            weight("propeller", 18.0, [845.0, 0.0, 5.0], [0.0, 254.0, 25.0]),
            weight("speed controller", 32.0, [720.0, 0.0, 0.0], [0.0; 3]),
            pack(260.0, [315.0, 0.0, -10.0], [220.0, 400.0]),
            both(weight("aileron servos", 26.0, [760.0, 420.0, 10.0], [0.0; 3])),
            weight("elevator servo", 14.0, [190.0, 0.0, 0.0], [0.0; 3]),
            both(weight("rudder servos", 26.0, [790.0, 620.0, 15.0], [0.0; 3])),
            weight("receiver and controller", 45.0, [500.0, 0.0, 0.0], [60.0, 30.0, 20.0]),
        ],
        bodies: vec![Body {
            name: "fuselage",
            mirrored: false,
            y: 0.0,
            rows: &[
                [0.0, 0.0, 30.0, 30.0],
                [150.0, 0.0, 65.0, 75.0],
                [600.0, 0.0, 75.0, 85.0],
                [830.0, 5.0, 40.0, 40.0],
            ],
        }],
        hub: [845.0, 5.0],
        pusher: true,
    }
}
