//! What is the evidence? The flight over time with its phases, its track, the wind's circle, level attitude, trims.

use fly::phases::{Phase, PhaseKind};
use fly::recording::{Quantity, Recording};
use learn::findings::{LevelAttitude, Trim, Wind};
use numerics::geodesy::LocalPlane;

use crate::plot::{Arrow, Circle, Look, Plot, ticks};
use crate::svg::{Anchor, Canvas, Ink, pen};

/// More points than this are not seen at the size drawn.
const MOST_POINTS: usize = 700;

const KINDS: [PhaseKind; 12] = [
    PhaseKind::Ground,
    PhaseKind::Launch,
    PhaseKind::Climb,
    PhaseKind::Straight,
    PhaseKind::Turn,
    PhaseKind::Input,
    PhaseKind::Stall,
    PhaseKind::Glide,
    PhaseKind::Approach,
    PhaseKind::Landing,
    PhaseKind::Impact,
    PhaseKind::Other,
];

fn thinned<T: Copy>(values: &[T]) -> Vec<T> {
    let stride = values.len().div_ceil(MOST_POINTS).max(1);
    values.iter().step_by(stride).copied().collect()
}

/// Time and height above the launch point, or above the first height there is.
fn heights(recording: &Recording) -> Vec<[f64; 2]> {
    let pairs = |quantity: &Quantity| -> Option<Vec<[f64; 2]>> {
        let channel = recording.channel(quantity)?;
        Some(channel.time_s.iter().zip(&channel.values).map(|(t, v)| [*t, *v]).collect())
    };
    if let Some(heights) = pairs(&Quantity::Height) {
        return thinned(&heights);
    }
    let Some(altitudes) = pairs(&Quantity::Altitude) else {
        return Vec::new();
    };
    let ground = altitudes.iter().map(|p| p[1]).find(|v| v.is_finite()).unwrap_or(0.0);
    thinned(&altitudes).into_iter().map(|[t, v]| [t, v - ground]).collect()
}

