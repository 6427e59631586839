//! What cores meet that other cores decide: the air before each strip, and the coolant beyond each tank plate.
//! Numbers of one case, noted core by core and followed along every stream of air; it solves nothing.

use super::case_state::AirState;
use super::exchange::StripHeat;
use super::plates::Plate;
use crate::network::{Case, Network};

/// A stream of air through strips one behind another.
#[derive(Clone, Debug)]
struct Stream {
    air: usize,
    branch: usize,
    /// Core and strip, in the direction of positive flow.
    strips: Vec<(usize, usize)>,
}

/// Coolant in the tanks of a core, K.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tanks {
    /// Where it enters.
    pub inlet_k: f64,
    /// Where it leaves.
    pub outlet_k: f64,
}

/// A core as last noted.
#[derive(Clone, Debug, Default)]
struct Noted {
    /// Coolant that meets the air, K.
    inlet_k: f64,
    /// For each strip, the share of the way from air to coolant that the air goes.
    approach: Vec<f64>,
    /// None where the core carries no heat.
    tanks: Option<Tanks>,
}

/// What every core meets.
#[derive(Clone, Debug)]
pub struct Meeting {
    streams: Vec<Stream>,
    neighbours: Vec<Vec<(usize, f64)>>,
    noted: Vec<Noted>,
    before_k: Vec<Vec<f64>>,
}

impl Meeting {
    /// Nothing noted: air as it enters, no heat through plates.
    pub fn new(network: &Network, case: &Case, airs: &[AirState]) -> Self {
        let cores = network.cores();
        let mut streams: Vec<Stream> = Vec::new();
        for (c, core) in cores.iter().enumerate() {
            for (s, strip) in core.strips.iter().enumerate() {
                let known =
                    (streams.iter_mut()).find(|x| x.air == core.air && x.branch == strip.branch);
                match known {
                    Some(stream) => stream.strips.push((c, s)),
                    None => streams.push(Stream {
                        air: core.air,
                        branch: strip.branch,
                        strips: vec![(c, s)],
                    }),
                }
            }
        }
        for stream in &mut streams {
            stream
                .strips
                .sort_by_key(|(c, s)| cores[*c].strips[*s].element);
        }
        let mut neighbours = vec![Vec::new(); cores.len()];
        for plate in network.tank_plates() {
            let [a, b] = plate.cores;
            neighbours[a].push((b, 0.5 * plate.conductance_w_k));
            neighbours[b].push((a, 0.5 * plate.conductance_w_k));
        }
        let mut meeting = Self {
            streams,
            neighbours,
            noted: cores
                .iter()
                .map(|c| Noted {
                    approach: vec![0.0; c.strips.len()],
                    ..Noted::default()
                })
                .collect(),
            before_k: cores.iter().map(|c| vec![0.0; c.strips.len()]).collect(),
        };
        meeting.follow(case, airs);
        meeting
    }

    /// The air before each strip of a core, K.
    pub fn air_before_k(&self, core: usize) -> &[f64] {
        &self.before_k[core]
    }

    /// The plates of a core beyond which coolant carries heat.
    pub fn plates(&self, core: usize) -> Vec<Plate> {
        self.beyond(core).map(|(_, plate)| plate).collect()
    }

