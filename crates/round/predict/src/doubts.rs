//! What should be measured better? For each number that matters, the two inputs that its doubt comes from most.
//!
//! First order: each input is moved by one standard deviation either way and everything else held. Drive numbers are
//! worked out from the thrust table.

use aircraft::Aircraft;
use aircraft::mass::Balance;
use motion::model::Thrust;

use crate::balance_range::{FurtherAft, LEAST_MARGIN, forward_limit_x_m};
use crate::performance::Flying;

/// Something that predictions rest on and that is not known exactly.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Input {
    /// Mass ready to fly.
    Mass,
    /// Balance point.
    BalancePoint,
    /// Chords and span of the wing.
    WingArea,
    /// Largest lift coefficient.
    ClMax,
    /// Least drag.
    LeastDrag,
    /// Drag rise with lift.
    DragRise,
    /// Pull of the drive.
    Thrust,
    /// Throws.
    Throws,
    /// Computed neutral point.
    NeutralPoint,
    /// Computed effect of the surfaces.
    ControlEffect,
    /// Computed pitching moment at zero lift.
    ZeroLiftMoment,
}

impl Input {
    /// Every input.
    pub const ALL: [Self; 11] = [
        Self::Mass,
        Self::BalancePoint,
        Self::WingArea,
        Self::ClMax,
        Self::LeastDrag,
        Self::DragRise,
        Self::Thrust,
        Self::Throws,
        Self::NeutralPoint,
        Self::ControlEffect,
        Self::ZeroLiftMoment,
    ];

    /// In words.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Mass => "the mass",
            Self::BalancePoint => "the balance point",
            Self::WingArea => "the wing's chords and span",
            Self::ClMax => "the largest lift",
            Self::LeastDrag => "the least drag",
            Self::DragRise => "the drag rise with lift",
            Self::Thrust => "the pull of the drive",
            Self::Throws => "the throws",
            Self::NeutralPoint => "the neutral point",
            Self::ControlEffect => "the effect of the surfaces",
            Self::ZeroLiftMoment => "the pitching moment at zero lift",
        }
    }

    /// What makes it surer.
    #[must_use]
    pub fn remedy(self) -> &'static str {
        match self {
            Self::Mass => "Weigh it ready to fly, pack and all",
            Self::BalancePoint => "Find the balance point on a stand or two scales again",
            Self::WingArea => "Measure the chords at root and tip again",
            Self::ClMax => "Fly a stall at height and write down the speed",
            Self::LeastDrag => "Fly glides at a fast and a slow speed",
            Self::DragRise => "Fly glides at slow speeds",
            Self::Thrust => {
                "Measure the pull at full throttle, the model held fast and nobody in the propeller's arc or line"
            }
            Self::Throws => "Measure the throws with an angle gauge, propeller off",
            Self::NeutralPoint => "Fly the elevator trims at several speeds",
            Self::ControlEffect => "Fly rolls and pulls at full stick and read the rates",
            Self::ZeroLiftMoment => "Fly the elevator trim at cruise",
        }
    }
}

/// How much of a doubt comes from one input.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Influence {
    /// The input.
    pub input: Input,
    /// What one standard deviation of it does to the output, in its unit.
    pub sd: f64,
}

/// What an output's doubt comes from.
#[derive(Debug, Clone, PartialEq)]
pub struct DoubtOf {
    /// The output, in words.
    pub output: &'static str,
    /// Its unit as it is told.
    pub unit: &'static str,
    /// Its value there.
    pub value: f64,
    /// One standard deviation from these inputs.
    pub sd: f64,
    /// The input that matters most.
    pub first: Influence,
    /// The next one, where there is one.
    pub second: Option<Influence>,
    /// What to measure and what it brings.
    pub sentence: String,
}

/// A value with the influences on it, the largest first.
#[derive(Debug, Clone, PartialEq)]
pub struct Spread {
    /// Nominal value.
    pub value: f64,
    /// One standard deviation.
    pub sd: f64,
    /// Influences that are not zero, the largest first.
    pub by: Vec<Influence>,
}

impl Spread {
    /// Where most of it comes from, in words.
    #[must_use]
    pub fn mostly(&self) -> String {
        match self.by.as_slice() {
            [] => "from inputs taken as exact".to_owned(),
            [only] => format!("all of it from {}", only.input.word()),
            [first, second, ..] => {
                format!("most from {}, then {}", first.input.word(), second.input.word())
            }
        }
    }
}

