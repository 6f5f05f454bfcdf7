//! What is a metric unit in imperial ones? The exact definitions: NIST Special Publication 811 (2008), appendix B, with the
//! international foot and avoirdupois pound of 1959 and the standard gravity.

use super::quantity::Part;

const M_PER_IN: f64 = 0.0254;
const M_PER_FT: f64 = 0.3048;
const M_PER_MI: f64 = 1609.344;
const KG_PER_LB: f64 = 0.453_592_37;
const N_PER_LBF: f64 = 4.448_221_615_260_5;
/// A conventional inch of mercury, Pa (SP 811, B.8).
const PA_PER_IN_HG: f64 = 3386.389;
/// Finest that is written.
const MOST_DECIMALS: f64 = 6.0;

/// No-break space, so that a number and its unit stay on one line.
const NBSP: char = '\u{a0}';

/// An imperial unit for quantities below a size.
#[derive(Debug)]
struct Target {
    /// Quantities below this, in the metric unit, are told in it.
    below: f64,
    /// Its name.
    name: &'static str,
    /// How many of it are one of the metric unit.
    factor: f64,
}

/// A metric unit.
#[derive(Debug)]
pub(super) struct Metric {
    /// As it is written.
    names: &'static [&'static str],
    /// What it is told in, by size.
    targets: &'static [Target],
    /// Added after the factor where no difference is meant.
    offset: f64,
}

const ANY: f64 = f64::INFINITY;

const fn target(below: f64, name: &'static str, factor: f64) -> Target {
    Target { below, name, factor }
}

const fn metric(names: &'static [&'static str], targets: &'static [Target]) -> Metric {
    Metric { names, targets, offset: 0.0 }
}

/// Longer names before the shorter ones that they begin with.
static ALL: [Metric; 16] = [
    metric(&["km/h"], &[target(ANY, "mph", 1000.0 / M_PER_MI)]),
    metric(&["m/s"], &[target(ANY, "mph", 3600.0 / M_PER_MI)]),
    metric(&["kg/m\u{b2}", "kg/m2"], &[target(ANY, "oz/ft\u{b2}", M_PER_FT * M_PER_FT * 16.0 / KG_PER_LB)]),
    metric(
        &["g/dm\u{b2}", "g/dm2"],
        &[target(ANY, "oz/ft\u{b2}", 0.1 * M_PER_FT * M_PER_FT * 16.0 / KG_PER_LB)],
    ),
    metric(
        &["N\u{a0}m", "N m", "N\u{b7}m", "Nm"],
        &[
            target(1.0, "ozf\u{a0}in", 16.0 / (N_PER_LBF * M_PER_IN)),
            target(ANY, "lbf\u{a0}ft", 1.0 / (N_PER_LBF * M_PER_FT)),
        ],
    ),
    metric(&["dm\u{b2}", "dm2"], &[target(ANY, "in\u{b2}", 0.01 / (M_PER_IN * M_PER_IN))]),
    metric(&["cm\u{b2}", "cm2"], &[target(ANY, "in\u{b2}", 0.0001 / (M_PER_IN * M_PER_IN))]),
    metric(
        &["m\u{b2}", "m2"],
        &[
            target(0.1, "in\u{b2}", 1.0 / (M_PER_IN * M_PER_IN)),
            target(ANY, "ft\u{b2}", 1.0 / (M_PER_FT * M_PER_FT)),
        ],
    ),
    metric(&["hPa"], &[target(ANY, "inHg", 100.0 / PA_PER_IN_HG)]),
    Metric { names: &["\u{b0}C", "\u{2103}"], targets: &[target(ANY, "\u{b0}F", 1.8)], offset: 32.0 },
    metric(&["km"], &[target(ANY, "mi", 1000.0 / M_PER_MI)]),
    metric(&["mm"], &[target(ANY, "in", 0.001 / M_PER_IN)]),
    metric(&["cm"], &[target(ANY, "in", 0.01 / M_PER_IN)]),
    metric(&["kg"], &[target(ANY, "lb", 1.0 / KG_PER_LB)]),
    metric(&["N"], &[target(1.0, "ozf", 16.0 / N_PER_LBF), target(ANY, "lbf", 1.0 / N_PER_LBF)]),
    metric(&["m"], &[target(1.0, "in", 1.0 / M_PER_IN), target(ANY, "ft", 1.0 / M_PER_FT)]),
];

/// The gram apart: its letter is that of the acceleration of gravity, too.
static GRAM: Metric = metric(&["g"], &[target(ANY, "oz", 0.016 / KG_PER_LB)]);

/// Units that make another one of what they follow ("kg m²", "g mm", "N s").
const FOLLOWERS: [&str; 6] = ["m\u{b2}", "m2", "mm", "m", "s", "rad"];

impl Metric {
    /// Whether the letter stands for times the weight: a sentence of loads, not of masses.
    pub(super) fn is_load(&self, sentence: &str) -> bool {
        const WORDS: [&str; 6] =
            ["vibrat", "impact", "load factor", "acceleration", "elevator adds", "own weight"];
        std::ptr::eq(self, &raw const GRAM) && {
            let sentence = sentence.to_lowercase();
            WORDS.iter().any(|word| sentence.contains(word))
        }
    }
}

