//! The table of unit words: spelling, factor to SI, dimension. Not compounds, which `unit.rs` builds from these.
//!
//! A factor is kept as a ratio of two whole numbers wherever the definition allows, so `19 mm` is the double nearest
//! to 0.019. Source: NIST Special Publication 811 (2008), appendix B.8 and its footnotes, unless the line says otherwise.

use std::f64::consts::PI;

use super::kind::Dimension;

/// What a unit word says beyond its factor.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Role {
    Plain,
    /// A pressure that does not say gauge or absolute.
    Pressure,
    PressureGauge,
    PressureAbsolute,
    Kelvin,
    Celsius,
    Fahrenheit,
}

/// One unit word.
#[derive(Debug)]
pub(super) struct Atom {
    /// Spellings; the first is the one to suggest.
    pub names: &'static [&'static str],
    pub num: f64,
    pub den: f64,
    pub dimension: Dimension,
    pub role: Role,
}

const LENGTH: Dimension = [1, 0, 0, 0, 0, 0];
const VOLUME: Dimension = [3, 0, 0, 0, 0, 0];
const MASS: Dimension = [0, 1, 0, 0, 0, 0];
const TIME: Dimension = [0, 0, 1, 0, 0, 0];
const TEMPERATURE: Dimension = [0, 0, 0, 1, 0, 0];
const CURRENT: Dimension = [0, 0, 0, 0, 1, 0];
const ANGLE: Dimension = [0, 0, 0, 0, 0, 1];
const VELOCITY: Dimension = [1, 0, -1, 0, 0, 0];
const FLOW: Dimension = [3, 0, -1, 0, 0, 0];
const FORCE: Dimension = [1, 1, -2, 0, 0, 0];
const PRESSURE: Dimension = [-1, 1, -2, 0, 0, 0];
const ENERGY: Dimension = [2, 1, -2, 0, 0, 0];
const POWER: Dimension = [2, 1, -3, 0, 0, 0];
const VISCOSITY: Dimension = [-1, 1, -1, 0, 0, 0];
const VOLTAGE: Dimension = [2, 1, -3, 0, -1, 0];
const RESISTANCE: Dimension = [2, 1, -3, 0, -2, 0];
const SPEED: Dimension = [0, 0, -1, 0, 0, 1];

const fn role(
    names: &'static [&'static str],
    num: f64,
    den: f64,
    dimension: Dimension,
    role: Role,
) -> Atom {
    Atom {
        names,
        num,
        den,
        dimension,
        role,
    }
}

const fn atom(names: &'static [&'static str], num: f64, den: f64, dimension: Dimension) -> Atom {
    role(names, num, den, dimension, Role::Plain)
}

const fn pressure(names: &'static [&'static str], num: f64, den: f64) -> Atom {
    role(names, num, den, PRESSURE, Role::Pressure)
}

