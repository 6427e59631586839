//! Judging limits: one row a limit and subject, with value, bound, margin, what limits it and what would help.

use super::limit_row::{LimitRow, LimitSide, Measure, Verdict};
use super::shut_off::{Condition, of as shut_off_of};
use crate::design::{Bound, Limits};
use crate::quantity::{GaugePressure, Kind, Quantity};
use crate::solve::{
    BankState, Carried, PartState, Solution, deviation_of, first_farthest, spread_of,
};
use indexmap::IndexMap;

/// A value with the part that makes it.
pub(super) struct Worst {
    pub(super) subject: String,
    pub(super) value: Option<f64>,
    pub(super) limited_by: String,
    pub(super) owner: String,
}

/// Judges every limit on a solved case.
pub fn judge(solution: &Solution<'_>, limits: &Limits) -> Vec<LimitRow> {
    let mut judge = Judge {
        solution,
        rows: Vec::new(),
    };
    judge.all(limits);
    judge.rows
}

pub(super) struct Judge<'a, 'n> {
    pub(super) solution: &'a Solution<'n>,
    rows: Vec<LimitRow>,
}

impl Judge<'_, '_> {
    fn all(&mut self, limits: &Limits) {
        let names: Vec<String> = self.solution.loop_names().map(str::to_owned).collect();
        for name in &names {
            self.modules(name, limits);
            self.hoses(name, limits);
            self.pumps(name, limits);
            self.freezing(name, limits);
            self.boiling(name, limits);
        }
        self.part_pressures(&limits.part_pressure);
        self.named(&limits.part_pressure_drop, "part_pressure_drop", |p| {
            Some(p.pressure_drop_pa)
        });
        self.named(&limits.part_flow, "part_flow", |p| Some(p.volume_flow_m3_s));
        self.named(&limits.coolant_inlet, "coolant_inlet", |p| {
            Some(p.inlet_temperature_k)
        });
        self.named(&limits.coolant_outlet, "coolant_outlet", |p| {
            Some(p.outlet_temperature_k)
        });
        self.named(&limits.device_temperature, "device_temperature", |p| {
            p.part_temperature_k
        });
    }

    fn modules(&mut self, name: &str, limits: &Limits) {
        let banks = self.solution.banks(name);
        if banks.is_empty() {
            return;
        }
        let solved = self.solution.carried(name) == Some(Carried::Solved);
        let temperatures: Vec<(String, f64)> = banks
            .iter()
            .flat_map(|b| {
                let numbered = b.module_temperature_k.iter().enumerate();
                numbered.map(|(k, t)| (format!("{}.module {}", b.id, k + 1), *t))
            })
            .collect();
        let extreme = |hot: bool| {
            let pick = temperatures
                .iter()
                .filter(|t| t.1.is_finite())
                .max_by(|a, b| {
                    let order = a.1.total_cmp(&b.1);
                    if hot { order } else { order.reverse() }
                });
            pick.map(|(id, t)| (id.clone(), *t)).filter(|_| solved)
        };
        if let Some(bound) = &limits.module_temperature {
            for (side, limit) in sides(bound) {
                let worst = extreme(side == LimitSide::Max);
                self.push(
                    "module_temperature",
                    Kind::Temperature,
                    side,
                    limit.si(),
                    of(name, name, worst),
                );
            }
        }
        if let Some(bound) = &limits.module_temperature_spread {
            let spread = spread_of(banks).filter(|_| solved);
            let hottest = extreme(true).map(|(id, _)| id).unwrap_or_default();
            for (side, limit) in sides(bound) {
                let worst = of(name, name, spread.map(|s| (hottest.clone(), s)));
                self.push(
                    "module_temperature_spread",
                    Kind::TemperatureDifference,
                    side,
                    limit.si(),
                    worst,
                );
            }
        }
        if let Some(bound) = &limits.module_flow_deviation {
            for (side, limit) in sides(bound) {
                for bank in banks {
                    let subject = format!("{name}.{}", bank.id);
                    let worst = of(
                        name,
                        &subject,
                        Some((
                            worst_circuit(&bank.circuit_flow_over_mean, &bank.id),
                            bank.deviation,
                        )),
                    );
                    self.push_ratio("module_flow_deviation", side, limit, worst);
                }
                if banks.len() > 1 {
                    let value = deviation_of(banks);
                    let worst = of(name, name, value.map(|v| (farthest(banks), v)));
                    self.push_ratio("module_flow_deviation", side, limit, worst);
                }
            }
        }
        if let Some(bound) = &limits.module_flow {
            self.module_flow(name, bound);
        }
    }

