//! What every part record has in common: heights of its ends and the origin of its numbers.

use super::origin::Origin;
use crate::quantity::Length;

/// Heights and origin, which any part may give.
pub trait Placed {
    /// Height of the whole part (both ends), where given.
    fn elevation(&self) -> Option<Length>;
    /// Height of the inlet, where given.
    fn inlet_elevation(&self) -> Option<Length>;
    /// Height of the outlet, where given.
    fn outlet_elevation(&self) -> Option<Length>;
    /// Origin of the numbers, where given.
    fn origin(&self) -> Option<Origin>;
}

/// Declares the record of a part that has an inlet and an outlet.
macro_rules! two_end_part {
    ($(#[$meta:meta])* pub struct $name:ident { $($(#[$fmeta:meta])* pub $field:ident : $type:ty,)* }) => {
        $(#[$meta])*
        #[derive(Clone, Debug, PartialEq, serde::Serialize, serde::Deserialize)]
        #[cfg_attr(test, derive(schemars::JsonSchema))]
        #[serde(deny_unknown_fields)]
        pub struct $name {
            $($(#[$fmeta])* pub $field: $type,)*
            /// Height of the part above the datum, where inlet and outlet are level.
            pub elevation: Option<crate::quantity::Length>,
            /// Height of the inlet above the datum.
            pub inlet_elevation: Option<crate::quantity::Length>,
            /// Height of the outlet above the datum.
            pub outlet_elevation: Option<crate::quantity::Length>,
            /// Where the numbers come from.
            pub origin: Option<crate::part::Origin>,
        }
        impl crate::part::Placed for $name {
            fn elevation(&self) -> Option<crate::quantity::Length> { self.elevation }
            fn inlet_elevation(&self) -> Option<crate::quantity::Length> { self.inlet_elevation.or(self.elevation) }
            fn outlet_elevation(&self) -> Option<crate::quantity::Length> { self.outlet_elevation.or(self.elevation) }
            fn origin(&self) -> Option<crate::part::Origin> { self.origin }
        }
    };
}

/// Declares the record of a part that is one point of the loop.
macro_rules! point_part {
    ($(#[$meta:meta])* pub struct $name:ident { $($(#[$fmeta:meta])* pub $field:ident : $type:ty,)* }) => {
        $(#[$meta])*
        #[derive(Clone, Debug, PartialEq, serde::Serialize, serde::Deserialize)]
        #[cfg_attr(test, derive(schemars::JsonSchema))]
        #[serde(deny_unknown_fields)]
        pub struct $name {
            $($(#[$fmeta])* pub $field: $type,)*
            /// Height above the datum.
            pub elevation: Option<crate::quantity::Length>,
            /// Where the numbers come from.
            pub origin: Option<crate::part::Origin>,
        }
        impl crate::part::Placed for $name {
            fn elevation(&self) -> Option<crate::quantity::Length> { self.elevation }
            fn inlet_elevation(&self) -> Option<crate::quantity::Length> { self.elevation }
            fn outlet_elevation(&self) -> Option<crate::quantity::Length> { self.elevation }
            fn origin(&self) -> Option<crate::part::Origin> { self.origin }
        }
    };
}

pub(crate) use {point_part, two_end_part};
