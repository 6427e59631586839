//! What was solved as comma-separated rows: one a part and case, SI units in the names of the columns.

use super::csv::{Csv, number};
use crate::solve::Solution;

const COLUMNS: [&str; 17] = [
    "case",
    "loop",
    "part",
    "kind",
    "origin",
    "mass_flow_kg_s",
    "volume_flow_m3_s",
    "pressure_drop_pa",
    "inlet_total_pressure_pa",
    "outlet_total_pressure_pa",
    "inlet_static_gauge_pressure_pa",
    "outlet_static_gauge_pressure_pa",
    "inlet_temperature_k",
    "outlet_temperature_k",
    "heat_w",
    "reynolds",
    "velocity_m_s",
];

/// Every part with an inlet and an outlet in every solved case; a case without an answer has no rows.
pub fn solve_csv(solutions: &[&Solution<'_>]) -> String {
    let mut csv = Csv::new(&COLUMNS);
    for solution in solutions {
        for owner in solution.loop_names() {
            for part in solution.parts(owner) {
                csv.row([
                    solution.case().name.clone(),
                    owner.to_owned(),
                    part.id.clone(),
                    part.kind.to_owned(),
                    part.origin
                        .map_or_else(String::new, |o| o.word().replace(' ', "_")),
                    number(part.mass_flow_kg_s),
                    number(part.volume_flow_m3_s),
                    number(part.pressure_drop_pa),
                    number(part.inlet_total_pressure_pa),
                    number(part.outlet_total_pressure_pa),
                    number(part.inlet_static_gauge_pa),
                    number(part.outlet_static_gauge_pa),
                    number(part.inlet_temperature_k),
                    number(part.outlet_temperature_k),
                    number(part.heat_w),
                    number(part.reynolds),
                    number(part.velocity_m_s),
                ]);
            }
        }
    }
    csv.finish()
}