    fn module_flow(&mut self, name: &str, bound: &Bound<crate::quantity::VolumeFlow>) {
        let Some(state) = self.solution.loop_state(name) else {
            return;
        };
        let parts = self.solution.parts(name);
        let flows: Vec<(String, f64)> = state
            .circuit
            .modules
            .iter()
            .map(|m| {
                let flow = m.circuits.iter().map(|&e| parts[e].volume_flow_m3_s).sum();
                (m.name.clone(), flow)
            })
            .collect();
        for (side, limit) in sides(bound) {
            let pick = flows.iter().max_by(|a, b| {
                let order = a.1.total_cmp(&b.1);
                if side == LimitSide::Max {
                    order
                } else {
                    order.reverse()
                }
            });
            let worst = of(name, name, pick.map(|(id, q)| (id.clone(), *q)));
            self.push("module_flow", Kind::VolumeFlow, side, limit.si(), worst);
        }
    }

    fn hoses(&mut self, name: &str, limits: &Limits) {
        let Some(bound) = &limits.hose_velocity else {
            return;
        };
        let hoses = self.solution.hose_speeds(name);
        if hoses.is_empty() {
            return;
        }
        for (side, limit) in sides(bound) {
            let pick = hoses.iter().max_by(|a, b| {
                let order = a.1.total_cmp(&b.1);
                if side == LimitSide::Max {
                    order
                } else {
                    order.reverse()
                }
            });
            let worst = of(name, name, pick.map(|(id, v)| ((*id).to_owned(), *v)));
            self.push("hose_velocity", Kind::Velocity, side, limit.si(), worst);
        }
    }

    fn pumps(&mut self, name: &str, limits: &Limits) {
        let Some(bound) = &limits.pump_inlet_margin_over_boiling else {
            return;
        };
        for pump in self.solution.pumps(name) {
            for (side, limit) in sides(bound) {
                let subject = format!("{name}.{}", pump.id);
                let worst = of(
                    name,
                    &subject,
                    Some((pump.id.clone(), pump.inlet_margin_over_boiling_pa)),
                );
                self.push(
                    "pump_inlet_margin_over_boiling",
                    Kind::PressureDifference,
                    side,
                    limit.si(),
                    worst,
                );
            }
        }
    }

    fn freezing(&mut self, name: &str, limits: &Limits) {
        let Some(bound) = &limits.freezing_margin else {
            return;
        };
        let Some(state) = self.solution.loop_state(name) else {
            return;
        };
        let margin = state.circuit.coolant.freezing_k().map(|k| {
            (
                String::from("coolant"),
                self.solution.case().air_temperature_k - k,
            )
        });
        for (side, limit) in sides(bound) {
            self.push(
                "freezing_margin",
                Kind::TemperatureDifference,
                side,
                limit.si(),
                of(name, name, margin.clone()),
            );
        }
    }

    fn boiling(&mut self, name: &str, limits: &Limits) {
        let Some(bound) = &limits.boiling_margin else {
            return;
        };
        let solved = self.solution.carried(name) == Some(Carried::Solved);
        let nearest = self.solution.boiling_margin(name).filter(|_| solved);
        for (side, limit) in sides(bound) {
            let found = nearest.as_ref().map(|n| (n.id.clone(), n.margin_k));
            self.push(
                "boiling_margin",
                Kind::TemperatureDifference,
                side,
                limit.si(),
                of(name, name, found),
            );
        }
    }

    /// Highest pressure of a part, as it runs and with nothing flowing; the least is judged as it runs.
    fn part_pressures(&mut self, bounds: &IndexMap<String, Bound<GaugePressure>>) {
        let mut known: Vec<(String, Option<super::shut_off::ShutOff>)> = Vec::new();
        for (name, bound) in bounds {
            let owner = self.owner_of(name);
            let id = name.get(owner.len() + 1..).unwrap_or_default().to_owned();
            if !known.iter().any(|k| k.0 == owner) {
                known.push((owner.clone(), shut_off_of(self.solution, &owner)));
            }
            let at_rest = known
                .iter()
                .find(|k| k.0 == owner)
                .and_then(|k| k.1.as_ref())
                .and_then(|s| s.part(&id))
                .map(super::shut_off::PartShutOff::worst);
            let running = self
                .solution
                .part(&owner, &id)
                .map(|p| p.inlet_static_gauge_pa.max(p.outlet_static_gauge_pa))
                .map(|p| (Condition::Running, p));
            for (side, bound) in sides(bound) {
                let worst = match (running, at_rest) {
                    (Some(run), Some(rest)) if side == LimitSide::Max && rest.1 > run.1 => {
                        Some(rest)
                    }
                    (run, _) => run,
                };
                let found = worst.map(|(condition, p)| (format!("{id}, {}", condition.words()), p));
                let worst = of(&owner, name, found);
                self.push(
                    "part_pressure",
                    Kind::GaugePressure,
                    side,
                    bound.si(),
                    worst,
                );
            }
        }
    }