/// First-order spread of `f`, which takes the deviation of each input (in its own unit, zero for none).
#[must_use]
pub fn spread(inputs: &[(Input, f64)], f: impl Fn(&[f64]) -> f64) -> Spread {
    let mut at = vec![0.0; inputs.len()];
    let value = f(&at);
    let mut by = Vec::new();
    for (i, (input, sd)) in inputs.iter().enumerate() {
        if let Some(slot) = at.get_mut(i) {
            *slot = *sd;
        }
        let above = f(&at);
        if let Some(slot) = at.get_mut(i) {
            *slot = -sd;
        }
        let below = f(&at);
        if let Some(slot) = at.get_mut(i) {
            *slot = 0.0;
        }
        // Where one side has no solution, the other tells.
        let moved = match (above.is_finite(), below.is_finite()) {
            (true, true) => 0.5 * (above - below).abs(),
            (true, false) => (above - value).abs(),
            (false, true) => (below - value).abs(),
            (false, false) => 0.0,
        };
        if moved > 1e-12 * (1.0 + value.abs()) {
            by.push(Influence { input: *input, sd: moved });
        }
    }
    by.sort_by(|a, b| b.sd.total_cmp(&a.sd));
    Spread { value, sd: by.iter().map(|i| i.sd * i.sd).sum::<f64>().sqrt(), by }
}

/// Standard deviation of the wing area, m²: each chord and the span are off by one length's doubt.
#[must_use]
pub fn area_sd_m2(area_m2: f64, mean_chord_m: f64, span_m: f64, length_sd_m: f64) -> f64 {
    area_m2 * (length_sd_m / mean_chord_m).hypot(length_sd_m / span_m)
}

/// What the outputs are worked out from.
#[derive(Debug, Clone, Copy)]
pub struct Basis<'a> {
    /// The aircraft's description: throws, reserve, care.
    pub aircraft: &'a Aircraft,
    /// Its coefficients, mass and air.
    pub flying: Flying,
    /// Its balance.
    pub balance: &'a Balance,
    /// Drive, if there is one.
    pub thrust: Option<&'a Thrust>,
    /// Neutral point, m.
    pub neutral_point_x_m: f64,
    /// Cruise speed, m/s.
    pub cruise_m_s: f64,
    /// Throws of the axes [roll, pitch up], rad.
    pub throws_rad: [Option<f64>; 2],
    /// What forward limits have beyond straight lines.
    pub further: FurtherAft,
    /// What is left of the elevator at the stall beyond what straight lines leave, rad.
    pub left_at_stall_rad: f64,
    /// One standard deviation of each of [`Input::ALL`]: kg, m, m², coefficients, shares (thrust, control effect), rad.
    pub sd: [f64; 11],
}

/// Everything moved by some deviations.
struct Moved<'a> {
    basis: &'a Basis<'a>,
    flying: Flying,
    cg_x_m: f64,
    neutral_x_m: f64,
    thrust: f64,
    control: f64,
    throw_rad: f64,
}

impl<'a> Moved<'a> {
    fn new(basis: &'a Basis<'a>, x: &[f64]) -> Self {
        let of = |input: Input| {
            Input::ALL.iter().position(|i| *i == input).and_then(|i| x.get(i)).copied().unwrap_or(0.0)
        };
        let mut flying = basis.flying;
        flying.mass_kg += of(Input::Mass);
        let a = &mut flying.aerodynamics;
        a.area_m2 += of(Input::WingArea);
        a.cl_max += of(Input::ClMax);
        a.cd0 += of(Input::LeastDrag);
        a.induced += of(Input::DragRise);
        a.cm0 += of(Input::ZeroLiftMoment);
        let control = 1.0 + of(Input::ControlEffect);
        let (cg, neutral) = (of(Input::BalancePoint), of(Input::NeutralPoint));
        // Lift acts at the neutral point; moments are about the balance point.
        a.cm0 += a.cl0 * cg / a.mean_chord_m;
        let d = &mut a.derivatives;
        d.Cma += d.CLa * (cg - neutral) / a.mean_chord_m;
        d.Cmde = (d.Cmde + d.CLde * cg / a.mean_chord_m) * control;
        d.CLde *= control;
        Self {
            basis,
            flying,
            cg_x_m: basis.balance.cg_m.x + cg,
            neutral_x_m: basis.neutral_point_x_m + neutral,
            thrust: 1.0 + of(Input::Thrust),
            control,
            throw_rad: of(Input::Throws),
        }
    }

