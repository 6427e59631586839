//! Why the hottest module is the hottest: its excess over the mean of its fellows, shared out among less flow, a warmer
//! inlet, more heat and a weaker film. Read off a solution; nothing is iterated here.
//!
//! A module stands at `T = T_in + Q / G`, `G = m cp (1 - exp(-1/(R m cp)))`. The inlet's share is plain; the other three act
//! together, so each gets its mean share over all orders in which they could change from the mean module to this one
//! (Shapley, 1953, "A value for n-person games"). What is left, because the mean of the temperatures is not the temperature
//! of the mean module, is told as the rest.

use super::exchange::stream_conductance_w_k;
use super::solution::Solution;
use super::thermal::RESTING_SHARE;

/// Excess below which modules count as even, K.
const EVEN_K: f64 = 0.05;

/// What makes a module the hottest.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum HotCause {
    /// Less coolant than the mean.
    LessFlow,
    /// Coolant that comes in warmer.
    WarmerInlet,
    /// More heat.
    MoreHeat,
    /// More resistance between module and coolant.
    WeakerFilm,
    /// No coolant at all.
    NoFlow,
    /// Nothing much: all are alike.
    Even,
}

/// The hottest of some modules, and why.
#[derive(Clone, Debug, PartialEq)]
pub struct HottestModule {
    /// Its name.
    pub id: String,
    /// Its temperature, K.
    pub temperature_k: f64,
    /// Above the mean of all, K; the sum of the five that follow.
    pub excess_k: f64,
    /// Because less coolant warms more on its way, K.
    pub less_flow_k: f64,
    /// Because its coolant comes in warmer, K.
    pub warmer_inlet_k: f64,
    /// Because it gives more heat, K.
    pub more_heat_k: f64,
    /// Because film, wall or the number of circuits that take part resist more, K.
    pub weaker_film_k: f64,
    /// What the four leave, K.
    pub rest_k: f64,
    /// Its flow over the mean.
    pub flow_over_mean: f64,
    /// How much its coolant warms on the way, K.
    pub coolant_rise_k: f64,
    /// The largest of the four.
    pub cause: HotCause,
}

/// A module as its coolant sees it.
#[derive(Clone, Copy, Default)]
struct Seen {
    inlet_k: f64,
    heat_w: f64,
    stream_w_k: f64,
    resistance_k_w: f64,
}

impl Seen {
    fn above_inlet_k(heat_w: f64, stream_w_k: f64, resistance_k_w: f64) -> f64 {
        heat_w / stream_conductance_w_k(stream_w_k, resistance_k_w)
    }
}

