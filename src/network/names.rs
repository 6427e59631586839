//! Which known name a mistyped one was meant to be.

/// Help that names the nearest of some known names.
pub(super) fn nearest_help<'a>(name: &str, known: impl Iterator<Item = &'a String>) -> String {
    let known: Vec<&String> = known.collect();
    if known.is_empty() {
        return "the design has none to name; try taking this out".into();
    }
    let whole: Vec<&&String> = known
        .iter()
        .filter(|k| k.rsplit_once('.').is_some_and(|(_, part)| part == name))
        .collect();
    if let [only] = whole[..] {
        return format!("did you mean `{only}`?");
    }
    let best = known
        .iter()
        .map(|k| (strsim::damerau_levenshtein(name, k), *k))
        .min_by_key(|(distance, _)| *distance);
    match best {
        Some((_, near)) if is_near(name, near) => {
            format!("did you mean `{near}`?")
        }
        Some(_) if known.len() <= 12 => format!(
            "known names: {}",
            known
                .iter()
                .map(|k| format!("`{k}`"))
                .collect::<Vec<_>>()
                .join(", ")
        ),
        _ => String::new(),
    }
}

/// Whether a word may be a slip for a name.
pub(super) fn is_near(word: &str, name: &str) -> bool {
    strsim::damerau_levenshtein(word, name) <= 1 + word.len() / 3
}
