//! How does it move after a bump? Eigenvalues of the small-disturbance equations, longitudinal and lateral, named by
//! kind and told in a sentence.
//!
//! Body axes, wings level, four states each (Etkin & Reid, Dynamics of Flight, 3rd ed., chapter 4). Thrust is held at
//! its setting; how it falls with speed is in.

use nalgebra::{Complex, Matrix4};
use numerics::Mat3;
use numerics::units::G_M_S2;

use crate::performance::Flying;
use crate::prediction::Mode;

/// The steady flight that is disturbed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Undisturbed {
    /// True airspeed, m/s.
    pub speed_m_s: f64,
    /// Lift coefficient.
    pub cl: f64,
    /// Drag coefficient.
    pub cd: f64,
    /// Angle of attack, rad.
    pub alpha_rad: f64,
    /// Pitch angle, rad.
    pub pitch_rad: f64,
    /// Change of thrust with airspeed, N s/m (zero for a glider).
    pub thrust_slope_n_s_m: f64,
    /// Nose-up moment per newton of thrust, m.
    pub thrust_arm_m: f64,
}

/// Matrix of the longitudinal states: forward velocity u, downward velocity w (m/s), pitch rate q (rad/s), pitch
/// angle (rad).
#[must_use]
pub fn longitudinal(flying: &Flying, inertia_kg_m2: &Mat3, at: &Undisturbed) -> Matrix4<f64> {
    let a = &flying.aerodynamics;
    let d = &a.derivatives;
    let (v, m, iy) = (at.speed_m_s, flying.mass_kg, inertia_kg_m2[(1, 1)]);
    let force = flying.pressure_area_n(v);
    let (sin, cos) = at.alpha_rad.sin_cos();
    let half = a.mean_chord_m / (2.0 * v);
    let (lift, drag) = (force * at.cl, force * at.cd);
    let lift_alpha = force * d.CLa;
    let drag_alpha = force * 2.0 * a.induced * (at.cl - a.cl_least_drag) * d.CLa;
    let lift_q = force * d.CLq * half;
    let moment_alpha = force * a.mean_chord_m * d.Cma;
    let moment_q = force * a.mean_chord_m * d.Cmq * half;
    let moment_alpha_rate = force * a.mean_chord_m * d.Cm_alphadot * half;
    // Along speed and angle of attack, then turned to u and w. In trim the aerodynamic moment balances thrust
    // (taken as drag here) times its arm, and both change with speed.
    let x_v = (2.0 / v) * (lift * sin - drag * cos) + at.thrust_slope_n_s_m;
    let z_v = (2.0 / v) * (-lift * cos - drag * sin);
    let m_v = at.thrust_arm_m * (at.thrust_slope_n_s_m - 2.0 * drag / v);
    let x_alpha = lift_alpha * sin + lift * cos - drag_alpha * cos + drag * sin;
    let z_alpha = -lift_alpha * cos + lift * sin - drag_alpha * sin - drag * cos;
    let by_u = |by_v: f64, by_alpha: f64| by_v * cos - by_alpha * sin / v;
    let by_w = |by_v: f64, by_alpha: f64| by_v * sin + by_alpha * cos / v;
    let (u0, w0) = (v * cos, v * sin);
    let (sin_pitch, cos_pitch) = at.pitch_rad.sin_cos();
    let u_row = [by_u(x_v, x_alpha) / m, by_w(x_v, x_alpha) / m, lift_q * sin / m - w0, -G_M_S2 * cos_pitch];
    let w_row = [by_u(z_v, z_alpha) / m, by_w(z_v, z_alpha) / m, -lift_q * cos / m + u0, -G_M_S2 * sin_pitch];
    let mut q_row = [by_u(m_v, moment_alpha) / iy, by_w(m_v, moment_alpha) / iy, moment_q / iy, 0.0];
    for ((q, w), u) in q_row.iter_mut().zip(&w_row).zip(&u_row) {
        *q += moment_alpha_rate / iy * (cos * w - sin * u) / v;
    }
    Matrix4::from_row_slice(&[u_row, w_row, q_row, [0.0, 0.0, 1.0, 0.0]].concat())
}

