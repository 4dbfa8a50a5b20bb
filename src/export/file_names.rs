//! File names that every system takes.

/// The most characters of a part's name in a file name, and the most bytes (ours: names of 255 bytes are the least that
/// usual systems take).
const MOST_CHARACTERS: usize = 60;
const MOST_BYTES: usize = 150;

/// Accents that stand behind their letter, as some systems write them.
const ACCENTS: std::ops::RangeInclusive<char> = '\u{300}'..='\u{36f}';

/// File names without endings for some titles, numbered in their order from 1: `01-Piccolo`, `02-Flute-1`.
///
/// Of a title there are its letters and digits; all else is a hyphen. The number makes each name another one, also for
/// systems that do not tell large letters from small ones, and no name that a system keeps for itself (`CON`, `NUL`).
///
/// ```
/// use bandwright::export::numbered_names;
/// assert_eq!(numbered_names(["Clarinet 3", "con", "a/b: <c>?"]), ["01-Clarinet-3", "02-con", "03-a-b-c"]);
/// ```
#[must_use]
pub fn numbered_names<'a>(titles: impl IntoIterator<Item = &'a str>) -> Vec<String> {
    let titles: Vec<&str> = titles.into_iter().collect();
    let width = titles.len().to_string().len().max(2);
    let name = |(number, title): (usize, &&str)| {
        let words = words(title);
        let hyphen = if words.is_empty() { "" } else { "-" };
        format!("{number:0width$}{hyphen}{words}")
    };
    (1..).zip(&titles).map(name).collect()
}

/// The letters and digits of a text, with hyphens between them.
fn words(text: &str) -> String {
    let mut words = String::new();
    let mut apart = false;
    for c in text
        .chars()
        .filter(|c| !ACCENTS.contains(c))
        .take(MOST_CHARACTERS)
    {
        if !c.is_alphanumeric() {
            apart = !words.is_empty();
            continue;
        }
        if words.len() + 1 + c.len_utf8() > MOST_BYTES {
            break;
        }
        if apart {
            words.push('-');
        }
        apart = false;
        words.push(c);
    }
    words
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_numbered_in_order() {
        let many = vec!["Horn"; 100];
        let names = numbered_names(many);
        assert_eq!(
            (names[0].as_str(), names[99].as_str()),
            ("001-Horn", "100-Horn")
        );
        assert_eq!(numbered_names(["???", ""]), ["01", "02"]);
        assert_eq!(
            numbered_names(["Flu\u{308}gelhorn 2."]),
            ["01-Flugelhorn-2"]
        );
    }

    #[test]
    fn long_names_are_cut_between_characters() {
        let long = "\u{1d7d8}".repeat(500);
        let name = &numbered_names([long.as_str()])[0];
        assert!(name.len() <= MOST_BYTES + 3, "{}", name.len());
    }
}
