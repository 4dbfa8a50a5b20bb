//! What could help, by the kind of a finding: what is about one part and its limits.

use super::desk::{Desk, Way};
use super::fit::runs;
use super::locked::grown;
use super::pitches::chord_tones;
use super::remedies::{Cure, Remedy};
use super::remedy_edits::Mend;
use super::selection::{NoteId, id_of};
use super::words::bars_in_words;
use crate::band::{Part, PartId};
use crate::music::{BarNumber, Interval, PitchClassSet, Sounding, Tick};
use crate::review::Finding;
use crate::score::{DraftNote, Passage, Role};
use crate::voicing::Scope;
use std::collections::BTreeSet;

/// A breath of more bars is not moved by an octave as a whole (ours).
const LONGEST_BREATH: u32 = 8;
/// Octaves that a note is moved by at the most, to be in reach.
const OCTAVES: u8 = 4;

/// A finding with what it is about.
#[derive(Clone, Copy)]
pub(super) struct Case<'a> {
    pub desk: &'a Desk<'a>,
    pub finding: &'a Finding,
    /// The part, if it is about one.
    pub part: Option<(PartId, &'a Part)>,
    /// Where.
    pub at: Tick,
}

/// What is left out of a line changes what the audience follows.
pub(super) const fn only_fills(note: &DraftNote) -> bool {
    matches!(note.role, Role::Harmony | Role::Figure)
}

impl<'a> Case<'a> {
    /// `None` for a part that the band has not.
    pub fn of(desk: &'a Desk<'a>, finding: &'a Finding) -> Option<Self> {
        let named = |name: &String| desk.band.ids().find(|(_, p)| p.name == *name);
        let part = match &finding.part {
            Some(name) => Some(named(name)?),
            None => None,
        };
        Some(Self {
            desk,
            finding,
            part,
            at: finding.at,
        })
    }

    pub fn proposals(&self) -> Vec<Remedy> {
        match self.finding.kind {
            "above_range" => self.out_of_range(Way::Down),
            "below_range" => self.out_of_range(Way::Up),
            "leap" => self.leap(),
            "too_fast" => self.too_fast(),
            "two_notes" => self.two_notes(),
            "no_rest" => self.no_rest(),
            "hard_key" => self.hard_key(),
            "two_instruments" => self.two_instruments(),
            "foreign_tone" => self.foreign_tone(),
            "heard_alone" => self.heard_alone(),
            "weak_alone" => self.weak_alone(),
            "melody_lost" => self.lost(crate::sketch::Line::Melody),
            "bass_lost" => self.lost(crate::sketch::Line::Bass),
            "tune_moved" => self.tune_moved(),
            "melody_changed" => self.melody_changed(),
            "tune_covered" => self.covered(Role::Melody),
            "counterline_covered" => self.covered(Role::Counterline),
            "bass_covered" => self.covered(Role::Bass),
            "reserve_runs_out" | "not_rested" | "section_tired" | "tired_at_peak" => self.tired(),
            "breath_too_long" => self.too_long_a_note(),
            "too_high_too_long" => self.too_high(),
            _ => Vec::new(),
        }
    }

    /// The part's note that begins at a tick, or else the one that sounds there.
    pub fn note(&self, at: Tick) -> Option<(PartId, &'a Part, &'a DraftNote)> {
        let (id, part) = self.part?;
        let line = self.desk.line(id);
        let begins = line.iter().find(|n| n.onset == at);
        let sounds = || line.iter().find(|n| n.onset < at && at < n.end());
        Some((id, part, begins.or_else(sounds)?))
    }

    pub fn bar(&self, at: Tick) -> BarNumber {
        self.desk.meters.bar(at)
    }

