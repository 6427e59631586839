//! Whole banks, built from a design document, against exact ladders, SciPy and the momentum theory of manifolds.
//!
//! Row ids are those of `validation.md`; marks as in `friction.rs`. Data: `data/crane2009_headers.csv`, written by
//! `scripts/headers.py`, and `data/bajura1976_momentum_headers.csv`, by `scripts/tees.py`.

use loopwright::{design::Source, network::Network, solve::Solver};

/// A bank between a supply of stated flow and an open end.
struct Rig<'a> {
    coolants: &'a str,
    module: String,
    bank: String,
    flow: String,
    case: &'a str,
}

/// A fluid of constant properties.
fn constant(viscosity_pa_s: f64) -> String {
    let row = format!(
        r#""density": "1000 kg/m3", "viscosity": "{viscosity_pa_s} Pa s", "specific_heat": "4000 J/(kg K)", "conductivity": "0.4 W/(m K)""#
    );
    format!(
        r#"{{ "fluid": {{ "table": {{ "rows": [ {{ "temperature": "0 degC", {row} }}, {{ "temperature": "100 degC", {row} }} ] }} }} }}"#
    )
}

impl Rig<'_> {
    /// Circuit flows over their mean.
    fn shares(&self) -> Vec<f64> {
        let text = format!(
            r#"{{ "format": 1, "title": "bank", "methods": {{ "entrance_friction": "off" }},
              "coolants": {},
              "modules": {{ "module": {{ "pressure_drop": {{ {} }} }} }},
              "loops": {{ "bench": {{ "coolant": "fluid",
                "parts": {{ "in": {{ "draw": {{ "inflow": "{}" }} }}, "out": {{ "open_end": {{}} }},
                            "bank": {{ "bank": {{ "module": "module", {} }} }} }},
                "runs": [["in", "bank", "out"]] }} }},
              "cases": {{ "bench": {{ "air": "20 degC"{} }} }} }}"#,
            self.coolants, self.module, self.flow, self.bank, self.case
        );
        let source = Source::read(&text).unwrap_or_else(|e| panic!("{e:?}"));
        let network = Network::build(&source.design).unwrap_or_else(|e| panic!("{e:?}"));
        let mut solver = Solver::new(&network);
        let solution = solver
            .solve(&network.cases()[0])
            .unwrap_or_else(|e| panic!("{e}"));
        assert!(solution.closure("bench").expect("a loop").is_met());
        solution.banks("bench")[0].circuit_flow_over_mean.clone()
    }
}

fn max_over_min(u: &[f64]) -> f64 {
    u.iter().copied().fold(f64::MIN, f64::max) / u.iter().copied().fold(f64::MAX, f64::min)
}

/// A bank of `n` branches whose header segments lose `r Q` and whose branches `R Q`, e = 2 r/R.
fn ladder(n: usize, e: f64, layout: &str) -> Vec<f64> {
    // Round header 20 mm, 50 mm a segment, a fluid so thick that Re stays far below 1: r = 128 mu L/(pi d^4).
    let (mu, length, bore) = (1.0, 0.05, 0.02_f64);
    let r = 128.0 * mu * length / (std::f64::consts::PI * bore.powi(4));
    let each = 2.0 * r / e;
    // Two points on one straight line through rest leave no turbulent share.
    let (q1, q2) = (1e-6, 2e-6);
    Rig {
        coolants: &constant(mu),
        module: format!(
            r#""coolant": "fluid", "temperature": "20 degC", "points": [["{q1} m3/s", "{} Pa"], ["{q2} m3/s", "{} Pa"]]"#,
            each * q1,
            each * q2
        ),
        bank: format!(
            r#""count": {n}, "header": {{ "round": {{ "bore": "{bore} m" }} }}, "port_pitch": "{length} m", "port_bore": "8 mm",
               "layout": "{layout}", "losses": "none""#
        ),
        flow: "0.000004 m3/s".into(),
        case: "",
    }
    .shares()
}

/// [D], itself equal to a linear solve within 3e-15. Measured: 5.6e-16; owed 1e-8.
#[test]
fn d1_banks_without_tee_losses_are_the_exact_laminar_ladder() {
    let mut worst = 0.0_f64;
    for (n, e) in [(4_usize, 0.2_f64), (8, 0.05), (24, 0.01)] {
        let theta = 2.0 * (0.5 * e.sqrt()).asinh();
        let place = |i: usize| i as f64 + 1.0;
        let (last, middle) = (n as f64 + 0.5, 0.5 * (n as f64 + 1.0));
        for (layout, exact) in [
            (
                "same_end",
                (0..n)
                    .map(|i| ((last - place(i)) * theta).cosh())
                    .collect::<Vec<_>>(),
            ),
            (
                "opposite_end",
                (0..n)
                    .map(|i| ((place(i) - middle) * theta).cosh())
                    .collect(),
            ),
        ] {
            let mean = exact.iter().sum::<f64>() / n as f64;
            let got = ladder(n, e, layout);
            for (i, (u, q)) in got.iter().zip(&exact).enumerate() {
                let off = (u / (q / mean) - 1.0).abs();
                assert!(off < 1e-8, "{layout} N {n} branch {}: off {off:.2e}", i + 1);
                worst = worst.max(off);
            }
        }
    }
    println!("ladder: worst {worst:.1e}");
    let printed = [1.541_613_316, 1.049_935_980, 0.768_245_839, 0.640_204_866];
    for (u, p) in ladder(4, 0.2, "same_end").iter().zip(printed) {
        assert!((u - p).abs() < 1e-9, "{u} {p}");
    }
}

