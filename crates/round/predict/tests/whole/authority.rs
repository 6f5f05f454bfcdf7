//! Throws, what they do, limits and motions of the demo aircraft (invented), against closed forms and common practice.

use aircraft::Aircraft;
use aircraft::control::{Axis, deflection_from_trailing_edge_m};
use predict::prediction::Prediction;
use predict::{Conditions, predict};

use crate::wheatear::{near, predicted, wheatear};

fn answer(p: &Prediction, key: &str) -> f64 {
    *p.authority.answers.iter().find(|a| a.key == key).unwrap().value.as_ref().unwrap()
}

#[test]
fn the_table_of_throws_agrees_with_ruler_and_linkage() {
    let a = wheatear();
    let p = predicted(&a);
    let row = |movable: &str, side: &str, demand: &str| {
        p.authority
            .throws
            .iter()
            .find(|r| r.movable == movable && r.side == side && r.demand == demand)
            .unwrap_or_else(|| panic!("{movable} {side} {demand}"))
    };
    // Right stick: right aileron up 16 degrees, left down 11, as the file says.
    let (right, left) = (row("aileron", "right", "stick right"), row("aileron", "left", "stick right"));
    assert!((right.deflection_rad.to_degrees() + 16.0).abs() < 1e-9 && right.way == "up");
    assert!((left.deflection_rad.to_degrees() - 11.0).abs() < 1e-9 && left.way == "down");
    // Ruler: 2 c sin(δ/2) with the aileron's chord of 24 % of the wing's at its inner end, 500 mm out: the chord there
    // is 205 - 73 * 40/440 = 198.36 mm.
    near(right.edge_m, 2.0 * 0.24 * 0.198_364 * 8.0_f64.to_radians().sin(), 1e-4);
    // Linkage, closed in general: arm 9, horn 16, base 62 mm, square at neutral (docs). The rod keeps its length.
    for r in [right, left] {
        let arm = (r.pulse_us.unwrap() - 1500.0).abs() / 400.0 * 40.0_f64.to_radians();
        let (arm, surface) =
            if r.deflection_rad > 0.0 { (arm, r.deflection_rad) } else { (-arm, r.deflection_rad) };
        let rod =
            (62.0 + 16.0 * surface.sin() - 9.0 * arm.sin()).hypot(16.0 * surface.cos() - 9.0 * arm.cos());
        near(rod, 62.0_f64.hypot(7.0), 1e-9);
    }
    // Stick back takes 60 % of the ruddervators' 15 mm (of the angle), stick and rudder together all of it.
    let back = row("ruddervator", "left", "stick back");
    assert!((back.share - 0.6).abs() < 1e-9 && back.way == "up");
    let full = back.deflection_rad.abs() / 0.6;
    near(
        deflection_from_trailing_edge_m(0.015, back.edge_m / (2.0 * (0.3 * full).sin())).unwrap(),
        full,
        1e-9,
    );
    // Right rudder on a V-tail above the boom: the right ruddervator down, the left up.
    assert_eq!(row("ruddervator", "right", "rudder right").way, "down");
    assert_eq!(row("ruddervator", "left", "rudder right").way, "up");
    assert!(p.authority.mixing.iter().any(|m| m.contains("V-tail mix")));
    assert!(p.authority.mixing.iter().any(|m| m.contains("differential") && m.contains("31 %")));
}

#[test]
fn common_practice_of_a_light_v_tail_is_met() {
    // Common practice, no source: on a V-tail of about 1.5 kg, 15 % of the usual travel at the ailerons (of 45 to 60
    // degrees: 6 to 9) gives a good roll, and 10 mm at the ruddervators ample pitch.
    let p = predicted(&wheatear());
    let of = |axis: Axis, when: &str| {
        p.authority.recommended.iter().find(|r| r.axis == axis && r.when == when).unwrap()
    };
    let roll = of(Axis::Roll, "first flight").edges[0].1.to_degrees();
    println!("{roll} {:?}", of(Axis::Pitch, "first flight"));
    assert!((4.0..10.0).contains(&roll), "{roll}");
    let pitch = of(Axis::Pitch, "first flight").edges[0].2;
    assert!((0.002..0.010).contains(&pitch), "{pitch}: 10 mm is ample, so less suffices");
    assert!(of(Axis::Roll, "later").edges[0].1.to_degrees() > roll);
    // The criterion itself: that throw rolls with p b/2V = 0.06 (helix = throw Clda/Clp).
    let d = p.model.aerodynamics.derivatives;
    near(of(Axis::Roll, "first flight").throw_rad.clone().unwrap() * d.Clda / d.Clp, 0.06, 1e-9);
    // And of the rudder: Cnb β + Cndr δ = 0 holds the slip when yaw damping and side force are small beside the fin.
    let slip = answer(&p, "sideslip_deg_per_deg");
    near(slip, d.Cndr / d.Cnb, 0.25);
    assert!(slip < 0.0, "right rudder brings the wind from the left");
}

