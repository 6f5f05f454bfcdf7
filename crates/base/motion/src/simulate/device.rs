//! What pulls or guides while the launch device holds on.

use crate::lane::Lane;
use crate::lane::math::{V3, add, cross, dot, scale, sub, times, transposed_times};
use crate::launch::Device;

/// Launch devices of flights side by side. A flight without a cord has one of no stiffness, one without a rail one of
/// no length.
#[derive(Debug, Clone, Copy)]
pub(super) struct Devices<L> {
    any_cord: bool,
    any_rail: bool,
    peg: V3<L>,
    hook: V3<L>,
    slack: L,
    per_stretch: L,
    cos_slips: L,
    cord: L,
    length: L,
    force_begin: L,
    force_rise: L,
    carriage: L,
    rail: L,
    from: V3<L>,
    along: V3<L>,
    /// One where the device still holds on, else zero.
    pub holds: L,
}

impl<L: Lane> Devices<L> {
    pub(super) fn beside(kind: L, of: impl Fn(usize) -> Device) -> Self {
        let cord = |f: &dyn Fn(&crate::launch::Bungee) -> f64| {
            kind.each(|i, _| if let Device::Bungee(c) = of(i) { f(&c) } else { 0.0 })
        };
        let rail = |f: &dyn Fn(&crate::launch::Rail) -> f64| {
            kind.each(|i, _| if let Device::Rail(r) = of(i) { f(&r) } else { 0.0 })
        };
        let direction = |r: &crate::launch::Rail| {
            numerics::frames::ned_from_body(0.0, r.elevation_rad, r.heading_rad) * numerics::Vec3::x()
        };
        let is_cord = cord(&|_| 1.0);
        let is_rail = rail(&|_| 1.0);
        Self {
            any_cord: (0..L::WIDTH).any(|i| matches!(of(i), Device::Bungee(_))),
            any_rail: (0..L::WIDTH).any(|i| matches!(of(i), Device::Rail(_))),
            peg: [cord(&|c| c.peg_ned_m().x), cord(&|c| c.peg_ned_m().y), cord(&|c| c.peg_ned_m().z)],
            hook: [cord(&|c| c.hook_body_m.x), cord(&|c| c.hook_body_m.y), cord(&|c| c.hook_body_m.z)],
            slack: cord(&|c| c.slack_m),
            // Rubber gives back along a lower line than it was drawn out.
            per_stretch: cord(&|c| c.stiffness_n_m * c.returned),
            cos_slips: cord(&|c| c.slips_off_rad.cos()),
            cord: is_cord,
            length: rail(&|r| r.length_m),
            force_begin: rail(&|r| r.force_begin_n),
            force_rise: rail(&|r| (r.force_end_n - r.force_begin_n) / r.length_m),
            carriage: rail(&|r| r.carriage_kg),
            rail: is_rail,
            from: [kind.same(0.0), kind.same(0.0), rail(&|r| -r.height_m)],
            along: [rail(&|r| direction(r).x), rail(&|r| direction(r).y), rail(&|r| direction(r).z)],
            holds: is_cord + is_rail,
        }
    }

    /// Whether any flight is still held.
    #[inline(always)]
    pub(super) fn any(&self) -> bool {
        (self.any_cord || self.any_rail) && self.holds.any(self.holds.same(0.5).below(self.holds))
    }

    /// From the peg to the hook: the way (north-east-down) and its length.
    #[inline(always)]
    fn line(&self, place: V3<L>, ned_from_body: &[V3<L>; 3]) -> (V3<L>, L) {
        let way = sub(self.peg, add(place, times(ned_from_body, self.hook)));
        let long = dot(way, way).sqrt().greater(self.slack.same(1e-6));
        (way, long)
    }

    /// Force and moment of the cord, body axes.
    #[inline(always)]
    pub(super) fn pull(&self, place: V3<L>, ned_from_body: &[V3<L>; 3]) -> [V3<L>; 2] {
        let zero = self.slack.same(0.0);
        if !self.any_cord {
            return [[zero; 3], [zero; 3]];
        }
        let (way, long) = self.line(place, ned_from_body);
        let force = (long - self.slack).greater(zero) * self.per_stretch * self.holds * self.cord;
        let push = transposed_times(ned_from_body, scale(way, force / long));
        [push, cross(self.hook, push)]
    }

    /// On the rail only the way along it is free: the rates of velocity (body axes) and turning that are left of those
    /// that a free body would have, and what then is felt.
    #[inline(always)]
    pub(super) fn guide(
        &self,
        place: V3<L>,
        ned_from_body: &[V3<L>; 3],
        mass: L,
        free: (V3<L>, V3<L>),
        gravity: V3<L>,
    ) -> (V3<L>, V3<L>, V3<L>) {
        let (velocity_rate, specific) = free;
        if !self.any_rail {
            return (velocity_rate, specific, [self.holds; 3]);
        }
        let zero = mass.same(0.0);
        let along = transposed_times(ned_from_body, self.along);
        let gone = dot(sub(place, self.from), self.along);
        let force = self.force_begin + self.force_rise * gone.greater(zero);
        let all = mass + self.carriage;
        // Along the rail: its force, those of air and drive on the aircraft, gravity on both.
        let pull = (dot(specific, along) * mass + force) / all + dot(gravity, along);
        let pull = pull.greater(zero).where_or(gone.below(zero + 1e-9), pull);
        let on = zero.same(0.5).below(self.rail * self.holds);
        let guided = scale(along, pull);
        let felt = sub(guided, gravity);
        let mut out = (velocity_rate, specific, [zero; 3]);
        for j in 0..3 {
            out.0[j] = guided[j].where_or(on, velocity_rate[j]);
            out.1[j] = felt[j].where_or(on, specific[j]);
        }
        out.2 = [zero.flag(on); 3];
        out
    }

    /// After a step: lets go where the cord is slack or slips off, or the rail ends. Tells which did, as a mask.
    #[inline(always)]
    pub(super) fn let_go(&mut self, place: V3<L>, ned_from_body: &[V3<L>; 3]) -> L::Mask {
        let zero = self.holds.same(0.0);
        let before = self.holds;
        let (way, long) = self.line(place, ned_from_body);
        let forward = [ned_from_body[0][0], ned_from_body[1][0], ned_from_body[2][0]];
        let cosine = dot(way, forward) / long;
        let off = zero.flag(long.below(self.slack)) + zero.flag(cosine.below(self.cos_slips));
        let cord = self.cord.where_or(off.below(zero + 0.5), zero);
        let gone = dot(sub(place, self.from), self.along);
        let rail = self.rail.where_or(gone.below(self.length), zero);
        self.holds = (cord + rail).lesser(before);
        self.holds.below(before)
    }
}
