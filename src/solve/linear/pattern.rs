//! What a flow network looks like to linear algebra, and how its pattern is to be solved.

use super::cholesky::Cholesky;
use super::flat::{Flat, Symmetry};
use super::general::SparseSystem;
use super::order::{Diagonal, order};

/// The place of a node whose pressure is stated.
pub const NO_PLACE: u32 = u32::MAX;

/// Multiplications beyond which elimination by a flat list is slower than the library (measured on grids).
const MOST_WORK: usize = 3_000_000;
/// Unknowns beyond which the list is not tried where the library's Cholesky will do.
pub const MOST_FLAT: usize = 15_000;

/// Whether the row of a branch can be divided by its own slope.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pivot {
    /// It has a loss that rises with its flow.
    Loss,
    /// Its slope may be nothing: a pump alone, or no part at all.
    Weak,
}

/// What a network looks like to linear algebra.
pub struct SaddleShape {
    /// Places of the nodes at both ends of each branch, [`NO_PLACE`] for stated pressures.
    pub ends: Vec<[u32; 2]>,
    /// How many nodes have a place.
    pub free: usize,
    /// What each branch can be divided by.
    pub pivots: Vec<Pivot>,
    /// Row and column of every tie between two different branches, each pair once; with a pair stands its mirror.
    pub ties: Vec<(u32, u32)>,
}

/// Slots of an eliminated branch: both diagonals, and both places off them.
pub type EdgeSlots = [u32; 4];

/// How a pattern is solved.
pub enum Path {
    Flat {
        flat: Box<Flat>,
        edges: Vec<(u32, EdgeSlots)>,
        kept: Vec<(u32, KeptSlots)>,
        ties: Vec<u32>,
        symmetry: Symmetry,
    },
    Cholesky {
        cholesky: Box<Cholesky>,
        slots: Vec<u32>,
    },
    General,
}

/// Slots of a kept branch: its diagonal, its row over both nodes, its column over both nodes.
#[derive(Clone, Copy)]
pub struct KeptSlots {
    pub own: u32,
    pub row: [u32; 2],
    pub column: [u32; 2],
}

/// The whole system for the pivoting LU.
pub struct Fallback {
    pub system: SparseSystem,
    pub slots: Vec<usize>,
}

/// The whole system for the pivoting LU, its slots in the order in which values are added.
pub fn whole(shape: &SaddleShape) -> Fallback {
    let branches = shape.ends.len();
    let mut positions = Vec::new();
    for (j, ends) in shape.ends.iter().enumerate() {
        positions.push((j, j));
        for end in ends.iter().filter(|e| **e != NO_PLACE) {
            let node = branches + *end as usize;
            positions.push((j, node));
            positions.push((node, j));
        }
    }
    let ties = shape.ties.iter();
    positions.extend(ties.map(|&(r, c)| (r as usize, c as usize)));
    let (system, slots) = SparseSystem::new(branches + shape.free, &positions);
    Fallback { system, slots }
}

/// Chooses how a pattern is solved; with it the place of every kept branch (none where no branch is kept).
pub fn analyse(shape: &SaddleShape) -> (Path, Vec<u32>) {
    let tied = !shape.ties.is_empty();
    if tied || shape.free <= MOST_FLAT {
        let kept_place = kept_places(shape);
        if let Some(path) = flat_path(shape, &kept_place) {
            return (path, kept_place);
        }
    }
    if !tied && let Ok((cholesky, slots)) = Cholesky::new(shape.free, &shape.ends) {
        let cholesky = Box::new(cholesky);
        return (Path::Cholesky { cholesky, slots }, Vec::new());
    }
    (Path::General, Vec::new())
}

fn kept_places(shape: &SaddleShape) -> Vec<u32> {
    let mut keep: Vec<bool> = shape.pivots.iter().map(|p| *p == Pivot::Weak).collect();
    for &(row, column) in &shape.ties {
        keep[row as usize] = true;
        keep[column as usize] = true;
    }
    if !keep.contains(&true) {
        return Vec::new();
    }
    let mut next = shape.free as u32;
    let places = keep.into_iter().map(|kept| {
        if kept {
            next += 1;
            next - 1
        } else {
            NO_PLACE
        }
    });
    places.collect()
}

fn flat_path(shape: &SaddleShape, kept_place: &[u32]) -> Option<Path> {
    let place = |j: usize| kept_place.get(j).copied().unwrap_or(NO_PLACE);
    let kept = kept_place.iter().filter(|p| **p != NO_PLACE).count();
    let size = shape.free + kept;
    let mut neighbours: Vec<Vec<u32>> = vec![Vec::new(); size];
    let mut diagonals = vec![Diagonal::EmptyNode; size];
    let mut join = |a: u32, b: u32| {
        if a != NO_PLACE && b != NO_PLACE && a != b {
            neighbours[a as usize].push(b);
            neighbours[b as usize].push(a);
        }
    };
    for (j, &[from, to]) in shape.ends.iter().enumerate() {
        let own = place(j);
        if own != NO_PLACE {
            join(own, from);
            join(own, to);
            diagonals[own as usize] = match shape.pivots[j] {
                Pivot::Loss => Diagonal::Loss,
                Pivot::Weak => Diagonal::Weak,
            };
        } else if from != to {
            join(from, to);
            for end in [from, to].into_iter().filter(|e| *e != NO_PLACE) {
                diagonals[end as usize] = Diagonal::Node;
            }
        }
    }
    for &(row, column) in &shape.ties {
        join(place(row as usize), place(column as usize));
    }
    for list in &mut neighbours {
        list.sort_unstable();
        list.dedup();
    }
    let order = order(neighbours, &diagonals, MOST_WORK)?;
    let symmetry = if shape.ties.is_empty() {
        Symmetry::Symmetric
    } else {
        Symmetry::Unsymmetric
    };
    let flat = Flat::new(&order, symmetry);
    let slot = |a: u32, b: u32| {
        if a == NO_PLACE || b == NO_PLACE {
            NO_PLACE
        } else {
            flat.slot(a as usize, b as usize)
        }
    };
    let (mut edges, mut kept) = (Vec::new(), Vec::new());
    for (j, &[from, to]) in shape.ends.iter().enumerate() {
        let own = place(j);
        if own != NO_PLACE {
            let slots = KeptSlots {
                own: slot(own, own),
                row: [slot(own, from), slot(own, to)],
                column: [slot(from, own), slot(to, own)],
            };
            kept.push((j as u32, slots));
        } else if from != to {
            let slots = [
                slot(from, from),
                slot(to, to),
                slot(from, to),
                slot(to, from),
            ];
            edges.push((j as u32, slots));
        }
    }
    let ties = shape.ties.iter();
    let ties = ties
        .map(|&(row, column)| slot(place(row as usize), place(column as usize)))
        .collect();
    Some(Path::Flat {
        flat: Box::new(flat),
        edges,
        kept,
        ties,
        symmetry,
    })
}
