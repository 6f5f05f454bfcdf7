//! How did the wind blow, by heading and airspeed? Ground velocity is airspeed along the heading plus wind: a second
//! way that needs no turn, but trusts the compass up to a constant error.

use numerics::frames::wrap_rad;
use numerics::statistics::{mean, median};
use numerics::units::DEG_PER_RAD;

use crate::coloured::{self, Coloured, Family, LogPrior, Problem};
use crate::findings::Triangle;
use crate::wind::{CHANGE_WITH_HEIGHT_SD_PER_S, FACTOR_SD, Flown, LARGEST_WIND_M_S};

/// Averaged over this long, s.
const AVERAGED_OVER_S: f64 = 1.0;
/// Delay known before looking, s: mean and standard deviation.
const DELAY_S: (f64, f64) = (0.2, 0.3);

/// Constant error of the heading known before looking, rad: a compass set up by hand, declination left out.
const HEADING_SD_RAD: f64 = 0.2;

/// Wind by the triangle with its covariance (north, north-east, east); absent without sensor or heading, or where
/// too little is flown. The agreement is left for whoever has both ways.
///
/// Unknowns: factor and heading error (as a complex number c + i s times airspeed and heading), wind, delay of the
/// ground velocity. All enter linearly; residuals are the gusts, a wandering vector.
pub(crate) fn triangle(flown: &Flown) -> Option<(Triangle, [f64; 3])> {
    if !flown.sensor {
        return None;
    }
    let used: Vec<usize> = (0..flown.time_s.len()).filter(|i| flown.heading[*i].is_finite()).collect();
    if (used.len() as f64) * flown.step_s < 10.0 || 2 * used.len() < flown.time_s.len() {
        return None;
    }
    let mut rows = Rows {
        speed: mean(&used.iter().map(|i| level(flown, *i)).collect::<Vec<f64>>()),
        height: median(&used.iter().map(|i| flown.height[*i]).collect::<Vec<f64>>()),
        ..Rows::default()
    };
    let length = AVERAGED_OVER_S.max(flown.step_s);
    let mut from = 0;
    while from < used.len() {
        let begin = (flown.time_s[used[from]] / length).floor();
        let to = (from..used.len())
            .find(|k| (flown.time_s[used[*k]] / length).floor() > begin)
            .unwrap_or(used.len());
        let group = &used[from..to];
        if group.len() as f64 * flown.step_s >= 0.45 * length {
            rows.push(flown, group);
        }
        from = to;
    }
    let first: Vec<f64> = (0..rows.time_s.len()).map(|i| if i % 2 == 0 { 1.0 } else { 0.0 }).collect();
    let second: Vec<f64> = first.iter().map(|f| 1.0 - f).collect();
    let first_up: Vec<f64> = first.iter().zip(&rows.up).map(|(f, h)| f * h).collect();
    let second_up: Vec<f64> = second.iter().zip(&rows.up).map(|(s, h)| s * h).collect();
    let mut factor = [1.0, 0.0];
    let mut last: Option<Coloured> = None;
    for _ in 0..3 {
        // Airspeed beyond its mean goes with the factor of the round before: what is fitted is the mean alone, for
        // the reason told in `wind`.
        let measured: Vec<f64> = (0..rows.velocity.len())
            .map(|i| rows.velocity[i] - factor[0] * rows.faster_along[i] - factor[1] * rows.faster_across[i])
            .collect();
        let fit = coloured::fit(
            &Problem {
                resolution: 1e-3,
                time_s: &rows.time_s,
                measured: &measured,
                design: vec![&first, &second, &rows.along, &rows.across, &rows.rate, &first_up, &second_up],
                prior: vec![
                    Some((0.0, LARGEST_WIND_M_S)),
                    Some((0.0, LARGEST_WIND_M_S)),
                    Some((1.0, FACTOR_SD)),
                    Some((0.0, HEADING_SD_RAD)),
                    Some(DELAY_S),
                    Some((0.0, CHANGE_WITH_HEIGHT_SD_PER_S)),
                    Some((0.0, CHANGE_WITH_HEIGHT_SD_PER_S)),
                ],
                families: vec![
                    Family {
                        loadings: vec![&first, &second],
                        log_time: LogPrior { mean: 12.0_f64.ln(), sd: 1.0 },
                    },
                    // Slip and compass error wander across the flight path.
                    Family {
                        loadings: vec![&rows.across],
                        log_time: LogPrior { mean: 6.0_f64.ln(), sd: 1.0 },
                    },
                ],
            },
            last.as_ref().map(|l| l.hyper.as_slice()),
        )?;
        factor = [fit.parameters[2], fit.parameters[3]];
        last = Some(fit);
    }
    let fit = last?;
    let x = &fit.parameters;
    let c = &fit.covariance;
    Some((
        Triangle {
            velocity_m_s: [x[0], x[1]],
            sd_m_s: [fit.sd(0), fit.sd(1)],
            heading_error_deg: wrap_rad(x[3].atan2(x[2])) * DEG_PER_RAD,
            // The process is in units of airspeed across the path over airspeed: radians.
            heading_strays_deg: fit.families.get(1).map_or(0.0, |f| f.0) * DEG_PER_RAD,
            delay_s: x.get(4).copied().unwrap_or(DELAY_S.0),
            agreement: String::new(),
        },
        [c[(0, 0)], c[(0, 1)], c[(1, 1)]],
    ))
}

