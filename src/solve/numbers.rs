//! The numbers of one solve: laws and columns joined with the state of the fluid, and room for what is computed from
//! them. Kept between solves, so that a further solve allocates nothing here.

use super::hydraulic::{FluidState, GRAVITY_M_S2};
use super::layout::Layout;
use crate::correlation::tees::{TeeModel, TeeShape, TeeState, tee_eased};
use crate::network::{FlowNet, NodeKind, Passage};
use crate::part::{Among, LawStore, LawTable};
use crate::quantity::AbsolutePressure;

/// Flow for which a branch without a passage is linearised at the start, kg/s (our choice; any will do).
pub const START_FLOW_KG_S: f64 = 0.02;
/// Velocity of liquid at which branches are linearised at the start, m/s: from there Newton needs fewest steps.
const START_LIQUID_M_S: f64 = 0.4;
/// The same for air, m/s.
const START_AIR_M_S: f64 = 3.0;
/// Density below which a fluid counts as air, kg/m3.
const AIR_BELOW_KG_M3: f64 = 50.0;

/// Velocity at which a passage of a fluid is linearised at the start, m/s.
pub fn start_velocity_m_s(density_kg_m3: f64) -> f64 {
    if density_kg_m3 < AIR_BELOW_KG_M3 {
        START_AIR_M_S
    } else {
        START_LIQUID_M_S
    }
}

/// The numbers of a network at one state of its fluid.
#[derive(Default)]
pub struct Numbers {
    /// Laws of all branches.
    pub table: LawTable,
    /// Branches that let through less than everything.
    pub special: Vec<(u32, Passage)>,
    /// Weight of the column along each branch, Pa.
    pub weight_pa: Vec<f64>,
    /// Absolute pressure of each node that has a stated one, Pa; 0 at the others.
    pub fixed_pa: Vec<f64>,
    /// What enters at each node, kg/s.
    pub inflow_kg_s: Vec<f64>,
    /// Flow through which each branch is linearised at the start, kg/s.
    pub start_kg_s: Vec<f64>,
    /// Tees in the order of the layout.
    pub tees: Vec<(TeeModel, TeeShape, f64)>,
    /// Pressure from which the solver counts, Pa.
    pub reference_pa: f64,
    /// How often all laws were evaluated, ever.
    pub law_passes: usize,
    /// What the laws and tees gave last.
    pub seen: Seen,
    /// Total pressure of each node above the reference, Pa.
    pub level_pa: Vec<f64>,
    /// Least width of the blends of tees, as a share of their largest flow.
    pub least_band: f64,
    /// Share of the tees' excess pressures that is left out, while flows are led from branches alone to tees.
    pub tees_left_out: f64,
    /// Factor of the tees in the row of each branch; empty without tees.
    pub row_factor: Vec<f64>,
}

/// Laws and tees at the flows where they were last evaluated.
#[derive(Default)]
pub struct Seen {
    flow: Vec<f64>,
    unit_kg_s: f64,
    known: bool,
    /// Drop of each branch, without gravity and tees, Pa.
    pub drop_pa: Vec<f64>,
    /// Slope of each branch, Pa s/kg.
    pub slope_pa_s_kg: Vec<f64>,
    /// Excess pressure of the tee legs of each branch, Pa; empty without tees.
    pub excess_pa: Vec<f64>,
    /// State of each tee.
    pub tees: Vec<TeeState>,
}

impl Numbers {
    /// Joins a network with a state of its fluid; `ambient_pa` turns gauge pressures into absolute ones.
    pub fn join(&mut self, net: &FlowNet, layout: &Layout, fluid: &FluidState, ambient_pa: f64) {
        self.table.clear();
        self.special.clear();
        self.start_kg_s.clear();
        self.weight_pa.clear();
        for (j, b) in net.branches.iter().enumerate() {
            let (mut weight_pa, mut start_kg_s) = (0.0, f64::INFINITY);
            for e in b.elements.clone() {
                let (element, properties) = (&net.elements[e], &fluid.elements[e]);
                let rho = properties.density_kg_m3;
                for law in element.laws.clone() {
                    let numbers = (law as u32, e as u32);
                    self.table
                        .push(j as u32, &net.laws[law], properties, numbers);
                }
                weight_pa += rho * GRAVITY_M_S2 * (element.lead_m + element.rise_m);
                if let Some(passage) = element.passage {
                    let start = rho * start_velocity_m_s(rho) * passage.area_m2 * passage.parallel;
                    start_kg_s = start_kg_s.min(start);
                }
            }
            weight_pa += fluid.node_density_kg_m3[b.to] * GRAVITY_M_S2 * b.trail_m;
            self.weight_pa.push(weight_pa);
            self.start_kg_s.push(if start_kg_s.is_finite() {
                start_kg_s
            } else {
                START_FLOW_KG_S
            });
            if b.passage != Passage::Open {
                self.special.push((j as u32, b.passage));
            }
        }
        self.table.finish();
        self.fixed_pa.clear();
        self.inflow_kg_s.clear();
        self.reference_pa = ambient_pa;
        let mut first = true;
        for (n, rho) in net.nodes.iter().zip(&fluid.node_density_kg_m3) {
            let (mut fixed_pa, mut inflow_kg_s) = (0.0, 0.0);
            match n.kind {
                NodeKind::Fixed { pressure } => {
                    let ambient = AbsolutePressure::from_pa(ambient_pa);
                    fixed_pa = pressure.to_absolute(ambient).pa();
                    if first {
                        (self.reference_pa, first) = (fixed_pa, false);
                    }
                }
                NodeKind::Draw { inflow_m3_s } => inflow_kg_s = inflow_m3_s * rho,
                NodeKind::Meeting | NodeKind::Tee(_) => {}
            }
            self.fixed_pa.push(fixed_pa);
            self.inflow_kg_s.push(inflow_kg_s);
        }
        self.tees.clear();
        for slots in &layout.tees {
            if let NodeKind::Tee(tee) = &net.nodes[slots.node].kind {
                let density = fluid.node_density_kg_m3[slots.node];
                self.tees.push((tee.model, tee.shape, density));
            }
        }
        self.make_room(layout);
    }

