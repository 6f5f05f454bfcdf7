//! How do several files of one flight become one recording? Files that share a clock, laid side by side.

use std::sync::Arc;

use crate::derive;
use crate::recording::{Flaw, FlawKind, Recording};
use crate::words;

/// Times that channels share.
type Times = Arc<Vec<f64>>;

/// Joins recordings whose files share one clock: channels keep their own times, moved to a common begin. Where two
/// files carry the same quantity, the one with more values stays, and that is told. Files whose times do not
/// overlap are joined all the same, and told.
#[must_use]
pub fn merge(recordings: Vec<Recording>) -> Recording {
    let Some(start) = recordings.iter().map(|r| r.clock_start_s).reduce(f64::min) else {
        return Recording::default();
    };
    let mut merged = Recording { clock_start_s: start, ..Recording::default() };
    let mut span: Option<(f64, f64)> = None;
    for (place, recording) in recordings.into_iter().enumerate() {
        let shift = recording.clock_start_s - start;
        let file = format!("file {}", place + 1);
        let own = recording.span_s().map(|(a, b)| (a + shift, b + shift));
        if let (Some((from, to)), Some((first, last))) = (own, span)
            && (from > last || to < first)
        {
            merged.flaws.push(Flaw {
                kind: FlawKind::Gap,
                place: file.clone(),
                what: format!(
                    "runs from {from:.1} to {to:.1} s on the common clock, the files before from {first:.1} to \
                     {last:.1} s: they do not overlap, so they may not share a clock"
                ),
            });
        }
        span = match (span, own) {
            (Some((a, b)), Some((c, d))) => Some((a.min(c), b.max(d))),
            (one, other) => one.or(other),
        };
        merged.rows += recording.rows;
        merged.unused_columns.extend(recording.unused_columns);
        merged.flaws.extend(
            recording.flaws.into_iter().map(|flaw| Flaw { place: format!("{file}, {}", flaw.place), ..flaw }),
        );
        // Channels that shared their times before share them after.
        let mut moved: Vec<(Times, Times)> = Vec::new();
        for mut channel in recording.channels {
            let time = match moved.iter().find(|(old, _)| Arc::ptr_eq(old, &channel.time_s)) {
                Some((_, new)) => Arc::clone(new),
                None => {
                    let new = Arc::new(channel.time_s.iter().map(|t| t + shift).collect());
                    moved.push((Arc::clone(&channel.time_s), Arc::clone(&new)));
                    new
                }
            };
            channel.time_s = time;
            let count = |values: &[f64]| values.iter().filter(|v| v.is_finite()).count();
            match merged.channels.iter_mut().find(|c| c.quantity == channel.quantity) {
                None => merged.channels.push(channel),
                Some(there) => {
                    let (old, new) = (count(&there.values), count(&channel.values));
                    merged.flaws.push(Flaw {
                        kind: FlawKind::Unit,
                        place: file.clone(),
                        what: format!(
                            "{} comes from \"{}\" ({old} values) and from \"{}\" ({new} values); the one with \
                             more values is used",
                            words::word(&channel.quantity),
                            there.source,
                            channel.source
                        ),
                    });
                    if new > old {
                        *there = channel;
                    }
                }
            }
        }
    }
    derive::add_derived(&mut merged);
    merged
}
