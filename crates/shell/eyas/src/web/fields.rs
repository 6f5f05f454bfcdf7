//! What does a form say? Its fields by name, once the form has shown that it came from one of our pages.

use axum::body::Bytes;
use axum::extract::{FromRequest, FromRequestParts as _, Request};

use crate::tell::{Kind, Trouble};
use crate::web::ask::Ask;
use crate::web::reply::{self, Reply};

/// Name of the field that carries the browser's form key.
pub(crate) const FORM_KEY: &str = "form_key";

/// Fields of a query or a form, in their order; a name may come several times.
#[derive(Debug, Clone, Default)]
pub(crate) struct Fields {
    pairs: Vec<(String, String)>,
}

impl Fields {
    /// From the text behind a question mark, or a form's body.
    pub(crate) fn read(text: &str) -> Self {
        let pairs = text
            .split('&')
            .filter(|pair| !pair.is_empty())
            .map(|pair| {
                let (name, value) = pair.split_once('=').unwrap_or((pair, ""));
                (decoded(name), decoded(value))
            })
            .collect();
        Self { pairs }
    }

    /// Fields at hand.
    pub(crate) fn of(pairs: Vec<(String, String)>) -> Self {
        Self { pairs }
    }

    /// The first value of a name, trimmed; none where it is empty or missing.
    pub(crate) fn text(&self, name: &str) -> Option<&str> {
        self.raw(name).map(str::trim).filter(|v| !v.is_empty())
    }

    /// The first value of a name as it came.
    pub(crate) fn raw(&self, name: &str) -> Option<&str> {
        self.pairs.iter().find(|(n, _)| n == name).map(|(_, v)| v.as_str())
    }

    /// All values of a name.
    pub(crate) fn all<'a>(&'a self, name: &'a str) -> impl Iterator<Item = &'a str> {
        self.pairs.iter().filter(move |(n, _)| n == name).map(|(_, v)| v.as_str())
    }

    /// All fields.
    pub(crate) fn iter(&self) -> impl Iterator<Item = (&str, &str)> {
        self.pairs.iter().map(|(n, v)| (n.as_str(), v.as_str()))
    }

    /// A number, with a point or a comma for its decimals; none where the field is empty.
    ///
    /// # Errors
    /// With the field's name in plain words.
    pub(crate) fn number(&self, name: &str, words: &str) -> Result<Option<f64>, String> {
        let Some(typed) = self.text(name) else { return Ok(None) };
        match typed.replace(',', ".").parse::<f64>() {
            Ok(number) if number.is_finite() => Ok(Some(number)),
            _ => Err(format!("{words}: \"{typed}\" is no number; write it without its unit")),
        }
    }
}

/// Percent-decoding of forms (WHATWG URL standard, application/x-www-form-urlencoded).
fn decoded(text: &str) -> String {
    let bytes = text.as_bytes();
    let mut out = Vec::with_capacity(bytes.len());
    let mut i = 0;
    while let Some(&b) = bytes.get(i) {
        let hex = |at: usize| {
            bytes.get(at).and_then(|b| char::from(*b).to_digit(16)).and_then(|d| u8::try_from(d).ok())
        };
        match (b, hex(i + 1), hex(i + 2)) {
            (b'+', ..) => out.push(b' '),
            (b'%', Some(high), Some(low)) => {
                out.push(high * 16 + low);
                i += 2;
            }
            _ => out.push(b),
        }
        i += 1;
    }
    String::from_utf8_lossy(&out).into_owned()
}

/// Text as a part of an address.
pub(crate) fn encoded(text: &str) -> String {
    let mut out = String::new();
    for b in text.bytes() {
        if b.is_ascii_alphanumeric() || b"-._~".contains(&b) {
            out.push(char::from(b));
        } else {
            out.push_str(&format!("%{b:02X}"));
        }
    }
    out
}

/// A form that one of our own pages sent.
pub(crate) struct Form {
    /// Who sent it.
    pub(crate) ask: Ask,
    /// What it says.
    pub(crate) fields: Fields,
}

/// Why a form was not taken: its key is not this browser's.
pub(crate) fn foreign() -> Trouble {
    Trouble::new(
        Kind::Input,
        "the form was not taken, nothing was changed",
        "it does not carry the key that this browser was given",
        "go back, load the page anew and send it again; cookies of this address must be allowed",
    )
}

/// Whether a key is the one that the browser's cookie carries.
pub(crate) fn own(ask: &Ask, key: Option<&str>) -> bool {
    !ask.new_key && !ask.form_key.is_empty() && key == Some(ask.form_key.as_str())
}

impl<S: Send + Sync> FromRequest<S> for Form {
    type Rejection = Reply;

    async fn from_request(request: Request, state: &S) -> Result<Self, Reply> {
        let (mut parts, body) = request.into_parts();
        let ask = match Ask::from_request_parts(&mut parts, state).await {
            Ok(ask) => ask,
            Err(never) => match never {},
        };
        let request = Request::from_parts(parts, body);
        let bytes = match Bytes::from_request(request, state).await {
            Ok(bytes) => bytes,
            Err(_) => {
                let trouble = Trouble::new(
                    Kind::TooLarge,
                    "the form was not taken",
                    "it is larger than a form may be, or it was cut off",
                    "send recordings and other files through the fields for files",
                );
                return Err(reply::trouble(&ask, &trouble));
            }
        };
        let fields = Fields::read(&String::from_utf8_lossy(&bytes));
        if !own(&ask, fields.raw(FORM_KEY)) {
            return Err(reply::trouble(&ask, &foreign()));
        }
        Ok(Self { ask, fields })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn forms_are_read_as_browsers_write_them() {
        // WHATWG URL standard: space as +, other bytes as %XX of their UTF-8.
        let fields = Fields::read("name=M%C3%B6we+II&a=1&a=2&empty=&broken=%zz%4");
        assert_eq!(fields.text("name"), Some("Möwe II"));
        assert_eq!(fields.all("a").collect::<Vec<_>>(), ["1", "2"]);
        assert_eq!(fields.text("empty"), None);
        assert_eq!(fields.raw("broken"), Some("%zz%4"));
    }

    #[test]
    fn what_is_encoded_decodes() {
        let text = "Möwe/../<script>?&=% 漢";
        assert_eq!(decoded(&encoded(text)), text);
        assert!(!encoded(text).contains('/'));
    }

    #[test]
    fn numbers_take_comma_and_point_and_tell_what_is_none() {
        let fields = Fields::read("a=1,5&b=2.5&c=12g&d=inf");
        assert_eq!(fields.number("a", "mass"), Ok(Some(1.5)));
        assert_eq!(fields.number("b", "mass"), Ok(Some(2.5)));
        assert!(fields.number("c", "mass").unwrap_err().contains("mass"));
        assert!(fields.number("d", "mass").is_err());
        assert_eq!(fields.number("e", "mass"), Ok(None));
    }
}
