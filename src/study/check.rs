//! Does a design meet its limits? Every case is solved and judged; where a part rests on one measured point, both
//! readings of that point are solved too and the worse one counts.

use super::cases;
use super::limit_row::{LimitRow, Verdict};
use super::limits::judge;
use super::sensitivity::{self, Remedy, RemedySearch};
use super::time::{self, LimitInTime};
use crate::design::{Design, Knob, Limits};
use crate::finding::{Finding, FindingKind};
use crate::network::{BuildError, Case, Network};
use crate::part::SinglePoint;
use crate::solve::{SolveError, Solver};

/// The answer for one case.
#[derive(Clone, Debug)]
pub struct CaseAnswer {
    /// The case.
    pub case: String,
    /// One row a limit, or why there is no answer.
    pub limits: Result<Vec<LimitRow>, SolveError>,
    /// What the builder should know.
    pub findings: Vec<Finding>,
    /// For a case in time, which is judged on its peaks: when each limit is first reached. Else empty.
    pub in_time: Vec<LimitInTime>,
    /// Single changes that would meet a missed limit of a steady case, as far as one was found.
    pub remedies: Vec<RowRemedy>,
}

/// One change that would meet a missed limit.
#[derive(Clone, Debug, PartialEq)]
pub struct RowRemedy {
    /// The limit, by its place in the rows of the case.
    pub row: usize,
    /// The input.
    pub knob: Knob,
    /// The change.
    pub remedy: Remedy,
}

/// The answer for a design.
#[derive(Clone, Debug)]
pub struct CheckAnswer {
    /// Cases in the order of the design.
    pub cases: Vec<CaseAnswer>,
    /// What the builder should know before anything is solved.
    pub findings: Vec<Finding>,
    /// Parts, modules and radiators whose numbers are placeholders.
    pub placeholders: Vec<String>,
}

impl CheckAnswer {
    /// The worst verdict of all cases; `None` where a case has no answer.
    pub fn verdict(&self) -> Option<Verdict> {
        let mut worst = Verdict::Met;
        for case in &self.cases {
            for row in case.limits.as_ref().ok()? {
                worst = worst.max(row.verdict);
            }
        }
        Some(worst)
    }
}

/// Solves and judges every case, or only those named.
///
/// # Errors
/// [`BuildError`] where the design makes no network.
///
/// ```
/// use loopwright::{design::Source, study::{Verdict, check}};
/// let text = r#"{ "format": 1, "title": "bucket", "coolants": { "water": { "water": {} } },
///   "loops": { "bench": { "coolant": "water",
///     "parts": { "mains": { "open_end": { "pressure": "20 kPa" } }, "bucket": { "open_end": {} },
///                "hose": { "hose": { "bore": "12 mm", "length": "3 m" } } },
///     "runs": [["mains", "hose", "bucket"]] } },
///   "cases": { "cold tap": { "air": "12 degC" } },
///   "limits": { "hose_velocity": { "max": "1 m/s" } } }"#;
/// let source = Source::read(text).unwrap();
/// let answer = check::run(&source.design, &[]).unwrap();
/// assert_eq!(answer.verdict(), Some(Verdict::Missed));
/// ```
pub fn run(design: &Design, only: &[String]) -> Result<CheckAnswer, BuildError> {
    let mut answer = verdicts(design, only)?;
    add_remedies(design, &mut answer.cases);
    Ok(answer)
}

/// The same without looking for what would meet a missed limit, for studies that read the verdicts alone.
///
/// # Errors
/// As [`run`].
pub fn verdicts(design: &Design, only: &[String]) -> Result<CheckAnswer, BuildError> {
    let network = Network::build(design)?;
    let limits = design.limits.clone().unwrap_or_default();
    let single = network
        .findings()
        .iter()
        .any(|f| f.kind == FindingKind::SinglePoint);
    let mut cases = judge_network(&network, &limits, only);
    if single {
        for reading in [SinglePoint::AllLaminar, SinglePoint::AllTurbulent] {
            let other = Network::build_with(design, reading)?;
            for (case, other) in cases.iter_mut().zip(judge_network(&other, &limits, only)) {
                widen(case, other);
            }
        }
    }
    Ok(CheckAnswer {
        cases,
        findings: network.findings().to_vec(),
        placeholders: network.placeholders().to_vec(),
    })
}

/// Looks for the one change that would meet each missed limit of the steady cases. A check stands without it, so where no
/// slopes can be had none is told.
fn add_remedies(design: &Design, cases: &mut [CaseAnswer]) {
    let missed = |case: &CaseAnswer| match &case.limits {
        Ok(rows) => rows.iter().any(|r| r.verdict == Verdict::Missed),
        Err(_) => false,
    };
    let steady = |case: &CaseAnswer| {
        let record = design.cases.get(&case.case);
        record.is_some_and(|record| record.duration.is_none())
    };
    let names: Vec<String> = (cases.iter())
        .filter(|c| missed(c) && steady(c))
        .map(|c| c.case.clone())
        .collect();
    if names.is_empty() {
        return;
    }
    let (Ok(answer), Ok(mut search)) = (
        sensitivity::of_limits(design, &names),
        RemedySearch::new(design),
    ) else {
        return;
    };
    for case in cases {
        let outputs = answer.cases.iter().find(|c| c.case == case.case);
        let (Some(Ok(outputs)), Ok(rows)) = (outputs.map(|c| &c.outputs), &case.limits) else {
            continue;
        };
        for (k, row) in rows.iter().enumerate() {
            let output = outputs.iter().find(|o| o.is_missed() && o.judges(row));
            let Some(output) = output.filter(|_| row.verdict == Verdict::Missed) else {
                continue;
            };
            for remedy in search.find(&answer, &case.case, output, 1) {
                case.remedies.push(RowRemedy {
                    row: k,
                    knob: answer.knobs[remedy.knob].clone(),
                    remedy,
                });
            }
        }
    }
}

fn judge_network(network: &Network, limits: &Limits, only: &[String]) -> Vec<CaseAnswer> {
    let asked = |c: &&Case| only.is_empty() || only.contains(&c.name);
    let cases: Vec<&Case> = network.cases().iter().filter(asked).collect();
    cases::each(
        &cases,
        || Solver::new(network),
        |solver, case| {
            let answer = match time::run(solver, case, limits) {
                Ok(Some(march)) => Ok((march.limits, march.end.findings().to_vec(), march.in_time)),
                Ok(None) => solver.solve(case).map(|solution| {
                    let findings = solution.findings().to_vec();
                    (judge(&solution, limits), findings, Vec::new())
                }),
                Err(error) => Err(error),
            };
            let case = case.name.clone();
            match answer {
                Ok((rows, findings, in_time)) => CaseAnswer {
                    case,
                    limits: Ok(rows),
                    findings,
                    in_time,
                    remedies: Vec::new(),
                },
                Err(error) => CaseAnswer {
                    case,
                    limits: Err(error),
                    findings: Vec::new(),
                    in_time: Vec::new(),
                    remedies: Vec::new(),
                },
            }
        },
    )
}

/// Takes the other reading of single points into the rows: the band widens, the worse value counts, and what is met in
/// both is provisional still.
fn widen(case: &mut CaseAnswer, other: CaseAnswer) {
    let (Ok(rows), Ok(others)) = (&mut case.limits, other.limits) else {
        return;
    };
    for (row, other) in rows.iter_mut().zip(others) {
        row.widen(&other);
    }
}
