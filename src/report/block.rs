//! A report as meaning: headings, paragraphs and tables whose cells carry a tone. Renderers decide how they look.

/// A report.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Report {
    /// Its blocks, in order.
    pub blocks: Vec<Block>,
}

/// One block.
#[derive(Clone, Debug, PartialEq)]
pub enum Block {
    /// The title of a report or of one case.
    Title(String),
    /// The heading of a section.
    Heading(String),
    /// One or more sentences.
    Paragraph(Cell),
    /// A list of sentences.
    List(Vec<Cell>),
    /// A table.
    Table(Table),
}

/// A table: columns with headings, rows of cells.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Table {
    /// Headings and alignment.
    pub columns: Vec<(String, Align)>,
    /// Rows, each as long as there are columns.
    pub rows: Vec<Vec<Cell>>,
}

/// Alignment of a column.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Align {
    /// Words.
    Left,
    /// Numbers.
    Right,
}

/// Text with a tone.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Cell {
    /// The text.
    pub text: String,
    /// Its tone.
    pub tone: Tone,
}

/// What a cell means for the builder.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Tone {
    /// Nothing special.
    #[default]
    Plain,
    /// As it should be.
    Good,
    /// To be looked at.
    Warn,
    /// Wrong.
    Bad,
}

impl Cell {
    /// Text with a tone.
    pub fn toned(text: impl Into<String>, tone: Tone) -> Self {
        Self {
            text: text.into(),
            tone,
        }
    }
}

impl<T: Into<String>> From<T> for Cell {
    fn from(text: T) -> Self {
        Self::toned(text, Tone::Plain)
    }
}

impl Table {
    /// A table with these columns; a `>` before a heading aligns it right.
    pub fn new(columns: &[&str]) -> Self {
        let columns = columns
            .iter()
            .map(|c| match c.strip_prefix('>') {
                Some(name) => (name.to_owned(), Align::Right),
                None => ((*c).to_owned(), Align::Left),
            })
            .collect();
        Self {
            columns,
            rows: Vec::new(),
        }
    }

    /// Adds a row.
    pub fn row(&mut self, cells: Vec<Cell>) {
        self.rows.push(cells);
    }
}

impl Report {
    /// Adds a title.
    pub fn title(&mut self, text: impl Into<String>) {
        self.blocks.push(Block::Title(text.into()));
    }

    /// Adds a heading.
    pub fn heading(&mut self, text: impl Into<String>) {
        self.blocks.push(Block::Heading(text.into()));
    }

    /// Adds a paragraph.
    pub fn say(&mut self, text: impl Into<Cell>) {
        self.blocks.push(Block::Paragraph(text.into()));
    }

    /// Adds a list, unless it is empty.
    pub fn list(&mut self, items: Vec<Cell>) {
        if !items.is_empty() {
            self.blocks.push(Block::List(items));
        }
    }

    /// Adds a table, unless it has no rows.
    pub fn table(&mut self, table: Table) {
        if !table.rows.is_empty() {
            self.blocks.push(Block::Table(table));
        }
    }
}
