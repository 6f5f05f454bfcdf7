//! What does today's air make of the predictions?

use clap::Args;
use predict::prediction::Prediction;
use predict::{Conditions, predict_with};

use aircraft::Aircraft;

use crate::cli::decimal;
use crate::json::prediction::why;
use crate::tasks::sections::{self, Effort};
use crate::tell::{Kind, Trouble};

/// The air that predictions hold for.
#[derive(Debug, Clone, Copy, Default, Args)]
pub(crate) struct Air {
    /// Height of the field above sea level, m [default: 0]
    #[arg(long, value_name = "M", value_parser = decimal, allow_hyphen_values = true)]
    pub(crate) height_m: Option<f64>,
    /// Air temperature, °C [default: standard]
    #[arg(long, value_name = "C", value_parser = decimal, allow_hyphen_values = true)]
    pub(crate) temperature_c: Option<f64>,
    /// Air pressure at the field (not reduced to sea level), hPa [default: standard]
    #[arg(long, value_name = "HPA", value_parser = decimal, allow_hyphen_values = true)]
    pub(crate) pressure_hpa: Option<f64>,
}

impl Air {
    /// Checks the numbers and turns them into what the predictions take.
    pub(crate) fn conditions(&self) -> Result<Conditions, Trouble> {
        let within = |name: &str, value: Option<f64>, low: f64, high: f64, unit: &str| match value {
            Some(v) if !(low..=high).contains(&v) => {
                Err(format!("{name} {v} {unit} is outside {low} to {high} {unit}"))
            }
            _ => Ok(()),
        };
        let causes: Vec<String> = [
            within("--height-m", self.height_m, -430.0, 5000.0, "m"),
            within("--temperature-c", self.temperature_c, -40.0, 55.0, "°C"),
            within("--pressure-hpa", self.pressure_hpa, 500.0, 1090.0, "hPa"),
        ]
        .into_iter()
        .filter_map(Result::err)
        .collect();
        if !causes.is_empty() {
            return Err(Trouble::many(
                Kind::Input,
                "the air is not one to fly a model in",
                causes,
                "check the number and its unit",
            ));
        }
        Ok(Conditions {
            height_m: self.height_m.unwrap_or(0.0),
            temperature_k: self.temperature_c.map(|c| c + 273.15),
            pressure_pa: self.pressure_hpa.map(|p| p * 100.0),
            relative_humidity: None,
        })
    }
}

/// All predictions of an aircraft in that air, with sections computed where that was not done before.
pub(crate) fn forecast(aircraft: &Aircraft, air: &Air) -> Result<Prediction, Trouble> {
    with_sections(aircraft, air, Effort::Compute)
}

/// The same with the section tables that are there: in no time, if rougher.
pub(crate) fn forecast_at_hand(aircraft: &Aircraft, air: &Air) -> Result<Prediction, Trouble> {
    with_sections(aircraft, air, Effort::AtHand)
}

fn with_sections(aircraft: &Aircraft, air: &Air, effort: Effort) -> Result<Prediction, Trouble> {
    let conditions = air.conditions()?;
    let (tables, told) = sections::tables(aircraft, effort);
    let mut prediction = predict_with(aircraft, &conditions, &tables).map_err(|reason| {
        Trouble::new(
            Kind::No,
            format!("\"{}\" cannot be predicted", aircraft.name),
            why(&reason),
            "add to the aircraft file what is named",
        )
    })?;
    prediction.remarks.extend(told);
    Ok(prediction)
}
