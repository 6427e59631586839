//! The rules a plan must keep, one function a rule; `networks/broken/` holds one sample for each.

use super::error::{NetworkError, Rule};
use super::plan::{Link, Plan, PlanLoop, Sort, Target};
use std::collections::HashMap;

type Errors = Vec<NetworkError>;

/// Runs every rule over a plan and returns all that is broken.
pub fn check(plan: &Plan) -> Errors {
    let mut errors = Vec::new();
    radiator_names(plan, &mut errors);
    for circuit in &plan.loops {
        let uses = Uses::of(circuit);
        run_length(circuit, &mut errors);
        part_once_in_a_run(circuit, &mut errors);
        part_in_one_run(circuit, &uses, &mut errors);
        every_part_used(circuit, &uses, &mut errors);
        tee_ends(circuit, &uses, &mut errors);
        tee_inside_a_run(circuit, &mut errors);
        loose_runs(circuit, &mut errors);
    }
    cores_in_one_loop(plan, &mut errors);
    errors
}

/// Where the parts of a loop stand, gathered once, so that a design of many parts is checked in one walk.
struct Uses<'a> {
    /// The links that name each part or an end of it, with their runs, in the order of the runs.
    of_part: Vec<Vec<(usize, &'a Link)>>,
}

impl<'a> Uses<'a> {
    fn of(circuit: &'a PlanLoop) -> Self {
        let mut of_part = vec![Vec::new(); circuit.parts.len()];
        for (index, run) in circuit.runs.iter().enumerate() {
            for link in run {
                if let Target::Part(p) | Target::TeeEnd(p, _) = link.target {
                    of_part[p].push((index, link));
                }
            }
        }
        Self { of_part }
    }
}

/// A radiator's name differs from every loop's and every part's, so that `X.Y` means one thing.
fn radiator_names(plan: &Plan, errors: &mut Errors) {
    for (name, place) in &plan.radiators {
        let taken = plan
            .loops
            .iter()
            .find(|l| &l.name == name || l.parts.iter().any(|p| &p.name == name));
        if let Some(circuit) = taken {
            errors.push(NetworkError::new(
                Rule::NameTwice,
                place,
                format!(
                    "the radiator `{name}` has the name of the loop `{}` or of a part of it",
                    circuit.name
                ),
                "try another name for the radiator",
            ));
        }
    }
}

/// A run joins at least two names.
fn run_length(circuit: &PlanLoop, errors: &mut Errors) {
    for (index, run) in circuit.runs.iter().enumerate() {
        if run.len() < 2 {
            errors.push(NetworkError::new(
                Rule::ShortRun,
                &circuit.place.key("runs").index(index),
                format!("a run joins at least two parts, but this one names {}", run.len()),
                "try listing the parts in the direction of flow, from one meeting point to the next",
            ));
        }
    }
}

/// No part stands twice in a run; the first and the last may be the same.
fn part_once_in_a_run(circuit: &PlanLoop, errors: &mut Errors) {
    for run in &circuit.runs {
        let mut first_at: HashMap<Target, usize> = HashMap::new();
        for (later, link) in run.iter().enumerate() {
            let closing = later == run.len() - 1;
            if link.target == Target::Nothing {
                continue;
            }
            let earlier = *first_at.entry(link.target).or_insert(later);
            if earlier != later && !(closing && earlier == 0) {
                errors.push(NetworkError::new(
                    Rule::PartTwice,
                    &link.place,
                    format!(
                        "`{}` stands twice in this run; the run meets itself",
                        link.text
                    ),
                    "try ending the run where it comes back to the part, and begin another there",
                ));
                // What stands behind the first repetition repeats with it.
                break;
            }
        }
    }
}

/// A part with an inlet and an outlet stands in one run only.
fn part_in_one_run(circuit: &PlanLoop, uses: &Uses<'_>, errors: &mut Errors) {
    for (index, part) in circuit.parts.iter().enumerate() {
        if part.sort != Sort::TwoEnd {
            continue;
        }
        let used = &uses.of_part[index];
        if let Some((first, _)) = used.first()
            && let Some((second, link)) = used.iter().find(|(run, _)| run != first)
        {
            errors.push(NetworkError::new(
                Rule::PartTwice,
                &link.place,
                format!(
                    "`{}` stands in {} and again in {}, but it has one inlet and one outlet",
                    part.name,
                    called(&circuit.runs[*first]),
                    called(&circuit.runs[*second])
                ),
                "try a part of its own for each run, or a tee or joint where runs meet",
            ));
        }
    }
}

/// How a message names a run.
fn called(run: &[Link]) -> String {
    match (run.first(), run.last()) {
        (Some(first), Some(last)) => format!("the run from `{}` to `{}`", first.text, last.text),
        _ => "an empty run".into(),
    }
}

/// Every part is used.
fn every_part_used(circuit: &PlanLoop, uses: &Uses<'_>, errors: &mut Errors) {
    for (index, part) in circuit.parts.iter().enumerate() {
        if uses.of_part[index].is_empty() && !circuit.may_mean(&part.name) {
            errors.push(NetworkError::new(
                Rule::PartUnused,
                &part.place,
                format!(
                    "`{}` stands in no run, so no coolant can reach it",
                    part.name
                ),
                "try naming it in a run, or take it out",
            ));
        }
    }
}

