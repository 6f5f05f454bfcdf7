//! The day and readiness from the command line.

use crate::bench::{Bench, example};

const WHERE: [&str; 8] = ["--at", "2026-06-21T13:00Z", "--lat", "52.5", "--lon", "9.7", "--height-m", "55"];

fn bench() -> Bench {
    let bench = Bench::new();
    bench.write("wheatear.toml", example("wheatear.toml"));
    bench
}

#[test]
fn a_go_a_part_and_a_no_go_day_have_their_verdicts_and_cards() {
    let bench = bench();
    for (metar, verdict, status) in [
        ("METAR EDXX 211220Z 24005KT CAVOK 19/08 Q1021", "go", 0),
        ("METAR EDXX 211220Z 24011KT CAVOK 19/08 Q1021", "part", 0),
        ("METAR EDXX 211220Z 24025G40KT 3000 TSRA BKN015CB 19/17 Q1001", "no-go", 1),
    ] {
        let mut day = vec!["day", "wheatear.toml", "--metar", metar, "--heading", "240", "--json"];
        day.extend(WHERE);
        let document = bench.run(&day).expect_status(status).json();
        assert_eq!(document["verdict"], verdict, "{document:#}");
        let points = document["test_points"].as_array().unwrap();
        let of = |id: &str| points.iter().find(|p| p["id"] == id).unwrap();
        assert_eq!(of("trim-level")["verdict"], verdict);
        assert_eq!(of("direction-check")["verdict"], "go");
        assert_eq!(of("tune-roll")["verdict"], if verdict == "go" { "go" } else { "no-go" });
        assert_eq!(document["reasons"].as_array().unwrap().is_empty(), verdict == "go", "{document:#}");
        for reason in document["reasons"].as_array().unwrap() {
            assert!(!reason["text"].as_str().unwrap().is_empty() && reason["key"].is_string(), "{reason}");
        }
        let mut card =
            vec!["card", "wheatear.toml", "--metar", metar, "--heading", "240", "-o", "card.html", "--json"];
        card.extend(WHERE);
        let issued = bench.run(&card).expect_status(status).json();
        assert_eq!(issued["card"]["day"]["verdict"], verdict);
        let words = match verdict {
            "go" => "Go: nothing",
            "part" => "Part of the plan",
            _ => "No-go",
        };
        assert!(bench.read("card.html").contains(words), "{verdict}");
        // On paper: the pilot's side and the helper's side, and no page more.
        let named = card.iter().position(|a| *a == "card.html").unwrap();
        card[named] = "card.pdf";
        bench.run(&card).expect_status(status);
        assert_eq!(bench.pages("card.pdf"), 2, "{verdict}");
        let airborne = issued["card"]["points"].as_array().unwrap().iter().any(|p| p["on_ground"] == false);
        assert_eq!(airborne, verdict != "no-go");
    }
}

#[test]
fn a_forecast_is_told_hour_by_hour() {
    let bench = bench();
    let taf = "TAF EDXX 211100Z 2112/2121 24004KT CAVOK BECMG 2115/2116 25018G32KT PROB40 TEMPO 2117/2119 3000 TSRA BKN020CB";
    let mut arguments =
        vec!["day", "wheatear.toml", "--taf", taf, "--temperature-c", "20", "--report", "day.html", "--json"];
    arguments.extend(WHERE);
    let document = bench.run(&arguments).expect_status(0).json();
    let hours = document["hours"].as_array().unwrap();
    let verdicts: Vec<&str> = hours.iter().map(|h| h["verdict"].as_str().unwrap()).collect();
    // By hand: from 13 on; 15 to 16 the wind may rise already, after that it has.
    assert_eq!(verdicts, ["go", "go", "no-go", "no-go", "no-go", "no-go", "no-go", "no-go"]);
    assert_eq!(document["best"]["from"], "2026-06-21T13:00:00Z");
    assert_eq!(document["best"]["to"], "2026-06-21T15:00:00Z");
    assert!(bench.read("day.html").contains("Hour by hour"));
    // The next day has a light of its own: at 10 UTC the sun stands high again.
    let taf = "TAF EDXX 211100Z 2112/2212 24004KT CAVOK";
    let mut long = vec!["day", "wheatear.toml", "--taf", taf, "--temperature-c", "20", "--json"];
    long.extend(WHERE);
    let long = bench.run(&long).expect_status(0).json();
    let verdicts: Vec<_> =
        long["hours"].as_array().unwrap().iter().map(|h| h["verdict"].as_str().unwrap()).collect();
    // Sunset 19:48, with 90 minutes to spare after the hour; sunrise 02:58 (worked out in the tests of the day).
    assert_eq!(verdicts.len(), 23);
    assert!(
        verdicts[..4].iter().all(|v| *v == "go") && verdicts[14..].iter().all(|v| *v == "go"),
        "{verdicts:?}"
    );
    assert!(verdicts[7..13].iter().all(|v| *v == "no-go"), "{verdicts:?}");
    assert!(
        bench.run(&arguments[..arguments.len() - 8]).out().contains("hours"),
        "without a place it still answers"
    );
}

