//! Warnings as values: what a builder should know about an answer, with cause, effect and next step. Never printed here.

use crate::id::Subject;

/// A kind of finding; the text of [`FindingKind::code`] is stable.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum FindingKind {
    /// A loop or network that nothing drives.
    NoDriver,
    /// Flow in the uncertain range between laminar and turbulent.
    TransitionalFlow,
    /// Hazen-Williams outside the range it was made for.
    HazenWilliamsRange,
    /// A measured pressure drop used far from its points.
    OutsideMeasuredSpan,
    /// A measured pressure drop that the two-term law fits badly.
    PoorFit,
    /// One measured point without a laminar share.
    SinglePoint,
    /// A pump or fan beyond the last point of its curve.
    BeyondCurve,
    /// A pump or fan with flow running backwards through it.
    BackwardsThroughMachine,
    /// A pump or fan that stands still.
    StoppedMachine,
    /// A pump that runs against a closed path.
    DeadHead,
    /// A pump moving coolant too viscous for its curve.
    ViscousPump,
    /// A check valve that is shut.
    ShutCheckValve,
    /// Air flowing backwards through a core.
    BackwardsAir,
    /// A core that warms its coolant, or is asked to cool below its air.
    CoreCannotCool,
    /// A property taken beyond its published range.
    ExtrapolatedProperty,
    /// Coolant near or above boiling.
    NearBoiling,
    /// Coolant near or below freezing.
    NearFreezing,
    /// A height that nobody gave and that matters.
    MissingHeight,
    /// Branches of one bank partly laminar, partly turbulent.
    MixedRegime,
    /// A verdict resting on a placeholder.
    Placeholder,
    /// Heat left out of the answer.
    HeatLeftOut,
    /// A default the user may not know of.
    Default,
    /// A branch whose pressure loss falls with flow.
    FallingLoss,
    /// A tee model used outside what its source covers.
    TeeRange,
    /// A part whose coolant nobody stated.
    UnknownVolume,
    /// An expansion tank too small for the growth of its coolant.
    SmallTank,
    /// A cap that opens at the stated pressure of its tank.
    CapOpens,
    /// Fins outside the geometry or the air velocity their correlation was made for.
    FinRange,
    /// Dimpled tubes outside the Reynolds numbers of their factors.
    DimpleRange,
    /// A load outside the table that gives its heat.
    OutsideTable,
    /// An exchanger that takes all the heat it can.
    ExchangerAtLimit,
    /// A second answer of the same case.
    SecondAnswer,
}

impl FindingKind {
    /// The stable code.
    pub fn code(self) -> &'static str {
        match self {
            Self::NoDriver => "no-driver",
            Self::TransitionalFlow => "transitional-flow",
            Self::HazenWilliamsRange => "hazen-williams-range",
            Self::OutsideMeasuredSpan => "outside-measured-span",
            Self::PoorFit => "poor-fit",
            Self::SinglePoint => "single-point",
            Self::BeyondCurve => "beyond-curve",
            Self::BackwardsThroughMachine => "backwards-through-machine",
            Self::StoppedMachine => "stopped-machine",
            Self::DeadHead => "dead-head",
            Self::ViscousPump => "viscous-pump",
            Self::ShutCheckValve => "shut-check-valve",
            Self::BackwardsAir => "backwards-air",
            Self::CoreCannotCool => "core-cannot-cool",
            Self::ExtrapolatedProperty => "extrapolated-property",
            Self::NearBoiling => "near-boiling",
            Self::NearFreezing => "near-freezing",
            Self::MissingHeight => "missing-height",
            Self::MixedRegime => "mixed-regime",
            Self::Placeholder => "placeholder",
            Self::HeatLeftOut => "heat-left-out",
            Self::Default => "default",
            Self::FallingLoss => "falling-loss",
            Self::TeeRange => "tee-range",
            Self::UnknownVolume => "unknown-volume",
            Self::SmallTank => "small-tank",
            Self::CapOpens => "cap-opens",
            Self::FinRange => "fin-range",
            Self::DimpleRange => "dimple-range",
            Self::OutsideTable => "outside-table",
            Self::ExchangerAtLimit => "exchanger-at-limit",
            Self::SecondAnswer => "second-answer",
        }
    }
}

/// One finding.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Finding {
    /// What kind.
    pub kind: FindingKind,
    /// Which part, loop or radiator.
    pub subject: Subject,
    /// Cause, effect and next step in one or two sentences.
    pub text: String,
}

impl Finding {
    /// A finding about a subject.
    pub fn new(kind: FindingKind, subject: Subject, text: impl Into<String>) -> Self {
        Self {
            kind,
            subject,
            text: text.into(),
        }
    }
}
