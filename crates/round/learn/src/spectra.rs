//! How is the power of a signal spread over frequency, and how much of one signal follows another? Averaged
//! periodograms of overlapping windowed pieces (Welch, IEEE Trans. Audio Electroacoust. 15 (1967) 70), with the cross
//! spectrum, the frequency response and the coherence that follow from them (Bendat & Piersol, Random Data).

use std::f64::consts::{PI, TAU};

use nalgebra::Complex;

/// How a signal is cut for a spectrum. The window is the periodic Hann window.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cut {
    /// Samples of one piece.
    pub piece: usize,
    /// Samples that neighbouring pieces share.
    pub overlap: usize,
    /// What is taken from each piece first.
    pub detrend: Detrend,
}

/// What is taken from a piece before its spectrum.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Detrend {
    /// Nothing.
    Nothing,
    /// Its mean.
    Mean,
    /// The line from its begin to its end, and no window after that: for inputs that begin and end at rest within the
    /// piece, which a window would bend.
    Ends,
}

impl Cut {
    /// Pieces that overlap by half, their mean taken off.
    #[must_use]
    pub fn half(piece: usize) -> Self {
        Self { piece, overlap: piece / 2, detrend: Detrend::Mean }
    }
}

/// Power over frequency, one-sided: its sum times the step of frequency is the mean square of the signal.
#[derive(Debug, Clone, PartialEq)]
pub struct Spectrum {
    /// Frequencies, Hz, from zero up in equal steps.
    pub frequency_hz: Vec<f64>,
    /// Power density, square of the signal's unit per Hz.
    pub density: Vec<f64>,
    /// Pieces averaged.
    pub pieces: usize,
}

/// How one signal goes with another, frequency by frequency.
#[derive(Debug, Clone, PartialEq)]
pub struct Cross {
    /// Frequencies, Hz.
    pub frequency_hz: Vec<f64>,
    /// Power density of the input.
    pub input: Vec<f64>,
    /// Power density of the output.
    pub output: Vec<f64>,
    /// Cross density, conjugate of the input times the output.
    pub cross: Vec<Complex<f64>>,
    /// Pieces averaged.
    pub pieces: usize,
    /// Independent pieces that these are worth: overlapping ones share data.
    pub independent: f64,
}

impl Cross {
    /// Output over input at a place of the list: the frequency response, least squares over the pieces.
    #[must_use]
    pub fn response(&self, place: usize) -> Complex<f64> {
        match (self.cross.get(place), self.input.get(place)) {
            (Some(cross), Some(input)) if *input > 0.0 => cross / *input,
            _ => Complex::new(f64::NAN, f64::NAN),
        }
    }

    /// Share of the output that follows the input linearly, 0 to 1. One piece alone always shows 1: look at `pieces`.
    #[must_use]
    pub fn coherence(&self, place: usize) -> f64 {
        match (self.cross.get(place), self.input.get(place), self.output.get(place)) {
            (Some(c), Some(x), Some(y)) if *x > 0.0 && *y > 0.0 => c.norm_sqr() / (x * y),
            _ => f64::NAN,
        }
    }

    /// Relative standard deviation of the size of the response, and of its angle in rad: `sqrt((1 - c)/(2 c n))`
    /// (Bendat & Piersol, section 9.2).
    #[must_use]
    pub fn relative_sd(&self, place: usize) -> f64 {
        let c = self.coherence(place).clamp(0.0, 1.0);
        if c > 0.0 && self.independent > 0.0 {
            ((1.0 - c) / (2.0 * c * self.independent)).sqrt()
        } else {
            f64::INFINITY
        }
    }
}

/// Spectrum of a signal sampled at `rate_hz`; absent where it is shorter than a piece or holds what is no number.
#[must_use]
pub fn power(signal: &[f64], rate_hz: f64, cut: &Cut) -> Option<Spectrum> {
    let cross = cross(&[(signal, signal)], rate_hz, cut)?;
    Some(Spectrum { frequency_hz: cross.frequency_hz, density: cross.input, pieces: cross.pieces })
}