#[test]
fn the_odds_of_the_launch_are_computed_and_a_typed_value_wins() {
    let bench = bench();
    let run = |more: &[&str]| {
        let mut arguments = vec!["day", "wheatear.toml", "--sky", "good", "--temperature-c", "18", "--json"];
        arguments.extend(WHERE);
        arguments.extend(more);
        bench.run(&arguments).json()
    };
    let percent = |document: &serde_json::Value| {
        let all = ["met", "reasons"].map(|list| document[list].as_array().unwrap().clone()).concat();
        let reason = all.into_iter().find(|r| r["key"] == "launch_percent").expect("the odds are told");
        (reason["today"]["launch_percent"].as_f64().unwrap(), reason["text"].as_str().unwrap().to_owned())
    };
    let breeze = run(&["--wind", "2.5", "--gust", "3.5", "--from", "240"]);
    let (low, text) = percent(&breeze);
    let launch = &breeze["launch"][0];
    let (clean, runs) = (launch["clean_percent"].as_f64().unwrap() / 100.0, launch["runs"].as_f64().unwrap());
    // Wilson's interval at z = 1.96, by its formula.
    let z2 = 1.96_f64 * 1.96;
    let half = 1.96 * (clean * (1.0 - clean) / runs + z2 / (4.0 * runs * runs)).sqrt();
    let expected = 100.0 * (clean + z2 / (2.0 * runs) - half) / (1.0 + z2 / runs);
    assert!((low - expected).abs() < 0.02, "{low} {expected}");
    assert!(text.contains("simulated launches") && text.contains("95\u{a0}% confidence"), "{text}");
    // The same launch from `eyas launch`: the same share within what both leave in doubt.
    let direct =
        ["launch", "wheatear.toml", "--wind", "2.5", "--gust", "3.5", "--runs", "500", "--quick", "--json"];
    let direct = bench.run(&direct).json();
    let end = |key: &str| 100.0 * direct["clean"][key].as_f64().unwrap();
    let high = launch["high_percent"].as_f64().unwrap();
    assert!(end("low") <= high && end("high") >= low, "{direct:#}");
    // A launch across the wind at a right angle is told as such, and the same command says the same again.
    let across = run(&["--wind", "2.5", "--gust", "3.5", "--from", "150", "--heading", "240"]);
    assert!(percent(&across).1.contains("90° off"), "{across:#}");
    assert_eq!(across, run(&["--wind", "2.5", "--gust", "3.5", "--from", "150", "--heading", "240"]));
    let typed = run(&["--wind", "2.5", "--gust", "3.5", "--from", "240", "--launch-odds", "60"]);
    assert!(typed["verdict"] == "no-go" && (percent(&typed).0 - 60.0).abs() < 1e-9, "{typed:#}");
    assert!(typed["launch"].as_array().unwrap().is_empty(), "nothing is computed for nothing");
    // On the card too.
    let mut card = vec![
        "card",
        "wheatear.toml",
        "--wind",
        "2.5",
        "--gust",
        "3.5",
        "--sky",
        "good",
        "--launch-odds",
        "88",
    ];
    card.extend(["-o", "c.html", "--json"]);
    card.extend(WHERE);
    let card = bench.run(&card).json();
    assert!(
        card["card"]["day"]["reasons"].to_string().contains("Low end of the odds of a clean launch 88"),
        "{card:#}"
    );
}

