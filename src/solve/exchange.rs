//! Heat laws of elements: what a stream at known flow gains between inlet and outlet, with slopes.
//! Effectiveness-NTU for cores and exchangers, the exponential form for modules and plates.

use super::flow::FlowState;
use super::plates::{Plate, TankStreams, with_plates};
use crate::correlation::{core_effectiveness, effectiveness};
use crate::fluid::Properties;
use crate::fluid::air::Air;
use crate::network::{CoreTie, ExchangerTie, HoseLoss, Transfer};
use crate::part::coolant_conductance_w_k;

/// A heat law that is linear in the inlet temperature: `q = constant + slope * T_in` into the coolant.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct LinearHeat {
    /// At 0 K, W.
    pub constant_w: f64,
    /// Over inlet temperature, W/K.
    pub slope_w_k: f64,
}

impl LinearHeat {
    /// Heat into the coolant at an inlet temperature, W.
    pub fn at(self, inlet_k: f64) -> f64 {
        self.constant_w + self.slope_w_k * inlet_k
    }
}

/// Conductance that a stream can use of a part at one temperature: `m cp (1 - exp(-UA/(m cp)))`, W/K.
///
/// Zero resistance gives the whole stream: the part is at the coolant's outlet.
pub fn stream_conductance_w_k(stream_w_k: f64, resistance_k_w: f64) -> f64 {
    if resistance_k_w <= 0.0 || stream_w_k <= 0.0 {
        return stream_w_k.max(0.0);
    }
    -stream_w_k * (-1.0 / (resistance_k_w * stream_w_k)).exp_m1()
}

/// What the air does to one strip of a core.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct StripHeat {
    /// Air mass flow over the strip, forwards positive, kg/s.
    pub air_kg_s: f64,
    /// Temperature at which the air enters, K.
    pub air_inlet_k: f64,
    /// Heat given to the air per kelvin of inlet difference, W/K.
    pub exchange_w_k: f64,
    /// Effectiveness.
    pub effectiveness: f64,
    /// Transfer units.
    pub ntu: f64,
    /// Conductance of the air side, fins included, W/K.
    pub air_side_w_k: f64,
    /// Conductance of this strip's share of the coolant side, W/K.
    pub coolant_side_w_k: f64,
    /// Efficiency of a fin, where fins are known.
    pub fin_efficiency: Option<f64>,
    /// Reynolds number of the air side's correlation, where there is one.
    pub air_reynolds: Option<f64>,
}

/// The strips of a core at a coolant flow; `before_k` is the air before each, `coolant` are the properties at its mean
/// temperature.
pub fn core_strips(
    core: &CoreTie,
    air: &Air,
    before_k: &[f64],
    air_state: &FlowState,
    flow_kg_s: f64,
    coolant: &Properties,
) -> Vec<StripHeat> {
    let inside_w_k =
        coolant_conductance_w_k(&core.conduit, core.dimpled.as_ref(), flow_kg_s, coolant);
    let density = air.properties().density_kg_m3;
    let cp_air = air.properties().specific_heat_j_kg_k;
    core.strips
        .iter()
        .zip(before_k)
        .map(|(strip, &air_inlet_k)| {
            let air_kg_s = air_state.flow_kg_s[strip.branch];
            let face_m_s = air_kg_s.abs() / (density * strip.face_m2);
            let outside = core.air_side.at(face_m_s, strip.face_m2, &air.properties());
            let outside_w_k = outside.conductance_w_k;
            let (c_cool, c_air) = (
                flow_kg_s.abs() * coolant.specific_heat_j_kg_k * strip.share,
                air_kg_s.abs() * cp_air,
            );
            let low = c_cool.min(c_air);
            let sides = StripHeat {
                air_kg_s,
                air_inlet_k,
                air_side_w_k: outside_w_k,
                coolant_side_w_k: inside_w_k * strip.share,
                fin_efficiency: outside.fin_efficiency,
                air_reynolds: outside.reynolds,
                ..StripHeat::default()
            };
            if low <= 0.0 || outside_w_k <= 0.0 || inside_w_k <= 0.0 {
                return sides;
            }
            let conductance = 1.0 / (1.0 / outside_w_k + 1.0 / (inside_w_k * strip.share));
            let ntu = conductance / low;
            let effectiveness = core_effectiveness(core.streams, conductance, c_cool, c_air);
            StripHeat {
                exchange_w_k: effectiveness * low,
                effectiveness,
                ntu,
                ..sides
            }
        })
        .collect()
}

/// Both sides of a core: strips of air, and plates to its neighbours.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct CoreSides {
    /// The strips.
    pub strips: Vec<StripHeat>,
    /// The plates.
    pub plates: Vec<Plate>,
}

impl CoreSides {
    /// The heat law of the core, whose coolant enters and leaves at these temperatures; `cp_j_kg_k` gives its heat
    /// capacity.
    pub fn heat(
        &self,
        ends_k: (f64, f64),
        stream_kg_s: f64,
        cp_j_kg_k: &dyn Fn(f64) -> f64,
    ) -> LinearHeat {
        let core = core_heat(&self.strips);
        if self.plates.is_empty() {
            return core;
        }
        let streams = TankStreams::between(ends_k, stream_kg_s, cp_j_kg_k, &self.plates);
        with_plates(core, streams, &self.plates)
    }
}

/// The heat law of a core from its strips.
pub fn core_heat(strips: &[StripHeat]) -> LinearHeat {
    strips
        .iter()
        .fold(LinearHeat::default(), |sum, s| LinearHeat {
            constant_w: sum.constant_w + s.exchange_w_k * s.air_inlet_k,
            slope_w_k: sum.slope_w_k - s.exchange_w_k,
        })
}

