//! The air side of a finned core: louvred fins and the efficiency of a fin.
//!
//! Heat transfer and friction of louvred fins on flat tubes by Chang and co-workers; not the fan,
//! the grille or the core's inlet and outlet losses. Claimed by the authors: about 15 % either way.

/// Louvred fins between flat tubes, lengths in m.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LouvredFin {
    /// Louvre angle, degrees.
    pub louvre_angle_deg: f64,
    /// Fin pitch Fp.
    pub fin_pitch_m: f64,
    /// Louvre pitch Lp, the length of the Reynolds number.
    pub louvre_pitch_m: f64,
    /// Fin length Fl: the gap between neighbouring tubes.
    pub fin_length_m: f64,
    /// Fin depth Fd along the air.
    pub fin_depth_m: f64,
    /// Louvre length Ll.
    pub louvre_length_m: f64,
    /// Tube depth Td along the air.
    pub tube_depth_m: f64,
    /// Tube pitch Tp.
    pub tube_pitch_m: f64,
    /// Major tube thickness Dm across the air.
    pub tube_thickness_m: f64,
    /// Fin thickness.
    pub fin_thickness_m: f64,
    /// Hydraulic diameter of the fin array Dh.
    pub hydraulic_diameter_m: f64,
}

/// Colburn factor of louvred fins.
///
/// `j = Re^-0.49 (th/90)^0.27 (Fp/Lp)^-0.14 (Fl/Lp)^-0.29 (Td/Lp)^-0.23 (Ll/Lp)^0.68 (Tp/Lp)^-0.28
/// (d/Lp)^-0.05`, `Nu`-like by `h = j rho v cp / Pr^(2/3)`.
///
/// Units: `reynolds` on the louvre pitch and the velocity in the narrowest section.
/// Range: Re 100 to 3000; the power law goes on outside, down to Re 1. Spread of the data: 89 %
/// within 15 % (from memory).
///
/// Source: Y.-J. Chang and C.-C. Wang, "A generalized heat transfer correlation for louver fin
/// geometry", Int. J. Heat Mass Transfer 40, 1997, eq. 9 (second-hand).
pub fn louvred_colburn_factor(reynolds: f64, fin: &LouvredFin) -> f64 {
    let pitch = fin.louvre_pitch_m;
    reynolds.max(1.0).powf(-0.49)
        * (fin.louvre_angle_deg / 90.0).powf(0.27)
        * (fin.fin_pitch_m / pitch).powf(-0.14)
        * (fin.fin_length_m / pitch).powf(-0.29)
        * (fin.tube_depth_m / pitch).powf(-0.23)
        * (fin.louvre_length_m / pitch).powf(0.68)
        * (fin.tube_pitch_m / pitch).powf(-0.28)
        * (fin.fin_thickness_m / pitch).powf(-0.05)
}

/// Where the two pieces of [`louvred_friction_as_printed`] meet, with a jump.
const PIECES_MEET_RE: f64 = 150.0;
/// The amendment of 2006 blends the pieces between these Reynolds numbers.
const BLEND_RE: (f64, f64) = (130.0, 230.0);
/// Below this Reynolds number the logarithms of the first piece are without sense.
const SMALLEST_RE: f64 = 10.0;

/// Fanning friction factor of louvred fins as first printed, with its jump at Re 150.
///
/// `f = f1 f2 f3`; Re below 150:
/// `f1 = 14.39 Re^(-0.805 Fp/Fl) ln(1 + Fp/Lp)^3.04`,
/// `f2 = ln((d/Fp)^0.48 + 0.9)^-1.435 (Dh/Lp)^-3.01 ln(0.5 Re)^-3.01`,
/// `f3 = (Fp/Ll)^-0.308 (Fd/Ll)^-0.308 e^(-0.1167 Tp/Dm) th^0.35`; from 150:
/// `f1 = 4.97 Re^(0.6049 - 1.064/th^0.2) ln((d/Fp)^0.5 + 0.9)^-0.527`,
/// `f2 = [(Dh/Lp) ln(0.3 Re)]^-2.966 (Fp/Ll)^(-0.7931 Tp/Th)`,
/// `f3 = (Tp/Dm)^-0.0446 ln(1.2 + (Lp/Fp)^1.4)^-3.553 th^-0.477`, `th` in degrees, `Th = Tp - Dm`.
///
/// Units: as [`louvred_colburn_factor`]. Range: Re up to 5000, not checked above; below Re 10 the
/// value there. Use [`louvred_friction`], which is continuous.
///
/// Source: Y.-J. Chang, K.-C. Hsu, Y.-T. Lin and C.-C. Wang, "A generalized friction correlation for
/// louver fin geometry", Int. J. Heat Mass Transfer 43, 2000 (second-hand).
pub fn louvred_friction_as_printed(reynolds: f64, fin: &LouvredFin) -> f64 {
    if reynolds < PIECES_MEET_RE {
        low_piece(reynolds, fin)
    } else {
        high_piece(reynolds, fin)
    }
}

