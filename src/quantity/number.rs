//! The number in front of a unit: decimal, exponent, fraction or mixed number. Not the unit, and no allocation.

use super::error::Refusal;

/// Splits `text` into its number and the rest, which is trimmed.
pub(super) fn split_number(text: &str) -> Result<(f64, &str), Refusal> {
    let text = text.trim();
    let minus = text.strip_prefix(['-', '\u{2212}']);
    let negative = minus.is_some();
    let body = minus.or_else(|| text.strip_prefix('+')).unwrap_or(text);
    let whole = digits(body);
    let (value, rest) = if !whole.is_empty() && body[whole.len()..].starts_with('/') {
        fraction(0.0, body)?
    } else if let Some(after) = mixed_tail(body, whole) {
        fraction(plain(whole)?, after)?
    } else {
        decimal(body, whole)?
    };
    if !value.is_finite() {
        return Err(Refusal::NotFinite);
    }
    check_rest(rest)?;
    Ok((if negative { -value } else { value }, rest.trim_start()))
}

fn digits(text: &str) -> &str {
    let end = text
        .bytes()
        .position(|b| !b.is_ascii_digit())
        .unwrap_or(text.len());
    &text[..end]
}

fn plain(text: &str) -> Result<f64, Refusal> {
    text.parse().map_err(|_| Refusal::NotANumber)
}

/// The `1/2` of `1 1/2` or `1-1/2`.
fn mixed_tail<'t>(body: &'t str, whole: &str) -> Option<&'t str> {
    if whole.is_empty() {
        return None;
    }
    let rest = &body[whole.len()..];
    let after = rest.strip_prefix('-').or_else(|| {
        rest.starts_with(char::is_whitespace)
            .then(|| rest.trim_start())
    })?;
    let numerator = digits(after);
    let denominator = after.strip_prefix(numerator)?.strip_prefix('/')?;
    (!numerator.is_empty() && denominator.starts_with(|c: char| c.is_ascii_digit()))
        .then_some(after)
}

/// `n/d`, added to `whole`; the sum has one rounding only.
fn fraction(whole: f64, text: &str) -> Result<(f64, &str), Refusal> {
    let numerator = digits(text);
    let after = &text[numerator.len()..];
    let after = after.strip_prefix('/').unwrap_or(after);
    let denominator = digits(after);
    let rest = &after[denominator.len()..];
    if rest.starts_with('/') || rest.starts_with('.') {
        return Err(Refusal::NotANumber);
    }
    let (n, d) = (plain(numerator)?, plain(denominator)?);
    if d == 0.0 {
        return Err(Refusal::NotFinite);
    }
    Ok(((whole * d + n) / d, rest))
}

fn decimal<'t>(body: &'t str, whole: &str) -> Result<(f64, &'t str), Refusal> {
    let mut end = whole.len();
    let mut count = whole.len();
    if body[end..].starts_with('.') {
        let decimals = digits(&body[end + 1..]);
        end += 1 + decimals.len();
        count += decimals.len();
    }
    if count == 0 {
        let word = body.as_bytes();
        let begins = |w: &[u8]| word.len() >= 3 && word[..3].eq_ignore_ascii_case(w);
        return Err(if begins(b"nan") || begins(b"inf") {
            Refusal::NotFinite
        } else if body.starts_with(',') {
            Refusal::Separator
        } else {
            Refusal::NotANumber
        });
    }
    if let Some(tail) = body[end..].strip_prefix(['e', 'E']) {
        let unsigned = tail.strip_prefix(['-', '+']).unwrap_or(tail);
        let power = digits(unsigned);
        if !power.is_empty() {
            end += 1 + (tail.len() - unsigned.len()) + power.len();
        }
    }
    Ok((plain(&body[..end])?, &body[end..]))
}

/// What follows the number must begin a unit.
fn check_rest(rest: &str) -> Result<(), Refusal> {
    let mut chars = rest.trim_start().chars();
    match chars.next() {
        Some(',' | '_' | '0'..='9') => Err(Refusal::Separator),
        Some('\'' | '\u{2019}') if chars.next().is_some_and(|c| c.is_ascii_digit()) => {
            Err(Refusal::Separator)
        }
        Some('.' | '-' | '+' | '/' | '\u{2212}') => Err(Refusal::NotANumber),
        _ => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_form_of_number_is_read() {
        for (text, value, rest) in [
            ("12 L", 12.0, "L"),
            ("12L", 12.0, "L"),
            (" +.5in ", 0.5, "in"),
            ("5. m", 5.0, "m"),
            ("-1.5e3 Pa", -1500.0, "Pa"),
            ("\u{2212}4 degC", -4.0, "degC"),
            ("2E-3m", 0.002, "m"),
            ("5e", 5.0, "e"),
            ("3/4 in", 0.75, "in"),
            ("3/4in", 0.75, "in"),
            ("1 1/2 in", 1.5, "in"),
            ("1-1/2 in", 1.5, "in"),
            ("-1 1/2 in", -1.5, "in"),
            ("7", 7.0, ""),
        ] {
            assert_eq!(split_number(text), Ok((value, rest)), "{text}");
        }
    }

    #[test]
    fn what_is_not_one_number_is_refused() {
        for (text, refusal) in [
            ("", Refusal::NotANumber),
            ("mm", Refusal::NotANumber),
            ("--3 m", Refusal::NotANumber),
            ("+-3 m", Refusal::NotANumber),
            ("-\u{2212}3 m", Refusal::NotANumber),
            ("1.2.3 m", Refusal::NotANumber),
            ("5-7 mm", Refusal::NotANumber),
            ("5 - 7 mm", Refusal::NotANumber),
            ("1/2/3 m", Refusal::NotANumber),
            ("1/ m", Refusal::NotANumber),
            ("1/0 m", Refusal::NotFinite),
            ("nan m", Refusal::NotFinite),
            ("-inf m", Refusal::NotFinite),
            ("Infinity", Refusal::NotFinite),
            ("1e999 m", Refusal::NotFinite),
            ("1,000 mm", Refusal::Separator),
            ("0,5 m", Refusal::Separator),
            ("1 000 mm", Refusal::Separator),
            ("1_000 mm", Refusal::Separator),
            ("1'000 mm", Refusal::Separator),
        ] {
            assert_eq!(split_number(text), Err(refusal), "{text}");
        }
    }
}
