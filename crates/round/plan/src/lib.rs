//! What do we fly next, on which day, in what order, and when do we stop? Readiness, the day, test points, the card, what
//! is outstanding.

pub mod advice;
pub mod bench;
pub mod card;
pub mod catalogue;
pub mod choose;
pub mod day;
pub mod directions;
pub mod evidence;
pub mod expression;
pub mod names;
pub mod number;
pub mod outstanding;
pub mod panels;
pub mod places;
pub mod ready;
pub mod repairs;