    /// The same with the cores beyond.
    pub fn beyond(&self, core: usize) -> impl Iterator<Item = (usize, Plate)> + '_ {
        let own = self.noted[core].tanks.is_some();
        (self.neighbours[core].iter()).filter_map(move |(other, half_w_k)| {
            let tanks = self.noted[*other].tanks.filter(|_| own)?;
            let plate = Plate {
                half_w_k: *half_w_k,
                inlet_tank_k: tanks.inlet_k,
                outlet_tank_k: tanks.outlet_k,
            };
            Some((*other, plate))
        })
    }

    /// Whether any core meets what another one gives: air behind it, air that it turned back, or heat through a plate.
    pub fn ties_cores(&self, airs: &[AirState]) -> bool {
        let plates = self.neighbours.iter().any(|others| !others.is_empty());
        plates
            || self.streams.iter().any(|stream| {
                let air = &airs[stream.air];
                let backwards = air.flow.flow_kg_s[stream.branch] < 0.0;
                stream.strips.len() > 1 || (backwards && air.path.mouth.is_some())
            })
    }

    /// Whether a core shares a plate with another.
    pub fn has_plates(&self, core: usize) -> bool {
        !self.neighbours[core].is_empty()
    }

    /// Sets the air before each strip of a core, K.
    pub fn set_before_k(&mut self, core: usize, before_k: &[f64]) {
        self.before_k[core].copy_from_slice(before_k);
    }

    /// Sets the coolant in the tanks of a core, K.
    pub fn set_tanks(&mut self, core: usize, inlet_k: f64, outlet_k: f64) {
        self.noted[core].tanks = Some(Tanks { inlet_k, outlet_k });
    }

    /// The tanks of a core as last noted.
    pub fn tanks(&self, core: usize) -> Option<Tanks> {
        self.noted[core].tanks
    }

    /// Notes what a core gives its air, and its tanks; none where it carries no heat.
    pub fn note(
        &mut self,
        core: usize,
        inlet_k: f64,
        strips: &[StripHeat],
        air_w_k: f64,
        tanks: Option<Tanks>,
    ) {
        let noted = &mut self.noted[core];
        noted.inlet_k = inlet_k;
        noted.tanks = tanks;
        for (approach, strip) in noted.approach.iter_mut().zip(strips) {
            let stream = strip.air_kg_s.abs() * air_w_k;
            *approach = match tanks {
                Some(_) if stream > 0.0 => strip.exchange_w_k / stream,
                _ => 0.0,
            };
        }
    }

    /// Follows the air along every stream: first what flows backwards, whose air mixes before the face behind a grille.
    pub fn follow(&mut self, case: &Case, airs: &[AirState]) {
        let flow = |s: &Stream| airs[s.air].flow.flow_kg_s[s.branch];
        let mut mixed: Vec<(f64, f64)> = (airs.iter())
            .map(|air| {
                let entering = (air.path.mouth).map_or(1.0, |b| air.flow.flow_kg_s[b].max(0.0));
                (entering, entering * case.air_temperature_k)
            })
            .collect();
        let streams = std::mem::take(&mut self.streams);
        for stream in streams.iter().filter(|s| flow(s) < 0.0) {
            let mut k = case.bay_temperature_k;
            for strip in stream.strips.iter().rev() {
                k = self.pass(*strip, k);
            }
            if airs[stream.air].path.mouth.is_some() {
                let (flow_kg_s, sum) = &mut mixed[stream.air];
                *flow_kg_s -= flow(stream);
                *sum -= flow(stream) * k;
            }
        }
        for stream in streams.iter().filter(|s| flow(s) >= 0.0) {
            let (flow_kg_s, sum) = mixed[stream.air];
            let stands_free = airs[stream.air].path.mouth.is_none();
            let mut k = if stands_free || flow_kg_s <= 0.0 {
                case.air_temperature_k
            } else {
                sum / flow_kg_s
            };
            for strip in &stream.strips {
                k = self.pass(*strip, k);
            }
        }
        self.streams = streams;
    }

    /// The air behind a strip, given that before it.
    fn pass(&mut self, (core, strip): (usize, usize), before_k: f64) -> f64 {
        self.before_k[core][strip] = before_k;
        let noted = &self.noted[core];
        before_k + noted.approach[strip] * (noted.inlet_k - before_k)
    }

    /// Loops that a loop depends on: cores before its own in the air, and beyond its plates.
    pub fn reaches(&self, network: &Network, airs: &[AirState]) -> Vec<Vec<bool>> {
        let owner = |core: usize| network.cores()[core].circuit;
        let count = network.loops().len();
        let mut on = vec![vec![false; count]; count];
        for (core, others) in self.neighbours.iter().enumerate() {
            for (other, _) in others {
                on[owner(core)][owner(*other)] = true;
            }
        }
        for stream in &self.streams {
            let backwards = airs[stream.air].flow.flow_kg_s[stream.branch] < 0.0;
            for (place, (core, _)) in stream.strips.iter().enumerate() {
                let (before, after) = stream.strips.split_at(place);
                let upstream = if backwards { &after[1..] } else { before };
                for (other, _) in upstream {
                    on[owner(*core)][owner(*other)] = true;
                }
            }
            // What flows backwards mixes before the face and is breathed by the rest.
            if backwards && airs[stream.air].path.mouth.is_some() {
                for core in network.cores().iter().filter(|c| c.air == stream.air) {
                    for (other, _) in &stream.strips {
                        on[core.circuit][owner(*other)] = true;
                    }
                }
            }
        }
        for via in 0..count {
            let onwards = on[via].clone();
            for reached in on.iter_mut().filter(|from| from[via]) {
                for (to, more) in reached.iter_mut().zip(&onwards) {
                    *to |= more;
                }
            }
        }
        on
    }
}
