//! What a user does that takes more than one room: the only place where the round closes.

pub(crate) mod compare;
pub(crate) mod demonstrate;
pub(crate) mod fetch;
pub(crate) mod flown;
pub(crate) mod forecast;
pub(crate) mod invented_day;
pub(crate) mod issue;
pub(crate) mod keep;
pub(crate) mod launch;
pub(crate) mod mishap;
pub(crate) mod odds;
pub(crate) mod readiness;
pub(crate) mod record;
pub(crate) mod restore;
pub(crate) mod revise;
pub(crate) mod round;
pub(crate) mod sections;
pub(crate) mod study;
pub(crate) mod today;
pub(crate) mod upkeep;
pub(crate) mod zone;