/// The metric unit at a place and where it ends; `gap` says whether a blank stands before it.
pub(super) fn unit(words: &str, at: usize, gap: bool) -> Option<(&'static Metric, usize)> {
    let rest = words.get(at..)?;
    // The first letter decides for most words that no unit stands here.
    if !rest.starts_with(['k', 'm', 'g', 'N', 'd', 'c', 'h', '\u{b0}', '\u{2103}']) {
        return None;
    }
    let (unit, name) = ALL
        .iter()
        .chain(std::iter::once(&GRAM))
        .flat_map(|unit| unit.names.iter().map(move |name| (unit, *name)))
        .filter(|(_, name)| rest.starts_with(name))
        .max_by_key(|(_, name)| name.len())?;
    let behind = &rest[name.len()..];
    let goes_on = behind
        .chars()
        .next()
        .is_some_and(|c| c.is_alphanumeric() || "/\u{b2}\u{b3}^\u{b7}*_\u{207b}%\u{b0}&".contains(c));
    // "&nbsp;" and "&amp;" end a unit; any other letter or mark makes it another one.
    if goes_on && !behind.starts_with('&') {
        return None;
    }
    // "47.3N" is a place on the globe.
    if !gap && name == "N" {
        return None;
    }
    if matches!(name, "kg" | "g" | "N") {
        let next = behind.trim_start_matches([' ', NBSP]);
        let made_another = next.len() < behind.len()
            && FOLLOWERS.iter().any(|unit| {
                next.strip_prefix(unit).is_some_and(|after| !after.starts_with(|c: char| c.is_alphanumeric()))
            });
        if made_another {
            return None;
        }
    }
    Some((unit, at + name.len()))
}

/// Whether the words around a temperature make it a difference.
pub(super) fn is_difference(before: &str, behind: &str) -> bool {
    const AFTER: [&str; 6] = ["warmer", "colder", "cooler", "hotter", "higher", "lower"];
    let behind = behind.trim_start();
    before.trim_end().ends_with(" by") || AFTER.iter().any(|word| behind.starts_with(word))
}

/// The imperial words of a quantity, as fine as the metric ones. `difference`: nothing is added to temperatures;
/// `plus_minus`: it is a doubt alone.
pub(super) fn words(unit: &Metric, parts: &[Part<'_>], difference: bool, plus_minus: bool) -> String {
    let numbers = || parts.iter().flat_map(|part| std::iter::once(part.number).chain(part.doubt));
    let largest = parts.iter().map(|part| part.number.value.abs()).fold(0.0, f64::max);
    let Some(target) = unit.targets.iter().find(|t| largest < t.below) else { return String::new() };
    let decimals = numbers().map(|number| number.decimals).max().unwrap_or(0);
    // A step of the last metric digit, in the imperial unit: its own last digit is the next finer one.
    let step = 10f64.powi(-i32::try_from(decimals).unwrap_or(0)) * target.factor;
    let decimals = (-step.log10() - 1e-9).ceil().clamp(0.0, MOST_DECIMALS) as usize;
    let offset = if difference { 0.0 } else { unit.offset };
    let mut out = String::new();
    if plus_minus {
        out.push('\u{b1}');
        out.push(NBSP);
    }
    for part in parts {
        out.push_str(if part.joint == "-" { "\u{2013}" } else { part.joint });
        out.push_str(&written(part.number.value * target.factor + offset, decimals));
        if let Some(doubt) = part.doubt {
            out.push_str(&format!("{NBSP}\u{b1}{NBSP}{}", written(doubt.value * target.factor, decimals)));
        }
    }
    // As the metric unit: a degree sign close to its number, others apart.
    out.push(NBSP);
    out.push_str(target.name);
    out
}

/// A number with a true minus sign, and none before zero.
fn written(value: f64, decimals: usize) -> String {
    let text = format!("{:.decimals$}", value.abs());
    if value < 0.0 && text.bytes().any(|b| (b'1'..=b'9').contains(&b)) {
        format!("\u{2212}{text}")
    } else {
        text
    }
}

/// Whether an imperial quantity in brackets stands here already.
pub(super) fn stands(behind: &str) -> bool {
    let Some(inside) = behind.trim_start_matches([' ', NBSP]).strip_prefix('(') else { return false };
    let Some(inside) = inside.split_once(')').map(|(inside, _)| inside) else { return false };
    let begins = inside.starts_with(|c: char| c.is_ascii_digit() || "\u{2212}-\u{b1}".contains(c));
    let mut names = ALL.iter().chain(std::iter::once(&GRAM)).flat_map(|unit| unit.targets).map(|t| t.name);
    begins
        && names.any(|name| {
            inside.strip_suffix(name).is_some_and(|before| !before.ends_with(|c: char| c.is_alphabetic()))
        })
}
