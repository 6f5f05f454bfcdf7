//! How is a drawing written? A small SVG writer: lines, areas, circles, words; legible in sunlight (dark on light, thick
//! lines, dashes and shapes beside color), named for those who do not see it, and following a page's colors where
//! it is set into one.

use std::fmt::Write as _;

/// Colors with a fallback for viewers that know no variables; a page sets the variables for its light and dark look. What
/// stands between the style marks of every drawing: a page that forbids style inside it may allow exactly this one.
pub const STYLE: &str = "\
.k{stroke:#111;stroke:var(--ink,#111);fill:none}.g{stroke:#c4c4c4;stroke:var(--grid,#c4c4c4);fill:none}\
.a{stroke:#0a3d91;stroke:var(--a,#0a3d91);fill:none}.b{stroke:#a83200;stroke:var(--b,#a83200);fill:none}\
.c{stroke:#14632b;stroke:var(--c,#14632b);fill:none}.d{stroke:#6a1b8a;stroke:var(--d,#6a1b8a);fill:none}\
.fk{fill:#111;fill:var(--ink,#111)}.fp{fill:#fff;fill:var(--paper,#fff)}.fg{fill:#c4c4c4;fill:var(--grid,#c4c4c4)}\
.fa{fill:#0a3d91;fill:var(--a,#0a3d91)}.fb{fill:#a83200;fill:var(--b,#a83200)}.fc{fill:#14632b;fill:var(--c,#14632b)}\
.fd{fill:#6a1b8a;fill:var(--d,#6a1b8a)}.t{font-family:system-ui,sans-serif;stroke:none}";

/// Text with the five characters that mark-up gives a meaning replaced, and characters that XML forbids dropped.
#[must_use]
pub fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            c if (c < ' ' && !matches!(c, '\t' | '\n' | '\r')) || matches!(c, '\u{fffe}' | '\u{ffff}') => {}
            c => out.push(c),
        }
    }
    out
}

/// What a shape is drawn with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ink {
    /// Black on white, white on black.
    Plain,
    /// Faint, for grids.
    Grid,
    /// Four colors that are told apart in print and by most eyes; never the only difference.
    A,
    /// Second color.
    B,
    /// Third color.
    C,
    /// Fourth color.
    D,
}

impl Ink {
    fn stroke(self) -> &'static str {
        match self {
            Self::Plain => "k",
            Self::Grid => "g",
            Self::A => "a",
            Self::B => "b",
            Self::C => "c",
            Self::D => "d",
        }
    }

    fn fill(self) -> &'static str {
        match self {
            Self::Plain => "fk",
            Self::Grid => "fg",
            Self::A => "fa",
            Self::B => "fb",
            Self::C => "fc",
            Self::D => "fd",
        }
    }
}

/// A line: ink, width, dashes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pen {
    /// Ink.
    pub ink: Ink,
    /// Width.
    pub width: f64,
    /// Dashes, as SVG writes them; empty for a solid line.
    pub dashes: &'static str,
}

/// A solid pen.
#[must_use]
pub fn pen(ink: Ink, width: f64) -> Pen {
    Pen { ink, width, dashes: "" }
}

/// A dashed pen.
#[must_use]
pub fn dashed(ink: Ink, width: f64) -> Pen {
    Pen { ink, width, dashes: "6 4" }
}

/// Which end of the words stands at their place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    /// The first letter.
    Start,
    /// The middle.
    Middle,
    /// The last letter.
    End,
}

/// A drawing under way; y grows downward.
#[derive(Debug, Clone)]
pub struct Canvas {
    width: f64,
    height: f64,
    title: String,
    description: String,
    body: String,
}

impl Canvas {
    /// An empty drawing with its name and what it shows, in words, for those who do not see it.
    #[must_use]
    pub fn new(width: f64, height: f64, title: &str, description: &str) -> Self {
        Self {
            width,
            height,
            title: title.to_owned(),
            description: description.to_owned(),
            body: String::new(),
        }
    }

    /// Makes the drawing taller.
    pub fn set_height(&mut self, height: f64) {
        self.height = height;
    }

    /// A line.
    pub fn line(&mut self, from: [f64; 2], to: [f64; 2], pen: Pen) {
        self.path(&[from, to], false, pen);
    }

    /// A line through points, closed or open. Points that are not numbers break it.
    pub fn path(&mut self, points: &[[f64; 2]], closed: bool, pen: Pen) {
        let Some(d) = path_data(points, closed) else {
            return;
        };
        let dashes = if pen.dashes.is_empty() {
            String::new()
        } else {
            format!(" stroke-dasharray=\"{}\"", pen.dashes)
        };
        self.push(format_args!(
            "<path class=\"{}\" d=\"{d}\" stroke-width=\"{}\" stroke-linejoin=\"round\"{dashes}/>",
            pen.ink.stroke(),
            number(pen.width)
        ));
    }

    /// A filled area with its opacity, 0 to 1.
    pub fn area(&mut self, points: &[[f64; 2]], ink: Ink, opacity: f64) {
        if let Some(d) = path_data(points, true) {
            self.push(format_args!(
                "<path class=\"{}\" d=\"{d}\" opacity=\"{}\"/>",
                ink.fill(),
                number(opacity)
            ));
        }
    }

    /// An area in the color of the paper, to hide what lies behind.
    pub fn blank(&mut self, points: &[[f64; 2]]) {
        if let Some(d) = path_data(points, true) {
            self.push(format_args!("<path class=\"fp\" d=\"{d}\"/>"));
        }
    }

    /// A circle's outline.
    pub fn circle(&mut self, at: [f64; 2], radius: f64, pen: Pen) {
        self.ellipse(at, [radius, radius], pen);
    }

