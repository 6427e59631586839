//! Drill sizes: metric in tenths of a millimetre, fractions in sixty-fourths of an inch, numbers and letters.
//!
//! Numbers 80 to 1 and letters A to Z are those of ASME B94.11M, twist drills, written down from memory; neither the
//! standard nor a copy was read. Their spacing (falling, each between its neighbours) is tested, and a few fixed points:
//! letter E is a quarter inch, number 80 is 0.0135 in, letter Z 0.413 in.

/// One inch, m.
const INCH_M: f64 = 0.0254;

/// Diameters of number drills 1 to 80, ten-thousandths of an inch. ASME B94.11M, from memory.
const NUMBERS: [u16; 80] = [
    2280, 2210, 2130, 2090, 2055, 2040, 2010, 1990, 1960, 1935, 1910, 1890, 1850, 1820, 1800, 1770,
    1730, 1695, 1660, 1610, 1590, 1570, 1540, 1520, 1495, 1470, 1440, 1405, 1360, 1285, 1200, 1160,
    1130, 1110, 1100, 1065, 1040, 1015, 995, 980, 960, 935, 890, 860, 820, 810, 785, 760, 730, 700,
    670, 635, 595, 550, 520, 465, 430, 420, 410, 400, 390, 380, 370, 360, 350, 330, 320, 310, 292,
    280, 260, 250, 240, 225, 210, 200, 180, 160, 145, 135,
];
/// Diameters of letter drills A to Z, thousandths of an inch. ASME B94.11M, from memory.
const LETTERS: [u16; 26] = [
    234, 238, 242, 246, 250, 257, 261, 266, 272, 277, 281, 290, 295, 302, 316, 323, 332, 339, 348,
    358, 368, 377, 386, 397, 404, 413,
];

/// Which drills a shop has.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum DrillSet {
    /// Every 0.1 mm.
    #[default]
    Metric,
    /// Fractions, numbers and letters.
    Inch,
}

/// A drill.
#[derive(Clone, Debug, PartialEq)]
pub struct Drill {
    /// What it is called: `3.2 mm`, `1/8 in`, `no. 30`, `letter E`.
    pub name: String,
    /// Diameter, m.
    pub bore_m: f64,
}

/// The nearest drill of each inch kind, for a bore.
#[derive(Clone, Debug, PartialEq)]
pub struct Named {
    /// The nearest sixty-fourth, in lowest terms.
    pub fraction: Drill,
    /// The nearest number; none far above no. 1.
    pub number: Option<Drill>,
    /// The nearest letter; none far from A to Z.
    pub letter: Option<Drill>,
}

fn metric(tenths: u32) -> Drill {
    Drill {
        name: format!("{}.{} mm", tenths / 10, tenths % 10),
        bore_m: f64::from(tenths) * 1e-4,
    }
}

/// A number of sixty-fourths of an inch as a drill.
///
/// ```
/// use loopwright::study::balance::fraction;
/// assert_eq!(fraction(8).name, "1/8 in");
/// assert_eq!(fraction(72).name, "1 1/8 in");
/// ```
pub fn fraction(sixty_fourths: u32) -> Drill {
    let (whole, mut top, mut bottom) = (sixty_fourths / 64, sixty_fourths % 64, 64);
    while top > 0 && top % 2 == 0 {
        top /= 2;
        bottom /= 2;
    }
    let name = match (whole, top) {
        (whole, 0) => format!("{whole} in"),
        (0, top) => format!("{top}/{bottom} in"),
        (whole, top) => format!("{whole} {top}/{bottom} in"),
    };
    Drill {
        name,
        bore_m: f64::from(sixty_fourths) / 64.0 * INCH_M,
    }
}

fn numbers() -> Vec<Drill> {
    let of = |(k, size): (usize, &u16)| Drill {
        name: format!("no. {}", k + 1),
        bore_m: f64::from(*size) * 1e-4 * INCH_M,
    };
    NUMBERS.iter().enumerate().map(of).collect()
}

