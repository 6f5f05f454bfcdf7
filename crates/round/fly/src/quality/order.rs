//! Quantiles without sorting: a recording has tens of millions of values, of which only a few places in order are asked for.

/// Value below which the fraction `q` (0 to 1) of the finite values lies, as `numerics::statistics::quantile` tells it.
pub(super) fn quantile(values: &[f64], q: f64) -> f64 {
    let mut finite: Vec<f64> = values.iter().copied().filter(|v| v.is_finite()).collect();
    let Some(last) = finite.len().checked_sub(1) else {
        return f64::NAN;
    };
    let place = q.clamp(0.0, 1.0) * last as f64;
    let below = place.floor() as usize;
    let (_, low, above) = finite.select_nth_unstable_by(below, f64::total_cmp);
    let low = *low;
    let high = above.iter().copied().min_by(f64::total_cmp).unwrap_or(low);
    low + (high - low) * (place - below as f64)
}

/// Median of the finite values.
pub(super) fn median(values: &[f64]) -> f64 {
    quantile(values, 0.5)
}

/// Standard deviation by which a normal set would have this median absolute deviation.
pub(super) fn robust_spread(values: &[f64]) -> f64 {
    let m = median(values);
    let deviations: Vec<f64> = values.iter().map(|v| (v - m).abs()).collect();
    1.482_602_218_505_602 * median(&deviations)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_same_as_by_sorting() {
        let values: Vec<f64> = (0..1001)
            .map(|i| if i % 37 == 0 { f64::NAN } else { f64::from(i * 7919 % 1009) * 0.37 - 80.0 })
            .collect();
        for q in [0.0, 0.02, 0.5, 0.613, 0.98, 1.0] {
            assert_eq!(quantile(&values, q).to_bits(), numerics::statistics::quantile(&values, q).to_bits());
        }
        assert_eq!(robust_spread(&values).to_bits(), numerics::statistics::robust_spread(&values).to_bits());
        assert!(quantile(&[], 0.5).is_nan());
    }
}
