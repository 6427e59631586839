//! A sweep as rows (CSV and JSON lines, one at a time) and, for reading, as a digest that stays small whatever the
//! number of points: a thinned table, extremes, where a margin changes its sign, and a plot.

use super::block::{Cell, Report, Table, Tone};
use super::csv::{number, record};
use super::json::opt;
use super::keys::Keys;
use super::plot::{Columns, Glyphs};
use crate::design::Setting;
use crate::quantity::{Kind, UnitFamily, show_si, significant};
use crate::study::sweep::{Sweep, SweepAnswer, SweepRow};
use serde_json::{Map, Value};

/// Rows of the printed table.
const MOST_ROWS: usize = 24;
/// Changes of sign and failures that are told.
const MOST_TOLD: usize = 8;
/// Plots that are drawn.
const MOST_PLOTS: usize = 4;

/// The heading of the rows of a sweep as CSV: the point; each input as it is written and, where it has a unit, in SI;
/// each output in SI; why there is no answer.
pub fn sweep_csv_head(sweep: &Sweep<'_>) -> String {
    let mut fields = vec!["point".to_owned()];
    for dial in sweep.dials() {
        fields.push(dial.place().to_string());
        if dial.kind().is_some() {
            fields.push(format!("{} si", dial.place()));
        }
    }
    fields.extend(sweep.outputs().iter().map(|o| o.path.clone()));
    fields.push("failure".to_owned());
    record(fields)
}

/// A row of a sweep as CSV.
pub fn sweep_csv_row(sweep: &Sweep<'_>, row: &SweepRow) -> String {
    let mut fields = vec![row.point.to_string()];
    for (dial, setting) in sweep.dials().iter().zip(&row.inputs) {
        fields.push(setting.text());
        if dial.kind().is_some() {
            fields.push(number(setting.si()));
        }
    }
    fields.extend(row.outputs.iter().map(|value| number(*value)));
    fields.push(one_line(row.failure.as_deref().unwrap_or_default()));
    record(fields)
}

/// A row of a sweep as JSON, for one line of text.
pub fn sweep_json_row(sweep: &Sweep<'_>, row: &SweepRow) -> Value {
    let mut inputs = Map::new();
    let mut si = Map::new();
    for (dial, setting) in sweep.dials().iter().zip(&row.inputs) {
        inputs.insert(dial.place().to_string(), Value::from(setting.text()));
        si.insert(dial.place().to_string(), opt(setting.si()));
    }
    let outputs: Map<String, Value> = sweep
        .outputs()
        .iter()
        .zip(&row.outputs)
        .map(|(output, value)| (output.path.clone(), opt(*value)))
        .collect();
    let mut map = Map::new();
    map.insert("point".into(), row.point.into());
    map.insert("inputs".into(), inputs.into());
    map.insert("inputs_si".into(), si.into());
    map.insert("outputs".into(), outputs.into());
    map.insert("failure".into(), row.failure.clone().into());
    map.into()
}

fn one_line(text: &str) -> String {
    let lines: Vec<&str> = text.lines().map(str::trim).collect();
    lines.join("; ")
}

/// What is kept of one output.
struct Seen {
    kind: Option<Kind>,
    is_margin: bool,
    least: Option<(f64, String)>,
    most: Option<(f64, String)>,
    last: Option<(f64, String)>,
    turns: Vec<String>,
    columns: Columns,
}

/// A digest of the rows of a sweep, which takes them as they come.
pub struct SweepDigest<'s> {
    sweep: &'s Sweep<'s>,
    title: String,
    family: UnitFamily,
    stride: usize,
    rows: Vec<SweepRow>,
    seen: Vec<Seen>,
    failures: Vec<String>,
    ends: Option<(String, String)>,
}

impl<'s> SweepDigest<'s> {
    /// An empty digest.
    pub fn new(sweep: &'s Sweep<'s>, title: &str, family: UnitFamily) -> Self {
        let seen = sweep.outputs().iter().map(|output| Seen {
            kind: Keys::kind(&output.rest),
            is_margin: output.rest.ends_with("margin") || output.rest.ends_with("margin_k"),
            least: None,
            most: None,
            last: None,
            turns: Vec::new(),
            columns: Columns::new(sweep.points()),
        });
        Self {
            sweep,
            title: title.to_owned(),
            family,
            stride: sweep.points().div_ceil(MOST_ROWS).max(1),
            rows: Vec::new(),
            seen: seen.collect(),
            failures: Vec::new(),
            ends: None,
        }
    }

    fn one_line(&self) -> bool {
        self.sweep.dials().len() == 1 && self.sweep.dials()[0].levels().count().is_some()
    }

