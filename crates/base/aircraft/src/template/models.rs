//! Seven invented models: no numbers of any real aircraft. Lengths in mm, angles in degrees, masses in grams, as they
//! stand in the file.

use crate::Layout;

/// A surface of an invented model; lengths in mm, angles in degrees.
pub(super) struct Panel {
    pub(super) name: &'static str,
    pub(super) role: &'static str,
    pub(super) mirrored: bool,
    pub(super) dihedral: f64,
    pub(super) root_y: f64,
    pub(super) root_z: f64,
    /// Leading edge and chord at the root.
    pub(super) root: [f64; 2],
    /// Along the surface, leading edge and chord at the tip.
    pub(super) tip: [f64; 3],
    pub(super) tip_twist: f64,
    pub(super) section: &'static str,
}

/// A movable of an invented model.
pub(super) struct Moves {
    pub(super) name: &'static str,
    pub(super) surface: &'static str,
    pub(super) pair: bool,
    /// Inner and outer end, per cent of the surface's length.
    pub(super) extent: [f64; 2],
    pub(super) hinge: f64,
    pub(super) throws: [f64; 2],
    pub(super) mix: &'static str,
    /// Whether up and down are left and right.
    pub(super) is_rudder: bool,
}

/// An item of an invented model: grams and mm.
pub(super) struct Weight {
    pub(super) name: &'static str,
    pub(super) grams: f64,
    pub(super) at: [f64; 3],
    pub(super) size: [f64; 3],
    pub(super) shape: &'static str,
    pub(super) mirrored: bool,
    pub(super) moves: Option<[f64; 2]>,
}

/// A body of an invented model: rows of x, z, width, height, mm.
pub(super) struct Body {
    pub(super) name: &'static str,
    pub(super) mirrored: bool,
    pub(super) y: f64,
    pub(super) rows: &'static [[f64; 4]],
}

/// A part that only adds drag: name, kind, count, width and height in mm.
pub(super) type Part = (&'static str, &'static str, u32, [f64; 2]);

/// A whole invented model.
pub(super) struct Model {
    pub(super) says: &'static str,
    pub(super) datum: &'static str,
    pub(super) panels: Vec<Panel>,
    pub(super) moves: Vec<Moves>,
    pub(super) weights: Vec<Weight>,
    pub(super) bodies: Vec<Body>,
    /// Propeller hub x and z, mm.
    pub(super) hub: [f64; 2],
    pub(super) pusher: bool,
    /// Capacity of the pack, mAh, and its resistance, mohm.
    pub(super) pack: [f64; 2],
    /// Largest turning rates in roll, pitch and yaw that full stick may command, deg/s: less than the throws give.
    pub(super) rates: [f64; 3],
    /// Parts that only add drag.
    pub(super) drags: &'static [Part],
    /// How it starts.
    pub(super) start: &'static str,
}

const HAND: &str = "how = \"hand\" # or rolling, bungee\n# throw_speed_m_s = 8 # how fast it leaves the hand, in still air\nheight_m = 1.8 # of the hand over the ground";
const ROLLING: &str = "how = \"rolling\" # or hand, bungee\nground = \"short grass\" # or hard, long grass\nrun_m = 40 # how far it can roll";
/// Full-span gaps of the movables of a wing and a tail.
const GAPS: Part = ("hinge gaps", "hinge gap", 1, [1200.0, 1.0]);

