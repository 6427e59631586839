//! A monotone curve through points: how a pump or fan curve, or a resistance table, is read between its points.
//! Not a fit: it passes through every point. Shape-preserving piecewise cubic of Fritsch and Carlson (1980),
//! "Monotone piecewise cubic interpolation", SIAM J. Numer. Anal. 17:238-246, with the weighted harmonic slopes of
//! Fritsch and Butland (1984), SIAM J. Sci. Stat. Comput. 5:300-304.

use crate::correlation::friction::Sloped;
use std::sync::Arc;

/// A piecewise cubic through points with rising abscissae; it never overshoots its points, and its slope is continuous.
#[derive(Clone, Debug, PartialEq)]
pub struct Curve(Arc<Points>);

/// The points of a curve, which its copies share.
#[derive(Debug, PartialEq)]
struct Points {
    x: Vec<f64>,
    y: Vec<f64>,
    slope: Vec<f64>,
}

/// Why points do not make a curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum CurveError {
    /// Fewer points than the curve needs.
    TooFewPoints {
        /// How many were given.
        got: usize,
        /// How many are needed.
        needed: usize,
    },
    /// The abscissa of this point (counted from 0) does not rise above the one before.
    NotRising {
        /// The place of the point in the list, from 0.
        index: usize,
    },
    /// The ordinate of this point (counted from 0) rises above the one before, where it must fall.
    Rises {
        /// The place of the point in the list, from 0.
        index: usize,
    },
    /// A value is not finite, or is negative where it must not be.
    BadValue {
        /// The place of the point in the list, from 0.
        index: usize,
    },
}

impl Curve {
    /// Makes a curve through points `(x, y)`, two or more, with strictly rising `x`.
    ///
    /// # Errors
    /// [`CurveError`] names the first point that cannot be used.
    ///
    /// ```
    /// use loopwright::part::Curve;
    /// let curve = Curve::through(&[(0.0, 52.0), (12.0, 44.0), (24.0, 21.0), (30.0, 0.0)])?;
    /// assert!((curve.at(12.0).value - 44.0).abs() < 1e-12);
    /// assert!(Curve::through(&[(0.0, 1.0)]).is_err());
    /// # Ok::<(), loopwright::part::CurveError>(())
    /// ```
    pub fn through(points: &[(f64, f64)]) -> Result<Self, CurveError> {
        if points.len() < 2 {
            return Err(CurveError::TooFewPoints {
                got: points.len(),
                needed: 2,
            });
        }
        for (index, point) in points.iter().enumerate() {
            if !(point.0.is_finite() && point.1.is_finite()) {
                return Err(CurveError::BadValue { index });
            }
            if index > 0 && point.0 <= points[index - 1].0 {
                return Err(CurveError::NotRising { index });
            }
        }
        let x: Vec<f64> = points.iter().map(|p| p.0).collect();
        let y: Vec<f64> = points.iter().map(|p| p.1).collect();
        let slope = slopes(&x, &y);
        Ok(Self(Arc::new(Points { x, y, slope })))
    }

    /// The first abscissa.
    pub fn first_x(&self) -> f64 {
        self.0.x[0]
    }

    /// The last abscissa.
    pub fn last_x(&self) -> f64 {
        self.0.x[self.0.x.len() - 1]
    }

    /// The largest ordinate of the points.
    pub fn largest_y(&self) -> f64 {
        self.0.y.iter().copied().fold(f64::NEG_INFINITY, f64::max)
    }

