//! Reads a unit such as `W/(m2 K)` into a factor and a dimension. Not the number in front of it.
//!
//! A unit is a product of words with whole exponents. Blanks, `*`, `·` and `.` multiply. Everything after the first
//! `/` (or `per`) divides, so `W/m2 K`, `W/(m2 K)` and `W/m2/K` are the same, as trade catalogues write it.

use super::atom::{self, AMBIGUOUS, Atom, Role};
use super::error::{Refusal, shortened};
use super::kind::Dimension;

/// Where the zero of a unit stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Scale {
    /// Zero is zero.
    Linear,
    /// Kelvin alone: a point or a difference.
    Kelvin,
    /// `degC`, a point only.
    Celsius,
    /// `degF`, a point only.
    Fahrenheit,
    /// `F difference`.
    FahrenheitDifference,
    /// `degC difference`: understood, but not a way to write one.
    CelsiusDifference,
}

/// What a pressure unit says about its zero.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Reference {
    Unsaid,
    Gauge,
    Absolute,
}

/// A unit: SI value = number * `num` / `den`, apart from the shifted scales.
#[derive(Clone, Copy, Debug)]
pub(super) struct Unit {
    pub num: f64,
    pub den: f64,
    pub dimension: Dimension,
    pub scale: Scale,
    pub reference: Reference,
    /// Whether a pressure stands in it, which tells `Pa s2/m2` from `kg/m3`.
    pub has_pressure: bool,
}

/// 0 degC in kelvin, exact.
const ZERO_CELSIUS_K: f64 = 273.15;
/// 0 degF above absolute zero in Fahrenheit degrees, exact.
const ZERO_FAHRENHEIT_R: f64 = 459.67;

impl Unit {
    pub(super) const ONE: Unit = Unit {
        num: 1.0,
        den: 1.0,
        dimension: [0; 6],
        scale: Scale::Linear,
        reference: Reference::Unsaid,
        has_pressure: false,
    };

    /// The SI value of `number` in this unit.
    pub(super) fn to_si(self, number: f64) -> f64 {
        match self.scale {
            Scale::Celsius => number + ZERO_CELSIUS_K,
            Scale::Fahrenheit => (number + ZERO_FAHRENHEIT_R) * 5.0 / 9.0,
            _ => number * self.num / self.den,
        }
    }

    /// The number in this unit of an SI value.
    pub(super) fn number_of(self, si: f64) -> f64 {
        match self.scale {
            Scale::Celsius => si - ZERO_CELSIUS_K,
            Scale::Fahrenheit => si * 9.0 / 5.0 - ZERO_FAHRENHEIT_R,
            _ => si * self.den / self.num,
        }
    }

    /// Multiplies by `atom` to the power `exponent`; `None` beyond any sensible exponent.
    fn multiply(&mut self, atom: &Atom, exponent: i8) -> Option<()> {
        for _ in 0..exponent.unsigned_abs() {
            if exponent > 0 {
                self.num *= atom.num;
                self.den *= atom.den;
            } else {
                self.num *= atom.den;
                self.den *= atom.num;
            }
        }
        for (sum, part) in self.dimension.iter_mut().zip(atom.dimension) {
            *sum = part.checked_mul(exponent)?.checked_add(*sum)?;
        }
        match atom.role {
            Role::PressureAbsolute => self.reference = Reference::Absolute,
            Role::PressureGauge => self.reference = Reference::Gauge,
            _ => {}
        }
        self.has_pressure |= matches!(
            atom.role,
            Role::Pressure | Role::PressureAbsolute | Role::PressureGauge
        );
        Some(())
    }
}

