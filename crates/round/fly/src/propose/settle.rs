//! Which units and signs does the data settle? Open units tried against the laws, contradictions put right or out.

use super::contradictions::{self, Remedy, agrees, agrees_but_for_sign};
use super::relations::{self, Law};
use super::remedy;
use super::time::Found;
use super::{Candidate, SURE_ENOUGH, Search, axes, in_body_axes};
use crate::map::Entry;
use crate::recording::Quantity;
use crate::words::{self, Dimension, G};

/// Settles what can be settled and leaves out the rest; gives the unit of a numeric time column, in seconds.
pub(super) fn settle(search: &mut Search, found: &Found) -> Option<f64> {
    let unit_s = time_unit(search, found);
    force_unit(search);
    for _ in 0..3 {
        if !single_units(search) {
            break;
        }
    }
    angles_and_rates(search);
    while single_units(search) {}
    open_units_out(search);
    axes::settle(search);
    contradictions_out(search);
    unchecked(search);
    offers_checked(search);
    unit_s
}

/// Picks among the possible units of time the one under which most laws hold.
fn time_unit(search: &mut Search, found: &Found) -> Option<f64> {
    let first = *found.options_s.first()?;
    if found.options_s.len() < 2 {
        return Some(first);
    }
    let mut best = (0, first);
    for option in &found.options_s {
        search.stretch(option / first);
        let recording = search.recording(&search.known());
        let held = relations::all(&recording)
            .iter()
            .filter(|r| matches!(r.law, Law::RateOfAngle | Law::RateOfPosition) && agrees_but_for_sign(r))
            .count();
        if held > best.0 {
            best = (held, *option);
        }
    }
    search.stretch(best.1 / first);
    Some(best.1)
}

