//! A vehicle with boxes of modules, a drive loop and one divided radiator, sized roughly and then made more generous
//! until its own limits are met.

use super::sizes::Pen;
use super::wish::{Wish, WishError, WishedLoop};
use crate::design::Source;
use crate::study::{Verdict, check};

/// Flow per circuit that the trunk is sized for, L/min; every module has two circuits.
const FLOW_PER_CIRCUIT_L_MIN: f64 = 0.7;
/// Flow of the drive loop, L/min.
const DRIVE_FLOW_L_MIN: f64 = 9.0;
/// How often the sizes are made more generous.
const MOST_TRIES: u32 = 8;

/// Writes a first design of a vehicle as JSON text.
///
/// The sizes come from flow per circuit, velocity and heat per kelvin; the text is solved, and while a limit is missed
/// the next larger sizes are taken, at most eight times. The last text is returned as it is.
///
/// # Errors
/// [`WishError`] for a number outside its limits.
///
/// ```
/// use loopwright::starter::{Wish, vehicle};
/// let text = vehicle(&Wish { modules: 6, ..Wish::default() }).unwrap();
/// assert!(loopwright::design::Source::read(&text).is_ok());
/// ```
pub fn vehicle(wish: &Wish) -> Result<String, WishError> {
    wish.check()?;
    let mut text = String::new();
    for generosity in 0..MOST_TRIES {
        text = write(wish, generosity);
        let verdict = Source::read(&text)
            .ok()
            .and_then(|source| check::verdicts(&source.design, &[]).ok())
            .and_then(|answer| answer.verdict());
        if matches!(verdict, Some(Verdict::Met | Verdict::Provisional)) {
            break;
        }
    }
    Ok(text)
}

