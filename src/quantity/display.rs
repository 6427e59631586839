//! Writes quantities: exact text for design files, rounded text for reports. Not tables, and no colour.

use super::family::UnitFamily;
use super::kind::{Customary, Kind};
use super::quantities::Quantity;
use super::unit::{Scale, Unit, read_unit};

/// What stands for a value that does not exist.
const NOTHING: &str = "-";

/// Below this part of the smallest customary unit a report prints zero: smaller values are round-off.
const SHOWN_AS_ZERO: f64 = 1e-6;

/// Digits up to which the customary unit is kept for exact text, even where another unit is shorter.
const SHORT_ENOUGH: usize = 6;

/// Digits that tell every double from its neighbours.
const ALL_DIGITS: usize = 17;

/// A plain number to `digits` significant figures, trailing zeros kept; exponent form only outside 1e-4 to 1e6.
///
/// Zero is `0`, never `-0`; what is not finite is `-`.
///
/// ```
/// use loopwright::quantity::significant;
///
/// assert_eq!(significant(12.345, 3), "12.3");
/// assert_eq!(significant(9.996, 3), "10.0");
/// assert_eq!(significant(1234.0, 3), "1230");
/// assert_eq!(significant(1.5e-7, 3), "1.50e-7");
/// ```
pub fn significant(value: f64, digits: usize) -> String {
    rounded(value, digits, -4..6)
}

/// The number in `digits` figures; plain while its decimal exponent is in `plain`.
fn rounded(value: f64, digits: usize, plain: std::ops::Range<i32>) -> String {
    if !value.is_finite() {
        return NOTHING.to_owned();
    }
    if value == 0.0 {
        return "0".to_owned();
    }
    let decimals = digits.clamp(1, ALL_DIGITS) - 1;
    // Rounded once, in decimal; the rest only moves the point.
    let scientific = format!("{value:.decimals$e}");
    let Some((mantissa, exponent)) = scientific.split_once('e') else {
        return scientific;
    };
    let Ok(exponent) = exponent.parse::<i32>() else {
        return scientific;
    };
    if !plain.contains(&exponent) {
        return scientific;
    }
    let mut text = String::with_capacity(scientific.len() + 8);
    let figures = match mantissa.strip_prefix('-') {
        Some(figures) => {
            text.push('-');
            figures
        }
        None => mantissa,
    };
    if exponent < 0 {
        text.push_str("0.");
        text.extend(std::iter::repeat_n(
            '0',
            exponent.unsigned_abs() as usize - 1,
        ));
        text.extend(figures.chars().filter(|c| *c != '.'));
        return text;
    }
    let mut place = 0;
    for c in figures.chars().filter(|c| *c != '.') {
        if place == exponent + 1 {
            text.push('.');
        }
        text.push(c);
        place += 1;
    }
    while place <= exponent {
        text.push('0');
        place += 1;
    }
    text
}

/// Takes zeros off the end of a decimal fraction.
fn without_zeros(text: String) -> String {
    let (figures, exponent) = match text.find('e') {
        Some(at) => text.split_at(at),
        None => (text.as_str(), ""),
    };
    if !figures.contains('.') {
        return text;
    }
    let figures = figures.trim_end_matches('0').trim_end_matches('.');
    format!("{figures}{exponent}")
}

/// The unit that `symbol` names. Symbols come from the table of kinds, and a test reads them all.
fn unit(symbol: &str) -> Unit {
    read_unit(symbol).unwrap_or(Unit::ONE)
}

/// The unit for a value of this magnitude; the column unit for zero.
fn rung(customary: Customary, si: f64) -> &'static str {
    // Three figures round up to the next unit from here.
    const ROUNDS_UP: f64 = 0.9995;
    let mut symbol = customary.column;
    if si != 0.0 {
        for rung in customary.rungs {
            if si.abs() >= rung.from_si * ROUNDS_UP {
                symbol = rung.symbol;
            }
        }
    }
    symbol
}

/// The unit as a report prints it: a gauge pressure says so.
fn printed(kind: Kind, symbol: &'static str) -> &'static str {
    match (kind, symbol) {
        (Kind::GaugePressure, "kPa") => "kPa gauge",
        (Kind::GaugePressure, "psi") => "psig",
        _ => symbol,
    }
}

/// The unit of a table column of this kind.
pub fn unit_symbol(kind: Kind, family: UnitFamily) -> &'static str {
    printed(kind, kind.customary(family).column)
}

