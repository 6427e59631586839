//! The stream of a branch at the answer, and the steps of its flow.

use super::super::thermal::forward_part;
use super::vehicle::Vehicle;

/// Step of a flow, over itself: curvature costs 1e-10, round-off 1e-11.
const STEP_FLOW: f64 = 1.0e-5;
/// Least flow by which that step is measured, over the largest of the loop: below, a branch counts as at rest.
const LEAST_FLOW: f64 = 1.0e-3;

/// A branch at the answer.
#[derive(Clone, Copy)]
pub struct Course {
    pub l: usize,
    pub j: usize,
    /// 1 with the branch, -1 against it.
    pub sign: f64,
    /// Size of the flow, kg/s.
    pub flow_kg_s: f64,
    /// Its stream, kg/s, and the slope of that over the size of the flow.
    pub main_kg_s: f64,
    pub main_slope: f64,
    /// The size of the flow a step down and a step up, kg/s.
    pub beside_kg_s: [f64; 2],
}

impl Course {
    /// The slope over the flow of what depends on its size.
    pub fn over_flow(&self, of: impl Fn(f64) -> f64) -> f64 {
        let [low, high] = self.beside_kg_s;
        self.sign * (of(high) - of(low)) / (high - low)
    }
}

impl Vehicle<'_> {
    /// The course of a branch.
    pub fn course(&self, l: usize, j: usize) -> Course {
        let flow = self.flow_kg_s(l, j);
        let size = flow.abs();
        let width = self.scales.width_kg_s[l];
        let step = STEP_FLOW * size.max(LEAST_FLOW * self.scales.loops[l].0);
        let main_kg_s = forward_part(size, width);
        Course {
            l,
            j,
            sign: if flow >= 0.0 { 1.0 } else { -1.0 },
            flow_kg_s: size,
            main_kg_s,
            main_slope: main_kg_s / size.hypot(width),
            beside_kg_s: [(size - step).max(0.0), size + step],
        }
    }

    /// Nodes where the stream of a branch begins and ends.
    pub fn up_and_down(&self, course: &Course) -> (usize, usize) {
        let branch = &self.circuits[course.l].net.branches[course.j];
        if course.sign > 0.0 {
            (branch.from, branch.to)
        } else {
            (branch.to, branch.from)
        }
    }

    /// The elements of a branch in the order of its stream.
    pub fn along(&self, course: &Course) -> impl Iterator<Item = usize> + use<> {
        let range = self.circuits[course.l].net.branches[course.j]
            .elements
            .clone();
        let forwards = course.sign > 0.0;
        let ends = range.start + range.end;
        range.map(move |e| if forwards { e } else { ends - 1 - e })
    }
}
