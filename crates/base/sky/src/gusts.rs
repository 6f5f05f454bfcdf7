//! How does the air move about its mean? Dryden turbulence near the ground and single 1-cosine gusts, both as in
//! MIL-F-8785C, section 3.7 (1980).

use numerics::Vec3;
use numerics::random::Random;
use numerics::units::M_PER_FT;

use crate::wind::Wind;

/// Height range in which the low-altitude scales hold, m (10 to 1000 ft).
pub const LOW_ALTITUDE_M: [f64; 2] = [10.0 * M_PER_FT, 1000.0 * M_PER_FT];

/// Lengths and strengths of the turbulence.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scales {
    /// Length along the mean wind, and across it, m.
    pub along_m: f64,
    /// Vertical length, m.
    pub vertical_m: f64,
    /// Standard deviation along and across the mean wind, m/s.
    pub along_sd_m_s: f64,
    /// Standard deviation of the vertical motion, m/s.
    pub vertical_sd_m_s: f64,
}

impl Scales {
    /// Scales at a height above the ground, for a mean wind at 20 ft (6.1 m): the low-altitude model of
    /// MIL-F-8785C 3.7.3.4, vertical standard deviation a tenth of that wind. `None` outside its heights
    /// ([`LOW_ALTITUDE_M`]).
    #[must_use]
    pub fn low_altitude(height_m: f64, wind_at_20_ft_m_s: f64) -> Option<Self> {
        (LOW_ALTITUDE_M[0]..=LOW_ALTITUDE_M[1]).contains(&height_m).then(|| {
            // The empirical formula takes feet.
            let feet = height_m / M_PER_FT;
            let x = 0.177 + 0.000_823 * feet;
            let vertical_sd_m_s = 0.1 * wind_at_20_ft_m_s;
            Self {
                along_m: height_m / x.powf(1.2),
                vertical_m: height_m,
                along_sd_m_s: vertical_sd_m_s / x.powf(0.4),
                vertical_sd_m_s,
            }
        })
    }
}

/// Turbulence along a flight path: white noise through the shaping filters of the Dryden spectra, each step taken
/// exactly (the matrix exponential of the filter), so that the statistics do not depend on the step.
#[derive(Debug, Clone)]
pub struct Dryden {
    random: Random,
    along: f64,
    across: [f64; 2],
    vertical: [f64; 2],
}

impl Dryden {
    /// Turbulence of a seed, begun in its steady state.
    #[must_use]
    pub fn new(seed: u64, stream: u64) -> Self {
        let mut random = Random::new(seed, stream);
        let along = random.normal();
        // The stationary covariance of the double-pole filter is a quarter of the unit matrix.
        let across = [0.5 * random.normal(), 0.5 * random.normal()];
        let vertical = [0.5 * random.normal(), 0.5 * random.normal()];
        Self { random, along, across, vertical }
    }

    /// Moves on by `dt_s` at an airspeed (m/s) through turbulence of the given scales, and tells the gust along the
    /// mean wind, across it (to the right of the flow) and downward, m/s.
    pub fn step(&mut self, dt_s: f64, airspeed_m_s: f64, scales: &Scales) -> [f64; 3] {
        let passed = (airspeed_m_s.max(0.0) * dt_s).max(0.0);
        let keep = (-passed / scales.along_m).exp();
        self.along = keep * self.along + (1.0 - keep * keep).max(0.0).sqrt() * self.random.normal();
        double_pole(&mut self.across, passed / scales.along_m, &mut self.random);
        double_pole(&mut self.vertical, passed / scales.vertical_m, &mut self.random);
        let output = |x: [f64; 2]| x[0] + 3.0_f64.sqrt() * x[1];
        [
            scales.along_sd_m_s * self.along,
            scales.along_sd_m_s * output(self.across),
            scales.vertical_sd_m_s * output(self.vertical),
        ]
    }
}

/// Turning of the air about the direction of flight: what the difference of vertical gusts over the span does, as the
/// rolling gust of MIL-F-8785C 3.7.1.2: a first-order spectrum whose length is 4 b / π and whose power at great lengths is
/// 0.8 (π L / 4 b)^(1/3) σ²/L, of the vertical gust's length and strength.
#[derive(Debug, Clone)]
pub struct RollingGust {
    random: Random,
    state: f64,
}

impl RollingGust {
    /// Of a seed, begun in its steady state.
    #[must_use]
    pub fn new(seed: u64, stream: u64) -> Self {
        // A stream apart from that of the three velocities.
        let mut random = Random::new(seed ^ 0x5EED_0F5A_1125_70AD, stream);
        let state = random.normal();
        Self { random, state }
    }

