//! The Hazen-Williams head loss of a water pipe, kept for designs that ask for it.
//!
//! An empirical fit for turbulent water in larger pipes; it knows no viscosity. Wherever its range
//! is left the answer is wrong, and [`hazen_williams_outside_range`] says so.

/// The SI constant of `h = 10.67 L Q^1.852 / (C^1.852 D^4.8704)`; common practice.
pub const HAZEN_WILLIAMS_SI: f64 = 10.67;
/// Standard acceleration of free fall, m/s2.
const GRAVITY_M_S2: f64 = 9.80665;
const FLOW_EXPONENT: f64 = 1.852;
const BORE_EXPONENT: f64 = 4.8704;
/// Below this mean velocity the power law gives way to an odd cubic with the same end.
const SMOOTHED_BELOW_M_S: f64 = 1e-3;

/// Pressure drop of a round pipe by Hazen-Williams and its slope in volume flow.
///
/// `dp = rho g 10.67 L Q|Q|^0.852 / (C^1.852 D^4.8704)`. Below a mean velocity of 1 mm/s it is the odd
/// cubic `Q (a + b Q^2)` that meets value and slope there, so the slope at rest is finite.
///
/// Units: m3/s, kg/m3, m in; `(Pa, Pa s/m3)` out; `c` is the dimensionless roughness coefficient.
/// Range: see [`hazen_williams_outside_range`]; outside it the value is formed all the same.
///
/// Source: G. S. Williams and A. Hazen, Hydraulic Tables, 1905, in the usual SI form.
///
/// ```
/// use loopwright::correlation::hazen_williams_drop_pa;
/// // Vennard, Elementary Fluid Mechanics, ex. 9.10: 65.7 ft; the SI form gives 65.58 ft.
/// let (dp_pa, _) = hazen_williams_drop_pa(90.0 * 6.30902e-5, 1000.0, 914.4, 0.0762, 140.0);
/// assert!((dp_pa / 9806.65 / 0.3048 - 65.58).abs() < 0.005);
/// ```
pub fn hazen_williams_drop_pa(
    flow_m3_s: f64,
    density_kg_m3: f64,
    length_m: f64,
    diameter_m: f64,
    c: f64,
) -> (f64, f64) {
    let factor = density_kg_m3 * GRAVITY_M_S2 * HAZEN_WILLIAMS_SI * length_m
        / (c.powf(FLOW_EXPONENT) * diameter_m.powf(BORE_EXPONENT));
    let q = flow_m3_s.abs();
    let q_low = SMOOTHED_BELOW_M_S * std::f64::consts::FRAC_PI_4 * diameter_m * diameter_m;
    if q >= q_low {
        let power = factor * q.powf(FLOW_EXPONENT - 1.0);
        return (power * flow_m3_s, FLOW_EXPONENT * power);
    }
    let power = factor * q_low.powf(FLOW_EXPONENT - 1.0);
    let linear = 0.5 * (3.0 - FLOW_EXPONENT) * power;
    let cubic = 0.5 * (FLOW_EXPONENT - 1.0) * power;
    let share = (q / q_low) * (q / q_low);
    (
        (linear + cubic * share) * flow_m3_s,
        linear + 3.0 * cubic * share,
    )
}

/// The way in which a use of Hazen-Williams is outside what it was made for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum HazenWilliamsLimit {
    /// The bore is smaller than about 50 mm.
    Bore {
        /// The bore, m.
        bore_m: f64,
        /// The limit, m.
        limit_m: f64,
    },
    /// The flow is not turbulent.
    Reynolds {
        /// The Reynolds number.
        reynolds: f64,
        /// The limit.
        limit: f64,
    },
    /// The liquid is not as thin as water near room temperature.
    Viscosity {
        /// Kinematic viscosity, m2/s.
        kinematic_viscosity_m2_s: f64,
        /// The limit, m2/s.
        limit_m2_s: f64,
    },
}

/// Smallest bore, m; common practice.
const SMALLEST_BORE_M: f64 = 0.050;
/// Smallest Reynolds number, the end of transition; common practice.
const SMALLEST_RE: f64 = 4000.0;
/// Water at 5 degC has 1.52 mm2/s and at 30 degC 0.80 mm2/s; thicker or thinner is another liquid.
const VISCOSITY_RANGE_M2_S: (f64, f64) = (0.75e-6, 1.6e-6);

/// Says in which respect a use leaves the range of Hazen-Williams, gravest first; `None` inside.
///
/// The order is regime, viscosity, bore. Temperature is judged by what it changes: the kinematic
/// viscosity must be that of water between about 5 and 30 degC.
///
/// Units: m, 1, m2/s. Source: common practice (water near room temperature, turbulent, bores above
/// about 50 mm).
pub fn hazen_williams_outside_range(
    bore_m: f64,
    reynolds: f64,
    kinematic_viscosity_m2_s: f64,
) -> Option<HazenWilliamsLimit> {
    let (thinnest, thickest) = VISCOSITY_RANGE_M2_S;
    if reynolds < SMALLEST_RE {
        return Some(HazenWilliamsLimit::Reynolds {
            reynolds,
            limit: SMALLEST_RE,
        });
    }
    if !(thinnest..=thickest).contains(&kinematic_viscosity_m2_s) {
        return Some(HazenWilliamsLimit::Viscosity {
            kinematic_viscosity_m2_s,
            limit_m2_s: if kinematic_viscosity_m2_s < thinnest {
                thinnest
            } else {
                thickest
            },
        });
    }
    if bore_m < SMALLEST_BORE_M {
        return Some(HazenWilliamsLimit::Bore {
            bore_m,
            limit_m: SMALLEST_BORE_M,
        });
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn value_and_slope_are_continuous_and_odd() {
        let drop = |q| hazen_williams_drop_pa(q, 1000.0, 10.0, 0.1, 140.0);
        let q_low = 1e-3 * std::f64::consts::FRAC_PI_4 * 0.01;
        let (below, above) = (drop(q_low * (1.0 - 1e-12)), drop(q_low * (1.0 + 1e-12)));
        assert!((below.0 / above.0 - 1.0).abs() < 1e-10);
        assert!((below.1 / above.1 - 1.0).abs() < 1e-10);
        assert!(drop(0.0).0 == 0.0 && drop(0.0).1 > 0.0);
        for q in [q_low * 0.3, q_low * 5.0, 0.01] {
            assert_eq!(drop(q).0, -drop(-q).0);
            let h = q * 1e-6;
            let difference = (drop(q + h).0 - drop(q - h).0) / (2.0 * h);
            assert!((drop(q).1 / difference - 1.0).abs() < 1e-8);
        }
    }

    #[test]
    fn glycol_in_a_small_hose_is_refused_in_the_order_that_matters() {
        use HazenWilliamsLimit as Limit;
        assert!(matches!(
            hazen_williams_outside_range(0.016, 1500.0, 3e-6),
            Some(Limit::Reynolds { .. })
        ));
        assert!(matches!(
            hazen_williams_outside_range(0.016, 9000.0, 3e-6),
            Some(Limit::Viscosity { .. })
        ));
        assert!(matches!(
            hazen_williams_outside_range(0.016, 9000.0, 1e-6),
            Some(Limit::Bore { .. })
        ));
        assert_eq!(hazen_williams_outside_range(0.1, 9e4, 1e-6), None);
    }
}
