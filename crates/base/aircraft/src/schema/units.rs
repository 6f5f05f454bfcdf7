//! Which units may a quantity of the aircraft file carry, and how many SI units is each?
//!
//! The unit is the end of the key: `chord_mm`, `mass_oz`, `throw_up_deg`. The first unit of a list is the one that
//! messages and templates use.

use numerics::units::{
    G_M_S2, KG_PER_LB, KG_PER_OZ, KG_PER_SLUG, M_PER_FT, M_PER_IN, M_S_PER_KM_H, M_S_PER_KT, M_S_PER_MPH,
    RAD_PER_DEG,
};

/// A kind of number, which settles the units that its key may end in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Quantity {
    /// Lengths and places.
    Length,
    /// Areas.
    Area,
    /// Masses.
    Mass,
    /// Angles.
    Angle,
    /// Airspeeds and wind speeds.
    Speed,
    /// Turning rates.
    TurningRate,
    /// Slew rates of servos; also told as seconds for 60 degrees, as makers do.
    Slew,
    /// Durations.
    Time,
    /// Lengths of servo pulses.
    Pulse,
    /// Repetitions.
    Frequency,
    /// Electric resistances.
    Resistance,
    /// Electric currents.
    Current,
    /// Voltages.
    Voltage,
    /// Charges of packs.
    Charge,
    /// Motor speeds per volt.
    SpeedPerVolt,
    /// Speeds of propellers.
    Rotation,
    /// Forces.
    Force,
    /// Moments of inertia.
    Inertia,
    /// Torques of servos.
    Torque,
    /// Shares of a whole: plain from 0 to 1, or in per cent.
    Share,
    /// Numbers without a unit.
    Plain,
    /// Gains in seconds.
    GainTime,
    /// Gains in seconds squared.
    GainTimeSquared,
    /// Rates of decay or demand, per second.
    PerTime,
}

/// A unit as the end of a key.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unit {
    /// The end of the key without its underscore; empty where the key carries none.
    pub suffix: &'static str,
    /// SI units in one of it; or, of a reciprocal one, SI value at one of it.
    pub si: f64,
    /// Whether the SI value falls as the number grows (seconds for 60 degrees).
    pub reciprocal: bool,
}

impl Unit {
    /// The number in SI units, radians for angles.
    #[must_use]
    pub fn to_si(self, number: f64) -> f64 {
        if self.reciprocal { self.si / number } else { self.si * number }
    }

    /// The number in this unit of an SI value.
    #[must_use]
    pub fn from_si(self, value: f64) -> f64 {
        if self.reciprocal { self.si / value } else { value / self.si }
    }

    /// A standard deviation in SI units, first order about a number in this unit.
    #[must_use]
    pub fn sd_to_si(self, number: f64, sd: f64) -> f64 {
        if self.reciprocal { self.si * sd / (number * number) } else { self.si * sd }
    }

    /// A standard deviation in this unit, first order about an SI value.
    #[must_use]
    pub fn sd_from_si(self, value: f64, sd: f64) -> f64 {
        if self.reciprocal { self.si * sd / (value * value) } else { sd / self.si }
    }

    /// A key of this unit: `chord` in millimetres is `chord_mm`.
    #[must_use]
    pub fn key(self, name: &str) -> String {
        if self.suffix.is_empty() { name.to_owned() } else { format!("{name}_{}", self.suffix) }
    }
}

const fn unit(suffix: &'static str, si: f64) -> Unit {
    Unit { suffix, si, reciprocal: false }
}

const SECONDS_FOR_60_DEGREES: Unit = Unit { suffix: "s_per_60deg", si: 60.0 * RAD_PER_DEG, reciprocal: true };

const N_PER_GF: f64 = 0.001 * G_M_S2;

impl Quantity {
    /// Every kind, those whose unit is written in the key before those without.
    pub const ALL: [Self; 24] = [
        Self::Length,
        Self::Area,
        Self::Mass,
        Self::Angle,
        Self::Speed,
        Self::TurningRate,
        Self::Slew,
        Self::Time,
        Self::Pulse,
        Self::Frequency,
        Self::Resistance,
        Self::Current,
        Self::Voltage,
        Self::Charge,
        Self::SpeedPerVolt,
        Self::Rotation,
        Self::Force,
        Self::Inertia,
        Self::Torque,
        Self::PerTime,
        Self::GainTime,
        Self::GainTimeSquared,
        Self::Share,
        Self::Plain,
    ];

