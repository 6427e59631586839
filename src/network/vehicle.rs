//! One vehicle: its coolant loops, the air path of each radiator, and the cores that tie them.
//! A [`Network`] can be made only through the checks of `build`; it is then solved for any of its cases.

use super::case::Case;
use super::flow::{FlowNet, NodeKind};
use crate::correlation::CoreStreams;
use crate::correlation::effectiveness::Arrangement;
use crate::correlation::tees::{TeeModel, tee_check};
use crate::finding::Finding;
use crate::fluid::Coolant;
use crate::part::{
    AirConductance, Conduit, Contact, Dimpled, HeatTable, Law, Lift, ModuleHeat, Origin, valve_law,
};

/// A vehicle in solver form.
#[derive(Clone, Debug)]
pub struct Network {
    pub(crate) title: String,
    pub(crate) loops: Vec<Loop>,
    pub(crate) radiators: Vec<RadiatorTie>,
    pub(crate) airs: Vec<AirPath>,
    pub(crate) cores: Vec<CoreTie>,
    pub(crate) leaks: Vec<TankPlate>,
    pub(crate) cases: Vec<Case>,
    pub(crate) findings: Vec<Finding>,
    pub(crate) placeholders: Vec<String>,
}

/// One coolant loop.
#[derive(Clone, Debug)]
pub struct Loop {
    /// Its name.
    pub name: String,
    /// Its coolant.
    pub coolant: Coolant,
    /// Its nodes, branches and elements.
    pub net: FlowNet,
    /// Pumps, by the place of [`super::HeatRole::Machine`].
    pub machines: Vec<MachineHeat>,
    /// Banks.
    pub banks: Vec<BankMap>,
    /// Modules of all banks.
    pub modules: Vec<ModuleNode>,
    /// Heated plates.
    pub plates: Vec<PlateNode>,
    /// Exchangers to fixed streams.
    pub exchangers: Vec<ExchangerTie>,
    /// Expansion tanks, one a connected piece at most.
    pub tanks: Vec<TankNode>,
    /// Hoses that lose heat, by the place of [`super::HeatRole::Hose`].
    pub hoses: Vec<HoseLoss>,
    /// Thermostats.
    pub thermostats: Vec<ThermostatNode>,
}

/// What an expansion tank holds and bears.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TankNode {
    /// The node.
    pub node: usize,
    /// Gauge pressure of its air, Pa.
    pub gauge_pa: f64,
    /// Gauge pressure at which its cap opens, where given, Pa.
    pub cap_pa: Option<f64>,
    /// Whole inside volume, where given, m3.
    pub volume_m3: Option<f64>,
}

/// A hose that loses heat to its surroundings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HoseLoss {
    /// The element.
    pub element: usize,
    /// Conductance of the whole length, W/K.
    pub conductance_w_k: f64,
    /// Temperature of the surroundings, K; filled in by the case.
    pub surroundings_k: f64,
}

/// A thermostat.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ThermostatNode {
    /// The element that opens as the coolant warms.
    pub element: usize,
    /// The other way, of a mixing thermostat.
    pub mixing: Option<MixingWay>,
    /// Its opening over temperature.
    pub lift: Lift,
    /// Share of the full flow coefficient it is set to; found by the solver.
    pub opening: f64,
}

/// What a mixing thermostat has besides the radiator's way.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MixingWay {
    /// The node whose temperature moves it.
    pub node: usize,
    /// The element of the bypass, which shuts as the coolant warms.
    pub bypass: usize,
    /// Quadratic coefficient of the bypass fully open, 1/m4.
    pub bypass_full_1_m4: f64,
}

/// How much of a pump's power reaches the coolant.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MachineHeat {
    /// The element.
    pub element: usize,
    /// Hydraulic power over shaft power, where given.
    pub efficiency: Option<f64>,
    /// Electrical power, where given, W.
    pub electrical_w: Option<f64>,
    /// Density of the curve, kg/m3.
    pub curve_density_kg_m3: f64,
}

/// Where the pieces of a bank are.
#[derive(Clone, Debug, PartialEq)]
pub struct BankMap {
    /// Its name.
    pub name: String,
    /// Its modules, places in [`Loop::modules`].
    pub modules: std::ops::Range<usize>,
    /// Tee (a node) and leg at which the bank is fed.
    pub inlet: (usize, usize),
    /// Tee and leg at which it is drawn off.
    pub outlet: (usize, usize),
    /// Tees of the supply header, in order from the near end: places in the nodes.
    pub supply_tees: Vec<usize>,
    /// Tees of the return header, in the same order of ports.
    pub return_tees: Vec<usize>,
    /// Header area over the sum of branch (port) areas, supply side.
    pub area_ratio: f64,
    /// Distance of each port from the near end of the supply and of the return header, m.
    pub ports_at_m: [Vec<f64>; 2],
    /// Whole inside length of the supply and of the return header, m.
    pub header_length_m: [f64; 2],
}

