//! The laws of many branches in arrays, one a kind: what the solver evaluates. It holds numbers already joined with
//! those of the fluid; a law is asked alone where it is neither a duct by Churchill nor a loss of two terms.

use super::law::{Law, TwoTerm};
use crate::correlation::{
    DuctBatch, DuctShape, DuctSums, EntranceFriction, FrictionModel, InstructionSet,
};
use crate::fluid::Properties;

/// Laws of branches, joined with the fluid.
#[derive(Clone, Debug)]
pub struct LawTable {
    long_ducts: DuctBatch,
    short_ducts: DuctBatch,
    two_terms: TwoTerms,
    alone: Vec<AloneLaw>,
    /// Whether ducts go into the batches: a processor without wide instructions is quicker one duct at a time.
    batched: bool,
}

/// Losses of two terms, joined with the fluid: `dp = (linear + square |m|) m`.
#[derive(Clone, Debug, Default)]
struct TwoTerms {
    place: Vec<u32>,
    linear: Vec<f64>,
    square: Vec<f64>,
    square_reverse: Vec<f64>,
}

/// A law that is asked alone: its branch, and where the caller keeps it and its fluid.
#[derive(Clone, Copy, Debug)]
struct AloneLaw {
    branch: u32,
    law: u32,
    fluid: u32,
    machine: bool,
}

/// Which laws are evaluated.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Among {
    /// All.
    All,
    /// All but pumps and fans.
    Losses,
}

/// Where laws that are asked alone are kept, by the numbers they were added with.
#[derive(Clone, Copy)]
pub struct LawStore<'a> {
    /// Laws.
    pub laws: &'a [Law],
    /// Fluids.
    pub fluids: &'a [Properties],
}

fn in_batch(shape: &DuctShape) -> bool {
    shape.model == FrictionModel::Churchill
}

impl Default for LawTable {
    fn default() -> Self {
        Self {
            long_ducts: DuctBatch::new(EntranceFriction::Off),
            short_ducts: DuctBatch::new(EntranceFriction::On),
            two_terms: TwoTerms::default(),
            alone: Vec::new(),
            batched: DuctBatch::pays(),
        }
    }
}

impl LawTable {
    /// Takes all laws out and keeps the room.
    pub fn clear(&mut self) {
        self.long_ducts.clear();
        self.short_ducts.clear();
        self.two_terms.place.clear();
        self.two_terms.linear.clear();
        self.two_terms.square.clear();
        self.two_terms.square_reverse.clear();
        self.alone.clear();
    }

    /// Adds a law of a branch; `numbers` are its place and that of its fluid in the store it will be asked from.
    pub fn push(&mut self, branch: u32, law: &Law, fluid: &Properties, numbers: (u32, u32)) {
        let (rho, mu) = (fluid.density_kg_m3, fluid.viscosity_pa_s);
        match law {
            Law::Duct(shape) if self.batched && in_batch(shape) => match shape.entrance {
                EntranceFriction::Off => self.long_ducts.push(branch, shape, rho, mu),
                EntranceFriction::On => self.short_ducts.push(branch, shape, rho, mu),
            },
            Law::TwoTerm(two) => self.two_terms.push(branch, two, rho, mu),
            Law::Duct(_)
            | Law::HazenWilliams(_)
            | Law::Machine(_)
            | Law::Dimpled(_)
            | Law::LouvredFins(_) => self.alone.push(AloneLaw {
                branch,
                law: numbers.0,
                fluid: numbers.1,
                machine: matches!(law, Law::Machine(_)),
            }),
        }
    }

    /// Whether a law goes into the arrays, so that its numbers in the store are never asked for.
    pub fn holds(law: &Law) -> bool {
        match law {
            Law::Duct(shape) => DuctBatch::pays() && in_batch(shape),
            Law::TwoTerm(_) => true,
            Law::HazenWilliams(_) | Law::Machine(_) | Law::Dimpled(_) | Law::LouvredFins(_) => {
                false
            }
        }
    }

    /// To be called after the last law.
    pub fn finish(&mut self) {
        self.long_ducts.finish();
        self.short_ducts.finish();
    }

