//! The kind of blade and its measured chord, as the file states them.

use aircraft::drive::{BladeClass, Propeller};

const FILE: &str = include_str!("../../../../../examples/wheatear.toml");

/// The example with lines added to its propeller.
fn with(lines: &str) -> Result<Propeller, String> {
    let text = FILE.replacen("[drive.propeller]", &format!("[drive.propeller]\n{lines}"), 1);
    aircraft::schema::read(&text, &|_| None)
        .map_err(|faults| format!("{faults:?}"))?
        .drive
        .map(|drive| drive.propeller)
        .ok_or_else(|| "the example has no drive".to_owned())
}

#[test]
fn every_class_is_read_by_its_word_and_the_chord_in_millimeters() {
    for class in BladeClass::ALL {
        let p = with(&format!("class = \"{}\"\nblade_chord_mm = 19.5\n", class.word())).unwrap();
        assert_eq!(p.class, Some(class));
        assert!((p.blade_chord_m.unwrap() - 0.0195).abs() < 1e-15);
    }
    let plain = with("").unwrap();
    assert!(plain.class.is_none() && plain.blade_chord_m.is_none());
}

#[test]
fn a_class_that_is_none_is_told_with_those_that_are() {
    let told = with("class = \"slow-flyer\"\n").unwrap_err();
    assert!(told.contains("slow-fly") && told.contains("class"), "{told}");
    let told = with("blade_chord_mm = 900\n").unwrap_err();
    assert!(told.contains("blade_chord"), "{told}");
}
