//! Bare networks of any size for benches and for the guard on effort, in numbers of our own: invented, no real system.

use loopwright::correlation::{DuctShape, EntranceFriction, FrictionModel};
use loopwright::fluid::Coolant;
use loopwright::network::{PipeNode, Pipework, PipeworkBuilder, PipeworkError};
use loopwright::part::{Curve, Law, Machine, TwoTerm};
use loopwright::quantity::AbsolutePressure;
use std::f64::consts::FRAC_PI_4;

/// Velocity through which branches are linearised at the start, m/s.
const START_M_S: f64 = 0.4;

/// A round bore with a loss coefficient.
#[derive(Clone, Copy)]
pub struct Pipe {
    pub bore_m: f64,
    pub length_m: f64,
    pub loss: f64,
}

pub fn duct(pipe: Pipe) -> DuctShape {
    DuctShape {
        area_m2: FRAC_PI_4 * pipe.bore_m * pipe.bore_m,
        hydraulic_diameter_m: pipe.bore_m,
        length_m: pipe.length_m,
        roughness_m: 2e-6,
        laminar_constant: 64.0,
        parallel: 1.0,
        model: FrictionModel::Churchill,
        entrance: EntranceFriction::Off,
    }
}

fn laws(pipe: Pipe) -> [Law; 2] {
    let shape = duct(pipe);
    let loss = TwoTerm::on_bore(0.0, pipe.loss, pipe.loss, pipe.bore_m, shape.area_m2);
    [Law::Duct(shape), Law::TwoTerm(loss)]
}

type Made<T> = Result<T, PipeworkError>;

/// Water of 20 degC.
pub fn water() -> loopwright::fluid::Properties {
    Coolant::water().properties_extended(293.15)
}

fn add(b: &mut PipeworkBuilder, from: PipeNode, to: PipeNode, pipe: Pipe) -> Made<()> {
    let start = water().density_kg_m3 * START_M_S * FRAC_PI_4 * pipe.bore_m * pipe.bore_m;
    b.branch(from, to, start, &laws(pipe))?;
    Ok(())
}

/// Module branches of a header.
pub const MODULE: Pipe = Pipe {
    bore_m: 0.008,
    length_m: 1.2,
    loss: 4.0,
};
/// A piece of header between two ports.
pub const SEGMENT: Pipe = Pipe {
    bore_m: 0.046,
    length_m: 0.045,
    loss: 0.1,
};
/// Hoses between the headers, pump and cores.
pub const HOSE: Pipe = Pipe {
    bore_m: 0.038,
    length_m: 1.5,
    loss: 2.0,
};
/// Each of the two cores.
pub const CORE: Pipe = Pipe {
    bore_m: 0.025,
    length_m: 2.0,
    loss: 6.0,
};
/// Points of the pump, m3/s and Pa.
pub const PUMP: [(f64, f64); 3] = [(0.0, 60e3), (1e-3, 40e3), (2e-3, 0.0)];

/// A pump, three hoses, two headers fed and drawn off at opposite ends, `n` module branches and two cores: `3 n + 4`
/// branches. Branches in order: pump, hose, modules with the segments behind them, hose, cores, hose.
pub fn header(n: usize) -> Made<Pipework> {
    let mut b = PipeworkBuilder::new(water());
    let (tank, out) = (b.node(0.0)?, b.node(0.0)?);
    b.fix(tank, AbsolutePressure::from_pa(101_325.0))?;
    let curve = Curve::through(&PUMP).map_err(|_| PipeworkError::NoLaw { branch: 0 })?;
    let pump = Machine {
        curve,
        curve_density_kg_m3: water().density_kg_m3,
        speed: 1.0,
        parallel: 1.0,
        stopped_loss: None,
    };
    b.branch(tank, out, 0.5, &[Law::Machine(pump)])?;
    let ports: Vec<[PipeNode; 2]> = (0..n)
        .map(|_| Ok([b.node(0.0)?, b.node(0.0)?]))
        .collect::<Made<_>>()?;
    add(&mut b, out, ports[0][0], HOSE)?;
    for (k, &[supply, back]) in ports.iter().enumerate() {
        add(&mut b, supply, back, MODULE)?;
        if let Some(next) = ports.get(k + 1) {
            add(&mut b, supply, next[0], SEGMENT)?;
            add(&mut b, back, next[1], SEGMENT)?;
        }
    }
    let (warm, cold) = (b.node(0.0)?, b.node(0.0)?);
    add(&mut b, ports[n - 1][1], warm, HOSE)?;
    add(&mut b, warm, cold, CORE)?;
    add(&mut b, warm, cold, CORE)?;
    add(&mut b, cold, tank, HOSE)?;
    b.build().map_err(|mut e| e.remove(0))
}

