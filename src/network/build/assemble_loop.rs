//! A loop of the document, walked run by run into nodes, branches and elements.

use super::air_checks::core_conduit;
use super::core;
use super::expand::BankPlan;
use super::lower::{LoweredPart, Outcome, Surroundings, heat_capacity_j_k, with_heat};
use crate::correlation::effectiveness::Arrangement;
use crate::correlation::tees::{TeeModel, tee_check};
use crate::design::{Design, LoopRecord};
use crate::fluid::Coolant;
use crate::id::PartId;
use crate::network::error::{NetworkError, Rule};
use crate::network::flow::{BranchEnd, Element, FlowNet, HeatRole, NodeKind, Passage, TeeNode};
use crate::network::heights::KnownHeights;
use crate::network::plan::{Link, PlanLoop, Target};
use crate::network::vehicle::{
    ExchangerTie, HoseLoss, Loop, MachineHeat, MixingWay, PlateNode, TankNode, ThermostatNode,
    Transfer,
};
use crate::part::{
    Bank, Contact, Exchanger, Lowered, MIXING_ENDS, Part, Placed, StreamArrangement, valve_law,
};
use crate::place::Place;
use crate::quantity::{GaugePressure, Pressure};

/// A core met on a run: radiator, core and the element that carries its coolant.
pub(super) struct CoreMet {
    pub radiator: usize,
    pub core: usize,
    pub element: usize,
}

/// What walking the runs of one loop makes.
pub(super) struct Walked {
    pub circuit: Loop,
    pub heights: KnownHeights,
    pub cores: Vec<CoreMet>,
    /// Fits of measured points, with the part they belong to.
    pub drops: Vec<(String, Lowered)>,
}

/// Walks the runs of one loop.
pub(super) struct Walker<'a> {
    pub design: &'a Design,
    pub record: &'a LoopRecord,
    pub plan: &'a PlanLoop,
    pub around: &'a Surroundings<'a>,
    pub tees: TeeModel,
    pub errors: &'a mut Vec<NetworkError>,
    walked: Walked,
    node_of_part: Vec<Option<usize>>,
}

/// Where a branch has got to.
#[derive(Clone, Copy)]
struct Open {
    from: usize,
    leg: Option<usize>,
    start: usize,
    passage: Passage,
}

impl<'a> Walker<'a> {
    pub fn new(
        design: &'a Design,
        record: &'a LoopRecord,
        plan: &'a PlanLoop,
        around: &'a Surroundings<'a>,
        tees: TeeModel,
        errors: &'a mut Vec<NetworkError>,
    ) -> Self {
        let circuit = Loop {
            name: plan.name.clone(),
            coolant: around
                .coolants
                .get(&record.coolant)
                .cloned()
                .unwrap_or_else(Coolant::water),
            net: FlowNet::default(),
            machines: Vec::new(),
            banks: Vec::new(),
            modules: Vec::new(),
            plates: Vec::new(),
            exchangers: Vec::new(),
            tanks: Vec::new(),
            hoses: Vec::new(),
            thermostats: Vec::new(),
        };
        Self {
            design,
            record,
            plan,
            around,
            tees,
            errors,
            walked: Walked {
                circuit,
                heights: KnownHeights::default(),
                cores: Vec::new(),
                drops: Vec::new(),
            },
            node_of_part: vec![None; plan.parts.len()],
        }
    }

    /// Walks everything; refusals are pushed to the list of errors.
    pub fn walk(mut self) -> Walked {
        for index in 0..self.plan.parts.len() {
            if let Err(error) = self.point(index) {
                self.refuse(error);
            }
        }
        for run in &self.plan.runs {
            if let Err(error) = self.run(run) {
                self.refuse(error);
            }
        }
        self.walked
    }

    /// Keeps a refusal, once: banks of one module meet the same mistake.
    fn refuse(&mut self, error: NetworkError) {
        if !self.errors.contains(&error) {
            self.errors.push(error);
        }
    }

    fn net(&mut self) -> &mut FlowNet {
        &mut self.walked.circuit.net
    }

