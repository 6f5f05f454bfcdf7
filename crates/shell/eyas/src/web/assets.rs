//! What do the pages load besides themselves? Style and scripts, all from inside the program, each under an address that
//! changes with its content, so that a browser keeps it for good.

use std::io::Write as _;
use std::sync::LazyLock;

use axum::body::Body;
use axum::extract::Path;
use axum::http::header::{CACHE_CONTROL, CONTENT_ENCODING, CONTENT_TYPE};
use axum::http::{HeaderValue, StatusCode};
use axum::response::{IntoResponse as _, Response};
use flate2::Compression;
use flate2::write::GzEncoder;
use sha2::{Digest as _, Sha256};

use crate::web::ask::Ask;

struct Asset {
    name: &'static str,
    kind: &'static str,
    text: String,
    mark: String,
    packed: Vec<u8>,
}

static ALL: LazyLock<Vec<Asset>> = LazyLock::new(|| {
    const JS: &str = "text/javascript; charset=utf-8";
    const CSS: &str = "text/css; charset=utf-8";
    [
        ("app.css", CSS, format!("{}\n{}", report::page::STYLE, include_str!("assets/app.css"))),
        ("app.js", JS, include_str!("assets/app.js").to_owned()),
        ("plots.js", JS, include_str!("assets/plots.js").to_owned()),
        ("htmx.js", JS, include_str!("assets/vendor/htmx-2.0.10.min.js").to_owned()),
        ("uplot.js", JS, include_str!("assets/vendor/uplot-1.6.32.min.js").to_owned()),
        ("uplot.css", CSS, include_str!("assets/vendor/uplot-1.6.32.min.css").to_owned()),
        ("icon.svg", "image/svg+xml", include_str!("assets/icon.svg").to_owned()),
    ]
    .into_iter()
    .map(|(name, kind, text)| {
        let mark = Sha256::digest(text.as_bytes()).iter().take(6).map(|b| format!("{b:02x}")).collect();
        let mut encoder = GzEncoder::new(Vec::new(), Compression::best());
        let packed = encoder.write_all(text.as_bytes()).and_then(|()| encoder.finish()).unwrap_or_default();
        Asset { name, kind, text, mark, packed }
    })
    .collect()
});

/// Address of an asset.
pub(crate) fn path(name: &str) -> String {
    ALL.iter().find(|a| a.name == name).map_or_else(String::new, |a| format!("/assets/{}/{}", a.mark, a.name))
}

/// Sends an asset.
pub(crate) async fn send(ask: Ask, Path((mark, name)): Path<(String, String)>) -> Response {
    let Some(asset) = ALL.iter().find(|a| a.name == name) else {
        return (StatusCode::NOT_FOUND, "there is no such file").into_response();
    };
    let packed = ask.gzip && !asset.packed.is_empty();
    let bytes: &'static [u8] = if packed { &asset.packed } else { asset.text.as_bytes() };
    let mut response = Body::from(bytes).into_response();
    let map = response.headers_mut();
    map.insert(CONTENT_TYPE, HeaderValue::from_static(asset.kind));
    // An old page may ask for an old mark after a restart: it gets today's content, and keeps it for no longer.
    let keep = if mark == asset.mark { "public, max-age=31536000, immutable" } else { "no-store" };
    map.insert(CACHE_CONTROL, HeaderValue::from_static(keep));
    if packed {
        map.insert(CONTENT_ENCODING, HeaderValue::from_static("gzip"));
    }
    response
}
