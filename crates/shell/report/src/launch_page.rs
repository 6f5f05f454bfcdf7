//! Will the launch work? The odds in sentences, what drives them, what would help, and the pictures.

use aircraft::Aircraft;
use aircraft::controller::Acts;
use maud::{Markup, html};
use numerics::units::DEG_PER_RAD;
use predict::launch::caution::cautions;
use predict::launch::drivers::Driver;
use predict::launch::inputs::Input;
use predict::launch::odds::{GOOD, Study};
use predict::launch::outcome::Outcome;
use predict::launch::scene::Method;
use predict::launch::table::{Least, WANTED};
use predict::launch::tally::Share;

use crate::launch_plots as plots;
use crate::number;
use crate::page::{facts, figure, page};

/// A study of a launch as one self-contained page.
#[must_use]
pub fn launch_html(aircraft: &Aircraft, study: &Study) -> String {
    let title = format!("Launch odds of {}", aircraft.name);
    page(&title, "", &html! { h1 { (title) } (launch_part(aircraft, study)) })
}

/// The same without the page around it.
#[must_use]
pub fn launch_part(aircraft: &Aircraft, s: &Study) -> Markup {
    html! {
        @for (i, sentence) in lead(aircraft, s).iter().enumerate() {
            p.lead[i == 0].big[i == 0] { (sentence) }
        }
        div.warn {
            h2 { "Before anybody throws" }
            ul { @for caution in cautions(aircraft, &s.scene.method) { li { (caution) } } }
        }
        h2 { "How the launches end" }
        (outcome_table(s))
        @if let Some(line) = before_touch(s) { p { (line) } }
        div.plots {
            (figure(plots::side(s), "Each line is one launch, seen from its right; the fan holds the first launches and some of each kind that ended otherwise."))
            (figure(plots::plan(s), "The same launches from above; ahead is the heading of the launch."))
            (figure(plots::heights(s), "Half of the launches fly inside the inner band, nine of ten inside the outer one; on the ground counts as zero."))
            (figure(plots::airspeeds(s), "Those still in the air."))
        }
        h2 { "What drives it" }
        div.plots { (figure(plots::drivers(s), "Share of the variance of clean or not that each input explains alone.")) }
        table.stack {
            thead { tr { th { "Input" } th.n { "Share" } th { "Effect" } } }
            tbody {
                @for row in driver_rows(s, 8) {
                    tr { th { (row.name) } td.n data-name="Share" { (row.percent) } td data-name="Effect" { (row.effect) } }
                }
            }
        }
        p.note { (drivers_note(s)) }
        @if !s.helps.is_empty() {
            h2 { "What would help, and what would hurt" }
            table.stack {
                thead { tr { th { "Change" } th.n { "Odds change, percentage points" } } }
                tbody {
                    @for (what, change) in help_rows(s) {
                        tr { th { (what) } td.n data-name="Odds change" { (change) } }
                    }
                }
            }
            p.note { "Each was flown with the same throws and gusts; in brackets the 95 % interval." }
        }
        @if !s.table.is_empty() {
            h2 { "Wind and " (speed_name(s)) }
            div.plots { (figure(plots::table(s), "Gusts grow in proportion to the wind.")) }
        }
        @if let Some(line) = least_words(s) { p { (line) } }
        h2 { "Down again" }
        @for line in landing_words(s) { p { (line) } }
        div.plots { (figure(plots::landing(s), "Straight against the wind, motor off; ground effect is left out.")) }
        h2 { "What was taken to scatter" }
        p { (inputs_words(s)) }
    }
}

/// A share in per cent with its interval: "93.4 % (92.2 to 94.4)".
fn percent(share: &Share) -> String {
    format!(
        "{} % ({} to {})",
        number::fixed(100.0 * share.probability, 1),
        number::fixed(100.0 * share.low, 1),
        number::fixed(100.0 * share.high, 1)
    )
}