/// The unit under which the specific force is about 1 g in the middle.
fn force_unit(search: &mut Search) {
    let forces = [Quantity::ForceX, Quantity::ForceY, Quantity::ForceZ];
    let open = |c: &Candidate| forces.contains(&c.quantity) && c.units.len() > 1;
    if !search.candidates.iter().any(open) {
        return;
    }
    let has_z = search.candidates.iter().any(|c| c.quantity == Quantity::ForceZ);
    let mut fitting: Vec<(&'static str, f64)> = Vec::new();
    for unit in ["m/s2", "g", "mg"] {
        let chosen: Vec<(&Candidate, &str)> =
            search.candidates.iter().filter(|c| forces.contains(&c.quantity)).map(|c| (c, unit)).collect();
        let recording = search.recording(&chosen);
        for r in relations::all(&recording) {
            if r.law == Law::Gravity && (0.75..1.4).contains(&r.ratio.abs()) {
                fitting.push((unit, r.ratio.abs() * G));
            }
        }
    }
    if let [(unit, size)] = fitting.as_slice() {
        for c in search.candidates.iter_mut().filter(|c| open(c)) {
            c.units = vec![unit];
            c.why.push(format!("gravity has its size in {unit} ({size:.2} m/s² in the middle)"));
        }
    } else {
        let why = if has_z {
            "its size is not that of gravity in any unit"
        } else {
            "without the force along z, gravity cannot tell the unit"
        };
        for q in &forces {
            if search.candidates.iter().any(|c| c.quantity == *q && c.units.len() > 1) {
                search.leave_out(q, why);
            }
        }
    }
}

/// Settles open units one by one where just one holds a law; says whether any was settled.
fn single_units(search: &mut Search) -> bool {
    let mut settled: Vec<(usize, &'static str, String)> = Vec::new();
    for c in search.candidates.iter().filter(|c| c.units.len() > 1) {
        let mut holding: Vec<(&'static str, String)> = Vec::new();
        for unit in &c.units {
            let mut chosen = search.known();
            chosen.push((c, unit));
            let recording = search.recording(&chosen);
            let blamed = contradictions::find(&recording)
                .iter()
                .any(|k| k.blame.contains(&c.quantity) && matches!(k.remedy, Remedy::TooLarge(_)));
            let holds = relations::all(&recording).into_iter().find(|r| {
                (r.subject == c.quantity || r.against.contains(&c.quantity))
                    && sizes(r.law)
                    && agrees_but_for_sign(r)
            });
            if let Some(law) = holds.filter(|_| !blamed) {
                holding.push((unit, law.said));
            }
        }
        if let [(unit, said)] = holding.as_slice() {
            settled.push((c.index, unit, said.clone()));
            // One at a time: it may settle the next.
            break;
        }
    }
    for (index, unit, said) in &settled {
        for c in search.candidates.iter_mut().filter(|c| c.index == *index) {
            c.units = vec![unit];
            c.sure = c.sure.min(0.85);
            c.why.push(format!("in {unit}, {said}"));
        }
    }
    !settled.is_empty()
}

/// Whether a law tells the size of its subject and not only its sign.
fn sizes(law: Law) -> bool {
    !matches!(law, Law::PullingLoads | Law::StickMoves | Law::GravityAlongNose)
}

/// Angles and rates whose units are both open: the pair of units under which most laws hold.
fn angles_and_rates(search: &mut Search) {
    let open = |c: &Candidate, d: Dimension| c.units.len() > 1 && words::dimension(&c.quantity) == d;
    let any = |d| search.candidates.iter().any(|c| open(c, d));
    if !any(Dimension::Angle) || !any(Dimension::AngularRate) {
        return;
    }
    let mut counts: Vec<(usize, usize, &'static str, &'static str)> = Vec::new();
    for angle in ["rad", "deg"] {
        for rate in ["rad/s", "deg/s"] {
            let chosen: Vec<(&Candidate, &str)> = search
                .candidates
                .iter()
                .filter_map(|c| {
                    let unit = if open(c, Dimension::Angle) {
                        angle
                    } else if open(c, Dimension::AngularRate) {
                        rate
                    } else {
                        c.unit()?
                    };
                    Some((c, unit))
                })
                .collect();
            let recording = search.recording(&chosen);
            let held: Vec<Law> = relations::all(&recording)
                .iter()
                .filter(|r| agrees_but_for_sign(r) && sizes(r.law))
                .map(|r| r.law)
                .collect();
            // Angle and rate in one wrong unit agree with each other; another law has to hold too.
            let absolute = held
                .iter()
                .filter(|l| matches!(l, Law::BankTurns | Law::NoseAlongPath | Law::HeadingAlongCourse))
                .count();
            counts.push((held.len(), absolute, angle, rate));
        }
    }
    counts.sort_by(|a, b| b.cmp(a));
    if let [(most, absolute, angle, rate), (next, ..), ..] = counts.as_slice()
        && most > next
        && *absolute > 0
    {
        for c in &mut search.candidates {
            let unit = if open(c, Dimension::Angle) {
                angle
            } else if open(c, Dimension::AngularRate) {
                rate
            } else {
                continue;
            };
            c.units = vec![unit];
            c.sure = c.sure.min(0.8);
            c.why.push(format!(
                "in {angle} and {rate}, {most} laws hold together, in no other pair of units more than {next}"
            ));
        }
    }
}

fn open_units_out(search: &mut Search) {
    let open: Vec<(Quantity, Vec<&'static str>)> = search
        .candidates
        .iter()
        .filter(|c| c.units.len() != 1)
        .map(|c| (c.quantity.clone(), c.units.clone()))
        .collect();
    for (q, units) in open {
        let why = format!(
            "neither header nor data tells its unit ({}); write it into the map if you know it",
            units.join(" or ")
        );
        search.leave_out(&q, &why);
    }
}

/// Puts signs right that the data contradicts beyond doubt, and leaves out what else it contradicts.
fn contradictions_out(search: &mut Search) {
    const ROUNDS: usize = 12;
    for _ in 0..ROUNDS {
        let recording = search.recording(&search.known());
        let Some(c) = contradictions::find(&recording).into_iter().next() else {
            return;
        };
        let advice = contradictions::advice(&c);
        let turnable = match (c.blame.as_slice(), &c.remedy) {
            ([q], Remedy::Negate) if c.sure >= 0.8 => search
                .candidates
                .iter_mut()
                .find(|k| k.quantity == *q && k.axes == crate::map::Axes::ForwardRightDown && !k.negate),
            _ => None,
        };
        if let Some(k) = turnable {
            k.negate = true;
            k.sure = k.sure.min(0.75);
            k.why.push(format!("its sign is turned: {}", c.said));
            let said = format!(
                "the sign of \"{}\" as {} is the other way round by the data: {}",
                k.header,
                words::word(&k.quantity),
                c.said
            );
            let index = k.index;
            search.doubt(&[index], said);
            continue;
        }
        if matches!(c.remedy, Remedy::Offset(_)) && c.blame == [Quantity::Pitch] {
            let body: Vec<Quantity> =
                search.candidates.iter().map(|k| k.quantity.clone()).filter(in_body_axes).collect();
            for q in body {
                let why = format!("the attitude is not an airplane's ({}); its axes are others", c.said);
                search.leave_out(&q, &why);
            }
            continue;
        }
        if let [q] = c.blame.as_slice()
            && let Some((k, unit)) = search.known().into_iter().find(|(k, _)| k.quantity == *q)
            && let Some(right) = remedy::corrected(&k.entry(unit), &c.remedy)
        {
            let index = k.index;
            search.offered.push((index, right));
        }
        for q in &c.blame {
            search.leave_out(q, &format!("the data contradicts it: {}: {advice}", c.said));
        }
    }
}

/// Keeps of the entries offered those that the data has nothing against once all of them are taken.
fn offers_checked(search: &mut Search) {
    const ROUNDS: usize = 8;
    for round in 0..ROUNDS {
        let known: Vec<(usize, Entry)> =
            search.known().into_iter().map(|(c, unit)| (c.index, c.entry(unit))).collect();
        let recording = search.recording_of(known.into_iter().chain(search.offered.iter().cloned()));
        let against = contradictions::find(&recording)
            .into_iter()
            .find(|c| c.blame.iter().any(|q| search.offered.iter().any(|(_, entry)| entry.quantity == *q)));
        let Some(c) = against else {
            return;
        };
        // Unit and sign may both be wrong; what is wrong again after that is not understood.
        let mended = match c.blame.as_slice() {
            [q] if round < ROUNDS / 2 => search
                .offered
                .iter_mut()
                .find(|(_, entry)| entry.quantity == *q)
                .and_then(|(_, entry)| remedy::corrected(entry, &c.remedy).map(|right| *entry = right)),
            _ => None,
        };
        if mended.is_none() {
            search.offered.retain(|(_, entry)| !c.blame.contains(&entry.quantity));
        }
    }
    search.offered.clear();
}

/// Signs that nothing could check are told, and taken only from plain headers.
fn unchecked(search: &mut Search) {
    let recording = search.recording(&search.known());
    let relations = relations::all(&recording);
    let mut out: Vec<Quantity> = Vec::new();
    let mut told: Vec<(usize, String)> = Vec::new();
    for c in &mut search.candidates {
        let signed = in_body_axes(&c.quantity)
            || matches!(
                c.quantity,
                Quantity::StickRoll | Quantity::StickPitch | Quantity::StickYaw | Quantity::VelocityDown
            );
        let holds: Vec<&str> = relations
            .iter()
            .filter(|r| (r.subject == c.quantity || r.against.contains(&c.quantity)) && agrees(r))
            .map(|r| r.said.as_str())
            .collect();
        if let Some(said) = holds.first() {
            c.why.push((*said).to_owned());
            continue;
        }
        if !signed {
            continue;
        }
        c.sure -= 0.2;
        if c.sure < SURE_ENOUGH - 1e-9 {
            out.push(c.quantity.clone());
        } else {
            let said = format!(
                "the sign of \"{}\" as {} could not be checked by other channels of the file",
                c.header,
                words::word(&c.quantity)
            );
            told.push((c.index, said));
        }
    }
    for (index, said) in told {
        search.doubt(&[index], said);
    }
    for q in out {
        search.leave_out(&q, "its sign could not be checked and its header is not plain enough alone");
    }
}