    /// Sizes what is computed; nothing is known afterwards.
    pub fn make_room(&mut self, layout: &Layout) {
        let branches = layout.ends.len();
        let seen = &mut self.seen;
        seen.known = false;
        for list in [&mut seen.flow, &mut seen.drop_pa, &mut seen.slope_pa_s_kg] {
            list.resize(branches, 0.0);
        }
        let tied = if layout.tees.is_empty() { 0 } else { branches };
        seen.excess_pa.resize(tied, 0.0);
        self.row_factor.clear();
        self.row_factor.resize(tied, 1.0);
        seen.tees.resize(layout.tees.len(), TeeState::AT_REST);
        self.level_pa.resize(layout.places.len(), 0.0);
    }

    /// Forgets what was evaluated, so that a solve depends on nothing before it.
    pub fn forget(&mut self) {
        self.seen.known = false;
    }

    /// Adds `sign` times what the machines give at the flows that are known, if any are: the next solve from there then
    /// need not ask the other laws again.
    pub fn count_machines(&mut self, store: LawStore<'_>, sign: f64) {
        let seen = &mut self.seen;
        if !seen.known {
            return;
        }
        for (j, law, fluid) in self.table.machines(store) {
            let drop = law.drop(seen.flow[j] * seen.unit_kg_s, fluid);
            seen.drop_pa[j] += sign * drop.drop_pa;
            seen.slope_pa_s_kg[j] += sign * drop.slope_pa_s_kg;
        }
    }

    /// Evaluates laws and tees at flows in units of `unit_kg_s`, unless that is what is known already.
    pub fn look(&mut self, layout: &Layout, store: LawStore<'_>, flow: &[f64], unit_kg_s: f64) {
        let seen = &mut self.seen;
        if seen.known && seen.unit_kg_s == unit_kg_s && seen.flow == flow {
            return;
        }
        seen.known = true;
        seen.unit_kg_s = unit_kg_s;
        seen.flow.copy_from_slice(flow);
        self.law_passes += 1;
        let (drop_pa, slope) = (&mut seen.drop_pa, &mut seen.slope_pa_s_kg);
        self.table
            .write_drops(Among::All, store, flow, unit_kg_s, drop_pa, slope);
        seen.excess_pa.fill(0.0);
        let tees = layout.tees.iter().zip(&self.tees).zip(&mut seen.tees);
        for ((slots, &(model, shape, density)), state) in tees {
            let flows = slots.legs.each_ref().map(|leg| {
                leg.as_ref()
                    .map_or(0.0, |leg| leg.sign * flow[leg.branch] * unit_kg_s)
            });
            *state = tee_eased(model, &shape, density, flows, self.least_band);
            if self.tees_left_out != 0.0 {
                let share = 1.0 - self.tees_left_out;
                let slopes = state.slope.iter_mut().flatten();
                slopes.chain(&mut state.excess_pa).for_each(|v| *v *= share);
            }
            for (leg, excess_pa) in slots.legs.iter().zip(state.excess_pa) {
                if let Some(leg) = leg {
                    seen.excess_pa[leg.branch] -= leg.sign * excess_pa;
                }
            }
        }
    }

    /// Writes drops and slopes of all losses at the flows of the start into the room of what is known, which is lost.
    pub fn look_at_start(&mut self, store: LawStore<'_>, speed: f64) {
        let seen = &mut self.seen;
        seen.known = false;
        self.law_passes += 1;
        let (drop_pa, slope) = (&mut seen.drop_pa, &mut seen.slope_pa_s_kg);
        self.table.write_drops(
            Among::Losses,
            store,
            &self.start_kg_s,
            speed,
            drop_pa,
            slope,
        );
    }
}
