//! Pressure at shut-off: every pump of a loop at its speed and nothing flowing, because a hose is kinked, a valve shut or
//! the coolant frozen somewhere. A part may be rated above its running pressure and below this one.

use crate::fluid::Coolant;
use crate::network::{Loop, Network, NodeKind};
use crate::part::Law;
use crate::quantity::AbsolutePressure;
use crate::solve::Solution;

/// Standard acceleration of fall, m/s2 (exact by definition; CGPM 1901).
const GRAVITY_M_S2: f64 = 9.806_65;
/// Coolant is not taken colder than this above its freezing point, K.
const ABOVE_FREEZING_K: f64 = 3.0;
/// Pumps up to which ways through several of them are searched; beyond, all rises are added.
const SEARCHED_PUMPS: usize = 8;

/// A state in which a part is judged.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Condition {
    /// As the case runs.
    Running,
    /// Shut off with the coldest coolant of the cases.
    ShutOffCold,
    /// Shut off with the hottest coolant of the case.
    ShutOffHot,
    /// The same with the tank at the pressure of its cap.
    ShutOffHotWithCap,
}

impl Condition {
    /// The words a report prints.
    pub fn words(self) -> &'static str {
        match self {
            Self::Running => "running",
            Self::ShutOffCold => "at shut-off, cold",
            Self::ShutOffHot => "at shut-off, hot",
            Self::ShutOffHotWithCap => "at shut-off, hot with cap",
        }
    }
}

/// Highest static pressure of one part at shut-off.
#[derive(Clone, Debug, PartialEq)]
pub struct PartShutOff {
    /// Name in its loop.
    pub id: String,
    /// Cold, Pa gauge.
    pub cold_gauge_pa: f64,
    /// Hot, Pa gauge.
    pub hot_gauge_pa: f64,
    /// Hot with the tank at its cap pressure, Pa gauge, where one is given.
    pub capped_gauge_pa: Option<f64>,
}

impl PartShutOff {
    /// The worst of the three.
    pub fn worst(&self) -> (Condition, f64) {
        let cold = (Condition::ShutOffCold, self.cold_gauge_pa);
        let hot = (Condition::ShutOffHot, self.hot_gauge_pa);
        let capped = self
            .capped_gauge_pa
            .map(|p| (Condition::ShutOffHotWithCap, p));
        [Some(hot), capped]
            .into_iter()
            .flatten()
            .fold(
                cold,
                |worst, next| if next.1 > worst.1 { next } else { worst },
            )
    }
}

/// A loop at shut-off.
#[derive(Clone, Debug, PartialEq)]
pub struct ShutOff {
    /// Cold coolant, K.
    pub cold_k: f64,
    /// Hot coolant, K.
    pub hot_k: f64,
    /// All parts with an inlet and an outlet, in the order of the loop.
    pub parts: Vec<PartShutOff>,
}

impl ShutOff {
    /// One part.
    pub fn part(&self, id: &str) -> Option<&PartShutOff> {
        self.parts.iter().find(|p| p.id == id)
    }
}

/// The coldest coolant of a design, K: the lowest air of its cases, but not below 3 K above freezing.
pub fn coldest_k(network: &Network, coolant: &Coolant) -> f64 {
    let air = network.cases().iter().map(|c| c.air_temperature_k);
    let lowest = air.fold(f64::INFINITY, f64::min);
    let freezing = coolant
        .freezing_k()
        .map_or(lowest, |k| k + ABOVE_FREEZING_K);
    let (low, high) = coolant.range_k();
    lowest.max(freezing).clamp(low, high)
}

/// The shut-off pressures of one loop of a solved case.
///
/// Static gauge pressure of a part: `p_ref + rho g (z_ref - z) + sum of n^2 H(0) rho/rho_curve` over the pumps on the way
/// from the pressure reference to the part, along the runs. Pa. The path may be shut anywhere, so whatever follows a
/// pump counts its whole rise. Each pump turns at the highest speed that any case gives it. Where several stated
/// pressures bear on a piece, the highest counts. Source: hydrostatics; derived.
pub fn of(solution: &Solution<'_>, name: &str) -> Option<ShutOff> {
    let network = solution.network();
    let index = network.loops().iter().position(|l| l.name == name)?;
    let circuit = &network.loops()[index];
    let (low, high) = circuit.coolant.range_k();
    let cold_k = coldest_k(network, &circuit.coolant);
    let hot_k = solution.hottest_k(name)?.clamp(low, high).max(cold_k);
    let air = network.cases().iter().map(|c| c.air.pressure_pa());
    let loaded = Loaded {
        circuit,
        speeds: speeds(network, index),
        reach: circuit.pump_reach(),
        ambient_pa: air.fold(f64::INFINITY, f64::min),
    };
    let cold = loaded.pressures(cold_k, Cap::Shut);
    let hot = loaded.pressures(hot_k, Cap::Shut);
    let has_cap = circuit.tanks.iter().any(|t| t.cap_pa.is_some());
    let capped = has_cap.then(|| loaded.pressures(hot_k, Cap::AtItsPressure));
    let parts = (0..circuit.net.elements.len())
        .map(|e| PartShutOff {
            id: circuit.net.elements[e].id.to_string(),
            cold_gauge_pa: cold[e],
            hot_gauge_pa: hot[e],
            capped_gauge_pa: capped.as_ref().map(|c| c[e]),
        })
        .collect();
    Some(ShutOff {
        cold_k,
        hot_k,
        parts,
    })
}

