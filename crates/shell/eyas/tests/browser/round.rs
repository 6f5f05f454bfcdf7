//! The whole round, clicked.
