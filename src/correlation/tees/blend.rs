//! The whole tee: six patterns joined into one function of the flows with a continuous slope.
//!
//! Each pattern is a homogeneous quadratic on its own sector of flow directions. Where one leg comes
//! to rest and turns, the two neighbouring patterns are mixed by a cubic weight, in every leg's loss.

use super::pattern::{Pressures, Sense, TeePattern, pressures};
use super::shape::{TeeLeg, TeeModel, TeeShape};

/// Half-width of the blend where an end of the run comes to rest, as a share of the largest flow.
///
/// The patterns with the side leg as datum do not meet their neighbours in value (their losses are an
/// extension), so the blend is as wide as a flow share that no builder would measure: 5 %.
/// Chosen here, no source.
pub const ARM_BLEND_SHARE: f64 = 0.05;

/// Half-width of the blend where the side leg comes to rest, as a share of the largest flow.
///
/// Here the neighbours meet in value and differ in slope only, and a header of many branches lives
/// close by: the first of N laterals takes 1/N. A blend of 5 % would mix the laws of a combining
/// run into every tee of a header of more than twenty branches, so that it would not tend to the
/// momentum equation. At 0.5 % headers of up to 200 branches see the pure laws.
pub const SIDE_BLEND_SHARE: f64 = 0.005;

/// The total pressures of a tee for three flows, and how they change with them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TeeState {
    /// Total pressure at `[a, b, side]` above the tee's reference pressure, Pa. The reference is the
    /// datum's total pressure (blended like the rest): only differences carry meaning.
    pub excess_pa: [f64; 3],
    /// `slope[i][j]` = d `excess_pa[i]` / d flow j, Pa s/kg, the three flows taken as independent.
    pub slope: [[f64; 3]; 3],
    /// Which way the tee flows.
    pub pattern: TeePattern,
}

impl TeeState {
    /// No flow: no pressures, no slopes.
    pub const AT_REST: Self = Self {
        excess_pa: [0.0; 3],
        slope: [[0.0; 3]; 3],
        pattern: TeePattern::AtRest,
    };
}

/// The total pressures at the three legs of a tee.
///
/// Dividing: `p_datum - p_i = K_i rho v_datum^2 / 2`; combining: `p_i - p_datum` is that. The datum is
/// the leg that carries the whole flow, every velocity is on its leg's own area.
///
/// `flows_kg_s` are the flows INTO the tee at `[a, b, side]`. They are first projected onto the plane
/// of zero sum (their mean is taken off), and `slope` includes that projection: each of its rows sums to
/// zero. Pressures in Pa, slopes in Pa s/kg.
///
/// The six patterns meet in cubic blends ([`ARM_BLEND_SHARE`], [`SIDE_BLEND_SHARE`]), so pressures and
/// slopes are continuous over every reversal; `excess_pa` scales with the square of the flows.
/// With the side leg at rest, a run of equal areas loses exactly nothing and the side leg sees the
/// run's static pressure (handbook, b2 above 0.35: 0.95 velocity heads below the run's total pressure, halfway
/// between its two patterns). At zero flow pressures and slopes are exactly zero; no linear term is
/// added, since the lines that meet at a tee carry their own finite slope.
///
/// Losses may be negative and may fall with flow: nothing is clamped. Over all flows a square momentum
/// tee of equal ends gives out power only inside the side leg's blend, at most 7e-5 of the datum's head
/// (measured in `tests/reference/tees/laws.rs`). Run legs of unequal area lose a
/// sudden change of section in addition. Where the side leg is the datum, momentum and handbook take
/// `K = 1 + x^2 - 2 x cos(3 theta / 4)`, `x = v_end / v_side`, `theta` the turning of that end's flow (an
/// extension made here, no published check); coefficients take what their lateral costs with the other end at rest.
///
/// Range: areas and density above zero, finite flows; call [`tee_check`](super::tee_check) once. The
/// handbook model ignores the angle unless the side leg is the datum. Flows that are not finite give
/// pressures that are not.
///
/// Source: see the coefficient functions of each model; the blends are chosen here.
///
/// ```
/// use loopwright::correlation::tees::{TeeModel, TeeShape, tee};
/// let shape = TeeShape {
///     a_area_m2: 1.0, b_area_m2: 1.0, side_area_m2: 1.0,
///     angle_rad: core::f64::consts::FRAC_PI_2,
/// };
/// // Half of the flow leaves by the side: K = 0.8673165676 there and 0 along the run.
/// let state = tee(TeeModel::Momentum, &shape, 2.0, [1.0, -0.5, -0.5]);
/// let head_pa = 0.25; // rho v^2 / 2 with v = 1 / (2 * 1)
/// let k = (state.excess_pa[0] - state.excess_pa[2]) / head_pa;
/// assert!((k - 0.8673165676).abs() < 5e-11);
/// assert_eq!(state.excess_pa[0], state.excess_pa[1]);
/// ```
#[must_use]
pub fn tee(
    model: TeeModel,
    shape: &TeeShape,
    density_kg_m3: f64,
    flows_kg_s: [f64; 3],
) -> TeeState {
    tee_eased(model, shape, density_kg_m3, flows_kg_s, 0.0)
}

