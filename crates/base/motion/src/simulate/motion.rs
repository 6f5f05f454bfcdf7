//! All parts moved on together, by one step, for one flight or several.

use aircraft::controller::Acts;

use super::device::Devices;
use super::{Method, MotorStart, Run, Watch};
use crate::actuators::Servos;
use crate::body::{Body, Moving, Pull, Push, Stream, accelerations, quaternion_rate};
use crate::ground::Points;
use crate::lane::Lane;
use crate::lane::math::{V3, asin, atan2, rotation, sub, times, transposed_times};
use crate::model::Thrust;
use crate::stabilizer::{Course, Reading, Stabilizer, Task};
use crate::state::State;
use crate::table::Table;
use numerics::units::G_M_S2;
use sky::gusts::MovingAir;

/// Numbers that are integrated: place, velocity, quaternion, turning rates, thrust level, charge.
pub(super) const NUMBERS: usize = 15;
pub(super) type Numbers<L> = [L; NUMBERS];

/// Time between two looks at the air, s; in between it changes evenly.
const AIR_S: f64 = 0.02;
/// Speeds and rates beyond which a computation is taken to have left what an aircraft can do: m/s and rad/s.
const WILD_M_S: f64 = 250.0;
const WILD_RAD_S: f64 = 250.0;

/// What holds in one evaluation.
#[derive(Debug, Clone, Copy)]
pub(super) struct Moment<L> {
    pub ned_from_body: [V3<L>; 3],
    pub flow: Stream<L>,
    pub push: Push<L>,
    pub drive: Pull<L>,
    pub felt: V3<L>,
    pub touching: L,
}

/// Flights side by side.
pub(super) struct Together<'a, L: Lane> {
    pub kind: L,
    pub body: Body<L>,
    pub ground: Points<L>,
    pub devices: Devices<L>,
    pub servos: Servos<L>,
    tables: Vec<Option<&'a Table>>,
    spool_per_s: L,
    falls: L,
    full_volts: L,
    stabilizer: Stabilizer<L>,
    task: Task,
    loop_every: usize,
    waiting: Vec<[L; 3]>,
    next: usize,
    demand: [L; 3],
    reads_too_much: [L; 2],
    idle: L,
    flight: L,
    starts_s: L,
    pub started: L,
    felt_least: Vec<Option<(f64, f64)>>,
    pub throttle: L,
    air: Vec<MovingAir>,
    calm: bool,
    air_every: usize,
    pub wind: V3<L>,
    wind_step: V3<L>,
    pub air_roll: L,
    air_roll_step: L,
    density: L,
    pub now: Numbers<L>,
    history: [Numbers<L>; 3],
    age: L,
    pub steps: usize,
    dt_s: f64,
    method: Method,
    /// One where the flight has gone wild, else zero.
    pub wild: L,
}

