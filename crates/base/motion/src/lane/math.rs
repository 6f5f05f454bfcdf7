//! Functions and three-vectors over lanes, built of operations that are exact to the last bit, so that they give the
//! same bits in any width.

use super::Lane;

/// Arctangent of a/√z over √z, fitted over squares up to tan²(π/8) by Chebyshev interpolation in 40 digits; largest
/// error 4e-17.
const ARC: [f64; 11] = [
    1.0,
    -0.333_333_333_333_284_4,
    0.199_999_999_988_551_1,
    -0.142_857_141_809_764_67,
    0.111_111_061_804_559_46,
    -0.090_907_730_748_084_14,
    0.076_899_534_963_068_57,
    -0.066_402_339_304_294_08,
    0.056_883_492_268_090_106,
    -0.043_480_522_157_164_62,
    0.021_135_373_157_693_246,
];

/// Polynomial in `x`, coefficients from the constant up.
#[inline(always)]
fn polynomial<L: Lane, const N: usize>(x: L, coefficients: &[f64; N]) -> L {
    let mut sum = x.same(0.0);
    for c in coefficients.iter().rev() {
        sum = sum * x + *c;
    }
    sum
}

/// Angle of the point (x, y), rad in [-π, π]; zero at the origin.
#[inline(always)]
pub fn atan2<L: Lane>(y: L, x: L) -> L {
    let (ax, ay) = (x.abs(), y.abs());
    let steep = ax.below(ay);
    let (low, high) = (ax.where_or(steep, ay), ay.where_or(steep, ax));
    // Zero over zero must give zero.
    let ratio = low / high.greater(x.same(f64::MIN_POSITIVE));
    let far = x.same(std::f64::consts::SQRT_2 - 1.0).below(ratio);
    let turned = ((ratio - 1.0) / (ratio + 1.0)).where_or(far, ratio);
    let base = turned * polynomial(turned * turned, &ARC);
    let first = (base + std::f64::consts::FRAC_PI_4).where_or(far, base);
    let quadrant = (-first + std::f64::consts::FRAC_PI_2).where_or(steep, first);
    let zero = x.same(0.0);
    let half = (-quadrant + std::f64::consts::PI).where_or(x.below(zero), quadrant);
    (-half).where_or(y.below(zero), half)
}

/// Arcsine, rad; the argument is held to [-1, 1].
#[inline(always)]
pub fn asin<L: Lane>(sine: L) -> L {
    let s = sine.between(-1.0, 1.0);
    atan2(s, (s.same(1.0) - s * s).greater(s.same(0.0)).sqrt())
}

/// Sine and cosine of an angle, rad; to 1e-15 for angles up to some thousand turns.
#[inline(always)]
pub fn sin_cos<L: Lane>(angle: L) -> (L, L) {
    // Adding and taking away 1.5 times 2^52 rounds to a whole number.
    const ROUND: f64 = 6_755_399_441_055_744.0;
    // Two parts of π/2, so that their products with small whole numbers are exact.
    const HALF_PI: f64 = 1.570_796_326_734_125_6;
    const REST: f64 = 6.077_100_506_506_192e-11;
    let quarters = (angle * std::f64::consts::FRAC_2_PI + ROUND) - ROUND;
    let x = (angle - quarters * HALF_PI) - quarters * REST;
    let z = x * x;
    // Taylor to x^17 and x^16: the next terms are below 1e-17 at π/4.
    const SINE: [f64; 9] = [
        1.0,
        -1.0 / 6.0,
        1.0 / 120.0,
        -1.0 / 5040.0,
        1.0 / 362_880.0,
        -1.0 / 39_916_800.0,
        1.0 / 6_227_020_800.0,
        -1.0 / 1_307_674_368_000.0,
        1.0 / 355_687_428_096_000.0,
    ];
    const COSINE: [f64; 9] = [
        1.0,
        -0.5,
        1.0 / 24.0,
        -1.0 / 720.0,
        1.0 / 40_320.0,
        -1.0 / 3_628_800.0,
        1.0 / 479_001_600.0,
        -1.0 / 87_178_291_200.0,
        1.0 / 20_922_789_888_000.0,
    ];
    let sine = x * polynomial(z, &SINE);
    let cosine = polynomial(z, &COSINE);
    // Which of the four quarters: the remainder of the whole number by four, by the same rounding.
    let quarter = quarters - ((quarters * 0.25 - 0.375 + ROUND) - ROUND) * 4.0;
    let (zero, one, two) = (angle.same(0.5), angle.same(1.5), angle.same(2.5));
    let in_0 = quarter.below(zero);
    let in_1 = quarter.below(one);
    let in_2 = quarter.below(two);
    let s = sine.where_or(in_0, cosine.where_or(in_1, (-sine).where_or(in_2, -cosine)));
    let c = cosine.where_or(in_0, (-sine).where_or(in_1, (-cosine).where_or(in_2, sine)));
    (s, c)
}

