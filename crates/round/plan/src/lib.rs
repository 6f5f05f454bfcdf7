//! What do we fly next, in what order, and when do we stop? Test points, the card, what is outstanding.

pub mod advice;
pub mod bench;
pub mod card;
pub mod catalogue;
pub mod choose;
pub mod directions;
pub mod expression;
pub mod names;
pub mod number;
pub mod outstanding;
pub mod panels;
pub mod places;
pub mod repairs;
