//! Texts of a quantity as regular expressions, for the schema that editors read. They never refuse what the program takes;
//! what is left to the program is whether a compound such as `m2/m` measures what is wanted, and letter case in `mW`.
//!
//! The expressions keep to what every validator knows (ECMA-262 without look-around), and no text matches in two ways,
//! so that none takes long.

use super::atom::{ATOMS, Atom, Role};
use super::kind::Kind;

/// What may stand in front of a unit: a decimal, with or without exponent, a fraction or a mixed number.
const NUMBER: &str = r"[-+\u2212]?(?:[0-9]+(?:\s+|-)[0-9]+/[0-9]+|[0-9]+/[0-9]+|[0-9]+(?:\.[0-9]*)?(?:[eE][-+]?[0-9]+)?|\.[0-9]+(?:[eE][-+]?[0-9]+)?)";
/// What may stand between two unit words.
const BETWEEN: &str = r"[\s*.\u00b7\u22c5\u00d7/()]";
const EXPONENT: &str = r"\^?[-\u207b]?[1-4\u00b9\u00b2\u00b3]";
/// Marks of a compound unit behind its first letter.
const MARK: &str =
    r"[-*.\u00b7\u22c5\u00d7/^()\u00b9\u00b2\u00b3]|[1-4](?:[^0-9oO]|$)|[0-9\s][pP][eE][rR][\s(]";
/// Letters that begin a unit; none begins with `e`, which belongs to the number.
const FIRST: &str = r#"[A-DF-Za-df-z\u00b0\u00ba\u00b5\u03bc\u03a9\u2126"\u2033\u201d]"#;
/// Units of several words, and the words beside units.
const PHRASES: [&str; 6] = [
    r"[uU\u00b5\u03bc][sS]\s*(?:[gG][aA][lL](?:[lL][oO][nN])?[sS]?|[qQ][tT]|[qQ][uU][aA][rR][tT][sS]?|[fF][lL]\s*[oO][zZ])",
    r"[tT][oO][nN][sS]?\s*(?:[oO][fF]\s*)?(?:[cC][oO][oO][lL][iI][nN][gG]|[rR][eE][fF][rR][iI][gG][eE][rR][aA][tT][iI][oO][nN])",
    r"[pP][eE][rR]",
    r"[aA][bB][sS](?:[oO][lL][uU][tT][eE])?",
    r"[gG][aA][uU]?[gG][eE]",
    r"[dD][iI][fF][fF][eE][rR][eE][nN][cC][eE]",
];
const ABSOLUTE: usize = 3;
const GAUGE: usize = 4;
const DIFFERENCE: usize = 5;

/// A text that is below zero, whatever its unit; for quantities that begin at zero.
pub const BELOW_ZERO: &str = r"^\s*[-\u2212][0.]*[1-9]";
/// A text that is zero or below, whatever its unit; for quantities that must be above zero.
pub const ZERO_OR_BELOW: &str = r"^\s*(?:[-\u2212]|\+?[0.]+(?:[eE][-+]?[0-9]+)?\s*[^0-9.\s/eE-])";

/// A number with known unit words behind it, of whatever kind.
pub fn quantity_pattern() -> String {
    let mut words: Vec<String> = names(|_| true)
        .filter(|name| !name.contains(' '))
        .map(spelled)
        .collect();
    words.extend(PHRASES.map(str::to_owned));
    let word = format!("(?:{})", words.join("|"));
    format!(
        "^\\s*{NUMBER}{BETWEEN}*{word}(?:(?:{EXPONENT}{BETWEEN}*|{BETWEEN}+){word})*(?:{EXPONENT})?{BETWEEN}*$"
    )
}

impl Kind {
    /// A number with a unit word of this kind, or with a compound that [`quantity_pattern`] and the reader judge.
    pub fn pattern(self) -> String {
        let own = self.own_words();
        let own = if own.is_empty() {
            String::new()
        } else {
            format!("(?:{})|", own.join("|"))
        };
        // No product of two words with a blank between is a pressure or a temperature.
        let blank = if self.is_pressure() || self.is_temperature() {
            String::new()
        } else {
            format!("|\\s{FIRST}")
        };
        format!(
            "^\\s*{NUMBER}\\s*(?:{own}[*(\\u00b7\\u22c5\\u00d7].*|{FIRST}.*(?:{MARK}{blank}).*)\\s*$"
        )
    }

