//! Heat of a device over its load, or of a module over its current, from a table: the losses of a data sheet.

use super::curve::{Curve, CurveError};
use crate::correlation::friction::Sloped;
use crate::quantity::Quantity;
use serde::{Deserialize, Serialize};

/// Load of a device over its rated load, 0 to 5.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(transparent)]
#[cfg_attr(test, schemars(inline))]
pub struct Load(#[cfg_attr(test, schemars(range(min = 0.0, max = 5.0)))] pub f64);

/// Heat over load, rising.
#[derive(Clone, Debug, PartialEq)]
pub struct HeatTable {
    curve: Curve,
}

/// A value read from a table, and whether the table reaches there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TableReading {
    /// Heat, W.
    pub heat_w: f64,
    /// Where the load lies.
    pub reach: Reach,
}

/// Where a load lies in a table.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reach {
    /// Between its ends.
    Inside,
    /// Below its first row.
    Below,
    /// Above its last row.
    Above,
}

/// A row that cannot stand, by its place from 0, with what is wrong and what to try.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BadRow {
    /// Its place.
    pub index: usize,
    /// What is wrong.
    pub message: String,
    /// What to try.
    pub help: &'static str,
}

impl HeatTable {
    /// A table of load and heat (W), two rows or more: loads rise and are not negative, heat does not fall and is not
    /// negative. `shown` writes a row for a message.
    ///
    /// # Errors
    /// [`BadRow`], the first that cannot stand.
    pub fn through(
        rows: &[(f64, f64)],
        shown: &dyn Fn(usize) -> (String, String),
    ) -> Result<Self, BadRow> {
        let bad = |index: usize, message: String, help: &'static str| {
            Err(BadRow {
                index,
                message,
                help,
            })
        };
        for (index, (load, heat)) in rows.iter().enumerate() {
            let (load_text, heat_text) = shown(index);
            if *load < 0.0 || load.is_nan() {
                return bad(
                    index,
                    format!("a load of {load_text} is below zero"),
                    "try the size of the load, whichever way the current flows",
                );
            }
            if *heat < 0.0 || heat.is_nan() {
                return bad(
                    index,
                    format!("a heat of {heat_text} is below zero, but a loss warms its coolant"),
                    "try the loss in watts as it leaves the device",
                );
            }
            if let Some((_, before)) = index.checked_sub(1).map(|k| rows[k])
                && *heat < before
            {
                return bad(
                    index,
                    format!(
                        "the heat must not fall as the load grows, but goes from {} to {heat_text}",
                        shown(index - 1).1
                    ),
                    "try looking for a slip in the table; a device whose losses really fall takes `heat` from each case",
                );
            }
        }
        match Curve::through(rows) {
            Ok(curve) => Ok(Self { curve }),
            Err(CurveError::TooFewPoints { got, needed }) => bad(
                0,
                format!("a table needs at least {needed} rows, but has {got}"),
                "try adding the heat at a second load, or give `heat` alone",
            ),
            Err(
                CurveError::NotRising { index }
                | CurveError::Rises { index }
                | CurveError::BadValue { index },
            ) => bad(
                index,
                format!(
                    "the load must rise from row to row, but goes from {} to {}",
                    shown(index.saturating_sub(1)).0,
                    shown(index).0
                ),
                "try writing the rows in rising order of load",
            ),
        }
    }

    /// The same from rows of quantities or ratios.
    ///
    /// # Errors
    /// As [`HeatTable::through`].
    pub fn of<L: Copy + TableLoad, H: Quantity + std::fmt::Display>(
        rows: &[(L, H)],
    ) -> Result<Self, BadRow> {
        let plain: Vec<(f64, f64)> = rows.iter().map(|(l, h)| (l.si(), h.si())).collect();
        Self::through(&plain, &|k| (rows[k].0.shown(), rows[k].1.to_string()))
    }

    /// Heat at a load: a monotone cubic through all rows; below the first row its heat is held, beyond the last one the
    /// curve goes on straight. W.
    ///
    /// ```
    /// use loopwright::part::{HeatTable, Reach};
    /// let rows = [(0.2, 100.0), (0.5, 190.0), (1.0, 420.0)];
    /// let table = HeatTable::through(&rows, &|k| (rows[k].0.to_string(), rows[k].1.to_string())).unwrap();
    /// assert_eq!(table.at(0.5).heat_w, 190.0);
    /// assert_eq!(table.at(0.1).reach, Reach::Below);
    /// ```
    pub fn at(&self, load: f64) -> TableReading {
        let (first, last) = (self.curve.first_x(), self.curve.last_x());
        let reach = if load < first {
            Reach::Below
        } else if load > last {
            Reach::Above
        } else {
            Reach::Inside
        };
        let Sloped { value, .. } = match reach {
            Reach::Below => self.curve.held_at(load),
            _ => self.curve.at(load),
        };
        TableReading {
            heat_w: value,
            reach,
        }
    }

    /// The first and the last load.
    pub fn span(&self) -> (f64, f64) {
        (self.curve.first_x(), self.curve.last_x())
    }
}

