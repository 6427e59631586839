//! The handbook set for 90-degree tees: Crane TP-410 (2009), on the velocity head of the combined flow.
//!
//! Negative coefficients are real and never clamped. Joins of the printed rule are bridged so that
//! every curve has a continuous slope. It says nothing of other angles, nor of a lateral that
//! carries the whole flow: there [`tee`](super::tee) takes the momentum form.

use super::loss::{Law, Quadratic, RunDatum, ShareOf};

/// Width in `q` of the cubic that bridges a join of the printed rule, starting at the join.
///
/// Chosen here: small against the spread of the data, wide enough for a slope of order one. It lies
/// above the join, so the printed rule holds at the join itself.
pub const HANDBOOK_BRIDGE_WIDTH: f64 = 0.02;

/// Largest area ratio at which the combining lateral needs no factor (Crane TP-410, 2009).
const COMBINING_PLAIN_AREA_RATIO: f64 = 0.35;
/// Lateral share at which the combining factor changes its rule (Crane TP-410, 2009).
const COMBINING_JOIN: f64 = 0.4;
/// Combining factor above that share (Crane TP-410, 2009).
const COMBINING_FACTOR_ABOVE: f64 = 0.55;
/// Largest area ratio at which the dividing run has a constant factor (Crane TP-410, 2009).
const RUN_PLAIN_AREA_RATIO: f64 = 0.4;
/// Lateral share at which the factor of the dividing run changes its rule (Crane TP-410, 2009).
const RUN_JOIN: f64 = 0.5;
/// Largest bore ratio at which the dividing lateral counts its own head in full (Crane TP-410, 2009).
const FULL_HEAD_BORE_RATIO: f64 = 2.0 / 3.0;
/// Largest area ratio at which the dividing lateral needs no factor (Crane TP-410, 2009).
const DIVIDING_PLAIN_AREA_RATIO: f64 = 2.0 / 3.0;

/// Loss coefficient of a dividing lateral at 90 degrees.
///
/// `K = G [1 + H (q / b2)^2]`, H = 1 if d/D <= 2/3 else 0.3, G = 1 if b2 <= 2/3 else 1 + 0.3 q^2;
/// `q = flow_lateral / flow_datum`, `b2 = (d / D)^2` the area ratio, on the velocity head of the datum.
///
/// Range: `q` 0 to 1, `b2` up to 1; continued as it stands.
///
/// Source: Crane (2009), Technical Paper 410; agrees with `fluids` 1.3.1 within 1e-10.
///
/// ```
/// use loopwright::correlation::tees::handbook_dividing_lateral;
/// assert_eq!(handbook_dividing_lateral(0.25, 0.25), 2.0);
/// ```
#[must_use]
pub fn handbook_dividing_lateral(q: f64, b2: f64) -> f64 {
    dividing_lateral(q, b2).0
}

/// Loss coefficient of the straight run of a dividing tee at 90 degrees.
///
/// `K = M q^2`, M = 0.4 if b2 <= 0.4, else 2 (2q - 1) up to q = 0.5 and 0.3 (2q - 1) above; symbols as in
/// [`handbook_dividing_lateral`]. M has a kink at q = 0.5: between 0.5 and 0.5 +
/// [`HANDBOOK_BRIDGE_WIDTH`] a cubic keeps its slope continuous (within 0.004 of the printed K).
/// For run legs of unequal area [`tee`](super::tee) adds the change of section, as in
/// [`momentum_dividing_run`](super::momentum_dividing_run), here and in the combining run.
///
/// Range: `q` 0 to 1, `b2` up to 1; continued as it stands. Negative below q = 0.5, not clamped.
///
/// Source: Crane (2009), Technical Paper 410; agrees with `fluids` 1.3.1 within 1e-10 off the bridge.
///
/// ```
/// use loopwright::correlation::tees::handbook_dividing_run;
/// assert_eq!(handbook_dividing_run(0.25, 0.5), -0.0625);
/// ```
#[must_use]
pub fn handbook_dividing_run(q: f64, b2: f64) -> f64 {
    dividing_run(q, b2).0
}

