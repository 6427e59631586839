//! The adjoint: how one output moves with every equation, by one back-substitution with the matrix turned over.

use super::{Linearised, NoSlopes};

/// An unknown of a solved case, by places in the network.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unknown {
    /// Mass flow of a branch, kg/s.
    Flow {
        /// The loop.
        circuit: usize,
        /// The branch.
        branch: usize,
    },
    /// Temperature of a node, K.
    Node {
        /// The loop.
        circuit: usize,
        /// The node.
        node: usize,
    },
    /// Temperature of a module, K.
    Module {
        /// The loop.
        circuit: usize,
        /// The module.
        module: usize,
    },
}

/// How one output moves with what is added to any equation of the solved case.
#[derive(Clone)]
pub struct Gradient<'l, 'n> {
    of: &'l Linearised<'n>,
    weight: Vec<f64>,
}

impl<'n> Linearised<'n> {
    /// The gradient of a weighted sum of unknowns, such as a spread (one module less another) or one flow.
    ///
    /// # Errors
    /// [`NoSlopes::Singular`] where the equations leave an unknown open.
    pub fn gradient(&mut self, output: &[(Unknown, f64)]) -> Result<Gradient<'_, 'n>, NoSlopes> {
        let mut weight = vec![0.0; self.z.len()];
        for (unknown, share) in output {
            weight[self.place(*unknown)] += share;
        }
        self.slopes.solve_turned(&mut weight)?;
        Ok(Gradient { of: self, weight })
    }

    fn place(&self, unknown: Unknown) -> usize {
        let loops = &self.vehicle.places.loops;
        match unknown {
            Unknown::Flow { circuit, branch } => loops[circuit].flow + branch,
            Unknown::Node { circuit, node } => loops[circuit].node + node,
            Unknown::Module { circuit, module } => loops[circuit].module + module,
        }
    }
}

impl Gradient<'_, '_> {
    /// Change of the output for each pascal of loss added along a branch, at the same flow. A length, a loss coefficient
    /// and a bore act through it: times what a step of them adds to the loss of the branch, it is the slope over them.
    pub fn over_loss(&self, circuit: usize, branch: usize) -> f64 {
        let vehicle = &self.of.vehicle;
        if vehicle.is_closed(circuit, branch) {
            return 0.0;
        }
        self.weight[vehicle.places.loops[circuit].flow + branch] / vehicle.scales.loops[circuit].1
    }

    /// Change of the output where all losses of an element grow by their own size, in proportion: a hundredth of it is what
    /// one percent more does. The loss of a pump is its rise with the sign turned.
    pub fn over_element_loss(&self, circuit: usize, element: usize) -> f64 {
        let vehicle = &self.of.vehicle;
        let own = &vehicle.circuits[circuit];
        let branch = own.net.branch_of(element);
        let fluid = (own.coolant).properties_extended(vehicle.heats[circuit].mean_k(element));
        let flow = vehicle.flow_kg_s(circuit, branch);
        let laws = &own.net.laws[own.net.elements[element].laws.clone()];
        let loss_pa: f64 = laws.iter().map(|l| l.drop(flow, &fluid).drop_pa).sum();
        self.over_loss(circuit, branch) * loss_pa
    }

    /// Change of the output for each watt more in a module.
    pub fn over_module_heat(&self, circuit: usize, module: usize) -> f64 {
        let vehicle = &self.of.vehicle;
        let scale = vehicle.scales.module_k_w[circuit][module];
        self.weight[vehicle.places.loops[circuit].module + module] * scale
    }

    /// Change of the output for each watt given to the coolant that reaches a node.
    pub fn over_node_heat(&self, circuit: usize, node: usize) -> f64 {
        let vehicle = &self.of.vehicle;
        let scale = vehicle.scales.node_k_w[circuit][node];
        -self.weight[vehicle.places.loops[circuit].node + node] * scale
    }
}
