//! The arguments as typed.

use super::size_args::{BalanceArgs, SeasonArgs, SizeVerb};
use clap::{Parser, Subcommand, ValueEnum};
use loopwright::design::{Change, Vary};
use loopwright::quantity::Temperature;
use loopwright::report::ANSWERS;
use std::path::PathBuf;

/// Solves the coolant loops of a battery vehicle before anything is cut or welded.
#[derive(Debug, Parser)]
#[command(name = "loopwright", version, about, after_help = AFTER)]
pub struct Args {
    /// What to do.
    #[command(subcommand)]
    pub verb: Verb,
}

const AFTER: &str = "Exit codes: 0 answered; 1 answered \"no\" (a limit is missed); 2 the arguments or the design are \
wrong; 3 no solution found; 130 ended by Ctrl-C.\n\nThe result is an estimate, not a certificate; local codes and licensed practice decide.";

/// The verbs.
#[derive(Debug, Subcommand)]
pub enum Verb {
    /// What flows where, and how hot, for every case
    #[command(
        after_help = "Example: loopwright solve networks/bookmobile.json --case \"hot hill\""
    )]
    Solve(SolveArgs),
    /// Does the design meet its limits: one line a limit
    #[command(after_help = "Example: loopwright check networks/bookmobile.json --units us")]
    Check(DesignArgs),
    /// Which pump, hose bores or header tube from a stock list
    #[command(subcommand)]
    Size(SizeVerb),
    /// A drilled restrictor for each branch, as drill sizes, warm and cold
    #[command(
        after_help = "Example: loopwright balance networks/header-same-end.json --within 0.05"
    )]
    Balance(BalanceArgs),
    /// Where to draw the headers off: same end, opposite end or centre, cold and warm
    #[command(
        after_help = "Example: loopwright layout networks/bookmobile.json --cold \"-15 degC\""
    )]
    Layout(LayoutArgs),
    /// Where to cut a radiator between two loops: every whole-tube cut, and the best
    #[command(
        after_help = "Example: loopwright partition networks/two-core-lesson.json --case \"hot hill\""
    )]
    Partition(PartitionArgs),
    /// Any output against any input: a grid or a sample, solved point by point
    #[command(
        after_help = "Example: loopwright sweep networks/bookmobile.json --vary \"loops.battery.parts.out.hose.bore=13 mm..25 mm:13\"\n\nA path has dots, list places as `[2]`, and may hold spaces; quote it for the shell. Ctrl-C ends the sweep after the points in hand; what was written is whole, and the exit code is 130."
    )]
    Sweep(SweepArgs),
    /// What moves each limit, most first, and the one change that would meet a missed one
    #[command(
        after_help = "Example: loopwright sensitivity networks/bookmobile.json --case \"hot hill\" --top 8\n\nSteady cases only. Exit code 0 whether or not a limit is missed; `check` answers that."
    )]
    Sensitivity(SensitivityArgs),
    /// Two designs side by side: inputs that differ, outputs that moved, limits that flipped
    #[command(
        after_help = "Examples: loopwright compare before.json after.json\n          loopwright compare networks/bookmobile.json --set \"loops.battery.parts.out.hose.bore=19 mm\"\n\nExit code 1: a limit is missed in the second design that was not in the first."
    )]
    Compare(CompareArgs),
    /// The printable job pack: one HTML page for builder, helper and inspector, its tables as files
    #[command(
        after_help = "Example: loopwright report networks/bookmobile.json -o job.html --date 2026-05-04 --units both"
    )]
    Report(ReportArgs),
    /// A first design to change: a vehicle, a header pair or one part on the bench
    #[command(
        after_help = "Example: loopwright new vehicle --modules 14 --boxes 2 --loops battery,drive -o van.json"
    )]
    New(NewArgs),
    /// What a word of the program means: a part, limit, law, finding or error code
    #[command(after_help = "Example: loopwright explain transitional-flow")]
    Explain(ExplainArgs),
    /// The JSON Schema of a design file, of a stock list or of an answer
    #[command(
        after_help = "Examples: loopwright schema > loopwright.schema.json\n          loopwright schema --of solve\n\nA design that names it, as in \"$schema\": \"./loopwright.schema.json\" in its first line, is completed and checked while it is typed, by every editor that knows JSON Schema."
    )]
    Schema(SchemaArgs),
    /// A man page, or completions for a shell
    #[command(after_help = "Example: loopwright manual check | man -l -")]
    Manual(ManualArgs),
}

