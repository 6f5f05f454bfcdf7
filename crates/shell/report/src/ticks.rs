//! How do the ticks of a card come back from the phone? As a code short enough to type or to send: it says which card it
//! is of, which points were ticked, and whether it was typed right.
//!
//! The code is Crockford's base 32 (letters and digits without I, L, O and U) of: two bytes that mark the card, the
//! ticks of its points (eight to a byte, the first point in the lowest bit), and one byte of check (CRC-8, polynomial
//! 0x07). The phone page writes it with `card.js`, which computes the same.

/// Digits of the code.
const DIGITS: &[u8; 32] = b"0123456789ABCDEFGHJKMNPQRSTVWXYZ";

/// Why a code tells nothing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NoTicks {
    /// A sign that no code has.
    Sign(char),
    /// It was typed wrong, or is not whole.
    Check,
    /// It is of another card.
    OtherCard,
}

impl std::fmt::Display for NoTicks {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Sign(c) => write!(f, "\"{}\" is no sign of such a code", c.escape_debug()),
            Self::Check => write!(f, "the code is not whole, or was mistyped"),
            Self::OtherCard => write!(f, "the code is of another card"),
        }
    }
}

impl std::error::Error for NoTicks {}

/// Two bytes that tell cards apart: FNV-1a of title and points, folded.
#[must_use]
pub fn mark<'a>(title: &str, points: impl IntoIterator<Item = &'a str>) -> u16 {
    let mut hash: u32 = 0x811c_9dc5;
    let mut eat = |text: &str| {
        for byte in text.bytes().chain([0]) {
            hash = (hash ^ u32::from(byte)).wrapping_mul(0x0100_0193);
        }
    };
    eat(title);
    points.into_iter().for_each(&mut eat);
    ((hash >> 16) ^ (hash & 0xffff)) as u16
}

/// The code of these ticks, in groups of four.
#[must_use]
pub fn encode(mark: u16, ticked: &[bool]) -> String {
    let mut bytes = mark.to_be_bytes().to_vec();
    for eight in ticked.chunks(8) {
        bytes.push(eight.iter().enumerate().fold(0, |byte, (i, on)| byte | (u8::from(*on) << i)));
    }
    bytes.push(crc8(&bytes));
    let mut digits = String::new();
    let mut bits = 0_u32;
    let mut have = 0;
    for byte in bytes {
        bits = (bits << 8) | u32::from(byte);
        have += 8;
        while have >= 5 {
            have -= 5;
            digits.push(char::from(DIGITS[(bits >> have) as usize & 31]));
        }
    }
    if have > 0 {
        digits.push(char::from(DIGITS[(bits << (5 - have)) as usize & 31]));
    }
    let groups: Vec<String> =
        digits.chars().collect::<Vec<_>>().chunks(4).map(|c| c.iter().collect()).collect();
    groups.join("-")
}

/// The ticks of a code for a card with that mark and so many points. Small letters, spaces and dashes do not matter, nor
/// does O for 0 or I and L for 1.
///
/// # Errors
/// [`NoTicks`] when the code is no code, mistyped, or of another card.
pub fn decode(code: &str, card_mark: u16, points: usize) -> Result<Vec<bool>, NoTicks> {
    let mut bytes = Vec::new();
    let mut bits = 0_u32;
    let mut have = 0;
    for c in code.chars().filter(|c| !c.is_whitespace() && *c != '-') {
        let upper = match c.to_ascii_uppercase() {
            'O' => '0',
            'I' | 'L' => '1',
            other => other,
        };
        let value = DIGITS.iter().position(|digit| char::from(*digit) == upper).ok_or(NoTicks::Sign(c))?;
        bits = (bits << 5) | value as u32;
        have += 5;
        if have >= 8 {
            have -= 8;
            bytes.push((bits >> have) as u8);
            bits &= (1 << have) - 1;
        }
    }
    let Some((check, rest)) = bytes.split_last() else { return Err(NoTicks::Check) };
    let [first, second, ticks @ ..] = rest else { return Err(NoTicks::Check) };
    if crc8(rest) != *check || bits != 0 {
        return Err(NoTicks::Check);
    }
    if u16::from_be_bytes([*first, *second]) != card_mark || ticks.len() != points.div_ceil(8) {
        return Err(NoTicks::OtherCard);
    }
    Ok((0..points).map(|i| ticks.get(i / 8).is_some_and(|byte| byte >> (i % 8) & 1 == 1)).collect())
}

/// CRC-8, polynomial x^8 + x^2 + x + 1 (ITU-T I.432.1 without its final coset).
fn crc8(bytes: &[u8]) -> u8 {
    bytes.iter().fold(0, |crc, byte| {
        (0..8).fold(crc ^ byte, |crc: u8, _| if crc & 0x80 == 0 { crc << 1 } else { (crc << 1) ^ 0x07 })
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_check_is_the_published_one() {
        // Check value of CRC-8 with this polynomial over "123456789": 0xF4 (catalogue of parametrised CRC algorithms,
        // "CRC-8/SMBUS"; from memory).
        assert_eq!(crc8(b"123456789"), 0xf4);
        // FNV-1a, 32 bit, of "" is its offset basis 0x811c9dc5, of "a" 0xe40c292c (the algorithm's own page; from
        // memory): "a" and its closing zero give (0xe40c292c ^ 0) * 0x01000193.
        let after: u32 = 0xe40c_292c_u32.wrapping_mul(0x0100_0193);
        assert_eq!(mark("a", []), ((after >> 16) ^ (after & 0xffff)) as u16);
    }

    #[test]
    fn ticks_come_back_as_they_were_for_any_number_of_points() {
        for count in 0..40 {
            let ticked: Vec<bool> = (0..count).map(|i| (i * 7 + count) % 3 == 0).collect();
            let code = encode(0xbeef, &ticked);
            assert_eq!(decode(&code, 0xbeef, count), Ok(ticked.clone()), "{code}");
            assert_eq!(decode(&code.to_lowercase().replace('-', " "), 0xbeef, count), Ok(ticked));
            assert_eq!(decode(&code, 0xbee0, count), Err(NoTicks::OtherCard));
        }
    }

    #[test]
    fn every_single_mistyped_sign_is_found() {
        let code = encode(0x1234, &[true, false, true, true, false, false, true, false, true]);
        let bare: Vec<char> = code.chars().filter(|c| *c != '-').collect();
        for place in 0..bare.len() {
            for digit in DIGITS {
                let mut typed = bare.clone();
                if typed[place] == char::from(*digit) {
                    continue;
                }
                typed[place] = char::from(*digit);
                let typed: String = typed.into_iter().collect();
                assert!(decode(&typed, 0x1234, 9).is_err(), "{typed}");
            }
        }
        assert_eq!(decode("AB*D", 1, 1), Err(NoTicks::Sign('*')));
        assert_eq!(decode("", 1, 1), Err(NoTicks::Check));
    }
}
