//! What is to be cut, drilled and clamped: hoses, tails, headers with the places of their spigots, fittings by size.
//! It counts what the network holds; it solves nothing.

use crate::correlation::SectionShape;
use crate::design::Design;
use crate::network::{BankMap, Loop, Network};
use crate::part::{Bank, Fitting, Part, Side};

/// Clamps on each end of a hose that is pushed onto a spigot (common practice, no source; one is used too).
pub const CLAMPS_PER_JOINT: u32 = 2;
/// Step of metric drills, m.
const DRILL_STEP_M: f64 = 0.1e-3;
/// Step of drills in fractions of an inch, m: 1/64 in.
const DRILL_STEP_IN_M: f64 = 0.0254 / 64.0;

/// Equal lengths of hose to cut.
#[derive(Clone, Debug, PartialEq)]
pub struct HoseCut {
    /// The loop.
    pub owner: String,
    /// The part, or for tails the bank and which tail.
    pub id: String,
    /// How many of this length.
    pub count: u32,
    /// Inside diameter (hydraulic, where the passage is not round), m.
    pub bore_m: f64,
    /// Length of one, m.
    pub length_m: f64,
}

/// Hose of one bore in all.
#[derive(Clone, Debug, PartialEq)]
pub struct HoseStock {
    /// Inside diameter, m.
    pub bore_m: f64,
    /// Length of all cuts together, m.
    pub length_m: f64,
    /// Pieces.
    pub pieces: u32,
    /// Clamps: two on each end.
    pub clamps: u32,
}

/// Equal fittings.
#[derive(Clone, Debug, PartialEq)]
pub struct FittingCount {
    /// Words for its kind.
    pub kind: &'static str,
    /// Inside diameter of the hose it stands on, m.
    pub hose_bore_m: f64,
    /// Its own bore, where it has one, m.
    pub bore_m: Option<f64>,
    /// How many.
    pub count: u32,
}

/// A header tube to cut and drill.
#[derive(Clone, Debug, PartialEq)]
pub struct HeaderCut {
    /// The loop.
    pub owner: String,
    /// The bank.
    pub bank: String,
    /// Supply or return.
    pub side: Side,
    /// Inside at its near end.
    pub inside: SectionShape,
    /// Inside length, m.
    pub length_m: f64,
    /// Distance of each spigot from the near end, m.
    pub ports_m: Vec<f64>,
    /// Bore of a spigot, m.
    pub port_bore_m: f64,
    /// Hole for a spigot: its outside diameter, m.
    pub hole_m: f64,
    /// Drill for the hole: the next tenth of a millimetre, m.
    pub drill_m: f64,
    /// Drill for the hole in 64ths of an inch: the next that is not smaller.
    pub drill_64ths: u32,
    /// Whether the outside diameter of the spigots was stated; else it is their bore and 3 mm.
    pub hole_is_stated: bool,
}

/// Everything to cut.
#[derive(Clone, Debug, PartialEq)]
pub struct CutList {
    /// Hoses, then tails.
    pub hoses: Vec<HoseCut>,
    /// Hose to buy, by bore.
    pub stock: Vec<HoseStock>,
    /// Fittings, by kind and size.
    pub fittings: Vec<FittingCount>,
    /// Headers.
    pub headers: Vec<HeaderCut>,
}

/// The cut list of a design and the network made of it.
pub fn run(design: &Design, network: &Network) -> CutList {
    let mut hoses = Vec::new();
    let mut headers = Vec::new();
    for circuit in network.loops() {
        cuts(circuit, &mut hoses);
        let parts = design.loops.get(&circuit.name).map(|l| &l.parts);
        for map in &circuit.banks {
            if let Some(Part::Bank(bank)) = parts.and_then(|p| p.get(&map.name)) {
                headers.extend(headers_of(&circuit.name, bank, map));
            }
        }
    }
    CutList {
        stock: stock(&hoses),
        fittings: fittings(design, network),
        hoses,
        headers,
    }
}

