//! What does `eyas learn` tell of answers to the stick, gains, feel, derivatives, shaking and loops?

use std::fmt::Write as _;

use aircraft::finding::Finding;
use learn::findings::NotLearnt;
use learn::handling::Handling;
use report::number::{exact, finding as number, fixed};

use super::words::paragraph;
use crate::json::findings::why;

const AXES: [&str; 3] = ["roll", "pitch", "yaw"];
const WIDTH: usize = 100;

/// All of it.
pub(super) fn sentences(h: &Handling) -> String {
    let mut t = String::from("\nAnswer to the surfaces in direct flight\n");
    for (axis, response) in AXES.iter().zip(&h.response) {
        match response {
            Ok(r) => {
                let at = format!("at {}", exact(r.reference_speed_m_s, "m/s"));
                let _ = writeln!(t, "  {axis} {at}");
                t.push_str(&line("steady rate per degree", &r.gain_deg_s_per_deg, "deg/s"));
                if let Some(percent) = &r.gain_deg_s_per_percent {
                    t.push_str(&line("per percent of stick", percent, "deg/s"));
                }
                t.push_str(&line("time constant", &r.time_constant_s, "s"));
                t.push_str(&line("delay from the stick", &r.delay_s, "s"));
                t.push_str(&paragraph(&r.gain_deg_s_per_deg.verdict, "      ", WIDTH));
            }
            Err(reason) => t.push_str(&paragraph(&format!("{axis}: {}", why(reason)), "  ", WIDTH)),
        }
    }
    t.push_str("\nGains that these answers ask for\n");
    for ((axis, gains), response) in AXES.iter().zip(&h.gains).zip(&h.response) {
        match gains {
            Ok(g) => {
                let _ = writeln!(t, "  {axis}");
                t.push_str(&line("feed-forward", &g.feed_forward_s, "s"));
                t.push_str(&line("proportional", &g.proportional_s, "s"));
                if g.integral.value != 0.0 {
                    t.push_str(&line("integral", &g.integral, ""));
                }
                t.push_str(&line("largest rate to command", &g.largest_rate_deg_s, "deg/s"));
                t.push_str(&paragraph(&g.proportional_s.verdict, "      ", WIDTH));
            }
            // Without a response the reason stands above.
            Err(_) if response.is_err() => {
                let _ = writeln!(t, "  {axis}: none without its answer");
            }
            Err(reason) => t.push_str(&paragraph(&format!("{axis}: {}", why(reason)), "  ", WIDTH)),
        }
    }
    t.push_str("\nDoes stabilized flight feel like direct flight?\n");
    for (axis, feel) in AXES.iter().zip(&h.feel) {
        let text = match feel {
            Ok(f) if f.enough => format!("{axis}: {}", f.verdict),
            Ok(f) => format!("{axis}: not known yet: {}", f.verdict),
            Err(reason) => format!("{axis}: {}", why(reason)),
        };
        t.push_str(&paragraph(&text, "  ", WIDTH));
    }
    t.push_str("\nDerivatives, per radian\n");
    match &h.derivatives {
        Ok(d) => {
            for one in d.all() {
                let name = format!("{} (predicted {})", one.symbol, fixed(one.predicted, 3));
                t.push_str(&line(&name, &one.finding, ""));
            }
            for group in [&d.longitudinal, &d.lateral] {
                if let Err(reason) = group {
                    t.push_str(&paragraph(&why(reason), "  ", WIDTH));
                }
            }
        }
        Err(reason) => t.push_str(&paragraph(&why(reason), "  ", WIDTH)),
    }
    t.push_str("\nShaking\n");
    t.push_str(&verdict(h.vibration.as_ref().map(|v| (v.enough, v.verdict.as_str()))));
    t.push_str("\nLoops that swing by themselves\n");
    t.push_str(&verdict(h.oscillation.as_ref().map(|o| (o.enough, o.verdict.as_str()))));
    t
}

fn verdict(learnt: Result<(bool, &str), &NotLearnt>) -> String {
    match learnt {
        Ok((true, text)) => paragraph(text, "  ", WIDTH),
        Ok((false, text)) => paragraph(&format!("{text} (not enough to rely on)"), "  ", WIDTH),
        Err(reason) => paragraph(&why(reason), "  ", WIDTH),
    }
}

fn line(name: &str, f: &Finding, unit: &str) -> String {
    let mark = if f.enough { "" } else { "  (not enough to rely on)" };
    format!("    {name:<26} {}{mark}\n", number(f, unit))
}
