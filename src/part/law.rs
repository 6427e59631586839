//! The closed set of laws that parts are lowered to: pressure drop of a stream with its exact slope.
//! Laws know a fluid's density and viscosity as numbers; they know no neighbour, no temperature and no name.

use super::curve::Curve;
use super::fins::LouvredPath;
use super::tubes::DimpledDuct;
use crate::correlation::{DuctShape, duct_drop_pa, hazen_williams_drop_pa};
use crate::fluid::Properties;

/// A pressure drop (positive in the direction of positive flow) and its slope over mass flow.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Drop {
    /// Total pressure at the inlet less that at the outlet, without the weight of the column, Pa.
    pub drop_pa: f64,
    /// Its derivative over mass flow, Pa s/kg.
    pub slope_pa_s_kg: f64,
}

impl std::ops::AddAssign for Drop {
    fn add_assign(&mut self, other: Self) {
        self.drop_pa += other.drop_pa;
        self.slope_pa_s_kg += other.slope_pa_s_kg;
    }
}

/// `dp = a mu Q + b rho Q|Q|`: a laminar and a turbulent share, each scaled by its own property.
///
/// `a` in 1/m3, `b` in 1/m4; all of minor losses, measured points, valves and restrictors come to this form. Where
/// the loss depends on the direction, `b_reverse` serves flow from outlet to inlet.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct TwoTerm {
    /// Laminar coefficient, 1/m3.
    pub a: f64,
    /// Turbulent coefficient of forward flow, 1/m4.
    pub b: f64,
    /// Turbulent coefficient of reverse flow, 1/m4.
    pub b_reverse: f64,
}

impl TwoTerm {
    /// The same loss in both directions.
    pub fn symmetric(a: f64, b: f64) -> Self {
        Self { a, b, b_reverse: b }
    }

    /// Loss constants `K1/Re + K` on the velocity in a bore of area `area_m2` and diameter `bore_m`.
    ///
    /// `dp = (K1/Re + K) rho v^2/2` gives `a = K1/(2 D A)` and `b = K/(2 A^2)` (Hooper, 1981, Chemical Engineering).
    pub fn on_bore(
        k_laminar: f64,
        k_forward: f64,
        k_reverse: f64,
        bore_m: f64,
        area_m2: f64,
    ) -> Self {
        let head = 1.0 / (2.0 * area_m2 * area_m2);
        Self {
            a: k_laminar / (2.0 * bore_m * area_m2),
            b: k_forward * head,
            b_reverse: k_reverse * head,
        }
    }

    /// Two losses in series are one loss.
    pub fn and(self, other: Self) -> Self {
        Self {
            a: self.a + other.a,
            b: self.b + other.b,
            b_reverse: self.b_reverse + other.b_reverse,
        }
    }

    /// The loss of `count` equal parts in series.
    pub fn times(self, count: f64) -> Self {
        Self {
            a: self.a * count,
            b: self.b * count,
            b_reverse: self.b_reverse * count,
        }
    }

    /// The loss of the whole stream divided equally among `parallel` such parts.
    pub fn shared_by(self, parallel: f64) -> Self {
        Self {
            a: self.a / parallel,
            b: self.b / (parallel * parallel),
            b_reverse: self.b_reverse / (parallel * parallel),
        }
    }

    fn drop(self, flow_kg_s: f64, fluid: &Properties) -> Drop {
        let b = if flow_kg_s < 0.0 {
            self.b_reverse
        } else {
            self.b
        };
        let linear = self.a * fluid.viscosity_pa_s / fluid.density_kg_m3;
        let square = b * flow_kg_s.abs() / fluid.density_kg_m3;
        Drop {
            drop_pa: (linear + square) * flow_kg_s,
            slope_pa_s_kg: linear + 2.0 * square,
        }
    }
}

/// A pump or fan: pressure rise over volume flow at one density, with speed by the affinity laws.
///
/// `rise(Q) = (rho/rho_curve) n^2 H(Q/n)`, `H` the curve through the points. Beyond its ends the curve continues with
/// continuous slope into `-k Q|Q|`, `k` being the shut-off rise over the square of the last flow (an estimate, no
/// source: a stopped pump costs its shut-off head at its free flow), so that a stopped pump is an open resistance.
#[derive(Clone, Debug, PartialEq)]
pub struct Machine {
    /// Pressure rise in Pa over volume flow in m3/s at speed ratio 1.
    pub curve: Curve,
    /// Density for which the curve holds, kg/m3.
    pub curve_density_kg_m3: f64,
    /// Speed over the speed of the curve.
    pub speed: f64,
    /// Equal machines side by side.
    pub parallel: f64,
    /// What the machine costs when it stands still, in place of the estimate.
    pub stopped_loss: Option<TwoTerm>,
}