/// Every unit word.
#[rustfmt::skip]
pub(super) static ATOMS: &[Atom] = &[
    atom(&["mm", "millimetre", "millimeter", "millimetres", "millimeters"], 1.0, 1e3, LENGTH),
    atom(&["cm", "centimetre", "centimeter", "centimetres", "centimeters"], 1.0, 1e2, LENGTH),
    atom(&["m", "metre", "meter", "metres", "meters"], 1.0, 1.0, LENGTH),
    atom(&["km", "kilometre", "kilometer", "kilometres", "kilometers"], 1e3, 1.0, LENGTH),
    atom(&["um", "micrometre", "micrometer"], 1.0, 1e6, LENGTH),
    atom(&["in", "inch", "inches"], 127.0, 5e3, LENGTH),
    atom(&["ft", "foot", "feet"], 381.0, 1250.0, LENGTH),
    atom(&["mile", "miles"], 1_609_344.0, 1e3, LENGTH),
    atom(&["L", "l", "litre", "liter", "litres", "liters"], 1.0, 1e3, VOLUME),
    atom(&["mL", "ml", "millilitre", "milliliter", "cc"], 1.0, 1e6, VOLUME),
    // 1 US gallon = 231 in3, 1 US quart a quarter and 1 US fluid ounce a 128th of it.
    atom(&["US gal", "USgal"], 3_785_411_784.0, 1e12, VOLUME),
    atom(&["US qt", "USqt"], 946_352_946.0, 1e12, VOLUME),
    atom(&["US fl oz"], 29_573_529.562_5, 1e12, VOLUME),
    atom(&["kg", "kilogram", "kilograms"], 1.0, 1.0, MASS),
    atom(&["g", "gram", "grams"], 1.0, 1e3, MASS),
    atom(&["mg"], 1.0, 1e6, MASS),
    atom(&["tonne", "tonnes"], 1e3, 1.0, MASS),
    atom(&["lb", "lbs", "lbm", "pound", "pounds"], 45_359_237.0, 1e8, MASS),
    atom(&["s", "sec", "second", "seconds"], 1.0, 1.0, TIME),
    atom(&["ms"], 1.0, 1e3, TIME),
    atom(&["min", "minute", "minutes"], 60.0, 1.0, TIME),
    atom(&["h", "hr", "hrs", "hour", "hours"], 3600.0, 1.0, TIME),
    role(&["K", "kelvin", "kelvins"], 1.0, 1.0, TEMPERATURE, Role::Kelvin),
    role(&["degC", "C", "celsius"], 1.0, 1.0, TEMPERATURE, Role::Celsius),
    role(&["degF", "F", "fahrenheit"], 5.0, 9.0, TEMPERATURE, Role::Fahrenheit),
    atom(&["A", "amp", "amps", "ampere", "amperes"], 1.0, 1.0, CURRENT),
    atom(&["mA"], 1.0, 1e3, CURRENT),
    atom(&["kA"], 1e3, 1.0, CURRENT),
    atom(&["rad", "radian", "radians"], 1.0, 1.0, ANGLE),
    atom(&["deg", "degree", "degrees"], PI, 180.0, ANGLE),
    atom(&["rev", "revolution", "revolutions"], 2.0 * PI, 1.0, ANGLE),
    atom(&["rpm"], 2.0 * PI, 60.0, SPEED),
    atom(&["mph"], 44_704.0, 1e5, VELOCITY),
    atom(&["kph", "kmh"], 5.0, 18.0, VELOCITY),
    atom(&["fpm"], 381.0, 75_000.0, VELOCITY),
    atom(&["fps"], 381.0, 1250.0, VELOCITY),
    atom(&["lpm"], 1.0, 6e4, FLOW),
    atom(&["lph"], 1.0, 3.6e6, FLOW),
    atom(&["gpm"], 3_785_411_784.0, 6e13, FLOW),
    atom(&["gph"], 3_785_411_784.0, 3.6e15, FLOW),
    atom(&["cfm"], 28_316_846_592.0, 6e13, FLOW),
    atom(&["N", "newton", "newtons"], 1.0, 1.0, FORCE),
    atom(&["lbf"], 44_482_216_152_605.0, 1e13, FORCE),
    pressure(&["Pa", "pascal", "pascals"], 1.0, 1.0),
    pressure(&["hPa"], 1e2, 1.0),
    pressure(&["kPa", "kilopascal", "kilopascals"], 1e3, 1.0),
    pressure(&["MPa"], 1e6, 1.0),
    pressure(&["mPa"], 1.0, 1e3),
    pressure(&["bar", "bars"], 1e5, 1.0),
    pressure(&["mbar"], 1e2, 1.0),
    pressure(&["atm"], 101_325.0, 1.0),
    // 1 psi = 1 lbf/in2 = 4.448 221 615 260 5 N / 645.16e-6 m2.
    pressure(&["psi"], 44_482_216_152_605.0, 6_451_600_000.0),
    role(&["psig"], 44_482_216_152_605.0, 6_451_600_000.0, PRESSURE, Role::PressureGauge),
    role(&["psia"], 44_482_216_152_605.0, 6_451_600_000.0, PRESSURE, Role::PressureAbsolute),
    role(&["barg"], 1e5, 1.0, PRESSURE, Role::PressureGauge),
    role(&["bara"], 1e5, 1.0, PRESSURE, Role::PressureAbsolute),
    // Conventional columns: water of 1000 kg/m3, mercury of 13 595.1 kg/m3, gravity 9.806 65 m/s2.
    pressure(&["inH2O"], 24_908_891.0, 1e5),
    pressure(&["ftH2O"], 298_906_692.0, 1e5),
    pressure(&["mmH2O"], 980_665.0, 1e5),
    pressure(&["cmH2O"], 980_665.0, 1e4),
    pressure(&["mmHg"], 133_322_387_415.0, 1e9),
    pressure(&["inHg"], 3_386_388_640_341.0, 1e9),
    atom(&["J", "joule", "joules"], 1.0, 1.0, ENERGY),
    atom(&["kJ"], 1e3, 1.0, ENERGY),
    atom(&["MJ"], 1e6, 1.0, ENERGY),
    atom(&["Wh"], 3600.0, 1.0, ENERGY),
    atom(&["kWh"], 3.6e6, 1.0, ENERGY),
    // International Table Btu.
    atom(&["Btu", "btus"], 105_505_585_262.0, 1e8, ENERGY),
    atom(&["Btuh"], 105_505_585_262.0, 3.6e11, POWER),
    atom(&["W", "watt", "watts"], 1.0, 1.0, POWER),
    atom(&["mW"], 1.0, 1e3, POWER),
    atom(&["kW", "kilowatt", "kilowatts"], 1e3, 1.0, POWER),
    atom(&["MW"], 1e6, 1.0, POWER),
    // Mechanical horsepower, 550 ft lbf/s.
    atom(&["hp", "horsepower"], 745.699_871_582_270_2, 1.0, POWER),
    // 12 000 Btu/h.
    atom(&["ton cooling"], 105_505_585_262.0, 3e7, POWER),
    atom(&["cP", "centipoise"], 1.0, 1e3, VISCOSITY),
    atom(&["V", "volt", "volts"], 1.0, 1.0, VOLTAGE),
    atom(&["mV", "millivolt", "millivolts"], 1.0, 1e3, VOLTAGE),
    atom(&["uV"], 1.0, 1e6, VOLTAGE),
    atom(&["kV"], 1e3, 1.0, VOLTAGE),
    atom(&["ohm", "ohms"], 1.0, 1.0, RESISTANCE),
    atom(&["mohm", "milliohm", "milliohms"], 1.0, 1e3, RESISTANCE),
    atom(&["uohm", "microohm", "microohms"], 1.0, 1e6, RESISTANCE),
    atom(&["kohm"], 1e3, 1.0, RESISTANCE),
];

