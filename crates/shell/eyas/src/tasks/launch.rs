//! What launch is meant, and what are its odds?

use aircraft::Aircraft;
use aircraft::controller::Acts;
use clap::Args;
use numerics::units::RAD_PER_DEG;
use predict::launch::inputs::{Input, Spread};
use predict::launch::odds::{Depth, Study, study};
use predict::launch::refuse::Refused;
use predict::launch::scene::{Breeze, Cord, Method, REPORT_HEIGHT_M, Rail, Run, Scene};
use predict::launch::tally::Progress;
use predict::prediction::Prediction;

use crate::cli::decimal;
use crate::tell::{Kind, Trouble};

/// Wind and launch as told on the command line.
#[derive(Debug, Clone, Default, Args)]
pub(crate) struct Told {
    /// Mean wind, m/s [default: calm]
    #[arg(long, value_name = "M_S", value_parser = decimal, allow_hyphen_values = true)]
    pub(crate) wind: Option<f64>,
    /// Strongest gust, m/s [default: the turbulence that goes with such a wind]
    #[arg(long, value_name = "M_S", value_parser = decimal, allow_hyphen_values = true)]
    pub(crate) gust: Option<f64>,
    /// Where the wind blows from, degrees true [default: 0]
    #[arg(long, value_name = "DEG", value_parser = decimal, allow_hyphen_values = true)]
    pub(crate) wind_from: Option<f64>,
    /// Height above the ground that wind and gust were measured at, m [default: 10, as weather reports]
    #[arg(long, value_name = "M", value_parser = decimal, allow_hyphen_values = true)]
    pub(crate) wind_height_m: Option<f64>,
    /// Heading of the launch, degrees true [default: straight into the wind]
    #[arg(long, value_name = "DEG", value_parser = decimal, allow_hyphen_values = true)]
    pub(crate) heading: Option<f64>,
    /// Way into the air: hand, bungee, rail or rolling [default: as the file says]
    #[arg(long, value_name = "WAY")]
    pub(crate) how: Option<String>,
    /// Who steadies it: level (the controller holds wings and climb attitude), rate, or direct [default: by the switch]
    #[arg(long, value_name = "HOW")]
    pub(crate) acts: Option<String>,
    /// Throttle after the release, percent [default: 100]
    #[arg(long, value_name = "PERCENT", value_parser = decimal, allow_hyphen_values = true)]
    pub(crate) throttle_percent: Option<f64>,
    /// Pitch attitude held after the release, degrees [default: from the climb that is predicted]
    #[arg(long, value_name = "DEG", value_parser = decimal, allow_hyphen_values = true)]
    pub(crate) climb_deg: Option<f64>,
    /// Speed at which it leaves the hand, the cord or the rail, m/s [default: from its mass]
    #[arg(long, value_name = "M_S", value_parser = decimal, allow_hyphen_values = true)]
    pub(crate) throw_speed: Option<f64>,
    /// Stretch of the bungee, m [default: 8]
    #[arg(long, value_name = "M", value_parser = decimal, allow_hyphen_values = true)]
    pub(crate) stretch_m: Option<f64>,
    /// Stiffness of the bungee, N/m [default: pulls four times the weight]
    #[arg(long, value_name = "N_M", value_parser = decimal, allow_hyphen_values = true)]
    pub(crate) cord_n_m: Option<f64>,
    /// Length of the rail, m [default: 3]
    #[arg(long, value_name = "M", value_parser = decimal, allow_hyphen_values = true)]
    pub(crate) rail_m: Option<f64>,
    /// Angle of the rail above the horizon, degrees [default: 12]
    #[arg(long, value_name = "DEG", value_parser = decimal, allow_hyphen_values = true)]
    pub(crate) rail_deg: Option<f64>,
    /// Room to roll, m [default: as the file says, or 60]
    #[arg(long, value_name = "M", value_parser = decimal, allow_hyphen_values = true)]
    pub(crate) run_m: Option<f64>,
    /// Mean and standard deviation of an input, as --set bank=0:10; an unknown name lists them all; may be repeated
    #[arg(long, value_name = "INPUT=MEAN[:SD]")]
    pub(crate) set: Vec<String>,
    /// How long each launch is followed, s [default: 6]
    #[arg(long, value_name = "S", value_parser = decimal, allow_hyphen_values = true)]
    pub(crate) seconds: Option<f64>,
    /// Steps a second [default: 400]
    #[arg(long, value_name = "HZ", value_parser = decimal, allow_hyphen_values = true)]
    pub(crate) step_hz: Option<f64>,
}

