//! Where may the balance point be? Forward as far as the elevator can still hold the nose up at the stall and in the
//! flare, aft as far as a least static margin is left.

use aircraft::balance::{Remedy, to_reach};
use aircraft::mass::Balance;
use aircraft::{Aircraft, Known};

use crate::doubts::{Input, spread};
use crate::performance::Flying;
use crate::prediction::{NotPredicted, Outcome};

/// Least static margin for ordinary flying, over the mean chord (common practice for sport models, no source).
pub const LEAST_MARGIN: f64 = 0.05;
/// Static margin for a first flight, least and largest, over the mean chord (common practice, no source).
pub const FIRST_FLIGHT_MARGIN: [f64; 2] = [0.10, 0.20];
/// Speed of the flare over the stall speed.
pub const FLARE_SPEED: f64 = 1.1;
/// Share of the elevator throw that trimming may use up in the flare: the rest rounds out (common practice, no
/// source).
pub const FLARE_SHARE: f64 = 0.75;

/// How far aft of the present balance point (m, negative: ahead of it) the balance point may go forward until an
/// elevator `up_rad` (rad, trailing edge up, positive) just holds the lift coefficient `cl`.
///
/// Lift acts at the balance point plus a moment; moving that point aft by `d` adds `CL d/c` nose-up, so the limit is a
/// closed form.
#[must_use]
pub fn forward_shift_m(flying: &Flying, cl: f64, up_rad: f64) -> f64 {
    let a = &flying.aerodynamics;
    let d = &a.derivatives;
    let alpha = (cl - a.cl0 + d.CLde * up_rad) / d.CLa;
    let cm = a.cm0 + d.Cma * alpha - d.Cmde * up_rad;
    -cm * a.mean_chord_m / cl
}

/// How much further aft (m) the forward limits lie than the straight lines of the coefficients say.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct FurtherAft {
    /// At the stall: what the sections do there that straight lines do not.
    pub stall_m: f64,
    /// In the flare: the same, and the ground.
    pub flare_m: f64,
    /// The part of the latter that the ground is.
    pub ground_m: Option<f64>,
}

/// The forward limit along x from the datum, builder's frame, m: the further aft of that at the stall with full
/// elevator and that in the flare with a share of it.
///
/// # Errors
/// When nothing answers a pitch demand.
pub fn forward_limit_x_m(
    flying: &Flying,
    cg_x_m: f64,
    up_rad: Option<f64>,
    further: &FurtherAft,
) -> Outcome<f64> {
    let up_rad = up_rad
        .filter(|up| *up > 0.0 && flying.aerodynamics.derivatives.Cmde < 0.0)
        .ok_or_else(|| NotPredicted::Missing {
            what: "a [[movable]] with a share of pitch in its mix and a throw up: without it nothing limits the balance point forward".to_owned(),
        })?;
    let cl_max = flying.aerodynamics.cl_max;
    let at_stall = forward_shift_m(flying, cl_max, up_rad) + further.stall_m;
    let in_flare =
        forward_shift_m(flying, cl_max / FLARE_SPEED.powi(2), FLARE_SHARE * up_rad) + further.flare_m;
    Ok(cg_x_m + at_stall.max(in_flare))
}

/// Range of the balance point along x, [forward, aft], m, for ordinary flying and for a first flight; an error where
/// the elevator and stability leave none.
pub fn ranges_x_m(
    forward_x_m: &Outcome<f64>,
    neutral_point_x_m: f64,
    mean_chord_m: f64,
) -> (Outcome<[f64; 2]>, Outcome<[f64; 2]>) {
    let range = |ahead: f64, aft: f64| -> Outcome<[f64; 2]> {
        let forward = forward_x_m.clone()?.max(neutral_point_x_m - ahead * mean_chord_m);
        let aft = neutral_point_x_m - aft * mean_chord_m;
        if forward < aft {
            Ok([forward, aft])
        } else {
            Err(NotPredicted::NoSolution {
                why: format!(
                    "the elevator needs the balance point aft of {:.0} mm and stability needs it ahead of {:.0} mm: more elevator throw or a larger tail",
                    forward * 1e3,
                    aft * 1e3
                ),
            })
        }
    };
    (range(f64::INFINITY, LEAST_MARGIN), range(FIRST_FLIGHT_MARGIN[1], FIRST_FLIGHT_MARGIN[0]))
}

