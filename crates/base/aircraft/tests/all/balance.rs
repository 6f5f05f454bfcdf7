//! Mass, balance and inertia against closed forms, handbook examples and published values.

use aircraft::Known;
use aircraft::balance::{
    Bifilar, NoBalance, Remedy, ScaleReading, balance, balance_from_two_scales, ballast_kg,
    inertia_from_bifilar, shift_by_move, to_reach,
};
use aircraft::fuselage::{BodyStation, Fuselage};
use aircraft::inertia::{is_possible, own_inertia_kg_m2, principal_moments_kg_m2};
use aircraft::known::Origin;
use aircraft::mass::{Item, Shape, Weighed};
use aircraft::surface::Role;
use numerics::uncertain::Uncertain;
use numerics::units::{KG_PER_LB, KG_PER_SLUG, M_PER_FT, M_PER_IN};
use numerics::{Mat3, Rotation, Vec3};
use proptest::prelude::*;

use crate::sample::{aircraft, close, panel};

fn item(name: &str, mass_kg: f64, at: [f64; 3], shape: Shape, size: [f64; 3]) -> Item {
    Item {
        name: name.to_owned(),
        mass_kg: Known::stated(mass_kg, 0.001),
        at_m: Vec3::from(at),
        size_m: Vec3::from(size),
        shape,
        mirrored: false,
        movable_x_m: None,
    }
}

fn point(name: &str, mass_kg: f64, at: [f64; 3]) -> Item {
    item(name, mass_kg, at, Shape::Point, [0.0; 3])
}

fn with(masses: Vec<Item>) -> aircraft::Aircraft {
    let mut plane =
        aircraft(vec![panel(Role::Wing, true, [0.2, 0.0, 0.0], 0.7, 0.0, [0.2, 0.2], 0.0)], vec![]);
    plane.masses = masses;
    plane
}

fn nothing_weighed() -> Weighed {
    Weighed { total_kg: None, balance_x_m: None, balance_z_m: None, inertia_kg_m2: [None; 3] }
}

/// Weight-shift examples of FAA-H-8083-25 (Pilot's Handbook of Aeronautical Knowledge), weight and balance; units of
/// pounds and inches, whose ratio the formulas do not know.
#[test]
fn moved_weights_and_ballast_give_the_handbooks_digits() {
    // 8000 lb, moment 616 000: balance 77.0; 100 lb from station 30 to 150: 78.5.
    close("moved aft", 616_000.0 / 8000.0 + shift_by_move(8000.0, 100.0, 120.0), 78.5, 1e-12);
    // 7800 lb at 81.5, limit 80.5, over 120 inches: 65 lb to move.
    close("moved forward", shift_by_move(7800.0, 65.0, -120.0), -1.0, 1e-12);
    // 2700 lb; 180 lb from 110 to 142: +2.133 in.
    close("a passenger", shift_by_move(2700.0, 180.0, 32.0), 2.133, 0.01);
    // FAA-H-8083-1: 1876 lb at 32.2, wanted 33.0, ballast at 228: 7.70 lb (7.66 were the present balance used).
    close("ballast", ballast_kg(1876.0, 32.2, 33.0, 228.0).expect("aft of the target"), 7.70, 0.01);
    assert_eq!(ballast_kg(1876.0, 32.2, 33.0, 10.0), None, "ballast ahead cannot move it aft");
    assert_eq!(ballast_kg(1876.0, 32.2, 33.0, 33.0), None, "ballast at the target moves nothing past it");
}

/// A published load sheet of a light helicopter: pounds and inches taken as kg and m.
#[test]
fn many_stations_add_up() {
    let plane = with(vec![
        item("empty", 1109.0, [116_112.0 / 1109.0, 0.0, 0.0], Shape::Box, [1.0; 3]),
        item("left seat", 180.0, [72.4, 0.0, 0.0], Shape::Box, [1.0; 3]),
        item("right seat", 160.0, [72.4, 0.0, 0.0], Shape::Box, [1.0; 3]),
        item("fuel", 150.0, [115.8, 0.0, 0.0], Shape::Box, [1.0; 3]),
    ]);
    let got = balance(&plane).expect("balances");
    close("total", got.total_kg.value, 1599.0, 1e-9);
    close("moment", got.total_kg.value * got.cg_m.x, 158_098.0, 0.5);
    close("balance", got.cg_m.x, 98.87, 0.01);
}