/// Fanning friction factor of louvred fins, continuous through Re 150.
///
/// Between Re 130 and 230 `f = sqrt([(1+w) f_130^2 + (1-w) f_230^2] / 2)`, `w = 3.6 - 0.02 Re`;
/// outside as [`louvred_friction_as_printed`].
///
/// Units and range as there. Source of the blend: the authors' amendment, Y.-J. Chang, W.-J. Chang,
/// M.-C. Li and C.-C. Wang, Int. J. Heat Mass Transfer 49, 2006 (from memory).
pub fn louvred_friction(reynolds: f64, fin: &LouvredFin) -> f64 {
    let (from, to) = BLEND_RE;
    if reynolds <= from {
        return low_piece(reynolds, fin);
    }
    if reynolds >= to {
        return high_piece(reynolds, fin);
    }
    let weight = 3.6 - 0.02 * reynolds;
    let (low, high) = (low_piece(from, fin), high_piece(to, fin));
    (0.5 * ((1.0 + weight) * low * low + (1.0 - weight) * high * high)).sqrt()
}

fn low_piece(reynolds: f64, fin: &LouvredFin) -> f64 {
    let re = reynolds.max(SMALLEST_RE);
    let (pitch, length) = (fin.louvre_pitch_m, fin.louvre_length_m);
    let f1 = 14.39
        * re.powf(-0.805 * fin.fin_pitch_m / fin.fin_length_m)
        * (1.0 + fin.fin_pitch_m / pitch).ln().powf(3.04);
    let f2 = ((fin.fin_thickness_m / fin.fin_pitch_m).powf(0.48) + 0.9)
        .ln()
        .powf(-1.435)
        * (fin.hydraulic_diameter_m / pitch).powf(-3.01)
        * (0.5 * re).ln().powf(-3.01);
    let f3 = (fin.fin_pitch_m / length).powf(-0.308)
        * (fin.fin_depth_m / length).powf(-0.308)
        * (-0.1167 * fin.tube_pitch_m / fin.tube_thickness_m).exp()
        * fin.louvre_angle_deg.powf(0.35);
    f1 * f2 * f3
}

fn high_piece(reynolds: f64, fin: &LouvredFin) -> f64 {
    let (pitch, angle) = (fin.louvre_pitch_m, fin.louvre_angle_deg);
    let gap = fin.tube_pitch_m - fin.tube_thickness_m;
    let f1 = 4.97
        * reynolds.powf(0.6049 - 1.064 / angle.powf(0.2))
        * ((fin.fin_thickness_m / fin.fin_pitch_m).sqrt() + 0.9)
            .ln()
            .powf(-0.527);
    let f2 = (fin.hydraulic_diameter_m / pitch * (0.3 * reynolds).ln()).powf(-2.966)
        * (fin.fin_pitch_m / fin.louvre_length_m).powf(-0.7931 * fin.tube_pitch_m / gap);
    let f3 = (fin.tube_pitch_m / fin.tube_thickness_m).powf(-0.0446)
        * (1.2 + (pitch / fin.fin_pitch_m).powf(1.4))
            .ln()
            .powf(-3.553)
        * angle.powf(-0.477);
    f1 * f2 * f3
}

/// Efficiency of a straight fin of even thickness with an adiabatic tip.
///
/// `eta = tanh(m l)/(m l)`, `m = sqrt(2 h / (k d))`; for a fin between two tubes `l` is half the gap.
///
/// Units: W/(m2 K), W/(m K), m, m. Range: any; 1 for `m l` -> 0; numbers that are not positive give
/// 1. Source: textbook result, exact for one-dimensional conduction.
///
/// ```
/// use loopwright::correlation::fins::fin_efficiency;
/// let eta = fin_efficiency(100.0, 200.0, 1e-4, 0.004); // m l = 0.4
/// assert!((eta - 0.4f64.tanh() / 0.4).abs() < 1e-14);
/// ```
pub fn fin_efficiency(
    coefficient_w_m2_k: f64,
    conductivity_w_m_k: f64,
    thickness_m: f64,
    length_m: f64,
) -> f64 {
    let square =
        2.0 * coefficient_w_m2_k / (conductivity_w_m_k * thickness_m) * length_m * length_m;
    if square.is_nan() || square <= 0.0 {
        return 1.0;
    }
    if square < 1e-6 {
        return 1.0 - square / 3.0;
    }
    square.sqrt().tanh() / square.sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_efficiency_falls_smoothly_from_one() {
        let eta = |h: f64| fin_efficiency(h, 200.0, 1e-4, 0.004);
        assert_eq!(eta(0.0), 1.0);
        assert_eq!(fin_efficiency(f64::NAN, 200.0, 1e-4, 0.004), 1.0);
        // Both forms meet at (m l)^2 = 1e-6, h = 6.25e-4.
        assert!((eta(6.25e-4 * (1.0 - 1e-9)) - eta(6.25e-4 * (1.0 + 1e-9))).abs() < 1e-12);
        assert!(eta(1e12) > 0.0 && eta(1e12) < 1e-4);
    }
}