#[test]
fn ailerons_yaw_against_the_turn_and_differential_helps() {
    let p = predicted(&wheatear());
    let (with, without) = (answer(&p, "adverse_yaw_deg"), answer(&p, "adverse_yaw_without_differential_deg"));
    println!("{with} {without}");
    // A rolling wing tilts its lift so that the nose goes against the roll (Etkin & Reid, section 3.9): adverse. Less
    // down aileron drags less on the rising side.
    assert!(without > 0.0 && with < without, "{with} {without}");
    // The rolling part by strip theory: Cnp = -CL/8 for an elliptic wing; the swing of it alone Cnp p̂/-Cnb.
    let helix = *p.control.roll_helix.as_ref().unwrap();
    let d = p.model.aerodynamics.derivatives;
    let cl = p.model.mass_kg * 9.806_65
        / (0.5 * p.density_kg_m3 * p.speeds.cruise_m_s.value.powi(2) * p.geometry.wing_area_m2);
    let rolling = (cl / 8.0 * helix / d.Cnb).to_degrees();
    assert!((0.3..3.0).contains(&(without / rolling)), "{without} {rolling}");
    let rudder = answer(&p, "rudder_against_adverse_yaw_deg");
    assert_eq!(rudder > 0.0, with > 0.0, "right rudder in a right roll takes an adverse swing away");
}

#[test]
fn limits_come_with_doubts_and_agree_with_the_range() {
    let p = predicted(&wheatear());
    let limit = |name: &str| p.balance_limits.iter().find(|l| l.name == name).unwrap().x_m.clone().unwrap();
    let forward = limit("forward, at the stall").value.max(limit("forward, in the flare").value);
    let [from, to] = p.stability.range_x_m.clone().unwrap();
    near(forward, from, 1e-9);
    near(limit("aft, power off").value, to, 1e-9);
    for l in p.balance_limits.iter().filter_map(|l| l.x_m.as_ref().ok()) {
        assert!(l.sd > 0.001 && l.sd < 0.05, "{l:?}");
    }
}

/// Square of the short period's frequency: of a pair its size, of two real roots their product (Vieta).
fn stiffness(modes: &[predict::prediction::Mode]) -> f64 {
    let of = |name: &str| modes.iter().find(|m| m.name == name);
    let short = of("short period").unwrap();
    match (short.frequency_rad_s, of("short period, slow part")) {
        (Some(w), _) => w * w,
        (None, slow) => 1.0 / (short.time_constant_s * slow.unwrap().time_constant_s),
    }
}

#[test]
fn five_motions_at_three_balance_points_with_power_and_without() {
    let p = predicted(&wheatear());
    assert_eq!(p.motions.len(), 6);
    for row in &p.motions {
        for kind in predict::modes::KINDS {
            assert!(row.modes.iter().any(|m| m.name == kind && !m.sentence.is_empty()), "{kind}");
        }
    }
    // At the present point with power they are those told at cruise.
    let here = p.motions.iter().find(|r| r.power && r.place == "balance point").unwrap();
    assert_eq!(here.modes, p.modes);
    // A balance point further aft softens the nose: the short period slows down (its spring is the static margin).
    let pace =
        |place: &str| stiffness(&p.motions.iter().find(|r| r.power && r.place == place).unwrap().modes);
    assert!(pace("forward limit") > pace("balance point") && pace("balance point") > pace("aft limit"));
    // Independent: predicting the aircraft balanced at the aft limit gives the same short period there.
    let mut moved = wheatear();
    let aft = p.stability.range_x_m.clone().unwrap()[1];
    moved.weighed.as_mut().unwrap().balance_x_m =
        Some(aircraft::Known { value: aft, sd: 0.002, from: aircraft::Origin::Measured });
    let own = stiffness(&predicted(&moved).modes);
    near(pace("aft limit"), own, 0.03);
}

