//! The Darcy friction factor of a duct and its slope, by four published models.
//!
//! Not the pressure drop of a duct: that is in [`duct`](super::duct), re-exported here.
//! Sources stand at each model. Every model gives a drop that rises strictly with flow.

pub use super::duct::{DuctShape, duct_drop_pa};
pub use super::entrance::EntranceFriction;

/// A value with its derivative with respect to the Reynolds number.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Sloped {
    /// The value itself.
    pub value: f64,
    /// Its derivative, d value / d Re.
    pub slope: f64,
}

/// Which published friction factor a design uses.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum FrictionModel {
    /// Churchill (1977): one smooth expression for every regime. The default.
    #[default]
    Churchill,
    /// Colebrook (1939), solved to round-off, above Re 4000; laminar below 2000; bridged between.
    Colebrook,
    /// Haaland (1983) above Re 4000; laminar below 2000; bridged between.
    Haaland,
    /// Swamee and Jain (1976) above Re 4000; laminar below 2000; bridged between.
    SwameeJain,
}

/// Below this Reynolds number Churchill's expression is replaced by the laminar law, to which it is
/// equal within round-off (its powers overflow further down).
const CHURCHILL_LAMINAR_BELOW_RE: f64 = 1.0;
/// Smallest Reynolds number for which a friction factor is formed; smaller ones give this one's.
const SMALLEST_RE: f64 = 1e-100;
/// Largest relative roughness; Colebrook's own range ends at 0.05, a bore is closed at 0.5.
pub(super) const LARGEST_RELATIVE_ROUGHNESS: f64 = 0.5;
/// Where the bridged models leave the laminar law.
pub const BRIDGE_START_RE: f64 = 2000.0;
/// Where the bridged models join the turbulent law.
pub const BRIDGE_END_RE: f64 = 4000.0;

/// The Darcy friction factor at a Reynolds number, with its slope.
///
/// Churchill: `f = 8 [(lam / (8 Re))^12 + (A + B)^-1.5]^(1/12)`,
/// `A = (2.457 ln 1/((7/Re)^0.9 + 0.27 e))^16`, `B = (37530/Re)^16`, with the laminar constant
/// `lam` of the section (64 for a round bore) in the laminar term.
/// Colebrook: `1/sqrt f = -2 log10(e/3.7 + 2.51/(Re sqrt f))`.
/// Haaland: `1/sqrt f = -1.8 log10((e/3.7)^1.11 + 6.9/Re)`.
/// Swamee-Jain: `f = 0.25 / log10(e/3.7 + (6.97/Re)^0.9)^2`, often printed with `5.74/Re^0.9`, its
/// rounded equal (2e-6 apart in f).
/// The last three hold above Re 4000; below Re 2000 `f = lam / Re`; between, `ln f` is a cubic of
/// `ln Re` that meets value and slope at both ends, so `f Re^2` rises strictly for every roughness.
///
/// Units: all dimensionless; `relative_roughness` is roughness over hydraulic diameter.
/// Range: Re > 0 (below 1e-100 the value there), roughness 0 to 0.05; a larger one is used as it is
/// up to 0.5 and as 0.5 above. Between Re 2000 and 4000 the true value is uncertain by up to a
/// factor of two.
///
/// Sources: S. W. Churchill, "Friction-factor equation spans all fluid-flow regimes", Chem. Eng.
/// 84(24), 1977; C. F. Colebrook, J. Inst. Civ. Eng. 11, 1939; S. E. Haaland, J. Fluids Eng. 105,
/// 1983; P. K. Swamee and A. K. Jain, J. Hydraul. Div. ASCE 102(5), 1976. The bridge is common
/// practice, no source.
///
/// ```
/// use loopwright::correlation::friction::{FrictionModel, friction_factor};
/// let f = friction_factor(FrictionModel::Churchill, 1e5, 1e-4, 64.0);
/// assert!((f.value - 0.018462624566).abs() < 5e-13);
/// let laminar = friction_factor(FrictionModel::Colebrook, 1600.0, 0.0, 64.0);
/// assert_eq!(laminar.value, 0.04);
/// ```
pub fn friction_factor(
    model: FrictionModel,
    reynolds: f64,
    relative_roughness: f64,
    laminar_constant: f64,
) -> Sloped {
    let re = reynolds.max(SMALLEST_RE);
    let roughness = relative_roughness.clamp(0.0, LARGEST_RELATIVE_ROUGHNESS);
    if model == FrictionModel::Churchill {
        return if re <= CHURCHILL_LAMINAR_BELOW_RE {
            laminar(re, laminar_constant)
        } else {
            churchill(re, roughness, laminar_constant)
        };
    }
    if re <= BRIDGE_START_RE {
        laminar(re, laminar_constant)
    } else if re >= BRIDGE_END_RE {
        turbulent(model, re, roughness)
    } else {
        bridge_log_log(
            re,
            (BRIDGE_START_RE, laminar(BRIDGE_START_RE, laminar_constant)),
            (BRIDGE_END_RE, turbulent(model, BRIDGE_END_RE, roughness)),
        )
    }
}

