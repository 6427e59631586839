//! Fins of a radiator from their geometry: the records, and heat and drop per face area by published correlations.
//! For flat tubes; the correlations are in `correlation/fins.rs` and `correlation/fin_channels.rs`.

use super::law::{Drop, Law, TwoTerm};
use crate::correlation::convection::LAMINAR_END_RE;
use crate::correlation::entrance::EntranceFriction;
use crate::correlation::fin_channels::{
    LOUVRED_RE, louvred_drop_group, louvred_drop_rises, surface_efficiency,
};
use crate::correlation::fins::{LouvredFin, fin_efficiency, louvred_colburn_factor};
use crate::correlation::laminar::rectangle_laminar_constant;
use crate::correlation::{
    DuctSection, DuctShape, FinChannels, FrictionModel, WallCondition, duct_nusselt,
};
use crate::fluid::Properties;
use crate::quantity::{Angle, Kind, Length, ThermalConductivity, show_both};
use serde::{Deserialize, Serialize};

/// Conductivity of aluminium fin stock where none is given, W/(m K) (handbook value for soft aluminium of 99 %, 210 to
/// 230, less for alloys; from memory, rounded down).
pub const FIN_CONDUCTIVITY_W_M_K: f64 = 200.0;
/// Fin thickness over fin pitch below which the friction of louvred fins has no value: the logarithm of
/// `(d/Fp)^0.5 + 0.9` must stay clear of zero.
const THINNEST_LOUVRED: f64 = 0.015;
/// Louvre angle from which the fin is a wall; far outside what was measured (our choice), degrees.
const STEEPEST_LOUVRE_DEG: f64 = 60.0;
/// Geometry that the louvred correlations were made from, in m and degrees (Chang and Wang, 1997, table of 91 samples;
/// from memory).
const LOUVRED_GEOMETRY: [(&str, f64, f64); 7] = [
    ("louvre_angle", 8.4, 35.0),
    ("fin_pitch", 0.51e-3, 3.33e-3),
    ("louvre_pitch", 0.5e-3, 3.0e-3),
    ("louvre_length", 2.13e-3, 18.5e-3),
    ("fin length", 2.84e-3, 20.0e-3),
    ("tube_depth", 15.6e-3, 57.4e-3),
    ("tube pitch", 7.51e-3, 25.0e-3),
];

/// Louvred fins folded between flat tubes.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct LouvredFins {
    /// Distance from fin to fin along the tube.
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub fin_pitch: Length,
    /// Thickness of the fin sheet.
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub fin_thickness: Length,
    /// Depth of the fins along the air (default: of the tubes).
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub fin_depth: Option<Length>,
    /// Outside thickness of a tube across the air.
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub tube_thickness: Length,
    /// Outside depth of a tube along the air.
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub tube_depth: Length,
    /// Angle of the louvres to the fin.
    #[cfg_attr(test, schemars(extend("x-above" = 0, "x-at-most" = std::f64::consts::FRAC_PI_2, "x-limit-text" = "greater than 0 deg and at most 90 deg")))]
    pub louvre_angle: Angle,
    /// Distance from louvre to louvre along the air.
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub louvre_pitch: Length,
    /// Length of a louvre across the fin, from tube towards tube.
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub louvre_length: Length,
    /// Conductivity of the fin (default 200 W/(m K): aluminium).
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub conductivity: Option<ThermalConductivity>,
}

/// Plain fins, without louvres, folded between flat tubes.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct PlainFins {
    /// Distance from fin to fin along the tube.
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub fin_pitch: Length,
    /// Thickness of the fin sheet.
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub fin_thickness: Length,
    /// Depth of the fins along the air (default: of the tubes).
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub fin_depth: Option<Length>,
    /// Outside thickness of a tube across the air.
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub tube_thickness: Length,
    /// Outside depth of a tube along the air.
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub tube_depth: Length,
    /// Conductivity of the fin (default 200 W/(m K): aluminium).
    #[cfg_attr(test, schemars(extend("x-above" = 0)))]
    pub conductivity: Option<ThermalConductivity>,
}

/// A refusal of fins: the key it is about and a sentence.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FinError {
    /// The key.
    pub key: &'static str,
    /// What is wrong, with value and limit.
    pub reason: String,
}

/// A face of fins of known geometry.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FinnedFace {
    /// The channels.
    pub channels: FinChannels,
    /// The louvres; none for plain fins.
    pub louvres: Option<LouvredFin>,
}

