//! Reading a design file: bytes, document, network; what is wrong is printed with the user's own text.

use super::args::{DesignArgs, Units};
use super::exit::Exit;
use super::output::{message, paint};
use loopwright::design::{
    Change, Checked, Design, Fault, LARGEST_BYTES, Stock, Style, nearest, render,
};
use loopwright::network::Network;
use loopwright::quantity::UnitFamily;
use loopwright::report::Paint;
use std::io::{IsTerminal, Read};
use std::path::Path;

/// A design that was read and built.
pub struct Loaded {
    /// The file as it was read.
    pub bytes: Vec<u8>,
    pub design: Design,
    pub network: Network,
    pub family: UnitFamily,
}

/// Reads and builds a design; what is wrong is printed and the exit code returned.
pub fn load(args: &DesignArgs) -> Result<Loaded, Exit> {
    let bytes = bytes_of(&args.file)?;
    let (design, network) = load_bytes(&bytes, &args.file.display().to_string(), &args.set)?;
    for case in &args.cases {
        known_case(case, design.cases.keys().map(String::as_str))?;
    }
    let family = family(args.units, &design);
    Ok(Loaded {
        bytes,
        design,
        network,
        family,
    })
}

/// Reads a design with what is set in it, and builds it; what is wrong is printed.
pub fn load_file(file: &Path, set: &[Change]) -> Result<(Design, Network), Exit> {
    load_bytes(&bytes_of(file)?, &file.display().to_string(), set)
}

/// The bytes of a file or of standard input; what is wrong is printed.
pub fn bytes_of(file: &Path) -> Result<Vec<u8>, Exit> {
    read(file).map_err(|error| {
        let name = file.display();
        message(&format!("error: cannot read `{name}`: {error}"));
        Exit::WrongInput
    })
}

/// A design from the bytes of a file of that name, with what is set in it, and its network; what is wrong is printed.
pub fn load_bytes(bytes: &[u8], name: &str, set: &[Change]) -> Result<(Design, Network), Exit> {
    let source = Checked::read_bytes(bytes)
        .map_err(|faults| refuse(&faults, name, &String::from_utf8_lossy(bytes)))?;
    let (name, source) = if set.is_empty() {
        (name.to_owned(), source)
    } else {
        let name = format!("{name}, as set");
        let text = source.1.changed(set).map_err(|error| {
            message(&format!("error: {error}"));
            Exit::WrongInput
        })?;
        let source =
            Checked::read_bytes(text.as_bytes()).map_err(|faults| refuse(&faults, &name, &text))?;
        (name, source)
    };
    let (design, document) = source;
    let network = Network::build_checked(&design)
        .map_err(|error| refuse(&error.into_faults(&document), &name, document.text()))?;
    Ok((design.into_design(), network))
}

/// Reads a stock list; what is wrong is printed and the exit code returned.
pub fn load_stock(path: &Path) -> Result<Stock, Exit> {
    let name = path.display().to_string();
    let bytes = bytes_of(path)?;
    Stock::read_bytes(&bytes)
        .map_err(|faults| refuse(&faults, &name, &String::from_utf8_lossy(&bytes)))
}

/// Prints what is wrong with the user's own text.
fn refuse(faults: &[Fault], name: &str, text: &str) -> Exit {
    let style = match paint(std::io::stderr().is_terminal()) {
        Paint::Plain => Style::Plain,
        Paint::Coloured => Style::Coloured,
    };
    message(&render(faults, name, text, style));
    Exit::WrongInput
}

/// Whether a case is one of those there are; if not, that is printed.
pub fn known_case<'a>(case: &str, known: impl Iterator<Item = &'a str>) -> Result<(), Exit> {
    let known: Vec<&str> = known.collect();
    if known.contains(&case) {
        return Ok(());
    }
    let near = nearest(case, known.iter().copied());
    let known: Vec<String> = known.iter().map(|k| format!("`{k}`")).collect();
    let help = near.map_or(format!("its cases are {}", known.join(", ")), |n| {
        format!("did you mean `{n}`?")
    });
    message(&format!("error: the design has no case `{case}`; {help}"));
    Err(Exit::WrongInput)
}

/// The family of units to print in.
pub fn family(units: Option<Units>, design: &Design) -> UnitFamily {
    match units {
        Some(Units::Metric) => UnitFamily::Metric,
        Some(Units::Us) => UnitFamily::Us,
        None => design.units.unwrap_or_default(),
    }
}

/// Reads a file or standard input, never more than one byte above the cap: the reader refuses that by itself.
fn read(path: &Path) -> std::io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    let most = LARGEST_BYTES as u64 + 1;
    if path == Path::new("-") {
        std::io::stdin().lock().take(most).read_to_end(&mut bytes)?;
    } else {
        std::fs::File::open(path)?
            .take(most)
            .read_to_end(&mut bytes)?;
    }
    Ok(bytes)
}
