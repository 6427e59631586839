//! The exact series for crossflow with both streams unmixed.
//!
//! Kept apart from the closed forms of [`effectiveness`](super::effectiveness). Source: J. L. Mason,
//! "Heat transfer in crossflow", Proc. 2nd U.S. Nat. Congr. Appl. Mech., 1955 (second-hand).

/// Effectiveness of crossflow with both streams unmixed, exact.
///
/// `e = 1/(Cr N) sum_n T_n(N) T_n(Cr N)`, `T_n(x) = 1 - e^-x sum_{m<=n} x^m/m!`: each T is the chance
/// that a Poisson number of mean x exceeds n, so it falls from below 1 to 0 and nothing overflows.
/// The sum ends where the tail of the smaller mean is below round-off, after about
/// `Cr N + 9 sqrt(Cr N) + 20` terms.
///
/// Units: dimensionless. Range: `0 < N <= 600`, `0 < Cr <= 1`, as
/// [`effectiveness`](super::effectiveness::effectiveness()) clamps them. Agreement with the same series
/// of incomplete gamma functions (scipy): 1e-14 relative over `N` to 50 (tested at 1e-12).
///
/// Source: Mason (1955).
pub(super) fn unmixed(ntu: f64, capacity_ratio: f64) -> f64 {
    let mean_large = ntu;
    let mean_small = ntu * capacity_ratio;
    if mean_small == 0.0 {
        return -(-ntu).exp_m1();
    }
    let (mut chance_large, mut chance_small) = ((-mean_large).exp(), (-mean_small).exp());
    let (mut tail_large, mut tail_small) = (-(-mean_large).exp_m1(), -(-mean_small).exp_m1());
    let mut sum = 0.0;
    let mut n = 0.0;
    // Subtracting leaves an error of round-off times the first tail in each term, which the division
    // by the smaller mean turns into round-off of the result.
    loop {
        sum += tail_large * tail_small;
        n += 1.0;
        chance_large *= mean_large / n;
        chance_small *= mean_small / n;
        tail_large = (tail_large - chance_large).max(0.0);
        tail_small = (tail_small - chance_small).max(0.0);
        let past_the_peak = n > mean_small;
        if tail_small == 0.0 || (past_the_peak && chance_small <= 1e-18 * mean_small.min(1.0)) {
            break;
        }
    }
    (sum / mean_small).min(1.0)
}
