//! Parts that have a pressure rating, running and with nothing flowing.

use super::block::{Cell, Table, Tone};
use super::of_solution::{number, unit};
use crate::quantity::{Kind, UnitFamily};
use crate::solve::Solution;
use crate::study::{LimitRow, LimitSide, shut_off};

/// One row a part of the loop that `part_pressure` rates.
pub(super) fn shut_off_table(
    solution: &Solution<'_>,
    name: &str,
    limits: &[LimitRow],
    family: UnitFamily,
) -> Table {
    let gauge = unit(Kind::GaugePressure, family);
    let rating = format!(">rating {gauge}");
    let mut table = Table::new(&[
        "pressure in rated parts",
        &rating,
        ">running",
        ">shut-off cold",
        ">shut-off hot",
        ">hot with cap",
    ]);
    let rated = limits
        .iter()
        .filter(|r| r.limit == "part_pressure" && r.side == LimitSide::Max);
    let mut found = None;
    for row in rated {
        let Some(id) = row
            .subject
            .strip_prefix(name)
            .and_then(|rest| rest.strip_prefix('.'))
        else {
            continue;
        };
        let whole = found.get_or_insert_with(|| shut_off::of(solution, name));
        let (Some(part), Some(at_rest)) = (
            solution.part(name, id),
            whole.as_ref().and_then(|s| s.part(id)),
        ) else {
            continue;
        };
        let cell = |pa: f64| -> Cell {
            let mut cell = number(Kind::GaugePressure, pa, family);
            if pa > row.bound {
                cell.tone = Tone::Bad;
            }
            cell
        };
        table.row(vec![
            id.into(),
            number(Kind::GaugePressure, row.bound, family),
            cell(part.inlet_static_gauge_pa.max(part.outlet_static_gauge_pa)),
            cell(at_rest.cold_gauge_pa),
            cell(at_rest.hot_gauge_pa),
            at_rest.capped_gauge_pa.map_or("-".into(), cell),
        ]);
    }
    table
}
