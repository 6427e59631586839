//! What a pump or fan works against: the loss of everything else over the flow, traced by turning the machine slower and
//! faster. Each point is a solved state, so the curve holds every law of the network.

use crate::network::{Case, Network};
use crate::part::{Law, Machine};
use crate::solve::{Solution, Solver};

/// Speeds over the case's own at which the rest of the path is traced.
const SPEEDS: [f64; 8] = [0.15, 0.35, 0.55, 0.75, 0.9, 1.0, 1.15, 1.35];
/// Points on the curve of a machine.
const CURVE_POINTS: usize = 25;

/// A temperature at which the path is traced.
#[derive(Clone, Debug, PartialEq)]
pub struct SystemLine {
    /// `cold`, `this case`, `hot`, or `air`.
    pub label: &'static str,
    /// Coolant (or air) all at this temperature, K.
    pub fluid_k: f64,
    /// Flow in m3/s and loss in Pa.
    pub points: Vec<(f64, f64)>,
    /// Where the machine works at its own speed: flow in m3/s, rise in Pa.
    pub works_at: Option<(f64, f64)>,
}

/// A machine and what it works against.
#[derive(Clone, Debug, PartialEq)]
pub struct MachineChart {
    /// Loop or radiator.
    pub owner: String,
    /// The pump or fan.
    pub id: String,
    /// Flow in m3/s and rise in Pa at the case's speed.
    pub curve: Vec<(f64, f64)>,
    /// The path behind it.
    pub lines: Vec<SystemLine>,
}

/// The pumps of a loop, cold, as the case runs, and hot. Where a temperature has no answer its line is left out.
pub fn pumps(solution: &Solution<'_>, name: &str, cold_k: f64, hot_k: f64) -> Vec<MachineChart> {
    let network = solution.network();
    let Some(circuit) = network.loops().iter().position(|l| l.name == name) else {
        return Vec::new();
    };
    let Some(state) = solution.loop_state(name) else {
        return Vec::new();
    };
    let net = &state.circuit.net;
    let mut charts = Vec::new();
    for (pump, shown) in state.circuit.machines.iter().zip(solution.pumps(name)) {
        let Some(Law::Machine(machine)) = net.laws[net.elements[pump.element].laws.clone()].first()
        else {
            continue;
        };
        let density = state.fluid.elements[pump.element].density_kg_m3;
        let part = solution.part(name, &shown.id);
        let own_k = part.map_or(cold_k, |p| p.inlet_temperature_k);
        let lines = [("cold", cold_k), ("this case", own_k), ("hot", hot_k)];
        let lines = lines
            .into_iter()
            .filter_map(|(label, k)| {
                let trace = Trace {
                    network,
                    case: solution.case(),
                    fluid_k: k,
                };
                let mut solver = Solver::new(network);
                trace.line(label, |speed, case| {
                    case.pump_speed
                        .push((circuit, pump.element, speed * machine.speed));
                    let solved = solver.solve(case).ok()?;
                    let part = solved.part(name, &shown.id)?;
                    Some((part.volume_flow_m3_s, -part.pressure_drop_pa))
                })
            })
            .collect();
        charts.push(MachineChart {
            owner: name.to_owned(),
            id: shown.id.clone(),
            curve: curve(machine, density),
            lines,
        });
    }
    charts
}

/// The fans of a radiator against its cores and the air of the case.
pub fn fans(solution: &Solution<'_>, radiator: &str) -> Vec<MachineChart> {
    let network = solution.network();
    let paths = network.air_paths();
    let known = network.radiators();
    let Some(index) = known.iter().position(|r| r.name == radiator) else {
        return Vec::new();
    };
    let air = known[index].air;
    let net = &paths[air].net;
    let mut charts = Vec::new();
    let all = paths[air].fans.iter().enumerate();
    for (place, fan) in all.filter(|(_, f)| f.radiator == index) {
        let Some(Law::Machine(machine)) = net.laws[net.elements[fan.element].laws.clone()].first()
        else {
            continue;
        };
        let case = solution.case();
        let set = case
            .fan_speed
            .iter()
            .rfind(|(a, f, _)| *a == air && *f == place);
        let own = set.map_or(machine.speed, |s| s.2);
        let mut turned = machine.clone();
        turned.speed = own;
        let k = case.air_temperature_k;
        let coolant_k = coolant_for_all(network, 293.15);
        let trace = Trace {
            network,
            case,
            fluid_k: coolant_k,
        };
        let mut solver = Solver::new(network);
        let line = trace.line("air", |speed, case| {
            case.fan_speed.push((air, place, speed * own));
            let solved = solver.solve(case).ok()?;
            let fans = solved.fans(radiator);
            let state = fans.iter().find(|f| f.name == fan.name)?;
            Some((state.volume_flow_m3_s, state.pressure_rise_pa))
        });
        let lines = line
            .map(|l| SystemLine { fluid_k: k, ..l })
            .into_iter()
            .collect();
        charts.push(MachineChart {
            owner: radiator.to_owned(),
            id: fan.name.clone(),
            curve: curve(&turned, case.air.properties().density_kg_m3),
            lines,
        });
    }
    charts
}