    fn own_words(self) -> Vec<String> {
        let of = |roles: &[Role]| {
            let known: Vec<String> =
                names(|atom| atom.dimension == self.dimension() && roles.contains(&atom.role))
                    .map(spelled)
                    .collect();
            format!("(?:{})", known.join("|"))
        };
        let said = |word: usize| format!(r"\s+{}", PHRASES[word]);
        let perhaps = |word: usize| format!(r"(?:\s+{})?", PHRASES[word]);
        match self {
            Kind::Temperature => vec![
                of(&[Role::Kelvin, Role::Celsius, Role::Fahrenheit]),
                spelled("deg") + r"\s+[cCfF]",
            ],
            Kind::TemperatureDifference => vec![
                of(&[Role::Kelvin]) + &perhaps(DIFFERENCE),
                of(&[Role::Fahrenheit]) + &said(DIFFERENCE),
                spelled("deg") + r"\s+[fF]" + &said(DIFFERENCE),
            ],
            Kind::PressureDifference => vec![of(&[Role::Pressure])],
            Kind::GaugePressure => {
                vec![of(&[Role::Pressure, Role::PressureGauge]) + &perhaps(GAUGE)]
            }
            Kind::AbsolutePressure => vec![
                of(&[Role::Pressure]) + &said(ABSOLUTE),
                of(&[Role::PressureAbsolute]) + &perhaps(ABSOLUTE),
            ],
            Kind::Pressure => vec![
                of(&[Role::Pressure, Role::PressureGauge]) + &perhaps(GAUGE),
                of(&[Role::Pressure, Role::PressureAbsolute]) + &perhaps(ABSOLUTE),
            ],
            // Pressures per velocity, and densities, have no word of their own.
            _ if names(|atom| atom.dimension == self.dimension())
                .next()
                .is_none() =>
            {
                Vec::new()
            }
            _ => vec![of(&[Role::Plain])],
        }
    }
}

/// Every spelling of the units so chosen.
fn names(wanted: impl Fn(&Atom) -> bool) -> impl Iterator<Item = &'static str> {
    ATOMS
        .iter()
        .filter(move |atom| wanted(atom))
        .flat_map(|atom| atom.names.iter().copied())
}

