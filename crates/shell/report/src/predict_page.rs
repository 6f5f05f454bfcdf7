//! What is predicted of this aircraft, in sentences with numbers, a drawing and curves?

use aircraft::Aircraft;
use aircraft::control::Axis;
use maud::{Markup, html};
use numerics::units::DEG_PER_RAD;
use plan::panels;
use predict::prediction::{DrivePrediction, Outcome, Prediction};

use crate::authority_part;
use crate::page::{facts, figure, page};
use crate::plot::{Look, Plot};
use crate::three_view::three_view;
use crate::{drive_part, number, stall_part};

mod motion_plots;

/// All predictions as one self-contained page.
#[must_use]
pub fn predict_html(aircraft: &Aircraft, prediction: &Prediction) -> String {
    let title = format!("What is predicted of {}", aircraft.name);
    page(&title, "", &html! { h1 { (title) } (predict_part(aircraft, prediction)) })
}

/// The same without the page around it.
#[must_use]
pub fn predict_part(aircraft: &Aircraft, prediction: &Prediction) -> Markup {
    html! {
        p.lead { (lead(aircraft, prediction)) }
        @let unsure = plan::advice::not_shown_stable(prediction);
        @if !(prediction.against.is_empty() && prediction.cautions.is_empty() && unsure.is_none()) {
            div.warn {
                h3 { "What stands against a flight" }
                ul {
                    @for finding in &prediction.against { li { strong { "Not fit to fly. " } (finding) } }
                    @if let Some(unsure) = &unsure { li { (unsure) } }
                    @for caution in &prediction.cautions { li { (caution) } }
                }
            }
        }
        div.beside {
            div {
                h2 { "Balance" }
                @for sentence in balance(prediction) { p { (sentence) } }
                (authority_part::limits(prediction))
                h2 { "Speeds" }
                @for sentence in speeds(aircraft, prediction) { p { (sentence) } }
                (speed_facts(prediction))
            }
            div {
                (figure(
                    three_view(
                        aircraft,
                        Some(prediction.balance.cg_x_m.value),
                        Some(prediction.stability.neutral_point_x_m.value),
                        prediction.stability.range_x_m.as_ref().ok().copied(),
                    ),
                    "Drawn from the aircraft file; if it does not look like yours, the numbers are not of yours.",
                ))
            }
        }
        h2 { "Lift, drag and trim over speed" }
        div.plots { @for plot in polar_plots(aircraft, prediction) { (figure(plot, "")) } }
        (stall_part::stall(prediction))
        h2 { "Drive" }
        @for sentence in drive(&prediction.drive) { p { (sentence) } }
        @if let Ok(drive) = &prediction.drive {
            @for sentence in drive_part::sentences(drive) { p { (sentence) } }
        }
        div.plots {
            @if let Some(plot) = thrust_plot(prediction) {
                (figure(plot, "Where full-throttle thrust meets drag is the fastest level flight; what lies between them climbs."))
            }
            @if let Ok(drive) = &prediction.drive {
                @for (plot, note) in drive_part::plots(prediction, drive) { (figure(plot, note)) }
            }
        }
        h2 { "Control" }
        @for sentence in control(aircraft, prediction) { p { (sentence) } }
        div.plots {
            @for (plot, note) in motion_plots::authority(aircraft, prediction) { (figure(plot, note)) }
        }
        (authority_part::throws(prediction))
        h2 { "How it moves by itself" }
        @for mode in &prediction.modes {
            p { strong { (capital(mode.name)) ". " } (number::sentence(&mode.sentence)) " " (mode_numbers(mode)) }
        }
        div.plots { @for (plot, note) in motion_plots::responses(prediction) { (figure(plot, note)) } }
        (authority_part::motions(prediction))
        h2 { "First gains" }
        (gains(prediction))
        (authority_part::doubts(prediction))
        @if !prediction.remarks.is_empty() {
            h2 { "What to know of these numbers" }
            ul { @for remark in &prediction.remarks { li { (number::sentence(remark)) } } }
        }
        p.note {
            "Computed with " (prediction.panels) " lattice panels, for air of "
            (number::exact(prediction.density_kg_m3, "kg/m3")) "."
        }
    }
}

fn capital(word: &str) -> String {
    let mut letters = word.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}

fn lead(aircraft: &Aircraft, prediction: &Prediction) -> String {
    let p = prediction;
    format!(
        "{} weighs {} on {} of wing, stalls at {} and cruises at {}.",
        aircraft.name,
        number::known(p.balance.total_kg, 1.0, "kg"),
        number::exact(p.geometry.wing_area_m2, "m2"),
        number::known(p.speeds.stall_m_s, 1.0, "m/s"),
        number::known(p.speeds.cruise_m_s, 1.0, "m/s"),
    )
}

