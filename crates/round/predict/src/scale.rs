//! What does the builder type into the controller? First gains through the builder's own table of settings.
//!
//! Gains here are physical: surface degrees per degree a second and the like. A controller counts in units of its own,
//! which this program does not know and does not guess: the builder writes down, once for each setting, what it is
//! called, which gain it is, by which factor it counts, and between which limits it may lie.
//!
//! ```toml
//! [[setting]]
//! quantity = "roll.proportional"
//! name = "BANK STIFFNESS"
//! unit = "thousandths"
//! factor = 1000
//! low = 0
//! high = 250
//! decimals = 0
//! ```

use aircraft::controller::Gains;
use toml_edit::{Item, Table};

use crate::prediction::{NotPredicted, Outcome};

/// Axes and parts of a gain, in the words of the table.
const AXES: [&str; 3] = ["roll", "pitch", "yaw"];
const PARTS: [&str; 4] = ["feed_forward", "proportional", "integral", "derivative"];

/// One setting of a controller.
#[derive(Debug, Clone, PartialEq)]
pub struct Setting {
    /// Axis: 0 roll, 1 pitch, 2 yaw.
    axis: usize,
    /// Part: 0 feed-forward, 1 proportional, 2 integral, 3 derivative.
    part: usize,
    /// What the controller calls it, as the builder wrote it.
    pub name: String,
    /// Its unit, as the builder wrote it; may be empty.
    pub unit: String,
    /// What it reads for one physical unit (s, 1, s²; surface angle over turning rate).
    pub factor: f64,
    /// The least that it takes.
    pub low: f64,
    /// The most that it takes.
    pub high: f64,
    /// Decimals that it takes.
    pub decimals: usize,
}

/// A line to enter, or why there is none.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// Which gain, "roll.proportional".
    pub quantity: String,
    /// What the controller calls it.
    pub name: String,
    /// Its unit.
    pub unit: String,
    /// The number to type, rounded to what the setting takes; or why there is none.
    pub value: Result<f64, String>,
    /// Decimals of it.
    pub decimals: usize,
}

/// A fault of the table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// Line of the file, from one.
    pub line: usize,
    /// What is wrong.
    pub problem: String,
    /// What to do.
    pub remedy: String,
}

impl Setting {
    /// Which gain, in the words of the table.
    #[must_use]
    pub fn quantity(&self) -> String {
        let word = |words: &[&str], i: usize| words.get(i).copied().unwrap_or_default().to_owned();
        format!("{}.{}", word(&AXES, self.axis), word(&PARTS, self.part))
    }
}

/// Reads a table of settings.
///
/// # Errors
/// With everything that is wrong in it, in order.
pub fn read(text: &str) -> Result<Vec<Setting>, Vec<Fault>> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let line_of = |at: usize| text.get(..at).map_or(1, |before| before.matches('\n').count() + 1);
    let document = toml_edit::Document::parse(text).map_err(|error| {
        vec![Fault {
            line: line_of(error.span().map_or(0, |s| s.start)),
            problem: format!("not TOML: {}", error.message().trim().replace('\n', "; ")),
            remedy: "a line is key = value, each setting begins with [[setting]]".to_owned(),
        }]
    })?;
    let mut faults = Vec::new();
    for (key, item) in document.as_table() {
        if key != "setting" {
            faults.push(Fault {
                line: line_of(item.span().map_or(0, |s| s.start)),
                problem: format!("\"{key}\" has no meaning here"),
                remedy: "the file is a list of [[setting]] tables".to_owned(),
            });
        }
    }
    let tables = document.get("setting").and_then(Item::as_array_of_tables);
    let mut settings: Vec<Setting> = Vec::new();
    for table in tables.into_iter().flatten() {
        let line = line_of(table.span().map_or(0, |s| s.start));
        let before = faults.len();
        let setting = read_one(table, line, &|at| line_of(at), &mut faults);
        if let (Some(setting), true) = (setting, faults.len() == before) {
            if settings.iter().any(|s| s.name == setting.name) {
                faults.push(Fault {
                    line,
                    problem: format!("two settings are called \"{}\"", setting.name),
                    remedy: "each line to enter needs a name of its own".to_owned(),
                });
            }
            settings.push(setting);
        }
    }
    if settings.is_empty() && faults.is_empty() {
        faults.push(Fault {
            line: 1,
            problem: "there is no setting in the table".to_owned(),
            remedy: "write a [[setting]] with quantity, name, factor, low and high for each".to_owned(),
        });
    }
    if faults.is_empty() { Ok(settings) } else { Err(faults) }
}

