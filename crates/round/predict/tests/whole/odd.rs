//! Aircraft that should not fly, and odd ones: what can be predicted is, nothing is not a number, and what stands
//! against a flight comes first.

use aircraft::{Aircraft, Known, Origin};
use predict::prediction::Prediction;
use predict::{Conditions, predict};

use crate::wheatear::{predicted, wheatear};

fn balanced_at(x: f64) -> Aircraft {
    let mut a = wheatear();
    a.weighed.as_mut().unwrap().balance_x_m = Some(Known { value: x, sd: 0.002, from: Origin::Measured });
    a
}

fn heavy(kg: f64) -> Aircraft {
    let mut a = wheatear();
    a.weighed.as_mut().unwrap().total_kg = Some(Known { value: kg, sd: 0.01, from: Origin::Measured });
    a.limits.cruise_m_s = None;
    a
}

#[track_caller]
fn no_nan(p: &Prediction) {
    // Every number of the prediction is in its debug text.
    let all = format!("{p:?}");
    if let Some(at) = all.find("NaN") {
        panic!("…{}", &all[at.saturating_sub(300)..at + 3]);
    }
}

#[test]
fn the_demo_aircraft_may_fly() {
    let p = predicted(&wheatear());
    assert!(p.against.is_empty(), "{:?}", p.against);
    no_nan(&p);
}

#[test]
fn a_balance_point_behind_the_neutral_point_is_the_first_thing_told() {
    let np = predicted(&wheatear()).stability.neutral_point_x_m.value;
    let p = predicted(&balanced_at(np + 0.02));
    // The neutral point found moves by less than 3 mm with the balance point (the wash of another trim).
    let told: f64 = p.against[0].split(' ').find_map(|word| word.parse().ok()).unwrap();
    assert!(
        p.against[0].contains("behind the neutral point") && (told - 20.0).abs() <= 3.0,
        "{:?}",
        p.against
    );
    no_nan(&p);
    assert!(p.speeds.stall_m_s.value > 3.0, "what can be predicted is");
}

#[test]
fn thrust_below_drag_and_stall_above_what_it_may_fly() {
    let mut weak = heavy(6.0);
    weak.drive.as_mut().unwrap().propeller.diameter_m = 0.08;
    let p = predicted(&weak);
    assert!(p.against.iter().any(|a| a.contains("Thrust is below drag")), "{:?}", p.against);
    no_nan(&p);
    let mut slow = wheatear();
    slow.limits.never_exceed_m_s = Some(5.0);
    slow.limits.cruise_m_s = None;
    let p = predicted(&slow);
    assert!(p.against.iter().any(|a| a.contains("never-exceed")), "{:?}", p.against);
    let mut slow = wheatear();
    slow.limits.cruise_m_s = Some(6.0);
    let p = predicted(&slow);
    assert!(p.against.iter().any(|a| a.contains("not above the stall")), "{:?}", p.against);
    no_nan(&p);
}

#[test]
fn surfaces_that_cross_are_predicted_without_a_number_that_is_none() {
    // The tail through the wing, as a slip of the place makes it; and the same place twice.
    for shift_m in [0.0, 0.05] {
        let mut a = wheatear();
        let wing = a.surfaces[0].stations[0].leading_edge_m;
        let tail = a.surfaces[1].stations[0].leading_edge_m;
        for station in &mut a.surfaces[1].stations {
            station.leading_edge_m += wing - tail + numerics::Vec3::new(shift_m, 0.0, -0.02);
        }
        match predict(&a, &Conditions::default()) {
            Ok(p) => {
                no_nan(&p);
                assert!(!p.against.is_empty(), "a tail in the wing steadies nothing: {:?}", p.stability);
            }
            Err(why) => println!("{why:?}"),
        }
    }
}

#[test]
fn odd_aircraft_give_no_number_that_is_none() {
    let mut odd: Vec<(&str, Aircraft)> = vec![
        ("no movables", {
            let mut a = wheatear();
            a.movables.clear();
            a
        }),
        ("no throws", {
            let mut a = wheatear();
            for m in &mut a.movables {
                (m.throw_up_rad, m.throw_down_rad) = (0.0, 0.0);
            }
            a
        }),
        ("no tail", {
            let mut a = wheatear();
            a.surfaces.truncate(1);
            a.movables.truncate(1);
            a
        }),
        ("no drive, no body", {
            let mut a = wheatear();
            a.drive = None;
            a.fuselages.clear();
            a
        }),
        ("servos without travel", {
            let mut a = wheatear();
            for m in &mut a.movables {
                m.servo.travel_us = 0.0;
                m.servo.travel_rad = 0.0;
                m.servo.speed_rad_s = 0.0;
                m.servo_left = None;
                m.linkage = aircraft::movable::Linkage::default();
            }
            a
        }),
        ("a pack of one cell", {
            let mut a = wheatear();
            a.drive.as_mut().unwrap().pack.cells = 1;
            a
        }),
    ];
    for kg in [0.05, 0.3, 5.0, 20.0] {
        odd.push(("mass", heavy(kg)));
    }
    for x in [-0.5, 0.0, 0.2, 0.45, 0.6, 1.2] {
        odd.push(("balance", balanced_at(x)));
    }
    let mut told = 0;
    for (name, a) in odd {
        match predict(&a, &Conditions::default()) {
            Ok(p) => {
                println!("{name} {:?}", p.against);
                no_nan(&p);
                told += usize::from(!p.against.is_empty());
            }
            Err(why) => println!("{name}: {why:?}"),
        }
    }
    assert!(told >= 6, "most of these should not fly: {told}");
}