fn range_words(range: &Outcome<[f64; 2]>) -> String {
    match range {
        Ok([forward, aft]) => {
            format!("{} to {} mm", number::fixed(forward * 1000.0, 0), number::fixed(aft * 1000.0, 0))
        }
        Err(why) => number::not_predicted(why),
    }
}

fn balance(p: &Prediction) -> Vec<String> {
    let mut out = vec![
        format!(
            "It balances {} aft of the datum ({}). The neutral point lies at {}, so the static margin is {}.",
            number::known(p.balance.cg_x_m, 1000.0, "mm"),
            p.balance.cg_x_m.from.word(),
            number::known(p.stability.neutral_point_x_m, 1000.0, "mm"),
            number::known(p.stability.static_margin_percent, 1.0, "percent"),
        ),
        format!(
            "The balance point may lie within {}; for a first flight within {}.",
            range_words(&p.stability.range_x_m),
            range_words(&p.stability.first_flight_range_x_m)
        ),
        format!(
            "Mass {} ({}); wing area {}, mean chord {}, span {}, aspect ratio {}, wing loading {}.",
            number::known(p.balance.total_kg, 1.0, "kg"),
            p.balance.total_kg.from.word(),
            number::exact(p.geometry.wing_area_m2, "m2"),
            number::exact(p.geometry.mean_chord_m * 1000.0, "mm"),
            number::exact(p.geometry.span_m * 1000.0, "mm"),
            number::exact(p.geometry.aspect_ratio, ""),
            number::exact(p.geometry.wing_loading_kg_m2, "kg/m2"),
        ),
    ];
    out.extend(p.balance.remarks.iter().map(|remark| number::sentence(remark)));
    out
}

fn speeds(aircraft: &Aircraft, p: &Prediction) -> Vec<String> {
    let [thirty, _, sixty] = p.speeds.stall_banked_m_s;
    vec![
        format!(
            "Wings level it stalls at {}; holding height in a 30° bank at {}, at 60° already at {}. An approach at 1.3 \
             times stall is {}.",
            number::known(p.speeds.stall_m_s, 1.0, "m/s"),
            number::coarse(thirty, "m/s"),
            number::coarse(sixty, "m/s"),
            number::known(p.speeds.stall_m_s, 1.3, "m/s"),
        ),
        format!(
            "Without power it glides best at {}, {} m for each meter of height, and sinks least at {}, with {}.",
            number::known(p.speeds.best_glide_m_s, 1.0, "m/s"),
            number::known(p.polar.best_glide_ratio, 1.0, ""),
            number::known(p.speeds.least_sink_m_s, 1.0, "m/s"),
            number::known(p.polar.least_sink_m_s, 1.0, "m/s"),
        ),
        format!(
            "At cruise the reference line stands at {}. Trim there: {}.",
            number::known(p.speeds.cruise_pitch_rad, DEG_PER_RAD, "deg"),
            trim_words(aircraft, &p.speeds.cruise_elevator_rad),
        ),
    ]
}

/// A trim in pitch in the panels' own degrees, or why there is none.
fn trim_words(aircraft: &Aircraft, elevator: &Outcome<aircraft::Known>) -> String {
    match elevator {
        Ok(elevator) => panels::words(&panels::at_axis(aircraft, Axis::Pitch, elevator.uncertain())),
        Err(why) => number::not_predicted(why),
    }
}

/// The movable that answers an axis most, by name.
fn lead_name(aircraft: &Aircraft, axis: Axis) -> String {
    panels::lead(aircraft, axis).map_or("surface".to_owned(), |(movable, _)| movable.name.clone())
}

/// Degrees of that movable for each degree of the axis.
fn share(aircraft: &Aircraft, axis: Axis) -> f64 {
    panels::lead(aircraft, axis).map_or(1.0, |(_, gain)| gain.abs())
}