    fn full_thrust_n(&self, speed_m_s: f64) -> f64 {
        self.basis.thrust.map_or(f64::NAN, |t| self.thrust * t.nearest(1.0, speed_m_s).thrust_n)
    }

    fn surplus_n(&self, speed_m_s: f64) -> f64 {
        self.full_thrust_n(speed_m_s) - self.flying.at(speed_m_s, 1.0).drag_n
    }

    /// Fastest level flight by the table, m/s; not a number where there is none inside it.
    fn top_m_s(&self) -> f64 {
        let last = self.basis.thrust.and_then(|t| t.airspeed_m_s.last()).copied().unwrap_or(0.0);
        let mut slow = self.flying.best_glide().speed_m_s;
        if !(self.surplus_n(slow) > 0.0 && self.surplus_n(last) < 0.0) {
            return f64::NAN;
        }
        let mut fast = last;
        for _ in 0..40 {
            let middle = 0.5 * (slow + fast);
            if self.surplus_n(middle) > 0.0 {
                slow = middle;
            } else {
                fast = middle;
            }
        }
        0.5 * (slow + fast)
    }

    /// Time at cruise down to the reserve by the current of the table, min.
    fn endurance_min(&self, reserve: f64) -> f64 {
        let Some(table) = self.basis.thrust else {
            return f64::NAN;
        };
        let v = self.basis.cruise_m_s;
        let drag = self.flying.at(v, 1.0).drag_n;
        let left = |throttle: f64| self.thrust * table.nearest(throttle, v).thrust_n - drag;
        let (mut low, mut high) = (0.0, 1.0);
        if left(high).is_nan() || left(high) <= 0.0 {
            return f64::NAN;
        }
        for _ in 0..40 {
            let middle = 0.5 * (low + high);
            if left(middle) > 0.0 {
                high = middle;
            } else {
                low = middle;
            }
        }
        let current = table.nearest(high, v).current_a;
        if current > 0.0 { 60.0 * table.capacity_ah * (1.0 - reserve) / current } else { f64::NAN }
    }

    fn forward_x_m(&self) -> f64 {
        let up = self.basis.throws_rad[1].map(|t| t + self.throw_rad);
        forward_limit_x_m(&self.flying, self.cg_x_m, up, &self.basis.further).unwrap_or(f64::NAN)
    }
}

/// An output: name, unit, decimals, and how it follows.
type Output<'a> = (&'static str, &'static str, usize, Box<dyn Fn(&Moved<'_>) -> f64 + 'a>);

fn outputs<'a>(basis: &'a Basis<'a>) -> Vec<Output<'a>> {
    let reserve = basis.aircraft.limits.reserve.unwrap_or(crate::drive::powered::RESERVE);
    let v = basis.cruise_m_s;
    let a = basis.flying.aerodynamics;
    // At the best climb speed a small change of speed changes nothing.
    let nominal = Moved::new(basis, &[]);
    let (slow, top) = (1.1 * basis.flying.stall_m_s(), nominal.top_m_s());
    let climb_m_s = (0..=20)
        .map(|i| slow + (top - slow) * f64::from(i) / 20.0)
        .max_by(|x, y| (nominal.surplus_n(*x) * x).total_cmp(&(nominal.surplus_n(*y) * y)))
        .unwrap_or(v);
    vec![
        ("stall speed", "m/s", 2, Box::new(|m| m.flying.stall_m_s())),
        (
            "best glide ratio",
            "",
            1,
            Box::new(|m| {
                let best = m.flying.best_glide();
                best.cl / best.cd
            }),
        ),
        ("best glide speed", "m/s", 1, Box::new(|m| m.flying.best_glide().speed_m_s)),
        ("least sink", "m/s", 2, Box::new(|m| m.flying.least_sink().sink_m_s)),
        (
            "static margin",
            "% of the mean chord",
            1,
            Box::new(move |m| 100.0 * (m.neutral_x_m - m.cg_x_m) / a.mean_chord_m),
        ),
        ("forward balance limit", "mm", 0, Box::new(|m| 1e3 * m.forward_x_m())),
        (
            "aft balance limit",
            "mm",
            0,
            Box::new(move |m| 1e3 * (m.neutral_x_m - LEAST_MARGIN * a.mean_chord_m)),
        ),
        (
            "elevator to trim at cruise",
            "deg",
            1,
            Box::new(move |m| m.flying.at(v, 1.0).elevator_rad.map_or(f64::NAN, f64::to_degrees)),
        ),
        (
            "elevator left at the stall",
            "deg",
            1,
            Box::new(move |m| {
                let used = m.flying.trim(m.flying.aerodynamics.cl_max, 0.0).1;
                match (m.basis.throws_rad[1], used) {
                    (Some(up), Some(used)) => {
                        (up + m.throw_rad + used + m.basis.left_at_stall_rad).to_degrees()
                    }
                    _ => f64::NAN,
                }
            }),
        ),
        (
            "roll rate at full stick",
            "deg/s",
            0,
            Box::new(move |m| {
                let throw = m.basis.throws_rad[0].map_or(f64::NAN, |t| t + m.throw_rad);
                m.control * crate::control::roll_rate_rad_s(&a, v, -throw).to_degrees()
            }),
        ),
        ("top speed", "m/s", 1, Box::new(|m| m.top_m_s())),
        ("pull over weight", "", 2, Box::new(|m| m.full_thrust_n(0.0) / m.flying.weight_n())),
        ("best climb", "m/s", 1, Box::new(move |m| m.surplus_n(climb_m_s) * climb_m_s / m.flying.weight_n())),
        ("endurance at cruise", "min", 1, Box::new(move |m| m.endurance_min(reserve))),
    ]
}

