//! Which test points are there? They are data (`catalogue/points.toml`), read here with every mistake pointed at.

use aircraft::control::Axis;
use aircraft::controller::Acts;
use toml_edit::{Array, Document, Item, Table, Value};

use crate::evidence::Proof;
use crate::expression::Expression;
use crate::names::Scope;
use crate::number;

/// The catalogue as this program carries it.
const BUILT_IN: &str = include_str!("catalogue/points.toml");

/// All test points, in the order in which a flight goes through them.
#[derive(Debug, Clone, PartialEq)]
pub struct Catalogue {
    /// The points.
    pub points: Vec<TestPoint>,
}

/// One thing to fly and learn.
#[derive(Debug, Clone, PartialEq)]
pub struct TestPoint {
    /// Identifier, unique.
    pub id: String,
    /// Title.
    pub title: String,
    /// Why it is flown.
    pub purpose: String,
    /// Whether every flight has it, whatever is known already.
    pub every_flight: bool,
    /// Whether there is no flight at all when its limits are passed (launch, landing).
    pub decides_the_flight: bool,
    /// Whether it is done on the ground, before the launch.
    pub on_ground: bool,
    /// Points flown before it: in an earlier flight or earlier on the same card.
    pub after: Vec<String>,
    /// What an earlier flight must have found.
    pub found: Vec<String>,
    /// What the aircraft must have.
    pub file: Vec<FileFact>,
    /// What it lets be learnt, as the findings document names it (`wind`, `response.roll`).
    pub yields: Vec<String>,
    /// How the stick acts, in order of preference; empty where it does not matter.
    pub acts: Vec<Acts>,
    /// Ways into the air that it is for (`[start].how` of the aircraft file); empty where it is for all.
    pub start: Vec<String>,
    /// Whether an experienced pilot may still fly it in wind that spoils what is measured or tuned.
    pub in_wind: bool,
    /// Height above the ground that it needs, m.
    pub height_m: Option<f64>,
    /// How far from the pilot it leads, m.
    pub reach_m: Option<f64>,
    /// What a recording must show for it to count as flown.
    pub evidence: Vec<Proof>,
    /// Largest mean wind, m/s.
    pub wind_m_s: Option<Expression>,
    /// Largest excess of gusts over the mean wind, m/s.
    pub gust_excess_m_s: Option<Expression>,
    /// Steps for the pilot; `Step::Surfaces` stands for the check of the aircraft's own surfaces.
    pub steps: Vec<Step>,
    /// Calls for the helper.
    pub calls: Vec<Text>,
    /// What to watch.
    pub watch: Vec<Text>,
    /// When to stop.
    pub stop: Vec<Text>,
    /// Numbers to expect.
    pub expect: Vec<Expectation>,
    /// Duration, s.
    pub duration_s: f64,
    /// Pack current over that of level flight at cruise: how fast the point eats the pack.
    pub effort: Expression,
}

/// Something that the aircraft must have for a point.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FileFact {
    /// A drive.
    Drive,
    /// A movable surface that answers the roll demand.
    Roll,
    /// A movable surface that answers the pitch demand.
    Pitch,
    /// A movable surface that answers the yaw demand.
    Yaw,
    /// A throttle held when the radio link is lost.
    FailsafeThrottle,
}

impl FileFact {
    const ALL: [(Self, &'static str, &'static str); 5] = [
        (Self::Drive, "drive", "drive ([drive])"),
        (Self::Roll, "roll", "movable surface that answers the roll demand ([[movable]])"),
        (Self::Pitch, "pitch", "movable surface that answers the pitch demand ([[movable]])"),
        (Self::Yaw, "yaw", "movable surface that answers the yaw demand ([[movable]])"),
        (
            Self::FailsafeThrottle,
            "failsafe_throttle",
            "throttle told that is held when the radio link is lost ([controller])",
        ),
    ];

    /// What it is, in words that follow "the aircraft file has no".
    #[must_use]
    pub fn words(self) -> &'static str {
        Self::ALL.iter().find(|(fact, ..)| *fact == self).map_or("", |(.., words)| words)
    }
}

/// A step for the pilot.
#[derive(Debug, Clone, PartialEq)]
pub enum Step {
    /// Words, with numbers of this aircraft in them.
    Words(Text),
    /// The check of every movable surface of this aircraft, one step each.
    Surfaces,
}

