//! How coolant and air meet in a radiator core, by which of the two is mixed and how the passes lie.
//!
//! On top of `effectiveness.rs`, which knows only the smaller and the larger stream. Knows no part.

use super::effectiveness::{Arrangement, EffectivenessError, LARGEST_NTU, effectiveness, ntu};

/// How coolant and air meet in a core.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum CoreStreams {
    /// Across each other, neither mixed: separate tubes, fins that keep the air apart.
    BothUnmixed,
    /// Across each other, the air mixed along its path.
    AirMixed,
    /// Across each other, the coolant mixed along its path.
    CoolantMixed,
    /// Passes behind one another in the air, the last one first: each a crossflow with both unmixed, both streams
    /// mixed between passes, against each other on the whole.
    CounterflowPasses {
        /// How many, at least 1.
        passes: u32,
    },
}

/// Effectiveness of a core on the smaller heat capacity flow.
///
/// One side mixed: the relations of [`effectiveness`] for the smaller or larger stream mixed, whichever that side
/// is; both agree where the streams are equal. Passes, with `e` the effectiveness of one at `N/n` transfer units:
/// `E = (r^n - 1)/(r^n - Cr)`, `r = (1 - e Cr)/(1 - e)`, and `n e/(1 + (n-1) e)` at `Cr` = 1; it tends to
/// counterflow for many passes.
///
/// Units: W/K, result 0 to 1. Range: any conductance; 0 without flow on either side.
///
/// Source: W. M. Kays and A. L. London, Compact Heat Exchangers (multipass overall counterflow, fluids mixed
/// between passes; from memory), checked against passes chained one by one over ht 1.2.0.
///
/// ```
/// use loopwright::correlation::{CoreStreams, core_effectiveness};
/// let e = core_effectiveness(CoreStreams::BothUnmixed, 1000.0, 1000.0, 750.0);
/// let two = core_effectiveness(CoreStreams::CounterflowPasses { passes: 2 }, 1000.0, 1000.0, 750.0);
/// assert!(two > e);
/// ```
pub fn core_effectiveness(
    streams: CoreStreams,
    conductance_w_k: f64,
    coolant_w_k: f64,
    air_w_k: f64,
) -> f64 {
    let (low, high) = (coolant_w_k.min(air_w_k), coolant_w_k.max(air_w_k));
    if low <= 0.0 || low.is_nan() {
        return 0.0;
    }
    let (units, ratio) = (conductance_w_k / low, low / high);
    let mixed = |is_smaller: bool| {
        effectiveness(
            if is_smaller {
                Arrangement::CrossflowMinMixed
            } else {
                Arrangement::CrossflowMaxMixed
            },
            units,
            ratio,
        )
    };
    match streams {
        CoreStreams::BothUnmixed => effectiveness(Arrangement::CrossflowUnmixed, units, ratio),
        CoreStreams::AirMixed => mixed(air_w_k <= coolant_w_k),
        CoreStreams::CoolantMixed => mixed(coolant_w_k <= air_w_k),
        CoreStreams::CounterflowPasses { passes } => {
            let count = f64::from(passes.max(1));
            let one = effectiveness(Arrangement::CrossflowUnmixed, units / count, ratio);
            in_counterflow(one, count, ratio)
        }
    }
}

/// Effectiveness of `count` equal exchangers in overall counterflow, from that of one.
fn in_counterflow(one: f64, count: f64, ratio: f64) -> f64 {
    let gap = 1.0 - ratio;
    if one >= 1.0 {
        return 1.0;
    }
    if gap == 0.0 {
        return count * one / (1.0 + (count - 1.0) * one);
    }
    let power = count * (one * gap / (1.0 - one)).ln_1p();
    if power > 500.0 {
        return 1.0;
    }
    let reached = power.exp_m1();
    reached / (reached + gap)
}

