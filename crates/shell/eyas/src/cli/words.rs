//! How are sentences set at the terminal? Numbers are written as on cards and pages: `report::number`.

/// An instant as people write it, UTC.
pub(crate) fn instant(at_ms: i64) -> String {
    jiff::Timestamp::from_millisecond(at_ms)
        .map_or_else(|_| "unknown time".into(), |t| t.strftime("%Y-%m-%d %H:%M UTC").to_string())
}

/// A number of things ("1 flight", "3 flights").
pub(crate) fn count(number: u32, one: &str) -> String {
    if number == 1 { format!("1 {one}") } else { format!("{number} {one}s") }
}

/// Breaks a paragraph at words so that it reads on a narrow terminal, each line indented.
pub(crate) fn paragraph(text: &str, indent: &str, width: usize) -> String {
    let mut out = String::new();
    let mut line = String::from(indent);
    for word in text.split_whitespace() {
        if line.chars().count() + 1 + word.chars().count() > width && line.len() > indent.len() {
            out.push_str(line.trim_end());
            out.push('\n');
            line = String::from(indent);
        }
        if line.len() > indent.len() {
            line.push(' ');
        }
        line.push_str(word);
    }
    out.push_str(line.trim_end());
    out.push('\n');
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_sentences_break_between_words() {
        assert_eq!(paragraph("one two three", "  ", 9), "  one two\n  three\n");
    }
}
