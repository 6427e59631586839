//! A pump of the stock list put into a design: one or two, at a speed; and where it works there.

use crate::design::{Design, Ratio, StockPump};
use crate::part::{MachineRegion, Part};
use crate::quantity::{Power, PressureDifference, VolumeFlow};
use crate::solve::Solution;

/// One pump, or two alike together.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Arrangement {
    /// One.
    One,
    /// Two, one after the other.
    Series,
    /// Two side by side.
    Parallel,
}

impl Arrangement {
    /// All, in the order in which they are tried.
    pub const ALL: [Self; 3] = [Self::One, Self::Series, Self::Parallel];

    /// The words of a report.
    pub fn words(self) -> &'static str {
        match self {
            Self::One => "one",
            Self::Series => "two in series",
            Self::Parallel => "two in parallel",
        }
    }

    /// The stable code.
    pub fn code(self) -> &'static str {
        match self {
            Self::One => "one",
            Self::Series => "series",
            Self::Parallel => "parallel",
        }
    }

    /// How many pumps.
    pub fn count(self) -> f64 {
        match self {
            Self::One => 1.0,
            Self::Series | Self::Parallel => 2.0,
        }
    }

    /// The curve of all pumps together: in series the rise doubles, in parallel the flow.
    pub fn curve(
        self,
        one: &[(VolumeFlow, PressureDifference)],
    ) -> Vec<(VolumeFlow, PressureDifference)> {
        let (flows, rises) = match self {
            Self::One => (1.0, 1.0),
            Self::Series => (1.0, 2.0),
            Self::Parallel => (2.0, 1.0),
        };
        one.iter()
            .map(|(q, p)| {
                (
                    VolumeFlow::from_m3_s(flows * q.m3_s()),
                    PressureDifference::from_pa(rises * p.pa()),
                )
            })
            .collect()
    }
}

/// Where the pumps work in one case.
#[derive(Clone, Debug, PartialEq)]
pub struct PumpPoint {
    /// The case.
    pub case: String,
    /// Flow of all pumps together, m3/s.
    pub flow_m3_s: f64,
    /// Rise over all pumps together, Pa.
    pub rise_pa: f64,
    /// Rise at no flow, Pa.
    pub shut_off_rise_pa: f64,
    /// Flow over free flow at this speed.
    pub share_of_free_flow: Option<f64>,
    /// Power given to the coolant, W.
    pub hydraulic_w: f64,
    /// Electrical power of all pumps, W, where the list states it or an efficiency.
    pub electrical_w: Option<f64>,
    /// Hydraulic over electrical power.
    pub efficiency: Option<f64>,
    /// Where on the curve.
    pub region: MachineRegion,
}

/// The design with its pump replaced. A speed that a case states is kept, times the given one.
pub(super) fn with_pump(
    design: &Design,
    (owner, name): (&str, &str),
    record: &StockPump,
    arrangement: Arrangement,
    speed: f64,
) -> Design {
    let mut changed = design.clone();
    let part = changed
        .loops
        .get_mut(owner)
        .and_then(|l| l.parts.get_mut(name));
    if let Some(Part::Pump(pump)) = part {
        pump.curve = arrangement.curve(&record.curve);
        pump.curve_coolant = None;
        pump.speed = Some(speed);
        pump.efficiency = record.efficiency;
        pump.electrical_power = record
            .electrical_power
            .map(|p| Power::from_w(arrangement.count() * p.w() * speed.powi(3)));
        pump.stopped_loss = None;
        pump.origin = record.origin;
    }
    let key = format!("{owner}.{name}");
    for case in changed.cases.values_mut() {
        if let Some(stated) = case.pump_speed.get_mut(&key) {
            *stated = Ratio(stated.0 * speed);
        }
    }
    changed
}

/// Where the pumps work.
pub(super) fn work(
    solution: &Solution<'_>,
    (owner, name): (&str, &str),
    record: &StockPump,
    arrangement: Arrangement,
    speed: f64,
) -> Option<PumpPoint> {
    let state = solution.pumps(owner).into_iter().find(|p| p.id == name)?;
    let electrical_w = match (record.electrical_power, record.efficiency) {
        (Some(power), _) => Some(arrangement.count() * power.w() * speed.powi(3)),
        (None, Some(efficiency)) => Some(state.hydraulic_w / efficiency),
        (None, None) => None,
    };
    Some(PumpPoint {
        case: solution.case().name.clone(),
        flow_m3_s: state.volume_flow_m3_s,
        rise_pa: state.pressure_rise_pa,
        shut_off_rise_pa: state.shut_off_rise_pa,
        share_of_free_flow: state.share_of_free_flow,
        hydraulic_w: state.hydraulic_w,
        electrical_w,
        efficiency: electrical_w
            .filter(|w| *w > 0.0)
            .map(|w| state.hydraulic_w / w),
        region: state.region,
    })
}
