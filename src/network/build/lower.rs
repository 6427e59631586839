//! Lowering of one two-end part to an element with its laws. Banks are expanded in `expand.rs`.

use crate::fluid::{Coolant, Properties};
use crate::id::PartId;
use crate::network::error::{NetworkError, Rule};
use crate::network::flow::{Element, FlowPassage, HeatRole, Passage};
use crate::network::names::nearest_help;
use crate::part::{
    BadRow, Channel, CheckValve, Conduit, Contact, Curve, CurveError, Fitting, HeatTable, Hose,
    Law, Lift, Lowered, Machine, Origin, Placed, Plate, PressureDrop, Pump, Restrictor,
    SinglePoint, ThermalTest, Thermostat, TwoTerm, Valve, WallFriction, one_way,
};
use crate::place::Place;
use crate::quantity::{Mass, PressureDifference, SpecificHeat, ThermalResistance, VolumeFlow};
use indexmap::IndexMap;

/// Temperature for which a pump curve holds unless it says otherwise: water at 20 degC, K.
const CURVE_TEMPERATURE_K: f64 = 293.15;

/// What lowering needs to know of the design around a part.
pub(super) struct Surroundings<'a> {
    pub coolants: &'a IndexMap<String, Coolant>,
    pub friction: WallFriction,
    pub single: SinglePoint,
}

/// An element, its laws and what it lets through.
pub(super) struct LoweredPart {
    pub element: Element,
    pub laws: Vec<Law>,
    pub passage: Passage,
    pub drop: Option<Lowered>,
}

impl LoweredPart {
    fn open(element: Element, laws: Vec<Law>) -> Self {
        Self {
            element,
            laws,
            passage: Passage::Open,
            drop: None,
        }
    }
}

/// Either a value or one refusal.
pub(super) type Outcome<T> = Result<T, NetworkError>;

fn bad_part(place: &Place, message: impl Into<String>) -> NetworkError {
    NetworkError::new(Rule::BadPart, place, message, "")
}