impl<'a, L: Lane> Together<'a, L> {
    pub(super) fn new(kind: L, of: impl Fn(usize) -> (&'a Run<'a>, State), watch: &Watch) -> Self {
        let number = |f: &dyn Fn(&Run) -> f64| kind.each(|i, _| f(of(i).0));
        let dt_s = watch.step_s;
        let first = of(0).0;
        let settings = &first.plant.stabilizer;
        let thrusts: Vec<Option<&Thrust>> =
            (0..L::WIDTH).map(|i| of(i).0.plant.body.model.thrust.as_ref()).collect();
        let spool = |t: &Thrust| if t.spool_up_s > 1e-4 { 1.0 / t.spool_up_s } else { 0.0 };
        let air = (0..L::WIDTH)
            .map(|i| {
                let w = of(i).0.weather;
                MovingAir::new(w.wind, w.gust_intensity, w.single, w.seed, w.stream)
            })
            .collect();
        let calm = (0..L::WIDTH).all(|i| {
            let w = of(i).0.weather;
            w.wind.speed_m_s == 0.0 && w.single.is_none()
        });
        let zero = kind.same(0.0);
        let running = |m: &super::Motor| matches!(m.starts, MotorStart::Running);
        let begins = |i: usize| {
            let m = of(i).0.motor;
            if running(&m) { m.flight } else { m.idle }
        };
        let mut now = [zero; NUMBERS];
        for (j, x) in now.iter_mut().enumerate() {
            *x = kind.each(|i, _| {
                let (run, state) = of(i);
                match j {
                    13 => begins(i),
                    14 => run.charge_used_ah,
                    _ => state.to_vector()[j],
                }
            });
        }
        // A throw is felt before the begin of the computation, everything else within it.
        let far = 1e9;
        let starts_s = kind.each(|i, _| {
            let run = of(i).0;
            match run.motor.starts {
                MotorStart::Running => 0.0,
                MotorStart::After { delay_s } => delay_s,
                MotorStart::OnThrow { least_m_s2, delay_s } => match run.device {
                    crate::launch::Device::Hand(t)
                        if t.speed_m_s * t.speed_m_s / (2.0 * super::ARM_WAY_M) >= least_m_s2 =>
                    {
                        delay_s
                    }
                    _ => far,
                },
            }
        });
        let felt_least = (0..L::WIDTH)
            .map(|i| match of(i).0.motor.starts {
                MotorStart::OnThrow { least_m_s2, delay_s } => Some((least_m_s2, delay_s)),
                _ => None,
            })
            .collect();
        let delay = (settings.delay_s / dt_s).round().clamp(0.0, 4000.0) as usize;
        Self {
            kind,
            body: Body::beside(kind, |i| &of(i).0.plant.body.body),
            ground: Points::beside(kind, |i| &of(i).0.plant.ground),
            devices: Devices::beside(kind, |i| of(i).0.device),
            servos: Servos::beside(kind, dt_s, |i| (&of(i).0.plant.actuators, of(i).0.trim)),
            spool_per_s: kind.each(|i, _| thrusts.get(i).copied().flatten().map_or(0.0, spool)),
            falls: kind.each(|i, _| of(i).0.plant.body.fall_per_ah()),
            full_volts: kind.each(|i, _| of(i).0.plant.body.full_volts),
            tables: (0..L::WIDTH).map(|i| of(i).0.plant.body.table.as_ref()).collect(),
            stabilizer: Stabilizer::beside(kind, |i| &of(i).0.plant.stabilizer),
            task: first.task,
            loop_every: (1.0 / (settings.loop_hz * dt_s)).round().max(1.0) as usize,
            waiting: vec![[zero; 3]; delay],
            next: 0,
            demand: [zero; 3],
            reads_too_much: [number(&|r| r.reads_too_much_rad[0]), number(&|r| r.reads_too_much_rad[1])],
            idle: number(&|r| r.motor.idle),
            flight: number(&|r| r.motor.flight),
            starts_s,
            started: zero,
            felt_least,
            throttle: kind.each(|i, _| begins(i)),
            air,
            calm,
            air_every: (AIR_S / dt_s).round().max(1.0) as usize,
            wind: [zero; 3],
            wind_step: [zero; 3],
            air_roll: zero,
            air_roll_step: zero,
            density: number(&|r| r.weather.density_kg_m3),
            now,
            history: [[zero; NUMBERS]; 3],
            age: zero,
            steps: 0,
            dt_s,
            method: watch.method,
            wild: zero,
        }
    }

    /// Whether another run may fly beside the first: the same task, loop and delay.
    pub(super) fn may_join(first: &Run, other: &Run) -> bool {
        let (a, b) = (&first.plant.stabilizer, &other.plant.stabilizer);
        first.task == other.task && a.loop_hz == b.loop_hz && a.delay_s == b.delay_s
    }

    fn time_s(&self) -> f64 {
        self.steps as f64 * self.dt_s
    }

