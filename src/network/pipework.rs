//! A bare network for programs: nodes and branches with laws, one fluid at one temperature, no names, no tees, no heat.
//! Made for networks of a million branches; the solver behind it is the one that solves designs.

use crate::finding::{Finding, FindingKind};
use crate::fluid::Properties;
use crate::id::Subject;
use crate::part::{Law, LawTable};
use crate::quantity::AbsolutePressure;
use petgraph::unionfind::UnionFind;
use std::fmt;

/// A node of a [`Pipework`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct PipeNode(u32);

/// A branch of a [`Pipework`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct PipeBranch(u32);

impl PipeNode {
    /// Its place in lists of nodes.
    pub fn index(self) -> usize {
        self.0 as usize
    }
}

impl PipeBranch {
    /// Its place in lists of branches.
    pub fn index(self) -> usize {
        self.0 as usize
    }
}

/// Why a bare network is refused.
#[derive(Clone, Debug, PartialEq)]
pub enum PipeworkError {
    /// A node of another network, or none.
    UnknownNode {
        /// The node.
        node: usize,
        /// How many there are.
        nodes: usize,
    },
    /// A number that is not finite, or a loss that is none.
    BadNumber {
        /// What it is.
        what: &'static str,
        /// The node or branch.
        index: usize,
        /// What was given or came of it.
        value: f64,
    },
    /// A branch without any law.
    NoLaw {
        /// The branch.
        branch: usize,
    },
    /// Two pressures stated for one node.
    TwoPressures {
        /// The node.
        node: usize,
        /// The first, Pa.
        first_pa: f64,
        /// The second, Pa.
        second_pa: f64,
    },
    /// A flow stated where a pressure is.
    FlowAtPressure {
        /// The node.
        node: usize,
    },
    /// A connected piece without a stated pressure.
    Island {
        /// The first node of the piece.
        node: usize,
    },
    /// More nodes or branches than can be counted.
    TooMany {
        /// The limit.
        limit: usize,
    },
}

impl fmt::Display for PipeworkError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::UnknownNode { node, nodes } => write!(
                f,
                "cannot join node {node} because it is not in this network: got {node}, limit {nodes} nodes; try the values that `node` returned"
            ),
            Self::BadNumber { what, index, value } => write!(
                f,
                "cannot use the {what} of {index} because it is not a finite number above its limit: got {value}; try SI units within the range of `f64`"
            ),
            Self::NoLaw { branch } => write!(
                f,
                "cannot tell the flow of branch {branch} because it has no law: got 0 laws, limit 1; try joining its ends to one node"
            ),
            Self::TwoPressures {
                node,
                first_pa,
                second_pa,
            } => write!(
                f,
                "cannot hold node {node} at two pressures: got {second_pa} Pa, limit {first_pa} Pa stated before; try two nodes with a branch between"
            ),
            Self::FlowAtPressure { node } => write!(
                f,
                "cannot state a flow at node {node} because its pressure is stated and any flow may enter there; try another node"
            ),
            Self::Island { node } => write!(
                f,
                "cannot tell pressures around node {node} because its piece of the network has no stated pressure; try `fix` on one of its nodes"
            ),
            Self::TooMany { limit } => write!(
                f,
                "cannot add another node or branch because they are counted in 32 bits: limit {limit}; try dividing the network"
            ),
        }
    }
}

impl std::error::Error for PipeworkError {}

/// Most nodes, and most branches.
const MOST: usize = u32::MAX as usize - 1;
/// Velocity at which a law is tried, m/s, by the flow through 1 cm2 (any will do).
const TRIAL_AREA_M2: f64 = 1.0e-4;

