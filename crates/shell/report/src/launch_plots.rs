//! Pictures of many launches: the fan of paths, bands over time, drivers, the table over wind and speed, the landing.

use predict::launch::bands::{Band, Path};
use predict::launch::odds::Study;
use predict::launch::outcome::Outcome;

use crate::launch_page::speed_name;
use crate::number;
use crate::plot::{Look, Plot};
use crate::svg::{Anchor, Canvas, Ink, pen};

/// Paths of a kind as one series: breaks between them.
fn paths(
    fan: &[Path],
    wanted: impl Fn(Outcome) -> bool,
    place: impl Fn(&Path, usize) -> [f64; 2],
) -> Vec<[f64; 2]> {
    let mut points = Vec::new();
    for path in fan.iter().filter(|p| wanted(p.outcome)) {
        points.extend((0..path.trace.height_m.len()).map(|i| place(path, i)));
        points.push([f64::NAN; 2]);
    }
    points
}

fn fan(s: &Study, mut plot: Plot, place: impl Fn(&Path, usize) -> [f64; 2] + Copy) -> Plot {
    let groups: [(&str, fn(Outcome) -> bool); 4] = [
        ("clean", |o| o == Outcome::Clean),
        ("touched", |o| o == Outcome::Touched),
        ("sagged or stalled", |o| matches!(o, Outcome::Sagged | Outcome::Stalled)),
        ("rolled off", |o| o == Outcome::RolledOff),
    ];
    for (name, wanted) in groups {
        let points = paths(&s.fan, wanted, place);
        // An empty kind keeps its ink, so that the same kind has the same look on every page.
        plot = plot.with(if points.is_empty() { "" } else { name }, Look::Thin, points);
    }
    plot
}

fn at(list: &[f32], i: usize) -> f64 {
    list.get(i).map_or(f64::NAN, |v| f64::from(*v))
}

/// Side view.
pub(crate) fn side(s: &Study) -> String {
    let plot = Plot::new(
        "Launches from the side",
        "Height above the ground over the way along the heading, a line a launch, drawn by how it ended.",
        "Way along the heading, m",
        "Height, m",
    );
    let mut plot = fan(s, plot, |p, i| [at(&p.trace.along_m, i), at(&p.trace.height_m, i)]);
    let far = s
        .fan
        .iter()
        .flat_map(|p| &p.trace.along_m)
        .fold((0.0_f64, 1.0_f64), |(low, high), v| (low.min(f64::from(*v)), high.max(f64::from(*v))));
    plot = plot.with("ground", Look::Band, vec![[far.0, 0.0], [far.1, 0.0], [far.1, -0.4], [far.0, -0.4]]);
    plot.from_zero = true;
    plot.draw()
}

/// Seen from above.
pub(crate) fn plan(s: &Study) -> String {
    let plot = Plot::new(
        "Launches from above",
        "Way to the right over the way along the heading, a line a launch, drawn by how it ended.",
        "Way along the heading, m",
        "Way to the left (−) and right (+), m",
    );
    let mut plot = fan(s, plot, |p, i| [at(&p.trace.along_m, i), at(&p.trace.right_m, i)]);
    plot.equal = true;
    plot.draw()
}

fn band(bands: &[Band], low: usize, high: usize) -> Vec<[f64; 2]> {
    let edge = |which: usize| {
        bands.iter().map(move |b| [b.time_s, b.values.get(which).copied().unwrap_or(f64::NAN)])
    };
    let mut points: Vec<[f64; 2]> = edge(low).collect();
    let mut back: Vec<[f64; 2]> = edge(high).collect();
    back.reverse();
    points.extend(back);
    points
}

fn banded(plot: Plot, bands: &[Band]) -> Plot {
    plot.with("9 of 10", Look::Band, band(bands, 0, 4)).with("half", Look::Band, band(bands, 1, 3)).with(
        "middle",
        Look::Line,
        bands.iter().map(|b| [b.time_s, b.values.get(2).copied().unwrap_or(f64::NAN)]).collect(),
    )
}

/// Height over time.
pub(crate) fn heights(s: &Study) -> String {
    let plot = Plot::new(
        "Height over time",
        "Height above the ground over time after the release: the middle and the bands of half and of nine of ten launches.",
        "Time after the release, s",
        "Height, m",
    );
    let mut plot = banded(plot, &s.bands.height_m);
    plot.from_zero = true;
    plot.draw()
}

/// Airspeed over time.
pub(crate) fn airspeeds(s: &Study) -> String {
    let plot = Plot::new(
        "Airspeed over time",
        "Airspeed over time after the release: the middle, the bands of half and of nine of ten launches, and the stall speed.",
        "Time after the release, s",
        "Airspeed, m/s",
    );
    let end = s.bands.airspeed_m_s.last().map_or(1.0, |b| b.time_s);
    let mut plot = banded(plot, &s.bands.airspeed_m_s).with(
        "stall, level",
        Look::Line,
        vec![[0.0, s.stall_m_s], [end, s.stall_m_s]],
    );
    plot.from_zero = true;
    plot.draw()
}

const WIDTH: f64 = 400.0;
const TEXT: f64 = 13.0;

