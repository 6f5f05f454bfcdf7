//! A textbook aircraft, geometry in, derivatives out.
//!
//! The Navion, a low-winged light aircraft. Derivatives: Nelson, Flight Stability and Automatic Control, app. B (from Teper,
//! NASA CR-96008), power of cruise, from flights. Geometry from memory of three-views: wing root 7.2 ft and tip 3.9 ft on
//! 33.4 ft (which give the book's 184 ft² and 5.7 ft mean chord), 7.5 degrees of dihedral, tailplane of 43 ft² on 13.2 ft
//! at 16 ft, balance at 29.5 %; fin and body are remembered less surely. Scatter that a prediction from geometry has, as the
//! trade states it for handbook methods derivative by derivative (Roskam, Airplane Flight Dynamics, table of importance
//! and accuracy, from memory).

use aircraft::Aircraft;
use aircraft::fuselage::BodyStation;
use aircraft::movable::{Mix, Panels};
use aircraft::surface::Role;
use numerics::Vec3;
use predict::air::Air;
use predict::lattice::solve;

use crate::aircraft_model::{four_digits, movable, surface, trainer};

const FT: f64 = 0.3048;

fn navion() -> Aircraft {
    let mut a = trainer(0.0);
    let dihedral = 7.5_f64.to_radians();
    let at = |x: f64, y: f64, z: f64| Vec3::new(x, y, z) * FT;
    let (length, low) = (16.7, -1.2);
    a.surfaces = vec![
        surface(
            "wing",
            Role::Wing,
            true,
            &[
                (0.0, at(0.0, 0.0, low), 7.2 * FT, 0.035),
                (
                    length / dihedral.cos() * FT,
                    at(0.875, length, low + length * dihedral.tan()),
                    3.9 * FT,
                    -0.017,
                ),
            ],
            &four_digits(0.04, 0.13),
        ),
        surface(
            "tailplane",
            Role::Tailplane,
            true,
            &[(0.0, at(17.0, 0.0, 1.2), 3.9 * FT, -0.03), (6.6 * FT, at(17.5, 6.6, 1.2), 2.62 * FT, -0.03)],
            &four_digits(0.0, 0.12),
        ),
        surface(
            "fin",
            Role::Fin,
            false,
            &[(0.0, at(15.9, 0.0, 1.2), 5.0 * FT, 0.0), (4.4 * FT, at(18.3, 0.0, 5.6), 2.6 * FT, 0.0)],
            &four_digits(0.0, 0.12),
        ),
    ];
    a.movables = vec![movable(
        "elevator",
        1,
        Panels::One,
        [0.0, 6.6 * FT],
        0.66,
        Mix { pitch: 1.0, ..Mix::default() },
    )];
    let body = [
        (-7.0, 0.8, 0.8),
        (-5.5, 3.0, 3.2),
        (-1.0, 3.9, 4.0),
        (3.0, 4.0, 5.0),
        (8.0, 3.2, 4.0),
        (20.0, 0.6, 1.2),
    ];
    a.fuselages[0].stations = body
        .iter()
        .map(|(x, width, height)| BodyStation {
            centre_m: at(*x, 0.0, 0.0),
            width_m: width * FT,
            height_m: height * FT,
        })
        .collect();
    a
}

#[test]
fn a_light_aircraft_from_its_three_view() {
    let air = Air { density_kg_m3: 1.225, viscosity_pa_s: 1.789e-5 };
    let cg = Vec3::new(2.076, 0.0, 0.0) * FT;
    let s = solve(&navion(), cg, &air, 176.0 * FT).unwrap();
    let a = s.aerodynamics;
    assert!(
        (a.area_m2 / (184.0 * FT * FT) - 1.0).abs() < 0.01
            && (a.mean_chord_m / (5.7 * FT) - 1.0).abs() < 0.01
    );
    let d = a.derivatives;
    // Name, computed, book, scatter.
    let rows = [
        ("CLa", d.CLa, 4.44, 0.10),
        ("Cma", d.Cma, -0.683, 0.10),
        ("Cmq", d.Cmq, -9.96, 0.20),
        ("Cm_alphadot", d.Cm_alphadot, -4.36, 0.40),
        ("CYb", d.CYb, -0.564, 0.20),
        ("Clb", d.Clb, -0.074, 0.20),
        ("Cnb", d.Cnb, 0.071, 0.15),
        ("Clp", d.Clp, -0.410, 0.15),
        ("Cnp", d.Cnp, -0.0575, 0.90),
        ("Clr", d.Clr, 0.107, 0.40),
        ("Cnr", d.Cnr, -0.125, 0.25),
        ("Cmde", d.Cmde, -0.923, 0.20),
        ("CLde", d.CLde, 0.355, 0.20),
    ];
    for (name, got, book, _) in rows {
        println!("{name}: {got:.4}, book {book}, ratio {:.2}", got / book);
    }
    let missed: Vec<&str> = rows
        .iter()
        .filter(|(_, got, book, scatter)| (got / book - 1.0).abs() > *scatter)
        .map(|(name, ..)| *name)
        .collect();
    assert_eq!(missed, MISSED, "explain what is new, take out what is met");
}

/// Outside the stated scatter, each with the reason.
///
/// - `Cma`, `Cmq`, `Cmde`, `CLde` (1.4, 1.4, 1.9, 1.8 of the book) and `Cnr` (1.8): the tail of the real aircraft works in the wake of body
///   and wing and has gaps; handbooks take 0.8 to 0.9 of the pressure there, which the lattice does not, and what is left
///   agrees with elevator values that flights gave low. Squared arms make `Cnr` and `Cmq` feel the remembered places most.
/// - `Cnb` (1.7): the fin's size is remembered and not known; `CYb`, which the same fin decides, is met.
/// - `Clb` (2.1): strip theory gives -0.13 for 7.5 degrees of dihedral alone (a Γ/4 2/3 (1 + 2λ)/(1 + λ)), twice the book's; the body of
///   a low wing takes some 0.03 off (handbook), which is not modeled.
const MISSED: [&str; 7] = ["Cma", "Cmq", "Clb", "Cnb", "Cnr", "Cmde", "CLde"];
