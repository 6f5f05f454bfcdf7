//! How does a whole hangar leave as plain files, and come back? A folder: each table as lines of JSON, each text and
//! recording as a file of its own, and the checksums of all of them in the form that common checksum tools read.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::fs;
use std::path::{Component, Path, PathBuf};

use rusqlite::types::{Value, ValueRef};
use rusqlite::{Connection, params_from_iter};

use crate::error::HangarError;
use crate::open::{Hangar, folder_of, place_new, sync_folder};
use crate::schema::{MIGRATIONS, VERSION};
use crate::store::{Fault, sha256};

/// First line of the file that says what the folder is; the number is of this layout.
const LAYOUT: &str = "eyas hangar, plain files, layout 1";
const WHAT: &str = "WHAT.txt";
const SUMS: &str = "SHA256SUMS";

/// What an export holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Exported {
    /// Files written, the list of checksums not counted.
    pub files: usize,
    /// Their size together, bytes.
    pub bytes: u64,
}

/// A column of a table.
struct Column {
    name: String,
    blob: bool,
}

impl Hangar {
    /// Writes everything kept, as it is at this moment, as plain files into a folder that must not be there yet.
    /// Recordings are compressed (one Zstandard frame each, RFC 8878).
    ///
    /// # Errors
    /// [`HangarError::BackupExists`], and the causes that concern reading and writing files.
    pub fn export(&self, folder: impl AsRef<Path>) -> Result<Exported, HangarError> {
        let folder = folder.as_ref();
        if fs::symlink_metadata(folder).is_ok() {
            return Err(HangarError::BackupExists { path: folder.into() });
        }
        let part = beside(folder);
        let _ = fs::remove_dir_all(&part);
        let written = self.write_files(&part);
        let exported = match written {
            Ok(exported) => exported,
            Err(error) => {
                let _ = fs::remove_dir_all(&part);
                return Err(error);
            }
        };
        let unreadable = |source| HangarError::Unreadable { path: folder.into(), source };
        fs::rename(&part, folder).map_err(unreadable)?;
        sync_folder(folder).map_err(unreadable)?;
        Ok(exported)
    }

    fn write_files(&self, part: &Path) -> Result<Exported, HangarError> {
        let mut writer = Writer::new(part)?;
        // One reading transaction: whatever is kept meanwhile is not half in it.
        let view = self
            .connection
            .unchecked_transaction()
            .map_err(|error| Fault::Sql(error).tell(&self.path, "exporting"))?;
        let sql = |error: rusqlite::Error| Fault::Sql(error).tell(&self.path, "exporting");
        writer.write(WHAT, format!("{LAYOUT}\ntables {VERSION}\n").as_bytes())?;
        for table in tables(&view).map_err(sql)? {
            let columns = columns(&view, &table).map_err(sql)?;
            let mut lines = String::new();
            let names: Vec<&str> = columns.iter().map(|c| c.name.as_str()).collect();
            let mut statement = view
                .prepare(&format!("SELECT {} FROM {table} ORDER BY rowid", names.join(", ")))
                .map_err(sql)?;
            let mut rows = statement.query([]).map_err(sql)?;
            let mut count = 0_usize;
            while let Some(row) = rows.next().map_err(sql)? {
                count += 1;
                lines.push('{');
                for (i, column) in columns.iter().enumerate() {
                    let value = row.get_ref(i).map_err(sql)?;
                    let _ = write!(lines, "{}\"{}\":", if i == 0 { "" } else { "," }, column.name);
                    match value {
                        ValueRef::Null => lines.push_str("null"),
                        ValueRef::Integer(number) => {
                            let _ = write!(lines, "{number}");
                        }
                        // Rust's shortest form comes back as the same number.
                        ValueRef::Real(number) => {
                            let _ = write!(lines, "{number:?}");
                        }
                        ValueRef::Text(text) => lines.push_str(&quoted(&String::from_utf8_lossy(text))),
                        ValueRef::Blob(bytes) => {
                            let file = format!(
                                "files/{table}-{count}-{}{}",
                                column.name,
                                ending(&table, &column.name)
                            );
                            writer.write(&file, bytes)?;
                            lines.push_str(&quoted(&file));
                        }
                    }
                }
                lines.push_str("}\n");
            }
            writer.write(&format!("tables/{table}.jsonl"), lines.as_bytes())?;
        }
        writer.finish()
    }
}

/// Makes a hangar at `to`, where there must be nothing yet, from an exported folder. Every file is compared with its
/// checksum before anything is made, and the new hangar is examined before it gets its name.
///
/// # Errors
/// [`HangarError::BadExport`], [`HangarError::Newer`], [`HangarError::BackupExists`], and the causes that concern
/// reading and writing files.
pub fn import(folder: impl AsRef<Path>, to: impl AsRef<Path>) -> Result<Hangar, HangarError> {
    let (folder, to) = (folder.as_ref(), to.as_ref());
    if fs::symlink_metadata(to).is_ok() {
        return Err(HangarError::BackupExists { path: to.into() });
    }
    let listed = listed(folder)?;
    let version = version(folder, &listed)?;
    fs::create_dir_all(folder_of(to))
        .map_err(|source| HangarError::NoFolder { folder: folder_of(to), source })?;
    let part = beside(to);
    let remove = || {
        for ending in ["", "-wal", "-shm", "-journal"] {
            let mut name = part.clone().into_os_string();
            name.push(ending);
            let _ = fs::remove_file(name);
        }
    };
    remove();
    let made = fill(folder, &listed, version, &part).and_then(|()| place_new(&part, to));
    remove();
    made?;
    Hangar::open(to)
}