/// Bars of the drivers.
pub(crate) fn drivers(s: &Study) -> String {
    let strong: Vec<_> = s.odds.drivers.iter().filter(|d| d.percent > d.noise_percent).take(8).collect();
    let mut canvas = Canvas::new(
        WIDTH,
        60.0,
        "What drives the odds",
        "Bars: share of the variance of clean or not that each input explains alone, per cent; the sign tells whether more of it helps.",
    );
    canvas.text([10.0, 25.0], TEXT + 1.0, Anchor::Start, Ink::Plain, true, "What drives the odds");
    canvas.words([10.0, 43.0], TEXT, Anchor::Start, "Share of the variance, %; + more helps, − more hurts");
    if strong.is_empty() {
        canvas.set_height(76.0);
        canvas.words([10.0, 65.0], TEXT, Anchor::Start, "Nothing beyond chance.");
        return canvas.finish();
    }
    let most = strong.iter().map(|d| d.percent).fold(1.0, f64::max);
    let mut y = 56.0;
    for d in strong {
        canvas.words([10.0, y + TEXT], TEXT, Anchor::Start, d.input.name());
        y += TEXT + 6.0;
        let end = 34.0 + d.percent / most * (WIDTH - 100.0);
        let helps = d.rank_correlation > 0.0;
        let ink = if helps { Ink::C } else { Ink::B };
        canvas.text(
            [14.0, y + 12.0],
            TEXT + 3.0,
            Anchor::Start,
            Ink::Plain,
            true,
            if helps { "+" } else { "−" },
        );
        canvas.area(&[[34.0, y], [end, y], [end, y + 14.0], [34.0, y + 14.0]], ink, 0.85);
        let label = format!("{} %", number::fixed(d.percent, 0));
        canvas.words([end + 6.0, y + 12.0], TEXT, Anchor::Start, &label);
        y += 22.0;
    }
    canvas.set_height(y + 8.0);
    canvas.finish()
}

/// The table over wind and release speed.
pub(crate) fn table(s: &Study) -> String {
    let mut winds: Vec<f64> = s.table.iter().map(|c| c.wind_m_s).collect();
    winds.dedup();
    let mut speeds: Vec<f64> = s.table.iter().map(|c| c.speed_m_s).collect();
    speeds.sort_by(f64::total_cmp);
    speeds.dedup();
    let title = format!("Percent clean over wind and {}", speed_name(s));
    let mut canvas =
        Canvas::new(WIDTH, 100.0, &title, "Percent of clean launches, a row a wind, a column a mean speed.");
    canvas.text([10.0, 25.0], TEXT + 1.0, Anchor::Start, Ink::Plain, true, &title);
    let (left, top, row) = (62.0, 40.0, 30.0);
    let column = (WIDTH - left - 10.0) / speeds.len().max(1) as f64;
    let place = |list: &[f64], value: f64| {
        list.iter().position(|v| v.to_bits() == value.to_bits()).unwrap_or(0) as f64
    };
    // The strongest wind on top, as an axis has it.
    let rows = winds.len() as f64;
    for cell in &s.table {
        let x = left + column * place(&speeds, cell.speed_m_s);
        let y = top + row * (rows - 1.0 - place(&winds, cell.wind_m_s));
        let p = cell.clean.probability;
        let corners = [[x, y], [x + column - 2.0, y], [x + column - 2.0, y + row - 2.0], [x, y + row - 2.0]];
        // Darker is worse; the number says it without color.
        if p.is_finite() {
            canvas.area(&corners, Ink::B, 0.75 * (1.0 - p));
        }
        canvas.path(&corners, true, pen(Ink::Grid, 0.8));
        let bold = p >= predict::launch::odds::GOOD;
        canvas.text(
            [x + 0.5 * column - 1.0, y + 0.5 * row + 4.0],
            TEXT,
            Anchor::Middle,
            Ink::Plain,
            bold,
            &number::fixed(100.0 * p, 0),
        );
    }
    for wind in &winds {
        let y = top + row * (rows - 1.0 - place(&winds, *wind)) + 0.5 * row + 4.0;
        canvas.words([left - 8.0, y], TEXT, Anchor::End, &number::fixed(*wind, 0));
    }
    let bottom = top + row * rows;
    for speed in &speeds {
        let x = left + column * (place(&speeds, *speed) + 0.5) - 1.0;
        canvas.words([x, bottom + TEXT + 3.0], TEXT, Anchor::Middle, &number::fixed(*speed, 1));
    }
    let name = speed_name(s);
    let mut letters = name.chars();
    let capital: String =
        letters.next().map(|c| c.to_uppercase().chain(letters).collect()).unwrap_or_default();
    canvas.words(
        [0.5 * (left + WIDTH - 10.0), bottom + 2.0 * TEXT + 12.0],
        TEXT,
        Anchor::Middle,
        &format!("{capital}, m/s (bold: 90 or more)"),
    );
    canvas.words_upward([18.0, 0.5 * (top + bottom)], TEXT, "Mean wind, m/s");
    canvas.set_height(bottom + 2.0 * TEXT + 22.0);
    canvas.finish()
}

/// Flare and float over the wind.
pub(crate) fn landing(s: &Study) -> String {
    let rows = &s.landing.approaches;
    let mut plot = Plot::new(
        "Landing over wind",
        "Way over the ground of flare and float, and speed over the ground at the touch, over the wind straight ahead.",
        "Wind straight ahead, m/s",
        "Way, m; speed, m/s",
    )
    .with("flare, m", Look::Line, rows.iter().map(|a| [a.wind_m_s, a.flare_m]).collect())
    .with("float, m", Look::Line, rows.iter().map(|a| [a.wind_m_s, a.float_m]).collect())
    .with("touch, m/s", Look::Line, rows.iter().map(|a| [a.wind_m_s, a.touch_m_s]).collect());
    plot.from_zero = true;
    plot.draw()
}
