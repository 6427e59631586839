//! Exchanger effectiveness from the number of transfer units and the capacity ratio, and back.
//!
//! Two streams, steady, constant conductance. Crossflow with both streams unmixed is the exact
//! series; the common two-exponent approximation (up to 4 % off) is not used. Knows no part.

use std::fmt;

use super::crossflow;

/// How the two streams of an exchanger run to each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Arrangement {
    /// Streams against each other.
    CounterFlow,
    /// Streams side by side in the same direction.
    ParallelFlow,
    /// Streams across each other, neither mixed along its path: a finned radiator core.
    CrossflowUnmixed,
    /// Streams across each other, the one of the smaller capacity rate mixed.
    CrossflowMinMixed,
    /// Streams across each other, the one of the larger capacity rate mixed.
    CrossflowMaxMixed,
}

/// Largest number of transfer units; larger ones count as this one.
///
/// Beyond it `exp(-NTU)` nears the smallest double, and no exchanger has it.
pub const LARGEST_NTU: f64 = 600.0;
/// Capacity ratio below which a stream counts as boiling or condensing.
const SMALLEST_CAPACITY_RATIO: f64 = 1e-200;

/// Effectiveness of an exchanger: heat moved over the most that could be.
///
/// With `N` transfer units and `Cr = Cmin/Cmax`:
/// counterflow `(1 - e^(-N(1-Cr)))/(1 - Cr e^(-N(1-Cr)))`, `N/(1+N)` at `Cr` = 1;
/// parallel `(1 - e^(-N(1+Cr)))/(1+Cr)`;
/// crossflow, Cmax mixed `(1 - exp(-Cr(1-e^-N)))/Cr`; Cmin mixed `1 - exp(-(1-e^(-Cr N))/Cr)`;
/// both unmixed the exact series (file `crossflow.rs`)
/// `1/(Cr N) sum_n [1 - e^-N sum_{m<=n} N^m/m!] [1 - e^(-Cr N) sum_{m<=n} (Cr N)^m/m!]`.
/// `Cr` -> 0 gives `1 - e^-N` for all.
///
/// Units: dimensionless, result 0 to 1.
/// Range: `N` 0 to 600, `Cr` 0 to 1. Outside they are clamped (a number that is not one counts as 0),
/// so the result is always finite.
///
/// Source: W. M. Kays and A. L. London, Compact Heat Exchangers; series J. L. Mason, 1955.
///
/// ```
/// use loopwright::correlation::{Arrangement, effectiveness};
/// let e = effectiveness(Arrangement::CrossflowUnmixed, 1.0, 0.75);
/// assert!((e - 0.510308647).abs() < 5e-10);
/// ```
pub fn effectiveness(arrangement: Arrangement, ntu: f64, capacity_ratio: f64) -> f64 {
    let n = clamp_number(ntu, LARGEST_NTU);
    let cr = clamp_number(capacity_ratio, 1.0);
    if n == 0.0 {
        return 0.0;
    }
    if cr < SMALLEST_CAPACITY_RATIO {
        return -(-n).exp_m1();
    }
    match arrangement {
        Arrangement::CounterFlow => {
            let gap = 1.0 - cr;
            if gap == 0.0 {
                return n / (1.0 + n);
            }
            let reached = -(-n * gap).exp_m1();
            reached / (gap + cr * reached)
        }
        Arrangement::ParallelFlow => -(-n * (1.0 + cr)).exp_m1() / (1.0 + cr),
        Arrangement::CrossflowUnmixed => crossflow::unmixed(n, cr),
        Arrangement::CrossflowMinMixed => -((-cr * n).exp_m1() / cr).exp_m1(),
        Arrangement::CrossflowMaxMixed => -(cr * (-n).exp_m1()).exp_m1() / cr,
    }
}

/// NaN and negative numbers become 0, larger ones the limit.
fn clamp_number(x: f64, limit: f64) -> f64 {
    x.max(0.0).min(limit)
}