    /// How many laws there are.
    pub fn len(&self) -> usize {
        let arrays = self.long_ducts.len() + self.short_ducts.len() + self.two_terms.place.len();
        arrays + self.alone.len()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// Writes the sums of drops and slopes of each branch at flows in units of `unit_kg_s`.
    pub fn write_drops(
        &self,
        among: Among,
        store: LawStore<'_>,
        flow: &[f64],
        unit_kg_s: f64,
        drop_pa: &mut [f64],
        slope_pa_s_kg: &mut [f64],
    ) {
        drop_pa.fill(0.0);
        slope_pa_s_kg.fill(0.0);
        for ducts in [&self.long_ducts, &self.short_ducts] {
            let sums = DuctSums {
                flow,
                unit_kg_s,
                drop_pa: &mut *drop_pa,
                slope_pa_s_kg: &mut *slope_pa_s_kg,
            };
            ducts.add_drops(InstructionSet::Best, sums);
        }
        let two = &self.two_terms;
        for (k, &place) in two.place.iter().enumerate() {
            let j = place as usize;
            let m = flow[j] * unit_kg_s;
            let b = if m < 0.0 {
                two.square_reverse[k]
            } else {
                two.square[k]
            };
            let square = b * m.abs();
            drop_pa[j] += (two.linear[k] + square) * m;
            slope_pa_s_kg[j] += two.linear[k] + 2.0 * square;
        }
        for alone in &self.alone {
            if among == Among::Losses && alone.machine {
                continue;
            }
            let j = alone.branch as usize;
            let fluid = &store.fluids[alone.fluid as usize];
            let drop = store.laws[alone.law as usize].drop(flow[j] * unit_kg_s, fluid);
            drop_pa[j] += drop.drop_pa;
            slope_pa_s_kg[j] += drop.slope_pa_s_kg;
        }
    }

    /// Every pump and fan: its branch, its law and its fluid.
    pub fn machines<'a>(
        &'a self,
        store: LawStore<'a>,
    ) -> impl Iterator<Item = (usize, &'a Law, &'a Properties)> {
        let machines = self.alone.iter().filter(|a| a.machine);
        machines.map(move |a| {
            (
                a.branch as usize,
                &store.laws[a.law as usize],
                &store.fluids[a.fluid as usize],
            )
        })
    }
}

impl TwoTerms {
    fn push(&mut self, branch: u32, two: &TwoTerm, density_kg_m3: f64, viscosity_pa_s: f64) {
        self.place.push(branch);
        self.linear.push(two.a * viscosity_pa_s / density_kg_m3);
        self.square.push(two.b / density_kg_m3);
        self.square_reverse.push(two.b_reverse / density_kg_m3);
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Curve, HazenWilliams, Machine};
    use super::*;
    use crate::fluid::Coolant;

    fn laws() -> Vec<Law> {
        let duct = |model, entrance| {
            Law::Duct(DuctShape {
                area_m2: 2e-4,
                hydraulic_diameter_m: 0.016,
                length_m: 0.4,
                roughness_m: 2e-6,
                laminar_constant: 64.0,
                parallel: 2.0,
                model,
                entrance,
            })
        };
        let points = [(0.0, 52e3), (2e-4, 44e3), (5e-4, 0.0)];
        vec![
            duct(FrictionModel::Churchill, EntranceFriction::Off),
            duct(FrictionModel::Churchill, EntranceFriction::On),
            duct(FrictionModel::Haaland, EntranceFriction::On),
            Law::TwoTerm(TwoTerm {
                a: 1e8,
                b: 2e9,
                b_reverse: 3e9,
            }),
            Law::HazenWilliams(HazenWilliams {
                length_m: 3.0,
                bore_m: 0.1,
                c: 130.0,
                parallel: 2.0,
            }),
            Law::Machine(Machine {
                curve: Curve::through(&points).unwrap_or_else(|e| panic!("{e:?}")),
                curve_density_kg_m3: 998.0,
                speed: 0.9,
                parallel: 1.0,
                stopped_loss: None,
            }),
        ]
    }

    #[test]
    fn sums_of_branches_are_those_of_their_laws_asked_alone() {
        let laws = laws();
        let fluids = [
            Coolant::water().properties_extended(293.15),
            Coolant::water().properties_extended(350.0),
        ];
        let store = LawStore {
            laws: &laws,
            fluids: &fluids,
        };
        // Two branches: all laws in one, every second one in the other with warmer water.
        let mut table = LawTable::default();
        for round in 0..2 {
            table.clear();
            table.batched = round > 0;
            for (k, law) in laws.iter().enumerate() {
                table.push(0, law, &fluids[0], (k as u32, 0));
                if k % 2 == 0 {
                    table.push(1, law, &fluids[1], (k as u32, 1));
                }
            }
            table.finish();
            assert_eq!(table.len(), 9, "{round}");
            agrees(&table, &laws, &fluids);
        }
        assert_eq!(table.machines(store).count(), 1);
    }

    fn agrees(table: &LawTable, laws: &[Law], fluids: &[Properties]) {
        let store = LawStore { laws, fluids };
        for flow in [-0.4, -0.01, 0.0, 0.003, 0.25] {
            for among in [Among::All, Among::Losses] {
                let (mut drop_pa, mut slope) = ([7.0; 2], [7.0; 2]);
                let unit = 0.5;
                table.write_drops(among, store, &[flow, -flow], unit, &mut drop_pa, &mut slope);
                for (j, sign) in [1.0, -1.0].into_iter().enumerate() {
                    let mut wanted = super::super::Drop::default();
                    for (k, law) in laws.iter().enumerate() {
                        let left_out = among == Among::Losses && matches!(law, Law::Machine(_));
                        if !left_out && (j == 0 || k % 2 == 0) {
                            wanted += law.drop(sign * flow * unit, &fluids[j]);
                        }
                    }
                    let size = wanted.drop_pa.abs().max(1.0);
                    assert!((drop_pa[j] - wanted.drop_pa).abs() < 1e-11 * size);
                    let size = wanted.slope_pa_s_kg.abs();
                    assert!((slope[j] - wanted.slope_pa_s_kg).abs() < 1e-11 * size);
                }
            }
        }
    }
}