/// A bare network in the making.
///
/// ```
/// use loopwright::fluid::Coolant;
/// use loopwright::network::PipeworkBuilder;
/// use loopwright::part::{Law, TwoTerm};
/// use loopwright::quantity::AbsolutePressure;
/// use loopwright::solve::{PipeStart, PipeworkSolver};
/// let water = Coolant::water().properties_extended(293.15);
/// let rho = water.density_kg_m3;
/// let mut builder = PipeworkBuilder::new(water);
/// let (high, low) = (builder.node(0.0)?, builder.node(0.0)?);
/// builder.fix(high, AbsolutePressure::from_pa(120e3))?;
/// builder.fix(low, AbsolutePressure::from_pa(100e3))?;
/// builder.branch(high, low, 0.1, &[Law::TwoTerm(TwoTerm::symmetric(0.0, 1e9))])?;
/// let mut solver = PipeworkSolver::new(builder.build().map_err(|mut e| e.remove(0))?);
/// let flows = solver.solve(PipeStart::Cold)?;
/// assert!((flows.flow_kg_s[0] - (20e3 / 1e9 * rho).sqrt()).abs() < 1e-9);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug)]
pub struct PipeworkBuilder {
    pipework: Pipework,
}

/// A bare network that passed its checks; made by [`PipeworkBuilder::build`].
#[derive(Clone, Debug)]
pub struct Pipework {
    pub(crate) fluid: Properties,
    pub(crate) elevation_m: Vec<f64>,
    /// Stated absolute pressure, Pa; not a number where none is stated.
    pub(crate) fixed_pa: Vec<f64>,
    pub(crate) inflow_m3_s: Vec<f64>,
    pub(crate) ends: Vec<[u32; 2]>,
    pub(crate) start_kg_s: Vec<f64>,
    pub(crate) table: LawTable,
    pub(crate) alone: Vec<Law>,
    /// Branches with nothing but pumps, sorted.
    pub(crate) weak: Vec<u32>,
    machines: usize,
}

impl PipeworkBuilder {
    /// An empty network of one fluid.
    pub fn new(fluid: Properties) -> Self {
        Self::with_capacity(fluid, 0, 0)
    }

    /// The same with room for so many nodes and branches.
    pub fn with_capacity(fluid: Properties, nodes: usize, branches: usize) -> Self {
        Self {
            pipework: Pipework {
                fluid,
                elevation_m: Vec::with_capacity(nodes),
                fixed_pa: Vec::with_capacity(nodes),
                inflow_m3_s: Vec::with_capacity(nodes),
                ends: Vec::with_capacity(branches),
                start_kg_s: Vec::with_capacity(branches),
                table: LawTable::default(),
                alone: Vec::new(),
                weak: Vec::new(),
                machines: 0,
            },
        }
    }

    /// Adds a node where flows sum to nothing, at a height in m.
    ///
    /// # Errors
    /// [`PipeworkError`] for a height that is not finite, or a node too many.
    pub fn node(&mut self, elevation_m: f64) -> Result<PipeNode, PipeworkError> {
        let index = self.pipework.elevation_m.len();
        if index >= MOST {
            return Err(PipeworkError::TooMany { limit: MOST });
        }
        finite("height of node", index, elevation_m)?;
        self.pipework.elevation_m.push(elevation_m);
        self.pipework.fixed_pa.push(f64::NAN);
        self.pipework.inflow_m3_s.push(0.0);
        Ok(PipeNode(index as u32))
    }

    /// States the pressure of a node.
    ///
    /// # Errors
    /// [`PipeworkError`] for a number that is not finite, a second pressure that differs, or a node with a stated flow.
    pub fn fix(&mut self, node: PipeNode, pressure: AbsolutePressure) -> Result<(), PipeworkError> {
        let n = self.known(node)?;
        finite("pressure of node", n, pressure.pa())?;
        let before = self.pipework.fixed_pa[n];
        if !before.is_nan() && before != pressure.pa() {
            return Err(PipeworkError::TwoPressures {
                node: n,
                first_pa: before,
                second_pa: pressure.pa(),
            });
        }
        if self.pipework.inflow_m3_s[n] != 0.0 {
            return Err(PipeworkError::FlowAtPressure { node: n });
        }
        self.pipework.fixed_pa[n] = pressure.pa();
        Ok(())
    }

    /// States what enters at a node (negative: leaves), m3/s.
    ///
    /// # Errors
    /// [`PipeworkError`] for a number that is not finite, or a node with a stated pressure.
    pub fn inflow(&mut self, node: PipeNode, inflow_m3_s: f64) -> Result<(), PipeworkError> {
        let n = self.known(node)?;
        finite("inflow at node", n, inflow_m3_s)?;
        if !self.pipework.fixed_pa[n].is_nan() {
            return Err(PipeworkError::FlowAtPressure { node: n });
        }
        self.pipework.inflow_m3_s[n] = inflow_m3_s;
        Ok(())
    }

