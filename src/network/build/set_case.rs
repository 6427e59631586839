//! A network set to a case.

use crate::network::case::Case;
use crate::network::flow::{FlowNet, NodeKind, Passage};
use crate::network::vehicle::Loop;
use crate::part::{Law, valve_law};

impl Loop {
    /// This loop set to a case: heats, speeds, openings, inflow temperatures.
    pub(crate) fn set_to(&self, index: usize, case: &Case) -> Self {
        let mut set = self.clone();
        let heat_on = case.coolant_temperature_k.is_none();
        for (c, module, heat) in &case.module_heat {
            if *c == index && heat_on {
                set.modules[*module].heat = Some(heat.clone());
            }
        }
        for (c, plate, heat_w) in &case.plate_heat {
            if *c == index {
                set.plates[*plate].heat_w = *heat_w;
            }
        }
        if !heat_on {
            set.plates.iter_mut().for_each(|p| p.heat_w = 0.0);
        }
        for (c, element, speed) in &case.pump_speed {
            if *c == index {
                set_speed(&mut set.net, *element, *speed);
            }
        }
        for (c, element, opening) in &case.valve_opening {
            if *c == index {
                set_opening(&mut set.net, *element, *opening);
            }
        }
        for hose in &mut set.hoses {
            hose.surroundings_k = case.bay_temperature_k;
        }
        for node in &mut set.net.nodes {
            if node.inflow_temperature_k.is_some_and(f64::is_nan) {
                node.inflow_temperature_k = Some(case.air_temperature_k);
            }
        }
        set
    }
}

impl crate::network::vehicle::AirPath {
    /// This air path set to a case: fan speeds and ram pressure.
    pub(crate) fn set_to(&self, index: usize, case: &Case) -> Self {
        let mut set = self.clone();
        for (a, fan, speed) in &case.fan_speed {
            if *a == index {
                set_speed(&mut set.net, set.fans[*fan].element, *speed);
            }
        }
        let ram_pa = self.ram_coefficient
            * 0.5
            * case.air.properties().density_kg_m3
            * case.travel_speed_m_s
            * case.travel_speed_m_s;
        if let NodeKind::Fixed { pressure } = &mut set.net.nodes[set.front].kind {
            *pressure =
                crate::quantity::Pressure::Gauge(crate::quantity::GaugePressure::from_pa(ram_pa));
        }
        set
    }
}

pub(super) fn set_speed(net: &mut FlowNet, element: usize, speed: f64) {
    for law in net.elements[element].laws.clone() {
        if let Law::Machine(machine) = &mut net.laws[law] {
            machine.speed = speed;
        }
    }
}

pub(super) fn set_opening(net: &mut FlowNet, element: usize, opening: f64) {
    for law in net.elements[element].laws.clone() {
        if let Law::TwoTerm(two) = &mut net.laws[law]
            && opening > 0.0
        {
            *two = valve_law(two.b / (opening * opening));
        }
    }
    if opening <= 0.0 {
        for branch in &mut net.branches {
            if branch.elements.contains(&element) {
                branch.passage = Passage::Shut;
            }
        }
    }
}
