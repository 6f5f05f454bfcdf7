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
    let (recording, findings) = (flight::recording(), flight::findings());
    let drawing = report::three_view::three_view(
        &aircraft,
        Some(prediction.balance.cg_x_m.value),
        Some(prediction.stability.neutral_point_x_m.value),
        prediction.stability.range_x_m.as_ref().ok().copied(),
    );
    write("three-view.svg", &drawing);
    write("card.html", &report::card_page::card_html(&card));
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
