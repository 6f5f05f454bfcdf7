//! What does each measure mean? Small drawings for the form.

use report::svg::{Anchor, Canvas, Ink, Pen, dashed, pen};

const WIDTH: f64 = 300.0;
const TEXT: f64 = 12.0;

fn canvas(height: f64, title: &str, description: &str) -> Canvas {
    Canvas::new(WIDTH, height, title, description)
}

/// A measure between two points, with an arrow at each end and its name.
fn between(c: &mut Canvas, a: [f64; 2], b: [f64; 2], words: &str) {
    let middle = [0.5 * (a[0] + b[0]), 0.5 * (a[1] + b[1])];
    let ink = pen(Ink::A, 1.6);
    c.arrow(middle, a, ink);
    c.arrow(middle, b, ink);
    let upright = (a[0] - b[0]).abs() < (a[1] - b[1]).abs();
    let (at, anchor) = if upright {
        ([middle[0] + 6.0, middle[1] + 4.0], Anchor::Start)
    } else {
        ([middle[0], middle[1] - 5.0], Anchor::Middle)
    };
    c.text(at, TEXT, anchor, Ink::A, true, words);
}

fn outline() -> Pen {
    pen(Ink::Plain, 1.8)
}

/// Places of an aircraft: from one datum aft, to the right, up.
pub(super) fn places() -> String {
    let mut c = canvas(
        150.0,
        "Places",
        "Fuselage from the left; x is measured aft from the datum at the nose, z up from it.",
    );
    c.path(
        &[
            [30.0, 95.0],
            [60.0, 78.0],
            [150.0, 76.0],
            [272.0, 90.0],
            [272.0, 98.0],
            [150.0, 116.0],
            [60.0, 114.0],
        ],
        true,
        outline(),
    );
    c.path(&[[105.0, 80.0], [112.0, 74.0], [165.0, 79.0]], true, outline());
    c.disc([30.0, 95.0], 4.0, Ink::B);
    c.text([10.0, 130.0], TEXT, Anchor::Start, Ink::B, true, "datum");
    c.line([30.0, 95.0], [30.0, 30.0], dashed(Ink::Grid, 1.2));
    c.line([105.0, 80.0], [105.0, 30.0], dashed(Ink::Grid, 1.2));
    between(&mut c, [30.0, 40.0], [105.0, 40.0], "x");
    between(&mut c, [190.0, 95.0], [190.0, 40.0], "z up");
    c.line([30.0, 95.0], [285.0, 95.0], dashed(Ink::Grid, 1.2));
    c.finish()
}

/// A wing half from above: along, chord, leading edge, sweep.
pub(super) fn plan() -> String {
    let mut c = canvas(
        170.0,
        "A wing half from above",
        "Along runs from the root to the tip on the surface, the chord from leading to trailing edge, x from the datum to the leading edge.",
    );
    c.path(&[[60.0, 50.0], [270.0, 72.0], [270.0, 120.0], [60.0, 130.0]], true, outline());
    c.line([60.0, 10.0], [60.0, 165.0], dashed(Ink::Plain, 1.2));
    c.words([64.0, 163.0], TEXT, Anchor::Start, "root");
    c.words([262.0, 140.0], TEXT, Anchor::Middle, "tip");
    c.line([30.0, 12.0], [100.0, 12.0], pen(Ink::B, 2.0));
    c.text([104.0, 16.0], TEXT, Anchor::Start, Ink::B, true, "datum");
    between(&mut c, [48.0, 12.0], [48.0, 50.0], "x");
    between(&mut c, [82.0, 52.0], [82.0, 129.0], "chord");
    between(&mut c, [60.0, 108.0], [270.0, 100.0], "along");
    c.line([60.0, 50.0], [285.0, 50.0], dashed(Ink::Grid, 1.2));
    between(&mut c, [240.0, 50.0], [240.0, 69.0], "sweep");
    c.finish()
}

