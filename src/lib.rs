//! Loopwright: coolant loops of battery vehicles as a network of pumps, hoses, headers, modules and divided radiators,
//! solved for flows, pressures and temperatures before anything is cut or welded.

pub mod correlation;
pub mod design;
pub mod finding;
pub mod fluid;
pub mod id;
pub mod network;
pub mod part;
pub mod place;
pub mod quantity;
pub mod report;
pub mod solve;
pub mod study;
