//! Filling and bleeding by height: from the lowest part up, where air gathers, and which falling legs keep a bubble.

use crate::network::Loop;
use crate::solve::Solution;

/// Velocity downwards from which a bubble is carried along, m/s (common practice, no source).
pub const CARRIES_M_S: f64 = 0.6;
/// Heights closer than this are one, m.
const LEVEL_M: f64 = 1e-3;

/// A part by its height; a bank counts as one.
#[derive(Clone, Debug, PartialEq)]
pub struct PartHeight {
    /// The part, or the bank.
    pub id: String,
    /// Its lowest end, m above the datum.
    pub low_m: f64,
    /// Its highest end, m above the datum.
    pub high_m: f64,
}

/// A place where air gathers.
#[derive(Clone, Debug, PartialEq)]
pub struct HighPoint {
    /// Height, m above the datum.
    pub height_m: f64,
    /// Parts that lie there or end there.
    pub parts: Vec<String>,
    /// Whether the expansion tank or an open end is there, so that it vents by itself.
    pub vents: bool,
}

/// A leg in which coolant runs down.
#[derive(Clone, Debug, PartialEq)]
pub struct FallingLeg {
    /// The part.
    pub id: String,
    /// How far it falls, m.
    pub fall_m: f64,
    /// Slowest velocity of the solved cases, m/s.
    pub velocity_m_s: f64,
    /// Whether that carries a bubble down.
    pub carries: bool,
}

/// The sheet of one loop.
#[derive(Clone, Debug, PartialEq)]
pub struct FillSheet {
    /// The loop.
    pub owner: String,
    /// Whether any two heights differ; else nothing can be said.
    pub has_heights: bool,
    /// Parts from the lowest up.
    pub order: Vec<PartHeight>,
    /// High points from the lowest up: the order in which to bleed.
    pub high_points: Vec<HighPoint>,
    /// Falling legs.
    pub falling: Vec<FallingLeg>,
}

/// The sheet of a loop over the solved cases; none without a solution.
pub fn run(solutions: &[&Solution<'_>], name: &str) -> Option<FillSheet> {
    let state = solutions.first()?.loop_state(name)?;
    let circuit = &state.circuit;
    let profile = Profile::of(circuit);
    let (low, high) = profile
        .heights
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), z| {
            (l.min(*z), h.max(*z))
        });
    let has_heights = high - low > LEVEL_M;
    Some(FillSheet {
        owner: name.to_owned(),
        has_heights,
        order: order(circuit, &profile),
        high_points: if has_heights {
            high_points(circuit, &profile)
        } else {
            Vec::new()
        },
        falling: falling(circuit, &profile, solutions, name),
    })
}

/// Heights of all ends: nodes first, then the joints between neighbours of a branch.
struct Profile {
    heights: Vec<f64>,
    /// Of each element: its inlet and outlet among the heights.
    ends: Vec<(usize, usize)>,
    /// Connections without a part: steps between stated heights.
    steps: Vec<(usize, usize)>,
}

impl Profile {
    fn of(circuit: &Loop) -> Self {
        let net = &circuit.net;
        let mut heights: Vec<f64> = net.nodes.iter().map(|n| n.elevation_m).collect();
        let mut ends = vec![(0, 0); net.elements.len()];
        let mut steps = Vec::new();
        for branch in &net.branches {
            let mut at = branch.from;
            for e in branch.elements.clone() {
                let element = &net.elements[e];
                if element.lead_m != 0.0 {
                    heights.push(heights[at] + element.lead_m);
                    steps.push((at, heights.len() - 1));
                    at = heights.len() - 1;
                }
                heights.push(heights[at] + element.rise_m);
                ends[e] = (at, heights.len() - 1);
                at = heights.len() - 1;
            }
            steps.push((at, branch.to));
        }
        Self {
            heights,
            ends,
            steps,
        }
    }
}

/// The bank of a piece, or the part itself.
fn whole<'p>(circuit: &Loop, id: &'p str) -> &'p str {
    let bank = circuit.banks.iter().find(|b| {
        id.strip_prefix(b.name.as_str())
            .is_some_and(|r| r.starts_with('.'))
    });
    bank.map_or(id, |b| &id[..b.name.len()])
}

fn order(circuit: &Loop, profile: &Profile) -> Vec<PartHeight> {
    let mut list: Vec<PartHeight> = Vec::new();
    for (element, ends) in circuit.net.elements.iter().zip(&profile.ends) {
        let id = whole(circuit, element.id.as_str());
        let (a, b) = (profile.heights[ends.0], profile.heights[ends.1]);
        match list.iter_mut().find(|p| p.id == id) {
            Some(known) => {
                known.low_m = known.low_m.min(a).min(b);
                known.high_m = known.high_m.max(a).max(b);
            }
            None => list.push(PartHeight {
                id: id.to_owned(),
                low_m: a.min(b),
                high_m: a.max(b),
            }),
        }
    }
    list.sort_by(|a, b| {
        a.low_m
            .total_cmp(&b.low_m)
            .then(a.high_m.total_cmp(&b.high_m))
    });
    list
}

