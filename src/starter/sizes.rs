//! Stock sizes and how they are written in each family of units. Nominal sizes: measure what you buy.

use crate::quantity::UnitFamily;

/// Hose bores as written in inches, beside those in mm.
const INCH_BORES: [&str; 10] = [
    "1/4 in", "5/16 in", "3/8 in", "1/2 in", "5/8 in", "3/4 in", "1 in", "1 1/4 in", "1 1/2 in",
    "2 in",
];
/// Hose bores, mm.
const METRIC_BORES: [f64; 10] = [6.0, 8.0, 10.0, 13.0, 16.0, 19.0, 25.0, 32.0, 38.0, 50.0];
/// Square tube, outside and wall, mm, and as written in inches.
const SQUARES: [(f64, f64, &str, &str); 6] = [
    (25.0, 2.0, "1 in", "0.08 in"),
    (32.0, 2.0, "1 1/4 in", "0.08 in"),
    (40.0, 2.0, "1 1/2 in", "0.08 in"),
    (50.0, 2.0, "2 in", "0.08 in"),
    (60.0, 3.0, "2 1/2 in", "1/8 in"),
    (80.0, 3.0, "3 in", "1/8 in"),
];

/// Writes values in one family of units.
#[derive(Clone, Copy, Debug)]
pub struct Pen(pub UnitFamily);

impl Pen {
    fn us(self) -> bool {
        self.0 == UnitFamily::Us
    }

    /// The smallest stock bore of at least this many mm, with its barb; the largest there is at most.
    pub fn bore_mm(least_mm: f64) -> usize {
        METRIC_BORES
            .iter()
            .position(|b| *b >= least_mm - 1e-9)
            .unwrap_or(METRIC_BORES.len() - 1)
    }

    /// A stock bore.
    pub fn bore(self, index: usize) -> String {
        let index = index.min(INCH_BORES.len() - 1);
        if self.us() {
            format!("\"{}\"", INCH_BORES[index])
        } else {
            format!("\"{} mm\"", METRIC_BORES[index])
        }
    }

    /// The bore of the barb of a stock hose: 80 % (common practice, no source).
    pub fn barb(self, index: usize) -> String {
        let mm = METRIC_BORES[index.min(METRIC_BORES.len() - 1)] * 0.8;
        self.small_mm(mm)
    }

    /// A small length, mm.
    pub fn small_mm(self, mm: f64) -> String {
        if self.us() {
            format!("\"{} in\"", trim(mm / 25.4, 3))
        } else {
            format!("\"{} mm\"", trim(mm, 1))
        }
    }

    /// The smallest square tube with at least this inner area, mm2, as `outside` and `wall`.
    pub fn square(self, least_area_mm2: f64) -> String {
        let best = SQUARES
            .iter()
            .find(|(outside, wall, _, _)| (outside - 2.0 * wall).powi(2) >= least_area_mm2)
            .unwrap_or(&SQUARES[SQUARES.len() - 1]);
        let (outside, wall) = if self.us() {
            (best.2.to_owned(), best.3.to_owned())
        } else {
            (format!("{} mm", best.0), format!("{} mm", best.1))
        };
        format!("{{ \"square\": {{ \"outside\": \"{outside}\", \"wall\": \"{wall}\" }} }}")
    }

    /// A length, m.
    pub fn m(self, m: f64) -> String {
        if self.us() {
            format!("\"{} ft\"", trim(m / 0.3048, 1))
        } else {
            format!("\"{} m\"", trim(m, 2))
        }
    }

    /// A volume flow, L/min.
    pub fn flow(self, l_min: f64) -> String {
        if self.us() {
            format!("\"{} gpm\"", trim(l_min / 3.785_411_784, 2))
        } else {
            format!("\"{} L/min\"", trim(l_min, 1))
        }
    }

    /// A pressure difference, kPa.
    pub fn rise(self, kpa: f64) -> String {
        if self.us() {
            format!("\"{} psi\"", trim(kpa / 6.894_757, 2))
        } else {
            format!("\"{} kPa\"", trim(kpa, 1))
        }
    }

    /// A temperature, degC.
    pub fn point(self, celsius: f64) -> String {
        if self.us() {
            format!("\"{} degF\"", trim(celsius * 1.8 + 32.0, 0))
        } else {
            format!("\"{} degC\"", trim(celsius, 0))
        }
    }

    /// A difference of temperatures, K.
    pub fn kelvin(self, k: f64) -> String {
        if self.us() {
            format!("\"{} F difference\"", trim(k * 1.8, 1))
        } else {
            format!("\"{} K\"", trim(k, 1))
        }
    }

    /// A speed of travel, km/h.
    pub fn speed(self, km_h: f64) -> String {
        if self.us() {
            format!("\"{} mph\"", trim(km_h / 1.609_344, 0))
        } else {
            format!("\"{} km/h\"", trim(km_h, 0))
        }
    }

    /// A velocity, m/s.
    pub fn velocity(self, m_s: f64) -> String {
        if self.us() {
            format!("\"{} ft/s\"", trim(m_s / 0.3048, 1))
        } else {
            format!("\"{} m/s\"", trim(m_s, 1))
        }
    }

    /// The word of the family in a file.
    pub fn word(self) -> &'static str {
        if self.us() { "us" } else { "metric" }
    }
}

/// A number with at most so many decimals, without trailing zeros.
fn trim(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}
