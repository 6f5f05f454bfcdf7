//! How does text get onto paper? Blocks of lines flow down A5 pages, set as large as fits.

use krilla::Document;
use krilla::color::rgb;
use krilla::geom::{PathBuilder, Point, Rect};
use krilla::metadata::Metadata;
use krilla::num::NormalizedF32;
use krilla::page::PageSettings;
use krilla::paint::{Fill, Stroke};
use krilla::surface::Surface;
use krilla::text::{Font, TextDirection};
use skrifa::instance::{LocationRef, Size};
use skrifa::{FontRef, MetadataProvider as _};

const REGULAR: &[u8] = include_bytes!("../fonts/regular.ttf");
const BOLD: &[u8] = include_bytes!("../fonts/bold.ttf");

/// A5 upright, points of 1/72 inch (ISO 216: 148 mm by 210 mm).
const WIDTH: f32 = 148.0 * MM;
const HEIGHT: f32 = 210.0 * MM;
const MM: f32 = 72.0 / 25.4;
const MARGIN: f32 = 6.5 * MM;
/// Gap between two columns.
const GUTTER: f32 = 3.0 * MM;

/// Sizes of type that are tried, points, the largest that fits is taken. Below the smallest nobody reads in the field:
/// then the text goes on to a further page.
const SIZES: [f32; 11] = [10.5, 10.0, 9.5, 9.0, 8.5, 8.0, 7.6, 7.3, 7.0, 6.7, SMALLEST];
/// Smallest type, also of the foot, points.
const SMALLEST: f32 = 6.5;

/// Height of a line, in sizes of type.
const LEADING: f32 = 1.15;

/// Why there is no paper.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NoPaper {
    /// The fonts that the program carries cannot be read.
    Font,
    /// The document could not be written; what was said.
    Writing(String),
}

impl std::fmt::Display for NoPaper {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Font => write!(f, "the fonts of the card cannot be read"),
            Self::Writing(cause) => write!(f, "the PDF could not be written: {cause}"),
        }
    }
}

impl std::error::Error for NoPaper {}

/// What stands before a block.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Mark {
    /// Nothing.
    None,
    /// A box to tick.
    Box,
    /// A dot.
    Dot,
}

/// A piece of text in one weight.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Run {
    pub(crate) text: String,
    pub(crate) bold: bool,
}

/// A paragraph.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Block {
    pub(crate) runs: Vec<Run>,
    pub(crate) mark: Mark,
    /// Type larger or smaller than the rest.
    pub(crate) scale: f32,
    /// How far it is moved in, in sizes of type.
    pub(crate) indent: f32,
    /// Space above, in sizes of type.
    pub(crate) above: f32,
    /// A rule above it.
    pub(crate) rule: bool,
    /// Gray ground behind it.
    pub(crate) shaded: bool,
    /// Not to be parted from the block after it.
    pub(crate) keep: bool,
}

impl Block {
    pub(crate) fn text(text: impl Into<String>) -> Self {
        Self {
            runs: vec![Run { text: text.into(), bold: false }],
            mark: Mark::None,
            scale: 1.0,
            indent: 0.0,
            above: 0.15,
            rule: false,
            shaded: false,
            keep: false,
        }
    }

    pub(crate) fn bold(text: impl Into<String>) -> Self {
        let mut block = Self::text(text);
        block.runs.iter_mut().for_each(|run| run.bold = true);
        block
    }

    pub(crate) fn then(mut self, text: impl Into<String>) -> Self {
        self.runs.push(Run { text: text.into(), bold: false });
        self
    }

    pub(crate) fn then_bold(mut self, text: impl Into<String>) -> Self {
        self.runs.push(Run { text: text.into(), bold: true });
        self
    }

    pub(crate) fn heading(text: impl Into<String>) -> Self {
        Self { above: 0.55, rule: true, keep: true, scale: 1.08, ..Self::bold(text) }
    }

    pub(crate) fn marked(self, mark: Mark) -> Self {
        Self { mark, ..self }
    }

    pub(crate) fn indented(self, indent: f32) -> Self {
        Self { indent, ..self }
    }

    pub(crate) fn shaded(self) -> Self {
        Self { shaded: true, ..self }
    }

    pub(crate) fn above(self, above: f32) -> Self {
        Self { above, ..self }
    }

    pub(crate) fn kept(self) -> Self {
        Self { keep: true, ..self }
    }
}

/// One side of a sheet: its foot, and its blocks. It begins on a page of its own.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Side {
    pub(crate) blocks: Vec<Block>,
    pub(crate) columns: u8,
    pub(crate) foot: String,
}

/// The fonts, with the widths of their letters.
struct Type {
    regular: Face,
    bold: Face,
}