    /// What the drives do at a thrust level, airspeed and charge used.
    #[inline(always)]
    fn drive(&self, level: L, speed: L, used: L) -> Pull<L> {
        let zero = level.same(0.0);
        let mut pull = Pull { thrust_n: zero, current_a: zero, rpm: zero, volts: zero };
        for i in 0..L::WIDTH {
            if let Some(table) = self.tables.get(i).copied().flatten() {
                let [thrust_n, current_a, rpm, volts] = table.at(level.get(i), speed.get(i));
                pull.thrust_n = pull.thrust_n.with(i, thrust_n);
                pull.current_a = pull.current_a.with(i, current_a);
                pull.rpm = pull.rpm.with(i, rpm);
                pull.volts = pull.volts.with(i, volts);
            }
        }
        // As the pack empties, everything follows its voltage: speed in proportion, thrust and current as the square.
        let left = (level.same(1.0) - self.falls * used).greater(level.same(0.5));
        Pull {
            thrust_n: pull.thrust_n * left * left,
            current_a: pull.current_a * left * left,
            rpm: pull.rpm * left,
            volts: left * self.full_volts - (self.full_volts - pull.volts) * left * left,
        }
    }

    /// Everything that holds at numbers, and how they change.
    #[inline(always)]
    pub(super) fn rate(&self, x: &Numbers<L>, controls: [L; 4]) -> (Numbers<L>, Moment<L>) {
        let zero = self.kind.same(0.0);
        let place = [x[0], x[1], x[2]];
        let velocity = [x[3], x[4], x[5]];
        let q = [x[6], x[7], x[8], x[9]];
        let turning = [x[10], x[11], x[12]];
        let matrix = rotation(q);
        let through_air = sub(velocity, transposed_times(&matrix, self.wind));
        let flow = Stream::of(through_air, self.density);
        let drive = self.drive(x[13], flow.speed, x[14]);
        let felt_turning = [turning[0] - self.air_roll, turning[1], turning[2]];
        let push = self.body.push(&flow, felt_turning, turning, controls, [self.density, -place[2]], &drive);
        let [ground_force, ground_moment] = self.ground.push(place[2], &matrix, velocity, turning);
        let mut outside = [ground_force, ground_moment];
        let held = self.devices.any();
        if held {
            let [force, moment] = self.devices.pull(place, &matrix);
            outside =
                [crate::lane::math::add(ground_force, force), crate::lane::math::add(ground_moment, moment)];
        }
        let gravity = [matrix[2][0] * G_M_S2, matrix[2][1] * G_M_S2, matrix[2][2] * G_M_S2];
        let moving = Moving { velocity, turning };
        let (mut change, mut felt, _) = accelerations(&self.body, &moving, &flow, &push, outside, gravity);
        let mut turn = quaternion_rate(q, turning);
        if held {
            let (v, f, guided) =
                self.devices.guide(place, &matrix, self.body.mass_kg, (change.velocity, felt), gravity);
            change.velocity = v;
            felt = f;
            let free = zero.same(1.0) - guided[0];
            for r in &mut change.turning {
                *r = *r * free;
            }
            for r in &mut turn {
                *r = *r * free;
            }
        }
        let way = times(&matrix, velocity);
        let level_rate = (self.throttle - x[13]) * self.spool_per_s;
        let touching =
            zero.flag(zero.below(ground_force[0].abs() + ground_force[1].abs() + ground_force[2].abs()));
        let rate = [
            way[0],
            way[1],
            way[2],
            change.velocity[0],
            change.velocity[1],
            change.velocity[2],
            turn[0],
            turn[1],
            turn[2],
            turn[3],
            change.turning[0],
            change.turning[1],
            change.turning[2],
            level_rate,
            drive.current_a * (1.0 / 3600.0),
        ];
        (rate, Moment { ned_from_body: matrix, flow, push, drive, felt, touching })
    }

