//! How is a track written for a map? GPX 1.1 and KML 2.2, cut at the phases.
//!
//! Sources: the GPX 1.1 schema (topografix.com/GPX/1/1/gpx.xsd), the OGC KML 2.2 standard (OGC 07-147r2): coordinates are
//! longitude, latitude, altitude. Speed is no element of a GPX 1.1 track point and is left out.

use std::fmt::Write as _;

use super::{NoExport, phase_at};
use crate::clock;
use crate::phases::{Flown, Phase, PhaseKind};
use crate::recording::{Quantity, Recording};
use crate::resample;

/// A point of the track.
struct Point {
    time_s: f64,
    latitude_deg: f64,
    longitude_deg: f64,
    altitude_m: f64,
}

/// The points where latitude and longitude are known.
fn points(recording: &Recording) -> Result<Vec<Point>, NoExport> {
    let latitude = recording.channel(&Quantity::Latitude).ok_or(NoExport::NoPositions)?;
    let longitude = recording.channel(&Quantity::Longitude).ok_or(NoExport::NoPositions)?;
    let times = &latitude.time_s;
    let longitudes = resample::at(longitude, times);
    let altitudes = recording.channel(&Quantity::Altitude).map(|c| resample::at(c, times));
    let points: Vec<Point> = times
        .iter()
        .enumerate()
        .filter_map(|(i, time_s)| {
            let altitude = altitudes.as_ref().and_then(|a| a.get(i)).copied();
            Some(Point {
                time_s: *time_s,
                latitude_deg: latitude.values.get(i).copied().filter(|v| v.is_finite())?,
                longitude_deg: longitudes.get(i).copied().filter(|v| v.is_finite())?,
                altitude_m: altitude.unwrap_or(f64::NAN),
            })
        })
        .collect();
    if points.is_empty() { Err(NoExport::NoPositions) } else { Ok(points) }
}

/// Times count from 1970 where the recording's clock does.
fn instant(recording: &Recording, time_s: f64) -> Option<String> {
    /// Clocks since 1970 show more than this, those since switching on less (1 January 1990).
    const CALENDAR_S: f64 = 631_152_000.0;
    let at = recording.clock_start_s + time_s;
    (recording.clock_start_s > CALENDAR_S).then(|| clock::iso8601(at)).flatten()
}

/// Runs of points in the same phase; the last point of one run is the first of the next, so that the line is whole.
fn runs<'a>(points: &'a [Point], phases: &[Phase]) -> Vec<(Option<usize>, &'a [Point])> {
    let mut list = Vec::new();
    let mut from = 0;
    let of = |i: usize| points.get(i).and_then(|p| phase_at(phases, p.time_s));
    for i in 1..=points.len() {
        if i == points.len() || of(i) != of(from) {
            let part = points.get(from..(i + 1).min(points.len())).unwrap_or(&[]);
            list.push((of(from), part));
            from = i;
        }
    }
    list
}

/// The moments worth a mark: throws and touch-downs.
fn marks<'a>(
    flights: &'a [Flown],
    points: &'a [Point],
) -> impl Iterator<Item = (&'static str, &'a Point, f64)> {
    flights.iter().flat_map(|f| [("throw", f.throw), ("touch-down", f.touchdown)]).filter_map(
        move |(what, moment)| {
            let time_s = moment?.time_s;
            let near = points
                .iter()
                .min_by(|a, b| (a.time_s - time_s).abs().total_cmp(&(b.time_s - time_s).abs()))?;
            ((near.time_s - time_s).abs() < 2.0).then_some((what, near, time_s))
        },
    )
}