fn write(wish: &Wish, generosity: u32) -> String {
    let pen = Pen(wish.units);
    let more = f64::from(generosity);
    let has = |l| wish.loops.contains(&l);
    let (battery, drive) = (has(WishedLoop::Battery), has(WishedLoop::Drive));
    let battery_tubes = (f64::from(wish.modules) * (1.5 + 0.25 * more)).ceil() as u32 + 8;
    let drive_tubes = 20 + 3 * generosity;
    let mut loops = Vec::new();
    let mut cores = Vec::new();
    let mut covered = Vec::new();
    let mut tubes = 0;
    for l in &wish.loops {
        let (name, count, text) = match l {
            WishedLoop::Battery => ("battery", battery_tubes, battery_loop(wish, pen, more)),
            WishedLoop::Drive => ("drive", drive_tubes, drive_loop(pen)),
        };
        loops.push(text);
        cores.push(format!("\"{name}\": {{ \"tubes\": {count} }}"));
        covered.push(format!("\"{name}\": 0.6"));
        tubes += count;
    }
    let lost = 2 * (wish.loops.len() as u32 - 1);
    let height_m = f64::from(tubes + lost) * 0.0095;
    let fan_m3_h = (4200.0 * 0.62 * height_m / 50.0).round() * 50.0;
    let heat = |motor: f64, inverter: f64| {
        if drive {
            format!(
                ", \"heat\": {{ \"drive.motor\": \"{motor} kW\", \"drive.inverter\": \"{inverter} kW\" }}"
            )
        } else {
            String::new()
        }
    };
    let current = |amperes: u32| {
        if battery {
            format!(", \"module_current\": \"{amperes} A\"")
        } else {
            String::new()
        }
    };
    let charge = if drive {
        ", \"heat\": { \"drive.charger\": \"0.4 kW\" }"
    } else {
        ""
    };
    let modules = if battery { module(pen) } else { String::new() };
    let mut limits = vec![
        format!("\"hose_velocity\": {{ \"max\": {} }}", pen.velocity(2.0)),
        format!(
            "\"pump_inlet_margin_over_boiling\": {{ \"min\": {} }}",
            pen.rise(20.0)
        ),
    ];
    if battery {
        limits.insert(
            0,
            format!(
                "\"module_temperature\": {{ \"max\": {} }},\n    \"module_temperature_spread\": {{ \"max\": {} }},\n    \"module_flow_deviation\": {{ \"max\": 0.15 }}",
                pen.point(45.0),
                pen.kelvin(3.0)
            ),
        );
    }
    if drive {
        limits.push(format!(
            "\"coolant_inlet\": {{ \"drive.inverter\": {{ \"max\": {} }} }}",
            pen.point(65.0)
        ));
    }
    format!(
        r#"{{
  "format": 1,
  "title": "First design",
  "note": "A first design to change. Every number marked as a placeholder is invented: replace it by what you measured or read, and change its origin.",
  "units": "{units}",
  "coolants": {{ "mix": {{ "note": "Half is much: 0.4 freezes near -24 degC and flows better.", "ethylene_glycol": {{ "volume_fraction": 0.5 }} }} }},
{modules}  "loops": {{
{loops}
  }},
  "radiators": {{
    "nose": {{
      "note": "One radiator, cut across its tubes. `loopwright partition` compares every cut.",
      "face_width": {width}, "face_height": {height},
      "tubes": {{ "count": {count}, "inside": {{ "flat": {{ "width": {tube_width}, "height": {tube_height} }} }}, "length": {length} }},
      "cores": {{ {cores} }},{lost}
      "air_side": {{ "conductance_per_face_area": {{ "at_1_m_s": "1600 W/(m2 K)", "exponent": 0.5 }}, "pressure_drop": {{ "linear": "9 Pa s/m", "quadratic": "6 Pa s2/m2" }} }},
      "fans": [ {{ "note": "Free-air flow is never reached behind a core.", "name": "fan", "face_share_covered": {{ {covered} }}, "curve": [["0 m3/h", "250 Pa"], ["{fan} m3/h", "0 Pa"]] }} ],
      "ram": {{ "pressure_coefficient": 0.4, "exit_loss": 4 }},
      "elevation": {radiator_height}, "origin": "placeholder"
    }}
  }},
  "cases": {{
    "hot hill": {{ "air": {hot}, "travel_speed": {hill}{hill_current}{hill_heat} }},
    "hot road": {{ "air": {hot}, "travel_speed": {road}{road_current}{road_heat} }},
    "cold morning": {{ "air": {cold}, "travel_speed": {slow}{road_current}{cold_heat} }},
    "parked charge": {{ "air": {hot}, "travel_speed": {still}{charge_current}{charge} }}
  }},
  "limits": {{
    {limits}
  }}
}}
"#,
        units = pen.word(),
        loops = loops.join(",\n"),
        width = pen.m(0.62),
        height = pen.m(height_m),
        count = tubes + lost,
        tube_width = pen.small_mm(26.0),
        tube_height = pen.small_mm(1.5),
        length = pen.m(0.6),
        cores = cores.join(", "),
        lost = if lost > 0 {
            format!("\n      \"lost_tubes\": {lost},")
        } else {
            String::new()
        },
        covered = covered.join(", "),
        fan = fan_m3_h,
        radiator_height = pen.m(0.5),
        hot = pen.point(35.0),
        cold = pen.point(-10.0),
        hill = pen.speed(35.0),
        road = pen.speed(90.0),
        slow = pen.speed(50.0),
        still = pen.speed(0.0),
        hill_current = current(120),
        road_current = current(90),
        charge_current = current(50),
        hill_heat = heat(3.5, 0.9),
        road_heat = heat(2.5, 0.7),
        cold_heat = heat(1.5, 0.4),
        limits = limits.join(",\n    "),
    )
}

fn module(pen: Pen) -> String {
    format!(
        r#"  "modules": {{
    "reused module": {{
      "note": "Measure two points with a bucket and a gauge: they replace these.",
      "origin": "placeholder", "circuits": 2,
      "pressure_drop": {{ "coolant": "mix", "temperature": {t25}, "points": [[{q1}, {p1}], [{q2}, {p2}], [{q3}, {p3}]] }},
      "resistance": [[{t0}, "6 mohm"], [{t25}, "3 mohm"], [{t45}, "2.4 mohm"]],
      "mass": "25 kg", "specific_heat": "900 J/(kg K)", "thermal_resistance": "0.03 K/W"
    }}
  }},
"#,
        t0 = pen.point(0.0),
        t25 = pen.point(25.0),
        t45 = pen.point(45.0),
        q1 = pen.flow(0.5),
        p1 = pen.rise(1.2),
        q2 = pen.flow(1.0),
        p2 = pen.rise(2.9),
        q3 = pen.flow(2.0),
        p3 = pen.rise(8.4),
    )
}

