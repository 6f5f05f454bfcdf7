//! What can be answered while somebody moves a slider? Shapes that were prepared once are kept in memory, so that another
//! mass, balance point, throw or air costs a small part of a prediction.

use std::sync::{Arc, Mutex, PoisonError};

use aircraft::Aircraft;
use predict::prediction::Prediction;
use predict::{Prepared, predict_prepared, predict_with};

use crate::json::prediction::why;
use crate::tasks::forecast::Air;
use crate::tasks::sections::{self, Effort};
use crate::tell::{Kind, Trouble};

/// Shapes kept at once.
const KEPT: usize = 6;

/// Shapes that were prepared, the one used last behind.
#[derive(Default)]
pub(crate) struct Warm {
    shapes: Mutex<Vec<(bool, Arc<Prepared>)>>,
}

impl Warm {
    /// All predictions of an aircraft with the section tables that are there, and whether finer ones could be computed.
    pub(crate) fn predict(&self, aircraft: &Aircraft, air: &Air) -> Result<(Prediction, bool), Trouble> {
        let conditions = air.conditions()?;
        let fine = sections::at_hand(aircraft);
        let told = |reason| {
            Trouble::new(
                Kind::No,
                format!("\"{}\" cannot be predicted", aircraft.name),
                why(&reason),
                "add to the description what is named",
            )
        };
        let remembered = {
            let mut shapes = self.shapes.lock().unwrap_or_else(PoisonError::into_inner);
            let found = shapes.iter().position(|(f, shape)| *f == fine && shape.fits(aircraft));
            found.map(|i| {
                let entry = shapes.remove(i);
                let shape = Arc::clone(&entry.1);
                shapes.push(entry);
                shape
            })
        };
        let prepared = match remembered {
            Some(prepared) => prepared,
            None => {
                let (tables, _) = sections::tables(aircraft, Effort::AtHand);
                let prepared = match Prepared::new(aircraft, &tables) {
                    Ok(prepared) => Arc::new(prepared),
                    // What is missing is told in the order in which a whole prediction asks for it.
                    Err(reason) => {
                        return predict_with(aircraft, &conditions, &tables)
                            .map(|p| (p, !fine))
                            .map_err(|first| if first == reason { told(reason) } else { told(first) });
                    }
                };
                let mut shapes = self.shapes.lock().unwrap_or_else(PoisonError::into_inner);
                if shapes.len() >= KEPT {
                    shapes.remove(0);
                }
                shapes.push((fine, Arc::clone(&prepared)));
                prepared
            }
        };
        predict_prepared(&prepared, aircraft, &conditions).map(|p| (p, !fine)).map_err(told)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_remembered_shape_answers_as_a_whole_prediction_does() {
        let text = include_str!("../../../../../examples/wheatear.toml");
        let mut aircraft = aircraft::schema::read(text, &|_| None).unwrap();
        let warm = Warm::default();
        let air = Air::default();
        warm.predict(&aircraft, &air).unwrap();
        if let Some(weighed) = &mut aircraft.weighed {
            weighed.balance_x_m = weighed.balance_x_m.map(|x| aircraft::Known { value: x.value - 0.01, ..x });
        }
        let (again, _) = warm.predict(&aircraft, &air).unwrap();
        let (tables, _) = sections::tables(&aircraft, Effort::AtHand);
        let whole = predict_with(&aircraft, &air.conditions().unwrap(), &tables).unwrap();
        assert_eq!(again, whole);
        assert_eq!(warm.shapes.lock().unwrap().len(), 1);
    }
}
