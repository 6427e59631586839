//! The slopes of the balance of enthalpy against central differences, at the balance and off it.

use super::super::solve::{HeatRoom, Wanted, solve_heat};
use super::*;
use crate::design::Source;
use crate::fluid::Properties;
use crate::network::{HeatRole, Network};
use crate::solve::Solver;
use crate::solve::exchange::{CoreSides, StripHeat};
use crate::solve::plates::Plate;

const DESIGN: &str = r#"{ "format": 1, "title": "t",
  "coolants": { "mix": { "ethylene_glycol": { "volume_fraction": 0.5 } } },
  "modules": { "cell": { "circuits": 2, "pressure_drop": { "kv": "0.3 m3/h" }, "thermal_resistance": "0.05 K/W",
      "resistance": [["0 degC", "6 mohm"], ["25 degC", "3 mohm"], ["45 degC", "2.4 mohm"]] } },
  "loops": { "l": { "coolant": "mix",
    "parts": { "tank": { "expansion_tank": {} },
      "pump": { "pump": { "curve": [["0 L/min", "52 kPa"], ["30 L/min", "0 kPa"]], "efficiency": 0.3 } },
      "split": { "tee": { "straight_bore": "16 mm", "side_bore": "13 mm" } },
      "bank": { "bank": { "module": "cell", "count": 3, "header": { "square": { "inside": "21 mm" } }, "port_pitch": "45 mm", "port_bore": "6 mm" } },
      "plate": { "plate": { "pressure_drop": { "kv": "1 m3/h" }, "heat": "300 W", "thermal_resistance": "0.02 K/W" } },
      "join": { "tee": { "straight_bore": "16 mm", "side_bore": "13 mm" } },
      "warm": { "draw": { "inflow": "1 L/min", "temperature": "50 degC" } }, "off": { "draw": { "outflow": "1 L/min" } },
      "h1": { "hose": { "bore": "13 mm", "length": "1 m", "conductance_per_length": "2 W/(m K)" } }, "h2": { "hose": { "bore": "13 mm", "length": "1 m" } },
      "chiller": { "exchanger": { "pressure_drop": { "kv": "2 m3/h" }, "conductance": "150 W/K", "stream": { "temperature": "5 degC", "flow": "5 L/min" } } } },
    "runs": [["tank", "pump", "split.a"], ["split.b", "bank", "join.a"], ["join.side", "plate", "split.side"],
      ["join.b", "h1", "warm"], ["warm", "h2", "off"], ["off", "chiller", "tank"]] } },
  "cases": { "c": { "air": "20 degC", "module_current": "80 A" } } }"#;

fn rows_at(input: &HeatInput<'_>, state: &HeatState, frozen: &HeatState) -> Rows {
    let mut moved = frozen.clone();
    moved.node_k.clone_from(&state.node_k);
    moved.module_k.clone_from(&state.module_k);
    let mut rows = Rows::new(state.node_k.len() + state.module_k.len());
    balance(input, &mut moved, &mut rows);
    rows
}

#[test]
fn slopes_of_the_heat_balance_agree_with_central_differences() {
    let source = Source::read(DESIGN).unwrap_or_else(|e| panic!("{e:?}"));
    let network = Network::build(&source.design).unwrap_or_else(|e| panic!("{e}"));
    let solved = Solver::new(&network)
        .solve_raw(&network.cases()[0])
        .unwrap_or_else(|e| panic!("{e}"));
    let state = &solved.loops[0];
    // A made-up core stands on the second hose, so that the slopes of a core are seen without a radiator.
    let mut circuit = Loop::clone(&state.circuit);
    let at = circuit
        .net
        .elements
        .iter()
        .position(|e| e.id.as_str() == "h2");
    circuit.net.elements[at.unwrap_or(0)].heat = HeatRole::Core(0);
    let sides = |_: usize, _: f64, _: &Properties| CoreSides {
        strips: vec![StripHeat {
            air_kg_s: 0.1,
            air_inlet_k: 290.0,
            exchange_w_k: 12.0,
            effectiveness: 0.2,
            ntu: 0.3,
            ..StripHeat::default()
        }],
        plates: vec![Plate {
            half_w_k: 3.0,
            inlet_tank_k: 320.0,
            outlet_tank_k: 315.0,
        }],
    };
    for turn in [1.0, -1.0] {
        // Once as the flow runs, once all of it backwards.
        let flows: Vec<f64> = state.flow.flow_kg_s.iter().map(|m| turn * m).collect();
        let input = HeatInput {
            circuit: &circuit,
            flow_kg_s: &flows,
            pump_w: &state.pump_w,
            sides: &sides,
        };
        let (settled, done) =
            solve_heat(&input, &state.heat, &mut HeatRoom::default(), Wanted::Exact)
                .unwrap_or_else(|()| panic!("singular"));
        assert!(done);
        let size = settled.node_k.len() + settled.module_k.len();
        let rows = rows_at(&input, &settled, &settled);
        let mut dense = vec![vec![0.0; size]; size];
        for (&(r, c), v) in rows.positions.iter().zip(&rows.values) {
            dense[r][c] += v;
        }
        assert!(rows.residual.iter().all(|r| r.abs() < 1e-9));
        let h = 1e-3;
        for c in 0..size {
            let shifted = |by: f64| {
                let mut moved = settled.clone();
                match c.checked_sub(moved.node_k.len()) {
                    None => moved.node_k[c] += by,
                    Some(m) => moved.module_k[m] += by,
                }
                rows_at(&input, &moved, &settled).residual
            };
            let (up, down) = (shifted(h), shifted(-h));
            for r in 0..size {
                let slope = (up[r] - down[r]) / (2.0 * h);
                let scale: f64 = dense[r].iter().map(|v| v.abs()).sum();
                assert!(
                    (slope - dense[r][c]).abs() <= 1e-6 * scale.max(1.0),
                    "row {r}, column {c}, turn {turn}: {slope} against {}",
                    dense[r][c]
                );
            }
        }
    }
}