/// Rows of the fit: north, east, north, east.
#[derive(Default)]
struct Rows {
    time_s: Vec<f64>,
    velocity: Vec<f64>,
    along: Vec<f64>,
    across: Vec<f64>,
    /// The same of what the airspeed exceeds its mean by.
    faster_along: Vec<f64>,
    faster_across: Vec<f64>,
    rate: Vec<f64>,
    /// Height over the median one, m.
    up: Vec<f64>,
    /// Mean level part of the airspeed, m/s, and median height, m.
    speed: f64,
    height: f64,
}

/// Level part of the sensor's airspeed, m/s.
fn level(flown: &Flown, i: usize) -> f64 {
    let v = flown.airspeed[i];
    (v * v - flown.down[i] * flown.down[i]).max(0.0).sqrt()
}

impl Rows {
    fn push(&mut self, flown: &Flown, group: &[usize]) {
        let n = group.len() as f64;
        let over = |f: &dyn Fn(usize) -> f64| group.iter().map(|i| f(*i)).sum::<f64>() / n;
        let level = |i: usize| level(flown, i);
        let north = self.speed * over(&|i| flown.heading[i].cos());
        let east = self.speed * over(&|i| flown.heading[i].sin());
        let faster_north = over(&|i| level(i) * flown.heading[i].cos()) - north;
        let faster_east = over(&|i| level(i) * flown.heading[i].sin()) - east;
        let up = over(&|i| flown.height[i]) - self.height;
        self.up.extend([up, up]);
        self.faster_along.extend([faster_north, faster_east]);
        self.faster_across.extend([-faster_east, faster_north]);
        // What the air velocity does over a second tells what a delayed ground velocity shows instead.
        let (rate_north, rate_east) = match (group.first(), group.last()) {
            (Some(a), Some(b)) if flown.time_s[*b] > flown.time_s[*a] => {
                let t = flown.time_s[*b] - flown.time_s[*a];
                (
                    (level(*b) * flown.heading[*b].cos() - level(*a) * flown.heading[*a].cos()) / t,
                    (level(*b) * flown.heading[*b].sin() - level(*a) * flown.heading[*a].sin()) / t,
                )
            }
            _ => (0.0, 0.0),
        };
        let t = over(&|i| flown.time_s[i]);
        self.time_s.extend([t, t]);
        self.velocity.extend([over(&|i| flown.velocity[i][0]), over(&|i| flown.velocity[i][1])]);
        self.along.extend([north, east]);
        self.across.extend([-east, north]);
        self.rate.extend([-rate_north, -rate_east]);
    }
}