fn fill(
    folder: &Path,
    listed: &BTreeMap<String, String>,
    version: u32,
    part: &Path,
) -> Result<(), HangarError> {
    let sql = |error: rusqlite::Error| Fault::Sql(error).tell(part, "importing");
    let bad = |cause: String| HangarError::BadExport { folder: folder.into(), cause };
    {
        let mut connection = Connection::open(part).map_err(sql)?;
        // The tables as they were when the export was made; newer ones come when the hangar is opened.
        let step = MIGRATIONS.to_version(&mut connection, version as usize);
        step.map_err(|error| bad(format!("tables of version {version} could not be made: {error}")))?;
        let known = tables(&connection).map_err(sql)?;
        let transaction = connection.transaction().map_err(sql)?;
        transaction.pragma_update(None, "defer_foreign_keys", true).map_err(sql)?;
        for name in listed.keys() {
            let Some(table) = name.strip_prefix("tables/").and_then(|rest| rest.strip_suffix(".jsonl"))
            else {
                continue;
            };
            if !known.iter().any(|known| known == table) {
                return Err(bad(format!("{name}: there is no such table in version {version}")));
            }
            let lines = text(folder, name, listed)?;
            for (i, line) in lines.lines().enumerate() {
                insert(&transaction, folder, listed, table, line)
                    .map_err(|cause| bad(format!("{name} line {}: {cause}", i + 1)))?;
            }
        }
        transaction.commit().map_err(|error| bad(format!("its rows do not fit together: {error}")))?;
    }
    let flaws = Hangar::open(part)?.examine()?;
    match flaws.first() {
        None => Ok(()),
        Some(flaw) => Err(bad(format!("{flaw:?}"))),
    }
}

/// Puts one line into its table; the cause is told in words.
fn insert(
    connection: &Connection,
    folder: &Path,
    listed: &BTreeMap<String, String>,
    table: &str,
    line: &str,
) -> Result<(), String> {
    let told = |error: rusqlite::Error| error.to_string();
    let columns = columns(connection, table).map_err(told)?;
    let mut statement = connection
        .prepare_cached("SELECT key, type, value, ?1 -> fullkey FROM json_each(?1)")
        .map_err(told)?;
    let mut names = Vec::new();
    let mut values: Vec<Value> = Vec::new();
    let mut rows = statement.query([line]).map_err(told)?;
    while let Some(row) = rows.next().map_err(told)? {
        let key: String = row.get(0).map_err(told)?;
        let kind: String = row.get(1).map_err(told)?;
        let Some(column) = columns.iter().find(|column| column.name == key) else {
            return Err(format!("the table has no column \"{key}\""));
        };
        let value = match kind.as_str() {
            "null" => Value::Null,
            "integer" => Value::Integer(row.get(2).map_err(told)?),
            "real" => {
                let written: String = row.get(3).map_err(told)?;
                Value::Real(written.parse().map_err(|_| format!("\"{key}\" is no number"))?)
            }
            "text" => {
                let value: String = row.get(2).map_err(told)?;
                if column.blob {
                    Value::Blob(bytes(folder, &value, listed).map_err(|error| error.to_string())?)
                } else {
                    Value::Text(value)
                }
            }
            other => return Err(format!("\"{key}\" is of the kind \"{other}\"")),
        };
        names.push(key);
        values.push(value);
    }
    let marks: Vec<&str> = names.iter().map(|_| "?").collect();
    let statement = format!("INSERT INTO {table} ({}) VALUES ({})", names.join(", "), marks.join(", "));
    connection.execute(&statement, params_from_iter(values)).map_err(told)?;
    Ok(())
}

/// The files that the list of checksums names, each compared with its sum.
fn listed(folder: &Path) -> Result<BTreeMap<String, String>, HangarError> {
    let bad = |cause: String| HangarError::BadExport { folder: folder.into(), cause };
    let sums = fs::read_to_string(folder.join(SUMS)).map_err(|error| bad(format!("{SUMS}: {error}")))?;
    let mut listed = BTreeMap::new();
    for (i, line) in sums.lines().enumerate() {
        let (sum, name) =
            line.split_once("  ").ok_or_else(|| bad(format!("{SUMS} line {}: no checksum", i + 1)))?;
        let inside = Path::new(name).components().all(|part| matches!(part, Component::Normal(_)));
        if !inside || name.is_empty() {
            return Err(bad(format!(
                "{SUMS} line {}: \"{}\" leads out of the folder",
                i + 1,
                name.escape_debug()
            )));
        }
        let found = fs::read(folder.join(name)).map_err(|error| bad(format!("{name}: {error}")))?;
        if sha256(&found) != sum {
            return Err(bad(format!("{name} is not as it was written: its checksum differs")));
        }
        listed.insert(name.to_owned(), sum.to_owned());
    }
    Ok(listed)
}

