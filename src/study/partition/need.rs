//! What would make a cut fit where none does, in heat per kelvin.
//!
//! More heat per kelvin lowers all temperatures of a loop alike. With `theta` the coolant's inlet to the core above the
//! air and `d` what a limit is missed by, the core must do `theta / (theta - d)` times as much per kelvin. Where
//! `theta - d` is not above the coolant's own fall in the core, no core could at that flow; where the limit is not
//! above the air, no radiator could at all. Less heat lowers every temperature over the air in proportion, so a value
//! `v` over the air that may be `v - d` takes `(v - d) / v` of the heat.

use super::weigh::{is_level, owner_of};
use super::{Cut, CutState, Track};
use crate::study::limit_row::{LimitRow, LimitSide};

/// What would mend a limit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Remedy {
    /// So many times the present heat per kelvin of the core (below 1 where there is some to spare).
    HeatPerKelvin(f64),
    /// More coolant flow or a lower resistance between part and coolant: the core alone cannot.
    Flow,
    /// The air is as hot as the limit: a chiller, or thermal mass for a short time.
    Chiller,
}

/// What one loop needs at the cut that comes nearest.
#[derive(Clone, Debug, PartialEq)]
pub struct Need {
    /// The loop.
    pub owner: String,
    /// Tubes of the two cores at that cut.
    pub tubes: [u32; 2],
    /// The case.
    pub case: String,
    /// Key of the limit that asks for most.
    pub limit: &'static str,
    /// What it is judged on.
    pub subject: String,
    /// By how much it is missed, K; negative where it is met.
    pub missed_by_k: f64,
    /// Present heat per kelvin of the core, W/K.
    pub conductance_w_k: f64,
    /// What would mend it.
    pub remedy: Remedy,
    /// Share of the loop's present heat at which the limit would be met; none where the air is too hot for it.
    pub heat_share: Option<f64>,
}

impl Need {
    /// Rank among remedies: the factor, or more than any factor.
    fn rank(&self) -> f64 {
        match self.remedy {
            Remedy::HeatPerKelvin(factor) => factor,
            Remedy::Flow => 1e6,
            Remedy::Chiller => 1e9,
        }
    }
}

/// What each loop needs, at the cut at which the larger need is the smallest.
pub(super) fn needs(cuts: &[Cut], tracks: &[Track], owners: &[String; 2]) -> Vec<Need> {
    let mut best: Option<(f64, Vec<Need>)> = None;
    for cut in cuts.iter().filter(|c| c.failure().is_none()) {
        let needs: Vec<Need> = (0..owners.len())
            .filter_map(|k| of_loop(cut, tracks, &owners[k], k))
            .collect();
        let rank = needs.iter().map(Need::rank).fold(0.0, f64::max);
        if !needs.is_empty() && best.as_ref().is_none_or(|(r, _)| rank < *r) {
            best = Some((rank, needs));
        }
    }
    best.map(|(_, needs)| needs).unwrap_or_default()
}

/// The largest need of a loop in any case of a cut.
fn of_loop(cut: &Cut, tracks: &[Track], owner: &str, place: usize) -> Option<Need> {
    let mut worst: Option<Need> = None;
    for case in &cut.cases {
        let Ok(state) = &case.outcome else { continue };
        for row in &state.limits {
            let counts = tracks.iter().any(|t| t.counts && t.is_of(&case.case, row));
            if !counts
                || owner_of(&row.subject) != owner
                || row.side != LimitSide::Max
                || !is_level(row)
            {
                continue;
            }
            let Some((missed_by_k, conductance_w_k, remedy)) =
                remedy(row, state, place, case.air_k)
            else {
                continue;
            };
            let need = Need {
                owner: owner.to_owned(),
                tubes: cut.tubes,
                case: case.case.clone(),
                limit: row.limit,
                subject: row.subject.clone(),
                missed_by_k,
                conductance_w_k,
                remedy,
                heat_share: heat_share(row, case.air_k),
            };
            if worst.as_ref().is_none_or(|w| need.rank() > w.rank()) {
                worst = Some(need);
            }
        }
    }
    worst
}

fn remedy(
    row: &LimitRow,
    state: &CutState,
    place: usize,
    air_k: f64,
) -> Option<(f64, f64, Remedy)> {
    let missed_k = -row.margin?;
    let core = &state.cores[place];
    let conductance = core.conductance_w_k?;
    let theta = core.coolant_inlet_k - air_k;
    let allowed = theta - missed_k;
    let fall = core.coolant_inlet_k - core.coolant_outlet_k;
    let remedy = if row.bound <= air_k {
        Remedy::Chiller
    } else if theta <= 0.0 {
        return None;
    } else if allowed <= fall.max(0.0) && missed_k > 0.0 {
        Remedy::Flow
    } else {
        Remedy::HeatPerKelvin(theta / allowed)
    };
    Some((missed_k, conductance, remedy))
}

fn heat_share(row: &LimitRow, air_k: f64) -> Option<f64> {
    let over = row.value? - air_k;
    let allowed = row.bound - air_k;
    (over > 0.0 && allowed > 0.0).then(|| allowed / over)
}
