//! Places of the unknowns of a whole vehicle in one vector: flows and pressures, temperatures, thermostats, and where
//! cores meet each other, what they meet.

use super::super::case_state::CaseState;
use super::super::meeting::Meeting;
use crate::network::{Network, NodeKind};
use std::ops::Range;

/// Where the unknowns of a loop begin.
#[derive(Clone, Debug, PartialEq)]
pub struct LoopPlaces {
    /// Mass flow of each branch.
    pub flow: usize,
    /// Total pressure of each node; none where it is stated.
    pub pressure: Vec<Option<usize>>,
    /// Temperature of each node.
    pub node: usize,
    /// Temperature of each module.
    pub module: usize,
    /// Opening of each thermostat.
    pub opening: usize,
}

/// Where what a core meets of other cores is.
#[derive(Clone, Debug, PartialEq)]
pub struct CorePlaces {
    /// The air before each strip.
    pub before: Range<usize>,
    /// The coolant in its tanks, which its neighbours feel: where it enters, where it leaves. None without a plate.
    pub tanks: Option<[usize; 2]>,
}

/// Places of all unknowns.
#[derive(Clone, Debug, PartialEq)]
pub struct Places {
    /// By loop.
    pub loops: Vec<LoopPlaces>,
    /// By core; empty where no core meets another.
    pub cores: Vec<CorePlaces>,
    /// How many unknowns there are.
    pub size: usize,
}

impl Places {
    /// The places of a vehicle in a solved case.
    pub fn new(network: &Network, state: &CaseState) -> Self {
        let mut next = 0;
        let mut take = |count: usize| {
            let start = next;
            next += count;
            start
        };
        let loops = network.loops().iter().map(|circuit| {
            let net = &circuit.net;
            let flow = take(net.branches.len());
            let pressure = net.nodes.iter().map(|node| {
                let stated = matches!(node.kind, NodeKind::Fixed { .. });
                (!stated).then(|| take(1))
            });
            LoopPlaces {
                flow,
                pressure: pressure.collect(),
                node: take(net.nodes.len()),
                module: take(circuit.modules.len()),
                opening: take(circuit.thermostats.len()),
            }
        });
        let loops = loops.collect();
        let met = state.meeting.ties_cores(&state.airs);
        let cores = network.cores().iter().enumerate().filter(|_| met);
        let cores = cores.map(|(c, core)| {
            let start = take(core.strips.len());
            let tied = state.meeting.has_plates(c) && state.meeting.tanks(c).is_some();
            CorePlaces {
                before: start..start + core.strips.len(),
                tanks: tied.then(|| {
                    let first = take(2);
                    [first, first + 1]
                }),
            }
        });
        let cores = cores.collect();
        Self {
            loops,
            cores,
            size: next,
        }
    }

    /// The unknowns of a solved case.
    pub fn unknowns(&self, state: &CaseState) -> Vec<f64> {
        let mut z = vec![0.0; self.size];
        for (at, solved) in self.loops.iter().zip(&state.loops) {
            let put = |z: &mut [f64], start: usize, values: &[f64]| {
                z[start..start + values.len()].copy_from_slice(values);
            };
            put(&mut z, at.flow, &solved.flow.flow_kg_s);
            for (place, pa) in at.pressure.iter().zip(&solved.flow.node_pa) {
                if let Some(place) = place {
                    z[*place] = *pa;
                }
            }
            put(&mut z, at.node, &solved.heat.node_k);
            put(&mut z, at.module, &solved.heat.module_k);
            for (t, thermostat) in solved.circuit.thermostats.iter().enumerate() {
                z[at.opening + t] = thermostat.opening;
            }
        }
        for (c, core) in self.cores.iter().enumerate() {
            z[core.before.clone()].copy_from_slice(state.meeting.air_before_k(c));
            if let (Some([inlet, outlet]), Some(tanks)) = (core.tanks, state.meeting.tanks(c)) {
                (z[inlet], z[outlet]) = (tanks.inlet_k, tanks.outlet_k);
            }
        }
        z
    }

    /// Sets what cores meet to that of the unknowns.
    pub fn tell(&self, z: &[f64], meeting: &mut Meeting) {
        for (c, core) in self.cores.iter().enumerate() {
            meeting.set_before_k(c, &z[core.before.clone()]);
            if let Some([inlet, outlet]) = core.tanks {
                meeting.set_tanks(c, z[inlet], z[outlet]);
            }
        }
    }
}
