//! What cores meet of each other at given unknowns, and the rows that hold it.

use super::super::couple::core_gives;
use super::super::meeting::{Meeting, Tanks};
use super::rows::Additions;
use super::vehicle::Vehicle;
use crate::network::Network;

impl Vehicle<'_> {
    /// What cores meet at the unknowns.
    pub fn meeting_at(&self, z: &[f64]) -> Meeting {
        let mut meeting = self.meeting.clone();
        self.places.tell(z, &mut meeting);
        meeting
    }

    /// The rows of what all cores meet.
    pub fn add_meeting(&self, z: &[f64], rows: &mut Additions) {
        let meeting = self.meeting_at(z);
        let mut noted = self.meeting.clone();
        for core in 0..self.places.cores.len() {
            let (flow, ends_k) = self.core_ends(core);
            let tanks = self.note_core(core, flow, ends_k, &meeting, &mut noted);
            self.add_tanks(core, tanks, rows);
        }
        self.add_air(noted, rows);
    }

    /// The rows of what all cores meet, where one stands at this flow and these ends of its coolant and the others as in the
    /// solution: enough for the slopes over what that core depends on.
    pub fn add_core(
        &self,
        core: usize,
        flow_kg_s: f64,
        ends_k: (f64, f64),
        meeting: &Meeting,
        rows: &mut Additions,
    ) {
        let mut noted = self.meeting.clone();
        let tanks = self.note_core(core, flow_kg_s, ends_k, meeting, &mut noted);
        self.add_tanks(core, tanks, rows);
        self.add_air(noted, rows);
    }

    fn add_tanks(&self, core: usize, tanks: Option<Tanks>, rows: &mut Additions) {
        if let (Some([inlet, outlet]), Some(tanks)) = (self.places.cores[core].tanks, tanks) {
            rows.push((inlet, -tanks.inlet_k));
            rows.push((outlet, -tanks.outlet_k));
        }
    }

    fn add_air(&self, mut noted: Meeting, rows: &mut Additions) {
        noted.follow(self.case, &self.airs);
        for (c, core) in self.places.cores.iter().enumerate() {
            let before = noted.air_before_k(c);
            rows.extend(core.before.clone().zip(before).map(|(row, k)| (row, -k)));
        }
    }

    /// The flow of a core and the ends of its coolant in the room of its loop, kg/s and K.
    pub fn core_ends(&self, core: usize) -> (f64, (f64, f64)) {
        let tie = &self.network.cores()[core];
        let flow = self.flows[tie.circuit][self.core_branch[core]];
        (flow, self.heats[tie.circuit].ends_k(tie.element))
    }

    /// Notes what a core gives its air, and its tanks.
    pub fn note_core(
        &self,
        core: usize,
        flow_kg_s: f64,
        ends_k: (f64, f64),
        meeting: &Meeting,
        noted: &mut Meeting,
    ) -> Option<Tanks> {
        let l = self.network.cores()[core].circuit;
        let from = (&*self.circuits[l], flow_kg_s, ends_k, self.carried[l]);
        let given = core_gives(self.network, core, from, self.case, &self.airs, meeting);
        given.note(core, self.case, noted);
        given.tanks
    }
}

/// The branch of each core in its loop.
pub fn core_branches(network: &Network) -> Vec<usize> {
    let owner: Vec<Vec<usize>> = (network.loops().iter())
        .map(|l| l.net.branch_of_elements())
        .collect();
    let cores = network.cores().iter();
    cores.map(|c| owner[c.circuit][c.element]).collect()
}