fn speed_facts(p: &Prediction) -> Markup {
    let flaps = match p.stalling.as_ref().map(|s| &s.flaps) {
        Ok(Ok(flaps)) => number::known(flaps.stall_m_s, 1.0, "m/s"),
        Ok(Err(predict::prediction::NotPredicted::Missing { .. })) => "no flaps".to_owned(),
        Ok(Err(why)) | Err(why) => number::not_predicted(why),
    };
    facts([
        ("Stall, wings level", number::known(p.speeds.stall_m_s, 1.0, "m/s")),
        ("Stall, flaps down", flaps),
        ("Approach, 1.3 times stall", number::known(p.speeds.stall_m_s, 1.3, "m/s")),
        ("Least sink", number::known(p.speeds.least_sink_m_s, 1.0, "m/s")),
        ("Best glide", number::known(p.speeds.best_glide_m_s, 1.0, "m/s")),
        ("Cruise", number::known(p.speeds.cruise_m_s, 1.0, "m/s")),
        ("Top, level", number::outcome(&p.speeds.top_m_s, 1.0, "m/s")),
    ])
}

fn polar_plots(aircraft: &Aircraft, p: &Prediction) -> Vec<String> {
    let rows = &p.polar.rows;
    let column = |i: usize, factor: f64| -> Vec<[f64; 2]> {
        rows.iter().filter_map(|row| Some([row[0], row.get(i)? * factor])).collect()
    };
    let stall = (p.speeds.stall_m_s.value, 2.0 * p.speeds.stall_m_s.sd);
    let cruise = (p.speeds.cruise_m_s.value, 2.0 * p.speeds.cruise_m_s.sd);
    let glide = (p.speeds.best_glide_m_s.value, 2.0 * p.speeds.best_glide_m_s.sd);
    let speed = "Airspeed, m/s";
    let mut sink = Plot::new(
        "Sink without power",
        "Sink speed over airspeed in steady glide, from stall to top speed.",
        speed,
        "Sink, m/s",
    )
    .with("", Look::Line, column(3, 1.0))
    .mark("stall", stall.0, stall.1)
    .mark("best glide", glide.0, glide.1)
    .mark("cruise", cruise.0, cruise.1);
    sink.from_zero = true;
    let mut lift = Plot::new(
        "Lift and drag coefficients in level flight",
        "Lift coefficient, and ten times the drag coefficient, over airspeed in level flight.",
        speed,
        "Coefficient",
    )
    .with("lift CL", Look::Line, column(1, 1.0))
    .with("drag, 10 × CD", Look::Line, column(2, 10.0))
    .mark("stall", stall.0, stall.1)
    .mark("cruise", cruise.0, cruise.1);
    lift.from_zero = true;
    let mut plots = vec![sink.draw(), lift.draw()];
    // What a gauge reads: the panel's own degrees, whatever its sign and share on the axis.
    if let Some((movable, gain)) = panels::lead(aircraft, Axis::Pitch) {
        let slower = if gain > 0.0 { "up" } else { "down" };
        let elevator = Plot::new(
            &format!("Trim: {}", movable.name),
            &format!(
                "Angle of the {} itself that holds each airspeed, trailing edge down positive. It should go further {slower} \
                 the slower it flies.",
                movable.name
            ),
            speed,
            &format!("{}, ° (trailing edge down +)", capital(&movable.name)),
        )
        .with("", Look::Line, column(4, gain * DEG_PER_RAD))
        .mark("stall", stall.0, stall.1)
        .mark("cruise", cruise.0, cruise.1);
        plots.push(elevator.draw());
    }
    plots
}

/// Thrust at each throttle of the table and drag in level flight, over airspeed.
fn thrust_plot(p: &Prediction) -> Option<String> {
    let table = p.model.thrust.as_ref()?;
    let columns = table.airspeed_m_s.len();
    if columns == 0 {
        return None;
    }
    let aero = &p.model.aerodynamics;
    let mut plot = Plot::new(
        "Thrust and drag",
        "Thrust over airspeed at several throttle settings, and drag in level flight.",
        "Airspeed, m/s",
        "Force, N",
    );
    let drag = p
        .polar
        .rows
        .iter()
        .map(|[speed, _, drag, ..]| [*speed, 0.5 * p.density_kg_m3 * speed * speed * aero.area_m2 * drag])
        .collect();
    plot = plot.with("drag, level flight", Look::Line, drag);
    // Full throttle and two settings below are enough to see the rest.
    let rows = table.throttle.len();
    let mut chosen: Vec<usize> = vec![rows.saturating_sub(1), (rows.saturating_sub(1)) * 2 / 3, rows / 3];
    chosen.dedup();
    for row in chosen {
        let (Some(throttle), Some(thrust)) =
            (table.throttle.get(row), table.thrust_n.get(row * columns..(row + 1) * columns))
        else {
            continue;
        };
        let points = table
            .airspeed_m_s
            .iter()
            .zip(thrust)
            .filter(|(_, thrust)| **thrust >= 0.0)
            .map(|(speed, thrust)| [*speed, *thrust])
            .collect();
        plot = plot.with(
            &format!("thrust, {} % throttle", number::fixed(throttle * 100.0, 0)),
            Look::Line,
            points,
        );
    }
    plot = plot.mark("stall", p.speeds.stall_m_s.value, 0.0).mark("cruise", p.speeds.cruise_m_s.value, 0.0);
    plot.from_zero = true;
    Some(plot.draw())
}

