//! How did a launch end? Classes, from the gravest to the best, and the limits between them.

/// How a launch ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Outcome {
    /// It flew away as it should.
    Clean,
    /// It flew on, but sank too low or was too slow or no higher at the end.
    Sagged,
    /// It stalled and did not touch.
    Stalled,
    /// It banked too far and did not touch.
    RolledOff,
    /// It touched the ground.
    Touched,
    /// It did not leave the ground within its run.
    StayedDown,
    /// The computed motion left what the equations hold for: counted and shown, never taken for a flight.
    Diverged,
}

/// Number of classes.
pub const OUTCOMES: usize = 7;

impl Outcome {
    /// Every class, the best first.
    pub const ALL: [Self; OUTCOMES] = [
        Self::Clean,
        Self::Sagged,
        Self::Stalled,
        Self::RolledOff,
        Self::Touched,
        Self::StayedDown,
        Self::Diverged,
    ];

    /// The word shown to people.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Clean => "clean",
            Self::Sagged => "sagged",
            Self::Stalled => "stalled",
            Self::RolledOff => "rolled off",
            Self::Touched => "touched",
            Self::StayedDown => "stayed down",
            Self::Diverged => "diverged",
        }
    }

    /// Its place in [`Outcome::ALL`].
    #[must_use]
    pub fn place(self) -> usize {
        self as usize
    }

    /// What it means, in a sentence.
    #[must_use]
    pub fn meaning(self) -> &'static str {
        match self {
            Self::Clean => "flies away: higher than released, fast enough, wings near level",
            Self::Sagged => "still flying, but came too low, or is too slow or no higher at the end",
            Self::Stalled => "stalled for a noticeable time, without touching",
            Self::RolledOff => "banked past 60 degrees, without touching",
            Self::Touched => "touched the ground",
            Self::StayedDown => "did not leave the ground within its run",
            Self::Diverged => "left what the equations hold for: not a flight that can be told",
        }
    }
}

/// Limits between the classes. Judgement, no source; each can be set.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// Least share of the height of release that may be left on the way.
    pub height_share: f64,
    /// Least airspeed at the end over the stall speed.
    pub end_over_stall: f64,
    /// Largest bank on the way, rad.
    pub bank_rad: f64,
    /// Largest bank at the end, rad.
    pub end_bank_rad: f64,
    /// Longest time beyond the stall, s in all.
    pub stalled_s: f64,
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            height_share: 0.4,
            end_over_stall: 1.05,
            bank_rad: 60f64.to_radians(),
            end_bank_rad: 45f64.to_radians(),
            stalled_s: 0.5,
        }
    }
}

/// What was noted of a launch on its way.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Noted {
    /// Height of release, m.
    pub released_m: f64,
    /// Least height of its lowest point after the release, m.
    pub lowest_m: f64,
    /// Height at the end, m.
    pub end_m: f64,
    /// Airspeed at the end over the stall speed.
    pub end_over_stall: f64,
    /// Largest bank after the release, rad.
    pub bank_rad: f64,
    /// Bank at the end, rad.
    pub end_bank_rad: f64,
    /// Time beyond the stall, s.
    pub stalled_s: f64,
    /// When the bank limit was passed, s.
    pub rolled_at_s: Option<f64>,
    /// When the stall had lasted too long, s.
    pub stalled_at_s: Option<f64>,
    /// When it touched, s.
    pub touched_at_s: Option<f64>,
    /// Sink at the touch, m/s.
    pub touched_sink_m_s: f64,
    /// Whether it never left the ground.
    pub stayed_down: bool,
    /// Whether the numbers left what the equations hold for.
    pub diverged: bool,
    /// How long it was followed after the release, s.
    pub followed_s: f64,
}

/// What a launch is to do.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Purpose {
    /// Climb away.
    ClimbOut,
    /// Glide to the ground and come down wings level: a thrown glider.
    Glide,
}

