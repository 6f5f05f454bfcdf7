//! How hard was it flown? Largest and least load factor in the air, against the limit of the file.

use aircraft::finding::Window;
use fly::phases::Phase;
use fly::recording::Quantity;
use numerics::statistics::robust_spread;
use numerics::units::G_M_S2;
use numerics::words::fixed;

use crate::answers::{Estimate, Evidence, Told, Verdict, along, missing, not_excited};
use crate::findings::Learnt;
use crate::flight::{Flight, moving_mean, samples};

/// A load counts when it lasts this long, s: shorter is shaking, which the wing does not feel as a load.
const LASTING_S: f64 = 0.1;
/// A recording slower than this misses the peaks of loads, Hz.
const LEAST_HZ: f64 = 20.0;

/// Load factors of the flight.
pub(crate) fn loads(flight: &Flight<'_>) -> Learnt<Told> {
    if flight.recording.channel(&Quantity::ForceZ).is_none() {
        return missing("specific force along the body's z axis (acceleration sensor)");
    }
    let flown = |p: &&Phase| !matches!(p.kind.word(), "ground" | "launch" | "landing" | "impact");
    let windows: Vec<Window> = flight.phases.iter().filter(flown).map(|p| p.window).collect();
    let mut all = Vec::new();
    for w in &windows {
        let raw = samples(flight.recording, &Quantity::ForceZ, *w);
        let loads: Vec<(f64, f64)> = raw.iter().map(|(t, f)| (*t, f / -G_M_S2)).collect();
        let smooth = moving_mean(&loads, LASTING_S);
        all.extend(loads.iter().zip(&smooth).map(|(raw, s)| (s.0, s.1, raw.1 - s.1)));
    }
    let seconds: f64 = windows.iter().map(|w| w.to_s - w.from_s).sum();
    let (Some(most), Some(least)) = (
        all.iter().copied().max_by(|a, b| a.1.total_cmp(&b.1)),
        all.iter().copied().min_by(|a, b| a.1.total_cmp(&b.1)),
    ) else {
        return not_excited("no seconds in the air with the specific force recorded");
    };
    let hz = all.len() as f64 / seconds.max(1.0);
    let in_one = (hz * LASTING_S).max(1.0);
    let sd = (robust_spread(&all.iter().map(|a| a.2).collect::<Vec<f64>>()) / in_one.sqrt()).max(0.005);
    let against = if hz < LEAST_HZ {
        vec![format!(
            "recorded {} times a second, which misses peaks: record at {} Hz or more",
            fixed(hz, 0),
            fixed(LEAST_HZ, 0)
        )]
    } else {
        Vec::new()
    };
    let verdict = Verdict::of(
        format!(
            "over {} s in the air, as loads that last {} s; launch and landing left out",
            fixed(seconds, 0),
            fixed(LASTING_S, 1)
        ),
        &against,
    );
    let about = |t: f64| [Window { from_s: t - 0.5, to_s: t + 0.5 }];
    let limit = flight.aircraft.limits.load_factor;
    let mut sentences = Vec::new();
    match limit {
        Some(limit) if most.1 > limit || least.1 < -0.5 * limit => sentences.push(format!(
            "It was loaded beyond the {} that the aircraft file allows (limits.load_factor): look over spar, joiner and tail for cracks before it flies again, and fly the pull-outs more gently.",
            fixed(limit, 1)
        )),
        Some(limit) => sentences.push(format!(
            "The most was {} % of the {} that the aircraft file allows.",
            fixed(100.0 * most.1 / limit, 0),
            fixed(limit, 1)
        )),
        None => {}
    }
    Ok(Told {
        estimates: vec![
            Estimate::new(
                "largest load factor",
                "",
                verdict.finding("loads.most", most.1, sd, &about(most.0)),
            ),
            Estimate::new(
                "least load factor",
                "",
                verdict.finding("loads.least", least.1, sd, &about(least.0)),
            ),
        ],
        evidence: plot(flight, &windows).into_iter().collect(),
        sentences,
    })
}

/// Load factor over airspeed, with the line at which it stalls.
fn plot(flight: &Flight<'_>, windows: &[Window]) -> Option<Evidence> {
    let airspeed = flight.airspeed_m_s.as_deref()?;
    let force = flight.blocks.column(&Quantity::ForceZ)?;
    let mut data = Vec::new();
    for w in windows {
        for i in flight.blocks.within(*w) {
            let point = [airspeed.get(i).copied()?, force.get(i).copied()? / -G_M_S2];
            if point.iter().all(|v| v.is_finite()) {
                data.push(point);
            }
        }
    }
    let fastest = data.iter().map(|d| d[0]).fold(0.0, f64::max);
    let stall = flight.prediction.map(|p| p.speeds.stall_m_s);
    let line = stall.map_or(Vec::new(), |_| along(0.0, fastest, 40));
    let most = data.iter().map(|d| d[1]).fold(1.0, f64::max);
    let at = |v: f64| stall.map_or(0.0, |s| (v / s.value).powi(2));
    let kept: Vec<f64> = line.into_iter().filter(|v| at(*v) <= 1.3 * most).collect();
    Some(Evidence {
        title: "Load factor over airspeed".into(),
        what:
            "Load factor and airspeed of each moment in the air; the line is where the predicted stall lies."
                .into(),
        x: "Airspeed, m/s".into(),
        y: "Load factor".into(),
        data,
        doubt: kept.iter().map(|v| stall.map_or(0.0, |s| 4.0 * at(*v) * s.sd / s.value)).collect(),
        fit: kept.iter().map(|v| [*v, at(*v)]).collect(),
        ..Evidence::default()
    })
}
