//! Two-end parts with a stated law: plate, heater, restrictor, valve, check valve and exchanger to a stream of fixed temperature.

use super::contact::{Channel, ThermalTest};
use super::drop::{GPM_M3_S, PressureDrop, valve_law};
use super::heat_table::Load;
use super::law::TwoTerm;
use super::record::two_end_part;
use crate::correlation::{orifice, valve};
use crate::quantity::{
    Length, Mass, Power, PressureDifference, SpecificHeat, Temperature, ThermalConductance,
    ThermalResistance, Volume, VolumeFlow,
};
use serde::{Deserialize, Serialize};

two_end_part! {
    /// Plate: a device that heats the coolant and has a measured pressure drop (inverter, charger, motor jacket).
    pub struct Plate {
        /// Its pressure drop.
        pub pressure_drop: PressureDrop,
        /// Heat it gives to the coolant (a case may override it).
        pub heat: Option<Power>,
        /// Pairs of load and heat, rising, in place of `heat`; the load is that of the case.
        #[cfg_attr(test, schemars(length(min = 1, max = 1000)))]
        pub heat_over_load: Option<Vec<(Load, Power)>>,
        /// Kelvin between the device and the coolant per watt; without it the device is taken at the coolant's outlet.
        #[cfg_attr(test, schemars(extend("x-at-least" = 0)))]
        pub thermal_resistance: Option<ThermalResistance>,
        /// One measured point of the device, in place of `thermal_resistance`.
        pub thermal_test: Option<ThermalTest>,
        /// Its coolant channels, in place of `thermal_resistance`.
        pub channel: Option<Channel>,
        /// Mass of the device.
        #[cfg_attr(test, schemars(extend("x-above" = 0)))]
        pub mass: Option<Mass>,
        /// Heat capacity of the device per mass.
        #[cfg_attr(test, schemars(extend("x-above" = 0)))]
        pub specific_heat: Option<SpecificHeat>,
        /// Coolant it holds.
        #[cfg_attr(test, schemars(extend("x-at-least" = 0)))]
        pub coolant_volume: Option<Volume>,
    }
}

two_end_part! {
    /// Heater: it gives a stated heat to the coolant.
    pub struct Heater {
        /// Its pressure drop.
        pub pressure_drop: PressureDrop,
        /// Heat it gives to the coolant (a case may override it).
        #[cfg_attr(test, schemars(extend("x-at-least" = 0)))]
        pub heat: Option<Power>,
        /// Coolant it holds.
        #[cfg_attr(test, schemars(extend("x-at-least" = 0)))]
        pub coolant_volume: Option<Volume>,
    }
}

two_end_part! {
    /// Restrictor: a drilled orifice in a pipe.
    pub struct Restrictor {
        /// Diameter of the hole.
        #[cfg_attr(test, schemars(extend("x-above" = 0)))]
        pub bore: Length,
        /// Inside diameter of the pipe on both sides.
        #[cfg_attr(test, schemars(extend("x-above" = 0)))]
        pub pipe_bore: Length,
        /// Length of the hole, the thickness of the disc.
        #[cfg_attr(test, schemars(extend("x-above" = 0)))]
        pub thickness: Length,
    }
}

impl Restrictor {
    /// The loss of the orifice.
    ///
    /// # Errors
    /// A sentence when the hole is not smaller than the pipe.
    pub fn lower(&self) -> Result<TwoTerm, String> {
        let pipe = self.pipe_bore.m();
        if self.bore.m() > pipe {
            return Err(format!(
                "cannot restrict a pipe of {} with a hole of {}; try a hole smaller than the pipe",
                self.pipe_bore, self.bore
            ));
        }
        let loss = orifice::restrictor_loss(self.bore.m(), pipe, self.thickness.m());
        let area = 0.25 * std::f64::consts::PI * pipe * pipe;
        Ok(TwoTerm::on_bore(
            loss.k_laminar,
            loss.k_turbulent,
            loss.k_turbulent,
            pipe,
            area,
        ))
    }
}

two_end_part! {
    /// Valve: a flow coefficient and how far it is open.
    pub struct Valve {
        /// Flow of water in m3/h at a drop of 1 bar, fully open, written as a flow.
        #[cfg_attr(test, schemars(extend("x-above" = 0)))]
        pub kv: Option<VolumeFlow>,
        /// Flow of water in US gallons per minute at 1 psi, fully open, written as a flow.
        #[cfg_attr(test, schemars(extend("x-above" = 0)))]
        pub cv: Option<VolumeFlow>,
        /// Share of the full flow coefficient (default 1, 0 is shut).
        #[cfg_attr(test, schemars(range(min = 0.0, max = 1.0)))]
        pub opening: Option<f64>,
    }
}

