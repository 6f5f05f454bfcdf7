//! Where does it balance, and what do the signs and numbers of the drawing stand for?

use aircraft::Aircraft;
use aircraft::surface::Station;
use plan::number;

use super::{TEXT, WIDTH, mm};
use crate::svg::{Anchor, Canvas, Ink, pen, wrapped};

/// The usual sign of a balance point: a disc with two dark and two light quarters.
pub(super) fn balance_point(canvas: &mut Canvas, at: [f64; 2], radius: f64) {
    canvas.blank_disc(at, radius);
    for quarter in [0.0, 2.0] {
        let mut points = vec![at];
        for i in 0..=8 {
            let angle = (quarter + f64::from(i) / 8.0) * std::f64::consts::FRAC_PI_2;
            points.push([at[0] + radius * angle.cos(), at[1] + radius * angle.sin()]);
        }
        canvas.area(&points, Ink::Plain, 1.0);
    }
    canvas.circle(at, radius, pen(Ink::Plain, 1.4));
}

/// The sign of the neutral point.
pub(super) fn diamond(canvas: &mut Canvas, at: [f64; 2], r: f64) {
    let shape = [[at[0], at[1] - r], [at[0] + r, at[1]], [at[0], at[1] + r], [at[0] - r, at[1]]];
    canvas.blank(&shape);
    canvas.path(&shape, true, pen(Ink::C, 2.0));
}

/// The balance enlarged: root chord, range, balance point and neutral point along x.
pub(super) fn balance_strip(
    canvas: &mut Canvas,
    aircraft: &Aircraft,
    top: f64,
    cg_x_m: Option<f64>,
    neutral_point_x_m: Option<f64>,
    range_x_m: Option<[f64; 2]>,
) -> f64 {
    if cg_x_m.is_none() && neutral_point_x_m.is_none() && range_x_m.is_none() {
        return top;
    }
    let root = aircraft.wing().and_then(|w| w.stations.first());
    let mut ends: Vec<f64> =
        root.map(|r| vec![r.leading_edge_m.x, r.leading_edge_m.x + r.chord_m]).unwrap_or_default();
    ends.extend(cg_x_m);
    ends.extend(neutral_point_x_m);
    ends.extend(range_x_m.into_iter().flatten());
    ends.retain(|e| e.is_finite());
    let (low, high) =
        ends.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), e| (l.min(*e), h.max(*e)));
    if high.partial_cmp(&low) != Some(std::cmp::Ordering::Greater) {
        return top;
    }
    let (left, right) = (34.0, WIDTH - 34.0);
    let place = |x: f64| left + (x - low) / (high - low) * (right - left);
    canvas.text(
        [10.0, top + 12.0],
        TEXT,
        Anchor::Start,
        Ink::Plain,
        true,
        "Balance along the root chord, enlarged",
    );
    let y = top + 46.0;
    if let Some(root) = root {
        let (front, back) = (place(root.leading_edge_m.x), place(root.leading_edge_m.x + root.chord_m));
        let chord = back - front;
        // A wing section's outline in general (the NACA thickness law at 10 %), only to show which end is the nose.
        let half = |t: f64| {
            5.0 * 0.10
                * (0.2969 * t.sqrt() - 0.126 * t - 0.3516 * t * t + 0.2843 * t.powi(3) - 0.1036 * t.powi(4))
        };
        let edge = |sign: f64| {
            (0..=30).map(move |i| {
                let t = (f64::from(i) / 30.0).powi(2);
                [front + t * chord, y + sign * half(t) * chord]
            })
        };
        let shape: Vec<[f64; 2]> = edge(-1.0).chain(edge(1.0).rev()).collect();
        canvas.path(&shape, true, pen(Ink::Plain, 1.3));
        let from = mm(root.leading_edge_m.x);
        let to = mm(root.leading_edge_m.x + root.chord_m);
        canvas.words([front, y - 20.0], TEXT, Anchor::Middle, &from);
        canvas.words([back, y - 20.0], TEXT, Anchor::Middle, &to);
    }
    if let Some([forward, aft]) = range_x_m.filter(|r| r.iter().all(|v| v.is_finite())) {
        let (from, to) = (place(forward), place(aft));
        let shape = [[from, y - 8.0], [to, y - 8.0], [to, y + 8.0], [from, y + 8.0]];
        canvas.area(&shape, Ink::A, 0.22);
        canvas.path(&shape, true, pen(Ink::A, 1.8));
    }
    if let Some(np) = neutral_point_x_m {
        diamond(canvas, [place(np), y], 6.0);
    }
    if let Some(cg) = cg_x_m {
        balance_point(canvas, [place(cg), y], 7.0);
    }
    let mut row = y + 36.0;
    let mut said = |canvas: &mut Canvas, sign: &dyn Fn(&mut Canvas, [f64; 2]), words: String| {
        sign(canvas, [22.0, row - 4.0]);
        canvas.words([38.0, row], TEXT, Anchor::Start, &words);
        row += 18.0;
    };
    if let Some(cg) = cg_x_m {
        said(
            canvas,
            &|c, at| balance_point(c, at, 6.0),
            format!("balance point (CG) {} from the datum", mm(cg)),
        );
    }
    if let Some(np) = neutral_point_x_m {
        said(canvas, &|c, at| diamond(c, at, 5.0), format!("neutral point (NP) {}", mm(np)));
    }
    if let Some([forward, aft]) = range_x_m {
        said(
            canvas,
            &|c, at| {
                let shape = [
                    [at[0] - 8.0, at[1] - 5.0],
                    [at[0] + 8.0, at[1] - 5.0],
                    [at[0] + 8.0, at[1] + 5.0],
                    [at[0] - 8.0, at[1] + 5.0],
                ];
                c.area(&shape, Ink::A, 0.22);
                c.path(&shape, true, pen(Ink::A, 1.6));
            },
            format!("range of the balance point {} to {}", mm(forward), mm(aft)),
        );
    }
    for line in wrapped(&format!("Datum: {}", aircraft.datum), TEXT, WIDTH - 50.0) {
        canvas.words([38.0, row], TEXT, Anchor::Start, &line);
        row += 16.0;
    }
    row - 6.0
}