/// A unit word in any letter case, with the signs that stand for letters.
fn spelled(name: &str) -> String {
    if name.contains(' ') {
        let phrase = if name.starts_with("ton") { 1 } else { 0 };
        return PHRASES[phrase].to_owned();
    }
    let mut text = String::new();
    let mut rest = name;
    while let Some(c) = rest.chars().next() {
        let (taken, written) = if rest.starts_with("ohm") {
            (3, r"(?:[oO][hH][mM]|[\u03a9\u2126])".to_owned())
        } else if rest.starts_with("deg") {
            (3, r"(?:[dD][eE][gG]|[\u00b0\u00ba])".to_owned())
        } else if text.is_empty() && rest.starts_with("in") {
            (2, r#"(?:[iI][nN]|["\u2033\u201d])"#.to_owned())
        } else if rest.starts_with("H2O") {
            (3, r"\s*[hH]\s*[2\u2082][oO]".to_owned())
        } else if rest.starts_with("Hg") {
            (2, r"\s*[hH][gG]".to_owned())
        } else if matches!(c, 'u' | 'U') {
            (1, r"[uU\u00b5\u03bc]".to_owned())
        } else {
            (
                1,
                format!("[{}{}]", c.to_ascii_lowercase(), c.to_ascii_uppercase()),
            )
        };
        text += &written;
        rest = &rest[taken..];
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::UnitFamily;
    use serde_json::json;

    /// Validators of every kind, by a crate that is not ours.
    fn patterns() -> Vec<(Kind, jsonschema::Validator)> {
        let of = |kind: Kind| {
            let all = json!({ "allOf": [{ "pattern": quantity_pattern() }, { "pattern": kind.pattern() }] });
            jsonschema::draft202012::new(&all).expect("a sound pattern")
        };
        Kind::ALL.iter().map(|kind| (*kind, of(*kind))).collect()
    }

    /// A walk through whole numbers that looks random (Knuth, The Art of Computer Programming, vol. 2, 3.3.4, table 1).
    struct Walk(u64);

    impl Walk {
        fn below(&mut self, limit: usize) -> usize {
            self.0 = self
                .0
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1);
            ((self.0 >> 33) as usize) % limit
        }

        fn pick<'t>(&mut self, from: &[&'t str]) -> &'t str {
            from[self.below(from.len())]
        }
    }

    /// Holds a text against every kind; says how many kinds take it.
    fn judge(patterns: &[(Kind, jsonschema::Validator)], text: &str) -> usize {
        let mut taken = 0;
        for (kind, pattern) in patterns {
            if kind.parse(text).is_ok() {
                taken += 1;
                assert!(pattern.is_valid(&json!(text)), "{kind:?} takes `{text}`");
            }
        }
        taken
    }

    #[test]
    fn every_spelling_that_is_read_passes_its_pattern() {
        let patterns = patterns();
        let numbers = [
            "12",
            "0",
            "-3",
            "+.5",
            "5.",
            "1.5e-3",
            "3/4",
            "1 1/2",
            "1-1/2",
            "\u{2212}4",
        ];
        let ends = [
            "",
            " abs",
            " (absolute)",
            " gauge",
            " gage",
            " difference",
            " ",
        ];
        let mut walk = Walk(1);
        let mut taken = 0;
        for name in names(|_| true) {
            for written in [name.to_owned(), name.to_uppercase(), name.to_lowercase()] {
                let signs = [
                    written.replace('u', "µ"),
                    written.replace("deg", "°"),
                    written.replace("ohm", "Ω"),
                ];
                let signs = signs.into_iter().filter(|sign| *sign != written);
                for written in [written.clone()].into_iter().chain(signs) {
                    for end in ends {
                        let text = format!(
                            "{}{}{written}{end}",
                            walk.pick(&numbers),
                            walk.pick(&["", " "])
                        );
                        taken += judge(&patterns, &text);
                    }
                }
            }
        }
        for text in [
            "5 US gallons",
            "3 tons of refrigeration",
            "2 deg C",
            "2 deg F difference",
            "30 in H2O",
            "30 mm Hg",
            "12 inH\u{2082}O",
            "3/4\"",
            "2 \u{b0}C",
            "5 \u{2126}",
            "5 \u{b5}m",
            "9 Pa s2 / m2",
            "1 W per m2 per K",
        ] {
            assert!(judge(&patterns, text) > 0, "{text}");
        }
        assert!(taken > 1500, "{taken}");
    }

    #[test]
    fn compounds_that_are_read_pass_their_pattern() {
        let patterns = patterns();
        let words: Vec<&str> = names(|_| true).filter(|name| !name.contains(' ')).collect();
        let joints = [
            " ", "*", "/", " per ", "\u{b7}", ".", " / ", "/(", ")", ") ",
        ];
        let exponents = ["", "", "", "2", "-1", "^2", "\u{b2}", "3", "^-2"];
        let mut walk = Walk(7);
        let mut taken = 0;
        // Few words by chance measure anything: most texts begin as a customary unit whose words are then exchanged.
        for round in 0..20_000 {
            let kind = Kind::ALL[walk.below(Kind::ALL.len())];
            let family = [UnitFamily::Metric, UnitFamily::Us][round % 2];
            let mut text = "7 ".to_owned();
            if walk.below(3) > 0 {
                for piece in kind
                    .customary(family)
                    .column
                    .split_inclusive([' ', '/', '(', ')'])
                {
                    let word = piece.trim_end_matches([' ', '/', '(', ')', '2', '3']);
                    let rest = &piece[word.len()..];
                    let like: Vec<&str> = match crate::quantity::atom::find(word) {
                        Some(own) => names(|atom| atom.dimension == own.dimension).collect(),
                        None => vec![word],
                    };
                    text += walk.pick(&like);
                    text += &if walk.below(4) == 0 {
                        rest.replace(' ', "*")
                    } else {
                        rest.to_owned()
                    };
                }
            }
            for _ in 0..walk.below(3) {
                text += walk.pick(&joints);
                text += walk.pick(&words);
                text += walk.pick(&exponents);
            }
            taken += judge(&patterns, &text);
        }
        assert!(taken > 3_000, "{taken}");
    }

    #[test]
    fn what_names_no_unit_or_another_kind_is_refused() {
        let patterns = patterns();
        let takes = |kind: Kind, text: &str| {
            let (_, pattern) = patterns
                .iter()
                .find(|(k, _)| *k == kind)
                .expect("every kind");
            pattern.is_valid(&json!(text))
        };
        for (kind, text) in [
            (Kind::Length, "12 furlongs"),
            (Kind::Length, "12"),
            (Kind::Length, "mm"),
            (Kind::Length, "12 L"),
            (Kind::Length, "1,5 mm"),
            (Kind::Length, "1.2.3 mm"),
            (Kind::VolumeFlow, "12 gallons/min"),
            (Kind::Temperature, "12 K difference"),
            (Kind::TemperatureDifference, "5 degC"),
            (Kind::TemperatureDifference, "5 degF"),
            (Kind::AbsolutePressure, "85 kPa"),
            (Kind::AbsolutePressure, "12 psig"),
            (Kind::GaugePressure, "85 kPa abs"),
            (Kind::PressureDifference, "85 psia"),
        ] {
            assert!(!takes(kind, text), "{kind:?}: {text}");
            assert!(kind.parse(text).is_err(), "{kind:?}: {text}");
        }
    }

    /// A backtracking engine takes time in step with the length of a text that fails at its end.
    #[test]
    fn no_text_takes_long() {
        let patterns = patterns();
        for piece in [
            "m ", "deg C ", "in ", "mm", "m2", "1", "1 1/", "US gal ", " ", "*(", "m per ",
        ] {
            let text = format!("1 {}!", piece.repeat(2000));
            for (kind, pattern) in &patterns {
                assert!(!pattern.is_valid(&json!(text)), "{kind:?}: {piece}");
            }
        }
    }
}
