//! What would it be like with another balance point, pack position, weight or throw? Tried on the described aircraft, not
//! in its file; written into the file when asked.

use aircraft::control::Axis;
use aircraft::mass::{Item, Weighed};
use aircraft::movable::{Mix, Movable};
use aircraft::schema::units::{Quantity, Unit};
use aircraft::{Aircraft, Known, Origin};

use crate::tasks::amend::{As, CannotAmend, Sheet};

/// Largest throw that the description takes, rad.
const MOST_THROW_RAD: f64 = std::f64::consts::FRAC_PI_3;
/// Doubts of what is only tried: a balance point as a stand finds it, m, and a total as a scale finds it, as a share
/// (common practice, no source).
const TRIED_BALANCE_SD_M: f64 = 0.002;
const TRIED_TOTAL_SD: f64 = 0.005;

/// What is tried; nothing of it leaves the aircraft as it is described.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct WhatIf {
    /// Balance point along x from the datum, with the pack where it is described, m.
    pub(crate) balance_x_m: Option<f64>,
    /// Middle of the item that can be moved, along x, m.
    pub(crate) pack_x_m: Option<f64>,
    /// Total mass, kg.
    pub(crate) total_kg: Option<f64>,
    /// Throws of roll, pitch, yaw and flap as shares of the described ones.
    pub(crate) throws: [Option<f64>; 4],
}

/// The item that is moved to balance: the heaviest of those that can be.
pub(crate) fn pack(aircraft: &Aircraft) -> Option<(usize, &Item, [f64; 2])> {
    aircraft
        .masses
        .iter()
        .enumerate()
        .filter_map(|(i, item)| Some((i, item, item.movable_x_m?)))
        .filter(|(.., [from, to])| to > from)
        .max_by(|a, b| a.1.mass_kg.value.total_cmp(&b.1.mass_kg.value))
}

fn share(mix: &Mix, axis: Axis) -> f64 {
    match axis {
        Axis::Roll => mix.roll,
        Axis::Pitch => mix.pitch,
        Axis::Yaw => mix.yaw,
        Axis::Flap => mix.flap,
    }
}

/// Whether any surface answers an axis.
pub(crate) fn answers(aircraft: &Aircraft, axis: Axis) -> bool {
    aircraft.movables.iter().any(|m| share(&m.mix, axis) != 0.0)
}

/// Whether a movable answers one axis only: then its throw is that axis's.
fn single(movable: &Movable) -> bool {
    Axis::ALL.iter().filter(|axis| share(&movable.mix, **axis) != 0.0).count() == 1
}

impl WhatIf {
    /// Whether nothing is tried.
    pub(crate) fn is_nothing(&self) -> bool {
        *self == Self::default()
    }

    /// By how much the pack's new place moves the balance point, m.
    fn shift_m(&self, aircraft: &Aircraft) -> f64 {
        let items: f64 = aircraft.masses.iter().map(|i| i.mass_kg.value).sum();
        match (self.pack_x_m, pack(aircraft)) {
            (Some(x), Some((_, item, _))) if items > 0.0 => {
                // A weighed total scales all items alike, so their shares stay.
                item.mass_kg.value / items * (x - item.at_m.x)
            }
            _ => 0.0,
        }
    }

    /// Where it then balances, where that is not left to the items, m.
    fn stated_balance(&self, aircraft: &Aircraft) -> Option<Known> {
        let weighed = aircraft.weighed.and_then(|w| w.balance_x_m);
        let base = match (self.balance_x_m, weighed) {
            (Some(x), Some(now)) => Known { value: x, sd: now.sd, from: Origin::Stated },
            (Some(x), None) => Known { value: x, sd: TRIED_BALANCE_SD_M, from: Origin::Stated },
            (None, Some(now)) => now,
            (None, None) => return None,
        };
        let shift = self.shift_m(aircraft);
        if shift == 0.0 {
            return Some(base);
        }
        // To a tenth of a millimeter: nobody measures better.
        Some(Known { value: ((base.value + shift) * 1e4).round() / 1e4, from: Origin::Stated, ..base })
    }

    fn stated_total(&self, aircraft: &Aircraft) -> Option<Known> {
        let total = self.total_kg?;
        let sd = aircraft.weighed.and_then(|w| w.total_kg).map_or(TRIED_TOTAL_SD * total, |k| k.sd);
        Some(Known { value: total, sd, from: Origin::Stated })
    }