fn read_one(
    table: &Table,
    line: usize,
    line_of: &dyn Fn(usize) -> usize,
    faults: &mut Vec<Fault>,
) -> Option<Setting> {
    let mut fault = |key: &str, problem: String, remedy: &str| {
        let at = table.get(key).and_then(Item::span).map_or(line, |s| line_of(s.start));
        faults.push(Fault { line: at, problem, remedy: remedy.to_owned() });
    };
    const KEYS: [&str; 7] = ["quantity", "name", "unit", "factor", "low", "high", "decimals"];
    for (key, _) in table {
        if !KEYS.contains(&key) {
            fault(
                key,
                format!("\"{key}\" has no meaning in a setting"),
                &format!("keys: {}", KEYS.join(", ")),
            );
        }
    }
    let text = |key: &str| table.get(key).and_then(Item::as_str).map(str::trim);
    let number = |key: &str| {
        let item = table.get(key)?;
        #[expect(clippy::cast_precision_loss, reason = "no setting has more than 2^53 steps")]
        item.as_float().or_else(|| item.as_integer().map(|i| i as f64)).filter(|n| n.is_finite())
    };
    let quantity = text("quantity").unwrap_or_default();
    let place = quantity.split_once('.').and_then(|(axis, part)| {
        Some((AXES.iter().position(|a| *a == axis)?, PARTS.iter().position(|p| *p == part)?))
    });
    if place.is_none() {
        fault(
            "quantity",
            format!("\"{quantity}\" is no gain"),
            "quantity is roll, pitch or yaw, a point, and feed_forward, proportional, integral or derivative: \"roll.proportional\"",
        );
    }
    let name = text("name").unwrap_or_default();
    if name.is_empty() {
        fault("name", "a setting lacks its name".to_owned(), "name = \"…\": what your controller calls it");
    }
    let (factor, low, high) = (number("factor"), number("low"), number("high"));
    if factor.is_none_or(|f| f == 0.0) {
        fault(
            "factor",
            format!("\"{name}\" lacks a factor that is not zero"),
            "factor = what the setting reads for a gain of one (degrees of surface per degree a second)",
        );
    }
    match (low, high) {
        (Some(low), Some(high)) if low < high => {}
        (Some(low), Some(high)) => {
            fault(
                "low",
                format!("\"{name}\" goes from {low} to {high}"),
                "low is the smaller limit, high the larger",
            );
        }
        _ => fault(
            "low",
            format!("\"{name}\" lacks low or high"),
            "write both limits that the controller states for it",
        ),
    }
    let decimals = match table.get("decimals") {
        None => Some(3),
        Some(item) => item.as_integer().and_then(|i| usize::try_from(i).ok()).filter(|d| *d <= 9),
    };
    if decimals.is_none() {
        fault("decimals", format!("the decimals of \"{name}\" are no number from 0 to 9"), "decimals = 0");
    }
    let (axis, part) = place?;
    Some(Setting {
        axis,
        part,
        name: name.to_owned(),
        unit: text("unit").unwrap_or_default().to_owned(),
        factor: factor?,
        low: low?,
        high: high?,
        decimals: decimals?,
    })
}

/// The lines to enter. A gain that was not predicted, or that comes to lie outside what the setting takes, is refused and
/// says so: cut to the limit it would be another gain than the one that keeps the margins.
#[must_use]
pub fn lines(settings: &[Setting], gains: &[Outcome<Gains>; 3]) -> Vec<Line> {
    settings
        .iter()
        .map(|setting| Line {
            quantity: setting.quantity(),
            name: setting.name.clone(),
            unit: setting.unit.clone(),
            value: value(setting, gains),
            decimals: setting.decimals,
        })
        .collect()
}

