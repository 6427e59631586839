//! The banks on a bench: a network with a disc in every branch, whose laws are changed in place, and flows alone at one
//! coolant temperature.

use super::bore::disc_law;
use crate::design::Design;
use crate::fluid::Properties;
use crate::network::{Case, Network, Passage};
use crate::part::{Law, Part, PortRestrictor, TwoTerm};
use crate::quantity::Length;
use crate::solve::{SolveError, Solver};
use crate::study::error::StudyError;

/// One branch of a bank.
#[derive(Clone, Debug)]
pub(super) struct BranchAt {
    pub(super) bank: String,
    /// Port of the supply header, from 1.
    pub(super) port: u32,
    /// The first circuit.
    pub(super) circuit: String,
    /// Its place in the list of branches.
    pub(super) branch: usize,
    /// The law of its disc.
    pub(super) law: usize,
    /// Elements of its circuits.
    pub(super) circuits: Vec<String>,
    pub(super) pipe_bore_m: f64,
}

/// The network with its branches.
pub(super) struct Bench {
    pub(super) network: Network,
    pub(super) circuit: usize,
    pub(super) branches: Vec<BranchAt>,
    pub(super) thickness_m: f64,
}

/// The design with these discs in place of its own: bank, port, bore.
pub(super) fn with_discs(
    design: &Design,
    owner: &str,
    banks: &[String],
    discs: &[(&str, u32, f64)],
    thickness_m: f64,
) -> Design {
    let mut changed = design.clone();
    for name in banks {
        let part = changed
            .loops
            .get_mut(owner)
            .and_then(|l| l.parts.get_mut(name));
        if let Some(Part::Bank(bank)) = part {
            bank.restrictors = discs
                .iter()
                .filter(|(of, ..)| of == name)
                .map(|(_, port, bore_m)| PortRestrictor {
                    port: *port,
                    bore: Length::from_m(*bore_m),
                    thickness: Some(Length::from_m(thickness_m)),
                })
                .collect();
        }
    }
    changed
}

impl Bench {
    /// Lays a disc into every open branch of the banks.
    pub(super) fn new(
        design: &Design,
        owner: &str,
        banks: &[String],
        thickness_m: f64,
    ) -> Result<Self, StudyError> {
        let bare = with_discs(design, owner, banks, &[], thickness_m);
        let plain = Network::build(&bare)?;
        let Some(circuit) = plain.loops().iter().position(|l| l.name == owner) else {
            return Err(StudyError::unknown("loop", owner, design.loops.keys()));
        };
        let mut discs = Vec::new();
        for found in branches(&plain, circuit, banks) {
            discs.push((found.bank, found.port, found.pipe_bore_m));
        }
        let listed: Vec<(&str, u32, f64)> =
            discs.iter().map(|(b, p, d)| (b.as_str(), *p, *d)).collect();
        let network = Network::build(&with_discs(design, owner, banks, &listed, thickness_m))?;
        let branches = branches(&network, circuit, banks);
        if branches.len() < 2 {
            return Err(StudyError::Nothing {
                sort: "second branch to balance",
                help: "try a bank with two branches or more",
            });
        }
        Ok(Self {
            network,
            circuit,
            branches,
            thickness_m,
        })
    }

    /// The law of a hole in a branch; no hole takes nothing.
    pub(super) fn law(&self, k: usize, bore_m: Option<f64>) -> TwoTerm {
        bore_m.map_or_else(TwoTerm::default, |bore| {
            disc_law(bore, self.branches[k].pipe_bore_m, self.thickness_m)
        })
    }

    /// Puts laws in and solves: the mass flow of every branch, kg/s.
    pub(super) fn flows(&mut self, laws: &[TwoTerm], case: &Case) -> Result<Vec<f64>, SolveError> {
        for (at, law) in self.branches.iter().zip(laws) {
            let laws = &mut self.network.loops[self.circuit].net.laws;
            if let Some(slot) = laws.get_mut(at.law) {
                *slot = Law::TwoTerm(*law);
            }
        }
        let state = Solver::new(&self.network).solve_raw(case)?;
        let flow = &state.loops[self.circuit].flow.flow_kg_s;
        Ok(self.branches.iter().map(|at| flow[at.branch]).collect())
    }

    /// Drop of everything in a branch but its disc, at a flow, Pa.
    pub(super) fn bare_drop_pa(&self, k: usize, flow_kg_s: f64, fluid: &Properties) -> f64 {
        let net = &self.network.loops()[self.circuit].net;
        let at = &self.branches[k];
        let elements = &net.elements[net.branches[at.branch].elements.clone()];
        let places = elements.iter().flat_map(|e| e.laws.clone());
        places
            .filter(|l| *l != at.law)
            .map(|l| net.laws[l].drop(flow_kg_s, fluid).drop_pa)
            .sum()
    }
}

/// The open branches of the banks, in the order of their ports. Without discs the law is a place that is not used.
fn branches(network: &Network, circuit: usize, banks: &[String]) -> Vec<BranchAt> {
    let whole = &network.loops()[circuit];
    let net = &whole.net;
    let mut found = Vec::new();
    for map in whole.banks.iter().filter(|m| banks.contains(&m.name)) {
        for (port, (from, to)) in map.supply_tees.iter().zip(&map.return_tees).enumerate() {
            let place = net.branches.iter().position(|b| {
                b.from == *from && b.to == *to && !matches!(b.passage, Passage::Shut)
            });
            let Some(branch) = place else { continue };
            let elements = &net.elements[net.branches[branch].elements.clone()];
            let circuits: Vec<String> = elements
                .iter()
                .filter(|e| e.kind == "circuit")
                .map(|e| e.id.to_string())
                .collect();
            let disc = elements.iter().find(|e| e.kind == "restrictor");
            // The disc sits in the supply tail, or in the port.
            let hose = elements
                .iter()
                .find(|e| e.kind == "hose" && e.id.as_str().ends_with(".supply tail"));
            let tail = hose.and_then(|e| e.passage).map(|p| p.diameter_m);
            found.push(BranchAt {
                bank: map.name.clone(),
                port: port as u32 + 1,
                circuit: circuits.first().cloned().unwrap_or_default(),
                branch,
                law: disc.map_or(usize::MAX, |e| e.laws.start),
                circuits,
                pipe_bore_m: tail.unwrap_or_else(|| port_bore_m(net, *from)),
            });
        }
    }
    found
}

/// Bore of the side of a header tee, m.
fn port_bore_m(net: &crate::network::FlowNet, tee: usize) -> f64 {
    match &net.nodes[tee].kind {
        crate::network::NodeKind::Tee(node) => {
            (node.shape.side_area_m2 / std::f64::consts::FRAC_PI_4).sqrt()
        }
        _ => 0.0,
    }
}