    /// The loop of a part written `loop.part`.
    fn owner_of(&self, name: &str) -> String {
        self.solution
            .loop_names()
            .find(|l| {
                name.strip_prefix(l)
                    .is_some_and(|rest| rest.starts_with('.'))
            })
            .map(str::to_owned)
            .unwrap_or_default()
    }

    fn named<T: Quantity>(
        &mut self,
        bounds: &IndexMap<String, Bound<T>>,
        limit: &'static str,
        value: impl Fn(&PartState) -> Option<f64>,
    ) {
        for (name, bound) in bounds {
            let owner = self.owner_of(name);
            let id = name.get(owner.len() + 1..).unwrap_or_default();
            let part = self.solution.part(&owner, id);
            let temperature = matches!(T::KIND, Kind::Temperature);
            let solved = self.solution.carried(&owner) == Some(Carried::Solved);
            let found = part
                .filter(|_| solved || !temperature)
                .and_then(|p| value(&p).map(|v| (id.to_owned(), v)));
            for (side, bound) in sides(bound) {
                self.push(
                    limit,
                    T::KIND,
                    side,
                    bound.si(),
                    of(&owner, name, found.clone()),
                );
            }
        }
    }

    fn push_ratio(&mut self, limit: &'static str, side: LimitSide, bound: f64, worst: Worst) {
        self.push_measured(limit, Measure::Ratio, side, bound, worst);
    }

    fn push(&mut self, limit: &'static str, kind: Kind, side: LimitSide, bound: f64, worst: Worst) {
        self.push_measured(limit, Measure::Quantity(kind), side, bound, worst);
    }

    fn push_measured(
        &mut self,
        limit: &'static str,
        measure: Measure,
        side: LimitSide,
        bound: f64,
        worst: Worst,
    ) {
        let margin = worst.value.map(|v| match side {
            LimitSide::Min => v - bound,
            LimitSide::Max => bound - v,
        });
        let provisional = self.rests_on_placeholder(&worst.owner);
        let verdict = match margin {
            None => Verdict::NoValue,
            Some(m) if m < 0.0 => Verdict::Missed,
            Some(_) if provisional => Verdict::Provisional,
            Some(_) => Verdict::Met,
        };
        let advice = if verdict == Verdict::Missed {
            self.advice(limit, side, bound, &worst)
        } else {
            String::new()
        };
        self.rows.push(LimitRow {
            limit,
            subject: worst.subject,
            measure,
            side,
            value: worst.value,
            band: None,
            bound,
            margin,
            verdict,
            limited_by: worst.limited_by,
            advice,
        });
    }

    /// Whether numbers that nobody has looked at stand behind a verdict on this loop: a placeholder in it, or among the
    /// modules and radiators.
    fn rests_on_placeholder(&self, owner: &str) -> bool {
        self.solution.network().placeholders().iter().any(|p| {
            !p.contains('.')
                || p.strip_prefix(owner)
                    .is_some_and(|rest| rest.starts_with('.'))
        })
    }
}

/// The circuit whose flow is farthest from the mean of all.
fn farthest(banks: &[BankState]) -> String {
    let flows: Vec<(&str, f64)> = banks
        .iter()
        .flat_map(|b| b.circuit_flow_kg_s.iter().map(|q| (b.id.as_str(), *q)))
        .collect();
    let mean = flows.iter().map(|f| f.1).sum::<f64>() / flows.len().max(1) as f64;
    first_farthest(flows.iter().map(|(_, q)| q - mean))
        .map(|k| flows[k])
        .map(|(bank, q)| format!("{bank}, {:.0} % of the loop's mean", 100.0 * q / mean))
        .unwrap_or_default()
}

fn of(owner: &str, subject: &str, found: Option<(String, f64)>) -> Worst {
    let (limited_by, value) = found.map_or((String::new(), None), |(id, v)| (id, Some(v)));
    Worst {
        subject: subject.to_owned(),
        value,
        limited_by,
        owner: owner.to_owned(),
    }
}

fn sides<T: Copy>(bound: &Bound<T>) -> Vec<(LimitSide, T)> {
    let min = bound.min.map(|b| (LimitSide::Min, b));
    let max = bound.max.map(|b| (LimitSide::Max, b));
    min.into_iter().chain(max).collect()
}

fn worst_circuit(over_mean: &[f64], bank: &str) -> String {
    first_farthest(over_mean.iter().map(|q| q - 1.0))
        .map(|k| {
            format!(
                "{bank} port {}, {:.0} % of mean",
                k + 1,
                100.0 * over_mean[k]
            )
        })
        .unwrap_or_default()
}
