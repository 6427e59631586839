//! Drilled discs at the start of a bank's branches: where they may stand, and what they are lowered to.

use super::expand::BankPlan;
use super::lower::{LoweredPart, Outcome};
use crate::id::PartId;
use crate::network::error::{NetworkError, Rule};
use crate::part::Side;

impl BankPlan<'_> {
    /// Every disc stands at a port that has a branch, and no two at one.
    pub(super) fn check_restrictors(&self) -> Outcome<()> {
        let ports = self.branches()?;
        let circuits = self.circuits()?;
        let series = self.bank.series.unwrap_or(1) as usize;
        for (k, disc) in self.bank.restrictors.iter().enumerate() {
            let at = self.place.key("restrictors").index(k).key("port");
            let port = disc.port as usize;
            let refuse =
                |text: String, help: &str| Err(NetworkError::new(Rule::BadPart, &at, text, help));
            if port > ports {
                return refuse(
                    format!("there is no port {port} on a header of {ports}"),
                    "try a port within the header, counted from 1 at the near end",
                );
            }
            if self.bank.restrictors[..k]
                .iter()
                .any(|d| d.port == disc.port)
            {
                return refuse(
                    format!("port {port} has two restrictors"),
                    "try one, with the smaller hole",
                );
            }
            let chain = (port - 1) / circuits;
            if (chain * series..(chain + 1) * series).any(|m| self.missing(m)) {
                return refuse(
                    format!("port {port} is capped, since its module is missing"),
                    "try taking the restrictor out",
                );
            }
        }
        Ok(())
    }

    /// The disc at a port, if there is one.
    pub(super) fn disc(
        &self,
        module: usize,
        port: usize,
        circuit: &PartId,
    ) -> Outcome<Option<LoweredPart>> {
        let Some(k) = self
            .bank
            .restrictors
            .iter()
            .position(|d| d.port as usize == port + 1)
        else {
            return Ok(None);
        };
        let pipe_bore_m = match self.tail_of_module(Side::Supply, module)? {
            Some(tail) => tail.bore.m(),
            None => self
                .bank
                .port_bore_m(Side::Supply)
                .map_err(|e| self.bad(e))?,
        };
        let part = self.bank.restrictors[k].in_pipe(pipe_bore_m);
        let at = self.place.key("restrictors").index(k).key("bore");
        let id = PartId::new(format!("{circuit}.restrictor"));
        self.around.restrictor(id, &part, &at).map(Some)
    }
}
