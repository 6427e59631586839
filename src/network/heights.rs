//! Heights: the points that the design states, and by length along the runs all others, so that every loop closes.

use super::flow::FlowNet;
use std::collections::HashMap;

/// A part without length counts as this long when heights are shared out, m.
const SHORT_PART_M: f64 = 1.0e-3;

/// What a design states of heights: at nodes, and before and after elements.
#[derive(Clone, Debug, Default)]
pub struct KnownHeights {
    /// Node and its height, m.
    pub nodes: Vec<(usize, f64)>,
    /// Element and the height of its inlet, m.
    pub inlets: Vec<(usize, f64)>,
    /// Element and the height of its outlet, m.
    pub outlets: Vec<(usize, f64)>,
}

impl KnownHeights {
    /// Whether the design states no height at all.
    pub fn is_empty(&self) -> bool {
        self.nodes.is_empty() && self.inlets.is_empty() && self.outlets.is_empty()
    }
}

/// Fills in the height of every node, the rise of every element, and the steps between stated heights at a joint.
///
/// Unknown heights are those for which the squared slopes, weighted by length, are least: along a run without branches
/// that is the straight line by length between two stated points. Where a joint has two stated heights, such as a pump
/// straight under a tank, the step between them stands before the part that follows.
pub fn share_out(net: &mut FlowNet, known: &KnownHeights) {
    let mut points = Points {
        height: vec![None; net.nodes.len()],
        edges: Vec::new(),
    };
    for (node, z) in &known.nodes {
        points.height[*node].get_or_insert(*z);
    }
    let inlets = by_element(&known.inlets);
    let outlets = by_element(&known.outlets);
    let mut ends = vec![(0, 0); net.elements.len()];
    let mut joints = Vec::new();
    for (j, branch) in net.branches.iter().enumerate() {
        let mut before = branch.from;
        for e in branch.elements.clone() {
            let inlet = points.settle(before, inlets.get(&e).copied());
            joints.push((Some(e), j, before, inlet));
            let out = outlets.get(&e).copied();
            let outlet = if e + 1 == branch.elements.end {
                points.settle(branch.to, out)
            } else {
                points.height.push(out);
                points.height.len() - 1
            };
            points.edges.push((
                inlet,
                outlet,
                1.0 / net.elements[e].length_m.max(SHORT_PART_M),
            ));
            ends[e] = (inlet, outlet);
            before = outlet;
        }
        if branch.elements.is_empty() {
            points
                .edges
                .push((branch.from, branch.to, 1.0 / SHORT_PART_M));
        }
        joints.push((None, j, before, branch.to));
    }
    let heights = interpolate(&points.height, &points.edges);
    for (node, z) in net.nodes.iter_mut().zip(&heights) {
        node.elevation_m = *z;
    }
    for (element, &(a, b)) in net.elements.iter_mut().zip(&ends) {
        element.rise_m = heights[b] - heights[a];
    }
    for (element, branch, a, b) in joints {
        let step = heights[b] - heights[a];
        match element {
            Some(e) => net.elements[e].lead_m = step,
            None => net.branches[branch].trail_m = step,
        }
    }
}

/// The first height stated of each element.
fn by_element(list: &[(usize, f64)]) -> HashMap<usize, f64> {
    list.iter().rev().copied().collect()
}

struct Points {
    height: Vec<Option<f64>>,
    edges: Vec<(usize, usize, f64)>,
}

impl Points {
    /// The point where a part with this stated height meets `point`: the same point, unless both are stated and differ.
    fn settle(&mut self, point: usize, stated: Option<f64>) -> usize {
        match (stated, self.height[point]) {
            (Some(z), Some(other)) if z != other => {
                self.height.push(Some(z));
                self.height.len() - 1
            }
            (Some(z), _) => {
                self.height[point] = Some(z);
                point
            }
            (None, _) => point,
        }
    }
}

/// Conjugate gradients on the weighted graph Laplacian with the fixed points eliminated; points that no stated height
/// reaches are level at 0.
fn interpolate(fixed: &[Option<f64>], edges: &[(usize, usize, f64)]) -> Vec<f64> {
    let n = fixed.len();
    let mut reach = petgraph::unionfind::UnionFind::<usize>::new(n);
    for &(a, b, _) in edges {
        reach.union(a, b);
    }
    let mut has_height = vec![false; n];
    for point in (0..n).filter(|&p| fixed[p].is_some()) {
        has_height[reach.find(point)] = true;
    }
    let free: Vec<bool> = (0..n)
        .map(|p| fixed[p].is_none() && has_height[reach.find(p)])
        .collect();
    let mut x: Vec<f64> = fixed.iter().map(|f| f.unwrap_or(0.0)).collect();
    let mut diagonal = vec![0.0; n];
    for &(a, b, w) in edges {
        diagonal[a] += w;
        diagonal[b] += w;
    }
    let residual_of = |x: &[f64]| {
        let mut r = vec![0.0; n];
        for &(a, b, w) in edges {
            let pull = w * (x[b] - x[a]);
            r[a] += pull;
            r[b] -= pull;
        }
        for (ri, free) in r.iter_mut().zip(&free) {
            if !free {
                *ri = 0.0;
            }
        }
        r
    };
    let mut r = residual_of(&x);
    let precondition = |r: &[f64]| -> Vec<f64> {
        r.iter()
            .zip(&diagonal)
            .map(|(r, d)| if *d > 0.0 { r / d } else { 0.0 })
            .collect()
    };
    let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
    let mut z = precondition(&r);
    let mut p = z.clone();
    let mut rz = dot(&r, &z);
    let start = rz;
    for _ in 0..4 * n + 10 {
        if rz <= 1e-26 * start || rz == 0.0 {
            break;
        }
        // A p, restricted to the free points: minus the residual of p.
        let ap: Vec<f64> = residual_of(&p).iter().map(|v| -v).collect();
        let curvature = dot(&p, &ap);
        if curvature <= 0.0 {
            break;
        }
        let step = rz / curvature;
        for k in 0..n {
            x[k] += step * p[k];
            r[k] -= step * ap[k];
        }
        z = precondition(&r);
        let next = dot(&r, &z);
        let beta = next / rz;
        rz = next;
        for k in 0..n {
            p[k] = z[k] + beta * p[k];
        }
    }
    x
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn heights_along_a_run_are_shared_out_by_length() {
        // 0 --1 m-- 1 --3 m-- 2, ends at 0 and 2 m; a loose point stays at 0.
        let fixed = [Some(0.0), None, Some(2.0), None];
        let heights = interpolate(&fixed, &[(0, 1, 1.0), (1, 2, 1.0 / 3.0)]);
        assert!((heights[1] - 0.5).abs() < 1e-12);
        assert_eq!(heights[3], 0.0);
    }

    #[test]
    fn a_loop_closes_whatever_is_stated() {
        let fixed = [Some(0.9), None, None, None, Some(0.1)];
        let edges = [
            (0, 1, 2.0),
            (1, 2, 0.3),
            (2, 3, 0.7),
            (3, 0, 1.0),
            (2, 4, 0.2),
        ];
        let z = interpolate(&fixed, &edges);
        // At every free point the weighted slopes balance.
        let balance = 2.0 * (z[0] - z[1]) + 0.3 * (z[2] - z[1]);
        assert!(balance.abs() < 1e-12);
    }
}
