//! A bank, expanded in this one place: header segments, tees, tails and module circuits.

use super::error::{NetworkError, Rule};
use super::flow::{BranchEnd, Element, FlowNet, HeatRole, NodeKind, Passage, TeeNode};
use super::lower::{LoweredPart, Outcome, Surroundings, with_heat};
use super::vehicle::{BankMap, ModuleNode};
use crate::correlation::tees::{TeeModel, tee_check};
use crate::id::PartId;
use crate::part::{Bank, Layout, Module, Placed, Side};
use crate::place::Place;

/// Leg of a header tee that faces the inlet of a supply header, or the far end of a return header.
const UPSTREAM: usize = 0;
/// Leg of a header tee that faces the far end of a supply header, or the outlet of a return header.
const DOWNSTREAM: usize = 1;
/// Leg of a header tee that carries a circuit.
const PORT: usize = 2;

/// Where a bank is joined to the run around it.
pub(super) struct Joined {
    /// What was built.
    pub map: BankMap,
    /// Modules of the bank.
    pub modules: Vec<ModuleNode>,
    /// First supply tee, which ends the branch that leads into the bank.
    pub inlet_tee: usize,
    /// Return tee at which the branch that leads out of the bank begins.
    pub outlet_tee: usize,
    /// The piece of return header that leads out; it begins that branch.
    pub outlet: LoweredPart,
}

/// A bank with what it needs to be built.
pub(super) struct BankPlan<'a> {
    pub name: &'a str,
    pub bank: &'a Bank,
    pub module: &'a Module,
    pub place: &'a Place,
    pub module_place: &'a Place,
    pub tees: TeeModel,
    pub first_module: usize,
    pub index: usize,
}