/// A vector of three.
pub type V3<L> = [L; 3];

/// Sum of two vectors.
#[inline(always)]
pub fn add<L: Lane>(a: V3<L>, b: V3<L>) -> V3<L> {
    [a[0] + b[0], a[1] + b[1], a[2] + b[2]]
}

/// Difference of two vectors.
#[inline(always)]
pub fn sub<L: Lane>(a: V3<L>, b: V3<L>) -> V3<L> {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}

/// A vector times a number.
#[inline(always)]
pub fn scale<L: Lane>(a: V3<L>, by: L) -> V3<L> {
    [a[0] * by, a[1] * by, a[2] * by]
}

/// Inner product.
#[inline(always)]
pub fn dot<L: Lane>(a: V3<L>, b: V3<L>) -> L {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

/// Outer product.
#[inline(always)]
pub fn cross<L: Lane>(a: V3<L>, b: V3<L>) -> V3<L> {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

/// A matrix (rows) times a vector.
#[inline(always)]
pub fn times<L: Lane>(m: &[V3<L>; 3], v: V3<L>) -> V3<L> {
    [dot(m[0], v), dot(m[1], v), dot(m[2], v)]
}

/// The transpose of a matrix (rows) times a vector.
#[inline(always)]
pub fn transposed_times<L: Lane>(m: &[V3<L>; 3], v: V3<L>) -> V3<L> {
    [
        m[0][0] * v[0] + m[1][0] * v[1] + m[2][0] * v[2],
        m[0][1] * v[0] + m[1][1] * v[1] + m[2][1] * v[2],
        m[0][2] * v[0] + m[1][2] * v[1] + m[2][2] * v[2],
    ]
}

/// Rotation matrix (rows) of a quaternion, scalar first, that need not have unit length.
#[inline(always)]
pub fn rotation<L: Lane>(q: [L; 4]) -> [V3<L>; 3] {
    let [w, x, y, z] = q;
    let norm2 = w * w + x * x + y * y + z * z;
    let s = norm2.same(2.0) / norm2;
    let one = w.same(1.0);
    let (xs, ys, zs) = (x * s, y * s, z * s);
    let (wx, wy, wz) = (w * xs, w * ys, w * zs);
    let (xx, xy, xz) = (x * xs, x * ys, x * zs);
    let (yy, yz, zz) = (y * ys, y * zs, z * zs);
    [
        [one - (yy + zz), xy - wz, xz + wy],
        [xy + wz, one - (xx + zz), yz - wx],
        [xz - wy, yz + wx, one - (xx + yy)],
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_angle_of_a_point_is_that_of_the_standard_library() {
        // Two units in the last place of π.
        for i in -400..=400_i32 {
            for radius in [1e-9, 1.0, 37.5] {
                let angle = f64::from(i) * std::f64::consts::PI / 400.3;
                let (y, x) = (radius * angle.sin(), radius * angle.cos());
                assert!((atan2(y, x) - y.atan2(x)).abs() < 9e-16, "{angle}");
            }
        }
        assert_eq!(atan2(0.0, 0.0), 0.0);
        assert_eq!(atan2(0.0, -1.0), std::f64::consts::PI);
        assert_eq!(atan2(-2.0, 0.0), -std::f64::consts::FRAC_PI_2);
        for i in -100..=100_i32 {
            let x = f64::from(i) / 100.0;
            assert!((asin(x) - x.asin()).abs() < 1e-15);
        }
    }

    #[test]
    fn sine_and_cosine_are_those_of_the_standard_library() {
        for i in -3000..=3000_i32 {
            let x = f64::from(i) * 0.01;
            let (s, c) = sin_cos(x);
            assert!((s - x.sin()).abs() < 1e-15 && (c - x.cos()).abs() < 1e-15, "{x}: {s} {c}");
        }
    }
}
