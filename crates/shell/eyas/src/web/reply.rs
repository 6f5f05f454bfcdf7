//! How is a page sent? Its frame at once, what has to be computed after it; packed where the browser takes that.

use std::io::Write as _;
use std::sync::Arc;

use axum::body::{Body, Bytes};
use axum::http::header::{CACHE_CONTROL, CONTENT_ENCODING, CONTENT_TYPE, LOCATION, SET_COOKIE};
use axum::http::{HeaderValue, StatusCode};
use axum::response::{IntoResponse as _, Response};
use flate2::Compression;
use flate2::write::GzEncoder;
use maud::{Markup, html};
use tokio_stream::wrappers::ReceiverStream;

use crate::tell::{Kind, Trouble};
use crate::web::app::App;
use crate::web::ask::{Ask, Units, to_hex};
use crate::web::shell::{self, Place};

/// An answer ready to be sent.
pub(crate) type Reply = Response;

/// Does blocking work (the hangar, predictions) away from the threads that serve, and answers with trouble where it ends
/// in trouble.
pub(crate) async fn work<F>(app: Arc<App>, ask: Ask, job: F) -> Reply
where
    F: FnOnce(&Arc<App>, &Ask) -> Result<Reply, Trouble> + Send + 'static,
{
    let asked = ask.clone();
    let done =
        tokio::task::spawn_blocking(move || job(&app, &asked).unwrap_or_else(|t| trouble(&asked, &t))).await;
    done.unwrap_or_else(|_| trouble(&ask, &fault()))
}

fn fault() -> Trouble {
    Trouble::new(
        Kind::Fault,
        "the page could not be made",
        "a fault inside the program; what is kept in the hangar is not touched by it",
        "load the page again; if it stays, the terminal in which the pages run says more",
    )
}

/// A whole page.
pub(crate) fn page(ask: &Ask, title: &str, place: &Place<'_>, body: &Markup) -> Reply {
    let (head, tail) = shell::frame(ask, title, place);
    sent(ask, StatusCode::OK, &format!("{head}{}{tail}", shown(ask, &body.0)))
}

/// A page whose body takes time: the frame goes out at once, the body when it is computed.
pub(crate) fn later<F>(app: &Arc<App>, ask: &Ask, title: &str, place: &Place<'_>, body: F) -> Reply
where
    F: FnOnce(&Arc<App>, &Ask) -> Result<Markup, Trouble> + Send + 'static,
{
    let (head, tail) = shell::frame(ask, title, place);
    let (send, receive) = tokio::sync::mpsc::channel::<Result<Bytes, std::io::Error>>(4);
    let (app, asked) = (Arc::clone(app), ask.clone());
    tokio::task::spawn_blocking(move || {
        let mut packer = Packer::new(asked.gzip);
        // A browser that went away wants nothing any more.
        if send.blocking_send(packer.part(&head)).is_err() {
            return;
        }
        let made = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| body(&app, &asked)));
        let body = match made {
            Ok(Ok(body)) => body,
            Ok(Err(trouble)) => shell::told(&trouble),
            Err(_) => shell::told(&fault()),
        };
        if send.blocking_send(packer.part(&shown(&asked, &body.0))).is_ok() {
            let _ = send.blocking_send(packer.last(&tail));
        }
    });
    let mut response = Body::from_stream(ReceiverStream::new(receive)).into_response();
    headers(ask, &mut response, "text/html; charset=utf-8");
    response
}

/// A part of a page, to be put in place by the page that asked for it.
pub(crate) fn part(ask: &Ask, body: &Markup) -> Reply {
    sent(ask, StatusCode::OK, &shown(ask, &body.0))
}

/// On to another page, with something to say there.
pub(crate) fn on_to(path: &str, said: &str) -> Reply {
    let mut response = StatusCode::SEE_OTHER.into_response();
    if let Ok(path) = HeaderValue::from_str(path) {
        response.headers_mut().insert(LOCATION, path);
    }
    if !said.is_empty()
        && let Ok(cookie) = HeaderValue::from_str(&format!(
            "eyas_said={}; Path=/; Max-Age=60; SameSite=Strict; HttpOnly",
            to_hex(&said.chars().take(1200).collect::<String>())
        ))
    {
        response.headers_mut().append(SET_COOKIE, cookie);
    }
    response
}

