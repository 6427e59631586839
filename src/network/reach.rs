//! How far the shut-off head of a pump reaches: the elements behind it in the direction of the runs, up to the places
//! that coolant must pass on its way from the pressure reference to the pump.

use super::flow::NodeKind;
use super::vehicle::Loop;
use petgraph::algo::dominators::simple_fast;
use petgraph::graph::NodeIndex;

impl Loop {
    /// For each pump, by the list of machines: which elements may stand under its full rise when nothing flows.
    ///
    /// The path may be shut at any place behind the pump, so all that follows it counts, the pump's outlet included.
    /// A node that every way from a stated pressure to the pump leads through keeps the pressure it has without the pump.
    pub fn pump_reach(&self) -> Vec<Vec<bool>> {
        let net = &self.net;
        let mut graph = net.graph.clone();
        let root = graph.add_node(usize::MAX);
        for (n, node) in net.nodes.iter().enumerate() {
            if matches!(node.kind, NodeKind::Fixed { .. }) {
                graph.add_edge(root, NodeIndex::new(n), usize::MAX);
            }
        }
        let before = simple_fast(&graph, root);
        let owner = net.branch_of_elements();
        self.machines
            .iter()
            .map(|machine| {
                let own = &net.branches[owner[machine.element]];
                let mut closed: Vec<bool> = net
                    .nodes
                    .iter()
                    .map(|n| matches!(n.kind, NodeKind::Fixed { .. }))
                    .collect();
                closed[own.from] = true;
                let passed = before.dominators(NodeIndex::new(own.from));
                for node in passed.into_iter().flatten().filter(|n| *n != root) {
                    closed[node.index()] = true;
                }
                let mut reached = vec![false; net.elements.len()];
                reached[machine.element..own.elements.end].fill(true);
                let mut next = vec![own.to];
                while let Some(node) = next.pop() {
                    if std::mem::replace(&mut closed[node], true) {
                        continue;
                    }
                    for branch in net.branches.iter().filter(|b| b.from == node) {
                        reached[branch.elements.clone()].fill(true);
                        next.push(branch.to);
                    }
                }
                reached
            })
            .collect()
    }
}
