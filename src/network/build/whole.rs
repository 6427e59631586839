//! From a design to a network: names resolved, rules checked, runs walked, radiators cut, heights and cases resolved.
//! The only file of this room, with the walkers it calls, that sees the document.

use super::air_path::{self, Standing};
use super::air_side;
use super::assemble_loop::{CoreMet, Walked, Walker};
use super::build_error::BuildError;
use super::lower::Surroundings;
use super::planning::plan;
use super::{limit_names, resolve_case, stack, tank_leaks};
use crate::correlation::entrance::EntranceFriction;
use crate::correlation::tees::TeeModel;
use crate::design::{Checked, Design, Switch};
use crate::finding::{Finding, FindingKind};
use crate::fluid::Coolant;
use crate::id::Subject;
use crate::network::check::check;
use crate::network::error::{NetworkError, Rule};
use crate::network::flow::{HeatRole, NodeKind};
use crate::network::heights::share_out;
use crate::network::structure;
use crate::network::vehicle::{CoreTie, Network, RadiatorTie, Strip};
use crate::part::{AirConductance, Origin, Part, Radiator, SinglePoint, TankShape, WallFriction};
use crate::place::Place;
use indexmap::IndexMap;

/// Misfit of measured points above which the builder is told.
const POOR_FIT: f64 = 0.10;

impl Network {
    /// Builds the network of a design.
    ///
    /// # Errors
    /// [`BuildError`] with every independent mistake that was found.
    pub fn build(design: &Design) -> Result<Self, BuildError> {
        Self::build_with(design, SinglePoint::default())
    }

    /// Builds the network with single measured points read as asked.
    ///
    /// # Errors
    /// As [`Network::build`].
    pub fn build_with(design: &Design, single: SinglePoint) -> Result<Self, BuildError> {
        if let Err(faults) = design.check() {
            return Err(BuildError {
                faults,
                rules: Vec::new(),
            });
        }
        built(design, single)
    }

    /// Builds the network of a design whose values were checked before: the same network, without checking them again.
    ///
    /// # Errors
    /// [`BuildError`] with every rule of the network that is broken.
    pub fn build_checked(design: &Checked) -> Result<Self, BuildError> {
        built(design, SinglePoint::default())
    }
}

fn built(design: &Design, single: SinglePoint) -> Result<Network, BuildError> {
    let mut errors = Vec::new();
    match assemble(design, single, &mut errors) {
        Some(network) if errors.is_empty() => Ok(network),
        _ => Err(BuildError {
            faults: Vec::new(),
            rules: errors,
        }),
    }
}

fn assemble(
    design: &Design,
    single: SinglePoint,
    errors: &mut Vec<NetworkError>,
) -> Option<Network> {
    let coolants = coolants(design, errors);
    let plan = plan(design, errors);
    errors.extend(check(&plan));
    if !errors.is_empty() {
        return None;
    }
    let methods = design.methods.clone().unwrap_or_default();
    let around = Surroundings {
        coolants: &coolants,
        single,
        friction: WallFriction {
            law: methods.pipe_law.unwrap_or_default(),
            factor: methods.friction_factor.unwrap_or_default().model(),
            entrance: match methods.entrance_friction {
                Some(Switch::Off) => EntranceFriction::Off,
                _ => EntranceFriction::On,
            },
        },
    };
    let tees = methods.tee_losses.map_or(TeeModel::Momentum, |l| l.model());
    let mut network = Network {
        title: design.title.clone(),
        loops: Vec::new(),
        radiators: Vec::new(),
        airs: Vec::new(),
        cores: Vec::new(),
        leaks: Vec::new(),
        cases: Vec::new(),
        findings: Vec::new(),
        placeholders: placeholders(design),
    };
    let laid = lay_air(design, &around, &mut network, errors);
    let radiators_sound = laid.sound && errors.is_empty();
    for (record, plan) in design.loops.values().zip(&plan.loops) {
        let before = errors.len();
        let mut walked = Walker::new(design, record, plan, &around, tees, errors).walk();
        if errors.len() > before {
            continue;
        }
        share_out(&mut walked.circuit.net, &walked.heights);
        missing_heights(&walked, &mut network.findings);
        structure::check(&walked.circuit, plan, errors, &mut network.findings);
        fit_findings(&walked, &mut network.findings);
        if radiators_sound {
            tie_cores(design, &laid, &mut walked, &mut network);
        }
        network.loops.push(walked.circuit);
    }
    if !errors.is_empty() {
        return None;
    }
    network.leaks = tank_leaks::plates(&design.radiators, &network, errors);
    for (name, record) in &design.cases {
        let case = resolve_case::resolve(name, record, design, &network, errors);
        network.cases.extend(case);
    }
    if let Some(limits) = &design.limits {
        limit_names::check(limits, &network, errors);
    }
    Some(network)
}