/// Where on its curve a pump or fan works.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MachineRegion {
    /// Between the first and the last point.
    OnCurve,
    /// Flow runs backwards through the turning machine.
    Backwards,
    /// More flow than the last point.
    BeyondLastPoint,
    /// The machine stands still.
    Stopped,
}

impl Machine {
    /// The resistance of the standing machine per square of volume flow at the curve's density, Pa s2/m6.
    fn open_resistance(&self) -> f64 {
        self.curve.largest_y() / (self.curve.last_x() * self.curve.last_x())
    }

    /// Pressure rise in Pa and its slope over volume flow of ONE machine at the density of the curve.
    fn rise(&self, flow_m3_s: f64) -> (f64, f64) {
        let (n, k) = (self.speed, self.open_resistance());
        let (first, last) = (self.curve.first_x() * n, self.curve.last_x() * n);
        if flow_m3_s > last {
            let end = self.curve.at(self.curve.last_x());
            let over = flow_m3_s - last;
            (
                n * n * end.value + n * end.slope * over - k * over * over,
                n * end.slope - 2.0 * k * over,
            )
        } else if flow_m3_s < first || n == 0.0 {
            let end = self.curve.at(self.curve.first_x());
            let under = flow_m3_s - first;
            (
                n * n * end.value + n * end.slope * under + k * under * under,
                n * end.slope + 2.0 * k * under,
            )
        } else {
            let on = self.curve.at(flow_m3_s / n);
            (n * n * on.value, n * on.slope)
        }
    }

    fn drop(&self, flow_kg_s: f64, fluid: &Properties) -> Drop {
        if let (true, Some(loss)) = (self.speed == 0.0, self.stopped_loss) {
            return loss.shared_by(self.parallel).drop(flow_kg_s, fluid);
        }
        let per_machine = fluid.density_kg_m3 * self.parallel;
        let (rise, slope) = self.rise(flow_kg_s / per_machine);
        let scale = fluid.density_kg_m3 / self.curve_density_kg_m3;
        Drop {
            drop_pa: -scale * rise,
            slope_pa_s_kg: -scale * slope / per_machine,
        }
    }

    /// Where on its curve the machine works at this mass flow.
    pub fn region(&self, flow_kg_s: f64, density_kg_m3: f64) -> MachineRegion {
        let flow_m3_s = flow_kg_s / (density_kg_m3 * self.parallel);
        if self.speed == 0.0 {
            MachineRegion::Stopped
        } else if flow_m3_s < -1e-9 * self.curve.last_x() {
            MachineRegion::Backwards
        } else if flow_m3_s > self.curve.last_x() * self.speed {
            MachineRegion::BeyondLastPoint
        } else {
            MachineRegion::OnCurve
        }
    }

    /// The rise at no flow for this density, Pa.
    pub fn shut_off_rise_pa(&self, density_kg_m3: f64) -> f64 {
        density_kg_m3 / self.curve_density_kg_m3 * self.rise(0.0).0
    }

    /// The flow of all machines together at the last point of the curve, at this speed, m3/s.
    pub fn free_flow_m3_s(&self) -> f64 {
        self.curve.last_x() * self.speed * self.parallel
    }
}

/// Hazen-Williams head loss of equal pipes side by side.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HazenWilliams {
    /// Length, m.
    pub length_m: f64,
    /// Bore, m.
    pub bore_m: f64,
    /// The roughness coefficient C.
    pub c: f64,
    /// How many pipes share the flow.
    pub parallel: f64,
}

/// One law of one element. The set is closed: every part is lowered to these.
#[derive(Clone, Debug, PartialEq)]
pub enum Law {
    /// Wall friction of a duct by Darcy-Weisbach.
    Duct(DuctShape),
    /// Wall friction by Hazen-Williams.
    HazenWilliams(HazenWilliams),
    /// A laminar and a turbulent share.
    TwoTerm(TwoTerm),
    /// A pump or a fan.
    Machine(Machine),
    /// Wall friction of dimpled tubes.
    Dimpled(DimpledDuct),
    /// Air through louvred fins.
    LouvredFins(LouvredPath),
}

