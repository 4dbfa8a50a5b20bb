//! Levels and numbers of players as people write them: "2 all-state, 3 intermediate".

use super::level::Level;
use super::nearest::suggestion;
use super::people::same_name;

/// A level by a word that people write for it: case, blanks, `-`, `_` and a plural's `s` do not
/// matter, and `1st year` is `first year`.
///
/// # Errors
/// A sentence with the nearest known word, or with all of them.
///
/// ```
/// use bandwright::band::{Level, level_of};
/// assert_eq!(level_of("All State"), Ok(Level::AllState));
/// assert_eq!(level_of("first-years"), Ok(Level::FirstYear));
/// let error = level_of("advancd").unwrap_err();
/// assert_eq!(error, "unknown level `advancd`; did you mean `advanced`?");
/// ```
pub fn level_of(text: &str) -> Result<Level, String> {
    let plain = same_name(text);
    let plain = plain.replace("1st", "first").replace("2nd", "second");
    let is = |l: &Level| {
        let word = same_name(l.word());
        plain == word || plain == format!("{word}s") || plain == format!("{word}player")
    };
    if let Some(level) = Level::ALL.into_iter().find(is) {
        return Ok(level);
    }
    let words = Level::ALL.map(Level::word);
    let near = match suggestion(&text.trim().replace([' ', '-'], "_"), words) {
        near if near.is_empty() => format!("; there are `{}`", words.join("`, `")),
        near => near,
    };
    Err(format!("unknown level `{}`{near}", text.trim()))
}

/// Players in words, in the order of the words: groups of a number and a level, with commas, `+`,
/// `;` or "and" between them.
///
/// # Errors
/// A sentence about the first group that cannot be understood.
///
/// ```
/// use bandwright::band::{Level, players_in_words};
/// let players = players_in_words("2 all-state, 3 intermediate and 4 first year").unwrap();
/// assert_eq!(players, [(2, Level::AllState), (3, Level::Intermediate), (4, Level::FirstYear)]);
/// ```
pub fn players_in_words(text: &str) -> Result<Vec<(u16, Level)>, String> {
    let text = text.replace(" and ", ",").replace(['\n', '+', ';'], ",");
    let groups = text.split(',').map(str::trim).filter(|g| !g.is_empty());
    groups.map(group).collect()
}

fn group(text: &str) -> Result<(u16, Level), String> {
    let digits = text.chars().take_while(char::is_ascii_digit).count();
    let (number, word) = text.split_at(digits);
    // "1st year" is a level, not one "st year".
    let ordinal = word.starts_with("st") || word.starts_with("nd");
    if digits == 0 || ordinal {
        return Err(format!(
            "`{text}` has no number of players; write it like `2 first-year`"
        ));
    }
    let number = number
        .parse()
        .map_err(|_| format!("`{number}` is too many players"))?;
    let word = word.trim_start().strip_prefix("x ").unwrap_or(word).trim();
    if word.is_empty() {
        return Err(format!(
            "`{text}` has no level; write it like `{number} first-year`"
        ));
    }
    Ok((number, level_of(word)?))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_taken_as_they_come() {
        let one = |text| players_in_words(text).map(|p| p[0]);
        assert_eq!(one("4 first year"), Ok((4, Level::FirstYear)));
        assert_eq!(one("1 all state"), Ok((1, Level::AllState)));
        assert_eq!(one("3x Intermediate"), Ok((3, Level::Intermediate)));
        assert_eq!(one("3 x intermediate"), Ok((3, Level::Intermediate)));
        assert_eq!(one("2 1st year"), Ok((2, Level::FirstYear)));
        assert_eq!(players_in_words(" , "), Ok(Vec::new()));
        assert!(one("first year").unwrap_err().contains("no number"));
        assert!(one("1st year").unwrap_err().contains("no number"));
        assert!(one("4").unwrap_err().contains("no level"));
        assert!(one("99999 advanced").unwrap_err().contains("too many"));
    }
}
