//! What does the drive do at work: in sentences with numbers, and curves?

use numerics::units::DEG_PER_RAD;
use plan::number::coarse;
use predict::drive::home::Ends;
use predict::prediction::{DrivePrediction, Prediction};

use crate::number;
use crate::plot::{Look, Plot};

/// Sentences beyond standstill, cruise and endurance.
pub(crate) fn sentences(d: &DrivePrediction) -> Vec<String> {
    let mut out = vec![format!(
        "Its steepest climb is {}. Standing still at full throttle the pack sags to {}.",
        number::outcome(&d.climb_rad, DEG_PER_RAD, "deg"),
        coarse(d.static_voltage_v, "V"),
    )];
    for load in d.loads.iter().filter(|l| l.current_a > l.limit_a) {
        out.push(format!(
            "With a full pack the {} is at its limit of {} at {} throttle; full throttle takes {}.",
            load.part.word(),
            number::exact(load.limit_a, "A"),
            coarse(load.throttle * 100.0, "percent"),
            coarse(load.current_a, "A"),
        ));
    }
    match &d.slipstream {
        Ok(s) => {
            if let (Some(elevator), Some(pressure)) = (s.slow.elevator_factor, s.slow.horizontal_pressure) {
                out.push(format!(
                    "At full throttle near the stall the slipstream adds {} at the tail: the elevator works {} times as \
                     strongly as without power, the tail feels {} times the pressure. Closing the throttle takes that away.",
                    coarse(s.slow.added_m_s, "m/s"),
                    number::fixed(elevator, 1),
                    number::fixed(pressure, 1),
                ));
            }
            out.push(format!(
                "With the power of level flight the neutral point lies at {} mm, {} mm {} than without.",
                number::fixed(s.neutral_point_x_m * 1000.0, 0),
                number::fixed((s.by_tail_m + s.by_propeller_m).abs() * 1000.0, 1),
                if s.by_tail_m + s.by_propeller_m < 0.0 { "farther forward" } else { "farther aft" },
            ));
        }
        Err(why) => {
            out.push(format!("What the slipstream does to the tail is {}.", number::not_predicted(why)))
        }
    }
    match &d.home {
        Ok(home) => out.push(format!(
            "With the radio link lost it flies home at {} airspeed for {}, until {}: from {} downwind in calm air.",
            coarse(home.airspeed_m_s, "m/s"),
            coarse(home.time_s, "s"),
            match home.ends {
                Ends::Height => format!("{} of height are gone", coarse(home.height_m, "m")),
                Ends::Pack => "the pack is empty".to_owned(),
            },
            coarse(home.rows.first().map_or(0.0, |row| row[1]), "m"),
        )),
        Err(why) => out.push(format!("How far it gets home by itself is {}.", number::not_predicted(why))),
    }
    out
}

/// Level flight, climb, pack and the way home as curves with what each shows.
pub(crate) fn plots(p: &Prediction, d: &DrivePrediction) -> Vec<(String, &'static str)> {
    let mut out = Vec::new();
    let speed = "Airspeed, m/s";
    if let Ok(rows) = &d.envelope
        && !rows.is_empty()
    {
        let mut level = Plot::new(
            "Level flight",
            "Throttle and pack current of level flight over airspeed.",
            speed,
            "Throttle, %; current, A",
        )
        .with(
            "throttle, %",
            Look::Line,
            rows.iter().filter_map(|r| Some([r.speed_m_s, r.throttle? * 100.0])).collect(),
        )
        .with(
            "current, A",
            Look::Line,
            rows.iter().filter_map(|r| Some([r.speed_m_s, r.current_a?])).collect(),
        )
        .mark("cruise", p.speeds.cruise_m_s.value, 0.0);
        level.from_zero = true;
        out.push((level.draw(), ""));
        let mut climb = Plot::new(
            "Climb at full throttle",
            "Climb rate and angle of the path at full throttle over airspeed.",
            speed,
            "Climb, m/s; angle, °",
        )
        .with("rate, m/s", Look::Line, rows.iter().map(|r| [r.speed_m_s, r.climb_m_s]).collect())
        .with(
            "angle, °",
            Look::Line,
            rows.iter().map(|r| [r.speed_m_s, r.climb_rad * DEG_PER_RAD]).collect(),
        );
        climb.from_zero = true;
        out.push((climb.draw(), ""));
    }
    if let Ok(rows) = &d.discharge
        && rows.len() > 1
    {
        let pack = Plot::new(
            "The pack at cruise",
            "Pack voltage over time in level flight at cruise, from full to the reserve.",
            "Time, min",
            "Voltage, V",
        )
        .with("", Look::Line, rows.iter().map(|r| [r.time_s / 60.0, r.volts]).collect());
        out.push((pack.draw(), "It ends at the reserve."));
    }
    if let Ok(home) = &d.home {
        let mut way = Plot::new(
            "The way home",
            "Farthest distance downwind from which the flight home after a lost radio link arrives, over wind speed.",
            "Wind, m/s",
            "Distance, m",
        )
        .with("", Look::Line, home.rows.clone());
        way.from_zero = true;
        out.push((
            way.draw(),
            "It is taken to be pointed home; the rules of the place about distance and height go before.",
        ));
    }
    out
}
