//! How quick are the pages? Measured, not judged: times belong to the machine they were taken on.