/// The number, in the unit that [`unit_symbol`] names, of a value given in SI.
///
/// ```
/// use loopwright::quantity::{Kind, UnitFamily, in_unit};
///
/// assert_eq!(in_unit(Kind::Temperature, 310.15, UnitFamily::Metric), 37.0);
/// ```
pub fn in_unit(kind: Kind, si: f64, family: UnitFamily) -> f64 {
    unit(kind.customary(family).column).number_of(si)
}

/// An SI value in both families, for texts that do not know who reads them: `38.0 degC (100 degF)`.
///
/// ```
/// use loopwright::quantity::{Kind, show_both};
/// assert_eq!(show_both(Kind::Temperature, 373.15), "100 degC (212 degF)");
/// ```
pub fn show_both(kind: Kind, si: f64) -> String {
    format!(
        "{} ({})",
        show_si(kind, si, UnitFamily::Metric),
        show_si(kind, si, UnitFamily::Us)
    )
}

/// A value given in SI as a report prints it: three significant figures and a customary unit of fitting size.
///
/// Below one, zeros at the end are dropped (`0.35 L/min`). A temperature has one decimal below 100 degrees and none
/// above. Less than a millionth of the smallest customary unit is printed as zero. What is not finite is `-`.
///
/// ```
/// use loopwright::quantity::{Kind, UnitFamily, show_si};
///
/// assert_eq!(show_si(Kind::PressureDifference, 8400.0, UnitFamily::Metric), "8.40 kPa");
/// assert_eq!(show_si(Kind::PressureDifference, 8400.0, UnitFamily::Us), "1.22 psi");
/// ```
pub fn show_si(kind: Kind, si: f64, family: UnitFamily) -> String {
    if !si.is_finite() {
        return NOTHING.to_owned();
    }
    let customary = kind.customary(family);
    let symbol = rung(customary, si);
    let number = unit(symbol).number_of(si);
    if kind == Kind::Temperature {
        return format!("{} {symbol}", temperature_number(number));
    }
    let (number, symbol) = if number.abs() < SHOWN_AS_ZERO {
        (0.0, customary.column)
    } else {
        (number, symbol)
    };
    let mut text = rounded(number, 3, -6..9);
    if number.abs() < 1.0 && !text.contains("1.00") {
        text = without_zeros(text);
    }
    format!("{text} {}", printed(kind, symbol))
}

fn temperature_number(number: f64) -> String {
    // From here one decimal would print 100.0.
    if number.abs() >= 99.95 {
        return format!("{number:.0}");
    }
    let text = format!("{number:.1}");
    if text == "-0.0" {
        "0.0".to_owned()
    } else {
        text
    }
}

/// A quantity as a report prints it, or `-` for one that does not exist.
pub fn show_option<Q: Quantity>(quantity: Option<Q>, family: UnitFamily) -> String {
    show_si(Q::KIND, quantity.map_or(f64::NAN, Quantity::si), family)
}

/// A value given in SI as exact text, the shortest that reads back as the same value.
///
/// The customary unit is kept while six figures suffice; otherwise the shortest of the family's units is taken. In
/// [`UnitFamily::Metric`] the text always reads back bit for bit, in the SI unit if no other does. In
/// [`UnitFamily::Us`] some values have no such text because the factor rounds; then the text reads back within
/// 1e-15 of the value. What is not finite is `-`, which does not read back.
///
/// ```
/// use loopwright::quantity::{Kind, UnitFamily, text_si};
///
/// assert_eq!(text_si(Kind::Length, 0.019, UnitFamily::Metric), "19 mm");
/// assert_eq!(text_si(Kind::Velocity, 35.0 / 3.6, UnitFamily::Metric), "35 km/h");
/// ```
pub fn text_si(kind: Kind, si: f64, family: UnitFamily) -> String {
    if !si.is_finite() {
        return NOTHING.to_owned();
    }
    let customary = kind.customary(family);
    let first = rung(customary, si);
    let mut best = exact_number(unit(first), si).map(|number| (number, first));
    let short = |(number, _): &(String, &str)| {
        number.bytes().filter(u8::is_ascii_digit).count() <= SHORT_ENOUGH
    };
    if !best.as_ref().is_some_and(short) {
        let rungs = customary.rungs.iter().map(|rung| rung.symbol);
        for symbol in rungs.chain(customary.also.iter().copied()) {
            if let Some(number) = exact_number(unit(symbol), si)
                && best
                    .as_ref()
                    .is_none_or(|(kept, _)| number.len() < kept.len())
            {
                best = Some((number, symbol));
            }
        }
    }
    let (number, symbol) = best.unwrap_or_else(|| match family {
        UnitFamily::Metric => (full(si), kind.si_symbol()),
        UnitFamily::Us => (nearest_number(unit(first), si), first),
    });
    format!("{number} {symbol}")
}

