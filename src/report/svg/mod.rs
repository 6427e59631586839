//! Drawings as SVG text: a writer, charts and the drawing of the loops. Where a number comes from is said by the caller;
//! nothing is computed here but places on paper.

mod bars;
mod chart;
mod headers;
mod lines;
mod pen;
pub(super) mod plan;
mod radiator;
mod ruler;

pub(super) use bars::{Bar, BarChart};
pub(super) use chart::Look;
pub(super) use headers::{ColumnChart, ColumnSeries, Joined};
pub(super) use lines::{FromZero, LineChart, Marker, Series, Span, Threshold};
pub(super) use pen::{Anchor, Attributes, Pen, escape};
pub(super) use radiator::{FaceCore, FaceFan, RadiatorFace};
