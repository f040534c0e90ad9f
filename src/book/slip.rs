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