fn laminar(re: f64, laminar_constant: f64) -> Sloped {
    let value = laminar_constant / re;
    Sloped {
        value,
        slope: -value / re,
    }
}

fn churchill(re: f64, roughness: f64, laminar_constant: f64) -> Sloped {
    let smooth_part = (7.0 / re).powf(0.9);
    let argument = smooth_part + 0.27 * roughness;
    let root_a = -2.457 * argument.ln();
    let d_root_a = 2.457 * 0.9 * smooth_part / (re * argument);
    let root_a_15 = root_a.powi(15);
    let b = (37530.0 / re).powi(16);
    let sum = root_a_15 * root_a + b;
    let d_sum = 16.0 * (root_a_15 * d_root_a - b / re);
    let turbulent_term = 1.0 / (sum * sum.sqrt());
    let d_turbulent = -1.5 * turbulent_term * d_sum / sum;
    let laminar_term = (laminar_constant / (8.0 * re)).powi(12);
    let d_laminar = -12.0 * laminar_term / re;
    let total = laminar_term + turbulent_term;
    let value = 8.0 * total.cbrt().sqrt().sqrt();
    Sloped {
        value,
        slope: value * (d_laminar + d_turbulent) / (12.0 * total),
    }
}

fn turbulent(model: FrictionModel, re: f64, roughness: f64) -> Sloped {
    match model {
        FrictionModel::Haaland => {
            let argument = (roughness / 3.7).powf(1.11) + 6.9 / re;
            from_log_argument(1.8, argument, -6.9 / (re * re))
        }
        FrictionModel::SwameeJain => {
            let smooth_part = (6.97 / re).powf(0.9);
            from_log_argument(2.0, roughness / 3.7 + smooth_part, -0.9 * smooth_part / re)
        }
        FrictionModel::Colebrook | FrictionModel::Churchill => colebrook(re, roughness),
    }
}

/// `1/sqrt f = -factor log10(argument)`, differentiated with the argument's own slope.
fn from_log_argument(factor: f64, argument: f64, argument_slope: f64) -> Sloped {
    let inverse_root = -factor * argument.log10();
    let value = 1.0 / (inverse_root * inverse_root);
    let d_inverse_root = -factor * argument_slope / (argument * std::f64::consts::LN_10);
    Sloped {
        value,
        slope: -2.0 * value * d_inverse_root / inverse_root,
    }
}

/// Newton on `x = 1/sqrt f`; the function is convex and nearly linear in x, so the steps close
/// quadratically from Haaland's value: three reach round-off everywhere (tested), five are allowed.
fn colebrook(re: f64, roughness: f64) -> Sloped {
    let factor = 2.0 / std::f64::consts::LN_10;
    let (rough, smooth) = (roughness / 3.7, 2.51 / re);
    let mut x = -1.8 * ((roughness / 3.7).powf(1.11) + 6.9 / re).log10();
    for _ in 0..5 {
        let argument = rough + smooth * x;
        let step = (x + factor * argument.ln()) / (1.0 + factor * smooth / argument);
        x -= step;
        if step.abs() <= 1e-15 * x {
            break;
        }
    }
    let pull = factor * smooth / (rough + smooth * x);
    let x_slope = pull * x / (re * (1.0 + pull));
    let value = 1.0 / (x * x);
    Sloped {
        value,
        slope: -2.0 * value * x_slope / x,
    }
}

