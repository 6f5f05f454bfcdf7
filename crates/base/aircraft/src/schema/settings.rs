//! How it is set, what it may not do and what it was found to do: `[controller]`, `[limits]`, `[flown]`.

use super::sheet::{Ask, Sheet, ask};
use super::units::Quantity::{
    Angle, Frequency, GainTime, GainTimeSquared, Length, PerTime, Plain, Share, Speed, Time, TurningRate,
};
use crate::care::{Care, Weights};
use crate::controller::{Acts, Controller, Gains, SwitchPosition};
use crate::known::{Known, Origin};
use crate::limits::{Flown, Limits};

/// Doubt of a mounting angle that nobody measured, rad (common practice, no source).
pub const USUAL_MOUNTING_SD_RAD: f64 = 1.5 * numerics::units::RAD_PER_DEG;
/// Repetitions of the stabilising loop where the file does not say, Hz (common practice, no source).
pub const USUAL_LOOP_HZ: f64 = 500.0;
/// Delay from gyro to servo pulse where the file does not say, s: filters and one servo frame of 20 ms, half of it on
/// average (common practice, no source).
pub const USUAL_DELAY_S: f64 = 0.015;
/// Turning rates [roll, pitch, yaw] at full stick where the file does not say, rad/s (common practice, no source).
const USUAL_RATES_DEG_S: [f64; 3] = [180.0, 90.0, 60.0];
/// Attitudes [roll, pitch] at full stick where the file does not say, degrees (common practice, no source).
const USUAL_ANGLES_DEG: [f64; 2] = [45.0, 30.0];
/// Turning rate per angle of error where the file does not say, 1/s (common practice, no source).
const USUAL_LEVEL_PER_S: f64 = 4.0;

const ACTS: [(Acts, &str); 3] = [(Acts::Direct, "direct"), (Acts::Rate, "rate"), (Acts::Level, "level")];

pub(super) fn read_controller(sheet: Option<Sheet<'_>>) -> Controller {
    let usual_mounting = Known::stated(0.0, USUAL_MOUNTING_SD_RAD);
    let mut controller = Controller {
        mounting_pitch_rad: usual_mounting,
        mounting_roll_rad: usual_mounting,
        loop_hz: USUAL_LOOP_HZ,
        delay_s: USUAL_DELAY_S,
        largest_rate_rad_s: USUAL_RATES_DEG_S.map(f64::to_radians),
        largest_angle_rad: USUAL_ANGLES_DEG.map(f64::to_radians),
        gains: [None; 3],
        level_per_s: USUAL_LEVEL_PER_S,
        reference_speed_m_s: None,
        switch: Vec::new(),
        failsafe_throttle: None,
    };
    let Some(sheet) = sheet else {
        return controller;
    };
    let mounting = |name| {
        sheet
            .known(ask(name, Angle, -0.8, 0.8), |_| USUAL_MOUNTING_SD_RAD, Origin::Stated)
            .unwrap_or(usual_mounting)
    };
    controller.mounting_pitch_rad = mounting("mounting_pitch");
    controller.mounting_roll_rad = mounting("mounting_roll");
    controller.loop_hz = sheet.or(ask("loop", Frequency, 10.0, 20_000.0), controller.loop_hz);
    controller.delay_s = sheet.or(ask("delay", Time, 0.0, 0.5), controller.delay_s);
    let rates = ["largest_rate_roll", "largest_rate_pitch", "largest_rate_yaw"];
    for (slot, name) in controller.largest_rate_rad_s.iter_mut().zip(rates) {
        *slot = sheet.or(ask(name, TurningRate, 0.01, 35.0), *slot);
    }
    let angles = ["largest_angle_roll", "largest_angle_pitch"];
    for (slot, name) in controller.largest_angle_rad.iter_mut().zip(angles) {
        *slot = sheet.or(ask(name, Angle, 0.05, 1.6), *slot);
    }
    // Written as level_per_s: the unit is part of the name that people say.
    controller.level_per_s = sheet.or(ask("level", PerTime, 0.0, 50.0), controller.level_per_s);
    controller.reference_speed_m_s = sheet.number(ask("reference_speed", Speed, 1.0, 100.0)).map(|n| n.si);
    controller.failsafe_throttle = sheet.number(ask("failsafe_throttle", Share, 0.0, 1.0)).map(|n| n.si);
    if let Some(gains) = sheet.table("gains", "[controller.gains]") {
        for (slot, axis) in controller.gains.iter_mut().zip(["roll", "pitch", "yaw"]) {
            *slot = gains.table(axis, &format!("[controller.gains.{axis}]")).map(read_gains);
        }
        gains.finish();
    }
    for position in sheet.tables("switch", "[[controller.switch]]") {
        let name =
            position.needed_text("name", "the word on your transmitter for this position of the switch");
        let acts = position.word(
            "acts",
            &ACTS,
            None,
            "direct (straight to the surfaces), rate (commands a turning rate) or level (commands an attitude)",
        );
        if let Some(name) = &name
            && controller.switch.iter().any(|p| p.name == name.text)
        {
            position.notes.fault(
                &name.place,
                format!("two positions of the switch are called \"{}\"", name.text),
                "give each a name of its own",
            );
        }
        if let (Some(name), Some(acts)) = (name, acts) {
            controller.switch.push(SwitchPosition { name: name.text, acts });
        }
        position.finish();
    }
    sheet.finish();
    controller
}

