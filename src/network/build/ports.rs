//! Where the ports of a bank lie along its headers, and whether they fit.

use crate::correlation::SectionShape;
use crate::correlation::tees::TeeShape;
use crate::part::{Bank, Header, HeaderEnd, Side};

/// Ports of one header in order from the near end.
pub(super) struct Ports {
    /// Distance of each port from the near end, m.
    pub at_m: Vec<f64>,
    /// Whole length of the header, m.
    pub length_m: f64,
}

/// Where a header is fed or drawn off, among its ports.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Tap {
    /// Before port 1.
    Near,
    /// After the last port.
    Far,
    /// Between port `k` and the next (counted from 1).
    After(usize),
}

impl Ports {
    /// The ports of one side of a bank with `count` branches.
    pub fn of(bank: &Bank, side: Side, count: usize) -> Result<Self, String> {
        let rows = bank.rows.unwrap_or(1) as usize;
        if !count.is_multiple_of(rows) {
            return Err(format!(
                "cannot lay {count} ports in {rows} rows; try a number of ports that {rows} divides"
            ));
        }
        let places = count / rows;
        let stations: Vec<f64> = match (&bank.port_positions, bank.port_pitch) {
            (Some(_), Some(_)) => {
                return Err("cannot use both `port_positions` and `port_pitch`; keep one".into());
            }
            (Some(list), None) if list.len() != places => {
                return Err(format!(
                    "`port_positions` has {} places, but {places} are needed for {count} ports in {rows} row(s); try one place for each",
                    list.len()
                ));
            }
            (Some(list), None) => list.iter().map(|p| p.m()).collect(),
            (None, Some(pitch)) => {
                let first = bank.first_port.unwrap_or(pitch).m();
                (0..places).map(|k| first + k as f64 * pitch.m()).collect()
            }
            (None, None) => {
                return Err(
                    "cannot tell where the ports lie: give `port_pitch`, or `port_positions`"
                        .into(),
                );
            }
        };
        if let Some(k) = (1..places).find(|&k| stations[k] <= stations[k - 1]) {
            return Err(format!(
                "the ports must lie in rising order, but port place {} at {:.1} mm is not beyond {:.1} mm; try writing them in order from the near end",
                k + 1,
                stations[k] * 1e3,
                stations[k - 1] * 1e3
            ));
        }
        let outside = bank.port_outside_m(side)?;
        if let Some(k) = (1..places).find(|&k| stations[k] - stations[k - 1] < outside) {
            return Err(format!(
                "the spigots of port places {k} and {} overlap: they are {:.1} mm apart and {:.1} mm wide; try a wider pitch, or say `port_outside`",
                k + 1,
                (stations[k] - stations[k - 1]) * 1e3,
                outside * 1e3
            ));
        }
        let (first, last) = (stations[0], stations[places - 1]);
        let header = bank.header_of(side)?;
        let length_m = header.length.map_or(last + first, |l| l.m());
        if length_m <= last {
            return Err(format!(
                "the {} header is {:.0} mm long, but its last port lies at {:.0} mm; try a longer header or a closer pitch",
                side.word(),
                length_m * 1e3,
                last * 1e3
            ));
        }
        let at_m = stations
            .iter()
            .flat_map(|s| std::iter::repeat_n(*s, rows))
            .collect();
        Ok(Self { at_m, length_m })
    }

    /// Where a header end lies among the ports.
    pub fn tap(&self, end: HeaderEnd) -> Result<Tap, String> {
        let count = self.at_m.len();
        match end {
            HeaderEnd::NearEnd => Ok(Tap::Near),
            HeaderEnd::FarEnd => Ok(Tap::Far),
            HeaderEnd::Middle if count < 2 => Ok(Tap::Near),
            HeaderEnd::Middle => Ok(Tap::After(count / 2)),
            HeaderEnd::AfterPort(port) if port >= 1 && (port as usize) < count => {
                Ok(Tap::After(port as usize))
            }
            HeaderEnd::AfterPort(port) => Err(format!(
                "cannot feed or draw off after port {port}: the header has {count} ports; try 1 to {}",
                count.saturating_sub(1)
            )),
        }
    }

    /// The passage at a port.
    pub fn shape(&self, header: &Header, port: usize) -> Result<SectionShape, String> {
        header.shape_at(port, self.at_m[port] / self.length_m)
    }
}

/// The smallest inside width of a passage, m.
fn width_m(shape: &SectionShape) -> f64 {
    match *shape {
        SectionShape::Round { bore_m } => bore_m,
        SectionShape::Rectangle { width_m, height_m }
        | SectionShape::FlatTube { width_m, height_m } => width_m.min(height_m),
        SectionShape::Annulus { inner_m, outer_m } => 0.5 * (outer_m - inner_m),
    }
}

/// The tee of a port, where it fits into the header.
pub(super) fn port_tee(
    bank: &Bank,
    side: Side,
    before: &SectionShape,
    at: &SectionShape,
) -> Result<TeeShape, String> {
    let port = bank.port_bore_m(side)?;
    let width = width_m(at);
    if port > width * (1.0 + 1e-9) {
        return Err(format!(
            "a port of {:.1} mm does not fit into a {} header of {:.1} mm inside; try a larger header or a smaller port",
            port * 1e3,
            side.word(),
            width * 1e3
        ));
    }
    let protrusion = bank.port_protrusion.map_or(0.0, |p| p.m());
    if protrusion >= width {
        return Err(format!(
            "a spigot that stands {:.1} mm into the {} header goes through its far wall, {:.1} mm away; try a shorter one",
            protrusion * 1e3,
            side.word(),
            width * 1e3
        ));
    }
    Ok(TeeShape {
        a_area_m2: before.area_m2(),
        b_area_m2: at.area_m2(),
        side_area_m2: 0.25 * std::f64::consts::PI * port * port,
        angle_rad: std::f64::consts::FRAC_PI_2,
    })
}

/// The tee at which a header is fed or drawn off between ports.
pub(super) fn middle_tee(bank: &Bank, shape: &SectionShape) -> Result<TeeShape, String> {
    let width = width_m(shape);
    let bore = bank.middle_bore.map_or(width, |b| b.m());
    if bore > width * (1.0 + 1e-9) {
        return Err(format!(
            "a middle connection of {:.1} mm does not fit into a header of {:.1} mm inside; try a smaller one",
            bore * 1e3,
            width * 1e3
        ));
    }
    Ok(TeeShape {
        a_area_m2: shape.area_m2(),
        b_area_m2: shape.area_m2(),
        side_area_m2: 0.25 * std::f64::consts::PI * bore * bore,
        angle_rad: std::f64::consts::FRAC_PI_2,
    })
}

/// Share of the passage that a spigot leaves open where it stands into the header.
pub(super) fn open_share(bank: &Bank, side: Side, shape: &SectionShape) -> Result<f64, String> {
    let protrusion = bank.port_protrusion.map_or(0.0, |p| p.m());
    Ok(1.0 - (bank.port_outside_m(side)? * protrusion / shape.area_m2()).min(0.95))
}
