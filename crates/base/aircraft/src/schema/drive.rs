//! What pulls: `[drive]` with `[drive.propeller]`, `[drive.motor]`, `[drive.pack]`, `[[drive.hub]]`, `[[drive.bench]]`.

use numerics::Vec3;

use super::sheet::{Ask, Sheet, ask};
use super::units::Quantity::{
    Angle, Charge, Current, Force, Length, Resistance, Rotation, Share, SpeedPerVolt, Time, Voltage,
};
use crate::drive::{Bench, BladeClass, Drive, Motor, Pack, Propeller};
use crate::known::{Known, Origin};

/// Resistance of a speed controller where the file does not say, ohm (common practice, no source).
pub const USUAL_SPEED_CONTROLLER_OHM: f64 = 0.005;
/// Resistance of one cell of an ampere-hour where the file does not say, ohm: it falls with capacity (common
/// practice, no source).
const USUAL_CELL_OHM_AH: f64 = 0.02;
/// Time constant of the pull after a throttle step where the file does not say, s (common practice, no source).
pub const USUAL_SPOOL_UP_S: f64 = 0.2;
/// Relative doubt of a resistance taken from capacity.
const GUESSED_SD: f64 = 0.4;

const fn place(name: &'static str) -> Ask {
    ask(name, Length, -10.0, 10.0)
}

pub(super) fn read(sheet: Option<Sheet<'_>>) -> Option<Drive> {
    let sheet = sheet?;
    let propeller = sheet.table("propeller", "[drive.propeller]");
    let motor = sheet.table("motor", "[drive.motor]");
    let pack = sheet.table("pack", "[drive.pack]");
    for (table, title, remedy) in [
        (&propeller, "[drive.propeller]", "diameter_in and pitch_in are printed on the propeller"),
        (&motor, "[drive.motor]", "kv_rpm_v, resistance_mohm and no_load_a are on the motor's data sheet"),
        (&pack, "[drive.pack]", "cells and capacity_mah are printed on the pack"),
    ] {
        if table.is_none() {
            sheet.missing(title, format!("{remedy}; a glider has no [drive] at all"));
        }
    }
    let propeller = propeller.and_then(read_propeller);
    let motor = motor.and_then(read_motor);
    let pack = pack.and_then(read_pack);
    let speed_controller_ohm =
        sheet.or(ask("speed_controller", Resistance, 0.0, 1.0), USUAL_SPEED_CONTROLLER_OHM);
    let limit = sheet.number(ask("speed_controller_limit", Current, 0.5, 1000.0));
    let down = sheet.or(ask("thrust_down", Angle, -0.5, 0.5), 0.0);
    let right = sheet.or(ask("thrust_right", Angle, -0.5, 0.5), 0.0);
    let pusher = sheet.flag("pusher", false);
    let spool_up_s = sheet.or(ask("spool_up", Time, 0.0, 5.0), USUAL_SPOOL_UP_S);
    let hub_sheets = sheet.tables("hub", "[[drive.hub]]");
    if hub_sheets.is_empty() {
        sheet.missing(
            "[[drive.hub]]",
            "say where each propeller is: x_mm, y_mm, z_mm of its middle from the datum, one [[drive.hub]] a motor",
        );
    }
    let hubs: Vec<Option<Vec3>> = hub_sheets.into_iter().map(read_hub).collect();
    let bench: Vec<Option<Bench>> =
        sheet.tables("bench", "[[drive.bench]]").into_iter().map(read_bench).collect();
    sheet.finish();
    Some(Drive {
        propeller: propeller?,
        motor: motor?,
        speed_controller_ohm,
        speed_controller_limit_a: limit.map(|n| n.si),
        pack: pack?,
        hubs_m: hubs.into_iter().collect::<Option<_>>()?,
        pull_direction: Vec3::new(-down.cos() * right.cos(), down.cos() * right.sin(), -down.sin()),
        pusher,
        spool_up_s,
        bench: bench.into_iter().collect::<Option<_>>()?,
    })
}