/// A number to expect.
#[derive(Debug, Clone, PartialEq)]
pub struct Expectation {
    /// What it is; `{roll}`, `{pitch}` and `{yaw}` stand for the movable that answers that axis most.
    pub name: String,
    /// Its value.
    pub value: Expression,
    /// Unit of the value, as files write it.
    pub unit: String,
    /// Whether the value is the deflection of this axis that trims the aircraft, deg: then it is told in degrees of
    /// the panels, with where their trailing edges are, or as captured where a flight captured it.
    pub trim_of: Option<Axis>,
}

/// Words with numbers of this aircraft in them: `climb at {speeds.cruise_m_s : m/s}`.
#[derive(Debug, Clone, PartialEq)]
pub struct Text {
    pieces: Vec<Piece>,
}

#[derive(Debug, Clone, PartialEq)]
enum Piece {
    Words(String),
    Number { value: Expression, unit: String },
}

impl Text {
    /// The words for an aircraft and a day; a number that is not predicted says so in its place.
    #[must_use]
    pub fn filled(&self, scope: &Scope<'_>) -> String {
        let mut out = String::new();
        for piece in &self.pieces {
            match piece {
                Piece::Words(words) => out.push_str(words),
                // In a step or a call a bare number is easier to read and to shout; its doubt is among the expected.
                Piece::Number { value, unit } => match value.value(scope) {
                    Ok(value) => out.push_str(&number::coarse(value.value, unit)),
                    Err(_) => out.push_str("(not predicted)"),
                },
            }
        }
        out
    }

    /// The expressions in it.
    pub fn expressions(&self) -> impl Iterator<Item = &Expression> {
        self.pieces.iter().filter_map(|piece| match piece {
            Piece::Words(_) => None,
            Piece::Number { value, .. } => Some(value),
        })
    }
}

/// A mistake in a catalogue.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mistake {
    /// Line, from 1.
    pub line: usize,
    /// What is wrong and what to do.
    pub what: String,
}

impl std::fmt::Display for Mistake {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "line {}: {}", self.line, self.what)
    }
}

impl Catalogue {
    /// The catalogue that the program carries.
    ///
    /// # Errors
    /// None, as long as the tests pass: the data is part of the program.
    pub fn built_in() -> Result<Self, Vec<Mistake>> {
        Self::read(BUILT_IN)
    }

    /// Reads a catalogue.
    ///
    /// # Errors
    /// All mistakes, each with its line.
    pub fn read(text: &str) -> Result<Self, Vec<Mistake>> {
        let document = match Document::parse(text) {
            Ok(document) => document,
            Err(error) => {
                let line = error.span().map_or(1, |span| line_of(text, span.start));
                return Err(vec![Mistake { line, what: error.message().to_owned() }]);
            }
        };
        let mut reader = Reader { text, mistakes: Vec::new() };
        let mut points: Vec<TestPoint> = Vec::new();
        match document.as_table().get("point").and_then(Item::as_array_of_tables) {
            None => reader.mistake(0, "no [[point]] is there".to_owned()),
            Some(tables) => {
                for table in tables {
                    let point = reader.point(table, &points);
                    points.push(point);
                }
            }
        }
        if reader.mistakes.is_empty() { Ok(Self { points }) } else { Err(reader.mistakes) }
    }

    /// The catalogue for a way into the air: of points that have a form for each way, the one for this (the first where
    /// none is).
    #[must_use]
    pub fn for_start(&self, how: &str) -> Self {
        let fits = |p: &TestPoint| p.start.is_empty() || p.start.iter().any(|s| s == how);
        let mut points: Vec<TestPoint> = Vec::new();
        for point in &self.points {
            let another = self.points.iter().any(|p| p.id == point.id && fits(p));
            let taken = points.iter().any(|p| p.id == point.id);
            if fits(point) || (!another && !taken) {
                points.push(point.clone());
            }
        }
        Self { points }
    }

    /// The point of an identifier.
    #[must_use]
    pub fn point(&self, id: &str) -> Option<&TestPoint> {
        self.points.iter().find(|p| p.id == id)
    }
}

fn line_of(text: &str, byte: usize) -> usize {
    1 + text.bytes().take(byte).filter(|b| *b == b'\n').count()
}

const KEYS: [&str; 26] = [
    "start",
    "in_wind",
    "height_m",
    "reach_m",
    "evidence",
    "id",
    "title",
    "purpose",
    "every_flight",
    "decides_the_flight",
    "on_ground",
    "after",
    "found",
    "file",
    "yields",
    "acts",
    "wind_m_s",
    "gust_excess_m_s",
    "steps",
    "calls",
    "watch",
    "stop",
    "expect",
    "duration_s",
    "effort",
    "note",
];

struct Reader<'a> {
    text: &'a str,
    mistakes: Vec<Mistake>,
}