/// Why no number of transfer units gives a wanted effectiveness.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum EffectivenessError {
    /// The effectiveness is negative or not a number.
    NotAShare {
        /// The wanted effectiveness.
        effectiveness: f64,
    },
    /// The capacity ratio is outside 0 to 1.
    CapacityRatio {
        /// The capacity ratio.
        capacity_ratio: f64,
    },
    /// No size of this arrangement reaches the effectiveness.
    Unreachable {
        /// The wanted effectiveness.
        effectiveness: f64,
        /// What the largest exchanger of this arrangement reaches.
        limit: f64,
    },
}

impl fmt::Display for EffectivenessError {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str("cannot size an exchanger because ")?;
        match self {
            Self::NotAShare { effectiveness } => write!(
                out,
                "the effectiveness is no share: got {effectiveness}, limit 0 to 1; try the heat \
                 over the most that could be moved"
            ),
            Self::CapacityRatio { capacity_ratio } => write!(
                out,
                "the capacity ratio is outside its range: got {capacity_ratio}, limit 0 to 1; try \
                 the smaller capacity rate over the larger"
            ),
            Self::Unreachable {
                effectiveness,
                limit,
            } => write!(
                out,
                "no size reaches the effectiveness: got {effectiveness}, limit {limit:.6}; try \
                 counterflow or more flow on one side"
            ),
        }
    }
}

impl std::error::Error for EffectivenessError {}

/// Number of transfer units that gives an effectiveness.
///
/// The root of [`effectiveness`] in `N`, bracketed on a logarithmic scale between 1e-12 and 600 and
/// halved or interpolated until the bracket is as narrow as round-off.
///
/// Units: dimensionless. Range: effectiveness from 0 to just below what the arrangement can reach;
/// where the curve is flat the answer is as uncertain as the curve is flat.
///
/// # Errors
/// [`EffectivenessError`] for numbers that are no shares, or an effectiveness no size reaches.
///
/// ```
/// use loopwright::correlation::{Arrangement, ntu};
/// // Incropera et al., ex. 11.3: 200 of 265 K at Cr 0.45; the exact series gives 2.080839.
/// let n = ntu(Arrangement::CrossflowUnmixed, 200.0 / 265.0, 0.45).unwrap();
/// assert!((n - 2.080839).abs() < 5e-7);
/// assert!(ntu(Arrangement::ParallelFlow, 0.6, 1.0).is_err());
/// ```
pub fn ntu(
    arrangement: Arrangement,
    wanted: f64,
    capacity_ratio: f64,
) -> Result<f64, EffectivenessError> {
    if !(0.0..=1.0).contains(&capacity_ratio) {
        return Err(EffectivenessError::CapacityRatio { capacity_ratio });
    }
    if wanted.is_nan() || wanted < 0.0 {
        return Err(EffectivenessError::NotAShare {
            effectiveness: wanted,
        });
    }
    let limit = effectiveness(arrangement, LARGEST_NTU, capacity_ratio);
    if wanted >= limit {
        return Err(EffectivenessError::Unreachable {
            effectiveness: wanted,
            limit,
        });
    }
    let miss = |n: f64| effectiveness(arrangement, n, capacity_ratio) - wanted;
    // Effectiveness is at most N, so the root is at or above the wanted value.
    let (mut low, mut high) = (wanted, LARGEST_NTU);
    if low <= 0.0 {
        return Ok(0.0);
    }
    let mut low_miss = miss(low);
    if low_miss >= 0.0 {
        return Ok(low);
    }
    // Regula falsi with halving of a stuck end; plain halving of ln N every third step.
    let mut high_miss = limit - wanted;
    for step in 0..200 {
        let middle = if step % 3 == 2 {
            (low * high).sqrt()
        } else {
            low + (high - low) * (low_miss / (low_miss - high_miss))
        };
        if !(middle > low && middle < high) {
            break;
        }
        let middle_miss = miss(middle);
        if middle_miss == 0.0 {
            return Ok(middle);
        }
        if middle_miss < 0.0 {
            (low, low_miss) = (middle, middle_miss);
            high_miss *= 0.5;
        } else {
            (high, high_miss) = (middle, middle_miss);
            low_miss *= 0.5;
        }
        if high - low <= 2.0 * f64::EPSILON * high {
            break;
        }
    }
    Ok(0.5 * (low + high))
}