/// How the second of each pair of signals goes with the first, over all pairs together; pairs shorter than a piece are
/// passed over. Absent where none is long enough or one holds what is no number.
#[must_use]
pub fn cross(pairs: &[(&[f64], &[f64])], rate_hz: f64, cut: &Cut) -> Option<Cross> {
    let n = cut.piece;
    if n < 2 || cut.overlap >= n || !(rate_hz > 0.0 && rate_hz.is_finite()) {
        return None;
    }
    let window: Vec<f64> =
        (0..n)
            .map(|i| {
                if cut.detrend == Detrend::Ends { 1.0 } else { 0.5 - 0.5 * (TAU * i as f64 / n as f64).cos() }
            })
            .collect();
    let turns: Vec<Complex<f64>> =
        (0..n).map(|i| Complex::from_polar(1.0, -TAU * i as f64 / n as f64)).collect();
    let prepared = |part: &[f64]| -> Option<Vec<f64>> {
        let (off, slope) = match cut.detrend {
            Detrend::Nothing => (0.0, 0.0),
            Detrend::Mean => (part.iter().sum::<f64>() / n as f64, 0.0),
            Detrend::Ends => {
                // A few samples at either end, so that the noise of one does not tilt the whole.
                let few = (n / 20).max(1);
                let end = |list: &[f64]| list.iter().sum::<f64>() / few as f64;
                let (first, last) = (end(part.get(..few)?), end(part.get(n - few..)?));
                let slope = (last - first) / (n - few) as f64;
                (first - slope * 0.5 * (few - 1) as f64, slope)
            }
        };
        let list: Vec<f64> = part
            .iter()
            .zip(&window)
            .enumerate()
            .map(|(i, (v, w))| (v - off - slope * i as f64) * w)
            .collect();
        list.iter().all(|v| v.is_finite()).then_some(list)
    };
    let bins = n / 2 + 1;
    let (mut input, mut output) = (vec![0.0; bins], vec![0.0; bins]);
    let mut cross = vec![Complex::new(0.0, 0.0); bins];
    let mut pieces = 0_usize;
    let mut seconds = 0.0;
    for (x, y) in pairs {
        let length = x.len().min(y.len());
        let mut from = 0;
        while from + n <= length {
            // Both real signals in one transform: one as its real part, the other as its imaginary part.
            let both: Vec<Complex<f64>> = prepared(x.get(from..from + n)?)?
                .into_iter()
                .zip(prepared(y.get(from..from + n)?)?)
                .map(|(x, y)| Complex::new(x, y))
                .collect();
            let z = transform(&both, 1, &turns);
            for k in 0..bins {
                let (this, mirror) = (z[k], z[(n - k) % n].conj());
                let (a, b) = (0.5 * (this + mirror), (this - mirror) * Complex::new(0.0, -0.5));
                if let (Some(i), Some(o), Some(c)) = (input.get_mut(k), output.get_mut(k), cross.get_mut(k)) {
                    *i += a.norm_sqr();
                    *o += b.norm_sqr();
                    *c += a.conj() * b;
                }
            }
            pieces += 1;
            seconds += if from == 0 { 1.0 } else { (n - cut.overlap) as f64 / n as f64 };
            from += n - cut.overlap;
        }
    }
    if pieces == 0 {
        return None;
    }
    let power: f64 = window.iter().map(|w| w * w).sum();
    for k in 0..bins {
        // Both sides of the spectrum are told on one, but zero and the highest frequency have one side only.
        let sides = if k == 0 || 2 * k == n { 1.0 } else { 2.0 };
        let scale = sides / (rate_hz * power * pieces as f64);
        for list in [&mut input, &mut output] {
            if let Some(v) = list.get_mut(k) {
                *v *= scale;
            }
        }
        if let Some(v) = cross.get_mut(k) {
            *v *= scale;
        }
    }
    Some(Cross {
        frequency_hz: (0..bins).map(|k| k as f64 * rate_hz / n as f64).collect(),
        input,
        output,
        cross,
        pieces,
        // Hann pieces that overlap by half are worth nearly all of their own new data again (Welch 1967): 0.947.
        independent: if cut.overlap > 0 { pieces as f64 * 0.947_f64.min(1.0) } else { seconds.max(1.0) },
    })
}

/// Discrete Fourier transform of every `stride`-th of the values, from the first on (Cooley & Tukey, Math. Comput. 19
/// (1965) 297): by the smallest factor of the length first. `turns` holds the whole turn in as many steps as there are
/// values.
fn transform(values: &[Complex<f64>], stride: usize, turns: &[Complex<f64>]) -> Vec<Complex<f64>> {
    let whole = turns.len();
    let n = whole / stride;
    if n <= 1 {
        return values.first().copied().into_iter().collect();
    }
    let factor = (2..)
        .find(|p| n.is_multiple_of(*p) || p * p > n)
        .map_or(n, |p| if n.is_multiple_of(p) { p } else { n });
    let part = n / factor;
    let parts: Vec<Vec<Complex<f64>>> = (0..factor)
        .map(|j| transform(values.get(j * stride..).unwrap_or(&[]), stride * factor, turns))
        .collect();
    (0..n)
        .map(|k| {
            parts
                .iter()
                .enumerate()
                .map(|(j, p)| p[k % part] * turns[(j * k * stride) % whole])
                .sum::<Complex<f64>>()
        })
        .collect()
}

/// Angles of complex numbers without their jumps, rad.
#[must_use]
pub fn unwrapped_angles(values: &[Complex<f64>]) -> Vec<f64> {
    let mut last: Option<f64> = None;
    values
        .iter()
        .map(|v| {
            let mut angle = v.arg();
            if let Some(before) = last {
                angle += TAU * ((before - angle + PI) / TAU).floor();
            }
            if angle.is_finite() {
                last = Some(angle);
            }
            angle
        })
        .collect()
}
