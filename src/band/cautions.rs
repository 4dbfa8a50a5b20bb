//! What is said of a band whenever it is used: care for players, and parts that nobody plays.

use super::remarks::GoEasy;
use super::roster::{Band, Part};

/// Sentences about a band that must not be missed: which parts rest because nobody is there, and
/// where players are to be gone easy on. No player is named.
#[must_use]
pub fn cautions(band: &Band) -> Vec<String> {
    let resting = band.resting.iter().map(|part| {
        format!("nobody is there to play {part}; it rests and is left out of the band")
    });
    let easy = |why| {
        let parts = band
            .parts
            .iter()
            .filter(move |p| p.remarks.go_easy == Some(why));
        parts.map(|p: &Part| p.name.as_str()).collect::<Vec<_>>()
    };
    let braces = sentence(&easy(GoEasy::Braces), "braces");
    let injury = sentence(&easy(GoEasy::Injury), "an injury");
    resting.chain(braces).chain(injury).collect()
}

fn sentence(parts: &[&str], what: &str) -> Option<String> {
    (!parts.is_empty()).then(|| {
        format!(
            "care: {} has a player with {what}. The program asks less of the part, but it knows \
             nothing of this player's health: the director decides what is played, by the advice of \
             the player's doctor or dentist, and pain is a reason to stop",
            parts.join(", ")
        )
    })
}
