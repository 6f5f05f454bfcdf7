//! Which input drives the failures? Shares of the variance (first order, by bins), with the sign of the rank
//! correlation.
//!
//! The share of an input is the variance of the mean of a bin of it over the whole variance, less what chance alone
//! would give (epsilon squared; the first-order index of Sobol, Math. Comput. Simul. 55 (2001) 271, taken by bins of
//! equal count). What the inputs explain only together, and what gusts do along the way, is in no share, so they add up
//! to less than the whole.

use super::inputs::{Input, Spread};
use super::outcome::{Outcome, margin};
use super::tally::{Flown, Share, Z_95};

/// One input and what it does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Driver {
    /// The input.
    pub input: Input,
    /// Share of the variance of clean or not that it explains alone, per cent.
    pub percent: f64,
    /// Share that chance alone exceeds once in twenty, per cent.
    pub noise_percent: f64,
    /// Rank correlation (Spearman) of the input with clean, -1 to 1: positive where more of it helps.
    pub rank_correlation: f64,
    /// Half-width of its 95 % interval.
    pub rank_correlation_half: f64,
    /// Rank correlation with the least height above the ground.
    pub height_correlation: f64,
    /// Mean and standard deviation in these launches.
    pub spread: Spread,
    /// Clean launches in the lowest fifth of the input.
    pub low_fifth: Share,
    /// Clean launches in the highest fifth.
    pub high_fifth: Share,
}

/// Drivers of launches, the strongest first. Inputs that did not vary are left out.
#[must_use]
pub fn drivers(flown: &[Flown]) -> Vec<Driver> {
    let clean: Vec<f64> = flown.iter().map(|f| f64::from(u8::from(f.outcome == Outcome::Clean))).collect();
    let told: Vec<bool> = flown.iter().map(|f| f.outcome != Outcome::Diverged).collect();
    let kept = |values: &[f64]| -> Vec<f64> {
        values.iter().zip(&told).filter(|(_, kept)| **kept).map(|(v, _)| *v).collect()
    };
    let heights = kept(&flown.iter().map(|f| margin(&f.noted)).collect::<Vec<_>>());
    let mut list: Vec<Driver> = Input::ALL
        .into_iter()
        .filter_map(|input| {
            let values: Vec<f64> = flown.iter().map(|f| f.drawn.of(input)).collect();
            let sd = numerics::statistics::standard_deviation(&values);
            if sd.is_nan() || sd <= 1e-12 {
                return None;
            }
            let order = order(&values);
            let fifth = values.len() / 5;
            let share = |part: &[usize]| {
                let count = part.iter().filter(|i| clean.get(**i).is_some_and(|c| *c > 0.5)).count();
                Share::new(count as u64, part.len() as u64)
            };
            let correlation = rank_correlation(&values, &clean);
            Some(Driver {
                input,
                percent: 100.0 * first_order(&order, &clean),
                noise_percent: 100.0 * noise(values.len()),
                rank_correlation: correlation,
                rank_correlation_half: Z_95 * (1.0 - correlation * correlation)
                    / (values.len() as f64 - 3.0).max(1.0).sqrt(),
                height_correlation: rank_correlation(&kept(&values), &heights),
                spread: Spread::new(numerics::statistics::mean(&values), sd),
                low_fifth: share(order.get(..fifth).unwrap_or_default()),
                high_fifth: share(order.get(values.len() - fifth..).unwrap_or_default()),
            })
        })
        .collect();
    list.sort_by(|a, b| {
        let strength = |d: &Driver| (d.percent.max(0.0), d.height_correlation.abs());
        let ((a1, a2), (b1, b2)) = (strength(a), strength(b));
        b1.total_cmp(&a1).then(b2.total_cmp(&a2))
    });
    list
}

/// Places of values from the least to the greatest; equal ones in their order.
fn order(values: &[f64]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..values.len()).collect();
    order.sort_by(|a, b| {
        let at = |i: &usize| values.get(*i).copied().unwrap_or(f64::NAN);
        at(a).total_cmp(&at(b))
    });
    order
}

/// Number of bins: at least 20 launches in each, 20 bins at most.
fn bins(n: usize) -> usize {
    (n / 20).clamp(1, 20)
}

/// Share of the variance of `y` that the bins of an input explain, its values given by their order; between about 0 and
/// 1, a little below zero by chance. Zero where `y` does not vary or there are too few.
fn first_order(order: &[usize], y: &[f64]) -> f64 {
    let n = order.len();
    let count = bins(n);
    let mean = numerics::statistics::mean(y);
    let all: f64 = y.iter().map(|v| (v - mean) * (v - mean)).sum();
    if count < 2 || all <= 0.0 {
        return 0.0;
    }
    let mut between = 0.0;
    for bin in 0..count {
        let part = order.get(bin * n / count..(bin + 1) * n / count).unwrap_or_default();
        let sum: f64 = part.iter().filter_map(|i| y.get(*i)).map(|v| v - mean).sum();
        between += sum * sum / part.len().max(1) as f64;
    }
    let within = (all - between) / (n - count) as f64;
    (between - (count - 1) as f64 * within) / all
}

