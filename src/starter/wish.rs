//! What a first design shall hold.

use crate::quantity::UnitFamily;
use std::fmt;

/// Most modules of a first design.
const MOST_MODULES: u32 = 60;
/// Most boxes of a first design.
const MOST_BOXES: u32 = 8;

/// A loop of a vehicle.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WishedLoop {
    /// Battery modules in boxes.
    Battery,
    /// Charger, inverter and motor in a row.
    Drive,
}

/// What a first design shall hold.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Wish {
    /// Modules in all boxes together.
    pub modules: u32,
    /// Boxes, in parallel.
    pub boxes: u32,
    /// The loops.
    pub loops: Vec<WishedLoop>,
    /// Units to write.
    pub units: UnitFamily,
}

impl Default for Wish {
    fn default() -> Self {
        Self {
            modules: 12,
            boxes: 2,
            loops: vec![WishedLoop::Battery, WishedLoop::Drive],
            units: UnitFamily::Metric,
        }
    }
}

impl Wish {
    /// Checks the numbers.
    ///
    /// # Errors
    /// [`WishError`] naming number and limit.
    pub fn check(&self) -> Result<(), WishError> {
        if self.loops.is_empty() {
            return Err(WishError::NoLoop);
        }
        let mut seen = Vec::new();
        for l in &self.loops {
            if seen.contains(l) {
                return Err(WishError::LoopTwice);
            }
            seen.push(*l);
        }
        if !(1..=MOST_MODULES).contains(&self.modules) {
            return Err(WishError::Modules(self.modules));
        }
        if !(1..=MOST_BOXES).contains(&self.boxes) {
            return Err(WishError::Boxes(self.boxes));
        }
        if self.boxes > self.modules {
            return Err(WishError::EmptyBox {
                modules: self.modules,
                boxes: self.boxes,
            });
        }
        Ok(())
    }
}

/// Why a first design cannot be written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WishError {
    /// No loop.
    NoLoop,
    /// One loop named twice.
    LoopTwice,
    /// No module, or too many.
    Modules(u32),
    /// No box, or too many.
    Boxes(u32),
    /// More boxes than modules.
    EmptyBox {
        /// Modules.
        modules: u32,
        /// Boxes.
        boxes: u32,
    },
}

impl fmt::Display for WishError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "cannot write a first design because ")?;
        match self {
            Self::NoLoop => write!(f, "it has no loop; try `--loops battery,drive`"),
            Self::LoopTwice => write!(f, "a loop is named twice; name each once"),
            Self::Modules(n) => write!(
                f,
                "of the number of modules: got {n}, limit 1 to {MOST_MODULES}; write a larger one by hand from this"
            ),
            Self::Boxes(n) => write!(
                f,
                "of the number of boxes: got {n}, limit 1 to {MOST_BOXES}; try two boxes as one"
            ),
            Self::EmptyBox { modules, boxes } => write!(
                f,
                "a box would be empty: got {boxes} boxes for {modules} modules; try `--boxes {modules}`"
            ),
        }
    }
}

impl std::error::Error for WishError {}
