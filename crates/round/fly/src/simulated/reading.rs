//! How is a script read? Every table through one reader that notes what is wrong and goes on.

use std::ops::RangeInclusive;

use aircraft::controller::{Acts, Gains};
use numerics::units::RAD_PER_DEG;
use sky::wind::{Profile, Wind};
use toml_edit::{Document, Item, TableLike};

use super::script::{
    Hidden, Hold, MadeFlaw, Offset, PilotManner, Place, Script, ScriptError, Sensors, Shape, Side, Step,
    StickAxis, What,
};

const SPEED_M_S: RangeInclusive<f64> = 1.0..=100.0;
const SECONDS: RangeInclusive<f64> = 0.1..=1800.0;
const HEIGHT_M: RangeInclusive<f64> = 1.0..=1000.0;
const DEGREES: RangeInclusive<f64> = -360.0..=360.0;
const PERCENT: RangeInclusive<f64> = 0.0..=100.0;
const FACTOR: RangeInclusive<f64> = 0.2..=5.0;

/// Reads a script.
pub(super) fn read(text: &str) -> Result<Script, Vec<ScriptError>> {
    let document = match Document::parse(text) {
        Ok(document) => document,
        Err(error) => {
            return Err(vec![ScriptError {
                line: line_of(text, error.span().map_or(0, |s| s.start)),
                what: format!("this is not TOML: {}", error.message()),
                remedy: "correct the line".into(),
            }]);
        }
    };
    let mut errors = Vec::new();
    let root: &dyn TableLike = document.as_table();
    let script = whole(&mut Reader::new(text, "the script", root, 1, &mut errors));
    errors.sort_by_key(|e| e.line);
    if errors.is_empty() { Ok(script) } else { Err(errors) }
}

fn line_of(text: &str, offset: usize) -> usize {
    1 + text.bytes().take(offset).filter(|b| *b == b'\n').count()
}

/// One table of the script, the keys that were asked for, and where errors go.
struct Reader<'a> {
    text: &'a str,
    name: &'static str,
    table: Option<&'a dyn TableLike>,
    line: usize,
    asked: Vec<&'static str>,
    errors: &'a mut Vec<ScriptError>,
}

impl<'a> Reader<'a> {
    fn new(
        text: &'a str,
        name: &'static str,
        table: &'a dyn TableLike,
        line: usize,
        errors: &'a mut Vec<ScriptError>,
    ) -> Self {
        Self { text, name, table: Some(table), line, asked: Vec::new(), errors }
    }

    fn item(&mut self, key: &'static str) -> Option<(&'a Item, usize)> {
        self.asked.push(key);
        let (key, item) = self.table?.get_key_value(key)?;
        let start = key.span().or_else(|| item.span()).map(|s| s.start);
        Some((item, start.map_or(self.line, |offset| line_of(self.text, offset))))
    }

    fn wrong(&mut self, line: usize, what: String, remedy: impl Into<String>) {
        self.errors.push(ScriptError { line, what, remedy: remedy.into() });
    }

    fn number(&mut self, key: &'static str, range: RangeInclusive<f64>) -> Option<f64> {
        let (item, line) = self.item(key)?;
        let value = item.as_float().or_else(|| item.as_integer().map(|i| i as f64));
        match value {
            Some(value) if range.contains(&value) => Some(value),
            Some(value) => {
                self.wrong(
                    line,
                    format!("{key} = {value} is out of range"),
                    format!("give a number from {} to {}", range.start(), range.end()),
                );
                None
            }
            None => {
                self.wrong(
                    line,
                    format!("{key} is not a number"),
                    format!("give a number from {} to {}", range.start(), range.end()),
                );
                None
            }
        }
    }

    fn number_or(&mut self, key: &'static str, range: RangeInclusive<f64>, otherwise: f64) -> f64 {
        self.number(key, range).unwrap_or(otherwise)
    }

    fn needed(&mut self, key: &'static str, range: RangeInclusive<f64>) -> f64 {
        let before = self.errors.len();
        let low = *range.start();
        let value = self.number(key, range.clone());
        if value.is_none() && self.errors.len() == before {
            let (line, name) = (self.line, self.name);
            self.wrong(
                line,
                format!("{key} is missing in {name}"),
                format!("add {key} = a number from {} to {}", range.start(), range.end()),
            );
        }
        value.unwrap_or(low)
    }

