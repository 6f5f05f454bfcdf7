//! After a repair, what has to be looked at again before the aircraft flies, and why?
//!
//! What each kind of repair demands is a fact of the trade: common practice, no source. Where it can hurt somebody the
//! caution stands with it.

/// A kind of repair, which is also the part of the aircraft that a defect is told of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Repair {
    /// Nose, firewall, motor mount.
    Nose,
    /// Fuselage behind the nose, tail boom.
    Fuselage,
    /// Wing, its joiner and its seat.
    Wing,
    /// Tailplane, fin, V-tail and their seats.
    Tail,
    /// A movable surface or its hinge.
    Surface,
    /// Pushrod, horn, clevis.
    Linkage,
    /// A servo.
    Servo,
    /// The motor.
    Motor,
    /// The propeller or its hub.
    Propeller,
    /// The motor's speed controller.
    SpeedController,
    /// The pack, its lead or its strap.
    Pack,
    /// Receiver, antenna, transmitter.
    Radio,
    /// The stabilizing controller or its mount.
    Controller,
    /// Airspeed, position, heading or height sensor.
    Sensor,
    /// Undercarriage, skid, wheels.
    Gear,
    /// Covering, paint, tape.
    Covering,
    /// Something else.
    Other,
}

/// Something to look at again.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Recheck {
    /// Balance point and weight.
    Balance,
    /// Weight of left against right.
    SideBalance,
    /// Incidences and straightness.
    Alignment,
    /// Every surface's direction, from the stick and from the stabilizer.
    Directions,
    /// Throws.
    Throws,
    /// Play of hinges and linkages.
    Play,
    /// Static pull, rpm and current.
    Pull,
    /// Which way the propeller turns and pushes.
    Rotation,
    /// Vibration, on the bench and in the next recording.
    Vibration,
    /// Range with the motor off and on.
    Range,
    /// Answer of the failsafe.
    Failsafe,
    /// The controller's own horizon against the aircraft's.
    Mounting,
    /// The sensor's reading at rest and in a known condition.
    SensorReading,
    /// Cells and resistance of the pack.
    PackState,
    /// Trim flight before anything else.
    TrimFlight,
    /// A pull and twist by hand on what was mended.
    Strength,
}

impl Repair {
    /// All kinds.
    pub const ALL: [Self; 17] = [
        Self::Nose,
        Self::Fuselage,
        Self::Wing,
        Self::Tail,
        Self::Surface,
        Self::Linkage,
        Self::Servo,
        Self::Motor,
        Self::Propeller,
        Self::SpeedController,
        Self::Pack,
        Self::Radio,
        Self::Controller,
        Self::Sensor,
        Self::Gear,
        Self::Covering,
        Self::Other,
    ];

    /// The word for it, as typed and kept.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Nose => "nose",
            Self::Fuselage => "fuselage",
            Self::Wing => "wing",
            Self::Tail => "tail",
            Self::Surface => "surface",
            Self::Linkage => "linkage",
            Self::Servo => "servo",
            Self::Motor => "motor",
            Self::Propeller => "propeller",
            Self::SpeedController => "speed-controller",
            Self::Pack => "pack",
            Self::Radio => "radio",
            Self::Controller => "controller",
            Self::Sensor => "sensor",
            Self::Gear => "gear",
            Self::Covering => "covering",
            Self::Other => "other",
        }
    }

    /// The kind of that word; none where there is no such word.
    #[must_use]
    pub fn of_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.word() == word)
    }

    /// What it demands, in the order in which it is best done.
    #[must_use]
    pub fn demands(self) -> &'static [Recheck] {
        use Recheck::{
            Alignment, Balance, Directions, Failsafe, Mounting, PackState, Play, Pull, Range, Rotation,
            SensorReading, SideBalance, Strength, Throws, TrimFlight, Vibration,
        };
        match self {
            Self::Nose => &[Strength, Alignment, Balance, Pull, Vibration, Mounting, TrimFlight],
            Self::Fuselage => &[Strength, Alignment, Balance, Directions, Throws, Mounting, TrimFlight],
            Self::Wing => &[Strength, Alignment, SideBalance, Balance, Directions, Throws, TrimFlight],
            Self::Tail => &[Strength, Alignment, Balance, Directions, Throws, TrimFlight],
            Self::Surface => &[Strength, Directions, Throws, Play, TrimFlight],
            Self::Linkage => &[Strength, Directions, Throws, Play, TrimFlight],
            Self::Servo => &[Directions, Throws, Play, Failsafe, TrimFlight],
            Self::Motor => &[Strength, Rotation, Pull, Vibration, Balance],
            Self::Propeller => &[Rotation, Pull, Vibration],
            Self::SpeedController => &[Rotation, Pull, Failsafe, Range],
            Self::Pack => &[PackState, Balance, Pull],
            Self::Radio => &[Range, Failsafe, Directions],
            Self::Controller => &[Mounting, Directions, Failsafe, Vibration, TrimFlight],
            Self::Sensor => &[SensorReading, Failsafe],
            Self::Gear => &[Strength, Balance],
            Self::Covering => &[SideBalance, Balance, TrimFlight],
            Self::Other => &[Strength, Balance, Directions, Failsafe],
        }
    }
}

