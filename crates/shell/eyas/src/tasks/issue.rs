//! Which card goes to the field, and where is it kept? Made for the day where a day was told, and frozen as it is issued.

use hangar::{Card, NewCard};

use crate::cli::Common;
use crate::tasks::fetch::Fetched;
use crate::tasks::keep;
use crate::tasks::round::{self, Issued};
use crate::tasks::today::{Told, today};
use crate::tell::Trouble;

/// The next flight's card: for the day, where more than the wind was told.
pub(crate) fn issue(fetched: &Fetched, told: &Told, common: &Common) -> Result<Issued, Trouble> {
    if told.is_a_day() {
        return round::card_for_day(fetched, &today(fetched, told, common)?, common);
    }
    let weather = round::weather(told.wind, told.gust, told.from)?;
    round::card(fetched, &weather, &told.air, common)
}

/// Keeps a card with the revision of the file that it was made for.
pub(crate) fn kept(fetched: &Fetched, issued: &Issued, at_ms: i64, common: &Common) -> Result<Card, Trouble> {
    let mut hangar = keep::open(common)?;
    let name = &fetched.aircraft.name;
    let revision =
        hangar.keep_aircraft(name, fetched.kept(), "as the card was made", at_ms).map_err(keep::trouble)?;
    hangar
        .keep_card(&NewCard {
            aircraft: revision.id,
            html: issued.html.as_bytes(),
            json: &round::card_json(&issued.card).to_string(),
            version: env!("CARGO_PKG_VERSION"),
            at_ms,
        })
        .map_err(keep::trouble)
}