/// Matrix of the lateral states: sideward velocity v (m/s), roll rate p, yaw rate r (rad/s), bank (rad).
#[must_use]
pub fn lateral(flying: &Flying, inertia_kg_m2: &Mat3, at: &Undisturbed) -> Matrix4<f64> {
    let a = &flying.aerodynamics;
    let d = &a.derivatives;
    let (v, m) = (at.speed_m_s, flying.mass_kg);
    let force = flying.pressure_area_n(v);
    let half = a.span_m / (2.0 * v);
    let (sin, cos) = at.alpha_rad.sin_cos();
    let (xx, zz, xz) = (inertia_kg_m2[(0, 0)], inertia_kg_m2[(2, 2)], inertia_kg_m2[(0, 2)]);
    let determinant = xx * zz - xz * xz;
    // Roll and yaw moments by v, p, r.
    let roll = [d.Clb / v, d.Clp * half, d.Clr * half].map(|c| force * a.span_m * c);
    let yaw = [d.Cnb / v, d.Cnp * half, d.Cnr * half].map(|c| force * a.span_m * c);
    let p_row: [f64; 3] = std::array::from_fn(|i| (zz * roll[i] - xz * yaw[i]) / determinant);
    let r_row: [f64; 3] = std::array::from_fn(|i| (xx * yaw[i] - xz * roll[i]) / determinant);
    Matrix4::from_row_slice(&[
        force * d.CYb / v / m,
        force * d.CYp * half / m + v * sin,
        force * d.CYr * half / m - v * cos,
        G_M_S2 * at.pitch_rad.cos(),
        p_row[0],
        p_row[1],
        p_row[2],
        0.0,
        r_row[0],
        r_row[1],
        r_row[2],
        0.0,
        0.0,
        1.0,
        at.pitch_rad.tan(),
        0.0,
    ])
}

/// A root of the characteristic equation, or a pair of conjugates told once.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Motion {
    Swings(Complex<f64>),
    Straight(f64),
}

impl Motion {
    fn size(self) -> f64 {
        match self {
            Self::Swings(s) => s.norm(),
            Self::Straight(s) => s.abs(),
        }
    }
}

/// Motions of a matrix, fastest first.
fn motions(matrix: &Matrix4<f64>) -> Vec<Motion> {
    let mut found: Vec<Motion> = matrix
        .complex_eigenvalues()
        .iter()
        .filter(|s| s.im >= -1e-12 * s.norm())
        .map(|s| if s.im > 1e-9 * s.norm() { Motion::Swings(*s) } else { Motion::Straight(s.re) })
        .collect();
    found.sort_by(|a, b| b.size().total_cmp(&a.size()));
    found
}

/// Names of the five natural motions, in the order told.
pub const KINDS: [&str; 5] = ["short period", "phugoid", "roll", "Dutch roll", "spiral"];

/// A real root slower than this neither grows nor dies in any flight, 1/s.
const STANDS_STILL: f64 = 1e-5;

/// All natural motions of an aircraft in steady flight; each of [`KINDS`] is there.
///
/// A motion that does not swing where it usually does comes as two real roots, the faster under its own name and the
/// other as its "slow part". Where two motions have merged into one swing (roll and spiral), both names tell it. Without
/// finite coefficients each is told as not predicted.
#[must_use]
pub fn modes(flying: &Flying, inertia_kg_m2: &Mat3, at: &Undisturbed) -> Vec<Mode> {
    let (long, side) = (longitudinal(flying, inertia_kg_m2, at), lateral(flying, inertia_kg_m2, at));
    let finite = |m: &Matrix4<f64>| m.iter().all(|x| x.is_finite());
    let mut named = Vec::new();
    if finite(&long) {
        named.extend(name_longitudinal(&motions(&long)));
    } else {
        named.extend(["short period", "phugoid"].map(not_told));
    }
    if finite(&side) {
        named.extend(name_lateral(&motions(&side)));
    } else {
        named.extend(["roll", "Dutch roll", "spiral"].map(not_told));
    }
    named
}

