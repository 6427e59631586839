//! Rows and places: rows by distance from the root, places within a row by the places of their neighbours.

use super::{Graph, Link};

/// Where a vertex stands: its row, and the middle of its symbol across.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Placed {
    /// Vertices of each row, from left to right.
    pub rows: Vec<Vec<usize>>,
    /// Row of each vertex.
    pub row_of: Vec<usize>,
    /// Left edge of each vertex's slot.
    pub x: Vec<f64>,
}

/// Which way rows are gone through.
#[derive(Clone, Copy, PartialEq)]
enum Sweep {
    Down,
    Up,
}

const GAP: f64 = 16.0;
const SWEEPS: usize = 12;

/// Lays out a graph whose slots have these widths; `anchor` is the place of the symbol within its slot.
pub(super) fn lay_out(graph: &Graph, widths: &[f64], anchor: &[f64]) -> Placed {
    let (rows, row_of) = rows(graph);
    let mut rows = rows;
    for sweep in 0..SWEEPS {
        let sweep = if sweep % 2 == 0 {
            Sweep::Down
        } else {
            Sweep::Up
        };
        reorder(&mut rows, &row_of, graph, sweep);
    }
    let x = across(&rows, &row_of, graph, widths, anchor);
    Placed { rows, row_of, x }
}

fn neighbours(graph: &Graph) -> Vec<Vec<(usize, bool)>> {
    let mut list = vec![Vec::new(); graph.vertices.len()];
    for Link { from, to, .. } in &graph.links {
        // What follows comes first, what leads back comes last: supply left, return right.
        list[*from].push((*to, true));
        list[*to].push((*from, false));
    }
    for each in &mut list {
        each.sort_by_key(|(_, down)| !down);
    }
    list
}

/// Rows by distance: both ends of every link are in one row or in two that follow each other.
fn rows(graph: &Graph) -> (Vec<Vec<usize>>, Vec<usize>) {
    let list = neighbours(graph);
    let count = graph.vertices.len();
    let mut row_of = vec![usize::MAX; count];
    let mut rows: Vec<Vec<usize>> = Vec::new();
    let starts = std::iter::once(graph.root).chain(0..count);
    for start in starts.filter(|s| *s < count) {
        if row_of[start] != usize::MAX {
            continue;
        }
        row_of[start] = 0;
        let mut queue = vec![start];
        let mut next = 0;
        while let Some(&v) = queue.get(next) {
            next += 1;
            let row = row_of[v];
            if rows.len() <= row {
                rows.resize(row + 1, Vec::new());
            }
            rows[row].push(v);
            for (w, _) in &list[v] {
                if row_of[*w] == usize::MAX {
                    row_of[*w] = row + 1;
                    queue.push(*w);
                }
            }
        }
    }
    (rows, row_of)
}

/// Orders each row by the mean place of what it is joined to in the row before (or after), and beside it.
fn reorder(rows: &mut [Vec<usize>], row_of: &[usize], graph: &Graph, sweep: Sweep) {
    let downwards = sweep == Sweep::Down;
    let list = neighbours(graph);
    let mut place = vec![0.0_f64; row_of.len()];
    let number = |place: &mut Vec<f64>, row: &[usize]| {
        let len = row.len().max(1) as f64;
        for (k, v) in row.iter().enumerate() {
            place[*v] = (k as f64 + 0.5) / len;
        }
    };
    for row in rows.iter() {
        number(&mut place, row);
    }
    let order: Vec<usize> = if downwards {
        (1..rows.len()).collect()
    } else {
        (0..rows.len().saturating_sub(1)).rev().collect()
    };
    for r in order {
        let key = |v: usize| {
            let near = list[v].iter().filter(|(w, _)| {
                if downwards {
                    row_of[*w] < r
                } else {
                    row_of[*w] > r
                }
            });
            let (sum, count) = near.fold((0.0, 0.0), |(s, n), (w, _)| (s + place[*w], n + 1.0));
            // Neighbours in the same row pull a little, so that they stand side by side.
            let beside = list[v].iter().filter(|(w, _)| row_of[*w] == r);
            let (side, sides) = beside.fold((0.0, 0.0), |(s, n), (w, _)| (s + place[*w], n + 1.0));
            match (count > 0.0, sides > 0.0) {
                (true, true) => (sum / count) * 0.7 + (side / sides) * 0.3,
                (true, false) => sum / count,
                (false, true) => 0.5 * (side / sides + place[v]),
                (false, false) => place[v],
            }
        };
        let mut keyed: Vec<(f64, usize)> = rows[r].iter().map(|v| (key(*v), *v)).collect();
        keyed.sort_by(|a, b| a.0.total_cmp(&b.0));
        rows[r] = keyed.into_iter().map(|k| k.1).collect();
        let row = rows[r].clone();
        number(&mut place, &row);
    }
}

