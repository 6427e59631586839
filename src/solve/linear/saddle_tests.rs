use super::super::pattern::MOST_FLAT;
use super::*;

/// A pump without a slope before a ladder of `rungs` to a stated pressure; more nodes than are eliminated by a list.
fn flat_pump_and_ladder(rungs: usize) -> Saddle {
    let node = |k: usize| k as u32;
    let mut ends = vec![[NO_PLACE, 0]];
    let mut pivots = vec![Pivot::Weak];
    for k in 0..rungs {
        ends.push([node(k), NO_PLACE]);
        if k + 1 < rungs {
            ends.push([node(k), node(k + 1)]);
        }
    }
    pivots.resize(ends.len(), Pivot::Loss);
    let mut saddle = Saddle::new(SaddleShape {
        ends: ends.clone(),
        free: rungs,
        pivots,
        ties: Vec::new(),
    });
    saddle.set_branch(0, -0.0, 1.0);
    for (j, &[_, to]) in ends.iter().enumerate().skip(1) {
        let own = if to == NO_PLACE { -200.0 } else { -1.0e-3 };
        saddle.set_branch(j, own * (1.0 + (j % 7) as f64), 1.0);
    }
    saddle
}

/// The outside reference is the definition: a right-hand side made from a solution leads back to it.
#[test]
fn a_pump_without_a_slope_in_a_large_network_needs_no_pivoting() {
    const RUNGS: usize = MOST_FLAT + 1_000;
    let mut saddle = flat_pump_and_ladder(RUNGS);
    let branches = saddle.own.len();
    let wanted: Vec<f64> = (0..branches + RUNGS)
        .map(|k| (0.1 * k as f64).sin())
        .collect();
    saddle.misfit(&wanted, &vec![0.0; branches + RUNGS]);
    let mut x: Vec<f64> = saddle.misfit.iter().map(|v| -v).collect();
    assert_eq!(saddle.factorise(), Ok(()));
    assert_eq!(saddle.solve(&mut x, EXACT), Ok(()));
    assert!(saddle.fallback.is_none(), "the pivoting LU was asked");
    assert_eq!(saddle.factorisations(), 1);
    // A residual of 1e-9 of some 1e3, over the least slope of 1e-3, leaves a flow open by 1e-3; it was refined once, and is
    // closer than that.
    let off = x.iter().zip(&wanted).map(|(a, b)| (a - b).abs());
    let off = off.fold(0.0, f64::max);
    assert!(off < 1e-4, "{off}");
}