/// Five point masses, x aft and z down, recomputed independently. In body axes (x forward) the sum of m x z changes
/// its sign, and the off-diagonal is its negative.
#[test]
fn point_masses_give_the_composite_tensor() {
    let rows = [
        (0.30, -0.10, 0.02),
        (0.50, 0.05, -0.01),
        (0.20, 0.30, 0.0),
        (0.15, 0.75, -0.08),
        (0.35, -0.02, 0.03),
    ];
    let items = rows.iter().map(|(m, x, down)| point("p", *m, [*x, 0.0, -down])).collect();
    let got = balance(&with(items)).expect("balances");
    close("x", got.cg_m.x, 0.1070, 1e-7);
    close("z", got.cg_m.z, 0.000_333_3, 1e-7);
    close("Ixx", got.inertia_kg_m2[(0, 0)], 0.001_444_83, 1e-7);
    close("Iyy", got.inertia_kg_m2[(1, 1)], 0.091_036_33, 1e-7);
    close("Izz", got.inertia_kg_m2[(2, 2)], 0.089_591_5, 1e-7);
    close("-Ixz, x forward, z down", got.inertia_kg_m2[(0, 2)], -0.010_006_5, 1e-7);
}

#[test]
fn bodies_have_their_closed_form_inertia() {
    // m/12 (b² + c²).
    let box_ = own_inertia_kg_m2(Shape::Box, 2.0, Vec3::new(0.6, 0.3, 0.1));
    close("box, x", box_.x, 2.0 / 12.0 * (0.09 + 0.01), 1e-12);
    close("box, y", box_.y, 0.061_666_7, 1e-7);
    close("box, z", box_.z, 0.075, 1e-12);
    // m r²/2 about the axis, m (3 r² + h²)/12 across.
    let tube = own_inertia_kg_m2(Shape::Cylinder, 1.5, Vec3::new(0.4, 0.1, 0.1));
    close("cylinder, axis", tube.x, 1.5 * 0.05_f64.powi(2) / 2.0, 1e-12);
    close("cylinder, across", tube.y, 1.5 * (3.0 * 0.05_f64.powi(2) + 0.16) / 12.0, 1e-12);
    close("cylinder, across", tube.z, tube.y, 1e-15);
    // m l²/12, along the longest side.
    let rod = own_inertia_kg_m2(Shape::Rod, 0.3, Vec3::new(0.01, 0.8, 0.0));
    assert_eq!(rod.y, 0.0);
    close("rod", rod.x, 0.3 * 0.64 / 12.0, 1e-12);
    close("rod", rod.z, 0.3 * 0.64 / 12.0, 1e-12);
    assert_eq!(own_inertia_kg_m2(Shape::Point, 1.0, Vec3::new(1.0, 1.0, 1.0)), Vec3::zeros());
}

/// Brick of 8 x 4 x 2.25 inches and 5 lb: NASA/TM-2015-218675, check cases for flight simulations; relative 1e-5,
/// which is how the published digits agree with the closed form.
#[test]
fn a_brick_has_the_published_inertia() {
    let size = Vec3::new(8.0, 4.0, 2.25) * M_PER_IN;
    let brick = own_inertia_kg_m2(Shape::Box, 5.0 * KG_PER_LB, size) / (KG_PER_SLUG * M_PER_FT * M_PER_FT);
    for (got, published) in brick.iter().zip([0.001_894_22, 0.006_211_019, 0.007_194_665]) {
        close("brick", got / published, 1.0, 1e-5);
    }
}

