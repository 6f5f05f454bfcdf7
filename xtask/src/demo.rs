//! Does the demo fly the whole round, and does it leave what it promises? The built program is run as a user runs it;
//! only what it leaves and prints is looked at.

use std::path::{Path, PathBuf};
use std::process::Command;

use serde_json::Value;

use crate::flaw::{Flaw, Trouble};
use crate::tree;

/// What scripts rely on in the document of `predict --json`. For the demo's aircraft, which lacks nothing, each is
/// there with a number.
const PREDICTED: [&str; 26] = [
    "mass.total_kg",
    "balance.cg_x_m",
    "balance.neutral_point_x_m",
    "balance.static_margin_percent",
    "balance.range_x_m",
    "geometry.wing_area_m2",
    "geometry.mean_chord_m",
    "lift.slope_per_rad",
    "lift.cl_max",
    "speeds.stall_m_s",
    "speeds.cruise_m_s",
    "speeds.best_glide_m_s",
    "speeds.top_m_s",
    "derivatives.CLa",
    "derivatives.Cma",
    "derivatives.Cmq",
    "derivatives.Clp",
    "derivatives.Clb",
    "derivatives.Cnb",
    "derivatives.Cnr",
    "derivatives.CYb",
    "drive.static_thrust_n",
    "drive.static_current_a",
    "drive.static_rpm",
    "drive.thrust_to_weight",
    "drive.endurance_s",
];

/// The same for the control derivatives, the roll rate and the modes.
const ALSO_PREDICTED: [&str; 8] = [
    "derivatives.Clda",
    "derivatives.Cmde",
    "derivatives.Cndr",
    "control.roll_rate_deg_s",
    "modes.0.name",
    "modes.0.frequency_rad_s",
    "modes.0.damping",
    "modes.0.time_constant_s",
];

/// Least size of a recorded flight, bytes: minutes of a dozen columns at tens of rows a second are far more.
const LEAST_RECORDING_BYTES: usize = 100_000;

/// Flies the demo into a folder and looks at what came out.
pub(crate) fn demo(program: &Path, folder: &Path) -> Result<Vec<Flaw>, Trouble> {
    let into = folder.to_string_lossy();
    if let Err(flaw) = run(program, &["demo", "--into", &into])? {
        return Ok(vec![flaw]);
    }
    let files = tree::files(folder)?;
    let mut flaws = Vec::new();
    for page in ["report.html", "card.html"] {
        match files.iter().find(|path| tree::name(path) == page) {
            Some(path) => flaws.extend(of_page(&tree::below(folder, path), &tree::text(path)?)),
            None => flaws.push(Flaw::new(into.clone(), format!("has no {page}"))),
        }
    }
    let mut recordings = 0;
    let mut hangar = None;
    for path in &files {
        let bytes = tree::read(path)?;
        recordings += usize::from(
            path.extension().is_some_and(|kind| kind == "csv") && bytes.len() > LEAST_RECORDING_BYTES,
        );
        // SQLite file format, "The Database Header": 68..72 is the mark of the program.
        if bytes.get(68..72) == Some(b"EYAS".as_slice()) {
            hangar = Some(path.clone());
        }
    }
    if recordings < 2 {
        flaws.push(Flaw::new(into.clone(), format!("has {recordings} recorded flights, not two")));
    }
    match hangar {
        Some(hangar) => flaws.extend(of_hangar(program, &hangar)?),
        None => flaws.push(Flaw::new(into, "has no hangar")),
    }
    Ok(flaws)
}

