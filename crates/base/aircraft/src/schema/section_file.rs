//! What does the name of a section mean, and what is in a coordinate file?

use crate::section::{Section, Shape};

/// Why a name or a text is no section.
#[derive(Debug, Clone, PartialEq)]
pub enum NoSection {
    /// Digits that no four- or five-digit section has.
    Digits {
        /// What is wrong with them.
        why: &'static str,
    },
    /// The name is not of digits and no file of that name was found.
    NoFile,
    /// A line of a coordinate file that should hold two numbers does not.
    NotCoordinates {
        /// Line, from 1.
        line: usize,
    },
    /// Fewer points than draw a section.
    TooFewPoints {
        /// How many there are.
        points: usize,
    },
    /// The counts at the head do not fit the points that follow.
    CountsDoNotFit {
        /// Points announced.
        announced: usize,
        /// Points found.
        found: usize,
    },
    /// The points do not run once from an edge to the other on each side.
    NotOneLoop,
    /// Upper and lower side cross, or the section is thicker than half its chord or has no thickness.
    NotASection {
        /// Greatest thickness found, over chord.
        thickness: f64,
    },
}

impl NoSection {
    /// In words.
    #[must_use]
    pub fn told(&self) -> String {
        match self {
            Self::Digits { why } => (*why).to_owned(),
            Self::NoFile => "no coordinate file of that name was found".to_owned(),
            Self::NotCoordinates { line } => {
                format!("line {line} of the coordinate file should hold two numbers, x and y")
            }
            Self::TooFewPoints { points } => {
                format!("the coordinate file holds {points} points; a section needs at least {LEAST_POINTS}")
            }
            Self::CountsDoNotFit { announced, found } => format!(
                "the coordinate file announces {announced} points but holds {found}: it may have been cut off"
            ),
            Self::NotOneLoop => {
                "the points of the coordinate file do not run once along the upper and once along the \
                                 lower side"
                    .to_owned()
            }
            Self::NotASection { thickness } => format!(
                "the sides of the coordinate file cross or are {:.0} % of the chord apart",
                thickness * 100.0
            ),
        }
    }
}

const LEAST_POINTS: usize = 10;
/// Thickness over chord beyond which it is no wing section.
const THICKEST: f64 = 0.5;
/// How far a side may go back along the chord, over chord: coordinates carry rounding, and a blunt nose is dense.
const BACKTRACK: f64 = 1e-3;

/// The section of a name: NACA digits ("naca 2412", "2412", "NACA23012"), else a coordinate file.
///
/// # Errors
/// When digits are no section, no file is found, or the file is no section.
pub fn section(name: &str, section_file: &dyn Fn(&str) -> Option<String>) -> Result<Section, NoSection> {
    let shape = match digits(name) {
        Some(digits) => by_digits(&digits)?,
        None => Shape::Points(points(&section_file(name).ok_or(NoSection::NoFile)?)?),
    };
    Ok(Section { name: name.to_owned(), shape })
}

/// The digits of a name that is a NACA section by its look.
fn digits(name: &str) -> Option<Vec<u32>> {
    let lower = name.trim().to_lowercase();
    let rest = lower.strip_prefix("naca").unwrap_or(&lower);
    let rest = rest.trim_start_matches([' ', '-', '_']).trim_end();
    let named = lower.starts_with("naca");
    let digits: Option<Vec<u32>> = rest.chars().map(|c| c.to_digit(10)).collect();
    match digits {
        Some(d) if d.len() == 4 || d.len() == 5 || (named && !d.is_empty()) => Some(d),
        _ => None,
    }
}