#[cfg(test)]
mod tests {
    use super::*;

    const ALL: [Arrangement; 5] = [
        Arrangement::CounterFlow,
        Arrangement::ParallelFlow,
        Arrangement::CrossflowUnmixed,
        Arrangement::CrossflowMinMixed,
        Arrangement::CrossflowMaxMixed,
    ];

    #[test]
    fn no_input_gives_anything_but_a_share() {
        let odd = [
            f64::NAN,
            f64::NEG_INFINITY,
            -1.0,
            0.0,
            1e-320,
            1e-300,
            1e-20,
            1e-9,
            0.5,
            1.0,
            50.0,
            599.0,
            1e9,
            f64::INFINITY,
        ];
        for arrangement in ALL {
            for n in odd {
                for cr in odd {
                    let e = effectiveness(arrangement, n, cr);
                    assert!((0.0..=1.0).contains(&e), "{arrangement:?} {n} {cr}: {e}");
                }
            }
        }
    }

    #[test]
    fn a_boiling_stream_makes_all_arrangements_equal() {
        for arrangement in ALL {
            for n in [1e-6, 0.3, 2.0, 30.0f64] {
                for cr in [0.0, 1e-250, 1e-15] {
                    let e = effectiveness(arrangement, n, cr);
                    assert!(
                        (e / -(-n).exp_m1() - 1.0).abs() < 1e-13,
                        "{arrangement:?} {n} {cr}"
                    );
                }
            }
        }
    }

    #[test]
    fn effectiveness_rises_with_size_and_never_beats_counterflow() {
        for cr in [0.0, 0.1, 0.5, 0.999_999_999, 1.0] {
            for arrangement in ALL {
                let mut last = 0.0;
                for k in 1..200 {
                    let n = f64::from(k) * 0.25;
                    let e = effectiveness(arrangement, n, cr);
                    assert!(e >= last - 1e-14, "{arrangement:?} {n} {cr}: {last} {e}");
                    assert!(e <= effectiveness(Arrangement::CounterFlow, n, cr) + 1e-14);
                    last = e;
                }
            }
        }
    }

    #[test]
    fn the_inverse_gives_back_the_size() -> Result<(), EffectivenessError> {
        for arrangement in ALL {
            for cr in [0.0, 0.1, 0.45, 0.9, 1.0] {
                for n in [1e-6, 0.01, 0.3, 1.0, 2.0, 4.0] {
                    let e = effectiveness(arrangement, n, cr);
                    let back = ntu(arrangement, e, cr)?;
                    let slope = (effectiveness(arrangement, n * 1.001, cr) - e) / (n * 0.001);
                    assert!(
                        (back - n).abs() < 1e-12 * n + 1e-15 / slope,
                        "{arrangement:?} {n} {cr} {back}"
                    );
                }
            }
        }
        Ok(())
    }

    #[test]
    fn an_unreachable_effectiveness_is_a_reasoned_no() {
        let error = ntu(Arrangement::ParallelFlow, 0.6, 1.0);
        assert_eq!(
            error,
            Err(EffectivenessError::Unreachable {
                effectiveness: 0.6,
                limit: 0.5
            })
        );
        assert!(matches!(
            ntu(Arrangement::CounterFlow, f64::NAN, 0.5),
            Err(EffectivenessError::NotAShare { .. })
        ));
        assert!(matches!(
            ntu(Arrangement::CounterFlow, 0.5, 1.5),
            Err(EffectivenessError::CapacityRatio { .. })
        ));
        assert!(ntu(Arrangement::CounterFlow, 1.0, 0.0).is_err());
        assert_eq!(ntu(Arrangement::CounterFlow, 0.0, 0.5), Ok(0.0));
        let text = EffectivenessError::Unreachable {
            effectiveness: 0.6,
            limit: 0.5,
        }
        .to_string();
        assert!(text.contains("got 0.6, limit 0.500000"));
    }
}