impl Recheck {
    /// The word for it, as typed and kept.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Balance => "balance",
            Self::SideBalance => "side-balance",
            Self::Alignment => "alignment",
            Self::Directions => "directions",
            Self::Throws => "throws",
            Self::Play => "play",
            Self::Pull => "pull",
            Self::Rotation => "rotation",
            Self::Vibration => "vibration",
            Self::Range => "range",
            Self::Failsafe => "failsafe",
            Self::Mounting => "mounting",
            Self::SensorReading => "sensor-reading",
            Self::PackState => "pack-state",
            Self::TrimFlight => "trim-flight",
            Self::Strength => "strength",
        }
    }

    /// What to do, in a sentence, its caution included.
    #[must_use]
    pub fn what(self) -> &'static str {
        match self {
            Self::Balance => {
                "Weigh it, and measure the balance point again: glue and new parts have moved it."
            }
            Self::SideBalance => "Hang it by nose and tail, or weigh each wing tip: neither side is to drop.",
            Self::Alignment => {
                "Sight along it from behind and above, and measure tip to tail on both sides: wing, tail and motor \
                 stand as in the aircraft file."
            }
            Self::Directions => {
                "Propeller off. Do the surface direction check again, with the stick and with the stabilizer."
            }
            Self::Throws => "Propeller off. Measure the throws of every surface that was touched, both ways.",
            Self::Play => {
                "Wiggle each surface with the servo powered: less play than a millimeter at the trailing edge."
            }
            Self::Pull => {
                "Hold it fast, nobody in front of or beside the propeller. Measure static pull, rpm and current again."
            }
            Self::Rotation => {
                "Propeller off: see which way the shaft turns. Then on, held fast: the air goes backward."
            }
            Self::Vibration => {
                "Held fast, run through the throttle and feel for a range that shakes; look at the vibration of the \
                 next recording before any gain is raised."
            }
            Self::Range => {
                "Propeller off. Walk the control range, then once more with the motor running (held fast)."
            }
            Self::Failsafe => {
                "Propeller off. Switch the transmitter off: surfaces and motor do what the failsafe is set to."
            }
            Self::Mounting => {
                "Set it in its flying attitude: the controller's horizon agrees with a level, and nothing of it is loose."
            }
            Self::SensorReading => {
                "Look at its reading at rest and in one known condition (blown on, turned, carried)."
            }
            Self::PackState => {
                "Each cell's voltage at rest, its resistance, and no swelling, dent or hot spot."
            }
            Self::TrimFlight => {
                "Fly trim and the direct-flight check first; nothing else before both are quiet."
            }
            Self::Strength => "Pull and twist what was mended by hand, harder than a flight will.",
        }
    }

    /// Whether the readiness item of that identifier is this look; an item of its own has the word itself behind
    /// `again.` and the defect's number.
    #[must_use]
    pub fn is_item(self, id: &str) -> bool {
        let begins = |start: &str| id.starts_with(start);
        match self {
            Self::Balance => id == "mass_g" || id == "balance_point_mm",
            Self::Directions => begins("direction."),
            Self::Throws => begins("throw."),
            Self::Play => begins("linkage."),
            Self::Alignment => begins("surface."),
            Self::Pull => begins("static_"),
            Self::Failsafe => id == "failsafe",
            Self::Mounting => id == "controller_mounting",
            Self::Range => id == "control_range_m",
            Self::SideBalance
            | Self::Rotation
            | Self::Vibration
            | Self::SensorReading
            | Self::PackState
            | Self::TrimFlight
            | Self::Strength => false,
        }
    }

    /// Whether it can only be done in the air: then it does not keep the aircraft on the ground.
    #[must_use]
    pub fn in_flight(self) -> bool {
        matches!(self, Self::TrimFlight)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_word_leads_back_to_its_kind_and_every_kind_demands_something() {
        for kind in Repair::ALL {
            assert_eq!(Repair::of_word(kind.word()), Some(kind));
            assert!(!kind.demands().is_empty());
            let mut once = kind.demands().to_vec();
            once.sort();
            once.dedup();
            assert_eq!(once.len(), kind.demands().len(), "{kind:?} demands something twice");
        }
        assert_eq!(Repair::of_word("warp drive"), None);
    }

    #[test]
    fn the_usual_demands_are_made() {
        // Common practice, no source: balance after the nose, vibration and pull after a propeller, surface directions
        // after a servo.
        assert!(Repair::Nose.demands().contains(&Recheck::Balance));
        assert!(Repair::Propeller.demands().contains(&Recheck::Vibration));
        assert!(Repair::Propeller.demands().contains(&Recheck::Pull));
        assert!(Repair::Servo.demands().contains(&Recheck::Directions));
        assert!(Repair::Radio.demands().contains(&Recheck::Failsafe));
    }

    #[test]
    fn the_looks_that_have_an_item_of_the_readiness_list_name_one_that_is_there() {
        // The identifiers are those of `ready::list`; its own test holds them.
        for (check, id) in [
            (Recheck::Balance, "balance_point_mm"),
            (Recheck::Directions, "direction.stick-right"),
            (Recheck::Throws, "throw.right-aileron.up_deg"),
            (Recheck::Pull, "static_pull_g"),
            (Recheck::Failsafe, "failsafe"),
        ] {
            assert!(check.is_item(id), "{check:?} {id}");
        }
        assert!(!Recheck::Balance.is_item("failsafe"));
    }

    #[test]
    fn whatever_turns_a_propeller_carries_its_caution() {
        for check in
            [Recheck::Directions, Recheck::Throws, Recheck::Range, Recheck::Failsafe, Recheck::Rotation]
        {
            assert!(check.what().contains("Propeller off"), "{check:?}");
        }
        assert!(Recheck::Pull.what().contains("Hold it fast"));
    }
}
