//! How do I want to see the pages? Look and units, kept by the browser.

use std::sync::Arc;

use axum::Router;
use axum::extract::RawQuery;
use axum::http::HeaderValue;
use axum::http::header::SET_COOKIE;
use axum::routing::get;
use maud::html;

use crate::web::app::App;
use crate::web::ask::{Ask, Theme, Units};
use crate::web::fields::{Fields, Form};
use crate::web::reply::{self, Reply};
use crate::web::shell::{Place, form_key};

pub(super) fn routes() -> Router<Arc<App>> {
    Router::new().route("/display", get(show).post(set))
}

/// A path on this server that a link may lead back to; anything else leads to the hangar.
fn back(told: Option<&str>) -> &str {
    match told {
        Some(path)
            if path.starts_with('/') && !path.starts_with("//") && !path.contains(['\\', '\r', '\n']) =>
        {
            path
        }
        _ => "/",
    }
}

async fn show(ask: Ask, RawQuery(query): RawQuery) -> Reply {
    let fields = Fields::read(&query.unwrap_or_default());
    let to = back(fields.text("back"));
    let body = html! {
        h1 { "Display" }
        p { "Kept by this browser only." }
        form method="post" action="/display" {
            (form_key(&ask))
            input type="hidden" name="back" value=(to);
            fieldset {
                legend { "Look" }
                @for (theme, word, name) in Theme::ALL {
                    label.tick { input type="radio" name="theme" value=(word) checked[theme == ask.theme]; (name) }
                }
                p.hint { "\u{201c}In the sun\u{201d} is black on white, larger and thicker." }
            }
            fieldset {
                legend { "Units" }
                label.tick { input type="radio" name="units" value="metric" checked[ask.units == Units::Metric]; "Metric: m/s, mm, g, N" }
                label.tick { input type="radio" name="units" value="imperial" checked[ask.units == Units::Imperial]; "Metric, with imperial beside it: mph, in, oz, lbf" }
                p.hint { "Forms and files take metric numbers, and a file also takes inches and ounces by the ending of its keys." }
            }
            div.buttons { button { "Keep" } a.button.second href=(to) { "Back" } }
        }
    };
    reply::page(&ask, "Display", &Place::Elsewhere, &body)
}

async fn set(form: Form) -> Reply {
    let theme = Theme::ALL
        .iter()
        .find(|(_, word, _)| form.fields.text("theme") == Some(word))
        .map_or("auto", |t| t.1);
    let units = if form.fields.text("units") == Some("imperial") { Units::Imperial } else { Units::Metric };
    let mut reply = reply::on_to(back(form.fields.text("back")), "");
    for (name, word) in [("eyas_theme", theme), ("eyas_units", units.word())] {
        if let Ok(cookie) = HeaderValue::from_str(&format!(
            "{name}={word}; Path=/; Max-Age=31536000; SameSite=Strict; HttpOnly"
        )) {
            reply.headers_mut().append(SET_COOKIE, cookie);
        }
    }
    reply
}

#[cfg(test)]
mod tests {
    use super::back;

    #[test]
    fn the_way_back_never_leaves_this_server() {
        assert_eq!(back(Some("/aircraft/a?b=c")), "/aircraft/a?b=c");
        for elsewhere in
            ["//evil.example", "https://evil.example", "/\\evil.example", "", "javascript:1", "/a\r\nb"]
        {
            assert_eq!(back(Some(elsewhere)), "/", "{elsewhere}");
        }
    }
}
