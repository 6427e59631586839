//! Heat through the plates that the tanks of neighbouring cores share, as part of the heat law of a core.

use super::exchange::LinearHeat;

/// A plate as the coolant of one core sees it: the coolant on the other side.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Plate {
    /// Heat per kelvin through one of the two plates, W/K: half of what is given for both.
    pub half_w_k: f64,
    /// Coolant in the other core's inlet tank, K.
    pub inlet_tank_k: f64,
    /// Coolant in the other core's outlet tank, K.
    pub outlet_tank_k: f64,
}

/// Temperature of the coolant mixed in a tank, K.
///
/// `T = (C T_in + sum G/2 T_beyond)/(C + sum G/2)`: the tank is mixed, and what the stream `C` gains in it comes through
/// the plates. W/K, K; any stream, at rest the mean of what lies beyond.
///
/// Source: the balance of a mixed volume; derived.
pub fn tank_k(entering_k: f64, stream_w_k: f64, beyond: impl Iterator<Item = (f64, f64)>) -> f64 {
    let (sum, weight) = beyond.fold(
        (stream_w_k * entering_k, stream_w_k),
        |(sum, weight), (half_w_k, k)| (sum + half_w_k * k, weight + half_w_k),
    );
    if weight > 0.0 {
        sum / weight
    } else {
        entering_k
    }
}

/// Heat capacity flow of a core's coolant, W/K, in its tanks and between them, each at the mean temperature there, so that
/// what the three gain is what the enthalpy gains.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TankStreams {
    /// In the inlet tank.
    pub inlet_w_k: f64,
    /// In the core.
    pub core_w_k: f64,
    /// In the outlet tank.
    pub outlet_w_k: f64,
    /// Temperature of the inlet tank, K.
    pub tank_k: f64,
}

/// Rounds by which tank temperatures and their heat capacities agree: each gains three digits.
const ROUNDS: usize = 3;
/// Most that a tank is taken to change its stream when heat capacities are looked up, K.
const LARGEST_CHANGE_K: f64 = 50.0;

impl TankStreams {
    /// The streams between the temperatures at which coolant enters and leaves; `cp_j_kg_k` gives its heat capacity.
    pub fn between(
        (inlet_k, outlet_k): (f64, f64),
        stream_kg_s: f64,
        cp_j_kg_k: &dyn Fn(f64) -> f64,
        plates: &[Plate],
    ) -> Self {
        let at = |a: f64, b: f64| stream_kg_s * cp_j_kg_k(0.5 * (a + b));
        let gained_w: f64 = (plates.iter())
            .map(|p| p.half_w_k * (p.outlet_tank_k - outlet_k))
            .sum();
        let (mut tank_k, mut leaving_k) = (inlet_k, outlet_k);
        for _ in 0..ROUNDS {
            let beyond = plates.iter().map(|p| (p.half_w_k, p.inlet_tank_k));
            tank_k = self::tank_k(inlet_k, at(inlet_k, tank_k), beyond);
            let change = gained_w / at(leaving_k, outlet_k).max(1e-12);
            leaving_k = outlet_k - change.clamp(-LARGEST_CHANGE_K, LARGEST_CHANGE_K);
        }
        Self {
            inlet_w_k: at(inlet_k, tank_k),
            core_w_k: at(tank_k, leaving_k),
            outlet_w_k: at(leaving_k, outlet_k),
            tank_k,
        }
    }
}

/// The heat law of a core with its plates: inlet tank, then the core, then outlet tank; linear in the inlet temperature.
pub fn with_plates(core: LinearHeat, stream: TankStreams, plates: &[Plate]) -> LinearHeat {
    if plates.is_empty() || stream.core_w_k <= 0.0 {
        return core;
    }
    let heat_w = |inlet_k: f64, scale: f64| {
        let inlet = plates.iter().map(|p| (p.half_w_k, scale * p.inlet_tank_k));
        let outlet = plates.iter().map(|p| (p.half_w_k, scale * p.outlet_tank_k));
        let tank = tank_k(inlet_k, stream.inlet_w_k, inlet);
        let given_w = scale * core.constant_w + core.slope_w_k * tank;
        let leaving = tank + given_w / stream.core_w_k;
        let out = tank_k(leaving, stream.outlet_w_k, outlet);
        stream.inlet_w_k * (tank - inlet_k) + given_w + stream.outlet_w_k * (out - leaving)
    };
    LinearHeat {
        constant_w: heat_w(0.0, 1.0),
        slope_w_k: heat_w(1.0, 0.0),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn even(stream_w_k: f64) -> TankStreams {
        TankStreams {
            inlet_w_k: stream_w_k,
            core_w_k: stream_w_k,
            outlet_w_k: stream_w_k,
            tank_k: f64::NAN,
        }
    }

    /// Derived by hand: no heat in the core, C = 100 W/K at 300 K, both tanks beyond at 310 K, 20 W/K in all. Each tank
    /// takes a share 10/110 of what it stands below 310 K.
    #[test]
    fn both_tanks_take_their_share_one_after_the_other() {
        let plates = [Plate {
            half_w_k: 10.0,
            inlet_tank_k: 310.0,
            outlet_tank_k: 310.0,
        }];
        let law = with_plates(LinearHeat::default(), even(100.0), &plates);
        let left = 10.0 * (100.0_f64 / 110.0).powi(2);
        assert!((law.at(300.0) - 100.0 * (10.0 - left)).abs() < 1e-9);
        assert!((law.at(310.0)).abs() < 1e-9, "no difference, no heat");
    }

    #[test]
    fn a_stream_at_rest_gains_nothing_and_no_plate_changes_nothing() {
        let core = LinearHeat {
            constant_w: 3000.0,
            slope_w_k: -10.0,
        };
        assert_eq!(with_plates(core, even(50.0), &[]), core);
        let plate = Plate {
            half_w_k: 5.0,
            inlet_tank_k: 330.0,
            outlet_tank_k: 330.0,
        };
        let still = with_plates(LinearHeat::default(), even(1e-9), &[plate]);
        assert!(still.at(300.0).abs() < 1e-6);
    }
}
