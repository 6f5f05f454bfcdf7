//! What do the surfaces do for a demand? Demand, mixing, pulse, servo, linkage as it really stands, panel, axis.

use aircraft::Aircraft;
use aircraft::control::{Axis, panel_gain};
use aircraft::movable::{Movable, Panels, Servo};
use motion::state::Controls;
use nalgebra::{DMatrix, Matrix3, Vector3};

use super::script::{Hidden, ScriptError, Side};

/// Demands of the sticks or the controller, -1 to 1, each positive as `numerics::frames` says; flaps stay up.
pub(super) type Demand = Vector3<f64>;

/// Time constant of a servo besides its slew rate, s (some 30 ms of electronics and play; common practice, no
/// source).
const LAG_S: f64 = 0.03;

/// One servo and the panel that it moves.
struct Panel {
    movable: Movable,
    servo: Servo,
    /// The servo with the centre at which the panel really stands at its offset.
    true_servo: Servo,
    /// Panel deflection per axis deflection [roll, pitch, yaw, flap].
    gain: [f64; 4],
    /// What the panel stands at when the servo says zero, rad.
    offset_rad: f64,
    /// Slew rate, µs/s.
    speed_us_s: f64,
}

/// All servos of an aircraft.
pub(super) struct Servos {
    panels: Vec<Panel>,
    /// Axis deflections by least squares from panel deflections: 4 rows, a column a panel.
    axes_from_panels: DMatrix<f64>,
    /// Pulse that each servo was last told, µs.
    pub told_us: Vec<f64>,
    /// Pulse at which each servo stands, µs.
    stands_us: Vec<f64>,
}

impl Servos {
    /// The servos of an aircraft with what the script hides of them.
    pub(super) fn new(aircraft: &Aircraft, hidden: &Hidden) -> Result<Self, Vec<ScriptError>> {
        let offsets = &hidden.offsets;
        let mut errors = Vec::new();
        for offset in offsets {
            let movable = aircraft.movables.iter().find(|m| m.name == offset.movable);
            let wrong = match movable {
                None => Some("the aircraft has no such movable"),
                Some(m) if m.panels == Panels::One && offset.side == Side::Left => {
                    Some("this movable has no left side of its own")
                }
                Some(_) => None,
            };
            if let Some(wrong) = wrong {
                let names: Vec<&str> = aircraft.movables.iter().map(|m| m.name.as_str()).collect();
                errors.push(ScriptError {
                    line: offset.line,
                    what: format!("offset of \"{}\": {wrong}", offset.movable),
                    remedy: format!("movables of the file: {}", names.join(", ")),
                });
            }
        }
        if !errors.is_empty() {
            return Err(errors);
        }
        let mut panels = Vec::new();
        for movable in &aircraft.movables {
            let sides: &[bool] = match movable.panels {
                Panels::One => &[false],
                Panels::Pair => &[false, true],
            };
            for left in sides {
                let servo = movable.servo_of(*left).clone();
                let side = if *left { Side::Left } else { Side::Right };
                let mut true_servo = servo.clone();
                true_servo.centre_us = hidden.linkage_us.unwrap_or(servo.centre_us);
                let mut offset_rad = 0.0;
                for offset in offsets
                    .iter()
                    .filter(|o| o.movable == movable.name)
                    .filter(|o| o.side == side || o.side == Side::Both)
                {
                    offset_rad += offset.rad;
                    true_servo.centre_us = offset.at_us.unwrap_or(true_servo.centre_us);
                }
                let speed_us_s = if servo.travel_rad > 0.0 && servo.speed_rad_s > 0.0 {
                    servo.speed_rad_s / servo.travel_rad * servo.travel_us
                } else {
                    f64::INFINITY
                };
                panels.push(Panel {
                    gain: Axis::ALL.map(|axis| panel_gain(aircraft, movable, axis, *left)),
                    movable: movable.clone(),
                    servo,
                    true_servo,
                    offset_rad,
                    speed_us_s,
                });
            }
        }
        let gains = DMatrix::from_fn(panels.len(), 4, |i, j| {
            panels.get(i).map_or(0.0, |p| p.gain.get(j).copied().unwrap_or(0.0))
        });
        let axes_from_panels = if panels.is_empty() {
            DMatrix::zeros(4, 0)
        } else {
            gains.pseudo_inverse(1e-9).unwrap_or_else(|_| DMatrix::zeros(4, panels.len()))
        };
        let centres: Vec<f64> = panels.iter().map(|p| p.servo.centre_us).collect();
        Ok(Self { panels, axes_from_panels, told_us: centres.clone(), stands_us: centres })
    }

