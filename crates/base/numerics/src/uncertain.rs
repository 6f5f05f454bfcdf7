//! How sure is a number? One type for every value that carries its standard deviation.

/// A value with its standard deviation, in the unit that the name of its holder says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Uncertain {
    /// Best estimate.
    pub value: f64,
    /// One standard deviation; zero means exact.
    pub sd: f64,
}

impl Uncertain {
    /// A value with its standard deviation.
    #[must_use]
    pub fn new(value: f64, sd: f64) -> Self {
        Self { value, sd }
    }

    /// A value without doubt.
    #[must_use]
    pub fn exact(value: f64) -> Self {
        Self { value, sd: 0.0 }
    }

    /// The same quantity in another unit, `factor` of the new per one of the old.
    #[must_use]
    pub fn scaled(self, factor: f64) -> Self {
        Self { value: self.value * factor, sd: self.sd * factor.abs() }
    }

    /// Inverse-variance mean of two independent estimates of one quantity. An exact one wins.
    #[must_use]
    pub fn combined(self, other: Self) -> Self {
        if self.sd == 0.0 {
            return self;
        }
        if other.sd == 0.0 {
            return other;
        }
        let (wa, wb) = (self.sd.powi(-2), other.sd.powi(-2));
        Self { value: (self.value * wa + other.value * wb) / (wa + wb), sd: (wa + wb).powf(-0.5) }
    }
}

/// First-order propagation: the value of `f` at the inputs' values, and the root sum of squares of its change
/// over plus and minus one standard deviation of each independent input. Wrong where `f` bends strongly within
/// a standard deviation: use Monte Carlo there.
pub fn propagate(inputs: &[Uncertain], f: impl Fn(&[f64]) -> f64) -> Uncertain {
    let mut point: Vec<f64> = inputs.iter().map(|u| u.value).collect();
    let value = f(&point);
    let mut variance = 0.0;
    for (i, input) in inputs.iter().enumerate() {
        if input.sd == 0.0 {
            continue;
        }
        point[i] = input.value + input.sd;
        let above = f(&point);
        point[i] = input.value - input.sd;
        let below = f(&point);
        point[i] = input.value;
        variance += (0.5 * (above - below)).powi(2);
    }
    Uncertain { value, sd: variance.sqrt() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_product_propagates_in_quadrature_of_relative_errors() {
        // Analytic: (sd/value)^2 = 0.01^2 + 0.02^2.
        let product = propagate(&[Uncertain::new(3.0, 0.03), Uncertain::new(5.0, 0.1)], |x| x[0] * x[1]);
        assert!((product.value - 15.0).abs() < 1e-12);
        assert!((product.sd / 15.0 - (0.01_f64.powi(2) + 0.02_f64.powi(2)).sqrt()).abs() < 1e-12);
    }

    #[test]
    fn two_equal_estimates_halve_the_variance() {
        let both = Uncertain::new(1.0, 2.0).combined(Uncertain::new(3.0, 2.0));
        assert!((both.value - 2.0).abs() < 1e-12 && (both.sd - 2.0_f64.sqrt()).abs() < 1e-12);
    }
}
