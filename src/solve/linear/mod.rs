//! Sparse linear algebra of the solver: the only folder that sees the sparse library.
//!
//! `general` is any square pattern by pivoting LU. `saddle` is the pattern of a flow network, branch rows over node
//! rows: branches are eliminated into a matrix over nodes, which `flat` factorises by a fixed list of operations where
//! it is small (in the order of `order`), and `cholesky` by the library where it is large. `strong` is the pattern of heat
//! that streams carry and that of a whole vehicle, by the same list. `general` is the fallback of both.

mod cholesky;
mod flat;
mod general;
mod order;
mod pattern;
mod saddle;
mod strong;

pub use order::Diagonal;
pub use pattern::{NO_PLACE, Pivot, SaddleShape};
pub use saddle::{EXACT, Saddle};
pub use strong::StrongSystem;
