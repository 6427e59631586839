//! The job pack: one page for the builder, the helper at the bench and the inspector, and the same as JSON and as tables.
//! Every number of the page is read out of that JSON.

mod cases;
mod charts;
mod data;
mod first;
mod plan;
mod rests;
mod sheets;

pub use data::job_json;

use super::page::{Facts, Html, PageUnits, STYLE, Sheet};
use crate::design::Design;
use crate::study::job::Job;

/// What the page says of itself.
#[derive(Clone, Debug, Default)]
pub struct JobStamp {
    /// Name of the design file.
    pub file: String,
    /// SHA-256 of the design file, in hexadecimal.
    pub sha256: String,
    /// Version of the program.
    pub version: String,
    /// The date that the caller gave; without one a line is left for it.
    pub date: Option<String>,
}

/// A table of the pack as a file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct JobTable {
    /// Name of the file.
    pub file: String,
    /// Comma-separated text (RFC 4180), SI values under keys that name their units.
    pub text: String,
}

/// The pack as a page and as tables.
#[derive(Clone, Debug)]
pub struct JobPack {
    /// One HTML file that needs nothing else.
    pub html: String,
    /// Its tables.
    pub tables: Vec<JobTable>,
    /// The drawing of the loops as an SVG file of its own; none where no case has an answer.
    pub drawing: Option<String>,
}

/// What all sections are written from.
pub(super) struct Pack<'a, 'n> {
    pub design: &'a Design,
    pub job: &'a Job<'n>,
    pub facts: Facts<'a>,
    pub stamp: &'a JobStamp,
}

/// A page while it is written, with the tables that were put into it.
pub(super) struct Sink<'a> {
    pub html: Html,
    pub facts: &'a Facts<'a>,
    tables: Vec<JobTable>,
}

impl Sink<'_> {
    /// Writes a table into the page and keeps it as a file.
    pub fn sheet(&mut self, sheet: &Sheet) {
        if sheet.is_empty() {
            return;
        }
        // Two names may come out alike once blanks are gone.
        let name = file_name(&sheet.id);
        let taken = |n: &String| self.tables.iter().any(|t| t.file == format!("{n}.csv"));
        let numbered = (2..).map(|k| format!("{name}-{k}"));
        let name = std::iter::once(name.clone())
            .chain(numbered)
            .find(|n| !taken(n))
            .unwrap_or(name);
        sheet.write(&mut self.html, self.facts, &name);
        self.tables.push(JobTable {
            file: format!("{name}.csv"),
            text: sheet.csv(self.facts),
        });
    }
}

/// Letters, digits, `-` and `_`: safe on every file system.
fn file_name(id: &str) -> String {
    let keep = |c: char| {
        if c.is_ascii_alphanumeric() || c == '-' {
            c
        } else {
            '_'
        }
    };
    id.to_lowercase().chars().map(keep).collect()
}

/// Writes the pack. `answer` is [`job_json`] of the same job.
pub fn job_pack(
    design: &Design,
    job: &Job<'_>,
    answer: &serde_json::Value,
    units: PageUnits,
    stamp: &JobStamp,
) -> JobPack {
    let pack = Pack {
        design,
        job,
        facts: Facts {
            root: answer,
            units,
        },
        stamp,
    };
    let mut sink = Sink {
        html: Html::new(job.network.title(), STYLE),
        facts: &pack.facts,
        tables: Vec::new(),
    };
    first::write(&pack, &mut sink);
    charts::write(&pack, &mut sink);
    cases::write(&pack, &mut sink);
    sheets::write(&pack, &mut sink);
    rests::write(&pack, &mut sink);
    let drawing = plan::draw(&pack).map(|svg| alone(&svg));
    JobPack {
        tables: sink.tables,
        html: sink.html.finish(),
        drawing,
    }
}

/// A drawing that carries its own style, and no places in an answer that is not there.
fn alone(svg: &str) -> String {
    let mut out = String::with_capacity(svg.len() + STYLE.len());
    let (head, body) = svg.split_once('>').unwrap_or((svg, ""));
    out.push_str(head);
    out.push_str("><style>");
    out.push_str(STYLE);
    out.push_str("svg{background:var(--paper)}</style>");
    let mut rest = body;
    while let Some(at) = rest.find("<tspan ") {
        out.push_str(&rest[..at]);
        rest = &rest[at..];
        let text = rest.split_once('>').map_or("", |r| r.1);
        let (text, after) = text.split_once("</tspan>").unwrap_or((text, ""));
        out.push_str(text);
        rest = after;
    }
    out.push_str(rest);
    out
}