/// The answer in sentences.
#[must_use]
pub fn lead(aircraft: &Aircraft, s: &Study) -> Vec<String> {
    let scene = &s.scene;
    let clean = &s.odds.clean;
    let verdict = if s.odds.is_no() {
        format!("No: fewer than {} of 100.", number::fixed(100.0 * GOOD, 0))
    } else {
        format!("That is {} of 100 or more.", number::fixed(100.0 * GOOD, 0))
    };
    let way = match &scene.method {
        Method::Hand => "thrown by hand".to_owned(),
        Method::Bungee(c) => format!("pulled by a cord stretched {}", number::coarse(c.stretch_m, "m")),
        Method::Rail(r) => format!("shot along {} of rail", number::coarse(r.length_m, "m")),
        Method::Rolling(r) => {
            format!("rolling on {} of {}", number::coarse(r.length_m, "m"), ground_word(r.ground))
        }
    };
    let wind = if scene.wind.speed_m_s > 0.0 || scene.wind.gust_m_s.unwrap_or(0.0) > 0.0 {
        let off = numerics::frames::wrap_rad(scene.heading_rad - scene.wind.from_rad).abs() * DEG_PER_RAD;
        let towards = match off {
            o if o < 10.0 => "straight into".to_owned(),
            o if o > 170.0 => "straight down".to_owned(),
            o => format!("{} off", number::fixed(o, 0) + "°"),
        };
        format!(
            "{towards} a wind of {}{}",
            number::coarse(scene.wind.speed_m_s, "m/s"),
            scene.wind.gust_m_s.map_or_else(String::new, |g| format!(", gusts {}", number::coarse(g, "m/s")))
        )
    } else {
        "in a calm".to_owned()
    };
    let steadied = match scene.acts {
        Acts::Level => "the controller holds wings and climb attitude",
        Acts::Rate => "a pilot steers, the controller damps",
        Acts::Direct => "a pilot steers without a controller",
    };
    let speed = scene.scatter.of(Input::Speed);
    vec![
        format!("{}: clean in {} of 100 launches. {verdict}", aircraft.name, of_hundred(clean)),
        format!(
            "It is {way} at {} ± {} (stall {}), {wind}; {steadied}.",
            number::fixed(speed.mean, 1),
            number::coarse(speed.sd, "m/s"),
            number::coarse(s.stall_m_s, "m/s"),
        ),
    ]
}

fn ground_word(ground: aircraft::start::Ground) -> &'static str {
    aircraft::start::Ground::ALL.iter().find(|(g, _)| *g == ground).map_or("ground", |(_, word)| word)
}

fn of_hundred(share: &Share) -> String {
    format!(
        "{} ({} to {})",
        number::fixed(100.0 * share.probability, 1),
        number::fixed(100.0 * share.low, 1),
        number::fixed(100.0 * share.high, 1)
    )
}

/// Rows of the outcomes that can be: word, share, meaning.
#[must_use]
pub fn outcome_rows(s: &Study) -> Vec<(String, String, String)> {
    Outcome::ALL
        .iter()
        .zip(&s.odds.outcomes)
        .filter(|(outcome, share)| {
            share.count > 0
                || !matches!(outcome, Outcome::StayedDown | Outcome::Diverged)
                || (**outcome == Outcome::StayedDown && matches!(s.scene.method, Method::Rolling(_)))
        })
        .map(|(outcome, share)| (outcome.word().to_owned(), percent(share), outcome.meaning().to_owned()))
        .collect()
}

fn outcome_table(s: &Study) -> Markup {
    html! {
        table.stack {
            thead { tr { th { "Ends" } th.n { "Share (95 % interval)" } th { "Meaning" } } }
            tbody {
                @for (word, share, meaning) in outcome_rows(s) {
                    tr { th { (word) } td.n data-name="Share" { (share) } td data-name="Meaning" { (meaning) } }
                }
            }
        }
    }
}

