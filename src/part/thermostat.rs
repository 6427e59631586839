//! Thermostats: an inline valve whose opening follows the temperature of the coolant that enters it, and a three-way valve
//! that mixes a radiator branch and a bypass. What they do to the flow of a loop is found in `solve`; hysteresis and the lag
//! of the wax are not modelled.

use super::devices::full_quadratic;
use super::drop::valve_law;
use super::law::TwoTerm;
use super::record::{point_part, two_end_part};
use crate::quantity::{Temperature, VolumeFlow};

/// Share of the full flow coefficient that a shut thermostat lets through: the jiggle pin and the seat (common practice,
/// no source).
const SHUT_SHARE: f64 = 0.02;

two_end_part! {
    /// Thermostat: shut when cold but for a leak, opening with the temperature of the coolant at its inlet.
    pub struct Thermostat {
        /// Coolant temperature at which it begins to open.
        pub opens_at: Temperature,
        /// Coolant temperature at which it is fully open, above `opens_at`.
        pub fully_open_at: Temperature,
        /// Flow of water in m3/h at a drop of 1 bar, fully open, written as a flow.
        #[cfg_attr(test, schemars(extend("x-above" = 0)))]
        pub kv: Option<VolumeFlow>,
        /// Flow of water in US gallons per minute at 1 psi, fully open, written as a flow.
        #[cfg_attr(test, schemars(extend("x-above" = 0)))]
        pub cv: Option<VolumeFlow>,
        /// Share of the full flow coefficient that is left when it is shut (default 0.02).
        #[cfg_attr(test, schemars(range(min = 0.001, max = 1.0)))]
        pub leak: Option<f64>,
    }
}

/// The three ends of a mixing thermostat.
pub const MIXING_ENDS: [&str; 3] = ["radiator", "bypass", "mixed"];

point_part! {
    /// Mixing thermostat: as the coolant at its `mixed` end warms, the way from the `radiator` opens and that of the `bypass`
    /// shuts.
    pub struct MixingThermostat {
        /// Coolant temperature at which the radiator's way begins to open and the bypass to shut.
        pub opens_at: Temperature,
        /// Coolant temperature at which the radiator's way is fully open and the bypass shut, above `opens_at`.
        pub fully_open_at: Temperature,
        /// Flow of water in m3/h at a drop of 1 bar through either way fully open, written as a flow.
        #[cfg_attr(test, schemars(extend("x-above" = 0)))]
        pub kv: Option<VolumeFlow>,
        /// Flow of water in US gallons per minute at 1 psi through either way fully open, written as a flow.
        #[cfg_attr(test, schemars(extend("x-above" = 0)))]
        pub cv: Option<VolumeFlow>,
        /// The same as `kv` of the bypass way alone, where it differs.
        #[cfg_attr(test, schemars(extend("x-above" = 0)))]
        pub bypass_kv: Option<VolumeFlow>,
        /// Share of the full flow coefficient that is left in the way that is shut (default 0.02).
        #[cfg_attr(test, schemars(range(min = 0.001, max = 1.0)))]
        pub leak: Option<f64>,
    }
}

impl MixingThermostat {
    /// The lift of the radiator's way, and the quadratic coefficient of the bypass fully open, 1/m4.
    ///
    /// # Errors
    /// As [`Thermostat::lift`].
    pub fn lift(&self) -> Result<(Lift, f64), String> {
        let lift = lift(
            (self.opens_at, self.fully_open_at),
            (self.kv, self.cv),
            self.leak,
        )?;
        let bypass = match self.bypass_kv {
            Some(kv) => full_quadratic(Some(kv), None)?,
            None => lift.full_1_m4,
        };
        Ok((lift, bypass))
    }
}

/// How far a thermostat is open at a temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lift {
    /// Temperature at which it begins to open, K.
    pub opens_k: f64,
    /// Temperature at which it is fully open, K.
    pub fully_open_k: f64,
    /// Share of the full flow coefficient when shut.
    pub leak: f64,
    /// Quadratic coefficient fully open, 1/m4.
    pub full_1_m4: f64,
}

