//! Slopes of one element: of its heat over the flow, the coolant at its ends and what it touches, and of its loss.
//!
//! They are exact where a law states them and central differences where not, taken at the answer.

use super::super::couple::sides_of;
use super::super::exchange::{CoreSides, LinearHeat};
use super::super::hydraulic::GRAVITY_M_S2;
use super::super::loop_heat::machine_heat;
use super::super::meeting::Meeting;
use super::super::thermal::{HeatInput, forward_part, part_heat};
use super::chain::{Chain, FLOW};
use super::course::Course;
use super::matrix::{STEP_K, over_kelvin};
use super::vehicle::Vehicle;
use crate::fluid::Properties;
use crate::network::HeatRole;

/// The heat of an element, W, and its slopes, W over kg/s and K.
#[derive(Default)]
pub struct HeatSlopes {
    pub heat_w: f64,
    pub over_flow: f64,
    pub over_inlet: f64,
    pub over_outlet: f64,
}

impl Vehicle<'_> {
    /// The heat of an element with its slopes; those over what it touches go to `chain.touched`, by the places of their
    /// columns from `next` on. None where it carries the coolant along.
    pub fn heat_slopes(
        &self,
        course: &Course,
        e: usize,
        z: &mut [f64],
        chain: &mut Chain,
        next: &mut usize,
    ) -> Option<HeatSlopes> {
        chain.touched.clear();
        let heat_w = self.heats[course.l].heat_w[e];
        let role = self.circuits[course.l].net.elements[e].heat;
        match role {
            HeatRole::Carries => return None,
            HeatRole::Plate(_) => {
                return Some(HeatSlopes {
                    heat_w,
                    ..HeatSlopes::default()
                });
            }
            _ => {}
        }
        let (inlet_k, outlet_k) = self.heats[course.l].ends_k(e);
        let ends_k = (inlet_k, outlet_k);
        let law = |flow_kg_s: f64, ends_k: (f64, f64), met: &Meeting| {
            self.element_heat(course, e, flow_kg_s, ends_k, met)
        };
        let (flow, met) = (course.flow_kg_s, &self.meeting);
        let over_flow = course.over_flow(|flow| law(flow, ends_k, met).at(inlet_k));
        let [above, below] =
            [STEP_K, -STEP_K].map(|step| law(flow, (inlet_k, outlet_k + step), met));
        let over_outlet = (above.at(inlet_k) - below.at(inlet_k)) / (2.0 * STEP_K);
        let own_slope = 0.5 * (above.slope_w_k + below.slope_w_k);
        // Properties are those at the mean of both ends; the heat is linear in the temperature at which coolant enters.
        let mut over_inlet = own_slope + over_outlet;
        match role {
            HeatRole::Core(core) => {
                over_inlet = over_kelvin(|step| {
                    let entering_k = inlet_k + step;
                    law(flow, (entering_k, outlet_k), met).at(entering_k)
                });
                let mut met = Vec::new();
                self.add_met(core, &mut met);
                for column in met {
                    let [above, below] = self.meetings_beside(column, z);
                    let at = |met: &Meeting| law(flow, ends_k, met).at(inlet_k);
                    let slope = (at(&above) - at(&below)) / (2.0 * STEP_K);
                    chain.touched.push((*next, slope));
                    *next += 1;
                }
            }
            HeatRole::Circuit(_) => {
                // Warmer by as much, the module gives what a cooler stream would take.
                chain.touched.push((*next, -own_slope));
                *next += 1;
            }
            _ => {}
        }
        Some(HeatSlopes {
            heat_w,
            over_flow,
            over_inlet,
            over_outlet,
        })
    }

    /// What cores meet with one of its unknowns a step up, and a step down.
    pub fn meetings_beside(&self, column: usize, z: &mut [f64]) -> [Meeting; 2] {
        let here = z[column];
        let met = [STEP_K, -STEP_K].map(|step| {
            z[column] = here + step;
            self.meeting_at(z)
        });
        z[column] = here;
        met
    }

    /// The heat law of an element at a size of the flow and ends of the coolant.
    pub fn element_heat(
        &self,
        course: &Course,
        e: usize,
        flow_kg_s: f64,
        ends_k: (f64, f64),
        meeting: &Meeting,
    ) -> LinearHeat {
        let l = course.l;
        let circuit = &self.circuits[l];
        let flow = course.sign * flow_kg_s;
        if let HeatRole::Machine(m) = circuit.net.elements[e].heat {
            let mean_k = 0.5 * (ends_k.0 + ends_k.1);
            let fluid = circuit.coolant.properties_extended(mean_k);
            let most = self.scales.loops[l].0;
            return LinearHeat {
                constant_w: machine_heat(circuit, &circuit.machines[m], flow, most, &fluid),
                slope_w_k: 0.0,
            };
        }
        let sides = |core: usize, m: f64, p: &Properties| -> CoreSides {
            sides_of(self.network, core, self.case, &self.airs, meeting, m, p)
        };
        let input = HeatInput {
            circuit,
            flow_kg_s: &[],
            pump_w: &[],
            sides: &sides,
        };
        let stream = forward_part(flow_kg_s, self.scales.width_kg_s[l]);
        let part = part_heat(&input, e, (flow, stream), ends_k.0, ends_k, &self.heats[l]);
        part.map_or_else(LinearHeat::default, |part| part.heat)
    }

    /// Adds the slopes of an element's loss, whose properties are those at the mean of the stream before and behind it.
    pub fn loss_slopes(&self, course: &Course, e: usize, chain: &mut Chain) {
        let circuit = &self.circuits[course.l];
        let element = &circuit.net.elements[e];
        let height_m = element.lead_m + element.rise_m;
        if element.laws.is_empty() && height_m == 0.0 {
            return;
        }
        let flow = course.sign * course.flow_kg_s;
        let mean_k = self.heats[course.l].mean_k(e);
        let at = |k: f64| {
            let fluid = circuit.coolant.properties_extended(k);
            let mut loss_pa = fluid.density_kg_m3 * GRAVITY_M_S2 * height_m;
            let mut slope = 0.0;
            for law in &circuit.net.laws[element.laws.clone()] {
                let drop = law.drop(flow, &fluid);
                loss_pa += drop.drop_pa;
                slope += drop.slope_pa_s_kg;
            }
            (loss_pa, slope)
        };
        if !self.solved(course.l) {
            chain.loss[FLOW] += at(mean_k).1;
            return;
        }
        let (above, below) = (at(mean_k + STEP_K), at(mean_k - STEP_K));
        chain.loss[FLOW] += 0.5 * (above.1 + below.1);
        let over_end = 0.5 * (above.0 - below.0) / (2.0 * STEP_K);
        let streams = chain.before.iter().zip(&chain.behind);
        for (loss, (before, behind)) in chain.loss.iter_mut().zip(streams) {
            *loss += over_end * (before + behind);
        }
    }
}