/// What a table may have as its load.
pub trait TableLoad {
    /// As a number.
    fn si(self) -> f64;
    /// As written.
    fn shown(self) -> String;
}

impl TableLoad for Load {
    fn si(self) -> f64 {
        self.0
    }
    fn shown(self) -> String {
        self.0.to_string()
    }
}

impl TableLoad for crate::quantity::Current {
    fn si(self) -> f64 {
        self.a()
    }
    fn shown(self) -> String {
        self.to_string()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn table(rows: &[(f64, f64)]) -> Result<HeatTable, BadRow> {
        HeatTable::through(rows, &|k| {
            (format!("{}", rows[k].0), format!("{} W", rows[k].1))
        })
    }

    /// By hand (Fritsch and Butland, 1984): rows 0, 1, 2 with heats 0, 100, 400. The secants are 100 and 300, the
    /// slope at 1 is the harmonic mean with weights 3 and 3, 150; at 0 the three-point slope (3*100 - 300)/2 = 0. The
    /// cubic at 0.5 is 100/2 - 150/8 + 0/8 = 31.25.
    #[test]
    fn a_table_is_read_as_worked_by_hand() {
        let table = table(&[(0.0, 0.0), (1.0, 100.0), (2.0, 400.0)]);
        let at = |x: f64| table.as_ref().map(|t| t.at(x)).map_err(Clone::clone);
        assert!(at(0.5).is_ok_and(|r| (r.heat_w - 31.25).abs() < 1e-12));
        assert!(at(1.0).is_ok_and(|r| r.heat_w == 100.0 && r.reach == Reach::Inside));
        // Slope at the last row: (3*300 - 100)/2 = 400, so half a load further on 200 W more.
        assert!(at(2.5).is_ok_and(|r| (r.heat_w - 600.0).abs() < 1e-12 && r.reach == Reach::Above));
    }

    #[test]
    fn rows_that_no_loss_has_are_refused_by_their_place() {
        let index = |rows: &[(f64, f64)]| table(rows).map_err(|e| e.index).err();
        assert_eq!(index(&[(0.1, 5.0), (0.5, 4.0)]), Some(1));
        assert_eq!(index(&[(-0.1, 5.0), (0.5, 6.0)]), Some(0));
        assert_eq!(index(&[(0.5, 5.0), (0.5, 6.0)]), Some(1));
        assert_eq!(index(&[(0.1, -5.0), (0.5, 6.0)]), Some(0));
        assert_eq!(index(&[(0.1, 5.0)]), Some(0));
    }

    #[test]
    fn the_reading_never_falls_between_rows() {
        let table = table(&[(0.0, 10.0), (0.2, 10.0), (0.3, 80.0), (1.0, 90.0)]);
        let mut last = 0.0;
        for k in 0..=1000 {
            let heat = table
                .as_ref()
                .map_or(f64::NAN, |t| t.at(f64::from(k) * 1e-3).heat_w);
            assert!(heat >= last - 1e-12, "{k}: {heat}");
            last = heat;
        }
    }
}
