//! A coolant given as the user's own table, read by shape-preserving cubics.
//!
//! Checks the rows once and stores one cubic per interval and property; boiling is scaled from
//! water's saturation line. Reads no file: the rows arrive as numbers.

use super::error::FluidError;
use super::property::Properties;

/// One row of a user's table.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TableRow {
    /// Temperature, K.
    pub temperature_k: f64,
    /// Properties there, all positive.
    pub properties: Properties,
}

/// One measured boiling point of a user's coolant.
///
/// Its vapour pressure is water's saturation pressure times one factor, chosen to pass through
/// this point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BoilingPoint {
    /// Boiling temperature, K.
    pub temperature_k: f64,
    /// Absolute pressure at which it boils there, Pa.
    pub pressure_pa: f64,
}

/// Properties in the order density, ln viscosity, specific heat, conductivity.
const PROPERTIES: usize = 4;
const SPECIFIC_HEAT: usize = 2;

/// One interval: cubics in `T - start_k`, lowest power first.
#[derive(Debug, PartialEq)]
struct Interval {
    start_k: f64,
    cubics: [[f64; 4]; PROPERTIES],
    /// Integral of the specific heat from the first row to the start, J/kg.
    enthalpy_j_kg: f64,
}

/// The checked table.
#[derive(Debug, PartialEq)]
pub(super) struct PropertyTable {
    intervals: Vec<Interval>,
    end_k: f64,
}

impl PropertyTable {
    /// Checks the rows and lays the cubics.
    ///
    /// Fritsch and Butland's weighted harmonic slopes: between two rows the curve stays between
    /// their values, so properties stay positive and a falling viscosity keeps falling. Two rows
    /// give straight lines (viscosity: straight in its logarithm).
    ///
    /// Source: Fritsch and Carlson (1980), SIAM J. Numer. Anal. 17:238; slopes of Fritsch and
    /// Butland (1984), SIAM J. Sci. Stat. Comput. 5:300.
    ///
    /// # Errors
    ///
    /// Fewer than two rows, rows that do not rise, values that are not positive and finite.
    pub(super) fn new(rows: &[TableRow]) -> Result<Self, FluidError> {
        check(rows)?;
        let temperatures: Vec<f64> = rows.iter().map(|row| row.temperature_k).collect();
        let columns = columns(rows);
        let slopes = columns
            .each_ref()
            .map(|values| slopes(&temperatures, values));
        let mut intervals: Vec<Interval> = Vec::with_capacity(rows.len() - 1);
        let mut enthalpy_j_kg = 0.0;
        for i in 0..rows.len() - 1 {
            let width = temperatures[i + 1] - temperatures[i];
            let cubics: [[f64; 4]; PROPERTIES] = std::array::from_fn(|p| {
                let (y, d) = (&columns[p], &slopes[p]);
                let secant = (y[i + 1] - y[i]) / width;
                [
                    y[i],
                    d[i],
                    (3.0 * secant - 2.0 * d[i] - d[i + 1]) / width,
                    (d[i] + d[i + 1] - 2.0 * secant) / (width * width),
                ]
            });
            let interval = Interval {
                start_k: temperatures[i],
                cubics,
                enthalpy_j_kg,
            };
            enthalpy_j_kg = interval.enthalpy_j_kg(temperatures[i + 1]);
            intervals.push(interval);
        }
        Ok(Self {
            intervals,
            end_k: temperatures[rows.len() - 1],
        })
    }

    pub(super) fn start_k(&self) -> f64 {
        self.intervals[0].start_k
    }

    pub(super) fn end_k(&self) -> f64 {
        self.end_k
    }

    pub(super) fn rows(&self) -> usize {
        self.intervals.len() + 1
    }

    fn interval(&self, temperature_k: f64) -> &Interval {
        let after = self
            .intervals
            .partition_point(|interval| interval.start_k <= temperature_k);
        &self.intervals[after.saturating_sub(1)]
    }

