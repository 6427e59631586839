//! The opening of thermostats: the temperature at which what a thermostat lets through brings coolant of that very
//! temperature to its inlet. It knows trial solves as a function only; who makes them is in `couple.rs`.
//!
//! More flow means cooler coolant, so temperature over opening falls and the place where both agree is bracketed: a
//! search that cannot run away where passes of flow and heat alone would swing between shut and open.

use super::error::SolveError;
use crate::network::Loop;

/// Distance at which a thermostat's own temperature and that of its coolant agree, K: below what passes must agree to.
const AGREED_K: f64 = 1.0e-9;
/// Trials of one search: bisection alone would narrow any usual range to round-off.
const MOST_TRIALS: usize = 60;
/// Rounds over all thermostats of a loop.
const MOST_ROUNDS: usize = 8;

/// A trial: the inlet temperatures of all thermostats of a loop at its openings, where there is a balance of heat.
pub type Trial<'a> = dyn FnMut(&Loop) -> Result<Option<Vec<f64>>, SolveError> + 'a;

/// Sets every thermostat of a loop to the opening that agrees with its temperature.
///
/// # Errors
/// That of a trial.
pub fn settle(circuit: &mut Loop, trial: &mut Trial<'_>) -> Result<(), SolveError> {
    let count = circuit.thermostats.len();
    for _ in 0..MOST_ROUNDS {
        let mut moved = 0.0_f64;
        for index in 0..count {
            let before = circuit.thermostats[index].opening;
            settle_one(circuit, index, trial)?;
            moved = moved.max((circuit.thermostats[index].opening - before).abs());
        }
        if count == 1 || moved <= 1e-12 {
            break;
        }
    }
    Ok(())
}

/// How much warmer the coolant is than the thermostat believes, K, when it believes `believed_k`.
fn excess(
    circuit: &mut Loop,
    index: usize,
    believed_k: f64,
    trial: &mut Trial<'_>,
) -> Result<f64, SolveError> {
    let opening = circuit.thermostats[index].lift.opening(believed_k);
    circuit.set_thermostat(index, opening);
    let found = trial(circuit)?.map(|inlets| inlets[index] - believed_k);
    // Where heat finds no way out the coolant would boil: hotter than any thermostat.
    Ok(found.filter(|e| e.is_finite()).unwrap_or(f64::MAX))
}

fn settle_one(circuit: &mut Loop, index: usize, trial: &mut Trial<'_>) -> Result<(), SolveError> {
    let lift = circuit.thermostats[index].lift;
    let (mut low, mut high) = (lift.opens_k, lift.fully_open_k);
    let mut over = excess(circuit, index, low, trial)?;
    // Coolant that stays below the range even when shut, or above it even when open, settles the matter.
    if over <= 0.0 {
        return Ok(());
    }
    let mut under = excess(circuit, index, high, trial)?;
    if under >= 0.0 {
        return Ok(());
    }
    // False position with halved weights (Dowell and Jarratt, 1971, BIT 11:168-174), bisection where it is lame.
    let mut kept = 0_i32;
    for count in 0..MOST_TRIALS {
        let share = over / (over - under);
        let middle = if over >= 1e6 || count % 4 == 3 || !share.is_finite() {
            0.5 * (low + high)
        } else {
            low + share.clamp(1e-3, 1.0 - 1e-3) * (high - low)
        };
        let found = excess(circuit, index, middle, trial)?;
        if found.abs() <= AGREED_K || high - low <= 1e-13 * high {
            return Ok(());
        }
        if found > 0.0 {
            (low, over) = (middle, found);
            if kept > 0 {
                under *= 0.5;
            }
            kept = 1;
        } else {
            (high, under) = (middle, found);
            if kept < 0 {
                over *= 0.5;
            }
            kept = -1;
        }
    }
    Ok(())
}

/// Sets every thermostat of a loop to the opening that agrees with its temperature, beginning at temperatures near by:
/// the search for a stage of a march, where two or three trials do.
///
/// # Errors
/// That of a trial.
pub fn follow(
    circuit: &mut Loop,
    near_k: &[f64],
    agreed_k: f64,
    trial: &mut Trial<'_>,
) -> Result<(), SolveError> {
    let agreed_k = agreed_k.max(AGREED_K);
    let mut near_k = near_k.to_vec();
    for _ in 0..MOST_ROUNDS {
        let mut moved = 0.0_f64;
        for (index, near_k) in near_k.iter_mut().enumerate() {
            let found_k = follow_one(circuit, index, *near_k, agreed_k, trial)?;
            moved = moved.max((found_k - *near_k).abs());
            *near_k = found_k;
        }
        if circuit.thermostats.len() == 1 || moved <= agreed_k {
            break;
        }
    }
    Ok(())
}

