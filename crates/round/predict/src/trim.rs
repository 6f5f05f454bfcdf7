//! Which angle of attack and elevator hold a lift, where does the wing stall first, and how far forward may it balance?

use aircraft::surface::Role;
use numerics::Vec3;

use crate::derivatives::Solved;
use crate::prediction::{NotPredicted, Outcome};

/// A trimmed state.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trim {
    /// Angle of attack of the reference line, rad.
    pub alpha_rad: f64,
    /// Deflection of the pitch axis, trailing edge down positive, rad.
    pub elevator_rad: f64,
    /// Lift coefficient.
    pub lift: f64,
}

/// The state in which the first strip reaches the greatest lift of its section.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Stall {
    pub(crate) alpha_rad: f64,
    pub(crate) lift: f64,
    pub(crate) strip: Option<usize>,
    pub(crate) section_lift: f64,
    pub(crate) section_sd: f64,
    pub(crate) remark: Option<String>,
}

/// How far from zero lift the stall is sought, rad, and in which steps.
const SEARCH: (f64, f64) = (0.6, 0.02);

/// Angle of attack and elevator that hold a lift coefficient with the balance point at `cg_m` (builder's frame).
///
/// # Errors
/// When no movable answers pitch, the lift is beyond the stall, or the throw does not suffice.
pub fn trim(solved: &Solved, cg_m: Vec3, lift: f64) -> Outcome<Trim> {
    let [up, down] = throws(solved)?;
    if lift > solved.aerodynamics.cl_max || lift < solved.aerodynamics.cl_min {
        return Err(NotPredicted::NoSolution {
            why: format!(
                "a lift coefficient of {lift:.2} is outside what the wing reaches ({:.2} to {:.2})",
                solved.aerodynamics.cl_min, solved.aerodynamics.cl_max
            ),
        });
    }
    let mut elevator = 0.0;
    let mut alpha = 0.0;
    for _ in 0..20 {
        alpha = solved.alpha_at_lift(lift, elevator);
        let next = balancing(solved, cg_m, alpha);
        let change = next - elevator;
        elevator = next;
        if change.abs() < 1e-10 {
            break;
        }
    }
    if !elevator.is_finite() || elevator < -up || elevator > down {
        return Err(NotPredicted::NoSolution {
            why: format!(
                "trim at a lift coefficient of {lift:.2} takes {:.1} deg of elevator (up negative); the throws are {:.1} up, {:.1} down",
                elevator.to_degrees(),
                up.to_degrees(),
                down.to_degrees()
            ),
        });
    }
    Ok(Trim { alpha_rad: alpha, elevator_rad: elevator, lift })
}

/// Elevator left beyond trim at the stall, trailing edge up, rad; negative where the throw does not reach it.
///
/// # Errors
/// When no movable answers pitch.
pub fn elevator_left_at_stall_rad(solved: &Solved, cg_m: Vec3) -> Outcome<f64> {
    let [up, _] = throws(solved)?;
    let linear = balancing(solved, cg_m, solved.stall_alpha_rad);
    let here = solved.coupled.as_ref().filter(|c| c.clean.trimmed_at_max).map_or(0.0, |coupled| {
        // The coupled elevator, moved by what the balance point changes.
        coupled.clean.elevator_at_max_rad - balancing(solved, solved.cg_m, solved.stall_alpha_rad)
    });
    Ok(up + linear + here)
}

/// Forward-most balance point along x from the datum, m: where `share` of the upward throw just balances the aircraft at
/// the angle at which the wing stalls with that much elevator. Free air, power off; in the flare the ground takes some
/// of the downwash away and asks for more elevator, so leave some of the throw (a share below one).
///
/// # Errors
/// When no movable answers pitch.
pub fn forward_limit_x_m(solved: &Solved, share: f64) -> Outcome<f64> {
    let [up, _] = throws(solved)?;
    let elevator = -share * up;
    // Coupled, the stall lies where the wing's lift falls, whatever the tail does.
    let alpha = match &solved.coupled {
        Some(coupled) => coupled.clean.alpha_at_max_rad,
        None => critical(solved, 1.0, |_| elevator).alpha_rad,
    };
    let force = solved.forces.at(&solved.motion_with_elevator(alpha, elevator));
    let moved = force[4] / force[2];
    if moved.is_finite() {
        Ok(solved.cg_x_m() + moved)
    } else {
        Err(NotPredicted::NoSolution { why: "there is no lift at the stall to balance".into() })
    }
}

/// Change of the trimmed lift coefficient at an angle of attack when the balance point moves from where it was solved for.
pub(crate) fn trimmed_lift_change(solved: &Solved, cg_m: Vec3, alpha_rad: f64) -> f64 {
    let Some([up, down]) = solved.elevator_rad else {
        return 0.0;
    };
    let lift = |about: Vec3| solved.lift(alpha_rad, balancing(solved, about, alpha_rad).clamp(-up, down));
    if cg_m == solved.cg_m {
        return 0.0;
    }
    let Some(coupled) = &solved.coupled else {
        return lift(cg_m) - lift(solved.cg_m);
    };
    let curve = if alpha_rad > solved.zero_lift_alpha_rad { &coupled.clean } else { &coupled.downwards };
    let Some(near) = curve
        .states
        .iter()
        .filter(|s| s.converged)
        .min_by(|a, b| (a.alpha_rad - alpha_rad).abs().total_cmp(&(b.alpha_rad - alpha_rad).abs()))
    else {
        return 0.0;
    };
    let mut moved = coupled.coupling.clone();
    moved.cg_m = cg_m;
    let first = moved.trimmed(near.alpha_rad, 0.0, near.speed_m_s, Some(near));
    if first.trimmed || !near.trimmed {
        return first.cl - near.cl;
    }
    // The elevator does not reach the stall from there: the lift is that at its stop.
    let toward_zero = (solved.zero_lift_alpha_rad - near.alpha_rad).signum() * 1.0_f64.to_radians();
    let mut beyond = near.alpha_rad;
    for _ in 0..20 {
        let alpha = beyond + toward_zero;
        let state = moved.trimmed(alpha, 0.0, near.speed_m_s, Some(near));
        if state.trimmed {
            return moved.last_trimmed(&state, beyond).cl - near.cl;
        }
        beyond = alpha;
    }
    first.cl - near.cl
}

