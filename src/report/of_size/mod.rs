//! Sizing answers as a builder reads them, and the same as JSON and comma-separated rows.

mod header;
mod hose;
mod pump;
mod pump_data;

pub use header::{size_header_csv, size_header_json, size_header_report};
pub use hose::{size_hose_csv, size_hose_json, size_hose_report};
pub use pump::size_pump_report;
pub use pump_data::{size_pump_csv, size_pump_json};

use super::block::{Cell, Report, Tone};
use crate::quantity::{Kind, UnitFamily, show_si};
use crate::study::partition::Tight;
use crate::study::{Counting, LimitKey};

/// The first lines: what rests on placeholders, and cases in time.
fn caution(report: &mut Report, placeholders: &[String], in_time: &[String]) {
    if !placeholders.is_empty() {
        let text = format!(
            "Provisional: these rest on placeholders that nobody has measured: {}.",
            placeholders.join(", ")
        );
        report.say(Cell::toned(text, Tone::Warn));
    }
    if !in_time.is_empty() {
        report.say(format!(
            "Judged on steady answers; the cases in time are not compared: {}.",
            in_time.join(", ")
        ));
    }
}

/// A limit in words.
fn tight_text(tight: &Tight, family: UnitFamily) -> String {
    let word = if tight.margin_k < 0.0 {
        "missed by"
    } else {
        "margin"
    };
    format!(
        "{} of {} in {}, {word} {}",
        tight.limit.replace('_', " "),
        tight.subject,
        tight.case,
        size_of(tight, family)
    )
}

/// How large the margin of a limit is, in kelvin for a temperature and in percent for all else.
fn size_of(tight: &Tight, family: UnitFamily) -> String {
    match tight.share() {
        None => show_si(Kind::TemperatureDifference, tight.margin_k.abs(), family),
        Some(share) => format!("{:.1} %", 100.0 * share.abs()),
    }
}

/// What no variant mends.
fn hopeless(report: &mut Report, counting: &Counting, what: &str) {
    if counting.hopeless.is_empty() {
        return;
    }
    let name = |k: &LimitKey| format!("{} of {}", k.limit.replace('_', " "), k.subject);
    let names: Vec<String> = counting.hopeless.iter().map(name).collect();
    let counted = if counting.floors.is_empty() {
        "not counted here"
    } else {
        "only held to be no worse than now"
    };
    let text = format!(
        "Missed with every {what} that was tried, so {counted}: {}; `loopwright check` says what would help.",
        names.join(", ")
    );
    report.say(Cell::toned(text, Tone::Warn));
}

/// The word of a yes that may rest on placeholders.
fn yes(placeholders: &[String]) -> (&'static str, Tone) {
    if placeholders.is_empty() {
        ("YES", Tone::Good)
    } else {
        ("PROVISIONAL", Tone::Warn)
    }
}

const MARGIN_WORDS: &str = "Margin: the tightest limit of the loop that counts, in any case. Temperatures weigh by their kelvin, any other limit as 1 K for each 2 % of the bound (of the value, where that is larger).";
