//! How did it answer, which gains follow, does stabilized flight feel like direct flight, what are its derivatives, what
//! shakes and swings? Each with the data used, the fit, what the fit leaves, and how sure.

use aircraft::finding::Finding;
use learn::derivatives::{Derivatives, Group};
use learn::feel::Feel;
use learn::findings::NotLearnt;
use learn::gains::MeasuredGains;
use learn::handling::Handling;
use learn::oscillation::Oscillations;
use learn::response::{Response, Trace};
use learn::vibration::{Band, Vibration};
use maud::{Markup, html};

use crate::number;
use crate::page::figure;
use crate::plot::{Look, Plot};
use crate::seconds::Seconds;

/// Inputs shown one after the other in a plot.
const SHOWN: usize = 4;
/// Room between them, s.
const ROOM_S: f64 = 0.3;
/// What is not a number breaks a line.
const BREAK: [f64; 2] = [f64::NAN, f64::NAN];

/// All of it, with its headings.
pub(crate) fn part(h: &Handling, seconds: Seconds<'_>) -> Markup {
    html! {
        h2 { "Answer to the surfaces" }
        @for (axis, found) in ["Roll", "Pitch", "Yaw"].iter().zip(&h.response) {
            h3 { (axis) }
            @match found {
                Ok(r) => (response(r, seconds)),
                Err(why) => (not_learnt(why)),
            }
        }
        h2 { "Gains" }
        p.note { "Set with the propeller off; then the surface direction check again. Tried high up, with the switch to direct at hand." }
        (gains(h))
        h2 { "Does stabilized flight feel like direct flight?" }
        @for (axis, found) in ["Roll", "Pitch", "Yaw"].iter().zip(&h.feel) {
            h3 { (axis) }
            @match found {
                Ok(f) => (feel(f)),
                Err(why) => (not_learnt(why)),
            }
        }
        h2 { "Derivatives" }
        @match &h.derivatives {
            Ok(d) => (derivatives(d)),
            Err(why) => (not_learnt(why)),
        }
        h2 { "Shaking" }
        @match &h.vibration {
            Ok(v) => (vibration(v)),
            Err(why) => (not_learnt(why)),
        }
        h2 { "Loops" }
        @match &h.oscillation {
            Ok(o) => (oscillation(o, seconds)),
            Err(why) => (not_learnt(why)),
        }
    }
}

fn not_learnt(why: &NotLearnt) -> Markup {
    html! {
        @match why {
            NotLearnt::MissingChannel { what } => p { "Not found: the recording lacks " (what) "." },
            NotLearnt::NotExcited { why } => p { "Not found. " (number::sentence(why)) },
        }
    }
}

fn sure(finding: &Finding) -> Markup {
    html! {
        p {
            strong { @if finding.enough { "Enough to rely on. " } @else { "Not enough to rely on yet. " } }
            (number::sentence(&finding.verdict))
        }
    }
}

fn row(name: &str, finding: &Finding, unit: &str) -> Markup {
    html! {
        div {
            dt { (name) @if !finding.enough { " (not enough to rely on)" } }
            dd { (number::finding(finding, unit)) }
        }
    }
}

fn response(r: &Response, seconds: Seconds<'_>) -> Markup {
    html! {
        div.beside {
            div {
                p {
                    "At " (number::exact(r.reference_speed_m_s, "m/s")) ", the servo's lag of "
                    (number::exact(1e3 * r.servo_s, "ms")) " taken apart:"
                }
                dl {
                    (row("Steady rate for each degree of surface", &r.gain_deg_s_per_deg, "deg/s"))
                    @if let Some(percent) = &r.gain_deg_s_per_percent {
                        (row("For each percent of stick", percent, "deg/s"))
                    }
                    (row("Time constant", &r.time_constant_s, "s"))
                    (row("Delay from the stick", &r.delay_s, "s"))
                }
                (sure(&r.gain_deg_s_per_deg))
                @if !r.time_constant_s.enough { p { "Time constant: " (number::sentence(&r.time_constant_s.verdict)) } }
                (seconds.rests_on(&r.gain_deg_s_per_deg.evidence, &format!("stick-{0},{0}-rate,{1}", r.axis.word(), if r.axis.word() == "yaw" { "roll" } else { r.axis.word() })))
            }
            (figure(response_plot(r), "Inputs one after the other. The band is two standard deviations of what the fit leaves, about the fitted rate."))
        }
    }
}

