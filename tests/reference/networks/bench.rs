//! A small writer of design documents for textbook problems, and their answers in SI.

use std::collections::HashMap;
use std::fmt::Write;

use loopwright::{design::Source, network::Network, solve::Solver};

/// Air pressure at sea level, Pa: gauge pressures are above it.
pub const AMBIENT_PA: f64 = 101_325.0;

/// A pipe's numbers in SI.
#[derive(Clone, Copy, Debug, Default)]
pub struct Pipe {
    pub bore_m: f64,
    pub length_m: f64,
    /// A stated Darcy factor, or 0 for the design's friction law.
    pub factor: f64,
    pub roughness_m: f64,
    pub hazen_williams_c: f64,
    /// Sum of minor losses.
    pub loss: f64,
}

/// A document being written.
pub struct Bench {
    density_kg_m3: f64,
    viscosity_pa_s: f64,
    methods: &'static str,
    parts: String,
    runs: String,
}

/// Volume flows of parts, heads of points above their own height.
pub struct Answer {
    density_kg_m3: f64,
    flow_m3_s: HashMap<String, f64>,
    gauge_pa: HashMap<String, f64>,
    static_inlet_pa: HashMap<String, f64>,
}

impl Bench {
    /// A textbook fluid; with stated factors the viscosity only sets the laminar term of minor losses (`50 K/Re`), and
    /// a tiny one leaves the book's `K` alone.
    pub fn new(density_kg_m3: f64, viscosity_pa_s: f64) -> Self {
        Self {
            density_kg_m3,
            viscosity_pa_s,
            methods: "",
            parts: String::new(),
            runs: String::new(),
        }
    }

    /// A fluid for problems with stated friction factors.
    pub fn stated() -> Self {
        Self::new(1000.0, 1e-9)
    }

    /// Further keys of `methods`, each with a comma before it.
    pub fn methods(mut self, methods: &'static str) -> Self {
        self.methods = methods;
        self
    }

    fn part(&mut self, name: &str, record: &str) {
        let comma = if self.parts.is_empty() { "" } else { ", " };
        write!(self.parts, "{comma}\"{name}\": {record}").expect("a string takes all");
    }

    /// Any part, as the file writes it.
    pub fn any(mut self, name: &str, record: &str) -> Self {
        self.part(name, record);
        self
    }

    /// An open end at ambient pressure.
    pub fn reservoir(self, name: &str, elevation_m: f64) -> Self {
        let record = format!(r#"{{ "open_end": {{ "elevation": "{elevation_m} m" }} }}"#);
        self.any(name, &record)
    }

    /// A lossless meeting point.
    pub fn joint(self, name: &str, elevation_m: f64) -> Self {
        let record = format!(r#"{{ "joint": {{ "elevation": "{elevation_m} m" }} }}"#);
        self.any(name, &record)
    }

    /// A demand (negative: a supply).
    pub fn draw(self, name: &str, elevation_m: f64, outflow_m3_s: f64) -> Self {
        let way = if outflow_m3_s < 0.0 {
            "inflow"
        } else {
            "outflow"
        };
        let flow = outflow_m3_s.abs();
        let record = format!(
            r#"{{ "draw": {{ "{way}": "{flow} m3/s", "elevation": "{elevation_m} m" }} }}"#
        );
        self.any(name, &record)
    }

    /// A run through parts that are already written.
    pub fn run(mut self, parts: &[&str]) -> Self {
        let comma = if self.runs.is_empty() { "" } else { ", " };
        write!(self.runs, "{comma}{parts:?}").expect("a string takes all");
        self
    }

    /// The record of a pipe.
    pub fn hose(mut self, name: &str, pipe: &Pipe) -> Self {
        let mut keys = format!(
            r#""bore": "{} m", "length": "{} m""#,
            pipe.bore_m, pipe.length_m
        );
        for (key, value, unit) in [
            ("friction_factor", pipe.factor, ""),
            ("hazen_williams_c", pipe.hazen_williams_c, ""),
            ("roughness", pipe.roughness_m, "m"),
        ] {
            if value > 0.0 && unit.is_empty() {
                write!(keys, r#", "{key}": {value}"#).expect("a string takes all");
            } else if value > 0.0 {
                write!(keys, r#", "{key}": "{value} {unit}""#).expect("a string takes all");
            }
        }
        if pipe.loss > 0.0 {
            let loss = pipe.loss;
            write!(
                keys,
                r#", "fittings": [{{ "loss": {{ "coefficient": {loss} }} }}]"#
            )
            .expect("a string takes all");
        }
        self.part(name, &format!(r#"{{ "hose": {{ {keys} }} }}"#));
        self
    }

    /// A pipe between two points.
    pub fn pipe(self, name: &str, from: &str, to: &str, pipe: &Pipe) -> Self {
        self.hose(name, pipe).run(&[from, name, to])
    }

    /// The document.
    pub fn text(&self) -> String {
        let row = format!(
            r#""density": "{} kg/m3", "viscosity": "{} Pa s", "specific_heat": "4180 J/(kg K)", "conductivity": "0.6 W/(m K)""#,
            self.density_kg_m3, self.viscosity_pa_s
        );
        format!(
            r#"{{ "format": 1, "title": "textbook", "methods": {{ "entrance_friction": "off"{} }},
              "coolants": {{ "fluid": {{ "table": {{ "rows": [
                {{ "temperature": "0 degC", {row} }}, {{ "temperature": "100 degC", {row} }}] }} }} }},
              "loops": {{ "net": {{ "coolant": "fluid", "parts": {{ {} }}, "runs": [{}] }} }},
              "cases": {{ "still": {{ "air": "20 degC" }} }} }}"#,
            self.methods, self.parts, self.runs
        )
    }

    /// Solves it.
    pub fn solve(&self) -> Answer {
        Answer::of(&self.text(), "net", self.density_kg_m3)
    }
}

impl Answer {
    /// Reads and solves the first case of a document whose loop has one density.
    pub fn of(text: &str, owner: &str, density_kg_m3: f64) -> Self {
        let source = Source::read(text).unwrap_or_else(|e| panic!("{e:?}"));
        let network = Network::build(&source.design).unwrap_or_else(|e| panic!("{e:?}"));
        let mut solver = Solver::new(&network);
        let solution = solver
            .solve(&network.cases()[0])
            .unwrap_or_else(|e| panic!("{e}"));
        let closure = solution.closure(owner).expect("the loop is there");
        assert!(closure.is_met(), "{closure:?}");
        let parts = solution.parts(owner);
        let static_of = |p: &loopwright::solve::PartState| (p.id.clone(), p.inlet_static_gauge_pa);
        Self {
            density_kg_m3,
            flow_m3_s: parts
                .iter()
                .map(|p| (p.id.clone(), p.mass_flow_kg_s / density_kg_m3))
                .collect(),
            static_inlet_pa: parts.iter().map(static_of).collect(),
            gauge_pa: solution
                .points(owner)
                .into_iter()
                .map(|p| (p.id, p.total_pressure_pa - AMBIENT_PA))
                .collect(),
        }
    }

    /// Volume flow through a part, m3/s.
    pub fn flow(&self, part: &str) -> f64 {
        self.flow_m3_s[part]
    }

    /// Total pressure head of a point in m of the fluid under a source's gravity.
    pub fn head(&self, point: &str, g_source: f64) -> f64 {
        self.gauge_pa[point] / (self.density_kg_m3 * g_source)
    }

    /// Static gauge pressure at a part's inlet, Pa.
    pub fn static_inlet_pa(&self, part: &str) -> f64 {
        self.static_inlet_pa[part]
    }
}
