//! Which header tube from a stock list: every section with every layout and port bore, flows alone warm and cold, and
//! every steady case with its heat. All are tried, so the smallest that holds the limits is the smallest there is.

use crate::design::{Design, Stock, StockHeader};
use crate::network::{Case, Network};
use crate::part::{Header, Layout, Part};
use crate::quantity::Length;
use crate::solve::{Carried, Solver};
use crate::study::error::StudyError;
use crate::study::judged::steady_cases;
use crate::study::layout::LAYOUTS;
use crate::study::spell::{Spell, spell};
use std::f64::consts::PI;

/// Flow deviation to hold where the design states none (common practice, no source).
pub const COMMON_DEVIATION: f64 = 0.10;
/// Density of the tube where none is stated, kg/m3: aluminium (from memory).
const ALUMINIUM_KG_M3: f64 = 2700.0;
/// Temperature at which coolant is weighed, K.
const WEIGHED_K: f64 = 293.15;

/// What to size.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct HeaderQuestion {
    /// The bank, as `loop.bank` (default: the only one).
    pub bank: Option<String>,
    /// Port bores to try, m (default: those of the list, or else the design's own).
    pub port_bores_m: Vec<f64>,
    /// Cold coolant, K (default -20 degC, or 3 K above freezing).
    pub cold_k: Option<f64>,
    /// Warm coolant, K (default 50 degC).
    pub warm_k: Option<f64>,
    /// Only these cases (default: all steady ones).
    pub cases: Vec<String>,
}

/// What a header does.
#[derive(Clone, Debug, PartialEq)]
pub struct HeaderFigures {
    /// Largest of `|flow/mean - 1|`, cold.
    pub cold_deviation: f64,
    /// The same, warm.
    pub warm_deviation: f64,
    /// Loss of the bank, cold, Pa.
    pub cold_drop_pa: f64,
    /// Loss of the bank, warm, Pa.
    pub warm_drop_pa: f64,
    /// Hottest less coldest module of the bank, worst steady case with heat, K.
    pub spread_k: Option<f64>,
    /// Coolant in both headers, m3.
    pub volume_m3: f64,
    /// Mass of both tubes and their coolant, kg; the coolant's alone where the wall is not known.
    pub mass_kg: f64,
}

/// One section, layout and port bore.
#[derive(Clone, Debug, PartialEq)]
pub struct HeaderTrial {
    /// Name in the stock list.
    pub name: String,
    /// Where the return header is drawn off.
    pub layout: Layout,
    /// Port bore, m.
    pub port_bore_m: f64,
    /// What it does, or why it cannot be built or solved.
    pub outcome: Result<HeaderFigures, String>,
    /// The limits are held.
    pub fits: bool,
}

/// Every header of the list.
#[derive(Clone, Debug, PartialEq)]
pub struct HeaderAnswer {
    /// The loop.
    pub owner: String,
    /// The bank.
    pub bank: String,
    /// Cold and warm coolant, K.
    pub range_k: (f64, f64),
    /// Flow deviation to hold, and whether the design states it.
    pub deviation: (f64, bool),
    /// Kelvin spread to hold, where the design states it.
    pub spread_k: Option<f64>,
    /// The design's own header.
    pub own: Option<HeaderFigures>,
    /// Every trial: those that fit by mass, then the rest by their larger deviation, then what cannot be.
    pub trials: Vec<HeaderTrial>,
    /// Cases in time, which are not compared.
    pub in_time: Vec<String>,
    /// Parts, modules and radiators whose numbers are placeholders.
    pub placeholders: Vec<String>,
}

impl HeaderAnswer {
    /// The smallest that holds the limits.
    pub fn best(&self) -> Option<&HeaderTrial> {
        self.trials.first().filter(|t| t.fits)
    }

    /// Whether any header has figures.
    pub fn is_answered(&self) -> bool {
        self.trials.iter().any(|t| t.outcome.is_ok())
    }
}