impl Lift {
    /// Share of the full flow coefficient at a coolant temperature.
    ///
    /// `leak + (1 - leak) (3 x^2 - 2 x^3)`, `x = (T - T_opens) / (T_full - T_opens)` held to 0 and 1: the lift of a wax
    /// element as a cubic with level ends, so that the slope is continuous.
    ///
    /// K; below and above the two temperatures it is held. Common practice, no source: makers print the two
    /// temperatures and not the path between them, and a real element opens some kelvin later than it shuts.
    ///
    /// ```
    /// use loopwright::part::Lift;
    /// let lift = Lift { opens_k: 355.0, fully_open_k: 365.0, leak: 0.02, full_1_m4: 1e9 };
    /// assert_eq!((lift.opening(350.0), lift.opening(370.0)), (0.02, 1.0));
    /// assert!((lift.opening(360.0) - 0.51).abs() < 1e-12);
    /// ```
    pub fn opening(&self, inlet_k: f64) -> f64 {
        let x = ((inlet_k - self.opens_k) / (self.fully_open_k - self.opens_k)).clamp(0.0, 1.0);
        self.leak + (1.0 - self.leak) * x * x * (3.0 - 2.0 * x)
    }

    /// Share of the full flow coefficient of the other way of a mixing valve, when the first is open by `opening`:
    /// `1 + leak - opening`, so that one is shut but for its leak where the other is fully open.
    pub fn complement(&self, opening: f64) -> f64 {
        1.0 + self.leak - opening
    }

    /// The loss at an opening.
    pub fn law(&self, opening: f64) -> TwoTerm {
        valve_law(self.full_1_m4 / (opening * opening))
    }
}

impl Thermostat {
    /// Its lift.
    ///
    /// # Errors
    /// A sentence when the temperatures do not rise, or when neither or both of `kv` and `cv` are given.
    pub fn lift(&self) -> Result<Lift, String> {
        lift(
            (self.opens_at, self.fully_open_at),
            (self.kv, self.cv),
            self.leak,
        )
    }
}

fn lift(
    (opens_at, fully_open_at): (Temperature, Temperature),
    (kv, cv): (Option<VolumeFlow>, Option<VolumeFlow>),
    leak: Option<f64>,
) -> Result<Lift, String> {
    if fully_open_at.k() <= opens_at.k() {
        return Err(format!(
            "cannot open from {opens_at} to {fully_open_at} because a thermostat opens as the coolant warms: `fully_open_at` must be above `opens_at`; try swapping them"
        ));
    }
    Ok(Lift {
        opens_k: opens_at.k(),
        fully_open_k: fully_open_at.k(),
        leak: leak.unwrap_or(SHUT_SHARE),
        full_1_m4: full_quadratic(kv, cv)?,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_lift_rises_with_a_continuous_slope() {
        let lift = Lift {
            opens_k: 350.0,
            fully_open_k: 360.0,
            leak: 0.05,
            full_1_m4: 1e9,
        };
        let (step, mut last, mut slope) = (1e-3, lift.opening(348.0), 0.0);
        for k in 1..14_000 {
            let now = lift.opening(348.0 + f64::from(k) * step);
            let rise = (now - last) / step;
            assert!(
                rise >= 0.0 && (rise - slope).abs() < 1e-4,
                "{k}: {rise} {slope}"
            );
            (last, slope) = (now, rise);
        }
        assert_eq!(last, 1.0);
    }

    #[test]
    fn half_open_costs_four_times_the_loss() {
        let lift = Lift {
            opens_k: 350.0,
            fully_open_k: 360.0,
            leak: 0.02,
            full_1_m4: 1e9,
        };
        assert!((lift.law(0.5).b / lift.law(1.0).b - 4.0).abs() < 1e-12);
    }
}
