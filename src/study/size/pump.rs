//! Which pump from a stock list: each alone, two in series and two in parallel, at each supply voltage, solved in every
//! steady case and judged by the limits of its loop; and the duty that any pump must do.
//!
//! Adding rules: two in series double the rise at each flow, two in parallel double the flow at each rise (alike pumps,
//! common practice). Affinity: flow goes with speed, rise with its square, power with its cube, and speed with voltage
//! (a brushed motor without control; common practice, no source).

pub use super::pump_demand::{Demand, DutyPoint};
use super::pump_demand::{Scan, demand};
pub use super::pump_trial::{Arrangement, PumpPoint};
use super::pump_trial::{with_pump, work};
use crate::design::{Design, Stock, StockPump};
use crate::network::Network;
use crate::part::Part;
use crate::study::error::StudyError;
use crate::study::judged::{
    Counting, FLOW_AND_HEAT, Judged, Onward, counting, judge_design, steady_cases,
};
use crate::study::partition::Tight;

/// Supply voltages unless the caller says otherwise, V: a tired, a resting and a charging 12 V system.
pub const SUPPLIES_V: [f64; 3] = [10.0, 12.5, 15.0];

/// What to size.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct PumpQuestion {
    /// The pump, as `loop.part` (default: the only one).
    pub pump: Option<String>,
    /// Supply voltages, V (default [`SUPPLIES_V`]).
    pub supplies_v: Vec<f64>,
    /// Only these cases (default: all steady ones).
    pub cases: Vec<String>,
}

/// A pump arrangement at one supply voltage.
#[derive(Clone, Debug, PartialEq)]
pub struct PumpRun {
    /// Supply, V; none where the pump states no rated voltage.
    pub supply_v: Option<f64>,
    /// Speed over the speed of the curve.
    pub speed: f64,
    /// Every case, judged.
    pub cases: Vec<Judged>,
    /// Where the pumps work in each case with an answer.
    pub points: Vec<PumpPoint>,
    /// Every case has an answer and every limit that counts is met.
    pub fits: bool,
    /// The tightest limit that counts.
    pub worst: Option<Tight>,
}

/// One pump of the list in one arrangement.
#[derive(Clone, Debug, PartialEq)]
pub struct PumpTrial {
    /// Name in the stock list.
    pub name: String,
    /// One, or two together.
    pub arrangement: Arrangement,
    /// Voltage for which its curve holds, V.
    pub rated_v: Option<f64>,
    /// One run a supply voltage.
    pub runs: Vec<PumpRun>,
    /// It fits at every supply voltage.
    pub fits: bool,
}

impl PumpTrial {
    /// The run with the smallest margin, or without an answer.
    pub fn worst_run(&self) -> Option<&PumpRun> {
        let margin = |r: &PumpRun| match (&r.worst, r.cases.iter().any(|c| c.outcome.is_err())) {
            (_, true) => f64::NEG_INFINITY,
            (Some(worst), false) => worst.margin_k,
            (None, false) => f64::INFINITY,
        };
        self.runs
            .iter()
            .min_by(|a, b| margin(a).total_cmp(&margin(b)))
    }

    /// Most electrical power over all runs and cases, W; none where nothing states it.
    pub fn electrical_w(&self) -> Option<f64> {
        let all = self.runs.iter().flat_map(|r| &r.points);
        all.filter_map(|p| p.electrical_w).reduce(f64::max)
    }

    /// At how many supplies it fits.
    pub fn fits_at(&self) -> usize {
        self.runs.iter().filter(|r| r.fits).count()
    }

    fn rank(&self) -> (bool, usize, f64, f64) {
        let worst = self
            .worst_run()
            .map_or(f64::NEG_INFINITY, |r| match &r.worst {
                Some(worst) if r.cases.iter().all(|c| c.outcome.is_ok()) => worst.margin_k,
                Some(_) => f64::NEG_INFINITY,
                None => 0.0,
            });
        let thrift = if self.fits {
            -self.electrical_w().unwrap_or(f64::INFINITY)
        } else {
            worst
        };
        (self.fits, self.fits_at(), thrift, worst)
    }
}

/// Every pump of the list, ranked.
#[derive(Clone, Debug, PartialEq)]
pub struct PumpAnswer {
    /// The loop.
    pub owner: String,
    /// The pump that is replaced.
    pub pump: String,
    /// Supply voltages, V.
    pub supplies_v: Vec<f64>,
    /// The cases.
    pub cases: Vec<String>,
    /// Cases in time, which are not compared.
    pub in_time: Vec<String>,
    /// The best first: those that fit by electrical power, the rest by how far they miss.
    pub trials: Vec<PumpTrial>,
    /// The duty that meets the limits, whatever the pump.
    pub demand: Demand,
    /// Which limits decide, and which no pump mends.
    pub counting: Counting,
    /// Parts, modules and radiators whose numbers are placeholders, and pumps of the list.
    pub placeholders: Vec<String>,
}

impl PumpAnswer {
    /// The best that fits at every supply.
    pub fn best(&self) -> Option<&PumpTrial> {
        self.trials.first().filter(|t| t.fits)
    }

    /// Whether any arrangement has an answer in every case.
    pub fn is_answered(&self) -> bool {
        let solved = |r: &PumpRun| r.cases.iter().all(|c| c.outcome.is_ok());
        self.trials.iter().any(|t| t.runs.iter().any(solved))
    }
}

