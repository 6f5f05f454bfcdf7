//! How is a table kept as text? One line a point, so that a caller can put it on disk and read it back.

use super::{Curve, Doubt, Origin, SectionPoint, SectionTable, TEXT_VERSION, TableError};

impl SectionTable {
    /// The table as text; [`SectionTable::from_text`] gives the same table back, bit by bit.
    #[must_use]
    pub fn to_text(&self) -> String {
        use std::fmt::Write;
        let list = |values: &[f64]| values.iter().map(f64::to_string).collect::<Vec<_>>().join(" ");
        let mut text = format!("section table {TEXT_VERSION}\n");
        // Writing to a string does not fail.
        let _ = writeln!(text, "key {:016x}", self.key);
        let _ = writeln!(text, "name {}", self.name);
        let _ = writeln!(text, "hinge {}", self.hinge.map_or_else(|| "none".to_owned(), |h| h.to_string()));
        let _ = writeln!(text, "reynolds {}", list(&self.reynolds));
        let _ = writeln!(text, "deflections_rad {}", list(&self.deflections_rad));
        for curve in &self.curves {
            let _ = writeln!(text, "curve {}", curve.points.len());
            for (alpha, p) in &curve.points {
                let numbers = [
                    *alpha,
                    p.cl,
                    p.cd,
                    p.cm,
                    p.top_transition,
                    p.bottom_transition,
                    p.doubt.cl_sd,
                    p.doubt.cd_sd,
                ];
                let word = match p.from {
                    Origin::Converged => "converged",
                    Origin::Bridged => "bridged",
                    Origin::Continued => "continued",
                };
                let _ = writeln!(text, "{} {word}", list(&numbers));
            }
        }
        text
    }

    /// Reads what [`SectionTable::to_text`] wrote.
    ///
    /// # Errors
    /// Another version, a line that is not what it should be, or numbers that make no table.
    pub fn from_text(text: &str) -> Result<Self, TableError> {
        let mut lines = Lines { lines: text.lines(), number: 0 };
        let version = lines.after("section table ", "\"section table\" and its version")?;
        match version.parse::<u32>() {
            Ok(TEXT_VERSION) => {}
            Ok(found) => return Err(TableError::Version { found }),
            Err(_) => return Err(lines.not("\"section table\" and its version")),
        }
        let key = lines.after("key ", "a key")?;
        let key = u64::from_str_radix(key, 16).map_err(|_| lines.not("a key of 16 hexadecimal digits"))?;
        let name = lines.after("name ", "a name")?.to_owned();
        let hinge = match lines.after("hinge ", "a hinge")? {
            "none" => None,
            word => Some(word.parse().map_err(|_| lines.not("a hinge or none"))?),
        };
        let reynolds = lines.numbers("reynolds ", "Reynolds numbers")?;
        let deflections_rad = lines.numbers("deflections_rad ", "deflections")?;
        let mut curves = Vec::new();
        for _ in 0..reynolds.len() * deflections_rad.len() {
            let count = lines.after("curve ", "a curve and its number of points")?;
            let count: usize = count.parse().map_err(|_| lines.not("a curve and its number of points"))?;
            let mut points = Vec::new();
            for _ in 0..count {
                points.push(lines.point()?);
            }
            curves.push(Curve { points });
        }
        Self::new(key, &name, hinge, reynolds, deflections_rad, curves)
    }
}

/// Lines of a text, counted.
struct Lines<'a> {
    lines: std::str::Lines<'a>,
    number: usize,
}

impl<'a> Lines<'a> {
    fn not(&self, wanted: &'static str) -> TableError {
        TableError::Line { line: self.number, wanted }
    }

    fn next(&mut self, wanted: &'static str) -> Result<&'a str, TableError> {
        self.number += 1;
        self.lines.next().ok_or(TableError::Line { line: self.number, wanted })
    }

    /// Rest of the next line after a word.
    fn after(&mut self, word: &str, wanted: &'static str) -> Result<&'a str, TableError> {
        let line = self.next(wanted)?;
        line.strip_prefix(word).map(str::trim).ok_or_else(|| self.not(wanted))
    }

    fn numbers(&mut self, word: &str, wanted: &'static str) -> Result<Vec<f64>, TableError> {
        let rest = self.after(word, wanted)?;
        rest.split_whitespace().map(|w| w.parse::<f64>().map_err(|_| self.not(wanted))).collect()
    }

    fn point(&mut self) -> Result<(f64, SectionPoint), TableError> {
        let wanted = "eight numbers and where the point comes from";
        let line = self.next(wanted)?;
        let words: Vec<&str> = line.split_whitespace().collect();
        let [numbers @ .., word] = words.as_slice() else { return Err(self.not(wanted)) };
        let numbers: Vec<f64> = numbers
            .iter()
            .map(|w| w.parse::<f64>().map_err(|_| self.not(wanted)))
            .collect::<Result<_, _>>()?;
        let [alpha, cl, cd, cm, top_transition, bottom_transition, cl_sd, cd_sd] = numbers[..] else {
            return Err(self.not(wanted));
        };
        let from = match *word {
            "converged" => Origin::Converged,
            "bridged" => Origin::Bridged,
            "continued" => Origin::Continued,
            _ => return Err(self.not(wanted)),
        };
        let doubt = Doubt { cl_sd, cd_sd };
        Ok((alpha, SectionPoint { cl, cd, cm, top_transition, bottom_transition, doubt, from }))
    }
}
