//! Is it a day for it? What is told of the air, held against the limits of this aircraft: the verdict with its reasons, hour
//! by hour and point by point, and the limits themselves, to be tightened or loosened.

pub(super) mod asked;
pub(super) mod kept;
mod limits;
mod outcome;

use std::sync::Arc;

use axum::Router;
use axum::extract::{Path, RawQuery, State};
use axum::http::HeaderMap;
use axum::routing::get;
use maud::{Markup, html};

use self::asked::{Asked, CONTROLS};
use crate::tasks::today::{Told, today};
use crate::tell::{Kind, Trouble};
use crate::web::app::App;
use crate::web::ask::Ask;
use crate::web::controls::Wrong;
use crate::web::fields::Fields;
use crate::web::reply::{self, Reply, work};
use crate::web::shell::{Place, Step};

pub(super) fn routes() -> Router<Arc<App>> {
    Router::new().route("/aircraft/{name}/day", get(show))
}

async fn show(
    State(app): State<Arc<App>>,
    ask: Ask,
    Path(name): Path<String>,
    RawQuery(query): RawQuery,
    headers: HeaderMap,
) -> Reply {
    work(app, ask, move |app, ask| {
        app.aircraft(&name)?;
        let fields = Fields::read(&query.unwrap_or_default());
        let told = Source::of(fields, kept::take(&headers, &name));
        let keep = matches!(&told, Source::Now(_)).then(|| told.fields().clone());
        let named = name.clone();
        let mut reply = reply::later(app, ask, "Day", &Place::Of(&name, Step::Day), move |app, ask| {
            body(app, ask, &named, &told)
        });
        if let Some(fields) = keep {
            kept::put(&mut reply, &name, &fields);
        }
        Ok(reply)
    })
    .await
}

/// Where the values of the form come from.
enum Source {
    /// From the address: they are judged.
    Now(Fields),
    /// From a judgement before, kept by this browser: they are filled in.
    Before(Fields),
    /// From nowhere.
    Nothing(Fields),
}

impl Source {
    fn of(asked: Fields, before: Option<Fields>) -> Self {
        if asked.iter().next().is_some() {
            return Self::Now(asked);
        }
        before.map_or(Self::Nothing(asked), Self::Before)
    }

    fn fields(&self) -> &Fields {
        match self {
            Self::Now(fields) | Self::Before(fields) | Self::Nothing(fields) => fields,
        }
    }
}

