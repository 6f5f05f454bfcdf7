//! How is a number written for people? As `numerics::words` writes it everywhere; and coarser where the number is a
//! prediction without a doubt beside it, so that no digit is read that nobody knows.

pub use numerics::words::{duration, exact, fixed, plain, readable_unit, with_doubt};

/// A predicted value without doubt, to two significant digits ("9.6 m/s", "13 m/s", "0.3 s"), whole from 10 up. More
/// digits would claim what a prediction does not know.
#[must_use]
pub fn coarse(value: f64, unit: &str) -> String {
    // The unit is written as beside any other number: a zero in front of it is cut off again.
    let suffix = exact(0.0, unit).strip_prefix('0').unwrap_or_default().to_owned();
    if !value.is_finite() {
        return "unknown".to_owned();
    }
    let size = value.abs();
    let decimals = if size < 1e-9 { 0 } else { (1.0 - size.log10().floor()).clamp(0.0, 4.0) as usize };
    let text = fixed(value, decimals);
    let text =
        if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text };
    format!("{text}{suffix}")
}

/// A predicted length of time: whole minutes from ten minutes up, tens of seconds from two minutes up, below that
/// five seconds.
#[must_use]
pub fn about(seconds: f64) -> String {
    let step = if seconds >= 600.0 {
        60.0
    } else if seconds >= 120.0 {
        10.0
    } else {
        5.0
    };
    duration((seconds / step).round() * step)
}

/// Words from another room as a sentence of its own: first letter large, a full stop at the end, true minus signs, and
/// no zero with a minus.
#[must_use]
pub fn sentence(words: &str) -> String {
    let words = with_true_minus(words.trim());
    let mut letters = words.chars();
    let Some(first) = letters.next() else {
        return String::new();
    };
    // A unit or a name that begins with a small letter by right is not at the beginning of any sentence here.
    let mut out: String = first.to_uppercase().chain(letters).collect();
    if !out.ends_with(['.', '!', '?', ':']) {
        out.push('.');
    }
    out
}

/// A hyphen that stands for a minus becomes one; a minus before nothing but zeros goes away.
fn with_true_minus(words: &str) -> String {
    let letters: Vec<char> = words.chars().collect();
    let mut out = String::with_capacity(words.len() + 8);
    for (i, letter) in letters.iter().enumerate() {
        let before = i.checked_sub(1).and_then(|b| letters.get(b));
        let begins = before.is_none_or(|c| c.is_whitespace() || "(±".contains(*c));
        let number: String =
            letters.iter().skip(i + 1).take_while(|c| c.is_ascii_digit() || **c == '.').collect();
        if matches!(letter, '-' | '\u{2212}') && begins && number.starts_with(|c: char| c.is_ascii_digit()) {
            if number.bytes().any(|b| (b'1'..=b'9').contains(&b)) {
                out.push('\u{2212}');
            }
        } else {
            out.push(*letter);
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn seen(text: &str) -> String {
        text.replace('\u{a0}', " ")
    }

    #[test]
    fn a_prediction_without_doubt_keeps_two_digits() {
        // By hand.
        for (value, unit, text) in [
            (9.58, "m/s", "9.6 m/s"),
            (13.24, "m/s", "13 m/s"),
            (0.298, "s", "0.3 s"),
            (-0.042, "", "\u{2212}0.042"),
            (0.0, "deg", "0°"),
            (155.2, "deg/s", "155°/s"),
            (f64::NAN, "m", "unknown"),
        ] {
            assert_eq!(seen(&coarse(value, unit)), text);
        }
    }

    #[test]
    fn a_predicted_time_has_no_odd_seconds() {
        // By hand.
        for (seconds, text) in [
            (1885.0, "31 min"),
            (263.0, "4 min 20 s"),
            (119.0, "2 min"),
            (47.0, "45 s"),
            (f64::NAN, "unknown"),
        ] {
            assert_eq!(seen(&about(seconds)), text);
        }
    }

    #[test]
    fn words_become_a_sentence_with_true_minus_signs() {
        assert_eq!(
            sentence("the elevator stood off by -8 ± 2 µs (-0.0 turns), -0 ± 1, on 2-3 legs"),
            "The elevator stood off by \u{2212}8 ± 2 µs (0.0 turns), 0 ± 1, on 2-3 legs."
        );
        assert_eq!(sentence(""), "");
    }
}