impl Told {
    /// Only a wind: everything else as is usual for the aircraft.
    pub(crate) fn wind(wind: f64, gust: f64, from: f64) -> Self {
        Self { wind: Some(wind), gust: Some(gust), wind_from: Some(from), ..Self::default() }
    }

    /// The scene that is meant.
    pub(crate) fn scene(&self, aircraft: &Aircraft, p: &Prediction) -> Result<Scene, Trouble> {
        let mut causes = Vec::new();
        let mut within = |name: &str, value: Option<f64>, low: f64, high: f64, unit: &str| {
            if let Some(v) = value
                && !(low..=high).contains(&v)
            {
                causes.push(format!("{name} {v} is outside {low} to {high} {unit}"));
            }
        };
        within("--wind", self.wind, 0.0, 60.0, "m/s");
        within("--gust", self.gust, 0.0, 60.0, "m/s");
        within("--wind-from", self.wind_from, 0.0, 360.0, "degrees");
        within("--heading", self.heading, 0.0, 360.0, "degrees");
        within("--wind-height-m", self.wind_height_m, 0.5, 100.0, "m");
        within("--throttle-percent", self.throttle_percent, 0.0, 100.0, "percent");
        within("--climb-deg", self.climb_deg, -20.0, 60.0, "degrees");
        within("--throw-speed", self.throw_speed, 0.0, 36.6, "m/s");
        within("--stretch-m", self.stretch_m, 0.5, 100.0, "m");
        within("--cord-n-m", self.cord_n_m, 0.1, 2000.0, "N/m");
        within("--rail-m", self.rail_m, 0.2, 20.0, "m");
        within("--rail-deg", self.rail_deg, -10.0, 60.0, "degrees");
        within("--run-m", self.run_m, 1.0, 1000.0, "m");
        within("--seconds", self.seconds, 1.0, 60.0, "s");
        within("--step-hz", self.step_hz, 10.0, 10_000.0, "Hz");
        let wind = Breeze {
            speed_m_s: self.wind.unwrap_or(0.0),
            gust_m_s: self.gust,
            from_rad: self.wind_from.unwrap_or(0.0) * RAD_PER_DEG,
            height_m: self.wind_height_m.unwrap_or(REPORT_HEIGHT_M),
        };
        if self.gust.is_some() && self.wind.is_none() {
            causes.push("--gust is told without --wind".into());
        }
        let acts = match self.acts.as_deref() {
            None => None,
            Some(word) => {
                let known = [Acts::Level, Acts::Rate, Acts::Direct].into_iter().find(|a| a.word() == word);
                if known.is_none() {
                    causes.push(format!("--acts {word}: choose level, rate or direct"));
                }
                known
            }
        };
        let scene = match self.method(aircraft, p) {
            Ok(None) => Some(Scene::usual(aircraft, p, wind)),
            Ok(Some(method)) => Some(Scene::by(method, aircraft, p, wind)),
            Err(cause) => {
                causes.push(cause);
                None
            }
        };
        let mut scene = scene.unwrap_or_else(|| Scene::usual(aircraft, p, wind));
        if let Some(heading) = self.heading {
            scene.heading_rad = heading * RAD_PER_DEG;
        }
        scene.acts = acts.unwrap_or(scene.acts);
        scene.throttle = self.throttle_percent.map_or(scene.throttle, |t| t / 100.0);
        scene.climb_pitch_rad = self.climb_deg.map_or(scene.climb_pitch_rad, |d| d * RAD_PER_DEG);
        scene.seconds = self.seconds.unwrap_or(scene.seconds);
        scene.rate_hz = self.step_hz.unwrap_or(scene.rate_hz);
        if let Some(speed) = self.throw_speed {
            let spread = scene.scatter.of(Input::Speed);
            let share = if spread.mean > 0.0 { spread.sd / spread.mean } else { 0.12 };
            scene.scatter.set(Input::Speed, Spread::new(speed, share * speed));
        }
        for told in &self.set {
            match set(told, &scene) {
                Ok((input, spread)) => scene.scatter.set(input, spread),
                Err(cause) => causes.push(cause),
            }
        }
        if causes.is_empty() {
            Ok(scene)
        } else {
            Err(Trouble::many(
                Kind::Input,
                "the launch cannot be computed as told",
                causes,
                "check the numbers and their units",
            ))
        }
    }

