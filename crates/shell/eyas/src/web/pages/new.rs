//! How do I begin? A new aircraft from an invented model of its layout, from a file, or the demo's to try with.

use std::sync::Arc;

use aircraft::Layout;
use aircraft::template::template;
use axum::Router;
use axum::extract::{DefaultBodyLimit, Multipart, State};
use axum::http::StatusCode;
use axum::routing::{get, post};
use maud::{Markup, PreEscaped, html};

use super::describe::{text_of, with_sections};
use crate::cli::now_ms;
use crate::tasks::{edit, keep};
use crate::tell::{Kind, Trouble};
use crate::web::app::App;
use crate::web::ask::Ask;
use crate::web::fields::Form;
use crate::web::reply::{self, Reply, work};
use crate::web::shell::{self, Place, Step, form_key};
use crate::web::upload;

/// The demo's aircraft.
const DEMO: &str = include_str!("../../../../../../examples/wheatear.toml");
/// Longest name.
const LONGEST: usize = 80;

pub(super) fn routes() -> Router<Arc<App>> {
    Router::new()
        .route("/aircraft/new", get(show).post(begin))
        .route("/aircraft/new/file", post(take).layer(DefaultBodyLimit::max(16 << 20)))
        .route("/aircraft/new/demo", post(demo))
}

async fn show(State(app): State<Arc<App>>, ask: Ask) -> Reply {
    work(app, ask, |_, ask| {
        Ok(reply::page(ask, "New aircraft", &Place::Elsewhere, &page(ask, &Typed::default())))
    })
    .await
}

#[derive(Default)]
struct Typed {
    name: String,
    layout: String,
    wrong: String,
}

fn what(layout: Layout) -> &'static str {
    match layout {
        Layout::Conventional => "wing ahead, tailplane and fin behind",
        Layout::TTail => "tailplane on top of the fin",
        Layout::VTail => "two panels above the body instead of tailplane and fin",
        Layout::InvertedV => "the same two panels, hanging down",
        Layout::FlyingWing => "no tailplane: elevons on the wing",
        Layout::TwinBoom => "two booms with a tailplane between and a fin on each",
        Layout::Canard => "foreplane ahead of the wing",
    }
}

fn page(ask: &Ask, typed: &Typed) -> Markup {
    html! {
        h1 { "A new aircraft" }
        p { "You begin with an invented model of the same arrangement and put your own measures in, one by one; the drawing beside them shows what is still not yours." }
        form.wide method="post" action="/aircraft/new" {
            (form_key(ask))
            div.field {
                label for="name" { "Name" }
                input id="name" name="name" value=(typed.name) maxlength=(LONGEST) required autocomplete="off"
                    aria-invalid=[(!typed.wrong.is_empty()).then_some("true")] aria-describedby="name-hint name-wrong";
                p.hint id="name-hint" { "What you call it; it is kept under this name." }
                p.wrong id="name-wrong" role=[(!typed.wrong.is_empty()).then_some("alert")] { (typed.wrong) }
            }
            fieldset {
                legend { "How are its surfaces arranged?" }
                div.layouts {
                    @for (index, (layout, name)) in Layout::ALL.into_iter().enumerate() {
                        label.layout {
                            span.pick {
                                input type="radio" name="layout" value=(name) checked[if typed.layout.is_empty() { index == 0 } else { typed.layout == name }];
                                strong { (name) }
                            }
                            (drawing(layout))
                            span.hint { (what(layout)) }
                        }
                    }
                }
            }
            div.buttons { button { "Begin to describe it" } }
        }
        h2 { "From a file" }
        form method="post" enctype="multipart/form-data" action="/aircraft/new/file" {
            (form_key(ask))
            div.field {
                label for="aircraft-file" { "Aircraft file" }
                input type="file" id="aircraft-file" name="aircraft" accept=".toml" required;
                p.hint { "One that " code { "eyas new" } " wrote or that was downloaded from these pages. It is kept under the name that stands in it." }
            }
            div.field {
                label for="section-files" { "Coordinate files that it names, if any" }
                input type="file" id="section-files" name="sections" multiple;
            }
            div.buttons { button.second { "Take it in" } }
        }
        h2 { "Try with the demo aircraft" }
        form method="post" action="/aircraft/new/demo" {
            (form_key(ask))
            p { "Wheatear, a V-tail of 1.8 m span for looking around. It is invented: nobody built or flew it." }
            div.buttons { button.second { "Add Wheatear" } }
        }
    }
}

fn drawing(layout: Layout) -> Markup {
    match aircraft::schema::read(&template(layout, layout.word()), &|_| None) {
        Ok(aircraft) => PreEscaped(report::three_view::small(&aircraft)),
        Err(_) => html! {},
    }
}