    /// Channel names, one a servo, in the order of `told_us`.
    pub(super) fn channels(&self) -> Vec<String> {
        self.panels.iter().map(|p| p.servo.channel.clone()).collect()
    }

    /// Centres of the aircraft file, µs, in the same order.
    pub(super) fn centres(&self) -> Vec<f64> {
        self.panels.iter().map(|p| p.servo.centre_us).collect()
    }

    /// Pulses for demands, µs, within each servo's travel.
    pub(super) fn pulses(&self, demand: &Demand) -> Vec<f64> {
        self.panels.iter().map(|p| p.pulse_us(demand)).collect()
    }

    /// Axis deflections when every servo stands at its pulse.
    pub(super) fn axes(&self, pulses_us: &[f64]) -> Controls {
        let mut axes = [0.0; 4];
        for (i, (panel, pulse)) in self.panels.iter().zip(pulses_us).enumerate() {
            let deflection = panel.deflection_rad(*pulse);
            for (j, axis) in axes.iter_mut().enumerate() {
                *axis += self.axes_from_panels[(j, i)] * deflection;
            }
        }
        Controls { aileron_rad: axes[0], elevator_rad: axes[1], rudder_rad: axes[2], flap_rad: axes[3] }
    }

    /// Tells the servos pulses for a demand.
    pub(super) fn tell(&mut self, demand: &Demand) {
        for (told, panel) in self.told_us.iter_mut().zip(&self.panels) {
            *told = panel.pulse_us(demand);
        }
    }

    /// Moves the servos on by `dt_s` and tells the axis deflections.
    pub(super) fn step(&mut self, dt_s: f64) -> Controls {
        let share = 1.0 - (-dt_s / LAG_S).exp();
        for ((stands, told), panel) in self.stands_us.iter_mut().zip(&self.told_us).zip(&self.panels) {
            let most = panel.speed_us_s * dt_s;
            *stands += ((told - *stands) * share).clamp(-most, most);
        }
        self.axes(&self.stands_us)
    }

    /// Demands that bring about axis deflections with every servo standing where it is told, by Newton's method;
    /// the nearest that the throws allow. An axis that nothing answers keeps zero.
    pub(super) fn demand_for(&self, wanted: &Controls) -> Demand {
        let axes = |d: &Demand| {
            let c = self.axes(&self.pulses(d));
            Vector3::new(c.aileron_rad, c.elevator_rad, c.rudder_rad)
        };
        let goal = Vector3::new(wanted.aileron_rad, wanted.elevator_rad, wanted.rudder_rad);
        let mut demand = Demand::zeros();
        for _ in 0..30 {
            let left = axes(&demand) - goal;
            if left.norm() < 1e-10 {
                break;
            }
            let mut slope = Matrix3::zeros();
            for j in 0..3 {
                let (mut up, mut down) = (demand, demand);
                up[j] += 1e-3;
                down[j] -= 1e-3;
                slope.set_column(j, &((axes(&up) - axes(&down)) / 2e-3));
            }
            let Ok(change) = slope.svd(true, true).solve(&left, 1e-6) else {
                break;
            };
            // Half steps settle on the corner where up and down throws differ.
            demand = (demand - change * 0.7).map(|d| d.clamp(-1.0, 1.0));
        }
        demand
    }
}

impl Panel {
    fn pulse_us(&self, demand: &Demand) -> f64 {
        // A positive demand asks for a negative axis deflection.
        let share: f64 = self.gain.iter().zip(demand.iter()).map(|(gain, demand)| -gain * demand).sum();
        let share = share.clamp(-1.0, 1.0);
        let throw = if share > 0.0 { self.movable.throw_down_rad } else { self.movable.throw_up_rad };
        let (centre, travel) = (self.servo.centre_us, self.servo.travel_us.abs());
        self.movable
            .pulse_from_deflection(&self.servo, share * throw)
            .unwrap_or(centre)
            .clamp(centre - travel, centre + travel)
    }

    fn deflection_rad(&self, pulse_us: f64) -> f64 {
        // A linkage that locks stays where the builder's numbers put full throw.
        self.movable.deflection_from_pulse(&self.true_servo, pulse_us).unwrap_or(0.0) + self.offset_rad
    }
}
