//! The path of heat from a module or device into its coolant: one measured point, or the geometry of its channels.
//! A stated resistance needs no record of its own. What the stream makes of the resistance is in `solve/exchange.rs`.

use super::conduit::Section;
use crate::correlation::{DuctSection, SectionShape, WallCondition, duct_nusselt};
use crate::fluid::Properties;
use crate::quantity::{Kind, Length, Power, Temperature, ThermalResistance, VolumeFlow, show_both};
use serde::{Deserialize, Serialize};

/// One measured point of a module or device at rest in temperature: it gives the resistance to the coolant.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct ThermalTest {
    /// The coolant of the test, by its name under `coolants`.
    pub coolant: String,
    /// Temperature of the coolant where it entered.
    pub coolant_inlet: Temperature,
    /// Temperature of the part, above that of the coolant.
    pub part: Temperature,
    /// Heat that went into the coolant.
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub heat: Power,
    /// Coolant flow through the whole part, all circuits together.
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub flow: VolumeFlow,
    /// Scale the resistance with flow to this power, falling (default 0: held). An estimate: the verdict is provisional.
    #[cfg_attr(test, schemars(range(min = 0.0, max = 0.8)))]
    pub flow_exponent: Option<f64>,
}

/// The coolant channels of one circuit of a module or device.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Channel {
    /// Inside of one channel.
    pub section: Section,
    /// Length of one channel along the flow.
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub length: Length,
    /// Equal channels side by side (default 1).
    #[cfg_attr(test, schemars(range(min = 1, max = 10000)))]
    pub count: Option<u32>,
    /// Kelvin per watt between the part and the wall of its channels, of the whole part (default 0).
    #[cfg_attr(test, schemars(extend("x-at-least" = 0)))]
    pub wall_resistance: Option<ThermalResistance>,
}

/// Resistance between a part and its coolant, for one circuit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Contact {
    /// The same at every flow, K/W.
    Held(f64),
    /// Measured at one flow and scaled with it.
    Scaled {
        /// At the flow of the test, K/W.
        resistance_k_w: f64,
        /// Flow of the test, kg/s.
        flow_kg_s: f64,
        /// Power of the flow by which it falls.
        exponent: f64,
    },
    /// From the geometry of channels.
    Channel {
        /// Section of one channel.
        shape: SectionShape,
        /// Length, m.
        length_m: f64,
        /// Channels side by side.
        parallel: f64,
        /// Of the wall in series, K/W.
        wall_k_w: f64,
    },
}

impl Contact {
    /// Resistance at a flow, K/W.
    ///
    /// Held: `R`. Scaled: `R (m0/m)^n`. Channel: `R_wall + 1/(h A)`, `h = Nu k / D_h`, `A` the wetted wall of all
    /// channels, `Nu` by [`duct_nusselt`] at constant wall temperature: laminar with thermal entry, turbulent from
    /// Re 4000, bridged between.
    ///
    /// kg/s, K/W. Any flow; a scaled resistance grows without bound towards no flow, where the stream alone decides.
    /// Continuous slope in flow.
    ///
    /// Source: of `Nu` see there; `m^-n` with n up to 0.8 is the turbulent film of Dittus and Boelter (1930).
    ///
    /// ```
    /// use loopwright::part::Contact;
    /// use loopwright::fluid::Coolant;
    /// let water = Coolant::water().properties(300.0).unwrap();
    /// let film = Contact::Scaled { resistance_k_w: 0.03, flow_kg_s: 0.1, exponent: 0.8 };
    /// assert!((film.resistance_k_w(0.2, &water) - 0.03 * 0.5_f64.powf(0.8)).abs() < 1e-15);
    /// ```
    pub fn resistance_k_w(&self, flow_kg_s: f64, coolant: &Properties) -> f64 {
        match *self {
            Self::Held(_) | Self::Scaled { .. } => self
                .resistance_of_flow_k_w(flow_kg_s)
                .unwrap_or(f64::INFINITY),
            Self::Channel {
                shape,
                length_m,
                parallel,
                wall_k_w,
            } => {
                let diameter_m = shape.hydraulic_diameter_m();
                let reynolds = self.channel_reynolds(flow_kg_s, coolant).unwrap_or(0.0);
                let prandtl = coolant.viscosity_pa_s * coolant.specific_heat_j_kg_k
                    / coolant.conductivity_w_m_k;
                let section = match shape {
                    SectionShape::Round { .. } => DuctSection::Round,
                    _ => DuctSection::Rectangle {
                        aspect: shape.aspect(),
                    },
                };
                let nusselt = duct_nusselt(
                    reynolds,
                    prandtl,
                    section,
                    length_m / diameter_m,
                    WallCondition::Temperature,
                );
                let film_w_m2_k = nusselt.value * coolant.conductivity_w_m_k / diameter_m;
                let wall_m2 = shape.wetted_perimeter_m() * length_m * parallel;
                wall_k_w + 1.0 / (film_w_m2_k * wall_m2)
            }
        }
    }

