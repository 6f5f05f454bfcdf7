//! What shape is a rib? Mean line and thickness of a section, by its digits or its coordinates.

/// A wing section.
#[derive(Debug, Clone, PartialEq)]
pub struct Section {
    /// As the file names it ("naca 2412", "clark-y.dat").
    pub name: String,
    /// Its shape on a chord of one.
    pub shape: Shape,
}

/// The shape of a section on a chord of one, x from the leading edge aft, y up.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    /// NACA four-digit: greatest camber, its place, thickness, as fractions of the chord (2412: 0.02, 0.4, 0.12).
    Naca4 {
        /// Greatest camber over chord.
        camber: f64,
        /// Where the greatest camber is, over chord.
        camber_at: f64,
        /// Thickness over chord.
        thickness: f64,
    },
    /// NACA five-digit: design lift coefficient, place of greatest camber, thickness (23012: 0.3, 0.15, 0.12), and
    /// whether its mean line turns up towards the trailing edge so that its moment vanishes (23112).
    Naca5 {
        /// Design lift coefficient.
        design_lift: f64,
        /// Where the greatest camber is, over chord.
        camber_at: f64,
        /// Thickness over chord.
        thickness: f64,
        /// Whether the mean line is reflexed.
        reflexed: bool,
    },
    /// Points from a coordinate file, put in order: from the trailing edge over the upper side to the nose and
    /// back along the lower side, chord scaled to one.
    Points(Vec<[f64; 2]>),
}

impl Section {
    /// Height of the mean line over the chord line at `x` (0 at the leading edge, 1 at the trailing edge), over chord.
    ///
    /// For points it is half the sum of upper and lower side at the same `x`. Outside 0 to 1 the nearest end is taken.
    #[must_use]
    pub fn mean_line(&self, x: f64) -> f64 {
        let x = x.clamp(0.0, 1.0);
        match &self.shape {
            Shape::Naca4 { camber, camber_at, .. } => {
                let (m, p) = (*camber, *camber_at);
                if m == 0.0 || p <= 0.0 || p >= 1.0 {
                    0.0
                } else if x < p {
                    m / (p * p) * (2.0 * p * x - x * x)
                } else {
                    m / ((1.0 - p) * (1.0 - p)) * (1.0 - 2.0 * p + 2.0 * p * x - x * x)
                }
            }
            Shape::Naca5 { design_lift, camber_at, reflexed: true, .. } => reflexed(*design_lift, *camber_at)
                .map_or(0.0, |(r, k, q)| {
                    let cubed = if x < r { (x - r).powi(3) } else { q * (x - r).powi(3) };
                    k / 6.0 * (cubed - (q * (1.0 - r).powi(3) + r.powi(3)) * x + r.powi(3))
                }),
            Shape::Naca5 { design_lift, camber_at, .. } => {
                five_digit(*design_lift, *camber_at).map_or(0.0, |(r, k)| {
                    if x < r {
                        k / 6.0 * (x * x * x - 3.0 * r * x * x + r * r * (3.0 - r) * x)
                    } else {
                        k * r * r * r / 6.0 * (1.0 - x)
                    }
                })
            }
            Shape::Points(points) => {
                let (upper, lower) = sides(points);
                0.5 * (height(upper, x) + height(lower, x))
            }
        }
    }

    /// Slope of the mean line, rise over run, at `x` (0 at the leading edge, 1 at the trailing edge).
    ///
    /// For points it is the mean slope over a twentieth of the chord around `x`: drawn coordinates carry rounding, and
    /// a derivative would show that instead of the section.
    #[must_use]
    pub fn mean_line_slope(&self, x: f64) -> f64 {
        let x = x.clamp(0.0, 1.0);
        match &self.shape {
            Shape::Naca4 { camber, camber_at, .. } => {
                let (m, p) = (*camber, *camber_at);
                if m == 0.0 || p <= 0.0 || p >= 1.0 {
                    0.0
                } else if x < p {
                    2.0 * m / (p * p) * (p - x)
                } else {
                    2.0 * m / ((1.0 - p) * (1.0 - p)) * (p - x)
                }
            }
            Shape::Naca5 { design_lift, camber_at, reflexed: true, .. } => reflexed(*design_lift, *camber_at)
                .map_or(0.0, |(r, k, q)| {
                    let squared = if x < r { (x - r).powi(2) } else { q * (x - r).powi(2) };
                    k / 6.0 * (3.0 * squared - q * (1.0 - r).powi(3) - r.powi(3))
                }),
            Shape::Naca5 { design_lift, camber_at, .. } => {
                five_digit(*design_lift, *camber_at).map_or(0.0, |(r, k)| {
                    if x < r {
                        k / 6.0 * (3.0 * x * x - 6.0 * r * x + r * r * (3.0 - r))
                    } else {
                        -k * r * r * r / 6.0
                    }
                })
            }
            Shape::Points(_) => {
                let low = (x - SLOPE_WINDOW).max(0.0);
                let high = (x + SLOPE_WINDOW).min(1.0);
                (self.mean_line(high) - self.mean_line(low)) / (high - low)
            }
        }
    }