/// One module: one temperature, several circuits.
#[derive(Clone, Debug, PartialEq)]
pub struct ModuleNode {
    /// Its name, such as `mid.module 3`.
    pub name: String,
    /// Its record under `modules`.
    pub record: String,
    /// Its bank.
    pub bank: usize,
    /// The elements of its circuits; none where the module is missing.
    pub circuits: Vec<usize>,
    /// Path of heat of each circuit.
    pub contact: Contact,
    /// Mass times specific heat, J/K; 0 where either is not known.
    pub capacity_j_k: f64,
    /// Heat over temperature; filled in by the case.
    pub heat: Option<ModuleHeat>,
}

/// A heated plate.
#[derive(Clone, Debug, PartialEq)]
pub struct PlateNode {
    /// The element.
    pub element: usize,
    /// Heat in the case, W.
    pub heat_w: f64,
    /// Heat over load, where the device has such a table.
    pub heat_table: Option<HeatTable>,
    /// Path of heat between device and coolant.
    pub contact: Contact,
    /// Mass times specific heat, J/K; 0 where either is not known.
    pub capacity_j_k: f64,
}

/// An exchanger to a stream of fixed temperature.
#[derive(Clone, Debug, PartialEq)]
pub struct ExchangerTie {
    /// The element.
    pub element: usize,
    /// How much of the heat that could pass does.
    pub transfer: Transfer,
    /// The most heat that it takes out, W; infinite where there is no limit.
    pub limit_w: f64,
    /// How the streams meet.
    pub arrangement: Arrangement,
    /// Temperature of the other stream at its inlet, K.
    pub stream_temperature_k: f64,
    /// Heat capacity flow of the other stream, W/K; infinite where the stream is not changed.
    pub stream_w_k: f64,
}

/// How an exchanger passes heat.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Transfer {
    /// By its overall conductance, W/K.
    Conductance(f64),
    /// By a stated effectiveness.
    Effectiveness(f64),
}

/// A radiator and the air path it stands in.
#[derive(Clone, Debug, PartialEq)]
pub struct RadiatorTie {
    /// Its name.
    pub name: String,
    /// Its air path, which all radiators of a stack share.
    pub air: usize,
    /// The radiator straight before it, where it stands behind one.
    pub behind: Option<usize>,
}

/// The air path of one radiator, or of several that stand one behind another.
#[derive(Clone, Debug)]
pub struct AirPath {
    /// The radiator, the one in front where there are several.
    pub radiator: String,
    /// Its strips and fans as a network of air.
    pub net: FlowNet,
    /// Node before everything.
    pub front: usize,
    /// Node behind the vehicle.
    pub back: usize,
    /// Branch of grille and duct, which ends at the face; none where the face stands free.
    pub mouth: Option<usize>,
    /// Fans, in the order of the document.
    pub fans: Vec<FanTie>,
    /// Ram pressure over `rho v^2 / 2`.
    pub ram_coefficient: f64,
}

/// A fan in the air path.
#[derive(Clone, Debug, PartialEq)]
pub struct FanTie {
    /// Its name.
    pub name: String,
    /// Its radiator.
    pub radiator: usize,
    /// Its branch.
    pub branch: usize,
    /// Its element.
    pub element: usize,
}

/// A strip of a core's face that breathes one stream of air.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Strip {
    /// Branch in the air path.
    pub branch: usize,
    /// Element in that branch: a strip of another core may stand before or behind it.
    pub element: usize,
    /// Face area, m2.
    pub face_m2: f64,
    /// Share of the core.
    pub share: f64,
}

/// One core: a piece of a loop and strips of an air path.
#[derive(Clone, Debug)]
pub struct CoreTie {
    /// The radiator.
    pub radiator: usize,
    /// Its air path.
    pub air: usize,
    /// Name of the core.
    pub core: String,
    /// The loop.
    pub circuit: usize,
    /// The element in the loop.
    pub element: usize,
    /// Strips of the face.
    pub strips: Vec<Strip>,
    /// Conductance of the air side on the face.
    pub air_side: AirConductance,
    /// Coolant passage, all passes in series.
    pub conduit: Conduit,
    /// Dimples of its tubes.
    pub dimpled: Option<Dimpled>,
    /// How often the coolant crosses the face.
    pub passes: u32,
    /// Area of its tanks across the flow along them, where given, m2.
    pub tank_area_m2: Option<f64>,
    /// How the streams meet.
    pub streams: CoreStreams,
    /// Origin of the radiator's numbers.
    pub origin: Option<Origin>,
}

/// The plates that the tanks of two cores share.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TankPlate {
    /// The two cores.
    pub cores: [usize; 2],
    /// Heat per kelvin through the plates at both tank ends, W/K.
    pub conductance_w_k: f64,
}

impl Network {
    /// The title of the design.
    pub fn title(&self) -> &str {
        &self.title
    }