/// Reads `text`, already trimmed and not empty.
pub(super) fn read_unit(text: &str) -> Result<Unit, Refusal> {
    let (body, reference, difference) = split_suffix(text);
    let mut unit = Unit::ONE;
    let mut alone = None;
    let mut words = 0_usize;
    let mut sign = 1_i8;
    let mut open = false;
    let mut rest = body;
    while let Some(c) = rest.chars().next() {
        match c {
            '*' | '\u{b7}' | '\u{22c5}' | '\u{d7}' | '.' => rest = &rest[c.len_utf8()..],
            _ if c.is_whitespace() => rest = rest.trim_start(),
            '/' if words > 0 && !open => {
                sign = -1;
                rest = &rest[1..];
            }
            '(' if !open => {
                open = true;
                rest = &rest[1..];
            }
            ')' if open => {
                open = false;
                rest = &rest[1..];
            }
            _ => {
                if words > 0
                    && !open
                    && let Some(after) = eat(rest, "per")
                {
                    sign = -1;
                    rest = after;
                    continue;
                }
                let (atom, after) = read_atom(rest)?;
                let (exponent, after) = read_exponent(after).ok_or_else(|| unknown(text))?;
                unit.multiply(atom, sign * exponent)
                    .ok_or_else(|| unknown(text))?;
                words += 1;
                alone = (words == 1 && sign * exponent == 1).then_some(atom.role);
                rest = after;
            }
        }
    }
    if words == 0 || open || body.ends_with('/') || body.contains("//") {
        return Err(unknown(text));
    }
    unit.scale = match (alone, difference) {
        (Some(Role::Kelvin), false) => Scale::Kelvin,
        (Some(Role::Kelvin), true) => Scale::Linear,
        (Some(Role::Celsius), false) => Scale::Celsius,
        (Some(Role::Celsius), true) => Scale::CelsiusDifference,
        (Some(Role::Fahrenheit), false) => Scale::Fahrenheit,
        (Some(Role::Fahrenheit), true) => Scale::FahrenheitDifference,
        (_, true) => return Err(unknown(text)),
        (_, false) => Scale::Linear,
    };
    match (unit.reference, reference) {
        (_, Reference::Unsaid) => {}
        (Reference::Unsaid, said) if unit.has_pressure => unit.reference = said,
        (said, again) if said == again => {}
        _ => return Err(unknown(text)),
    }
    Ok(unit)
}

fn unknown(text: &str) -> Refusal {
    Refusal::UnknownUnit {
        unit: shortened(text),
        suggestion: None,
    }
}

/// Takes `abs`, `gauge` or `difference` off the end.
fn split_suffix(text: &str) -> (&str, Reference, bool) {
    let Some((body, last)) = text.rsplit_once(char::is_whitespace) else {
        return (text, Reference::Unsaid, false);
    };
    let last = last
        .strip_prefix('(')
        .and_then(|l| l.strip_suffix(')'))
        .unwrap_or(last);
    let is = |words: &[&str]| words.iter().any(|w| w.eq_ignore_ascii_case(last));
    let body = body.trim_end();
    if is(&["abs", "absolute"]) {
        (body, Reference::Absolute, false)
    } else if is(&["gauge", "gage"]) {
        (body, Reference::Gauge, false)
    } else if is(&["difference"]) {
        (body, Reference::Unsaid, true)
    } else {
        (text, Reference::Unsaid, false)
    }
}

/// `rest` after blanks and `word`, if it stands there whole, in any letter case.
fn eat<'t>(rest: &'t str, word: &str) -> Option<&'t str> {
    let rest = rest.trim_start();
    let head = rest.get(..word.len())?;
    let after = &rest[word.len()..];
    (head.eq_ignore_ascii_case(word) && !after.starts_with(|c: char| c.is_ascii_alphabetic()))
        .then_some(after)
}

/// A unit word in ASCII, kept on the stack.
struct Word {
    bytes: [u8; Self::LONGEST],
    len: usize,
}

impl Word {
    const LONGEST: usize = 24;

    fn push(&mut self, text: &str) -> Option<()> {
        let end = self.len + text.len();
        self.bytes
            .get_mut(self.len..end)?
            .copy_from_slice(text.as_bytes());
        self.len = end;
        Some(())
    }

    fn as_str(&self) -> &str {
        std::str::from_utf8(&self.bytes[..self.len]).unwrap_or("")
    }
}

/// The next unit word and what follows it.
fn read_atom(text: &str) -> Result<(&'static Atom, &str), Refusal> {
    let mut word = Word {
        bytes: [0; Word::LONGEST],
        len: 0,
    };
    let mut rest = text;
    while let Some(c) = rest.chars().next() {
        let ascii = match c {
            'a'..='z' | 'A'..='Z' => &rest[..1],
            '\u{b5}' | '\u{3bc}' => "u",
            '\u{3a9}' | '\u{2126}' => "ohm",
            '\u{b0}' | '\u{ba}' => "deg",
            '"' | '\u{2033}' | '\u{201d}' if word.len == 0 => "in",
            _ => break,
        };
        word.push(ascii).ok_or_else(|| unknown(text))?;
        rest = &rest[c.len_utf8()..];
    }
    let spelled = word.as_str();
    if spelled.is_empty() {
        return Err(unknown(text));
    }
    if let Some(found) = read_phrase(spelled, rest) {
        return Ok(found);
    }
    if let Some(found) = atom::find(spelled) {
        return Ok((found, rest));
    }
    for (names, instead) in AMBIGUOUS {
        if names.iter().any(|name| name.eq_ignore_ascii_case(spelled)) {
            return Err(Refusal::AmbiguousUnit {
                unit: spelled.into(),
                instead,
            });
        }
    }
    Err(unknown(&text[..text.len() - rest.len()]))
}

