//! Textbook aircraft: derivatives in, natural motions out.

use motion::forces::Prepared;
use motion::linear::{lateral, longitudinal};
use motion::trim::{Hold, straight};

use crate::check;
use crate::models::navion;

#[test]
fn the_navion_has_its_published_natural_motions() {
    let (model, speed, density) = navion();
    let body = Prepared::new(&model).unwrap();
    let trim = straight(&body, speed, Hold::ClimbAngle(0.0), density).unwrap();
    // The book rounds CL to 0.41 where weight needs 0.406; the angle of attack differs by that over CLa, and the
    // phugoid, whose frequency goes with the root of the lift, by that.
    let rounded = (trim.cl / 0.41).sqrt();
    check("rounding of CL", rounded, 0.9954, 5e-4);
    check("angle of attack", trim.alpha_rad, 0.0, 0.0015);

    // Source: Nelson, example 4.3: short period -2.5 ± 2.59i, phugoid -0.0171 ± 0.213i; to more digits recomputed with
    // numpy from the same derivatives: -2.5096 ± 2.5919i and -0.01711 ± 0.21291i. Half a per cent of the modulus;
    // the drag that damps the phugoid is rounded to 2 %.
    let fast_and_slow = longitudinal(&body, &trim, density).eigenvalues();
    let mut swinging: Vec<_> = fast_and_slow.iter().filter(|e| e.im > 0.0).collect();
    swinging.sort_by(|a, b| b.norm().total_cmp(&a.norm()));
    check("short period", swinging[0].re, -2.5096, 0.005 * 3.608);
    check("short period", swinging[0].im, 2.5919, 0.005 * 3.608);
    check("phugoid", swinging[1].re, -0.01711, 0.02 * 0.01711);
    check("phugoid", swinging[1].im / rounded, 0.21291, 0.005 * 0.2136);

    // Source: Nelson, example 5: Dutch roll -0.487 ± 2.335i, roll -8.435, spiral -0.0088; recomputed -0.4869 ± 2.3472i,
    // -8.4348, -0.00819. The spiral is a small difference of large terms.
    let sideways = lateral(&body, &trim, density).eigenvalues();
    let dutch = sideways.iter().find(|e| e.im > 0.0).unwrap();
    check("Dutch roll", dutch.re, -0.4869, 0.005 * 2.397);
    check("Dutch roll", dutch.im, 2.3472, 0.005 * 2.397);
    let mut straight: Vec<f64> = sideways.iter().filter(|e| e.im == 0.0).map(|e| e.re).collect();
    straight.sort_by(f64::total_cmp);
    check("roll", straight[0], -8.4348, 0.005 * 8.4348);
    check("spiral", straight[1], -0.00819, 0.15 * 0.00819);
}
