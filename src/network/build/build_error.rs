//! Why no network could be built.

use crate::design::{Document, Fault, FaultCode};
use crate::network::error::NetworkError;

/// Why a design makes no network.
#[derive(Clone, Debug, PartialEq)]
pub struct BuildError {
    /// Values that the schema refuses.
    pub faults: Vec<Fault>,
    /// Rules of the network that are broken.
    pub rules: Vec<NetworkError>,
}

impl BuildError {
    /// Every mistake as a fault that points into the text the design was read from, in the order of that text.
    pub fn into_faults(self, document: &Document) -> Vec<Fault> {
        let rules = self.rules.into_iter().map(|rule| {
            let span = match document.key_span(&rule.place) {
                Some(key) if rule.is_of_the_key() => key,
                _ => document.spot(&rule.place),
            };
            Fault {
                code: FaultCode::Rule(rule.rule.code()),
                place: rule.place,
                span: Some(span),
                message: rule.message,
                help: rule.help,
            }
        });
        let mut faults: Vec<Fault> = self.faults.into_iter().chain(rules).collect();
        faults.sort_by_key(|fault| fault.span.as_ref().map(|span| span.start));
        faults
    }
}

impl std::fmt::Display for BuildError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        for fault in &self.faults {
            writeln!(f, "{fault}")?;
        }
        for rule in &self.rules {
            writeln!(f, "{rule}")?;
        }
        Ok(())
    }
}

impl std::error::Error for BuildError {}