/// A cubic in `ln` of value over `ln Re` between two points with their slopes; positive throughout.
pub(super) fn bridge_log_log(re: f64, from: (f64, Sloped), to: (f64, Sloped)) -> Sloped {
    let span = (to.0 / from.0).ln();
    let t = (re / from.0).ln() / span;
    let rise = (to.1.value / from.1.value).ln();
    let from_slope = span * from.0 * from.1.slope / from.1.value;
    let to_slope = span * to.0 * to.1.slope / to.1.value;
    let (square, cube) = (
        3.0 * rise - 2.0 * from_slope - to_slope,
        from_slope + to_slope - 2.0 * rise,
    );
    let value = from.1.value * (t * (from_slope + t * (square + t * cube))).exp();
    let log_slope = (from_slope + t * (2.0 * square + 3.0 * t * cube)) / span;
    Sloped {
        value,
        slope: value * log_slope / re,
    }
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

    #[test]
    fn the_slope_agrees_with_a_central_difference() {
        for model in MODELS {
            for roughness in [0.0, 1e-4, 0.01, 0.05] {
                for lam in [56.9, 64.0, 96.0] {
                    for k in 0..400 {
                        let re = 10f64.powf(0.003 + 8.0 * f64::from(k) / 400.0);
                        let h = re * 1e-5;
                        let f = friction_factor(model, re, roughness, lam);
                        let up = friction_factor(model, re + h, roughness, lam).value;
                        let down = friction_factor(model, re - h, roughness, lam).value;
                        let difference = (up - down) / (2.0 * h);
                        assert!(
                            (f.slope - difference).abs() < 2e-7 * f.value / re,
                            "{model:?} re {re} e {roughness}: {} {difference}",
                            f.slope
                        );
                    }
                }
            }
        }
    }

    #[test]
    fn no_reynolds_number_overflows() {
        for model in MODELS {
            for re in [0.0, 1e-300, 1e-30, 1e-15, 0.999, 1.0, 1.001, 1e12, 1e30] {
                for roughness in [0.0, 1e-6, 0.05, 0.5, 7.0] {
                    let f = friction_factor(model, re, roughness, 64.0);
                    assert!(f.value.is_finite() && f.slope.is_finite(), "{model:?} {re}");
                    assert!(f.value > 0.0);
                }
            }
        }
    }

    #[test]
    fn the_bridge_meets_both_neighbours_in_value_and_slope() {
        for model in [
            FrictionModel::Colebrook,
            FrictionModel::Haaland,
            FrictionModel::SwameeJain,
        ] {
            for edge in [BRIDGE_START_RE, BRIDGE_END_RE] {
                let below = friction_factor(model, edge * (1.0 - 1e-12), 0.001, 96.0);
                let above = friction_factor(model, edge * (1.0 + 1e-12), 0.001, 96.0);
                assert!((below.value / above.value - 1.0).abs() < 1e-10);
                assert!((below.slope / above.slope - 1.0).abs() < 1e-9);
            }
        }
    }

    #[test]
    fn colebrook_satisfies_its_own_equation() {
        for re in [4000.0, 1e4, 1e6, 1e8, 1e12] {
            for roughness in [0.0, 1e-6, 1e-3, 0.05] {
                let f = friction_factor(FrictionModel::Colebrook, re, roughness, 64.0).value;
                let right = -2.0 * (roughness / 3.7 + 2.51 / (re * f.sqrt())).log10();
                assert!((f.sqrt() * right - 1.0).abs() < 1e-14);
            }
        }
    }
}
