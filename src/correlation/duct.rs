//! Pressure drop of a straight duct of constant section and its slope in flow: the solver's kernel.
//!
//! Darcy-Weisbach with the models of [`friction`](super::friction) and, on request, the entrance
//! excess of [`entrance`](super::entrance). No fittings and no change of bore.

use super::entrance::{EntranceFriction, excess_loss};
use super::friction::{FrictionModel, friction_factor};

/// Below this Reynolds number every model is the laminar law to round-off; it stays finite at rest.
const LAMINAR_BELOW_RE: f64 = 1.0;

/// A straight duct, or several equal ones side by side, as the friction law sees it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DuctShape {
    /// Flow area of one duct, m2.
    pub area_m2: f64,
    /// Hydraulic diameter, four areas over the wetted perimeter, m.
    pub hydraulic_diameter_m: f64,
    /// Length, m.
    pub length_m: f64,
    /// Wall roughness, m.
    pub roughness_m: f64,
    /// Laminar `f Re` of the section (Darcy): 64 for a round bore.
    pub laminar_constant: f64,
    /// Number of equal ducts that share the flow.
    pub parallel: f64,
    /// The friction factor.
    pub model: FrictionModel,
    /// Whether the developing flow behind the inlet costs extra.
    pub entrance: EntranceFriction,
}

