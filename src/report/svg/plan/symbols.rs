//! Symbols of parts. Each is drawn about its middle and fits a square of [`SIZE`].

use crate::report::svg::pen::{Attributes, Path, Pen};

/// Side of the square that every symbol fits.
pub(super) const SIZE: f64 = 30.0;

/// Draws the symbol of a kind; a kind without one of its own is a plain box.
///
/// `down` says which way coolant runs through it on the page: 1 down, -1 up.
pub(super) fn draw(pen: &mut Pen, kind: &str, (x, y): (f64, f64), down: f64) {
    let line = || Attributes::class("part");
    let thin = || Attributes::class("thin");
    match kind {
        "expansion_tank" => {
            pen.rect((x - 13.0, y - 13.0), (26.0, 26.0), "part");
            pen.line((x - 13.0, y - 1.0), (x + 13.0, y - 1.0), "thin");
            pen.path(
                Path::from(x - 5.0, y - 5.0)
                    .to(x + 5.0, y - 5.0)
                    .to(x, y - 1.0)
                    .close(),
                Attributes::class("full"),
            );
        }
        "open_end" => {
            pen.path(
                Path::from(x - 12.0, y - 8.0)
                    .to(x - 9.0, y + 11.0)
                    .to(x + 9.0, y + 11.0)
                    .to(x + 12.0, y - 8.0),
                line(),
            );
            pen.line((x - 11.0, y - 2.0), (x + 11.0, y - 2.0), "thin");
        }
        "draw" => {
            pen.circle((x, y), 6.0, "part");
            pen.path(
                Path::from(x + 4.0, y + 4.0)
                    .to(x + 13.0, y + 13.0)
                    .jump(x + 13.0, y + 6.0)
                    .to(x + 13.0, y + 13.0)
                    .to(x + 6.0, y + 13.0),
                thin(),
            );
        }
        "pump" => {
            pen.circle((x, y), 14.0, "part");
            let tip = y + 13.0 * down;
            let base = y - 7.0 * down;
            pen.path(
                Path::from(x - 11.0, base)
                    .to(x + 11.0, base)
                    .to(x, tip)
                    .close(),
                Attributes::class("full"),
            );
        }
        "valve" | "check_valve" | "thermostat" => {
            pen.path(
                Path::from(x - 9.0, y - 13.0)
                    .to(x + 9.0, y - 13.0)
                    .to(x, y)
                    .close(),
                line(),
            );
            let class = if kind == "check_valve" {
                "full"
            } else {
                "part"
            };
            pen.path(
                Path::from(x - 9.0, y + 13.0)
                    .to(x + 9.0, y + 13.0)
                    .to(x, y)
                    .close(),
                Attributes::class(class),
            );
            if kind == "thermostat" {
                pen.line((x, y), (x + 11.0, y), "thin");
                pen.circle((x + 12.0, y), 3.0, "full");
            }
        }
        "restrictor" => {
            pen.path(
                Path::from(x - 9.0, y - 13.0).arc(14.0, x - 9.0, y + 13.0),
                thin(),
            );
            pen.path(
                Path::from(x + 9.0, y + 13.0).arc(14.0, x + 9.0, y - 13.0),
                thin(),
            );
        }
        "exchanger" => {
            pen.circle((x, y), 14.0, "part");
            pen.path(
                Path::from(x, y - 14.0)
                    .to(x - 7.0, y - 5.0)
                    .to(x + 7.0, y + 5.0)
                    .to(x, y + 14.0),
                thin(),
            );
        }
        "core" => {
            pen.rect((x - 11.0, y - 14.0), (22.0, 28.0), "part");
            for k in 0..4 {
                let at = x - 6.6 + 4.4 * k as f64;
                pen.line((at, y - 14.0), (at, y + 14.0), "thin");
            }
        }
        "heater" => {
            pen.rect((x - 13.0, y - 13.0), (26.0, 26.0), "part");
            pen.path(
                Path::from(x - 13.0, y)
                    .to(x - 8.0, y)
                    .to(x - 5.0, y - 7.0)
                    .to(x, y + 7.0)
                    .to(x + 5.0, y - 7.0)
                    .to(x + 8.0, y)
                    .to(x + 13.0, y),
                thin(),
            );
        }
        "plate" => {
            pen.rect((x - 13.0, y - 13.0), (26.0, 26.0), "part");
            for k in 0..3 {
                let at = x - 7.0 + 7.0 * k as f64;
                pen.path(
                    Path::from(at, y + 8.0)
                        .to(at, y - 6.0)
                        .jump(at - 2.6, y - 2.0)
                        .to(at, y - 7.0)
                        .to(at + 2.6, y - 2.0),
                    thin(),
                );
            }
        }
        _ => pen.rect((x - 13.0, y - 13.0), (26.0, 26.0), "part"),
    }
}
