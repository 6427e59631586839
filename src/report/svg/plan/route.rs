//! Lines between rows: each leaves a part downwards or upwards and runs across in a track of its own.

use super::{Graph, order::Placed};

/// A line in the space below one row.
#[derive(Clone, Debug)]
pub(super) struct Wire {
    /// The link.
    pub link: usize,
    /// Row above the space.
    pub row: usize,
    /// Where it begins, across, and whether it begins above (else below) the space.
    pub from: (f64, Above),
    /// Where it ends.
    pub to: (f64, Above),
    /// Its track, counted from the row above.
    pub track: usize,
}

/// On which side of a space a line ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Above {
    Yes,
    No,
}

/// Lines closer than this across would be taken for one.
const APART: f64 = 9.0;
/// Distance between the ends of two lines at one part.
pub(super) const SPREAD: f64 = 12.0;

/// All lines, and how many tracks each space has.
pub(super) fn route(graph: &Graph, placed: &Placed, anchor: &[f64]) -> (Vec<Wire>, Vec<usize>) {
    // What leaves each part on each side, by where it leads.
    let mut sides: Vec<[Vec<(f64, usize)>; 2]> =
        vec![[Vec::new(), Vec::new()]; graph.vertices.len()];
    let middle = |v: usize| placed.x[v] + anchor[v];
    for (k, link) in graph.links.iter().enumerate() {
        for (here, there) in [(link.from, link.to), (link.to, link.from)] {
            let up = placed.row_of[there] < placed.row_of[here];
            sides[here][usize::from(!up)]
                .push((middle(there), 2 * k + usize::from(here == link.to)));
        }
    }
    let mut across = vec![0.0; 2 * graph.links.len()];
    for (v, both) in sides.iter_mut().enumerate() {
        for ends in both {
            ends.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
            let half = 0.5 * ends.len().saturating_sub(1) as f64;
            for (k, (_, end)) in ends.iter().enumerate() {
                across[*end] = middle(v) + SPREAD * (k as f64 - half);
            }
        }
    }
    let mut wires: Vec<Wire> = graph
        .links
        .iter()
        .enumerate()
        .map(|(k, link)| {
            let (a, b) = (placed.row_of[link.from], placed.row_of[link.to]);
            let side =
                |mine: usize, other: usize| if mine <= other { Above::Yes } else { Above::No };
            Wire {
                link: k,
                row: a.min(b),
                from: (across[2 * k], side(a, b)),
                to: (across[2 * k + 1], side(b, a)),
                track: 0,
            }
        })
        .collect();
    let mut tracks = vec![0; placed.rows.len()];
    for (row, count) in tracks.iter_mut().enumerate() {
        let mut here: Vec<usize> = (0..wires.len()).filter(|w| wires[*w].row == row).collect();
        sort_by_stubs(&mut here, &wires);
        let mut ends: Vec<Vec<(f64, f64)>> = Vec::new();
        for (k, w) in here.iter().enumerate() {
            let (low, high) = span(&wires[*w]);
            if high - low < 0.5 {
                continue;
            }
            // Not above any line that must stay above it.
            let least = here[..k]
                .iter()
                .filter(|o| must_be_above(&wires[**o], &wires[*w]))
                .map(|o| wires[*o].track + 1)
                .max()
                .unwrap_or(0);
            let free =
                |t: &Vec<(f64, f64)>| t.iter().all(|e| high + APART < e.0 || e.1 + APART < low);
            let track = (least..ends.len())
                .find(|t| free(&ends[*t]))
                .unwrap_or(ends.len().max(least));
            while ends.len() <= track {
                ends.push(Vec::new());
            }
            ends[track].push((low, high));
            wires[*w].track = track;
        }
        *count = ends.len();
    }
    (wires, tracks)
}

fn span(wire: &Wire) -> (f64, f64) {
    (wire.from.0.min(wire.to.0), wire.from.0.max(wire.to.0))
}

/// Whether `a` must run above `b`, since `a` comes from above where `b` goes down.
fn must_be_above(a: &Wire, b: &Wire) -> bool {
    let ends = |w: &Wire| [w.from, w.to];
    ends(a).into_iter().filter(|e| e.1 == Above::Yes).any(|x| {
        ends(b)
            .into_iter()
            .filter(|e| e.1 == Above::No)
            .any(|y| (x.0 - y.0).abs() < APART)
    })
}

/// An order in which lines that must be above come first; where two want to be above each other, the first stays.
fn sort_by_stubs(list: &mut Vec<usize>, wires: &[Wire]) {
    let mut left = std::mem::take(list);
    left.sort_by(|a, b| {
        let (a, b) = (span(&wires[*a]), span(&wires[*b]));
        (a.1 - a.0).total_cmp(&(b.1 - b.0))
    });
    while !left.is_empty() {
        let free = (0..left.len()).find(|&k| {
            !(0..left.len()).any(|o| o != k && must_be_above(&wires[left[o]], &wires[left[k]]))
        });
        list.push(left.remove(free.unwrap_or(0)));
    }
}