/// Measured, fitted and left-over rate of the first inputs that count.
fn response_plot(r: &Response) -> String {
    let (mut measured, mut fitted, mut left, mut upper, mut lower) =
        (Vec::new(), Vec::new(), Vec::new(), Vec::new(), Vec::new());
    let mut begin = 0.0;
    let shown: Vec<&Trace> = r.traces.iter().filter(|t| t.good).take(SHOWN).collect();
    for trace in &shown {
        let first = trace.time_s.first().copied().unwrap_or(0.0);
        let mut last = begin;
        for ((t, m), f) in trace.time_s.iter().zip(&trace.measured_deg_s).zip(&trace.fitted_deg_s) {
            last = begin + t - first;
            measured.push([last, *m]);
            fitted.push([last, *f]);
            left.push([last, m - f]);
            upper.push([last, f + 2.0 * r.residual_deg_s]);
            lower.push([last, f - 2.0 * r.residual_deg_s]);
        }
        // Between two inputs the band closes to nothing.
        let (near, far) =
            ([begin, trace.fitted_deg_s.first().copied().unwrap_or(0.0)], fitted.last().copied());
        for edge in [&mut upper, &mut lower] {
            edge.insert(edge.len() - trace.fitted_deg_s.len().min(trace.time_s.len()).min(edge.len()), near);
            edge.extend(far);
        }
        for list in [&mut measured, &mut fitted, &mut left] {
            list.push(BREAK);
        }
        begin = last + ROOM_S;
    }
    let axis = r.axis.word();
    let mut plot = Plot::new(
        &format!("{axis} rate after {} of {} inputs", shown.len(), r.good),
        "Measured rate, the rate of the fitted model, and what is left between them.",
        "Time, s",
        "Rate, deg/s",
    );
    if !upper.is_empty() {
        lower.reverse();
        upper.extend(lower);
        plot = plot.with("two standard deviations", Look::Band, upper);
    }
    plot.with("fitted", Look::Line, fitted)
        .with("left over", Look::Line, left)
        .with("measured", Look::Points, thinned(measured))
        .draw()
}

/// Points thinned to what can be told apart.
fn thinned(points: Vec<[f64; 2]>) -> Vec<[f64; 2]> {
    let stride = points.len().div_ceil(220).max(1);
    points.into_iter().step_by(stride).collect()
}

fn gains(h: &Handling) -> Markup {
    let found: Vec<&MeasuredGains> = h.gains.iter().flatten().collect();
    html! {
        @if found.is_empty() {
            p { "None: no axis has a measured answer to work them out from." }
        } @else {
            table.stack {
                thead { tr { th { "Axis" } th { "Feed-forward" } th { "Proportional" } th { "Integral" } th { "Largest rate" } } }
                tbody {
                    @for g in &found {
                        tr {
                            th scope="row" { (g.axis.word()) }
                            td data-name="Feed-forward" { (number::finding(&g.feed_forward_s, "s")) }
                            td data-name="Proportional" { (number::finding(&g.proportional_s, "s")) }
                            td data-name="Integral" { (number::finding(&g.integral, "")) }
                            td data-name="Largest rate" { (number::finding(&g.largest_rate_deg_s, "deg/s")) }
                        }
                    }
                }
            }
            p.note { "Degrees of surface for each deg/s (s), and for each degree." }
            @for g in &found { p { strong { (g.axis.word()) ": " } (number::sentence(&g.proportional_s.verdict)) } }
        }
    }
}

