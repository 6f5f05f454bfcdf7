//! Where is what is kept?

use std::path::PathBuf;

use etcetera::{BaseStrategy as _, choose_base_strategy};
use hangar::{Hangar, HangarError};

use crate::cli::Common;
use crate::tell::{Kind, Trouble};

/// The hangar's path: as told, or in the user's data folder.
pub(crate) fn path(common: &Common) -> Result<PathBuf, Trouble> {
    if let Some(path) = &common.hangar {
        return Ok(path.clone());
    }
    choose_base_strategy().map(|dirs| dirs.data_dir().join("eyas").join("hangar.db")).map_err(|_| {
        Trouble::new(
            Kind::Input,
            "the hangar could not be found",
            "this user has no home folder",
            "name the hangar's file with --hangar FILE",
        )
    })
}

/// Opens the hangar, making it where there is none.
pub(crate) fn open(common: &Common) -> Result<Hangar, Trouble> {
    Hangar::open(&path(common)?).map_err(trouble)
}

/// Opens the hangar if there is one: asking must not make a file.
pub(crate) fn open_existing(common: &Common) -> Result<Option<Hangar>, Trouble> {
    let path = path(common)?;
    if path.exists() { Hangar::open(&path).map(Some).map_err(trouble) } else { Ok(None) }
}

/// The hangar's own words for what went wrong.
pub(crate) fn trouble(error: HangarError) -> Trouble {
    Trouble::new(Kind::Input, "the hangar could not be used", error.to_string(), error.what_to_do())
}
