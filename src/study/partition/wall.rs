//! Where the new tank walls stand: whole tubes counted from the first tank end, across the direction of the tubes.

use crate::part::Radiator;

/// The wall plates between two neighbouring cores. Where tubes are lost there is a plate on either side of them;
/// where none is lost both places are the same.
#[derive(Clone, Debug, PartialEq)]
pub struct Wall {
    /// The core nearer the tank end.
    pub after: String,
    /// The core beyond.
    pub before: String,
    /// Tubes lost between the plates.
    pub lost_tubes: u32,
    /// From the tank end to the first plate, m.
    pub first_plate_m: f64,
    /// From the tank end to the second plate, m.
    pub second_plate_m: f64,
}

impl Wall {
    /// From the tank end to the middle of the lost tubes, m: where the cut lies.
    pub fn middle_m(&self) -> f64 {
        0.5 * (self.first_plate_m + self.second_plate_m)
    }
}

/// The walls in order. Lost tubes are shared evenly among them, the odd ones to the first.
pub(super) fn walls(radiator: &Radiator) -> Vec<Wall> {
    let pitch = radiator.pitch_m();
    let mut passed = 0;
    let mut walls = Vec::new();
    let neighbours = radiator.cores.iter().zip(radiator.cores.keys().skip(1));
    for (lost_tubes, ((after, core), before)) in radiator.lost_between().into_iter().zip(neighbours)
    {
        passed += radiator.core_tubes(core);
        let first_plate_m = f64::from(passed) * pitch;
        passed += lost_tubes;
        walls.push(Wall {
            after: after.clone(),
            before: before.clone(),
            lost_tubes,
            first_plate_m,
            second_plate_m: f64::from(passed) * pitch,
        });
    }
    walls
}
