//! How does a card look on paper? Two A5 pages, front and back of one sheet: the pilot's side and the helper's side.

use plan::card::{Card, Point};
use plan::day::Verdict;

use crate::number;
use crate::paper::{Block, Mark, NoPaper, Side, pdf};

/// The card as a PDF of two A5 pages; more only where the smallest legible type does not hold it.
///
/// # Errors
/// [`NoPaper`] when the document cannot be made.
pub fn card_pdf(card: &Card) -> Result<Vec<u8>, NoPaper> {
    pdf(&card.title, &[pilot(card), helper(card)])
}

fn pilot(card: &Card) -> Side {
    let mut blocks = vec![Block { scale: 1.35, ..Block::bold(&card.title) }, Block::text(planned(card))];
    if let Some(day) = &card.day {
        let verdict = match day.verdict {
            Verdict::Go => "Go",
            Verdict::Part => "Part of the plan",
            Verdict::NoGo => "No-go",
        };
        blocks.push(Block::bold(format!("{verdict}: ")).then(format!(" {}", day.at)).above(0.4));
        let lines = day
            .reasons
            .iter()
            .map(|reason| first_sentence(reason))
            .chain(day.loosened.iter().map(String::as_str));
        blocks.extend(lines.map(|line| Block::text(line).marked(Mark::Dot).shaded()));
        if day.verdict == Verdict::Part {
            blocks.push(Block::text("What remains is for an experienced pilot; the page for the phone tells what each reason allows."));
        }
    }
    if !card.bench_work.is_empty() {
        blocks.push(Block::heading("On the bench first"));
        blocks.extend(card.bench_work.iter().map(|line| Block::text(line).marked(Mark::Box).shaded()));
    }
    blocks.push(Block::heading("If it goes wrong"));
    blocks.extend(
        card.emergencies
            .iter()
            .map(|(what, act)| Block::bold(format!("{what}: ")).then(format!(" {act}")).shaded()),
    );
    blocks.push(Block::heading(format!("Points, in this order{}", switch_words(card))));
    for (i, point) in card.points.iter().enumerate() {
        let acts = match (&point.switch, point.acts.as_str()) {
            (_, "any") => String::new(),
            (Some(switch), _) => format!(", {switch}"),
            (None, acts) => format!(", {acts}"),
        };
        let title = Block::bold(format!("{}. {}", i + 1, point.title))
            .then(format!(" ({}{acts})", number::duration(point.duration_s)))
            .marked(Mark::Box)
            .above(0.4);
        blocks.push(title.kept());
        let mut inner = run_in(&point.steps).indented(1.35);
        if !point.stop.is_empty() {
            inner = inner.then_bold(format!(" Stop: {}", joined(&point.stop)));
        }
        blocks.push(inner);
    }
    Side { blocks, columns: 2, foot: foot(card) }
}

fn helper(card: &Card) -> Side {
    let mut blocks = vec![
        Block { scale: 1.35, ..Block::bold(&card.title) },
        Block::text("Helper's side: cautions, calls, and what to expect."),
        Block::heading("Cautions"),
    ];
    blocks.extend(card.cautions.iter().map(|line| Block::text(line).marked(Mark::Dot).shaded()));
    blocks.push(Block::heading("Calls"));
    for (i, point) in card.points.iter().enumerate() {
        blocks.extend(calls(i + 1, point));
    }
    blocks.push(Block::heading("Numbers"));
    let mut numbers = Block::text("");
    for (i, fact) in card.facts.iter().enumerate() {
        let end = if i + 1 < card.facts.len() { ";" } else { "." };
        numbers = numbers.then(format!(" {}", fact.name)).then_bold(format!(" {}{end}", fact.text));
    }
    blocks.push(numbers);
    blocks.push(Block::heading("Write down"));
    for line in [
        "Pack before ______ V, after ______ V",
        "Launched at ____ : ____, landed at ____ : ____",
        "Wind ______ from ______, gusts ______",
        "Seen: ______________________________",
    ] {
        blocks.push(Block::text(line).above(0.5));
    }
    if !card.left_out.is_empty() {
        blocks.push(Block::heading("Left out today"));
        blocks.extend(
            left_out(card)
                .into_iter()
                .map(|(titles, why)| Block::bold(format!("{}: ", titles.join(", "))).then(format!(" {why}"))),
        );
    }
    Side { blocks, columns: 2, foot: foot(card) }
}