/// Each end of a tee or a mixing thermostat is joined once.
fn tee_ends(circuit: &PlanLoop, uses: &Uses<'_>, errors: &mut Errors) {
    for (index, part) in circuit.parts.iter().enumerate() {
        let Some(ends) = part.sort.ends() else {
            continue;
        };
        let used = &uses.of_part[index];
        let noun = part.sort.noun();
        for (leg, end) in ends.iter().enumerate() {
            let mut joins = (used.iter()).filter(|(_, l)| l.target == Target::TeeEnd(index, leg));
            let met = (joins.next(), joins.next());
            if matches!(met, (Some(_), None)) || circuit.may_mean(&part.name) {
                continue;
            }
            match met {
                (None, _) if (used.iter()).any(|(_, l)| matches!(l.target, Target::TeeEnd(..))) => {
                    errors.push(NetworkError::new(
                        Rule::LooseEnd,
                        &part.place,
                        format!(
                            "end `{end}` of the {noun} `{}` is joined to nothing",
                            part.name
                        ),
                        format!("try beginning or ending a run with `{}.{end}`", part.name),
                    ))
                }
                (Some(_), Some((_, second))) => errors.push(NetworkError::new(
                    Rule::LooseEnd,
                    &second.place,
                    format!("end `{end}` of the {noun} `{}` is joined twice", part.name),
                    format!("try another end of the {noun}, or a joint before it"),
                )),
                _ => {}
            }
        }
    }
}

/// A tee's end stands first or last in a run.
fn tee_inside_a_run(circuit: &PlanLoop, errors: &mut Errors) {
    for run in &circuit.runs {
        for (index, link) in run.iter().enumerate() {
            let Target::TeeEnd(part, _) = link.target else {
                continue;
            };
            let noun = circuit.parts[part].sort.noun();
            if index > 0 && index + 1 < run.len() {
                errors.push(NetworkError::new(
                    Rule::WrongEnd,
                    &link.place,
                    format!("the {noun} end `{}` stands inside a run", link.text),
                    format!("try ending the run here and beginning the next with another end of the {noun}"),
                ));
            }
        }
    }
}

/// A run begins and ends at a point or a tee, unless it closes on itself.
fn loose_runs(circuit: &PlanLoop, errors: &mut Errors) {
    for run in &circuit.runs {
        let (Some(first), Some(last)) = (run.first(), run.last()) else {
            continue;
        };
        if run.len() < 2 || first.target == last.target {
            continue;
        }
        for (link, word) in [(first, "begins"), (last, "ends")] {
            let two_end = !circuit.is_node(link) && link.target != Target::Nothing;
            if two_end {
                errors.push(NetworkError::new(
                    Rule::LooseEnd,
                    &link.place,
                    format!(
                        "the run {word} with `{}`, whose end is joined to nothing",
                        link.text
                    ),
                    "try a tank, an open end, a joint or a tee end there",
                ));
            }
        }
    }
}

/// Every core carries the coolant of one loop, once.
fn cores_in_one_loop(plan: &Plan, errors: &mut Errors) {
    for core in &plan.cores {
        let mut uses = plan.loops.iter().flat_map(|l| {
            l.runs
                .iter()
                .flat_map(|run| {
                    let ring = run.len() > 1
                        && run.first().map(|l| l.target) == run.last().map(|l| l.target);
                    run[..run.len() - usize::from(ring)].iter()
                })
                .filter(|link| link.target == Target::Core(core.target.0, core.target.1))
        });
        match (uses.next(), uses.next()) {
            (None, _) if plan.loops.iter().any(|l| l.may_mean(&core.name)) => {}
            (None, _) => errors.push(NetworkError::new(
                Rule::PartUnused,
                &core.place,
                format!(
                    "the core `{}` stands in no run, so no coolant can reach it",
                    core.name
                ),
                format!("try naming `{}` in a run of a loop", core.name),
            )),
            (Some(first), Some(second)) => errors.push(NetworkError::new(
                Rule::PartTwice,
                &second.place,
                format!(
                    "the core `{}` stands at {} and again here, but it carries one loop once",
                    core.name, first.place
                ),
                "try a second core of the radiator",
            )),
            _ => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::network::plan::PlanPart;
    use crate::place::Place;

    fn link(text: &str, target: Target) -> Link {
        Link {
            text: text.into(),
            target,
            place: Place::default(),
        }
    }

    fn ring() -> PlanLoop {
        let part = |name: &str, sort| PlanPart {
            name: name.into(),
            sort,
            place: Place::default(),
        };
        PlanLoop {
            name: "loop".into(),
            place: Place::default(),
            parts: vec![part("tank", Sort::Tank), part("pump", Sort::TwoEnd)],
            runs: vec![vec![
                link("tank", Target::Part(0)),
                link("pump", Target::Part(1)),
                link("tank", Target::Part(0)),
            ]],
        }
    }

    fn rules(circuit: PlanLoop) -> Vec<Rule> {
        let plan = Plan {
            loops: vec![circuit],
            cores: vec![],
            radiators: vec![],
        };
        check(&plan).into_iter().map(|e| e.rule).collect()
    }

    #[test]
    fn a_ring_from_the_tank_to_the_tank_is_sound() {
        assert!(rules(ring()).is_empty());
    }

    #[test]
    fn a_run_that_meets_itself_is_refused() {
        let mut circuit = ring();
        circuit.runs[0].insert(2, link("pump", Target::Part(1)));
        assert_eq!(rules(circuit), [Rule::PartTwice]);
    }

    #[test]
    fn a_run_that_ends_in_a_hose_is_refused() {
        let mut circuit = ring();
        circuit.runs[0].pop();
        assert_eq!(rules(circuit), [Rule::LooseEnd]);
    }
}
