//! What does a plot need of a channel? The least and greatest value in each pixel of a stretch of time, so that a spike of
//! one sample is still seen and a hole stays a hole.

/// Steps between samples that count as a hole: so many times the usual one.
const HOLE_STEPS: f64 = 5.0;
/// So many steps, spread over the channel, tell the usual one.
const LOOKED_AT: usize = 512;

/// Time, least and greatest value of each pixel between two times, in order. Times are of the middle of a pixel, or,
/// where there are no more samples than pixels, those of the samples. Values that are not numbers count for nothing;
/// where there are only such, and where no sample lies for longer than five usual steps and a pixel, an entry with
/// values that are not numbers breaks the line. Units are those of the arguments.
///
/// Times have to grow. Empty where the stretch or the number of pixels is.
#[must_use]
pub fn decimate(times: &[f64], values: &[f64], from: f64, to: f64, pixels: usize) -> Vec<(f64, f64, f64)> {
    let rows = times.len().min(values.len());
    let (times, values) = (times.get(..rows).unwrap_or(&[]), values.get(..rows).unwrap_or(&[]));
    if pixels == 0 || !(to > from) || !(to - from).is_finite() {
        return Vec::new();
    }
    let first = times.partition_point(|t| *t < from);
    let end = times.partition_point(|t| *t <= to).max(first);
    let hole = HOLE_STEPS * usual_step(times);
    let mut drawn = Drawn { entries: Vec::with_capacity(pixels.min(end - first) + 8), last: None, hole };
    if end - first <= pixels {
        for (t, v) in times.iter().zip(values).take(end).skip(first) {
            drawn.add(*t, *t, *t, (*v, *v));
        }
        return drawn.entries;
    }
    let width = (to - from) / pixels as f64;
    drawn.hole = hole.max(width);
    let mut begin = first;
    for pixel in 0..pixels {
        let right = from + width * (pixel + 1) as f64;
        let rest = times.get(begin..end).unwrap_or(&[]);
        // The last pixel takes what rounding leaves over.
        let count = if pixel + 1 == pixels { rest.len() } else { rest.partition_point(|t| *t < right) };
        if let Some(inside) = rest.get(..count).filter(|inside| !inside.is_empty()) {
            let extent = extent(values.get(begin..begin + count).unwrap_or(&[]));
            let (a, b) = (inside.first().copied(), inside.last().copied());
            drawn.add(right - 0.5 * width, a.unwrap_or(right), b.unwrap_or(right), extent);
        }
        begin += count;
    }
    drawn.entries
}

/// What is drawn so far.
struct Drawn {
    entries: Vec<(f64, f64, f64)>,
    /// Time of the last sample taken in.
    last: Option<f64>,
    /// Times without a sample that are longer break the line.
    hole: f64,
}

impl Drawn {
    fn add(&mut self, t: f64, first: f64, last: f64, (least, greatest): (f64, f64)) {
        if let Some(before) = self.last.filter(|before| first - before > self.hole) {
            self.end_line(before + 0.5 * (first - before));
        }
        self.last = Some(last);
        if least.is_finite() && greatest.is_finite() {
            self.entries.push((t, least, greatest));
        } else {
            self.end_line(t);
        }
    }

    /// One break is as good as many.
    fn end_line(&mut self, t: f64) {
        if self.entries.last().is_none_or(|e| e.1.is_finite()) {
            self.entries.push((t, f64::NAN, f64::NAN));
        }
    }
}

/// The usual step between times: the median of steps looked at here and there.
fn usual_step(times: &[f64]) -> f64 {
    let apart = (times.len() / LOOKED_AT).max(1);
    let steps: Vec<f64> = times
        .windows(2)
        .step_by(apart)
        .filter_map(|w| match w {
            [a, b] if b > a => Some(b - a),
            _ => None,
        })
        .collect();
    let step = numerics::statistics::median(&steps);
    if step.is_finite() { step } else { f64::INFINITY }
}

