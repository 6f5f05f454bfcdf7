//! Section tables from closed forms.

use predict::section_table::{Curve, Doubt, Origin, SectionPoint, SectionTable};

/// A section whose coefficients are functions of the angle of attack and the deflection (rad).
pub(crate) struct Form<'a> {
    pub(crate) cl: &'a dyn Fn(f64, f64) -> f64,
    pub(crate) cd: f64,
    pub(crate) cm: &'a dyn Fn(f64, f64) -> f64,
    /// Range of the angle of attack, deg.
    pub(crate) range_deg: [i32; 2],
    pub(crate) hinge: Option<f64>,
    /// Deflections, rad.
    pub(crate) deflections: &'a [f64],
}

/// Makes its table: steps of half a degree, the same at every Reynolds number.
pub(crate) fn table(form: &Form<'_>) -> SectionTable {
    let reynolds = vec![3.0e4, 1.0e6];
    let curve = |deflection: f64| Curve {
        points: (2 * form.range_deg[0]..=2 * form.range_deg[1])
            .map(|i| {
                let alpha = (0.5 * f64::from(i)).to_radians();
                let point = SectionPoint {
                    cl: (form.cl)(alpha, deflection),
                    cd: form.cd,
                    cm: (form.cm)(alpha, deflection),
                    top_transition: 0.5,
                    bottom_transition: 0.5,
                    doubt: Doubt { cl_sd: 0.04, cd_sd: 0.1 * form.cd },
                    from: Origin::Converged,
                };
                (alpha, point)
            })
            .collect(),
    };
    let curves = reynolds.iter().flat_map(|_| form.deflections.iter().map(|d| curve(*d))).collect();
    match SectionTable::new(1, "closed form", form.hinge, reynolds, form.deflections.to_vec(), curves) {
        Ok(table) => table,
        Err(why) => panic!("{why}"),
    }
}

/// Lift of a section that stalls: attached flow of slope `slope` handing over, around an angle, to a separated plate
/// (normal force 1.98 sin/(0.56 + 0.44 sin)); `width` is how gently (rad). Odd in the angle past zero lift.
pub(crate) fn stalling_lift(past_zero: f64, slope: f64, at: f64, width: f64) -> f64 {
    let x = past_zero.abs();
    let attached = slope * x.sin();
    let separated = 1.98 * x.sin() * x.cos() / (0.56 + 0.44 * x.sin());
    let share = 1.0 / (1.0 + ((x - at) / width).exp());
    past_zero.signum() * (share * attached + (1.0 - share) * separated)
}