fn read_propeller(sheet: Sheet<'_>) -> Option<Propeller> {
    let diameter = sheet
        .needed(ask("diameter", Length, 0.03, 1.5), "printed on the propeller, in inches: diameter_in = 10");
    let pitch =
        sheet.needed(ask("pitch", Length, 0.01, 1.5), "printed on the propeller, in inches: pitch_in = 5");
    let blades = sheet.whole("blades", 1, 8);
    let words = BladeClass::ALL.map(|class| (Some(class), class.word()));
    let class = sheet.word("class", &words, Some(None), "").flatten();
    let blade_chord = sheet.number(ask("blade_chord", Length, 0.002, 0.3));
    sheet.finish();
    Some(Propeller {
        diameter_m: diameter?.si,
        pitch_m: pitch?.si,
        blades: blades.unwrap_or(2),
        class,
        blade_chord_m: blade_chord.map(|n| n.si),
    })
}

fn read_motor(sheet: Sheet<'_>) -> Option<Motor> {
    let kv = sheet
        .needed(ask("kv", SpeedPerVolt, 20.0, 20_000.0), "speed per volt, on the motor or its data sheet");
    let resistance = sheet.needed(
        ask("resistance", Resistance, 0.0005, 20.0),
        "of the winding, from the data sheet (often 20 to 200 mohm)",
    );
    let no_load = sheet.needed(
        ask("no_load", Current, 0.0, 50.0),
        "current without propeller, from the data sheet or the bench (often 0.5 to 2 a)",
    );
    let limit = sheet.number(ask("limit", Current, 0.5, 1000.0));
    sheet.finish();
    Some(Motor {
        kv_rpm_v: kv?.si,
        resistance_ohm: resistance?.si,
        no_load_a: no_load?.si,
        limit_a: limit.map(|n| n.si),
    })
}

fn read_pack(sheet: Sheet<'_>) -> Option<Pack> {
    let cells = sheet.needed_whole("cells", 1, 30, "printed on the pack: 3S is cells = 3");
    let capacity =
        sheet.needed(ask("capacity", Charge, 0.02, 100.0), "printed on the pack: capacity_mah = 2200");
    let resistance = sheet.known(ask("resistance", Resistance, 0.0, 5.0), |r| 0.1 * r, Origin::Stated);
    let limit = sheet.number(ask("limit", Current, 0.5, 2000.0));
    sheet.finish();
    let (cells, capacity_ah) = (cells?, capacity?.si);
    let guessed = f64::from(cells) * USUAL_CELL_OHM_AH / capacity_ah;
    Some(Pack {
        cells,
        capacity_ah,
        resistance_ohm: resistance.unwrap_or(Known::predicted(guessed, GUESSED_SD * guessed)),
        limit_a: limit.map(|n| n.si),
    })
}

fn read_hub(sheet: Sheet<'_>) -> Option<Vec3> {
    let x = sheet.needed(place("x"), "measure from the datum aft to the middle of the propeller");
    let (y, z) = (sheet.or(place("y"), 0.0), sheet.or(place("z"), 0.0));
    sheet.finish();
    Some(Vec3::new(x?.si, y, z))
}

fn read_bench(sheet: Sheet<'_>) -> Option<Bench> {
    let throttle = sheet.needed(
        ask("throttle", Share, 0.0, 1.0),
        "throttle of the measurement, 0 to 1; hold the model fast, nobody in line with the propeller",
    );
    let measured =
        |question: Ask, share: f64| sheet.known(question, |v: f64| share * v.abs(), Origin::Measured);
    // Doubts of hobby meters and of a hand-held pull (common practice, no source).
    let volts = measured(ask("voltage", Voltage, 0.5, 200.0), 0.01);
    let amps = measured(ask("current", Current, 0.0, 1000.0), 0.03);
    let rpm = measured(ask("speed", Rotation, 0.0, 100_000.0), 0.01);
    let pull_n = measured(ask("pull", Force, 0.0, 500.0), 0.03);
    if volts.is_none() && amps.is_none() && rpm.is_none() && pull_n.is_none() {
        sheet.fault(
            "a bench measurement without a number",
            "write what was measured: voltage_v, current_a, speed_rpm or pull_n",
        );
    }
    sheet.finish();
    Some(Bench { throttle: throttle?.si, volts, amps, rpm, pull_n })
}
