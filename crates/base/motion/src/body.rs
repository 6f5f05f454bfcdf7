//! Which forces and moments does the air give, at any angle, written once for one flight and for several side by side?
//!
//! Below the onset of separation everything is linear in the derivatives of the model, exactly. Beyond, each half of
//! the wing leaves its own part of the straight line for that of a plate, at its own angle of attack: roll rate, yaw
//! rate, sideslip and a built-in warp set them apart. The half that stalls first drops and drags, and what damped the
//! roll now drives it: autorotation needs no rule of its own. The arm of the halves is the one at which the lift slope
//! makes the model's own roll damping, so that a fully stalled wing keeps just the damping of a plate.

use crate::details::Details;
use crate::lane::Lane;
use crate::lane::math::{V3, add, cross, dot, scale, sin_cos};
use crate::model::ForceModel;
use crate::stall::{Stall, separated};

/// Share of the yaw damping and of the cross terms that is left when fully stalled (judgment without a source).
const STALLED_DAMPING: f64 = 0.3;
/// Share of the control power that is left when fully stalled, outside the slipstream (judgment without a source).
const STALLED_CONTROL: f64 = 0.4;
/// Airspeed below which rates are no longer made dimensionless with it, m/s (0.5 ft/s, as the models of
/// NASA/TM-2015-218675 do).
const SLOWEST_M_S: f64 = 0.1524;
/// Largest difference of angle of attack between a half and the whole, rad: a tip that moves faster than the air comes
/// is stalled anyway.
const APART_RAD: f64 = 0.8;