/// The fast pair is the short period, the slow pair the phugoid. Where pairs have split, the two fastest of the real
/// roots that stand beside a swinging pair are the short period: an aircraft balanced too far aft keeps one swing (a
/// slow one) and parts the short period in two.
fn name_longitudinal(found: &[Motion]) -> Vec<Mode> {
    let (pairs, reals): (Vec<Motion>, Vec<Motion>) =
        found.iter().partition(|m| matches!(m, Motion::Swings(_)));
    match (pairs.as_slice(), reals.as_slice()) {
        ([fast, slow], _) => vec![told("short period", *fast), told("phugoid", *slow)],
        ([pair], [first, second]) => {
            // A pair faster than both real roots is the short period, and the phugoid has split.
            if pair.size() > first.size() {
                vec![
                    told("short period", *pair),
                    told("phugoid", *first),
                    told("phugoid, slow part", *second),
                ]
            } else {
                vec![
                    told("short period", *first),
                    told("short period, slow part", *second),
                    told("phugoid", *pair),
                ]
            }
        }
        (_, [first, second, third, fourth]) => vec![
            told("short period", *first),
            told("short period, slow part", *second),
            told("phugoid", *third),
            told("phugoid, slow part", *fourth),
        ],
        _ => ["short period", "phugoid"].map(not_told).to_vec(),
    }
}

/// The fastest real root is the roll, the slowest the spiral, the swinging pair the Dutch roll.
fn name_lateral(found: &[Motion]) -> Vec<Mode> {
    let (pairs, reals): (Vec<Motion>, Vec<Motion>) =
        found.iter().partition(|m| matches!(m, Motion::Swings(_)));
    match (pairs.as_slice(), reals.as_slice()) {
        ([pair], [roll, spiral]) => {
            vec![told("roll", *roll), told("Dutch roll", *pair), told("spiral", *spiral)]
        }
        ([dutch, joined], _) => {
            vec![merged("roll", *joined), told("Dutch roll", *dutch), merged("spiral", *joined)]
        }
        (_, [roll, first, second, spiral]) => vec![
            told("roll", *roll),
            told("Dutch roll", *first),
            told("Dutch roll, slow part", *second),
            told("spiral", *spiral),
        ],
        _ => ["roll", "Dutch roll", "spiral"].map(not_told).to_vec(),
    }
}

fn not_told(name: &'static str) -> Mode {
    Mode {
        name,
        frequency_rad_s: None,
        damping: None,
        time_constant_s: f64::INFINITY,
        sentence: "not predicted: a coefficient that it rests on is not known".to_owned(),
    }
}

/// Roll or spiral where both have become one slow swing.
fn merged(name: &'static str, motion: Motion) -> Mode {
    let mode = told("spiral", motion);
    Mode {
        name,
        sentence: format!(
            "{}: roll and spiral have merged into one motion, so a bank does not stop where the stick is let go",
            mode.sentence
        ),
        ..mode
    }
}

fn told(name: &'static str, motion: Motion) -> Mode {
    let (frequency_rad_s, damping, real) = match motion {
        Motion::Swings(s) => (Some(s.norm()), Some(-s.re / s.norm()), s.re),
        Motion::Straight(s) => (None, None, s),
    };
    // A root at zero neither grows nor dies: infinite, never "minus infinite".
    let time_constant_s = if real.abs() < STANDS_STILL { f64::INFINITY } else { -1.0 / real };
    Mode {
        name,
        frequency_rad_s,
        damping,
        time_constant_s,
        sentence: sentence(name, motion, time_constant_s),
    }
}