/// A page that says what went wrong.
pub(crate) fn trouble(ask: &Ask, trouble: &Trouble) -> Reply {
    let status = match trouble.kind() {
        Kind::Input => StatusCode::BAD_REQUEST,
        Kind::No => StatusCode::UNPROCESSABLE_ENTITY,
        Kind::Missing => StatusCode::NOT_FOUND,
        Kind::Conflict => StatusCode::CONFLICT,
        Kind::TooLarge => StatusCode::PAYLOAD_TOO_LARGE,
        Kind::Fault => StatusCode::INTERNAL_SERVER_ERROR,
    };
    let body = shell::told(trouble);
    if ask.part {
        return sent(ask, status, &body.0);
    }
    let (head, tail) = shell::frame(ask, "This did not work", &Place::Elsewhere);
    sent(ask, status, &format!("{head}{}{tail}", html! { h1 { "This did not work" } (body) }.0))
}

/// A file to keep.
pub(crate) fn file(name: &str, kind: &'static str, bytes: Vec<u8>) -> Reply {
    let plain: String =
        name.chars().map(|c| if c.is_ascii_alphanumeric() || "-_.".contains(c) { c } else { '-' }).collect();
    let mut response = Body::from(bytes).into_response();
    response.headers_mut().insert(CONTENT_TYPE, HeaderValue::from_static(kind));
    response.headers_mut().insert(CACHE_CONTROL, HeaderValue::from_static("no-store"));
    if let Ok(value) = HeaderValue::from_str(&format!("attachment; filename=\"{plain}\"")) {
        response.headers_mut().insert(axum::http::header::CONTENT_DISPOSITION, value);
    }
    response
}

fn shown(ask: &Ask, html: &str) -> String {
    match ask.units {
        Units::Metric => html.to_owned(),
        Units::Imperial => crate::web::shell::imperial(html),
    }
}

fn sent(ask: &Ask, status: StatusCode, html: &str) -> Reply {
    packed(ask, status, "text/html; charset=utf-8", html.as_bytes())
}

fn packed(ask: &Ask, status: StatusCode, kind: &'static str, bytes: &[u8]) -> Reply {
    let mut packer = Packer::new(ask.gzip);
    let body = match packer.finish(bytes) {
        Ok(bytes) => Body::from(bytes),
        Err(_) => return StatusCode::INTERNAL_SERVER_ERROR.into_response(),
    };
    let mut response = (status, body).into_response();
    headers(ask, &mut response, kind);
    response
}

fn headers(ask: &Ask, response: &mut Response, kind: &'static str) {
    let map = response.headers_mut();
    map.insert(CONTENT_TYPE, HeaderValue::from_static(kind));
    map.insert(CACHE_CONTROL, HeaderValue::from_static("no-store"));
    if ask.gzip {
        map.insert(CONTENT_ENCODING, HeaderValue::from_static("gzip"));
    }
    if ask.new_key
        && let Ok(cookie) =
            HeaderValue::from_str(&format!("eyas_form={}; Path=/; SameSite=Strict; HttpOnly", ask.form_key))
    {
        map.append(SET_COOKIE, cookie);
    }
    if ask.said.is_some() && !ask.part {
        map.append(
            SET_COOKIE,
            HeaderValue::from_static("eyas_said=; Path=/; Max-Age=0; SameSite=Strict; HttpOnly"),
        );
    }
}

/// Packs text part by part, each readable as soon as it arrives.
struct Packer {
    encoder: Option<GzEncoder<Vec<u8>>>,
}

impl Packer {
    fn new(gzip: bool) -> Self {
        Self { encoder: gzip.then(|| GzEncoder::new(Vec::new(), Compression::new(5))) }
    }

    fn part(&mut self, text: &str) -> Result<Bytes, std::io::Error> {
        let Some(encoder) = &mut self.encoder else { return Ok(Bytes::copy_from_slice(text.as_bytes())) };
        encoder.write_all(text.as_bytes())?;
        encoder.flush()?;
        Ok(Bytes::from(std::mem::take(encoder.get_mut())))
    }

    fn last(&mut self, text: &str) -> Result<Bytes, std::io::Error> {
        self.finish(text.as_bytes()).map(Bytes::from)
    }

    fn finish(&mut self, bytes: &[u8]) -> Result<Vec<u8>, std::io::Error> {
        match self.encoder.take() {
            Some(mut encoder) => {
                encoder.write_all(bytes)?;
                encoder.finish()
            }
            None => Ok(bytes.to_vec()),
        }
    }
}
