//! Slips that a person makes are asked about; parts that only add drag and the way into the air are read.

use aircraft::drag::Kind;
use aircraft::known::Origin;
use aircraft::schema::{self, remarks};
use aircraft::start::{Ground, How};
use aircraft::{Aircraft, Layout};

use crate::sample::close;
use crate::schema::with;

const SERVO: &str = "balance_x_mm = 310\n[[mass]]\nname = \"all of it\"\nmass_g = 1040\nx_mm = 310\n";

fn read(text: &str) -> Aircraft {
    schema::read(text, &|_| None).unwrap_or_else(|f| panic!("{f:#?}"))
}

/// The one fault that an exchange leads to.
#[track_caller]
fn one_fault(old: &str, new: &str, problem: &str, remedy: &str) {
    let found = schema::read(&with(old, new), &|_| None).err().unwrap_or_default();
    assert!(
        found.len() == 1 && found[0].problem.contains(problem) && found[0].remedy.contains(remedy),
        "{new}: {found:#?}"
    );
}

#[track_caller]
fn one_remark(old: &str, new: &str, words: &str) {
    let told = remarks(&read(&with(old, new)));
    assert!(told.len() == 1 && told[0].contains(words), "{new}: {told:#?}");
}

#[test]
fn what_is_surely_wrong_is_a_fault_that_asks() {
    read(&with("balance_x_mm = 310\n", SERVO));
    // The half span is 699 mm; 3000 mm lies 2301 mm beyond, far more than a fifth of the span of 1398 mm.
    one_fault(
        "balance_x_mm = 310\n",
        &format!("{SERVO}y_mm = 3000\n"),
        "y = 3000 mm, 2301 mm beyond",
        "which unit",
    );
    // A sensor that hangs 200 mm below the wing is within a fifth of the span.
    read(&with("balance_x_mm = 310\n", &format!("{SERVO}z_mm = -200\n")));
    one_fault("chord_mm = 220", "chord_mm = 22", "grows from 22 mm to 160 mm", "digit");
    one_fault(
        "total_g = 1050\nbalance_x_mm = 310\n",
        &format!("total_g = 110\n{SERVO}"),
        "says 110 g",
        "unit",
    );
    one_fault(
        "total_g = 1050\nbalance_x_mm = 310\n",
        &format!("total_g = 10500\n{SERVO}"),
        "weigh 1040 g",
        "digit",
    );
}

#[test]
fn what_is_odd_is_a_remark_and_what_is_usual_is_none() {
    assert_eq!(remarks(&read(&with("roll = 1", "roll = 1"))), Vec::<String>::new());
    one_remark("hinge_percent = 75", "hinge_percent = 23", "at 77 %");
    // The whole panel moves: nothing to ask.
    assert!(remarks(&read(&with("hinge_percent = 75", "hinge_percent = 0"))).is_empty());
    one_remark("x_mm = 940\nchord_mm = 100", "x_mm = 940\nchord_mm = 20", "pointed");
    one_remark("total_g = 1050", "total_g = 105", "is little for a model");
    one_remark("along_mm = 230", "along_mm = 50", "horizontal tail volume");
}

#[test]
fn a_wrong_unit_is_one_mistake_that_names_every_unit() {
    one_fault("throw_up_deg = 20", "throw_up_kg = 20", "has no key \"throw_up_kg\"", "deg, rad (angle)");
    one_fault("throw_up_deg = 20", "throw_up_kg = 20", "throw_up_kg", "mm, cm, m, in, ft (length)");
    one_fault("chord_mm = 220", "chord_kg = 220", "has no key \"chord_kg\"", "mm, cm, m, in, ft");
    one_fault("chord_mm = 220", "chrod_mm = 220", "has no key \"chrod_mm\"", "did you mean \"chord_mm\"");
}

