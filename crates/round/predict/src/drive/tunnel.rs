//! The propeller model's coefficients against a propeller of 0.2032 m in a wind tunnel and in flight:
//! `reference/flight-delft-propeller` (Ntouros, Kelley and Smeur, Aerospace Science and Technology 168 (2026) 110999).
//! Its pitch and blade count are not told there, so that only the way from volts, amps and speed of turning to
//! coefficients and airspeed can be held against it, not the blades.

use aircraft::drive::Propeller;
use numerics::statistics::median;
use numerics::units::RAD_S_PER_RPM;

use crate::drive::propeller::{Blades, Pull};

const TUNNEL: &str = include_str!("../../../../../reference/flight-delft-propeller/wind_tunnel.csv");
const FLIGHT: &str = include_str!("../../../../../reference/flight-delft-propeller/flight_test_50Hz.csv");
const DIAMETER_M: f64 = 0.2032;
/// Of motor and speed controller together, as the authors say.
const EFFICIENCY: f64 = 0.874;
const DENSITY: f64 = 1.225;
/// Wind-tunnel fit of the authors: airspeed = a ω + b p²/ω⁵ with the speed of turning in rad/s and shaft power in W.
const A: f64 = 2.63e-2;
const B: f64 = -7.82e11;

fn rows(text: &str) -> Vec<Vec<f64>> {
    text.lines().skip(1).map(|l| l.split(',').map(|c| c.parse().unwrap()).collect()).collect()
}

/// Mean over five samples, two on each side: 50 Hz lose what is above some 5 Hz, without delay.
fn smoothed(values: &[f64]) -> Vec<f64> {
    (0..values.len())
        .map(|i| {
            let near = &values[i.saturating_sub(2)..(i + 3).min(values.len())];
            near.iter().sum::<f64>() / near.len() as f64
        })
        .collect()
}

#[test]
fn volts_and_amps_become_the_published_power_coefficients() {
    let blades = Blades::typical(&Propeller::of_markings(DIAMETER_M, 0.1524, 2));
    let points: Vec<(f64, f64)> = rows(TUNNEL)
        .iter()
        .map(|r| {
            let (speed, rpm, volts, amps) = (r[1], r[2], r[3], r[4]);
            let turning = rpm * RAD_S_PER_RPM;
            let pull = Pull { thrust_n: 0.0, torque_nm: EFFICIENCY * volts * amps / turning };
            (speed / (rpm / 60.0 * DIAMETER_M), blades.coefficients(pull, turning, DENSITY).1)
        })
        .collect();
    for (j, expected) in [(0.322, 0.0810), (0.431, 0.0698), (0.538, 0.0613), (0.727, 0.0367)] {
        let near: Vec<f64> = points.iter().filter(|p| (p.0 - j).abs() < 0.01).map(|p| p.1).collect();
        let got = median(&near);
        println!("J {j}: CP {got:.4} / {expected:.4} from {} rows", near.len());
        assert!(near.len() > 100 && (got / expected - 1.0).abs() < 0.05, "J {j}: {got} {expected}");
    }
}

#[test]
fn speed_of_turning_and_power_tell_the_airspeed_of_the_flight() {
    let rows = rows(FLIGHT);
    let column = |k: usize| -> Vec<f64> { rows.iter().map(|r| r[k]).collect() };
    let pitot = smoothed(&column(1));
    let turning = smoothed(&column(2).iter().map(|rpm| rpm * RAD_S_PER_RPM).collect::<Vec<f64>>());
    let power = smoothed(&rows.iter().map(|r| EFFICIENCY * r[3] * r[4]).collect::<Vec<f64>>());
    let mut squares = Vec::new();
    for (i, r) in rows.iter().enumerate() {
        // Forward flight: angle of attack below 25 degrees, by the path through the air (wind as found from this flight,
        // 1.59 m/s towards the south, 0.60 towards the east) and the attitude, zero when hovering tail down.
        let through = (r[8] + 1.59).hypot(r[9] - 0.60);
        let alpha = r[11] + std::f64::consts::FRAC_PI_2 - (-r[10]).atan2(through);
        if pitot[i] > 3.0 && alpha < 25.0_f64.to_radians() {
            let told = A * turning[i] + B * power[i].powi(2) / turning[i].powi(5);
            squares.push((told - pitot[i]).powi(2));
        }
    }
    let rms = (squares.iter().sum::<f64>() / squares.len() as f64).sqrt();
    println!("{rms:.3} m/s over {} samples", squares.len());
    // Published: 0.59 m/s.
    assert!((rms - 0.59).abs() < 0.02 && squares.len() > 3000, "{rms}");
}