const MIX: &str = r#"{ "fluid": { "ethylene_glycol": { "volume_fraction": 0.5 } } }"#;

fn glycol_bank(n: usize, t_c: &str, layout: &str, tees: &str, l_min: f64) -> Vec<f64> {
    let layout = if layout == "U" {
        "same_end"
    } else {
        "opposite_end"
    };
    Rig {
        coolants: MIX,
        module: r#""coolant": "fluid", "temperature": "25 degC", "points": [["0.5 L/min", "0.6 kPa"], ["2 L/min", "4.5 kPa"]]"#.into(),
        bank: format!(
            r#""count": {n}, "header": {{ "square": {{ "inside": "20 mm" }} }}, "port_pitch": "45 mm",
               "tail": {{ "bore": "8 mm", "length": "0.35 m" }}, "layout": "{layout}", "losses": "{tees}""#
        ),
        flow: format!("{} L/min", l_min * n as f64),
        case: &format!(r#", "coolant_temperature": "{t_c} degC""#),
    }
    .shares()
}

fn table() -> Vec<(Vec<String>, Vec<f64>)> {
    include_str!("data/crane2009_headers.csv")
        .lines()
        .filter(|l| l.starts_with(['U', 'Z']))
        .map(|l| {
            let cells: Vec<&str> = l.split(',').collect();
            let words = cells[..5].iter().map(|c| (*c).to_owned()).collect();
            let numbers = cells[5..]
                .iter()
                .map(|c| c.parse().expect("a number"))
                .collect();
            (words, numbers)
        })
        .collect()
}

/// [C]: 8, 12 and 24 branches, 25 and -10 degC, same and opposite end, handbook tees and none, header Re 545 to 12900.
/// Measured: 4.9e-12 of the mean flow; owed 1e-6.
#[test]
fn d3_whole_headers_agree_with_an_independent_root() {
    let rows = table();
    assert_eq!(rows.len(), 32);
    let mut worst = 0.0_f64;
    for (words, expected) in &rows {
        let n: usize = words[2].parse().expect("a count");
        let got = glycol_bank(
            n,
            &words[3],
            &words[0],
            &words[1],
            words[4].parse().expect("a flow"),
        );
        assert_eq!(got.len(), expected.len());
        for (u, v) in got.iter().zip(expected) {
            assert!((u - v).abs() < 1e-6, "{words:?}: {u} {v}");
            worst = worst.max((u - v).abs());
        }
    }
    println!("headers: worst {worst:.1e}");
}

/// The three facts: without tee losses an opposite-end bank is symmetric; 24 branches of 8 mm on a 20 mm square spread
/// 1.5 to 2.2 between most and least at 2 L/min each (opposite end, warm); with handbook tees and a flow near or above
/// transition the opposite-end bank spreads more than the same-end one, without tee losses less.
#[test]
fn d3_what_every_header_of_this_kind_shows() {
    let spread = |layout, t, tees, l_min| max_over_min(&glycol_bank(24, t, layout, tees, l_min));
    for (t, l_min) in [("25", 1.0), ("25", 2.0), ("-10", 2.0)] {
        let symmetric = glycol_bank(24, t, "Z", "none", l_min);
        for (near, far) in symmetric.iter().zip(symmetric.iter().rev()) {
            assert!((near - far).abs() < 1e-9, "{near} {far}");
        }
        assert!(spread("Z", t, "handbook", l_min) > spread("U", t, "handbook", l_min));
        assert!(spread("Z", t, "none", l_min) < spread("U", t, "none", l_min));
    }
    let worst = spread("Z", "25", "handbook", 2.0);
    assert!((1.5..2.2).contains(&worst), "{worst}");
}

/// A bank of `n` coefficient tees a side without friction: branches of `ZETA` heads on ports that share one area.
fn momentum_bank(n: usize, layout: &str, mz: f64, k_i: f64, k_e: f64, a: f64) -> Vec<f64> {
    const ZETA: f64 = 3.0;
    let (side, whole) = (0.1_f64, 0.01 * (mz * ZETA).sqrt());
    let port = (4.0 * whole / n as f64 / std::f64::consts::PI).sqrt();
    Rig {
        coolants: &constant(1e-9),
        module: format!(r#""loss_coefficient": {ZETA}, "bore": "{port} m""#),
        // The return's area is 1/a of the supply's; a pitch of a micrometre leaves no friction to speak of,
        // and the ports are said to need no room, since the theory has a port everywhere.
        bank: format!(
            r#""count": {n}, "supply_header": {{ "square": {{ "inside": "{side} m" }} }},
               "return_header": {{ "square": {{ "inside": "{} m" }} }}, "port_pitch": "0.000001 m", "port_bore": "{port} m", "port_outside": "0.0000005 m",
               "layout": "{layout}", "losses": {{ "coefficients": {{ "dividing": {k_i}, "combining": {k_e} }} }}"#,
            side / a.sqrt()
        ),
        flow: "0.01 m3/s".into(),
        case: "",
    }
    .shares()
}

/// Discrete banks as printed in validation D2 [D]: first and last of 12, first and last of 96; rows without friction.
const PRINTED_BANKS: [[f64; 4]; 7] = [
    [1.15501, 0.91435, 1.17410, 0.91390],
    [1.55976, 0.70999, 1.63292, 0.70964],
    [1.51477, 0.73128, 1.58158, 0.73084],
    [0.76767, 1.13557, 0.74044, 1.13685],
    [0.78799, 1.24686, 0.77423, 1.26997],
    [0.53565, 1.56479, 0.50699, 1.62047],
    [0.67179, 1.31380, 0.64442, 1.33730],
];

/// Whole banks of growing count tend to the momentum equation (form of Bajura and Jones, 1976; validation D2 [D]): the
/// larger distance of first and last branch from the equation, at the header's ends (falls as 1/N) and at the branch's
/// own place (as 1/N^2).
///
/// | layout | mz | k_i | k_e | a | at ends: N 12 | 24 | 48 | 96 | at places: N 12 | 24 | 48 |
/// |---|---|---|---|---|---|---|---|---|---|---|---|
/// | U | 1 | 0.75 | 1.3 | 1 | 0.02194 | 0.01121 | 0.00567 | 0.00285 | 0.000421 | 0.000110 | 0.000029 |
/// | U | 4 | 0.75 | 1.3 | 1 | 0.08449 | 0.04396 | 0.02244 | 0.01133 | 0.004090 | 0.001094 | 0.000285 |
/// | U | 2 | 1 | 2 | 1 | 0.07712 | 0.04005 | 0.02042 | 0.01031 | 0.003495 | 0.000933 | 0.000242 |
/// | U | 1 | 1 | 1 | 0.5 | 0.03113 | 0.01561 | 0.00781 | 0.00391 | 0.000568 | 0.000143 | 0.000036 |
/// | Z | 0.5 | 0.75 | 1.3 | 1 | 0.02649 | 0.01339 | 0.00673 | 0.00338 | 0.000291 | 0.000076 | 0.000019 |
/// | Z | 0.8 | 1 | 2 | 1 | 0.06396 | 0.03264 | 0.01649 | 0.00829 | 0.001589 | 0.000417 | 0.000107 |
/// | Z | 1 | 0.75 | 1.3 | 0.7 | 0.03127 | 0.01563 | 0.00782 | 0.00391 | 0.000147 | 0.000038 | 0.000010 |
#[test]
fn d2_banks_of_growing_count_tend_to_the_momentum_equation() {
    let rows = include_str!("data/bajura1976_momentum_headers.csv")
        .lines()
        .map(|l| l.split(',').collect::<Vec<_>>())
        .filter(|c| matches!(c[0], "U" | "Z") && c[5].parse() == Ok(0.0));
    let mut tested = 0;
    for (cells, printed) in rows.zip(PRINTED_BANKS) {
        let row: Vec<f64> = cells[1..]
            .iter()
            .map(|c| c.parse().expect("a number"))
            .collect();
        let layout = if cells[0] == "U" {
            "same_end"
        } else {
            "opposite_end"
        };
        let ends = |n| {
            let u = momentum_bank(n, layout, row[0], row[1], row[2], row[3]);
            (u[0], u[n - 1])
        };
        let (mut at_ends, mut at_places) = (Vec::new(), Vec::new());
        for (n, place) in [(12, 10), (24, 12), (48, 14), (96, 0)] {
            let got = ends(n);
            let off = |first: f64, last: f64| (got.0 - first).abs().max((got.1 - last).abs());
            at_ends.push(off(row[5], row[9]));
            if place > 0 {
                at_places.push(off(row[place], row[place + 1]));
            }
            // Five printed decimals.
            if n == 12 || n == 96 {
                let k = if n == 12 { 0 } else { 2 };
                let misfit = off(printed[k], printed[k + 1]);
                assert!(misfit < 6e-6, "{cells:?} of {n}: {got:?}");
            }
        }
        println!(
            "{:?} ends {at_ends:.5?} places {at_places:.6?}",
            &cells[..5]
        );
        assert!(at_ends[3] < 0.14 * at_ends[0], "{cells:?}: {at_ends:?}");
        assert!(
            at_places[2] < 0.08 * at_places[0],
            "{cells:?}: {at_places:?}"
        );
        tested += 1;
    }
    assert_eq!(tested, 7);
}