/// First-order share of an input in an answer, 0 to 1; see the head of this file.
#[must_use]
pub fn first_order_share(input: &[f64], answer: &[f64]) -> f64 {
    first_order(&order(input), answer)
}

/// What the share of an input without any effect exceeds once in twenty: its deviation is sqrt(2 (B - 1)) / n.
fn noise(n: usize) -> f64 {
    1.645 * (2.0 * (bins(n) as f64 - 1.0)).sqrt() / n.max(1) as f64
}

/// Spearman's rank correlation; equal values share their mean rank. Zero where one of the two does not vary.
#[must_use]
pub fn rank_correlation(x: &[f64], y: &[f64]) -> f64 {
    let (x, y) = (ranks(x), ranks(y));
    let (mx, my) = (numerics::statistics::mean(&x), numerics::statistics::mean(&y));
    let (mut xy, mut xx, mut yy) = (0.0, 0.0, 0.0);
    for (a, b) in x.iter().zip(&y) {
        xy += (a - mx) * (b - my);
        xx += (a - mx) * (a - mx);
        yy += (b - my) * (b - my);
    }
    if xx > 0.0 && yy > 0.0 { xy / (xx * yy).sqrt() } else { 0.0 }
}

fn ranks(values: &[f64]) -> Vec<f64> {
    let order = order(values);
    let mut ranks = vec![0.0; values.len()];
    let mut begin = 0;
    while let Some(first) = order.get(begin) {
        let same = |i: &&usize| values.get(**i) == values.get(*first);
        let count = order.iter().skip(begin).take_while(same).count().max(1);
        let rank = begin as f64 + 0.5 * (count as f64 + 1.0);
        for place in order.iter().skip(begin).take(count) {
            if let Some(slot) = ranks.get_mut(*place) {
                *slot = rank;
            }
        }
        begin += count;
    }
    ranks
}

#[cfg(test)]
mod tests {
    use super::*;
    use numerics::random::Random;

    #[test]
    fn rank_correlations_are_those_of_a_statistics_library() {
        // scipy 1.16.x spearmanr, values by reference/launch-statistics/make.py.
        let text = include_str!("../../../../../reference/launch-statistics/spearman.csv");
        let mut cases = 0;
        for line in text.lines().filter(|l| !l.starts_with('#') && !l.is_empty()) {
            let mut parts = line.split(';');
            let mut numbers =
                || -> Vec<f64> { parts.next().unwrap().split(' ').map(|v| v.parse().unwrap()).collect() };
            let (x, y, expected) = (numbers(), numbers(), numbers());
            let found = rank_correlation(&x, &y);
            // Both sum the same few products in double precision.
            assert!((found - expected[0]).abs() < 1e-12, "{line}: {found}");
            cases += 1;
        }
        assert!(cases >= 6);
    }

    #[test]
    fn shares_are_those_of_a_function_whose_variance_is_known() {
        // Ishigami and Homma (1990): sin x1 + 7 sin² x2 + 0.1 x3⁴ sin x1 for x uniform in ±π. In closed form
        // V1 = (1 + 0.1 π⁴/5)²/2 = 4.3459, V2 = 49/8 = 6.125, V = 13.8446: shares 0.3139, 0.4424 and, for x3, zero.
        let mut random = Random::new(4, 0);
        let n = 60_000;
        let pi = std::f64::consts::PI;
        let x: Vec<[f64; 3]> = (0..n).map(|_| std::array::from_fn(|_| random.uniform(-pi, pi))).collect();
        let y: Vec<f64> =
            x.iter().map(|[a, b, c]| a.sin() + 7.0 * b.sin().powi(2) + 0.1 * c.powi(4) * a.sin()).collect();
        for (i, expected) in [0.3139, 0.4424, 0.0].into_iter().enumerate() {
            let share = first_order_share(&x.iter().map(|v| v[i]).collect::<Vec<_>>(), &y);
            // 20 bins over a full wave lose the variance inside a bin: (π/20)²/3 of a sine's square, under 2 % of the
            // share; chance adds 0.004 (four deviations).
            assert!((share - expected).abs() < 0.02 * expected + 0.006, "x{}: {share}", i + 1);
        }
    }

    #[test]
    fn an_input_without_effect_stays_below_the_noise_nineteen_times_in_twenty() {
        let n = 1000;
        let over = (0..400)
            .filter(|seed| {
                let mut random = Random::new(*seed, 7);
                let x: Vec<f64> = (0..n).map(|_| random.normal()).collect();
                let y: Vec<f64> =
                    (0..n).map(|_| f64::from(u8::from(random.uniform(0.0, 1.0) < 0.2))).collect();
                first_order_share(&x, &y) > noise(n)
            })
            .count();
        // 20 of 400 with a deviation of 4.4; a chi-square of 19 degrees has a longer upper tail than the normal (6.2 %).
        assert!((8..=42).contains(&over), "{over} of 400");
    }
}
