//! The demo aircraft (invented) through the whole prediction: laws that must hold between its parts.

use aircraft::drive::Bench;
use aircraft::{Aircraft, Known, Origin};
use predict::prediction::{NotPredicted, Prediction};
use predict::{Conditions, predict};

const FILE: &str = include_str!("../../../../../examples/wheatear.toml");
const SEA_LEVEL_KG_M3: f64 = 1.225;

fn wheatear() -> Aircraft {
    aircraft::schema::read(FILE, &|_| None).unwrap()
}

fn predicted(aircraft: &Aircraft) -> Prediction {
    predict(aircraft, &Conditions::default()).unwrap()
}

#[test]
fn show() {
    let p = predicted(&wheatear());
    println!("{p:#?}");
}
