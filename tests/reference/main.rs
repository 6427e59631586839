//! Does it agree with the books? One file a topic; `SOURCES.md` names every source.
mod coolants;
mod cores;
mod ducts;
mod exchangers;
mod fittings;
mod friction;
mod headers;
mod hoses;
mod networks;
mod stacked;
mod sobol;
mod table;
mod tees;
mod thermal_paths;
mod transient;
mod trend;
mod vehicle;
