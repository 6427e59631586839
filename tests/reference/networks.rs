//! Whole networks against worked textbook problems, a published benchmark and random networks solved elsewhere.
//!
//! Row ids are those of `validation.md`; marks as in `friction.rs`. Each problem is a design document that goes
//! through the whole crate. Where a source's `g` is not standard, heights are scaled by `g_source / g` beside it,
//! so that the same pressures are solved; heads are scaled back.

mod bench;
mod grids;
mod heads;
mod pumped;
mod random;
mod reservoirs;

use bench::{Answer, Bench, Pipe};

/// Standard gravity, the crate's.
const G: f64 = 9.806_65;
/// The foot, m (exact).
const FOOT_M: f64 = 0.3048;
/// Gravity of sources in metric units.
const G_METRIC: f64 = 9.81;
/// Gravity of sources in feet: 32.2 ft/s2.
const G_FEET: f64 = 32.2 * FOOT_M;
/// A cubic foot a second, m3/s.
const CFS: f64 = FOOT_M * FOOT_M * FOOT_M;

fn close(got: f64, expected: f64, tolerance: f64, what: &str) {
    assert!(
        (got / expected - 1.0).abs() <= tolerance,
        "{what}: got {got}, expected {expected}, off by {:.3e}",
        got / expected - 1.0
    );
}

/// Within half a unit of the last printed digit, `unit` being that digit's place.
fn prints(got: f64, printed: f64, unit: f64, what: &str) {
    assert!(
        (got - printed).abs() <= 0.5 * unit * (1.0 + 1e-9),
        "{what}: got {got}, printed {printed}"
    );
}
