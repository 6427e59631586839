//! A header of a bank: its ports, the tees at them and the pieces between.

use super::expand::{BankPlan, Joint};
use super::lower::{LoweredPart, Outcome};
use super::ports::{Ports, Tap, middle_tee, open_share, port_tee};
use crate::correlation::tees::{TeeShape, tee_check};
use crate::correlation::{SectionShape, SharpEdge, barb, bore_step};
use crate::network::flow::{BranchEnd, Element, FlowNet, NodeKind, Passage, TeeNode};
use crate::part::{Law, Placed, Side, TwoTerm};

/// Leg of a header tee that faces the near end of the header.
const NEAR: usize = 0;
/// Leg of a header tee that faces the far end.
const FAR: usize = 1;
/// Leg of a header tee that carries a port, or the feed.
pub(super) const PORT: usize = 2;

/// The sudden change of section between two ports.
pub(super) fn step_law(near: &SectionShape, far: &SectionShape, near_to_far: bool) -> Option<Law> {
    let (a, b) = if near_to_far {
        (near, far)
    } else {
        (far, near)
    };
    if (a.area_m2() / b.area_m2() - 1.0).abs() < 1e-9 {
        return None;
    }
    // Round bores of equal area.
    let bore = |s: &SectionShape| (s.area_m2() / std::f64::consts::FRAC_PI_4).sqrt();
    let step = bore_step(bore(a), bore(b), SharpEdge::default());
    let laminar = step.forward.k_laminar.max(step.backward.k_laminar);
    let law = TwoTerm::on_bore(
        laminar,
        step.forward.k_turbulent,
        step.backward.k_turbulent,
        bore(a),
        a.area_m2(),
    );
    Some(Law::TwoTerm(law))
}

/// The narrowing beside a spigot that stands into the header: contraction into the open share and expansion out of it
/// (common practice, no source), on the velocity in the header.
pub(super) fn blockage_law(shape: &SectionShape, open: f64) -> Law {
    let bore = (shape.area_m2() / std::f64::consts::FRAC_PI_4).sqrt();
    let narrow = barb(bore, bore * open.sqrt(), bore, 0.0, SharpEdge::default());
    Law::TwoTerm(TwoTerm::on_bore(
        narrow.forward.k_laminar,
        narrow.forward.k_turbulent,
        narrow.backward.k_turbulent,
        bore,
        shape.area_m2(),
    ))
}

/// One header while it is laid out.
pub(super) struct Laid {
    pub ports: Ports,
    pub tap: Tap,
    pub tees: Vec<usize>,
    pub tap_tee: Option<usize>,
}

