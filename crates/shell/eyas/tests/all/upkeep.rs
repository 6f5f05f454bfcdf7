//! Settings, defects, parts, the log, and a hangar that leaves and comes back: from the command line.

use crate::bench::{Bench, example};

const FIRST: &str = "# as delivered\n[roll]\np = 4.0\ni = 2\n[link]\npassword = open sesame\n";
const SECOND: &str = "[roll]\np = 5.0\ni = 2.0\nd = 0.1\n[link]\npassword = close sesame\n";

fn with_aircraft() -> Bench {
    let bench = Bench::new();
    bench.write("wheatear.toml", example("wheatear.toml"));
    bench
}

#[test]
fn settings_are_kept_compared_shown_without_secrets_and_given_back() {
    let bench = with_aircraft();
    bench.write("one.txt", FIRST);
    bench.write("two.txt", SECOND);
    bench.run(&["settings", "keep", "wheatear.toml", "one.txt", "--note", "as delivered"]).expect_status(0);
    let alone = bench.run(&["settings", "compare", "Wheatear"]).expect_status(2);
    assert!(alone.err().contains("1 snapshots") && alone.err().contains("two are needed"), "{}", alone.err());
    bench.run(&["settings", "keep", "Wheatear", "two.txt"]).expect_status(0);

    let told = bench.run(&["settings", "compare", "Wheatear"]).expect_status(0).out();
    assert!(told.contains("p: 4.0 -> 5.0") && told.contains("d: added, 0.1"), "{told}");
    assert!(!told.contains("  i:"), "2 and 2.0 are the same number: {told}");
    assert!(told.contains("password") && !told.contains("sesame"), "{told}");
    let document =
        bench.run(&["settings", "compare", "Wheatear", "1", "two.txt", "--json"]).expect_status(0).json();
    assert_eq!(document["differences"].as_array().unwrap().len(), 3);
    assert!(!document.to_string().contains("sesame"));

    let shown = bench.run(&["settings", "show", "Wheatear", "1"]).expect_status(0).out();
    assert!(shown.contains("p = 4.0") && !shown.contains("sesame"), "{shown}");
    bench.run(&["settings", "export", "Wheatear", "1", "-o", "back.txt"]).expect_status(0);
    assert_eq!(bench.read("back.txt"), FIRST);
    // What is there is not overwritten.
    bench.run(&["settings", "export", "Wheatear", "2", "-o", "back.txt"]).expect_status(2);
    assert_eq!(bench.read("back.txt"), FIRST);
}

