//! What each of the flights flies, in which air, with what hidden and what not recorded.

use aircraft::Aircraft;
use aircraft::movable::Panels;
use numerics::random::Random;
use predict::prediction::Prediction;

/// What a flight holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Kind {
    /// Everything on the card.
    Whole,
    /// One heading and one speed, no stick moved on purpose: what needs more must be declined.
    OneHeading,
}

/// The text of a script, step by step.
struct Text(String);

impl Text {
    fn step(&mut self, what: &str, keys: &[(&str, String)]) {
        self.0 += &format!("[[step]]\ndo = \"{what}\"\n");
        for (key, value) in keys {
            self.0 += &format!("{key} = {value}\n");
        }
    }
}

fn word(w: &str) -> String {
    format!("\"{w}\"")
}

/// The script of a seed.
pub(crate) fn written(seed: u64, aircraft: &Aircraft, prediction: &Prediction) -> (Kind, String) {
    let mut random = Random::new(seed, 77);
    let mut between = |low: f64, high: f64| random.uniform(low, high);
    let kind = if seed.is_multiple_of(13) { Kind::OneHeading } else { Kind::Whole };
    let reference = aircraft.limits.cruise_m_s.unwrap();
    let stall = prediction.speeds.stall_m_s.value;
    // Never more wind than half the cruise speed.
    let wind = between(0.0, (0.5 * reference).min(8.0));
    let from = between(0.0, 360.0).round();
    let gusts = between(0.02, 0.1);
    // Half of the flights on one heading have no airspeed sensor: nothing then tells the airspeed.
    let sensor = between(0.0, 1.0) < 0.7 && !seed.is_multiple_of(26);
    let power = between(0.0, 1.0) < 0.9;
    let log_hz = [25, 50, 50, 100][(seed / 7 % 4) as usize];
    let mut text = Text(format!(
        "seed = {seed}\nlog_hz = {log_hz}\nintegrate_hz = 400\nreference_speed_m_s = {reference}\n\
         [place]\ntemperature_c = {:.1}\n\
         [wind]\nspeed_m_s = {wind:.2}\nfrom_deg = {from}\nroughness_m = {:.4}\ngust_intensity = {gusts:.3}\n\
         [sensors]\nairspeed = {sensor}\npower = {power}\ngps_delay_s = {:.2}\nnoise = {:.2}\n\
         [hidden]\nmounting_pitch_deg = {:.2}\nmounting_roll_deg = {:.2}\nairspeed_factor = {:.3}\n\
         drag_factor = {:.3}\nlift_factor = {:.3}\nthrust_factor = {:.3}\n\
         roll_factor = {:.3}\npitch_factor = {:.3}\nyaw_factor = {:.3}\n",
        between(0.0, 30.0),
        // From mown grass to hedges and houses.
        10.0_f64.powf(between(-2.5, -0.6)),
        between(0.1, 0.4),
        between(0.7, 1.5),
        between(-3.0, 3.0),
        between(-1.0, 1.0),
        between(0.93, 1.07),
        // About the prediction, to either side: what is known before the flight is then right on the whole.
        between(0.82, 1.18),
        between(0.93, 1.07),
        between(0.9, 1.1),
        between(0.8, 1.2),
        between(0.8, 1.2),
        between(0.8, 1.2),
    ));
    for movable in &aircraft.movables {
        let sides: &[&str] = if movable.panels == Panels::Pair { &["right", "left"] } else { &["only"] };
        for side in sides {
            text.0 += &format!(
                "[[hidden.offset]]\nmovable = \"{}\"\nside = \"{side}\"\ndeg = {:.2}\n",
                movable.name,
                between(-1.2, 1.2)
            );
        }
    }
    let heading = |off: f64| format!("{}", (from + off).rem_euclid(360.0));
    text.step("launch", &[("acts", word("level"))]);
    text.step("climb", &[("acts", word("level")), ("height_m", "60".into())]);
    let seconds = if gusts * wind > 0.3 { 20.0 } else { 12.0 };
    let leg = |text: &mut Text, off: f64, seconds: f64, speed: f64| {
        text.step(
            "straight",
            &[
                ("acts", word("direct")),
                ("heading_deg", heading(off)),
                ("seconds", seconds.to_string()),
                ("airspeed_m_s", format!("{speed:.2}")),
            ],
        );
    };
    if kind == Kind::OneHeading {
        leg(&mut text, 0.0, 40.0, reference);
        text.step("land", &[("acts", word("level"))]);
        return (kind, text.0);
    }
    for off in [0.0, 90.0, 180.0, 270.0] {
        leg(&mut text, off, seconds, reference);
    }
    for side in ["left", "right"] {
        text.step(
            "turn",
            &[
                ("acts", word("level")),
                ("bank_deg", "30".into()),
                ("degrees", "400".into()),
                ("side", word(side)),
            ],
        );
    }
    // Turned at the usual speed and slowed down straight ahead, as anybody would who wants to keep the aircraft.
    let slow = (0.85 * reference).max(1.35 * stall);
    for (off, speed) in [(0.0, 1.25 * reference), (180.0, 1.25 * reference), (90.0, slow), (270.0, slow)] {
        text.step(
            "straight",
            &[("acts", word("level")), ("heading_deg", heading(off)), ("seconds", "2".into())],
        );
        leg(&mut text, off, 12.0, speed);
    }
    // Six doublets an axis, in three rounds.
    for round in 0..3 {
        text.step(
            "straight",
            &[
                ("acts", word("direct")),
                ("heading_deg", heading(if round == 1 { 180.0 } else { 0.0 })),
                ("seconds", "3".into()),
            ],
        );
        for (axis, size, seconds) in [("roll", 25.0, 0.35), ("pitch", 18.0, 0.4), ("yaw", 40.0, 0.5)] {
            for sign in [1.0, -1.0] {
                text.step(
                    "input",
                    &[
                        ("acts", word("direct")),
                        ("axis", word(axis)),
                        ("kind", word("doublet")),
                        ("size_percent", format!("{}", sign * size)),
                        ("seconds", seconds.to_string()),
                        ("rest_s", "3.5".into()),
                    ],
                );
            }
        }
    }
    text.step("climb", &[("acts", word("level")), ("height_m", "110".into())]);
    for off in [0.0, 180.0] {
        // The nose comes down first: a motor that stops in a steep climb leaves nothing to fly with.
        text.step(
            "straight",
            &[("acts", word("level")), ("heading_deg", heading(off)), ("seconds", "3".into())],
        );
        text.step(
            "glide",
            &[
                ("acts", word("level")),
                ("heading_deg", heading(off)),
                ("seconds", "14".into()),
                ("airspeed_m_s", format!("{reference:.2}")),
            ],
        );
    }
    text.step("climb", &[("acts", word("level")), ("height_m", "90".into())]);
    for off in [0.0, 0.0] {
        text.step(
            "straight",
            &[("acts", word("level")), ("heading_deg", heading(off)), ("seconds", "3".into())],
        );
        text.step("stall", &[("acts", word("direct"))]);
    }
    text.step("return", &[("acts", word("level"))]);
    text.step("approach", &[("acts", word("level"))]);
    text.step("land", &[("acts", word("level"))]);
    (kind, text.0)
}
