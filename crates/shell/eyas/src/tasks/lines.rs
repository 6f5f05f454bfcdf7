//! Which lines differ between two texts? For a person who has to choose between them.

/// A line of one text or of both.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Line<'a> {
    /// In both.
    Both(&'a str),
    /// Only in the first.
    First(&'a str),
    /// Only in the second.
    Second(&'a str),
}

/// Texts with more lines than this between what they share are told as wholly different there.
const MOST: usize = 3000;

/// The lines of both texts in order, those that they share told once: a longest common subsequence between the lines that
/// they begin and end with alike.
pub(crate) fn compare<'a>(first: &'a str, second: &'a str) -> Vec<Line<'a>> {
    let (a, b): (Vec<&str>, Vec<&str>) = (first.lines().collect(), second.lines().collect());
    let head = a.iter().zip(&b).take_while(|(x, y)| x == y).count();
    let (a_rest, b_rest) = (a.get(head..).unwrap_or_default(), b.get(head..).unwrap_or_default());
    let tail = a_rest.iter().rev().zip(b_rest.iter().rev()).take_while(|(x, y)| x == y).count();
    let a_mid = a_rest.get(..a_rest.len() - tail).unwrap_or_default();
    let b_mid = b_rest.get(..b_rest.len() - tail).unwrap_or_default();
    let mut out: Vec<Line<'a>> = a.iter().take(head).map(|l| Line::Both(l)).collect();
    if a_mid.len() > MOST || b_mid.len() > MOST {
        out.extend(a_mid.iter().map(|l| Line::First(l)));
        out.extend(b_mid.iter().map(|l| Line::Second(l)));
    } else {
        between(a_mid, b_mid, &mut out);
    }
    out.extend(a_rest.iter().skip(a_mid.len()).map(|l| Line::Both(l)));
    out
}

fn between<'a>(a: &[&'a str], b: &[&'a str], out: &mut Vec<Line<'a>>) {
    let width = b.len() + 1;
    // longest[i * width + j]: lines shared by a from i and b from j.
    let mut longest = vec![0_u16; (a.len() + 1) * width];
    let at = |longest: &[u16], i: usize, j: usize| longest.get(i * width + j).copied().unwrap_or(0);
    for (i, x) in a.iter().enumerate().rev() {
        for (j, y) in b.iter().enumerate().rev() {
            let value = if x == y {
                at(&longest, i + 1, j + 1) + 1
            } else {
                at(&longest, i + 1, j).max(at(&longest, i, j + 1))
            };
            if let Some(cell) = longest.get_mut(i * width + j) {
                *cell = value;
            }
        }
    }
    let (mut i, mut j) = (0, 0);
    loop {
        match (a.get(i), b.get(j)) {
            (Some(x), Some(y)) if x == y => {
                out.push(Line::Both(x));
                i += 1;
                j += 1;
            }
            (Some(x), y) if y.is_none() || at(&longest, i + 1, j) >= at(&longest, i, j + 1) => {
                out.push(Line::First(x));
                i += 1;
            }
            (_, Some(y)) => {
                out.push(Line::Second(y));
                j += 1;
            }
            (_, None) => return,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_text_comes_back_from_what_is_told() {
        let texts = ["", "a\nb\nc\nd", "a\nc\nx\nd", "x\ny", "a\nb\nb\nc", "d\nc\nb\na"];
        for first in texts {
            for second in texts {
                let told = compare(first, second);
                let of = |own: fn(&Line<'_>) -> bool| -> Vec<&str> {
                    told.iter()
                        .filter(|l| own(l))
                        .map(|l| match l {
                            Line::Both(t) | Line::First(t) | Line::Second(t) => *t,
                        })
                        .collect()
                };
                assert_eq!(of(|l| !matches!(l, Line::Second(_))), first.lines().collect::<Vec<_>>());
                assert_eq!(of(|l| !matches!(l, Line::First(_))), second.lines().collect::<Vec<_>>());
            }
        }
    }

    #[test]
    fn one_changed_line_is_told_as_one() {
        let told = compare("a\nb\nc", "a\nB\nc");
        assert_eq!(told, [Line::Both("a"), Line::First("b"), Line::Second("B"), Line::Both("c")]);
        // Only what is shared in order counts: of "abcd" and "acxd" that is "acd".
        let shared =
            compare("a\nb\nc\nd", "a\nc\nx\nd").iter().filter(|l| matches!(l, Line::Both(_))).count();
        assert_eq!(shared, 3);
    }
}
