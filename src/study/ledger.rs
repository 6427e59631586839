//! Pressure along a loop: what a gauge would read before and behind each part on the way with the most flow, from the
//! pressure reference round and back, and what it would read with the flow shut off.

use super::shut_off::{self, PartShutOff};
use crate::network::NodeKind;
use crate::solve::Solution;

/// One part on the way; a bank counts as one.
#[derive(Clone, Debug, PartialEq)]
pub struct LedgerStep {
    /// The part, or the bank.
    pub id: String,
    /// Key of its kind; `bank` for a bank.
    pub kind: &'static str,
    /// Static pressure where coolant enters it, Pa gauge.
    pub inlet_gauge_pa: f64,
    /// Static pressure where coolant leaves it, Pa gauge.
    pub outlet_gauge_pa: f64,
    /// Highest pressure with nothing flowing, Pa gauge.
    pub shut_off_gauge_pa: Option<f64>,
}

/// The ledger of a loop, in the direction of flow.
///
/// Where the loop divides, the way with more flow is taken; of a bank, entry and exit alone are told.
pub fn run(solution: &Solution<'_>, name: &str) -> Vec<LedgerStep> {
    let Some(state) = solution.loop_state(name) else {
        return Vec::new();
    };
    let net = &state.circuit.net;
    let flows = &state.flow.flow_kg_s;
    let parts = solution.parts(name);
    let rest = shut_off::of(solution, name);
    let fixed = |kind: &NodeKind| matches!(kind, NodeKind::Fixed { .. });
    // Of several pressure references the one that feeds most.
    let leaving = |n: usize| -> f64 {
        net.branches
            .iter()
            .zip(flows)
            .map(|(b, q)| {
                if b.from == n {
                    *q
                } else if b.to == n {
                    -*q
                } else {
                    0.0
                }
            })
            .fold(0.0, |most: f64, q| most.max(q))
    };
    let references = (0..net.nodes.len()).filter(|n| fixed(&net.nodes[*n].kind));
    let Some(start) = references.max_by(|a, b| leaving(*a).total_cmp(&leaving(*b)).then(b.cmp(a)))
    else {
        return Vec::new();
    };
    let mut used = vec![false; net.branches.len()];
    let mut steps: Vec<LedgerStep> = Vec::new();
    let mut node = start;
    loop {
        let next = (0..net.branches.len())
            .filter(|j| !used[*j])
            .filter_map(|j| {
                let (branch, q) = (&net.branches[j], flows[j]);
                if branch.from == node && q >= 0.0 {
                    Some((j, q, branch.to))
                } else if branch.to == node && q < 0.0 {
                    Some((j, -q, branch.from))
                } else {
                    None
                }
            })
            .max_by(|a, b| a.1.total_cmp(&b.1).then(b.0.cmp(&a.0)));
        let Some((branch, flow, to)) = next else {
            break;
        };
        used[branch] = true;
        let mut elements: Vec<usize> = net.branches[branch].elements.clone().collect();
        let backwards = flows[branch] < 0.0;
        if backwards {
            elements.reverse();
        }
        for e in elements {
            let part = &parts[e];
            let ends = (part.inlet_static_gauge_pa, part.outlet_static_gauge_pa);
            let ends = if backwards { (ends.1, ends.0) } else { ends };
            let at_rest = rest.as_ref().and_then(|r| r.part(&part.id));
            let at_rest = at_rest.map(PartShutOff::worst).map(|w| w.1);
            push(
                &mut steps,
                bank_of(solution, name, &part.id),
                part.kind,
                ends,
                at_rest,
            );
        }
        node = to;
        if node == start || flow == 0.0 {
            break;
        }
    }
    steps
}

/// The bank that a piece belongs to, or the part itself.
fn bank_of<'p>(solution: &Solution<'_>, name: &str, id: &'p str) -> (&'p str, bool) {
    let banks = solution.loop_state(name).map(|s| &s.circuit.banks);
    let bank = banks.into_iter().flatten().find(|b| {
        id.strip_prefix(b.name.as_str())
            .is_some_and(|r| r.starts_with('.'))
    });
    bank.map_or((id, false), |b| (&id[..b.name.len()], true))
}

fn push(
    steps: &mut Vec<LedgerStep>,
    (id, is_bank): (&str, bool),
    kind: &'static str,
    (inlet_gauge_pa, outlet_gauge_pa): (f64, f64),
    shut_off_gauge_pa: Option<f64>,
) {
    if let Some(last) = steps.last_mut()
        && is_bank
        && last.id == id
    {
        last.outlet_gauge_pa = outlet_gauge_pa;
        last.shut_off_gauge_pa = match (last.shut_off_gauge_pa, shut_off_gauge_pa) {
            (Some(a), Some(b)) => Some(a.max(b)),
            (a, b) => a.or(b),
        };
        return;
    }
    steps.push(LedgerStep {
        id: id.to_owned(),
        kind: if is_bank { "bank" } else { kind },
        inlet_gauge_pa,
        outlet_gauge_pa,
        shut_off_gauge_pa,
    });
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::design::Source;
    use crate::network::Network;
    use crate::solve::Solver;

    #[test]
    fn the_ledger_goes_round_once_and_holds_the_pump_rise() {
        let text = include_str!("../../networks/bookmobile.json");
        let design = Source::read(text).expect("a design").design;
        let network = Network::build(&design).expect("a network");
        let solution = Solver::new(&network)
            .solve(&network.cases()[0])
            .expect("an answer");
        let steps = run(&solution, "battery");
        let ids: Vec<&str> = steps.iter().map(|s| s.id.as_str()).collect();
        assert_eq!(
            ids,
            ["suction", "pump", "feed", "mid", "return", "nose.battery"]
        );
        let rise = steps[1].outlet_gauge_pa - steps[1].inlet_gauge_pa;
        let pump = &solution.pumps("battery")[0];
        assert!((rise / pump.pressure_rise_pa - 1.0).abs() < 0.01, "{rise}");
        assert!(steps[1].shut_off_gauge_pa.expect("shut-off") > steps[1].outlet_gauge_pa);
    }
}
