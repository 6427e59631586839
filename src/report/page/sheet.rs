//! A table that is written into the page and, with SI values under suffixed keys, as a comma-separated file.

use super::facts::{Facts, Figure, Form, Line};
use super::html::Html;
use crate::report::csv::{Csv, number};
use crate::report::svg::escape;
use crate::study::Verdict;

/// One field of a table.
#[derive(Clone, Debug)]
pub(in crate::report) enum Field {
    /// Words.
    Words(String),
    /// A number.
    Figure(Figure),
    /// A sentence with figures in it; not a column of numbers.
    Line(Line),
    /// A verdict: word and shape.
    Verdict(Option<Verdict>, String),
    /// There is no such value.
    Nothing,
    /// Left open, to be written on.
    Open,
}

impl From<&str> for Field {
    fn from(text: &str) -> Self {
        Self::Words(text.to_owned())
    }
}

impl From<String> for Field {
    fn from(text: String) -> Self {
        Self::Words(text)
    }
}

impl From<Option<Figure>> for Field {
    fn from(figure: Option<Figure>) -> Self {
        figure.map_or(Self::Nothing, Self::Figure)
    }
}

impl From<Line> for Field {
    fn from(line: Line) -> Self {
        Self::Line(line)
    }
}

struct Column {
    head: String,
    key: String,
    form: Option<Form>,
}

/// A table. The first column heads its rows.
pub(in crate::report) struct Sheet {
    /// Name of its file, and of its place in the page.
    pub id: String,
    caption: String,
    columns: Vec<Column>,
    rows: Vec<Vec<Field>>,
}

impl Sheet {
    /// An empty table.
    pub fn new(id: impl Into<String>, caption: impl Into<String>) -> Self {
        Self {
            id: id.into(),
            caption: caption.into(),
            columns: Vec::new(),
            rows: Vec::new(),
        }
    }

    /// A column of words.
    pub fn words(mut self, head: impl Into<String>, key: &str) -> Self {
        self.columns.push(Column {
            head: head.into(),
            key: key.to_owned(),
            form: None,
        });
        self
    }

    /// A column of numbers; its unit is added to its heading.
    pub fn numbers(mut self, head: impl Into<String>, key: &str, form: Form) -> Self {
        self.columns.push(Column {
            head: head.into(),
            key: key.to_owned(),
            form: Some(form),
        });
        self
    }

    /// Adds a row.
    pub fn row(&mut self, fields: Vec<Field>) {
        self.rows.push(fields);
    }

    /// Whether it has no rows.
    pub fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// Writes it into the page under a name that stands once, unless it is empty.
    pub fn write(&self, html: &mut Html, facts: &Facts<'_>, name: &str) {
        if self.rows.is_empty() {
            return;
        }
        html.scroll(&self.caption);
        html.raw(&format!("<table id=\"{}\">", escape(name)));
        html.raw(&format!(
            "<caption>{}</caption><thead><tr>",
            escape(&self.caption)
        ));
        for column in &self.columns {
            let class = if column.form.is_some() {
                " class=\"n\""
            } else {
                ""
            };
            html.raw(&format!(
                "<th scope=\"col\"{class}>{}",
                escape(&column.head)
            ));
            if let Some(form) = column.form {
                let unit = form.column_unit(facts.units.first());
                if !unit.is_empty() {
                    html.raw(&format!(" <span class=\"unit\">{}</span>", escape(unit)));
                }
                if let Some(second) = facts.units.second()
                    && form.has_family()
                    && !unit.is_empty()
                {
                    let other = escape(form.column_unit(second));
                    html.raw(&format!("<br><span class=\"unit\">{other}</span>"));
                }
            }
            html.raw("</th>");
        }
        html.raw("</tr></thead><tbody>");
        for row in &self.rows {
            html.raw("<tr>");
            for (k, (field, column)) in row.iter().zip(&self.columns).enumerate() {
                let numeric = column.form.is_some();
                let (open, close) = match (k, numeric) {
                    (0, false) => ("<th scope=\"row\">", "</th>"),
                    (0, true) => ("<th scope=\"row\" class=\"n\">", "</th>"),
                    (_, true) => ("<td class=\"n\">", "</td>"),
                    (_, false) => ("<td>", "</td>"),
                };
                html.raw(open);
                write_field(html, facts, field);
                html.raw(close);
            }
            html.raw("</tr>");
        }
        html.raw("</tbody></table></div>");
    }

    /// The same as a comma-separated file: SI values, words as they are.
    pub fn csv(&self, facts: &Facts<'_>) -> String {
        let keys: Vec<&str> = self.columns.iter().map(|c| c.key.as_str()).collect();
        let mut csv = Csv::new(&keys);
        for row in &self.rows {
            csv.row(row.iter().map(|field| match field {
                Field::Words(text) => text.clone(),
                Field::Figure(figure) => number(figure.si),
                Field::Line(line) => line.plain(facts.units),
                Field::Verdict(verdict, _) => verdict.map_or("no_answer", Verdict::code).to_owned(),
                Field::Nothing | Field::Open => String::new(),
            }));
        }
        csv.finish()
    }
}

fn write_field(html: &mut Html, facts: &Facts<'_>, field: &Field) {
    match field {
        Field::Words(text) => html.text(text),
        Field::Line(line) => html.raw(&line.markup("data", facts.units)),
        Field::Verdict(verdict, words) => html.verdict(*verdict, words),
        Field::Nothing => html.raw("-"),
        Field::Open => html.raw("<span class=\"open\"></span>"),
        Field::Figure(figure) => {
            html.raw(&figure.markup("data", facts.units.first()));
            if let Some(second) = facts.units.second().filter(|_| figure.form.has_family()) {
                html.raw("<br>");
                html.raw(&figure.markup("data", second));
            }
        }
    }
}
