//! A measured or stated pressure drop: the record that modules, plates, valves and exchangers share, and its lowering.

use super::conduit::STATED_LAMINAR_REYNOLDS;
use super::law::TwoTerm;
use crate::correlation::valve::{kv_from_cv, quadratic_from_kv, two_term_fit, two_term_from_point};
use crate::quantity::{Length, PressureDifference, Temperature, VolumeFlow};
use serde::{Deserialize, Serialize};

/// Pressure drop of a part, in one of four ways: measured `points` (with `coolant` and `temperature` of the test), a
/// `loss_coefficient` on a `bore`, a `kv`, or a `cv`.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct PressureDrop {
    /// The coolant of the test, by its name under `coolants`.
    pub coolant: Option<String>,
    /// The coolant temperature of the test.
    pub temperature: Option<Temperature>,
    /// Measured flow and pressure drop, one to many, each above zero.
    #[cfg_attr(test, schemars(length(min = 1, max = 1000)))]
    pub points: Option<Vec<(VolumeFlow, PressureDifference)>>,
    /// For a single point: the share of its drop that is laminar (proportional to flow), from geometry or a guess.
    #[cfg_attr(test, schemars(range(min = 0.0, max = 1.0)))]
    pub laminar_share: Option<f64>,
    /// Loss coefficient on the velocity head in `bore`.
    #[cfg_attr(test, schemars(range(min = 0.0)))]
    pub loss_coefficient: Option<f64>,
    /// The bore that `loss_coefficient` refers to.
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub bore: Option<Length>,
    /// Flow of water in m3/h at a drop of 1 bar, written as a flow.
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub kv: Option<VolumeFlow>,
    /// Flow of water in US gallons per minute at a drop of 1 psi, written as a flow.
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub cv: Option<VolumeFlow>,
}

/// What a pressure drop was lowered to, and how far the points may be trusted.
#[derive(Clone, Debug, PartialEq)]
pub struct Lowered {
    /// The law.
    pub law: TwoTerm,
    /// Largest relative misfit of the law to the points (0 where it is stated rather than fitted).
    pub misfit: f64,
    /// Lowest and highest measured flow, m3/s, where points were given.
    pub span_m3_s: Option<(f64, f64)>,
    /// One point only, and no laminar share: the answer is a band.
    pub single_point: bool,
}

/// How a single point without a laminar share is read: the middle, or either end of what is possible.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum SinglePoint {
    /// Half laminar, half turbulent.
    #[default]
    Middle,
    /// All laminar: pressure proportional to flow.
    AllLaminar,
    /// All turbulent: pressure with the square of flow.
    AllTurbulent,
}

impl SinglePoint {
    fn share(self) -> f64 {
        match self {
            Self::Middle => 0.5,
            Self::AllLaminar => 1.0,
            Self::AllTurbulent => 0.0,
        }
    }
}

/// Flow at which the laminar share of a valve equals its turbulent share, as a share of the flow at 1 bar: it keeps
/// the slope finite at rest. Common practice, no source.
const VALVE_LAMINAR_FLOW_SHARE: f64 = 1.0e-3;
/// One US gallon per minute, m3/s: 231 cubic inches a gallon (NIST SP 811).
pub(super) const GPM_M3_S: f64 = 231.0 * 0.0254 * 0.0254 * 0.0254 / 60.0;
/// Kinematic viscosity of water at 20 degC, m2/s, to which [`VALVE_LAMINAR_FLOW_SHARE`] refers.
const WATER_M2_S: f64 = 1.0e-6;

/// A valve's quadratic coefficient with the small laminar term that keeps its slope finite.
pub fn valve_law(quadratic: f64) -> TwoTerm {
    // b rho Q^2 = 1 bar with water defines the flow at 1 bar.
    let flow_at_bar = (1.0e5 / (1000.0 * quadratic)).sqrt();
    let a = quadratic * VALVE_LAMINAR_FLOW_SHARE * flow_at_bar / WATER_M2_S;
    TwoTerm::symmetric(a, quadratic)
}