/// What the air side of a face gives at one velocity.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct FaceHeat {
    /// Conductance, fins included, W/K.
    pub conductance_w_k: f64,
    /// Efficiency of a fin, where fins are known.
    pub fin_efficiency: Option<f64>,
    /// Reynolds number of the correlation, where there is one.
    pub reynolds: Option<f64>,
}

fn refuse<T>(key: &'static str, reason: String) -> Result<T, FinError> {
    Err(FinError { key, reason })
}

fn checked(channels: FinChannels, inside_height_m: f64) -> Result<FinChannels, FinError> {
    let show = |m: f64| show_both(Kind::Length, m);
    if channels.fin_thickness_m >= channels.fin_pitch_m {
        return refuse(
            "fin_thickness",
            format!(
                "cannot leave room for air because the fins are as thick as their pitch: got {}, limit {}; try the sheet's thickness, such as \"0.08 mm\"",
                show(channels.fin_thickness_m),
                show(channels.fin_pitch_m)
            ),
        );
    }
    if channels.fin_length_m() <= 0.0 {
        return refuse(
            "tube_thickness",
            format!(
                "cannot fit fins between the tubes because they are as thick as their pitch (the face across them over their count): got {}, limit {}; try the outside of one tube, or the count across the face alone",
                show(channels.tube_thickness_m),
                show(channels.tube_pitch_m)
            ),
        );
    }
    if channels.tube_thickness_m <= inside_height_m {
        return refuse(
            "tube_thickness",
            format!(
                "cannot leave a wall because the tube is no thicker than its inside: got {}, limit {}; try the outside",
                show(channels.tube_thickness_m),
                show(inside_height_m)
            ),
        );
    }
    if channels.fin_pitch_m >= channels.fin_length_m() {
        return refuse(
            "fin_pitch",
            format!(
                "cannot use fins that stand wider apart than they are long: got {}, limit {}; try the distance from one fin to the next",
                show(channels.fin_pitch_m),
                show(channels.fin_length_m())
            ),
        );
    }
    Ok(channels)
}

impl LouvredFins {
    /// The face of these fins on tubes of this pitch and inside height.
    ///
    /// # Errors
    /// [`FinError`] for sizes that leave no room, or for which the correlations have no value.
    pub fn face(&self, tube_pitch_m: f64, inside_height_m: f64) -> Result<FinnedFace, FinError> {
        let channels = checked(
            FinChannels {
                tube_pitch_m,
                tube_thickness_m: self.tube_thickness.m(),
                tube_depth_m: self.tube_depth.m(),
                fin_pitch_m: self.fin_pitch.m(),
                fin_thickness_m: self.fin_thickness.m(),
                fin_depth_m: self.fin_depth.unwrap_or(self.tube_depth).m(),
                conductivity_w_m_k: self
                    .conductivity
                    .map_or(FIN_CONDUCTIVITY_W_M_K, |k| k.w_m_k()),
            },
            inside_height_m,
        )?;
        let show = |m: f64| show_both(Kind::Length, m);
        let angle_deg = self.louvre_angle.rad().to_degrees();
        if angle_deg >= STEEPEST_LOUVRE_DEG {
            return refuse(
                "louvre_angle",
                format!(
                    "cannot use louvres that stand across the air: got {}, limit {STEEPEST_LOUVRE_DEG} deg; try the angle between louvre and fin, 20 to 35 deg as a rule",
                    self.louvre_angle
                ),
            );
        }
        if self.louvre_length.m() > channels.fin_length_m() {
            return refuse(
                "louvre_length",
                format!(
                    "cannot cut louvres longer than the fin from tube to tube: got {}, limit {}; try nine tenths of the fin",
                    show(self.louvre_length.m()),
                    show(channels.fin_length_m())
                ),
            );
        }
        if self.louvre_pitch.m() > channels.fin_depth_m {
            return refuse(
                "louvre_pitch",
                format!(
                    "cannot cut louvres wider than the fin is deep: got {}, limit {}; try the distance from one louvre to the next",
                    show(self.louvre_pitch.m()),
                    show(channels.fin_depth_m)
                ),
            );
        }
        let thin = channels.fin_thickness_m / channels.fin_pitch_m;
        if thin < THINNEST_LOUVRED {
            return refuse(
                "fin_thickness",
                format!(
                    "cannot use the friction of louvred fins because the sheet is too thin for the pitch: got {thin:.4} of it, limit {THINNEST_LOUVRED}; try `rating`, or a stated `conductance_per_face_area`",
                ),
            );
        }
        let fin = LouvredFin {
            louvre_angle_deg: angle_deg,
            fin_pitch_m: channels.fin_pitch_m,
            louvre_pitch_m: self.louvre_pitch.m(),
            fin_length_m: channels.fin_length_m(),
            fin_depth_m: channels.fin_depth_m,
            louvre_length_m: self.louvre_length.m(),
            tube_depth_m: channels.tube_depth_m,
            tube_pitch_m: channels.tube_pitch_m,
            tube_thickness_m: channels.tube_thickness_m,
            fin_thickness_m: channels.fin_thickness_m,
            hydraulic_diameter_m: channels.hydraulic_diameter_m(),
        };
        if !louvred_drop_rises(&fin) {
            return refuse(
                "louvre_pitch",
                format!(
                    "cannot use the friction of louvred fins because its two pieces contradict each other for louvres at {} of pitch {} on fins of pitch {}; try `rating`, or a stated `conductance_per_face_area`",
                    self.louvre_angle, self.louvre_pitch, self.fin_pitch
                ),
            );
        }
        Ok(FinnedFace {
            channels,
            louvres: Some(fin),
        })
    }
}