macro_rules! coefficients {
    ($($(#[$doc:meta])* $name:ident,)*) => {
        /// Coefficients of the model, made ready, one or one a flight.
        #[derive(Debug, Clone, Copy, PartialEq)]
        #[expect(non_snake_case, reason = "the field writes these symbols so")]
        pub(crate) struct Body<L> {
            $($(#[$doc])* pub(crate) $name: L,)*
        }

        impl Body<f64> {
            /// Several bodies side by side; the last one fills up.
            #[inline(always)]
            pub(crate) fn beside<'a, L: Lane>(kind: L, of: impl Fn(usize) -> &'a Self) -> Body<L> {
                Body { $($name: kind.each(|flight, _| of(flight).$name),)* }
            }
        }
    };
}

coefficients! {
    mass_kg, per_mass,
    ixx, iyy, izz, ixy, ixz, iyz,
    jxx, jyy, jzz, jxy, jxz, jyz,
    area, chord, span,
    cl0, cd0, cl_least_drag, induced, cm0,
    CLa, CLq, CLde, CLdf, CDde, CDdf,
    Cma, Cmq, Cm_alphadot, Cmde, Cmdf,
    CYb, CYp, CYr, CYda, CYdr,
    Clb, Clp, Clr, Clda, Cldr,
    Cnb, Cnp, Cnr, Cnda, Cndr,
    onset_high, onset_low, plate,
    /// Arm of a half, over the span.
    arm,
    /// Angle of attack of a half per sine of sideslip, rad.
    dihedral,
    /// Half the difference of angle of attack between the halves, rad.
    warp,
    /// Plate drag that tumbling feels, per density over two and rate squared, m⁵.
    tumble_x, tumble_y, tumble_z,
    /// One over the area of the discs, 1/m²; zero without slipstream.
    per_disk, elevator_share, rudder_share,
    /// Sense of turning times inertia, kg m²; sense times efficiency.
    rotor, torque_share,
    pull_x, pull_y, pull_z, at_x, at_y, at_z,
    /// Span for ground effect, m; very small where there is none.
    ground_span,
}

impl Body<f64> {
    pub(crate) fn of(model: &ForceModel, inverse: &numerics::Mat3) -> Self {
        let (a, details) = (&model.aerodynamics, &model.details);
        let d = &a.derivatives;
        let stall = Stall::of(a);
        let i = &model.inertia_kg_m2;
        // Two halves at the arm y damp roll with 2 CLa (y/b)²; where that is not the model's, the arm of an elliptic load.
        let arm =
            if d.CLa > 0.1 && d.Clp < 0.0 { (-0.5 * d.Clp / d.CLa).sqrt().clamp(0.12, 0.3) } else { 0.21 };
        let dihedral = if d.CLa > 0.1 { (-d.Clb / (d.CLa * arm)).clamp(-0.3, 0.3) } else { 0.0 };
        let cube = a.area_m2 * a.span_m.powi(3);
        let (pull, at) = model.thrust.as_ref().map_or_else(Default::default, |t| (t.direction, t.at_m));
        let wash = details.wash;
        let Details { spin, asymmetry_rad, ground_effect, .. } = *details;
        let lifts = stall.onset_high_rad < 10.0;
        Self {
            mass_kg: model.mass_kg,
            per_mass: 1.0 / model.mass_kg,
            ixx: i[(0, 0)],
            iyy: i[(1, 1)],
            izz: i[(2, 2)],
            ixy: i[(0, 1)],
            ixz: i[(0, 2)],
            iyz: i[(1, 2)],
            jxx: inverse[(0, 0)],
            jyy: inverse[(1, 1)],
            jzz: inverse[(2, 2)],
            jxy: inverse[(0, 1)],
            jxz: inverse[(0, 2)],
            jyz: inverse[(1, 2)],
            area: a.area_m2,
            chord: a.mean_chord_m,
            span: a.span_m,
            cl0: a.cl0,
            cd0: a.cd0,
            cl_least_drag: a.cl_least_drag,
            induced: a.induced,
            cm0: a.cm0,
            CLa: d.CLa,
            CLq: d.CLq,
            CLde: d.CLde,
            CLdf: d.CLdf,
            CDde: d.CDde,
            CDdf: d.CDdf,
            Cma: d.Cma,
            Cmq: d.Cmq,
            Cm_alphadot: d.Cm_alphadot,
            Cmde: d.Cmde,
            Cmdf: d.Cmdf,
            CYb: d.CYb,
            CYp: d.CYp,
            CYr: d.CYr,
            CYda: d.CYda,
            CYdr: d.CYdr,
            Clb: d.Clb,
            Clp: d.Clp,
            Clr: d.Clr,
            Clda: d.Clda,
            Cldr: d.Cldr,
            Cnb: d.Cnb,
            Cnp: d.Cnp,
            Cnr: d.Cnr,
            Cnda: d.Cnda,
            Cndr: d.Cndr,
            onset_high: stall.onset_high_rad,
            onset_low: stall.onset_low_rad,
            plate: stall.plate,
            arm,
            dihedral,
            warp: 0.5 * asymmetry_rad,
            // The wing's own plate in roll; tail and fin at their arms in pitch and yaw, their size told by the damping
            // derivatives (a tail at an arm l damps with 2 a S_t l² and tumbles with plate S_t l³; arms of 2.5 chords and
            // 0.4 spans and tail slopes of 3.5 and 2.5: judgment without a source).
            tumble_x: if lifts { stall.plate * cube / 32.0 } else { 0.0 },
            tumble_y: if lifts {
                stall.plate * -d.Cmq.min(0.0) / 7.0 * 2.5 * a.area_m2 * a.mean_chord_m.powi(3)
            } else {
                0.0
            },
            tumble_z: if lifts { stall.plate * -d.Cnr.min(0.0) / 5.0 * 0.4 * cube } else { 0.0 },
            per_disk: wash.map_or(0.0, |w| 1.0 / w.disk_area_m2),
            elevator_share: wash.map_or(0.0, |w| w.elevator_share),
            rudder_share: wash.map_or(0.0, |w| w.rudder_share),
            rotor: spin.map_or(0.0, |s| s.sense * s.inertia_kg_m2),
            torque_share: spin.map_or(0.0, |s| s.sense * s.efficiency),
            pull_x: pull.x,
            pull_y: pull.y,
            pull_z: pull.z,
            at_x: at.x,
            at_y: at.y,
            at_z: at.z,
            ground_span: if ground_effect { a.span_m } else { 1e-3 },
        }
    }
}

/// The flow, as components.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Stream<L> {
    pub velocity: V3<L>,
    pub speed: L,
    pub alpha: L,
    pub pressure: L,
    sin_a: L,
    cos_a: L,
    sin_b: L,
}

impl<L: Lane> Stream<L> {
    /// Flow of an air-relative velocity, body axes, at a density.
    #[inline(always)]
    pub(crate) fn of(velocity: V3<L>, density: L) -> Self {
        let [u, v, w] = velocity;
        let in_plane = (u * u + w * w).sqrt();
        let speed = dot(velocity, velocity).sqrt();
        let still = in_plane.same(1e-12);
        let moves = still.below(in_plane);
        let share = in_plane.same(1.0) / in_plane.greater(still);
        Self {
            velocity,
            speed,
            alpha: crate::lane::math::atan2(w, u),
            pressure: density * speed * speed * 0.5,
            sin_a: w * share,
            cos_a: (u * share).where_or(moves, u.same(1.0)),
            sin_b: v / speed.greater(still),
        }
    }
}

/// What the drive does now.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Pull<L> {
    pub thrust_n: L,
    pub current_a: L,
    pub rpm: L,
    pub volts: L,
}

/// Forces and moments about the balance point, body axes.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Push<L> {
    pub air_force: V3<L>,
    pub air_moment: V3<L>,
    pub pitch_per_alpha_rate: L,
    pub thrust_force: V3<L>,
    pub thrust_moment: V3<L>,
    pub cl: L,
    pub cd: L,
    pub stalled: L,
}