/// Asks the program what the demo's hangar keeps, and what it predicts of the aircraft in it.
fn of_hangar(program: &Path, hangar: &Path) -> Result<Vec<Flaw>, Trouble> {
    let file = hangar.to_string_lossy();
    let kept = match document(program, &["flights", "--json", "--hangar", &file])? {
        Ok(kept) => kept,
        Err(flaw) => return Ok(vec![flaw]),
    };
    let mut flaws = Vec::new();
    let kinds = [("revisions", 2, "was adopted"), ("recordings", 2, "was flown"), ("cards", 1, "was issued")];
    for (kind, least, what) in kinds {
        let count = at(&kept, &format!("aircraft.0.{kind}")).and_then(Value::as_array).map_or(0, Vec::len);
        if count < least {
            flaws.push(Flaw::new(
                file.clone(),
                format!("keeps {count} {kind}, not {least}: less {what} than should be"),
            ));
        }
    }
    let Some(name) = at(&kept, "aircraft.0.name").and_then(Value::as_str) else {
        flaws.push(Flaw::new(file, "keeps no aircraft"));
        return Ok(flaws);
    };
    match document(program, &["predict", name, "--json", "--hangar", &file])? {
        Ok(predicted) => {
            let keys = PREDICTED.iter().chain(&ALSO_PREDICTED);
            let missing = keys.filter(|key| !at(&predicted, key).is_some_and(is_known));
            flaws.extend(missing.map(|key| Flaw::new("predict --json", format!("has no value at {key}"))));
        }
        Err(flaw) => flaws.push(flaw),
    }
    Ok(flaws)
}

/// What a run prints on standard output; a flaw where it ends with another status than 0.
fn run(program: &Path, arguments: &[&str]) -> Result<Result<String, Flaw>, Trouble> {
    let place = format!("{} {}", tree::name(program), arguments.join(" "));
    let not_started = |source| Trouble::NotStarted { program: PathBuf::from(program), source };
    let output = Command::new(program).args(arguments).output().map_err(not_started)?;
    let said = String::from_utf8_lossy(&output.stdout).into_owned();
    if output.status.success() {
        return Ok(Ok(said));
    }
    let cause = String::from_utf8_lossy(&output.stderr).into_owned();
    Ok(Err(Flaw::new(place, format!("ended with {}: {cause}", output.status))))
}

/// The one JSON document that a run prints.
fn document(program: &Path, arguments: &[&str]) -> Result<Result<Value, Flaw>, Trouble> {
    let said = run(program, arguments)?;
    Ok(said.and_then(|said| {
        serde_json::from_str(&said)
            .map_err(|error| Flaw::new(arguments.join(" "), format!("printed no JSON: {error}")))
    }))
}

/// The value at a path of keys and places in lists.
fn at<'a>(value: &'a Value, path: &str) -> Option<&'a Value> {
    path.split('.').try_fold(value, |value, key| match value {
        Value::Array(list) => list.get(key.parse::<usize>().ok()?),
        _ => value.get(key),
    })
}

/// Whether there is a number or a word: alone, as `value` with its `sd`, or as a list of such.
fn is_known(value: &Value) -> bool {
    match value {
        Value::Number(_) => true,
        Value::String(text) => !text.is_empty(),
        Value::Array(list) => !list.is_empty() && list.iter().all(is_known),
        Value::Object(object) => {
            ["value", "sd"].iter().all(|key| object.get(*key).is_some_and(Value::is_number))
        }
        Value::Null | Value::Bool(_) => false,
    }
}

