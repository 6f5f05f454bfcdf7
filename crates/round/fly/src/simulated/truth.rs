//! What was so in the simulated flight, for holding findings against?

use std::fmt::Write as _;

use super::sensors::degrees;

/// The truth of a simulated flight.
#[derive(Debug, Clone, PartialEq)]
pub struct Truth {
    /// Seed of the script.
    pub seed: u64,
    /// Speed for which trims are told, m/s.
    pub reference_speed_m_s: f64,
    /// Air density at half the flying height, kg/m³.
    pub density_kg_m3: f64,
    /// Mean height of the straight steps and turns, m; zero if none was flown.
    pub flying_height_m: f64,
    /// Mean wind there, m/s.
    pub wind_speed_m_s: f64,
    /// True direction it blows from, rad.
    pub wind_from_rad: f64,
    /// Pitch that the controller reads when height holds at the reference speed, rad: the correction that its mounting
    /// angle wants.
    pub level_correction_rad: f64,
    /// Roll that the controller reads when the wings are level, rad.
    pub roll_correction_rad: f64,
    /// Pitch attitude of the airframe there, rad.
    pub level_pitch_rad: f64,
    /// Throttle there, 0 to 1.
    pub level_throttle: f64,
    /// Pulses that hold straight unaccelerated flight at the reference speed.
    pub trims: Vec<TruePulse>,
    /// Mean true airspeed of the straight steps and turns, m/s.
    pub mean_airspeed_m_s: f64,
    /// What the airspeed sensor tells over the truth.
    pub airspeed_factor: f64,
    /// Steady rate per axis deflection [roll, pitch, yaw] at the reference speed, 1/s.
    pub rate_per_rad_s: [f64; 3],
    /// Time constant of that rate, s.
    pub time_constant_s: [f64; 3],
    /// Delay from gyro or stick to pulse, s.
    pub delay_s: f64,
    /// Resistance of the pack of the file, ohm, if there is a drive.
    pub pack_resistance_ohm: Option<f64>,
    /// Stall speed, wings level, m/s.
    pub stall_m_s: f64,
    /// What happened when.
    pub events: Vec<Event>,
    /// Whether it rests on the ground at the end.
    pub landed: bool,
    /// Time outside the table of the drive, s: thrust was then that of the table's edge.
    pub outside_drive_table_s: f64,
}

/// The pulse that a servo holds in straight flight.
#[derive(Debug, Clone, PartialEq)]
pub struct TruePulse {
    /// Channel of the servo.
    pub channel: String,
    /// Pulse less the centre of the aircraft file, µs.
    pub us_from_centre: f64,
    /// The pulse, µs.
    pub pulse_us: f64,
}

/// Something that happened.
#[derive(Debug, Clone, PartialEq)]
pub struct Event {
    /// When, s of the recording before flaws were made in it.
    pub time_s: f64,
    /// What: the word of a step, "release", "touchdown", "stalled" or "end".
    pub what: String,
}

impl Truth {
    /// The truth as TOML, in the units people read.
    #[must_use]
    pub fn to_toml(&self) -> String {
        let mut t = String::new();
        let mut line = |text: String| {
            t.push_str(&text);
            t.push('\n');
        };
        line("# What was so in this simulated flight. The flight is invented.".into());
        line(format!("seed = {}", self.seed));
        line(format!("landed = {}", self.landed));
        line(format!("reference_speed_m_s = {:.3}", self.reference_speed_m_s));
        line(format!("density_kg_m3 = {:.4}", self.density_kg_m3));
        line(format!("flying_height_m = {:.1}", self.flying_height_m));
        line(format!("mean_airspeed_m_s = {:.3}", self.mean_airspeed_m_s));
        line(format!("stall_m_s = {:.3}", self.stall_m_s));
        line(format!("outside_drive_table_s = {:.2}", self.outside_drive_table_s));
        line("\n[wind]".into());
        line(format!("speed_m_s = {:.3}", self.wind_speed_m_s));
        line(format!("from_deg = {:.1}", degrees(self.wind_from_rad)));
        line("\n[airspeed]".into());
        line(format!("factor = {:.4}", self.airspeed_factor));
        line("\n[level_attitude]".into());
        line(format!("correction_deg = {:.3}", degrees(self.level_correction_rad)));
        line(format!("roll_correction_deg = {:.3}", degrees(self.roll_correction_rad)));
        line(format!("pitch_deg = {:.3}", degrees(self.level_pitch_rad)));
        line(format!("throttle_percent = {:.2}", 100.0 * self.level_throttle));
        for trim in &self.trims {
            line("\n[[trims]]".into());
            line(format!("channel = \"{}\"", escaped(&trim.channel)));
            line(format!("us = {:.2}", trim.us_from_centre));
            line(format!("pulse_us = {:.2}", trim.pulse_us));
        }
        for ((name, rate), constant) in
            ["roll", "pitch", "yaw"].iter().zip(self.rate_per_rad_s).zip(self.time_constant_s)
        {
            line(format!("\n[response.{name}]"));
            line(format!("gain_deg_s_per_deg = {rate:.4}"));
            line(format!("time_constant_s = {constant:.4}"));
            line(format!("delay_s = {:.4}", self.delay_s));
        }
        if let Some(ohm) = self.pack_resistance_ohm {
            line("\n[battery]".into());
            line(format!("resistance_ohm = {ohm:.5}"));
        }
        for event in &self.events {
            let mut text = String::from("\n[[event]]\n");
            let _ = write!(text, "time_s = {:.3}\nwhat = \"{}\"", event.time_s, escaped(&event.what));
            line(text);
        }
        t
    }
}

fn escaped(text: &str) -> String {
    text.replace('\\', "\\\\").replace('"', "\\\"")
}
