//! Which hoses get one size together, what each size of the list would do to them at the design's own flows, and a
//! design with sizes put in. Barbs keep their ratio to the hose; tees and header ports keep their bores.

use super::hose::HoseSet;
use crate::design::{Design, Stock, StockHose};
use crate::network::{Element, Loop, Network};
use crate::part::{Bank, Fitting, Hose, Part, Tail};
use crate::quantity::Length;
use crate::solve::Solution;

/// Wall of a hose that states none, m (common practice, no source).
const WALL_M: f64 = 4.0e-3;
/// Density of its wall, kg/m3: reinforced rubber, from memory.
const RUBBER_KG_M3: f64 = 1200.0;
/// Temperature at which coolant is weighed, K.
const WEIGHED_K: f64 = 293.15;
/// A hose that carries this share of the loop's largest flow is trunk.
const TRUNK_SHARE: f64 = 0.999;
/// A hose falls where its outlet lies this much below its inlet, in the direction of flow, m.
const FALLS_M: f64 = 0.02;

/// What a group of hoses is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum GroupKind {
    /// Hoses that carry all the flow of the loop.
    Trunk,
    /// Hoses of one run that carry a share of it.
    Feed,
    /// The tails of a bank.
    Tails,
}

/// Hoses that get one size together.
#[derive(Clone, Debug, PartialEq)]
pub struct Group {
    /// What it is called: `trunk`, `feed of rear`, `tails of mid`.
    pub name: String,
    /// What it is.
    pub kind: GroupKind,
    /// Its hoses, or the bank whose tails they are.
    pub parts: Vec<String>,
    /// Bore in the design (of its first hose), m.
    pub own_bore_m: f64,
    /// The sizes of the stock list that can be built, by rising mass.
    pub choices: Vec<HoseChoice>,
    /// Sizes that cannot be built, with the reason.
    pub refused: Vec<(String, String)>,
}

/// One size of one group, at the design's own flows.
#[derive(Clone, Debug, PartialEq)]
pub struct HoseChoice {
    /// Name in the stock list; empty for the design's own.
    pub name: String,
    /// Bore, m.
    pub bore_m: f64,
    /// Pressure that the group takes of the pump in the governing case, Pa: its power over the loop's flow.
    pub pressure_pa: f64,
    /// Highest velocity in any case, m/s.
    pub velocity_m_s: f64,
    /// Lowest velocity in a falling hose in any case, m/s; none where no hose falls.
    pub falling_m_s: Option<f64>,
    /// Coolant in the group, m3.
    pub volume_m3: f64,
    /// Mass of the hoses and their coolant, kg.
    pub mass_kg: f64,
}

/// The groups of a loop, in the order of its runs; conduits that are not round stay as they are.
pub(super) fn groups(design: &Design, owner: &str, solutions: &[Solution<'_>]) -> Vec<Group> {
    let Some(record) = design.loops.get(owner) else {
        return Vec::new();
    };
    let flow = |name: &str| {
        let all = solutions.iter().filter_map(|s| s.part(owner, name));
        all.map(|p| p.mass_flow_kg_s.abs()).fold(0.0, f64::max)
    };
    let bore_of = |name: &str| match record.parts.get(name) {
        Some(Part::Hose(hose)) => hose.bore,
        _ => None,
    };
    let largest = record.parts.keys().map(|n| flow(n)).fold(0.0, f64::max);
    let mut groups: Vec<Group> = Vec::new();
    let mut add = |name: String, kind: GroupKind, part: &str, bore: Length| match groups
        .iter_mut()
        .find(|g| g.name == name)
    {
        Some(group) => group.parts.push(part.to_owned()),
        None => groups.push(Group {
            name,
            kind,
            parts: vec![part.to_owned()],
            own_bore_m: bore.m(),
            choices: Vec::new(),
            refused: Vec::new(),
        }),
    };
    for (k, run) in record.runs.iter().enumerate() {
        let bank = run
            .iter()
            .find(|n| matches!(record.parts.get(*n), Some(Part::Bank(_))));
        for name in run {
            let Some(bore) = bore_of(name) else { continue };
            if flow(name) >= TRUNK_SHARE * largest {
                add("trunk".to_owned(), GroupKind::Trunk, name, bore);
            } else {
                let of = bank.map_or_else(|| format!("run {}", k + 1), Clone::clone);
                add(format!("feed of {of}"), GroupKind::Feed, name, bore);
            }
        }
    }
    for (name, part) in &record.parts {
        if let Part::Bank(bank) = part
            && let Some(tail) = bank.tail.as_ref().or(bank.supply_tail.as_ref())
        {
            add(
                format!("tails of {name}"),
                GroupKind::Tails,
                name,
                tail.bore,
            );
        }
    }
    groups
}

/// Whether an element of the network belongs to a group.
fn is_of(group: &Group, element: &Element) -> bool {
    let id = element.id.as_str();
    element.kind == "hose"
        && match group.kind {
            GroupKind::Tails => group.parts.iter().any(|bank| {
                id.strip_prefix(bank.as_str())
                    .is_some_and(|rest| rest.starts_with(".module ") && rest.ends_with(" tail"))
            }),
            GroupKind::Trunk | GroupKind::Feed => group.parts.iter().any(|p| p == id),
        }
}

/// The design as it stands, with the flows at which sizes are compared.
pub(super) struct Frame<'a> {
    design: &'a Design,
    owner: &'a str,
    solutions: &'a [Solution<'a>],
    /// Place of the loop in the network.
    circuit: usize,
    /// Place of the case in which the hoses take most.
    governing: usize,
}

