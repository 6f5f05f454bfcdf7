//! What stands in the wind and lifts nothing: wheels, struts, wires, openings, hinge gaps?
//!
//! Each has a drag area: the drag over the dynamic pressure, m². It is a measured number, or the part's area across
//! the stream times the usual drag coefficient of its kind.

use crate::Aircraft;
use crate::known::{Known, Origin};

/// A part that adds drag and is no lifting surface, body or propeller.
#[derive(Debug, Clone, PartialEq)]
pub struct Drag {
    /// The builder's name ("main wheels"); unique.
    pub name: String,
    /// Drag over dynamic pressure of all of them together, m².
    pub area_m2: Known,
}

/// A kind of part whose drag coefficient is known well enough to be told from its size.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A wheel in the open; width of the tire and diameter.
    Wheel,
    /// A wheel in a fairing; width and height of the fairing.
    FairedWheel,
    /// A round rod across the stream; length and thickness.
    Strut,
    /// A rod with a streamlined section; length and thickness.
    FairedStrut,
    /// A wire or a string; length and thickness.
    Wire,
    /// A flat plate square to the stream.
    Plate,
    /// A box with sharp edges.
    Box,
    /// An opening that faces the stream and loses the air inside the model.
    OpenHole,
    /// An open gap at a hinge; length along the hinge and width of the gap.
    HingeGap,
}

impl Kind {
    /// Every kind with the word that the file uses for it.
    pub const ALL: [(Self, &'static str); 9] = [
        (Self::Wheel, "wheel"),
        (Self::FairedWheel, "faired wheel"),
        (Self::Strut, "strut"),
        (Self::FairedStrut, "faired strut"),
        (Self::Wire, "wire"),
        (Self::Plate, "plate"),
        (Self::Box, "box"),
        (Self::OpenHole, "open hole"),
        (Self::HingeGap, "hinge gap"),
    ];

    /// Drag coefficient on width times height, and its doubt as a share of it.
    ///
    /// Below the critical Reynolds number, where models fly. Source: Hoerner, Fluid-Dynamic Drag (1965), chapters 3, 5
    /// and 13, from memory: round rods 1.1 to 1.2, square plate 1.17, cube 1.05, wheels 0.25 to 0.5 by their tires,
    /// streamlined rods 0.1 to 0.3 at low Reynolds number. An opening takes air in at about half the speed and keeps
    /// its momentum: `rho A (V/2) V` over `rho V²/2` makes 1. A hinge gap: common practice, no source.
    #[must_use]
    pub fn coefficient(self) -> (f64, f64) {
        match self {
            Self::Wheel => (0.5, 0.3),
            Self::FairedWheel => (0.2, 0.4),
            Self::Strut | Self::Wire => (1.15, 0.1),
            Self::FairedStrut => (0.2, 0.5),
            Self::Plate => (1.17, 0.05),
            Self::Box => (1.05, 0.15),
            Self::OpenHole => (1.0, 0.5),
            Self::HingeGap => (0.15, 0.5),
        }
    }

    /// Drag area of a number of parts of this kind, m², from width and height across the stream, m.
    #[must_use]
    pub fn area_m2(self, width_m: f64, height_m: f64, count: u32) -> Known {
        let (coefficient, doubt) = self.coefficient();
        let value = coefficient * width_m * height_m * f64::from(count);
        Known { value, sd: doubt * value, from: Origin::Predicted }
    }
}

impl Aircraft {
    /// Drag area of all parts that only add drag, m²: over the wing's area it is a drag coefficient. Their doubts are
    /// taken as independent.
    #[must_use]
    pub fn drag_area_m2(&self) -> Known {
        let value = self.drags.iter().map(|d| d.area_m2.value).sum();
        let sd = self.drags.iter().map(|d| d.area_m2.sd * d.area_m2.sd).sum::<f64>().sqrt();
        let from = self.drags.iter().map(|d| d.area_m2.from).min().unwrap_or(Origin::Stated);
        Known { value, sd, from }
    }
}
