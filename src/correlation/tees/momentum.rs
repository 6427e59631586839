//! The momentum tee model: any angle and area ratio, quadratic in the leg flows.
//!
//! Dividing: Bassett, Winterbone and Pearson (2001). Combining: a control volume derived here.
//! Lateral as datum: an extension of the dividing form, made here. Not a fit to measurements.

use super::loss::{Law, Quadratic, RunDatum};

/// Loss coefficient of a dividing lateral.
///
/// `K = 1 + x^2 - 2 x cos(3 theta / 4)`, `x = v_lateral / v_datum`, on the velocity head of the datum
/// (the run upstream), total pressures.
///
/// `x` is a ratio, `theta_rad` the angle between the lateral's flow and the datum's flow, 0 = straight
/// on. Range: angle 0 to pi; any `x` (a polynomial, continued as it stands).
///
/// Source: Bassett, Winterbone and Pearson (2001), Proc. IMechE C 215(8), 861-881; read second-hand
/// in the published code of Mynard and Valen-Sendstad (2015), Int. J. Numer. Meth. Biomed. Eng.
///
/// ```
/// use loopwright::correlation::tees::momentum_dividing_lateral;
/// let k = momentum_dividing_lateral(0.25, core::f64::consts::FRAC_PI_2);
/// assert!((k - 0.8711582838).abs() < 5e-11);
/// ```
#[must_use]
pub fn momentum_dividing_lateral(x: f64, theta_rad: f64) -> f64 {
    1.0 + x * x - 2.0 * x * (0.75 * theta_rad).cos()
}

/// Loss coefficient of the straight run of a dividing tee.
///
/// `K = s^2 - 3/2 s + 1/2`, `s = flow_run / flow_datum`, on the velocity head of the datum, total
/// pressures; independent of angle and of the lateral's area.
///
/// Range: 0 to 1; continued as it stands. Negative between 1/2 and 1: a real gain, not clamped. For
/// run legs of unequal area [`tee`](super::tee) adds `(v_run - s v_datum)^2 / v_datum^2`, the loss
/// of a sudden change of section (an extension made here).
///
/// Source: Bassett, Winterbone and Pearson (2001), Proc. IMechE C 215(8), 861-881, Eq. (15), quoted
/// second-hand.
///
/// ```
/// use loopwright::correlation::tees::momentum_dividing_run;
/// assert_eq!(momentum_dividing_run(0.75), -0.0625);
/// ```
#[must_use]
pub fn momentum_dividing_run(s: f64) -> f64 {
    s * s - 1.5 * s + 0.5
}

/// Loss coefficient of the straight run of a combining tee.
///
/// `K = 1 - (1 - q)^2 - 2 q x cos(theta)`, `q = flow_lateral / flow_datum`, `x = v_lateral / v_datum`,
/// on the velocity head of the datum (the run downstream), total pressures.
///
/// Range: any; negative where the lateral drives the run (small `theta`, large `x`), not clamped. For
/// run legs of unequal area [`tee`](super::tee) adds `(v_run - (1 - q) v_datum)^2 / v_datum^2`, which
/// the same control volume yields.
///
/// Source: derived here, a momentum balance along the datum's axis with equal static pressure of the
/// two joining flows over the datum's section.
///
/// ```
/// use loopwright::correlation::tees::momentum_combining_run;
/// let k = momentum_combining_run(0.5, 0.5, core::f64::consts::FRAC_PI_2);
/// assert!((k - 0.75).abs() < 1e-15);
/// ```
#[must_use]
pub fn momentum_combining_run(q: f64, x: f64, theta_rad: f64) -> f64 {
    let s = 1.0 - q;
    1.0 - s * s - 2.0 * q * x * theta_rad.cos()
}

/// Loss coefficient of a combining lateral.
///
/// `K = 1 + x^2 - 2 (1 - q)^2 - 2 q x cos(theta)`, on the velocity head of the datum (the run
/// downstream), total pressures; symbols as in [`momentum_combining_run`].
///
/// Range: any; -1 at rest (the lateral sees the run's static pressure), negative for a weak lateral
/// (the run draws it in), not clamped. For run legs of unequal area [`tee`](super::tee) writes
/// `2 (1 - q) v_run / v_datum` for `2 (1 - q)^2`, which the same control volume yields.
///
/// Source: derived here, as [`momentum_combining_run`]; at 90 degrees the handbook form with C = 1.
///
/// ```
/// use loopwright::correlation::tees::momentum_combining_lateral;
/// let k = momentum_combining_lateral(0.25, 1.0, core::f64::consts::FRAC_PI_2);
/// assert!((k - 0.875).abs() < 1e-15);
/// ```
#[must_use]
pub fn momentum_combining_lateral(q: f64, x: f64, theta_rad: f64) -> f64 {
    let s = 1.0 - q;
    1.0 + x * x - 2.0 * s * s - 2.0 * q * x * theta_rad.cos()
}

