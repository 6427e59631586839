//! The duty any pump must do: the design's own pump is turned slower and faster, which moves the working point along
//! what the loop asks for, whatever pump serves it; the least and the most that meet the limits are found there.
//! Pressure at shut-off depends on the pump's shape and is left out here.

use crate::design::Design;
use crate::network::{Case, Network};
use crate::solve::Solver;
use crate::study::error::StudyError;
use crate::study::judged::{Counting, Judged};
use crate::study::limits::judge;
use crate::study::partition::Tight;

/// Slowest speed tried, over the curve's.
const SLOWEST: f64 = 0.1;
/// Fastest speed tried.
const FASTEST: f64 = 5.0;
/// Speeds tried between them, evenly in ratio.
const STEPS: usize = 32;
/// Halvings that place an edge between two of them.
const HALVINGS: usize = 12;

/// What the loop asks of a pump in one case.
#[derive(Clone, Debug, PartialEq)]
pub struct DutyPoint {
    /// The case.
    pub case: String,
    /// Flow, m3/s.
    pub flow_m3_s: f64,
    /// Rise at that flow, Pa.
    pub rise_pa: f64,
}

/// The duty that meets the limits.
#[derive(Clone, Debug, PartialEq)]
pub struct Demand {
    /// The least that meets every limit that counts in every case; empty where nothing does.
    pub least: Vec<DutyPoint>,
    /// The most; empty where more and more still meets them.
    pub most: Vec<DutyPoint>,
    /// Where nothing meets them all: the duty that comes nearest, with its tightest limit.
    pub nearest: Vec<DutyPoint>,
    /// That limit.
    pub nearest_worst: Option<Tight>,
}

/// One speed, solved and judged.
pub(super) struct Turned {
    speed: f64,
    pub(super) cases: Vec<Judged>,
    duty: Vec<DutyPoint>,
}

/// A design whose pump can be turned.
pub(super) struct Scan<'n> {
    network: &'n Network,
    design: &'n Design,
    circuit: usize,
    element: usize,
    owner: &'n str,
    pump: &'n str,
    cases: Vec<&'n Case>,
}

impl<'n> Scan<'n> {
    pub(super) fn new(
        network: &'n Network,
        design: &'n Design,
        owner: &'n str,
        pump: &'n str,
        cases: &[String],
    ) -> Result<Self, StudyError> {
        let found = network
            .loops()
            .iter()
            .position(|l| l.name == owner)
            .and_then(|c| {
                let elements = &network.loops()[c].net.elements;
                let e = elements.iter().position(|e| e.id.as_str() == pump)?;
                Some((c, e))
            });
        let Some((circuit, element)) = found else {
            return Err(StudyError::unknown("pump", pump, [].iter()));
        };
        Ok(Self {
            network,
            design,
            circuit,
            element,
            owner,
            pump,
            cases: network
                .cases()
                .iter()
                .filter(|c| cases.contains(&c.name))
                .collect(),
        })
    }

    /// Every speed of the scan.
    pub(super) fn all(&self) -> Vec<Turned> {
        let mut solver = Solver::new(self.network);
        (0..=STEPS)
            .map(|k| {
                let share = k as f64 / STEPS as f64;
                self.turn(&mut solver, SLOWEST * (FASTEST / SLOWEST).powf(share))
            })
            .collect()
    }

    fn turn(&self, solver: &mut Solver<'_>, speed: f64) -> Turned {
        let limits = self.design.limits.clone().unwrap_or_default();
        let mut duty = Vec::new();
        let cases = self
            .cases
            .iter()
            .map(|case| {
                let mut turned = (*case).clone();
                turned
                    .pump_speed
                    .retain(|(c, e, _)| (*c, *e) != (self.circuit, self.element));
                turned.pump_speed.push((self.circuit, self.element, speed));
                let outcome = solver.solve(&turned).map(|solution| {
                    let state = solution.part(self.owner, self.pump);
                    duty.extend(state.map(|s| DutyPoint {
                        case: case.name.clone(),
                        flow_m3_s: s.volume_flow_m3_s,
                        rise_pa: -s.pressure_drop_pa,
                    }));
                    let mut rows = judge(&solution, &limits);
                    rows.retain(|r| r.limit != "part_pressure");
                    rows
                });
                Judged {
                    case: case.name.clone(),
                    outcome,
                }
            })
            .collect();
        Turned { speed, cases, duty }
    }

    /// The speed between one that fits and one that does not at which it begins to fit, with its duty.
    fn edge(&self, counting: &Counting, mut fits: f64, mut misses: f64) -> Option<Turned> {
        let mut solver = Solver::new(self.network);
        let mut best = None;
        for _ in 0..HALVINGS {
            let middle = (fits * misses).sqrt();
            let turned = self.turn(&mut solver, middle);
            if counting.weigh(&turned.cases).fits {
                fits = middle;
                best = Some(turned);
            } else {
                misses = middle;
            }
        }
        best
    }
}

/// The edges of what meets the limits.
pub(super) fn demand(scan: &Scan<'_>, all: &[Turned], counting: &Counting) -> Demand {
    let weighed: Vec<_> = all.iter().map(|t| counting.weigh(&t.cases)).collect();
    let mut demand = Demand {
        least: Vec::new(),
        most: Vec::new(),
        nearest: Vec::new(),
        nearest_worst: None,
    };
    let Some(first) = weighed.iter().position(|w| w.fits) else {
        let margin = |k: &usize| {
            let worst = weighed[*k].worst.as_ref().map(|w| w.margin_k);
            worst.filter(|_| weighed[*k].failure.is_none())
        };
        let nearest = (0..all.len())
            .filter(|k| margin(k).is_some())
            .max_by(|a, b| {
                margin(a)
                    .unwrap_or(0.0)
                    .total_cmp(&margin(b).unwrap_or(0.0))
            });
        if let Some(k) = nearest {
            demand.nearest.clone_from(&all[k].duty);
            demand.nearest_worst.clone_from(&weighed[k].worst);
        }
        return demand;
    };
    let last = first + weighed[first..].iter().take_while(|w| w.fits).count() - 1;
    let edge = |inside: usize, outside: Option<usize>| {
        let refined =
            outside.and_then(|o| scan.edge(counting, all[inside].speed, all.get(o)?.speed));
        refined.map_or_else(|| all[inside].duty.clone(), |t| t.duty)
    };
    demand.least = edge(first, first.checked_sub(1));
    if last + 1 < all.len() {
        demand.most = edge(last, Some(last + 1));
    }
    demand
}
