//! Losses where the bore changes: entrances, exits, sudden steps and hose barbs.
//!
//! All are losses of total pressure, so the Bernoulli change of static pressure is never in them.
//! Sources: Rennels and Hudson (2012), Crane TP-410 (2009), Borda and Carnot; the laminar constants
//! are stated with their origin.

use super::fittings::{TwoConstant, interpolate};

/// Which published coefficient a sharp inlet edge uses.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum SharpEdge {
    /// Rennels and Hudson (2012): 0.57 for an entrance from a large vessel. The default.
    #[default]
    Rennels,
    /// Crane TP-410 (2009): 0.5 for an entrance from a large vessel.
    Crane,
}

/// A loss that depends on the direction of flow, both on the same velocity head.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Directional {
    /// In the direction in which the part is named.
    pub forward: TwoConstant,
    /// Against it.
    pub backward: TwoConstant,
}

impl Directional {
    /// The loss in the direction of a signed flow.
    pub fn of(&self, flow_kg_s: f64) -> &TwoConstant {
        if flow_kg_s < 0.0 {
            &self.backward
        } else {
            &self.forward
        }
    }
}

/// Laminar constant of an entrance from a large vessel: Hooper (1981), pipe entrance, K1 = 160.
const ENTRANCE_K1: f64 = 160.0;
/// Laminar constant of an exit into a large vessel: 30/Re at low Re, Idelchik, diagram 4-1 (from
/// memory). Hooper lists none; a finite slope at rest is wanted.
const EXIT_K1: f64 = 30.0;
/// Turbulent friction factor of a short smooth barb bore; common practice, no source.
const BARB_FRICTION_FACTOR: f64 = 0.03;
/// Laminar friction constant of a round bore.
const ROUND_LAMINAR: f64 = 64.0;

/// A sudden step down in bore, on the smaller (downstream) bore's velocity head.
///
/// Rennels: `l = 1 + 0.622 (1 - 0.215 b^2 - 0.785 b^5)`, `K = 0.0696 (1 - b^5) l^2 + (l - 1)^2`.
/// Crane: `K = 0.5 (1 - b^2)`. `b` is small over large bore. Laminar part `160 (1 - b^2) / Re`,
/// which is Hooper's entrance scaled to vanish without a step: common practice, no source.
///
/// Units: m. Range: any step; no loss if the bore does not shrink.
///
/// Source: D. C. Rennels and H. M. Hudson, Pipe Flow, 2012; Crane TP-410, 2009; both as coded in
/// fluids 1.3.1.
pub fn sudden_contraction(
    upstream_bore_m: f64,
    downstream_bore_m: f64,
    edge: SharpEdge,
) -> TwoConstant {
    contraction(downstream_bore_m / upstream_bore_m, edge)
}

fn contraction(bore_ratio: f64, edge: SharpEdge) -> TwoConstant {
    if bore_ratio >= 1.0 {
        return TwoConstant::NONE;
    }
    let square = bore_ratio * bore_ratio;
    let k_turbulent = match edge {
        SharpEdge::Crane => 0.5 * (1.0 - square),
        SharpEdge::Rennels => {
            let fifth = square * square * bore_ratio;
            let jet = 1.0 + 0.622 * (1.0 - 0.215 * square - 0.785 * fifth);
            0.0696 * (1.0 - fifth) * jet * jet + (jet - 1.0) * (jet - 1.0)
        }
    };
    TwoConstant {
        k_laminar: ENTRANCE_K1 * (1.0 - square),
        k_turbulent,
    }
}

/// A sudden step up in bore, on the smaller (upstream) bore's velocity head.
///
/// `K = (1 - A1/A2)^2`; laminar part `30 (1 - A1/A2) / Re`.
///
/// Units: m. Range: any step; no loss if the bore does not grow.
///
/// Source: Borda and Carnot, momentum balance, exact for flat profiles; laminar part Idelchik,
/// diagram 4-1, from memory, scaled.
///
/// ```
/// use loopwright::correlation::fittings::sudden_expansion;
/// assert_eq!(sudden_expansion(0.01, 0.02).k_turbulent, 0.5625);
/// ```
pub fn sudden_expansion(upstream_bore_m: f64, downstream_bore_m: f64) -> TwoConstant {
    let bore_ratio = upstream_bore_m / downstream_bore_m;
    if bore_ratio >= 1.0 {
        return TwoConstant::NONE;
    }
    let gap = 1.0 - bore_ratio * bore_ratio;
    TwoConstant {
        k_laminar: EXIT_K1 * gap,
        k_turbulent: gap * gap,
    }
}

/// A sharp flush entrance from a large vessel, on the pipe's velocity head.
///
/// Rennels 0.57, Crane 0.5; laminar part 160/Re (Hooper, 1981). It is the limit of
/// [`sudden_contraction`]. Sources as there.
pub fn sharp_entrance(edge: SharpEdge) -> TwoConstant {
    contraction(0.0, edge)
}

/// A rounded flush entrance from a large vessel, on the pipe's velocity head.
///
/// Rennels: `l = 1 + 0.622 (1 - 0.30 sqrt(r/d) - 0.70 r/d)^4`,
/// `K = 0.0696 (1 - 0.569 r/d) l^2 + (l - 1)^2`, 0.03 above `r/d` = 1. Crane: table, linear between
/// entries, 0.04 above `r/d` = 0.15. Laminar part as the sharp one.
///
/// Units: `radius_ratio` is edge radius over bore; negative counts as sharp.
/// Sources: as [`sudden_contraction`].
pub fn rounded_entrance(radius_ratio: f64, edge: SharpEdge) -> TwoConstant {
    let r = radius_ratio.max(0.0);
    let k_turbulent = match edge {
        SharpEdge::Crane => interpolate(&CRANE_ROUNDED, r),
        SharpEdge::Rennels if r > 1.0 => 0.03,
        SharpEdge::Rennels => {
            let jet = 1.0 + 0.622 * (1.0 - 0.30 * r.sqrt() - 0.70 * r).powi(4);
            0.0696 * (1.0 - 0.569 * r) * jet * jet + (jet - 1.0) * (jet - 1.0)
        }
    };
    TwoConstant {
        k_laminar: ENTRANCE_K1,
        k_turbulent,
    }
}

