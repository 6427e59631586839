//! The network of a design: names resolved, rules checked, banks expanded, parts lowered to laws on a graph.
//! It solves nothing. A [`Network`] can be made only through [`Network::build`].

mod build;
mod case;
mod check;
mod error;
mod flow;
mod heights;
mod names;

mod pipework;
mod plan;
mod reach;
mod structure;
mod vehicle;

pub use build::BuildError;
pub use case::{Case, TimeSpan};
pub use error::{NetworkError, Rule};
pub use flow::{
    Branch, BranchEnd, Element, FlowNet, FlowPassage, HeatRole, Node, NodeKind, Passage, TeeNode,
};
pub use pipework::{PipeBranch, PipeNode, Pipework, PipeworkBuilder, PipeworkError};
pub use vehicle::{
    AirPath, BankMap, CoreTie, ExchangerTie, FanTie, HoseLoss, Loop, MachineHeat, MixingWay,
    ModuleNode, Network, PlateNode, RadiatorTie, Strip, TankNode, TankPlate, ThermostatNode,
    Transfer,
};
