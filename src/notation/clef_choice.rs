//! Which clef a part's notes are written in.

use super::stave::{Clef, clefs};

/// Ledger lines that another clef must spare each note, on average, before a part leaves its own
/// (ours: a part that lies a little high or low keeps its clef).
const WORTH: f32 = 1.0;

/// The clef of a part for some written steps: its own, the first of the table's words, unless it lies
/// badly there and another one spares it ledger lines. A player's part always keeps its own; at
/// concert pitch a baritone saxophone, say, changes to the bass clef.
#[must_use]
pub fn clef_for(words: &str, steps: &[i16], concert_pitch: bool) -> Clef {
    let own = clefs(words).first().copied().unwrap_or(Clef::Treble);
    if !concert_pitch || steps.is_empty() {
        return own;
    }
    let mut best = own;
    for other in [Clef::Treble, Clef::Bass] {
        let better = ledger_lines(other, steps) + WORTH < ledger_lines(own, steps);
        if better && ledger_lines(other, steps) < ledger_lines(best, steps) {
            best = other;
        }
    }
    best
}

/// Ledger lines of a note, on average.
fn ledger_lines(clef: Clef, steps: &[i16]) -> f32 {
    let lines = |step: &i16| {
        let above = (step - clef.top_line()).max(0) / 2;
        let below = (clef.bottom_line() - step).max(0) / 2;
        f32::from(above + below)
    };
    steps.iter().map(lines).sum::<f32>() / steps.len() as f32
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn low_parts_change_their_clef_at_concert_pitch_only() {
        // C3 to G3: a baritone saxophone as it sounds.
        let low = [21, 22, 23, 24, 25];
        assert_eq!(clef_for("G2", &low, true), Clef::Bass);
        assert_eq!(clef_for("G2", &low, false), Clef::Treble);
        // G3 to D4 is not so low that a clarinet leaves its clef.
        assert_eq!(clef_for("G2", &[27, 28, 29, 30, 31], true), Clef::Treble);
        assert_eq!(
            clef_for("F4 (C4 tenor for high passages)", &low, true),
            Clef::Bass
        );
        assert_eq!(clef_for("G2", &[], true), Clef::Treble);
    }
}