    /// Takes a row.
    pub fn take(&mut self, row: &SweepRow) {
        let words: Vec<String> = row.inputs.iter().map(Setting::text).collect();
        let at = words.join(", ");
        let ordered = self.one_line();
        match &mut self.ends {
            Some((_, last)) => last.clone_from(&at),
            None => self.ends = Some((at.clone(), at.clone())),
        }
        for (seen, value) in self.seen.iter_mut().zip(&row.outputs) {
            let Some(value) = *value else {
                seen.last = None;
                continue;
            };
            if seen.least.as_ref().is_none_or(|(least, _)| value < *least) {
                seen.least = Some((value, at.clone()));
            }
            if seen.most.as_ref().is_none_or(|(most, _)| value > *most) {
                seen.most = Some((value, at.clone()));
            }
            seen.columns.take(row.point, value);
            if let Some((before, from)) = &seen.last
                && ordered
                && seen.is_margin
                && (*before < 0.0) != (value < 0.0)
                && seen.turns.len() < MOST_TOLD
            {
                let way = if value < 0.0 { "missed" } else { "met" };
                seen.turns.push(format!("{way} between {from} and {at}"));
            }
            seen.last = Some((value, at.clone()));
        }
        if let Some(failure) = &row.failure
            && self.failures.len() < MOST_TOLD
        {
            self.failures.push(format!("{at}: {}", one_line(failure)));
        }
        if row.point.is_multiple_of(self.stride) || row.point + 1 == self.sweep.points() {
            self.rows.push(row.clone());
        }
    }

    fn shown(&self, kind: Option<Kind>, value: f64) -> String {
        match kind {
            Some(kind) => show_si(kind, value, self.family),
            None => significant(value, 3),
        }
    }

    /// The digest as a report.
    pub fn report(&self, answer: &SweepAnswer) -> Report {
        let mut report = Report::default();
        let what: Vec<String> = self
            .sweep
            .dials()
            .iter()
            .map(|dial| format!("`{}`", dial.place()))
            .collect();
        report.title(format!("{}: sweep", self.title));
        report.say(format!(
            "{} points over {}; cases {}.",
            answer.points,
            what.join(", "),
            self.sweep.cases().collect::<Vec<_>>().join(", ")
        ));
        self.table(&mut report);
        self.extremes(&mut report);
        let turns: Vec<Cell> = self
            .sweep
            .outputs()
            .iter()
            .zip(&self.seen)
            .flat_map(|(output, seen)| {
                seen.turns
                    .iter()
                    .map(|turn| format!("{}: {turn}", output.path).into())
            })
            .collect();
        if !turns.is_empty() {
            report.heading("Where a margin changes its sign");
            report.list(turns);
        }
        if answer.failed > 0 {
            report.heading("Without an answer");
            let mut told: Vec<Cell> = self
                .failures
                .iter()
                .map(|text| Cell::toned(text.clone(), Tone::Bad))
                .collect();
            if answer.failed > told.len() {
                told.push(format!("and {} more", answer.failed - told.len()).into());
            }
            report.list(told);
        }
        report
    }

    fn table(&self, report: &mut Report) {
        let (inputs, outputs) = (self.sweep.dials(), self.sweep.outputs());
        report.heading("Columns");
        let mut legend: Vec<Cell> = Vec::new();
        let mut heads = Vec::new();
        for (k, dial) in inputs.iter().enumerate() {
            legend.push(format!("in {}: {}", k + 1, dial.place()).into());
            heads.push(format!(">in {}", k + 1));
        }
        for (k, output) in outputs.iter().enumerate() {
            legend.push(format!("out {}: {}", k + 1, output.path).into());
            heads.push(format!(">out {}", k + 1));
        }
        report.list(legend);
        if self.stride > 1 {
            report.say(format!("One point in {}:", self.stride));
        }
        let heads: Vec<&str> = heads.iter().map(String::as_str).collect();
        let mut table = Table::new(&heads);
        for row in &self.rows {
            let mut cells: Vec<Cell> = row.inputs.iter().map(|s| s.text().into()).collect();
            for (seen, value) in self.seen.iter().zip(&row.outputs) {
                cells.push(match value {
                    Some(value) if seen.is_margin && *value < 0.0 => {
                        Cell::toned(self.shown(seen.kind, *value), Tone::Bad)
                    }
                    Some(value) => self.shown(seen.kind, *value).into(),
                    None => Cell::toned("-", Tone::Warn),
                });
            }
            table.row(cells);
        }
        report.table(table);
    }

    fn extremes(&self, report: &mut Report) {
        let mut table = Table::new(&["output", ">lowest", "at", ">highest", "at"]);
        for (output, seen) in self.sweep.outputs().iter().zip(&self.seen) {
            let (Some((least, low)), Some((most, high))) = (&seen.least, &seen.most) else {
                continue;
            };
            table.row(vec![
                output.path.clone().into(),
                self.shown(seen.kind, *least).into(),
                low.clone().into(),
                self.shown(seen.kind, *most).into(),
                high.clone().into(),
            ]);
        }
        if !table.rows.is_empty() {
            report.heading("Lowest and highest");
            report.table(table);
        }
    }

    /// Plots of the first outputs over the one input of a sweep in steps; empty for any other sweep.
    pub fn plots(&self, glyphs: Glyphs) -> String {
        let Some((left, right)) = self.ends.as_ref().filter(|_| self.one_line()) else {
            return String::new();
        };
        let mut text = String::new();
        let all = self.sweep.outputs().iter().zip(&self.seen);
        for (output, seen) in all.take(MOST_PLOTS) {
            let Some((low, high)) = seen.columns.range() else {
                continue;
            };
            let labels = (self.shown(seen.kind, high), self.shown(seen.kind, low));
            let drawn = seen
                .columns
                .draw((&labels.0, &labels.1), (left, right), glyphs);
            text.push_str(&format!("\n{}\n{drawn}", output.path));
        }
        text
    }
}