/// A design and how to answer.
#[derive(Debug, clap::Args)]
pub struct DesignArgs {
    /// Design file, or `-` for standard input
    pub file: PathBuf,
    /// Only this case; may be given several times
    #[arg(long = "case", value_name = "NAME")]
    pub cases: Vec<String>,
    /// Put a value at a path before anything else, such as "loops.battery.parts.out.hose.bore=19 mm"; may be given
    /// several times
    #[arg(long = "set", value_name = "PATH=VALUE")]
    pub set: Vec<Change>,
    /// Family of units to print, in place of the design's own
    #[arg(long, value_enum)]
    pub units: Option<Units>,
    /// Print JSON with SI keys
    #[arg(long)]
    pub json: bool,
}

/// A design to be solved and how to show it.
#[derive(Debug, clap::Args)]
pub struct SolveArgs {
    /// The design and how to answer.
    #[command(flatten)]
    pub design: DesignArgs,
    /// Print one row a part and case, comma-separated, SI units
    #[arg(long, conflicts_with = "json")]
    pub csv: bool,
    /// Bars of flow and pressure after each case (default: on a terminal only)
    #[arg(long, value_enum, default_value = "auto")]
    pub chart: Chart,
}

/// Whether and how bars are drawn in text.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Chart {
    /// On a terminal: Unicode where its language settings say UTF-8, else ASCII; elsewhere none
    Auto,
    /// Block elements in eighths
    Unicode,
    /// Plain characters
    Ascii,
    /// None
    Off,
}

/// A design and what goes into its job pack.
#[derive(Debug, clap::Args)]
pub struct ReportArgs {
    /// Design file, or `-` for standard input
    pub file: PathBuf,
    /// Page to write, or `-` for standard output
    #[arg(short, long, value_name = "PAGE")]
    pub output: Option<PathBuf>,
    /// Write every table of the page as a comma-separated file into this folder, SI units
    #[arg(long, value_name = "DIR")]
    pub csv_dir: Option<PathBuf>,
    /// Write the drawing of the loops as an SVG file of its own
    #[arg(long, value_name = "FILE")]
    pub drawing: Option<PathBuf>,
    /// Replace files that are there already
    #[arg(long)]
    pub force: bool,
    /// Only this case; may be given several times, the first is drawn
    #[arg(long = "case", value_name = "NAME")]
    pub cases: Vec<String>,
    /// Family of units of the page, or both side by side (default: the design's own)
    #[arg(long, value_enum)]
    pub units: Option<PackUnits>,
    /// Date to print; without one a line is left for it
    #[arg(long, value_name = "TEXT")]
    pub date: Option<String>,
    /// Temperature of the water of the bucket test (default 20 degC)
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    pub test_water: Option<Temperature>,
    /// Print the numbers of the page as JSON with SI keys, and write no file
    #[arg(long, conflicts_with_all = ["output", "csv_dir", "drawing"])]
    pub json: bool,
}

impl ReportArgs {
    /// The part of it that says which design.
    pub fn design_args(&self) -> DesignArgs {
        DesignArgs {
            file: self.file.clone(),
            cases: self.cases.clone(),
            set: Vec::new(),
            units: None,
            json: self.json,
        }
    }
}

/// Units of a job pack.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum PackUnits {
    /// L/min, kPa, mm, degC
    Metric,
    /// gpm, psi, in, degF
    Us,
    /// The design's own, the other beside it
    Both,
}

