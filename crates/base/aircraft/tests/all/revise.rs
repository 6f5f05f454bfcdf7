//! Numbers of a file are changed and everything else stays.

use aircraft::known::Origin;
use aircraft::revise::{CannotRevise, set, set_known};
use aircraft::schema;
use aircraft::template::template;
use aircraft::{Aircraft, Layout};
use proptest::prelude::*;

use crate::sample::close;

fn read(text: &str) -> Aircraft {
    schema::read(text, &|_| None).unwrap_or_else(|f| panic!("{f:#?}\n{text}"))
}

fn file() -> String {
    template(Layout::VTail, "Tern")
}

/// Lines of one text that the other has not, in order.
fn differing<'t>(of: &'t str, against: &str) -> Vec<&'t str> {
    of.lines().filter(|l| !against.lines().any(|a| a == *l)).collect()
}

#[test]
fn one_value_changes_and_its_comment_stays() {
    let old = file();
    let new = set(&old, "controller.mounting_pitch_deg", 1.4).expect("revised");
    assert_eq!(
        differing(&new, &old),
        [
            "mounting_pitch_deg = 1.4 # the angle that it is set to take away from its own reading, nose up positive"
        ]
    );
    assert_eq!(new.lines().count(), old.lines().count());
    close("read back", read(&new).controller.mounting_pitch_rad.value.to_degrees(), 1.4, 1e-12);
}

#[test]
fn tables_of_a_list_are_named_by_their_name() {
    let new = set(&file(), "movable.ruddervator.servo_left.centre_us", 1512.0).expect("revised");
    let plane = read(&new);
    let tail = plane.movables.iter().find(|m| m.name == "ruddervator").expect("there");
    close("left servo", tail.servo_of(true).centre_us, 1512.0, 0.0);
    close("right servo", tail.servo_of(false).centre_us, 1500.0, 0.0);
    assert_eq!(differing(&new, &file()), ["centre_us = 1512"]);
    let new = set(&file(), "surface.wing.station.2.twist_deg", -2.5).expect("revised");
    close("by count", read(&new).surfaces[0].stations[1].twist_rad.to_degrees(), -2.5, 1e-12);
    let new = set(&file(), "movable.aileron.servo.reversed", true).expect("revised");
    assert!(read(&new).movables[0].servo.reversed);
}

#[test]
fn a_quantity_in_another_unit_keeps_its_unit() {
    let old = file().replace("mounting_pitch_deg = 0 ", "mounting_pitch_rad = 0.01 ");
    let new = set_known(&old, "controller.mounting_pitch_deg", 2.0, Some(0.3), Some(Origin::Flown))
        .expect("revised");
    let lines = differing(&new, &old);
    // 2 degrees are π/90 = 0.03490659 rad, 0.3 degrees π/600 = 0.005235988 rad.
    assert!(lines[0].starts_with("mounting_pitch_rad = 0.03490659 #"), "{lines:?}");
    assert_eq!(lines[1], "mounting_pitch_sd_rad = 0.005235988");
    assert_eq!(lines[2], "mounting_pitch_from = \"flown\"");
    assert_eq!(lines.len(), 3);
    let place = new.find("mounting_pitch_sd_rad").expect("written");
    assert!(place < new.find("mounting_roll_deg").expect("there"), "the doubt stands beside its number");
    let known = read(&new).controller.mounting_pitch_rad;
    assert_eq!(known.from, Origin::Flown);
    close("sd", known.sd.to_degrees(), 0.3, 1e-6);
    // Again: nothing is written twice.
    let again = set_known(&new, "controller.mounting_pitch_deg", 2.0, Some(0.3), Some(Origin::Flown))
        .expect("revised");
    assert_eq!(again, new);
}

#[test]
fn reciprocal_units_and_shares_convert() {
    // 0.12 s for 60 degrees are 500 degrees a second; 400 are 0.15 s.
    let new = set(&file(), "movable.aileron.servo.speed_deg_s", 400.0).expect("revised");
    assert!(new.contains("speed_s_per_60deg = 0.15 #"));
    let new = set(&file(), "movable.aileron.hinge", 0.7).expect("revised");
    assert!(new.contains("hinge_percent = 70 #"), "a share asked for, per cent written");
    let new = set(&file(), "limits.reserve_percent", 25.0).expect("revised");
    assert!(new.contains("reserve = 0.25 #"));
}

#[test]
fn a_throw_written_in_millimetres_becomes_one_in_degrees() {
    let old = file().replace("throw_up_deg = 20 ", "throw_up_mm = 12 ");
    let new = set(&old, "movable.aileron.throw_up_deg", 18.0).expect("revised");
    assert!(new.contains("\nthrow_up_deg = 18 #") && !new.contains("\nthrow_up_mm"));
    close("read back", read(&new).movables[0].throw_up_rad.to_degrees(), 18.0, 1e-12);
    assert!(new.find("throw_up_deg").expect("there") < new.find("throw_down_deg").expect("there"));
}