/// Units of several words: `US gal`, `US fl oz`, `ton cooling`, `in H2O`, `mm Hg`, `deg C`.
fn read_phrase<'t>(word: &str, rest: &'t str) -> Option<(&'static Atom, &'t str)> {
    let is = |words: &[&str]| words.iter().any(|w| w.eq_ignore_ascii_case(word));
    let first_of = |words: &[&str]| words.iter().find_map(|w| eat(rest, w));
    let (name, after) = if is(&["US"]) {
        if let Some(after) = first_of(&["gal", "gals", "gallon", "gallons"]) {
            ("US gal", after)
        } else if let Some(after) = first_of(&["qt", "quart", "quarts"]) {
            ("US qt", after)
        } else {
            (
                "US fl oz",
                eat(rest, "floz").or_else(|| eat(eat(rest, "fl")?, "oz"))?,
            )
        }
    } else if is(&["ton", "tons"]) {
        let rest = eat(rest, "of").unwrap_or(rest);
        let after = eat(rest, "cooling").or_else(|| eat(rest, "refrigeration"))?;
        ("ton cooling", after)
    } else if is(&["deg"]) {
        if let Some(after) = eat(rest, "C") {
            ("degC", after)
        } else {
            ("degF", eat(rest, "F")?)
        }
    } else {
        // The water and mercury columns: `inH` + `2O`, `in H2O`, `mm Hg`.
        let (length, rest) = match word.strip_suffix(['H', 'h']) {
            Some(length) => (length, eat(rest, "2O").or_else(|| eat(rest, "\u{2082}O"))?),
            None => match eat(rest, "H2O").or_else(|| eat(rest, "H\u{2082}O")) {
                Some(after) => (word, after),
                None => {
                    let after = eat(rest, "Hg")?;
                    return match pair(word)? {
                        [b'i', b'n'] => Some((atom::find("inHg")?, after)),
                        [b'm', b'm'] => Some((atom::find("mmHg")?, after)),
                        _ => None,
                    };
                }
            },
        };
        let name = match pair(length)? {
            [b'i', b'n'] => "inH2O",
            [b'f', b't'] => "ftH2O",
            [b'm', b'm'] => "mmH2O",
            [b'c', b'm'] => "cmH2O",
            _ => return None,
        };
        (name, rest)
    };
    Some((atom::find(name)?, after))
}

/// A two-letter word in lower case.
fn pair(word: &str) -> Option<[u8; 2]> {
    let pair: [u8; 2] = word.as_bytes().try_into().ok()?;
    Some(pair.map(|b| b.to_ascii_lowercase()))
}

/// The exponent behind a word: `2`, `^2`, `-1`, `²`, `⁻¹`; 1 if there is none.
fn read_exponent(text: &str) -> Option<(i8, &str)> {
    let superscript = |c: char| match c {
        '\u{b9}' => Some(1),
        '\u{b2}' => Some(2),
        '\u{b3}' => Some(3),
        _ => None,
    };
    let caret = text.strip_prefix('^');
    let rest = caret.unwrap_or(text);
    let minus = rest.strip_prefix(['-', '\u{207b}']);
    let rest = minus.unwrap_or(rest);
    let Some(c) = rest.chars().next() else {
        return (caret.is_none() && minus.is_none()).then_some((1, rest));
    };
    let Some(value) = superscript(c).or_else(|| c.to_digit(10).and_then(|d| i8::try_from(d).ok()))
    else {
        return (caret.is_none() && minus.is_none()).then_some((1, rest));
    };
    let after = &rest[c.len_utf8()..];
    if value == 0 || value > 4 || after.starts_with(|c: char| c.is_ascii_digit()) {
        return None;
    }
    Some((if minus.is_some() { -value } else { value }, after))
}
