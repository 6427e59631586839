//! What no book prints of a tee: continuity, slopes, scaling, symmetry, limits, power.

use std::f64::consts::{FRAC_PI_2, PI};

use loopwright::correlation::tees::{
    SIDE_BLEND_SHARE, TeeLeg, TeeModel, TeePattern, TeeShape, TeeState, momentum_dividing_lateral,
    tee,
};

use super::{DENSITY_KG_M3, MODELS, ROUND_OFF, near, shape, shapes, swapped};

/// Inflows of size `flow` in direction `phi` of the plane of zero sum.
fn direction(phi: f64, flow: f64) -> [f64; 3] {
    [0.0, 2.0, 4.0].map(|k| flow * (phi + k * PI / 3.0).cos())
}

/// Pressure differences against leg a and their derivatives by `phi`.
fn along(model: TeeModel, shape: &TeeShape, phi: f64) -> [f64; 4] {
    let flow = 0.4;
    let state = tee(model, shape, DENSITY_KG_M3, direction(phi, flow));
    let tangent = direction(phi + FRAC_PI_2, flow);
    let slope = |i: usize| -> f64 {
        (0..3)
            .map(|j| (state.slope[i][j] - state.slope[0][j]) * tangent[j])
            .sum()
    };
    let p = state.excess_pa;
    [p[1] - p[0], p[2] - p[0], slope(1), slope(2)]
}

#[test]
fn pressures_and_slopes_are_continuous_all_round_the_circle_of_flows() {
    for model in MODELS {
        for shape in shapes(model) {
            let sweep = |n: u32| -> ([f64; 3], f64) {
                let step = 2.0 * PI / f64::from(n);
                // Off the rays by an arbitrary offset; the rays themselves lie inside steps.
                let mut before = along(model, &shape, 0.1234);
                // Largest change of value and slope in a step, error of the trapezoid, scale.
                let (mut most, mut scale) = ([0f64; 3], 0f64);
                for i in 1..=n {
                    let now = along(model, &shape, 0.1234 + step * f64::from(i));
                    for k in 0..2 {
                        let rise = now[k] - before[k];
                        let slopes = 0.5 * step * (now[k + 2] + before[k + 2]);
                        most[0] = most[0].max(rise.abs());
                        most[1] = most[1].max((now[k + 2] - before[k + 2]).abs());
                        most[2] = most[2].max((rise - slopes).abs());
                        scale = scale.max(now[k].abs());
                    }
                    before = now;
                }
                (most, scale)
            };
            let (coarse, scale) = sweep(20_000);
            let (fine, _) = sweep(40_000);
            if model == TeeModel::Lossless {
                assert_eq!((coarse, scale), ([0.0; 3], 0.0));
                continue;
            }
            println!(
                "{model:?} {shape:?}: step of value {:.1e}, of slope {:.1e}, trapezoid {:.1e}, of {scale:.3e} Pa",
                fine[0] / scale,
                fine[1] / scale,
                fine[2] / scale
            );
            // A jump would not shrink with the step.
            assert!(
                fine[0] < 0.53 * coarse[0],
                "value jumps: {model:?} {shape:?}"
            );
            assert!(
                fine[1] < 0.56 * coarse[1],
                "slope jumps: {model:?} {shape:?}"
            );
            // Where the slope stays between its values at the ends of a step, the trapezoid is
            // off by no more than half the step times their difference.
            let bound = 0.5 * 2.0 * PI / 40_000.0 * fine[1];
            assert!(
                fine[2] <= bound,
                "slope is not the value's: {model:?} {shape:?}"
            );
            assert!(fine[0] < 2e-2 * scale && fine[2] < 1e-4 * scale);
        }
    }
}

#[test]
fn slopes_agree_with_central_differences() {
    let mut worst = 0f64;
    for model in MODELS {
        for shape in shapes(model) {
            for i in 0..720 {
                // With a part off the plane of zero sum, as solver iterates have.
                let phi = 0.0031 + f64::from(i) * PI / 360.0;
                let flows = direction(phi, 0.4).map(|m| m + 0.03);
                let state = tee(model, &shape, DENSITY_KG_M3, flows);
                let scale = state
                    .slope
                    .iter()
                    .flatten()
                    .fold(1e-300f64, |m, s| m.max(s.abs()));
                for j in 0..3 {
                    let step = 2e-6 * 0.4;
                    let at = |d: f64| {
                        let mut moved = flows;
                        moved[j] += d;
                        tee(model, &shape, DENSITY_KG_M3, moved).excess_pa
                    };
                    let (up, down) = (at(step), at(-step));
                    for leg in 0..3 {
                        let difference = (up[leg] - down[leg]) / (2.0 * step);
                        let error = (difference - state.slope[leg][j]).abs() / scale;
                        worst = worst.max(error);
                        assert!(
                            error < 1e-6,
                            "{model:?} {shape:?} phi {phi} {leg}{j}: {error:.1e}"
                        );
                    }
                }
            }
        }
    }
    println!("slope against central difference: worst {worst:.1e} of the largest slope");
    assert!(worst > 0.0);
}