fn throws(solved: &Solved) -> Outcome<[f64; 2]> {
    solved
        .elevator_rad
        .ok_or_else(|| NotPredicted::Missing { what: "a movable whose mix answers pitch".into() })
}

/// Critical-section method, trimmed with the elevator within its throws.
pub(crate) fn stall(solved: &Solved, side: f64) -> Stall {
    let held = |alpha: f64| {
        let Some([up, down]) = solved.elevator_rad else {
            return (0.0, true);
        };
        let wanted = balancing(solved, solved.cg_m, alpha);
        let held = wanted.clamp(-up, down);
        (held, (wanted - held).abs() < 1e-9)
    };
    let mut found = critical(solved, side, |alpha| held(alpha).0);
    let (elevator, within) = held(found.alpha_rad);
    let tail = closest(solved, found.alpha_rad, elevator, false);
    found.remark = if side < 0.0 {
        None
    } else if solved.elevator_rad.is_none() {
        Some("No movable answers pitch: the greatest lift is untrimmed.".to_owned())
    } else if !within {
        Some(
            "The elevator's throw does not suffice to trim at the stall: the greatest lift is that of full throw."
                .to_owned(),
        )
    } else if tail.share >= 1.0 {
        Some(
            "The tail reaches its own greatest lift before the wing stalls: full elevator may not hold the nose up."
                .to_owned(),
        )
    } else {
        None
    };
    found
}

/// A strip and how close it is to the limit of its section (1: there).
struct Closest {
    share: f64,
    strip: Option<usize>,
    limit: f64,
    sd: f64,
}

/// The strip closest to its limit, of wing and foreplane or of the tail.
fn closest(solved: &Solved, alpha: f64, elevator: f64, wing: bool) -> Closest {
    let motion = solved.motion_with_elevator(alpha, elevator);
    let mut most = Closest { share: 0.0, strip: None, limit: 1.0, sd: 0.0 };
    for (i, strip) in solved.strips.iter().enumerate() {
        let counts = match solved.role(strip) {
            Some(Role::Wing | Role::Foreplane) => wing,
            Some(Role::Tailplane | Role::VTail) => !wing,
            Some(Role::Fin) | None => false,
        };
        if !counts {
            continue;
        }
        let lift = strip.lift_at(&motion);
        let flap = strip.flap_lift(&motion);
        let limit = if lift >= 0.0 {
            strip.section.lift_maximum(strip.reynolds, flap)
        } else {
            strip.section.lift_minimum(strip.reynolds, flap)
        };
        // A limit on the wrong side of zero (a flap fully the other way) leaves nothing: any lift is beyond it.
        let share = if limit.value * lift > 0.0 {
            lift / limit.value
        } else if lift.abs() > 1e-3 {
            f64::INFINITY
        } else {
            0.0
        };
        if share > most.share {
            most = Closest { share, strip: Some(i), limit: limit.value, sd: limit.sd };
        }
    }
    most
}

/// The first angle of attack, away from zero lift to the `side` (1 or -1), at which a wing strip reaches its limit.
fn critical(solved: &Solved, side: f64, elevator: impl Fn(f64) -> f64) -> Stall {
    let zero = solved.alpha_at_lift(0.0, 0.0);
    let (far, step) = SEARCH;
    let at = |alpha: f64| closest(solved, alpha, elevator(alpha), true);
    let mut inside = zero;
    let mut outside = zero + side * far;
    let mut alpha = zero;
    while (alpha - zero).abs() < far {
        alpha += side * step;
        if at(alpha).share >= 1.0 {
            outside = alpha;
            break;
        }
        inside = alpha;
    }
    for _ in 0..24 {
        let middle = 0.5 * (inside + outside);
        if at(middle).share >= 1.0 {
            outside = middle;
        } else {
            inside = middle;
        }
    }
    let deciding = at(outside);
    Stall {
        alpha_rad: inside,
        lift: solved.lift(inside, elevator(inside)),
        strip: deciding.strip,
        section_lift: deciding.limit,
        section_sd: deciding.sd,
        remark: None,
    }
}

/// Elevator that balances the moment about a point at an angle of attack; zero where none can.
fn balancing(solved: &Solved, cg_m: Vec3, alpha_rad: f64) -> f64 {
    let moment = |elevator: f64| solved.pitching_moment_about(cg_m, alpha_rad, elevator);
    let power = 0.5 * (moment(1.0) - moment(-1.0));
    if power.abs() < 1e-9 {
        return 0.0;
    }
    // Nearly linear: a few Newton steps with the mean slope settle it.
    let mut elevator = 0.0;
    for _ in 0..4 {
        elevator -= moment(elevator) / power;
    }
    elevator
}
