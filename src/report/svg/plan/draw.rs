//! Draws a placed loop: parts in their slots, lines in their tracks, widths by flow, a chevron where coolant runs.

use super::order::{Placed, lay_out};
use super::route::{Above, Wire, route};
use super::symbols::{self, SIZE};
use super::{Cellule, Graph, Shape, Vertex};
use crate::report::svg::pen::{Anchor, Attributes, Path, Pen, place};
use crate::report::svg::ruler::text_width;

const TEXT: f64 = 11.0;
const LINE: f64 = 14.0;
/// Space above the first and below the last track of a space between rows.
const LEAD: f64 = 12.0;
const TRACK: f64 = 11.0;
/// Height of a bank's drawing from header to header.
const BANK: f64 = 62.0;
/// Widest bank; more modules than fit get thinner.
const BANK_WIDTH: f64 = 460.0;

/// Draws the loop at the origin; returns markup, width and height.
pub(in crate::report) fn draw_loop(graph: &Graph) -> (String, f64, f64) {
    let sizes: Vec<(f64, f64, f64)> = graph.vertices.iter().map(slot).collect();
    let widths: Vec<f64> = sizes.iter().map(|s| s.0).collect();
    let anchor: Vec<f64> = sizes.iter().map(|s| s.2).collect();
    let placed = lay_out(graph, &widths, &anchor);
    let (wires, tracks) = route(graph, &placed, &anchor);
    let mut tops = Vec::new();
    let mut y = 4.0;
    for (row, list) in placed.rows.iter().enumerate() {
        let tall = list.iter().map(|v| sizes[*v].1).fold(SIZE, f64::max);
        tops.push((y, tall));
        let used = wires.iter().any(|w| w.row == row);
        let space = if used {
            2.0 * LEAD + TRACK * tracks[row].saturating_sub(1) as f64
        } else {
            8.0
        };
        y += tall + space;
    }
    let right = (0..widths.len())
        .map(|v| placed.x[v] + widths[v])
        .fold(0.0, f64::max);
    let mut pen = Pen::new(right, y, "p", "", "");
    for wire in &wires {
        draw_wire(&mut pen, graph, wire, &placed, &tops, &sizes);
    }
    for (v, vertex) in graph.vertices.iter().enumerate() {
        let (top, tall) = tops[placed.row_of[v]];
        let upward = flows_up(graph, &placed, v);
        let ends: Vec<(f64, Above)> = wires
            .iter()
            .flat_map(|w| {
                let link = graph.links[w.link];
                [(link.from, w.from), (link.to, w.to)]
            })
            .filter(|e| e.0 == v)
            .map(|e| e.1)
            .collect();
        let spot = Spot {
            ends,
            top,
            tall,
            middle: placed.x[v] + anchor[v],
            down: if upward { -1.0 } else { 1.0 },
        };
        draw_vertex(&mut pen, graph, vertex, &spot);
    }
    (pen.body(), right + 2.0, y)
}

/// Width, height, and place of the symbol's middle.
fn slot(vertex: &Vertex) -> (f64, f64, f64) {
    let text = vertex
        .label
        .iter()
        .map(|l| text_width(&l.plain, TEXT))
        .fold(0.0, f64::max);
    let lines = LINE * vertex.label.len() as f64;
    match &vertex.shape {
        Shape::Hose => (26.0 + text, lines.max(34.0), 12.0),
        Shape::Joint => (26.0 + text, lines.max(20.0), 12.0),
        Shape::Symbol(_) => (SIZE + 8.0 + text, lines.max(SIZE + 6.0), 0.5 * SIZE + 1.0),
        Shape::Bank(modules) => {
            let wide = bank_width(modules.len());
            // The label stands right of the line that leaves below.
            let half = 0.5 * wide + 10.0;
            (half + half.max(16.0 + text), BANK + 22.0 + lines, half)
        }
    }
}

fn bank_width(count: usize) -> f64 {
    (16.0 * count as f64).clamp(64.0, BANK_WIDTH)
}

struct Spot {
    /// Where lines end at it.
    ends: Vec<(f64, Above)>,
    top: f64,
    tall: f64,
    middle: f64,
    down: f64,
}

/// Whether coolant runs up the page through a part: out towards a row above.
fn flows_up(graph: &Graph, placed: &Placed, v: usize) -> bool {
    let mut lean = 0.0;
    for link in &graph.links {
        let (a, b) = if link.flow >= 0.0 {
            (link.from, link.to)
        } else {
            (link.to, link.from)
        };
        let step = placed.row_of[b] as f64 - placed.row_of[a] as f64;
        if a == v || b == v {
            lean += step;
        }
    }
    lean < 0.0
}

fn stroke(graph: &Graph, flow: f64) -> f64 {
    if graph.largest_flow > 0.0 {
        1.4 + 5.6 * (flow.abs() / graph.largest_flow).min(1.0)
    } else {
        1.4
    }
}

/// Where a line meets the part at one of its ends: the edge of the drawn shape, not of the slot.
fn meets(
    v: usize,
    graph: &Graph,
    above: Above,
    placed: &Placed,
    tops: &[(f64, f64)],
    sizes: &[(f64, f64, f64)],
) -> f64 {
    let (top, tall) = tops[placed.row_of[v]];
    let middle = top + 0.5 * tall;
    let half = match &graph.vertices[v].shape {
        Shape::Hose => 0.5 * sizes[v].1.min(tall) - 3.0,
        Shape::Joint => 0.0,
        Shape::Symbol("draw") => 0.0,
        // Under the symbol, which is drawn later and covers it.
        Shape::Symbol(_) => 8.0,
        Shape::Bank(_) => {
            return if above == Above::Yes {
                top + BANK + 18.0
            } else {
                top + 2.0
            };
        }
    };
    if above == Above::Yes {
        middle + half
    } else {
        middle - half
    }
}