fn read_gains(sheet: Sheet<'_>) -> Gains {
    // A gain that was adopted from a flight stands with its doubt and origin beside it.
    let gain = |question: Ask| sheet.known(question, |v| 0.3 * v, Origin::Stated).map_or(0.0, |k| k.value);
    let gains = Gains {
        feed_forward_s: gain(ask("feed_forward", GainTime, 0.0, 10.0)),
        proportional_s: gain(ask("proportional", GainTime, 0.0, 10.0)),
        integral: gain(ask("integral", Plain, 0.0, 100.0)),
        derivative_s2: gain(ask("derivative", GainTimeSquared, 0.0, 1.0)),
    };
    sheet.finish();
    gains
}

pub(super) fn read_limits(sheet: Option<Sheet<'_>>) -> Limits {
    let Some(sheet) = sheet else {
        return Limits::default();
    };
    let speed = |name| sheet.number(ask(name, Speed, 2.0, 150.0)).map(|n| n.si);
    let number = |question: Ask| sheet.number(question).map(|n| n.si);
    let limits = Limits {
        never_exceed_m_s: speed("never_exceed"),
        load_factor: number(ask("load_factor", Plain, 1.0, 50.0)),
        height_m: number(ask("height", Length, 1.0, 10_000.0)),
        distance_m: number(ask("distance", Length, 1.0, 100_000.0)),
        wind_m_s: number(ask("wind", Speed, 0.1, 40.0)),
        gust_spread_m_s: number(ask("gust_spread", Speed, 0.1, 20.0)),
        cross_wind_m_s: number(ask("cross_wind", Speed, 0.1, 20.0)),
        visibility_m: number(ask("visibility", Length, 100.0, 50_000.0)),
        cloud_base_m: number(ask("cloud_base", Length, 30.0, 5_000.0)),
        // Written as coldest_c and hottest_c: the unit is part of the name.
        coldest_c: number(ask("coldest_c", Plain, -30.0, 40.0)),
        hottest_c: number(ask("hottest_c", Plain, 0.0, 55.0)),
        cruise_m_s: speed("cruise"),
        reserve: number(ask("reserve", Share, 0.0, 0.95)),
        stall_m_s: sheet.known(ask("stall", Speed, 1.0, 60.0), |v| 0.05 * v, Origin::Measured),
    };
    if let (Some(stall), Some(cruise)) = (limits.stall_m_s, limits.cruise_m_s)
        && cruise <= stall.value
    {
        sheet.fault(
            format!(
                "the cruise speed, {cruise:.1} m/s, is not above the stall speed, {:.1} m/s",
                stall.value
            ),
            "cruise well above the stall: 1.5 times is usual",
        );
    }
    sheet.finish();
    limits
}

/// Words for how lengths were come by, with the doubt of one of them, m.
const LENGTHS: [(f64, &str); 3] = [
    (crate::care::RULER_SD_M, "ruler"),
    (crate::care::PLAN_SD_M, "plan"),
    (crate::care::GUESSED_SD_M, "guessed"),
];
/// Words for how throws were come by, with the doubt of one of them, rad.
const THROWS: [(f64, &str); 3] = [
    (crate::care::GAUGE_THROW_SD_RAD, "gauge"),
    (crate::care::RULER_THROW_SD_RAD, "ruler"),
    (crate::care::GUESSED_THROW_SD_RAD, "guessed"),
];
const WEIGHTS: [(Weights, &str); 2] = [(Weights::Scale, "scale"), (Weights::Guessed, "guessed")];

pub(super) fn read_care(sheet: Option<Sheet<'_>>) -> Care {
    let usual = Care::default();
    let Some(sheet) = sheet else {
        return usual;
    };
    let length = sheet.word("lengths", &LENGTHS, Some(usual.length_sd_m), "").unwrap_or(usual.length_sd_m);
    let throw = sheet.word("throws", &THROWS, Some(usual.throw_sd_rad), "").unwrap_or(usual.throw_sd_rad);
    let number = |question: Ask| sheet.number(question).map(|n| n.si);
    let care = Care {
        weights: sheet.word("weights", &WEIGHTS, Some(usual.weights), "").unwrap_or(usual.weights),
        length_sd_m: sheet.or(ask("length_sd", Length, 0.0, 0.2), length),
        throw_sd_rad: sheet.or(ask("throw_sd", Angle, 0.0, 0.5), throw),
        cl_max_sd: number(ask("cl_max_sd", Plain, 0.0, 1.0)),
        drag_sd: number(ask("drag_sd", Share, 0.0, 1.0)),
        thrust_sd: number(ask("thrust_sd", Share, 0.0, 1.0)),
    };
    sheet.finish();
    care
}

pub(super) fn read_flown(sheet: Option<Sheet<'_>>) -> Flown {
    let Some(sheet) = sheet else {
        return Flown::default();
    };
    let factor = |name| sheet.known(ask(name, Plain, 0.05, 20.0), |f: f64| 0.1 * f, Origin::Flown);
    let flown = Flown {
        drag_factor: factor("drag_factor"),
        lift_factor: factor("lift_factor"),
        control_factor: ["control_factor_roll", "control_factor_pitch", "control_factor_yaw"].map(factor),
        thrust_factor: factor("thrust_factor"),
    };
    sheet.finish();
    flown
}
