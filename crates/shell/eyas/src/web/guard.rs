//! Who may ask? Only this machine unless told otherwise; then whoever shows the key. No other site's page may ask through
//! this browser, and no page may load or send anything elsewhere.

use std::net::IpAddr;
use std::sync::{Arc, LazyLock};

use axum::extract::{Request, State};
use axum::http::header::{
    CONTENT_SECURITY_POLICY, HOST, HeaderName, LOCATION, ORIGIN, REFERRER_POLICY, SET_COOKIE,
    X_CONTENT_TYPE_OPTIONS, X_FRAME_OPTIONS,
};
use axum::http::{HeaderValue, Method, StatusCode};
use axum::middleware::Next;
use axum::response::{IntoResponse as _, Response};

use crate::web::app::App;
use crate::web::ask::cookie;
use crate::web::fields::Fields;
use crate::web::standalone;

/// What a page may do: take its own scripts, styles and pictures, and nothing from anywhere else (W3C Content Security
/// Policy Level 3).
/// The one style inside a page that is allowed is that of our drawings, by its checksum.
static POLICY: LazyLock<String> = LazyLock::new(|| {
    format!(
        "default-src 'none'; script-src 'self'; style-src 'self' {}; img-src 'self' data: blob:; \
         connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'",
        standalone::checksum(report::svg::STYLE)
    )
});

/// Lets a request through, or says why not.
pub(crate) async fn guard(State(app): State<Arc<App>>, request: Request, next: Next) -> Response {
    let host = request.headers().get(HOST).and_then(|h| h.to_str().ok()).unwrap_or_default().to_owned();
    if !own_name(&app, &host) {
        return refused(
            StatusCode::MISDIRECTED_REQUEST,
            "These pages are not served under that name. Open them at the address that `eyas serve` printed.",
        );
    }
    let safe = matches!(*request.method(), Method::GET | Method::HEAD);
    if !safe && let Some(origin) = request.headers().get(ORIGIN) {
        let same = origin.to_str().is_ok_and(|o| o.strip_prefix("http://") == Some(host.as_str()));
        if !same {
            return refused(
                StatusCode::FORBIDDEN,
                "The request came from another site's page; nothing was changed.",
            );
        }
    }
    let (parts, body) = request.into_parts();
    if let Some(key) = &app.key {
        let shown = Fields::read(parts.uri.query().unwrap_or_default());
        if shown.raw("key").is_some_and(|k| same(k, key)) {
            return let_in(parts.uri.path(), key);
        }
        if !cookie(&parts, "eyas_key").is_some_and(|k| same(k, key)) {
            return refused(
                StatusCode::FORBIDDEN,
                "These pages are open to other machines and ask for a key. Open the whole address that `eyas serve` printed, with its key.",
            );
        }
    }
    let mut response = next.run(Request::from_parts(parts, body)).await;
    harden(&mut response);
    response
}

/// Whether a Host header names this machine. An address is always its own name; a name could be anybody's that was made
/// to point here, so that only known ones are taken.
fn own_name(app: &App, host: &str) -> bool {
    let (name, port) = match host.rsplit_once(':') {
        Some((name, port)) if !port.contains(']') => (name, port.parse::<u16>().ok()),
        _ => (host, Some(80)),
    };
    if port != Some(app.port) {
        return false;
    }
    let bare = name.trim_start_matches('[').trim_end_matches(']');
    match bare.parse::<IpAddr>() {
        Ok(address) => address.is_loopback() || app.key.is_some(),
        Err(_) => {
            let name = bare.trim_end_matches('.').to_ascii_lowercase();
            name == "localhost" || app.names.contains(&name)
        }
    }
}

/// Compares without telling by its time how far two keys agree.
fn same(a: &str, b: &str) -> bool {
    a.len() == b.len() && a.bytes().zip(b.bytes()).fold(0, |d, (x, y)| d | (x ^ y)) == 0
}

fn let_in(path: &str, key: &str) -> Response {
    let mut response = StatusCode::SEE_OTHER.into_response();
    // A path that begins with two slashes would be read as another machine's name.
    let path = format!("/{}", path.trim_start_matches('/'));
    if let Ok(path) = HeaderValue::from_str(&path) {
        response.headers_mut().insert(LOCATION, path);
    }
    if let Ok(cookie) = HeaderValue::from_str(&format!("eyas_key={key}; Path=/; SameSite=Strict; HttpOnly")) {
        response.headers_mut().append(SET_COOKIE, cookie);
    }
    harden(&mut response);
    response
}

fn refused(status: StatusCode, why: &'static str) -> Response {
    let mut response = (status, why).into_response();
    harden(&mut response);
    response
}

fn harden(response: &mut Response) {
    let map = response.headers_mut();
    if let Ok(policy) = HeaderValue::from_str(&POLICY) {
        map.entry(CONTENT_SECURITY_POLICY).or_insert(policy);
    }
    map.insert(X_CONTENT_TYPE_OPTIONS, HeaderValue::from_static("nosniff"));
    map.insert(X_FRAME_OPTIONS, HeaderValue::from_static("DENY"));
    map.insert(REFERRER_POLICY, HeaderValue::from_static("same-origin"));
    map.insert(
        HeaderName::from_static("cross-origin-opener-policy"),
        HeaderValue::from_static("same-origin"),
    );
    map.insert(
        HeaderName::from_static("cross-origin-resource-policy"),
        HeaderValue::from_static("same-origin"),
    );
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cli::Common;

    fn app(key: Option<&str>) -> App {
        App::new(
            Common { hangar: None, json: false },
            key.map(str::to_owned),
            vec!["bench.local".into()],
            7411,
        )
    }

    #[track_caller]
    fn check(key: Option<&str>, host: &str, expected: bool) {
        assert_eq!(own_name(&app(key), host), expected, "{host}");
    }

    #[test]
    fn only_names_of_this_machine_are_answered() {
        check(None, "127.0.0.1:7411", true);
        check(None, "localhost:7411", true);
        check(None, "LOCALHOST:7411", true);
        check(None, "[::1]:7411", true);
        check(None, "bench.local:7411", true);
        check(None, "127.0.0.1:80", false);
        check(None, "127.0.0.1", false);
        check(None, "", false);
        // A name that somebody made to point at this machine.
        check(None, "evil.example:7411", false);
        check(None, "localhost.evil.example:7411", false);
        // Another address of this machine is its name only where it is open to other machines.
        check(None, "192.168.1.7:7411", false);
        check(Some("k"), "192.168.1.7:7411", true);
    }

    #[test]
    fn keys_agree_only_whole() {
        assert!(same("abc", "abc"));
        assert!(!same("abc", "abd"));
        assert!(!same("ab", "abc"));
    }
}