/// 522 g at a hook, 1952 g at a line 1.045 m away: 0.2205 m from the line, 2474 g in all (measured fixed-wing model,
/// published mass properties of a university laboratory, 2021); weighed as a whole it has 2470 g.
#[test]
fn two_scales_give_total_and_balance() {
    let reading =
        |at_x_m, grams: f64| ScaleReading { at_x_m, mass_kg: Uncertain::new(grams / 1000.0, 0.002) };
    let got = balance_from_two_scales(&reading(0.0, 1952.0), &reading(1.045, 522.0)).expect("two supports");
    close("total", got.total_kg.value, 2.474, 1e-12);
    close("from the line", got.balance_x_m.value, 0.2205, 0.0005);
    // dx/dm = (x_i - x) / M for each scale, independent.
    let x = got.balance_x_m.value;
    let sd = 0.002 * x.hypot(1.045 - x) / 2.474;
    close("doubt", got.balance_x_m.sd, sd, 1e-8);
    assert_eq!(balance_from_two_scales(&reading(0.3, 1.0), &reading(0.3, 2.0)), None);
    assert_eq!(balance_from_two_scales(&reading(0.0, 0.0), &reading(0.3, 0.0)), None);

    let mut plane = with(vec![
        item("line", 1.952, [0.0; 3], Shape::Box, [0.1, 1.0, 0.1]),
        item("hook", 0.522, [1.045, 0.0, 0.0], Shape::Box, [0.1, 0.2, 0.1]),
    ]);
    plane.weighed = Some(Weighed {
        total_kg: Some(Known { value: 2.470, sd: 0.002, from: Origin::Measured }),
        ..nothing_weighed()
    });
    let got = balance(&plane).expect("balances");
    close("measured beats computed", got.total_kg.value, 2.470, 0.0);
    assert!(got.remarks.iter().any(|r| r.contains("4 g more") && r.contains("2474 g")), "{:?}", got.remarks);
}

/// I = m g D² T² / (16 π² h); the whole spacing, not half of it.
#[test]
fn a_swing_on_two_strings_gives_the_moment_of_inertia() {
    let swing = |mass_kg, spacing_m, length_m, period_s| Bifilar {
        mass_kg,
        spacing_m,
        length_m,
        period_s: Uncertain::new(period_s, 0.01),
        cradle_kg_m2: 0.0,
    };
    // Measured model of the data above, with its cradle: 0.160 within 1 %.
    let measured = inertia_from_bifilar(&swing(3.512, 0.49, 1.145, 1.870)).expect("swings");
    close("model and cradle", measured.value, 0.160, 0.0016);
    let derived = inertia_from_bifilar(&swing(1.2, 0.5, 1.0, 1.5)).expect("swings");
    close("derived", derived.value, 0.041_918_4, 1e-6);
    // I grows with T²: dI/I = 2 dT/T.
    close("doubt", derived.sd, derived.value * 2.0 * 0.01 / 1.5, 1e-9);
    let cradle = Bifilar { cradle_kg_m2: 0.01, ..swing(1.2, 0.5, 1.0, 1.5) };
    close("less the cradle", inertia_from_bifilar(&cradle).expect("swings").value, 0.031_918_4, 1e-6);
    let heavy = Bifilar { cradle_kg_m2: 0.05, ..cradle };
    assert_eq!(inertia_from_bifilar(&heavy), None);
}

/// Published moments of a small fixed-wing model that no body can have: 1.229 > 0.1702 + 0.8808.
#[test]
fn a_tensor_that_no_body_has_is_refused() {
    assert!(!is_possible(&Mat3::from_diagonal(&Vec3::new(1.229, 0.1702, 0.8808))));
    let mut plane = with(vec![item("all", 10.0, [0.3, 0.0, 0.0], Shape::Box, [1.0, 2.0, 0.2])]);
    let measured = |value| Some(Known { value, sd: 0.01, from: Origin::Measured });
    plane.weighed = Some(Weighed {
        inertia_kg_m2: [measured(1.229), measured(0.1702), measured(0.8808)],
        ..nothing_weighed()
    });
    assert_eq!(balance(&plane), Err(NoBalance::ImpossibleInertia { moments_kg_m2: [1.229, 0.1702, 0.8808] }));
}

#[test]
fn a_measured_balance_point_shifts_the_items_and_says_so() {
    let mut plane = with(vec![
        item("wing", 0.6, [0.3, 0.0, 0.02], Shape::Box, [0.2, 1.4, 0.02]),
        item("body", 0.4, [0.4, 0.0, 0.0], Shape::Box, [0.8, 0.1, 0.1]),
    ]);
    let by_items = balance(&plane).expect("balances");
    close("by items", by_items.cg_m.x, 0.34, 1e-12);
    assert_eq!(by_items.cg_x_m.from, Origin::Predicted);
    plane.weighed = Some(Weighed {
        balance_x_m: Some(Known { value: 0.332, sd: 0.001, from: Origin::Measured }),
        ..nothing_weighed()
    });
    let got = balance(&plane).expect("balances");
    close("measured", got.cg_m.x, 0.332, 0.0);
    close("its doubt", got.cg_x_m.sd, 0.001, 0.0);
    assert_eq!(got.cg_x_m.from, Origin::Measured);
    assert_eq!(got.items_cg_x_m, Some(by_items.cg_m.x));
    assert!((got.inertia_kg_m2 - by_items.inertia_kg_m2).norm() < 1e-12, "a common shift turns nothing");
    assert!(got.remarks.iter().any(|r| r.contains("8.0 mm behind")), "{:?}", got.remarks);
}

