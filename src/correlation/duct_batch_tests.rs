//! Ducts in lanes against ducts one at a time.

use super::super::duct::duct_drop_pa;
use super::super::friction::FrictionModel;
use super::*;

/// Agreement with the law for one duct: round-off of sixteenth powers.
const AGREES: f64 = 1e-12;

fn ducts(entrance: EntranceFriction) -> Vec<DuctShape> {
    let mut all = Vec::new();
    for laminar_constant in [50.0, 56.908, 64.0, 76.0, 96.0, 110.0] {
        for roughness in [0.0, 1e-6, 1e-3, 0.05, 0.7] {
            for length_ratio in [0.3, 20.0, 2000.0] {
                all.push(DuctShape {
                    area_m2: 1e-4,
                    hydraulic_diameter_m: 0.01,
                    length_m: 0.01 * length_ratio,
                    roughness_m: 0.01 * roughness,
                    laminar_constant,
                    parallel: 2.0,
                    model: FrictionModel::Churchill,
                    entrance,
                });
            }
        }
    }
    all
}

/// Compared with `powf`, `ln` and `cbrt` of the standard library in `duct_drop_pa`.
#[test]
fn every_instruction_set_agrees_with_the_law_for_one_duct() {
    for entrance in [EntranceFriction::On, EntranceFriction::Off] {
        let shapes = ducts(entrance);
        let mut batch = DuctBatch::new(entrance);
        for (k, shape) in shapes.iter().enumerate() {
            batch.push(k as u32, shape, 1000.0, 1e-3);
        }
        batch.finish();
        assert_eq!(batch.len(), 90);
        for set in [
            InstructionSet::Best,
            InstructionSet::FourLanes,
            InstructionSet::Plain,
        ] {
            for step in 0..=1000 {
                // Re 0.01 to 1e12.
                let flow = 2e-5 * 10f64.powf(-2.0 + 14.0 * f64::from(step) / 1000.0);
                let flow = if step % 2 == 0 { flow } else { -flow };
                let flows = vec![flow / 0.3; shapes.len()];
                let (mut drop_pa, mut slope) = (vec![0.0; shapes.len()], vec![0.0; shapes.len()]);
                let sums = DuctSums {
                    flow: &flows,
                    unit_kg_s: 0.3,
                    drop_pa: &mut drop_pa,
                    slope_pa_s_kg: &mut slope,
                };
                batch.add_drops(set, sums);
                for (k, shape) in shapes.iter().enumerate() {
                    let (one, one_slope, re) = duct_drop_pa(flows[k] * 0.3, 1000.0, 1e-3, shape);
                    assert!(
                        (drop_pa[k] / one - 1.0).abs() < AGREES
                            && (slope[k] / one_slope - 1.0).abs() < AGREES,
                        "{set:?} {entrance:?} re {re}: {} {one}, {} {one_slope}, {shape:?}",
                        drop_pa[k],
                        slope[k]
                    );
                }
            }
        }
    }
}

#[test]
fn rest_and_huge_flows_stay_finite_and_ducts_of_one_place_add_up() {
    for entrance in [EntranceFriction::On, EntranceFriction::Off] {
        let mut batch = DuctBatch::new(entrance);
        let shapes = ducts(entrance);
        for shape in &shapes[..3] {
            batch.push(1, shape, 1000.0, 1e-3);
        }
        batch.finish();
        for flow in [0.0, 1e-300, 1e-30, 1e20] {
            let (mut drop_pa, mut slope) = ([0.0; 2], [0.0; 2]);
            let sums = DuctSums {
                flow: &[3.0, flow],
                unit_kg_s: 1.0,
                drop_pa: &mut drop_pa,
                slope_pa_s_kg: &mut slope,
            };
            batch.add_drops(InstructionSet::Best, sums);
            let (mut wanted, mut wanted_slope) = (0.0, 0.0);
            for shape in &shapes[..3] {
                let (one, one_slope, _) = duct_drop_pa(flow, 1000.0, 1e-3, shape);
                wanted += one;
                wanted_slope += one_slope;
            }
            assert_eq!((drop_pa[0], slope[0]), (0.0, 0.0));
            assert!((drop_pa[1] - wanted).abs() <= AGREES * wanted, "{flow}");
            assert!((slope[1] - wanted_slope).abs() <= AGREES * wanted_slope);
        }
    }
}
