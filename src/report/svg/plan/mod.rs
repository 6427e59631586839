//! The drawing of a loop, laid out from what is joined to what: parts in rows by their distance from the tank, so that
//! supply runs down on one side and return comes up on the other; lines between rows in tracks of their own.
//!
//! Symbols follow the open conventions of flow diagrams in general (ISO 14617): a circle with a triangle moves, a bow tie
//! closes, a box gives or takes heat.

mod draw;
mod order;
mod route;
mod symbols;

pub(in crate::report) use draw::draw_loop;

/// A line of text: as it is seen, for its width, and as markup.
#[derive(Clone, Debug, Default)]
pub(in crate::report) struct Label {
    pub plain: String,
    pub markup: String,
}

/// One module of a bank.
#[derive(Clone, Copy, Debug, Default)]
pub(in crate::report) struct Cellule {
    /// Flow over the mean; `NaN` where the module is missing.
    pub over_mean: f64,
}

/// What a vertex is.
#[derive(Clone, Debug)]
pub(in crate::report) enum Shape {
    /// A hose, drawn as a thick line in its own place, so that its label has room.
    Hose,
    /// A meeting point or tee.
    Joint,
    /// Anything with a symbol, by the key of its kind.
    Symbol(&'static str),
    /// A bank with its modules.
    Bank(Vec<Cellule>),
}

/// A part in the drawing.
#[derive(Clone, Debug)]
pub(in crate::report) struct Vertex {
    pub shape: Shape,
    pub label: Vec<Label>,
    /// Flow through it for the width of a hose, any unit.
    pub flow: f64,
}

/// A connection, in the direction of the run.
#[derive(Clone, Copy, Debug)]
pub(in crate::report) struct Link {
    pub from: usize,
    pub to: usize,
    /// Flow, positive from `from` to `to`, in the unit of the vertices.
    pub flow: f64,
}

/// What is joined to what.
#[derive(Clone, Debug, Default)]
pub(in crate::report) struct Graph {
    pub vertices: Vec<Vertex>,
    pub links: Vec<Link>,
    /// Where the drawing begins: the tank, or whatever stands for it. Further pieces begin at their first vertex.
    pub root: usize,
    /// Largest flow of the drawing, for the width of lines.
    pub largest_flow: f64,
}
