//! A flow network in solver form: nodes, branches and the elements along them, for coolant and for air alike.
//! Nothing here knows the document; indices are places in the lists of the same [`FlowNet`].

use crate::correlation::tees::{TeeModel, TeeShape};
use crate::id::PartId;
use crate::part::{Law, Origin};
use crate::quantity::Pressure;
use petgraph::graph::{DiGraph, NodeIndex};
use std::ops::Range;

/// What holds at a node.
#[derive(Clone, Debug, PartialEq)]
pub enum NodeKind {
    /// Pressure stated, gauge or absolute.
    Fixed {
        /// The pressure.
        pressure: Pressure,
    },
    /// Flows sum to nothing.
    Meeting,
    /// A stated volume flow enters (negative: leaves), m3/s.
    Draw {
        /// The flow.
        inflow_m3_s: f64,
    },
    /// The inside of a tee; its legs are branch ends.
    Tee(TeeNode),
}

/// A tee in solver form.
#[derive(Clone, Debug, PartialEq)]
pub struct TeeNode {
    /// Loss model.
    pub model: TeeModel,
    /// Areas and angle.
    pub shape: TeeShape,
    /// For each of the legs `a`, `b`, `side`: the branch and which of its ends, or `None` for a capped leg.
    pub legs: [Option<(usize, BranchEnd)>; 3],
}

/// Which end of a branch.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BranchEnd {
    /// Where positive flow begins.
    Start,
    /// Where positive flow ends.
    Finish,
}

impl BranchEnd {
    /// Sign of a branch's flow into what stands at this end of it.
    pub fn sign(self) -> f64 {
        match self {
            Self::Start => -1.0,
            Self::Finish => 1.0,
        }
    }
}

impl TeeNode {
    /// Flow into the tee at each leg, given those of the branches; a capped leg has none.
    pub fn flows_in(&self, of_branches: &[f64]) -> [f64; 3] {
        let into = |(branch, end): (usize, BranchEnd)| end.sign() * of_branches[branch];
        self.legs.map(|leg| leg.map_or(0.0, into))
    }
}

/// A node.
#[derive(Clone, Debug, PartialEq)]
pub struct Node {
    /// Its name.
    pub id: PartId,
    /// What holds there.
    pub kind: NodeKind,
    /// Height above the datum, m.
    pub elevation_m: f64,
    /// Temperature of what enters from outside, where the design states it, K.
    pub inflow_temperature_k: Option<f64>,
}

/// A chain of elements between two nodes.
#[derive(Clone, Debug, PartialEq)]
pub struct Branch {
    /// Node where positive flow begins.
    pub from: usize,
    /// Node where positive flow ends.
    pub to: usize,
    /// Its elements, in the direction of positive flow.
    pub elements: Range<usize>,
    /// What it lets through.
    pub passage: Passage,
    /// Height of its last node less that of its last outlet, m.
    pub trail_m: f64,
}

/// What a branch lets through.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Passage {
    /// Either way.
    Open,
    /// Forward only, once the pressure exceeds this, Pa.
    OneWay {
        /// Pressure at which it opens.
        cracking_pa: f64,
    },
    /// Nothing.
    Shut,
}

/// One part, or one piece of an expanded part, along a branch.
#[derive(Clone, Debug, PartialEq)]
pub struct Element {
    /// Its name.
    pub id: PartId,
    /// The key of its kind.
    pub kind: &'static str,
    /// Where its numbers come from.
    pub origin: Option<Origin>,
    /// Its laws, places in the list of laws.
    pub laws: Range<usize>,
    /// Height of its outlet less that of its inlet, m.
    pub rise_m: f64,
    /// Height of its inlet less that of what stands before it, m: a step between two stated heights at a joint.
    pub lead_m: f64,
    /// Passage for velocity and Reynolds number, where it has one.
    pub passage: Option<FlowPassage>,
    /// What it does to the heat of its stream.
    pub heat: HeatRole,
    /// Measured span of flow, m3/s, where its drop comes from points.
    pub measured_span_m3_s: Option<(f64, f64)>,
    /// Coolant held, m3, where known.
    pub volume_m3: Option<f64>,
    /// Length along the flow, m (0 where the part has none).
    pub length_m: f64,
}

