//! What the pack rests on: choices and defaults, laws with sources and ranges, what is not modelled, and the stamp.

use super::{Pack, Sink};
use crate::design::FrictionChoice;
use crate::network::HeatRole;
use crate::part::{Law, PipeLaw, TeeLosses};
use crate::report::page::Sheet;

/// A law as the page tells it: what for, which, where it holds.
type Told = (&'static str, &'static str, &'static str);

pub(super) fn write(pack: &Pack<'_, '_>, sink: &mut Sink<'_>) {
    sink.html.raw("<section class=\"sheet\">");
    sink.html.heading(2, "What this rests on");
    sink.html.heading(3, "Laws used");
    let mut sheet = Sheet::new("laws", "Laws, their sources and where they hold")
        .words("for", "for")
        .words("law and source", "source")
        .words("holds for", "range");
    for (what, source, range) in laws(pack) {
        sheet.row(vec![what.into(), source.into(), range.into()]);
    }
    sink.sheet(&sheet);
    sink.html.heading(3, "Taken where the design says nothing");
    sink.html.list(&defaults(pack));
    sink.html.heading(3, "Not modelled");
    sink.html.raw("<div class=\"two\">");
    sink.html.list(&NOT_MODELLED.map(str::to_owned));
    sink.html.raw("</div>");
    let known: Vec<String> = pack
        .job
        .network
        .findings()
        .iter()
        .map(|f| format!("{}: {}", f.subject, f.text))
        .collect();
    if !known.is_empty() {
        sink.html.heading(3, "Found before anything was solved");
        sink.html.list(&known);
    }
    sink.html.heading(3, "Stamp");
    let date = pack.stamp.date.as_deref().unwrap_or("____________");
    let mut sheet = Sheet::new("stamp", "Which design, which program")
        .words("of", "of")
        .words("is", "is");
    for (of, is) in [
        ("design file", pack.stamp.file.as_str()),
        ("its SHA-256", pack.stamp.sha256.as_str()),
        ("program", &format!("loopwright {}", pack.stamp.version)),
        ("date, as given by the caller", date),
    ] {
        sheet.row(vec![of.into(), is.into()]);
    }
    sink.sheet(&sheet);
    sink.html.raw("</section>");
}

fn laws(pack: &Pack<'_, '_>) -> Vec<Told> {
    let network = pack.job.network;
    let elements = || network.loops().iter().flat_map(|l| &l.net.elements);
    let laws = || network.loops().iter().flat_map(|l| &l.net.laws);
    let methods = pack.design.methods.clone().unwrap_or_default();
    let mut told: Vec<Told> = Vec::new();
    if laws().any(|l| matches!(l, Law::Duct(_))) {
        told.push(match methods.friction_factor.unwrap_or_default() {
            FrictionChoice::Churchill => (
                "wall friction",
                "Darcy-Weisbach with Churchill (1977)",
                "any Reynolds number; uncertain by up to a factor of two between 2000 and 4000",
            ),
            FrictionChoice::Colebrook => (
                "wall friction",
                "Darcy-Weisbach with Colebrook (1939)",
                "Re above 4000; laminar below 2000; a bridge between (common practice, no source)",
            ),
            FrictionChoice::Haaland => (
                "wall friction",
                "Darcy-Weisbach with Haaland (1983)",
                "Re above 4000; laminar below 2000; a bridge between (common practice, no source)",
            ),
            FrictionChoice::SwameeJain => (
                "wall friction",
                "Darcy-Weisbach with Swamee and Jain (1976)",
                "Re above 4000; laminar below 2000; a bridge between (common practice, no source)",
            ),
        });
    }
    if methods.pipe_law == Some(PipeLaw::HazenWilliams) {
        told.push((
            "wall friction",
            "Hazen-Williams, as the design asks",
            "water near room temperature, turbulent, bores above about 50 mm",
        ));
    }
    if elements().any(|e| e.kind == "hose") {
        told.push((
            "elbows, barbs, steps",
            "Hooper (1981); Rennels and Hudson (2012); Borda and Carnot",
            "fittings alone; close neighbours disturb each other, which is not counted",
        ));
    }
    let tees = network.loops().iter().any(|l| {
        l.net
            .nodes
            .iter()
            .any(|n| matches!(n.kind, crate::network::NodeKind::Tee(_)))
    });
    if tees {
        told.push(match methods.tee_losses.unwrap_or(TeeLosses::Momentum) {
            TeeLosses::Momentum => ("tees and headers", "momentum and energy balances, after Bassett, Winterbone and Pearson (2001)", "any angle and area ratio; published models differ by half a velocity head of a small branch"),
            TeeLosses::Handbook => ("tees and headers", "Crane TP-410 (2009)", "90 degrees, equal straight run, turbulent"),
            TeeLosses::Coefficients(_) => ("tees and headers", "momentum factors stated in the design; classical header theory (Bajura and Jones, 1976)", "straight runs of headers"),
            TeeLosses::None => ("tees and headers", "no loss, as the design asks", "comparison only"),
        });
    }
    if laws().any(|l| matches!(l, Law::Machine(_))) {
        told.push((
            "pumps",
            "the curve given; affinity laws for speed, density for rise",
            "between no flow and the last point; viscosity does not derate it",
        ));
    }
    if elements().any(|e| e.measured_span_m3_s.is_some()) {
        told.push((
            "measured drops",
            "a laminar and a turbulent share fitted to the points",
            "flows from half the lowest to 1.5 times the highest point",
        ));
    }
    if elements().any(|e| matches!(e.heat, HeatRole::Core(_) | HeatRole::Exchanger(_))) {
        told.push((
            "cores and exchangers",
            "effectiveness and transfer units; Mason's series (1955) for crossflow",
            "even flow over the face",
        ));
    }
    if pack.job.cases.iter().any(|c| c.march.is_some()) {
        told.push((
            "cases in time",
            "modules, devices and coolant as lumps, marched with error control",
            "no heat in hose walls, radiator metal or the tank",
        ));
    }
    let glycol = network
        .loops()
        .iter()
        .any(|l| l.coolant.glycol_by_mass().is_some());
    if glycol {
        told.push((
            "glycol mixes",
            "ASHRAE or Melinder data, as the design says",
            "0 to 60 %; two sources differ by 10 % in viscosity",
        ));
    }
    told.push((
        "water",
        "IAPWS formulations",
        "0 to 110 degC (32 to 230 degF)",
    ));
    told
}

fn defaults(pack: &Pack<'_, '_>) -> Vec<String> {
    let mut list = vec![
        "Roughness of hose and drawn tube 1.5 um (60 microinches).".to_owned(),
        "Heights that nobody gave are shared out by length between those that are.".to_owned(),
        "A module without a thermal resistance stands at its coolant's outlet temperature."
            .to_owned(),
        "Heat leaves by cores, exchangers and those hoses alone that have a conductance."
            .to_owned(),
    ];
    if !pack.design.radiators.is_empty() {
        list.push(
            "Each core sees the air of the case, evenly over each strip of its face.".to_owned(),
        );
    }
    if pack.job.network.loops().iter().any(|l| {
        l.machines
            .iter()
            .any(|m| m.efficiency.is_none() && m.electrical_w.is_none())
    }) {
        list.push("A pump without efficiency or electrical power heats the coolant by its hydraulic power alone.".to_owned());
    }
    list
}

/// The short form of the list in the handbook.
const NOT_MODELLED: [&str; 8] = [
    "Dirt, scale, ageing, soft hoses, kinks.",
    "Air in the coolant that was not bled.",
    "Heat of battery chemistry beyond current squared times resistance; temperature differences inside a module.",
    "Heat stored in hose walls, radiator metal and the tank; heat lost by tails, headers, tanks and boxes.",
    "Derating of pumps by viscosity; cavitation beyond the margin to boiling.",
    "Fittings that disturb each other; laminar corrections of tees; uneven flow inside the tanks of a core.",
    "Hysteresis and lag of thermostats; the delay with which coolant travels along a hose.",
    "What a case does not say: a duty that changes within it.",
];
