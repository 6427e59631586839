//! Parts with two ends, and banks, as a run meets them.

use super::assemble_loop::{Open, Walker};
use super::expand::BankPlan;
use super::lower::{LoweredPart, Outcome, heat_capacity_j_k, with_heat};
use crate::correlation::effectiveness::Arrangement;
use crate::fluid::Coolant;
use crate::id::PartId;
use crate::network::error::{NetworkError, Rule};
use crate::network::flow::{BranchEnd, Element, HeatRole, Passage};
use crate::network::vehicle::{
    ExchangerTie, HoseLoss, MachineHeat, PlateNode, ThermostatNode, Transfer,
};
use crate::part::{Bank, Contact, Exchanger, Part, Placed, StreamArrangement};
use crate::place::Place;

/// A link that the checks should have refused; said plainly rather than by a panic.
pub(super) fn lost(place: &Place) -> NetworkError {
    NetworkError::new(Rule::BadPart, place, "cannot use this part here", "")
}

impl Walker<'_> {
    pub(super) fn push(&mut self, open: &mut Open, lowered: LoweredPart) -> usize {
        match (open.passage, lowered.passage) {
            (Passage::Shut, _) | (_, Passage::Open) => {}
            (Passage::OneWay { cracking_pa: a }, Passage::OneWay { cracking_pa: b }) => {
                open.passage = Passage::OneWay { cracking_pa: a + b };
            }
            (_, passage) => open.passage = passage,
        }
        if let Some(drop) = lowered.drop {
            self.walked
                .drops
                .push((lowered.element.id.to_string(), drop));
        }
        self.net().add_element(lowered.element, lowered.laws)
    }

    pub(super) fn two_end(
        &mut self,
        open: &mut Open,
        name: &str,
        record: &Part,
        at: &Place,
    ) -> Outcome<()> {
        let id = PartId::new(name);
        match record {
            Part::Hose(hose) => {
                let mut lowered = self.around.hose(id, hose, at)?;
                let places = &mut self.walked.circuit.hoses;
                let loses = matches!(lowered.element.heat, HeatRole::Hose(_));
                if loses {
                    lowered.element.heat = HeatRole::Hose(places.len());
                }
                let element = self.push(open, lowered);
                if loses {
                    let per_length = hose.conductance_per_length.map_or(0.0, |c| c.w_m_k());
                    self.walked.circuit.hoses.push(HoseLoss {
                        element,
                        conductance_w_k: per_length * hose.length.m(),
                        surroundings_k: f64::NAN,
                    });
                }
            }
            Part::Pump(pump) => {
                let (lowered, curve_density_kg_m3) = self.around.pump(id, pump, at)?;
                let role = HeatRole::Machine(self.walked.circuit.machines.len());
                let element = self.push(open, with_heat(lowered, role));
                self.walked.circuit.machines.push(MachineHeat {
                    element,
                    efficiency: pump.efficiency,
                    electrical_w: pump.electrical_power.map(|p| p.w()),
                    curve_density_kg_m3,
                });
            }
            Part::Plate(plate) => {
                let bare = Element::new(id, "plate", plate.origin());
                let mut lowered = self.around.measured(bare, &plate.pressure_drop, at)?;
                lowered.element.volume_m3 = plate.coolant_volume.map(|v| v.m3());
                let heat_table = self.around.heat_table(plate, at)?;
                let contact = self.around.contact(
                    plate.thermal_resistance,
                    plate.thermal_test.as_ref(),
                    plate.channel.as_ref(),
                    1,
                    at,
                )?;
                let role = HeatRole::Plate(self.walked.circuit.plates.len());
                let element = self.push(open, with_heat(lowered, role));
                self.walked.circuit.plates.push(PlateNode {
                    element,
                    heat_w: plate.heat.map_or(0.0, |h| h.w()),
                    heat_table,
                    contact,
                    capacity_j_k: heat_capacity_j_k(plate.mass, plate.specific_heat),
                });
            }
            Part::Heater(heater) => {
                let bare = Element::new(id, "heater", heater.origin());
                let mut lowered = self.around.measured(bare, &heater.pressure_drop, at)?;
                lowered.element.volume_m3 = heater.coolant_volume.map(|v| v.m3());
                let role = HeatRole::Plate(self.walked.circuit.plates.len());
                let element = self.push(open, with_heat(lowered, role));
                self.walked.circuit.plates.push(PlateNode {
                    element,
                    heat_w: heater.heat.map_or(0.0, |h| h.w()),
                    heat_table: None,
                    contact: Contact::Held(0.0),
                    capacity_j_k: 0.0,
                });
            }
            Part::Thermostat(part) => {
                let (lowered, lift) = self.around.thermostat(id, part, at)?;
                let element = self.push(open, lowered);
                self.walked.circuit.thermostats.push(ThermostatNode {
                    element,
                    mixing: None,
                    lift,
                    opening: lift.leak,
                });
            }
            Part::Restrictor(part) => {
                let lowered = self.around.restrictor(id, part, at)?;
                self.push(open, lowered);
            }
            Part::Valve(part) => {
                let lowered = self.around.valve(id, part, at)?;
                self.push(open, lowered);
            }
            Part::CheckValve(part) => {
                let lowered = self.around.check_valve(id, part, at)?;
                self.push(open, lowered);
            }
            Part::Exchanger(part) => self.exchanger(open, id, part, at)?,
            _ => return Err(lost(at)),
        }
        Ok(())
    }

    pub(super) fn exchanger(
        &mut self,
        open: &mut Open,
        id: PartId,
        part: &Exchanger,
        at: &Place,
    ) -> Outcome<()> {
        let transfer = part
            .transfer()
            .map_err(|e| NetworkError::new(Rule::BadPart, at, e, ""))?;
        let transfer = match transfer {
            (Some(conductance), _) => Transfer::Conductance(conductance.w_k()),
            (None, effectiveness) => Transfer::Effectiveness(effectiveness),
        };
        let bare = Element::new(id, "exchanger", part.origin());
        let mut lowered = self.around.measured(bare, &part.pressure_drop, at)?;
        lowered.element.volume_m3 = part.coolant_volume.map(|v| v.m3());
        let stream_w_k = match part.stream.flow {
            Some(flow) => {
                let place = at.key("stream");
                let stream_k = part.stream.temperature.k();
                let fluid = match &part.stream.coolant {
                    Some(name) => self.around.test_properties(name, stream_k, &place)?,
                    None => Coolant::water().properties(stream_k).map_err(|e| {
                        NetworkError::new(
                            Rule::CoolantRange,
                            &place.key("temperature"),
                            e.to_string(),
                            "",
                        )
                    })?,
                };
                flow.m3_s() * fluid.density_kg_m3 * fluid.specific_heat_j_kg_k
            }
            None => f64::INFINITY,
        };
        let role = HeatRole::Exchanger(self.walked.circuit.exchangers.len());
        let element = self.push(open, with_heat(lowered, role));
        self.walked.circuit.exchangers.push(ExchangerTie {
            element,
            transfer,
            limit_w: part.heat_limit.map_or(f64::INFINITY, |q| q.w()),
            arrangement: match part.arrangement.unwrap_or_default() {
                StreamArrangement::Counterflow => Arrangement::CounterFlow,
                StreamArrangement::ParallelFlow => Arrangement::ParallelFlow,
                StreamArrangement::Crossflow => Arrangement::CrossflowUnmixed,
            },
            stream_temperature_k: part.stream.temperature.k(),
            stream_w_k,
        });
        Ok(())
    }

    pub(super) fn bank(
        &mut self,
        mut open: Open,
        name: &str,
        bank: &Bank,
        at: &Place,
    ) -> Outcome<Open> {
        let around = self.around;
        let plan = BankPlan {
            name,
            bank,
            modules: &self.design.modules,
            place: at,
            tees: bank.losses.map_or(self.tees, |l| l.model()),
            first_module: self.walked.circuit.modules.len(),
            index: self.walked.circuit.banks.len(),
            around,
        };
        let (supply, inlet) = plan.lay_supply(&mut self.walked.circuit.net)?;
        if let Some(piece) = inlet.piece {
            self.push(&mut open, piece);
        }
        let end = self.net().elements.len();
        let branch = self
            .net()
            .add_branch(open.from, inlet.tee, open.start..end, open.passage);
        if let Some(leg) = open.leg {
            self.net().tie(open.from, leg, branch, BranchEnd::Start);
        }
        self.net()
            .tie(inlet.tee, inlet.leg, branch, BranchEnd::Finish);
        let joined = plan.expand(&mut self.walked.circuit.net, supply)?;
        let map = &joined.map;
        if let (Some(a), Some(b)) = (bank.inlet_elevation(), bank.outlet_elevation()) {
            let tees = (map.supply_tees.iter().map(|t| (*t, a)))
                .chain(map.return_tees.iter().map(|t| (*t, b)));
            let stated: Vec<_> = tees.map(|(t, z)| (t, z.m())).collect();
            self.walked.heights.nodes.extend(stated);
        }
        let start = self.net().elements.len();
        let mut next = Open {
            from: joined.outlet.tee,
            leg: Some(joined.outlet.leg),
            start,
            passage: Passage::Open,
        };
        if let Some(piece) = joined.outlet.piece {
            self.push(&mut next, piece);
        }
        self.walked.circuit.modules.extend(joined.modules);
        self.walked.circuit.banks.push(joined.map);
        Ok(next)
    }
}