/// A loss coefficient on a bore with the small laminar term that keeps its slope finite.
pub fn stated_loss(coefficient: f64, bore_m: f64) -> TwoTerm {
    let area = 0.25 * std::f64::consts::PI * bore_m * bore_m;
    TwoTerm::on_bore(
        STATED_LAMINAR_REYNOLDS * coefficient,
        coefficient,
        coefficient,
        bore_m,
        area,
    )
}

impl PressureDrop {
    /// Which of the four ways is used; the message says what to give.
    ///
    /// # Errors
    /// A sentence naming the keys that are missing or stand against each other.
    pub fn way(&self) -> Result<(), String> {
        let ways = [
            ("points", self.points.is_some()),
            ("loss_coefficient", self.loss_coefficient.is_some()),
            ("kv", self.kv.is_some()),
            ("cv", self.cv.is_some()),
        ];
        let given: Vec<&str> = ways.iter().filter(|w| w.1).map(|w| w.0).collect();
        match given.as_slice() {
            ["points"] if self.coolant.is_none() || self.temperature.is_none() => Err(
                "cannot use `points` without the `coolant` and `temperature` of the test: viscosity decides how they scale; try adding both"
                    .into(),
            ),
            ["loss_coefficient"] if self.bore.is_none() => {
                Err("cannot use `loss_coefficient` without the `bore` it refers to; give `bore`, the inside diameter for which it holds".into())
            }
            [_] => Ok(()),
            [] => Err(
                "cannot tell the pressure drop because none is given; give one of `points`, `loss_coefficient` with `bore`, `kv` or `cv`".into(),
            ),
            several => Err(format!(
                "cannot tell which pressure drop holds because {} are given; keep one",
                several.iter().map(|w| format!("`{w}`")).collect::<Vec<_>>().join(" and ")
            )),
        }
    }

    /// Lowers the record; `test_viscosity_pa_s` and `test_density_kg_m3` are those of the test coolant.
    ///
    /// # Errors
    /// A sentence saying why the points cannot be fitted, or which key is missing.
    pub fn lower(
        &self,
        test_viscosity_pa_s: f64,
        test_density_kg_m3: f64,
        single: SinglePoint,
    ) -> Result<Lowered, String> {
        self.way()?;
        let stated = |law| Lowered {
            law,
            misfit: 0.0,
            span_m3_s: None,
            single_point: false,
        };
        if let Some(kv) = self.kv {
            return Ok(stated(valve_law(quadratic_from_kv(kv.m3_s() * 3600.0))));
        }
        if let Some(cv) = self.cv {
            return Ok(stated(valve_law(quadratic_from_kv(kv_from_cv(
                cv.m3_s() / GPM_M3_S,
            )))));
        }
        if let (Some(k), Some(bore)) = (self.loss_coefficient, self.bore) {
            return Ok(stated(stated_loss(k, bore.m())));
        }
        let points: Vec<(f64, f64)> = self
            .points
            .iter()
            .flatten()
            .map(|(q, dp)| (q.m3_s(), dp.pa()))
            .collect();
        let low = points.iter().map(|p| p.0).fold(f64::INFINITY, f64::min);
        let high = points.iter().map(|p| p.0).fold(0.0, f64::max);
        if let [point] = points[..] {
            let share = self.laminar_share.unwrap_or(single.share());
            let fit = two_term_from_point(point, share, test_viscosity_pa_s, test_density_kg_m3)
                .map_err(|e| e.to_string())?;
            return Ok(Lowered {
                law: TwoTerm::symmetric(fit.a, fit.b),
                misfit: 0.0,
                span_m3_s: Some((low, high)),
                single_point: self.laminar_share.is_none(),
            });
        }
        let fit = two_term_fit(&points, test_viscosity_pa_s, test_density_kg_m3)
            .map_err(|e| e.to_string())?;
        Ok(Lowered {
            law: TwoTerm::symmetric(fit.a, fit.b),
            misfit: fit.misfit,
            span_m3_s: Some((low, high)),
            single_point: false,
        })
    }
}
