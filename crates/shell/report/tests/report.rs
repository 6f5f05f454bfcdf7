//! Drawings and pages: what they say, that nothing from outside gets out of its place, and that odd values do no harm.

#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "tests are named as sentences, and what is not there fails them"
)]

mod flight;
#[path = "../../../round/plan/tests/invented/mod.rs"]
#[allow(dead_code, reason = "shared with the tests of plan")]
mod invented;

use aircraft::Aircraft;
use fly::phases::{Phase, PhaseKind};
use fly::recording::{Quantity, Recording};
use invented::{merle, prediction};
use learn::findings::{Findings, NotLearnt};
use plan::card::{Card, Weather, build};
use plan::catalogue::Catalogue;
use plan::outstanding::{History, outstanding};
use predict::prediction::NotPredicted;
use report::card_page::card_html;
use report::learn_page::learn_html;
use report::plot::{Circle, Look, Plot, ticks};
use report::predict_page::predict_html;
use report::story::{Body, Fragment, Part, demo_html};
use report::three_view::three_view;

fn card(aircraft: &Aircraft) -> Card {
    let weather = Weather { wind_m_s: 3.0, gust_m_s: 4.5, from_deg: None };
    let out = outstanding(&Catalogue::built_in().unwrap(), aircraft, &History::default());
    build(aircraft, &prediction(), &out, &weather).unwrap()
}

/// Every tag that opens closes, in order; void elements of HTML do not. Enough of a reader to see a broken nesting.
#[track_caller]
fn well_nested(text: &str) {
    const VOID: [&str; 5] = ["meta", "input", "wbr", "br", "hr"];
    let mut open: Vec<&str> = Vec::new();
    let mut rest = text;
    while let Some(at) = rest.find('<') {
        rest = &rest[at + 1..];
        let end = rest.find('>').expect("a tag that ends");
        let tag = &rest[..end];
        rest = &rest[end + 1..];
        if tag.starts_with('!') || tag.ends_with('/') {
            continue;
        }
        if let Some(name) = tag.strip_prefix('/') {
            assert_eq!(open.pop(), Some(name), "closing tag out of order");
        } else {
            let name = tag.split_whitespace().next().unwrap();
            if !VOID.contains(&name) {
                open.push(name);
            }
            // What stands in them is no markup (HTML standard, "raw text elements").
            if name == "style" || name == "script" {
                let end = format!("</{name}>");
                rest = &rest[rest.find(&end).expect("a style or script that ends")..];
            }
        }
    }
    assert!(open.is_empty(), "left open: {open:?}");
}

/// No number of a drawing is one that a viewer cannot read.
#[track_caller]
fn sane(text: &str) {
    well_nested(text);
    for word in ["NaN", "inf\"", "inf ", "-0\""] {
        assert!(!text.contains(word), "{word} in the output");
    }
}

fn pages(aircraft: &Aircraft) -> Vec<(&'static str, String)> {
    let prediction = prediction();
    let (recording, findings) = (flight::recording(), flight::findings());
    let part = |body| Part {
        step: aircraft.name.clone(),
        question: aircraft.name.clone(),
        words: vec![aircraft.name.clone()],
        body,
    };
    let card = card(aircraft);
    let drawing = three_view(aircraft, Some(0.408), Some(0.433), Some([0.38, 0.42]));
    let parts = [
        part(Body::Drawings(vec![(drawing.clone(), aircraft.name.clone())])),
        part(Body::Fragment(Fragment::predict(aircraft, &prediction))),
        part(Body::Fragment(Fragment::card(&card))),
        part(Body::Fragment(Fragment::learn(
            aircraft,
            Some(&prediction),
            &recording,
            &findings,
            &recording.flaws,
        ))),
        part(Body::Facts(vec![(aircraft.name.clone(), aircraft.name.clone())])),
        part(Body::Printed(aircraft.name.clone())),
        part(Body::Nothing),
    ];
    vec![
        ("drawing", drawing),
        ("card", card_html(&card)),
        ("predict", predict_html(aircraft, &prediction)),
        ("learn", learn_html(aircraft, Some(&prediction), &recording, &findings, &recording.flaws)),
        ("demo", demo_html(&aircraft.name, std::slice::from_ref(&aircraft.name), &parts)),
    ]
}