/// Which tail an element is, by its name; none for a hose with a name of its own.
fn tail(id: &str) -> Option<(&str, &'static str)> {
    let (bank, rest) = id.split_once(".module ")?;
    let word = match rest.rsplit_once('.').map(|r| r.1) {
        Some("supply tail") => "supply tails",
        Some("return tail") => "return tails",
        Some("link") => "links",
        _ => "tails",
    };
    Some((bank, word))
}

fn cuts(circuit: &Loop, hoses: &mut Vec<HoseCut>) {
    let first = hoses.len();
    for element in circuit.net.elements.iter().filter(|e| e.kind == "hose") {
        let Some(passage) = element.passage else {
            continue;
        };
        let name = element.id.as_str();
        let id = tail(name).map_or(name.to_owned(), |(bank, word)| format!("{bank}, {word}"));
        let same = |h: &&mut HoseCut| {
            h.id == id && h.bore_m == passage.diameter_m && h.length_m == element.length_m
        };
        match hoses[first..].iter_mut().find(same) {
            Some(known) => known.count += 1,
            None => hoses.push(HoseCut {
                owner: circuit.name.clone(),
                id,
                count: 1,
                bore_m: passage.diameter_m,
                length_m: element.length_m,
            }),
        }
    }
}

fn stock(hoses: &[HoseCut]) -> Vec<HoseStock> {
    let mut list: Vec<HoseStock> = Vec::new();
    for hose in hoses {
        let metres = hose.length_m * f64::from(hose.count);
        let clamps = 2 * CLAMPS_PER_JOINT * hose.count;
        match list.iter_mut().find(|s| s.bore_m == hose.bore_m) {
            Some(known) => {
                known.length_m += metres;
                known.pieces += hose.count;
                known.clamps += clamps;
            }
            None => list.push(HoseStock {
                bore_m: hose.bore_m,
                length_m: metres,
                pieces: hose.count,
                clamps,
            }),
        }
    }
    list.sort_by(|a, b| a.bore_m.total_cmp(&b.bore_m));
    list
}

fn fittings(design: &Design, network: &Network) -> Vec<FittingCount> {
    let mut list: Vec<FittingCount> = Vec::new();
    for circuit in network.loops() {
        let Some(record) = design.loops.get(&circuit.name) else {
            continue;
        };
        for (name, part) in &record.parts {
            match part {
                Part::Hose(hose) => {
                    let bore = hose.conduit().map(|c| c.shape.hydraulic_diameter_m());
                    count(&mut list, &hose.fittings, bore.unwrap_or(0.0), 1);
                }
                Part::Bank(bank) => {
                    let ports = circuit.banks.iter().find(|b| b.name == *name);
                    let branches = ports.map_or(0, |b| b.supply_tees.len()) as u32;
                    let tails = [bank.tail_of(Side::Supply), bank.tail_of(Side::Return)];
                    for tail in tails.into_iter().flatten().flatten() {
                        count(&mut list, &tail.fittings, tail.bore.m(), branches);
                    }
                }
                _ => {}
            }
        }
    }
    list.sort_by(|a, b| {
        a.kind
            .cmp(b.kind)
            .then(a.hose_bore_m.total_cmp(&b.hose_bore_m))
    });
    list
}

fn count(list: &mut Vec<FittingCount>, fittings: &[Fitting], hose_bore_m: f64, times: u32) {
    for fitting in fittings {
        let (kind, bore_m, number) = match fitting {
            Fitting::Elbow90(c) => ("elbow, 90 degrees", None, c.count),
            Fitting::LongElbow90(c) => ("long elbow, 90 degrees", None, c.count),
            Fitting::Elbow45(c) => ("elbow, 45 degrees", None, c.count),
            Fitting::Mitre90(c) => ("mitred corner", None, c.count),
            Fitting::Barb(b) => ("barb", Some(b.bore.m()), b.count),
            Fitting::ReducerTo(b) => ("reducer", Some(b.bore.m()), b.count),
            Fitting::Loss(l) => ("fitting with a stated loss", None, l.count),
            // An entrance or an exit is a place, nothing to buy.
            _ => continue,
        };
        let number = number.unwrap_or(1) * times;
        let same = |f: &&mut FittingCount| {
            f.kind == kind && f.hose_bore_m == hose_bore_m && f.bore_m == bore_m
        };
        match list.iter_mut().find(same) {
            Some(known) => known.count += number,
            None => list.push(FittingCount {
                kind,
                hose_bore_m,
                bore_m,
                count: number,
            }),
        }
    }
}

