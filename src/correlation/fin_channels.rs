//! Fins between flat tubes as channels for air: areas, hydraulic diameter, and laws made fit for a solver.
//!
//! Geometry and smoothing only; the correlations of louvred fins are in `fins.rs`, those of plain channels in
//! `convection.rs`, `duct.rs` and `entrance.rs`.

use super::area_change::{SharpEdge, sudden_contraction, sudden_expansion};
use super::fins::{LouvredFin, louvred_friction_as_printed};
use super::friction::{Sloped, bridge_log_log};

/// Corrugated fins in the gaps between flat tubes, lengths in m.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FinChannels {
    /// Distance from tube to tube across the air Tp.
    pub tube_pitch_m: f64,
    /// Outside thickness of a tube across the air Dm.
    pub tube_thickness_m: f64,
    /// Outside depth of a tube along the air Td.
    pub tube_depth_m: f64,
    /// Fin pitch Fp.
    pub fin_pitch_m: f64,
    /// Fin thickness d.
    pub fin_thickness_m: f64,
    /// Fin depth along the air Fd.
    pub fin_depth_m: f64,
    /// Conductivity of the fins, W/(m K).
    pub conductivity_w_m_k: f64,
}

impl FinChannels {
    /// Length of a fin from tube to tube: `Fl = Tp - Dm`, m.
    pub fn fin_length_m(&self) -> f64 {
        self.tube_pitch_m - self.tube_thickness_m
    }

    /// Clear width between two fins: `Fp - d`, m.
    pub fn gap_m(&self) -> f64 {
        self.fin_pitch_m - self.fin_thickness_m
    }

    /// Free area over face area: `(Fl/Tp) (1 - d/Fp)`.
    pub fn free_share(&self) -> f64 {
        self.fin_length_m() / self.tube_pitch_m * self.gap_m() / self.fin_pitch_m
    }

    /// Both sides of all fins over face area: `2 Fl Fd / (Fp Tp)`.
    pub fn fin_area_over_face(&self) -> f64 {
        2.0 * self.fin_length_m() * self.fin_depth_m / (self.fin_pitch_m * self.tube_pitch_m)
    }

    /// Bare flat sides of the tubes over face area: `2 Td (1 - d/Fp) / Tp`; the rounded noses are left out.
    pub fn tube_area_over_face(&self) -> f64 {
        2.0 * self.tube_depth_m * self.gap_m() / (self.fin_pitch_m * self.tube_pitch_m)
    }

    /// All air-side area over face area.
    pub fn area_over_face(&self) -> f64 {
        self.fin_area_over_face() + self.tube_area_over_face()
    }

    /// Hydraulic diameter of a channel between two fins and two tubes, m.
    ///
    /// ```
    /// use loopwright::correlation::FinChannels;
    /// let core = FinChannels {
    ///     tube_pitch_m: 10e-3, tube_thickness_m: 2e-3, tube_depth_m: 32e-3, fin_pitch_m: 1.4e-3,
    ///     fin_thickness_m: 0.08e-3, fin_depth_m: 32e-3, conductivity_w_m_k: 200.0,
    /// };
    /// assert!((core.hydraulic_diameter_m() - 2.26609442e-3).abs() < 5e-12);
    /// ```
    pub fn hydraulic_diameter_m(&self) -> f64 {
        let (a, b) = (self.gap_m(), self.fin_length_m());
        2.0 * a * b / (a + b)
    }

    /// Loss of the sudden contraction into the fins and the expansion behind them, on the velocity head between them.
    ///
    /// `K = Kc + Ke` at the area ratio of [`FinChannels::free_share`]: Rennels and Hudson (2012) for the sharp edge,
    /// Borda and Carnot behind; the laminar parts are left out, since the friction of the fins counts them.
    pub fn edge_loss(&self) -> f64 {
        let ratio = self.free_share().clamp(0.0, 1.0).sqrt();
        sudden_contraction(1.0, ratio, SharpEdge::default()).k_turbulent
            + sudden_expansion(ratio, 1.0).k_turbulent
    }
}