impl Solution<'_> {
    /// The hottest module of a bank.
    pub fn hottest_of_bank(&self, owner: &str, bank: &str) -> Option<HottestModule> {
        let banks = &self.loop_state(owner)?.circuit.banks;
        let map = banks.iter().find(|b| b.name == bank)?;
        self.hottest_among(owner, map.modules.clone())
    }

    /// The hottest module of all banks of a loop.
    pub fn hottest_of_loop(&self, owner: &str) -> Option<HottestModule> {
        let count = self.loop_state(owner)?.circuit.modules.len();
        self.hottest_among(owner, 0..count)
    }

    fn hottest_among(&self, owner: &str, range: std::ops::Range<usize>) -> Option<HottestModule> {
        let state = self.loop_state(owner)?;
        let modules = &state.circuit.modules;
        let there: Vec<usize> = range.filter(|&m| !modules[m].circuits.is_empty()).collect();
        let hottest = *there
            .iter()
            .max_by(|&&a, &&b| state.heat.module_k[a].total_cmp(&state.heat.module_k[b]))?;
        let count = there.len() as f64;
        let mean_k = there.iter().map(|&m| state.heat.module_k[m]).sum::<f64>() / count;
        let temperature_k = state.heat.module_k[hottest];
        let mut found = HottestModule {
            id: modules[hottest].name.clone(),
            temperature_k,
            excess_k: temperature_k - mean_k,
            less_flow_k: 0.0,
            warmer_inlet_k: 0.0,
            more_heat_k: 0.0,
            weaker_film_k: 0.0,
            rest_k: 0.0,
            flow_over_mean: 0.0,
            coolant_rise_k: 0.0,
            cause: HotCause::NoFlow,
        };
        let seen: Vec<(usize, Seen)> = there
            .iter()
            .filter_map(|&m| Some((m, self.seen(owner, m)?)))
            .collect();
        let Some((_, own)) = seen.iter().find(|(m, _)| *m == hottest) else {
            found.rest_k = found.excess_k;
            return Some(found);
        };
        let flowing = seen.len() as f64;
        let mean_of = |of: fn(&Seen) -> f64| seen.iter().map(|(_, s)| of(s)).sum::<f64>() / flowing;
        let mean = Seen {
            inlet_k: mean_of(|s| s.inlet_k),
            heat_w: mean_of(|s| s.heat_w),
            stream_w_k: mean_of(|s| s.stream_w_k),
            resistance_k_w: mean_of(|s| s.resistance_k_w),
        };
        let [heat, flow, film] = shares(&mean, own);
        found.more_heat_k = heat;
        found.less_flow_k = flow;
        found.weaker_film_k = film;
        found.warmer_inlet_k = own.inlet_k - mean.inlet_k;
        found.rest_k = found.excess_k - heat - flow - film - found.warmer_inlet_k;
        found.flow_over_mean = own.stream_w_k / mean.stream_w_k;
        found.coolant_rise_k = own.heat_w / own.stream_w_k;
        let causes = [
            (HotCause::LessFlow, flow),
            (HotCause::WarmerInlet, found.warmer_inlet_k),
            (HotCause::MoreHeat, heat),
            (HotCause::WeakerFilm, film),
        ];
        let most = causes.into_iter().max_by(|a, b| a.1.total_cmp(&b.1));
        found.cause = match most {
            Some((cause, _)) if found.excess_k > EVEN_K => cause,
            _ => HotCause::Even,
        };
        Some(found)
    }

    /// A module as its coolant sees it, circuits taken together; none where no coolant reaches it.
    fn seen(&self, owner: &str, module: usize) -> Option<Seen> {
        let state = self.loop_state(owner)?;
        let flows = &state.flow.flow_kg_s;
        let most = flows.iter().fold(0.0, |m: f64, v| m.max(v.abs()));
        let branches = state.circuit.net.branch_of_elements();
        let node = &state.circuit.modules[module];
        let (mut seen, mut used_w_k, mut inlet) = (Seen::default(), 0.0, 0.0);
        for &e in &node.circuits {
            let flow = flows[branches[e]].abs();
            if flow <= RESTING_SHARE * most {
                continue;
            }
            let fluid = &state.fluid.elements[e];
            let stream_w_k = flow * fluid.specific_heat_j_kg_k;
            let resistance = node.contact.resistance_k_w(flow, fluid);
            let conductance = stream_conductance_w_k(stream_w_k, resistance);
            used_w_k += conductance;
            inlet += conductance * state.heat.upstream_k[e];
            seen.stream_w_k += stream_w_k;
            seen.heat_w += state.heat.heat_w[e];
        }
        if used_w_k <= 0.0 {
            return None;
        }
        seen.inlet_k = inlet / used_w_k;
        // The resistance of one stream that carries the same.
        let left = 1.0 - used_w_k / seen.stream_w_k;
        seen.resistance_k_w = if left > 0.0 {
            -1.0 / (seen.stream_w_k * left.ln())
        } else {
            0.0
        };
        Some(seen)
    }
}

/// Shares of heat, flow and film in how far `own` stands further above its inlet than `mean`.
fn shares(mean: &Seen, own: &Seen) -> [f64; 3] {
    let at = |changed: usize| {
        let pick = |bit: usize, a: f64, b: f64| if changed & bit == 0 { a } else { b };
        Seen::above_inlet_k(
            pick(1, mean.heat_w, own.heat_w),
            pick(2, mean.stream_w_k, own.stream_w_k),
            pick(4, mean.resistance_k_w, own.resistance_k_w),
        )
    };
    [0, 1, 2].map(|k| {
        let own_bit = 1 << k;
        // Of the others none, one or two changed before: 1/3, 1/6 each, 1/3 of the orders.
        (0..8_usize)
            .filter(|s| s & own_bit == 0)
            .map(|s| {
                let weight = if s.count_ones() == 1 {
                    1.0 / 6.0
                } else {
                    1.0 / 3.0
                };
                weight * (at(s | own_bit) - at(s))
            })
            .sum()
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_shares_add_up_and_one_change_alone_takes_all() {
        let mean = Seen {
            inlet_k: 300.0,
            heat_w: 100.0,
            stream_w_k: 60.0,
            resistance_k_w: 0.03,
        };
        let own = Seen {
            heat_w: 120.0,
            stream_w_k: 45.0,
            resistance_k_w: 0.035,
            ..mean
        };
        let above = |s: &Seen| Seen::above_inlet_k(s.heat_w, s.stream_w_k, s.resistance_k_w);
        let all = shares(&mean, &own);
        assert!((all.iter().sum::<f64>() - (above(&own) - above(&mean))).abs() < 1e-12);
        assert!(all.iter().all(|k| *k > 0.0), "{all:?}");
        let less = Seen {
            stream_w_k: 45.0,
            ..mean
        };
        let [heat, flow, film] = shares(&mean, &less);
        assert_eq!((heat, film), (0.0, 0.0));
        assert!((flow - (above(&less) - above(&mean))).abs() < 1e-12);
    }
}