fn body(app: &Arc<App>, ask: &Ask, name: &str, told: &Source) -> Result<Markup, Trouble> {
    let _ = ask;
    let fetched = app.aircraft(name)?;
    let fields = told.fields();
    let asked = Asked::read(fields);
    let mut wrong = asked.wrong.clone();
    let now = matches!(told, Source::Now(_));
    let mut judged = None;
    if now && wrong.is_empty() {
        match today(&fetched, &asked.told, &app.common) {
            Ok(day) => judged = Some(day),
            Err(trouble) if trouble.kind() == Kind::Input => wrong = Wrong::of(&trouble, &CONTROLS),
            Err(trouble) => return Err(trouble),
        }
    }
    // The limits stand on the page whether or not a day was told: they are the aircraft's.
    let limits = match &judged {
        Some(day) => day.day.limits.clone(),
        None => today(&fetched, &Told::default(), &app.common)?.day.limits,
    };
    Ok(html! {
        h1 { "Day" }
        @match &judged {
            Some(day) => (outcome::part(name, day, fields)),
            None => p.lead { "Tell what is known of the air: a report, a forecast, or what you measured and see. It is held against the limits that \
                follow from this aircraft's own numbers. What nobody tells is unknown, and never go." },
        }
        @if let Source::Before(_) = told {
            p.next { "Filled in with what this browser told of the day before. A report holds for two hours: put in the newest, then judge." }
        }
        (wrong.part(&CONTROLS))
        @if judged.is_some() {
            details.told {
                summary { "Change what is told of the day" }
                (asked::form(name, fields, &wrong))
            }
        } @else {
            h2 { "What is known of the day" }
            (asked::form(name, fields, &wrong))
        }
        (limits::part(&limits, fields, &wrong))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    const WHERE: &str = "at=2026-06-21T13%3A00&lat=52.5&lon=9.7&height-m=55&heading=240";

    fn page(query: &str) -> String {
        let (_folder, app) = App::of_example();
        body(&app, &Ask::plain(), "Wheatear", &Source::Now(Fields::read(query))).unwrap().into_string()
    }

    #[test]
    fn a_report_is_judged_with_its_reasons_and_what_was_not_understood_is_told() {
        let windy = page(&format!(
            "metar=METAR+EDXX+211220Z+24025G40KT+3000+TSRA+BKN015CB+19%2F17+Q1001+%3Cscript%3E&{WHERE}"
        ));
        assert!(windy.contains("verdict v-no-go"), "{windy}");
        assert!(windy.contains("thunder") || windy.contains("Thunder"), "{windy}");
        assert!(!windy.contains("<script>"));
        assert!(
            windy.contains("&lt;SCRIPT&gt;") || windy.contains("&lt;script&gt;"),
            "the group that was not taken"
        );
        let calm = page(&format!("metar=METAR+EDXX+211220Z+24005KT+CAVOK+19%2F08+Q1021&{WHERE}"));
        assert!(calm.contains("verdict v-go"), "{calm}");
        assert!(calm.contains("/aircraft/Wheatear/card?metar="), "on to the card with the day");
    }

    #[test]
    fn a_forecast_is_told_hour_by_hour_with_a_drawing_and_the_best_stretch() {
        // By hand: 13 to 15 UTC is fair; from 15 on the wind may rise, from 16 on it has.
        let page = page(&format!(
            "taf=TAF+EDXX+211100Z+2112%2F2121+24004KT+CAVOK+BECMG+2115%2F2116+25018G32KT&temperature-c=20&{WHERE}"
        ));
        assert!(page.contains("Best: go from 2026-06-21 13:00 UTC to 2026-06-21 15:00 UTC"), "{page}");
        assert!(page.contains("<svg") && page.contains("aria-label=\"Hours of the day\""));
        // The same by the clocks of a place that are two hours ahead in summer.
        let there = self::page(&format!(
            "taf=TAF+EDXX+211100Z+2112%2F2121+24004KT+CAVOK+BECMG+2115%2F2116+25018G32KT&temperature-c=20&zone=Europe%2FBerlin&{}",
            WHERE.replace("T13", "T15")
        ));
        assert!(there.contains("Best: go from 2026-06-21 15:00 CEST (13:00 UTC)"), "{there}");
        assert!(there.contains("Hours, CEST"), "{there}");
        assert!(
            page.contains("13:00 to 15:00"),
            "hours of which the same is to be said stand together: {page}"
        );
        assert!(page.matches("class=\"hour ").count() < 8, "{page}");
    }

    #[test]
    fn what_is_typed_wrong_is_told_beside_its_field_and_nothing_is_judged() {
        let page = page("metar=garbage&wind=3&gust=2&lat=95&lon=9&limit.wind_m_s=x&at=noon");
        assert!(!page.contains("class=\"verdict"), "{page}");
        assert!(page.contains("id=\"limit.wind_m_s-wrong\""), "{page}");
        let page = self::page("metar=garbage&lat=52&at=noon");
        for field in ["metar-wrong", "lat-wrong", "at-wrong"] {
            assert!(page.contains(&format!("id=\"{field}\"")), "{field}: {page}");
        }
    }

    #[test]
    fn a_loosened_limit_is_told() {
        let page = page(&format!(
            "wind=5&gust=6&from=240&wind-height-m=10&sky=good&limit.wind_m_s=25&temperature-c=20&{WHERE}"
        ));
        assert!(page.contains("was loosened from"), "{page}");
        assert!(page.contains("id=\"limit.wind_m_s\"") && page.contains("value=\"25\""));
    }
}
