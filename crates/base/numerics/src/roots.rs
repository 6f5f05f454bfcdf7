//! Where does a function of one variable cross zero?

/// Why no root was given.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NoRoot {
    /// The function has the same sign at both ends of the interval (values given).
    NotBracketed {
        /// Value at the low end.
        at_low: f64,
        /// Value at the high end.
        at_high: f64,
    },
    /// The function was not a number somewhere inside.
    NotANumber,
}

/// Root of `f` in [low, high] by bisection safeguarding the secant step (the method of false position with the
/// Illinois weight), to within `tolerance` of the argument.
///
/// # Errors
/// When the ends do not bracket a root or `f` is not a number.
pub fn root(f: impl Fn(f64) -> f64, low: f64, high: f64, tolerance: f64) -> Result<f64, NoRoot> {
    let (mut a, mut b) = (low, high);
    let (mut fa, mut fb) = (f(a), f(b));
    if fa.is_nan() || fb.is_nan() {
        return Err(NoRoot::NotANumber);
    }
    if fa == 0.0 {
        return Ok(a);
    }
    if fb == 0.0 {
        return Ok(b);
    }
    if fa.signum() == fb.signum() {
        return Err(NoRoot::NotBracketed { at_low: fa, at_high: fb });
    }
    for step in 0..200 {
        if (b - a).abs() <= tolerance {
            break;
        }
        // Every third step halves the interval, so that a flat function cannot stall the search.
        let c = if step % 3 == 2 { 0.5 * (a + b) } else { (a * fb - b * fa) / (fb - fa) };
        let fc = f(c);
        if fc.is_nan() {
            return Err(NoRoot::NotANumber);
        }
        if fc == 0.0 {
            return Ok(c);
        }
        if fc.signum() == fb.signum() {
            fa *= 0.5;
        } else {
            a = b;
            fa = fb;
        }
        b = c;
        fb = fc;
    }
    Ok(0.5 * (a + b))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_cosine_crosses_zero_at_half_pi() {
        let x = root(f64::cos, 0.0, 3.0, 1e-13).unwrap();
        assert!((x - std::f64::consts::FRAC_PI_2).abs() < 1e-12);
    }

    #[test]
    fn an_interval_without_a_sign_change_is_refused() {
        assert_eq!(
            root(|x| x * x + 1.0, -1.0, 1.0, 1e-9),
            Err(NoRoot::NotBracketed { at_low: 2.0, at_high: 2.0 })
        );
    }
}