/// A pump whose curve falls from a shut-off rise to its free flow.
fn pump(pen: Pen, flow_l_min: f64, shut_off_kpa: f64) -> String {
    let free = (1.8 * flow_l_min).ceil();
    let point =
        |x: f64, y: f64| format!("[{}, {}]", pen.flow(x * free), pen.rise(y * shut_off_kpa));
    format!(
        "{{ \"pump\": {{ \"note\": \"Points from the data sheet of your pump go here.\", \"curve\": [{}, {}, {}, {}], \"efficiency\": 0.3, \"elevation\": {}, \"origin\": \"placeholder\" }} }}",
        point(0.0, 1.0),
        point(0.4, 0.84),
        point(0.8, 0.4),
        point(1.0, 0.0),
        pen.m(0.35),
    )
}

/// Bore of a hose for a flow at a velocity.
fn bore(flow_l_min: f64, velocity_m_s: f64) -> usize {
    let area_m2 = flow_l_min / 60_000.0 / velocity_m_s;
    Pen::bore_mm((area_m2 * 4.0 / std::f64::consts::PI).sqrt() * 1000.0)
}

fn hose(pen: Pen, index: usize, length_m: f64, elbows: u32) -> String {
    let elbows = if elbows > 0 {
        format!("{{ \"elbow_90\": {{ \"count\": {elbows} }} }}, ")
    } else {
        String::new()
    };
    format!(
        "{{ \"hose\": {{ \"bore\": {}, \"length\": {}, \"fittings\": [{elbows}{{ \"barb\": {{ \"bore\": {}, \"count\": 2 }} }}] }} }}",
        pen.bore(index),
        pen.m(length_m),
        pen.barb(index),
    )
}

fn battery_loop(wish: &Wish, pen: Pen, more: f64) -> String {
    let flow = (f64::from(2 * wish.modules) * FLOW_PER_CIRCUIT_L_MIN).max(4.0);
    let velocity = 1.3 / (1.0 + 0.2 * more);
    let trunk = bore(flow, velocity);
    let first = wish.modules / wish.boxes;
    let extra = wish.modules % wish.boxes;
    let box_name = |b: u32| match b {
        0 => "front".to_owned(),
        1 => "rear".to_owned(),
        2 => "left".to_owned(),
        3 => "right".to_owned(),
        other => format!("box {}", other + 1),
    };
    let mut parts = vec![
        format!(
            "\"tank\": {{ \"expansion_tank\": {{ \"gauge_pressure\": {}, \"elevation\": {}, \"cap_pressure\": {}, \"volume\": \"{} L\" }} }}",
            pen.rise(0.0),
            pen.m(0.9),
            pen.rise(30.0),
            2 + wish.modules / 8,
        ),
        format!("\"pump\": {}", pump(pen, flow, 45.0 + 5.0 * more)),
        format!("\"suction\": {}", hose(pen, trunk, 0.6, 0)),
        format!("\"feed\": {}", hose(pen, trunk, 1.4, 2)),
        format!("\"return\": {}", hose(pen, trunk, 1.8, 2)),
    ];
    let mut runs = Vec::new();
    let mut ahead = vec![
        "\"tank\"".to_owned(),
        "\"suction\"".into(),
        "\"pump\"".into(),
        "\"feed\"".into(),
    ];
    let mut behind = vec![
        "\"return\"".to_owned(),
        "\"nose.battery\"".into(),
        "\"tank\"".into(),
    ];
    for b in 0..wish.boxes {
        let name = box_name(b);
        let count = first + u32::from(b < extra);
        let share = f64::from(count) / f64::from(wish.modules);
        let index = if wish.boxes == 1 {
            trunk
        } else {
            bore(flow * share, velocity * 0.8)
        };
        parts.push(format!("\"{name} out\": {}", hose(pen, index, 2.0, 2)));
        parts.push(format!("\"{name} back\": {}", hose(pen, index, 2.0, 2)));
        parts.push(bank(pen, &name, count, more));
        let middle = format!("\"{name} out\", \"{name}\", \"{name} back\"");
        if b + 1 == wish.boxes {
            runs.push(format!(
                "[{}, {middle}, {}]",
                ahead.join(", "),
                behind.join(", ")
            ));
        } else {
            for tee in ["split", "join"] {
                parts.push(format!(
                    "\"{tee} {name}\": {{ \"tee\": {{ \"straight_bore\": {}, \"side_bore\": {} }} }}",
                    pen.bore(trunk),
                    pen.bore(index)
                ));
            }
            ahead.push(format!("\"split {name}.a\""));
            runs.push(format!("[{}]", ahead.join(", ")));
            behind.insert(0, format!("\"join {name}.a\""));
            runs.push(format!("[{}]", behind.join(", ")));
            runs.push(format!(
                "[\"split {name}.side\", {middle}, \"join {name}.side\"]"
            ));
            ahead = vec![format!("\"split {name}.b\"")];
            behind = vec![format!("\"join {name}.b\"")];
        }
    }
    format!(
        "    \"battery\": {{\n      \"coolant\": \"mix\",\n      \"parts\": {{\n        {}\n      }},\n      \"runs\": [\n        {}\n      ]\n    }}",
        parts.join(",\n        "),
        runs.join(",\n        ")
    )
}

