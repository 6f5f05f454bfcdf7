//! Who asks, and how do they want to see it? What a browser sends along with every request.

use std::convert::Infallible;

use axum::extract::FromRequestParts;
use axum::http::header::{ACCEPT_ENCODING, COOKIE};
use axum::http::request::Parts;

/// How the pages look.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) enum Theme {
    /// As the device is set.
    #[default]
    Auto,
    /// Dark ink on white.
    Light,
    /// For the night.
    Dark,
    /// Black on white, thick and large: for the sun.
    Daylight,
}

impl Theme {
    /// All of them with their words.
    pub(crate) const ALL: [(Self, &'static str, &'static str); 4] = [
        (Self::Auto, "auto", "As the device"),
        (Self::Light, "light", "Light"),
        (Self::Dark, "dark", "Dark"),
        (Self::Daylight, "daylight", "In the sun"),
    ];

    /// The word it is kept under.
    pub(crate) fn word(self) -> &'static str {
        Self::ALL.iter().find(|(t, ..)| *t == self).map_or("auto", |(_, word, _)| word)
    }
}

/// What units numbers are shown in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) enum Units {
    /// Metres, grams, newtons.
    #[default]
    Metric,
    /// Feet and inches, ounces, miles an hour beside the metric numbers.
    Imperial,
}

impl Units {
    /// The word it is kept under.
    pub(crate) fn word(self) -> &'static str {
        match self {
            Self::Metric => "metric",
            Self::Imperial => "imperial",
        }
    }
}

/// What came along with a request.
#[derive(Debug, Clone)]
pub(crate) struct Ask {
    /// Look.
    pub(crate) theme: Theme,
    /// Units.
    pub(crate) units: Units,
    /// Key of this browser's forms; every form sends it back.
    pub(crate) form_key: String,
    /// Whether the key is new and has to be given to the browser.
    pub(crate) new_key: bool,
    /// What the step before has to say, once.
    pub(crate) said: Option<String>,
    /// Path that was asked for, with its query.
    pub(crate) path: String,
    /// Whether only a part of a page is wanted.
    pub(crate) part: bool,
    /// Whether the answer may be packed.
    pub(crate) gzip: bool,
}

/// A cookie of a request.
pub(crate) fn cookie<'a>(parts: &'a Parts, name: &str) -> Option<&'a str> {
    parts
        .headers
        .get_all(COOKIE)
        .iter()
        .filter_map(|value| value.to_str().ok())
        .flat_map(|line| line.split(';'))
        .filter_map(|pair| pair.trim().split_once('='))
        .find_map(|(key, value)| (key == name).then_some(value))
}

/// Random bytes as hexadecimal, for keys that nobody may guess. Empty where the system has none: then no form is taken.
pub(crate) fn random_key() -> String {
    let mut bytes = [0_u8; 16];
    if getrandom::fill(&mut bytes).is_err() {
        return String::new();
    }
    bytes.iter().map(|b| format!("{b:02x}")).collect()
}

impl<S: Sync> FromRequestParts<S> for Ask {
    type Rejection = Infallible;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Self, Infallible> {
        let kept = cookie(parts, "eyas_form")
            .filter(|key| key.len() == 32 && key.bytes().all(|b| b.is_ascii_hexdigit()))
            .map(str::to_owned);
        let theme = cookie(parts, "eyas_theme");
        Ok(Self {
            theme: Theme::ALL
                .iter()
                .find(|(_, word, _)| Some(*word) == theme)
                .map_or(Theme::Auto, |(t, ..)| *t),
            units: if cookie(parts, "eyas_units") == Some("imperial") {
                Units::Imperial
            } else {
                Units::Metric
            },
            new_key: kept.is_none(),
            form_key: kept.unwrap_or_else(random_key),
            said: cookie(parts, "eyas_said").map(from_hex).filter(|said| !said.is_empty()),
            path: parts.uri.path_and_query().map_or_else(|| "/".to_owned(), ToString::to_string),
            part: parts.headers.contains_key("hx-request") && !parts.headers.contains_key("hx-boosted"),
            gzip: parts
                .headers
                .get_all(ACCEPT_ENCODING)
                .iter()
                .filter_map(|v| v.to_str().ok())
                .any(|v| v.split(',').any(|e| e.trim().split(';').next() == Some("gzip"))),
        })
    }
}

/// Text as hexadecimal: a cookie takes no other letters.
pub(crate) fn to_hex(text: &str) -> String {
    text.bytes().map(|b| format!("{b:02x}")).collect()
}

fn from_hex(hex: &str) -> String {
    let digits: Option<Vec<u8>> =
        hex.chars().map(|c| c.to_digit(16).and_then(|d| u8::try_from(d).ok())).collect();
    let bytes: Vec<u8> = digits
        .unwrap_or_default()
        .chunks_exact(2)
        .map(|pair| pair.iter().fold(0, |all, d| all * 16 + d))
        .collect();
    String::from_utf8_lossy(&bytes).into_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_said_comes_back_letter_by_letter() {
        for text in ["", "Kept as revision 3.", "<b>\u{201c}; é 漢"] {
            assert_eq!(from_hex(&to_hex(text)), text);
        }
        assert_eq!(from_hex("zz"), "");
    }

    #[test]
    fn keys_are_long_and_never_the_same() {
        let (a, b) = (random_key(), random_key());
        assert_eq!((a.len(), b.len()), (32, 32));
        assert_ne!(a, b);
    }
}