/// Left edges: each symbol as near under its neighbours as the order and the widths let it be.
fn across(
    rows: &[Vec<usize>],
    row_of: &[usize],
    graph: &Graph,
    widths: &[f64],
    anchor: &[f64],
) -> Vec<f64> {
    let list = neighbours(graph);
    let mut x = vec![0.0_f64; row_of.len()];
    for row in rows {
        let mut at = 0.0;
        for v in row {
            x[*v] = at;
            at += widths[*v] + GAP;
        }
    }
    for sweep in 0..24 {
        let forth = sweep % 2 == 0;
        let order: Vec<usize> = if forth {
            (0..rows.len()).collect()
        } else {
            (0..rows.len()).rev().collect()
        };
        for r in order {
            let wanted: Vec<f64> = rows[r]
                .iter()
                .map(|&v| {
                    let near = list[v].iter().filter(|(w, _)| row_of[*w] != r);
                    let (sum, count) = near.fold((0.0, 0.0), |(s, n), (w, _)| {
                        (s + x[*w] + anchor[*w], n + 1.0)
                    });
                    if count > 0.0 {
                        sum / count - anchor[v]
                    } else {
                        x[v]
                    }
                })
                .collect();
            settle(&mut x, &rows[r], &wanted, widths);
        }
    }
    let left = x.iter().copied().fold(f64::INFINITY, f64::min);
    if left.is_finite() {
        for place in &mut x {
            *place -= left;
        }
    }
    x
}

/// Places of a row nearest to what is wanted (least squares) that keep order and distance: neighbours that collide are
/// joined and moved as one.
fn settle(x: &mut [f64], row: &[usize], wanted: &[f64], widths: &[f64]) {
    // Blocks of (first member, members, mean of the wanted place of the first).
    let mut offset = vec![0.0; row.len()];
    for k in 1..row.len() {
        offset[k] = offset[k - 1] + widths[row[k - 1]] + GAP;
    }
    let mut blocks: Vec<(usize, f64, f64)> = Vec::new();
    for k in 0..row.len() {
        let mut block = (k, 1.0, wanted[k] - offset[k]);
        while let Some(last) = blocks.last().copied() {
            if last.2 < block.2 {
                break;
            }
            blocks.pop();
            let weight = last.1 + block.1;
            block = (
                last.0,
                weight,
                (last.2 * last.1 + block.2 * block.1) / weight,
            );
        }
        blocks.push(block);
    }
    for (b, block) in blocks.iter().enumerate() {
        let end = blocks.get(b + 1).map_or(row.len(), |n| n.0);
        for k in block.0..end {
            x[row[k]] = block.2 + offset[k];
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Shape, Vertex};
    use super::*;

    fn ring(count: usize) -> Graph {
        let vertex = Vertex {
            shape: Shape::Joint,
            label: Vec::new(),
            flow: 1.0,
        };
        Graph {
            vertices: vec![vertex; count],
            links: (0..count)
                .map(|k| Link {
                    from: k,
                    to: (k + 1) % count,
                    flow: 1.0,
                })
                .collect(),
            root: 0,
            largest_flow: 1.0,
        }
    }

    #[test]
    fn a_ring_is_folded_with_supply_left_and_return_right() {
        let graph = ring(8);
        let placed = lay_out(&graph, &[40.0; 8], &[20.0; 8]);
        assert_eq!(placed.rows.len(), 5);
        assert_eq!(placed.rows[1], [1, 7]);
        assert_eq!(placed.rows[3], [3, 5]);
    }

    #[test]
    fn slots_of_a_row_never_overlap_and_links_span_one_row_at_most() {
        let mut graph = ring(9);
        graph.links.push(Link {
            from: 2,
            to: 6,
            flow: 0.5,
        });
        graph.links.push(Link {
            from: 1,
            to: 5,
            flow: 0.5,
        });
        let widths: Vec<f64> = (0..9).map(|k| 30.0 + 17.0 * (k % 4) as f64).collect();
        let placed = lay_out(&graph, &widths, &[15.0; 9]);
        for row in &placed.rows {
            for pair in row.windows(2) {
                assert!(placed.x[pair[1]] >= placed.x[pair[0]] + widths[pair[0]] + GAP - 1e-9);
            }
        }
        for link in &graph.links {
            assert!(placed.row_of[link.from].abs_diff(placed.row_of[link.to]) <= 1);
        }
    }
}