    /// Standard deviation of the roll rate of the air, rad/s, over a span: the integral of the spectrum over all
    /// lengths, π/2 over the length 4 b / π.
    #[must_use]
    pub fn sd_rad_s(scales: &Scales, span_m: f64) -> f64 {
        use std::f64::consts::PI;
        let power = 0.8 * (PI * scales.vertical_m / (4.0 * span_m)).cbrt() * scales.vertical_sd_m_s.powi(2)
            / scales.vertical_m;
        (power * PI * PI / (8.0 * span_m)).sqrt()
    }

    /// Moves on by `dt_s` at an airspeed (m/s) and tells the roll rate of the air, rad/s, right side down positive.
    pub fn step(&mut self, dt_s: f64, airspeed_m_s: f64, scales: &Scales, span_m: f64) -> f64 {
        let length_m = 4.0 * span_m / std::f64::consts::PI;
        let keep = (-(airspeed_m_s.max(0.0) * dt_s / length_m)).exp();
        self.state = keep * self.state + (1.0 - keep * keep).max(0.0).sqrt() * self.random.normal();
        Self::sd_rad_s(scales, span_m) * self.state
    }
}

/// A single gust met on the way.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SingleGust {
    /// Way through the air from the launch to its begin, m.
    pub begins_m: f64,
    /// Way from its begin to its peak, m (d_m of MIL-F-8785C 3.7.2).
    pub half_length_m: f64,
    /// Velocity of the air at its peak, over the wind, north-east-down, m/s.
    pub peak_ned_m_s: Vec3,
}

/// The air that one aircraft meets: mean wind by height, turbulence, perhaps one gust.
#[derive(Debug, Clone)]
pub struct MovingAir {
    wind: Wind,
    like_at_20_ft_m_s: f64,
    turbulence: Dryden,
    rolling: RollingGust,
    single: Option<SingleGust>,
    passed_m: f64,
    /// Height for which the scales were last reckoned, and they.
    at: Option<(f64, Scales)>,
}

/// Change of height after which the scales are reckoned anew, m: near the ground the vertical length changes by a
/// twelfth over it, the strengths by a thousandth.
const SAME_HEIGHT_M: f64 = 0.25;

/// Motion of the air at one place and moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AirMotion {
    /// Velocity, north-east-down, m/s.
    pub ned_m_s: Vec3,
    /// Turning about the direction of flight, right side down positive, rad/s.
    pub roll_rad_s: f64,
}

impl MovingAir {
    /// Air of a wind. `intensity` is the standard deviation of vertical gusts over the mean wind at 6 m: 0.1 is what
    /// MIL-F-8785C takes, 0 none.
    #[must_use]
    pub fn new(wind: Wind, intensity: f64, single: Option<SingleGust>, seed: u64, stream: u64) -> Self {
        Self {
            wind,
            like_at_20_ft_m_s: wind.speed_at(20.0 * M_PER_FT) * intensity.max(0.0) / 0.1,
            turbulence: Dryden::new(seed, stream),
            rolling: RollingGust::new(seed, stream),
            single,
            passed_m: 0.0,
            at: None,
        }
    }

    fn scales(&mut self, height_m: f64) -> Option<Scales> {
        match self.at {
            Some((at_m, scales)) if (at_m - height_m).abs() < SAME_HEIGHT_M => Some(scales),
            _ => {
                let scales = Scales::low_altitude(height_m, self.like_at_20_ft_m_s)?;
                self.at = Some((height_m, scales));
                Some(scales)
            }
        }
    }

    /// Moves on by `dt_s` at a height (m) and airspeed (m/s), for a span (m; zero leaves the turning out). Below the
    /// heights of the turbulence model its lowest is taken, and vertical motion fades to nothing at the ground, through
    /// which nothing blows.
    pub fn step(&mut self, dt_s: f64, height_m: f64, airspeed_m_s: f64, span_m: f64) -> AirMotion {
        let height = height_m.max(0.0);
        let mut ned_m_s = self.wind.ned_at_m_s(height);
        let mut roll_rad_s = 0.0;
        let [low, high] = LOW_ALTITUDE_M;
        if self.like_at_20_ft_m_s > 0.0
            && let Some(scales) = self.scales(height.clamp(low, high))
        {
            let [along, across, down] = self.turbulence.step(dt_s, airspeed_m_s, &scales);
            let fade = (height / low).min(1.0);
            ned_m_s += ned_from_along([along, across, down * fade], self.wind.from_rad);
            if span_m > 0.0 {
                roll_rad_s = fade * self.rolling.step(dt_s, airspeed_m_s, &scales, span_m);
            }
        }
        if let Some(gust) = &self.single {
            ned_m_s +=
                gust.peak_ned_m_s * one_minus_cosine(self.passed_m - gust.begins_m, gust.half_length_m, 1.0);
        }
        self.passed_m += airspeed_m_s.max(0.0) * dt_s;
        AirMotion { ned_m_s, roll_rad_s }
    }
}