fn by_digits(digits: &[u32]) -> Result<Shape, NoSection> {
    let hundredths = |tens: u32, ones: u32| f64::from(10 * tens + ones) / 100.0;
    match *digits {
        [camber, at, tens, ones] => {
            let thickness = thick_enough(hundredths(tens, ones))?;
            if (camber == 0) != (at == 0) {
                return Err(NoSection::Digits {
                    why: "the first digit is the camber and the second its place: both are 0 or neither",
                });
            }
            Ok(Shape::Naca4 { camber: f64::from(camber) / 100.0, camber_at: f64::from(at) / 10.0, thickness })
        }
        [lift, at, reflex @ 0..=1, tens, ones]
            if lift > 0 && (2 - u32::from(reflex == 0)..=5).contains(&at) =>
        {
            Ok(Shape::Naca5 {
                design_lift: 0.15 * f64::from(lift),
                camber_at: f64::from(at) / 20.0,
                thickness: thick_enough(hundredths(tens, ones))?,
                reflexed: reflex == 1,
            })
        }
        _ => Err(NoSection::Digits {
            why: "known are four digits (2412), and five with second and third digit from 10 to 50 (23012), or from 21 to \
                  51 of a reflexed mean line (23112)",
        }),
    }
}

fn thick_enough(thickness: f64) -> Result<f64, NoSection> {
    if (0.01..=THICKEST).contains(&thickness) {
        Ok(thickness)
    } else {
        Err(NoSection::Digits { why: "the last two digits are the thickness in per cent, from 01 to 50" })
    }
}

/// Points of a coordinate file in one order: trailing edge, upper side, nose, lower side, on a chord of one.
/// The file may hold one loop that begins at the trailing edge, or the upper and then the lower side, both from the
/// nose, with or without the number of points of each ahead; any header; commas, tabs or blanks between numbers.
///
/// # Errors
/// When it is no section, with the reason.
pub fn points(text: &str) -> Result<Vec<[f64; 2]>, NoSection> {
    let rows = rows(text)?;
    let (first, rest) = rows.split_first().ok_or(NoSection::TooFewPoints { points: 0 })?;
    // Counts are whole numbers of at least a few points; a first point lies at the edge of the chord.
    let counts = counts(*first, rest);
    let (rows, counts) = match counts {
        Some(counts) => (rest, Some(counts)),
        None => (rows.as_slice(), None),
    };
    if rows.len() < LEAST_POINTS {
        return Err(NoSection::TooFewPoints { points: rows.len() });
    }
    if let Some([upper, lower]) = counts
        && upper + lower != rows.len()
    {
        return Err(NoSection::CountsDoNotFit { announced: upper + lower, found: rows.len() });
    }
    let rows = on_unit_chord(rows)?;
    let (upper, lower) = if rows.first().is_some_and(|p| p[0] > 0.5) {
        split_loop(&rows)
    } else {
        split_sides(&rows, counts.map(|[upper, _]| upper))?
    };
    if !runs_aft(&upper) || !runs_aft(&lower) {
        return Err(NoSection::NotOneLoop);
    }
    let (upper, lower) =
        if mean_height(&upper) >= mean_height(&lower) { (upper, lower) } else { (lower, upper) };
    let apart: Vec<f64> =
        (1..100).map(|i| f64::from(i) / 100.0).map(|x| height(&upper, x) - height(&lower, x)).collect();
    let thickness = apart.iter().copied().fold(0.0, f64::max);
    let crossed = apart.iter().any(|t| *t < -0.005);
    if crossed || !(0.005..=THICKEST).contains(&thickness) {
        return Err(NoSection::NotASection { thickness });
    }
    let shared_nose = upper.first() == lower.first();
    Ok(upper.into_iter().rev().chain(lower.into_iter().skip(usize::from(shared_nose))).collect())
}

/// Pairs of numbers; what precedes the first pair is a header.
fn rows(text: &str) -> Result<Vec<[f64; 2]>, NoSection> {
    let mut rows = Vec::new();
    for (index, line) in text.trim_start_matches('\u{feff}').lines().enumerate() {
        let line = line.trim();
        if line.is_empty() {
            continue;
        }
        let numbers: Vec<Option<f64>> = line
            .split([' ', '\t', ',', ';'])
            .filter(|part| !part.is_empty())
            .map(|part| part.parse::<f64>().ok().filter(|n| n.is_finite() && n.abs() < 1e6))
            .collect();
        match numbers.as_slice() {
            [Some(x), Some(y)] => rows.push([*x, *y]),
            _ if rows.is_empty() || line.starts_with('#') => {}
            _ => return Err(NoSection::NotCoordinates { line: index + 1 }),
        }
    }
    Ok(rows)
}