/// Words that name more than one unit, and what to write instead.
pub(super) static AMBIGUOUS: &[(&[&str], &str)] = &[
    (
        &["gal", "gals", "gallon", "gallons"],
        "`US gal` (or `gpm`, `gph` for a flow)",
    ),
    (
        &["oz", "ounce", "ounces", "floz"],
        "`US fl oz` for a volume, `g` or `lb` for a mass",
    ),
    (&["qt", "quart", "quarts"], "`US qt`"),
    (
        &["ton", "tons"],
        "`ton cooling` for a power, `kg` or `tonne` for a mass",
    ),
];

/// The atom so spelled: exactly, or in other letter case where that leaves one reading.
pub(super) fn find(word: &str) -> Option<&'static Atom> {
    let exact = ATOMS.iter().find(|a| a.names.contains(&word));
    if exact.is_some() {
        return exact;
    }
    let mut found = None;
    for candidate in ATOMS {
        let mut names = candidate.names.iter();
        if let Some(name) = names.find(|name| name.eq_ignore_ascii_case(word)) {
            if found.is_some() {
                return None;
            }
            found = Some((candidate, *name));
        }
    }
    found
        .filter(|(_, name)| keeps_prefix(name, word))
        .map(|(atom, _)| atom)
}

/// A leading `m` may be milli and a leading `M` mega, so its case counts, except in these and in words written out.
fn keeps_prefix(name: &str, word: &str) -> bool {
    const FREE: [&str; 6] = ["m", "mm", "min", "mph", "mile", "miles"];
    const WRITTEN_OUT: usize = 5;
    let same_first = name.as_bytes().first() == word.as_bytes().first();
    same_first || !name.starts_with(['m', 'M']) || name.len() > WRITTEN_OUT || FREE.contains(&name)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_spelling_finds_its_own_row_and_is_listed_once() {
        let mut seen = std::collections::BTreeSet::new();
        for row in ATOMS {
            for name in row.names {
                assert!(seen.insert(*name), "{name} is listed twice");
                assert_eq!(find(name).map(|a| a.names), Some(row.names), "{name}");
            }
        }
    }

    #[test]
    fn case_is_forgiven_only_where_one_reading_remains() {
        for (word, name) in [
            ("KPA", "kPa"),
            ("GPM", "gpm"),
            ("PSI", "psi"),
            ("Min", "min"),
            ("MM", "mm"),
            ("BTU", "Btu"),
        ] {
            assert_eq!(find(word).map(|a| a.names[0]), Some(name), "{word}");
        }
        for word in [
            "MPA", "mpa", "mw", "Mw", "MOHM", "Mohm", "MV", "mj", "Mbar", "ML",
        ] {
            assert!(find(word).is_none(), "{word}");
        }
        assert_eq!(find("mW").map(|a| a.den), Some(1e3));
    }
}