    /// Adds a branch of laws in series. `start_kg_s` is a flow near which it may work: the first guess is linearised
    /// there.
    ///
    /// # Errors
    /// [`PipeworkError`] for a node that is not known, no law, or a law whose drop is not finite.
    pub fn branch(
        &mut self,
        from: PipeNode,
        to: PipeNode,
        start_kg_s: f64,
        laws: &[Law],
    ) -> Result<PipeBranch, PipeworkError> {
        let ends = [self.known(from)? as u32, self.known(to)? as u32];
        let p = &mut self.pipework;
        let index = p.ends.len();
        if index >= MOST {
            return Err(PipeworkError::TooMany { limit: MOST });
        }
        if !(start_kg_s > 0.0 && start_kg_s.is_finite()) {
            return Err(PipeworkError::BadNumber {
                what: "starting flow of branch",
                index,
                value: start_kg_s,
            });
        }
        if laws.is_empty() {
            return Err(PipeworkError::NoLaw { branch: index });
        }
        for law in laws {
            for flow in [start_kg_s, TRIAL_AREA_M2 * p.fluid.density_kg_m3] {
                let drop = law.drop(flow, &p.fluid);
                finite("pressure drop of branch", index, drop.drop_pa)?;
                finite("slope of branch", index, drop.slope_pa_s_kg)?;
                if drop.slope_pa_s_kg < 0.0 {
                    return Err(PipeworkError::BadNumber {
                        what: "slope of branch",
                        index,
                        value: drop.slope_pa_s_kg,
                    });
                }
            }
        }
        if laws.iter().all(|l| matches!(l, Law::Machine(_))) {
            p.weak.push(index as u32);
        }
        for law in laws {
            p.table
                .push(index as u32, law, &p.fluid, (p.alone.len() as u32, 0));
            if !LawTable::holds(law) {
                p.alone.push(law.clone());
            }
            p.machines += usize::from(matches!(law, Law::Machine(_)));
        }
        p.ends.push(ends);
        p.start_kg_s.push(start_kg_s);
        Ok(PipeBranch(index as u32))
    }

    /// All nodes so far, in the order in which they were added.
    pub fn nodes(&self) -> impl Iterator<Item = PipeNode> + use<> {
        (0..self.pipework.elevation_m.len() as u32).map(PipeNode)
    }

    fn known(&self, node: PipeNode) -> Result<usize, PipeworkError> {
        let nodes = self.pipework.elevation_m.len();
        if node.index() < nodes {
            Ok(node.index())
        } else {
            Err(PipeworkError::UnknownNode {
                node: node.index(),
                nodes,
            })
        }
    }

    /// Checks the whole network.
    ///
    /// # Errors
    /// Every piece without a stated pressure.
    pub fn build(mut self) -> Result<Pipework, Vec<PipeworkError>> {
        let p = &mut self.pipework;
        let nodes = p.elevation_m.len();
        let mut sets = UnionFind::<u32>::new(nodes);
        for &[from, to] in &p.ends {
            sets.union(from, to);
        }
        let mut held = vec![false; nodes];
        for n in (0..nodes).filter(|&n| !p.fixed_pa[n].is_nan()) {
            held[sets.find_mut(n as u32) as usize] = true;
        }
        let mut errors = Vec::new();
        for n in 0..nodes {
            let root = sets.find_mut(n as u32) as usize;
            if !held[root] {
                held[root] = true;
                errors.push(PipeworkError::Island { node: n });
            }
        }
        if !errors.is_empty() {
            return Err(errors);
        }
        p.table.finish();
        Ok(self.pipework)
    }
}

fn finite(what: &'static str, index: usize, value: f64) -> Result<(), PipeworkError> {
    if value.is_finite() {
        Ok(())
    } else {
        Err(PipeworkError::BadNumber { what, index, value })
    }
}

impl Pipework {
    /// How many branches there are.
    pub fn branches(&self) -> usize {
        self.ends.len()
    }