    /// The passage at a tick.
    pub fn passage(&self, at: Tick) -> Option<&'a Passage> {
        self.desk.passages.iter().find(|p| p.contains(at))
    }

    /// Solving again the bars in which a note sounds, with all notes that sound over their edges: for
    /// its part alone where it fills a chord, else for all parts, for others may have to take over. None where
    /// it is locked.
    fn solve(&self, part: PartId, note: &DraftNote) -> Option<Remedy> {
        if note.locked {
            return None;
        }
        let last = Tick(note.end().0.saturating_sub(1));
        let bars = (self.bar(note.onset).0..=self.bar(last).0).map(BarNumber);
        let bars = grown(bars.collect(), self.desk.line(part), self.desk.meters);
        let of = if note.role == Role::Harmony {
            vec![part]
        } else {
            Vec::new()
        };
        self.solve_bars((*bars.first()?, *bars.last()?), &of)
    }

    pub fn solve_bars(&self, bars: (BarNumber, BarNumber), of: &[PartId]) -> Option<Remedy> {
        let parts = self.desk.band.parts.len();
        Some(Remedy {
            label: format!("solve {} again", bars_in_words(bars)),
            what: Cure::Solve(Scope::bars(self.desk.meters, parts, &[bars], of)),
        })
    }

    fn out_of_range(&self, way: Way) -> Vec<Remedy> {
        let Some((id, part, note)) = self.note(self.at) else {
            return Vec::new();
        };
        let mut all = Vec::new();
        let line = self.desk.line(id);
        let breath = runs(line).into_iter().find(|r| r.contains(note));
        if let Some(breath) = breath.filter(|r| r.len() > 1 && self.is_short(r))
            && let Some(count) = octaves_into(part, breath, way)
        {
            let bars = breath.first().zip(breath.last());
            let bars = bars.map(|(a, b)| (self.bar(a.onset), self.bar(b.onset)));
            let place = bars.map_or_else(String::new, bars_in_words);
            let ids: Vec<NoteId> = breath.iter().map(|n| id_of(id, n)).collect();
            let label = format!("{} {place}, from breath to breath", by_octaves(way, count));
            all.push(Remedy::edit(label, Mend::Octaves(ids, way, count)));
        }
        if let Some(count) = octaves_into(part, std::slice::from_ref(note), way) {
            let label = format!("{} this note", by_octaves(way, count));
            let ids = vec![id_of(id, note)];
            all.push(Remedy::edit(label, Mend::Octaves(ids, way, count)));
        }
        all.extend(self.solve(id, note));
        all
    }

    pub fn is_short(&self, breath: &[DraftNote]) -> bool {
        let ends = breath.first().zip(breath.last());
        ends.is_some_and(|(a, b)| {
            let bars = self.bar(b.onset).0.saturating_sub(self.bar(a.onset).0);
            bars < LONGEST_BREATH
        })
    }

    fn leap(&self) -> Vec<Remedy> {
        let Some((id, part, note)) = self.note(self.at) else {
            return Vec::new();
        };
        let line = self.desk.line(id);
        let before = line.iter().rfind(|n| n.onset < note.onset);
        let after = line.iter().find(|n| n.onset > note.onset);
        let most = part.limits.max_leap.map_or(u16::MAX, Interval::size);
        let near = |p: Sounding, n: Option<&DraftNote>| {
            n.is_none_or(|n| u16::from(p.distance(n.pitch)) <= most)
        };
        let fits =
            |p: &Sounding| part.limits.range.contains(*p) && near(*p, before) && near(*p, after);
        let mut all: Vec<Remedy> = Vec::new();
        let tones = self.heard_through(note).filter(|_| only_fills(note));
        if let Some(pitch) = nearest_of(note.pitch, tones, fits) {
            let label = format!("take {pitch} (concert) instead of {}", note.pitch);
            all.push(Remedy::edit(label, Mend::Pitch(id_of(id, note), pitch)));
        }
        all.extend(self.solve(id, note));
        all
    }

    /// The classes that may sound through the whole of a note: those that the sketch sounds all the while, of
    /// them chord tones if there are any. `None` where there are none.
    fn heard_through(&self, note: &DraftNote) -> Option<PitchClassSet> {
        let slices = &self.desk.reading.slices;
        let first = slices.partition_point(|s| s.end <= note.onset);
        let mut until = note.onset;
        let mut heard: Option<PitchClassSet> = None;
        for slice in slices
            .iter()
            .skip(first)
            .take_while(|s| s.start < note.end())
        {
            heard = Some(heard.map_or(slice.classes, |h| h.intersection(slice.classes)));
            until = slice.end;
        }
        let heard = heard.filter(|h| !h.is_empty() && until >= note.end())?;
        let chord = chord_tones(self.desk, note.onset).map(|c| c.intersection(heard));
        Some(chord.filter(|c| !c.is_empty()).unwrap_or(heard))
    }

    fn too_fast(&self) -> Vec<Remedy> {
        let Some((id, _, note)) = self.note(self.at) else {
            return Vec::new();
        };
        let mut all = Vec::new();
        if only_fills(note) {
            let line = self.desk.line(id);
            let adjoins = line.iter().any(|n| n.end() == note.onset);
            if adjoins {
                let mend = Mend::HoldOver(id_of(id, note));
                all.push(Remedy::edit("hold the note before over this one", mend));
            }
            let struck = line.iter().filter(|n| n.onset == note.onset);
            let ids = struck.map(|n| id_of(id, n)).collect();
            all.push(Remedy::edit("leave this note out", Mend::LeaveOut(ids)));
        }
        all.extend(self.solve(id, note));
        all
    }

    fn two_notes(&self) -> Vec<Remedy> {
        let Some((id, _, note)) = self.note(self.at) else {
            return Vec::new();
        };
        let line = self.desk.line(id);
        let held = line.iter().any(|n| n.onset < self.at && self.at < n.end());
        let label = if held {
            "end the note before where this one begins"
        } else {
            "keep the highest note"
        };
        let mut all = vec![Remedy::edit(label, Mend::OneAtATime(id, self.at))];
        all.extend(self.solve(id, note));
        all
    }

    /// As few bars as can be in which the part only fills the chord, so that it rests as often as it
    /// should.
    fn no_rest(&self) -> Vec<Remedy> {
        let Some((id, part)) = self.part else {
            return Vec::new();
        };
        let Some(most) = part.limits.rests_every.filter(|m| *m > 0) else {
            return Vec::new();
        };
        let line = self.desk.line(id);
        let sounding = |bar: BarNumber| {
            let (start, end) = self.desk.span((bar, bar));
            line.iter()
                .filter(move |n| n.onset < end && start < n.end())
        };
        let played = |bar: BarNumber| sounding(bar).next().is_some();
        let may_rest = |bar: BarNumber| sounding(bar).all(|n| only_fills(n) && !n.locked);
        let first = self.bar(self.at);
        let mut last = first;
        while played(BarNumber(last.0.saturating_add(1))) && last < self.desk.last_bar() {
            last = BarNumber(last.0.saturating_add(1));
        }
        let mut bars = BTreeSet::new();
        let mut from = first.0;
        // Of every window of bars the latest in which it may rest, until what is left is short enough.
        while last.0.saturating_sub(from).saturating_add(1) > u32::from(most) {
            let window = (from..=from.saturating_add(u32::from(most))).rev();
            let Some(bar) = window.map(BarNumber).find(|b| may_rest(*b)) else {
                return self.solve_bars((first, last), &[]).into_iter().collect();
            };
            bars.insert(bar);
            from = bar.0.saturating_add(1);
        }
        let label = match bars.first() {
            Some(bar) if bars.len() == 1 => format!("rest in bar {bar}"),
            _ => format!("rest in {} bars that only fill the chord", bars.len()),
        };
        let mut all = vec![Remedy::edit(label, Mend::Rest(id, bars))];
        all.extend(self.solve_bars((first, last), &[id]));
        all
    }

    /// Resting in the bars of the passage, of the key that is too hard, where the part only fills.
    fn hard_key(&self) -> Vec<Remedy> {
        let Some((id, _, note)) = self.note(self.at) else {
            return Vec::new();
        };
        let keys = &self.desk.reading.keys;
        let next_key = keys.iter().map(|k| k.start).find(|s| *s > note.onset);
        let passage = self.passage(note.onset);
        let last_bar = passage.map_or_else(|| self.bar(note.onset), |p| p.last_bar);
        let until = self.desk.meters.bar_end(last_bar);
        let until = next_key.map_or(until, |k| k.min(until));
        let all_notes = self.desk.line(id).iter();
        let there: Vec<&DraftNote> = all_notes
            .filter(|n| note.onset <= n.onset && n.onset < until)
            .collect();
        let fill: Vec<&DraftNote> = there
            .iter()
            .copied()
            .take_while(|n| only_fills(n))
            .collect();
        let mut all = Vec::new();
        if let Some(last) = fill.last() {
            let bars = bars_in_words((self.bar(note.onset), self.bar(last.onset)));
            let ids = fill.iter().map(|n| id_of(id, n)).collect();
            all.push(Remedy::edit(format!("rest in {bars}"), Mend::LeaveOut(ids)));
        }
        all.extend(self.solve(id, note));
        all
    }

    fn two_instruments(&self) -> Vec<Remedy> {
        let note = self.note(self.at);
        note.map_or_else(Vec::new, |(id, _, note)| self.without_note(id, note))
    }

    /// Leaving a note out, where it only fills the chord, or solving its bar again, where it is free.
    pub fn without_note(&self, id: PartId, note: &DraftNote) -> Vec<Remedy> {
        let mut all = Vec::new();
        if only_fills(note) {
            let mend = Mend::LeaveOut(vec![id_of(id, note)]);
            all.push(Remedy::edit("leave this note out", mend));
        }
        let bar = self.bar(note.onset);
        all.extend(self.solve_bars((bar, bar), &[]).filter(|_| !note.locked));
        all
    }

    fn foreign_tone(&self) -> Vec<Remedy> {
        let Some((id, part, note)) = self.note(self.at) else {
            return Vec::new();
        };
        let mut all = Vec::new();
        if self.at > note.onset {
            let place = self.desk.meters.place(self.at);
            let mend = Mend::EndAt(id_of(id, note), self.at);
            all.push(Remedy::edit(format!("end the note at {place}"), mend));
        }
        let fits = |p: &Sounding| part.limits.range.contains(*p);
        if let Some(pitch) = nearest_of(note.pitch, self.heard_through(note), fits) {
            let label = format!("take {pitch} (concert) instead of {}", note.pitch);
            all.push(Remedy::edit(label, Mend::Pitch(id_of(id, note), pitch)));
        }
        all.extend(self.solve(id, note));
        all
    }
}

