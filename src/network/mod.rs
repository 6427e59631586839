//! The network of a design: names resolved, rules checked, banks expanded, parts lowered to laws on a graph.
//! It solves nothing. A [`Network`] can be made only through [`Network::build`].

mod air_path;
mod assemble_loop;
mod build;
mod case;
mod check;
mod error;
mod expand;
mod flow;
mod heights;
mod limit_names;
mod lower;

mod plan;
mod ports;
mod reach;
mod resolve_case;
mod structure;
mod vehicle;

pub use build::BuildError;
pub use case::{Case, TimeSpan};
pub use error::{NetworkError, Rule};
pub use flow::{
    Branch, BranchEnd, Element, FlowNet, FlowPassage, HeatRole, Node, NodeKind, Passage, TeeNode,
};
pub use vehicle::{
    AirPath, BankMap, CoreTie, ExchangerTie, FanTie, HoseLoss, Loop, MachineHeat, ModuleNode,
    Network, PlateNode, Strip, TankNode, ThermostatNode,
};