    /// Greatest thickness, over chord.
    #[must_use]
    pub fn thickness(&self) -> f64 {
        match &self.shape {
            Shape::Naca4 { thickness, .. } | Shape::Naca5 { thickness, .. } => *thickness,
            Shape::Points(points) => {
                let (upper, lower) = sides(points);
                (1..200)
                    .map(|i| f64::from(i) / 200.0)
                    .map(|x| height(upper, x) - height(lower, x))
                    .fold(0.0, f64::max)
            }
        }
    }

    /// Greatest height of the mean line over the chord line, over chord; negative where the section is bent down.
    #[must_use]
    pub fn camber(&self) -> f64 {
        match &self.shape {
            Shape::Naca4 { camber, .. } => *camber,
            _ => (1..200)
                .map(|i| self.mean_line(f64::from(i) / 200.0))
                .fold(0.0, |most, z| if z.abs() > f64::abs(most) { z } else { most }),
        }
    }
}

/// Half the length over which the slope of a mean line by points is averaged, over chord.
const SLOPE_WINDOW: f64 = 0.025;

/// End of the curved part and strength of the five-digit mean line: the place of greatest camber gives the former, the
/// lift at the ideal angle the latter. Source: Jacobs & Pinkerton, NACA Rep. 537 (1935); closed form of the strength
/// in Ladson et al., NASA TM-4741 (1996). None where the place of camber has no such line.
fn five_digit(design_lift: f64, camber_at: f64) -> Option<(f64, f64)> {
    if !(0.0..0.4).contains(&camber_at) || camber_at == 0.0 {
        return None;
    }
    // p = r (1 - sqrt(r/3)) grows with r up to r = 4/3, so plain repetition settles.
    let mut r = camber_at;
    for _ in 0..200 {
        r = camber_at / (1.0 - (r / 3.0).sqrt());
    }
    if !(r.is_finite() && r > 0.0 && r < 1.0) {
        return None;
    }
    let q = (3.0 * r - 7.0 * r * r + 8.0 * r.powi(3) - 4.0 * r.powi(4)) / (r * (1.0 - r)).sqrt()
        - 1.5 * (1.0 - 2.0 * r) * (std::f64::consts::FRAC_PI_2 - (1.0 - 2.0 * r).asin());
    Some((r, 6.0 * design_lift / q))
}

/// Places of greatest camber of the reflexed five-digit mean lines, with the end of their forward part and its
/// strength at a design lift coefficient of 0.3. Source: Jacobs & Pinkerton, NACA Rep. 537 (1935), lines 221, 231, 241
/// and 251, from memory; the tests hold them against the conditions that define them.
#[expect(clippy::approx_constant, reason = "0.318 is a printed place along a chord, not 1/pi")]
const REFLEXED: [(f64, f64, f64); 4] =
    [(0.10, 0.1300, 51.990), (0.15, 0.2170, 15.793), (0.20, 0.3180, 6.520), (0.25, 0.4410, 3.191)];

/// End of the forward part, strength of it, and the strength behind as a share of it, of a reflexed five-digit mean
/// line. The share follows from a level mean line at the place of greatest camber. None where the place has no line.
fn reflexed(design_lift: f64, camber_at: f64) -> Option<(f64, f64, f64)> {
    let (p, r, k) = REFLEXED.into_iter().find(|(p, ..)| (p - camber_at).abs() < 1e-6)?;
    let share = (3.0 * (r - p).powi(2) - r.powi(3)) / (1.0 - r).powi(3);
    Some((r, k * design_lift / 0.3, share))
}

