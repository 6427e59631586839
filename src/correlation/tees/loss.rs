//! The two shapes a tee loss can take as a function of leg flows, each with its gradient.
//!
//! A loss is that between the datum leg and one other leg, in units of `rho v_datum^2 / 2` per
//! datum flow squared. It is homogeneous of degree two, so nothing here can blow up at small flow.

/// Magnitudes of the flows, each counted positive in the sense its pattern expects, kg/s.
#[derive(Clone, Copy, Debug)]
pub(super) struct Flows {
    /// The leg that carries the whole flow.
    pub(super) datum: f64,
    /// The leg whose loss is asked.
    pub(super) own: f64,
    /// The third leg.
    pub(super) other: f64,
}

/// A loss and its derivatives by the three flows taken as independent.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Loss {
    /// Loss coefficient times datum flow squared.
    pub(super) value: f64,
    /// Derivative by the datum's flow.
    pub(super) by_datum: f64,
    /// Derivative by the leg's own flow.
    pub(super) by_own: f64,
    /// Derivative by the third leg's flow.
    pub(super) by_other: f64,
}

/// A quadratic form in the flows; a missing term is zero.
///
/// Terms in the third leg's flow are there so that a run loses exactly nothing, to the last bit,
/// when its lateral is at rest.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Quadratic {
    /// Factor of datum squared.
    pub(super) datum2: f64,
    /// Factor of datum times own.
    pub(super) datum_own: f64,
    /// Factor of own squared.
    pub(super) own2: f64,
    /// Factor of datum times other.
    pub(super) datum_other: f64,
    /// Factor of other squared.
    pub(super) other2: f64,
}

/// Which leg's share of the datum flow a published curve is written in.
#[derive(Clone, Copy, Debug)]
pub(super) enum ShareOf {
    /// The leg whose loss it is.
    Own,
    /// The third leg.
    Other,
}

/// The loss of one leg against the datum.
#[derive(Clone, Copy, Debug)]
pub(super) enum Law {
    /// A quadratic form.
    Quadratic(Quadratic),
    /// A curve of coefficient and slope over `(share, area ratio)`, plus a quadratic form.
    Curve {
        /// Coefficient and its derivative by the share.
        curve: fn(f64, f64) -> (f64, f64),
        /// Side area over datum area.
        area_ratio: f64,
        /// The share it is written in.
        share: ShareOf,
        /// What is added for legs of unequal area.
        plus: Quadratic,
    },
}

impl Quadratic {
    /// The form and its gradient.
    pub(super) fn loss(&self, m: Flows) -> Loss {
        let value = self.datum2 * m.datum * m.datum
            + self.datum_own * m.datum * m.own
            + self.own2 * m.own * m.own
            + self.datum_other * m.datum * m.other
            + self.other2 * m.other * m.other;
        Loss {
            value,
            by_datum: 2.0 * self.datum2 * m.datum
                + self.datum_own * m.own
                + self.datum_other * m.other,
            by_own: self.datum_own * m.datum + 2.0 * self.own2 * m.own,
            by_other: self.datum_other * m.datum + 2.0 * self.other2 * m.other,
        }
    }
}

impl Law {
    /// The loss and its gradient. The datum's flow must be above zero.
    pub(super) fn loss(&self, m: Flows) -> Loss {
        match *self {
            Self::Quadratic(form) => form.loss(m),
            Self::Curve {
                curve,
                area_ratio,
                share,
                plus,
            } => {
                // The datum is the largest flow, or within a blend width of it: this quotient is
                // of order one or less.
                let part = match share {
                    ShareOf::Own => m.own,
                    ShareOf::Other => m.other,
                };
                let (k, dk) = curve(part / m.datum, area_ratio);
                let mut loss = plus.loss(m);
                loss.value += k * m.datum * m.datum;
                loss.by_datum += 2.0 * k * m.datum - dk * part;
                match share {
                    ShareOf::Own => loss.by_own += dk * m.datum,
                    ShareOf::Other => loss.by_other += dk * m.datum,
                }
                loss
            }
        }
    }
}

/// Area ratios and turning angle of a tee as seen from a run leg that is the datum.
#[derive(Clone, Copy, Debug)]
pub(super) struct RunDatum {
    /// Datum area over the other run leg's area.
    pub(super) over_run: f64,
    /// Datum area over side area.
    pub(super) over_side: f64,
    /// Angle between the lateral's flow and the datum's flow, rad; 0 is straight on.
    pub(super) theta_rad: f64,
}

impl RunDatum {
    /// Loss factor, on the run's own share squared, of the change of section between unequal run
    /// legs: `(v_run - v)^2`, where `v` is the run's flow in the datum's area.
    pub(super) fn section_change(&self) -> f64 {
        let step = self.over_run - 1.0;
        step * step
    }
}