/// All digits, without noise at the end.
fn full(number: f64) -> String {
    exact_number(Unit::ONE, number).unwrap_or_else(|| digits(number, ALL_DIGITS))
}

fn digits(number: f64, count: usize) -> String {
    without_zeros(rounded(number, count, -5..9))
}

/// The shortest number in `unit` that reads back as exactly `si`, if there is one.
fn exact_number(unit: Unit, si: f64) -> Option<String> {
    let number = unit.number_of(si);
    let reads_back = |text: &String| {
        text.parse()
            .is_ok_and(|number: f64| unit.to_si(number) == si)
    };
    // To fifteen digits texts and doubles correspond, so there only zeros can be dropped; a shifted scale has fewer
    // digits than its double holds, and is searched from the start.
    let fewest = match unit.scale {
        Scale::Celsius | Scale::Fahrenheit => 1,
        _ => 15,
    };
    (fewest..=ALL_DIGITS)
        .map(|count| digits(number, count))
        .chain(neighbours(number).map(|near| digits(near, ALL_DIGITS)))
        .find(reads_back)
}

/// The number in `unit` that reads back nearest to `si`.
fn nearest_number(unit: Unit, si: f64) -> String {
    let number = unit.number_of(si);
    let miss = |number: f64| (unit.to_si(number) - si).abs();
    let best = neighbours(number).fold(
        number,
        |best, near| {
            if miss(near) < miss(best) { near } else { best }
        },
    );
    digits(best, ALL_DIGITS)
}