    /// The aircraft with what is tried. A total without items leaves the balance point to what it was.
    pub(crate) fn tried(&self, aircraft: &Aircraft) -> Aircraft {
        let mut tried = aircraft.clone();
        let nothing =
            Weighed { total_kg: None, balance_x_m: None, balance_z_m: None, inertia_kg_m2: [None; 3] };
        if let Some(x) = self.stated_balance(aircraft) {
            tried.weighed.get_or_insert(nothing).balance_x_m = Some(x);
        }
        if let Some(total) = self.stated_total(aircraft) {
            tried.weighed.get_or_insert(nothing).total_kg = Some(total);
        }
        if let (Some(x), Some((index, ..))) = (self.pack_x_m, pack(aircraft))
            && let Some(item) = tried.masses.get_mut(index)
        {
            item.at_m.x = x;
        }
        for (axis, factor) in self.factors() {
            for movable in &mut tried.movables {
                let now = share(&movable.mix, axis);
                if now == 0.0 {
                    continue;
                }
                if single(movable) {
                    movable.throw_up_rad = (movable.throw_up_rad * factor).min(MOST_THROW_RAD);
                    movable.throw_down_rad = (movable.throw_down_rad * factor).min(MOST_THROW_RAD);
                } else {
                    let new = (now * factor).clamp(-1.0, 1.0);
                    match axis {
                        Axis::Roll => movable.mix.roll = new,
                        Axis::Pitch => movable.mix.pitch = new,
                        Axis::Yaw => movable.mix.yaw = new,
                        Axis::Flap => movable.mix.flap = new,
                    }
                }
            }
        }
        tried
    }

    fn factors(&self) -> impl Iterator<Item = (Axis, f64)> {
        Axis::ALL.into_iter().zip(self.throws).filter_map(|(axis, factor)| Some((axis, factor?)))
    }

    /// The file's text with what is tried written into it: each number in the unit that the file has, all else as it was.
    ///
    /// # Errors
    /// Where the file has no place for it.
    pub(crate) fn written(&self, text: &str, aircraft: &Aircraft) -> Result<String, CannotAmend> {
        let mut sheet = Sheet::open(text)?;
        if let Some(x) =
            self.stated_balance(aircraft).filter(|_| self.balance_x_m.is_some() || self.pack_x_m.is_some())
        {
            state(&mut sheet, "weighed", "balance_x", Quantity::Length, x.value)?;
        }
        if let Some(total) = self.stated_total(aircraft) {
            state(&mut sheet, "weighed", "total", Quantity::Mass, total.value)?;
        }
        if let (Some(x), Some((index, ..))) = (self.pack_x_m, pack(aircraft)) {
            put(&mut sheet, &format!("mass.{index}"), "x", Quantity::Length, x)?;
        }
        for (axis, factor) in self.factors() {
            for (index, movable) in aircraft.movables.iter().enumerate() {
                let now = share(&movable.mix, axis);
                let table = format!("movable.{index}");
                if now != 0.0 && single(movable) {
                    scale_throws(&mut sheet, &table, movable, factor)?;
                } else if now != 0.0 {
                    put(&mut sheet, &table, axis.word(), Quantity::Share, (now * factor).clamp(-1.0, 1.0))?;
                }
            }
        }
        Ok(sheet.text())
    }
}

/// The key that holds a quantity in a table, with its unit; that of the first unit where none does.
fn key(sheet: &Sheet, table: &str, name: &str, quantity: Quantity) -> Option<(String, Unit)> {
    let keys = sheet.keys(table);
    let units = quantity.units();
    let unit = units.iter().find(|u| keys.contains(&u.key(name))).or(units.first())?;
    Some((unit.key(name), *unit))
}

fn put(sheet: &mut Sheet, table: &str, name: &str, quantity: Quantity, si: f64) -> Result<(), CannotAmend> {
    let Some((key, unit)) = key(sheet, table, name, quantity) else { return Ok(()) };
    sheet.set(&format!("{table}.{key}"), As::Number, &short(unit.from_si(si)))
}

/// Writes a number that nobody measured: its origin says so.
fn state(sheet: &mut Sheet, table: &str, name: &str, quantity: Quantity, si: f64) -> Result<(), CannotAmend> {
    put(sheet, table, name, quantity, si)?;
    sheet.set(&format!("{table}.{name}_from"), As::Text, Origin::Stated.word())
}

