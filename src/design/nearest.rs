//! "Did you mean": the known word nearest to a misspelt one, and how a list of known words is written.

/// Longest word, in characters, for which a near one is looked for; nobody misspells more than this by accident.
const LONGEST_WORD: usize = 64;
/// Most words that a message lists.
const MOST_LISTED: usize = 40;
/// Fewest characters of a word that count as the beginning of a longer one.
const SHORTEST_BEGINNING: usize = 3;

/// The known word nearest to `word`, if any is near enough to be what was meant.
///
/// Near is: the same but for case and for `-`, `_` and space; or at most a third of the letters changed, swapped,
/// added or dropped; or one of the two begins the other. Of equally near words the first is taken.
pub fn nearest<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    if word.is_empty() || word.chars().count() > LONGEST_WORD {
        return None;
    }
    let plain = plain(word);
    let length = plain.chars().count();
    let mut best: Option<(usize, &str)> = None;
    for candidate in known {
        let other = self::plain(candidate);
        let other_length = other.chars().count();
        if other_length > LONGEST_WORD {
            continue;
        }
        let room = (length.max(other_length) / 3).max(1);
        let distance = strsim::damerau_levenshtein(&plain, &other);
        // A word of one letter is near to every other: it must share the letter.
        let near = distance <= room && distance < length.max(other_length);
        let begins = length.min(other_length) >= SHORTEST_BEGINNING
            && (other.starts_with(&plain) || plain.starts_with(other.as_str()));
        let rank = if near {
            distance
        } else {
            LONGEST_WORD + distance
        };
        if (near || begins) && best.is_none_or(|(least, _)| rank < least) {
            best = Some((rank, candidate));
        }
    }
    best.map(|(_, candidate)| candidate)
}

/// Whether two words differ in nothing but case and `-`, `_` and space.
pub fn is_same_word(a: &str, b: &str) -> bool {
    plain(a) == plain(b)
}

/// Known words as a message lists them: `` `a`, `b` or `c` ``.
pub fn list<'a>(known: impl IntoIterator<Item = &'a str>) -> String {
    let words: Vec<String> = known.into_iter().map(|word| format!("`{word}`")).collect();
    match words.as_slice() {
        [] => "nothing".to_owned(),
        [only] => only.clone(),
        _ if words.len() > MOST_LISTED => {
            format!(
                "{} and {} more",
                words[..MOST_LISTED].join(", "),
                words.len() - MOST_LISTED
            )
        }
        [rest @ .., last] => format!("{} or {last}", rest.join(", ")),
    }
}

fn plain(word: &str) -> String {
    let same = |c| if matches!(c, '-' | ' ') { '_' } else { c };
    word.trim()
        .chars()
        .map(same)
        .flat_map(char::to_lowercase)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const KEYS: [&str; 6] = [
        "bore",
        "length",
        "fittings",
        "elevation",
        "temperature",
        "a",
    ];

    #[test]
    fn a_slip_of_the_finger_is_found() {
        for (slip, meant) in [
            ("bor", "bore"),
            ("boer", "bore"),
            ("Bore", "bore"),
            ("lenght", "length"),
            ("temp", "temperature"),
            ("fitting", "fittings"),
            ("elevations", "elevation"),
        ] {
            assert_eq!(nearest(slip, KEYS), Some(meant), "{slip}");
        }
        assert_eq!(
            nearest("pump speed", ["fan_speed", "pump_speed"]),
            Some("pump_speed")
        );
        assert_eq!(
            nearest("inlet", ["outlet", "inlet_elevation"]),
            Some("inlet_elevation")
        );
        assert_eq!(
            nearest("fan", ["fan_speed", "fans"]),
            Some("fans"),
            "one letter off beats a beginning"
        );
    }

    #[test]
    fn a_foreign_word_is_not_forced_on_a_key() {
        for foreign in ["", "colour", "x", "zz", "wattage"] {
            assert_eq!(nearest(foreign, KEYS), None, "{foreign}");
        }
        assert_eq!(nearest(&"bore".repeat(100_000), KEYS), None);
    }

    #[test]
    fn a_list_reads_as_a_sentence() {
        assert_eq!(list(["a", "b", "c"]), "`a`, `b` or `c`");
        assert_eq!(list(["a"]), "`a`");
        assert!(list(std::iter::repeat_n("a", 100)).ends_with("and 60 more"));
    }
}
