//! The document: one struct a section of the design file. The schema is generated from these types, and nothing else
//! defines what a design file may hold.

use super::case::CaseRecord;
use super::coolant::CoolantRecord;
use super::limits::Limits;
use crate::correlation::friction::FrictionModel;
use crate::part::{Module, Part, PipeLaw, Radiator, TeeLosses};
use crate::quantity::UnitFamily;
use indexmap::IndexMap;
use serde::{Deserialize, Serialize};

/// A design file: coolants, modules, loops, radiators, cases and limits.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Design {
    /// Version of the file format; this is 1.
    #[cfg_attr(test, schemars(range(min = 1, max = 1)))]
    pub format: u32,
    /// What the design is called on every page.
    #[cfg_attr(test, schemars(length(min = 1, max = 200)))]
    pub title: String,
    /// The family of units that results are printed in (default metric).
    pub units: Option<UnitFamily>,
    /// How friction and tees are reckoned; every choice has a default.
    pub methods: Option<Methods>,
    /// Coolants, each under a name of its own.
    #[cfg_attr(test, schemars(extend("x-names" = true, "minProperties" = 1)))]
    pub coolants: IndexMap<String, CoolantRecord>,
    /// Battery modules, each described once.
    #[serde(default)]
    #[cfg_attr(test, schemars(extend("x-names" = true)))]
    pub modules: IndexMap<String, Module>,
    /// The loops.
    #[cfg_attr(test, schemars(extend("x-names" = true, "minProperties" = 1)))]
    pub loops: IndexMap<String, LoopRecord>,
    /// Radiators, whose cores the loops share.
    #[serde(default)]
    #[cfg_attr(test, schemars(extend("x-names" = true)))]
    pub radiators: IndexMap<String, Radiator>,
    /// The cases to be solved.
    #[cfg_attr(test, schemars(extend("x-names" = true, "minProperties" = 1)))]
    pub cases: IndexMap<String, CaseRecord>,
    /// What must hold in every case.
    pub limits: Option<Limits>,
}

/// One loop: its coolant, its parts and how they follow one another.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct LoopRecord {
    /// The coolant, by its name under `coolants`.
    pub coolant: String,
    /// The parts, each under a name that is unique in the loop.
    #[cfg_attr(test, schemars(extend("x-names" = true, "minProperties" = 1)))]
    pub parts: IndexMap<String, Part>,
    /// Runs: chains of part names in the direction of flow. A tee is named with its end (`split.side`), a core with its
    /// radiator (`nose.battery`).
    #[cfg_attr(test, schemars(length(min = 1)))]
    pub runs: Vec<Vec<String>>,
}

/// How friction and tees are reckoned.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Methods {
    /// The law of wall friction (default `darcy_weisbach`).
    pub pipe_law: Option<PipeLaw>,
    /// The friction factor of Darcy-Weisbach (default `churchill`).
    pub friction_factor: Option<FrictionChoice>,
    /// Whether short ducts pay for their developing flow (default `on`).
    pub entrance_friction: Option<Switch>,
    /// The loss coefficients of tees (default `momentum`).
    pub tee_losses: Option<TeeLosses>,
}

/// The friction factor of Darcy-Weisbach.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum FrictionChoice {
    /// Churchill (1977), laminar to turbulent in one formula.
    #[default]
    Churchill,
    /// Colebrook (1939), with a bridge to laminar flow.
    Colebrook,
    /// Haaland (1983), with a bridge to laminar flow.
    Haaland,
    /// Swamee and Jain (1976), with a bridge to laminar flow.
    SwameeJain,
}

impl FrictionChoice {
    /// The model of the correlation room.
    pub fn model(self) -> FrictionModel {
        match self {
            Self::Churchill => FrictionModel::Churchill,
            Self::Colebrook => FrictionModel::Colebrook,
            Self::Haaland => FrictionModel::Haaland,
            Self::SwameeJain => FrictionModel::SwameeJain,
        }
    }
}

/// On or off.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Switch {
    /// On.
    On,
    /// Off.
    Off,
}