/// Tries every header of the list.
///
/// # Errors
/// [`StudyError`] where the question names nothing, the list holds no header, or the design makes no network.
///
/// ```
/// use loopwright::{design::{Source, Stock}, study::size::header::{self, HeaderQuestion}};
/// let design = Source::read(include_str!("../../../networks/header-same-end.json")).unwrap().design;
/// let stock = Stock::read(r#"{ "format": 1, "title": "one", "headers": {
///   "wide": { "square": { "outside": "50 mm", "wall": "3 mm" } } } }"#).unwrap();
/// let answer = header::run(&design, &stock, &HeaderQuestion::default()).unwrap();
/// assert_eq!(answer.trials.len(), 3);
/// ```
pub fn run(
    design: &Design,
    stock: &Stock,
    question: &HeaderQuestion,
) -> Result<HeaderAnswer, StudyError> {
    if stock.headers.is_empty() {
        return Err(StudyError::Nothing {
            sort: "header tube in the stock list",
            help: "try a list with `headers`, such as networks/stock/headers.json",
        });
    }
    let (owner, bank) = choose(design, question.bank.as_deref())?;
    let (cases, in_time) = steady_cases(design, &question.cases)?;
    let network = Network::build(design)?;
    let Some(circuit) = network.loops().iter().position(|l| l.name == owner) else {
        return Err(StudyError::unknown("loop", &owner, design.loops.keys()));
    };
    let spell = spell(
        &network.loops()[circuit].coolant,
        question.cold_k,
        question.warm_k,
    )?;
    let limits = design.limits.clone().unwrap_or_default();
    let stated = limits.module_flow_deviation.and_then(|b| b.max);
    let deviation = (stated.unwrap_or(COMMON_DEVIATION), stated.is_some());
    let spread_k = limits
        .module_temperature_spread
        .and_then(|b| b.max)
        .map(|s| s.k());
    let bench = Bench {
        owner: &owner,
        bank: &bank,
        circuit,
        spell,
        cases: &cases,
    };
    let holds = |f: &HeaderFigures| {
        f.cold_deviation.max(f.warm_deviation) <= deviation.0
            && spread_k.is_none_or(|most| f.spread_k.is_none_or(|s| s <= most))
    };
    let mut trials = Vec::new();
    for (name, record) in &stock.headers {
        for layout in LAYOUTS {
            for port_bore in port_bores(design, stock, question, &owner, &bank) {
                let mut changed = design.clone();
                set(&mut changed, &owner, &bank, record, layout, port_bore);
                let outcome = bench.figures(&changed, Some(record));
                trials.push(HeaderTrial {
                    name: name.clone(),
                    layout,
                    port_bore_m: port_bore.m(),
                    fits: outcome.as_ref().is_ok_and(holds),
                    outcome,
                });
            }
        }
    }
    let key = |t: &HeaderTrial| match &t.outcome {
        Ok(f) if t.fits => (0, f.mass_kg),
        Ok(f) => (1, f.cold_deviation.max(f.warm_deviation)),
        Err(_) => (2, 0.0),
    };
    trials.sort_by(|a, b| {
        let (a, b) = (key(a), key(b));
        a.0.cmp(&b.0).then(a.1.total_cmp(&b.1))
    });
    Ok(HeaderAnswer {
        range_k: (spell.cold_k, spell.warm_k),
        deviation,
        spread_k,
        own: bench.figures(design, None).ok(),
        trials,
        in_time,
        placeholders: network.placeholders().to_vec(),
        owner: owner.clone(),
        bank: bank.clone(),
    })
}

/// The bank that was asked for, or the only one.
fn choose(design: &Design, asked: Option<&str>) -> Result<(String, String), StudyError> {
    let banks: Vec<(String, String)> = design
        .loops
        .iter()
        .flat_map(|(owner, record)| {
            let own = record.parts.iter();
            own.filter(|(_, p)| matches!(p, Part::Bank(_)))
                .map(move |(name, _)| (owner.clone(), name.clone()))
        })
        .collect();
    let names: Vec<String> = banks.iter().map(|(o, b)| format!("{o}.{b}")).collect();
    match (asked, &banks[..]) {
        (Some(asked), _) => match names.iter().position(|n| n == asked) {
            Some(k) => Ok(banks[k].clone()),
            None => Err(StudyError::unknown("bank", asked, names.iter())),
        },
        (None, [one]) => Ok(one.clone()),
        (None, []) => Err(StudyError::Nothing {
            sort: "bank in the design",
            help: "try giving a loop a `bank`",
        }),
        (None, _) => Err(StudyError::Which {
            sort: "bank",
            option: "--bank",
            known: names,
        }),
    }
}

fn port_bores(
    design: &Design,
    stock: &Stock,
    question: &HeaderQuestion,
    owner: &str,
    bank: &str,
) -> Vec<Length> {
    if !question.port_bores_m.is_empty() {
        let asked = question.port_bores_m.iter();
        return asked.map(|m| Length::from_m(*m)).collect();
    }
    if !stock.port_bores.is_empty() {
        return stock.port_bores.clone();
    }
    let own = match design.loops.get(owner).and_then(|l| l.parts.get(bank)) {
        Some(Part::Bank(bank)) => bank.port_bore_m(crate::part::Side::Supply).ok(),
        _ => None,
    };
    own.map(Length::from_m).into_iter().collect()
}

