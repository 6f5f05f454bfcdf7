//! How does a state move on by one step?

use nalgebra::SVector;

/// One step of the classical fourth-order Runge-Kutta method.
pub fn runge_kutta_4<const N: usize>(
    state: &SVector<f64, N>,
    t_s: f64,
    dt_s: f64,
    mut rate: impl FnMut(f64, &SVector<f64, N>) -> SVector<f64, N>,
) -> SVector<f64, N> {
    let k1 = rate(t_s, state);
    let k2 = rate(t_s + 0.5 * dt_s, &(state + k1 * (0.5 * dt_s)));
    let k3 = rate(t_s + 0.5 * dt_s, &(state + k2 * (0.5 * dt_s)));
    let k4 = rate(t_s + dt_s, &(state + k3 * dt_s));
    state + (k1 + k2 * 2.0 + k3 * 2.0 + k4) * (dt_s / 6.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use nalgebra::Vector2;

    fn oscillator_error(steps: u32) -> f64 {
        let dt = 2.0 / f64::from(steps);
        let mut state = Vector2::new(1.0, 0.0);
        for i in 0..steps {
            state = runge_kutta_4(&state, f64::from(i) * dt, dt, |_, s| Vector2::new(s.y, -s.x));
        }
        (state - Vector2::new(2.0_f64.cos(), -2.0_f64.sin())).norm()
    }

    #[test]
    fn halving_the_step_divides_the_error_by_sixteen() {
        // Fourth order: error proportional to the fourth power of the step; 10 % for the next term.
        let ratio = oscillator_error(40) / oscillator_error(80);
        assert!((ratio / 16.0 - 1.0).abs() < 0.1, "{ratio}");
    }
}
