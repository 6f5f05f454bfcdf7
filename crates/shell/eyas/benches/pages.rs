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
use serde_json::json;

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
        slider(&browser).await;
        long_recording_drawn(&browser, &pages).await;
        browser.close().await;
    });
}

/// From letting go of a slider to its answer standing on the page, as the browser sees it.
async fn slider(browser: &Browser) {
    browser.go("/aircraft/Wheatear/predict").await;
    let once = "const done = arguments[1], s = document.querySelector('input[name=balance]'), began = performance.now();
         s.value = arguments[0];
         document.getElementById('answer').addEventListener('htmx:afterSwap', () => done(performance.now() - began), {once: true});
         s.dispatchEvent(new Event('input', {bubbles: true})); s.dispatchEvent(new Event('change', {bubbles: true}));";
    let mut took = Vec::new();
    for i in 0..60_u32 {
        let at = json!(format!("{:.1}", 300.0 + f64::from(i * 37 % 60)));
        took.push(browser.client.execute_async(once, vec![at]).await.unwrap().as_f64().unwrap());
    }
    took.sort_by(f64::total_cmp);
    println!(
        "slider to answer in the browser, ms: median {:.0}, 95th percentile {:.0}, worst {:.0}",
        of(&took, 0.5),
        of(&took, 0.95),
        of(&took, 1.0)
    );
}

/// Ten minutes at 1 kHz: sent, drawn for the first time, moved by a key held down.
async fn long_recording_drawn(browser: &Browser, pages: &Pages) {
    let file = pages.folder.path().join("long.csv");
    driver::long_recording(&file);
    browser.go("/aircraft/Wheatear/flights").await;
    browser.give("/bring", &file).await;
    let began = Instant::now();
    browser.click("Bring it in").await;
    browser.arrive("/recording/new-").await;
    let megabytes = std::fs::metadata(&file).unwrap().len() as f64 / 1e6;
    println!("{megabytes:.0} MB sent, read and shown: {:.1} s", began.elapsed().as_secs_f64());
    let drawn = "const done = arguments[0]; (function look() { const r = document.querySelector('[data-drawn]'); r ? done(Number(r.dataset.drawn)) : setTimeout(look, 5); })()";
    let mut times = Vec::new();
    for _ in 0..5 {
        browser.client.refresh().await.unwrap();
        times.push(browser.client.execute_async(drawn, vec![]).await.unwrap().as_f64().unwrap());
    }
    times.sort_by(f64::total_cmp);
    println!(
        "600 000 samples first drawn after the page was asked for, ms: median {:.0}, worst {:.0}",
        of(&times, 0.5),
        of(&times, 1.0)
    );
    let pan = "const done = arguments[0], key = (k) => document.querySelector('.charts').dispatchEvent(new KeyboardEvent('keydown', {key: k, bubbles: true}));
         for (let i = 0; i < 4; i++) key('+');
         let last = performance.now(), all = []; const end = last + 4000; let way = 'ArrowRight', n = 0;
         (function frame(now) { all.push(now - last); last = now; if (++n % 40 === 0) way = way === 'ArrowRight' ? 'ArrowLeft' : 'ArrowRight'; key(way);
           now < end ? requestAnimationFrame(frame) : done(all.slice(1)); })(last);";
    let frames = browser.client.execute_async(pan, vec![]).await.unwrap();
    let mut frames: Vec<f64> =
        frames.as_array().unwrap().iter().filter_map(serde_json::Value::as_f64).collect();
    frames.sort_by(f64::total_cmp);
    let per_second = 1000.0 * frames.len() as f64 / frames.iter().sum::<f64>();
    println!(
        "moved without a graphics card: {per_second:.0} pictures a second, 95 % within {:.0} ms",
        of(&frames, 0.95)
    );
}