#[test]
fn times_are_told_by_the_clocks_of_the_place_and_utc() {
    let bench = bench();
    let run = |more: &[&str]| {
        let mut arguments =
            vec!["day", "wheatear.toml", "--wind", "2", "--gust", "3", "--lat", "52.5", "--lon", "9.7"];
        arguments.extend(more);
        bench.run(&arguments)
    };
    // Summer time in Berlin is two hours ahead of UTC; sunset 19:48 UTC (worked out in the tests of the day).
    let out = run(&["--at", "2026-06-21T15:00", "--zone", "Europe/Berlin"])
        .out()
        .replace('\n', " ")
        .replace("  ", " ");
    for words in ["2026-06-21 15:00 CEST (13:00 UTC)", "sunset 21:48 CEST (19:48 UTC)"] {
        assert!(out.contains(words), "{words}: {out}");
    }
    let json = run(&["--at", "2026-06-21T13:00Z", "--zone", "+02:00", "--json"]).json();
    assert_eq!(json["at"], "2026-06-21T13:00:00Z");
    assert_eq!(json["at_local"], "2026-06-21 15:00 +02 (13:00 UTC)");
    // The clocks of this computer where none are named: UTC in these tests.
    let json = run(&["--at", "2026-06-21T13:00", "--json"]).json();
    assert_eq!((json["at"].as_str(), json["zone"].as_str()), (Some("2026-06-21T13:00:00Z"), Some("UTC")));
    run(&["--zone", "Atlantis/Poseidonis"]).expect_status(2).expect_err(&["no time zone", "Europe/Madrid"]);
}

#[test]
fn what_is_not_told_is_unknown_and_never_go() {
    let bench = bench();
    let run = |more: &[&str]| {
        let mut arguments = vec!["day", "wheatear.toml", "--json"];
        arguments.extend(WHERE);
        arguments.extend(more);
        bench.run(&arguments).json()
    };
    assert_eq!(run(&[])["verdict"], "no-go", "no wind, no flight");
    let wind = run(&["--wind", "2", "--gust", "3", "--from", "240"]);
    assert_eq!(wind["verdict"], "part");
    let unknown: Vec<&str> = wind["reasons"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|r| r["verdict"] == "unknown")
        .map(|r| r["key"].as_str().unwrap())
        .collect();
    assert_eq!(unknown.len(), 4, "visibility, cloud, temperature, weather: {unknown:?}");
    let all = run(&["--wind", "2", "--gust", "3", "--from", "240", "--sky", "good", "--temperature-c", "18"]);
    assert_eq!(all["verdict"], "go", "{all:#}");
    // 2 m/s in the hand at 2 m is 2.77 at 10 m: ln(10/0.03) / ln(2/0.03) = 1.3832.
    let hand = run(&["--wind", "2", "--gust", "3", "--wind-height-m", "2", "--sky", "good"]);
    assert!((hand["weather"]["wind_m_s"].as_f64().unwrap() - 2.0 * 1.3832).abs() < 0.001);
    // A report of the morning does not stand for the afternoon.
    let old = run(&["--metar", "METAR EDXX 210620Z 24005KT CAVOK 19/08 Q1021"]);
    assert!(old["verdict"] == "no-go" && old["flaws"].to_string().contains("does not count"), "{old:#}");
    let loosened = run(&["--wind", "7", "--gust", "8", "--sky", "good", "--limit", "wind_m_s=9"]);
    assert!(loosened["reasons"].to_string().contains("loosened this limit from 6.5"), "{loosened:#}");
}

