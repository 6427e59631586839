//! Two designs for the bench: one part between a tap and a bucket, and one header pair.

use super::sizes::Pen;
use super::wish::WishError;
use crate::quantity::UnitFamily;

/// One part on tap water into a bucket: how to enter measured points and read what a hose adds.
pub fn bench(units: UnitFamily) -> String {
    let pen = Pen(units);
    format!(
        r#"{{
  "format": 1,
  "title": "One part on the bench",
  "note": "Tap water through one part into a bucket. Put your own points under pressure_drop; time the bucket to check the flow.",
  "units": "{units}",
  "coolants": {{ "water": {{ "water": {{}} }} }},
  "loops": {{
    "bench": {{
      "coolant": "water",
      "parts": {{
        "tap": {{ "open_end": {{ "note": "Pressure behind the tap while it runs, on a gauge.", "pressure": {pressure}, "elevation": {height}, "origin": "placeholder" }} }},
        "hose": {{ "hose": {{ "bore": {bore}, "length": {length}, "fittings": [{{ "barb": {{ "bore": {barb}, "count": 2 }} }}] }} }},
        "cold plate": {{ "plate": {{ "pressure_drop": {{ "coolant": "water", "temperature": {t20}, "points": [[{q1}, {p1}], [{q2}, {p2}]] }}, "thermal_resistance": "0.02 K/W", "origin": "placeholder" }} }},
        "drain": {{ "hose": {{ "bore": {bore}, "length": {short}, "fittings": [{{ "barb": {{ "bore": {barb}, "count": 2 }} }}, {{ "exit": {{}} }}] }} }},
        "bucket": {{ "open_end": {{ "elevation": {height} }} }}
      }},
      "runs": [["tap", "hose", "cold plate", "drain", "bucket"]]
    }}
  }},
  "cases": {{
    "cold tap": {{ "air": {t20}, "coolant_temperature": {t10} }},
    "warm tap": {{ "air": {t20}, "coolant_temperature": {t40} }}
  }},
  "limits": {{ "part_flow": {{ "bench.cold plate": {{ "min": {least} }} }} }}
}}
"#,
        units = pen.word(),
        pressure = pen.rise(12.0),
        height = pen.m(0.9),
        bore = pen.bore(3),
        barb = pen.barb(3),
        length = pen.m(2.0),
        short = pen.m(1.0),
        t20 = pen.point(20.0),
        t10 = pen.point(10.0),
        t40 = pen.point(40.0),
        q1 = pen.flow(4.0),
        p1 = pen.rise(1.6),
        q2 = pen.flow(8.0),
        p2 = pen.rise(5.6),
        least = pen.flow(3.0),
    )
}

/// A header pair with its modules on tap water, before the box is closed.
///
/// # Errors
/// [`WishError::Modules`] outside 1 to 60.
pub fn header(modules: u32, units: UnitFamily) -> Result<String, WishError> {
    if !(1..=60).contains(&modules) {
        return Err(WishError::Modules(modules));
    }
    let pen = Pen(units);
    let flow = 0.9 * f64::from(modules);
    let trunk = Pen::bore_mm((flow / 60_000.0 / 1.3 * 4.0 / std::f64::consts::PI).sqrt() * 1000.0);
    Ok(format!(
        r#"{{
  "format": 1,
  "title": "Header of {modules} modules on the bench",
  "note": "Tap water through one header pair into a bucket. `loopwright layout` compares where the headers are fed and drawn off.",
  "units": "{units}",
  "coolants": {{ "water": {{ "water": {{}} }} }},
  "modules": {{
    "reused module": {{
      "note": "Measure two points with a bucket and a gauge: they replace these.",
      "origin": "placeholder", "circuits": 1,
      "pressure_drop": {{ "coolant": "water", "temperature": {t20}, "points": [[{q1}, {p1}], [{q2}, {p2}], [{q3}, {p3}]] }},
      "resistance": "3 mohm", "mass": "25 kg", "specific_heat": "900 J/(kg K)", "thermal_resistance": "0.03 K/W"
    }}
  }},
  "loops": {{
    "bench": {{
      "coolant": "water",
      "parts": {{
        "tap": {{ "open_end": {{ "pressure": {pressure}, "elevation": {height}, "origin": "placeholder" }} }},
        "feed": {{ "hose": {{ "bore": {bore}, "length": {length}, "fittings": [{{ "barb": {{ "bore": {barb}, "count": 2 }} }}] }} }},
        "row": {{ "bank": {{ "module": "reused module", "count": {modules}, "header": {section}, "port_pitch": {pitch}, "layout": "same_end",
          "tail": {{ "bore": {tail}, "length": {tail_length}, "fittings": [{{ "barb": {{ "bore": {tail_barb}, "count": 2 }} }}] }}, "elevation": {height} }} }},
        "drain": {{ "hose": {{ "bore": {bore}, "length": {length}, "fittings": [{{ "barb": {{ "bore": {barb}, "count": 2 }} }}, {{ "exit": {{}} }}] }} }},
        "bucket": {{ "open_end": {{ "elevation": {height} }} }}
      }},
      "runs": [["tap", "feed", "row", "drain", "bucket"]]
    }}
  }},
  "cases": {{
    "cold water": {{ "air": {t20}, "coolant_temperature": {t10} }},
    "warm water": {{ "air": {t20}, "coolant_temperature": {t40} }}
  }},
  "limits": {{ "module_flow_deviation": {{ "max": 0.10 }}, "hose_velocity": {{ "max": {velocity} }} }}
}}
"#,
        units = pen.word(),
        t20 = pen.point(20.0),
        t10 = pen.point(10.0),
        t40 = pen.point(40.0),
        q1 = pen.flow(0.6),
        p1 = pen.rise(0.9),
        q2 = pen.flow(1.2),
        p2 = pen.rise(2.4),
        q3 = pen.flow(2.4),
        p3 = pen.rise(8.1),
        pressure = pen.rise(6.0),
        height = pen.m(0.9),
        bore = pen.bore(trunk + 1),
        barb = pen.barb(trunk + 1),
        length = pen.m(2.0),
        section = pen.square(f64::from(modules) * 28.3 * 2.2),
        pitch = pen.small_mm(90.0),
        tail = pen.bore(1),
        tail_length = pen.m(0.3),
        tail_barb = pen.small_mm(6.0),
        velocity = pen.velocity(2.0),
    ))
}