/// Total pressure drop of a duct at a signed mass flow: drop, slope and Reynolds number.
///
/// `dp = (f L/D + K w) rho v^2/2` with the sign of the flow, `Re = rho v D/mu`, `K w` the faded
/// entrance excess or zero. Odd in the flow and with continuous slope; at rest the drop is zero and
/// the slope the laminar `lam mu L / (2 D^2 rho A n)`.
///
/// Units: kg/s, kg/m3, Pa s in; `(Pa, Pa s/kg, 1)` out, Reynolds number never negative.
/// Range: positive density, viscosity and sizes, any finite flow. The drop rises strictly with
/// flow for every model (tested over Re 1 to 1e8, L/D 0.3 to 2000).
///
/// Source: Darcy-Weisbach; the sources of the factors are at
/// [`friction_factor`] and [`excess_loss`].
///
/// ```
/// use loopwright::correlation::{DuctShape, EntranceFriction, FrictionModel, duct_drop_pa};
/// // Munson et al., Fundamentals of Fluid Mechanics, ex. 8.2: printed 20.4 kPa.
/// let bore = 0.020_f64;
/// let pipe = DuctShape {
///     area_m2: std::f64::consts::FRAC_PI_4 * bore * bore, hydraulic_diameter_m: bore,
///     length_m: 10.0, roughness_m: 0.0, laminar_constant: 64.0, parallel: 1.0,
///     model: FrictionModel::Churchill, entrance: EntranceFriction::Off,
/// };
/// let (dp_pa, _, reynolds) = duct_drop_pa(900.0 * 2e-5, 900.0, 0.4, &pipe);
/// assert!((dp_pa - 20.4e3).abs() < 50.0 && (reynolds - 2.87).abs() < 0.01);
/// ```
pub fn duct_drop_pa(
    flow_kg_s: f64,
    density_kg_m3: f64,
    viscosity_pa_s: f64,
    shape: &DuctShape,
) -> (f64, f64, f64) {
    let diameter = shape.hydraulic_diameter_m;
    let re_per_flow = diameter / (viscosity_pa_s * shape.area_m2 * shape.parallel);
    let re = flow_kg_s.abs() * re_per_flow;
    let length_ratio = shape.length_m / diameter;
    // The drop is scale * g(Re) with g = f Re^2 L/D + K Re^2, which stays finite at rest.
    let (mut g, mut g_slope) = if re < LAMINAR_BELOW_RE {
        (shape.laminar_constant * re, shape.laminar_constant)
    } else {
        let roughness = shape.roughness_m / diameter;
        let f = friction_factor(shape.model, re, roughness, shape.laminar_constant);
        (f.value * re * re, re * (2.0 * f.value + re * f.slope))
    };
    g *= length_ratio;
    g_slope *= length_ratio;
    if shape.entrance == EntranceFriction::On {
        let excess = excess_loss(re, length_ratio, shape.laminar_constant);
        g += excess.value * re * re;
        g_slope += re * (2.0 * excess.value + re * excess.slope);
    }
    let scale = viscosity_pa_s * viscosity_pa_s / (2.0 * density_kg_m3 * diameter * diameter);
    (
        (scale * g).copysign(flow_kg_s),
        scale * g_slope * re_per_flow,
        re,
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    const MODELS: [FrictionModel; 4] = [
        FrictionModel::Churchill,
        FrictionModel::Colebrook,
        FrictionModel::Haaland,
        FrictionModel::SwameeJain,
    ];

    fn duct(
        length_ratio: f64,
        roughness: f64,
        lam: f64,
        model: FrictionModel,
        entrance: EntranceFriction,
    ) -> DuctShape {
        DuctShape {
            area_m2: 1e-4,
            hydraulic_diameter_m: 0.01,
            length_m: 0.01 * length_ratio,
            roughness_m: 0.01 * roughness,
            laminar_constant: lam,
            parallel: 1.0,
            model,
            entrance,
        }
    }

    /// Mass flow per unit of Reynolds number of the test ducts at 1 mPa s.
    const FLOW_PER_RE: f64 = 1e-3 * 1e-4 / 0.01;

    fn every_duct(mut each: impl FnMut(&DuctShape)) {
        for model in MODELS {
            for lam in [56.908, 64.0, 76.0, 96.0] {
                for roughness in [0.0, 1e-5, 1e-3, 0.05] {
                    each(&duct(50.0, roughness, lam, model, EntranceFriction::Off));
                    for length_ratio in [0.3, 0.6, 1.0, 2.0, 5.0, 10.0, 30.0, 100.0, 500.0, 2000.0]
                    {
                        each(&duct(
                            length_ratio,
                            roughness,
                            lam,
                            model,
                            EntranceFriction::On,
                        ));
                    }
                }
            }
        }
    }

    #[test]
    fn the_drop_rises_strictly_with_flow_through_every_regime() {
        every_duct(|shape| {
            let mut last = 0.0;
            for k in 0..=1600 {
                let re = 10f64.powf(f64::from(k) * 8.0 / 1600.0);
                let (dp, slope, _) = duct_drop_pa(re * FLOW_PER_RE, 1000.0, 1e-3, shape);
                assert!(
                    dp > last && slope > 0.0,
                    "{shape:?} re {re}: {last} {dp} {slope}"
                );
                last = dp;
            }
        });
    }

    #[test]
    fn the_slope_agrees_with_a_central_difference() {
        every_duct(|shape| {
            for k in 0..=90 {
                // Off the joints of the bridged models, where the second derivative jumps.
                let flow = FLOW_PER_RE * 10f64.powf(-0.9713 + f64::from(k) * 0.1);
                let h = flow * 1e-5;
                let (_, slope, _) = duct_drop_pa(flow, 1000.0, 1e-3, shape);
                let up = duct_drop_pa(flow + h, 1000.0, 1e-3, shape).0;
                let down = duct_drop_pa(flow - h, 1000.0, 1e-3, shape).0;
                let difference = (up - down) / (2.0 * h);
                assert!(
                    (slope / difference - 1.0).abs() < 1e-6,
                    "{shape:?} {flow}: {slope} {difference}"
                );
            }
        });
    }

    #[test]
    fn the_slope_is_continuous_across_every_joint() {
        every_duct(|shape| {
            for re in [1.0, 2000.0, 4000.0] {
                let below = duct_drop_pa(re * (1.0 - 1e-11) * FLOW_PER_RE, 1000.0, 1e-3, shape);
                let above = duct_drop_pa(re * (1.0 + 1e-11) * FLOW_PER_RE, 1000.0, 1e-3, shape);
                assert!((below.1 / above.1 - 1.0).abs() < 1e-8, "{shape:?} {re}");
                assert!((below.0 / above.0 - 1.0).abs() < 1e-8);
            }
        });
    }

    #[test]
    fn the_drop_is_odd_and_its_slope_at_rest_is_poiseuilles() {
        every_duct(|shape| {
            let (dp, slope, re) = duct_drop_pa(0.0, 1000.0, 1e-3, shape);
            let exact = shape.laminar_constant * 1e-3 * shape.length_m
                / (2.0 * shape.hydraulic_diameter_m.powi(2) * 1000.0 * shape.area_m2);
            assert_eq!((dp, re), (0.0, 0.0));
            assert!((slope / exact - 1.0).abs() < 1e-14);
            for flow in [1e-120, 1e-12, 1e-4, 0.02, 3.0] {
                let forward = duct_drop_pa(flow, 1000.0, 1e-3, shape);
                let backward = duct_drop_pa(-flow, 1000.0, 1e-3, shape);
                assert_eq!(forward.0, -backward.0);
                assert_eq!(forward.1, backward.1);
                assert!(forward.0 > 0.0);
            }
        });
    }

    #[test]
    fn equal_ducts_share_the_flow() {
        let one = duct(
            50.0,
            0.0,
            64.0,
            FrictionModel::Churchill,
            EntranceFriction::On,
        );
        let four = DuctShape {
            parallel: 4.0,
            ..one
        };
        let (dp_one, slope_one, re_one) = duct_drop_pa(0.01, 1000.0, 1e-3, &one);
        let (dp_four, slope_four, re_four) = duct_drop_pa(0.04, 1000.0, 1e-3, &four);
        assert!((dp_one / dp_four - 1.0).abs() < 1e-14 && (re_one / re_four - 1.0).abs() < 1e-14);
        assert!((slope_one / slope_four / 4.0 - 1.0).abs() < 1e-14);
    }
}