/// What the pilot sees. "Settled" is three time constants: 5 % left.
fn sentence(name: &str, motion: Motion, time_constant_s: f64) -> String {
    let settled = 3.0 * time_constant_s;
    let double = -time_constant_s * std::f64::consts::LN_2;
    let grows = time_constant_s < 0.0;
    match (name, motion) {
        (_, Motion::Straight(_)) if time_constant_s.is_infinite() => {
            "neither comes back nor runs away: what disturbs it stays".to_owned()
        }
        ("short period", Motion::Swings(_)) if !grows => {
            format!("the nose settles within {settled:.1} s after a bump")
        }
        ("short period, slow part", _) if !grows => {
            format!("what is left of the bump creeps away within {settled:.1} s, without swinging")
        }
        ("short period", _) if !grows => {
            format!("the nose settles within {settled:.1} s after a bump, without swinging")
        }
        ("short period" | "short period, slow part", Motion::Straight(_)) => format!(
            "the nose runs away from where it points, twice as far every {double:.1} s: it cannot be flown without help; move the balance point forward"
        ),
        ("short period", Motion::Swings(s)) => format!(
            "the nose swings once in {:.1} s and further each time, twice as far every {double:.1} s: it cannot be flown without help",
            std::f64::consts::TAU / s.im
        ),
        ("phugoid", Motion::Swings(s)) => {
            let period = std::f64::consts::TAU / s.im;
            if grows {
                format!(
                    "left alone it swings slowly between fast and slow, one swing in {period:.0} s, growing twofold every {double:.0} s; the pilot stops it without noticing"
                )
            } else {
                format!(
                    "left alone it swings slowly between fast and slow, one swing in {period:.0} s, down to half after {:.0} s",
                    time_constant_s * std::f64::consts::LN_2
                )
            }
        }
        ("phugoid" | "phugoid, slow part", _) if grows => {
            format!("left alone its speed runs away from trim, twice as far every {double:.0} s")
        }
        ("phugoid" | "phugoid, slow part", _) => format!("speed creeps back to trim within {settled:.0} s"),
        ("roll", _) if grows => format!(
            "a roll once begun grows by itself, twice as fast every {double:.1} s: the wing does not damp it"
        ),
        ("roll", _) => format!("a roll starts and stops within {settled:.2} s of moving the stick"),
        ("Dutch roll", Motion::Swings(s)) => {
            let period = std::f64::consts::TAU / s.im;
            if grows {
                format!(
                    "the tail wags with one swing in {period:.1} s, growing twofold every {double:.1} s: more fin is needed"
                )
            } else {
                format!("the tail wags with one swing in {period:.1} s and is still within {settled:.1} s")
            }
        }
        ("Dutch roll" | "Dutch roll, slow part", _) if grows => format!(
            "the nose leaves its path without swinging, twice as far every {double:.1} s: more fin is needed"
        ),
        ("Dutch roll" | "Dutch roll, slow part", _) => {
            format!("a yaw dies without wagging within {settled:.1} s")
        }
        ("spiral", Motion::Swings(s)) => format!(
            "rolling and turning together swing slowly, one swing in {:.0} s",
            std::f64::consts::TAU / s.im
        ),
        (_, _) if grows => format!(
            "left alone a bank steepens, twice as steep every {double:.0} s; the pilot levels it without noticing if that is more than a few seconds"
        ),
        (_, _) => format!(
            "left alone a small bank levels itself, half of it in {:.0} s",
            time_constant_s * std::f64::consts::LN_2
        ),
    }
}