    /// The way that was chosen on the command line, or that its numbers belong to.
    fn method(&self, aircraft: &Aircraft, p: &Prediction) -> Result<Option<Method>, String> {
        use aircraft::start::{Ground, How};
        let word = match (&self.how, aircraft.start.how) {
            (Some(word), _) => word.as_str(),
            (None, how) => how.word(),
        };
        let usual = Cord::usual(p.model.mass_kg);
        Ok(Some(match word {
            "hand" => Method::Hand,
            "bungee" => Method::Bungee(Cord {
                stretch_m: self.stretch_m.unwrap_or(usual.stretch_m),
                stiffness_n_m: self.cord_n_m.unwrap_or(usual.stiffness_n_m),
                ..usual
            }),
            "rail" => Method::Rail(Rail {
                length_m: self.rail_m.unwrap_or(Rail::USUAL.length_m),
                elevation_rad: self.rail_deg.map_or(Rail::USUAL.elevation_rad, |d| d * RAD_PER_DEG),
                ..Rail::USUAL
            }),
            "rolling" => Method::Rolling(Run {
                length_m: self.run_m.or(aircraft.start.run_m).unwrap_or(60.0),
                ground: aircraft.start.ground.unwrap_or(Ground::ShortGrass),
            }),
            other => {
                let file: Vec<&str> = How::ALL.iter().map(|(_, word)| *word).collect();
                return Err(format!("--how {other}: choose {} or rail", file.join(", ")));
            }
        }))
    }
}

/// An input with mean and standard deviation, as typed.
fn set(told: &str, scene: &Scene) -> Result<(Input, Spread), String> {
    let names = || {
        let list: Vec<String> = Input::ALL
            .iter()
            .filter(|i| i.drawn())
            .map(|i| {
                let unit = i.unit().0;
                if unit.is_empty() { i.word().to_owned() } else { format!("{} ({unit})", i.word()) }
            })
            .collect();
        list.join(", ")
    };
    let Some((word, numbers)) = told.split_once('=') else {
        return Err(format!("--set {told}: write INPUT=MEAN or INPUT=MEAN:SD; inputs: {}", names()));
    };
    let Some(input) = Input::ALL.into_iter().find(|i| i.drawn() && i.word() == word.trim()) else {
        return Err(format!("--set {told}: there is no input \"{}\"; inputs: {}", word.trim(), names()));
    };
    let (mean, sd) = match numbers.split_once(':') {
        Some((mean, sd)) => (mean, Some(sd)),
        None => (numbers, None),
    };
    let (_, per) = input.unit();
    let number = |text: &str| decimal(text).map(|v| v / per).map_err(|e| format!("--set {told}: {e}"));
    let sd = match sd {
        Some(sd) => number(sd)?,
        None => scene.scatter.of(input).sd,
    };
    Ok((input, Spread::new(number(mean)?, sd)))
}

/// Studies a launch.
pub(crate) fn launch(
    aircraft: &Aircraft,
    p: &Prediction,
    scene: &Scene,
    depth: &Depth,
    go_on: &mut dyn FnMut(Progress) -> bool,
) -> Result<Study, Trouble> {
    study(aircraft, p, scene, depth, go_on).map_err(|why| refused(&aircraft.name, &why))
}

fn refused(name: &str, why: &[Refused]) -> Trouble {
    let no = why.iter().any(|w| {
        matches!(w, Refused::Wind { .. } | Refused::NoThrust { .. } | Refused::NoDrive | Refused::NoControl)
    });
    Trouble::many(
        if no { Kind::No } else { Kind::Input },
        format!("no odds for a launch of \"{name}\""),
        why.iter().map(ToString::to_string).collect(),
        "change what is named; nothing was computed",
    )
}