/// One limit of the balance point.
#[derive(Debug, Clone, PartialEq)]
pub struct BalanceLimit {
    /// Which: "forward, at the stall", "forward, in the flare", "aft, power off", "aft, power on", "first flight, forward",
    /// "first flight, aft".
    pub name: &'static str,
    /// Where, along x from the datum, m.
    pub x_m: Outcome<Known>,
    /// What sets it and what its doubt comes from.
    pub sentence: String,
}

/// How sure what the limits rest on is, one standard deviation each.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LimitDoubts {
    /// Of the largest lift coefficient.
    pub cl_max: f64,
    /// Of the pitching moment coefficient at zero lift.
    pub cm0: f64,
    /// Of the elevator's effect, relative.
    pub control: f64,
    /// Of the neutral point, m.
    pub neutral_point_m: f64,
    /// Of the elevator throw, rad.
    pub throw_rad: f64,
}

/// Every limit with its doubt. `neutral_on_x_m` is the neutral point with power, or why there is none.
///
/// Forward, the elevator must hold the nose up; near the ground the tail loses downwash and wants more elevator than in
/// free air: `further` has that in it where the ground was computed.
#[must_use]
pub fn limits(
    flying: &Flying,
    cg_x_m: f64,
    up_rad: Option<f64>,
    further: &FurtherAft,
    neutral_x_m: Known,
    neutral_on_x_m: &Outcome<Known>,
    doubts: &LimitDoubts,
) -> Vec<BalanceLimit> {
    let chord = flying.aerodynamics.mean_chord_m;
    let inputs = [
        (Input::ClMax, doubts.cl_max),
        (Input::ZeroLiftMoment, doubts.cm0),
        (Input::ControlEffect, doubts.control),
        (Input::NeutralPoint, doubts.neutral_point_m),
        (Input::Throws, doubts.throw_rad),
    ];
    let forward = |flare: bool| -> Outcome<(Known, String)> {
        forward_limit_x_m(flying, cg_x_m, up_rad, further)?;
        let up = up_rad.unwrap_or(0.0);
        let at = |x: &[f64]| {
            let mut moved = *flying;
            let a = &mut moved.aerodynamics;
            let [cl_max, cm0, control, neutral, throw] = *x else {
                return f64::NAN;
            };
            a.cl_max += cl_max;
            a.cm0 += cm0;
            a.derivatives.Cmde *= 1.0 + control;
            a.derivatives.CLde *= 1.0 + control;
            a.derivatives.Cma -= a.derivatives.CLa * neutral / chord;
            let (cl, share, more) = if flare {
                (a.cl_max / FLARE_SPEED.powi(2), FLARE_SHARE, further.flare_m)
            } else {
                (a.cl_max, 1.0, further.stall_m)
            };
            cg_x_m + forward_shift_m(&moved, cl, share * (up + throw)) + more
        };
        let spread = spread(&inputs, at);
        Ok((Known::predicted(spread.value, spread.sd), spread.mostly()))
    };
    let told = |name, outcome: Outcome<(Known, String)>, sets: &str| BalanceLimit {
        name,
        sentence: match &outcome {
            Ok((x, mostly)) => {
                format!("{sets}; ± {:.0} mm (two standard deviations), {mostly}.", 2e3 * x.sd)
            }
            Err(_) => format!("{sets}."),
        },
        x_m: outcome.map(|(x, _)| x),
    };
    let flare = match further.ground_m {
        Some(ground) => format!(
            "three quarters of up elevator hold 1.1 times the stall speed close to the ground, which moves this limit {:.0} mm {} (image vortices)",
            1e3 * ground.abs(),
            if ground < 0.0 { "forward" } else { "aft" }
        ),
        None => "three quarters of up elevator hold 1.1 times the stall speed; close to the ground it takes more than in free air, so round out with speed in hand".to_owned(),
    };
    let margin = |neutral: Known, margin: f64| Known { value: neutral.value - margin * chord, ..neutral };
    let by_neutral = || "all of it from the neutral point".to_owned();
    vec![
        told("forward, at the stall", forward(false), "full up elevator just holds the nose up at the stall"),
        told("forward, in the flare", forward(true), &flare),
        told(
            "aft, power off",
            Ok((margin(neutral_x_m, LEAST_MARGIN), by_neutral())),
            "5 % of the mean chord ahead of the neutral point in the glide",
        ),
        told(
            "aft, power on",
            neutral_on_x_m.clone().map(|x| (margin(x, LEAST_MARGIN), by_neutral())),
            "5 % of the mean chord ahead of the neutral point with power",
        ),
        told(
            "first flight, forward",
            Ok((margin(neutral_x_m, FIRST_FLIGHT_MARGIN[1]), by_neutral())),
            "20 % of the mean chord ahead of the neutral point, or the elevator's limit where that is further aft",
        ),
        told(
            "first flight, aft",
            Ok((margin(neutral_x_m, FIRST_FLIGHT_MARGIN[0]), by_neutral())),
            "10 % of the mean chord ahead of the neutral point",
        ),
    ]
}

