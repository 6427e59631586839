//! A pump or fan against what it works against, and where a radiator can be cut.

use super::family;
use crate::quantity::{Kind, UnitFamily, in_unit, unit_symbol};
use crate::report::of_job::{Pack, Sink};
use crate::report::page::Form;
use crate::report::svg::{FromZero, LineChart, Look, Marker, Series, Span, Threshold};
use crate::study::partition::PartitionAnswer;
use crate::study::system_curve::MachineChart;

/// What kind of machine a chart is of.
#[derive(Clone, Copy, PartialEq)]
pub(super) enum Machine {
    Pump,
    Fan,
}

pub(super) fn machine(
    pack: &Pack<'_, '_>,
    sink: &mut Sink<'_>,
    chart: &MachineChart,
    id: &str,
    what: Machine,
) {
    let family = family(pack);
    // Air pressures are small: pascals, or inches of water.
    let pressure = |pa: f64| match (what, family) {
        (Machine::Pump, _) => in_unit(Kind::PressureDifference, pa, family),
        (Machine::Fan, UnitFamily::Metric) => pa,
        (Machine::Fan, UnitFamily::Us) => pa / 249.088_91,
    };
    let flow = |q: f64| match (what, family) {
        (Machine::Pump, _) => in_unit(Kind::VolumeFlow, q, family),
        (Machine::Fan, UnitFamily::Metric) => q * 3600.0,
        // 1 ft3 = 0.3048^3 m3, exact.
        (Machine::Fan, UnitFamily::Us) => q * 60.0 / 0.3048_f64.powi(3),
    };
    let (y_unit, x_unit) = match (what, family) {
        (Machine::Pump, _) => (
            unit_symbol(Kind::PressureDifference, family),
            unit_symbol(Kind::VolumeFlow, family),
        ),
        (Machine::Fan, UnitFamily::Metric) => ("Pa", "m3/h"),
        (Machine::Fan, UnitFamily::Us) => ("inH2O", "cfm"),
    };
    let scaled = |points: &[(f64, f64)]| {
        points
            .iter()
            .map(|(q, p)| (flow(*q), pressure(*p)))
            .collect()
    };
    let mut series = vec![Series {
        label: format!("curve of {}", chart.id),
        look: Look(0),
        points: scaled(&chart.curve),
        marked: Marker::None,
    }];
    let most = chart.curve.last().map_or(0.0, |c| c.0);
    for (k, line) in chart.lines.iter().enumerate() {
        let label = match what {
            Machine::Pump => format!(
                "loop, {} ({})",
                line.label,
                Form::Show(Kind::Temperature).text(line.fluid_k, family)
            ),
            Machine::Fan => "cores, ram air and the other fans".to_owned(),
        };
        let within: Vec<(f64, f64)> = line
            .points
            .iter()
            .copied()
            .filter(|p| p.0 <= 1.15 * most)
            .collect();
        series.push(Series {
            label,
            look: Look(k + 1),
            points: scaled(&within),
            marked: Marker::None,
        });
    }
    let works: Vec<(f64, f64)> = chart.lines.iter().filter_map(|l| l.works_at).collect();
    series.push(Series {
        label: "works there".into(),
        look: Look(3),
        points: scaled(&works),
        marked: Marker::Alone,
    });
    let title = match what {
        Machine::Pump => format!("Pump {} against the loop", chart.id),
        Machine::Fan => format!("{} of {} against the air path", chart.id, chart.owner),
    };
    let svg = LineChart {
        id,
        title: &title,
        description: "Pressure rise of the machine over its flow, and the pressure that the rest of the path takes at each flow; they meet where the machine works.",
        x_title: &format!("flow, {x_unit}"),
        y_title: &format!("pressure, {y_unit}"),
        series,
        thresholds: Vec::new(),
        spans: Vec::new(),
        from_zero: FromZero::Yes,
    }
    .draw();
    let caption = match what {
        Machine::Pump => format!(
            "{title}: cold, in this case and hot. Traced by turning the pump slower and faster."
        ),
        Machine::Fan => format!(
            "{title}. Ram air may push the curve below zero: then travel alone drives air at that flow."
        ),
    };
    sink.html.figure("chart", &svg, &caption);
}

pub(super) fn window(pack: &Pack<'_, '_>, sink: &mut Sink<'_>, answer: &PartitionAnswer) {
    let family = family(pack);
    let kelvin = |k: f64| in_unit(Kind::TemperatureDifference, k, family);
    let unit = unit_symbol(Kind::TemperatureDifference, family);
    // Beyond this a margin is no news and would flatten the rest.
    let shown = |k: f64| kelvin(k.clamp(-25.0, 25.0));
    let series = [0, 1]
        .map(|side| Series {
            label: format!("loop {}", answer.owners[side]),
            look: Look(side),
            points: answer
                .cuts
                .iter()
                .map(|c| {
                    let margin = c.worst_of[side]
                        .as_ref()
                        .map_or(f64::NAN, |t| shown(t.margin_k));
                    (f64::from(c.tubes[0]), margin)
                })
                .collect(),
            marked: Marker::None,
        })
        .into_iter()
        .filter(|s| s.points.iter().any(|p| p.1.is_finite()))
        .collect::<Vec<_>>();
    if series.is_empty() {
        return;
    }
    let mut spans = vec![Span {
        label: "cut of this design".into(),
        ends: (f64::from(answer.own_tubes), f64::from(answer.own_tubes)),
    }];
    if let Some((first, last)) = answer.window() {
        let (a, b) = (f64::from(first), f64::from(last));
        spans.insert(
            0,
            Span {
                label: "both loops meet their limits".into(),
                ends: (a, b),
            },
        );
    }
    let svg = LineChart {
        id: "window",
        title: &format!("Where {} can be cut", answer.radiator),
        description: "Smallest margin of each loop over the tubes of the first core; below zero a limit is missed.",
        x_title: &format!("tubes of {} (the rest for {})", answer.cores[0], answer.cores[1]),
        y_title: &format!("smallest margin, {unit}"),
        series,
        thresholds: vec![Threshold { label: "limits".into(), value: 0.0 }],
        spans,
        from_zero: FromZero::Yes,
    }
    .draw();
    sink.html.figure(
        "chart",
        &svg,
        &format!(
            "Where {} can be cut: margin of both loops in this case, held within 25 K; `loopwright partition` has every cut and case.",
            answer.radiator
        ),
    );
}
