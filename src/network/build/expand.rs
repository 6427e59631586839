//! A bank, expanded in this one place: header segments, tees, tails and module circuits.

use super::bank_header::{Laid, PORT};
use super::lower::{LoweredPart, Outcome, Surroundings, heat_capacity_j_k, with_heat};
use crate::correlation::tees::TeeModel;
use crate::id::PartId;
use crate::network::error::{NetworkError, Rule};
use crate::network::flow::{BranchEnd, Element, FlowNet, HeatRole, Passage};
use crate::network::names::nearest_help;
use crate::network::vehicle::{BankMap, ModuleNode};
use crate::part::{Bank, Module, ModuleException, ModuleFault, Placed, Side, Tail};
use crate::place::Place;
use indexmap::IndexMap;

/// The end of a bank that a run is joined to.
pub(super) struct Joint {
    /// The tee.
    pub tee: usize,
    /// Its leg.
    pub leg: usize,
    /// The piece of header between the tee and the end, where there is one.
    pub piece: Option<LoweredPart>,
}

/// Where a bank is joined to the run around it.
pub(super) struct Joined {
    pub map: BankMap,
    pub modules: Vec<ModuleNode>,
    pub outlet: Joint,
}

/// A bank with what it needs to be built.
pub(super) struct BankPlan<'a> {
    pub name: &'a str,
    pub bank: &'a Bank,
    pub modules: &'a IndexMap<String, Module>,
    pub place: &'a Place,
    pub tees: TeeModel,
    pub first_module: usize,
    pub index: usize,
    pub around: &'a Surroundings<'a>,
}

impl<'a> BankPlan<'a> {
    pub(super) fn bad(&self, message: impl Into<String>) -> NetworkError {
        NetworkError::new(Rule::BadPart, self.place, message, "")
    }

    pub(super) fn bad_at(&self, key: &str, message: impl Into<String>) -> NetworkError {
        NetworkError::new(Rule::BadPart, &self.place.key(key), message, "")
    }

    /// The key that gives the header or the tail of a side.
    pub(super) fn key_of(&self, what: &str, side: Side) -> String {
        let common = match what {
            "header" => self.bank.header.is_some(),
            _ => self.bank.tail.is_some(),
        };
        if common {
            what.to_owned()
        } else {
            format!("{}_{what}", side.word())
        }
    }

    /// The key that gives the bore of the ports.
    pub(super) fn port_key(&self, side: Side) -> String {
        match self.bank.port_bore {
            Some(_) => "port_bore".to_owned(),
            None => self.key_of("tail", side),
        }
    }

    pub(super) fn id(&self, rest: &str) -> PartId {
        PartId::new(format!("{}.{rest}", self.name))
    }