/// The flight over time: height above, a row for each kind of phase beneath.
#[must_use]
pub fn time_line(recording: &Recording, phases: &[Phase]) -> String {
    const WIDTH: f64 = 400.0;
    const LEFT: f64 = 66.0;
    const RIGHT: f64 = 12.0;
    const TEXT: f64 = 13.0;
    const ROW: f64 = 19.0;
    let mut canvas = Canvas::new(
        WIDTH,
        60.0,
        "The flight over time",
        "Height over time, and which phase the flight was in when.",
    );
    canvas.text([10.0, 24.0], TEXT + 1.0, Anchor::Start, Ink::Plain, true, "The flight over time");
    let ends = recording
        .span_s()
        .into_iter()
        .flat_map(|(a, b)| [a, b])
        .chain(phases.iter().flat_map(|p| [p.window.from_s, p.window.to_s]))
        .filter(|t| t.is_finite());
    let (from, to) = ends.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), t| (l.min(t), h.max(t)));
    if to.partial_cmp(&from) != Some(std::cmp::Ordering::Greater) {
        canvas.words([10.0, 46.0], TEXT, Anchor::Start, "The recording has no length.");
        return canvas.finish();
    }
    let x = |t: f64| LEFT + (t - from) / (to - from) * (WIDTH - LEFT - RIGHT);
    let heights = heights(recording);
    let (top, bottom) = (36.0, 146.0);
    let (low, high) = heights
        .iter()
        .map(|p| p[1])
        .filter(|v| v.is_finite())
        .fold((0.0_f64, 1.0_f64), |(l, h), v| (l.min(v), h.max(v)));
    let y = |v: f64| bottom - (v - low) / (high - low) * (bottom - top);
    let kinds: Vec<PhaseKind> =
        KINDS.into_iter().filter(|kind| phases.iter().any(|p| p.kind == *kind)).collect();
    let rows_top = bottom + 14.0;
    let rows_bottom = rows_top + ROW * kinds.len() as f64;
    for (time, text) in ticks([from, to], 6) {
        canvas.line([x(time), top], [x(time), rows_bottom], pen(Ink::Grid, 0.8));
        canvas.words([x(time), rows_bottom + 16.0], TEXT, Anchor::Middle, &text);
    }
    if heights.is_empty() {
        canvas.words([LEFT + 8.0, 90.0], TEXT, Anchor::Start, "The recording has no height.");
    } else {
        for (value, text) in ticks([low, high], 4) {
            canvas.line([LEFT, y(value)], [WIDTH - RIGHT, y(value)], pen(Ink::Grid, 0.8));
            canvas.words([LEFT - 5.0, y(value) + 4.0], TEXT, Anchor::End, &text);
        }
        let points: Vec<[f64; 2]> = heights.iter().map(|p| [x(p[0]), y(p[1])]).collect();
        canvas.path(&points, false, pen(Ink::A, 2.2));
        canvas.words_upward([14.0, 0.5 * (top + bottom)], TEXT, "Height, m");
    }
    for (row, kind) in kinds.iter().enumerate() {
        let row_top = rows_top + row as f64 * ROW;
        canvas.words([LEFT - 5.0, row_top + 13.0], TEXT, Anchor::End, kind.word());
        canvas.line([LEFT, row_top + ROW], [WIDTH - RIGHT, row_top + ROW], pen(Ink::Grid, 0.8));
        for phase in phases.iter().filter(|p| p.kind == *kind) {
            let (a, b) = (x(phase.window.from_s), x(phase.window.to_s).max(x(phase.window.from_s) + 1.2));
            // What is less sure is drawn lower.
            let height = (ROW - 6.0) * phase.confidence.clamp(0.3, 1.0);
            let shape = [
                [a, row_top + ROW - 2.0 - height],
                [b, row_top + ROW - 2.0 - height],
                [b, row_top + ROW - 2.0],
                [a, row_top + ROW - 2.0],
            ];
            canvas.area(&shape, Ink::B, 1.0);
        }
    }
    canvas.path(
        &[[LEFT, top], [LEFT, rows_bottom], [WIDTH - RIGHT, rows_bottom]],
        false,
        pen(Ink::Plain, 1.6),
    );
    canvas.words([0.5 * (LEFT + WIDTH - RIGHT), rows_bottom + 34.0], TEXT, Anchor::Middle, "Time, s");
    canvas.set_height(rows_bottom + 44.0);
    canvas.finish()
}

/// The track over the field, north up; none without positions.
#[must_use]
pub fn track(recording: &Recording, wind: Option<&Wind>) -> Option<String> {
    let latitude = recording.channel(&Quantity::Latitude)?;
    let longitude = recording.channel(&Quantity::Longitude)?;
    let places: Vec<(f64, f64)> = latitude
        .values
        .iter()
        .zip(&longitude.values)
        .map(|(a, b)| (*a, *b))
        .filter(|(a, b)| a.is_finite() && b.is_finite())
        .collect();
    let (first_latitude, first_longitude) = *places.first()?;
    let plane = LocalPlane::at(first_latitude, first_longitude);
    let points: Vec<[f64; 2]> = thinned(&places)
        .into_iter()
        .map(|(a, b)| {
            let (north, east) = plane.north_east_m(a, b);
            [east, north]
        })
        .collect();
    let (begin, end) = (*points.first()?, *points.last()?);
    let (low, high) = points.iter().fold(([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]), |(l, h), p| {
        ([l[0].min(p[0]), l[1].min(p[1])], [h[0].max(p[0]), h[1].max(p[1])])
    });
    let size = (high[0] - low[0]).max(high[1] - low[1]);
    let mut plot = Plot::new(
        "Track over the field, north up",
        "The path of the model over the ground from where the recording begins.",
        "East, m",
        "North, m",
    )
    .with("track", Look::Line, points)
    .with("begin", Look::Points, vec![begin])
    .with("end", Look::Points, vec![end]);
    plot.equal = true;
    if let Some(wind) = wind {
        let [north, east] = wind.velocity_m_s;
        let speed = north.hypot(east);
        if speed > 0.0 && size > 0.0 {
            let length = 0.16 * size;
            let middle = [low[0] - 0.02 * size, high[1] + 0.10 * size];
            let half = [0.5 * length * east / speed, 0.5 * length * north / speed];
            plot.arrows.push(Arrow {
                name: "where the wind goes".to_owned(),
                from: [middle[0] - half[0], middle[1] - half[1]],
                to: [middle[0] + half[0], middle[1] + half[1]],
            });
        }
    }
    Some(plot.draw())
}

