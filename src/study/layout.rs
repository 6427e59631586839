//! Which end to draw a header off: every bank with the same end, the opposite end and the centre, cold and warm, side
//! by side, and the temperature at which the winner changes.

use crate::design::Design;
use crate::network::{BuildError, Case, Network};
use crate::part::{Layout, Part};
use crate::solve::{SolveError, Solver};
use std::collections::HashMap;

/// Temperatures tried between cold and warm when looking for a change of winner.
const SCAN: usize = 24;
/// A change of winner is found to this, K.
const FOUND_K: f64 = 0.05;
/// Coldest and warmest coolant unless the caller says otherwise, K.
const COLD_K: f64 = 253.15;
/// Warm coolant of a battery loop, K.
const WARM_K: f64 = 323.15;
/// Distance kept from the freezing point, K.
const ABOVE_FREEZING_K: f64 = 3.0;

/// The layouts compared.
pub const LAYOUTS: [Layout; 3] = [Layout::SameEnd, Layout::OppositeEnd, Layout::Centre];

/// The name of a layout in the design file.
pub fn layout_name(layout: Layout) -> &'static str {
    match layout {
        Layout::SameEnd => "same_end",
        Layout::OppositeEnd => "opposite_end",
        Layout::Centre => "centre",
    }
}

/// What to compare at.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct LayoutQuestion {
    /// Cold coolant, K (default -20 degC, or 3 K above freezing).
    pub cold_k: Option<f64>,
    /// Warm coolant, K (default 50 degC).
    pub warm_k: Option<f64>,
}

/// One layout of one bank.
#[derive(Clone, Debug, PartialEq)]
pub struct LayoutRow {
    /// The layout.
    pub layout: Layout,
    /// Whether the design has it now.
    pub present: bool,
    /// Largest of `|flow/mean - 1|`, cold; none where it could not be solved.
    pub cold_deviation: Option<f64>,
    /// The same, warm.
    pub warm_deviation: Option<f64>,
    /// Loss of the bank, warm, Pa.
    pub warm_drop_pa: Option<f64>,
    /// Hottest less coldest module in the case with heat, K.
    pub spread_k: Option<f64>,
}

/// The comparison for one bank.
#[derive(Clone, Debug, PartialEq)]
pub struct BankLayouts {
    /// Its loop.
    pub owner: String,
    /// The bank.
    pub bank: String,
    /// Cold and warm coolant, K.
    pub range_k: (f64, f64),
    /// One row a layout.
    pub rows: Vec<LayoutRow>,
    /// Coolant temperatures at which another layout becomes the most even: temperature in K, the one below, the one
    /// above.
    pub changes: Vec<(f64, Layout, Layout)>,
    /// The same between same end and opposite end alone, for a header that cannot be fed in the middle.
    pub end_changes: Vec<(f64, Layout, Layout)>,
    /// Why flows of a layout were not found at some temperature, where they were not.
    pub unsolved: Option<SolveError>,
    /// Why the case with its heat has no steady answer in a layout, where it has none.
    pub unsteady: Option<SolveError>,
    /// Whether the case has a duration: temperatures are those of the same duty without end.
    pub endless: bool,
}

impl BankLayouts {
    /// The most even layout over both temperatures: the smallest of the larger deviations.
    pub fn best(&self) -> Option<Layout> {
        let worst = |r: &LayoutRow| {
            r.cold_deviation
                .zip(r.warm_deviation)
                .map(|(c, w)| c.max(w))
        };
        self.rows
            .iter()
            .filter_map(|r| worst(r).map(|w| (r.layout, w)))
            .min_by(|a, b| a.1.total_cmp(&b.1))
            .map(|(layout, _)| layout)
    }
}

/// Compares the layouts of every bank, in the named case (default the first).
///
/// # Errors
/// [`BuildError`] where the design makes no network.
pub fn run(
    design: &Design,
    case: Option<&str>,
    question: LayoutQuestion,
) -> Result<Vec<BankLayouts>, BuildError> {
    let network = Network::build(design)?;
    let case = case
        .map(str::to_owned)
        .or_else(|| design.cases.keys().next().cloned())
        .unwrap_or_default();
    let mut answers = Vec::new();
    for circuit in network.loops() {
        let (low, high) = circuit.coolant.range_k();
        let cold_k = question
            .cold_k
            .unwrap_or(COLD_K)
            .clamp(low + ABOVE_FREEZING_K, high);
        let warm_k = question.warm_k.unwrap_or(WARM_K).clamp(cold_k, high);
        for map in &circuit.banks {
            answers.push(compare(
                design,
                &circuit.name,
                &map.name,
                &case,
                (cold_k, warm_k),
            )?);
        }
    }
    Ok(answers)
}