/// Efficiency of the whole finned surface: `1 - (Af/A) (1 - eta)`, `eta` that of a fin. Textbook identity.
pub fn surface_efficiency(fin_share: f64, fin_efficiency: f64) -> f64 {
    1.0 - fin_share * (1.0 - fin_efficiency)
}

/// Reynolds numbers, on the louvre pitch, for which both correlations of louvred fins were made.
pub const LOUVRED_RE: (f64, f64) = (100.0, 3000.0);
/// The two pieces of the friction of 2000 are joined between these; the authors' amendment of 2006 blends there too.
const JOIN_RE: (f64, f64) = (130.0, 230.0);

/// Drop group `f Re^2` of louvred fins with its slope in Re, fit for a solver.
///
/// From Re 100 the Fanning factor `f` of Chang et al. (2000); between 130 and 230, where it is printed with a jump at
/// 150, `ln f` is a cubic of `ln Re` that meets value and slope at both ends (the authors' blend of 2006 has corners
/// there); below 100 the drop is `a u + b u^2` of the same value and slope at 100, so that the slope at rest is finite.
///
/// Units: dimensionless. Range: Re 100 to 3000; goes on outside. Sources: as
/// [`super::fins::louvred_friction`]; the joint and the continuation are ours.
///
/// ```
/// use loopwright::correlation::fin_channels::louvred_drop_group;
/// use loopwright::correlation::fins::{LouvredFin, louvred_friction_as_printed};
/// let fin = LouvredFin {
///     louvre_angle_deg: 27.0, fin_pitch_m: 1.4e-3, louvre_pitch_m: 1.2e-3, fin_length_m: 8e-3,
///     fin_depth_m: 32e-3, louvre_length_m: 6.8e-3, tube_depth_m: 32e-3, tube_pitch_m: 10e-3,
///     tube_thickness_m: 2e-3, fin_thickness_m: 0.08e-3, hydraulic_diameter_m: 2.26609442e-3,
/// };
/// let printed = louvred_friction_as_printed(500.0, &fin);
/// assert!((louvred_drop_group(500.0, &fin).value / 500f64.powi(2) / printed - 1.0).abs() < 1e-14);
/// assert_eq!(louvred_drop_group(0.0, &fin).value, 0.0);
/// ```
pub fn louvred_drop_group(reynolds: f64, fin: &LouvredFin) -> Sloped {
    let group = |re: f64, f: Sloped| Sloped {
        value: f.value * re * re,
        slope: re * (2.0 * f.value + re * f.slope),
    };
    let (start, (from, to)) = (LOUVRED_RE.0, JOIN_RE);
    let re = reynolds.max(0.0);
    if re < start {
        let at = group(start, low(start, fin));
        let power = at.slope * start / at.value;
        let (linear, square) = (
            (2.0 - power) * at.value / start,
            (power - 1.0) * at.value / (start * start),
        );
        Sloped {
            value: re * (linear + square * re),
            slope: linear + 2.0 * square * re,
        }
    } else if re <= from {
        group(re, low(re, fin))
    } else if re >= to {
        group(re, high(re, fin))
    } else {
        let ends = ((from, low(from, fin)), (to, high(to, fin)));
        group(re, bridge_log_log(re, ends.0, ends.1))
    }
}

/// Whether the drop of louvred fins rises all the way where its two pieces are joined.
///
/// At the wide end of what was measured (louvres 3 mm wide) the piece above Re 150 may lie so far under the one below,
/// at a quarter to two fifths of it, that no rising curve joins them; such fins have no drop to compute with.
///
/// Source: found by sampling the printed formulas, ours: 13 of 162 corners of the measured geometry, all with louvres of 3 mm.
pub fn louvred_drop_rises(fin: &LouvredFin) -> bool {
    (0..=64).all(|k| {
        let re = JOIN_RE.0 + (JOIN_RE.1 - JOIN_RE.0) * f64::from(k) / 64.0;
        louvred_drop_group(re, fin).slope > 0.0
    })
}