/// [`tee`] with no blend narrower than `least_band`, 0 to 0.5 of the largest flow: not a law, but a smoother way to one.
///
/// A solver that cannot step over the rim between two patterns goes by wider blends to the ones that hold.
#[must_use]
pub fn tee_eased(
    model: TeeModel,
    shape: &TeeShape,
    density_kg_m3: f64,
    flows_kg_s: [f64; 3],
    least_band: f64,
) -> TeeState {
    let mean = (flows_kg_s[0] + flows_kg_s[1] + flows_kg_s[2]) / 3.0;
    let inflow = flows_kg_s.map(|flow| flow - mean);
    let (least, datum) = least_and_datum(&inflow);
    let largest = inflow[datum.index()].abs();
    if largest == 0.0 {
        return TeeState::AT_REST;
    }
    let band = match least {
        TeeLeg::Side => SIDE_BLEND_SHARE,
        TeeLeg::A | TeeLeg::B => ARM_BLEND_SHARE,
    };
    let band = band.max(least_band);
    let small = inflow[least.index()];
    let one = |sense, leg| pressures(model, shape, density_kg_m3, sense, leg, inflow);
    let (mixed, pattern) = if small.abs() < band * largest {
        let (from, into) = from_and_into(&inflow, least);
        let dividing = one(Sense::Dividing, from);
        let combining = one(Sense::Combining, into);
        let weight = Weight::new(&inflow, least, datum, band);
        let pattern = TeePattern::Between { from, into };
        (blend(&dividing, &combining, &weight), pattern)
    } else if inflow[datum.index()] > 0.0 {
        (one(Sense::Dividing, datum), TeePattern::Dividing(datum))
    } else {
        (one(Sense::Combining, datum), TeePattern::Combining(datum))
    };
    if model == TeeModel::Lossless {
        return TeeState {
            pattern,
            ..TeeState::AT_REST
        };
    }
    TeeState {
        excess_pa: mixed.excess_pa,
        slope: mixed.slope.map(projected),
        pattern,
    }
}

/// The legs with the smallest and the largest flow, either way.
fn least_and_datum(inflow: &[f64; 3]) -> (TeeLeg, TeeLeg) {
    let size = |leg: TeeLeg| inflow[leg.index()].abs();
    let (mut least, mut datum) = (TeeLeg::Side, TeeLeg::A);
    for leg in TeeLeg::ALL {
        if size(leg) < size(least) {
            least = leg;
        }
        if size(leg) > size(datum) {
            datum = leg;
        }
    }
    (least, datum)
}

/// Of the two legs that are not `least`: the one that flows in, then the one that flows out.
fn from_and_into(inflow: &[f64; 3], least: TeeLeg) -> (TeeLeg, TeeLeg) {
    let (p, q) = match least {
        TeeLeg::A => (TeeLeg::B, TeeLeg::Side),
        TeeLeg::B => (TeeLeg::A, TeeLeg::Side),
        TeeLeg::Side => (TeeLeg::A, TeeLeg::B),
    };
    if inflow[p.index()] > 0.0 {
        (p, q)
    } else {
        (q, p)
    }
}

/// Weight of the combining pattern and its gradient.
struct Weight {
    value: f64,
    gradient: [f64; 3],
}

