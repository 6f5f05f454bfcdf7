//! `eyas predict`: will it fly, and how?

use std::fmt::Write as _;
use std::path::PathBuf;

use numerics::units::{DEG_PER_RAD, G_M_S2};
use predict::prediction::Prediction;

use report::number::{known, outcome, outcome_plain};

use super::words::paragraph;
use super::{Answer, Common, predict_more as more};
use crate::files;
use crate::json::authority;
use crate::json::prediction::{self, AXES, why};
use crate::tasks::fetch;
use crate::tasks::forecast::{Air, forecast};
use crate::tell::Trouble;

/// Predict balance range, speeds, control, drive, motions and first gains
///
/// A section that was not met before is computed, which takes some seconds, and kept in the user's cache folder.
/// EYAS_CACHE names another folder; EYAS_SECTIONS=at-hand computes nothing, EYAS_SECTIONS=simple does without computed
/// sections.
///
/// Example: eyas predict plover.toml --height-m 300 --temperature-c 25 --report plover.html
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// Aircraft file, or name of an aircraft in the hangar
    aircraft: String,
    #[command(flatten)]
    air: Air,
    /// Write a page with drawing, plots and remarks
    #[arg(long, value_name = "FILE.html")]
    report: Option<PathBuf>,
    /// Table of your controller's settings: print the gains as lines to enter (see examples/scale.toml)
    #[arg(long, value_name = "FILE.toml")]
    scale: Option<PathBuf>,
}

pub(super) fn run(args: &Args, common: &Common) -> Result<Answer, Trouble> {
    if let Some(file) = &args.report {
        files::page_name(file)?;
    }
    let fetched = fetch::aircraft(&args.aircraft, common)?;
    let prediction = forecast(&fetched.aircraft, &args.air)?;
    let mut text = sentences(&fetched.aircraft.name, &prediction);
    let mut document = prediction::document(&fetched.aircraft.name, &prediction);
    let mut no = !prediction.against.is_empty();
    if let Some(file) = &args.scale {
        let lines = more::read_scale(file, &prediction.gains)?;
        no |= lines.iter().any(|line| line.value.is_err());
        text.push_str(&more::lines(&lines));
        document["gains"]["lines"] = authority::lines(&lines);
    }
    if let Some(file) = &args.report {
        files::write_whole(
            file,
            report::predict_page::predict_html(&fetched.aircraft, &prediction).as_bytes(),
        )?;
        let _ = writeln!(text, "\nWrote {}", file.display());
    }
    Ok(Answer { text, json: document, no })
}

