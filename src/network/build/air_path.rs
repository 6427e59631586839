//! The air path of a radiator as a network: strips of face under a shroud and beside it, fans, ram pressure.

use super::air_side::Face;
use super::lower::{Outcome, Surroundings, machine};
use crate::id::PartId;
use crate::network::error::{NetworkError, Rule};
use crate::network::flow::{Element, FlowNet, FlowPassage, NodeKind, Passage};
use crate::network::names::nearest_help;
use crate::network::vehicle::{AirPath, FanTie, Strip};
use crate::part::{Conduit, Law, Radiator};
use crate::place::Place;
use crate::quantity::{GaugePressure, Pressure};

/// Shares of face may exceed the whole by this much: round-off of decimal fractions.
const SHARE_ROUND_OFF: f64 = 1e-9;

/// The air path and, for each core in the order of the document, its strips.
pub(super) fn build(
    name: &str,
    radiator: &Radiator,
    face: &Face,
    around: &Surroundings<'_>,
    place: &Place,
) -> Result<(AirPath, Vec<Vec<Strip>>), Vec<NetworkError>> {
    let mut errors = cut_errors(radiator, place);
    let mut net = FlowNet::default();
    let still = Pressure::Gauge(GaugePressure::from_pa(0.0));
    let front = net.add_node(
        PartId::new(format!("{name} front")),
        NodeKind::Fixed { pressure: still },
    );
    let back = net.add_node(
        PartId::new(format!("{name} back")),
        NodeKind::Fixed { pressure: still },
    );
    let mut fans = Vec::new();
    let mut strips = vec![Vec::new(); radiator.cores.len()];
    let mut covered = vec![0.0; radiator.cores.len()];
    for index in 0..radiator.fans.len() {
        let at = place.key("fans").index(index);
        match add_fan(&mut net, radiator, index, back, around, &at) {
            Ok((plenum, fan)) => {
                for (core, share) in &radiator.fans[index].face_share_covered {
                    if let Some(k) = radiator.cores.get_index_of(core)
                        && share.0 > 0.0
                    {
                        covered[k] += share.0;
                        let label = format!("{name}.{core} under {}", fan.name);
                        strips[k].push(add_strip(
                            &mut net,
                            radiator,
                            face,
                            k,
                            share.0,
                            (front, plenum),
                            &label,
                        ));
                    }
                }
                fans.push(fan);
            }
            Err(error) => errors.push(error),
        }
    }
    for (k, (core, _)) in radiator.cores.iter().enumerate() {
        let open = 1.0 - covered[k];
        if open < -SHARE_ROUND_OFF {
            errors.push(NetworkError::new(
                Rule::BadCut,
                &place.key("fans"),
                format!(
                    "the fans cover {} of the face of the core `{core}`, limit 1",
                    (1e4 * covered[k]).round() / 1e4
                ),
                "try shares that sum to 1 at most for each core",
            ));
        } else if open > SHARE_ROUND_OFF {
            let label = format!("{name}.{core} uncovered");
            strips[k].push(add_strip(
                &mut net,
                radiator,
                face,
                k,
                open,
                (front, back),
                &label,
            ));
        }
    }
    if !errors.is_empty() {
        return Err(errors);
    }
    let path = AirPath {
        radiator: name.to_owned(),
        net,
        front,
        back,
        fans,
        ram_coefficient: radiator
            .ram
            .as_ref()
            .map_or(0.0, |r| r.pressure_coefficient),
    };
    Ok((path, strips))
}

/// The coolant passage of a core; a refusal is placed at the tubes or at the core.
pub(super) fn core_conduit(radiator: &Radiator, core: usize, place: &Place) -> Outcome<Conduit> {
    let (name, cut) = radiator
        .cores
        .get_index(core)
        .ok_or_else(|| NetworkError::new(Rule::UnknownName, place, "there is no such core", ""))?;
    if let Err(e) = radiator.tubes.inside.shape() {
        let at = place.key("tubes").key("inside");
        return Err(NetworkError::new(Rule::BadPart, &at, e.reason, ""));
    }
    let at = place.key("cores").key(name);
    radiator
        .core_conduit(cut)
        .map_err(|e| NetworkError::new(Rule::BadCut, &at, e, ""))
}

/// The cores and lost tubes come out of the tubes there are.
fn cut_errors(radiator: &Radiator, place: &Place) -> Vec<NetworkError> {
    let used: u64 = radiator.cores.values().map(|c| u64::from(c.tubes)).sum();
    let lost = u64::from(radiator.lost_tubes.unwrap_or(0));
    let count = u64::from(radiator.tubes.count);
    if used + lost <= count {
        return Vec::new();
    }
    vec![NetworkError::new(
        Rule::BadCut,
        &place.key("cores"),
        format!("the cores take {used} tubes and {lost} are lost, but the radiator has {count}"),
        format!("try cores of {} tubes together", count.saturating_sub(lost)),
    )]
}

fn add_strip(
    net: &mut FlowNet,
    radiator: &Radiator,
    face: &Face,
    core: usize,
    share: f64,
    (from, to): (usize, usize),
    label: &str,
) -> Strip {
    let face_m2 = radiator
        .cores
        .get_index(core)
        .map_or(0.0, |(_, c)| radiator.core_face_m2(c))
        * share;
    let exit = radiator.ram.as_ref().map_or(0.0, |r| r.exit_loss);
    let laws = face.laws(face_m2, exit);
    let mut element = Element::new(PartId::new(label), "air strip", radiator.origin);
    element.passage = Some(FlowPassage {
        area_m2: face_m2,
        diameter_m: face_m2.sqrt(),
        parallel: 1.0,
    });
    let element = net.add_element(element, laws);
    let branch = net.add_branch(from, to, element..element + 1, Passage::Open);
    Strip {
        branch,
        face_m2,
        share,
    }
}

fn add_fan(
    net: &mut FlowNet,
    radiator: &Radiator,
    index: usize,
    back: usize,
    around: &Surroundings<'_>,
    at: &Place,
) -> Outcome<(usize, FanTie)> {
    let fan = &radiator.fans[index];
    let name = radiator.fan_name(index);
    for core in fan.face_share_covered.keys() {
        if !radiator.cores.contains_key(core) {
            return Err(NetworkError::new(
                Rule::UnknownName,
                &at.key("face_share_covered").key(core),
                format!("the radiator has no core `{core}`"),
                nearest_help(core, radiator.cores.keys()),
            ));
        }
    }
    let parallel = f64::from(fan.count.unwrap_or(1));
    let density = crate::fluid::air::REFERENCE_AIR_DENSITY_KG_M3;
    let mut law = machine(
        &fan.curve,
        density,
        fan.speed.unwrap_or(1.0),
        parallel,
        &at.key("curve"),
    )?;
    if let Some(loss) = &fan.stopped_loss {
        law.stopped_loss = Some(around.pressure_drop(loss, &at.key("stopped_loss"))?.law);
    }
    let plenum = net.add_node(PartId::new(format!("{name} plenum")), NodeKind::Meeting);
    let element = net.add_element(
        Element::new(PartId::new(&name), "fan", radiator.origin),
        vec![Law::Machine(law)],
    );
    let branch = net.add_branch(plenum, back, element..element + 1, Passage::Open);
    Ok((
        plenum,
        FanTie {
            name,
            branch,
            element,
        },
    ))
}