    /// Value and slope at `x`; beyond the ends the curve continues straight with its end slope.
    pub fn at(&self, x: f64) -> Sloped {
        let points = &*self.0;
        let last = points.x.len() - 1;
        if x <= points.x[0] {
            return straight(points.x[0], points.y[0], points.slope[0], x);
        }
        if x >= points.x[last] {
            return straight(points.x[last], points.y[last], points.slope[last], x);
        }
        let k = points.x.partition_point(|&xi| xi <= x) - 1;
        let h = points.x[k + 1] - points.x[k];
        let t = (x - points.x[k]) / h;
        let (y0, y1) = (points.y[k], points.y[k + 1]);
        let (d0, d1) = (points.slope[k] * h, points.slope[k + 1] * h);
        let c2 = 3.0 * (y1 - y0) - 2.0 * d0 - d1;
        let c3 = 2.0 * (y0 - y1) + d0 + d1;
        Sloped {
            value: y0 + t * (d0 + t * (c2 + t * c3)),
            slope: (d0 + t * (2.0 * c2 + t * 3.0 * c3)) / h,
        }
    }

    /// Value and slope at `x`; beyond the ends the end value is held (a table that says nothing more).
    pub fn held_at(&self, x: f64) -> Sloped {
        let points = &*self.0;
        let last = points.x.len() - 1;
        if x <= points.x[0] {
            Sloped {
                value: points.y[0],
                slope: 0.0,
            }
        } else if x >= points.x[last] {
            Sloped {
                value: points.y[last],
                slope: 0.0,
            }
        } else {
            self.at(x)
        }
    }
}

fn straight(x0: f64, y0: f64, slope: f64, x: f64) -> Sloped {
    Sloped {
        value: y0 + slope * (x - x0),
        slope,
    }
}

fn slopes(x: &[f64], y: &[f64]) -> Vec<f64> {
    let n = x.len();
    let h: Vec<f64> = x.windows(2).map(|w| w[1] - w[0]).collect();
    let d: Vec<f64> = y
        .windows(2)
        .zip(&h)
        .map(|(w, h)| (w[1] - w[0]) / h)
        .collect();
    let mut slope = vec![0.0; n];
    if n == 2 {
        slope.fill(d[0]);
        return slope;
    }
    for k in 1..n - 1 {
        if d[k - 1] * d[k] > 0.0 {
            let (w1, w2) = (2.0 * h[k] + h[k - 1], h[k] + 2.0 * h[k - 1]);
            slope[k] = (w1 + w2) / (w1 / d[k - 1] + w2 / d[k]);
        }
    }
    slope[0] = end_slope(h[0], h[1], d[0], d[1]);
    slope[n - 1] = end_slope(h[n - 2], h[n - 3], d[n - 2], d[n - 3]);
    slope
}

/// The one-sided three-point slope, limited so that the shape is kept.
fn end_slope(h0: f64, h1: f64, d0: f64, d1: f64) -> f64 {
    let slope = ((2.0 * h0 + h1) * d0 - h0 * d1) / (h0 + h1);
    if slope * d0 <= 0.0 {
        0.0
    } else if d0 * d1 <= 0.0 && slope.abs() > 3.0 * d0.abs() {
        3.0 * d0
    } else {
        slope
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_falling_curve_never_rises_between_its_points() -> Result<(), CurveError> {
        let curve = Curve::through(&[(0.0, 52.0), (12.0, 44.0), (24.0, 21.0), (30.0, 0.0)])?;
        for k in 0..3000 {
            assert!(curve.at(k as f64 * 0.01).slope <= 0.0);
        }
        Ok(())
    }

    /// SciPy 1.17.1 `PchipInterpolator` on the same points, printed to 15 digits.
    #[test]
    fn values_equal_an_independent_implementation() -> Result<(), CurveError> {
        let curve = Curve::through(&[(0.0, 52.0), (12.0, 44.0), (24.0, 21.0), (30.0, 0.0)])?;
        for (x, y) in PCHIP {
            assert!((curve.at(x).value - y).abs() < 1e-12, "{x}");
        }
        Ok(())
    }

    const PCHIP: [(f64, f64); 4] = [
        (3.0, 51.236139112903224),
        (9.0, 46.89591733870967),
        (18.0, 34.856235039325206),
        (27.0, 11.600780329799763),
    ];
}
