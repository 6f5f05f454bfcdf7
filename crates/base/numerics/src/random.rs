//! Random numbers that are the same everywhere for the same seed, on any number of threads.

use rand::SeedableRng;
use rand_distr::{Distribution, StandardNormal};
use rand_xoshiro::Xoshiro256PlusPlus;

/// A seeded stream of random numbers.
#[derive(Debug, Clone)]
pub struct Random(Xoshiro256PlusPlus);

impl Random {
    /// Stream number `stream` of a seed: streams of one seed are independent, so that the n-th run of a study
    /// draws the same numbers whichever thread runs it.
    #[must_use]
    pub fn new(seed: u64, stream: u64) -> Self {
        // The golden-ratio increment keeps neighbouring streams apart; the generator's own seeding scrambles it.
        Self(Xoshiro256PlusPlus::seed_from_u64(seed ^ stream.wrapping_mul(0x9E37_79B9_7F4A_7C15)))
    }

    /// A draw from the normal distribution with mean 0 and standard deviation 1.
    pub fn normal(&mut self) -> f64 {
        StandardNormal.sample(&mut self.0)
    }

    /// A draw from the uniform distribution over [low, high).
    pub fn uniform(&mut self, low: f64, high: f64) -> f64 {
        use rand::Rng;
        low + (high - low) * self.0.random::<f64>()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_same_seed_and_stream_repeat_and_others_differ() {
        let draw = |seed, stream| Random::new(seed, stream).normal().to_bits();
        assert_eq!(draw(7, 1), draw(7, 1));
        assert_ne!(draw(7, 1), draw(7, 2));
        assert_ne!(draw(7, 1), draw(8, 1));
    }

    #[test]
    fn normal_draws_have_mean_zero_and_unit_spread() {
        let mut random = Random::new(1, 0);
        let n = 100_000;
        let draws: Vec<f64> = (0..n).map(|_| random.normal()).collect();
        // Mean of n draws: sd 1/sqrt(n) = 0.0032; sd of the sd 1/sqrt(2n) = 0.0022. Four of each.
        assert!(crate::statistics::mean(&draws).abs() < 0.013);
        assert!((crate::statistics::standard_deviation(&draws) - 1.0).abs() < 0.009);
    }
}
