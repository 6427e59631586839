//! Heat lost by a hose against the exponential law. Validation H5 [D].

use loopwright::{design::Source, network::Network, solve::Solver};

/// Printed with nine decimals.
const PRINTED_K: f64 = 5e-10;

#[test]
fn a_pipe_with_wall_loss_cools_as_printed() {
    // 60 degC, ambient 20 degC, UA 5 W/K, 0.2 kg/s of cp 3400 J/(kg K): 59.706961022 degC.
    let row = |t: &str| {
        format!(
            r#"{{ "temperature": "{t}", "density": "1000 kg/m3", "viscosity": "1 mPa s", "specific_heat": "3400 J/(kg K)", "conductivity": "0.4 W/(m K)" }}"#
        )
    };
    for (length, per_length) in [("1 m", "5 W/(m K)"), ("2.5 m", "2 W/(m K)")] {
        let text = format!(
            r#"{{ "format": 1, "title": "H5", "coolants": {{ "c": {{ "table": {{ "rows": [{}, {}] }} }} }},
              "loops": {{ "l": {{ "coolant": "c", "parts": {{
                "mains": {{ "open_end": {{ "pressure": "50 kPa", "temperature": "60 degC" }} }},
                "hose": {{ "hose": {{ "bore": "16 mm", "length": "{length}", "conductance_per_length": "{per_length}" }} }},
                "tap": {{ "draw": {{ "outflow": "12 L/min" }} }} }},
                "runs": [["mains", "hose", "tap"]] }} }},
              "cases": {{ "by air": {{ "air": "20 degC" }}, "by bay": {{ "air": "-5 degC", "bay_temperature": "20 degC" }} }} }}"#,
            row("0 degC"),
            row("100 degC")
        );
        let source = Source::read(&text).unwrap_or_else(|e| panic!("{e:?}"));
        let network = Network::build(&source.design).unwrap_or_else(|e| panic!("{e}"));
        let mut solver = Solver::new(&network);
        for case in network.cases() {
            let solution = solver.solve(case).unwrap_or_else(|e| panic!("{e}"));
            let hose = solution.part("l", "hose").expect("the hose");
            let got = hose.outlet_temperature_k - 273.15;
            assert!((got - 59.706961022).abs() < PRINTED_K, "{got:.12}");
            assert!((hose.heat_w + 0.2 * 3400.0 * (60.0 - got)).abs() < 1e-6);
            assert!(solution.closure("l").expect("the loop").is_met());
        }
    }
}
