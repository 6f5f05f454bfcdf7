//! Which stability and control derivatives did the aircraft show? Equation error in the frequency domain for a first
//! answer, then output error with bounds that count with what the residuals remember.
//!
//! Per radian, body axes, mean chord and span as lengths, rates as `p b/2V`, `q c/2V`, `r b/2V`, controls as axis
//! deflections that give negative moments (`motion::model::Derivatives`). They are about the mass and inertia of the
//! prediction: an inertia that is off by 5 % moves every moment derivative by as much, which their doubt does not hold.
//! What short inputs do not tell apart stays as predicted: `Cm_alphadot` and `CLq` beside `Cmq` and `CLa`, the side force by
//! turning and by aileron beside `CYb`; `Clr` and `Cnp`, as in short inputs roll and yaw go together. `CLa` holds the lift
//! alone: the predicted drag is taken off the measured force.

use aircraft::finding::{Finding, Window};
use fly::inputs::{Control, Input};
use motion::model::{Derivatives as Coefficients, ForceModel};
use numerics::fit::NoFit;

use crate::excitation::{AXES, Excited, Signals, excited};
use crate::findings::{Learnt, NotLearnt};
use crate::response::{AFTER_S, BEFORE_S, From, Response, SERVO_DOUBT, count, more};

mod lateral;
mod longitudinal;

/// Derivatives found.
#[derive(Debug, Clone, PartialEq)]
pub struct Derivatives {
    /// Those of pitch: CLa, CLde, Cma, Cmq, Cmde.
    pub longitudinal: Learnt<Group>,
    /// Those of roll and yaw.
    pub lateral: Learnt<Group>,
}

/// Derivatives that were fitted together.
#[derive(Debug, Clone, PartialEq)]
pub struct Group {
    /// The derivatives.
    pub derivatives: Vec<Derivative>,
    /// Share of each output's variation that the fit explains.
    pub explained: Vec<(&'static str, f64)>,
    /// Inputs used.
    pub inputs: usize,
    /// Mass, kg, that they hold for.
    pub mass_kg: f64,
    /// Mean airspeed, m/s.
    pub airspeed_m_s: f64,
    /// The evidence, output by output and input by input: time (s), measured, fitted; rates in deg/s, forces in m/s².
    pub traces: Vec<Trace>,
}

/// One output over one input.
#[derive(Debug, Clone, PartialEq)]
pub struct Trace {
    /// Which output.
    pub output: &'static str,
    /// Times, s.
    pub time_s: Vec<f64>,
    /// Measured.
    pub measured: Vec<f64>,
    /// Fitted.
    pub fitted: Vec<f64>,
}

/// One derivative.
#[derive(Debug, Clone, PartialEq)]
pub struct Derivative {
    /// Its symbol ("Clp").
    pub symbol: &'static str,
    /// By output error, per rad.
    pub finding: Finding,
    /// The bare Cramér-Rao bound, as if residuals were white, per rad.
    pub white_sd: f64,
    /// By equation error, per rad, where it gave one.
    pub equation_error: Option<f64>,
    /// As predicted, per rad.
    pub predicted: f64,
}

impl Derivatives {
    /// Every derivative found.
    pub fn all(&self) -> impl Iterator<Item = &Derivative> {
        [&self.longitudinal, &self.lateral].into_iter().flatten().flat_map(|g| &g.derivatives)
    }

    /// The predicted coefficients with those put in that suffice: the force model as flown.
    #[must_use]
    pub fn put_into(&self, predicted: &Coefficients) -> Coefficients {
        let mut c = *predicted;
        for d in self.all().filter(|d| d.finding.enough) {
            if let Some(slot) = slot(&mut c, d.symbol) {
                *slot = d.finding.value;
            }
        }
        c
    }
}

fn slot<'a>(c: &'a mut Coefficients, symbol: &str) -> Option<&'a mut f64> {
    Some(match symbol {
        "CLa" => &mut c.CLa,
        "CLde" => &mut c.CLde,
        "Cma" => &mut c.Cma,
        "Cmq" => &mut c.Cmq,
        "Cmde" => &mut c.Cmde,
        "CYb" => &mut c.CYb,
        "CYdr" => &mut c.CYdr,
        "Clb" => &mut c.Clb,
        "Clp" => &mut c.Clp,
        "Clr" => &mut c.Clr,
        "Clda" => &mut c.Clda,
        "Cldr" => &mut c.Cldr,
        "Cnb" => &mut c.Cnb,
        "Cnp" => &mut c.Cnp,
        "Cnr" => &mut c.Cnr,
        "Cnda" => &mut c.Cnda,
        "Cndr" => &mut c.Cndr,
        _ => return None,
    })
}

