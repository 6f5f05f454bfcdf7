//! Writes every page and drawing from invented data into a directory, to be looked at: `gallery DIRECTORY`.

#![allow(
    clippy::print_stdout,
    clippy::expect_used,
    clippy::unwrap_used,
    missing_docs,
    reason = "a program to look at pages with, not a part of the product"
)]

#[path = "../tests/flight/mod.rs"]
mod flight;
#[path = "../../../round/plan/tests/invented/mod.rs"]
#[allow(dead_code, reason = "shared with the tests of plan")]
mod invented;

use std::path::Path;

use plan::card::{Weather, build};
use plan::catalogue::Catalogue;
use plan::outstanding::{History, outstanding};
use report::story::{Body, Fragment, Part, demo_html};

fn main() {
    let directory = std::env::args().nth(1).expect("gallery DIRECTORY");
    let directory = Path::new(&directory);
    std::fs::create_dir_all(directory).expect("the directory can be made");
    let write = |name: &str, text: &str| {
        std::fs::write(directory.join(name), text).expect("the file can be written");
        println!("{} {} bytes", directory.join(name).display(), text.len());
    };
    let (aircraft, prediction) = (invented::merle(), invented::prediction());
    let weather = Weather { wind_m_s: 3.0, gust_m_s: 4.5, from_deg: Some(240.0) };
    let catalogue = Catalogue::built_in().expect("the catalogue reads");
    let out = outstanding(&catalogue, &aircraft, &History::default());
    let card = build(&aircraft, &prediction, &out, &weather).expect("a card");
    let held = History {
        flights: 1,
        held_back: flight::findings()
            .changes
            .into_iter()
            .map(|change| aircraft::finding::Change {
                held_back: Some("22 µs is more than 5 % of travel: set it at the linkage".to_owned()),
                ..change
            })
            .filter(|change| change.path.contains("elevator"))
            .collect(),
        ..History::default()
    };
    let second =
        build(&aircraft, &prediction, &outstanding(&catalogue, &aircraft, &held), &weather).expect("a card");
    write("card-2.html", &report::card_page::card_html(&second));
    let (recording, findings) = (flight::recording(), flight::findings());
    let drawing = report::three_view::three_view(
        &aircraft,
        Some(prediction.balance.cg_x_m.value),
        Some(prediction.stability.neutral_point_x_m.value),
        prediction.stability.range_x_m.as_ref().ok().copied(),
    );
    write("three-view.svg", &drawing);
    for (name, aircraft) in
        [("flying-wing.svg", flying_wing()), ("twin-boom.svg", twin_boom()), ("v-tail.svg", v_tail())]
    {
        write(name, &report::three_view::three_view(&aircraft, Some(0.29), Some(0.31), Some([0.27, 0.30])));
    }
    write("card.html", &report::card_page::card_html(&card));
    write("predict-v-tail.html", &report::predict_page::predict_html(&v_tail(), &prediction));
    write("predict.html", &report::predict_page::predict_html(&aircraft, &prediction));
    write(
        "learn.html",
        &report::learn_page::learn_html(
            &aircraft,
            Some(&prediction),
            &recording,
            &findings,
            &recording.flaws,
        ),
    );
    let part = |step: &str, question: &str, body: Body| Part {
        step: step.to_owned(),
        question: question.to_owned(),
        words: vec!["Everything here is invented.".to_owned()],
        body,
    };
    let parts = [
        part("Describe", "What have I built?", Body::Drawings(vec![(drawing, "Merle".to_owned())])),
        part("Predict", "Will it fly, and how?", Body::Fragment(Fragment::predict(&aircraft, &prediction))),
        part(
            "Launch",
            "Will my throw work?",
            Body::Facts(vec![("Clean climb-outs".to_owned(), "93 % (91 to 95 %)".to_owned())]),
        ),
        part("Plan", "What do I fly, in what order?", Body::Fragment(Fragment::card(&card))),
        part(
            "Learn",
            "What did it really do?",
            Body::Fragment(Fragment::learn(
                &aircraft,
                Some(&prediction),
                &recording,
                &findings,
                &recording.flaws,
            )),
        ),
        part(
            "Adopt",
            "What do I know now?",
            Body::Printed("controller.mounting_pitch_deg: 0 -> 2.4".to_owned()),
        ),
    ];
    write(
        "demo.html",
        &demo_html(
            "One round of an invented aircraft",
            &["From the bench to the next card.".to_owned()],
            &parts,
        ),
    );
}

