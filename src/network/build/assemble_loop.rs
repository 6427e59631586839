//! A loop of the document, walked run by run into nodes, branches and elements.

use super::air_checks::core_conduit;
use super::core;
use super::lower::{Outcome, Surroundings, with_heat};
use super::two_end::lost;
use crate::correlation::tees::{TeeModel, tee_check};
use crate::design::{Design, LoopRecord};
use crate::fluid::Coolant;
use crate::id::PartId;
use crate::network::error::{NetworkError, Rule};
use crate::network::flow::{BranchEnd, FlowNet, HeatRole, NodeKind, Passage, TeeNode};
use crate::network::heights::KnownHeights;
use crate::network::plan::{Link, PlanLoop, Target};
use crate::network::vehicle::{Loop, MixingWay, TankNode, ThermostatNode};
use crate::part::{Lowered, MIXING_ENDS, Part, valve_law};
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
    pub(super) walked: Walked,
    pub(super) node_of_part: Vec<Option<usize>>,
}

/// Where a branch has got to.
#[derive(Clone, Copy)]
pub(super) struct Open {
    pub from: usize,
    pub leg: Option<usize>,
    pub start: usize,
    pub passage: Passage,
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

    pub(super) fn net(&mut self) -> &mut FlowNet {
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
}