fn bank(pen: Pen, name: &str, count: u32, more: f64) -> String {
    let ports_mm2 = f64::from(2 * count) * 28.3;
    format!(
        "\"{name}\": {{ \"bank\": {{ \"module\": \"reused module\", \"count\": {count}, \"header\": {}, \"port_pitch\": {}, \"layout\": \"same_end\", \"tail\": {{ \"bore\": {}, \"length\": {}, \"fittings\": [{{ \"barb\": {{ \"bore\": {}, \"count\": 2 }} }}] }}, \"elevation\": {} }} }}",
        pen.square(ports_mm2 * (0.9 + 0.35 * more)),
        pen.small_mm(45.0),
        pen.bore(1),
        pen.m(0.35),
        pen.small_mm(6.0),
        pen.m(0.45),
    )
}

fn drive_loop(pen: Pen) -> String {
    let index = bore(DRIVE_FLOW_L_MIN, 0.8);
    let plate = |name: &str, drop: f64, mass: &str, resistance: &str| {
        format!(
            "\"{name}\": {{ \"plate\": {{ \"pressure_drop\": {{ \"coolant\": \"mix\", \"temperature\": {}, \"points\": [[{}, {}], [{}, {}]] }}, \"thermal_resistance\": \"{resistance}\", \"mass\": \"{mass}\", \"specific_heat\": \"890 J/(kg K)\", \"origin\": \"placeholder\" }} }}",
            pen.point(25.0),
            pen.flow(4.0),
            pen.rise(drop),
            pen.flow(10.0),
            pen.rise(5.0 * drop),
        )
    };
    let parts = [
        format!(
            "\"tank\": {{ \"expansion_tank\": {{ \"gauge_pressure\": {}, \"elevation\": {}, \"cap_pressure\": {}, \"volume\": \"1.5 L\" }} }}",
            pen.rise(0.0),
            pen.m(0.95),
            pen.rise(50.0)
        ),
        format!("\"pump\": {}", pump(pen, DRIVE_FLOW_L_MIN, 55.0)),
        plate("charger", 2.1, "6 kg", "0.02 K/W"),
        plate("inverter", 1.8, "8 kg", "0.012 K/W"),
        plate("motor", 2.6, "55 kg", "0.008 K/W"),
        format!("\"to charger\": {}", hose(pen, index, 1.1, 2)),
        format!("\"link\": {}", hose(pen, index, 0.5, 0)),
        format!("\"to motor\": {}", hose(pen, index, 0.9, 1)),
        format!("\"home\": {}", hose(pen, index, 1.6, 2)),
    ];
    format!(
        "    \"drive\": {{\n      \"note\": \"The part with the lowest limit stands first after the radiator.\",\n      \"coolant\": \"mix\",\n      \"parts\": {{\n        {}\n      }},\n      \"runs\": [[\"tank\", \"pump\", \"to charger\", \"charger\", \"link\", \"inverter\", \"to motor\", \"motor\", \"home\", \"nose.drive\", \"tank\"]]\n    }}",
        parts.join(",\n        ")
    )
}
