//! Which radiators stand behind which, and which cores lie behind one another in the face.
//! Names and geometry; the air path that follows from them is built in `air_path.rs`.

use crate::network::error::{NetworkError, Rule};
use crate::network::names::nearest_help;
use crate::part::{FaceBounds, Radiator, SAME_EDGE_M};
use crate::place::Place;
use indexmap::IndexMap;

/// Radiators one behind another, the front one first; a radiator that stands alone is a stack of one.
pub(super) type Stack = Vec<usize>;

/// What a stream of air meets of one radiator.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Layer {
    /// A core.
    Core(usize),
    /// Fins of the face that belong to no core: the air passes, no coolant does.
    Lost,
    /// The stream goes past this face.
    Beside,
}

/// A share of the faces in which every radiator of a stack shows one thing.
pub(super) struct Cell {
    /// One layer a radiator, in the order of the stack.
    pub layers: Vec<Layer>,
    /// Area, m2.
    pub face_m2: f64,
}

/// The stacks, in the order of their front radiators in the document.
pub(super) fn stacks(
    radiators: &IndexMap<String, Radiator>,
    errors: &mut Vec<NetworkError>,
) -> Vec<Stack> {
    let place = |name: &str, key: &str| Place::root().key("radiators").key(name).key(key);
    let before = errors.len();
    let mut follower: Vec<Option<usize>> = vec![None; radiators.len()];
    for (r, (name, radiator)) in radiators.iter().enumerate() {
        let mut refuse = |key: &str, rule: Rule, message: String, help: String| {
            errors.push(NetworkError::new(rule, &place(name, key), message, help));
        };
        let Some(front) = &radiator.behind else {
            if radiator.offset.is_some() {
                refuse(
                    "offset",
                    Rule::BadCut,
                    format!("`{name}` stands behind no radiator, so its face has no offset"),
                    "try naming the radiator before it as `behind`, or leaving `offset` out".into(),
                );
            }
            continue;
        };
        let help = "try the name of the radiator straight before it".to_owned();
        match radiators.get_index_of(front) {
            None => refuse(
                "behind",
                Rule::UnknownName,
                format!("there is no radiator `{front}`"),
                nearest_help(front, radiators.keys()),
            ),
            Some(f) if f == r => refuse(
                "behind",
                Rule::BadCut,
                format!("`{name}` cannot stand behind itself"),
                help,
            ),
            Some(f) => match follower[f] {
                Some(other) => refuse(
                    "behind",
                    Rule::BadCut,
                    format!(
                        "both `{}` and `{name}` stand straight behind `{front}`; each radiator has room for one",
                        radiators.keys()[other]
                    ),
                    "try one radiator behind the other, or one radiator with two cores cut by `face`".into(),
                ),
                None => follower[f] = Some(r),
            },
        }
    }
    if errors.len() > before {
        return Vec::new();
    }
    let mut met = vec![false; radiators.len()];
    let mut stacks = Vec::new();
    for (r, radiator) in radiators.values().enumerate() {
        if radiator.behind.is_none() {
            let mut stack = vec![r];
            let mut last = r;
            while let Some(next) = follower[last] {
                stack.push(next);
                last = next;
            }
            stack.iter().for_each(|r| met[*r] = true);
            stacks.push(stack);
        }
    }
    // What no front radiator leads to stands in a ring.
    if let Some(r) = met.iter().position(|m| !m) {
        let mut ring = Vec::new();
        let mut at = r;
        while !ring.contains(&at) {
            ring.push(at);
            at = follower[at].unwrap_or(at);
        }
        let names: Vec<String> = (ring.iter())
            .map(|r| format!("`{}`", radiators.keys()[*r]))
            .collect();
        errors.push(NetworkError::new(
            Rule::BadCut,
            &place(&radiators.keys()[r], "behind"),
            format!(
                "the radiators {} stand behind one another in a ring",
                names.join(", ")
            ),
            "try leaving out `behind` of the one in front",
        ));
    }
    stacks
}

/// The faces of a stack as cells.
pub(super) fn cells(stack: &[&Radiator]) -> Vec<Cell> {
    if let [alone] = stack {
        return (alone.cores.values().enumerate())
            .map(|(k, core)| Cell {
                layers: vec![Layer::Core(k)],
                face_m2: alone.core_face_m2(core),
            })
            .collect();
    }
    let faces = placed(stack);
    let cores: Vec<Vec<FaceBounds>> = (stack.iter().zip(&faces))
        .map(|(radiator, face)| {
            let cores = radiator.core_bounds().into_iter();
            cores.map(|c| c.moved(face.left_m, face.bottom_m)).collect()
        })
        .collect();
    let all = || faces.iter().chain(cores.iter().flatten());
    let columns = edges(all().flat_map(|b| [b.left_m, b.right_m]));
    let rows = edges(all().flat_map(|b| [b.bottom_m, b.top_m]));
    let mut cells: Vec<Cell> = Vec::new();
    for x in columns.windows(2) {
        for y in rows.windows(2) {
            let (mid_x, mid_y) = (0.5 * (x[0] + x[1]), 0.5 * (y[0] + y[1]));
            let layers: Vec<Layer> = (faces.iter().zip(&cores))
                .map(
                    |(face, cores)| match cores.iter().position(|c| c.holds(mid_x, mid_y)) {
                        Some(k) => Layer::Core(k),
                        None if face.holds(mid_x, mid_y) => Layer::Lost,
                        None => Layer::Beside,
                    },
                )
                .collect();
            if !layers.iter().any(|l| matches!(l, Layer::Core(_))) {
                continue;
            }
            let face_m2 = (x[1] - x[0]) * (y[1] - y[0]);
            match cells.iter_mut().find(|c| c.layers == layers) {
                Some(cell) => cell.face_m2 += face_m2,
                None => cells.push(Cell { layers, face_m2 }),
            }
        }
    }
    cells
}

/// The faces of a stack in one frame, the lower left corner of the front one at nothing.
pub(super) fn placed(stack: &[&Radiator]) -> Vec<FaceBounds> {
    let mut faces: Vec<FaceBounds> = Vec::new();
    for radiator in stack {
        let own = radiator.face_bounds();
        let (right_m, up_m) = match (faces.last(), radiator.offset) {
            (None, _) => (0.0, 0.0),
            (Some(front), Some(offset)) => (
                front.left_m + offset.from_left.m(),
                front.bottom_m + offset.from_bottom.m(),
            ),
            (Some(front), None) => (
                0.5 * (front.left_m + front.right_m - own.right_m),
                0.5 * (front.bottom_m + front.top_m - own.top_m),
            ),
        };
        faces.push(own.moved(right_m, up_m));
    }
    faces
}

/// Edges in rising order, those closer than round-off as one.
fn edges(all: impl Iterator<Item = f64>) -> Vec<f64> {
    let mut edges: Vec<f64> = all.collect();
    edges.sort_by(f64::total_cmp);
    edges.dedup_by(|b, a| *b - *a < SAME_EDGE_M);
    edges
}
