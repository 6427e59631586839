//! Radiator cores: how the streams meet, and faces of fins from their geometry.

use super::table::{close, numbers};
use loopwright::correlation::{CoreStreams, core_conductance_w_k, core_effectiveness};
use loopwright::fluid::Properties;
use loopwright::part::{LouvredFins, PlainFins, TwoTerm};
use loopwright::quantity::{Angle, Length};

/// Air of `scripts/cores.py`.
const AIR: Properties = Properties {
    density_kg_m3: 1.145,
    viscosity_pa_s: 1.895e-5,
    specific_heat_j_kg_k: 1006.0,
    conductivity_w_m_k: 0.0262,
};

#[test]
fn every_arrangement_of_a_core_agrees_with_the_library_and_with_chained_passes() {
    // ht 1.2.0 at 1e-8 of the effectiveness: its quadrature of the unmixed crossflow is the larger error.
    let rows = numbers(include_str!("data/derived_core_streams.csv"));
    assert_eq!(rows.len(), 16);
    let passes = |passes| CoreStreams::CounterflowPasses { passes };
    let columns = [
        CoreStreams::AirMixed,
        CoreStreams::CoolantMixed,
        passes(2),
        passes(3),
        passes(6),
    ];
    for row in rows {
        for (streams, expected) in columns.iter().zip(&row[3..]) {
            let got = core_effectiveness(*streams, row[0], row[1], row[2]);
            assert!((got - expected).abs() < 1e-8, "{streams:?} {row:?}: {got}");
        }
    }
}

#[test]
fn a_rating_of_a_car_radiator_gives_the_printed_conductance() {
    // Cengel, Heat and Mass Transfer, ex. 11.6 [R2]: water 0.6 kg/s, cp 4195, 90 -> 65 degC, air 20 -> 40 degC, 40 tubes
    // of 5 mm x 0.65 m; printed 3347 W/(m2 K) with F read as 0.97. Model: 0.2 %, a chart reading of F; the exact
    // series gives 3345.857.
    let water: f64 = 0.6 * 4195.0;
    let heat = water * 25.0;
    let air = heat / 20.0;
    let overall = core_conductance_w_k(
        CoreStreams::BothUnmixed,
        heat / (air.min(water) * 70.0),
        water,
        air,
    )
    .expect("reachable");
    let area = 40.0 * std::f64::consts::PI * 5e-3 * 0.65;
    close(overall / area, 3347.0, 2e-3, "printed");
    close(overall / area, 3345.857, 2e-7, "series");
}

#[test]
fn faces_of_fins_agree_with_a_count_of_their_own() {
    // scripts/cores.py [C]: areas counted piece by piece, formulas written again; round-off.
    let mm = |v: f64| Length::from_m(v * 1e-3);
    let louvred = LouvredFins {
        fin_pitch: mm(1.4),
        fin_thickness: mm(0.08),
        fin_depth: None,
        tube_thickness: mm(2.0),
        tube_depth: mm(27.0),
        louvre_angle: Angle::from_rad(27f64.to_radians()),
        louvre_pitch: mm(1.2),
        louvre_length: mm(6.8),
        conductivity: None,
    };
    let plain = PlainFins {
        fin_pitch: mm(1.4),
        fin_thickness: mm(0.08),
        fin_depth: None,
        tube_thickness: mm(2.0),
        tube_depth: mm(27.0),
        conductivity: None,
    };
    let louvred = louvred.face(10e-3, 1.5e-3).expect("room for air");
    let plain = plain.face(10e-3, 1.5e-3).expect("room for air");
    let face_m2 = 0.17;
    for row in numbers(include_str!("data/derived_fin_faces.csv")) {
        let u = row[0];
        let heat = louvred.heat(u, face_m2, &AIR);
        close(heat.conductance_w_k / face_m2, row[1], 1e-12, "louvred");
        close(heat.fin_efficiency.unwrap_or(0.0), row[2], 1e-12, "its fin");
        let flow = AIR.density_kg_m3 * u * face_m2;
        let drop: f64 = louvred
            .laws(face_m2, 0.0)
            .iter()
            .map(|law| law.drop(flow, &AIR).drop_pa)
            .sum();
        close(drop, row[3], 1e-12, "drop");
        let heat = plain.heat(u, face_m2, &AIR);
        close(heat.conductance_w_k / face_m2, row[4], 1e-12, "plain");
        close(heat.fin_efficiency.unwrap_or(0.0), row[5], 1e-12, "its fin");
        let own: f64 = plain
            .laws(face_m2, 0.0)
            .iter()
            .map(|law| law.drop(flow, &AIR).drop_pa)
            .sum();
        // Without louvres the drop is smaller, but more than the edges alone.
        let edges = TwoTerm::symmetric(0.0, 0.5 * plain.channels.edge_loss() / face_m2.powi(2));
        let bare = loopwright::part::Law::TwoTerm(edges)
            .drop(flow, &AIR)
            .drop_pa;
        assert!(own < drop && own > bare, "{own} {drop}");
    }
}

#[test]
fn the_laws_of_fins_are_smooth_and_steep_at_rest() {
    let mm = |v: f64| Length::from_m(v * 1e-3);
    let plain = PlainFins {
        fin_pitch: mm(1.8),
        fin_thickness: mm(0.1),
        fin_depth: None,
        tube_thickness: mm(2.0),
        tube_depth: mm(32.0),
        conductivity: None,
    };
    let louvred = LouvredFins {
        fin_pitch: mm(1.8),
        fin_thickness: mm(0.1),
        fin_depth: None,
        tube_thickness: mm(2.0),
        tube_depth: mm(32.0),
        louvre_angle: Angle::from_rad(0.45),
        louvre_pitch: mm(1.4),
        louvre_length: mm(7.0),
        conductivity: None,
    };
    let faces = [
        plain.face(11e-3, 1.5e-3).expect("room for air"),
        louvred.face(11e-3, 1.5e-3).expect("room for air"),
    ];
    for face in &faces {
        let laws = face.laws(0.2, 3.0);
        let at = |m: f64| {
            laws.iter().fold((0.0, 0.0), |(d, s), law| {
                let one = law.drop(m, &AIR);
                (d + one.drop_pa, s + one.slope_pa_s_kg)
            })
        };
        assert!(at(0.0).0 == 0.0 && at(0.0).1 > 0.0);
        let mut last = 0.0;
        for k in 1..600 {
            let m = 5.037e-3 * f64::from(k);
            let h = 1e-6 * m;
            let difference = (at(m + h).0 - at(m - h).0) / (2.0 * h);
            assert!((at(m).1 / difference - 1.0).abs() < 1e-5, "{m}");
            assert!((at(-m).0 + at(m).0).abs() < 1e-12 * at(m).0);
            assert!(at(m).0 > last);
            last = at(m).0;
        }
        // Heat rises with the air, too.
        let mut last = 0.0;
        for k in 1..200 {
            let now = face.heat(0.05 * f64::from(k), 0.2, &AIR).conductance_w_k;
            assert!(now > last);
            last = now;
        }
    }
}