impl Surroundings<'_> {
    /// Properties of a named coolant at the temperature of a test.
    pub fn test_properties(
        &self,
        name: &str,
        temperature_k: f64,
        place: &Place,
    ) -> Outcome<Properties> {
        let coolant = self.coolants.get(name).ok_or_else(|| {
            NetworkError::new(
                Rule::UnknownName,
                &place.key("coolant"),
                format!("there is no coolant `{name}`"),
                nearest_help(name, self.coolants.keys()),
            )
        })?;
        coolant.properties(temperature_k).map_err(|e| {
            NetworkError::new(
                Rule::CoolantRange,
                &place.key("temperature"),
                e.to_string(),
                "",
            )
        })
    }

    /// A pressure-drop record, lowered.
    pub fn pressure_drop(&self, record: &PressureDrop, place: &Place) -> Outcome<Lowered> {
        record.way().map_err(|e| bad_part(place, e))?;
        let test = match (&record.coolant, record.temperature) {
            (Some(coolant), Some(temperature)) if record.points.is_some() => {
                self.test_properties(coolant, temperature.k(), place)?
            }
            _ => Coolant::water().properties_extended(CURVE_TEMPERATURE_K),
        };
        record
            .lower(test.viscosity_pa_s, test.density_kg_m3, self.single)
            .map_err(|e| bad_part(&place.key("points"), e))
    }

    /// A part whose law is a pressure-drop record.
    pub fn measured(
        &self,
        element: Element,
        record: &PressureDrop,
        place: &Place,
    ) -> Outcome<LoweredPart> {
        let lowered = self.pressure_drop(record, &place.key("pressure_drop"))?;
        let element = Element {
            measured_span_m3_s: lowered.span_m3_s,
            ..element
        };
        Ok(LoweredPart {
            element,
            laws: vec![Law::TwoTerm(lowered.law)],
            passage: Passage::Open,
            drop: Some(lowered),
        })
    }

    /// A hose or tail: wall friction and fittings.
    pub fn conduit(
        &self,
        mut element: Element,
        conduit: &Conduit,
        fitted: &[Fitting],
    ) -> LoweredPart {
        let loss = fitted
            .iter()
            .fold(TwoTerm::default(), |sum, f| sum.and(f.loss(&conduit.shape)));
        let mut laws = vec![conduit.friction(&self.friction)];
        if !fitted.is_empty() {
            laws.push(Law::TwoTerm(loss.shared_by(conduit.parallel)));
        }
        element.passage = Some(FlowPassage {
            area_m2: conduit.shape.area_m2(),
            diameter_m: conduit.shape.hydraulic_diameter_m(),
            parallel: conduit.parallel,
        });
        element.volume_m3 = Some(conduit.volume_m3());
        element.length_m = conduit.length_m;
        LoweredPart::open(element, laws)
    }

    /// A hose.
    pub fn hose(&self, id: PartId, hose: &Hose, place: &Place) -> Outcome<LoweredPart> {
        let at = match (hose.bore, &hose.section) {
            (None, Some(_)) => place.key("section"),
            _ => place.clone(),
        };
        let conduit = hose.conduit().map_err(|e| bad_part(&at, e.reason))?;
        let mut lowered = self.conduit(
            Element::new(id, "hose", hose.origin()),
            &conduit,
            &hose.fittings,
        );
        if hose.conductance_per_length.is_some_and(|c| c.w_m_k() > 0.0) {
            // The walker knows the place; see `assemble_loop.rs`.
            lowered.element.heat = HeatRole::Hose(usize::MAX);
        }
        if let Some(factor) = hose.friction_factor {
            lowered.laws[0] = conduit.stated_friction(factor);
        }
        Ok(lowered)
    }

    /// A pump, with the density of its curve.
    pub fn pump(&self, id: PartId, pump: &Pump, place: &Place) -> Outcome<(LoweredPart, f64)> {
        let density = match &pump.curve_coolant {
            Some(at) => {
                self.test_properties(&at.coolant, at.temperature.k(), &place.key("curve_coolant"))?
                    .density_kg_m3
            }
            None => {
                Coolant::water()
                    .properties_extended(CURVE_TEMPERATURE_K)
                    .density_kg_m3
            }
        };
        if pump.efficiency.is_some() && pump.electrical_power.is_some() {
            return Err(bad_part(
                place,
                "cannot use both `efficiency` and `electrical_power`; keep one",
            ));
        }
        let machine = machine(
            &pump.curve,
            density,
            pump.speed.unwrap_or(1.0),
            1.0,
            &place.key("curve"),
        )?;
        let stopped_loss = pump
            .stopped_loss
            .as_ref()
            .map(|loss| self.pressure_drop(loss, &place.key("stopped_loss")))
            .transpose()?
            .map(|l| l.law);
        let machine = Machine {
            stopped_loss,
            ..machine
        };
        let element = Element::new(id, "pump", pump.origin());
        Ok((
            LoweredPart::open(element, vec![Law::Machine(machine)]),
            density,
        ))
    }

    /// A restrictor.
    pub fn restrictor(&self, id: PartId, part: &Restrictor, place: &Place) -> Outcome<LoweredPart> {
        let law = part.lower().map_err(|e| bad_part(place, e))?;
        let mut element = Element::new(id, "restrictor", part.origin());
        let bore = part.bore.m();
        element.passage = Some(FlowPassage {
            area_m2: 0.25 * std::f64::consts::PI * bore * bore,
            diameter_m: bore,
            parallel: 1.0,
        });
        element.length_m = part.thickness.m();
        Ok(LoweredPart::open(element, vec![Law::TwoTerm(law)]))
    }

    /// A valve, which may be shut.
    pub fn valve(&self, id: PartId, part: &Valve, place: &Place) -> Outcome<LoweredPart> {
        let law = part.lower().map_err(|e| bad_part(place, e))?;
        let full = Valve {
            opening: Some(1.0),
            ..part.clone()
        };
        let open = full
            .lower()
            .map_err(|e| bad_part(place, e))?
            .unwrap_or_default();
        let element = Element::new(id, "valve", part.origin());
        Ok(LoweredPart {
            element,
            laws: vec![Law::TwoTerm(law.unwrap_or(open))],
            passage: if law.is_some() {
                Passage::Open
            } else {
                Passage::Shut
            },
            drop: None,
        })
    }

    /// A thermostat, shut; with its lift.
    pub fn thermostat(
        &self,
        id: PartId,
        part: &Thermostat,
        place: &Place,
    ) -> Outcome<(LoweredPart, Lift)> {
        let lift = part.lift().map_err(|e| bad_part(place, e))?;
        let element = Element::new(id, "thermostat", part.origin());
        let law = Law::TwoTerm(lift.law(lift.leak));
        Ok((LoweredPart::open(element, vec![law]), lift))
    }

    /// The heat of a device over its load, where it has such a table.
    pub fn heat_table(&self, plate: &Plate, place: &Place) -> Outcome<Option<HeatTable>> {
        let Some(rows) = &plate.heat_over_load else {
            return Ok(None);
        };
        let at = place.key("heat_over_load");
        if let Some(heat) = plate.heat {
            return Err(NetworkError::new(
                Rule::BadPart,
                &at,
                format!(
                    "cannot tell the heat because both `heat` {heat} and `heat_over_load` are given"
                ),
                "try keeping the table, with `load` in each case",
            ));
        }
        HeatTable::of(rows)
            .map(Some)
            .map_err(|row| bad_row(&at, row))
    }

    /// The path of heat of one circuit of a part: stated, measured, or of its channels.
    pub fn contact(
        &self,
        stated: Option<ThermalResistance>,
        test: Option<&ThermalTest>,
        channel: Option<&Channel>,
        circuits: u32,
        place: &Place,
    ) -> Outcome<Contact> {
        one_way(stated, test, channel).map_err(|e| bad_part(place, e))?;
        if let Some(test) = test {
            let at = place.key("thermal_test");
            let inlet_k = test.coolant_inlet.k();
            let coolant = self.test_properties(&test.coolant, inlet_k, &at)?;
            return test
                .contact(&coolant, circuits)
                .map_err(|e| bad_part(&at, e));
        }
        if let Some(channel) = channel {
            let at = place.key("channel");
            return channel
                .contact(circuits)
                .map_err(|e| bad_part(&at.key("section"), e));
        }
        let whole_k_w = stated.map_or(0.0, |r| r.k_w());
        Ok(Contact::Held(whole_k_w * f64::from(circuits)))
    }

    /// One way of a mixing thermostat, with its loss.
    pub fn mixing_way(&self, id: PartId, origin: Option<Origin>, law: TwoTerm) -> LoweredPart {
        let element = Element::new(id, "mixing_thermostat", origin);
        LoweredPart::open(element, vec![Law::TwoTerm(law)])
    }

    /// A check valve.
    pub fn check_valve(
        &self,
        id: PartId,
        part: &CheckValve,
        place: &Place,
    ) -> Outcome<LoweredPart> {
        let element = Element::new(id, "check_valve", part.origin());
        let lowered = self.measured(element, &part.pressure_drop, place)?;
        Ok(LoweredPart {
            passage: Passage::OneWay {
                cracking_pa: part.cracking_pressure.map_or(0.0, |p| p.pa()),
            },
            ..lowered
        })
    }
}