/// Class of a launch.
#[must_use]
pub fn class(noted: &Noted, limits: &Limits, purpose: Purpose) -> Outcome {
    if noted.diverged {
        return Outcome::Diverged;
    }
    if noted.stayed_down {
        return Outcome::StayedDown;
    }
    let rolled = noted.bank_rad > limits.bank_rad;
    let stalled = noted.stalled_s > limits.stalled_s;
    if purpose == Purpose::Glide {
        // A thrown glider comes down: the touch itself is no mishap, a hard or crooked one is.
        return match noted.touched_at_s {
            Some(_) if rolled || stalled || noted.touched_sink_m_s > 2.0 || noted.end_bank_rad > 0.5 => {
                Outcome::Touched
            }
            _ if rolled => Outcome::RolledOff,
            _ if stalled => Outcome::Stalled,
            _ => Outcome::Clean,
        };
    }
    if noted.touched_at_s.is_some() {
        Outcome::Touched
    } else if rolled {
        Outcome::RolledOff
    } else if stalled {
        Outcome::Stalled
    } else if noted.lowest_m < limits.height_share * noted.released_m
        || noted.end_m <= noted.released_m
        || noted.end_over_stall < limits.end_over_stall
        || noted.end_bank_rad > limits.end_bank_rad
    {
        Outcome::Sagged
    } else {
        Outcome::Clean
    }
}

/// What came before the touch of one that touched.
#[must_use]
pub fn before_touch(noted: &Noted) -> Outcome {
    let earlier = |at: Option<f64>| at.unwrap_or(f64::INFINITY);
    let touch = earlier(noted.touched_at_s);
    match (earlier(noted.rolled_at_s), earlier(noted.stalled_at_s)) {
        (roll, stall) if roll < touch && roll <= stall => Outcome::RolledOff,
        (_, stall) if stall < touch => Outcome::Stalled,
        _ => Outcome::Sagged,
    }
}

/// How far a launch stood from the ground, for ranking: the least height of the lowest point, m; of one that touched,
/// how much too early, as a negative share of the time.
#[must_use]
pub fn margin(noted: &Noted) -> f64 {
    match noted.touched_at_s {
        _ if noted.diverged => f64::NAN,
        _ if noted.stayed_down => -1.0,
        Some(at) => -(1.0 - (at / noted.followed_s.max(1e-9)).clamp(0.0, 1.0)),
        None => noted.lowest_m,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn away() -> Noted {
        Noted {
            released_m: 1.8,
            lowest_m: 1.2,
            end_m: 12.0,
            end_over_stall: 1.4,
            bank_rad: 0.3,
            end_bank_rad: 0.05,
            followed_s: 6.0,
            ..Noted::default()
        }
    }

    #[track_caller]
    fn check(what: &str, change: impl Fn(&mut Noted), expected: Outcome) {
        let mut noted = away();
        change(&mut noted);
        assert_eq!(class(&noted, &Limits::default(), Purpose::ClimbOut), expected, "{what}");
    }

    #[test]
    fn each_mishap_has_its_class_and_the_gravest_counts() {
        check("flies away", |_| {}, Outcome::Clean);
        check("came within a hand of the ground", |n| n.lowest_m = 0.1, Outcome::Sagged);
        check("no higher at the end", |n| n.end_m = 1.7, Outcome::Sagged);
        check("too slow at the end", |n| n.end_over_stall = 0.9, Outcome::Sagged);
        check("long beyond the stall", |n| n.stalled_s = 0.8, Outcome::Stalled);
        check("upside down", |n| n.bank_rad = 2.0, Outcome::RolledOff);
        check("stalled and touched", |n| (n.stalled_s, n.touched_at_s) = (0.8, Some(2.0)), Outcome::Touched);
        check("not a number", |n| (n.diverged, n.touched_at_s) = (true, Some(1.0)), Outcome::Diverged);
    }

    #[test]
    fn a_thrown_glider_may_touch_softly() {
        let mut noted = away();
        (noted.touched_at_s, noted.touched_sink_m_s, noted.end_m) = (Some(3.0), 0.7, 0.0);
        assert_eq!(class(&noted, &Limits::default(), Purpose::Glide), Outcome::Clean);
        noted.touched_sink_m_s = 3.0;
        assert_eq!(class(&noted, &Limits::default(), Purpose::Glide), Outcome::Touched);
    }

    #[test]
    fn what_came_first_is_told_of_a_touch() {
        let mut noted = away();
        noted.touched_at_s = Some(3.0);
        assert_eq!(before_touch(&noted), Outcome::Sagged);
        noted.stalled_at_s = Some(2.0);
        assert_eq!(before_touch(&noted), Outcome::Stalled);
        noted.rolled_at_s = Some(1.0);
        assert_eq!(before_touch(&noted), Outcome::RolledOff);
    }
}