    /// Makes the node of a point or a tee.
    fn point(&mut self, index: usize) -> Outcome<()> {
        let plan = &self.plan.parts[index];
        let record = &self.record.parts[index];
        let id = PartId::new(&plan.name);
        let vented = Pressure::Gauge(GaugePressure::from_pa(0.0));
        let mut inflow = None;
        let mut refused = None;
        let kind = match record {
            Part::ExpansionTank(tank) => NodeKind::Fixed {
                pressure: tank.gauge_pressure.map_or(vented, Pressure::Gauge),
            },
            Part::OpenEnd(end) => {
                inflow = Some(end.temperature.map_or(f64::NAN, |t| t.k()));
                NodeKind::Fixed {
                    pressure: end.pressure.unwrap_or(vented),
                }
            }
            Part::Joint(_) => NodeKind::Meeting,
            Part::Draw(draw) => {
                inflow = Some(draw.temperature.map_or(f64::NAN, |t| t.k()));
                let net =
                    draw.inflow.map_or(0.0, |q| q.m3_s()) - draw.outflow.map_or(0.0, |q| q.m3_s());
                // The point is made all the same, so that the runs through it are looked at in the same pass.
                match (draw.inflow, draw.outflow) {
                    (None, None) => refused = Some("cannot tell the flow of the draw because none is given; give `outflow` or `inflow`".to_owned()),
                    (Some(i), Some(o)) => refused = Some(format!("cannot tell which way the draw goes because both `inflow` {i} and `outflow` {o} are given; keep one")),
                    _ => {}
                }
                NodeKind::Draw { inflow_m3_s: net }
            }
            Part::Tee(tee) => {
                let model = tee.losses.map_or(self.tees, |l| l.model());
                let shape = tee.shape();
                refused = tee_check(model, &shape).err().map(|e| e.to_string());
                NodeKind::Tee(TeeNode {
                    model,
                    shape,
                    legs: [None; 3],
                })
            }
            Part::MixingThermostat(_) => NodeKind::Meeting,
            _ => return Ok(()),
        };
        let node = self.net().add_node(id, kind);
        // Not stated is written NaN until the case gives the air temperature; see `resolve_case.rs`.
        self.net().nodes[node].inflow_temperature_k = inflow;
        self.node_of_part[index] = Some(node);
        if let Some(z) = record.placed().elevation() {
            self.walked.heights.nodes.push((node, z.m()));
        }
        if let Part::ExpansionTank(tank) = record {
            self.walked.circuit.tanks.push(TankNode {
                node,
                gauge_pa: tank.gauge_pressure.map_or(0.0, |p| p.pa()),
                cap_pa: tank.cap_pressure.map(|p| p.pa()),
                volume_m3: tank.volume.map(|v| v.m3()),
            });
        }
        if let Part::MixingThermostat(part) = record {
            match part.lift() {
                // Its ways are met where runs begin or end with them; see `mixing_way`.
                Ok((lift, bypass_full_1_m4)) => {
                    self.walked.circuit.thermostats.push(ThermostatNode {
                        element: usize::MAX,
                        mixing: Some(MixingWay {
                            node,
                            bypass: usize::MAX,
                            bypass_full_1_m4,
                        }),
                        lift,
                        opening: lift.leak,
                    })
                }
                Err(message) => refused = Some(message),
            }
        }
        match refused {
            Some(message) => {
                let at = plan.place.key(record.kind());
                Err(NetworkError::new(Rule::BadPart, &at, message, ""))
            }
            None => Ok(()),
        }
    }

    fn node_and_leg(&self, link: &Link) -> Option<(usize, Option<usize>)> {
        match link.target {
            Target::Part(part) => self.node_of_part[part].map(|n| (n, None)),
            Target::TeeEnd(part, leg) => self.node_of_part[part].map(|n| (n, Some(leg))),
            Target::Core(..) | Target::Nothing => None,
        }
    }

    fn run(&mut self, run: &[Link]) -> Outcome<()> {
        let ring = run.first().map(|l| l.target) == run.last().map(|l| l.target);
        let first_is_node = run.first().is_some_and(|l| self.plan.is_node(l));
        let links: Vec<&Link> = if ring && !first_is_node {
            // A ring that begins with a part: turn it so that it begins and ends at a node.
            let body = &run[..run.len() - 1];
            let Some(turn) = body.iter().position(|l| self.plan.is_node(l)) else {
                return Err(NetworkError::new(
                    Rule::NoPressureReference,
                    &run[0].place,
                    "this ring of parts has no pressure reference",
                    "try an `expansion_tank` in the run",
                ));
            };
            body[turn..]
                .iter()
                .chain(&body[..turn])
                .chain([&body[turn]])
                .collect()
        } else {
            run.iter().collect()
        };
        let mut open: Option<Open> = None;
        let count = links.len();
        for (place, link) in links.into_iter().enumerate() {
            if let Some((node, leg)) = self.node_and_leg(link) {
                if let Some(mut branch) = open.take() {
                    self.mixing_way(&mut branch, node, leg);
                    self.close(branch, node, leg);
                }
                let start = self.net().elements.len();
                open = Some(Open {
                    from: node,
                    leg,
                    start,
                    passage: Passage::Open,
                });
                // The last name of a run begins nothing.
                if place + 1 < count
                    && let Some(branch) = &mut open
                {
                    self.mixing_way(branch, node, leg);
                }
            } else if let Some(branch) = open.take() {
                // After a refusal the run goes on without the part, so that what follows is looked at too.
                open = Some(self.through(branch, link).unwrap_or_else(|error| {
                    self.refuse(error);
                    branch
                }));
            }
        }
        Ok(())
    }

