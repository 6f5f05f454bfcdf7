//! How does a row come to the description, or go from it?

use aircraft::schema::units::Quantity;

use super::form::below;
use crate::tasks::amend::{As, CannotAmend, Sheet};

/// Changes rows as a button says: `add:LIST`, `add:LIST:AFTER` or `drop:TABLE`. The table that came, if any.
pub(super) fn change(sheet: &mut Sheet, act: &str) -> Result<Option<String>, CannotAmend> {
    let nowhere = || CannotAmend::NoPlace { path: act.to_owned() };
    let mut parts = act.split(':');
    match (parts.next(), parts.next()) {
        (Some("drop"), Some(table)) => sheet.remove(table).map(|()| None),
        (Some("add"), Some(list)) => {
            let after = parts.next().and_then(|n| n.parse::<usize>().ok());
            add(sheet, list, after)?;
            let last = sheet.count(list).saturating_sub(1);
            Ok(Some(format!("{list}.{}", after.map_or(last, |i| (i + 1).min(last)))))
        }
        _ => Err(nowhere()),
    }
}

/// A new row: what can be said without measuring is said, what has to be measured is left for the form to ask.
fn add(sheet: &mut Sheet, list: &str, after: Option<usize>) -> Result<(), CannotAmend> {
    let kind = list.rsplit('.').next().unwrap_or(list);
    let named = |what: &str| ("name", As::Text, fresh_name(sheet, list, what));
    match kind {
        "station" => add_station(sheet, list, after),
        "surface" => {
            let pairs = [named("new surface"), ("role", As::Text, "tailplane".to_owned())];
            sheet.add(list, None, &pairs)?;
            let stations = format!("surface.{}.station", sheet.count("surface").saturating_sub(1));
            sheet.add(
                &stations,
                None,
                &[("along_mm", As::Number, "0".into()), ("section", As::Text, "naca 0009".into())],
            )?;
            sheet.add(&stations, None, &[])
        }
        "movable" => {
            let surface = sheet.shown("surface.0.name").unwrap_or_default();
            let pairs = [named("new movable part"), ("surface", As::Text, surface)];
            sheet.add(list, None, &pairs)
        }
        "mass" => {
            let pairs = [named("new item")];
            sheet.add(list, None, &pairs)
        }
        "drag" => {
            let pairs = [named("new part"), ("kind", As::Text, "wheel".to_owned())];
            sheet.add(list, None, &pairs)
        }
        "fuselage" => {
            let pairs = [named("new body")];
            sheet.add(list, None, &pairs)?;
            let stations = format!("fuselage.{}.station", sheet.count("fuselage").saturating_sub(1));
            sheet.add(&stations, None, &[])?;
            sheet.add(&stations, None, &[])
        }
        "hub" => sheet.add(list, None, &[("x_mm", As::Number, "0".into())]),
        "bench" => sheet.add(list, None, &[("throttle_percent", As::Number, "100".into())]),
        "switch" => {
            let pairs = [named("new position"), ("acts", As::Text, "direct".to_owned())];
            sheet.add(list, None, &pairs)
        }
        _ => Err(CannotAmend::NoPlace { path: list.to_owned() }),
    }
}

/// A name that no row of the list has yet.
fn fresh_name(sheet: &Sheet, list: &str, what: &str) -> String {
    let taken: Vec<String> =
        (0..sheet.count(list)).filter_map(|i| sheet.shown(&below(&format!("{list}.{i}"), "name"))).collect();
    (1..)
        .map(|n| if n == 1 { what.to_owned() } else { format!("{what} {n}") })
        .find(|name| !taken.contains(name))
        .unwrap_or_default()
}

/// A station between two lies halfway, so that the shape stays; one at the end is left to be measured.
fn add_station(sheet: &mut Sheet, list: &str, after: Option<usize>) -> Result<(), CannotAmend> {
    let neighbors = after.map(|i| (format!("{list}.{i}"), format!("{list}.{}", i + 1)));
    let Some((inner, outer)) = neighbors.filter(|(_, outer)| sheet.has_table(outer)) else {
        return sheet.add(list, None, &[]);
    };
    let mut pairs: Vec<(String, As, String)> = Vec::new();
    for key in sheet.keys(&outer) {
        let number = |table: &str| sheet.shown(&below(table, &key)).and_then(|v| v.parse::<f64>().ok());
        let measured = [Quantity::Length, Quantity::Angle].iter().any(|q| q.split(&key).is_some());
        if let (true, Some(a), Some(b)) = (measured, number(&inner), number(&outer)) {
            let middle = format!("{:.1}", 0.5 * (a + b));
            pairs.push((key, As::Number, middle.trim_end_matches('0').trim_end_matches('.').to_owned()));
        }
    }
    let pairs: Vec<(&str, As, String)> = pairs.iter().map(|(k, a, v)| (k.as_str(), *a, v.clone())).collect();
    sheet.add(list, after, &pairs)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn template() -> Sheet {
        Sheet::open(&aircraft::template::template(aircraft::Layout::Conventional, "A")).unwrap()
    }

    #[test]
    fn a_station_between_two_leaves_the_shape() {
        let mut sheet = template();
        change(&mut sheet, "add:surface.0.station:0").unwrap();
        let read = |text: &str| aircraft::schema::read(text, &|_| None).unwrap();
        let (before, after) = (read(&template().text()), read(&sheet.text()));
        assert_eq!(after.surfaces[0].stations.len(), 3);
        let area = |a: &aircraft::Aircraft| aircraft::geometry::reference(a).unwrap().area_m2;
        assert!((area(&before) - area(&after)).abs() < 1e-9);
    }

    #[test]
    fn new_rows_ask_for_what_has_to_be_measured() {
        for (act, asks) in [
            ("add:mass", "mass_g"),
            ("add:movable", "throw"),
            ("add:surface", "chord_mm"),
            ("add:fuselage", "x_mm"),
            ("add:drag", "width_mm"),
            ("add:surface.0.station", "along_mm"),
        ] {
            let mut sheet = template();
            change(&mut sheet, act).unwrap();
            let faults = aircraft::schema::read(&sheet.text(), &|_| None).unwrap_err();
            assert!(faults.iter().any(|f| f.problem.contains(asks)), "{act}: {faults:?}");
        }
        // A second new item has a name of its own; a row that is taken away is gone.
        let mut sheet = template();
        let count = sheet.count("mass");
        change(&mut sheet, "add:mass").unwrap();
        change(&mut sheet, "add:mass").unwrap();
        assert_eq!(sheet.shown(&format!("mass.{}.name", count + 1)).as_deref(), Some("new item 2"));
        change(&mut sheet, &format!("drop:mass.{count}")).unwrap();
        change(&mut sheet, &format!("drop:mass.{count}")).unwrap();
        assert_eq!(sheet.text(), template().text());
    }

    #[test]
    fn what_no_button_says_changes_nothing() {
        for act in ["", "add", "add:nowhere", "drop:mass.99", "drop:", "add:surface.99.station", "eat:mass.0"]
        {
            let mut sheet = template();
            assert!(change(&mut sheet, act).is_err(), "{act}");
            assert_eq!(sheet.text(), template().text());
        }
    }
}
