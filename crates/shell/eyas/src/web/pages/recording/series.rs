//! What does a plot draw? Channels between two times, reduced to least and greatest value a pixel, as plain numbers.
//!
//! Little-endian: the number of channels (u32) and four bytes of nothing; then for each the number of entries (u32), four
//! bytes of nothing, and its entries, each time, least and greatest (f64). What breaks a line is not a number.

use std::sync::Arc;

use axum::extract::{Path, RawQuery, State};
use axum::http::HeaderValue;
use axum::http::header::{CACHE_CONTROL, CONTENT_TYPE};
use axum::response::IntoResponse as _;
use fly::decimate::decimate;
use fly::recording::Recording;
use fly::words;

use crate::json::reading;
use crate::tell::{Kind, Trouble};
use crate::web::app::App;
use crate::web::ask::Ask;
use crate::web::fields::Fields;
use crate::web::reply::{Reply, work};
use crate::web::shelf::{self, Which};

/// Pixels and channels that are sent at most: more than any screen has, several times over.
const MOST_PIXELS: f64 = 20_000.0;
const MOST_CHANNELS: usize = 40;

pub(super) async fn send(
    State(app): State<Arc<App>>,
    ask: Ask,
    Path((name, which)): Path<(String, String)>,
    RawQuery(query): RawQuery,
) -> Reply {
    work(app, ask, move |app, _| {
        let label = shelf::label(app, &name, &Which::read(&which)?)?;
        let read = app.shelf.read(app, &label)?;
        let fields = Fields::read(&query.unwrap_or_default());
        let bytes = packed(&read.studied.recording, &fields)?;
        let mut response = bytes.into_response();
        let map = response.headers_mut();
        map.insert(CONTENT_TYPE, HeaderValue::from_static("application/octet-stream"));
        map.insert(CACHE_CONTROL, HeaderValue::from_static("no-store"));
        Ok(response)
    })
    .await
}

fn packed(recording: &Recording, fields: &Fields) -> Result<Vec<u8>, Trouble> {
    let wrong = |cause: String| {
        Trouble::new(Kind::Input, "there is nothing to draw", cause, "ask with channels, from, to and pixels")
    };
    let number = |name: &str| {
        fields.number(name, name).map_err(&wrong)?.ok_or_else(|| wrong(format!("\"{name}\" is missing")))
    };
    let (from, to, pixels) = (number("from")?, number("to")?, number("pixels")?);
    if !(to > from) {
        return Err(wrong(format!("from {from} to {to} s is no stretch of time")));
    }
    // From 1 up to the most: whole.
    let pixels = pixels.clamp(1.0, MOST_PIXELS) as usize;
    let wanted: Vec<&str> =
        fields.text("channels").unwrap_or_default().split(',').take(MOST_CHANNELS).collect();
    let mut out = Vec::with_capacity(wanted.len() * (8 + 24 * pixels) + 8);
    let count = |n: usize| u32::try_from(n).unwrap_or(0).to_le_bytes();
    out.extend(count(wanted.len()));
    out.extend([0; 4]);
    for word in wanted {
        let entries = drawn(recording, word, from, to, pixels);
        out.extend(count(entries.len()));
        out.extend([0; 4]);
        for (t, least, greatest) in entries {
            for value in [t, least, greatest] {
                out.extend(value.to_le_bytes());
            }
        }
    }
    Ok(out)
}

/// Time, least and greatest of a channel in the unit that people read; nothing for a channel that is not there.
pub(super) fn drawn(
    recording: &Recording,
    word: &str,
    from: f64,
    to: f64,
    pixels: usize,
) -> Vec<(f64, f64, f64)> {
    let channel = words::quantity(word).and_then(|q| recording.channel(&q));
    let Some(channel) = channel else { return Vec::new() };
    let unit = reading::shown(&channel.quantity);
    decimate(&channel.time_s, &channel.values, from, to, pixels)
        .into_iter()
        .map(|(t, a, b)| (t, reading::in_unit(a, unit), reading::in_unit(b, unit)))
        .collect()
}

#[cfg(test)]
mod tests {
    use fly::recording::{Channel, Quantity};

    use super::*;

    fn recording() -> Recording {
        Recording {
            channels: vec![Channel {
                quantity: Quantity::Roll,
                source: "roll".into(),
                time_s: Arc::new((0..100).map(f64::from).collect()),
                values: (0..100).map(|i| f64::from(i % 2)).collect(),
            }],
            rows: 100,
            ..Recording::default()
        }
    }

    #[test]
    fn a_plot_gets_least_and_greatest_in_the_unit_that_people_read() {
        let fields = Fields::read("channels=roll,nothing&from=0&to=100&pixels=10");
        let bytes = packed(&recording(), &fields).unwrap();
        let u32_at = |at: usize| u32::from_le_bytes(bytes[at..at + 4].try_into().unwrap());
        let f64_at = |at: usize| f64::from_le_bytes(bytes[at..at + 8].try_into().unwrap());
        assert_eq!((u32_at(0), u32_at(8)), (2, 10));
        // By hand: samples 0 to 9 alternate 0 and 1 rad; the middle of the first pixel is 5 s.
        assert!((f64_at(16) - 5.0).abs() < 1e-12);
        assert!(f64_at(24).abs() < 1e-12);
        assert!((f64_at(32) - 180.0 / std::f64::consts::PI).abs() < 1e-9);
        // A channel that is not there has no entries; nothing comes after it.
        assert_eq!(u32_at(16 + 240), 0);
        assert_eq!(bytes.len(), 16 + 240 + 8);
    }

    #[test]
    fn what_cannot_be_drawn_is_told() {
        for bad in ["", "from=0&to=0&pixels=9", "from=a&to=1&pixels=9", "from=0&to=inf&pixels=9"] {
            assert_eq!(packed(&recording(), &Fields::read(bad)).unwrap_err().kind(), Kind::Input, "{bad}");
        }
        // However many pixels are asked for, no more memory than a screen's worth is taken.
        assert!(packed(&recording(), &Fields::read("channels=roll&from=0&to=9&pixels=1e30")).is_ok());
    }
}
