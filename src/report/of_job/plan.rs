//! The loops as a drawing: what each part says of itself, and which parts are joined.

use super::Pack;
use crate::network::{Loop, NodeKind};
use crate::quantity::{Kind, UnitFamily, unit_symbol};
use crate::report::page::{Form, Line, pointer};
use crate::report::svg::plan::{Cellule, Graph, Label, Link, Shape, Vertex, draw_loop};
use crate::report::svg::{Anchor, Attributes, FaceCore, FaceFan, Pen, RadiatorFace};
use crate::solve::{Carried, LoopState, Solution};

/// Widest drawing before the next loop goes below.
const WIDTH: f64 = 1100.0;
const GAP: f64 = 34.0;

/// One loop, or one radiator, drawn at the origin.
struct Piece {
    title: Option<String>,
    class: String,
    body: String,
    size: (f64, f64),
}

/// The whole drawing; none without an answer.
pub(super) fn draw(pack: &Pack<'_, '_>) -> Option<String> {
    let solution = pack.job.drawn_solution()?;
    let case = &solution.case().name;
    let mut pieces = Vec::new();
    for (k, circuit) in pack.job.network.loops().iter().enumerate() {
        let state = solution.loop_state(&circuit.name)?;
        let graph = Builder {
            pack,
            solution,
            state,
            case,
        }
        .graph();
        let (body, width, height) = draw_loop(&graph);
        let title = format!("Loop {}: {}", circuit.name, circuit.coolant.describe());
        pieces.push(Piece {
            title: Some(title),
            class: format!("loop{}", k % 3),
            body,
            size: (width, height),
        });
    }
    for (index, radiator) in pack.job.network.radiators().iter().enumerate() {
        let (body, width, height) = face(pack, solution, index, &radiator.name, case).draw();
        pieces.push(Piece {
            title: None,
            class: "face".into(),
            body,
            size: (width, height),
        });
    }
    Some(arrange(pack, &pieces, case))
}

/// Pieces in rows of columns.
fn arrange(pack: &Pack<'_, '_>, pieces: &[Piece], case: &str) -> String {
    let title_width = |p: &Piece| {
        p.title
            .as_ref()
            .map_or(0.0, |t| 8.6 * t.chars().count() as f64)
    };
    let size = |p: &Piece| {
        let head = if p.title.is_some() { 26.0 } else { 0.0 };
        (p.size.0.max(title_width(p)), p.size.1 + head)
    };
    // Rows of columns: a piece goes below the last one where the row is tall enough, else beside it, else into a new row.
    let mut places: Vec<(f64, f64)> = Vec::new();
    let (mut row_top, mut row_tall, mut wide) = (0.0_f64, 0.0_f64, 0.0_f64);
    let (mut left, mut column, mut filled) = (0.0_f64, 0.0_f64, 0.0_f64);
    for piece in pieces {
        let (w, h) = size(piece);
        let below = filled > 0.0 && filled + GAP + h <= row_tall && left + w <= WIDTH;
        if below {
            places.push((left, row_top + filled + GAP));
            filled += GAP + h;
            column = column.max(w);
        } else {
            let beside = left + column + GAP;
            if filled > 0.0 && beside + w <= WIDTH {
                left = beside;
            } else if filled > 0.0 {
                row_top += row_tall + GAP;
                (left, row_tall) = (0.0, 0.0);
            }
            places.push((left, row_top));
            (column, filled) = (w, h);
        }
        row_tall = row_tall.max(filled);
        wide = wide.max(left + w);
    }
    let tall = row_top + row_tall;
    let names: Vec<&str> = pack
        .job
        .network
        .loops()
        .iter()
        .map(|l| l.name.as_str())
        .collect();
    let mut pen = Pen::new(
        wide + 8.0,
        tall + 10.0,
        "plan",
        &format!("The loops of {} in case {case}", pack.job.network.title()),
        &format!(
            "Loops {}: parts and hoses as they are joined, with flows and temperatures; the tables of the case hold the same numbers.",
            names.join(", ")
        ),
    );
    for (piece, (x, y)) in pieces.iter().zip(places) {
        let mut top = y + 4.0;
        if let Some(title) = &piece.title {
            pen.text((x + 4.0, top + 12.0), Anchor::Start, "head", title);
            top += 26.0;
        }
        pen.group(Attributes::class(&piece.class));
        pen.inset(x + 4.0, top, &piece.body);
        pen.end();
    }
    pen.finish()
}

struct Builder<'b, 'a, 'n> {
    pack: &'b Pack<'a, 'n>,
    solution: &'b Solution<'n>,
    state: &'b LoopState,
    case: &'b str,
}

