//! How is a curve shown? A plot with its title, axes named with units, nice ticks, several series, marks and a legend.

use plan::number;

use crate::svg::{Anchor, Canvas, Ink, Pen, dashed, pen, width_of, wrapped};

const WIDTH: f64 = 400.0;
const TEXT: f64 = 13.0;
const LEFT: f64 = 54.0;
const RIGHT: f64 = 14.0;
const BOTTOM: f64 = 44.0;

/// A plot to draw.
#[derive(Debug, Clone, PartialEq)]
pub struct Plot {
    /// Its title.
    pub title: String,
    /// What it shows, in a sentence, for those who do not see it.
    pub description: String,
    /// Name and unit of the x axis, "Airspeed, m/s".
    pub x: String,
    /// Name and unit of the y axis.
    pub y: String,
    /// Series, drawn in order.
    pub series: Vec<Series>,
    /// Marked values along x, with what they are.
    pub marks: Vec<Mark>,
    /// Circles, with what they are; only round where `equal`.
    pub circles: Vec<Circle>,
    /// Arrows, with what they are.
    pub arrows: Vec<Arrow>,
    /// Whether a unit is as long along y as along x.
    pub equal: bool,
    /// Whether zero belongs to the y axis whatever the data.
    pub from_zero: bool,
}

/// A series.
#[derive(Debug, Clone, PartialEq)]
pub struct Series {
    /// What it is, for the legend.
    pub name: String,
    /// How it is drawn.
    pub look: Look,
    /// Points; those that are not numbers break the line.
    pub points: Vec<[f64; 2]>,
}

/// How a series is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Look {
    /// A line; the second and later lines of a plot are dashed, each in its own way.
    Line,
    /// A thin line, for many paths of a kind; the first series of a plot solid, the others dashed each in its own way.
    Thin,
    /// Single points; each series has its own shape.
    Points,
    /// An area: the points of its upper edge, then of its lower edge backwards.
    Band,
}

/// A value marked along x.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    /// What it is.
    pub name: String,
    /// Where.
    pub at: f64,
    /// Half the width of its band of doubt (two standard deviations), zero for none.
    pub doubt: f64,
}

/// A circle.
#[derive(Debug, Clone, PartialEq)]
pub struct Circle {
    /// What it is.
    pub name: String,
    /// Its center.
    pub center: [f64; 2],
    /// Its radius.
    pub radius: f64,
}

/// An arrow.
#[derive(Debug, Clone, PartialEq)]
pub struct Arrow {
    /// What it is.
    pub name: String,
    /// From.
    pub from: [f64; 2],
    /// To.
    pub to: [f64; 2],
}

impl Plot {
    /// An empty plot.
    #[must_use]
    pub fn new(title: &str, description: &str, x: &str, y: &str) -> Self {
        Self {
            title: title.to_owned(),
            description: description.to_owned(),
            x: x.to_owned(),
            y: y.to_owned(),
            series: Vec::new(),
            marks: Vec::new(),
            circles: Vec::new(),
            arrows: Vec::new(),
            equal: false,
            from_zero: false,
        }
    }

    /// With one more series.
    #[must_use]
    pub fn with(mut self, name: &str, look: Look, points: Vec<[f64; 2]>) -> Self {
        self.series.push(Series { name: name.to_owned(), look, points });
        self
    }

    /// With one more marked value.
    #[must_use]
    pub fn mark(mut self, name: &str, at: f64, doubt: f64) -> Self {
        self.marks.push(Mark { name: name.to_owned(), at, doubt });
        self
    }