/// Two standard deviations of a derivative over itself at which it suffices.
const ENOUGH: f64 = 0.25;
/// Relative doubt for what the linear model, the servos' stated lag and the steady airspeed leave out (judged by simulated
/// flights).
const MODEL_DOUBT: f64 = 0.05;
/// Fewest inputs.
const FEWEST: usize = 3;

/// What a group is fitted from.
struct Flown<'a> {
    signals: &'a Signals,
    model: &'a ForceModel,
    density_kg_m3: f64,
    inputs: Vec<Excited>,
    /// Lags of the servos [roll, pitch, yaw], and delays behind the pulse, s.
    servo_s: [f64; 3],
    delay_s: [f64; 3],
}

/// What a fit of a group brings: symbols with value, sd, bare bound, first answer.
struct Fitted {
    numbers: Vec<(&'static str, f64, f64, f64, Option<f64>)>,
    /// What speaks against them all.
    against: Option<String>,
    explained: Vec<(&'static str, f64)>,
    outputs: Vec<(&'static str, Vec<Vec<f64>>, Vec<Vec<f64>>)>,
}

/// The derivatives of a flight.
pub(crate) fn derivatives(from: &From<'_>, responses: &[Learnt<Response>; 3]) -> Learnt<Derivatives> {
    let Some((model, density_kg_m3)) = from.model else {
        return Err(NotLearnt::NotExcited {
            why: "derivatives are told about mass and inertia, and the aircraft could not be predicted: complete the aircraft file".into(),
        });
    };
    let s = from.signals;
    if s.airspeed.is_none() {
        return Err(NotLearnt::MissingChannel {
            what:
                "the airspeed, and a wind to work it out from: coefficients are forces over dynamic pressure"
                    .into(),
        });
    }
    if !s.from_pulses {
        return Err(NotLearnt::MissingChannel {
            what: "the pulses of every servo that steers: coefficients need what the surfaces did".into(),
        });
    }
    let servo_s = [0, 1, 2].map(|axis| from.servo_s(axis));
    let delay_s = [0, 1, 2].map(|axis| match responses.get(axis) {
        Some(Ok(r)) => r.behind_pulse_s.max(0.0),
        _ => 0.0,
    });
    let flown = |axes: &[usize], fit: &dyn Fn(&Flown<'_>) -> Result<Fitted, NoFit>| {
        let inputs = gathered(s, from.inputs, axes);
        group(&Flown { signals: s, model, density_kg_m3, inputs, servo_s, delay_s }, axes, fit)
    };
    let found =
        Derivatives { longitudinal: flown(&[1], &longitudinal::fit), lateral: flown(&[0, 2], &lateral::fit) };
    match (&found.longitudinal, &found.lateral) {
        (Err(a), Err(b)) => Err(match (a, b) {
            (NotLearnt::MissingChannel { .. }, _) => a.clone(),
            (_, NotLearnt::MissingChannel { .. }) => b.clone(),
            (NotLearnt::NotExcited { why: a }, NotLearnt::NotExcited { why: b }) => {
                NotLearnt::NotExcited { why: format!("{a}; {b}") }
            }
        }),
        _ => Ok(found),
    }
}

fn gathered(signals: &Signals, inputs: &[Input], axes: &[usize]) -> Vec<Excited> {
    let mut all: Vec<Excited> = axes
        .iter()
        .flat_map(|axis| excited(signals, inputs, *axis, Control::Direct, BEFORE_S, AFTER_S[*axis]))
        .filter(|e| e.airspeed_m_s.is_finite() && e.airspeed_m_s > 2.0)
        .collect();
    all.sort_by(|a, b| a.window.from_s.total_cmp(&b.window.from_s));
    all
}

fn group(
    flown: &Flown<'_>,
    axes: &[usize],
    fit: &dyn Fn(&Flown<'_>) -> Result<Fitted, NoFit>,
) -> Learnt<Group> {
    let words: Vec<&str> = axes.iter().map(|a| AXES[*a].word()).collect();
    let words = words.join(" and ");
    let n = flown.inputs.len();
    if n == 0 {
        return Err(NotLearnt::NotExcited {
            why: format!(
                "no {words} input was flown in direct at a known airspeed: fly doublets in {words}, five or more each, from straight flight"
            ),
        });
    }
    let fitted = fit(flown).map_err(|why| match why {
        NoFit::NotANumber => NotLearnt::MissingChannel {
            what: format!("what the derivatives of {words} need all through an input: rates, specific force, bank"),
        },
        other => NotLearnt::NotExcited {
            why: format!(
                "the {} of {words} do not tell its derivatives apart ({}); fly more of them, of both sticks where both count",
                if n == 1 { "one input".to_owned() } else { format!("{} inputs", count(n)) },
                match other {
                    NoFit::TooFewData { .. } => "too short",
                    NoFit::NotConverged => "no set fits",
                    _ => "two derivatives do the same to what was measured",
                }
            ),
        },
    })?;
    // What the servos' stated speed leaves open.
    let slower = Flown {
        signals: flown.signals,
        model: flown.model,
        density_kg_m3: flown.density_kg_m3,
        inputs: flown.inputs.clone(),
        servo_s: flown.servo_s.map(|s| s * (1.0 + SERVO_DOUBT)),
        delay_s: flown.delay_s,
    };
    let by_servo = fit(&slower).map(|f| f.numbers).unwrap_or_default();
    let evidence: Vec<Window> = flown.inputs.iter().map(|e| e.window).collect();
    let mut predicted = flown.model.aerodynamics.derivatives;
    let derivatives = fitted
        .numbers
        .iter()
        .map(|&(symbol, value, sd, white_sd, equation_error)| {
            let other = by_servo.iter().find(|n| n.0 == symbol).map_or(0.0, |n| n.1 - value);
            let sd = sd.hypot(MODEL_DOUBT * value).hypot(other);
            let doubt = 2.0 * sd / value.abs();
            let enough = n >= FEWEST && doubt <= ENOUGH && fitted.against.is_none();
            let needed = more(n, doubt, ENOUGH).max(FEWEST.saturating_sub(n));
            let verdict = if let Some(why) = &fitted.against {
                format!("from {} {words} inputs; {why}", count(n))
            } else if enough {
                format!("from {} {words} inputs, within {:.0} %", count(n), 100.0 * doubt)
            } else if needed < 60 {
                format!(
                    "from {} {words} inputs; {} more like them bring it within {:.0} %",
                    count(n),
                    count(needed),
                    100.0 * ENOUGH
                )
            } else {
                format!("from {} {words} inputs; they do not move enough of it to tell it", count(n))
            };
            Derivative {
                symbol,
                finding: Finding {
                    parameter: format!("derivatives.{symbol}"),
                    value,
                    sd,
                    evidence: evidence.clone(),
                    enough,
                    verdict,
                },
                white_sd,
                equation_error,
                predicted: slot(&mut predicted, symbol).map_or(f64::NAN, |v| *v),
            }
        })
        .collect();
    let mut traces = Vec::new();
    for (output, measured, fitted) in fitted.outputs {
        for ((e, m), f) in flown.inputs.iter().zip(measured).zip(fitted) {
            traces.push(Trace {
                output,
                time_s: e.places.clone().map(|i| flown.signals.time_s(i)).collect(),
                measured: m,
                fitted: f,
            });
        }
    }
    Ok(Group {
        derivatives,
        explained: fitted.explained,
        inputs: n,
        mass_kg: flown.model.mass_kg,
        airspeed_m_s: numerics::statistics::mean(
            &flown.inputs.iter().map(|e| e.airspeed_m_s).collect::<Vec<f64>>(),
        ),
        traces,
    })
}

/// First value of a list taken off, so that a lag begins at rest.
fn from_rest(list: &[f64]) -> Vec<f64> {
    let first = list.first().copied().unwrap_or(0.0);
    list.iter().map(|v| v - first).collect()
}