    /// An ellipse's outline, axes along x and y.
    pub fn ellipse(&mut self, at: [f64; 2], radii: [f64; 2], pen: Pen) {
        if !finite(&at) || !finite(&radii) {
            return;
        }
        let dashes = if pen.dashes.is_empty() {
            String::new()
        } else {
            format!(" stroke-dasharray=\"{}\"", pen.dashes)
        };
        self.push(format_args!(
            "<ellipse class=\"{}\" cx=\"{}\" cy=\"{}\" rx=\"{}\" ry=\"{}\" stroke-width=\"{}\"{dashes}/>",
            pen.ink.stroke(),
            number(at[0]),
            number(at[1]),
            number(radii[0].abs()),
            number(radii[1].abs()),
            number(pen.width)
        ));
    }

    /// A filled disc.
    pub fn disc(&mut self, at: [f64; 2], radius: f64, ink: Ink) {
        if finite(&at) {
            self.push(format_args!(
                "<circle class=\"{}\" cx=\"{}\" cy=\"{}\" r=\"{}\"/>",
                ink.fill(),
                number(at[0]),
                number(at[1]),
                number(radius)
            ));
        }
    }

    /// A disc in the color of the paper.
    pub fn blank_disc(&mut self, at: [f64; 2], radius: f64) {
        if finite(&at) {
            self.push(format_args!(
                "<circle class=\"fp\" cx=\"{}\" cy=\"{}\" r=\"{}\"/>",
                number(at[0]),
                number(at[1]),
                number(radius)
            ));
        }
    }

    /// Words in plain ink.
    pub fn words(&mut self, at: [f64; 2], size: f64, anchor: Anchor, words: &str) {
        self.text(at, size, anchor, Ink::Plain, false, words);
    }

    /// Words in an ink, bold or not.
    pub fn text(&mut self, at: [f64; 2], size: f64, anchor: Anchor, ink: Ink, bold: bool, words: &str) {
        if !finite(&at) {
            return;
        }
        let anchor = match anchor {
            Anchor::Start => "",
            Anchor::Middle => " text-anchor=\"middle\"",
            Anchor::End => " text-anchor=\"end\"",
        };
        let weight = if bold { " font-weight=\"700\"" } else { "" };
        self.push(format_args!(
            "<text class=\"t {}\" x=\"{}\" y=\"{}\" font-size=\"{}\"{anchor}{weight}>{}</text>",
            ink.fill(),
            number(at[0]),
            number(at[1]),
            number(size),
            escape(words)
        ));
    }

    /// Words that run upward, for the name of an upright axis.
    pub fn words_upward(&mut self, at: [f64; 2], size: f64, words: &str) {
        if finite(&at) {
            self.push(format_args!(
                "<text class=\"t fk\" transform=\"translate({} {}) rotate(-90)\" font-size=\"{}\" \
                 text-anchor=\"middle\">{}</text>",
                number(at[0]),
                number(at[1]),
                number(size),
                escape(words)
            ));
        }
    }

    /// A line with a head at its end.
    pub fn arrow(&mut self, from: [f64; 2], to: [f64; 2], pen: Pen) {
        self.line(from, to, pen);
        let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
        let length = dx.hypot(dy);
        if length > 0.0 && finite(&to) {
            let (ux, uy) = (dx / length, dy / length);
            let head = 4.0 * pen.width.max(1.2);
            let back = [to[0] - head * ux, to[1] - head * uy];
            let side = 0.4 * head;
            self.area(
                &[to, [back[0] - side * uy, back[1] + side * ux], [back[0] + side * uy, back[1] - side * ux]],
                pen.ink,
                1.0,
            );
        }
    }

    /// The whole drawing as SVG, on paper of its own.
    #[must_use]
    pub fn finish(self) -> String {
        let (title, description) = (escape(&self.title), escape(&self.description));
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {w} {h}\" width=\"{w}\" height=\"{h}\" role=\"img\" \
             aria-label=\"{title}\"><title>{title}</title><desc>{description}</desc><style>{STYLE}</style>\
             <rect class=\"fp\" width=\"{w}\" height=\"{h}\"/>{}</svg>",
            self.body,
            w = number(self.width),
            h = number(self.height),
        )
    }

    fn push(&mut self, mark_up: std::fmt::Arguments<'_>) {
        // Writing into a string cannot fail.
        let _ = self.body.write_fmt(mark_up);
        self.body.push('\n');
    }
}

/// How wide words are about, for placing them: a sans-serif letter is about 0.55 of its size.
#[must_use]
pub fn width_of(words: &str, size: f64) -> f64 {
    0.55 * size * words.chars().count() as f64
}

/// Words in lines no wider than given.
#[must_use]
pub fn wrapped(words: &str, size: f64, width: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in words.split(' ') {
        match lines.last_mut() {
            Some(line) if width_of(line, size) + width_of(word, size) + size * 0.55 <= width => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

fn finite(values: &[f64; 2]) -> bool {
    values.iter().all(|v| v.is_finite())
}

fn path_data(points: &[[f64; 2]], closed: bool) -> Option<String> {
    let mut d = String::new();
    let mut pen_down = false;
    let mut drawn = 0;
    for point in points {
        if !finite(point) {
            pen_down = false;
            continue;
        }
        let _ = write!(d, "{}{} {}", if pen_down { "L" } else { "M" }, number(point[0]), number(point[1]));
        pen_down = true;
        drawn += 1;
    }
    if closed {
        d.push('Z');
    }
    (drawn > 1).then_some(d)
}

/// Two decimals are a fiftieth of a pixel: enough for any screen, and files stay small.
fn number(value: f64) -> String {
    let text = format!("{value:.2}");
    let short = text.trim_end_matches('0').trim_end_matches('.');
    if short == "-0" { "0".to_owned() } else { short.to_owned() }
}
