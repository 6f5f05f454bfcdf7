//! May a page that stands alone (a card for the phone, a report to hand over) run its own script? Its style and script are
//! inside it, so that it opens from a disk; the policy that goes with it allows exactly these, by their checksum.

use axum::http::HeaderValue;
use axum::http::header::CONTENT_SECURITY_POLICY;
use axum::response::IntoResponse as _;
use maud::{Markup, PreEscaped};
use sha2::{Digest as _, Sha256};

use crate::web::ask::Ask;
use crate::web::reply::{self, Reply};

/// Shows a page that stands alone.
pub(crate) fn show(ask: &Ask, html: String) -> Reply {
    let policy = policy(&html);
    let markup: Markup = PreEscaped(html);
    let mut response = reply::part(ask, &markup).into_response();
    if let Ok(policy) = HeaderValue::from_str(&policy) {
        response.headers_mut().insert(CONTENT_SECURITY_POLICY, policy);
    }
    response
}

/// What such a page may do: nothing but its own style and script.
fn policy(html: &str) -> String {
    let hashes =
        |tag: &str| -> String { blocks(html, tag).map(|text| format!(" {}", checksum(text))).collect() };
    format!(
        "default-src 'none'; img-src data: blob:; script-src{}; style-src 'unsafe-hashes'{}; base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
        or_none(&hashes("script")),
        hashes("style")
    )
}

/// The checksum of a style or script as a policy names it.
pub(crate) fn checksum(text: &str) -> String {
    format!("'sha256-{}'", base64(&Sha256::digest(text.as_bytes())))
}

fn or_none(hashes: &str) -> &str {
    if hashes.is_empty() { " 'none'" } else { hashes }
}

/// What stands between `<tag …>` and `</tag>`, in order.
fn blocks<'a>(html: &'a str, tag: &str) -> impl Iterator<Item = &'a str> {
    let (open, close) = (format!("<{tag}"), format!("</{tag}>"));
    let mut rest = html;
    std::iter::from_fn(move || {
        let after = rest.get(rest.find(&open)? + open.len()..)?;
        let body = after.get(after.find('>')? + 1..)?;
        let end = body.find(&close)?;
        rest = body.get(end + close.len()..)?;
        body.get(..end)
    })
}

/// RFC 4648 base 64 with padding.
fn base64(bytes: &[u8]) -> String {
    const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut out = String::new();
    for chunk in bytes.chunks(3) {
        let word = chunk.iter().fold(0_u32, |w, b| w << 8 | u32::from(*b)) << (8 * (3 - chunk.len()));
        for place in 0..4 {
            if place <= chunk.len() {
                let six = (word >> (18 - 6 * place)) & 63;
                out.push(LETTERS.get(six as usize).map_or('=', |l| char::from(*l)));
            } else {
                out.push('=');
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn base_64_is_the_standards() {
        // RFC 4648, section 10.
        for (plain, coded) in [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("foobar", "Zm9vYmFy"),
        ] {
            assert_eq!(base64(plain.as_bytes()), coded);
        }
    }

    #[test]
    fn the_policy_names_each_block_and_no_more() {
        let html = "<style>a</style><script type=x>b</script><script>c</script>";
        let policy = policy(html);
        assert_eq!(policy.matches("sha256-").count(), 3);
        // FIPS 180-4 SHA-256 of "a", in base 64: ypeBEsobvcr6wjGzmiPcTaeG7/gUfE5yuYB3ha/uSLs=
        assert!(
            policy
                .contains("style-src 'unsafe-hashes' 'sha256-ypeBEsobvcr6wjGzmiPcTaeG7/gUfE5yuYB3ha/uSLs='")
        );
        assert!(super::policy("<p>none</p>").contains("script-src 'none'"));
    }
}