/// Crane TP-410, 2009, A-30: `(r/d, K)` of a rounded entrance.
const CRANE_ROUNDED: [(f64, f64); 6] = [
    (0.0, 0.5),
    (0.02, 0.28),
    (0.04, 0.24),
    (0.06, 0.15),
    (0.10, 0.09),
    (0.15, 0.04),
];

/// An exit into a large vessel: the whole velocity head, on the pipe.
///
/// `K = 1` with a laminar part 30/Re, the limit of [`sudden_expansion`]. Source as there.
pub fn exit() -> TwoConstant {
    TwoConstant {
        k_laminar: EXIT_K1,
        k_turbulent: 1.0,
    }
}

/// A sudden step between two bores, either way, on the first bore's velocity head.
///
/// Forward is from the first bore to the second: a contraction or an expansion, whichever it is.
///
/// Units: m. Sources: [`sudden_contraction`], [`sudden_expansion`].
pub fn bore_step(first_bore_m: f64, second_bore_m: f64, edge: SharpEdge) -> Directional {
    let small = first_bore_m.min(second_bore_m);
    let one_way = |from: f64, to: f64| {
        sudden_contraction(from, to, edge)
            .plus(sudden_expansion(from, to))
            .on_bore(small, first_bore_m)
    };
    Directional {
        forward: one_way(first_bore_m, second_bore_m),
        backward: one_way(second_bore_m, first_bore_m),
    }
}

/// A hose barb: contraction into its bore, its length, expansion out; on the hose's velocity head.
///
/// Forward runs from the hose through the barb into `beyond_bore_m` (the hose's own bore for a
/// joiner). The length adds `64 L/d / Re + 0.03 L/d` on the barb's head.
///
/// Units: m. Range: any; a barb as wide as its neighbours costs only its length.
///
/// Source: common practice, no source (steps by [`sudden_contraction`], [`sudden_expansion`]).
///
/// ```
/// use loopwright::correlation::{SharpEdge, barb};
/// let joiner = barb(0.016, 0.013, 0.016, 0.0, SharpEdge::Rennels);
/// assert!((joiner.forward.k_turbulent - 0.754780).abs() < 5e-7);
/// ```
pub fn barb(
    hose_bore_m: f64,
    barb_bore_m: f64,
    beyond_bore_m: f64,
    length_m: f64,
    edge: SharpEdge,
) -> Directional {
    let ratio = length_m.max(0.0) / barb_bore_m;
    let wall = TwoConstant {
        k_laminar: ROUND_LAMINAR * ratio,
        k_turbulent: BARB_FRICTION_FACTOR * ratio,
    };
    let into = bore_step(barb_bore_m, hose_bore_m, edge);
    let out = bore_step(barb_bore_m, beyond_bore_m, edge);
    let on_hose = |loss: TwoConstant| loss.on_bore(barb_bore_m, hose_bore_m);
    Directional {
        forward: on_hose(into.backward.plus(wall).plus(out.forward)),
        backward: on_hose(out.backward.plus(wall).plus(into.forward)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_step_to_the_same_bore_costs_nothing() {
        let step = bore_step(0.016, 0.016, SharpEdge::Rennels);
        assert_eq!(step, Directional::default());
    }

    #[test]
    fn a_vanishing_step_is_continuous() {
        let down = bore_step(0.016, 0.016 * (1.0 - 1e-9), SharpEdge::Rennels);
        assert!(down.forward.k_turbulent < 1e-7 && down.backward.k_turbulent < 1e-7);
    }

    #[test]
    fn a_barb_reversed_swaps_its_coefficients() {
        let there = barb(0.016, 0.013, 0.019, 0.02, SharpEdge::Rennels);
        let back = barb(0.019, 0.013, 0.016, 0.02, SharpEdge::Rennels);
        let moved = back.backward.on_bore(0.019, 0.016);
        assert!((there.forward.k_turbulent / moved.k_turbulent - 1.0).abs() < 1e-13);
        assert!((there.forward.k_laminar / moved.k_laminar - 1.0).abs() < 1e-13);
        assert!(there.forward.k_turbulent != there.backward.k_turbulent);
    }

    #[test]
    fn a_step_names_the_same_loss_from_either_side() {
        let a = bore_step(0.016, 0.010, SharpEdge::Crane);
        let b = bore_step(0.010, 0.016, SharpEdge::Crane);
        let moved = b.backward.on_bore(0.010, 0.016);
        assert!((a.forward.k_turbulent / moved.k_turbulent - 1.0).abs() < 1e-13);
        assert!((a.forward.k_laminar / moved.k_laminar - 1.0).abs() < 1e-13);
    }

    #[test]
    fn the_sharp_entrance_is_the_limit_of_the_contraction() {
        for edge in [SharpEdge::Rennels, SharpEdge::Crane] {
            let limit = sudden_contraction(1e3, 1e-3, edge).k_turbulent;
            assert!((sharp_entrance(edge).k_turbulent - limit).abs() < 1e-11);
        }
    }
}
