//! Everything predicted of a whole aircraft, as its file describes it.

mod wheatear;
