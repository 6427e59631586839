//! The room as a whole: what is read, what is refused, and that what is written reads back.

use super::*;

/// Round-off of a conversion: a few units in the last place.
const ROUND_OFF: f64 = 1e-15;

fn message(kind: Kind, text: &str) -> String {
    match kind.parse(text) {
        Ok(si) => format!("read as {si}"),
        Err(error) => error.to_string(),
    }
}

/// Expected values are written from the exact definitions in NIST SP 811 (2008), appendix B.8: inch 0.0254 m,
/// US gallon 231 in3, pound 0.453 592 37 kg, pound-force 4.448 221 615 260 5 N, Btu (IT) 1055.055 852 62 J.
#[test]
fn texts_read_as_their_exact_definitions() {
    use Kind::*;
    const GALLON: f64 = 231.0 * 0.0254 * 0.0254 * 0.0254;
    const PSI: f64 = 6_894.757_293_168_361;
    const BTU: f64 = 1_055.055_852_62;
    const LB: f64 = 0.453_592_37;
    let table = [
        (Length, "19 mm", 0.019),
        (Length, "19mm", 0.019),
        (Length, "3/4 in", 0.01905),
        (Length, "3/4\"", 0.01905),
        (Length, "1 1/2 in", 0.0381),
        (Length, "1-1/2 inch", 0.0381),
        (Length, "2.5 ft", 0.762),
        (Length, "12 CM", 0.12),
        (Length, "1 mile", 1_609.344),
        (Area, "280 mm^2", 280e-6),
        (Area, "280 mm²", 280e-6),
        (Area, "2 in2", 2.0 * 0.0254 * 0.0254),
        (Volume, "6.5 l", 0.0065),
        (Volume, "1 US gal", GALLON),
        (Volume, "2 US gallons", 2.0 * GALLON),
        (Volume, "128 US fl oz", GALLON),
        (VolumeFlow, "12 L/min", 2e-4),
        (VolumeFlow, "12 l/min", 2e-4),
        (VolumeFlow, "12lpm", 2e-4),
        (VolumeFlow, "12 L/minute", 2e-4),
        (VolumeFlow, "12 litres per minute", 2e-4),
        (VolumeFlow, "720 L/h", 2e-4),
        (VolumeFlow, "3 gpm", 3.0 * GALLON / 60.0),
        (VolumeFlow, "3 GPM", 3.0 * GALLON / 60.0),
        (VolumeFlow, "3 US gal/min", 3.0 * GALLON / 60.0),
        (VolumeFlow, "180 gph", 3.0 * GALLON / 60.0),
        (VolumeFlow, "36 m3/h", 0.01),
        (VolumeFlow, "36 m^3/h", 0.01),
        (VolumeFlow, "36 m³/h", 0.01),
        (VolumeFlow, "60 cfm", 0.3048 * 0.3048 * 0.3048),
        (VolumeFlow, "1 ft3/s", 0.3048 * 0.3048 * 0.3048),
        (MassFlow, "12 kg/min", 0.2),
        (MassFlow, "60 lb/min", LB),
        (Mass, "25 kg", 25.0),
        (Mass, "2 lbs", 2.0 * LB),
        (Angle, "90 deg", std::f64::consts::FRAC_PI_2),
        (Angle, "90°", std::f64::consts::FRAC_PI_2),
        (Velocity, "36 km/h", 10.0),
        (Velocity, "1 mph", 0.447_04),
        (Velocity, "100 ft/min", 0.508),
        (PressureDifference, "5 psi", 5.0 * PSI),
        (PressureDifference, "1.5 bar", 150_000.0),
        (PressureDifference, "35 mbar", 3_500.0),
        (PressureDifference, "0.1 MPa", 100_000.0),
        (PressureDifference, "3 inH2O", 747.266_73),
        (PressureDifference, "3 in H2O", 747.266_73),
        (PressureDifference, "3 inH₂O", 747.266_73),
        (PressureDifference, "760 mmHg", 101_325.014_435_4),
        (PressureDifference, "760 mm Hg", 101_325.014_435_4),
        (PressureDifference, "1 lbf/in2", PSI),
        (GaugePressure, "30 kPa", 30_000.0),
        (GaugePressure, "30 KPA gauge", 30_000.0),
        (GaugePressure, "5 psig", 5.0 * PSI),
        (GaugePressure, "-20 kPa", -20_000.0),
        (GaugePressure, "1 barg", 100_000.0),
        (AbsolutePressure, "85 kPa abs", 85_000.0),
        (AbsolutePressure, "85 kPa absolute", 85_000.0),
        (AbsolutePressure, "12.3 psia", 12.3 * PSI),
        (AbsolutePressure, "12.3 psi abs", 12.3 * PSI),
        (AbsolutePressure, "1 bara", 100_000.0),
        (Temperature, "38 degC", 311.15),
        (Temperature, "38 °C", 311.15),
        (Temperature, "38 deg C", 311.15),
        (Temperature, "38C", 311.15),
        (Temperature, "212 degF", 373.15),
        (Temperature, "32 F", 273.15),
        (Temperature, "311 K", 311.0),
        (Temperature, "-40 degF", 233.15),
        (TemperatureDifference, "3 K", 3.0),
        (TemperatureDifference, "9 F difference", 5.0),
        (TemperatureDifference, "9 degF difference", 5.0),
        (Power, "4.2 kW", 4_200.0),
        (Power, "2 hp", 2.0 * 550.0 * 0.3048 * 4.448_221_615_260_5),
        (Power, "3600 Btu/h", BTU),
        (Power, "1 ton cooling", 12_000.0 * BTU / 3_600.0),
        (Power, "1 ton of refrigeration", 12_000.0 * BTU / 3_600.0),
        (SpecificHeat, "3.6 kJ/(kg K)", 3_600.0),
        (SpecificHeat, "3.6 kJ/kg·K", 3_600.0),
        (SpecificHeat, "3.6 kJ kg^-1 K^-1", 3_600.0),
        (SpecificHeat, "1 Btu/(lb F)", 4_186.8),
        (HeatCapacity, "22 kJ/K", 22_000.0),
        (ThermalResistance, "0.03 K/W", 0.03),
        (ThermalResistance, "0.03 °C/W", 0.03),
        (ThermalConductance, "250 W/K", 250.0),
        (HeatTransferCoefficient, "1600 W/(m2 K)", 1_600.0),
        (HeatTransferCoefficient, "1600 W/m²K", 1_600.0),
        (HeatTransferCoefficient, "1600 W/m2/K", 1_600.0),
        (
            HeatTransferCoefficient,
            "1 Btu/(h ft2 F)",
            BTU * 1.8 / 3_600.0 / (0.3048 * 0.3048),
        ),
        (ThermalConductivity, "200 W/(m*K)", 200.0),
        (
            ThermalConductivity,
            "1 Btu/(h ft F)",
            BTU * 1.8 / 3_600.0 / 0.3048,
        ),
        (Density, "1.06 g/cm3", 1_060.0),
        (
            Density,
            "62.4 lb/ft3",
            62.4 * LB / (0.3048 * 0.3048 * 0.3048),
        ),
        (DynamicViscosity, "3.4 mPa s", 0.0034),
        (DynamicViscosity, "3.4 cP", 0.0034),
        (Current, "140 A", 140.0),
        (ElectricalResistance, "2.4 mohm", 0.0024),
        (ElectricalResistance, "2.4 mΩ", 0.0024),
        (ElectricalResistance, "800 µΩ", 0.0008),
        (Voltage, "400 V", 400.0),
        (Duration, "10 min", 600.0),
        (Duration, "1.5 h", 5_400.0),
        (LinearResistance, "9 Pa s/m", 9.0),
        (QuadraticResistance, "6 Pa s2/m2", 6.0),
        (QuadraticResistance, "6 Pa·s²/m²", 6.0),
        (EntropicCoefficient, "0.1 mV/K", 1e-4),
        (Energy, "2 kWh", 7.2e6),
        (Energy, "3 Wh", 10_800.0),
        (RotationalSpeed, "60 rpm", 2.0 * std::f64::consts::PI),
        (RotationalSpeed, "1 rev/s", 2.0 * std::f64::consts::PI),
    ];
    for (kind, text, si) in table {
        let read = kind.parse(text);
        let near = read
            .as_ref()
            .is_ok_and(|v| (v - si).abs() <= ROUND_OFF * si.abs());
        assert!(near, "{text}: {read:?}, expected {si:?}");
    }
}

