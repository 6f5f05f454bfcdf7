//! Whatever the text, reading it gives an aircraft or faults at places that exist.

use aircraft::template::template;
use aircraft::{Layout, schema};
use proptest::prelude::*;

use crate::section_file::loop_rows;

fn mutated() -> impl Strategy<Value = String> {
    let layouts = (0..Layout::ALL.len()).prop_map(|i| template(Layout::ALL[i].0, "Tern"));
    let pieces = prop_oneof![
        "[ -~]{0,12}",
        Just("\u{e9}\u{1f6e9}".to_owned()),
        Just("nan".to_owned()),
        Just("-1e308".to_owned()),
        Just("\n[[movable]]\n".to_owned()),
        Just("\n[[surface.station]]\n".to_owned()),
        Just(" = { a = [1, {b = 2}] }\n".to_owned()),
        Just("99999999999999999999".to_owned()),
        Just("\r".to_owned()),
        Just("0".to_owned()),
    ];
    let edits = prop::collection::vec((any::<prop::sample::Index>(), 0..30_usize, pieces), 1..4);
    (layouts, edits).prop_map(|(mut text, edits)| {
        for (at, cut, piece) in edits {
            let mut start = at.index(text.len());
            while !text.is_char_boundary(start) {
                start -= 1;
            }
            let mut end = (start + cut).min(text.len());
            while !text.is_char_boundary(end) {
                end += 1;
            }
            text.replace_range(start..end, &piece);
        }
        text
    })
}

/// Whatever the text: an aircraft, or at least one fault, each at a place that exists.
fn sound(text: &str) -> Result<(), TestCaseError> {
    match schema::read(text, &|_| Some(loop_rows())) {
        Ok(plane) => {
            prop_assert!(plane.wing().is_some());
            prop_assert!(plane.movables.iter().all(|m| m.surface < plane.surfaces.len()));
        }
        Err(faults) => {
            prop_assert!(!faults.is_empty());
            let lines = text.lines().count() + 1;
            for fault in &faults {
                prop_assert!((1..=lines).contains(&fault.line) && fault.column >= 1 && fault.length >= 1);
                prop_assert!(!fault.problem.is_empty() && !fault.remedy.is_empty());
            }
            prop_assert!(faults.is_sorted());
        }
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]
    #[test]
    fn a_damaged_file_never_panics(text in mutated()) {
        sound(&text)?;
    }

    #[test]
    fn arbitrary_text_never_panics(text in "\\PC{0,200}") {
        sound(&text)?;
        let _ = schema::section_file::points(&text);
    }

    #[test]
    fn arbitrary_numbers_in_a_coordinate_file_never_panic(
        rows in prop::collection::vec((any::<f64>(), any::<f64>()), 0..40), near in any::<bool>(),
    ) {
        let text: String = rows.iter()
            .map(|(x, y)| if near { format!("{} {}\n", x.rem_euclid(1.0), y.rem_euclid(0.1)) } else { format!("{x} {y}\n") })
            .collect();
        let _ = schema::section_file::points(&text);
    }
}
