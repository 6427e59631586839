//! Coolants: properties within and beyond their range, enthalpy and its inverse.

use super::*;

fn specimens() -> Vec<Coolant> {
    let mut all = vec![Coolant::water()];
    for glycol in [Glycol::Ethylene, Glycol::Propylene] {
        for i in 0..=24 {
            let x = 0.025 * f64::from(i);
            all.push(Coolant::glycol(glycol, Fraction::Volume(x)).expect("accepted"));
            all.push(
                Coolant::glycol_from(glycol, Fraction::Mass(x), GlycolSource::Melinder)
                    .expect("accepted"),
            );
        }
    }
    let row = |t_c: f64, mu: f64, cp: f64| TableRow {
        temperature_k: t_c + ICE_POINT_K,
        properties: Properties {
            density_kg_m3: 900.0 - t_c,
            viscosity_pa_s: mu,
            specific_heat_j_kg_k: cp,
            conductivity_w_m_k: 0.13,
        },
    };
    let oil = [
        row(10.0, 0.02, 1900.0),
        row(40.0, 0.008, 2000.0),
        row(120.0, 0.001, 2300.0),
    ];
    all.push(Coolant::table(&oil, None, None).expect("accepted"));
    all.push(Coolant::table(&oil, Some(288.15), None).expect("accepted"));
    all.push(Coolant::table(&oil[..2], None, None).expect("accepted"));
    all
}

#[test]
fn viscosity_falls_and_everything_stays_positive_over_the_whole_range() {
    for coolant in specimens() {
        let (low, high) = coolant.range_k();
        let mut last = f64::INFINITY;
        for i in 0..=2000 {
            let t = low + (high - low) * f64::from(i) / 2000.0;
            let p = coolant.properties(t.min(high)).expect("accepted");
            assert!(p.viscosity_pa_s < last, "{} {t}", coolant.describe());
            last = p.viscosity_pa_s;
            assert!(p.density_kg_m3 > 700.0 && p.density_kg_m3 < 1200.0);
            assert!(p.specific_heat_j_kg_k > 1500.0 && p.specific_heat_j_kg_k < 4500.0);
            assert!(p.conductivity_w_m_k > 0.1 && p.conductivity_w_m_k < 0.8);
            assert!(p.viscosity_pa_s > 1e-4);
        }
    }
}

#[test]
fn properties_are_held_beyond_both_ends_and_never_fail() {
    for coolant in specimens() {
        let (low, high) = coolant.range_k();
        let first = coolant.properties(low).expect("accepted");
        let last = coolant.properties(high).expect("accepted");
        for t in [low - 1e-9, 0.0, -1e9, f64::NEG_INFINITY, f64::NAN] {
            assert_eq!(coolant.properties_extended(t), first);
            assert!(coolant.properties(t).is_err());
        }
        for t in [high + 1e-9, 1e9, f64::INFINITY] {
            assert_eq!(coolant.properties_extended(t), last);
            assert!(coolant.properties(t).is_err());
        }
        let inside = coolant.properties_extended(low + 1e-9);
        assert!((inside.viscosity_pa_s / first.viscosity_pa_s - 1.0).abs() < 1e-9);
    }
}

#[test]
fn temperature_returns_from_enthalpy_to_round_off() {
    for coolant in specimens() {
        let (low, high) = coolant.range_k();
        for i in -300..=1300 {
            let t = low + (high - low) * f64::from(i) / 1000.0;
            let back = coolant.temperature_from_enthalpy_k(coolant.enthalpy_j_kg(t));
            assert!(
                (back - t).abs() < 1e-10,
                "{} {t} {back}",
                coolant.describe()
            );
        }
        assert!(coolant.enthalpy_j_kg(ICE_POINT_K).abs() < 1e-12);
    }
}

