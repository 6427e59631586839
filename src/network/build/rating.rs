//! What a rating says of the air side: the overall conductance behind the rated heat, less the coolant's share.
//! A rating above what its own streams can carry is refused with the numbers.

use super::air_side::{Face, FaceDrop, REFERENCE_AIR_K};
use super::core;
use super::lower::{Outcome, Surroundings};
use crate::correlation::effectiveness::LARGEST_NTU;
use crate::correlation::{core_conductance_w_k, core_effectiveness};
use crate::finding::{Finding, FindingKind};
use crate::fluid::air::Air;
use crate::id::{PartId, Subject};
use crate::network::error::{NetworkError, Rule};
use crate::part::{
    AirConductance, AirPressureDrop, ConductanceLaw, RATED_EXPONENT, Radiator, Rating,
    coolant_conductance_w_k,
};
use crate::place::Place;
use crate::quantity::{
    HeatTransferCoefficient, Kind, LinearResistance, PressureDifference, QuadraticResistance,
    show_both,
};

/// Share of the rated air drop that is taken as proportional to the velocity: together with the quadratic half the
/// drop goes with its 1.5th power at the rated point, as that of louvred fins does (our choice).
const LINEAR_SHARE: f64 = 0.5;
/// A rated coolant drop that misses that of the tubes by more than this share is told of (our choice).
const DROP_MISFIT: f64 = 0.25;

