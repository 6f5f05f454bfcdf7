//! More layouts of the invented flight, as other producers would write them; see `variants` for what is held.

use fly::recording::Quantity as Q;

use crate::invented::{compass, flight};
use crate::variants::{DEG, PLAIN, Style, check, laid_out, num, text};

#[test]
fn units_under_the_names_with_semicolons_and_decimal_commas_and_few_channels() {
    let columns = [
        num("Time|s", 2, |m| m.t),
        num("Height|ft", 2, |m| m.height / 0.3048),
        num("Vertical speed|ft/min", 1, |m| -m.velocity.z / 0.00508),
        num("Pitch|deg", 3, |m| m.pitch * DEG),
        num("Airspeed|mph", 3, |m| m.airspeed / 0.44704),
    ];
    let style = Style { delimiter: ";", decimal_comma: true, ..PLAIN };
    let made = laid_out(&style, &columns, &flight());
    check(
        "units under names",
        made.as_bytes(),
        &[Q::Height, Q::VelocityDown, Q::Pitch, Q::Airspeed],
        &[Q::Altitude, Q::GroundSpeed],
    );
}

#[test]
fn the_satellites_clock_milli_units_and_columns_in_reverse() {
    let columns = [
        num("battery current (mA)", 0, |m| m.amps * 1000.0),
        num("battery voltage (mV)", 0, |m| m.volts * 1000.0),
        num("accel z (mg)", 1, |m| m.force.z / 9.80665e-3),
        num("accel y (mg)", 1, |m| m.force.y / 9.80665e-3),
        num("accel x (mg)", 1, |m| m.force.x / 9.80665e-3),
        num("gyro z (mrad/s)", 1, |m| m.rates.z * 1000.0),
        num("gyro y (mrad/s)", 1, |m| m.rates.y * 1000.0),
        num("gyro x (mrad/s)", 1, |m| m.rates.x * 1000.0),
        num("pitch (deg)", 3, |m| m.pitch * DEG),
        num("roll (deg)", 3, |m| m.roll * DEG),
        num("gps week", 0, |_| 2312.0),
        num("gps time of week (ms)", 0, |m| 295_218_000.0 + m.t * 1000.0),
    ];
    let made = laid_out(&PLAIN, &columns, &flight());
    let must = [Q::Roll, Q::Pitch, Q::RollRate, Q::PitchRate, Q::ForceX, Q::ForceZ, Q::Volts, Q::Amps];
    check("satellites' clock", made.as_bytes(), &must, &[]);
}

#[test]
fn no_header_at_all_gives_no_channel() {
    let columns = [
        num("", 2, |m| m.t),
        num("", 3, |m| m.roll * DEG),
        num("", 3, |m| m.rates.x),
        num("", 2, |m| m.height),
    ];
    let made = laid_out(&PLAIN, &columns, &flight());
    let rows = made.split_once('\n').unwrap().1;
    check("no header", rows.as_bytes(), &[], &[Q::Roll, Q::RollRate, Q::Height]);
}

#[test]
fn velocities_in_centimetres_left_and_up_axes_and_bars_between() {
    let columns = [
        num("time_us", 0, |m| m.t * 1e6),
        num("vel_n_cm_s", 1, |m| m.velocity.x * 100.0),
        num("vel_e_cm_s", 1, |m| m.velocity.y * 100.0),
        num("climb_cm_s", 1, |m| -m.velocity.z * 100.0),
        num("altitude_cm", 0, |m| (m.height + 120.0) * 100.0),
        num("roll_deg", 3, |m| m.roll * DEG),
        num("pitch_deg", 3, |m| m.pitch * DEG),
        num("heading_deg", 3, |m| compass(m.yaw)),
    ];
    let style = Style { delimiter: "|", ..PLAIN };
    let made = laid_out(&style, &columns, &flight());
    let must = [Q::Altitude, Q::VelocityDown, Q::Roll, Q::Pitch, Q::Yaw];
    check("centimetres", made.as_bytes(), &must, &[]);
}

#[test]
fn pulses_of_the_sticks_and_the_mode_in_words() {
    let columns = [
        text("time", |m| format!("{:02}:{:06.3}", (m.t / 60.0) as u32, m.t % 60.0)),
        num("roll stick (us)", 0, |m| 1500.0 + 500.0 * m.stick.x),
        num("pitch stick (us)", 0, |m| 1500.0 + 500.0 * m.stick.y),
        num("throttle (us)", 0, |m| 1000.0 + 1000.0 * m.throttle),
        num("roll rate (deg/s)", 2, |m| m.rates.x * DEG),
        num("pitch rate (deg/s)", 2, |m| m.rates.y * DEG),
        text("acts", |m| if m.t < 60.0 { "RATE".into() } else { "LEVEL".into() }),
    ];
    let made = laid_out(&PLAIN, &columns, &flight());
    let must = [Q::StickRoll, Q::StickPitch, Q::Throttle, Q::RollRate, Q::PitchRate, Q::Acts];
    check("pulses", made.as_bytes(), &must, &[]);
}