#[test]
fn enthalpy_is_the_integral_of_the_heat_capacity_used() {
    for coolant in specimens() {
        let (low, high) = coolant.range_k();
        let (a, b) = (low - 20.0, high + 20.0);
        // Three-point Gauss over each kelvin is exact for the cubics and the degree-7
        // polynomial to round-off; kinks at the ends and at table rows cost under 1e-6.
        let n = 2000;
        let step = (b - a) / f64::from(n);
        let offset = 0.5 * step * 0.6_f64.sqrt();
        let cp = |t| coolant.properties_extended(t).specific_heat_j_kg_k;
        let sum: f64 = (0..n)
            .map(|i| {
                let m = a + (f64::from(i) + 0.5) * step;
                (5.0 * cp(m - offset) + 8.0 * cp(m) + 5.0 * cp(m + offset)) / 18.0 * step
            })
            .sum();
        let difference = coolant.enthalpy_j_kg(b) - coolant.enthalpy_j_kg(a);
        assert!(
            (sum / difference - 1.0).abs() < 1e-7,
            "{}",
            coolant.describe()
        );
    }
}

#[test]
fn nothing_added_is_water() {
    let none = Coolant::glycol(Glycol::Ethylene, Fraction::Volume(0.0)).expect("accepted");
    let water = Coolant::water();
    assert_eq!(none.range_k(), water.range_k());
    assert_eq!(
        none.properties_extended(330.0),
        water.properties_extended(330.0)
    );
    assert_eq!(none.caution_above_k(), None);
    assert_eq!(none.boiling_k(2e5), water.boiling_k(2e5));
}

#[test]
fn glycol_raises_the_boiling_point_and_warns_above_100_c() {
    let mix = Coolant::glycol(Glycol::Ethylene, Fraction::Volume(0.5)).expect("accepted");
    let water = Coolant::water();
    assert!(mix.boiling_k(2e5) > water.boiling_k(2e5) + 5.0);
    assert_eq!(mix.caution_above_k(), Some(373.15));
    let p = mix.vapour_pressure_pa(360.0);
    assert!((mix.boiling_k(p) - 360.0).abs() < 1e-6);
}

#[test]
fn a_table_boils_where_it_says() {
    let rows = [273.15, 363.15].map(|temperature_k| TableRow {
        temperature_k,
        properties: Coolant::water().properties_extended(temperature_k),
    });
    let point = BoilingPoint {
        temperature_k: 380.0,
        pressure_pa: 101_325.0,
    };
    let coolant = Coolant::table(&rows, None, Some(point)).expect("accepted");
    assert!((coolant.boiling_k(101_325.0) - 380.0).abs() < 1e-6);
    assert_eq!(coolant.freezing_k(), None);
    assert_eq!(
        coolant.describe(),
        "coolant table of 2 rows, 0.0 to 90.0 degC"
    );
    let bad = BoilingPoint {
        temperature_k: 700.0,
        pressure_pa: 1e5,
    };
    assert!(Coolant::table(&rows, None, Some(bad)).is_err());
    assert!(Coolant::table(&rows, Some(400.0), None).is_err());
}

#[test]
fn coolants_say_what_they_are() {
    let by_mass = Coolant::glycol_from(
        Glycol::Propylene,
        Fraction::Mass(0.409),
        GlycolSource::Melinder,
    );
    assert_eq!(
        by_mass.expect("accepted").describe(),
        "propylene glycol and water, 40.9 % by mass (40.0 % by volume), data of Melinder (2010)"
    );
    assert_eq!(Coolant::water().describe(), "water");
}

#[test]
fn enthalpy_and_heat_capacity_are_the_same_together_as_apart() {
    let rows = [280.0, 320.0, 370.0].map(|temperature_k| TableRow {
        temperature_k,
        properties: Properties {
            density_kg_m3: 1000.0,
            viscosity_pa_s: 1e-3,
            specific_heat_j_kg_k: 3000.0 + temperature_k,
            conductivity_w_m_k: 0.5,
        },
    });
    let table = Coolant::table(&rows, None, None).unwrap_or_else(|e| panic!("{e}"));
    for coolant in [Coolant::water(), table] {
        for k in [200.0, 273.15, 280.0, 301.7, 350.0, 370.0, 500.0] {
            let apart = (
                coolant.enthalpy_j_kg(k),
                coolant.specific_heat_extended_j_kg_k(k),
            );
            assert_eq!(coolant.enthalpy_and_specific_heat(k), apart, "{k}");
        }
    }
}