    /// Properties at a temperature; the caller keeps it inside the table.
    pub(super) fn properties(&self, temperature_k: f64) -> Properties {
        let interval = self.interval(temperature_k);
        let s = temperature_k - interval.start_k;
        let [density, ln_viscosity, specific_heat, conductivity] =
            interval.cubics.each_ref().map(|c| cubic(c, s));
        Properties {
            density_kg_m3: density,
            viscosity_pa_s: ln_viscosity.exp(),
            specific_heat_j_kg_k: specific_heat,
            conductivity_w_m_k: conductivity,
        }
    }

    pub(super) fn specific_heat_j_kg_k(&self, temperature_k: f64) -> f64 {
        let interval = self.interval(temperature_k);
        cubic(
            &interval.cubics[SPECIFIC_HEAT],
            temperature_k - interval.start_k,
        )
    }

    /// Both of the two.
    pub(super) fn enthalpy_and_specific_heat(&self, temperature_k: f64) -> (f64, f64) {
        let interval = self.interval(temperature_k);
        let s = temperature_k - interval.start_k;
        let specific_heat = cubic(&interval.cubics[SPECIFIC_HEAT], s);
        (interval.enthalpy_j_kg(temperature_k), specific_heat)
    }

    /// Exact integral of the specific heat from the first row.
    pub(super) fn enthalpy_j_kg(&self, temperature_k: f64) -> f64 {
        self.interval(temperature_k).enthalpy_j_kg(temperature_k)
    }
}

impl Interval {
    fn enthalpy_j_kg(&self, temperature_k: f64) -> f64 {
        let s = temperature_k - self.start_k;
        let c = &self.cubics[SPECIFIC_HEAT];
        self.enthalpy_j_kg + s * (c[0] + s * (c[1] / 2.0 + s * (c[2] / 3.0 + s * c[3] / 4.0)))
    }
}

fn cubic(c: &[f64; 4], s: f64) -> f64 {
    c[0] + s * (c[1] + s * (c[2] + s * c[3]))
}

fn check(rows: &[TableRow]) -> Result<(), FluidError> {
    if rows.len() < 2 {
        return Err(FluidError::TableTooShort { rows: rows.len() });
    }
    let mut previous_k = 0.0;
    for row in rows {
        let temperature_k = row.temperature_k;
        // The comparison is written so that a NaN fails it.
        if !(temperature_k > previous_k && temperature_k.is_finite()) {
            return Err(FluidError::TableOrder {
                temperature_k,
                previous_k,
            });
        }
        previous_k = temperature_k;
        for (property, value) in [
            ("density", row.properties.density_kg_m3),
            ("viscosity", row.properties.viscosity_pa_s),
            ("specific heat", row.properties.specific_heat_j_kg_k),
            ("conductivity", row.properties.conductivity_w_m_k),
        ] {
            if !(value > 0.0 && value.is_finite()) {
                return Err(FluidError::TableValue {
                    temperature_k,
                    property,
                    value,
                });
            }
        }
    }
    Ok(())
}

fn columns(rows: &[TableRow]) -> [Vec<f64>; PROPERTIES] {
    let column = |read: fn(&Properties) -> f64| -> Vec<f64> {
        rows.iter().map(|row| read(&row.properties)).collect()
    };
    [
        column(|p| p.density_kg_m3),
        column(|p| p.viscosity_pa_s.ln()),
        column(|p| p.specific_heat_j_kg_k),
        column(|p| p.conductivity_w_m_k),
    ]
}

fn slopes(x: &[f64], y: &[f64]) -> Vec<f64> {
    let widths: Vec<f64> = x.windows(2).map(|w| w[1] - w[0]).collect();
    let secants: Vec<f64> = y
        .windows(2)
        .zip(&widths)
        .map(|(w, h)| (w[1] - w[0]) / h)
        .collect();
    let n = x.len();
    if n == 2 {
        return vec![secants[0]; 2];
    }
    let mut slopes = vec![0.0; n];
    for i in 1..n - 1 {
        let (before, after) = (secants[i - 1], secants[i]);
        if before * after > 0.0 {
            let w1 = 2.0 * widths[i] + widths[i - 1];
            let w2 = widths[i] + 2.0 * widths[i - 1];
            slopes[i] = (w1 + w2) / (w1 / before + w2 / after);
        }
    }
    slopes[0] = end_slope(widths[0], widths[1], secants[0], secants[1]);
    slopes[n - 1] = end_slope(widths[n - 2], widths[n - 3], secants[n - 2], secants[n - 3]);
    slopes
}