fn compare(
    design: &Design,
    owner: &str,
    bank: &str,
    case: &str,
    range_k: (f64, f64),
) -> Result<BankLayouts, BuildError> {
    let present = present_layout(design, owner, bank);
    let mut networks: Vec<(Layout, Network)> = Vec::new();
    for layout in LAYOUTS {
        let mut changed = design.clone();
        if let Some(Part::Bank(bank)) = changed
            .loops
            .get_mut(owner)
            .and_then(|l| l.parts.get_mut(bank))
        {
            bank.layout = Some(layout);
            bank.feed = None;
            bank.draw_off = None;
        }
        // A layout that the ports do not allow is left out.
        if let Ok(network) = Network::build(&changed) {
            networks.push((layout, network));
        }
    }
    let tried = networks.iter().filter_map(|(layout, network)| {
        Some(Tried {
            layout: *layout,
            case: network.cases().iter().find(|c| c.name == case)?,
            solver: Solver::new(network),
            owner,
            bank,
            known: HashMap::new(),
            unsolved: None,
            unsteady: None,
        })
    });
    let mut tried: Vec<Tried<'_>> = tried.collect();
    let rows = tried.iter_mut().map(|t| {
        let cold = t.flows(range_k.0);
        let warm = t.flows(range_k.1);
        LayoutRow {
            layout: t.layout,
            present: present == Some(t.layout),
            cold_deviation: cold.map(|c| c.0),
            warm_deviation: warm.map(|w| w.0),
            warm_drop_pa: warm.map(|w| w.1),
            spread_k: t.spread_k(),
        }
    });
    let rows = rows.collect();
    let changes_of_all = changes(&mut tried, range_k);
    let unsolved = tried.iter_mut().find_map(|t| t.unsolved.take());
    let unsteady = tried.iter_mut().find_map(|t| t.unsteady.take());
    let endless = tried.iter().any(|t| t.case.time.is_some());
    tried.retain(|t| t.layout != Layout::Centre);
    Ok(BankLayouts {
        owner: owner.to_owned(),
        bank: bank.to_owned(),
        range_k,
        rows,
        changes: changes_of_all,
        end_changes: changes(&mut tried, range_k),
        unsolved,
        unsteady,
        endless,
    })
}

fn present_layout(design: &Design, owner: &str, bank: &str) -> Option<Layout> {
    match design.loops.get(owner)?.parts.get(bank)? {
        Part::Bank(b) if b.feed.is_none() && b.draw_off.is_none() => {
            Some(b.layout.unwrap_or_default())
        }
        _ => None,
    }
}

/// One layout of a bank, with what solves it.
struct Tried<'n> {
    layout: Layout,
    case: &'n Case,
    solver: Solver<'n>,
    owner: &'n str,
    bank: &'n str,
    /// What flows at temperatures asked for before gave, by their bits: all layouts and the ends alone ask for the same.
    known: HashMap<u64, Option<(f64, f64)>>,
    /// Why flows were not found, the first time.
    unsolved: Option<SolveError>,
    /// Why temperatures were not found.
    unsteady: Option<SolveError>,
}

impl Tried<'_> {
    /// Deviation and drop with all coolant at one temperature.
    fn flows(&mut self, coolant_k: f64) -> Option<(f64, f64)> {
        if let Some(known) = self.known.get(&coolant_k.to_bits()) {
            return *known;
        }
        let found = self.solved(coolant_k);
        self.known.insert(coolant_k.to_bits(), found);
        found
    }

    fn solved(&mut self, coolant_k: f64) -> Option<(f64, f64)> {
        match self.solver.solve_silently(&self.case.at_coolant(coolant_k)) {
            Ok(solution) => {
                let banks = solution.banks(self.owner);
                let state = banks.iter().find(|b| b.id == self.bank)?;
                Some((state.deviation, state.drop_pa))
            }
            Err(error) => {
                self.unsolved.get_or_insert(error);
                None
            }
        }
    }

    fn spread_k(&mut self) -> Option<f64> {
        if self.case.coolant_temperature_k.is_some() {
            return None;
        }
        match self.solver.solve_silently(self.case) {
            Ok(solution) => {
                let banks = solution.banks(self.owner);
                let state = banks.iter().find(|b| b.id == self.bank)?;
                Some(state.module_temperature_spread_k)
            }
            Err(error) => {
                self.unsteady = Some(error);
                None
            }
        }
    }
}

/// The most even layout at a temperature.
fn winner(tried: &mut [Tried<'_>], coolant_k: f64) -> Option<Layout> {
    let deviations = tried.iter_mut().filter_map(|t| {
        let (deviation, _) = t.flows(coolant_k)?;
        Some((t.layout, deviation))
    });
    let least = deviations.min_by(|a, b| a.1.total_cmp(&b.1));
    least.map(|(layout, _)| layout)
}

fn changes(tried: &mut [Tried<'_>], (cold_k, warm_k): (f64, f64)) -> Vec<(f64, Layout, Layout)> {
    let at = |k: usize| cold_k + (warm_k - cold_k) * k as f64 / SCAN as f64;
    let mut found = Vec::new();
    let mut before = winner(tried, cold_k);
    for k in 1..=SCAN {
        let here = winner(tried, at(k));
        if let (Some(a), Some(b)) = (before, here)
            && a != b
        {
            let (mut low, mut high) = (at(k - 1), at(k));
            while high - low > FOUND_K {
                let middle = 0.5 * (low + high);
                if winner(tried, middle) == Some(a) {
                    low = middle;
                } else {
                    high = middle;
                }
            }
            found.push((0.5 * (low + high), a, b));
        }
        before = here;
    }
    found
}
