//! Do the changes go together? What two findings want differently is held back until one of them is right.

use aircraft::finding::Change;
use numerics::words::with_doubt;

/// The changes with those held back that contradict each other: the same place asked to become two things that differ by
/// more than their doubts. Where they agree, the surer one stays.
pub(crate) fn settled(changes: Vec<Change>) -> Vec<Change> {
    let mut kept: Vec<Change> = Vec::new();
    for change in changes {
        let Some(other) = kept.iter_mut().find(|c| c.path == change.path) else {
            kept.push(change);
            continue;
        };
        let apart = (other.to - change.to).abs();
        if apart > 2.0 * other.sd.hypot(change.sd) {
            let why = format!(
                "two findings ask for different values ({} and {}): fly the test points of both again before either is believed",
                with_doubt(other.to, other.sd, &other.unit),
                with_doubt(change.to, change.sd, &change.unit)
            );
            other.held_back.get_or_insert(why);
        } else if other.held_back.is_some() || (change.held_back.is_none() && change.sd < other.sd) {
            *other = change;
        }
    }
    for change in &mut kept {
        if let Some(why) = change.held_back.take() {
            change.held_back = Some(in_short(why));
        }
    }
    kept
}

/// The reason alone, where what it rests on comes first: that is told beside the finding.
fn in_short(why: String) -> String {
    const REASON: &str = "Not enough: ";
    match why.rfind(REASON) {
        Some(place) => why.get(place + REASON.len()..).map_or(why.clone(), str::to_owned),
        None => why,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn change(path: &str, to: f64, sd: f64) -> Change {
        Change {
            path: path.into(),
            from: None,
            to,
            sd,
            unit: "us".into(),
            why: String::new(),
            held_back: None,
        }
    }

    #[test]
    fn what_two_findings_want_differently_is_held_back_and_the_surer_of_two_that_agree_stays() {
        let settled = settled(vec![
            change("a", 1500.0, 2.0),
            change("b", 1500.0, 2.0),
            change("a", 1530.0, 2.0),
            change("b", 1501.0, 1.0),
        ]);
        assert_eq!(settled.len(), 2);
        assert!(settled[0].held_back.as_ref().unwrap().contains("1530"));
        assert_eq!(in_short("26 s flown. Not enough: fly more legs".into()), "fly more legs");
        assert_eq!((settled[1].to, &settled[1].held_back), (1501.0, &None));
    }
}