/// A card without the script that came with the program.
fn without_own_script(page: &str) -> String {
    let own = format!("<script>{}</script>", include_str!("../src/card.js"));
    assert_eq!(page.matches(&own).count(), 1, "the card's own script, once");
    page.replace(&own, "")
}

#[test]
fn every_page_is_whole_and_holds_nothing_from_elsewhere() {
    for (name, page) in pages(&merle()) {
        sane(&page);
        // The name of the SVG namespace is the only address allowed; it is not fetched.
        let page = page.replace("http://www.w3.org/2000/svg", "");
        // The card carries its own script, and no page another.
        let page = if name == "card" { without_own_script(&page) } else { page };
        for outside in ["http:", "https:", "<script", "<link", "url(", "@import", "src="] {
            assert!(!page.contains(outside), "{name}: {outside}");
        }
    }
}

#[test]
fn an_aircraft_named_like_a_script_stays_a_name() {
    let nasty = "<script>alert('1')</script>\"><img onerror=x> & \u{0}\u{1}";
    let mut aircraft = merle();
    aircraft.name = nasty.to_owned();
    aircraft.datum = nasty.to_owned();
    aircraft.surfaces[0].name = nasty.to_owned();
    aircraft.movables[0].name = nasty.to_owned();
    aircraft.masses[0].name = nasty.to_owned();
    aircraft.controller.switch[0].name = nasty.to_owned();
    for (name, page) in pages(&aircraft) {
        sane(&page);
        let page = if name == "card" { without_own_script(&page) } else { page };
        assert!(!page.contains("<script") && !page.contains("<img") && !page.contains("\"><img"), "{name}");
        assert!(page.contains("&lt;script&gt;"), "{name}: the name is gone");
    }
}

#[test]
fn what_a_recording_says_is_escaped_too() {
    let nasty = "<b onclick=\"x\">";
    let mut recording = flight::recording();
    recording.flaws[0].what = nasty.to_owned();
    recording.unused_columns = vec![nasty.to_owned()];
    let mut findings = flight::findings();
    findings.changes[0].path = nasty.to_owned();
    findings.changes[0].unit = nasty.to_owned();
    findings.changes[0].why = nasty.to_owned();
    if let Ok(trims) = &mut findings.trims {
        trims[0].surface = nasty.to_owned();
        trims[0].us.verdict = nasty.to_owned();
    }
    let page = learn_html(&merle(), None, &recording, &findings, &recording.flaws);
    sane(&page);
    assert!(!page.contains("<b "));
}

#[test]
fn the_drawing_carries_the_dimensions_that_the_description_has() {
    let drawing = three_view(&merle(), Some(0.408), Some(0.433), Some([0.372, 0.422]));
    // By hand from the description: tips at 815 mm either side; from the propeller's hub at 0 to the fin's trailing edge at
    // 1020 + 210 mm; tailplane 2 x 280 mm; dihedral atan(21/399.5) and atan(64/415.5).
    for words in [
        "span 1630",
        "length 1230",
        ">560<",
        ">260<",
        ">165<",
        "3.0°",
        "8.8°",
        "CG 408",
        "(NP) 433",
        "372 to 422",
    ] {
        assert!(drawing.contains(words), "{words}");
    }
    assert!(drawing.contains("<title>Three-view of Merle</title>") && drawing.contains("<desc>"));
    let without = three_view(&merle(), None, None, None);
    assert!(!without.contains("CG") && !without.contains("NP"));
}

#[test]
fn a_straight_wing_says_its_dihedral_once_and_a_v_tail_its_own() {
    let mut v = merle();
    let slope = |along: f64, deg: f64| (along * deg.to_radians().cos(), along * deg.to_radians().sin());
    for (surface, deg) in [(0, 3.0), (1, 35.0)] {
        for station in &mut v.surfaces[surface].stations {
            (station.leading_edge_m.y, station.leading_edge_m.z) = slope(station.along_m, deg);
        }
    }
    let drawing = three_view(&v, None, None, None);
    assert_eq!(drawing.matches("3.0°").count(), 1);
    assert_eq!(drawing.matches("35.0°").count(), 1);
}