/// Dihedral from ahead.
pub(super) fn dihedral() -> String {
    let mut c =
        canvas(110.0, "Dihedral from ahead", "The angle of a panel against the level, tip up positive.");
    c.line([150.0, 80.0], [285.0, 52.0], pen(Ink::Plain, 3.0));
    c.line([150.0, 80.0], [15.0, 52.0], pen(Ink::Plain, 3.0));
    c.ellipse([150.0, 84.0], [14.0, 14.0], outline());
    c.line([150.0, 80.0], [285.0, 80.0], dashed(Ink::Grid, 1.4));
    c.arrow([262.0, 80.0], [262.0, 58.0], pen(Ink::A, 1.6));
    c.text([285.0, 98.0], TEXT, Anchor::End, Ink::A, true, "dihedral, up +");
    c.finish()
}

fn section(at: [f64; 2], chord: f64, turned: f64) -> Vec<[f64; 2]> {
    const SHAPE: [[f64; 2]; 14] = [
        [0.0, 0.0],
        [0.05, 0.05],
        [0.15, 0.085],
        [0.3, 0.1],
        [0.5, 0.085],
        [0.75, 0.045],
        [1.0, 0.0],
        [1.0, 0.0],
        [0.75, -0.01],
        [0.5, -0.025],
        [0.3, -0.035],
        [0.15, -0.035],
        [0.05, -0.025],
        [0.0, 0.0],
    ];
    let (sin, cos) = turned.sin_cos();
    SHAPE
        .iter()
        .map(|[x, z]| [at[0] + chord * (x * cos + z * sin), at[1] - chord * (z * cos - x * sin)])
        .collect()
}

/// Twist from the left.
pub(super) fn twist() -> String {
    let mut c = canvas(
        120.0,
        "Twist from the left",
        "The chord's angle against the line of the fuselage, leading edge up positive.",
    );
    c.path(&section([50.0, 62.0], 190.0, 0.16), true, outline());
    c.line([50.0, 62.0], [240.0, 62.0 + 190.0 * 0.16], dashed(Ink::Plain, 1.2));
    c.line([20.0, 62.0 + 190.0 * 0.16], [285.0, 62.0 + 190.0 * 0.16], dashed(Ink::Grid, 1.4));
    c.words([20.0, 112.0], TEXT, Anchor::Start, "line of the fuselage");
    c.arrow([42.0, 92.0], [42.0, 62.0], pen(Ink::A, 1.6));
    c.text([20.0, 52.0], TEXT, Anchor::Start, Ink::A, true, "twist +");
    c.finish()
}

/// Throw of a movable part.
pub(super) fn throw() -> String {
    let mut c = canvas(
        140.0,
        "Throw",
        "The trailing edge moves up and down about the hinge; in degrees about the hinge, or in millimeters straight from where it was.",
    );
    c.path(&[[20.0, 68.0], [60.0, 52.0], [175.0, 58.0], [175.0, 78.0], [60.0, 80.0]], true, outline());
    c.disc([180.0, 68.0], 4.0, Ink::B);
    c.text([168.0, 98.0], TEXT, Anchor::Middle, Ink::B, true, "hinge");
    c.path(&[[180.0, 58.0], [272.0, 67.0], [272.0, 69.0], [180.0, 78.0]], true, dashed(Ink::Plain, 1.4));
    c.path(&[[184.0, 57.0], [266.0, 26.0], [267.0, 28.0], [186.0, 76.0]], true, outline());
    between(&mut c, [272.0, 68.0], [267.0, 27.0], "up");
    c.arrow([272.0, 68.0], [266.0, 108.0], pen(Ink::A, 1.6));
    c.text([248.0, 122.0], TEXT, Anchor::Start, Ink::A, true, "down");
    c.words([20.0, 30.0], TEXT, Anchor::Start, "chord of the movable part:");
    c.words([20.0, 44.0], TEXT, Anchor::Start, "hinge to trailing edge");
    c.finish()
}