/// Laws of the run and of the lateral, dividing.
pub(super) fn dividing(tee: &RunDatum) -> (Law, Law) {
    // s^2 - 3/2 s + 1/2 is q^2 - q/2, written in the lateral's flow.
    let run = Quadratic {
        datum_other: -0.5,
        other2: 1.0,
        own2: tee.section_change(),
        ..Quadratic::default()
    };
    let lateral = turning(tee.over_side, tee.theta_rad);
    (Law::Quadratic(run), lateral)
}

/// Laws of the run and of the lateral, combining.
pub(super) fn combining(tee: &RunDatum) -> (Law, Law) {
    let joined = 2.0 * tee.over_side * tee.theta_rad.cos();
    let run = Quadratic {
        datum_other: 2.0,
        other2: -1.0 - joined,
        own2: tee.section_change(),
        ..Quadratic::default()
    };
    let lateral = Quadratic {
        datum2: 1.0,
        own2: tee.over_side * tee.over_side - joined,
        other2: -2.0 * tee.over_run,
        ..Quadratic::default()
    };
    (Law::Quadratic(run), Law::Quadratic(lateral))
}

/// Law of one leg that turns by `theta_rad` against a datum `over` times its area.
///
/// [`momentum_dividing_lateral`] with `x = v_leg / v_datum`. It serves the side leg as datum too, with
/// flow out of both ends or into both: an extension made here, with no published check.
pub(super) fn turning(over: f64, theta_rad: f64) -> Law {
    Law::Quadratic(Quadratic {
        datum2: 1.0,
        datum_own: -2.0 * over * (0.75 * theta_rad).cos(),
        own2: over * over,
        ..Quadratic::default()
    })
}

#[cfg(test)]
mod tests {
    use super::super::loss::Flows;
    use super::*;

    #[test]
    fn the_quadratic_forms_are_the_public_coefficients() {
        for theta_rad in [0.4, 1.5, 2.8] {
            for psi in [0.5, 1.0, 6.0] {
                let tee = RunDatum {
                    over_run: 1.0,
                    over_side: psi,
                    theta_rad,
                };
                for q in [0.0, 0.1, 0.6, 1.0] {
                    let run = Flows {
                        datum: 1.0,
                        own: 1.0 - q,
                        other: q,
                    };
                    let lateral = Flows {
                        datum: 1.0,
                        own: q,
                        other: 1.0 - q,
                    };
                    let x = q * psi;
                    let (r, l) = dividing(&tee);
                    let near = |a: f64, b: f64| (a - b).abs() < 1e-13 * (1.0 + b.abs());
                    assert!(near(r.loss(run).value, momentum_dividing_run(1.0 - q)));
                    assert!(near(
                        l.loss(lateral).value,
                        momentum_dividing_lateral(x, theta_rad)
                    ));
                    let (r, l) = combining(&tee);
                    assert!(near(
                        r.loss(run).value,
                        momentum_combining_run(q, x, theta_rad)
                    ));
                    assert!(near(
                        l.loss(lateral).value,
                        momentum_combining_lateral(q, x, theta_rad)
                    ));
                }
            }
        }
    }

    #[test]
    fn a_joining_flow_that_already_points_downstream_costs_less() {
        let gentle = momentum_combining_lateral(0.5, 1.0, 0.5);
        let square = momentum_combining_lateral(0.5, 1.0, 1.57);
        let against = momentum_combining_lateral(0.5, 1.0, 2.6);
        assert!(gentle < square && square < against);
    }

    #[test]
    fn a_resting_lateral_of_an_unequal_run_sees_the_upstream_static_pressure_both_ways() {
        // Datum area over run area 2 combining is 1/2 dividing: the same tee, flow straight through.
        let combining_tee = RunDatum {
            over_run: 2.0,
            over_side: 3.0,
            theta_rad: 1.0,
        };
        let dividing_tee = RunDatum {
            over_run: 0.5,
            over_side: 1.5,
            theta_rad: 1.0,
        };
        let through = Flows {
            datum: 1.0,
            own: 1.0,
            other: 0.0,
        };
        let resting = Flows {
            datum: 1.0,
            own: 0.0,
            other: 1.0,
        };
        // In downstream heads: upstream velocity is 2, so its head is 4.
        let (run, lateral) = combining(&combining_tee);
        let drop = run.loss(through).value;
        let side_below_upstream = drop - lateral.loss(resting).value;
        assert_eq!((drop, side_below_upstream), (1.0, 4.0));
        let (run, lateral) = dividing(&dividing_tee);
        assert_eq!(4.0 * run.loss(through).value, drop);
        assert_eq!(4.0 * lateral.loss(resting).value, side_below_upstream);
    }
}
