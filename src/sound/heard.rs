//! What is heard: the draft or the sketch, which parts, which lines.

use crate::band::PartId;
use crate::score::Role;
use crate::sketch::Line;
use std::collections::BTreeSet;

/// What is heard of the two.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Default)]
pub enum Source {
    /// The band.
    #[default]
    Draft,
    /// The sketch on a piano.
    Sketch,
    /// Both at once.
    Both,
}

impl Source {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Draft, Self::Sketch, Self::Both];

    /// Whether the band is heard.
    #[must_use]
    pub const fn has_draft(self) -> bool {
        matches!(self, Self::Draft | Self::Both)
    }

    /// Whether the sketch is heard.
    #[must_use]
    pub const fn has_sketch(self) -> bool {
        matches!(self, Self::Sketch | Self::Both)
    }

    /// What is flipped to: from the draft to the sketch, from all else to the draft.
    #[must_use]
    pub const fn flipped(self) -> Self {
        match self {
            Self::Draft => Self::Sketch,
            Self::Sketch | Self::Both => Self::Draft,
        }
    }

    /// In a word.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Draft => "draft",
            Self::Sketch => "sketch",
            Self::Both => "both",
        }
    }
}

/// Which notes are heard, by what they are for.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Default)]
pub enum Only {
    /// All.
    #[default]
    All,
    /// Those of a line.
    Line(Line),
    /// Those that are locked; of the sketch all.
    Locked,
}

impl Only {
    /// All choices.
    pub const ALL: [Self; 7] = [
        Self::All,
        Self::Line(Line::Melody),
        Self::Line(Line::Counterline),
        Self::Line(Line::Harmony),
        Self::Line(Line::Bass),
        Self::Line(Line::Figure),
        Self::Locked,
    ];

    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::All => "every line",
            Self::Line(Line::Melody) => "only the melody",
            Self::Line(Line::Counterline) => "only the counterline",
            Self::Line(Line::Harmony) => "only the harmony",
            Self::Line(Line::Bass) => "only the bass",
            Self::Line(Line::Figure) => "only the figures",
            Self::Locked => "only what is locked",
        }
    }

    /// Whether a note of the draft is heard.
    #[must_use]
    pub fn has(self, role: Role, locked: bool) -> bool {
        match self {
            Self::All => true,
            Self::Line(line) => line_of(role) == Some(line),
            Self::Locked => locked,
        }
    }

    /// Whether a note of the sketch is heard.
    #[must_use]
    pub fn has_line(self, line: Line) -> bool {
        match self {
            Self::All | Self::Locked => true,
            Self::Line(only) => line == only,
        }
    }
}

/// The line that a role plays.
const fn line_of(role: Role) -> Option<Line> {
    match role {
        Role::Melody => Some(Line::Melody),
        Role::Counterline => Some(Line::Counterline),
        Role::Harmony => Some(Line::Harmony),
        Role::Bass => Some(Line::Bass),
        Role::Figure => Some(Line::Figure),
        Role::Rest => None,
    }
}

/// What is heard.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Heard {
    /// The draft, the sketch, or both.
    pub source: Source,
    /// By what the notes are for.
    pub only: Only,
    muted: BTreeSet<PartId>,
    solo: BTreeSet<PartId>,
}

impl Heard {
    /// Whether a part is heard: where some play solo, one of those; never one that is muted.
    #[must_use]
    pub fn part(&self, part: PartId) -> bool {
        !self.muted.contains(&part) && (self.solo.is_empty() || self.solo.contains(&part))
    }

    /// Whether a part is muted.
    #[must_use]
    pub fn is_muted(&self, part: PartId) -> bool {
        self.muted.contains(&part)
    }

    /// Whether a part plays solo.
    #[must_use]
    pub fn is_solo(&self, part: PartId) -> bool {
        self.solo.contains(&part)
    }

    /// Whether all parts are heard.
    #[must_use]
    pub fn is_everybody(&self) -> bool {
        self.muted.is_empty() && self.solo.is_empty()
    }

    /// Mutes all of some parts; where all are muted already, none of them.
    pub fn mute(&mut self, parts: &[PartId]) {
        toggle(&mut self.muted, parts);
    }

    /// Lets all of some parts play solo, besides those that do; where all do already, none of them.
    pub fn solo(&mut self, parts: &[PartId]) {
        toggle(&mut self.solo, parts);
    }

    /// Nobody is muted, nobody plays solo.
    pub fn everybody(&mut self) {
        self.muted.clear();
        self.solo.clear();
    }

    /// Parts that the band no longer has are forgotten.
    pub fn keep_within(&mut self, parts: usize) {
        self.muted.retain(|p| p.0 < parts);
        self.solo.retain(|p| p.0 < parts);
    }
}

fn toggle(set: &mut BTreeSet<PartId>, parts: &[PartId]) {
    if parts.iter().all(|p| set.contains(p)) {
        for part in parts {
            set.remove(part);
        }
    } else {
        set.extend(parts);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn brass_without_trombones() {
        let mut heard = Heard::default();
        let brass: Vec<PartId> = (4..9).map(PartId).collect();
        heard.solo(&brass);
        heard.mute(&[PartId(6), PartId(7)]);
        let all = (0..10).map(PartId);
        let is_heard: Vec<usize> = all.filter(|p| heard.part(*p)).map(|p| p.0).collect();
        assert_eq!(is_heard, [4, 5, 8]);
        heard.mute(&[PartId(6), PartId(7)]);
        assert!(heard.part(PartId(6)) && !heard.is_muted(PartId(7)));
        heard.solo(&brass);
        assert!(heard.is_everybody());
    }

    #[test]
    fn some_that_are_muted_are_all_muted_first() {
        let mut heard = Heard::default();
        heard.mute(&[PartId(1)]);
        heard.mute(&[PartId(0), PartId(1)]);
        assert!(heard.is_muted(PartId(0)) && heard.is_muted(PartId(1)));
        heard.keep_within(1);
        assert!(heard.is_muted(PartId(0)) && !heard.is_muted(PartId(1)));
        heard.everybody();
        assert!(heard.is_everybody());
    }

    #[test]
    fn lines_are_told_apart() {
        assert!(Only::Line(Line::Melody).has(Role::Melody, false));
        assert!(!Only::Line(Line::Melody).has(Role::Bass, true));
        assert!(Only::Locked.has(Role::Rest, true) && !Only::Locked.has(Role::Melody, false));
        assert!(Only::Locked.has_line(Line::Figure));
        assert!(!Only::Line(Line::Bass).has_line(Line::Melody));
    }
}