/// What the numbers and signs stand for, and the chords that have no dimension line.
pub(super) fn key(canvas: &mut Canvas, aircraft: &Aircraft, top: f64) -> f64 {
    let mut y = top;
    let mut say = |canvas: &mut Canvas, words: &str| {
        for (i, line) in wrapped(words, TEXT, WIDTH - 30.0).iter().enumerate() {
            y += 16.0;
            canvas.words([if i == 0 { 10.0 } else { 22.0 }, y], TEXT, Anchor::Start, line);
        }
    };
    for surface in &aircraft.surfaces {
        let list = |get: fn(&Station) -> f64| {
            surface.stations.iter().map(|s| mm(get(s))).collect::<Vec<_>>().join(", ")
        };
        say(
            canvas,
            &format!("{}: chord {} at {} along it", surface.name, list(|s| s.chord_m), list(|s| s.along_m)),
        );
    }
    if let Some(drive) = &aircraft.drive {
        say(
            canvas,
            &format!(
                "{} of {} mm (thick line, dashed circle)",
                if drive.hubs_m.len() > 1 { "propellers" } else { "propeller" },
                mm(drive.propeller.diameter_m)
            ),
        );
    }
    for (i, item) in aircraft.masses.iter().enumerate() {
        say(
            canvas,
            &format!(
                "{} {}: {} g at {}{}",
                i + 1,
                item.name,
                number::fixed(item.mass_kg.value * 1000.0, 0),
                mm(item.at_m.x),
                if item.mirrored { ", both together" } else { "" }
            ),
        );
    }
    y
}