/// Upper side (trailing edge to nose) and lower side (nose to trailing edge), both with the nose.
fn sides(points: &[[f64; 2]]) -> (&[[f64; 2]], &[[f64; 2]]) {
    let nose = points.iter().enumerate().min_by(|a, b| a.1[0].total_cmp(&b.1[0])).map_or(0, |(i, _)| i);
    (points.get(..=nose).unwrap_or_default(), points.get(nose..).unwrap_or_default())
}

/// Height of a side at `x` by straight lines between its points; the nearest end outside them.
fn height(side: &[[f64; 2]], x: f64) -> f64 {
    for pair in side.windows(2) {
        if let [a, b] = pair {
            let (low, high) = if a[0] < b[0] { (a, b) } else { (b, a) };
            if x >= low[0] && x <= high[0] && high[0] > low[0] {
                return low[1] + (high[1] - low[1]) * (x - low[0]) / (high[0] - low[0]);
            }
        }
    }
    let end = if x > 0.5 {
        side.iter().max_by(|a, b| a[0].total_cmp(&b[0]))
    } else {
        side.iter().min_by(|a, b| a[0].total_cmp(&b[0]))
    };
    end.map_or(0.0, |p| p[1])
}

#[cfg(test)]
mod tests {
    use std::f64::consts::PI;

    use super::*;

    /// Zero-lift angle (rad) and moment coefficient about the quarter chord by the thin-section integrals
    /// (Glauert; Abbott & von Doenhoff, Theory of Wing Sections, ch. 4), midpoint rule in the angle.
    fn thin(section: &Section) -> (f64, f64) {
        let n = 20_000;
        let (mut zero, mut a1, mut a2) = (0.0, 0.0, 0.0);
        for i in 0..n {
            let angle = PI * (f64::from(i) + 0.5) / f64::from(n);
            let slope = section.mean_line_slope(0.5 * (1.0 - angle.cos()));
            let d = PI / f64::from(n);
            zero -= slope * (angle.cos() - 1.0) * d / PI;
            a1 += 2.0 / PI * slope * angle.cos() * d;
            a2 += 2.0 / PI * slope * (2.0 * angle).cos() * d;
        }
        (zero, PI / 4.0 * (a2 - a1))
    }

    fn four(camber: f64, camber_at: f64, thickness: f64) -> Section {
        Section { name: "four digits".into(), shape: Shape::Naca4 { camber, camber_at, thickness } }
    }

    #[track_caller]
    fn check(name: &str, section: &Section, zero_deg: f64, moment: f64, tolerance: f64) {
        let (zero, cm) = thin(section);
        assert!(
            (zero.to_degrees() / zero_deg - 1.0).abs() < tolerance,
            "{name}: zero lift at {} deg instead of {zero_deg}",
            zero.to_degrees()
        );
        assert!((cm / moment - 1.0).abs() < tolerance, "{name}: moment {cm} instead of {moment}");
    }

    #[test]
    fn mean_lines_by_digits_give_the_thin_section_values() {
        // Abbott & von Doenhoff's integrals: 2412 -2.08 deg, -0.053; 4412 -4.15 deg, -0.107. 1 %: printed digits.
        check("2412", &four(0.02, 0.4, 0.12), -2.08, -0.0531, 0.01);
        check("4412", &four(0.04, 0.4, 0.12), -4.15, -0.1062, 0.01);
    }

    #[test]
    fn the_five_digit_line_has_the_published_constants() {
        // NACA Rep. 537, line 230: r 0.2025, k1 15.957.
        let (r, k) = five_digit(0.3, 0.15).unwrap();
        assert!((r - 0.2025).abs() < 2e-4 && (k / 15.957 - 1.0).abs() < 0.005, "{r} {k}");
        // And its ideal lift coefficient, pi A1 ... with A0 = alpha, is the design value: cl at the ideal angle = pi A1.
        let section = Section {
            name: "23012".into(),
            shape: Shape::Naca5 { design_lift: 0.3, camber_at: 0.15, thickness: 0.12, reflexed: false },
        };
        let n = 40_000;
        let a1: f64 = (0..n)
            .map(|i| {
                let angle = PI * (f64::from(i) + 0.5) / f64::from(n);
                2.0 / f64::from(n) * section.mean_line_slope(0.5 * (1.0 - angle.cos())) * angle.cos()
            })
            .sum();
        assert!((PI * a1 - 0.3).abs() < 1e-3, "{}", PI * a1);
    }