impl Builder<'_, '_, '_> {
    fn circuit(&self) -> &Loop {
        &self.state.circuit
    }

    /// The bank that a name belongs to.
    fn bank_of(&self, id: &str) -> Option<usize> {
        self.circuit().banks.iter().position(|b| {
            id.strip_prefix(b.name.as_str())
                .is_some_and(|r| r.starts_with('.'))
        })
    }

    fn base(&self, id: &str) -> String {
        pointer(&[
            "cases",
            self.case,
            "loops",
            &self.circuit().name,
            "parts",
            id,
        ])
    }

    fn graph(&self) -> Graph {
        let circuit = self.circuit();
        let net = &circuit.net;
        let flows = &self.state.flow.flow_kg_s;
        let mut graph = Graph::default();
        let banks: Vec<usize> = (0..circuit.banks.len())
            .map(|k| add(&mut graph, self.bank(k)))
            .collect();
        let mut of_node = vec![usize::MAX; net.nodes.len()];
        for (n, node) in net.nodes.iter().enumerate() {
            of_node[n] = match self.bank_of(node.id.as_str()) {
                Some(bank) => banks[bank],
                None => add(&mut graph, self.node(n)),
            };
        }
        for (branch, flow) in net.branches.iter().zip(flows) {
            let mut here = of_node[branch.from];
            let own: Vec<usize> = branch
                .elements
                .clone()
                .filter(|e| self.bank_of(net.elements[*e].id.as_str()).is_none())
                .collect();
            let there = of_node[branch.to];
            if own.is_empty() && here == there {
                continue;
            }
            for e in own {
                let vertex = add(&mut graph, self.element(e, *flow));
                graph.links.push(Link {
                    from: here,
                    to: vertex,
                    flow: *flow,
                });
                here = vertex;
            }
            graph.links.push(Link {
                from: here,
                to: there,
                flow: *flow,
            });
        }
        graph.largest_flow = graph.links.iter().map(|l| l.flow.abs()).fold(0.0, f64::max);
        let tank = circuit.tanks.first().map(|t| t.node);
        let open = || {
            net.nodes
                .iter()
                .position(|n| matches!(n.kind, NodeKind::Fixed { .. }))
        };
        graph.root = tank.or_else(open).map_or(0, |n| of_node[n]);
        // A joint's flow is the most that passes it.
        for v in 0..graph.vertices.len() {
            if matches!(
                graph.vertices[v].shape,
                Shape::Joint | Shape::Symbol("draw")
            ) {
                let at = graph.links.iter().filter(|l| l.from == v || l.to == v);
                graph.vertices[v].flow = at.map(|l| l.flow.abs()).fold(0.0, f64::max);
            }
        }
        graph
    }

    fn solved(&self) -> bool {
        self.state.carried == Carried::Solved
    }

    fn labels(&self, lines: Vec<Line>) -> Vec<Label> {
        lines
            .iter()
            .map(|l| l.label(self.pack.facts.units))
            .collect()
    }

    /// A flow in both families: half the builders think in the other.
    fn flow(&self, base: &str) -> Line {
        let flow = || {
            self.pack
                .facts
                .under(base, "volume_flow_m3_s", Form::Column(Kind::VolumeFlow))
        };
        let (a, b) = match self.pack.facts.units.first() {
            UnitFamily::Metric => (UnitFamily::Metric, UnitFamily::Us),
            UnitFamily::Us => (UnitFamily::Us, UnitFamily::Metric),
        };
        let unit = |f| unit_symbol(Kind::VolumeFlow, f);
        Line::default()
            .fig_in(flow(), a)
            .and(format!(" {} (", unit(a)))
            .fig_in(flow(), b)
            .and(format!(" {})", unit(b)))
    }

    fn temperature(&self, base: &str, key: &str) -> Line {
        Line::default().fig(
            self.pack
                .facts
                .under(base, key, Form::Show(Kind::Temperature)),
        )
    }

    fn node(&self, n: usize) -> Vertex {
        let node = &self.circuit().net.nodes[n];
        let base = self.base(node.id.as_str());
        let kind = match &node.kind {
            NodeKind::Fixed { .. } if node.inflow_temperature_k.is_none() => "expansion_tank",
            NodeKind::Fixed { .. } => "open_end",
            NodeKind::Draw { .. } => "draw",
            NodeKind::Meeting | NodeKind::Tee(_) => "joint",
        };
        let mut lines = vec![Line::words(node.id.as_str())];
        lines.push(self.temperature(&base, "temperature_k"));
        let shape = if kind == "joint" {
            Shape::Joint
        } else {
            Shape::Symbol(kind)
        };
        Vertex {
            shape,
            label: self.labels(lines),
            flow: 0.0,
        }
    }

    fn element(&self, e: usize, flow: f64) -> Vertex {
        let element = &self.circuit().net.elements[e];
        let base = self.base(element.id.as_str());
        let mut lines = vec![Line::words(element.id.as_str())];
        let facts = &self.pack.facts;
        if element.kind == "hose" {
            lines.push(self.flow(&base));
        } else {
            if element.kind == "pump" {
                let drop = facts.under(
                    &base,
                    "pressure_drop_pa",
                    Form::Show(Kind::PressureDifference),
                );
                lines.push(Line::words("drop ").fig(drop));
                lines.push(self.flow(&base));
            }
            let (a, b) = ("inlet_temperature_k", "outlet_temperature_k");
            let (a, b) = if flow < 0.0 { (b, a) } else { (a, b) };
            let each = |key| facts.under(&base, key, Form::Show(Kind::Temperature));
            if facts.units.second().is_some() {
                lines.push(Line::default().fig(each(a)));
                lines.push(Line::words("to ").fig(each(b)));
            } else if self.solved() {
                lines.push(Line::default().fig(each(a)).and(" to ").fig(each(b)));
            } else {
                lines.push(Line::default().fig(each(a)));
            }
        }
        let shape = if element.kind == "hose" {
            Shape::Hose
        } else {
            Shape::Symbol(element.kind)
        };
        Vertex {
            shape,
            label: self.labels(lines),
            flow,
        }
    }

    fn bank(&self, k: usize) -> Vertex {
        let map = &self.circuit().banks[k];
        let name = &self.circuit().name;
        let base = pointer(&["cases", self.case, "loops", name, "banks", &map.name]);
        let state = self.solution.banks(name).get(k);
        let facts = &self.pack.facts;
        let mut lines = vec![Line::words(format!(
            "{}: {} modules",
            map.name,
            map.modules.len()
        ))];
        let drop = facts.under(
            &base,
            "pressure_drop_pa",
            Form::Show(Kind::PressureDifference),
        );
        let off = facts.under(&base, "deviation", Form::Percent);
        lines.push(
            Line::words("loses ")
                .fig(drop)
                .and(", flow within ")
                .fig(off)
                .and(" of mean"),
        );
        if self.solved() {
            let apart = facts.under(
                &base,
                "module_temperature_spread_k",
                Form::Show(Kind::TemperatureDifference),
            );
            let hottest = state.as_ref().and_then(|s| {
                let each = s
                    .module_temperature_k
                    .iter()
                    .enumerate()
                    .filter(|t| t.1.is_finite());
                each.max_by(|a, b| a.1.total_cmp(b.1)).map(|t| t.0)
            });
            let most = hottest.and_then(|k| {
                facts.figure(
                    &format!("{base}/module_temperature_k/{k}"),
                    Form::Show(Kind::Temperature),
                )
            });
            lines.push(Line::words("hottest ").fig(most).and(", apart ").fig(apart));
        }
        let modules = state.iter().flat_map(|s| &s.branch_flow_over_mean);
        let cells = modules.map(|&over_mean| Cellule { over_mean }).collect();
        Vertex {
            shape: Shape::Bank(cells),
            label: self.labels(lines),
            flow: 0.0,
        }
    }
}

