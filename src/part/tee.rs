//! Tee: a straight run from `a` to `b` with a side outlet, at any angle and any pair of bores.

use super::record::point_part;
use crate::correlation::tees::{TeeModel, TeeShape};
use crate::quantity::{Angle, Length};
use serde::{Deserialize, Serialize};

/// Which published loss coefficients tees use.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum TeeLosses {
    /// Momentum and energy balances, smooth, any angle and area ratio (the default).
    Momentum,
    /// The printed handbook coefficients of 90 degree tees.
    Handbook,
    /// Plain momentum factors of the straight run, as in the classical theory of headers.
    Coefficients(MomentumFactors),
    /// No loss and no recovery: the same total pressure at all ends.
    None,
}

/// Momentum factors of the classical header theory, on the change of the velocity head of the run.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct MomentumFactors {
    /// Dividing flow: 1 is a lossless run, smaller recovers less.
    #[cfg_attr(test, schemars(range(min = 0.0, max = 3.0)))]
    pub dividing: f64,
    /// Combining flow: 2 conserves momentum with no help from the joining flow.
    #[cfg_attr(test, schemars(range(min = 0.0, max = 4.0)))]
    pub combining: f64,
}

impl TeeLosses {
    /// The model of the correlation room.
    pub fn model(self) -> TeeModel {
        match self {
            Self::Momentum => TeeModel::Momentum,
            Self::Handbook => TeeModel::Handbook,
            Self::Coefficients(f) => TeeModel::Coefficients {
                dividing: f.dividing,
                combining: f.combining,
            },
            Self::None => TeeModel::Lossless,
        }
    }
}

point_part! {
    /// Tee with ends `a` and `b` (straight through) and `side`; flow may run any way.
    pub struct Tee {
        /// Inside diameter of the straight run.
        #[cfg_attr(test, schemars(extend("x-above" = 0)))]
        pub straight_bore: Length,
        /// Inside diameter of the side outlet.
        #[cfg_attr(test, schemars(extend("x-above" = 0)))]
        pub side_bore: Length,
        /// Angle between the side outlet and end `b` (default 90 deg).
        #[cfg_attr(test, schemars(extend("x-above" = 0, "x-below" = std::f64::consts::PI, "x-limit-text" = "greater than 0 deg and less than 180 deg")))]
        pub angle: Option<Angle>,
        /// Loss coefficients of this tee, in place of those of the design.
        pub losses: Option<TeeLosses>,
    }
}

/// The three ends of a tee, in the order of the loss model.
pub const TEE_ENDS: [&str; 3] = ["a", "b", "side"];

impl Tee {
    /// The areas and the angle.
    pub fn shape(&self) -> TeeShape {
        let area = |bore: Length| 0.25 * std::f64::consts::PI * bore.m() * bore.m();
        TeeShape {
            a_area_m2: area(self.straight_bore),
            b_area_m2: area(self.straight_bore),
            side_area_m2: area(self.side_bore),
            angle_rad: self.angle.map_or(std::f64::consts::FRAC_PI_2, |a| a.rad()),
        }
    }
}