fn set(
    design: &mut Design,
    owner: &str,
    bank: &str,
    record: &StockHeader,
    layout: Layout,
    port_bore: Length,
) {
    let part = design
        .loops
        .get_mut(owner)
        .and_then(|l| l.parts.get_mut(bank));
    let Some(Part::Bank(bank)) = part else { return };
    let own = bank.header.as_ref().or(bank.supply_header.as_ref());
    bank.header = Some(Header {
        round: record.round.clone(),
        square: record.square.clone(),
        roughness: own.and_then(|h| h.roughness),
        length: own.and_then(|h| h.length),
        ..Header::default()
    });
    bank.supply_header = None;
    bank.return_header = None;
    bank.layout = Some(layout);
    bank.feed = None;
    bank.draw_off = None;
    bank.middle_bore = None;
    bank.port_bore = Some(port_bore);
    bank.port_outside = None;
}

/// Area of the metal of a tube, m2; none where neither outside nor wall is stated.
fn metal_m2(record: &StockHeader) -> Option<f64> {
    let metres = |l: &Option<Length>| l.as_ref().map(|l| l.m());
    if let Some(round) = &record.round {
        let (bore, outside, wall) = (
            metres(&round.bore),
            metres(&round.outside),
            metres(&round.wall),
        );
        let wall = wall.or_else(|| Some(0.5 * (outside? - bore?)))?;
        let outside = outside.or_else(|| Some(bore? + 2.0 * wall))?;
        return Some(PI * (outside - wall) * wall);
    }
    let square = record.square.as_ref()?;
    let (inside, outside, wall) = (
        metres(&square.inside),
        metres(&square.outside),
        metres(&square.wall),
    );
    let wall = wall.or_else(|| Some(0.5 * (outside? - inside?)))?;
    let outside = outside.or_else(|| Some(inside? + 2.0 * wall))?;
    Some(4.0 * (outside - wall) * wall)
}

struct Bench<'a> {
    owner: &'a str,
    bank: &'a str,
    circuit: usize,
    spell: Spell,
    cases: &'a [String],
}

impl Bench<'_> {
    fn figures(
        &self,
        design: &Design,
        record: Option<&StockHeader>,
    ) -> Result<HeaderFigures, String> {
        let network = Network::build(design).map_err(|e| first_line(&e.to_string()))?;
        let mut solver = Solver::new(&network);
        let first = network
            .cases()
            .iter()
            .find(|c| self.cases.contains(&c.name));
        let mut flows = |coolant_k: f64| -> Result<(f64, f64), String> {
            let case = first.ok_or("there is no case")?.at_coolant(coolant_k);
            let solution = solver.solve(&case).map_err(|e| e.to_string())?;
            let banks = solution.banks(self.owner);
            let state = banks.iter().find(|b| b.id == self.bank);
            state
                .map(|s| (s.deviation, s.drop_pa))
                .ok_or_else(|| "there is no such bank".to_owned())
        };
        let cold = flows(self.spell.cold_k)?;
        let warm = flows(self.spell.warm_k)?;
        let mut spread_k: Option<f64> = None;
        let asked = |case: &&Case| self.cases.contains(&case.name);
        for case in network.cases().iter().filter(asked) {
            let solution = solver.solve(case).map_err(|e| e.to_string())?;
            if solution.carried(self.owner) == Some(Carried::Solved) {
                let banks = solution.banks(self.owner);
                let own = banks.iter().find(|b| b.id == self.bank);
                let spread = own.map(|b| b.module_temperature_spread_k);
                spread_k = spread.into_iter().chain(spread_k).reduce(f64::max);
            }
        }
        let circuit = &network.loops()[self.circuit];
        let (mut volume_m3, mut length_m) = (0.0, 0.0);
        for element in circuit.net.elements.iter().filter(|e| e.kind == "header") {
            let own = element.id.as_str().strip_prefix(self.bank);
            if own.is_some_and(|rest| rest.starts_with('.')) {
                volume_m3 += element.volume_m3.unwrap_or(0.0);
                length_m += element.length_m;
            }
        }
        let density = record
            .and_then(|r| r.density)
            .map_or(ALUMINIUM_KG_M3, |d| d.kg_m3());
        let metal_m2 = record.and_then(metal_m2).unwrap_or(0.0);
        let coolant = circuit.coolant.properties_extended(WEIGHED_K);
        Ok(HeaderFigures {
            cold_deviation: cold.0,
            warm_deviation: warm.0,
            cold_drop_pa: cold.1,
            warm_drop_pa: warm.1,
            spread_k,
            volume_m3,
            mass_kg: density * metal_m2 * length_m + coolant.density_kg_m3 * volume_m3,
        })
    }
}

fn first_line(text: &str) -> String {
    text.lines().next().unwrap_or("").to_owned()
}
