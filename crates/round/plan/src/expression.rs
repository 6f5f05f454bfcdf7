//! What number does a test point ask of this aircraft? Expressions over predictions and the day's weather: numbers,
//! names as the JSON documents write them, `+ - * /`, parentheses.

use numerics::uncertain::{Uncertain, propagate};

use crate::names::{self, Name, Scope};

/// A read expression; every name in it is known.
#[derive(Debug, Clone, PartialEq)]
pub struct Expression {
    text: String,
    names: Vec<&'static Name>,
    root: Node,
}

#[derive(Debug, Clone, PartialEq)]
enum Node {
    Number(f64),
    /// Index into the expression's names.
    Name(usize),
    Negated(Box<Node>),
    Both(Box<Node>, Operator, Box<Node>),
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Operator {
    Plus,
    Minus,
    Times,
    Over,
}

/// Why a text is no expression.
#[derive(Debug, Clone, PartialEq)]
pub enum NotAnExpression {
    /// Something else was expected at this character (counted from 1).
    Unexpected {
        /// Which character of the text, from 1.
        at: usize,
        /// What stands there, or "the end".
        found: String,
        /// What could stand there.
        wanted: &'static str,
    },
    /// A name that no prediction has.
    UnknownName {
        /// Which character of the text, from 1.
        at: usize,
        /// The name.
        name: String,
        /// All names there are.
        known: Vec<&'static str>,
    },
}

impl std::fmt::Display for NotAnExpression {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Unexpected { at, found, wanted } => {
                write!(f, "character {at}: found {found}, wanted {wanted}")
            }
            Self::UnknownName { at, name, known } => write!(
                f,
                "character {at}: nothing predicted is called `{name}`; the names are {}",
                known.join(", ")
            ),
        }
    }
}

/// Why an expression has no value for this aircraft.
#[derive(Debug, Clone, PartialEq)]
pub enum NoValue {
    /// A prediction in it could not be made.
    NotPredicted {
        /// Its name.
        name: &'static str,
        /// What people call it.
        words: &'static str,
        /// Why there is none.
        why: String,
    },
    /// The result is not a number (a division by zero).
    NotANumber {
        /// The expression.
        text: String,
    },
}

impl std::fmt::Display for NoValue {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::NotPredicted { words, why, .. } => write!(f, "{words} is not predicted: {why}"),
            Self::NotANumber { text } => write!(f, "`{text}` is not a number for this aircraft"),
        }
    }
}

impl Expression {
    /// Reads an expression.
    ///
    /// # Errors
    /// When the text is not one, or names something that is not predicted.
    pub fn read(text: &str) -> Result<Self, NotAnExpression> {
        let mut reader = Reader { characters: text.chars().collect(), at: 0, names: Vec::new(), depth: 0 };
        let root = reader.sum()?;
        reader.skip_space();
        if reader.at < reader.characters.len() {
            return Err(reader.unexpected("an operator or the end"));
        }
        Ok(Self { text: text.to_owned(), names: reader.names, root })
    }

    /// The number one, where a mistake that was told leaves nothing else to put.
    pub(crate) fn one() -> Self {
        Self { text: "1".to_owned(), names: Vec::new(), root: Node::Number(1.0) }
    }

    /// The expression as it was written.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.text
    }

    /// What it is in words, where it is a part of one named number: "a fifth of the stall speed".
    #[must_use]
    pub fn words(&self) -> Option<String> {
        let (part, name) = match &self.root {
            Node::Name(name) => (1.0, *name),
            Node::Both(left, Operator::Times, right) => match (left.as_ref(), right.as_ref()) {
                (Node::Number(part), Node::Name(name)) | (Node::Name(name), Node::Number(part)) => {
                    (*part, *name)
                }
                _ => return None,
            },
            _ => return None,
        };
        let words = self.names.get(name)?.words;
        let known = [
            (1.0, ""),
            (0.1, "a tenth of "),
            (0.2, "a fifth of "),
            (0.25, "a quarter of "),
            (0.3, "three tenths of "),
            (0.4, "two fifths of "),
            (0.5, "half "),
            (0.6, "three fifths of "),
            (0.75, "three quarters of "),
        ];
        Some(match known.iter().find(|(share, _)| (share - part).abs() < 1e-9) {
            Some((_, told)) => format!("{told}{words}"),
            None if part < 1.0 => format!("{} of {words}", crate::number::coarse(100.0 * part, "percent")),
            None => format!("{} times {words}", crate::number::plain(part)),
        })
    }

    /// Its value for an aircraft's predictions and a day, with the standard deviation that follows to first order
    /// from those of the predictions, taken as independent of one another.
    ///
    /// # Errors
    /// When a prediction in it could not be made, or the result is not a number.
    pub fn value(&self, scope: &Scope<'_>) -> Result<Uncertain, NoValue> {
        let mut inputs = Vec::with_capacity(self.names.len());
        for name in &self.names {
            inputs.push((name.value)(scope).map_err(|why| NoValue::NotPredicted {
                name: name.name,
                words: name.words,
                why,
            })?);
        }
        let result = propagate(&inputs, |values| evaluate(&self.root, values));
        if result.value.is_finite() && result.sd.is_finite() {
            Ok(result)
        } else {
            Err(NoValue::NotANumber { text: self.text.clone() })
        }
    }
}