/// What the tank's air stands at.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Cap {
    /// The stated gauge pressure.
    Shut,
    /// The pressure at which the cap opens, where that is more.
    AtItsPressure,
}

/// The highest speed of each pump over all cases.
fn speeds(network: &Network, index: usize) -> Vec<f64> {
    let circuit = &network.loops()[index];
    let machines = circuit.machines.iter();
    machines
        .map(|machine| {
            let own = circuit.net.laws[circuit.net.elements[machine.element].laws.clone()]
                .iter()
                .find_map(|l| match l {
                    Law::Machine(m) => Some(m.speed),
                    _ => None,
                })
                .unwrap_or(0.0);
            let each = network.cases().iter().map(|case| {
                let mut set = case.pump_speed.iter();
                set.rfind(|(c, e, _)| *c == index && *e == machine.element)
                    .map_or(own, |(_, _, speed)| *speed)
            });
            each.reduce(f64::max).unwrap_or(own)
        })
        .collect()
}

struct Loaded<'a> {
    circuit: &'a Loop,
    speeds: Vec<f64>,
    reach: Vec<Vec<bool>>,
    ambient_pa: f64,
}

impl Loaded<'_> {
    /// Highest static gauge pressure of every element, Pa.
    fn pressures(&self, coolant_k: f64, cap: Cap) -> Vec<f64> {
        let net = &self.circuit.net;
        let rho = self
            .circuit
            .coolant
            .properties_extended(coolant_k)
            .density_kg_m3;
        let heads = self.heads(rho);
        let pieces = net.pieces();
        let mut level = vec![f64::NEG_INFINITY; net.nodes.len()];
        for (n, node) in net.nodes.iter().enumerate() {
            if let Some(gauge_pa) = self.reference_pa(n, cap) {
                let at_datum = gauge_pa + rho * GRAVITY_M_S2 * node.elevation_m;
                level[pieces[n]] = level[pieces[n]].max(at_datum);
            }
        }
        let mut result = vec![0.0; net.elements.len()];
        for branch in &net.branches {
            let mut z = net.nodes[branch.from].elevation_m;
            for e in branch.elements.clone() {
                let inlet = z + net.elements[e].lead_m;
                z = inlet + net.elements[e].rise_m;
                let head = (heads.iter().zip(&self.reach))
                    .filter(|(_, reach)| reach[e])
                    .fold(0.0, |most: f64, (head, _)| most.max(*head));
                let column = rho * GRAVITY_M_S2 * inlet.min(z);
                result[e] = level[pieces[branch.from]] - column + head;
            }
        }
        result
    }

    /// Stated gauge pressure of a node, Pa.
    fn reference_pa(&self, node: usize, cap: Cap) -> Option<f64> {
        let NodeKind::Fixed { pressure } = &self.circuit.net.nodes[node].kind else {
            return None;
        };
        let ambient = AbsolutePressure::from_pa(self.ambient_pa);
        let stated = pressure.to_absolute(ambient).pa() - self.ambient_pa;
        let tank = self.circuit.tanks.iter().find(|t| t.node == node);
        Some(match (cap, tank.and_then(|t| t.cap_pa)) {
            (Cap::AtItsPressure, Some(cap_pa)) => stated.max(cap_pa),
            _ => stated,
        })
    }

    /// Rise behind each pump at no flow, with those of the pumps before it, Pa.
    fn heads(&self, density_kg_m3: f64) -> Vec<f64> {
        let net = &self.circuit.net;
        let machines = &self.circuit.machines;
        let rises: Vec<f64> = machines
            .iter()
            .zip(&self.speeds)
            .map(|(m, speed)| {
                let laws = &net.laws[net.elements[m.element].laws.clone()];
                laws.iter()
                    .find_map(|l| match l {
                        Law::Machine(machine) => {
                            let mut turned = machine.clone();
                            turned.speed = *speed;
                            Some(turned.shut_off_rise_pa(density_kg_m3))
                        }
                        _ => None,
                    })
                    .unwrap_or(0.0)
            })
            .collect();
        if rises.len() > SEARCHED_PUMPS {
            return vec![rises.iter().sum(); rises.len()];
        }
        let mut passed = vec![false; rises.len()];
        (0..rises.len())
            .map(|k| self.most(k, &rises, &mut passed))
            .collect()
    }

    /// The most that pumps in series before pump `k` and itself can add up to, none counted twice.
    fn most(&self, k: usize, rises: &[f64], passed: &mut [bool]) -> f64 {
        passed[k] = true;
        let inlet = self.circuit.machines[k].element;
        let mut before = 0.0_f64;
        for j in 0..rises.len() {
            if !passed[j] && self.reach[j][inlet] {
                before = before.max(self.most(j, rises, passed));
            }
        }
        passed[k] = false;
        before + rises[k]
    }
}

#[cfg(test)]
#[path = "shut_off_tests.rs"]
mod tests;
