//! Is this text at all, and in which encoding? Bytes in, text bytes out, or what they look like instead.

use std::borrow::Cow;

use super::NotARecording;
use crate::recording::{Flaw, FlawKind};

/// First bytes of common files that are not text, and their names (public file-signature registries).
const SIGNATURES: &[(&[u8], &str)] = &[
    (b"PK\x03\x04", "a ZIP archive or an office document"),
    (b"\x1f\x8b", "a gzip-compressed file"),
    (b"\x28\xb5\x2f\xfd", "a Zstandard-compressed file"),
    (b"BZh", "a bzip2-compressed file"),
    (b"\xfd7zXZ\x00", "an xz-compressed file"),
    (b"7z\xbc\xaf\x27\x1c", "a 7z archive"),
    (b"%PDF", "a PDF document"),
    (b"\x89PNG", "a PNG picture"),
    (b"\xff\xd8\xff", "a JPEG picture"),
    (b"GIF8", "a GIF picture"),
    (b"SQLite format 3\x00", "an SQLite database"),
    (b"MATLAB 5.0 MAT-file", "a MAT file, version 5"),
    (b"\x89HDF\r\n\x1a\n", "an HDF5 file"),
    (b"PAR1", "a Parquet table"),
    (b"\x7fELF", "an executable program"),
    (b"\xd0\xcf\x11\xe0", "an old office document"),
    (b"RIFF", "a sound or video file"),
];

/// The text of a file without byte-order mark; UTF-16 is converted and that is told.
pub(crate) fn text(bytes: &[u8]) -> Result<(Cow<'_, [u8]>, Vec<Flaw>), NotARecording> {
    let mut flaws = Vec::new();
    if let Some((_, name)) = SIGNATURES.iter().find(|(first, _)| bytes.starts_with(first)) {
        return Err(NotARecording::Binary { looks_like: (*name).to_owned() });
    }
    let decoded: Cow<'_, [u8]> = match bytes {
        [0xff, 0xfe, rest @ ..] => Cow::Owned(from_utf16(rest, u16::from_le_bytes, &mut flaws)),
        [0xfe, 0xff, rest @ ..] => Cow::Owned(from_utf16(rest, u16::from_be_bytes, &mut flaws)),
        [0xef, 0xbb, 0xbf, rest @ ..] => Cow::Borrowed(rest),
        _ => match unmarked_utf16(bytes) {
            Some(read) => Cow::Owned(from_utf16(bytes, read, &mut flaws)),
            None => Cow::Borrowed(bytes),
        },
    };
    if decoded.iter().all(u8::is_ascii_whitespace) {
        return Err(NotARecording::Empty);
    }
    let decoded = without_tail_of_zeros(decoded, &mut flaws);
    if decoded.iter().all(|b| *b == 0 || b.is_ascii_whitespace()) {
        return Err(NotARecording::Binary {
            looks_like:
                "nothing but zero bytes, as a file that was never written after its space was set aside"
                    .to_owned(),
        });
    }
    let sample = decoded.get(..decoded.len().min(65_536)).unwrap_or(&[]);
    let odd = sample.iter().filter(|b| matches!(b, 0..=8 | 14..=31 | 127)).count();
    // Text has no control bytes; a damaged text file has few.
    if odd * 20 > sample.len() {
        return Err(NotARecording::Binary {
            looks_like: format!(
                "binary data of an unknown kind ({odd} control bytes in its first {})",
                sample.len()
            ),
        });
    }
    Ok((decoded, flaws))
}

/// Space that was set aside but never written before power was lost reads as zero bytes at the end.
fn without_tail_of_zeros<'a>(bytes: Cow<'a, [u8]>, flaws: &mut Vec<Flaw>) -> Cow<'a, [u8]> {
    let end = bytes.iter().rposition(|b| *b != 0).map_or(0, |last| last + 1);
    let zeros = bytes.len() - end;
    if zeros == 0 || end == 0 {
        return bytes;
    }
    flaws.push(Flaw {
        kind: FlawKind::Truncated,
        place: "end of the file".to_owned(),
        what: format!(
            "ends in {zeros} zero bytes, as after a loss of power while writing; they are left out"
        ),
    });
    match bytes {
        Cow::Borrowed(b) => Cow::Borrowed(b.get(..end).unwrap_or(b)),
        Cow::Owned(mut b) => {
            b.truncate(end);
            Cow::Owned(b)
        }
    }
}

/// Plain text in UTF-16 has a zero in every second byte.
fn unmarked_utf16(bytes: &[u8]) -> Option<fn([u8; 2]) -> u16> {
    let sample = bytes.get(..bytes.len().min(4096)).unwrap_or(&[]);
    if sample.len() < 16 {
        return None;
    }
    let zeros = |from: usize| sample.iter().skip(from).step_by(2).filter(|b| **b == 0).count();
    let (even, odd) = (zeros(0), zeros(1));
    let most = sample.len() * 45 / 100;
    if odd >= most && even == 0 {
        Some(u16::from_le_bytes)
    } else if even >= most && odd == 0 {
        Some(u16::from_be_bytes)
    } else {
        None
    }
}

fn from_utf16(bytes: &[u8], unit: fn([u8; 2]) -> u16, flaws: &mut Vec<Flaw>) -> Vec<u8> {
    let units = bytes.chunks_exact(2).filter_map(|pair| match pair {
        [a, b] => Some(unit([*a, *b])),
        _ => None,
    });
    let text: String = char::decode_utf16(units).map(|c| c.unwrap_or(char::REPLACEMENT_CHARACTER)).collect();
    flaws.push(Flaw {
        kind: FlawKind::Encoding,
        place: "whole file".to_owned(),
        what: "written in UTF-16; converted before reading. Save as UTF-8 to be read as it stands".to_owned(),
    });
    text.into_bytes()
}

/// Bytes of a line as a person may read them: one line, short, odd bytes replaced.
pub(crate) fn shown(line: &[u8]) -> String {
    const MOST: usize = 60;
    let text = String::from_utf8_lossy(line);
    let mut short: String =
        text.chars().take(MOST).map(|c| if c.is_control() && c != '\t' { '·' } else { c }).collect();
    if text.chars().count() > MOST {
        short.push('…');
    }
    short
}