fn scale_throws(sheet: &mut Sheet, table: &str, movable: &Movable, factor: f64) -> Result<(), CannotAmend> {
    for key in sheet.keys(table) {
        let angle = Quantity::Angle.split(&key);
        let Some((name, unit)) = angle.or_else(|| Quantity::Length.split(&key)) else { continue };
        let old_rad = match name {
            "throw_up" | "throw_left" => movable.throw_up_rad,
            "throw_down" | "throw_right" => movable.throw_down_rad,
            "throw" => movable.throw_up_rad.max(movable.throw_down_rad),
            _ => continue,
        };
        let Some(now) = sheet.shown(&format!("{table}.{key}")).and_then(|v| v.parse::<f64>().ok()) else {
            continue;
        };
        let new_rad = (old_rad * factor).min(MOST_THROW_RAD);
        let new = if angle.is_some() {
            unit.from_si(new_rad)
        } else if old_rad > 0.0 {
            // A ruler measures the chord of the arc.
            now * (0.5 * new_rad).sin() / (0.5 * old_rad).sin()
        } else {
            now
        };
        sheet.set(&format!("{table}.{key}"), As::Number, &short(new))?;
    }
    Ok(())
}

/// A number as a person would write it: to a thousandth, without trailing zeros.
fn short(number: f64) -> String {
    let text = format!("{number:.3}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use aircraft::balance::balance;

    const TEXT: &str = include_str!("../../../../../examples/wheatear.toml");

    fn wheatear() -> Aircraft {
        read(TEXT)
    }

    fn read(text: &str) -> Aircraft {
        aircraft::schema::read(text, &|_| None).unwrap()
    }

    #[track_caller]
    fn close(a: f64, b: f64, within: f64) {
        assert!((a - b).abs() <= within, "{a} is not {b}");
    }

    #[test]
    fn a_pack_moved_moves_the_balance_point_by_its_share() {
        let what = WhatIf { pack_x_m: Some(0.172), ..WhatIf::default() };
        // 228 g of 1316 g of items, moved 50 mm forward: 50 x 228/1316 = 8.66 mm.
        let before = balance(&wheatear()).unwrap().cg_x_m.value;
        close(
            balance(&what.tried(&wheatear())).unwrap().cg_x_m.value,
            before - 0.05 * 228.0 / 1316.0,
            0.5001e-4,
        );
    }

    #[test]
    fn what_is_written_reads_as_what_was_tried() {
        let what = WhatIf {
            balance_x_m: Some(0.317),
            pack_x_m: Some(0.2),
            total_kg: Some(1.4),
            throws: [Some(0.8), Some(1.2), None, None],
        };
        let text = what.written(TEXT, &wheatear()).unwrap();
        let (tried, read) = (what.tried(&wheatear()), read(&text));
        let (a, b) = (balance(&tried).unwrap(), balance(&read).unwrap());
        close(a.cg_x_m.value, b.cg_x_m.value, 1e-6);
        close(a.total_kg.value, b.total_kg.value, 1e-6);
        assert_eq!(b.total_kg.from, Origin::Stated);
        for (a, b) in tried.movables.iter().zip(&read.movables) {
            close(a.throw_up_rad, b.throw_up_rad, 1e-5);
            close(a.throw_down_rad, b.throw_down_rad, 1e-5);
            close(a.mix.pitch, b.mix.pitch, 1e-9);
        }
        // A ruddervator answers two axes: its share of pitch grows, its throw stays.
        close(read.movables[1].mix.pitch, 0.72, 1e-9);
        close(read.movables[0].throw_up_rad.to_degrees(), 12.8, 1e-6);
        // Comments stay.
        assert!(
            text.contains("# against the boom, leading edge up") && text.contains("throw_up_mm = 15       #")
        );
    }

    #[test]
    fn throws_in_millimeters_follow_the_chord_of_the_arc() {
        let text =
            TEXT.replacen("throw_up_deg = 16\nthrow_down_deg = 11", "throw_up_mm = 14\nthrow_down_mm = 9", 1);
        assert_ne!(text, TEXT);
        let what = WhatIf { throws: [Some(0.5), None, None, None], ..WhatIf::default() };
        let written = what.written(&text, &read(&text)).unwrap();
        close(
            read(&written).movables[0].throw_up_rad,
            what.tried(&read(&text)).movables[0].throw_up_rad,
            2e-4,
        );
    }

    #[test]
    fn nothing_tried_changes_nothing() {
        let nothing = WhatIf::default();
        assert!(nothing.is_nothing());
        assert_eq!(nothing.tried(&wheatear()), wheatear());
        assert_eq!(nothing.written(TEXT, &wheatear()).unwrap(), TEXT);
    }
}
