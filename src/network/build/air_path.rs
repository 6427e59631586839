//! The air path of a radiator, or of several one behind another, as a network: streams of air through strips of face,
//! under a shroud or beside it, with grille, fans, way out and ram pressure.

use super::air_checks::{cut_errors, misplaced};
use super::air_side::{Face, REFERENCE_AIR_K};
use super::lower::{Outcome, Surroundings, machine};
use super::stack::{Cell, Layer, cells};
use crate::fluid::Properties;
use crate::fluid::air::Air;
use crate::id::PartId;
use crate::network::error::{NetworkError, Rule};
use crate::network::flow::{Element, FlowNet, FlowPassage, NodeKind, Passage};
use crate::network::names::nearest_help;
use crate::network::vehicle::{AirPath, FanTie, Strip};
use crate::part::{AirLoss, Law, Radiator, TwoTerm};
use crate::place::Place;
use crate::quantity::{GaugePressure, Pressure};

/// Shares of face may exceed the whole by this much: round-off of decimal fractions.
const SHARE_ROUND_OFF: f64 = 1e-9;

/// A radiator as it stands in a stack.
pub(super) struct Standing<'a> {
    pub index: usize,
    pub name: &'a str,
    pub radiator: &'a Radiator,
    pub face: Face,
    pub place: Place,
}

/// Strips of every core of every radiator of a stack.
pub(super) type Strips = Vec<Vec<Vec<Strip>>>;

/// The air path of a stack, front radiator first, and for each radiator and core the strips.
pub(super) fn build(
    stack: &[Standing<'_>],
    around: &Surroundings<'_>,
) -> Result<(AirPath, Strips), Vec<NetworkError>> {
    let (Some(front_one), Some(rear)) = (stack.first(), stack.last()) else {
        return Err(Vec::new());
    };
    let mut errors: Vec<NetworkError> = stack.iter().flat_map(cut_errors).collect();
    errors.extend(misplaced(stack));
    if !errors.is_empty() {
        return Err(errors);
    }
    let radiators: Vec<&Radiator> = stack.iter().map(|s| s.radiator).collect();
    let mut net = FlowNet::default();
    let still = Pressure::Gauge(GaugePressure::from_pa(0.0));
    let mut fixed = |end: &str| {
        net.add_node(
            PartId::new(format!("{} {end}", front_one.name)),
            NodeKind::Fixed { pressure: still },
        )
    };
    let (front, back) = (fixed("front"), fixed("back"));
    let mut laying = Laying {
        stack,
        cells: cells(&radiators),
        strips: radiators
            .iter()
            .map(|r| vec![Vec::new(); r.cores.len()])
            .collect(),
        face: front,
        bay: back,
        net,
    };
    let mouth = laying.common_losses(front_one, rear, (front, back), &mut errors);
    let fans = laying.lay_fans(rear, around, &mut errors);
    laying.lay_uncovered(rear, &mut errors);
    if !errors.is_empty() {
        return Err(errors);
    }
    let ram = front_one.radiator.ram.as_ref();
    let path = AirPath {
        radiator: front_one.name.to_owned(),
        net: laying.net,
        front,
        back,
        mouth,
        fans,
        ram_coefficient: ram.map_or(0.0, |r| r.pressure_coefficient),
    };
    Ok((path, laying.strips))
}

/// An air path that is being laid.
struct Laying<'a> {
    stack: &'a [Standing<'a>],
    cells: Vec<Cell>,
    strips: Strips,
    net: FlowNet,
    /// Node at the front face.
    face: usize,
    /// Node behind fans and uncovered face.
    bay: usize,
}

