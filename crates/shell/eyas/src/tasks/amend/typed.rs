//! What does something typed say, and how does TOML write it?

use toml_edit::{Item, Value};

use super::As;

/// Whether a value says already what was typed.
pub(super) fn says(item: &Item, kind: As, typed: &str) -> bool {
    match kind {
        As::Number => {
            #[expect(clippy::cast_precision_loss, reason = "whole numbers of a file are small")]
            let now = item.as_float().or_else(|| item.as_integer().map(|i| i as f64));
            now.is_some_and(|now| number(typed).is_some_and(|(new, _)| new == now))
                || item.as_str() == Some(typed)
        }
        As::Text => item.as_str().is_some_and(|now| now.trim() == typed),
        As::Flag => item.as_bool().is_some_and(|now| now == (typed == "true")),
    }
}

/// A typed number and how TOML writes it: with a decimal point, digits on both sides of it.
fn number(typed: &str) -> Option<(f64, String)> {
    let plain = typed.replace(',', ".").replace('\u{2212}', "-");
    let value = plain.parse::<f64>().ok().filter(|v| v.is_finite())?;
    let kept = plain.parse::<Value>().is_ok_and(|v| v.is_float() || v.is_integer());
    Some((value, if kept { plain } else { format!("{value}") }))
}

/// What was typed, as TOML writes it. What should be a number and is none goes in as text: reading the file tells.
pub(super) fn written(kind: As, typed: &str) -> String {
    let text = || Value::from(typed).to_string();
    match kind {
        As::Number => number(typed).map_or_else(text, |(_, written)| written),
        As::Text => text(),
        As::Flag if typed == "true" || typed == "false" => typed.to_owned(),
        As::Flag => text(),
    }
}