/// An invented flying wing with a pusher, to see how another layout is drawn.
fn flying_wing() -> aircraft::Aircraft {
    let mut wing = invented::merle();
    wing.name = "Invented flying wing with a name that is long enough to need two lines".to_owned();
    wing.layout = aircraft::Layout::FlyingWing;
    wing.surfaces.truncate(1);
    for station in &mut wing.surfaces[0].stations {
        station.leading_edge_m.x = 0.1 + 0.5 * station.along_m;
        station.leading_edge_m.z = 0.02;
    }
    let mix = aircraft::movable::Mix { roll: 0.5, pitch: 0.5, ..aircraft::movable::Mix::default() };
    wing.movables = vec![invented::movable("elevon", 0, aircraft::movable::Panels::Pair, [0.3, 0.8], mix)];
    wing.fuselages.clear();
    if let Some(drive) = &mut wing.drive {
        drive.hubs_m[0].x = 0.42;
        drive.pusher = true;
    }
    for item in &mut wing.masses {
        item.at_m.x *= 0.4;
    }
    wing
}

/// An invented V-tail on a wing whose ribs stand in one straight line.
fn v_tail() -> aircraft::Aircraft {
    let mut v = invented::merle();
    v.name = "V-tail".to_owned();
    v.layout = aircraft::Layout::VTail;
    v.surfaces.truncate(2);
    for station in &mut v.surfaces[0].stations {
        station.leading_edge_m.y = station.along_m * 3.0_f64.to_radians().cos();
        station.leading_edge_m.z = 0.06 + station.along_m * 3.0_f64.to_radians().sin();
    }
    v.surfaces[1].role = aircraft::surface::Role::VTail;
    for station in &mut v.surfaces[1].stations {
        station.leading_edge_m.y = station.along_m * 35.0_f64.to_radians().cos();
        station.leading_edge_m.z = 0.05 + station.along_m * 35.0_f64.to_radians().sin();
    }
    let mix = aircraft::movable::Mix { pitch: 0.6, yaw: 0.4, ..aircraft::movable::Mix::default() };
    v.movables.truncate(1);
    v.movables.push(invented::movable("ruddervator", 1, aircraft::movable::Panels::Pair, [0.02, 0.28], mix));
    v
}

/// An invented twin boom with an inverted V between the booms and two motors.
fn twin_boom() -> aircraft::Aircraft {
    let mut twin = invented::merle();
    twin.name = "Twin boom".to_owned();
    twin.layout = aircraft::Layout::TwinBoom;
    twin.surfaces.truncate(2);
    for station in &mut twin.surfaces[1].stations {
        station.leading_edge_m.y = station.along_m;
        station.leading_edge_m.z = 0.25 - station.along_m * 0.75;
    }
    twin.movables.truncate(2);
    let mut boom = twin.fuselages[0].clone();
    boom.name = "boom".to_owned();
    boom.mirrored = true;
    for station in &mut boom.stations {
        station.centre_m.x = 0.3 + 0.76 * station.centre_m.x;
        station.centre_m.y = 0.28;
        station.width_m = 0.02;
        station.height_m = 0.02;
    }
    twin.fuselages.push(boom);
    for station in &mut twin.fuselages[0].stations {
        station.centre_m.x *= 0.5;
    }
    if let Some(drive) = &mut twin.drive {
        drive.hubs_m = vec![numerics::Vec3::new(0.26, 0.28, 0.0), numerics::Vec3::new(0.26, -0.28, 0.0)];
    }
    twin
}
