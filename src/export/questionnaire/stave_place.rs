//! Where a note stands on the stave, in words.

use crate::music::Written;

/// Where a written note stands in the clef that a clef code begins with (`G2` treble, else bass): "on
/// the top line", "above 2 ledger lines". Sharps and flats stand where their letter stands.
///
/// ```
/// use bandwright::export::stave_place;
/// use bandwright::music::Written;
/// assert_eq!(stave_place(Written(77), "G2"), "on the top line");
/// assert_eq!(stave_place(Written(60), "G2"), "on the 1st ledger line below");
/// assert_eq!(stave_place(Written(60), "F4"), "on the 1st ledger line above");
/// ```
#[must_use]
pub fn stave_place(note: Written, clef: &str) -> String {
    // Steps above the bottom line: E4 in the treble clef, G2 in the bass clef.
    let bottom = if clef.starts_with('G') { 30 } else { 18 };
    let steps = letter_steps(note) - bottom;
    const LINES: [&str; 5] = ["bottom", "second", "middle", "fourth", "top"];
    const SPACES: [&str; 4] = ["bottom", "second", "third", "top"];
    let named = |names: &[&str], step: i32| {
        let at = usize::try_from(step / 2).ok();
        at.and_then(|i| names.get(i).copied())
            .unwrap_or("")
            .to_owned()
    };
    match steps {
        0..=8 if steps % 2 == 0 => format!("on the {} line", named(&LINES, steps)),
        0..=8 => format!("in the {} space", named(&SPACES, steps)),
        9 => "just above the stave".to_owned(),
        -1 => "just below the stave".to_owned(),
        _ if steps > 8 => ledger(steps - 8, "above"),
        _ => ledger(-steps, "below"),
    }
}

/// A note so many steps outside of the stave.
fn ledger(steps: i32, side: &str) -> String {
    let lines = steps / 2;
    if steps % 2 == 0 {
        let end = match lines {
            1 => "st",
            2 => "nd",
            3 => "rd",
            _ => "th",
        };
        format!("on the {lines}{end} ledger line {side}")
    } else if lines == 1 {
        format!("{side} 1 ledger line")
    } else {
        format!("{side} {lines} ledger lines")
    }
}

/// Steps of the note's letter above C0, as the note is named.
fn letter_steps(note: Written) -> i32 {
    let name = note.to_string();
    let letter = name.chars().next().unwrap_or('C');
    let step = "CDEFGAB".find(letter).unwrap_or(0);
    let octave = name.trim_start_matches(|c: char| c != '-' && !c.is_ascii_digit());
    7 * octave.parse::<i32>().unwrap_or(0) + i32::try_from(step).unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn notes_stand_where_they_are_read() {
        let place = |name: &str, clef| stave_place(name.parse().unwrap(), clef);
        assert_eq!(place("E4", "G2"), "on the bottom line");
        assert_eq!(place("Bb4", "G2"), "on the middle line");
        assert_eq!(place("C5", "G2"), "in the third space");
        assert_eq!(place("G5", "G2"), "just above the stave");
        assert_eq!(place("D4", "G2"), "just below the stave");
        assert_eq!(place("B5", "G2"), "above 1 ledger line");
        assert_eq!(place("D6", "G2"), "above 2 ledger lines");
        assert_eq!(place("C6", "G2"), "on the 2nd ledger line above");
        assert_eq!(place("E3", "G2"), "below 3 ledger lines");
        assert_eq!(place("G2", "F4"), "on the bottom line");
        assert_eq!(place("A1", "F4"), "on the 3rd ledger line below");
        assert_eq!(place("C3", "F4"), "in the second space");
    }
}