/// What the helper says and sees at a point; nothing where there is nothing to say.
fn calls(place: usize, point: &Point) -> Vec<Block> {
    let mut inner: Vec<Block> = Vec::new();
    if !point.calls.is_empty() {
        let calls: Vec<String> = point.calls.iter().map(|call| format!("\u{201c}{call}\u{201d}")).collect();
        inner.push(Block::bold(calls.join(" ")).indented(1.0));
    }
    let mut seen = Block::text("").indented(1.0);
    if !point.expect.is_empty() {
        let expect: Vec<String> = point.expect.iter().map(|f| format!("{} {}", f.name, f.text)).collect();
        seen = seen.then(format!(" Expect: {}.", expect.join("; ")));
    }
    if !point.watch.is_empty() {
        seen = seen.then(format!(" Watch: {}", joined(&point.watch)));
    }
    if !point.expect.is_empty() || !point.watch.is_empty() {
        inner.push(seen);
    }
    if inner.is_empty() {
        return Vec::new();
    }
    let mut blocks = vec![Block::bold(format!("{place}. {}", point.title)).above(0.4)];
    blocks.append(&mut inner);
    let last = blocks.len() - 1;
    blocks.into_iter().enumerate().map(|(n, block)| if n < last { block.kept() } else { block }).collect()
}

/// Steps one after the other in a paragraph, each with its letter.
fn run_in(steps: &[String]) -> Block {
    let mut block = Block::text("");
    for (step, letter) in steps.iter().zip('a'..='z') {
        if steps.len() > 1 {
            block = block.then_bold(format!(" {letter})"));
        }
        block = block.then(format!(" {}", step.trim()));
    }
    block
}

/// What the flight takes, and what the pack allows.
fn planned(card: &Card) -> String {
    if card.day.as_ref().is_some_and(|day| day.verdict == Verdict::NoGo) {
        return "Pilot's side. Nothing is flown: checks on the ground only.".to_owned();
    }
    format!(
        "Pilot's side. {} planned{}.",
        number::duration(card.planned_s),
        card.allowed_s
            .map_or_else(String::new, |s| format!("; the pack allows {} of cruise", number::about(s)))
    )
}

/// What the positions of the switch do, once for all points.
fn switch_words(card: &Card) -> String {
    let mut known: Vec<String> = Vec::new();
    for point in &card.points {
        if let Some(switch) = &point.switch {
            let words = format!("{switch} is {}", point.acts);
            if point.acts != "any" && !known.contains(&words) {
                known.push(words);
            }
        }
    }
    if known.is_empty() { String::new() } else { format!(" (switch: {})", known.join(", ")) }
}

/// Titles of what was left out, together where the reason is of a kind: on paper there is no room for each.
fn left_out(card: &Card) -> Vec<(Vec<&str>, String)> {
    let day: Vec<&String> = card.day.iter().flat_map(|day| &day.reasons).collect();
    let mut out: Vec<(Vec<&str>, String)> = Vec::new();
    for (title, why) in &card.left_out {
        let reason = if why.starts_with("waits for") && why.ends_with("from an earlier flight") {
            "wait for what earlier flights find".to_owned()
        } else if why.starts_with("known already") {
            // How it is known stands on the page for the phone.
            "known already".to_owned()
        } else if why.starts_with("comes after") {
            "wait for a point before them that is neither flown nor on this card".to_owned()
        } else if day.iter().any(|reason| why.contains(reason.as_str())) {
            "wait for a better day; see the pilot\u{2019}s side".to_owned()
        } else {
            why.clone()
        };
        match out.iter_mut().find(|(_, told)| *told == reason) {
            Some((titles, _)) => titles.push(title),
            None => out.push((vec![title], reason)),
        }
    }
    out
}

/// The first sentence of a reason: number and limit.
fn first_sentence(reason: &str) -> &str {
    match reason.find(". ") {
        Some(end) => reason.get(..=end).unwrap_or(reason),
        None => reason,
    }
}

/// Sentences one after the other, each with its stop.
fn joined(lines: &[String]) -> String {
    let stopped = |line: &String| {
        let line = line.trim();
        if line.ends_with(['.', '!', '?']) { line.to_owned() } else { format!("{line}.") }
    };
    lines.iter().map(stopped).collect::<Vec<_>>().join(" ")
}

fn foot(card: &Card) -> String {
    format!(
        "{}. Numbers are estimates (\u{b1} is two standard deviations); local law, the field's rules and a club's \
         instructor come first.",
        card.aircraft
    )
}