/// The Navion light aircraft, as Nelson gives it (Flight Stability and Automatic Control, 2nd ed., app. B), in SI.
#[cfg(test)]
pub(crate) fn navion() -> (Flying, Mat3, Undisturbed) {
    use motion::model::Derivatives;
    use numerics::units::{KG_PER_LB, KG_PER_SLUG, M_PER_FT};
    let mut aero = crate::example::aerodynamics();
    aero.area_m2 = 184.0 * M_PER_FT.powi(2);
    aero.mean_chord_m = 5.7 * M_PER_FT;
    aero.span_m = 33.4 * M_PER_FT;
    aero.cl_least_drag = 0.0;
    // CDα 0.33 = 2 K CL CLα.
    aero.induced = 0.33 / (2.0 * 0.41 * 4.44);
    aero.derivatives = Derivatives {
        CLa: 4.44,
        Cma: -0.683,
        Cm_alphadot: -4.36,
        Cmq: -9.96,
        CYb: -0.564,
        Clb: -0.074,
        Clp: -0.410,
        Clr: 0.107,
        Cnb: 0.071,
        Cnp: -0.0575,
        Cnr: -0.125,
        ..Derivatives::default()
    };
    let slug_ft2 = KG_PER_SLUG * M_PER_FT.powi(2);
    (
        Flying {
            aerodynamics: aero,
            mass_kg: 2750.0 * KG_PER_LB,
            density_kg_m3: 0.002_378 * KG_PER_SLUG / M_PER_FT.powi(3),
        },
        Mat3::from_diagonal(&numerics::Vec3::new(1048.0, 3000.0, 3530.0)) * slug_ft2,
        Undisturbed {
            speed_m_s: 176.0 * M_PER_FT,
            cl: 0.41,
            cd: 0.05,
            alpha_rad: 0.0,
            pitch_rad: 0.0,
            thrust_slope_n_s_m: 0.0,
            thrust_arm_m: 0.0,
        },
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn near(got: f64, expected: f64, relative: f64) {
        assert!((got / expected - 1.0).abs() < relative, "{got} against {expected}");
    }

    #[test]
    fn the_modes_of_a_light_aircraft() {
        // Nelson, examples 4.3 and 5: short period -2.510 ± 2.592i, phugoid -0.0171 ± 0.2129i; roll -8.43, Dutch
        // roll -0.487 ± 2.347i, spiral -0.0082 to -0.0088 (a small difference of large numbers).
        let (flying, inertia, at) = navion();
        let long = motions(&longitudinal(&flying, &inertia, &at));
        let [Motion::Swings(fast), Motion::Swings(slow)] = long[..] else { panic!("{long:?}") };
        near(fast.re, -2.5096, 5e-3);
        near(fast.im, 2.5919, 5e-3);
        near(slow.re, -0.017_11, 5e-3);
        near(slow.im, 0.212_91, 5e-3);
        let side = motions(&lateral(&flying, &inertia, &at));
        let [Motion::Straight(roll), Motion::Swings(dutch), Motion::Straight(spiral)] = side[..] else {
            panic!("{side:?}")
        };
        near(roll, -8.4348, 5e-3);
        near(dutch.re, -0.4869, 5e-3);
        near(dutch.im, 2.3472, 5e-3);
        near(spiral, -0.0085, 0.15);
        let names: Vec<&str> = modes(&flying, &inertia, &at).iter().map(|m| m.name).collect();
        assert_eq!(names, ["short period", "phugoid", "roll", "Dutch roll", "spiral"]);
    }

    #[test]
    #[allow(clippy::approx_constant, reason = "a published entry that happens to be near log10 e")]
    fn eigenvalues_of_a_published_jet_transport() {
        // Etkin & Reid, Dynamics of Flight, 3rd ed., sections 6.2 and 6.7 (from memory), ft-s units.
        let long = Matrix4::from_row_slice(&[
            -0.006868, 0.01395, 0.0, -32.2, -0.09055, -0.3151, 773.98, 0.0, 0.0001187, -0.001026, -0.4285,
            0.0, 0.0, 0.0, 1.0, 0.0,
        ]);
        let [Motion::Swings(fast), Motion::Swings(slow)] = motions(&long)[..] else { panic!() };
        assert!((fast.re + 0.371_94).abs() < 1e-4 && (fast.im - 0.887_54).abs() < 1e-4);
        assert!((slow.re + 0.003_289_5).abs() < 1e-4 && (slow.im - 0.067_231).abs() < 1e-4);
        let side = Matrix4::from_row_slice(&[
            -0.0558, 0.0, -774.0, 32.2, -0.003865, -0.4342, 0.4136, 0.0, 0.001086, -0.006112, -0.1458, 0.0,
            0.0, 1.0, 0.0, 0.0,
        ]);
        let found = motions(&side);
        let [Motion::Swings(dutch), Motion::Straight(roll), Motion::Straight(spiral)] = found[..] else {
            panic!("{found:?}")
        };
        assert!((dutch.re + 0.033_011_4).abs() < 1e-4 && (dutch.im - 0.946_546).abs() < 1e-4);
        assert!((roll + 0.562_480).abs() < 1e-4 && (spiral + 0.007_297_33).abs() < 1e-4);
    }

    #[test]
    fn the_phugoid_of_a_clean_model_is_lanchesters() {
        // Lanchester: period sqrt(2) π V/g (6.80 s at 15 m/s), for little damping and a stiff nose; a light model's own
        // bobbing (its weight over the air it moves) makes a few per cent.
        let mut aero = crate::example::aerodynamics();
        aero.derivatives.Cma = -20.0;
        let flying = Flying { aerodynamics: aero, mass_kg: 2.0, density_kg_m3: 1.225 };
        let steady = flying.at(15.0, 1.0);
        let at = Undisturbed {
            speed_m_s: 15.0,
            cl: steady.cl,
            cd: steady.cd,
            alpha_rad: steady.alpha_rad,
            pitch_rad: steady.alpha_rad,
            thrust_slope_n_s_m: 0.0,
            thrust_arm_m: 0.0,
        };
        let all = modes(&flying, &crate::example::inertia_kg_m2(), &at);
        let phugoid = all.iter().find(|m| m.name == "phugoid").unwrap();
        let (w, z) = (phugoid.frequency_rad_s.unwrap(), phugoid.damping.unwrap());
        let period = std::f64::consts::TAU / (w * (1.0 - z * z).sqrt());
        near(period, 2.0_f64.sqrt() * std::f64::consts::PI * 15.0 / G_M_S2, 0.05);
        // ζ = 1/(sqrt2 L/D), to the same roughness.
        near(z, steady.cd / steady.cl / 2.0_f64.sqrt(), 0.15);
    }

    #[test]
    fn rotating_the_axes_does_not_change_the_motion() {
        // The same aircraft described from a reference line 0.08 rad nose-down of the old one: angle of attack grows
        // by it, and body-axis inertia and rate derivatives turn. Longitudinal derivatives do not depend on the axes.
        let flying =
            Flying { aerodynamics: crate::example::aerodynamics(), mass_kg: 2.0, density_kg_m3: 1.225 };
        let steady = flying.at(14.0, 1.0);
        let straight = Undisturbed {
            speed_m_s: 14.0,
            cl: steady.cl,
            cd: steady.cd,
            alpha_rad: 0.0,
            pitch_rad: 0.0,
            thrust_slope_n_s_m: 0.0,
            thrust_arm_m: 0.0,
        };
        let turned = Undisturbed { alpha_rad: 0.08, pitch_rad: 0.08, ..straight };
        let inertia = crate::example::inertia_kg_m2();
        let (a, b) = (
            motions(&longitudinal(&flying, &inertia, &straight)),
            motions(&longitudinal(&flying, &inertia, &turned)),
        );
        for (a, b) in a.iter().zip(&b) {
            let (Motion::Swings(a), Motion::Swings(b)) = (a, b) else { panic!() };
            assert!((a - b).norm() < 1e-9 * a.norm(), "{a} {b}");
        }
    }

    #[test]
    fn roots_that_split_or_merge_keep_their_names() {
        let pair = |re: f64, im: f64| Motion::Swings(Complex::new(re, im));
        let names = |modes: Vec<Mode>| modes.iter().map(|m| m.name).collect::<Vec<_>>();
        let real = Motion::Straight;
        assert_eq!(
            names(name_longitudinal(&[pair(-5.0, 3.0), pair(-0.1, 0.6)])),
            ["short period", "phugoid"]
        );
        // Too far aft: one root runs away while a slow swing is left ("third mode": Etkin & Reid, section 6.5).
        let aft = name_longitudinal(&[real(-9.0), real(1.2), pair(-0.3, 0.6)]);
        assert_eq!(names(aft.clone()), ["short period", "short period, slow part", "phugoid"]);
        assert!(aft[1].sentence.contains("runs away") && aft[1].time_constant_s < 0.0);
        let split = name_longitudinal(&[pair(-5.0, 3.0), real(-0.4), real(-0.05)]);
        assert_eq!(names(split), ["short period", "phugoid", "phugoid, slow part"]);
        let joined = name_lateral(&[pair(-1.0, 5.0), pair(-0.8, 0.7)]);
        assert_eq!(names(joined.clone()), ["roll", "Dutch roll", "spiral"]);
        assert!(joined[0].sentence.contains("merged") && joined[2].sentence.contains("merged"));
        let straight = name_lateral(&[real(-20.0), real(-5.0), real(-2.0), real(0.1)]);
        assert_eq!(names(straight), ["roll", "Dutch roll", "Dutch roll, slow part", "spiral"]);
        let still = told("spiral", Motion::Straight(-1e-14));
        assert!(still.time_constant_s == f64::INFINITY && still.sentence.contains("stays"));
    }

    #[test]
    fn coefficients_that_are_none_are_told_and_do_not_hang() {
        let (mut flying, inertia, at) = navion();
        flying.aerodynamics.derivatives.Cma = f64::NAN;
        flying.aerodynamics.derivatives.Cnb = f64::NAN;
        let all = modes(&flying, &inertia, &at);
        assert_eq!(all.iter().map(|m| m.name).collect::<Vec<_>>(), KINDS);
        assert!(all.iter().all(|m| m.sentence.contains("not predicted")));
    }

    #[test]
    fn sentences_tell_the_direction() {
        assert!(told("spiral", Motion::Straight(0.05)).sentence.contains("steepens"));
        assert!(told("short period", Motion::Straight(0.5)).sentence.contains("forward"));
        assert!(told("roll", Motion::Straight(-10.0)).sentence.contains("0.30 s"));
    }
}