fn evaluate(node: &Node, values: &[f64]) -> f64 {
    match node {
        Node::Number(number) => *number,
        Node::Name(index) => values.get(*index).copied().unwrap_or(f64::NAN),
        Node::Negated(inner) => -evaluate(inner, values),
        Node::Both(left, operator, right) => {
            let (left, right) = (evaluate(left, values), evaluate(right, values));
            match operator {
                Operator::Plus => left + right,
                Operator::Minus => left - right,
                Operator::Times => left * right,
                Operator::Over => left / right,
            }
        }
    }
}

/// Nesting beyond this is a mistake, and would otherwise eat the stack.
const DEEPEST: usize = 50;

struct Reader {
    characters: Vec<char>,
    at: usize,
    names: Vec<&'static Name>,
    depth: usize,
}

impl Reader {
    fn skip_space(&mut self) {
        while self.peek().is_some_and(char::is_whitespace) {
            self.at += 1;
        }
    }

    fn peek(&self) -> Option<char> {
        self.characters.get(self.at).copied()
    }

    fn unexpected(&self, wanted: &'static str) -> NotAnExpression {
        NotAnExpression::Unexpected {
            at: self.at + 1,
            found: self.peek().map_or("the end".to_owned(), |c| format!("`{c}`")),
            wanted,
        }
    }

    fn sum(&mut self) -> Result<Node, NotAnExpression> {
        let mut left = self.product()?;
        loop {
            self.skip_space();
            let operator = match self.peek() {
                Some('+') => Operator::Plus,
                Some('-') => Operator::Minus,
                _ => return Ok(left),
            };
            self.at += 1;
            left = Node::Both(Box::new(left), operator, Box::new(self.product()?));
        }
    }

    fn product(&mut self) -> Result<Node, NotAnExpression> {
        let mut left = self.factor()?;
        loop {
            self.skip_space();
            let operator = match self.peek() {
                Some('*') => Operator::Times,
                Some('/') => Operator::Over,
                _ => return Ok(left),
            };
            self.at += 1;
            left = Node::Both(Box::new(left), operator, Box::new(self.factor()?));
        }
    }

    fn factor(&mut self) -> Result<Node, NotAnExpression> {
        self.depth += 1;
        if self.depth > DEEPEST {
            return Err(self.unexpected("fewer nested parentheses and signs"));
        }
        self.skip_space();
        let node = match self.peek() {
            Some('-') => {
                self.at += 1;
                Node::Negated(Box::new(self.factor()?))
            }
            Some('(') => {
                self.at += 1;
                let inner = self.sum()?;
                self.skip_space();
                if self.peek() != Some(')') {
                    return Err(self.unexpected("`)`"));
                }
                self.at += 1;
                inner
            }
            Some(c) if c.is_ascii_digit() || c == '.' => self.number()?,
            Some(c) if c.is_ascii_alphabetic() => self.name()?,
            _ => return Err(self.unexpected("a number, a name or `(`")),
        };
        self.depth -= 1;
        Ok(node)
    }

    fn number(&mut self) -> Result<Node, NotAnExpression> {
        let from = self.at;
        while self.peek().is_some_and(|c| c.is_ascii_digit() || c == '.') {
            self.at += 1;
        }
        let text: String = self.characters.iter().skip(from).take(self.at - from).collect();
        match text.parse::<f64>() {
            Ok(number) => Ok(Node::Number(number)),
            Err(_) => Err(NotAnExpression::Unexpected {
                at: from + 1,
                found: format!("`{text}`"),
                wanted: "a number",
            }),
        }
    }

    fn name(&mut self) -> Result<Node, NotAnExpression> {
        let from = self.at;
        while self.peek().is_some_and(|c| c.is_ascii_alphanumeric() || c == '_' || c == '.') {
            self.at += 1;
        }
        let text: String = self.characters.iter().skip(from).take(self.at - from).collect();
        let Some(name) = names::ALL.iter().find(|n| n.name == text) else {
            return Err(NotAnExpression::UnknownName {
                at: from + 1,
                name: text,
                known: names::ALL.iter().map(|n| n.name).collect(),
            });
        };
        let index = match self.names.iter().position(|n| n.name == name.name) {
            Some(index) => index,
            None => {
                self.names.push(name);
                self.names.len() - 1
            }
        };
        Ok(Node::Name(index))
    }
}