/// What came before the touch of those that touched.
#[must_use]
pub fn before_touch(s: &Study) -> Option<String> {
    let parts: Vec<String> = s
        .odds
        .touched_after
        .iter()
        .filter(|(_, count)| *count > 0)
        .map(|(outcome, count)| match outcome {
            Outcome::Stalled => format!("{count} after a stall"),
            Outcome::RolledOff => format!("{count} after rolling off"),
            _ => format!("{count} by sinking"),
        })
        .collect();
    (!parts.is_empty()).then(|| format!("Of those that touched: {}.", parts.join(", ")))
}

/// A driver in words.
#[derive(Debug, Clone, PartialEq)]
pub struct DriverRow {
    /// What it is.
    pub name: String,
    /// Its share.
    pub percent: String,
    /// What more of it does.
    pub effect: String,
}

/// The strongest drivers beyond chance; where no launch or every launch went wrong, what moves the least height instead.
#[must_use]
pub fn driver_rows(s: &Study, most: usize) -> Vec<DriverRow> {
    let varied = s.odds.clean.count > 0 && s.odds.clean.count < s.odds.clean.of;
    if varied {
        let beyond = s.odds.drivers.iter().filter(|d| d.percent > d.noise_percent);
        return beyond.take(most).map(driver_row).collect();
    }
    let mut by_height: Vec<&Driver> = s.odds.drivers.iter().collect();
    by_height.sort_by(|a, b| b.height_correlation.abs().total_cmp(&a.height_correlation.abs()));
    by_height
        .into_iter()
        .filter(|d| d.height_correlation.abs() > 0.2)
        .take(3)
        .map(|d| DriverRow {
            name: d.input.name().to_owned(),
            percent: "–".into(),
            effect: format!(
                "more {} the least height (rank correlation {})",
                if d.height_correlation > 0.0 { "raises" } else { "lowers" },
                number::fixed(d.height_correlation, 2)
            ),
        })
        .collect()
}

fn driver_row(d: &Driver) -> DriverRow {
    let (unit, per) = d.input.unit();
    let low = number::fixed(100.0 * d.low_fifth.probability, 0);
    let high = number::fixed(100.0 * d.high_fifth.probability, 0);
    let monotone = d.rank_correlation.abs() > d.rank_correlation_half;
    let word = match (monotone, d.rank_correlation > 0.0) {
        (false, _) => "both ways hurt",
        (true, true) => "more helps",
        (true, false) => "more hurts",
    };
    let spread = number::coarse(d.spread.sd * per, unit);
    let effect = format!("{word}: {low} % clean in its lowest fifth, {high} % in its highest (± {spread})");
    DriverRow {
        name: d.input.name().to_owned(),
        percent: format!("{} %", number::fixed(d.percent, 0)),
        effect,
    }
}

/// What the shares do and do not say.
#[must_use]
pub fn drivers_note(s: &Study) -> String {
    if s.odds.clean.count == s.odds.clean.of {
        return "No launch went wrong, so nothing drives failures; the table below shows where they begin."
            .into();
    }
    if s.odds.clean.count == 0 {
        return "No launch was clean, so nothing sets good ones apart; the table below shows where they begin.".into();
    }
    let sum: f64 = s.odds.drivers.iter().filter(|d| d.percent > d.noise_percent).map(|d| d.percent).sum();
    format!(
        "First-order shares by bins of equal count, signs by rank correlation. Together {} %; the rest lies in inputs that matter only \
         together, and in gusts along the way.",
        number::fixed(sum.min(100.0), 0)
    )
}

/// What would help: what, and the change with its interval in percentage points.
#[must_use]
pub fn help_rows(s: &Study) -> Vec<(String, String)> {
    let signed = |v: f64| {
        let text = number::fixed((100.0 * v).abs(), 1);
        if text == "0.0" {
            text
        } else if v < 0.0 {
            format!("−{text}")
        } else {
            format!("+{text}")
        }
    };
    s.helps
        .iter()
        .map(|h| {
            let g = &h.gain;
            (h.what.clone(), format!("{} ({} to {})", signed(g.change), signed(g.low), signed(g.high)))
        })
        .collect()
}