/// One exact step of the filter (1 + √3 T s) / (1 + T s)² over `r` = time / T, driven so that x + √3 T x' has unit
/// variance. State: x and T x'. Its transition is e^-r [[1 + r, r], [-r, 1 - r]]; with the stationary covariance I/4
/// the noise of a step has covariance (I - A Aᵀ)/4.
fn double_pole(x: &mut [f64; 2], r: f64, random: &mut Random) {
    let e = (-r).exp();
    let a = [[e * (1.0 + r), e * r], [-e * r, e * (1.0 - r)]];
    let q11 = 0.25 * (1.0 - a[0][0] * a[0][0] - a[0][1] * a[0][1]);
    let q12 = -0.25 * (a[0][0] * a[1][0] + a[0][1] * a[1][1]);
    let q22 = 0.25 * (1.0 - a[1][0] * a[1][0] - a[1][1] * a[1][1]);
    let l11 = q11.max(0.0).sqrt();
    let l21 = if l11 > 1e-12 { q12 / l11 } else { 0.0 };
    let l22 = (q22 - l21 * l21).max(0.0).sqrt();
    let (n1, n2) = (random.normal(), random.normal());
    let [x1, x2] = *x;
    x[0] = a[0][0] * x1 + a[0][1] * x2 + l11 * n1;
    x[1] = a[1][0] * x1 + a[1][1] * x2 + l21 * n1 + l22 * n2;
}

/// Turns gusts along the mean wind, across it (to the right of the flow) and downward into north-east-down, for a wind
/// that blows from `from_rad`.
#[must_use]
pub fn ned_from_along(gust_m_s: [f64; 3], from_rad: f64) -> Vec3 {
    let [along, across, down] = gust_m_s;
    let (sin, cos) = from_rad.sin_cos();
    Vec3::new(-along * cos + across * sin, -along * sin - across * cos, down)
}

