//! Two recordings of one flight, their lag known by how they were made or by their common clock.

use std::sync::Arc;

use fly::align::{align, lag};
use fly::recording::{Channel, FlawKind, Quantity as Q, Recording};
use numerics::random::Random;

use crate::invented::{Moment, flight};

/// Channels of the invented flight between two times, on a clock of their own, with noise.
fn part(
    from: f64,
    to: f64,
    every: usize,
    lag_s: f64,
    noise: (u64, f64),
    pick: &[(Q, fn(&Moment) -> f64)],
) -> Recording {
    let moments: Vec<Moment> =
        flight().iter().filter(|m| m.t >= from && m.t <= to).step_by(every).copied().collect();
    let begin = moments[0].t;
    let time = Arc::new(moments.iter().map(|m| m.t - begin).collect::<Vec<f64>>());
    let mut random = Random::new(noise.0, 0);
    Recording {
        channels: pick
            .iter()
            .map(|(q, f)| Channel {
                quantity: q.clone(),
                source: "made".into(),
                time_s: Arc::clone(&time),
                values: moments.iter().map(|m| f(m) + noise.1 * random.normal()).collect(),
            })
            .collect(),
        rows: moments.len(),
        clock_start_s: begin + lag_s,
        ..Recording::default()
    }
}

#[test]
fn the_lag_of_two_gyros_is_found_to_milliseconds_and_its_spread_is_honest() {
    // The second begins 7.3 s later and carries noise of 0.05 rad/s on rates of some tenths. Of 12 seeds, those beyond
    // two standard deviations are one in twenty on average; more than three would be one chance in four hundred.
    let mut beyond = 0;
    for seed in 0..12 {
        let a = part(0.0, 120.0, 1, 0.0, (seed, 0.05), &[(Q::RollRate, |m| m.rates.x)]);
        let b = part(7.3, 100.0, 2, 0.0, (seed + 100, 0.05), &[(Q::RollRate, |m| m.rates.x)]);
        let l = lag(&a, &b).unwrap();
        let truth = b.clock_start_s;
        assert!((l.lag_s - truth).abs() < 0.02 && l.confidence > 0.6, "{l:?}");
        assert!(l.sd_s < 0.01, "{l:?}");
        beyond += usize::from((l.lag_s - truth).abs() > 2.0 * l.sd_s);
    }
    assert!(beyond <= 3, "{beyond} of 12 beyond two standard deviations");
}

#[test]
fn heights_of_one_and_climb_of_the_other_align_too() {
    let a = part(0.0, 120.0, 1, 0.0, (1, 0.1), &[(Q::Height, |m| m.height)]);
    let b = part(20.0, 118.0, 10, 0.0, (2, 0.05), &[(Q::VelocityDown, |m| m.velocity.z)]);
    let l = lag(&a, &b).unwrap();
    assert!((l.lag_s - 20.0).abs() < 0.3, "{l:?}");
    assert_eq!(l.by, "climb");
}

#[test]
fn files_are_joined_where_they_belong_and_it_is_told() {
    let pick: &[(Q, fn(&Moment) -> f64)] =
        &[(Q::Roll, |m| m.roll), (Q::RollRate, |m| m.rates.x), (Q::Airspeed, |m| m.airspeed)];
    let a = part(0.0, 120.0, 1, 0.0, (3, 0.01), pick);
    let mut b =
        part(12.0, 100.0, 5, 0.0, (4, 0.01), &[(Q::RollRate, |m| m.rates.x), (Q::Height, |m| m.height)]);
    b.clock_start_s = 9999.0;
    let joined = align(vec![a, b]);
    let told = joined.flaws.iter().find(|f| f.kind == FlawKind::Clock).unwrap();
    assert!(told.what.contains("roll rate"), "{told:?}");
    let height = joined.channel(&Q::Height).unwrap();
    assert!((height.time_s[0] - 12.0).abs() < 0.02, "{}", height.time_s[0]);
}

#[test]
fn what_shares_nothing_is_left_out_and_told() {
    let a = part(0.0, 120.0, 1, 0.0, (5, 0.01), &[(Q::RollRate, |m| m.rates.x)]);
    let b = part(0.0, 120.0, 1, 0.0, (6, 0.01), &[(Q::Volts, |m| m.volts)]);
    assert_eq!(lag(&a, &b), None);
    let joined = align(vec![a, b]);
    assert!(joined.channel(&Q::Volts).is_none());
    assert!(joined.flaws.iter().any(|f| f.kind == FlawKind::Clock && f.what.contains("left out")));
}

#[test]
fn noise_against_noise_is_not_sure() {
    // Chance alone: no lag of two unrelated noises is taken for one.
    for seed in 0..6 {
        let a = part(0.0, 120.0, 5, 0.0, (seed, 1.0), &[(Q::YawRate, |_| 0.0)]);
        let b = part(0.0, 120.0, 5, 0.0, (seed + 50, 1.0), &[(Q::YawRate, |_| 0.0)]);
        let l = lag(&a, &b).unwrap();
        assert!(l.confidence < 0.3, "{l:?}");
    }
}
