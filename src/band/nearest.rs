//! The known word nearest to an unknown one, for "did you mean".

/// How many letters must be put in, taken out or changed to make one word the other
/// (Levenshtein's distance).
#[must_use]
pub fn edit_distance(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, from) in a.chars().enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, to) in b.iter().enumerate() {
            let changed = diagonal + usize::from(from != *to);
            diagonal = row[j + 1];
            row[j + 1] = changed.min(row[j] + 1).min(diagonal + 1);
        }
    }
    row[b.len()]
}

/// The known word nearest to a word, case apart; `None` if none is like it by half of the shorter word. Of equals
/// one that begins with the word, then the first.
///
/// ```
/// use bandwright::band::nearest;
/// assert_eq!(nearest("clarinet", ["flute", "clarinet_bb"]), Some("clarinet_bb"));
/// assert_eq!(nearest("qqqqqq", ["flute", "tuba"]), None);
/// ```
pub fn nearest<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let word: String = word.to_lowercase().chars().take(80).collect();
    let best = known
        .into_iter()
        .map(|k| (edit_distance(&word, &k.to_lowercase()), k))
        .min_by_key(|(distance, k)| (*distance, !k.starts_with(&word)))?;
    let shorter = word.chars().count().min(best.1.chars().count());
    (2 * best.0 <= shorter).then_some(best.1)
}

/// `; did you mean …?` or nothing, to follow an error's first words.
#[must_use]
pub fn suggestion<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> String {
    nearest(word, known).map_or_else(String::new, |k| format!("; did you mean `{k}`?"))
}