struct Face {
    font: Font,
    /// Advance of each letter as a share of the size of type, by code point of the letters that the font has.
    advances: std::collections::BTreeMap<char, f32>,
    /// Of a letter that the font does not have.
    other: f32,
}

impl Face {
    fn new(bytes: &'static [u8]) -> Option<Self> {
        let font = Font::new(bytes.to_vec().into(), 0)?;
        let parsed = FontRef::from_index(bytes, 0).ok()?;
        let metrics = parsed.glyph_metrics(Size::unscaled(), LocationRef::default());
        let em = f32::from(parsed.metrics(Size::unscaled(), LocationRef::default()).units_per_em);
        let advances = parsed
            .charmap()
            .mappings()
            .filter_map(|(code, glyph)| Some((char::from_u32(code)?, metrics.advance_width(glyph)? / em)))
            .collect();
        Some(Self { font, advances, other: 0.6 })
    }

    fn width(&self, text: &str, size: f32) -> f32 {
        text.chars().map(|c| self.advances.get(&c).copied().unwrap_or(self.other)).sum::<f32>() * size
    }

    /// The text with letters that the font lacks replaced by a sign that it has.
    fn printable(&self, text: &str) -> String {
        text.chars().map(|c| if self.advances.contains_key(&c) { c } else { '\u{25a1}' }).collect()
    }
}

/// A line of a block, broken.
struct Line {
    words: Vec<(String, bool, f32)>,
}

/// Sides as one PDF of A5 pages.
pub(crate) fn pdf(title: &str, sides: &[Side]) -> Result<Vec<u8>, NoPaper> {
    let kinds = Type {
        regular: Face::new(REGULAR).ok_or(NoPaper::Font)?,
        bold: Face::new(BOLD).ok_or(NoPaper::Font)?,
    };
    let mut document = Document::new();
    for side in sides {
        let size = SIZES
            .into_iter()
            .find(|size| pages(side, *size, &kinds).len() <= 1)
            .unwrap_or(SIZES[SIZES.len() - 1]);
        let pages = pages(side, size, &kinds);
        let count = pages.len();
        for (number, placed) in pages.into_iter().enumerate() {
            let settings = PageSettings::from_wh(WIDTH, HEIGHT).ok_or(NoPaper::Font)?;
            let mut page = document.start_page_with(settings);
            let mut surface = page.surface();
            for piece in &placed {
                draw(&mut surface, piece, size, &kinds);
            }
            let foot = if count > 1 {
                format!("{} \u{2013} {} of {count}", side.foot, number + 1)
            } else {
                side.foot.clone()
            };
            letters(&mut surface, &kinds.regular, SMALLEST, MARGIN, HEIGHT - 3.5 * MM, &foot);
            surface.finish();
            page.finish();
        }
    }
    document.set_metadata(Metadata::new().title(title.to_owned()).language("en".to_owned()));
    document.finish().map_err(|error| NoPaper::Writing(format!("{error:?}")))
}

/// A block with its place.
struct Placed<'a> {
    block: &'a Block,
    lines: Vec<Line>,
    left: f32,
    width: f32,
    top: f32,
    height: f32,
    /// Whether it began in the column before.
    continued: bool,
}

/// Sets a side in that size of type.
fn pages<'a>(side: &'a Side, size: f32, kinds: &Type) -> Vec<Vec<Placed<'a>>> {
    let columns = f32::from(side.columns.max(1));
    let width = (WIDTH - 2.0 * MARGIN - (columns - 1.0) * GUTTER) / columns;
    let bottom = HEIGHT - MARGIN;
    let mut flow = Flow { pages: vec![Vec::new()], column: 0.0, columns, y: MARGIN };
    for (i, block) in side.blocks.iter().enumerate() {
        let mut lines = broken(block, width, size, kinds);
        let line_height = size * block.scale * LEADING;
        let mut above = if flow.y > MARGIN { block.above * size } else { 0.0 };
        if flow.y + above + least(&side.blocks, i, &lines, width, size, kinds) > bottom {
            flow.next_column();
            above = 0.0;
        }
        let mut continued = false;
        while !lines.is_empty() {
            let room = ((bottom - flow.y - above) / line_height + 1e-3).floor().max(0.0) as usize;
            let mut fit = room.min(lines.len());
            // No single line is left to begin a column.
            if lines.len() - fit == 1 && fit > 2 {
                fit -= 1;
            }
            let at_top = flow.y <= MARGIN;
            if fit == 0 && !at_top {
                flow.next_column();
                above = 0.0;
                continue;
            }
            // A block that no column holds is set all the same: nothing is lost.
            let rest = lines.split_off(fit.max(1).min(lines.len()));
            let height = lines.len() as f32 * line_height;
            let left = MARGIN + flow.column * (width + GUTTER);
            let placed = Placed { block, lines, left, width, top: flow.y + above, height, continued };
            flow.y += above + height;
            if let Some(page) = flow.pages.last_mut() {
                page.push(placed);
            }
            lines = rest;
            continued = true;
            if !lines.is_empty() {
                flow.next_column();
                above = 0.0;
            }
        }
    }
    flow.pages
}