/// What to move, and how far, to bring the balance point into a range; empty when it lies inside.
#[must_use]
pub fn advice(aircraft: &Aircraft, balance: &Balance, range_x_m: [f64; 2]) -> Vec<String> {
    let [forward, aft] = range_x_m;
    let x = balance.cg_m.x;
    if (forward..=aft).contains(&x) {
        return Vec::new();
    }
    let target = 0.5 * (forward + aft);
    let mut lines = vec![format!(
        "The balance point at {:.0} mm is {} of the range for a first flight, {:.0} to {:.0} mm from the datum.",
        x * 1e3,
        if x < forward { "ahead" } else { "aft" },
        forward * 1e3,
        aft * 1e3
    )];
    lines.extend(to_reach(aircraft, target).iter().map(|remedy| match remedy {
        Remedy::Move { item, from_x_m, to_x_m, balance_x_m, reaches } => format!(
            "Moving \"{item}\" {:.0} mm {}, to {:.0} mm, brings it to {:.0} mm{}.",
            (to_x_m - from_x_m).abs() * 1e3,
            if to_x_m < from_x_m { "forward" } else { "aft" },
            to_x_m * 1e3,
            balance_x_m * 1e3,
            if *reaches { "" } else { ", which does not suffice alone" }
        ),
        Remedy::Ballast { place, at_x_m, mass_kg } => format!(
            "{:.0} g of ballast in the {place}, at {:.0} mm, brings it to {:.0} mm.",
            mass_kg * 1e3,
            at_x_m * 1e3,
            target * 1e3
        ),
    }));
    lines
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::example::aerodynamics;

    fn flying() -> Flying {
        Flying { aerodynamics: aerodynamics(), mass_kg: 2.0, density_kg_m3: 1.225 }
    }

    #[test]
    fn at_the_forward_limit_full_elevator_just_trims_the_stall() {
        let up = 0.35;
        let x = forward_limit_x_m(&flying(), 0.10, Some(up), &FurtherAft::default()).unwrap();
        // Independent: move the balance point there by the moment of the lift and ask the trim.
        let mut moved = flying();
        let shift = (x - 0.10) / moved.aerodynamics.mean_chord_m;
        let a = &mut moved.aerodynamics;
        a.cm0 += a.cl0 * shift;
        a.derivatives.Cma += a.derivatives.CLa * shift;
        a.derivatives.Cmde += a.derivatives.CLde * shift;
        let at_stall = moved.trim(moved.aerodynamics.cl_max, 0.0).1.unwrap();
        let in_flare = moved.trim(moved.aerodynamics.cl_max / 1.21, 0.0).1.unwrap();
        let used = (at_stall / -up).max(in_flare / (-0.75 * up));
        assert!((used - 1.0).abs() < 1e-9, "{at_stall} {in_flare}");
        assert!(x < 0.10, "the aircraft has elevator to spare");
    }

    #[test]
    fn each_limit_carries_its_doubt_and_says_where_it_comes_from() {
        let only_neutral =
            LimitDoubts { cl_max: 0.0, cm0: 0.0, control: 0.0, neutral_point_m: 0.006, throw_rad: 0.0 };
        let on = Err(NotPredicted::Missing { what: "a [drive]".to_owned() });
        let limits = |doubts: &LimitDoubts| {
            limits(
                &flying(),
                0.1,
                Some(0.35),
                &FurtherAft::default(),
                Known::predicted(0.13, 0.006),
                &on,
                doubts,
            )
        };
        let found = limits(&only_neutral);
        // Closed form: forward = cg - Cm(α, δ) c/CL, with dCm/d(neutral) = -CLα α/c: the limit moves by
        // α CLα/CL = (CL - CL0 + CLδ δup)/CL of what the neutral point moves.
        let a = flying().aerodynamics;
        let moved = |cl: f64, up: f64| (cl - a.cl0 + a.derivatives.CLde * up) / cl * 0.006;
        let sd = |i: usize| found[i].x_m.as_ref().unwrap().sd;
        assert!((sd(0) / moved(a.cl_max, 0.35) - 1.0).abs() < 1e-9, "{found:?}");
        assert!((sd(1) / moved(a.cl_max / 1.21, 0.75 * 0.35) - 1.0).abs() < 1e-9);
        assert!((sd(2) - 0.006).abs() < 1e-12 && found[3].x_m.is_err());
        assert!(found[1].sentence.contains("ground") && found[0].sentence.contains("neutral point"));
        // The stall limit by hand of the function tested above.
        let stall = found[0].x_m.as_ref().unwrap().value;
        assert!(
            stall <= forward_limit_x_m(&flying(), 0.1, Some(0.35), &FurtherAft::default()).unwrap() + 1e-12
        );
        // A throw less sure moves the limit by Cmδ c/CL each rad (and the lift it takes along).
        let throw = LimitDoubts { neutral_point_m: 0.0, throw_rad: 0.02, ..only_neutral };
        let d = a.derivatives;
        let by_throw = 0.02 * (d.Cmde - d.Cma * d.CLde / d.CLa).abs() * a.mean_chord_m / a.cl_max;
        let got = limits(&throw)[0].x_m.as_ref().unwrap().sd;
        assert!((got / by_throw - 1.0).abs() < 1e-9, "{got} {by_throw}");
    }

    #[test]
    fn margins_bound_the_ranges() {
        let (all, first) = ranges_x_m(&Ok(0.05), 0.12, 0.2);
        let all = all.unwrap();
        assert!((all[0] - 0.05).abs() < 1e-12 && (all[1] - 0.11).abs() < 1e-12);
        let first = first.unwrap();
        assert!((first[0] - 0.08).abs() < 1e-12 && (first[1] - 0.10).abs() < 1e-12);
        let (all, first) = ranges_x_m(&Ok(0.105), 0.12, 0.2);
        assert!(all.is_ok() && matches!(first, Err(NotPredicted::NoSolution { .. })));
        assert!(forward_limit_x_m(&flying(), 0.1, None, &FurtherAft::default()).is_err());
    }
}
