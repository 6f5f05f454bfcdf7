//! What number does a cell hold? Decimal text to the nearest double, without copying where possible.

/// Powers of ten that a double holds exactly: a whole number below 2^53 divided by one of them is the nearest
/// double to the decimal (Clinger, "How to read floating point numbers accurately", PLDI 1990).
const EXACT_POWERS: [f64; 23] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18,
    1e19, 1e20, 1e21, 1e22,
];

/// Most decimal digits that a 64-bit whole number surely holds.
const MOST_DIGITS: usize = 19;

/// Parses a number at the begin of `bytes`: its value and how many bytes it takes. Nothing if there is none.
#[inline]
pub(crate) fn leading<const MARK: u8>(bytes: &[u8]) -> Option<(f64, usize)> {
    let negative = bytes.first() == Some(&b'-');
    let mut at = usize::from(negative);
    let begin = at;
    let mut whole: u64 = 0;
    while let Some(digit) = bytes.get(at).map(|b| b.wrapping_sub(b'0')).filter(|d| *d < 10) {
        whole = whole.wrapping_mul(10).wrapping_add(u64::from(digit));
        at += 1;
    }
    let mut digits = at - begin;
    let mut after = 0;
    if bytes.get(at) == Some(&MARK) {
        at += 1;
        let first = at;
        while let Some(digit) = bytes.get(at).map(|b| b.wrapping_sub(b'0')).filter(|d| *d < 10) {
            whole = whole.wrapping_mul(10).wrapping_add(u64::from(digit));
            at += 1;
        }
        after = at - first;
        digits += after;
    }
    let plain = !matches!(bytes.get(at), Some(b'e' | b'E'));
    if digits == 0 || digits > MOST_DIGITS || whole >= 1 << 53 || !plain {
        return general::<MARK>(bytes);
    }
    let value = whole as f64 / EXACT_POWERS.get(after)?;
    Some((if negative { -value } else { value }, at))
}

/// Everything else that is a number: exponents, a plus sign, many digits.
#[cold]
fn general<const MARK: u8>(bytes: &[u8]) -> Option<(f64, usize)> {
    let (bytes, plus) = match bytes {
        [b'+', rest @ ..] if rest.first() != Some(&b'-') => (rest, 1),
        _ => (bytes, 0),
    };
    let (value, used) = if MARK == b'.' {
        fast_float2::parse_partial::<f64, _>(bytes).ok()?
    } else {
        let mut copy = [0_u8; 64];
        let length = bytes.len().min(copy.len());
        for (to, from) in copy.iter_mut().zip(bytes) {
            *to = match *from {
                b if b == MARK => b'.',
                b'.' => b' ',
                b => b,
            };
        }
        fast_float2::parse_partial::<f64, _>(copy.get(..length)?).ok()?
    };
    // An infinite value is no measurement.
    let value = if value.is_finite() { value } else { f64::NAN };
    (used > 0).then_some((value, used + plus))
}

/// What a whole cell holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Cell {
    /// A number.
    Number(f64),
    /// Nothing, or a word for nothing.
    Nothing,
    /// Something else.
    Text,
}

/// Reads a whole cell.
pub(crate) fn cell<const MARK: u8>(bytes: &[u8]) -> Cell {
    let bytes = bytes.trim_ascii();
    if bytes.is_empty() {
        return Cell::Nothing;
    }
    if let Some((value, used)) = leading::<MARK>(bytes)
        && used == bytes.len()
    {
        return if value.is_nan() { Cell::Nothing } else { Cell::Number(value) };
    }
    let nothing = ["nan", "null", "none", "na", "n/a", "-", "--", "inf", "-inf", "-nan"];
    if nothing.iter().any(|word| word.as_bytes().eq_ignore_ascii_case(bytes)) {
        Cell::Nothing
    } else {
        Cell::Text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(text: &str, expected: Cell) {
        assert_eq!(cell::<b'.'>(text.as_bytes()), expected, "{text}");
    }

    #[test]
    fn cells_hold_numbers_nothing_or_text() {
        check("12.5", Cell::Number(12.5));
        check(" -0.25 ", Cell::Number(-0.25));
        check("+7", Cell::Number(7.0));
        check(".5", Cell::Number(0.5));
        check("5.", Cell::Number(5.0));
        check("1e-3", Cell::Number(0.001));
        check("1234567890123456789", Cell::Number(1_234_567_890_123_456_789_u64 as f64));
        check("", Cell::Nothing);
        check("NaN", Cell::Nothing);
        check("-", Cell::Nothing);
        check("1.2.3", Cell::Text);
        check("12 V", Cell::Text);
        check("+-1", Cell::Text);
        check("0x10", Cell::Text);
        assert_eq!(cell::<b','>(b"1,5"), Cell::Number(1.5));
        assert_eq!(cell::<b','>(b"1,5e2"), Cell::Number(150.0));
        assert_eq!(cell::<b','>(b"1.5"), Cell::Text);
    }

    proptest::proptest! {
        #[test]
        fn decimal_text_gives_the_same_double_as_the_standard_library(value in proptest::num::f64::NORMAL, digits in 0_usize..20) {
            for text in [format!("{value}"), format!("{value:e}"), format!("{:.digits$}", value % 1e6)] {
                let expected: f64 = text.parse().unwrap();
                proptest::prop_assert_eq!(cell::<b'.'>(text.as_bytes()), Cell::Number(expected));
            }
        }
    }
}
