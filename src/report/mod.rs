//! Reports: what an answer means in words and tables, then how it looks as text or JSON. Nothing is computed here.

mod advice;
mod block;
mod csv;
mod json;
mod keys;
mod of_balance;
mod of_bank;
mod of_check;
mod of_compare;
mod of_core;
mod of_device;
mod of_job;
mod of_layout;
mod of_partition;
mod of_sensitivity;
mod of_shut_off;
mod of_size;
mod of_solution;
mod of_solution_csv;
mod of_sweep;
mod of_time;
mod of_topic;
mod of_volume;
mod page;
mod plot;
mod schema;
mod svg;
mod text;
mod text_chart;

pub use advice::CAUTIONS;
pub use block::{Align, Block, Cell, Report, Table, Tone};
pub use json::{CaseOutcome, check_json, solve_json};
pub use keys::Keys;
pub use of_balance::{balance_csv, balance_json, balance_report};
pub use of_check::check_report;
pub use of_compare::{Told, compare_csv, compare_json, compare_report};
pub use of_job::{JobPack, JobStamp, JobTable, job_json, job_pack};
pub use of_layout::{layout_json, layout_report};
pub use of_partition::{partition_csv, partition_json, partition_report};
pub use of_sensitivity::{
    Remedies, SensitivityTold, sensitivity_csv, sensitivity_json, sensitivity_report,
};
pub use of_size::{
    size_header_csv, size_header_json, size_header_report, size_hose_csv, size_hose_json,
    size_hose_report, size_pump_csv, size_pump_json, size_pump_report,
};
pub use of_solution::{Heading, case_report, closing, failure_report, opening};
pub use of_solution_csv::solve_csv;
pub use of_sweep::{SweepDigest, sweep_csv_head, sweep_csv_row, sweep_json_row};
pub use of_time::{time_json, time_report};
pub use of_topic::{topic_json, topic_list_report, topic_report};
pub use of_volume::volume_report;
pub use page::PageUnits;
pub use plot::Glyphs;
pub use schema::{ANSWERS, answer_schema};
pub use text::{Paint, render};
pub use text_chart::case_charts;