    /// The same where the coolant has no part in it; none for channels.
    pub fn resistance_of_flow_k_w(&self, flow_kg_s: f64) -> Option<f64> {
        match *self {
            Self::Held(resistance_k_w) => Some(resistance_k_w),
            Self::Scaled {
                resistance_k_w,
                flow_kg_s: at,
                exponent,
            } => {
                let share = flow_kg_s.abs() / at;
                Some(if share > 0.0 {
                    resistance_k_w * share.powf(-exponent)
                } else {
                    f64::INFINITY
                })
            }
            Self::Channel { .. } => None,
        }
    }

    /// Reynolds number in one channel, where channels are given.
    pub fn channel_reynolds(&self, flow_kg_s: f64, coolant: &Properties) -> Option<f64> {
        match self {
            Self::Channel {
                shape, parallel, ..
            } => Some(
                flow_kg_s.abs() * shape.hydraulic_diameter_m()
                    / (shape.area_m2() * parallel * coolant.viscosity_pa_s),
            ),
            _ => None,
        }
    }

    /// Whether the resistance follows the flow.
    pub fn follows_flow(&self) -> bool {
        match self {
            Self::Held(_) => false,
            Self::Scaled { exponent, .. } => *exponent > 0.0,
            Self::Channel { .. } => true,
        }
    }
}

impl ThermalTest {
    /// The contact of one of `circuits` circuits, given the coolant at the inlet temperature of the test.
    ///
    /// `R = -1 / (m cp ln(1 - Q / (m cp (T_part - T_in))))`: the resistance at which a stream past a part of one
    /// temperature takes up the measured heat, the same form as in the solve.
    ///
    /// # Errors
    /// A sentence where the part is not warmer than its coolant, or less above the inlet than the coolant itself warmed.
    pub fn contact(&self, coolant: &Properties, circuits: u32) -> Result<Contact, String> {
        let rise_k = self.part.k() - self.coolant_inlet.k();
        if rise_k <= 0.0 {
            return Err(format!(
                "cannot tell the resistance because the part was at {} and its coolant entered at {}: a part that gives heat is warmer than its coolant; try looking whether the two are swapped",
                self.part, self.coolant_inlet
            ));
        }
        let flow_kg_s = self.flow.m3_s() * coolant.density_kg_m3;
        let stream_w_k = flow_kg_s * coolant.specific_heat_j_kg_k;
        let warming_k = self.heat.w() / stream_w_k;
        let share = warming_k / rise_k;
        if share >= 1.0 {
            return Err(format!(
                "cannot tell the resistance because {} warm {} by {}, and the part stood only {} above the inlet: it cannot be colder than the coolant that leaves it; try measuring heat and flow again",
                self.heat,
                self.flow,
                show_both(Kind::TemperatureDifference, warming_k),
                show_both(Kind::TemperatureDifference, rise_k)
            ));
        }
        let whole_k_w = -1.0 / (stream_w_k * (-share).ln_1p());
        let count = f64::from(circuits);
        let resistance_k_w = whole_k_w * count;
        Ok(match self.flow_exponent {
            Some(exponent) if exponent > 0.0 => Contact::Scaled {
                resistance_k_w,
                flow_kg_s: flow_kg_s / count,
                exponent,
            },
            _ => Contact::Held(resistance_k_w),
        })
    }

    /// Whether the resistance is scaled with flow, which no single point can show.
    pub fn is_scaled(&self) -> bool {
        self.flow_exponent.is_some_and(|n| n > 0.0)
    }
}

