//! The six flow patterns of a tee and the total pressures of each, with their slopes.
//!
//! One pattern at a time; joining neighbours is the work of `blend`.

use super::loss::{Flows, Law, RunDatum};
use super::shape::{TeeLeg, TeeModel, TeeShape};
use super::{coefficients, handbook, momentum};

/// Which way a tee flows. The datum is the leg that carries the whole flow.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TeePattern {
    /// No flow in any leg.
    AtRest,
    /// Flow in at the datum, out at the other two.
    Dividing(TeeLeg),
    /// Flow in at two legs, out at the datum.
    Combining(TeeLeg),
    /// One leg near rest: between dividing from one leg and combining into another.
    Between {
        /// The leg the main flow comes in at.
        from: TeeLeg,
        /// The leg it goes out at.
        into: TeeLeg,
    },
}

/// Whether the datum's flow comes in or goes out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Sense {
    /// In at the datum.
    Dividing,
    /// Out at the datum.
    Combining,
}

/// Three total pressures above the datum's, Pa, and their derivatives by the three inflows.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Pressures {
    /// Above the datum's total pressure.
    pub(super) excess_pa: [f64; 3],
    /// `slope[i][j]` = d excess_i / d flow_j.
    pub(super) slope: [[f64; 3]; 3],
}

/// The pressures of one pattern for inflows that sum to zero.
///
/// Flows a little outside the pattern are allowed: the laws continue as they stand.
pub(super) fn pressures(
    model: TeeModel,
    shape: &TeeShape,
    density_kg_m3: f64,
    sense: Sense,
    datum: TeeLeg,
    inflow: [f64; 3],
) -> Pressures {
    let mut out = Pressures::default();
    // Positive inflow is positive flow of a dividing datum and of the legs that combine into one.
    let sign = match sense {
        Sense::Dividing => 1.0,
        Sense::Combining => -1.0,
    };
    let area = shape.area_m2(datum);
    let head_per_flow2 = 0.5 / (density_kg_m3 * area * area);
    let d = datum.index();
    for (leg, third, law) in laws(model, shape, sense, datum) {
        let (i, o) = (leg.index(), third.index());
        let loss = law.loss(Flows {
            datum: sign * inflow[d],
            own: -sign * inflow[i],
            other: -sign * inflow[o],
        });
        // Dividing: the leg lies below the datum by the loss; combining: above it.
        out.excess_pa[i] = -sign * head_per_flow2 * loss.value;
        out.slope[i][d] = -head_per_flow2 * loss.by_datum;
        out.slope[i][i] = head_per_flow2 * loss.by_own;
        out.slope[i][o] = head_per_flow2 * loss.by_other;
    }
    out
}

/// For each of the two legs that are not the datum: the leg, the third leg, and its law.
fn laws(
    model: TeeModel,
    shape: &TeeShape,
    sense: Sense,
    datum: TeeLeg,
) -> [(TeeLeg, TeeLeg, Law); 2] {
    let run = match datum {
        TeeLeg::A => TeeLeg::B,
        TeeLeg::B => TeeLeg::A,
        TeeLeg::Side => return lateral_datum(model, shape, sense),
    };
    let datum_area = shape.area_m2(datum);
    // Dividing, the lateral's flow turns off the datum's inflow; combining, it turns onto the
    // datum's outflow, as flow between the datum and the side does either way.
    let tee = RunDatum {
        over_run: datum_area / shape.area_m2(run),
        over_side: datum_area / shape.side_area_m2,
        theta_rad: shape.turning_rad(datum),
    };
    let (run_law, side_law) = match (model, sense) {
        (TeeModel::Handbook, Sense::Dividing) => handbook::dividing(&tee),
        (TeeModel::Handbook, Sense::Combining) => handbook::combining(&tee),
        (TeeModel::Coefficients { dividing, .. }, Sense::Dividing) => {
            coefficients::dividing(&tee, dividing)
        }
        (TeeModel::Coefficients { combining, .. }, Sense::Combining) => {
            coefficients::combining(&tee, combining)
        }
        (TeeModel::Momentum | TeeModel::Lossless, Sense::Dividing) => momentum::dividing(&tee),
        (TeeModel::Momentum | TeeModel::Lossless, Sense::Combining) => momentum::combining(&tee),
    };
    [(run, TeeLeg::Side, run_law), (TeeLeg::Side, run, side_law)]
}

/// The laws of both ends of the run when the side leg carries the whole flow.
fn lateral_datum(model: TeeModel, shape: &TeeShape, sense: Sense) -> [(TeeLeg, TeeLeg, Law); 2] {
    let law = |end: TeeLeg| {
        let over = shape.side_area_m2 / shape.area_m2(end);
        match (model, sense) {
            (TeeModel::Coefficients { combining, .. }, Sense::Dividing) => {
                coefficients::lateral_datum(over, 0.5 * combining - 1.0)
            }
            (TeeModel::Coefficients { dividing, .. }, Sense::Combining) => {
                coefficients::lateral_datum(over, 1.0 - 0.5 * dividing)
            }
            _ => momentum::turning(over, shape.turning_rad(end)),
        }
    };
    [
        (TeeLeg::A, TeeLeg::B, law(TeeLeg::A)),
        (TeeLeg::B, TeeLeg::A, law(TeeLeg::B)),
    ]
}
