//! What is uncertain in a launch, and how far does it scatter?

use numerics::random::Random;
use numerics::units::{DEG_PER_RAD, RAD_PER_DEG};

/// What differs from one launch to the next.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Input {
    /// Speed over the ground at which it leaves hand, cord or rail, m/s.
    Speed,
    /// Angle of its path above the horizon there, rad.
    Elevation,
    /// Angle of the reference line above that path, rad.
    NoseUp,
    /// Bank at release, right wing down positive, rad.
    Bank,
    /// Direction of the throw off the chosen heading, clockwise positive, rad.
    Direction,
    /// Roll rate at release, rad/s.
    RollRate,
    /// Pitch rate at release, rad/s.
    PitchRate,
    /// Yaw rate at release, rad/s.
    YawRate,
    /// Height of release above the ground, m.
    Height,
    /// From the release to the opening of the throttle, s; negative where the motor runs before.
    MotorDelay,
    /// From what the pilot sees to the movement of the stick, s.
    Reaction,
    /// Mean wind over what was told.
    WindFactor,
    /// Direction that the wind comes from off what was told, clockwise positive, rad.
    WindShift,
    /// Balance point aft of where it is believed, m.
    BalanceAft,
    /// Elevator off its trim, trailing edge down positive, rad.
    ElevatorOff,
    /// Aileron off its trim, positive rolls left, rad.
    AileronOff,
    /// Thrust over what is predicted.
    ThrustFactor,
    /// Drag at zero lift over what is predicted.
    DragFactor,
    /// Largest lift coefficient over what is predicted.
    LiftFactor,
    /// Mass over what is predicted.
    MassFactor,
    /// Gust along the throw, mean of the first second, a wind from behind positive, m/s: not drawn but felt.
    GustBehind,
    /// Gust from below, mean of the first second, m/s: not drawn but felt.
    GustUp,
}

/// Number of inputs.
pub const INPUTS: usize = 22;

impl Input {
    /// Every input in the order of its place.
    pub const ALL: [Self; INPUTS] = [
        Self::Speed,
        Self::Elevation,
        Self::NoseUp,
        Self::Bank,
        Self::Direction,
        Self::RollRate,
        Self::PitchRate,
        Self::YawRate,
        Self::Height,
        Self::MotorDelay,
        Self::Reaction,
        Self::WindFactor,
        Self::WindShift,
        Self::BalanceAft,
        Self::ElevatorOff,
        Self::AileronOff,
        Self::ThrustFactor,
        Self::DragFactor,
        Self::LiftFactor,
        Self::MassFactor,
        Self::GustBehind,
        Self::GustUp,
    ];

    /// Its place in [`Input::ALL`].
    #[must_use]
    pub fn place(self) -> usize {
        self as usize
    }

    /// Whether it is drawn; the others are felt on the way.
    #[must_use]
    pub fn drawn(self) -> bool {
        !matches!(self, Self::GustBehind | Self::GustUp)
    }