impl<L: Lane> Body<L> {
    /// Inertia times a vector.
    #[inline(always)]
    pub(crate) fn inertia_times(&self, w: V3<L>) -> V3<L> {
        [
            self.ixx * w[0] + self.ixy * w[1] + self.ixz * w[2],
            self.ixy * w[0] + self.iyy * w[1] + self.iyz * w[2],
            self.ixz * w[0] + self.iyz * w[1] + self.izz * w[2],
        ]
    }

    /// Inverse inertia times a vector.
    #[inline(always)]
    pub(crate) fn inverse_times(&self, m: V3<L>) -> V3<L> {
        [
            self.jxx * m[0] + self.jxy * m[1] + self.jxz * m[2],
            self.jxy * m[0] + self.jyy * m[1] + self.jyz * m[2],
            self.jxz * m[0] + self.jyz * m[1] + self.jzz * m[2],
        ]
    }

    /// Forces and moments in a flow: `rates` are those against the air that damp, `turning` those of the body, which
    /// the propeller's momentum resists, rad/s. Controls: aileron, elevator, rudder, flap, rad. Then density and the
    /// height of the balance point above the ground, m.
    #[inline(always)]
    pub(crate) fn push(
        &self,
        flow: &Stream<L>,
        rates: V3<L>,
        turning: V3<L>,
        controls: [L; 4],
        [density, height]: [L; 2],
        drive: &Pull<L>,
    ) -> Push<L> {
        let Stream { speed, alpha, pressure, sin_a, cos_a, sin_b, .. } = *flow;
        let zero = speed.same(0.0);
        let one = speed.same(1.0);
        let cos2_b = one - sin_b * sin_b;
        let cos_b = cos2_b.greater(zero).sqrt();
        let half_per_speed = speed.same(0.5) / speed.greater(speed.same(SLOWEST_M_S));
        let p = rates[0] * self.span * half_per_speed;
        let q = rates[1] * self.chord * half_per_speed;
        let r = rates[2] * self.span * half_per_speed;

        // How far each half has left the straight line, and what that takes from lift, roll and yaw.
        // What the linear derivatives know of the difference (the warp as what the trim answers), and the yaw rate, of
        // which they know otherwise.
        let known = p * cos_a * self.arm * 2.0 + self.dihedral * sin_b + self.warp;
        let apart = (known + r * sin_a * self.arm * 2.0).between(-APART_RAD, APART_RAD);
        let (right, left) = (alpha + apart, alpha - apart);
        let s_right = separated(right, self.onset_high, self.onset_low);
        let s_left = separated(left, self.onset_high, self.onset_low);
        let stalled = (s_right + s_left) * 0.5;
        let attached = one - stalled;
        let mut lost_line = zero;
        let mut plate_normal = zero;
        let mut plate_drag = zero;
        let mut roll_halves = zero;
        let mut yaw_halves = zero;
        if stalled.any(zero.below(stalled)) {
            let (sin_d, cos_d) = sin_cos(apart);
            let sin_right = sin_a * cos_d + cos_a * sin_d;
            let cos_right = cos_a * cos_d - sin_a * sin_d;
            let sin_left = sin_a * cos_d - cos_a * sin_d;
            let cos_left = cos_a * cos_d + sin_a * sin_d;
            let known = self.CLa * known.between(-APART_RAD, APART_RAD);
            let straight = self.cl0 + self.CLa * alpha;
            let lost_right = s_right * (straight + known);
            let lost_left = s_left * (straight - known);
            let plate_right = s_right * self.plate * sin_right;
            let plate_left = s_left * self.plate * sin_left;
            lost_line = (lost_right + lost_left) * 0.5;
            plate_normal = (plate_right * cos_right + plate_left * cos_left) * 0.5;
            plate_drag = (plate_right * sin_right + plate_left * sin_left) * 0.5;
            // The linear roll derivatives do not tilt the lift, and so neither does what is taken from them.
            roll_halves = ((plate_left - lost_left) - (plate_right - lost_right)) * self.arm * 0.5;
            // The half that is stalled more has lost more of the suction at its nose: the forward tilt of a lift that
            // was never larger than at the onset.
            let (low, high) = (self.cl0 + self.CLa * self.onset_low, self.cl0 + self.CLa * self.onset_high);
            yaw_halves = (s_right - s_left) * straight.within(low, high) * sin_a * self.arm * 0.5;
        }

        let damping = one - stalled * (1.0 - STALLED_DAMPING);
        // Surfaces in a flow from behind or square to them do nothing that their derivatives tell.
        let power = attached + stalled * STALLED_CONTROL * cos_a.greater(zero);
        let [aileron, elevator, rudder, flap] = controls;
        let (aileron, flap) = (aileron * power, flap * power);
        let elevator_out = elevator * power;

        let line = self.cl0 + self.CLa * alpha - lost_line;
        let cl_control = self.CLde * elevator_out + self.CLdf * flap + self.CLq * q * damping;
        let cl = line + plate_normal + cl_control;
        let off = line + cl_control - self.cl_least_drag;
        // Induced drag near the ground: (16 h/b)² / (1 + (16 h/b)²) of that in free air (McCormick, Aerodynamics,
        // Aeronautics, and Flight Mechanics, 1979; from memory). Its small gain of lift is left out.
        let near = height.greater(zero) * 16.0 / self.ground_span;
        let ground = one - one / (near * near + 1.0);
        let cd = self.cd0
            + attached * self.induced * ground * off * off
            + plate_drag
            + self.CDde * elevator_out
            + self.CDdf * flap;
        // Beyond the stall the pitching moment goes on as the sine: nose-down all the way round to flying backwards.
        let alpha_moment = attached * alpha + stalled * sin_a;
        let cm =
            self.cm0 + self.Cma * alpha_moment + self.Cmq * q + self.Cmde * elevator_out + self.Cmdf * flap;
        let rudder_out = rudder * power;
        let cy =
            self.CYb * sin_b + self.CYp * p + self.CYr * r + self.CYda * aileron + self.CYdr * rudder_out;
        let c_roll = self.Clb * sin_b
            + self.Clp * p * (attached + stalled * cos_a.greater(zero))
            + self.Clr * r * damping
            + self.Clda * aileron
            + self.Cldr * rudder_out
            + roll_halves;
        let c_yaw = self.Cnb * sin_b
            + (self.Cnp * p + self.Cnr * r) * damping
            + self.Cnda * aileron
            + self.Cndr * rudder_out
            + yaw_halves;

        let force = pressure * self.area;
        // In the slipstream, momentum theory: its dynamic pressure exceeds that of the free stream by the thrust over
        // the discs at any speed, and what lies in it stays attached.
        let blown = drive.thrust_n.greater(zero) * self.per_disk + pressure * (one - power);
        let blown_elevator = blown * self.elevator_share * elevator * self.area;
        let blown_rudder = blown * self.rudder_share * rudder * self.area;
        let lift = cl * cos2_b * force + self.CLde * blown_elevator;
        let drag = cd * cos_b * force;
        let air_force = [
            lift * sin_a - drag * cos_a,
            force * cy + self.CYdr * blown_rudder,
            -(lift * cos_a + drag * sin_a),
        ];
        // Where the flow has left the wing, turning itself is felt as a plate feels it, also without speed.
        let tumble = density * stalled * -0.5;
        let air_moment = [
            (force * c_roll + self.Cldr * blown_rudder) * self.span
                + tumble * self.tumble_x * rates[0] * rates[0].abs(),
            (force * cm + self.Cmde * blown_elevator) * self.chord
                + tumble * self.tumble_y * rates[1] * rates[1].abs(),
            (force * c_yaw + self.Cndr * blown_rudder) * self.span
                + tumble * self.tumble_z * rates[2] * rates[2].abs(),
        ];
        let pitch_per_alpha_rate =
            force * self.chord * self.Cm_alphadot * attached * self.chord * half_per_speed;

        let along = [self.pull_x, self.pull_y, self.pull_z];
        let thrust_force = scale(along, drive.thrust_n);
        let turns = drive.rpm * numerics::units::RAD_S_PER_RPM;
        // The air holds the propeller back, and so the motor turns the aircraft the other way.
        let shaft_nm = drive.volts * drive.current_a / turns.greater(turns.same(10.0)) * self.torque_share;
        let momentum = scale(along, turns * self.rotor);
        let thrust_moment = add(
            add(cross([self.at_x, self.at_y, self.at_z], thrust_force), scale(along, -shaft_nm)),
            cross(momentum, turning),
        );
        Push { air_force, air_moment, pitch_per_alpha_rate, thrust_force, thrust_moment, cl, cd, stalled }
    }
}