#[test]
fn doubling_and_tripling_the_flows_scales_the_losses_by_four_and_nine() {
    for model in MODELS {
        for shape in shapes(model) {
            for i in 0..180 {
                let flows = direction(0.01 + f64::from(i) * PI / 90.0, 0.2);
                let one = tee(model, &shape, DENSITY_KG_M3, flows);
                let two = tee(model, &shape, DENSITY_KG_M3, flows.map(|m| 2.0 * m));
                let three = tee(model, &shape, DENSITY_KG_M3, flows.map(|m| 3.0 * m));
                let scale = one.excess_pa.iter().fold(0f64, |m, p| m.max(p.abs()));
                for leg in 0..3 {
                    assert_eq!(two.excess_pa[leg], 4.0 * one.excess_pa[leg]);
                    let error = three.excess_pa[leg] - 9.0 * one.excess_pa[leg];
                    assert!(error.abs() <= 1e-12 * scale, "{error:.1e} of {scale:.1e}");
                    for j in 0..3 {
                        assert_eq!(two.slope[leg][j], 2.0 * one.slope[leg][j]);
                    }
                }
            }
        }
    }
}

#[test]
fn swapping_the_ends_and_turning_the_angle_about_mirrors_the_tee() {
    let mut worst = 0f64;
    for model in MODELS {
        for shape in shapes(model) {
            let mirror = TeeShape {
                a_area_m2: shape.b_area_m2,
                b_area_m2: shape.a_area_m2,
                angle_rad: PI - shape.angle_rad,
                ..shape
            };
            for i in 0..360 {
                let flows = direction(0.01 + f64::from(i) * PI / 180.0, 0.2);
                let p = tee(model, &shape, DENSITY_KG_M3, flows).excess_pa;
                let r = swapped(tee(model, &mirror, DENSITY_KG_M3, swapped(flows)).excess_pa);
                let scale = p.iter().fold(1e-300f64, |m, p| m.max(p.abs()));
                for leg in 0..3 {
                    worst = worst.max((p[leg] - r[leg]).abs() / scale);
                }
            }
        }
    }
    println!("mirror: worst {worst:.1e}");
    assert!(worst < ROUND_OFF);
}

#[test]
fn a_resting_side_leg_costs_the_run_nothing_and_sees_its_static_pressure() {
    for model in MODELS {
        for side in [0.4, 1.5, 3.0] {
            let shape = shape(3.0, 3.0, side, 90.0);
            for flow in [0.4, -0.37, 1e-5] {
                let state = tee(model, &shape, DENSITY_KG_M3, [flow, -flow, 0.0]);
                let p = state.excess_pa;
                // Not to a tolerance: a shut branch must equal the design without its tee.
                assert_eq!(p[0], p[1], "{model:?}");
                let head = flow * flow / (2.0 * DENSITY_KG_M3 * 9e-8);
                let heads = (p[0] - p[2]) / head;
                let wanted = match model {
                    TeeModel::Lossless => 0.0,
                    // Halfway between +1 dividing and -0.9 combining.
                    TeeModel::Handbook if side / 3.0 > 0.35 => 0.95,
                    _ => 1.0,
                };
                assert!(near(heads, wanted, ROUND_OFF), "{model:?}: {heads}");
                let (from, into) = if flow > 0.0 {
                    (TeeLeg::A, TeeLeg::B)
                } else {
                    (TeeLeg::B, TeeLeg::A)
                };
                assert_eq!(state.pattern, TeePattern::Between { from, into });
            }
        }
    }
}