/// The predictions as a page of lines for the terminal.
pub(crate) fn sentences(name: &str, p: &Prediction) -> String {
    let mut t = more::against(p);
    let _ = writeln!(
        t,
        "{name}: predictions, ± two standard deviations, at air density {:.3} kg/m³",
        p.density_kg_m3
    );
    let mut line = |name: &str, value: String| {
        let _ = writeln!(t, "  {name:<34} {value}");
    };
    line("mass", format!("{} ({})", known(p.balance.total_kg, 1000.0, "g"), p.balance.total_kg.from.word()));
    line(
        "balance point",
        format!(
            "{} aft of the datum ({})",
            known(p.balance.cg_x_m, 1000.0, "mm"),
            p.balance.cg_x_m.from.word()
        ),
    );
    line("neutral point", format!("{} aft of the datum", known(p.stability.neutral_point_x_m, 1000.0, "mm")));
    line(
        "static margin",
        format!("{} of the mean chord", known(p.stability.static_margin_percent, 1.0, "%")),
    );
    for (name, range) in [
        ("balance range", &p.stability.range_x_m),
        ("balance range, first flight", &p.stability.first_flight_range_x_m),
    ] {
        line(
            name,
            match range {
                Ok([a, b]) => format!("{:.0} to {:.0} mm aft of the datum", a * 1000.0, b * 1000.0),
                Err(reason) => format!("unknown: {}", why(reason)),
            },
        );
    }
    line(
        "stall, wings level",
        format!("{} ({})", known(p.speeds.stall_m_s, 1.0, "m/s"), p.speeds.stall_m_s.from.word()),
    );
    let [b30, b45, b60] = p.speeds.stall_banked_m_s;
    line("stall in 30/45/60° of bank", format!("{b30:.1} / {b45:.1} / {b60:.1} m/s"));
    line(
        "largest lift coefficient",
        format!("{} ({})", known(p.lift.cl_max, 1.0, ""), p.lift.cl_max.from.word()),
    );
    match &p.stalling {
        Ok(s) => {
            if let Ok(flaps) = &s.flaps {
                line(
                    "stall, flaps down",
                    format!(
                        "{}, largest lift {}",
                        known(flaps.stall_m_s, 1.0, "m/s"),
                        known(flaps.cl_max, 1.0, "")
                    ),
                );
            }
            if let Some(first) = &s.clean.first {
                line(
                    "stalls first",
                    format!(
                        "{} at {:.0} % of the half span, {}",
                        first.surface,
                        100.0 * first.half_span_share,
                        match s.clean.aileron_share {
                            None => "no aileron on the wing".to_owned(),
                            Some(share) if share < 0.05 && !s.clean.starts_at_aileron =>
                                "inboard of the ailerons".to_owned(),
                            Some(share) => format!(
                                "{:.0} % of the part with the ailerons stalled a degree later",
                                100.0 * share
                            ),
                        }
                    ),
                );
            }
        }
        Err(_) => line("sections", "simple section model; where it stalls first is not known".to_owned()),
    }
    line(
        "least sink",
        format!(
            "{} at {}",
            known(p.polar.least_sink_m_s, 1.0, "m/s"),
            known(p.speeds.least_sink_m_s, 1.0, "m/s")
        ),
    );
    line(
        "best glide",
        format!(
            "1 : {} at {}",
            known(p.polar.best_glide_ratio, 1.0, ""),
            known(p.speeds.best_glide_m_s, 1.0, "m/s")
        ),
    );
    line(
        "cruise",
        format!("{} ({})", known(p.speeds.cruise_m_s, 1.0, "m/s"), p.speeds.cruise_m_s.from.word()),
    );
    line("pitch attitude at cruise", known(p.speeds.cruise_pitch_rad, DEG_PER_RAD, "deg"));
    line("elevator to trim at cruise", outcome(&p.speeds.cruise_elevator_rad, DEG_PER_RAD, "deg"));
    line("top speed", outcome(&p.speeds.top_m_s, 1.0, "m/s"));
    match &p.drive {
        Ok(d) => {
            line(
                "static pull",
                format!(
                    "{} ({})",
                    known(d.static_thrust_n, 1000.0 / G_M_S2, "g"),
                    d.static_thrust_n.from.word()
                ),
            );
            line(
                "static current, speed",
                format!("{}, {}", known(d.static_current_a, 1.0, "A"), known(d.static_rpm, 1.0, "rpm")),
            );
            line("pull over weight", known(d.thrust_to_weight, 1.0, ""));
            line("current at cruise", outcome(&d.cruise_current_a, 1.0, "A"));
            line("endurance at cruise", outcome(&d.endurance_s, 1.0 / 60.0, "min"));
            line("range in still air", outcome(&d.range_m, 0.001, "km"));
            line("best climb", outcome(&d.climb_m_s, 1.0, "m/s"));
        }
        Err(reason) => line("drive", format!("unknown: {}", why(reason))),
    }
    line("roll rate at full stick, cruise", outcome(&p.control.roll_rate_rad_s, DEG_PER_RAD, "deg/s"));
    line("time to bank 45°", outcome_plain(&p.control.time_to_bank_45_s, 1.0, "s"));
    line(
        "elevator left at the stall",
        outcome_plain(&p.control.elevator_left_at_stall_rad, DEG_PER_RAD, "deg"),
    );
    t.push_str(&more::cautions(p));
    t.push_str(&more::limits(p));
    t.push_str(&more::throws(p));
    let _ = writeln!(t, "\nMotions at cruise");
    for mode in &p.modes {
        t.push_str(&paragraph(&format!("{}: {}", mode.name, mode.sentence), "  ", 100));
    }
    t.push_str(&more::motions(p));
    let _ = writeln!(t, "\nFirst gains, surface degrees per degree a second (integral: per degree)");
    for (axis, gains) in AXES.iter().zip(&p.gains) {
        match gains {
            Ok(g) => {
                let _ = writeln!(
                    t,
                    "  {axis:<6} feed-forward {:.4}  proportional {:.4}  integral {:.4}",
                    g.feed_forward_s, g.proportional_s, g.integral
                );
            }
            Err(reason) => t.push_str(&paragraph(&format!("{axis}: none: {}", why(reason)), "  ", 100)),
        }
    }
    t.push_str(&more::doubts(p));
    if !p.remarks.is_empty() {
        let _ = writeln!(t, "\nTo know about these numbers ({} lattice panels)", p.panels);
    }
    for remark in &p.remarks {
        t.push_str(&paragraph(remark, "  ", 100));
    }
    t.push_str(
        "\nAll of this is an estimate. Local law, the field's rules and a club's instructor come first.\n",
    );
    t
}