#[test]
fn litres_and_gallons_per_hour_differ_by_the_us_gallon() {
    let ratio = Kind::VolumeFlow.parse("1 gph").unwrap() / Kind::VolumeFlow.parse("1 L/h").unwrap();
    assert!((ratio - 3.785_411_784).abs() < 1e-14, "{ratio}");
}

#[test]
fn every_refusal_says_what_was_wanted() {
    use Kind::*;
    let length_try = r#"try "19 mm" or "3/4 in""#;
    let gauge_try = r#"try "30 kPa" or "4.4 psi""#;
    let rise_try = r#"try "8.4 kPa" or "1.2 psi""#;
    let point_try = r#"try "38 degC" or "100 degF""#;
    let difference_try =
        r#"a difference is in K or in F difference; try "3 K" or "5 F difference""#;
    let separator = "has a separator inside its number; write the digits without gaps or commas, and a point for decimals, as in \"1250.5\"";
    for (kind, text, expected) in [
        (Length, "5 psi", format!("a length is wanted, but `5 psi` is a pressure; {length_try}")),
        (Length, "", format!("a length is wanted, but the text is empty; {length_try}")),
        (Length, "wide", format!("a length is wanted, but `wide` is not one number with its unit; {length_try}")),
        (Length, "5-7 mm", format!("a length is wanted, but `5-7 mm` is not one number with its unit; {length_try}")),
        (Length, "19", format!("a length is wanted, but `19` has no unit; {length_try}")),
        (Length, "1,000 mm", format!("a length is wanted, but `1,000 mm` {separator}")),
        (Length, "nan mm", format!("a length is wanted, but `nan mm` is not a finite number; {length_try}")),
        (Length, "inf", format!("a length is wanted, but `inf` is not a finite number; {length_try}")),
        (Length, "1e999 m", format!("a length is wanted, but `1e999 m` is not a finite number; {length_try}")),
        (Length, "1e308 km", format!("a length is wanted, but `1e308 km` is not a finite number; {length_try}")),
        (Length, "1/0 in", format!("a length is wanted, but `1/0 in` is not a finite number; {length_try}")),
        (Length, "19 mn", "a length is wanted, but `mn` in `19 mn` is not a known unit; did you mean `mm`?".into()),
        (Length, "19 q", format!("a length is wanted, but `q` in `19 q` is not a known unit; {length_try}")),
        (VolumeFlow, "12 L/mni", "a volume flow is wanted, but `mni` in `12 L/mni` is not a known unit; did you mean `L/min`?".into()),
        (PressureDifference, "0.2 mpa", "a pressure difference is wanted, but `mpa` in `0.2 mpa` is not a known unit; did you mean `MPa`?".into()),
        (Volume, "5 gal", "a volume is wanted, but `gal` in `5 gal` names more than one unit; write `US gal` (or `gpm`, `gph` for a flow)".into()),
        (VolumeFlow, "5 gal/min", "a volume flow is wanted, but `gal` in `5 gal/min` names more than one unit; write `US gal` (or `gpm`, `gph` for a flow)".into()),
        (Mass, "8 oz", "a mass is wanted, but `oz` in `8 oz` names more than one unit; write `US fl oz` for a volume, `g` or `lb` for a mass".into()),
        (Power, "2 tons", "a power is wanted, but `tons` in `2 tons` names more than one unit; write `ton cooling` for a power, `kg` or `tonne` for a mass".into()),
        (GaugePressure, "85 kPa abs", format!("a gauge pressure is wanted, but `85 kPa abs` is an absolute pressure; {gauge_try}")),
        (GaugePressure, "12 psia", format!("a gauge pressure is wanted, but `12 psia` is an absolute pressure; {gauge_try}")),
        (GaugePressure, "2 m", format!("a gauge pressure is wanted, but `2 m` is a length (a head is a pressure only with a density); {gauge_try}")),
        (AbsolutePressure, "85 kPa", "an absolute pressure is wanted, but `85 kPa` is a gauge pressure; write `85 kPa abs`".into()),
        (AbsolutePressure, "600 mmHg", "an absolute pressure is wanted, but `600 mmHg` is a gauge pressure; write `600 mmHg abs`".into()),
        (AbsolutePressure, "5 psig", "an absolute pressure is wanted, but `5 psig` is a gauge pressure; try \"85 kPa abs\" or \"12.3 psia\"".into()),
        (AbsolutePressure, "-5 kPa abs", "an absolute pressure is wanted, but `-5 kPa abs` is below vacuum; try \"85 kPa abs\" or \"12.3 psia\"".into()),
        (Pressure, "-5 psia", "a pressure is wanted, but `-5 psia` is below vacuum; try \"30 kPa\" or \"12.3 psia\"".into()),
        (PressureDifference, "5 psig", format!("a pressure difference is wanted, but `5 psig` says gauge or absolute, which a rise or drop has not; {rise_try}")),
        (PressureDifference, "5 kPa abs", format!("a pressure difference is wanted, but `5 kPa abs` says gauge or absolute, which a rise or drop has not; {rise_try}")),
        (Temperature, "5 F difference", format!("a temperature is wanted, but `5 F difference` is a temperature difference; {point_try}")),
        (Temperature, "-300 degC", format!("a temperature is wanted, but `-300 degC` is below absolute zero (-273.15 degC, -459.67 degF); {point_try}")),
        (TemperatureDifference, "5 degC", format!("a temperature difference is wanted, but `5 degC` is not written as one: {difference_try}")),
        (TemperatureDifference, "5 °F", format!("a temperature difference is wanted, but `5 °F` is not written as one: {difference_try}")),
        (TemperatureDifference, "5 degC difference", format!("a temperature difference is wanted, but `5 degC difference` is not written as one: {difference_try}")),
        (Density, "6 Pa s2/m2", "a density is wanted, but `6 Pa s2/m2` is a pressure drop per velocity squared; try \"1060 kg/m3\" or \"66 lb/ft3\"".into()),
        (QuadraticResistance, "6 kg/m3", "a pressure drop per velocity squared is wanted, but `6 kg/m3` is a density; try \"6 Pa s2/m2\" or \"0.0022 inH2O s2/ft2\"".into()),
        (Current, "5 x9", "a current is wanted, but `x` in `5 x9` is not a known unit; try \"140 A\"".into()),
        (Current, "5 kg m", "a current is wanted, but `5 kg m` is of no kind that is used here; try \"140 A\"".into()),
    ] {
        assert_eq!(message(kind, text), expected);
    }
}