#[test]
fn servo_loads_grow_with_the_square_of_speed_and_are_held_against_the_stated_torque() {
    let mut a = wheatear();
    for m in &mut a.movables {
        m.servo.torque_nm = Some(0.0001);
        if let Some(left) = &mut m.servo_left {
            left.torque_nm = Some(10.0);
        }
    }
    let p = predicted(&a);
    let of = |p: &Prediction, side: &str| {
        p.authority.servos.iter().find(|s| s.movable == "aileron" && s.side == side).unwrap().clone()
    };
    assert!(of(&p, "right").sentence.contains("blown back"));
    assert!(p.cautions.iter().any(|c| c.contains("blown back")) && of(&p, "left").stated_nm == Some(10.0));
    // By hand: q = 0.5 * 1.225 * 28² (the limit, above the top speed), 375 mm of about 24 % of 165 mm mean chord, 16
    // degrees, thin-section hinge moment of a quarter chord flap about -0.95 per rad, gearing about 9/16 of the arm:
    // 480 * 0.375 * 0.0396² * 0.95 * 0.279 * 0.56 = 0.042 N m; the gearing at full throw differs by some per cent.
    let torque = of(&p, "right").torque_nm;
    assert!((0.6..1.7).contains(&(torque / 0.042)), "{torque}");
    let mut slow = a.clone();
    slow.limits.never_exceed_m_s = None;
    let q = predicted(&slow);
    let (fast, slow) = (of(&p, "right"), of(&q, "right"));
    near(fast.torque_nm / slow.torque_nm, (fast.speed_m_s / slow.speed_m_s).powi(2), 1e-9);
}

#[test]
fn doubts_name_what_matters_most() {
    let p = predicted(&wheatear());
    let of = |output: &str| p.doubts.iter().find(|d| d.output == output).unwrap();
    let stall = of("stall speed");
    // V = sqrt(2W/(ρ S CL)): half the relative doubt of each; the largest lift is by far the least sure.
    near(stall.first.sd / p.speeds.stall_m_s.value, 0.5 * p.lift.cl_max.sd / p.lift.cl_max.value, 0.02);
    assert_eq!(stall.first.input.word(), "the largest lift");
    near(stall.sd, p.speeds.stall_m_s.sd, 1e-9);
    near(of("static margin").sd, p.stability.static_margin_percent.sd, 1e-6);
    near(of("static margin").value, p.stability.static_margin_percent.value, 1e-9);
    // The table's straight lines against the drive itself.
    near(of("top speed").value, p.speeds.top_m_s.clone().unwrap().value, 0.02);
    near(of("endurance at cruise").value * 60.0, p.drive.clone().unwrap().endurance_s.unwrap().value, 0.1);
    // A guessed mass takes over where it was not the first.
    let mut guessed: Aircraft = wheatear();
    guessed.weighed.as_mut().unwrap().total_kg =
        Some(aircraft::Known { value: 1.335, sd: 0.3, from: aircraft::Origin::Stated });
    let q = predict(&guessed, &Conditions::default()).unwrap();
    let stall = q.doubts.iter().find(|d| d.output == "stall speed").unwrap();
    assert_eq!(stall.first.input.word(), "the mass");
    assert!(stall.sentence.contains("Weigh it"), "{}", stall.sentence);
}

#[test]
fn mixes_are_named_and_flaps_go_the_way_their_mix_says() {
    let told = |flap: f64, pitch: f64| {
        let mut a = wheatear();
        (a.movables[0].mix.flap, a.movables[0].mix.pitch) = (flap, pitch);
        predicted(&a).authority
    };
    let flaps = |flap: f64| {
        let rows = told(flap, 0.0).throws;
        rows.iter()
            .filter(|r| r.demand == "flaps down")
            .map(|r| (r.way, r.deflection_rad.to_degrees()))
            .collect::<Vec<_>>()
    };
    // Half of the throw of 11 down or 16 up, the same on both sides.
    let near_all = |rows: &[(&str, f64)], way: &str, deg: f64| {
        rows.len() == 2 && rows.iter().all(|r| r.0 == way && (r.1 - deg).abs() < 1e-9)
    };
    assert!(near_all(&flaps(0.5), "down", 5.5), "{:?}", flaps(0.5));
    assert!(near_all(&flaps(-0.5), "up", -8.0), "{:?}", flaps(-0.5));
    let mixing = |flap: f64, pitch: f64| told(flap, pitch).mixing.join(" ");
    assert!(mixing(0.5, 0.0).contains("flaperons") && mixing(0.5, 0.0).contains("150 %"));
    assert!(mixing(-0.5, 0.0).contains("crow"));
    assert!(mixing(0.0, 0.5).contains("elevons"));
    // A servo with less travel than the throw asks for: 16 degrees of a proportional linkage are all of its travel, half
    // the travel of a measured one is not.
    let mut short = wheatear();
    short.movables[0].servo.travel_rad *= 0.5;
    let told = predicted(&short).authority.mixing.join(" ");
    assert!(told.contains("of its servo's stated travel"), "{told}");
}
