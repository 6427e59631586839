//! Views of a solved case that concern a whole loop: its hottest coolant, its margin to boiling, its thermostats.

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
    /// Temperature of the coolant that enters it, K.
    pub inlet_temperature_k: f64,
    /// Share of the full flow coefficient.
    pub opening: f64,
    /// Temperature at which it begins to open, K.
    pub opens_k: f64,
    /// Temperature at which it is fully open, K.
    pub fully_open_k: f64,
}

impl Solution<'_> {
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
            id: state.circuit.net.elements[t.element].id.to_string(),
            inlet_temperature_k: state.heat.upstream_k[t.element],
            opening: t.opening,
            opens_k: t.lift.opens_k,
            fully_open_k: t.lift.fully_open_k,
        })
        .collect()
    }
}