/// Drag areas by their definition: coefficient times width times height times count.
#[test]
fn what_only_adds_drag_is_read_by_size_or_by_area() {
    let plane = read(&with(
        "balance_x_mm = 310\n",
        "balance_x_mm = 310\n[[drag]]\nname = \"wheels\"\nkind = \"wheel\"\ncount = 2\nwidth_mm = 20\nheight_mm = 60\n\
         [[drag]]\nname = \"camera\"\ndrag_area_cm2 = 8\ndrag_area_sd_cm2 = 1\ndrag_area_from = \"measured\"\n",
    ));
    // 0.5 * 2 * 20 mm * 60 mm = 1200 mm².
    close("wheels", plane.drags[0].area_m2.value, 1.2e-3, 1e-12);
    close("camera", plane.drags[1].area_m2.value, 8e-4, 1e-12);
    assert_eq!(plane.drags[1].area_m2.from, Origin::Measured);
    let all = plane.drag_area_m2();
    close("all", all.value, 2e-3, 1e-12);
    close("their doubts are independent", all.sd, (0.3_f64 * 1.2e-3).hypot(1e-4), 1e-12);
    assert!(read(&with("roll = 1", "roll = 1")).drags.is_empty());
    let tail = "balance_x_mm = 310\n[[drag]]\nname = \"strut\"\n";
    one_fault("balance_x_mm = 310\n", tail, "lacks its size", "kind");
    one_fault(
        "balance_x_mm = 310\n",
        &format!("{tail}kind = \"strutt\"\nwidth_mm = 100\nheight_mm = 3\n"),
        "is no kind",
        "did you mean \"strut\"",
    );
    one_fault(
        "balance_x_mm = 310\n",
        &format!("{tail}drag_area_cm2 = 8\nkind = \"strut\"\nwidth_mm = 100\nheight_mm = 3\n"),
        "both as an area and by its size",
        "keep",
    );
}

/// Drag coefficients on frontal area (Hoerner, Fluid-Dynamic Drag, 1965, from memory): a round rod below the critical
/// Reynolds number 1.0 to 1.2, a square plate 1.17, a cube 1.05, landing wheels 0.25 to 0.5; streamlined less than round.
#[test]
fn drag_coefficients_lie_where_the_handbook_has_them() {
    let of = |kind: Kind| kind.coefficient().0;
    assert!((1.0..=1.2).contains(&of(Kind::Strut)) && (1.0..=1.2).contains(&of(Kind::Wire)));
    close("plate", of(Kind::Plate), 1.17, 0.01);
    close("box", of(Kind::Box), 1.05, 0.01);
    assert!((0.25..=0.5).contains(&of(Kind::Wheel)));
    assert!(of(Kind::FairedWheel) < of(Kind::Wheel) && of(Kind::FairedStrut) < 0.5 * of(Kind::Strut));
}

#[test]
fn the_way_into_the_air_is_read() {
    let start =
        |text: &str| read(&with("balance_x_mm = 310\n", &format!("balance_x_mm = 310\n{text}"))).start;
    assert_eq!(start("").how, How::Hand);
    let rolling = start("[start]\nhow = \"rolling\"\nground = \"short grass\"\nrun_m = 40\n");
    assert_eq!(
        (rolling.how, rolling.ground, rolling.run_m),
        (How::Rolling, Some(Ground::ShortGrass), Some(40.0))
    );
    assert!(Ground::Hard.rolling_resistance() < Ground::LongGrass.rolling_resistance());
    let hand = start("[start]\nthrow_speed_km_h = 36\nheight_m = 1.8\n");
    close("throw", hand.throw_speed_m_s.expect("written").value, 10.0, 1e-12);
    close("height", hand.height_m.expect("written"), 1.8, 1e-12);
    one_fault(
        "balance_x_mm = 310\n",
        "balance_x_mm = 310\n[start]\nhow = \"rolling\"\nthrow_speed_m_s = 10\n",
        "this one rolls",
        "hand",
    );
    one_fault(
        "balance_x_mm = 310\n",
        "balance_x_mm = 310\n[start]\nhow = \"winch\"\n",
        "is no how",
        "\"bungee\"",
    );
}

#[test]
fn a_fin_throws_left_and_right() {
    for layout in [Layout::Conventional, Layout::VTail] {
        let plane = read(&aircraft::template::template(layout, "Tern"));
        for movable in &plane.movables {
            let words = movable.throw_words(&plane.surfaces[movable.surface]);
            let expected = if movable.name == "rudder" { ("left", "right") } else { ("up", "down") };
            assert_eq!(words, expected, "{}", movable.name);
        }
    }
}