/// A page is whole, draws something, and loads nothing from elsewhere.
fn of_page(place: &str, text: &str) -> Vec<Flaw> {
    let mut flaws = Vec::new();
    if !text.trim_end().ends_with("</html>") {
        flaws.push(Flaw::new(place, "does not end as a page"));
    }
    for from_elsewhere in ["src=\"http", "src=\"//", "@import", "url(http", "<link"] {
        if text.contains(from_elsewhere) {
            flaws.push(Flaw::new(place, format!("loads something from elsewhere: {from_elsewhere}")));
        }
    }
    flaws
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_known_alone_with_their_doubt_or_in_a_list_and_null_is_not() {
        let value: Value = serde_json::from_str(
            r#"{"a": {"b": 1.5, "c": {"value": 2, "sd": 0.1, "from": "predicted"}, "d": null, "why": "no drive"},
                "e": [1, 2], "f": [1, null], "g": {"value": null, "sd": null}, "h": [{"name": "roll"}]}"#,
        )
        .unwrap();
        for path in ["a.b", "a.c", "e", "e.1", "h.0.name", "a.why"] {
            assert!(at(&value, path).is_some_and(is_known), "{path}");
        }
        for path in ["a", "a.d", "a.x", "f", "g", "e.2", "h", "h.1.name"] {
            assert!(!at(&value, path).is_some_and(is_known), "{path}");
        }
    }

    #[test]
    fn a_page_that_loads_or_breaks_off_is_told() {
        assert_eq!(of_page("p", "<!doctype html><a href=\"https://example.org\">x</a></html>\n"), []);
        assert_eq!(of_page("p", "<script src=\"https://example.org/x.js\"></script></html>").len(), 1);
        assert_eq!(of_page("p", "<html><body>").len(), 1);
    }

    #[test]
    fn a_program_that_fails_is_told_with_what_it_said() {
        let folder = tempfile::tempdir().unwrap();
        let flaws = demo(Path::new("false"), folder.path()).unwrap();
        assert!(flaws.len() == 1 && flaws[0].what.contains("exit status"), "{flaws:?}");
        assert!(demo(Path::new("/no/such/program"), folder.path()).is_err());
    }

    #[test]
    fn a_program_that_leaves_nothing_is_told() {
        let folder = tempfile::tempdir().unwrap();
        assert_eq!(demo(Path::new("true"), folder.path()).unwrap().len(), 4);
    }

    /// A program that leaves and prints what the text of its files says.
    #[cfg(unix)]
    fn stand_in(folder: &Path, kept: &str, predicted: &Value) -> PathBuf {
        use std::os::unix::fs::PermissionsExt;

        let program = folder.join("program");
        std::fs::write(folder.join("kept.json"), kept).unwrap();
        std::fs::write(folder.join("predicted.json"), predicted.to_string()).unwrap();
        let script = "#!/bin/sh\nhere=$(dirname \"$0\")\ncase $1 in\n\
            flights) cat \"$here/kept.json\" ;;\n\
            predict) cat \"$here/predicted.json\" ;;\n\
            demo) mkdir -p \"$3/pages\" && cd \"$3\" || exit 1\n\
                echo '<html></html>' | tee report.html > pages/card.html\n\
                head -c 200000 /dev/zero | tee one.csv > two.csv\n\
                { head -c 68 /dev/zero; printf EYAS; } > hangar.db ;;\n\
            esac\n";
        std::fs::write(&program, script).unwrap();
        std::fs::set_permissions(&program, std::fs::Permissions::from_mode(0o755)).unwrap();
        program
    }

    #[cfg(unix)]
    #[test]
    fn a_program_that_leaves_everything_passes_and_each_thing_missing_is_told() {
        const KEPT: &str =
            r#"{"aircraft": [{"name": "W", "revisions": [1, 2], "recordings": [1, 2], "cards": [1]}]}"#;
        let mut predicted = serde_json::json!({"modes": [{}]});
        for key in PREDICTED.iter().chain(&ALSO_PREDICTED) {
            let pointer = format!("/{}", key.replace('.', "/"));
            let (parent, last) = pointer.rsplit_once('/').unwrap();
            let top = parent.trim_start_matches('/').split('/').next().unwrap();
            if predicted.get(top).is_none() {
                predicted[top] = serde_json::json!({});
            }
            predicted.pointer_mut(parent).unwrap()[last] = serde_json::json!({"value": 1.0, "sd": 0.1});
        }
        let told = |kept: &str, predicted: &Value| {
            let folder = tempfile::tempdir().unwrap();
            let program = stand_in(folder.path(), kept, predicted);
            demo(&program, &folder.path().join("into")).unwrap()
        };
        assert_eq!(told(KEPT, &predicted), []);
        assert_eq!(told(&KEPT.replace("\"cards\": [1]", "\"cards\": []"), &predicted).len(), 1);
        assert_eq!(told("no JSON", &predicted).len(), 1);
        let mut without = predicted.clone();
        without["speeds"]["stall_m_s"] = Value::Null;
        assert_eq!(told(KEPT, &without).len(), 1);
    }
}
