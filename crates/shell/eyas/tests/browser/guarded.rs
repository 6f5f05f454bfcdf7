//! Who is turned away? Asked without a browser, as whoever means harm would ask.

use std::io::{Read as _, Write as _};
use std::net::TcpStream;

use crate::driver::Pages;

/// Sends one request as it stands and reads the whole answer.
fn ask(pages: &Pages, head: &str, body: &str) -> String {
    let at = pages.address.strip_prefix("http://").unwrap();
    let mut stream = TcpStream::connect(at).unwrap();
    let head = head.replace("{host}", at);
    write!(stream, "{head}\r\nConnection: close\r\nContent-Length: {}\r\n\r\n{body}", body.len()).unwrap();
    let mut answer = Vec::new();
    stream.read_to_end(&mut answer).unwrap();
    String::from_utf8_lossy(&answer).into_owned()
}

#[track_caller]
fn status(answer: &str, expected: u16) {
    let line = answer.lines().next().unwrap_or_default();
    assert!(line.contains(&format!(" {expected} ")), "{expected} expected: {line}\n{answer}");
}

#[test]
fn other_names_other_sites_and_foreign_forms_are_turned_away() {
    let pages = Pages::empty();
    status(&ask(&pages, "GET / HTTP/1.1\r\nHost: {host}", ""), 200);
    status(&ask(&pages, "GET / HTTP/1.1\r\nHost: evil.example", ""), 421);
    let form = "Content-Type: application/x-www-form-urlencoded";
    let key = "0123456789abcdef0123456789abcdef";
    let body = format!("form_key={key}&theme=dark");
    let post = format!("POST /display HTTP/1.1\r\nHost: {{host}}\r\n{form}");
    // Its own key: taken.
    status(
        &ask(&pages, &format!("{post}\r\nCookie: eyas_form={key}\r\nOrigin: http://{{host}}"), &body),
        303,
    );
    // Another site's page, with the browser's cookie.
    status(
        &ask(&pages, &format!("{post}\r\nCookie: eyas_form={key}\r\nOrigin: http://evil.example"), &body),
        403,
    );
    status(&ask(&pages, &format!("{post}\r\nCookie: eyas_form={key}\r\nOrigin: null"), &body), 403);
    // No key, another key, no cookie.
    status(&ask(&pages, &format!("{post}\r\nCookie: eyas_form={key}"), "theme=dark"), 400);
    status(&ask(&pages, &format!("{post}\r\nCookie: eyas_form={}", key.replace('0', "1")), &body), 400);
    status(&ask(&pages, &post, &body), 400);
}

#[test]
fn paths_lead_nowhere_and_pages_may_load_nothing_from_elsewhere() {
    let pages = Pages::empty();
    for path in [
        "/../../etc/passwd",
        "/assets/x/..%2f..%2fetc%2fpasswd",
        "/aircraft/..%2f..%2fetc%2fpasswd",
        "/aircraft/%2e%2e/describe",
        "/aircraft/%00/predict",
        "/work/..%2f/events",
    ] {
        let answer = ask(&pages, &format!("GET {path} HTTP/1.1\r\nHost: {{host}}"), "");
        status(&answer, 404);
        assert!(!answer.contains("root:"), "{path}");
    }
    let answer = ask(&pages, "GET / HTTP/1.1\r\nHost: {host}", "").to_lowercase();
    for header in [
        "content-security-policy: default-src 'none'",
        "x-content-type-options: nosniff",
        "referrer-policy: same-origin",
    ] {
        assert!(answer.contains(header), "{header}");
    }
    assert!(
        !answer.contains("unsafe-inline") && !answer.contains("<style") && !answer.contains("https://"),
        "{answer}"
    );
}