impl PlainFins {
    /// The face of these fins on tubes of this pitch and inside height.
    ///
    /// # Errors
    /// [`FinError`] for sizes that leave no room.
    pub fn face(&self, tube_pitch_m: f64, inside_height_m: f64) -> Result<FinnedFace, FinError> {
        let channels = FinChannels {
            tube_pitch_m,
            tube_thickness_m: self.tube_thickness.m(),
            tube_depth_m: self.tube_depth.m(),
            fin_pitch_m: self.fin_pitch.m(),
            fin_thickness_m: self.fin_thickness.m(),
            fin_depth_m: self.fin_depth.unwrap_or(self.tube_depth).m(),
            conductivity_w_m_k: self
                .conductivity
                .map_or(FIN_CONDUCTIVITY_W_M_K, |k| k.w_m_k()),
        };
        Ok(FinnedFace {
            channels: checked(channels, inside_height_m)?,
            louvres: None,
        })
    }
}

impl FinnedFace {
    /// Conductance of the air side at a face velocity, fins included.
    ///
    /// Between the fins the air runs at `u/s`, `s` the free share of the face. Louvred: `h = j G cp / Pr^(2/3)` by
    /// Chang and Wang (1997). Plain: `h = Nu k/Dh` of a rectangular channel at constant wall temperature with thermal
    /// entry, laminar to Re 2300. `U = h A/A_face (1 - Af/A (1 - eta))`, `eta = tanh(m l)/(m l)` with `l` half the gap
    /// between tubes.
    ///
    /// Units: m/s, m2; W/K. Range: Re 100 to 3000 on the louvre pitch, or up to 2300 in plain channels; goes on outside,
    /// with a finding. The bond of fin and tube and the tube wall are left out.
    ///
    /// Sources: [`louvred_colburn_factor`], [`duct_nusselt`], [`fin_efficiency`].
    pub fn heat(&self, face_m_s: f64, face_m2: f64, air: &Properties) -> FaceHeat {
        let channels = &self.channels;
        let flux = air.density_kg_m3 * face_m_s.abs() / channels.free_share();
        let prandtl = air.prandtl();
        let reynolds = self.reynolds(flux, air);
        let h = match &self.louvres {
            Some(fin) => {
                louvred_colburn_factor(reynolds, fin) * flux * air.specific_heat_j_kg_k
                    / prandtl.cbrt().powi(2)
            }
            None => {
                let d = channels.hydraulic_diameter_m();
                let section = DuctSection::Rectangle {
                    aspect: channels.gap_m() / channels.fin_length_m(),
                };
                let length = channels.fin_depth_m / d;
                let wall = WallCondition::Temperature;
                duct_nusselt(reynolds, prandtl, section, length, wall).value
                    * air.conductivity_w_m_k
                    / d
            }
        };
        let efficiency = fin_efficiency(
            h,
            channels.conductivity_w_m_k,
            channels.fin_thickness_m,
            0.5 * channels.fin_length_m(),
        );
        let area = channels.area_over_face();
        let surface = surface_efficiency(channels.fin_area_over_face() / area, efficiency);
        FaceHeat {
            conductance_w_k: surface * h * area * face_m2,
            fin_efficiency: Some(efficiency),
            reynolds: Some(reynolds),
        }
    }

