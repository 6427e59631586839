//! First designs: a vehicle, a header on the bench, one part on the bench, written as design files with notes.
//! Every number in them is a placeholder that says so; what is written solves and meets its own limits.

mod bench;
mod sizes;
mod stock;
mod vehicle;
mod wish;

pub use bench::{bench, header};
pub use stock::StockList;
pub use vehicle::vehicle;
pub use wish::{Wish, WishError, WishedLoop};
