//! Figures: numbers read out of the JSON answer by their place in it, so that a page cannot say another number than the
//! answer does, and written in the units that were asked for.

use crate::quantity::{Kind, UnitFamily, in_unit, show_si, significant, unit_symbol};
use crate::report::svg::escape;
use crate::report::svg::plan::Label;
use serde_json::Value;
use std::fmt::Write;

/// Which units a page is written in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PageUnits {
    /// One family.
    One(UnitFamily),
    /// This family, and the other beside it.
    Both(UnitFamily),
}

impl PageUnits {
    /// The family that comes first.
    pub fn first(self) -> UnitFamily {
        match self {
            Self::One(family) | Self::Both(family) => family,
        }
    }

    /// The family that stands beside it.
    pub fn second(self) -> Option<UnitFamily> {
        match self {
            Self::One(_) => None,
            Self::Both(UnitFamily::Metric) => Some(UnitFamily::Us),
            Self::Both(UnitFamily::Us) => Some(UnitFamily::Metric),
        }
    }
}

/// How a number is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::report) enum Form {
    /// Three figures with the unit that fits.
    Show(Kind),
    /// Three figures in the unit of a column, which its heading names.
    Column(Kind),
    /// A temperature in a column, one decimal.
    Degrees,
    /// A place to mark out, in a column.
    Place,
    /// A ratio as whole per cent.
    Percent,
    /// A ratio as per cent with one decimal.
    Percent1,
    /// A plain number, three figures.
    Ratio,
    /// A whole number.
    Count,
    /// Seconds with one decimal.
    Seconds,
    /// Seconds written as minutes with one decimal.
    Minutes,
}

impl Form {
    /// The text of a number.
    pub fn text(self, si: f64, family: UnitFamily) -> String {
        if !si.is_finite() {
            return "-".into();
        }
        match self {
            Self::Show(kind) => show_si(kind, si, family),
            Self::Column(kind) => significant(in_unit(kind, si, family), 3),
            Self::Degrees => format!("{:.1}", in_unit(Kind::Temperature, si, family)),
            Self::Place => {
                let decimals = if family == UnitFamily::Us { 3 } else { 1 };
                format!("{:.decimals$}", in_unit(Kind::Length, si, family))
            }
            Self::Percent => format!("{:.0} %", 100.0 * si),
            Self::Percent1 => format!("{:.1} %", 100.0 * si),
            Self::Ratio => significant(si, 3),
            Self::Count => format!("{si:.0}"),
            Self::Seconds => format!("{si:.1}"),
            Self::Minutes => format!("{:.1}", si / 60.0),
        }
    }

    /// Whether the text depends on the family of units.
    pub fn has_family(self) -> bool {
        matches!(
            self,
            Self::Show(_) | Self::Column(_) | Self::Degrees | Self::Place
        )
    }

    /// The unit of a column.
    pub fn column_unit(self, family: UnitFamily) -> &'static str {
        match self {
            Self::Column(kind) => unit_symbol(kind, family),
            Self::Degrees => unit_symbol(Kind::Temperature, family),
            Self::Place => unit_symbol(Kind::Length, family),
            Self::Seconds => "s",
            Self::Minutes => "min",
            _ => "",
        }
    }

    /// The word that tells a reader of the page's data how the text was made.
    fn code(self, family: UnitFamily) -> String {
        let with = |word: &str, kind: Kind| format!("{word} {} {}", kind.name(), family.name());
        match self {
            Self::Show(kind) => with("show", kind),
            Self::Column(kind) => with("column", kind),
            Self::Degrees => with("degrees", Kind::Temperature),
            Self::Place => with("place", Kind::Length),
            Self::Percent => "percent".into(),
            Self::Percent1 => "percent1".into(),
            Self::Ratio => "ratio".into(),
            Self::Count => "count".into(),
            Self::Seconds => "seconds".into(),
            Self::Minutes => "minutes".into(),
        }
    }
}

/// A number of the answer.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::report) struct Figure {
    /// Where it stands in the JSON answer (RFC 6901).
    pub pointer: String,
    /// Its value.
    pub si: f64,
    /// How it is written.
    pub form: Form,
}

impl Figure {
    /// As markup: an element that carries value and place.
    pub fn markup(&self, tag: &str, family: UnitFamily) -> String {
        let value = if tag == "data" { "value" } else { "data-si" };
        format!(
            "<{tag} {value}=\"{}\" data-j=\"{}\" data-f=\"{}\">{}</{tag}>",
            self.si,
            escape(&self.pointer),
            self.form.code(family),
            escape(&self.form.text(self.si, family))
        )
    }
}