/// Where the next block goes.
struct Flow<'a> {
    pages: Vec<Vec<Placed<'a>>>,
    column: f32,
    columns: f32,
    y: f32,
}

impl Flow<'_> {
    fn next_column(&mut self) {
        self.column += 1.0;
        self.y = MARGIN;
        if self.column >= self.columns {
            self.column = 0.0;
            self.pages.push(Vec::new());
        }
    }
}

/// Height that must be there for a block to begin: two lines of it, and of what it is not to be parted from.
fn least(blocks: &[Block], i: usize, lines: &[Line], width: f32, size: f32, kinds: &Type) -> f32 {
    let Some(block) = blocks.get(i) else { return 0.0 };
    let line_height = size * block.scale * LEADING;
    match blocks.get(i + 1).filter(|_| block.keep) {
        None => lines.len().min(2) as f32 * line_height,
        Some(next) => {
            let after = broken(next, width, size, kinds);
            lines.len() as f32 * line_height
                + next.above * size
                + least(blocks, i + 1, &after, width, size, kinds)
        }
    }
}

/// Room that a mark takes, in sizes of type.
fn room(mark: Mark) -> f32 {
    match mark {
        Mark::None => 0.0,
        Mark::Box => 1.35,
        Mark::Dot => 0.8,
    }
}

/// Breaks a block into lines between its words.
fn broken(block: &Block, width: f32, size: f32, kinds: &Type) -> Vec<Line> {
    let size = size * block.scale;
    let room = width - (block.indent + room(block.mark)) * size - if block.shaded { 0.6 * size } else { 0.0 };
    let mut lines = vec![Line { words: Vec::new() }];
    let mut used = 0.0;
    for run in &block.runs {
        let face = if run.bold { &kinds.bold } else { &kinds.regular };
        let glued = !run.text.starts_with(char::is_whitespace);
        for (n, word) in run.text.split_whitespace().enumerate() {
            let word = face.printable(word);
            let wide = face.width(&word, size);
            let space = if used == 0.0 || (n == 0 && glued) { 0.0 } else { face.width(" ", size) };
            if used > 0.0 && used + space + wide > room {
                lines.push(Line { words: Vec::new() });
                used = 0.0;
            }
            let at = if used == 0.0 { 0.0 } else { used + space };
            if let Some(line) = lines.last_mut() {
                line.words.push((word, run.bold, at));
            }
            used = at + wide;
        }
    }
    lines
}

fn draw(surface: &mut Surface<'_>, placed: &Placed<'_>, size: f32, kinds: &Type) {
    let block = placed.block;
    let size = size * block.scale;
    if block.shaded {
        surface.set_fill(Some(fill(226)));
        surface.set_stroke(None);
        let rect =
            Rect::from_xywh(placed.left, placed.top - 0.08 * size, placed.width, placed.height + 0.16 * size);
        path(surface, rect);
    }
    if block.rule && !placed.continued {
        line(surface, placed.left, placed.top - 0.12 * size, placed.width, 0.9);
    }
    let pad = if block.shaded { 0.3 * size } else { 0.0 };
    let left = placed.left + block.indent * size + pad;
    match block.mark {
        _ if placed.continued => {}
        Mark::None => {}
        Mark::Box => {
            surface.set_fill(None);
            surface.set_stroke(Some(Stroke { width: 0.8, ..Stroke::default() }));
            path(surface, Rect::from_xywh(left, placed.top + 0.2 * size, 0.8 * size, 0.8 * size));
        }
        Mark::Dot => {
            surface.set_fill(Some(fill(0)));
            surface.set_stroke(None);
            path(
                surface,
                Rect::from_xywh(left + 0.15 * size, placed.top + 0.5 * size, 0.25 * size, 0.25 * size),
            );
        }
    }
    let left = left + room(block.mark) * size;
    for (i, line) in placed.lines.iter().enumerate() {
        let y = placed.top + (i as f32 * LEADING + 0.92) * size;
        for (word, bold, at) in &line.words {
            let face = if *bold { &kinds.bold } else { &kinds.regular };
            letters(surface, face, size, left + at, y, word);
        }
    }
}

fn letters(surface: &mut Surface<'_>, face: &Face, size: f32, x: f32, y: f32, text: &str) {
    surface.set_fill(Some(fill(0)));
    surface.set_stroke(None);
    surface.draw_text(
        Point::from_xy(x, y),
        face.font.clone(),
        size,
        &face.printable(text),
        false,
        TextDirection::LeftToRight,
    );
}

