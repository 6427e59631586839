//! The cautions that every report prints once, in the user's words.

/// Cautions, one sentence each. Local codes and licensed practice come before anything printed here.
pub const CAUTIONS: [&str; 8] = [
    "High voltage kills: have live parts switched off, locked and proven dead before any coolant work.",
    "Hot coolant under pressure scalds: never open a hot cap.",
    "Glycol poisons people and animals: catch it, label it, keep it locked away.",
    "Leaks and dew near live parts make faults: no joint above bus bars, drain holes at the lowest point.",
    "Coolant flow does not stop a burning cell.",
    "Pressure-test with water, not air, with live parts disconnected and people clear.",
    "This is an estimate from the numbers given, not a certificate: prove the flow with a bucket and a watch.",
    "Local codes and licensed practice decide.",
];
