//! Sections: thin-section values and the measured E387.