/// Ground velocities with the circle that fits them: its center is the wind, its radius the airspeed.
#[must_use]
pub fn wind_circle(wind: &Wind) -> String {
    let points: Vec<[f64; 2]> =
        wind.ground_velocity_m_s.iter().map(|[north, east]| [*east, *north]).collect();
    let [north, east] = wind.velocity_m_s;
    let mut plot = Plot::new(
        "Ground velocity in all directions, and the wind",
        "Velocities over ground lie on a circle around the wind; its radius is the airspeed.",
        "Towards east, m/s",
        "Towards north, m/s",
    )
    .with("velocity over ground", Look::Points, thinned(&points));
    plot.equal = true;
    plot.circles.push(Circle {
        name: "circle of one airspeed".to_owned(),
        center: [east, north],
        radius: wind.airspeed_m_s.value,
    });
    plot.arrows.push(Arrow { name: "wind".to_owned(), from: [0.0, 0.0], to: [east, north] });
    plot.draw()
}

/// Climb rate over pitch reading, and where it is zero.
#[must_use]
pub fn level_attitude(level: &LevelAttitude) -> String {
    let points: Vec<[f64; 2]> = level.points.iter().map(|p| [p[0], p[1]]).collect();
    let at = level.reading_deg.value;
    let mut plot = Plot::new(
        "Climb over pitch reading",
        "Mean climb rate of each straight window over its mean pitch reading, and the reading at which height holds.",
        "Pitch reading, °",
        "Climb rate, m/s",
    )
    .with("a straight window", Look::Points, points.clone());
    // The line through the reading found, with the slope that the windows show about it (least squares).
    let (sxy, sxx) = points
        .iter()
        .filter(|p| p.iter().all(|v| v.is_finite()))
        .fold((0.0, 0.0), |(xy, xx), p| (xy + (p[0] - at) * p[1], xx + (p[0] - at).powi(2)));
    let ends = points
        .iter()
        .map(|p| p[0])
        .filter(|x| x.is_finite())
        .fold((at, at), |(l, h), x| (l.min(x), h.max(x)));
    if sxx > 0.0 && at.is_finite() {
        let slope = sxy / sxx;
        plot = plot.with(
            "fit",
            Look::Line,
            vec![[ends.0, slope * (ends.0 - at)], [ends.1, slope * (ends.1 - at)]],
        );
    }
    plot.mark("height holds", at, 2.0 * level.reading_deg.sd).draw()
}

/// Window means of one servo's pulse less the file's center, with their mean and its doubt.
#[must_use]
pub fn trim(trim: &Trim) -> Option<String> {
    let finite: Vec<f64> = trim.points_us.iter().copied().filter(|v| v.is_finite()).collect();
    if finite.is_empty() {
        return None;
    }
    let mean = finite.iter().sum::<f64>() / finite.len() as f64;
    let center = mean - trim.us.value;
    let points = finite.iter().enumerate().map(|(i, v)| [i as f64 + 1.0, v - center]).collect();
    let last = finite.len() as f64 + 0.5;
    let (low, high) = (trim.us.value - 2.0 * trim.us.sd, trim.us.value + 2.0 * trim.us.sd);
    let mut plot = Plot::new(
        &format!("Trim of {}", trim.surface),
        "Mean pulse of each straight window less the center in the file, the mean of all and its doubt.",
        "Window",
        "Pulse less center, µs",
    )
    .with("", Look::Band, vec![[0.5, high], [last, high], [last, low], [0.5, low]])
    .with("mean ± 2 sd", Look::Line, vec![[0.5, trim.us.value], [last, trim.us.value]])
    .with("a window", Look::Points, points);
    plot.from_zero = true;
    Some(plot.draw())
}