/// Velocity and turning rates.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Moving<L> {
    pub velocity: V3<L>,
    pub turning: V3<L>,
}

/// Rates of change of velocity and turning (body axes), specific force, rate of the angle of attack, under forces and
/// moments beside those of the air and the drive, and gravity in body axes.
#[inline(always)]
pub(crate) fn accelerations<L: Lane>(
    body: &Body<L>,
    moving: &Moving<L>,
    flow: &Stream<L>,
    push: &Push<L>,
    outside: [V3<L>; 2],
    gravity: V3<L>,
) -> (Moving<L>, V3<L>, L) {
    let Moving { velocity, turning } = *moving;
    let specific = scale(add(add(push.air_force, push.thrust_force), outside[0]), body.per_mass);
    let inertial = add(specific, gravity);
    let velocity_rate = crate::lane::math::sub(inertial, cross(turning, velocity));
    // Seen from the body, a steady wind turns the other way: the air-relative velocity changes by the same forces
    // but with its own transport term.
    let v = flow.velocity;
    let v_rate = crate::lane::math::sub(inertial, cross(turning, v));
    let in_plane = v[0] * v[0] + v[2] * v[2];
    let least = in_plane.same(1e-6);
    let alpha_rate = ((v[0] * v_rate[2] - v[2] * v_rate[0]) / in_plane.greater(least))
        .where_or(least.below(in_plane), in_plane.same(0.0));
    let mut moment = add(add(push.air_moment, push.thrust_moment), outside[1]);
    moment[1] = moment[1] + push.pitch_per_alpha_rate * alpha_rate;
    let momentum = body.inertia_times(turning);
    let turning_rate = body.inverse_times(crate::lane::math::sub(moment, cross(turning, momentum)));
    (Moving { velocity: velocity_rate, turning: turning_rate }, specific, alpha_rate)
}

/// Rate of change of a quaternion, scalar first, for turning rates in body axes.
#[inline(always)]
pub(crate) fn quaternion_rate<L: Lane>(q: [L; 4], w: V3<L>) -> [L; 4] {
    let [a, i, j, k] = q;
    [
        (i * w[0] + j * w[1] + k * w[2]) * -0.5,
        (a * w[0] + j * w[2] - k * w[1]) * 0.5,
        (a * w[1] + k * w[0] - i * w[2]) * 0.5,
        (a * w[2] + i * w[1] - j * w[0]) * 0.5,
    ]
}