/// The invented model of a layout.
pub(super) fn model(layout: Layout) -> Model {
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
        moves: vec![aileron(), Moves { throws: [20.0, 18.0], ..elevator("tailplane") }, rudder()],
        weights: vec![
            both(weight("wing halves", 320.0, [335.0, 340.0, 60.0], [170.0, 680.0, 22.0])),
            weight("fuselage", 270.0, [425.0, 0.0, 0.0], [900.0, 80.0, 90.0]),
            weight("tail", 55.0, [955.0, 0.0, 40.0], [120.0, 460.0, 60.0]),
            shaped("cylinder", weight("motor", 95.0, [40.0, 0.0, 0.0], [40.0, 35.0, 35.0])),
            weight("propeller", 18.0, [5.0, 0.0, 0.0], [0.0, 254.0, 25.0]),
            weight("speed controller", 32.0, [120.0, 0.0, -20.0], [0.0; 3]),
            pack(190.0, [250.0, 0.0, -15.0], [170.0, 280.0]),
            both(weight("aileron servos", 26.0, [330.0, 450.0, 65.0], [0.0; 3])),
            weight("tail servos", 26.0, [600.0, 0.0, -10.0], [0.0; 3]),
            weight("receiver and controller", 45.0, [340.0, 0.0, 0.0], [60.0, 30.0, 20.0]),
            weight("undercarriage", 60.0, [285.0, 0.0, -90.0], [60.0, 260.0, 60.0]),
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
        pack: [2200.0, 30.0],
        rates: [110.0, 70.0, 4.0],
        drags: &[
            ("main wheels", "wheel", 2, [22.0, 60.0]),
            ("undercarriage legs", "strut", 2, [110.0, 4.0]),
            ("tail wheel", "wheel", 1, [8.0, 25.0]),
            GAPS,
        ],
        start: ROLLING,
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
            weight("fuselage", 230.0, [550.0, 0.0, 0.0], [1000.0, 60.0, 70.0]),
            weight("tail", 70.0, [1035.0, 0.0, 150.0], [130.0, 480.0, 100.0]),
            shaped("cylinder", weight("motor", 90.0, [30.0, 0.0, 0.0], [40.0, 30.0, 30.0])),
            weight("propeller", 28.0, [8.0, 0.0, 0.0], [0.0, 254.0, 25.0]),
            weight("speed controller", 35.0, [90.0, 0.0, -10.0], [0.0; 3]),
            pack(190.0, [356.0, 0.0, -5.0], [280.0, 380.0]),
            both(weight("aileron servos", 26.0, [410.0, 650.0, 70.0], [0.0; 3])),
            both(weight("flap servos", 26.0, [400.0, 280.0, 50.0], [0.0; 3])),
            weight("tail servos", 26.0, [480.0, 0.0, -5.0], [0.0; 3]),
            weight("receiver and controller", 45.0, [430.0, 0.0, 0.0], [60.0, 30.0, 20.0]),
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
        pack: [2200.0, 30.0],
        rates: [75.0, 60.0, 2.0],
        drags: &[("wheel below the nose", "wheel", 1, [18.0, 30.0]), GAPS],
        start: HAND,
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
            weight("fuselage", 230.0, [445.0, 0.0, 0.0], [950.0, 60.0, 75.0]),
            both(weight("v-tail panels", 50.0, [985.0, 105.0, 100.0], [120.0, 210.0, 160.0])),
            shaped("cylinder", weight("motor", 85.0, [35.0, 0.0, 0.0], [40.0, 32.0, 32.0])),
            weight("propeller", 18.0, [6.0, 0.0, 0.0], [0.0, 254.0, 25.0]),
            weight("speed controller", 32.0, [110.0, 0.0, -15.0], [0.0; 3]),
            pack(190.0, [318.0, 0.0, -10.0], [230.0, 340.0]),
            both(weight("aileron servos", 26.0, [370.0, 480.0, 65.0], [0.0; 3])),
            weight("tail servos", 26.0, [650.0, 0.0, 0.0], [0.0; 3]),
            weight("receiver and controller", 45.0, [390.0, 0.0, 0.0], [60.0, 30.0, 20.0]),
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
        pack: [2200.0, 30.0],
        rates: [100.0, 60.0, 2.0],
        drags: &[GAPS],
        start: HAND,
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
            weight("pod", 240.0, [285.0, 0.0, 0.0], [520.0, 90.0, 110.0]),
            shaped("rod", weight("boom", 60.0, [780.0, 0.0, 65.0], [620.0, 0.0, 0.0])),
            both(weight("v-tail panels", 60.0, [1025.0, 115.0, -20.0], [120.0, 230.0, 170.0])),
            shaped("cylinder", weight("motor", 95.0, [35.0, 0.0, 0.0], [45.0, 35.0, 35.0])),
            weight("propeller", 20.0, [6.0, 0.0, 0.0], [0.0, 254.0, 25.0]),
            weight("speed controller", 40.0, [150.0, 0.0, -20.0], [0.0; 3]),
            pack(200.0, [372.0, 0.0, -15.0], [280.0, 400.0]),
            both(weight("aileron servos", 26.0, [385.0, 520.0, 88.0], [0.0; 3])),
            both(weight("tail servos", 24.0, [985.0, 20.0, 55.0], [0.0; 3])),
            weight("receiver and controller", 50.0, [450.0, 0.0, 10.0], [60.0, 40.0, 20.0]),
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
        pack: [2200.0, 30.0],
        rates: [95.0, 60.0, 2.0],
        drags: &[GAPS],
        start: HAND,
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
                tip_twist: -4.0,
                ..wing([0.0, 300.0], [600.0, 200.0, 180.0], 0.0, 0.0)
            },
            winglet,
        ],
        moves: vec![Moves {
            name: "elevon",
            surface: "wing",
            pair: true,
            extent: [35.0, 96.0],
            hinge: 70.0,
            throws: [28.0, 22.0],
            mix: "roll = 0.5\npitch = 0.5",
            is_rudder: false,
        }],
        weights: vec![
            both(weight("wing halves", 340.0, [188.0, 270.0, 0.0], [230.0, 560.0, 24.0])),
            both(weight("fins", 24.0, [305.0, 600.0, 60.0], [140.0, 4.0, 130.0])),
            weight("pod", 70.0, [110.0, 0.0, 0.0], [380.0, 60.0, 60.0]),
            shaped("cylinder", weight("motor", 62.0, [315.0, 0.0, 15.0], [35.0, 30.0, 30.0])),
            weight("propeller", 14.0, [340.0, 0.0, 15.0], [0.0, 254.0, 22.0]),
            weight("speed controller", 30.0, [25.0, 0.0, 20.0], [0.0; 3]),
            pack(190.0, [-62.0, 0.0, 0.0], [-80.0, -20.0]),
            both(weight("elevon servos", 26.0, [155.0, 250.0, 0.0], [0.0; 3])),
            weight("receiver and controller", 40.0, [20.0, 0.0, -5.0], [50.0, 30.0, 20.0]),
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
        pack: [2200.0, 30.0],
        rates: [105.0, 60.0, 4.0],
        drags: &[GAPS],
        start: HAND,
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
        moves: vec![
            aileron(),
            Moves { hinge: 60.0, throws: [25.0, 20.0], ..elevator("tailplane") },
            rudder(),
        ],
        weights: vec![
            both(weight("wing halves", 420.0, [460.0, 370.0, 60.0], [210.0, 740.0, 26.0])),
            weight("pod", 300.0, [310.0, 0.0, 0.0], [600.0, 110.0, 120.0]),
            both(shaped("rod", weight("booms", 80.0, [790.0, 160.0, 50.0], [620.0, 0.0, 0.0]))),
            weight("tailplane", 45.0, [1060.0, 0.0, 60.0], [150.0, 320.0, 8.0]),
            both(weight("fins", 40.0, [1060.0, 160.0, 120.0], [140.0, 6.0, 150.0])),
            shaped("cylinder", weight("motor", 130.0, [600.0, 0.0, 40.0], [45.0, 38.0, 38.0])),
            weight("propeller", 22.0, [630.0, 0.0, 40.0], [0.0, 254.0, 25.0]),
            weight("speed controller", 45.0, [520.0, 0.0, 10.0], [0.0; 3]),
            pack(420.0, [221.0, 0.0, -10.0], [140.0, 300.0]),
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
        pack: [5000.0, 18.0],
        rates: [120.0, 55.0, 4.0],
        drags: &[GAPS],
        start: HAND,
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
        moves: vec![
            Moves { extent: [45.0, 92.0], ..aileron() },
            Moves { hinge: 58.0, throws: [20.0, 25.0], ..elevator("foreplane") },
            rudder(),
        ],
        weights: vec![
            both(weight("wing halves", 330.0, [745.0, 310.0, 10.0], [180.0, 620.0, 22.0])),
            weight("foreplane", 40.0, [145.0, 0.0, 0.0], [105.0, 520.0, 10.0]),
            both(weight("fins", 44.0, [825.0, 650.0, 90.0], [130.0, 5.0, 170.0])),
            weight("fuselage", 260.0, [460.0, 0.0, 0.0], [800.0, 75.0, 85.0]),
            shaped("cylinder", weight("motor", 95.0, [815.0, 0.0, 5.0], [40.0, 35.0, 35.0])),
            weight("propeller", 18.0, [845.0, 0.0, 5.0], [0.0, 254.0, 25.0]),
            weight("speed controller", 32.0, [720.0, 0.0, 0.0], [0.0; 3]),
            pack(260.0, [340.0, 0.0, -10.0], [230.0, 420.0]),
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
        pack: [3000.0, 24.0],
        rates: [140.0, 60.0, 12.0],
        drags: &[GAPS],
        start: HAND,
    }
}