impl Weight {
    /// Cubic step in `r = small / largest` over `|r| <= band`: 0 with the small leg out, 1 with it in.
    ///
    /// `largest` has a kink where the two main flows are equal, but that is where `small` is zero,
    /// so `r` has a continuous gradient.
    fn new(inflow: &[f64; 3], least: TeeLeg, datum: TeeLeg, band: f64) -> Self {
        let flow = inflow[datum.index()];
        let largest = flow.abs();
        let r = inflow[least.index()] / largest;
        let t = (0.5 * (r / band + 1.0)).clamp(0.0, 1.0);
        let by_r = 3.0 * t * (1.0 - t) / band;
        let mut gradient = [0.0; 3];
        gradient[least.index()] = by_r / largest;
        gradient[datum.index()] = -by_r * r / flow;
        Self {
            value: t * t * (3.0 - 2.0 * t),
            gradient,
        }
    }
}

/// Two patterns mixed, with the derivative of the weight.
fn blend(dividing: &Pressures, combining: &Pressures, weight: &Weight) -> Pressures {
    let mut out = Pressures::default();
    let w = weight.value;
    for i in 0..3 {
        let (low, high) = (dividing.excess_pa[i], combining.excess_pa[i]);
        out.excess_pa[i] = (1.0 - w) * low + w * high;
        for j in 0..3 {
            out.slope[i][j] = (1.0 - w) * dividing.slope[i][j]
                + w * combining.slope[i][j]
                + weight.gradient[j] * (high - low);
        }
    }
    out
}

/// A gradient by three projected flows, as a gradient by the flows before projection.
fn projected(gradient: [f64; 3]) -> [f64; 3] {
    let mean = (gradient[0] + gradient[1] + gradient[2]) / 3.0;
    gradient.map(|g| g - mean)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rest_is_exactly_rest_and_lossless_is_exactly_lossless() {
        let shape = TeeShape {
            a_area_m2: 2e-4,
            b_area_m2: 3e-4,
            side_area_m2: 1e-4,
            angle_rad: 1.0,
        };
        assert_eq!(
            tee(TeeModel::Momentum, &shape, 1000.0, [0.0; 3]),
            TeeState::AT_REST
        );
        // The same inflow everywhere has no zero-sum part.
        assert_eq!(
            tee(TeeModel::Momentum, &shape, 1000.0, [0.25; 3]),
            TeeState::AT_REST
        );
        let state = tee(TeeModel::Lossless, &shape, 1000.0, [0.3, -0.1, -0.2]);
        assert_eq!(state.pattern, TeePattern::Dividing(TeeLeg::A));
        assert_eq!((state.excess_pa, state.slope), ([0.0; 3], [[0.0; 3]; 3]));
    }

    #[test]
    fn a_blend_that_is_wider_keeps_exact_slopes_and_no_width_is_the_law() {
        let shape = TeeShape {
            a_area_m2: 2e-4,
            b_area_m2: 3e-4,
            side_area_m2: 1e-4,
            angle_rad: 1.0,
        };
        for flows in [[0.3, -0.26, -0.04], [0.1, 0.2, -0.3], [-0.3, 0.4, -0.1]] {
            for model in [TeeModel::Momentum, TeeModel::Handbook] {
                let at = |flows, band| tee_eased(model, &shape, 1000.0, flows, band);
                assert_eq!(tee(model, &shape, 1000.0, flows), at(flows, 0.0));
                let state = at(flows, 0.5);
                for j in 0..3 {
                    let step = 1e-6;
                    let (mut up, mut down) = (flows, flows);
                    up[j] += step;
                    down[j] -= step;
                    let (up, down) = (at(up, 0.5), at(down, 0.5));
                    for i in 0..3 {
                        let slope = (up.excess_pa[i] - down.excess_pa[i]) / (2.0 * step);
                        let given = state.slope[i][j];
                        assert!((slope - given).abs() < 1e-5 * (1.0 + given.abs()));
                    }
                }
            }
        }
    }

    #[test]
    fn tiny_flows_give_no_nan() {
        let shape = TeeShape {
            a_area_m2: 2e-4,
            b_area_m2: 2e-4,
            side_area_m2: 1e-4,
            angle_rad: core::f64::consts::FRAC_PI_2,
        };
        for flow in [1e-3, 1e-160, 1e-300, 5e-324] {
            for model in [TeeModel::Momentum, TeeModel::Handbook] {
                for flows in [[flow, -flow, 0.0], [flow, 0.0, -flow], [0.0, flow, flow]] {
                    let state = tee(model, &shape, 1000.0, flows);
                    let all = state.slope.iter().flatten().chain(&state.excess_pa);
                    assert!(all.into_iter().all(|x| x.is_finite()), "{flows:?}");
                }
            }
        }
    }
}
