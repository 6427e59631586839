//! Places of all unknowns of a network and of every entry of its matrix, made once per topology.

use super::linear::{NO_PLACE, Pivot, Saddle, SaddleShape};
use crate::correlation::tees::TeeModel;
use crate::network::{FlowNet, NodeKind, TeeNode};
use crate::part::Law;
use std::collections::HashMap;

/// A tee whose legs have losses.
pub struct TeeSlots {
    /// The node.
    pub node: usize,
    /// Its legs that have a branch.
    pub legs: [Option<LegSlots>; 3],
}

/// A leg with a branch.
pub struct LegSlots {
    /// The branch.
    pub branch: usize,
    /// Sign of its flow into the tee.
    pub sign: f64,
    /// Entries of its row over the flows of the three legs.
    pub row: [TieSlot; 3],
}

impl TeeSlots {
    fn are_of(&self, node: usize, tee: &TeeNode) -> bool {
        let loses = tee.model != TeeModel::Lossless;
        self.node == node
            && (self.legs.iter().zip(&tee.legs)).all(|(slots, leg)| match (slots, leg) {
                (Some(slots), Some((branch, end))) => {
                    let tied = slots.row.iter().any(|s| *s != TieSlot::None);
                    slots.branch == *branch && slots.sign == end.sign() && tied == loses
                }
                (None, None) => true,
                _ => false,
            })
    }
}

/// Where the slope of a leg's equation over the flow of a leg goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TieSlot {
    /// Nowhere: no branch there, or a tee without loss.
    None,
    /// To the branch's own slope.
    Own,
    /// To this tie.
    Tie(usize),
}

/// Places of unknowns: mass flow of every branch, then total pressure of every node without a stated one.
pub struct Layout {
    /// Nodes at both ends of each branch.
    pub ends: Vec<[u32; 2]>,
    /// Place of each node among the free ones, [`NO_PLACE`] where its pressure is stated.
    pub places: Vec<u32>,
    /// Tees, in the order of their nodes.
    pub tees: Vec<TeeSlots>,
    /// How many unknowns there are.
    pub size: usize,
}

impl Layout {
    /// The layout of a network and its empty matrix.
    pub fn new(net: &FlowNet) -> (Self, Saddle) {
        let ends = net.branches.iter().map(|b| [b.from as u32, b.to as u32]);
        let fixed = net.nodes.iter();
        let fixed = fixed.map(|n| matches!(n.kind, NodeKind::Fixed { .. }));
        let mut ties = Ties::default();
        let tees = net.nodes.iter().enumerate();
        let tees = tees.filter_map(|(node, n)| match &n.kind {
            NodeKind::Tee(tee) => Some(TeeSlots {
                node,
                legs: leg_slots(tee, &mut ties),
            }),
            _ => None,
        });
        let tees = tees.collect();
        Self::with_parts(
            ends.collect(),
            fixed,
            tees,
            ties.list,
            pivots(net).collect(),
        )
    }

    /// Whether a network has these very places: the same branches between the same nodes, the same tees.
    pub fn fits(&self, net: &FlowNet) -> bool {
        let ends = net.branches.iter().map(|b| [b.from as u32, b.to as u32]);
        let fixed = net.nodes.iter();
        let fixed = fixed.map(|n| matches!(n.kind, NodeKind::Fixed { .. }));
        let tees = net.nodes.iter().enumerate();
        let tees = tees.filter_map(|(node, n)| match &n.kind {
            NodeKind::Tee(tee) => Some((node, tee)),
            _ => None,
        });
        net.nodes.len() == self.places.len()
            && ends.eq(self.ends.iter().copied())
            && fixed.eq(self.places.iter().map(|p| *p == NO_PLACE))
            && tees.clone().count() == self.tees.len()
            && (tees.zip(&self.tees)).all(|((node, tee), slots)| slots.are_of(node, tee))
    }

    /// The layout of branches between nodes, given which nodes have a stated pressure.
    pub fn with_parts(
        ends: Vec<[u32; 2]>,
        fixed: impl Iterator<Item = bool>,
        tees: Vec<TeeSlots>,
        ties: Vec<(u32, u32)>,
        pivots: Vec<Pivot>,
    ) -> (Self, Saddle) {
        let mut free = 0;
        let places: Vec<u32> = fixed
            .map(|fixed| {
                if fixed {
                    return NO_PLACE;
                }
                free += 1;
                free - 1
            })
            .collect();
        let free = free as usize;
        let place = |node: u32| places[node as usize];
        let shape = SaddleShape {
            ends: ends.iter().map(|&[a, b]| [place(a), place(b)]).collect(),
            free,
            pivots,
            ties,
        };
        let layout = Self {
            size: ends.len() + free,
            ends,
            places,
            tees,
        };
        (layout, Saddle::new(shape))
    }
}

/// Ties without doubles.
#[derive(Default)]
struct Ties {
    list: Vec<(u32, u32)>,
    known: HashMap<(usize, usize), usize>,
}

impl Ties {
    fn slot(&mut self, row: usize, column: usize) -> TieSlot {
        if row == column {
            return TieSlot::Own;
        }
        let list = &mut self.list;
        let slot = *self.known.entry((row, column)).or_insert_with(|| {
            list.push((row as u32, column as u32));
            list.len() - 1
        });
        TieSlot::Tie(slot)
    }
}

fn leg_slots(tee: &TeeNode, ties: &mut Ties) -> [Option<LegSlots>; 3] {
    let loses = tee.model != TeeModel::Lossless;
    tee.legs.map(|leg| {
        leg.map(|(branch, end)| LegSlots {
            branch,
            sign: end.sign(),
            row: tee.legs.map(|other| match other {
                Some((column, _)) if loses => ties.slot(branch, column),
                _ => TieSlot::None,
            }),
        })
    })
}

/// What each branch can be divided by.
pub fn pivots(net: &FlowNet) -> impl Iterator<Item = Pivot> {
    (0..net.branches.len()).map(|j| pivot(net, j))
}

/// A wall has friction at any flow, and so has a laminar share; a pump may be flat, and a turbulent loss is at rest.
fn pivot(net: &FlowNet, branch: usize) -> Pivot {
    let mut laws = net.elements[net.branches[branch].elements.clone()]
        .iter()
        .flat_map(|e| &net.laws[e.laws.clone()]);
    let rises = |law: &Law| match law {
        Law::Duct(_) | Law::HazenWilliams(_) | Law::Dimpled(_) | Law::LouvredFins(_) => true,
        Law::TwoTerm(two) => two.a > 0.0,
        Law::Machine(_) => false,
    };
    if laws.any(rises) {
        Pivot::Loss
    } else {
        Pivot::Weak
    }
}