/// What was laid of the air.
struct Laid {
    /// The strips of every core of every radiator.
    strips: Vec<Vec<Vec<Strip>>>,
    /// What each radiator's face does with its heat; none where it is refused.
    faces: Vec<Option<AirConductance>>,
    /// Whether every radiator has tubes of a known section.
    sound: bool,
}

/// Lays the air paths.
fn lay_air(
    design: &Design,
    around: &Surroundings<'_>,
    network: &mut Network,
    errors: &mut Vec<NetworkError>,
) -> Laid {
    let place = Place::root().key("radiators");
    let all: Vec<(&String, &Radiator)> = design.radiators.iter().collect();
    let mut laid = Laid {
        strips: vec![Vec::new(); all.len()],
        faces: vec![None; all.len()],
        sound: true,
    };
    let mut airs = vec![0; all.len()];
    for members in stack::stacks(&design.radiators, errors) {
        let mut standing: Vec<Standing<'_>> = Vec::new();
        for &index in &members {
            let (name, radiator) = all[index];
            let place = place.key(name);
            if radiator.tubes.inside.shape().is_err() {
                // The loop that holds a core says so.
                laid.sound = false;
                continue;
            }
            match air_side::resolve(name, radiator, around, &place) {
                Ok(face) => {
                    network.findings.extend(face.findings.iter().cloned());
                    laid.faces[index] = Some(face.conductance.clone());
                    standing.push(Standing {
                        index,
                        name,
                        radiator,
                        face,
                        place,
                    });
                }
                Err(error) => errors.push(error),
            }
        }
        if standing.len() < members.len() {
            continue;
        }
        match air_path::build(&standing, around) {
            Ok((path, cut)) => {
                for (index, cut) in members.into_iter().zip(cut) {
                    airs[index] = network.airs.len();
                    laid.strips[index] = cut;
                }
                network.airs.push(path);
            }
            Err(found) => errors.extend(found),
        }
    }
    for ((name, radiator), air) in all.into_iter().zip(airs) {
        let behind = radiator.behind.as_ref();
        network.radiators.push(RadiatorTie {
            name: name.clone(),
            air,
            behind: behind.and_then(|front| design.radiators.get_index_of(front)),
        });
    }
    laid
}

fn coolants(design: &Design, errors: &mut Vec<NetworkError>) -> IndexMap<String, Coolant> {
    let mut resolved = IndexMap::new();
    for (name, record) in &design.coolants {
        match record.resolve() {
            Ok(coolant) => {
                resolved.insert(name.clone(), coolant);
            }
            Err(message) => errors.push(NetworkError::new(
                Rule::BadPart,
                &Place::root().key("coolants").key(name).key(record.kind()),
                message,
                "",
            )),
        }
    }
    resolved
}

