//! The demo aircraft (invented) with its computed sections: what the coupled lattice says is what the prediction says.

use aircraft::{Aircraft, Known, Origin};
use predict::coupled::{Tables, needed};
use predict::prediction::Prediction;
use predict::section_table::SectionTable;
use predict::{Conditions, Prepared, predict_prepared, predict_with};

use crate::wheatear::{near, wheatear};

/// The tables that come with the program. Of which section method they are does not matter here.
const TABLES: [(&str, &str); 3] = [
    ("naca 3410", include_str!("../../../../shell/eyas/sections/naca-3410-76.txt")),
    ("naca 3409", include_str!("../../../../shell/eyas/sections/naca-3409-76.txt")),
    ("naca 0008", include_str!("../../../../shell/eyas/sections/naca-0008-62.txt")),
];

fn tables() -> Tables {
    let mut tables = Tables::new();
    for (name, text) in TABLES {
        tables.insert(name, SectionTable::from_text(text).unwrap());
    }
    tables
}

fn coupled(a: &Aircraft) -> Prediction {
    predict_with(a, &Conditions::default(), &tables()).unwrap()
}

#[test]
fn every_section_and_hinge_of_the_demo_aircraft_is_asked_for_once() {
    let needed = needed(&wheatear());
    let found: Vec<(String, Option<f64>)> =
        needed.iter().map(|n| (n.section.name.clone(), n.hinge)).collect();
    // Ailerons at 76 % on 3410 and 3409, ruddervators at 62 % on 0008 (file).
    assert_eq!(found.len(), 3, "{found:?}");
    for (name, hinge) in [("naca 3410", 0.76), ("naca 3409", 0.76), ("naca 0008", 0.62)] {
        assert!(found.contains(&(name.to_owned(), Some(hinge))), "{found:?}");
    }
}

#[test]
fn stall_drag_and_trim_are_those_of_the_coupled_lattice() {
    let p = coupled(&wheatear());
    let s = p.stalling.as_ref().unwrap();
    near(p.lift.cl_max.value, s.clean.cl_max.value, 1e-12);
    near(p.speeds.stall_m_s.value, s.clean.stall_m_s.value, 1e-9);
    near(s.clean.stall_m_s.sd, p.speeds.stall_m_s.sd, 0.02);
    assert!(s.clean.first.is_some() && s.clean.aileron_share.is_some() && s.flaps.is_err());
    // Beyond the greatest lift the curve falls, and the load reaches what the sections can carry where it stalls first.
    let most = s.clean.rows.iter().map(|r| r.cl).fold(0.0, f64::max);
    assert!(s.clean.rows.last().unwrap().cl < most - 0.005, "no stall in the curve");
    let fullest = s
        .loading
        .iter()
        .filter_map(|l| Some((l.cl / l.cl_limit?, l.half_span_share)))
        .fold((0.0, 0.0), |best, here| if here.0 > best.0 { here } else { best });
    assert!((0.9..1.1).contains(&fullest.0), "{fullest:?}");
    // Performance rests on a parabola through trimmed level flight: from 1.2 times the stall on within 8 % of each of its
    // states (what a bump of a section's drag does to a parabola).
    let d = p.model.aerodynamics;
    for r in s.level.iter().filter(|r| r.speed_m_s > 1.2 * p.speeds.stall_m_s.value) {
        let cd = d.cd0 + d.induced * (r.cl - d.cl_least_drag).powi(2) + d.derivatives.CDde * r.elevator_rad;
        assert!((cd / r.cd - 1.0).abs() < 0.08, "{cd} {} at {} m/s", r.cd, r.speed_m_s);
        // Level flight: lift is weight.
        near(
            0.5 * p.density_kg_m3 * r.speed_m_s.powi(2) * d.area_m2 * r.cl,
            p.model.mass_kg * 9.806_65,
            1e-4,
        );
    }
    // Some worth is lost to the boundary layer, more than a third of it is not left to the sections' doubt.
    for (name, share) in &s.effectiveness {
        let share = share.unwrap();
        assert!((0.45..1.05).contains(&share), "{name} {share}");
    }
    assert!(!format!("{p:?}").contains("NaN"));
}

#[test]
fn a_prepared_shape_answers_other_masses_and_throws_as_a_new_one_does() {
    let tables = tables();
    let prepared = Prepared::new(&wheatear(), &tables).unwrap();
    let mut heavy = wheatear();
    heavy.weighed.as_mut().unwrap().total_kg = Some(Known { value: 1.6, sd: 0.003, from: Origin::Measured });
    let mut more = wheatear();
    for m in &mut more.movables {
        m.throw_up_rad *= 1.3;
    }
    let mut nose_heavy = wheatear();
    nose_heavy.weighed.as_mut().unwrap().balance_x_m =
        Some(Known { value: 0.312, sd: 0.002, from: Origin::Measured });
    // Nothing weighed: the items alone, the pack moved.
    let mut pack_moved = wheatear();
    pack_moved.weighed = None;
    pack_moved.masses.iter_mut().find(|m| m.movable_x_m.is_some()).unwrap().at_m.x += 0.03;
    let mut other_drive = wheatear();
    other_drive.drive.as_mut().unwrap().propeller.diameter_m *= 0.9;
    other_drive.drive.as_mut().unwrap().pack.cells += 1;
    let mut down_only = wheatear();
    down_only.movables[0].throw_down_rad *= 0.7;
    let cases = [
        ("as it is", wheatear(), Conditions::default()),
        ("heavier", heavy, Conditions::default()),
        ("more throw", more, Conditions::default()),
        ("less throw down", down_only, Conditions::default()),
        ("balanced further forward", nose_heavy, Conditions::default()),
        ("the pack moved", pack_moved, Conditions::default()),
        ("another drive", other_drive, Conditions::default()),
        ("at 1500 m", wheatear(), Conditions { height_m: 1500.0, ..Conditions::default() }),
    ];
    for (case, a, conditions) in cases {
        assert!(prepared.fits(&a), "{case}");
        let warm = predict_prepared(&prepared, &a, &conditions).unwrap();
        let cold = predict_with(&a, &conditions, &tables).unwrap();
        assert!(warm == cold, "{case}: the same numbers, bit by bit");
    }
    let mut other = wheatear();
    other.surfaces[0].stations[0].chord_m *= 1.1;
    assert!(!prepared.fits(&other));
    assert!(predict_prepared(&prepared, &other, &Conditions::default()).is_err());
}

#[test]
fn without_tables_the_prediction_says_so() {
    let p = predict::predict(&wheatear(), &Conditions::default()).unwrap();
    assert!(p.stalling.is_err() && p.remarks.iter().any(|r| r.contains("simple section model")));
}

#[test]
fn a_heavier_aircraft_stalls_faster_at_nearly_the_same_lift() {
    // V goes with the square root of the mass (lift is weight); the greatest lift grows a little with the Reynolds number.
    let mut heavy = wheatear();
    heavy.weighed.as_mut().unwrap().total_kg =
        Some(Known { value: 1.335 * 1.44, sd: 0.003, from: Origin::Measured });
    let (light, heavy) = (coupled(&wheatear()), coupled(&heavy));
    let ratio = heavy.speeds.stall_m_s.value / light.speeds.stall_m_s.value;
    assert!((1.14..1.21).contains(&ratio), "{ratio}");
}