    /// Reynolds number of the correlation at a mass flux between the fins, kg/(m2 s).
    fn reynolds(&self, flux: f64, air: &Properties) -> f64 {
        let length = match &self.louvres {
            Some(fin) => fin.louvre_pitch_m,
            None => self.channels.hydraulic_diameter_m(),
        };
        flux * length / air.viscosity_pa_s
    }

    /// Reynolds numbers for which the correlation was made.
    pub fn reynolds_range(&self) -> (f64, f64) {
        match &self.louvres {
            Some(_) => LOUVRED_RE,
            None => (0.0, LAMINAR_END_RE),
        }
    }

    /// Sizes outside those the correlation was made from, each with value and range.
    pub fn outside_geometry(&self) -> Vec<String> {
        let Some(fin) = &self.louvres else {
            return Vec::new();
        };
        let values = [
            fin.louvre_angle_deg,
            fin.fin_pitch_m,
            fin.louvre_pitch_m,
            fin.louvre_length_m,
            fin.fin_length_m,
            fin.tube_depth_m,
            fin.tube_pitch_m,
        ];
        // Sizes come from texts: half a per mille of room for round-off of units.
        let room = 5e-4;
        LOUVRED_GEOMETRY
            .iter()
            .zip(values)
            .filter(|((_, low, high), v)| *v < low * (1.0 - room) || *v > high * (1.0 + room))
            .map(|((name, low, high), value)| {
                if *name == "louvre_angle" {
                    format!("`{name}` {value:.1} deg (made for {low} to {high} deg)")
                } else {
                    let name = if name.contains(' ') {
                        (*name).to_owned()
                    } else {
                        format!("`{name}`")
                    };
                    format!(
                        "{name} {} (made for {} to {} mm)",
                        show_both(Kind::Length, value),
                        1e3 * low,
                        1e3 * high
                    )
                }
            })
            .collect()
    }

    /// The laws of a strip of this face: the fins, and the edges before and behind them with `exit_loss` on the
    /// velocity head of the face.
    pub fn laws(&self, face_m2: f64, exit_loss: f64) -> Vec<Law> {
        let channels = &self.channels;
        let share = channels.free_share();
        let free_m2 = face_m2 * share;
        let fins = match self.louvres {
            Some(fin) => Law::LouvredFins(LouvredPath {
                fin,
                free_area_m2: free_m2,
                area_ratio: channels.area_over_face() / share,
            }),
            None => {
                let (a, b) = (channels.gap_m(), channels.fin_length_m());
                Law::Duct(DuctShape {
                    area_m2: a * b,
                    hydraulic_diameter_m: channels.hydraulic_diameter_m(),
                    length_m: channels.fin_depth_m,
                    roughness_m: 0.0,
                    laminar_constant: rectangle_laminar_constant(a / b),
                    parallel: free_m2 / (a * b),
                    model: FrictionModel::Churchill,
                    entrance: EntranceFriction::On,
                })
            }
        };
        let edges =
            0.5 * (channels.edge_loss() / (share * share) + exit_loss) / (face_m2 * face_m2);
        vec![fins, Law::TwoTerm(TwoTerm::symmetric(0.0, edges))]
    }
}

/// Drop of air through louvred fins.
///
/// `dp = f (A/Ac) G^2 / (2 rho)`, `G` the mass flux in the free area `Ac`, `A` all air-side surface, `f` the Fanning
/// factor in [`louvred_drop_group`].
///
/// Units: Pa over kg/s. Range: Re 100 to 3000 on the louvre pitch; goes on outside. Source: as there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LouvredPath {
    /// The fins.
    pub fin: LouvredFin,
    /// Free area of the strip, m2.
    pub free_area_m2: f64,
    /// All air-side surface over the free area.
    pub area_ratio: f64,
}

impl LouvredPath {
    /// Drop and exact slope at a signed mass flow.
    pub fn drop(&self, flow_kg_s: f64, fluid: &Properties) -> Drop {
        let pitch = self.fin.louvre_pitch_m;
        let re_per_flow = pitch / (fluid.viscosity_pa_s * self.free_area_m2);
        let group = louvred_drop_group(flow_kg_s.abs() * re_per_flow, &self.fin);
        let scale = self.area_ratio * fluid.viscosity_pa_s * fluid.viscosity_pa_s
            / (2.0 * fluid.density_kg_m3 * pitch * pitch);
        Drop {
            drop_pa: (scale * group.value).copysign(flow_kg_s),
            slope_pa_s_kg: scale * group.slope * re_per_flow,
        }
    }
}
