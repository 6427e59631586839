//! Both sides of each core: what the coolant does in tubes and tanks, and how the resistance divides.

use super::block::Table;
use super::of_solution::{number, unit};
use crate::quantity::{Kind, UnitFamily, significant};
use crate::solve::CoreState;

/// One line a core: regime, velocities, passes, conductance of both sides, fins, transfer units.
pub(super) fn core_sides_table(cores: &[CoreState], family: UnitFamily) -> Table {
    let speed = unit(Kind::Velocity, family);
    let heads = [
        "core".to_owned(),
        "in the tubes".to_owned(),
        ">Re".to_owned(),
        format!(">tubes {speed}"),
        format!(">tanks {speed}"),
        ">passes".to_owned(),
        ">coolant side W/K".to_owned(),
        ">air side W/K".to_owned(),
        ">fins".to_owned(),
        ">NTU".to_owned(),
    ];
    let mut table = Table::new(&heads.iter().map(String::as_str).collect::<Vec<_>>());
    for core in cores {
        let sides = &core.sides;
        table.row(vec![
            core.core.clone().into(),
            sides.regime.word().into(),
            significant(sides.reynolds, 3).into(),
            number(Kind::Velocity, sides.tube_velocity_m_s, family),
            sides
                .tank_velocity_m_s
                .map_or("-".into(), |v| number(Kind::Velocity, v, family)),
            sides.passes.to_string().into(),
            significant(sides.coolant_side_w_k, 3).into(),
            significant(sides.air_side_w_k, 3).into(),
            sides
                .fin_efficiency
                .map_or("-".into(), |e| format!("{:.0} %", 100.0 * e).into()),
            core.ntu.map_or("-".into(), |n| significant(n, 3).into()),
        ]);
    }
    table
}