#[test]
fn a_day_that_cannot_be_used_is_told() {
    let bench = bench();
    for (options, words) in [
        (vec!["--metar", "hello"], "--metar is no report"),
        (vec!["--metar", "METAR EDXX 321220Z 24005KT CAVOK"], "no day and time"),
        (vec!["--taf", "TAF EDXX 211100Z 24004KT"], "--taf is no forecast"),
        (vec!["--at", "noon"], "--at noon is no time"),
        (vec!["--lat", "52"], "--lat and --lon go together"),
        (vec!["--lat", "95", "--lon", "10"], "no place on Earth"),
        (vec!["--wind", "3", "--weather", "drizzle"], "no weather of the code table"),
        (vec!["--wind", "3", "--gust", "2"], "below --wind"),
        (vec!["--limit", "patience=3"], "no limit has that key"),
        (vec!["--limit", "wind_m_s"], "KEY=VALUE"),
    ] {
        let mut arguments = vec!["day", "wheatear.toml"];
        arguments.extend(options);
        bench.run(&arguments).expect_status(2).expect_err(&[words]);
    }
}

#[test]
fn readiness_is_measured_signed_kept_and_grounds() {
    let bench = bench();
    let list = bench.run(&["ready", "wheatear.toml", "--json"]).expect_status(0).json();
    assert_eq!(list["ready"], false);
    assert!(list["items"].as_array().unwrap().len() > 30);
    assert!(bench.hangar_bytes()[0].is_empty(), "looking makes no hangar");
    // The drawing tells every surface of stick and disturbance.
    bench.run(&["ready", "wheatear.toml", "--drawing", "d.svg"]).expect_status(0);
    let drawing = bench.read("d.svg");
    assert!(drawing.contains("Stick right") && drawing.contains("Right wing dropped"), "{drawing}");
    let signed = bench
        .run(&[
            "ready",
            "wheatear.toml",
            "--set",
            "balance_point_mm=323",
            "--set",
            "failsafe=done",
            "--by",
            "Kim",
            "--json",
        ])
        .expect_status(0)
        .json();
    let item = |document: &serde_json::Value, id: &str| {
        document["items"].as_array().unwrap().iter().find(|i| i["id"] == id).unwrap().clone()
    };
    let balance = item(&signed, "balance_point_mm");
    assert!(
        balance["verdict"] == "passed" && balance["last"]["by"] == "Kim" && balance["last"]["value"] == "323"
    );
    // Outside the range it fails, grounds, and the day says so until it passes.
    let failed =
        bench.run(&["ready", "wheatear.toml", "--set", "balance_point_mm=395", "--by", "Kim", "--json"]);
    assert_eq!(item(&failed.expect_status(1).json(), "balance_point_mm")["verdict"], "failed");
    let mut day = vec!["day", "wheatear.toml", "--wind", "2", "--gust", "3", "--sky", "good", "--json"];
    day.extend(WHERE);
    let grounded = bench.run(&day).expect_status(1).json();
    assert!(grounded["reasons"][0]["text"].as_str().unwrap().contains("Balance point"), "{grounded:#}");
    bench.run(&["ready", "wheatear.toml", "--set", "balance_point_mm=323", "--by", "Kim"]).expect_status(0);
    assert_ne!(bench.run(&day).json()["verdict"], "no-go");
    // A failed tick with a note stays failed when it is read again.
    bench
        .run(&["ready", "wheatear.toml", "--set", "failsafe=failed: motor ran on", "--by", "Kim"])
        .expect_status(1);
    let again = bench.run(&["ready", "wheatear.toml", "--place", "home", "--json"]).expect_status(1).json();
    assert!(item(&again, "failsafe")["last"]["value"].as_str().unwrap().contains("motor ran on"));
    // A changed file has to be looked at anew.
    bench.write("wheatear.toml", example("wheatear.toml").replace("wind_m_s = 6", "wind_m_s = 5"));
    let changed = bench.run(&["ready", "wheatear.toml", "--json"]).expect_status(1).json();
    assert_eq!(item(&changed, "balance_point_mm")["verdict"], "open");
    for (set, words) in [
        ("balance=heavy", "no item balance"),
        ("balance_point_mm=far", "no measurement"),
        ("failsafe=perhaps", "done or failed"),
        ("=3", "ITEM=VALUE"),
    ] {
        bench.run(&["ready", "wheatear.toml", "--set", set]).expect_status(2).expect_err(&[words]);
    }
    bench.run(&["ready", "wheatear.toml", "--place", "moon"]).expect_status(2);
}