/// Least and greatest number; infinitely far apart the wrong way where there is none.
fn extent(values: &[f64]) -> (f64, f64) {
    // Several at a time, so that the processor compares several at a time.
    const LANES: usize = 8;
    let mut least = [f64::INFINITY; LANES];
    let mut greatest = [f64::NEG_INFINITY; LANES];
    let mut chunks = values.chunks_exact(LANES);
    for chunk in &mut chunks {
        for ((v, l), g) in chunk.iter().zip(&mut least).zip(&mut greatest) {
            // A comparison with what is not a number is false.
            *l = if *v < *l { *v } else { *l };
            *g = if *v > *g { *v } else { *g };
        }
    }
    for ((v, l), g) in chunks.remainder().iter().zip(&mut least).zip(&mut greatest) {
        *l = if *v < *l { *v } else { *l };
        *g = if *v > *g { *v } else { *g };
    }
    let all = (
        least.iter().copied().fold(f64::INFINITY, f64::min),
        greatest.iter().copied().fold(f64::NEG_INFINITY, f64::max),
    );
    let infinite = |v: f64| v.is_infinite();
    if !(infinite(all.0) || infinite(all.1)) || values.iter().all(|v| !v.is_finite()) {
        return all;
    }
    // Infinite values among finite ones are as rare as they are meaningless.
    let finite: Vec<f64> = values.iter().copied().filter(|v| v.is_finite()).collect();
    extent(&finite)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn times(n: usize, step: f64) -> Vec<f64> {
        (0..n).map(|i| i as f64 * step).collect()
    }

    #[test]
    fn each_pixel_has_the_least_and_greatest_of_its_samples() {
        // By hand: 1000 samples 1 ms apart in 10 pixels are 100 a pixel; the value is the number of the sample.
        let t = times(1000, 0.001);
        let v: Vec<f64> = (0..1000).map(f64::from).collect();
        let out = decimate(&t, &v, 0.0, 1.0, 10);
        assert_eq!(out.len(), 10);
        for (i, (t, least, greatest)) in out.iter().enumerate() {
            assert!((t - (0.05 + 0.1 * i as f64)).abs() < 1e-12);
            // Binary fractions may put the sample on a border into either pixel.
            assert!((least - 100.0 * i as f64).abs() <= 1.0, "{i}: {least}");
            assert!((greatest - (100.0 * i as f64 + 99.0)).abs() <= 1.0, "{i}: {greatest}");
        }
    }

    #[test]
    fn a_spike_of_one_sample_is_kept() {
        let t = times(600_000, 0.001);
        let mut v = vec![1.0; 600_000];
        v[345_678] = 99.0;
        let out = decimate(&t, &v, 0.0, 600.0, 800);
        let spikes: Vec<&(f64, f64, f64)> = out.iter().filter(|(_, _, g)| *g == 99.0).collect();
        assert_eq!(spikes.len(), 1);
        assert!((spikes[0].0 - 345.678).abs() <= 0.375, "{:?}", spikes[0]);
    }

    #[test]
    fn few_samples_are_given_as_they_are() {
        let out = decimate(&[0.0, 1.0, 2.0, 3.0], &[5.0, 6.0, 7.0, 8.0], 0.5, 2.5, 100);
        assert_eq!(out, [(1.0, 6.0, 6.0), (2.0, 7.0, 7.0)]);
    }

    #[test]
    fn a_hole_in_time_and_a_stretch_without_numbers_break_the_line_once() {
        let mut t = times(1000, 0.01);
        for late in &mut t[500..] {
            *late += 3.0;
        }
        let mut v = vec![2.0; 1000];
        v[100..200].fill(f64::NAN);
        for pixels in [50, 100_000] {
            let out = decimate(&t, &v, 0.0, 13.0, pixels);
            let breaks: Vec<f64> = out.iter().filter(|e| e.1.is_nan()).map(|e| e.0).collect();
            assert_eq!(breaks.len(), 2, "{pixels}: {breaks:?}");
            assert!((0.9..2.0).contains(&breaks[0]), "{breaks:?}");
            assert!((5.0..8.1).contains(&breaks[1]), "{breaks:?}");
            assert!(out.iter().filter(|e| !e.1.is_nan()).all(|e| e.1 == 2.0 && e.2 == 2.0));
        }
    }

    #[test]
    fn single_values_that_are_no_numbers_are_left_out() {
        let t = times(1000, 0.01);
        let mut v = vec![4.0; 1000];
        v[3] = f64::NAN;
        v[500] = f64::INFINITY;
        v[999] = f64::NEG_INFINITY;
        let out = decimate(&t, &v, 0.0, 10.0, 10);
        assert_eq!(out.len(), 10);
        assert!(out.iter().all(|e| e.1 == 4.0 && e.2 == 4.0), "{out:?}");
    }

    #[test]
    fn what_cannot_be_drawn_gives_nothing() {
        let t = times(10, 1.0);
        assert!(decimate(&t, &t, 5.0, 5.0, 10).is_empty());
        assert!(decimate(&t, &t, 0.0, 5.0, 0).is_empty());
        assert!(decimate(&t, &t, f64::NAN, 5.0, 9).is_empty());
        assert!(decimate(&t, &t, 0.0, f64::INFINITY, 9).is_empty());
        assert!(decimate(&[], &[], 0.0, 1.0, 9).is_empty());
        assert_eq!(decimate(&t, &t[..3], 0.0, 9.0, 99).len(), 3);
    }

    proptest::proptest! {
        #[test]
        fn nothing_lies_outside_and_nothing_is_lost(
            steps in proptest::collection::vec(0.001..2.0_f64, 2..300),
            pixels in 1_usize..400,
        ) {
            let mut t = 0.0;
            let times: Vec<f64> = steps.iter().map(|s| { t += s; t }).collect();
            let values: Vec<f64> = steps.iter().map(|s| (s * 1e4).sin()).collect();
            let out = decimate(&times, &values, times[0], t, pixels);
            let drawn = || out.iter().filter(|e| e.1.is_finite());
            let least = drawn().map(|e| e.1).fold(f64::INFINITY, f64::min);
            let greatest = drawn().map(|e| e.2).fold(f64::NEG_INFINITY, f64::max);
            proptest::prop_assert_eq!(least, values.iter().copied().fold(f64::INFINITY, f64::min));
            proptest::prop_assert_eq!(greatest, values.iter().copied().fold(f64::NEG_INFINITY, f64::max));
            proptest::prop_assert!(out.windows(2).all(|w| w[1].0 > w[0].0));
        }
    }
}