#[test]
fn headings_and_angles_of_a_report_are_words_of_the_panel() {
    let page = learn_html(&merle(), Some(&prediction()), &flight::recording(), &flight::findings(), &[]);
    let page = page.replace('\u{a0}', " ");
    // By hand: -22 us at 0.045 degrees each is 0.99 degrees up.
    for words in [
        "<h3>Servo center of the elevator</h3>",
        "<h3>Mounting angle of the controller in pitch</h3>",
        "elevator 0.99° ± 0.16° trailing edge up",
        "From 1500 µs to 1478",
    ] {
        assert!(page.contains(words), "{words}");
    }
    let mut canard = merle();
    canard.surfaces[1].role = aircraft::surface::Role::Foreplane;
    let page = predict_html(&canard, &prediction()).replace('\u{a0}', " ");
    assert!(page.contains("elevator 0.9° ± 1.6° trailing edge down"));
}

#[test]
fn a_margin_that_may_be_negative_and_what_forbids_a_flight_stand_in_the_box() {
    let mut p = prediction();
    assert!(!predict_html(&merle(), &p).contains("Not shown to be stable"));
    // 4 less two standard deviations of 2.6 is below zero.
    p.stability.static_margin_percent.value = 4.0;
    assert!(predict_html(&merle(), &p).contains("Not shown to be stable"));
    p.against = vec!["The nose runs away.".to_owned()];
    assert!(predict_html(&merle(), &p).contains("The nose runs away."));
}

#[test]
fn the_three_views_have_one_scale() {
    // The span's dimension line and the length's: their lengths in the drawing relate as the lengths themselves.
    let drawing = three_view(&merle(), None, None, None);
    let line_before = |words: &str| -> f64 {
        let at = drawing.find(words).unwrap();
        // The dimension's two end strokes are the last two upright lines before its words.
        let strokes: Vec<f64> = drawing[..at]
            .match_indices("<path class=\"k\" d=\"M")
            .map(|(i, m)| &drawing[i + m.len()..])
            .filter_map(|d| {
                let d = &d[..d.find('"')?];
                let (from, to) = d.split_once('L')?;
                let (x1, _) = from.split_once(' ')?;
                let (x2, _) = to.split_once(' ')?;
                (x1 == x2).then(|| x1.parse().ok())?
            })
            .collect();
        strokes[strokes.len() - 1] - strokes[strokes.len() - 2]
    };
    let ratio = line_before(">span 1630<") / line_before(">length 1230<");
    // Coordinates are written to a hundredth of a unit.
    assert!((ratio - 1630.0 / 1230.0).abs() < 1e-3, "{ratio}");
}

#[test]
fn every_layout_and_every_odd_aircraft_is_drawn_or_says_why_not() {
    let mut odd = Vec::new();
    let mut bare = merle();
    bare.surfaces.clear();
    bare.fuselages.clear();
    bare.drive = None;
    odd.push(bare.clone());
    bare.surfaces = merle().surfaces;
    bare.surfaces[0].stations.clear();
    bare.surfaces[1].stations.truncate(1);
    odd.push(bare);
    let mut wild = merle();
    wild.surfaces[0].stations[1].chord_m = f64::NAN;
    wild.surfaces[0].stations[2].leading_edge_m.x = f64::INFINITY;
    wild.movables[0].surface = 99;
    wild.masses[0].at_m.x = f64::NAN;
    wild.fuselages[0].stations.clear();
    odd.push(wild);
    let mut many = merle();
    many.masses = (0..60).map(|_| many.masses[0].clone()).collect();
    many.name = "A".repeat(500);
    odd.push(many);
    for aircraft in &odd {
        for cg in [None, Some(0.4), Some(f64::NAN)] {
            sane(&three_view(aircraft, cg, cg, cg.map(|c| [c, c])));
        }
    }
    assert!(three_view(&odd[0], None, None, None).contains("Nothing to draw"));
}