/// A first design.
#[derive(Debug, clap::Args)]
pub struct NewArgs {
    /// What to write
    #[arg(value_enum, default_value_t = NewKind::Vehicle)]
    pub kind: NewKind,
    /// Battery modules (default 12; 8 for a header)
    #[arg(long, value_name = "N")]
    pub modules: Option<u32>,
    /// Battery boxes of a vehicle (default 2)
    #[arg(long, value_name = "N")]
    pub boxes: Option<u32>,
    /// Loops of a vehicle (default battery,drive)
    #[arg(long, value_enum, value_delimiter = ',', value_name = "LOOP,...")]
    pub loops: Option<Vec<NewLoop>>,
    /// Family of units to write
    #[arg(long, value_enum)]
    pub units: Option<Units>,
    /// File to write (default: standard output)
    #[arg(short, long, value_name = "FILE")]
    pub output: Option<PathBuf>,
    /// Replace the file if it exists
    #[arg(long)]
    pub force: bool,
}

/// Kinds of first designs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum NewKind {
    /// Boxes of modules, a drive loop, one divided radiator
    Vehicle,
    /// One header pair with its modules on tap water
    Header,
    /// One part between a tap and a bucket
    Bench,
    /// A stock list of pumps, for `size pump`
    Pumps,
    /// A stock list of hoses, for `size hose`
    Hoses,
    /// A stock list of header tubes, for `size header`
    Headers,
}

/// Loops of a vehicle.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum NewLoop {
    /// Battery modules
    Battery,
    /// Charger, inverter, motor
    Drive,
}

/// A man page or completions.
#[derive(Debug, clap::Args)]
pub struct ManualArgs {
    /// The verb (default: the program)
    pub verb: Option<String>,
    /// Print completions for this shell instead
    #[arg(long, value_enum, value_name = "SHELL", conflicts_with = "verb")]
    pub completions: Option<clap_complete::Shell>,
}

/// What the schema is of.
#[derive(Debug, clap::Args)]
pub struct SchemaArgs {
    /// A file that is read (design, stock), or what a verb prints with --json (sweep: one line)
    #[arg(long, value_name = "WHAT", default_value = "design", value_parser = described())]
    pub of: String,
}

/// What has a schema.
fn described() -> clap::builder::PossibleValuesParser {
    ["design", "stock"].into_iter().chain(ANSWERS).into()
}

/// A word to explain.
#[derive(Debug, clap::Args)]
pub struct ExplainArgs {
    /// The word, as it stands in a message, a report or a design file
    #[arg(required_unless_present = "list")]
    pub topic: Option<String>,
    /// List every topic
    #[arg(long)]
    pub list: bool,
    /// Print JSON
    #[arg(long)]
    pub json: bool,
}

/// A design and the temperatures to compare at.
#[derive(Debug, clap::Args)]
pub struct LayoutArgs {
    /// The design and how to answer; the first case named (default: the first of the design) gives the duty.
    #[command(flatten)]
    pub design: DesignArgs,
    /// Cold coolant, such as "-20 degC" (default that, or 3 K above freezing)
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    pub cold: Option<Temperature>,
    /// Warm coolant, such as "50 degC" (default that)
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    pub warm: Option<Temperature>,
}

/// A design and the radiator to divide.
#[derive(Debug, clap::Args)]
pub struct PartitionArgs {
    /// The design and how to answer.
    #[command(flatten)]
    pub design: DesignArgs,
    /// Radiator to divide (default: the only one with two cores)
    #[arg(long, value_name = "NAME")]
    pub radiator: Option<String>,
    /// The two cores between which tubes move (default: the first two)
    #[arg(long, value_name = "CORE,CORE", value_parser = two_names)]
    pub between: Option<(String, String)>,
    /// Seasons.
    #[command(flatten)]
    pub season: SeasonArgs,
    /// Print one row a cut, case and core, comma-separated, SI units
    #[arg(long, conflicts_with = "json")]
    pub csv: bool,
}