/// The pitch of some classes nearest to another that may be taken, the lower of two as near.
fn nearest_of(
    near: Sounding,
    classes: Option<PitchClassSet>,
    may: impl Fn(&Sounding) -> bool,
) -> Option<Sounding> {
    let classes = classes?;
    let all = (0..=127_u8).filter_map(Sounding::new);
    all.filter(|p| classes.contains(p.class()) && *p != near)
        .filter(may)
        .min_by_key(|p| (p.distance(near), *p))
}

/// By how few octaves notes come into what the players can reach; `None` by none.
pub(super) fn octaves_into(part: &Part, notes: &[DraftNote], way: Way) -> Option<u8> {
    (1..=OCTAVES).find(|count| {
        let count = i16::from(*count);
        let by = Interval::octaves(if way == Way::Up { count } else { -count });
        let inside = |n: &DraftNote| {
            n.pitch
                .up(by)
                .is_some_and(|p| part.limits.range.contains(p))
        };
        notes.iter().all(inside)
    })
}

/// `drop by an octave`, said of what follows.
pub(super) fn by_octaves(way: Way, count: u8) -> String {
    let verb = match way {
        Way::Up => "raise",
        Way::Down => "drop",
    };
    match count {
        1 => format!("{verb} by an octave:"),
        n => format!("{verb} by {n} octaves:"),
    }
}