/// Half width of the blend into the heat limit of an exchanger, over the limit (our choice, no source): it keeps the slope
/// continuous.
pub const LIMIT_BLEND: f64 = 0.02;

/// Heat over a limit, and its slope, as a function of the wanted heat over the same limit.
///
/// `u` up to `1 - w`, 1 from `1 + w`, between them `u - (u - 1 + w)^2 / (4 w)`: continuous with its slope.
fn limited(u: f64) -> (f64, f64) {
    let w = LIMIT_BLEND;
    if u <= 1.0 - w {
        (u, 1.0)
    } else if u >= 1.0 + w {
        (1.0, 0.0)
    } else {
        let over = u - 1.0 + w;
        (u - over * over / (4.0 * w), 1.0 - over / (2.0 * w))
    }
}

/// The heat law of an exchanger at the coolant's inlet temperature: as [`exchanger_heat`], and never more out of the coolant
/// than its limit. It is the tangent at that temperature.
pub fn limited_exchanger_heat(tie: &ExchangerTie, stream_w_k: f64, inlet_k: f64) -> LinearHeat {
    let (heat, ..) = exchanger_heat(tie, stream_w_k);
    let wanted_w = -heat.at(inlet_k);
    if !tie.limit_w.is_finite() || wanted_w <= 0.0 {
        return heat;
    }
    let (share, slope) = limited(wanted_w / tie.limit_w);
    let slope_w_k = heat.slope_w_k * slope;
    LinearHeat {
        constant_w: -share * tie.limit_w - slope_w_k * inlet_k,
        slope_w_k,
    }
}

/// The heat law of an exchanger to a fixed stream without regard to its limit, with its effectiveness and transfer units.
pub fn exchanger_heat(tie: &ExchangerTie, stream_w_k: f64) -> (LinearHeat, f64, f64) {
    let (low, high) = (
        stream_w_k.min(tie.stream_w_k),
        stream_w_k.max(tie.stream_w_k),
    );
    if low <= 0.0 {
        return (LinearHeat::default(), 0.0, 0.0);
    }
    let ratio = if high.is_finite() { low / high } else { 0.0 };
    let (effectiveness, ntu) = match tie.transfer {
        Transfer::Conductance(w_k) => {
            let ntu = w_k / low;
            (effectiveness(tie.arrangement, ntu, ratio), ntu)
        }
        Transfer::Effectiveness(stated) => (stated, f64::NAN),
    };
    let exchange = effectiveness * low;
    let heat = LinearHeat {
        constant_w: exchange * tie.stream_temperature_k,
        slope_w_k: -exchange,
    };
    (heat, effectiveness, ntu)
}

/// The heat law of a hose in surroundings of one temperature.
///
/// `q = m cp (1 - exp(-UA/(m cp))) (T_around - T_in)`: the exponential approach of a stream with constant properties
/// along a wall of constant conductance; `cp` is that at the mean of the hose. W/K, K. Any flow above zero; at rest
/// the coolant takes the temperature of its surroundings.
///
/// Source: a textbook identity, one stream past a wall of constant temperature; derived.
pub fn hose_heat(hose: &HoseLoss, stream_w_k: f64) -> LinearHeat {
    let conductance_w_k = stream_conductance_w_k(stream_w_k, 1.0 / hose.conductance_w_k);
    LinearHeat {
        constant_w: conductance_w_k * hose.surroundings_k,
        slope_w_k: -conductance_w_k,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_part_without_resistance_uses_the_whole_stream_and_one_with_much_uses_little() {
        assert_eq!(stream_conductance_w_k(50.0, 0.0), 50.0);
        assert!((stream_conductance_w_k(50.0, 10.0) - 0.0999).abs() < 1e-4);
    }

    /// Analytic: a stream past a wall at constant temperature, 1 - exp(-NTU); a textbook identity.
    #[test]
    fn a_large_fixed_stream_gives_the_single_stream_effectiveness() {
        let tie = ExchangerTie {
            element: 0,
            transfer: Transfer::Conductance(120.0),
            limit_w: f64::INFINITY,
            arrangement: crate::correlation::Arrangement::CounterFlow,
            stream_temperature_k: 290.0,
            stream_w_k: f64::INFINITY,
        };
        let (heat, eps, ntu) = exchanger_heat(&tie, 100.0);
        assert!((ntu - 1.2).abs() < 1e-15 && (eps - (1.0 - (-1.2_f64).exp())).abs() < 1e-12);
        assert!((heat.at(310.0) + eps * 100.0 * 20.0).abs() < 1e-9);
    }

    #[test]
    fn a_heat_limit_is_met_with_a_continuous_slope() {
        let tie = ExchangerTie {
            element: 0,
            transfer: Transfer::Effectiveness(0.5),
            limit_w: 1000.0,
            arrangement: crate::correlation::Arrangement::CounterFlow,
            stream_temperature_k: 280.0,
            stream_w_k: f64::INFINITY,
        };
        // Half of 100 W/K: the limit is reached 20 K above the stream.
        let at = |k: f64| limited_exchanger_heat(&tie, 100.0, k);
        assert!((at(290.0).at(290.0) + 500.0).abs() < 1e-9);
        assert!((at(310.0).at(310.0) + 1000.0).abs() < 1e-9 && at(310.0).slope_w_k == 0.0);
        assert!(at(270.0).at(270.0) > 0.0);
        for k in 0..2000 {
            let t = 299.0 + 1e-3 * f64::from(k);
            let difference = (at(t + 1e-4).at(t + 1e-4) - at(t - 1e-4).at(t - 1e-4)) / 2e-4;
            assert!((difference - at(t).slope_w_k).abs() < 0.02, "{t}");
            assert!(
                (at(t + 1e-3).slope_w_k - at(t).slope_w_k).abs() < 0.1,
                "{t}"
            );
        }
    }
}
