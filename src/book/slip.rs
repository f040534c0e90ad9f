//! Slips of the fingers: which word was meant.

/// The nearest word to `wrong` among `known`, when it is near enough to be a slip of the fingers.
pub fn nearest<'w>(wrong: &str, known: impl IntoIterator<Item = &'w str>) -> Option<&'w str> {
    let wrong_lower = wrong.to_lowercase();
    known
        .into_iter()
        .map(|word| (strsim::jaro_winkler(&wrong_lower, &word.to_lowercase()), word))
        .filter(|(likeness, _)| *likeness >= 0.8)
        .max_by(|a, b| a.0.total_cmp(&b.0).then_with(|| b.1.cmp(a.1)))
        .map(|(_, word)| word)
}

/// Whether two words differ only in capitals, and in hyphens, spaces and underscores for one another.
pub fn is_same_word(a: &str, b: &str) -> bool {
    let plain = |word: &str| word.trim().to_lowercase().replace(['-', ' '], "_");
    plain(a) == plain(b)
}

/// The fewest letters of a word in which one slip can be told from another word.
const MIN_LETTERS: usize = 4;

/// The one word that `wrong` is a single slip away from (a letter too many, too few, wrong, or two exchanged), when every other word is
/// farther off. A digit is never a slip: `r1_ohm` is not `r2_ohm`.
pub fn slip_of<'w>(wrong: &str, known: impl IntoIterator<Item = &'w str>) -> Option<&'w str> {
    let digits = |word: &str| word.chars().filter(char::is_ascii_digit).collect::<String>();
    let lower = wrong.to_lowercase();
    let mut near: Option<&str> = None;
    if lower.chars().count() < MIN_LETTERS {
        return None;
    }
    for word in known {
        let slips = strsim::damerau_levenshtein(&lower, &word.to_lowercase());
        match (slips, near) {
            (0 | 1, None) => near = Some(word),
            (0..=2, _) => return None,
            _ => {}
        }
    }
    near.filter(|word| digits(word) == digits(wrong))
}
