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

/// The heat law of a core with its plates: inlet tank, then the core, then outlet tank; linear in the inlet temperature.
pub fn with_plates(core: LinearHeat, stream_w_k: f64, plates: &[Plate]) -> LinearHeat {
    if plates.is_empty() || stream_w_k <= 0.0 {
        return core;
    }
    let heat_w = |inlet_k: f64, scale: f64| {
        let inlet = plates.iter().map(|p| (p.half_w_k, scale * p.inlet_tank_k));
        let outlet = plates.iter().map(|p| (p.half_w_k, scale * p.outlet_tank_k));
        let tank = tank_k(inlet_k, stream_w_k, inlet);
        let leaving = tank + (scale * core.constant_w + core.slope_w_k * tank) / stream_w_k;
        stream_w_k * (tank_k(leaving, stream_w_k, outlet) - inlet_k)
    };
    LinearHeat {
        constant_w: heat_w(0.0, 1.0),
        slope_w_k: heat_w(1.0, 0.0),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Derived by hand: no heat in the core, C = 100 W/K at 300 K, both tanks beyond at 310 K, 20 W/K in all. Each tank
    /// takes a share 10/110 of what it stands below 310 K.
    #[test]
    fn both_tanks_take_their_share_one_after_the_other() {
        let plates = [Plate {
            half_w_k: 10.0,
            inlet_tank_k: 310.0,
            outlet_tank_k: 310.0,
        }];
        let law = with_plates(LinearHeat::default(), 100.0, &plates);
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
        assert_eq!(with_plates(core, 50.0, &[]), core);
        let plate = Plate {
            half_w_k: 5.0,
            inlet_tank_k: 330.0,
            outlet_tank_k: 330.0,
        };
        let still = with_plates(LinearHeat::default(), 1e-9, &[plate]);
        assert!(still.at(300.0).abs() < 1e-6);
    }
}