/// The quadratic coefficient of a valve fully open, 1/m4.
///
/// # Errors
/// A sentence when neither or both of `kv` and `cv` are given.
pub(super) fn full_quadratic(
    kv: Option<VolumeFlow>,
    cv: Option<VolumeFlow>,
) -> Result<f64, String> {
    match (kv, cv) {
        (Some(kv), None) => Ok(valve::quadratic_from_kv(kv.m3_s() * 3600.0)),
        (None, Some(cv)) => Ok(valve::quadratic_from_kv(valve::kv_from_cv(
            cv.m3_s() / GPM_M3_S,
        ))),
        (None, None) => {
            Err("cannot tell the valve's loss because none is given; give `kv` or `cv`".into())
        }
        (Some(_), Some(_)) => Err(
            "cannot tell the valve's loss because both `kv` and `cv` are given; keep one".into(),
        ),
    }
}

impl Valve {
    /// The loss, or `None` when the valve is shut.
    ///
    /// # Errors
    /// A sentence when neither or both of `kv` and `cv` are given.
    pub fn lower(&self) -> Result<Option<TwoTerm>, String> {
        let full = full_quadratic(self.kv, self.cv)?;
        let opening = self.opening.unwrap_or(1.0);
        Ok((opening > 0.0).then(|| valve_law(full / (opening * opening))))
    }
}

two_end_part! {
    /// Check valve: opens at its cracking pressure and lets nothing back.
    pub struct CheckValve {
        /// Pressure drop of the open valve, on top of the cracking pressure.
        pub pressure_drop: PressureDrop,
        /// Pressure difference at which it opens (default 0).
        #[cfg_attr(test, schemars(extend("x-at-least" = 0)))]
        pub cracking_pressure: Option<PressureDifference>,
    }
}

/// How the two streams of an exchanger meet.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum StreamArrangement {
    /// Opposite directions.
    #[default]
    Counterflow,
    /// The same direction.
    ParallelFlow,
    /// Across each other, neither mixed.
    Crossflow,
}

/// The other side of an exchanger.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct FixedStream {
    /// Temperature at which it enters.
    pub temperature: Temperature,
    /// Its coolant, by its name under `coolants` (default: water).
    pub coolant: Option<String>,
    /// Its flow; left out, it is so large that it does not change temperature (sea water on a keel cooler).
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub flow: Option<VolumeFlow>,
}

two_end_part! {
    /// Exchanger to a stream of fixed temperature: chiller, keel cooler, raw water.
    pub struct Exchanger {
        /// Pressure drop on this loop's side.
        pub pressure_drop: PressureDrop,
        /// Overall conductance between the two streams; this or `effectiveness`.
        #[cfg_attr(test, schemars(extend("x-above" = 0)))]
        pub conductance: Option<ThermalConductance>,
        /// Heat over the most that could pass between the two inlets, held at every flow.
        #[cfg_attr(test, schemars(range(min = 0.001, max = 1.0)))]
        pub effectiveness: Option<f64>,
        /// The most heat it can take out of the coolant (a chiller's capacity; default: no limit).
        #[cfg_attr(test, schemars(extend("x-above" = 0)))]
        pub heat_limit: Option<Power>,
        /// The stream on the other side.
        pub stream: FixedStream,
        /// How the streams meet (default counterflow).
        pub arrangement: Option<StreamArrangement>,
        /// Coolant it holds.
        #[cfg_attr(test, schemars(extend("x-at-least" = 0)))]
        pub coolant_volume: Option<Volume>,
    }
}

impl Exchanger {
    /// Its conductance, or else its effectiveness.
    ///
    /// # Errors
    /// A sentence when neither or both are given.
    pub fn transfer(&self) -> Result<(Option<ThermalConductance>, f64), String> {
        match (self.conductance, self.effectiveness) {
            (Some(conductance), None) => Ok((Some(conductance), 1.0)),
            (None, Some(effectiveness)) => Ok((None, effectiveness)),
            (None, None) => Err(
                "cannot tell how much heat passes because none is given; give `conductance` or `effectiveness`"
                    .into(),
            ),
            (Some(_), Some(_)) => Err(
                "cannot tell how much heat passes because both `conductance` and `effectiveness` are given; keep one"
                    .into(),
            ),
        }
    }
}
