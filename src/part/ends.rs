//! The parts that are one point of a loop: expansion tank, open end, joint and draw. Any number of runs meet there.

use super::record::point_part;
use crate::quantity::{GaugePressure, Pressure, Temperature, Volume, VolumeFlow};

point_part! {
    /// Expansion tank: it sets the pressure of its loop and takes up the growth of the coolant. One in a closed loop.
    pub struct ExpansionTank {
        /// Gauge pressure of the air above the coolant (default 0 kPa: a vented or cold tank).
        pub gauge_pressure: Option<GaugePressure>,
        /// Gauge pressure at which the cap opens.
        #[cfg_attr(test, schemars(extend("x-above" = 0)))]
        pub cap_pressure: Option<GaugePressure>,
        /// Whole inside volume of the tank.
        #[cfg_attr(test, schemars(extend("x-above" = 0)))]
        pub volume: Option<Volume>,
    }
}

point_part! {
    /// Open end: a place of stated pressure where coolant may enter or leave, such as a bucket or the mains.
    pub struct OpenEnd {
        /// Pressure there, gauge unless its unit says `abs` (default 0 kPa gauge).
        pub pressure: Option<Pressure>,
        /// Temperature of coolant that enters there (default: the air temperature of the case).
        pub temperature: Option<Temperature>,
    }
}

point_part! {
    /// Joint: a lossless meeting point of any number of runs.
    pub struct Joint {
    }
}

point_part! {
    /// Draw: a meeting point where a stated flow leaves the loop (`outflow`) or enters it (`inflow`).
    pub struct Draw {
        /// Flow that leaves here.
        #[cfg_attr(test, schemars(extend("x-at-least" = 0)))]
        pub outflow: Option<VolumeFlow>,
        /// Flow that enters here.
        #[cfg_attr(test, schemars(extend("x-at-least" = 0)))]
        pub inflow: Option<VolumeFlow>,
        /// Temperature of what enters (default: the air temperature of the case).
        pub temperature: Option<Temperature>,
    }
}
