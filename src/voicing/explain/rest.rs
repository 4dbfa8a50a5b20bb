//! Why a part rests, where it is not the chords that decide it.

use super::{Explainer, Explanation};
use crate::band::PartId;
use crate::music::Tick;
use crate::plan::{PassagePlan, RestReason, why_rests};
use crate::score::{ClosedStretch, DraftNote, Role, Why};

impl Explainer<'_> {
    /// A note that the arranger fixed.
    pub(super) fn locked(&self, part: PartId, note: &DraftNote) -> Explanation {
        let reason = format!(
            "the arranger's own: it stays as it is ({})",
            doing(note.role)
        );
        self.plain(part, (note.onset, note.end()), Some(note), vec![reason])
    }

    /// A part that is not free to fill a chord and plays no line.
    pub(super) fn rest(&self, part: PartId, at: Tick, note: Option<&DraftNote>) -> Explanation {
        let reasons = self.rest_reasons(part, at);
        let notes = self.line(part);
        let next = notes.partition_point(|n| n.onset <= at);
        let from = notes[..next].iter().map(DraftNote::end).max();
        let to = notes.get(next).map(|n| n.onset);
        let (start, end) = match note {
            Some(note) => (note.onset, note.end()),
            None => {
                let bar = self.problem.meters.bar(at);
                let (first, last) = (
                    self.problem.meters.bar_start(bar),
                    self.problem.meters.bar_end(bar),
                );
                let start = from.map_or(first, |f| f.max(first)).min(at);
                (start, to.map_or(last, |t| t.min(last)))
            }
        };
        self.plain(part, (start, end), note, reasons)
    }

    fn plain(
        &self,
        part: PartId,
        (start, end): (Tick, Tick),
        note: Option<&DraftNote>,
        reasons: Vec<String>,
    ) -> Explanation {
        Explanation {
            part,
            start,
            end,
            sounds: note.map(|n| n.pitch),
            role: note.map_or(Role::Rest, |n| n.role),
            locked: note.is_some_and(|n| n.locked),
            reasons,
            costs: Vec::new(),
            total: 0.0,
            runners_up: Vec::new(),
            ruled_out: Vec::new(),
        }
    }

    fn rest_reasons(&self, part: PartId, at: Tick) -> Vec<String> {
        let mut reasons = Vec::new();
        let lock = self.problem.locks.of(part);
        if lock.is_some_and(|l| l.bars.contains(at, self.problem.meters)) {
            reasons.push(
                "rests: the arranger fixed these bars for it, and has a rest here".to_owned(),
            );
            return reasons;
        }
        let closed = self.problem.plan.closed.of(part).iter();
        for stretch in closed.filter(|s| s.start <= at && at < s.end) {
            reasons.push(self.closed(part, stretch));
        }
        let role = self
            .passage(at)
            .and_then(|p| p.roles.get(part.0))
            .map(|r| r.role);
        if reasons.is_empty() {
            reasons.push(match role {
                Some(Role::Harmony) => self.not_free(part, at),
                Some(Role::Rest) | None => self.plan_rests(part, at),
                Some(role) => self.line_rests(role, at),
            });
        }
        reasons.extend(self.plan_reason(part, at));
        reasons
    }

    /// Why the plan has a part rest in a passage.
    fn plan_rests(&self, part: PartId, at: Tick) -> String {
        let reason = self.passage(at).and_then(|p| why_rests(p, part));
        reason.map_or_else(
            || "rests: the plan has it rest in this passage".to_owned(),
            RestReason::text,
        )
    }

    /// Why nothing may be played in a closed stretch.
    fn closed(&self, part: PartId, stretch: &ClosedStretch) -> String {
        let remarks = &self.band_part(part).remarks;
        match stretch.why {
            Why::Key(written) => format!(
                "rests: its key here is written with {}; the director allows {} at most (remark `accidentals_at_most`)",
                signs(written.fifths()),
                remarks.accidentals_at_most.unwrap_or_default()
            ),
            Why::OtherPart(other) => format!(
                "rests: its players play {} here, or change instruments (remark `doubles`)",
                self.name(other)
            ),
            Why::Rest => {
                let most = self.band_part(part).limits.rests_every.unwrap_or_default();
                format!(
                    "rests: it is to have a whole bar of rest after {most} bars of playing at the latest, and this bar was the cheapest (remark `rests_every` or `go_easy`)"
                )
            }
        }
    }

    /// Why a part that fills the chords of a passage is not free to do so at a tick.
    fn not_free(&self, part: PartId, at: Tick) -> String {
        let Some(step) = self.step(at) else {
            return "rests: the sketch sounds nothing here".to_owned();
        };
        let of = &self.chords.steps[step];
        let has = self.voiced.around.get(part.0);
        let own = has
            .and_then(|h| h.first_from(of.start))
            .filter(|n| n.onset < of.end);
        match own {
            Some(note) => format!(
                "rests: before this chord is over it begins its {} at {}",
                note.role,
                self.problem.meters.place(note.onset)
            ),
            None => "rests: bars that are closed to it begin before this chord is over".to_owned(),
        }
    }

    /// Why a part that carries a line has none of it at a tick.
    fn line_rests(&self, role: Role, at: Tick) -> String {
        let line = self.problem.lines.of_role(role);
        let line_word = words(role);
        match line.and_then(|l| l.at(at)) {
            None => format!("rests: it carries the {line_word}, which rests here"),
            Some(_) => {
                let draft = self.draft().lines.iter();
                let carries = |l: &&crate::score::PartLine| {
                    let notes = &l.notes;
                    let next = notes.partition_point(|n| n.onset <= at);
                    let own = next.checked_sub(1).and_then(|i| notes.get(i));
                    own.is_some_and(|n| at < n.end() && n.role == role)
                };
                let others: Vec<PartId> = draft.filter(carries).map(|l| l.part).collect();
                format!(
                    "rests: the {line_word} is out of its reach here, too fast for it or not for it alone, and left to {}",
                    self.names(&others)
                )
            }
        }
    }

    /// The passage that a tick lies in.
    pub(super) fn passage(&self, at: Tick) -> Option<&PassagePlan> {
        self.problem.plan.passage(at)
    }

    /// What the plan has a part do at a tick, and how the passage is scored.
    pub(super) fn plan_reason(&self, part: PartId, at: Tick) -> Option<String> {
        let planned = self.passage(at)?;
        let role = planned.roles.get(part.0)?.role;
        let (first, last) = (planned.passage.first_bar, planned.passage.last_bar);
        Some(format!(
            "in bars {first}-{last} the plan has it {}: {}",
            doing(role),
            planned.way
        ))
    }
}

/// What a part does in a role.
pub(super) const fn doing(role: Role) -> &'static str {
    match role {
        Role::Melody => "carry the tune",
        Role::Counterline => "carry the second tune",
        Role::Harmony => "fill the chords",
        Role::Bass => "carry the bass",
        Role::Figure => "play the figure",
        Role::Rest => "rest",
    }
}

/// A line in words.
pub(super) const fn words(role: Role) -> &'static str {
    match role {
        Role::Melody => "tune",
        Role::Counterline => "second tune",
        Role::Bass => "bass",
        Role::Figure => "figure",
        Role::Harmony | Role::Rest => "chord",
    }
}

fn signs(fifths: i8) -> String {
    let many = fifths.unsigned_abs();
    let sign = if fifths < 0 { "flat" } else { "sharp" };
    format!("{many} {sign}{}", if many == 1 { "" } else { "s" })
}