#[test]
fn malformed_units_are_refused_and_never_panic() {
    for unit in [
        "/",
        "L/",
        "L//min",
        "(m",
        "m)",
        "W/(m2/K)",
        "m^",
        "m-",
        "m0",
        "m9",
        "m^99",
        "m22",
        "per",
        "L per",
        "kPa abs abs",
        "psig abs",
        "m abs",
        "m difference",
        "difference",
        "abs",
        "US",
        "US cup",
        "ton",
        "deg X",
        "in H",
        "H2O",
        "aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa",
        "é",
        "m²²²",
        "\u{1F6B0}",
        "m\u{0}",
        "%",
        "\u{b2}",
        "°",
    ] {
        let read = Kind::Length.parse(&format!("1 {unit}"));
        assert!(read.is_err(), "{unit}: {read:?}");
    }
}

#[test]
fn a_very_long_text_is_quoted_short_and_without_control_characters() {
    let error = Kind::Length
        .parse(&format!("1 \u{1b}[31m{}", "x".repeat(10_000)))
        .unwrap_err();
    assert!(error.to_string().len() < 400, "{error}");
    assert!(!error.to_string().contains('\u{1b}'));
}

#[test]
fn a_pressure_keeps_what_its_text_says() {
    let gauge: Pressure = "30 kPa".parse().unwrap();
    let absolute: Pressure = "12.3 psia".parse().unwrap();
    assert_eq!(gauge, Pressure::Gauge(GaugePressure::from_pa(30_000.0)));
    assert!(matches!(absolute, Pressure::Absolute(_)));
    assert_eq!(gauge.to_string(), "30 kPa");
    assert_eq!(gauge.show(UnitFamily::Metric), "30.0 kPa gauge");
    assert_eq!(absolute.text(UnitFamily::Us), "12.3 psia");
    assert_eq!(absolute.to_string().parse::<Pressure>(), Ok(absolute));
    let air = AbsolutePressure::from_pa(100_000.0);
    assert_eq!(Pressure::Absolute(air).to_gauge(air).pa(), 0.0);
    assert_eq!(gauge.to_absolute(air).pa(), 130_000.0);
}