#[test]
fn a_pair_stands_on_both_sides() {
    let mut pair = point("tips", 0.2, [0.3, 0.5, 0.0]);
    pair.mirrored = true;
    let got = balance(&with(vec![pair, item("body", 0.4, [0.3, 0.0, 0.0], Shape::Box, [0.8, 0.1, 0.1])]))
        .expect("ok");
    close("side", got.cg_m.y, 0.0, 1e-15);
    // 0.2 kg at 0.5 m, and the box: 0.4/12 (0.01 + 0.01).
    close("roll", got.inertia_kg_m2[(0, 0)], 0.2 * 0.25 + 0.4 / 12.0 * 0.02, 1e-12);
}

#[test]
fn without_items_similar_aircraft_stand_in_and_the_doubt_is_told() {
    let mut plane = with(vec![]);
    assert_eq!(balance(&plane), Err(NoBalance::NoMass));
    let measured = |value, sd| Some(Known { value, sd, from: Origin::Measured });
    plane.weighed = Some(Weighed { total_kg: measured(1.2, 0.005), ..nothing_weighed() });
    assert_eq!(balance(&plane), Err(NoBalance::NoBalancePoint));
    plane.weighed = Some(Weighed {
        total_kg: measured(1.2, 0.005),
        balance_x_m: measured(0.25, 0.002),
        ..nothing_weighed()
    });
    plane.fuselages = vec![body(0.0, 1.0)];
    let got = balance(&plane).expect("balances");
    // Raymer's radii (from memory): roll 0.25 of the half span 0.7, pitch 0.38 of the half length 0.5.
    close("roll", got.inertia_kg_m2[(0, 0)], 1.2 * (0.25_f64 * 0.7).powi(2), 1e-12);
    close("pitch", got.inertia_kg_m2[(1, 1)], 1.2 * (0.38_f64 * 0.5).powi(2), 1e-12);
    assert!(is_possible(&got.inertia_kg_m2));
    assert!(got.remarks.iter().any(|r| r.contains("25 %")), "{:?}", got.remarks);
}

#[test]
fn items_on_one_line_are_refused() {
    let plane = with(vec![point("a", 0.5, [0.1, 0.0, 0.0]), point("b", 0.5, [0.9, 0.0, 0.0])]);
    assert_eq!(balance(&plane), Err(NoBalance::NoInertia));
}

fn body(nose: f64, tail: f64) -> Fuselage {
    let station = |x| BodyStation { centre_m: Vec3::new(x, 0.0, 0.0), width_m: 0.05, height_m: 0.05 };
    Fuselage { name: "fuselage".to_owned(), mirrored: false, stations: vec![station(nose), station(tail)] }
}

fn movable_plane() -> aircraft::Aircraft {
    let mut pack = item("pack", 0.2, [0.15, 0.0, 0.0], Shape::Box, [0.1, 0.03, 0.03]);
    pack.movable_x_m = Some([0.10, 0.22]);
    let mut plane = with(vec![item("rest", 0.8, [0.35, 0.0, 0.0], Shape::Box, [0.9, 1.2, 0.1]), pack]);
    plane.fuselages = vec![body(0.0, 1.0)];
    plane
}

/// Balance 0.310. Ten millimetres aft: the pack, a fifth of the mass, moves fifty; or W Δ/(x_b - target) at the tail.
#[test]
fn a_target_is_reached_by_moving_an_item_or_by_ballast() {
    let plane = movable_plane();
    let remedies = to_reach(&plane, 0.320);
    let [Remedy::Move { item, to_x_m, balance_x_m, reaches, .. }, Remedy::Ballast { place, at_x_m, mass_kg }] =
        remedies.as_slice()
    else {
        panic!("{remedies:?}");
    };
    assert!(item == "pack" && *reaches);
    close("pack to", *to_x_m, 0.20, 1e-12);
    close("balance then", *balance_x_m, 0.320, 1e-12);
    assert_eq!(*place, "tail");
    close("at", *at_x_m, 1.0, 0.0);
    close("ballast", *mass_kg, 1.0 * 0.010 / (1.0 - 0.320), 1e-12);
}