/// A single gust of 1-cosine shape: rises to its peak over half its length and falls again, m/s, after `x_m` of way
/// into it. `half_length_m` is the gradient length d_m of MIL-F-8785C 3.7.2; the whole gust is 2 d_m long.
#[must_use]
pub fn one_minus_cosine(x_m: f64, half_length_m: f64, peak_m_s: f64) -> f64 {
    if half_length_m > 0.0 && (0.0..=2.0 * half_length_m).contains(&x_m) {
        0.5 * peak_m_s * (1.0 - (std::f64::consts::PI * x_m / half_length_m).cos())
    } else {
        0.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(what: &str, value: f64, expected: f64, relative: f64) {
        assert!((value / expected - 1.0).abs() < relative, "{what}: {value}, expected {expected}");
    }

    #[test]
    fn scales_at_low_altitude_are_those_of_the_specification() {
        // Source: MIL-F-8785C low-altitude model at 20, 50, 100, 200 ft; figures rounded to four digits.
        for (feet, along_feet, ratio) in
            [(20.0, 143.6, 1.929), (50.0, 310.8, 1.839), (100.0, 505.2, 1.716), (200.0, 725.8, 1.537)]
        {
            let s = Scales::low_altitude(feet * M_PER_FT, 5.0).unwrap();
            check("length", s.along_m / M_PER_FT, along_feet, 1e-3);
            check("ratio", s.along_sd_m_s / s.vertical_sd_m_s, ratio, 1e-3);
            check("vertical", s.vertical_sd_m_s, 0.5, 1e-12);
            check("vertical length", s.vertical_m, feet * M_PER_FT, 1e-12);
        }
        // Independent computation of the same formula in metres: 10 m gives 67.366 m and 0.944315 m/s at 5 m/s.
        let s = Scales::low_altitude(10.0, 5.0).unwrap();
        check("length at 10 m", s.along_m, 67.366, 1e-4);
        check("along at 10 m", s.along_sd_m_s, 0.944_315, 1e-4);
        assert!(Scales::low_altitude(1.0, 5.0).is_none());
    }

    /// One-sided power of a series between frequencies, from its discrete Fourier sum over blocks.
    fn band_power(series: &[f64], dt: f64, low_hz: f64, high_hz: f64) -> (f64, usize) {
        let n = 1024;
        let (mut power, mut cells) = (0.0, 0);
        let first = (low_hz * n as f64 * dt).ceil() as usize;
        let last = (high_hz * n as f64 * dt).floor() as usize;
        // A Hann window keeps the strong low frequencies from leaking into the band; its mean square is 3/8.
        let window = |i: usize| 0.5 * (1.0 - (std::f64::consts::TAU * i as f64 / n as f64).cos());
        let blocks = series.chunks_exact(n);
        let count = blocks.len();
        for block in blocks {
            for k in first..=last {
                let (mut re, mut im) = (0.0, 0.0);
                for (i, x) in block.iter().enumerate() {
                    let (s, c) = (std::f64::consts::TAU * (k * i) as f64 / n as f64).sin_cos();
                    re += window(i) * x * c;
                    im += window(i) * x * s;
                }
                power += 2.0 * (re * re + im * im) / (n * n) as f64 / 0.375;
                cells += 1;
            }
        }
        (power / count as f64, cells)
    }

    #[test]
    fn series_have_the_variance_and_spectrum_of_dryden() {
        let scales = Scales { along_m: 60.0, vertical_m: 12.0, along_sd_m_s: 1.3, vertical_sd_m_s: 0.6 };
        let (speed, dt) = (15.0, 0.05);
        let mut air = Dryden::new(3, 0);
        let n = 1024 * 200;
        let mut series = [Vec::new(), Vec::new(), Vec::new()];
        for _ in 0..n {
            for (s, g) in series.iter_mut().zip(air.step(dt, speed, &scales)) {
                s.push(g);
            }
        }
        let root = |x: f64| x * x;
        // One-sided spectra over spatial frequency W = 2 pi f / V, per rad/m (MIL-F-8785C): longitudinal
        // s² (2L/pi) / (1 + (LW)²), the others s² (L/pi) (1 + 3 (LW)²) / (1 + (LW)²)².
        let longitudinal =
            |w: f64, l: f64, s: f64| s * s * 2.0 * l / std::f64::consts::PI / (1.0 + root(l * w));
        let lateral = |w: f64, l: f64, s: f64| {
            s * s * l / std::f64::consts::PI * (1.0 + 3.0 * root(l * w)) / root(1.0 + root(l * w))
        };
        let cases: [(&[f64], f64, f64, bool); 3] =
            [(&series[0], 60.0, 1.3, true), (&series[1], 60.0, 1.3, false), (&series[2], 12.0, 0.6, false)];
        for (data, length, sd, first_order) in cases {
            // Bands well below the Nyquist frequency of 10 Hz, where folding adds less than 3 %.
            for (low, high) in [(0.06, 0.3), (0.3, 1.5)] {
                let (power, cells) = band_power(data, dt, low, high);
                // Each cell of the sum covers 1/(n dt) hertz centred on it.
                let cell = 1.0 / (1024.0 * dt);
                let (from, to) = ((low / cell).ceil() - 0.5, (high / cell).floor() + 0.5);
                let steps = 2000;
                let mut expected = 0.0;
                for i in 0..steps {
                    let f = cell * (from + (to - from) * (f64::from(i) + 0.5) / f64::from(steps));
                    let w = std::f64::consts::TAU * f / speed;
                    let density =
                        if first_order { longitudinal(w, length, sd) } else { lateral(w, length, sd) };
                    expected +=
                        density * std::f64::consts::TAU / speed * cell * (to - from) / f64::from(steps);
                }
                // Each cell scatters by 100 %, the window halves their independence: four standard deviations,
                // and 3 % for folding and the slope within a cell.
                let allowed = 4.0 * (2.0 / cells as f64).sqrt() + 0.03;
                check("power in a band", power, expected, allowed);
            }
        }
        // Variance: correlated over 2 L / V = 8 s of 10 240 s, so 640 independent pairs; sd of a variance sqrt(2/1280).
        for (data, sd) in [(&series[0], 1.3), (&series[1], 1.3), (&series[2], 0.6)] {
            let found = numerics::statistics::standard_deviation(data);
            check("standard deviation", found, sd, 0.08);
        }
    }

    #[test]
    fn the_statistics_do_not_depend_on_the_step() {
        let scales = Scales::low_altitude(30.0, 4.0).unwrap();
        let spread = |dt: f64, n: usize| {
            let mut air = Dryden::new(11, 2);
            let draws: Vec<f64> = (0..n).map(|_| air.step(dt, 14.0, &scales)[2]).collect();
            numerics::statistics::standard_deviation(&draws)
        };
        // Steps of 20 s are independent draws (4000: 1.1 % each); steps of 0.1 s over 8000 s hold some 1900.
        check("long steps", spread(20.0, 4000), scales.vertical_sd_m_s, 0.045);
        check("short steps", spread(0.1, 80_000), scales.vertical_sd_m_s, 0.07);
    }

    #[test]
    fn a_gust_along_the_wind_blows_with_it() {
        let from = 0.7;
        let wind = numerics::frames::wind_ned_m_s(1.0, from);
        let gust = ned_from_along([1.0, 0.0, 0.0], from);
        assert!((wind - gust).norm() < 1e-12);
        let across = ned_from_along([0.0, 1.0, 0.0], from);
        // To the right of the flow, seen from above: down cross along.
        assert!((across - Vec3::z().cross(&wind)).norm() < 1e-12);
    }

    #[test]
    fn the_single_gust_has_the_shape_of_the_specification() {
        // Closed form V/2 (1 - cos(pi x / d)); 5 m/s over 30 m: a quarter at 10 m, the peak at 30 m, over at 60 m.
        for (x, expected) in [(-1.0, 0.0), (0.0, 0.0), (10.0, 1.25), (30.0, 5.0), (50.0, 1.25), (61.0, 0.0)] {
            assert!((one_minus_cosine(x, 30.0, 5.0) - expected).abs() < 1e-9, "{x}");
        }
    }

    #[test]
    fn the_rolling_gust_has_the_strength_and_length_of_the_specification() {
        use std::f64::consts::PI;
        // MIL-F-8785C 3.7.1.2: power 0.8 (pi L/4b)^(1/3) s²/L over 1 + (4 b W/pi)². Its integral over W from zero, done
        // here by the midpoint rule to 2000 times the corner (the rest is 1/(2000 * pi/2)), is the variance.
        let (scales, span) = (Scales::low_altitude(10.0, 5.0).unwrap(), 1.6);
        let length = 4.0 * span / PI;
        let level = 0.8 * (PI * 10.0 / (4.0 * span)).cbrt() * 0.25 / 10.0;
        let (steps, most) = (400_000, 2000.0 / length);
        let sum: f64 = (0..steps)
            .map(|i| {
                let w = most * (f64::from(i) + 0.5) / f64::from(steps);
                level / (1.0 + (length * w).powi(2)) * most / f64::from(steps)
            })
            .sum();
        let sd = RollingGust::sd_rad_s(&scales, span);
        check("variance", sum, sd * sd, 1e-3);
        // The series: that spread, and after one length of way a correlation of 1/e.
        let mut air = RollingGust::new(5, 1);
        let speed = 12.0;
        let dt = length / speed / 4.0;
        let n = 60_000;
        let draws: Vec<f64> = (0..n).map(|_| air.step(dt, speed, &scales, span)).collect();
        // Some n / 8 independent draws: the spread to 1/sqrt(2 * 7500) = 0.8 %, the correlation to 1 %.
        check("spread", numerics::statistics::standard_deviation(&draws), sd, 0.035);
        let lagged: f64 = draws.iter().zip(&draws[4..]).map(|(a, b)| a * b).sum::<f64>() / (n - 4) as f64;
        check("correlation", lagged / (sd * sd), (-1.0_f64).exp(), 0.1);
    }

    #[test]
    fn the_air_of_a_flight_is_the_wind_and_what_is_laid_upon_it() {
        let wind = Wind::new(4.0, 0.0, 10.0, crate::wind::Profile::Even).unwrap();
        let gust = SingleGust { begins_m: 5.0, half_length_m: 30.0, peak_ned_m_s: Vec3::new(0.0, 0.0, -5.0) };
        let mut air = MovingAir::new(wind, 0.0, Some(gust), 1, 0);
        // 15 m of way: 10 m into the gust, a quarter of its peak (closed form), and no turbulence.
        for _ in 0..15 {
            air.step(0.1, 3.0, 10.0, 1.6);
        }
        let now = air.step(0.1, 3.0, 10.0, 1.6);
        assert!((now.ned_m_s - Vec3::new(-4.0, 0.0, -1.25)).norm() < 1e-9, "{now:?}");
        assert!(now.roll_rad_s.abs() < 1e-12);
        // On the ground nothing blows up or down.
        let mut rough = MovingAir::new(wind, 0.2, None, 1, 0);
        assert!((0..50).all(|_| rough.step(0.1, 0.0, 10.0, 1.6).ned_m_s.z.abs() < 1e-12));
        assert!((0..50).any(|_| rough.step(0.1, 10.0, 10.0, 1.6).ned_m_s.z.abs() > 0.1));
    }
}