#[test]
fn exact_text_is_what_a_builder_would_have_written() {
    use UnitFamily::{Metric, Us};
    for (kind, text, family, expected) in [
        (Kind::Length, "0.62 m", Metric, "620 mm"),
        (Kind::Length, "1.4 m", Metric, "1.4 m"),
        (Kind::Length, "3/4 in", Metric, "19.05 mm"),
        (Kind::Length, "3/4 in", Us, "0.75 in"),
        (Kind::VolumeFlow, "12 L/min", Metric, "12 L/min"),
        (Kind::VolumeFlow, "3 gpm", Us, "3 gpm"),
        (Kind::VolumeFlow, "1100 m3/h", Metric, "1100 m3/h"),
        (Kind::Velocity, "35 km/h", Metric, "35 km/h"),
        (Kind::Velocity, "22 mph", Us, "22 mph"),
        (Kind::Temperature, "0.1 degC", Metric, "0.1 degC"),
        (Kind::Temperature, "100 degF", Us, "100 degF"),
        (
            Kind::TemperatureDifference,
            "5 F difference",
            Us,
            "5 F difference",
        ),
        (Kind::AbsolutePressure, "12.3 psia", Us, "12.3 psia"),
        (Kind::GaugePressure, "0 kPa", Metric, "0 kPa"),
        (Kind::GaugePressure, "-0 kPa", Metric, "0 kPa"),
        (Kind::Duration, "10 min", Metric, "10 min"),
        (Kind::Power, "2 hp", Us, "2 hp"),
        (Kind::RotationalSpeed, "2800 rpm", Metric, "2800 rpm"),
        (
            Kind::HeatTransferCoefficient,
            "280 Btu/(h ft2 F)",
            Us,
            "280 Btu/(h ft2 F)",
        ),
        (Kind::EntropicCoefficient, "0.1 mV/K", Us, "0.1 mV/K"),
    ] {
        assert_eq!(text_si(kind, kind.parse(text).unwrap(), family), expected);
    }
    assert_eq!(Length::from_m(f64::NAN).to_string(), "-");
}

