//! Broken files by the thousand: every parser is given whole files with pieces cut out, doubled, swapped and flipped. It may
//! refuse them or read them with flaws; it may not crash, make times that do not grow, or take long.
//!
//! Seeded, so that a failure comes again; the seed and the step stand in its message. `EYAS_BROKEN_FILES=100` tries a hundred
//! times as many.

use fly::read::{Reading, read};
use fly::recording::Recording;
use fly::{inputs, phases, quality};

use crate::invented::flight;

/// xoshiro256++ (Blackman & Vigna, 2019; public domain), seeded by splitmix64.
struct Dice([u64; 4]);

impl Dice {
    fn new(seed: u64) -> Self {
        let mut z = seed;
        let mut next = || {
            z = z.wrapping_add(0x9e37_79b9_7f4a_7c15);
            let mut x = z;
            x = (x ^ (x >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
            x = (x ^ (x >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
            x ^ (x >> 31)
        };
        Self([next(), next(), next(), next()])
    }

    fn roll(&mut self) -> u64 {
        let s = &mut self.0;
        let out = s[0].wrapping_add(s[3]).rotate_left(23).wrapping_add(s[0]);
        let t = s[1] << 17;
        s[2] ^= s[0];
        s[3] ^= s[1];
        s[1] ^= s[2];
        s[0] ^= s[3];
        s[2] ^= t;
        s[3] = s[3].rotate_left(45);
        out
    }

    fn below(&mut self, n: usize) -> usize {
        if n == 0 { 0 } else { (self.roll() % n as u64) as usize }
    }
}

fn file(name: &str) -> Vec<u8> {
    let path = format!("{}/../../../{name}", env!("CARGO_MANIFEST_DIR"));
    std::fs::read(&path).unwrap_or_else(|e| panic!("{path}: {e}"))
}

fn reference(name: &str, most: usize) -> Vec<u8> {
    let mut bytes = file(&format!("reference/{name}"));
    bytes.truncate(most);
    bytes
}

/// Eight seconds of the invented flight as text in columns.
fn columns() -> Vec<u8> {
    let mut text = String::from(
        "time (s),roll (deg),pitch (deg),roll rate (deg/s),airspeed (m/s),altitude (m),stick roll (percent),acts\n",
    );
    for m in flight().iter().skip(500).take(400) {
        text += &format!(
            "{:.2},{:.2},{:.2},{:.2},{:.2},{:.2},{:.1},{}\n",
            m.t,
            m.roll.to_degrees(),
            m.pitch.to_degrees(),
            m.rates.x.to_degrees(),
            m.airspeed,
            m.height + 120.0,
            100.0 * m.stick.x,
            if m.t < 14.0 { "direct" } else { "level" },
        );
    }
    text.into_bytes()
}

/// What stands in files where it should not.
const ODD: &[&[u8]] = &[
    b"1e308",
    b"-1e308",
    b"nan",
    b"inf",
    b"1e-320",
    b"\"",
    b"\"\"",
    b",,,,",
    b"\xff\xfe",
    b"\xc3\x28",
    b"\0",
    b"\r",
    b"\n\n",
    b"99999999999999999999",
    b"<",
    b"</",
    b"&lt;",
    b"&#x0;",
    b"<![CDATA[",
    b"<!--",
    b"$",
    b"*",
    b"*00",
    b"B",
    b"I99",
    b"HFDTE999999",
    b"2026-13-45T99:99:99Z",
    b"+99:99",
    b"T",
    b";",
    b"\t",
    b"#",
];

fn mutated(whole: &[u8], dice: &mut Dice) -> Vec<u8> {
    let mut b = whole.to_vec();
    for _ in 0..=dice.below(4) {
        let at = dice.below(b.len());
        let long = dice.below(64).min(b.len().saturating_sub(at));
        match dice.below(9) {
            0 => b.truncate(at),
            1 => {
                b.drain(at..at + long);
            }
            2 => {
                let piece = b[at..at + long].to_vec();
                let to = dice.below(b.len());
                b.splice(to..to, piece);
            }
            3 => b.iter_mut().skip(at).take(1).for_each(|x| *x ^= 1 << (at % 8)),
            4 => {
                let odd = ODD[dice.below(ODD.len())];
                b.splice(at..at, odd.iter().copied());
            }
            5 => {
                let odd = ODD[dice.below(ODD.len())];
                let end = (at + odd.len()).min(b.len());
                b.splice(at..end, odd.iter().copied());
            }
            6 => {
                let byte = dice.roll() as u8;
                b.iter_mut().skip(at).take(long).for_each(|x| *x = byte);
            }
            7 => {
                // Two lines change places.
                let mut lines: Vec<Vec<u8>> = b.split(|x| *x == b'\n').map(<[u8]>::to_vec).collect();
                let (i, j) = (dice.below(lines.len()), dice.below(lines.len()));
                lines.swap(i, j);
                b = lines.join(&b'\n');
            }
            _ => {
                // A digit becomes another: still well formed, and wrong.
                if let Some(x) = b.iter_mut().skip(at).find(|x| x.is_ascii_digit()) {
                    *x = b'0' + (dice.roll() % 10) as u8;
                }
            }
        }
        if b.is_empty() {
            break;
        }
    }
    b
}

#[track_caller]
fn sound(r: &Recording, about: &str) {
    for c in &r.channels {
        assert_eq!(c.time_s.len(), c.values.len(), "{about}: {:?}", c.quantity);
        assert!(c.time_s.windows(2).all(|w| w[1] > w[0]), "{about}: times of {:?}", c.quantity);
    }
}

/// How many broken files are tried, where so many are usual.
fn tries(usual: usize) -> usize {
    let more = std::env::var("EYAS_BROKEN_FILES").ok().and_then(|n| n.parse().ok());
    usual * more.unwrap_or(1_usize).max(1)
}

#[track_caller]
fn endure(name: &str, whole: &[u8], times: usize) {
    let mut read_at_all = 0;
    let times = tries(times);
    for step in 0..times {
        let mut dice = Dice::new(step as u64);
        let broken = mutated(whole, &mut dice);
        let about = format!("{name}, step {step}");
        if let Ok(Reading { recording, .. }) = read(&broken, None) {
            read_at_all += 1;
            sound(&recording, &about);
            let _ = (phases::find(&recording), inputs::find(&recording), quality::assess(&recording));
        }
    }
    // Most of these files are mostly whole.
    assert!(2 * read_at_all > times, "{name}: only {read_at_all} of {times} are read");
}

#[test]
fn broken_columns_are_endured() {
    endure("columns", &columns(), 120);
}

#[test]
fn broken_gpx_is_endured() {
    endure("gpx", &reference("tracks-gpx/walk_with_times.gpx", usize::MAX), 60);
}

#[test]
fn broken_igc_is_endured() {
    endure("igc", &reference("tracks-igc/paraglider_1s.igc", 12_000), 300);
}

#[test]
fn broken_nmea_is_endured() {
    endure("nmea", &reference("tracks-nmea/aircraft_descent.log", 60_000), 200);
}

#[test]
fn broken_packed_files_are_endured() {
    let packed = zstd::bulk::compress(&columns(), 1).unwrap();
    for step in 0..tries(150) as u64 {
        if let Ok(r) = read(&mutated(&packed, &mut Dice::new(step)), None) {
            sound(&r.recording, &format!("packed, step {step}"));
        }
    }
}

#[test]
fn broken_maps_are_endured() {
    let whole = fly::propose::propose(&columns()).unwrap().map.to_toml();
    let mut read_at_all = 0;
    for step in 0..tries(600) {
        let broken = mutated(whole.as_bytes(), &mut Dice::new(step as u64));
        match fly::map::ColumnMap::from_toml(&String::from_utf8_lossy(&broken)) {
            Ok(map) => {
                read_at_all += 1;
                if let Ok(r) = read(&columns(), Some(&map)) {
                    sound(&r.recording, &format!("map, step {step}"));
                }
            }
            Err(faults) => assert!(!faults.is_empty() && faults.iter().all(|f| f.line > 0), "step {step}"),
        }
    }
    assert!(read_at_all > 0, "no broken map is whole enough to be read");
}

#[test]
fn broken_scripts_are_endured() {
    let whole = String::from_utf8(file("examples/first-flight.toml")).unwrap();
    assert!(fly::simulated::Script::read(&whole).is_ok());
    for step in 0..tries(300) {
        let broken = mutated(whole.as_bytes(), &mut Dice::new(step as u64));
        let _ = fly::simulated::Script::read(&String::from_utf8_lossy(&broken));
    }
}

#[test]
fn text_cut_at_every_kilobyte_gives_what_is_whole() {
    let whole = columns();
    let all = read(&whole, None).unwrap().recording.rows;
    let mut last = 0;
    for cut in (1024..whole.len()).step_by(1024) {
        // Too short to tell a column, or read up to the cut.
        let Ok(reading) = read(&whole[..cut], None) else { continue };
        let rows = reading.recording.rows;
        assert!(rows >= last && rows <= all, "{cut}: {rows} rows after {last}");
        last = rows;
    }
    assert!(last > all * 9 / 10, "{last} of {all}");
}

#[test]
fn swapped_columns_are_never_taken_in_silence() {
    // The headers of bank and pitch rate, of pitch and bank, of speed and height change places.
    let text = String::from_utf8(columns()).unwrap();
    for (a, b) in
        [("roll (deg)", "pitch (deg)"), ("airspeed (m/s)", "altitude (m)"), ("roll (deg)", "airspeed (m/s)")]
    {
        let swapped = text.replacen(a, "@@", 1).replacen(b, a, 1).replacen("@@", b, 1);
        let Ok(reading) = read(swapped.as_bytes(), None) else { continue };
        let doubts = reading.proposal.map(|p| p.doubts).unwrap_or_default();
        let flaws = fly::sense::check(&reading.recording);
        let (qa, qb) = (a.split(' ').next().unwrap(), b.split(' ').next().unwrap());
        let told = |q: &str| {
            doubts.iter().any(|d| d.contains(q))
                || flaws.iter().any(|f| f.what.contains(q) || f.place.contains(q))
        };
        assert!(told(qa) || told(qb), "{a} for {b}: {doubts:#?} {flaws:#?}");
    }
}

#[test]
fn a_photo_named_csv_and_other_strangers_are_refused_with_a_reason() {
    let mut photo = b"\xff\xd8\xff\xe0\0\x10JFIF\0".to_vec();
    let mut dice = Dice::new(1);
    photo.extend((0..20_000).map(|_| dice.roll() as u8));
    for (name, bytes, word) in [
        ("photo", photo, "JPEG"),
        ("nothing", Vec::new(), "empty"),
        ("zip", b"PK\x03\x04rest".to_vec(), "ZIP"),
        ("letter", b"Dear Sir,\nthank you for your letter.\nYours\n".to_vec(), "numbers"),
        ("page", b"<html><body>no</body></html>".to_vec(), "GPX"),
    ] {
        let failure = read(&bytes, None).unwrap_err().to_string();
        assert!(failure.contains(word), "{name}: {failure}");
    }
}

#[test]
fn latin_letters_huge_numbers_and_a_gap_of_days_are_told() {
    let mut bytes = Vec::new();
    bytes.extend_from_slice(b"time (s),airspeed (m/s),altitude (m),Geschwindigkeit \xfcber Grund\n");
    for i in 0..300 {
        let t = if i < 150 { f64::from(i) * 0.1 } else { 259_200.0 + f64::from(i) * 0.1 };
        let v = if i == 77 { "1e308".to_owned() } else { format!("{}", 12 + i % 5) };
        bytes.extend_from_slice(format!("{t:.1},{v},{}.5,3\n", 100 + i / 10).as_bytes());
    }
    let reading = read(&bytes, None).unwrap();
    let r = &reading.recording;
    assert_eq!(r.rows, 300);
    assert!(r.flaws.iter().any(|f| f.what.contains("leaps ahead")), "{:#?}", r.flaws);
    // A column that holds such a number is left out with the number, not taken.
    let doubts = reading.proposal.as_ref().map(|p| p.doubts.clone()).unwrap_or_default();
    assert!(r.channel(&fly::recording::Quantity::Airspeed).is_none());
    assert!(doubts.iter().any(|d| d.contains("airspeed") && d.contains("no model's speed")), "{doubts:#?}");
    sound(r, "days");
}
