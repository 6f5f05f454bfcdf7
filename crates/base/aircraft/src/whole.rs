//! What is an aircraft, as a whole?

use crate::{care, controller, drag, drive, fuselage, limits, mass, movable, start, surface};

/// A whole aircraft as its file describes it: SI units, builder's frame (`numerics::frames`).
#[derive(Debug, Clone, PartialEq)]
pub struct Aircraft {
    /// The builder's name for it.
    pub name: String,
    /// Which arrangement of surfaces it has.
    pub layout: Layout,
    /// What the builder measures from, in their words ("tip of the nose").
    pub datum: String,
    /// Lifting surfaces; a mirrored one stands for its pair.
    pub surfaces: Vec<surface::Surface>,
    /// Movable parts of the lifting surfaces.
    pub movables: Vec<movable::Movable>,
    /// Items with mass and place; may be empty where the whole was weighed.
    pub masses: Vec<mass::Item>,
    /// What the scale and the balance stand said of the whole.
    pub weighed: Option<mass::Weighed>,
    /// Propellers, motors and pack; absent for a glider.
    pub drive: Option<drive::Drive>,
    /// Bodies: one fuselage, or pod and booms.
    pub fuselages: Vec<fuselage::Fuselage>,
    /// The stabilising controller and how it is set.
    pub controller: controller::Controller,
    /// What the builder or the maker forbids, and speeds known from elsewhere.
    pub limits: limits::Limits,
    /// What flights have taught, as factors on the predictions.
    pub flown: limits::Flown,
    /// How carefully it was measured.
    pub care: care::Care,
    /// What stands in the wind besides surfaces, bodies and propeller: wheels, struts, gaps.
    pub drags: Vec<drag::Drag>,
    /// How a flight begins.
    pub start: start::Start,
}

/// How the lifting surfaces are arranged.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Layout {
    /// Wing ahead, tailplane and fin behind.
    Conventional,
    /// Tailplane on top of the fin.
    TTail,
    /// Two tail panels above the body that do the work of tailplane and fin.
    VTail,
    /// The same below a boom or between booms.
    InvertedV,
    /// No tailplane: elevons on the wing.
    FlyingWing,
    /// Two booms with a tailplane between and a fin on each.
    TwinBoom,
    /// Foreplane ahead of the wing.
    Canard,
}

impl Layout {
    /// Every layout with the word that the file uses for it.
    pub const ALL: [(Self, &'static str); 7] = [
        (Self::Conventional, "conventional"),
        (Self::TTail, "t-tail"),
        (Self::VTail, "v-tail"),
        (Self::InvertedV, "inverted-v"),
        (Self::FlyingWing, "flying-wing"),
        (Self::TwinBoom, "twin-boom"),
        (Self::Canard, "canard"),
    ];

    /// The word that the file uses.
    #[must_use]
    pub fn word(self) -> &'static str {
        Self::ALL.iter().find(|(layout, _)| *layout == self).map_or("conventional", |(_, word)| word)
    }
}

impl Aircraft {
    /// The main wing: the first surface of role wing. Reference area, chord and span are its.
    #[must_use]
    pub fn wing(&self) -> Option<&surface::Surface> {
        self.surfaces.iter().find(|s| s.role == surface::Role::Wing)
    }
}