/// A row of a table that cannot stand, at its place.
pub(super) fn bad_row(table: &Place, row: BadRow) -> NetworkError {
    NetworkError::new(
        Rule::BadCurve,
        &table.index(row.index),
        row.message,
        row.help,
    )
}

/// A pump or fan curve: no flow first, flow rising, rise falling.
pub(super) fn machine(
    points: &[(VolumeFlow, PressureDifference)],
    density_kg_m3: f64,
    speed: f64,
    parallel: f64,
    place: &Place,
) -> Outcome<Machine> {
    let plain: Vec<(f64, f64)> = points.iter().map(|(q, p)| (q.m3_s(), p.pa())).collect();
    let refuse = |index: usize, message: String, help: &str| {
        Err(NetworkError::new(
            Rule::BadCurve,
            &place.index(index),
            message,
            help,
        ))
    };
    for (index, pair) in points.windows(2).enumerate() {
        if pair[1].1.pa() >= pair[0].1.pa() {
            return refuse(
                index + 1,
                format!(
                    "the curve must fall, but its rise goes from {} to {} as the flow grows",
                    pair[0].1, pair[1].1
                ),
                "try reading the curve again from no flow on; leave out a dip at small flow",
            );
        }
    }
    if let Some((flow, _)) = points.first()
        && flow.m3_s() != 0.0
    {
        return refuse(
            0,
            format!("the curve must begin at no flow, but begins at {flow}"),
            "try adding the shut-off point, such as [\"0 L/min\", \"50 kPa\"]",
        );
    }
    if let Some((index, (_, rise))) = points.iter().enumerate().find(|(_, p)| p.1.pa() < 0.0) {
        return refuse(
            index,
            format!("a rise of {rise} is below zero"),
            "try ending the curve where the rise is zero",
        );
    }
    match Curve::through(&plain) {
        Ok(curve) => Ok(Machine {
            curve,
            curve_density_kg_m3: density_kg_m3,
            speed,
            parallel,
            stopped_loss: None,
        }),
        Err(CurveError::TooFewPoints { got, needed }) => refuse(
            0,
            format!("a curve needs at least {needed} points, but has {got}"),
            "try the shut-off point and the free-flow point at least",
        ),
        Err(
            CurveError::NotRising { index }
            | CurveError::Rises { index }
            | CurveError::BadValue { index },
        ) => refuse(
            index,
            match index.checked_sub(1).map(|before| points[before].0) {
                Some(before) => format!(
                    "the flow must rise from point to point, but goes from {before} to {}",
                    points[index].0
                ),
                None => format!(
                    "the flow {} is not a number to compute with",
                    points[index].0
                ),
            },
            "try writing the points in rising order of flow",
        ),
    }
}

/// Mass times specific heat, J/K; 0 where either is not known.
pub(super) fn heat_capacity_j_k(mass: Option<Mass>, specific_heat: Option<SpecificHeat>) -> f64 {
    match (mass, specific_heat) {
        (Some(mass), Some(specific_heat)) => mass.kg() * specific_heat.j_kg_k(),
        _ => 0.0,
    }
}

/// The heat role of a plain part.
pub(super) fn with_heat(mut lowered: LoweredPart, heat: HeatRole) -> LoweredPart {
    lowered.element.heat = heat;
    lowered
}