    /// How many nodes there are.
    pub fn nodes(&self) -> usize {
        self.elevation_m.len()
    }

    /// The nodes at both ends of each branch.
    pub fn ends(&self) -> impl Iterator<Item = [PipeNode; 2]> + '_ {
        self.ends.iter().map(|ends| ends.map(PipeNode))
    }

    /// What enters at a node, m3/s, or `None` where its pressure is stated (or the node is not known).
    pub fn stated_inflow_m3_s(&self, node: usize) -> Option<f64> {
        let fixed_pa = self.fixed_pa.get(node)?;
        fixed_pa.is_nan().then(|| self.inflow_m3_s[node])
    }

    /// What is odd about it: nothing that moves the fluid.
    pub fn findings(&self) -> Vec<Finding> {
        let fixed = self.fixed_pa.iter().filter(|p| !p.is_nan()).count();
        let flows = self.inflow_m3_s.iter().filter(|q| **q != 0.0).count();
        if self.machines == 0 && fixed + flows < 2 {
            let subject = Subject::whole("pipework");
            let text = "nothing moves the fluid: there is no pump, and no two ends of different pressure or flow";
            return vec![Finding::new(FindingKind::NoDriver, subject, text)];
        }
        Vec::new()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fluid::Coolant;
    use crate::part::TwoTerm;

    fn builder() -> PipeworkBuilder {
        PipeworkBuilder::new(Coolant::water().properties_extended(300.0))
    }

    fn loss() -> [Law; 1] {
        [Law::TwoTerm(TwoTerm::symmetric(1e7, 1e9))]
    }

    #[test]
    fn each_mistake_is_a_typed_error() -> Result<(), PipeworkError> {
        let mut b = builder();
        let (one, two, three) = (b.node(0.0)?, b.node(0.0)?, b.node(1.0)?);
        let bar = AbsolutePressure::from_pa(1e5);
        b.fix(one, bar)?;
        b.fix(one, bar)?;
        let other = AbsolutePressure::from_pa(2e5);
        assert!(matches!(
            b.fix(one, other),
            Err(PipeworkError::TwoPressures { .. })
        ));
        assert!(matches!(
            b.inflow(one, 1e-4),
            Err(PipeworkError::FlowAtPressure { node: 0 })
        ));
        b.inflow(two, -1e-4)?;
        assert!(matches!(
            b.fix(two, bar),
            Err(PipeworkError::FlowAtPressure { node: 1 })
        ));
        assert!(matches!(
            b.node(f64::NAN),
            Err(PipeworkError::BadNumber { .. })
        ));
        assert!(matches!(
            b.branch(one, two, 0.1, &[]),
            Err(PipeworkError::NoLaw { branch: 0 })
        ));
        assert!(matches!(
            b.branch(one, two, 0.0, &loss()),
            Err(PipeworkError::BadNumber { .. })
        ));
        let huge = [Law::TwoTerm(TwoTerm::symmetric(0.0, f64::MAX))];
        assert!(matches!(
            b.branch(one, two, 1e5, &huge),
            Err(PipeworkError::BadNumber { .. })
        ));
        assert!(matches!(
            b.branch(one, PipeNode(9), 0.1, &loss()),
            Err(PipeworkError::UnknownNode { node: 9, nodes: 3 })
        ));
        b.branch(one, two, 0.1, &loss())?;
        assert_eq!(
            b.clone().build().err(),
            Some(vec![PipeworkError::Island { node: 2 }])
        );
        b.branch(two, three, 0.1, &loss())?;
        assert!(b.build().is_ok());
        Ok(())
    }

    #[test]
    fn a_network_that_nothing_moves_is_told() -> Result<(), PipeworkError> {
        let mut b = builder();
        let (one, two) = (b.node(0.0)?, b.node(0.0)?);
        b.fix(one, AbsolutePressure::from_pa(1e5))?;
        b.branch(one, two, 0.1, &loss())?;
        let findings = b.clone().build().map(|p| p.findings().len());
        assert_eq!(findings, Ok(1));
        b.inflow(two, 1e-4)?;
        assert_eq!(b.build().map(|p| p.findings().len()), Ok(0));
        Ok(())
    }
}