#[test]
fn an_item_that_cannot_go_far_enough_says_how_far_it_gets() {
    let remedies = to_reach(&movable_plane(), 0.292);
    let [Remedy::Move { to_x_m, balance_x_m, reaches, .. }, Remedy::Ballast { place, mass_kg, .. }] =
        remedies.as_slice()
    else {
        panic!("{remedies:?}");
    };
    assert!(!reaches);
    close("end of its range", *to_x_m, 0.10, 1e-12);
    close("balance then", *balance_x_m, 0.300, 1e-12);
    assert_eq!(*place, "nose");
    close("ballast", *mass_kg, 0.018 / 0.292, 1e-12);
    assert!(to_reach(&movable_plane(), 0.310).is_empty(), "it is there already");
}

proptest! {
    /// Ballast of the computed mass at the computed place, weighed with the rest, balances at the target.
    #[test]
    fn ballast_added_to_the_items_reaches_the_target(target in 0.05..0.9_f64) {
        let mut plane = movable_plane();
        let ballast = to_reach(&plane, target).into_iter().find_map(|r| match r {
            Remedy::Ballast { at_x_m, mass_kg, .. } => Some((at_x_m, mass_kg)),
            Remedy::Move { .. } => None,
        });
        if let Some((at_x_m, mass_kg)) = ballast {
            plane.masses.push(point("ballast", mass_kg, [at_x_m, 0.0, 0.0]));
            prop_assert!((balance(&plane).expect("balances").cg_m.x - target).abs() < 1e-9);
        } else {
            prop_assert!((target - 0.310).abs() < 1.1e-4);
        }
    }

    /// A rigid rotation turns the principal axes and leaves the principal moments.
    #[test]
    fn principal_moments_do_not_turn_with_the_aircraft(
        places in prop::collection::vec((0.05..1.0_f64, prop::array::uniform3(-1.0..1.0_f64)), 4..9),
        angles in prop::array::uniform3(-3.0..3.0_f64),
    ) {
        let turn = Rotation::from_euler_angles(angles[0], angles[1], angles[2]);
        let items = |turned: bool| places.iter().map(|(m, at)| {
            let at = Vec3::from(*at);
            point("p", *m, (if turned { turn * at } else { at }).into())
        }).collect::<Vec<_>>();
        let (before, after) = (balance(&with(items(false))), balance(&with(items(true))));
        if let (Ok(before), Ok(after)) = (before, after) {
            let (a, b) = (principal_moments_kg_m2(&before.inertia_kg_m2), principal_moments_kg_m2(&after.inertia_kg_m2));
            for (a, b) in a.iter().zip(b) {
                prop_assert!((a - b).abs() < 1e-9, "{} {}", a, b);
            }
            prop_assert!((before.inertia_kg_m2.trace() - after.inertia_kg_m2.trace()).abs() < 1e-9);
        }
    }

    /// Any set of masses is a body: the triangle inequality holds, and moving one item by d moves the whole by w d / W.
    #[test]
    fn any_set_of_items_is_a_possible_body(
        places in prop::collection::vec((0.01..2.0_f64, prop::array::uniform3(-1.0..1.0_f64)), 3..9), by in -1.0..1.0_f64,
    ) {
        let items: Vec<Item> = places.iter()
            .map(|(m, at)| item("p", *m, *at, Shape::Box, [0.1, 0.2, 0.3])).collect();
        let before = balance(&with(items.clone())).expect("bodies with size");
        prop_assert!(is_possible(&before.inertia_kg_m2));
        let mut moved = items;
        let weight = moved[0].mass_kg.value;
        moved[0].at_m.x += by;
        let after = balance(&with(moved)).expect("bodies with size");
        let expected = shift_by_move(before.total_kg.value, weight, by);
        prop_assert!((after.cg_m.x - before.cg_m.x - expected).abs() < 1e-12);
    }
}
