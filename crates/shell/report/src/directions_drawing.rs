//! Which way must every surface move? The aircraft from behind, once for each stick and each disturbance, with an arrow at
//! every trailing edge that answers.

use aircraft::Aircraft;
use numerics::Vec3;
use plan::directions::{Line, disturbances, lines, word};

use crate::svg::{Anchor, Canvas, Ink, pen};

/// Width of one small picture, and its height without words.
const WIDE: f64 = 330.0;
const TALL: f64 = 190.0;
/// Pictures side by side.
const COLUMNS: usize = 2;

/// The surface direction check as a drawing.
#[must_use]
pub fn directions_svg(aircraft: &Aircraft, cg_m: Vec3) -> String {
    let sticks = lines(aircraft, cg_m);
    let turns = disturbances(aircraft, cg_m);
    let all: Vec<(&Line, &str)> = sticks
        .iter()
        .map(|l| (l, "switch on direct"))
        .chain(turns.iter().map(|l| (l, "stick at rest, switch on rate or level")))
        .collect();
    let rows = all.len().div_ceil(COLUMNS);
    let said: Vec<String> = all.iter().map(|(l, _)| format!("{}: {}", l.stick, l.answers())).collect();
    let mut canvas = Canvas::new(
        WIDE * COLUMNS as f64,
        40.0 + TALL * rows as f64,
        &format!("Surface direction check of {}", aircraft.name),
        &format!("Seen from behind. {}.", said.join(". ")),
    );
    canvas.words(
        [10.0, 24.0],
        15.0,
        Anchor::Start,
        &format!("{}, from behind. Propeller off. Arrows: the trailing edge.", aircraft.name),
    );
    for (i, (line, how)) in all.iter().enumerate() {
        let origin = [WIDE * (i % COLUMNS) as f64, 40.0 + TALL * (i / COLUMNS) as f64];
        picture(&mut canvas, aircraft, line, how, origin);
    }
    canvas.finish()
}

/// The same, a drawing for each stick and each disturbance, with its name ("Stick right").
#[must_use]
pub fn direction_svgs(aircraft: &Aircraft, cg_m: Vec3) -> Vec<(&'static str, String)> {
    let sticks = lines(aircraft, cg_m);
    let turns = disturbances(aircraft, cg_m);
    let one = |line: &Line, how: &str| {
        let title = format!("{}, {how}", line.stick);
        let mut canvas = Canvas::new(
            WIDE,
            TALL,
            &title,
            &format!("Seen from behind. {}: {}.", line.stick, line.answers()),
        );
        picture(&mut canvas, aircraft, line, how, [0.0, 0.0]);
        (line.stick, canvas.finish())
    };
    sticks
        .iter()
        .map(|line| one(line, "switch on direct"))
        .chain(turns.iter().map(|line| one(line, "stick at rest, switch on rate or level")))
        .collect()
}

fn picture(canvas: &mut Canvas, aircraft: &Aircraft, line: &Line, how: &str, origin: [f64; 2]) {
    canvas.text([origin[0] + 10.0, origin[1] + 18.0], 16.0, Anchor::Start, Ink::Plain, true, line.stick);
    canvas.words([origin[0] + 10.0, origin[1] + 35.0], 12.0, Anchor::Start, how);
    // Span across the picture; heights twice as large, so that a flat wing and a tail behind it come apart.
    let ends = || aircraft.surfaces.iter().flat_map(|s| s.stations.iter().map(|p| p.leading_edge_m));
    let half = ends().map(|p| p.y.abs()).fold(0.05, f64::max);
    let (low, high) = ends().map(|p| p.z).fold((0.0_f64, 0.0_f64), |(l, h), z| (l.min(z), h.max(z)));
    let scale = (0.5 * WIDE - 34.0) / half;
    let tall = (1.6 * scale).min(70.0 / (high - low).max(0.01));
    let place = |p: Vec3| [origin[0] + 0.5 * WIDE + p.y * scale, origin[1] + 118.0 - (p.z - low) * tall];
    for surface in &aircraft.surfaces {
        for side in if surface.mirrored { &[1.0, -1.0][..] } else { &[1.0][..] } {
            let points: Vec<[f64; 2]> = surface
                .stations
                .iter()
                .map(|s| place(Vec3::new(0.0, s.leading_edge_m.y * side, s.leading_edge_m.z)))
                .collect();
            canvas.path(&points, false, pen(Ink::Plain, 3.0));
        }
    }
    canvas.circle(place(Vec3::new(0.0, 0.0, 0.5 * low)), 7.0, pen(Ink::Plain, 2.0));
    for panel in &line.panels {
        let from = place(panel.at_m);
        let way = match word(panel.trailing_edge) {
            "up" => [0.0, -1.0],
            "down" => [0.0, 1.0],
            "right" => [1.0, 0.0],
            _ => [-1.0, 0.0],
        };
        let to = [from[0] + 30.0 * way[0], from[1] + 30.0 * way[1]];
        canvas.arrow(from, to, pen(Ink::B, 4.0));
    }
    // Words stand as the panels do: the left one on the left.
    let mut panels: Vec<_> = line.panels.iter().collect();
    panels.sort_by(|a, b| a.at_m.y.total_cmp(&b.at_m.y));
    for (row, panel) in panels.into_iter().enumerate() {
        let at = [origin[0] + 10.0 + 155.0 * (row % 2) as f64, origin[1] + 160.0 + 15.0 * (row / 2) as f64];
        let words = format!("{} {}", panel.panel, word(panel.trailing_edge));
        canvas.words(at, 12.0, Anchor::Start, &words);
    }
}
