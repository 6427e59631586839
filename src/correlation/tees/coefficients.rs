//! The tee model of classical manifold theory: a run with momentum factors, a lateral at static pressure.
//!
//! A header of such tees tends to the momentum equation of dividing and combining manifolds as its
//! branches grow in number. Entrance, turning and exit losses of the lateral belong to the branch.

use super::loss::{Law, Quadratic, RunDatum};

/// Loss coefficient of the straight run of a dividing tee with momentum factor `k_i`.
///
/// `K = (1 - k_i) (1 - (1 - q)^2)`, `q = flow_lateral / flow_datum`, on the velocity head of the run
/// upstream, total pressures; `k_i` on `rho v^2 / 2` (a factor quoted on `rho v^2` is half of it).
///
/// Range: any; `k_i = 1` is lossless, fitted values lie about 0.6 to 0.8 (from memory).
///
/// Source: equation form of Bajura and Jones (1976), J. Fluids Eng. 98, 654; the discrete form derived.
///
/// ```
/// use loopwright::correlation::tees::coefficients_dividing_run;
/// assert_eq!(coefficients_dividing_run(0.5, 0.75), 0.1875);
/// ```
#[must_use]
pub fn coefficients_dividing_run(q: f64, k_i: f64) -> f64 {
    (1.0 - k_i) * q * (2.0 - q)
}

/// Loss coefficient of the straight run of a combining tee with momentum factor `k_e`.
///
/// `K = (k_e - 1) (1 - (1 - q)^2)`, `q = flow_lateral / flow_datum`, on the velocity head of the run
/// downstream (the combined flow), total pressures; `k_e` on `rho v^2 / 2`.
///
/// Range: any; `k_e = 2` conserves momentum of a square lateral, fitted values lie about 1.1 to 1.4
/// (from memory).
///
/// Source: as [`coefficients_dividing_run`].
///
/// ```
/// use loopwright::correlation::tees::coefficients_combining_run;
/// assert_eq!(coefficients_combining_run(0.5, 2.0), 0.75);
/// ```
#[must_use]
pub fn coefficients_combining_run(q: f64, k_e: f64) -> f64 {
    (k_e - 1.0) * q * (2.0 - q)
}

/// Loss coefficient of a dividing lateral whose total pressure is the run's mean static pressure.
///
/// `K = [1 + (1 - k_i) (1 - (1 - q)^2) + (1 - q)^2] / 2`, on the velocity head of the run upstream, total
/// pressures: the mean of the static pressures up- and downstream of the lateral, which loses or
/// gains nothing else. Its own velocity head, entrance and turning belong to the branch's `zeta`.
///
/// Range: any; 1 at rest.
///
/// Source: derived here from the branch equation of the theory, where a branch loses
/// `zeta rho U^2 / 2` between the static pressures of its two headers. With the mean, a header of `n`
/// branches is off the theory at the branch's place by less than 1 / n^2 of the mean flow over n = 12
/// to 48 (measured in `tests/reference/tees.rs`).
///
/// ```
/// use loopwright::correlation::tees::coefficients_dividing_lateral;
/// assert_eq!(coefficients_dividing_lateral(1.0, 1.0), 0.5);
/// ```
#[must_use]
pub fn coefficients_dividing_lateral(q: f64, k_i: f64) -> f64 {
    let s = 1.0 - q;
    0.5 * (1.0 + coefficients_dividing_run(q, k_i) + s * s)
}

/// Loss coefficient of a combining lateral whose total pressure is the run's mean static pressure.
///
/// `K = [(k_e - 1) (1 - (1 - q)^2) - (1 - q)^2 - 1] / 2`, on the velocity head of the combined flow, total
/// pressures; otherwise as [`coefficients_dividing_lateral`].
///
/// Range: any; -1 at rest. Negative throughout for `k_e` below 2, since the lateral's own velocity
/// head is counted in the branch: a law for headers, not for a single tee.
///
/// Source: as [`coefficients_dividing_lateral`].
///
/// ```
/// use loopwright::correlation::tees::coefficients_combining_lateral;
/// assert_eq!(coefficients_combining_lateral(0.0, 1.3), -1.0);
/// ```
#[must_use]
pub fn coefficients_combining_lateral(q: f64, k_e: f64) -> f64 {
    let s = 1.0 - q;
    0.5 * (coefficients_combining_run(q, k_e) - s * s - 1.0)
}

/// Laws of the run and of the lateral, dividing.
pub(super) fn dividing(tee: &RunDatum, k_i: f64) -> (Law, Law) {
    let run = Quadratic {
        datum_other: 2.0 * (1.0 - k_i),
        other2: -(1.0 - k_i),
        own2: tee.section_change(),
        ..Quadratic::default()
    };
    // Half the upstream head, half of (the run's loss and the downstream head).
    let lateral = Quadratic {
        datum2: 0.5,
        datum_own: 1.0 - k_i,
        own2: -0.5 * (1.0 - k_i),
        other2: 0.5 * (tee.section_change() + tee.over_run * tee.over_run),
        ..Quadratic::default()
    };
    (Law::Quadratic(run), Law::Quadratic(lateral))
}

/// Laws of the run and of the lateral, combining.
pub(super) fn combining(tee: &RunDatum, k_e: f64) -> (Law, Law) {
    let run = Quadratic {
        datum_other: 2.0 * (k_e - 1.0),
        other2: -(k_e - 1.0),
        own2: tee.section_change(),
        ..Quadratic::default()
    };
    // Half of (the run's loss less the upstream head), less half the downstream head.
    let lateral = Quadratic {
        datum2: -0.5,
        datum_own: k_e - 1.0,
        own2: -0.5 * (k_e - 1.0),
        other2: 0.5 * (tee.section_change() - tee.over_run * tee.over_run),
        ..Quadratic::default()
    };
    (Law::Quadratic(run), Law::Quadratic(lateral))
}

/// Law of one end when the side leg carries the whole flow: `factor` velocity heads of that end.
///
/// Both ends in: `1 - k_i / 2`; both ends out: `k_e / 2 - 1`. Each is what the run-datum law gives when its
/// other run leg is at rest, so the two patterns meet and the end of a header is undisturbed.
pub(super) fn lateral_datum(over: f64, factor: f64) -> Law {
    Law::Quadratic(Quadratic {
        own2: factor * over * over,
        ..Quadratic::default()
    })
}

#[cfg(test)]
mod tests {
    use super::super::loss::Flows;
    use super::*;

    #[test]
    fn the_quadratic_forms_are_the_public_coefficients() {
        let tee = RunDatum {
            over_run: 1.0,
            over_side: 4.0,
            theta_rad: 1.0,
        };
        for q in [0.0, 0.2, 0.7, 1.0] {
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
            let (r, l) = dividing(&tee, 0.7);
            assert!((r.loss(run).value - coefficients_dividing_run(q, 0.7)).abs() < 1e-15);
            let k = coefficients_dividing_lateral(q, 0.7);
            assert!((l.loss(lateral).value - k).abs() < 1e-15);
            let (r, l) = combining(&tee, 1.3);
            assert!((r.loss(run).value - coefficients_combining_run(q, 1.3)).abs() < 1e-15);
            let k = coefficients_combining_lateral(q, 1.3);
            assert!((l.loss(lateral).value - k).abs() < 1e-15);
        }
    }
}
