//! What does `eyas launch --json` print?

use numerics::units::DEG_PER_RAD;
use predict::launch::bands::{Band, SHARES};
use predict::launch::caution::cautions;
use predict::launch::inputs::{Input, Spread};
use predict::launch::landing::Approach;
use predict::launch::odds::{GOOD, Study};
use predict::launch::outcome::Outcome;
use predict::launch::table::{Least, WANTED};
use predict::launch::tally::{Ended, Share};
use serde_json::{Map, Value, json};

use super::{Object, number};

/// A study as a document.
pub(crate) fn document(aircraft: &aircraft::Aircraft, s: &Study) -> Value {
    let odds = &s.odds;
    let scene = &s.scene;
    let mut o = Object::default();
    o.set("aircraft", aircraft.name.as_str());
    o.set("runs", odds.runs);
    o.set("seed", odds.seed);
    o.set(
        "ended",
        match odds.ended {
            Ended::All => "all flown",
            Ended::Precise => "precise enough",
            Ended::Cancelled => "cancelled",
        },
    );
    o.set("how", scene.method.word());
    o.set("acts", scene.acts.word());
    o.set(
        "wind",
        json!({
            "speed_m_s": number(scene.wind.speed_m_s),
            "gust_m_s": scene.wind.gust_m_s.map(number),
            "from_deg": number(scene.wind.from_rad * DEG_PER_RAD),
            "at_height_m": number(scene.wind.height_m),
        }),
    );
    o.set("heading_deg", number(scene.heading_rad * DEG_PER_RAD));
    o.set("climb_attitude_deg", number(scene.climb_pitch_rad * DEG_PER_RAD));
    o.set("stall_m_s", number(s.stall_m_s));
    o.set("clean", share(&odds.clean));
    o.set("good_from", number(GOOD));
    o.set("good", !odds.is_no());
    let outcomes: Map<String, Value> = Outcome::ALL
        .iter()
        .zip(&odds.outcomes)
        .map(|(outcome, s)| (outcome.word().replace(' ', "_"), share(s)))
        .collect();
    o.set("outcomes", outcomes);
    let after: Map<String, Value> = odds
        .touched_after
        .iter()
        .map(|(outcome, count)| (outcome.word().replace(' ', "_"), json!(count)))
        .collect();
    o.set("touched_after", after);
    o.set("drivers", odds.drivers.iter().map(driver).collect::<Vec<_>>());
    o.set(
        "helps",
        s.helps
            .iter()
            .map(|h| {
                json!({
                    "what": h.what, "change": number(h.gain.change),
                    "low": number(h.gain.low), "high": number(h.gain.high),
                })
            })
            .collect::<Vec<_>>(),
    );
    o.set(
        "table",
        s.table
            .iter()
            .map(|c| {
                json!({
                    "wind_m_s": number(c.wind_m_s), "speed_m_s": number(c.speed_m_s), "clean": share(&c.clean),
                })
            })
            .collect::<Vec<_>>(),
    );
    o.set_or_why(
        "least_speed",
        match &s.least {
            Some(Least::Found { speed_m_s, clean }) => {
                Ok(json!({"speed_m_s": number(*speed_m_s), "wanted": WANTED, "clean": share(clean)}))
            }
            Some(Least::None { best_m_s, clean }) => Err(format!(
                "no release speed that was tried gives {:.0} % clean; the best was {best_m_s:.1} m/s with {:.0} %",
                100.0 * WANTED,
                100.0 * clean.probability
            )),
            None => Err("not computed".into()),
        },
    );
    let inputs: Map<String, Value> = Input::ALL
        .iter()
        .filter(|i| i.drawn())
        .map(|i| (i.word().to_owned(), spread(*i, scene.scatter.of(*i))))
        .collect();
    o.set("inputs", inputs);
    let band = |bands: &[Band]| {
        bands
            .iter()
            .map(|b| json!({"time_s": number(b.time_s), "values": b.values.map(number)}))
            .collect::<Vec<_>>()
    };
    o.set(
        "bands",
        json!({
            "shares": SHARES,
            "height_m": band(&s.bands.height_m),
            "airspeed_m_s": band(&s.bands.airspeed_m_s),
        }),
    );
    o.set(
        "landing",
        json!({
            "today": approach(&s.landing.today),
            "approaches": s.landing.approaches.iter().map(approach).collect::<Vec<_>>(),
            "link_lost": s.landing.down.map(|d| json!({
                "height_m": number(d.height_m), "time_s": number(d.time_s), "airspeed_m_s": number(d.airspeed_m_s),
                "drift_m": number(d.drift_m), "radius_m": number(d.radius_m), "home_from_m": number(d.home_from_m),
            })),
        }),
    );
    o.set("cautions", cautions(aircraft, &scene.method));
    o.done()
}

fn share(s: &Share) -> Value {
    json!({
        "probability": number(s.probability), "low": number(s.low), "high": number(s.high), "count": s.count, "of": s.of,
    })
}

/// A spread with the unit in its keys.
fn spread(input: Input, s: Spread) -> Value {
    let (unit, per) = input.unit();
    let suffix = match unit {
        "m/s" => "_m_s",
        "deg" => "_deg",
        "deg/s" => "_deg_s",
        "m" => "_m",
        "s" => "_s",
        "mm" => "_mm",
        _ => "",
    };
    let mut fields = Map::new();
    fields.insert(format!("mean{suffix}"), number(s.mean * per));
    fields.insert(format!("sd{suffix}"), number(s.sd * per));
    Value::Object(fields)
}

fn driver(d: &predict::launch::drivers::Driver) -> Value {
    json!({
        "input": d.input.word(),
        "name": d.input.name(),
        "share_percent": number(d.percent),
        "noise_percent": number(d.noise_percent),
        "sign": if d.rank_correlation < 0.0 { -1 } else { 1 },
        "rank_correlation": number(d.rank_correlation),
        "rank_correlation_half": number(d.rank_correlation_half),
        "height_correlation": number(d.height_correlation),
        "spread": spread(d.input, d.spread),
        "low_fifth": share(&d.low_fifth),
        "high_fifth": share(&d.high_fifth),
    })
}

fn approach(a: &Approach) -> Value {
    json!({
        "wind_m_s": number(a.wind_m_s), "airspeed_m_s": number(a.airspeed_m_s), "sink_m_s": number(a.sink_m_s),
        "ground_per_height": number(a.ground_per_height), "flare_height_m": number(a.flare_height_m),
        "flare_m": number(a.flare_m), "float_m": number(a.float_m), "float_s": number(a.float_s),
        "touch_m_s": number(a.touch_m_s),
    })
}
