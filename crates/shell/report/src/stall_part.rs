//! What happens up to the stall and beyond, in sentences and curves?

use maud::{Markup, html};
use numerics::units::DEG_PER_RAD;
use predict::prediction::Prediction;
use predict::stalling::{Curve, Stalling, Trimmed, first_stall_sentence};

use crate::number;
use crate::page::figure;
use crate::plot::{Look, Plot};

/// Sentences and plots of the stall, or that it was not computed.
pub(crate) fn stall(p: &Prediction) -> Markup {
    html! {
        h2 { "Up to the stall and beyond" }
        @match &p.stalling {
            Ok(stalling) => {
                @for sentence in sentences(stalling) { p { (number::sentence(&sentence)) } }
                div.plots { @for (plot, note) in plots(p, stalling) { (figure(plot, &note)) } }
            },
            Err(_) => p {
                "Predicted with the simple section model: thin sections, with correlations for the greatest lift and the "
                "drag. Where the wing stalls first is not known from it."
            },
        }
    }
}

fn sentences(s: &Stalling) -> Vec<String> {
    let lift = |c: &Curve| number::known(c.cl_max, 1.0, "");
    let mut out = vec![format!(
        "The greatest lift coefficient is {}, at {} of angle of attack with {} of elevator{}",
        lift(&s.clean),
        number::coarse(s.clean.alpha_at_max_rad * DEG_PER_RAD, "deg"),
        number::coarse(s.clean.elevator_at_max_rad * DEG_PER_RAD, "deg"),
        if s.clean.elevator_to_spare { "" } else { ": its stop; more throw would reach more lift" },
    )];
    if let Some(first) = first_stall_sentence(&s.clean) {
        out.push(format!("It stalls {first}"));
    }
    if s.clean.aileron_share.is_some_and(|share| share >= 0.05) {
        out.push(
            "When it stalls lower the nose first, and keep the wings level with the rudder, not with aileron"
                .to_owned(),
        );
    }
    if let Ok(flaps) = &s.flaps {
        out.push(format!(
            "With {} of flap the greatest lift coefficient is {}, and it stalls at {}{}",
            number::coarse(flaps.flap_rad * DEG_PER_RAD, "deg"),
            lift(flaps),
            number::known(flaps.stall_m_s, 1.0, "m/s"),
            first_stall_sentence(flaps).map_or_else(String::new, |first| format!(", {first}")),
        ));
    }
    let known: Vec<String> = s
        .effectiveness
        .iter()
        .filter_map(|(name, share)| Some(format!("{name} {} %", number::fixed(100.0 * (*share)?, 0))))
        .collect();
    if !known.is_empty() {
        out.push(format!(
            "Of what they would do without a boundary layer the surfaces do: {}; gaps at the hinges take away more",
            known.join(", ")
        ));
    }
    out
}

fn plots(p: &Prediction, s: &Stalling) -> Vec<(String, String)> {
    let over_alpha = |rows: &[Trimmed]| -> Vec<[f64; 2]> {
        rows.iter().map(|r| [r.alpha_rad * DEG_PER_RAD, r.cl]).collect()
    };
    let mut lift = Plot::new(
        "Trimmed lift through the stall",
        "Lift coefficient over angle of attack, each state balanced by the elevator, to beyond the greatest lift.",
        "Angle of attack, °",
        "Lift coefficient CL",
    )
    .with("flaps up", Look::Line, over_alpha(&s.clean.rows));
    if let Ok(flaps) = &s.flaps {
        lift = lift.with("flaps down", Look::Line, over_alpha(&flaps.rows));
    }
    lift = lift.mark("greatest lift", s.clean.alpha_at_max_rad * DEG_PER_RAD, 0.0);
    if let Some(first) = &s.clean.first {
        lift = lift.mark("first stall", first.alpha_rad * DEG_PER_RAD, 0.0);
    }
    let mut plots = vec![(lift.draw(), String::new())];
    if s.level.len() > 2 {
        let aero = &p.model.aerodynamics;
        let parabola = s
            .level
            .iter()
            .map(|r| {
                let lift = r.cl - aero.cl_least_drag;
                let cd = aero.cd0 + aero.induced * lift * lift + aero.derivatives.CDde * r.elevator_rad;
                [cd, r.cl]
            })
            .collect();
        let mut polar = Plot::new(
            "Trimmed polar",
            "Lift coefficient over drag coefficient in level flight from just above the stall to three times its speed, \
             each at its own Reynolds numbers.",
            "Drag coefficient CD",
            "Lift coefficient CL",
        )
        .with("computed", Look::Line, s.level.iter().map(|r| [r.cd, r.cl]).collect())
        .with("as used for speeds", Look::Line, parabola);
        polar.from_zero = true;
        plots.push((polar.draw(), "Speeds, climb and endurance rest on the dashed line.".to_owned()));
    }
    let mut loading = Plot::new(
        "Load along the span at the greatest lift",
        "Lift coefficient of each strip at the greatest lift of the aircraft, and what its section reaches there.",
        "Half span, % (0: middle)",
        "Lift coefficient of the strip",
    );
    let mut names: Vec<&str> = s.loading.iter().map(|l| l.surface.as_str()).collect();
    names.dedup();
    for name in names {
        let of = || s.loading.iter().filter(move |l| l.surface == name);
        loading =
            loading.with(name, Look::Line, of().map(|l| [100.0 * l.half_span_share, l.cl]).collect()).with(
                &format!("{name}: greatest of its section"),
                Look::Line,
                of().filter_map(|l| Some([100.0 * l.half_span_share, l.cl_limit?])).collect(),
            );
    }
    if let Some(first) = &s.clean.first {
        loading = loading.mark("stalls first", 100.0 * first.half_span_share, 0.0);
    }
    loading.from_zero = true;
    plots.push((
        loading.draw(),
        "Where the lines meet the flow lets go; a wing that stalls inboard keeps its ailerons.".to_owned(),
    ));
    plots
}
