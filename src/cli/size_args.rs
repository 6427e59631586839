//! The arguments of `size` and `balance`, and the seasons.

use super::args::DesignArgs;
use super::output::Form;
use clap::{Args, Subcommand, ValueEnum};
use loopwright::quantity::{Length, PressureDifference, Temperature, Voltage, VolumeFlow};
use loopwright::study::season::{Season, built_in};
use std::path::PathBuf;

/// Seasons that can be asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum SeasonName {
    /// Air and all coolant at -20 degC, flows alone
    ColdSoak,
    /// Air at 15 degC
    Mild,
    /// Air at 40 degC
    Hot,
    /// Air at 30 degC, 2000 m up
    High,
    /// The case's own weather, held until all is steady
    ConstantLoad,
    /// All of them
    All,
}

/// Other weather for every case.
#[derive(Debug, Args)]
pub struct SeasonArgs {
    /// Solve every case in this season in place of its own; may be given several times
    #[arg(long = "season", value_enum, value_name = "SEASON")]
    pub names: Vec<SeasonName>,
}

impl SeasonArgs {
    /// The seasons asked for, each once.
    pub fn seasons(&self) -> Vec<Season> {
        let wanted = |k: usize| {
            self.names
                .iter()
                .any(|n| *n == SeasonName::All || *n as usize == k)
        };
        let all = built_in().into_iter().enumerate();
        all.filter(|(k, _)| wanted(*k)).map(|(_, s)| s).collect()
    }
}

/// What to size.
#[derive(Debug, Subcommand)]
pub enum SizeVerb {
    /// Which pump: each alone, two in series, two in parallel, at each supply voltage
    #[command(
        after_help = "Example: loopwright size pump networks/bookmobile.json --stock networks/stock/pumps.json --pump battery.pump"
    )]
    Pump(SizePumpArgs),
    /// Which hose bores: trunk, feeds and tails
    #[command(
        after_help = "Example: loopwright size hose networks/bookmobile.json --stock networks/stock/hoses.json --loop drive"
    )]
    Hose(SizeHoseArgs),
    /// Which header tube, layout and port bore
    #[command(
        after_help = "Example: loopwright size header networks/header-same-end.json --stock networks/stock/headers.json"
    )]
    Header(SizeHeaderArgs),
}

/// A design, a stock list and how to answer.
#[derive(Debug, Args)]
pub struct StockArgs {
    /// The design and how to answer.
    #[command(flatten)]
    pub design: DesignArgs,
    /// Seasons.
    #[command(flatten)]
    pub season: SeasonArgs,
    /// Stock list to choose from
    #[arg(long, value_name = "FILE")]
    pub stock: PathBuf,
    /// Print comma-separated rows, SI units
    #[arg(long, conflicts_with = "json")]
    pub csv: bool,
}

impl StockArgs {
    /// How the answer is printed.
    pub fn form(&self) -> Form {
        Form::of(self.design.json, self.csv)
    }
}

/// `size pump`.
#[derive(Debug, Args)]
pub struct SizePumpArgs {
    /// Design and stock list.
    #[command(flatten)]
    pub stock: StockArgs,
    /// Pump to replace, as loop.part (default: the only one)
    #[arg(long, value_name = "NAME")]
    pub pump: Option<String>,
    /// Supply voltage; may be given several times (default 10 V, 12.5 V and 15 V)
    #[arg(long = "supply", value_name = "VOLTAGE")]
    pub supplies: Vec<Voltage>,
}

/// `size hose`.
#[derive(Debug, Args)]
pub struct SizeHoseArgs {
    /// Design and stock list.
    #[command(flatten)]
    pub stock: StockArgs,
    /// Loop whose hoses are sized (default: the only one)
    #[arg(long = "loop", value_name = "NAME")]
    pub owner: Option<String>,
    /// Most pressure that the hoses may take at the design's own flows
    #[arg(long, value_name = "PRESSURE")]
    pub pressure: Option<PressureDifference>,
    /// Most sets to solve (default 1500)
    #[arg(long, value_name = "NUMBER")]
    pub most: Option<usize>,
}

/// `size header`.
#[derive(Debug, Args)]
pub struct SizeHeaderArgs {
    /// Design and stock list.
    #[command(flatten)]
    pub stock: StockArgs,
    /// Bank, as loop.bank (default: the only one)
    #[arg(long, value_name = "NAME")]
    pub bank: Option<String>,
    /// Port bore to try; may be given several times (default: those of the list, or the design's own)
    #[arg(long = "port-bore", value_name = "LENGTH")]
    pub port_bores: Vec<Length>,
    /// Cold coolant, such as "-20 degC" (default that, or 3 K above freezing)
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    pub cold: Option<Temperature>,
    /// Warm coolant, such as "50 degC" (default that)
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    pub warm: Option<Temperature>,
}

/// Targets of a balance.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum TargetName {
    /// The same flow in every branch
    Equal,
    /// In proportion to the heat of each branch
    Heat,
}

/// Drills at hand.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum DrillName {
    /// Every 0.1 mm
    Metric,
    /// Fractions, numbers and letters
    Inch,
}

/// `balance`.
#[derive(Debug, Args)]
pub struct BalanceArgs {
    /// The design and how to answer.
    #[command(flatten)]
    pub design: DesignArgs,
    /// Seasons.
    #[command(flatten)]
    pub season: SeasonArgs,
    /// Loop to balance (default: the only one with banks)
    #[arg(long = "loop", value_name = "NAME")]
    pub owner: Option<String>,
    /// Only this bank; may be given several times (default: all of the loop, against each other too)
    #[arg(long = "bank", value_name = "NAME")]
    pub banks: Vec<String>,
    /// What the flows are to be
    #[arg(long, value_enum, default_value = "equal")]
    pub target: TargetName,
    /// Thickness of the discs (default 1.5 mm)
    #[arg(long, value_name = "LENGTH")]
    pub thickness: Option<Length>,
    /// Drills at hand (default: those of the family of units)
    #[arg(long, value_enum)]
    pub drills: Option<DrillName>,
    /// Largest deviation from the target to hold, as a ratio (default: the design's limit, or 0.05)
    #[arg(long, value_name = "RATIO")]
    pub within: Option<f64>,
    /// Least flow that each branch must get
    #[arg(long, value_name = "FLOW")]
    pub flow: Option<VolumeFlow>,
    /// Cold coolant, such as "-20 degC" (default that, or 3 K above freezing)
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    pub cold: Option<Temperature>,
    /// Warm coolant, at which the discs are sized (default 50 degC)
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    pub warm: Option<Temperature>,
    /// Print one row a branch, comma-separated, SI units
    #[arg(long, conflicts_with = "json")]
    pub csv: bool,
}