/// The doubles beside `number`: two roundings in a conversion miss by no more.
fn neighbours(number: f64) -> impl Iterator<Item = f64> {
    [
        number.next_up(),
        number.next_down(),
        number.next_up().next_up(),
        number.next_down().next_down(),
    ]
    .into_iter()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_symbol_of_the_table_is_a_unit_of_its_kind() {
        for kind in Kind::ALL {
            assert_eq!(
                kind.parse(&format!("1 {}", kind.si_symbol())),
                Ok(1.0),
                "{kind:?}"
            );
            for family in [UnitFamily::Metric, UnitFamily::Us] {
                let customary = kind.customary(family);
                assert_eq!(customary.rungs[0].from_si, 0.0, "{kind:?}");
                assert!(customary.rungs.is_sorted_by(|a, b| a.from_si < b.from_si));
                assert!(
                    customary.rungs.iter().any(|r| r.symbol == customary.column),
                    "{kind:?}"
                );
                let rungs = customary.rungs.iter().map(|r| r.symbol);
                for symbol in rungs.chain(customary.also.iter().copied()) {
                    for symbol in [symbol, printed(*kind, symbol)] {
                        let read = kind.parse(&format!("1 {symbol}"));
                        assert_eq!(read, Ok(unit(symbol).to_si(1.0)), "{symbol}");
                    }
                }
                assert!(kind.parse(kind.example(family)).is_ok(), "{kind:?}");
            }
        }
    }

    #[test]
    fn significant_figures_round_once_and_never_print_noise() {
        for (value, digits, text) in [
            (0.0, 3, "0"),
            (-0.0, 3, "0"),
            (f64::NAN, 3, "-"),
            (f64::NEG_INFINITY, 3, "-"),
            (0.35, 2, "0.35"),
            (0.35, 3, "0.350"),
            (-12.345, 3, "-12.3"),
            (9.996, 3, "10.0"),
            (999.6, 3, "1000"),
            (123_456.0, 3, "123000"),
            (1_234_567.0, 3, "1.23e6"),
            (0.000_123_4, 3, "0.000123"),
            (0.000_012_34, 3, "1.23e-5"),
            (7.0, 1, "7"),
            (7.0, 0, "7"),
        ] {
            assert_eq!(significant(value, digits), text);
        }
    }

    #[test]
    fn reports_print_three_figures_in_a_fitting_unit() {
        use Kind as K;
        use UnitFamily::{Metric, Us};
        for (kind, si, family, text) in [
            (K::VolumeFlow, 12.34 / 60e3, Metric, "12.3 L/min"),
            (K::VolumeFlow, 0.35 / 60e3, Metric, "0.35 L/min"),
            (K::VolumeFlow, 0.3534 / 60e3, Metric, "0.353 L/min"),
            (K::VolumeFlow, 1100.0 / 3600.0, Metric, "1100 m3/h"),
            (K::VolumeFlow, 1100.0 / 3600.0, Us, "647 cfm"),
            (K::VolumeFlow, 2.05e-4, Us, "3.25 gpm"),
            (K::VolumeFlow, -1e-20, Metric, "0 L/min"),
            (K::VolumeFlow, -0.0, Metric, "0 L/min"),
            (K::VolumeFlow, f64::NAN, Metric, "-"),
            (K::PressureDifference, 250.0, Metric, "250 Pa"),
            (K::PressureDifference, 250.0, Us, "1.00 inH2O"),
            (K::PressureDifference, 999.7, Metric, "1.00 kPa"),
            (K::PressureDifference, -8400.0, Metric, "-8.40 kPa"),
            (K::PressureDifference, 0.0, Us, "0 psi"),
            (K::GaugePressure, 30_000.0, Metric, "30.0 kPa gauge"),
            (K::GaugePressure, 30_000.0, Us, "4.35 psig"),
            (K::AbsolutePressure, 101_325.0, Metric, "101 kPa abs"),
            (K::AbsolutePressure, 101_325.0, Us, "14.7 psia"),
            (K::Temperature, 311.35, Metric, "38.2 degC"),
            (K::Temperature, 311.35, Us, "101 degF"),
            (K::Temperature, 273.14, Metric, "0.0 degC"),
            (K::Temperature, 273.14 + 100.0, Metric, "100 degC"),
            (K::TemperatureDifference, 3.0, Metric, "3.00 K"),
            (K::TemperatureDifference, 3.0, Us, "5.40 F difference"),
            (K::Power, 4200.0, Metric, "4.20 kW"),
            (K::Power, 250.0, Metric, "250 W"),
            (K::Power, 4200.0, Us, "14300 Btu/h"),
            (K::Length, 0.01905, Us, "0.75 in"),
            (K::Length, 0.01905, Metric, "19.1 mm"),
            (K::Length, 4.2, Metric, "4.20 m"),
            (K::Duration, 90.0, Metric, "90.0 s"),
            (K::Duration, 600.0, Metric, "10.0 min"),
            (K::ElectricalResistance, 0.0024, Us, "2.40 mohm"),
            (
                K::RotationalSpeed,
                2800.0 * std::f64::consts::PI / 30.0,
                Us,
                "2800 rpm",
            ),
            (K::Mass, 12_345.6, Metric, "12300 kg"),
            (K::DynamicViscosity, 0.9999e-3, Metric, "1.00 mPa s"),
        ] {
            assert_eq!(show_si(kind, si, family), text);
        }
        assert_eq!(show_option::<crate::quantity::Power>(None, Metric), "-");
    }

    #[test]
    fn columns_carry_the_unit_in_their_header() {
        assert_eq!(unit_symbol(Kind::VolumeFlow, UnitFamily::Us), "gpm");
        assert_eq!(
            unit_symbol(Kind::GaugePressure, UnitFamily::Metric),
            "kPa gauge"
        );
        assert_eq!(in_unit(Kind::Length, 0.019, UnitFamily::Metric), 19.0);
        assert!((in_unit(Kind::Temperature, 310.928, UnitFamily::Us) - 100.0).abs() < 1e-3);
    }
}