fn feel(f: &Feel) -> Markup {
    html! {
        p {
            strong { @if f.enough { "Known. " } @else { "Not known yet. " } }
            (number::sentence(&f.verdict))
        }
        div.plots {
            (figure(feel_plot(f, 0), "Size of what the loops add, about its mean; within the band pilots did not notice it."))
            (figure(feel_plot(f, 1), "Phase of what the loops add."))
            (figure(coherence_plot(f), "How much of the rate follows the stick; below 0.6 a frequency does not count."))
        }
    }
}

/// What the loops add, size (0) or phase (1), with its envelope.
fn feel_plot(f: &Feel, which: usize) -> String {
    let (title, y) = if which == 0 { ("Added size", "Size, dB") } else { ("Added phase", "Phase, deg") };
    let pick = |p: &learn::feel::Point| {
        if which == 0 { (p.added[0], p.added_sd[0]) } else { (p.added[1], p.added_sd[1]) }
    };
    let band = |p: &learn::feel::Point, high: bool| {
        let [low_db, high_db, low_deg, high_deg] = p.envelope;
        match (which, high) {
            (0, false) => low_db,
            (0, true) => high_db,
            (_, false) => low_deg,
            (_, true) => high_deg,
        }
    };
    let mut edge: Vec<[f64; 2]> = f.points.iter().map(|p| [p.frequency_rad_s, band(p, true)]).collect();
    edge.extend(f.points.iter().rev().map(|p| [p.frequency_rad_s, band(p, false)]));
    let counting: Vec<&learn::feel::Point> = f.points.iter().filter(|p| p.counts).collect();
    let doubt = |sign: f64| {
        counting
            .iter()
            .map(|p| {
                let (value, sd) = pick(p);
                [p.frequency_rad_s, value + sign * 2.0 * sd]
            })
            .collect::<Vec<[f64; 2]>>()
    };
    Plot::new(title, "What stabilizing adds to the answer, over frequency.", "Frequency, rad/s", y)
        .with("not noticed", Look::Band, edge)
        .with("added", Look::Points, counting.iter().map(|p| [p.frequency_rad_s, pick(p).0]).collect())
        .with("two standard deviations", Look::Line, {
            let mut both = doubt(1.0);
            both.push(BREAK);
            both.extend(doubt(-1.0));
            both
        })
        .draw()
}

fn coherence_plot(f: &Feel) -> String {
    let of =
        |k: usize| f.points.iter().map(|p| [p.frequency_rad_s, p.coherence[k]]).collect::<Vec<[f64; 2]>>();
    Plot::new(
        "Coherence of stick and rate",
        "Share of the rate that follows the stick, over frequency.",
        "Frequency, rad/s",
        "Coherence",
    )
    .with("direct", Look::Line, of(0))
    .with(f.control.word(), Look::Line, of(1))
    .draw()
}

fn derivatives(d: &Derivatives) -> Markup {
    html! {
        p { "Per radian, body axes, about the mass and inertia predicted." }
        table.stack {
            thead { tr { th { "Derivative" } th { "Predicted" } th { "Flown" } th { "By balance of frequencies" } th { "Enough" } } }
            tbody {
                @for one in d.all() {
                    tr {
                        th scope="row" { (one.symbol) }
                        td data-name="Predicted" { (number::fixed(one.predicted, 3)) }
                        td data-name="Flown" { (number::finding(&one.finding, "")) }
                        td data-name="By balance of frequencies" { @match one.equation_error { Some(v) => (number::fixed(v, 3)), None => "none" } }
                        td data-name="Enough" { @if one.finding.enough { "yes" } @else { (number::sentence(&one.finding.verdict)) } }
                    }
                }
            }
        }
        @for group in [&d.longitudinal, &d.lateral] {
            @match group {
                Ok(group) => {
                    p.note {
                        "From " (group.inputs) " inputs at " (number::exact(group.airspeed_m_s, "m/s")) " and "
                        (number::exact(group.mass_kg, "kg")) "; the fit explains "
                        @for (k, (name, share)) in group.explained.iter().enumerate() {
                            @if k > 0 { ", " } (number::fixed(100.0 * share, 0)) "\u{a0}% of the " (name)
                        } "."
                    }
                    div.plots { @for plot in group_plots(group) { (figure(plot, "")) } }
                },
                Err(why) => (not_learnt(why)),
            }
        }
    }
}

