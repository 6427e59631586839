//! What a part does to the heat of the stream that passes it.

use super::super::exchange::{
    CoreSides, LinearHeat, hose_heat, limited_exchanger_heat, stream_conductance_w_k,
};
use super::state::HeatState;
use crate::fluid::{Coolant, Properties};
use crate::network::{HeatRole, Loop};
use crate::part::Contact;

/// What the thermal solve is given.
pub struct HeatInput<'a> {
    /// The loop, set to the case.
    pub circuit: &'a Loop,
    /// Mass flow of each branch, kg/s.
    pub flow_kg_s: &'a [f64],
    /// Heat of each pump, W, by the list of machines.
    pub pump_w: &'a [f64],
    /// Makes both sides of the core in this element, given its flow and the coolant's properties there.
    pub sides: &'a dyn Fn(usize, f64, &Properties) -> CoreSides,
}

/// What a part does to the heat of its stream.
pub struct PartHeat {
    /// The heat that the coolant gains, linear in the temperature at which it enters.
    pub heat: LinearHeat,
    /// The body whose heat it is, and the conductance that the stream can use of it, W/K.
    pub body: Option<(usize, f64)>,
}

impl PartHeat {
    fn alone(heat: LinearHeat) -> Self {
        Self { heat, body: None }
    }
}

/// The heat law of an element at a flow and stream, kg/s, whose coolant enters at `inlet_k` and has its properties at the
/// mean of `ends_k`; bodies are at the temperatures of `state`. None where the element carries it along.
pub fn part_heat(
    input: &HeatInput<'_>,
    element: usize,
    (flow_kg_s, stream_kg_s): (f64, f64),
    inlet_k: f64,
    ends_k: (f64, f64),
    state: &HeatState,
) -> Option<PartHeat> {
    let circuit = input.circuit;
    let coolant = &circuit.coolant;
    let mean_k = 0.5 * (ends_k.0 + ends_k.1);
    let mean_cp = || coolant.specific_heat_extended_j_kg_k(mean_k);
    let (body, body_k, contact) = match circuit.net.elements[element].heat {
        HeatRole::Carries => return None,
        HeatRole::Machine(m) => return Some(PartHeat::alone(stated(input.pump_w[m]))),
        HeatRole::Plate(p) if state.plate_k.is_empty() => {
            return Some(PartHeat::alone(stated(circuit.plates[p].heat_w)));
        }
        HeatRole::Core(core) => {
            let properties = coolant.properties_extended(mean_k);
            let sides = (input.sides)(core, flow_kg_s, &properties);
            let cp = |k: f64| coolant.specific_heat_extended_j_kg_k(k);
            return Some(PartHeat::alone(sides.heat(ends_k, stream_kg_s, &cp)));
        }
        HeatRole::Exchanger(x) => {
            let tie = &circuit.exchangers[x];
            let heat = limited_exchanger_heat(tie, stream_kg_s * mean_cp(), inlet_k);
            return Some(PartHeat::alone(heat));
        }
        HeatRole::Hose(h) => {
            let heat = hose_heat(&circuit.hoses[h], stream_kg_s * mean_cp());
            return Some(PartHeat::alone(heat));
        }
        HeatRole::Plate(p) => (
            circuit.modules.len() + p,
            state.plate_k[p],
            circuit.plates[p].contact,
        ),
        HeatRole::Circuit(module) => (
            module,
            state.module_k[module],
            circuit.modules[module].contact,
        ),
    };
    let conductance_w_k = usable_w_k(coolant, &contact, stream_kg_s, mean_k);
    Some(PartHeat {
        heat: LinearHeat {
            constant_w: conductance_w_k * body_k,
            slope_w_k: -conductance_w_k,
        },
        body: Some((body, conductance_w_k)),
    })
}

/// Conductance that a stream can use of what it touches, W/K, with the properties of the coolant at `mean_k`.
pub fn usable_w_k(coolant: &Coolant, contact: &Contact, stream_kg_s: f64, mean_k: f64) -> f64 {
    let (cp, each) = match contact.resistance_of_flow_k_w(stream_kg_s) {
        Some(each) => (coolant.specific_heat_extended_j_kg_k(mean_k), each),
        None => {
            let fluid = coolant.properties_extended(mean_k);
            let each = contact.resistance_k_w(stream_kg_s, &fluid);
            (fluid.specific_heat_j_kg_k, each)
        }
    };
    stream_conductance_w_k(stream_kg_s * cp, each)
}

fn stated(heat_w: f64) -> LinearHeat {
    LinearHeat {
        constant_w: heat_w,
        slope_w_k: 0.0,
    }
}
