//! Reads a text as a quantity of a wanted kind: number, unit, and the rules that keep gauge from absolute and
//! a temperature from a temperature difference.

use super::atom::ATOMS;
use super::error::{QuantityError, Refusal};
use super::family::UnitFamily;
use super::kind::Kind;
use super::number::split_number;
use super::unit::{Reference, Scale, Unit, read_unit};

/// A text that has been read: its SI value, and what its unit says about the zero of a pressure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Reading {
    pub si: f64,
    pub reference: Reference,
}

impl Kind {
    /// Reads `text` as this kind and gives its SI value.
    ///
    /// A number is a decimal, with or without exponent, a fraction `3/4` or a mixed number `1 1/2`; its unit follows,
    /// with or without a blank. Letter case is forgiven where one reading remains. For [`Kind::Pressure`] the value
    /// is in Pa and does not tell gauge from absolute; read a [`Pressure`](super::Pressure) to keep that.
    ///
    /// # Errors
    /// A [`QuantityError`] that says what was wanted and what stands there instead.
    ///
    /// ```
    /// use loopwright::quantity::Kind;
    ///
    /// assert_eq!(Kind::VolumeFlow.parse("12 L/min"), Ok(2e-4));
    /// assert_eq!(
    ///     Kind::TemperatureDifference.parse("5 degC").unwrap_err().to_string(),
    ///     "a temperature difference is wanted, but `5 degC` is not written as one: \
    ///      a difference is in K or in F difference; try \"3 K\" or \"5 F difference\""
    /// );
    /// ```
    pub fn parse(self, text: &str) -> Result<f64, QuantityError> {
        read(self, text).map(|reading| reading.si)
    }
}

/// Reads `text` as `wanted`.
pub(super) fn read(wanted: Kind, text: &str) -> Result<Reading, QuantityError> {
    let text = text.trim();
    read_parts(wanted, text).map_err(|refusal| QuantityError::new(wanted, text, refusal))
}

fn read_parts(wanted: Kind, text: &str) -> Result<Reading, Refusal> {
    let (number, unit_text) = split_number(text)?;
    if unit_text.is_empty() {
        return Err(Refusal::MissingUnit);
    }
    let unit = read_unit(unit_text).map_err(|refusal| suggest(wanted, unit_text, refusal))?;
    check_unit(wanted, &unit)?;
    let si = unit.to_si(number);
    if !si.is_finite() {
        return Err(Refusal::NotFinite);
    }
    match wanted {
        Kind::Temperature if si < 0.0 => Err(Refusal::BelowAbsoluteZero),
        Kind::AbsolutePressure if si < 0.0 => Err(Refusal::BelowVacuum),
        Kind::Pressure if si < 0.0 && unit.reference == Reference::Absolute => {
            Err(Refusal::BelowVacuum)
        }
        _ => Ok(Reading {
            si,
            reference: unit.reference,
        }),
    }
}

/// Whether `unit` measures `wanted`.
fn check_unit(wanted: Kind, unit: &Unit) -> Result<(), Refusal> {
    let same_form = match wanted {
        Kind::Density => !unit.has_pressure,
        _ if wanted.is_resistance() => unit.has_pressure,
        _ => true,
    };
    if unit.dimension != wanted.dimension() || !same_form {
        return Err(Refusal::WrongKind { got: noun_of(unit) });
    }
    if wanted.is_temperature() {
        return match (wanted, unit.scale) {
            (Kind::Temperature, Scale::Kelvin | Scale::Celsius | Scale::Fahrenheit) => Ok(()),
            (Kind::Temperature, _) => Err(Refusal::PointWanted),
            (_, Scale::Kelvin | Scale::FahrenheitDifference | Scale::Linear) => Ok(()),
            _ => Err(Refusal::TemperatureDifferenceWanted),
        };
    }
    match (wanted, unit.reference) {
        (Kind::AbsolutePressure, Reference::Absolute) => Ok(()),
        (Kind::AbsolutePressure, _) => Err(Refusal::AbsoluteWanted),
        (Kind::Pressure, _) | (_, Reference::Unsaid) => Ok(()),
        (Kind::GaugePressure, Reference::Gauge) => Ok(()),
        (Kind::GaugePressure, Reference::Absolute) => Err(Refusal::GaugeWanted),
        _ => Err(Refusal::DifferenceWanted),
    }
}

/// What a unit measures, in words.
fn noun_of(unit: &Unit) -> &'static str {
    if unit.dimension == Kind::Pressure.dimension() {
        return match unit.reference {
            Reference::Absolute => Kind::AbsolutePressure.noun(),
            Reference::Gauge => Kind::GaugePressure.noun(),
            Reference::Unsaid => Kind::Pressure.noun(),
        };
    }
    if matches!(
        unit.scale,
        Scale::FahrenheitDifference | Scale::CelsiusDifference
    ) {
        return Kind::TemperatureDifference.noun();
    }
    Kind::ALL
        .iter()
        .find(|kind| {
            kind.dimension() == unit.dimension
                && (unit.has_pressure || !kind.is_resistance())
                && !(unit.has_pressure && **kind == Kind::Density)
        })
        .map_or("of no kind that is used here", |kind| kind.noun())
}

/// Adds to an unknown unit the unit that may have been meant: one of the wanted kind first, any other after.
fn suggest(wanted: Kind, unit_text: &str, refusal: Refusal) -> Refusal {
    let Refusal::UnknownUnit { unit, .. } = refusal else {
        return refusal;
    };
    let mut best: Option<(usize, usize, &'static str)> = None;
    for family in [UnitFamily::Metric, UnitFamily::Us] {
        let customary = wanted.customary(family);
        let rungs = customary.rungs.iter().map(|rung| rung.symbol);
        for symbol in rungs.chain(customary.also.iter().copied()) {
            consider(unit_text, symbol, &mut best);
        }
    }
    if best.is_none() {
        let plain = ATOMS
            .iter()
            .filter(|atom| atom.dimension == wanted.dimension());
        for name in plain.chain(ATOMS).flat_map(|atom| atom.names.first()) {
            consider(&unit, name, &mut best);
        }
    }
    Refusal::UnknownUnit {
        unit,
        suggestion: best.map(|(_, _, symbol)| symbol),
    }
}

/// Keeps `symbol` if it is near to `text` and nearer than the best so far.
fn consider(text: &str, symbol: &'static str, best: &mut Option<(usize, usize, &'static str)>) {
    const LONGEST: usize = 24;
    if text.len() < 2 || text.len() > LONGEST {
        return;
    }
    let folded = strsim::damerau_levenshtein(&text.to_lowercase(), &symbol.to_lowercase());
    if folded > (symbol.len() / 3).max(1) || symbol.len() < 2 {
        return;
    }
    let exact = strsim::damerau_levenshtein(text, symbol);
    if best.is_none_or(|(f, e, _)| (folded, exact) < (f, e)) {
        *best = Some((folded, exact, symbol));
    }
}
