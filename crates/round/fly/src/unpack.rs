//! Is the file compressed? gzip and Zstandard are unpacked by what they begin with, whatever the file is called, and
//! never to more than a recording can be.

use std::borrow::Cow;
use std::io::Read;

use crate::csv::NotARecording;
use crate::recording::{Flaw, FlawKind};

/// First bytes of a gzip member (RFC 1952, section 2.3.1).
const GZIP: &[u8] = b"\x1f\x8b\x08";
/// First bytes of a Zstandard frame (RFC 8878, section 3.1.1).
const ZSTANDARD: &[u8] = b"\x28\xb5\x2f\xfd";

/// How much unpacking may make of a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Bounds {
    /// Never more than this many bytes.
    pub most_bytes: usize,
    /// Beyond `free_bytes` never more than this many times the packed size: columns of numbers pack to a tenth, a column
    /// that rests to a hundredth; what packs further was made to fill memory.
    pub most_times: usize,
    /// Up to here the ratio does not matter.
    pub free_bytes: usize,
}

impl Default for Bounds {
    fn default() -> Self {
        Self { most_bytes: 1 << 30, most_times: 200, free_bytes: 32 << 20 }
    }
}

/// The file as it was before it was compressed, and what was wrong; the file itself where it is not compressed.
///
/// A compressed file that ends early or is damaged gives what could be unpacked, and that is told.
pub(crate) fn unpack(bytes: &[u8], bounds: Bounds) -> Result<(Cow<'_, [u8]>, Vec<Flaw>), NotARecording> {
    if bytes.starts_with(GZIP) {
        let reader = flate2::read::MultiGzDecoder::new(bytes);
        return whole_or_part(reader, bytes.len(), bounds, "gzip").map(|(b, f)| (Cow::Owned(b), f));
    }
    if bytes.starts_with(ZSTANDARD) {
        let damaged = |_| NotARecording::PackedDamaged { how: "Zstandard" };
        let mut reader = zstd::stream::read::Decoder::new(bytes).map_err(damaged)?;
        // Frames may ask for more memory than this; RFC 8878 recommends to support 8 MB only.
        reader.window_log_max(27).map_err(damaged)?;
        return whole_or_part(reader, bytes.len(), bounds, "Zstandard").map(|(b, f)| (Cow::Owned(b), f));
    }
    Ok((Cow::Borrowed(bytes), Vec::new()))
}

fn whole_or_part(
    mut reader: impl Read,
    packed: usize,
    bounds: Bounds,
    how: &'static str,
) -> Result<(Vec<u8>, Vec<Flaw>), NotARecording> {
    let limit = bounds.most_bytes.min(bounds.free_bytes.max(packed.saturating_mul(bounds.most_times)));
    let mut out: Vec<u8> = Vec::new();
    let mut part = vec![0_u8; 256 << 10];
    let flaw = loop {
        match reader.read(&mut part) {
            Ok(0) => break None,
            Ok(n) => {
                if out.len() + n > limit {
                    return Err(NotARecording::PackedTooLarge { how, packed, limit });
                }
                out.extend_from_slice(part.get(..n).unwrap_or(&[]));
            }
            Err(error) if error.kind() == std::io::ErrorKind::Interrupted => {}
            Err(error) => break Some(error),
        }
    };
    let Some(error) = flaw else {
        return Ok((out, Vec::new()));
    };
    if out.is_empty() {
        return Err(NotARecording::PackedDamaged { how });
    }
    let flaw = Flaw {
        kind: FlawKind::Truncated,
        place: "end of the file".to_owned(),
        what: format!(
            "the {how}-compressed file breaks off or is damaged ({error}); the {} bytes before that are read",
            out.len()
        ),
    };
    Ok((out, vec![flaw]))
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::Write;

    fn gzip(bytes: &[u8]) -> Vec<u8> {
        let mut writer = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::default());
        writer.write_all(bytes).unwrap();
        writer.finish().unwrap()
    }

    #[test]
    fn what_was_packed_comes_back_and_what_was_not_stays() {
        let text: Vec<u8> =
            (0..50_000).flat_map(|i| format!("{i},{}\n", i * 7 % 1013).into_bytes()).collect();
        let bounds = Bounds::default();
        assert_eq!(unpack(&gzip(&text), bounds).unwrap(), (text.clone().into(), vec![]));
        // Two members one after the other are one file (RFC 1952, section 2.2).
        let twice = [gzip(&text), gzip(&text)].concat();
        assert_eq!(unpack(&twice, bounds).unwrap().0.len(), 2 * text.len());
        let packed = zstd::bulk::compress(&text, 3).unwrap();
        assert_eq!(unpack(&packed, bounds).unwrap(), (text.clone().into(), vec![]));
        assert!(matches!(unpack(&text, bounds).unwrap().0, Cow::Borrowed(_)));
    }

    #[test]
    fn a_bomb_is_refused_and_a_cut_file_gives_what_is_whole() {
        let zeros = vec![b'0'; 40 << 20];
        for bomb in [gzip(&zeros), zstd::bulk::compress(&zeros, 3).unwrap()] {
            let error = unpack(&bomb, Bounds::default()).unwrap_err();
            assert!(matches!(error, NotARecording::PackedTooLarge { .. }), "{error:?}");
        }
        let text: Vec<u8> =
            (0..50_000).flat_map(|i| format!("{i},{}\n", i * 7919 % 10_007).into_bytes()).collect();
        let packed = gzip(&text);
        let (part, flaws) = unpack(&packed[..packed.len() / 2], Bounds::default()).unwrap();
        assert!(part.len() > text.len() / 4 && text.starts_with(&part));
        assert_eq!(flaws.iter().map(|f| f.kind).collect::<Vec<_>>(), [FlawKind::Truncated]);
        assert_eq!(
            unpack(b"\x1f\x8b\x08", Bounds::default()).unwrap_err(),
            NotARecording::PackedDamaged { how: "gzip" }
        );
    }
}