/// Area and diameter of the passage in which the velocity is told.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FlowPassage {
    /// Area of one passage, m2.
    pub area_m2: f64,
    /// Hydraulic diameter, m.
    pub diameter_m: f64,
    /// Equal passages side by side.
    pub parallel: f64,
}

/// What an element does to the heat of its stream; places in the lists of the loop.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum HeatRole {
    /// Nothing.
    Carries,
    /// A pump: gives all its coolant power here.
    Machine(usize),
    /// A module circuit.
    Circuit(usize),
    /// A heated plate, or a heater.
    Plate(usize),
    /// A radiator core.
    Core(usize),
    /// An exchanger to a fixed stream.
    Exchanger(usize),
    /// A hose that loses heat to its surroundings.
    Hose(usize),
}

/// A network of one fluid.
#[derive(Clone, Debug, Default)]
pub struct FlowNet {
    /// Nodes.
    pub nodes: Vec<Node>,
    /// Branches.
    pub branches: Vec<Branch>,
    /// Elements of all branches.
    pub elements: Vec<Element>,
    /// Laws of all elements.
    pub laws: Vec<Law>,
    /// The same nodes and branches as a graph: node and edge weights are indices.
    pub(crate) graph: DiGraph<usize, usize>,
}

impl FlowNet {
    /// Adds a node and returns its place.
    pub(crate) fn add_node(&mut self, id: PartId, kind: NodeKind) -> usize {
        let index = self.nodes.len();
        self.nodes.push(Node {
            id,
            kind,
            elevation_m: 0.0,
            inflow_temperature_k: None,
        });
        self.graph.add_node(index);
        index
    }

    /// Adds a branch over elements that were added last, and returns its place.
    pub(crate) fn add_branch(
        &mut self,
        from: usize,
        to: usize,
        elements: Range<usize>,
        passage: Passage,
    ) -> usize {
        let index = self.branches.len();
        self.branches.push(Branch {
            from,
            to,
            elements,
            passage,
            trail_m: 0.0,
        });
        self.graph
            .add_edge(NodeIndex::new(from), NodeIndex::new(to), index);
        index
    }

    /// Adds an element with its laws and returns its place.
    pub(crate) fn add_element(&mut self, mut element: Element, laws: Vec<Law>) -> usize {
        let start = self.laws.len();
        self.laws.extend(laws);
        element.laws = start..self.laws.len();
        self.elements.push(element);
        self.elements.len() - 1
    }

    /// Ties a leg of a tee to the end of a branch.
    pub(crate) fn tie(&mut self, tee: usize, leg: usize, branch: usize, end: BranchEnd) {
        if let NodeKind::Tee(node) = &mut self.nodes[tee].kind {
            node.legs[leg] = Some((branch, end));
        }
    }

    /// The branch of one element; branches stand in the order of their elements.
    pub fn branch_of(&self, element: usize) -> usize {
        self.branches.partition_point(|b| b.elements.end <= element)
    }

    /// The branch of each element.
    pub fn branch_of_elements(&self) -> Vec<usize> {
        let mut owner = vec![0; self.elements.len()];
        for (index, branch) in self.branches.iter().enumerate() {
            owner[branch.elements.clone()].fill(index);
        }
        owner
    }

    /// Connected pieces: for each node, the number of its piece, counted from 0 in the order of the nodes.
    pub fn pieces(&self) -> Vec<usize> {
        let mut sets = petgraph::unionfind::UnionFind::<usize>::new(self.nodes.len());
        for branch in &self.branches {
            sets.union(branch.from, branch.to);
        }
        let mut number = vec![usize::MAX; self.nodes.len()];
        let mut next = 0;
        (0..self.nodes.len())
            .map(|node| {
                let root = sets.find(node);
                if number[root] == usize::MAX {
                    number[root] = next;
                    next += 1;
                }
                number[root]
            })
            .collect()
    }
}

impl Element {
    /// A bare element: no law, no heat, no passage.
    pub(crate) fn new(id: PartId, kind: &'static str, origin: Option<Origin>) -> Self {
        Self {
            id,
            kind,
            origin,
            laws: 0..0,
            rise_m: 0.0,
            lead_m: 0.0,
            passage: None,
            heat: HeatRole::Carries,
            measured_span_m3_s: None,
            volume_m3: None,
            length_m: 0.0,
        }
    }
}