fn draw_wire(
    pen: &mut Pen,
    graph: &Graph,
    wire: &Wire,
    placed: &Placed,
    tops: &[(f64, f64)],
    sizes: &[(f64, f64, f64)],
) {
    let link = graph.links[wire.link];
    let (top, tall) = tops[wire.row];
    let track = top + tall + LEAD + TRACK * wire.track as f64;
    let start = meets(link.from, graph, wire.from.1, placed, tops, sizes);
    let end = meets(link.to, graph, wire.to.1, placed, tops, sizes);
    // A line that leaves off the middle starts on a short shelf of its part.
    let path = if (wire.from.0 - wire.to.0).abs() < 0.5 {
        Path::from(wire.from.0, start).to(wire.to.0, end)
    } else {
        Path::from(wire.from.0, start)
            .to(wire.from.0, track)
            .to(wire.to.0, track)
            .to(wire.to.0, end)
    };
    let width = place(stroke(graph, link.flow));
    pen.path(path, Attributes::class("line").with("stroke-width", &width));
}

fn draw_vertex(pen: &mut Pen, graph: &Graph, vertex: &Vertex, spot: &Spot) {
    let middle = spot.top + 0.5 * spot.tall;
    let lines = LINE * vertex.label.len() as f64;
    let mut text_at = (spot.middle + 14.0, middle - 0.5 * lines);
    match &vertex.shape {
        Shape::Hose => {
            let half = 0.5 * lines.clamp(34.0, spot.tall) - 3.0;
            let width = place(stroke(graph, vertex.flow));
            let turn = |from: f64, to: f64| match spot.ends.as_slice() {
                // Both ends on one side: the hose turns back.
                [a, b] if a.1 == b.1 => Path::from(a.0, from).to(a.0, to).to(b.0, to).to(b.0, from),
                _ => Path::from(spot.middle, from).to(spot.middle, to),
            };
            let hangs = spot.ends.iter().all(|e| e.1 == Above::No);
            let path = if hangs {
                turn(middle - half, middle + half)
            } else {
                turn(middle + half, middle - half)
            };
            pen.path(path, Attributes::class("line").with("stroke-width", &width));
            let turns = spot.ends.len() == 2 && spot.ends[0].1 == spot.ends[1].1;
            if vertex.flow != 0.0 && !turns {
                chevron(pen, (spot.middle, middle), spot.down);
            }
        }
        Shape::Joint => {
            bar(pen, graph, vertex, spot, middle);
            pen.circle((spot.middle, middle), 4.5, "full");
        }
        Shape::Symbol(kind) => {
            if *kind == "draw" {
                bar(pen, graph, vertex, spot, middle);
            }
            symbols::draw(pen, kind, (spot.middle, middle), spot.down);
            text_at.0 = spot.middle + 0.5 * SIZE + 5.0;
        }
        Shape::Bank(modules) => {
            draw_bank(pen, modules, spot);
            text_at = (spot.middle + 16.0, spot.top + BANK + 20.0);
        }
    }
    for (k, line) in vertex.label.iter().enumerate() {
        let class = if k == 0 { "name" } else { "small" };
        let at = (text_at.0, text_at.1 + LINE * k as f64 + 11.0);
        pen.rich(at, Anchor::Start, class, &line.markup);
    }
}

/// Joins the lines that end at a point.
fn bar(pen: &mut Pen, graph: &Graph, vertex: &Vertex, spot: &Spot, middle: f64) {
    let low = spot.ends.iter().map(|e| e.0).fold(spot.middle, f64::min);
    let high = spot.ends.iter().map(|e| e.0).fold(spot.middle, f64::max);
    let width = place(stroke(graph, vertex.flow));
    let bar = Path::from(low, middle).to(high, middle);
    pen.path(bar, Attributes::class("line").with("stroke-width", &width));
}

fn chevron(pen: &mut Pen, (x, y): (f64, f64), down: f64) {
    let path = Path::from(x - 6.5, y - 4.0 * down)
        .to(x, y + 4.0 * down)
        .to(x + 6.5, y - 4.0 * down);
    pen.path(path, Attributes::class("chevron"));
}

/// Both headers and a box for each module, filled as high as its flow over twice the mean.
fn draw_bank(pen: &mut Pen, modules: &[Cellule], spot: &Spot) {
    let wide = bank_width(modules.len());
    let left = spot.middle - 0.5 * wide;
    let (top, bottom) = (spot.top + 8.0, spot.top + BANK + 12.0);
    pen.rect((left, top - 6.0), (wide, 6.0), "header");
    pen.rect((left, bottom), (wide, 6.0), "header");
    let step = wide / modules.len().max(1) as f64;
    let body = (step - (0.2 * step).min(3.0)).max(0.8);
    for (k, module) in modules.iter().enumerate() {
        let x = left + step * k as f64 + 0.5 * (step - body);
        let (y, tall) = (top + 6.0, bottom - top - 12.0);
        if step >= 5.0 {
            let middle = x + 0.5 * body;
            pen.line((middle, top), (middle, y), "tail");
            pen.line((middle, y + tall), (middle, bottom), "tail");
        }
        if module.over_mean.is_nan() {
            pen.rect((x, y), (body, tall), "missing");
            continue;
        }
        if step >= 4.0 {
            pen.rect((x, y), (body, tall), "module");
        }
        let fill = tall * (0.5 * module.over_mean).clamp(0.0, 1.0);
        pen.rect((x, y + tall - fill), (body, fill), "flow");
    }
    // The mean.
    let mean = top + 6.0 + 0.5 * (bottom - top - 12.0);
    pen.line((left - 3.0, mean), (left + wide + 3.0, mean), "mean");
}
