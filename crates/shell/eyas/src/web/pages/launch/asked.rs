//! Which launch is meant? The form, and what it says.

use aircraft::Aircraft;
use aircraft::controller::Acts;
use maud::{Markup, html};
use numerics::units::DEG_PER_RAD;
use predict::launch::inputs::Input;
use predict::launch::odds::Depth;
use predict::launch::refuse::Refused;
use predict::launch::scene::{Method, Scene};
use report::number::{fixed, readable_unit};

use crate::tasks::forecast::Air;
use crate::tasks::launch::Told;
use crate::web::ask::Ask;
use crate::web::controls::{Control, Takes, Wrong, choice, control};
use crate::web::fields::Fields;
use crate::web::shell::{Step, form_key};

const fn number(name: &'static str, label: &'static str, unit: &'static str, hint: &'static str) -> Control {
    Control { name, label, unit, hint, takes: Takes::Number }
}

const fn signed(name: &'static str, label: &'static str, unit: &'static str, hint: &'static str) -> Control {
    Control { name, label, unit, hint, takes: Takes::Signed }
}

/// Every field that is one number, in the order of the form.
pub(super) const CONTROLS: [Control; 21] = [
    number("wind", "Mean wind", "m/s", "Over a minute or more. Empty: a calm."),
    number("gust", "Strongest gust", "m/s", "Empty: the turbulence that goes with such a wind."),
    number("wind-from", "Wind from", "° true", "0 is north, 90 east. Empty: 0."),
    number(
        "wind-height-m",
        "Measured at a height of",
        "m",
        "2 for an anemometer in the hand. Empty: 10, as weather reports tell it.",
    ),
    number("heading", "Heading of the launch", "° true", "Empty: straight into the wind."),
    number(
        "throw-speed",
        "Speed of the throw or release",
        "m/s",
        "At which it leaves the hand, the cord or the rail. Empty: from its mass.",
    ),
    number("throttle-percent", "Throttle after the release", "%", "Empty: full."),
    signed(
        "climb-deg",
        "Nose-up attitude held after the release",
        "°",
        "Empty: from the climb that is predicted.",
    ),
    number("stretch-m", "Stretch of the cord", "m", "Empty: 8."),
    number("cord-n-m", "Stiffness of the cord", "N/m", "Empty: it pulls four times the weight."),
    number("rail-m", "Length of the rail", "m", "Empty: 3."),
    signed("rail-deg", "Angle of the rail above the horizon", "°", "Empty: 12."),
    number("run-m", "Room to roll", "m", "Empty: as the aircraft file says, or 60."),
    signed("height-m", "Height of the field above sea level", "m", "Empty: 0."),
    signed("temperature-c", "Temperature", "°C", "Empty: the standard one of that height."),
    number(
        "pressure-hpa",
        "Pressure at the field",
        "hPa",
        "Not reduced to sea level. Empty: the standard one.",
    ),
    number("runs", "Launches", "", "100 to 20000; more make the answer sharper. Empty: 2000."),
    number("seed", "Seed", "", "The same seed gives the same launches. Empty: 1."),
    signed("set", "What scatters", "", ""),
    signed("how", "Way into the air", "", ""),
    signed("acts", "Who steadies it", "", ""),
];

/// Launches that may be asked for.
const RUNS: [f64; 2] = [100.0, 20_000.0];

/// What the form says.
pub(super) struct Asked {
    /// Wind and launch.
    pub(super) launch: Told,
    /// How far to go.
    pub(super) depth: Depth,
    /// What is no number, or not one that may be asked for.
    pub(super) wrong: Wrong,
    air: Air,
}

impl Asked {
    /// Reads the form.
    pub(super) fn read(fields: &Fields) -> Self {
        let mut wrong = Wrong::default();
        let mut get = |name: &str| {
            let label = CONTROLS.iter().find(|c| c.name == name).map_or(name, |c| c.label);
            fields.number(name, label).unwrap_or_else(|what| {
                wrong.add(name, what);
                None
            })
        };
        let air = Air {
            height_m: get("height-m"),
            temperature_c: get("temperature-c"),
            pressure_hpa: get("pressure-hpa"),
        };
        let mut launch = Told {
            wind: get("wind"),
            gust: get("gust"),
            wind_from: get("wind-from"),
            wind_height_m: get("wind-height-m"),
            heading: get("heading"),
            throttle_percent: get("throttle-percent"),
            climb_deg: get("climb-deg"),
            throw_speed: get("throw-speed"),
            stretch_m: get("stretch-m"),
            cord_n_m: get("cord-n-m"),
            rail_m: get("rail-m"),
            rail_deg: get("rail-deg"),
            run_m: get("run-m"),
            how: fields.text("how").map(str::to_owned),
            acts: fields.text("acts").map(str::to_owned),
            ..Told::default()
        };
        let runs = get("runs").unwrap_or(2000.0);
        let seed = get("seed").unwrap_or(1.0);
        for (name, value, [low, high]) in [("runs", runs, RUNS), ("seed", seed, [0.0, 1e15])] {
            if !(low..=high).contains(&value) || value.fract() != 0.0 {
                let label = CONTROLS.iter().find(|c| c.name == name).map_or(name, |c| c.label);
                wrong.add(name, format!("{label}: {value} is outside {low} to {high}, or no whole number"));
            }
        }
        for input in Input::ALL.into_iter().filter(|i| i.drawn() && *i != Input::Speed) {
            match scatters(fields, input) {
                Ok(None) => {}
                Ok(Some(set)) => launch.set.push(set),
                Err(what) => wrong.add("set", what),
            }
        }
        let mut depth = Depth::usual(runs.clamp(RUNS[0], RUNS[1]) as u64, seed.max(0.0) as u64);
        if fields.text("quick").is_some() {
            depth = Depth { help_runs: 0, cell_runs: 0, least_runs: 0, ..depth };
        }
        Self { launch, depth, wrong, air }
    }