#[test]
fn ticks_stand_at_round_numbers() {
    let labels = |range: [f64; 2], about: usize| -> Vec<String> {
        ticks(range, about).into_iter().map(|(_, t)| t).collect()
    };
    // By hand: steps of 1, 2 or 5 times a power of ten that give no more ticks than asked for.
    assert_eq!(labels([0.0, 10.0], 6), ["0", "2", "4", "6", "8", "10"]);
    assert_eq!(labels([-0.42, 0.44], 5), ["\u{2212}0.4", "\u{2212}0.2", "0.0", "0.2", "0.4"]);
    assert_eq!(labels([8.3, 24.2], 6), ["10", "15", "20"]);
    assert_eq!(labels([1_000_000.0, 1_000_010.0], 5).len(), 6);
    for nothing in [[1.0, 1.0], [2.0, 1.0], [f64::NAN, 1.0], [0.0, f64::INFINITY]] {
        assert!(ticks(nothing, 6).is_empty());
    }
}

#[test]
fn odd_data_make_a_plot_or_a_sentence() {
    for points in [
        vec![],
        vec![[f64::NAN, 1.0]],
        vec![[1.0, 1.0]],
        vec![[0.0, 0.0], [0.0, 0.0]],
        vec![[0.0, 1e300], [1.0, -1e300]],
        vec![[1.0, f64::INFINITY], [2.0, 3.0]],
        vec![[1e-12, 1e-12], [2e-12, 2e-12]],
    ] {
        for look in [Look::Line, Look::Points, Look::Band] {
            let mut plot =
                Plot::new("t", "d", "x", "y").with("s", look, points.clone()).mark("m", f64::NAN, 1.0);
            plot.equal = look == Look::Points;
            sane(&plot.draw());
        }
    }
    assert!(Plot::new("t", "d", "x", "y").draw().contains("No data"));
}

#[test]
fn a_circle_is_round_where_units_are_equal() {
    let mut plot = Plot::new("t", "d", "x", "y").with("p", Look::Points, vec![[0.0, 0.0], [30.0, 2.0]]);
    plot.equal = true;
    plot.circles.push(Circle { name: "c".to_owned(), center: [10.0, 1.0], radius: 5.0 });
    let svg = plot.draw();
    let radii: Vec<&str> = svg
        .match_indices("<ellipse")
        .filter_map(|(i, _)| {
            let tag = &svg[i..i + svg[i..].find("/>")?];
            let value = |name: &str| tag.split(&format!("{name}=\"")).nth(1)?.split('"').next();
            let (rx, ry) = (value("rx")?, value("ry")?);
            assert_eq!(rx, ry);
            Some(rx)
        })
        .collect();
    // One in the legend, one in the plot: x runs from 0, which stays an end, to 30 and a
    // twentieth of room, on 332 points of width.
    let drawn: f64 = radii.last().unwrap().parse().unwrap();
    assert!((drawn - 5.0 / 31.5 * 332.0).abs() < 0.01, "{drawn}");
}

#[test]
fn series_differ_by_more_than_color() {
    let line = || vec![[0.0, 0.0], [1.0, 1.0]];
    let svg = Plot::new("t", "d", "x", "y")
        .with("one", Look::Line, line())
        .with("two", Look::Line, line())
        .with("three", Look::Line, line())
        .draw();
    for dashes in ["stroke-dasharray=\"9 4\"", "stroke-dasharray=\"2.5 3\""] {
        assert_eq!(svg.matches(dashes).count(), 2, "curve and legend: {dashes}");
    }
}

