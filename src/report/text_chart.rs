//! Bars in text: flow of each module, and what eats the pressure, as wide as the terminal.

use super::of_solution::eaters;
use super::plot::Glyphs;
use crate::quantity::{Kind, UnitFamily, in_unit, significant, unit_symbol};
use crate::solve::Solution;

/// Least and most columns of a chart.
const COLUMNS: (usize, usize) = (40, 160);
/// More bars than this are no longer read.
const MOST: usize = 64;

/// The charts of a solved case, at most this many columns wide (40 at least).
pub fn case_charts(
    solution: &Solution<'_>,
    family: UnitFamily,
    columns: usize,
    marks: Glyphs,
) -> String {
    let columns = columns.clamp(COLUMNS.0, COLUMNS.1);
    let mut out = String::new();
    let case = &solution.case().name;
    let names: Vec<String> = solution.loop_names().map(str::to_owned).collect();
    for name in &names {
        let bars: Vec<Bar> = eaters(solution, name)
            .into_iter()
            .map(|e| Bar {
                label: e.id,
                value: e.share,
                text: format!("{:.0} %", 100.0 * e.share),
            })
            .collect();
        let title = format!("{case}, {name}: what eats the pressure, % of pump power");
        chart(&mut out, &title, &bars, columns, marks);
        let Some(state) = solution.loop_state(name) else {
            continue;
        };
        let parts = solution.parts(name);
        for map in &state.circuit.banks {
            let modules = &state.circuit.modules[map.modules.clone()];
            let bars: Vec<Bar> = modules
                .iter()
                .enumerate()
                .map(|(k, module)| {
                    let flow: f64 = module
                        .circuits
                        .iter()
                        .map(|&e| parts[e].volume_flow_m3_s)
                        .sum();
                    let text = if module.circuits.is_empty() {
                        "missing".to_owned()
                    } else {
                        significant(in_unit(Kind::VolumeFlow, flow, family), 3)
                    };
                    Bar {
                        label: format!("{}", k + 1),
                        value: flow.abs(),
                        text,
                    }
                })
                .collect();
            let title = format!(
                "{case}, {name}.{}: flow of each module, {}",
                map.name,
                unit_symbol(Kind::VolumeFlow, family)
            );
            chart(&mut out, &title, &bars, columns, marks);
        }
    }
    out
}

struct Bar {
    label: String,
    value: f64,
    text: String,
}

fn chart(out: &mut String, title: &str, bars: &[Bar], columns: usize, marks: Glyphs) {
    if bars.is_empty() {
        return;
    }
    out.push('\n');
    out.push_str(title);
    out.push('\n');
    let shown = &bars[..bars.len().min(MOST)];
    let wide = |f: fn(&Bar) -> &str| {
        shown
            .iter()
            .map(|b| f(b).chars().count())
            .max()
            .unwrap_or(0)
    };
    let label = wide(|b| &b.label).min(columns / 3);
    let text = wide(|b| &b.text);
    let room = columns.saturating_sub(label + text + 4).max(8);
    let most = shown.iter().map(|b| b.value).fold(0.0, f64::max);
    for bar in shown {
        let name: String = bar.label.chars().take(label).collect();
        let share = if most > 0.0 {
            (bar.value / most).clamp(0.0, 1.0)
        } else {
            0.0
        };
        let drawn = strip(share, room, marks);
        let line = format!("  {name:>label$} {drawn} {}", bar.text);
        out.push_str(line.trim_end());
        out.push('\n');
    }
    if bars.len() > MOST {
        out.push_str(&format!("  and {} more\n", bars.len() - MOST));
    }
}

/// A bar of a share of the room.
fn strip(share: f64, room: usize, marks: Glyphs) -> String {
    match marks {
        Glyphs::Ascii => "#".repeat((share * room as f64).round() as usize),
        Glyphs::Unicode => {
            let eighths = (share * 8.0 * room as f64).round() as usize;
            let mut text = "\u{2588}".repeat(eighths / 8);
            // Left blocks of one to seven eighths run downwards from U+258F.
            let part = [
                "", "\u{258f}", "\u{258e}", "\u{258d}", "\u{258c}", "\u{258b}", "\u{258a}",
                "\u{2589}",
            ];
            text.push_str(part[eighths % 8]);
            text
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_longest_bar_fills_the_room_and_the_others_are_in_proportion() {
        assert_eq!(strip(1.0, 10, Glyphs::Ascii), "##########");
        assert_eq!(strip(0.5, 10, Glyphs::Ascii), "#####");
        assert_eq!(
            strip(0.5, 9, Glyphs::Unicode),
            "\u{2588}\u{2588}\u{2588}\u{2588}\u{258c}"
        );
        assert_eq!(strip(0.0, 9, Glyphs::Unicode), "");
    }

    #[test]
    fn no_line_is_wider_than_the_terminal() {
        let bars: Vec<Bar> = (0..9)
            .map(|k| Bar {
                label: format!("a hose with a long name {k}"),
                value: k as f64,
                text: format!("{k} %"),
            })
            .collect();
        for (columns, marks) in [
            (40, Glyphs::Ascii),
            (72, Glyphs::Unicode),
            (160, Glyphs::Ascii),
        ] {
            let mut out = String::new();
            chart(&mut out, "title", &bars, columns, marks);
            assert!(out.lines().all(|l| l.chars().count() <= columns), "{out}");
        }
    }
}
