//! The points by which sweeps sample, against SciPy's Sobol sequence on the direction numbers of Joe and Kuo (2008),
//! Constructing Sobol sequences with better two-dimensional projections, SIAM J. Sci. Comput. 30, 2635-2654.

use super::table::numbers;
use loopwright::study::sweep::{SOBOL_DIMENSIONS, sobol};

#[test]
fn every_coordinate_is_that_of_the_published_sequence() {
    let rows = numbers(include_str!("data/joe2008_sobol.csv"));
    assert_eq!(rows.len(), 64);
    for row in rows {
        let point = row[0] as usize;
        assert_eq!(row.len(), 1 + SOBOL_DIMENSIONS);
        for (d, expected) in row[1..].iter().enumerate() {
            // Binary fractions: exact.
            assert_eq!(
                sobol(point, d),
                Some(*expected),
                "point {point}, dimension {d}"
            );
        }
    }
}

/// Property of the sequence (Joe and Kuo, section 2): of the first 2^m points each interval of length 2^-m holds one.
#[test]
fn the_first_points_of_a_power_of_two_fill_every_interval_once() {
    for d in 0..SOBOL_DIMENSIONS {
        let mut places: Vec<usize> = (0..1024)
            .map(|k| (sobol(k, d).expect("within") * 1024.0) as usize)
            .collect();
        places.sort_unstable();
        assert_eq!(places, (0..1024).collect::<Vec<_>>(), "dimension {d}");
    }
}