fn group_plots(group: &Group) -> Vec<String> {
    group
        .explained
        .iter()
        .map(|(output, _)| {
            let (mut measured, mut fitted, mut left) = (Vec::new(), Vec::new(), Vec::new());
            let mut begin = 0.0;
            for trace in group.traces.iter().filter(|t| t.output == *output).take(SHOWN) {
                let first = trace.time_s.first().copied().unwrap_or(0.0);
                let mut last = begin;
                for ((t, m), f) in trace.time_s.iter().zip(&trace.measured).zip(&trace.fitted) {
                    last = begin + t - first;
                    measured.push([last, *m]);
                    fitted.push([last, *f]);
                    left.push([last, m - f]);
                }
                fitted.push(BREAK);
                left.push(BREAK);
                begin = last + ROOM_S;
            }
            let unit = if output.starts_with("force") { "m/s²" } else { "deg/s" };
            Plot::new(
                &format!("Fit of the {output}"),
                "Measured and fitted output of the model with all derivatives, and what is left.",
                "Time, s",
                unit,
            )
            .with("fitted", Look::Line, fitted)
            .with("left over", Look::Line, left)
            .with("measured", Look::Points, thinned(measured))
            .draw()
        })
        .collect()
}

fn vibration(v: &Vibration) -> Markup {
    html! {
        p {
            strong { @if v.enough { "Enough to rely on. " } @else { "Not enough to rely on yet. " } }
            (number::sentence(&v.verdict))
        }
        table.stack {
            thead { tr { th { "Throttle" } th { "Shaking, x y z" } th { "Strongest line" } th { "It is" } } }
            tbody {
                @for b in &v.bands {
                    tr {
                        th scope="row" { (b.words()) ", " (number::exact(b.seconds.round(), "s")) }
                        td data-name="Shaking, x y z" {
                            (b.rms_m_s2.iter().map(|r| number::with_doubt(*r, r * b.relative_sd, "")).collect::<Vec<_>>().join(", ")) " m/s²"
                        }
                        td data-name="Strongest line" {
                            @match b.lines.first() {
                                Some(l) => { (number::exact(l.amplitude_m_s2, "m/s2")) " at " (number::exact(l.frequency_hz, "Hz")) },
                                None => "none",
                            }
                        }
                        td data-name="It is" {
                            @match b.lines.first().and_then(|l| l.cause) {
                                Some(cause) => (cause.words()),
                                None => "not known",
                            }
                        }
                    }
                }
            }
        }
        (figure(spectrum_plot(&v.bands), "Power of all three axes, in dB of (m/s²)²/Hz."))
    }
}

/// Spectra by throttle.
fn spectrum_plot(bands: &[Band]) -> String {
    let mut plot = Plot::new(
        "Shaking over frequency",
        "Power density of specific force over frequency, a line for each band of throttle.",
        "Frequency, Hz",
        "Density, dB",
    );
    for b in bands {
        let points = b
            .spectrum
            .frequency_hz
            .iter()
            .zip(&b.spectrum.density)
            .skip(2)
            .map(|(f, d)| [*f, 10.0 * d.max(1e-12).log10()])
            .collect();
        plot = plot.with(&b.words(), Look::Line, points);
    }
    plot.draw()
}

fn oscillation(o: &Oscillations, seconds: Seconds<'_>) -> Markup {
    html! {
        @if o.found.is_empty() {
            p { strong { @if o.enough { "Enough to rely on. " } @else { "Not enough to rely on yet. " } } (number::sentence(&o.verdict)) }
        }
        @for one in &o.found {
            div.alarm {
                p { (number::sentence(&one.verdict)) }
                p.note { "At " (seconds.window(&one.window, "roll-rate,pitch-rate,yaw-rate,airspeed")) "." }
            }
        }
    }
}
