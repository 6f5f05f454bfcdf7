//! How far forward may the balance point be? The coupled aircraft with its elevator up as far as it goes: where would the
//! lift have to be balanced?

use super::balanced::{Hold, Sought};
use super::curve::{Coupling, LiftCurve, State};

/// Steps of the angle of attack around the stall, rad.
const STEP: f64 = std::f64::consts::PI / 180.0;

/// A state with the elevator held, and where it is balanced.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Held {
    /// Lift coefficient.
    pub cl: f64,
    /// How far aft of the present balance point (m, negative: ahead of it) the lift is balanced.
    pub shift_m: f64,
}

impl Coupling {
    /// The greatest lift with the elevator `up_rad` up, and where it balances there; from the stall of the curve with flaps
    /// up. None where no peak is found or nothing converges.
    #[must_use]
    pub fn held_at_stall(&self, clean: &LiftCurve, up_rad: f64) -> Option<Held> {
        let near = clean.states.iter().filter(|s| s.converged).min_by(|a, b| {
            let off = |s: &State| (s.alpha_rad - clean.alpha_at_max_rad + 3.0 * STEP).abs();
            off(a).total_cmp(&off(b))
        })?;
        let speed = near.speed_m_s;
        let mut best = self.state(near.alpha_rad, -up_rad, 0.0, speed, Some(near));
        let mut here = best.clone();
        for _ in 0..16 {
            let next = self.state(here.alpha_rad + STEP, -up_rad, 0.0, speed, Some(&here));
            if next.converged {
                if next.cl > best.cl {
                    best = next.clone();
                } else if next.cl < best.cl - 0.01 || next.alpha_rad > best.alpha_rad + 2.5 * STEP {
                    return self.held(&best);
                }
            }
            here = next;
        }
        None
    }

    /// Lift at a coefficient with the elevator `up_rad` up, below the stall.
    #[must_use]
    pub fn held_at_lift(&self, clean: &LiftCurve, cl: f64, up_rad: f64) -> Option<Held> {
        let near = clean
            .states
            .iter()
            .filter(|s| s.converged)
            .min_by(|a, b| (a.cl - cl).abs().total_cmp(&(b.cl - cl).abs()))?;
        let sought = Sought {
            alpha_rad: near.alpha_rad,
            flap_rad: 0.0,
            speed_m_s: near.speed_m_s,
            hold: Hold::LiftAtElevator(cl, -up_rad),
        };
        if let Some(state) = self.balanced(&sought, Some(near)) {
            return self.held(&state);
        }
        let mut here = self.state(near.alpha_rad, -up_rad, 0.0, near.speed_m_s, Some(near));
        let mut slope = 4.5;
        for _ in 0..10 {
            let missing = cl - here.cl;
            if missing.abs() < 1e-5 && here.converged {
                return self.held(&here);
            }
            let change = (missing / slope).clamp(-0.06, 0.06);
            let next = self.state(here.alpha_rad + change, -up_rad, 0.0, near.speed_m_s, Some(&here));
            slope = ((next.cl - here.cl) / change).clamp(1.0, 9.0);
            here = next;
        }
        None
    }

    fn held(&self, state: &State) -> Option<Held> {
        let shift_m = -state.cm * self.mean_chord_m / state.cl;
        (state.converged && shift_m.is_finite()).then_some(Held { cl: state.cl, shift_m })
    }
}