#[test]
fn the_card_shows_both_sides_and_what_can_go_wrong() {
    let card = card(&merle());
    let page = card_html(&card);
    let has = |text: &str| {
        let escaped =
            text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;");
        assert!(page.contains(&escaped), "{text}");
    };
    for (what, act) in &card.emergencies {
        has(what);
        has(act);
    }
    card.cautions.iter().for_each(|c| has(c));
    for point in &card.points {
        has(&point.title);
        point.steps.iter().chain(&point.calls).chain(&point.stop).for_each(|t| has(t));
        point.expect.iter().for_each(|f| has(&f.text));
    }
    for (title, why) in &card.left_out {
        has(title);
        has(why);
    }
    let ticks = page.matches("type=\"checkbox\"").count();
    let steps: usize = card.points.iter().map(|p| p.steps.len()).sum();
    assert_eq!(ticks, steps + card.points.len() + card.bench_work.len() + 3);
}

#[test]
fn what_could_not_be_predicted_is_said_with_its_reason() {
    let mut prediction = prediction();
    let missing = || NotPredicted::Missing { what: "the motor's kv".to_owned() };
    prediction.drive = Err(missing());
    prediction.model.thrust = None;
    prediction.speeds.top_m_s = Err(missing());
    prediction.speeds.cruise_elevator_rad =
        Err(NotPredicted::NoSolution { why: "no trim inside the throws".to_owned() });
    prediction.stability.range_x_m = Err(missing());
    prediction.control.throws_rad = [None; 3];
    prediction.gains = [Err(missing()), Err(missing()), Err(missing())];
    prediction.polar.rows.clear();
    prediction.modes.clear();
    let page = predict_html(&merle(), &prediction);
    sane(&page);
    assert!(page.contains("no trim inside the throws"));
    assert!(page.matches("the motor&#39;s kv").count() + page.matches("the motor's kv").count() >= 5);
    assert!(page.contains("No data to draw"));
}

#[test]
fn a_flight_that_taught_nothing_makes_a_page_that_says_so() {
    let nothing = || NotLearnt::MissingChannel { what: "the pitch angle".to_owned() };
    let mut findings = flight::findings();
    findings.phases.clear();
    findings.changes.clear();
    findings.wind = Err(NotLearnt::NotExcited { why: "No turn was flown; fly two full circles.".to_owned() });
    findings.level_attitude = Err(nothing());
    findings.trims = Err(nothing());
    let page = learn_html(&merle(), Some(&prediction()), &Recording::default(), &findings, &[]);
    sane(&page);
    for words in ["fly two full circles", "lacks the pitch angle", "has no length", "asks for no change"] {
        assert!(page.contains(words), "{words}");
    }
}

#[test]
fn a_damaged_recording_is_drawn_as_far_as_it_goes() {
    let mut recording = flight::recording();
    for channel in &mut recording.channels {
        for value in channel.values.iter_mut().take(700) {
            *value = f64::NAN;
        }
        if channel.quantity == Quantity::Longitude {
            channel.values.truncate(1500);
        }
    }
    let mut findings = flight::findings();
    findings.phases.push(Phase {
        kind: PhaseKind::Turn,
        window: aircraft::finding::Window { from_s: f64::NAN, to_s: 1e9 },
        confidence: f64::NAN,
    });
    if let Ok(wind) = &mut findings.wind {
        wind.velocity_m_s = [f64::NAN, 0.0];
        wind.airspeed_m_s.value = f64::NAN;
    }
    if let Ok(level) = &mut findings.level_attitude {
        level.reading_deg.value = f64::NAN;
        level.points.truncate(1);
    }
    sane(&learn_html(&merle(), None, &recording, &findings, &recording.flaws));
}

#[test]
fn predicted_and_flown_are_judged_by_the_doubt_of_their_difference() {
    let mut findings = flight::findings();
    if let Ok(wind) = &mut findings.wind {
        // Predicted 12.56 ± 0.3 (one sd); 13.0 ± 0.1 is 1.4 sd away, 14.0 is 4.5.
        wind.airspeed_m_s.value = 13.0;
    }
    let page = |f: &Findings| learn_html(&merle(), Some(&prediction()), &flight::recording(), f, &[]);
    assert!(page(&findings).contains("agree: 0.4"));
    if let Ok(wind) = &mut findings.wind {
        wind.airspeed_m_s.value = 14.0;
    }
    assert!(page(&findings).contains("differ: 1.4"));
}
