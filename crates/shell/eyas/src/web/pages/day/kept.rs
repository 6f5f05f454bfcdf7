//! What was told of the day, kept by the browser for half a day: from the day's page it is taken to the card's without being
//! typed again.

use axum::http::header::{COOKIE, SET_COOKIE};
use axum::http::{HeaderMap, HeaderValue};

use crate::web::controls::query;
use crate::web::fields::Fields;
use crate::web::reply::Reply;

/// Longest text that is kept: browsers take 4096 letters, name and all.
const LONGEST: usize = 3600;
/// Which aircraft it was told for.
const OF: &str = "of";

/// Keeps what was told.
pub(crate) fn put(reply: &mut Reply, aircraft: &str, fields: &Fields) {
    let mut pairs: Vec<(String, String)> =
        fields.iter().map(|(name, value)| (name.to_owned(), value.to_owned())).collect();
    pairs.push((OF.to_owned(), aircraft.to_owned()));
    let text = query(&Fields::of(pairs));
    if text.len() <= LONGEST
        && let Ok(cookie) = HeaderValue::from_str(&format!(
            "eyas_day={text}; Path=/; Max-Age=43200; SameSite=Strict; HttpOnly"
        ))
    {
        reply.headers_mut().append(SET_COOKIE, cookie);
    }
}

/// What was kept. Limits of another aircraft are not taken along.
pub(crate) fn take(headers: &HeaderMap, aircraft: &str) -> Option<Fields> {
    let text = headers
        .get_all(COOKIE)
        .iter()
        .filter_map(|value| value.to_str().ok())
        .flat_map(|line| line.split(';'))
        .find_map(|pair| pair.trim().strip_prefix("eyas_day="))?;
    let fields = Fields::read(text);
    let same = fields.text(OF) == Some(aircraft);
    let kept: Vec<(String, String)> = fields
        .iter()
        .filter(|(name, _)| *name != OF && (same || !(name.starts_with("limit.") || *name == "launch-odds")))
        .map(|(name, value)| (name.to_owned(), value.to_owned()))
        .collect();
    (!kept.is_empty()).then(|| Fields::of(kept))
}

#[cfg(test)]
mod tests {
    use super::*;
    use axum::http::StatusCode;
    use axum::response::IntoResponse as _;

    #[test]
    fn what_was_told_comes_back_and_limits_stay_with_their_aircraft() {
        let fields = Fields::read("metar=METAR+A%3B%3D%22&wind=4%2C5&limit.wind_m_s=9");
        let mut reply = StatusCode::OK.into_response();
        put(&mut reply, "Möwe; <1>", &fields);
        let set = reply.headers().get(SET_COOKIE).unwrap().to_str().unwrap().to_owned();
        let mut headers = HeaderMap::new();
        headers.insert(
            COOKIE,
            HeaderValue::from_str(&format!("a=b; {}; c=d", set.split(';').next().unwrap())).unwrap(),
        );
        let back = take(&headers, "Möwe; <1>").unwrap();
        assert_eq!(query(&back), query(&fields));
        let other = take(&headers, "Wheatear").unwrap();
        assert_eq!((other.text("wind"), other.text("limit.wind_m_s")), (Some("4,5"), None));
        assert!(take(&HeaderMap::new(), "Wheatear").is_none());
    }
}
