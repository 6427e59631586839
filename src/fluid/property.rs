//! The four properties every law downstream reads, and two ratios of them.
//!
//! No values live here; see `water`, `glycol`, `table` and `air` for those.

/// The value held between two ends; unlike `clamp`, a NaN becomes the low end.
pub(super) fn held(value: f64, low: f64, high: f64) -> f64 {
    if value >= high {
        high
    } else if value > low {
        value
    } else {
        low
    }
}

/// Transport properties of a fluid at one state; every value is positive and finite.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Properties {
    /// Density, kg/m3.
    pub density_kg_m3: f64,
    /// Dynamic viscosity, Pa s.
    pub viscosity_pa_s: f64,
    /// Isobaric specific heat, J/(kg K).
    pub specific_heat_j_kg_k: f64,
    /// Thermal conductivity, W/(m K).
    pub conductivity_w_m_k: f64,
}

impl Properties {
    /// Kinematic viscosity `mu / rho`, m2/s.
    pub fn kinematic_viscosity_m2_s(&self) -> f64 {
        self.viscosity_pa_s / self.density_kg_m3
    }

    /// Prandtl number `mu cp / k`, dimensionless.
    pub fn prandtl(&self) -> f64 {
        self.viscosity_pa_s * self.specific_heat_j_kg_k / self.conductivity_w_m_k
    }
}
