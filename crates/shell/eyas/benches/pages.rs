//! How quick are the pages with a hundred flights kept? Prints times and weights; judges nothing.
//!
//! `cargo bench -p eyas --bench pages`. Beside each page stands the same request for a file of the program (the style), so
//! that a slow or busy machine shows in both.

#![expect(clippy::unwrap_used, clippy::expect_used, reason = "a measurement that cannot go on fails")]
#![expect(clippy::print_stdout, reason = "its output is its result")]

#[path = "../tests/browser/driver.rs"]
#[expect(dead_code, reason = "the measurements need a part of it")]
mod driver;

use std::io::{Read as _, Write as _};
use std::net::TcpStream;
use std::time::{Duration, Instant};

use driver::{Browser, Pages, Size};
use hangar::{Hangar, NewFindings, NewRecording};

/// Flights in the hangar that is measured.
const FLIGHTS: usize = 100;

/// Fills the demo's hangar up with copies of its newest flight.
fn fill(pages: &Pages) {
    let mut hangar = Hangar::open(pages.hangar()).unwrap();
    let flights = hangar.flights("Wheatear").unwrap();
    let last = flights.last().unwrap();
    let bytes = hangar.recording_bytes(last.recording.id).unwrap();
    let map = hangar.column_maps(last.recording.id).unwrap().last().unwrap().text.clone();
    let findings = hangar.findings_by_id(last.learned.as_ref().unwrap().findings).unwrap();
    let revision = hangar.aircraft("Wheatear").unwrap();
    for i in flights.len()..FLIGHTS {
        let mut other = bytes.get(..40_000.min(bytes.len())).unwrap().to_vec();
        other.extend(format!("# {i}\n").bytes());
        let at_ms = last.recording.at_ms + i64::try_from(i).unwrap() * 3_600_000;
        let recording = hangar
            .keep_recording(&NewRecording {
                bytes: &other,
                source_name: &format!("flight-{i}.csv"),
                column_map: &map,
                aircraft: revision.id,
                note: "",
                at_ms,
            })
            .unwrap();
        hangar
            .keep_findings(&NewFindings {
                recording: recording.id,
                aircraft: revision.id,
                json: &findings.json,
                version: "bench",
                at_ms,
            })
            .unwrap();
    }
}

struct Took {
    first: Duration,
    whole: Duration,
    bytes: usize,
    status: u16,
}

/// One request as a browser would send it, packed answer wanted.
fn ask(pages: &Pages, path: &str, part: bool) -> Took {
    let host = pages.address.strip_prefix("http://").unwrap();
    let began = Instant::now();
    let mut stream = TcpStream::connect(host).unwrap();
    let more = if part { "HX-Request: true\r\n" } else { "" };
    write!(
        stream,
        "GET {path} HTTP/1.1\r\nHost: {host}\r\nAccept-Encoding: gzip\r\n{more}Connection: close\r\n\r\n"
    )
    .unwrap();
    let mut buffer = vec![0; 1 << 16];
    let mut all = Vec::new();
    let mut first = None;
    // The first byte that counts is the first of the page itself, after the head of the answer.
    loop {
        let n = stream.read(&mut buffer).unwrap();
        if n == 0 {
            break;
        }
        all.extend_from_slice(buffer.get(..n).unwrap());
        if first.is_none()
            && all.windows(4).position(|w| w == b"\r\n\r\n").is_some_and(|at| all.len() > at + 4)
        {
            first = Some(began.elapsed());
        }
    }
    let whole = began.elapsed();
    let head = all.windows(4).position(|w| w == b"\r\n\r\n").map_or(0, |at| at + 4);
    let line = String::from_utf8_lossy(all.get(..12.min(all.len())).unwrap()).into_owned();
    Took {
        first: first.unwrap_or(whole),
        whole,
        bytes: all.len() - head,
        status: line.rsplit(' ').next().and_then(|s| s.parse().ok()).unwrap_or(0),
    }
}

fn ms(d: Duration) -> f64 {
    d.as_secs_f64() * 1000.0
}

fn of(sorted: &[f64], share: f64) -> f64 {
    let at = ((sorted.len() as f64 - 1.0) * share).round() as usize;
    *sorted.get(at).unwrap()
}

fn measure(pages: &Pages, name: &str, path: &str, part: bool, times: usize) {
    let cold = ask(pages, path, part);
    let mut first = Vec::new();
    let mut whole = Vec::new();
    for _ in 0..times {
        let took = ask(pages, path, part);
        first.push(ms(took.first));
        whole.push(ms(took.whole));
    }
    first.sort_by(f64::total_cmp);
    whole.sort_by(f64::total_cmp);
    println!(
        "{name:<26} {:>4} {:>9.1} {:>9.1} {:>9.1} {:>9.1} {:>10.1} {:>8.1}",
        cold.status,
        ms(cold.first),
        of(&first, 0.5),
        of(&first, 0.95),
        of(&whole, 0.5),
        of(&whole, 0.95),
        cold.bytes as f64 / 1000.0
    );
}

fn main() {
    // `cargo test --benches` asks whether it runs at all.
    if std::env::args().any(|a| a == "--test") {
        return;
    }
    let pages = Pages::of_the_demo();
    fill(&pages);
    println!("{FLIGHTS} flights kept; ms; the first column is the first request after the start");
    println!(
        "{:<26} {:>4} {:>9} {:>9} {:>9} {:>9} {:>10} {:>8}",
        "page", "is", "cold", "first 50%", "first 95%", "whole 50%", "whole 95%", "kB gz"
    );
    let style = {
        let began = ask(&pages, "/", false);
        assert_eq!(began.status, 200);
        "/assets/x/app.css"
    };
    measure(&pages, "(style, for comparison)", style, false, 15);
    for (name, path) in driver::PAGES {
        measure(&pages, name, path, false, 15);
    }
    for (name, path) in [
        ("htmx.js", "/assets/x/htmx.js"),
        ("app.js", "/assets/x/app.js"),
        ("plots.js", "/assets/x/plots.js"),
        ("uplot.js", "/assets/x/uplot.js"),
    ] {
        measure(&pages, name, path, false, 3);
    }
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
    runtime.block_on(async {
        let browser = Browser::open(&pages, Size::Desk).await;
        browser.close().await;
    });
}
