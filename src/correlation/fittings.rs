//! Losses of bends and elbows as two constants, and the pressure drop of any such loss.
//!
//! Entrances, exits, changes of bore and barbs are in [`area_change`](super::area_change),
//! re-exported here; tees have their own room. Sources: Hooper (1981), Rennels and Hudson (2012),
//! Crane TP-410 (2009).

pub use super::area_change::{
    Directional, SharpEdge, barb, bore_step, exit, rounded_entrance, sharp_entrance,
    sudden_contraction, sudden_expansion,
};

/// A loss coefficient with a laminar part: `K = k_laminar / Re + k_turbulent` on one velocity head.
///
/// The laminar part gives the drop a finite slope at rest. Both constants belong to the same bore.
/// Source of the form: W. B. Hooper, "The two-K method predicts head losses in pipe fittings",
/// Chem. Eng. 88(17), 1981.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct TwoConstant {
    /// Hooper's K1: contributes `K1 / Re`.
    pub k_laminar: f64,
    /// The coefficient at high Reynolds number.
    pub k_turbulent: f64,
}

impl TwoConstant {
    /// No loss.
    pub const NONE: Self = Self {
        k_laminar: 0.0,
        k_turbulent: 0.0,
    };

    /// The coefficient at a Reynolds number; infinite at rest if there is a laminar part.
    pub fn at(&self, reynolds: f64) -> f64 {
        self.k_laminar / reynolds + self.k_turbulent
    }

    /// Both losses in series on the same bore.
    pub fn plus(self, other: Self) -> Self {
        Self {
            k_laminar: self.k_laminar + other.k_laminar,
            k_turbulent: self.k_turbulent + other.k_turbulent,
        }
    }

    /// The same loss `count` times in series, without interaction.
    pub fn times(self, count: f64) -> Self {
        Self {
            k_laminar: count * self.k_laminar,
            k_turbulent: count * self.k_turbulent,
        }
    }

    /// The same pressure drop written on the velocity head of another round bore.
    ///
    /// The head goes with `1/D^4`, and `head / Re` with `1/D^3`.
    pub fn on_bore(self, from_bore_m: f64, to_bore_m: f64) -> Self {
        let ratio = to_bore_m / from_bore_m;
        let cube = ratio * ratio * ratio;
        Self {
            k_laminar: self.k_laminar * cube,
            k_turbulent: self.k_turbulent * cube * ratio,
        }
    }
}

/// Total pressure drop of a two-constant loss at a signed mass flow, and its slope.
///
/// `dp = K1 mu m / (2 rho A D) + K m|m| / (2 rho A^2)`: odd, with continuous slope.
///
/// Units: kg/s, kg/m3, Pa s, m2, m in; `(Pa, Pa s/kg)` out; `diameter_m` is the one of the Reynolds
/// number. Range: any flow; a negative `k_turbulent` is used as it is.
///
/// Source: Hooper (1981).
pub fn loss_drop_pa(
    flow_kg_s: f64,
    density_kg_m3: f64,
    viscosity_pa_s: f64,
    loss: &TwoConstant,
    area_m2: f64,
    diameter_m: f64,
) -> (f64, f64) {
    let linear = loss.k_laminar * viscosity_pa_s / (2.0 * density_kg_m3 * area_m2 * diameter_m);
    let quadratic = loss.k_turbulent * flow_kg_s.abs() / (2.0 * density_kg_m3 * area_m2 * area_m2);
    ((linear + quadratic) * flow_kg_s, linear + 2.0 * quadratic)
}

/// The make of a 90 or 45 degree elbow.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum ElbowMake {
    /// Screwed, radius about one bore.
    Threaded,
    /// Smooth or flanged, radius one bore.
    Short,
    /// Smooth, radius 1.5 bores: moulded hose elbows and drawn bends.
    Long,
    /// One sharp corner.
    Mitre,
}

/// One inch, in which Hooper's bore correction is written, m.
const INCH_M: f64 = 0.0254;

/// A 90 degree elbow by Hooper's two constants.
///
/// `K = K1/Re + K_inf (1 + 1/D_inch)`; K1, K_inf: threaded 800, 0.40; short 800, 0.25; long 800,
/// 0.20; mitre 1000, 1.15.
///
/// Units: bore in m. Range: made for steel pipe of half an inch and more; on small smooth hose it
/// is on the safe side (about twice [`rennels_bend`] on 20 mm).
///
/// Source: W. B. Hooper, Chem. Eng. 88(17), 1981, table; constants as transcribed in fluids 1.3.1.
///
/// ```
/// use loopwright::correlation::fittings::{ElbowMake, elbow_90};
/// // A screwed standard elbow of 1 inch: 8.8 at Re 100, 0.88 at Re 1e4.
/// let elbow = elbow_90(ElbowMake::Threaded, 0.0254);
/// assert!((elbow.at(100.0) - 8.8).abs() < 1e-12 && (elbow.at(1e4) - 0.88).abs() < 1e-12);
/// ```
pub fn elbow_90(make: ElbowMake, bore_m: f64) -> TwoConstant {
    let (k_laminar, k_infinity) = match make {
        ElbowMake::Threaded => (800.0, 0.40),
        ElbowMake::Short => (800.0, 0.25),
        ElbowMake::Long => (800.0, 0.20),
        ElbowMake::Mitre => (1000.0, 1.15),
    };
    hooper(k_laminar, k_infinity, bore_m)
}

/// A 45 degree elbow by Hooper's two constants.
///
/// K1, K_inf: threaded and short 500, 0.20; long 500, 0.15; mitre 500, 0.25, as in [`elbow_90`].
///
/// Units, range and source as [`elbow_90`].
pub fn elbow_45(make: ElbowMake, bore_m: f64) -> TwoConstant {
    let k_infinity = match make {
        ElbowMake::Threaded | ElbowMake::Short => 0.20,
        ElbowMake::Long => 0.15,
        ElbowMake::Mitre => 0.25,
    };
    hooper(500.0, k_infinity, bore_m)
}