    /// What it is, for people: the sentence "more ... " has to make sense.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Speed => "release speed",
            Self::Elevation => "climb angle of the throw",
            Self::NoseUp => "nose above the path of the throw",
            Self::Bank => "bank to the right at release",
            Self::Direction => "throw to the right of the heading",
            Self::RollRate => "roll to the right at release",
            Self::PitchRate => "nose-up swing at release",
            Self::YawRate => "swing to the right at release",
            Self::Height => "height of release",
            Self::MotorDelay => "delay of the motor",
            Self::Reaction => "delay of the pilot",
            Self::WindFactor => "wind over what was told",
            Self::WindShift => "wind shifted clockwise",
            Self::BalanceAft => "balance point farther aft",
            Self::ElevatorOff => "elevator trimmed nose-down",
            Self::AileronOff => "aileron trimmed to the left",
            Self::ThrustFactor => "thrust over the prediction",
            Self::DragFactor => "drag over the prediction",
            Self::LiftFactor => "largest lift over the prediction",
            Self::MassFactor => "mass over what was weighed",
            Self::GustBehind => "gust from behind in the first second",
            Self::GustUp => "gust from below in the first second",
        }
    }

    /// The word by which it is set from outside, and its key in documents.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Speed => "speed",
            Self::Elevation => "elevation",
            Self::NoseUp => "nose-up",
            Self::Bank => "bank",
            Self::Direction => "direction",
            Self::RollRate => "roll-rate",
            Self::PitchRate => "pitch-rate",
            Self::YawRate => "yaw-rate",
            Self::Height => "height",
            Self::MotorDelay => "motor-delay",
            Self::Reaction => "reaction",
            Self::WindFactor => "wind-factor",
            Self::WindShift => "wind-shift",
            Self::BalanceAft => "balance-aft",
            Self::ElevatorOff => "elevator-off",
            Self::AileronOff => "aileron-off",
            Self::ThrustFactor => "thrust-factor",
            Self::DragFactor => "drag-factor",
            Self::LiftFactor => "lift-factor",
            Self::MassFactor => "mass-factor",
            Self::GustBehind => "gust-behind",
            Self::GustUp => "gust-up",
        }
    }

    /// Unit in which people give and read it, and how many of it are one of the unit inside.
    #[must_use]
    pub fn unit(self) -> (&'static str, f64) {
        match self {
            Self::Speed | Self::GustBehind | Self::GustUp => ("m/s", 1.0),
            Self::Elevation
            | Self::NoseUp
            | Self::Bank
            | Self::Direction
            | Self::WindShift
            | Self::ElevatorOff
            | Self::AileronOff => ("deg", DEG_PER_RAD),
            Self::RollRate | Self::PitchRate | Self::YawRate => ("deg/s", DEG_PER_RAD),
            Self::Height => ("m", 1.0),
            Self::MotorDelay | Self::Reaction => ("s", 1.0),
            Self::BalanceAft => ("mm", 1000.0),
            Self::WindFactor
            | Self::ThrustFactor
            | Self::DragFactor
            | Self::LiftFactor
            | Self::MassFactor => ("", 1.0),
        }
    }

    /// Least and largest value that makes sense, in the units inside; for most ways of launching.
    #[must_use]
    pub fn bounds(self) -> [f64; 2] {
        match self {
            // A cricket ball of 156 g has left a hand at 36.6 m/s (reference H, record class): nothing faster is thrown,
            // and cords and rails for models give less.
            Self::Speed => [0.0, 36.6],
            Self::Elevation => [-45.0 * RAD_PER_DEG, 80.0 * RAD_PER_DEG],
            Self::NoseUp => [-30.0 * RAD_PER_DEG, 30.0 * RAD_PER_DEG],
            Self::Bank => [-60.0 * RAD_PER_DEG, 60.0 * RAD_PER_DEG],
            Self::Direction | Self::WindShift => [-180.0 * RAD_PER_DEG, 180.0 * RAD_PER_DEG],
            Self::RollRate | Self::PitchRate | Self::YawRate => [-300.0 * RAD_PER_DEG, 300.0 * RAD_PER_DEG],
            Self::Height => [0.05, 30.0],
            Self::MotorDelay => [-2.0, 60.0],
            Self::Reaction => [0.0, 2.0],
            Self::WindFactor => [0.0, 3.0],
            Self::BalanceAft => [-0.2, 0.2],
            Self::ElevatorOff | Self::AileronOff => [-25.0 * RAD_PER_DEG, 25.0 * RAD_PER_DEG],
            Self::ThrustFactor => [0.0, 2.0],
            Self::DragFactor => [0.2, 5.0],
            Self::LiftFactor => [0.4, 2.0],
            Self::MassFactor => [0.5, 2.0],
            Self::GustBehind | Self::GustUp => [-30.0, 30.0],
        }
    }
}

/// Mean and standard deviation of an input, in the units inside.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Spread {
    /// Mean.
    pub mean: f64,
    /// Standard deviation.
    pub sd: f64,
}

impl Spread {
    /// A spread.
    #[must_use]
    pub fn new(mean: f64, sd: f64) -> Self {
        Self { mean, sd }
    }

    /// The same spread in degrees.
    #[must_use]
    pub fn deg(mean: f64, sd: f64) -> Self {
        Self { mean: mean * RAD_PER_DEG, sd: sd * RAD_PER_DEG }
    }
}

/// Spreads of all inputs, by their place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scatter {
    spreads: [Spread; INPUTS],
}

