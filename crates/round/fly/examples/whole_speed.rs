//! How long does everything take that is done with a long recording? Makes one of ten minutes at 1 kHz with forty columns
//! (an invented flight), and reads it: map proposed, values read, quality, phases, stick inputs.
//!
//! ```sh
//! cargo run --release -p fly --example whole_speed -- make FILE.csv [MINUTES]
//! cargo run --release -p fly --example whole_speed -- read FILE.csv [THREADS]
//! ```
//!
//! `read` prints what each part took, and on Linux the time of the processors and the largest memory of the whole program.
#![expect(
    clippy::print_stdout,
    clippy::disallowed_methods,
    clippy::disallowed_types,
    reason = "a program that measures reads a file and the clock and prints"
)]

use std::fmt::Write as _;
use std::io::Write as _;
use std::process::ExitCode;
use std::time::Instant;

use numerics::Vec3;
use numerics::frames::ned_from_body;
use numerics::geodesy::LocalPlane;
use numerics::random::Random;

/// Rows a second.
const RATE_HZ: f64 = 1000.0;
const G: f64 = 9.80665;
const DEG: f64 = 180.0 / std::f64::consts::PI;
const HEADER: &str = "time (s),roll (deg),pitch (deg),heading (deg),roll rate (deg/s),pitch rate (deg/s),yaw rate (deg/s),\
    acceleration x (m/s2),acceleration y (m/s2),acceleration z (m/s2),latitude (deg),longitude (deg),altitude (m),\
    height (m),velocity north (m/s),velocity east (m/s),velocity down (m/s),ground speed (m/s),course (deg),\
    airspeed (m/s),static pressure (Pa),air temperature (degC),stick roll (%),stick pitch (%),stick yaw (%),\
    throttle (%),servo 1 (us),servo 2 (us),servo 3 (us),servo 4 (us),servo 5 (us),servo 6 (us),voltage (V),current (A),\
    used (mAh),rpm (rpm),satellites,acts,note a,note b\n";

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let words: Vec<&str> = arguments.iter().map(String::as_str).collect();
    let done = match words.as_slice() {
        ["make", path] => make(path, 10.0),
        ["make", path, minutes] => make(path, minutes.parse().unwrap_or(10.0)),
        ["read", path] => read(path, None),
        ["read", path, threads] => read(path, threads.parse().ok()),
        _ => {
            println!("usage: whole_speed make FILE.csv [MINUTES] | read FILE.csv [THREADS]");
            return ExitCode::from(2);
        }
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            println!("{error}");
            ExitCode::FAILURE
        }
    }
}

fn step(x: f64) -> f64 {
    let x = x.clamp(0.0, 1.0);
    x * x * (3.0 - 2.0 * x)
}

fn hump(t: f64, from: f64, to: f64, edge: f64) -> f64 {
    step((t - from) / edge) - step((t - to) / edge)
}

/// A doublet of the stick, half a second to each side, ten seconds into every forty.
fn stick(t: f64) -> f64 {
    let t = t.rem_euclid(40.0);
    0.4 * hump(t, 10.0, 10.5, 0.05) - 0.4 * hump(t, 10.5, 11.0, 0.05)
}

fn bank(t: f64) -> f64 {
    let s = t.rem_euclid(40.0);
    0.6 * hump(s, 20.0, 30.0, 1.2) + 0.3 * hump(s, 10.1, 10.9, 0.4) + 0.02 * (1.9 * t).sin()
}

