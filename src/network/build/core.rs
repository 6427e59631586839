//! A core's coolant side as an element: tubes with their dimples, and what every pass loses at the tanks.

use super::lower::{LoweredPart, Outcome, Surroundings};
use crate::correlation::area_change::{exit, sharp_entrance, sudden_contraction, sudden_expansion};
use crate::correlation::fittings::{ElbowMake, elbow_90};
use crate::correlation::{SharpEdge, TwoConstant};
use crate::id::PartId;
use crate::network::error::{NetworkError, Rule};
use crate::network::flow::Element;
use crate::part::{Conduit, DimpledDuct, Law, Radiator, TankShape, TwoTerm};
use crate::place::Place;

/// Turns that a stream makes in the tanks for every pass: into the tubes and out of them.
const TURNS_A_PASS: f64 = 2.0;

/// The tanks of a radiator, where their section is given.
pub(super) fn tank(radiator: &Radiator, place: &Place) -> Outcome<Option<TankShape>> {
    let Some(section) = &radiator.tank_section else {
        return Ok(None);
    };
    TankShape::of(section)
        .map(Some)
        .map_err(|e| NetworkError::new(Rule::BadPart, &place.key("tank_section"), e, ""))
}

/// The tubes of a core, with entrance, exit and turns at its tanks once a pass.
///
/// Without `tank_section` the tanks are large: a sharp entrance and a whole exit a pass. With it, entrance and exit are
/// the sudden contraction and expansion between tube and its share of the tank (tube pitch times the tank's width along
/// the air), and every pass turns twice by a mitred corner on the velocity head of the whole core's flow along the
/// tank. That head is the largest there is: the flow along a tank falls to nothing towards its far end.
///
/// Sources: `correlation/area_change.rs` and `fittings.rs`; the count of turns is common practice, no source.
pub(super) fn lower(
    around: &Surroundings<'_>,
    id: PartId,
    radiator: &Radiator,
    conduit: &Conduit,
    passes: u32,
    place: &Place,
) -> Outcome<LoweredPart> {
    let mut lowered = around.conduit(Element::new(id, "core", radiator.origin), conduit, &[]);
    if let Some(dimpled) = &radiator.tubes.dimpled {
        let at = place.key("tubes").key("dimpled");
        match lowered.laws.first_mut() {
            Some(law @ Law::Duct(_)) => {
                if let Law::Duct(duct) = *law {
                    *law = Law::Dimpled(DimpledDuct {
                        duct,
                        factor: dimpled.friction_factor,
                        above_reynolds: dimpled.above_reynolds,
                    });
                }
            }
            _ => {
                return Err(NetworkError::new(
                    Rule::BadPart,
                    &at,
                    "cannot use dimples with `hazen_williams` because that law knows no Reynolds number",
                    "try `darcy_weisbach`",
                ));
            }
        }
        if let Some(up_to) = dimpled.up_to_reynolds
            && up_to <= dimpled.above_reynolds
        {
            return Err(NetworkError::new(
                Rule::BadPart,
                &at.key("up_to_reynolds"),
                format!(
                    "cannot use factors that end before they begin: got {up_to}, limit {} (`above_reynolds`)",
                    dimpled.above_reynolds
                ),
                "try the Reynolds numbers between which they were measured",
            ));
        }
    }
    let (d, area) = (
        conduit.shape.hydraulic_diameter_m(),
        conduit.shape.area_m2(),
    );
    let tank = tank(radiator, place)?;
    let edge = SharpEdge::default();
    let ends: [TwoConstant; 2] = match &tank {
        None => [sharp_entrance(edge), exit()],
        Some(tank) => {
            let share = area / (radiator.tube_pitch_m() * tank.width_m);
            if share >= 1.0 {
                return Err(NetworkError::new(
                    Rule::BadPart,
                    &place.key("tank_section"),
                    format!(
                        "cannot fit the tubes into the tank because each opens {:.1} mm2 and has {:.1} mm2 of it",
                        area * 1e6,
                        1e6 * area / share
                    ),
                    "try the tank's inside, its width along the air first",
                ));
            }
            let ratio = share.sqrt();
            [
                sudden_contraction(1.0, ratio, edge),
                sudden_expansion(ratio, 1.0),
            ]
        }
    };
    let count = f64::from(passes);
    let mut tanks = ends
        .iter()
        .fold(TwoTerm::default(), |sum, f| {
            sum.and(TwoTerm::on_bore(
                f.k_laminar,
                f.k_turbulent,
                f.k_turbulent,
                d,
                area,
            ))
        })
        .times(count)
        .shared_by(conduit.parallel);
    if let Some(tank) = &tank {
        let turn = elbow_90(ElbowMake::Mitre, tank.diameter_m);
        let k = turn.k_turbulent;
        let one = TwoTerm::on_bore(turn.k_laminar, k, k, tank.diameter_m, tank.area_m2);
        tanks = tanks.and(one.times(TURNS_A_PASS * count));
    }
    lowered.laws.push(Law::TwoTerm(tanks));
    Ok(lowered)
}