/// The numbers of points of the two sides, if the first row is not a point.
fn counts(first: [f64; 2], rest: &[[f64; 2]]) -> Option<[usize; 2]> {
    let largest = rest.iter().map(|p| p[0]).fold(0.0, f64::max);
    let whole = |n: f64| (3.0..10_000.0).contains(&n) && n.fract() == 0.0;
    if !(whole(first[0]) && whole(first[1]) && largest < first[0].min(first[1])) {
        return None;
    }
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "both are whole and between 3 and 10 000"
    )]
    let counts = [first[0] as usize, first[1] as usize];
    Some(counts)
}

fn on_unit_chord(rows: &[[f64; 2]]) -> Result<Vec<[f64; 2]>, NoSection> {
    let least = rows.iter().map(|p| p[0]).fold(f64::INFINITY, f64::min);
    let most = rows.iter().map(|p| p[0]).fold(f64::NEG_INFINITY, f64::max);
    let chord = most - least;
    if !(chord.is_finite() && chord > 0.0) {
        return Err(NoSection::NotOneLoop);
    }
    Ok(rows.iter().map(|p| [(p[0] - least) / chord, p[1] / chord]).collect())
}

type Sides = (Vec<[f64; 2]>, Vec<[f64; 2]>);

/// Both sides from the nose aft, of one loop from the trailing edge.
fn split_loop(rows: &[[f64; 2]]) -> Sides {
    let nose = rows.iter().enumerate().min_by(|a, b| a.1[0].total_cmp(&b.1[0])).map_or(0, |(i, _)| i);
    let first = rows.iter().take(nose + 1).rev().copied().collect();
    let second = rows.iter().skip(nose).copied().collect();
    (first, second)
}

/// Both sides from the nose aft, of a file that gives one after the other.
fn split_sides(rows: &[[f64; 2]], upper: Option<usize>) -> Result<Sides, NoSection> {
    let cut = upper
        .or_else(|| rows.windows(2).position(|w| matches!(w, [a, b] if b[0] < a[0] - 0.5)).map(|i| i + 1))
        .ok_or(NoSection::NotOneLoop)?;
    if cut == 0 || cut >= rows.len() {
        return Err(NoSection::NotOneLoop);
    }
    let (first, second) = rows.split_at(cut);
    Ok((first.to_vec(), second.to_vec()))
}

/// Whether a side runs from the nose to the trailing edge without turning back.
fn runs_aft(side: &[[f64; 2]]) -> bool {
    let ends = matches!((side.first(), side.last()), (Some(a), Some(b)) if a[0] < 0.05 && b[0] > 0.9);
    ends && side.len() >= 3 && side.windows(2).all(|w| matches!(w, [a, b] if b[0] >= a[0] - BACKTRACK))
}

fn mean_height(side: &[[f64; 2]]) -> f64 {
    (1..20).map(|i| height(side, f64::from(i) / 20.0)).sum()
}

/// Height of a side that runs aft, straight between its points.
fn height(side: &[[f64; 2]], x: f64) -> f64 {
    let after = side.iter().position(|p| p[0] >= x).unwrap_or(side.len().saturating_sub(1));
    match (after.checked_sub(1).and_then(|i| side.get(i)), side.get(after)) {
        (Some(a), Some(b)) if b[0] > a[0] => {
            a[1] + (b[1] - a[1]) * ((x - a[0]) / (b[0] - a[0])).clamp(0.0, 1.0)
        }
        (_, Some(b)) => b[1],
        _ => 0.0,
    }
}
