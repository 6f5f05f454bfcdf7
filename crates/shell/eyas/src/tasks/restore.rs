//! How does a backup come back in the hangar's place, with nothing lost of what was there?

use std::path::{Path, PathBuf};

use hangar::Hangar;

use crate::tasks::keep;
use crate::tell::{Kind, Trouble};

/// Puts the backup `file` in the place of the hangar `to`, after every checksum of it was compared. Comes back with where the
/// hangar that was there is kept.
pub(crate) fn restore(file: &Path, to: &Path, at_ms: i64) -> Result<Option<PathBuf>, Trouble> {
    let refused = |cause: String, remedy: &str| {
        Err(Trouble::new(Kind::Input, "nothing was restored", cause, remedy.to_owned()))
    };
    if !file.exists() {
        return refused(format!("{} is not there", file.display()), "check the path and the spelling");
    }
    if same(file, to) {
        return refused(
            "the backup is the hangar itself".to_owned(),
            "name another file as the backup or with --hangar",
        );
    }
    // A copy of the copy: the backup itself stays as it is, whatever version of the tables it has.
    let part = with_ending(to, &format!("restored-{}", std::process::id()));
    let remove = || {
        for ending in ["", "-wal", "-shm"] {
            let mut name = part.clone().into_os_string();
            name.push(ending);
            let _ = std::fs::remove_file(name);
        }
    };
    let made = fresh_copy(file, &part);
    if let Err(trouble) = made {
        remove();
        return Err(trouble);
    }
    let aside = with_ending(to, &format!("before-{}", at_ms));
    let moved = to.exists();
    if moved {
        // Through the hangar, so that what still stands in its journal is in the copy.
        let old = Hangar::open(to)
            .map_err(keep::trouble)
            .and_then(|hangar| hangar.backup(&aside).map_err(keep::trouble));
        if let Err(trouble) = old {
            remove();
            return Err(trouble);
        }
    }
    let placed = place(&part, to);
    remove();
    placed?;
    Ok(moved.then_some(aside))
}

/// Copies a backup and looks at every checksum of the copy.
fn fresh_copy(file: &Path, part: &Path) -> Result<(), Trouble> {
    let backup = Hangar::open_copy(file, part).map_err(keep::trouble)?;
    if let Some(updated) = backup.updated() {
        // The backup itself is the copy from before.
        let _ = std::fs::remove_file(&updated.copy);
    }
    let flaws = backup.examine().map_err(keep::trouble)?;
    match flaws.first() {
        None => Ok(()),
        Some(flaw) => Err(Trouble::new(
            Kind::No,
            format!("{} was not restored", file.display()),
            format!("it is damaged: {flaw:?}"),
            "use an older backup; the hangar was left as it is",
        )),
    }
}

fn place(part: &Path, to: &Path) -> Result<(), Trouble> {
    let trouble = |error: std::io::Error| {
        Trouble::new(
            Kind::Input,
            format!("{} could not be put in place", to.display()),
            error.to_string(),
            "close every program that uses the hangar, then try again; nothing is lost",
        )
    };
    // The journal of the file that goes must not be taken for one of the file that comes.
    for ending in ["-wal", "-shm"] {
        let mut name = to.to_path_buf().into_os_string();
        name.push(ending);
        match std::fs::remove_file(name) {
            Err(error) if error.kind() != std::io::ErrorKind::NotFound => return Err(trouble(error)),
            _ => {}
        }
    }
    std::fs::rename(part, to).map_err(trouble)
}

fn with_ending(path: &Path, ending: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(format!(".{ending}"));
    PathBuf::from(name)
}

fn same(a: &Path, b: &Path) -> bool {
    matches!((std::fs::canonicalize(a), std::fs::canonicalize(b)), (Ok(a), Ok(b)) if a == b)
}
