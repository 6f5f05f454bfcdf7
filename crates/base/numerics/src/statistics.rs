//! What does a set of numbers say, and how sure is it?

/// Arithmetic mean; not a number for an empty set.
#[must_use]
pub fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

/// Sample standard deviation (n - 1 in the denominator); not a number for fewer than two values.
#[must_use]
pub fn standard_deviation(values: &[f64]) -> f64 {
    let m = mean(values);
    (values.iter().map(|v| (v - m).powi(2)).sum::<f64>() / (values.len() as f64 - 1.0)).sqrt()
}

/// Value below which the fraction `q` (0 to 1) of the finite values lies, by linear interpolation between order
/// statistics; not a number for an empty set.
#[must_use]
pub fn quantile(values: &[f64], q: f64) -> f64 {
    let mut sorted: Vec<f64> = values.iter().copied().filter(|v| v.is_finite()).collect();
    if sorted.is_empty() {
        return f64::NAN;
    }
    sorted.sort_by(f64::total_cmp);
    let place = q.clamp(0.0, 1.0) * (sorted.len() - 1) as f64;
    let below = place.floor() as usize;
    let above = (below + 1).min(sorted.len() - 1);
    sorted[below] + (sorted[above] - sorted[below]) * (place - below as f64)
}

/// Median of the finite values.
#[must_use]
pub fn median(values: &[f64]) -> f64 {
    quantile(values, 0.5)
}

/// Standard deviation by which a normal set would have this median absolute deviation: does not see outliers.
#[must_use]
pub fn robust_spread(values: &[f64]) -> f64 {
    let m = median(values);
    let deviations: Vec<f64> = values.iter().map(|v| (v - m).abs()).collect();
    1.482_602_218_505_602 * median(&deviations)
}

/// Factor by which the variance of a mean of these residuals exceeds that of independent ones:
/// `1 + 2 Σ (1 - k/n) ρ_k`, summed until the autocorrelation ρ first falls below zero. At least one.
#[must_use]
pub fn correlation_inflation(residuals: &[f64]) -> f64 {
    let n = residuals.len();
    if n < 3 {
        return 1.0;
    }
    let m = mean(residuals);
    let centred: Vec<f64> = residuals.iter().map(|r| r - m).collect();
    let zero: f64 = centred.iter().map(|r| r * r).sum();
    if zero == 0.0 {
        return 1.0;
    }
    let mut sum = 1.0;
    for lag in 1..n / 2 {
        let rho: f64 = centred[lag..].iter().zip(&centred).map(|(a, b)| a * b).sum::<f64>() / zero;
        if rho <= 0.0 {
            break;
        }
        sum += 2.0 * (1.0 - lag as f64 / n as f64) * rho;
    }
    sum.max(1.0)
}

/// Wilson score interval of a proportion, `successes` of `trials`, at `z` standard deviations
/// (1.96 for 95 %). Source: Wilson, J. Am. Stat. Assoc. 22 (1927) 209.
#[must_use]
pub fn wilson_interval(successes: u64, trials: u64, z: f64) -> (f64, f64) {
    if trials == 0 {
        return (0.0, 1.0);
    }
    let n = trials as f64;
    let p = successes as f64 / n;
    let z2 = z * z;
    let centre = (p + z2 / (2.0 * n)) / (1.0 + z2 / n);
    let half = z / (1.0 + z2 / n) * (p * (1.0 - p) / n + z2 / (4.0 * n * n)).sqrt();
    ((centre - half).max(0.0), (centre + half).min(1.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantiles_interpolate_between_order_statistics() {
        assert_eq!(quantile(&[4.0, 1.0, 3.0, 2.0], 0.5), 2.5);
        assert_eq!(quantile(&[1.0, f64::NAN, 2.0], 1.0), 2.0);
        assert!(quantile(&[], 0.5).is_nan());
    }

    #[test]
    fn robust_spread_ignores_one_wild_value() {
        let clean = [-1.0, -0.5, 0.0, 0.5, 1.0];
        let wild = [-1.0, -0.5, 0.0, 0.5, 1.0e6];
        assert_eq!(robust_spread(&clean), robust_spread(&wild));
    }

    #[test]
    fn a_first_order_process_inflates_the_variance_of_its_mean_as_the_closed_form_says() {
        // Closed form for lag-one correlation 0.8 and n = 200: 1 + 2 Σ (1 - k/n) 0.8^k = 8.800. One series
        // estimates it with wide scatter, so the mean over 400 seeded series is compared, 15 % for the
        // truncation at the first negative correlation and the known low bias of sample autocorrelations.
        let mut sum = 0.0;
        for seed in 0..400 {
            let mut random = crate::random::Random::new(seed, 0);
            let mut x = random.normal();
            let series: Vec<f64> = (0..200)
                .map(|_| {
                    x = 0.8 * x + 0.6 * random.normal();
                    x
                })
                .collect();
            sum += correlation_inflation(&series);
        }
        let inflation = sum / 400.0;
        assert!((inflation / 8.8 - 1.0).abs() < 0.15, "{inflation}");
    }

    #[test]
    fn wilson_gives_the_closed_form_at_the_ends() {
        // Closed form for 0 of n: high end z²/(n + z²).
        let (low, high) = wilson_interval(0, 100, 1.96);
        assert!(low == 0.0 && (high - 1.96_f64.powi(2) / (100.0 + 1.96_f64.powi(2))).abs() < 1e-12);
    }
}