struct Trace<'a> {
    network: &'a Network,
    case: &'a Case,
    fluid_k: f64,
}

impl Trace<'_> {
    fn line(
        &self,
        label: &'static str,
        mut at: impl FnMut(f64, &mut Case) -> Option<(f64, f64)>,
    ) -> Option<SystemLine> {
        let mut points = Vec::new();
        let mut works_at = None;
        for speed in SPEEDS {
            let mut case = self.case.clone();
            case.time = None;
            case.coolant_temperature_k = Some(coolant_for_all(self.network, self.fluid_k));
            if let Some(point) = at(speed, &mut case) {
                if speed == 1.0 {
                    works_at = Some(point);
                }
                points.push(point);
            }
        }
        (points.len() > 1).then_some(SystemLine {
            label,
            fluid_k: self.fluid_k,
            points,
            works_at,
        })
    }
}

/// The nearest temperature that every coolant of the vehicle has properties for, K.
fn coolant_for_all(network: &Network, wanted_k: f64) -> f64 {
    let mut k = wanted_k;
    for circuit in network.loops() {
        let (low, high) = circuit.coolant.range_k();
        k = k.clamp(low, high);
    }
    k
}

/// Rise over flow from none to the free flow.
fn curve(machine: &Machine, density_kg_m3: f64) -> Vec<(f64, f64)> {
    let free = machine.free_flow_m3_s();
    let law = Law::Machine(machine.clone());
    // The rise of a machine knows density alone; the other properties are those of water.
    let mut fluid = crate::fluid::Coolant::water().properties_extended(293.15);
    fluid.density_kg_m3 = density_kg_m3;
    (0..CURVE_POINTS)
        .map(|k| {
            let q = free * k as f64 / (CURVE_POINTS - 1) as f64;
            (q, -law.drop(q * density_kg_m3, &fluid).drop_pa)
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::design::Source;

    #[test]
    fn a_pump_works_where_its_curve_meets_the_loop_and_the_loop_is_a_square_where_it_is_turbulent()
    {
        // A loss of 10 velocity heads alone: dp = K rho v^2 / 2, v = q / A (definition of the coefficient).
        let text = r#"{ "format": 1, "title": "loop", "coolants": { "water": { "water": {} } },
          "loops": { "l": { "coolant": "water", "parts": {
            "tank": { "expansion_tank": {} },
            "pump": { "pump": { "curve": [["0 L/min", "40 kPa"], ["15 L/min", "30 kPa"], ["30 L/min", "0 kPa"]] } },
            "loss": { "plate": { "pressure_drop": { "loss_coefficient": 10, "bore": "10 mm" } } } },
            "runs": [["tank", "pump", "loss", "tank"]] } },
          "cases": { "c": { "air": "20 degC", "coolant_temperature": "20 degC" } } }"#;
        let design = Source::read(text).expect("a design").design;
        let network = Network::build(&design).expect("a network");
        let solution = Solver::new(&network)
            .solve(&network.cases()[0])
            .expect("an answer");
        let charts = pumps(&solution, "l", 280.0, 330.0);
        let line = charts[0]
            .lines
            .iter()
            .find(|l| l.label == "this case")
            .expect("a line");
        let area = 0.25 * std::f64::consts::PI * 0.01_f64.powi(2);
        for (q, p) in &line.points {
            let wanted = 10.0 * 998.2 * (q / area).powi(2) / 2.0;
            // The coefficient is met from high Reynolds numbers on; a laminar share remains at the slowest.
            assert!((p / wanted - 1.0).abs() < 0.1, "{q}: {p} against {wanted}");
        }
        let (q, p) = line.works_at.expect("a point");
        let shown = &solution.pumps("l")[0];
        assert!((q / shown.volume_flow_m3_s - 1.0).abs() < 1e-6);
        assert!((p / shown.pressure_rise_pa - 1.0).abs() < 1e-6);
    }
}