/// A place in the JSON answer from its keys (RFC 6901).
pub(in crate::report) fn pointer(keys: &[&str]) -> String {
    let mut out = String::new();
    for key in keys {
        let _ = write!(out, "/{}", key.replace('~', "~0").replace('/', "~1"));
    }
    out
}

/// The JSON answer and the units to write it in.
pub(in crate::report) struct Facts<'a> {
    pub root: &'a Value,
    pub units: PageUnits,
}

impl Facts<'_> {
    /// The number at a place, where there is one.
    pub fn figure(&self, pointer: &str, form: Form) -> Option<Figure> {
        let si = self.root.pointer(pointer)?.as_f64()?;
        Some(Figure {
            pointer: pointer.to_owned(),
            si,
            form,
        })
    }

    /// The number under a beginning of a place.
    pub fn under(&self, base: &str, key: &str, form: Form) -> Option<Figure> {
        self.figure(&format!("{base}/{key}"), form)
    }
}

/// A sentence or a label with figures in it.
#[derive(Clone, Debug, Default)]
pub(in crate::report) struct Line(Vec<Bit>);

#[derive(Clone, Debug)]
enum Bit {
    Words(String),
    Figure(Figure),
    Family(Figure, UnitFamily),
}

impl Line {
    /// Words.
    pub fn words(text: impl Into<String>) -> Self {
        Self::default().and(text)
    }

    /// More words.
    pub fn and(mut self, text: impl Into<String>) -> Self {
        self.0.push(Bit::Words(text.into()));
        self
    }

    /// A figure, or a dash where there is none.
    pub fn fig(mut self, figure: Option<Figure>) -> Self {
        self.0
            .push(figure.map_or(Bit::Words("-".into()), Bit::Figure));
        self
    }

    /// A figure in one family alone.
    pub fn fig_in(mut self, figure: Option<Figure>, family: UnitFamily) -> Self {
        self.0
            .push(figure.map_or(Bit::Words("-".into()), |f| Bit::Family(f, family)));
        self
    }

    /// As markup for HTML (`data`) or a drawing (`tspan`).
    pub fn markup(&self, tag: &str, units: PageUnits) -> String {
        let mut out = String::new();
        for bit in &self.0 {
            match bit {
                Bit::Words(text) => out.push_str(&escape(text)),
                Bit::Family(figure, family) => out.push_str(&figure.markup(tag, *family)),
                Bit::Figure(figure) => {
                    out.push_str(&figure.markup(tag, units.first()));
                    if let Some(second) = units.second().filter(|_| figure.form.has_family()) {
                        let _ = write!(out, " ({})", figure.markup(tag, second));
                    }
                }
            }
        }
        out
    }

    /// As it is seen.
    pub fn plain(&self, units: PageUnits) -> String {
        let mut out = String::new();
        for bit in &self.0 {
            match bit {
                Bit::Words(text) => out.push_str(text),
                Bit::Family(figure, family) => out.push_str(&figure.form.text(figure.si, *family)),
                Bit::Figure(figure) => {
                    out.push_str(&figure.form.text(figure.si, units.first()));
                    if let Some(second) = units.second().filter(|_| figure.form.has_family()) {
                        let _ = write!(out, " ({})", figure.form.text(figure.si, second));
                    }
                }
            }
        }
        out
    }

    /// As a label of a drawing.
    pub fn label(&self, units: PageUnits) -> Label {
        Label {
            plain: self.plain(units),
            markup: self.markup("tspan", units),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn a_figure_says_what_the_answer_says_and_where() {
        let root = json!({ "a/b": { "flow": 2e-4 }, "none": null });
        let facts = Facts {
            root: &root,
            units: PageUnits::Both(UnitFamily::Metric),
        };
        let at = pointer(&["a/b", "flow"]);
        assert_eq!(at, "/a~1b/flow");
        let figure = facts.figure(&at, Form::Show(Kind::VolumeFlow));
        let line = Line::words("<").fig(figure);
        assert_eq!(line.plain(facts.units), "<12.0 L/min (3.17 gpm)");
        let markup = line.markup("data", facts.units);
        assert!(
            markup.starts_with("&lt;<data value=\"0.0002\" data-j=\"/a~1b/flow\""),
            "{markup}"
        );
        assert_eq!(facts.figure("/none", Form::Count), None);
        assert_eq!(Line::default().fig(None).plain(facts.units), "-");
    }
}