fn high_points(circuit: &Loop, profile: &Profile) -> Vec<HighPoint> {
    let mut sets = Sets::new(profile.heights.len());
    let joins = || profile.ends.iter().chain(&profile.steps).copied();
    let level = |a: usize, b: usize| (profile.heights[a] - profile.heights[b]).abs() < LEVEL_M;
    for (a, b) in joins().filter(|(a, b)| level(*a, *b)) {
        sets.join(a, b);
    }
    let count = profile.heights.len();
    let mut is_top = vec![true; count];
    for (a, b) in joins().filter(|(a, b)| !level(*a, *b)) {
        let lower = if profile.heights[a] < profile.heights[b] {
            a
        } else {
            b
        };
        is_top[sets.find(lower)] = false;
    }
    let vented: Vec<usize> = circuit
        .net
        .nodes
        .iter()
        .enumerate()
        .filter(|(_, n)| matches!(n.kind, crate::network::NodeKind::Fixed { .. }))
        .map(|(k, _)| sets.find(k))
        .collect();
    let mut points = Vec::new();
    for top in (0..count).filter(|k| is_top[*k]) {
        if sets.find(top) != top {
            continue;
        }
        let mut parts: Vec<String> = Vec::new();
        let mut add = |id: &str| {
            let id = whole(circuit, id).to_owned();
            if !parts.contains(&id) {
                parts.push(id);
            }
        };
        for (k, node) in circuit.net.nodes.iter().enumerate() {
            if sets.find(k) == top {
                add(node.id.as_str());
            }
        }
        for (element, ends) in circuit.net.elements.iter().zip(&profile.ends) {
            if sets.find(ends.0) == top || sets.find(ends.1) == top {
                add(element.id.as_str());
            }
        }
        points.push(HighPoint {
            height_m: profile.heights[top],
            parts,
            vents: vented.contains(&top),
        });
    }
    points.sort_by(|a, b| a.height_m.total_cmp(&b.height_m));
    points
}

fn falling(
    circuit: &Loop,
    profile: &Profile,
    solutions: &[&Solution<'_>],
    name: &str,
) -> Vec<FallingLeg> {
    let states: Vec<_> = solutions.iter().map(|s| s.parts(name)).collect();
    let mut list = Vec::new();
    for (e, ends) in profile.ends.iter().enumerate() {
        let rise = profile.heights[ends.1] - profile.heights[ends.0];
        let speeds = states.iter().filter_map(|s| s.get(e)?.velocity_m_s);
        let Some(velocity) = speeds.reduce(|a, b| if b.abs() < a.abs() { b } else { a }) else {
            continue;
        };
        if rise.abs() <= LEVEL_M || rise * velocity >= 0.0 {
            continue;
        }
        // A bank has many equal tails; they are told by what their header does.
        let id = circuit.net.elements[e].id.as_str();
        if id.contains(".module ") {
            continue;
        }
        list.push(FallingLeg {
            id: id.to_owned(),
            fall_m: rise.abs(),
            velocity_m_s: velocity.abs(),
            carries: velocity.abs() >= CARRIES_M_S,
        });
    }
    list
}

/// Sets that are joined two by two; the smallest member stands for its set.
struct Sets(Vec<usize>);

impl Sets {
    fn new(count: usize) -> Self {
        Self((0..count).collect())
    }

    fn find(&mut self, mut k: usize) -> usize {
        while self.0[k] != k {
            self.0[k] = self.0[self.0[k]];
            k = self.0[k];
        }
        k
    }

    fn join(&mut self, a: usize, b: usize) {
        let (a, b) = (self.find(a), self.find(b));
        self.0[a.max(b)] = a.min(b);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::design::Source;
    use crate::network::Network;
    use crate::solve::Solver;

    #[test]
    fn a_hump_is_bled_and_a_slow_fall_keeps_its_bubble() {
        let text = |bore: &str| {
            format!(
                r#"{{ "format": 1, "title": "hump", "coolants": {{ "water": {{ "water": {{}} }} }},
          "loops": {{ "l": {{ "coolant": "water", "parts": {{
            "tank": {{ "expansion_tank": {{ "elevation": "1 m" }} }},
            "pump": {{ "pump": {{ "curve": [["0 L/min", "40 kPa"], ["30 L/min", "0 kPa"]], "elevation": "0.2 m" }} }},
            "up": {{ "hose": {{ "bore": "16 mm", "length": "1 m", "inlet_elevation": "0.2 m", "outlet_elevation": "0.8 m" }} }},
            "down": {{ "hose": {{ "bore": "{bore}", "length": "1 m", "inlet_elevation": "0.8 m", "outlet_elevation": "0.3 m" }} }},
            "home": {{ "hose": {{ "bore": "16 mm", "length": "1 m", "inlet_elevation": "0.3 m", "outlet_elevation": "1 m" }} }} }},
            "runs": [["tank", "pump", "up", "down", "home", "tank"]] }} }},
          "cases": {{ "c": {{ "air": "20 degC", "coolant_temperature": "20 degC" }} }} }}"#
            )
        };
        for (bore, carries) in [("16 mm", true), ("40 mm", false)] {
            let design = Source::read(&text(bore)).expect("a design").design;
            let network = Network::build(&design).expect("a network");
            let solution = Solver::new(&network)
                .solve(&network.cases()[0])
                .expect("an answer");
            let sheet = run(&[&solution], "l").expect("a sheet");
            assert!(sheet.has_heights);
            let tops: Vec<(f64, bool)> = sheet
                .high_points
                .iter()
                .map(|p| (p.height_m, p.vents))
                .collect();
            assert_eq!(tops, [(0.8, false), (1.0, true)]);
            assert_eq!(sheet.high_points[0].parts, ["up", "down"]);
            let leg = sheet
                .falling
                .iter()
                .find(|l| l.id == "down")
                .expect("it falls");
            assert_eq!(leg.carries, carries, "{leg:?}");
            assert_eq!(sheet.order[0].id, "pump");
        }
    }
}