    fn module(&self, name: &str, at: &Place) -> Outcome<&'a Module> {
        self.modules.get(name).ok_or_else(|| {
            NetworkError::new(
                Rule::UnknownName,
                &at.key("module"),
                format!("there is no module `{name}`"),
                nearest_help(name, self.modules.keys()),
            )
        })
    }

    pub(super) fn circuits(&self) -> Outcome<usize> {
        Ok(self.module(&self.bank.module, self.place)?.circuit_count() as usize)
    }

    /// Branches between the headers: circuits of every chain of modules.
    pub(super) fn branches(&self) -> Outcome<usize> {
        let series = self.bank.series.unwrap_or(1);
        if !self.bank.count.is_multiple_of(series) {
            return Err(self.bad(format!(
                "cannot put {} modules into branches of {series} in series; try a count that {series} divides",
                self.bank.count
            )));
        }
        Ok((self.bank.count / series) as usize * self.circuits()?)
    }

    fn exception(&self, module: usize) -> Option<&'a ModuleException> {
        self.bank
            .exceptions
            .iter()
            .find(|e| e.place as usize == module + 1)
    }

    fn check_exceptions(&self) -> Outcome<()> {
        for (k, exception) in self.bank.exceptions.iter().enumerate() {
            let at = self.place.key("exceptions").index(k);
            if exception.place > self.bank.count {
                let text = format!(
                    "there is no module {} in a bank of {}",
                    exception.place, self.bank.count
                );
                return Err(NetworkError::new(
                    Rule::BadPart,
                    &at.key("place"),
                    text,
                    "try a place within the bank",
                ));
            }
            if let Some(name) = &exception.module
                && self.module(name, &at)?.circuit_count() as usize != self.circuits()?
            {
                let text = format!(
                    "`{name}` has another number of circuits than `{}`",
                    self.bank.module
                );
                return Err(NetworkError::new(
                    Rule::BadPart,
                    &at.key("module"),
                    text,
                    "try a module with as many",
                ));
            }
        }
        Ok(())
    }

    /// The inlet of the bank, before anything else is built: it ends the branch that leads in.
    pub fn lay_supply(&self, net: &mut FlowNet) -> Outcome<(SupplyLaid, Joint)> {
        self.check_exceptions()?;
        self.check_restrictors()?;
        let laid = self.lay(net, Side::Supply)?;
        let joint = self.joint(&laid, Side::Supply)?;
        Ok((SupplyLaid(laid), joint))
    }

    pub(super) fn tail_of_module(&self, side: Side, module: usize) -> Outcome<Option<&'a Tail>> {
        let own = self.exception(module).and_then(|e| match side {
            Side::Supply => e.supply_tail.as_ref(),
            Side::Return => e.return_tail.as_ref(),
        });
        match own {
            Some(own) => Ok(Some(own)),
            None => self.bank.tail_of(side).map_err(|e| self.bad(e)),
        }
    }

    fn tail(&self, side: Side, module: usize, circuit: &PartId) -> Outcome<Option<LoweredPart>> {
        self.tail_of_module(side, module)?
            .map(|t| self.hose(t, &format!("{circuit}.{} tail", side.word())))
            .transpose()
    }

    fn hose(&self, tail: &Tail, id: &str) -> Outcome<LoweredPart> {
        let conduit = tail.conduit().map_err(|e| self.bad(e.reason))?;
        let element = Element::new(PartId::new(id), "hose", self.bank.origin());
        Ok(self.around.conduit(element, &conduit, &tail.fittings))
    }

    /// One branch: its tail, the circuits of its modules in series, its tail. Returns the circuits' elements.
    fn branch(
        &self,
        net: &mut FlowNet,
        chain: &[usize],
        (circuit, port): (usize, usize),
        (from, to): (usize, usize),
    ) -> Outcome<Vec<usize>> {
        let start = net.elements.len();
        let mut passage = Passage::Open;
        let mut elements = Vec::with_capacity(chain.len());
        for (k, &module) in chain.iter().enumerate() {
            let id = self.id(&format!("module {}.circuit {}", module + 1, circuit + 1));
            if k == 0
                && let Some(disc) = self.disc(module, port, &id)?
            {
                net.add_element(disc.element, disc.laws);
            }
            let lead = if k == 0 {
                self.tail(Side::Supply, module, &id)?
            } else {
                self.bank
                    .link
                    .as_ref()
                    .map(|l| self.hose(l, &format!("{id}.link")))
                    .transpose()?
            };
            if let Some(lead) = lead {
                net.add_element(lead.element, lead.laws);
            }
            let exception = self.exception(module);
            let name = exception
                .and_then(|e| e.module.as_ref())
                .unwrap_or(&self.bank.module);
            let record = self.module(name, self.place)?;
            let at = Place::root().key("modules").key(name);
            let bare = Element::new(id.clone(), "circuit", record.origin);
            let mut lowered = self.around.measured(bare, &record.pressure_drop, &at)?;
            lowered.element.volume_m3 = record
                .coolant_volume
                .map(|v| v.m3() / f64::from(record.circuit_count()));
            let lowered = with_heat(lowered, HeatRole::Circuit(self.first_module + module));
            elements.push(net.add_element(lowered.element, lowered.laws));
            let fault = exception.and_then(|e| e.state);
            if fault == Some(ModuleFault::Blocked)
                || (fault == Some(ModuleFault::FirstCircuitBlocked) && circuit == 0)
            {
                passage = Passage::Shut;
            }
            if k + 1 == chain.len()
                && let Some(tail) = self.tail(Side::Return, module, &id)?
            {
                net.add_element(tail.element, tail.laws);
            }
        }
        let branch = net.add_branch(from, to, start..net.elements.len(), passage);
        net.tie(from, PORT, branch, BranchEnd::Start);
        net.tie(to, PORT, branch, BranchEnd::Finish);
        Ok(elements)
    }

    pub(super) fn missing(&self, module: usize) -> bool {
        self.exception(module)
            .is_some_and(|e| e.state == Some(ModuleFault::Missing))
    }

    /// Builds everything beyond the supply header.
    pub fn expand(&self, net: &mut FlowNet, SupplyLaid(supply): SupplyLaid) -> Outcome<Joined> {
        let ret = self.lay(net, Side::Return)?;
        self.join_tees(net, Side::Supply, &supply)?;
        self.join_tees(net, Side::Return, &ret)?;
        let circuits = self.circuits()?;
        let series = self.bank.series.unwrap_or(1) as usize;
        let mut modules = Vec::with_capacity(self.bank.count as usize);
        for module in 0..self.bank.count as usize {
            let exception = self.exception(module);
            let name = exception
                .and_then(|e| e.module.as_ref())
                .unwrap_or(&self.bank.module);
            let record = self.module(name, self.place)?;
            modules.push(ModuleNode {
                name: format!("{}.module {}", self.name, module + 1),
                record: name.clone(),
                bank: self.index,
                circuits: Vec::with_capacity(circuits),
                contact: self.around.contact(
                    record.thermal_resistance,
                    record.thermal_test.as_ref(),
                    record.channel.as_ref(),
                    record.circuit_count(),
                    &Place::root().key("modules").key(name),
                )?,
                capacity_j_k: heat_capacity_j_k(record.mass, record.specific_heat),
                heat: None,
            });
        }
        for chain in 0..modules.len() / series {
            let members: Vec<usize> = (chain * series..(chain + 1) * series).collect();
            if members.iter().any(|m| self.missing(*m)) {
                continue;
            }
            for circuit in 0..circuits {
                let port = chain * circuits + circuit;
                let ends = (supply.tees[port], ret.tees[port]);
                let elements = self.branch(net, &members, (circuit, port), ends)?;
                for (module, element) in members.iter().zip(elements) {
                    modules[*module].circuits.push(element);
                }
            }
        }
        let outlet = self.joint(&ret, Side::Return)?;
        let header = self.bank.header_of(Side::Supply).map_err(|e| self.bad(e))?;
        let inlet_shape = supply.ports.shape(header, 0).map_err(|e| self.bad(e))?;
        let port = self
            .bank
            .port_bore_m(Side::Supply)
            .map_err(|e| self.bad(e))?;
        let ports = supply.tees.len() as f64;
        Ok(Joined {
            map: BankMap {
                name: self.name.to_owned(),
                modules: self.first_module..self.first_module + modules.len(),
                area_ratio: inlet_shape.area_m2()
                    / (0.25 * std::f64::consts::PI * port * port * ports),
                inlet: self.joint_place(&supply),
                outlet: (outlet.tee, outlet.leg),
                ports_at_m: [supply.ports.at_m, ret.ports.at_m],
                header_length_m: [supply.ports.length_m, ret.ports.length_m],
                supply_tees: supply.tees,
                return_tees: ret.tees,
            },
            modules,
            outlet,
        })
    }
}

/// A supply header that has been laid, to be joined to its modules.
pub(super) struct SupplyLaid(Laid);