impl<'a> Frame<'a> {
    pub(super) fn new(
        design: &'a Design,
        owner: &'a str,
        solutions: &'a [Solution<'a>],
        groups: &[Group],
    ) -> Self {
        let loops = solutions.first().map_or(&[][..], |s| s.network().loops());
        let circuit = loops.iter().position(|l| l.name == owner).unwrap_or(0);
        let mut frame = Self {
            design,
            owner,
            solutions,
            circuit,
            governing: 0,
        };
        let takes = |case: usize| -> f64 {
            groups
                .iter()
                .map(|g| frame.pressure_pa(case, g, &loops[circuit]))
                .sum()
        };
        let most = (0..solutions.len()).max_by(|a, b| takes(*a).total_cmp(&takes(*b)));
        frame.governing = most.unwrap_or(0);
        frame
    }

    pub(super) fn governing(&self) -> &str {
        self.solutions
            .get(self.governing)
            .map_or("", |s| &s.case().name)
    }

    /// The largest volume flow of the loop in a case, m3/s.
    fn loop_flow_m3_s(&self, case: usize) -> f64 {
        let parts = self.solutions[case].parts(self.owner);
        let flows = parts.iter().map(|p| p.volume_flow_m3_s.abs());
        flows.fold(f64::MIN_POSITIVE, f64::max)
    }

    /// Power lost in a group, laid out as `laid`, at the flows of a case, over the flow of the loop.
    fn pressure_pa(&self, case: usize, group: &Group, laid: &Loop) -> f64 {
        let Some(state) = self.solutions[case].loop_state(self.owner) else {
            return 0.0;
        };
        let branch_of = laid.net.branch_of_elements();
        let mut power_w = 0.0;
        for (e, element) in laid.net.elements.iter().enumerate() {
            if !is_of(group, element) {
                continue;
            }
            let flow = state.flow.flow_kg_s[branch_of[e]];
            let fluid = &state.fluid.elements[e];
            let laws = &laid.net.laws[element.laws.clone()];
            let drop: f64 = laws.iter().map(|l| l.drop(flow, fluid).drop_pa).sum();
            power_w += drop * flow / fluid.density_kg_m3;
        }
        power_w / self.loop_flow_m3_s(case)
    }

    /// The group as it would be when laid out as `laid`.
    fn choice(&self, group: &Group, laid: &Loop, name: &str, hose: &StockHose) -> HoseChoice {
        let branch_of = laid.net.branch_of_elements();
        let coolant = laid.coolant.properties_extended(WEIGHED_K);
        let wall = hose.wall.map_or(WALL_M, |w| w.m());
        let density = hose.density.map_or(RUBBER_KG_M3, |d| d.kg_m3());
        let mut choice = HoseChoice {
            name: name.to_owned(),
            bore_m: hose.bore.m(),
            pressure_pa: self.pressure_pa(self.governing, group, laid),
            velocity_m_s: 0.0,
            falling_m_s: None,
            volume_m3: 0.0,
            mass_kg: 0.0,
        };
        for (e, element) in laid.net.elements.iter().enumerate() {
            let Some(passage) = element.passage.filter(|_| is_of(group, element)) else {
                continue;
            };
            choice.volume_m3 += element.volume_m3.unwrap_or(0.0);
            let section = std::f64::consts::PI * (passage.diameter_m + wall) * wall;
            choice.mass_kg += section * element.length_m * density;
            for solution in self.solutions {
                let Some(state) = solution.loop_state(self.owner) else {
                    continue;
                };
                let flow = state.flow.flow_kg_s[branch_of[e]];
                let area = passage.area_m2 * passage.parallel;
                let speed = flow.abs() / (state.fluid.elements[e].density_kg_m3 * area);
                choice.velocity_m_s = choice.velocity_m_s.max(speed);
                if element.rise_m * flow.signum() < -FALLS_M {
                    choice.falling_m_s = Some(choice.falling_m_s.map_or(speed, |s| s.min(speed)));
                }
            }
        }
        choice.mass_kg += choice.volume_m3 * coolant.density_kg_m3;
        choice
    }

    /// The design's own sizes, with walls as a hose that states none.
    pub(super) fn own(&self, groups: &[Group]) -> HoseSet {
        let mut set = HoseSet {
            picks: Vec::new(),
            pressure_pa: 0.0,
            mass_kg: 0.0,
            volume_m3: 0.0,
        };
        let laid = self.solutions.first().map(|s| s.network().loops());
        for group in groups {
            let Some(laid) = laid.and_then(|l| l.get(self.circuit)) else {
                continue;
            };
            let hose = StockHose {
                bore: Length::from_m(group.own_bore_m),
                wall: None,
                density: None,
                origin: None,
            };
            let own = self.choice(group, laid, "", &hose);
            set.pressure_pa += own.pressure_pa;
            set.mass_kg += own.mass_kg;
            set.volume_m3 += own.volume_m3;
        }
        set
    }
}