fn placeholders(design: &Design) -> Vec<String> {
    let mut names = Vec::new();
    for (name, record) in &design.loops {
        for (part, record) in &record.parts {
            // A resistance scaled with flow that was measured at one flow is nobody's measurement either.
            let scaled = match record {
                Part::Plate(p) => p.thermal_test.as_ref().is_some_and(|t| t.is_scaled()),
                _ => false,
            };
            if scaled || record.placed().origin() == Some(Origin::Placeholder) {
                names.push(format!("{name}.{part}"));
            }
        }
    }
    let modules = design.modules.iter().map(|(n, m)| {
        let scaled = m.thermal_test.as_ref().is_some_and(|t| t.is_scaled());
        let origin = if scaled {
            Some(Origin::Placeholder)
        } else {
            m.origin
        };
        (n, origin)
    });
    let radiators = design.radiators.iter().map(|(n, r)| (n, r.origin));
    for (name, origin) in modules.chain(radiators) {
        if origin == Some(Origin::Placeholder) {
            names.push(name.clone());
        }
    }
    names
}

fn tie_cores(design: &Design, laid: &Laid, walked: &mut Walked, network: &mut Network) {
    for CoreMet {
        radiator,
        core,
        element,
    } in &walked.cores
    {
        let record = &design.radiators[*radiator];
        let Some((name, cut)) = record.cores.get_index(*core) else {
            continue;
        };
        let (Ok(conduit), Some(air_side)) = (record.core_conduit(cut), &laid.faces[*radiator])
        else {
            continue;
        };
        let passes = cut.passes.unwrap_or(1);
        let tank = record
            .tank_section
            .as_ref()
            .and_then(|s| TankShape::of(s).ok());
        walked.circuit.net.elements[*element].heat = HeatRole::Core(network.cores.len());
        network.cores.push(CoreTie {
            radiator: *radiator,
            air: network.radiators[*radiator].air,
            core: name.clone(),
            circuit: network.loops.len(),
            element: *element,
            strips: laid.strips[*radiator][*core].clone(),
            air_side: air_side.clone(),
            conduit,
            dimpled: record.tubes.dimpled.clone(),
            passes,
            tank_area_m2: tank.map(|t| t.area_m2),
            streams: record.arrangement.unwrap_or_default().streams(passes),
            origin: record.origin,
        });
    }
}

fn missing_heights(walked: &Walked, findings: &mut Vec<Finding>) {
    let closed = walked
        .circuit
        .net
        .nodes
        .iter()
        .any(|n| matches!(n.kind, NodeKind::Fixed { .. }) && n.inflow_temperature_k.is_none());
    if closed && walked.heights.is_empty() && !walked.circuit.machines.is_empty() {
        findings.push(Finding::new(
            FindingKind::MissingHeight,
            Subject::whole(&walked.circuit.name),
            "no height is given, so the whole loop is taken as level and the pressure at the pump inlet may be off by 10 kPa a metre; give the tank and the pump an `elevation`",
        ));
    }
}

fn fit_findings(walked: &Walked, findings: &mut Vec<Finding>) {
    let mut told: Vec<String> = Vec::new();
    for (part, drop) in &walked.drops {
        // All circuits of one bank share their points: say it once.
        let owner = part.split('.').next().unwrap_or(part).to_owned();
        if told.contains(&owner) {
            continue;
        }
        let subject = Subject::part(&walked.circuit.name, &owner);
        if drop.single_point {
            findings.push(Finding::new(
                FindingKind::SinglePoint,
                subject,
                "its pressure drop rests on one point; half is taken as laminar, and away from that flow the drop may be anything between proportional and quadratic; measure a second point or give `laminar_share`",
            ));
            told.push(owner);
        } else if drop.misfit > POOR_FIT {
            findings.push(Finding::new(
                FindingKind::PoorFit,
                subject,
                format!(
                    "no sum of a linear and a quadratic drop meets all its points: the worst is {:.0} % off; look for a slip in the points",
                    100.0 * drop.misfit
                ),
            ));
            told.push(owner);
        }
    }
}