#[test]
fn a_photo_named_as_settings_is_refused_with_what_to_do() {
    let bench = with_aircraft();
    bench.write("photo.txt", b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR");
    let refused = bench.run(&["settings", "keep", "wheatear.toml", "photo.txt"]).expect_status(2).err();
    assert!(refused.contains("it is no text") && refused.contains("What to do"), "{refused}");
}

#[test]
fn a_grounding_defect_is_a_no_until_it_is_closed_and_the_repair_says_what_to_look_at_again() {
    let bench = with_aircraft();
    let opened = bench
        .run(&[
            "defect",
            "open",
            "wheatear.toml",
            "firewall cracked",
            "--place",
            "nose",
            "--grounds",
            "--part",
            "propeller 10x6",
            "--json",
        ])
        .expect_status(0)
        .json();
    let number = opened["defect"].to_string();
    let listed = bench.run(&["defect", "list", "Wheatear"]).expect_status(1).out();
    assert!(listed.contains("stays on the ground") && listed.contains("propeller 10x6"), "{listed}");
    let closed = bench.run(&["defect", "close", &number, "glass and epoxy"]).expect_status(0).out();
    // Common practice, no source: after a nose repair the balance point is measured again.
    assert!(closed.contains("measure the balance point again"), "{closed}");
    assert!(closed.contains("nobody in front of or beside the propeller"), "{closed}");
    let twice = bench.run(&["defect", "close", &number, "again"]).expect_status(2).err();
    assert!(twice.contains("done already"), "{twice}");
    bench.run(&["defect", "list", "Wheatear"]).expect_status(0);
    let wrong =
        bench.run(&["defect", "open", "Wheatear", "x", "--place", "warp-drive"]).expect_status(2).err();
    assert!(wrong.contains("speed-controller"), "the words there are, are told: {wrong}");
}

#[test]
fn the_log_adds_up_minutes_and_packs() {
    let bench = with_aircraft();
    for (minutes, resistance) in [("6", "30"), ("7.5", "33"), ("6.5", "36")] {
        bench
            .run(&[
                "log",
                "wheatear.toml",
                "--minutes",
                minutes,
                "--landings",
                "1",
                "--pack",
                "A",
                "--resistance",
                resistance,
            ])
            .expect_status(0);
    }
    let log = bench.run(&["log", "Wheatear", "--json"]).expect_status(0).json();
    assert_eq!(log["flights"], 3);
    assert!((log["flown_s"].as_f64().unwrap() - 1200.0).abs() < 1e-9);
    // 30, 33, 36 mohm at flights 1, 2, 3: a straight line of 3 mohm a flight.
    let rise = log["packs"][0]["rise_ohm_per_flight"].as_f64().unwrap();
    assert!((rise - 0.003).abs() < 1e-12, "{rise}");
    let negative = bench.run(&["log", "Wheatear", "--minutes", "-3"]).expect_status(2).err();
    assert!(negative.contains("negative"), "{negative}");
    bench.run(&["log", "Wheatear", "--flight", "9"]).expect_status(2);
}

#[test]
fn a_flight_is_linked_with_its_card_weather_and_settings_and_the_record_tells_them() {
    let bench = with_aircraft();
    let mut log = String::from("time ms,gyro x,gyro y,gyro z\n");
    for i in 0..400 {
        log.push_str(&format!("{},{},0.5,0.2\n", i * 20, f64::from(i % 40) - 20.0));
    }
    bench.write("flight.csv", log);
    bench.write("one.txt", "BANK STIFFNESS = 55\nother = 1\n");
    bench.write("two.txt", "BANK STIFFNESS = 71\nother = 2\n");
    bench.run(&["settings", "keep", "wheatear.toml", "one.txt"]).expect_status(0);
    let day = ["--at", "2026-06-21T13:00Z", "--wind", "2", "--gust", "3", "--from", "240", "--sky", "good"];
    let mut card = vec!["card", "wheatear.toml", "-o", "card.html", "--limit", "wind_m_s=9"];
    card.extend(day);
    bench.run(&card).expect_status(0);
    bench.run(&["card", "wheatear.toml", "-o", "card.html", "--wind", "1", "--gust", "2"]).expect_status(0);
    let learnt = bench.run(&["learn", "wheatear.toml", "flight.csv"]).expect_status(0).out();
    assert!(learnt.contains("Flown from card 2"), "the newest card before it: {learnt}");
    let flights = bench.run(&["flights", "Wheatear", "--json"]).expect_status(0).json();
    let flight = &flights["aircraft"][0]["recordings"][0];
    assert_eq!(flight["card"], 2);
    assert!(flight["weather"].as_str().unwrap().contains("gusts 2"), "{flight}");
    // Another card, named.
    bench.run(&["learn", "wheatear.toml", "flight.csv", "--card", "1"]).expect_status(0);
    bench
        .run(&["learn", "wheatear.toml", "flight.csv", "--card", "77"])
        .expect_status(2)
        .expect_err(&["no card with the number 77"]);
    let flights = bench.run(&["flights", "Wheatear", "--json"]).expect_status(0).json();
    let flight = &flights["aircraft"][0]["recordings"][0];
    assert_eq!(flight["card"], 1);
    assert!(flight["weather"].as_str().unwrap().contains("2026-06-21 13:00 UTC"), "{flight}");
    bench.run(&["settings", "keep", "Wheatear", "two.txt"]).expect_status(0);
    bench.run(&[
        "defect",
        "open",
        "Wheatear",
        "tip chipped",
        "--place",
        "propeller",
        "--part",
        "propeller 10x6",
    ]);
    for mohm in ["30", "33", "36"] {
        bench
            .run(&["log", "Wheatear", "--minutes", "6", "--pack", "A", "--resistance", mohm])
            .expect_status(0);
    }
    bench.run(&["report", "Wheatear", "-o", "record.html"]).expect_status(0);
    let page = bench.read("record.html");
    for words in [
        "flown from card 1",
        "weather: ",
        "flown with settings 1 (one.txt); after it, settings 2 (two.txt)",
        "BANK STIFFNESS",
        "no finding",
        "Parts to order",
        "propeller 10x6",
        "noted ",
        "(tip chipped)",
        // 30, 33, 36 mohm at flights 1, 2, 3: a straight line of 3 mohm a flight.
        "3.00 m\u{3a9} a flight",
        "Resistance of the packs",
        "The limit of mean wind was loosened from",
    ] {
        assert!(page.contains(words), "{words}");
    }
}

#[test]
fn a_backup_restores_and_what_was_there_is_kept_beside() {
    let bench = with_aircraft();
    bench.write("one.txt", FIRST);
    bench.run(&["settings", "keep", "wheatear.toml", "one.txt"]).expect_status(0);
    bench.run(&["backup", "copy.db"]).expect_status(0);
    bench.write("two.txt", SECOND);
    bench.run(&["settings", "keep", "Wheatear", "two.txt"]).expect_status(0);
    let restored = bench.run(&["restore", "copy.db", "--json"]).expect_status(0).json();
    let list = bench.run(&["settings", "list", "Wheatear", "--json"]).expect_status(0).json();
    assert_eq!(list["settings"].as_array().unwrap().len(), 1);
    // The way back to the hangar from before the restoring.
    let before = restored["before"].as_str().unwrap().to_owned();
    bench.run(&["restore", &before]).expect_status(0);
    let list = bench.run(&["settings", "list", "Wheatear", "--json"]).expect_status(0).json();
    assert_eq!(list["settings"].as_array().unwrap().len(), 2);

    let hangar = bench.hangar_bytes();
    bench.write("photo.db", b"\x89PNG");
    bench.run(&["restore", "photo.db"]).expect_status(2);
    bench.run(&["restore", "nowhere.db"]).expect_status(2);
    assert!(bench.hangar_bytes() == hangar, "a restoring that was refused left the hangar as it was");
}

#[test]
fn an_export_imports_into_another_hangar() {
    let bench = with_aircraft();
    bench.write("one.txt", FIRST);
    bench.run(&["settings", "keep", "wheatear.toml", "one.txt"]).expect_status(0);
    let told = bench.run(&["export", "files"]).expect_status(0).out();
    assert!(told.contains("passwords and keys included"), "{told}");
    let refused = bench.run(&["import", "files"]).expect_status(2).err();
    assert!(refused.contains("is there already"), "{refused}");
    let other = Bench::new();
    let folder = bench.path("files").display().to_string();
    other.run(&["import", &folder]).expect_status(0);
    let list = other.run(&["settings", "list", "Wheatear", "--json"]).expect_status(0).json();
    assert_eq!(list["settings"][0]["source"], "one.txt");
}

#[test]
fn the_record_tells_everything_kept_in_the_order_of_time_and_no_secret() {
    let bench = with_aircraft();
    bench.write("one.txt", FIRST);
    bench.write("two.txt", SECOND);
    bench
        .run(&["settings", "keep", "wheatear.toml", "one.txt", "--note", "<b>as delivered</b>"])
        .expect_status(0);
    bench
        .run(&["defect", "open", "Wheatear", "tip <script> chipped", "--place", "propeller", "--grounds"])
        .expect_status(0);
    bench.run(&["settings", "keep", "Wheatear", "two.txt"]).expect_status(0);
    bench.run(&["log", "Wheatear", "--minutes", "6", "--pack", "A"]).expect_status(0);
    bench.run(&["report", "Wheatear", "-o", "record.html"]).expect_status(0);
    let page = bench.read("record.html");
    let place = |text: &str| page.find(text).unwrap_or_else(|| panic!("{text} is missing"));
    assert!(place("Settings 1") < place("Defect 1 (propeller)") && place("Defect 1 (") < place("Settings 2"));
    assert!(place("p: 4.0 to 5.0") < place("Log entry"));
    assert!(!page.contains("<script>") && !page.contains("<b>as") && !page.contains("sesame"));
    assert!(page.contains("On the ground"));
}

#[test]
fn a_repair_of_what_grounded_it_is_looked_at_again_before_the_next_card() {
    let bench = with_aircraft();
    let defect = bench
        .run(&[
            "defect",
            "open",
            "wheatear.toml",
            "tip chipped",
            "--place",
            "propeller",
            "--grounds",
            "--json",
        ])
        .expect_status(0)
        .json()["defect"]
        .to_string();
    let day = ["card", "wheatear.toml", "--wind", "1", "--gust", "2", "-o", "card.html"];
    let refused = bench.run(&day).expect_status(1);
    assert!((refused.out() + &refused.err()).contains("tip chipped"), "an open defect grounds it");
    bench.run(&["defect", "close", &defect, "new propeller"]).expect_status(0);
    let refused = bench.run(&day).expect_status(1);
    let told = refused.out() + &refused.err();
    assert!(told.contains("not yet looked at again") && told.contains("static_rpm"), "{told}");
    // Each item it names is signed, with the numbers that the model expects.
    let list = bench.run(&["ready", "wheatear.toml", "--place", "home", "--json"]).json();
    let mut arguments =
        vec!["ready".to_owned(), "wheatear.toml".to_owned(), "--by".to_owned(), "Kim".to_owned()];
    for item in list["items"].as_array().unwrap() {
        let id = item["id"].as_str().unwrap();
        if id.starts_with("again.") {
            arguments.extend(["--set".to_owned(), format!("{id}=done")]);
        } else if id.starts_with("static_") {
            let number = |key: &str| item["expects"][key].as_f64().or_else(|| item[key].as_f64());
            let middle = (number("low").unwrap() + number("high").unwrap()) / 2.0;
            arguments.extend(["--set".to_owned(), format!("{id}={middle:.1}")]);
        }
    }
    assert!(arguments.len() > 8, "{arguments:?}");
    let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
    bench.run(&arguments);
    bench.run(&day).expect_status(0);
}

#[test]
fn a_card_goes_to_paper_and_its_ticks_come_back_as_a_code() {
    let bench = with_aircraft();
    bench.run(&["card", "wheatear.toml", "--wind", "2", "--gust", "3", "-o", "card.pdf"]).expect_status(0);
    let pdf = std::fs::read(bench.path("card.pdf")).unwrap();
    assert!(pdf.starts_with(b"%PDF-"), "ISO 32000: a PDF begins with its mark");
    let card = bench
        .run(&["card", "wheatear.toml", "--wind", "2", "--gust", "3", "-o", "card.html", "--json"])
        .expect_status(0)
        .json();
    let points = card["card"]["points"].as_array().unwrap();
    let ids: Vec<&str> = points.iter().map(|p| p["id"].as_str().unwrap()).collect();
    let mark = report::ticks::mark(card["card"]["title"].as_str().unwrap(), ids.iter().copied());
    let page = bench.read("card.html");
    assert!(page.contains(&format!("data-card=\"{mark:04x}\"")), "the page carries the same mark");
    let ticked: Vec<bool> = (0..ids.len()).map(|i| i % 2 == 0).collect();
    let code = report::ticks::encode(mark, &ticked);
    let number = card["kept_as"].to_string();
    let told = bench.run(&["ticks", &number, &code, "--json"]).expect_status(0).json();
    let back: Vec<bool> =
        told["points"].as_array().unwrap().iter().map(|p| p["ticked"].as_bool().unwrap()).collect();
    assert_eq!(back, ticked);
    bench.write("ticks.txt", format!("{code}\n"));
    bench.run(&["ticks", &number, "ticks.txt"]).expect_status(0);
    let mistyped = bench.run(&["ticks", &number, "0000-0000"]).expect_status(2).err();
    assert!(mistyped.contains("mistyped") || mistyped.contains("another card"), "{mistyped}");
    bench.run(&["ticks", "99", &code]).expect_status(2);
}