fn make(path: &str, minutes: f64) -> Result<(), Box<dyn std::error::Error>> {
    let plane = LocalPlane::at(51.2, 4.3);
    let mut noise = Random::new(3, 0);
    let mut out = std::io::BufWriter::with_capacity(1 << 20, std::fs::File::create(path)?);
    out.write_all(HEADER.as_bytes())?;
    let rows = (minutes * 60.0 * RATE_HZ) as usize;
    let end = minutes * 60.0;
    let (mut yaw, mut position, mut used) = (0.7, Vec3::new(0.0, 0.0, 0.0), 0.0);
    let (mut line, h) = (String::new(), 1e-3);
    for row in 0..rows {
        let t = row as f64 / RATE_HZ;
        // On the ground, thrown, flown, landed.
        let moves = hump(t, 15.0, end - 12.0, 3.0);
        let speed = 14.0 * moves;
        let climb = 2.5 * hump(t, 18.0, 50.0, 3.0) - 2.5 * hump(t, end - 44.0, end - 12.0, 3.0);
        let at = |t: f64| hump(t, 15.0, end - 12.0, 3.0) * bank(t);
        let roll = at(t);
        let pitch = moves * 0.05 + (climb / 14.0).clamp(-1.0, 1.0).asin();
        let turn = if speed > 3.0 { G * roll.tan() / speed } else { 0.0 };
        let body = ned_from_body(roll, pitch, yaw);
        let ahead = ned_from_body(at(t + h), pitch, yaw + turn * h);
        let rates = (body.inverse() * ahead).scaled_axis() / h;
        let velocity = Vec3::new(speed * yaw.cos() + 2.0 * moves, speed * yaw.sin() - 1.2 * moves, -climb);
        let across = Vec3::new(-yaw.sin(), yaw.cos(), 0.0) * (speed * turn);
        let along = Vec3::new(yaw.cos(), yaw.sin(), 0.0) * (4.7 * hump(t, 15.0, 18.0, 0.3));
        let force = body.inverse() * (across + along - Vec3::new(0.0, 0.0, G));
        let (latitude, longitude) = plane.latitude_longitude_deg(position.x, position.y);
        let throttle = moves * (0.55 + 0.1 * climb);
        let amps = 0.4 + 20.0 * throttle * throttle;
        used += amps / RATE_HZ / 3.6;
        let height = -position.z;
        let mut n = |sd: f64| sd * noise.normal();
        let compass = |a: f64| (a * DEG).rem_euclid(360.0);
        let pulse = 1500.0 + 400.0 * stick(t);
        line.clear();
        write!(
            line,
            "{t:.3},{:.3},{:.3},{:.3},{:.3},{:.3},{:.3},{:.4},{:.4},{:.4},",
            (roll + n(0.003)) * DEG,
            (pitch + n(0.003)) * DEG,
            compass(yaw + n(0.003)),
            (rates.x + n(0.01)) * DEG,
            (rates.y + n(0.01)) * DEG,
            (rates.z + n(0.01)) * DEG,
            force.x + n(0.2),
            force.y + n(0.2),
            force.z + n(0.2),
        )?;
        write!(
            line,
            "{latitude:.7},{longitude:.7},{:.2},{:.2},{:.2},{:.2},{:.2},{:.2},{:.2},{:.2},{:.1},{:.1},",
            height + 120.0,
            height + n(0.05),
            velocity.x + n(0.05),
            velocity.y + n(0.05),
            velocity.z + n(0.05),
            velocity.x.hypot(velocity.y),
            compass(velocity.y.atan2(velocity.x)),
            (speed + n(0.2)).abs(),
            99_800.0 - 11.8 * height + n(3.0),
            18.0 + n(0.1),
        )?;
        let s = 100.0 * stick(t);
        write!(line, "{:.1},{:.1},{:.1},{:.1},", s + n(0.2), n(0.2), n(0.2), 100.0 * throttle)?;
        write!(
            line,
            "{:.0},{:.0},{:.0},{:.0},{:.0},{:.0},",
            pulse,
            3000.0 - pulse,
            1500.0 + n(3.0),
            1500.0 + n(3.0),
            1000.0,
            1500.0
        )?;
        writeln!(
            line,
            "{:.2},{:.2},{:.1},{:.0},{},0,{:.3},{:.3}",
            12.4 - used * 9e-4 - amps * 0.02 + n(0.01),
            amps + n(0.1),
            used,
            9000.0 * throttle,
            11,
            n(1.0),
            n(1.0),
        )?;
        out.write_all(line.as_bytes())?;
        position += velocity / RATE_HZ;
        yaw += turn / RATE_HZ;
    }
    Ok(out.flush()?)
}

fn read(path: &str, threads: Option<usize>) -> Result<(), Box<dyn std::error::Error>> {
    if let Some(threads) = threads {
        rayon::ThreadPoolBuilder::new().num_threads(threads).build_global()?;
    }
    let bytes = std::fs::read(path)?;
    let mut last = Instant::now();
    let begin = last;
    let mut part = |name: &str| {
        println!("{name:<28} {:>7.3} s", last.elapsed().as_secs_f64());
        last = Instant::now();
    };
    let proposal = fly::propose::propose(&bytes)?;
    part("map proposed");
    let recording = fly::csv::read_csv(&bytes, &proposal.map)?;
    part("values read");
    let numbers = recording.channels.len() * recording.rows * 8;
    let against = fly::sense::check(&recording);
    part("held against laws");
    let quality = fly::quality::assess(&recording);
    part("quality");
    let phases = fly::phases::find(&recording);
    part("phases");
    let inputs = fly::inputs::find(&recording);
    part("inputs");
    let flights = fly::phases::flights(&recording);
    part("flights");
    println!("all                          {:>7.3} s", begin.elapsed().as_secs_f64());
    println!(
        "{} rows, {} channels, {} flaws, {} phases, {} inputs, {} flights",
        recording.rows,
        recording.channels.len(),
        recording.flaws.len() + against.len() + quality.flaws.len(),
        phases.len(),
        inputs.len(),
        flights.len()
    );
    println!("file {:.0} MB, its numbers {:.0} MB", bytes.len() as f64 / 1e6, numbers as f64 / 1e6);
    for flaw in against.iter().chain(&quality.flaws) {
        println!("  {}: {}", flaw.place, flaw.what);
    }
    if let Ok(status) = std::fs::read_to_string("/proc/self/status") {
        for line in status.lines().filter(|l| l.starts_with("VmHWM")) {
            println!("{line}");
        }
    }
    Ok(())
}