/// The two inputs that matter most, for each output that could be worked out and is not exact.
#[must_use]
pub fn doubts(basis: &Basis<'_>) -> Vec<DoubtOf> {
    let inputs: Vec<(Input, f64)> = Input::ALL.into_iter().zip(basis.sd).collect();
    outputs(basis)
        .into_iter()
        .filter_map(|(output, unit, decimals, f)| {
            let found = spread(&inputs, |x| f(&Moved::new(basis, x)));
            let first = *found.by.first()?;
            if !(found.value.is_finite() && found.sd.is_finite()) {
                return None;
            }
            let left = (found.sd.powi(2) - first.sd.powi(2)).max(0.0).sqrt();
            let second = found.by.get(1).copied();
            let unit_after = if unit.is_empty() { String::new() } else { format!(" {unit}") };
            let brings = match left / found.sd {
                share if share < 0.1 => "that leaves only the doubt of that measurement".to_owned(),
                share if (0.45..=0.55).contains(&share) => {
                    format!("it halves the doubt, to ± {:.*}{unit_after}", decimals, 2.0 * left)
                }
                _ => format!("at best that brings it to ± {:.*}{unit_after}", decimals, 2.0 * left),
            };
            let sentence = format!(
                "The doubt of the {output}, ± {:.*}{unit_after}, comes most from {}{}. {}: {brings}.",
                decimals,
                2.0 * found.sd,
                first.input.word(),
                second.map_or_else(String::new, |s| format!(", then from {}", s.input.word())),
                first.input.remedy(),
            );
            Some(DoubtOf { output, unit, value: found.value, sd: found.sd, first, second, sentence })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn influences_are_ranked_and_add_in_quadrature() {
        // 3 a + 4 b with deviations of one each: 5 in all, b first; an input that does nothing is not named.
        let found = spread(&[(Input::Mass, 1.0), (Input::Thrust, 1.0), (Input::Throws, 1.0)], |x| {
            3.0 * x[0] + 4.0 * x[1]
        });
        assert!((found.sd - 5.0).abs() < 1e-12 && found.by.len() == 2);
        assert_eq!(found.by[0].input, Input::Thrust);
        assert_eq!(found.mostly(), "most from the pull of the drive, then the mass");
    }

    #[test]
    fn an_input_with_a_solution_on_one_side_only_is_told_by_that_side() {
        let found = spread(&[(Input::Thrust, 0.5)], |x| if x[0] < 0.0 { f64::NAN } else { 2.0 * x[0] });
        assert!((found.sd - 1.0).abs() < 1e-12);
    }

    #[test]
    fn the_area_of_a_rectangle_by_its_sides() {
        // 200 mm by 1.8 m, each to 1 mm: relative 0.005 and 0.00056.
        let sd = area_sd_m2(0.36, 0.2, 1.8, 0.001);
        assert!((sd / 0.36 - 0.005_030_77).abs() < 1e-7, "{sd}");
    }
}