/// The temperature at which one thermostat agrees with its coolant, by secants inside a bracket that closes as it goes.
fn follow_one(
    circuit: &mut Loop,
    index: usize,
    near_k: f64,
    agreed_k: f64,
    trial: &mut Trial<'_>,
) -> Result<f64, SolveError> {
    let lift = circuit.thermostats[index].lift;
    // Outside its range the opening stands still, so the ends of the range stand for all that lies beyond.
    let (mut low, mut high) = (lift.opens_k, lift.fully_open_k);
    let (mut low_seen, mut high_seen) = (false, false);
    let mut at = near_k.clamp(low, high);
    let mut before: Option<(f64, f64)> = None;
    for _ in 0..MOST_TRIALS {
        let over = excess(circuit, index, at, trial)?;
        let beyond =
            (at <= lift.opens_k && over <= 0.0) || (at >= lift.fully_open_k && over >= 0.0);
        if beyond || over.abs() <= agreed_k || high - low <= 1e-13 * high {
            break;
        }
        if over > 0.0 {
            (low, low_seen) = (at, true);
        } else {
            (high, high_seen) = (at, true);
        }
        // The first guess is where the coolant went; then the secant through the last two.
        let wanted = match before {
            Some((t, o)) if (over - o).abs() > 0.0 => at - over * (at - t) / (over - o),
            _ => at + over.clamp(-(high - low), high - low),
        };
        before = Some((at, over));
        let whole = high - low;
        at = if wanted > low && wanted < high {
            wanted
        } else if low_seen && high_seen {
            0.5 * (low + high)
        } else if over > 0.0 {
            // The upper end has not been tried yet.
            (at + whole).min(high)
        } else {
            (at - whole).max(low)
        };
    }
    Ok(at)
}

#[cfg(test)]
mod tests {
    use crate::design::Source;
    use crate::network::Network;
    use crate::solve::{Closure, Solver, ThermostatState};

    /// A warm loop with a cooler behind a thermostat, a bypass round both and a convector that always takes some heat.
    fn solved(heat_w: f64, leak: f64) -> (ThermostatState, Closure, usize) {
        let text = format!(
            r#"{{ "format": 1, "title": "t", "coolants": {{ "m": {{ "ethylene_glycol": {{ "volume_fraction": 0.4 }} }} }},
              "loops": {{ "l": {{ "coolant": "m", "parts": {{ "tank": {{ "expansion_tank": {{ "gauge_pressure": "50 kPa" }} }},
                "pump": {{ "pump": {{ "curve": [["0 L/min", "40 kPa"], ["20 L/min", "0 kPa"]] }} }},
                "heater": {{ "heater": {{ "pressure_drop": {{ "kv": "2 m3/h" }}, "heat": "1 kW" }} }},
                "s": {{ "tee": {{ "straight_bore": "16 mm", "side_bore": "13 mm" }} }}, "j": {{ "tee": {{ "straight_bore": "16 mm", "side_bore": "13 mm" }} }},
                "valve": {{ "thermostat": {{ "opens_at": "60 degC", "fully_open_at": "72 degC", "kv": "2.5 m3/h", "leak": {leak} }} }},
                "cooler": {{ "exchanger": {{ "pressure_drop": {{ "kv": "2 m3/h" }}, "conductance": "150 W/K", "stream": {{ "temperature": "20 degC" }} }} }},
                "past": {{ "hose": {{ "bore": "10 mm", "length": "1 m" }} }},
                "convector": {{ "exchanger": {{ "pressure_drop": {{ "kv": "2 m3/h" }}, "conductance": "25 W/K", "stream": {{ "temperature": "20 degC" }} }} }} }},
              "runs": [["tank", "pump", "heater", "s.a"], ["s.b", "valve", "cooler", "j.b"], ["s.side", "past", "j.side"], ["j.a", "convector", "tank"]] }} }},
              "cases": {{ "c": {{ "air": "20 degC", "heat": {{ "l.heater": "{heat_w} W" }} }} }} }}"#
        );
        let source = Source::read(&text).unwrap_or_else(|e| panic!("{e:?}"));
        let network = Network::build(&source.design).unwrap_or_else(|e| panic!("{e}"));
        let solution = Solver::new(&network)
            .solve(&network.cases()[0])
            .unwrap_or_else(|e| panic!("{heat_w} W: {e}"));
        let heater = solution.part("l", "heater").expect("the heater");
        assert!((heater.heat_w - heat_w).abs() < 1e-9 && heater.part_temperature_k.is_none());
        let closure = solution.closure("l").expect("the loop");
        let passes = solution.effort().passes;
        (solution.thermostats("l").remove(0), closure, passes)
    }

    #[test]
    fn a_thermostat_opens_as_the_loop_warms_and_its_opening_agrees_with_its_coolant() {
        let (mut last, mut between, mut most) = (0.0, 0, 0);
        for step in 1..=24 {
            let heat_w = 250.0 * f64::from(step);
            let (state, closure, passes) = solved(heat_w, 0.02);
            let x =
                (state.inlet_temperature_k - state.opens_k) / (state.fully_open_k - state.opens_k);
            let x = x.clamp(0.0, 1.0);
            let wanted = 0.02 + 0.98 * x * x * (3.0 - 2.0 * x);
            assert!(
                (state.opening - wanted).abs() < 1e-7,
                "{heat_w} W: {state:?}"
            );
            assert!(closure.is_met(), "{heat_w} W: {closure:?}");
            assert!(passes <= 12, "{heat_w} W: {passes} passes");
            assert!(state.opening >= last, "{heat_w} W: {state:?}");
            between += usize::from(state.opening > 0.02 && state.opening < 1.0);
            most = most.max(passes);
            last = state.opening;
        }
        assert!(between >= 5, "{between} between shut and open");
        assert_eq!(solved(250.0, 0.02).0.opening, 0.02);
        println!("thermostat: {most} passes at most, {between} of 24 between shut and open");
    }

    #[test]
    fn a_tight_thermostat_settles_too() {
        let (state, closure, passes) = solved(3000.0, 0.001);
        assert!(closure.is_met() && passes <= 12, "{passes} {closure:?}");
        assert!(state.opening > 0.001 && state.opening < 1.0, "{state:?}");
    }
}