    /// The plot as one self-contained SVG. Says so where there is nothing to draw.
    #[must_use]
    pub fn draw(&self) -> String {
        let mut canvas = Canvas::new(WIDTH, 100.0, &self.title, &self.description);
        let mut top = 8.0;
        for line in wrapped(&self.title, TEXT + 1.0, WIDTH - 20.0) {
            top += TEXT + 4.0;
            canvas.text([10.0, top], TEXT + 1.0, Anchor::Start, Ink::Plain, true, &line);
        }
        let Some((x_range, y_range)) = self.ranges() else {
            canvas.set_height(top + 30.0);
            canvas.words([10.0, top + 20.0], TEXT, Anchor::Start, "No data to draw.");
            return canvas.finish();
        };
        top = self.legend(&mut canvas, top + 6.0);
        let mark_rows = self.mark_rows(x_range);
        let rows = mark_rows.iter().map(|(_, row)| row + 1).max().unwrap_or(0);
        top += 8.0 + rows as f64 * (TEXT + 3.0);
        let inner_height = if self.equal { WIDTH - LEFT - RIGHT } else { 210.0 };
        let bottom = top + inner_height;
        canvas.set_height(bottom + BOTTOM);
        let frame = Frame { x: x_range, y: y_range, top, bottom };
        self.axes(&mut canvas, &frame);
        for (mark, row) in &mark_rows {
            let x = frame.place([mark.at, y_range[0]])[0];
            if mark.doubt > 0.0 {
                let left = frame.place([(mark.at - mark.doubt).max(x_range[0]), 0.0])[0];
                let right = frame.place([(mark.at + mark.doubt).min(x_range[1]), 0.0])[0];
                canvas.area(&[[left, top], [right, top], [right, bottom], [left, bottom]], Ink::Grid, 0.45);
            }
            let label_y = top - 5.0 - *row as f64 * (TEXT + 3.0);
            canvas.line([x, label_y + 2.0], [x, bottom], dashed(Ink::Plain, 1.3));
            let half = 0.5 * width_of(&mark.name, TEXT);
            let label_x = x.clamp(LEFT - 30.0 + half, WIDTH - 4.0 - half);
            canvas.words([label_x, label_y], TEXT, Anchor::Middle, &mark.name);
        }
        self.draw_series(&mut canvas, &frame);
        canvas.finish()
    }

    fn ranges(&self) -> Option<([f64; 2], [f64; 2])> {
        let mut x = Extent::none();
        let mut y = Extent::none();
        for point in self.series.iter().flat_map(|s| &s.points) {
            if point.iter().all(|v| v.is_finite()) {
                x.add(point[0]);
                y.add(point[1]);
            }
        }
        for circle in &self.circles {
            for sign in [-1.0, 1.0] {
                x.add(circle.center[0] + sign * circle.radius);
                y.add(circle.center[1] + sign * circle.radius);
            }
        }
        for arrow in &self.arrows {
            for end in [arrow.from, arrow.to] {
                x.add(end[0]);
                y.add(end[1]);
            }
        }
        let has_data = x.is_some();
        for mark in &self.marks {
            x.add(mark.at);
        }
        if self.from_zero {
            y.add(0.0);
        }
        if !has_data {
            return None;
        }
        let (mut x, mut y) = (x.padded()?, y.padded()?);
        if self.equal {
            let widest = (x[1] - x[0]).max(y[1] - y[0]);
            for range in [&mut x, &mut y] {
                let middle = 0.5 * (range[0] + range[1]);
                *range = [middle - 0.5 * widest, middle + 0.5 * widest];
            }
        }
        Some((x, y))
    }

    fn legend(&self, canvas: &mut Canvas, mut top: f64) -> f64 {
        let mut entries: Vec<(&str, Entry)> = Vec::new();
        for (series, entry) in self.series.iter().zip(self.entries()) {
            entries.push((&series.name, entry));
        }
        for circle in &self.circles {
            entries.push((&circle.name, Entry::Circle));
        }
        for arrow in &self.arrows {
            entries.push((&arrow.name, Entry::Arrow));
        }
        entries.retain(|(name, _)| !name.is_empty());
        if entries.is_empty() {
            return top;
        }
        let mut x = 10.0;
        top += TEXT;
        for (name, entry) in entries {
            let width = 32.0 + width_of(name, TEXT) + 12.0;
            if x > 10.0 && x + width > WIDTH {
                x = 10.0;
                top += TEXT + 5.0;
            }
            let (from, to) = ([x, top - 4.0], [x + 26.0, top - 4.0]);
            match entry {
                Entry::Line(pen) => canvas.line(from, to, pen),
                Entry::Points(ink, shape) => marker(canvas, [x + 13.0, top - 4.0], ink, shape),
                Entry::Band(ink) => canvas.area(
                    &[[x, top - 10.0], [x + 26.0, top - 10.0], [x + 26.0, top + 1.0], [x, top + 1.0]],
                    ink,
                    0.25,
                ),
                Entry::Circle => canvas.circle([x + 13.0, top - 4.0], 6.0, pen(Ink::B, 2.0)),
                Entry::Arrow => canvas.arrow(from, to, pen(Ink::C, 3.0)),
            }
            canvas.words([x + 31.0, top], TEXT, Anchor::Start, name);
            x += width;
        }
        top
    }