impl Scatter {
    /// Nothing scatters: factors one, all else zero.
    #[must_use]
    pub fn none() -> Self {
        let mut scatter = Self { spreads: [Spread::default(); INPUTS] };
        for input in
            [Input::WindFactor, Input::ThrustFactor, Input::DragFactor, Input::LiftFactor, Input::MassFactor]
        {
            scatter.set(input, Spread::new(1.0, 0.0));
        }
        scatter
    }

    /// Spread of an input.
    #[must_use]
    pub fn of(&self, input: Input) -> Spread {
        self.spreads.get(input.place()).copied().unwrap_or_default()
    }

    /// Sets the spread of an input.
    pub fn set(&mut self, input: Input, spread: Spread) {
        if let Some(place) = self.spreads.get_mut(input.place()) {
            *place = spread;
        }
    }

    /// The same with another mean of one input.
    #[must_use]
    pub fn with_mean(mut self, input: Input, mean: f64) -> Self {
        let sd = self.of(input).sd;
        self.set(input, Spread { mean, sd });
        self
    }
}

/// Values of all inputs in one launch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drawn {
    values: [f64; INPUTS],
    /// Which launch of the study it is.
    pub run: u64,
    /// Seed of the study.
    pub seed: u64,
}

/// Draws outside this many standard deviations are drawn again: an arm has no tails.
const WIDEST: f64 = 3.0;

impl Drawn {
    /// The values of launch number `run` of a study. The random numbers depend on seed and number alone, and neither on
    /// the spreads nor on who draws: two scatters are compared launch by launch.
    #[must_use]
    pub fn new(scatter: &Scatter, seed: u64, run: u64) -> Self {
        let mut random = Random::new(seed, 2 * run);
        let mut values = [0.0; INPUTS];
        for (value, input) in values.iter_mut().zip(Input::ALL) {
            if !input.drawn() {
                continue;
            }
            let mut z = random.normal();
            while z.abs() > WIDEST {
                z = random.normal();
            }
            let Spread { mean, sd } = scatter.of(input);
            let [low, high] = input.bounds();
            *value = (mean + sd * z).clamp(low, high);
        }
        Self { values, run, seed }
    }

    /// Value of an input.
    #[must_use]
    pub fn of(&self, input: Input) -> f64 {
        self.values.get(input.place()).copied().unwrap_or(0.0)
    }

    /// Stream of random numbers of the seed that the gusts of this launch come from.
    #[must_use]
    pub fn gust_stream(&self) -> u64 {
        2 * self.run + 1
    }

    /// Notes what an input was felt to be.
    pub fn note(&mut self, input: Input, value: f64) {
        if let Some(place) = self.values.get_mut(input.place()) {
            *place = value;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_input_stands_at_its_place_under_a_word_of_its_own() {
        for (i, input) in Input::ALL.iter().enumerate() {
            assert_eq!(input.place(), i, "{input:?}");
            assert_eq!(Input::ALL.iter().filter(|other| other.word() == input.word()).count(), 1);
        }
    }

    #[test]
    fn another_spread_of_one_input_leaves_the_draws_of_the_others() {
        let mut wide = Scatter::none();
        wide.set(Input::Speed, Spread::new(8.0, 1.0));
        wide.set(Input::Bank, Spread::deg(0.0, 5.0));
        let faster = wide.with_mean(Input::Speed, 10.0);
        for run in 0..50 {
            let (a, b) = (Drawn::new(&wide, 3, run), Drawn::new(&faster, 3, run));
            assert!((b.of(Input::Speed) - a.of(Input::Speed) - 2.0).abs() < 1e-12);
            assert!(a.of(Input::Bank).to_bits() == b.of(Input::Bank).to_bits());
        }
    }

    #[test]
    fn draws_have_the_spread_of_a_normal_cut_at_three_deviations() {
        // Closed form: a standard normal cut at ±a has variance 1 - 2 a φ(a) / (2 Φ(a) - 1); a = 3 gives 0.97334.
        let mut scatter = Scatter::none();
        scatter.set(Input::Speed, Spread::new(8.0, 1.0));
        let draws: Vec<f64> = (0..40_000).map(|run| Drawn::new(&scatter, 9, run).of(Input::Speed)).collect();
        // Four standard deviations of mean and of standard deviation over 40 000 draws.
        assert!((numerics::statistics::mean(&draws) - 8.0).abs() < 0.02);
        assert!((numerics::statistics::standard_deviation(&draws) - 0.973_34_f64.sqrt()).abs() < 0.014);
    }
}
