//! What do we fly next, in what order, and when do we stop? Test points, the card, what is outstanding.

pub mod card;