fn headers_of(owner: &str, bank: &Bank, map: &BankMap) -> Vec<HeaderCut> {
    [Side::Supply, Side::Return]
        .into_iter()
        .enumerate()
        .filter_map(|(k, side)| {
            let header = bank.header_of(side).ok()?;
            let hole_m = bank.port_outside_m(side).ok()?;
            Some(HeaderCut {
                owner: owner.to_owned(),
                bank: map.name.clone(),
                side,
                inside: header.shape_at(0, 0.0).ok()?,
                length_m: map.header_length_m[k],
                ports_m: map.ports_at_m[k].clone(),
                port_bore_m: bank.port_bore_m(side).ok()?,
                hole_m,
                drill_m: next_step(hole_m, DRILL_STEP_M) as f64 * DRILL_STEP_M,
                drill_64ths: next_step(hole_m, DRILL_STEP_IN_M),
                hole_is_stated: bank.port_outside.is_some(),
            })
        })
        .collect()
}

/// The number of steps that is not less than a size; round-off does not make it the next one.
fn next_step(size_m: f64, step_m: f64) -> u32 {
    (size_m / step_m - 1e-6).ceil().max(0.0) as u32
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::design::Source;

    fn bookmobile() -> CutList {
        let text = include_str!("../../networks/bookmobile.json");
        let design = Source::read(text).expect("a design").design;
        let network = Network::build(&design).expect("a network");
        run(&design, &network)
    }

    #[test]
    fn the_cut_list_of_the_bookmobile_counted_by_hand() {
        let list = bookmobile();
        // 16 modules of two circuits: 32 supply and 32 return tails of 0.35 m; no hose besides has 8 mm.
        let tails = list.stock.iter().find(|s| s.bore_m == 0.008).expect("8 mm");
        assert_eq!((tails.pieces, tails.clamps), (64, 256));
        assert!((tails.length_m - 22.4).abs() < 1e-9);
        // feed 1.4, return 1.8, suction 0.6 m of 19 mm.
        let wide = list
            .stock
            .iter()
            .find(|s| s.bore_m == 0.019)
            .expect("19 mm");
        assert_eq!(wide.pieces, 3);
        assert!((wide.length_m - 3.8).abs() < 1e-9);
        // Tail barbs: 2 on each of 64 tails.
        let barbs = list
            .fittings
            .iter()
            .find(|f| f.kind == "barb" && f.bore_m == Some(0.006));
        assert_eq!(barbs.map(|f| f.count), Some(128));
        // 9 modules of two circuits: 18 spigots 45 mm apart from 45 mm on, as much beyond the last.
        let header = &list.headers[0];
        assert_eq!((header.bank.as_str(), header.ports_m.len()), ("mid", 18));
        assert!((header.ports_m[17] - 0.81).abs() < 1e-9 && (header.length_m - 0.855).abs() < 1e-9);
    }

    #[test]
    fn a_drill_is_the_next_size_that_is_not_smaller() {
        // 11 mm: drill 11.0 mm; 7/16 in = 11.11 mm is 28/64, 27/64 in = 10.72 mm is too small.
        assert_eq!(next_step(0.011, DRILL_STEP_M), 110);
        assert_eq!(next_step(0.011, DRILL_STEP_IN_M), 28);
        assert_eq!(next_step(0.0254 / 4.0, DRILL_STEP_IN_M), 16);
    }
}