async fn begin(State(app): State<Arc<App>>, form: Form) -> Reply {
    let fields = form.fields;
    work(app, form.ask, move |app, ask| {
        let name = fields.text("name").unwrap_or_default().to_owned();
        let word = fields.text("layout").unwrap_or_default().to_owned();
        let layout = Layout::ALL.into_iter().find(|(_, w)| *w == word).map(|(l, _)| l);
        let again = |wrong: String, status: StatusCode| {
            let typed = Typed { name: name.clone(), layout: word.clone(), wrong };
            let mut reply = reply::page(ask, "New aircraft", &Place::Elsewhere, &page(ask, &typed));
            *reply.status_mut() = status;
            Ok(reply)
        };
        let Some(layout) = layout else {
            return again(
                "Choose one of the arrangements below.".to_owned(),
                StatusCode::UNPROCESSABLE_ENTITY,
            );
        };
        if let Some(wrong) = wrong_name(&name) {
            return again(wrong.to_owned(), StatusCode::UNPROCESSABLE_ENTITY);
        }
        match edit::keep_new(
            &app.common,
            &template(layout, &name),
            &[],
            "begun from an invented model",
            now_ms(),
        ) {
            Ok(name) => Ok(reply::on_to(
                &Step::Describe.path(&name),
                "Every number here is invented so far. Put yours in, one by one.",
            )),
            Err(trouble) if trouble.kind() == Kind::Conflict => {
                again(format!("{}.", shell::capital(&trouble.causes().join("; "))), StatusCode::CONFLICT)
            }
            Err(trouble) => Err(trouble),
        }
    })
    .await
}

fn wrong_name(name: &str) -> Option<&'static str> {
    if name.is_empty() {
        Some("Give it a name.")
    } else if name.chars().count() > LONGEST {
        Some("That is longer than 80 letters: give it a shorter name.")
    } else if name.chars().any(char::is_control) {
        Some("A name holds no line breaks or other control characters.")
    } else if name.eq_ignore_ascii_case("new") {
        Some("\u{201c}new\u{201d} is the address of this page: give it another name.")
    } else {
        None
    }
}

async fn take(State(app): State<Arc<App>>, ask: Ask, form: Multipart) -> Reply {
    let uploaded = match upload::take(&ask, form).await {
        Ok(uploaded) => uploaded,
        Err(trouble) => return reply::trouble(&ask, &trouble),
    };
    work(app, ask, move |app, _| {
        let Some(file) = uploaded.files.iter().find(|f| f.field == "aircraft") else {
            return Err(Trouble::new(
                Kind::Input,
                "nothing was taken in",
                "no aircraft file was chosen",
                "go back and choose one",
            ));
        };
        let text = text_of(file)?;
        let files = with_sections(Vec::new(), &uploaded.files)?;
        if let Ok(aircraft) = edit::read(&text, &files)
            && let Some(wrong) = wrong_name(&aircraft.name)
        {
            return Err(Trouble::new(
                Kind::No,
                format!("\"{}\" was not taken in", file.name),
                wrong,
                "change the name in the file",
            ));
        }
        let name =
            edit::keep_new(&app.common, &text, &files, &format!("taken in from {}", file.name), now_ms())?;
        Ok(reply::on_to(&Step::Describe.path(&name), "Taken in. Does the drawing look like yours?"))
    })
    .await
}

async fn demo(State(app): State<Arc<App>>, form: Form) -> Reply {
    work(app, form.ask, |app, _| {
        let there = match keep::open_existing(&app.common)? {
            Some(hangar) => hangar.names().map_err(keep::trouble)?.iter().any(|n| n == "Wheatear"),
            None => false,
        };
        if there {
            return Ok(reply::on_to(&Step::Describe.path("Wheatear"), "Wheatear is here already."));
        }
        let name = edit::keep_new(&app.common, DEMO, &[], "the invented aircraft of the demo", now_ms())?;
        Ok(reply::on_to(
            &Step::Describe.path(&name),
            "Wheatear is invented: nobody built or flew it. Change what you like.",
        ))
    })
    .await
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_that_cannot_be_kept_are_told() {
        assert_eq!(wrong_name("Möwe II"), None);
        assert_eq!(wrong_name("<script>"), None);
        for bad in ["", "a\nb", "New", &"x".repeat(81)] {
            assert!(wrong_name(bad).is_some(), "{bad}");
        }
    }

    #[test]
    fn every_arrangement_has_a_drawing() {
        for (layout, _) in Layout::ALL {
            assert!(drawing(layout).into_string().contains("<path"), "{}", what(layout));
        }
    }

    #[test]
    fn the_demo_reads() {
        assert!(edit::read(DEMO, &[]).is_ok());
    }
}