fn add(graph: &mut Graph, vertex: Vertex) -> usize {
    graph.vertices.push(vertex);
    graph.vertices.len() - 1
}

fn face(
    pack: &Pack<'_, '_>,
    solution: &Solution<'_>,
    index: usize,
    radiator: &str,
    case: &str,
) -> RadiatorFace {
    let facts = &pack.facts;
    let units = facts.units;
    let record = pack.design.radiators.get(radiator);
    let (wide, high) = record.map_or((1.0, 1.0), |r| (r.face_width.m(), r.face_height.m()));
    let lying = record.is_none_or(|r| {
        r.tubes.direction.unwrap_or_default() == crate::part::TubeDirection::Horizontal
    });
    let whole = wide * high;
    let ties = || {
        pack.job
            .network
            .cores()
            .iter()
            .filter(move |t| t.radiator == index)
    };
    let states = solution.cores(radiator);
    let cores: Vec<FaceCore> = ties()
        .map(|tie| {
            let base = pointer(&["cases", case, "radiators", radiator, "cores", &tie.core]);
            let face = pointer(&["job", "faces", radiator, "cores", &tie.core, "face_m2"]);
            let area: f64 = tie.strips.iter().map(|s| s.face_m2).sum();
            let mut lines = vec![Line::words(format!("{}.{}", radiator, tie.core))];
            lines.push(Line::words("face ").fig(facts.figure(&face, Form::Show(Kind::Area))));
            if states.iter().any(|s| s.core == tie.core) {
                let heat = facts.under(&base, "heat_rejected_w", Form::Show(Kind::Power));
                lines.push(Line::words("gives off ").fig(heat));
            }
            FaceCore {
                share: area / whole,
                label: lines.iter().map(|l| l.label(units)).collect(),
            }
        })
        .collect();
    let fans = record.map(|r| r.fans.as_slice()).unwrap_or_default();
    let fans = fans
        .iter()
        .enumerate()
        .map(|(k, fan)| {
            let name = record.map(|r| r.fan_name(k)).unwrap_or_default();
            let covers = ties().map(|t| fan.face_share_covered.get(&t.core).map_or(0.0, |s| s.0));
            let base = pointer(&["cases", case, "radiators", radiator, "fans", &name]);
            let flow = facts.under(&base, "volume_flow_m3_s", Form::Show(Kind::VolumeFlow));
            let line = Line::words(format!("shroud of {name}, air ")).fig(flow);
            FaceFan {
                covers: covers.collect(),
                label: vec![line.label(units)],
            }
        })
        .collect();
    RadiatorFace {
        title: Line::words(format!("Radiator {radiator} from the front")).label(units),
        aspect: wide / high,
        lying_tubes: lying,
        cores,
        fans,
    }
}
