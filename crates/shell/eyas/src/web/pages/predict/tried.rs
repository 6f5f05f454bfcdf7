//! What is tried? Values of the sliders, as the address carries them.

use aircraft::Aircraft;
use aircraft::control::Axis;
use maud::{Markup, html};
use predict::prediction::Prediction;

use super::Answer;
use crate::tasks::forecast::Air;
use crate::tasks::what_if::{self, WhatIf};
use crate::web::fields::{Fields, encoded};
use crate::web::shell::Step;

/// Numbers of the air: key, name, unit, least, most, what stands for it where it is left empty.
pub(super) const AIR: [(&str, &str, &str, f64, f64, &str); 3] = [
    ("height", "Height of the field", "m", -430.0, 5000.0, "above sea level; 0 where left empty"),
    ("temperature", "Temperature", "°C", -40.0, 55.0, "that of the standard atmosphere where left empty"),
    (
        "pressure",
        "Pressure at the field",
        "hPa",
        500.0,
        1090.0,
        "as a barometer there shows it, not reduced to sea level",
    ),
];

const AXES: [(Axis, &str, &str); 4] = [
    (Axis::Roll, "roll", "Throw for roll"),
    (Axis::Pitch, "pitch", "Throw for pitch"),
    (Axis::Yaw, "yaw", "Throw for yaw"),
    (Axis::Flap, "flap", "Throw of the flaps"),
];