    /// How each series is drawn, so that curve and legend agree.
    fn entries(&self) -> Vec<Entry> {
        let inks = [Ink::A, Ink::B, Ink::C, Ink::D];
        let dashes = ["", "9 4", "2.5 3", "10 3 2 3"];
        let (mut lines, mut points) = (0_usize, 0_usize);
        self.series
            .iter()
            .enumerate()
            .map(|(index, series)| {
                let ink = inks.get(index % inks.len()).copied().unwrap_or(Ink::Plain);
                match series.look {
                    Look::Line => {
                        lines += 1;
                        Entry::Line(Pen {
                            ink,
                            width: 2.6,
                            dashes: dashes.get((lines - 1) % dashes.len()).copied().unwrap_or(""),
                        })
                    }
                    Look::Thin => Entry::Line(Pen {
                        ink,
                        width: 1.1,
                        dashes: dashes.get(index % dashes.len()).copied().unwrap_or(""),
                    }),
                    Look::Points => {
                        points += 1;
                        Entry::Points(ink, points - 1)
                    }
                    Look::Band => Entry::Band(ink),
                }
            })
            .collect()
    }

    /// Marks with the row of their label: a label moves up a row where it would run into its neighbor.
    fn mark_rows(&self, x_range: [f64; 2]) -> Vec<(&Mark, usize)> {
        let scale = (WIDTH - LEFT - RIGHT) / (x_range[1] - x_range[0]);
        let mut marks: Vec<&Mark> = self.marks.iter().filter(|m| m.at.is_finite()).collect();
        marks.sort_by(|a, b| a.at.total_cmp(&b.at));
        let mut ends: Vec<f64> = Vec::new();
        marks
            .into_iter()
            .map(|mark| {
                let half = 0.5 * width_of(&mark.name, TEXT);
                let middle =
                    (LEFT + (mark.at - x_range[0]) * scale).clamp(LEFT - 30.0 + half, WIDTH - 4.0 - half);
                let row = ends.iter().position(|end| middle - half > end + 6.0).unwrap_or(ends.len());
                match ends.get_mut(row) {
                    Some(end) => *end = middle + half,
                    None => ends.push(middle + half),
                }
                (mark, row)
            })
            .collect()
    }

    fn axes(&self, canvas: &mut Canvas, frame: &Frame) {
        for (value, text) in ticks(frame.x, 6) {
            let x = frame.place([value, frame.y[0]])[0];
            canvas.line([x, frame.top], [x, frame.bottom], pen(Ink::Grid, 0.8));
            canvas.words([x, frame.bottom + TEXT + 3.0], TEXT, Anchor::Middle, &text);
        }
        for (value, text) in ticks(frame.y, 6) {
            let y = frame.place([frame.x[0], value])[1];
            canvas.line([LEFT, y], [WIDTH - RIGHT, y], pen(Ink::Grid, 0.8));
            canvas.words([LEFT - 5.0, y + 4.0], TEXT, Anchor::End, &text);
        }
        if frame.y[0] < 0.0 && frame.y[1] > 0.0 {
            let y = frame.place([frame.x[0], 0.0])[1];
            canvas.line([LEFT, y], [WIDTH - RIGHT, y], pen(Ink::Plain, 1.0));
        }
        canvas.path(
            &[[LEFT, frame.top], [LEFT, frame.bottom], [WIDTH - RIGHT, frame.bottom]],
            false,
            pen(Ink::Plain, 1.6),
        );
        let middle = 0.5 * (LEFT + WIDTH - RIGHT);
        canvas.words([middle, frame.bottom + BOTTOM - 9.0], TEXT, Anchor::Middle, &self.x);
        canvas.words_upward([14.0, 0.5 * (frame.top + frame.bottom)], TEXT, &self.y);
    }

