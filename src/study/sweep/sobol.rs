//! Points that fill a box evenly, whatever their number.
//!
//! Source: Joe and Kuo (2008), Constructing Sobol sequences with better two-dimensional projections, SIAM J. Sci. Comput.
//! 30, 2635-2654; their table "new-joe-kuo-6", the first sixteen dimensions.

/// Most dimensions.
pub const SOBOL_DIMENSIONS: usize = 16;
/// Most points: the sequence has 32 binary digits.
pub const SOBOL_POINTS: usize = 1 << 31;
const DIGITS: u32 = 32;

/// Primitive polynomials from the second dimension on, all coefficients as binary digits, and their first direction
/// numbers.
const TABLE: [(u32, &[u32]); SOBOL_DIMENSIONS - 1] = [
    (3, &[1]),
    (7, &[1, 3]),
    (11, &[1, 3, 1]),
    (13, &[1, 1, 1]),
    (19, &[1, 1, 3, 3]),
    (25, &[1, 3, 5, 13]),
    (37, &[1, 1, 5, 5, 17]),
    (41, &[1, 1, 5, 5, 5]),
    (47, &[1, 1, 7, 11, 19]),
    (55, &[1, 1, 5, 1, 1]),
    (59, &[1, 1, 1, 3, 11]),
    (61, &[1, 3, 5, 5, 31]),
    (67, &[1, 3, 3, 9, 7, 49]),
    (91, &[1, 1, 1, 15, 21, 21]),
    (97, &[1, 3, 1, 13, 27, 49]),
];

/// A coordinate of a point of the sequence, from 0 to below 1; `None` beyond [`SOBOL_DIMENSIONS`] or [`SOBOL_POINTS`].
///
/// Points are counted from 0, and point 0 is the corner at which every coordinate is 0. Source: Joe and Kuo (2008), in
/// the order of the Gray code.
///
/// ```
/// use loopwright::study::sweep::sobol;
/// assert_eq!(sobol(4, 0), Some(0.375));
/// assert_eq!(sobol(4, 2), Some(0.625));
/// assert_eq!(sobol(4, 99), None);
/// ```
pub fn sobol(point: usize, dimension: usize) -> Option<f64> {
    if point >= SOBOL_POINTS || dimension >= SOBOL_DIMENSIONS {
        return None;
    }
    let gray = point ^ (point >> 1);
    let digits = (0..DIGITS)
        .filter(|digit| (gray >> digit) & 1 == 1)
        .fold(0, |sum, digit| sum ^ direction(dimension, digit as usize));
    Some(f64::from(digits) / 2_f64.powi(DIGITS as i32))
}

/// The direction number of a digit, its point moved behind the first binary digit.
fn direction(dimension: usize, digit: usize) -> u32 {
    let Some((polynomial, first)) = dimension.checked_sub(1).and_then(|d| TABLE.get(d)) else {
        return 1 << (DIGITS as usize - 1 - digit);
    };
    let degree = first.len();
    let mut numbers = [0_u32; DIGITS as usize];
    for (k, m) in first.iter().enumerate().take(digit + 1) {
        numbers[k] = m << (DIGITS as usize - 1 - k);
    }
    for k in degree..=digit {
        let back = numbers[k - degree];
        let mut next = back ^ (back >> degree);
        for j in 1..degree {
            if (polynomial >> (degree - j)) & 1 == 1 {
                next ^= numbers[k - j];
            }
        }
        numbers[k] = next;
    }
    numbers[digit]
}