/// Conductance of a core that gives an effectiveness, W/K.
///
/// The inverse of [`core_effectiveness`], halved on a logarithmic scale down to round-off.
///
/// # Errors
/// [`EffectivenessError::Unreachable`] for an effectiveness that no size reaches.
///
/// ```
/// use loopwright::correlation::{CoreStreams, core_conductance_w_k, core_effectiveness};
/// let e = core_effectiveness(CoreStreams::AirMixed, 800.0, 1000.0, 750.0);
/// let back = core_conductance_w_k(CoreStreams::AirMixed, e, 1000.0, 750.0).unwrap();
/// assert!((back - 800.0).abs() < 1e-9);
/// assert!(core_conductance_w_k(CoreStreams::AirMixed, 0.9, 1000.0, 1000.0).is_err());
/// ```
pub fn core_conductance_w_k(
    streams: CoreStreams,
    wanted: f64,
    coolant_w_k: f64,
    air_w_k: f64,
) -> Result<f64, EffectivenessError> {
    let (low, high) = (coolant_w_k.min(air_w_k), coolant_w_k.max(air_w_k));
    if streams == CoreStreams::BothUnmixed {
        return Ok(low * ntu(Arrangement::CrossflowUnmixed, wanted, low / high)?);
    }
    if wanted.is_nan() || wanted < 0.0 {
        return Err(EffectivenessError::NotAShare {
            effectiveness: wanted,
        });
    }
    let reach = |units: f64| core_effectiveness(streams, units * low, coolant_w_k, air_w_k);
    let limit = reach(LARGEST_NTU);
    if wanted >= limit {
        return Err(EffectivenessError::Unreachable {
            effectiveness: wanted,
            limit,
        });
    }
    let (mut least, mut most) = (1e-12_f64, LARGEST_NTU);
    for _ in 0..200 {
        let middle = (least * most).sqrt();
        if !(middle > least && middle < most) {
            break;
        }
        if reach(middle) < wanted {
            least = middle;
        } else {
            most = middle;
        }
    }
    Ok(low * most)
}

#[cfg(test)]
mod tests {
    use super::*;

    const ALL: [CoreStreams; 5] = [
        CoreStreams::BothUnmixed,
        CoreStreams::AirMixed,
        CoreStreams::CoolantMixed,
        CoreStreams::CounterflowPasses { passes: 1 },
        CoreStreams::CounterflowPasses { passes: 4 },
    ];

    #[test]
    fn nothing_jumps_where_the_streams_are_equal() {
        for streams in ALL {
            for conductance in [50.0, 400.0, 3000.0] {
                let at = |air: f64| core_effectiveness(streams, conductance, 500.0, air);
                let (a, b) = (at(500.0 * (1.0 - 1e-9)), at(500.0 * (1.0 + 1e-9)));
                assert!((a - b).abs() < 1e-8, "{streams:?}");
                // Heat per kelvin rises with the air and its slope does not jump.
                let heat = |air: f64| at(air) * air.min(500.0);
                let h = 1e-3;
                let (below, above) = (
                    (heat(500.0) - heat(500.0 - h)) / h,
                    (heat(500.0 + h) - heat(500.0)) / h,
                );
                assert!(
                    below > 0.0 && (below - above).abs() < 1e-5,
                    "{streams:?} {below} {above}"
                );
            }
        }
    }

    #[test]
    fn passes_lie_between_one_crossflow_and_counterflow() {
        for ratio in [0.2, 0.7, 1.0] {
            for units in [0.3, 1.0, 3.0, 40.0] {
                let of = |passes| {
                    core_effectiveness(CoreStreams::CounterflowPasses { passes }, units, 1.0, ratio)
                };
                let low = if ratio < 1.0 { ratio } else { 1.0 };
                let counter = effectiveness(Arrangement::CounterFlow, units / low, ratio);
                let mut last = core_effectiveness(CoreStreams::BothUnmixed, units, 1.0, ratio);
                assert!((of(1) - last).abs() < 1e-14);
                for passes in 2..12 {
                    let now = of(passes);
                    assert!(now >= last - 1e-14 && now <= counter + 1e-14);
                    last = now;
                }
                assert!((of(4000) - counter).abs() < 1e-3, "{units} {ratio}");
            }
        }
    }

    #[test]
    fn the_inverse_gives_back_the_conductance() {
        for streams in ALL {
            for air in [100.0, 500.0, 2000.0] {
                for conductance in [1.0, 60.0, 400.0] {
                    let e = core_effectiveness(streams, conductance, 500.0, air);
                    let back = core_conductance_w_k(streams, e, 500.0, air).expect("reachable");
                    // Where the curve is flat the answer is as uncertain as the curve is flat.
                    let h = 1e-4 * conductance;
                    let slope = (core_effectiveness(streams, conductance + h, 500.0, air) - e) / h;
                    assert!(
                        (back - conductance).abs() < 1e-11 * conductance + 1e-14 / slope,
                        "{streams:?} {air} {conductance} {back}"
                    );
                }
            }
        }
    }

    #[test]
    fn a_core_at_rest_moves_nothing() {
        for streams in ALL {
            assert_eq!(core_effectiveness(streams, 100.0, 0.0, 100.0), 0.0);
            assert_eq!(core_effectiveness(streams, 0.0, 10.0, 100.0), 0.0);
        }
        assert!(core_conductance_w_k(ALL[1], f64::NAN, 1.0, 1.0).is_err());
    }
}