    /// The valve of a mixing thermostat at the end of a branch that is joined to it.
    fn mixing_way(&mut self, open: &mut Open, node: usize, leg: Option<usize>) {
        let thermostats = &self.walked.circuit.thermostats;
        let found = thermostats
            .iter()
            .position(|t| t.mixing.is_some_and(|way| way.node == node));
        let (Some(index), Some(leg @ (0 | 1))) = (found, leg) else {
            return;
        };
        let thermostat = thermostats[index];
        let Some(way) = thermostat.mixing else { return };
        let name = self.net().nodes[node].id.to_string();
        let origin = self
            .record
            .parts
            .get(&name)
            .and_then(|p| p.placed().origin());
        let id = PartId::new(format!("{name}.{}", MIXING_ENDS[leg]));
        let law = if leg == 0 {
            thermostat.lift.law(thermostat.opening)
        } else {
            let share = thermostat.lift.complement(thermostat.opening);
            valve_law(way.bypass_full_1_m4 / (share * share))
        };
        let lowered = self.around.mixing_way(id, origin, law);
        let element = self.push(open, lowered);
        let thermostat = &mut self.walked.circuit.thermostats[index];
        match &mut thermostat.mixing {
            Some(way) if leg == 1 => way.bypass = element,
            _ => thermostat.element = element,
        }
    }

    fn close(&mut self, open: Open, to: usize, leg: Option<usize>) {
        let end = self.net().elements.len();
        let branch = self
            .net()
            .add_branch(open.from, to, open.start..end, open.passage);
        if let Some(leg) = open.leg {
            self.net().tie(open.from, leg, branch, BranchEnd::Start);
        }
        if let Some(leg) = leg {
            self.net().tie(to, leg, branch, BranchEnd::Finish);
        }
    }

    /// A part with an inlet and an outlet.
    fn through(&mut self, mut open: Open, link: &Link) -> Outcome<Open> {
        match link.target {
            Target::Core(radiator, core) => {
                let (owner, record) = self
                    .design
                    .radiators
                    .get_index(radiator)
                    .ok_or_else(|| lost(&link.place))?;
                let (_, cut) = record
                    .cores
                    .get_index(core)
                    .ok_or_else(|| lost(&link.place))?;
                let place = Place::root().key("radiators").key(owner);
                let conduit = core_conduit(record, core, &place)?;
                let lowered = core::lower(
                    self.around,
                    PartId::new(&link.text),
                    record,
                    &conduit,
                    cut.passes.unwrap_or(1),
                    &place,
                )?;
                let element = self.push(&mut open, with_heat(lowered, HeatRole::Core(usize::MAX)));
                if let Some(z) = record.elevation {
                    self.walked.heights.inlets.push((element, z.m()));
                    self.walked.heights.outlets.push((element, z.m()));
                }
                self.walked.cores.push(CoreMet {
                    radiator,
                    core,
                    element,
                });
                Ok(open)
            }
            Target::Part(index) => {
                let place = self.plan.parts[index].place.clone();
                let record = &self.record.parts[index];
                let at = place.key(record.kind());
                let first = self.net().elements.len();
                let open = match record {
                    Part::Bank(bank) => self.bank(open, &self.plan.parts[index].name, bank, &at)?,
                    other => {
                        self.two_end(&mut open, &self.plan.parts[index].name, other, &at)?;
                        open
                    }
                };
                let last = self.net().elements.len() - 1;
                let (inlet, outlet) = (
                    record.placed().inlet_elevation(),
                    record.placed().outlet_elevation(),
                );
                if let Some(z) = inlet {
                    self.walked.heights.inlets.push((first, z.m()));
                }
                if let Some(z) = outlet {
                    self.walked.heights.outlets.push((last, z.m()));
                }
                Ok(open)
            }
            Target::TeeEnd(..) | Target::Nothing => Ok(open),
        }
    }

    fn push(&mut self, open: &mut Open, lowered: LoweredPart) -> usize {
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

    fn two_end(&mut self, open: &mut Open, name: &str, record: &Part, at: &Place) -> Outcome<()> {
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

    fn exchanger(
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

    fn bank(&mut self, mut open: Open, name: &str, bank: &Bank, at: &Place) -> Outcome<Open> {
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

/// A link that the checks should have refused; said plainly rather than by a panic.
fn lost(place: &Place) -> NetworkError {
    NetworkError::new(Rule::BadPart, place, "cannot use this part here", "")
}