    #[test]
    fn reflexed_lines_have_no_moment_and_the_published_constants() {
        // NACA Rep. 537, table of the reflexed lines, from memory: k2/k1 beside the place of greatest camber.
        for (at, share) in [(0.10, 0.000_764), (0.15, 0.006_77), (0.20, 0.0303), (0.25, 0.1355)] {
            let (r, k, q) = reflexed(0.3, at).unwrap();
            // 2 %: r is printed with three or four digits; k2/k1 is the difference of two numbers near each other.
            assert!((q / share - 1.0).abs() < 0.02, "{at}: {q} instead of {share}");
            let section = Section {
                name: "reflexed".into(),
                shape: Shape::Naca5 { design_lift: 0.3, camber_at: at, thickness: 0.12, reflexed: true },
            };
            // What defines the lines (the report; integrals of thin sections): no moment about the quarter chord, and
            // pi A1 = 0.3 at the ideal angle of attack. The printed r has three digits, which leaves up to 0.0014 and
            // 1.7 %; a plain line with its camber at the same place has four times that moment and more.
            let (_, moment) = thin(&section);
            let plain = Section {
                name: "plain".into(),
                shape: Shape::Naca5 { design_lift: 0.3, camber_at: at, thickness: 0.12, reflexed: false },
            };
            assert!(moment.abs() < 0.0015 && moment.abs() < -0.25 * thin(&plain).1, "{at}: moment {moment}");
            let n = 20_000;
            let a1: f64 = (0..n)
                .map(|i| {
                    let angle = PI * (f64::from(i) + 0.5) / f64::from(n);
                    2.0 / f64::from(n) * section.mean_line_slope(0.5 * (1.0 - angle.cos())) * angle.cos()
                })
                .sum();
            assert!((PI * a1 / 0.3 - 1.0).abs() < 0.02, "{at}: ideal lift {}", PI * a1);
            // Both ends on the chord line, level at the greatest camber, and curved up behind it.
            assert!(section.mean_line(0.0).abs() < 1e-12 && section.mean_line(1.0).abs() < 1e-12);
            assert!(section.mean_line_slope(at).abs() < 1e-9, "{r} {k}");
            assert!(section.mean_line_slope(1.0) > section.mean_line_slope(r));
        }
    }

    #[test]
    fn slopes_are_the_derivatives_of_the_mean_lines() {
        for section in [
            four(0.03, 0.35, 0.1),
            Section {
                name: "five digits".into(),
                shape: Shape::Naca5 { design_lift: 0.45, camber_at: 0.2, thickness: 0.1, reflexed: false },
            },
            Section {
                name: "reflexed".into(),
                shape: Shape::Naca5 { design_lift: 0.3, camber_at: 0.25, thickness: 0.1, reflexed: true },
            },
        ] {
            for x in [0.1, 0.3, 0.6, 0.9] {
                let by_difference = (section.mean_line(x + 1e-6) - section.mean_line(x - 1e-6)) / 2e-6;
                assert!((by_difference - section.mean_line_slope(x)).abs() < 1e-7);
            }
        }
    }

    #[test]
    fn points_of_a_four_digit_shape_give_its_camber_thickness_and_zero_lift_angle() {
        // Points laid with vertical thickness on the mean line, so that the mean line is exact by construction.
        let exact = four(0.04, 0.4, 0.12);
        let thickness = |x: f64| {
            0.6 * (0.2969 * x.sqrt() - 0.126 * x - 0.3516 * x * x + 0.2843 * x.powi(3) - 0.1036 * x.powi(4))
        };
        let at = |i: i32| 0.5 * (1.0 - (PI * f64::from(i) / 60.0).cos());
        let mut points: Vec<[f64; 2]> =
            (0..=60).rev().map(|i| [at(i), exact.mean_line(at(i)) + thickness(at(i))]).collect();
        points.extend((1..=60).map(|i| [at(i), exact.mean_line(at(i)) - thickness(at(i))]));
        let section = Section { name: "points".into(), shape: Shape::Points(points) };
        assert!((section.camber() - 0.04).abs() < 2e-4, "{}", section.camber());
        assert!((section.thickness() - 0.12).abs() < 5e-4, "{}", section.thickness());
        // 2 %: the slope is averaged over a twentieth of the chord.
        check("4412 by points", &section, -4.15, -0.1062, 0.02);
    }
}