/// Loss coefficient of a combining lateral at 90 degrees.
///
/// `K = C [1 + (q / b2)^2 - 2 (1 - q)^2]`, C = 1 if b2 <= 0.35, else 0.9 (1 - q) up to q = 0.4 and 0.55
/// above; symbols as in [`handbook_dividing_lateral`], the datum is the combined flow. C jumps from
/// 0.54 to 0.55 at q = 0.4: between 0.4 and 0.4 + [`HANDBOOK_BRIDGE_WIDTH`] a cubic joins the two (within
/// 2 % of the printed C). For run legs of unequal area [`tee`](super::tee) adds
/// `2 (1 - q) ((1 - q) - v_run / v_datum)`, as the momentum form has it.
///
/// Range: `q` 0 to 1, `b2` up to 1; continued as it stands. Negative for a weak lateral, not clamped.
///
/// Source: Crane (2009), Technical Paper 410 with its errata; agrees with `fluids` 1.3.1 within 1e-10
/// off the bridge.
///
/// ```
/// use loopwright::correlation::tees::handbook_combining_lateral;
/// assert!((handbook_combining_lateral(0.25, 0.36) - 0.241146).abs() < 5e-7);
/// ```
#[must_use]
pub fn handbook_combining_lateral(q: f64, b2: f64) -> f64 {
    combining_lateral(q, b2).0
}

/// Loss coefficient of the straight run of a combining tee at 90 degrees.
///
/// `K = 1.55 q - q^2`, on the velocity head of the combined flow; the area ratio does not enter.
///
/// Range: `q` 0 to 1; continued as it stands.
///
/// Source: Crane (2009), Technical Paper 410; the same in Idelchik, Handbook of Hydraulic Resistance
/// (3rd ed.), read second-hand.
///
/// ```
/// use loopwright::correlation::tees::handbook_combining_run;
/// assert_eq!(handbook_combining_run(0.5, 0.25), 0.525);
/// ```
#[must_use]
pub fn handbook_combining_run(q: f64, b2: f64) -> f64 {
    combining_run(q, b2).0
}

/// Laws of the run and of the lateral, dividing.
pub(super) fn dividing(tee: &RunDatum) -> (Law, Law) {
    laws(tee, dividing_run, dividing_lateral, Quadratic::default())
}

/// Laws of the run and of the lateral, combining.
pub(super) fn combining(tee: &RunDatum) -> (Law, Law) {
    // The printed set knows one run bore only. With unequal ends 2 (1 - q)^2 becomes
    // 2 (1 - q) v_run / v_datum as in the momentum form, so that a resting lateral sees the static
    // pressure upstream, which is what it sees when the same tee divides.
    let unequal_run = Quadratic {
        other2: -2.0 * (tee.over_run - 1.0),
        ..Quadratic::default()
    };
    laws(tee, combining_run, combining_lateral, unequal_run)
}

/// A coefficient and its derivative over lateral share and area ratio.
type Curve = fn(f64, f64) -> (f64, f64);

fn laws(tee: &RunDatum, run: Curve, lateral: Curve, lateral_plus: Quadratic) -> (Law, Law) {
    let area_ratio = 1.0 / tee.over_side;
    let run = Law::Curve {
        curve: run,
        area_ratio,
        share: ShareOf::Other,
        plus: Quadratic {
            own2: tee.section_change(),
            ..Quadratic::default()
        },
    };
    let lateral = Law::Curve {
        curve: lateral,
        area_ratio,
        share: ShareOf::Own,
        plus: lateral_plus,
    };
    (run, lateral)
}

fn dividing_lateral(q: f64, b2: f64) -> (f64, f64) {
    let full_head = b2 <= FULL_HEAD_BORE_RATIO * FULL_HEAD_BORE_RATIO;
    let h = if full_head { 1.0 } else { 0.3 } / (b2 * b2);
    let (g, dg) = if b2 <= DIVIDING_PLAIN_AREA_RATIO {
        (1.0, 0.0)
    } else {
        (1.0 + 0.3 * q * q, 0.6 * q)
    };
    let bracket = 1.0 + h * q * q;
    (g * bracket, dg * bracket + g * 2.0 * h * q)
}

fn dividing_run(q: f64, b2: f64) -> (f64, f64) {
    let (m, dm) = if b2 <= RUN_PLAIN_AREA_RATIO {
        (0.4, 0.0)
    } else {
        let above = |q: f64| (0.3 * (2.0 * q - 1.0), 0.6);
        bridged(q, RUN_JOIN, (0.0, 4.0), above).unwrap_or((2.0 * (2.0 * q - 1.0), 4.0))
    };
    (m * q * q, dm * q * q + 2.0 * m * q)
}