fn letters() -> Vec<Drill> {
    let of = |(letter, size): (char, &u16)| Drill {
        name: format!("letter {letter}"),
        bore_m: f64::from(*size) * 1e-3 * INCH_M,
    };
    ('A'..='Z').zip(&LETTERS).map(of).collect()
}

/// The drill of a list nearest to a bore.
fn near(list: &[Drill], bore_m: f64) -> Option<Drill> {
    let off = |d: &Drill| (d.bore_m - bore_m).abs();
    list.iter()
        .min_by(|a, b| off(a).total_cmp(&off(b)))
        .cloned()
}

/// The nearest fraction, number and letter to a bore, m. A number or letter more than a sixty-fourth off is left out.
///
/// ```
/// use loopwright::study::balance::nearest;
/// let near = nearest(3.2e-3);
/// assert_eq!(near.fraction.name, "1/8 in");
/// assert_eq!(near.number.unwrap().name, "no. 30");
/// assert!(near.letter.is_none());
/// ```
pub fn nearest(bore_m: f64) -> Named {
    let sixty_fourths = (bore_m / INCH_M * 64.0).round().clamp(1.0, 640.0);
    let close = |d: &Drill| (d.bore_m - bore_m).abs() <= INCH_M / 64.0;
    Named {
        // Between 1 and 640 by the clamp.
        fraction: fraction(sixty_fourths as u32),
        number: near(&numbers(), bore_m).filter(close),
        letter: near(&letters(), bore_m).filter(close),
    }
}

impl DrillSet {
    /// Every drill of the set below a bore, by rising size.
    pub fn below(self, bore_m: f64) -> Vec<Drill> {
        let mut all: Vec<Drill> = match self {
            Self::Metric => (3..=400).map(metric).collect(),
            Self::Inch => {
                let fractions = (1..=96).map(fraction);
                fractions.chain(numbers()).chain(letters()).collect()
            }
        };
        all.retain(|d| d.bore_m < bore_m);
        // Fractions stand first and are kept of equals (a quarter inch is letter E too).
        all.sort_by(|a, b| a.bore_m.total_cmp(&b.bore_m));
        all.dedup_by(|b, a| (a.bore_m - b.bore_m).abs() < 1e-9);
        all
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_fall_and_letters_rise_without_a_slip() {
        assert!(NUMBERS.windows(2).all(|w| w[0] > w[1]));
        assert!(LETTERS.windows(2).all(|w| w[0] < w[1]));
        // A jump of more than a tenth of the size, or 20 thousandths, would be a slip of the pen.
        assert!(NUMBERS.windows(2).all(|w| w[0] - w[1] <= w[0] / 8 + 1));
        assert!(LETTERS.windows(2).all(|w| w[1] - w[0] <= 14));
        // The largest number is below the smallest letter: 0.228 against 0.234 in.
        assert!(NUMBERS[0] < 10 * LETTERS[0]);
    }

    #[test]
    fn drills_that_every_chart_prints_are_where_they_should_be() {
        // Common practice: no. 7 taps 1/4-20, no. 21 taps 10-32, letter F taps 5/16-18, letter E is 1/4 in.
        assert_eq!((NUMBERS[6], NUMBERS[20]), (2010, 1590));
        assert_eq!((LETTERS[5], LETTERS[4]), (257, 250));
        assert_eq!((NUMBERS[79], LETTERS[25]), (135, 413));
    }

    #[test]
    fn the_sets_rise_and_hold_no_size_twice() {
        for set in [DrillSet::Metric, DrillSet::Inch] {
            let all = set.below(8e-3);
            assert!(all.len() > 60);
            assert!(all.windows(2).all(|w| w[1].bore_m - w[0].bore_m > 1e-9));
        }
        let quarter = |d: &&Drill| (d.bore_m - 0.00635).abs() < 1e-9;
        let inch = DrillSet::Inch.below(8e-3);
        assert_eq!(
            inch.iter().find(quarter).map(|d| d.name.as_str()),
            Some("1/4 in")
        );
    }
}