    /// The loops.
    pub fn loops(&self) -> &[Loop] {
        &self.loops
    }

    /// The radiators, in the order of the design.
    pub fn radiators(&self) -> &[RadiatorTie] {
        &self.radiators
    }

    /// The plates through which neighbouring tanks leak heat.
    pub fn tank_plates(&self) -> &[TankPlate] {
        &self.leaks
    }

    /// The air paths, one a radiator or stack of radiators.
    pub fn air_paths(&self) -> &[AirPath] {
        &self.airs
    }

    /// The cores that tie loops to air.
    pub fn cores(&self) -> &[CoreTie] {
        &self.cores
    }

    /// The cases, resolved to SI.
    pub fn cases(&self) -> &[Case] {
        &self.cases
    }

    /// What the builder should know before anything is solved.
    pub fn findings(&self) -> &[Finding] {
        &self.findings
    }

    /// Parts and modules whose numbers are placeholders.
    pub fn placeholders(&self) -> &[String] {
        &self.placeholders
    }
}

impl Network {
    /// The same network with the loss of one branch of a loop scaled: what if a hose is kinked, or a barb drilled out.
    pub fn with_branch_loss(&self, circuit: usize, branch: usize, factor: f64) -> Self {
        let mut changed = self.clone();
        let net = &mut changed.loops[circuit].net;
        for element in net.branches[branch].elements.clone() {
            for law in net.elements[element].laws.clone() {
                match &mut net.laws[law] {
                    Law::Duct(duct) => duct.length_m *= factor,
                    Law::HazenWilliams(pipe) => pipe.length_m *= factor,
                    Law::TwoTerm(two) => *two = two.times(factor),
                    Law::Dimpled(tubes) => tubes.duct.length_m *= factor,
                    Law::LouvredFins(fins) => fins.area_ratio *= factor,
                    Law::Machine(_) => {}
                }
            }
        }
        let range = changed.loops[circuit].net.branches[branch].elements.clone();
        for thermostat in &mut changed.loops[circuit].thermostats {
            if range.contains(&thermostat.element) {
                thermostat.lift.full_1_m4 *= factor;
            }
            if let Some(way) = &mut thermostat.mixing
                && range.contains(&way.bypass)
            {
                way.bypass_full_1_m4 *= factor;
            }
        }
        changed
    }
}

impl Network {
    /// The same network with another tee model in the headers of every bank, and the loops where that is a change; none
    /// where the model refuses a tee.
    pub fn with_bank_tees(&self, model: TeeModel) -> Option<(Self, Vec<usize>)> {
        let mut made = self.clone();
        let mut changed = Vec::new();
        for (index, circuit) in made.loops.iter_mut().enumerate() {
            let mut same = true;
            for bank in &circuit.banks {
                let taps = [bank.inlet.0, bank.outlet.0];
                let tees = bank.supply_tees.iter().chain(&bank.return_tees);
                for node in tees.copied().chain(taps) {
                    if let NodeKind::Tee(tee) = &mut circuit.net.nodes[node].kind {
                        tee_check(model, &tee.shape).ok()?;
                        same &= tee.model == model;
                        tee.model = model;
                    }
                }
            }
            if !same {
                changed.push(index);
            }
        }
        Some((made, changed))
    }
}

impl Loop {
    /// Whether anything can take heat out of the loop or bring in coolant of stated temperature.
    pub fn has_sink(&self) -> bool {
        use super::flow::HeatRole;
        let opens =
            self.net.nodes.iter().any(|n| {
                matches!(n.kind, NodeKind::Draw { .. }) || n.inflow_temperature_k.is_some()
            });
        opens
            || self.net.elements.iter().any(|e| {
                matches!(
                    e.heat,
                    HeatRole::Core(_) | HeatRole::Exchanger(_) | HeatRole::Hose(_)
                )
            })
    }

    /// Sets a thermostat, by its place in the list, to an opening.
    pub(crate) fn set_thermostat(&mut self, index: usize, opening: f64) {
        self.thermostats[index].opening = opening;
        let thermostat = self.thermostats[index];
        let law = thermostat.lift.law(opening);
        for at in self.net.elements[thermostat.element].laws.clone() {
            self.net.laws[at] = Law::TwoTerm(law);
        }
        if let Some(way) = thermostat.mixing {
            let open = thermostat.lift.complement(opening);
            let law = valve_law(way.bypass_full_1_m4 / (open * open));
            for at in self.net.elements[way.bypass].laws.clone() {
                self.net.laws[at] = Law::TwoTerm(law);
            }
        }
    }

    /// Whether modules, plates or heaters bring heat in this case.
    pub fn has_source(&self) -> bool {
        self.plates.iter().any(|p| p.heat_w != 0.0)
            || self
                .modules
                .iter()
                .any(|m| m.heat.as_ref().is_some_and(|h| h.at(298.15).value > 0.0))
    }
}