/// What the speed of the table is.
#[must_use]
pub fn speed_name(s: &Study) -> &'static str {
    match s.scene.method {
        Method::Hand => "throw speed",
        Method::Bungee(_) | Method::Rail(_) => "release speed",
        Method::Rolling(_) => "lift-off airspeed",
    }
}

/// The least release speed in a sentence.
#[must_use]
pub fn least_words(s: &Study) -> Option<String> {
    let wanted = number::fixed(100.0 * WANTED, 0);
    Some(match s.least.as_ref()? {
        Least::Found { speed_m_s, clean } => format!(
            "For {wanted} of 100 clean the mean {} must be {} or more in this wind ({} of 100 there).",
            speed_name(s),
            number::fixed(*speed_m_s, 1) + " m/s",
            of_hundred(clean)
        ),
        Least::None { best_m_s, clean } => format!(
            "No {} that was tried gives {wanted} of 100 clean in this wind; the best was {} m/s with {} of 100.",
            speed_name(s),
            number::fixed(*best_m_s, 1),
            of_hundred(clean)
        ),
    })
}

/// Landing and return in sentences.
#[must_use]
pub fn landing_words(s: &Study) -> Vec<String> {
    let a = &s.landing.today;
    let mut out = vec![format!(
        "Approach in this wind at {} airspeed, {} over the ground; without motor it comes {} closer for each meter of height. Flare at \
         {} of height over {}, then it floats {} in {}, and touches at {} over the ground.",
        number::coarse(a.airspeed_m_s, "m/s"),
        number::coarse((a.airspeed_m_s - a.wind_m_s).max(0.0), "m/s"),
        number::coarse(a.ground_per_height, "m"),
        number::coarse(a.flare_height_m, "m"),
        number::coarse(a.flare_m, "m"),
        number::coarse(a.float_m, "m"),
        number::coarse(a.float_s, "s"),
        number::coarse(a.touch_m_s, "m/s"),
    )];
    match &s.landing.down {
        Some(d) if d.time_s.is_finite() => {
            out.push(format!(
                "With the radio link lost nobody steers: holding wings level from {} it comes down after {}, anywhere within {} of a place \
                 {} downwind of where the link went, by the way it points.",
                number::coarse(d.height_m, "m"),
                number::duration(d.time_s),
                number::coarse(d.radius_m, "m"),
                number::coarse(d.drift_m, "m"),
            ));
            out.push(if d.home_from_m > 0.0 {
                format!(
                    "Only if it happens to point home does it come home, from up to {} downwind: keep it upwind and nearer than that.",
                    number::coarse(d.home_from_m, "m")
                )
            } else {
                "Against this wind it does not come home even if it points there.".to_owned()
            });
        }
        _ => out.push("Where it comes down with the radio link lost is not predicted.".to_owned()),
    }
    out
}

/// What was taken to scatter, in a sentence.
#[must_use]
pub fn inputs_words(s: &Study) -> String {
    let parts: Vec<String> = Input::ALL
        .iter()
        .filter(|i| i.drawn())
        .filter(|i| **i != Input::Reaction || s.scene.acts != Acts::Level)
        .map(|i| {
            let (unit, per) = i.unit();
            let spread = s.scene.scatter.of(*i);
            let digits = if unit == "deg" || unit == "deg/s" || unit == "mm" { 1 } else { 2 };
            let sd = number::fixed(spread.sd * per, digits);
            let mean = number::fixed(spread.mean * per, digits);
            let unit = number::readable_unit(unit);
            format!(
                "{} {mean} ± {sd}{}{unit}",
                i.name(),
                if unit.is_empty() || unit == "°" { "" } else { " " }
            )
        })
        .collect();
    parts.join("; ") + "."
}

/// The numbers of a study in short, for a page that tells more than launches.
#[must_use]
pub fn short(s: &Study) -> Markup {
    let rows = outcome_rows(s);
    facts(rows.iter().map(|(word, share, _)| (word.as_str(), share.clone())))
}