impl Reader<'_> {
    fn mistake(&mut self, byte: usize, what: String) {
        self.mistakes.push(Mistake { line: line_of(self.text, byte), what });
    }

    fn point(&mut self, table: &Table, earlier: &[TestPoint]) -> TestPoint {
        let place = table.span().map_or(0, |span| span.start);
        for (key, item) in table {
            if !KEYS.contains(&key) {
                let place = item.span().map_or(place, |span| span.start);
                self.mistake(
                    place,
                    format!("`{key}` is no key of a point; the keys are {}", KEYS.join(", ")),
                );
            }
        }
        let id = self.string(table, "id", place);
        let start: Vec<String> = self.strings(table, "start").into_iter().map(|(s, _)| s).collect();
        // A launch has a form for each way into the air, and one name.
        let same = |p: &&TestPoint| {
            p.id == id
                && (start.is_empty() || p.start.is_empty() || p.start.iter().any(|s| start.contains(s)))
        };
        if earlier.iter().any(|p| same(&p)) {
            self.mistake(place, format!("a second point is called `{id}`"));
        }
        let after = self.strings(table, "after");
        for (needed, place) in &after {
            if !earlier.iter().any(|p| p.id == *needed) {
                self.mistake(*place, format!("`{needed}` is no earlier point: points stand in flying order"));
            }
        }
        let file = self
            .strings(table, "file")
            .into_iter()
            .filter_map(|(word, place)| {
                let fact = FileFact::ALL.iter().find(|(_, w, _)| *w == word);
                if fact.is_none() {
                    let words: Vec<_> = FileFact::ALL.iter().map(|(_, w, _)| *w).collect();
                    self.mistake(place, format!("`{word}` is none of {}", words.join(", ")));
                }
                fact.map(|(fact, ..)| *fact)
            })
            .collect();
        let acts = self
            .strings(table, "acts")
            .into_iter()
            .filter_map(|(word, place)| {
                let acts = [Acts::Direct, Acts::Rate, Acts::Level].into_iter().find(|a| a.word() == word);
                if acts.is_none() {
                    self.mistake(place, format!("`{word}` is none of direct, rate, level"));
                }
                acts
            })
            .collect();
        let steps =
            self.strings(table, "steps")
                .into_iter()
                .map(|(words, place)| {
                    if words == "{surfaces}" {
                        Step::Surfaces
                    } else {
                        Step::Words(self.words(&words, place))
                    }
                })
                .collect();
        let duration_s = match table.get("duration_s").and_then(number_of) {
            Some(seconds) if seconds > 0.0 => seconds,
            _ => {
                self.mistake(place, format!("point `{id}` needs duration_s, a number above zero"));
                f64::NAN
            }
        };
        TestPoint {
            title: self.string(table, "title", place),
            purpose: self.string(table, "purpose", place),
            every_flight: self.flag(table, "every_flight"),
            decides_the_flight: self.flag(table, "decides_the_flight"),
            on_ground: self.flag(table, "on_ground"),
            after: after.into_iter().map(|(id, _)| id).collect(),
            found: self.strings(table, "found").into_iter().map(|(s, _)| s).collect(),
            file,
            yields: self.strings(table, "yields").into_iter().map(|(s, _)| s).collect(),
            acts,
            start,
            in_wind: self.flag(table, "in_wind"),
            height_m: self.length(table, "height_m"),
            reach_m: self.length(table, "reach_m"),
            evidence: self.proofs(table),
            wind_m_s: table.get("wind_m_s").map(|item| self.expression(item)),
            gust_excess_m_s: table.get("gust_excess_m_s").map(|item| self.expression(item)),
            steps,
            calls: self.texts(table, "calls"),
            watch: self.texts(table, "watch"),
            stop: self.texts(table, "stop"),
            expect: self.expectations(table),
            duration_s,
            effort: match table.get("effort") {
                Some(item) => self.expression(item),
                None => {
                    self.mistake(
                        place,
                        format!("point `{id}` needs effort, pack current over that at cruise"),
                    );
                    Expression::one()
                }
            },
            id,
        }
    }

    fn string(&mut self, table: &Table, key: &str, place: usize) -> String {
        match table.get(key).and_then(Item::as_str) {
            Some(text) if !text.trim().is_empty() => text.to_owned(),
            _ => {
                self.mistake(place, format!("`{key}` is missing: a text that is not empty"));
                String::new()
            }
        }
    }

    fn length(&mut self, table: &Table, key: &str) -> Option<f64> {
        let item = table.get(key)?;
        let length = number_of(item).filter(|m| *m > 0.0);
        if length.is_none() {
            self.mistake(start(item), format!("`{key}` is a number of meters above zero"));
        }
        length
    }

    fn proofs(&mut self, table: &Table) -> Vec<Proof> {
        let mut out = Vec::new();
        for (words, place) in self.strings(table, "evidence") {
            match Proof::read(&words) {
                Some(proof) => out.push(proof),
                None => self.mistake(
                    place,
                    format!("`{words}` is no evidence: write phase:NAME, phase:NAME*COUNT or found:NAME, | between alternatives"),
                ),
            }
        }
        out
    }

    fn flag(&mut self, table: &Table, key: &str) -> bool {
        match table.get(key) {
            None => false,
            Some(item) => item.as_bool().unwrap_or_else(|| {
                self.mistake(start(item), format!("`{key}` is true or false"));
                false
            }),
        }
    }

    fn array<'t>(&mut self, table: &'t Table, key: &str) -> Option<&'t Array> {
        let item = table.get(key)?;
        let array = item.as_array();
        if array.is_none() {
            self.mistake(start(item), format!("`{key}` is a list in brackets"));
        }
        array
    }

    fn strings(&mut self, table: &Table, key: &str) -> Vec<(String, usize)> {
        let Some(array) = self.array(table, key) else {
            return Vec::new();
        };
        let mut out = Vec::new();
        for value in array {
            let place = value.span().map_or(0, |span| span.start);
            match value.as_str() {
                Some(text) => out.push((text.to_owned(), place)),
                None => self.mistake(place, format!("`{key}` holds texts")),
            }
        }
        out
    }

    fn texts(&mut self, table: &Table, key: &str) -> Vec<Text> {
        self.strings(table, key).into_iter().map(|(words, place)| self.words(&words, place)).collect()
    }

    fn words(&mut self, words: &str, place: usize) -> Text {
        let mut pieces = Vec::new();
        let mut rest = words;
        while let Some((before, after)) = rest.split_once('{') {
            pieces.push(Piece::Words(before.to_owned()));
            let Some((inside, after)) = after.split_once('}') else {
                self.mistake(place, "`{` is not closed by `}`".to_owned());
                return Text { pieces };
            };
            let Some((value, unit)) = inside.split_once(':') else {
                self.mistake(place, format!("`{{{inside}}}` lacks its unit: write `{{expression : unit}}`"));
                return Text { pieces };
            };
            pieces
                .push(Piece::Number { value: self.read(value.trim(), place), unit: unit.trim().to_owned() });
            rest = after;
        }
        pieces.push(Piece::Words(rest.to_owned()));
        Text { pieces }
    }

    fn expectations(&mut self, table: &Table) -> Vec<Expectation> {
        let Some(array) = self.array(table, "expect") else {
            return Vec::new();
        };
        let mut out = Vec::new();
        for entry in array {
            let place = entry.span().map_or(0, |span| span.start);
            let get = |key: &str| entry.as_inline_table().and_then(|t| t.get(key)).and_then(Value::as_str);
            match (get("name"), get("value"), get("unit")) {
                (Some(name), Some(value), Some(unit)) => {
                    let value = self.read(value, place);
                    let trim_of = get("trim_of").and_then(|word| {
                        let axis = Axis::ALL.into_iter().find(|axis| axis.word() == word);
                        if axis.is_none() {
                            self.mistake(place, format!("`{word}` is none of roll, pitch, yaw, flap"));
                        }
                        axis
                    });
                    out.push(Expectation { name: name.to_owned(), value, unit: unit.to_owned(), trim_of });
                }
                _ => self.mistake(
                    place,
                    "an expectation is { name = …, value = …, unit = … }, all texts, with trim_of where it is a trim".to_owned(),
                ),
            }
        }
        out
    }

    fn expression(&mut self, item: &Item) -> Expression {
        if let Some(number) = number_of(item) {
            return self.read(&number.to_string(), start(item));
        }
        match item.as_str() {
            Some(text) => self.read(text, start(item)),
            None => {
                self.mistake(start(item), "an expression is a number or a text".to_owned());
                Expression::one()
            }
        }
    }

    /// Reads an expression, or tells the mistake and puts a stand-in that never leaves this file.
    fn read(&mut self, text: &str, place: usize) -> Expression {
        match Expression::read(text) {
            Ok(expression) => expression,
            Err(error) => {
                self.mistake(place, format!("`{text}`: {error}"));
                Expression::one()
            }
        }
    }
}

fn start(item: &Item) -> usize {
    item.span().map_or(0, |span| span.start)
}

fn number_of(item: &Item) -> Option<f64> {
    item.as_float().or_else(|| item.as_integer().map(|i| i as f64))
}