/// Bits of a fixed linear congruential generator (Knuth's MMIX constants, from memory; any full-period one would do).
fn next(state: &mut u64) -> u64 {
    *state = state
        .wrapping_mul(6_364_136_223_846_793_005)
        .wrapping_add(1_442_695_040_888_963_407);
    *state >> 11
}

#[test]
fn what_is_written_reads_back_over_all_kinds_families_and_magnitudes() {
    let mut state = 1;
    let mut inexact = 0;
    for &kind in Kind::ALL {
        for decade in -12..12 {
            for _ in 0..8 {
                let mantissa = 1.0 + 9.0 * next(&mut state) as f64 / (1_u64 << 53) as f64;
                let sign = if kind == Kind::Temperature
                    || kind == Kind::AbsolutePressure
                    || next(&mut state).is_multiple_of(2)
                {
                    1.0
                } else {
                    -1.0
                };
                for si in [
                    sign * mantissa * 10_f64.powi(decade),
                    sign * (mantissa * 100.0).round() * 10_f64.powi(decade),
                ] {
                    let text = text_si(kind, si, UnitFamily::Metric);
                    assert_eq!(kind.parse(&text), Ok(si), "{kind:?} {text}");
                    let text = text_si(kind, si, UnitFamily::Us);
                    let read = kind.parse(&text).unwrap_or(f64::NAN);
                    // A small temperature is a difference of large numbers in degF; the scale is what rounds there.
                    let size = if kind == Kind::Temperature {
                        si.abs().max(255.0)
                    } else {
                        si.abs()
                    };
                    assert!(
                        (read - si).abs() <= ROUND_OFF * size,
                        "{kind:?} {text} {si:?} {read:?}"
                    );
                    inexact += usize::from(read != si);
                    for family in [UnitFamily::Metric, UnitFamily::Us] {
                        // Whole degrees can round to below absolute zero.
                        if kind == Kind::Temperature && si < 1.0 {
                            continue;
                        }
                        // A report's own text is a text of that kind too, within its three figures.
                        let shown = show_si(kind, si, family);
                        let read = kind.parse(&shown).unwrap_or(f64::NAN);
                        let smallest = kind.customary(family).rungs[0].symbol;
                        let slack = if kind == Kind::Temperature {
                            0.5
                        } else {
                            1e-6 * kind.parse(&format!("1 {smallest}")).unwrap()
                        };
                        assert!(
                            (read - si).abs() <= 0.005_001 * si.abs() + slack,
                            "{kind:?} {shown} {si:?}"
                        );
                    }
                }
            }
        }
    }
    println!("US texts that read back within round-off only: {inexact}");
}