    fn rad(&mut self, key: &'static str, range: RangeInclusive<f64>) -> Option<f64> {
        self.number(key, range).map(|deg| deg * RAD_PER_DEG)
    }

    fn truth(&mut self, key: &'static str, otherwise: bool) -> bool {
        let Some((item, line)) = self.item(key) else {
            return otherwise;
        };
        item.as_bool().unwrap_or_else(|| {
            self.wrong(
                line,
                format!("{key} is neither true nor false"),
                format!("write {key} = true or {key} = false"),
            );
            otherwise
        })
    }

    fn word<T: Copy>(&mut self, key: &'static str, words: &[(&str, T)]) -> Option<T> {
        let (item, line) = self.item(key)?;
        let word = item.as_str().unwrap_or("");
        let found = words.iter().find(|(w, _)| *w == word).map(|(_, t)| *t);
        if found.is_none() {
            let known: Vec<&str> = words.iter().map(|(w, _)| *w).collect();
            self.wrong(
                line,
                format!("{key} = \"{word}\" is not known"),
                format!("write one of {}", known.join(", ")),
            );
        }
        found
    }

    fn inside<R>(
        &mut self,
        key: &'static str,
        name: &'static str,
        read: impl FnOnce(&mut Reader<'_>) -> R,
    ) -> R {
        let found = self.item(key);
        let line = found.map_or(self.line, |(_, line)| line);
        let table = found.and_then(|(item, _)| item.as_table_like());
        if found.is_some() && table.is_none() {
            self.wrong(line, format!("{key} is not a table"), format!("write [{key}] and its keys below"));
        }
        let mut reader =
            Reader { text: self.text, name, table, line, asked: Vec::new(), errors: self.errors };
        let value = read(&mut reader);
        reader.finish();
        value
    }

    fn each<R>(
        &mut self,
        key: &'static str,
        name: &'static str,
        mut read: impl FnMut(&mut Reader<'_>) -> Option<R>,
    ) -> Vec<R> {
        let Some((item, line)) = self.item(key) else {
            return Vec::new();
        };
        let mut tables: Vec<(&dyn TableLike, usize)> = Vec::new();
        if let Some(array) = item.as_array_of_tables() {
            for table in array {
                let at = table.span().map_or(line, |s| line_of(self.text, s.start));
                tables.push((table, at));
            }
        } else if let Some(array) = item.as_array() {
            for value in array {
                let at = value.span().map_or(line, |s| line_of(self.text, s.start));
                match value.as_inline_table() {
                    Some(table) => tables.push((table, at)),
                    None => self.wrong(
                        at,
                        format!("an entry of {key} is not a table"),
                        format!("write [[{key}]] and its keys below"),
                    ),
                }
            }
        } else {
            self.wrong(
                line,
                format!("{key} is not a list of tables"),
                format!("write [[{key}]] and its keys below"),
            );
        }
        let mut all = Vec::new();
        for (table, at) in tables {
            let mut reader = Reader::new(self.text, name, table, at, self.errors);
            all.extend(read(&mut reader));
            reader.finish();
        }
        all
    }

    /// Notes the keys that nobody asked for.
    fn finish(&mut self) {
        let Some(table) = self.table else { return };
        for (key, _) in table.iter() {
            if !self.asked.contains(&key) {
                let line = table
                    .get_key_value(key)
                    .and_then(|(k, i)| k.span().or_else(|| i.span()))
                    .map_or(self.line, |s| line_of(self.text, s.start));
                let (name, known) = (self.name, self.asked.join(", "));
                self.wrong(line, format!("{key} is not a key of {name}"), format!("known here: {known}"));
            }
        }
    }
}

fn whole(r: &mut Reader<'_>) -> Script {
    let seed = r.number_or("seed", 0.0..=9.0e15, 1.0);
    let log_hz = r.number_or("log_hz", 10.0..=500.0, 50.0);
    let least_hz = r.number_or("integrate_hz", 100.0..=1000.0, 200.0);
    let reference_speed_m_s = r.number("reference_speed_m_s", SPEED_M_S);
    let place = r.inside("place", "[place]", place);
    let (wind, gust_intensity) = r.inside("wind", "[wind]", wind);
    let hidden = r.inside("hidden", "[hidden]", hidden);
    let sensors = r.inside("sensors", "[sensors]", sensors);
    let pilot = r.inside("pilot", "[pilot]", |r| PilotManner {
        lag_s: r.number_or("lag_s", 0.02..=1.0, 0.15),
        noise: r.number_or("noise", 0.0..=5.0, 1.0),
    });
    let gains = r.inside("gains", "[gains]", |r| {
        [
            r.inside("roll", "[gains.roll]", gains),
            r.inside("pitch", "[gains.pitch]", gains),
            r.inside("yaw", "[gains.yaw]", gains),
        ]
    });
    let flaws = r.each("flaw", "[[flaw]]", flaw);
    let steps = r.each("step", "[[step]]", step);
    match steps.first() {
        None => r.wrong(
            1,
            "there is nothing to fly".into(),
            "add [[step]] tables, the first with do = \"launch\"",
        ),
        Some(first) if !matches!(first.what, What::Launch { .. }) => {
            let line = first.line;
            r.wrong(line, "the first step is not a launch".into(), "begin with do = \"launch\"");
        }
        Some(_) => {}
    }
    for again in steps.iter().skip(1) {
        if matches!(again.what, What::Launch { .. }) {
            r.wrong(again.line, "a second launch".into(), "write one script a flight");
        }
    }
    r.finish();
    Script {
        seed: seed as u64,
        log_hz,
        integrate_hz: log_hz * (least_hz / log_hz).ceil().max(1.0),
        reference_speed_m_s,
        place,
        wind,
        gust_intensity,
        hidden,
        sensors,
        pilot,
        gains,
        flaws,
        steps,
    }
}

fn place(r: &mut Reader<'_>) -> Place {
    let d = Place::default();
    Place {
        latitude_deg: r.number_or("latitude_deg", -85.0..=85.0, d.latitude_deg),
        longitude_deg: r.number_or("longitude_deg", -180.0..=180.0, d.longitude_deg),
        elevation_m: r.number_or("elevation_m", -400.0..=4000.0, d.elevation_m),
        temperature_k: r.number("temperature_c", -30.0..=50.0).map(|c| c + 273.15),
    }
}

fn wind(r: &mut Reader<'_>) -> (Wind, f64) {
    let speed_m_s = r.number_or("speed_m_s", 0.0..=25.0, 0.0);
    let from_rad = r.rad("from_deg", DEGREES).unwrap_or(0.0);
    let reference_height_m = r.number_or("at_height_m", 2.0..=500.0, 10.0);
    let exponent = r.number("shear_exponent", 0.0..=1.0);
    let roughness_m = r.number("roughness_m", 1e-4..=1.5);
    let gust_intensity = r.number_or("gust_intensity", 0.0..=0.5, 0.0);
    let profile = match (exponent, roughness_m) {
        (Some(_), Some(_)) => {
            let line = r.line;
            r.wrong(line, "shear_exponent and roughness_m both given".into(), "keep one of them");
            Profile::Even
        }
        (Some(exponent), None) => Profile::Power { exponent },
        (None, Some(roughness_m)) => Profile::Log { roughness_m },
        (None, None) => Profile::Even,
    };
    let wind = Wind { speed_m_s, from_rad, reference_height_m, profile };
    (wind, gust_intensity)
}

fn hidden(r: &mut Reader<'_>) -> Hidden {
    Hidden {
        mounting_pitch_rad: r.rad("mounting_pitch_deg", -20.0..=20.0).unwrap_or(0.0),
        mounting_roll_rad: r.rad("mounting_roll_deg", -20.0..=20.0).unwrap_or(0.0),
        airspeed_factor: r.number_or("airspeed_factor", FACTOR, 1.0),
        lift_factor: r.number_or("lift_factor", FACTOR, 1.0),
        drag_factor: r.number_or("drag_factor", FACTOR, 1.0),
        thrust_factor: r.number_or("thrust_factor", FACTOR, 1.0),
        control_factor: [
            r.number_or("roll_factor", FACTOR, 1.0),
            r.number_or("pitch_factor", FACTOR, 1.0),
            r.number_or("yaw_factor", FACTOR, 1.0),
        ],
        linkage_us: r.number("linkage_us", 500.0..=2500.0),
        offsets: r.each("offset", "[[hidden.offset]]", |r| {
            let line = r.line;
            let movable = r.item("movable").and_then(|(item, _)| item.as_str());
            let Some(movable) = movable.map(String::from) else {
                r.wrong(
                    line,
                    "an offset without its movable".into(),
                    "add movable = \"its name in the aircraft file\"",
                );
                return None;
            };
            let sides =
                [("only", Side::Right), ("right", Side::Right), ("left", Side::Left), ("both", Side::Both)];
            Some(Offset {
                movable,
                side: r.word("side", &sides).unwrap_or(Side::Right),
                rad: r.needed("deg", -20.0..=20.0) * RAD_PER_DEG,
                at_us: r.number("at_us", 500.0..=2500.0),
                line,
            })
        }),
    }
}

fn sensors(r: &mut Reader<'_>) -> Sensors {
    let d = Sensors::default();
    let noise = r.number_or("noise", 0.0..=20.0, 1.0);
    let mut sd = |key, otherwise: f64, unit: f64| {
        r.number(key, 0.0..=100.0).map_or(otherwise, |value| value * unit) * noise
    };
    let angle_sd_rad = sd("angle_sd_deg", d.angle_sd_rad, RAD_PER_DEG);
    let rate_sd_rad_s = sd("rate_sd_deg_s", d.rate_sd_rad_s, RAD_PER_DEG);
    let force_sd_m_s2 = sd("force_sd_m_s2", d.force_sd_m_s2, 1.0);
    let height_sd_m = sd("height_sd_m", d.height_sd_m, 1.0);
    let airspeed_sd_m_s = sd("airspeed_sd_m_s", d.airspeed_sd_m_s, 1.0);
    let gps_position_sd_m = sd("gps_position_sd_m", d.gps_position_sd_m, 1.0);
    let gps_velocity_sd_m_s = sd("gps_velocity_sd_m_s", d.gps_velocity_sd_m_s, 1.0);
    Sensors {
        airspeed: r.truth("airspeed", d.airspeed),
        gps: r.truth("gps", d.gps),
        power: r.truth("power", d.power),
        rpm: r.truth("rpm", d.rpm),
        gps_hz: r.number_or("gps_hz", 0.2..=50.0, d.gps_hz),
        gps_delay_s: r.number_or("gps_delay_s", 0.0..=2.0, d.gps_delay_s),
        angle_sd_rad,
        rate_sd_rad_s,
        force_sd_m_s2,
        height_sd_m,
        airspeed_sd_m_s,
        gps_position_sd_m,
        gps_velocity_sd_m_s,
        vibration_m_s2: r.number_or("vibration_m_s2", 0.0..=100.0, d.vibration_m_s2),
    }
}

fn gains(r: &mut Reader<'_>) -> Option<Gains> {
    r.table?;
    Some(Gains {
        feed_forward_s: r.number_or("feed_forward_s", 0.0..=5.0, 0.0),
        proportional_s: r.number_or("proportional_s", 0.0..=5.0, 0.0),
        integral: r.number_or("integral", 0.0..=20.0, 0.0),
        derivative_s2: r.number_or("derivative_s2", 0.0..=1.0, 0.0),
    })
}

fn flaw(r: &mut Reader<'_>) -> Option<MadeFlaw> {
    let line = r.line;
    let kinds = [("gap", 0), ("time-reset", 1), ("truncated", 2)];
    let Some(kind) = r.word("kind", &kinds) else {
        if r.table.is_some_and(|t| t.get("kind").is_none()) {
            r.wrong(
                line,
                "a flaw without its kind".into(),
                "add kind = \"gap\", \"time-reset\" or \"truncated\"",
            );
        }
        return None;
    };
    Some(match kind {
        0 => MadeFlaw::Gap { at_s: r.needed("at_s", 0.0..=3600.0), for_s: r.needed("for_s", 0.0..=600.0) },
        1 => MadeFlaw::TimeReset { at_s: r.needed("at_s", 0.0..=3600.0) },
        _ => MadeFlaw::Truncated,
    })
}

fn step(r: &mut Reader<'_>) -> Option<Step> {
    let line = r.line;
    let kinds =
        ["launch", "climb", "straight", "turn", "input", "glide", "stall", "return", "approach", "land"]
            .map(|word| (word, word));
    let Some(kind) = r.word("do", &kinds) else {
        if r.table.is_some_and(|t| t.get("do").is_none()) {
            r.wrong(line, "a step that does not say what it does".into(), "add do = \"straight\", say");
        }
        // What belongs to an unknown step cannot be judged.
        r.table = None;
        return None;
    };
    let acts = r
        .word("acts", &[("direct", Acts::Direct), ("rate", Acts::Rate), ("level", Acts::Level)])
        .unwrap_or(Acts::Level);
    let what = match kind {
        "launch" => What::Launch {
            speed_m_s: r.number_or("speed_m_s", SPEED_M_S, 9.0),
            elevation_rad: r.rad("elevation_deg", -10.0..=60.0).unwrap_or(0.2),
            heading_rad: r.rad("heading_deg", DEGREES),
            throttle: r.number_or("throttle_percent", PERCENT, 100.0) / 100.0,
            ground_s: r.number_or("ground_s", 1.0..=120.0, 4.0),
            to_height_m: r.number_or("height_m", HEIGHT_M, 15.0),
        },
        "climb" => What::Climb {
            to_height_m: r.needed("height_m", HEIGHT_M),
            throttle: r.number_or("throttle_percent", PERCENT, 90.0) / 100.0,
            airspeed_m_s: r.number("airspeed_m_s", SPEED_M_S),
            heading_rad: r.rad("heading_deg", DEGREES),
        },
        "straight" => straight(r),
        "turn" => What::Turn {
            bank_rad: r.needed("bank_deg", 5.0..=75.0) * RAD_PER_DEG,
            angle_rad: r.needed("degrees", 1.0..=7200.0) * RAD_PER_DEG,
            left: r.word("side", &[("left", true), ("right", false)]).unwrap_or(false),
            airspeed_m_s: r.number("airspeed_m_s", SPEED_M_S),
        },
        "input" => input(r),
        "glide" => What::Glide {
            seconds: r.needed("seconds", SECONDS),
            airspeed_m_s: r.number("airspeed_m_s", SPEED_M_S),
            heading_rad: r.rad("heading_deg", DEGREES),
        },
        "stall" => What::Stall { seconds: r.number_or("seconds", SECONDS, 40.0) },
        "return" => What::Return {
            within_m: r.number_or("within_m", 20.0..=1000.0, 80.0),
            airspeed_m_s: r.number("airspeed_m_s", SPEED_M_S),
        },
        "approach" => What::Approach {
            to_height_m: r.number_or("height_m", HEIGHT_M, 6.0),
            throttle: r.number_or("throttle_percent", PERCENT, 0.0) / 100.0,
            airspeed_m_s: r.number("airspeed_m_s", SPEED_M_S),
            heading_rad: r.rad("heading_deg", DEGREES),
        },
        _ => What::Land,
    };
    Some(Step { line, acts, what })
}

fn straight(r: &mut Reader<'_>) -> What {
    let throttle = r.number("throttle_percent", PERCENT).map(|p| p / 100.0);
    let holds = [("height", Hold::Height), ("airspeed", Hold::Airspeed), ("stick", Hold::Stick)];
    let hold = r.word("hold", &holds).unwrap_or(Hold::Height);
    if hold != Hold::Height && throttle.is_none() {
        let line = r.line;
        r.wrong(
            line,
            "pitch does not hold height here, and no throttle is given".into(),
            "add throttle_percent, or hold = \"height\"",
        );
    }
    What::Straight {
        heading_rad: r.rad("heading_deg", DEGREES),
        seconds: r.needed("seconds", SECONDS),
        hold,
        airspeed_m_s: r.number("airspeed_m_s", SPEED_M_S),
        throttle,
    }
}

fn input(r: &mut Reader<'_>) -> What {
    let axes = [("roll", StickAxis::Roll), ("pitch", StickAxis::Pitch), ("yaw", StickAxis::Yaw)];
    let axis = r.word("axis", &axes).unwrap_or(StickAxis::Roll);
    let shapes = [("step", 0), ("doublet", 1), ("sweep", 2)];
    let shape = match r.word("kind", &shapes).unwrap_or(1) {
        0 => Shape::Step,
        1 => Shape::Doublet,
        _ => Shape::Sweep {
            from_hz: r.number_or("from_hz", 0.02..=20.0, 0.2),
            to_hz: r.number_or("to_hz", 0.02..=20.0, 3.0),
        },
    };
    let (seconds, rest_s) = match shape {
        Shape::Sweep { .. } => (30.0, 4.0),
        Shape::Step | Shape::Doublet => (0.8, 4.0),
    };
    What::Input {
        axis,
        shape,
        size: r.number_or("size_percent", -100.0..=100.0, 30.0) / 100.0,
        seconds: r.number_or("seconds", SECONDS, seconds),
        rest_s: r.number_or("rest_s", 0.0..=60.0, rest_s),
    }
}