/// Numbers from 0 to 1, the same everywhere (SplitMix64, Steele, Lea and Flood, 2014).
pub struct Random(pub u64);

impl Random {
    pub fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.next()
    }
}

/// Side of the square of nodes that holds about so many branches.
pub fn side(branches: usize) -> usize {
    (0.5 + (0.25 + 0.5 * branches as f64).sqrt()).round() as usize
}

/// A square lattice of `side x side` nodes: random bores, lengths, coefficients and stated outflows, one stated pressure
/// in each tile of 32 x 32.
pub fn grid(side: usize) -> Made<Pipework> {
    let mut random = Random(2026);
    let mut b = PipeworkBuilder::with_capacity(water(), side * side, 2 * side * (side - 1));
    for row in 0..side {
        for column in 0..side {
            let node = b.node(0.0)?;
            if row % 32 == 0 && column % 32 == 0 {
                b.fix(node, AbsolutePressure::from_pa(300e3))?;
            } else {
                b.inflow(node, -random.between(0.0, 4e-6))?;
            }
        }
    }
    let nodes: Vec<PipeNode> = b.nodes().collect();
    for row in 0..side {
        for column in 0..side {
            let here = row * side + column;
            for (inside, there) in [(column + 1 < side, here + 1), (row + 1 < side, here + side)] {
                if inside {
                    let pipe = Pipe {
                        bore_m: random.between(0.01, 0.04),
                        length_m: random.between(0.5, 5.0),
                        loss: random.between(0.0, 5.0),
                    };
                    add(&mut b, nodes[here], nodes[there], pipe)?;
                }
            }
        }
    }
    b.build().map_err(|mut e| e.remove(0))
}

/// The text of a design of about so many parts: a long ladder of hoses and joints between a tank and a pump, every rung a
/// thin hose, as no vehicle has it.
pub fn ladder_text(parts: usize) -> String {
    let rungs = (parts / 5).max(2);
    let mut list = String::from(
        r#""tank":{"expansion_tank":{}},"pump":{"pump":{"curve":[["0 L/min","52 kPa"],["3000 L/min","0 kPa"]]}}"#,
    );
    let mut runs = String::from(r#"["tank","pump","s0"],["r0","tank"]"#);
    for k in 0..rungs {
        let next = k + 1;
        list += &format!(
            r#","s{k}":{{"joint":{{}}}},"r{k}":{{"joint":{{}}}},"rung {k}":{{"hose":{{"bore":"8 mm","length":"1 m"}}}}"#
        );
        runs += &format!(r#",["s{k}","rung {k}","r{k}"]"#);
        if next < rungs {
            let wide = r#"{"hose":{"bore":"100 mm","length":"0.1 m"}}"#;
            list += &format!(r#","out {k}":{wide},"back {k}":{wide}"#);
            runs += &format!(r#",["s{k}","out {k}","s{next}"],["r{next}","back {k}","r{k}"]"#);
        }
    }
    format!(
        r#"{{"format":1,"title":"long ladder","coolants":{{"water":{{"water":{{}}}}}},"loops":{{"ladder":{{"coolant":"water","parts":{{{list}}},"runs":[{runs}]}}}},"cases":{{"still":{{"air":"20 degC","coolant_temperature":"20 degC"}}}}}}"#
    )
}