/// Every size of the list for one group, by rising mass; what cannot be built goes to the group's refusals.
pub(super) fn choices(
    frame: &Frame<'_>,
    group: &Group,
    stock: &Stock,
) -> (Vec<HoseChoice>, Vec<(String, String)>) {
    let mut choices = Vec::new();
    let mut refused = Vec::new();
    for (name, hose) in &stock.hoses {
        let mut changed = frame.design.clone();
        set_bore(&mut changed, frame.owner, group, hose.bore);
        match Network::build(&changed) {
            Ok(network) => {
                let laid = &network.loops()[frame.circuit];
                choices.push(frame.choice(group, laid, name, hose));
            }
            Err(error) => {
                let text = error.to_string();
                refused.push((name.clone(), text.lines().next().unwrap_or("").to_owned()));
            }
        }
    }
    choices.sort_by(|a, b| a.mass_kg.total_cmp(&b.mass_kg));
    (choices, refused)
}

/// The design with one size for each group.
pub(super) fn with_choices(
    design: &Design,
    owner: &str,
    groups: &[Group],
    picks: &[usize],
    stock: &Stock,
) -> Design {
    let mut changed = design.clone();
    for (group, pick) in groups.iter().zip(picks) {
        let hose = group
            .choices
            .get(*pick)
            .and_then(|c| stock.hoses.get(&c.name));
        if let Some(hose) = hose {
            set_bore(&mut changed, owner, group, hose.bore);
        }
    }
    changed
}

fn set_bore(design: &mut Design, owner: &str, group: &Group, bore: Length) {
    let Some(record) = design.loops.get_mut(owner) else {
        return;
    };
    for name in &group.parts {
        match record.parts.get_mut(name) {
            Some(Part::Hose(hose)) => hose_bore(hose, bore),
            Some(Part::Bank(bank)) => tail_bores(bank, bore),
            _ => {}
        }
    }
}

fn hose_bore(hose: &mut Hose, bore: Length) {
    if let Some(own) = hose.bore {
        scale(&mut hose.fittings, bore.m() / own.m());
        hose.bore = Some(bore);
    }
}

fn tail_bores(bank: &mut Bank, bore: Length) {
    let own = [&mut bank.tail, &mut bank.supply_tail, &mut bank.return_tail];
    let of_exceptions = bank
        .exceptions
        .iter_mut()
        .flat_map(|e| [&mut e.supply_tail, &mut e.return_tail]);
    let tails = own.into_iter().chain(of_exceptions).flatten();
    tails.for_each(|tail| tail_bore(tail, bore));
}

fn tail_bore(tail: &mut Tail, bore: Length) {
    scale(&mut tail.fittings, bore.m() / tail.bore.m());
    tail.bore = bore;
}

/// Barbs keep their ratio to the hose they stand in.
fn scale(fittings: &mut [Fitting], ratio: f64) {
    for fitting in fittings {
        if let Fitting::Barb(barb) = fitting {
            barb.bore = Length::from_m(barb.bore.m() * ratio);
        }
    }
}