#[test]
fn missing_tables_are_added_and_nested_where_they_belong() {
    let new = set_known(&file(), "flown.drag_factor", 1.12, Some(0.04), None).expect("revised");
    let factor = read(&new).flown.drag_factor.expect("written");
    close("factor", factor.value, 1.12, 1e-12);
    close("doubt", factor.sd, 0.04, 1e-12);
    assert_eq!(factor.from, Origin::Flown);
    let new = set(&file(), "controller.gains.roll.proportional_s", 0.08).expect("revised");
    close("gain", read(&new).controller.gains[0].expect("written").proportional_s, 0.08, 1e-12);
    let new = set(&file(), "weighed.total_g", 1043.5).expect("revised");
    close("total", read(&new).weighed.and_then(|w| w.total_kg).expect("written").value, 1.0435, 1e-12);
}

#[test]
fn tables_in_braces_stay_in_braces() {
    let old = file().replace(
        "[movable.linkage] # leave it out where it is not measured\narm_mm = 10 # servo arm, pivot to clevis hole\n\
         horn_mm = 15 # hinge line to clevis hole\nbase_mm = 70 # servo pivot to hinge line\n\
         thread_pitch_mm = 0.4 # advance of the clevis in one turn: M2 has 0.4\n",
        "",
    );
    let old =
        old.replacen("pitch = 0.6\n", "pitch = 0.6\nlinkage = { arm_mm = 11, horn_mm = 14 } # both\n", 1);
    let new = set(&old, "movable.ruddervator.linkage.base_mm", 80.0).expect("revised");
    assert!(
        new.contains("linkage = { arm_mm = 11, horn_mm = 14 , base_mm = 80 } # both")
            || new.contains("linkage = { arm_mm = 11, horn_mm = 14, base_mm = 80 } # both"),
        "{new}"
    );
}

#[test]
fn what_cannot_be_revised_says_why() {
    let refusal = |path: &str| set(&file(), path, 1.0).expect_err(path).to_string();
    assert!(refusal("movable.aileron2.servo.centre_us").contains("movable.aileron"));
    assert!(refusal("nothing.at_all").contains("no key"), "{}", refusal("nothing.at_all"));
    assert!(refusal("controller.mountng_pitch_deg").contains("mountng_pitch_deg"));
    assert!(refusal("movable.aileron.servo.centre_us").contains("believed from 800 to 2200"));
    assert!(refusal("controller").contains("leads nowhere"));
    assert!(refusal("").contains("leads nowhere"));
    assert!(matches!(set("a = [", "controller.loop_hz", 1.0), Err(CannotRevise::NotReadable { .. })));
    assert!(matches!(set(&file(), "controller.loop_hz", f64::NAN), Err(CannotRevise::NotANumber { .. })));
}

#[test]
fn carriage_returns_and_the_byte_order_mark_stay() {
    let old = format!("\u{feff}{}", file().replace('\n', "\r\n"));
    let new = set(&old, "controller.mounting_roll_deg", 0.5).expect("revised");
    assert!(new.starts_with('\u{feff}'));
    assert_eq!(new.matches('\n').count(), new.matches("\r\n").count());
    assert_eq!(differing(&new, &old), ["mounting_roll_deg = 0.5"]);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]
    #[test]
    fn any_value_in_range_reads_back_and_only_its_line_changes(
        which in 0..7_usize, mounting in -20.0..20.0_f64, sd in 0.0..3.0_f64,
    ) {
        let old = template(Layout::ALL[which].0, "Tern");
        let new = set(&old, "controller.mounting_pitch_deg", mounting).expect("revised");
        let got = read(&new).controller.mounting_pitch_rad;
        prop_assert!((got.value.to_degrees() - mounting).abs() <= 1e-6 * mounting.abs());
        let changed = old.lines().zip(new.lines()).filter(|(a, b)| a != b).count();
        prop_assert!(changed <= 1 && old.lines().count() == new.lines().count());
        let with_sd = set_known(&new, "controller.mounting_pitch_deg", mounting, Some(sd), None).expect("revised");
        let got = read(&with_sd).controller.mounting_pitch_rad;
        prop_assert!((got.sd.to_degrees() - sd).abs() <= 1e-6 * sd);
        prop_assert_eq!(with_sd.lines().count(), new.lines().count() + 1);
    }

    #[test]
    fn no_path_makes_it_panic(path in "[a-z_.\" 0-9]{0,30}", value in any::<f64>()) {
        let _ = set(&file(), &path, value);
    }
}
