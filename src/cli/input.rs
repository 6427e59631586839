//! Reading a design file: bytes, document, network; what is wrong is printed with the user's own text.

use super::args::{DesignArgs, Units};
use super::exit::Exit;
use super::output::{message, paint};
use loopwright::design::{Design, Fault, LARGEST_BYTES, Source, Style, nearest, render};
use loopwright::network::Network;
use loopwright::quantity::UnitFamily;
use loopwright::report::Paint;
use std::io::{IsTerminal, Read};
use std::path::Path;

/// A design that was read and built.
pub struct Loaded {
    pub design: Design,
    pub network: Network,
    pub family: UnitFamily,
}

/// Reads and builds a design; what is wrong is printed and the exit code returned.
pub fn load(args: &DesignArgs) -> Result<Loaded, Exit> {
    let name = args.file.display().to_string();
    let bytes = read(&args.file).map_err(|error| {
        message(&format!("error: cannot read `{name}`: {error}"));
        Exit::WrongInput
    })?;
    let refuse = |faults: &[Fault]| {
        let text = String::from_utf8_lossy(&bytes);
        let style = match paint(std::io::stderr().is_terminal()) {
            Paint::Plain => Style::Plain,
            Paint::Coloured => Style::Coloured,
        };
        message(&render(faults, &name, &text, style));
        Exit::WrongInput
    };
    let Source { design, document } =
        Source::read_bytes(&bytes).map_err(|faults| refuse(&faults))?;
    let network = Network::build(&design).map_err(|error| refuse(&error.into_faults(&document)))?;
    for case in &args.cases {
        if !design.cases.contains_key(case) {
            let known: Vec<String> = design.cases.keys().map(|k| format!("`{k}`")).collect();
            let near = nearest(case, design.cases.keys().map(String::as_str));
            let help = near.map_or(format!("its cases are {}", known.join(", ")), |n| {
                format!("did you mean `{n}`?")
            });
            message(&format!("error: the design has no case `{case}`; {help}"));
            return Err(Exit::WrongInput);
        }
    }
    let family = match args.units {
        Some(Units::Metric) => UnitFamily::Metric,
        Some(Units::Us) => UnitFamily::Us,
        None => design.units.unwrap_or_default(),
    };
    Ok(Loaded {
        design,
        network,
        family,
    })
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