/// Tries every pump of the list.
///
/// # Errors
/// [`StudyError`] where the question names nothing, the list holds no pump, or the design makes no network.
///
/// ```
/// use loopwright::{design::{Source, Stock}, study::size::pump::{self, PumpQuestion}};
/// let design = Source::read(include_str!("../../../networks/harbour-launch.json")).unwrap().design;
/// let stock = Stock::read(include_str!("../../../networks/stock/pumps.json")).unwrap();
/// let question = PumpQuestion { pump: Some("battery.pump".into()), ..Default::default() };
/// let answer = pump::run(&design, &stock, &question).unwrap();
/// assert_eq!(answer.trials.len(), 3 * stock.pumps.len());
/// ```
pub fn run(
    design: &Design,
    stock: &Stock,
    question: &PumpQuestion,
) -> Result<PumpAnswer, StudyError> {
    if stock.pumps.is_empty() {
        return Err(StudyError::Nothing {
            sort: "pump in the stock list",
            help: "try a list with `pumps`, such as networks/stock/pumps.json",
        });
    }
    let (owner, pump) = choose(design, question.pump.as_deref())?;
    let supplies_v = supplies(&question.supplies_v)?;
    let (cases, in_time) = steady_cases(design, &question.cases)?;
    let network = Network::build(design)?;
    let mut trials = Vec::new();
    for (name, record) in &stock.pumps {
        for arrangement in Arrangement::ALL {
            let runs = runs(
                design,
                (&owner, &pump),
                record,
                arrangement,
                &supplies_v,
                &cases,
            )?;
            trials.push(PumpTrial {
                name: name.clone(),
                arrangement,
                rated_v: record.rated_voltage.map(|v| v.v()),
                runs,
                fits: false,
            });
        }
    }
    let scan = Scan::new(&network, design, &owner, &pump, &cases)?;
    let scanned = scan.all();
    let variants = trials
        .iter()
        .flat_map(|t| &t.runs)
        .map(|r| r.cases.as_slice())
        .chain(scanned.iter().map(|s| s.cases.as_slice()));
    let counting = counting(variants, &owner, &FLOW_AND_HEAT);
    for run in trials.iter_mut().flat_map(|t| &mut t.runs) {
        let weighed = counting.weigh(&run.cases);
        run.fits = weighed.fits;
        run.worst = weighed.worst;
    }
    for trial in &mut trials {
        trial.fits = trial.runs.iter().all(|r| r.fits);
    }
    trials.sort_by(|a, b| {
        let (a, b) = (a.rank(), b.rank());
        let flags = (b.0, b.1).cmp(&(a.0, a.1));
        flags.then(b.2.total_cmp(&a.2)).then(b.3.total_cmp(&a.3))
    });
    let demand = demand(&scan, &scanned, &counting);
    let mut placeholders = network.placeholders().to_vec();
    let shelf = stock.pumps.iter().filter(|(_, p)| {
        p.origin
            .is_some_and(|o| o == crate::part::Origin::Placeholder)
    });
    placeholders.extend(shelf.map(|(name, _)| format!("stock {name}")));
    Ok(PumpAnswer {
        owner,
        pump,
        supplies_v,
        cases,
        in_time,
        trials,
        demand,
        counting,
        placeholders,
    })
}

fn runs(
    design: &Design,
    at: (&str, &str),
    record: &StockPump,
    arrangement: Arrangement,
    supplies_v: &[f64],
    cases: &[String],
) -> Result<Vec<PumpRun>, StudyError> {
    let speeds: Vec<(Option<f64>, f64)> = match record.rated_voltage {
        Some(rated) => supplies_v
            .iter()
            .map(|v| (Some(*v), v / rated.v()))
            .collect(),
        None => vec![(None, 1.0)],
    };
    let mut runs = Vec::new();
    for (supply_v, speed) in speeds {
        let changed = with_pump(design, at, record, arrangement, speed);
        let mut points = Vec::new();
        let cases = judge_design(&changed, cases, &mut |solution, _| {
            points.extend(work(solution, at, record, arrangement, speed));
            Onward::Next
        })?;
        runs.push(PumpRun {
            supply_v,
            speed,
            cases,
            points,
            fits: false,
            worst: None,
        });
    }
    Ok(runs)
}

/// The pump that was asked for, or the only one.
fn choose(design: &Design, asked: Option<&str>) -> Result<(String, String), StudyError> {
    let pumps: Vec<(String, String)> = design
        .loops
        .iter()
        .flat_map(|(owner, record)| {
            let own = record.parts.iter();
            own.filter(|(_, p)| matches!(p, Part::Pump(_)))
                .map(move |(name, _)| (owner.clone(), name.clone()))
        })
        .collect();
    let names: Vec<String> = pumps.iter().map(|(o, p)| format!("{o}.{p}")).collect();
    match asked {
        Some(asked) => match names.iter().position(|n| n == asked) {
            Some(k) => Ok(pumps[k].clone()),
            None => Err(StudyError::unknown("pump", asked, names.iter())),
        },
        None => match &pumps[..] {
            [] => Err(StudyError::Nothing {
                sort: "pump in the design",
                help: "try giving the loop a `pump`",
            }),
            [one] => Ok(one.clone()),
            _ => Err(StudyError::Which {
                sort: "pump",
                option: "--pump",
                known: names,
            }),
        },
    }
}

fn supplies(asked: &[f64]) -> Result<Vec<f64>, StudyError> {
    if let Some(v) = asked.iter().find(|v| !(**v > 0.0 && v.is_finite())) {
        return Err(StudyError::Value {
            reason: format!("cannot run a pump at this supply: got {v} V, limit above 0 V"),
        });
    }
    Ok(if asked.is_empty() {
        SUPPLIES_V.to_vec()
    } else {
        asked.to_vec()
    })
}