fn line(surface: &mut Surface<'_>, x: f32, y: f32, width: f32, thick: f32) {
    surface.set_fill(Some(fill(0)));
    surface.set_stroke(None);
    path(surface, Rect::from_xywh(x, y, width, thick));
}

fn path(surface: &mut Surface<'_>, rect: Option<Rect>) {
    let Some(rect) = rect else { return };
    let mut builder = PathBuilder::new();
    builder.push_rect(rect);
    if let Some(path) = builder.finish() {
        surface.draw_path(&path);
    }
}

/// A gray: 0 is black.
fn fill(gray: u8) -> Fill {
    Fill { paint: rgb::Color::new(gray, gray, gray).into(), opacity: NormalizedF32::ONE, ..Fill::default() }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn kinds() -> Type {
        Type { regular: Face::new(REGULAR).unwrap(), bold: Face::new(BOLD).unwrap() }
    }

    #[test]
    fn no_line_is_wider_than_its_room_and_no_word_is_lost() {
        let kinds = kinds();
        let text = "Trim for level flight at cruise, hands off, three legs of twenty seconds each on differing headings.";
        for width in [80.0, 150.0, 300.0] {
            let block = Block::text(text).marked(Mark::Box).indented(1.0);
            let lines = broken(&block, width, 9.0, &kinds);
            let words: Vec<&str> = lines.iter().flat_map(|l| &l.words).map(|(w, _, _)| w.as_str()).collect();
            assert_eq!(words.join(" "), text);
            for line in &lines {
                let (word, _, at) = line.words.last().unwrap();
                assert!(at + kinds.regular.width(word, 9.0) <= width - 2.35 * 9.0 + 1e-3, "{width}");
            }
        }
    }

    #[test]
    fn the_fonts_have_every_sign_that_a_card_uses() {
        let kinds = kinds();
        for sign in
            "\u{b1}\u{b0}\u{b2}\u{b5}\u{2013}\u{2026}\u{2192}\u{2265}\u{2264}\u{201c}\u{201d}\u{e9}\u{3b1}"
                .chars()
        {
            assert!(
                kinds.regular.advances.contains_key(&sign) && kinds.bold.advances.contains_key(&sign),
                "{sign}"
            );
        }
        assert_eq!(kinds.regular.printable("a\u{4e2d}b"), "a\u{25a1}b");
    }

    #[test]
    fn a_long_paragraph_goes_on_in_the_next_column_without_losing_a_word() {
        let kinds = kinds();
        let text = (0..900).map(|i| format!("word{i}")).collect::<Vec<_>>().join(" ");
        let blocks = vec![Block::bold("title").kept(), Block::text(&text), Block::text("end")];
        let side = Side { blocks, columns: 2, foot: String::new() };
        for size in [SMALLEST, 9.0, 10.5] {
            let pages = pages(&side, size, &kinds);
            let placed: Vec<&Placed<'_>> = pages.iter().flatten().collect();
            let lines: usize = placed.iter().map(|p| p.lines.len()).sum();
            let said: Vec<&str> = placed
                .iter()
                .flat_map(|p| &p.lines)
                .flat_map(|l| &l.words)
                .map(|(w, ..)| w.as_str())
                .collect();
            assert_eq!(said.join(" "), format!("title {text} end"));
            assert!(placed.iter().all(|p| p.top + p.height <= HEIGHT - MARGIN + 1e-2), "{size}");
            // All columns but the last are full to a line or two: no paragraph waits for a whole column.
            let in_column = ((HEIGHT - 2.0 * MARGIN) / (size * LEADING)).floor();
            assert!(lines as f32 > (pages.len() as f32 * 2.0 - 2.0) * (in_column - 3.0), "{size}: {lines}");
            assert!(placed.iter().filter(|p| p.continued).all(|p| p.block.runs[0].text == text));
        }
    }

    #[test]
    fn a_heading_is_not_parted_from_what_it_heads() {
        let kinds = kinds();
        let mut blocks: Vec<Block> = (0..200).map(|i| Block::text(format!("line {i}"))).collect();
        for place in (0..200).step_by(10) {
            blocks[place] = Block::heading("heading");
        }
        let side = Side { blocks, columns: 2, foot: String::new() };
        for page in pages(&side, 9.0, &kinds) {
            let columns: Vec<f32> = page.iter().map(|p| p.left).collect();
            for (i, placed) in page.iter().enumerate() {
                if placed.block.keep {
                    assert!(page.get(i + 1).is_some_and(|next| next.left.to_bits() == columns[i].to_bits()));
                }
                assert!(placed.top + placed.height <= HEIGHT - MARGIN + 1e-3);
            }
        }
    }
}
