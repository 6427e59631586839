//! Views of a solved case that concern a whole loop: its hottest coolant, its margin to boiling, its thermostats.

use super::exchange::exchanger_heat;
use super::solution::Solution;
use super::states::PartState;

/// Where the coolant of a loop comes nearest to boiling.
#[derive(Clone, Debug, PartialEq)]
pub struct BoilingMargin {
    /// The part, at its hotter end.
    pub id: String,
    /// Boiling point at the pressure there less the temperature there, K.
    pub margin_k: f64,
}

/// What was solved for a thermostat.
#[derive(Clone, Debug, PartialEq)]
pub struct ThermostatState {
    /// Name in its loop.
    pub id: String,
    /// Temperature of the coolant that moves it, K: what enters it, or what it mixes.
    pub inlet_temperature_k: f64,
    /// Share of the full flow coefficient; of the radiator's way for a mixing thermostat.
    pub opening: f64,
    /// For a mixing thermostat: share of the full flow coefficient of the bypass.
    pub bypass_opening: Option<f64>,
    /// Temperature at which it begins to open, K.
    pub opens_k: f64,
    /// Temperature at which it is fully open, K.
    pub fully_open_k: f64,
}

/// What was solved for an exchanger to a fixed stream, beyond its part.
#[derive(Clone, Debug, PartialEq)]
pub struct ExchangerState {
    /// Name in its loop.
    pub id: String,
    /// Heat over the most that could pass between the two inlets; none at rest or between equal inlets.
    pub effectiveness: Option<f64>,
    /// Transfer units on the smaller heat capacity flow; none where the effectiveness is stated.
    pub ntu: Option<f64>,
    /// The most heat it takes, W, where it has a limit.
    pub limit_w: Option<f64>,
    /// Temperature at which the other stream enters, K.
    pub stream_temperature_k: f64,
}

impl Solution<'_> {
    /// Exchangers of a loop.
    pub fn exchangers(&self, name: &str) -> Vec<ExchangerState> {
        let Some(state) = self.loop_state(name) else {
            return Vec::new();
        };
        let branches = state.circuit.net.branch_of_elements();
        let each = state.circuit.exchangers.iter();
        each.map(|tie| {
            let e = tie.element;
            let cp = state.fluid.elements[e].specific_heat_j_kg_k;
            let stream_w_k = state.flow.flow_kg_s[branches[e]].abs() * cp;
            let (_, _, ntu) = exchanger_heat(tie, stream_w_k);
            let most_w = stream_w_k.min(tie.stream_w_k)
                * (state.heat.upstream_k[e] - tie.stream_temperature_k);
            let effectiveness = -state.heat.heat_w[e] / most_w;
            ExchangerState {
                id: state.circuit.net.elements[e].id.to_string(),
                effectiveness: (effectiveness.is_finite() && most_w != 0.0)
                    .then_some(effectiveness),
                ntu: (ntu.is_finite() && stream_w_k > 0.0).then_some(ntu),
                limit_w: tie.limit_w.is_finite().then_some(tie.limit_w),
                stream_temperature_k: tie.stream_temperature_k,
            }
        })
        .collect()
    }

    /// The hottest coolant of a loop, K.
    pub fn hottest_k(&self, name: &str) -> Option<f64> {
        let heat = &self.loop_state(name)?.heat;
        let all = (heat.node_k.iter())
            .chain(&heat.upstream_k)
            .chain(&heat.downstream_k);
        Some(all.copied().fold(f64::NEG_INFINITY, f64::max))
    }

    /// Where the coolant of a loop comes nearest to boiling, at the static pressure there.
    pub fn boiling_margin(&self, name: &str) -> Option<BoilingMargin> {
        let coolant = &self.loop_state(name)?.circuit.coolant;
        let ambient = self.case().air.pressure_pa();
        let margin_k = |p: &PartState| {
            let (t, gauge) = if p.outlet_temperature_k >= p.inlet_temperature_k {
                (p.outlet_temperature_k, p.outlet_static_gauge_pa)
            } else {
                (p.inlet_temperature_k, p.inlet_static_gauge_pa)
            };
            coolant.boiling_k((gauge + ambient).max(1.0)) - t
        };
        self.parts(name)
            .iter()
            .map(|p| (p, margin_k(p)))
            .min_by(|a, b| a.1.total_cmp(&b.1))
            .map(|(p, margin_k)| BoilingMargin {
                id: p.id.clone(),
                margin_k,
            })
    }

    /// Thermostats of a loop.
    pub fn thermostats(&self, name: &str) -> Vec<ThermostatState> {
        let Some(state) = self.loop_state(name) else {
            return Vec::new();
        };
        let each = state.circuit.thermostats.iter();
        each.map(|t| ThermostatState {
            id: match t.mixing {
                Some(way) => state.circuit.net.nodes[way.node].id.to_string(),
                None => state.circuit.net.elements[t.element].id.to_string(),
            },
            inlet_temperature_k: state.heat.sensed_k(t),
            opening: t.opening,
            bypass_opening: t.mixing.map(|_| t.lift.complement(t.opening)),
            opens_k: t.lift.opens_k,
            fully_open_k: t.lift.fully_open_k,
        })
        .collect()
    }
}
