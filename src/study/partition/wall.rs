//! Where the new tank walls stand: whole tubes counted from the first tank end, across the direction of the tubes.

use crate::part::{Radiator, TubeDirection};

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

/// Distance from tube to tube, m: the face across the tubes over their number. The first and the last tube stand half
/// of it from the ends.
pub(super) fn pitch_m(radiator: &Radiator) -> f64 {
    let across = match radiator.tubes.direction.unwrap_or_default() {
        TubeDirection::Horizontal => radiator.face_height,
        TubeDirection::Vertical => radiator.face_width,
    };
    across.m() / f64::from(radiator.tubes.count.max(1))
}

/// The walls in order. Lost tubes are shared evenly among them, the odd ones to the first.
pub(super) fn walls(radiator: &Radiator) -> Vec<Wall> {
    let gaps = radiator.cores.len().saturating_sub(1) as u32;
    let lost = radiator.lost_tubes.unwrap_or(0);
    let pitch = pitch_m(radiator);
    let mut passed = 0;
    let mut walls = Vec::new();
    let neighbours = radiator.cores.iter().zip(radiator.cores.keys().skip(1));
    for (gap, ((after, core), before)) in (0..gaps).zip(neighbours) {
        let lost_tubes = lost / gaps + u32::from(gap < lost % gaps);
        passed += core.tubes;
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
