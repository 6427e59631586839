//! From a question to what can be run: every path found, every value checked, every output seen once.

use super::error::SweepError;
use super::sobol::{SOBOL_DIMENSIONS, SOBOL_POINTS};
use super::{Output, Sampling, SweepQuestion};
use crate::design::{Adjustable, Design, Dial, Levels, Limits};
use crate::network::Network;
use crate::solve::Solver;
use crate::study::readout::{Judging, Readout, Solved, solve_case};

/// The dials of a question.
pub(super) fn dials(base: &Adjustable, question: &SweepQuestion) -> Result<Vec<Dial>, SweepError> {
    let mut dials: Vec<Dial> = Vec::new();
    for vary in &question.vary {
        let dial = base.dial(vary)?;
        // A value within a list or object that is varied as a whole would be undone by it.
        let overlap = |other: &Dial| {
            let (a, b) = (other.place().steps(), dial.place().steps());
            a.starts_with(b) || b.starts_with(a)
        };
        if dials.iter().any(overlap) {
            return Err(SweepError::Twice(dial.place().to_string()));
        }
        dials.push(dial);
    }
    if dials.is_empty() {
        return Err(SweepError::NothingVaried);
    }
    Ok(dials)
}

/// How many points the dials make.
pub(super) fn points(dials: &[Dial], sampling: Sampling) -> Result<usize, SweepError> {
    let is_list = |dial: &Dial| matches!(dial.levels(), Levels::List(_));
    match sampling {
        Sampling::Grid => dials.iter().try_fold(1_usize, |points, dial| {
            let count = dial
                .levels()
                .count()
                .ok_or_else(|| SweepError::NoSteps(dial.place().to_string()))?;
            points.checked_mul(count).ok_or(SweepError::TooManyPoints)
        }),
        Sampling::Sobol(_) if dials.len() > SOBOL_DIMENSIONS => {
            Err(SweepError::TooManyDimensions {
                got: dials.len(),
                limit: SOBOL_DIMENSIONS,
            })
        }
        Sampling::Sobol(0) => Err(SweepError::NoPoints),
        Sampling::Sobol(points) if points > SOBOL_POINTS => Err(SweepError::TooManyPoints),
        Sampling::Sobol(points) => {
            let stepped = |dial: &&Dial| !is_list(dial) && dial.levels().count().is_some();
            match dials.iter().find(stepped) {
                Some(dial) => Err(SweepError::StepsInSampling(dial.place().to_string())),
                None => Ok(points),
            }
        }
    }
}

/// The outputs asked for, found in the answer of the design itself where that can be solved.
pub(super) fn outputs(
    network: &Network,
    design: &Design,
    question: &SweepQuestion,
    readout: &dyn Readout,
) -> Result<Vec<Output>, SweepError> {
    let known = || design.cases.keys().cloned().collect::<Vec<String>>();
    let unknown = |name: &str| SweepError::UnknownCase {
        name: name.to_owned(),
        known: known(),
    };
    if let Some(name) = question
        .cases
        .iter()
        .find(|c| !design.cases.contains_key(*c))
    {
        return Err(unknown(name));
    }
    let none = Limits::default();
    let limits = design.limits.as_ref().unwrap_or(&none);
    let mut solver = Solver::new(network);
    let mut kept: Vec<(String, Option<Solved<'_>>)> = Vec::new();
    let mut solve = |name: &str| {
        if let Some((_, solved)) = kept.iter().find(|(known, _)| known == name) {
            return solved.clone();
        }
        let case = network.cases().iter().find(|c| c.name == name)?;
        let solved = solve_case(&mut solver, case, limits, Judging::Yes).ok();
        kept.push((name.to_owned(), solved.clone()));
        solved
    };
    let steady = || {
        let cases = network.cases().iter().filter(|c| c.time.is_none());
        cases.map(|c| c.name.clone()).collect::<Vec<String>>()
    };
    let asked: Vec<String> = if !question.cases.is_empty() {
        question.cases.clone()
    } else if steady().is_empty() {
        known()
    } else {
        steady()
    };
    let full = |case: &str, rest: &str| Output {
        path: format!("cases.{case}.{rest}"),
        case: case.to_owned(),
        rest: rest.to_owned(),
    };
    let mut outputs = Vec::new();
    if question.outputs.is_empty() {
        for case in &asked {
            if let Some(solved) = solve(case) {
                outputs.extend(readout.usual(&solved).iter().map(|rest| full(case, rest)));
            }
        }
        if outputs.is_empty() {
            return Err(SweepError::Output {
                path: "(default)".to_owned(),
                why: "no case of the design can be solved; name outputs with `--output`".to_owned(),
            });
        }
        return Ok(outputs);
    }
    for path in &question.outputs {
        let of: Vec<Output> = match path.strip_prefix("cases.") {
            Some(rest) => {
                let (case, rest) = rest.split_once('.').unwrap_or((rest, ""));
                if !design.cases.contains_key(case) {
                    return Err(unknown(case));
                }
                vec![full(case, rest)]
            }
            // Without a case it is read in every one.
            None => asked.iter().map(|case| full(case, path)).collect(),
        };
        for output in of {
            if let Some(solved) = solve(&output.case)
                && let Some(Err(why)) = readout.numbers(&solved, &[&output.rest]).pop()
            {
                return Err(SweepError::Output {
                    path: output.path,
                    why,
                });
            }
            if !outputs.contains(&output) {
                outputs.push(output);
            }
        }
    }
    Ok(outputs)
}