/// A design, what to vary and what to read.
#[derive(Debug, clap::Args)]
pub struct SweepArgs {
    /// The design and how to answer; --json prints one object a line.
    #[command(flatten)]
    pub design: DesignArgs,
    /// What to vary: PATH=A..B:N in N values from A to B, or PATH=a,b,c; several make a grid, the last fastest
    #[arg(long, value_name = "PATH=VALUES", required = true)]
    pub vary: Vec<Vary>,
    /// Sample N points spread evenly between the ends (PATH=A..B) in place of a grid
    #[arg(long, value_name = "N")]
    pub sobol: Option<usize>,
    /// What to read: a path in the answer of `solve --json`, with or without `cases.NAME` before it, or limits.NAME.margin;
    /// may be given several times (default: the margin of every limit)
    #[arg(long, value_name = "PATH")]
    pub output: Vec<String>,
    /// Threads (default: as many as the machine has)
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=1024))]
    pub threads: Option<u16>,
    /// Print one row a point, comma-separated, SI units
    #[arg(long, conflicts_with = "json")]
    pub csv: bool,
}

/// A design and whose slopes to take.
#[derive(Debug, clap::Args)]
pub struct SensitivityArgs {
    /// The design and how to answer.
    #[command(flatten)]
    pub design: DesignArgs,
    /// What to look at: a path in the answer of `solve --json` behind the case's name, or limits.NAME.margin; may be given
    /// several times (default: the limits)
    #[arg(long, value_name = "PATH")]
    pub output: Vec<String>,
    /// Only inputs whose path begins so, such as loops.battery.parts; may be given several times
    #[arg(long, value_name = "PATH")]
    pub input: Vec<String>,
    /// Inputs to show for each output
    #[arg(long, value_name = "N", default_value_t = 12)]
    pub top: usize,
    /// Show every limit, not only the one nearest to being missed in each case
    #[arg(long)]
    pub every_limit: bool,
    /// Print one row an output and input, comma-separated, SI units
    #[arg(long, conflicts_with = "json")]
    pub csv: bool,
}

/// Two designs, or one and what is set in it.
#[derive(Debug, clap::Args)]
pub struct CompareArgs {
    /// The design before
    pub file: PathBuf,
    /// The design after (default: the same file, with what is set)
    #[arg(required_unless_present = "set")]
    pub other: Option<PathBuf>,
    /// Put a value at a path of the design after, such as "loops.battery.parts.out.hose.bore=19 mm"; may be given
    /// several times
    #[arg(long = "set", value_name = "PATH=VALUE")]
    pub set: Vec<Change>,
    /// Only this case; may be given several times
    #[arg(long = "case", value_name = "NAME")]
    pub cases: Vec<String>,
    /// Share of itself by which an output must change to be told
    #[arg(long, value_name = "RATIO", default_value_t = loopwright::study::compare::MOVED, value_parser = ratio)]
    pub threshold: f64,
    /// Show every output that moved, not only those that moved most
    #[arg(long)]
    pub all: bool,
    /// Family of units to print, in place of the first design's own
    #[arg(long, value_enum)]
    pub units: Option<Units>,
    /// Print JSON with SI numbers
    #[arg(long)]
    pub json: bool,
    /// Print one row an input, limit or output, comma-separated, SI units
    #[arg(long, conflicts_with = "json")]
    pub csv: bool,
}

fn ratio(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(ratio) if (0.0..=10.0).contains(&ratio) => Ok(ratio),
        _ => Err("a ratio from 0 to 10 is wanted, such as 0.01 for 1 %".to_owned()),
    }
}

fn two_names(text: &str) -> Result<(String, String), String> {
    match text.split_once(',') {
        Some((a, b)) if !a.trim().is_empty() && !b.trim().is_empty() && !b.contains(',') => {
            Ok((a.trim().to_owned(), b.trim().to_owned()))
        }
        _ => Err(
            "two names of cores with a comma between are wanted, such as `battery,drive`"
                .to_owned(),
        ),
    }
}

/// Families of units.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Units {
    /// L/min, kPa, mm, degC
    Metric,
    /// gpm, psi, in, degF
    Us,
}