impl Laying<'_> {
    /// Grille, duct and way out, which all air passes; returns the branch before the face.
    fn common_losses(
        &mut self,
        first: &Standing<'_>,
        rear: &Standing<'_>,
        (front, back): (usize, usize),
        errors: &mut Vec<NetworkError>,
    ) -> Option<usize> {
        let none = Default::default();
        let before = first.radiator.air_losses.as_ref().unwrap_or(&none);
        let after = rear.radiator.air_losses.as_ref().unwrap_or(&none);
        let mut mouth = None;
        let start = self.net.elements.len();
        for (key, loss) in [("grille", &before.grille), ("duct", &before.duct)] {
            if let Some(loss) = loss {
                self.add_loss(first, key, loss, errors);
            }
        }
        let end = self.net.elements.len();
        if end > start {
            let id = PartId::new(format!("{} face", first.name));
            self.face = self.net.add_node(id, NodeKind::Meeting);
            mouth = Some(
                self.net
                    .add_branch(front, self.face, start..end, Passage::Open),
            );
        }
        if let Some(loss) = &after.exit {
            self.add_loss(rear, "exit", loss, errors);
            let id = PartId::new(format!("{} bay", rear.name));
            self.bay = self.net.add_node(id, NodeKind::Meeting);
            let end = self.net.elements.len();
            self.net
                .add_branch(self.bay, back, end - 1..end, Passage::Open);
        }
        mouth
    }

    fn add_loss(
        &mut self,
        owner: &Standing<'_>,
        key: &str,
        loss: &AirLoss,
        errors: &mut Vec<NetworkError>,
    ) {
        let face_m2 = owner.radiator.face_area_m2();
        let at = owner.place.key("air_losses").key(key);
        let id = PartId::new(format!("{} {key}", owner.name));
        match air_loss(loss, face_m2, &at) {
            Ok(law) => {
                let area_m2 = loss.area.map_or(face_m2, |a| a.m2());
                let element = passing(id, "air loss", owner.radiator, area_m2);
                self.net.add_element(element, vec![Law::TwoTerm(law)]);
            }
            Err(error) => {
                errors.push(error);
                self.net
                    .add_element(Element::new(id, "air loss", None), Vec::new());
            }
        }
    }

    /// Fans with what they cover; fans of one shroud share a plenum.
    fn lay_fans(
        &mut self,
        rear: &Standing<'_>,
        around: &Surroundings<'_>,
        errors: &mut Vec<NetworkError>,
    ) -> Vec<FanTie> {
        let mut fans = Vec::new();
        let mut plenums: Vec<(&str, usize)> = Vec::new();
        for (index, fan) in rear.radiator.fans.iter().enumerate() {
            let at = rear.place.key("fans").index(index);
            let shared = (fan.shroud.as_deref())
                .and_then(|name| plenums.iter().find(|p| p.0 == name))
                .map(|p| p.1);
            match self.add_fan(rear, index, shared, around, &at) {
                Ok((plenum, tie)) => {
                    if let (Some(name), None) = (&fan.shroud, shared) {
                        plenums.push((name, plenum));
                    }
                    for (core, share) in &fan.face_share_covered {
                        if let Some(k) = rear.radiator.cores.get_index_of(core)
                            && share.0 > 0.0
                        {
                            let under = format!("under {}", tie.name);
                            self.add_streams(Layer::Core(k), share.0, plenum, &under);
                        }
                    }
                    fans.push(tie);
                }
                Err(error) => errors.push(error),
            }
        }
        fans
    }

    /// What no shroud covers, and what passes beside the rear face.
    fn lay_uncovered(&mut self, rear: &Standing<'_>, errors: &mut Vec<NetworkError>) {
        for (k, core) in rear.radiator.cores.keys().enumerate() {
            let covers = rear.radiator.fans.iter().enumerate();
            let covers: Vec<(usize, f64)> = covers
                .filter_map(|(f, fan)| Some((f, fan.face_share_covered.get(core)?.0)))
                .filter(|(_, share)| *share > 0.0)
                .collect();
            let open = 1.0 - covers.iter().map(|c| c.1).sum::<f64>();
            if open < -SHARE_ROUND_OFF {
                let names: Vec<String> = (covers.iter())
                    .map(|(f, share)| format!("`{}` {share}", rear.radiator.fan_name(*f)))
                    .collect();
                errors.push(NetworkError::new(
                    Rule::BadCut,
                    &rear.place.key("fans"),
                    format!(
                        "the fans cover {} of the face of the core `{core}` together, so their shrouds overlap ({}); limit 1",
                        (1e4 * (1.0 - open)).round() / 1e4,
                        names.join(", ")
                    ),
                    "try shares that sum to 1 at most for each core",
                ));
            } else if open > SHARE_ROUND_OFF {
                self.add_streams(Layer::Core(k), open, self.bay, "uncovered");
            }
        }
        for layer in [Layer::Lost, Layer::Beside] {
            self.add_streams(layer, 1.0, self.bay, "uncovered");
        }
    }

    /// The streams that leave the stack through one thing of its rear face, a share of each.
    fn add_streams(&mut self, rear: Layer, share: f64, to: usize, word: &str) {
        for c in 0..self.cells.len() {
            if self.cells[c].layers.last() == Some(&rear) {
                self.add_stream(c, share, to, word);
            }
        }
    }

    fn add_stream(&mut self, cell: usize, share: f64, to: usize, word: &str) {
        let whole_m2 = self.cells[cell].face_m2;
        let face_m2 = whole_m2 * share;
        let layers = self.cells[cell].layers.clone();
        let label = |s: usize| match layers[s] {
            Layer::Core(k) => {
                let standing = &self.stack[s];
                let core = standing.radiator.cores.get_index(k).map_or("", |c| c.0);
                format!("{}.{core}", standing.name)
            }
            _ => format!("{} lost face", self.stack[s].name),
        };
        let shown: Vec<usize> = (0..layers.len())
            .filter(|s| layers[*s] != Layer::Beside)
            .collect();
        let names: Vec<String> = shown.iter().map(|s| label(*s)).collect();
        let start = self.net.elements.len();
        let branch = self.net.branches.len();
        // What the air loses behind the stack stands in its last face.
        let ram = self.stack.first().and_then(|s| s.radiator.ram.as_ref());
        let exit = ram.map_or(0.0, |r| r.exit_loss);
        for (place, s) in shown.iter().enumerate() {
            let radiator = self.stack[*s].radiator;
            let mut id = names[place].clone();
            if place > 0 {
                id.push_str(&format!(" behind {}", names[place - 1]));
            }
            if place + 1 < names.len() {
                id.push_str(&format!(" before {}", names[place + 1]));
            }
            let last = place + 1 == shown.len();
            let exit = if last { exit } else { 0.0 };
            let laws = self.stack[*s].face.laws(face_m2, exit);
            let id = PartId::new(format!("{id} {word}"));
            let element = passing(id, "air strip", radiator, face_m2);
            let element = self.net.add_element(element, laws);
            if let Layer::Core(k) = layers[*s]
                && let Some((_, core)) = radiator.cores.get_index(k)
            {
                self.strips[*s][k].push(Strip {
                    branch,
                    element,
                    face_m2,
                    share: share * (whole_m2 / radiator.core_face_m2(core)),
                });
            }
        }
        let end = self.net.elements.len();
        self.net
            .add_branch(self.face, to, start..end, Passage::Open);
    }

    fn add_fan(
        &mut self,
        rear: &Standing<'_>,
        index: usize,
        shared: Option<usize>,
        around: &Surroundings<'_>,
        at: &Place,
    ) -> Outcome<(usize, FanTie)> {
        let radiator = rear.radiator;
        let fan = &radiator.fans[index];
        let name = radiator.fan_name(index);
        let mut covered_m2 = 0.0;
        for (core, share) in &fan.face_share_covered {
            let Some(cut) = radiator.cores.get(core) else {
                return Err(NetworkError::new(
                    Rule::UnknownName,
                    &at.key("face_share_covered").key(core),
                    format!("the radiator has no core `{core}`"),
                    nearest_help(core, radiator.cores.keys()),
                ));
            };
            covered_m2 += share.0 * radiator.core_face_m2(cut);
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
        let shroud = (fan.shroud_loss.as_ref())
            .map(|loss| air_loss(loss, covered_m2, &at.key("shroud_loss")))
            .transpose()?;
        let plenum = shared.unwrap_or_else(|| {
            self.net
                .add_node(PartId::new(format!("{name} plenum")), NodeKind::Meeting)
        });
        let element = self.net.add_element(
            Element::new(PartId::new(&name), "fan", radiator.origin),
            vec![Law::Machine(law)],
        );
        if let Some(law) = shroud {
            let id = PartId::new(format!("{name} shroud"));
            self.net.add_element(
                Element::new(id, "air loss", radiator.origin),
                vec![Law::TwoTerm(law)],
            );
        }
        let end = self.net.elements.len();
        let branch = self
            .net
            .add_branch(plenum, self.bay, element..end, Passage::Open);
        let tie = FanTie {
            name,
            radiator: rear.index,
            branch,
            element,
        };
        Ok((plenum, tie))
    }
}

/// Properties of the air for which resistances are stated.
fn reference_air() -> Properties {
    Air::at(REFERENCE_AIR_K, 0.0).map_or(
        Properties {
            density_kg_m3: 1.204,
            viscosity_pa_s: 1.81e-5,
            specific_heat_j_kg_k: 1006.0,
            conductivity_w_m_k: 0.0257,
        },
        |a| a.properties(),
    )
}

fn air_loss(loss: &AirLoss, face_m2: f64, at: &Place) -> Outcome<TwoTerm> {
    let air = reference_air();
    loss.law(face_m2, air.viscosity_pa_s, air.density_kg_m3)
        .map_err(|e| NetworkError::new(Rule::BadPart, at, e, ""))
}

fn passing(id: PartId, kind: &'static str, radiator: &Radiator, area_m2: f64) -> Element {
    let mut element = Element::new(id, kind, radiator.origin);
    element.passage = Some(FlowPassage {
        area_m2,
        diameter_m: area_m2.sqrt(),
        parallel: 1.0,
    });
    element
}
