//! First designs: what `new` writes solves, and meets the limits that it states, as it is.

use loopwright::design::{Source, Stock};
use loopwright::quantity::UnitFamily;
use loopwright::starter::{StockList, Wish, WishError, WishedLoop, bench, header, vehicle};
use loopwright::study::{Verdict, check};

fn verdict(text: &str) -> Option<Verdict> {
    let source = Source::read(text).expect("a starter is well formed");
    check::run(&source.design, &[])
        .expect("a starter makes a network")
        .verdict()
}

fn wish(modules: u32, boxes: u32, units: UnitFamily) -> Wish {
    Wish {
        modules,
        boxes,
        units,
        ..Wish::default()
    }
}

#[test]
fn vehicles_of_one_to_sixty_modules_meet_their_own_limits_in_both_unit_families() {
    for modules in [1, 2, 3, 5, 8, 12, 14, 25, 41, 60] {
        for boxes in [1, 2, 3, 4, 8] {
            if boxes > modules {
                continue;
            }
            for units in [UnitFamily::Metric, UnitFamily::Us] {
                let text = vehicle(&wish(modules, boxes, units)).expect("within the limits");
                assert_eq!(
                    verdict(&text),
                    Some(Verdict::Provisional),
                    "{modules} modules in {boxes} boxes, {units:?}"
                );
            }
        }
    }
}

#[test]
fn one_loop_alone_is_a_vehicle_too() {
    for only in [WishedLoop::Battery, WishedLoop::Drive] {
        let text = vehicle(&Wish {
            loops: vec![only],
            ..Wish::default()
        })
        .expect("one loop is allowed");
        assert_eq!(verdict(&text), Some(Verdict::Provisional), "{only:?}");
    }
}

#[test]
fn bench_designs_meet_their_own_limits() {
    for units in [UnitFamily::Metric, UnitFamily::Us] {
        assert_eq!(verdict(&bench(units)), Some(Verdict::Provisional));
        for modules in [1, 4, 8, 16, 30, 60] {
            let text = header(modules, units).expect("within the limits");
            assert_eq!(
                verdict(&text),
                Some(Verdict::Provisional),
                "{modules} modules, {units:?}"
            );
        }
    }
}

#[test]
fn every_pump_module_device_and_radiator_of_a_starter_is_a_placeholder() {
    let text = vehicle(&Wish::default()).expect("the default is allowed");
    let design: serde_json::Value = serde_json::from_str(&text).expect("JSON");
    let records = |key: &str| -> Vec<&serde_json::Value> {
        design[key].as_object().expect("records").values().collect()
    };
    let of_kind = |kind: &str| -> Vec<&serde_json::Value> {
        let loops = records("loops").into_iter();
        let parts = loops.flat_map(|l| l["parts"].as_object().expect("parts").values());
        parts.filter_map(|part| part.get(kind)).collect()
    };
    let (pumps, plates) = (of_kind("pump"), of_kind("plate"));
    assert_eq!((pumps.len(), plates.len()), (2, 3));
    let invented = [records("modules"), records("radiators"), pumps, plates];
    for record in invented.concat() {
        assert_eq!(record["origin"], "placeholder", "{record}");
    }
}

#[test]
fn wishes_beyond_the_limits_are_refused_with_number_and_limit() {
    assert_eq!(
        vehicle(&wish(0, 1, UnitFamily::Metric)),
        Err(WishError::Modules(0))
    );
    assert_eq!(
        vehicle(&wish(61, 1, UnitFamily::Metric)),
        Err(WishError::Modules(61))
    );
    let empty = vehicle(&wish(2, 3, UnitFamily::Metric)).expect_err("a box would be empty");
    assert!(
        empty.to_string().contains("3 boxes for 2 modules"),
        "{empty}"
    );
    assert_eq!(
        vehicle(&Wish {
            loops: vec![],
            ..Wish::default()
        }),
        Err(WishError::NoLoop)
    );
}

#[test]
fn stock_lists_hold_what_is_sized_from_them() {
    for list in [StockList::Pumps, StockList::Hoses, StockList::Headers] {
        let stock = Stock::read(list.text()).expect("a stock list is well formed");
        let held = match list {
            StockList::Pumps => stock.pumps.len(),
            StockList::Hoses => stock.hoses.len(),
            StockList::Headers => stock.headers.len(),
        };
        assert!(held >= 5, "{list:?}: {held}");
    }
}
