//! How is a table written as Apache Parquet? The least that every reader takes: one row group, one plain page of doubles a
//! column, packed with Zstandard.
//!
//! Source: the Parquet format specification (apache/parquet-format, `parquet.thrift` and Encodings.md) and the Thrift
//! compact protocol. Columns are of type DOUBLE, required, encoding PLAIN; a missing value is not a number.

use super::Table;

/// First and last bytes of the file.
const MAGIC: &[u8] = b"PAR1";
/// Values of `parquet.thrift`: Type.DOUBLE, FieldRepetitionType.REQUIRED, Encoding.PLAIN and RLE, CompressionCodec.ZSTD,
/// PageType.DATA_PAGE.
const DOUBLE: i64 = 5;
const REQUIRED: i64 = 0;
const PLAIN: i64 = 0;
const RLE: i64 = 3;
const ZSTD: i64 = 6;
const UNCOMPRESSED: i64 = 0;
const DATA_PAGE: i64 = 0;
/// Packing further than this costs time and saves little.
const LEVEL: i32 = 1;

/// Types of the compact protocol.
const I32: u8 = 5;
const I64: u8 = 6;
const BINARY: u8 = 8;
const LIST: u8 = 9;
const STRUCT: u8 = 12;

/// A structure being written: fields in growing order of their numbers.
#[derive(Default)]
struct Structure {
    bytes: Vec<u8>,
    last: i16,
}

impl Structure {
    fn head(&mut self, field: i16, kind: u8) {
        // Fields here are never more than fifteen apart.
        let step = (field - self.last) as u8;
        self.bytes.push(step << 4 | kind);
        self.last = field;
    }

    fn number(mut self, field: i16, kind: u8, value: i64) -> Self {
        self.head(field, kind);
        // Signed numbers alternate: 0, -1, 1, -2, …
        varint(&mut self.bytes, ((value << 1) ^ (value >> 63)) as u64);
        self
    }

    fn text(mut self, field: i16, value: &str) -> Self {
        self.head(field, BINARY);
        string(&mut self.bytes, value);
        self
    }

    fn list(mut self, field: i16, kind: u8, items: &[Vec<u8>]) -> Self {
        self.head(field, LIST);
        match u8::try_from(items.len()) {
            Ok(few) if few < 15 => self.bytes.push(few << 4 | kind),
            _ => {
                self.bytes.push(0xf0 | kind);
                varint(&mut self.bytes, items.len() as u64);
            }
        }
        for item in items {
            self.bytes.extend_from_slice(item);
        }
        self
    }

    fn structure(mut self, field: i16, inner: Structure) -> Self {
        self.head(field, STRUCT);
        self.bytes.extend(inner.done());
        self
    }

    fn done(mut self) -> Vec<u8> {
        self.bytes.push(0);
        self.bytes
    }
}

fn varint(out: &mut Vec<u8>, mut value: u64) {
    while value >= 0x80 {
        out.push((value & 0x7f) as u8 | 0x80);
        value >>= 7;
    }
    out.push(value as u8);
}

fn string(out: &mut Vec<u8>, value: &str) {
    varint(out, value.len() as u64);
    out.extend_from_slice(value.as_bytes());
}

fn enumeration(value: i64) -> Vec<u8> {
    let mut bytes = Vec::new();
    varint(&mut bytes, (value << 1) as u64);
    bytes
}

/// The bytes of a file that holds a table.
pub(super) fn file(table: &Table) -> Vec<u8> {
    let rows = table.columns.first().map_or(0, Vec::len);
    let mut out = MAGIC.to_vec();
    let mut chunks = Vec::new();
    let mut total = 0;
    for (name, column) in table.names.iter().zip(&table.columns) {
        let begin = out.len() as i64;
        let plain: Vec<u8> = column.iter().flat_map(|v| v.to_le_bytes()).collect();
        let packed = zstd::bulk::compress(&plain, LEVEL);
        let (codec, body) = match &packed {
            Ok(packed) => (ZSTD, packed),
            Err(_) => (UNCOMPRESSED, &plain),
        };
        let page = Structure::default()
            .number(1, I32, DATA_PAGE)
            .number(2, I32, plain.len() as i64)
            .number(3, I32, body.len() as i64)
            .structure(
                5,
                Structure::default()
                    .number(1, I32, rows as i64)
                    .number(2, I32, PLAIN)
                    .number(3, I32, RLE)
                    .number(4, I32, RLE),
            )
            .done();
        let head = page.len();
        out.extend(page);
        out.extend_from_slice(body);
        let mut path = Vec::new();
        string(&mut path, name);
        let meta = Structure::default()
            .number(1, I32, DOUBLE)
            .list(2, I32, &[enumeration(PLAIN), enumeration(RLE)])
            .list(3, BINARY, &[path])
            .number(4, I32, codec)
            .number(5, I64, rows as i64)
            .number(6, I64, (head + plain.len()) as i64)
            .number(7, I64, (head + body.len()) as i64)
            .number(9, I64, begin);
        total += (head + plain.len()) as i64;
        chunks.push(Structure::default().number(2, I64, begin).structure(3, meta).done());
    }
    let root = Structure::default().text(4, "recording").number(5, I32, table.columns.len() as i64).done();
    let mut schema = vec![root];
    for name in &table.names {
        schema
            .push(Structure::default().number(1, I32, DOUBLE).number(3, I32, REQUIRED).text(4, name).done());
    }
    let group = Structure::default()
        .list(1, STRUCT, &chunks)
        .number(2, I64, total)
        .number(3, I64, rows as i64)
        .done();
    let footer = Structure::default()
        .number(1, I32, 1)
        .list(2, STRUCT, &schema)
        .number(3, I64, rows as i64)
        .list(4, STRUCT, &[group])
        .text(6, "eyas")
        .done();
    let length = footer.len() as u32;
    out.extend(footer);
    out.extend_from_slice(&length.to_le_bytes());
    out.extend_from_slice(MAGIC);
    out
}
