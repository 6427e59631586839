//! What a bucket and a stopwatch will show: the design with plain water at the temperature of the bench, heat left out,
//! and seconds a litre for each branch of each bank.

use crate::design::{CaseRecord, CoolantRecord, Design, NoChoices};
use crate::network::{BuildError, Network};
use crate::quantity::Temperature;
use crate::solve::{SolveError, Solver};

/// Reading of a stopwatch, s (calculation of the field notes; common practice).
const WATCH_S: f64 = 0.5;
/// Reading of a litre, as a share (10 mL).
const LITRE_SHARE: f64 = 0.01;
/// Temperature of the test water where none is asked for, K.
pub const BENCH_K: f64 = 293.15;

/// One branch of a bank.
#[derive(Clone, Debug, PartialEq)]
pub struct BucketBranch {
    /// Its first module and circuit, such as `module 3.circuit 1`.
    pub id: String,
    /// Port on the supply header, counted from 1.
    pub port: usize,
    /// Flow, m3/s.
    pub flow_m3_s: f64,
    /// Flow over the mean of the bank.
    pub over_mean: f64,
    /// Seconds for a litre; none where nothing flows.
    pub seconds: Option<f64>,
    /// By how much a sound reading may be off, s: half a second of the watch and 10 mL of the jug.
    pub tolerance_s: Option<f64>,
}

/// The sheet of one bank.
#[derive(Clone, Debug, PartialEq)]
pub struct BucketSheet {
    /// The loop.
    pub owner: String,
    /// The bank.
    pub bank: String,
    /// Flow of the whole bank, m3/s.
    pub flow_m3_s: f64,
    /// Seconds for ten litres of the whole bank; none where nothing flows.
    pub ten_litres_s: Option<f64>,
    /// Its branches.
    pub branches: Vec<BucketBranch>,
}

/// The answer.
#[derive(Clone, Debug)]
pub struct BucketAnswer {
    /// Temperature of the water, K.
    pub water_k: f64,
    /// One sheet a bank, or why there is none.
    pub sheets: Result<Vec<BucketSheet>, SolveError>,
}

/// Solves the design with water at a temperature, pumps at the speed that their records give.
///
/// # Errors
/// [`BuildError`] where the design makes no network.
pub fn run(design: &Design, water_k: f64) -> Result<BucketAnswer, BuildError> {
    let mut changed = design.clone();
    let name = free_name(&changed);
    changed
        .coolants
        .insert(name.clone(), CoolantRecord::Water(NoChoices::default()));
    for record in changed.loops.values_mut() {
        record.coolant.clone_from(&name);
    }
    let water = Temperature::from_k(water_k);
    changed.cases.clear();
    changed.cases.insert(
        "bucket".into(),
        CaseRecord {
            air: water,
            altitude: None,
            travel_speed: None,
            bay_temperature: None,
            module_current: None,
            heat: Default::default(),
            load: Default::default(),
            pump_speed: Default::default(),
            fan_speed: Default::default(),
            valve_opening: Default::default(),
            coolant_temperature: Some(water),
            duration: None,
            start_temperature: None,
        },
    );
    changed.limits = None;
    let network = Network::build(&changed)?;
    let solved = Solver::new(&network).solve(&network.cases()[0]);
    let sheets = solved.map(|solution| {
        let mut sheets = Vec::new();
        for circuit in network.loops() {
            let parts = solution.parts(&circuit.name);
            let branch_of = circuit.net.branch_of_elements();
            for map in &circuit.banks {
                let mut seen = Vec::new();
                let mut branches = Vec::new();
                for module in &circuit.modules[map.modules.clone()] {
                    for &element in &module.circuits {
                        if seen.contains(&branch_of[element]) {
                            continue;
                        }
                        seen.push(branch_of[element]);
                        let from = circuit.net.branches[branch_of[element]].from;
                        let port = map.supply_tees.iter().position(|t| *t == from);
                        let id = parts[element].id.as_str();
                        branches.push(branch(
                            id.strip_prefix(map.name.as_str())
                                .unwrap_or(id)
                                .trim_start_matches('.'),
                            port.map_or(branches.len() + 1, |p| p + 1),
                            parts[element].volume_flow_m3_s,
                        ));
                    }
                }
                let flow_m3_s: f64 = branches.iter().map(|b| b.flow_m3_s).sum();
                let mean = flow_m3_s / branches.len().max(1) as f64;
                for branch in &mut branches {
                    branch.over_mean = if mean > 0.0 {
                        branch.flow_m3_s / mean
                    } else {
                        1.0
                    };
                }
                sheets.push(BucketSheet {
                    owner: circuit.name.clone(),
                    bank: map.name.clone(),
                    flow_m3_s,
                    ten_litres_s: seconds(flow_m3_s).map(|s| 10.0 * s),
                    branches,
                });
            }
        }
        sheets
    });
    Ok(BucketAnswer { water_k, sheets })
}

fn free_name(design: &Design) -> String {
    let mut name = "test water".to_owned();
    while design.coolants.contains_key(&name) {
        name.push_str(" x");
    }
    name
}

/// Seconds for a litre; none where it would take longer than a day.
fn seconds(flow_m3_s: f64) -> Option<f64> {
    let s = 1e-3 / flow_m3_s.abs();
    (s.is_finite() && s < 86_400.0).then_some(s)
}

fn branch(id: &str, port: usize, flow_m3_s: f64) -> BucketBranch {
    let seconds = seconds(flow_m3_s);
    BucketBranch {
        id: id.to_owned(),
        port,
        flow_m3_s,
        over_mean: 1.0,
        seconds,
        tolerance_s: seconds.map(|s| WATCH_S.hypot(LITRE_SHARE * s)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::design::Source;

    #[test]
    fn a_litre_a_minute_takes_a_minute_within_one_and_a_third_per_cent() {
        let branch = branch("module 1.circuit 1", 1, 1e-3 / 60.0);
        assert!((branch.seconds.expect("flow") - 60.0).abs() < 1e-9);
        // hypot(0.5, 0.6) / 60: by hand.
        assert!((branch.tolerance_s.expect("flow") / 60.0 - 0.013_017).abs() < 1e-5);
        assert_eq!(super::branch("x", 1, 0.0).seconds, None);
    }

    #[test]
    fn the_bucket_gives_back_what_the_bench_sample_solves_for_water() {
        let text = include_str!("../../networks/bench-header.json");
        let design = Source::read(text).expect("a design").design;
        let answer = run(&design, BENCH_K).expect("a network");
        let sheets = answer.sheets.expect("an answer");
        assert_eq!(sheets.len(), 1);
        let total: f64 = sheets[0].branches.iter().map(|b| b.flow_m3_s).sum();
        let ten = sheets[0].ten_litres_s.expect("flow");
        assert!((ten * total - 1e-2).abs() < 1e-9);
        let mean: f64 = sheets[0].branches.iter().map(|b| b.over_mean).sum();
        assert!((mean / sheets[0].branches.len() as f64 - 1.0).abs() < 1e-12);
    }
}
