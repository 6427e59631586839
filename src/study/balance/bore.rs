//! From a pressure drop to the hole that makes it: the restrictor's own law, inverted.

use crate::correlation::restrictor_loss;
use crate::fluid::Properties;
use crate::part::{Drop, Law, TwoTerm};

/// Smallest hole over pipe bore that is looked for.
pub(super) const SMALLEST_RATIO: f64 = 0.02;
/// Halvings of the logarithm of the bore: beyond the last bit.
const HALVINGS: usize = 64;

/// A hole that makes a drop.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Bore {
    /// No hole is needed: a disc as wide as the pipe takes as much or more.
    Open,
    /// The hole, m.
    Hole(f64),
    /// Not even a hole of 2 % of the pipe takes so much.
    TooSmall,
}

/// The law of a disc in a pipe, m.
pub(super) fn disc_law(bore_m: f64, pipe_bore_m: f64, thickness_m: f64) -> TwoTerm {
    let loss = restrictor_loss(bore_m, pipe_bore_m, thickness_m);
    let area_m2 = std::f64::consts::FRAC_PI_4 * pipe_bore_m * pipe_bore_m;
    TwoTerm::on_bore(
        loss.k_laminar,
        loss.k_turbulent,
        loss.k_turbulent,
        pipe_bore_m,
        area_m2,
    )
}

/// The bore of a restrictor that takes `dp_pa` at a flow: [`restrictor_loss`] inverted by halving.
///
/// Units: Pa, kg/s, m. Range: that of [`restrictor_loss`]; bores from 2 % of the pipe to the pipe. Source: that of the law.
///
/// ```
/// use loopwright::fluid::Coolant;
/// use loopwright::study::balance::{Bore, bore_for};
/// let water = Coolant::water().properties_extended(293.15);
/// let Bore::Hole(bore_m) = bore_for(5e3, 0.02, &water, 8e-3, 1.5e-3) else { panic!() };
/// assert!(bore_m > 2e-3 && bore_m < 5e-3);
/// ```
pub fn bore_for(
    dp_pa: f64,
    flow_kg_s: f64,
    fluid: &Properties,
    pipe_bore_m: f64,
    thickness_m: f64,
) -> Bore {
    let drop_pa = |bore_m: f64| {
        let law = Law::TwoTerm(disc_law(bore_m, pipe_bore_m, thickness_m));
        let Drop { drop_pa, .. } = law.drop(flow_kg_s, fluid);
        drop_pa
    };
    let (mut low, mut high) = (SMALLEST_RATIO * pipe_bore_m, pipe_bore_m);
    if flow_kg_s <= 0.0 || dp_pa <= drop_pa(high) {
        return Bore::Open;
    }
    if dp_pa > drop_pa(low) {
        return Bore::TooSmall;
    }
    for _ in 0..HALVINGS {
        let middle = (low * high).sqrt();
        if drop_pa(middle) > dp_pa {
            low = middle;
        } else {
            high = middle;
        }
    }
    Bore::Hole((low * high).sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fluid::Coolant;

    #[test]
    fn the_drop_falls_with_the_bore_so_that_the_inversion_is_unique() {
        let mix = Coolant::water().properties_extended(323.15);
        for thickness in [0.2e-3, 1.5e-3, 6e-3] {
            let drop = |d: f64| {
                Law::TwoTerm(disc_law(d, 8e-3, thickness))
                    .drop(0.02, &mix)
                    .drop_pa
            };
            let bores: Vec<f64> = (16..800).map(|k| f64::from(k) * 1e-5).collect();
            assert!(
                bores.windows(2).all(|w| drop(w[1]) < drop(w[0])),
                "{thickness}"
            );
        }
    }

    #[test]
    fn the_ends_of_the_range_are_told() {
        let water = Coolant::water().properties_extended(293.15);
        assert_eq!(bore_for(1e-3, 0.02, &water, 8e-3, 1.5e-3), Bore::Open);
        assert_eq!(bore_for(1e12, 0.02, &water, 8e-3, 1.5e-3), Bore::TooSmall);
        assert_eq!(bore_for(1e3, 0.0, &water, 8e-3, 1.5e-3), Bore::Open);
    }
}