/// Three-point slope at an end, limited so that the end interval keeps its shape.
fn end_slope(width: f64, next_width: f64, secant: f64, next_secant: f64) -> f64 {
    let slope = ((2.0 * width + next_width) * secant - width * next_secant) / (width + next_width);
    if slope * secant <= 0.0 {
        0.0
    } else if secant * next_secant <= 0.0 && slope.abs() > 3.0 * secant.abs() {
        3.0 * secant
    } else {
        slope
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(t_c: f64, rho: f64, mu: f64, cp: f64, k: f64) -> TableRow {
        TableRow {
            temperature_k: t_c + 273.15,
            properties: Properties {
                density_kg_m3: rho,
                viscosity_pa_s: mu,
                specific_heat_j_kg_k: cp,
                conductivity_w_m_k: k,
            },
        }
    }

    fn uneven() -> Vec<TableRow> {
        vec![
            row(-10.0, 1000.0, 0.010, 3000.0, 0.40),
            row(0.0, 999.0, 0.006, 3000.0, 0.41),
            row(5.0, 980.0, 0.0055, 3400.0, 0.41),
            row(40.0, 979.0, 0.0010, 3390.0, 0.39),
            row(90.0, 900.0, 0.0009, 3800.0, 0.45),
        ]
    }

    #[test]
    fn rows_are_reproduced_and_values_between_stay_between() {
        let rows = uneven();
        let table = PropertyTable::new(&rows).expect("accepted");
        for pair in rows.windows(2) {
            let (a, b) = (pair[0].properties, pair[1].properties);
            for i in 0..=100 {
                let t = pair[0].temperature_k
                    + (pair[1].temperature_k - pair[0].temperature_k) * f64::from(i) / 100.0;
                let p = table.properties(t);
                for (v, lo, hi) in [
                    (p.density_kg_m3, a.density_kg_m3, b.density_kg_m3),
                    (p.viscosity_pa_s, a.viscosity_pa_s, b.viscosity_pa_s),
                    (
                        p.specific_heat_j_kg_k,
                        a.specific_heat_j_kg_k,
                        b.specific_heat_j_kg_k,
                    ),
                    (
                        p.conductivity_w_m_k,
                        a.conductivity_w_m_k,
                        b.conductivity_w_m_k,
                    ),
                ] {
                    let room = 1e-12 * hi.max(lo);
                    assert!(v >= lo.min(hi) - room && v <= lo.max(hi) + room, "{t} {v}");
                }
            }
            let p = table.properties(pair[1].temperature_k);
            assert!((p.viscosity_pa_s / b.viscosity_pa_s - 1.0).abs() < 1e-13);
        }
    }

    // SciPy 1.17.1, PchipInterpolator on the specific heats above: values at 2.5, 20 and 70 degC.
    #[test]
    fn the_cubics_are_the_standard_shape_preserving_ones() {
        let table = PropertyTable::new(&uneven()).expect("accepted");
        for (t_c, cp) in [
            (2.5, 3200.0),
            (20.0, 3396.064139941691),
            (70.0, 3560.7005042016804),
        ] {
            let ours = table.specific_heat_j_kg_k(t_c + 273.15);
            assert!((ours / cp - 1.0).abs() < 1e-12, "{t_c} {ours}");
        }
    }

    #[test]
    fn bad_tables_are_refused_with_the_offending_value() {
        let good = uneven();
        assert_eq!(
            PropertyTable::new(&good[..1]),
            Err(FluidError::TableTooShort { rows: 1 })
        );
        let mut falling = good.clone();
        falling.swap(1, 2);
        assert!(matches!(
            PropertyTable::new(&falling),
            Err(FluidError::TableOrder { .. })
        ));
        let mut empty = good;
        empty[3].properties.viscosity_pa_s = 0.0;
        assert_eq!(
            PropertyTable::new(&empty).expect_err("refused").to_string(),
            "cannot read the coolant table because the viscosity at 40.00 degC is not a positive \
             number: got 0, limit 0; try checking its unit"
        );
    }
}
