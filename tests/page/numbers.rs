//! Every number of a page is the number of the JSON answer, and is written as the units say.

use super::pages::{Page, all, run, samples};
use loopwright::quantity::{Kind, UnitFamily, in_unit, show_si, significant};
use serde_json::Value;

/// A number as it stands in a page.
struct Shown<'a> {
    si: &'a str,
    pointer: String,
    form: &'a str,
    text: &'a str,
}

fn between<'a>(text: &'a str, start: &str, end: &str) -> Option<&'a str> {
    let rest = &text[text.find(start)? + start.len()..];
    Some(&rest[..rest.find(end)?])
}

fn unescape(text: &str) -> String {
    text.replace("&#39;", "'")
        .replace("&quot;", "\"")
        .replace("&lt;", "<")
        .replace("&gt;", ">")
        .replace("&amp;", "&")
}

/// All marked numbers, in HTML and in drawings.
fn shown(page: &Page) -> Vec<Shown<'_>> {
    let mut list = Vec::new();
    for (tag, key) in [("<data ", "value=\""), ("<tspan ", "data-si=\"")] {
        for piece in page.html.split(tag).skip(1) {
            let (head, rest) = piece.split_once('>').expect("a closed tag");
            let text = rest.split_once('<').expect("an end").0;
            list.push(Shown {
                si: between(head, key, "\"").expect("a value"),
                pointer: unescape(between(head, "data-j=\"", "\"").expect("a place")),
                form: between(head, "data-f=\"", "\"").expect("a form"),
                text,
            });
        }
    }
    list
}

/// The same number: serde_json reads decimals back within a unit of the last place only.
fn same(a: f64, b: f64) -> bool {
    (a - b).abs() <= 2.0 * f64::EPSILON * a.abs().max(b.abs())
}

/// The text that a form asks for, by the public face of the quantities alone.
fn wanted(form: &str, si: f64) -> String {
    let mut words = form.split(' ');
    let word = words.next().unwrap_or_default();
    let kind = words.next().and_then(Kind::from_name);
    let family = match words.next() {
        Some("us") => UnitFamily::Us,
        _ => UnitFamily::Metric,
    };
    match (word, kind) {
        ("show", Some(kind)) => show_si(kind, si, family),
        ("column", Some(kind)) => significant(in_unit(kind, si, family), 3),
        ("degrees", Some(kind)) => format!("{:.1}", in_unit(kind, si, family)),
        ("place", Some(kind)) if family == UnitFamily::Us => {
            format!("{:.3}", in_unit(kind, si, family))
        }
        ("place", Some(kind)) => format!("{:.1}", in_unit(kind, si, family)),
        ("percent", None) => format!("{:.0} %", 100.0 * si),
        ("percent1", None) => format!("{:.1} %", 100.0 * si),
        ("ratio", None) => significant(si, 3),
        ("count", None) => format!("{si:.0}"),
        ("seconds", None) => format!("{si:.1}"),
        ("minutes", None) => format!("{:.1}", si / 60.0),
        _ => panic!("an unknown form: {form}"),
    }
}

#[test]
fn every_number_of_every_page_is_that_of_the_answer() {
    for page in all() {
        let list = shown(page);
        assert!(
            list.len() >= 10,
            "{}: only {} numbers",
            page.name,
            list.len()
        );
        for number in list {
            let si: f64 = number.si.parse().expect("a number");
            let answer = page.answer.pointer(&number.pointer).and_then(Value::as_f64);
            let answer =
                answer.unwrap_or_else(|| panic!("{}: nothing at {}", page.name, number.pointer));
            assert!(
                same(answer, si),
                "{}: {} is {answer}, shown {si}",
                page.name,
                number.pointer
            );
            assert_eq!(
                number.text,
                wanted(number.form, si),
                "{}: {} as {}",
                page.name,
                number.pointer,
                number.form
            );
        }
    }
}

#[test]
fn a_field_of_numbers_holds_a_marked_number_or_a_dash() {
    let mut fields = 0;
    for page in all() {
        for cell in page.html.split("<td class=\"n\">").skip(1) {
            let inside = cell.split("</td>").next().unwrap_or_default();
            let marked = inside.starts_with("<data value=\"") && inside.ends_with("</data>");
            assert!(marked || inside == "-", "{}: {inside}", page.name);
            fields += 1;
        }
    }
    assert!(fields > 1000, "only {fields} fields");
}

#[test]
fn the_answer_of_a_pack_holds_that_of_solve_and_of_check() {
    for path in samples() {
        let file = path.to_string_lossy();
        let json = |verb: &str| -> Value {
            serde_json::from_slice(&run(&[verb, &file, "--json"], None).stdout).expect("JSON")
        };
        let (pack, solved) = (json("report"), json("solve"));
        for key in [
            "format",
            "title",
            "placeholders",
            "findings",
            "volumes",
            "cases",
        ] {
            assert_eq!(pack[key], solved[key], "{file}: {key}");
        }
        assert_eq!(pack["check"], json("check"), "{file}");
    }
}

#[test]
fn the_comparison_of_numbers_can_fail() {
    assert_eq!(wanted("show volume_flow metric", 2e-4), "12.0 L/min");
    assert_ne!(wanted("show volume_flow us", 2e-4), "12.0 L/min");
    assert_eq!(unescape("a&amp;b&#39;"), "a&b'");
    assert!(same(0.1, 0.1) && !same(0.1, 0.1 + 1e-14));
}
