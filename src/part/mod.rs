//! The parts of a loop, one record a kind: what a builder writes in a design file, and the laws each is lowered to.
//! A part knows its own numbers only: no neighbour, no case, no solver.

mod air_loss;
mod air_side;
mod bank;
mod conduit;
mod contact;
mod curve;
mod cut;
mod devices;
mod drop;
mod ends;
mod fins;
mod header;
mod heat_table;
mod hose;
mod law;
mod law_table;
mod module;
mod origin;
mod pump;
mod radiator;
mod record;
mod tank_leak;
mod tee;
mod thermostat;
mod tubes;

pub use air_loss::{AirLoss, AirLosses};
pub use air_side::{AirConductance, AirWay, RATED_EXPONENT, Rating};
pub use bank::{
    Bank, DISC_THICKNESS_M, Layout, ModuleException, ModuleFault, PortRestrictor, Side,
};
pub use conduit::{
    AnnulusSection, BoreCount, Conduit, Count, DRAWN_TUBE_ROUGHNESS_M, Fitting, InsideSizes,
    LossCount, PipeLaw, RoundSection, SMOOTH_TUBE_C, Section, SectionError, SquareSection,
    WallFriction,
};
pub use contact::{Channel, Contact, ThermalTest, one_way};
pub use curve::{Curve, CurveError};
pub use cut::{CutFault, CutPlace, FaceBounds, FaceOffset, FaceRectangle, SAME_EDGE_M};
pub use devices::{
    CheckValve, Exchanger, FixedStream, Heater, Plate, Restrictor, StreamArrangement, Valve,
};
pub use drop::{Lowered, PressureDrop, SinglePoint, stated_loss, valve_law};
pub use ends::{Draw, ExpansionTank, Joint, OpenEnd};
pub use fins::{
    FIN_CONDUCTIVITY_W_M_K, FaceHeat, FinError, FinnedFace, LouvredFins, LouvredPath, PlainFins,
};
pub use header::{Header, HeaderEnd, HeaderStep, TubeSection};
pub use heat_table::{BadRow, HeatTable, Load, Reach, TableLoad, TableReading};
pub use hose::{Hose, Tail, bore_or_section};
pub use law::{Drop, HazenWilliams, Law, Machine, MachineRegion, TwoTerm};
pub use law_table::{Among, LawStore, LawTable};
pub use module::{Module, ModuleHeat, Resistance};
pub use origin::Origin;
pub use pump::{CurveCoolant, Pump};
pub use radiator::{
    AirPressureDrop, AirSide, ConductanceLaw, Core, Fan, Radiator, Ram, Share, TubeDirection, Tubes,
};
pub use record::Placed;
pub use tank_leak::TankLeak;
pub use tee::{MomentumFactors, TEE_ENDS, Tee, TeeLosses};
pub use thermostat::{Lift, MIXING_ENDS, MixingThermostat, Thermostat};
pub use tubes::{
    CoreArrangement, Dimpled, DimpledDuct, Regime, TankShape, coolant_conductance_w_k,
};

use serde::{Deserialize, Serialize};

/// A part of a loop, by its kind. The set is closed.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Part {
    /// Sets the pressure of a closed loop.
    ExpansionTank(ExpansionTank),
    /// A place of stated pressure.
    OpenEnd(OpenEnd),
    /// A lossless meeting point.
    Joint(Joint),
    /// A stated inflow or outflow.
    Draw(Draw),
    /// Two runs and a side outlet.
    Tee(Tee),
    /// A pump.
    Pump(Pump),
    /// Hose, tube or pipe.
    Hose(Hose),
    /// Headers and modules.
    Bank(Box<Bank>),
    /// A heated device.
    Plate(Plate),
    /// A drilled orifice.
    Restrictor(Restrictor),
    /// A valve.
    Valve(Valve),
    /// A check valve.
    CheckValve(CheckValve),
    /// An exchanger to a stream of fixed temperature.
    Exchanger(Exchanger),
    /// A heater.
    Heater(Heater),
    /// A valve that opens with the temperature of its coolant.
    Thermostat(Thermostat),
    /// A three-way valve that mixes a radiator branch and a bypass by temperature.
    MixingThermostat(MixingThermostat),
}

impl Part {
    /// The key of the kind in a design file.
    pub fn kind(&self) -> &'static str {
        match self {
            Self::ExpansionTank(_) => "expansion_tank",
            Self::OpenEnd(_) => "open_end",
            Self::Joint(_) => "joint",
            Self::Draw(_) => "draw",
            Self::Tee(_) => "tee",
            Self::Pump(_) => "pump",
            Self::Hose(_) => "hose",
            Self::Bank(_) => "bank",
            Self::Plate(_) => "plate",
            Self::Restrictor(_) => "restrictor",
            Self::Valve(_) => "valve",
            Self::CheckValve(_) => "check_valve",
            Self::Exchanger(_) => "exchanger",
            Self::Heater(_) => "heater",
            Self::Thermostat(_) => "thermostat",
            Self::MixingThermostat(_) => "mixing_thermostat",
        }
    }

    /// Heights and origin.
    pub fn placed(&self) -> &dyn Placed {
        match self {
            Self::ExpansionTank(p) => p,
            Self::OpenEnd(p) => p,
            Self::Joint(p) => p,
            Self::Draw(p) => p,
            Self::Tee(p) => p,
            Self::Pump(p) => p,
            Self::Hose(p) => p,
            Self::Bank(p) => p.as_ref(),
            Self::Plate(p) => p,
            Self::Restrictor(p) => p,
            Self::Valve(p) => p,
            Self::CheckValve(p) => p,
            Self::Exchanger(p) => p,
            Self::Heater(p) => p,
            Self::Thermostat(p) => p,
            Self::MixingThermostat(p) => p,
        }
    }

    /// Whether the part is one point where runs meet (tank, open end, joint, draw).
    pub fn is_point(&self) -> bool {
        matches!(
            self,
            Self::ExpansionTank(_) | Self::OpenEnd(_) | Self::Joint(_) | Self::Draw(_)
        )
    }
}