impl BankPlan<'_> {
    fn bad(&self, message: impl Into<String>) -> NetworkError {
        NetworkError::new(Rule::BadPart, self.place, message, "")
    }

    fn id(&self, rest: &str) -> PartId {
        PartId::new(format!("{}.{rest}", self.name))
    }

    fn ports(&self) -> usize {
        self.bank.count as usize * self.module.circuit_count() as usize
    }

    /// One piece of header; piece `number` of the supply side leads to tee `number`, of the return side away from it.
    pub fn segment(
        &self,
        around: &Surroundings<'_>,
        side: Side,
        number: usize,
        length_m: f64,
    ) -> Outcome<LoweredPart> {
        let conduit = self
            .bank
            .header_of(side)
            .and_then(|h| h.segment(length_m))
            .map_err(|e| self.bad(e))?;
        let id = self.id(&format!("{}.segment {number}", side.word()));
        Ok(around.conduit(
            Element::new(id, "header", self.bank.origin()),
            &conduit,
            &[],
        ))
    }

    /// The piece of supply header from the inlet to the first port.
    pub fn inlet(&self, around: &Surroundings<'_>) -> Outcome<LoweredPart> {
        let first = self.bank.first_port.unwrap_or(self.bank.port_pitch);
        self.segment(around, Side::Supply, 1, first.m())
    }

    fn add_tees(&self, net: &mut FlowNet, side: Side) -> Outcome<Vec<usize>> {
        let shape = self.bank.tee_shape(side).map_err(|e| self.bad(e))?;
        tee_check(self.tees, &shape).map_err(|e| self.bad(e.to_string()))?;
        Ok((1..=self.ports())
            .map(|number| {
                let id = self.id(&format!("{}.tee {number}", side.word()));
                let node = TeeNode {
                    model: self.tees,
                    shape,
                    legs: [None; 3],
                };
                net.add_node(id, NodeKind::Tee(node))
            })
            .collect())
    }

    /// Pieces of header between neighbouring tees. Flow runs with the numbers on the supply side and on the return
    /// side of an opposite-end bank, against them on the return side of a same-end bank.
    fn join_tees(
        &self,
        net: &mut FlowNet,
        around: &Surroundings<'_>,
        side: Side,
        tees: &[usize],
    ) -> Outcome<()> {
        let pitch = self.bank.port_pitch.m();
        let backwards =
            side == Side::Return && self.bank.layout.unwrap_or_default() == Layout::SameEnd;
        for (k, pair) in tees.windows(2).enumerate() {
            let (from, to, number) = match (side, backwards) {
                (Side::Supply, _) => (pair[0], pair[1], k + 2),
                (Side::Return, false) => (pair[0], pair[1], k + 1),
                (Side::Return, true) => (pair[1], pair[0], k + 2),
            };
            let piece = self.segment(around, side, number, pitch)?;
            let element = net.add_element(piece.element, piece.laws);
            let branch = net.add_branch(from, to, element..element + 1, Passage::Open);
            net.tie(from, DOWNSTREAM, branch, BranchEnd::Start);
            net.tie(to, UPSTREAM, branch, BranchEnd::Finish);
        }
        Ok(())
    }

    fn tail(
        &self,
        around: &Surroundings<'_>,
        side: Side,
        circuit: &PartId,
    ) -> Outcome<Option<LoweredPart>> {
        let Some(tail) = self.bank.tail_of(side).map_err(|e| self.bad(e))? else {
            return Ok(None);
        };
        let conduit = tail.conduit().map_err(|e| self.bad(e.reason))?;
        let id = PartId::new(format!("{circuit}.{} tail", side.word()));
        Ok(Some(around.conduit(
            Element::new(id, "hose", self.bank.origin()),
            &conduit,
            &tail.fittings,
        )))
    }

    /// A circuit with its tails, from a supply tee to a return tee; returns the element of the circuit.
    fn circuit(
        &self,
        net: &mut FlowNet,
        around: &Surroundings<'_>,
        name: PartId,
        module: usize,
        (from, to): (usize, usize),
    ) -> Outcome<usize> {
        let start = net.elements.len();
        if let Some(tail) = self.tail(around, Side::Supply, &name)? {
            net.add_element(tail.element, tail.laws);
        }
        let tail_out = self.tail(around, Side::Return, &name)?;
        let bare = Element::new(name, "circuit", self.module.origin);
        let lowered = around.measured(bare, &self.module.pressure_drop, self.module_place)?;
        let lowered = with_heat(lowered, HeatRole::Circuit(self.first_module + module));
        let circuit = net.add_element(lowered.element, lowered.laws);
        if let Some(tail) = tail_out {
            net.add_element(tail.element, tail.laws);
        }
        let branch = net.add_branch(from, to, start..net.elements.len(), Passage::Open);
        net.tie(from, PORT, branch, BranchEnd::Start);
        net.tie(to, PORT, branch, BranchEnd::Finish);
        Ok(circuit)
    }

    /// Builds everything between the first supply tee and the tee at the outlet.
    pub fn expand(&self, net: &mut FlowNet, around: &Surroundings<'_>) -> Outcome<Joined> {
        let layout = self.bank.layout.unwrap_or_default();
        let supply = self.add_tees(net, Side::Supply)?;
        let ret = self.add_tees(net, Side::Return)?;
        self.join_tees(net, around, Side::Supply, &supply)?;
        self.join_tees(net, around, Side::Return, &ret)?;
        let circuits = self.module.circuit_count() as usize;
        let mut modules = Vec::with_capacity(self.bank.count as usize);
        for module in 0..self.bank.count as usize {
            let mut elements = Vec::with_capacity(circuits);
            for circuit in 0..circuits {
                let port = module * circuits + circuit;
                let name = self.id(&format!("module {}.circuit {}", module + 1, circuit + 1));
                elements.push(self.circuit(
                    net,
                    around,
                    name,
                    module,
                    (supply[port], ret[port]),
                )?);
            }
            modules.push(ModuleNode {
                name: format!("{}.module {}", self.name, module + 1),
                bank: self.index,
                circuits: elements,
                resistance_k_w: self.module.thermal_resistance.map_or(0.0, |r| r.k_w()),
                heat: None,
            });
        }
        let last = self.ports() - 1;
        let (outlet_port, number) = match layout {
            Layout::SameEnd => (0, 1),
            Layout::OppositeEnd => (last, last + 1),
        };
        let first = self.bank.first_port.unwrap_or(self.bank.port_pitch);
        let outlet = self.segment(around, Side::Return, number, first.m())?;
        let shape = self.bank.tee_shape(Side::Supply).map_err(|e| self.bad(e))?;
        Ok(Joined {
            map: BankMap {
                name: self.name.to_owned(),
                layout,
                modules: self.first_module..self.first_module + modules.len(),
                area_ratio: shape.a_area_m2 / (shape.side_area_m2 * self.ports() as f64),
                inlet_tee_leg: UPSTREAM,
                outlet_tee_leg: DOWNSTREAM,
                supply_tees: supply.clone(),
                return_tees: ret.clone(),
            },
            modules,
            inlet_tee: supply[0],
            outlet_tee: ret[outlet_port],
            outlet,
        })
    }
}