#[test]
fn json_holds_text_and_refuses_a_bare_number() {
    let bore: Length = serde_json::from_str("\"3/4 in\"").unwrap();
    assert_eq!(serde_json::to_string(&bore).unwrap(), "\"19.05 mm\"");
    let pressure: Pressure = serde_json::from_str("\"85 kPa abs\"").unwrap();
    assert_eq!(serde_json::to_string(&pressure).unwrap(), "\"85 kPa abs\"");
    let refused = serde_json::from_str::<Length>("19")
        .unwrap_err()
        .to_string();
    assert!(
        refused.starts_with(
            "invalid type: integer `19`, expected a length as text with its unit, such as \"19 mm\""
        ),
        "{refused}"
    );
    let refused = serde_json::from_str::<Length>("\"5 psi\"")
        .unwrap_err()
        .to_string();
    assert!(
        refused.starts_with("a length is wanted, but `5 psi` is a pressure;"),
        "{refused}"
    );
    assert_eq!(serde_json::to_string(&UnitFamily::Us).unwrap(), "\"us\"");
}

#[test]
fn the_schema_stands_inline_and_names_its_quantity() {
    #[derive(schemars::JsonSchema)]
    #[allow(dead_code)]
    struct Record {
        bore: Length,
        cap: Option<Pressure>,
    }
    let schema = schemars::schema_for!(Record).to_value();
    assert_eq!(
        schema["properties"]["bore"],
        serde_json::json!({"type": "string", "x-quantity": "length", "description": "a length with its unit", "examples": ["19 mm", "3/4 in"]})
    );
    assert_eq!(schema["properties"]["cap"]["x-quantity"], "pressure");
    assert!(schema.get("$defs").is_none());
}

#[test]
fn names_of_kinds_lead_back_to_them() {
    for &kind in Kind::ALL {
        assert_eq!(Kind::from_name(kind.name()), Some(kind));
    }
    assert_eq!(Kind::from_name("head"), None);
    assert_eq!(Temperature::from_celsius(38.0).k(), 311.15);
    let speed = RotationalSpeed::from_rpm(2800.0);
    assert_eq!("2800 rpm".parse(), Ok(speed));
    assert!((speed.rpm() - 2800.0).abs() <= 2800.0 * ROUND_OFF);
}