    /// Looks at the air ahead; in between it changes evenly.
    #[inline(always)]
    fn look_at_air(&mut self) {
        if self.calm || !self.steps.is_multiple_of(self.air_every) {
            return;
        }
        let first = self.steps == 0;
        let per_step = 1.0 / self.air_every as f64;
        let ahead_s = self.air_every as f64 * self.dt_s;
        let x = &self.now;
        let matrix = rotation([x[6], x[7], x[8], x[9]]);
        let through = sub([x[3], x[4], x[5]], transposed_times(&matrix, self.wind));
        let speed = crate::lane::math::dot(through, through).sqrt();
        for (i, air) in self.air.iter_mut().enumerate() {
            let (height, airspeed) = (-x[2].get(i), speed.get(i));
            let span = self.body.span.get(i);
            if first {
                let here = air.step(0.0, height, airspeed, span);
                for (w, v) in self.wind.iter_mut().zip(super::components(here.ned_m_s)) {
                    *w = w.with(i, v);
                }
                self.air_roll = self.air_roll.with(i, here.roll_rad_s);
            }
            let next = air.step(ahead_s, height, airspeed, span);
            for ((step, w), v) in
                self.wind_step.iter_mut().zip(&self.wind).zip(super::components(next.ned_m_s))
            {
                *step = step.with(i, (v - w.get(i)) * per_step);
            }
            let roll = (next.roll_rad_s - self.air_roll.get(i)) * per_step;
            self.air_roll_step = self.air_roll_step.with(i, roll);
        }
    }

    /// The controller, where its loop is due, and its demand that is due now.
    #[inline(always)]
    fn control(&mut self) {
        if self.steps.is_multiple_of(self.loop_every) {
            let x = &self.now;
            let zero = self.kind.same(0.0);
            let direct = matches!(self.task, Task::Sticks { acts: Acts::Direct, .. });
            let (roll, pitch, course) = if direct {
                (zero, zero, Course { nose: [zero; 2], place_m: [zero; 2] })
            } else {
                let m = rotation([x[6], x[7], x[8], x[9]]);
                let course = Course { nose: [m[0][0], m[1][0]], place_m: [x[0], x[1]] };
                (atan2(m[2][1], m[2][2]), -asin(m[2][0]), course)
            };
            let reading = Reading {
                roll_rad: roll + self.reads_too_much[0],
                pitch_rad: pitch + self.reads_too_much[1],
                course,
                rates_rad_s: [x[10], x[11], x[12]],
            };
            let task = self.task;
            self.demand = self.stabilizer.pursue(&task, &reading, self.loop_every as f64 * self.dt_s);
        }
        let due = match self.waiting.get_mut(self.next) {
            Some(place) => std::mem::replace(place, self.demand),
            None => self.demand,
        };
        self.next = if self.next + 1 < self.waiting.len() { self.next + 1 } else { 0 };
        self.servos.step(due);
    }

    /// The motor, by the clock or by what is felt.
    #[inline(always)]
    fn start_motor(&mut self, felt: L) {
        let time_s = self.time_s();
        for (i, least) in self.felt_least.iter().enumerate() {
            if let Some((least_m_s2, delay_s)) = least
                && self.starts_s.get(i) > 1e8
                && felt.get(i) >= *least_m_s2
            {
                self.starts_s = self.starts_s.with(i, time_s + delay_s);
            }
        }
        let now = self.kind.same(time_s + 1e-9);
        let due = self.starts_s.below(now);
        self.started = self.started.greater(self.kind.flag(due));
        let before = self.throttle;
        self.throttle = self.flight.where_or(due, self.idle);
        // A jump: the rates before it say nothing of what follows.
        let zero = self.kind.same(0.0);
        self.age = zero.where_or(zero.below((self.throttle - before).abs()), self.age);
    }