    fn draw_series(&self, canvas: &mut Canvas, frame: &Frame) {
        for (series, entry) in self.series.iter().zip(self.entries()) {
            let points: Vec<[f64; 2]> = series.points.iter().map(|p| frame.place(*p)).collect();
            match entry {
                Entry::Line(pen) => canvas.path(&points, false, pen),
                Entry::Band(ink) => canvas.area(&points, ink, 0.25),
                Entry::Points(ink, shape) => {
                    for point in points {
                        marker(canvas, point, ink, shape);
                    }
                }
                Entry::Circle | Entry::Arrow => {}
            }
        }
        for circle in &self.circles {
            let center = frame.place(circle.center);
            let edge = frame.place([circle.center[0] + circle.radius, circle.center[1] + circle.radius]);
            canvas.ellipse(center, [edge[0] - center[0], edge[1] - center[1]], pen(Ink::B, 2.4));
            let arm = 5.0;
            canvas.line([center[0] - arm, center[1]], [center[0] + arm, center[1]], pen(Ink::B, 2.0));
            canvas.line([center[0], center[1] - arm], [center[0], center[1] + arm], pen(Ink::B, 2.0));
        }
        for arrow in &self.arrows {
            canvas.arrow(frame.place(arrow.from), frame.place(arrow.to), pen(Ink::C, 3.2));
        }
    }
}

enum Entry {
    Line(Pen),
    Points(Ink, usize),
    Band(Ink),
    Circle,
    Arrow,
}

struct Frame {
    x: [f64; 2],
    y: [f64; 2],
    top: f64,
    bottom: f64,
}

impl Frame {
    fn place(&self, point: [f64; 2]) -> [f64; 2] {
        let x = (point[0] - self.x[0]) / (self.x[1] - self.x[0]);
        let y = (point[1] - self.y[0]) / (self.y[1] - self.y[0]);
        [LEFT + x * (WIDTH - LEFT - RIGHT), self.bottom - y * (self.bottom - self.top)]
    }
}

struct Extent {
    low: f64,
    high: f64,
}

impl Extent {
    fn none() -> Self {
        Self { low: f64::INFINITY, high: f64::NEG_INFINITY }
    }

    fn add(&mut self, value: f64) {
        if value.is_finite() {
            self.low = self.low.min(value);
            self.high = self.high.max(value);
        }
    }

    fn is_some(&self) -> bool {
        self.low <= self.high
    }

    /// The extent with a little room on each side; zero stays an end where it is one.
    fn padded(&self) -> Option<[f64; 2]> {
        if !self.is_some() {
            return None;
        }
        let size = self.high - self.low;
        // A single value gets room in proportion to itself.
        let room = if size > 1e-12 * self.high.abs().max(self.low.abs()) && size > 0.0 {
            0.05 * size
        } else {
            (0.1 * self.high.abs()).max(1e-6)
        };
        let low = if self.low == 0.0 { 0.0 } else { self.low - room };
        Some([low, self.high + room])
    }
}

/// Ticks at 1, 2 or 5 times a power of ten within a range, about as many as asked for, with their labels.
#[must_use]
pub fn ticks(range: [f64; 2], about: usize) -> Vec<(f64, String)> {
    let size = range[1] - range[0];
    if size.is_nan() || size <= 0.0 || !size.is_finite() || about == 0 {
        return Vec::new();
    }
    let raw = size / about as f64;
    let power = 10f64.powf(raw.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|m| m * power)
        .find(|step| *step >= raw * 0.999)
        .unwrap_or(10.0 * power);
    let decimals = (-step.log10().floor()).max(0.0) as usize;
    let first = (range[0] / step - 1e-9).ceil();
    let last = (range[1] / step + 1e-9).floor();
    if !(last - first).is_finite() || last - first > 100.0 {
        return Vec::new();
    }
    (0..=(last - first) as i64)
        .map(|i| {
            let value = (first + i as f64) * step;
            (value, number::fixed(value, decimals))
        })
        .collect()
}

fn marker(canvas: &mut Canvas, at: [f64; 2], ink: Ink, shape: usize) {
    let r = 4.0;
    match shape % 4 {
        0 => canvas.disc(at, r, ink),
        1 => canvas.area(
            &[[at[0] - r, at[1] - r], [at[0] + r, at[1] - r], [at[0] + r, at[1] + r], [at[0] - r, at[1] + r]],
            ink,
            1.0,
        ),
        2 => canvas.area(
            &[[at[0], at[1] - 1.3 * r], [at[0] + 1.2 * r, at[1] + r], [at[0] - 1.2 * r, at[1] + r]],
            ink,
            1.0,
        ),
        _ => {
            canvas.line([at[0] - r, at[1] - r], [at[0] + r, at[1] + r], pen(ink, 2.2));
            canvas.line([at[0] - r, at[1] + r], [at[0] + r, at[1] - r], pen(ink, 2.2));
        }
    }
}