/// What is tried, as read from an address.
pub(super) struct Tried {
    /// Changes of the aircraft.
    pub(super) what: WhatIf,
    /// The air.
    pub(super) air: Air,
    /// Fields with what is wrong with them.
    pub(super) wrong: Vec<(&'static str, String)>,
    /// What was typed for the air, as it came.
    typed: Vec<(&'static str, String)>,
}

fn described_balance_mm(aircraft: &Aircraft) -> Option<f64> {
    aircraft::balance::balance(aircraft).ok().map(|b| half(b.cg_x_m.value * 1e3))
}

fn described_total_g(aircraft: &Aircraft) -> Option<f64> {
    aircraft::balance::balance(aircraft).ok().map(|b| (b.total_kg.value * 1e3).round())
}

/// To half a millimeter, as the sliders step.
fn half(mm: f64) -> f64 {
    (mm * 2.0).round() / 2.0
}

impl Tried {
    /// Reads an address. A slider that stands where the description stands tries nothing.
    pub(super) fn read(fields: &Fields, aircraft: &Aircraft) -> Self {
        let mut wrong = Vec::new();
        let mut number = |key: &'static str, words: &str, least: f64, most: f64, unit: &str| match fields
            .number(key, words)
        {
            Ok(Some(v)) if !(least..=most).contains(&v) => {
                wrong.push((key, format!("{words}: {v} {unit} is outside {least} to {most} {unit}")));
                None
            }
            Ok(value) => value,
            Err(told) => {
                wrong.push((key, told));
                None
            }
        };
        let unless = |value: Option<f64>, described: Option<f64>| {
            value.filter(|v| described.is_none_or(|d| (v - d).abs() > 0.2))
        };
        let air = {
            let mut of = |i: usize| {
                let (key, words, unit, least, most, _) = AIR[i];
                number(key, words, least, most, unit)
            };
            Air { height_m: of(0), temperature_c: of(1), pressure_hpa: of(2) }
        };
        let pack = what_if::pack(aircraft);
        let pack_mm = pack.map(|(_, item, _)| half(item.at_m.x * 1e3));
        let what = WhatIf {
            balance_x_m: unless(
                number("balance", "Balance point", -5000.0, 5000.0, "mm"),
                described_balance_mm(aircraft),
            )
            .map(|mm| mm / 1e3),
            pack_x_m: match pack {
                Some((.., [from, to])) => {
                    unless(number("pack", "Pack position", from * 1e3 - 0.5, to * 1e3 + 0.5, "mm"), pack_mm)
                        .map(|mm| mm / 1e3)
                }
                None => None,
            },
            total_kg: unless(number("mass", "Weight", 20.0, 50_000.0, "g"), described_total_g(aircraft))
                .map(|g| g / 1e3),
            throws: AXES.map(|(axis, key, words)| {
                let share = unless(number(key, words, 10.0, 300.0, "%"), Some(100.0));
                share.filter(|_| what_if::answers(aircraft, axis)).map(|percent| percent / 100.0)
            }),
        };
        let typed = AIR
            .iter()
            .filter_map(|(key, ..)| Some((*key, fields.text(key)?.chars().take(20).collect())))
            .collect();
        Self { what, air, wrong, typed }
    }

    /// What is wrong with a field, empty where nothing is.
    pub(super) fn wrong_of(&self, key: &str) -> &str {
        self.wrong.iter().find(|(k, _)| *k == key).map_or("", |(_, words)| words)
    }

    fn typed_of(&self, key: &str) -> &str {
        self.typed.iter().find(|(k, _)| *k == key).map_or("", |(_, words)| words)
    }

    /// Keys and values that tell what is tried.
    pub(super) fn pairs(&self) -> Vec<(&'static str, String)> {
        let mm = |x: f64| format!("{:.1}", x * 1e3);
        let mut pairs: Vec<(&'static str, String)> = Vec::new();
        pairs.extend(self.what.balance_x_m.map(|x| ("balance", mm(x))));
        pairs.extend(self.what.pack_x_m.map(|x| ("pack", mm(x))));
        pairs.extend(self.what.total_kg.map(|m| ("mass", format!("{:.0}", m * 1e3))));
        for ((_, key, _), share) in AXES.iter().zip(self.what.throws) {
            pairs.extend(share.map(|s| (*key, format!("{:.0}", s * 100.0))));
        }
        pairs.extend(self.air_pairs());
        pairs
    }

    fn air_pairs(&self) -> Vec<(&'static str, String)> {
        self.typed.clone()
    }

    /// Address of the page with what is tried.
    pub(super) fn address(&self, name: &str) -> String {
        address(name, &self.pairs())
    }

    /// Address of the page with the air only.
    pub(super) fn air_address(&self, name: &str) -> String {
        address(name, &self.air_pairs())
    }

    /// What differs from what is described, in sentences.
    pub(super) fn changes(&self, aircraft: &Aircraft, described: &Prediction) -> Vec<String> {
        let mut out = Vec::new();
        let b = &described.balance;
        if let Some(x) = self.what.balance_x_m {
            out.push(format!(
                "Balance point at {:.1} mm instead of {:.1} mm, the pack where it is described.",
                x * 1e3,
                b.cg_x_m.value * 1e3
            ));
        }
        if let (Some(x), Some((_, item, _))) = (self.what.pack_x_m, what_if::pack(aircraft)) {
            out.push(format!(
                "{} at {:.1} mm instead of {:.1} mm: that moves the balance point by its share of the weight.",
                crate::web::shell::capital(&item.name),
                x * 1e3,
                item.at_m.x * 1e3
            ));
        }
        if let Some(total) = self.what.total_kg {
            out.push(format!("{:.0} g instead of {:.0} g.", total * 1e3, b.total_kg.value * 1e3));
        }
        for ((_, _, words), share) in AXES.iter().zip(self.what.throws) {
            if let Some(share) = share {
                out.push(format!("{words}: {:.0} % of what is described.", share * 100.0));
            }
        }
        out
    }
}

fn address(name: &str, pairs: &[(&'static str, String)]) -> String {
    let query: Vec<String> = pairs.iter().map(|(key, value)| format!("{key}={}", encoded(value))).collect();
    let path = Step::Predict.path(name);
    if query.is_empty() { path } else { format!("{path}?{}", query.join("&")) }
}

struct Slider {
    key: &'static str,
    name: String,
    unit: &'static str,
    range: [f64; 2],
    step: f64,
    value: f64,
    hint: String,
}

fn sliders(answer: &Answer) -> Vec<Slider> {
    let aircraft = &answer.fetched.aircraft;
    let p = &answer.described;
    let what = &answer.tried.what;
    let chord_mm = p.geometry.mean_chord_m * 1e3;
    let cg_mm = half(p.balance.cg_x_m.value * 1e3);
    let neutral_mm = p.stability.neutral_point_x_m.value * 1e3;
    let safe = p.stability.range_x_m.as_ref().ok();
    let forward = safe.map_or(cg_mm - 0.1 * chord_mm, |r| r[0] * 1e3).min(cg_mm);
    let mut out = vec![Slider {
        key: "balance",
        name: if what_if::pack(aircraft).is_some() {
            "Balance point, with the pack where it is described".to_owned()
        } else {
            "Balance point".to_owned()
        },
        unit: "mm",
        range: [(forward - 0.08 * chord_mm).floor(), (neutral_mm.max(cg_mm) + 0.05 * chord_mm).ceil()],
        step: 0.5,
        value: what.balance_x_m.map_or(cg_mm, |x| half(x * 1e3)),
        hint: match (safe, p.stability.first_flight_range_x_m.as_ref().ok()) {
            (Some([a, b]), Some([c, d])) => format!(
                "Aft of the datum. It may lie within {:.0} and {:.0} mm, for a first flight within {:.0} and {:.0} mm.",
                a * 1e3,
                b * 1e3,
                c * 1e3,
                d * 1e3
            ),
            _ => "Aft of the datum.".to_owned(),
        },
    }];
    if let Some((_, item, [from, to])) = what_if::pack(aircraft) {
        out.push(Slider {
            key: "pack",
            name: format!("Middle of \u{201c}{}\u{201d}", item.name),
            unit: "mm",
            range: [half(from * 1e3), half(to * 1e3)],
            step: 0.5,
            value: half(what.pack_x_m.unwrap_or(item.at_m.x) * 1e3),
            hint: format!("Aft of the datum; {:.0} g.", item.mass_kg.value * 1e3),
        });
    }
    let total = (p.balance.total_kg.value * 1e3).round();
    out.push(Slider {
        key: "mass",
        name: "Weight, ready to fly".to_owned(),
        unit: "g",
        range: [(0.75 * total).floor(), (1.35 * total).ceil()],
        step: 1.0,
        value: what.total_kg.map_or(total, |m| (m * 1e3).round()),
        hint: "All items alike.".to_owned(),
    });
    for ((axis, key, name), share) in AXES.into_iter().zip(what.throws) {
        if what_if::answers(aircraft, axis) {
            out.push(Slider {
                key,
                name: name.to_owned(),
                unit: "%",
                range: [30.0, 150.0],
                step: 5.0,
                value: (share.unwrap_or(1.0) * 100.0).round(),
                hint: "Of what is described.".to_owned(),
            });
        }
    }
    // What an address tries beyond the usual stays on its slider.
    for slider in &mut out {
        slider.range = [slider.range[0].min(slider.value), slider.range[1].max(slider.value)];
    }
    out
}

/// The sliders and the air. Without a script the button asks for the page again.
pub(super) fn form(name: &str, answer: &Answer) -> Markup {
    let path = Step::Predict.path(name);
    html! {
        form id="tried" method="get" action=(path) hx-get=(path) hx-trigger="input delay:30ms" hx-target="#answer" hx-sync="this:replace"
            // Only what is let go becomes a step of the way back; each step of a move takes the place of the one before.
            hx-headers=r#"{"X-Settled":"no"}"# {
            h2 { "Try" }
            @for s in sliders(answer) {
                div.field.slider {
                    div.slider-head {
                        label for={"try-" (s.key)} { (s.name) }
                        output id={"shown-" (s.key)} for={"try-" (s.key)} { (s.value) " " (s.unit) }
                    }
                    input type="range" id={"try-" (s.key)} name=(s.key) min=(s.range[0]) max=(s.range[1]) step=(s.step) value=(s.value)
                        data-shows={"shown-" (s.key)} data-unit=(s.unit) aria-describedby={"hint-" (s.key)};
                    p.hint id={"hint-" (s.key)} { (s.hint) }
                }
            }
            details open[!answer.tried.typed.is_empty()] {
                summary { "The air" }
                @for (key, words, unit, _, _, hint) in AIR {
                    @let wrong = answer.tried.wrong_of(key);
                    div.field {
                        label for={"try-" (key)} { (words) }
                        div.unit {
                            input id={"try-" (key)} name=(key) inputmode="decimal" autocomplete="off" value=(answer.tried.typed_of(key))
                                aria-invalid=[(!wrong.is_empty()).then_some("true")]
                                aria-describedby={"hint-" (key) " wrong-" (key)};
                            span { (unit) }
                        }
                        p.hint id={"hint-" (key)} { (hint) }
                        p.wrong id={"wrong-" (key)} { (wrong) }
                    }
                }
            }
            div.buttons {
                noscript { button { "Show" } }
                a.button.second href=(path) { "As described" }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wheatear() -> Aircraft {
        let text = include_str!("../../../../../../../examples/wheatear.toml");
        aircraft::schema::read(text, &|_| None).unwrap()
    }

    #[test]
    fn sliders_where_the_description_stands_try_nothing_and_addresses_come_back() {
        let aircraft = wheatear();
        let still = Tried::read(&Fields::read("balance=323&pack=222&mass=1335&roll=100"), &aircraft);
        assert!(still.what.is_nothing() && still.wrong.is_empty());
        assert_eq!(still.address("W"), "/aircraft/W/predict");
        let address = "/aircraft/W/predict?balance=318.0&pack=200.0&mass=1400&pitch=80&height=600";
        let query = address.split('?').nth(1).unwrap();
        let tried = Tried::read(&Fields::read(query), &aircraft);
        assert_eq!(tried.address("W"), address);
        assert_eq!(tried.air.height_m, Some(600.0));
    }

    #[test]
    fn what_is_no_number_or_beyond_all_is_told_beside_its_field() {
        let tried =
            Tried::read(&Fields::read("height=<script>&temperature=80&pack=900&flap=50"), &wheatear());
        assert!(tried.wrong_of("height").contains("no number"));
        assert!(tried.wrong_of("temperature").contains("outside"));
        assert!(tried.wrong_of("pack").contains("outside"));
        // No flaps, nothing to try with them.
        assert_eq!(tried.what.throws[3], None);
        assert!(tried.address("W").contains("height=%3Cscript%3E"));
    }
}