fn hooper(k_laminar: f64, k_infinity: f64, bore_m: f64) -> TwoConstant {
    TwoConstant {
        k_laminar,
        k_turbulent: k_infinity * (1.0 + INCH_M / bore_m),
    }
}

/// A smooth bend of any angle on its own velocity head, at a known friction factor.
///
/// `K = f a r/D + (0.10 + 2.4 f) sin(a/2) + 6.6 f (sqrt(sin(a/2)) + sin(a/2)) / (r/D)^(4a/pi)`, with
/// the bend's own friction included.
///
/// Units: radians; `radius_ratio` is centre-line radius over bore. Range: angle 0 to pi, `r/D` from
/// about 0.8, turbulent; not checked.
///
/// Source: D. C. Rennels and H. M. Hudson, Pipe Flow, 2012, as coded in fluids 1.3.1.
pub fn rennels_bend(angle_rad: f64, radius_ratio: f64, friction_factor: f64) -> f64 {
    let s = (0.5 * angle_rad).sin().max(0.0);
    friction_factor * angle_rad * radius_ratio
        + (0.10 + 2.4 * friction_factor) * s
        + 6.6 * friction_factor * (s.sqrt() + s)
            / radius_ratio.powf(4.0 * angle_rad / std::f64::consts::PI)
}

/// A single mitre of any angle on its own velocity head.
///
/// `K = 0.42 s + 2.56 s^3`, `s = sin(angle/2)`. Units: radians. Range: angle 0 to 150 degrees,
/// turbulent; not checked.
///
/// Source: D. C. Rennels and H. M. Hudson, Pipe Flow, 2012, as coded in fluids 1.3.1.
pub fn rennels_mitre(angle_rad: f64) -> f64 {
    let s = (0.5 * angle_rad).sin();
    0.42 * s + 2.56 * s * s * s
}

/// Crane's table of 90 degree bends: `(r/D, K / f_t)`.
const CRANE_BENDS: [(f64, f64); 12] = [
    (1.0, 20.0),
    (1.5, 14.0),
    (2.0, 12.0),
    (3.0, 12.0),
    (4.0, 14.0),
    (6.0, 17.0),
    (8.0, 24.0),
    (10.0, 30.0),
    (12.0, 34.0),
    (14.0, 38.0),
    (16.0, 42.0),
    (20.0, 50.0),
];

/// A 90 degree pipe bend by Crane's table, linear between its entries.
///
/// `K = f_t n(r/D)`, `f_t` the fully rough friction factor of the pipe. Range: `r/D` 1 to 20,
/// clamped.
///
/// Source: Crane TP-410, 2009, A-29, as transcribed in fluids 1.3.1 (whose smoothed fit of the table
/// differs by up to 1.5 %).
pub fn crane_bend_90(radius_ratio: f64, fully_rough_friction_factor: f64) -> f64 {
    fully_rough_friction_factor * interpolate(&CRANE_BENDS, radius_ratio)
}

/// Linear interpolation in a table of rising first column, constant beyond its ends.
pub(super) fn interpolate(table: &[(f64, f64)], x: f64) -> f64 {
    let mut last = match table.first() {
        Some(&first) => first,
        None => return 0.0,
    };
    if x <= last.0 {
        return last.1;
    }
    for &point in table {
        if x <= point.0 {
            let t = (x - last.0) / (point.0 - last.0);
            return last.1 + t * (point.1 - last.1);
        }
        last = point;
    }
    last.1
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_drop_is_odd_smooth_and_sloped_at_rest() {
        let loss = TwoConstant {
            k_laminar: 800.0,
            k_turbulent: 0.5,
        };
        let drop = |flow| loss_drop_pa(flow, 1050.0, 3e-3, &loss, 2e-4, 0.016);
        assert!(drop(0.0).0 == 0.0 && drop(0.0).1 > 0.0);
        for flow in [1e-6, 1e-3, 0.1] {
            assert_eq!(drop(flow).0, -drop(-flow).0);
            let h = flow * 1e-6;
            let difference = (drop(flow + h).0 - drop(flow - h).0) / (2.0 * h);
            assert!((drop(flow).1 / difference - 1.0).abs() < 1e-8);
        }
    }

    #[test]
    fn the_drop_is_the_coefficient_times_the_velocity_head() {
        let loss = TwoConstant {
            k_laminar: 300.0,
            k_turbulent: 1.2,
        };
        let (rho, mu, bore) = (1050.0, 3e-3, 0.016_f64);
        let area = std::f64::consts::FRAC_PI_4 * bore * bore;
        let v = 0.7;
        let k = loss.at(rho * v * bore / mu);
        let (dp, _) = loss_drop_pa(rho * v * area, rho, mu, &loss, area, bore);
        assert!((dp / (k * 0.5 * rho * v * v) - 1.0).abs() < 1e-14);
    }

    #[test]
    fn a_loss_keeps_its_drop_when_written_on_another_bore() {
        let loss = TwoConstant {
            k_laminar: 300.0,
            k_turbulent: 1.2,
        };
        let moved = loss.on_bore(0.013, 0.016);
        let area = |d: f64| std::f64::consts::FRAC_PI_4 * d * d;
        for flow in [1e-4, 0.1] {
            let here = loss_drop_pa(flow, 1050.0, 3e-3, &loss, area(0.013), 0.013);
            let there = loss_drop_pa(flow, 1050.0, 3e-3, &moved, area(0.016), 0.016);
            assert!((here.0 / there.0 - 1.0).abs() < 1e-13);
        }
    }
}