/// The air side behind a rating.
///
/// `UA` solves `Q = E(UA) Cmin (T_coolant,in - T_air,in)` with the arrangement's `E`; `1/(hA)_air = 1/UA - 1/(hA)_coolant`
/// with the tubes' own coolant side at the rated flow, properties at the mean of coolant in and out; the face's law is
/// `U = U1 u^n` through that point.
///
/// Range: heat below both streams' ceilings and below what the arrangement can reach.
///
/// Source: definition of effectiveness and of resistances in series; the exponent is stated, or that of louvred fins.
pub(super) fn resolve(
    name: &str,
    radiator: &Radiator,
    rating: &Rating,
    around: &Surroundings<'_>,
    place: &Place,
) -> Outcome<Face> {
    let refuse = |key: &str, message: String, help: &str| {
        Err(NetworkError::new(
            Rule::BadPart,
            &place.key(key),
            message,
            help,
        ))
    };
    let count = radiator.tubes.count;
    let tubes = rating.tubes.unwrap_or(count);
    if tubes > count {
        return refuse(
            "tubes",
            format!("cannot rate more tubes than there are: got {tubes}, limit {count} (`count`)"),
            "try the tubes of the rated core; leave it out where the whole radiator was rated",
        );
    }
    let passes = rating.passes.unwrap_or(1);
    let face_m2 = radiator.face_area_m2() * f64::from(tubes) / f64::from(count);
    let face_m_s = match (rating.air_flow, rating.face_velocity) {
        (Some(flow), None) => flow.m3_s() / face_m2,
        (None, Some(velocity)) => velocity.m_s(),
        (Some(_), Some(_)) => {
            return refuse(
                "face_velocity",
                "cannot use both `air_flow` and `face_velocity` because each alone gives the air"
                    .into(),
                "keep the one that was measured",
            );
        }
        (None, None) => {
            return Err(NetworkError::new(
                Rule::BadPart,
                place,
                "cannot tell the air of the rating because neither `air_flow` nor `face_velocity` is given",
                "give one of them",
            ));
        }
    };
    let (heat_w, difference_k) = (rating.heat.w(), rating.inlet_temperature_difference.k());
    let inlet_k = rating.coolant_temperature.k();
    let air = Air::at(inlet_k - difference_k, 0.0)
        .map_err(|e| {
            NetworkError::new(
                Rule::BadPart,
                &place.key("inlet_temperature_difference"),
                format!("the air of the rating comes out of range: {e}"),
                "",
            )
        })?
        .properties();
    let enters = around.test_properties(&rating.coolant, inlet_k, place)?;
    let flow_kg_s = rating.coolant_flow.m3_s() * enters.density_kg_m3;
    let coolant_of = |k: f64| {
        around
            .coolants
            .get(&rating.coolant)
            .map(|c| c.properties_extended(k))
    };
    let air_w_k = air.density_kg_m3 * face_m_s * face_m2 * air.specific_heat_j_kg_k;
    let per_kelvin = heat_w / difference_k;
    let power = |w: f64| show_both(Kind::Power, w);
    if per_kelvin >= air_w_k {
        return refuse(
            "heat",
            format!(
                "cannot use the rating because its air cannot carry the heat: got {}, limit {} ({:.3} kg/m3 x {:.2} m/s x {:.0} J/(kg K) x {:.4} m2 x {:.1} K)",
                power(heat_w),
                power(air_w_k * difference_k),
                air.density_kg_m3,
                face_m_s,
                air.specific_heat_j_kg_k,
                face_m2,
                difference_k
            ),
            "try looking for the air flow and the temperature difference that belong to this heat",
        );
    }
    let ceiling_w_k = flow_kg_s * enters.specific_heat_j_kg_k;
    if per_kelvin >= ceiling_w_k {
        return refuse(
            "heat",
            format!(
                "cannot use the rating because its coolant cannot carry the heat: got {}, limit {} ({:.3} kg/s x {:.0} J/(kg K) x {:.1} K)",
                power(heat_w),
                power(ceiling_w_k * difference_k),
                flow_kg_s,
                enters.specific_heat_j_kg_k,
                difference_k
            ),
            "try looking for the coolant flow that belongs to this heat",
        );
    }
    // The mean temperature and the specific heat there depend on each other only weakly.
    let mut coolant = enters;
    for _ in 0..3 {
        let leaves_k = inlet_k - heat_w / (flow_kg_s * coolant.specific_heat_j_kg_k);
        coolant = coolant_of(0.5 * (inlet_k + leaves_k)).unwrap_or(enters);
    }
    let coolant_w_k = flow_kg_s * coolant.specific_heat_j_kg_k;
    let streams = radiator.arrangement.unwrap_or_default().streams(passes);
    let low = coolant_w_k.min(air_w_k);
    let Ok(overall_w_k) = core_conductance_w_k(streams, per_kelvin / low, coolant_w_k, air_w_k)
    else {
        let limit = core_effectiveness(streams, LARGEST_NTU * low, coolant_w_k, air_w_k);
        return refuse(
            "heat",
            format!(
                "cannot use the rating because no core of this arrangement is that effective: got {:.3} of what the smaller stream can carry, limit {:.3} ({} of {} at {:.1} K)",
                per_kelvin / low,
                limit,
                power(limit * low * difference_k),
                power(low * difference_k),
                difference_k
            ),
            "try looking for the flows that belong to this heat",
        );
    };
    let conduit = radiator
        .conduit_of(tubes, passes, radiator.tubes.length.m())
        .map_err(|e| NetworkError::new(Rule::BadCut, place, e, ""))?;
    let inside_w_k = coolant_conductance_w_k(
        &conduit,
        radiator.tubes.dimpled.as_ref(),
        flow_kg_s,
        &coolant,
    );
    if overall_w_k >= inside_w_k {
        return refuse(
            "heat",
            format!(
                "cannot use the rating because the coolant side of the tubes alone lets less through: got {overall_w_k:.0} W/K overall, limit {inside_w_k:.0} W/K in {tubes} tubes at Re {:.0}",
                flow_kg_s * conduit.shape.hydraulic_diameter_m()
                    / (conduit.shape.area_m2() * conduit.parallel * coolant.viscosity_pa_s)
            ),
            "try looking at the tubes' `inside`, `count` and the rating's `passes`; stirred tubes are `dimpled`",
        );
    }
    let outside_w_k = 1.0 / (1.0 / overall_w_k - 1.0 / inside_w_k);
    let exponent = rating.exponent.unwrap_or(RATED_EXPONENT);
    let mut findings = Vec::new();
    if rating.exponent.is_none() {
        findings.push(Finding::new(
            FindingKind::Default,
            Subject::whole(name),
            format!(
                "the rating gives one air flow, so its air side is taken to go with the power {RATED_EXPONENT} of the face velocity, as louvred fins do; away from {face_m_s:.1} m/s give `exponent` or a second rating's"
            ),
        ));
    }
    let drop = match (&radiator.air_side.pressure_drop, rating.air_pressure_drop) {
        (Some(law), _) => law.clone(),
        (None, Some(drop)) => {
            findings.push(Finding::new(
                FindingKind::Default,
                Subject::whole(name),
                format!(
                    "the rating gives one air pressure drop; half of it is taken as proportional to the velocity and half to its square; away from {face_m_s:.1} m/s give `pressure_drop`"
                ),
            ));
            let reference = Air::at(REFERENCE_AIR_K, 0.0).map_or(air, |a| a.properties());
            AirPressureDrop {
                linear: LinearResistance::from_pa_s_m(
                    LINEAR_SHARE * drop.pa() / face_m_s * reference.viscosity_pa_s
                        / air.viscosity_pa_s,
                ),
                quadratic: QuadraticResistance::from_pa_s2_m2(
                    (1.0 - LINEAR_SHARE) * drop.pa() / (face_m_s * face_m_s)
                        * reference.density_kg_m3
                        / air.density_kg_m3,
                ),
            }
        }
        (None, None) => {
            return refuse(
                "air_pressure_drop",
                "cannot tell what the air loses".into(),
                "give `air_pressure_drop`",
            );
        }
    };
    if let Some(rated) = rating.coolant_pressure_drop {
        let whole = place_of_radiator(name);
        let lowered = core::lower(
            around,
            PartId::new(name),
            radiator,
            &conduit,
            passes,
            &whole,
        )?;
        let own_pa: f64 = lowered
            .laws
            .iter()
            .map(|law| law.drop(flow_kg_s, &coolant).drop_pa)
            .sum();
        if (own_pa / rated.pa() - 1.0).abs() > DROP_MISFIT {
            findings.push(Finding::new(
                FindingKind::PoorFit,
                Subject::whole(name),
                format!(
                    "the rating's coolant pressure drop is {rated}, the tubes and tanks as described lose {}; look at the tubes' `inside`, the passes, and the nozzles, which are not in it",
                    PressureDifference::from_pa(own_pa)
                ),
            ));
        }
    }
    Ok(Face {
        conductance: AirConductance::Law(ConductanceLaw {
            at_1_m_s: HeatTransferCoefficient::from_w_m2_k(
                outside_w_k / face_m2 / face_m_s.powf(exponent),
            ),
            exponent,
        }),
        drop: FaceDrop::Stated(drop),
        findings,
    })
}

fn place_of_radiator(name: &str) -> Place {
    Place::root().key("radiators").key(name)
}
