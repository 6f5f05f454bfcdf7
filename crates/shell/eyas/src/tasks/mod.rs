//! What a user does that takes more than one room: the only place where the round closes.

pub(crate) mod amend;
pub(crate) mod demonstrate;
pub(crate) mod edit;
pub(crate) mod fetch;
pub(crate) mod forecast;
pub(crate) mod go_back;
pub(crate) mod incoming;
pub(crate) mod issue;
pub(crate) mod issued;
pub(crate) mod keep;
pub(crate) mod launch;
pub(crate) mod lines;
pub(crate) mod mishap;
pub(crate) mod readiness;
pub(crate) mod record;
pub(crate) mod revise;
pub(crate) mod round;
pub(crate) mod sections;
pub(crate) mod standing;
pub(crate) mod study;
pub(crate) mod teach;
pub(crate) mod today;
pub(crate) mod try_out;
pub(crate) mod upkeep;
pub(crate) mod warm;
pub(crate) mod what_if;
