//! Reading a data file, and comparing with a reference: shared by the topics of this binary.

/// Numbers of a data file: comment lines and the heading left out, an empty place is NaN.
pub fn numbers(text: &str) -> Vec<Vec<f64>> {
    text.lines()
        .filter(|line| !line.starts_with('#'))
        .skip(1)
        .map(|line| {
            line.split(',')
                .map(|x| x.parse().unwrap_or(f64::NAN))
                .collect()
        })
        .collect()
}

/// Fails with both numbers unless they agree within a relative tolerance.
pub fn close(got: f64, expected: f64, tolerance: f64, what: &str) {
    assert!(
        (got / expected - 1.0).abs() <= tolerance,
        "{what}: got {got}, expected {expected}, off by {:.2e}",
        got / expected - 1.0
    );
}