/// The piece below Re 150 with its slope: only `Re^(-0.805 Fp/Fl)` and `ln(0.5 Re)^-3.01` depend on Re.
fn low(re: f64, fin: &LouvredFin) -> Sloped {
    let value = louvred_friction_as_printed(re, fin);
    let power = -0.805 * fin.fin_pitch_m / fin.fin_length_m - 3.01 / (0.5 * re).ln();
    Sloped {
        value,
        slope: value * power / re,
    }
}

/// The piece from Re 150 with its slope.
fn high(re: f64, fin: &LouvredFin) -> Sloped {
    let value = louvred_friction_as_printed(re, fin);
    let power = 0.6049 - 1.064 / fin.louvre_angle_deg.powf(0.2) - 2.966 / (0.3 * re).ln();
    Sloped {
        value,
        slope: value * power / re,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Corners of the geometry the authors measured (`LOUVRED_GEOMETRY` of the part), every pitch ratio allowed.
    fn every_fin(mut each: impl FnMut(&LouvredFin)) {
        for louvre_angle_deg in [8.4, 20.0, 35.0] {
            for fin_pitch_m in [0.51e-3, 1.4e-3, 3.33e-3] {
                for louvre_pitch_m in [0.5e-3, 1.2e-3, 3e-3] {
                    for (fin_length_m, louvre_length_m) in
                        [(4e-3, 2.2e-3), (8e-3, 6.8e-3), (20e-3, 18e-3)]
                    {
                        for depth in [15.6e-3, 57.4e-3] {
                            let core = FinChannels {
                                tube_pitch_m: fin_length_m + 2e-3,
                                tube_thickness_m: 2e-3,
                                tube_depth_m: depth,
                                fin_pitch_m,
                                fin_thickness_m: 0.06e-3,
                                fin_depth_m: depth,
                                conductivity_w_m_k: 200.0,
                            };
                            each(&LouvredFin {
                                louvre_angle_deg,
                                fin_pitch_m,
                                louvre_pitch_m,
                                fin_length_m,
                                fin_depth_m: depth,
                                louvre_length_m,
                                tube_depth_m: depth,
                                tube_pitch_m: core.tube_pitch_m,
                                tube_thickness_m: core.tube_thickness_m,
                                fin_thickness_m: core.fin_thickness_m,
                                hydraulic_diameter_m: core.hydraulic_diameter_m(),
                            });
                        }
                    }
                }
            }
        }
    }

    #[test]
    fn the_drop_is_smooth_and_rises_for_every_geometry_that_was_measured() {
        let (mut all, mut sound) = (0, 0);
        every_fin(|fin| {
            all += 1;
            if !louvred_drop_rises(fin) {
                // Only the widest louvres are left out.
                assert!(fin.louvre_pitch_m > 2e-3, "{fin:?}");
                return;
            }
            sound += 1;
            let group = |re: f64| louvred_drop_group(re, fin);
            for joint in [100.0, 130.0, 230.0] {
                let (a, b) = (group(joint * (1.0 - 1e-11)), group(joint * (1.0 + 1e-11)));
                assert!((a.value / b.value - 1.0).abs() < 1e-9, "{fin:?} {joint}");
                assert!((a.slope / b.slope - 1.0).abs() < 1e-8, "{fin:?} {joint}");
            }
            let mut last = 0.0;
            for k in 1..=500 {
                let re = 10.0 * f64::from(k) + 0.37;
                let now = group(re);
                let h = 1e-5 * re;
                let difference = (group(re + h).value - group(re - h).value) / (2.0 * h);
                assert!((now.slope / difference - 1.0).abs() < 1e-6, "{fin:?} {re}");
                assert!(now.value > last && now.slope > 0.0, "{fin:?} {re}");
                last = now.value;
            }
            assert!(group(0.0).slope > 0.0 && group(0.0).value == 0.0);
        });
        assert!(10 * sound > 9 * all, "{sound} of {all}");
    }

    #[test]
    fn a_surface_without_fins_is_fully_used() {
        assert_eq!(surface_efficiency(0.0, 0.3), 1.0);
        assert!((surface_efficiency(0.9, 0.8) - 0.82).abs() < 1e-15);
    }
}
