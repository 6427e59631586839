//! Stock lists to begin from: those of `networks/stock/`, for a builder who has the program and no folder of samples.

/// What a stock list holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StockList {
    /// Pumps by their curves.
    Pumps,
    /// Hoses by their bores.
    Hoses,
    /// Header tubes and port bores.
    Headers,
}

impl StockList {
    /// The list as a file.
    ///
    /// ```
    /// use loopwright::{design::Stock, starter::StockList};
    /// assert!(Stock::read(StockList::Pumps.text()).is_ok());
    /// ```
    pub fn text(self) -> &'static str {
        match self {
            Self::Pumps => include_str!("../../networks/stock/pumps.json"),
            Self::Hoses => include_str!("../../networks/stock/hoses.json"),
            Self::Headers => include_str!("../../networks/stock/headers.json"),
        }
    }

    /// What is sized from it, as `loopwright size` names it.
    pub fn sizes(self) -> &'static str {
        match self {
            Self::Pumps => "pump",
            Self::Hoses => "hose",
            Self::Headers => "header",
        }
    }
}
