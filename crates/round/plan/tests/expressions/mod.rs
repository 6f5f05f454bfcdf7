//! What do the numbers inside the catalogue's sentences say?

use super::*;

fn value(text: &str) -> f64 {
    let prediction = prediction();
    let merle = merle();
    let scope = Scope { aircraft: &merle, prediction: &prediction, weather: &CALM };
    Expression::read(text).unwrap().value(&scope).unwrap().value
}

#[test]
fn arithmetic_follows_the_schools_rules() {
    // By hand.
    for (text, expected) in [
        ("1 + 2 * 3", 7.0),
        ("(1 + 2) * 3", 9.0),
        ("8 / 4 / 2", 1.0),
        ("10 - 4 - 3", 3.0),
        ("-2 * -(3 + .5)", 7.0),
        ("2 * weather.wind_m_s + weather.gust_m_s", 10.5),
    ] {
        assert!((value(text) - expected).abs() < 1e-12, "{text}");
    }
}

#[test]
fn doubt_grows_with_a_factor_and_cancels_for_a_name_less_itself() {
    let prediction = prediction();
    let merle = merle();
    let scope = Scope { aircraft: &merle, prediction: &prediction, weather: &CALM };
    let stall = prediction.speeds.stall_m_s;
    // Analytic: sd of a multiple is the multiple of the sd; x - x is exactly zero.
    let approach = Expression::read("1.3 * speeds.stall_m_s").unwrap().value(&scope).unwrap();
    assert!((approach.sd - 1.3 * stall.sd).abs() < 1e-12);
    let nothing = Expression::read("speeds.stall_m_s - speeds.stall_m_s").unwrap().value(&scope).unwrap();
    assert!(nothing.value == 0.0 && nothing.sd == 0.0);
}

#[test]
fn mistakes_in_an_expression_are_pointed_at() {
    for (text, at) in [("", 1), ("1 +", 4), ("(1", 3), ("1 2", 3), ("2 * $", 5), ("1.2.3", 1), ("1 * ", 5)] {
        match Expression::read(text).unwrap_err() {
            NotAnExpression::Unexpected { at: place, .. } => assert_eq!(place, at, "{text}"),
            other => panic!("{text}: {other:?}"),
        }
    }
    match Expression::read("1.3 * speeds.stal_m_s").unwrap_err() {
        NotAnExpression::UnknownName { at, name, known } => {
            assert_eq!((at, name.as_str()), (7, "speeds.stal_m_s"));
            assert!(known.contains(&"speeds.stall_m_s"));
        }
        other => panic!("{other:?}"),
    }
    assert!(Expression::read(&"(".repeat(100_000)).is_err(), "deep nesting is refused, not followed");
    assert!(Expression::read(&"-".repeat(100_000)).is_err());
}

#[test]
fn what_has_no_value_says_why() {
    let mut prediction = prediction();
    prediction.drive = Err(NotPredicted::Missing { what: "[drive]".to_owned() });
    let merle = merle();
    let scope = Scope { aircraft: &merle, prediction: &prediction, weather: &CALM };
    let read = |text: &str| Expression::read(text).unwrap().value(&scope);
    assert!(matches!(read("drive.climb_m_s"), Err(NoValue::NotPredicted { name: "drive.climb_m_s", .. })));
    assert!(matches!(read("1 / (weather.wind_m_s - 3)"), Err(NoValue::NotANumber { .. })));
}

#[test]
fn every_expression_of_the_catalogue_has_a_value() {
    let prediction = prediction();
    let merle = merle();
    let scope = Scope { aircraft: &merle, prediction: &prediction, weather: &CALM };
    let catalogue = catalogue();
    let mut evaluated = 0;
    for point in &catalogue.points {
        let steps = point.steps.iter().filter_map(|s| match s {
            Step::Words(text) => Some(text),
            Step::Surfaces => None,
        });
        let texts = steps.chain(&point.calls).chain(&point.watch).chain(&point.stop);
        let all = texts
            .flat_map(|t| t.expressions())
            .chain(point.expect.iter().map(|e| &e.value))
            .chain(&point.wind_m_s)
            .chain(&point.gust_excess_m_s)
            .chain([&point.effort]);
        for expression in all {
            let found = expression.value(&scope);
            assert!(found.is_ok(), "{}: {}: {found:?}", point.id, expression.text());
            evaluated += 1;
        }
    }
    assert!(evaluated > 100, "only {evaluated} expressions were found");
}

#[test]
fn every_name_has_a_value_for_a_complete_prediction() {
    let prediction = prediction();
    let merle = merle();
    let scope = Scope { aircraft: &merle, prediction: &prediction, weather: &CALM };
    for name in names::ALL {
        assert!((name.value)(&scope).is_ok(), "{}", name.name);
    }
}

#[test]
fn names_come_in_the_unit_that_ends_them() {
    // By hand: 2.4 rad/s, -0.9 deg given in rad, throttle 0.52.
    for (name, expected) in [
        ("control.roll_rate_deg_s", 2.4 * 180.0 / std::f64::consts::PI),
        ("speeds.cruise_elevator_deg", -0.9),
        ("drive.cruise_throttle_percent", 52.0),
        ("balance.range_x_m.1", 0.422),
    ] {
        assert!((value(name) - expected).abs() < 1e-9, "{name}");
    }
}