#[test]
fn a_resting_side_leg_of_an_unequal_run_sees_the_same_from_both_patterns() {
    // Just in and just out of the blend the side's pressure must be nearly the same: no hidden jump.
    for model in MODELS {
        for (a, b) in [(3.0, 2.0), (2.0, 3.0), (3.0, 1.0)] {
            let shape = shape(a, b, 0.2, 90.0);
            let side = |m: f64| {
                let p = tee(model, &shape, DENSITY_KG_M3, [0.4, -0.4 - m, m]).excess_pa;
                p[2] - p[0]
            };
            let head = 0.16 / (2.0 * DENSITY_KG_M3 * (b.min(a) * 1e-4).powi(2));
            let jump = (side(0.0021) - side(-0.0021)).abs() / head;
            assert!(jump < 0.09, "{model:?} {a} to {b}: {jump}");
        }
    }
}

#[test]
fn a_turn_through_the_side_leg_costs_the_same_from_both_neighbours() {
    // End b at rest: dividing from a into the side meets combining into the side, and there the
    // published dividing form holds to the last digit, whatever the angle.
    for angle_deg in [40.0, 90.0, 140.0] {
        let shape = shape(3.0, 3.0, 1.5, angle_deg);
        let p = tee(TeeModel::Momentum, &shape, DENSITY_KG_M3, [0.3, 0.0, -0.3]).excess_pa;
        let head = 0.09 / (2.0 * DENSITY_KG_M3 * 9e-8);
        let k = momentum_dividing_lateral(2.0, shape.angle_rad);
        assert!(near((p[0] - p[2]) / head, k, ROUND_OFF));
    }
}

#[test]
fn a_gentle_turn_costs_less_than_a_sharp_one_in_every_direction() {
    // The side leg leans towards b: flow between a and the side turns by 30 degrees only.
    let shape = shape(3.0, 3.0, 2.0, 30.0);
    let loss = |flows: [f64; 3], from: usize, to: usize| {
        let p = tee(TeeModel::Momentum, &shape, DENSITY_KG_M3, flows).excess_pa;
        p[from] - p[to]
    };
    assert!(loss([1.0, -0.5, -0.5], 0, 2) < loss([-0.5, 1.0, -0.5], 1, 2));
    assert!(loss([-1.0, 0.5, 0.5], 2, 0) < loss([0.5, -1.0, 0.5], 2, 1));
    assert!(loss([-0.5, -0.5, 1.0], 2, 0) < loss([-0.5, -0.5, 1.0], 2, 1));
    assert!(loss([0.5, 0.5, -1.0], 0, 2) < loss([0.5, 0.5, -1.0], 1, 2));
}

/// Power lost in the tee over the datum's head times its volume flow.
fn lost_heads(state: &TeeState, flows: [f64; 3], area_m2: [f64; 3]) -> f64 {
    let power: f64 = (0..3).map(|i| flows[i] * state.excess_pa[i]).sum();
    let d = (0..3)
        .max_by(|&i, &j| flows[i].abs().total_cmp(&flows[j].abs()))
        .expect("three legs");
    power * 2.0 * DENSITY_KG_M3 * area_m2[d].powi(2) / flows[d].abs().powi(3)
}

#[test]
fn the_momentum_tee_at_90_degrees_makes_power_nowhere_but_in_the_blend_of_a_resting_side_leg() {
    // Not clamped, only known: K in heads of the datum, over every direction of flow.
    for side in [0.3, 0.75, 1.5, 3.0] {
        let shape = shape(3.0, 3.0, side, 90.0);
        let areas = TeeLeg::ALL.map(|leg| shape.area_m2(leg));
        let (mut least, mut where_least) = (f64::INFINITY, [0.0; 3]);
        let mut negative = [f64::INFINITY, f64::NEG_INFINITY];
        for i in 0..36_000 {
            let flows = direction(0.00001 + f64::from(i) * PI / 18_000.0, 1.0);
            let state = tee(TeeModel::Momentum, &shape, DENSITY_KG_M3, flows);
            let lost = lost_heads(&state, flows, areas);
            if lost < least {
                (least, where_least) = (lost, flows);
            }
            if lost < -1e-9 {
                let largest = flows.iter().fold(0f64, |m, f| m.max(f.abs()));
                let smallest = flows.iter().fold(largest, |m, f| m.min(f.abs()));
                negative = [
                    negative[0].min(smallest / largest),
                    negative[1].max(smallest / largest),
                ];
            }
        }
        println!(
            "side {side}: least {least:.5} heads at {where_least:.4?}, negative for smallest share {negative:.4?}"
        );
        // Of the datum's head: a pattern continued a little beyond its own sector.
        assert!(least > -1e-4, "side area {side}: {least}");
        assert!(negative[1] < SIDE_BLEND_SHARE);
    }
}