/// Version of the tables of an export.
fn version(folder: &Path, listed: &BTreeMap<String, String>) -> Result<u32, HangarError> {
    let what = text(folder, WHAT, listed)?;
    let mut lines = what.lines();
    let bad =
        |cause: &str| HangarError::BadExport { folder: folder.into(), cause: format!("{WHAT}: {cause}") };
    if lines.next() != Some(LAYOUT) {
        return Err(bad("this program does not know the layout that it names"));
    }
    let version = lines.next().and_then(|line| line.strip_prefix("tables ")?.parse().ok());
    match version {
        Some(found) if found > VERSION => {
            Err(HangarError::Newer { path: folder.into(), found, known: VERSION })
        }
        Some(found) if found > 0 => Ok(found),
        _ => Err(bad("it does not say which version the tables have")),
    }
}

/// A listed file's bytes, compared once more: the folder may change while it is read.
fn bytes(folder: &Path, name: &str, listed: &BTreeMap<String, String>) -> Result<Vec<u8>, HangarError> {
    let bad = |cause: String| HangarError::BadExport { folder: folder.into(), cause };
    let sum = listed.get(name).ok_or_else(|| bad(format!("{} is not in {SUMS}", name.escape_debug())))?;
    let found = fs::read(folder.join(name)).map_err(|error| bad(format!("{name}: {error}")))?;
    if sha256(&found) == *sum { Ok(found) } else { Err(bad(format!("{name} changed while it was read"))) }
}

fn text(folder: &Path, name: &str, listed: &BTreeMap<String, String>) -> Result<String, HangarError> {
    String::from_utf8(bytes(folder, name, listed)?)
        .map_err(|_| HangarError::BadExport { folder: folder.into(), cause: format!("{name} is no text") })
}

/// Writes files and remembers their checksums.
struct Writer {
    folder: PathBuf,
    sums: String,
    exported: Exported,
}

impl Writer {
    fn new(folder: &Path) -> Result<Self, HangarError> {
        for inner in ["tables", "files"] {
            let folder = folder.join(inner);
            fs::create_dir_all(&folder).map_err(|source| HangarError::NoFolder { folder, source })?;
        }
        Ok(Self { folder: folder.into(), sums: String::new(), exported: Exported { files: 0, bytes: 0 } })
    }

    fn write(&mut self, name: &str, bytes: &[u8]) -> Result<(), HangarError> {
        put(&self.folder.join(name), bytes)?;
        let _ = writeln!(self.sums, "{}  {name}", sha256(bytes));
        self.exported.files += 1;
        self.exported.bytes += bytes.len() as u64;
        Ok(())
    }

    fn finish(self) -> Result<Exported, HangarError> {
        put(&self.folder.join(SUMS), self.sums.as_bytes())?;
        Ok(self.exported)
    }
}

fn put(path: &Path, bytes: &[u8]) -> Result<(), HangarError> {
    let write = || {
        use std::io::Write as _;
        let mut file = fs::File::create(path)?;
        file.write_all(bytes)?;
        file.sync_all()
    };
    write().map_err(|source| HangarError::Unreadable { path: path.into(), source })
}

/// Names of our tables.
fn tables(connection: &Connection) -> Result<Vec<String>, rusqlite::Error> {
    let mut statement = connection.prepare(
        "SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite\\_%' ESCAPE '\\' ORDER BY name",
    )?;
    statement.query_map([], |row| row.get(0))?.collect()
}

fn columns(connection: &Connection, table: &str) -> Result<Vec<Column>, rusqlite::Error> {
    let mut statement =
        connection.prepare_cached("SELECT name, type FROM pragma_table_info(?1) ORDER BY cid")?;
    let columns = statement.query_map([table], |row| {
        Ok(Column { name: row.get(0)?, blob: row.get::<_, String>(1)? == "BLOB" })
    })?;
    columns.collect()
}

/// A name that tells what is in the file.
fn ending(table: &str, column: &str) -> &'static str {
    match (table, column) {
        ("revision", _) | ("column_map", _) => ".toml",
        ("recording", _) => ".zst",
        ("card", _) => ".html",
        ("section_file" | "settings", _) => ".txt",
        _ => ".bin",
    }
}

/// A JSON string (RFC 8259, section 7).
fn quoted(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 2);
    out.push('"');
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\n' => out.push_str("\\n"),
            c if c.is_control() => {
                let _ = write!(out, "\\u{:04x}", u32::from(c));
            }
            c => out.push(c),
        }
    }
    out.push('"');
    out
}

/// Where something is made before it gets its name.
fn beside(path: &Path) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(format!(".part-{}", std::process::id()));
    PathBuf::from(name)
}