    /// The air.
    pub(super) fn told_air(&self) -> Air {
        self.air
    }

    /// Whether any of it was told.
    pub(super) fn air_is_told(&self) -> bool {
        self.air.height_m.is_some() || self.air.temperature_c.is_some() || self.air.pressure_hpa.is_some()
    }
}

/// What speaks against computing a launch, beside the fields that it comes from.
pub(super) fn refused(why: &[Refused]) -> Wrong {
    let mut wrong = Wrong::default();
    for one in why {
        match one {
            Refused::Wind { .. } => wrong.add("wind", one.to_string()),
            Refused::Gust { .. } => wrong.add("gust", one.to_string()),
            Refused::NoThrust { .. } | Refused::Throttle { .. } => {
                wrong.add("throttle-percent", one.to_string())
            }
            Refused::Input { input: Input::Speed, .. } => wrong.add("throw-speed", one.to_string()),
            Refused::Input { .. } => wrong.add("set", one.to_string()),
            _ => wrong.beside_none(one.to_string()),
        }
    }
    wrong
}

/// How an input scatters, as the task takes it; none where its fields are empty.
fn scatters(fields: &Fields, input: Input) -> Result<Option<String>, String> {
    let mean = fields.number(&format!("mean.{}", input.word()), &format!("{}, mean", input.name()))?;
    let sd = fields.number(&format!("sd.{}", input.word()), &format!("{}, scatter", input.name()))?;
    match (mean, sd) {
        (None, None) => Ok(None),
        (Some(mean), None) => Ok(Some(format!("{}={mean}", input.word()))),
        (Some(mean), Some(sd)) if sd >= 0.0 => Ok(Some(format!("{}={mean}:{sd}", input.word()))),
        (None, Some(_)) => Err(format!("{}: its mean goes with its scatter", input.name())),
        (Some(_), Some(_)) => Err(format!("{}: a scatter is not below 0", input.name())),
    }
}

/// The form. `usual`: the launch that is meant, from which the empty fields are shown.
pub(super) fn form(
    ask: &Ask,
    name: &str,
    aircraft: &Aircraft,
    fields: &Fields,
    usual: Option<&Scene>,
    wrong: &Wrong,
) -> Markup {
    let shown = |names: &[&str]| {
        html! {
            div.fields {
                @for c in CONTROLS.iter().filter(|c| names.contains(&c.name)) { (control(c, fields, &placeholder(c.name, usual), wrong)) }
            }
        }
    };
    let how = fields.text("how").unwrap_or(aircraft.start.how.word());
    let by_switch = usual.filter(|_| fields.text("acts").is_none()).map_or(String::new(), |scene| {
        format!("By the switch as the file describes it; now: {}", steadies(scene.acts))
    });
    let by_switch =
        if by_switch.is_empty() { "By the switch as the file describes it".to_owned() } else { by_switch };
    html! {
        form.wide.ways method="post" action=(Step::Launch.path(name)) {
            (form_key(ask))
            h2 { "The launch" }
            (choice("how", "Way into the air", &[
                ("hand", "Thrown by hand"),
                ("bungee", "Pulled by a stretched cord (bungee)"),
                ("rail", "Shot along a rail"),
                ("rolling", "Rolling on its wheels"),
            ], how, "", wrong))
            div.of-bungee { (shown(&["stretch-m", "cord-n-m"])) }
            div.of-rail { (shown(&["rail-m", "rail-deg"])) }
            div.of-rolling { (shown(&["run-m"])) }
            (shown(&["heading", "throw-speed", "throttle-percent", "climb-deg"]))
            (choice("acts", "Who steadies it", &[
                ("", by_switch.as_str()),
                ("level", "The controller holds wings and climb attitude (level)"),
                ("rate", "A pilot steers, the controller damps (rate)"),
                ("direct", "A pilot steers without a controller (direct)"),
            ], fields.text("acts").unwrap_or(""), "", wrong))
            h2 { "The wind" }
            p { "Measured at the field, over a minute or more. The gust is the strongest wind of some seconds, not how far it is above the mean." }
            (shown(&["wind", "gust", "wind-from", "wind-height-m"]))
            details open[!wrong.is_empty() || fields.text("height-m").is_some() || fields.text("temperature-c").is_some()] {
                summary { "The air" }
                (shown(&["height-m", "temperature-c", "pressure-hpa"]))
            }
            details open[wrong.at("set").next().is_some() || any_scatter(fields)] {
                summary { "What scatters from one launch to the next" }
                p id="set" { "Each input is drawn anew for every launch: its mean and one standard deviation, which two of three launches stay within. \
                    What is left empty is as is usual; how often each throw goes how far astray is a guess until you have filmed yours." }
                @for what in wrong.at("set") { p.wrong { (what) } }
                (scatter_table(fields, usual))
            }
            h2 { "How many" }
            (shown(&["runs", "seed"]))
            label.tick { input type="checkbox" name="quick" value="yes" checked[fields.text("quick").is_some()]; "Only the odds: nothing that would help, no table over wind and speed" }
            div.buttons { button { "Compute the odds" } }
        }
    }
}