impl Law {
    /// Drop and slope at a signed mass flow.
    ///
    /// ```
    /// use loopwright::{fluid::Coolant, part::{Law, TwoTerm}};
    /// let water = Coolant::water().properties_extended(293.15);
    /// let law = Law::TwoTerm(TwoTerm::symmetric(0.0, 1.0e9));
    /// let drop = law.drop(0.2, &water);
    /// assert!((drop.drop_pa - 1.0e9 * 0.2 * 0.2 / water.density_kg_m3).abs() < 1e-9 * drop.drop_pa);
    /// ```
    pub fn drop(&self, flow_kg_s: f64, fluid: &Properties) -> Drop {
        match self {
            Self::Duct(shape) => {
                let (drop_pa, slope_pa_s_kg, _) =
                    duct_drop_pa(flow_kg_s, fluid.density_kg_m3, fluid.viscosity_pa_s, shape);
                Drop {
                    drop_pa,
                    slope_pa_s_kg,
                }
            }
            Self::HazenWilliams(pipe) => {
                let flow_m3_s = flow_kg_s / (fluid.density_kg_m3 * pipe.parallel);
                let (dp_pa, slope) = hazen_williams_drop_pa(
                    flow_m3_s,
                    fluid.density_kg_m3,
                    pipe.length_m,
                    pipe.bore_m,
                    pipe.c,
                );
                Drop {
                    drop_pa: dp_pa,
                    slope_pa_s_kg: slope / (fluid.density_kg_m3 * pipe.parallel),
                }
            }
            Self::TwoTerm(two) => two.drop(flow_kg_s, fluid),
            Self::Machine(machine) => machine.drop(flow_kg_s, fluid),
            Self::Dimpled(tubes) => tubes.drop(flow_kg_s, fluid),
            Self::LouvredFins(fins) => fins.drop(flow_kg_s, fluid),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fluid::Coolant;

    fn machine(speed: f64) -> Machine {
        let points = [(0.0, 52e3), (2e-4, 44e3), (4e-4, 21e3), (5e-4, 0.0)];
        Machine {
            curve: Curve::through(&points).unwrap_or_else(|e| panic!("{e:?}")),
            curve_density_kg_m3: 998.0,
            speed,
            parallel: 1.0,
            stopped_loss: None,
        }
    }

    #[test]
    fn a_pump_obeys_the_affinity_laws() {
        let fluid = Coolant::water().properties_extended(293.15);
        for q in [0.0, 1e-4, 3e-4, 4.9e-4] {
            let m = q * fluid.density_kg_m3;
            let full = machine(1.0).drop(m, &fluid).drop_pa;
            let slow = machine(0.8).drop(0.8 * m, &fluid).drop_pa;
            assert!((slow - 0.64 * full).abs() < 1e-9 * full.abs().max(1.0));
        }
    }

    #[test]
    fn a_pump_curve_has_continuous_slope_at_both_ends_and_never_turns_up() {
        let fluid = Coolant::water().properties_extended(293.15);
        for speed in [0.0, 0.3, 1.0, 1.4] {
            let pump = machine(speed);
            let step = 1e-4;
            let mut last = pump.drop(-0.3, &fluid);
            for k in 1..10_000 {
                let m = -0.3 + k as f64 * step;
                let now = pump.drop(m, &fluid);
                assert!(now.slope_pa_s_kg >= 0.0);
                let mean = 0.5 * (now.slope_pa_s_kg + last.slope_pa_s_kg);
                assert!(
                    (now.drop_pa - last.drop_pa - mean * step).abs() < 1.0,
                    "{speed} {m}"
                );
                assert!((now.slope_pa_s_kg - last.slope_pa_s_kg).abs() < 400.0);
                last = now;
            }
        }
    }

    #[test]
    fn slopes_agree_with_finite_differences() {
        let fluid = Coolant::water().properties_extended(293.15);
        let laws = [
            Law::TwoTerm(TwoTerm {
                a: 1e8,
                b: 2e9,
                b_reverse: 3e9,
            }),
            Law::Machine(machine(0.9)),
            Law::HazenWilliams(HazenWilliams {
                length_m: 3.0,
                bore_m: 0.1,
                c: 130.0,
                parallel: 3.0,
            }),
        ];
        for law in &laws {
            for m in [-0.6, -0.2, -0.01, 0.01, 0.15, 0.3, 0.7] {
                let h = 1e-6;
                let up = law.drop(m + h, &fluid).drop_pa;
                let down = law.drop(m - h, &fluid).drop_pa;
                let slope = law.drop(m, &fluid).slope_pa_s_kg;
                assert!((slope - (up - down) / (2.0 * h)).abs() < 1e-5 * slope.abs().max(1.0));
            }
        }
    }

    /// Source: pipes in parallel share the flow and have one drop (any textbook of hydraulics).
    #[test]
    fn pipes_side_by_side_by_hazen_williams_share_the_flow() {
        let fluid = Coolant::water().properties_extended(293.15);
        let pipes = |parallel| {
            Law::HazenWilliams(HazenWilliams {
                length_m: 3.0,
                bore_m: 0.1,
                c: 130.0,
                parallel,
            })
        };
        // Also at a trickle, where the law is made smooth through rest.
        for m in [-4.0, 1e-3, 0.5, 6.0] {
            let one = pipes(1.0).drop(m, &fluid);
            let five = pipes(5.0).drop(5.0 * m, &fluid);
            assert!((five.drop_pa - one.drop_pa).abs() < 1e-12 * one.drop_pa.abs());
            assert!(
                (5.0 * five.slope_pa_s_kg - one.slope_pa_s_kg).abs() < 1e-12 * one.slope_pa_s_kg
            );
        }
    }
}