fn combining_lateral(q: f64, b2: f64) -> (f64, f64) {
    let (c, dc) = if b2 <= COMBINING_PLAIN_AREA_RATIO {
        (1.0, 0.0)
    } else {
        let below = |q: f64| (0.9 * (1.0 - q), -0.9);
        let above = |_: f64| (COMBINING_FACTOR_ABOVE, 0.0);
        bridged(q, COMBINING_JOIN, below(COMBINING_JOIN), above).unwrap_or_else(|| below(q))
    };
    let s = 1.0 - q;
    let bracket = 1.0 + q * q / (b2 * b2) - 2.0 * s * s;
    (
        c * bracket,
        dc * bracket + c * (2.0 * q / (b2 * b2) + 4.0 * s),
    )
}

fn combining_run(q: f64, _b2: f64) -> (f64, f64) {
    (1.55 * q - q * q, 1.55 - 2.0 * q)
}

/// The rule above a join, reached from `at_join` by a cubic; nothing at or below the join.
fn bridged(
    q: f64,
    join: f64,
    at_join: (f64, f64),
    above: impl Fn(f64) -> (f64, f64),
) -> Option<(f64, f64)> {
    if q <= join {
        return None;
    }
    let width = HANDBOOK_BRIDGE_WIDTH;
    if q >= join + width {
        return Some(above(q));
    }
    let t = (q - join) / width;
    let (y0, d0) = at_join;
    let (y1, d1) = above(join + width);
    // Cubic through two values and two slopes: the rise, plus what the slopes differ from it.
    let rise = y1 - y0;
    let (a, b) = (d0 * width - rise, rise - d1 * width);
    let s = 1.0 - t;
    let y = y0 + t * rise + t * s * (a * s + b * t);
    let dy = (rise + (1.0 - 2.0 * t) * (a * s + b * t) + t * s * (b - a)) / width;
    Some((y, dy))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Step of the central difference; its error on these curves is of order 1e-8.
    const STEP: f64 = 1e-6;

    #[test]
    fn slopes_are_those_of_the_curves() {
        let curves: [Curve; 4] = [
            dividing_lateral,
            dividing_run,
            combining_lateral,
            combining_run,
        ];
        for curve in curves {
            for b2 in [0.2, 0.5, 0.9] {
                for i in 0..=220 {
                    let q = -0.05 + f64::from(i) * 0.005 + 0.0011;
                    let slope = (curve(q + STEP, b2).0 - curve(q - STEP, b2).0) / (2.0 * STEP);
                    let given = curve(q, b2).1;
                    assert!(
                        (slope - given).abs() < 1e-6 * (1.0 + given.abs()),
                        "q {q} b2 {b2}"
                    );
                }
            }
        }
    }

    #[test]
    fn values_and_slopes_meet_at_both_ends_of_each_bridge() {
        for (curve, join) in [
            (dividing_run as Curve, RUN_JOIN),
            (combining_lateral as Curve, COMBINING_JOIN),
        ] {
            for q in [join, join + HANDBOOK_BRIDGE_WIDTH] {
                let (below, above) = (curve(q - 1e-9, 0.7), curve(q + 1e-9, 0.7));
                assert!((below.0 - above.0).abs() < 1e-7, "value at {q}");
                assert!((below.1 - above.1).abs() < 1e-4, "slope at {q}");
            }
        }
    }

    #[test]
    fn the_bridge_of_the_combining_factor_stays_close_to_the_printed_rule() {
        for i in 1..=20 {
            let q = 0.4 + 0.001 * f64::from(i);
            let s = 1.0 - q;
            let printed = 0.55 * (1.0 + q * q / 0.25 - 2.0 * s * s);
            assert!((handbook_combining_lateral(q, 0.5) / printed - 1.0).abs() < 0.02 + 1e-3);
        }
    }

    #[test]
    fn the_kink_of_the_dividing_run_stays_close_to_the_printed_rule() {
        for i in 0..=20 {
            let q = 0.5 + 0.001 * f64::from(i);
            let printed = 0.3 * (2.0 * q - 1.0) * q * q;
            assert!((handbook_dividing_run(q, 0.8) - printed).abs() < 0.004);
        }
    }
}