fn any_scatter(fields: &Fields) -> bool {
    fields.iter().any(|(name, value)| {
        (name.starts_with("mean.") || name.starts_with("sd.")) && !value.trim().is_empty()
    })
}

fn scatter_table(fields: &Fields, usual: Option<&Scene>) -> Markup {
    html! {
        table.stack {
            thead { tr { th { "Input" } th { "Mean" } th { "Standard deviation" } } }
            tbody {
                @for input in Input::ALL.into_iter().filter(|i| i.drawn() && *i != Input::Speed) {
                    @let (unit, per) = input.unit();
                    @let spread = usual.map(|s| s.scatter.of(input));
                    tr {
                        th scope="row" { (input.name()) @if !unit.is_empty() { ", " (readable_unit(unit)) } }
                        @for (part, what, value) in [
                            ("mean", "mean", spread.map(|s| s.mean)),
                            ("sd", "standard deviation", spread.map(|s| s.sd)),
                        ] {
                            @let field = format!("{part}.{}", input.word());
                            td data-name=(what) {
                                input type="text" name=(field) aria-label={ (input.name()) ", " (what) } autocomplete="off"
                                    value=(fields.raw(&field).unwrap_or_default())
                                    placeholder=[value.map(|v| fixed(v * per, if per > 1.5 { 1 } else { 2 }))];
                            }
                        }
                    }
                }
            }
        }
    }
}

fn steadies(acts: Acts) -> &'static str {
    match acts {
        Acts::Level => "level",
        Acts::Rate => "rate",
        Acts::Direct => "direct",
    }
}

/// What holds where a field is left empty, as far as the launch that is meant tells it.
fn placeholder(name: &str, usual: Option<&Scene>) -> String {
    let Some(scene) = usual else { return String::new() };
    match (name, &scene.method) {
        ("throw-speed", _) => fixed(scene.scatter.of(Input::Speed).mean, 1),
        ("throttle-percent", _) => fixed(100.0 * scene.throttle, 0),
        ("climb-deg", _) => fixed(scene.climb_pitch_rad * DEG_PER_RAD, 0),
        ("heading", _) => fixed((scene.heading_rad * DEG_PER_RAD).rem_euclid(360.0), 0),
        ("stretch-m", Method::Bungee(cord)) => fixed(cord.stretch_m, 1),
        ("cord-n-m", Method::Bungee(cord)) => fixed(cord.stiffness_n_m, 1),
        ("rail-m", Method::Rail(rail)) => fixed(rail.length_m, 1),
        ("rail-deg", Method::Rail(rail)) => fixed(rail.elevation_rad * DEG_PER_RAD, 0),
        ("run-m", Method::Rolling(run)) => fixed(run.length_m, 0),
        ("wind-height-m", _) => fixed(scene.wind.height_m, 0),
        _ => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_scatters_is_told_to_the_task_as_its_option_is_written() {
        let asked = Asked::read(&Fields::read("mean.bank=2&sd.bank=10&mean.height=1,8&quick=yes&runs=400"));
        assert!(asked.wrong.is_empty());
        assert_eq!(asked.launch.set, ["bank=2:10", "height=1.8"]);
        assert_eq!((asked.depth.runs, asked.depth.help_runs), (400, 0));
        let wrong = Asked::read(&Fields::read("sd.bank=10&mean.height=1&sd.height=-1")).wrong;
        assert_eq!(wrong.at("set").count(), 2);
    }

    #[test]
    fn every_number_of_the_form_reaches_the_task() {
        // A field that is shown and read by nobody would be ignored in silence.
        let text = include_str!("asked.rs");
        for c in CONTROLS.iter().filter(|c| !["set", "how", "acts"].contains(&c.name)) {
            assert!(text.contains(&format!("get(\"{}\")", c.name)), "{}", c.name);
        }
    }
}