/// Servo arm, rod and horn.
pub(super) fn linkage() -> String {
    let mut c = canvas(140.0, "Linkage", "Servo arm, base between servo and hinge, horn on the surface.");
    c.path(&[[30.0, 80.0], [80.0, 80.0], [80.0, 112.0], [30.0, 112.0]], true, outline());
    c.words([34.0, 128.0], TEXT, Anchor::Start, "servo");
    c.disc([55.0, 80.0], 4.0, Ink::Plain);
    c.line([55.0, 80.0], [55.0, 38.0], pen(Ink::Plain, 3.0));
    c.disc([230.0, 80.0], 4.0, Ink::B);
    c.path(&[[224.0, 74.0], [290.0, 79.0], [290.0, 81.0], [224.0, 86.0]], true, outline());
    c.line([230.0, 80.0], [230.0, 30.0], pen(Ink::Plain, 3.0));
    c.line([55.0, 38.0], [230.0, 30.0], pen(Ink::Plain, 1.6));
    between(&mut c, [40.0, 80.0], [40.0, 38.0], "arm");
    between(&mut c, [248.0, 78.0], [248.0, 30.0], "horn");
    between(&mut c, [55.0, 100.0], [230.0, 100.0], "base");
    c.finish()
}

/// How the balance point is measured.
pub(super) fn balance() -> String {
    let mut c = canvas(
        150.0,
        "Measuring the balance point",
        "The model rests level on two supports under the wing roots; the balance point is measured from the datum to the supports.",
    );
    c.path(
        &[
            [20.0, 72.0],
            [50.0, 56.0],
            [140.0, 54.0],
            [280.0, 66.0],
            [280.0, 74.0],
            [140.0, 92.0],
            [50.0, 90.0],
        ],
        true,
        outline(),
    );
    c.path(&[[95.0, 60.0], [102.0, 54.0], [160.0, 59.0]], true, outline());
    c.path(&[[117.0, 93.0], [108.0, 132.0], [126.0, 132.0]], true, pen(Ink::B, 2.0));
    c.line([117.0, 93.0], [117.0, 20.0], dashed(Ink::Grid, 1.2));
    c.line([20.0, 72.0], [20.0, 20.0], dashed(Ink::Grid, 1.2));
    between(&mut c, [20.0, 32.0], [117.0, 32.0], "balance point");
    c.line([60.0, 133.0], [180.0, 133.0], outline());
    c.words([134.0, 125.0], TEXT, Anchor::Start, "supports, model level");
    c.finish()
}

/// Two scales.
pub(super) fn scales() -> String {
    let mut c = canvas(
        150.0,
        "Two scales",
        "A scale under each of two supports; both places are measured from the datum.",
    );
    c.path(
        &[
            [20.0, 62.0],
            [50.0, 46.0],
            [140.0, 44.0],
            [280.0, 56.0],
            [280.0, 64.0],
            [140.0, 82.0],
            [50.0, 80.0],
        ],
        true,
        outline(),
    );
    for (x, name) in [(80.0, "front"), (240.0, "rear")] {
        c.line([x, if x < 100.0 { 81.0 } else { 70.0 }], [x, 108.0], pen(Ink::B, 2.4));
        c.path(
            &[[x - 30.0, 108.0], [x + 30.0, 108.0], [x + 30.0, 124.0], [x - 30.0, 124.0]],
            true,
            outline(),
        );
        c.words([x, 140.0], TEXT, Anchor::Middle, name);
    }
    c.line([20.0, 62.0], [20.0, 12.0], dashed(Ink::Grid, 1.2));
    between(&mut c, [20.0, 20.0], [80.0, 20.0], "front x");
    between(&mut c, [20.0, 36.0], [240.0, 36.0], "rear x");
    c.finish()
}

/// A swing on two strings.
pub(super) fn swing() -> String {
    let mut c = canvas(
        140.0,
        "Swing on two strings",
        "The model hangs level on two parallel strings and turns a little to and fro about the upright axis.",
    );
    c.line([60.0, 14.0], [240.0, 14.0], pen(Ink::Plain, 3.0));
    c.line([100.0, 14.0], [100.0, 100.0], outline());
    c.line([200.0, 14.0], [200.0, 100.0], outline());
    c.path(
        &[[30.0, 104.0], [70.0, 98.0], [240.0, 100.0], [275.0, 105.0], [240.0, 112.0], [70.0, 112.0]],
        true,
        outline(),
    );
    between(&mut c, [100.0, 86.0], [200.0, 86.0], "between");
    between(&mut c, [216.0, 14.0], [216.0, 98.0], "length");
    c.text([150.0, 132.0], TEXT, Anchor::Middle, Ink::B, true, "turn to and fro");
    c.finish()
}