fn value(setting: &Setting, gains: &[Outcome<Gains>; 3]) -> Result<f64, String> {
    let quantity = setting.quantity();
    let gain = match gains.get(setting.axis) {
        Some(Ok(g)) => [g.feed_forward_s, g.proportional_s, g.integral, g.derivative_s2],
        Some(Err(NotPredicted::Missing { what })) => {
            return Err(format!("{quantity} is not known: the aircraft file lacks {what}"));
        }
        Some(Err(NotPredicted::NoSolution { why })) => {
            return Err(format!("{quantity} is not known: {why}"));
        }
        None => return Err(format!("{quantity} is not known")),
    };
    let gain = gain.get(setting.part).copied().unwrap_or(f64::NAN);
    let step = 10.0_f64.powi(i32::try_from(setting.decimals).unwrap_or(0));
    let exact = gain * setting.factor;
    let typed = (exact * step).round() / step;
    if !typed.is_finite() {
        return Err(format!("{quantity} is no number"));
    }
    if typed < setting.low || typed > setting.high {
        return Err(format!(
            "{quantity} comes to {typed} {}, outside the limits of \"{}\", {} to {}: not cut to the limit; check the factor, and whether low and high are those of the controller",
            setting.unit, setting.name, setting.low, setting.high
        ));
    }
    if gain > 0.0 && typed == 0.0 {
        return Err(format!(
            "{quantity} comes to {exact:.2e} {}, which rounds to nothing with {} decimals: give more decimals or check the factor",
            setting.unit, setting.decimals
        ));
    }
    Ok(typed)
}

#[cfg(test)]
mod tests {
    use super::*;

    const TABLE: &str = "[[setting]]\nquantity = \"roll.proportional\"\nname = \"BANK\"\nunit = \"thousandths\"\nfactor = 1000\nlow = 0\nhigh = 250\ndecimals = 0\n";

    fn gains(proportional_s: f64) -> [Outcome<Gains>; 3] {
        let roll = Gains { proportional_s, ..Gains::default() };
        let none = || Err(NotPredicted::Missing { what: "a [[movable]]".to_owned() });
        [Ok(roll), none(), none()]
    }

    #[test]
    fn a_gain_becomes_a_line_in_the_builders_own_unit() {
        let settings = read(TABLE).unwrap();
        // 0.0437 s times 1000 is 43.7, typed 44.
        let line = &lines(&settings, &gains(0.0437))[0];
        assert_eq!(
            (line.name.as_str(), line.unit.as_str(), line.quantity.as_str()),
            ("BANK", "thousandths", "roll.proportional")
        );
        assert_eq!(line.value, Ok(44.0));
        assert_eq!(lines(&settings, &gains(0.250_49))[0].value, Ok(250.0));
    }

    #[test]
    fn what_lies_outside_is_refused_and_never_cut() {
        let settings = read(TABLE).unwrap();
        let refused = lines(&settings, &gains(0.3))[0].value.clone().unwrap_err();
        assert!(
            refused.contains("300") && refused.contains("0 to 250") && refused.contains("BANK"),
            "{refused}"
        );
        let nothing = lines(&settings, &gains(0.0002))[0].value.clone().unwrap_err();
        assert!(nothing.contains("rounds to nothing"), "{nothing}");
        let pitch = read(&TABLE.replace("roll", "pitch")).unwrap();
        let missing = lines(&pitch, &gains(0.1))[0].value.clone().unwrap_err();
        assert!(missing.contains("[[movable]]"), "{missing}");
    }

    #[test]
    fn every_fault_is_told_by_its_line() {
        let faults = |text: &str| read(text).unwrap_err();
        let bad = TABLE
            .replace("proportional", "stiffness")
            .replace("low = 0", "low = 900")
            .replace("factor", "faktor");
        let found = faults(&bad);
        assert!(found.iter().any(|f| f.line == 2 && f.problem.contains("roll.stiffness")), "{found:?}");
        assert!(found.iter().any(|f| f.line == 5 && f.problem.contains("faktor")), "{found:?}");
        assert!(found.iter().any(|f| f.line == 6 && f.problem.contains("900")), "{found:?}");
        assert!(faults("")[0].problem.contains("no setting"));
        assert!(faults("quantity = \n")[0].problem.contains("not TOML"));
        assert!(faults("low = 3\n")[0].problem.contains("no meaning"));
        assert!(faults(&format!("{TABLE}{TABLE}"))[0].problem.contains("two settings"));
    }
}