    /// One step. Tells what held at its begin.
    #[inline(always)]
    pub(super) fn step(&mut self) -> Moment<L> {
        self.look_at_air();
        self.control();
        let controls = self.servos.controls();
        let (first, moment) = self.rate(&self.now, controls);
        let x = self.now;
        let h = self.dt_s;
        let mut next = x;
        if self.method == Method::RungeKutta4 || self.steps < 3 {
            let mut sum = first;
            let mut k = first;
            for (by, weight) in [(0.5, 2.0), (0.5, 2.0), (1.0, 1.0)] {
                let mut part = x;
                for j in 0..NUMBERS {
                    part[j] = part[j] + k[j] * (by * h);
                }
                k = self.rate(&part, controls).0;
                for j in 0..NUMBERS {
                    sum[j] = sum[j] + k[j] * weight;
                }
            }
            for j in 0..NUMBERS {
                next[j] = x[j] + sum[j] * (h / 6.0);
            }
        } else {
            self.adams(&first, &mut next);
        }
        self.history = [first, self.history[0], self.history[1]];
        self.age = self.age + 1.0;
        self.start_motor(moment.felt[0]);
        self.now = next;
        self.tame();
        if self.devices.any() {
            let x = &self.now;
            let matrix = rotation([x[6], x[7], x[8], x[9]]);
            let went = self.devices.let_go([x[0], x[1], x[2]], &matrix);
            self.age = self.kind.same(0.0).where_or(went, self.age);
        }
        if !self.calm {
            for (w, step) in self.wind.iter_mut().zip(&self.wind_step) {
                *w = *w + *step;
            }
            self.air_roll = self.air_roll + self.air_roll_step;
        }
        self.steps += 1;
        moment
    }

    /// Adams and Bashforth, of as high an order as there are rates since the last jump.
    #[inline(always)]
    fn adams(&self, first: &Numbers<L>, next: &mut Numbers<L>) {
        let h = self.dt_s;
        let [one, two, three] = &self.history;
        let young = self.age.below(self.age.same(2.5));
        if self.age.any(young) {
            let pick = |orders: [f64; 4]| {
                let [o1, o2, o3, o4] = orders.map(|o| self.age.same(o * h));
                let a = self.age;
                o1.where_or(a.below(a.same(0.5)), o2.where_or(a.below(a.same(1.5)), o3.where_or(young, o4)))
            };
            let w0 = pick([1.0, 1.5, 23.0 / 12.0, 55.0 / 24.0]);
            let w1 = pick([0.0, -0.5, -16.0 / 12.0, -59.0 / 24.0]);
            let w2 = pick([0.0, 0.0, 5.0 / 12.0, 37.0 / 24.0]);
            let w3 = pick([0.0, 0.0, 0.0, -9.0 / 24.0]);
            for j in 0..NUMBERS {
                next[j] = next[j] + (w0 * first[j] + w1 * one[j] + w2 * two[j] + w3 * three[j]);
            }
        } else {
            let (w0, w1, w2, w3) = (55.0 / 24.0 * h, -59.0 / 24.0 * h, 37.0 / 24.0 * h, -9.0 / 24.0 * h);
            for j in 0..NUMBERS {
                next[j] = next[j] + (first[j] * w0 + one[j] * w1 + two[j] * w2 + three[j] * w3);
            }
        }
    }

    /// Keeps the quaternion a rotation; finds flights that have gone wild and lays them to rest where they are not
    /// numbers, so that nothing of theirs is told.
    #[inline(always)]
    fn tame(&mut self) {
        let x = &mut self.now;
        let norm2 = x[6] * x[6] + x[7] * x[7] + x[8] * x[8] + x[9] * x[9];
        // One Newton step of the inverse root from one: exact to the square of what one step leaves.
        let by = (norm2 - 3.0) * -0.5;
        for n in &mut x[6..10] {
            *n = *n * by;
        }
        let speed2 = x[3] * x[3] + x[4] * x[4] + x[5] * x[5];
        let rate2 = x[10] * x[10] + x[11] * x[11] + x[12] * x[12];
        let worst =
            speed2 * (1.0 / (WILD_M_S * WILD_M_S)) + rate2 * (1.0 / (WILD_RAD_S * WILD_RAD_S)) + by * 0.0;
        let one = self.kind.same(1.0);
        let zero = self.kind.same(0.0);
        // Not a number is not below one.
        let sound = worst.below(one);
        let wild = one - one.where_or(sound, zero);
        if wild.any(zero.below(wild)) {
            self.wild = self.wild.greater(wild);
            let rest = [0.0, 0.0, -1000.0, 10.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0];
            for (n, r) in x.iter_mut().zip(rest) {
                *n = n.where_or(sound, self.kind.same(r));
            }
        }
    }
}