impl Channel {
    /// The contact of one of `circuits` circuits.
    ///
    /// # Errors
    /// A sentence where the section has no inside.
    pub fn contact(&self, circuits: u32) -> Result<Contact, String> {
        Ok(Contact::Channel {
            shape: self.section.shape().map_err(|e| e.reason)?,
            length_m: self.length.m(),
            parallel: f64::from(self.count.unwrap_or(1)),
            wall_k_w: self.wall_resistance.map_or(0.0, |r| r.k_w()) * f64::from(circuits),
        })
    }
}

/// The one of three ways in which the path of heat is given; none is a part at the coolant's outlet.
///
/// # Errors
/// A sentence naming the keys that stand against each other.
pub fn one_way(
    stated: Option<ThermalResistance>,
    test: Option<&ThermalTest>,
    channel: Option<&Channel>,
) -> Result<(), String> {
    let given: Vec<&str> = [
        ("`thermal_resistance`", stated.is_some()),
        ("`thermal_test`", test.is_some()),
        ("`channel`", channel.is_some()),
    ]
    .iter()
    .filter(|w| w.1)
    .map(|w| w.0)
    .collect();
    match given.len() {
        0 | 1 => Ok(()),
        _ => Err(format!(
            "cannot tell which path of heat holds because {} are given; keep one",
            given.join(" and ")
        )),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fluid::Coolant;

    fn test(part_c: f64, heat_w: f64) -> ThermalTest {
        ThermalTest {
            coolant: "water".into(),
            coolant_inlet: Temperature::from_celsius(20.0),
            part: Temperature::from_celsius(part_c),
            heat: Power::from_w(heat_w),
            flow: VolumeFlow::from_m3_s(1e-4),
            flow_exponent: None,
        }
    }

    /// By hand, with round properties: 0.1 kg/s and 4000 J/(kg K) make 400 W/K; 400 W warm it by 1 K; a part 2 K above
    /// the inlet has NTU = ln 2, so `R = 1/(400 ln 2)` = 3.6067376 mK/W.
    #[test]
    fn a_measured_point_gives_back_the_resistance_of_the_exponential_form() {
        let round = Properties {
            density_kg_m3: 1000.0,
            specific_heat_j_kg_k: 4000.0,
            ..Coolant::water().properties_extended(293.15)
        };
        let contact = test(22.0, 400.0).contact(&round, 1);
        let got = contact.clone().map(|c| c.resistance_k_w(0.3, &round));
        assert!(
            got.is_ok_and(|r| (r - 3.606_737_602_2e-3).abs() < 1e-12),
            "{contact:?}"
        );
        // Two circuits share the flow: each has twice the resistance of the whole.
        let halves = test(22.0, 400.0).contact(&round, 2);
        assert!(
            halves
                .is_ok_and(|c| (c.resistance_k_w(0.3, &round) - 7.213_475_204_4e-3).abs() < 1e-12)
        );
    }

    #[test]
    fn a_part_colder_than_what_leaves_it_is_refused() {
        let water = Coolant::water().properties_extended(293.15);
        let cold = test(20.5, 400.0).contact(&water, 1);
        assert!(cold.is_err_and(|e| e.contains("colder than the coolant that leaves it")));
        assert!(test(19.0, 400.0).contact(&water, 1).is_err());
    }

    #[test]
    fn the_film_of_a_channel_is_continuous_with_its_slope_over_all_regimes() {
        let water = Coolant::water().properties_extended(313.15);
        let channel = Contact::Channel {
            shape: SectionShape::Rectangle {
                width_m: 8e-3,
                height_m: 2e-3,
            },
            length_m: 0.3,
            parallel: 6.0,
            wall_k_w: 2e-3,
        };
        let at = |m: f64| channel.resistance_k_w(m, &water);
        // From Re 60 to far beyond 4000 in steps of 0.1 %: it falls all the way, and no value jumps.
        let mut m = 1.2e-3;
        for _ in 0..7000 {
            let next = m * 1.001;
            assert!(at(next) <= at(m) && at(next) > 2e-3);
            assert!((at(next) / at(m) - 1.0).abs() < 0.005, "{m}");
            m = next;
        }
        // Where the regimes join, the slopes from both sides agree: the bridge between them bends by 1e-4 over such a step.
        for edge in [2300.0, 4000.0] {
            let m = edge / channel.channel_reynolds(1.0, &water).unwrap_or(f64::NAN);
            let step = 1e-6 * m;
            let (before, after) = (at(m) - at(m - step), at(m + step) - at(m));
            assert!(
                (after / before - 1.0).abs() < 1e-3,
                "{edge}: {before} {after}"
            );
        }
    }
}