fn drive(drive: &Outcome<DrivePrediction>) -> Vec<String> {
    let d = match drive {
        Ok(drive) => drive,
        Err(why) => return vec![format!("The drive is {}.", number::not_predicted(why))],
    };
    vec![
        "Numbers at standstill are for a model that is held: propeller clear of everybody, nobody in its arc or line."
            .to_owned(),
        format!(
            "Held at full throttle it pulls {}, {} of its weight, at {} and {}.",
            number::known(d.static_thrust_n, 1.0, "N"),
            number::known(d.thrust_to_weight, 1.0, ""),
            number::known(d.static_rpm, 1.0, "rpm"),
            number::known(d.static_current_a, 1.0, "A"),
        ),
        format!(
            "At cruise it takes {} throttle and {}; it climbs at best with {}.",
            number::outcome_plain(&d.cruise_throttle, 100.0, "percent"),
            number::outcome(&d.cruise_current_a, 1.0, "A"),
            number::outcome(&d.climb_m_s, 1.0, "m/s"),
        ),
        format!(
            "Down to the reserve it cruises for {}, or {} in still air.",
            number::outcome(&d.endurance_s, 1.0 / 60.0, "min"),
            number::outcome(&d.range_m, 0.001, "km"),
        ),
    ]
}

fn control(aircraft: &Aircraft, p: &Prediction) -> Vec<String> {
    let c = &p.control;
    let (roll, pitch) = (share(aircraft, Axis::Roll), share(aircraft, Axis::Pitch));
    let turns = format!(
        "Full roll stick at cruise rolls at {} and banks 45° in {}; each degree of {} gives {}, and the answer builds up \
         with a time constant of {}.",
        number::outcome(&c.roll_rate_rad_s, DEG_PER_RAD, "deg/s"),
        number::outcome_plain(&c.time_to_bank_45_s, 1.0, "s"),
        lead_name(aircraft, Axis::Roll),
        number::outcome_plain(&c.roll_rate_per_rad_s, 1.0 / roll, "deg/s"),
        number::outcome_plain(&c.roll_time_constant_s, 1.0, "s"),
    );
    let pitches = format!(
        "Each degree of {0} pitches at {1}; at the stall {2} of {0} are left beyond trim.",
        lead_name(aircraft, Axis::Pitch),
        number::outcome_plain(&c.pitch_rate_per_rad_s, 1.0 / pitch, "deg/s"),
        number::outcome_plain(&c.elevator_left_at_stall_rad, pitch * DEG_PER_RAD, "deg"),
    );
    vec![turns, pitches]
}

fn mode_numbers(mode: &predict::prediction::Mode) -> String {
    match (mode.frequency_rad_s, mode.damping) {
        (Some(frequency), Some(damping)) => {
            format!(
                "({}, damping ratio {}.)",
                number::coarse(frequency, "rad/s"),
                number::coarse(damping, "")
            )
        }
        _ if mode.time_constant_s < 0.0 => {
            format!("(Grows by a factor of 2.7 in {}.)", number::coarse(-mode.time_constant_s, "s"))
        }
        _ => format!("(Time constant {}.)", number::coarse(mode.time_constant_s, "s")),
    }
}

fn gains(p: &Prediction) -> Markup {
    html! {
        p {
            "To begin with, in physical units: degrees of the axis for each degree a second of turning rate (a mixed "
            "surface stands at its share of them). Set them with "
            "the propeller off, check the direction of every surface, and try them at height with a hand on the switch."
        }
        @for (axis, gains) in ["roll", "pitch", "yaw"].iter().zip(&p.gains) {
            @match gains {
                Ok(g) => p {
                    strong { (capital(axis)) ": " }
                    "feed-forward " (number::coarse(g.feed_forward_s, "")) " s, proportional " (number::coarse(g.proportional_s, ""))
                    " s, integral " (number::coarse(g.integral, "")) ", derivative " (number::coarse(g.derivative_s2, "")) " s²."
                },
                Err(why) => p { strong { (capital(axis)) ": " } (number::not_predicted(why)) "." },
            }
        }
    }
}
