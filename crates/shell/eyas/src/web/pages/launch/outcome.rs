//! What came of the launches? The odds with all that goes with them, and where to go from there.

use aircraft::Aircraft;
use maud::{Markup, html};
use numerics::units::DEG_PER_RAD;
use predict::launch::odds::Study;
use predict::launch::tally::Ended;
use report::launch_page::launch_part;
use report::number::fixed;

use crate::web::controls::address;
use crate::web::fields::Fields;
use crate::web::shell::Step;

/// The study as a part of a page.
pub(super) fn part(aircraft: &Aircraft, study: &Study, fields: &Fields) -> Markup {
    html! {
        @if study.odds.ended == Ended::Cancelled {
            div.warn { p { "Stopped after " (study.odds.runs) " launches: the odds are those of these alone, and nothing after them was computed." } }
        } @else if study.cancelled {
            div.warn { p { "Stopped before all was computed: what would help, or the table, is not whole." } }
        }
        @if fields.text("wind").is_none() {
            div.warn { p { "The wind was not told: these are the odds in a calm. Measure it at the field, and compute them anew." } }
        }
        (launch_part(aircraft, study))
        div.buttons {
            a.button href=(address(&Step::Launch.path(&aircraft.name), fields)) { "Change something and compute anew" }
            a.button.second href=(to_the_day(aircraft, study, fields)) { "Judge the day with this wind" }
        }
    }
}

/// The day's page with the wind of these launches filled in.
fn to_the_day(aircraft: &Aircraft, study: &Study, fields: &Fields) -> String {
    let mut pairs: Vec<(String, String)> = Vec::new();
    let mut put = |name: &str, value: String| pairs.push((name.to_owned(), value));
    for (from, to) in
        [("wind", "wind"), ("gust", "gust"), ("wind-from", "from"), ("wind-height-m", "wind-height-m")]
    {
        if let Some(value) = fields.text(from) {
            put(to, value.to_owned());
        }
    }
    for name in ["height-m", "temperature-c", "pressure-hpa"] {
        if let Some(value) = fields.text(name) {
            put(name, value.to_owned());
        }
    }
    put("heading", fixed((study.scene.heading_rad * DEG_PER_RAD).rem_euclid(360.0), 0));
    put("launch-odds", fixed(100.0 * study.odds.clean.low, 1));
    address(&Step::Day.path(&aircraft.name), &Fields::of(pairs))
}
