//! What shape is a rib? Mean line and thickness of a section, by its digits or its coordinates.

/// A wing section.
#[derive(Debug, Clone, PartialEq)]
pub struct Section {
    /// As the file names it ("naca 2412", "clark-y.dat").
    pub name: String,
    /// Its shape on a chord of one.
    pub shape: Shape,
}

/// The shape of a section on a chord of one, x from the leading edge aft, y up.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    /// NACA four-digit: greatest camber, its place, thickness, as fractions of the chord (2412: 0.02, 0.4, 0.12).
    Naca4 {
        /// Greatest camber over chord.
        camber: f64,
        /// Where the greatest camber is, over chord.
        camber_at: f64,
        /// Thickness over chord.
        thickness: f64,
    },
    /// NACA five-digit with a plain (not reflexed) mean line: design lift coefficient, place of greatest camber,
    /// thickness (23012: 0.3, 0.15, 0.12).
    Naca5 {
        /// Design lift coefficient.
        design_lift: f64,
        /// Where the greatest camber is, over chord.
        camber_at: f64,
        /// Thickness over chord.
        thickness: f64,
    },
    /// Points from a coordinate file, put in order: from the trailing edge over the upper side to the nose and
    /// back along the lower side, chord scaled to one.
    Points(Vec<[f64; 2]>),
}