/// The track as GPX 1.1: a segment a phase, throws and touch-downs as waypoints. Without a calendar in the recording's
/// clock the points have no time, as the file does not carry one.
///
/// # Errors
/// When the recording has no positions.
pub fn gpx(recording: &Recording, phases: &[Phase], flights: &[Flown]) -> Result<String, NoExport> {
    let points = points(recording)?;
    let mut out = String::from(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<gpx version=\"1.1\" creator=\"eyas\" \
         xmlns=\"http://www.topografix.com/GPX/1/1\">\n",
    );
    let point = |out: &mut String, tag: &str, p: &Point, name: Option<&str>| {
        let _ = write!(out, "<{tag} lat=\"{:.8}\" lon=\"{:.8}\">", p.latitude_deg, p.longitude_deg);
        if p.altitude_m.is_finite() {
            let _ = write!(out, "<ele>{:.2}</ele>", p.altitude_m);
        }
        if let Some(time) = instant(recording, p.time_s) {
            let _ = write!(out, "<time>{time}</time>");
        }
        if let Some(name) = name {
            let _ = write!(out, "<name>{name}</name>");
        }
        let _ = writeln!(out, "</{tag}>");
    };
    for (what, near, _) in marks(flights, &points) {
        point(&mut out, "wpt", near, Some(what));
    }
    // A segment has no name in GPX, a track has: each phase is a track.
    for (phase, part) in runs(&points, phases) {
        let name = phase.and_then(|i| phases.get(i)).map_or("track", |p| p.kind.word());
        let _ = writeln!(out, "<trk><name>{name}</name><trkseg>");
        for p in part {
            point(&mut out, "trkpt", p, None);
        }
        out.push_str("</trkseg></trk>\n");
    }
    out.push_str("</gpx>\n");
    Ok(out)
}

/// Colors of the phases, as KML writes them: opacity, blue, green, red.
fn color(kind: Option<PhaseKind>) -> &'static str {
    match kind {
        Some(PhaseKind::Ground) | None => "ff808080",
        Some(PhaseKind::Launch) => "ff0080ff",
        Some(PhaseKind::Climb) => "ff30a030",
        Some(PhaseKind::Straight) => "ffd07020",
        Some(PhaseKind::Turn) => "ffc040c0",
        Some(PhaseKind::Input) => "ff00d0ff",
        Some(PhaseKind::Stall | PhaseKind::Impact) => "ff2020e0",
        Some(PhaseKind::Glide) => "ffd0c040",
        Some(PhaseKind::Approach) => "ff60c0c0",
        Some(PhaseKind::Landing) => "ff406080",
        Some(PhaseKind::Other) => "ffb0b0b0",
    }
}

/// The track as KML 2.2: a line a phase in its own color, throws and touch-downs as places.
///
/// # Errors
/// When the recording has no positions.
pub fn kml(recording: &Recording, phases: &[Phase], flights: &[Flown]) -> Result<String, NoExport> {
    let points = points(recording)?;
    let tall = points.iter().any(|p| p.altitude_m.is_finite());
    let mode = if tall { "absolute" } else { "clampToGround" };
    let mut out = String::from(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<kml xmlns=\"http://www.opengis.net/kml/2.2\"><Document>\n\
         <name>Flight</name>\n",
    );
    let place = |p: &Point| {
        let altitude = if p.altitude_m.is_finite() { p.altitude_m } else { 0.0 };
        format!("{:.8},{:.8},{altitude:.2}", p.longitude_deg, p.latitude_deg)
    };
    for (what, near, time_s) in marks(flights, &points) {
        let when = instant(recording, time_s)
            .map_or_else(String::new, |t| format!("<TimeStamp><when>{t}</when></TimeStamp>"));
        let _ = writeln!(
            out,
            "<Placemark><name>{what}</name>{when}<Point><altitudeMode>{mode}</altitudeMode><coordinates>{}</coordinates></Point></Placemark>",
            place(near)
        );
    }
    for (phase, part) in runs(&points, phases) {
        let Some((first, last)) = part.first().zip(part.last()) else { continue };
        let kind = phase.and_then(|i| phases.get(i)).map(|p| p.kind);
        let span = instant(recording, first.time_s)
            .zip(instant(recording, last.time_s))
            .map_or_else(String::new, |(a, b)| {
                format!("<TimeSpan><begin>{a}</begin><end>{b}</end></TimeSpan>")
            });
        let _ = writeln!(
            out,
            "<Placemark><name>{} {:.1} s</name>{span}<Style><LineStyle><color>{}</color><width>3</width></LineStyle></Style>\
             <LineString><altitudeMode>{mode}</altitudeMode><coordinates>",
            kind.map_or("track", PhaseKind::word),
            first.time_s,
            color(kind),
        );
        for p in part {
            let _ = writeln!(out, "{}", place(p));
        }
        out.push_str("</coordinates></LineString></Placemark>\n");
    }
    out.push_str("</Document></kml>\n");
    Ok(out)
}