    /// The units that a key of this quantity may end in.
    #[must_use]
    pub fn units(self) -> &'static [Unit] {
        match self {
            Self::Length => {
                const {
                    &[
                        unit("mm", 0.001),
                        unit("cm", 0.01),
                        unit("m", 1.0),
                        unit("in", M_PER_IN),
                        unit("ft", M_PER_FT),
                    ]
                }
            }
            Self::Area => {
                const {
                    &[
                        unit("cm2", 1e-4),
                        unit("mm2", 1e-6),
                        unit("dm2", 0.01),
                        unit("m2", 1.0),
                        unit("in2", M_PER_IN * M_PER_IN),
                    ]
                }
            }
            Self::Mass => {
                const { &[unit("g", 0.001), unit("kg", 1.0), unit("oz", KG_PER_OZ), unit("lb", KG_PER_LB)] }
            }
            Self::Angle => const { &[unit("deg", RAD_PER_DEG), unit("rad", 1.0)] },
            Self::Speed => {
                const {
                    &[
                        unit("m_s", 1.0),
                        unit("km_h", M_S_PER_KM_H),
                        unit("kt", M_S_PER_KT),
                        unit("mph", M_S_PER_MPH),
                        unit("ft_s", M_PER_FT),
                    ]
                }
            }
            Self::TurningRate => const { &[unit("deg_s", RAD_PER_DEG), unit("rad_s", 1.0)] },
            Self::Slew => const { &[unit("deg_s", RAD_PER_DEG), unit("rad_s", 1.0), SECONDS_FOR_60_DEGREES] },
            Self::Time => const { &[unit("s", 1.0), unit("ms", 0.001)] },
            Self::Pulse => const { &[unit("us", 1.0), unit("ms", 1000.0)] },
            Self::Frequency => const { &[unit("hz", 1.0), unit("khz", 1000.0)] },
            Self::Resistance => const { &[unit("ohm", 1.0), unit("mohm", 0.001)] },
            Self::Current => const { &[unit("a", 1.0), unit("ma", 0.001)] },
            Self::Voltage => const { &[unit("v", 1.0), unit("mv", 0.001)] },
            Self::Charge => const { &[unit("mah", 0.001), unit("ah", 1.0)] },
            Self::SpeedPerVolt => const { &[unit("rpm_v", 1.0)] },
            Self::Rotation => const { &[unit("rpm", 1.0)] },
            Self::Force => {
                const {
                    &[
                        unit("n", 1.0),
                        unit("gf", N_PER_GF),
                        unit("kgf", G_M_S2),
                        unit("ozf", KG_PER_OZ * G_M_S2),
                        unit("lbf", KG_PER_LB * G_M_S2),
                    ]
                }
            }
            Self::Inertia => {
                const {
                    &[
                        unit("kg_m2", 1.0),
                        unit("g_m2", 0.001),
                        unit("kg_cm2", 1e-4),
                        unit("lb_in2", KG_PER_LB * M_PER_IN * M_PER_IN),
                        unit("lb_ft2", KG_PER_LB * M_PER_FT * M_PER_FT),
                        unit("slug_ft2", KG_PER_SLUG * M_PER_FT * M_PER_FT),
                    ]
                }
            }
            // Makers write the weight of a kilogram or an ounce at an arm.
            Self::Torque => {
                const {
                    &[
                        unit("kg_cm", 0.01 * G_M_S2),
                        unit("n_cm", 0.01),
                        unit("nm", 1.0),
                        unit("oz_in", KG_PER_OZ * G_M_S2 * M_PER_IN),
                    ]
                }
            }
            Self::Share => const { &[unit("", 1.0), unit("percent", 0.01)] },
            Self::Plain => const { &[unit("", 1.0)] },
            Self::GainTime => const { &[unit("s", 1.0), unit("ms", 0.001)] },
            Self::GainTimeSquared => const { &[unit("s2", 1.0), unit("ms2", 1e-6)] },
            Self::PerTime => const { &[unit("per_s", 1.0)] },
        }
    }

    /// What the number measures, for messages ("a chord of 240 m" has a length).
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Length => "length",
            Self::Area => "area",
            Self::Mass => "mass",
            Self::Angle => "angle",
            Self::Speed => "speed",
            Self::TurningRate => "turning rate",
            Self::Slew => "slew rate",
            Self::Time | Self::GainTime => "time",
            Self::Pulse => "pulse",
            Self::Frequency => "frequency",
            Self::Resistance => "resistance",
            Self::Current => "current",
            Self::Voltage => "voltage",
            Self::Charge => "charge",
            Self::SpeedPerVolt => "speed per volt",
            Self::Rotation => "rotation",
            Self::Force => "force",
            Self::Inertia => "moment of inertia",
            Self::Torque => "torque",
            Self::Share => "share",
            Self::Plain => "number",
            Self::GainTimeSquared => "time squared",
            Self::PerTime => "rate",
        }
    }

    /// The unit whose suffix is given.
    #[must_use]
    pub fn unit(self, suffix: &str) -> Option<Unit> {
        self.units().iter().copied().find(|u| u.suffix == suffix)
    }

    /// Name and unit of a key of this quantity (`chord_mm` is `chord` in mm); the longest unit wins.
    #[must_use]
    pub fn split(self, key: &str) -> Option<(&str, Unit)> {
        self.units()
            .iter()
            .filter(|u| !u.suffix.is_empty())
            .filter_map(|u| {
                let name = key.strip_suffix(u.suffix)?.strip_suffix('_')?;
                (!name.is_empty()).then_some((name, *u))
            })
            .max_by_key(|(_, u)| u.suffix.len())
    }

    /// The units as a list for messages: "mm, cm, m, in, ft".
    #[must_use]
    pub fn unit_list(self) -> String {
        self.units()
            .iter()
            .map(|u| if u.suffix.is_empty() { "(none)" } else { u.suffix })
            .collect::<Vec<_>>()
            .join(", ")
    }
}