impl BankPlan<'_> {
    pub(super) fn lay(&self, net: &mut FlowNet, side: Side) -> Outcome<Laid> {
        let count = self.branches()?;
        let ports = Ports::of(self.bank, side, count).map_err(|e| self.bad(e))?;
        let (feed, draw_off) = self.bank.ends().map_err(|e| self.bad(e))?;
        let end = if side == Side::Supply { feed } else { draw_off };
        let tap = ports.tap(end).map_err(|e| self.bad(e))?;
        let header = self.bank.header_of(side).map_err(|e| self.bad(e))?;
        let mut tees = Vec::with_capacity(count);
        for port in 0..count {
            let at = ports
                .shape(header, port)
                .map_err(|e| self.bad_at(&self.key_of("header", side), e))?;
            let shape = port_tee(self.bank, side, &at, &at)
                .map_err(|e| self.bad_at(&self.port_key(side), e))?;
            tees.push(self.add_tee(net, side, &format!("tee {}", port + 1), shape)?);
        }
        let tap_tee = match tap {
            Tap::After(port) => {
                let at = ports.shape(header, port - 1).map_err(|e| self.bad(e))?;
                let shape = middle_tee(self.bank, &at).map_err(|e| self.bad(e))?;
                let name = if side == Side::Supply {
                    "feed"
                } else {
                    "outlet"
                };
                Some(self.add_tee(net, side, name, shape)?)
            }
            Tap::Near | Tap::Far => None,
        };
        Ok(Laid {
            ports,
            tap,
            tees,
            tap_tee,
        })
    }

    pub(super) fn add_tee(
        &self,
        net: &mut FlowNet,
        side: Side,
        name: &str,
        shape: TeeShape,
    ) -> Outcome<usize> {
        // The handbook set knows no unequal run; where it is chosen the check says so.
        tee_check(self.tees, &shape).map_err(|e| self.bad(e.to_string()))?;
        let node = TeeNode {
            model: self.tees,
            shape,
            legs: [None; 3],
        };
        Ok(net.add_node(
            self.id(&format!("{}.{name}", side.word())),
            NodeKind::Tee(node),
        ))
    }

    /// Tees in order along the header with their places, the tap among them.
    pub(super) fn stations(&self, laid: &Laid) -> Vec<(usize, f64, Option<usize>)> {
        let mut list: Vec<(usize, f64, Option<usize>)> = laid
            .tees
            .iter()
            .zip(&laid.ports.at_m)
            .enumerate()
            .map(|(port, (tee, at))| (*tee, *at, Some(port)))
            .collect();
        if let (Some(tee), Tap::After(port)) = (laid.tap_tee, laid.tap) {
            let at = 0.5 * (laid.ports.at_m[port - 1] + laid.ports.at_m[port]);
            list.insert(port, (tee, at, None));
        }
        list
    }

    /// Pieces of header between neighbouring tees, each written in the direction in which it is meant to flow: away
    /// from the feed, towards the outlet. A piece carries the number of the tee on the side away from the tap.
    pub(super) fn join_tees(&self, net: &mut FlowNet, side: Side, laid: &Laid) -> Outcome<()> {
        let stations = self.stations(laid);
        for (k, pair) in stations.windows(2).enumerate() {
            let beyond_tap = match laid.tap {
                Tap::Near => true,
                Tap::Far => false,
                Tap::After(port) => k >= port,
            };
            let (outer, outer_tee_end, inner_tee_end) = if beyond_tap {
                (pair[1], NEAR, FAR)
            } else {
                (pair[0], FAR, NEAR)
            };
            let inner = if beyond_tap { pair[0] } else { pair[1] };
            let (from, to, from_leg, to_leg) = match side {
                Side::Supply => (inner.0, outer.0, inner_tee_end, outer_tee_end),
                Side::Return => (outer.0, inner.0, outer_tee_end, inner_tee_end),
            };
            let length = pair[1].1 - pair[0].1;
            let start = net.elements.len();
            if length > 0.0 {
                let port = outer.2.unwrap_or(0);
                let piece = self.piece(side, laid, port, length, pair[0].2.zip(pair[1].2))?;
                net.add_element(piece.element, piece.laws);
            }
            let branch = net.add_branch(from, to, start..net.elements.len(), Passage::Open);
            net.tie(from, from_leg, branch, BranchEnd::Start);
            net.tie(to, to_leg, branch, BranchEnd::Finish);
        }
        Ok(())
    }

    /// One piece of header, with the step in section and the spigot that stands into it.
    pub(super) fn piece(
        &self,
        side: Side,
        laid: &Laid,
        port: usize,
        length_m: f64,
        between: Option<(usize, usize)>,
    ) -> Outcome<LoweredPart> {
        let header = self.bank.header_of(side).map_err(|e| self.bad(e))?;
        let along = laid.ports.at_m[port] / laid.ports.length_m;
        let half = 0.5 * length_m / laid.ports.length_m;
        let toward_near = between.map_or(0.0, |(a, _)| if a == port { half } else { -half });
        let shape = header
            .shape_at(port, along + toward_near)
            .map_err(|e| self.bad(e))?;
        let id = self.id(&format!("{}.segment {}", side.word(), port + 1));
        let conduit = header.piece(shape, length_m);
        let mut lowered = self.around.conduit(
            Element::new(id, "header", self.bank.origin()),
            &conduit,
            &[],
        );
        if let Some((near, far)) = between
            && header.taper_to.is_none()
        {
            let ends = (
                laid.ports.shape(header, near).map_err(|e| self.bad(e))?,
                laid.ports.shape(header, far).map_err(|e| self.bad(e))?,
            );
            let flows_near_to_far = (side == Side::Supply) == (port == far);
            lowered
                .laws
                .extend(step_law(&ends.0, &ends.1, flows_near_to_far));
        }
        if self.bank.port_protrusion.is_some_and(|p| p.m() > 0.0) {
            let open = open_share(self.bank, side, &shape).map_err(|e| self.bad(e))?;
            lowered.laws.push(blockage_law(&shape, open));
        }
        Ok(lowered)
    }

    /// The end of a header at which the run is joined.
    pub(super) fn joint(&self, laid: &Laid, side: Side) -> Outcome<Joint> {
        let last = laid.tees.len() - 1;
        let (tee, leg, port, length) = match (laid.tap, laid.tap_tee) {
            (_, Some(tee)) => {
                return Ok(Joint {
                    tee,
                    leg: PORT,
                    piece: None,
                });
            }
            (Tap::Far, None) => (
                laid.tees[last],
                FAR,
                last,
                laid.ports.length_m - laid.ports.at_m[last],
            ),
            (_, None) => (laid.tees[0], NEAR, 0, laid.ports.at_m[0]),
        };
        let piece = self.piece(side, laid, port, length, None)?;
        Ok(Joint {
            tee,
            leg,
            piece: Some(piece),
        })
    }

    pub(super) fn joint_place(&self, laid: &Laid) -> (usize, usize) {
        match (laid.tap, laid.tap_tee) {
            (_, Some(tee)) => (tee, PORT),
            (Tap::Far, None) => (laid.tees[laid.tees.len() - 1], FAR),
            (_, None) => (laid.tees[0], NEAR),
        }
    }
}
