//! What would help a missed limit, from what the solution shows.

use super::limit_row::LimitSide;
use super::limits::{Judge, Worst};
use super::shut_off::Condition;
use crate::quantity::{Kind, show_both};

impl Judge<'_, '_> {
    /// What would help a missed limit, from what the solution shows.
    pub(super) fn advice(&self, limit: &str, side: LimitSide, bound: f64, worst: &Worst) -> String {
        let case = self.solution.case();
        let owner = &worst.owner;
        match (limit, side) {
            ("module_temperature" | "coolant_inlet" | "coolant_outlet" | "device_temperature", LimitSide::Max) => {
                if case.air_temperature_k >= bound {
                    return format!(
                        "no: the air, {}, is not below the limit, and a radiator cannot cool below its air; a chiller, or thermal mass for a short time, could",
                        show_both(Kind::Temperature, case.air_temperature_k)
                    );
                }
                self.hot_advice(owner, worst.value.unwrap_or(bound), bound)
            }
            ("module_temperature_spread", _) => {
                "more flow through the slow modules: balance the banks, or a larger pump or trunk".into()
            }
            ("module_flow_deviation", _) => self.deviation_advice(owner, worst),
            ("module_flow", LimitSide::Min) | ("part_flow", LimitSide::Min) => {
                format!("a stronger pump, or less loss in {}", self.largest_drop(owner))
            }
            ("hose_velocity", LimitSide::Max) => format!("a larger bore for `{}`", worst.limited_by),
            ("hose_velocity", LimitSide::Min) => format!("a smaller bore for `{}`, so that bubbles are carried", worst.limited_by),
            ("pump_inlet_margin_over_boiling", _) => {
                "a higher tank or cap pressure, the pump lower and nearer the tank, or a wider suction hose".into()
            }
            ("part_pressure", LimitSide::Max) if worst.limited_by.ends_with(Condition::Running.words()) => format!(
                "move `{}` nearer the suction side of the pump, lower the tank pressure, or take a weaker pump",
                worst.subject
            ),
            ("part_pressure", LimitSide::Max) => format!(
                "a pump with less shut-off head, a cap for less pressure, or a relief path round the pump; a shut valve or a kink behind `{}` brings it to this",
                worst.subject
            ),
            ("boiling_margin", _) => {
                "a higher tank or cap pressure, more flow, or more cooling".into()
            }
            ("part_pressure_drop", LimitSide::Max) => "less flow through it, or a part with wider passages".into(),
            ("freezing_margin", _) => "more glycol in the mix".into(),
            _ => String::new(),
        }
    }

    /// Heat per kelvin decides: says by how much the loop must come down, and where its kelvin go.
    fn hot_advice(&self, owner: &str, value: f64, bound: f64) -> String {
        let case = self.solution.case();
        let over = value - case.air_temperature_k;
        let allowed = bound - case.air_temperature_k;
        let mut text = format!(
            "it stands {} above the air and may stand {}: about {:.0} % more heat per kelvin is needed",
            show_both(Kind::TemperatureDifference, over),
            show_both(Kind::TemperatureDifference, allowed),
            100.0 * (over / allowed - 1.0)
        );
        let network = self.solution.network();
        let core = network
            .radiators()
            .iter()
            .flat_map(|r| self.solution.cores(&r.name))
            .find(|c| c.owner == owner);
        if let Some(core) = core {
            text.push_str(&format!(
                " (now {:.0} W/K at `{}`): more tubes for this core, more air, or less heat",
                core.heat_rejected_w
                    / (core.inlet_temperature_k - case.air_temperature_k).max(1e-9),
                core.core
            ));
        }
        text
    }

    fn deviation_advice(&self, owner: &str, worst: &Worst) -> String {
        if worst.subject == owner {
            return "wider or shorter hoses to the starved box, or a restrictor before the other"
                .into();
        }
        let id = worst.subject.get(owner.len() + 1..).unwrap_or_default();
        let bank = self.solution.banks(owner).iter().find(|b| b.id == id);
        match bank {
            Some(bank) if bank.area_ratio < 1.5 => format!(
                "a larger header: its area is {:.2} times the ports' together; or smaller ports",
                bank.area_ratio
            ),
            _ => "a larger header, smaller ports, or the other layout".into(),
        }
    }

    fn largest_drop(&self, owner: &str) -> String {
        self.solution
            .parts(owner)
            .iter()
            .filter(|p| p.kind != "pump")
            .max_by(|a, b| {
                a.pressure_drop_pa
                    .abs()
                    .total_cmp(&b.pressure_drop_pa.abs())
            })
            .map(|p| format!("`{}`", p.id))
            .unwrap_or_default()
    }
}
